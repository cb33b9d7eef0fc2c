"""Suspension drag against the published heat of a linear damper, the sum of its parts, and rides without any."""

import math

import numpy as np
import pytest

from families import active, plain, semi_active
from fleet import FLEET, TRAIL_BIKE
from helpers.control.laws import Passive
from helpers.models.terrain import fell_loop, flat, iso_8608
from helpers.simulation.drag import drag
from helpers.simulation.runs import ride, ride_section, simulate

NEW = TRAIL_BIKE.changed(
    damper_stiffness=8e5, seal_stretch=5e-4, tyre_travel=0.03, rim_rate=4e5, tyre_friction=30.0, tyre_stretch=0.004
)


@pytest.mark.parametrize("vehicle", FLEET.values(), ids=lambda vehicle: vehicle.name)
def test_drag_of_a_linear_car_on_a_white_road(vehicle):
    """pi^2 n0^2 Gd(n0) v k_t, Zuo and Zhang (2013), whatever the damper: 5 %, the road being finite."""
    speed, road = 10.0, iso_8608("A", 1200.0, seed=11, band=(0.011, 25.0))
    linear = vehicle.plain().changed(friction=0.0, gas_column=math.inf, bump_travel=1.0, rebound_travel=1.0)
    found = drag(simulate(linear, lambda time: road.at(speed * time), road.length / speed))
    told = math.pi**2 * 0.1**2 * 16e-6 * speed * vehicle.tyre_rate
    assert found.power == pytest.approx(told, rel=0.05)
    assert found.power == pytest.approx(found.damper, rel=2e-3)
    assert found.force(speed) == pytest.approx(found.power / 10.0, rel=1e-12)


@pytest.mark.parametrize("vehicle", [TRAIL_BIKE, NEW], ids=["rigid", "yields"])
def test_drag_is_what_damper_seals_and_tyre_take(vehicle):
    """On the descent, where nobody pedals; what is stored at its end is little."""
    chosen = active(vehicle)
    found = drag(ride_section(vehicle, fell_loop().section("descent"), chosen.law, chosen.timing))
    assert found.power == pytest.approx(found.taken, rel=5e-3)
    assert (found.tyre > 0.0) == (vehicle is NEW)


def test_what_traverse_and_legs_give():
    """Another's model of the bike on the course's traverse, to the whole watts it tells: plain damper, valve, skyhook.

    That is heat less the actuator's work: a part of it comes from the legs, as forward motion gives less.
    """
    section = fell_loop().section("traverse")
    chosen = plain(TRAIL_BIKE), semi_active(TRAIL_BIKE), active(TRAIL_BIKE)
    found = [drag(ride_section(one.vehicle, section, one.law, one.timing)) for one in chosen]
    assert [round(one.taken) for one in found] == [79, 62, 53]
    assert all(0.8 * one.taken < one.power < 0.95 * one.taken for one in found)


def test_a_level_road_drags_nothing():
    found = drag(ride(NEW, flat(20.0), 5.0, Passive(0.5)))
    assert (found.power, found.damper, found.seals, found.tyre, found.actuator) == (0.0, 0.0, 0.0, 0.0, 0.0)


def test_a_climb_is_no_drag():
    """A slope raises weight, which the suspension does not take; what is left is the bend at its foot."""
    run = simulate(TRAIL_BIKE, lambda time: 0.5 * np.minimum(time, 10.0), 20.0)
    assert run.ground_work == pytest.approx(TRAIL_BIKE.static_load * 5.0, rel=0.02)
    assert drag(run).power * 20.0 == pytest.approx(run.damper_heat + run.friction_heat, rel=1e-3)


def test_on_the_traverse_a_soft_damper_drags_less():
    """Ground smoothed by the wheel and lift-off make it hang on the damper after all, unlike a white road."""
    section = fell_loop().section("traverse")
    soft, firm = (drag(ride_section(one, section)).power for one in (TRAIL_BIKE, TRAIL_BIKE.plain()))
    assert soft < 0.9 * firm
