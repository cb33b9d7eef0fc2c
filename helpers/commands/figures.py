"""`python3 -m helpers figures [--check]`: the pictures for slides and handouts, with captions and alternatives."""

import argparse
import importlib
import re
import sys
import tempfile
from contextlib import suppress
from pathlib import Path

import matplotlib
from matplotlib.figure import Figure

from helpers.commands.environment import CommandError
from helpers.teaching import damper_circuit
from helpers.teaching.course import PageError

CAPTIONS, ONE_PAGE = "captions.md", "one-page"
NUMBER = re.compile(r"-?\d+\.\d+(?:e-?\d+)?|-?\d+")
DRAWN_ID = re.compile(r"\b[a-zA-Z]{1,2}[0-9a-f]{10}\b")  # a digest of the drawn numbers
TOLERANCE = 0.05  # points; another processor may round the last digit otherwise


def run(root: Path, arguments: list[str]) -> int:
    """Make the pictures in figures/, or with --check say which no longer show what the models give."""
    parser = argparse.ArgumentParser("python3 -m helpers figures")
    parser.add_argument("--check", action="store_true", help="say which are stale, write nothing")
    if not parser.parse_args(arguments).check:
        names = make(root, root / "figures")
        print(f"- {len(names)} files written to figures/")
        return 0
    stale = stale_figures(root)
    print("\n".join(f"{name} is stale: run python3 -m helpers figures" for name in stale) or "All figures are current.")
    return 1 if stale else 0


def make(root: Path, folder: Path) -> list[str]:
    """Draw the damper's circuit and each scene's card into `folder`, with captions.md; returns the files' names."""
    folder.mkdir(exist_ok=True)
    pictures = [("damper-circuit.svg", damper_circuit.damper_circuit, damper_circuit.CAPTION, damper_circuit.ALT)]
    for scene in scenes(root):
        missing = [part for part in ("card_figure", "CARD_CAPTION", "CARD_ALT") if not hasattr(scene, part)]
        if missing:
            raise CommandError(f"workbooks/scenes/{scene.__name__.split('.')[-1]}.py lacks {', '.join(missing)}.")
        name = f"{scene.__name__.split('.')[-1]}-card.svg"
        pictures.append((name, scene.card_figure, scene.CARD_CAPTION, scene.CARD_ALT))
    entries = ["# Pictures of the course\n"]
    for name, draw, caption, alternative in pictures:
        save(draw(), folder / name)
        entries.append(f"## {name}\n\n![{alternative}]({name})\n\n{caption}\n\nIn words: {alternative}\n")
    (folder / CAPTIONS).write_text("\n".join(entries), "utf-8")
    return [*(name for name, *_ in pictures), *pages(root, folder), CAPTIONS]


def pages(root: Path, folder: Path) -> list[str]:
    """Write the course on one page as HTML and, where typst is installed, as PDF; returns what `--check` compares."""
    if not (root / "workbooks/scenes/one_page.py").is_file():
        return []
    sheet = importlib.import_module("scenes.one_page").one_page()
    (folder / f"{ONE_PAGE}.html").write_text(sheet.html, "utf-8")
    with suppress(PageError):
        (folder / f"{ONE_PAGE}.pdf").write_bytes(sheet.pdf)
    return [f"{ONE_PAGE}.html"]


def scenes(root: Path) -> list:
    """The modules workbooks/scenes/wNN.py, in order."""
    if str(root / "workbooks") not in sys.path:
        sys.path.insert(0, str(root / "workbooks"))
    paths = sorted((root / "workbooks/scenes").glob("w[0-9][0-9].py"))
    return [importlib.import_module(f"scenes.{path.stem}") for path in paths]


def save(figure: Figure, path: Path):
    """Write an SVG that is the same each time it is made."""
    with matplotlib.rc_context({"svg.hashsalt": path.stem, "svg.fonttype": "path"}):
        figure.savefig(path, format="svg", bbox_inches="tight", metadata={"Date": None, "Creator": None})


def stale_figures(root: Path) -> list[str]:
    """The files in figures/ that are missing, left over, or differ from what would be made now."""
    with tempfile.TemporaryDirectory() as made:
        fresh = set(make(root, Path(made)))
        there = (root / "figures").glob("*")
        kept = {path.name for path in there if path.name == CAPTIONS or path.suffix in (".svg", ".html")}
        same = {name for name in fresh & kept if same_text(Path(made) / name, root / "figures" / name)}
    return sorted((fresh | kept) - same)


def same_text(one: Path, other: Path) -> bool:
    """Whether two files agree, numbers in pictures to within TOLERANCE."""
    first, second = one.read_text("utf-8"), other.read_text("utf-8")
    if one.suffix != ".svg":
        return first == second
    first, second = DRAWN_ID.sub("", first), DRAWN_ID.sub("", second)
    if NUMBER.sub("", first) != NUMBER.sub("", second):
        return False
    pairs = zip(NUMBER.findall(first), NUMBER.findall(second), strict=True)
    return all(abs(float(a) - float(b)) <= TOLERANCE for a, b in pairs)
