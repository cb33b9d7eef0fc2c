"""The numbers an exercise is set with: drawn from the learner's name, so that neighbours cannot copy a result."""

import hashlib
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
            raise ValueError(f"Draw {self.name}: from {self.low} to {self.high} is not a whole number of "
                             f"steps of {self.step}, which must be above 0.")

    def value(self, number):
        """The value that a large non-negative integer picks; decimal arithmetic, so 0.3 stays 0.3."""
        low, high, step = (Decimal(str(v)) for v in (self.low, self.high, self.step))
        picked = low + step * (number % (int((high - low) / step) + 1))
        whole = low == low.to_integral_value() and step == step.to_integral_value()
        return int(picked) if whole else float(picked)


@dataclass(frozen=True)
class Learner:
    """Who answers. Case and spaces in the name and the class code do not matter; "" is the demo learner."""

    name: str = ""
    class_code: str = ""
    workbook: int = 0

    def draw(self, key, draws):
        """The learner's numbers for exercise `key` as attributes, one per Draw.

        SHA-256 of name, class code, workbook, key and number: the same on every machine and version.
        """
        who = ["".join(str(text).casefold().split()) for text in (self.name, self.class_code)]

        def pick(draw):
            text = "\x1f".join([*who, str(self.workbook), key, draw.name])
            return draw.value(int.from_bytes(hashlib.sha256(text.encode()).digest(), "big"))

        return SimpleNamespace(**{draw.name: pick(draw) for draw in draws})
