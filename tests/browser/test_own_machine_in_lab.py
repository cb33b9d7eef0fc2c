"""A learner's machine in a live figure's chooser, and the figure's layouts, in a real JupyterLab."""

import json
import os

import pytest
from lab_server import write_notebook

from helpers.commands.export import export

CELLS = """from helpers.teaching.page import open_workbook
book = open_workbook(1, layout="{layout}")
from helpers.course import bike, carrier, machine
from scenes import w01 as scenes"""
MINE = 'made = machine("barrow", load=48, wheel=3, travel=0.14, sag=0.035, tyre_press=0.009)'


@pytest.fixture
def figure(lab, page, open_workbook, tmp_path):
    """figure(layout, *cells): the live figure of workbook 01, run with a learner's file of its own."""

    def show(layout, *cells):
        told = f"import os\nos.environ['COURSE_LEARNER'] = {str(tmp_path / 'mine.json')!r}\n"
        ready = told + CELLS.format(layout=layout)
        write_notebook(lab.root / f"{layout}.ipynb", ready, *cells, "scenes.trade_off_figure('', (bike, carrier))")
        workbook = open_workbook(f"{layout}.ipynb")
        workbook.run_all()
        page.locator(".live-picture[aria-labelledby]").wait_for()
        page.locator(".live-figure").evaluate("figure => figure.scrollIntoView({ block: 'start' })")
        return workbook

    return show


def width(page):
    """Of the picture in dots: its own, and as shown."""
    return page.locator(".live-picture").evaluate("image => [image.naturalWidth, image.getBoundingClientRect().width]")


def test_a_machine_of_ones_own_on_a_projector_and_a_phone(figure, page, tmp_path, screenshot, browser):
    page.set_viewport_size({"width": 1366, "height": 768})
    workbook = figure("projector", MINE)
    assert json.loads((tmp_path / "mine.json").read_text())["machine"]["name"] == "barrow"
    page.get_by_label("machine").select_option("barrow")
    page.locator(".live-sentence", has_text="the barrow has").wait_for()
    assert width(page)[0] == 1170
    screenshot("own-machine-projector")

    workbook.save()
    (written,) = export([workbook.path], tmp_path / "edition")
    phone = browser.new_context(viewport={"width": 390, "height": 844}, offline=True)
    reader = phone.new_page()
    reader.goto(written.as_uri())
    still = reader.locator("picture img")
    still.scroll_into_view_if_needed()
    assert still.evaluate("image => image.naturalWidth") == 390
    assert still.evaluate("image => image.getBoundingClientRect().width") >= 350
    assert reader.evaluate("document.documentElement.scrollWidth") <= 390
    reader.screenshot(path=f"{os.environ.get('SCREENSHOTS') or tmp_path}/own-machine-phone.png")
    reader.set_viewport_size({"width": 1366, "height": 768})
    assert still.evaluate("image => image.naturalWidth") == 1170
    phone.close()

    figure("narrow")  # another page, where nothing is typed again
    page.keyboard.press("Control+b")  # the list of files away
    page.set_viewport_size({"width": 390, "height": 844})
    page.get_by_label("machine").select_option("barrow")
    page.locator(".live-sentence", has_text="the barrow has").wait_for()
    assert width(page)[0] == 390
    chooser = page.get_by_label("machine").bounding_box()
    assert chooser["width"] > 60 and chooser["x"] + chooser["width"] <= 390
    screenshot("own-machine-narrow")
