"""The live figures of the workbooks at the ends of their sliders, and the pictures of the cards."""

import importlib
import math
import re

import numpy as np
import pytest

from helpers.teaching.course import exercises_of, workbooks_folder
from helpers.teaching.exercises import Choice
from helpers.teaching.live import LiveFigure

NOTEBOOKS = sorted(workbooks_folder().glob("[0-9][0-9]-*.ipynb"))
NUMBERS = [int(path.name[:2]) for path in NOTEBOOKS]


def scenes_of(number):
    exercises_of(number)  # puts the workbooks' folder on the path
    return importlib.import_module(f"scenes.w{number:02d}")


def live_figures(number):
    """(name, predictions asked for by it) of each function of the scenes that the notebook shows live."""
    text = NOTEBOOKS[NUMBERS.index(number)].read_text(encoding="utf-8")
    return sorted(set(re.findall(r"scenes\.(\w+)\(book\.prediction\(", text)))


LIVE = [(number, name) for number in NUMBERS for name in live_figures(number)]


@pytest.mark.parametrize("number", NUMBERS)
def test_each_workbook_has_a_live_figure(number):
    assert live_figures(number)


@pytest.mark.parametrize(("number", "name"), LIVE)
def test_figure_holds_at_every_corner(number, name):
    figure = getattr(scenes_of(number), name)("")
    assert isinstance(figure, LiveFigure)
    for corner in figure.corners():
        figure.update(**corner)
        assert len(figure.description) > 40
        assert "nan" not in figure.description.lower()
        told = figure._repr_mimebundle_()["text/plain"]
        assert "inf" not in re.findall(r"\b(inf|nan)\b", told), told
        pixels = figure._picture.pixels()
        assert pixels.std() > 5.0, "an empty picture"


@pytest.mark.parametrize(("number", "name"), LIVE)
def test_figure_shows_every_prediction(number, name):
    exercises = exercises_of(number)
    choice = next(exercise for exercise in exercises.values() if exercise.key == "P")
    assert isinstance(choice, Choice)
    plain = getattr(scenes_of(number), name)("")._picture.pixels().astype(float)
    for letter in choice.options:
        shown = getattr(scenes_of(number), name)(letter)
        assert np.abs(shown._picture.pixels() - plain).max() > 0, f"the prediction {letter} leaves no mark"


@pytest.mark.parametrize("number", NUMBERS)
def test_card(number):
    scenes = scenes_of(number)
    figure = scenes.card_figure()
    assert figure.axes
    assert len(scenes.CARD_ALT) > 40
    assert scenes.CARD_CAPTION.endswith(".")
    for ax in figure.axes:
        assert all(math.isfinite(limit) for limit in (*ax.get_xlim(), *ax.get_ylim()))
