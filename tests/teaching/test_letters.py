"""Options stand in an order of the learner's or the class's own: what is shown, typed and told is that letter."""

import csv
import io
import re

import pytest
from samples import choice

from helpers.teaching.classroom import answer_key
from helpers.teaching.course import exercises_of, workbooks_folder
from helpers.teaching.exercises import LETTERS, Choice, Learner, check
from helpers.teaching.page import open_workbook

FOUR = {"a": "about half", "b": "a quarter", "c": "the same", "d": "more"}
NUMBERS = [int(path.name[:2]) for path in sorted(workbooks_folder().glob("[0-9][0-9]-*.ipynb"))]
PEOPLE = [("", ""), ("Zoë", "S26")]


def four(key):
    return choice(key=key, options=FOUR, feedback={option: f"because of {option}" for option in FOUR}, answer="b")


@pytest.mark.parametrize(
    "key, learner",
    [("E5", lambda k: Learner(f"learner {k}", "S26", 3)), ("P", lambda k: Learner("Ada", f"class {k}", 3))],
)
def test_every_letter_is_right_about_equally_often(key, learner):
    right = [four(key).drawn(learner(k)).letters["b"] for k in range(200)]
    # chi-squared with 3 degrees of freedom: 16.27 is passed by chance once in a thousand (standard table)
    assert sum((right.count(letter) - 50) ** 2 / 50 for letter in "abcd") < 16.27


def test_every_order_comes_about_equally_often():
    orders = [tuple(choice(key="E1").drawn(Learner(f"learner {k}")).letters) for k in range(300)]
    assert len(set(orders)) == 6
    # 5 degrees of freedom: 20.52 once in a thousand
    assert sum((orders.count(order) - 50) ** 2 / 50 for order in set(orders)) < 20.52


def test_a_class_votes_by_letter_and_answers_exercises_each_for_themselves():
    def orders(key, code):
        return {tuple(four(key).drawn(Learner(f"learner {k}", code, 3)).letters) for k in range(30)}

    assert len(orders("P", "S26")) == 1 and len(orders("E5", "S26")) > 10
    assert orders("P", "S26") == orders("P", " s 26.")
    assert len(set.union(*(orders("P", f"class {k}") for k in range(30)))) > 10


def test_the_demo_learner_cannot_guess_the_key_of_a_prediction_from_its_place():
    keys = [
        exercises_of(number)["P"].drawn(Learner("", "", number)).letters[exercises_of(number)["P"].answer]
        for number in NUMBERS
    ]
    assert max(keys.count(letter) for letter in keys) <= 0.4 * len(keys) and set(keys) == set("abcd"), keys


@pytest.mark.parametrize("person", PEOPLE)
@pytest.mark.parametrize("number", NUMBERS)
def test_page_check_and_answer_key_mean_the_same_by_a_letter(number, person, capsys):
    book = open_workbook(number, *person)
    key = {
        row["exercise"]: row["answer"]
        for row in csv.DictReader(io.StringIO(answer_key(number, [person[0]], person[1])))
    }
    for name, exercise in exercises_of(number).items():
        if not isinstance(exercise, Choice):
            continue
        capsys.readouterr()
        book.exercise(name)
        told = capsys.readouterr().out
        shown = dict(re.findall(r"^- \*\*(\w)\*\*: (.*)$", told.split("<details>")[0], re.MULTILINE))
        assert "".join(shown) == LETTERS[: len(exercise.options)]
        letter, words = key[name].split(": ", 1)
        assert shown[letter] == words and f"\n\n**{letter}**: {words}" in told.split("Worked solution")[1]
        assert [one for one in shown if check(exercise, one, book.learner).correct] == [letter]


def test_a_prediction_typed_as_a_letter_comes_back_as_its_option(capsys):
    for person in PEOPLE:
        book = open_workbook(0, *person)
        exercise = book.exercises["P"]
        for option, letter in exercise.drawn(book.learner).letters.items():
            capsys.readouterr()
            book.predict("P", letter.upper())
            assert capsys.readouterr().out == f"Your prediction is **{letter}**: {exercise.options[option]}\n"
            assert book.prediction("P") == option
            book.explain("P")
            told = capsys.readouterr().out
            assert told.startswith(f"You predicted **{letter}** ({exercise.options[option]}): ")
            assert len(re.findall(r"\*\*[a-d]\*\* \(", told)) == 4
