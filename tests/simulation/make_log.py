"""The log that ships with workbook 10, from the simulator with a known truth:

    python tests/simulation/make_log.py        # from the project's folder; writes workbooks/data/yard-log.csv.gz

Motorcycle, forty planks and twenty-four low boards, logged at 500 Hz by a clock 30 ppm fast; noise, quantisation, three
gaps, a row written twice and one written late. The truth is `TRUTH`, from the chain alone.
"""

import gzip
import io
import math
from pathlib import Path

from helpers.control.timing import Timing
from helpers.models.machines import MACHINES
from helpers.simulation.loggers import recording

PATH = Path(__file__).resolve().parents[2] / "workbooks/data/yard-log.csv.gz"
CHAIN = Timing(sample_rate=800.0, compute=1e-3, bus=0.5e-3, jitter=0.5e-3, valve_dead_time=2e-3,
               valve_time_constant=4e-3)  # fmt: skip
_DEAD = 0.5 / 800.0 + 1e-3 + 0.5e-3 + 0.25e-3 + 2e-3
TRUTH = {"dead_time": _DEAD, "to_63": _DEAD + 4e-3, "to_90": _DEAD + 4e-3 * math.log(10.0), "hold": 0.25 - 1.0 / 800.0}
LOST, TWICE, LATE = ((7000, 7004), (15500, 15501), (21000, 21010)), 9000, 12000  # rows


def rows():
    """The file's text."""
    log = recording(MACHINES["motorcycle"], CHAIN, events=40, low=24, seed=11).log(500.0, seed=11, drift=30e-6)
    lines = [f"{t:.4f};{a:.2f};{100 * c:.0f};{p:.2f}".replace(".", ",") for t, a, c, p in zip(
        log.time, log.wheel_acceleration / 9.80665, log.valve_command, log.pressure / 1e5, strict=True)]  # fmt: skip
    lines[LATE], lines[LATE + 1] = lines[LATE + 1], lines[LATE]
    lines.insert(TWICE, lines[TWICE])
    gone = {k for first, last in LOST for k in range(first, last)}
    head = ["# Skarrow Fell Rescue, motorcycle, planks in the yard; invented for the course",
            "time (s);wheel acceleration (g);valve command (%);pressure (bar)"]  # fmt: skip
    return "\n".join(head + [line for k, line in enumerate(lines) if k not in gone]) + "\n"


def packed(text):
    """The text as gzip of the same bytes each time."""
    held = io.BytesIO()
    with gzip.GzipFile(filename="", fileobj=held, mode="wb", mtime=0) as file:
        file.write(b"\xef\xbb\xbf" + text.encode())
    return held.getvalue()


if __name__ == "__main__":
    PATH.write_bytes(packed(rows()))
    print(f"{PATH.name}: {PATH.stat().st_size} bytes, {rows().count(chr(10))} lines")
