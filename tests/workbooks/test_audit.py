"""Every stored workbook passes the audit; and the audit finds each fault in a notebook made to have it."""

import re
from pathlib import Path

import nbformat
import pytest
from audit import SIZE_LIMIT, faults
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from helpers.commands.refresh import METADATA
from helpers.commands.saving import WIDGET_VIEW

WORKBOOKS = sorted((Path(__file__).resolve().parents[2] / "workbooks").glob("*.ipynb"))


@pytest.mark.parametrize("path", WORKBOOKS, ids=lambda path: path.stem)
def test_workbook_is_sound(path):
    assert faults(path) == []


def figure(data=None, alternative="A line rises."):
    data = {"image/png": "iVBORw0KGgo=", "text/plain": "figure"} | (data or {})
    return new_output("display_data", data, metadata={"image/png": {"alt": alternative}})


def html(text):
    return new_output("display_data", {"text/html": text})


def write(path, change=lambda notebook: None):
    """A sound notebook with one change."""
    printed = new_output("stream", name="stdout", text="damping ratio 0.35, 1.5 m/s, 3/4 of w01/data\n")
    notebook = new_notebook(
        metadata=nbformat.from_dict(METADATA),
        cells=[
            new_markdown_cell("# A question?\n\n![a sketch](sketch.png) See https://example.org/home/page."),
            new_code_cell("print()", execution_count=1, outputs=[printed]),
            new_code_cell("figure", execution_count=2, outputs=[figure()]),
            new_code_cell("a = 1", execution_count=3),
        ],
    )
    change(notebook)
    nbformat.write(notebook, path)
    return path


def setting(cell, **fields):
    return lambda notebook: notebook.cells[cell].update(fields)


def outputs(*found):
    return setting(1, outputs=list(found))


def strip(notebook):
    for cell in notebook.cells[1:]:
        cell.update(outputs=[], execution_count=None)


FAULTS = {
    "cell not run": (setting(3, execution_count=None), "code cell 3 was not run"),
    "out of order": (setting(3, execution_count=7), r"out of order: \[1, 2, 7\]"),
    "stripped": (strip, "no output at all"),
    "stored error": (outputs(new_output("error", ename="ValueError", evalue="", traceback=[])), "the error ValueError"),
    "warning": (outputs(new_output("stream", name="stderr", text="Deprecated")), "a warning: Deprecated"),
    "path in an output": (outputs(new_output("stream", text="in /" + "home/ann/course")), "absolute path"),
    "path in html": (outputs(html("<p>/tmp/x.png</p>")), "absolute path"),
    "path in a source": (setting(3, source="open('/Users/ann/a.csv')"), "cell 4 holds an absolute path"),
    "path of Windows": (setting(3, source=r"open('C:\ann\a.csv')"), "absolute path"),
    "address": (outputs(new_output("execute_result", {"text/plain": "<Line2D at 0x7f3c61bcb8d0>"})), "memory address"),
    "too large": (outputs(new_output("stream", text="x" * SIZE_LIMIT)), "more than 500000"),
    "picture without words": (outputs(figure(alternative=" ")), "image/png without a text alternative"),
    "drawing without words": (outputs(new_output("display_data", {"image/svg+xml": "<svg/>"})), "svg.xml without"),
    "img without alt": (outputs(html("<img src='a.png'>")), "output of cell 2 has an image without"),
    "img with empty alt": (outputs(html("<img src='a.png' alt=''>")), "image without"),
    "svg in html without a name": (outputs(html("<svg><path/></svg>")), "image without"),
    "markdown image without words": (setting(0, source="![](a.png)"), "cell 1 has an image without"),
    "img in markdown": (setting(0, source="<img src='a.png'>"), "cell 1 has an image without"),
    "other kernel": (lambda notebook: notebook.metadata.kernelspec.update(name="mine"), "kernel 'mine'"),
    "no kernel": (lambda notebook: notebook.metadata.pop("kernelspec"), "kernel None"),
    "widget view": (outputs(figure({WIDGET_VIEW: {"model_id": "0"}})), "refers to a widget"),
    "widget state": (lambda notebook: notebook.metadata.update(widgets={}), "state of widgets"),
    "times": (setting(2, metadata={"execution": {"iopub.status.busy": "now"}}), "cell 3 stores times"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_audit_finds(tmp_path, fault):
    change, message = FAULTS[fault]
    found = faults(write(tmp_path / "00-bad.ipynb", change))
    assert len(found) >= 1 and re.search(message, found[0]), found


def test_sound_notebook_has_no_faults(tmp_path):
    named = html('<img alt="a wheel" src="data:,"><svg aria-label="a spring"></svg><svg><title>x</title></svg>')
    assert faults(write(tmp_path / "00-good.ipynb")) == []
    assert faults(write(tmp_path / "00-named.ipynb", outputs(named))) == []
