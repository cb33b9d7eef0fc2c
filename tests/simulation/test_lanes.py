"""Rides stepped abreast against the same rides one by one, and the recursive weightings against ISO 2631-1, 5349-1."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet import FLEET, MOTORCYCLE, REFERENCE, TRAIL_BIKE
from helpers.control.active import OptimalFeedback
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
from helpers.control.mode_switch import FAST_TWO_POSITION, SLOW_FINE, ManualLever, ModeSelector, ModeSwitch
from helpers.control.timing import Timing
from helpers.models.dampers import digressive
from helpers.models.pedalling import Pedalling
from helpers.models.terrain import iso_8608, step, washboard
from helpers.simulation.batch import Ride, ride_abreast
from helpers.simulation.lane_metrics import FITTED, NAMES, TAPS, recursion
from helpers.simulation.lane_step import LANES
from helpers.simulation.metrics import metrics, valve_activity
from helpers.simulation.runs import ride
from helpers.simulation.weighting import weighting

LENGTH = 12.0  # m
ROADS = {
    "class D": iso_8608("D", LENGTH, seed=1),
    "step": step(0.08, 3.0, LENGTH),
    "washboard": washboard(0.03, 0.9, LENGTH),
}
GAINS = (-9000.0, 700.0, -4000.0, -80.0)
LAWS = [
    Passive(0.1), TwoStateSkyhook(), TwoStateSkyhook(0.05, 0.4, dead_band=0.1, body_band=0.05), AccelerationDriven(),
    LinearSkyhook(1500.0), Groundhook(900.0), ClippedOptimal(*GAINS),
    ActiveSkyhook(1500.0, 400.0), StateFeedback(*GAINS, 600.0), OptimalFeedback(TRAIL_BIKE, preview=0.2), ModeSwitch(),
    FAST_TWO_POSITION, SLOW_FINE, ModeSelector(rest=0.0, hold=0.3, settings=3.0, time_per_setting=0.02),
    ManualLever(at=0.1, reaction=0.2, hand=0.05, settings=4.0),
]  # fmt: skip
CHAINS = {
    "ideal": Timing.ideal(),
    "lag": Timing(sample_rate=1000.0, compute=0.002, bus=0.001, valve_time_constant=0.002),
    "filter": Timing(sample_rate=400.0, sensor_filter=40.0, compute=0.0025, valve_time_constant=0.004),
    "dead time": Timing(sample_rate=250.0, compute=0.001, valve_dead_time=0.006),
    "jitter": Timing(sample_rate=1000.0, bus=0.001, jitter=0.005, valve_time_constant=0.001),
    "filter and jitter": Timing(sample_rate=500.0, sensor_filter=30.0, jitter=0.009, valve_dead_time=0.004),
}
STATES = ("road", "body_height", "body_velocity", "wheel_height", "wheel_velocity", "body_acceleration",
          "wheel_acceleration", "valve", "actuator_force")  # fmt: skip
# What the recursive filters may differ by, and why: `lane_metrics`; no mean takes the error off a peak.
WEIGHTED = {"comfort": 1e-5, "hand_arm": 2e-4, "dose": 1e-5, "transient": 1e-5, "crest_factor": 2e-4}


def alone(one):
    """The same ride by `runs.ride`."""
    return ride(
        one.vehicle, one.profile, one.speed, one.law, one.timing, one.push_at, start=one.start, seed=one.seed,
        longest_step=one.longest_step, log_step=one.log_step,
    )  # fmt: skip


def same_decisions(run, single):
    """Number of log rows up to the first differing decision: a few ulp of another compiler may flip one."""
    scale = max(np.abs(single.actuator_force).max(), 1.0)
    differs = np.abs(run.valve - single.valve) > 1e-6
    differs |= np.abs(run.actuator_force - single.actuator_force) > 1e-6 * scale
    return int(np.argmax(differs)) if differs.any() else len(differs)


def check(rides):
    """States to 1e-9 up to the first differing decision; where none differs, work, heat and metrics too."""
    outcome = ride_abreast(rides, keep_states=True)
    assert outcome.failures == {}
    for one, run, found in zip(rides, outcome.runs, outcome.values, strict=True):
        single = alone(one)
        np.testing.assert_array_equal(run.time, single.time)
        same = same_decisions(run, single)
        assert same > 0.5 * len(run.time)
        for name in STATES:
            theirs = getattr(single, name)[:same]
            scale = max(np.abs(theirs).max(), 1e-3)
            np.testing.assert_allclose(getattr(run, name)[:same], theirs, rtol=0, atol=1e-9 * scale, err_msg=name)
        if same == len(run.time):
            for name in ("damper_heat", "friction_heat", "actuator_work", "actuator_supply"):
                assert getattr(run, name) == pytest.approx(getattr(single, name), rel=1e-9, abs=1e-9), name
            assert run.commands == single.commands
            check_metrics(found, single)


def check_metrics(found, single):
    """Every number of NAMES against `metrics` of the single run."""
    wanted, activity = vars(metrics(single)), valve_activity(single)
    wanted |= {"peak_acceleration": np.abs(single.body_acceleration).max()}
    wanted |= {"commands": activity.commands, "strokes": activity.strokes}
    assert set(wanted) == set(NAMES)
    for name, value in zip(NAMES, found, strict=True):
        assert value == pytest.approx(wanted[name], rel=WEIGHTED.get(name, 1e-9), abs=1e-9), name


@pytest.mark.parametrize("machine", FLEET)
@pytest.mark.parametrize("road", ROADS)
@pytest.mark.parametrize("chain", CHAINS)
def test_every_law_with_every_chain_machine_and_road(machine, road, chain):
    vehicle = FLEET[machine]
    rides = [
        Ride(vehicle, ROADS[road], vehicle.descent_speed, law, CHAINS[chain], seed=k) for k, law in enumerate(LAWS)
    ]
    check(rides)


def quantities(low, high):
    return st.floats(low, high, allow_nan=False).map(lambda x: round(x, 4))


@st.composite
def rides(draw):
    """A ride of any allowed kind; all log every fourth step of at most 0.25 ms."""
    vehicle = draw(st.sampled_from([*FLEET.values(), REFERENCE]))
    vehicle = vehicle.changed(
        body_mass=vehicle.body_mass * draw(quantities(0.5, 2.0)), friction=draw(quantities(0.0, 40.0)),
        spring_rate=vehicle.spring_rate * draw(quantities(0.5, 2.0)),
    )  # fmt: skip
    if draw(st.booleans()):
        vehicle = vehicle.changed(open_curve=digressive(draw(quantities(100.0, 1500.0)), 0.2, 1.4, 60.0))
    timing = Timing(
        sample_rate=draw(st.sampled_from([1000.0, 500.0, 250.0])), compute=draw(quantities(0.0, 0.02)),
        sensor_filter=draw(st.sampled_from([math.inf, 60.0])), jitter=draw(st.sampled_from([0.0, 0.003, 0.02])),
        valve_dead_time=draw(quantities(0.0, 0.01)), valve_time_constant=draw(st.sampled_from([0.0, 0.002, 0.02])),
    )  # fmt: skip
    return Ride(
        vehicle, draw(st.sampled_from(list(ROADS.values()))), draw(quantities(4.0, 20.0)), draw(st.sampled_from(LAWS)),
        timing, draw(st.sampled_from([None, Pedalling(force=100.0).push])),
        (draw(quantities(-0.02, 0.02)), 0.1, 0.0, 0.0), seed=draw(st.integers(0, 9)),
    )  # fmt: skip


@settings(max_examples=25)
@given(st.lists(rides(), min_size=1, max_size=12))
def test_any_rides_side_by_side(batch):
    check(batch)


# --- neighbours ----------------------------------------------------------------------------------------------------


def mixed():
    chains = list(CHAINS.values())[1:]
    kinds = [(law, chain) for law in LAWS for chain in chains if chain.sample_rate in (1000.0, 500.0)]
    return [
        Ride(TRAIL_BIKE, ROADS["class D"], 8.0 + 0.2 * k, law, chain) for k, (law, chain) in enumerate(kinds[:LANES])
    ]


def test_neither_neighbours_nor_their_number_matter():
    """Bit for bit: a ride's numbers hang on the ride alone."""
    together = mixed()
    whole = ride_abreast(together).values
    assert len(whole) == LANES
    order = np.random.default_rng(3).permutation(LANES)
    np.testing.assert_array_equal(ride_abreast([together[k] for k in order]).values, whole[order])
    for k in (0, 7, 20, 31):
        np.testing.assert_array_equal(ride_abreast([together[k]]).values[0], whole[k])


def test_short_rides_end_in_time():
    """A lane that ends early is stepped on beside the others; what it does then does not count."""
    fast, slow = (Ride(MOTORCYCLE, ROADS["step"], speed, TwoStateSkyhook(), CHAINS["lag"]) for speed in (40.0, 2.0))
    check([fast, slow, fast])


def test_finer_log():
    check([replace_log(one, 2.5e-4) for one in mixed()[:9]])


def replace_log(one, log_step):
    return Ride(one.vehicle, one.profile, one.speed, one.law, one.timing, log_step=log_step)


def test_rounded_and_sharp_curves_together():
    round_open = TRAIL_BIKE.changed(open_curve=digressive(900.0, 0.15, 1.5, 50.0))
    round_both = round_open.changed(lockout_curve=digressive(6000.0, 0.1, 1.0, 300.0))
    round_lockout = TRAIL_BIKE.changed(lockout_curve=digressive(6000.0, 0.1, 1.0, 300.0))
    check([
        Ride(vehicle, ROADS["class D"], 9.0, law, CHAINS["lag"])
        for vehicle in (TRAIL_BIKE, round_open, round_both, round_lockout)
        for law in (Passive(0.4), TwoStateSkyhook(), LinearSkyhook(800.0), ActiveSkyhook(500.0, 300.0))
    ])  # fmt: skip


def test_a_driven_away_ride_fails_alone():
    """The same sentence as from `simulate`; its neighbours do not notice."""
    wild = Ride(TRAIL_BIKE, ROADS["class D"], 4.0, StateFeedback(on_body_velocity=-1e6), CHAINS["dead time"])
    calm = Ride(TRAIL_BIKE, ROADS["class D"], 4.0, Passive(), CHAINS["dead time"])
    outcome = ride_abreast([calm, wild, calm], keep_states=True)
    with pytest.raises(ValueError) as told:
        alone(wild)
    assert outcome.failures == {1: str(told.value)}
    assert np.isnan(outcome.values[1]).all() and outcome.runs[1] is None
    np.testing.assert_array_equal(outcome.values[0], ride_abreast([calm]).values[0])
    np.testing.assert_array_equal(outcome.values[0], outcome.values[2])


@pytest.mark.parametrize("speed", [0.0, math.nan, 101.0])
def test_bad_speed(speed):
    with pytest.raises(ValueError, match=r"ride: speed is .* m/s; allowed is 0.05 to 100 m/s"):
        Ride(TRAIL_BIKE, ROADS["step"], speed)


def test_too_long_a_ride():
    with pytest.raises(ValueError, match=r"duration is .* s; allowed is"):
        Ride(TRAIL_BIKE, replace(ROADS["step"], distance=np.linspace(0, 4e4, len(ROADS["step"].distance))), 0.05)


# --- weightings by recursion -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("rate", [250.0, 1000.0, 4000.0])
@pytest.mark.parametrize(("name", "within"), [("Wk", 2e-4), ("Wh", 1e-2)])
def test_recursive_weighting(name, within, rate):
    """Against the transfer functions of ISO 8041 (as reprinted), with the filter's delay taken out."""
    column = recursion(name, rate)
    resonators, taps = column[: -TAPS - 1].reshape(-1, 6), column[-TAPS - 1 : -1]
    frequency = np.geomspace(0.02, 0.5 * FITTED * rate, 300)
    back = np.exp(-2j * np.pi * frequency / rate)
    answer = sum(tap * back**k for k, tap in enumerate(taps))
    for a1, a2, c0, c1, *_ in resonators:
        answer += (c0 + c1 * back) / (1.0 - a1 * back - a2 * back**2)
    wanted = weighting(name).response(frequency)
    assert np.abs(answer / back**3 - wanted).max() < within
