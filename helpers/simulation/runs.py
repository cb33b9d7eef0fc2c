"""One ride: a vehicle over a profile at a speed, under a law with its timing, as a named result."""

import math
from dataclasses import dataclass

import numpy as np

from helpers.control.laws import Law, Passive
from helpers.control.timing import Timing
from helpers.models.pedalling import Pedalling
from helpers.models.quantities import in_range
from helpers.models.terrain import Profile
from helpers.models.vehicles import Vehicle
from helpers.simulation import kernel

LONGEST_STEP = 2.5e-4  # s; wheel hop of the lightest wheel is then over 150 steps a cycle
LOG_STEP = 1e-3  # s
LONGEST_RIDE = 3600.0  # s


@dataclass(frozen=True, eq=False)
class Run:
    """What happened, in SI units from static equilibrium; arrays of shape (n,) at equal times.

    contact_load is the whole load on the ground, N, never below 0; road is the height under the wheel, m.
    damper_heat, friction_heat, actuator_work (net) and actuator_supply (its positive part) are in J.
    """

    vehicle: Vehicle
    law: Law
    timing: Timing
    time: np.ndarray
    road: np.ndarray
    body_height: np.ndarray
    body_velocity: np.ndarray
    wheel_height: np.ndarray
    wheel_velocity: np.ndarray
    body_acceleration: np.ndarray
    wheel_acceleration: np.ndarray
    valve: np.ndarray
    actuator_force: np.ndarray
    damper_heat: float
    friction_heat: float
    actuator_work: float
    actuator_supply: float
    commands: int

    @property
    def travel(self):
        """Suspension travel z_s - z_u in m, positive in rebound."""
        return self.body_height - self.wheel_height

    @property
    def contact_load(self):
        """Load on the ground in N."""
        load = self.vehicle.static_load + self.vehicle.tyre_rate * (self.road - self.wheel_height)
        return np.maximum(load, 0.0)

    @property
    def duration(self):
        """Length of the ride, s."""
        return float(self.time[-1])

    @property
    def rate(self):
        """Logged points a second, Hz."""
        return (len(self.time) - 1) / self.duration


def simulate(
    vehicle, road_at, duration, law=None, timing=None, push_at=None, *, start=(0.0, 0.0, 0.0, 0.0), seed=1,
    longest_step=LONGEST_STEP, log_step=LOG_STEP,
):  # fmt: skip
    """Step a vehicle for `duration` s over road_at(time) in m, with push_at(time) in N on its body; returns a `Run`.

    Both functions take and return arrays. law: `Passive()` unless given; timing: `Timing.ideal()` unless given.
    start: body height, body velocity, wheel height, wheel velocity. seed: of the jitter. Method: Runge-Kutta 4.
    """
    duration = in_range("simulate", "duration", duration, "s", 1e-3, LONGEST_RIDE)
    law, timing = law or Passive(), timing or Timing.ideal()
    fit = timing.in_steps(in_range("simulate", "longest_step", longest_step, "s", 1e-6, 1e-3))
    log_every = max(1, round(log_step / fit.step))
    steps = log_every * math.ceil(duration / (fit.step * log_every) - 1e-9)
    halves = 0.5 * fit.step * np.arange(2 * steps + 1)
    road = np.ascontiguousarray(road_at(halves), dtype=float)
    push = np.zeros(2 * steps + 1) if push_at is None else np.ascontiguousarray(push_at(halves), dtype=float)
    log = np.empty((steps // log_every + 1, 8))
    energy = np.empty(4)
    commands = kernel.march(
        kernel.packed_vehicle(vehicle), vehicle.open_curve.packed(), vehicle.lockout_curve.packed(), law.code,
        law.packed(), fit.step, fit.every, fit.delay, fit.jitter, fit.smoothing, fit.valve_half, fit.valve_full,
        law.initial, np.array(start, dtype=float), road, push, seed, log_every, log, energy,
    )  # fmt: skip
    every = 2 * log_every
    return Run(
        vehicle, law, timing, halves[::every], road[::every], *log.T.copy(), *(float(joules) for joules in energy),
        commands,
    )  # fmt: skip


def ride(vehicle, profile, speed, law=None, timing=None, push_at=None, **options):
    """Ride over the whole of a profile at `speed` in m/s; the wheel, a rigid circle, rolls over it. See `simulate`."""
    speed = in_range("ride", "speed", speed, "m/s", 0.05, 100.0)
    path = profile.under_wheel(vehicle.wheel_radius)
    start = path.distance[0]

    def road_at(time):
        return path.at(start + speed * time) - path.height[0]

    return simulate(vehicle, road_at, path.length / speed, law, timing, push_at, **options)


def ride_section(vehicle, section, law=None, timing=None, **options):
    """Ride a section of the Fell loop at the vehicle's own speed there, pedalling where a pedal bike would."""
    push_at = Pedalling(force=vehicle.pedal_force).push if section.pedalling else None
    return ride(vehicle, section.profile, vehicle.speed(section.name), law, timing, push_at, **options)


def warm():
    """Compile everything that a workbook runs, so that the first slider moves at once."""
    flat = Profile.of(np.zeros(64))
    ride(Vehicle("warm-up", 60.0, 3.0, 12_500.0, 70_000.0, 600.0), flat, 10.0)
