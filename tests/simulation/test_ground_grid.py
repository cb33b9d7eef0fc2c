"""The grid of the ground decides nothing that is printed: halved, rides keep their numbers to some parts in 100 000.

Three printed digits then change only where the fourth and fifth stood at 50. Rides under a law that decides at samples
between two settings (the semi-active family) are left out: one sample decided the other way may move a peak by 1 %,
whatever grid: such numbers are printed as means over loops or speeds.
"""

from dataclasses import asdict, replace

import numpy as np
import pytest

from families import FAST_CHAIN, active, mode_switching, plain, soft_valve
from fleet import FLEET, TRAIL_BIKE
from helpers.control.laws import Passive
from helpers.control.mode_switch import ModeSelector, ModeSwitch
from helpers.models.ground import FINE, Step, fell_loop
from helpers.models.machines import MACHINES
from helpers.models.vehicles import SECTIONS
from helpers.simulation.batch import Ride, ride_abreast
from helpers.simulation.bumps import section_bumps
from helpers.simulation.events import score
from helpers.simulation.metrics import metrics
from helpers.simulation.riding import ride
from helpers.simulation.runs import LONGEST_STEP, ride_section
from helpers.simulation.stretches import Stretch

LOOP, HALVED = fell_loop(), fell_loop(8, FINE / 2)
FAMILIES = {"plain": plain, "soft": soft_valve, "active": active, "mode switching": mode_switching}


def numbers(suspension, section, **options):
    """All metrics of a ride, and the largest accelerations of body and wheel; the shares counted in logged points."""
    run = ride_section(suspension.vehicle, section, suspension.law, suspension.timing, **options)
    found = asdict(metrics(run))
    points = found.pop("airborne") * len(run.time), found.pop("bottomings")
    found["body"], found["wheel"] = np.abs(run.body_acceleration).max(), np.abs(run.wheel_acceleration).max()
    return found, points


@pytest.mark.parametrize("name", SECTIONS)
@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("machine", FLEET)
def test_halving_the_grid(machine, family, name):
    suspension = FAMILIES[family](FLEET[machine])
    (whole, counts), (half, others) = (numbers(suspension, loop.section(name)) for loop in (LOOP, HALVED))
    assert whole == pytest.approx(half, rel=1e-4)
    assert counts == pytest.approx(others, abs=3)  # of 20,000 to 40,000 points a ms apart


@pytest.mark.parametrize("name", SECTIONS)
@pytest.mark.parametrize("machine", FLEET)
def test_halving_the_steps_that_meet_the_kinks(machine, name):
    """The stepper samples the road at half steps, so a kink lies within one: it moves no more than the grid does."""
    suspension = mode_switching(FLEET[machine])
    rides = (numbers(suspension, LOOP.section(name), longest_step=step)[0] for step in (LONGEST_STEP, LONGEST_STEP / 2))
    assert next(rides) == pytest.approx(next(rides), rel=2e-4)


@pytest.mark.parametrize(("speed", "found"), [(3.0, (12, 11, 7, 5)), (2.8, (12, 11, 3, 0))])
def test_roots_found_on_any_grid(speed, found):
    """At thresholds of 20, 40, 60 and 80 m/s2. A count hangs on a peak near the threshold: none lies within 0.5 %."""
    bike = mode_switching(TRAIL_BIKE).vehicle.changed(climb_speed=speed)
    for loop in (fell_loop(8, 2 * FINE), LOOP, HALVED):
        section = loop.section("climb")
        bumps = section_bumps(bike, section)
        laws = [replace(ModeSelector(), threshold=threshold) for threshold in (20.0, 40.0, 60.0, 80.0)]
        assert tuple(score(ride_section(bike, section, law, FAST_CHAIN), bumps).hits for law in laws) == found
    run = ride_section(bike, LOOP.section("climb"), Passive(1.0))
    size = np.abs(run.wheel_acceleration)
    peaks = [size[(run.time >= a) & (run.time <= b)].max() for a, b in zip(bumps.start, bumps.stop, strict=True)]
    assert np.abs(np.array(peaks) / np.array([[20.0], [40.0], [60.0], [80.0]]) - 1.0).min() > 5e-3


@pytest.mark.parametrize("spacing", [2 * FINE, FINE, FINE / 2])
def test_workbook_04_counts_the_same_on_any_grid(spacing):
    """Roots found and false alarms at 10, 40, 60, 70 and 80 m/s2, as its table of the threshold prints them."""
    climb = fell_loop(8, spacing).section("climb")
    ground = Stretch("climb", climb.profile, "climb", climb.pedalling)
    scores = [ride(MACHINES["bike"], ground, ModeSwitch(limit, 0.4)).score for limit in (10, 40, 60, 70, 80)]
    assert [(one.hits, one.false_alarms) for one in scores] == [(12, 64), (12, 14), (11, 5), (7, 0), (1, 0)]


def test_lanes_ride_the_same_path():
    field = LOOP.section("climb").profile.plus(Step(0.05, 60.0))
    rides = [Ride(vehicle, field, speed) for vehicle in FLEET.values() for speed in (3.0, 7.1)]
    lanes = ride_abreast(rides, keep_states=True).runs
    for one, lane in zip(rides, lanes, strict=True):
        alone = ride_section(one.vehicle.changed(climb_speed=one.speed), replace(LOOP.section("climb"), profile=field,
                             pedalling=False), one.law, one.timing)  # fmt: skip
        assert lane.road == pytest.approx(alone.road, abs=1e-12)
        assert lane.body_acceleration == pytest.approx(alone.body_acceleration, abs=1e-8)
