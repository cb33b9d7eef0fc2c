"""A quarter vehicle under a sampled law, integrated by `scipy.integrate.solve_ivp`: what the stepper is held against.

Written from the definitions alone, in plain Python. It integrates from sample to sample and from arrival to arrival:
at each the integration stops, the controller measures the state that it has there, and the next stretch starts anew.
"""

import bisect
import math
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

from helpers.control.laws import (
    AccelerationDriven,
    ActiveSkyhook,
    ClippedOptimal,
    Groundhook,
    LinearSkyhook,
    StateFeedback,
    TwoStateSkyhook,
)
from helpers.control.mode_switch import ModeSwitch
from helpers.simulation.kernel import FRICTION_SMOOTHING

STANDARD_GRAVITY = 9.80665  # m/s2, ISO 80000-3


@dataclass(frozen=True, eq=False)
class PolylineRoad:
    """Height in m over time in s, straight between knots; one time or an array."""

    time: np.ndarray
    height: np.ndarray

    def __call__(self, time):
        if isinstance(time, np.ndarray):
            return np.interp(time, self.time, self.height)
        k = min(max(bisect.bisect_right(self.time, time) - 1, 0), len(self.time) - 2)
        share = (time - self.time[k]) / (self.time[k + 1] - self.time[k])
        return float(self.height[k] + share * (self.height[k + 1] - self.height[k]))


@dataclass(frozen=True, eq=False)
class Reference:
    """Solution at `time`, shape (n,): state (n, 4) as (z_s, v_s, z_u, v_u), valve (n,), actuator force (n,).

    Heat of damper and friction, net work of the actuator and its positive part, in J, over the whole time.
    """

    time: np.ndarray
    state: np.ndarray
    valve: np.ndarray
    actuator: np.ndarray
    body_acceleration: np.ndarray
    damper_heat: float
    friction_heat: float
    actuator_work: float
    actuator_supply: float

    @property
    def travel(self):
        """Suspension travel, m."""
        return self.state[:, 0] - self.state[:, 2]


def damper_of(curve):
    """Force of a damper curve in N as a plain function of one speed in m/s."""
    sides = [(side.low, side.high, side.knee) for side in (curve.compression, curve.rebound)]

    def force(speed):
        low, high, knee = sides[1 if speed >= 0.0 else 0]
        size = abs(speed)
        if curve.rounded:
            below = size / (1.0 + size / knee)
            return math.copysign(high * size + (low - high) * below, speed)
        return math.copysign(low * size if size < knee else low * knee + high * (size - knee), speed)

    return force


def forces(vehicle, travel, speed, clearance, valve):
    """(spring with stops, damper, friction, tyre) in N; the first three pull body and wheel together in rebound.

    clearance: tyre deflection z_u - z_r in m, positive where the tyre is longer than at rest.
    """
    squeeze = -travel
    stroke_left = max(1.0 - squeeze / vehicle.gas_column, 0.05)
    spring = -vehicle.spring_rate * squeeze / stroke_left
    if squeeze > vehicle.bump_travel:
        spring -= vehicle.stop_rate * (squeeze - vehicle.bump_travel)
    if travel > vehicle.rebound_travel:
        spring += vehicle.stop_rate * (travel - vehicle.rebound_travel)
    soft, firm = damper_of(vehicle.open_curve)(speed), damper_of(vehicle.lockout_curve)(speed)
    smooth = FRICTION_SMOOTHING
    if abs(speed) >= smooth:
        friction = math.copysign(vehicle.friction, speed)
    else:
        friction = vehicle.friction * (3.0 * speed / smooth - (speed / smooth) ** 3) / 2.0
    weight = (vehicle.body_mass + vehicle.wheel_mass) * STANDARD_GRAVITY
    tyre = max(weight - vehicle.tyre_rate * clearance, 0.0) - weight
    return spring, soft + valve * (firm - soft), friction, tyre


def decision(vehicle, law, seen, memory, time):
    """(valve, actuator force) of a law for the six measurements of one sample; `memory` is a dict of its own."""
    body_speed, speed, body_acceleration, wheel_acceleration, travel, clearance = seen
    wheel_speed = body_speed - speed
    if isinstance(law, TwoStateSkyhook | AccelerationDriven):
        skyhook = isinstance(law, TwoStateSkyhook)
        signal, band = (body_speed, law.body_band) if skyhook else (body_acceleration, law.acceleration_band)
        if not (-band < signal < band or -law.dead_band < speed < law.dead_band):
            memory["firm"] = signal * speed > 0.0
        return (law.firm if memory.get("firm") else law.soft), 0.0
    wanted = {
        LinearSkyhook: lambda: law.coefficient * body_speed,
        Groundhook: lambda: -law.coefficient * wheel_speed,
        ClippedOptimal: lambda: np.dot(law.gains, (travel, body_speed, clearance, wheel_speed)),
    }.get(type(law))
    if wanted:
        soft, firm = damper_of(vehicle.open_curve)(speed), damper_of(vehicle.lockout_curve)(speed)
        return (float(np.clip((wanted() - soft) / (firm - soft), 0.0, 1.0)) if firm != soft else 0.0), 0.0
    if isinstance(law, ActiveSkyhook):
        return law.setting, float(np.clip(-law.coefficient * body_speed, -law.force_limit, law.force_limit))
    if isinstance(law, StateFeedback):
        asked = -np.dot(law.gains, (travel, body_speed, clearance, wheel_speed))
        return law.setting, float(np.clip(asked, -law.force_limit, law.force_limit))
    if isinstance(law, ModeSwitch):
        if abs(wheel_acceleration) > law.threshold:
            memory["until"] = time + law.hold
        return (law.event if time < memory.get("until", 0.0) else law.rest), 0.0
    return law.setting, 0.0


def integrate(vehicle, law, timing, road, duration, longest_step, *, method="DOP853", rtol=1e-10, atol=1e-12,
              whole_first_step=True):  # fmt: skip
    """The `Reference` at every sample time, for a `Timing` without jitter that samples at a finite rate.

    whole_first_step: `solve_ivp` is told to try each stretch in one step first, which spares it a guess.
    """
    fit = timing.in_steps(longest_step)
    mass, wheel = vehicle.body_mass, vehicle.wheel_mass
    soft_curve, firm_curve = damper_of(vehicle.open_curve), damper_of(vehicle.lockout_curve)
    lag = timing.valve_time_constant
    valve = command_valve = law.initial
    actuator = command_force = 0.0
    began = 0.0
    per_lag = -1.0 / lag if lag > 0.0 else 0.0
    spring_rate, per_column, stop_rate = vehicle.spring_rate, 1.0 / vehicle.gas_column, vehicle.stop_rate
    bump, rebound, seal = vehicle.bump_travel, vehicle.rebound_travel, vehicle.friction
    tyre_rate, weight = vehicle.tyre_rate, (mass + wheel) * STANDARD_GRAVITY

    def rates(time, y):
        zs, vs, zu, vu = y[:4].tolist() if isinstance(y, np.ndarray) else y[:4]
        left = math.exp((time - began) * per_lag) if lag > 0.0 else 0.0
        setting = command_valve + left * (valve - command_valve)
        force = command_force + left * (actuator - command_force)
        travel, speed = zs - zu, vs - vu
        stroke_left = 1.0 + travel * per_column
        spring = spring_rate * travel / (stroke_left if stroke_left > 0.05 else 0.05)
        if -travel > bump:
            spring += stop_rate * (travel + bump)
        elif travel > rebound:
            spring += stop_rate * (travel - rebound)
        damper = soft_curve(speed)
        if setting != 0.0:
            damper += setting * (firm_curve(speed) - damper)
        if speed >= FRICTION_SMOOTHING:
            friction = seal
        elif speed <= -FRICTION_SMOOTHING:
            friction = -seal
        else:
            friction = seal * (3.0 - (speed / FRICTION_SMOOTHING) ** 2) / (2.0 * FRICTION_SMOOTHING) * speed
        pull = spring + damper + friction - force
        load = weight - tyre_rate * (zu - road(time))
        ground = (load if load > 0.0 else 0.0) - weight
        motion = [vs, -pull / mass, vu, (pull + ground) / wheel]
        power = force * speed
        return [*motion, damper * speed, friction * speed, power, max(power, 0.0)]

    y = [0.0] * 8
    atol = np.array([atol] * 4 + [1e-4] * 4)  # J: heat needs less than the motion
    seen, memory, arriving, rows = [0.0] * 6, {}, [], []
    steps = round(duration / fit.step)
    smoothing = fit.smoothing
    stops = sorted({*range(0, steps + 1, fit.every), *range(fit.delay, steps + 1, fit.every), steps})
    for n, following in zip(stops, [*stops[1:], steps], strict=True):
        now = n * fit.step
        began, held = now, (valve, actuator)
        if n % fit.every == 0:
            if smoothing == 0.0 or n == 0:
                seen = filtered(seen, rates(now, y), y, road(now), smoothing)
            arriving.append((n + fit.delay, *decision(vehicle, law, seen, memory, now)))
        while arriving and arriving[0][0] <= n:
            _, command_valve, command_force = arriving.pop(0)
        if lag == 0.0:
            valve, actuator = held = command_valve, command_force
        if n % fit.every == 0:
            rows.append((now, *y[:4], *held, rates(now, y)[1]))
        if n == steps:
            break
        end = following * fit.step
        at = [*(fit.step * np.arange(n + 1, following)), end] if smoothing > 0.0 else [end]
        first_step = end - now if whole_first_step else None
        solution = solve_ivp(rates, (now, end), y, method, at, rtol=rtol, atol=atol, first_step=first_step)
        if smoothing > 0.0:
            for one, state in zip(at, solution.y.T, strict=True):
                seen = filtered(seen, rates(one, state), state, road(one), smoothing)
        y = solution.y[:, -1].tolist()
        left = math.exp((end - now) * per_lag) if lag > 0.0 else 0.0
        valve = command_valve + left * (valve - command_valve)
        actuator = command_force + left * (actuator - command_force)
    table = np.array(rows)
    return Reference(table[:, 0], table[:, 1:5], table[:, 5], table[:, 6], table[:, 7], *y[4:])


def filtered(seen, slope, y, ground, smoothing):
    """Measurements after one step of the first-order filter, `smoothing` being the share of the old value kept."""
    now = (y[1], y[1] - y[3], slope[1], slope[3], y[0] - y[2], y[2] - ground)
    return [smoothing * old + (1.0 - smoothing) * new for old, new in zip(seen, now, strict=True)]
