"""Rides stepped abreast, with and without metrics, against one ride at a time in C and in numba.

    python tests/benchmarks/sweep.py

Needs a C compiler called `cc`. The ride is that of `kernel.py`: 20 s of the trail bike under two-state skyhook, steps
of 0.25 ms. The sweep is over both settings of its valve, on a thread for each core, everything from the grid to the map
counted. Without metrics: the batches alone, logged at their start and end.
"""

import math
import os
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))

from kernel import DURATION, LAW, SPEED, TIMING, Case, InC, seconds  # noqa: E402

from helpers.control.laws import TwoStateSkyhook  # noqa: E402
from helpers.models.terrain import Profile, iso_8608  # noqa: E402
from helpers.models.vehicles import TRAIL_BIKE  # noqa: E402
from helpers.simulation.batch import Ride, ride_abreast  # noqa: E402
from helpers.simulation.lane_step import LANES  # noqa: E402
from helpers.simulation.sweep import sweep  # noqa: E402

CORES, ROUNDS, SIDE = os.cpu_count(), 15, 16
RUNS = SIDE * SIDE
ROAD = iso_8608("D", SPEED * DURATION + 1.0, seed=1)
ROAD = Profile.of(ROAD.height[: round(SPEED * DURATION / ROAD.spacing) + 1], ROAD.spacing)
GRID = {"soft": np.linspace(0.0, 0.1, SIDE), "firm": np.linspace(0.2, 0.8, SIDE)}


def run_of(soft, firm):
    return Ride(TRAIL_BIKE, ROAD, SPEED, TwoStateSkyhook(soft, firm), TIMING)


def stepped(pool, rides):
    """Step all rides without a log, a batch a task."""
    batches = [rides[first : first + LANES] for first in range(0, len(rides), LANES)]
    return list(pool.map(ride_abreast, batches))


def main():
    case = Case.of(DURATION)
    unlogged = [Ride(TRAIL_BIKE, ROAD, SPEED, LAW, TIMING, log_step=DURATION)] * RUNS
    different = [Ride(TRAIL_BIKE, ROAD, SPEED + 1e-3 * k, LAW, TIMING) for k in range(LANES)]
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(CORES) as pool:
        plain = InC(case, folder, "plain")
        ways = {
            "C, one ride at a time, one core": (plain.run, 1),
            "numba, one ride at a time, one core": (case.run, 1),
            f"sweep with all metrics, {CORES} cores": (lambda: sweep(run_of, GRID, pool), RUNS),
            f"abreast, no metrics, {CORES} cores": (lambda: stepped(pool, unlogged), RUNS),
            "one batch at many speeds, all metrics, one core": (lambda: ride_abreast(different), LANES),
        }
        best = dict.fromkeys(ways, math.inf)
        for call, _ in ways.values():
            call()
        for _ in range(ROUNDS):
            for name, (call, runs) in ways.items():
                best[name] = min(best[name], seconds(call) / runs)
    c = next(iter(best.values()))
    print(f"| {DURATION:g} s of riding | best of {ROUNDS}, ms a ride | C / this |")
    print("|---|---|---|")
    for name, took in best.items():
        print(f"| {name} | {1e3 * took:.3f} | {c / took:.1f} |")


if __name__ == "__main__":
    main()
