"""No printed digit and no picture hangs on the processor, or on the tenth digit of a parameter.

Each page runs once more as on another kind of processor, and with ground, gains and parameters off by a billionth.
"""

import io
import os
import platform
import re
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook
from PIL import Image
from reruns import (
    APART,
    apart,
    differences,
    moved,
    other_pictures,
    other_processor,
    pictures,
    rerun,
    sanitisers,
    texts,
)

from helpers.commands.refresh import refresh
from helpers.teaching.course import workbooks_folder

PAGES = sorted(workbooks_folder().glob("[0-9][0-9]-*.ipynb"))
# What workbook 03 printed: the clipped optimal law, late, on a damper without limits.
CHAOTIC = f"""\
import sys
sys.path.insert(0, {str(Path(__file__).parents[1])!r})
from helpers.control.optimal import regulator
from helpers.models.dampers import linear
from helpers.models.terrain import fell_loop
from fleet import TRAIL_BIKE
from families import FAST_CHAIN
from helpers.simulation.metrics import metrics
from helpers.simulation.runs import ride_section
free = TRAIL_BIKE.changed(open_curve=linear(0.0), lockout_curve=linear(5e4))
descent = fell_loop().section("descent")
for machine in (TRAIL_BIKE, free):
    run = ride_section(machine, descent, regulator(TRAIL_BIKE).clipped(), FAST_CHAIN)
    print("without limits:" if machine is free else "as it is:", round(metrics(run).comfort, 2), "m/s²")
"""


@pytest.fixture(scope="session")
def elsewhere(tmp_path_factory):
    """Variables of another kind of processor; what is compiled for it serves every page, and every worker of xdist."""
    base = tmp_path_factory.getbasetemp()
    return other_processor((base.parent if base.name.startswith("popen-") else base) / "compiled")


@pytest.fixture(scope="module", params=PAGES, ids=lambda path: path.name[:2])
def page(request, elsewhere):
    """A page's path, its notebook as stored and as run elsewhere, nudged."""
    path = request.param
    return path, nbformat.read(path, as_version=4), rerun(path, elsewhere, nudge=True)


def test_no_printed_digit_moves(page, elsewhere, root):
    path, stored, fresh = page
    passing = sanitisers(root)
    if found := differences(stored, fresh, passing):
        causes = {"processor alone": (elsewhere, False), "parameters alone": ({}, True), "neither": ({}, False)}
        told = [f"{path.name}: {len(found)} differ", *found]
        for cause, how in causes.items():
            alone = differences(stored, rerun(path, *how), passing)
            told += [f"{cause}: {len(alone)} differ", *alone]
        pytest.fail("\n".join(told), pytrace=False)


def test_no_picture_is_another_one(page):
    path, stored, fresh = page
    assert other_pictures(stored, fresh) == [], path.name


# --- the net itself -------------------------------------------------------------------------------------------------


def test_a_chaotic_ride_is_found(tmp_path, elsewhere, root):
    path = tmp_path / "chaotic.ipynb"
    nbformat.write(new_notebook(cells=[new_code_cell(CHAOTIC, id="rides")]), path)
    refresh(path)
    stored = nbformat.read(path, as_version=4)
    found = [differences(stored, rerun(path, *how), sanitisers(root)) for how in ((elsewhere, True), ({}, True))]
    for one in found:
        assert len(one) == 1
        assert one[0].startswith("rides: ")
        assert "without limits:" in one[0]
        assert " -> " in one[0]


def test_a_changed_digit_is_named():
    assert moved("a ride of 3.51 m/s², 12 %", "a ride of 3.52 m/s², 12 %") == ["a ride of 3.51 -> 3.52"]
    assert moved("Curves, root mean square: 1.204, 3.1e-05", "Curves, root mean square: 1.204, 3.2e-05") == [
        "Curves, root mean square: 1.204, 3.1e-05 -> 3.2e-05"
    ]
    assert moved("none\nkept: 4", "none\nkept: none") == ["-kept: 4", "+kept: none"]
    assert moved("5\u00a0500 N", "5\u00a0500 N") == []


def test_what_nbval_lets_pass_passes(root):
    cell = new_code_cell("", id="one")
    page = new_notebook(cells=[cell])
    cell.outputs = [nbformat.v4.new_output("stream", text="helpers 0.1.0: 7 ready")]
    assert texts(cell, sanitisers(root)) == ["helpers VERSION: 7 ready"]
    other = nbformat.from_dict({**page, "cells": [{**cell, "outputs": []}]})
    assert differences(page, other, []) == ["one: 1 texts -> 0"]


def png(image, **how):
    held = io.BytesIO()
    image.save(held, "PNG", **how)
    return held.getvalue()


def changed(picture):
    """A picture white, flattened to half its height on its own canvas, and halved; then as it may be drawn again."""
    image = Image.open(io.BytesIO(picture)).convert("RGB")
    width, height = image.size
    white = Image.new("RGB", image.size, "white")
    flat, shifted, half = white.copy(), white.copy(), image.resize((width, height // 2))
    flat.paste(half, (0, height // 2))
    shifted.paste(image, (1, 1))
    again = png(image, compress_level=1), png(image.quantize(64)), png(shifted)
    return [png(white), png(flat), png(half)], again


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name[:2])
def test_a_wrong_picture_is_told_from_one_drawn_again(path):
    stored = [picture for cell in nbformat.read(path, as_version=4).cells for picture in pictures(cell)]
    assert stored
    for number, picture in enumerate(stored):
        wrong, again = changed(picture)
        wrong += stored[:number] + stored[number + 1 :]  # swapped
        assert min(apart(picture, one) for one in wrong) > 3.0 * APART
        assert max(apart(picture, one) for one in again) < 0.5 * APART


def test_swapped_and_missing_pictures_are_named():
    path = PAGES[0]
    stored, fresh = (nbformat.read(path, as_version=4) for _ in range(2))
    first, second, third = [cell for cell in fresh.cells if len(pictures(cell)) == 1][:3]
    first.outputs, second.outputs, third.outputs = second.outputs, first.outputs, []
    found = other_pictures(stored, fresh)
    assert [line.split(":")[0] for line in found] == [first.id, second.id, third.id]
    assert found[2].endswith("1 pictures -> 0")


def test_a_picture_that_cannot_be_compared_is_refused():
    cell = new_code_cell("", id="sketch")
    cell.outputs = [nbformat.v4.new_output("display_data", {"text/html": '<img src="data:image/svg+xml;base64,AAAA">'})]
    with pytest.raises(ValueError, match=r"sketch: a picture is of type svg\+xml; allowed is png"):
        pictures(cell)


@pytest.mark.skipif(platform.machine() not in ("x86_64", "AMD64"), reason="kinds of processor of this family")
def test_another_processor_is_another_one(elsewhere):
    def seen(variables):
        command = [sys.executable, "-c", "import numba, numpy; print(numba.config.CPU_NAME, numpy.__version__)"]
        told = subprocess.run(
            command, env=os.environ | variables | {"OPENBLAS_VERBOSE": "2"}, capture_output=True, text=True
        )
        return re.search(r"Core: (\w+)", told.stderr + told.stdout)[1], told.stdout.split()[-2]

    plain, other = seen({}), seen(elsewhere)
    assert other[0] != plain[0]
    assert (plain[1], other[1]) == ("None", "generic")
