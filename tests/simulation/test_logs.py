"""Logs are read in any common form, what was wrong with them is told, and what cannot be used is one sentence."""

import gzip
import math

import numpy as np
import pytest

from helpers.simulation.logs import LogError, load_log

HEAD = "time (s),wheel acceleration (g),pressure (bar)"
ROWS = [f"{0.002 * k:.4f},{(7 * k % 11 - 5) / 4:.2f},{12 - k % 3}" for k in range(100)]
PLAIN = "\n".join([HEAD, *ROWS])


def with_rows(change):
    """PLAIN with some of its rows changed: {place: row, or None to leave it out}."""
    rows = [change.get(k, row) for k, row in enumerate(ROWS)]
    return "\n".join([HEAD, *(row for row in rows if row is not None)])


def semicolons(text):
    return text.replace(",", ";").replace(".", ",")


def test_units_become_si():
    log = load_log(PLAIN)
    assert log.found == ()
    assert log.time[:3] == pytest.approx([0.0, 0.002, 0.004])
    assert log.wheel_acceleration[0] == pytest.approx(-1.25 * 9.80665)  # standard gravity, CODATA: exact
    assert log.pressure[1] == 11e5
    assert (log.rate, log.jitter) == pytest.approx((500.0, 0.0), abs=1e-9)
    other = load_log("Time [ms]\tValve_Command_%\ttravel/mm\tcurrent (mA)\n0\t50\t3\t20\n5\t100\t-4\t20\n10\t0\t1\t20")
    assert other.time[1] == 0.005
    assert other.valve_command[0] == 0.5
    assert other.travel[1] == pytest.approx(-0.004)
    assert other.current[0] == pytest.approx(0.02)


SAME = {
    "bytes": PLAIN.encode(), "a byte-order mark": b"\xef\xbb\xbf" + PLAIN.encode(), "UTF-16": PLAIN.encode("utf-16"),
    "UTF-16, big end first": b"\xfe\xff" + PLAIN.encode("utf-16-be"), "gzip": gzip.compress(PLAIN.encode()),
    "line ends of Windows": PLAIN.replace("\n", "\r\n"), "old line ends": PLAIN.replace("\n", "\r").encode(),
    "decimal commas": semicolons(PLAIN), "tabs": PLAIN.replace(",", "\t"), "blank rows at the end": PLAIN + "\n\n\n",
    "comments above": "# yard, dry\n\n" + PLAIN, "quotes": PLAIN.replace(",", '","').replace("\n", '"\n"'),
    "another column": PLAIN.replace("\n", ",x\n").replace("(bar),x", "(bar),note") + ",x",
    "spaces": PLAIN.replace(",", " , "), "Windows-1252": b"# at 20 \xb0C\n" + PLAIN.encode(),
    "columns in another order": "\n".join(",".join(row.split(",")[::-1]) for row in [HEAD, *ROWS]),
}  # fmt: skip


@pytest.mark.parametrize("form", SAME)
def test_the_form_does_not_matter(form):
    log, plain = load_log(SAME[form]), load_log(PLAIN)
    assert np.array_equal(log.time, plain.time)
    assert np.array_equal(log.wheel_acceleration, plain.wheel_acceleration)
    assert np.array_equal(log.pressure, plain.pressure)


MENDED = {  # rows changed, rows left, what is told
    "a missing value": ({3: "0.006,,11"}, 100, "wheel acceleration: 1 values are missing."),
    "a last value missing": ({99: "0.198,0.5,"}, 100, "pressure: 1 values are missing."),
    "a word": ({3: "0.006,OVR,11"}, 100, "1 cells that hold no number count as missing, first wheel acc"),
    "infinity": ({3: "0.006,inf,11"}, 100, "1 infinite values count as missing."),
    "a row cut short": ({99: "0.198,0.5"}, 99, "1 rows do not fill the 3 columns and were left out, first 2 cells in"),
    "no time": ({5: ",0.5,11"}, 99, "1 rows without a time were left out."),
    "a time twice": ({6: ROWS[5]}, 99, "1 rows repeat a time; the first of each was kept."),
    "rows changed over": ({5: ROWS[6], 6: ROWS[5]}, 100, "Time went back 1 times, by 0.002 s at most: rows"),
    "missing samples": (dict.fromkeys(range(40, 45)), 95, "1 gaps, together 5 samples, the longest 0.012 s: left open"),
    "a saturated channel": ({k: f"{0.002 * k:.4f},16,11" for k in range(50, 56)}, 100,
                            "stands at its end, 156.9, in 6 rows, up to 6 in a row: saturated"),
    "an offset": ({k: f"{0.002 * k:.4f},1,11" for k in range(60)}, 100, "acceleration stands at 9.81 m/s² at rest"),
}  # fmt: skip


@pytest.mark.parametrize("fault", MENDED)
@pytest.mark.parametrize("form", [str, semicolons])
def test_what_is_mended_is_told(fault, form):
    change, rows, told = MENDED[fault]
    log = load_log(form(with_rows(change)))
    assert len(log.time) == rows
    assert (np.diff(log.time) > 0.0).all()
    assert sum(told in line for line in log.found) == 1, log.found
    assert told in repr(log)
    assert len(log.found) <= 2 + (form is semicolons), log.found


REFUSED = {
    "empty": ("\n\n", "it is empty"), "a header alone": (HEAD + "\n", "0 rows have a time; allowed are two or more"),
    "no time": ("pressure (bar)\n1\n2", "must name time and one or more of wheel acceleration"),
    "time alone": ("time (s)\n1\n2", "must name time and one or more of"),
    "no header": ("\n".join(ROWS), "must name time"),
    "no unit": (PLAIN.replace(" (bar)", ""), "pressure has no unit; allowed are Pa, kPa, MPa, bar, psi"),
    "another unit": (PLAIN.replace("(g)", "(mile)"), "unit of wheel acceleration is 'mile'; allowed"),
    "a column twice": (PLAIN.replace("pressure (bar)", "time (s)"), "two columns are named time"),
    "commas for both": (PLAIN.replace(".", ","), "the decimal sign must be a point"),
    "words": (HEAD + "\n" + "\n".join(["0,a,b"] * 9), "cells are no number, first wheel acceleration 'a' in row 2"),
    "a clock set anew": (PLAIN + "\n" + "\n".join(ROWS[:50]), "time goes back 1 times, by 0.198 s"),
    "a clock far back": (PLAIN.replace("\n0.0", "\n9.0"), "time goes back 1 times, by 8.998 s"),
    "seconds for milliseconds": (PLAIN.replace("\n0.0", "\n0").replace("\n0.1", "\n1"), "is time in the unit named"),
    "an empty column": ("time (s),travel (mm)\n" + "\n".join(f"{k / 100},nan" for k in range(9)), "travel holds no"),
    "no text": (b"\x89PNG\0\0", "this is not a text file"), "a broken pack": (b"\x1f\x8bxx", "cannot be unpacked"),
    "a number": (3, "int is given; allowed are a file's path, its text or its bytes"),
    "no file": ("nowhere.csv", "nowhere.csv: there is no such file"),
}  # fmt: skip


@pytest.mark.parametrize("fault", REFUSED)
def test_what_cannot_be_used_is_one_sentence(fault):
    given, told = REFUSED[fault]
    with pytest.raises(LogError) as problem:
        load_log(given)
    said = str(problem.value)
    assert told in said
    assert problem.value._render_traceback_() == [said]
    assert "\n" not in said


def test_a_file_is_read_and_its_clock_mended(tmp_path):
    path = tmp_path / "yard.csv.gz"
    path.write_bytes(gzip.compress(PLAIN.encode()))
    log = load_log(path, drift=100e-6)
    assert log.name == "yard.csv.gz"
    assert log.time[-1] == pytest.approx(0.198 / 1.0001, abs=1e-12)
    assert log.found == ("The clock's drift of 100 ppm was taken off.",)
    with pytest.raises(ValueError, match="drift is 2"):
        load_log(path, drift=2)


def test_rate_and_jitter_pass_over_gaps():
    draw = np.random.default_rng(3)
    time = 0.004 * np.arange(2000) + 1e-4 * draw.standard_normal(2000)
    time[1200:] += 0.5
    log = load_log("time (s),travel (mm)\n" + "\n".join(f"{t:.7f},{k % 9}" for k, t in enumerate(time)))
    assert log.rate == pytest.approx(250.0, rel=1e-4)
    assert log.jitter == pytest.approx(1e-4 * math.sqrt(2.0), rel=0.05)  # of a difference of two
    assert "1 gaps, together 125 samples" in log.found[0]


def test_a_slower_logger_and_a_part():
    log = load_log(PLAIN)
    assert np.array_equal(log.every(5, 2).pressure, log.pressure[2::5])
    assert log.every(5).rate == pytest.approx(100.0)
    assert len(log.between(0.05, 0.1).time) == 26
    with pytest.raises(AttributeError, match="has no 'current'; it has time, wheel_acceleration, pressure"):
        _ = log.current
