"""What a workbook's cells call: exercises, answers, predictions and parameter tables, shown as Markdown."""

import importlib.util
import re
import sys

import helpers
from helpers.teaching import kept, memory, overwritten
from helpers.teaching.course import REQUIRED, PageError, exercises_of
from helpers.teaching.exercises import Choice, Learner, Numeric, ShortText, answer_form, check, lettered
from helpers.teaching.layouts import choose_layout
from helpers.teaching.units import AnswerError, clipped, pretty, registry, with_unit
from helpers.teaching.verdict import written

LONGEST_TEXT = 400  # characters of each part of a decision


def open_workbook(number, learner="", class_code="", layout=""):
    """The Book of a workbook; prints that all is ready, or stops with one sentence that says what to do.

    number: 0 to 12. learner: any name; case and spaces do not matter; left empty, the name and code that were typed on
    another page are taken (`helpers.teaching.kept`). class_code: an instructor who wants other
    numbers for each class edits this one line in the first cell before handing the notebook out, nothing more;
    `helpers.teaching.classroom.answer_key` gives the right answers for it. layout: of the live figures, "wide"
    if empty, "narrow" for a phone, "projector" before a class.
    """
    if sys.version_info < (3, 11):  # noqa: UP036 - a kernel may run another Python than the set-up did
        raise PageError("This course needs Python 3.11 or newer: install it, then run 'python3 -m helpers start'.")
    missing = [name for name in REQUIRED if importlib.util.find_spec(name) is None]
    if missing:
        raise PageError(
            f"Missing here: {', '.join(missing)}. Close this page and run 'python3 -m helpers start' in "
            "the course's folder: it installs what is missing and opens the page again."
        )
    choose_layout(layout)
    before = kept.read()
    if str(learner).strip():
        kept.keep(learner=str(learner), class_code=str(class_code))
    else:
        learner, class_code = before.get("learner", ""), class_code or before.get("class_code", "")
    book = Book(number, Learner(str(learner), str(class_code), number), exercises_of(number))
    if shell := _shell():
        overwritten.watch(shell)
        memory.watch(shell)
    registry()  # here, where a moment is nothing, and not when the first answer waits for its verdict
    who = f"for {clipped(learner)}" if str(learner).strip() else "for the demo learner"
    code = f", class code {clipped(class_code)}" if str(class_code).strip() else ""
    print(f"Workbook {number:02d}, helpers {helpers.__version__}: ready. Your numbers are drawn {who}{code}.")
    try:
        kept.own_machine()
    except PageError as problem:
        print(problem)
    if str(learner).strip() or str(class_code).strip():
        print("The questions below show your numbers once their cells have run: choose Run > Run All Cells.")
    return book


def _shell():
    from IPython import get_ipython

    return get_ipython()


class Shown:
    """Markdown for the notebook; the same text where only plain text can be shown."""

    def __init__(self, text):
        self.text = text

    def _repr_markdown_(self):
        return self.text

    def __repr__(self):
        return self.text


def minus(cell):
    """A table's cell with a minus sign before negative numbers, as in the prose; mathematics stays as it is."""
    text = str(cell)
    return text if "$" in text else re.sub(r"(?<![\w.])-(?=\d)", "−", text)


def table(heads, rows):
    """A Markdown table to show: the first column holds words, the others, set to the right, numbers."""
    ruled = "|---|" + "---:|" * (len(heads) - 1)
    lines = (f"| {' | '.join(map(minus, row))} |" for row in rows)
    return Shown("\n".join([f"| {' | '.join(heads)} |", ruled, *lines]))


def quantity_cells(row, *values):
    """Symbol, meaning, unit, default and range of a parameter's `quantities.Row`; `values` in place of its own."""
    symbol = f"${row.symbol}$" if row.symbol else row.name.replace("_", " ")
    shown = ", ".join(minus(with_unit(value, "", 4)) for value in values or (row.value,))
    within = minus(f"{with_unit(row.low, '', 4)} to {with_unit(row.high, '', 4)}")
    return [symbol, row.meaning, pretty(row.unit) or "–", shown, within]


def quantity_table(rows, *more):
    """A table of rows of `quantity_cells`; `more` are heads of what stands behind them."""
    lines = (f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in row)} |" for row in rows)
    heads = ["symbol", "meaning", "unit", "default", "range", *more]
    return Shown("\n".join([f"| {' | '.join(heads)} |", "|---|---|---|---:|---|" + "---|" * len(more), *lines]))


def folded(summary, *parts):
    """Words and things that show themselves as Markdown, in a fold that is closed at first."""
    inside = "\n\n".join(part if isinstance(part, str) else part._repr_markdown_() for part in parts)
    return Shown(f"<details><summary>{summary}</summary>\n\n{inside}\n\n</details>")


LONG = 170  # letters of a formula that may not fit a phone: in a box of its own it scrolls


def derivation(**steps):
    """A derivation for the reader: each sympy expression after its name, in the order given."""
    from sympy.physics.vector.printing import vlatex  # dots for time derivatives

    told = {name.replace("_", " "): vlatex(made) for name, made in steps.items()}
    return Shown("\n\n".join(f"*{name}:* $\\; {made}$" if len(made) < LONG else f"*{name}:*\n\n$$ {made} $$"
                             for name, made in told.items()))  # fmt: skip


def _show(text):
    from IPython.display import display

    display(Shown(text))


_HINTS = ("the idea", "the equation", "the next step")
_KINDS = {
    "": "", "worked": " (worked example)", "gap": " (one gap to fill)", "blank": " (on your own)",
    "open": " (open design)",
}  # fmt: skip


class Book:
    """One opened workbook: its exercises, the learner, and what was answered rightly in this session."""

    def __init__(self, number, learner, exercises):
        self.number, self.learner, self.exercises = number, learner, exercises
        self._predictions, self._right, self._found = {}, {}, {}

    def _find(self, key):
        if key not in self.exercises:
            raise PageError(f"There is no exercise {key!r} here: the keys are {', '.join(self.exercises)}.")
        return self.exercises[key]

    def _choice(self, key):
        exercise = self._find(key)
        if not isinstance(exercise, Choice):
            raise PageError(f"{key!r} has no options to predict from.")
        return exercise, exercise.drawn(self.learner)

    def exercise(self, key):
        """Show an exercise with the learner's own numbers, its hints and its worked solution folded away."""
        exercise = self._find(key)
        n = exercise.drawn(self.learner)
        parts = [
            f"**{key}. {exercise.title}**{_KINDS[exercise.kind]}",
            written(exercise.question, n),
            answer_form(exercise, n),
        ]
        for k, hint in enumerate(exercise.hints):
            name = f": {_HINTS[k]}" if k < len(_HINTS) and isinstance(exercise, Numeric) else ""
            parts.append(folded(f"Hint {k + 1}{name}", written(hint, n)).text)
        solution = exercise.worked(n)
        label = "Model answer" if isinstance(exercise, ShortText) else "Worked solution"
        label += " with your numbers" if exercise.numbers else ""
        if exercise.kind == "worked":
            parts.append(f"{label}:\n\n{solution}")
        else:
            parts.append(folded(label, solution).text)
        _show("\n\n".join(parts))

    recall = exercise  # a question from an earlier workbook is an exercise like any other

    def answer(self, key, *answer, **values):
        """Check an answer and show the verdict: '2.3 Hz', or 2.3, 'Hz', or values by name for a design.

        Of a short text the learner says which ideas it holds: a sentence, and holds='1 3'.
        """
        exercise = self._find(key)
        given = answer[0] if len(answer) == 1 else answer or ...
        if isinstance(exercise, ShortText):
            given = (given, values.pop("holds", ""))
        verdict = check(exercise, values or given, self.learner)
        self._right[key] = verdict.correct or self._right.get(key, False)
        if verdict.found is not None:
            self._found[key] = f"{key}, {verdict.found} of {len(exercise.ideas)} ideas by your own count"
        _show(f"**{key}** {verdict.message}")

    def predict(self, key, choice=""):
        """Commit to an option before the figure shows the result; without a choice, show the options."""
        exercise, n = self._choice(key)
        self._predictions[key] = ""
        if choice in ("", None, ...):
            asked = [f"**Predict. {exercise.title}**", written(exercise.question, n), lettered(exercise, n)]
            _show("\n\n".join([*asked, "No prediction yet: put a letter between the quotes and run the cell."]))
            return
        try:
            option = exercise.option(choice, n)
        except AnswerError as error:
            _show(f"{error}\n\n{lettered(exercise, n)}")
            return
        self._predictions[key] = option
        _show(f"Your prediction is **{n.letters[option]}**: {written(exercise.options[option], n)}")

    def prediction(self, key):
        """The option that the learner committed to, by its name in the exercise and not its letter; '' if none."""
        self._find(key)
        return self._predictions.get(key, "")

    def expect(self, key, choice=""):
        """Say what you expect of a setting of the figure; the reading opens with your answer."""
        exercise, n = self._choice(key)
        question = [f"**{exercise.title}**", written(exercise.question, n), lettered(exercise, n)]
        if choice in ("", None, ...):
            _show("\n\n".join([*question, "Put a letter between the quotes and run the cell: the reading then opens."]))
            return
        verdict = check(exercise, choice, self.learner)
        self._right[key] = verdict.correct or self._right.get(key, False)
        _show("\n\n".join([*question, verdict.message]))

    def decide(self, choice="", number="", unless=""):
        """Take down a decision: the choice, the number that decides it, the condition under which it would change.

        Nobody scores it; it is kept with name and machine, and handed in.
        """
        given = {"choice": choice, "number": number, "unless": unless}
        open_still = [name for name, text in given.items() if not str(text).strip()]
        if open_still:
            _show(
                f"**Your decision** is not complete: {', '.join(open_still)} "
                f"{'is' if len(open_still) == 1 else 'are'} still empty."
            )
            return
        said = {name: " ".join(str(text).split())[:LONGEST_TEXT] for name, text in given.items()}
        kept.keep(decisions=kept.read().get("decisions", {}) | {f"{self.number:02d}": said})
        _show(
            f"**Your decision**: {said['choice']}. What decides it: {said['number']}. "
            f"It would change if: {said['unless']}."
        )

    @property
    def machine(self):
        """The machine of the learner's own, as the last `machine(...)` on any page made it."""
        if not (own := kept.own_machine()):
            raise PageError("No machine of your own is kept yet: machine(...) makes one, on any page.")
        return own

    def hand_in(self, ready=""):
        """Make the zip that the instructor gets, of the saved pages and of what is kept, once `ready` is "yes"."""
        _show(f"**Hand in**: {kept.handed_in(str(ready))}")

    def explain(self, key):
        """Go back to the prediction: what was right or wrong in it, and in the other answers."""
        exercise, n = self._choice(key)
        mine = self.prediction(key)
        said, why = (
            {option: written(text, n) for option, text in texts.items()}
            for texts in (exercise.options, exercise.feedback)
        )
        told = {option: f"**{letter}** ({said[option]}): {why[option]}" for option, letter in n.letters.items()}
        others = [f"- {text}" for option, text in told.items() if option not in (mine, exercise.answer)]
        parts = [f"You predicted {told[mine]}"] if mine else []
        if mine != exercise.answer:
            parts.append(f"What the model shows is {told[exercise.answer]}")
        if others:
            parts += ["Why the other answers fail:", "\n".join(others)]
        text = "\n\n".join(parts)
        # Who has not predicted yet should not read the answer by scrolling past.
        _show(text if mine else f"You made no prediction.\n\n{folded('What the model shows', text)}")

    def parameters(self, *instances):
        """Show the quantities of parameter sets (frozen dataclasses of helpers.models) as one table."""
        from helpers.models.quantities import table as described

        rows = [row for instance in instances for row in described(instance)]
        sources = {row.source for row in rows}
        said_once = len(sources) == 1  # one sentence then says where all of them come from
        cells = [quantity_cells(row) + ([] if said_once else [row.source]) for row in rows]
        told = quantity_table(cells, *([] if said_once else ["source"]))
        _show(f"{told}\n\nSource of every value: {sources.pop()}." if said_once else told.text)

    def progress(self):
        """Print what was answered rightly in this session; short texts, which nobody marks here, apart from it."""
        keys = [key for key in self.exercises if key not in self._predictions]
        marked = [key for key in keys if not isinstance(self.exercises[key], ShortText)]
        right = [key for key in marked if self._right.get(key)]
        still = [key for key in keys if key not in right and key not in self._found]
        print(
            f"Right in this session: {', '.join(right) or 'none yet'} ({len(right)} of {len(marked)})."
            + (f" In your own words: {'; '.join(self._found.values())}." if self._found else "")
            + (f" Still open: {', '.join(still)}." if still else "")
        )
