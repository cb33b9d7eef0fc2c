"""One ride: a vehicle over a profile at a speed, under a law with its timing, as a named result."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from helpers.control.law import Law
from helpers.control.laws import Passive
from helpers.control.timing import Steps, Timing
from helpers.models.pedalling import Pedalling
from helpers.models.quantities import in_range
from helpers.models.vehicles import Vehicle
from helpers.simulation import kernel

LONGEST_STEP = 2.5e-4  # s; wheel hop of the trail bike is then over 150 steps a cycle
SHORTEST_STEP = 1e-6  # s
STEP_TIMES_RATE = 1.2  # of the fastest motion; the method is stable up to 2.78 where it decays, 2.82 where it swings
MOST_STEPS = 10_000_000  # about half a gigabyte of road and log
FARTHEST = 1e4  # m, m/s; only an actuator whose commands come too late drives a vehicle there
LOG_STEP = 1e-3  # s


@dataclass(frozen=True, eq=False)
class Run:
    """What happened, in SI units from static equilibrium; arrays of shape (n,) at equal times.

    damper_force is positive in rebound, N; damper_speed its own, which is that of the travel unless it yields.
    contact_load is the whole load on the ground, N, never below 0; road is the height under the wheel, m.
    In J: damper_heat, friction_heat (of the seals), actuator_work (net), actuator_supply (its positive part),
    tyre_heat, ground_work (of the ground on the wheel), and stored, which damper, seals and tyre friction hold at the
    end, having yielded.
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
    damper_force: np.ndarray
    damper_speed: np.ndarray
    contact_load: np.ndarray
    damper_heat: float
    friction_heat: float
    actuator_work: float
    actuator_supply: float
    tyre_heat: float
    ground_work: float
    stored: float
    commands: int

    @property
    def travel(self):
        """Suspension travel z_s - z_u in m, positive in rebound."""
        return self.body_height - self.wheel_height

    @property
    def duration(self):
        """Length of the ride, s."""
        return float(self.time[-1])

    @property
    def rate(self):
        """Logged points a second, Hz."""
        return (len(self.time) - 1) / self.duration


def fastest_rate(vehicle):
    """Upper bound in 1/s on the rate at which any small motion of a vehicle decays or swings.

    With x* M x = m and so on for a mode x, its rates solve m q^2 + c q + k = 0: no |q| exceeds c / m or sqrt(k / m).
    Of a damper that yields, the stepper takes the fastest part implicitly: it counts as a damper or as a spring,
    whichever is slower.
    """
    curves = vehicle.open_curve, vehicle.lockout_curve
    sides = [side for curve in curves for side in (curve.rebound, curve.compression)]
    damping = max(max(side.low, side.high) for side in sides)
    # The stroke may pass the start of the bump stop by far, so the column counts at its hardest.
    hardening = 1.0 if math.isinf(vehicle.gas_column) else (1.0 - kernel.FULLEST_COLUMN) ** -2
    stiffness = hardening * vehicle.spring_rate + vehicle.stop_rate
    per_masses = 1.0 / vehicle.body_mass + 1.0 / vehicle.wheel_mass
    if damping**2 * per_masses > vehicle.damper_stiffness:
        damping, stiffness = 0.0, stiffness + vehicle.damper_stiffness
    if vehicle.seal_stretch == 0.0:
        damping += 1.5 * vehicle.friction / kernel.FRICTION_SMOOTHING
    else:
        stiffness += vehicle.friction / vehicle.seal_stretch
    tyre = vehicle.tyre_rate + vehicle.rim_rate + vehicle.tyre_friction / vehicle.tyre_stretch
    return max(damping * per_masses, math.sqrt(stiffness * per_masses + tyre / vehicle.wheel_mass))


@dataclass(frozen=True)
class Schedule:
    """A ride in time steps: its `Timing` in steps, how many of them, and after how many the log has its next row."""

    fit: Steps
    steps: int
    log_every: int


def scheduled(vehicle, duration, timing, longest_step=LONGEST_STEP, log_step=LOG_STEP):
    """The `Schedule` of a ride of `duration` s, its last step a row of the log. See `simulate`."""
    longest_step = in_range("simulate", "longest_step", longest_step, "s", SHORTEST_STEP, 1e-3)
    fit = timing.in_steps(min(longest_step, STEP_TIMES_RATE / fastest_rate(vehicle)))
    asked = f"simulate {vehicle.name} at steps of {fit.step:.3g} s"
    duration = in_range(asked, "duration", duration, "s", 1e-3, MOST_STEPS * fit.step)
    log_every = max(1, round(log_step / fit.step))
    return Schedule(fit, log_every * rows_after(duration, fit.step * log_every), log_every)


def rows_after(duration, interval):
    """How many rows of a log, `interval` s apart, come after its first: the last where a ride of `duration` s ends.

    An end within a thousandth of an interval after a row is at that row: a length, or a speed, that differs in the
    ninth digit must not make the ride longer.
    """
    return math.ceil(duration / interval - 1e-3)


def beyond(vehicle, time):
    """The sentence for a ride that ran beyond all bounds at `time` in s."""
    return (
        f"simulate: {vehicle.name} is driven beyond {FARTHEST:g} m or m/s at {time:.3g} s; allowed are roads, pushes "
        "and a start that stay below, and an actuator quick and weak enough to keep it there."
    )


def simulate(
    vehicle, road_at, duration, law=None, timing=None, push_at=None, *, start=(0.0, 0.0, 0.0, 0.0), seed=1,
    longest_step=LONGEST_STEP, log_step=LOG_STEP,
):  # fmt: skip
    """Step a vehicle for `duration` s over road_at(time) in m, with push_at(time) in N on its body; returns a `Run`.

    Both functions take and return arrays. law: `Passive()` unless given; timing: `Timing.ideal()` unless given.
    start: body height, body velocity, wheel height, wheel velocity. seed: of the jitter. Method: Runge-Kutta 4 at
    steps no longer than `longest_step`, shorter where the vehicle's fastest motion needs it (1e-6 s at the extreme of
    what `Vehicle` allows). Raises ValueError for a ride of too many steps, or one that runs beyond all bounds.
    """
    law, timing = law or Passive(), timing or Timing.ideal()
    schedule = scheduled(vehicle, duration, timing, longest_step, log_step)
    fit, steps, log_every = schedule.fit, schedule.steps, schedule.log_every
    halves = 0.5 * fit.step * np.arange(2 * steps + 1)
    road = np.ascontiguousarray(road_at(halves), dtype=float)
    push = np.zeros(2 * steps + 1) if push_at is None else np.ascontiguousarray(push_at(halves), dtype=float)
    columns, energy = np.empty((kernel.LOGGED, steps // log_every + 1)), np.empty(kernel.ENERGIES)
    commands = kernel.march(
        *kernel.packed(vehicle), law.code, law.packed(), fit.step, fit.every, fit.delay, fit.jitter, fit.smoothing,
        fit.valve_half, fit.valve_full, law.initial, kernel.rest(start), road, push, law.ahead(road[::2], fit.step),
        seed, log_every, columns.T, energy,
    )  # fmt: skip
    law.check()
    every = 2 * log_every
    if not np.abs(columns[:4]).max() < FARTHEST:  # true for NaN as well
        gone = np.argmin((np.abs(columns[:4]) < FARTHEST).all(axis=0))
        raise ValueError(beyond(vehicle, halves[gone * every]))
    return Run(
        vehicle, law, timing, halves[::every].copy(), road[::every].copy(), *columns,
        *(float(joules) for joules in energy), commands,
    )  # fmt: skip


@lru_cache(12)
def axle_path(profile, radius):
    """`profile.under_wheel(radius)`, kept: rides over the same ground under other laws share it."""
    return profile.under_wheel(radius)


@lru_cache(2)
def heights(path, speed, interval, count):
    """Heights in m under a wheel at `count` times `interval` s apart, kept: a rival's ride mostly follows."""
    return path.at(path.distance[0] + speed * (interval * np.arange(count))) - path.height[0]


def ride(vehicle, profile, speed, law=None, timing=None, push_at=None, **options):
    """Ride over the whole of a profile at `speed` in m/s; the wheel, a rigid circle, rolls over it. See `simulate`."""
    speed = in_range("ride", "speed", speed, "m/s", 0.05, 100.0)
    path = axle_path(profile, vehicle.wheel_radius)

    def road_at(time):
        return heights(path, speed, time[1], len(time))

    return simulate(vehicle, road_at, path.length / speed, law, timing, push_at, **options)


def ride_section(vehicle, section, law=None, timing=None, **options):
    """Ride a section of the Fell loop at the vehicle's own speed there, pedalling where a pedal bike would."""
    push_at = Pedalling(force=vehicle.pedal_force).push if section.pedalling else None
    return ride(vehicle, section.profile, vehicle.speed(section.name), law, timing, push_at, **options)
