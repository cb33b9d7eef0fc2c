"""A skyhook that has no speedometer: it sums the body's acceleration to a speed, behind an anti-alias filter.

`kernel.march` lets every law see the true motion, sampled and filtered. Here the law is told what an accelerometer on
a shaking frame can tell: the stepper moves the machine on from tick to tick; sensor, sum, law and valve stand here.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from helpers.control.law import PASSIVE, curve_force
from helpers.models.compiled import njit
from helpers.simulation import kernel
from helpers.simulation.metrics import rms
from helpers.simulation.weighting import weighted_rms

TICK, SUBSTEPS = 1e-3, 4  # s; steps of the stepper within it
LEAK = 0.2  # Hz; below it the sum forgets, or a sensor's offset would run away


@dataclass(frozen=True)
class Sensed:
    """Vibration, weighted by Wk, in m/s2; the summed speed's error, rms, m/s."""

    vibration: float
    error: float


@lru_cache(32)
def block(cutoff, order):
    """A Butterworth filter over a tick, shape (order + 1, order + SUBSTEPS).

    It makes the new state and, last, the output from the state and the tick's inputs.
    """
    from scipy.signal import butter, tf2ss

    a, b, c, d = tf2ss(*butter(order, cutoff, fs=SUBSTEPS / TICK))
    total = np.hstack([np.eye(order), np.zeros((order, SUBSTEPS))])  # the state, as a sum over old state and inputs
    for k in range(SUBSTEPS):
        output = c @ total
        output[0, order + k] += d.item()
        total = a @ total
        total[:, order + k] += b[:, 0]
    return np.vstack([total, output])


@njit(cache=True, error_model="numpy")
def march(
    vehicle, series, friction, open_curve, lockout_curve, road, push, table, every, arrivals, keeps, forgets, sky, told,
    behind, step, accelerations, errors,
):  # fmt: skip
    """Ride `len(accelerations) - 1` ticks and fill `accelerations` (m/s2, one a tick) and `errors` (m/s, one a sample).

    The first five: see `kernel.packed`. road, push: at every half step. table: see `block`. arrivals: tick at which
    the command of each sample arrives; one that arrives later in the list takes the place of one at the same tick.
    keeps: share of the valve's way that is left after a tick; forgets: share of the sum that a sample keeps; sky:
    N s/m. told: whether the law is told the true speed. behind: ticks by which (body's speed, opening speed) reach the
    law late.
    """
    ticks, order = len(accelerations) - 1, table.shape[0] - 1
    due = np.full(max(arrivals.max() + 1, ticks), np.nan)
    seen = np.zeros((ticks + 1, 3))  # filtered, after each tick: body's acceleration, speed of travel, body's speed
    known = np.zeros((order + SUBSTEPS, 3))
    log, energy = np.zeros((SUBSTEPS + 1, kernel.LOGGED)), np.empty(kernel.ENERGIES)
    ahead, state, settings = np.zeros(SUBSTEPS + 1), np.zeros(8), np.zeros(9)
    valve = command = summed = 0.0
    half, period = math.sqrt(keeps), TICK * every
    for n in range(ticks):
        if n % every == 0:
            summed = forgets * summed + period * seen[n, 0]
            opening = seen[max(n - behind[1], 0), 1]
            soft, firm = curve_force(open_curve, opening), curve_force(lockout_curve, opening)
            wanted = sky * (seen[max(n - behind[0], 0), 2] if told else summed)
            asked = 0.0 if firm == soft else min(max((wanted - soft) / (firm - soft), 0.0), 1.0)
            due[arrivals[n // every]] = asked
            errors[n // every] = summed - state[1]
        if not math.isnan(due[n]):
            command = due[n]
        settings[0] = command + half * (valve - command)  # the valve's place in the middle of the tick
        valve = command + keeps * (valve - command)
        first, last = 2 * SUBSTEPS * n, 2 * SUBSTEPS * (n + 1) + 1
        kernel.march(
            vehicle, series, friction, open_curve, lockout_curve, PASSIVE, settings, step, 1, 0, 0, 0.0, 0.0, 0.0,
            settings[0], state, road[first:last], push[first:last], ahead, 1, 1, log, energy,
        )  # fmt: skip
        accelerations[n + 1] = log[SUBSTEPS, kernel.BODY_ACC]
        for k in range(SUBSTEPS):
            row = log[k + 1]
            known[order + k, 0] = row[kernel.BODY_ACC]
            known[order + k, 1] = row[kernel.BODY_SPEED] - row[kernel.WHEEL_SPEED]
            known[order + k, 2] = row[kernel.BODY_SPEED]
        filtered = np.zeros((order + 1, 3))
        for i in range(order + 1):
            for k in range(order + SUBSTEPS):
                for j in range(3):
                    filtered[i, j] += table[i, k] * known[k, j]
        known[:order] = filtered[:order]
        seen[n + 1] = filtered[order]


def ride_summed(
    vehicle, path, speed, timing, sky, *, line=0.0, frequency=0.0, order=1, seed=1, told=False, behind=(0, 0)
):  # fmt: skip
    """Ride over the axle's `path` at `speed` in m/s with a skyhook that sums the body's acceleration; see `Sensed`.

    timing: its sensor filter is a Butterworth low-pass of `order`, before the samples. sky: coefficient of the skyhook,
    N s/m. line: strength in m/s2 at which an engine shakes the body at `frequency` in Hz. seed: of the jitter. told:
    the law is told the true speed. behind: ticks (ms) by which the body's speed and the opening speed reach the law
    late. Raises ValueError for a sample rate that is not 1000 Hz over a whole number, or a filter that filters nothing.
    """
    if abs(timing.sample_rate * TICK * round(1.0 / (timing.sample_rate * TICK)) - 1.0) > 1e-9:
        raise ValueError(
            f"ride_summed: sample_rate is {timing.sample_rate:g} Hz; allowed are 1000 Hz over a whole number."
        )
    if not timing.sensor_filter < 0.5 * SUBSTEPS / TICK:
        raise ValueError(
            f"ride_summed: sensor_filter is {timing.sensor_filter:g} Hz; allowed is below {0.5 * SUBSTEPS / TICK:g} Hz."
        )
    ticks, step = int(path.length / speed / TICK), TICK / SUBSTEPS
    halves = 0.5 * step * np.arange(2 * SUBSTEPS * ticks + 1)
    road = np.ascontiguousarray(path.at(path.distance[0] + speed * halves) - path.height[0])
    push = line * vehicle.body_mass * np.sin(2.0 * math.pi * frequency * halves)
    every = round(1.0 / (timing.sample_rate * TICK))
    samples = np.arange(0, ticks, every)
    draws = np.random.default_rng(seed).integers(0, round(timing.jitter / TICK) + 1, len(samples))
    accelerations, errors = np.zeros(ticks + 1), np.zeros(len(samples))
    march(
        *kernel.packed(vehicle), road, push, block(timing.sensor_filter, order), every,
        samples + round(timing.delay / TICK) + draws, math.exp(-TICK / timing.valve_time_constant),
        math.exp(-2.0 * math.pi * LEAK / timing.sample_rate), sky, told,
        behind, step, accelerations, errors,
    )  # fmt: skip
    return Sensed(weighted_rms(accelerations, 1.0 / TICK, "Wk"), rms(errors))
