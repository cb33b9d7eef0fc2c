"""How late a valve may come: what lateness costs over a step and on a ride, and up to when the cost is allowed."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from helpers.control.mode_switch import ManualLever
from helpers.control.timing import Timing
from helpers.models import wheel_step
from helpers.models.machines import MACHINES
from helpers.simulation.batch import Ride
from helpers.simulation.riding import REAL_CHAIN
from helpers.simulation.runs import simulate
from helpers.simulation.sweep import sweep

SECONDS = 0.12  # of a ride over a step: the body's peak comes within 40 ms of contact
FINE = 2.5e-4  # s; step of log and simulation
TIMES = tuple(1e-3 * k for k in range(31))  # s, responses tried over a step
AGES = tuple(2e-3 + 4e-3 * k for k in range(8))  # s, ages tried on a ride
LAG = REAL_CHAIN.valve_time_constant  # s; a valve glides no longer than this to its setting
AT_TOUCH = ManualLever(reaction=0.0, hand=0.0)  # decides at the first touch, by the clock


@dataclass(frozen=True)
class Moment:
    """When a selector's valve has to be in time: a machine of `MACHINES` on a section of the loop, locked, at its pace
    there, and a step of `height` m.
    """

    key: str
    section: str
    height: float

    vehicle = property(lambda self: MACHINES[self.key])
    speed = property(lambda self: self.vehicle.speed(self.section))


# Locked only where legs push: on the climb. All roots there are lower than this step; lower ones ask for more.
MOMENT = Moment("bike", "climb", 0.05)


def responding(time, lag=LAG):
    """A `Timing` of no sampling whose valve has 63 % of its change of force `time` s after the law decides.

    Its lag is at most `lag` s; the rest of the time is dead.
    """
    lag = min(lag, time)
    return Timing(sample_rate=math.inf, valve_dead_time=time - lag, valve_time_constant=lag)


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


@lru_cache(256)
def _opened(vehicle, height, speed):
    return peak(over_step(vehicle, height, speed, None))


def step_cost(vehicle, height, speed, time, law=AT_TOUCH):
    """Body's peak over a step, 63 % of the force there `time` s after the law has felt it, by default at first touch:
    over the peak of the same machine with its valve open throughout, less 1.
    """
    return peak(over_step(vehicle, height, speed, law, responding(time))) / _opened(vehicle, height, speed) - 1.0


def step_deadline(vehicle, law, height, speed, allowed, times=TIMES):
    """Response time in s, 63 % of the force, up to which a step costs no more than `allowed`; see `step_cost`.

    Looked for in `times`, and between the two around it in steps of the simulation: the cost climbs steeply there.
    """
    before = 0.0
    for time in times:
        if step_cost(vehicle, height, speed, time, law) > allowed:
            fine = np.linspace(before, time, max(round((time - before) / FINE), 1) + 1).tolist()
            return deadline(fine, [step_cost(vehicle, height, speed, each, law) for each in fine], allowed)
        before = time
    return math.inf


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
