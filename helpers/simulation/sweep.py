"""Maps of any parameters over thousands of rides, stepped abreast, or of calls, on whatever executor is given.

Every run has a number, its place in the grid in C order. Batches travel with the numbers of their runs and come back
with them, so results are merged by number, in whatever order and from whichever worker; a number that comes back twice,
or never, is an error. Only a window of rides exists at a time and only their metrics are kept: memory does not grow
with the number of runs beyond the map itself.
"""

import itertools
import math
import os
from collections.abc import Mapping
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from functools import partial

import numpy as np

from helpers.simulation.batch import Ride, ride_abreast
from helpers.simulation.lane_metrics import NAMES
from helpers.simulation.lane_step import LANES

IN_FLIGHT = 32  # batches handed to the executor at a time: enough for a cluster, few enough to hold
WINDOW = 16 * LANES  # rides sorted into batches at a time
POLL = 0.05  # s between two looks at `cancel`
CALLS = 16  # of a function, handed to the executor together


@dataclass(frozen=True, eq=False)
class Map:
    """What a sweep found, over a grid whose axes are those of `axes`, in their order.

    axes: values by name. values: an array of the grid's shape by name, in SI units, for each metric and
    each measure asked for; NaN where a run failed or was not done. done: bool, of the grid's
    shape, for every run that was tried. failures: sentence by place in the grid. runs: `Run` by place in the grid, if
    asked for. cancelled: whether the sweep was stopped before its end.
    """

    axes: dict
    values: dict
    done: np.ndarray
    failures: dict
    runs: dict
    cancelled: bool

    def __getitem__(self, name):
        if name not in self.values:
            raise KeyError(f"Map: {name!r} is not in the map; allowed are {', '.join(self.values)}.")
        return self.values[name]


@dataclass(frozen=True, eq=False)
class _Returned:
    """A batch on its way back: numbers of its runs, their values, failures and runs by number."""

    numbers: list
    values: np.ndarray
    failures: dict
    runs: dict


def _step(metrics, measures, keep_runs, numbers, rides):
    """What a worker does with one batch."""
    outcome = ride_abreast(rides, keep_runs or bool(measures), metrics)
    extra = np.full((len(rides), len(measures)), math.nan)
    for row, run in zip(extra, outcome.runs, strict=False):
        if run is not None:
            row[:] = [measure(run) for measure in measures]
    failures = {numbers[place]: sentence for place, sentence in outcome.failures.items()}
    runs = {number: run for number, run in zip(numbers, outcome.runs, strict=False) if keep_runs and run is not None}
    return _Returned(numbers, np.hstack([outcome.values, extra]), failures, runs)


def _checked_axes(grid):
    if not isinstance(grid, Mapping) or not grid:
        raise TypeError(f"sweep: grid is {grid!r}; allowed are one or more parameters by name, each with its values.")
    axes = {}
    for name, values in grid.items():
        if isinstance(values, str) or not np.iterable(values):
            raise TypeError(f"sweep: {name} is {values!r}; allowed is a sequence of values.")
        axes[name] = values if isinstance(values, np.ndarray) else list(values)
        if len(axes[name]) == 0:
            raise ValueError(f"sweep: {name} has no values; allowed is one or more.")
    return axes


def _batches(run_of, axes, refuse):
    """Batches of (numbers, rides), alike ones together; a ride that cannot be made is told to `refuse`."""
    points = enumerate(itertools.product(*axes.values()))
    while window := list(itertools.islice(points, WINDOW)):
        rides = []
        for number, point in window:
            try:
                ride = run_of(**dict(zip(axes, point, strict=True)))
            except ValueError as error:
                refuse(number, str(error))
                continue
            if not isinstance(ride, Ride):
                raise TypeError(f"sweep: run_of returned {ride!r}; allowed is a Ride.")
            rides.append((number, ride))
        rides.sort(key=lambda one: one[1].alike)
        for _, group in itertools.groupby(rides, key=lambda one: one[1].alike[0]):
            group = list(group)
            for first in range(0, len(group), LANES):
                numbers, batch = zip(*group[first : first + LANES], strict=True)
                yield list(numbers), list(batch)


class _Ledger:
    """The map while it fills: every run is entered once."""

    def __init__(self, axes, names):
        self.axes, self.names = axes, names
        self.shape = tuple(len(values) for values in axes.values())
        self.table = np.full((len(names), math.prod(self.shape)), math.nan)
        self.done = np.zeros(self.table.shape[1], dtype=bool)
        self.failures, self.runs = {}, {}

    def refuse(self, number, sentence):
        """Enter a run that cannot be made."""
        self._enter([number])
        self.failures[number] = sentence

    def take(self, returned):
        """Enter a batch."""
        self._enter(returned.numbers)
        self.table[:, returned.numbers] = returned.values.T
        self.failures.update(returned.failures)
        self.runs.update(returned.runs)

    def _enter(self, numbers):
        again = [number for number in numbers if self.done[number]]
        if again or len(set(numbers)) < len(numbers):
            raise RuntimeError(f"sweep: run {(again or numbers)[0]} came back twice; allowed is once.")
        self.done[numbers] = True

    def map(self, cancelled):
        """The `Map`; RuntimeError if a run is missing that nobody cancelled."""
        if not cancelled and not self.done.all():
            raise RuntimeError(f"sweep: run {int(np.argmin(self.done))} never came back; allowed is once.")

        def place(number):
            return tuple(int(k) for k in np.unravel_index(number, self.shape))

        return Map(
            self.axes,
            {name: row.reshape(self.shape) for name, row in zip(self.names, self.table, strict=True)},
            self.done.reshape(self.shape),
            {place(number): sentence for number, sentence in sorted(self.failures.items())},
            {place(number): run for number, run in sorted(self.runs.items())},
            cancelled,
        )


def _checked_names(metrics, measures):
    """What the map will hold: each name known, none twice."""
    metrics = (metrics,) if isinstance(metrics, str) else tuple(metrics)
    for name in metrics:
        if name not in NAMES:
            raise ValueError(f"sweep: metric is {name!r}; allowed are {', '.join(NAMES)}.")
    names = *metrics, *measures
    twice = [name for name in names if names.count(name) > 1]
    if twice:
        raise ValueError(f"sweep: {twice[0]} is asked for twice; allowed is once among metrics and measures.")
    if not names:
        raise ValueError("sweep: metrics and measures are empty; allowed is one or more.")
    return metrics


def sweep(
    run_of, grid, executor=None, progress=None, cancel=None, *, metrics=NAMES, measures=None, keep_runs=False
):  # fmt: skip
    """Ride the whole grid and return its `Map`.

    run_of(**point): the `Ride` at a point of the grid, called here, in the caller's thread, a window ahead. A ride that
    cannot be made (ValueError), or that runs beyond all bounds, is NaN in the map and its sentence in `failures`.
    grid: one or more parameters by name, each with its values (of any kind that `run_of` takes).
    executor: any `concurrent.futures.Executor`; threads, one for each core, unless given (the stepper runs without
    Python's lock). One of processes or a cluster gets batches by pickling, so `measures` must be importable there.
    progress(done, total): called here after each batch. cancel(): looked at all along; once true, batches that have not
    begun are dropped and the map returns with what is done.
    metrics: names among `lane_metrics.NAMES`, all unless given; filters of weightings run only where comfort, dose and
    its like, or hand_arm are among them. measures: functions of a `Run` to a number, by name, evaluated where the run
    was stepped. keep_runs: keep every `Run`, which takes memory for each. Raises RuntimeError if the executor loses a
    run or returns one twice.
    """
    axes, measures = _checked_axes(grid), dict(measures or {})
    metrics = _checked_names(metrics, measures)
    ledger = _Ledger(axes, (*metrics, *measures))
    batches = _batches(run_of, axes, ledger.refuse)
    step = partial(_step, metrics, tuple(measures.values()), keep_runs)

    def take(returned):
        ledger.take(returned)
        return int(ledger.done.sum()), len(ledger.done)

    cancelled = _spread(step, batches, take, executor or ThreadPoolExecutor(os.cpu_count()), progress, cancel, executor)
    return ledger.map(cancelled and not ledger.done.all())


class Here(Executor):
    """Works at once and in order, in the caller's thread, where an interrupt reaches it."""

    def submit(self, work, *given):
        future = Future()
        future.set_result(work(*given))
        return future


def _calls(call, numbers, points):
    return numbers, [call(point) for point in points]


def called(call, points, executor=None, progress=None):
    """What `call(point)` returns for each of a list of points, in their order; called here unless on an executor.

    Executor and progress: as for `sweep`, whose bookkeeping this shares. Raises what `call` raises here.
    """
    found, numbered = {}, list(enumerate(points))
    batches = (zip(*numbered[first : first + CALLS], strict=True) for first in range(0, len(points), CALLS))

    def take(returned):
        if not found.keys().isdisjoint(returned[0]):
            raise RuntimeError(f"sweep: run {returned[0][0]} came back twice; allowed is once.")
        found.update(zip(*returned, strict=True))
        return len(found), len(points)

    _spread(partial(_calls, call), batches, take, executor or Here(), progress, most=None if executor else 1)
    return [found[number] for number in range(len(points))]


def _spread(work, batches, take, pool, progress=None, cancel=None, lasting=True, most=None):
    """Hand `work(*batch)` of all batches to a pool, and `take` what comes back; whether it was cancelled.

    take: returns (done, total) for `progress`. lasting: whether the pool is used afterwards. most: batches at a time,
    IN_FLIGHT unless given.
    """
    pending, cancelled, most = {}, False, most or IN_FLIGHT
    try:
        while True:
            cancelled = cancelled or (cancel is not None and bool(cancel()))
            while not cancelled and len(pending) < most and (batch := next(batches, None)) is not None:
                numbers, points = batch
                pending[pool.submit(work, numbers, points)] = numbers
                cancelled = cancel is not None and bool(cancel())
            if cancelled:
                pending = {future: numbers for future, numbers in pending.items() if not future.cancel()}
            if not pending:
                break
            finished, _ = wait(pending, timeout=POLL, return_when=FIRST_COMPLETED)
            told = None
            for future in finished:
                numbers = pending.pop(future)
                try:
                    returned = future.result()
                except Exception as error:
                    raise RuntimeError(f"sweep: the executor failed on runs {numbers}: {error!r}.") from error
                told = take(returned)
            if told and progress is not None:
                progress(*told)
    finally:
        for future in pending:
            future.cancel()
        if not lasting:
            pool.shutdown(cancel_futures=True)
    return cancelled
