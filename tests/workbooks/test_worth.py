"""Workbook 11's card shows what its page draws, and its riders get three different verdicts."""

import re

import nbformat
from pages import NOTEBOOKS, Page
from quoted import told

from helpers.models import economics


def cell(name):
    return told(next(cell for cell in nbformat.read(NOTEBOOKS[11], as_version=4).cells if cell.id == name))


def test_the_card_shows_the_pages_draws():
    Page(11)
    from scenes import w11

    found = re.findall(r"(\w+): (-?\d+) to (-?\d+) euro a year, middle (-?\d+)", cell("draws"))
    drawn = {who: (int(low), int(middle), int(high)) for who, low, high, middle in found}
    shown = {who: bars[:3] for who, bars in w11.CARD_BARS.items()}
    assert drawn.keys() == shown.keys()
    assert all(abs(a - b) <= 10 for who in shown for a, b in zip(shown[who], drawn[who], strict=True))
    words = dict(re.findall(r"(\w+): (yes|no|it depends)", cell("verdicts")))
    assert words == {who: bars[3] for who, bars in w11.CARD_BARS.items()} and set(words.values()) == {
        "yes", "no", "it depends"
    }  # fmt: skip


def test_the_pages_hours_are_the_parts_that_its_figure_draws():
    """By hand for Ilka: 150 rides of 12 changes of 7 s, half counted, and 45 minutes uphill in each."""
    page = Page(11)
    ilka, hours, worth = (page._names[name] for name in ("ilka", "hours", "worth"))
    middle = economics.likely(ilka)
    year = {name: value for name, value in middle.items() if name not in ("hour", "price", "years", "resale", "upkeep")}
    by_hand = 150 * 12 * 7 * 0.5 / 3600 + 150 * 45 * 60 * (0.4 / 200 - 0.35 / 90) / 3600 - 0.8
    assert abs(hours(**year) - by_hand) < 1e-12
    payment = 0.04 / (1 - 1.04**-6)
    cost = (1050 - 0.15 * 1050 / 1.04**6) * payment + 45
    assert abs(worth(**middle) - (200 * by_hand - cost)) < 1e-9
