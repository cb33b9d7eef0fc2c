"""Tables of a page's cells: a row a case, numbers with their units, three significant digits."""

import math

from helpers.control.latency import Chain
from helpers.control.own_law import Interrupted
from helpers.control.timing import Timing
from helpers.simulation.riding import MEASURES, Ride, RideError, rounded, shown
from helpers.teaching.page import table


class Table:
    """A table to show; `rows` holds its numbers by case and column, for going on with them."""

    corner = "case"  # heads the first column: a screen reader says it

    def __init__(self, rows, heads=None):
        self.rows = rows
        self._heads = heads or {name: name for row in rows.values() for name in row}

    def _repr_markdown_(self):
        units = {name: "%" if "(%)" in head else "" for name, head in self._heads.items()}
        cells = [[case, *(number(row.get(name, math.nan), unit) for name, unit in units.items())]
                 for case, row in self.rows.items()]  # fmt: skip
        return table([self.corner, *self._heads.values()], cells).text

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


LOOKED_AT = ("vibration", "dose", "off_ground", "travel_used")  # of a ride


def numbers_of(caller, given):
    """What a learner's function returned, as numbers by name; RideError if it is no number, dict or ride."""
    if isinstance(given, Ride):
        return {name: getattr(given, name) for name in LOOKED_AT}
    try:
        return {name: float(value) for name, value in (given if isinstance(given, dict) else {"result": given}).items()}
    except (TypeError, ValueError):
        told = f"{caller}: the function returned {shown(given)}; allowed is a number, a dict of numbers or a ride."
        raise RideError(told) from None


def compare(cases, *what):
    """A table with a row for each case.

    cases: by name, each a `Ride`, or the arguments of a function, in brackets. what: names of what a ride is measured
    by, "vibration", "dose" and so on (see `Ride`), those two unless given; or first a function, such as `ride`, that
    takes a case's arguments and returns a ride, or a row: a dict of numbers by their heading, with the unit in it. A
    case that fails says so in its row, and the others show. Raises RideError.
    """
    if not isinstance(cases, dict) or not cases:
        raise RideError('compare: the cases come by name, as in {"open": ride(bike, loop.descent)}.')
    function, what = (what[0], what[1:]) if what and callable(what[0]) else (None, what)
    for name in what:
        if name not in MEASURES:
            raise RideError(f"compare: {name!r} is not measured; allowed are {', '.join(MEASURES)}.")
    heads = {name: f"{name.replace('_', ' ')} ({MEASURES[name][0]})" for name in what or ("vibration", "dose")}
    rows, failed, ridden = {}, {}, function is None
    for case, given in cases.items():
        rows[case] = {}
        try:
            row = function(*(given if isinstance(given, tuple) else (given,))) if function else given
        except Interrupted:
            raise
        except ValueError as error:
            failed[case] = error
            continue
        if isinstance(row, Ride):
            rows[case], ridden = {name: getattr(row, name) for name in heads}, True
        elif function and isinstance(row, dict):
            rows[case] = row
        elif function:
            raise RideError(f"compare: the function returned {shown(row)} for {case}; allowed is a dict or a ride.")
        else:
            raise RideError(f"compare: {case} is {shown(row)}; allowed is a ride; or give a function last.")
    if len(failed) == len(rows):
        raise next(iter(failed.values()))
    first = next(iter(heads if ridden else next(row for row in rows.values() if row)))
    for case, error in failed.items():
        rows[case] = {first: " ".join(str(error).replace("|", "\\|").split())}
    return Table(rows, heads if ridden else None)


class Budget(Table):
    """The table of a chain's stages; `best`, `mean`, `worst` are the times in ms until 63 % of the force is there."""

    corner = "stage"

    best, mean, worst = (property(lambda self, name=name: self.rows[UNTIL_63][f"{name} (ms)"])
                         for name in ("best", "mean", "worst"))  # fmt: skip


UNTIL_63, UNTIL_90 = "until 63 % of the force", "until 90 % of the force"


def budget(timing, filter_order=1):
    """How old is what a valve acts on: a row for each stage, best, mean and worst case in ms, and the sums.

    timing: a `Timing`, such as real_chain.changed(sample_rate=100). filter_order: of its sensor filter, a Butterworth
    low-pass. The valve counts until 63.2 % of the change of force, its time constant; the last row until 90 %. Of the
    result `.best`, `.mean` and `.worst` are the sums in ms. Raises RideError.
    """
    if not isinstance(timing, Timing):
        raise RideError(f"budget: timing is {timing!r}; allowed is a Timing, such as real_chain or ideal.")
    until = {name: Chain.of(timing, filter_order=filter_order, share=share)
             for name, share in ((UNTIL_63, 1.0 - math.exp(-1.0)), (UNTIL_90, 0.9))}  # fmt: skip
    stages = {stage.name: (stage.least, stage.mean, stage.most) for stage in until[UNTIL_63].stages}
    sums = {name: (chain.best, chain.mean, chain.worst) for name, chain in until.items()}
    return Budget({
        name: {f"{case} (ms)": 1e3 * value for case, value in zip(("best", "mean", "worst"), times, strict=True)}
        for name, times in (stages | sums).items()
    })  # fmt: skip
