"""The live figure in a real JupyterLab: by keyboard, with its names, and as a still without a kernel."""

import shutil
from pathlib import Path

import pytest
from lab_server import LAB_CONFIG, write_notebook

NOTEBOOK = "swing.ipynb"
OUTPUTS = ".jp-Notebook .jp-OutputArea"  # JupyterLab's own frame has findings of its own


@pytest.fixture
def swing(lab, page, open_workbook):
    """The demonstration figure, run and ready."""
    shutil.copy(Path(__file__).with_name("demo_figure.py"), lab.root)
    write_notebook(lab.root / NOTEBOOK, "from demo_figure import demo", "demo()")
    workbook = open_workbook(NOTEBOOK)
    workbook.run_all()
    page.locator(".live-picture[aria-labelledby]").wait_for()
    return workbook


def shown(page) -> dict:
    return {
        "picture": page.locator(".live-picture").get_attribute("src"),
        "sentence": page.locator(".live-sentence").inner_text().strip(),
        "box": page.get_by_label("damping ratio").first.input_value(),
    }


def press(page, key, wait_for):
    page.get_by_role("slider", name="damping ratio").press(key)
    page.locator(".live-sentence", has_text=wait_for).wait_for()
    page.wait_for_timeout(200)


def pixels(page) -> str:
    """The picture's content: its address changes with every message."""
    return page.locator(".live-picture").evaluate("""picture => {
      const canvas = Object.assign(document.createElement('canvas'),
                                   { width: picture.naturalWidth, height: picture.naturalHeight });
      canvas.getContext('2d').drawImage(picture, 0, 0);
      return canvas.toDataURL();
    }""")


def test_arrow_keys_change_picture_sentence_and_number_box(swing, page, screenshot):
    start, first = shown(page), pixels(page)
    assert start["box"] == "0.35" and "0.35" in start["sentence"]
    press(page, "ArrowRight", "ratio of 0.40")
    assert shown(page)["box"] == "0.4" and pixels(page) != first
    screenshot("live-figure")
    page.get_by_role("button", name="Reset").press("Enter")
    page.locator(".live-sentence", has_text="0.35").wait_for()
    page.wait_for_timeout(200)
    assert pixels(page) == first and shown(page)["sentence"] == start["sentence"] and shown(page)["box"] == "0.35"
    assert "rror displaying widget" not in swing.area.inner_text()


def test_number_box_choice_and_error(swing, page):
    box = page.get_by_label("damping ratio").first
    box.fill("0.7")
    box.press("Enter")
    page.locator(".live-sentence", has_text="0.70").wait_for()
    assert page.get_by_role("slider", name="damping ratio").get_attribute("aria-valuetext") == "0.7"
    first = pixels(page)
    page.get_by_label("released at").select_option("10 mm")
    page.wait_for_timeout(500)
    assert pixels(page) != first
    last = pixels(page)
    page.get_by_role("slider", name="natural frequency (Hz)").press("End")
    page.get_by_role("slider", name="damping ratio").press("End")
    refusal = "Not drawn, the last picture stays: damping ratio 0.95 at 3.0 Hz"
    page.locator(".live-sentence", has_text=refusal).wait_for()
    assert pixels(page) != last  # the step before was drawn
    page.get_by_role("slider", name="damping ratio").press("Home")
    page.locator(".live-sentence", has_text="ratio of 0.05").wait_for()


def test_axe_finds_nothing_serious_and_every_part_has_its_name(swing, page):
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, context=OUTPUTS).response["violations"]
    assert [f["id"] for f in found if f["impact"] in ("serious", "critical")] == []
    assert page.get_by_role("img", name="At a damping ratio of 0.35 the travel falls").count() == 1
    assert page.locator('.live-sentence [aria-live="polite"]').count() == 1


@pytest.mark.skipif(not LAB_CONFIG.exists(), reason="no configuration that keeps stills when saving")
def test_a_saved_copy_shows_its_still_before_anything_runs(swing, page, lab, open_workbook, screenshot):
    press(page, "ArrowRight", "ratio of 0.40")
    swing.save()
    assert page.locator(".live-picture").count() == 1  # saving leaves the open page live
    for session in lab.ask("sessions"):
        lab.ask(f"sessions/{session['id']}", method="DELETE")
    shutil.copy(swing.path, swing.path.with_name("copy.ipynb"))  # a copy from elsewhere: not trusted
    open_workbook("copy.ipynb")
    still = page.locator(f"{OUTPUTS} img")
    still.wait_for()
    assert still.get_attribute("alt").startswith("At a damping ratio of 0.35 the travel falls to")
    assert still.evaluate("image => image.complete && image.naturalWidth") == 900
    assert "odel not found" not in page.locator(".jp-Notebook").inner_text()
    screenshot("live-figure-still")
