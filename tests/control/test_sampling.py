"""Sampling, holding and delay against Astrom and Wittenmark, scipy and python-control."""

import math

import control
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from fleet import FLEET
from helpers.control import sampling
from helpers.models import quarter_car

INTEGRATOR = ([[0.0]], [1.0])
DOUBLE = ([[0.0, 1.0], [0.0, 0.0]], [0.0, 1.0])


def test_seven_hertz_sampled_at_ten_appears_as_three():  # derived: 10 - 7
    assert sampling.alias(7.0, 10.0) == pytest.approx(3.0, abs=1e-12)
    n = np.arange(50)
    np.testing.assert_allclose(np.cos(2 * np.pi * 7 * n / 10), np.cos(2 * np.pi * 3 * n / 10), atol=1e-12)


@given(st.floats(0.0, 2000.0), st.floats(10.0, 1000.0))
def test_a_folded_line_has_the_same_samples(frequency, rate):
    folded = sampling.alias(frequency, rate)
    assert 0.0 <= folded <= rate / 2 * (1 + 1e-9)
    n = np.arange(20)
    given, seen = (np.cos(2 * np.pi * f * n / rate) for f in (frequency, folded))
    np.testing.assert_allclose(given, seen, atol=1e-6)


@pytest.mark.parametrize("order", [1, 2, 3, 4])
def test_butterworth_filter_is_scipys(order):
    b, a = signal.butter(order, 2 * math.pi * 30.0, analog=True)
    frequency = np.array([0.01, 5.0, 30.0, 200.0])
    expected = signal.freqs(b, a, 2 * np.pi * frequency)[1]
    np.testing.assert_allclose(sampling.butterworth_response(frequency, 30.0, order), expected, rtol=1e-9)
    np.testing.assert_allclose(sampling.butterworth_gain(frequency, 30.0, order), np.abs(expected), rtol=1e-9)
    # Group delay at low frequency: minus the slope of the phase.
    slow = np.array([1e-3, 2e-3])
    phase = np.unwrap(np.angle(signal.freqs(b, a, 2 * np.pi * slow)[1]))
    assert sampling.butterworth_delay(30.0, order) == pytest.approx(
        (phase[0] - phase[1]) / (2 * math.pi * 1e-3), rel=1e-5
    )


@pytest.mark.parametrize("order", [1, 2, 4])
def test_cutoff_weakens_the_first_line_that_folds_into_the_band(order):
    cutoff = sampling.cutoff_for(1000.0, 30.0, 0.1, order)
    assert sampling.butterworth_gain(970.0, cutoff, order) == pytest.approx(0.1, rel=1e-12)
    assert sampling.alias(970.0, 1000.0) == pytest.approx(30.0)


def test_five_times_the_rate_at_equal_rejection_shortens_the_filter_delay_as_far_as_its_cutoff_moves():
    slow, fast = (sampling.butterworth_delay(sampling.cutoff_for(r, 20.0, 0.1, 2), 2) for r in (200.0, 1000.0))
    assert slow / fast == pytest.approx(980.0 / 180.0, rel=1e-12)


def test_hold_is_a_sinc_with_half_a_period_of_lag():  # derived; Franklin, Powell and Workman, zero-order hold
    for frequency in (0.5, 10.0, 49.0):
        s = 2j * math.pi * frequency
        expected = (1 - np.exp(-s * 0.01)) / (s * 0.01)
        assert sampling.hold_response(frequency, 100.0) == pytest.approx(expected, rel=1e-12)
        assert np.angle(sampling.hold_response(frequency, 100.0)) == pytest.approx(-math.pi * frequency * 0.01)


def test_double_integrator_sampled():  # Astrom and Wittenmark: Phi = [[1, h], [0, 1]], Gamma = [h^2 / 2, h]
    phi, gamma = sampling.sampled(*DOUBLE, 0.4)
    np.testing.assert_allclose(phi, [[1.0, 0.4], [0.0, 1.0]], atol=1e-15)
    np.testing.assert_allclose(gamma, [0.08, 0.4], atol=1e-15)


def test_motor_with_integration_sampled_at_one_second():
    """1 / (s (s + 1)), held, T = 1 s: (0.3679 z + 0.2642) / (z^2 - 1.3679 z + 0.3679), from memory of the textbook."""
    phi, gamma = sampling.sampled([[0.0, 1.0], [0.0, -1.0]], [0.0, 1.0], 1.0)
    numerator, denominator = signal.ss2tf(phi, gamma[:, None], [[1.0, 0.0]], [[0.0]])
    np.testing.assert_allclose(numerator[0], [0.0, 0.3679, 0.2642], atol=5e-5)
    np.testing.assert_allclose(denominator, [1.0, -1.3679, 0.3679], atol=5e-5)


@pytest.mark.parametrize("vehicle", FLEET.values(), ids=lambda vehicle: vehicle.name)
def test_a_quarter_car_without_delay_is_scipys(vehicle):
    model = quarter_car.numeric_state_space(vehicle)
    a, b = model.A, model.B[:, -1]
    expected = signal.cont2discrete((a, b[:, None], np.eye(4), np.zeros((4, 1))), 0.005)
    phi, gamma = sampling.sampled(a, b, 0.005)
    np.testing.assert_allclose(phi, expected[0], rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(gamma, expected[1].ravel(), rtol=1e-9, atol=1e-12)


@given(st.floats(0.0, 3.5), st.integers(0, 1000))
def test_a_late_input_moves_the_plant_as_stepping_by_hand_does(delay, seed):
    """Reference: the continuous solution pieced together wherever the held, late input changes."""
    period, draw = 0.7, np.random.default_rng(seed)
    a, b = np.array([[0.0, 1.0], [-4.0, -0.6]]), np.array([0.0, 1.0])
    inputs = draw.normal(size=9)
    phi, gamma = sampling.sampled(a, b, period, delay)
    state = np.zeros(gamma.size)
    state[:2] = draw.normal(size=2)
    expected = state[:2].copy()
    for command in inputs:
        state = phi @ state + gamma * command
    plant = signal.StateSpace(a, b[:, None], np.eye(2), np.zeros((2, 1)))
    end = period * inputs.size
    edges = np.unique(np.r_[0.0, end, [t for t in delay + period * np.arange(inputs.size) if 0.0 < t < end]])
    for start, stop in zip(edges[:-1], edges[1:], strict=True):
        number = math.floor((0.5 * (start + stop) - delay) / period)
        held = inputs[number] if number >= 0 else 0.0
        if stop - start > 1e-12:
            span = stop - start
            p, g, *_ = signal.cont2discrete((plant.A, plant.B, plant.C, plant.D), span)
            expected = p @ expected + g.ravel() * held
    np.testing.assert_allclose(state[:2], expected, rtol=1e-7, atol=1e-7)


@pytest.mark.parametrize(("delay", "limit"), [(0.0, 2.0), (1.0, 1.0)])
def test_sampled_integrator_is_stable_up_to_its_limit(delay, limit):
    """k T < 2; with one sample of delay k T < 1 (derived from z^2 - z + k T)."""
    assert sampling.growth(*INTEGRATOR, [0.999 * limit], 1.0, delay) < 1.0
    assert sampling.growth(*INTEGRATOR, [1.001 * limit], 1.0, delay) > 1.0


def test_integrator_with_delay_bears_half_a_pi_over_its_gain():  # derived: k tau < pi / 2
    margin = sampling.delay_margin(lambda f: 3.0 / (2j * np.pi * f))
    assert margin.delay == pytest.approx(math.pi / 6.0, rel=1e-9)
    # Sampled far faster than that, the loop dies out just inside the limit and grows just outside.
    assert sampling.growth(*INTEGRATOR, [3.0], 0.002, math.pi / 6.0 - 0.006) < 1.0
    assert sampling.growth(*INTEGRATOR, [3.0], 0.002, math.pi / 6.0 + 0.006) > 1.0


@pytest.mark.parametrize("vehicle", FLEET.values(), ids=lambda vehicle: vehicle.name)
def test_delay_margin_of_a_skyhook_loop_is_python_controls(vehicle):
    model = quarter_car.numeric_state_space(vehicle)
    gains = np.array([0.0, 2.0 * vehicle.damping, 0.0, 0.0])
    ours = sampling.delay_margin(sampling.loop_response(model.A, model.B[:, -1], gains))
    loop = control.ss(model.A, model.B[:, -1:], gains[None, :], 0.0)
    _, phases, _, _, crossings, _ = control.stability_margins(loop, returnall=True)
    delays = np.radians(np.mod(phases, 360.0)) / crossings
    assert ours.delay == pytest.approx(delays.min(), rel=1e-6)
    # Sampled at 5 kHz the loop bears that delay less its half period, and no more.
    for share, sign in ((0.97, -1), (1.03, 1)):
        late = share * ours.delay - 0.0001
        assert sign * (sampling.growth(model.A, model.B[:, -1], gains, 0.0002, late) - 1.0) > 0.0


def test_a_hold_costs_about_half_a_period_of_the_delay_margin():
    def loop(f):
        return 3.0 / (2j * np.pi * f)

    plain = sampling.delay_margin(loop).delay
    held = sampling.delay_margin(lambda f: loop(f) * sampling.hold_response(f, 50.0), highest=24.0).delay
    assert plain - held == pytest.approx(0.5 / 50.0, rel=0.02)


def test_pade_of_a_delay_is_close_to_it_where_the_loop_crosses():
    """Pade (2,2): (12 - 6 s T + s^2 T^2) / (12 + 6 s T + s^2 T^2), as `control.pade` gives it."""
    top, bottom = control.pade(0.02, 2)
    np.testing.assert_allclose(np.array(top) / top[0], [1.0, -6 / 0.02, 12 / 0.02**2], rtol=1e-9)
    np.testing.assert_allclose(np.array(bottom) / bottom[0], [1.0, 6 / 0.02, 12 / 0.02**2], rtol=1e-9)
    s = 2j * math.pi * 5.0
    # The first term that it leaves out of the series is (s T)^5 / 720.
    left_out = abs(s * 0.02) ** 5 / 720
    error = abs(np.polyval(top, s) / np.polyval(bottom, s) - np.exp(-s * 0.02))
    assert error == pytest.approx(left_out, rel=0.05)


@pytest.mark.parametrize(
    ("band", "rejection", "told"),
    [
        (150.0, 0.1, "Anti-alias filter: band is 150 Hz; allowed is 0 to 99.8 Hz."),
        (20.0, 0.0, "Anti-alias filter: rejection is 0; allowed is 1e-06 to 0.999."),
    ],
)
def test_bad_values_get_one_sentence(band, rejection, told):
    with pytest.raises(ValueError) as raised:
        sampling.cutoff_for(200.0, band, rejection, 2)
    assert str(raised.value) == told
