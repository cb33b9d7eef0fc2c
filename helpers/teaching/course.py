"""Where the course's content is: the workbooks folder and the exercises of one workbook."""

import importlib
import sys
from pathlib import Path

import helpers

REQUIRED = ("numpy", "scipy", "sympy", "numba", "matplotlib", "ipywidgets", "pint", "PIL")


class PageError(Exception):
    """The page cannot go on; the message says what to do. Notebooks show it as one line, without a traceback."""

    def _render_traceback_(self):
        return [str(self)]


def workbooks_folder():
    """The folder of the workbooks: beside the helpers package, or else the working directory or one above it."""
    here = Path.cwd()
    for folder in (Path(helpers.__file__).resolve().parents[1] / "workbooks", here, *here.parents):
        if (folder / "exercises").is_dir():
            return folder
    raise PageError("The exercises are not found: open the notebook from the course's own workbooks folder.")


def exercises_of(number):
    """The exercises of workbook `number` by their keys, in order; PageError if there are none.

    The workbooks folder joins the import path, so that a page can also import its scenes.
    """
    folder = workbooks_folder()
    if not (isinstance(number, int) and (folder / "exercises" / f"w{number:02d}.py").is_file()):
        raise PageError(f"There is no workbook {number!r} here: give open_workbook the number in the file's name.")
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))
    listed = importlib.import_module(f"exercises.w{number:02d}").EXERCISES
    by_key = {exercise.key: exercise for exercise in listed}
    if len(by_key) < len(listed):
        raise ValueError(f"Two exercises of workbook {number:02d} have the same key.")
    return by_key
