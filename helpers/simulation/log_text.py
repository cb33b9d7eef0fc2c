"""The columns of a CSV log as numbers: text in any common form, units by the header, odd cells told."""

import gzip
import io
import math
import os
import re

import numpy as np

_ACCELERATION = {"m/s²": 1.0, "m/s^2": 1.0, "m/s2": 1.0, "g": 9.80665, "mm/s²": 1e-3}
UNITS = {  # of each column, what one of it is in SI
    "time": {"s": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "min": 60.0},
    "wheel acceleration": _ACCELERATION, "body acceleration": _ACCELERATION,
    "travel": {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "in": 0.0254},
    "valve command": {"": 1.0, "1": 1.0, "%": 1e-2, "V": 1.0, "mV": 1e-3}, "current": {"A": 1.0, "mA": 1e-3},
    "pressure": {"Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "bar": 1e5, "psi": 6894.757},
}  # fmt: skip
MOST_BYTES, MOST_ROWS, LONGEST_ROW = 400 << 20, 5_000_000, 10_000
CHUNK = 500  # rows that are read cell by cell where one of them is odd
MOST_LOST = 0.05  # share of rows that may be unreadable


class LogError(ValueError):
    """The log cannot be used; the message is one sentence, and notebooks show it without a traceback."""

    def _render_traceback_(self):
        return [str(self)]


def text_of(source):
    """Name, text and a list of what was found so far."""
    if isinstance(source, str) and "\n" in source:
        return "log", source.lstrip("\ufeff").replace("\r\n", "\n").replace("\r", "\n"), []
    if isinstance(source, bytes | bytearray):
        name, data = "log", bytes(source)
    elif isinstance(source, str | os.PathLike):
        path = os.fsdecode(source)
        name = " ".join(os.path.basename(path).split())[:60] or "log"
        if not os.path.isfile(path):
            raise LogError(f"{name}: there is no such file; check its name and its folder.")
        try:
            with open(path, "rb") as file:
                data = file.read(MOST_BYTES + 1)
        except OSError as error:
            raise LogError(f"{name}: the file cannot be opened ({error.strerror}).") from None
    else:
        raise LogError(f"load_log: {type(source).__name__} is given; allowed are a file's path, its text or its bytes.")
    if data[:2] == b"\x1f\x8b":
        try:
            data = gzip.GzipFile(fileobj=io.BytesIO(data)).read(MOST_BYTES + 1)
        except (OSError, EOFError) as error:
            raise LogError(f"{name}: it is packed by gzip and cannot be unpacked ({error}).") from None
    if len(data) > MOST_BYTES:
        raise LogError(f"{name}: there are more than the {MOST_BYTES >> 20} MB allowed; cut the log.")
    found, code = [], "utf-8-sig"
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        code = "utf-16"
        found.append("The text is UTF-16, by its byte-order mark.")
    elif data[:3] == b"\xef\xbb\xbf":
        found.append("A byte-order mark at the start was passed over.")
    try:
        text = data.decode(code)
    except UnicodeDecodeError:
        text = data.decode("cp1252", "replace")
        found.append("The text is no UTF-8; it was read as Windows-1252.")
    if "\0" in text:
        raise LogError(f"{name}: this is not a text file; save the log as CSV.")
    return name, text.lstrip("\ufeff").replace("\r\n", "\n").replace("\r", "\n"), found


def header_of(name, text, found):
    """[(column, place, factor)], the delimiter, the header's row in the file, and the text from there on."""
    start, row = 0, 1
    while start < len(text):
        end = text.find("\n", start)
        head = text[start : end if end >= 0 else len(text)]
        if head.strip() and not head.lstrip().startswith("#"):
            break
        start, row = start + len(head) + 1, row + 1
    else:
        raise LogError(f"{name}: it is empty; it needs a header such as time (s),wheel acceleration (m/s²).")
    rows = text.count("\n")
    if len(head) > LONGEST_ROW or rows > MOST_ROWS:
        raise LogError(f"{name}: there are {rows:,} rows and {len(head):,} characters in the header; allowed are "
                       f"{MOST_ROWS:,} and {LONGEST_ROW:,}.")  # fmt: skip
    if row > 1:
        found.append(f"{row - 1} rows above the header were passed over.")
    delimiter = "\t" if "\t" in head else ";" if ";" in head else ","
    columns, other = [], []
    for place, cell in enumerate(head.replace('"', "").split(delimiter)):
        told = _column(cell)
        if told is None:
            other.append(cell.strip()[:30] or f"number {place + 1}")
        elif told[0] in (column for column, _, _ in columns):
            raise LogError(f"{name}: two columns are named {told[0]}; allowed is one.")
        elif told[1] not in UNITS[told[0]]:
            unit = f"the unit of {told[0]} is {told[1][:20]!r}" if told[1] else f"{told[0]} has no unit"
            allowed = ", ".join(unit or "none" for unit in UNITS[told[0]])
            raise LogError(f"{name}: {unit}; allowed are {allowed}, as in {told[0]} ({[*UNITS[told[0]]][0]}).")
        else:
            columns.append((told[0], place, UNITS[told[0]][told[1]]))
    if "time" not in (column for column, _, _ in columns) or len(columns) < 2:
        raise LogError(f"{name}: the header in row {row} is {head[:60]!r}; it must name time and one or more of "
                       f"{', '.join(list(UNITS)[1:])}, with units.")  # fmt: skip
    if other:
        found.append(f"Left out, for no channel has the name: {', '.join(other)}.")
    return columns, delimiter, row, text[start:]


def _column(cell):
    """(name, unit) of a header's cell; None if it names no channel."""
    cell = " ".join(cell.replace("_", " ").split())
    for name in UNITS:
        rest = cell[len(name) :] if cell.lower().startswith(name) else None
        parts = rest is not None and re.fullmatch(r"\s*(?:[(\[](.*?)[)\]]|[/,]?\s*(\S*))\s*", rest)
        if parts:
            unit = (parts[1] or parts[2] or "").strip().replace("\u03bc", "µ")
            return name, unit
    return None


def numbers_of(name, columns, delimiter, row, text, found):
    """The columns' numbers, shape (rows, columns), NaN where there is none; text: the header and what is below."""
    head, _, text = text.partition("\n")
    width, places, text = head.count(delimiter) + 1, [place for _, place, _ in columns], text.rstrip("\n")
    if '"' in text:
        text = text.replace('"', "")
    if delimiter != "," and "," in text:
        text = text.replace(",", ".")
        found.append("Decimal commas were read as points.")
    for gap, filled in ((delimiter * 2, f"{delimiter}nan{delimiter}"), (f"{delimiter}\n", f"{delimiter}nan\n")):
        if gap in text:
            text = text.replace(gap, filled).replace(gap, filled)

    def plainly(part, rows):
        if part.count(delimiter) == (width - 1) * rows and part.strip():
            try:
                return np.loadtxt(io.StringIO(part), delimiter=delimiter, usecols=places, ndmin=2)
            except ValueError:
                return None
        return None

    table, uneven, odd = plainly(text, text.count("\n") + 1), [], []
    if table is None:
        lines, parts = text.split("\n"), []
        for k in range(0, len(lines), CHUNK):
            some = lines[k : k + CHUNK]
            part = plainly("\n".join(some), len(some))
            parts.append(_slowly(columns, delimiter, width, row + 1 + k, some, uneven, odd) if part is None else part)
        table = np.concatenate(parts)
        if len(uneven) + len(odd) > MOST_LOST * len(lines):
            hint = " (with commas between the columns the decimal sign must be a point)" if delimiter == "," else ""
            where, told = min(uneven + odd, key=lambda fault: fault[0])
            raise LogError(f"{name}: {len(uneven)} rows do not fill the {width} columns and {len(odd)} cells are no "
                           f"number, first {told} in row {where}; allowed are {100 * MOST_LOST:.0f} % of the rows"
                           f"{hint}.")  # fmt: skip
    for some, told in ((uneven, f"rows do not fill the {width} columns and were left out"),
                       (odd, "cells that hold no number count as missing")):  # fmt: skip
        if some:
            found.append(f"{len(some)} {told}, first {some[0][1]} in row {some[0][0]}.")
    if (infinite := np.isinf(table)).any():
        table[infinite] = np.nan
        found.append(f"{infinite.sum()} infinite values count as missing.")
    return table


def _slowly(columns, delimiter, width, first, lines, uneven, odd):
    """As `numbers_of`, cell by cell: what is no number becomes NaN, rows of other columns go; (row, what) of each."""
    table = []
    for row, line in enumerate(lines, first):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        cells = line.split(delimiter)
        if len(cells) != width:
            uneven.append((row, f"{len(cells)} cells"))
            continue
        table.append([])
        for column, place, _ in columns:
            try:
                table[-1].append(float(cells[place]))
            except ValueError:
                table[-1].append(math.nan)
                if cells[place].strip():
                    odd.append((row, f"{column} {cells[place].strip()[:20]!r}"))
    return np.array(table, dtype=float).reshape(-1, len(columns))
