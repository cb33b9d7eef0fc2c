"""What opens the rear valve, and when: by hand, and by the two laws that share a wire."""

import math
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.control.front_sensed import FrontTells
from helpers.models.half_car import HALF_CARS

WARNING = HALF_CARS["bike"].warning(10.0)


def test_wait_of_the_trail_bike_at_ten_metres_a_second():
    # By hand: 120 ms of warning, less 20 ms of lead and 6.5 of chain; read 20 % low 120 / 0.8 = 150 ms.
    assert FrontTells().wait(WARNING, 0.0065) == pytest.approx(0.0935)
    assert FrontTells(speed_error=-0.2).wait(WARNING, 0.0065) == pytest.approx(0.1235)
    assert FrontTells(lead=0.2).wait(WARNING, 0.0065) == FrontTells(told_by="both at once").wait(WARNING, 0.0) == 0.0


@given(st.floats(0.06, 1.0), st.floats(0.0, 0.5), st.floats(0.0, 0.04))
def test_lowest_error_is_the_lead_over_warning_and_lead(warning, lead, latency):
    # Opens just as the bump comes: warning / (1 + e) - lead = warning.
    rule = FrontTells(lead=lead, speed_error=-lead / (warning + lead))
    assert rule.wait(warning, latency) + latency == pytest.approx(max(warning, latency))


def walked(rule, front, rear, stop=20, speed=0.0):
    """Valve of both ends at each of `stop` samples 10 ms apart, each end's wheel loud at the samples told."""
    laws, memories = rule.laws(0.1, 0.0), (SimpleNamespace(open=0.0, until=0.0), SimpleNamespace(open=0.0, until=0.0))
    rows = []
    for n in range(stop):
        loud = (99.0 if n in front else 0.0, -99.0 if n in rear else 0.0)
        rows.append([
            law.function(SimpleNamespace(time=0.01 * n, wheel_acceleration=size, suspension_velocity=speed), memory)
            for law, size, memory in zip(laws, loud, memories, strict=True)
        ])  # fmt: skip
    return [[n for n, row in enumerate(rows) if row[end] == 0.0] for end in range(2)]


def test_the_wire_opens_the_rear_at_its_time():
    rule = FrontTells(lead=0.03, hold=0.04)  # due 70 ms after
    assert walked(rule, {2}, {15}) == [[2, 3, 4, 5], [9, 10, 11, 12]]
    assert walked(rule.changed(told_by="rear"), {2}, {15}) == [[2, 3, 4, 5], [15, 16, 17, 18]]
    assert walked(rule.changed(told_by="either"), {2}, {10}) == [[2, 3, 4, 5], [9, 10, 11, 12, 13]]
    assert walked(rule.changed(told_by="both at once"), {2}, {10}) == [[2, 3, 4, 5], [2, 3, 4, 5]]
    assert walked(rule, {2, 4}, set()) == [[2, 3, 4, 5, 6, 7], [9, 10, 11, 12, 13, 14]]


def test_a_valve_waits_until_its_suspension_stands_still():
    assert walked(FrontTells(hold=0.04), {2}, set(), speed=0.1)[0] == list(range(2, 20))
    assert walked(FrontTells(hold=0.04, still=0.2), {2}, set(), speed=0.1)[0] == [2, 3, 4, 5]


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: FrontTells(hold=-0.1), "FrontTells: hold is -0.1 s; allowed is 0 to 10 s."),
        (lambda: FrontTells(speed_error=-1.0), "FrontTells: speed_error is -1; allowed is -0.9 to 9."),
        (lambda: FrontTells(told_by="both"), "told_by is 'both'; allowed are front, rear, either, both at once."),
        (lambda: FrontTells().wait(math.nan, 0.0), "FrontTells: warning is nan s; allowed is 0 to 1000 s."),
    ],
)
def test_errors_name_value_unit_and_range(call, told):
    with pytest.raises(ValueError) as raised:
        call()
    assert told in str(raised.value)
