"""When a controller knows and when its valve moves, seen in rides."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.control.laws import ActiveSkyhook, TwoStateSkyhook
from helpers.control.mode_switch import ModeSwitch
from helpers.control.timing import Timing
from helpers.models.dampers import linear
from helpers.models.vehicles import Vehicle
from helpers.simulation.runs import simulate

FINE = 5e-5  # s, logged at every step
VEHICLE = Vehicle("plain", 60.0, 3.0, 12_500.0, 70_000.0, 0.0, open_curve=linear(100.0), lockout_curve=linear(2000.0))


def bump_at(time_of_bump):
    """A road that rises by 30 mm within a millisecond: the wheel is struck."""
    return lambda time: 0.03 * np.clip((time - time_of_bump) / 1e-3, 0.0, 1.0)


def struck(timing, time_of_bumps=0.0503):
    """A ride of the mode switch on to waves that shake the wheel at 17 Hz: valve from lockout (1) to open (0)."""
    law = ModeSwitch(threshold=40.0, hold=10.0)
    waves = lambda time: 0.02 * (1.0 - np.cos(2.0 * np.pi * 17.0 * np.maximum(time - time_of_bumps, 0.0)))  # noqa: E731
    return simulate(VEHICLE, waves, 0.25, law, timing, longest_step=FINE, log_step=FINE)


def first(condition):
    assert condition.any()
    return int(np.argmax(condition))


@settings(max_examples=30, deadline=None)
@given(
    rate=st.sampled_from([100.0, 250.0, 500.0, 1000.0, 2000.0, math.inf]), compute=st.floats(0.0, 0.008),
    bus=st.floats(0.0, 0.004), dead=st.floats(0.0, 0.006), bump=st.floats(0.02, 0.1),
)  # fmt: skip
def test_valve_moves_one_delay_after_the_first_sample_that_saw_the_bump(rate, compute, bus, dead, bump):
    timing = Timing(sample_rate=rate, compute=compute, bus=bus, valve_dead_time=dead)
    assert timing.delay == pytest.approx(compute + bus + dead)
    run = struck(timing, bump)
    period = 1 if math.isinf(rate) else round(1.0 / (rate * FINE))
    sampled = run.time[::period][first(np.abs(run.wheel_acceleration[::period]) > 40.0)]
    moved = run.time[first(run.valve < 1.0)]
    # The delay is rounded to whole steps.
    assert moved == pytest.approx(sampled + timing.delay, abs=0.5 * FINE + 1e-9)
    assert run.commands == 1


def test_valve_lag_is_a_first_order_one():
    """exp(-t / T) of the way is left: 1/e after one time constant (any textbook of control)."""
    run = struck(Timing(valve_time_constant=0.010))
    moving = first(run.valve < 1.0) - 1  # at the row before, the command had just arrived
    since = run.time[moving:] - run.time[moving]
    np.testing.assert_allclose(run.valve[moving:], np.exp(-since / 0.010), rtol=1e-9, atol=1e-12)


def test_actuator_lags_as_the_valve_does():
    """A force at its limit from the first sample on: the lag is all that is left to see."""
    law = ActiveSkyhook(1e5, force_limit=1e-3)
    run = simulate(VEHICLE, np.zeros_like, 0.03, law, Timing(valve_time_constant=0.01), start=(0, 1.0, 0, 0))
    assert run.body_velocity.min() > 0.0
    np.testing.assert_allclose(run.actuator_force, -1e-3 * (1.0 - np.exp(-run.time / 0.01)), rtol=1e-9, atol=1e-15)


@pytest.mark.parametrize("cut_off", [5.0, 20.0])
@pytest.mark.parametrize("hertz", [2.0, 8.0, 30.0])
def test_sensor_filter_has_the_gain_and_phase_of_first_order(cut_off, hertz):
    """1 / (1 + i f / f_c), any textbook. Read from an actuator's force, which shows the filtered body velocity.

    The body is pushed and the force fed back is so small that it moves nothing.
    """
    law = ActiveSkyhook(coefficient=1e-3, setting=1.0)
    timing = Timing(sample_rate=math.inf, sensor_filter=cut_off)
    run = simulate(
        VEHICLE, np.zeros_like, 4.0, law, timing, lambda time: 50.0 * np.sin(2.0 * np.pi * hertz * time),
        longest_step=FINE, log_step=1e-3,
    )  # fmt: skip
    last = run.time >= 2.0
    turning = np.exp(-2j * np.pi * hertz * run.time[last][:-1])
    seen = np.mean(-run.actuator_force[last][:-1] / law.coefficient * turning)
    true = np.mean(run.body_velocity[last][:-1] * turning)
    expected = 1.0 / (1.0 + 1j * hertz / cut_off)
    # One step of 0.05 ms in phase is what discrete time may cost.
    assert abs(seen / true - expected) < 2.0 * np.pi * hertz * FINE + 2e-3


def skyhook_ride(timing, seed=1, duration=2.0):
    ground = lambda time: 0.02 * np.sin(2.0 * np.pi * 5.0 * time) + 0.005 * np.sin(2.0 * np.pi * 23.0 * time)  # noqa: E731
    return simulate(VEHICLE, ground, duration, TwoStateSkyhook(), timing, seed=seed, log_step=2.5e-4)


def test_ideal_waits_for_nothing():
    run = skyhook_ride(Timing.ideal())
    fit = Timing.ideal().in_steps(2.5e-4)
    assert (fit.every, fit.delay, fit.jitter, fit.smoothing, fit.valve_half, fit.valve_full) == (1, 0, 0, 0.0, 0.0, 0.0)
    relative = run.body_velocity - run.wheel_velocity
    np.testing.assert_array_equal(run.valve, np.where(run.body_velocity * relative > 0.0, 0.3, 0.0))


def test_between_samples_nothing_is_decided():
    run = skyhook_ride(Timing(sample_rate=50.0))
    changed = np.flatnonzero(np.diff(run.valve)) + 1
    assert len(changed) > 10
    np.testing.assert_allclose(run.time[changed] * 50.0, np.round(run.time[changed] * 50.0), atol=1e-9)


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 2**31), jitter=st.floats(0.001, 0.02))
def test_jitter_only_adds_delay_and_a_seed_repeats_it(seed, jitter):
    timing = Timing(sample_rate=100.0, compute=0.002, jitter=jitter)
    run, again = skyhook_ride(timing, seed), skyhook_ride(timing, seed)
    np.testing.assert_array_equal(run.valve, again.valve)
    np.testing.assert_array_equal(run.body_height, again.body_height)
    changed = np.flatnonzero(np.diff(run.valve)) + 1
    # Each change comes between the fixed delay and the fixed one with the whole jitter after some sample.
    after = (run.time[changed] - 0.002) % 0.01
    if jitter < 0.0095:
        assert np.all((after <= jitter + 1.3e-4) | (after > 0.01 - 1e-9))


def test_seeds_differ_and_jitter_is_even():
    timing = Timing(sample_rate=50.0, jitter=0.015)
    assert not np.array_equal(skyhook_ride(timing, 1).valve, skyhook_ride(timing, 2).valve)
    delays = []
    for seed in range(40):
        run = skyhook_ride(timing, seed)
        changed = np.flatnonzero(np.diff(run.valve)) + 1
        delays.extend(run.time[changed] % 0.02)
    delays = np.array(delays)
    # Mean and standard deviation of an even spread over 0 to 15 ms: 7.5 ms and 15 / sqrt(12) ms.
    assert np.mean(delays) == pytest.approx(0.0075, abs=5.0 * 0.015 / math.sqrt(12.0 * len(delays)))
    assert np.std(delays) == pytest.approx(0.015 / math.sqrt(12.0), rel=0.1)


def test_a_stale_command_is_dropped():
    """Samples every 1 ms, jitter to 30 ms: late comers are dropped, so the last word is that of the newest sample.

    The law's hold ends at a known sample; were stale commands obeyed, the valve would open again after it had closed.
    """
    law = ModeSwitch(threshold=40.0, hold=0.05, rest=1.0, event=0.0)
    for seed in range(30):
        run = simulate(
            VEHICLE.changed(lockout_curve=linear(400.0)), bump_at(0.02), 0.6, law, Timing(jitter=0.03), seed=seed,
            log_step=2.5e-4,
        )  # fmt: skip
        shocks = run.time[np.abs(run.wheel_acceleration) > 40.0]
        over = run.time > shocks.max() + 0.05 + 0.03 + 0.001
        assert over.sum() > 100
        assert np.all(run.valve[over] == 1.0)
        assert run.commands == 2  # once open, once closed: never back and forth


@given(
    rate=st.one_of(st.floats(1.0, 20_000.0), st.just(math.inf)), longest=st.floats(1e-5, 1e-3),
    delay=st.floats(0.0, 1.0), lag=st.floats(0.0, 1.0),
)  # fmt: skip
def test_steps_fit_the_chain(rate, longest, delay, lag):
    fit = Timing(sample_rate=rate, compute=delay, valve_time_constant=lag).in_steps(longest)
    assert 0.0 < fit.step <= longest * (1.0 + 1e-8)
    if not math.isinf(rate):
        assert fit.step * fit.every == pytest.approx(1.0 / rate)
    assert abs(fit.delay * fit.step - delay) <= 0.5 * fit.step * (1.0 + 1e-6)
    assert 0.0 <= fit.valve_full <= fit.valve_half <= 1.0
    assert fit.valve_half**2 == pytest.approx(fit.valve_full, rel=1e-12)


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("sample_rate", 0.0, "Timing: sample_rate is 0 Hz; allowed is 1 to inf Hz."),
        ("jitter", -0.1, "Timing: jitter is -0.1 s; allowed is 0 to 1 s."),
        ("valve_time_constant", math.nan, "Timing: valve_time_constant is nan s; allowed is 0 to 1 s."),
    ],
)
def test_a_bad_value_is_named(field, value, words):
    with pytest.raises(ValueError) as caught:
        Timing(**{field: value})
    assert str(caught.value) == words
