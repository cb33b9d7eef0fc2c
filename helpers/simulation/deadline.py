"""How late a valve may come: what lateness costs over a step and on a ride, and up to when the cost is allowed."""

import math

import numpy as np

from helpers.control.timing import Timing
from helpers.models import wheel_step
from helpers.simulation.batch import Ride
from helpers.simulation.runs import simulate
from helpers.simulation.sweep import sweep

SECONDS = 0.12  # of a ride over a step: the body's peak comes within 40 ms of contact
FINE = 2.5e-4  # s; step of log and simulation
TIMES = tuple(1e-3 * k for k in range(31))  # s, responses tried over a step
AGES = tuple(2e-3 + 4e-3 * k for k in range(8))  # s, ages tried on a ride
LONGEST_LAG = 3e-3  # s; a valve glides no longer than this to its setting


def responding(time, lag=LONGEST_LAG):
    """A `Timing` of no sampling whose valve has half its change of force `time` s after the law decides.

    Its lag is at most `lag` s; the rest of the time is dead.
    """
    lag = min(lag, time / math.log(2.0))
    dead = max(time - lag * math.log(2.0), 0.0)
    return Timing(sample_rate=math.inf, valve_dead_time=dead, valve_time_constant=lag)


def over_step(vehicle, height, speed, law, timing=None, lead=0.0):
    """The `Run` over a step of `height` m at `speed` m/s, contact after `lead` s."""
    climb = wheel_step.step(vehicle.wheel_radius, height)
    return simulate(
        vehicle, lambda time: climb.rise(np.maximum(speed * (time - lead), 0.0)), lead + SECONDS, law, timing,
        log_step=FINE,
    )  # fmt: skip


def peak(run):
    """Largest body acceleration of a run, either way, m/s2."""
    return float(np.abs(run.body_acceleration).max())


def deadline(times, costs, allowed):
    """Time in s up to which the cost stays within `allowed`, between the points linearly.

    times: shape (n,), rising; costs: shape (n,), in the unit of `allowed`. NaN where the first already costs more, inf
    where none does.
    """
    costs = np.nan_to_num(np.asarray(costs, dtype=float), nan=math.inf)  # a ride that went astray costs any limit
    beyond = np.flatnonzero(costs > allowed)
    if not len(beyond):
        return math.inf
    k = int(beyond[0])
    if k == 0:
        return math.nan
    share = (allowed - costs[k - 1]) / (costs[k] - costs[k - 1])
    return float(times[k - 1] + share * (times[k] - times[k - 1]))


def step_deadline(vehicle, law, height, speed, allowed, times=TIMES):
    """Response time in s of a law's valve, half its change of force, up to which a step costs no more than `allowed`.

    Cost: the body's peak acceleration over that of the same machine with its valve open throughout, less 1. See
    `deadline`.
    """
    opened = peak(over_step(vehicle, height, speed, None))
    costs = []
    for time in times:
        costs.append(peak(over_step(vehicle, height, speed, law, responding(time))) / opened - 1.0)
        if costs[-1] > allowed:
            break
    return deadline(times[: len(costs)], costs, allowed)


def ride_deadline(vehicle, law, stretches, reference, ages=AGES):
    """Age in s of what the valve acts on up to which a law is calmer, on average over stretches, than a reference.

    reference: vibration in m/s2 on each of the stretches. The chain has nothing but delay. See `deadline`.
    """
    timings = [Timing(sample_rate=2000.0, compute=age - 2.5e-4) for age in ages]

    def at(stretch, age):
        ground = stretches[stretch]
        return Ride(vehicle, ground.ground, ground.speed_of(vehicle), law, timings[age])

    grid = {"stretch": range(len(stretches)), "age": range(len(ages))}
    felt = sweep(at, grid, metrics=("comfort", "dose"))["comfort"]  # as `verifying` asks: one machine code for both
    return deadline(ages, np.mean(felt / np.asarray(reference)[:, None], axis=0), 1.0)
