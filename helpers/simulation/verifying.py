"""A specification put to the test: by varied rides, by failures, and by what each part must do; each with a limit."""

import hashlib
import json
import math
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from helpers.control.law import OWN
from helpers.control.laws import Passive
from helpers.models.cells import loaded
from helpers.models.condition import Condition
from helpers.models.energy import hours_per_charge
from helpers.models.pedalling import Pedalling
from helpers.simulation.batch import Ride
from helpers.simulation.calmest import calmest_fixed
from helpers.simulation.runs import simulate
from helpers.simulation.specification import BENEFITS, FAMILIES, Requirements, Specification, due, duty
from helpers.simulation.stretches import fell_loop
from helpers.simulation.sweep import sweep

LOOPS = 24  # seeds of varied rides
WARMER = 10.0  # K that a ridden damper's oil is above the air; invented for the course
PACES = tuple(k / 10.0 for k in range(10, 0, -1))  # shares of the speed at which a failure is ridden
WITHIN = 1.1  # times what the plain damper does at full speed: what is rideable
FLOORS = {"airborne": 0.05, "bump_share": 1.0}  # or this, whatever the plain damper does; invented
STORED = Path(__file__).with_name("verified.json")
COLUMNS = ("gain", "dose", "grip", "travel")


@dataclass(frozen=True)
class Check:
    """One thing that was looked at: what was measured, its limit, and whether it held. NaN and sentences fail."""

    name: str
    measured: float
    limit: float
    unit: str
    sense: str = "at most"
    note: str = ""

    @property
    def passed(self):
        return self.margin >= 0.0

    @property
    def margin(self):
        """How far inside the limit, in its unit; negative outside, NaN where nothing was measured."""
        return self.measured - self.limit if self.sense == "at least" else self.limit - self.measured


@dataclass(frozen=True, eq=False)
class Varied:
    """Varied rides, shape (n,) each, all over those of the reference: `gain`, less of the benefit; `dose`, a share;
    `grip` and `travel`, more in percentage points. sections: of each ride. note: the first sentence of a ride that
    could not be ridden.
    """

    gain: np.ndarray
    dose: np.ndarray
    grip: np.ndarray
    travel: np.ndarray
    sections: tuple
    note: str = ""


@dataclass(frozen=True, eq=False)
class Verification:
    """What became of a specification: its checks in order, the varied rides, and what each failure leaves rideable."""

    spec: Specification
    need: Requirements
    checks: tuple
    varied: Varied
    remains: dict
    seed: int = 1

    @property
    def passed(self):
        return all(check.passed for check in self.checks)

    @property
    def failed(self):
        return [check for check in self.checks if not check.passed]

    def __getitem__(self, name):
        return next(check for check in self.checks if check.name == name)


def _draws(need, rides, seed):
    """What varies from ride to ride: a dict for each, by Latin hypercube, so that a few rides span the ranges too."""
    draw = np.random.default_rng(seed)
    unit = np.array([(draw.permutation(rides) + draw.random(rides)) / rides for _ in range(6)]).T
    spans = ((1.0 - need.mass_spread, 1.0 + need.mass_spread), (1.0 - need.pace_spread, 1.0 + need.pace_spread),
             (need.coldest, need.hottest), (0.0, 1.0))  # fmt: skip
    for row in unit:
        mass, pace, air, wear = (low + share * (high - low) for share, (low, high) in zip(row, spans, strict=False))
        section = need.sections[int(row[4] * len(need.sections))]
        yield {"mass": mass, "pace": pace, "air": air, "wear": wear, "section": section,
               "seed": 1 + int(row[5] * LOOPS)}  # fmt: skip


def _pushed(vehicle, ground):
    return Pedalling(force=vehicle.pedal_force).push if ground.pedalling and vehicle.pedal_force else None


def reference(spec, need):
    """The machine to beat: on its plain damper where nothing is bought, else on the calmest fixed one.

    That is found on the last section named and stays as it is on the others, for nobody turns a screw between them.
    """
    if spec.family == "fixed":
        return spec.machine.plain()
    return calmest_fixed(spec.machine, getattr(fell_loop(), need.sections[-1]))


def varied(spec, need, rides=500, seed=1, executor=None, progress=None, cancel=None):
    """The `Varied` rides of a specification, each ridden on the reference too. See `sweep` for the last three."""
    draws, loops, rival = list(_draws(need, rides, seed)), {}, reference(spec, need)

    def at(draw, machine):
        now = draws[draw]
        ground = loops.setdefault((now["seed"], now["section"]), getattr(fell_loop(now["seed"]), now["section"]))
        ground = ground.changed(pace=now["pace"])
        vehicle = spec.machine if machine == "specified" else rival
        state = Condition(min(max(now["air"] + WARMER, 0.0), 60.0), now["wear"])
        vehicle = state.of(vehicle.changed(body_mass=now["mass"] * vehicle.body_mass))
        law, timing = Passive(), None
        if machine == "specified":
            law, timing = spec.ridden_law, spec.timing(state.valve_slower)
        chain = {} if timing is None else {"timing": timing}
        return Ride(vehicle, ground.ground, ground.speed_of(vehicle), law, push_at=_pushed(vehicle, ground), **chain)

    name = BENEFITS[need.benefit][0]
    metrics = tuple(dict.fromkeys([name, "dose", "airborne", "bump_share"]))
    grid = {"draw": range(rides), "machine": ("specified", "reference")}
    found = sweep(at, grid, executor, progress, cancel, metrics=metrics)
    ours, theirs = ({name: found[name][:, k] for name in metrics} for k in (0, 1))
    return Varied(
        theirs[name] - ours[name], ours["dose"] / theirs["dose"], 100.0 * (ours["airborne"] - theirs["airborne"]),
        100.0 * (ours["bump_share"] - theirs["bump_share"]), tuple(now["section"] for now in draws),
        next(iter(found.failures.values()), "ridden in part" if found.cancelled else ""),
    )  # fmt: skip


def settings_left(spec):
    """Where each failure leaves the valve, 0 open to 1 firm: {failure: setting}; a sentence where the law stops.

    A dead sensor reads zero: the law decides as on level ground. One that sticks elsewhere is not tried.
    """
    try:
        level = simulate(spec.machine, np.zeros_like, 0.5, spec.ridden_law)
        silent = float(level.valve[-1])
    except ValueError as problem:
        silent = str(problem)
    return {"battery flat": spec.rest, "sensor dead": silent, "valve stuck open": 0.0, "valve stuck shut": 1.0}


def remains(spec, need, executor=None):
    """What remains rideable: {failure: {section: largest share of the speed}}, 0 for not at a tenth of it.

    Rideable is what neither shakes, nor leaves the ground, nor uses travel a tenth more than the plain damper at full
    speed does, at this share of the speed and at all lower ones that are tried.
    """
    left = settings_left(spec)
    places = tuple(sorted({setting for setting in left.values() if not isinstance(setting, str)}))
    pace = _paces(spec.machine, places, need.sections, executor)
    return {
        failure: {section: 0.0 if isinstance(setting, str) else float(pace[k, places.index(setting)])
                  for k, section in enumerate(need.sections)}
        for failure, setting in left.items()
    }  # fmt: skip


@lru_cache(16)
def _paces(machine, places, sections, executor):
    """Largest share of the speed at which the machine is rideable, shape (sections, places of the valve)."""
    loop, names = fell_loop(), ("comfort", "airborne", "bump_share")

    def at(section, pace, setting):
        ground = getattr(loop, section).changed(pace=pace)
        vehicle = machine if setting is not None else machine.plain()
        law = Passive(setting or 0.0)
        return Ride(vehicle, ground.ground, ground.speed_of(vehicle), law, push_at=_pushed(vehicle, ground))

    grid = {"section": sections, "pace": PACES, "setting": [None, *places]}
    found = sweep(at, grid, executor, metrics=(*names, "dose"))
    good = np.ones(found[names[0]].shape, dtype=bool)
    for name in names:
        limit = np.maximum(WITHIN * found[name][:, :1, :1], FLOORS.get(name, 0.0))
        good &= found[name] <= limit
    held = np.logical_and.accumulate(good[:, ::-1], axis=1)[:, :, 1:]
    return np.max(np.where(held, np.array(PACES)[::-1][None, :, None], 0.0), axis=1)


def _of_rides(need, seen):
    name, unit = BENEFITS[need.benefit]
    share = 100.0 * float(np.mean(np.nan_to_num(seen.gain, nan=-math.inf) >= need.matters))
    gained = f"{need.benefit} less by {need.matters:g} {unit}"
    yield Check(f"rides with {gained}", share, 100.0 * need.share, "%", "at least", seen.note)
    kept = 100.0 * float(np.mean(np.nan_to_num(seen.dose, nan=math.inf) <= 1.0))
    yield Check("rides with no more dose", kept, 100.0 * need.dose_share, "%", "at least")
    yield Check("time off the ground, mean, over the reference", float(np.mean(seen.grip)), need.grip, "%")
    most = float(np.quantile(seen.travel, 0.95))
    yield Check("travel used, 95 % of rides, over the reference", most, need.travel, "%")


def _of_parts(spec, need):
    yield Check("law, drive and machine fit", 0.0 if spec.misfit else 1.0, 1.0, "", "at least", spec.misfit)
    stalled = "" if spec.moves or spec.misfit else f"{spec.drive} does not move it with {spec.power:g} W"
    latest = 1e3 * np.nan_to_num(due(spec, need), nan=0.0, posinf=math.inf)
    yield Check("age of what the damper acts on", 1e3 * spec.age, latest, "ms", note=stalled)
    if spec.move:
        yield Check("settings of the valve", spec.move.settings, spec.settings_needed, "", "at least")


def _of_battery(spec, need):
    pack, drawn = spec.pack, duty(spec)
    if pack is None:
        yield Check("hours on a charge", 0.0, need.hours, "h", "at least", "there is no battery")
        return
    peak = drawn.power if spec.move is None else spec.wheels * spec.power + drawn.controller
    try:
        most, note = loaded(pack, 0.0, need.coldest).most, ""
    except ValueError as problem:
        most, note = 0.0, str(problem)
    yield Check("peak power, cold, new cells", peak, most, "W", note=note)
    state = {"temperature": need.coldest, "years": need.years}
    try:
        hours, note = hours_per_charge(pack, drawn, **state), ""
    except ValueError as problem:
        hours, note = 0.0, str(problem)
    yield Check("hours on a charge, cold and aged", hours, need.hours, "h", "at least", note)
    yield Check("mass of the battery", pack.mass, need.battery, "kg")


def _held(make, name, *given):
    """The checks that `make` yields; where the model refuses, one that fails with its sentence."""
    try:
        return list(make(*given))
    except ValueError as problem:
        return [Check(name, math.nan, math.nan, "", note=str(problem))]


def verify(spec, need=None, rides=500, executor=None, progress=None, cancel=None, seed=1):
    """The `Verification` of a `Specification` against `Requirements`.

    rides: how many varied ones; those of the team's specifications with 500 are stored, others take some seconds for
    each hundred. executor, progress, cancel: as for `sweep`. seed: of the draws; a choice made by some is verified by
    others. Whatever is chosen, the result says so in its checks.
    """
    need = need or Requirements()
    try:
        kept = _stored().get(key_of(spec, need, rides, seed))
    except ValueError as problem:  # a law of one's own that stops, a chain that drives the machine astray
        nothing = Varied(*[np.zeros(0)] * len(COLUMNS), (), str(problem))
        first = Check("a first ride", math.nan, math.nan, "", note=str(problem))
        return Verification(spec, need, (first,), nothing, {})
    if kept:
        columns = [np.array(kept[name]) for name in COLUMNS]
        seen = Varied(*columns, tuple(now["section"] for now in _draws(need, rides, seed)))
    else:
        seen = varied(spec, need, rides, seed, executor, progress, cancel)
    checks, left = list(_of_rides(need, seen)), {}
    if spec.family != "fixed":
        left = kept["left"] if kept else remains(spec, need, executor)
        checks = [*_held(_of_parts, "valve, drive and chain", spec, need), *checks,
                  *_held(_of_battery, "battery", spec, need)]  # fmt: skip
        checks += [Check(f"{failure}: speed left", 100.0 * min(paces.values()), 100.0 * need.limp, "%", "at least")
                   for failure, paces in left.items()]  # fmt: skip
    elif spec.misfit:
        checks = [next(_of_parts(spec, need)), *checks]
    return Verification(spec, need, tuple(checks), seen, left, seed)


@lru_cache(1)
def _stored():
    return json.loads(STORED.read_text("utf-8")) if STORED.is_file() else {}


def key_of(spec, need, rides, seed=1):
    """Sixteen digits that stand for all that `varied` looks at, to six digits; '' where a function decides."""
    told = f"{spec.machine!r} {spec.ridden_law!r} {spec.timing()!r} {need!r} {rides} {seed}"
    told = re.sub(r"\d+\.\d+(e-?\d+)?", lambda number: f"{float(number[0]):.6g}", told)
    return "" if spec.law.code == OWN else hashlib.sha256(told.encode()).hexdigest()[:16]


def summary(verification):
    """One sentence: passes, or which checks it fails."""
    spec, failed = verification.spec, "; ".join(check.name for check in verification.failed)
    return f"{spec.machine.name}, {FAMILIES[spec.family]}: {f'fails {failed}' if failed else 'passes every check'}"
