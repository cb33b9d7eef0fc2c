"""A half-car over a profile: two of the stepper's quarter vehicles, joined by one body, with a law for each valve.

A quarter car's acceleration times its body mass is the force of that end. A rigid body answers both forces: with
m_s1 = m b / L, m_s2 = m a / L and k the radius of gyration, the accelerations of its ends are

    dv_s1/dt = b/L (1 + a^2/k^2) q_1 + a/L (1 - a b/k^2) q_2, and likewise at the rear,

of the accelerations q that the quarter cars would have alone. Where k^2 = a b, that is q_1 and q_2.
"""

from dataclasses import dataclass, replace

import numpy as np

from helpers.control.law import MEASUREMENTS, MEMORY, Law
from helpers.control.laws import Passive
from helpers.control.timing import Timing
from helpers.models.compiled import njit
from helpers.models.half_car import HalfCar
from helpers.models.quantities import in_range
from helpers.simulation.chain import commanded, packed_laws
from helpers.simulation.elements import SHARE, dragged, rubbed
from helpers.simulation.kernel import accelerations, damping, moving, packed
from helpers.simulation.runs import LOG_STEP, LONGEST_STEP, STEP_TIMES_RATE, axle_path, fastest_rate, rows_after

HELD = 10  # numbers that an end keeps from stage to stage


@dataclass(frozen=True, eq=False)
class End:
    """What happened at one end, in SI units from static equilibrium; arrays of shape (n,). valve: 0 open, 1 lockout."""

    road: np.ndarray
    body_height: np.ndarray
    body_velocity: np.ndarray
    wheel_height: np.ndarray
    wheel_velocity: np.ndarray
    body_acceleration: np.ndarray
    wheel_acceleration: np.ndarray
    valve: np.ndarray
    actuator_force: np.ndarray  # N, positive lifts the body

    @property
    def travel(self):
        """z_s - z_u in m, positive in rebound."""
        return self.body_height - self.wheel_height


@dataclass(frozen=True, eq=False)
class TwoWheelRun:
    """A ride: the car, the laws of both ends, times in s of shape (n,), and both ends."""

    car: HalfCar
    laws: tuple
    time: np.ndarray
    front: End
    rear: End

    @property
    def bounce(self):
        """Height of the mass centre, m."""
        weighted = self.car.rear_arm * self.front.body_height + self.car.front_arm * self.rear.body_height
        return weighted / self.car.wheelbase

    @property
    def pitch(self):
        """Pitch angle in rad, positive with the nose up."""
        return (self.front.body_height - self.rear.body_height) / self.car.wheelbase


def ends(car):
    """Both ends as `march` reads them: `front`, `rear` and `more`, see `rates`."""
    (front, *first, front_open, front_lockout), (rear, *second, rear_open, rear_lockout) = map(
        packed, (car.front, car.rear)
    )
    more = None if first + second == 4 * [None] else (*first, *second)
    return (front, front_open, front_lockout), (rear, rear_open, rear_lockout), more


def lever(car):
    """Accelerations of the body's ends from those of the quarter cars alone: array (2, 2), front first."""
    a, b, k = car.front_arm, car.rear_arm, car.gyration
    own = np.array([[1 + (a / k) ** 2, 1 - a * b / k**2], [1 - a * b / k**2, 1 + (b / k) ** 2]])
    return own * np.array([b, a]) / car.wheelbase


@njit(cache=True, error_model="numpy")
def quarter(vehicle, series, friction, open_curve, lockout_curve, zs, vs, zu, vu, road, valve, force, held, end, stage,
            step):  # fmt: skip
    """Accelerations of body and wheel at one end, alone, in a stage from 0 to 3 of a step; the equations of `kernel`.

    held: shape (2, HELD), of an end with `elements`: the damper's force, its own speed and its valve, how fast each
    stage stretches it, the force of the seals and the travel, the tyre's friction and deflection.
    """
    speed = vs - vu
    if series is None:
        damper, _ = damping(open_curve, lockout_curve, series, valve, speed, 0.0, 0.0)
    else:
        quick, stretch = SHARE * step, series[0] * held[end, 0]
        part = quick if stage < 3 else step / 6.0
        if stage == 1:
            stretch += (0.5 * step - quick) * held[end, 3]
        elif stage == 2:
            stretch += quick * held[end, 3] + (0.5 * step - 2.0 * quick) * held[end, 4]
        elif stage == 3:
            stretch += part * (held[end, 3] + 2.0 * (held[end, 4] + held[end, 5]))
        damper, stretching = damping(open_curve, lockout_curve, series, valve, speed, stretch, part)
        if stage == 0:
            damper = held[end, 0]
            if valve == held[end, 2]:
                stretching = speed - held[end, 1]
        held[end, 2] = valve
        if stage < 3:
            held[end, 3 + stage] = stretching
        else:
            held[end, 0], held[end, 1] = damper, speed - stretching
    if friction is not None and stage == 0:
        held[end, 7], held[end, 9] = zs - zu, max(road - zu, -(vehicle[9] + held[end, 8]) * friction[7])
    seals = travel = rubber = before = 0.0
    if friction is not None:
        seals, travel, rubber, before = held[end, 6], held[end, 7], held[end, 8], held[end, 9]
    body, wheel, _, _ = moving(
        vehicle, friction, zs, vs, zu, vu, road, 0.0, force, damper, seals, travel, rubber, before
    )
    return body, wheel


@njit(cache=True, error_model="numpy")
def rub(vehicle, friction, zs, zu, road, held, end):
    """Friction of seals and tyre after a step; see `quarter`."""
    if friction is not None:
        held[end, 6] = dragged(held[end, 6], friction[0], zs - zu - held[end, 7], friction[1])
        held[end, 8], _ = rubbed(friction, vehicle[3], vehicle[9], held[end, 8], held[end, 9], road - zu)


@njit(cache=True, error_model="numpy")
def rates(front, rear, more, own, state, road_front, road_rear, moved, held, stage, step, out):
    """Time derivative of both ends' (z_s, v_s, z_u, v_u) into `out`, shape (8,).

    front, rear: packed vehicle, open curve, lockout curve. moved: shape (2, 2), valve and actuator force of each end.
    more: None, or what yields and what sticks in front, then in the rear, see `elements`; then held, stage and step as
    for `quarter`. own: `lever`.
    """
    if more is None:
        q1, w1, _, _ = accelerations(
            front[0], front[1], front[2], state[0], state[1], state[2], state[3], road_front, 0.0, moved[0, 0],
            moved[0, 1],
        )  # fmt: skip
        q2, w2, _, _ = accelerations(
            rear[0], rear[1], rear[2], state[4], state[5], state[6], state[7], road_rear, 0.0, moved[1, 0],
            moved[1, 1],
        )  # fmt: skip
    else:
        q1, w1 = quarter(
            front[0], more[0], more[1], front[1], front[2], state[0], state[1], state[2], state[3], road_front,
            moved[0, 0], moved[0, 1], held, 0, stage, step,
        )  # fmt: skip
        q2, w2 = quarter(
            rear[0], more[2], more[3], rear[1], rear[2], state[4], state[5], state[6], state[7], road_rear,
            moved[1, 0], moved[1, 1], held, 1, stage, step,
        )  # fmt: skip
    out[0], out[1], out[2], out[3] = state[1], own[0, 0] * q1 + own[0, 1] * q2, state[3], w1
    out[4], out[5], out[6], out[7] = state[5], own[1, 0] * q1 + own[1, 1] * q2, state[7], w2


@njit(cache=True, nogil=True, error_model="numpy")
def march(front, rear, more, own, road, step, start, valves, laws, log_every, log):
    """Step both ends by Runge-Kutta 4 through `road`, shape (2, 2 n + 1) at half steps, and fill `log`.

    valves: settings at rest. laws: codes and numbers of both laws, what they make of the road ahead (2, n + 1), their
    chain (steps between samples, of delay, of jitter; shares as in `timing.Steps`) and the jitter's seed.
    log: (n // log_every + 1, 16): state (8), accelerations of front body, wheel, rear body, wheel, valves, forces.
    """
    steps = (road.shape[1] - 1) // 2
    state, middle = start.copy(), np.empty(8)
    k1, k2, k3, k4 = np.empty(8), np.empty(8), np.empty(8), np.empty(8)
    held = np.zeros((2, HELD))
    held[:, 2] = valves
    at, mid, after = np.zeros((2, 2)), np.zeros((2, 2)), np.zeros((2, 2))  # valve and actuator force within a step
    command = np.zeros((2, 3))
    at[:, 0] = mid[:, 0] = after[:, 0] = command[:, 0] = valves
    command[:, 2] = -1.0
    codes, numbers, ahead, clock, left, seed = laws
    due, random = np.full((2, clock[1] + clock[2] + 1, 3), -1.0), np.uint64(2 * seed + 1)
    seen, memory, measured = np.zeros((2, MEASUREMENTS)), np.zeros((2, MEMORY)), np.empty(MEASUREMENTS)
    for n in range(steps + 1):
        here, half, there = 2 * n, min(2 * n + 1, 2 * steps), min(2 * n + 2, 2 * steps)
        rates(front, rear, more, own, state, road[0, here], road[1, here], at, held, 0, step, k1)
        late, changed = 0, False
        if n % clock[0] == 0 and clock[2] > 0:  # the generator of `kernel.march`; one computer samples both ends
            random = random * np.uint64(6364136223846793005) + np.uint64(1442695040888963407)
            late = int(random >> np.uint64(33)) % (clock[2] + 1)
        for end in range(2):
            zs, vs, zu, vu = state[4 * end], state[4 * end + 1], state[4 * end + 2], state[4 * end + 3]
            measured[0], measured[1], measured[2], measured[3] = vs, vs - vu, k1[4 * end + 1], k1[4 * end + 3]
            measured[4], measured[5], measured[6] = zs - zu, zu - road[end, here], ahead[end, n]
            if commanded(
                codes[end], numbers[end], front if end == 0 else rear, n, step, clock, late, left[0], measured,
                seen[end], memory[end], due[end], command[end],
            ) and left[1] == 0.0:  # fmt: skip
                at[end], held[end, 2], changed = command[end, :2], np.nan, True  # its damper's speed anew
        if changed:
            rates(front, rear, more, own, state, road[0, here], road[1, here], at, held, 0, step, k1)
        for end in range(2):  # by hand: an expression of arrays would make four of them at each step
            for i in range(2):
                mid[end, i] = command[end, i] + left[1] * (at[end, i] - command[end, i])
                after[end, i] = command[end, i] + left[2] * (at[end, i] - command[end, i])
        if n % log_every == 0:
            row = log[n // log_every]
            row[:8] = state
            row[8], row[9], row[10], row[11] = k1[1], k1[3], k1[5], k1[7]
            row[12:14], row[14:] = at[:, 0], at[:, 1]
        for i in range(8):
            middle[i] = state[i] + 0.5 * step * k1[i]
        rates(front, rear, more, own, middle, road[0, half], road[1, half], mid, held, 1, step, k2)
        for i in range(8):
            middle[i] = state[i] + 0.5 * step * k2[i]
        rates(front, rear, more, own, middle, road[0, half], road[1, half], mid, held, 2, step, k3)
        for i in range(8):
            middle[i] = state[i] + step * k3[i]
        rates(front, rear, more, own, middle, road[0, there], road[1, there], after, held, 3, step, k4)
        for i in range(8):
            state[i] += step / 6.0 * (k1[i] + 2.0 * (k2[i] + k3[i]) + k4[i])
        if more is not None:
            rub(front[0], more[1], state[0], state[2], road[0, there], held, 0)
            rub(rear[0], more[3], state[4], state[6], road[1, there], held, 1)
        at[:] = after


def ride_two(
    car, profile, speed, laws=None, timing=None, *, seed=1, start=(0.0,) * 8, longest_step=LONGEST_STEP,
    log_step=LOG_STEP,
):  # fmt: skip
    """Ride a `HalfCar` over a profile at `speed` in m/s until the rear wheel is at its end; returns a `TwoWheelRun`.

    laws: for both ends, or a pair, front first, each of which sees its own end alone; open valves unless given. timing:
    their chain, ideal unless given; seed: of its jitter. start: body height and velocity, wheel height and velocity, of
    the front, then of the rear. The rear wheel follows the path of the front, a wheelbase behind; before and after, the
    profile is level.
    """
    speed = in_range("ride_two", "speed", speed, "m/s", 0.05, 100.0)
    longest_step = in_range("ride_two", "longest_step", longest_step, "s", 1e-6, 1e-3)
    pair = laws if isinstance(laws, tuple) else (laws or Passive(),) * 2
    if len(pair) != 2 or not all(isinstance(law, Law) for law in pair):
        raise ValueError(f"ride_two: laws is {laws!r}; allowed is a law, or one for each end.")
    laws = tuple(map(replace, pair))  # one that both ends share decides and remembers for each
    valves = np.array([in_range("ride_two", "valve", law.initial, "", 0.0, 1.0) for law in laws])
    own = lever(car)
    fastest = max(map(fastest_rate, (car.front, car.rear))) * np.abs(own).sum(axis=1).max()
    fit = (timing or Timing.ideal()).in_steps(min(longest_step, STEP_TIMES_RATE / fastest))
    step = fit.step
    log_every = max(1, round(log_step / step))
    duration = (profile.length + car.wheelbase) / speed
    steps = log_every * rows_after(duration, step * log_every)
    halves = 0.5 * step * np.arange(2 * steps + 1)
    road = np.empty((2, len(halves)))
    for row, end, behind in ((0, car.front, 0.0), (1, car.rear, car.wheelbase)):
        path = axle_path(profile, end.wheel_radius)
        road[row] = path.at(path.distance[0] + speed * halves - behind) - path.height[0]
    log = np.empty((steps // log_every + 1, 16))
    packed_all = packed_laws(laws, road, fit, seed)
    march(*ends(car), own, road, step, np.array(start, dtype=float), valves, packed_all, log_every, log)
    for law in laws:
        law.check()
    columns, every = log.T.copy(), 2 * log_every
    front = End(road[0, ::every], *columns[0:4], columns[8], columns[9], columns[12], columns[14])
    rear = End(road[1, ::every], *columns[4:8], columns[10], columns[11], columns[13], columns[15])
    return TwoWheelRun(car, laws, halves[::every], front, rear)
