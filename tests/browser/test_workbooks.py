"""Workbooks in a real JupyterLab: worked through by keyboard, read by axe-core, kept when saved."""

import re
import shutil

import nbformat
import pytest
from axe_playwright_python.sync_playwright import Axe

from helpers.teaching.course import exercises_of, workbooks_folder
from helpers.teaching.exercises import Learner

NOTEBOOKS = sorted(path.name for path in workbooks_folder().glob("[0-9][0-9]-*.ipynb"))
LAPTOP = {"width": 1366, "height": 768}  # a small screen; JupyterLab keeps its menu, tabs, toolbar and bars in it
OUTPUTS = ".jp-Notebook .jp-OutputArea"  # JupyterLab's own frame and editors have findings of their own


@pytest.fixture
def workbook(request, lab, open_workbook):
    """A workbook of the course, opened from a copy."""
    shutil.copytree(workbooks_folder(), lab.root, dirs_exist_ok=True, ignore=shutil.ignore_patterns("__pycache__"))
    return open_workbook(request.param)


def what_live_figures_need(path):
    """Places among the code cells of the first one, of those with a live figure, and of those before it in its section.

    Returns (all of them, those with a live figure).
    """
    needed, live, section, place = [0], [], [], 0
    for cell in nbformat.read(path, as_version=4).cells:
        if cell.cell_type == "markdown" and re.search(r"^#+ ", cell.source, re.MULTILINE):
            section = []
        elif cell.cell_type == "code":
            section.append(place)
            if "book.prediction(" in cell.source or re.search(r"\blive\(", cell.source):
                live.append(place)
                needed += section
                section = []
            place += 1
    return sorted(set(needed)), live


def type_into(page, workbook, old, new):
    """Select the text `old` in its cell, type `new` over it by keyboard, and run the cell with Shift+Enter."""
    cells = workbook.area.locator(".jp-CodeCell")
    found = next(k for k, text in enumerate(cells.all_inner_texts()) if old in text)
    cell = cells.nth(found)  # by its place: its text is about to change
    cell.scroll_into_view_if_needed()
    line = cell.locator(".cm-line", has_text=old).first
    line.click()
    page.keyboard.press("Home")
    text = line.inner_text()
    for _ in range(text.index(old)):
        page.keyboard.press("ArrowRight")
    page.keyboard.down("Shift")
    for _ in old:
        page.keyboard.press("ArrowRight")
    page.keyboard.up("Shift")
    page.keyboard.insert_text(new)
    page.keyboard.press("Shift+Enter")
    return cell


@pytest.mark.parametrize("workbook", ["00-start-here.ipynb"], indirect=True)
def test_the_first_workbook_from_start_to_a_checked_answer(workbook, page, screenshot):
    """The whole page run, then the prediction, a slider, a wrong answer and the right one, all by keyboard; saved, the
    answers are there.
    """
    workbook.run_all()
    cell = type_into(page, workbook, 'book.predict("P", "")', 'book.predict("P", "b")')
    cell.locator(".jp-OutputArea", has_text="Your prediction is b").wait_for()
    figure = workbook.area.locator(".jp-CodeCell", has_text="scenes.comparison_figure").first
    figure.locator(".cm-content").first.focus()
    page.keyboard.press("Shift+Enter")
    slider = figure.get_by_role("slider", name="bump threshold (m/s²)")
    slider.wait_for(timeout=30_000)
    before = figure.locator(".live-sentence").inner_text()
    for _ in range(12):
        slider.press("ArrowRight")
    page.wait_for_function(
        "([sentence, before]) => sentence.innerText !== before",
        arg=[figure.locator(".live-sentence").element_handle(), before],
    )
    screenshot("workbook-00-live")
    exercise = exercises_of(0)["E3"]
    n = exercise.drawn(Learner("", "", 0))
    wrong = f"{-exercise.answer(n):.4g} N"
    cell = type_into(page, workbook, 'book.answer("E3", "")', f'book.answer("E3", "{wrong}")')
    cell.locator(".jp-OutputArea", has_text="wheel minus body").wait_for()
    right = f"{exercise.answer(n):.4g} N"
    cell = type_into(page, workbook, f'book.answer("E3", "{wrong}")', f'book.answer("E3", "{right}")')
    cell.locator(".jp-OutputArea", has_text="Right").wait_for()
    screenshot("workbook-00-answer")
    workbook.save()
    saved = workbook.path.read_text(encoding="utf-8")
    assert f'book.answer(\\"E3\\", \\"{right}\\")' in saved
    assert 'book.predict(\\"P\\", \\"b\\")' in saved


@pytest.mark.parametrize("workbook", NOTEBOOKS, indirect=True)
def test_a_page_fits_a_laptop_and_axe_finds_nothing_serious_in_it(workbook, page, screenshot):
    """As stored, with its live figures run; each cell runs in `nbval`'s turn."""
    needed, live = what_live_figures_need(workbook.path)
    workbook.run(needed)
    for place in live:
        workbook.cell(place).locator(".live-picture[aria-labelledby]").first.wait_for()
    page.set_viewport_size(LAPTOP)
    page.wait_for_timeout(300)
    room = page.evaluate("document.querySelector('.jp-WindowedPanel-outer').clientHeight")
    for figure in page.locator(".live-figure").all():  # controls, picture and sentence in one view
        assert figure.bounding_box()["height"] <= room, f"{room} px are there"
    found = Axe().run(page, context=OUTPUTS).response["violations"]
    serious = [(f["id"], f["nodes"][0]["html"][:200]) for f in found if f["impact"] in ("serious", "critical")]
    assert serious == []
    assert "rror displaying widget" not in workbook.area.inner_text()
    assert workbook.area.locator(".jp-RenderedText[data-mime-type='application/vnd.jupyter.stderr']").count() == 0
    assert workbook.area.locator(".jp-RenderedText[data-mime-type='application/vnd.jupyter.error']").count() == 0
    screenshot(f"{workbook.path.stem}-end")
