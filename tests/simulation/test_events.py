"""Bumps and scores against planted bumps, closed forms and what counts must obey."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from families import FAST_CHAIN, mode_switching
from fleet import FLEET, TRAIL_BIKE
from helpers.control.laws import Passive
from helpers.control.mode_switch import FAST_TWO_POSITION, SLOW_FINE, ManualLever, ModeSelector, ModeSwitch
from helpers.control.own_law import OwnLaw
from helpers.course import bike, carrier, ideal, motorcycle
from helpers.course import fell_loop as course_loop
from helpers.course import ride as course_ride
from helpers.models.ground import Ground, HalfRound
from helpers.models.pedalling import Pedalling, pedalled_wheel_acceleration
from helpers.models.terrain import fell_loop, flat, half_round, step
from helpers.simulation.bumps import Bumps, section_bumps, true_bumps
from helpers.simulation.events import score
from helpers.simulation.runs import ride, ride_section, simulate
from helpers.simulation.stretches import Stretch

LOOP, COURSE = fell_loop(), course_loop()
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


def scored(section, law, timing=None):
    return score(ride_section(BIKE, LOOP.section(section), law, timing), section_bumps(BIKE, LOOP.section(section)))


@pytest.mark.parametrize("law", LAWS.values(), ids=LAWS)
@pytest.mark.parametrize("section", ["climb", "traverse", "descent"])
def test_counts_and_times_add_up(section, law):
    result = scored(section, law, FAST_CHAIN)
    bumps = result.bumps
    assert result.hits + result.misses == len(bumps)
    assert result.carried <= result.hits
    assert result.false_alarms <= result.openings
    assert 0.0 <= result.lock_share <= 1.0
    assert np.all(result.latency[result.hit] <= (bumps.stop - bumps.contact)[result.hit] + 1e-9)


def test_a_score_reads_what_was_written_into_the_log():
    run = ride(BIKE, flat(40.0), 4.0, ModeSwitch(threshold=40.0, hold=0.5))
    valve = np.ones(len(run.time))
    valve[1050:1500] = 0.0  # 50 ms after the first bump was met, and through the second
    valve[1750:1760] = 0.49  # within the ringing of the second
    valve[7000:7100] = 0.0
    valve[8000:8100] = 0.51
    starts, stops = np.array([1.0, 1.4, 3.0]), np.array([1.2, 1.6, 3.3])
    bumps = Bumps(4.0 * starts, starts - 0.1, stops, np.full(3, 0.03), starts)
    result = score(replace(run, valve=valve), bumps)
    np.testing.assert_array_equal(result.hit, [True, True, False])
    np.testing.assert_allclose(result.latency[:2], [0.05, 0.0], atol=1e-9)
    assert (result.hits, result.misses, result.carried, result.openings) == (2, 1, 1, 3)
    assert result.false_alarms == 1  # that at 7 s
    assert result.lock_share == pytest.approx(1.0 - 560 / len(run.time), abs=1e-9)


def test_a_lever_costs_its_reaction_and_its_hand():
    """It counts as open from the end of the hand's way on, in one of two settings."""
    result = scored("descent", ManualLever(reaction=0.5, hand=1.0))
    assert result.lock_share * result.duration == pytest.approx(1.5, abs=2e-3)
    assert result.openings == 1


def test_a_valve_that_rests_open_misses_nothing():
    result = scored("descent", ModeSelector(rest=0.0, pedalled=False))
    assert result.carried == len(result.hit)
    assert (result.lock_share, result.openings, result.false_alarms) == (0.0, 0, 0)
    for stretch in COURSE:  # a drop is met where it ends
        met = course_ride(bike, stretch, Passive(0.0)).score
        assert met.carried == met.hits == len(met.hit) > 0


def test_thresholds_end_where_they_must():
    low, high = (scored("climb", ModeSwitch(threshold), FAST_CHAIN) for threshold in (0.1, 5000.0))
    assert low.misses == 0 and low.lock_share < 0.02
    assert (high.hits, high.false_alarms, high.lock_share) == (0, 0, 1.0)


# --- the page's selector ------------------------------------------------------------------------------------------


def selector(threshold, ends, hold, still=9.0):
    """The law of workbook 04, with how slowly the suspension must move before it closes."""

    def law(seen, memory):
        size = abs(seen.wheel_acceleration)
        if size > (ends if memory.open else threshold):
            memory.open, memory.until = 1, seen.time + hold
        elif seen.time > memory.until - 1e-6 and abs(seen.suspension_velocity) < still:
            memory.open = 0
        return 0.0 if memory.open else 1.0

    return OwnLaw(law, setting=1.0)


@pytest.mark.parametrize("timing", [None, ideal], ids=["real chain", "ideal"])
@pytest.mark.parametrize("stretch", ["climb", "traverse"])
def test_the_selector_written_out_is_the_built_in_one(stretch, timing):
    ground = getattr(COURSE, stretch)
    for hysteresis in (0.0, 10.0):
        built = course_ride(bike, ground, ModeSelector(threshold=40.0, hysteresis=hysteresis, hold=0.4), timing)
        own = course_ride(bike, ground, selector(40.0, 40.0 - hysteresis, 0.4), timing)
        np.testing.assert_array_equal(own.body_acceleration, built.body_acceleration)


def test_a_valve_that_waits_for_stillness_opens_for_bumps_alone():
    """Workbook 04: the slam of the closing valve is taken for a bump; on three machines' climbs waiting ends that."""
    for vehicle in (bike, motorcycle, carrier):
        slams, waits = (course_ride(vehicle, COURSE.climb, selector(40.0, 40.0, 0.4, still)).score
                        for still in (9.0, 0.05))  # fmt: skip
        assert waits.false_alarms <= slams.false_alarms and waits.hits == 12
    bikes = [course_ride(bike, COURSE.climb, selector(40.0, 40.0, 0.4, still)).score for still in (9.0, 0.05)]
    assert [one.false_alarms for one in bikes] == [14, 0]


ROOT = Stretch("one root", Ground(60.0, (HalfRound(0.04, 10.0, 0.1),)), "climb", pedalling=True)


@pytest.mark.parametrize(("threshold", "hysteresis", "closes"), [
    (10, 0, True), (10, 4, True), (10, 5, True), (10, 6, False), (10, 8, False), (20, 15, True), (20, 16, False),
])  # fmt: skip
def test_legs_hold_a_selector_open_below_what_they_make_of_the_open_wheel(threshold, hysteresis, closes):
    """Workbook 04, E6: a bump ends at threshold less hysteresis; open, the legs shake the wheel by 4.9 m/s2."""
    one = course_ride(bike, ROOT, selector(threshold, threshold - hysteresis, 0.4))
    assert np.all(one.valve[one.time < 3.0] > 0.5)
    assert bool(np.all(one.valve[one.time > 11.5] > 0.5)) is closes
    assert bool(np.all(one.valve[one.time > 11.5] < 0.5)) is not closes


# --- pedalling ------------------------------------------------------------------------------------------------------


def pedalled(vehicle, pedalling, law=None):
    """Largest wheel acceleration in m/s2 that pedalling alone causes on smooth ground, after four seconds."""
    duration = 4.0 + 8.0 / pedalling.strokes
    run = simulate(vehicle, np.zeros_like, duration, law, None, pedalling.push, log_step=2.5e-4)
    return float(np.abs(run.wheel_acceleration[run.time >= 4.0]).max())


@pytest.mark.parametrize("ripple", [0.0, 1.0])
@pytest.mark.parametrize("damping", [300.0, 500.0, 2000.0])
def test_pedalling_acceleration_is_the_closed_form_where_the_machine_is_linear(damping, ripple):
    pedalling = Pedalling(ripple=ripple)
    found = pedalled(LINEAR.plain(damping), pedalling)
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
