"""Weightings against the tables of the standards, and the filter against the transfer function it stands for."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal as scipy_signal

from helpers.simulation.weighting import (
    HAND_ARM,
    WHOLE_BODY,
    comfort_band,
    daily_exposure,
    maximum_transient,
    running_rms,
    time_until,
    vibration_dose,
    weighted_rms,
    weighting,
)

# ISO 2631-1 Table 3 (as reprinted): Wk x 1000 at the nominal third-octave centres in Hz.
WK_TABLE = {
    0.5: 418, 0.63: 459, 0.8: 477, 1: 482, 1.25: 484, 1.6: 494, 2: 531, 2.5: 631, 3.15: 804, 4: 967, 5: 1039, 6.3: 1054,
    8: 1036, 10: 988, 12.5: 902, 16: 768, 20: 636, 25: 513, 31.5: 405, 40: 314, 50: 246, 63: 186, 80: 132,
}  # fmt: skip

# ISO 5349-1 Table A.2 (as reprinted): Wh at the exact third-octave centres 10^(i/10) Hz, i = 8 to 15.
WH_TABLE = {8: 0.727, 9: 0.873, 10: 0.951, 11: 0.958, 12: 0.896, 13: 0.782, 14: 0.647, 15: 0.519}


@pytest.mark.parametrize(("nominal", "factor"), WK_TABLE.items())
def test_wk_equals_the_table_at_nominal_centres(nominal, factor):
    assert abs(weighting("Wk").response(nominal)) * 1000 == pytest.approx(factor, rel=0.0035)


@pytest.mark.parametrize(("index", "factor"), WH_TABLE.items())
def test_wh_equals_the_table_at_exact_centres(index, factor):
    assert abs(weighting("Wh").response(10 ** (index / 10))) == pytest.approx(factor, rel=0.0035)


def test_wk_at_100_rad_per_second():
    # ISO 8041 (as reprinted): reference frequency 100 rad/s, Wk = 0.7718.
    assert abs(weighting("Wk").response(100 / (2 * math.pi))) == pytest.approx(0.7718, abs=5e-5)


def test_wd_reference_factor_and_shape():
    # ISO 8041 (from memory): Wd = 0.1261 at 100 rad/s. Near 1 about 1 Hz, falling as 1/f above: ISO 2631-1.
    wd = weighting("Wd")
    assert abs(wd.response(100 / (2 * math.pi))) == pytest.approx(0.1261, rel=2e-3)
    assert abs(wd.response(1.0)) == pytest.approx(1.0, abs=0.02)
    assert abs(wd.response(20.0)) / abs(wd.response(40.0)) == pytest.approx(2.0, rel=0.02)


@pytest.mark.parametrize("name", ["Wk", "Wd", "Wh", "Wj"])
@pytest.mark.parametrize("frequency", [1.0, 5.0, 16.0, 80.0, 200.0, 400.0])
def test_filtered_sine_has_the_size_and_phase_of_the_response(name, frequency):
    rate, time = 1000.0, np.arange(40_000) / 1000.0
    out = weighting(name).filter(np.sin(2 * np.pi * frequency * time), rate)
    response = weighting(name).response(frequency)
    settled = slice(20_000, 30_000)  # whole periods of every frequency here
    found = 2 * np.mean(out[settled] * np.exp(-2j * np.pi * frequency * time[settled])) * 1j
    assert found == pytest.approx(response, abs=2e-4 * abs(response) + 1e-6)


def test_filter_agrees_with_the_analogue_filter_solved_by_scipy():
    # scipy.signal.lsim of the same transfer function, exact for a signal that is straight between its samples.
    def quadratic(frequency, q):
        return np.array([1 / (2 * np.pi * frequency) ** 2, 1 / (q * 2 * np.pi * frequency), 1.0])

    half = math.sqrt(0.5)
    top = np.polymul([1 / (2 * np.pi * 0.4) ** 2, 0.0, 0.0], [1 / (2 * np.pi * 12.5), 1.0])
    top = np.polymul(top, quadratic(2.37, 0.91)) * (2.37 / 3.35) ** 2
    bottom = np.polymul(quadratic(0.4, half), quadratic(100.0, half))
    bottom = np.polymul(np.polymul(bottom, quadratic(12.5, 0.63)), quadratic(3.35, 0.91))

    rate, time = 1000.0, np.arange(6000) / 1000.0
    bump = np.exp(-(((time - 1.0) / 0.05) ** 2)) * np.sin(2 * np.pi * 7 * time)
    _, expected, _ = scipy_signal.lsim((top, bottom), bump, time)
    assert weighting("Wk").filter(bump, rate) == pytest.approx(expected, abs=2e-3 * np.abs(expected).max())


def test_filter_does_not_answer_before_the_signal():
    late = np.zeros(5000)
    late[2500:] = np.sin(2 * np.pi * 5 * np.arange(2500) / 1000.0)
    early = weighting("Wk").filter(late, 1000.0)[:2400]
    assert np.abs(early).max() < 1e-4


def test_weighted_rms_of_a_sine():
    time = np.arange(60_000) / 1000.0
    assert weighted_rms(2.0 * np.sin(2 * np.pi * 5.0 * time), 1000.0, "Wk") == pytest.approx(
        math.sqrt(2) * 1.039, rel=0.0035
    )  # the table's factor at 5 Hz


def test_static_acceleration_is_not_felt():
    assert weighted_rms(np.full(600_000, 9.81), 1000.0, "Wk") < 0.1
    assert abs(weighting("Wk").response(0.0)) == 0


def test_running_values_of_a_burst():
    rate = 1000.0
    burst = np.zeros(5000)
    burst[2000:2500] = 3.0
    assert len(running_rms(burst, rate)) == 4001
    assert maximum_transient(burst, rate) == pytest.approx(3.0 * math.sqrt(0.5))  # half a second in a window of one
    assert vibration_dose(burst, rate) == pytest.approx(3.0 * 0.5**0.25)
    assert maximum_transient(burst[2000:2500], rate) == pytest.approx(3.0)  # shorter than the window


@given(st.lists(st.floats(-50, 50), min_size=1, max_size=60), st.floats(0.1, 10))
@settings(max_examples=50, deadline=None)
def test_weighting_is_linear(values, gain):
    one = weighted_rms(values, 100.0, "Wk")
    assert weighted_rms(np.multiply(values, gain), 100.0, "Wk") == pytest.approx(gain * one, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(
    ("value", "words"),
    [  # ISO 2631-1 Annex C (as reprinted)
        (0.0, ("not uncomfortable",)),
        (0.3149, ("not uncomfortable",)),
        (0.315, ("a little uncomfortable",)),
        (0.4, ("a little uncomfortable",)),
        (0.55, ("a little uncomfortable", "fairly uncomfortable")),
        (0.9, ("fairly uncomfortable", "uncomfortable")),
        (1.1, ("uncomfortable",)),
        (1.5, ("uncomfortable", "very uncomfortable")),
        (2.0, ("very uncomfortable",)),
        (2.2, ("very uncomfortable", "extremely uncomfortable")),
        (9.0, ("extremely uncomfortable",)),
    ],
)
def test_comfort_bands(value, words):
    assert comfort_band(value) == words


@given(st.floats(0, 1e5))
def test_every_value_has_a_comfort_band(value):
    assert 1 <= len(comfort_band(value)) <= 2


def test_directive_values_and_verdicts():
    # Directive 2002/44/EC, article 3.
    assert (HAND_ARM.action, HAND_ARM.limit, WHOLE_BODY.action, WHOLE_BODY.limit) == (2.5, 5.0, 0.5, 1.15)
    assert WHOLE_BODY.verdict(0.4) == "below the action value"
    assert WHOLE_BODY.verdict(0.9) == "above the action value"
    assert HAND_ARM.verdict(5.1) == "above the limit value"


def test_daily_exposure():
    # Definition of A(8), Directive 2002/44/EC annex and ISO 5349-1: eight hours count once, two hours half.
    assert daily_exposure(0.7, 8 * 3600) == pytest.approx(0.7)
    assert daily_exposure(0.7, 2 * 3600) == pytest.approx(0.35)
    # ISO 5349-1 Annex: 2, 3.5 and 10 m/s2 for 2.5, 1 and 0.25 h make A(8) = 2.4 m/s2 (from memory).
    assert daily_exposure([2.0, 3.5, 10.0], np.array([2.5, 1.0, 0.25]) * 3600) == pytest.approx(2.4, abs=0.05)
    # Exposure-points arithmetic (from memory): 5 m/s2 reaches the action value of 2.5 after two hours.
    assert time_until(HAND_ARM.action, 5.0) == pytest.approx(2 * 3600)


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: weighting("W"), "weighting: name is 'W'; allowed are Wk, Wd, Wh, Wj."),
        (lambda: comfort_band(-1), "weighted rms acceleration is -1 m/s2; allowed is 0 to 1e+06 m/s2."),
        (lambda: weighting("Wk").filter([1.0], 0.0), "sample rate is 0 Hz; allowed is 1.6 to 1e+07 Hz."),
    ],
)
def test_errors_name_value_field_unit_and_range(call, told):
    with pytest.raises(ValueError) as error:
        call()
    assert told in str(error.value)
