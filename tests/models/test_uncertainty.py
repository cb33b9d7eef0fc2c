"""Ranges and draws against the triangular distribution of scipy, propagation by hand, and what draws must obey."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from helpers.models.uncertainty import Range, shares

LOW, LIKELY, HIGH = 2.0, 3.0, 7.0
SHARES = np.linspace(0.0, 1.0, 101)


def drawn(function, ranges, seed, count):
    """What a function of arrays gives for draws from ranges by name, shape (count,)."""
    return function(*(ranges[name].quantile(share) for name, share in shares(ranges, seed, count).items()))


def test_quantiles_are_those_of_scipy():
    other = stats.triang((LIKELY - LOW) / (HIGH - LOW), LOW, HIGH - LOW)
    np.testing.assert_allclose(Range(LOW, LIKELY, HIGH).quantile(SHARES), other.ppf(SHARES), rtol=1e-12)


@given(st.floats(-1e3, 1e3), st.floats(0.0, 1e3), st.floats(0.0, 1e3))
def test_every_range_rises_from_low_to_high(low, rise, more):
    values = Range(low, low + rise, low + rise + more).quantile(SHARES)
    assert np.all(np.diff(values) >= -1e-9)
    assert (values[0], values[-1]) == pytest.approx((low, low + rise + more))


def test_draws_have_the_moments_of_the_handbook():
    """Triangular: mean (a+b+c)/3, variance (a2+b2+c2-ab-ac-bc)/18; independent variances add (JCGM 100, the GUM)."""
    a, c, b = LOW, LIKELY, HIGH
    variance = (a * a + b * b + c * c - a * b - a * c - b * c) / 18.0
    found = drawn(lambda x, y: x + 3.0 * y, {"x": Range(a, c, b), "y": Range(a, c, b)}, seed=3, count=20_000)
    assert found.mean() == pytest.approx(4.0 * (a + b + c) / 3.0, rel=1e-4)
    assert found.var() == pytest.approx(10.0 * variance, rel=0.03)


def test_product_against_two_dimensional_integration():
    """Share of draws below a value, by the integral of scipy's distribution function over the other input."""
    x, y = Range(1.0, 2.0, 4.0), Range(0.5, 0.6, 2.0)
    found = drawn(lambda x, y: x * y, {"x": x, "y": y}, seed=5, count=20_000)
    other = stats.triang(1.0 / 3.0, 1.0, 3.0)
    fine = y.quantile((np.arange(20_000) + 0.5) / 20_000)
    for share in (0.05, 0.5, 0.95):
        assert np.mean(other.cdf(np.quantile(found, share) / fine)) == pytest.approx(share, abs=0.005)


def test_same_seed_same_draws():
    def draw(seed):
        return drawn(lambda x: x, {"x": Range(0.0, 1.0, 2.0)}, seed, count=50)

    np.testing.assert_array_equal(draw(1), draw(1))
    assert not np.array_equal(draw(1), draw(2))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Range(1.0, 5.0, 3.0), "Range: likely is 5; allowed is 1 to 3."),
        (lambda: Range(float("nan"), 1.0, 2.0), "Range: low is nan; allowed is -1e+300 to 1e+300."),
    ],
)  # fmt: skip
def test_a_bad_value_gives_one_sentence(make, words):
    with pytest.raises(ValueError) as caught:
        make()
    assert str(caught.value) == words
