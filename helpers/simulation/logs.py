"""A measured log: read from a CSV file, its faults found, mended and told, or one sentence why it cannot be used.

The file is text with one header row that names `time` and any other columns of `UNITS`, each with its unit, as in
`time (ms); wheel acceleration (g); pressure (bar)`. Commas, semicolons or tabs part the columns; with the latter two
the decimal sign may be a comma. It may be packed by gzip. Other columns are left out, and that is told.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from helpers.models.quantities import in_range
from helpers.simulation.log_text import MOST_LOST, LogError, header_of, numbers_of, text_of

SWINGS = ("wheel_acceleration", "body_acceleration", "travel")  # a channel that stays at its end is saturated
MOST_BACK = 0.05  # s; rows are written late now and then; a clock that goes back further was set anew


@dataclass(frozen=True, eq=False, repr=False)
class Log:
    """Samples over time, all in SI units: `time` in s, shape (n,), and `channels` by name, shape (n,) each, NaN where
    a value is missing; each is an attribute too, as in log.pressure. found: what was wrong and what was done about it.
    """

    name: str
    time: np.ndarray
    channels: dict
    found: tuple = field(default=())

    def __getattr__(self, name):
        if not name.startswith("_") and name in self.channels:
            return self.channels[name]
        raise AttributeError(f"{self.name} has no {name!r}; it has {', '.join(['time', *self.channels])}.")

    @cached_property
    def period(self):
        """Time between two samples, s: the mean of the intervals that are no gaps."""
        steps = np.diff(self.time)
        return float(np.mean(steps[steps < 1.5 * np.median(steps)]))

    @property
    def rate(self):
        """Samples a second, Hz."""
        return 1.0 / self.period

    @property
    def jitter(self):
        """Standard deviation of the intervals that are no gaps, s."""
        steps = np.diff(self.time)
        return float(np.std(steps[steps < 1.5 * np.median(steps)]))

    def every(self, count, first=0):
        """What a logger would have kept that takes every `count`-th sample, from the sample `first`."""
        kept = {name: values[first::count] for name, values in self.channels.items()}
        return replace(self, time=self.time[first::count], channels=kept)

    def between(self, first, last):
        """The rows from `first` to `last` in s."""
        kept = (self.time >= first) & (self.time <= last)
        return replace(self, time=self.time[kept], channels={k: values[kept] for k, values in self.channels.items()})

    def __repr__(self):
        told = f"{self.name}: {len(self.time)} rows, {self.time[-1] - self.time[0]:.1f} s at {self.rate:.1f} Hz "
        told += f"(intervals vary by {1e3 * self.jitter:.3f} ms); {', '.join(self.channels).replace('_', ' ')}."
        return "\n".join([told, *(f"- {line}" for line in self.found)])


def load_log(source, drift=0.0):
    """Read a log from a CSV file's path, from its text (any str with a line break) or from its bytes; returns a `Log`.

    drift: how much too fast the logger's clock is known to run, as a share (20e-6 is 20 ppm): times are divided by
    one plus it. Show the result to see what was found and mended. Raises LogError, one sentence.
    """
    name, text, found = text_of(source)
    columns, delimiter, row, text = header_of(name, text, found)
    table = numbers_of(name, columns, delimiter, row, text, found)
    time, channels = None, {}
    for (column, _, factor), values in zip(columns, table.T, strict=True):
        if column == "time":
            time = values * factor / (1.0 + in_range("load_log", "drift", drift, "", -0.1, 0.1))
        else:
            channels[column.replace(" ", "_")] = values * factor
    if drift:
        found.append(f"The clock's drift of {1e6 * drift:g} ppm was taken off.")
    time, channels = _in_order(name, time, channels, found)
    log = Log(name, time, channels)
    _look(log, found)
    return replace(log, found=tuple(found))


def _in_order(name, time, channels, found):
    """Times that rise, and the channels with them."""
    kept = np.isfinite(time)
    if not kept.all():
        found.append(f"{(~kept).sum()} rows without a time were left out.")
    if kept.sum() < 2:
        raise LogError(f"{name}: {kept.sum()} rows have a time; allowed are two or more.")
    time = time[kept]
    steps = np.diff(time)
    order = np.arange(len(time))
    if (steps < 0.0).any():
        k = int(np.argmin(steps))
        if steps[k] < -MOST_BACK or (steps < 0.0).sum() > MOST_LOST * len(time):
            raise LogError(f"{name}: time goes back {(steps < 0).sum()} times, by {-steps[k]:.4g} s after "
                           f"{time[k]:.6g} s; allowed is {MOST_BACK:g} s, seldom: cut the log there.")  # fmt: skip
        order = np.argsort(time, kind="stable")
        time = time[order]
        found.append(f"Time went back {(steps < 0.0).sum()} times, by {-steps[k]:.3g} s at most: rows were sorted.")
    fresh = np.diff(time, prepend=-np.inf) > 0.0
    if not fresh.all():
        found.append(f"{(~fresh).sum()} rows repeat a time; the first of each was kept.")
    time, channels = time[fresh], {key: values[kept][order][fresh] for key, values in channels.items()}
    if len(time) < 2 or not 1e-6 <= np.median(np.diff(time)) <= 0.5:
        median = float(np.median(np.diff(time))) if len(time) > 1 else 0.0
        raise LogError(f"{name}: rows are {median:.3g} s apart in the median; allowed is 1e-06 to 0.5 s (is time in "
                       "the unit named?).")  # fmt: skip
    return time, channels


def _look(log, found):
    """What a reader of the log must know, and what nothing was done about."""
    steps = np.diff(log.time)
    gaps = steps > 1.5 * np.median(steps)
    if gaps.any():
        lost = np.sum(np.round(steps[gaps] / log.period) - 1)
        found.append(f"{gaps.sum()} gaps, together {lost:.0f} samples, the longest {steps.max():.3g} s: left open.")
    for name, values in log.channels.items():
        told, missing = name.replace("_", " "), np.isnan(values)
        if missing.all():
            raise LogError(f"{log.name}: {told} holds no number in any row; allowed is a column with values.")
        if missing.any():
            found.append(f"{told}: {missing.sum()} values are missing.")
        if name in SWINGS:
            for end in (np.nanmax(values), np.nanmin(values)):
                at = np.flatnonzero(np.diff(np.r_[0, values == end, 0]))
                longest = (at[1::2] - at[::2]).max()
                if longest >= 3 and np.nanmin(values) < np.nanmax(values):
                    found.append(f"{told} stands at its end, {end:.4g}, in {(values == end).sum()} rows, up to "
                                 f"{longest} in a row: saturated, its peaks are not known.")  # fmt: skip
        if name.endswith("acceleration") and abs(np.nanmedian(values)) > 1.0:
            found.append(f"{told} stands at {np.nanmedian(values):.3g} m/s² at rest; events are counted from there.")
