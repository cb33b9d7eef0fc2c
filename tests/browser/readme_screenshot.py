"""The screenshot in README.md: workbook 00 in JupyterLab on a laptop's screen, its live figure in sight.

    .venv/bin/python tests/browser/readme_screenshot.py [picture]

Runs a copy of the workbooks in a JupyterLab of our own, moves a slider by keyboard, and writes figures/workbook-00.png,
or the file named. Needs what tests/requirements.txt installs, and the system's Chromium.
"""

import io
import shutil
import sys
import tempfile
from pathlib import Path

from lab_server import CHROMIUM, CHROMIUM_OPTIONS, Workbook, lab_server
from PIL import Image
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).resolve().parents[2]
NOTEBOOK = "workbooks/00-start-here.ipynb"
LAPTOP = {"width": 1280, "height": 800}
COLOURS = 128  # a page of text and lines needs no more, and the file stays under 200 kB
SLIDER, PRESSES = "bump threshold (m/s²)", 10  # from the default upwards: the hollow marks then show what it was


def take(picture: Path):
    """Write the screenshot to `picture`."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        course, scratch = Path(folder) / "course", Path(folder) / "scratch"
        shutil.copytree(ROOT / "workbooks", course / "workbooks", ignore=shutil.ignore_patterns(".*", "__pycache__"))
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_OPTIONS)
        with lab_server(course, scratch) as server:
            page = chromium.new_page(viewport=LAPTOP)
            workbook = Workbook(page, server, NOTEBOOK)
            workbook.run_all()
            figure = page.locator(".live-figure").last  # the first is the lesson's opening
            handle = figure.get_by_role("slider", name=SLIDER)
            handle.focus()
            for _ in range(PRESSES):
                handle.press("ArrowRight")
            page.wait_for_timeout(1000)  # the text follows the picture
            figure.evaluate("figure => figure.scrollIntoView({block: 'start'})")
            page.wait_for_timeout(500)
            taken = Image.open(io.BytesIO(page.screenshot()))
        chromium.close()
    taken.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE).save(picture, optimize=True)


if __name__ == "__main__":
    take(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "figures/workbook-00.png")
