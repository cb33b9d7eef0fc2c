"""A valve that opens while the pressure rises: against `move` where it stands, else against equations of its own."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from fleet import TRAIL_BIKE
from helpers.models.actuators import MU0, PILOT_COIL, Solenoid
from helpers.models.machines import DAMPERS, MACHINES
from helpers.models.orifice import BAR
from helpers.models.valve import BALANCED, DIRECTED, INWARD_POPPET
from helpers.simulation import opening
from helpers.simulation.deadline import AT_TOUCH, MOMENT, step_deadline
from helpers.simulation.opening import STEPS, TICK, strike
from helpers.simulation.riding import RideError

BIKE, DAMPER = MACHINES["bike"], DAMPERS["bike"]


def test_what_the_order_finds():
    # DEVELOPERS.md: over a 50 mm step at 3 m/s the locked bike feels after 1.0 ms and holds 41.5 bar at most.
    hit = strike(BIKE)
    assert hit.felt == pytest.approx(1.0e-3, abs=5e-5)
    assert hit.pressure(np.linspace(0.0, 0.04, 801)).max() / BAR == pytest.approx(41.5, abs=0.05)
    # a sample period of 1.25 ms, 1 ms of computing, half a millisecond of bus
    assert hit.order() - hit.felt == pytest.approx(2.75e-3, rel=1e-9)
    assert hit.order() - hit.order(0.0) == pytest.approx(1.25e-3, rel=1e-9)


def test_by_default_the_moment_of_workbook_06_and_what_is_left_there():
    # Allowed from contact, by the clock, less felt and electronics; the mean wait for a sample is half a period.
    hit, whole = strike(BIKE), step_deadline(BIKE, AT_TOUCH, MOMENT.height, MOMENT.speed, 0.1)
    assert (MOMENT.vehicle, hit.due) == (BIKE, strike(BIKE, 0.05, 3.0).due)
    assert hit.left(0.5) == pytest.approx(whole - hit.felt - 0.625e-3 - 1.5e-3, abs=1e-4)
    assert hit.left(0.5) - hit.left() == pytest.approx(0.625e-3, rel=1e-9)


@pytest.mark.parametrize(("drive", "valve", "power", "bars"), [
    (Solenoid(), BALANCED, 10.0, 5), (Solenoid(), BALANCED, 50.0, 40), (Solenoid(), INWARD_POPPET, 50.0, 10),
    (PILOT_COIL, DIRECTED, 10.0, 20), (PILOT_COIL, DIRECTED, 10.0, 100), (Solenoid(), INWARD_POPPET, 10.0, 40),
])  # fmt: skip
def test_a_pressure_that_stands_takes_what_move_takes(monkeypatch, drive, valve, power, bars):
    standing = np.full((len(opening.LIFTS), len(STEPS)), bars * BAR)
    standing[-1] -= 1.0  # so that there is a change
    monkeypatch.setattr(opening, "_held", lambda damper, speed: standing)
    found = opening.opening(drive, valve, power, DAMPER, np.zeros(len(STEPS)))
    expected = drive.move(valve, bars * BAR, power).time
    if expected > STEPS[-1]:
        assert found.fully_open == math.inf
    else:
        assert found.fully_open == pytest.approx(expected, abs=2.0 * TICK)


@pytest.mark.parametrize(("power", "speed"), [(50.0, 3.0), (10.0, 3.0), (50.0, 10.0)])
def test_spool_against_its_own_equations(power, speed):
    # A coil of 400 turns by its circuit; the stage's flows by root finding, the slit as a sharp edge without viscosity.
    hit = strike(BIKE, 0.05, speed)
    covers, beside = DAMPER.blow_off, DAMPER.leak
    over_cover = np.concatenate([[0.0], np.geomspace(1.0, 3e7, 3000), 35e5 + np.geomspace(1.0, 1e7, 1500)])
    passed, drop = covers.flow(np.sort(over_cover), DAMPER.liquid)
    width, density = 0.9 * math.pi * 12e-3, DAMPER.liquid.density

    def stands(flow, share):
        def excess(p):
            slit = 0.611 * width * share * 1e-3 * math.sqrt(2.0 * p / density)
            return float(np.interp(p, drop, passed)) + float(beside.flow(p, DAMPER.liquid)) + slit - flow

        return brentq(excess, 0.0, 3e7, xtol=10.0) if flow > 0.0 else 0.0

    def flow_at(time):
        moved = np.interp(hit.contact + hit.order() + time, hit.locked.time, hit.locked.damper_speed)
        return max(-float(moved) / 2.5 * 0.25 * math.pi * 25e-3**2, 0.0)

    turns, area, resistance = 400.0, 0.25 * math.pi * 14e-3**2, (400.0 / 280.0) ** 2
    voltage, slit_width = math.sqrt(power * resistance), 0.7 * math.pi * 8e-3

    def rates(time, y):
        current, x, v = y[0], min(max(y[1], 0.0), 1e-3), max(y[2], 0.0)
        gap, pressure = 1.1e-3 - x, stands(flow_at(time), x / 1e-3)
        inductance = turns**2 * MU0 * area / gap
        jet = 2.0 * 0.611 * 0.98 * math.cos(math.radians(69.0)) * slit_width * x * pressure
        damped = 5e-3 * 0.611 * slit_width * math.sqrt(2.0 * 870.0 * pressure) * v
        load = 0.02 * 0.25 * math.pi * 8e-3**2 * pressure + jet + 5.0 + 2000.0 * x + damped + (2.5 if v > 0.0 else 4.0)
        pull = 0.5 * inductance * current**2 / gap
        slope = (voltage - resistance * current - inductance / gap * current * v) / inductance
        push = pull - load
        return [slope, v, (max(push, 0.0) if v == 0.0 else push) / 13e-3]

    def open_wide(_, y):
        return y[1] - 1e-3

    open_wide.terminal = True
    ran = solve_ivp(rates, (0.0, 0.02), [0.0, 0.0, 0.0], events=open_wide, max_step=1e-4, dense_output=True, rtol=1e-6)
    found = hit.opens(Solenoid(), BALANCED, power)
    assert found.fully_open == pytest.approx(ran.t[-1], rel=0.01)
    time = np.arange(0.0, ran.t[-1], 2.5e-5)
    lift = np.clip(ran.sol(time)[1] / 1e-3, 0.0, 1.0)
    ends = [(stands(flow_at(t), 0.0), stands(flow_at(t), x), stands(flow_at(t), 1.0))
            for t, x in zip(time[::4], lift[::4], strict=True)]  # fmt: skip
    share = np.array([(shut - here) / max(shut - wide, 1.0) for shut, here, wide in ends])
    most = time[::4][(share >= 1.0 - math.exp(-1.0)).argmax()]
    assert found.force_63 == pytest.approx(most, rel=0.03)


def test_a_pilot_stops_where_its_spring_is_stronger():
    # At 3 m/s the pressure sinks to what holds the main cone: nine tenths of the force go, the stroke is never made.
    found = strike(BIKE).opens(PILOT_COIL, DIRECTED, 10.0)
    assert found.force_90 < 3e-3 and found.fully_open == math.inf
    assert DIRECTED.opening_time(3.1 * BAR) == math.inf > DIRECTED.opening_time(3.2 * BAR)


def test_refuses():
    with pytest.raises(RideError, match="allowed are the course's bike, motorcycle, carrier"):
        strike(TRAIL_BIKE)
    with pytest.raises(RideError, match="never reads 40 m/s² on that step"):
        strike(BIKE, 0.001)
