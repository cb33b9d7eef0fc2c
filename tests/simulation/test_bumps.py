"""Contact with what makes a bump, to 0.05 ms at every pace of the course, and the time until it is felt."""

import math
from dataclasses import replace

import numpy as np
import pytest

from families import mode_switching
from fleet import FLEET, TRAIL_BIKE
from helpers.control.laws import Passive
from helpers.models import wheel_step
from helpers.models.ground import Ground, HalfRound, Ramp, Step, fell_loop
from helpers.models.vehicles import SECTIONS
from helpers.simulation.bumps import felt, section_bumps, true_bumps
from helpers.simulation.runs import ride, simulate

LOOP = fell_loop()
BIKE = mode_switching(TRAIL_BIKE).vehicle
PACES = sorted({vehicle.speed(name) for vehicle in FLEET.values() for name in SECTIONS})
CLOSE = 5e-5  # s


@pytest.mark.parametrize("speed", [2.8, *PACES])
@pytest.mark.parametrize("machine", FLEET)
def test_contact_by_closed_forms(machine, speed):
    """A step and a root on the level, and a step on a slope of 5 %, where its own height across the slope counts."""
    vehicle = FLEET[machine]
    radius, slope, a = vehicle.wheel_radius, 0.05, math.atan(0.05)
    level = Step(0.05, 5.0), HalfRound(0.04, 10.0, 0.1)
    field = Ground(30.0, (*level, Ramp(20.0 * slope, 13.0, 20.0), Step(0.08, 20.0)))
    found = true_bumps(field, vehicle, speed, rise=0.03, within=0.4)  # the slope itself rises by less
    along = 7.0 * math.cos(a) + (7.0 * slope + 0.08) * math.sin(a) - wheel_step.step(radius, 0.08 * math.cos(a)).length
    expected = (
        5.0 - wheel_step.step(radius, 0.05).length,
        10.0 - wheel_step.half_round(radius, 0.04, 0.1).length,
        13.0 + along * math.cos(a) - radius * math.sin(a),
    )
    assert found.contact == pytest.approx(np.array(expected) / speed, abs=CLOSE / 10)


@pytest.mark.parametrize("machine", FLEET)
def test_contact_with_the_roots_of_the_climb(machine):
    """By brute force: the first place of the axle, tried every 0.1 mm, at which the rim rests on the root."""
    vehicle, section = FLEET[machine], LOOP.section("climb")
    roots = [shape for shape in section.profile.shapes if isinstance(shape, HalfRound)]
    found = section_bumps(vehicle, section)
    assert len(found) == len(roots) == 12
    radius, aside = vehicle.wheel_radius, np.arange(-4000, 4001) * 1e-4
    aside = aside[np.abs(aside) < radius]
    rim = np.sqrt(radius**2 - aside**2)
    for root, contact in zip(roots, found.contact * vehicle.climb_speed, strict=True):
        places = contact + np.arange(-20, 21) * 1e-4
        touching = [x + aside[np.argmax(section.profile.at(x + aside) + rim)] for x in places]
        first = places[np.argmax(np.abs(np.array(touching) - root.place) < root.width / 2)]
        assert contact == pytest.approx(first, abs=1.05e-4)


def test_twelve_roots_whatever_the_grid():
    times = [section_bumps(TRAIL_BIKE, fell_loop(8, grid).section("climb")).contact for grid in (0.002, 0.001, 0.0005)]
    assert [len(each) for each in times] == [12, 12, 12]
    assert times[0] == pytest.approx(times[2], abs=1e-5)
    assert times[1] == pytest.approx(times[2], abs=3e-6)


def test_a_smooth_bump_is_met_where_it_starts():
    field = Ground(20.0, (Ramp(0.3, 5.0, 3.0),))
    found = true_bumps(field, TRAIL_BIKE, 4.0)
    assert len(found) == 1  # its foot is a kink of 0.1
    assert 4.0 * found.contact[0] == pytest.approx(5.0 - 0.36 * math.tan(math.atan(0.1) / 2), abs=2e-6)
    gentle = true_bumps(Ground(20.0, (Ramp(0.3, 5.0, 7.0),)), TRAIL_BIKE, 4.0, rise=0.01)
    assert gentle.contact == pytest.approx(gentle.start, abs=1e-12)


# --- felt -------------------------------------------------------------------------------------------------------------


def test_felt_reads_between_the_points_of_the_log():
    run = simulate(BIKE, np.zeros_like, 0.1)
    shaken = replace(run, wheel_acceleration=np.where(run.time > 0.0302, -1e4 * (run.time - 0.03), 0.0))
    assert felt(shaken, 25.0, 0.03) == pytest.approx(0.0025)
    assert felt(shaken, 25.0, 0.031) == pytest.approx(0.0015)
    assert felt(shaken, 25.0, 0.04) == pytest.approx(0.0, abs=1e-12)  # loud at contact already
    assert math.isnan(felt(shaken, 1e4, 0.03))


@pytest.mark.parametrize("speed", [2.8, *PACES])
def test_a_step_is_met_in_closed_form_and_felt_to_the_same(speed):
    """Against the same ride at a fifth of the step, from another phase of the contact within a step."""
    reach = wheel_step.step(BIKE.wheel_radius, 0.1).length
    found = []
    for place, fine in ((1.0, 5e-5), (1.0 + 1.3e-5 * speed, 1e-5)):
        field = Ground(2.0 + 0.8 * speed, (Step(0.1, place),))
        run = ride(BIKE, field, speed, Passive(1.0), longest_step=fine, log_step=fine)
        contact = true_bumps(field, BIKE, speed).contact[0]
        assert contact == pytest.approx((place - reach) / speed, abs=1e-6)
        found.append(felt(run, 40.0, (place - reach) / speed))
    assert found[0] == pytest.approx(found[1], abs=CLOSE / 2)
