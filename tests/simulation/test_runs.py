"""Rides: nothing allowed gives a NaN or flies off, what is not allowed is told in one sentence, results are whole."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet import FLEET, REFERENCE, TRAIL_BIKE
from helpers.control.laws import ActiveSkyhook, LinearSkyhook, Passive, TwoStateSkyhook
from helpers.control.mode_switch import ModeSwitch
from helpers.control.timing import Timing
from helpers.models.dampers import DamperCurve, Side
from helpers.models.terrain import fell_loop, flat, iso_8608, step
from helpers.models.vehicles import GRAVITY, Vehicle
from helpers.simulation.kernel import FRICTION_SMOOTHING
from helpers.simulation.runs import (
    LONGEST_STEP,
    SHORTEST_STEP,
    STEP_TIMES_RATE,
    fastest_rate,
    ride,
    ride_section,
    simulate,
)


def spread(low, high):
    """Numbers from low to high, even on a logarithmic scale, both ends included."""
    powers = st.floats(math.log(low), math.log(high)).map(lambda power: min(max(math.exp(power), low), high))
    return st.one_of(st.sampled_from([low, high]), powers)


def whole(low, high):
    """Numbers from 0 or low to high."""
    return st.one_of(st.just(0.0), spread(low, high))


sides = st.builds(Side, whole(1.0, 50_000.0), whole(1.0, 50_000.0), spread(0.005, 10.0))
curves = st.builds(DamperCurve, sides, sides, st.booleans())


@st.composite
def vehicles(draw):
    """Any vehicle that `Vehicle` allows."""
    bump = draw(spread(0.01, 1.0))
    return Vehicle(
        "any", draw(spread(1.0, 5000.0)), draw(spread(0.2, 500.0)), draw(spread(500.0, 500_000.0)),
        draw(spread(5_000.0, 2_000_000.0)), 0.0, bump_travel=bump, rebound_travel=draw(spread(0.01, 1.0)),
        stop_rate=draw(whole(1e3, 5e6)), friction=draw(whole(1.0, 2000.0)),
        gas_column=draw(st.one_of(st.just(math.inf), spread(max(1.01 * bump, 0.02), 3.0))), open_curve=draw(curves),
        lockout_curve=draw(curves),
    )  # fmt: skip


settings_of_valve = st.floats(0.0, 1.0)
valve_laws = st.one_of(
    st.builds(Passive, settings_of_valve),
    st.builds(TwoStateSkyhook, settings_of_valve, settings_of_valve),
    st.builds(LinearSkyhook, whole(1.0, 1e5)),
    st.builds(ModeSwitch, whole(1.0, 5000.0), whole(1e-3, 60.0), settings_of_valve, settings_of_valve),
)
timings = st.builds(
    Timing, st.one_of(st.just(math.inf), spread(1.0, 20_000.0)), st.one_of(st.just(math.inf), spread(0.5, 500.0)),
    whole(1e-4, 1.0), whole(1e-4, 1.0), whole(1e-4, 1.0), whole(1e-4, 1.0), whole(1e-4, 1.0),
)  # fmt: skip


def rough(time):
    """A hard road: a step of 100 mm, then waves and steps."""
    return 0.1 * (time > 0.005) + 0.05 * np.sin(60.0 * time) * (time > 0.01) - 0.1 * (time > 0.04)


@settings(max_examples=150, deadline=None)
@given(vehicle=vehicles(), law=valve_laws, timing=timings)
def test_no_allowed_vehicle_valve_and_timing_gives_a_nan_or_flies_off(vehicle, law, timing):
    needed = STEP_TIMES_RATE / fastest_rate(vehicle)
    duration = min(0.1, 60_000 * min(needed, LONGEST_STEP))
    run = simulate(vehicle, rough, duration, law, timing, log_step=1e-6)
    for name in ("body_height", "body_velocity", "wheel_height", "wheel_velocity", "body_acceleration", "valve"):
        assert np.isfinite(getattr(run, name)).all(), name
    assert np.isfinite([run.damper_heat, run.friction_heat, run.actuator_work, run.actuator_supply]).all()
    assert np.all((run.valve >= -1e-12) & (run.valve <= 1.0 + 1e-12))
    assert run.contact_load.min() >= 0.0
    # What moves the masses came over the tyre: pressed by at most the heights' range beyond rest at any time, it can
    # give the wheel no more than the energy of that compression at each of the road's few turns.
    weight, turns = vehicle.static_load, 6
    most = turns * 0.5 * vehicle.tyre_rate * (weight / vehicle.tyre_rate + 0.4) ** 2 + weight * 1.0
    masses = np.array([[vehicle.body_mass], [vehicle.wheel_mass]])
    kinetic = 0.5 * masses * np.array([run.body_velocity, run.wheel_velocity]) ** 2
    assert kinetic.sum(axis=0).max() < most


@settings(max_examples=60, deadline=None)
@given(vehicle=vehicles(), setting=settings_of_valve)
def test_left_alone_any_vehicle_loses_energy(vehicle, setting):
    """Dropped on level ground, the body never rises above where it started: neither damper nor stepper feeds it."""
    needed = STEP_TIMES_RATE / fastest_rate(vehicle)
    duration = min(0.3, 60_000 * min(needed, LONGEST_STEP))
    run = simulate(vehicle, np.zeros_like, duration, Passive(setting), start=(0.005, 0.0, 0.005, 0.0))
    start = 0.5 * vehicle.tyre_rate * 0.005**2
    kinetic = 0.5 * vehicle.body_mass * run.body_velocity**2 + 0.5 * vehicle.wheel_mass * run.wheel_velocity**2
    assert kinetic.max() <= start * (1.0 + 2e-2) + 1e-12


@settings(max_examples=100, deadline=None)
@given(vehicle=vehicles())
def test_fastest_rate_bounds_every_mode_of_the_linear_vehicle(vehicle):
    """Eigenvalues of the two equations of motion, for the open curve's slopes and the coil at rest."""
    bound = fastest_rate(vehicle)
    m, u, k, t = vehicle.body_mass, vehicle.wheel_mass, vehicle.spring_rate, vehicle.tyre_rate
    friction = 1.5 * vehicle.friction / FRICTION_SMOOTHING
    for side in (vehicle.open_curve.rebound, vehicle.lockout_curve.compression):
        for c in (side.low + friction, side.high):
            matrix = np.array([
                [0.0, 1.0, 0.0, 0.0], [-k / m, -c / m, k / m, c / m], [0.0, 0.0, 0.0, 1.0],
                [k / u, c / u, -(k + t) / u, -c / u],
            ])  # fmt: skip
            assert np.abs(np.linalg.eigvals(matrix)).max() <= bound * (1.0 + 1e-6)


def test_the_quickest_vehicle_allowed_can_be_stepped_and_too_long_a_ride_is_told():
    side = Side(50_000.0, 50_000.0)
    quickest = Vehicle(
        "feather", 1.0, 0.2, 500_000.0, 2e6, 0.0, bump_travel=0.01, gas_column=0.02, stop_rate=5e6, friction=2000.0,
        lockout_curve=DamperCurve(side, side),
    )  # fmt: skip
    assert STEP_TIMES_RATE / fastest_rate(quickest) == pytest.approx(SHORTEST_STEP)
    run = simulate(quickest, lambda time: 0.01 * rough(time), 0.1, TwoStateSkyhook(), Timing(valve_time_constant=0.002))
    assert np.abs(run.body_height).max() < 0.1
    with pytest.raises(ValueError) as caught:
        simulate(quickest, np.zeros_like, 60.0)
    assert str(caught.value) == "simulate feather at steps of 1e-06 s: duration is 60 s; allowed is 0.001 to 10 s."


def test_an_actuator_that_comes_too_late_is_told_and_not_logged():
    """A strong velocity feedback with a delay of half a period of the wheel feeds the motion (textbook stability)."""
    late = Timing(sample_rate=100.0, compute=0.3)
    with pytest.raises(ValueError, match=r"simulate: trail bike is driven beyond 10000 m or m/s at .* s; allowed are"):
        simulate(TRAIL_BIKE, rough, 60.0, ActiveSkyhook(1e5), late)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"duration": 0.0}, "simulate trail bike at steps of 0.00025 s: duration is 0 s; allowed is 0.001 to 2500 s."),
        (
            {"duration": "long"},
            "simulate trail bike at steps of 0.00025 s: duration is 'long', which is not a number; "
            "allowed is 0.001 to 2500 s.",
        ),
        ({"longest_step": 0.01}, "simulate: longest_step is 0.01 s; allowed is 1e-06 to 0.001 s."),
    ],
)
def test_bad_values_are_named(options, words):
    duration = options.pop("duration", 1.0)
    with pytest.raises((ValueError, TypeError)) as caught:
        simulate(TRAIL_BIKE, np.zeros_like, duration, **options)
    assert str(caught.value) == words


def test_bad_speed_is_named():
    with pytest.raises(ValueError) as caught:
        ride(TRAIL_BIKE, flat(10.0), 0.0)
    assert str(caught.value) == "ride: speed is 0 m/s; allowed is 0.05 to 100 m/s."


# --- what a run holds ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("vehicle", [*FLEET.values(), REFERENCE], ids=lambda vehicle: vehicle.name)
def test_flat_ground_leaves_a_vehicle_at_rest(vehicle):
    run = ride(vehicle, flat(10.0), 5.0, TwoStateSkyhook())
    for name in ("body_height", "body_velocity", "wheel_height", "wheel_velocity", "body_acceleration", "travel"):
        assert not getattr(run, name).any()
    np.testing.assert_allclose(run.contact_load, (vehicle.body_mass + vehicle.wheel_mass) * GRAVITY)


def test_a_vehicle_thrown_up_falls_freely():
    """With the wheel off the ground, both masses together have the acceleration of free fall (ISO 80000-3)."""
    run = simulate(TRAIL_BIKE, np.zeros_like, 0.2, start=(0.5, 0.0, 0.5, 0.0))
    together = TRAIL_BIKE.body_mass * run.body_acceleration + TRAIL_BIKE.wheel_mass * run.wheel_acceleration
    in_air = run.contact_load == 0.0
    assert in_air.sum() > 150
    np.testing.assert_allclose(together[in_air] / (TRAIL_BIKE.body_mass + TRAIL_BIKE.wheel_mass), -GRAVITY, rtol=1e-12)


def test_a_step_ends_where_the_road_does():
    run = ride(REFERENCE, step(0.03, 2.0, 60.0), 5.0)
    assert run.body_height[-1] == pytest.approx(0.03, abs=1e-4)
    assert run.road[0] == 0.0
    assert run.road[-1] == pytest.approx(0.03)


def test_time_rate_and_duration_agree():
    run = ride(TRAIL_BIKE, flat(10.0), 4.0)
    assert run.time[0] == 0.0
    assert run.duration == pytest.approx(2.5, abs=1e-3)
    assert run.rate == pytest.approx(1000.0)
    assert {len(run.time)} == {len(getattr(run, name)) for name in ("road", "travel", "valve", "contact_load")}
    np.testing.assert_allclose(np.diff(run.time), 1e-3, rtol=1e-9)


def test_a_length_that_differs_in_the_ninth_digit_makes_no_ride_longer():
    rows = [len(simulate(TRAIL_BIKE, np.zeros_like, 20.0 * (1.0 + by)).time) for by in (-1e-9, 0.0, 1e-9)]
    assert rows == [20_001] * 3


def test_logged_velocity_and_acceleration_are_derivatives_of_the_log():
    run = simulate(TRAIL_BIKE, lambda time: 0.01 * np.sin(30.0 * time), 1.0, log_step=2.5e-4)
    slope = np.gradient(run.body_height, run.time, edge_order=2)
    np.testing.assert_allclose(slope, run.body_velocity, atol=2e-5)
    slope = np.gradient(run.wheel_velocity, run.time, edge_order=2)
    assert np.sqrt(np.mean((slope - run.wheel_acceleration) ** 2)) < 2e-2 * np.std(run.wheel_acceleration)


def test_the_fell_loop_is_pedalled_where_told():
    loop, bike = fell_loop(), TRAIL_BIKE
    climb = ride_section(bike, loop.section("climb"))
    coasted = ride_section(bike.changed(pedal_force=0.0), loop.section("climb"))
    assert not np.array_equal(climb.travel, coasted.travel)
    descent = loop.section("descent")
    run = ride_section(bike, descent)
    np.testing.assert_array_equal(run.travel, ride_section(bike.changed(pedal_force=0.0), descent).travel)
    assert run.duration == pytest.approx(descent.profile.length / bike.speed("descent"), abs=1e-3)


def test_the_same_ride_twice_is_the_same_to_the_last_bit():
    ground = iso_8608("D", 40.0, seed=2)
    one, two = (ride(TRAIL_BIKE, ground, 8.0, TwoStateSkyhook(), Timing(jitter=0.004), seed=7) for _ in range(2))
    np.testing.assert_array_equal(one.body_acceleration, two.body_acceleration)
    assert (one.damper_heat, one.commands) == (two.damper_heat, two.commands)
