"""Bumps, scores and operating curves against planted bumps, closed forms and what counts must obey."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.control.laws import Passive
from helpers.control.mode_switch import FAST_TWO_POSITION, SLOW_FINE, ManualLever, ModeSelector, ModeSwitch
from helpers.models.pedalling import Pedalling, pedalled_wheel_acceleration
from helpers.models.terrain import fell_loop, flat, half_round, step
from helpers.models.vehicles import FLEET, TRAIL_BIKE
from helpers.simulation.bumps import Bumps, section_bumps, true_bumps
from helpers.simulation.events import (
    covered,
    detector_curve,
    operating_curve,
    over_step,
    pedalling_acceleration,
    score,
    scored,
)
from helpers.simulation.families import FAST_CHAIN, mode_switching
from helpers.simulation.runs import ride, simulate

LOOP = fell_loop()
BIKE = mode_switching(TRAIL_BIKE).vehicle
LINEAR = TRAIL_BIKE.plain(500.0).changed(friction=0.0, gas_column=math.inf)
LAWS = {
    "plain": ModeSwitch(),
    "fast": FAST_TWO_POSITION,
    "slow": SLOW_FINE,
    "normally open": replace(FAST_TWO_POSITION, rest=0.0),
    "lever": ManualLever(at=5.0),
}


# --- ground truth ---------------------------------------------------------------------------------------------------


@given(places=st.lists(st.integers(4, 40), min_size=1, max_size=8, unique=True))
@settings(max_examples=25, deadline=None)
def test_planted_bumps_are_found_one_by_one(places):
    ground = flat(100.0)
    for place in places:
        ground = ground.plus(half_round(0.035, 1.0, 2.0), at=2.0 * place - 1.0)
    found = true_bumps(ground, TRAIL_BIKE, 4.0)
    assert len(found) == len(places)
    np.testing.assert_allclose(found.height, 0.035, atol=1e-3)
    middle = 4.0 * 0.5 * (found.start + found.stop)
    np.testing.assert_allclose(middle, 2.0 * np.sort(places), atol=0.03)


@pytest.mark.parametrize("height", [0.03, 0.05, 0.1])
def test_a_step_begins_at_first_contact_and_ends_at_its_edge(height):
    """First contact is sqrt(2 r h - h^2) before the edge (rigid wheel, Pythagoras)."""
    reach = math.sqrt(2.0 * TRAIL_BIKE.wheel_radius * height - height**2)
    found = true_bumps(step(height, 5.0, 10.0, 0.005), TRAIL_BIKE, 2.0)
    assert len(found) == 1
    assert found.distance[0] == pytest.approx(5.0 - reach, abs=0.006)
    assert 2.0 * found.stop[0] == pytest.approx(5.0, abs=0.006)
    assert found.height[0] == pytest.approx(height)


def test_level_ground_has_no_bump_and_the_climb_has_its_twelve_roots():
    assert len(true_bumps(flat(20.0), TRAIL_BIKE, 5.0)) == 0
    for vehicle in FLEET.values():
        assert len(section_bumps(vehicle, LOOP.section("climb"))) == 12


# --- scores ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("law", LAWS.values(), ids=LAWS)
@pytest.mark.parametrize("section", ["climb", "traverse", "descent"])
def test_counts_and_times_add_up(section, law):
    bumps = section_bumps(BIKE, LOOP.section(section))
    result = scored(BIKE, LOOP.section(section), law, FAST_CHAIN)
    assert result.hits + result.misses == len(bumps)
    assert result.carried <= result.hits
    assert result.seconds.sum() == pytest.approx(result.duration, abs=1e-9)
    assert len(result.seconds) == len(law.levels)
    lengths = bumps.stop - bumps.start
    assert np.all(result.latency[result.hit] <= lengths[result.hit] + 1e-9)
    np.testing.assert_allclose(result.rolled[result.hit], BIKE.speed(section) * result.latency[result.hit])


def test_a_score_reads_what_was_written_into_the_log():
    run = ride(BIKE, flat(40.0), 4.0, ModeSwitch(threshold=40.0, hold=0.5))
    valve, shaken = np.ones(len(run.time)), np.zeros(len(run.time))
    valve[1050:1500] = 0.0  # 50 ms after the first bump began, and through the second
    valve[7000:7100] = 0.0
    shaken[[1040, 5000, 5400, 5600, 9000]] = 50.0, -45.0, 41.0, 60.0, 39.0
    bumps = Bumps(np.array([4.0, 5.6, 12.0]), np.array([1.0, 1.4, 3.0]), np.array([1.2, 1.6, 3.3]), np.full(3, 0.03))
    result = score(replace(run, valve=valve, wheel_acceleration=shaken), bumps, 4.0)
    np.testing.assert_array_equal(result.hit, [True, True, False])
    np.testing.assert_allclose(result.latency[:2], [0.05, 0.0], atol=1e-9)
    assert (result.hits, result.misses, result.carried, result.openings) == (2, 1, 1, 2)
    assert result.false_alarms == 2  # 5.0 and 5.4 s within one hold time; 5.6 s anew; 9 s is below the threshold
    assert result.false_alarms_per_minute == pytest.approx(12.0)
    assert result.lock_share == pytest.approx(1.0 - 0.55 / 10.0, abs=1e-9)


def test_a_lever_costs_its_reaction_and_its_hand():
    result = scored(BIKE, LOOP.section("descent"), ManualLever(reaction=0.5, hand=1.0))
    assert result.lock_share * result.duration == pytest.approx(1.5, abs=2e-3)
    assert (result.openings, result.false_alarms) == (1, 0)


def test_a_valve_that_rests_open_misses_nothing():
    result = scored(BIKE, LOOP.section("descent"), ModeSelector(rest=0.0, pedalled=False))
    assert result.carried == len(result.hit)
    assert result.lock_share == 0.0


# --- operating curves -----------------------------------------------------------------------------------------------


@given(times=st.lists(st.integers(0, 3000), max_size=60), hold=st.integers(1, 500), kept=st.integers(0, 2**60))
def test_fewer_alarms_never_count_more(times, hold, kept):
    """The least number of holds that cover a set of times: a subset needs no more."""
    ordered = np.array(sorted(times), dtype=float)
    subset = np.array([t for k, t in enumerate(ordered) if kept >> k & 1])
    assert covered(subset, hold) <= covered(ordered, hold) <= len(ordered)
    if len(ordered):
        assert covered(ordered, hold) <= math.ceil((np.ptp(ordered) + 1) / hold)
        assert covered(ordered, 1e9) == 1


@pytest.mark.parametrize("section", ["climb", "traverse", "descent"])
@pytest.mark.parametrize("machine", FLEET)
def test_the_detectors_curve_is_monotone(machine, section):
    """Detection theory: a higher threshold trades false alarms for misses, and never gives more of both."""
    curve = detector_curve(FLEET[machine], LOOP.section(section), np.linspace(0.0, 200.0, 81))
    assert np.all(np.diff(curve.hit_rate) <= 0.0)
    assert np.all(np.diff(curve.false_alarms_per_minute) <= 0.0)
    assert np.all(np.diff(curve.lock_share) >= -1e-12)  # a sum of thousands of waits, rounded
    assert curve.hit_rate[0] == 1.0


def test_ridden_curve_ends_where_it_must():
    curve = operating_curve(BIKE, LOOP.section("climb"), [0.1, 40.0, 5000.0], ModeSwitch(), FAST_CHAIN)
    assert curve.hit_rate[0] == 1.0
    assert curve.lock_share[0] < 0.02
    assert curve.hit_rate[2] == curve.false_alarms_per_minute[2] == 0.0
    assert curve.lock_share[2] == 1.0
    alone = scored(BIKE, LOOP.section("climb"), ModeSwitch(threshold=40.0), FAST_CHAIN)
    assert (curve.hit_rate[1], curve.lock_share[1]) == (alone.hit_rate, alone.lock_share)


# --- pedalling ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ripple", [0.0, 1.0])
@pytest.mark.parametrize("damping", [300.0, 500.0, 2000.0])
def test_pedalling_acceleration_is_the_closed_form_where_the_machine_is_linear(damping, ripple):
    pedalling = Pedalling(ripple=ripple)
    found = pedalling_acceleration(LINEAR.plain(damping), pedalling=pedalling)
    assert found == pytest.approx(pedalled_wheel_acceleration(LINEAR, damping, pedalling), rel=5e-3)


def test_the_riders_legs_open_a_valve_below_that_threshold_only():
    """Plain linear dampers in both settings, so that the valve's motion changes nothing; the push fades in."""
    largest = pedalled_wheel_acceleration(LINEAR)
    push = Pedalling(force=LINEAR.pedal_force).push
    for share, opens in ((0.97, True), (1.03, False)):
        run = simulate(
            LINEAR, np.zeros_like, 8.0, ModeSwitch(threshold=share * largest), None,
            lambda time: push(time) * np.minimum(time / 4.0, 1.0),
        )  # fmt: skip
        assert bool((run.valve < 1.0).any()) is opens


# --- one step -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("speed", "distance"), [(5.0, 0.015), (10.0, 0.030), (20.0, 0.060)])
def test_three_milliseconds_are_15_30_and_60_mm(speed, distance):
    """Common practice, no source: a valve of 3 ms has let the wheel go 15, 30, 60 mm at 5, 10, 20 m/s."""
    answer = over_step(BIKE, 0.05, speed)
    assert answer.distance_in_response == pytest.approx(distance)
    assert answer.rolled >= distance - 0.25e-3 * speed


@pytest.mark.parametrize("speed", [5.0, 10.0, 20.0])
@pytest.mark.parametrize("height", [0.02, 0.05, 0.1])
def test_the_share_climbed_is_that_of_a_circle_over_an_edge(speed, height):
    """Rise of a rigid wheel's axle at a distance s before the edge: sqrt(r^2 - s^2) - (r - h) (Pythagoras)."""
    answer, radius = over_step(BIKE, height, speed), BIKE.wheel_radius
    left = math.sqrt(2.0 * radius * height - height**2) - answer.rolled
    rise = math.sqrt(radius**2 - left**2) - (radius - height)
    assert answer.climbed == pytest.approx(rise / height, abs=0.005 / math.sqrt(2.0 * radius * height) * 2.5)


def test_open_at_rest_is_the_open_damper():
    rests_open = over_step(BIKE, 0.05, 10.0, ModeSelector(rest=0.0, pedalled=False))
    plain = over_step(BIKE, 0.05, 10.0, Passive(0.0))
    np.testing.assert_array_equal(rests_open.run.body_acceleration, plain.run.body_acceleration)
    assert (rests_open.climbed, rests_open.rolled) == (0.0, 0.0)
    assert math.isnan(rests_open.moved)


def test_a_valve_that_moves_at_once_stands_between_open_and_locked():
    at_once = over_step(BIKE, 0.05, 5.0, ModeSelector(threshold=0.5), response=0.0).peak_body_acceleration
    opened, locked = (over_step(BIKE, 0.05, 5.0, Passive(x)).peak_body_acceleration for x in (0.0, 1.0))
    assert at_once == pytest.approx(opened, rel=0.01)
    slow = [over_step(BIKE, 0.05, 5.0, response=r).peak_body_acceleration for r in (0.0, 0.003, 0.006, 0.01, 0.1)]
    assert np.all(np.diff(slow) >= 0.0)
    assert slow[-1] == pytest.approx(locked)
