"""Numbers of workbook 09: four offers for the bike over the Fell loop, what they draw, what is uncertain about it.

An offer is a suspension that somebody would fit: a mode switch, a semi-active valve, a motor with a modest skyhook
law, a motor with the comfort law of workbook 02. All of them work through the chain of workbook 00.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from helpers.control.mode_switch import ModeSwitch
from helpers.control.optimal import regulator
from helpers.control.timing import Timing
from helpers.models.cells import LI_ION, Pack
from helpers.models.energy import ELECTRONICS, HOUR
from helpers.models.pedalling import Pedalling
from helpers.models.terrain import fell_loop
from helpers.models.uncertainty import Range, Spread, Swing, spread
from helpers.models.vehicles import FLEET, SECTIONS, TRAIL_BIKE
from helpers.simulation import families
from helpers.simulation.duty import WHEELS, equal_vibration_speed, lap
from helpers.simulation.metrics import metrics, rms
from helpers.simulation.runs import ride_section, simulate

OFFERS = {"switch": "mode switch", "valve": "semi-active valve", "skyhook": "skyhook motor",
          "comfort": "comfort-law motor"}  # fmt: skip
FAMILY = {"switch": "mode_switching", "valve": "semi_active", "skyhook": "active", "comfort": "active"}
MOTORS = ("skyhook", "comfort")
COURSE, OTHERS = 8, tuple(range(8))  # seeds: the Fell loop, and eight loops drawn like it
DAY = 6.0  # h ridden on a long call
WINTER = {"temperature": -10.0, "years": 3.0}  # and CYCLES, of a cell that has any
CYCLES = 150.0
CAGE_MASS, CAGE_VOLUME = 0.5, 0.75e-3  # kg and m3 that the bike's bottle cage takes; invented
MOTOR_CONSTANT = 50.0  # N/W^0.5, force at the rod per root of winding heat; invented, of a motor on a ball screw
LONG_SCREW = 16.0  # the same of 0.05 N m/W^0.5 on a screw of 20 mm a turn
RIDER = 250.0  # W at the pedals on the climb
RECOVERED = 0.25  # share of a damper's heat that could come back; an assumption
SEED = 1
POINT = {"switch": {"holding": 0.01}, "valve": {"holding_share": 0.6}}  # most likely, where `ELECTRONICS` says another


def suspension(offer, machine="bike", at_once=False):
    """The `Suspension` of an offer, or of the plain damper or the soft valve alone."""
    vehicle = FLEET[machine]
    if offer == "comfort":
        law = regulator(vehicle).feedback()
        return replace(families.active(vehicle), law=law, **({"timing": Timing.ideal()} if at_once else {}))
    made = {"plain": families.plain, "soft": families.soft_valve, "switch": families.mode_switching,
            "valve": families.semi_active, "skyhook": families.active}[offer]  # fmt: skip
    return made(vehicle)


@lru_cache
def ridden(machine, offer, seed=COURSE, at_once=False):
    """The `Lap` of one wheel over a loop."""
    return lap(suspension(offer, machine, at_once), fell_loop(seed))


@dataclass(frozen=True)
class Felt:
    """One section ridden: weighted vibration, m/s2, mean heat, W, share of the valve's setting and its mean square,
    rms and largest force of the actuator, N, its power put in over time, W, and the samples a second.
    """

    vibration: float
    heat: float
    firm: float
    firm_squared: float
    force: float
    most_force: float
    pushes: np.ndarray
    rate: float
    duration: float


@lru_cache
def felt(offer, section, machine="bike", at_once=False, seed=COURSE):
    """The `Felt` of an offer on a section of a loop."""
    chosen = suspension(offer, machine, at_once)
    run = ride_section(chosen.vehicle, fell_loop(seed).section(section), chosen.law, chosen.timing)
    pushes = np.maximum(run.actuator_force * (run.body_velocity - run.wheel_velocity), 0.0)
    told = metrics(run)
    return Felt(told.comfort, told.heat, float(np.mean(run.valve)), float(np.mean(run.valve**2)),
                rms(run.actuator_force), float(np.abs(run.actuator_force).max()), pushes, run.rate,
                run.duration)  # fmt: skip


def over_the_loop(offer, what, machine="bike", seed=COURSE):
    """Mean over the loop's time of a number of `felt`; of 'force' the root of the mean square."""
    parts = [felt(offer, section, machine, seed=seed) for section in SECTIONS]
    times = [part.duration for part in parts]
    values = [getattr(part, what) ** (2 if what == "force" else 1) for part in parts]
    mean = float(np.average(values, weights=times))
    return mean**0.5 if what == "force" else mean


def windings(offer, constant=MOTOR_CONSTANT):
    """Heat in W of one motor's windings: force squared over the motor constant squared, moving or not."""
    return (over_the_loop(offer, "force") / constant) ** 2


@lru_cache
def duty(offer, machine="bike", seed=COURSE, at_once=False):
    """The `Duty` of the whole machine."""
    electronics = replace(ELECTRONICS[FAMILY[offer]], **POINT.get(offer, {}))
    return ridden(machine, offer, seed, at_once).duty(electronics, WHEELS[machine])


def over_loops(offer, what, machine="bike"):
    """Least and largest over the course's loop and the eight others of a function of the duty."""
    values = [what(duty(offer, machine, seed)) for seed in (COURSE, *OTHERS)]
    return min(values), max(values)


# --- what is uncertain ------------------------------------------------------------------------------------------------

SHORT = {"switch": "mode switch", "valve": "valve", "skyhook": "sky\u00adhook", "comfort": "com\u00adfort law"}
# Heads of tables that a phone must hold: a soft hyphen shows only where a word would not fit.
NAMED = {
    "per_actuation": "energy of one move", "actuation_rate": "moves an hour", "holding": "draw of a held valve",
    "holding_share": "share it is held", "controller": "computer", "sensor": "sensors",
    "efficiency": "drive efficiency", "supplied": "energy of the pushes", "motor_constant": "windings",
    "years": "age of the cells",
}  # fmt: skip


@lru_cache
def ranges(offer):
    """What is not known about an offer on the bike, as a dict of `Range`s; all but what rides tell are invented."""
    here, age = duty(offer), {"years": Range(0.0, 2.0, 5.0)}
    if offer == "switch":
        low, high = over_loops(offer, lambda one: one.actuation_rate)
        return {
            "per_actuation": Range(0.02, 0.1, 0.3), "actuation_rate": Range(low, here.actuation_rate, high),
            "holding": Range(0.0, 0.01, 0.05), "controller": Range(0.005, 0.015, 0.04),
            "sensor": Range(0.001, 0.003, 0.01),
        } | age  # fmt: skip
    if offer == "valve":
        share = over_the_loop(offer, "firm_squared")
        return {
            "holding": Range(1.0, 2.0, 4.0), "holding_share": Range(share, 0.6, 1.0),
            "controller": Range(0.1, 0.3, 1.0), "sensor": Range(0.005, 0.02, 0.05),
        } | age  # fmt: skip
    low, high = over_loops(offer, lambda one: one.supplied)
    return {
        "supplied": Range(low, here.supplied, high), "efficiency": Range(0.4, 0.6, 0.8),
        "motor_constant": Range(25.0, MOTOR_CONSTANT, 100.0), "controller": Range(0.3, 1.0, 3.0),
    } | age  # fmt: skip


def power_of(offer, motor_constant=None, section=None, **known):
    """Draw of the bike in W with some of its quantities known better; with a motor constant the windings count too.

    section: on that part of the loop alone; only for motors.
    """
    if section is not None:
        known["supplied"] *= float(felt(offer, section).pushes.mean()) / duty(offer).supplied
        known["holding"] = (felt(offer, section).force / motor_constant) ** 2
    elif motor_constant is not None:
        known["holding"] = windings(offer, motor_constant)
    return replace(duty(offer), **known).power


@lru_cache
def _drawn(offer, draws):
    """Draw in W and age of the cells in years, shape (n, 2): of each draw, then at both ends of each input in turn."""
    seen = []

    def note(years, **known):
        seen.append((power_of(offer, **known), years))
        return seen[-1][0]

    spread(note, ranges(offer), SEED, draws)
    return np.array(seen)


def lasting(offer, pack, temperature=20.0, draws=2000):
    """The `Spread` of hours per charge of a pack, inputs drawn from `ranges`; the rating is looked at elsewhere."""
    watts, years = _drawn(offer, draws).T
    hours = pack.usable(temperature) * (1.0 - pack.cell.yearly_fade * years) / (watts + pack.leak) / HOUR
    ends = hours[draws:].reshape(-1, 2)
    swings = [Swing(name, *(float(end) for end in pair)) for name, pair in zip(ranges(offer), ends, strict=True)]
    return Spread(np.sort(hours[:draws]), tuple(sorted(swings, key=lambda swing: -swing.size)))


def deciders(swings):
    """The swing that moves a result most, and the next if it moves it nearly as much."""
    return [one for one in swings[:2] if one.size > 0.85 * swings[0].size]


@lru_cache
def drawing(offer, section=None, draws=2000):
    """The `Spread` of the draw in W, inputs drawn from the same ranges; of a motor also on one section alone."""
    known = {name: one for name, one in ranges(offer).items() if name != "years"}
    return spread(lambda **values: power_of(offer, section=section, **values), known, SEED, draws)


@lru_cache
def balance(offer, draws=2000):
    """The `Spread` of a motor's draw in W on the course's loop with all returns stored; below 0 it feeds itself."""
    here = duty(offer)
    known = {name: ranges(offer)[name] for name in ("efficiency", "motor_constant", "controller")}
    return spread(lambda **values: power_of(offer, **values) - here.wheels * values["efficiency"] * here.returned,
                  known, SEED, draws)  # fmt: skip


def enough(offer, seed=COURSE):
    """Motor constant in N/W^0.5 from which a motor feeds itself on a loop, its returns stored."""
    here = duty(offer, seed=seed)
    left = here.wheels * here.efficiency * here.returned - here.power
    return over_the_loop(offer, "force", seed=seed) / (left / here.wheels) ** 0.5


def half_kilogram(cell=LI_ION):
    """The pack that the bottle cage takes."""
    return Pack.within(cell, CAGE_MASS)


def winter(cell):
    """The state of cells in their third winter, as keywords of `Cell.share_left`."""
    return WINTER | ({"cycles": CYCLES} if cell.cycle_life else {})


# --- peaks ------------------------------------------------------------------------------------------------------------


def largest_push(offer, seed=COURSE):
    """Largest power in W that one motor asks of the battery for its pushes, at the drive's efficiency."""
    return max(felt(offer, section, seed=seed).pushes.max() for section in SECTIONS) / duty(offer).efficiency


def buffer_energy(offer, limit, seed=COURSE):
    """Energy in J that must come from elsewhere where the battery gives one motor at most `limit` W, and refills it."""
    most = 0.0
    for section in SECTIONS:
        part = felt(offer, section, seed=seed)
        owed = np.concatenate([[0.0], np.cumsum(part.pushes / duty(offer).efficiency - limit) / part.rate])
        most = max(most, float((owed - np.minimum.accumulate(owed)).max()))
    return most


# --- seconds ----------------------------------------------------------------------------------------------------------


@lru_cache
def from_the_legs(offer):
    """Mean power in W that the rear suspension takes from the rider's legs on smooth ground.

    Legs and motor together make the heat, so what a motor puts in is taken off. Over whole strokes, as
    `pedalling_loss`, which is the same without a motor.
    """
    chosen, pedalling = suspension(offer), Pedalling(force=TRAIL_BIKE.pedal_force)  # the switch stays locked

    def taken(strokes):
        run = simulate(chosen.vehicle, np.zeros_like, strokes / pedalling.strokes, chosen.law, chosen.timing,
                       pedalling.push)  # fmt: skip
        return run.damper_heat + run.friction_heat - run.actuator_work

    return (taken(48) - taken(16)) * pedalling.strokes / 32.0


@lru_cache
def descent_seconds(offer, seed=COURSE):
    """Seconds that the descent is shorter if ridden faster until it shakes as the plain damper did."""
    section = fell_loop(seed).section("descent")
    felt_plain = metrics(ride_section(TRAIL_BIKE.plain(), section)).comfort
    speed = equal_vibration_speed(suspension(offer), section, felt_plain)
    return section.profile.length * (1.0 / TRAIL_BIKE.descent_speed - 1.0 / speed)


@lru_cache
def locked_on_the_climb(hold=0.5):
    """Share of the climb that the mode switch spends locked."""
    chosen = families.mode_switching(TRAIL_BIKE, ModeSwitch(hold=hold))
    run = ride_section(chosen.vehicle, fell_loop().section("climb"), chosen.law, chosen.timing)
    return float(np.mean(run.valve > 0.5))


@lru_cache(256)
def moves_a_second(hold):
    """Moves a second of one wheel's valve over the Fell loop, hold time in s."""
    whole = lap(families.mode_switching(TRAIL_BIKE, ModeSwitch(hold=hold)))
    return whole.actuations / whole.seconds
