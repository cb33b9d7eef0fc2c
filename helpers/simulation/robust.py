"""Whether a finding survives other loops, speeds, ground and parameters: sure, less sure, or not shown."""

import math
import os
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, fields

import numpy as np

from helpers.control.own_law import rides_begun
from helpers.models.vehicles import Vehicle
from helpers.simulation.riding import Ride, RideError, shown
from helpers.simulation.stretches import Stretch

MATTERS = 0.05  # m/s² of weighted rms: less is not told apart by a seat
SURE = 0.9  # of the cases must agree
# Times a machine's own: another rider, oil warm or worn, another pressure. Common practice, no source.
FACTORS = {"body_mass": (0.85, 1.15), "damping": (0.8, 1.2), "tyre_rate": (0.85, 1.15)}
SECTION_CLASS = {"climb": "C", "traverse": "D", "descent": "D"}  # of the loop's random road, ISO 8608


@dataclass(frozen=True)
class Finding:
    """How a gain fared: `here` in the case given, and over all cases; positive is better. `values` has each case.

    doses: the gain in dose of each case, where the gain was told as two rides.
    """

    here: float
    values: dict
    matters: float
    doses: dict = field(default_factory=dict)

    least = property(lambda self: min(self.values.values()))
    largest = property(lambda self: max(self.values.values()))

    @property
    def agree(self):
        """How many cases have the sign of `here`."""
        return sum(math.copysign(1.0, value) == math.copysign(1.0, self.here) for value in self.values.values())

    @property
    def verdict(self):
        """'sure' where nine cases of ten gain (or lose) at least what matters, 'less sure' where they agree in sign."""
        sign, count = math.copysign(1.0, self.here), len(self.values)
        enough = sum(sign * value >= self.matters for value in self.values.values())
        if enough >= SURE * count:
            return "sure"
        return "less sure" if abs(self.here) >= self.matters and self.agree >= 0.5 * count else "not shown"

    @property
    def row(self):
        told = {"here": self.here, "least": self.least, "largest": self.largest,
                "agree": f"{self.agree} of {len(self.values)}", "verdict": self.verdict}  # fmt: skip
        fewer = sum(value > 0.0 for value in self.doses.values())
        return told | ({"less dose": f"{fewer} of {len(self.doses)}"} if self.doses else {})


def cases(ground, loops=6, speeds=(0.8, 1.0, 1.2), waviness=(), rougher=(), classes=""):
    """Other ground of the same kind by name, the one given first: each loop at each speed, then other spectra.

    loops: how many seeds; speeds: times the speed; waviness, rougher: as in `fell_loop`, and road classes, "BCD", of
    ISO 8608, on the loop given. Raises RideError where the ground has no such thing.
    """
    found = {"here": ground}
    seed = ground.about.get("seed")
    seeds = [seed] if seed is None else [seed, *(k for k in range(1, loops + 1) if k != seed)][:loops]
    for one in seeds:
        other = ground if one == seed else ground.changed(seed=one)
        for pace in speeds:
            if (one, pace) != (seed, 1.0):
                found[f"loop {one}, speed times {pace:g}"] = other.changed(pace=pace * ground.pace)
    spectra = [("waviness", f"waviness {value:g}", value) for value in waviness]
    spectra += [("rougher", f"rougher {value:g}", value) for value in rougher]
    own = SECTION_CLASS.get(ground.name) if "rougher" in ground.about else None
    for letter in classes:
        value = letter if own is None else 4.0 ** (ord(letter) - ord(own))
        spectra.append(("road_class" if own is None else "rougher", f"class {letter}", value))
    for key, name, value in spectra:
        if key not in ground.about:
            allowed = ", ".join(ground.about) or "none"
            raise RideError(f"robust: {ground.name} has no {key} to vary; allowed are {allowed}, and speeds.")
        if value != ground.about[key]:
            found[name] = ground.changed(**{key: value})
    return found


def varied_machine(vehicle, name, factor):
    """A machine with one of its quantities times a factor; `damping` takes all its damper curves along."""
    known = [one.name for one in fields(vehicle) if "unit" in one.metadata]
    if name not in known:
        raise RideError(f"robust: a machine has no {name!r} to vary; allowed are {', '.join(known)}.")
    values = {name: factor * getattr(vehicle, name)}
    if name == "damping":
        curves = ("open_curve", "lockout_curve")
        values |= {curve: getattr(vehicle, curve).scaled(factor) for curve in curves}
    return vehicle.changed(**values)


def robust(gain: Callable, *given, matters=MATTERS, varied: Mapping | None = None, loops=6, speeds=(0.8, 1.0, 1.2),
           waviness=(), rougher=(), classes="", **factors):  # fmt: skip
    """The `Finding` of a gain, positive where it is better, over loops, speeds, spectra, machines and what is `varied`.

    gain: a function of what is `given`, a stretch of ground, machines or nothing, in that order. It returns a number
    (m/s² of vibration unless `matters` says what matters of another), or two rides, the rival's first: then vibration
    decides, and the dose is told beside it. loops, speeds, waviness, rougher, classes: see `cases`. factors: of the
    machines given, all alike, as in body_mass=(0.85, 1.15); mass, damping and tyre unless told otherwise. Names in
    `varied` are handed to the gain by keyword, each value in turn, the rest at its own defaults. Raises RideError.
    """
    for one in given:
        if not isinstance(one, Stretch | Vehicle):
            raise RideError(f"robust: given is {shown(one)}; allowed are a stretch of ground and machines.")
    grounds, machines = ([one for one in given if isinstance(one, kind)] for kind in (Stretch, Vehicle))
    if len(grounds) > 1 or (factors and not machines):
        told = f"{len(grounds)} stretches are given" if len(grounds) > 1 else f"{', '.join(factors)} of no machine"
        raise RideError(f"robust: {told}; allowed are one stretch, and machines whose parameters vary.")
    others = {"loops": loops, "speeds": speeds, "waviness": waviness, "rougher": rougher, "classes": classes}
    told = [] if grounds else [("here", given, {})]
    for name, other in cases(grounds[0], **others).items() if grounds else ():
        told.append((name, [other if isinstance(one, Stretch) else one for one in given], {}))
    for key, values in (factors or FACTORS if machines else {}).items():
        for factor in values:
            changed = [one if isinstance(one, Stretch) else varied_machine(one, key, factor) for one in given]
            told.append((f"{key} times {factor:g}", changed, {}))
    for key, values in (varied or {}).items():
        for value in values:
            name = f"{value:g}" if isinstance(value, int | float) else str(value)
            told.append((f"{key} {name}", given, {key: value}))
    found = dict(zip([name for name, _, _ in told], _ridden(gain, told), strict=True))
    gains = {name: value for name, (value, _) in found.items()}
    return Finding(gains["here"], gains, matters, {name: dose for name, (_, dose) in found.items() if dose is not None})


def _ridden(gain, told):
    """What `_one` gives for each case, in order; on every core, but not where a law in Python rides.

    Such laws take turns anyway, and only in the main thread can an endless one be interrupted: the first case tells.
    """
    first, *others = told
    before = rides_begun()
    found = [_one(gain, first)]
    if rides_begun() > before or not others:
        return found + [_one(gain, case) for case in others]
    pool = ThreadPoolExecutor(os.cpu_count())
    try:
        return found + list(pool.map(lambda case: _one(gain, case), others))
    finally:
        pool.shutdown(cancel_futures=True)


def _one(gain, case):
    """Gain in vibration, and in dose or None."""
    name, given, changed = case
    value = gain(*given, **changed)
    if isinstance(value, tuple) and len(value) == 2 and all(isinstance(ride, Ride) for ride in value):
        rival, tried = value
        return rival.vibration - tried.vibration, rival.dose - tried.dose
    if not np.isscalar(value) or isinstance(value, str) or not math.isfinite(value):
        raise RideError(f"robust: the gain is {shown(value)} for {name}; allowed is one finite number, or two rides.")
    return float(value), None
