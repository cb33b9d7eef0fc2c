"""What a page of the reading edition is made of: mathematics as MathML, tables that scroll, one style sheet."""

import base64
import html
import re
from copy import deepcopy

from jinja2 import pass_context
from latex2mathml.converter import convert
from nbconvert import HTMLExporter
from nbconvert.filters.markdown_mistune import IPythonRenderer, MarkdownWithMath
from pygments.formatters import HtmlFormatter

from helpers.commands.sanitising import POLICY

MATH = re.compile(r"\$\$(.+?)\$\$|(?<![\\\w])\$([^\s$](?:[^$]*[^\s$\\])?)\$(?!\w)", re.DOTALL)
TAG = re.compile(r"(<!--.*?-->|<(?:style|script|code|pre|svg)\b.*?</(?:style|script|code|pre|svg)>|<[^>]+>)", re.DOTALL)
SHOWN = re.compile(r"text/(?:html|latex|markdown|plain)|image/(?:png|jpeg|gif|webp|svg\+xml)")  # forms of an output
NAMESPACE = ' xmlns="http://www.w3.org/1998/Math/MathML"'  # a page of HTML does without
SPELLINGS = (  # LaTeX that the converter does not know, in words that it does
    (re.compile(r"\\(begin|end)\{(?:aligned|split|align|equation|gather|gathered)\*?\}"), r"\\\1{align*}"),
    (re.compile(r"\\mathrm\{([A-Za-z]+)\}"), r"\\text{\1}"),
)
# Brackets grow with a matrix only where a font for mathematics is installed; borders do everywhere.
MATRIX = re.compile(
    r"<mo[^>]*>(?:[\[(]|&#x0005B;|&#x00028;)</mo><mtable>((?:(?!<mtable).)*?</mtable>)"
    r"<mo[^>]*>(?:[\])]|&#x0005D;|&#x00029;)</mo>"
)
STYLE = """
:root { color-scheme: light; } * { box-sizing: border-box; }
body { font: 1.05rem/1.55 system-ui, sans-serif; color: #1b1b1b; background: #fff; margin: 0 auto; padding: 1rem;
  max-width: 52rem; overflow-wrap: break-word; }
h1, h2, h3 { line-height: 1.25; } a { color: #0b5394; } img, svg { max-width: 100%; height: auto; }
figure { margin: 0; }
.wide { display: block; overflow-x: auto; max-width: 100%; background: linear-gradient(to right, #fff 30%, #fff0) local,
  linear-gradient(to left, #fff 30%, #fff0) right local, linear-gradient(to right, #0003, #0000) scroll,
  linear-gradient(to left, #0003, #0000) right scroll; background-repeat: no-repeat;
  background-size: 2rem 100%, 2rem 100%, .7rem 100%, .7rem 100%; } /* a shadow where a table goes on */
.wide:focus-visible { outline: 2px solid #0b5394; }
pre { overflow-x: auto; font-size: .85rem; line-height: 1.4; padding: .6rem; margin: .4rem 0; background: #f5f5f3; }
.output pre, .output_area pre { background: none; border-left: 3px solid #c9c9c4; white-space: pre-wrap; }
table { border-collapse: collapse; font-size: .95rem; } th, td { border: 1px solid #c9c9c4; padding: .25rem .5rem; }
blockquote { margin: 1rem 0; padding: .1rem 1rem; border-left: 4px solid #8a8a85; }
math { font-family: "STIX Two Math", "Cambria Math", "Latin Modern Math", math; }
mtd[columnalign="left"] { text-align: left; } mtd[columnalign="right"] { text-align: right; }
mover > mo:last-child { font-size: inherit; math-depth: add(0); }
.matrix { border: solid; border-width: 0 1.5px; border-radius: .5em; margin: 0 .15em; }
details { border: 1px solid #c9c9c4; border-radius: 4px; padding: .4rem .8rem; margin: .4rem 0; }
summary { cursor: pointer; } .anchor-link, .prompt { display: none; }
@media print { body { max-width: none; padding: 0; font-size: 10.5pt; } pre { white-space: pre-wrap; }
  pre, img, table, details { break-inside: avoid; } h1, h2, h3 { break-after: avoid; } }
"""


def mathml(latex: str, block: bool) -> str:
    """LaTeX as MathML, which browsers draw by themselves; the LaTeX itself where it cannot be converted."""
    for pattern, spelling in SPELLINGS:
        latex = pattern.sub(spelling, latex)
    try:
        converted = convert(latex.strip(), display="block" if block else "inline").replace(NAMESPACE, "", 1)
    except Exception:  # the converter raises many kinds; a reader is served by the source rather than by nothing
        return f"<code>{html.escape(latex)}</code>"
    converted = MATRIX.sub(r'<mtable class="matrix">\1', converted)
    return f'<span class="wide" tabindex="0">{converted}</span>' if block else converted


def typeset(fragment: str) -> str:
    """The `$...$` and `$$...$$` in the text of an HTML fragment, code apart, as MathML."""

    def one(match: re.Match) -> str:
        return mathml(html.unescape(match[1] or match[2]), block=match[1] is not None)

    parts = TAG.split(fragment)
    return "".join(part if place % 2 else MATH.sub(one, part) for place, part in enumerate(parts))


class Renderer(IPythonRenderer):
    """Markdown with its mathematics as MathML."""

    def block_math(self, body):
        return mathml(body, block=True)

    def inline_math(self, body):
        return mathml(body, block=False)

    def latex_environment(self, name, body):
        return mathml(rf"\begin{{{name}}}{body}\end{{{name}}}", block=True)


class ReadingExporter(HTMLExporter):
    """The cells of a notebook as plain HTML, nothing fetched."""

    def __init__(self, **settings):
        super().__init__(template_name="basic", **settings)

    @pass_context
    def markdown2html(self, context, source):
        """Called by the template for markdown cells and outputs."""
        renderer = Renderer(escape=False, attachments=context.get("cell", {}).get("attachments", {}))
        return MarkdownWithMath(renderer=renderer).render(source)

    def from_notebook_node(self, nb, resources=None, **settings):
        """The notebook's body as HTML, with outputs in LaTeX or with formulae in their HTML typeset."""
        nb = deepcopy(nb)
        for output in (output for cell in nb.cells for output in cell.get("outputs", [])):
            data = output.get("data", {})
            for kind in [kind for kind in data if not SHOWN.fullmatch(kind)]:
                del data[kind]  # the next best form is shown
            if "image/svg+xml" in data and "text/html" not in data:  # as a picture it runs and loads nothing
                words = str(output.metadata.get("image/svg+xml", {}).get("alt", "")) or "a drawing"
                drawn = base64.b64encode(data.pop("image/svg+xml").encode()).decode()
                data["text/html"] = f'<img alt="{html.escape(words)}" src="data:image/svg+xml;base64,{drawn}">'
            elif "text/html" in data:
                data["text/html"] = typeset(data["text/html"])
            elif "text/latex" in data:
                data["text/html"] = f'<div class="wide" tabindex="0">{typeset(data["text/latex"])}</div>'
        body, resources = super().from_notebook_node(nb, resources, **settings)
        return in_boxes(body), resources


def in_boxes(body: str) -> str:
    """Wide tables in boxes that scroll by themselves, reachable by keyboard, so that a phone's page does not."""
    body = re.sub(r"<table", '<div class="wide" tabindex="0"><table', body)
    body = re.sub(r"</table>", "</table></div>", body)
    return re.sub(r"<pre(?=[\s>])(?![^>]*tabindex)", '<pre tabindex="0"', body)


def page_around(title: str, body: str) -> str:
    """A whole page that needs no other file."""
    # Of the styles that come with it, the one whose colours all stand out from the grey of the cells (4.5 : 1).
    colours = HtmlFormatter(style="xcode").get_style_defs(".highlight")
    head = (
        f'<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<link rel="icon" href="data:,">\n<title>{html.escape(title)}</title>\n<style>{STYLE}{colours}</style>'
    )
    page = f'<html lang="en-GB">\n<head>\n{head}\n</head>\n<body>\n<main>\n{body}\n</main>\n</body>\n</html>'
    return f"<!doctype html>\n{page}\n"
