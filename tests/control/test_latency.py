"""The chain from event to valve: its sums against drawing, and against the stepper itself."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from fleet import TRAIL_BIKE
from helpers.control.latency import Chain, Stage, butterworth_delay
from helpers.control.mode_switch import ModeSwitch
from helpers.control.timing import Timing
from helpers.simulation.runs import simulate

CLAIM = Timing(
    sample_rate=200.0, sensor_filter=50.0, compute=0.001, bus=0.0005, jitter=0.002, valve_dead_time=0.003,
    valve_time_constant=0.002,
)  # fmt: skip


def test_a_budget_adds_up():
    chain = Chain.of(CLAIM)
    told = {stage.name: (stage.least, stage.most) for stage in chain.stages}
    assert told["wait for a sample"] == (0.0, 0.005)
    assert told["filter"][0] == pytest.approx(1 / (2 * math.pi * 50))  # of first order: its time constant
    assert told["valve motion"][0] == pytest.approx(0.002 * math.log(2))  # half of an exponential's way
    fixed = 1 / (100 * math.pi) + 0.001 + 0.0005 + 0.003 + 0.002 * math.log(2)
    assert chain.best == pytest.approx(fixed)
    assert chain.worst == pytest.approx(fixed + 0.007)
    assert chain.mean == pytest.approx(fixed + 0.0035)


@pytest.mark.parametrize("order", [1, 2, 3, 4])
def test_a_filters_delay_is_the_slope_of_scipys_phase(order):
    b, a = signal.butter(order, 2 * math.pi * 30.0, analog=True)
    slow = np.array([1e-3, 2e-3])  # Hz
    first, second = np.unwrap(np.angle(signal.freqs(b, a, 2 * np.pi * slow)[1]))
    assert butterworth_delay(30.0, order) == pytest.approx((first - second) / (2 * math.pi * 1e-3), rel=1e-5)


def test_five_times_the_rate_takes_away_only_the_samplings_share():
    """Common practice, no source: 200 Hz and 1 kHz are both in use."""
    slow, fast = (Chain.of(Timing(sample_rate=r, compute=0.001, valve_dead_time=0.003)) for r in (200.0, 1000.0))
    assert slow.worst - fast.worst == pytest.approx(0.004)
    assert slow.mean - fast.mean == pytest.approx(0.002)
    assert slow.best == fast.best == pytest.approx(0.004)
    assert slow.mean / fast.mean == pytest.approx(6.5 / 4.5)


def test_ideal_timing_has_no_stage():
    chain = Chain.of(Timing.ideal())
    assert chain.stages == () and chain.best == chain.mean == chain.worst == chain.deviation == 0
    assert chain.share_within(0.0) == 1.0 and not chain.drawn(3, 1).any()


widths = st.lists(st.floats(1e-4, 0.01), min_size=1, max_size=4)


@given(widths, st.floats(0.0, 1.2))
def test_distribution_agrees_with_drawing(parts, place):
    chain = Chain(tuple(Stage(f"stage {n}", 0.001, 0.001 + width) for n, width in enumerate(parts)))
    drawn = chain.drawn(20_000, seed=3)
    time = chain.best + place * (chain.worst - chain.best)
    assert chain.share_within(time) == pytest.approx(np.mean(drawn <= time), abs=0.02)  # five deviations
    assert drawn.mean() == pytest.approx(chain.mean, abs=5 * chain.deviation / math.sqrt(20_000))
    assert drawn.std() == pytest.approx(chain.deviation, rel=0.03)
    assert chain.best <= drawn.min() and drawn.max() <= chain.worst


def test_sum_of_two_equal_even_stages_is_a_triangle():  # textbook: the square of the unit case's half
    chain = Chain((Stage("a", 0.0, 0.01), Stage("b", 0.0, 0.01)))
    assert chain.share_within(0.005) == pytest.approx(0.125)
    assert chain.share_within(0.010) == pytest.approx(0.5)
    assert chain.share_within(0.015) == pytest.approx(0.875)


def valve_moves_after(timing, event, seed):
    """Time from a jump of the road to the valve's first motion in the stepper, s."""

    def road(time):
        return np.where(np.asarray(time) >= event - 1e-9, 0.02, 0.0)

    law = ModeSwitch(threshold=20.0, hold=0.2, rest=1.0, event=0.0)
    run = simulate(TRAIL_BIKE, road, event + 0.1, law, timing, longest_step=0.0001, log_step=0.0001, seed=seed)
    moved = np.flatnonzero(np.abs(run.valve - run.valve[0]) > 1e-9)
    return run.time[moved[0]] - event


def test_the_stepper_keeps_the_chain_s_bounds():
    """Events at many phases of the sampling; up to two steps of 0.1 ms for finding and logging."""
    timing = Timing(sample_rate=200.0, compute=0.001, bus=0.0005, jitter=0.002, valve_dead_time=0.003)
    chain = Chain.of(timing)
    phases = np.arange(40) * 0.005 / 40
    found = np.array([valve_moves_after(timing, 0.05 + phase, seed) for seed, phase in enumerate(phases)])
    assert chain.best - 0.0002 <= found.min() and found.max() <= chain.worst + 0.0002
    assert found.mean() == pytest.approx(chain.mean, abs=5 * chain.deviation / math.sqrt(found.size))


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: Stage("bus", -0.001, 0.0), "Stage: least is -0.001 s; allowed is 0 to 10 s."),
        (lambda: Stage("bus", 0.002, 0.001), "Stage bus: most is 0.001 s; allowed is 0.002 s, its least, up."),
        (lambda: Chain.of(CLAIM, share=1.0), "Chain: share is 1; allowed is 0 to 0.999."),
    ],
)
def test_bad_values_get_one_sentence(call, told):
    with pytest.raises(ValueError) as raised:
        call()
    assert str(raised.value) == told
