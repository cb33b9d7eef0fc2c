"""Refresh: the same file each time, only what the cells decide, and a failing cell named."""

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from helpers.commands import refresh as module
from helpers.commands.environment import CommandError
from helpers.commands.saving import WIDGET_VIEW

FIGURE = """\
import ipywidgets
class Figure(ipywidgets.VBox):
    def _repr_mimebundle_(self, **settings):
        data = super()._repr_mimebundle_(**settings) | {"image/png": "iVBORw0KGgo=", "text/plain": "figure"}
        return data, {"image/png": {"alt": "A still."}}
Figure([ipywidgets.FloatSlider()])"""


def write(root, *sources, name="00-start-here.ipynb"):
    (root / "workbooks").mkdir(exist_ok=True)
    path = root / "workbooks" / name
    cells = [new_markdown_cell("# A question?"), *(new_code_cell(source) for source in sources)]
    cells[-1].metadata["execution"] = {"iopub.status.busy": "2020-01-01T00:00:00"}
    nbformat.write(new_notebook(cells=cells, metadata={"kernelspec": {"name": "other", "display_name": "x"}}), path)
    return path


def test_refresh_runs_in_the_folder_and_settles_the_file(tmp_path):
    path = write(tmp_path, "import os, sys; print('one'); print('two', file=sys.stderr); print('three')", FIGURE,
                 "os.path.basename(os.getcwd())")  # fmt: skip
    ids = [cell.id for cell in nbformat.read(path, as_version=4).cells]
    assert module.run(tmp_path, ["0"]) == 0
    first = path.read_bytes()
    notebook = nbformat.read(path, as_version=4)
    assert [cell.id for cell in notebook.cells] == ids
    assert [cell.execution_count for cell in notebook.cells[1:]] == [1, 2, 3]
    assert notebook.metadata == module.METADATA and all(cell.metadata == {} for cell in notebook.cells)
    assert sorted(output.text for output in notebook.cells[1].outputs) == ["one\nthree\n", "two\n"]
    figure = notebook.cells[2].outputs[0]
    assert WIDGET_VIEW not in figure.data and figure.metadata["image/png"].alt == "A still."
    assert notebook.cells[3].outputs[0].data["text/plain"] == "'workbooks'"
    assert first.endswith(b"}\n") and b'\n "cells": [' in first
    module.run(tmp_path, [])
    assert path.read_bytes() == first


def test_a_failing_cell_is_named_and_the_file_stays(tmp_path):
    path = write(tmp_path, "1", "\n# then\n1 / 0", "2")
    before = path.read_bytes()
    with pytest.raises(CommandError, match=r"00-start-here.ipynb, code cell 2 \(# then\): ZeroDivisionError: division"):
        module.run(tmp_path, [])
    assert path.read_bytes() == before


def test_an_endless_cell_is_named(tmp_path):
    path = write(tmp_path, "while True: pass")
    with pytest.raises(CommandError, match=r"code cell 1 \(while True: pass\): A cell timed out"):
        module.refresh(path, timeout=1)


def test_numbers_choose_workbooks(tmp_path):
    first, second = write(tmp_path), write(tmp_path, name="01-ride-model.ipynb")
    assert module.workbooks(tmp_path) == [first, second]
    assert module.workbooks(tmp_path, ["1"]) == module.workbooks(tmp_path, ["01"]) == [second]
    with pytest.raises(CommandError, match="no workbook 7: the numbers are 00, 01"):
        module.workbooks(tmp_path, ["7"])


def test_cells_without_an_id_get_a_lasting_one(tmp_path):
    notebook = new_notebook(cells=[new_code_cell("1")])
    notebook.nbformat_minor = 4
    del notebook.cells[0]["id"]
    assert module.settle(notebook).cells[0].id == "cell-01" and notebook.nbformat_minor == 5
