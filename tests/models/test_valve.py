"""Forces on valves against Merritt's factors, unit identities and the equation of motion."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from helpers.models import jets
from helpers.models.actuators import Solenoid
from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.orifice import BAR, SHARP_EDGED, hole
from helpers.models.valve import (
    BALANCED,
    DIRECTED,
    FOLLOWING,
    INWARD_PILOT,
    INWARD_POPPET,
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


# --- direction of flow -------------------------------------------------------------------------------------------


@given(lifts, pressures, st.floats(0.3, 1.5))
def test_spool_closes_either_way(lift, drop, angle):
    # Merritt (1967), chapter 5 (from memory): the jet's force closes whether the oil flows out of the chamber or in.
    one, other = (jets.along_spool(BALANCED.opening_area(lift), sign * drop, angle) for sign in (1.0, -1.0))
    assert one == other <= 0.0
    turned = replace(BALANCED, direction="outward")
    back = turned.forces(lift, -drop)
    assert back.flow == pytest.approx(BALANCED.forces(lift, drop).flow, rel=1e-12, abs=1e-12)
    assert back.pressure == pytest.approx(-BALANCED.forces(lift, drop).pressure, rel=1e-12)


@given(st.floats(1e-6, 0.1), st.floats(1e5, 2e7))
def test_outward_over_a_flat_face_is_merritt_s_flapper(gap_over_diameter, drop):
    # Merritt (1967), chapter 5 (from memory), nozzle and flapper: F = p A (1 + 16 Cd^2 x^2/D^2), p in the chamber.
    diameter = 2e-3
    area, opening = math.pi / 4 * diameter**2, math.pi * diameter**2 * gap_over_diameter
    force = drop * area + jets.outward(opening, drop, math.pi / 2, area)
    assert force == pytest.approx(drop * area * (1.0 + 16.0 * SHARP_EDGED**2 * gap_over_diameter**2), rel=1e-9)


def test_outward_over_a_cone_falls_below_the_static_force():
    # Textbooks on fluid power: outward, a cone's jet takes rho Q v cos(angle) off the static force that opens it.
    outward = replace(POPPET, direction="outward", unbalanced=-1.0).forces(np.array([0.0, 1e-3]), 37 * BAR)
    static = 37e5 * POPPET.area
    jet = 2 * SHARP_EDGED * 0.98 * math.pi * 8e-3 * math.sin(math.pi / 4) * 1e-3 * 37e5 * math.cos(math.pi / 4)
    assert outward.pressure == pytest.approx(static, rel=1e-12)
    came = MINERAL.density * POPPET.flow(1e-3, 37 * BAR, replace(MINERAL, viscosity=1e-5)) ** 2 / (2 * POPPET.area)
    assert outward.flow[1] == pytest.approx(came - jet, rel=1e-3)
    assert outward.flow[1] < 0.0 < outward.pressure[1] + outward.flow[1]


@given(st.floats(1e-5, 1e-3), pressures, st.floats(0.3, 1.5))
def test_inward_by_a_second_control_volume(lift, drop, angle):
    # The bore as far down as the jet has mixed, Borda and Carnot: the pressure there is higher by rho Q (v - u)/A, and
    # beside it the textbooks' rho Q v cos(angle) closes, less rho Q u of what flows off. The force is the same.
    cone = replace(INWARD_POPPET, cone=angle)
    opening = cone.opening_area(lift)
    jet = float(jets.thrust(opening, drop))
    # rho Q u with u = Q/A: Q^2 = (rho Q v)^2/(rho v)^2
    speed = 0.98 * math.sqrt(2 * drop / MINERAL.density)
    passed = jet / (MINERAL.density * speed)
    away = MINERAL.density * passed**2 / cone.area
    mixed = -(drop - (jet - away) / cone.area) * cone.area - jet * math.cos(angle) + away
    forces = cone.forces(lift, drop)
    assert float(forces.pressure + forces.flow) == pytest.approx(mixed, rel=1e-9)
    assert forces.flow >= 0.0


def test_inward_closes_with_at_most_the_static_force():
    # Found by another's model: 194 N to start and less from there, where the page adds to 252 N; a coil of 50 W opens
    # it all the way not only up to 19.6 bar but to 25.4 without any jet, the spring being stronger when open. The jet
    # turned by the tip outweighs the spring: 25.8, where it starts.
    lift = np.linspace(0.0, 1e-3, 21)
    page, inward = POPPET.forces(lift, 37 * BAR), INWARD_POPPET.forces(lift, 37 * BAR)
    assert (page.to_open[0], page.to_open[-1]) == pytest.approx((194.0, 251.7), abs=0.05)
    assert inward.to_open[0] == page.to_open[0] and np.all(np.diff(inward.to_open) < 0.0)
    coil = Solenoid()
    pull = coil.force(coil.coil * math.sqrt(50.0), coil.rest_gap + 1e-3 - lift)

    def highest(to_open):
        without, at_one = to_open(0.0), to_open(1.0)
        return float(np.min((pull - without) / (at_one - without)))

    assert highest(lambda bar: POPPET.forces(lift, bar * BAR).to_open) == pytest.approx(19.6, abs=0.05)
    still = highest(lambda bar: (f := POPPET.forces(lift, bar * BAR)).to_open + f.flow)
    assert still == pytest.approx(25.4, abs=0.05)
    assert highest(lambda bar: INWARD_POPPET.forces(lift, bar * BAR).to_open) == pytest.approx(25.8, abs=0.05)


@given(st.sampled_from([INWARD_POPPET, INWARD_PILOT, DIRECTED.main]), st.floats(1e-6, 1.0), pressures)
def test_reversed_flow(valve, share, drop):
    # In rebound the drop changes sign: the cone is what the other direction makes of it, the pressure's push turned.
    turned = replace(valve, direction={"inward": "outward", "outward": "inward"}[valve.direction], unbalanced=-1.0)
    back, other = (each.forces(share * valve.stroke, sign * drop, 0.1) for each, sign in ((valve, -1), (turned, 1)))
    assert back.flow == pytest.approx(float(other.flow), rel=1e-12, abs=1e-12)
    assert back.pressure == pytest.approx(float(other.pressure), rel=1e-12)
    assert back.transient == pytest.approx(-float(other.transient), rel=1e-12, abs=1e-12)  # the column flows back
    assert valve.flow(share * valve.stroke, -drop) == -valve.flow(share * valve.stroke, drop)


def test_directions_and_the_piloted_valve():
    # The main cone's jet closes on the page already; what comes up the bore takes a sixth of it back.
    page, directed = (each.main.forces(1e-3, 37 * BAR) for each in (PILOTED, DIRECTED))
    assert 0.8 < directed.flow / page.flow < 0.9
    assert DIRECTED.opening_time(37 * BAR) == pytest.approx(PILOTED.opening_time(37 * BAR), rel=0.03)
    assert PILOTED.opening_time(3.4 * BAR) == math.inf > PILOTED.opening_time(3.5 * BAR)
    assert POPPET.area_gradient == pytest.approx(math.pi * 8e-3 * math.sqrt(0.5), rel=1e-12)  # not the circumference


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
        (lambda: replace(POPPET, direction="up"), "poppet: direction is 'up'; allowed are None, inward, outward."),
        (lambda: INWARD_POPPET.forces(0.0, -2e8), "pressure_drop is -200000000 Pa; allowed is -1e+08 to 1e+08 Pa."),
        (lambda: replace(BALANCED, running=5.0), "Spool: running is 5 N; allowed is at most breakaway, 4 N."),
        (lambda: StickSlip(4e-3, 2.0, 3.0, 1e5, 1e-3), "StickSlip: running is 3 N; allowed is at most breakaway, 2 N."),
        (lambda: PILOTED.opening_time(-1e5), "pressure_drop is -100000 Pa"),
        (lambda: DIRECTED.opening_time(-1e5), "poppet: pressure_drop is -100000 Pa; allowed is 0 to 1e+08 Pa."),
    ],
)
def test_bad_input_is_one_sentence(make, told):
    with pytest.raises(ValueError) as raised:
        make()
    assert told in str(raised.value)
