"""Money over years, break-even, shares of variance and verdicts, against libraries, closed forms and the trade."""

import math

import numpy as np
import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.models import economics
from helpers.models.economics import Verdict, annuity, break_even, draws, present_value, shares, tornado, verdict

RATES, YEARS = st.floats(0.001, 1.0), st.integers(1, 60)


# --- money over years, against numpy-financial ------------------------------------------------------------------------


def test_the_handbook_payment():
    """1000 over ten years at 5 %: 50 / (1 - 1.05^-10) = 129.504575, derived; the same of numpy-financial."""
    assert 1000.0 * annuity(0.05, 10) == pytest.approx(129.504575, rel=1e-9)
    assert annuity(0.05, 10) == pytest.approx(-npf.pmt(0.05, 10, 1.0), rel=1e-12)
    assert annuity(0.0, 8) == 0.125
    assert annuity(1e-8, 8) == pytest.approx(0.125, rel=1e-7)


@given(RATES, YEARS, st.floats(0.0, 1.0))
def test_payments_and_values_are_those_of_numpy_financial(rate, years, resale):
    assert annuity(rate, years) == pytest.approx(-npf.pmt(rate, years, 1.0), rel=1e-9)
    flows = [700.0] + [math.sin(k) * 100.0 for k in range(years)]
    assert present_value(flows, rate) == pytest.approx(npf.npv(rate, flows), rel=1e-9, abs=1e-9)
    cost = economics.yearly_cost(900.0, years, rate, resale)
    assert cost == pytest.approx(-npf.pmt(rate, years, 900.0, -900.0 * resale), rel=1e-9, abs=1e-9)
    flows = [900.0, *[0.0] * (years - 1), -900.0 * resale]
    assert present_value(flows, rate) * annuity(rate, years) == pytest.approx(cost, rel=1e-9, abs=1e-9)


def test_arrays_are_taken():
    rates, years = np.array([0.0, 0.03, 0.1]), np.array([4.0, 6.0, 9.0])
    each = [annuity(*pair) for pair in zip(rates, years, strict=True)]
    np.testing.assert_allclose(annuity(rates, years), each, rtol=1e-14)


def test_the_arithmetic_of_the_trade():
    """100 rides of 4 operations of 10 s: 4000 s, 1.11 h a year; 2000 in the first year: 1800 an hour.

    Common practice, no source.
    """
    saved = 100 * 4 * 10 / 3600
    assert saved == pytest.approx(1.11, abs=0.005)
    assert 2000 / saved == pytest.approx(1800.0, rel=1e-12)
    assert economics.yearly_cost(2000, 1, rate=0.0) / saved == pytest.approx(1800.0, rel=1e-12)


# --- which input decides, against closed forms ------------------------------------------------------------------------


def test_shares_of_the_ishigami_function():
    """sin x1 + a sin2 x2 + b x3^4 sin x1, inputs even on (-pi, pi), a 7, b 0.1: Ishigami, Homma (1990), from memory.

    S = 0.3139, 0.4424, 0, ST1 = 0.5576, ST3 = 0.2437, from the integrals; the triangular draws are made even first.
    """
    a, b = 7.0, 0.1
    parts = 0.5 * (1.0 + b * math.pi**4 / 5.0) ** 2, a * a / 8.0, b * b * math.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
    exact = parts[0] / sum(parts), parts[1] / sum(parts), (parts[0] + parts[2]) / sum(parts), parts[2] / sum(parts)
    assert exact == pytest.approx((0.3139, 0.4424, 0.5576, 0.2437), abs=1e-4)

    def even(x):  # distribution function of a triangle from 0 to 1 with its peak at 0, stretched
        return math.pi * (1.0 - 2.0 * (1.0 - x) ** 2)

    def ishigami(x1, x2, x3):
        x1, x2, x3 = even(x1), even(x2), even(x3)
        return np.sin(x1) + a * np.sin(x2) ** 2 + b * x3**4 * np.sin(x1)

    found = shares(ishigami, {name: (0.0, 0.0, 1.0) for name in ("x1", "x2", "x3")}, count=16384)
    alone, together = zip(*found.values(), strict=True)
    assert alone == pytest.approx((exact[0], exact[1], 0.0), abs=0.02)
    assert together == pytest.approx((exact[2], exact[1], exact[3]), abs=0.02)


def test_shares_of_a_sum_are_the_inputs_variances():
    found = shares(lambda x, y: x + 3.0 * y, {"x": (2, 3, 7), "y": (2, 3, 7)})
    assert found["x"] == pytest.approx((0.1, 0.1), abs=0.005)
    assert found["y"] == pytest.approx((0.9, 0.9), abs=0.005)


def test_a_function_that_asks_if_gives_the_same():
    def plainly(x, y):
        return x * y - 2.0 if x > 1.0 else -1.0

    def on_arrays(x, y):
        return np.where(np.asarray(x) > 1.0, x * y - 2.0, -1.0)

    ranges = {"x": (0.5, 1, 3), "y": (1, 2, 3)}
    np.testing.assert_array_equal(draws(plainly, ranges, count=500), draws(on_arrays, ranges, count=500))
    assert shares(plainly, ranges, count=256) == shares(on_arrays, ranges, count=256)


def test_draws_have_the_moments_of_the_handbook():
    """Triangular: mean (a+b+c)/3, variance (a2+b2+c2-ab-ac-bc)/18 (JCGM 100, the GUM, from memory)."""
    found = draws(lambda x: x, {"x": (2.0, 3.0, 7.0)}, count=100_000)
    assert found.mean() == pytest.approx(4.0, rel=0.003)
    assert found.var() == pytest.approx((4 + 9 + 49 - 6 - 14 - 21) / 18.0, rel=0.01)
    np.testing.assert_array_equal(found, draws(lambda x: x, {"x": (2.0, 3.0, 7.0)}, count=100_000))


def test_the_widest_bar_stands_first():
    found = tornado(lambda x, y, z: x - 5.0 * y + z, {"x": (0, 1, 2), "y": (0, 1, 2), "z": (1, 1, 1)})
    assert found == {"y": (2.0, -8.0), "x": (-4.0, -2.0), "z": (-3.0, -3.0)}


# --- verdicts -------------------------------------------------------------------------------------------------------


@given(st.floats(1.0, 100.0), st.floats(1.0, 1000.0))
def test_break_even_is_the_quotient(hours, cost):
    found = break_even(lambda hour, hours, cost: hour * hours - cost, "hour", 0, 1e4, {"hours": hours, "cost": cost})
    assert found == pytest.approx(cost / hours, rel=1e-9)


def test_no_break_even_is_none():
    assert break_even(lambda x, y: x + y, "x", 1, 2, {"y": 1}) is None


def test_three_words():
    """Of a difference of two even ranges the chance is known: (x - y > 0) with x on (0, 1)."""

    def gain(x, y):
        return x - y

    yes, no, depends = (verdict(gain, {"x": (0, 0.5, 1), "y": (at, at, at + 1e-9)}) for at in (0.1, 0.9, 0.5))
    assert (yes.word, no.word, depends.word) == ("yes", "no", "it depends on x")
    assert (yes.chance, no.chance, depends.chance) == pytest.approx((0.98, 0.02, 0.5), abs=0.01)
    assert (
        depends.decides == "x" and depends.turns == pytest.approx(0.5) and depends.share == pytest.approx(1, abs=0.01)
    )
    assert "turns the answer at 0.5." in str(depends)
    certain = verdict(gain, {"x": (3, 3, 3), "y": (2, 2, 2)})
    assert (certain.word, certain.chance, certain.share, certain.turns) == ("yes", 1.0, 0.0, None)
    never = verdict(gain, {"x": (0, 0.5, 1), "y": (2, 2, 3)})
    assert never.turns is None and "turns" not in str(never)


@pytest.mark.parametrize(("chance", "told"), [(0.9961, "over 99"), (0.004, "under 1"), (1.0, "100"), (0.0, "0")])
def test_nearly_all_draws_are_not_all(chance, told):
    assert f"It pays in {told} of 100 draws" in str(Verdict(chance, "x", 1.0, None))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: annuity(0.04, 0), "annuity: rate is 0.04 a year and years is 0.0; allowed are above -1 to 10"),
        (lambda: annuity(math.nan, 5), "rate is nan a year"),
        (lambda: present_value([1], -2), "present_value: rate is -2 a year; allowed is -0.99 to 10 a year."),
        (lambda: draws(lambda x: x, {"x": (1, 3, 2)}), "Range: likely is 3; allowed is 1 to 2. Each input is"),
        (lambda: draws(lambda x: x, {"x": 3}), "Each input is (low, likely, high)"),
        (lambda: draws(lambda x: x, {"x": (1, 2)}), "Each input is (low, likely, high)"),
        (lambda: verdict(lambda: 1.0, {}), "ranges: there is no input."),
        (lambda: draws(lambda x: x, [1, 2, 3]), "Each input is (low, likely, high)"),
        (lambda: draws(lambda x: x, {"x": ("a", 2, 3)}), "low is 'a', which is not a number"),
        (lambda: draws(lambda x: x * math.nan, {"x": (1, 2, 3)}), "The measure is no finite number"),
        (lambda: draws(lambda x: [1.0, 2.0], {"x": (1, 2, 3)}), "The measure is no finite number"),
        (lambda: draws(lambda x: x, {"x": (1, 2, 3)}, count=0), "draws: count is 0; allowed is 2 to 1e+07."),
    ],
)
def test_wrong_use_is_one_sentence(make, words):
    with pytest.raises(ValueError) as problem:
        make()
    assert words in str(problem.value) and "\n" not in str(problem.value)
