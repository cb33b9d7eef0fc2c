"""Independent uncertain inputs: ranges, and draws from them with a seed."""

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


def shares(names, seed, count):
    """Draws by name, each a share from 0 to 1 of what may be, shape (count,), with a `seed`.

    Each input is drawn once from each of `count` equally likely strata, in random order (Latin hypercube; McKay,
    Beckman and Conover 1979), which steadies the quantiles.
    """
    generator = np.random.default_rng(seed)
    return {name: (generator.permutation(count) + generator.random(count)) / count for name in names}
