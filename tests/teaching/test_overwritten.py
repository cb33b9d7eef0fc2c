"""The names of the vocabulary: no page rebinds one, and a learner who does is told, at once and where it fails."""

import symtable
from pathlib import Path

import nbformat
import pytest
from test_first_cell import run

import helpers.course as course

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted((ROOT / "workbooks").glob("[0-9]*.ipynb"))


def rebound(source):
    """The names of the vocabulary that a cell itself binds, loops, defs and imports included."""
    names = symtable.symtable(source, "cell", "exec").get_symbols()
    return {name.get_name() for name in names if name.is_assigned() or name.is_imported()} & set(course.__all__)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem[:2])
def test_no_page_rebinds_a_name_of_the_vocabulary(page):
    cells = [cell.source for cell in nbformat.read(page, 4).cells if cell.cell_type == "code"]
    if any("from helpers.course import *" in source for source in cells):
        told = [name for source in cells for name in rebound(source) if name != "open_workbook"]
        assert told == []


def test_rebinding_is_found_in_every_form():
    for source in ("ride = 3", "def ride(): pass", "for ride in (1, 2): pass", "import numpy as ride", "ride += 1",
                   "class ride: pass", "with open('a') as ride: pass", "(ride := 3)", "a, ride = 1, 2"):  # fmt: skip
        assert rebound(source) == {"ride"}, source
    for source in ("from helpers.course import *", "[ride for ride in (1, 2)]", "def f(ride): ride = 3", "x.ride = 3"):
        assert rebound(source) == set(), source


READY = "from helpers.teaching.page import open_workbook\nbook = open_workbook(3)\nfrom helpers.course import *"
BACK = "`from helpers.course import {0}` gets it back, and another name for yours keeps both.\n"
NOTE = "From here on `{0}` is this page's own, not the course's: " + BACK
SENTENCE = "`{0}` is {1} on this page, and no longer the course's: " + BACK.rstrip("\n")


def test_a_name_overwritten_is_told_at_once_and_where_it_fails(tmp_path):
    cells = {
        READY: "ready",
        "ride = 3": NOTE.format("ride"),
        "x = 1": "",
        "def mine(ground):\n    return ride(bike, ground)\nx = 2": "",
        "mine(step_ground(0.05))": SENTENCE.format("ride", "3"),
        "ride(\n    bike, step_ground(0.05),\n)": SENTENCE.format("ride", "3"),
        "ride + None": SENTENCE.format("ride", "3"),
        "bike + None": "TypeError: unsupported operand",
        "from helpers.course import ride\nprint(ride(bike, step_ground(0.05)).ground.name)": "step of 50 mm\n",
        "def compare(a):\n    return a": NOTE.format("compare"),
        "compare({}, 'dose')": "`compare` is something of type function on this page, and no longer the course's",
        "bike = bike.changed(body_mass=70)": NOTE.format("bike"),
        "bike.weight": "AttributeError: 'Vehicle' object has no attribute 'weight'",
        "ride(bike, 'descent')": "ride: ground is 'descent'; allowed is a stretch, such as loop.descent.",
        "for bike in ('a', 'b'):\n    pass": "",
        "ride(bike, step_ground(0.05))": SENTENCE.format("bike", "'b'"),
        "undefined": "NameError: name 'undefined' is not defined",
    }
    for told, (source, wanted) in zip(run(tmp_path, *cells), cells.items(), strict=True):
        assert wanted in told and (wanted or not told), (source, told)
        assert "Traceback" in told if "Error: " in wanted else "Traceback" not in told, (source, told)


def test_memory_is_handed_back_after_each_cell_once():
    from IPython.core.interactiveshell import InteractiveShell

    from helpers.teaching import memory

    shell = InteractiveShell()
    for _ in range(2):
        memory.watch(shell)
    assert shell.events.callbacks["post_run_cell"].count(memory.hand_back) == 1
    assert memory.hand_back() is None
