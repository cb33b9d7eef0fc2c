"""Bumps that are there against bumps that a mode switch found: scores, operating curves, one step."""

import math
from dataclasses import dataclass, replace

import numpy as np

from helpers.control.law import Law
from helpers.control.laws import Passive
from helpers.control.mode_switch import ModeSelector
from helpers.control.timing import Timing
from helpers.models import ground, wheel_step
from helpers.models.pedalling import Pedalling
from helpers.models.terrain import step as step_profile
from helpers.simulation.bumps import Bumps, section_bumps
from helpers.simulation.runs import Run, axle_path, ride, ride_section, simulate

FINE_STEP = 5e-5  # s


# --- scores -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Score:
    """How a mode switch did over one ride.

    hit: for each bump, whether the valve was half open or more before the bump was over. latency: s from its start to
    half open, 0 where it was open already, NaN for a miss. false_alarms: alarms outside bumps, one for each hold time
    or part of it. openings: times the valve went past half open. levels: settings from softest to firmest;
    seconds: time nearest to each. duration: s; speed: m/s; law: the one ridden.
    """

    hit: np.ndarray
    latency: np.ndarray
    false_alarms: int
    openings: int
    levels: tuple
    seconds: np.ndarray
    duration: float
    speed: float
    law: Law

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

    @property
    def hit_rate(self):
        return self.hits / len(self.hit) if len(self.hit) else 1.0

    @property
    def false_alarms_per_minute(self):
        return 60.0 * self.false_alarms / self.duration

    @property
    def rolled(self):
        """Distance in m that the wheel rolled from each bump's start to half open."""
        return self.speed * self.latency

    @property
    def lock_share(self):
        """Share of the ride in the firmest setting."""
        return float(self.seconds[-1] / self.duration)


def covered(times, hold):
    """How many hold times it takes to cover all of `times` (sorted, s): never more for fewer times."""
    count, at = 0, 0
    while at < len(times):
        count += 1
        at = int(np.searchsorted(times, times[at] + hold, side="right"))
    return count


def score(run: Run, bumps: Bumps, speed):
    """The `Score` of a ride at `speed` in m/s under a `ModeSwitch`, `ModeSelector` or `ManualLever`.

    Alarms are read from the logged wheel acceleration, as a sensor without filter sees it at the log's rate.
    """
    levels = run.law.levels
    opened = run.valve < 0.5 * (levels[0] + levels[-1])
    opens = run.time[1:][opened[1:] & ~opened[:-1]]
    latency = np.full(len(bumps), np.nan)
    begins, ends = np.searchsorted(run.time, bumps.start), np.searchsorted(run.time, bumps.stop, side="right")
    for k, (begin, end) in enumerate(zip(begins, ends, strict=True)):
        inside = np.flatnonzero(opened[begin:end])
        if len(inside):
            already = inside[0] == 0 and opened[max(begin - 1, 0)]
            latency[k] = 0.0 if already else run.time[begin + inside[0]] - bumps.start[k]
    alarms = np.array([])
    if hasattr(run.law, "threshold"):
        loud = run.time[np.abs(run.wheel_acceleration) > run.law.threshold]
        alarms = loud[~bumps.after(loud)]
    nearest = np.argmin(np.abs(run.valve[:-1, None] - np.array(levels)), axis=1)
    seconds = np.bincount(nearest, weights=np.diff(run.time), minlength=len(levels))
    false_alarms = covered(alarms, run.law.hold) if len(alarms) else 0
    return Score(~np.isnan(latency), latency, false_alarms, len(opens), levels, seconds, run.duration, speed, run.law)


def scored(vehicle, section, law, timing=None, bumps=None):
    """Ride a section of the Fell loop and return its `Score`; bumps: `section_bumps` unless given."""
    found = section_bumps(vehicle, section) if bumps is None else bumps
    return score(ride_section(vehicle, section, law, timing), found, vehicle.speed(section.name))


@dataclass(frozen=True, eq=False)
class OperatingCurve:
    """Over the thresholds in m/s2, shape (n,): hit rate, false alarms a minute, share of the ride locked."""

    threshold: np.ndarray
    hit_rate: np.ndarray
    false_alarms_per_minute: np.ndarray
    lock_share: np.ndarray


def operating_curve(vehicle, section, thresholds, law=None, timing=None, bumps=None):
    """The `OperatingCurve` of a mode switch on a section, ridden anew at each threshold.

    law: a `ModeSwitch` or `ModeSelector` of which only the threshold is changed.
    """
    found = section_bumps(vehicle, section) if bumps is None else bumps
    law = law or ModeSelector()
    scores = [scored(vehicle, section, replace(law, threshold=each), timing, found) for each in thresholds]
    rows = [(s.law.threshold, s.hit_rate, s.false_alarms_per_minute, s.lock_share) for s in scores]
    return OperatingCurve(*np.array(rows, dtype=float).reshape(-1, 4).T)


def detector_curve(vehicle, section, thresholds, hold=0.5, setting=1.0, bumps=None):
    """The `OperatingCurve` of the sensor alone, read at every threshold from one ride at a fixed valve setting.

    Neither hit rate nor false alarms nor time open can rise with the threshold here. A valve that moves changes what
    its sensor feels next: `operating_curve` tells by how much.
    """
    found = section_bumps(vehicle, section) if bumps is None else bumps
    run = ride_section(vehicle, section, Passive(setting))
    size, outside = np.abs(run.wheel_acceleration), ~found.after(run.time)
    begins, ends = np.searchsorted(run.time, found.start), np.searchsorted(run.time, found.stop, side="right")
    peaks = np.array([size[begin:end].max(initial=0.0) for begin, end in zip(begins, ends, strict=True)])
    rows = []
    for threshold in thresholds:
        loud = run.time[size > threshold]
        rate = np.mean(peaks > threshold) if len(peaks) else 1.0
        alarms = covered(run.time[(size > threshold) & outside], hold)
        opened = np.minimum(np.diff(np.append(loud, run.duration)), hold).sum()
        rows.append((threshold, rate, 60.0 * alarms / run.duration, 1.0 - opened / run.duration))
    return OperatingCurve(*np.array(rows, dtype=float).reshape(-1, 4).T)


# --- pedalling and one step ---------------------------------------------------------------------------------------


def pedalling_acceleration(vehicle, law=None, pedalling=None, timing=None):
    """Largest wheel acceleration in m/s2 that pedalling alone causes on smooth ground, after four seconds.

    law: `Passive()` unless given. Below this threshold a mode switch is opened by the rider's own legs.
    """
    pedalling = pedalling or Pedalling(force=vehicle.pedal_force)
    duration = 4.0 + 8.0 / pedalling.strokes
    run = simulate(vehicle, np.zeros_like, duration, law, timing, pedalling.push, log_step=2.5e-4)
    return float(np.abs(run.wheel_acceleration[run.time >= 4.0]).max())


@dataclass(frozen=True, eq=False)
class StepAnswer:
    """One step ridden: peak body acceleration, m/s2; when the valve first moved, s from first contact (NaN: never).

    climbed: share of the step that the axle had climbed by then; rolled: m from first contact by then.
    distance_in_response: m rolled during the delay from sample to first motion. run: the whole `Run`; contact: s in it.
    """

    peak_body_acceleration: float
    moved: float
    climbed: float
    rolled: float
    distance_in_response: float
    contact: float
    run: Run


def over_step(vehicle, height, speed, law=None, response=0.003, timing=None, fine=False):
    """Ride up one step of `height` m at `speed` m/s with a valve that moves `response` s after it is told to.

    law: normally closed with the default threshold unless given. Sensor and computer are ideal, so the response is the
    valve's alone, unless a `timing` takes its place. A valve that rests open and never moves was ready at contact.
    fine: an exact edge, contact in closed form and steps of 0.05 ms, in place of the grid point before and 0.25 ms.
    """
    law = law or ModeSelector()
    length, at = 2.0 + speed * 0.8, 1.0
    timing = timing or Timing(sample_rate=math.inf, valve_dead_time=response)
    if fine:
        edge = ground.Ground(length, (ground.Step(height, at),))
        run = ride(vehicle, edge, speed, law, timing, longest_step=FINE_STEP, log_step=FINE_STEP)
        contact = (at - wheel_step.step(vehicle.wheel_radius, height).length) / speed
    else:
        profile = step_profile(height, at, length, 0.005)
        run = ride(vehicle, profile, speed, law, timing, log_step=2.5e-4)
        path = axle_path(profile, vehicle.wheel_radius)
        contact = path.distance[int(np.argmax(path.height > 0.0)) - 1] / speed
    away = np.flatnonzero(run.valve != run.valve[0])
    moved, climbed = math.nan, 0.0
    if len(away):
        moved = float(run.time[away[0]] - contact)
        climbed = float(np.clip(run.road[away[0]] / height, 0.0, 1.0))
    rolled = 0.0 if math.isnan(moved) else speed * moved
    peak = float(np.abs(run.body_acceleration).max())
    return StepAnswer(peak, moved, climbed, rolled, speed * timing.delay, contact, run)
