"""Whether a finding survives other loops, speeds, ground and parameters: sure, less sure, or not shown."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from helpers.simulation.riding import Ride, RideError, shown
from helpers.simulation.stretches import Stretch

MATTERS = 0.05  # m/s² of weighted rms: less is not told apart by a seat
SURE = 0.9  # of the cases must agree


@dataclass(frozen=True)
class Finding:
    """How a gain fared: `here` in the case given, and over all cases; positive is better. `values` has each case."""

    here: float
    values: dict
    matters: float

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
        return {"here": self.here, "least": self.least, "largest": self.largest,
                "agree": f"{self.agree} of {len(self.values)}", "verdict": self.verdict}  # fmt: skip


def cases(ground, loops=6, speeds=(0.8, 1.0, 1.2), waviness=(), rougher=()):
    """Other ground of the same kind by name, the one given first: each loop at each speed, then other spectra.

    loops: how many seeds; speeds: times the speed; waviness, rougher: as in `fell_loop`, on the loop given.
    """
    if not isinstance(ground, Stretch):
        raise RideError(f"robust: ground is {shown(ground)}; allowed is a stretch, such as loop.descent.")
    found = {"here": ground}
    seed = ground.about.get("seed")
    seeds = [seed] if seed is None else [seed, *(k for k in range(1, loops + 1) if k != seed)][:loops]
    for one in seeds:
        other = ground if one == seed else ground.changed(seed=one)
        for pace in speeds:
            if (one, pace) != (seed, 1.0):
                found[f"loop {one}, speed times {pace:g}"] = other.changed(pace=pace * ground.pace)
    for name, values in (("waviness", waviness), ("rougher", rougher)):
        found |= {f"{name} {value:g}": ground.changed(**{name: value}) for value in values
                  if name in ground.about and value != ground.about[name]}  # fmt: skip
    return found


def robust(gain: Callable, *grounds, matters=MATTERS, varied: Mapping | None = None, **others):
    """The `Finding` of a gain, positive where it is better, over loops, speeds, spectra and what is `varied`.

    gain: a function of a stretch of ground, or of nothing, that returns a number (m/s² of vibration unless `matters`
    says what matters of another); names in `varied` are handed to it by keyword, each value in turn, the rest at the
    function's own defaults. grounds: the stretch; loops, speeds, waviness, rougher: see `cases`. Raises RideError.
    """
    values = {}
    for name, ground in (cases(grounds[0], **others) if grounds else {"here": None}).items():
        values[name] = _one(gain, name, *([ground] if grounds else []))
    for key, choices in (varied or {}).items():
        for choice in choices:
            told = f"{choice:g}" if isinstance(choice, int | float) else str(choice)
            values[f"{key} {told}"] = _one(gain, f"{key} {told}", *grounds, **{key: choice})
    return Finding(values["here"], values, matters)


def _one(gain, name, *ground, **changed):
    value = gain(*ground, **changed)
    if isinstance(value, Ride) or not np.isscalar(value) or not math.isfinite(value):
        raise RideError(f"robust: the gain is {shown(value)} for {name}; allowed is one finite number.")
    return float(value)
