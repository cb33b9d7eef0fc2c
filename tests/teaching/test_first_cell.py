"""The page's first cell in any kernel and from any folder, and what is said where it has not run."""

import json
import re
import sys
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from nbformat.v4 import new_code_cell, new_notebook

from helpers.commands.environment import KERNEL
from helpers.teaching import first_cell

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted((ROOT / "workbooks").glob("[0-9]*.ipynb"))
COLOUR = re.compile(r"\x1b\[[\d;]*m")


def ready(page) -> str:
    """The source of the page's first code cell."""
    return next(cell for cell in nbformat.read(page, 4).cells if cell.cell_type == "code").source


def run(folder, *sources, **settings):
    """What the cells print or raise, one text each, run in `folder` in one kernel; settings go to the client."""
    notebook = new_notebook(cells=[new_code_cell(source) for source in sources])
    resources = {"metadata": {"path": str(folder)}}
    client = NotebookClient(notebook, timeout=300, resources=resources, allow_errors=True, **settings)
    client.execute()
    texts = []
    for cell in notebook.cells:
        parts = ("\n".join(o.traceback) if o.output_type == "error" else o.get("text", "") for o in cell.outputs)
        texts.append(COLOUR.sub("", "".join(parts)))
    return texts


@pytest.fixture
def kernel(tmp_path, monkeypatch):
    """Makes a kernel of this Python that runs `before` first; gives the settings of a client for it."""

    def made(before=""):
        folder = tmp_path / "kernels/other"
        folder.mkdir(parents=True)
        start = f"{before}\nfrom ipykernel.kernelapp import launch_new_instance\nlaunch_new_instance()"
        words = [sys.executable, "-c", start, "-f", "{connection_file}"]
        described = {"argv": words, "display_name": "other", "language": "python"}
        (folder / "kernel.json").write_text(json.dumps(described))
        monkeypatch.setenv("JUPYTER_PATH", str(tmp_path))
        return {"kernel_name": "other"}

    return made


# The kernels a learner may have by mistake: nothing of the course; a package that has its name; no packages.
BARE = """
import sys
class Bare:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] == "helpers": raise ModuleNotFoundError("No module named 'helpers'", name="helpers")
sys.meta_path.insert(0, Bare())"""
SHADOWED = "import sys; sys.path.insert(0, '.')"
POOR = "import sys; sys.modules['numba'] = None"
SENTENCE = "This kernel lacks the course's helpers: choose the one in .venv, or run 'python3 -m helpers start'."


def test_ready_cells_work_from_any_folder(tmp_path):
    """One kernel for all: each page's cell finds its scenes without the working directory."""
    told = run(tmp_path, *map(ready, PAGES))
    assert [re.fullmatch(r"Workbook (\d\d), helpers \S+: ready\. .*\n", text)[1] for text in told] == [
        page.name[:2] for page in PAGES
    ]


def test_another_kernel_is_told_in_one_sentence(tmp_path, kernel):
    assert run(tmp_path, *map(ready, PAGES), **kernel(BARE)) == len(PAGES) * [SENTENCE]


def test_another_package_of_the_name_is_told_in_one_sentence(tmp_path, kernel):
    (tmp_path / "helpers.py").write_text("")
    assert run(tmp_path, ready(PAGES[0]), **kernel(SHADOWED)) == [SENTENCE]


def test_a_kernel_without_the_packages_is_told_in_one_sentence(tmp_path, kernel):
    told = run(tmp_path, *map(ready, PAGES), **kernel(POOR))
    assert set(told) == {
        "Missing here: numba. Close this page and run 'python3 -m helpers start' in the course's folder: it installs "
        "what is missing and opens the page again."
    }


def test_a_name_of_the_first_cell_before_it_ran(tmp_path):
    """Each is asked for by name; a typo, and all that follows once the cell has run, keep the usual traceback."""
    typo = "boook.answer('E1', '2')"
    settings = {"extra_arguments": [f"--config={ROOT / KERNEL}"]}
    cells = ["book.answer('E1', '2')", "x = 1\nscenes.table()", "f'{loop}'", typo, ready(PAGES[0]), "rides"]
    *told, wrong, _, after = run(tmp_path, *cells, **settings)
    sentence = "{} is not there yet: run the page's first cell, then this one again."
    assert told == [sentence.format(name) for name in ("book", "scenes", "loop")]
    assert "Traceback" in after and "NameError: name 'rides' is not defined" in after
    numbered = re.compile(r"(?<=Cell In\[)\d+")
    assert numbered.sub("", wrong) == numbered.sub("", run(tmp_path, typo)[0])


def test_names_are_those_the_pages_bind():
    assert {"open_workbook", "book", "scenes", "loop"} <= first_cell.names()
    assert first_cell.bound("import a.b, c as d\ntry:\n    from e import f\nexcept E as error:\n    g = h\n") == {
        "a", "d", "f", "g",
    }  # fmt: skip


def test_damaged_pages_bind_nothing(tmp_path, monkeypatch):
    cells = ["1", "", '{"cell_type": "code"}', '{"cell_type": "code", "source": "a ="}']
    texts = ["", "[]", "{}", "<<<<<<< ours", *(f'{{"cells": [{cell}]}}' for cell in cells)]
    for number, text in enumerate(texts):
        (tmp_path / f"{number}.ipynb").write_text(text)
    (tmp_path / "9.ipynb").mkdir()
    monkeypatch.setattr(first_cell, "workbooks_folder", lambda: tmp_path)
    assert first_cell.names() == set()
