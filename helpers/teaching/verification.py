"""Is an exercise sound? Run by the tests on every exercise of every workbook, and by an author on a new one."""

import math
import re
from itertools import combinations

from helpers.teaching.exercises import Choice, Design, Learner, Numeric, ShortText, check
from helpers.teaching.verdict import written

_TOKEN = re.compile(r"(?<![\w.])\d+(?:\.\d+)?(?:e[+-]?\d+)?")


def verify(exercise, learner, others=100):
    """Sentences that say what is wrong with an exercise, empty if nothing: for `learner` and `others` more.

    The worked solution must pass the exercise's own check, every known slip must fail with its own message, no two
    of them may coincide within the tolerance, and no hint may print the answer.
    """
    crowd = [learner] + [Learner(f"learner {k}", learner.class_code, learner.workbook) for k in range(others)]
    if isinstance(exercise, Design):
        crowd = crowd[: 1 + min(others, 3)]  # each one runs the model
    rules = {Numeric: _numeric, Choice: _choice, ShortText: _short_text, Design: _design}[type(exercise)]
    found = {}
    for one in crowd:
        for problem in [*_texts(exercise, one), *rules(exercise, one)]:
            found.setdefault(problem, one.name)
    return [
        f"{exercise.key}: {problem} (first seen with the numbers of {name or 'the demo learner'})"
        for problem, name in found.items()
    ]


def _texts(exercise, learner):
    n = exercise.drawn(learner)
    texts = {"question": exercise.question, "worked solution": exercise.worked(n)}
    texts |= {f"hint {k}": hint for k, hint in enumerate(exercise.hints, 1)}
    for name, text in texts.items():
        if not written(text, n).strip():
            yield f"the {name} is empty"
    if check(exercise, ..., learner).correct or check(exercise, "", learner).correct:
        yield "an empty answer passes"


def _digits(token):
    """Three significant digits, without the power of ten; and how many digits are really written."""
    mantissa = token.split("e")[0]
    stripped = mantissa.replace(".", "").lstrip("0") if "." in mantissa else mantissa.strip("0")
    return f"{float(token):.2e}".split("e")[0], len(stripped)


def _numeric(exercise, learner):
    n = exercise.drawn(learner)
    right, unit = float(exercise.answer(n)), exercise.unit
    if not math.isfinite(right) or (right == 0 and exercise.absolute == 0):
        yield "the answer is not finite, or is 0 without an absolute tolerance"
        return
    if not check(exercise, (right, unit), learner).correct:
        yield "the right answer does not pass"
    stated = [float(t) for t in _TOKEN.findall(exercise.worked(n))]
    if not any(exercise.near(value, abs(right)) for value in stated):
        yield f"the worked solution does not state the answer as a plain number in {unit or 'its unit'}"
    question = set(_TOKEN.findall(written(exercise.question, n)))
    wanted = f"{abs(right):.2e}".split("e")[0]
    for k, hint in enumerate(exercise.hints, 1):
        for token in set(_TOKEN.findall(written(hint, n))) - question:
            digits, count = _digits(token)
            if digits == wanted and count >= 2:
                yield f"hint {k} prints the answer's digits"
    values = [(slip, float(slip.value(n))) for slip in exercise.slips]
    for slip, value in values:
        if not math.isfinite(value) or exercise.near(value, right, 2):
            yield f"slip '{slip.name}' coincides with the right answer"
            continue
        verdict = check(exercise, (value, unit), learner)
        if verdict.correct or (verdict.slip, verdict.message) != (slip.name, written(slip.feedback, n)):
            yield f"slip '{slip.name}' does not get its own message"
    for (one, a), (other, b) in combinations(values, 2):
        if exercise.near(a, b):
            yield f"slips '{one.name}' and '{other.name}' coincide"


def _choice(exercise, learner):
    n = exercise.drawn(learner)
    said = [written(text, n) for text in exercise.feedback.values()]
    if len(exercise.options) < 3 or len(set(said)) < len(said) or not all(map(str.strip, said)):
        yield "there are fewer than three options, or two share their feedback, or one has none"
    for option, letter in n.letters.items():
        if check(exercise, letter, learner).correct != (option == exercise.answer):
            yield f"option {option} is judged wrongly"


def _short_text(exercise, learner):
    told = [*exercise.ideas, *(text for wrong in exercise.misconceptions for text in (wrong.said, wrong.feedback))]
    if not 2 <= len(exercise.ideas) <= 5 or len(set(told)) < len(told):
        yield "there are not two to five ideas, or two of them, or of the wrong ones, read alike"
    for text in told:
        if not re.fullmatch(r"[A-Z0-9].*[.?!]", text):
            yield f"{text!r} is not a sentence"
    model = written(exercise.model, exercise.drawn(learner))
    if not all(part in check(exercise, model, learner).message for part in (model, *told)):
        yield "the model answer or one of the ideas is not shown beside a text"
    every = " ".join(str(k) for k in range(1, len(exercise.ideas) + 1))
    for holds, count in ((every, len(exercise.ideas)), ("1", 1), ("0", 0)):
        verdict = check(exercise, (model, holds), learner)
        if verdict.correct or verdict.found != count:
            yield f"a text in which {holds} are found is counted as {verdict.found}"


def _design(exercise, learner):
    verdict = check(exercise, written(exercise.passing, exercise.drawn(learner)), learner)
    if not verdict.correct:
        yield f"the design given as passing does not pass: {verdict.message}"
    corners = [
        {p.name: p.options[end] if p.options else ((p.low, p.high)[end], p.unit) for p in exercise.parameters}
        for end in (0, -1)
    ]
    if all(check(exercise, corner, learner).correct for corner in corners):
        yield "both ends of the ranges pass, so nothing has to be designed"
