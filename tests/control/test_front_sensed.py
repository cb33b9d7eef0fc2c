"""When the rear valve is open, from what the front wheel sensed."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.control.front_sensed import FrontSensed
from helpers.models.half_car import HALF_CARS

rules = st.builds(
    FrontSensed, latency=st.floats(0.0, 0.3), hold=st.floats(0.01, 0.5), lead=st.floats(0.0, 0.1),
    speed_error=st.floats(-0.6, 3.0),
)  # fmt: skip


def test_trail_bike_at_ten_metres_a_second():
    # 1.2 m at 10 m/s: 120 ms of warning, twelve times a latency of 10 ms; open 20 ms before the bump, as planned.
    found = FrontSensed(latency=0.01).placement(HALF_CARS["bike"].wheelbase, 10.0)
    assert (found.warning, found.opens_before, found.closes_after) == pytest.approx((0.12, 0.02, 0.13))
    assert found.verdict == "in time"


def test_rear_alone_is_as_late_as_the_front():
    found = FrontSensed(latency=0.01, served_by="rear").placement(1.2, 10.0)
    assert (found.warning, found.opens_before, found.verdict) == (0.0, -0.01, "too late")


def test_latency_beyond_the_warning_is_late_whatever_the_estimate():
    rule = FrontSensed(latency=0.2)
    assert rule.placement(1.2, 10.0).verdict == "too late"
    assert rule.errors_allowed(1.2, 10.0) is None


def test_slow_estimates_are_late_and_fast_ones_early():
    # By hand: 120 ms, lead 20 ms, hold 60 ms. Due 100 ms after sensing at the true speed; at 120/140 of it 120 ms, at
    # 120/80 of it 60 ms, so that the valve closes as the bump comes.
    allowed = FrontSensed(latency=0.01, lead=0.02, hold=0.06).errors_allowed(1.2, 10.0)
    assert allowed.lowest == pytest.approx(120 / 140 - 1)
    assert allowed.highest == pytest.approx(120 / 80 - 1)
    assert FrontSensed(latency=0.01, lead=0.02, hold=0.15).errors_allowed(1.2, 10.0).highest == math.inf
    # A hold 10 ms shorter than the lead: closed again at the true speed, open for one read at 120/170 to 120/130 of it.
    short = FrontSensed(lead=0.05, hold=0.04).errors_allowed(1.2, 10.0)
    assert (short.lowest, short.highest) == (pytest.approx(120 / 170 - 1), pytest.approx(120 / 130 - 1))


@given(rules, st.floats(0.8, 3.0), st.floats(2.0, 25.0))
def test_allowed_errors_are_those_in_time(rule, wheelbase, speed):
    allowed, verdict = rule.errors_allowed(wheelbase, speed), rule.placement(wheelbase, speed).verdict
    if allowed is None or rule.speed_error < allowed.lowest - 1e-9:
        assert verdict != "in time"
    elif rule.speed_error > allowed.highest + 1e-9:
        assert verdict == "too early"
    elif allowed.lowest + 1e-9 < rule.speed_error < allowed.highest - 1e-9:
        assert verdict == "in time"


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: FrontSensed(latency=-0.1), "FrontSensed: latency is -0.1 s; allowed is 0 to 1 s."),
        (lambda: FrontSensed(speed_error=-1.0), "FrontSensed: speed_error is -1; allowed is -0.9 to 9."),
        (lambda: FrontSensed(served_by="both"), "FrontSensed: served_by is 'both'; allowed are front, rear, either."),
        (lambda: FrontSensed().placement(1.2, 0.0), "FrontSensed: speed is 0 m/s; allowed is 0.05 to 100 m/s."),
    ],
)
def test_errors_name_value_unit_and_range(call, told):
    with pytest.raises(ValueError) as raised:
        call()
    assert told in str(raised.value)
