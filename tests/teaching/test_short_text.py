"""Short texts: compared with a model answer by the learner, counted by the learner's own count, never right."""

import pytest
from samples import short_text

from helpers.teaching.exercises import Learner, check

DEMO = Learner("", "", 1)
SAID = "The work of its force warms the fluid."


def test_a_short_text_is_compared_with_the_model_answer_and_never_right():
    exercise = short_text()
    told = check(exercise, SAID, DEMO)
    assert (told.correct, told.found) == (False, None)
    for part in (f"> {exercise.model}", "1. Its force does", "3. The heat goes", "*The spring warms it.* The spring"):
        assert part in told.message
    for answer in (SAID, "I love pizza but firm soft legs climb rough", exercise.question, exercise.model):
        for holds in ("", "0", "1 3", "1 2 3"):
            verdict = check(exercise, (answer, holds), DEMO)
            assert not verdict.correct and not verdict.message.startswith("Right")


@pytest.mark.parametrize(
    "holds, found",
    [
        ("1 3", 2),
        ("1, 3", 2),
        ("3 1 1", 2),
        ("1 and 3", 2),
        ([1, 3], 2),
        ((1, 3), 2),
        (3, 1),
        ("２", 1),
        ("0", 0),
        (0, 0),
        ("1 2 3", 3),
        (" 2\u00a0", 1),
    ],
)
def test_the_learner_says_which_ideas_a_text_holds(holds, found):
    verdict = check(short_text(), (SAID, holds), DEMO)
    assert verdict.found == found
    assert verdict.message.startswith(f"You find {found} of 3 ideas in it: kept for your instructor's reading.")
    assert ("does not say yet" in verdict.message) == (found < 3)


@pytest.mark.parametrize(
    "holds", ["4", "0 1", "-1", "1.5", "all", "one", "1-3", True, 2.0, [], {}, object(), "1" * 1000]
)
def test_ideas_that_cannot_be_counted_get_one_sentence(holds):
    verdict = check(short_text(), (SAID, holds), DEMO)
    assert verdict.found is None and verdict.message.endswith(
        'cannot be used for holds: give the numbers of the ideas that you find, 1 to 3, such as "1 3", or "0" for none.'
    )


@pytest.mark.parametrize(
    "answer, says",
    [
        ("heat", "too short"),
        ("energy heat oil", "too short"),
        (7, "not a sentence"),
        ({"hold": "1"}, "not a sentence"),
        ("", "No answer yet: put a sentence"),
    ],
)
def test_before_a_text_stands_there_the_model_answer_stays_folded(answer, says):
    for typed in (answer, (answer, "1 2")):
        verdict = check(short_text(), typed, DEMO)
        assert says in verdict.message and verdict.found is None
        assert short_text().model not in verdict.message and "1." not in verdict.message
