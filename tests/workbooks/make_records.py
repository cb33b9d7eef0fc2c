"""What each page's live figure, predictions and exercises give, as text that is stored and compared.

    python tests/workbooks/make_records.py 03        # from the project's folder; without numbers: all pages

writes `records/03.txt`. Read its diff: each line that changed needs a reason. A section stands for one setting of
the live figure, with the controls that are not at their defaults as its heading: read-out, sentence, texts in the
picture, root mean squares of the curves, and where each moving artist lies, in dots; then come the marks that the
predictions leave in the figure; then the exercises, with the demo learner's numbers.
"""

import re
import sys
from pathlib import Path

from matplotlib import use
from pages import NOTEBOOKS, Page, marked, move, moved_alone

from helpers.teaching.exercises import Learner, Numeric

FOLDER = Path(__file__).parent / "records"
CLOSE = {"curves": 1e-3, "answer": 1e-3, "slip": 1e-3}  # relative: a last digit may be rounded either way
DOTS = 2  # how far a mark or an artist may lie from where it was recorded
ASKED = {  # settings that the notes for instructors quote, beside the ends of the controls
    7: [{"valve": 40.0}, {"valve": 130.0}, {"error": -30}, {"error": 30}, {"speed": 3, "error": -10}],
    8: [{"bar": 40, "power": 50.0}, {"bar": 40, "mass": 0.25}],
    9: [{"temperature": -10}, {"mass": 4}],
}
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[+-]?\d+)?")


def settings(page, figure):
    """The settings of a page's live figure that its record holds."""
    return [*moved_alone(figure), *(figure.defaults | asked for asked in ASKED.get(page.number, []))]


def axes_of(figure):
    """Titles and labels of the axes: {"axes 1": "title | label below | label beside", ...}."""
    found = {}
    for k, ax in enumerate(figure.picture.figure.axes, start=1):
        title = "".join(ax.get_title(place) for place in ("left", "center", "right"))
        texts = (text.replace("\n", " ") or "none" for text in (title, ax.get_xlabel(), ax.get_ylabel()))
        found[f"axes {k}"] = " | ".join(texts)
    return found


def staying(figure, states):
    """The artists given as moving that look the same in all states: what they are, and what they say."""
    sums = zip(*(state.artists for state in states), strict=True)
    still = [artist for artist, seen in zip(figure.picture.moving, sums, strict=True) if len(set(seen)) == 1]
    return ", ".join(f"{type(a).__name__} {a.get_text()!r}" if hasattr(a, "get_text") else type(a).__name__
                     for a in still) or "none"  # fmt: skip


def figure_record(figure, states):
    """{heading: {name: text}} of a live figure in some states; the figure goes back to its defaults."""
    figure.update(**figure.defaults)  # a title may move
    found = {f"figure {figure.figure_name}": axes_of(figure) | {"stay as built": staying(figure, states)}}
    for state in states:
        found[state.name] = {
            "numbers": "; ".join(f"{label}: {text}" for label, text in state.numbers), "sentence": state.sentence,
            "written": " | ".join(state.written).replace("\n", " ") or "nothing", "curves": state.curves or "none",
            "places": ", ".join(" ".join(map(str, place)) or "hidden" for _, place in state.artists),
        }  # fmt: skip
    return found


def marks_record(page, plain):
    """Where each prediction changes the pictures `plain`, by the name that the exercise gives the option."""
    said = "left {}, right {}, top {}, bottom {}, centre {}, {}"
    found = {}
    for option, figures in page.predicted():
        marks = [marked(was, figure.picture.pixels()) for was, figure in zip(plain, figures, strict=True)]
        found[f"mark {option}"] = "; ".join(said.format(*mark) if mark else "none" for mark in marks)
    return {"predictions": dict(sorted(found.items()))}


def exercises_record(page):
    """Answer and slips of each numeric exercise with the demo learner's numbers, four digits."""
    found = {}
    for key, exercise in page.exercises.items():
        if isinstance(exercise, Numeric):
            n = exercise.drawn(Learner("", "", page.number))
            found[f"exercise {key}"] = {f"answer ({exercise.unit})": f"{float(exercise.answer(n)):.4g}"} | {
                f"slip {slip.name}": f"{float(slip.value(n)):.4g}" for slip in exercise.slips}  # fmt: skip
    return found


def written(record):
    """A record as the text of its file."""
    parts = ([f"## {heading}", *(f"{name}: {text}" for name, text in lines.items()), ""]
             for heading, lines in record.items())  # fmt: skip
    return "\n".join(line for part in parts for line in part)


def read(text):
    """The record that a text of `written` holds."""
    record = {}
    for line in text.splitlines():
        if line.startswith("## "):
            record[line[3:]] = {}
        elif line:
            name, told = line.split(": ", 1)
            record[list(record)[-1]][name] = told
    return record


def agree(name, was, now):
    """Whether two texts of the same name say the same: word for word, but for roundings and for dots of marks."""
    close = CLOSE.get(name.split()[0])
    if close is None and not name.startswith(("mark", "places")):
        return was == now
    before, after = ([float(n) for n in NUMBER.findall(text)] for text in (was, now))
    if NUMBER.sub("", was) != NUMBER.sub("", now) or len(before) != len(after):
        return False
    return all(abs(a - b) <= (close * abs(a) if close else DOTS) for a, b in zip(before, after, strict=True))


def changes(was, now):
    """What differs between two records, a line each."""
    for heading in dict.fromkeys([*was, *now]):
        before, after = was.get(heading, {}), now.get(heading, {})
        for name in dict.fromkeys([*before, *after]):
            one, other = before.get(name, "nothing"), after.get(name, "nothing")
            if not agree(name, one, other):
                yield f"{heading}, {name}: {one} -> {other}"


def main(numbers):
    """Write the records of the pages."""
    use("Agg")
    for number in numbers:
        page, record = Page(number), {}
        for figure in page.figures():
            record |= figure_record(figure, [move(figure, setting) for setting in settings(page, figure)])
        record |= marks_record(page, [figure.picture.pixels().copy() for figure in page.figures()])
        (FOLDER / f"{number:02d}.txt").write_text(written(record | exercises_record(page)), encoding="utf-8")


if __name__ == "__main__":
    main([int(number) for number in sys.argv[1:]] or NOTEBOOKS)
