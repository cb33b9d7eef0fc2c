"""Fixtures of the browser tests: a JupyterLab of our own and the system's Chromium, driven by Playwright."""

import os
from pathlib import Path

import pytest
from lab_server import CHROMIUM, CHROMIUM_OPTIONS, Workbook, lab_server

WINDOW = {"width": 1280, "height": 1000}
PATIENCE = 120_000  # ms; tells "never" from "later" on a machine that is busy with much else
HERE = Path(__file__).parent


def pytest_collection_modifyitems(items):
    """Mark what is in this folder, so that `-m "not browser"` leaves it out."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser():
    """A headless Chromium; without one these tests are skipped, except where CI=true, where they fail."""
    if CHROMIUM is None:
        reason = "No chromium on this machine: install the system's package to run the browser tests."
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)(reason)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_OPTIONS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def lab(browser, tmp_path_factory):
    """JupyterLab over an empty folder; a test puts its notebooks below `lab.root`."""
    with lab_server(tmp_path_factory.mktemp("notebooks"), tmp_path_factory.mktemp("lab")) as server:
        yield server


@pytest.fixture
def page(browser):
    context = browser.new_context(viewport=WINDOW)
    context.set_default_timeout(PATIENCE)
    yield context.new_page()
    context.close()


@pytest.fixture
def open_workbook(page, lab):
    """open_workbook("name.ipynb") shows a notebook below lab.root."""
    return lambda notebook: Workbook(page, lab, notebook)


@pytest.fixture
def screenshot(page, tmp_path):
    """screenshot("name") writes a picture into SCREENSHOTS, where that is set, or into the test's folder."""

    def take(name):
        folder = os.environ.get("SCREENSHOTS") or tmp_path
        page.screenshot(path=f"{folder}/{name}.png")

    return take
