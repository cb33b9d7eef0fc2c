"""`python3 -m helpers export [folder] [--pdf]`: the reading edition, HTML that loads nothing from the network."""

import argparse
import base64
import html
import mimetypes
import re
import shutil
import subprocess
from pathlib import Path

import nbformat
from nbconvert import HTMLExporter

from helpers.commands.environment import CommandError
from helpers.commands.reading import ReadingExporter, page_around
from helpers.commands.refresh import workbooks

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
LINK = re.compile(r'(href|src)="([^"#:?]+)(#[^"]*)?"')


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
    """Write the page of each notebook and index.html into `folder`; returns the pages."""
    folder.mkdir(parents=True, exist_ok=True)
    exporter, entries, pages = ReadingExporter(), [], []
    for path in notebooks:
        notebook = nbformat.read(path, as_version=4)
        title = title_of(notebook) or path.stem
        body = with_local_links(convert(exporter, notebook, path), path.parent, folder)
        pages.append(folder / f"{path.stem}.html")
        pages[-1].write_text(page_around(title, body), "utf-8")
        entries.append(f'<li><a href="{pages[-1].name}">{html.escape(title)}</a></li>')
    index = f"<h1>Workbooks</h1>\n<ol start='0' class='workbooks'>\n{chr(10).join(entries)}\n</ol>"
    (folder / "index.html").write_text(page_around("Workbooks on suspension control", index), "utf-8")
    return pages


def convert(exporter: HTMLExporter, notebook, path: Path) -> str:
    """The notebook's cells as HTML."""
    resources = {"metadata": {"name": path.stem, "path": str(path.parent)}}
    return exporter.from_notebook_node(notebook, resources=resources)[0]


def title_of(notebook) -> str:
    """The first heading, without its marks; "" when there is none."""
    text = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    heading = re.search(r"^#\s+(.+)$", text, re.MULTILINE)
    return re.sub(r"[*`$]", "", heading[1]).strip() if heading else ""


def with_local_links(body: str, source: Path, folder: Path) -> str:
    """Links to workbooks made links to their pages, pictures put inside, other linked files of the course copied."""

    def settled(match: re.Match) -> str:
        attribute, target, anchor = match[1], match[2], match[3] or ""
        if target.endswith(".ipynb"):
            return f'{attribute}="{target[: -len(".ipynb")]}.html{anchor}"'
        file = (source / target).resolve()
        if attribute == "src" and file.is_file():
            kind = mimetypes.guess_type(file.name)[0]
            return f'src="data:{kind};base64,{base64.b64encode(file.read_bytes()).decode()}"'
        if file.is_file() and file.is_relative_to(source.resolve()):
            copy = folder / target
            copy.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(file, copy)
        return match[0]

    return LINK.sub(settled, body)


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
    subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, timeout=120, check=False)
    if not pdf.exists():
        raise CommandError(f"{pdf.name} could not be printed: print {page.name} from a browser instead.")
