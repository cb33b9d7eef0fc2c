"""The numbers that a page's prose quotes, and the printed ones that hold them.

A Markdown cell, or a section of the notes for instructors, may say where its numbers come from:

    <!-- numbers from: main-table, live-figure; given: 0.5, 40 -->

Each number in it is then a rounding, to the digits quoted, of one that a named cell prints or holds, or is listed as
given: a setting that the reader chooses, a count, a line of argument. The name `record` stands for what the page's
record says of the live figure away from its defaults. Signs are not compared: 34 W flow out where -34 is printed.
"""

import html
import re
from dataclasses import dataclass

from make_records import FOLDER, read

MARKER = re.compile(r"<!-- numbers (?:from: *([^;>]*?) *(?:; *)?)?(?:given: *([^>]*?) *)?-->")
HEADING = re.compile(r"^## ", re.MULTILINE)
SUPERSCRIPT = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
THOUSANDS = re.compile(r"(?<=\d)[ \u00a0\u2009\u202f](?=000\b)")
POWER = re.compile(r"(\d+(?:\.\d+)?)·10([⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+)")
NUMBER = re.compile(r"(?<![\w.])\d+(?:\.\d+)?(?:e[+-]?\d+)?(?![\d]|\.\d)")
PICTURE = re.compile(r"data:image/[^\"' ]*")
TAG = re.compile(r"<(?!img)[^>]*>|<img[^>]*?alt=[\"']|[\"'] (?:style|src|width)=[\"'][^\"']*[\"']")
NAMES = [re.compile(rule, re.MULTILINE) for rule in (
    r"<!--.*?-->", r"`[^`]*`", r"\]\([^)]*\)", r"^\*\*Workbook .*$",  # not prose; minutes
    r"\b[Ww]orkbooks? \d\d(?:(?:, | and | to | or |, and )\d\d)*", r"\b[A-Z]\d+\b",  # workbooks, exercises
    r"\b(?:ISO|ASTM|IEC|SAE) [A-Z]?\d+(?:-\d+)?(?::\d{4})?", r"\((?:19|20)\d\d\)",  # standards, years
    r"^ *\d+\. ", r"\b[Pp]oints? \d+(?:(?: to | and |, )\d+)*",  # items of a list
    r"[_^](?:\{[^}]*\}|\d)",  # indices and exponents
)]  # fmt: skip


@dataclass(frozen=True)
class Quoted:
    """A number in prose: its text, its value without a sign, and half a unit of its last digit."""

    text: str
    value: float
    margin: float

    def holds(self, printed):
        """Whether it is a rounding of one of the printed values."""
        return any(abs(value - self.value) <= self.margin * (1 + 1e-9) for value in printed)

    @property
    def digits(self):
        """Significant digits; the zeros at the end of a whole number do not count."""
        digits = self.text.replace(".", "").lstrip("0")
        return len(digits if "." in self.text else digits.rstrip("0"))


def values(text):
    """All numbers printed in a text, without their signs."""
    text = THOUSANDS.sub("", text)
    text = POWER.sub(lambda found: f"{found[1]}e{found[2].translate(SUPERSCRIPT)}", text)
    return [float(number) for number in NUMBER.findall(text)]


def quoted(text):
    """The numbers that a Markdown text quotes, names and marks of lists left out."""
    for rule in NAMES:
        text = rule.sub(" ", text)
    text, found = THOUSANDS.sub("", text), []
    for number in NUMBER.findall(POWER.sub(" ", text)):
        decimals = len(number.partition(".")[2])
        zeros = 0 if decimals else len(number) - len(number.rstrip("0"))
        margin = 0.5 * 10.0 ** (min(zeros, max(len(number) - 2, 0)) - decimals)  # 1200: to two digits at least
        found.append(Quoted(number, float(number), margin))
    return found


def told(cell):
    """What the outputs of a code cell say, text alternatives of pictures included."""
    texts = []
    for output in cell.outputs:
        data = output.get("data", {})
        texts += [output.get("text", ""), *(data[kind] for kind in data if kind.startswith("text/"))]
    return html.unescape(TAG.sub(" ", PICTURE.sub(" ", "\n".join(texts))))


def recorded(number):
    """What the record of the page's live figure says at the ends of its controls."""
    record = read((FOLDER / f"{number:02d}.txt").read_text(encoding="utf-8"))
    shown = [lines for lines in record.values() if "sentence" in lines]
    return "\n".join(f"{lines['numbers']} {lines['sentence']}" for lines in shown)


def printed(number, cells):
    """{id: the values that a page's code cell prints or holds}, and those of the page's record."""
    found = {cell.id: values(f"{cell.source}\n{told(cell)}") for cell in cells if cell.cell_type == "code"}
    return found | {"record": values(recorded(number))}


def loose(text, sources):
    """The quoted numbers of a text with a marker that no source named in it prints, and faults of the marker."""
    named, given = MARKER.search(text).groups()
    names = re.findall(r"[\w-]+", named or "")
    allowed = [float(value) for value in re.findall(r"[\d.]+", given or "")]
    yield from (f"no cell {name!r}" for name in names if name not in sources)
    held = [value for name in names for value in sources.get(name, [])]
    numbers = quoted(text)
    yield from (number.text for number in numbers if number.value not in allowed and not number.holds(held))
    said = {number.value for number in numbers}
    yield from (f"{value:g} is given but not quoted" for value in allowed if value not in said)


def section(cells, place):
    """The places of the cells between the headings around a cell."""
    heads = [k for k, cell in enumerate(cells) if cell.cell_type == "markdown" and HEADING.search(cell.source)]
    first = max((k for k in heads if k <= place), default=0)
    return range(first, min((k for k in heads if k > place), default=len(cells)))


def astray(number, cells):
    """(id, number) for each number of two significant digits or more that no marker names a source of.

    It is to be a rounding of one printed in its section, or to stand elsewhere on the page as it is, in an output or
    in the code. What exercises print holds nothing: their numbers are the learner's.
    """
    asked = re.compile(r"book\.(?:answer|recall|exercise|explain|predict|progress)\(")
    texts = {k: f"{cell.source}\n{told(cell)}" for k, cell in enumerate(cells)
             if cell.cell_type == "code" and not asked.match(cell.source) and cell.id != "card-picture"}  # fmt: skip
    page = {text for said in texts.values() for text in NUMBER.findall(said)}
    for place, cell in enumerate(cells):
        if cell.cell_type == "markdown" and cell.id != "further" and not MARKER.search(cell.source):
            near = [value for k in section(cells, place) for value in values(texts.get(k, ""))]
            yield from ((cell.id, number.text) for number in quoted(cell.source)
                        if number.digits > 1 and number.text not in page and not number.holds(near))  # fmt: skip
