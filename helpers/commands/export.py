"""`python3 -m helpers export [folder] [--pdf]`: the reading edition, HTML that loads nothing from the network."""

import argparse
import html
import re
import shutil
import subprocess
from contextlib import suppress
from pathlib import Path
from urllib.parse import quote

import nbformat
from nbconvert import HTMLExporter
from nbformat.validator import normalize

from helpers.commands.environment import CommandError, write_whole
from helpers.commands.reading import ReadingExporter, page_around
from helpers.commands.refresh import workbooks
from helpers.commands.sanitising import Course, clean, real

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
LARGEST_NOTEBOOK = 20_000_000  # bytes
MERGING = re.compile(r"^(?:<{7}|>{7}|\|{7})(?: |$)", re.MULTILINE)


def run(root: Path, arguments: list[str]) -> int:
    """Write every workbook as a page, and an index of them."""
    parser = argparse.ArgumentParser("python3 -m helpers export")
    parser.add_argument("folder", nargs="?", default=".reading", help="where to write (default: .reading)")
    parser.add_argument("--pdf", action="store_true", help="print each page to PDF as well")
    options = parser.parse_args(arguments)
    folder, browser = Path(options.folder), find_browser()
    if options.pdf and browser is None:
        raise CommandError("For --pdf install Chromium, which prints the pages; without it the HTML can be written.")
    pages = export(workbooks(root), folder)
    for page in pages if options.pdf else []:
        print_to_pdf(browser, page)
    print(f"- {len(pages)} workbooks written: open {folder / 'index.html'}")
    return 0


def export(notebooks: list[Path], folder: Path) -> list[Path]:
    """Write the page of each notebook and index.html into `folder`; returns the pages.

    All or nothing: a notebook that cannot be read raises CommandError before anything is written.
    """
    exporter, entries, pages, copies = ReadingExporter(), [], {}, {}
    for path in notebooks:
        notebook, course = whole_notebook(path), Course(path.parent, notebooks)
        title = title_of(notebook) or path.stem
        pages[folder / f"{path.stem}.html"] = page_around(title, convert(exporter, notebook, path, course))
        copies |= course.copies
        entries.append(f'<li><a href="{quote(path.stem)}.html">{html.escape(title)}</a></li>')
    index = f"<h1>Workbooks</h1>\n<ol start='0' class='workbooks'>\n{chr(10).join(entries)}\n</ol>"
    for page, text in (pages | {folder / "index.html": page_around("Workbooks on suspension control", index)}).items():
        write_whole(page, text)
    for name, file in copies.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(file, folder / name)
    return list(pages)


def whole_notebook(path: Path):
    """The notebook in the file `path`. Raises CommandError with the one sentence that says what is wrong with it."""

    def refused(reason: str) -> CommandError:
        return CommandError(
            f"{path.name} {reason}: mend or remove the file and run the same command again; nothing was written."
        )

    if not real(path).is_relative_to(real(path.parent)) or not path.is_file():
        raise refused("is not a file of its own in the workbooks folder")
    if (size := path.stat().st_size) > LARGEST_NOTEBOOK:
        raise refused(f"has {size / 1e6:.0f} MB and at most {LARGEST_NOTEBOOK / 1e6:.0f} are allowed")
    try:
        text = path.read_bytes().decode("utf-8")
        if MERGING.search(text):
            raise refused("holds the marks of a merge that was not finished")
        notebook = nbformat.reads(text, as_version=4)
        notebook = normalize(notebook)[1]
        nbformat.validate(notebook)
    except UnicodeDecodeError:
        raise refused("is not text in UTF-8") from None
    except OSError as problem:
        raise refused(f"cannot be read ({problem.strerror})") from None
    except CommandError:
        raise
    except Exception:  # of many kinds, by what is broken: JSON cut short, another format, fields of another type
        raise refused("is not a whole notebook of format 4") from None
    sources = [cell.source for cell in notebook.cells]
    if any(MERGING.search(source) for source in sources):
        raise refused("holds the marks of a merge that was not finished")
    return notebook


def convert(exporter: HTMLExporter, notebook, path: Path, course: Course) -> str:
    """The notebook's cells as HTML that runs nothing, loads nothing and shows only files of the course."""
    resources = {"metadata": {"name": path.stem, "path": str(path.parent)}}
    try:
        return clean(exporter.from_notebook_node(notebook, resources=resources)[0], course)
    except Exception as problem:  # whatever the converters make of odd content
        raise CommandError(
            f"{path.name} cannot be made into a page ({type(problem).__name__}): run its cells again; "
            "nothing was written."
        ) from None


def title_of(notebook) -> str:
    """The first heading, without its marks; "" when there is none."""
    text = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    heading = re.search(r"^#\s+(.+)$", text, re.MULTILINE)
    return re.sub(r"[*`$]", "", heading[1]).strip() if heading else ""


def find_browser() -> str | None:
    """The system's Chromium or a relative of it; None when there is none."""
    return next((found for name in BROWSERS if (found := shutil.which(name))), None)


def print_to_pdf(browser: str, page: Path):
    """Print `page` beside itself as PDF. Raises CommandError when the browser does not write it."""
    pdf = page.with_suffix(".pdf")
    pdf.unlink(missing_ok=True)
    command = [browser, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-sync"]
    command += ["--disable-background-networking", "--disable-component-update", "--no-pdf-header-footer"]
    command += [f"--print-to-pdf={pdf.resolve()}", page.resolve().as_uri()]
    with suppress(subprocess.TimeoutExpired):
        subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, timeout=120, check=False)
    if not pdf.exists():
        raise CommandError(f"{pdf.name} could not be printed: print {page.name} from a browser instead.")
