"""What every exercise shares, and the one function that checks an answer, for the page and for the tests alike."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from helpers.teaching.learner import Draw
from helpers.teaching.units import AnswerError


@dataclass(frozen=True)
class Verdict:
    """What the check says: `slip` names the mistake if it is a known one, `message` is for the learner.

    found: of a short text, how many of its ideas the learner finds in it; None where nothing was counted.
    """

    correct: bool
    slip: str | None
    message: str
    found: int | None = None


def check(exercise, answer, learner):
    """The Verdict on a learner's answer; never raises, whatever the answer holds.

    answer: '2.3 Hz' or (2.3, 'Hz') for Numeric, a letter for Choice, a sentence for ShortText or (sentence, '1 3'),
    a dict of values for Design; ... or None or an empty text where nothing has been answered yet.
    """
    given = list(answer.values()) if isinstance(answer, dict) else answer[:1] if isinstance(answer, tuple) else [answer]
    if not given or any(v is None or v is ... or (isinstance(v, str) and not v.strip()) for v in given):
        return Verdict(False, None, f"No answer yet: {exercise.how_to}.")
    try:
        return exercise.mark(answer, exercise.drawn(learner))
    except AnswerError as error:
        return Verdict(False, None, str(error))


def written(text, n):
    """A text, or the text that a function of the drawn numbers gives."""
    return text(n) if callable(text) else text


@dataclass(frozen=True, kw_only=True, eq=False)
class Exercise:
    """What all kinds share; `kind` says how much is done for the learner: worked, gap, blank or open, or ''."""

    key: str
    title: str
    question: str | Callable
    numbers: Sequence[Draw] = ()
    hints: Sequence[str | Callable] = ()
    kind: str = ""

    def __post_init__(self):
        if self.kind not in ("", "worked", "gap", "blank", "open"):
            raise ValueError(f"Exercise {self.key}: kind {self.kind!r} is not worked, gap, blank or open.")

    def drawn(self, learner):
        return learner.draw(self.key, self.numbers)
