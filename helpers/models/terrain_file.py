"""A learner's own ground: read a profile from a CSV file, or say in one sentence which row is wrong and why.

The file is UTF-8 text with one header row that names the columns `distance` and `height` with their units, for example
`distance_m,height_mm` or `distance [m]; height [mm]`. Commas, semicolons or tabs part the columns; with semicolons or
tabs the decimal sign may be a comma. Rows that start with # and blank rows are skipped; other columns are ignored.
"""

import csv
import os
import re
import stat
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from helpers.models.terrain import SPACING, Profile

UNITS = {"m": 1.0, "cm": 0.01, "mm": 0.001, "km": 1000.0}
MAX_ROWS = 1_000_000
MAX_BYTES = 64 << 20  # as many rows of 60 characters
LONGEST_ROW = 10_000  # characters
CHUNK = 1 << 20  # read at a time
SHORTEST, LONGEST = 2.0, 20_000.0  # m
COARSEST = 1.0  # m; a suspension answers to waves shorter than this interval could show
WIDEST_GAP = 0.25  # m, and five times the median interval
HIGHEST_JUMP = 2.0  # m between neighbours; more is a slip of unit, or a cliff
STEEPEST = 1.0  # rise over run


class TerrainFileError(ValueError):
    """The file cannot be used; the message is one sentence with the row (as counted in the file) and the reason."""


@dataclass(frozen=True, eq=False)
class MeasuredTerrain:
    """What a file held: the profile about its mean gradient (rise over run), and how many rows it had."""

    name: str
    profile: Profile
    gradient: float
    rows: int


def read_terrain(source, max_rows=MAX_ROWS, spacing=SPACING):
    """Read ground from a CSV file's path, from its text (any str with a line break) or from its bytes.

    Distances are counted from the first row. Resampled to `spacing` in m: by straight lines between the rows, or, where
    the rows lie closer than that, by the mean over one spacing, so that finer texture is not aliased. Then the straight
    line from the first point to the last is taken off as the mean gradient. Raises TerrainFileError.
    """
    name, lines = _lines(source, max_rows)
    header_row, delimiter, columns = _header(name, lines)
    distance, height, rows = _numbers(name, lines, header_row, delimiter, columns, max_rows)
    _check(name, distance, height, rows)
    distance = distance - distance[0]
    points = spacing * np.arange(int(distance[-1] / spacing + 1e-6) + 1)
    fine = np.median(np.diff(distance)) < 0.75 * spacing
    even = _cell_means(points, distance, height, spacing) if fine else np.interp(points, distance, height)
    gradient = float((even[-1] - even[0]) / points[-1])
    if abs(gradient) > STEEPEST:
        raise TerrainFileError(
            f"{name}: the mean gradient is {100 * gradient:.0f} %; allowed is {100 * STEEPEST:.0f} % either way "
            "(are both columns in the unit named?)."
        )
    return MeasuredTerrain(name, Profile(points, even).level(), gradient, len(rows))


def _lines(source, max_rows):
    """Name and lines of the source; a file far too long is refused before all of it is read."""
    if isinstance(source, str) and ("\n" in source or "\0" in source):
        name, chunks = "text", (source[k : k + CHUNK].encode("utf-8", "replace") for k in range(0, len(source), CHUNK))
        data = _bounded(name, chunks, max_rows)
    elif isinstance(source, bytes | bytearray | memoryview):
        name, held = "file", memoryview(source).cast("B")
        data = _bounded(name, (bytes(held[k : k + CHUNK]) for k in range(0, len(held), CHUNK)), max_rows)
    elif isinstance(source, str | os.PathLike):
        path = os.fsdecode(source)
        name = " ".join(Path(path).name.split())[:60] or "terrain file"
        data = _content(name, path, max_rows)
    else:
        raise TerrainFileError(
            f"The terrain is given as {type(source).__name__}; allowed are a file's path, its text or its bytes."
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
        raise TerrainFileError(f"{name}, row {row}: this is not UTF-8 text; save the table as CSV in UTF-8.") from None
    return name, text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _content(name, path, max_rows):
    """The bytes of the file at `path`, which must be an ordinary one: a pipe or a device may never end."""
    try:
        kind = os.stat(path).st_mode
        if not stat.S_ISREG(kind):
            told = "a folder" if stat.S_ISDIR(kind) else "a pipe or a device"
            raise TerrainFileError(f"{name}: this is {told}, not a file; give the path of a CSV file.")
        with open(path, "rb") as file:
            return _bounded(name, iter(lambda: file.read(CHUNK), b""), max_rows)
    except FileNotFoundError:
        raise TerrainFileError(f"{name}: there is no such file; check its name and its folder.") from None
    except OSError as error:
        raise TerrainFileError(f"{name}: the file cannot be opened ({error.strerror}).") from None


def _bounded(name, chunks, max_rows):
    """The chunks as one; TerrainFileError as soon as they are no text, or too long in rows, in one row or in all."""
    held, size, rows, row = [], 0, 0, 0  # row: characters of the one that the next chunk goes on with
    for chunk in chunks:
        if b"\0" in chunk:
            raise TerrainFileError(f"{name}: this is not a text file; save the table as CSV in UTF-8.")
        lengths = [len(line) for line in re.split(rb"[\r\n]", chunk)]
        lengths[0] += row
        row, size, rows = lengths[-1], size + len(chunk), rows + chunk.count(b"\n")
        if max(lengths) > LONGEST_ROW:
            raise TerrainFileError(f"{name}: a row has more than the {LONGEST_ROW:,} characters allowed; cut the row.")
        if rows > max_rows + 1000:  # room for the header, comments and blank rows
            raise TerrainFileError(f"{name}: there are more than the {max_rows:,} rows allowed; cut the file.")
        if size > MAX_BYTES:
            raise TerrainFileError(f"{name}: there are more than the {MAX_BYTES >> 20} MB allowed; cut the file.")
        held.append(chunk)
    return b"".join(held)


def _bare(line):
    """True for a line without content: blank, or a comment."""
    line = line.lstrip()
    return not line or line.startswith("#")


def _header(name, lines):
    """Row number of the header, the delimiter, and for distance and height their column and their unit in m."""
    row = next((k for k, line in enumerate(lines, 1) if not _bare(line)), None)
    if row is None:
        raise TerrainFileError(f"{name}: the file is empty; it needs a header such as distance_m,height_mm.")
    line = lines[row - 1]
    delimiter = "\t" if "\t" in line else ";" if ";" in line else ","
    words = [re.findall(r"[^\W\d_]+", cell.lower()) for cell in line.split(delimiter)]
    columns = []
    for wanted in ("distance", "height"):
        found = [k for k, cell in enumerate(words) if cell and cell[0] == wanted]
        if len(found) != 1:
            many = "no column" if not found else f"{len(found)} columns"
            raise TerrainFileError(
                f"{name}, row {row}: {many} named {wanted}; the header must name distance and height once each, "
                "with their units, such as distance_m,height_mm."
            )
        unit = " ".join(words[found[0]][1:])
        if unit not in UNITS:
            told = f"the unit of {wanted} is {unit[:20]!r}" if unit else f"{wanted} has no unit"
            raise TerrainFileError(f"{name}, row {row}: {told}; allowed are {', '.join(UNITS)}, as in {wanted}_m.")
        columns.append((wanted, found[0], UNITS[unit]))
    return row, delimiter, columns


def _numbers(name, lines, header_row, delimiter, columns, max_rows):
    """Distances and heights in m and the row in the file of each."""
    width = len(lines[header_row - 1].split(delimiter))
    below = ("" if _bare(line) else line for line in lines[header_row:])
    reader = csv.reader(below, delimiter=delimiter)
    values, rows = ([], []), []
    row = header_row + 1
    try:
        for cells in reader:
            if cells:
                if len(cells) != width:
                    hint = "; a decimal comma needs semicolons between the columns" if len(cells) > width else ""
                    raise TerrainFileError(
                        f"{name}, row {row}: the header names {width} columns and this row fills {len(cells)}{hint}."
                    )
                for store, (column, place, _) in zip(values, columns, strict=True):
                    store.append(_number(name, row, column, cells[place]))
                rows.append(row)
                if len(rows) > max_rows:
                    raise TerrainFileError(f"{name}, row {row}: there are more than the {max_rows:,} rows allowed.")
            row = header_row + reader.line_num + 1
    except csv.Error as error:
        raise TerrainFileError(f"{name}, row {row}: the row cannot be read as CSV ({error}).") from None
    distance, height = (np.array(store) * unit for store, (_, _, unit) in zip(values, columns, strict=True))
    return distance, height, rows


def _number(name, row, column, text):
    """The number in a cell; a comma stands for the decimal point."""
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        number = None
    if number is None or "_" in text:
        told = f"is {text.strip()[:20]!r}, which is not a number" if text.strip() else "is blank"
        raise TerrainFileError(f"{name}, row {row}: {column} {told}.")
    if not -1e12 < number < 1e12:
        raise TerrainFileError(f"{name}, row {row}: {column} is {text.strip()[:20]}, which is not a finite number.")
    return number


def _check(name, distance, height, rows):
    """Refuse what cannot be a profile, naming the first row at fault."""
    if len(rows) < 2:
        told = "are no rows" if not rows else "is only one row"
        raise TerrainFileError(f"{name}: there {told} below the header; a profile needs two or more.")
    steps = np.diff(distance)
    if not steps.min() > 0:
        k = int(np.argmin(steps > 0))
        told = "repeats that" if steps[k] == 0 else "is less than that"
        raise TerrainFileError(
            f"{name}, row {rows[k + 1]}: distance {distance[k + 1]:g} m {told} of row {rows[k]}; "
            "distances must grow from row to row."
        )
    length, median = distance[-1] - distance[0], float(np.median(steps))
    if not SHORTEST <= length <= LONGEST:
        raise TerrainFileError(
            f"{name}: the distance covered is {length:g} m; allowed is {SHORTEST:g} to {LONGEST:,.0f} m "
            "(is it in the unit named?)."
        )
    if median > COARSEST:
        raise TerrainFileError(
            f"{name}: the rows are {median:g} m apart in the median; allowed is {COARSEST:g} m at most, "
            "since a suspension feels shorter waves (is distance in the unit named?)."
        )
    gap = steps > max(5 * median, WIDEST_GAP)
    if gap.any():
        k = int(np.argmax(gap))
        raise TerrainFileError(
            f"{name}, row {rows[k + 1]}: a gap of {steps[k]:.3g} m after row {rows[k]}; allowed is five times the "
            f"median interval of {median:.3g} m, or {WIDEST_GAP} m if that is more."
        )
    jump = np.abs(np.diff(height)) > HIGHEST_JUMP
    if jump.any():
        k = int(np.argmax(jump))
        raise TerrainFileError(
            f"{name}, row {rows[k + 1]}: height jumps by {height[k + 1] - height[k]:.3g} m after row {rows[k]}; "
            f"allowed is {HIGHEST_JUMP:g} m (is height in the unit named?)."
        )


def _cell_means(points, distance, height, spacing):
    """Means of the piecewise straight line through (distance, height) over one spacing about each point."""
    area = np.concatenate([[0.0], np.cumsum(np.diff(distance) * (height[1:] + height[:-1]) / 2)])
    left, right = np.clip([points - spacing / 2, points + spacing / 2], 0.0, distance[-1])
    return (np.interp(right, distance, area) - np.interp(left, distance, area)) / (right - left)
