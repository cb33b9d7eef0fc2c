"""Workbook 08: valves that open while the pressure over them goes on rising, and how long a coil takes to let go."""

import math
from functools import lru_cache

import numpy as np

from helpers.models.actuators import MU0
from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.orifice import BAR
from helpers.models.valve import BALANCED, MINERAL, PILOT, PILOTED, POPPET, PilotedValve
from scenes import w06_numbers, w08_numbers
from scenes.w08_numbers import COIL, POWER

TICK = 5e-6  # s
AFTER = 2.5e-3  # s, mean time from felt to command
VALVES = {"poppet": POPPET, "balanced spool": BALANCED, "piloted valve": PILOTED}


@lru_cache
def rising(height, speed):
    """Pressure in bar over the time in s after the command, in the locked bike's damper, while the valve is shut."""
    run = w06_numbers.always("bike", height, speed, 1.0)
    start = w06_numbers.felt(run) + AFTER
    push = -run.vehicle.lockout_curve.force(run.body_velocity - run.wheel_velocity)
    return lambda time: max(w08_numbers.bars(float(np.interp(start + time, run.time, push))), 1.0)


def _coil(valve, pressure, power):
    """(half, fully) open after, s, under `pressure` over time; inf where it stays shut."""
    area, mass, drive = COIL.area, COIL.mass + valve.mass, math.sqrt(power) / COIL.coil
    per_pascal = valve.unbalanced * valve.area
    jet = -float(valve.forces(valve.stroke, BAR).flow) / BAR / valve.stroke
    damping = -float(valve.forces(0.0, BAR, speed=1.0).transient) / math.sqrt(BAR)
    flux = lift = speed = time = 0.0
    half = math.inf
    while time < 0.06:
        drop = pressure(time) * BAR
        turns = flux * (COIL.rest_gap + valve.stroke - lift) / (MU0 * area)
        if flux < COIL.saturation * area or turns / COIL.coil**2 > drive:
            flux += (drive - turns / COIL.coil**2) * TICK
        load = (per_pascal + jet * lift) * drop + valve.preload + valve.spring_rate * lift
        load += damping * math.sqrt(drop) * speed + (valve.running if speed > 0.0 else valve.breakaway)
        speed = max(speed + (flux**2 / (2.0 * MU0 * area) - load) / mass * TICK, 0.0)
        lift, time = lift + speed * TICK, time + TICK
        if lift >= 0.5 * valve.stroke:
            half = min(half, time)
        if lift >= valve.stroke:
            return half, time
    return half, math.inf


def _opens(name, pressure, power):
    valve = VALVES[name]
    if not isinstance(valve, PilotedValve):
        return _coil(valve, pressure, power)
    time = _coil(valve.pilot, pressure, power)[1]
    if math.isinf(time):
        return time, time
    lift, half = np.linspace(0.0, valve.main.stroke, 65), math.inf
    for k in range(64):
        drop = pressure(time) * BAR
        behind = valve._chamber_pressure(lift[k], drop, 1)
        flow = valve.pilot.flow(valve.pilot.stroke, behind, MINERAL) - valve.feed.flow(drop - behind, MINERAL)
        if flow <= 0.0:
            return half, math.inf
        time += float(valve.chamber_area * (lift[1] - lift[0]) / flow)
        half = time if k == 31 else half
    return half, time


@lru_cache(256)
def opens(name, height, speed, power=POWER):
    """(half, fully) open after the command, s, at one step of the locked bike; the pressure as if still shut."""
    return _opens(name, rising(height, speed), power)


@lru_cache(64)
def opens_at(name, bar, power=POWER):
    """(half, fully) open after, s, at a pressure that stays."""
    return _opens(name, lambda _: bar, power)


@lru_cache
def left(height, speed):
    """ms that the chain's budget leaves the valve half open in; not above nought where no valve is quick enough."""
    quick = w06_numbers.QUICK
    return w06_numbers.budget("bike", height, speed) - 1e3 * (1.0 / quick.sample_rate + quick.compute + quick.bus)


def release_time(valve, bar):
    """Time in s in which a plain diode lets the full iron fall to where `valve`, drawn in at `bar`, comes loose."""
    forces = valve.forces(valve.stroke, bar * BAR)
    held = math.sqrt(2.0 * MU0 * max(float(-forces.balance) - forces.friction, 1e-9) / COIL.area)
    return COIL.rise_time(COIL.rest_gap) * math.log(COIL.saturation / held)


def cold_flows(bar, celsius):
    """(out by the pilot, in by the feed hole) in l/min, main valve at its seat, and the oil's part in ms."""
    liquid, drop = DAMPER_OIL.at(ZERO_CELSIUS + celsius), bar * BAR
    behind = PILOTED._chamber_pressure(0.0, drop, 1)
    flows = PILOT.flow(PILOT.stroke, behind, liquid), PILOTED.feed.flow(drop - behind, liquid)
    return [6e4 * float(flow) for flow in flows] + [1e3 * PILOTED.opening_time(drop, liquid)]
