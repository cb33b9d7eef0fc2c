"""A page run once more with what must not matter changed, and what then differs from its stored outputs."""

import base64
import configparser
import difflib
import io
import os
import re
import subprocess
from html import unescape
from pathlib import Path

import nbformat
import numpy as np
from nbclient import NotebookClient
from nbformat.v4 import new_code_cell
from PIL import Image

from helpers.commands.refresh import settle

HERE = Path(__file__).resolve().parent
NUMBER = re.compile(r"\d+(?:[.,\u00a0\u202f]\d+)*(?:e[-+]?\d+)?")
PICTURE = re.compile(r"data:image/([a-z+]+);base64,([A-Za-z0-9+/=]+)")
GRID = (24, 16)  # blocks across and down
APART = 0.15  # of what tells the stored picture from a blank one


# --- running ------------------------------------------------------------------------------------------------------


def other_processor(cache: Path) -> dict[str, str]:
    """Variables under which libraries take the machine for an old one: kernels, vectors and machine code for that.

    cache: where numba keeps the machine code.
    """
    found = np.show_config("dicts")["SIMD Extensions"].get("found", [])
    newest = {"X86_V3", "X86_V4", "AVX2", "AVX512F"} & set(found)
    return {
        "OPENBLAS_CORETYPE": "Sandybridge" if newest else "Prescott",
        "NPY_DISABLE_CPU_FEATURES": " ".join(found),
        "NUMBA_CPU_NAME": "generic",
        "NUMBA_CACHE_DIR": str(cache),
    }


def rerun(path: Path, variables: dict[str, str], nudge: bool):
    """The notebook `path` as run in a fresh kernel with more environment variables; its file stays as it is.

    nudge: whether every parameter and ground is off by a billionth, see `nudge.py`.
    """
    notebook = nbformat.read(path, as_version=4)
    first = f"import sys; sys.path.append({str(HERE)!r}); import nudge" if nudge else ""
    notebook.cells.insert(0, new_code_cell(first))
    client = NotebookClient(
        notebook, timeout=600, kernel_name="python3", resources={"metadata": {"path": str(path.parent)}},
        record_timing=False, store_widget_state=False, coalesce_streams=True,
    )  # fmt: skip
    client.execute(env=os.environ | variables, stderr=subprocess.DEVNULL)
    del notebook.cells[0]
    return settle(notebook)


# --- text -----------------------------------------------------------------------------------------------------------


def sanitisers(root: Path):
    """What .nbval.cfg lets pass: pairs of expression and replacement."""
    told = configparser.ConfigParser()
    told.read(root / ".nbval.cfg")
    return [(re.compile(told[name]["regex"]), told[name]["replace"]) for name in told.sections()]


def texts(cell, passing) -> list[str]:
    """Every text that a cell has put out, in order; the parts of an output that say the same count once."""
    said = []
    for output in cell.get("outputs", []):
        parts = [value for mime, value in sorted(output.get("data", {}).items()) if mime.startswith("text/")]
        parts += [output[key] for key in ("text", "evalue") if key in output]
        for part in dict.fromkeys(parts):
            for expression, replacement in passing:
                part = expression.sub(replacement, part)
            said.append(unescape(part))
    return said


def moved(stored: str, fresh: str) -> list[str]:
    """Each number that differs, with the words before it; or the lines, where more than numbers differ."""
    if NUMBER.sub("0", stored) == NUMBER.sub("0", fresh):
        pairs = zip(NUMBER.finditer(stored), NUMBER.finditer(fresh), strict=True)
        return [
            f"{' '.join(stored[max(old.start() - 60, 0) : old.start()].split())} {old[0]} -> {new[0]}"
            for old, new in pairs if old[0] != new[0]
        ]  # fmt: skip
    lines = difflib.unified_diff(stored.splitlines(), fresh.splitlines(), lineterm="", n=0)
    return [line for line in lines if not line.startswith(("---", "+++", "@@"))]


def differences(stored, fresh, passing) -> list[str]:
    """What the texts of two runs of a notebook differ in, each with the id of its cell."""
    found = []
    for old, new in zip(stored.cells, fresh.cells, strict=True):
        before, after = texts(old, passing), texts(new, passing)
        if len(before) != len(after):
            found.append(f"{old.id}: {len(before)} texts -> {len(after)}")
        told = [line for pair in zip(before, after, strict=False) for line in moved(*pair)]
        found += [f"{old.id}: {line}" for line in dict.fromkeys(told)]
    return found


# --- pictures -------------------------------------------------------------------------------------------------------


def pictures(cell) -> list[bytes]:
    """The PNG files in a cell's outputs, in order. Raises ValueError for a picture of another kind."""
    found = []
    for output in cell.get("outputs", []):
        data = output.get("data", {})
        html = data.get("text/html", "") + data.get("text/markdown", "")
        png = data.get("image/png", "").strip()
        found += [("png", png)] if png and f',{png}"' not in html else []  # once, where it is in the HTML too
        found += [(mime.removeprefix("image/"), "") for mime in data if mime.startswith("image/") and mime[6:] != "png"]
        found += PICTURE.findall(html)
    if odd := {kind for kind, _ in found} - {"png"}:
        raise ValueError(f"{cell.id}: a picture is of type {odd.pop()}; allowed is png, which can be compared.")
    return [base64.b64decode(text) for _, text in found]


def fingerprint(png: bytes) -> np.ndarray:
    """Of each block of a picture, how far its mean colour is from white and how much its grey varies: (16, 24, 4).

    The blocks overlap (a triangular window), so that a shift by a pixel moves little across an edge.
    """
    colour = 255.0 - np.asarray(Image.open(io.BytesIO(png)).convert("RGB"), dtype=np.float32)
    grey = colour.mean(axis=2)

    def blocks(values):
        return np.asarray(Image.fromarray(values).resize(GRID, Image.Resampling.BILINEAR))

    mean = blocks(grey)
    spread = np.sqrt(np.maximum(blocks(grey**2) - mean**2, 0.0))
    return np.dstack([*(blocks(np.ascontiguousarray(colour[..., k])) for k in range(3)), spread])


def apart(stored: bytes, fresh: bytes) -> float:
    """How far two pictures differ: 0 when alike, about 1 for a blank one, infinite for another shape."""
    sizes = [Image.open(io.BytesIO(png)).size for png in (stored, fresh)]
    shapes = [width / height for width, height in sizes]
    if abs(shapes[1] / shapes[0] - 1.0) > 0.02:
        return float("inf")
    old, new = fingerprint(stored), fingerprint(fresh)
    return float(np.linalg.norm(new - old) / max(np.linalg.norm(old), 1e-9))


def other_pictures(stored, fresh) -> list[str]:
    """The pictures of two runs of a notebook that are not the same to a glance."""
    found = []
    for old, new in zip(stored.cells, fresh.cells, strict=True):
        before, after = pictures(old), pictures(new)
        if len(before) != len(after):
            found.append(f"{old.id}: {len(before)} pictures -> {len(after)}")
        for number, (one, other) in enumerate(zip(before, after, strict=False), start=1):
            if not apart(one, other) <= APART:
                found.append(f"{old.id}: picture {number} is another one ({apart(one, other):.2f} apart)")
    return found
