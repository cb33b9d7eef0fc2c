"""The reading edition in a real browser with the network off, as on a phone on the fell."""

import sys
from pathlib import Path

import nbformat
import pytest
from axe_playwright_python.sync_playwright import Axe

from helpers.commands import export

sys.path.append(str(Path(__file__).resolve().parents[1] / "commands"))
from hostile_sample import write_hostile  # noqa: E402 (another folder of tests)
from reading_sample import write_sample  # noqa: E402

PHONE = {"width": 390, "height": 844}


@pytest.fixture(scope="module")
def edition(tmp_path_factory):
    """The pages of the sample and of every workbook of the course."""
    folder = tmp_path_factory.mktemp("course")
    write_sample(folder)
    root = Path(__file__).resolve().parents[2]
    course = [path for path in sorted((root / "workbooks").glob("*.ipynb")) if nbformat.read(path, 4).cells]
    sample = export.export([folder / "workbooks/00-start.ipynb"], folder / "sample")
    return [*export.export(course, folder / "course"), *sample]


@pytest.fixture
def phone(browser):
    context = browser.new_context(viewport=PHONE, offline=True)
    yield context.new_page()
    context.close()


def test_pages_hold_on_a_phone_offline(phone, edition):
    asked = []
    phone.on("request", lambda request: asked.append(request.url))
    for path in [*edition, edition[0].with_name("index.html"), edition[-1].with_name("index.html")]:
        phone.goto(path.as_uri())
        assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], path.name
        broken = "[...document.images].filter(image => !image.naturalWidth || !image.alt).length"
        assert phone.evaluate(broken) == 0, path.name
        violations = Axe().run(phone).response["violations"]
        assert [(rule["id"], rule["nodes"][0]["html"]) for rule in violations] == [], path.name
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []


def test_a_fold_opens_by_keyboard(phone, edition):
    phone.goto(edition[-1].as_uri())
    fold = phone.locator("details").first
    hidden = fold.locator("p")
    assert not hidden.is_visible()
    fold.locator("summary").focus()
    phone.keyboard.press("Enter")
    assert hidden.is_visible() and hidden.locator("math").bounding_box()["height"] > 5


def test_prints_to_pdf(edition, browser):
    export.print_to_pdf(export.find_browser(), edition[-1])
    assert edition[-1].with_suffix(".pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("policy", [True, False])
def test_a_hostile_notebook_runs_and_loads_nothing(browser, tmp_path, policy):
    """With and without the page's policy: the allow-list alone must do. Every part is clicked as well."""
    (page,) = export.export([write_hostile(tmp_path)], tmp_path / "out")
    if not policy:
        text = page.read_text("utf-8")
        page.write_text(text.replace("http-equiv", "data-off"), "utf-8")
        assert page.read_text("utf-8") != text
    context = browser.new_context(offline=True)
    tab, asked = context.new_page(), []
    tab.on("request", lambda request: asked.append(request.url))
    tab.on("dialog", lambda dialog: asked.append(dialog.message))
    tab.goto(page.as_uri())
    tab.evaluate("for (const part of document.querySelectorAll('*')) part.dispatchEvent(new Event('click'))")
    handlers = "[...document.querySelectorAll('main *')].flatMap(part => [...part.attributes].map(one => one.name))"
    assert not [name for name in tab.evaluate(handlers) if name.startswith("on")]
    assert tab.evaluate("document.querySelectorAll('script, iframe, object, embed, form, base, video').length") == 0
    assert tab.evaluate("window.ran") is None
    assert [url for url in asked if not url.startswith("data:")] == [page.as_uri()]
    context.close()
