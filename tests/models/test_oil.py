"""Oil against ISO 3448, a worked example of the Walther relation, and Wood's mixture of liquid and bubbles."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.models.oil import ATMOSPHERE, DAMPER_OIL, GRADES, ZERO_CELSIUS, Liquid, Oil, Walther, grade_band, grade_of

temperatures = st.floats(ZERO_CELSIUS - 20.0, ZERO_CELSIUS + 120.0)


@pytest.mark.parametrize("grade, low, high", [(2, 1.98, 2.42), (15, 13.5, 16.5), (32, 28.8, 35.2), (46, 41.4, 50.6)])
def test_viscosity_grades(grade, low, high):
    # ISO 3448 (as reprinted), limits of the kinematic viscosity at 40 degrees Celsius, mm2/s.
    assert grade_band(grade) == pytest.approx((low * 1e-6, high * 1e-6), rel=1e-12)


def test_each_grade_is_half_as_thick_again():
    # ISO 3448 (as reprinted): about fifty per cent from one grade to the next, and no two bands overlap.
    middles = np.array(list(GRADES.values()))
    assert middles[1:] / middles[:-1] == pytest.approx(1.5, abs=0.07)
    assert all(grade_band(a)[1] < grade_band(b)[0] for a, b in zip(GRADES, list(GRADES)[1:], strict=False))
    assert grade_of(32e-6) == 32
    assert grade_of(DAMPER_OIL.viscosity_40) == 15
    assert grade_of(38e-6) is None


def test_walther_worked_example():
    # ASTM D341 worked by hand in a published sheet, zero Celsius taken as 273 K: 32 mm2/s at 40 and 5.4 at 100 degrees
    # give A = 9.5259, B = 3.7449 and 8.5 mm2/s at 80 degrees.
    relation = Walther.through((313.0, 32e-6), (373.0, 5.4e-6))
    assert relation.a == pytest.approx(9.5259, abs=5e-5)
    assert relation.b == pytest.approx(3.7449, abs=5e-5)
    assert relation.viscosity(353.0) == pytest.approx(8.5e-6, abs=0.05e-6)


def test_oil_passes_through_its_data_sheet():
    assert DAMPER_OIL.kinematic_viscosity(ZERO_CELSIUS + np.array([40.0, 100.0])) == pytest.approx(
        [DAMPER_OIL.viscosity_40, DAMPER_OIL.viscosity_100], rel=1e-9
    )
    at = DAMPER_OIL.at(ZERO_CELSIUS + 15.0)
    assert at.density == pytest.approx(860.0, rel=1e-12)
    assert at.viscosity == pytest.approx(860.0 * DAMPER_OIL.kinematic_viscosity(ZERO_CELSIUS + 15.0), rel=1e-12)


@given(temperatures, st.floats(0.5, 20.0))
def test_warmer_oil_is_thinner_and_lighter(temperature, warmer):
    assert DAMPER_OIL.kinematic_viscosity(temperature + warmer) < DAMPER_OIL.kinematic_viscosity(temperature)
    assert DAMPER_OIL.density(temperature + warmer) < DAMPER_OIL.density(temperature)


def test_expansion_of_mineral_oil():
    # Common figure of handbooks (from memory): about 0.7 per cent of volume for ten kelvin.
    litres = DAMPER_OIL.density(ZERO_CELSIUS + 15.0) / DAMPER_OIL.density(ZERO_CELSIUS + 25.0)
    assert litres == pytest.approx(1.007, abs=1e-6)


def test_sound_in_bubbly_water():
    # Brennen, Cavitation and Bubble Dynamics (from memory): bubbles that stay at the liquid's temperature bring the
    # speed of sound at one atmosphere down to about 20 m/s at half gas, against 1480 m/s in water alone.
    water = dict(viscosity_40=2e-6, viscosity_100=1e-6, bulk_modulus=2.19e9, exponent=1.0)
    half = Oil(**water, gas_share=0.5)
    assert math.sqrt(half.stiffness(ATMOSPHERE) / (0.5 * 998.0)) == pytest.approx(20.0, abs=0.5)
    assert math.sqrt(Oil(**water, gas_share=0.0).stiffness(ATMOSPHERE) / 998.0) == pytest.approx(1480.0, abs=5.0)


@given(st.floats(1e-4, 0.3), st.floats(1.0, 1.6))
def test_wood_at_one_atmosphere(share, exponent):
    # Wood, A Textbook of Sound (1930): compressibilities add by volume.
    mixed = Oil(15e-6, 4e-6, gas_share=share, exponent=exponent).stiffness(ATMOSPHERE)
    assert 1.0 / mixed == pytest.approx((1.0 - share) / 1.5e9 + share / (exponent * ATMOSPHERE), rel=1e-9)


@given(st.floats(2e5, 2e7), st.floats(1e-3, 0.2))
def test_stiffness_is_minus_v_dp_by_dv(pressure, share):
    # The definition, by a small step of the volume of liquid and bubbles.
    oil = Oil(15e-6, 4e-6, gas_share=share)

    def volume(p):
        bubbles = share * (ATMOSPHERE / p) ** (1.0 / oil.exponent)
        return (1.0 - share) * math.exp(-(p - ATMOSPHERE) / oil.bulk_modulus) + bubbles

    step = 1e-4 * pressure
    slope = (volume(pressure + step) - volume(pressure - step)) / (2.0 * step)
    assert oil.stiffness(pressure) == pytest.approx(-volume(pressure) / slope, rel=1e-6)


def test_pressure_hides_the_gas():
    at_5, at_100 = DAMPER_OIL.stiffness([5e5, 1e7])
    assert at_5 < 0.3 * DAMPER_OIL.bulk_modulus
    assert 0.95 * DAMPER_OIL.bulk_modulus < at_100 < DAMPER_OIL.bulk_modulus


@pytest.mark.parametrize(
    "make, told",
    [
        (lambda: grade_band(20), "grade is 20"),
        (lambda: Oil(4e-6, 15e-6), "warmer and thinner"),
        (lambda: Oil(15e-6, 4e-6, gas_share=-0.1), "Oil: gas_share is -0.1; allowed is 0 to 0.5."),
        (lambda: DAMPER_OIL.at(20.0), "temperature is 20 K; allowed is 230 to 450 K."),
        (lambda: DAMPER_OIL.stiffness(-1e5), "pressure is -100000 Pa; allowed is an absolute pressure above 0 Pa."),
        (lambda: Liquid(0.0, 0.01), "density is 0 kg/m3"),
    ],
)
def test_bad_input_is_one_sentence(make, told):
    with pytest.raises(ValueError) as raised:
        make()
    assert told in str(raised.value)
    assert str(raised.value).count("\n") == 0
