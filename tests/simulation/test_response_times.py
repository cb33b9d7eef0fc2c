"""Response times from logs: right on average, honest about the doubt, and silent where the logger cannot tell."""

import math

import make_log
import numpy as np
import pytest
from coverage_of_times import RATES, chain, conditions, truth, verdicts

from helpers.models.machines import MACHINES
from helpers.simulation.loggers import STEP, recording, two_clocks
from helpers.simulation.logs import Log, LogError, load_log
from helpers.simulation.response_times import interval, response_times

WIDEST = {200.0: 1.8, 500.0: 0.75, 1000.0: 0.48, 2000.0: 0.38}  # ms, full


@pytest.fixture(scope="module")
def tape():
    return recording(MACHINES["motorcycle"], chain(8.0), events=40, low=30, seed=2)


# --- the statistics, by themselves ----------------------------------------------------------------------------------


def steps(generator, period, delay, events=40, spread=0.0):
    """Differences of first crossings of sharp events and answers on a clock of any phase, s."""
    begin = generator.uniform(0.0, 1.0, events)
    answer = begin + delay + spread * generator.standard_normal(events)
    return period * (np.ceil(answer / period) - np.ceil(begin / period))


@pytest.mark.parametrize("delay", [0.0031, 0.0075, 0.015])
def test_differences_spread_as_derived(delay):
    """Mean r over whole periods and variance r (T - r), r the delay modulo T; each time alone T^2/12 (uniform)."""
    period, found = 0.005, steps(np.random.default_rng(1), 0.005, delay, 200_000)
    rest = delay % period
    assert found.mean() == pytest.approx(delay, abs=2e-5)
    assert found.var() == pytest.approx(rest * (period - rest), abs=2e-7)
    begin = np.random.default_rng(2).uniform(0.0, 1.0, 200_000)
    late = period * np.ceil(begin / period) - begin
    assert late.var() == pytest.approx(period**2 / 12.0, rel=0.02)


def test_the_floor_is_what_keeps_the_promise():
    """A delay near a whole number of periods: most logs hold equal differences, and Student's t alone promises all."""
    generator, period, delay = np.random.default_rng(4), 0.005, 0.01003
    found = [steps(generator, period, delay) for _ in range(400)]
    floored = [interval(one, period) for one in found]
    assert np.mean([abs(e.value - delay) <= e.half for e in floored]) >= 0.95
    assert (
        np.mean([abs(e.value - delay) <= interval(one, 0.0).half for e, one in zip(floored, found, strict=True)]) < 0.3
    )
    assert floored[0].half >= 3.0 * period / 40


@pytest.mark.parametrize("delay", [0.003, 0.008, 0.015])
@pytest.mark.parametrize("rate", WIDEST)
def test_intervals_hold_the_truth_as_often_as_they_say(delay, rate):
    """400 logs of 40 events; a chain's own wait and jitter spread the delay by 0.39 ms."""
    generator, found = np.random.default_rng(round(1e6 * delay + rate)), []
    for _ in range(400):
        wait = generator.uniform(-0.000625, 0.000625, 40) + generator.uniform(-0.00025, 0.00025, 40)
        begin = generator.uniform(0.0, 1.0, 40)
        found.append(interval((np.ceil((begin + delay + wait) * rate) - np.ceil(begin * rate)) / rate, 1.0 / rate))
    assert 0.91 <= np.mean([abs(e.value - delay) <= e.half for e in found]) <= 0.99
    assert abs(np.mean([e.value for e in found]) - delay) < 5e-5
    assert 2e3 * np.mean([e.half for e in found]) <= WIDEST[rate]


def test_the_mean_is_right_where_median_and_one_event_are_not():
    generator, period, delay = np.random.default_rng(5), 0.005, 0.008
    logs = np.array([steps(generator, period, delay) for _ in range(400)])
    assert logs.mean() == pytest.approx(delay, abs=5e-5)
    assert np.median(logs, axis=1).mean() > delay + 1e-3
    assert abs(logs.min(axis=1).mean() - delay) > 2e-3


def test_a_censored_likelihood_says_the_same():
    """A second opinion: each difference kT comes of a delay within T of it, likelier the nearer (a triangle)."""
    from scipy.optimize import minimize

    generator, period = np.random.default_rng(6), 0.005
    for _ in range(5):
        found = steps(generator, period, 0.008, spread=0.0004)
        fine = np.linspace(-period, period, 201)
        triangle = 1.0 - np.abs(fine) / period

        def unlikely(p, found=found, fine=fine, triangle=triangle):
            size = math.exp(p[1])
            bell = np.exp(-0.5 * ((found[:, None] + fine - 1e-3 * p[0]) / size) ** 2) / size
            return -np.log((bell * triangle).sum(axis=1) + 1e-300).sum()

        best = minimize(unlikely, [1e3 * found.mean(), math.log(1e-3)], method="Nelder-Mead").x[0]
        mean = interval(found, period)
        assert abs(1e-3 * best - mean.value) < 0.75 * mean.half


def test_two_clocks_to_three_millionths():
    """A hundred shared knocks in five minutes, each clock read at 1000 Hz and one 40 ppm fast."""
    generator, off = np.random.default_rng(7), []
    for _ in range(60):
        knocks = np.sort(generator.uniform(0.0, 300.0, 100))
        here = np.ceil(knocks * 1000.0) / 1000.0
        there = np.ceil((knocks * (1.0 + 40e-6) + 0.37) * 1000.0) / 1000.0
        drift, offset = two_clocks(here, there)
        off.append(drift.value - 40.0)
        assert offset.value == pytest.approx(0.37 + 40e-6 * knocks.mean(), abs=2e-4)
        assert str(drift).endswith(" ppm")
    assert np.abs(off).max() < 3.0
    with pytest.raises(LogError, match="2 and 2 times"):
        two_clocks([1, 2], [1, 2])


# --- logs with a known truth ----------------------------------------------------------------------------------------


def test_the_recording_takes_what_its_chain_takes(tape):
    """Wait, computer, bus and jitter on average, then dead time and lag: read at 50 us, against the chain alone."""
    valve = chain(8.0)
    order = np.flatnonzero((tape.command[1:] < 0.5) & (tape.command[:-1] > 0.5) & (tape.setting[1:] > 0.9999)) + 1
    moved = np.array([np.argmax(tape.setting[k:] < 0.9999) for k in order]) * STEP
    there = np.array([np.argmax(tape.setting[k:] < math.exp(-1.0)) for k in order]) * STEP
    assert moved == pytest.approx(valve.valve_dead_time, abs=1.1 * STEP)
    assert there == pytest.approx(valve.valve_dead_time + valve.valve_time_constant, abs=2.1 * STEP)
    found = tape.truth()
    for name, value in truth(8.0).items():
        assert abs(getattr(found, name).value - value) < 1.5 * getattr(found, name).half, name  # three standard errors


def test_rides_are_read_as_their_chain_is():
    """12 rides, logged once each; `coverage_of_times.py` makes the table of 400."""
    for one in conditions(12, 12, true=(3.0,), rates=(200.0, 1000.0)):
        inside = [one.coverage(name) for name in ("dead_time", "to_63", "to_90")]
        assert np.mean(inside) >= 0.85, inside
        spread = 0.25 * one.width("to_63")
        assert abs(one.bias("to_63")) < 3.0 * spread / math.sqrt(12)
        assert 1e3 * one.width("to_63") <= WIDEST[one.rate]


def test_no_verdict_on_three_against_five_is_wrong():
    assert "refuted" not in verdicts(20, 3, 3.0, 500.0)
    slow = verdicts(20, 3, 5.0, 500.0)
    assert "confirmed" not in slow
    assert slow["refuted"] > 15


def test_the_threshold_is_found_from_500_hz_up(tape):
    for rate in RATES:
        found = response_times(tape.log(rate)).threshold
        if rate < 500.0:
            assert str(found) == "cannot be told"
        else:
            assert (
                abs(found.value - 40.4) < found.half + 0.5
            )  # the switch's own samples miss tops: 1 % above the 40 set
            assert found.half < 3.0


def test_hold_time_is_found_from_500_hz_up(tape):
    truth = tape.truth().hold
    for rate in (500.0, 1000.0, 2000.0):
        found = response_times(tape.log(rate)).hold
        assert abs(found.value - truth.value) < found.half + truth.half
        assert found.half < 1e-3
    assert str(response_times(tape.log(100.0)).hold) == "cannot be told"


# --- traps ----------------------------------------------------------------------------------------------------------


def shift(tape, **faults):
    plain, faulty = (response_times(tape.log(1000.0, **options)) for options in ({}, faults))
    return faulty.to_63.value - plain.to_63.value, faulty


def test_a_filter_on_one_channel_is_a_delay(tape):
    """0.225/fc for slow motion (derived, from the poles of a second-order Butterworth: sqrt(2)/(2 pi))."""
    assert math.sqrt(2.0) / (2.0 * math.pi) == pytest.approx(0.225, abs=1e-4)
    late, _ = shift(tape, filters=(None, 100.0))
    assert late == pytest.approx(0.225 / 100.0, rel=0.15)
    early, _ = shift(tape, filters=(100.0, None))
    assert early == pytest.approx(-0.225 / 100.0, rel=0.15)
    both, _ = shift(tape, filters=(100.0, 100.0))
    assert abs(both) < 0.5 * late


def test_a_skew_is_invisible(tape):
    late, faulty = shift(tape, skew=1e-3)
    plain = response_times(tape.log(1000.0))
    assert late == pytest.approx(1e-3, abs=1.5e-4)
    assert (faulty.events, faulty.cannot) == (plain.events, plain.cannot)
    assert faulty.to_63.half == pytest.approx(plain.to_63.half, rel=0.2)
    mended = response_times(tape.log(1000.0, skew=1e-3), late=1e-3)
    assert mended.to_63.value == pytest.approx(faulty.to_63.value - 1e-3)


def test_events_inside_the_hold_time_are_left_out(tape):
    found = response_times(tape.log(1000.0))
    loud = np.flatnonzero(np.abs(tape.wheel_acceleration) > 40.0)
    starts = loud[np.diff(loud, prepend=-(10**9)) * STEP > 0.1]
    assert found.in_hold == np.sum(tape.setting[starts - 1] < 0.5) >= 4  # of the five planks close behind another
    assert found.differences[:, 1].min() > 4e-3


CANNOT = {
    "noise at the threshold": ({"noise": (12.0, 0.0)}, {}, "the threshold is"),
    "noise in the response": ({"noise": (0.5, 0.4e5)}, {}, "the tenth of the response is"),
    "a slow logger": ({"rate": 50.0}, {}, "openings show no event before them"),
    "few events": ({}, {"between": (0.0, 12.0)}, "events are answered; 20 are needed"),
    "a threshold never passed": ({}, {"threshold": 900.0}, "0 events are answered"),
    "bumps that the valve ignores": ({}, {"threshold": 20.0}, "events count from 20 m/s², and the valve opens at 4"),
    "bumps that it has answered": ({}, {"threshold": 60.0}, "events count from 60 m/s², and the valve opens at 4"),
}


@pytest.mark.parametrize("why", CANNOT)
def test_a_logger_that_cannot_tell_says_so(tape, why):
    faults, how, told = CANNOT[why]
    log = tape.log(**{"rate": 500.0} | faults)
    if "between" in how:
        log = log.between(*how["between"])
    found = response_times(log, threshold=how.get("threshold", 40.0))
    assert any(told in reason for reason in found.cannot), found.cannot
    assert found.judge(3e-3).startswith("This logger cannot tell: ")
    assert "This logger cannot tell" in repr(found)


def test_a_verdict_counts_all_doubt(tape):
    found = response_times(tape.log(1000.0).between(0.0, 38.0))
    assert found.cannot == ()
    assert found.judge(8e-3) == "confirmed"
    assert found.judge(5e-3) == "refuted"
    assert found.judge(7e-3).startswith("This logger cannot tell: 8 ms lies within")
    assert "no number of events takes away 2.00 ms" in found.judge(5e-3, skew=2e-3)
    assert "events would do" in found.judge(8e-3, tolerance=0.5 * found.to_63.half)
    assert found.judge(5e-3, skew=0.5e-3) == "refuted"
    assert found.judge(2e-3, skew=2e-3) == "refuted"  # a doubt of 2 ms and more, and all of it above 3 ms
    assert found.judge(12e-3, skew=2e-3).startswith("This logger cannot tell")  # nothing is confirmed on such a doubt
    with pytest.raises(ValueError, match="claim is 50 s"):
        found.judge(50)


def test_a_log_with_holes_and_without_channels(tape):
    log = tape.log(500.0)
    pressure = log.pressure.copy()
    pressure[::400] = np.nan
    holed = response_times(Log("holed", log.time, log.channels | {"pressure": pressure}))
    assert holed.spoilt > 0
    assert abs(holed.to_63.value - 0.008) < holed.to_63.half + 2e-4
    with pytest.raises(LogError, match="response is 'current'; needed are wheel_acceleration"):
        response_times(log, response="current")
    step = response_times(log, response="valve_command")
    assert step.dead_time.value == pytest.approx(step.to_90.value)  # an order has no lag


def test_the_log_that_ships_gives_back_its_truth():
    """`make_log.py` writes it; each of its faults is told, and every true number lies in its interval."""
    log = load_log(make_log.PATH)
    assert log.rate == pytest.approx(500.0, rel=1e-6)
    for told in (
        "A byte-order mark",
        "Decimal commas",
        "Time went back 1 times",
        "1 rows repeat",
        "3 gaps, together 15",
    ):
        assert any(line.startswith(told) for line in log.found), told
    times = response_times(log)
    assert times.cannot == ()
    for name, value in make_log.TRUTH.items():
        assert abs(getattr(times, name).value - value) < getattr(times, name).half, name
    assert abs(times.threshold.value - 40.0) < times.threshold.half
    assert times.definitions["63 % (ms)"] == pytest.approx(1e3 * times.to_63.value)
    made = load_log(make_log.packed(make_log.rows()))
    assert np.abs(made.pressure - log.pressure).max() <= 1.01 * 0.05e5  # a rounding, on another processor
    assert np.array_equal(made.time, log.time)
