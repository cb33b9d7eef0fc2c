"""What an actuator draws, and how busy a valve is."""

import numpy as np
import pytest

from fleet import CARRIER, TRAIL_BIKE
from helpers.control.laws import AccelerationDriven, ActiveSkyhook, TwoStateSkyhook
from helpers.control.optimal import regulator
from helpers.control.timing import Timing
from helpers.models.terrain import iso_8608
from helpers.simulation.metrics import power, valve_activity
from helpers.simulation.runs import ride

GROUND = iso_8608("D", 60.0, seed=4)


@pytest.mark.parametrize("law", [ActiveSkyhook(2000.0), regulator(CARRIER).feedback()], ids=["skyhook", "optimal"])
def test_power_is_force_times_speed(law):
    run = ride(CARRIER, GROUND, 8.0, law, Timing(valve_time_constant=0.003))
    momentary = run.actuator_force * (run.body_velocity - run.wheel_velocity)
    found = power(run)
    assert found.net == pytest.approx(np.mean(momentary), rel=0.02)
    assert found.supply == found.drawn == pytest.approx(np.mean(np.maximum(momentary, 0.0)), rel=0.02)
    assert (found.peak, found.returned_peak) == (momentary.max(), -momentary.min())
    assert power(run, 1.0).drawn == pytest.approx(found.net, rel=1e-12)
    assert power(run, 0.5).drawn == pytest.approx(0.5 * (found.net + found.supply), rel=1e-12)
    assert found.supply > max(found.net, 0.0)


def test_recovery_is_a_share():
    with pytest.raises(ValueError, match="power: recovery is 1.2; allowed is 0 to 1."):
        power(ride(TRAIL_BIKE, GROUND, 8.0, ActiveSkyhook()), 1.2)


def test_strokes_of_a_two_state_valve_are_its_commands_times_its_throw():
    run = ride(TRAIL_BIKE, GROUND, 8.0, TwoStateSkyhook(0.0, 0.3), log_step=2.5e-4)
    found = valve_activity(run)
    assert found.commands == pytest.approx(run.commands / run.duration)
    assert found.strokes == pytest.approx(0.3 * found.commands, rel=0.02)


def test_dead_bands_cure_chatter():
    """Acceleration-driven damping answers to an acceleration that its own force changes: it chatters."""
    busy, calm = (
        valve_activity(ride(TRAIL_BIKE, GROUND, 8.0, law)).commands
        for law in (AccelerationDriven(0.0, 0.3), AccelerationDriven(0.0, 0.3, dead_band=0.1, acceleration_band=1.0))
    )
    assert busy > 400.0
    assert calm < 0.5 * busy
