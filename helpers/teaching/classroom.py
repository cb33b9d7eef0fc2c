"""For instructors: the right answers for each learner of a class."""

import csv
import io

from helpers.teaching.course import exercises_of
from helpers.teaching.exercises import Choice, Design, Learner, Numeric
from helpers.teaching.verdict import written


def answer_key(number, learners, class_code=""):
    """CSV text: one line per learner and exercise of a workbook, with the numbers drawn and the right answer.

    number: the workbook's; learners: names as typed in the first cell (case and spaces do not matter).
    A choice stands with the letter under which the learner meets the right option, and its words; a short text with
    its model answer and the ideas looked for, a design with one set of values that passes.
    """
    text = io.StringIO()
    lines = csv.writer(text, lineterminator="\n")
    lines.writerow(["learner", "exercise", "numbers", "answer", "unit", "relative tolerance"])
    for name in learners:
        for key, exercise in exercises_of(number).items():
            n = exercise.drawn(Learner(name, class_code, number))
            numbers = "; ".join(f"{draw.name}={getattr(n, draw.name)}" for draw in exercise.numbers)
            if isinstance(exercise, Numeric):
                answer = [f"{exercise.answer(n):.4g}", exercise.unit, exercise.tolerance]
            elif isinstance(exercise, Choice):
                answer = [f"{n.letters[exercise.answer]}: {written(exercise.options[exercise.answer], n)}", "", ""]
            elif isinstance(exercise, Design):
                answer = ["; ".join(f"{k}={v}" for k, v in written(exercise.passing, n).items()), "", ""]
            else:
                ideas = " ".join(f"({k}) {idea}" for k, idea in enumerate(exercise.ideas, 1))
                answer = [f"{written(exercise.model, n)} Ideas: {ideas}", "", ""]
            lines.writerow([name, key, numbers, *answer])
    return text.getvalue()
