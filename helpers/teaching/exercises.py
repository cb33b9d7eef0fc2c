"""Exercises: numeric, choice and short text here, design in its own module; `check` marks any of them.

Content lives in workbooks/exercises/wNN.py as a list EXERCISES. Wherever a text is asked for, a function of the
drawn numbers n will do too: `lambda n: f"A spring of {n.rate} N/m ..."`; texts are Markdown with $mathematics$.
"""

import math
import re
import string
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from helpers.teaching.design import Criterion, Design, Parameter
from helpers.teaching.learner import Draw, Learner
from helpers.teaching.units import LONGEST, AnswerError, clipped, plain, pretty, quoted, read_quantity, with_unit
from helpers.teaching.verdict import Exercise, Verdict, check, written

__all__ = [
    "Choice", "Criterion", "Design", "Draw", "Learner", "Misconception", "Numeric", "Parameter", "ShortText", "Slip",
    "Verdict", "answer_form", "check", "lettered",
]  # fmt: skip


LETTERS = string.ascii_lowercase  # of the options of a choice, whatever their names


@dataclass(frozen=True)
class Slip:
    """A known mistake: the value (in the exercise's unit) that it gives, and what to say about it."""

    name: str
    value: Callable
    feedback: str | Callable


# Looked for when no named slip matches: (name, right value times this, what to say).
_COMMON_SLIPS = (
    (
        "factor 1000",
        (1e3, 1e-3),
        "Not yet: a factor of 1000 lies between your value and the right one; look for milli or kilo.",
    ),
    ("sign", (-1.0,), "The size is right, but the sign is not: check which direction counts as positive."),
    (
        "factor 2",
        (2.0, 0.5),
        "Not yet: a factor of two lies between your value and the right one; look for radius "
        "or diameter, amplitude or full range, one wheel or both, one part or all.",
    ),
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Numeric(Exercise):
    """A number with a unit. answer(n) and the slips' value(n) are in `unit` ('' for a plain number).

    tolerance is relative; `absolute`, in `unit`, is needed where the right answer may be 0.
    hints: at least three, from the idea over the equation to the next step; slips: at least three.
    as_asked: the unit is what the question is about, so a unit that only converts to it is sent back.
    """

    answer: Callable
    unit: str
    slips: Sequence[Slip]
    solution: str | Callable
    tolerance: float = 0.02
    absolute: float = 0.0
    kind: str = "blank"
    as_asked: bool = False

    def __post_init__(self):
        super().__post_init__()
        if len(self.hints) < 3 or len(self.slips) < 3:
            raise ValueError(
                f"Exercise {self.key}: {len(self.hints)} hints and {len(self.slips)} slips are given; "
                "a numeric exercise needs at least three of each."
            )
        if not (0 < self.tolerance <= 0.2 and 0 <= self.absolute < math.inf):
            raise ValueError(
                f"Exercise {self.key}: tolerance {self.tolerance:g} must be above 0 and at most 0.2, "
                f"absolute tolerance {self.absolute:g} {self.unit} finite and not negative."
            )

    @property
    def how_to(self):
        example = f"0.5 {pretty(self.unit)}" if self.unit else "0.5"
        return f"put a number{' with its unit' if self.unit else ''} between the quotes, for example {example}"

    @property
    def precision(self):
        extra = f" or {with_unit(self.absolute, self.unit)}" if self.absolute else ""
        return f"right within {100 * self.tolerance:g} %{extra}"

    def near(self, value, target, times=1.0):
        """Whether a value counts as the target; `times` widens the tolerance."""
        return abs(value - target) <= times * max(self.tolerance * abs(target), self.absolute)

    def mark(self, answer, n):
        value, right = read_quantity(answer, self.unit, converting=not self.as_asked), float(self.answer(n))
        if self.near(value, right):
            return Verdict(True, None, f"Right: {with_unit(value, self.unit)} ({self.precision}).")
        for slip in self.slips:
            if self.near(value, float(slip.value(n))):
                return Verdict(False, slip.name, written(slip.feedback, n))
        for name, factors, feedback in _COMMON_SLIPS:
            if any(self.near(value, factor * right) for factor in factors):
                return Verdict(False, name, feedback)
        if self.unit == "%" and self.near(100.0 * value, right):
            return Verdict(False, "fraction", "That is the fraction; times 100 it is in percent.")
        if self.near(value, right, 3.0):
            return Verdict(False, None, f"Near, but not {self.precision.removeprefix('right ')}: check the last step.")
        if value * right < 0:
            return Verdict(False, None, "Not yet: the sign is wrong, and so is the size. Try the first hint.")
        side = "large" if abs(value) > abs(right) else "small"
        size = " in size" if value < 0 else ""
        return Verdict(False, None, f"Not yet: {with_unit(value, self.unit)} is too {side}{size}. Try the next hint.")

    def worked(self, n):
        return written(self.solution, n)


@dataclass(frozen=True, kw_only=True, eq=False)
class Choice(Exercise):
    """One of several options; feedback for every option, the right one included. Serves predictions too (key P).

    What is shown and typed is a letter of the learner's own order, a prediction's of the order of a whole class, so
    that a class votes by letter; `options` and `feedback` are keyed by names that no learner sees, and no text of an
    exercise names an option by either.
    """

    options: dict[str, str | Callable]
    answer: str
    feedback: dict[str, str | Callable]
    solution: str | Callable = ""

    def __post_init__(self):
        super().__post_init__()
        if self.answer not in self.options or set(self.feedback) != set(self.options):
            raise ValueError(
                f"Exercise {self.key}: answer {self.answer!r} must be one of the options "
                f"{', '.join(self.options)}, and each option needs its feedback."
            )

    @property
    def how_to(self):
        return f"put one letter between the quotes: {', '.join(LETTERS[: len(self.options)])}"

    def drawn(self, learner):
        """The drawn numbers, and as `letters` the options in the order of their letters: {option: letter}."""
        n = super().drawn(learner)
        order = learner.shuffled(self.key, self.options, by_class=self.key.startswith("P"))
        n.letters = dict(zip(order, LETTERS, strict=False))
        return n

    def option(self, answer, n):
        """The option that an answer such as 'b', 'B)' or '(b)' means; AnswerError if none."""
        text = plain(answer[:LONGEST]).strip(" ().:").casefold() if isinstance(answer, str) else ""
        for option, letter in n.letters.items():
            if text == letter.casefold():
                return option
        raise AnswerError(f"{quoted(answer)} is not one of the letters {', '.join(n.letters.values())}.")

    def mark(self, answer, n):
        option = self.option(answer, n)
        right, why = option == self.answer, written(self.feedback[option], n)
        return Verdict(right, None if right else option, f"{'Right' if right else 'Not quite'}: {why}")

    def worked(self, n):
        right = f"**{n.letters[self.answer]}**: {written(self.options[self.answer], n)}"
        return f"{right}\n\n{written(self.solution or self.feedback[self.answer], n)}"


@dataclass(frozen=True)
class Misconception:
    """A known wrong idea that a sentence may hold: its name, a sentence that says it, and what to say about it."""

    name: str
    said: str
    feedback: str


@dataclass(frozen=True, kw_only=True, eq=False)
class ShortText(Exercise):
    """A sentence or two, which the learner compares with a model answer and an instructor reads; never right or wrong.

    ideas: what the text must hold, a sentence each, all of them in `model`; misconceptions: what to look for in it.
    An answer is the text alone, or a pair of text and the numbers of the ideas that the learner finds in it.
    """

    ideas: Sequence[str]
    model: str | Callable
    misconceptions: Sequence[Misconception] = ()

    how_to = "put a sentence or two between the triple quotes"

    def mark(self, answer, n):
        text, holds = answer if isinstance(answer, tuple) and len(answer) == 2 else (answer, "")
        if not isinstance(text, str):
            raise AnswerError(
                f"{quoted(text)} is not a sentence: write one or two in quotes, and nothing else but holds=."
            )
        if sum(map(str.isalnum, text[:1000])) < 20:
            return Verdict(False, None, "That is too short to hold the reasons: write a full sentence.")
        if holds is None or holds is ... or not clipped(holds):
            return Verdict(False, None, self._comparison(n))
        held, count = self._held(holds), len(self.ideas)
        told = f"You find {len(held)} of {count} ideas in it: kept for your instructor's reading."
        missing = [f"- {idea}" for k, idea in enumerate(self.ideas, 1) if k not in held]
        if missing:
            told += "\n\n" + "\n".join(["By your own count it does not say yet:", "", *missing])
        return Verdict(False, None, told, len(held))

    def _comparison(self, n):
        looked_for = [f"{k}. {idea}" for k, idea in enumerate(self.ideas, 1)]
        parts = [
            "Now compare it with the model answer.",
            "> " + written(self.model, n),
            "Which of these ideas does your text hold, in whatever words?",
            "\n".join(looked_for),
        ]
        if self.misconceptions:
            parts += [
                "Look also whether it says something like one of these:",
                "\n".join(f"- *{wrong.said}* {wrong.feedback}" for wrong in self.misconceptions),
            ]
        parts.append(
            f"Put the numbers of the ideas that you find in it after `holds=`, {self._form}, and run the cell again."
        )
        return "\n\n".join(parts)

    @property
    def _form(self):
        return f'such as "1 {len(self.ideas)}", or "0" for none'

    def _held(self, holds):
        """The set of ideas that '1 3', '1, 3', [1, 3] or 3 names; empty for '0'."""
        words = re.sub(r"[][(){},;&+]|\band\b", " ", plain(clipped(holds))).split()
        if words == ["0"]:
            return set()
        if words and all(word in map(str, range(1, len(self.ideas) + 1)) for word in words):
            return set(map(int, words))
        raise AnswerError(
            f"{quoted(holds)} cannot be used for holds: give the numbers of the ideas that you find, "
            f"1 to {len(self.ideas)}, {self._form}."
        )

    def worked(self, n):
        return written(self.model, n)


def lettered(exercise, n):
    """The options of a choice, a line each after its letter."""
    return "\n".join(f"- **{letter}**: {written(exercise.options[option], n)}" for option, letter in n.letters.items())


def answer_form(exercise, n):
    """What kind of answer is wanted, as the exercise shows it."""
    if isinstance(exercise, Choice):
        return lettered(exercise, n)
    if isinstance(exercise, Numeric):
        other = " itself" if exercise.as_asked else " or a unit that converts to it"
        wanted = f"Answer in {pretty(exercise.unit)}{other}" if exercise.unit else ("Answer with a plain number")
        return f"{wanted}; {exercise.precision}."
    if isinstance(exercise, Design):
        rows = [f"| `{p.name}` | {p.label} | {p.allowed} |" for p in exercise.parameters]
        return "\n".join(["| name | what you choose | range |", "|---|---|---|", *rows])
    return "Answer with a sentence or two. You compare them with a model answer yourself; your instructor reads them."
