"""`python3 -m helpers refresh [NN ...]`: run the workbooks again, so that a diff shows only what changed."""

import argparse
import os
import subprocess
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError

from helpers.commands.environment import CommandError, write_whole
from helpers.commands.saving import keep_stills

METADATA = {
    "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}
PASSING_METADATA = ("execution", "collapsed", "scrolled", "trusted")  # times and the state of one person's screen


def run(root: Path, arguments: list[str]) -> int:
    """Refresh the workbooks whose numbers are given, or all."""
    parser = argparse.ArgumentParser("python3 -m helpers refresh")
    parser.add_argument("numbers", nargs="*", metavar="NN", help="numbers of workbooks; none: all")
    for path in workbooks(root, parser.parse_args(arguments).numbers):
        print(f"- Running {path.name} ...", flush=True)
        refresh(path)
    return 0


def workbooks(root: Path, numbers: list[str] = ()) -> list[Path]:
    """The workbooks in order; those with the given numbers, when there are any. Raises CommandError for no match."""
    found = sorted((root / "workbooks").glob("[0-9][0-9]-*.ipynb"))
    unknown = [number for number in numbers if not any(path.name[:2] == number.zfill(2) for path in found)]
    if unknown or not found:
        have = ", ".join(path.name[:2] for path in found) or "none"
        raise CommandError(f"There is no workbook {unknown[0] if unknown else 'here'}: the numbers are {have}.")
    return [path for path in found if not numbers or path.name[:2] in {number.zfill(2) for number in numbers}]


def refresh(path: Path, timeout: int = 600):
    """Run the notebook `path` in its own folder and write it back. Raises CommandError naming the cell that failed."""
    notebook = nbformat.read(path, as_version=4)
    client = NotebookClient(
        notebook,
        timeout=timeout,  # s per cell
        kernel_name="python3",
        resources={"metadata": {"path": str(path.parent)}},
        record_timing=False,
        store_widget_state=False,
        coalesce_streams=True,
    )
    begun = []
    client.on_cell_start = lambda cell, cell_index: begun.append(cell)
    try:
        # The kernel talks about its transport on stderr; a learner's own file is not read.
        client.execute(stderr=subprocess.DEVNULL, env=os.environ | {"COURSE_LEARNER": ""})
    except (CellExecutionError, CellTimeoutError, DeadKernelError) as problem:
        code = sum(cell.cell_type == "code" for cell in begun)
        raise CommandError(
            f"{path.name}, code cell {code} ({first_line(begun[-1].source)}): {reason(problem)}; "
            "the file is left as it was."
        ) from None
    write_whole(path, nbformat.writes(settle(notebook)) + "\n")


def settle(notebook):
    """Leave in an executed notebook only what its cells and their results decide; in place, and returned."""
    keep_stills(notebook)
    notebook.metadata = nbformat.from_dict(METADATA)
    notebook.nbformat_minor = max(notebook.nbformat_minor, 5)
    for number, cell in enumerate(notebook.cells, start=1):
        for key in PASSING_METADATA:
            cell.metadata.pop(key, None)
        cell.setdefault("id", f"cell-{number:02}")  # a cell keeps the id it has
    return notebook


def first_line(source: str) -> str:
    """The first line that says something, to find the cell by."""
    return next((line.strip() for line in source.splitlines() if line.strip()), "empty")[:60]


def reason(problem: Exception) -> str:
    """The error in one line."""
    if isinstance(problem, CellExecutionError):
        return f"{problem.ename}: {problem.evalue}"
    return str(problem).strip().splitlines()[0]
