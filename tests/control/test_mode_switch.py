"""The mode switch as a state machine: exact waits, no chatter, one setting at a time, and nothing new in a setting."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet import FLEET, TRAIL_BIKE
from helpers.control.law import MEMORY
from helpers.control.laws import Passive
from helpers.control.mode_switch import (
    FAST_TWO_POSITION,
    SETTINGS,
    SLOW_FINE,
    ManualLever,
    ModeSelector,
    ModeSwitch,
    selected,
)
from helpers.control.timing import Timing
from helpers.models.terrain import iso_8608
from helpers.simulation.runs import ride

RATE = 1000.0  # Hz
GROUND = iso_8608("D", 30.0, seed=4)


def settings_over(law, accelerations, rate=RATE):
    """The valve setting at every sample for a row of wheel accelerations."""
    row, memory = law.packed(), np.zeros(MEMORY)
    return np.array([selected(row, a, memory, n / rate) for n, a in enumerate(accelerations)])


def bump_at(*samples, count=4000, size=100.0):
    quiet = np.zeros(count)
    quiet[list(samples)] = size
    return quiet


# --- within a setting -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("vehicle", FLEET.values(), ids=lambda vehicle: vehicle.name)
@pytest.mark.parametrize("rest", [0.0, 1.0])
def test_in_one_setting_it_is_that_ordinary_damper_to_the_last_bit(vehicle, rest):
    """Common practice, no source: within a mode nothing new happens."""
    law = ModeSelector(threshold=5000.0, rest=rest, pedalled=False)
    curve = vehicle.lockout_curve if rest == 1.0 else vehicle.open_curve
    ordinary = replace(vehicle, open_curve=curve, lockout_curve=curve)
    ours, theirs = ride(vehicle, GROUND, 6.0, law, Timing()), ride(ordinary, GROUND, 6.0, Passive(0.0))
    for name in ("body_acceleration", "wheel_acceleration", "travel", "contact_load"):
        np.testing.assert_array_equal(getattr(ours, name), getattr(theirs, name))
    assert ours.damper_heat == theirs.damper_heat


def test_part_closed_is_a_damper_of_its_own_too():
    part = SETTINGS["part_closed"]
    ours = ride(TRAIL_BIKE, GROUND, 6.0, ModeSelector(threshold=1.0, soft=part, firm=part), Timing())
    np.testing.assert_array_equal(ours.travel, ride(TRAIL_BIKE, GROUND, 6.0, Passive(part)).travel)


# --- waits ----------------------------------------------------------------------------------------------------------


@given(hold=st.integers(1, 1500), begins=st.integers(0, 2000), rate=st.sampled_from([200.0, 1000.0, 1024.0, 5000.0]))
def test_the_hold_time_is_counted_in_whole_samples(hold, begins, rate):
    for law in (ModeSwitch(hold=hold / rate), ModeSelector(hold=hold / rate)):
        valve = settings_over(law, bump_at(begins), rate)
        expected = np.ones(4000)
        expected[begins : begins + hold] = 0.0
        np.testing.assert_array_equal(valve, expected)


@settings(max_examples=30)
@given(seed=st.integers(0, 1000), hold=st.floats(0.0, 0.3), threshold=st.floats(1.0, 60.0))
def test_without_its_extras_the_machine_is_the_plain_rule(seed, hold, threshold):
    """Written out: open while any of the samples of the last hold time was above the threshold."""
    accelerations = np.random.default_rng(seed).normal(0.0, 20.0, 1500)
    times = np.arange(1500) / RATE
    loud = times[np.abs(accelerations) > threshold]
    since = [t - loud[loud <= t].max() if (loud <= t).any() else math.inf for t in times]
    expected = np.where(np.array(since) < hold - 1e-9, 0.0, 1.0)
    for law in (ModeSwitch(threshold, hold), ModeSelector(threshold=threshold, hold=hold)):
        np.testing.assert_array_equal(settings_over(law, accelerations), expected)


def test_hysteresis_has_no_chatter_on_a_noisy_constant():
    """Noise narrower than the band changes a two-level switch once at most (Schmitt's trigger, any textbook)."""
    noisy = 40.0 + np.random.default_rng(5).uniform(-4.0, 4.0, 4000)
    chattering = settings_over(ModeSelector(threshold=40.0, hold=0.001), noisy)
    calm = settings_over(ModeSelector(threshold=40.0, hold=0.001, hysteresis=10.0), noisy)
    assert np.count_nonzero(np.diff(chattering)) > 500
    assert np.count_nonzero(np.diff(calm)) <= 1
    assert calm[-1] == 0.0


def test_hysteresis_alone_opens_nothing():
    law = ModeSelector(threshold=40.0, hysteresis=10.0)
    assert np.all(settings_over(law, np.full(1000, 39.0)) == 1.0)
    kept = settings_over(law, np.concatenate([bump_at(10, count=11), np.full(1000, 31.0)]))
    assert np.all(kept[10:] == 0.0)


# --- rest states ----------------------------------------------------------------------------------------------------


@given(hold=st.integers(1, 1000), bump=st.integers(0, 3000))
def test_normally_open_waits_for_quiet_and_releases_at_once(hold, bump):
    valve = settings_over(ModeSelector(rest=0.0, hold=hold / RATE), bump_at(bump))
    expected = np.ones(4000)
    expected[:hold] = 0.0
    expected[bump : bump + hold] = 0.0
    np.testing.assert_array_equal(valve, expected)


def test_normally_open_stays_open_when_nobody_pedals():
    assert not settings_over(ModeSelector(rest=0.0, pedalled=False), bump_at(100)).any()


@settings(max_examples=20)
@given(seed=st.integers(0, 1000))
def test_after_a_first_bump_both_rest_states_decide_alike(seed):
    accelerations = np.random.default_rng(seed).normal(0.0, 15.0, 3000)
    accelerations[0] = 100.0
    law = ModeSelector(hold=0.05, hysteresis=8.0)
    np.testing.assert_array_equal(
        settings_over(law, accelerations), settings_over(replace(law, rest=0.0), accelerations)
    )


# --- the motor ------------------------------------------------------------------------------------------------------


@settings(max_examples=40)
@given(count=st.integers(2, 9), per_setting=st.integers(1, 40))
def test_the_motor_passes_every_setting_in_its_time(count, per_setting):
    law = ModeSelector(settings=count, time_per_setting=per_setting / RATE, hold=1.0)
    valve = settings_over(law, bump_at(100))
    levels = np.array(law.levels)
    opening = np.concatenate([np.full(100 + per_setting, 1.0), np.repeat(levels[-2::-1], per_setting)])
    np.testing.assert_array_equal(valve[: len(opening)], opening)
    closing = np.repeat(levels[:-1], per_setting)
    np.testing.assert_array_equal(valve[1100 : 1100 + len(closing)], closing)
    assert np.all(valve[1100 + len(closing) :] == 1.0)


def test_a_motor_quicker_than_the_samples_skips_none_of_its_time():
    """Six settings of 0.4 ms each take 2.4 ms: done at the third sample of a 1 kHz controller."""
    valve = settings_over(replace(SLOW_FINE, time_per_setting=0.0004, grade=0.0), bump_at(10, count=50))
    np.testing.assert_allclose(valve[10:14], [1.0, 1.0 - 2 / 6, 1.0 - 5 / 6, 0.0], atol=1e-12)


def test_the_motor_finishes_its_setting_before_it_turns():
    law = ModeSelector(settings=3, time_per_setting=0.1, hold=0.05)
    valve = settings_over(law, bump_at(0))
    assert np.all(valve[:100] == 1.0)
    assert np.all(valve[100:200] == 0.5)
    assert np.all(valve[200:] == 1.0)


@pytest.mark.parametrize(("size", "opened"), [(39.0, 0), (41.0, 1), (49.0, 1), (51.0, 2), (95.0, 6), (500.0, 6)])
def test_graded_opening_follows_the_size_of_the_bump(size, opened):
    law = replace(SLOW_FINE, time_per_setting=0.0)
    valve = settings_over(law, bump_at(10, 11, count=100, size=size))
    np.testing.assert_allclose(valve[10:], 1.0 - opened / 6.0, atol=1e-12)


def test_fast_and_slow_are_one_machine():
    """Both ends of the slow one are half a second apart; the fast one is there in 3 ms."""
    assert (FAST_TWO_POSITION.settings - 1) * FAST_TWO_POSITION.time_per_setting == pytest.approx(0.003)
    assert (SLOW_FINE.settings - 1) * SLOW_FINE.time_per_setting == pytest.approx(0.48)
    assert FAST_TWO_POSITION.levels == (0.0, 1.0)
    assert len(SLOW_FINE.levels) == 7


# --- the hand -------------------------------------------------------------------------------------------------------


@settings(max_examples=40)
@given(at=st.integers(0, 1000), reaction=st.integers(0, 800), hand=st.integers(0, 500), count=st.integers(2, 3))
def test_the_lever_comes_a_reaction_and_a_hand_later(at, reaction, hand, count):
    law = ManualLever(1.0, 0.0, at / RATE, reaction / RATE, hand / RATE, count)
    valve = settings_over(law, np.zeros(4000))
    begins, ends = at + reaction + hand, at + reaction + hand * (count - 1)
    assert np.all(valve[:begins] == 1.0)
    assert np.all(valve[ends:] == 0.0)
    assert np.all(valve[begins:ends] == 0.5)


def test_a_lever_change_counts_in_seconds():
    """Common practice, no source: a manual change counts in seconds."""
    lever = ManualLever()
    assert 1.0 <= lever.reaction + lever.hand <= 3.0


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: ModeSelector(rest=0.5), "ModeSelector: rest is 0.5; allowed are 0 (open) and 1 (closed)."),
        (
            lambda: ModeSelector(settings=2.5),
            "ModeSelector: settings is 2.5; allowed are whole numbers from 2 to 50.",
        ),
        (lambda: ModeSelector(settings=1), "ModeSelector: settings is 1; allowed is 2 to 50."),
        (lambda: ManualLever(reaction=-1.0), "ManualLever: reaction is -1 s; allowed is 0 to 60 s."),
    ],
)
def test_bad_values_are_named(make, words):
    with pytest.raises(ValueError) as caught:
        make()
    assert str(caught.value) == words
