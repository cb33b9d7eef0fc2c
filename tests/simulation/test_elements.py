"""What yields, sticks and strikes, against closed forms, an integration of the equations, the balance of energy."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import expm
from yielding_reference import EdgePath, PolylinePath, felt, integrate

from fleet import FLEET, TRAIL_BIKE
from helpers.control.laws import ActiveSkyhook, LinearSkyhook, Passive, TwoStateSkyhook
from helpers.control.mode_switch import ModeSwitch
from helpers.control.timing import Timing
from helpers.models.dampers import DamperCurve, Side
from helpers.models.terrain import iso_8608, step
from helpers.models.vehicles import Vehicle
from helpers.simulation.batch import Ride, ride_abreast
from helpers.simulation.elements import (
    dragged,
    packed_friction,
    packed_series,
    rubbed,
    squeezed,
    yielded,
    yielded_abreast,
)
from helpers.simulation.runs import ride, simulate

NEW = TRAIL_BIKE.changed(
    damper_stiffness=8e5, seal_stretch=5e-4, tyre_travel=0.03, rim_rate=4e5, tyre_friction=30.0, tyre_stretch=0.004
)
RIGID, PLAIN = math.inf, {"friction": 0.0, "gas_column": math.inf, "stop_rate": 0.0}

# --- series stiffness -----------------------------------------------------------------------------------------------


def sides():
    slope = st.floats(0.0, 10_000.0)
    return st.builds(Side, slope, slope, st.floats(0.01, 2.0))


@given(
    st.builds(DamperCurve, sides(), sides()), st.builds(DamperCurve, sides(), sides()), st.floats(0.0, 1.0),
    st.floats(1e4, 1e9), st.floats(1e-6, 1e-3), st.floats(-0.01, 0.01),
)  # fmt: skip
def test_a_stage_of_a_damper_that_yields_solves_its_equation(soft, firm, valve, stiffness, share, reached):
    vehicle = TRAIL_BIKE.changed(open_curve=soft, lockout_curve=firm, damper_stiffness=stiffness)
    force, speed = yielded(packed_series(vehicle), valve, reached, share)
    assert (force, speed) == yielded_abreast(packed_series(vehicle), valve, reached, share)
    on_the_curve = (1.0 - valve) * soft.force(speed) + valve * firm.force(speed)
    assert force == pytest.approx(on_the_curve, rel=1e-9, abs=1e-9 * stiffness * abs(reached))
    assert share * speed + force / stiffness == pytest.approx(reached, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("stiffness", [3e4, 3e5, 3e6])
def test_response_of_a_maxwell_element_to_a_ramp(stiffness):
    """Spring and damper in series, drawn apart at a steady speed: F = c v (1 - exp(-K t / c)), any textbook.

    Masses so heavy that the speed stays: 3 N for 5 ms change it by 3 parts in 10 000.
    """
    damping, speed = 30.0, 0.1
    heavy = Vehicle(
        "heavy", 5000.0, 500.0, 500.0, 5000.0, damping, bump_travel=1.0, rebound_travel=1.0, damper_stiffness=stiffness
    )
    run = simulate(heavy, np.zeros_like, 5e-3, start=(0.0, speed, 0.0, 0.0), longest_step=1e-6, log_step=1e-5)
    exact = damping * speed * (1.0 - np.exp(-stiffness * run.time / damping))
    np.testing.assert_allclose(run.damper_force, exact, rtol=0, atol=1e-3 * damping * speed)


@pytest.mark.parametrize("damping", [112.0, 500.0, 6000.0])
@pytest.mark.parametrize("stiffness", [3e5, 8e5, 3e6, 3e7])
def test_a_linear_car_with_a_damper_that_yields_is_a_matrix_exponential(damping, stiffness):
    """Five states, heights and speeds and the force, at the default step: up to 67 times its force's own rate."""
    car = TRAIL_BIKE.plain(damping).changed(damper_stiffness=stiffness, **PLAIN)
    ms, mu, ks, kt = car.body_mass, car.wheel_mass, car.spring_rate, car.tyre_rate
    rates = np.array([
        [0, 1, 0, 0, 0], [-ks / ms, 0, ks / ms, 0, -1 / ms], [0, 0, 0, 1, 0],
        [ks / mu, 0, -(ks + kt) / mu, 0, 1 / mu], [0, stiffness, 0, -stiffness, -stiffness / damping],
    ])  # fmt: skip
    start = (0.004, 0.0, -0.002, 0.1)  # the tyre stays on the ground
    run = simulate(car, np.zeros_like, 0.3, start=start)
    onward, exact = expm(rates * run.time[1]), [np.array([*start, 0.0])]
    for _ in run.time[1:]:
        exact.append(onward @ exact[-1])
    exact = np.array(exact)
    np.testing.assert_allclose(run.travel, exact[:, 0] - exact[:, 2], rtol=0, atol=1e-3 * np.ptp(run.travel))
    settled = run.time > 0.004  # a first jump of the force within a step is not resolved
    within = 5e-3 * np.abs(exact[:, 4]).max()
    np.testing.assert_allclose(run.damper_force[settled], exact[settled, 4], rtol=0, atol=within)


def test_a_very_stiff_damper_is_a_rigid_one():
    ground = iso_8608("C", 30.0, seed=3)
    law, chain = TwoStateSkyhook(), Timing(sample_rate=1000.0, compute=0.002, valve_time_constant=0.002)
    one, other = (
        ride(TRAIL_BIKE.changed(damper_stiffness=stiffness), ground, 6.0, law, chain) for stiffness in (1e12, RIGID)
    )
    for name in ("damper_heat", "friction_heat", "ground_work"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-4), name
    np.testing.assert_allclose(one.travel, other.travel, rtol=0, atol=2e-5)


# --- seals, tyre, rim -----------------------------------------------------------------------------------------------


def slow(amplitude, seconds=4.0):
    """A push in N that swells from nothing, so gently that nothing rings."""
    return lambda time: 0.5 * amplitude * (1.0 - np.cos(2.0 * np.pi * time / seconds))


@pytest.mark.parametrize("share", [0.5, 0.95])
def test_a_slow_push_below_friction_holds_the_suspension_and_makes_no_heat(share):
    """A block held by friction stays: the travel is that of spring and seal in parallel, and comes back."""
    car = NEW.changed(tyre_friction=0.0, gas_column=math.inf, friction=25.0)
    seal = car.friction / car.seal_stretch
    run = simulate(car, np.zeros_like, 8.0, push_at=slow(share * car.friction))
    held = share * car.friction / (car.spring_rate + seal)
    assert np.abs(run.travel).max() == pytest.approx(held, rel=0.02)
    assert abs(run.travel[-1]) < 0.02 * held
    assert abs(run.friction_heat) < 1e-3 * 4.0 * car.friction * held
    creeping = simulate(car.changed(seal_stretch=0.0), np.zeros_like, 8.0, push_at=slow(share * car.friction))
    spring = share * car.friction / car.spring_rate  # what smooth friction, which cannot hold, leaves to it
    assert np.abs(creeping.travel).max() == pytest.approx(spring, rel=0.05)


def test_area_of_a_friction_loop():
    """4 F (X - x) a cycle of amplitude X, for a block that slides at F after a stretch of x (any textbook)."""
    most, stretch, amplitude = 20.0, 0.002, 0.01
    way = amplitude * np.cos(np.linspace(0.0, 4.0 * np.pi, 4001))
    force, forces = most, [most]
    for before, after in pairwise(way):
        force = dragged(force, most / stretch, after - before, most)
        forces.append(force)
    loop = np.trapezoid(forces[2000:], way[2000:])
    assert loop == pytest.approx(4.0 * most * (amplitude - stretch), rel=1e-4)


def test_heat_of_a_tyre_that_rolls_over_waves():
    """The same area of the tyre's loop at each wave, as heat and as work."""
    car = NEW.changed(wheel_mass=20.0, friction=0.0, seal_stretch=0.0, damper_stiffness=math.inf)
    friction = packed_friction(car)
    way = 0.006 * np.sin(np.linspace(0.0, 20.0 * np.pi, 20_001))
    rubber, heat, work = 0.0, [0.0], [0.0]
    for before, after in pairwise(way):
        pressed, held = squeezed(friction, rubber, before, after), rubber
        rubber, warmed = rubbed(friction, car.tyre_rate, car.static_load, rubber, before, after)
        assert pressed == rubber  # no rim as yet
        heat.append(heat[-1] + warmed)
        work.append(work[-1] + 0.5 * (held + rubber) * (after - before))
    cycle = 4.0 * car.tyre_friction * (0.006 - car.tyre_stretch)
    assert heat[-1] - heat[2000] == pytest.approx(9.0 * cycle, rel=1e-3)
    assert work[-1] - work[2000] == pytest.approx(9.0 * cycle, rel=1e-3)


def test_a_rim_carries_what_the_tyre_does_not():
    """Statics: under a load P more than its own the tyre sinks by d with k d + k_r (d - x_t) = P."""
    car = NEW.changed(bump_travel=0.5, rebound_travel=0.5, gas_column=math.inf, spring_rate=1e5, tyre_friction=0.0)
    push = 4000.0
    run = simulate(car.plain(6000.0), np.zeros_like, 20.0, push_at=lambda time: -push * np.minimum(time / 15.0, 1.0))
    sunk = (push + car.rim_rate * car.tyre_travel) / (car.tyre_rate + car.rim_rate)
    assert sunk > car.tyre_travel
    assert -run.wheel_height[-1] == pytest.approx(sunk, rel=1e-3)
    assert run.contact_load[-1] == pytest.approx(car.static_load + push, rel=1e-3)


def test_a_tyre_in_the_air_neither_pulls_nor_heats():
    car = NEW.changed(friction=0.0, seal_stretch=0.0)
    lifted = simulate(car, np.zeros_like, 0.25, start=(0.4, 0.0, 0.4, 0.0))
    air = lifted.contact_load == 0.0
    assert lifted.contact_load.min() == 0.0
    assert air[lifted.time < 0.2].all()
    assert abs(lifted.tyre_heat) <= car.tyre_friction * car.static_load / car.tyre_rate  # at most as it was let go
    flying = simulate(car, np.zeros_like, 0.2, start=(0.4, 0.0, 0.4, 0.0))
    assert flying.ground_work == 0.0


# --- against a stiff integration --------------------------------------------------------------------------------------

CONTACT, OVER = 0.0501, 0.3  # s; between two time steps
EDGE = EdgePath(TRAIL_BIKE.wheel_radius, 0.05, 3.0, CONTACT)


def same(run, reference, contact=None):
    """Peaks, heats and work to 0.5 %, and the time at which 40 m/s2 is felt to 0.5 % of it or 10 microseconds."""
    for name in ("wheel_acceleration", "body_acceleration", "damper_force", "contact_load", "travel"):
        ours, theirs = (np.abs(getattr(one, name)).max() for one in (run, reference))
        assert ours == pytest.approx(theirs, rel=5e-3), name
    for name in ("damper_heat", "friction_heat", "tyre_heat", "ground_work"):
        assert getattr(run, name) == pytest.approx(getattr(reference, name), rel=5e-3), name
    if contact is not None:
        ours, theirs = felt(run, 40.0) - contact, felt(reference, 40.0) - contact
        assert ours == pytest.approx(theirs, rel=5e-3, abs=1e-5)


@pytest.mark.parametrize("setting", [0.0, 0.5, 1.0], ids=["open", "half", "locked"])
@pytest.mark.parametrize("stiffness", [RIGID, 3e6, 8e5, 3e5])
def test_a_step_against_a_stiff_integration(stiffness, setting):
    """The bike up 50 mm at 3 m/s on the exact path of its wheel, at the default time step."""
    car = NEW.changed(damper_stiffness=stiffness)
    run = simulate(car, EDGE, OVER, Passive(setting), log_step=2.5e-4)
    same(run, integrate(car, setting, EDGE, OVER, 6001), CONTACT)


@pytest.mark.parametrize(
    ("height", "stiffness", "told", "apart"),
    [(0.05, RIGID, 8.2, 0.05), (0.05, 3e6, 1.8, 0.1), (0.05, 8e5, 1.3, 0.1), (0.02, RIGID, math.nan, 0.0),
     (0.02, 8e5, 2.9, 0.2)],
)  # fmt: skip
def test_when_a_locked_wheel_feels_a_step(height, stiffness, told, apart):
    """Another's model of the bike without sticking friction, to the two digits and the instant of contact it tells."""
    path = EdgePath(TRAIL_BIKE.wheel_radius, height, 3.0, CONTACT)
    run = simulate(TRAIL_BIKE.changed(damper_stiffness=stiffness), path, OVER, Passive(1.0), log_step=2.5e-4)
    assert 1e3 * (felt(run, 40.0) - CONTACT) == pytest.approx(told, abs=apart, nan_ok=True)


@pytest.mark.parametrize("setting", [0.0, 1.0], ids=["open", "locked"])
def test_rough_ground_against_a_stiff_integration(setting):
    ground = PolylinePath.of(iso_8608("D", 5.0, seed=1), 6.0, 0.6)
    run = simulate(NEW, ground, 0.6, Passive(setting), log_step=2.5e-4)
    same(run, integrate(NEW, setting, ground, 0.6, 2401))


# --- the two forms ----------------------------------------------------------------------------------------------------

CHAINS = [
    Timing.ideal(),
    Timing(sample_rate=1000.0, compute=0.002, bus=0.001, valve_time_constant=0.002),
    Timing(sample_rate=250.0, compute=0.005),
    Timing(sample_rate=500.0, sensor_filter=40.0, jitter=0.006, valve_dead_time=0.004),
]
LAWS = [Passive(0.3), TwoStateSkyhook(), LinearSkyhook(1500.0), ActiveSkyhook(1500.0, 400.0), ModeSwitch()]
GROUND = iso_8608("D", 12.0, seed=1).plus(step(0.05, 1.0, 11.0))


def alone(one):
    return ride(one.vehicle, one.profile, one.speed, one.law, one.timing, one.push_at)


def check_abreast(rides):
    """Every number of every ride as `runs.ride` has it: nearly to the last bit, since no decision differs."""
    for one, run in zip(rides, ride_abreast(rides, keep_states=True).runs, strict=True):
        single = alone(one)
        assert run.commands == single.commands
        for name in ("travel", "body_acceleration", "wheel_acceleration", "valve", "damper_force", "damper_speed",
                     "contact_load", "actuator_force"):  # fmt: skip
            ours, theirs = getattr(run, name), getattr(single, name)
            scale = max(np.abs(theirs).max(), 1e-3)
            np.testing.assert_allclose(ours, theirs, rtol=0, atol=1e-9 * scale, err_msg=name)
        for name in ("damper_heat", "friction_heat", "tyre_heat", "ground_work", "actuator_work", "actuator_supply",
                     "stored"):  # fmt: skip
            assert getattr(run, name) == pytest.approx(getattr(single, name), rel=1e-9, abs=1e-9), name


@pytest.mark.parametrize("stiffness", [RIGID, 8e5])
def test_side_by_side(stiffness):
    """All elements, some and none in one batch (a damper that yields steps otherwise, so all do or none)."""
    kinds = [NEW, NEW.changed(friction=0.0), NEW.changed(tyre_friction=0.0), TRAIL_BIKE]
    vehicles = [kind.changed(damper_stiffness=stiffness) for kind in kinds]
    rides = [Ride(vehicles[k % 4], GROUND, 6.0, law, chain) for k, law in enumerate(LAWS) for chain in CHAINS]
    check_abreast(rides)


def test_a_rigid_vehicle_is_the_same_beside_one_that_sticks():
    """Bit for bit: what it has not adds nothing."""
    one, other = Ride(TRAIL_BIKE, GROUND, 6.0), Ride(NEW.changed(damper_stiffness=RIGID), GROUND, 6.0)
    np.testing.assert_array_equal(ride_abreast([one, other]).values[0], ride_abreast([one]).values[0])


def test_dampers_that_yield_are_not_stepped_beside_rigid_ones():
    with pytest.raises(ValueError, match="not every damper yields; allowed are alike ones."):
        ride_abreast([Ride(TRAIL_BIKE, GROUND, 6.0), Ride(NEW, GROUND, 6.0)])


# --- energy -----------------------------------------------------------------------------------------------------------


def kept(run):
    """Energy in J in masses, spring, stops, tyre, rim and weight, at start and end of a ride that ends on the ground.

    Spring: the integral of k x / (1 - x/L) is k L^2 (-ln(1 - x/L) - x/L) for a compression x and a column L.
    """
    q = run.vehicle
    found = []
    for k in (0, -1):
        squeeze, pressed = -run.travel[k], run.road[k] - run.wheel_height[k]
        share = squeeze / q.gas_column
        spring = 0.5 * q.spring_rate * squeeze**2
        if share != 0.0:
            spring = q.spring_rate * q.gas_column**2 * (-math.log1p(-share) - share)
        beyond = max(squeeze - q.bump_travel, 0.0) + max(-squeeze - q.rebound_travel, 0.0)
        found.append(
            0.5 * q.body_mass * run.body_velocity[k] ** 2 + 0.5 * q.wheel_mass * run.wheel_velocity[k] ** 2
            + spring + 0.5 * q.stop_rate * beyond**2 + 0.5 * q.tyre_rate * pressed**2
            + q.static_load * run.road[k]  # of both masses, the preloads of spring and tyre counted
            + 0.5 * q.rim_rate * max(pressed - q.tyre_travel, 0.0) ** 2
        )  # fmt: skip
    return found


def check_balance(run, within=1e-3):
    """What ground and actuator put in is heat or stored, but for a share `within` of all that went through."""
    start, end = kept(run)
    heat = run.damper_heat + run.friction_heat + run.tyre_heat
    through = abs(run.ground_work) + heat + run.actuator_supply
    left = run.ground_work + run.actuator_work - heat - (end - start) - run.stored
    assert left == pytest.approx(0.0, abs=within * through)
    assert min(run.damper_heat, run.friction_heat, run.tyre_heat) >= -1e-6 * through


@st.composite
def vehicles(draw, stiffness):
    machine = draw(st.sampled_from(list(FLEET.values())))
    share = st.floats(0.3, 3.0)
    return machine.changed(
        damper_stiffness=stiffness, seal_stretch=draw(st.floats(1e-4, 3e-3)), friction=draw(st.floats(0.0, 60.0)),
        tyre_travel=draw(st.floats(0.01, 0.04)), rim_rate=draw(st.floats(0.0, 6e5)),
        tyre_friction=draw(st.floats(0.0, 60.0)), tyre_stretch=draw(st.floats(1e-3, 0.01)),
        spring_rate=machine.spring_rate * draw(st.floats(0.5, 2.0)), wheel_mass=machine.wheel_mass * draw(share),
        body_mass=machine.body_mass * draw(share),
    )  # fmt: skip


@st.composite
def batches(draw):
    """Rides on rough ground with a step, hard enough for air, stops and rim, with dampers that yield or not."""
    stiffness = draw(st.sampled_from([RIGID, 3e5, 8e5, 3e6, 3e7]))
    ground = iso_8608(draw(st.sampled_from("BCD")), 16.0, seed=draw(st.integers(0, 99)))
    ground = ground.plus(step(draw(st.floats(-0.08, 0.08)), 1.0, 10.0), at=4.0)
    law, chain = st.sampled_from(LAWS[1:]), st.sampled_from(CHAINS[1:3])
    setting = st.floats(0.0, 1.0).map(Passive)
    return [
        Ride(draw(vehicles(stiffness)), ground, draw(st.floats(2.0, 14.0)), draw(st.one_of(law, setting)), draw(chain))
        for _ in range(draw(st.integers(1, 6)))
    ]


@settings(max_examples=30)
@given(batches())
def test_energy_balances_in_both_forms(rides):
    alike = [one for one in rides if one.alike[0] == rides[0].alike[0]]  # others need other steps
    outcome = ride_abreast(alike, keep_states=True)
    for one, run in zip(alike, outcome.runs, strict=True):
        for each in (run, alone(one)):
            if each.contact_load[-1] > 0.0 and -each.travel.min() < 0.9 * one.vehicle.gas_column:
                check_balance(each)


@pytest.mark.parametrize("law", [Passive(0.7), ActiveSkyhook(1500.0, 400.0)], ids=["passive", "active"])
def test_what_the_balance_lacks_is_the_length_of_the_step(law):
    ground = iso_8608("D", 16.0, seed=7).plus(step(0.06, 1.0, 10.0), at=4.0)
    check_balance(ride(NEW, ground, 9.0, law, CHAINS[1]), 1e-4)
    check_balance(ride(NEW, ground, 9.0, law, CHAINS[1], longest_step=2.5e-5), 1e-6)


def test_friction_too_small_for_a_number_is_none():
    ground = iso_8608("D", 8.0, seed=7)
    least = NEW.changed(tyre_friction=5e-324, friction=5e-324)
    run, without = (ride(vehicle, ground, 5.0) for vehicle in (least, NEW.changed(tyre_friction=0.0, friction=0.0)))
    assert np.isfinite([run.tyre_heat, run.friction_heat, run.stored]).all()
    assert np.array_equal(run.travel, without.travel)
