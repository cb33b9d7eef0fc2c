"""Design exercises: the learner chooses values, and the model is run on them to judge."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from types import SimpleNamespace

from helpers.teaching.units import AnswerError, clipped, quoted, read_quantity, with_unit
from helpers.teaching.verdict import Exercise, Verdict, written


@dataclass(frozen=True)
class Parameter:
    """A value that the learner chooses: a number in `unit` from low to high, or one of `options`."""

    name: str
    label: str
    low: float = 0.0
    high: float = 0.0
    unit: str = ""
    options: Sequence[str] = ()

    @property
    def allowed(self):
        if self.options:
            return "one of " + ", ".join(self.options)
        return f"{with_unit(self.low, '')} to {with_unit(self.high, self.unit)}"

    def read(self, answer):
        """The value in `unit`, or the option; AnswerError with value, name, unit and range if it cannot be used."""
        if self.options:
            for option in self.options:
                if isinstance(answer, str) and answer.strip().casefold() == option.casefold():
                    return option
        else:
            try:
                value = read_quantity(answer, self.unit)
            except AnswerError as error:
                raise AnswerError(f"{self.name} ({self.label}): {error} It may be {self.allowed}.") from None
            slack = 1e-9 * (self.high - self.low)  # 300 ms must pass a limit of 0.3 s
            if self.low - slack <= value <= self.high + slack:
                return value
        shown = " ".join(map(clipped, answer)) if isinstance(answer, tuple) else answer
        raise AnswerError(f"{quoted(shown)} cannot be used for {self.name} ({self.label}): it may be {self.allowed}.")


@dataclass(frozen=True)
class LawParameter(Parameter):
    """A control law that the learner has written, `my_law` or one of `own_law`; for the valve, unless `actuator`."""

    actuator: bool = False

    allowed = "a law of your own, such as `my_law`, without quotes"

    def read(self, answer):
        """The law; AnswerError for anything else."""
        from helpers.control.own_law import OwnLaw  # here: a kernel without numba must get as far as being told so

        if isinstance(answer, OwnLaw):
            if answer.actuator == self.actuator:
                return answer
            told = "an actuator's force", "the valve's setting"
            is_, asked = told if answer.actuator else reversed(told)
            raise AnswerError(f"{self.name} ({self.label}): `{answer.name}` returns {is_}; asked for is {asked}.")
        shown = " ".join(map(clipped, answer)) if isinstance(answer, tuple) else answer
        raise AnswerError(f"{quoted(shown)} cannot be used for {self.name} ({self.label}): it may be {self.allowed}.")


@dataclass(frozen=True)
class Criterion:
    """One requirement as measured on the learner's design, inf for a time that never comes; advice if it fails."""

    name: str
    measured: float
    limit: float
    unit: str = ""
    sense: str = "at most"
    advice: str = ""

    def __post_init__(self):
        if self.sense not in ("at most", "at least"):
            raise ValueError(f"Criterion {self.name}: sense {self.sense!r} is neither 'at most' nor 'at least'.")

    @property
    def passed(self):
        return self.measured <= self.limit if self.sense == "at most" else self.measured >= self.limit

    def __str__(self):
        digits = 3 if with_unit(self.measured, "") != with_unit(self.limit, "") else 5
        measured = "never" if self.measured == math.inf else with_unit(self.measured, self.unit, digits)
        line = (
            f"{'passes' if self.passed else 'fails'}: {self.name} {measured}, "
            f"{self.sense} {with_unit(self.limit, self.unit)}"
        )
        return line if self.passed or not self.advice else f"{line}. {self.advice}"


@dataclass(frozen=True, kw_only=True, eq=False)
class Design(Exercise):
    """Values for the learner to choose, judged by running the model on them.

    judge(values, n) gets the chosen values as attributes, in the Parameters' units, and returns Criterion results.
    passing: one set of values that passes (a dict as the learner would type it, or a function of n giving it).
    """

    parameters: Sequence[Parameter]
    judge: Callable
    passing: dict | Callable
    solution: str | Callable = ""
    kind: str = "open"

    @property
    def how_to(self):
        values = "; ".join(f"{p.name} ({p.label}), {p.allowed}" for p in self.parameters)
        return f"put a value with its unit between each pair of quotes: {values}"

    def mark(self, answer, n):
        names = [p.name for p in self.parameters]
        if not isinstance(answer, dict) or set(answer) != set(names):
            raise AnswerError(f"This exercise asks for {', '.join(names)}, each by its name, as in {names[0]}='...'.")
        values = SimpleNamespace(**{p.name: p.read(answer[p.name]) for p in self.parameters})
        try:
            results = list(self.judge(values, n))
        except ValueError as error:  # a parameter set that the model refuses, in its own words
            raise AnswerError(str(error)) from None
        passed = bool(results) and all(bool(r.passed) for r in results)
        head = "Right: the model meets every requirement" if passed else "Not yet: the model was run on your values"
        failed = next((r.name for r in results if not r.passed), None)
        return Verdict(passed, failed, "\n".join([f"{head}.", "", *(f"- {r}" for r in results)]))

    def worked(self, n):
        values = ", ".join(f"{name}={value!r}" for name, value in written(self.passing, n).items())
        return f"One design that passes: `{values}`\n\n{written(self.solution, n)}".strip()
