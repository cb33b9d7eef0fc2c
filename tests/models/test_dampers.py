"""Damper curves: limits, and what holds for every curve."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.models.dampers import DamperCurve, Side, digressive, linear, two_slope

SETTINGS = settings(derandomize=True, deadline=None, max_examples=200)
slopes = st.floats(0.0, 20_000.0)
knees = st.floats(0.01, 5.0)
sides = st.builds(Side, slopes, slopes, knees)
curves = st.builds(DamperCurve, sides, sides, st.booleans())
speeds = st.lists(st.floats(-20.0, 20.0), min_size=2, max_size=30)


@SETTINGS
@given(curves, speeds)
def test_a_damper_never_drives(curve, speeds):
    # A passive damper takes power out at every speed: force times velocity is never negative (second law).
    velocity = np.array(speeds)
    force = curve.force(velocity)
    assert np.all(np.isfinite(force))
    assert np.all(force * velocity >= 0.0)
    assert curve.force(0.0) == 0.0


@SETTINGS
@given(curves, speeds)
def test_force_never_falls_with_speed(curve, speeds):
    velocity = np.sort(np.array(speeds))
    force = curve.force(velocity)
    assert np.all(np.diff(force) >= -1e-12 * np.abs(force).max())


@SETTINGS
@given(curves, st.floats(-20.0, 20.0), st.floats(0.0, 2.0))
def test_scaling_scales_every_force(curve, velocity, factor):
    assert curve.scaled(factor).force(velocity) == pytest.approx(factor * curve.force(velocity), rel=1e-9, abs=1e-9)


@SETTINGS
@given(curves)
def test_packed_holds_the_whole_curve(curve):
    packed = curve.packed()
    assert DamperCurve(Side(*packed[:3]), Side(*packed[3:6]), bool(packed[6])) == curve


@SETTINGS
@given(slopes, slopes, knees, st.booleans())
def test_slopes_at_rest_and_far_away(low, high, knee, rounded):
    side = Side(low, high, knee)
    curve = DamperCurve(side, side, rounded)
    slow, fast = 1e-7 * knee, 1e7 * knee
    assert curve.force(slow) / slow == pytest.approx(low, rel=1e-5, abs=1e-5 * max(high, 1.0))
    assert (curve.force(2 * fast) - curve.force(fast)) / fast == pytest.approx(high, rel=1e-5, abs=1e-5 * max(low, 1.0))


def test_two_slope_by_hand():
    # 1000 N s/m up to 0.1 m/s is 100 N; 200 N s/m over the next 0.4 m/s adds 80 N; rebound is half as much again.
    curve = two_slope(1000.0, 200.0, 0.1, rebound_ratio=1.5)
    np.testing.assert_allclose(curve.force([-0.5, -0.1, -0.05, 0.0, 0.05, 0.5]), [-180, -100, -50, 0, 75, 270])
    assert curve.force(0.5).shape == ()
    assert curve.force(np.zeros((2, 3))).shape == (2, 3)


def test_digressive_is_half_way_at_its_knee_and_levels_off():
    # v / (1 + v/knee): half the linear force at the knee, and never above low x knee.
    curve = digressive(1000.0, 0.2)
    assert curve.force(0.2) == pytest.approx(100.0, rel=1e-12)
    assert curve.force(-0.2) == pytest.approx(-100.0, rel=1e-12)
    assert 199.0 < curve.force(1000.0) < 200.0


@SETTINGS
@given(slopes, st.floats(-20.0, 20.0))
def test_linear_is_linear(coefficient, velocity):
    assert linear(coefficient).force(velocity) == pytest.approx(coefficient * velocity, rel=1e-12, abs=1e-300)


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda: linear(-1.0), "Side: low is -1 N s/m; allowed is 0 to 50000 N s/m."),
        (lambda: two_slope(100.0, 6e4, 0.1), "Side: high is 60000 N s/m; allowed is 0 to 50000 N s/m."),
        (lambda: digressive(100.0, 0.0), "Side: knee is 0 m/s; allowed is 0.005 to 10 m/s."),
        (lambda: linear(100.0).scaled(1e4), "Side: low is 1000000 N s/m; allowed is 0 to 50000 N s/m."),
    ],
)
def test_bad_numbers_are_told_in_one_sentence(make, sentence):
    with pytest.raises(ValueError) as raised:
        make()
    assert str(raised.value) == sentence
