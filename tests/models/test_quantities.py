"""Checked quantities: a bad value gives one sentence with the value, the field, its unit and the range allowed."""

import math
from dataclasses import FrozenInstanceError, dataclass, fields

import pytest

from helpers.models.quantities import Checked, in_range, quantity, table


@dataclass(frozen=True)
class Spring(Checked):
    name: str
    rate: float = quantity("spring rate", "N/m", 500.0, 5e5, symbol="k", source="a scale and a ruler")
    share: float = quantity("sag over travel", "", 0.0, 1.0, default=0.3)


def test_a_quiet_quantity_is_in_the_table_once_it_says_something():
    @dataclass(frozen=True)
    class Lever(Checked):
        ratio: float = quantity("lever ratio", "", 1.0, 5.0)
        play: float = quantity("play", "m", 0.0, 0.01, default=0.0, quiet=True)

    assert [row.name for row in table(Lever(2.0))] == ["ratio"]
    assert [row.name for row in table(Lever(2.0), "play")] == ["play"]
    assert [row.name for row in table(Lever(2.0, 0.001))] == ["ratio", "play"]


def test_values_become_floats_and_both_ends_are_allowed():
    spring = Spring("front", 500, 1)
    assert (spring.rate, spring.share) == (500.0, 1.0)
    assert isinstance(spring.rate, float)
    assert Spring("front", 5e5).share == 0.3


@pytest.mark.parametrize(
    ("rate", "error", "sentence"),
    [
        (499.9, ValueError, "Spring: rate is 499.9 N/m; allowed is 500 to 500000 N/m."),
        (6e5, ValueError, "Spring: rate is 600000 N/m; allowed is 500 to 500000 N/m."),
        (math.nan, ValueError, "Spring: rate is nan N/m; allowed is 500 to 500000 N/m."),
        (math.inf, ValueError, "Spring: rate is inf N/m; allowed is 500 to 500000 N/m."),
        ("stiff", TypeError, "Spring: rate is 'stiff', which is not a number; allowed is 500 to 500000 N/m."),
        (None, TypeError, "Spring: rate is None, which is not a number; allowed is 500 to 500000 N/m."),
        ([1.0], TypeError, "Spring: rate is [1.0], which is not a number; allowed is 500 to 500000 N/m."),
    ],
)
def test_one_sentence_tells_what_is_wrong(rate, error, sentence):
    with pytest.raises(error) as raised:
        Spring("front", rate)
    assert str(raised.value) == sentence


def test_a_field_without_unit_leaves_no_hole_in_the_sentence():
    with pytest.raises(ValueError) as raised:
        Spring("front", 1e4, 1.5)
    assert str(raised.value) == "Spring: share is 1.5; allowed is 0 to 1."
    with pytest.raises(ValueError, match=r"^Timing: delay is -1 s; allowed is 0 to 2 s\.$"):
        in_range("Timing", "delay", -1, "s", 0.0, 2.0)


def test_a_parameter_set_cannot_be_changed_in_place():
    with pytest.raises(FrozenInstanceError):
        Spring("front", 1e4).rate = 2e4


def test_table_tells_each_quantity_in_declared_order():
    spring = Spring("front", 1e4)
    rate, share = table(spring)
    assert (rate.name, rate.symbol, rate.meaning, rate.unit) == ("rate", "k", "spring rate", "N/m")
    assert (rate.value, rate.low, rate.high, rate.source) == (1e4, 500.0, 5e5, "a scale and a ruler")
    assert share.source == "invented for the course"
    assert [row.name for row in table(spring, "share")] == ["share"]
    assert "name" not in [row.name for row in table(spring)]
    assert [told.name for told in fields(Spring)] == ["name", "rate", "share"]
    with pytest.raises(ValueError, match=r"^Spring has no quantity mass\.$"):
        table(spring, "share", "mass")
