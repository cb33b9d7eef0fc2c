"""Numbers that prose, cards and the notes for instructors quote are printed on their page."""

import re

import nbformat
import pytest
from pages import NOTEBOOKS
from quoted import MARKER, astray, loose, printed, quoted, told, values

from helpers.course import bike, fell_loop, own_law, ride
from helpers.teaching.course import workbooks_folder

NOTES = (workbooks_folder() / "for-instructors.md").read_text(encoding="utf-8")
LAW = re.compile(r"^\| `([^`]*)` \| ([\d.]+) \| ([\d.]+) \|$", re.MULTILINE)  # what a learner's law returns and gives


def cells_of(number):
    return nbformat.read(NOTEBOOKS[number], as_version=4).cells


@pytest.mark.parametrize("number", NOTEBOOKS)
def test_prose_with_a_marker_quotes_what_its_cells_print(number):
    cells = cells_of(number)
    sources = printed(number, cells)
    for cell in cells:
        if cell.cell_type == "markdown" and cell.id != "card" and MARKER.search(cell.source):
            assert list(loose(cell.source, sources)) == [], cell.id


@pytest.mark.parametrize("number", NOTEBOOKS)
def test_card_and_its_caption_quote_what_their_cells_print(number):
    cells = cells_of(number)
    card, picture = (next(cell for cell in cells if cell.id == name) for name in ("card", "card-picture"))
    text = f"{card.source}\n{told(picture)}"
    assert MARKER.search(text) or not quoted(text), "name the cells that the card's numbers come from"
    sources = {name: held for name, held in printed(number, cells).items() if name != "card-picture"}
    assert not MARKER.search(text) or list(loose(text, sources)) == []


@pytest.mark.parametrize("number", NOTEBOOKS)
def test_prose_without_a_marker_quotes_what_its_page_prints(number):
    assert set(astray(number, cells_of(number))) == set()


@pytest.mark.parametrize("number", NOTEBOOKS)
def test_each_cell_that_quotes_names_its_sources(number):
    prose = [cell for cell in cells_of(number) if cell.cell_type == "markdown" and cell.id != "further"]
    assert [cell.id for cell in prose if quoted(cell.source) and not MARKER.search(cell.source)] == []


@pytest.mark.parametrize("number", NOTEBOOKS)
def test_notes_for_instructors_quote_what_the_page_prints(number):
    notes = re.search(rf"^## Workbook {number:02d}.*?(?=^## |\Z)", NOTES, re.MULTILINE | re.DOTALL)[0]
    notes = re.sub(r"^\| part \|.*?\n\n", "", notes, flags=re.MULTILINE | re.DOTALL)  # the table of minutes
    notes = LAW.sub("", notes)  # held by the next test
    assert list(loose(notes, printed(number, cells_of(number)))) == []


def test_laws_of_learners_give_what_the_notes_say():
    laws = LAW.findall(NOTES)
    assert len(laws) == 5
    for returned, vibration, dose in laws:
        asked = eval(f"lambda seen: {returned} if seen.body_velocity * seen.suspension_velocity > 0 else 0.0")
        given = ride(bike, fell_loop().descent, own_law(asked))
        assert (f"{given.vibration:.2f}", f"{given.dose:.1f}") == (vibration, dose), returned


def test_an_altered_number_is_found():
    sources = {"ride": values("| 4.46 | −34 | 0.123 | 2·10⁶ |")}
    marked = "It shakes {} and 34 W flow out.\n<!-- numbers from: ride -->"
    assert list(loose(marked.format("4.5"), sources)) == []
    assert list(loose(marked.format("4.4"), sources)) == ["4.4"]
    assert list(loose("From 7 to 34.\n<!-- numbers from: ride; given: 7 -->", sources)) == []
    assert list(loose("34 <!-- numbers from: ride; given: 7 -->", sources)) == ["7 is given but not quoted"]
    assert list(loose("7 <!-- numbers given: 7 -->", sources)) == []
    assert list(loose("34 <!-- numbers from: rode, ride -->", sources)) == ["no cell 'rode'"]


def test_names_are_no_numbers():
    text = "1. ISO 2631-1:1997 and workbooks 00 and 01, E3, point 4, `x = 5`, $k_2^{2}$, Rao (2010): **6.5** to 1200 N"
    found = [(number.text, number.margin, number.digits) for number in quoted(text)]
    assert found == [("6.5", 0.05, 2), ("1200", 50, 2)]


def test_a_number_from_nowhere_is_found():
    heading, prose = nbformat.v4.new_markdown_cell("## Ride"), nbformat.v4.new_markdown_cell("Of 4.5, 99 or 250, 3.")
    ride = nbformat.v4.new_code_cell("ride(250)", outputs=[nbformat.v4.new_output("stream", text="4.46 m/s²")])
    cells = [heading, prose, ride]
    assert list(astray(0, cells)) == [(prose.id, "99")]
    far = [heading, prose, nbformat.v4.new_markdown_cell("## Else"), ride]
    assert list(astray(0, far)) == [(prose.id, "4.5"), (prose.id, "99")]
