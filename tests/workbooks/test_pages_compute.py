"""Pages of the vocabulary compute: each section stands on the first cell alone, and answers a change of its numbers.

Cells run in this process, with the vocabulary compiled and imported once; of a picture its points are compared.
"""

import ast
import contextlib
import io
import math
import re

import pytest
from pages import NOTEBOOKS, Page

import helpers.course as course
from helpers.teaching.course import workbooks_folder
from helpers.teaching.live import LiveFigure

# Where the rule of `changed` takes no number of interest, has none, or the change would take long: (page, cell).
INSTEAD = {
    (0, "parameters-code"): ("vehicle.damping", "2 * vehicle.damping"),
    (0, "four-all"): ("loop.traverse", "loop.climb"),
    (0, "four-dose"): ('by("dose")', 'by("heat")'),
    (0, "four-grip"): ('by("off_ground")', 'by("heat")'),
    (0, "sure-table"): ('"active", "semi-active")', '"active", "plain")'),
    (1, "parameters-code"): ("vehicle.damping", "2 * vehicle.damping"),
    (1, "by-stretch"): ("loop.traverse", "loop.climb"),
    (1, "state-space"): ("k_t * y", "2 * k_t * y"),
    (1, "invariant-point"): ("[1])", "[3])"),
    (1, "own-model"): ("+ c_t *", "+ 2 * c_t *"),
    (1, "robust"): ("loops=6", "loops=1"),
    (1, "robust-table"): ("(carrier, 685, 1212)", "(carrier, 600, 1212)"),
    (1, "mean-squares"): ("[0, 1, 0, -1]", "[0, 1, 0, 0]"),
    (1, "settings"): ("sqrt(2 *", "sqrt(3 *"),
    (2, "point"): ("m_u * omega", "k_t + m_u * omega"),
    (2, "front"): ("350, 2500", "350, 1500"),
    (2, "energy"): ("- k_t * y)", "- 2 * k_t * y)"),
    (2, "loop-table"): ("bike, loop.descent", "bike, loop.traverse"),
    (2, "robust"): ("speeds=(0.8, 1.2)", "speeds=()"),
    (2, "robust-table"): ("carrier, loop.descent, 3e4, 1e3", "carrier, loop.descent, 3e4, 3e3"),
    (3, "curves"): ("open_curve,", "open_curve.scaled(2),"),
    (3, "kept"): ("> 0.1", "> 1"),
    (3, "grip"): ("vehicle.plain()", "vehicle.plain(200)"),
    (3, "delay"): ("(0, 2.5, 5, 10)", "(0, 3)"),
    (3, "ladder"): ("range(1, 13)", "range(1, 2)"),
    (3, "laws"): ("firm=1.0", "firm=0.5"),
    (3, "robust"): ("speeds=(0.8, 1.2)", "speeds=()"),
    (3, "robust-table"): ("carrier, loop.descent, Skyhook(1900)", "carrier, loop.descent, Skyhook(950)"),
    (4, "selector"): ("40, 30, 0.3", "20, 10, 0.3"),
    (4, "legs"): ("(0.15, 0.2)", "(0.15, 0.3)"),
    (4, "changed"): ("> 20:", "> 60:"),
    (4, "robust"): ('"loops": 3', '"loops": 1'),
    (4, "robust-table"): ("Fixed(0), dealers", "Fixed(1), dealers"),
    (5, "budget"): ("(present)", "(present.changed(bus=0.004))"),
    (5, "legs"): ("(0.04,", "(0.02,"),
    (5, "sure"): ("speeds=", "loops=1, speeds="),
    (7, "selector"): ("+ 0.1", "+ 0.4"),
    (7, "pair"): ("> 20", "> 60"),
    (7, "own-wire"): ("lead=0.02", "lead=0.2"),
    (7, "felt"): ("chain=real_chain", "chain=slow"),
    (7, "robust-table"): ("motorcycle, slow", "motorcycle, real_chain"),
    (7, "modes"): ("(2 * np.pi)", "(4 * np.pi)"),
    (8, "price"): ("(5, 40, 100)", "(5, 40, 60)"),
    (8, "fails"): ('power", 1)', 'power", 0.5)'),
    (8, "reversed"): ("0.12, 901", "0.04, 901"),
    (8, "in-hand"): ("(2.4, 3.6)", "(2.4, 6)"),
    (9, "derivation"): ("(1 + o)", "(2 + o)"),
    (9, "bill-table"): ("(offers,", '({"valve": offers["semi-active valve"]},'),
    (9, "range-table"): ("(0.05, 0.5, 0.95)", "(0.1, 0.5, 0.9)"),
    (9, "cold"): ('"years": 3', '"years": 1'),
    (9, "day"): ("hours=6", "hours=9"),
    (9, "drag-table"): ("bike.plain()", "bike.plain(300)"),
    (9, "sure"): ("loops=3", "loops=1"),
    (10, "report"): ("log", "planks"),
    (10, "times"): ("(planks)", "(planks, threshold=60)"),
    (10, "definitions"): ("(planks)", "(planks, threshold=60)"),
    (11, "formula"): ("- yearly", "- 2 * yearly"),
    (11, "parameters-all"): ("rides a year", "rides"),
    (11, "draws"): ("0.05", "0.1"),
    (11, "verdicts"): ("(worth, rider)", "(worth, bren)"),
    (11, "own-machine"): ("load=52", "load=80"),
    (11, "own-year"): ("(2, 4, 8)", "(12, 20, 30)"),
    (11, "sure-table"): ("Fixed(1)", "Fixed(0.5)"),
    (12, "must"): ("calm(bike)", "calm(carrier)"),
    (12, "parameters"): ("(need)", "(need.changed(hours=3))"),
    (12, "verify"): ("rides=500", "rides=32"),
    (12, "verify-table"): ("few[name]", "many[name]"),
    (12, "team-specs"): ("soft=0.1", "soft=0.0"),
    (12, "sure"): ("loops=6, speeds=(0.8, 1.2)", "loops=1, speeds=()"),
}
PAGES = [number for number, path in NOTEBOOKS.items() if "helpers.course import *" in path.read_text("utf-8")]


def changed(source):
    """A cell with its last number half as large again, in whole numbers where it is one; None where it has none."""
    numbers = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Constant)
               and type(node.value) in (int, float)]  # fmt: skip
    if not numbers:
        return None
    last = max(numbers, key=lambda node: (node.lineno, node.col_offset))
    other = math.ceil(1.5 * last.value) if isinstance(last.value, int) else 1.5 * last.value
    lines = source.splitlines(keepends=True)
    row = lines[last.lineno - 1].encode()
    lines[last.lineno - 1] = (row[: last.col_offset] + str(other or 1).encode() + row[last.end_col_offset :]).decode()
    return "".join(lines)


def computes(cell):
    """Whether a code cell is one that computes: neither the first nor one of the book's, and no scene draws it."""
    return cell.id != "ready" and not re.search(r"^book\.|^(?:\w+ = )?scenes\.", cell.source, re.MULTILINE)


class Sections(Page):
    """A page's code cells by section, and a run of them."""

    def __init__(self, number):
        super().__init__(number)
        self.sections = [[]]
        for cell in self.cells:
            if cell.cell_type == "markdown" and re.search(r"^#+ ", cell.source, re.MULTILINE):
                self.sections.append([])
            elif cell.cell_type == "code" and cell.id != "ready":
                self.sections[-1].append(cell)
        self.shown, self.before = {}, {}  # of each cell: what it showed, and the names that it found, its law included

    def fresh(self):
        """The names that the first cell leaves, as in a kernel in which nothing else has run."""
        object.__setattr__(course.my_law, "function", FIRST_LAW)
        return dict(self._names)

    def show(self, source, names):
        """Run a cell: what it shows, as text; of a picture its points."""
        body, told = ast.parse(source).body, io.StringIO()
        last = body.pop() if isinstance(body[-1], ast.Expr) else None
        with contextlib.redirect_stdout(told), contextlib.chdir(workbooks_folder()):  # where a kernel runs it
            exec(compile(ast.Module(body, []), "cell", "exec"), names)
            value = eval(compile(ast.Expression(last.value), "cell", "eval"), names) if last else None
        if isinstance(value, LiveFigure):
            return value.description
        ways = ("_repr_html_", "_repr_markdown_", "__repr__")
        return told.getvalue() + ("" if value is None else next(getattr(value, way)() for way in ways
                                                                if hasattr(value, way)))  # fmt: skip

    def run(self, section):
        names = self.fresh()
        for cell in section:
            self.before[cell.id] = dict(names), course.my_law.function
            self.shown[cell.id] = self.show(cell.source, names)
        return names

    def answers(self, section, cell, source):
        """Whether the section shows something else with another source of a cell; it stops where it first does."""
        if cell.id not in self.before:
            self.run(section)
        names, law = self.before[cell.id]
        names, place = dict(names), section.index(cell)
        object.__setattr__(course.my_law, "function", law)
        return any(self.show(source if other is cell else other.source, names) != self.shown[other.id]
                   for other in section[place:])  # fmt: skip


FIRST_LAW = course.my_law.function


@pytest.fixture(scope="module", params=PAGES)
def page(request):
    yield Sections(request.param)
    object.__setattr__(course.my_law, "function", FIRST_LAW)  # other tests ride it


def test_each_section_stands_on_the_first_cell_alone(page):
    for section in page.sections:
        names = page.run(section)
        taken = [name for name in course.__all__ if names[name] is not getattr(course, name)]
        assert taken == [], "names of the vocabulary that a page takes for something else"


def test_each_computing_cell_answers_a_change(page):
    silent = []
    for section in page.sections:
        for cell in filter(computes, section):
            old, new = INSTEAD.get((page.number, cell.id), ("", ""))
            assert old in cell.source, f"{cell.id}: no {old!r} to change"
            source = cell.source.replace(old, new, 1) if old else changed(cell.source)
            if source is None or not page.answers(section, cell, source):
                silent.append(cell.id)
    assert silent == []


def test_two_cells_of_five_compute(page):
    cells = [cell for section in page.sections for cell in section]
    counted = [cell for cell in cells if not re.match(r"book\.(?:exercise|recall|answer)\(", cell.source)]
    assert sum(map(computes, cells)) >= 0.4 * len(counted)


def test_the_rule_changes_the_last_number():
    assert changed("ride(bike, 3)\nf(x, 1000)  # 5") == "ride(bike, 3)\nf(x, 1500)  # 5"
    assert changed("a = 'µ', 0.5\nb = f'{a:.2f}'") == "a = 'µ', 0.75\nb = f'{a:.2f}'"
    assert changed("a[0]") == "a[1]" and changed("print('7')") is None
