"""Every exercise of every workbook: worked solutions pass their own check, every named slip fails with its message."""

import pytest

from helpers.teaching.course import exercises_of, workbooks_folder
from helpers.teaching.exercises import Choice, Design, Learner, Numeric
from helpers.teaching.verification import verify

NUMBERS = [int(path.name[:2]) for path in sorted(workbooks_folder().glob("[0-9][0-9]-*.ipynb"))]
ALL = [(number, key) for number in NUMBERS for key in exercises_of(number)]


@pytest.mark.parametrize(("number", "key"), ALL)
def test_an_exercise_holds_what_it_promises(number, key):
    for name, code in (("", ""), ("Ada", ""), ("Bo", "autumn")):
        assert verify(exercises_of(number)[key], Learner(name, code, number)) == []


@pytest.mark.parametrize("number", NUMBERS)
def test_a_workbook_has_its_kinds_of_exercise(number):
    exercises = exercises_of(number)
    asked = [exercise for key, exercise in exercises.items() if key.startswith("E")]
    assert sum(key.startswith("R") for key in exercises) == 2, "two questions of recall"
    assert any(isinstance(exercise, Choice) for key, exercise in exercises.items() if key.startswith("P"))
    assert len(asked) >= 5
    assert asked[0].kind == "worked"
    assert any(exercise.kind == "gap" for exercise in asked)
    assert any(isinstance(exercise, Design) for exercise in asked)
    assert any(isinstance(exercise, Numeric) and exercise.kind == "blank" for exercise in asked)
