"""The live figures of the workbooks at the ends of their controls, and the pictures of the cards."""

import importlib
import math
import re

import numpy as np
import pytest
from make_records import FOLDER, agree, changes, exercises_record, figure_record, marks_record, read, settings, written
from pages import NOTEBOOKS, Page, State, contradictions, drawn_alone, move

import helpers.course as course
from helpers.simulation import calmest
from helpers.teaching.controls import Slider
from helpers.teaching.course import exercises_of
from helpers.teaching.exercises import Choice
from helpers.teaching.live import LiveFigure


class Visited(Page):
    """A page whose live figures were moved to every corner and to each end of each control alone."""

    def __init__(self, number):
        super().__init__(number)
        self.shown = self.figures()
        self.plain = [figure.picture.pixels().copy() for figure in self.shown]
        self.corners, self.alone = [], []  # of each figure {values: State}
        for figure in self.shown:
            corners = {tuple(setting.values()): setting for setting in figure.corners()}
            alone = {tuple(setting.values()): setting for setting in settings(self, figure)}
            self.alone.append({values: move(figure, setting) for values, setting in alone.items()})
            self.corners.append(self.alone[-1] | {
                values: move(figure, setting, artists=False) for values, setting in corners.items()
                if values not in alone})  # fmt: skip

    def visits(self):
        """(figure, {values: State} of its controls moved alone, {values: State} of all corners)."""
        return zip(self.shown, self.alone, self.corners, strict=True)


@pytest.fixture(scope="module", params=NOTEBOOKS)
def page(request):
    return Visited(request.param)


@pytest.fixture(scope="module")
def record(page):
    """The stored record, and the one made now."""
    now = {}
    for figure, alone, _ in page.visits():
        now |= figure_record(figure, list(alone.values()))
    now |= marks_record(page, page.plain) | exercises_record(page)
    assert read(written(now)) == now
    return read((FOLDER / f"{page.number:02d}.txt").read_text(encoding="utf-8")), now


def test_each_workbook_has_a_live_figure(page):
    assert page.shown
    assert all(isinstance(figure, LiveFigure) for figure in page.shown)


def test_figure_holds_at_every_corner(page):
    for _, _, corners in page.visits():
        for state in corners.values():
            assert len(state.sentence) > 40
            assert not re.search("nan", state.sentence, re.IGNORECASE)
            assert not re.search(r"\binf\b", f"{state.numbers} {state.curves}"), state.name
            assert state.pixels.std() > 5.0, "an empty picture"


def test_sentence_agrees_with_the_read_out_at_every_corner(page):
    for _, _, corners in page.visits():
        assert [f"{state.name}: {fault}" for state in corners.values() for fault in contradictions(state)] == []


def test_each_control_alone_changes_picture_or_numbers(page):
    for figure, alone, _ in page.visits():
        for key, control in figure.controls.items():
            states = {value: alone[tuple((figure.defaults | {key: value}).values())] for value in control.corners}
            start = states.pop(control.default)
            ignored = [value for value, state in states.items() if state.same(start)]
            assert ignored == [], f"{control.label} is ignored at {ignored}"
            if isinstance(control, Slider) and len(states) == 2:
                low, high = states.values()
                assert not low.same(high), f"{control.label} makes no difference between its ends"


def test_each_moving_artist_is_redrawn(page, monkeypatch):
    """Moved to a setting, every moving artist looks as in a figure that was built at that setting."""
    for place, (figure, _, _) in enumerate(page.visits()):
        for end in (0, -1):
            ends = {key: [value for value in control.corners if value != control.default][end]
                    for key, control in figure.controls.items()}  # fmt: skip
            moved = move(figure, ends)
            with monkeypatch.context() as patch:
                patch.setattr(LiveFigure, "defaults", property(lambda _, ends=ends: ends))
                built = drawn_alone(page.figures()[place])
            pairs = zip(figure.picture.moving, moved.artists, built, strict=True)
            assert [artist for artist, now, new in pairs if now != new] == [], f"not redrawn at {moved.name}"


@pytest.mark.pixels
def test_nothing_else_moves(page):
    """What is not given as moving is drawn once, so it must not depend on the setting."""
    for figure in page.shown:
        picture = figure.picture
        picture.canvas.draw()  # all but the moving artists
        assert bytes(picture.canvas.copy_from_bbox(picture.figure.bbox)) == bytes(picture.background)


@pytest.mark.pixels
def test_numbers_sentences_marks_and_answers_are_those_recorded(page, record):
    """`make_records.py` writes the records anew; each changed line needs a reason."""
    assert list(changes(*record)) == []


def test_each_prediction_leaves_a_mark_of_its_own(page, record):
    choice = page.exercises["P"]
    assert isinstance(choice, Choice)
    marks = record[1]["predictions"]
    assert set(marks) == {f"mark {letter}" for letter in choice.options}
    assert "none" not in marks.values()
    assert len(set(marks.values())) == len(marks)


def test_a_record_is_compared_to_its_last_digit_but_for_roundings():
    assert agree("numbers", "force (N): 1.20", "force (N): 1.20")
    assert not agree("numbers", "force (N): 1.20", "force (N): 1.21")
    assert agree("curves", "1.234, 0", "1.235, 0")
    assert not agree("curves", "1.234, 0", "1.237, 0")
    assert not agree("curves", "1.234, 0", "1.234")
    assert agree("mark a", "left 10, right 20", "left 12, right 20")
    assert not agree("mark a", "left 10, right 20", "left 13, right 20")
    assert not agree("mark a", "left 10, right 20", "none")
    assert list(changes({"defaults": {"numbers": "1"}}, {"defaults": {}})) == ["defaults, numbers: 1 -> nothing"]


def test_a_sentence_against_its_read_out_is_found():
    def found(sentence, *numbers):
        empty = np.zeros((1, 1, 4), np.uint8)
        return list(contradictions(State("", {}, list(numbers), sentence, "", [], empty, [])))

    assert found("It takes 2.3 kW.", ("in (W)", "2.3; 4")) == ["2.3 kW is 2.3 W in the read-out"]
    assert found("It takes 2.3 W, 2.3 s.", ("in (W)", "2.3"), ("after (ms)", "9")) == []
    assert found("It is 12 % above.", ("of its (%)", "88")) == ["12 % above goes against the read-out [88.0]"]
    assert found("It is 12 % less.", ("of its (%)", "88")) == []
    assert found("It lies between 3.0 and 2.") == ["between 3.0 and 2"]


@pytest.mark.parametrize("number", NOTEBOOKS)
def test_card(number):
    exercises_of(number)  # puts the workbooks' folder on the path
    scenes = importlib.import_module(f"scenes.w{number:02d}")
    figure = scenes.card_figure()
    assert figure.axes
    assert len(scenes.CARD_ALT) > 40
    assert scenes.CARD_CAPTION.endswith(".")
    for ax in figure.axes:
        assert all(math.isfinite(limit) for limit in (*ax.get_xlim(), *ax.get_ylim()))


@pytest.mark.parametrize("number", [0, 1, 2, 3, 4, 5, 6])
def test_a_machine_of_ones_own_is_offered(number, tmp_path, monkeypatch):
    """07 rides two wheels, 08 and 09 choose no machine."""
    monkeypatch.setenv("COURSE_LEARNER", str(tmp_path / "my-course.json"))
    course.machine("barrow", load=48, wheel=3, travel=0.14, sag=0.035, tyre_press=0.009)
    monkeypatch.setattr(calmest, "search", lambda *_: (1.0, 0.5, 1.0, 0.5, 0.3))  # another test searches
    figure = Page(number).figures()[0]
    key, own = next((key, value) for key, control in figure.controls.items() if not isinstance(control, Slider)
                    for value in control.corners if "barrow" in value)  # fmt: skip
    start = figure.description
    figure.update(**{key: own})
    assert figure.description != start and "barrow" in figure.description.lower()
    assert not any("nan" in text for _, text in figure.numbers)
