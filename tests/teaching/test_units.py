"""Reading what a learner typed: numbers with units in every spelling, and one sentence for what cannot be read."""

import math

import pytest

from helpers.teaching.units import AnswerError, read_quantity, with_unit


@pytest.mark.parametrize(
    "answer, unit, value",
    [
        ("2.3 Hz", "Hz", 2.3),
        ("2.3Hz", "Hz", 2.3),
        ("2,3 Hz", "Hz", 2.3),
        ("0,125 m", "mm", 125),
        ("f = 2.3 Hz", "Hz", 2.3),
        ("1 200 N", "N", 1200),
        ("2×10³ N", "N", 2000),
        ("2.1e3 N", "kN", 2.1),
        (".5 m", "m", 0.5),
        ("−5 mm", "m", -0.005),
        ("36 km/h", "m/s", 10),
        ("12.5 €/h", "euro/h", 12.5),
        ("3 euro/min", "euro/h", 180),
        ("3 m/s²", "m/s^2", 3),
        ("3 m/s2", "m/s^2", 3),
        ("3 s⁻¹", "Hz", 3),
        ("2 rev/s", "Hz", 2),
        ("0.9 kNs/m", "N*s/m", 900),
        ("9 N·s/m", "N*s/m", 9),
        ("9 N s/m", "N*s/m", 9),
        ("90°", "rad", math.pi / 2),
        ("20 °C", "degC", 20),
        ("20 °C", "K", 293.15),
        ("35 %", "", 0.35),
        ("0.35", "", 0.35),
        (0.35, "", 0.35),
        ((2.3, "Hz"), "Hz", 2.3),
        (("2.3", "kHz"), "Hz", 2300),
        ([2, "hz"], "Hz", 2),
        ("1 Wh", "J", 3600),
        ("1 bar", "Pa", 1e5),
        ("4 h 21 min", "h", 4.35),
        ("55 cells", "", 55),
        # one inch is 25.4 mm exactly, one pound-force 4.448222 N (NIST SP 811, from memory)
        ("1 inch", "mm", 25.4),
        ("1 lbf", "N", 4.4482216),
    ],
)
def test_a_quantity_is_read(answer, unit, value):
    assert read_quantity(answer, unit) == pytest.approx(value, rel=1e-7)


@pytest.mark.parametrize(
    "answer, unit, value",
    [
        ("1 Hz", "rad/s", 2 * math.pi),
        ("6.283185307 rad/s", "Hz", 1),
        ("60 rpm", "Hz", 1),
        ("60 rpm", "rad/s", 2 * math.pi),
        ("1 1/s", "rad/s", 1),
        ("1 1/s", "Hz", 1),
        ("1 kHz", "rad/s", 2000 * math.pi),
        ("360 deg/s", "Hz", 1),
    ],
)
def test_a_turn_per_second_is_two_pi_radians_per_second(answer, unit, value):
    """ISO 80000-3: angular frequency is 2 pi times frequency (from memory)."""
    assert read_quantity(answer, unit) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    "answer, unit, says",
    [
        ("2.3", "Hz", "has no unit yet: add one, such as Hz"),
        (2.3, "N*s/m", "such as N·s/m"),
        ((2.3, ""), "Hz", "no unit"),
        ("2.3 m", "Hz", "the question asks for Hz"),
        ("2.3 m", "", "asks for a plain number"),
        ("1,200 N", "N", "comma"),
        ("1.200,5 N", "N", "comma"),
        ("nan Hz", "Hz", "no number"),
        (math.nan, "Hz", "not a finite number"),
        (math.inf, "", "not a finite number"),
        ("1e999 m", "m", "not a finite number"),
        ("Hz", "Hz", "no number"),
        (True, "", "not a finite number"),
        ([10**9999], "", "not a finite number"),
        ("2 foo", "m", "`foo` is not known"),
        ("2 m^9^9^9^9", "m", "is not known"),
        ("2 m**(9**9**9)", "m", "is not known"),
        ("1/3 m", "m", "is a fraction"),
        ("2 __import__('os')", "m", "is not known"),
        (("2 m", "m"), "m", "unit once"),
        ("9" * 100, "", "too long"),
        ("85 to 415 h", "h", "is a range: give the one number"),
        ("5-7 Hz", "Hz", "is a range"),
        ("5–7", "", "is a range"),
        ("½ m", "m", "is a fraction"),
        ("2½ m", "m", "is a fraction"),
        ("5 ± 1 Hz", "Hz", "is a range"),
        ("15 milliseconds after the first contact.", "ms", "is not known"),
        ("2 1111111**1111111", "m", "is not known"),
        ((2, "m" * 1000), "m", "too long"),
        ("2\x00 m", "m", "is not known"),
        ("two metres", "m", "no number"),
        ("2 cells", "V", "is not known"),
        ("4 h 210 min", "h", "is not known"),
        ([1, 2, 3], "m", "not a finite number"),
        (2j, "", "not a finite number"),
    ],
)
def test_what_cannot_be_read_gets_one_sentence(answer, unit, says):
    with pytest.raises(AnswerError) as caught:
        read_quantity(answer, unit)
    assert says in str(caught.value)
    assert str(caught.value).endswith(".") and "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "text, unit, value",
    [
        ("10^7", "", 1e7),
        ("10⁷", "", 1e7),
        ("10**-3 m", "m", 1e-3),
        ("-10^2 W", "W", -100),
        ("q = 10⁴ 1/s⁴", "1/s^4", 1e4),
        ("2·10⁶ N/m", "N/m", 2e6),
        ("10 m^2", "m^2", 10),
    ],
)
def test_powers_of_ten_are_read(text, unit, value):
    assert read_quantity(text, unit) == pytest.approx(value, rel=1e-12)


def test_a_quantity_of_the_units_library_is_an_answer():
    import pint

    assert read_quantity(pint.UnitRegistry().Quantity(0.9, "kN*s/m"), "N*s/m") == pytest.approx(900)


@pytest.mark.parametrize(
    "value, unit, text",
    [
        (2.3456, "Hz", "2.35 Hz"),
        (1234.5, "N*s/m", "1230 N·s/m"),
        (0, "m", "0 m"),
        (1e-5, "m/s^2", "10⁻⁵ m/s²"),
        (0.35, "", "0.35"),
        (1e7, "1/s^4", "10⁷ 1/s⁴"),
        (-2e6, "N/m", "-2·10⁶ N/m"),
        (1.25e8, "", "1.25·10⁸"),
        (280, "A/W^0.5", "280 A/√W"),
    ],
)
def test_numbers_are_written_for_reading(value, unit, text):
    assert with_unit(value, unit) == text


# ---- numeric exercises
