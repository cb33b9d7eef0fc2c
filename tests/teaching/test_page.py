"""What the page's cells show and print, and what the instructor gets."""

import csv
import importlib.util
import io
import math
import os
import subprocess
import sys
from dataclasses import dataclass

import pytest

from helpers import __version__
from helpers.models.quantities import Checked, quantity
from helpers.teaching import course, page
from helpers.teaching.classroom import answer_key
from helpers.teaching.course import PageError
from helpers.teaching.exercises import Learner, check
from helpers.teaching.page import open_workbook

CONTENT = """
from helpers.teaching.exercises import Choice, Criterion, Design, Draw, Numeric, Parameter, ShortText, Slip

EXERCISES = [
    Choice(key="P", title="Firmer", question="What does a firmer damper do?", answer="c",
           options={"a": "It helps", "b": "It harms", "c": "It depends"},
           feedback={"a": "near $\\\\omega_0$ only", "b": "far above only", "c": "the frequency decides"}),
    Numeric(key="E1", title="Static load", numbers=[Draw("mass", 30, 60, 1)], unit="N", kind="gap",
            question=lambda n: f"What load does a body of {n.mass} kg put on the spring?",
            answer=lambda n: n.mass * 9.81,
            hints=["Weight is a force.", "$F = m g$", "Multiply by 9.81 m/s^2."],
            slips=[Slip("mass", lambda n: n.mass, "That is the mass."), Slip("g/2", lambda n: n.mass * 4.905, "Half."),
                   Slip("over g", lambda n: n.mass / 9.81, "Multiply by g.")],
            solution=lambda n: f"{n.mass} kg times 9.81 m/s^2 is {n.mass * 9.81:.4g} N."),
    ShortText(key="E2", title="Warm", question="Why does the damper get warm?",
              model="Its work becomes heat in the oil.",
              ideas=["Its force does work.", "That work becomes heat."]),
    Design(key="E3", title="Choose", question="Choose a damping ratio.",
           parameters=[Parameter("ratio", "damping ratio", 0, 2)], passing={"ratio": "0.4"},
           judge=lambda v, n: [Criterion("overshoot", 1 - v.ratio, 0.7)]),
]
"""


@pytest.fixture
def make(tmp_path, monkeypatch):
    """Opens a small workbook 71 that no course has, in a folder of its own."""
    (tmp_path / "exercises").mkdir()
    (tmp_path / "exercises" / "w71.py").write_text(CONTENT, encoding="utf-8")
    monkeypatch.setattr(course, "workbooks_folder", lambda: tmp_path)
    monkeypatch.setattr(sys, "path", list(sys.path))
    for name in [n for n in sys.modules if n.split(".")[0] == "exercises"]:
        monkeypatch.delitem(sys.modules, name)
    yield lambda **given: open_workbook(71, **given)
    for name in [n for n in sys.modules if n.split(".")[0] == "exercises"]:
        del sys.modules[name]


@pytest.fixture
def book(make, shown):
    opened = make()
    shown.readouterr()
    return opened


@pytest.fixture
def shown(capsys):
    """Outside a notebook, display prints the plain text: the same Markdown."""
    return capsys


def test_the_ready_line_names_version_and_learner_and_nothing_of_the_machine(make, capsys):
    make()
    make(learner=" Ada Tarn", class_code="S26")
    assert capsys.readouterr().out.splitlines() == [
        f"Workbook 71, helpers {__version__}: ready. Your numbers are drawn for the demo learner.",
        f"Workbook 71, helpers {__version__}: ready. Your numbers are drawn for Ada Tarn, class code S26.",
        "The questions below show your numbers once their cells have run: choose Run > Run All Cells.",
    ]


@pytest.mark.parametrize("number", [72, -1, "1", None, 1.0])
def test_an_unknown_workbook_is_one_line_without_traceback(make, number):
    with pytest.raises(PageError, match="There is no workbook") as caught:
        open_workbook(number)
    assert caught.value._render_traceback_() == [str(caught.value)]


def test_missing_packages_and_an_old_python_say_what_to_do(make, monkeypatch):
    find = importlib.util.find_spec
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None if name == "pint" else find(name))
    with pytest.raises(PageError, match="Missing here: pint. .*run 'python3 -m helpers start'"):
        make()
    monkeypatch.setattr(page.sys, "version_info", (3, 10, 4))
    with pytest.raises(PageError, match="Python 3.11 or newer"):
        make()


def test_the_workbooks_are_found_from_elsewhere(tmp_path):
    """A notebook may run from any working directory: the source tree tells where the workbooks are."""
    code = "from helpers.teaching.course import workbooks_folder; print((workbooks_folder() / 'exercises').is_dir())"
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(p for p in sys.path if p)},
        check=False,
    )
    assert run.stdout.strip() == "True", run.stderr


def test_an_exercise_shows_question_and_folds_hints_and_solution(book, shown):
    book.exercise("E1")
    text = shown.readouterr().out
    n = book.exercises["E1"].drawn(book.learner)
    assert text.startswith("**E1. Static load** (one gap to fill)") and f"a body of {n.mass} kg" in text
    visible, *folded = text.split("<details><summary>")
    assert "Answer in N or a unit that converts to it; right within 2 %." in visible
    assert [part.split("</summary>")[0] for part in folded] == [
        "Hint 1: the idea",
        "Hint 2: the equation",
        "Hint 3: the next step",
        "Worked solution with your numbers",
    ]
    assert f"{n.mass * 9.81:.4g} N" in folded[-1] and f"{n.mass * 9.81:.4g}" not in "".join([visible, *folded[:-1]])
    # Markdown inside the fold is rendered only after an empty line (CommonMark 0.31, HTML blocks)
    assert all("</summary>\n\n" in part and "\n\n</details>" in part for part in folded)


def test_each_kind_of_exercise_says_what_it_wants(book, shown):
    for key, says in [
        ("P", "- **a**: It harms\n- **b**: It helps"),
        ("E2", "your instructor reads them"),
        ("E3", "| `ratio` | damping ratio | 0 to 2 |"),
    ]:
        book.recall(key)
        assert says in shown.readouterr().out


def test_numbers_and_text_answers_go_through_the_same_check(book, shown):
    right = book.exercises["E1"].drawn(book.learner).mass * 9.81
    book.answer("E1", f"{right} N")
    book.answer("E1", right, "N")
    book.answer("E1", (right / 1000, "kN"))
    lines = shown.readouterr().out.splitlines()
    assert len(lines) == 3 and lines[0] == lines[1] == lines[2]
    assert lines[0] == "**E1** " + check(book.exercises["E1"], f"{right} N", book.learner).message
    book.answer("E3", ratio=0.4)
    assert "- passes: overshoot 0.6, at most 0.7" in shown.readouterr().out


def test_as_shipped_the_answer_cells_say_what_to_put(book, shown):
    book.answer("E1", ...)
    book.answer("E1")
    assert shown.readouterr().out.splitlines() == 2 * [
        "**E1** No answer yet: put a number with its unit between the quotes, for example 0.5 N."
    ]
    book.answer("E3", ratio=...)
    book.answer("P", "")
    assert shown.readouterr().out.splitlines() == [
        "**E3** No answer yet: put a value with its unit between each pair of quotes: ratio (damping ratio), 0 to 2.",
        "**P** No answer yet: put one letter between the quotes: a, b, c.",
    ]


def test_a_prediction_is_kept_and_explained(book, shown):
    assert book.prediction("P") == ""
    book.predict("P", "")
    assert "- **b**: It helps" in shown.readouterr().out  # the demo learner's order
    book.predict("P", "B)")
    assert shown.readouterr().out == "Your prediction is **b**: It helps\n" and book.prediction("P") == "a"
    book.explain("P")
    text = shown.readouterr().out
    order = [
        text.index("You predicted **b** (It helps): near $\\omega_0$ only"),
        text.index("- **a** (It harms): far above"),
        text.index("What the model shows is **c** (It depends): the frequency decides"),
    ]
    assert order[0] < order[2] < order[1]
    book.predict("P", "z")
    assert "`z` is not one of the letters a, b, c." in shown.readouterr().out and book.prediction("P") == ""


def test_explain_works_without_a_prediction_and_for_a_right_one(book, shown):
    book.explain("P")
    folded = (
        "You made no prediction.\n\n<details><summary>What the model shows</summary>\n\nWhat the model shows is **c**"
    )
    assert shown.readouterr().out.startswith(folded)
    book.predict("P", "c")
    book.explain("P")
    text = shown.readouterr().out
    assert "You predicted **c**" in text and "What the model shows" not in text


@pytest.mark.parametrize(
    "call",
    [
        lambda b: b.exercise("E9"),
        lambda b: b.answer("E9", "1 N"),
        lambda b: b.prediction("E9"),
        lambda b: b.predict("E1", "a"),
        lambda b: b.explain("E9"),
    ],
)
def test_an_unknown_key_is_one_sentence(book, call):
    with pytest.raises(PageError, match="There is no exercise 'E9' here: the keys are P, E1, E2, E3|no options"):
        call(book)


def test_progress_keeps_what_was_right_once(book, shown):
    book.predict("P", "b")
    book.answer("E3", ratio=0.4)
    book.answer("E2", "It all becomes heat in there.")
    shown.readouterr()
    book.progress()
    assert shown.readouterr().out == "Right in this session: E3 (1 of 2). Still open: E1, E2.\n"
    book.answer("E2", "It all becomes heat in there.", holds="2")
    book.answer("E3", ratio="")
    book.answer("E2", "", holds="")
    told = shown.readouterr().out
    assert told.startswith("**E2** You find 1 of 2 ideas in it: kept for your instructor's reading.")
    assert told.endswith("**E2** No answer yet: put a sentence or two between the triple quotes.\n")
    book.progress()
    assert shown.readouterr().out == (
        "Right in this session: E3 (1 of 2). In your own words: E2, 1 of 2 ideas by your own count. Still open: E1.\n"
    )


def test_a_source_that_all_share_is_said_once(book, shown):
    @dataclass(frozen=True)
    class Spring(Checked):
        rate: float = quantity("spring rate", "N/m", 1000, 90000, symbol="k_s", default=2000)

    book.parameters(Spring())
    text = shown.readouterr().out
    assert "| source |" not in text
    assert text.rstrip().endswith("Source of every value: invented for the course.")


def test_parameters_are_one_table_in_markdown(book, shown):
    @dataclass(frozen=True)
    class Spring(Checked):
        rate: float = quantity("spring rate |at the wheel|", "N/m", 1000, 90000, symbol="k_s", default=12345)
        damping_ratio: float = quantity("damping ratio", "", 0, 2, default=0.3, source="a book")

    book.parameters(Spring(), Spring(rate=2000.0))
    lines = shown.readouterr().out.splitlines()
    assert lines[0] == "| symbol | meaning | unit | default | range | source |" and len(lines) == 6
    assert lines[3] == "| damping ratio | damping ratio | – | 0.3 | 0 to 2 | a book |"
    assert lines[4].startswith("| $k_s$ | spring rate \\|at the wheel\\| | N/m | 2000 | 1000 to 90000 |")


def test_tables_write_a_minus_sign_and_leave_mathematics_and_ranges_of_names_alone():
    rows = [("w-1", -2.5, "3 to -4", "$x^{-1}$", "1e-05", "10-20")]
    assert str(page.table("abcdef", rows)).splitlines()[-1] == "| w-1 | −2.5 | 3 to −4 | $x^{-1}$ | 1e-05 | 10-20 |"


def test_a_fold_takes_words_and_tables():
    fold = page.folded("More", "Words.", page.table(("a", "b"), [("x", 1)]))
    assert fold._repr_markdown_() == (
        "<details><summary>More</summary>\n\nWords.\n\n| a | b |\n|---|---:|\n| x | 1 |\n\n</details>"
    )


def test_the_answer_key_gives_each_learner_the_right_answer(make, capsys):
    rows = list(csv.DictReader(io.StringIO(answer_key(71, ["Ada", "Bo, the second"], "S26"))))
    assert [(row["learner"], row["exercise"]) for row in rows] == [
        (name, key) for name in ("Ada", "Bo, the second") for key in ("P", "E1", "E2", "E3")
    ]
    assert rows[2]["answer"] == (
        "Its work becomes heat in the oil. Ideas: (1) Its force does work. (2) That work becomes heat."
    )
    assert rows[3]["answer"] == "ratio=0.4"
    for row in rows[1::4]:
        mass = int(row["numbers"].removeprefix("mass="))
        assert math.isclose(float(row["answer"]), mass * 9.81, rel_tol=1e-3)
        opened = make(learner=row["learner"].upper(), class_code=" s26")
        assert check(opened.exercises["E1"], (row["answer"], row["unit"]), opened.learner).correct


def test_two_exercises_with_one_key_are_refused(make, tmp_path):
    (tmp_path / "exercises" / "w71.py").write_text(CONTENT.replace('"E2"', '"E1"'), encoding="utf-8")
    with pytest.raises(ValueError, match="same key"):
        make()


def test_the_page_shows_markdown_in_a_notebook():
    assert page.Shown("**a**")._repr_markdown_() == repr(page.Shown("**a**")) == "**a**"
    assert Learner() == Learner("", "", 0)
