"""Rides stepped abreast, with and without metrics, against one ride at a time in C and in numba.

    python tests/benchmarks/sweep.py

Needs a C compiler called `cc`. The ride is that of `kernel.py`: 20 s of the trail bike under two-state skyhook, steps
of 0.25 ms. The sweep is over both settings of its valve, a map of 32 by 32, on a thread for each core, everything from
the grid to the map counted. Without metrics: the batches alone, logged at start and end. With all elements: a damper
that yields, seals that stick, a tyre with rim and friction, against C with the same. Where other programs run,
processor time over cores tells what the wall clock hides.
"""

import math
import os
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))

from kernel import DURATION, LAW, SPEED, TIMING, WHOLE, Case, InC, seconds  # noqa: E402

from fleet import TRAIL_BIKE  # noqa: E402
from helpers.control.laws import TwoStateSkyhook  # noqa: E402
from helpers.models.terrain import Profile, iso_8608  # noqa: E402
from helpers.simulation.batch import Ride, ride_abreast  # noqa: E402
from helpers.simulation.lane_metrics import NAMES  # noqa: E402
from helpers.simulation.lane_step import LANES  # noqa: E402
from helpers.simulation.sweep import sweep  # noqa: E402

CORES, ROUNDS, SIDE = os.cpu_count(), 20, 32
RUNS = SIDE * SIDE
ROAD = iso_8608("D", SPEED * DURATION + 1.0, seed=1)
ROAD = Profile.of(ROAD.height[: round(SPEED * DURATION / ROAD.spacing) + 1], ROAD.spacing)
GRID = {"soft": np.linspace(0.0, 0.1, SIDE), "firm": np.linspace(0.2, 0.8, SIDE)}
ELEMENTS = "C with all elements, one ride at a time, one core"
UNWEIGHTED = [name for name in NAMES if name not in ("comfort", "hand_arm")]


def run_of(soft, firm):
    return Ride(TRAIL_BIKE, ROAD, SPEED, TwoStateSkyhook(soft, firm), TIMING)


def with_elements(soft, firm):
    return Ride(WHOLE, ROAD, SPEED, TwoStateSkyhook(soft, firm), TIMING)


def at_speeds(soft, firm):
    """As many speeds as rides, each within 5 % of the others': every lane has its own road."""
    speed = SPEED * (1.0 + 0.5 * soft + 0.01 * firm)
    return Ride(TRAIL_BIKE, ROAD, speed, LAW, TIMING)


def main():
    case, whole = Case.of(DURATION), Case.of(DURATION, WHOLE)
    unlogged = [Ride(TRAIL_BIKE, ROAD, SPEED, LAW, TIMING, log_step=DURATION)] * LANES
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(CORES) as pool:
        plain, elements = InC(case, folder, "plain"), InC(whole, folder, "elements")
        ways = {
            "C, one ride at a time, one core": (plain.run, 1, 1),
            "numba, one ride at a time, one core": (case.run, 1, 1),
            f"sweep, all metrics, {CORES} cores": (lambda: sweep(run_of, GRID, pool), RUNS, CORES),
            f"sweep, all metrics without a weighting, {CORES} cores": (
                lambda: sweep(run_of, GRID, pool, metrics=UNWEIGHTED), RUNS, CORES,
            ),
            f"sweep, all metrics, every ride at its own speed, {CORES} cores": (
                lambda: sweep(at_speeds, GRID, pool), RUNS, CORES,
            ),
            f"batches without metrics, {CORES} cores": (
                lambda: list(pool.map(ride_abreast, [unlogged] * (RUNS // LANES))), RUNS, CORES,
            ),
            ELEMENTS: (elements.run, 1, 1),
            "numba with all elements": (whole.run, 1, 1),
            f"sweep with all elements, all metrics without a weighting, {CORES} cores": (
                lambda: sweep(with_elements, GRID, pool, metrics=UNWEIGHTED), RUNS, CORES,
            ),
        }  # fmt: skip
        best = {name: [math.inf, math.inf] for name in ways}
        for call, *_ in ways.values():
            call()
        for _ in range(ROUNDS):
            for name, (call, runs, cores) in ways.items():
                if runs == 1:
                    call()  # some machines take back memory that rested meanwhile: a second call finds it again
                began = time.process_time()
                took = seconds(call) / runs
                worked = (time.process_time() - began) / runs / cores
                best[name] = [min(best[name][0], took), min(best[name][1], worked)]
    c = next(iter(best.values()))
    print(f"| {DURATION:g} s of riding, best of {ROUNDS} | ms a ride | C / this | processor time / cores | C / this |")
    print("|---|---|---|---|---|")
    for name, (took, worked) in best.items():
        c = best[ELEMENTS] if name == ELEMENTS else c
        print(f"| {name} | {1e3 * took:.3f} | {c[0] / took:.1f} | {1e3 * worked:.3f} | {c[1] / worked:.1f} |")


if __name__ == "__main__":
    main()
