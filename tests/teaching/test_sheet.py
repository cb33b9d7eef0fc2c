"""The sheet: one content twice, no text taken for markup, two pages, the same bytes each time, words for pictures."""

import json
import re
import sys
from html.parser import HTMLParser

import pytest

from helpers.control.laws import AccelerationDriven, LinearSkyhook
from helpers.models.machines import MACHINES
from helpers.simulation.specification import Requirements, Specification
from helpers.simulation.verifying import verify
from helpers.teaching.course import PageError
from helpers.teaching.sheet import Part, Picture, Sheet, compiled
from helpers.teaching.specification_sheet import sheet

HOSTILE = '<script>alert(1)</script> #panic() *b* $x$ \\u{41} `raw` @ref "q" & it\'s // not'
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="60" height="20" viewBox="0 0 60 20"><path d="M0 0L60 20"/></svg>'
SHORT = Requirements(sections=("traverse",), coldest=0.0)
BIKE = MACHINES["bike"]
SOUND = Specification(BIKE, AccelerationDriven(firm=1.0), "coil on a pilot", cells=3)
ABSURD = SOUND.changed(law=LinearSkyhook(90_000.0), drive="coil on a poppet", rest=1.0, sample_rate=2.0, latency=0.9,
                       power=0.05, cell="coin", cells=1.0, wheels=8.0)  # fmt: skip


LINE = Picture(SVG, "A line falls.", "A line")


def plain(picture=LINE):
    table = {"heads": ("a", "b"), "rows": ((HOSTILE, "1"), ("two", HOSTILE)), "widths": (2, 1)}
    parts = (Part("One", HOSTILE, **table), Part("Two", points=(HOSTILE,), pictures=(picture,), page=True))
    return Sheet(f"Title {HOSTILE}", HOSTILE, HOSTILE, parts)


class Read(HTMLParser):
    """Text, tags and addresses of a page."""

    def __init__(self, text):
        super().__init__()
        self.texts, self.tags, self.addresses, self.alternatives = [], [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        told = dict(attributes)
        self.tags.append(tag)
        self.addresses += [told[name] for name in ("src", "href") if name in told]
        self.alternatives += [told.get("alt", "")] if tag == "img" else []

    def handle_data(self, data):
        self.texts.append(data)


def test_html_shows_a_text_as_it_is_and_loads_nothing():
    read = Read(plain().html)
    assert "script" not in read.tags and read.texts.count(HOSTILE) == 6
    assert all(address.startswith("data:image/svg+xml;base64,") for address in read.addresses)
    assert read.alternatives == ["A line falls."]
    assert "url(" not in plain().html and '<html lang="en-GB">' in plain().html


def test_pdf_is_the_same_each_time_tagged_and_titled():
    pytest.importorskip("typst")
    first = plain().pdf
    assert first == plain().pdf and first.startswith(b"%PDF-")
    assert b"pdfuaid" in first and b"/MarkInfo" in first and b"/StructTreeRoot" in first and b"/Lang" in first


def test_pdf_refuses_a_picture_without_words():
    typst = pytest.importorskip("typst")
    with pytest.raises(typst.TypstError, match="alt"):
        _ = plain(Picture(SVG, None, "A line")).pdf


def test_without_typst_the_html_is_written_and_one_sentence_told(monkeypatch, tmp_path, capsys):
    monkeypatch.setitem(sys.modules, "typst", None)
    assert plain().save("mine", tmp_path) == ["mine.html"]
    assert "typst is not installed here" in capsys.readouterr().out
    assert (tmp_path / "mine.html").read_text("utf-8") == plain().html


def test_saving_takes_a_plain_name_and_writes_both(tmp_path):
    pytest.importorskip("typst")
    assert plain().save("", tmp_path) == [] and list(tmp_path.iterdir()) == []
    assert plain().save("my-sheet", tmp_path) == ["my-sheet.html", "my-sheet.pdf"]
    for name in ("../mine", "a/b", "x" * 99, ".hidden", "my sheet"):
        with pytest.raises(PageError, match="is no name for a file"):
            plain().save(name, tmp_path)
    assert {path.name for path in tmp_path.iterdir()} == {"my-sheet.html", "my-sheet.pdf"}


LONG = {f"{page:02d}": {"choice": "a long choice " * 30, "number": "12 m/s² " * 50, "unless": HOSTILE * 5}
        for page in range(12)}  # fmt: skip


@pytest.mark.parametrize("spec", [SOUND, ABSURD, Specification(BIKE)], ids=["sound", "absurd", "nothing"])
@pytest.mark.parametrize("decisions", [{}, LONG], ids=["none", "many long ones"])
def test_a_specification_takes_two_pages_and_says_what_failed(spec, decisions):
    found = verify(spec, SHORT, 2)
    made = sheet(found, by=HOSTILE, choice="choice " * 200, unless="unless " * 200, decisions=decisions)
    for check in found.failed:
        assert check.name in made.lead and "FAILS" in made.lead
    rows = next(part.rows for part in made.parts if part.heading == "Checks")
    assert [row[-1] for row in rows] == ["passed" if check.passed else "FAILED" for check in found.checks]
    assert {"Decisions", "Checks", "Assumptions", "Cautions", "What would change the choice"} <= {
        part.heading for part in made.parts}  # fmt: skip
    assert not re.search(r"\bnan\b|\binf\b", made.html[made.html.index("<body>") :].replace("data:image", ""))
    pytest.importorskip("typst")
    pages = compiled(made, "png", ppi=30)
    assert len(pages if isinstance(pages, list) else [pages]) == 2


def test_both_forms_hold_every_text():
    """What stands in the parts stands in the HTML, in its order; the PDF is made of the same parts."""
    made = sheet(verify(SOUND, SHORT, 2), by="Ada", choice="pilot", unless="a lighter cell", decisions={})
    texts = "".join(Read(made.html).texts)
    place = 0
    for part in made.parts:
        for text in (part.heading, part.text, *part.heads, *(cell for row in part.rows for cell in row), *part.points):
            assert text in texts[place:], text
            place = texts.index(text, place)
    assert "Ada" in texts and "a lighter cell" in texts


def test_earlier_decisions_are_taken_over(tmp_path, monkeypatch):
    monkeypatch.setenv("COURSE_LEARNER", str(tmp_path / "kept.json"))
    known = {"choice": "the bike", "number": "0.33 m/s²", "unless": "it is late"}
    told = json.dumps({"decisions": {"03": known, "12": {"choice": "x"}}})
    (tmp_path / "kept.json").write_text(told, encoding="utf-8")
    made = sheet(verify(Specification(BIKE), SHORT, 2))
    rows = next(part.rows for part in made.parts if part.heading == "Decided on earlier pages")
    assert rows == (("03", "the bike", "0.33 m/s²", "it is late"),)
