"""Bumps that are there against openings of a valve: the score of a selector, of whatever kind."""

from dataclasses import dataclass

import numpy as np

from helpers.simulation.bumps import Bumps
from helpers.simulation.runs import Run

HALF = 0.5  # valve setting below which it counts as open


@dataclass(frozen=True, eq=False)
class Score:
    """How a selector did over one ride; the valve counts as open from half open on.

    bumps: those that are there, n of them. hit: bool (n,), whether the valve was open before each was over. latency:
    (n,), s from the wheel's contact to open, 0 where it was open by then, NaN for a miss. false_alarms: openings
    outside bumps and their ringing. openings: all. lock_share: share of the time not open. duration: s.
    """

    bumps: Bumps
    hit: np.ndarray
    latency: np.ndarray
    false_alarms: int
    openings: int
    lock_share: float
    duration: float

    @property
    def hits(self):
        return int(np.count_nonzero(self.hit))

    @property
    def misses(self):
        return len(self.hit) - self.hits

    @property
    def carried(self):
        """Bumps that found the valve open already: the hold time carried it there."""
        return int(np.count_nonzero(self.latency == 0.0))


def score(run: Run, bumps: Bumps):
    """The `Score` of a ride against the bumps that are there."""
    opened = run.valve < HALF
    opens = run.time[1:][opened[1:] & ~opened[:-1]]
    contact = bumps.start if bumps.contact is None else bumps.contact
    latency = np.full(len(bumps), np.nan)
    begins, ends = np.searchsorted(run.time, bumps.start), np.searchsorted(run.time, bumps.stop, side="right")
    for k, (begin, end) in enumerate(zip(begins, ends, strict=True)):
        inside = np.flatnonzero(opened[begin:end])
        if len(inside):
            already = inside[0] == 0 and opened[max(begin - 1, 0)]
            latency[k] = 0.0 if already else max(run.time[begin + inside[0]] - contact[k], 0.0)
    false_alarms = int(np.count_nonzero(~bumps.after(opens)))
    locked = float(np.mean(~opened))
    return Score(bumps, ~np.isnan(latency), latency, false_alarms, len(opens), locked, run.duration)
