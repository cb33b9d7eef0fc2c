"""How late a valve may come: the line between points, a step, a ride."""

import math

import numpy as np
import pytest
from yielding_reference import EdgePath, felt, integrate

from helpers.control.laws import AccelerationDriven, Passive
from helpers.control.mode_switch import ModeSwitch
from helpers.control.response import Response
from helpers.models.machines import MACHINES
from helpers.models.wheel_step import step
from helpers.simulation.calmest import calmest_fixed
from helpers.simulation.deadline import (
    AT_TOUCH,
    LAG,
    MOMENT,
    deadline,
    over_step,
    peak,
    responding,
    ride_deadline,
    step_cost,
    step_deadline,
)
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


# --- the moment that workbooks 06, 08 and 12 share, by independent equations ------------------------------------------


def _integrated(setting, vehicle=MOMENT.vehicle, contact=0.002):
    """The step of `MOMENT` by `integrate`, contact after some ms."""
    road = EdgePath(vehicle.wheel_radius, MOMENT.height, MOMENT.speed, contact)
    return integrate(vehicle, setting, road, contact + 0.06, 1241, rtol=1e-7), contact


def test_the_moment_is_felt_and_its_push_grows_as_the_equations_say():
    locked, contact = _integrated(1.0)
    least = np.abs(_integrated(0.0)[0].body_acceleration).max()
    opened, held = (over_step(BIKE, MOMENT.height, MOMENT.speed, law) for law in (None, Passive(1.0)))
    assert peak(opened) == pytest.approx(least, rel=0.01)
    assert 1e3 * (felt(locked, 40.0) - contact) == pytest.approx(1e3 * felt(held, 40.0), abs=0.1)
    reached = locked.time[(np.abs(locked.body_acceleration) > least).argmax()] - contact
    assert reached == pytest.approx(held.time[(np.abs(held.body_acceleration) > least).argmax()], abs=3e-4)


@pytest.mark.parametrize("time", [0.008, 0.011, 0.015])
def test_a_late_valve_costs_what_the_equations_say(time):
    """The cliff: 7, 33 and 40 % when the force is there after 8, 11 and 15 ms."""

    def setting(now):
        return math.exp(-max(now - contact - (time - LAG), 0.0) / LAG)

    contact = 0.002
    late, least = (np.abs(_integrated(each)[0].body_acceleration).max() for each in (setting, 0.0))
    assert step_cost(BIKE, MOMENT.height, MOMENT.speed, time) == pytest.approx(late / least - 1.0, abs=0.01)


def test_from_felt_the_deadline_is_earlier_by_the_time_until_it_is_felt():
    whole = step_deadline(BIKE, AT_TOUCH, MOMENT.height, MOMENT.speed, 0.1)
    rest = step_deadline(BIKE, ModeSwitch(40.0), MOMENT.height, MOMENT.speed, 0.1)
    late = felt(over_step(BIKE, MOMENT.height, MOMENT.speed, Passive(1.0)), 40.0)
    assert whole - rest == pytest.approx(late, abs=3e-4)


def test_a_specified_selector_that_rests_firm_is_due_at_the_moment():
    from helpers.simulation.specification import Requirements, Specification, due

    need, law = Requirements(), ModeSwitch(20.0, 0.1)
    spec = Specification(BIKE, law, "coil on a pilot", rest=1)
    assert need.step == MOMENT.height
    assert due(spec, need) == step_deadline(BIKE, law, MOMENT.height, MOMENT.speed, need.step_cost)
    assert due(Specification(BIKE, ModeSwitch(20.0, 0.1, rest=0.0, event=0.0), "coil on a pilot"), need) == math.inf
