"""What a purchase is worth: money over years, break-even, and which uncertain input decides.

A `measure` is any function of named inputs that returns one number, positive where the purchase pays. `ranges` gives
each of its inputs as (low, likely, high), read as a triangular distribution. Wrong use is a WorthError, one sentence.
"""

from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import in_range
from helpers.models.uncertainty import Range

SAFE = 0.9  # of the draws must agree for a plain yes or no


class WorthError(ValueError):
    """The question cannot be answered as put; one sentence, and notebooks show no traceback."""

    def _render_traceback_(self):
        return [str(self)]


def annuity(rate, years):
    """Equal payment at the end of each of `years` that repays 1 at a yearly interest `rate`; arrays allowed."""
    rate, years = np.asarray(rate, dtype=float), np.asarray(years, dtype=float)
    if not (np.all((rate > -1.0) & (rate <= 10.0)) and np.all((years > 0.0) & (years <= 1000.0))):
        raise WorthError(
            f"annuity: rate is {rate} a year and years is {years}; allowed are above -1 to 10 a year, above 0 to 1000."
        )
    flat = np.abs(rate) < 1e-9
    paid = np.where(flat, 1.0, rate)
    return np.where(flat, 1.0 / years, paid / -np.expm1(-years * np.log1p(paid)))[()]


def present_value(flows, rate):
    """Today's value of yearly `flows`, the first of them now, at a yearly interest `rate`."""
    rate = in_range("present_value", "rate", rate, "a year", -0.99, 10.0)
    return float(sum(flow / (1.0 + rate) ** year for year, flow in enumerate(flows)))


def yearly_cost(price, years, rate=0.04, resale=0.0):
    """What a `price` paid now costs in each of its `years` of use, if a share `resale` of it comes back at the end."""
    return annuity(rate, years) * price * (1.0 - resale * (1.0 + rate) ** -np.asarray(years, dtype=float))


def _checked(ranges):
    try:
        if not ranges:
            raise ValueError("there is no input.")
        return {name: Range(*each) for name, each in ranges.items()}
    except (TypeError, ValueError, AttributeError) as problem:
        raise WorthError(f"ranges: {problem} Each input is (low, likely, high), which must not fall.") from None


def _at(measure, inputs):
    """The measure at the inputs, each a number or an array of the same length."""
    count = max(np.size(value) for value in inputs.values())
    try:
        values = np.asarray(measure(**inputs), dtype=float)
    except (TypeError, ValueError):  # a function that asks `if`, and so takes one number at a time
        if count == 1:
            raise
        values = np.array([float(measure(**dict(zip(inputs, row, strict=True))))
                           for row in zip(*(value.tolist() for value in inputs.values()), strict=True)])  # fmt: skip
    if values.shape not in ((), (count,)) or not np.all(np.isfinite(values)):
        raise WorthError("The measure is no finite number somewhere in these ranges; allowed is one for each draw.")
    return np.broadcast_to(values, count).copy() if count > 1 else float(values)


def likely(ranges, **changed):
    """The inputs at their likely values, but for what is `changed`."""
    return {name: each.likely for name, each in _checked(ranges).items()} | changed


def break_even(measure, name, low, high, inputs):
    """The value of input `name` from low to high where the measure is 0, the other `inputs` as given; None if nowhere.

    It is looked for between the ends, so they must differ in the measure's sign.
    """
    from scipy.optimize import brentq

    def at(value):
        return _at(measure, inputs | {name: value})

    return None if at(low) * at(high) > 0.0 else float(brentq(at, low, high, xtol=1e-12, rtol=1e-12))


def tornado(measure, ranges):
    """The measure with each input at its low and at its high end, the others likely, the widest first: {name: pair}."""
    middle = likely(ranges)
    swings = {name: tuple(_at(measure, middle | {name: end}) for end in (each.low, each.high))
              for name, each in _checked(ranges).items()}  # fmt: skip
    return dict(sorted(swings.items(), key=lambda item: -abs(item[1][1] - item[1][0])))


def draws(measure, ranges, seed=1, count=20_000):
    """The measure at `count` random draws of its inputs, shape (count,)."""
    uniform = np.random.default_rng(seed).random((len(ranges), int(in_range("draws", "count", count, "", 2, 1e7))))
    return _at(measure, {name: each.quantile(row)
                         for (name, each), row in zip(_checked(ranges).items(), uniform, strict=True)})  # fmt: skip


def shares(measure, ranges, seed=1, count=2048):
    """Which share of the measure's variance each input explains: {name: (by itself, with all that it takes part in)}.

    First-order and total indices of Sobol, by `scipy.stats.sobol_indices`; count: a power of two.
    """
    from scipy.stats import sobol_indices, uniform

    checked = _checked(ranges)

    def stretched(drawn):
        columns = {name: each.quantile(row) for (name, each), row in zip(checked.items(), drawn, strict=True)}
        return _at(measure, columns)[None, :]

    rng = np.random.default_rng(seed)
    with np.errstate(invalid="ignore"):  # where nothing varies, nothing explains it
        found = sobol_indices(func=stretched, n=count, dists=[uniform()] * len(checked), rng=rng)
    pairs = zip(*(np.nan_to_num(np.ravel(each)) for each in (found.first_order, found.total_order)), strict=True)
    return {name: (float(alone), float(together)) for name, (alone, together) in zip(checked, pairs, strict=True)}


@dataclass(frozen=True)
class Verdict:
    """chance: share of draws in which it pays. decides: the input of the largest total share, and that `share`.

    turns: the value of that input at which the measure is 0, the others likely; None where there is none in its range.
    """

    chance: float
    decides: str
    share: float
    turns: float | None

    @property
    def word(self):
        return "yes" if self.chance >= SAFE else "no" if self.chance <= 1.0 - SAFE else f"it depends on {self.decides}"

    def __str__(self):
        pays = f"{100.0 * self.chance:.0f}"
        if 0.0 < self.chance < 1.0:  # nearly all are not all
            pays = {"0": "under 1", "100": "over 99"}.get(pays, pays)
        turns = "" if self.turns is None else f" and, all else likely, turns the answer at {self.turns:.2g}"
        return (f"{self.word}. It pays in {pays} of 100 draws; {self.decides} has the largest share of the spread, "
                f"{100.0 * self.share:.0f} %{turns}.")  # fmt: skip


def verdict(measure, ranges, seed=1):
    """The `Verdict` on a purchase: yes where it pays in nine draws of ten, no in one of ten, else what it hangs on."""
    together = {name: total for name, (_, total) in shares(measure, ranges, seed).items()}
    decides = max(together, key=together.get)
    chance = float(np.mean(draws(measure, ranges, seed) > 0.0))
    each = _checked(ranges)[decides]
    turns = break_even(measure, decides, each.low, each.high, likely(ranges))
    return Verdict(chance, decides, together[decides], turns)
