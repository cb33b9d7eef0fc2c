"""Key press to painted picture: the live figure, `interact` and a bare canvas, side by side in one JupyterLab.

    python tests/benchmarks/live_figure.py [presses]

The same four lines of 2000 points at 900 x 400 pixels four ways, driven in turns in headless Chromium. The floor of
a picture is the same one made ahead: the way to the kernel and back, and the browser's to show it.
"""

import shutil
import statistics
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "browser"))
from lab_server import CHROMIUM, CHROMIUM_OPTIONS, Workbook, lab_server, write_notebook  # noqa: E402

WAYS = {
    "live": "live figure",
    "interact": "interact, inline figure",
    "image": "pictures made ahead (floor of a picture)",
    "canvas": "bare canvas, no axes, no text",
}
CELLS = ["import live_figure_ways as ways", "ways.live()", "ways.interact()", "ways.image()", "ways.canvas()"]

# One clock for all ways: from the key's event to the frame after the picture changed.
CLOCK = """() => {
  window.seen = [];
  const painted = (way) => requestAnimationFrame(() => {
    const after = new MessageChannel();
    after.port1.onmessage = () => {
      window.seen.push([way, performance.now()]);
      if (window.wanted === way) window.answer(performance.now() - window.start);
    };
    after.port2.postMessage(0);
  });
  const cells = [...document.querySelectorAll('.jp-Notebook .jp-CodeCell')].slice(1);
  const [live, interact, image, canvas] = cells.map(cell => cell.querySelector('.jp-OutputArea'));
  document.addEventListener('load', event => {
    if (event.target.tagName !== 'IMG') return;
    const way = live.contains(event.target) ? 'live' : interact.contains(event.target) ? 'interact'
      : image.contains(event.target) ? 'image' : '';
    if (way) event.target.decode().then(() => painted(way), () => {});  // refused if another picture came meanwhile
  }, true);
  canvas.addEventListener('drawn', () => painted('canvas'));
  document.addEventListener('keydown', () => { window.start = performance.now(); }, true);
  document.addEventListener('pointermove', () => { window.moved = performance.now(); }, true);
}"""


def press(page, way: str, number: int) -> float:
    """Milliseconds from one press of an arrow key on the way's slider to its painted picture."""
    ready(page, number).focus()
    page.evaluate(
        """way => { window.wanted = way;
                               window.answered = new Promise(done => { window.answer = done; }); }""",
        way,
    )
    page.keyboard.press("ArrowRight")
    time = page.evaluate("() => window.answered")
    page.wait_for_timeout(300)  # until what this press left to do is done
    return time


def ready(page, number: int):
    """The slider handle of a way, its picture in view."""
    cell = page.locator(".jp-Notebook .jp-CodeCell").nth(1 + number)
    cell.evaluate("cell => cell.scrollIntoView({ block: 'start' })")
    return cell.locator(".noUi-handle").first


def drag(page, number: int, moves: int = 80) -> tuple[float, int]:
    """Drag the slider of a way there and back; last move to last picture in ms, and pictures after that move."""
    box = ready(page, number).bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.evaluate("() => { window.seen = []; }")
    for move in range(moves):
        page.mouse.move(x + 1.5 * (move if move < moves / 2 else moves - move), y)
        page.wait_for_timeout(8)
    page.wait_for_timeout(600)
    times = page.evaluate("() => window.seen.map(entry => entry[1] - window.moved)")
    page.mouse.up()
    page.wait_for_timeout(300)
    return max(times), sum(time > 0 for time in times)


def main(presses: int) -> None:
    scratch = Path(tempfile.mkdtemp())
    root = scratch / "notebooks"
    root.mkdir()
    shutil.copy(HERE / "live_figure_ways.py", root)
    write_notebook(root / "ways.ipynb", *CELLS)
    with lab_server(root, scratch) as server, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_OPTIONS)
        page = browser.new_page(viewport={"width": 1400, "height": 800})
        Workbook(page, server, "ways.ipynb").run_all()
        page.locator(".jp-CodeCell canvas").wait_for()
        page.wait_for_timeout(1500)
        page.evaluate(CLOCK)
        times = {way: [] for way in WAYS}
        for turn in range(presses + 3):  # the first three warm up
            order = list(enumerate(WAYS))
            for number, way in order[turn % 4 :] + order[: turn % 4]:
                time = press(page, way, number)
                if turn >= 3:
                    times[way].append(time)
        drags = [drag(page, 0) for _ in range(5)]
        browser.close()
    shutil.rmtree(scratch)
    report(times, drags)


def report(times: dict, drags: list) -> None:
    medians = {way: statistics.median(values) for way, values in times.items()}
    print(f"{'way':40} {'median':>9} {'quarter':>9} {'three q.':>9} {'x image':>8} {'x canvas':>9} {'x interact':>11}")
    for way, name in WAYS.items():
        low, middle, high = statistics.quantiles(times[way], n=4)
        ratios = [middle / medians[other] for other in ("image", "canvas", "interact")]
        print(
            f"{name:40} {middle:6.1f} ms {low:6.1f} ms {high:6.1f} ms "
            f"{ratios[0]:8.2f} {ratios[1]:9.2f} {ratios[2]:11.2f}"
        )
    last = [time for time, _ in drags]
    print(
        f"Dragging: last picture {statistics.median(last):.0f} ms after the last move (at most {max(last):.0f} ms), "
        f"at most {max(count for _, count in drags)} pictures after it."
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
