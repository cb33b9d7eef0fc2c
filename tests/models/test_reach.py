"""The region that a controllable damper reaches: between its curves, and only where it takes energy out."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet import FLEET, TRAIL_BIKE
from helpers.models.dampers import linear
from helpers.models.reach import is_reachable, nearest, reach

speeds, forces = st.floats(-5.0, 5.0), st.floats(-1e4, 1e4)


def test_between_two_linear_dampers_it_is_a_wedge():
    """Karnopp, Crosby and Harwood (1974): all that lies between c_min v and c_max v, in two opposite quadrants."""
    vehicle = TRAIL_BIKE.changed(open_curve=linear(200.0), lockout_curve=linear(3000.0))
    region = reach(vehicle, np.array([-1.0, 0.0, 2.0]))
    np.testing.assert_allclose(region.low, [-3000.0, 0.0, 400.0])
    np.testing.assert_allclose(region.high, [-200.0, 0.0, 6000.0])
    np.testing.assert_array_equal(region.holds([-100.0, 0.0, 401.0]), [False, True, True])
    np.testing.assert_array_equal(region.nearest(np.array([500.0, 5.0, 7000.0])), [-200.0, 0.0, 6000.0])
    assert is_reachable(vehicle, -1000.0, -1.0)
    assert not is_reachable(vehicle, 1000.0, -1.0)


@pytest.mark.parametrize("vehicle", FLEET.values(), ids=lambda vehicle: vehicle.name)
@settings(max_examples=100, deadline=None)
@given(speed=speeds, force=forces)
def test_what_it_gives_is_reachable_nearest_and_never_feeds_the_motion(vehicle, speed, force):
    given_force = float(nearest(vehicle, force, speed))
    assert is_reachable(vehicle, given_force, speed)
    assert given_force * speed >= 0.0
    valve = np.linspace(0.0, 1.0, 101)
    possible = (1.0 - valve) * vehicle.open_curve.force(speed) + valve * vehicle.lockout_curve.force(speed)
    assert np.abs(possible - force).min() >= abs(given_force - force) - 1e-9
