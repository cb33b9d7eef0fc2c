"""Reading a learner's own ground: the shipped sample, the forms accepted, and one sentence for each bad file."""

import os
import subprocess
import sys
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.models.terrain import half_round, iso_8608, step, washboard
from helpers.models.terrain_file import MAX_ROWS, TerrainFileError, read_terrain

SAMPLE = Path(__file__).parents[2] / "workbooks" / "data" / "quarry-track.csv"


def quarry_track():
    """The text of workbooks/data/quarry-track.csv: an invented haul road, 120 m surveyed every 10 cm or so.

    Class C roughness, a stretch of washboard, two rocks and a kerb on a gradient of 4 %.
    """
    draw = np.random.default_rng(17)
    ground = iso_8608("C", 120.0, seed=draw, band=(0.05, 2.0))
    ground = ground.plus(washboard(0.03, 0.9, 18.0), at=30.0)
    ground = ground.plus(half_round(0.06, 1.0, 2.0, width=0.3), at=60.0).plus(half_round(0.08, 1.0, 2.0), at=75.0)
    ground = ground.plus(step(0.05, 1.0, 2.0), at=95.0)
    # A hand-pushed survey wheel: intervals vary by a centimetre or so.
    distance = np.round(0.1 * np.arange(1201) + np.append(0.0, draw.uniform(-0.01, 0.01, 1200)), 3)
    height = ground.at(distance) - ground.at(0.0) + 0.04 * distance
    rows = [f"{x:.3f},{1000 * z:.1f}" for x, z in zip(distance, height, strict=True)]
    return "\n".join(
        [
            "# Quarry track, Skarrow Fell: an invented profile, made for this course.",
            "# Distance along the ground from the gate, height above it.",
            "distance_m,height_mm",
            *rows,
            "",
        ]
    )


def text_of(rows=200, header="distance_m,height_mm", delimiter=","):
    """A good file: a row every 10 cm, heights to 20 mm."""
    body = [f"{0.1 * k:.1f}{delimiter}{10 * (k % 3)}" for k in range(rows)]
    return "\n".join([header, *body, ""])


def refusal(source, **options):
    """The sentence that a bad file gets."""
    with pytest.raises(TerrainFileError) as error:
        read_terrain(source, **options)
    told = str(error.value)
    assert told.endswith(".")
    assert "\n" not in told
    assert len(told) < 260
    return told


# --- the sample --------------------------------------------------------------------------------------------------


def test_shipped_sample_is_what_the_function_makes():
    shipped, made = SAMPLE.read_text(encoding="utf-8").splitlines(), quarry_track().splitlines()
    assert shipped[:3] == made[:3]
    # 0.1 mm: the last digit written, which may round either way on another machine.
    assert np.array([row.split(",") for row in shipped[3:]], float) == pytest.approx(
        np.array([row.split(",") for row in made[3:]], float), abs=0.11
    )


def test_sample_reads_back():
    ground = read_terrain(SAMPLE)
    assert ground.name == "quarry-track.csv"
    assert ground.rows == 1201
    assert ground.gradient == pytest.approx(0.04, abs=0.003)
    assert ground.profile.length == pytest.approx(120.0, abs=0.03)
    assert ground.profile.spacing == pytest.approx(0.02)
    assert ground.profile.height[0] == 0
    rough = np.array([row.split(",") for row in quarry_track().splitlines()[3:]], float)
    expected = rough[:, 1] / 1000 - rough[0, 1] / 1000 - ground.gradient * rough[:, 0]
    assert ground.profile.at(rough[:, 0]) == pytest.approx(expected, abs=0.02)
    assert np.mean(np.abs(ground.profile.at(rough[:, 0]) - expected)) < 1e-3


# --- what is accepted --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "header",
    ["distance_m,height_mm", "distance [m], height [mm]", "Distance (m),Height (mm)", '"distance m","height mm"'],
)
def test_headers(header):
    ground = read_terrain(text_of(header=header))
    assert ground.rows == 200
    assert ground.profile.at([0.05, 0.1]) == pytest.approx([0.005, 0.01], abs=1e-4)


@pytest.mark.parametrize(("unit", "factor"), [("m", 1.0), ("cm", 0.01), ("mm", 0.001), ("km", 1000.0)])
def test_units(unit, factor):
    rows = [f"{0.1 * k / factor!r},{0.01 * (k % 2) / factor!r}" for k in range(101)]
    ground = read_terrain("\n".join([f"distance_{unit},height_{unit}", *rows]))
    assert ground.profile.length == pytest.approx(10.0)
    assert ground.profile.at([0.1, 0.2]) == pytest.approx([0.01, 0.0], abs=1e-9)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r\n\r\n"])
def test_delimiters_line_endings_and_a_byte_order_mark(delimiter, ending, tmp_path):
    text = text_of(header=f"distance_m{delimiter}height_mm", delimiter=delimiter)
    if delimiter != ",":
        text = text.replace(".", ",")
    path = tmp_path / "track.csv"
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", ending).encode())
    expected = read_terrain(text_of())
    for source in (path, str(path), path.read_bytes()):
        found = read_terrain(source)
        assert found.rows == 200
        assert np.array_equal(found.profile.height, expected.profile.height)


def test_comments_other_columns_and_any_order():
    rows = [f"08:00:{k:02d},{k % 2},{0.5 * k}" for k in range(40)]
    ground = read_terrain("\n".join(['# said "so, there', "", "time,height [cm],distance [m]", "# surveyed", *rows]))
    assert ground.rows == 40
    assert ground.profile.at([0.5, 1.0]) == pytest.approx([0.01 - ground.gradient * 0.5, -ground.gradient], abs=1e-9)


def test_gradient_is_taken_off_and_the_profile_starts_at_zero():
    rows = [f"{5 + 0.1 * k},{100 + 0.02 * k}" for k in range(101)]
    ground = read_terrain("\n".join(["distance_m,height_m", *rows]))
    assert ground.gradient == pytest.approx(0.2)
    assert ground.profile.distance[[0, -1]] == pytest.approx([0.0, 10.0])
    assert ground.profile.height == pytest.approx(0.0, abs=1e-9)


def test_fine_rows_are_averaged_over_one_spacing():
    # A texture of 2 mm wavelength, far finer than the 20 mm spacing, must vanish rather than alias.
    x = 0.0005 * np.arange(8001)
    rows = [f"{a!r},{b!r}" for a, b in zip(x.tolist(), (5 * np.sin(2 * np.pi * x / 0.0021)).tolist(), strict=True)]
    ground = read_terrain("\n".join(["distance_m,height_mm", *rows]))
    # The mean of a sine of 5 mm over L is at most 5 mm x 2.1/(pi L): 0.17 mm over 20 mm, 0.33 mm at the half ends.
    assert np.abs(ground.profile.height).max() < 0.51e-3


@given(st.lists(st.floats(-0.5, 0.5), min_size=30, max_size=120), st.floats(0.05, 0.9))
@settings(max_examples=40, deadline=None)
def test_written_profile_comes_back(heights, interval):
    distance = interval * np.arange(len(heights))
    if distance[-1] < 2.0:
        return
    rows = [f"{x!r};{z!r}" for x, z in zip(distance.tolist(), heights, strict=True)]
    ground = read_terrain("\n".join(["distance_m;height_m", *rows]))
    expected = np.interp(ground.profile.distance, distance, heights) - heights[0]
    assert ground.profile.height == pytest.approx(expected - ground.gradient * ground.profile.distance, abs=1e-9)


# --- what is refused: one sentence with the row and the reason ------------------------------------------------------


def replaced(row, line, **options):
    """A good file with the line of one row (counted in the file, the header is 1) replaced."""
    lines = text_of(**options).split("\n")
    lines[row - 1] = line
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (replaced(1, "distance_m,z_mm"), "text, row 1: no column named height"),
        (replaced(1, "0.0,1.0"), "text, row 1: no column named distance"),
        (replaced(1, "distance_m,height_mm,height_m"), "text, row 1: 2 columns named height"),
        (replaced(1, "distance_ft,height_mm"), "text, row 1: the unit of distance is 'ft'; allowed are m, cm, mm, km"),
        (replaced(1, "distance_m,height"), "row 1: height has no unit; allowed are m, cm, mm, km, as in height_m"),
        (replaced(9, "0.7,abc"), "text, row 9: height is 'abc', which is not a number."),
        (replaced(9, "0.7 m,3"), "text, row 9: distance is '0.7 m', which is not a number."),
        (replaced(9, "0.7,1_0"), "text, row 9: height is '1_0', which is not a number."),
        (replaced(9, "0.7,"), "text, row 9: height is blank."),
        (replaced(9, " ,3"), "text, row 9: distance is blank."),
        (replaced(9, "0.7,NaN"), "text, row 9: height is NaN, which is not a finite number."),
        (replaced(9, "0.7,-inf"), "text, row 9: height is -inf, which is not a finite number."),
        (replaced(9, "0.7"), "text, row 9: the header names 2 columns and this row fills 1."),
        (replaced(9, "0,7,3,0"), "names 2 columns and this row fills 4; a decimal comma needs semicolons"),
        (replaced(9, "0.6,3"), "text, row 9: distance 0.6 m repeats that of row 8;"),
        (replaced(9, "0.4,3"), "text, row 9: distance 0.4 m is less than that of row 8;"),
        (replaced(9, "0.7,9000"), "text, row 9: height jumps by 9 m after row 8; allowed is 2 m"),
        (replaced(9, '"0.7,3'), "text, row 9: the header names 2 columns and this row fills 1"),
        ("# only\n\n", "text: the file is empty; it needs a header"),
        ("distance_m,height_mm\n", "text: there are no rows below the header"),
        ("distance_m,height_mm\n0,0\n", "text: there is only one row below the header"),
        (text_of(rows=10), "text: the distance covered is 0.9 m; allowed is 2 to 20,000 m"),
        (text_of(header="distance_km,height_mm"), "allowed is 1 m at most"),
        (text_of(rows=300, header="distance_km,height_mm"), "text: the distance covered is 29900 m; allowed is 2 to"),
    ],
)
def test_bad_text(text, told):
    assert told in refusal(text)


def test_a_gap_is_named_by_both_its_rows():
    lines = text_of().split("\n")
    del lines[50:60]
    assert "text, row 51: a gap of 1.1 m after row 50; allowed is five times the median interval of 0.1 m" in refusal(
        "\n".join(lines)
    )


def test_rows_are_counted_as_in_the_file():
    text = "# one\n\n" + replaced(9, "0.7,abc").replace("\n0.3", "\n# between\n0.3")
    assert "text, row 12: height is 'abc'" in refusal(text)
    assert text.split("\n")[12 - 1] == "0.7,abc"


def test_a_steep_slope_is_a_slip_of_unit():
    rows = [f"{0.1 * k},{k}" for k in range(200)]
    assert "the mean gradient is 1000 %; allowed is 100 % either way" in refusal(
        "\n".join(["distance_m,height_m", *rows])
    )


def test_files_that_are_not_text(tmp_path):
    path = tmp_path / "table.csv"
    path.write_bytes(b"PK\x03\x04\x00\x00\x08\x08" * 100)
    assert refusal(path) == "table.csv: this is not a text file; save the table as CSV in UTF-8."
    path.write_bytes(text_of().encode("utf-16"))
    assert "not a text file" in refusal(path)
    path.write_bytes(text_of().encode() + b"# caf\xe9\n")
    assert "table.csv, row 202: this is not UTF-8 text" in refusal(path)


def test_missing_file_and_folder(tmp_path):
    assert refusal(tmp_path / "gone.csv") == "gone.csv: there is no such file; check its name and its folder."
    assert "gone.csv: there is no such file" in refusal(str(tmp_path / "gone.csv"))
    assert refusal(tmp_path) == f"{tmp_path.name}: this is a folder, not a file; give the path of a CSV file."
    assert "there is no such file" in refusal("")


def test_too_many_rows_by_one():
    assert read_terrain(text_of(rows=200), max_rows=200).rows == 200
    assert refusal(text_of(rows=201), max_rows=200) == "text, row 202: there are more than the 200 rows allowed."


def test_ten_million_rows_are_refused_without_reading_them_all(tmp_path):
    path = tmp_path / "long.csv"
    block = b"0.01,1\n" * 100_000
    with path.open("wb") as file:
        file.write(b"distance_m,height_mm\n")
        for _ in range(100):
            file.write(block)
        file.write(b"\0")  # had the end been read, the file would be called no text
    assert refusal(path) == f"long.csv: there are more than the {MAX_ROWS:,} rows allowed; cut the file."


def test_what_is_no_file_is_refused_before_it_is_opened(tmp_path):
    """A pipe that nobody writes to would hang the kernel: opened in a child that is killed if it does."""
    if not hasattr(os, "mkfifo"):
        pytest.skip("this system has no named pipes")
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "link.csv").symlink_to(tmp_path / "pipe.csv")
    code = (
        "import sys\nfrom helpers.models.terrain_file import TerrainFileError, read_terrain\n"
        "for name in sys.argv[1:]:\n"
        "    try: read_terrain(name)\n"
        "    except TerrainFileError as error: print(error)"
    )
    names = [str(tmp_path / "pipe.csv"), str(tmp_path / "link.csv"), "/dev/zero", "/dev/stdin", "/dev/tty"]
    asked = subprocess.run(
        [sys.executable, "-c", code, *names], capture_output=True, text=True, timeout=300, stdin=subprocess.PIPE
    )
    told = [line.split(": ", 1)[1] for line in asked.stdout.splitlines()]
    assert told == 5 * ["this is a pipe or a device, not a file; give the path of a CSV file."], asked.stderr


def test_links_in_a_loop(tmp_path):
    (tmp_path / "a.csv").symlink_to(tmp_path / "b.csv")
    (tmp_path / "b.csv").symlink_to(tmp_path / "a.csv")
    assert "a.csv: the file cannot be opened (Too many" in refusal(tmp_path / "a.csv")


@pytest.mark.parametrize("source", [None, 3, 0, 2.5, ["a.csv"], {}, object(), read_terrain])
def test_an_object_of_another_type(source):
    """0 would be the standard input, were it opened."""
    told = f"The terrain is given as {type(source).__name__}; allowed are a file's path, its text or its bytes."
    assert refusal(source) == told


@pytest.mark.parametrize("source", [SAMPLE, str(SAMPLE), SAMPLE.read_bytes(), bytearray(SAMPLE.read_bytes())])
def test_path_text_and_bytes_are_one_ground(source):
    assert np.array_equal(read_terrain(source).profile.height, read_terrain(SAMPLE.read_text("utf-8")).profile.height)


def test_odd_names_stay_within_one_sentence(tmp_path):
    for name in ("a\nb.csv", "\udce9.csv", "x" * 250, "x" * 5000):
        refusal(tmp_path / name)


def peak_while(act) -> int:
    """The most memory, in bytes, that `act` had allocated at once."""
    tracemalloc.start()
    act()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


@pytest.mark.parametrize("row", ["header", "number", "comment"])
def test_a_row_of_200_megabytes_is_refused_from_its_beginning(tmp_path, row):
    path = tmp_path / "wide.csv"
    start = {"header": b"", "number": b"distance_m,height_mm\n0,", "comment": b"# "}[row]
    with path.open("wb") as file:
        file.write(start)
        for _ in range(200):
            file.write(b"d" * (1 << 20))
    told = []
    assert peak_while(lambda: told.append(refusal(path))) < 20 << 20
    assert told == ["wide.csv: a row has more than the 10,000 characters allowed; cut the row."]


def test_a_long_text_in_short_rows_is_refused():
    text = "distance_m,height_mm\n" + 400 * (" " * 5000 + "\n") * 40
    assert refusal(text) == "text: there are more than the 64 MB allowed; cut the file."
    assert refusal(text.encode()) == "file: there are more than the 64 MB allowed; cut the file."


def test_rows_parted_by_carriage_returns_are_rows():
    assert read_terrain(text_of(rows=5000).replace("\n", "\r").encode()).rows == 5000


@given(st.binary(max_size=400))
@settings(max_examples=150, deadline=None)
def test_any_bytes_are_read_or_refused_in_one_sentence(data):
    try:
        read_terrain(data)
    except TerrainFileError as error:
        assert str(error).count("\n") == 0


@given(st.integers(1, 30), st.text(max_size=30))
@settings(max_examples=150, deadline=None)
def test_any_text_in_a_row_is_read_or_refused_in_one_sentence(row, line):
    try:
        read_terrain(replaced(row, line))
    except TerrainFileError as error:
        assert str(error).count("\n") == 0
