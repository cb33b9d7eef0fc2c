"""`sweep` as a page asks for it: a function of the learner's over a grid of values, or over draws from ranges."""

import inspect
import itertools
import math
from functools import partial

import numpy as np

from helpers.control.own_law import Interrupted
from helpers.models.uncertainty import Range, shares
from helpers.simulation.riding import RideError, rounded
from helpers.simulation.sweep import called
from helpers.teaching.tables import Table, numbers_of

MOST_ROWS = 40  # of a table; beyond, and of draws, it tells how the results spread


class Swept(Table):
    """What a sweep found. `found["name"]` is an array of what came out, or of what went in, in the grid's shape.

    NaN where the function failed: `failures` has the sentences, by number. Shown as a table: two parameters with one
    result crosswise, a row a case, or mean, 5 %, middle and 95 % of each result.
    """

    corner = "parameters"

    def __init__(self, axes, points, rows, shape):
        names = list(next(row for row in rows if isinstance(row, dict)))
        none = dict.fromkeys(names, math.nan)
        self.failures = {k: row for k, row in enumerate(rows) if isinstance(row, str)}
        self.results = {name: np.array([(none if k in self.failures else row)[name] for k, row in enumerate(rows)])
                        .reshape(shape) for name in names}  # fmt: skip
        self.inputs = {name: np.array([point[name] for point in points]).reshape(shape) for name in axes}
        if len(shape) == len(axes) == 2 and len(names) == 1 and max(shape) <= MOST_ROWS:
            self.corner = " \\ ".join(axes)
            first, second = axes.values()
            table = {_text(x): {_text(y): self[names[0]][i, j] for j, y in enumerate(second)}
                     for i, x in enumerate(first)}  # fmt: skip
        elif len(shape) == len(axes) and len(points) <= MOST_ROWS:
            table = {_at(point): none if isinstance(row, str) else row for point, row in zip(points, rows, strict=True)}
        else:
            self.corner, table = "result", {name: _spread(values) for name, values in self.results.items()}
        super().__init__(table)

    def __getitem__(self, name):
        known = self.results | self.inputs
        if name not in known:
            raise RideError(f"sweep: {name!r} is not in it; allowed are {', '.join(known)}.")
        return known[name]

    def moved_by(self, name=None):
        """A table of the inputs, that with most influence first: its rank correlation with a result, −1 to 1."""
        result = _ranks(self[name or next(iter(self.results))].ravel())
        told = {key: float(np.corrcoef(_ranks(values.ravel()), result)[0, 1])
                for key, values in self.inputs.items() if values.dtype.kind in "if" and np.ptp(values)}  # fmt: skip
        return Table({key: {"rank correlation": told[key]} for key in sorted(told, key=lambda key: -abs(told[key]))})

    def _repr_markdown_(self):
        text = super()._repr_markdown_()
        if not self.failures:
            return text
        count, first = len(self.failures), next(iter(self.failures.values()))
        return f"{text}\n\n{count} of {next(iter(self.results.values())).size} failed, the first {first}"


def sweep(measure, over, draws=0, seed=1, executor=None, progress=None):
    """A function of yours over a grid of values, or over draws from ranges; returns a table of arrays, see `Swept`.

    measure: takes the parameters by name and returns a number, a dict of numbers, or a `Ride`. over: values of each
    parameter by name, as in {"speed": [4, 6, 8], "delay": [0, 0.01]}: every combination is tried. With draws=1000 each
    is a range in place of that, (low, high) evenly or (low, most likely, high), or a list of choices, and as many
    draws are made, the same for the same `seed`; `.moved_by("name")` then says which input counts. executor: any of
    `concurrent.futures` or a cluster's; here, in order, unless given. progress: called with (done, total); try print.
    Raises RideError, one sentence, where nothing could be computed; a case that fails is NaN and told below the table.
    """
    if not callable(measure) or not isinstance(over, dict) or not over:
        raise RideError('sweep: allowed are a function, and values by name, as in sweep(measure, {"speed": [4, 6]}).')
    axes = {name: _values(name, about) for name, about in over.items()}
    try:
        inspect.signature(measure).bind(**axes)
    except TypeError as error:
        raise RideError(f"sweep: the function is handed {', '.join(axes)} by name: {error}.") from None
    if draws:
        if not (isinstance(draws, int) and 0 < draws <= 1_000_000):
            raise RideError(f"sweep: draws is {draws!r}; allowed is 1 to 1000000.")
        drawn = {name: _quantiles(name, over[name], share) for name, share in shares(axes, seed, draws).items()}
        points, shape = [dict(zip(drawn, row, strict=True)) for row in zip(*drawn.values(), strict=True)], (draws,)
    else:
        points = [dict(zip(axes, row, strict=True)) for row in itertools.product(*axes.values())]
        shape = tuple(map(len, axes.values()))
    try:
        rows = called(partial(_told, measure), points, executor, progress)
    except RuntimeError as error:
        raise RideError(" ".join(str(error).split())) from None
    except KeyboardInterrupt:
        raise RideError(f"sweep: interrupted; none of its {len(points)} cases is kept.") from None
    if all(isinstance(row, str) for row in rows):
        raise RideError(f"sweep: nothing could be computed, the first {rows[0]}")
    return Swept(axes, points, rows, shape)


def _values(name, about):
    if isinstance(about, str) or not np.iterable(about) or not len(about):
        raise RideError(f"sweep: {name} is {about!r}; allowed is a list of values, or with draws a range (low, high).")
    return [value.item() if isinstance(value, np.generic) else value for value in about]


def _quantiles(name, about, share):
    """What stands at a share of all draws: a list of plain numbers, or of choices."""
    if isinstance(about, list):
        return [about[int(k)] for k in share * len(about)]
    try:
        low, *likely, high = map(float, about)
        if likely:
            return Range(low, *likely, high).quantile(share).tolist()
        if low <= high < math.inf:
            return (low + share * (high - low)).tolist()
    except (TypeError, ValueError):
        pass
    raise RideError(f"sweep: {name} is {about!r}; allowed is (low, high), (low, most likely, high), or a list.")


def _told(measure, point):
    """The numbers of one case by name, or a sentence on why there are none."""
    try:
        return numbers_of("sweep", measure(**point))
    except Interrupted:
        raise
    except Exception as error:
        words = str(error) if isinstance(error, ValueError) else f"{type(error).__name__}: {error}"
        return f"at {_at(point)}: {' '.join(words.split()).rstrip('.')}."


def _text(value):
    return rounded(float(value)) if isinstance(value, int | float | np.number) else str(value)


def _at(point):
    return ", ".join(f"{name} {_text(value)}" for name, value in point.items())


def _spread(values):
    there = values[np.isfinite(values)]
    told = np.quantile(there, (0.05, 0.5, 0.95)) if there.size else [math.nan] * 3
    return {"mean": there.mean() if there.size else math.nan} | dict(zip(("5 %", "middle", "95 %"), told, strict=True))


def _ranks(values):
    return np.argsort(np.argsort(values, kind="stable"), kind="stable")
