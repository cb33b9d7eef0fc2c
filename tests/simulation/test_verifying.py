"""A specification and its verification: parts against their own models, rides one by one, failures, absurd choices."""

import math
from concurrent.futures import ProcessPoolExecutor

import numpy as np
import pytest

from helpers.control.laws import AccelerationDriven, ActiveSkyhook, LinearSkyhook
from helpers.control.mode_switch import ModeSwitch
from helpers.control.own_law import OwnLaw
from helpers.control.response import DRIVES
from helpers.models.cells import JOULES_PER_WH, LI_ION
from helpers.models.condition import Condition
from helpers.models.machines import MACHINES
from helpers.models.own_machine import machine
from helpers.models.pedalling import Pedalling
from helpers.simulation import runs, verifying
from helpers.simulation.calmest import calmest_fixed
from helpers.simulation.metrics import metrics
from helpers.simulation.riding import ride
from helpers.simulation.specification import (
    BLOW_OFF,
    Requirements,
    Specification,
    SpecificationError,
    duty,
    pressure,
)
from helpers.simulation.stretches import fell_loop
from helpers.simulation.verifying import Check, remains, settings_left, varied, verify

BIKE, MOTORCYCLE, CARRIER = (MACHINES[key] for key in ("bike", "motorcycle", "carrier"))
DRAFT = Specification(BIKE, AccelerationDriven(firm=1.0), "coil on a pilot", cells=3)
SHORT = Requirements(sections=("traverse",), coldest=0.0)


# --- parts ------------------------------------------------------------------------------------------------------------


def test_the_age_adds_up():
    assert DRAFT.age == pytest.approx(0.5 / 800.0 + 1.5e-3 + DRAFT.response.force_63)
    assert DRAFT.timing().delay + DRAFT.timing().valve_time_constant == pytest.approx(1.5e-3 + DRAFT.response.force_63)
    worn = DRAFT.timing(1.25)
    assert worn.valve_time_constant == pytest.approx(1.25 * DRAFT.timing().valve_time_constant)


def test_the_pressure_is_the_blow_offs_at_least():
    assert pressure(BIKE, ModeSwitch(), 1.0) == BLOW_OFF
    own = machine("mine", load=48.0, wheel=3.0, travel=0.14, sag=0.035, tyre_press=0.009)
    assert pressure(own, AccelerationDriven(firm=1.0), 0.0) >= BLOW_OFF


def test_the_draw_is_the_sum_of_its_parts():
    drawn = duty(DRAFT)
    stroke = 2.0 * DRAFT.move.energy * drawn.actuation_rate
    held = 2.0 * DRAFT.move.holding_power * drawn.holding_share
    assert drawn.power == pytest.approx(1e-3 + 0.3 * 0.8 + 2.0 * 0.02 + stroke + held)
    hours = verify(DRAFT, SHORT, 2)["hours on a charge, cold and aged"].measured
    left = 3.0 * LI_ION.energy_wh * LI_ION.share_left(temperature=0.0, years=3.0)
    assert hours == pytest.approx(left / (drawn.power + DRAFT.pack.leak), rel=1e-6)
    assert DRAFT.pack.energy / JOULES_PER_WH == pytest.approx(3.0 * 10.8)


def test_a_motors_draw_is_that_of_its_rides():
    """Pushes and windings summed over all points of the three rides; one stretch alone; and no valve is held."""
    spec = Specification(BIKE, ActiveSkyhook(1000.0), "actuator")
    runs = [ride(BIKE, ground, spec.law, spec.timing()).run for ground in fell_loop()]
    force = np.concatenate([run.actuator_force for run in runs])
    power = force * np.concatenate([run.body_velocity - run.wheel_velocity for run in runs])
    drawn = duty(spec, motor_constant=25.0)
    assert drawn.holding * drawn.holding_share == pytest.approx(np.mean(force**2) / 25.0**2, rel=2e-3)
    assert drawn.supplied == pytest.approx(np.maximum(power, 0.0).mean(), rel=0.02)
    assert drawn.returned == pytest.approx(np.maximum(-power, 0.0).mean(), rel=0.02)
    parts = drawn.parts()
    assert parts["holding"] == pytest.approx(4.0 * duty(spec).parts()["holding"]) and parts["actuations"] == 0.0
    climb = ride(BIKE, fell_loop().climb, spec.law, spec.timing())
    assert duty(spec, fell_loop().climb).supplied == pytest.approx(climb.power_in)


def test_what_does_not_go_together_is_said():
    assert "needs actuator" in Specification(BIKE, ActiveSkyhook(1000.0), "coil on a pilot").misfit
    assert "has one curve" in Specification(BIKE.plain(), ModeSwitch(), "coil on a pilot").misfit
    assert "cannot rest firm" in Specification(BIKE, LinearSkyhook(1000.0), "magnetorheological", rest=1.0).misfit
    assert "needs nothing" in Specification(BIKE, drive="coil on a pilot").misfit
    assert DRAFT.misfit == "" and DRAFT.settings_needed == 2
    assert Specification(BIKE, LinearSkyhook(1000.0), "geared motor on a spool").settings_needed == 10


def test_a_rest_between_the_laws_places_asks_for_a_third():
    """A coil has two: soft at 0.1 and firm at 1 fit only where the soft one is also the stop at which it rests."""
    mended = DRAFT.changed(law=AccelerationDriven(soft=0.1, firm=1.0))
    assert mended.settings_needed == 3 > mended.move.settings
    stopped = mended.changed(rest=0.1)
    assert stopped.settings_needed == 2 and settings_left(stopped)["battery flat"] == 0.1
    assert Specification(BIKE, ModeSwitch(), "coil on a pilot", rest=1.0).settings_needed == 2


def test_other_draws_are_other_rides_and_kept_apart():
    first, other = (verify(DRAFT, SHORT, 2, seed=seed) for seed in (1, 2))
    assert first.seed == 1 and other.seed == 2 and not np.array_equal(first.varied.gain, other.varied.gain)
    assert verifying.key_of(DRAFT, SHORT, 2, 1) != verifying.key_of(DRAFT, SHORT, 2, 2)


def test_a_piloted_valve_shuts_more_slowly_than_it_opens():
    """Why page and sheet say that the true age is greater: of the main valve at one pressure, more so at a lower."""
    valve = DRIVES["coil on a pilot"][1]
    assert valve.closing_time(BLOW_OFF) > 2.0 * valve.opening_time(BLOW_OFF)
    assert valve.closing_time(0.2 * BLOW_OFF) > valve.closing_time(BLOW_OFF)


WRONG = {
    "no machine": (lambda: Specification("bike"), "machine is 'bike'; allowed is a machine"),
    "no law": (lambda: DRAFT.changed(law=3), "law is 3; allowed is a law"),
    "a drive of nobody's": (lambda: DRAFT.changed(drive="magic"), "drive is 'magic'; allowed are coil on a poppet"),
    "a cell of nobody's": (lambda: DRAFT.changed(cell="uranium"), "cell is 'uranium'; allowed are coin"),
    "half a cell": (lambda: DRAFT.changed(cells=2.5), "cells is 2.5; allowed are whole numbers"),
    "no rate": (lambda: DRAFT.changed(sample_rate=0), "sample_rate is 0 Hz; allowed is 1 to 20000 Hz"),
    "a word for watts": (lambda: DRAFT.changed(power="ten"), "power is 'ten', which is not a number"),
    "a field of nobody's": (lambda: DRAFT.changed(colour=1), "there is no 'colour'; allowed are machine"),
    "a section of nobody's": (lambda: Requirements(sections=("moor",)), "sections is .*; allowed are climb"),
    "a benefit of nobody's": (lambda: Requirements(benefit="fun"), "benefit is 'fun'; allowed are vibration, heat"),
    "colder than cold": (lambda: Requirements(coldest=30, hottest=0), "hottest is 0 degC; allowed is 30"),
}


@pytest.mark.parametrize("kind", WRONG)
def test_wrong_use_is_one_sentence(kind):
    act, told = WRONG[kind]
    with pytest.raises(SpecificationError, match=told) as problem:
        act()
    assert problem.value._render_traceback_() == [str(problem.value)] and "\n" not in str(problem.value)


# --- rides ------------------------------------------------------------------------------------------------------------


def test_varied_rides_are_the_rides_they_say():
    """Each against one ride of its own, with the machine, ground, law and chain set by hand."""
    seen = varied(DRAFT, SHORT, 3, seed=5)
    rival = calmest_fixed(BIKE, fell_loop().traverse)
    for k, now in enumerate(verifying._draws(SHORT, 3, 5)):
        ground, state = fell_loop(now["seed"]).traverse, Condition(now["air"] + 10.0, now["wear"])
        felt = []
        for vehicle, law, timing in ((rival, None, None), (BIKE, DRAFT.law, DRAFT.timing(1.0 + 0.25 * now["wear"]))):
            ridden = state.of(vehicle.changed(body_mass=now["mass"] * vehicle.body_mass))
            speed, push = now["pace"] * vehicle.traverse_speed, Pedalling(force=BIKE.pedal_force).push
            felt.append(metrics(runs.ride(ridden, ground.ground, speed, law, timing, push)))
        assert seen.gain[k] == pytest.approx(felt[0].comfort - felt[1].comfort, abs=2e-4)
        assert seen.dose[k] == pytest.approx(felt[1].dose / felt[0].dose, rel=1e-3)
        assert seen.grip[k] == pytest.approx(100.0 * (felt[1].airborne - felt[0].airborne), abs=1e-6)
        assert seen.travel[k] == pytest.approx(100.0 * (felt[1].bump_share - felt[0].bump_share), abs=1e-6)


def test_draws_span_their_ranges():
    need = Requirements()
    draws = list(verifying._draws(need, 100, 1))
    for name, low, high in (("mass", 0.85, 1.15), ("pace", 0.8, 1.2), ("air", -10.0, 30.0), ("wear", 0.0, 1.0)):
        values = np.array([now[name] for now in draws])
        assert low <= values.min() < low + 0.02 * (high - low) and high - 0.02 * (high - low) < values.max() <= high
    assert {now["section"] for now in draws} == set(need.sections)
    assert {now["seed"] for now in draws} == set(range(1, 25))


def test_any_executor_gives_the_same_and_progress_is_told():
    told = []
    here = varied(DRAFT, SHORT, 4, progress=lambda done, total: told.append((done, total)))
    with ProcessPoolExecutor(1) as pool:
        there = varied(DRAFT, SHORT, 4, executor=pool)
    assert np.array_equal(here.gain, there.gain) and told[-1] == (8, 8)


def test_a_law_of_ones_own_rides_like_the_built_in():
    def mine(seen):
        return 1.0 if seen.body_acceleration * seen.suspension_velocity > 0.0 else 0.0

    own, built = (varied(DRAFT.changed(law=law), SHORT, 3) for law in (OwnLaw(mine), DRAFT.law))
    assert own.gain == pytest.approx(built.gain, abs=1e-3)


def test_stored_rides_are_those_that_are_ridden():
    """The first of the 500 that are stored for the draft, ridden again, with the draws of 500."""
    need = Requirements()
    kept = verifying._stored()[verifying.key_of(DRAFT, need, 500)]
    assert {len(kept[name]) for name in verifying.COLUMNS} == {500}
    draws = list(verifying._draws(need, 500, 1))
    for place in (3, 311):
        now, rival = draws[place], calmest_fixed(BIKE, fell_loop().descent)
        ground = getattr(fell_loop(now["seed"]), now["section"])
        state, felt = Condition(max(now["air"] + 10.0, 0.0), now["wear"]), []
        for vehicle, law, timing in ((rival, None, None), (BIKE, DRAFT.law, DRAFT.timing(state.valve_slower))):
            ridden = state.of(vehicle.changed(body_mass=now["mass"] * vehicle.body_mass))
            speed = now["pace"] * vehicle.speed(now["section"])
            push = Pedalling(force=BIKE.pedal_force).push if now["section"] != "descent" else None
            felt.append(metrics(runs.ride(ridden, ground.ground, speed, law, timing, push)).comfort)
        assert kept["gain"][place] == pytest.approx(felt[0] - felt[1], abs=5e-4)


# --- failures and verdicts ------------------------------------------------------------------------------------------


def test_where_each_failure_leaves_the_valve():
    assert settings_left(DRAFT) == {"battery flat": 0.0, "sensor dead": 0.0, "valve stuck open": 0.0,
                                    "valve stuck shut": 1.0}  # fmt: skip
    firm = DRAFT.changed(law=ModeSwitch(), rest=1.0)
    assert settings_left(firm)["sensor dead"] == 1.0 and settings_left(firm)["battery flat"] == 1.0


def test_what_remains_is_less_when_the_valve_is_stuck_shut():
    left = remains(DRAFT, Requirements())
    assert left["valve stuck shut"]["descent"] < left["valve stuck open"]["descent"] <= 1.0
    assert left["battery flat"] == left["valve stuck open"]


def test_a_check_knows_its_margin():
    assert Check("a", 3.0, 2.0, "m", "at least").margin == 1.0 and Check("a", 3.0, 2.0, "m").margin == -1.0
    assert not Check("a", math.inf, math.inf, "s").passed and not Check("a", math.nan, 1.0, "s").passed


def broken(seen):
    return 1.0 / 0.0 if seen.time > 0.1 else 0.0


ABSURD = {
    "everything wrong": (DRAFT.changed(law=LinearSkyhook(90_000.0), drive="coil on a poppet", rest=1.0, sample_rate=2.0,
                                       latency=0.9, power=0.05, cell="coin", cells=1.0, wheels=8.0),
                         "peak power, cold, new cells"),
    "a law that stops": (DRAFT.changed(law=OwnLaw(broken)), "a first ride"),
    "a motor without time": (DRAFT.changed(law=ActiveSkyhook(90_000.0), drive="actuator", latency=0.5), "battery"),
    "no battery": (DRAFT.changed(cells=0.0), "hours on a charge"),
    "an actuator on a valve's law": (DRAFT.changed(drive="actuator"), "law, drive and machine fit"),
    "a valve for nothing": (Specification(BIKE, drive="coil on a pilot"), "law, drive and machine fit"),
    "a machine without a valve": (DRAFT.changed(machine=BIKE.plain()), "law, drive and machine fit"),
}  # fmt: skip


@pytest.mark.parametrize("kind", ABSURD)
def test_absurd_choices_fail_and_do_not_crash(kind):
    spec, name = ABSURD[kind]
    found = verify(spec, SHORT, 2)
    assert not found.passed and name in [check.name for check in found.failed]
    assert verifying.summary(found).startswith("trail bike, ") and name in verifying.summary(found)


def test_every_drive_can_be_specified():
    for drive in DRIVES:
        spec = DRAFT.changed(drive=drive)
        assert spec.moves == (spec.age < math.inf)
    assert not DRAFT.changed(drive="coil on a poppet").moves


def test_nothing_is_verified_against_the_plain_damper():
    found = verify(Specification(MOTORCYCLE.plain()), SHORT, 4)
    assert np.all(found.varied.gain == 0.0) and not found.passed
    assert [check.name for check in found.checks][0].startswith("rides with vibration less") and len(found.checks) == 4
