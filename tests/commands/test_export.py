"""The reading edition: mathematics, links and pictures that need neither network nor kernel."""

import re
from html.parser import HTMLParser

import pytest
from reading_sample import write_sample

from helpers.commands import export as module
from helpers.commands.environment import CommandError
from helpers.commands.reading import mathml, typeset


@pytest.fixture(scope="module")
def edition(tmp_path_factory):
    """The folder that `export` wrote for the sample."""
    folder = tmp_path_factory.mktemp("course")
    write_sample(folder)
    assert module.run(folder, [str(folder / "out")]) == 0
    return folder / "out"


@pytest.fixture(scope="module")
def page(edition):
    return (edition / "00-start.html").read_text("utf-8")


class Addresses(HTMLParser):
    """What a page asks for when it is opened or a link in it is followed."""

    def __init__(self, text):
        super().__init__()
        self.found = []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.found += [value for name, value in attributes if name in ("src", "href", "data", "srcset")]
        assert tag not in ("script", "iframe", "object")


def test_nothing_is_fetched(edition):
    for path in edition.glob("*.html"):
        for address in Addresses(path.read_text("utf-8")).found:
            assert address.startswith(("data:", "#")) or (edition / address.split("#")[0]).exists(), address
        assert not re.search(r"@import|url\(", path.read_text("utf-8"))


def test_page_says_what_it_is(page, edition):
    assert '<html lang="en-GB">' in page and "<title>Why is one setting wrong at c_0?</title>" in page
    index = (edition / "index.html").read_text("utf-8")
    assert re.findall(r'<a href="(.*?)">(.*?)</a>', index) == [
        ("00-start.html", "Why is one setting wrong at c_0?"),
        ("01-next.html", "What follows?"),
    ]


def test_mathematics_is_mathml_and_money_is_not(page):
    text = re.sub(r"<math.*?</math>|<code.*?</code>|<pre.*?</pre>", "", page, flags=re.DOTALL)
    assert "5 $" in text and text.count("$") == 1 and "\\" not in text
    assert page.count("<math") == 7 and 'class="matrix"' in page


def test_folds_keep_what_they_fold(page):
    """A renderer that closes <details> before its text would show every hint."""
    folds = re.findall(r"<details>(.*?)</details>", page, re.DOTALL)
    assert len(folds) == 2 and all("<math" in fold for fold in folds)


def test_pictures_are_inside_and_have_words(page):
    images = re.findall(r"<img[^>]*>", page)
    assert len(images) == 2 and all('src="data:image/png;base64,' in image for image in images)
    assert 'alt="A line rises."' in page and 'alt="a wheel"' in page


def test_tables_scroll_in_their_own_box(page):
    assert page.count("<table") == len(re.findall(r'<div class="wide" tabindex="0"><table', page)) == 2


@pytest.mark.parametrize(
    ("latex", "parts"),
    [
        (r"\frac{a}{b}", ["<mfrac>"]),
        (r"\begin{aligned} a &= b \\ c &= d \end{aligned}", ["<mtable", "<mtr>"]),
        (r"\begin{equation} a = b \end{equation}", ["<mi>a</mi>"]),
        (r"\mathrm{d}t", ["<mtext>d</mtext>"]),
        (r"\begin{pmatrix} a \\ b \end{pmatrix}", ['<mtable class="matrix">']),
    ],
)
def test_latex_of_the_course_is_known(latex, parts):
    converted = mathml(latex, block=True)
    assert all(part in converted for part in parts) and "&</" not in converted and "<code>" not in converted


def test_latex_that_cannot_be_converted_is_shown_as_it_is():
    assert mathml(r"a_b_c < 1", block=False) == "<code>a_b_c &lt; 1</code>"


def test_only_text_is_typeset():
    prose = "<a title='$x$'>5 $ and 6 $</a> <code>$x$</code>"
    assert typeset(prose) == prose
    assert typeset("a $x$.").startswith("a <math")


def test_pdf_without_a_browser_says_what_to_install(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "find_browser", lambda: None)
    with pytest.raises(CommandError, match="install Chromium"):
        module.run(tmp_path, ["--pdf"])
