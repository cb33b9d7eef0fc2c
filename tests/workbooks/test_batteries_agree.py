"""What workbook 12 says of the valve's battery is what 09 finds: one draw, one cell in the cold."""

import re

import nbformat
from pages import NOTEBOOKS
from quoted import told


def cell(page, name):
    return told(next(cell for cell in nbformat.read(NOTEBOOKS[page], as_version=4).cells if cell.id == name))


def row(page, name, case):
    """The numbers of a row of a table."""
    line = next(line for line in cell(page, name).splitlines() if line.startswith(f"| {case}"))
    return [float(number) for number in re.findall(r"(?<=\| )[\d.]+(?= \|)", line)]


def test_the_valve_draws_the_same():
    drawn = row(9, "bill-table", "semi-active valve")[-2]
    assert f"draws (W): {drawn}" in cell(12, "live-figure")


def test_a_cold_cell_gives_the_same():
    each = row(9, "parameters", "lithium-ion cell")[-1]
    three = float(re.search(r"-10 °C: .*? at most ([\d.]+) W half full", cell(12, "battery"))[1])
    assert abs(3.0 * each - three) < 0.05 + 3.0 * 0.005


def test_both_take_three_cells_for_the_peak():
    assert row(9, "day", "semi-active valve")[-1] == 3
    assert "cells for the peak: 3" in cell(12, "live-figure")
