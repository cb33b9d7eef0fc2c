"""A test yard, and loggers in it: rides over planks at fine steps, logged by clocks of their own with known faults.

The simulator's grid would be in step with the logger's: the ride is stepped at 50 us and the log read between, at times
that a free clock sets. The pilot pressure stands for the valve's setting, 12 bar at rest to 2 bar open, and does not
hang on the suspension's speed as the pressure over the piston does. All numbers are invented for the course.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.control.mode_switch import ModeSwitch
from helpers.control.timing import Timing
from helpers.models.terrain import Profile
from helpers.simulation import runs
from helpers.simulation.logs import Log, LogError
from helpers.simulation.response_times import Estimate, response_times

STEP, SPEED = 5e-5, 5.0  # s, m/s
PASS = 8  # planks that are ridden over at a time: more would hold too much of the ride in memory
LOCKED, OPEN = 12e5, 2e5  # Pa of the pilot pressure
HIGH, LOW = (0.04, 0.06), (0.003, 0.012)  # m, heights of planks that open the valve, and of boards that may
APART, CLOSE, PAIRS = (4.2, 5.2), (1.5, 1.7), 8  # m; each eighth high plank is followed by one inside the hold time


def _yard(heights, gaps):
    """Planks 150 mm wide, each so far behind the last, m."""
    places = 3.0 + np.cumsum(gaps)
    distance = 0.005 * np.arange(round((places[-1] + 4.0) / 0.005))
    under = [h * ((distance >= x) & (distance < x + 0.15)) for h, x in zip(heights, places, strict=True)]
    return Profile(distance, sum(under))


@dataclass(frozen=True, eq=False, repr=False)
class Recording:
    """What happened in the yard every 50 us: wheel_acceleration in m/s2, command and setting (1 locked), shape (n,)."""

    name: str
    wheel_acceleration: np.ndarray
    command: np.ndarray
    setting: np.ndarray

    def log(self, rate=500.0, seed=1, drift=0.0, jitter=2e-5, noise=(0.5, 0.05e5), filters=(None, None), skew=0.0,
            resolution=(0.08, 0.05e5)):  # fmt: skip
        """A `Log` of wheel acceleration, valve command and pressure, by a logger that starts at any moment.

        rate: Hz. drift: its clock's, as a share. jitter: sd of the sampling times, s. noise: sd of acceleration and
        pressure, m/s2 and Pa; resolution: their smallest steps. filters: cut-off in Hz of the second-order Butterworth
        low-pass of each of the two, or None. skew: how much later the pressure is stamped than it was, s.
        """
        draw = np.random.default_rng([seed, round(rate)])
        end = STEP * (len(self.setting) - 1)
        shown = np.arange(draw.uniform(0.0, 1.0), rate * end - 2.0) / rate
        true = shown / (1.0 + drift) + jitter * draw.standard_normal(len(shown)).clip(-4.0, 4.0)
        fine = self.wheel_acceleration, OPEN + (LOCKED - OPEN) * self.setting
        at = np.clip(true / STEP, 0, len(self.command) - 1).astype(int)
        channels = {"valve_command": self.command[at].astype(float)}
        for name, values, late, cutoff, sd, least in zip(
            ("wheel_acceleration", "pressure"), fine, (0.0, skew), filters, noise, resolution, strict=True
        ):
            place = np.clip((true - late) / STEP, 0, len(values) - 1)
            row, values = np.minimum(place.astype(int), len(values) - 2), _filtered(values, cutoff)
            below, above = (values[k].astype(float) for k in (row, row + 1))  # np.interp would copy all 20 000 a second
            read = below + (place - row) * (above - below) + sd * draw.standard_normal(len(row))
            channels[name] = np.round(read / least) * least if least else read
        return Log(f"{self.name}, {rate:g} Hz", shown, channels)

    def truth(self, **options):
        """The `ResponseTimes` of a log that misses nothing, without noise and fault."""
        return response_times(self.log(1.0 / STEP, jitter=0.0, noise=(0.0, 0.0), resolution=(0.0, 0.0)), **options)


def _filtered(values, cutoff):
    if cutoff is None:
        return values
    from scipy.signal import butter, sosfilt, sosfilt_zi  # here: slow to load

    sos = butter(2, cutoff, fs=1.0 / STEP, output="sos")
    return sosfilt(sos, values, zi=sosfilt_zi(sos) * values[0])[0]


def recording(vehicle, chain, events=40, low=0, seed=1, threshold=40.0, hold=0.25):
    """Ride a machine at 5 m/s over a yard of planks under a mode switch that rests locked; returns a `Recording`.

    chain: a `Timing`, whose valve takes part. events: high planks that find the valve locked; beyond them each eighth
    finds it still open. low: low boards after them, some of which open it. threshold: of the switch, m/s2. hold: s.
    seed: of places, heights and the chain's waits.
    """
    draw, law = np.random.default_rng(seed), ModeSwitch(threshold=threshold, hold=hold)
    planks = [(draw.uniform(*HIGH), draw.uniform(*gap)) for k in range(events)
              for gap in ([APART, CLOSE] if k % PAIRS == PAIRS - 1 else [APART])]  # fmt: skip
    planks += [(draw.uniform(*LOW), draw.uniform(*APART)) for _ in range(low)]
    parts = [_ridden(vehicle, chain, law, planks[k : k + PASS], int(draw.integers(1, 1 << 31)))
             for k in range(0, len(planks), PASS)]  # fmt: skip
    return Recording(f"{vehicle.name} in the yard", *map(np.concatenate, zip(*parts, strict=True)))


def _ridden(vehicle, chain, law, planks, seed):
    """The three rows of a `Recording`, of one pass over planks. Copies: a row of a run would keep the whole run."""
    yard = _yard(*zip(*planks, strict=True))
    run = runs.ride(vehicle, yard, SPEED, law, chain, longest_step=STEP, log_step=STEP, seed=seed)
    return (run.wheel_acceleration.astype(np.float32), _command(run.valve, chain).astype(np.int8),
            run.valve.astype(np.float32))  # fmt: skip


def _command(valve, chain: Timing):
    """The order to the valve that its motion tells: a lag turns where the order changes, the dead time before."""
    slope = np.diff(valve, append=valve[-1])
    turns = np.flatnonzero(np.diff(np.sign(np.where(np.abs(slope) > 1e-12, slope, 0.0)), prepend=0.0))
    order, now = np.ones(len(valve)), 1.0
    for begin, end in zip([0, *turns], [*turns, len(valve)], strict=True):
        now = now if slope[begin] == 0.0 else float(slope[begin] > 0.0)
        order[begin:end] = now
    early = round(chain.valve_dead_time / STEP)
    return np.concatenate([order[early:], np.full(early, order[-1])])


def two_clocks(here, there):
    """How two loggers' clocks differ, from the times in s of events that both logged, shape (n,): (drift, offset).

    drift: the `Estimate` of how much faster `there` runs, in ppm; offset: of what it shows more at the middle event, s.
    Straight line of least squares; n from 3.
    """
    here, there = np.asarray(here, dtype=float), np.asarray(there, dtype=float)
    if here.shape != there.shape or len(here) < 3:
        raise LogError(f"two_clocks: {here.size} and {there.size} times are given; allowed are three or more pairs.")
    from scipy.special import stdtrit

    away = here - here.mean()
    slope, offset = np.polyfit(away, there - here, 1)
    rest = there - here - offset - slope * away
    half = stdtrit(len(here) - 2, 0.975) * math.sqrt(np.sum(rest**2) / (len(here) - 2))
    return (Estimate(1e6 * slope, 1e6 * half / math.sqrt(np.sum(away**2)), len(here), "ppm"),
            Estimate(offset, half / math.sqrt(len(here)), len(here)))  # fmt: skip
