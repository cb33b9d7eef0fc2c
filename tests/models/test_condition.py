"""A machine in the cold, in the warm and worn: its curves are those of the damper's own circuit."""

from dataclasses import replace

import numpy as np
import pytest

from helpers.models.condition import FRICTION_WORN, LEAK_WORN, Condition
from helpers.models.machines import DAMPERS, MACHINES
from helpers.models.oil import ZERO_CELSIUS
from helpers.models.orifice import slit

BIKE, CARRIER = MACHINES["bike"], MACHINES["carrier"]


def test_at_forty_degrees_and_new_nothing_changes():
    now = Condition().of(BIKE)
    for name in ("open_curve", "lockout_curve"):
        assert getattr(now, name).packed() == pytest.approx(getattr(BIKE, name).packed())
    assert now.friction == BIKE.friction and Condition().valve_slower == 1.0


@pytest.mark.parametrize("celsius", [0.0, 20.0, 60.0])
def test_the_bike_is_its_damper_at_another_temperature(celsius):
    damper = replace(DAMPERS["bike"], temperature=ZERO_CELSIUS + celsius)
    now = Condition(oil=celsius).of(BIKE)
    assert now.open_curve.packed() == pytest.approx(damper.open_curve.packed())
    assert now.lockout_curve.packed() == pytest.approx(damper.lockout_curve.packed())


def test_a_worn_leak_is_a_wider_slit_and_seals_drag_more():
    damper = replace(DAMPERS["bike"], leak=slit(40e-3, LEAK_WORN * 42e-6, 3e-3))
    now = Condition(wear=1.0).of(BIKE)
    assert now.lockout_curve.packed() == pytest.approx(damper.lockout_curve.packed())
    assert now.friction == FRICTION_WORN * BIKE.friction
    assert now.lockout_curve.compression.low < 0.7 * BIKE.lockout_curve.compression.low


def test_between_two_temperatures_it_lies_between():
    lows = [Condition(oil=celsius).of(BIKE).lockout_curve.compression.low for celsius in (0, 10, 20, 30, 40, 50, 60)]
    assert np.all(np.diff(lows) < 0.0)  # colder oil passes a leak more slowly


def test_the_force_at_the_knee_stays_where_a_slope_is_cut():
    cold = Condition(oil=0.0)
    firm, bike = cold.of(CARRIER).lockout_curve.compression, cold.of(BIKE).lockout_curve.compression
    assert firm.low == 50_000.0 and bike.low < 50_000.0
    was = (CARRIER.lockout_curve.compression, BIKE.lockout_curve.compression)
    grown = [side.low * side.knee / (own.low * own.knee) for side, own in zip((firm, bike), was, strict=True)]
    assert grown[0] == pytest.approx(grown[1])


def test_a_fixed_damper_has_no_valve_that_leaks():
    plain = Condition(oil=20.0, wear=1.0).of(BIKE.plain())
    assert plain.open_curve == plain.lockout_curve
    ratio = plain.open_curve.compression.low / BIKE.damping
    assert ratio == pytest.approx(
        Condition(oil=20.0).of(BIKE).open_curve.compression.low / BIKE.open_curve.compression.low
    )
