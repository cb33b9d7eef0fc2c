"""Independent uncertain inputs: draws with a seed, quantiles of the result, and the input that moves it most."""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import in_range


@dataclass(frozen=True)
class Range:
    """An uncertain number: never below `low` nor above `high`, most likely `likely` (triangular distribution)."""

    low: float
    likely: float
    high: float

    def __post_init__(self):
        for name in ("low", "high"):
            object.__setattr__(self, name, in_range("Range", name, getattr(self, name), "", -1e300, 1e300))
        object.__setattr__(self, "likely", in_range("Range", "likely", self.likely, "", self.low, self.high))

    def quantile(self, share):
        """The value that a share from 0 to 1 of all draws is below; array in, array of the same shape out."""
        share, width = np.asarray(share, dtype=float), self.high - self.low
        rising = self.low + np.sqrt(share * width * (self.likely - self.low))
        falling = self.high - np.sqrt((1.0 - share) * width * (self.high - self.likely))
        return np.where(share * width < self.likely - self.low, rising, falling)


@dataclass(frozen=True)
class Swing:
    """The result with one input at its 5 % and at its 95 % quantile, all others at their median."""

    name: str
    at_low: float
    at_high: float

    @property
    def size(self):
        return abs(self.at_high - self.at_low)


@dataclass(frozen=True, eq=False)
class Spread:
    """values: the result of each draw, shape (n,), sorted. swings: a `Swing` per input, the largest first."""

    values: np.ndarray
    swings: tuple

    def quantile(self, share):
        """The result that a share from 0 to 1 of the draws is below."""
        return float(np.quantile(self.values, in_range("Spread", "share", share, "", 0.0, 1.0)))

    @property
    def dominant(self):
        """Name of the input that moves the result most."""
        return self.swings[0].name


def shares(names, seed, count):
    """Draws by name, each a share from 0 to 1 of what may be, shape (count,), with a `seed`.

    Each input is drawn once from each of `count` equally likely strata, in random order (Latin hypercube; McKay,
    Beckman and Conover 1979), which steadies the quantiles.
    """
    generator = np.random.default_rng(seed)
    return {name: (generator.permutation(count) + generator.random(count)) / count for name in names}


def spread(function, ranges, seed, count=2000):
    """The `Spread` of function(**inputs), its inputs drawn from a dict of `Range`s with a `seed`: see `shares`.

    Raises ValueError without inputs.
    """
    if not ranges:
        raise ValueError("spread: ranges is empty; allowed is one Range or more.")
    count = int(in_range("spread", "count", count, "", 1, 1e6))
    drawn = {name: ranges[name].quantile(share) for name, share in shares(ranges, seed, count).items()}
    values = np.sort([function(**{name: float(row[k]) for name, row in drawn.items()}) for k in range(count)])
    middle = {name: float(each.quantile(0.5)) for name, each in ranges.items()}
    swings = [
        Swing(name, *(float(function(**middle | {name: float(each.quantile(share))})) for share in (0.05, 0.95)))
        for name, each in ranges.items()
    ]
    if not all(math.isfinite(value) for value in values):
        raise ValueError("spread: the result of a draw is not a finite number; allowed are ranges where it is.")
    return Spread(values, tuple(sorted(swings, key=lambda swing: -swing.size)))
