"""What a learner keeps from page to page: name, class code, machine, decisions and texts, in one small file.

The file lies beside the workbooks; tests and `refresh` set COURSE_LEARNER to nothing and so neither read nor write it.
"""

import json
import os
import zipfile
from contextlib import suppress
from pathlib import Path

from helpers.models.own_machine import machine
from helpers.teaching.course import PageError, workbooks_folder

NAME = "my-course.json"
MOST_BYTES = 200_000
LONGEST_NAME = 40
FIELDS = {"learner": str, "class_code": str, "machine": dict, "decisions": dict}


def _path():
    """Where the file is; None where nothing is kept."""
    told = os.environ.get("COURSE_LEARNER")
    if told == "":
        return None
    return Path(told) if told else workbooks_folder() / NAME


def read():
    """What is kept, a dict with some of the names of `FIELDS`; PageError, one sentence, for a file that is no such."""
    path = _path()
    if path is None or not path.is_file():
        return {}
    try:
        if path.stat().st_size > MOST_BYTES:
            raise ValueError(f"it has {path.stat().st_size} bytes; allowed are {MOST_BYTES}")
        kept = json.loads(path.read_text("utf-8"))
        if not isinstance(kept, dict):
            raise ValueError("it holds no names with values")
        for name, value in kept.items():
            if name not in FIELDS or not isinstance(value, FIELDS[name]):
                raise ValueError(f"{name} cannot be used")
    except (OSError, ValueError) as problem:
        raise PageError(
            f"{path.name} cannot be read ({problem}): put it aside under another name, and type name and machine again."
        ) from None
    return kept


def keep(**values):
    """Keep some of `FIELDS`, the others as they were; nothing is lost if writing fails half way. One sentence if so."""
    path = _path()
    if path is None:
        return
    kept = read() | values
    fresh = path.with_suffix(".new")
    try:
        fresh.write_text(json.dumps(kept, ensure_ascii=False, indent=1, sort_keys=True, default=float), "utf-8")
        fresh.replace(path)
    except OSError as problem:
        told = f"{path.name} could not be written ({problem.strerror}): what you typed stands in the page."
        raise PageError(told) from None


def own_machine():
    """The `Vehicle` that is kept; None where none is, PageError where it can be none."""
    told = read().get("machine")
    if not told:
        return None
    try:
        if not 0 < len(told["name"].strip()) <= LONGEST_NAME:
            raise ValueError(f"its name has {len(told['name'])} letters; allowed are 1 to {LONGEST_NAME}")
        return machine(**told)
    except (AttributeError, KeyError, TypeError, ValueError) as problem:
        told = str(problem).rstrip(".")
        raise PageError(f"{NAME} holds a machine that cannot be ({told}): make it again with machine(...).") from None


def with_own(machines):
    """Vehicles by name, and after them the learner's own machine, if one is kept: what a live figure offers."""
    with suppress(PageError):  # which the page's first cell has told
        if own := own_machine():
            return machines | {f"{own.name} (own)" if own.name in machines else own.name: own}
    return dict(machines)


def hand_in(folder=None):
    """One zip of that file, the workbooks as saved and the sheets written beside them: its path, and what it holds."""
    path, kept = (Path(folder) if folder else workbooks_folder()) / "hand-in.zip", _path()
    fresh = path.with_suffix(".new")
    files = {page.name: page for page in sorted(workbooks_folder().glob("[0-9][0-9]-*.ipynb"))}
    files |= {sheet.name: sheet for form in ("html", "pdf") for sheet in sorted(workbooks_folder().glob(f"*.{form}"))}
    files |= {NAME: kept} if kept is not None and kept.is_file() else {}
    try:
        with zipfile.ZipFile(fresh, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, file in files.items():
                archive.write(file, name)
        fresh.replace(path)
    except OSError as problem:
        raise PageError(f"{path.name} could not be written ({problem.strerror}).") from None
    return path, list(files)


def handed_in(ready):
    """The sentence on the zip, which is made if `ready` is "yes"; so that a page may be run as a whole without it."""
    if ready.strip().lower() != "yes":
        return (
            "nothing is made yet. Put `yes` between the quotes, save the page, then run the cell: one zip of all "
            "pages and of what is kept."
        )
    path, names = hand_in()
    own = f", and {NAME} with name, machine and decisions" if NAME in names else ""
    pages = sum(name.endswith(".ipynb") for name in names)
    sheets = len(names) - pages - bool(own)
    told = f"{pages} pages as last saved{f' and {sheets} files of sheets' if sheets else ''}{own}"
    return f"`{path.name}`, in the folder `{path.parent.name}`, holds {told}."
