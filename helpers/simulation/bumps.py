"""Bumps that are there, whatever the machine does: where the axle's path changes by a height within a length.

Over `ground.Ground` their times are exact to some micrometres of way; over a `Profile`, to the grid point before.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import in_range
from helpers.models.terrain import Profile
from helpers.simulation.runs import axle_path

RINGING = 0.2  # s after a bump in which an alarm still counts as its own
LOOKED_AT = 0.005  # m between the places at which a path of unequal intervals is searched for bumps
KINK = 0.05  # rise over run by which a path must turn up at once for the wheel to have met something


@dataclass(frozen=True, eq=False)
class Bumps:
    """Ground truth, arrays of shape (n,): distance of each start, its start and stop in s of the ride, height in m.

    contact: s at which the wheel first touches what makes the bump: the first kink at least half as sharp as the
    sharpest; the start where there is none. A bump may start earlier, where the ground sinks or rises towards it.
    "Felt after" counts from contact, see `felt`.
    """

    distance: np.ndarray
    start: np.ndarray
    stop: np.ndarray
    height: np.ndarray
    contact: np.ndarray | None = None

    def __len__(self):
        return len(self.start)

    def after(self, times, ringing=RINGING):
        """For each of `times` in s, whether it lies in a bump or within `ringing` s of its end: bool, same shape."""
        begun = np.searchsorted(self.start, times, side="right")
        ends = np.concatenate([[-np.inf], np.maximum.accumulate(self.stop)])
        return times <= ends[begun] + ringing


def true_bumps(profile, vehicle, speed, rise=0.02, within=0.3):
    """The `Bumps` of a profile for a vehicle's wheel at `speed` in m/s: up or down by `rise` m within `within` m."""
    speed = in_range("true_bumps", "speed", speed, "m/s", 0.05, 100.0)
    path = axle_path(profile, vehicle.wheel_radius)
    even = path
    if not isinstance(path, Profile):
        at = np.linspace(path.distance[0], path.distance[-1], round(path.length / LOOKED_AT) + 1)
        even = Profile(at, path.at(at))
    width = max(round(within / even.spacing), 1) + 1
    windows = np.lib.stride_tricks.sliding_window_view(even.height, width)
    there = np.concatenate([[False], np.ptp(windows, axis=1) >= rise, [False]])
    first, last = np.flatnonzero(there[1:] & ~there[:-1]), np.flatnonzero(there[:-1] & ~there[1:]) - 1
    # In the first window the change has just become large enough at its right end: it began at the last point of the
    # opposite extreme. In the last window it began at the left end and was over at the first point of the other.
    begins, ends, heights, contacts = [], [], [], []
    bend = np.diff(np.diff(path.height) / np.diff(path.distance))
    for one, other in zip(first, last, strict=True):
        at, height = _between(path, even.distance[one], even.distance[one + width - 1])
        back = height[::-1]
        begins.append(at[len(at) - 1 - max(int(np.argmin(back)), int(np.argmax(back)))])
        at, height = _between(path, even.distance[other], even.distance[other + width - 1])
        ends.append(at[max(int(np.argmin(height)), int(np.argmax(height)))])
        heights.append(np.ptp(_between(path, begins[-1], ends[-1])[1]))
        # The wheel meets a bump, and the ground behind it, where its path turns upwards at once.
        low, high = np.searchsorted(path.distance, (begins[-1] - 1e-6, ends[-1] + 1e-6))
        turns = bend[max(low - 1, 0) : high - 1]
        sharpest = turns.max(initial=0.0)
        meets = path.distance[max(low, 1) + int(np.argmax(turns >= 0.5 * sharpest))]
        contacts.append(meets if sharpest >= KINK else begins[-1])
    begins, ends, contacts = (np.array(each, dtype=float) - path.distance[0] for each in (begins, ends, contacts))
    return Bumps(begins, begins / speed, ends / speed, np.array(heights, dtype=float), contacts / speed)


def _between(path, low, high):
    """Distances and heights of a path's points from `low` to `high` in m, both included."""
    inside = (path.distance > low) & (path.distance < high)
    at = np.concatenate([[low], path.distance[inside], [high]])
    return at, path.at(at)


def section_bumps(vehicle, section, rise=0.02, within=0.3):
    """`true_bumps` of a section of the Fell loop at the vehicle's own speed there."""
    return true_bumps(section.profile, vehicle, vehicle.speed(section.name), rise, within)


def felt(run, threshold, contact):
    """Time in s from `contact`, in s of the run, until the wheel's acceleration passes `threshold` in m/s2; NaN: never.

    Linear between the points of the log. An ideal sensor: the chain's own delays come on top.
    """
    size = np.abs(run.wheel_acceleration)
    loud = np.flatnonzero((size > threshold) & (run.time > contact))
    if len(loud) == 0:
        return math.nan
    k = max(int(loud[0]), 1)
    before = max(run.time[k - 1], contact)
    part = (threshold - size[k - 1]) / (size[k] - size[k - 1]) if size[k - 1] < threshold else 0.0
    return float(before + part * (run.time[k] - before) - contact)
