"""A page's live figures, got as a learner gets them: by running the notebook's own cells."""

import ast
import contextlib
import io
import re
import zlib
from dataclasses import dataclass, field

import nbformat
import numpy as np
from matplotlib.text import Text

from helpers.teaching.course import exercises_of, workbooks_folder
from helpers.teaching.exercises import LETTERS

NOTEBOOKS = {int(path.name[:2]): path for path in sorted(workbooks_folder().glob("[0-9][0-9]-*.ipynb"))}


class Page:
    """A notebook whose *ready* cell has run."""

    def __init__(self, number):
        self.number, self.exercises = number, exercises_of(number)  # which puts the workbooks' folder on the path
        self.cells = nbformat.read(NOTEBOOKS[number], as_version=4).cells
        self._names = {}
        self._run(next(cell.source for cell in self.cells if cell.cell_type == "code"))

    def _run(self, source):
        """Run a cell; the value of its last expression, None where it ends otherwise."""
        body = ast.parse(source).body
        last = [body.pop()] if isinstance(body[-1], ast.Expr) else []
        with contextlib.redirect_stdout(io.StringIO()):
            exec(compile(ast.Module(body, []), "cell", "exec"), self._names)
            return eval(compile(ast.Expression(last[0].value), "cell", "eval"), self._names) if last else None

    def figures(self, letter=""):
        """The live figures, each after the code cells of its section; `letter` is the prediction made before."""
        if letter:
            self._run(f'book.predict("P", "{letter}")')
        shown, section = [], []
        for cell in self.cells:
            if cell.cell_type == "markdown" and re.search(r"^#+ ", cell.source, re.MULTILINE):
                section = []
            elif cell.cell_type == "code":
                section.append(cell.source)
                if "book.prediction(" in cell.source:
                    shown.append([self._run(source) for source in section][-1])
        return shown

    def predicted(self):
        """(option as the exercise names it, live figures) for each letter that can be put in the predicting cell."""
        for letter in LETTERS[: len(self.exercises["P"].options)]:
            figures = self.figures(letter)
            yield self._names["book"].prediction("P"), figures


@dataclass
class State:
    """What a live figure shows at one setting; its moving artists as `drawn_alone` gives them."""

    name: str
    setting: dict
    numbers: list
    sentence: str
    curves: str
    written: list
    pixels: np.ndarray = field(repr=False)
    artists: list = field(repr=False)

    def same(self, other):
        """Whether the other state shows the same picture and the same numbers."""
        return self.numbers == other.numbers and np.array_equal(self.pixels, other.pixels)


def move(figure, setting, artists=True):
    """Move the figure to the setting and read it; its artists one by one only if wanted, for they take time."""
    figure.update(**setting)
    moved = {key: value for key, value in setting.items() if value != figure.defaults[key]}
    texts = [artist for artist in figure.picture.moving if isinstance(artist, Text) and artist.get_visible()]
    return State(
        name="; ".join(figure.controls[key].text(value) for key, value in moved.items()) or "defaults",
        setting=setting, numbers=figure.numbers, sentence=figure.description,
        curves=figure.picture.curve_numbers(),
        written=[text.get_text() for text in texts if text.get_text()],
        pixels=figure.picture.pixels().copy(), artists=drawn_alone(figure) if artists else [],
    )  # fmt: skip


def drawn_alone(figure):
    """(checksum of its pixels, its place in dots: left, right, top, bottom) of each moving artist, drawn on nothing."""
    canvas, found = figure.picture.canvas, []
    renderer = canvas.get_renderer()
    for artist in figure.picture.moving:
        renderer.clear()
        artist.draw(renderer)
        pixels = np.asarray(canvas.buffer_rgba())
        inked = pixels[..., 3] > 0
        columns, rows = np.flatnonzero(inked.any(axis=0)), np.flatnonzero(inked.any(axis=1))
        place = (*columns[[0, -1]].tolist(), *rows[[0, -1]].tolist()) if len(rows) else ()
        found.append((zlib.crc32(pixels), place))
    return found


def moved_alone(figure):
    """Each control by itself at its ends or options, the others at their defaults, the defaults first."""
    each = ({**figure.defaults, key: value} for key, control in figure.controls.items() for value in control.corners)
    return list({tuple(setting.values()): setting for setting in (figure.defaults, *each)}.values())


def marked(plain, shown):
    """Where two pictures differ, in dots: left, right, top, bottom and the centre of gravity; None where nowhere."""
    rows, columns = np.nonzero((plain != shown).any(axis=2))
    if not len(rows):
        return None
    return [*map(int, (columns.min(), columns.max(), rows.min(), rows.max())),
            *(int(round(float(places.mean()))) for places in (columns, rows))]  # fmt: skip


PREFIXED = re.compile(r"(-?\d+(?:\.\d+)?) ([kmµM]?)(W|N|Hz|s|m|Wh|J|bar|g)\b(?![/²·])")
COMPARED = re.compile(r"(\d+) % (above|below|more|less)\b")
SPAN = re.compile(r"between (-?\d+(?:\.\d+)?) and (-?\d+(?:\.\d+)?)")


def contradictions(state):
    """Where the sentence of a live figure speaks against its read-out or itself, a line each.

    A number that stands in both with the same unit carries the same prefix (W or kW); "12 % above" or "more" goes
    with a read-out "of ... (%)" of 112, "below" or "less" with 88; of "between a and b" the first is the smaller.
    """
    for number, prefix, unit in PREFIXED.findall(state.sentence):
        units = [re.search(rf"\(([kmµM]?){unit}\)$", label) for label, text in state.numbers
                 if number in re.findall(r"-?\d+(?:\.\d+)?", text)]  # fmt: skip
        told = {found[1] for found in units if found}
        if told and prefix not in told:
            yield f"{number} {prefix}{unit} is {number} {told.pop()}{unit} in the read-out"
    shares = [float(text) for label, text in state.numbers if re.fullmatch(r"of .*\(%\)", label) and text.isdecimal()]
    for share, word in COMPARED.findall(state.sentence):
        up, down = ((100 + sign * int(share)) in shares for sign in (1, -1))
        if up != down and up != (word in ("above", "more")):
            yield f"{share} % {word} goes against the read-out {shares}"
    for low, high in SPAN.findall(state.sentence):
        if float(low) > float(high):
            yield f"between {low} and {high}"
