"""Tables of a page's cells: a row a case, numbers with their units, three significant digits."""

import math

from helpers.simulation.riding import MEASURES, Ride, RideError, rounded, shown
from helpers.teaching.page import table


class Table:
    """A table to show; `rows` holds its numbers by case and column, for going on with them."""

    def __init__(self, rows, heads=None):
        self.rows = rows
        self._heads = heads or {name: name for row in rows.values() for name in row}

    def _repr_markdown_(self):
        units = {name: "%" if "(%)" in head else "" for name, head in self._heads.items()}
        cells = [[case, *(number(row.get(name, math.nan), unit) for name, unit in units.items())]
                 for case, row in self.rows.items()]  # fmt: skip
        return table(["", *self._heads.values()], cells).text

    def __repr__(self):
        return self._repr_markdown_()

    def __getitem__(self, case):
        return self.rows[case]


def number(value, unit=""):
    """A number for a cell: three significant digits, or of a percentage one decimal."""
    if isinstance(value, str):
        return value
    if value is None or math.isnan(value):
        return "–"
    if math.isinf(value):
        return "never"
    if unit == "%":
        return f"{value:.1f}"
    return f"{value:d}" if isinstance(value, int) else rounded(value)


def compare(cases, *what):
    """A table with a row for each case.

    cases: by name, each a `Ride`, or the arguments of a function, in brackets. what: names of what a ride is measured
    by, "vibration", "dose" and so on (see `Ride`), those two unless given; or one function that takes a case's
    arguments and returns a row: a dict of numbers by their heading, with the unit in it. Raises RideError.
    """
    if not isinstance(cases, dict) or not cases:
        raise RideError('compare: the cases come by name, as in {"open": ride(bike, loop.descent)}.')
    if len(what) == 1 and callable(what[0]):
        rows = {}
        for name, arguments in cases.items():
            row = what[0](*(arguments if isinstance(arguments, tuple) else (arguments,)))
            if not isinstance(row, dict):
                raise RideError(f"compare: the function returned {shown(row)} for {name}; allowed is a dict.")
            rows[name] = row
        return Table(rows)
    what = what or ("vibration", "dose")
    for name in what:
        if name not in MEASURES:
            raise RideError(f"compare: {name!r} is not measured; allowed are {', '.join(MEASURES)}.")
    for name, ride in cases.items():
        if not isinstance(ride, Ride):
            raise RideError(f"compare: {name} is {shown(ride)}; allowed is a ride; or give a function last.")
    heads = {name: f"{name.replace('_', ' ')} ({MEASURES[name][0]})" for name in what}
    return Table({case: {name: getattr(ride, name) for name in what} for case, ride in cases.items()}, heads)
