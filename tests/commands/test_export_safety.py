"""The reading edition of a notebook that comes from anybody: nothing runs, loads, or shows a file of the machine."""

import base64
import json
import os
import re
from html.parser import HTMLParser

import nbformat
import pytest
from hostile_sample import DOT, RUN, SECRET, write_hostile
from nbformat.v4 import new_markdown_cell, new_notebook

from helpers.commands import export as module
from helpers.commands import sanitising
from helpers.commands.environment import CommandError
from helpers.commands.sanitising import Course, clean


@pytest.fixture(scope="module")
def edition(tmp_path_factory):
    """The folder that `export` wrote for the hostile course."""
    root = tmp_path_factory.mktemp("hostile")
    write_hostile(root)
    assert module.run(root, [str(root / "out/deeper")]) == 0
    return root / "out/deeper"


class Tags(HTMLParser):
    """Every start tag of a page with its attributes, and its text."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.text = [], ""
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, attributes))

    def handle_data(self, data):
        self.text += data


@pytest.fixture(scope="module")
def page(edition):
    text = (edition / "00-hostile.html").read_text("utf-8")
    assert text.count("<main>") == 1 and text.count("</main>") == 1
    return Tags(text.split("<main>")[1].split("</main>")[0])


def test_only_allowed_tags_and_attributes(page):
    allowed = {*sanitising.PROSE, *sanitising.MATHS, *sanitising.DRAWN}
    assert {tag for tag, _ in page.tags} <= {tag.lower() for tag in allowed}
    names = {name for _, attributes in page.tags for name, _ in attributes}
    assert not {name for name in names if name.startswith("on")}
    assert names.isdisjoint({"action", "formaction", "srcset", "srcdoc", "xlink:href", "ping", "poster", "data"})


def test_addresses_are_pictures_inside_or_pages_that_are_asked_for(page):
    for tag, attributes in page.tags:
        told = dict(attributes)
        if tag == "img":
            assert re.match(r"data:image/(png|svg\+xml);base64,", told["src"])
        else:
            assert "src" not in told
        address = told.get("href", "#")
        assert address.startswith(("#", "https://example.org/")) or address == "data/road.csv", address


def test_styles_cannot_load_or_cover_the_page(page):
    styles = ";".join(dict(attributes).get("style", "") for _, attributes in page.tags)
    assert {style.split(":")[0].strip() for style in styles.split(";")} == {"", "text-align", "color"}


def test_the_words_are_kept(page):
    for n in range(40):
        assert f"Sentence {n}." in page.text
    for told in ("a page elsewhere", "folded", "styled", "in words", "a widget", "broken"):
        assert told in page.text
    assert page.text.count(RUN) < 20  # as text: of code cells, of what was printed


def test_no_file_from_outside_and_only_the_data_that_was_linked(edition):
    written = {str(path.relative_to(edition.parent)) for path in edition.parent.rglob("*") if path.is_file()}
    assert written == {f"deeper/{name}" for name in ("00-hostile.html", "index.html", "data/road.csv")}
    assert {path.name for path in edition.parents[1].iterdir()} == {"workbooks", "out", "secret.png", "secret.csv"}
    text = (edition / "00-hostile.html").read_text("utf-8")
    assert base64.b64encode(DOT).decode() in text
    for secret in (SECRET, base64.b64encode(SECRET.encode()).decode(), base64.b64encode(b"root:x:0").decode()):
        assert secret not in text


def test_titles_are_text(edition):
    for name in ("00-hostile.html", "index.html"):
        text = (edition / name).read_text("utf-8")
        assert "<script" not in text.split("<main>")[0]
    assert "<script" not in (edition / "index.html").read_text("utf-8")


def test_the_policy_forbids_what_might_slip_through(edition):
    text = (edition / "index.html").read_text("utf-8")
    assert "Content-Security-Policy" in text and "default-src 'none'" in text and "script-src" not in text


def test_cleaning_twice_changes_nothing(edition, tmp_path):
    """What is parsed again stays what it is: no second reading makes another tag of it."""
    body = (edition / "00-hostile.html").read_text("utf-8").split("<main>")[1].split("</main>")[0]
    course = Course(edition, [])
    once = clean(body, course)
    assert clean(once, course) == once
    assert [tag for tag, _ in Tags(once).tags] == [tag for tag, _ in Tags(body).tags]


def test_own_markup_is_left_as_it_is(tmp_path):
    for kept in (
        '<svg viewBox="0 0 9 9" role="img" aria-label="a spring"><path d="M0 0" stroke="#000"></path></svg>',
        '<math display="block"><mfrac><mi mathvariant="normal">a</mi><mo stretchy="false">(</mo></mfrac></math>',
        '<table class="dataframe"><tbody><tr><td style="text-align: right;">5 &lt; 6 &amp; 7</td></tr></tbody></table>',
        "<details open><summary>Hint</summary><p>a &nbsp;b</p></details>",
    ):
        assert clean(kept, Course(tmp_path, [])) == kept


# --- notebooks that are none ---------------------------------------------------------------------------------------

GOOD = new_notebook(cells=[new_markdown_cell("# What follows?")])
CONFLICT = '{\n "cells": [\n<<<<<<< ours\n  {},\n=======\n  {}\n>>>>>>> theirs\n ]}'
INSIDE = nbformat.writes(new_notebook(cells=[new_markdown_cell("a\n<<<<<<< HEAD\nb\n=======\nc\n>>>>>>> x\n")]))
WHOLE = nbformat.writes(GOOD)
BROKEN = {
    "merge marks": (CONFLICT.encode(), "holds the marks of a merge that was not finished"),
    "merge marks within a cell": (INSIDE.encode(), "holds the marks of a merge that was not finished"),
    "cut short": (WHOLE[: len(WHOLE) // 2].encode(), "is not a whole notebook"),
    "empty": (b"", "is not a whole notebook"),
    "no notebook": (b"[1, 2]", "is not a whole notebook"),
    "other fields": (b'{"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": 7}', "is not a whole notebook"),
    "a later format": (json.dumps({**GOOD, "nbformat": 9}).encode(), "is not a whole notebook"),
    "an output of no kind": (
        WHOLE.replace('"markdown"', '"code"').encode(), "is not a whole notebook",
    ),
    "deeply nested": (b"[" * 100_000, "is not a whole notebook"),
    "Latin text": (WHOLE.replace("What", "Wh\xe4t").encode("latin-1"), "is not text in UTF-8"),
    "UTF-16": (WHOLE.encode("utf-16"), "is not text in UTF-8"),
}  # fmt: skip


@pytest.fixture
def course(tmp_path):
    """A course of one sound notebook, and an edition of it from before."""
    (tmp_path / "workbooks").mkdir()
    nbformat.write(GOOD, tmp_path / "workbooks/00-good.ipynb")
    module.run(tmp_path, [str(tmp_path / "out")])
    nbformat.write(new_notebook(cells=[new_markdown_cell("# Another?")]), tmp_path / "workbooks/00-good.ipynb")
    return tmp_path


def refusal(course):
    """The sentence for the course; the edition from before is untouched."""
    before = {path: path.read_bytes() for path in (course / "out").iterdir()}
    with pytest.raises(CommandError) as refused:
        module.run(course, [str(course / "out")])
    assert {path: path.read_bytes() for path in (course / "out").iterdir()} == before
    told = str(refused.value)
    assert "\n" not in told and told.endswith("nothing was written.")
    return told


@pytest.mark.parametrize("kind", BROKEN)
def test_a_broken_notebook_is_named_and_nothing_is_written(course, kind):
    content, reason = BROKEN[kind]
    (course / "workbooks/01-broken.ipynb").write_bytes(content)
    assert refusal(course).startswith(f"01-broken.ipynb {reason}")


def test_a_huge_notebook_is_not_read(course):
    with (course / "workbooks/01-huge.ipynb").open("wb") as file:
        file.truncate(3_000_000_000)
    assert "01-huge.ipynb has 3000 MB and at most 20 are allowed" in refusal(course)


def test_a_notebook_that_is_a_link_or_no_file(course):
    path = course / "workbooks/01-odd.ipynb"
    nbformat.write(GOOD, course / "elsewhere.ipynb")
    made = [lambda: path.symlink_to(course / "elsewhere.ipynb"), lambda: path.symlink_to(path), path.mkdir]
    made += [lambda: os.mkfifo(path)] if hasattr(os, "mkfifo") else []
    for make in made:
        make()
        assert "01-odd.ipynb is not a file of its own in the workbooks folder" in refusal(course)
        path.rmdir() if path.is_dir() and not path.is_symlink() else path.unlink()


def test_what_a_converter_cannot_do_is_one_sentence(course, monkeypatch):
    def fail(*_, **__):
        raise RecursionError("too deep")

    monkeypatch.setattr(module.ReadingExporter, "from_notebook_node", fail)
    assert "00-good.ipynb cannot be made into a page (RecursionError)" in refusal(course)
