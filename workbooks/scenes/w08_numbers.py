"""Sums of workbook 08: force to open a valve, least power, what a coil can open, times, settings for a power."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
import sympy as sp

from helpers.models.actuators import Magnetorheological, Solenoid, front
from helpers.models.geared_motor import GearedMotor, geared
from helpers.models.jets import VELOCITY_COEFFICIENT
from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.orifice import BAR, SHARP_EDGED
from helpers.models.quarter_car import Step
from helpers.models.shims import TRAIL_PISTON
from helpers.models.valve import BALANCED, FOLLOWING, PILOTED, POPPET, PilotedValve, Spool
from scenes import w06_numbers

COIL, MOTOR, FIELD = Solenoid(), GearedMotor(), Magnetorheological()
BIG = replace(COIL, pole=2.0 * COIL.pole, mass=4.0 * COIL.mass)  # four times the pole face, and as much heavier
POWER = 10.0  # W, Ilka's driver
STRONGER = 50.0  # W, the dealer's
BENCH, BLOW_OFF, HARD = 5.0, 37.0, 100.0  # bar: the bench, a lockout that gives way, a hard hit
LINKAGE = 2.5  # wheel's force times this is the damper's
QUICKLY = 5e-3  # s, the time in which least powers are compared
PISTON_AREA = 0.25 * math.pi * TRAIL_PISTON.diameter**2  # m2
RATIOS = np.geomspace(1.0, 1000.0, 121)
MOST = 300.0  # bar; beyond, it is of no interest
VALVES = {"poppet": POPPET, "balanced spool": BALANCED, "piloted valve": PILOTED}
STRIDE = {"poppet": POPPET, "balanced spool": BALANCED, "piloted valve": FOLLOWING}  # with the motor

A, PHI, P, C_D, C_V, THETA, W, X, RHO = sp.symbols(r"A \phi p C_d C_v theta w x rho", positive=True)
F_0, K, F_S, S = sp.symbols("F_0 k F_s s", positive=True)


def bars(wheel_force):
    """Pressure in bar that a force at the wheel, N, makes in the locked damper."""
    return wheel_force * LINKAGE / PISTON_AREA / BAR


# --- derivations ------------------------------------------------------------------------------------------------------


@lru_cache
def _force():
    """(flow force, force to open, work) as sympy expressions."""
    jet = C_V * sp.sqrt(2 * P / RHO)
    passed = C_D * W * X * sp.sqrt(2 * P / RHO)
    flow_force = sp.powdenest(sp.simplify(RHO * passed * jet * sp.cos(THETA)), force=True)
    to_open = PHI * A * P + flow_force + F_0 + K * X + F_S
    return flow_force, to_open, sp.collect(sp.expand(sp.integrate(to_open, (X, 0, S))), S)


def force_steps():
    """From pressure and jet to the work of a stroke, as `Step` objects."""
    flow_force, to_open, work = _force()
    return [
        Step("Pressure", "On the share $\\phi$ of the seat's area that is not balanced.", PHI * A * P),
        Step("Jet", "Oil leaves through a slit, as long as the seat's circumference or the ports, $w$, and as wide "
             "as the lift, $x$, at the angle $\\theta$ to the valve's axis, and drags the valve shut: mass flow times "
             "speed times $\\cos\\theta$, with the flow $C_d w x\\sqrt{2p/\\rho}$ and the speed $C_v\\sqrt{2p/\\rho}$. "
             "The density $\\rho$ drops out.", flow_force),
        Step("Force to open", "Add the spring, $F_0 + kx$, and the friction $F_s$.", to_open),
        Step("Work", "Added up from shut to the stroke $s$. The least of it has running friction for $F_s$.", work),
    ]  # fmt: skip


def limit_steps():
    """Cases whose answer is known beforehand."""
    to_open = _force()[1]
    return [
        Step("No pressure", "$p \\to 0$: spring and friction alone.", sp.limit(to_open, P, 0)),
        Step("Perfect balance", "$\\phi \\to 0$: the jet's force stays.", sp.limit(to_open, PHI, 0)),
        Step("Just shut", "$x \\to 0$: no jet, the whole pressure.", sp.limit(to_open, X, 0)),
    ]


def _values(valve):
    return {
        A: valve.area, PHI: valve.unbalanced, C_D: SHARP_EDGED, C_V: VELOCITY_COEFFICIENT, THETA: valve.jet_angle,
        W: valve.opening_area(1.0), F_0: valve.preload, K: valve.spring_rate, F_S: valve.breakaway, S: valve.stroke,
    }  # fmt: skip


def force(valve, bar, lift):
    """Force to open in N by the derived expression, at `bar` and `lift` in m."""
    return float(_force()[1].subs(_values(valve) | {P: bar * BAR, X: lift}))


def least_power(valve, bar, time=QUICKLY):
    """Mean power in W that opens `valve` against `bar` within `time`: work, with running friction, over time."""
    return float(_force()[2].subs(_values(valve) | {P: bar * BAR, F_S: valve.running})) / time


def inertia(mass, stroke, time):
    """Force in N that brings `mass` over `stroke` in `time`, half of it speeding up, half braking."""
    return 4.0 * mass * stroke / time**2


def finest_power(settings, time, motor=MOTOR):
    """Power in W of a free-running motor that passes `settings` in `time`: (step K_m N / t)^2."""
    return (motor.step * motor.constant * settings / time) ** 2


# --- what the drives do -----------------------------------------------------------------------------------------------


class WithoutJet(Spool):
    """A spool whose jet leaves square to its axis, so that it does not drag it shut: to see what the jet does."""

    jet_angle = 0.5 * math.pi


def scaled(part, factor):
    """A valve or coil whose moving mass is `factor` times its own."""
    if isinstance(part, PilotedValve):
        return replace(part, main=scaled(part.main, factor), pilot=scaled(part.pilot, factor))
    return replace(part, mass=factor * part.mass)


@lru_cache(4096)
def coil_move(name, bar, power=POWER, mass=1.0, celsius=40.0, drive=COIL):
    """The `Move` of the coil on one of `VALVES`, moving masses times `mass`, oil at `celsius`."""
    liquid = DAMPER_OIL.at(ZERO_CELSIUS + celsius)
    return scaled(drive, mass).move(scaled(VALVES[name], mass), bar * BAR, power, liquid)


@lru_cache(1024)
def motor_move(name, bar, power=POWER):
    """The `Move` of the motor with its own gear, the piloted valve as one that follows its pilot."""
    return MOTOR.move(STRIDE[name], bar * BAR, power)


@lru_cache(1024)
def motor_front(name, bar, power, celsius=40.0):
    """The `Front` of the motor over all gear ratios."""
    return front(geared(MOTOR, RATIOS), STRIDE[name], bar * BAR, power, DAMPER_OIL.at(ZERO_CELSIUS + celsius))


@lru_cache(256)
def power_for(name, bar, settings, time):
    """Least power in W at which the motor, with the best gear, passes `settings` within `time`; inf beyond 10 kW."""
    valve = STRIDE[name]
    coarsest = (settings - 1) * MOTOR.step * MOTOR.screw.lead / (2.0 * math.pi * POPPET.stroke)
    motors = geared(MOTOR, coarsest * np.geomspace(1.0, 60.0, 31))

    def enough(power):
        return any(motor.move(valve, bar * BAR, power).time <= time for motor in motors)

    low, high = finest_power(settings - 1, time), 1e4  # no load at all asks for more than that
    if not enough(high):
        return math.inf
    while high > 1.005 * low:
        middle = math.sqrt(low * high)
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def pull(power, lift, stroke=POPPET.stroke, drive=COIL):
    """Pull in N of a coil that has had time to fill, at `lift` of a valve of that `stroke`, m; any shape."""
    return drive.force(drive.coil * math.sqrt(power), drive.rest_gap + stroke - np.asarray(lift))


def _pressures(valve, power, drive):
    """Pressure in bar at which a coil pulls as hard as `valve` needs, lift by lift."""
    moved = valve.pilot if isinstance(valve, PilotedValve) else valve
    lift = np.linspace(0.0, moved.stroke, 201)
    without, at_one = (moved.forces(lift, bar * BAR).to_open for bar in (0.0, 1.0))
    return (pull(power, lift, moved.stroke, drive) - without) / (at_one - without)


def starting_pressure(valve, power, drive=COIL):
    """Highest pressure in bar up to which a coil pulls harder than the shut `valve` needs."""
    return float(_pressures(valve, power, drive)[0])


def highest_pressure(valve, power, drive=COIL):
    """Highest pressure in bar up to which a coil pulls harder than `valve` needs at every lift."""
    return float(np.min(_pressures(valve, power, drive)))


def time_left():
    """(time the bike's chain may take from felt, longest time until the command arrives) in ms, 50 mm at 10 m/s."""
    quick = w06_numbers.QUICK
    return w06_numbers.budget("bike", 0.05, 10.0), 1e3 * (1.0 / quick.sample_rate + quick.compute + quick.bus)


@lru_cache
def on_command(height, speed, after=2.5e-3):
    """(felt after in s, pressure in bar when the command arrives, the highest if it stays shut) of the locked bike."""
    run = w06_numbers.always("bike", height, speed, 1.0)
    felt = w06_numbers.felt(run)
    push = -run.vehicle.lockout_curve.force(run.body_velocity - run.wheel_velocity)
    if math.isnan(felt):
        return felt, felt, bars(float(push.max()))
    return felt, bars(float(np.interp(felt + after, run.time, push))), bars(float(push.max()))
