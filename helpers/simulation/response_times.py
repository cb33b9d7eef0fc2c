"""Response times from a log, each with an interval: the mean over many events of differences of first crossings.

Both first crossings come late, each by an even share of a period T. If the logger's phase is random from event to event
the lateness cancels in the mean of the differences, and only there: a median, a best case or lines between samples do
not tell the same. An event that comes r after a whole number of periods spreads by sqrt(r (T - r)), T/2 at most.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.control.response import HEADS, Response
from helpers.models.quantities import in_range
from helpers.simulation.log_text import LogError
from helpers.simulation.logs import Log

RESPONSES = ("pressure", "current", "valve_command")
QUIET = 0.1  # s without a reading above the threshold before an event
EARLY, REST, LONGEST = 0.02, 0.06, 0.1  # s: a response is looked for from EARLY before to LONGEST after an event
FIRST, MOST, NINETY = 0.1, 1.0 - math.exp(-1.0), 0.9  # shares of the response's change
TENTH = math.log(1.0 - FIRST)  # of a first-order lag: 10 % is reached -TENTH time constants after the dead time
FEWEST, BLIND, SHORT, SIGMAS = 20, 0.02, 0.2, 5.0
NEAREST = 60  # peaks on either side of the threshold that say where it is
PEAK = 2.1e-3  # s; a weak bump's peak lasts no longer, so slower loggers miss it
CLEAR, SOON = 1.5, 0.01  # times the threshold, within s: a weaker event is not seen by logger and valve alike
CANNOT = "This logger cannot tell"


@dataclass(frozen=True)
class Estimate:
    """A mean with half its 95 % interval, in SI units, of `count` events; `unit` is that in which it is shown."""

    value: float
    half: float
    count: int
    unit: str = "ms"

    low = property(lambda self: self.value - self.half)
    high = property(lambda self: self.value + self.half)

    def __str__(self):
        if math.isinf(self.half):
            return "cannot be told"
        factor, digits = (1e3, 2) if self.unit == "ms" else (1.0, 1)
        return f"{factor * self.value:.{digits}f} ± {factor * self.half:.{digits}f} {self.unit}".replace("-", "−")


def interval(values, period, unit="ms"):
    """The `Estimate` of the mean of `values`, differences of times read on a clock of `period` s.

    Half the interval is the larger of Student's t s/sqrt(n) and 3 period/n: where all differences are equal, s is 0 and
    the first alone would claim no doubt at all. NaN where there are fewer than two.
    """
    from scipy.special import stdtrit  # here: slow to load

    values = np.asarray(values, dtype=float)
    count = len(values)
    if count < 2:
        return Estimate(math.nan, math.inf, count, unit)
    spread = stdtrit(count - 1, 0.975) * values.std(ddof=1) / math.sqrt(count)
    return Estimate(float(values.mean()), float(max(spread, 3.0 * period / count)), count, unit)


@dataclass(frozen=True, eq=False)
class ResponseTimes:
    """What `response_times` found. Estimates in s, `threshold` in m/s2; `differences` has (first, 63 %, 90 %) of each
    event, shape (n, 3), s. How many: events, and left out unanswered, weak, in_hold (the valve is open still), spoilt.
    cannot: why the logger cannot tell, a reason each.
    """

    log: Log
    dead_time: Estimate
    to_63: Estimate
    to_90: Estimate
    hold: Estimate
    threshold: Estimate
    differences: np.ndarray
    events: int
    unanswered: int
    weak: int
    in_hold: int
    spoilt: int
    cannot: tuple

    def judge(self, claim, tolerance=1e-3, of="to_63", skew=0.0, filter_delay=0.0):
        """'confirmed', 'refuted' or 'This logger cannot tell' for a claim that the time is `claim` s at most.

        tolerance: what the claim may be missed by, s. skew: by how much the two channels' clocks may differ, s.
        filter_delay: of a filter that only one of them has, s; 0.225/cut-off for a second-order Butterworth.
        """
        claim, tolerance, skew, filter_delay = (
            in_range("judge", name, value, "s", 0.0, 10.0) for name, value in
            (("claim", claim), ("tolerance", tolerance), ("skew", skew), ("filter_delay", filter_delay)))  # fmt: skip
        found, fixed = getattr(self, of), skew + filter_delay
        doubt = found.half + fixed
        if self.cannot:
            return f"{CANNOT}: {self.cannot[0]}"
        if found.low - fixed > claim + tolerance:
            return "refuted"  # however wide the doubt: all of it lies above
        if doubt > tolerance:
            told = f"{CANNOT} to {1e3 * tolerance:g} ms: the doubt is {1e3 * doubt:.2f} ms"
            if fixed >= tolerance:
                return f"{told}, of which no number of events takes away {1e3 * fixed:.2f} ms."
            more = found.half / (tolerance - fixed)
            events = 10 * math.ceil(0.1 * found.count * more**2)
            return f"{told}; some {events} events would do, or {more:.1f} times the rate."
        if found.high + fixed <= claim + tolerance:
            return "confirmed"
        return f"{CANNOT}: {1e3 * (claim + tolerance):g} ms lies within {found.value * 1e3:.2f} ± {1e3 * doubt:.2f} ms."

    @property
    def row(self):
        """What was found, for a table."""
        return {"events": self.events, "dead time": str(self.dead_time), "63 %": str(self.to_63),
                "90 %": str(self.to_90), "hold time": str(self.hold), "threshold": str(self.threshold)}  # fmt: skip

    @property
    def definitions(self):
        """What other meanings of response make of it, ms: of the first-order lag with its dead time and its 63 %."""
        dead, lag = self.dead_time.value, self.to_63.value - self.dead_time.value
        made = zip(HEADS, Response.first_order(dead, lag).row, strict=True)
        return {f"{head} (ms)": 1e3 * value for head, value in made if math.isfinite(value)}

    def __repr__(self):
        told = f"{self.events} events answered; left out: {self.unanswered} unanswered, {self.weak} weak, " \
               f"{self.in_hold} inside the hold time, {self.spoilt} spoilt by gaps."  # fmt: skip
        rows = [f"{name}: {text}" for name, text in self.row.items() if name != "events"]
        return "\n".join([told, *rows, *(f"{CANNOT}: {reason}" for reason in self.cannot)])


def response_times(log, threshold=40.0, response="pressure", late=0.0):
    """Dead time, time to 63 and 90 % of the change, hold time and threshold of a valve, from a `Log`; `ResponseTimes`.

    An event is the first wheel acceleration beyond `threshold` m/s2 (from its median) after 0.1 s below it; those that
    do not pass 1.5 times of it within 10 ms are left out as weak. response: the channel that answers, one of
    `RESPONSES`, which goes between two levels and stays 0.1 s at the second; noise brings its first crossing early and
    its last late, so their mean counts. late: by how much that channel is known to be stamped too late, s. The dead
    time is that of a first-order lag with the same 10 and 63 %, for a first change cannot be seen: a tenth of the lag
    is taken off. The hold time runs from the last reading above the threshold to the way back, less the response's own
    time; NaN where last peaks are too short for the logger. The threshold is the likeliest between peaks that opened
    the valve and peaks that did not. Raises LogError.
    """
    threshold = in_range("response_times", "threshold", threshold, "m/s²", 0.1, 5000.0)
    if response not in RESPONSES or response not in log.channels or "wheel_acceleration" not in log.channels:
        raise LogError(f"response_times: {log.name} has {', '.join(log.channels)} and response is {response!r}; needed "
                       f"are wheel_acceleration and one of {', '.join(RESPONSES)}.")  # fmt: skip
    swing = log.wheel_acceleration - np.nanmedian(log.wheel_acceleration)
    size = np.abs(swing)
    time, period, loud = log.time, log.period, np.flatnonzero(size > threshold)
    starts = loud[np.diff(time[loud], prepend=-np.inf) > QUIET]
    rows = np.searchsorted(time, time[starts, None] + np.array([-REST, -EARLY, LONGEST]))
    share, noises = _share(log.channels[response], swing, rows)
    gap = np.isnan(share) | np.isnan(size) | (np.diff(time, prepend=time[0]) > 1.5 * period)
    gaps = np.concatenate([[0], np.cumsum(gap)])
    found, unanswered, weak, in_hold, spoilt = [], 0, 0, 0, 0
    for start, (before, early, last) in zip(starts, rows, strict=True):
        ahead = share[early:last]
        if before == early or last == len(time) or gaps[last] > gaps[before]:
            spoilt += 1
        elif np.median(share[before:early]) > 0.5 * MOST:
            in_hold += 1
        elif size[start : start + 1 + round(SOON / period)].max() < CLEAR * threshold:
            weak += 1
        elif ahead.max() < NINETY:
            unanswered += 1
        else:
            found.append((start, *(2 * early + _crossed(ahead, part) for part in (FIRST, MOST, NINETY))))
    found = np.array(found, dtype=int).reshape(-1, 4)
    starts, crossings = found[:, 0], 0.5 * (time[found[:, 1:] // 2] + time[(found[:, 1:] + 1) // 2])
    differences = crossings - time[starts, None] - late
    first, most, ninety = differences.T
    dead = first + TENTH / (1.0 + TENTH) * (most - first)
    openings = _openings(time, share)
    opens_at = _threshold(*_peaks(time, size, share, openings), period)
    return ResponseTimes(
        log, *(interval(times, period) for times in (dead, most, ninety)),
        _hold(time, share, loud, starts, crossings[:, 1], period),
        opens_at, differences, len(found), unanswered, weak, in_hold, spoilt,
        tuple(_doubts(time, size, threshold, opens_at, starts, openings, loud, noises)),
    )  # fmt: skip


def _crossed(share, part):
    """Twice the place where a row passes `part`: of its first value there, and of the one after its last there.

    A reading in coarse steps stands on `part` itself for a while: it counts to neither side.
    """
    return int(np.argmax(share > part - 1e-9)) + len(share) - int(np.argmax(share[::-1] < part + 1e-9))


def _share(values, swing, rows):
    """A channel as a share of its change, 0 at rest and 1 after an event, and the noise of swing and share at rest."""
    middle = 0.5 * np.nansum(np.nanpercentile(values, (2.0, 98.0)))
    low, high = (
        float(np.nanmedian(values[side])) if side.any() else middle for side in (values <= middle, values > middle)
    )
    quiet = np.concatenate([np.arange(before, early) for before, early, _ in rows] or [np.arange(0)])
    before, after = (values[np.minimum(row, len(values) - 1)] > middle for row in rows.T[1:])
    answers = before[before != after] if (before != after).any() else values > middle
    rest, change = (high, low - high) if np.mean(answers) > 0.5 else (low, high - low)
    share = (values - rest) / (change or math.inf)
    quiet = quiet[share[quiet] < 0.5 * MOST]
    return share, [1.4826 * float(np.nanmedian(np.abs(v - np.nanmedian(v)))) if len(v) else math.inf
                   for v in (swing[quiet], share[quiet])]  # fmt: skip


def _openings(time, share):
    """Rows at which the response passes half of its change after QUIET below."""
    beyond = np.flatnonzero(share >= 0.5)
    return beyond[np.diff(time[beyond], prepend=time[0]) > QUIET]


def _doubts(time, size, threshold, opens_at, starts, openings, loud, noises):
    """Why the logger cannot tell, a sentence each."""
    if abs(threshold - opens_at.value) > 2.0 * opens_at.half:
        yield f"events count from {threshold:g} m/s², and the valve opens at {opens_at}: take its own level."
    if len(starts) < FEWEST:
        yield f"{len(starts)} events are answered; {FEWEST} are needed."
    ends = np.searchsorted(time, time[openings] + EARLY), np.searchsorted(time, time[openings] - LONGEST)
    blind = int(np.sum(np.searchsorted(loud, ends[0]) == np.searchsorted(loud, ends[1])))
    if blind > BLIND * len(openings):
        yield f"{blind} of {len(openings)} openings show no event before them; {100.0 * BLIND:.0f} % may."
    next_one = np.minimum(starts + 1, len(size) - 1)
    if len(starts) and np.mean(size[next_one] <= threshold) > 0.5:
        yield "most events hold one sample, so others fall between two."
    for name, level, noise in (("threshold", threshold, noises[0]), ("tenth of the response", FIRST, noises[1])):
        if level < SIGMAS * noise:
            yield f"the {name} is {level / noise:.1f} times the noise of its channel; {SIGMAS:.0f} times are needed."


def _hold(time, share, loud, starts, there, period):
    """The hold time: from the last reading above the threshold to 63 % of the way back, less 63 % of the way there."""
    held, single = [], 0
    for start, at in zip(starts, there, strict=True):
        row = int(np.searchsorted(time, at))
        back = row + int(np.argmax(share[row:] <= 1.0 - MOST))
        last = np.searchsorted(loud, back) - 1
        if back > row and np.diff(time[start : back + 1]).max() < 1.5 * period:
            held.append(time[back] - time[loud[last]] - period - (at - time[start]))
            single += loud[last - 1] < loud[last] - 1
    if single > SHORT * len(held):
        held = []
    near = np.abs(held - np.median(held)) <= max(4.0 * period, 5e-3) if held else []
    return interval(np.array(held)[near], period)  # a last peak that logger or valve has missed lies half a swing off


def _peaks(time, size, share, openings):
    """Largest readings, m/s2: before each opening, and of each tenth of a second at rest that none follows; (m, 2).

    Each twice: the largest sample, and the top of the parabola through it and its neighbours.
    """
    opened = [_top(size[slice(*np.searchsorted(time, [time[k] - 0.5 * LONGEST, time[k]]))]) for k in openings]
    edges = np.searchsorted(time, np.arange(time[0], time[-1], LONGEST))
    moved = np.concatenate([[0], np.cumsum(~(share < FIRST))])
    quiet = [_top(size[a:b]) for a, b, c in zip(edges, edges[1:], edges[2:], strict=False) if moved[c] == moved[a]]
    return np.array(opened).reshape(-1, 2), np.array(quiet).reshape(-1, 2)


def _top(size):
    size = size[~np.isnan(size)]
    k = int(np.argmax(size)) if len(size) else 0
    if not 0 < k < len(size) - 1:
        return (float(size[k]) if len(size) else 0.0,) * 2
    before, top, after = size[k - 1 : k + 2]
    return float(top), float(top + 0.125 * (before - after) ** 2 / max(2.0 * top - before - after, 1e-12))


def _threshold(opened, quiet, period):
    """The likeliest threshold that parts peaks which opened from peaks which did not, blurred evenly: probit, profiled.

    Its interval: where the likelihood, the blur at its best, is within t^2/2 of the largest (Wilks, with Student's t
    of the peaks near it), wider by what the parabola adds to the samples on average, which is a guess.
    """
    from scipy.special import log_ndtr, stdtrit  # here: slow to load

    if not len(opened) or not len(quiet) or period > PEAK:
        return Estimate(math.nan, math.inf, len(opened), "m/s²")
    middle = 0.5 * (opened[:, 1].min() + quiet[:, 1].max())
    near = max(4.0 * abs(opened[:, 1].min() - quiet[:, 1].max()), 0.2 * middle)
    opened = opened[np.argsort(opened[:, 1])][:NEAREST]
    quiet = quiet[np.argsort(quiet[:, 1])][-NEAREST:]
    level = np.linspace(middle - near, middle + near, 401)[:, None, None]
    blur = near * np.geomspace(2e-3, 0.5, 25)[None, :, None]
    fits = log_ndtr((opened[:, 1] - level) / blur).sum(axis=2) + log_ndtr((level - quiet[:, 1]) / blur).sum(axis=2)
    likely = fits.max(axis=1)
    inside = level[likely >= likely.max() - 0.5 * stdtrit(max(len(opened) - 1, 1), 0.975) ** 2, 0, 0]
    guessed = float(np.mean(np.diff(opened, axis=1)))
    half = 0.5 * (inside[-1] - inside[0]) + guessed
    return Estimate(float(0.5 * (inside[0] + inside[-1])), float(half), len(opened), "m/s²")
