"""The stepper against `solve_ivp` at a tight tolerance, closed forms, and the balance of energy."""

import math
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampled_reference import PolylineRoad, forces, integrate

from fleet import CARRIER, MOTORCYCLE, TRAIL_BIKE
from helpers.control.laws import (
    AccelerationDriven,
    ActiveSkyhook,
    ClippedOptimal,
    Groundhook,
    LinearSkyhook,
    Passive,
    StateFeedback,
    TwoStateSkyhook,
)
from helpers.control.mode_switch import ModeSwitch
from helpers.control.timing import Timing
from helpers.models.dampers import digressive, linear, two_slope
from helpers.models.terrain import iso_8608, step, washboard
from helpers.models.vehicles import GRAVITY, Vehicle
from helpers.simulation.kernel import accelerations, packed_vehicle
from helpers.simulation.runs import LONGEST_STEP, simulate

DURATION = 2.0  # s
DIFFERS = 1e-3  # of the valve's stroke: a decision that differs
GAINS = (-9000.0, 700.0, -4000.0, -80.0)
LAWS = [
    Passive(0.1), TwoStateSkyhook(), LinearSkyhook(1500.0), ActiveSkyhook(1500.0, 400.0), ModeSwitch(),
    TwoStateSkyhook(0.05, 0.4, dead_band=0.1, body_band=0.05), AccelerationDriven(0.0, 0.2, 0.05, 0.5),
    Groundhook(900.0), ClippedOptimal(*GAINS), StateFeedback(*GAINS, 600.0),
]  # fmt: skip
SAME_FOR = dict.fromkeys((LinearSkyhook, Groundhook, ClippedOptimal), 0.3)  # s
LAG = Timing(sample_rate=1000.0, compute=0.002, bus=0.001, valve_time_constant=0.002)
CHAINS = {
    "lag": LAG,
    "filter": Timing(sample_rate=500.0, sensor_filter=40.0, compute=0.0025, valve_time_constant=0.004),
    "no lag": Timing(sample_rate=250.0, compute=0.005),
}


@lru_cache
def road(name):
    """(road over time, vehicle that rides it): off the ground on all, for half the time on the washboard."""
    if name == "class D":
        vehicle, speed, profile = TRAIL_BIKE, 10.0, iso_8608("D", 40.0, seed=1)
    elif name == "steps":
        vehicle, speed = TRAIL_BIKE, 9.0
        profile = step(0.08, 3.0, 40.0).plus(step(-0.12, 11.0, 40.0)).under_wheel(vehicle.wheel_radius)
    else:
        vehicle, speed, profile = MOTORCYCLE, MOTORCYCLE.traverse_speed, washboard(0.03, 0.9, 40.0)
    return PolylineRoad(profile.distance / speed, profile.height - profile.height[0]), vehicle


def compared(name, law, timing):
    """(our run, the reference) on a road."""
    ground, vehicle = road(name)
    run = simulate(vehicle, ground, DURATION, law, timing, log_step=1.0 / timing.sample_rate)
    return run, integrate(vehicle, law, timing, ground, DURATION, LONGEST_STEP, rtol=1e-10)


def check(run, reference, shortest):
    """Travel to 1e-5 m up to the first differing decision, no sooner than `shortest` s; metrics to 0.5 % throughout."""
    np.testing.assert_allclose(run.time, reference.time, rtol=0, atol=1e-12)
    scale = max(np.abs(reference.actuator).max(), 1.0)
    differs = np.abs(run.valve - reference.valve) > DIFFERS
    differs |= np.abs(run.actuator_force - reference.actuator) > DIFFERS * scale
    same = int(np.argmax(differs)) if differs.any() else len(differs)
    assert run.time[same - 1] >= shortest
    np.testing.assert_allclose(run.travel[:same], reference.travel[:same], rtol=0, atol=1e-5)
    vehicle = run.vehicle
    their_load = np.maximum(vehicle.static_load + vehicle.tyre_rate * (run.road - reference.state[:, 2]), 0.0)
    for ours, theirs in (
        (np.std(run.body_acceleration), np.std(reference.body_acceleration)),
        (np.std(run.travel), np.std(reference.travel)),
        (np.std(run.contact_load), np.std(their_load)),
        (np.ptp(run.travel), np.ptp(reference.travel)),
        (run.damper_heat, reference.damper_heat),
        (run.friction_heat, reference.friction_heat),
    ):
        assert ours == pytest.approx(theirs, rel=5e-3)
    for ours, theirs in (
        (run.actuator_work, reference.actuator_work),
        (run.actuator_supply, reference.actuator_supply),
    ):
        assert ours == pytest.approx(theirs, rel=5e-3, abs=0.02)
    # A share of time is a count of logged points, of which one may fall to the other side.
    assert np.mean(run.contact_load == 0.0) == pytest.approx(np.mean(their_load == 0.0), abs=2.5 / len(run.time))


# Kinks (a sharp knee, a stop, the tyre's lift-off, the end of smooth friction) inside a step leave an error of the
# second order of the step, not the fourth; what limits the travel is friction, then the knees. A damper that follows
# a force divides by the reach of the valve, which vanishes with the relative velocity: there its decisions magnify
# errors. (0.3 mm/s off makes ten of the mixed law's 2000 decisions differ by 0.001 to 0.01.)
@pytest.mark.parametrize("law", LAWS, ids=lambda law: type(law).__name__)
@pytest.mark.parametrize("name", ["class D", "steps", "washboard"])
def test_against_solve_ivp(name, law):
    check(*compared(name, law, LAG), shortest=SAME_FOR.get(type(law), 1.9))


@pytest.mark.parametrize("chain", ["filter", "no lag"])
@pytest.mark.parametrize("law", [TwoStateSkyhook(), ModeSwitch(hold=0.1)], ids=lambda law: type(law).__name__)
def test_against_solve_ivp_with_filter_and_without_lag(law, chain):
    check(*compared("class D", law, CHAINS[chain]), shortest=1.0)


def test_a_washboard_beyond_the_course_needs_half_the_step():
    """A wheel in the air crosses smooth friction in one or two steps of 0.25 ms, which costs 5e-5 m; half is enough."""
    profile, law = washboard(0.05, 0.8, 40.0), TwoStateSkyhook()
    ground = PolylineRoad(profile.distance / 7.0, profile.height)
    theirs = integrate(MOTORCYCLE, law, LAG, ground, 1.2, LONGEST_STEP, rtol=1e-10).travel
    whole, half = (simulate(MOTORCYCLE, ground, 1.2, law, LAG, longest_step=h).travel for h in (2.5e-4, 1.25e-4))
    assert 1e-5 < np.abs(whole - theirs).max() < 1e-4
    assert np.abs(half - theirs).max() < 1e-5


def test_halving_the_step_of_a_smooth_ride_divides_the_error_by_sixteen():
    """Fourth order (Runge-Kutta; any textbook of numerical analysis) where nothing has a kink."""
    vehicle = TRAIL_BIKE.changed(friction=0.0, open_curve=linear(300.0), lockout_curve=linear(2000.0))

    def travel(longest_step):
        run = simulate(
            vehicle, lambda time: 0.01 * (1.0 - np.cos(40.0 * time)), 1.0, Passive(0.2), longest_step=longest_step,
            log_step=4e-3,
        )  # fmt: skip
        return run.travel

    exact = travel(2e-5)
    coarse, fine = (np.abs(travel(longest_step) - exact).max() for longest_step in (8e-4, 4e-4))
    assert 13.0 < coarse / fine < 19.0


CURVES = [
    (linear(200.0), linear(3000.0)),
    (two_slope(300.0, 150.0, 0.2, 1.5), two_slope(5000.0, 800.0, 0.1, 1.7)),
    (digressive(400.0, 0.3, 1.4), digressive(6000.0, 0.1, 1.5, 500.0)),
    (digressive(400.0, 0.3, 1.4), two_slope(5000.0, 800.0, 0.1, 0.8)),
]


@pytest.mark.parametrize("curves", CURVES, ids=["linear", "two slopes", "digressive", "mixed"])
def test_derivative_is_the_formula_written_out(curves):
    draw = np.random.default_rng(3)
    for _ in range(100):
        vehicle = Vehicle(
            "any", body_mass=draw.uniform(20, 500), wheel_mass=draw.uniform(1, 60), spring_rate=draw.uniform(5e3, 5e4),
            tyre_rate=draw.uniform(5e4, 3e5), damping=0.0, gas_column=draw.choice([math.inf, 0.15, 0.3]),
            friction=draw.uniform(0, 100), open_curve=curves[0], lockout_curve=curves[1],
        )  # fmt: skip
        body, body_speed, wheel, wheel_speed, ground = draw.uniform(-0.1, 0.1, 5) * [1.0, 20.0, 1.0, 20.0, 1.0]
        if draw.uniform() < 0.3:
            wheel_speed = body_speed + draw.uniform(-0.02, 0.02)  # within smooth friction
        valve, actuator, push = draw.uniform(), draw.uniform(-500, 500), draw.uniform(-200, 200)
        spring, damper, friction, tyre = forces(vehicle, body - wheel, body_speed - wheel_speed, wheel - ground, valve)
        found = accelerations(
            packed_vehicle(vehicle), curves[0].packed(), curves[1].packed(), body, body_speed, wheel, wheel_speed,
            ground, push, valve, actuator,
        )  # fmt: skip
        pull = spring + damper + friction - actuator
        size = abs(spring) + abs(damper) + abs(friction) + abs(actuator) + abs(push) + abs(tyre)
        assert found[0] * vehicle.body_mass == pytest.approx(push - pull, rel=0, abs=1e-12 * size)
        assert found[1] * vehicle.wheel_mass == pytest.approx(pull + tyre, rel=0, abs=1e-12 * size)
        assert found[2:] == pytest.approx((damper, friction), rel=1e-11)


# --- energy -------------------------------------------------------------------------------------------------------


def stored(vehicle, body_height, body_velocity, wheel_height, wheel_velocity, ground):
    """Energy in J, up to a constant, of masses, spring, stops and tyre; weight counts where the tyre lets go.

    Spring: the integral of k x / (1 - x/L) is k L^2 (-ln(1 - x/L) - x/L) for a compression x and a column L.
    """
    squeeze, column = wheel_height - body_height, vehicle.gas_column
    kinetic = 0.5 * vehicle.body_mass * body_velocity**2 + 0.5 * vehicle.wheel_mass * wheel_velocity**2
    if math.isinf(column):
        spring = 0.5 * vehicle.spring_rate * squeeze**2
    else:
        assert squeeze.max() < 0.95 * column
        spring = vehicle.spring_rate * column**2 * (-np.log1p(-squeeze / column) - squeeze / column)
    beyond = np.maximum(squeeze - vehicle.bump_travel, 0.0) + np.maximum(-squeeze - vehicle.rebound_travel, 0.0)
    # The tyre's whole compression against the ground, and the weight of both masses.
    weight = (vehicle.body_mass + vehicle.wheel_mass) * GRAVITY
    compressed = np.maximum(weight / vehicle.tyre_rate + ground - wheel_height, 0.0)
    stops, tyre = 0.5 * vehicle.stop_rate * beyond**2, 0.5 * vehicle.tyre_rate * compressed**2
    return kinetic + spring + stops + tyre + weight * wheel_height


def balance(run, push, ground_speed):
    """(what came in less what is stored and lost, what the largest of them is), J; the log must be fine."""
    vehicle, step_s = run.vehicle, run.time[1] - run.time[0]
    now = stored(vehicle, run.body_height, run.body_velocity, run.wheel_height, run.wheel_velocity, run.road)
    simpson = np.ones(len(run.time))
    simpson[1:-1:2], simpson[2:-1:2] = 4.0, 2.0
    simpson *= step_s / 3.0
    by_road = np.sum(simpson * run.contact_load * ground_speed(run.time))
    by_push = np.sum(simpson * push(run.time) * run.body_velocity)
    lost = run.damper_heat + run.friction_heat
    gained = now[-1] - now[0]
    total = by_road + by_push + run.actuator_work - gained - lost
    return total, max(abs(by_road), abs(by_push), abs(gained), lost, abs(run.actuator_work))


def heave(amplitude, rate):
    return (
        lambda time: amplitude * (1.0 - np.cos(rate * time)),
        lambda time: amplitude * rate * np.sin(rate * time),
    )


@pytest.mark.parametrize(
    ("vehicle", "law", "amplitude", "rate"),
    [
        (TRAIL_BIKE, Passive(0.05), 0.02, 12.0),
        (TRAIL_BIKE, TwoStateSkyhook(), 0.06, 25.0),
        (TRAIL_BIKE, ActiveSkyhook(1500.0, 500.0), 0.06, 25.0),
        (TRAIL_BIKE, StateFeedback(*GAINS), 0.06, 25.0),
        (TRAIL_BIKE, AccelerationDriven(0.0, 0.3), 0.06, 25.0),
        (MOTORCYCLE, LinearSkyhook(3000.0), 0.14, 13.0),
        (CARRIER, Passive(0.0), 0.09, 15.0),
    ],
)
def test_energy_balances_also_in_the_air_and_on_the_stops(vehicle, law, amplitude, rate):
    height, speed = heave(amplitude, rate)
    push = lambda time: 100.0 * np.sin(7.0 * time)  # noqa: E731
    timing = Timing(sample_rate=1000.0, compute=0.001, valve_time_constant=0.002)
    run = simulate(vehicle, height, 2.0, law, timing, push, longest_step=5e-5, log_step=5e-5)
    off, scale = balance(run, push, speed)
    assert abs(off) < 2e-6 * scale
    if amplitude > 0.02:
        assert np.mean(run.contact_load == 0.0) > 0.02
        assert run.travel.min() < -vehicle.bump_travel or run.travel.max() > vehicle.rebound_travel


@settings(max_examples=40, deadline=None)
@given(
    body=st.floats(20.0, 400.0), wheel=st.floats(2.0, 40.0), spring=st.floats(5e3, 5e4), tyre=st.floats(5e4, 3e5),
    damping=st.floats(100.0, 3000.0), column=st.sampled_from([math.inf, 0.3]), friction=st.floats(0.0, 60.0),
    amplitude=st.floats(0.001, 0.03), rate=st.floats(3.0, 40.0), setting=st.floats(0.0, 1.0),
)  # fmt: skip
def test_energy_balances(body, wheel, spring, tyre, damping, column, friction, amplitude, rate, setting):
    vehicle = Vehicle("any", body, wheel, spring, tyre, damping, gas_column=column, friction=friction)
    height, speed = heave(amplitude, rate)
    run = simulate(vehicle, height, 1.0, Passive(setting), longest_step=1e-4, log_step=1e-4)
    off, scale = balance(run, np.zeros_like, speed)
    assert abs(off) < 1e-4 * scale


# --- closed forms ---------------------------------------------------------------------------------------------------

PLAIN = Vehicle("plain", 250.0, 35.0, 16_000.0, 160_000.0, 1000.0, bump_travel=1.0, rebound_travel=1.0, stop_rate=0.0)
COEFFICIENT = 900.0  # N s/m
PLAIN = PLAIN.changed(open_curve=linear(0.0), lockout_curve=linear(COEFFICIENT))


def response(hertz, damper, skyhook):
    """Body height over road height at one frequency, from the two equations of motion as two complex equations."""
    s = 2j * np.pi * hertz
    v = PLAIN
    matrix = [
        [v.body_mass * s**2 + (damper + skyhook) * s + v.spring_rate, -damper * s - v.spring_rate],
        [-(damper + skyhook) * s - v.spring_rate, v.wheel_mass * s**2 + damper * s + v.spring_rate + v.tyre_rate],
    ]
    return np.linalg.solve(matrix, [0.0, v.tyre_rate])[0]


@pytest.mark.parametrize("hertz", [0.5, 1.25, 4.0, 10.0, 15.0])
@pytest.mark.parametrize("skyhook", [False, True])
def test_frequency_response(hertz, skyhook):
    """Steady state on a sine road; the skyhook's actuator stands between body and wheel, so it reacts on the wheel."""
    law = ActiveSkyhook(COEFFICIENT, setting=0.2) if skyhook else Passive(1.0)
    settling = math.ceil(6.0 * hertz) / hertz
    amplitude, cycles = 0.002, max(round(2.0 * hertz), 1)
    duration = settling + cycles / hertz
    run = simulate(
        PLAIN, lambda time: amplitude * np.sin(2.0 * np.pi * hertz * time), duration, law, longest_step=1e-4,
        log_step=1e-3,
    )  # fmt: skip
    last = run.time >= settling
    turning = np.exp(2j * np.pi * hertz * run.time[last])
    # Least squares on sine and cosine: exact also where the log does not divide the period.
    basis = np.column_stack([turning.real, turning.imag])
    cosine, sine = np.linalg.lstsq(basis, run.body_height[last], rcond=None)[0]
    found = (sine + 1j * cosine) / amplitude
    expected = response(hertz, 0.2 * COEFFICIENT if skyhook else COEFFICIENT, COEFFICIENT if skyhook else 0.0)
    assert abs(found - expected) < 2e-3 * abs(expected)
