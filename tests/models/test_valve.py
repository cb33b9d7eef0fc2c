"""Forces on valves against Merritt's factors, unit identities and the equation of motion."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.orifice import BAR, SHARP_EDGED, hole
from helpers.models.valve import (
    BALANCED,
    FOLLOWING,
    MINERAL,
    PILOT,
    PILOTED,
    POPPET,
    PilotedValve,
    Poppet,
    Spool,
    StickSlip,
)

pressures = st.floats(1e5, 2e7)
lifts = st.floats(0.0, 1e-3)

# --- forces ------------------------------------------------------------------------------------------------------


def test_pressure_on_an_area():
    # Unit identity: 1 bar on 1 cm2 is 10 N. A seat of 8 mm at 5 and at 100 bar: pi/4 64 mm2 times 0.5 and 10 N/mm2.
    square_centimetre = Poppet("seat", diameter=math.sqrt(4e-4 / math.pi), stroke=1e-3)
    assert square_centimetre.forces(0.0, BAR).pressure == pytest.approx(-10.0, rel=1e-12)
    at_5, at_100 = POPPET.forces(0.0, np.array([5 * BAR, 100 * BAR])).pressure
    assert (at_5, at_100) == pytest.approx((-25.13, -502.65), abs=5e-3)


@given(lifts, pressures)
def test_flow_force_on_a_spool(lift, drop):
    # Merritt, Hydraulic Control Systems (1967): 2 Cd Cv cos 69 deg w x dp = 0.43 w x dp, towards closing.
    spool = Spool("spool", diameter=8e-3, stroke=1e-3, ports=1.0)
    assert spool.forces(lift, drop).flow == pytest.approx(-0.43 * math.pi * 8e-3 * lift * drop, rel=0.01)


@given(lifts, pressures)
def test_flow_force_is_the_momentum_of_the_jet(lift, drop):
    # rho Q v cos(angle), v the jet's speed 0.98 sqrt(2 dp/rho), Q the turbulent flow.
    for valve in (POPPET, BALANCED):
        speed = math.sqrt(2.0 * drop / MINERAL.density)
        flow = SHARP_EDGED * valve.opening_area(lift) * speed
        force = MINERAL.density * flow * 0.98 * speed * math.cos(valve.jet_angle)
        assert valve.forces(lift, drop).flow == pytest.approx(-force, rel=1e-12, abs=1e-12)


def test_transient_force():
    # Merritt: L Cd w sqrt(2 rho dp) dx/dt; it is the inertia of the oil column, rho L dQ/dt.
    moving = BALANCED.forces(0.5e-3, 50 * BAR, speed=0.2)
    root = math.sqrt(2.0 * MINERAL.density * 50 * BAR)
    assert moving.transient == pytest.approx(-5e-3 * SHARP_EDGED * BALANCED.width * root * 0.2, rel=1e-12)
    thin = replace(MINERAL, viscosity=1e-5)
    faster, slower = (BALANCED.flow(lift, 50 * BAR, thin) for lift in (0.5e-3 + 1e-7, 0.5e-3 - 1e-7))
    assert -moving.transient == pytest.approx(MINERAL.density * 5e-3 * (faster - slower) / 2e-7 * 0.2, rel=1e-3)
    assert moving.friction == BALANCED.running < BALANCED.forces(0.5e-3, 50 * BAR).friction


@given(pressures, st.floats(1e-3, 1.0))
def test_power_against_pressure_is_flow_times_pressure(drop, speed):
    # P = F v = dp A v: what the drive of a shut poppet gives is what the oil it displaces takes.
    forces = replace(POPPET, preload=0.0, breakaway=0.0, running=0.0).forces(0.0, drop)
    assert forces.to_open * speed == pytest.approx(drop * POPPET.area * speed, rel=1e-12)


@given(lifts, pressures)
def test_ways_add_up(lift, drop):
    for valve in (POPPET, BALANCED, PILOT):
        forces = valve.forces(lift * valve.stroke / 1e-3, drop)
        assert forces.to_open + forces.to_close == pytest.approx(2.0 * valve.breakaway, abs=1e-9)
        assert forces.to_hold <= max(abs(forces.to_open), abs(forces.to_close))


def test_area_not_mass_sets_the_force():
    # Moving 5 g over 1 mm within 5 ms, half of it speeding up, takes 4 s m / t^2 = 0.8 N; the seat at 100 bar 503 N.
    inertia = 4.0 * POPPET.stroke * POPPET.mass / 5e-3**2
    assert inertia == pytest.approx(0.8, rel=1e-9)
    assert -POPPET.forces(0.0, 100 * BAR).pressure > 600.0 * inertia
    assert BALANCED.forces(0.0, 100 * BAR).to_open < 20.0
    pushed_open = replace(POPPET, unbalanced=-1.0).forces(0.0, 100 * BAR)
    assert pushed_open.to_open < 0.0 < pushed_open.to_close


def test_poppet_and_spool_pass_the_same():
    # The two are of a size: the comparison of their forces is fair.
    areas = [valve.opening_area(valve.stroke) for valve in (POPPET, BALANCED)]
    assert areas[1] == pytest.approx(areas[0], rel=0.02)
    flows = POPPET.flow(np.array([0.0, 0.5e-3, 1e-3]), 10 * BAR)
    assert flows[0] == 0.0 < flows[1] < flows[2]


# --- stick-slip --------------------------------------------------------------------------------------------------


def test_stick_slip_at_creeping_speed():
    # Textbook of vibrations: the jump overshoots the balance by as much as it started from it, 2 (F_s - F_k)/k.
    creeping = StickSlip(mass=4e-3, breakaway=4.0, running=2.5, stiffness=1e5, speed=1e-7)
    assert creeping.jump == pytest.approx(2.0 * 1.5 / 1e5, rel=1e-4)
    assert creeping.slip_time == pytest.approx(math.pi * math.sqrt(4e-3 / 1e5), rel=1e-3)


@pytest.mark.parametrize("speed", [1e-4, 2e-3, 2e-2])
def test_stick_slip_against_the_equation_of_motion(speed):
    part = StickSlip(mass=4e-3, breakaway=4.0, running=2.5, stiffness=1e5, speed=speed)

    def rates(t, y):
        pull = part.breakaway + part.stiffness * (speed * t - y[0])
        return [y[1], (pull - part.running) / part.mass]

    def rest(t, y):
        return y[1] if t > 0.0 else 1.0

    rest.terminal, rest.direction = True, -1
    ran = solve_ivp(rates, (0.0, 1.0), [0.0, 0.0], events=rest, rtol=1e-11, atol=1e-15, dense_output=True)
    assert ran.t[-1] == pytest.approx(part.slip_time, rel=1e-6)
    assert ran.y[0, -1] == pytest.approx(part.jump, rel=1e-6)
    inside = np.linspace(0.0, part.slip_time, 50)
    assert part.position(inside) == pytest.approx(ran.sol(inside)[0], abs=1e-9)


@given(st.floats(1e-5, 0.05), st.floats(1e4, 1e6))
def test_stick_slip_keeps_up_with_its_drive(speed, stiffness):
    part = StickSlip(mass=4e-3, breakaway=4.0, running=2.5, stiffness=stiffness, speed=speed)
    cycle = part.stick_time + part.slip_time
    assert part.jump == pytest.approx(speed * cycle, rel=1e-9)
    assert part.position(3.0 * cycle + 0.999 * part.slip_time) > part.position(2.5 * cycle)


# --- pilot -------------------------------------------------------------------------------------------------------


def test_pilot_drains_the_chamber():
    # By hand, without spring, friction and lift: the chamber stands at 0.7 p; the pilot drains, the feed fills it.
    main = replace(POPPET, stroke=1e-5, preload=0.0, spring_rate=0.0, running=0.0, breakaway=0.0)
    valve = PilotedValve(main, PILOT, hole(0.5e-3, 1e-3))
    drop = 50 * BAR
    fed, chamber = valve.feed.flow(0.3 * drop, MINERAL), 1e-5 * main.area / 0.7
    drained = PILOT.flow(PILOT.stroke, 0.7 * drop) - fed
    assert valve.opening_time(drop) == pytest.approx(chamber / drained, rel=0.01)
    assert valve.closing_time(drop) == pytest.approx(chamber / fed, rel=0.01)


def test_pilot_divides_the_force_and_likes_pressure():
    # The force falls as the areas, (1.5/8)^2; the main valve's time falls as about 1/sqrt(p), where a drive's rises.
    ratio = PILOT.forces(0.0, 100 * BAR).pressure / POPPET.forces(0.0, 100 * BAR).pressure
    assert ratio == pytest.approx((1.5 / 8.0) ** 2, rel=1e-12)
    slow, fast = PILOTED.opening_time(20 * BAR), PILOTED.opening_time(100 * BAR)
    assert slow / fast == pytest.approx(math.sqrt(5.0), rel=0.15)
    assert PILOTED.opening_time(1 * BAR) == math.inf  # the spring is stronger
    assert PILOTED.opening_time(5 * BAR) > 5.0 * fast
    assert (PILOTED.pilot_travel, FOLLOWING.pilot_travel) == (PILOT.stroke, POPPET.stroke)


def test_cold_oil_slows_the_pilot():
    cold, warm = (DAMPER_OIL.at(ZERO_CELSIUS + celsius) for celsius in (-20.0, 40.0))
    for pressure in (5 * BAR, 100 * BAR):
        assert PILOTED.closing_time(pressure, cold) > PILOTED.closing_time(pressure, warm)
    wide = replace(PILOTED, feed=hole(2e-3))
    assert wide.opening_time(100 * BAR) == math.inf  # the feed fills faster than the pilot drains


@pytest.mark.parametrize(
    "make, told",
    [
        (lambda: POPPET.forces(0.0, -1e5), "poppet: pressure_drop is -100000 Pa; allowed is 0 to 1e+08 Pa."),
        (lambda: POPPET.forces(-1e-3, 1e5), "poppet: lift is -0.001 m; allowed is 0 to 0.001 m."),
        (lambda: POPPET.forces(2e-3, 1e5), "poppet: lift is 0.002 m; allowed is 0 to 0.001 m."),
        (lambda: replace(POPPET, diameter=0.0), "Poppet: diameter is 0 m"),
        (lambda: replace(BALANCED, running=5.0), "Spool: running is 5 N; allowed is at most breakaway, 4 N."),
        (lambda: StickSlip(4e-3, 2.0, 3.0, 1e5, 1e-3), "StickSlip: running is 3 N; allowed is at most breakaway, 2 N."),
        (lambda: PILOTED.opening_time(-1e5), "pressure_drop is -100000 Pa"),
    ],
)
def test_bad_input_is_one_sentence(make, told):
    with pytest.raises(ValueError) as raised:
        make()
    assert told in str(raised.value)
