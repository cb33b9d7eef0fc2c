"""What a lap counts, against planted bumps, the run's own energies and the mechanics of a pushed damper."""

from dataclasses import replace

import numpy as np
import pytest

from helpers.control.laws import Passive
from helpers.control.mode_switch import FAST_TWO_POSITION, ModeSwitch
from helpers.control.optimal import regulator
from helpers.control.timing import Timing
from helpers.models.cells import LI_ION, Pack
from helpers.models.energy import ELECTRONICS, RIDER_ALL_DAY, days_per_charge, hours_per_charge
from helpers.models.pedalling import Pedalling
from helpers.models.terrain import FellLoop, Section, fell_loop, flat, iso_8608, step
from helpers.models.vehicles import TRAIL_BIKE
from helpers.simulation.duty import WHEELS, actuations_per_hour, equal_vibration_speed, lap, pedalling_loss
from helpers.simulation.families import active, mode_switching, plain
from helpers.simulation.metrics import metrics
from helpers.simulation.runs import ride_section

SWITCH = mode_switching(TRAIL_BIKE)


def planted(count):
    """A descent of the bike with `count` steps, far enough apart that the valve comes to rest between them."""
    ground = flat(40.0 * count)
    for k in range(count):
        ground = ground.plus(step(0.05, 1.0, 2.0), at=10.0 + 40.0 * k)
    return FellLoop((Section("descent", ground, 0.0, False),))


@pytest.mark.parametrize("count", [1, 3])
def test_each_planted_step_opens_and_closes_the_valve_once(count):
    """Two moves for each bump, once in 40 m at 10 m/s: 1800 moves an hour."""
    suspension = replace(SWITCH, law=ModeSwitch(hold=1.0))
    found = lap(suspension, planted(count), ["descent"])
    assert found.actuations == 2 * count
    assert found.strokes == pytest.approx(2 * count, rel=1e-3)
    assert found.actuations_per_hour == pytest.approx(1800.0, rel=1e-3)
    assert found.seconds == pytest.approx(4.0 * count, rel=1e-3)


def test_sections_add_up_to_the_loop():
    loop = fell_loop()
    whole, parts = lap(SWITCH, loop), [lap(SWITCH, loop, [section.name]) for section in loop.sections]
    for name in ("seconds", "actuations", "strokes", "heat"):
        assert getattr(whole, name) == pytest.approx(sum(getattr(part, name) for part in parts), rel=1e-12)


def test_energies_are_those_of_the_rides():
    """Supplied less returned is the actuator's net work; heat is the metrics' mean power times the time."""
    suspension, descent = active(TRAIL_BIKE), fell_loop().section("descent")
    found = lap(suspension, sections=["descent"])
    told = metrics(ride_section(TRAIL_BIKE, descent, suspension.law, suspension.timing))
    assert (found.supplied - found.returned) / found.seconds == pytest.approx(told.actuator_mean, rel=1e-9)
    assert found.supplied / found.seconds == pytest.approx(told.actuator_supply, rel=1e-9)
    assert found.heat / found.seconds == pytest.approx(told.heat, rel=1e-9)
    duty = found.duty(ELECTRONICS["active"], wheels=WHEELS["bike"])
    assert duty.parts()["actuators"] == pytest.approx(2.0 * told.actuator_supply / 0.6, rel=1e-9)


def test_a_plain_damper_has_nothing_to_move():
    found = lap(plain(TRAIL_BIKE))
    assert (found.actuations, found.strokes, found.supplied, found.returned) == (0.0, 0.0, 0.0, 0.0)
    assert found.heat > 0.0


def test_a_normally_open_valve_rests_where_nobody_pedals():
    """The descent is not pedalled: a valve that rests open has no reason to move there."""
    resting = replace(SWITCH, law=replace(FAST_TWO_POSITION, rest=0.0), timing=Timing())
    assert lap(resting, sections=["descent"]).actuations == 0.0
    assert lap(resting, sections=["climb"]).actuations > 0.0


def test_counts_follow_the_seed():
    once, again = (actuations_per_hour(SWITCH, [8, 9]) for _ in range(2))
    np.testing.assert_array_equal(once, again)
    assert once[0] != once[1]
    assert once[0] == lap(SWITCH, fell_loop(8)).actuations_per_hour


def test_what_a_battery_carries_on_a_bike():
    """Common practice, no source: full activity needs more than a bike's battery holds for a ride, a mode switch is
    set by the energy of its moves. The comfort law of workbook 02 holds to that against half a kilogram of cells and
    against what a healthy person sustains, 75 W for eight hours (Malewicki 1983, as reprinted). A skyhook beside the
    open valve does not: it mostly takes energy out, and the actuator's own losses in holding a force are left out.
    """
    half_kilogram, wheels = Pack.within(LI_ION, 0.5), WHEELS["bike"]
    comfort = replace(active(TRAIL_BIKE), law=regulator(TRAIL_BIKE).feedback(), timing=Timing.ideal())
    duty = lap(comfort).duty(ELECTRONICS["active"], wheels)
    assert duty.power > RIDER_ALL_DAY["healthy person"]
    assert hours_per_charge(half_kilogram, duty) < 1.0
    skyhook = lap(active(TRAIL_BIKE)).duty(ELECTRONICS["active"], wheels)
    assert hours_per_charge(half_kilogram, skyhook) > 3.0
    switch = lap(SWITCH).duty(ELECTRONICS["mode_switching"], wheels)
    assert max(switch.parts(), key=switch.parts().get) == "actuations"
    assert days_per_charge(Pack(LI_ION), switch, 6.0) > 7.0


def test_an_unknown_section_is_named():
    with pytest.raises(ValueError, match="Fell loop: section is 'summit'; there are climb, traverse, descent."):
        lap(SWITCH, sections=["summit"])


@pytest.mark.parametrize("damping", [300.0, 500.0, 2000.0])
def test_pedalling_loss_is_the_heat_of_a_shaken_damper(damping):
    """Two masses shaken by a sine on the upper one, complex amplitudes (any textbook): mean heat c |w X|^2/2."""
    vehicle = TRAIL_BIKE.plain(damping).changed(friction=0.0, gas_column=np.inf)
    pedalling = Pedalling(force=60.0)
    w = 2.0 * np.pi * pedalling.strokes
    link = vehicle.spring_rate + 1j * w * damping
    stiffness = np.array([[link - vehicle.body_mass * w**2, -link],
                          [-link, link + vehicle.tyre_rate - vehicle.wheel_mass * w**2]])  # fmt: skip
    body, wheel = np.linalg.solve(stiffness, [pedalling.force, 0.0])
    heat = 0.5 * damping * abs(w * (body - wheel)) ** 2
    assert pedalling_loss(vehicle, Passive(), pedalling) == pytest.approx(heat, rel=2e-3)


def test_lockout_saves_the_rider_watts():
    """Common practice, no source: a locked damper bobs less. On smooth ground the loss comes from the legs alone."""
    opened, locked = (pedalling_loss(SWITCH.vehicle, Passive(valve)) for valve in (0.0, 1.0))
    assert 0.0 < locked < 0.5 * opened


@pytest.mark.parametrize("factor", [0.6, 0.8])
def test_equal_vibration_speed_is_the_square_root_law_on_a_random_road(factor):
    """Linear, on a road white in velocity, mean squares go with speed (closed form): allowed speed with 1/share^2.

    Class A, so that the wheel's circle does not smooth it; the road is finite and its band moves with speed: 3 %.
    """
    linear = TRAIL_BIKE.plain().changed(friction=0.0, gas_column=np.inf, bump_travel=1.0, rebound_travel=1.0)
    section = Section("descent", iso_8608("A", 2000.0, seed=2, band=(0.011, 10.0)), 0.0, False)
    felt = metrics(ride_section(linear, section)).comfort
    allowed = equal_vibration_speed(plain(linear), section, felt / factor)
    assert allowed == pytest.approx(linear.descent_speed / factor**2, rel=0.03)


def test_equal_vibration_speed_stays_within_its_bounds():
    descent = fell_loop().section("descent")
    assert equal_vibration_speed(plain(TRAIL_BIKE), descent, 0.1) == TRAIL_BIKE.descent_speed
    assert equal_vibration_speed(plain(TRAIL_BIKE), descent, 1e3, most=1.2) == pytest.approx(12.0)
    with pytest.raises(ValueError, match="equal_vibration_speed: most is 0.5; allowed is 1 to 10."):
        equal_vibration_speed(plain(TRAIL_BIKE), descent, 1.0, most=0.5)
