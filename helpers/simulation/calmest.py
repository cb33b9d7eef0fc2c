"""The rival of every law: the calmest damper that never moves, digressive, rebound and compression apart."""

import json
from functools import lru_cache
from pathlib import Path

import numpy as np

from helpers.models.dampers import DamperCurve, Side
from helpers.models.machines import MACHINES
from helpers.models.pedalling import Pedalling
from helpers.simulation.batch import Ride as Batched
from helpers.simulation.lane_step import LANES
from helpers.simulation.riding import RideError
from helpers.simulation.sweep import sweep

# Over the machine's plain coefficient: slopes at low and at high speed, in rebound and in compression; the knee in m/s.
LOWEST = np.array([0.1, 0.05, 0.1, 0.05, 0.03])
HIGHEST = np.array([6.0, 3.0, 8.0, 3.0, 1.0])
STORED = Path(__file__).with_name("calmest.json")
SEED, ROUNDS = 1, 30
METRICS = ("comfort", "load_variation", "airborne", "bump_share")


def with_curve(vehicle, shape):
    """The machine on a fixed damper of the given shape, five numbers as `LOWEST`; its damping stays."""
    rebound_low, rebound_high, low, high, knee = shape
    c = vehicle.damping
    curve = DamperCurve(Side(rebound_low * c, rebound_high * c, knee), Side(low * c, high * c, knee))
    return vehicle.changed(open_curve=curve, lockout_curve=curve)


def calmest_fixed(vehicle, ground, no_worse_than=None):
    """The machine on the fixed damper of least vibration on this ground: a machine to ride, here or elsewhere.

    no_worse_than: a `Ride` whose grip (variation of tyre load, time off the ground) and travel it has to equal. Found
    by differential evolution over low- and high-speed slopes of both directions and the knee; stored for the course's
    machines on its loop, some seconds for others. Raises RideError where no such damper is found.
    """
    limits = None
    if no_worse_than is not None:
        measured = no_worse_than._metrics
        limits = tuple(round(value, 4) for value in (measured.load_variation, measured.airborne, measured.bump_share))
    shape = stored().get(key_of(vehicle, ground)) if limits is None else None
    return with_curve(vehicle, shape or _found(vehicle, ground, limits))


@lru_cache(1)
def stored():
    """Shapes that were found before, by `key_of`."""
    return json.loads(STORED.read_text("utf-8")) if STORED.is_file() else {}


def key_of(vehicle, ground):
    """What a stored shape hangs on, in words; none for a machine that is not the course's own but for its curves."""
    if all(_bare(vehicle) != _bare(machine) for machine in MACHINES.values()):
        return ""
    about = ", ".join(f"{name} {value}" for name, value in ground.about.items())
    ridden = "" if ground.speed is None else f", at {ground.speed:g} m/s"
    ridden += "" if ground.pedalling == (ground.section != "descent") else f", pedalling {ground.pedalling}"
    return f"{vehicle.name} of {vehicle.body_mass:g} kg, {ground.name}, {about}, pace {ground.pace:g}{ridden}"


def _bare(vehicle):
    """A machine without what a rival's curve takes the place of."""
    return vehicle.changed(open_curve=None, lockout_curve=None)


@lru_cache(64)
def _found(vehicle, ground, limits):
    return tuple(search(vehicle, ground, limits))


def search(vehicle, ground, limits=None, rounds=ROUNDS):
    """The shape found, five numbers of two digits. See `calmest_fixed`."""
    from scipy.optimize import differential_evolution

    push = Pedalling(force=vehicle.pedal_force).push if ground.pedalling and vehicle.pedal_force else None
    speed = ground.speed_of(vehicle)

    def cost(unit):
        shapes = [rounded(LOWEST * (HIGHEST / LOWEST) ** column) for column in np.atleast_2d(unit.T)]

        def at(k):
            return Batched(with_curve(vehicle, shapes[k]), ground.ground, speed, push_at=push)

        found = sweep(at, {"k": range(len(shapes))}, metrics=METRICS)
        worse = np.zeros(len(shapes))
        for name, limit in zip(METRICS[1:], limits or (), strict=False):
            worse += np.maximum(found[name] - limit, 0.0) / max(limit, 1e-3)
        return np.nan_to_num(found["comfort"] + 100.0 * worse, nan=1e6)

    result = differential_evolution(
        cost, [(0.0, 1.0)] * len(LOWEST), maxiter=rounds, popsize=1, init=_start(), vectorized=True,
        updating="deferred", polish=False, tol=0.0, rng=np.random.default_rng(SEED),
    )  # fmt: skip
    if limits and result.fun >= 50.0:
        raise RideError(f"calmest_fixed: no fixed damper holds the grip and travel asked for on {ground.name}.")
    return rounded(LOWEST * (HIGHEST / LOWEST) ** result.x)


def rounded(shape):
    """Two significant digits: more would be a fit to one ride."""
    return tuple(float(f"{value:.2g}") for value in shape)


def _start():
    """As many starts as are stepped abreast, spread evenly (a Latin square of the generator's own)."""
    draw = np.random.default_rng(SEED)
    return np.array([draw.permutation(LANES) + draw.uniform(size=LANES) for _ in LOWEST]).T / LANES
