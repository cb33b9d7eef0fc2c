"""A sheet of paper: one content, written as HTML that needs nothing else and as PDF for print and for screen readers.

The PDF is made by typst from a template that reads the content as data, so no text of a learner's is ever taken for
markup; tagged as PDF/UA-1, without a date, so that the same content gives the same bytes.
"""

import base64
import io
import json
import re
from dataclasses import asdict, dataclass
from html import escape
from pathlib import Path

import matplotlib

from helpers.teaching.course import PageError, workbooks_folder

TEMPLATE = Path(__file__).with_name("sheet.typ")
STYLE = """
body { font: 10pt/1.35 "DejaVu Sans", Verdana, sans-serif; color: #222; max-width: 52rem; margin: 1rem auto;
  padding: 0 1rem }
h1 { font-size: 1.5rem; margin: 0 } h2 { font-size: 1.05rem; border-bottom: 2px solid #222; margin: 1.1rem 0 .4rem }
table { border-collapse: collapse; width: 100%; font-size: .88rem } th, td { text-align: left; vertical-align: top;
  padding: .15rem .5rem .15rem 0; border-bottom: 1px solid #bbb; overflow-wrap: anywhere }
ul { margin: .3rem 0; padding-left: 1.1rem } .lead { font-weight: bold } figure { margin: .5rem 0 }
.wide { overflow-x: auto } figure img { max-width: 100% } figcaption { font-size: .85rem }
.pair { display: flex; flex-wrap: wrap; gap: 1rem } .pair figure { flex: 1 1 18rem }
.short { white-space: nowrap }
@page { margin: 10mm }
@media print { html { font-size: 12px } body { font-size: 8pt; margin: 0; padding: 0; max-width: none }
  h2 { break-after: avoid } tr, li, figure { break-inside: avoid } }
"""
SHORT = 10  # characters
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,60}")


@dataclass(frozen=True)
class Part:
    """A part under a heading: a text, a table (heads and rows), points of a list, pictures; what is empty is left out.

    widths: of the table's columns, relative. page: whether it begins a page. Rows hold text alone.
    """

    heading: str
    text: str = ""
    heads: tuple = ()
    rows: tuple = ()
    widths: tuple = ()
    points: tuple = ()
    pictures: tuple = ()
    page: bool = False


@dataclass(frozen=True)
class Picture:
    """A drawing as SVG, what it shows in words, and its caption."""

    svg: str
    alternative: str
    caption: str


@dataclass(frozen=True)
class Sheet:
    """A title, a line below it, a sentence that says what comes out, and the parts."""

    title: str
    below: str
    lead: str
    parts: tuple

    @property
    def html(self):
        """The sheet as one HTML document that loads nothing."""
        inside = "\n".join(map(_part, self.parts))
        title = escape(self.title)
        return (
            f'<!DOCTYPE html>\n<html lang="en-GB">\n<head><meta charset="utf-8"><title>{title}</title>\n'
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
            f"<style>{STYLE}</style></head>\n<body><main>\n<h1>{title}</h1>\n<p>{escape(self.below)}</p>\n"
            f'<p class="lead">{escape(self.lead)}</p>\n{inside}\n</main></body>\n</html>\n'
        )

    @property
    def pdf(self):
        """The sheet as the bytes of a PDF; PageError, one sentence, where this computer has no typst."""
        return compiled(self)

    def save(self, name, folder=None):
        """Write NAME.html and, where it can be made, NAME.pdf beside the workbooks; returns the files' names.

        Without a name nothing is written. An older file of that name is replaced.
        """
        if not str(name).strip():
            return []
        if not NAME.fullmatch(str(name).strip()):
            raise PageError(f"{str(name)[:40]!r} is no name for a file: letters, digits, - and _ are allowed.")
        folder = Path(folder) if folder else workbooks_folder()
        made = {f"{name}.html": self.html.encode()}
        try:
            made[f"{name}.pdf"] = self.pdf
        except PageError as problem:
            print(problem)
        for file, content in made.items():
            (folder / file).write_bytes(content)
        return list(made)


def compiled(sheet, form="pdf", **more):
    """A sheet by typst: bytes of a PDF, or of a PNG (a list where there are several pages)."""
    try:
        import typst
    except ImportError:
        told = "The PDF is left out, since typst is not installed here: print the HTML from a browser instead."
        raise PageError(told) from None
    told = {"pdf_standards": ["ua-1"]} if form == "pdf" else {}
    data = json.dumps(asdict(sheet), ensure_ascii=False)
    return typst.compile(
        str(TEMPLATE), format=form, sys_inputs={"sheet": data}, ignore_system_fonts=True, **told, **more
    )


def svg_of(figure, name):
    """A matplotlib figure as SVG text that is the same each time; `name` keeps its ids apart from another's."""
    out = io.StringIO()
    with matplotlib.rc_context({"svg.hashsalt": name, "svg.fonttype": "path"}):
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return out.getvalue()


def _part(part):
    blocks = [f"<h2>{escape(part.heading)}</h2>"]
    if part.text:
        blocks.append(f"<p>{escape(part.text)}</p>")
    if part.rows:
        heads = "".join(_cell('th scope="col"', head) for head in part.heads)
        lines = "\n".join("<tr>" + "".join(_cell("td", cell) for cell in row) + "</tr>" for row in part.rows)
        blocks.append(
            f'<div class="wide"><table>\n<thead><tr>{heads}</tr></thead>\n<tbody>\n{lines}\n</tbody></table></div>'
        )
    if part.points:
        blocks.append("<ul>\n" + "\n".join(f"<li>{escape(point)}</li>" for point in part.points) + "\n</ul>")
    if part.pictures:
        blocks.append('<div class="pair">' + "".join(map(_picture, part.pictures)) + "</div>")
    return "\n".join(blocks)


def _cell(tag, text):
    """A cell of a table; a short one keeps to its line, so that no word or list of pages is broken."""
    short = ' class="short"' if len(text) <= SHORT else ""
    return f"<{tag}{short}>{escape(text)}</{tag[:2]}>"


def _picture(picture):
    data = base64.b64encode(picture.svg.encode()).decode()
    return (
        f'<figure><img alt="{escape(picture.alternative)}" src="data:image/svg+xml;base64,{data}">'
        f"<figcaption>{escape(picture.caption)}</figcaption></figure>"
    )
