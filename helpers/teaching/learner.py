"""The numbers an exercise is set with: drawn from the learner's name, so that neighbours cannot copy a result."""

import hashlib
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from types import SimpleNamespace


@dataclass(frozen=True)
class Draw:
    """One drawn number: low, low + step, ... up to high, all equally likely; integers stay integers."""

    name: str
    low: float
    high: float
    step: float

    def __post_init__(self):
        low, high, step = (Decimal(str(v)) for v in (self.low, self.high, self.step))
        if not (step > 0 and high > low and (high - low) % step == 0):
            raise ValueError(
                f"Draw {self.name}: from {self.low} to {self.high} is not a whole number of "
                f"steps of {self.step}, which must be above 0."
            )

    def value(self, number):
        """The value that a large non-negative integer picks; decimal arithmetic, so 0.3 stays 0.3."""
        low, high, step = (Decimal(str(v)) for v in (self.low, self.high, self.step))
        picked = low + step * (number % (int((high - low) / step) + 1))
        whole = low == low.to_integral_value() and step == step.to_integral_value()
        return int(picked) if whole else float(picked)


def same_for_all(name):
    """A name as it is drawn from: without case, spaces of any kind, marks that nobody sees, and a full stop at the end.

    Accents typed as one character or as two are one (Unicode's form NFKC), and so are both kinds of apostrophe.
    """
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", str(name)).casefold()).replace("’", "'")
    return "".join(c for c in folded if unicodedata.category(c)[0] not in "ZC").rstrip(".")


@dataclass(frozen=True)
class Learner:
    """Who answers. Case, spaces and spelling of accents (see `same_for_all`) do not matter; "" is the demo learner."""

    name: str = ""
    class_code: str = ""
    workbook: int = 0

    def draw(self, key, draws):
        """The learner's numbers for exercise `key` as attributes, one per Draw.

        SHA-256 of name, class code, workbook, key and number: the same on every machine and version.
        """
        return SimpleNamespace(**{draw.name: draw.value(self._number(key, draw.name)) for draw in draws})

    def shuffled(self, key, things, by_class=False):
        """The texts `things` in the learner's own order for exercise `key`, or in one for all of a class code."""
        who = Learner("", self.class_code, self.workbook) if by_class else self
        return sorted(things, key=lambda thing: who._number(key, f"place of {thing}"))

    def _number(self, key, name):
        text = "\x1f".join([same_for_all(self.name), same_for_all(self.class_code), str(self.workbook), key, name])
        return int.from_bytes(hashlib.sha256(text.encode()).digest(), "big")
