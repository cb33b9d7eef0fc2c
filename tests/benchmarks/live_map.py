"""Key press to redrawn map: workbook 06's live map, some hundred rides over a step for each change.

    python tests/benchmarks/live_map.py [presses]

The workbook's own figure in a JupyterLab of its own, driven in headless Chromium: the step's height by arrow key. What
is measured is the last picture that a press brings, and how long the map takes without a browser.
"""

import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests/browser"), str(ROOT / "workbooks")]
from lab_server import CHROMIUM, CHROMIUM_OPTIONS, Workbook, lab_server, write_notebook  # noqa: E402

CELLS = ["from helpers.course import *", "from scenes import w06",
         "w06.map_figure({bike.name: bike}, {'quick chain': real_chain, 'plain chain': real_chain})"]  # fmt: skip
REST = 1500  # ms without a new picture: then the press is done
CLOCK = """() => {
  window.seen = [];
  document.addEventListener('load', event => {
    if (event.target.tagName !== 'IMG' || !event.target.closest('.live-figure')) return;
    event.target.decode().then(() => requestAnimationFrame(() => window.seen.push(performance.now())), () => {});
  }, true);
  document.addEventListener('keydown', () => { window.start = performance.now(); window.seen = []; }, true);
}"""


def in_browser(presses: int) -> list[float]:
    """Milliseconds from each press to the last picture that it brought."""
    scratch = Path(tempfile.mkdtemp())
    root = scratch / "notebooks"
    shutil.copytree(ROOT / "workbooks", root)
    write_notebook(root / "map.ipynb", *CELLS)
    times = []
    with lab_server(root, scratch) as server, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_OPTIONS)
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        Workbook(page, server, "map.ipynb").run_all()
        page.locator(".live-picture").wait_for()
        page.wait_for_timeout(3000)
        page.evaluate(CLOCK)
        for turn in range(presses + 2):  # the first two warm up
            page.locator(".live-figure .noUi-handle").first.focus()
            page.keyboard.press("ArrowRight" if turn % 2 else "ArrowLeft")
            page.wait_for_timeout(REST)
            times.append(page.evaluate("() => window.seen.at(-1) - window.start"))
        browser.close()
    shutil.rmtree(scratch)
    return times[2:]


def without_browser(changes: int) -> list[float]:
    """Milliseconds of computing and drawing for each change."""
    from helpers.course import bike, real_chain
    from scenes import w06

    figure, times = w06.map_figure({bike.name: bike}, dict.fromkeys(("quick chain", "plain chain"), real_chain)), []
    for turn in range(changes + 2):
        began = time.perf_counter()
        figure.update(height_mm=55 if turn % 2 else 50)
        times.append(1e3 * (time.perf_counter() - began))
    return times[2:]


def main(presses: int) -> None:
    for words, times in (
        ("computed and drawn", without_browser(presses)),
        ("key press to last picture", in_browser(presses)),
    ):
        print(f"{words}: median {statistics.median(times):.0f} ms, {min(times):.0f} to {max(times):.0f} ms")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
