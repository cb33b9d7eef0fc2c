"""What a stored workbook must be for its reader, beyond the outputs that nbval compares."""

import re
from pathlib import Path

import nbformat

from helpers.commands.saving import WIDGET_VIEW

SIZE_LIMIT = 500_000  # bytes; a page must open on a slow line and show as a diff
ABSOLUTE = re.compile(r"(?<![\w.~/])/(?:home|root|Users|tmp|usr|opt|var|mnt|srv|work|private)/|\b[A-Za-z]:\\\w|file://")
ADDRESS = re.compile(r"\bat 0x[0-9a-fA-F]{6,}")
IMAGE = re.compile(r"<img\b[^>]*>|<svg\b.*?</svg>", re.DOTALL | re.IGNORECASE)
NAMED = re.compile(r"\b(?:alt|aria-label)\s*=\s*(?:\"[^\"]*\w|'[^']*\w)|<title\b[^>]*>[^<]*\w|aria-hidden=[\"']true")
MARKDOWN_IMAGE = re.compile(r"!\[\s*\]\(")


def faults(path: Path) -> list[str]:
    """What is wrong with the notebook `path`, a sentence each; [] for a sound one."""
    notebook = nbformat.read(path, as_version=4)
    return [f"{path.name}: {fault}" for fault in [*whole(path, notebook), *cells(notebook)]]


def whole(path, notebook):
    """Faults of the file as such."""
    if (size := path.stat().st_size) > SIZE_LIMIT:
        yield f"is {size} bytes, more than {SIZE_LIMIT}"
    if (kernel := notebook.metadata.get("kernelspec", {}).get("name")) != "python3":
        yield f"names the kernel {kernel!r} instead of 'python3'"
    if "widgets" in notebook.metadata:
        yield "stores the state of widgets"
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    if not any(cell.outputs for cell in code):
        yield "holds no output at all"
    counts = [cell.execution_count for cell in code]
    if None in counts:
        yield f"code cell {counts.index(None) + 1} was not run, or is empty"
    elif counts != list(range(1, len(counts) + 1)):
        yield f"was run out of order: {counts}"


def cells(notebook):
    """Faults of its cells, each with the cell's place."""
    for place, cell in enumerate(notebook.cells, start=1):
        if "execution" in cell.metadata:
            yield f"cell {place} stores times of execution"
        yield from (f"cell {place} {fault}" for fault in text_faults(cell.source))
        if cell.cell_type == "markdown" and MARKDOWN_IMAGE.search(cell.source):
            yield f"cell {place} has an image without a text alternative"
        for output in cell.get("outputs", []):
            yield from (f"the output of cell {place} {fault}" for fault in output_faults(output))


def output_faults(output):
    """Faults of one output."""
    if output.output_type == "error":
        yield f"is the error {output.ename}"
    if output.get("name") == "stderr":
        yield f"is a warning: {output.text.strip()[:80]}"
    data = output.get("data", {})
    if WIDGET_VIEW in data:
        yield "refers to a widget that no reader's kernel has"
    for kind in data:
        described = output.metadata.get(kind, {}).get("alt", "").strip()
        if kind.startswith("image/") and not described and not (kind == "image/svg+xml" and NAMED.search(data[kind])):
            yield f"has an {kind} without a text alternative (metadata {{'{kind}': {{'alt': ...}}}})"
    texts = [output.get("text", ""), *(value for kind, value in data.items() if kind.startswith("text/"))]
    for text in texts:
        yield from text_faults(text)


def text_faults(text):
    """Faults of a text: what names one machine or one run, and pictures that say nothing to a listener."""
    if found := ABSOLUTE.search(text):
        yield f"holds an absolute path ({text[found.start() : found.end() + 20]!r})"
    if found := ADDRESS.search(text):
        yield f"holds a memory address ({found[0]})"
    if any(not NAMED.search(image) for image in IMAGE.findall(text)):
        yield "has an image without a text alternative"
