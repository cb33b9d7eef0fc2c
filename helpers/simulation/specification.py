"""A suspension as somebody would order it, and what the models say of each of its parts."""

import math
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np

from helpers.control.latency import Chain
from helpers.control.law import MODE_SWITCH, OWN, STATE_FEEDBACK, Law
from helpers.control.laws import Passive
from helpers.control.response import DRIVES, Response, responses
from helpers.control.timing import Timing
from helpers.models.cells import CELLS, Pack
from helpers.models.energy import ELECTRONICS
from helpers.models.machines import DAMPERS, MACHINES
from helpers.models.orifice import BAR
from helpers.models.quantities import Checked, in_range, quantity
from helpers.models.vehicles import SECTIONS, Vehicle
from helpers.simulation import riding
from helpers.simulation.calmest import calmest_fixed
from helpers.simulation.deadline import MOMENT, ride_deadline, step_deadline
from helpers.simulation.stretches import fell_loop

NOTHING, ACTUATOR = "nothing", "actuator"
FAMILIES = {
    "fixed": "fixed damper",
    "active": "active",
    "semi_active": "semi-active",
    "mode_switching": "mode switching",
}
BENEFITS = {"vibration": ("comfort", "m/s²"), "heat": ("heat", "W")}  # of a ride, less is better: name in a sweep, unit
BLOW_OFF = 35.0 * BAR  # Pa at which the course's dampers crack
MOTOR = Response.first_order(1e-3, 3e-3)  # an actuator that makes force without a valve; invented for the course
CONTROLLER_RATE = 1000.0  # Hz at which the course's computers draw what `ELECTRONICS` says
SLOWEST = 1.0  # s; a valve that takes longer counts as one that does not move
LOOPS = (8, 1, 2)  # seeds of the loops on which the deadline of a law that follows the motion is sought


class SpecificationError(ValueError):
    """What was asked for cannot be; one sentence, and notebooks show no traceback."""

    def _render_traceback_(self):
        return [str(self)]


def _whole(meaning, low, high, default):
    return quantity(meaning, "", low, high, default=default, source="the specification")


def _limit(meaning, unit, low, high, default):
    return quantity(meaning, unit, low, high, default=default, source="the requirement")


class _Refusing(Checked):
    """A parameter set whose refusals show no traceback, and that can be changed by name."""

    def __post_init__(self):
        try:
            super().__post_init__()
            self._look()
        except (TypeError, ValueError) as problem:
            raise SpecificationError(str(problem)) from None

    def _one_of(self, name, allowed):
        value = getattr(self, name)
        if not isinstance(value, str) or value not in allowed:
            raise ValueError(
                f"{type(self).__name__}: {name} is {riding.shown(value)}; allowed are {', '.join(allowed)}."
            )

    def changed(self, **values):
        """The same with other values, checked: one sentence for a name that there is not."""
        if unknown := [name for name in values if name not in self.__dataclass_fields__]:
            allowed = ", ".join(self.__dataclass_fields__)
            raise SpecificationError(f"{type(self).__name__}: there is no {unknown[0]!r}; allowed are {allowed}.")
        return replace(self, **values)


@dataclass(frozen=True)
class Requirements(_Refusing):
    """What a suspension must do, before anybody names one.

    sections: of the Fell loop on which it must pay. benefit: 'vibration', or 'heat' in damper and seals, which on a
    climb is what the legs lose. All else are numbers.
    """

    sections: tuple = ("traverse", "descent")
    benefit: str = "vibration"
    matters: float = _limit("least gain that counts, in the unit of the benefit", "", 1e-6, 1000.0, 0.05)
    share: float = _limit("share of varied rides that must gain it", "", 0.0, 1.0, 0.9)
    dose_share: float = _limit("share of them whose vibration dose must not rise", "", 0.0, 1.0, 0.5)
    grip: float = _limit("time off the ground, more than the reference", "%", 0.0, 100.0, 1.0)
    travel: float = _limit("travel used, more than the reference", "%", 0.0, 200.0, 5.0)
    step: float = _limit("step over which a bump must be felt in time", "m", 0.01, 0.3, MOMENT.height)
    step_cost: float = _limit("peak that it may cost over an open valve", "", 0.01, 5.0, 0.1)
    coldest: float = _limit("coldest air", "degC", -20.0, 40.0, -10.0)
    hottest: float = _limit("hottest air", "degC", -10.0, 45.0, 30.0)
    hours: float = _limit("riding from one charge", "h", 0.1, 1000.0, 6.0)
    years: float = _limit("age of the cells", "year", 0.0, 15.0, 3.0)
    battery: float = _limit("largest mass of the battery", "kg", 0.005, 100.0, 0.5)
    mass_spread: float = _limit("body mass either way", "", 0.0, 0.5, 0.15)
    pace_spread: float = _limit("speed either way", "", 0.0, 0.4, 0.2)
    limp: float = _limit("share of the speed left after a failure", "", 0.0, 1.0, 0.25)

    def _look(self):
        self._one_of("benefit", BENEFITS)
        sections = (self.sections,) if isinstance(self.sections, str) else tuple(self.sections)
        if not sections or set(sections) - set(SECTIONS):
            raise ValueError(
                f"Requirements: sections is {riding.shown(self.sections)}; allowed are {', '.join(SECTIONS)}."
            )
        object.__setattr__(self, "sections", sections)
        in_range("Requirements", "hottest", self.hottest, "degC", self.coldest, 45.0)


@dataclass(frozen=True)
class Specification(_Refusing):
    """One suspension: a machine, its law, where the valve rests without power, and what senses, decides and moves it.

    law: any law, a learner's own too; `Fixed()` buys nothing. drive: one of those of `helpers.control.response`, each
    with its valve, or 'actuator' for an active law, or 'nothing'. cell: one of `helpers.models.cells.CELLS`.
    """

    machine: Vehicle
    law: Law = field(default_factory=Passive)
    drive: str = NOTHING
    rest: float = _whole("setting of the valve without power: 0 open, 1 firm", 0.0, 1.0, 0.0)
    sample_rate: float = quantity("samples a second", "Hz", 1.0, 20_000.0, default=800.0)
    latency: float = quantity("filter, computer and bus, from sample to order", "s", 0.0, 1.0, default=1.5e-3)
    power: float = quantity("electrical power into one drive while it moves", "W", 0.01, 5000.0, default=10.0)
    cell: str = "li_ion"
    cells: float = _whole("cells side by side; 0: no battery", 0.0, 10_000.0, 0.0)
    wheels: float = _whole("wheels with such a damper", 1.0, 8.0, 2.0)

    def _look(self):
        for name, kind, allowed in (("machine", Vehicle, "a machine, such as bike or machine(...)"),
                                    ("law", Law, "a law, such as AccelerationDriven() or my_law")):  # fmt: skip
            if not isinstance(getattr(self, name), kind):
                raise ValueError(f"Specification: {name} is {riding.shown(getattr(self, name))}; allowed is {allowed}.")
        self._one_of("drive", (*DRIVES, ACTUATOR, NOTHING))
        self._one_of("cell", CELLS)
        for name in ("cells", "wheels"):
            if getattr(self, name) != int(getattr(self, name)):
                raise ValueError(f"Specification: {name} is {getattr(self, name):g}; allowed are whole numbers.")

    @property
    def family(self):
        """One of `FAMILIES`, by the law."""
        if isinstance(self.law, Passive):
            return "fixed"
        active = self.law.code == STATE_FEEDBACK or (self.law.code == OWN and self.law.actuator)
        return "active" if active else "mode_switching" if self.law.code == MODE_SWITCH else "semi_active"

    @property
    def misfit(self):
        """Why law, drive and machine do not go together, in words; '' where they do."""
        wanted = {"fixed": (NOTHING,), "active": (ACTUATOR,)}.get(self.family, tuple(DRIVES))
        if self.drive not in wanted:
            return f"{_a(FAMILIES[self.family])} law needs {' or '.join(wanted)}, not {self.drive}"
        if self.family in ("semi_active", "mode_switching") and self.machine.open_curve == self.machine.lockout_curve:
            return f"the damper of the {self.machine.name} has one curve and no valve to move"
        if self.drive == "magnetorheological" and self.rest > 0.0:
            return "a magnetorheological gap is soft without power and cannot rest firm"
        return ""

    @property
    def settings_needed(self):
        """How many places of the valve are asked for: those of the law and of rest, or ten where it follows a force."""
        if self.family in ("fixed", "active"):
            return 1
        two = hasattr(self.law, "firm") and not hasattr(self.law, "settings") or self.family == "mode_switching"
        places = {getattr(self.law, name, self.rest) for name in ("soft", "firm")} | {self.rest}
        return max(2, len(places)) if two else 10

    @property
    def pack(self):
        """The `Pack`; None without cells."""
        return Pack(CELLS[self.cell], parallel=self.cells) if self.cells else None

    @property
    def response(self):
        """The `Response` of its valve and drive, opening against `pressure`; of an actuator that of a motor.

        None of nothing. The way back, and a valve that rests open, are not timed.
        """
        return None if self.drive == NOTHING else MOTOR if self.drive == ACTUATOR else _responses(self)[0]

    @property
    def move(self):
        """The `Move` of its drive against `pressure`; None where there is no valve."""
        return None if self.drive in (NOTHING, ACTUATOR) else _responses(self)[1]

    @property
    def moves(self):
        """Whether law, drive and machine go together and the valve moves at all."""
        if self.family == "fixed" or self.misfit:
            return False
        return self.response.force_90 <= SLOWEST and (self.move is None or self.move.time <= SLOWEST)

    def timing(self, slower=1.0):
        """The chain from sensor to force as a `Timing`, a worn valve `slower`; ideal where nothing moves."""
        if not self.moves:
            return Timing.ideal()
        dead, lag = self.response.as_lag
        return Timing(sample_rate=self.sample_rate, compute=self.latency, valve_dead_time=min(slower * dead, 1.0),
                      valve_time_constant=min(slower * lag, 1.0))  # fmt: skip

    @property
    def ridden_law(self):
        """The law that a ride has: its own, or the valve at rest where nothing can move it."""
        return self.law if self.moves else Passive(self.law.setting if self.family == "fixed" else self.rest)

    @property
    def age(self):
        """Age in s of what the damper acts on, until 63 % of the force, on average; inf where nothing moves."""
        return Chain.of(self.timing(), share=1.0 - math.exp(-1.0)).mean if self.moves else math.inf


def _a(word):
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


@lru_cache(64)
def pressure(machine, law, rest):
    """Pressure in Pa against which the valve must move: what 99 % of the descent stay below, at least the blow-off's.

    Of the course's dampers by their circuit; of others in proportion to the force, 35 bar where the blow-off cracks,
    which is too high by up to a fifth where the damper moves fast.
    """
    ridden = riding.ride(machine, fell_loop().descent, law)
    known = next((key for key, one in MACHINES.items() if one.lockout_curve == machine.lockout_curve), None)
    if known:
        over = np.abs(DAMPERS[known].held(ridden.run.damper_speed, ridden.valve))
    else:
        firm = machine.lockout_curve.compression
        over = np.abs(ridden.damper_force) * BLOW_OFF / max(firm.low * firm.knee, 1.0)
    return max(BLOW_OFF, float(np.quantile(over, 0.99)))


@lru_cache(64)
def _responses(spec):
    """(`Response`, `Move`) of valve and drive at the ride's pressure, rounded to a bar, and the power allowed."""
    bar = BAR * round(pressure(spec.machine, spec.law if not spec.misfit else Passive(spec.rest), spec.rest) / BAR)
    drive, valve = DRIVES[spec.drive]
    found = responses(bar, spec.power, drives={spec.drive: (drive, valve)})[spec.drive]
    return found, drive.move(valve, bar, spec.power)


@lru_cache(64)
def duty(spec, *grounds, motor_constant=50.0):
    """The `Duty` of the whole machine over the stretches given, or all three of the loop, ridden with its own chain.

    Each stroke of a valve costs the energy of an opening one; away from rest it is held, by the mean square of how far.
    A motor is held by its windings' heat: the mean square of its force over that of `motor_constant`, N/W^0.5, which is
    invented, of a motor on a ball screw.
    """
    if spec.family == "fixed":
        return None
    rides = [riding.ride(spec.machine, ground, spec.ridden_law, spec.timing()) for ground in grounds or fell_loop()]
    times = [one.run.duration for one in rides]

    def mean(what):
        return float(np.average([what(one) for one in rides], weights=times))

    electronics, move = ELECTRONICS[spec.family], spec.move if spec.moves else None
    held = {"holding": move.holding_power if move else 0.0,
            "holding_share": mean(lambda one: np.mean((one.valve - spec.rest) ** 2))}  # fmt: skip
    if spec.drive == ACTUATOR:
        constant = in_range("duty", "motor_constant", motor_constant, "N/W^0.5", 0.1, 1e5)
        held = {"holding": mean(lambda one: np.mean(one.actuator_force**2)) / constant**2, "holding_share": 1.0}
    return replace(
        electronics, wheels=spec.wheels, controller=electronics.controller * spec.sample_rate / CONTROLLER_RATE,
        per_actuation=move.energy if move else 0.0, actuation_rate=mean(lambda one: one.strokes) if move else 0.0,
        supplied=mean(lambda one: one.power_in), returned=mean(lambda one: one.power_back), **held,
    )  # fmt: skip


def due(spec, need):
    """Age in s of what the damper acts on that the machine allows with this law; see `deadline`.

    Of a mode switch that rests firm: over a step, at the pace of the section where one is locked, that of `MOMENT`; one
    that rests open is always in time.
    Of a law that follows the motion: until it is no calmer than the calmest fixed damper on three loops' descents.
    """
    if spec.family != "mode_switching":
        return _due_on_rides(spec.machine, spec.law)
    return _due_over_a_step(spec.machine, spec.law, need.step, need.step_cost) if spec.law.initial > 0.5 else math.inf


@lru_cache(64)
def _due_over_a_step(machine, law, height, allowed):
    return step_deadline(machine, law, height, machine.speed(MOMENT.section), allowed)


@lru_cache(64)
def _due_on_rides(machine, law):
    grounds = [fell_loop(seed).descent for seed in LOOPS]
    rival = calmest_fixed(machine, fell_loop().descent)
    return ride_deadline(machine, law, grounds, [riding.ride(rival, one).vibration for one in grounds])
