"""How late a valve may come: the line between points, a step, a ride."""

import math

import pytest

from helpers.control.laws import AccelerationDriven
from helpers.control.mode_switch import ModeSwitch
from helpers.control.response import Response
from helpers.models.machines import MACHINES
from helpers.models.wheel_step import step
from helpers.simulation.calmest import calmest_fixed
from helpers.simulation.deadline import deadline, over_step, peak, responding, ride_deadline, step_deadline
from helpers.simulation.riding import REAL_CHAIN, ride
from helpers.simulation.stretches import fell_loop

BIKE = MACHINES["bike"]


def test_the_deadline_is_where_the_line_crosses():
    assert deadline([0.0, 1.0, 2.0], [0.0, 4.0, 16.0], 10.0) == pytest.approx(1.5)
    assert math.isnan(deadline([0.0, 1.0], [11.0, 12.0], 10.0))
    assert deadline([0.0, 1.0], [1.0, 2.0], 10.0) == math.inf
    assert deadline([0.0, 1.0, 2.0], [0.0, math.nan, 1.0], 10.0) == 0.0  # a ride gone astray costs any limit


@pytest.mark.parametrize("time", [0.0, 1e-3, 5e-3, 0.02])
def test_63_percent_of_the_force_is_there_after_the_time_asked_for(time):
    timing = responding(time)
    assert Response.first_order(timing.valve_dead_time, timing.valve_time_constant).force_63 == pytest.approx(time)
    assert timing.valve_time_constant <= REAL_CHAIN.valve_time_constant


def test_a_step_begins_at_contact_and_rises_to_its_height():
    run = over_step(BIKE, 0.05, 10.0, None, lead=0.01)
    assert run.road[run.time < 0.01].max() < 1e-12 and run.road[-1] == pytest.approx(0.05)
    assert run.time[(run.road > 0.05 - 1e-9).argmax()] == pytest.approx(
        0.01 + step(BIKE.wheel_radius, 0.05).length / 10.0, abs=2e-3
    )


def test_the_cost_at_the_deadline_is_the_one_allowed():
    law = ModeSwitch()
    due = step_deadline(BIKE, law, 0.05, 10.0, 0.1)
    late = peak(over_step(BIKE, 0.05, 10.0, law, responding(due)))
    assert late / peak(over_step(BIKE, 0.05, 10.0, None)) - 1.0 == pytest.approx(0.1, abs=0.03)
    assert step_deadline(BIKE, law, 0.05, 10.0, 0.2) > due


def test_on_a_ride_the_gain_is_gone_at_the_deadline():
    ground, law = fell_loop().descent, AccelerationDriven(firm=1.0)
    rival = ride(calmest_fixed(BIKE, ground), ground).vibration
    due = ride_deadline(BIKE, law, [ground], [rival])
    assert 0.006 < due < 0.018
    assert math.isnan(ride_deadline(BIKE, law, [ground], [0.5 * rival]))  # such a rival is not beaten at any age
    assert due < ride_deadline(BIKE, law, [ground], [1.05 * rival]) < math.inf
