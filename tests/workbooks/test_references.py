"""The comparison of stored outputs, as the project sets it up, sees what it must and no more."""

import re
import subprocess
import sys

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

from helpers.commands.refresh import refresh

SOURCES = {
    "sound": "print(f'{2**0.5:.4g} m')",
    "number": "print('1.500 Hz')",
    "version": "print('Workbook 01, helpers 0.1.0: ready.')",
    "picture": "import IPython.display as d\nd.HTML('<img alt=\"x\" src=\"data:image/png;base64,' + 4 * 'Ab' + '\">')",
    "live": """\
import ipywidgets
class Figure(ipywidgets.VBox):
    def _repr_mimebundle_(self, **settings):
        data = super()._repr_mimebundle_(**settings) | {"image/png": "iVBORw0KGgo=", "text/plain": "figure"}
        return data, {"image/png": {"alt": "A still."}}
Figure([ipywidgets.FloatSlider()])""",
}
# What is changed in the stored file after it was run.
CHANGES = {
    "number": ('"1.500', '"1.501'),
    "version": ('"Workbook 01, helpers 0.1.0', '"Workbook 01, helpers 0.9.9'),
    "picture": ("base64,AbAbAbAb", "base64,CdCdCdCd"),
}


@pytest.fixture(scope="module")
def outcome(root, tmp_path_factory):
    """The verdict of one run of pytest for each notebook."""
    folder = tmp_path_factory.mktemp("workbooks")
    for name, source in SOURCES.items():
        path = folder / f"{name}.ipynb"
        nbformat.write(new_notebook(cells=[new_code_cell(source)]), path)
        refresh(path)
        if name in CHANGES:
            stored, changed = CHANGES[name]
            text = path.read_text()
            assert text.count(stored) == 1  # the output; the source has another quotation mark
            path.write_text(text.replace(stored, changed))
    command = [sys.executable, "-m", "pytest", "-c", root / ".pytest.ini", "--rootdir", folder, folder, "-rA"]
    answer = subprocess.run([*command, "-p", "no:cacheprovider"], cwd=root, capture_output=True, text=True)
    return {name: verdict for verdict, name in re.findall(r"^(PASSED|FAILED) .*?(\w+)\.ipynb", answer.stdout, re.M)}


@pytest.mark.parametrize("name", SOURCES)
def test_stored_output_is_compared(outcome, name):
    assert outcome[name] == ("FAILED" if name == "number" else "PASSED"), outcome
