"""What may stand on a page of the reading edition: an allow-list of HTML, MathML and SVG, and the course's own files.

A notebook may come from anybody. Whatever its cells, outputs, attachments and metadata hold becomes one fragment of
HTML, which passes here last: nothing that runs, nothing that loads, no file from outside the workbooks folder.
"""

import base64
import html
import os
import re
from functools import partial
from pathlib import Path
from urllib.parse import quote, unquote, urlsplit

from bleach import Cleaner
from bleach.css_sanitizer import CSSSanitizer
from bleach.html5lib_shim import Filter

words = str.split
PROSE = words("""a abbr address article aside b blockquote br caption cite code col colgroup dd del details dfn div dl
dt em figcaption figure footer h1 h2 h3 h4 h5 h6 header hr i img ins kbd li main mark ol p picture pre q s samp section
small source span strong sub summary sup table tbody td tfoot th thead time tr tt u ul var""")
MATHS = words("""math menclose merror mfrac mi mmultiscripts mn mo mover mpadded mphantom mprescripts mroot mrow ms
mspace msqrt mstyle msub msubsup msup mtable mtd mtext mtr munder munderover none""")
DRAWN = words("svg g path rect circle ellipse line polyline polygon text tspan")
EVERYWHERE = words("alt aria-hidden aria-label class dir id lang role style tabindex title")
ATTRIBUTES = {
    "a": ["href"], "details": ["open"], "img": ["height", "src", "width"], "ol": ["reversed", "start", "type"],
    "source": ["media", "srcset"],
    "td": ["align", "colspan", "rowspan"], "th": ["align", "colspan", "rowspan", "scope"], "time": ["datetime"],
}  # fmt: skip
OF_MATHS = words("""accent accentunder columnalign columnlines columnspacing depth display displaystyle fence form frame
height largeop linethickness lspace mathbackground mathcolor mathsize mathvariant maxsize minsize movablelimits notation
rowalign rowlines rowspacing rspace scriptlevel separator stretchy symmetric voffset width""")
OF_DRAWN = words("""cx cy d dominant-baseline dx dy fill fill-opacity fill-rule font-family font-size font-style
font-weight height opacity points preserveAspectRatio r rx ry stroke stroke-dasharray stroke-linecap stroke-linejoin
stroke-miterlimit stroke-opacity stroke-width text-anchor transform version viewBox width x x1 x2 y y1 y2""")
STYLES = words("""background-color border-collapse color font-size font-style font-weight height margin-left max-width
text-align text-decoration vertical-align white-space width""")  # none of them can load anything
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"

KINDS = {
    ".png": "image/png",
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
    ".gif": "image/gif",
    ".webp": "image/webp",
    ".svg": "image/svg+xml",
}  # fmt: skip - within <img> a drawing runs no script and loads nothing
COPIED = (".csv", ".txt", ".md", ".py", ".png", ".jpg", ".jpeg", ".gif", ".webp")  # opened by themselves, run nothing
LARGEST = 5_000_000  # bytes of a picture or a linked file
PICTURE = re.compile(rf"data:({'|'.join(map(re.escape, sorted(set(KINDS.values()))))});base64,[A-Za-z0-9+/=\s]+")
UNSEEN = [(re.compile(rf"(?=<{tag}\b)", re.IGNORECASE), re.compile(rf"</{tag}\s*>", re.IGNORECASE))
          for tag in ("script", "style")]  # fmt: skip


def allowed(tag: str, name: str, value: str) -> bool:
    """Whether the attribute may stay; addresses are looked at by `Links` besides, properties of style by bleach."""
    if name == "style" and "&" in value:  # could part into other properties once a browser has read it
        return False
    value = html.unescape(value)
    if re.search(r"url\s*\(|\\", value, re.IGNORECASE) and name not in ("alt", "aria-label", "href", "src", "title"):
        return False
    kind = OF_MATHS if tag in MATHS else OF_DRAWN if tag in DRAWN else ATTRIBUTES.get(tag, ())
    return name in EVERYWHERE or name in kind


def real(path: Path) -> Path:
    """The path with all its links followed; a loop of links stays one, and is then no file."""
    return Path(os.path.realpath(path))


class Course:
    """The files that the pages of one edition may show: those below `folder`; `pages` are the notebooks written."""

    def __init__(self, folder: Path, pages: list[Path]):
        self.folder = real(folder)
        self.pages = {real(page) for page in pages}
        self.copies: dict[str, Path] = {}  # what linked files are to be copied, by their path below the folder

    def file(self, address: str) -> Path | None:
        """The file of the course that a relative address names; None for any other."""
        try:
            file = real(self.folder / unquote(address))
            return file if file.is_relative_to(self.folder) and file.is_file() else None
        except (OSError, ValueError):  # too long, a NUL
            return None

    def link(self, address: str) -> str | None:
        """Where a link leads in the edition; None when nowhere."""
        try:
            parts = urlsplit(address)
        except ValueError:
            return None
        if parts.scheme or parts.netloc:
            return address if parts.scheme in ("http", "https", "mailto") else None
        if not parts.path:
            return f"#{parts.fragment}" if parts.fragment else None
        if (file := self.file(parts.path)) is None:
            return None
        if file in self.pages:
            return quote(f"{file.stem}.html") + (f"#{parts.fragment}" if parts.fragment else "")
        if file.suffix.lower() not in COPIED or file.stat().st_size > LARGEST:
            return None
        name = file.relative_to(self.folder).as_posix()
        self.copies[name] = file
        return quote(name)

    @staticmethod
    def stored(address: str) -> str | None:
        """A picture's data address alone: a list of addresses would ask for a choice."""
        return address if PICTURE.fullmatch(address) and not re.search(r"\s", address) else None

    def picture(self, address: str) -> str | None:
        """A picture as a data address: one that is such already, or a file of the course."""
        if PICTURE.fullmatch(address):
            return address
        kind = KINDS.get(Path(address).suffix.lower())
        if kind is None or (file := self.file(address)) is None or file.stat().st_size > LARGEST:
            return None
        return f"data:{kind};base64,{base64.b64encode(file.read_bytes()).decode()}"


class Links(Filter):
    """The last filter: each address is settled by the course, or goes; a picture without one leaves its words."""

    def __init__(self, source, course: Course):
        super().__init__(source)
        self.course = course

    def __iter__(self):
        for token in super().__iter__():
            if token["type"] in ("StartTag", "EmptyTag"):
                data = token["data"]
                addresses = {"href": self.course.link, "src": self.course.picture, "srcset": self.course.stored}
                for name, settle in addresses.items():
                    if (None, name) in data:
                        settled = settle(re.sub(r"[\x00-\x20]+", " ", html.unescape(data.pop((None, name)))).strip())
                        data |= {(None, name): html.escape(settled)} if settled else {}
                # bleach writes a bare quotation mark with an ampersand beside it wrongly
                token["data"] = data = {key: value.replace('"', "&quot;") for key, value in data.items()}
                if token["name"] == "img" and (None, "src") not in data:
                    yield {"type": "Characters", "data": html.unescape(data.get((None, "alt"), ""))}
                    continue
            yield token


def clean(body: str, course: Course) -> str:
    """The fragment with what is allowed in it and no more."""
    for opened, closed in UNSEEN:  # what stays is decided below; this only spares the reader the text inside
        first, *rest = opened.split(body)
        body = first + "".join(closed.split(part, maxsplit=1)[-1] for part in rest)
    cleaner = Cleaner(
        tags=frozenset([*PROSE, *MATHS, *DRAWN]), attributes=allowed, strip=True,
        protocols=frozenset(["http", "https", "mailto", "data"]),
        css_sanitizer=CSSSanitizer(allowed_css_properties=STYLES, allowed_svg_properties=()),
        filters=[partial(Links, course=course)],
    )  # fmt: skip
    return cleaner.clean(body)
