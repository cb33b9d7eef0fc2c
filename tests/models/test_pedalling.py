"""The pedal stroke against Fourier's series of |sin|, and the wheel's answer to it against the equations of motion."""

import math

import numpy as np
import pytest
import sympy as sp
from scipy.integrate import quad

from fleet import FLEET, TRAIL_BIKE
from helpers.models.pedalling import Pedalling, pedalled_wheel_acceleration, wheel_over_push
from helpers.models.quarter_car import compiled, k_t, numbers, s

BOTH = [Pedalling(), Pedalling(ripple=1.0)]


def spectrum(pedalling, count=2**14):
    """Complex amplitudes of the push at whole multiples of the stroke rate, over ten strokes."""
    time = np.arange(count) * 10.0 / pedalling.strokes / count
    return np.fft.rfft(pedalling.push(time))[::10] * 2.0 / count


def test_the_plain_stroke_is_a_sine_at_twice_the_cadence():
    """Two legs push in each turn of the cranks (common practice, no source)."""
    time = np.linspace(0.0, 3.0, 500)
    np.testing.assert_array_equal(Pedalling().push(time), -110.0 * np.sin(2.0 * math.pi * 2.0 * (80.0 / 60.0) * time))


def test_mean_of_the_rectified_sine_is_two_over_pi_of_its_peak():
    """The mean of |sin| is 2/pi (any table of integrals); torque vanishes at the dead centres."""
    pedalling = Pedalling(ripple=1.0)
    time = np.linspace(0.0, 1.0 / pedalling.strokes, 200_001)
    torque = pedalling.torque_over_mean(time)
    assert torque.mean() / torque.max() == pytest.approx(2.0 / math.pi, rel=1e-5)
    assert quad(lambda angle: abs(math.sin(angle)), 0.0, math.pi)[0] / math.pi == pytest.approx(2.0 / math.pi)
    assert torque.min() == pytest.approx(0.0, abs=1e-4)
    assert torque.max() == pytest.approx(math.pi / 2.0)


@pytest.mark.parametrize("ripple", [0.0, 0.4, 1.0])
def test_harmonics_are_those_of_the_rectified_sine(ripple):
    """|sin x| = 2/pi - 4/pi sum cos(2 k x) / (4 k^2 - 1): each part 3 / (4 k^2 - 1) of the first."""
    amplitudes = spectrum(Pedalling(ripple=ripple))
    assert abs(amplitudes[0]) < 1e-3
    assert abs(amplitudes[1]) == pytest.approx(110.0, rel=1e-5)
    for k in range(2, 8):
        share = ripple * 3.0 / (4.0 * k**2 - 1.0)
        assert abs(amplitudes[k]) == pytest.approx(110.0 * share, rel=1e-3, abs=1e-4)
        assert abs(Pedalling(ripple=ripple).harmonic(k)) == pytest.approx(110.0 * share, rel=1e-12)


@pytest.mark.parametrize("vehicle", FLEET.values(), ids=lambda vehicle: vehicle.name)
@pytest.mark.parametrize("hertz", [0.5, 2.67, 8.0, 20.0])
def test_wheel_over_push_solves_the_equations_of_motion(vehicle, hertz):
    """Two complex equations with a force of one newton on the body and a ground at rest."""
    q = 2j * math.pi * hertz
    mass, wheel, spring, tyre, damping = numbers(vehicle)
    link = spring + damping * q
    matrix = [[mass * q**2 + link, -link], [-link, wheel * q**2 + link + tyre]]
    expected = q**2 * np.linalg.solve(matrix, [1.0, 0.0])[1]
    found = compiled(wheel_over_push(), s)(q, *numbers(vehicle))
    assert found == pytest.approx(expected, rel=1e-10)


def test_limits_of_the_wheels_answer():
    """Slowly, the tyre alone carries the push: the wheel sinks by 1/k_t. On a rigid tyre the wheel stands still."""
    ratio = wheel_over_push()
    assert sp.simplify(sp.limit(ratio / s**2, s, 0) - 1 / k_t) == 0
    assert sp.limit(ratio, k_t, sp.oo) == 0


@pytest.mark.parametrize("pedalling", BOTH, ids=["sine", "ripple"])
def test_the_closed_form_is_the_sum_of_the_harmonics(pedalling):
    """The push's spectrum times the response, back to time."""
    amplitudes = spectrum(pedalling)[:41]
    response = compiled(wheel_over_push(), s)
    turns = np.linspace(0.0, 1.0, 2001)
    rates = 2j * math.pi * pedalling.strokes * np.arange(1, 41)
    answer = sum(
        np.real(amplitude * response(rate, *numbers(TRAIL_BIKE)) * np.exp(2j * math.pi * k * turns))
        for k, (amplitude, rate) in enumerate(zip(amplitudes[1:], rates, strict=True), start=1)
    )
    assert pedalled_wheel_acceleration(TRAIL_BIKE, pedalling=pedalling) == pytest.approx(np.abs(answer).max(), rel=2e-3)


def test_nobody_pedals_a_motorcycle():
    assert pedalled_wheel_acceleration(FLEET["motorcycle"]) == 0.0
