"""The compiled stepper against the same method in C, and against scipy's `solve_ivp` at equal accuracy.

    python tests/benchmarks/kernel.py

Needs a C compiler called `cc`. One ride: the trail bike for 20 s over an ISO 8608 class D road at 10 m/s, two-state
skyhook sampled at 1 kHz, 3 ms delay, 2 ms valve lag, steps of 0.25 ms. And the same with a damper that yields, seals
that stick and a tyre with rim and friction.

C is built with `-O3 -march=native`, so it may fuse multiplication and addition, which ours must not: the same numbers
on every machine. Built without fusing it must agree with ours to the last bit, or nearly.

`solve_ivp` stops at every sample, measures there, and starts anew (see `sampled_reference`). Among its methods and
tolerances the benchmark takes the quickest whose travel is no farther than ours from a reference of tolerance 1e-12.
"""

import ctypes
import math
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent), str(HERE.parent / "simulation")]

from sampled_reference import PolylineRoad, integrate  # noqa: E402

from fleet import TRAIL_BIKE  # noqa: E402
from helpers.control.laws import TwoStateSkyhook  # noqa: E402
from helpers.control.timing import Timing  # noqa: E402
from helpers.models.terrain import iso_8608  # noqa: E402
from helpers.simulation import kernel  # noqa: E402
from helpers.simulation.runs import LONGEST_STEP  # noqa: E402

DURATION, COMPARED, SPEED = 20.0, 4.0, 10.0  # s, s, m/s
LAW = TwoStateSkyhook()
TIMING = Timing(sample_rate=1000.0, compute=0.003, valve_time_constant=0.002)
STATE = 15  # place of the state among the stepper's arguments
WHOLE = TRAIL_BIKE.changed(
    damper_stiffness=8e5, seal_stretch=5e-4, tyre_travel=0.03, rim_rate=4e5, tyre_friction=30.0, tyre_stretch=0.004
)
DIFFERS = 1e-3  # a decision that differs, in valve strokes
TRIED = [
    *(("RK23", rtol) for rtol in (3e-5, 1e-5, 3e-6)),
    *(("RK45", rtol) for rtol in (1e-5, 6e-6, 4e-6, 3e-6, 2e-6, 1e-6)),
    *(("DOP853", rtol) for rtol in (1e-4, 1e-5, 3e-6, 1e-6)),
    *(("LSODA", rtol) for rtol in (3e-6, 1e-6)),
]


@dataclass(frozen=True, eq=False)
class Case:
    """What one run of the stepper needs; `log` and `energy` receive its results."""

    arguments: tuple
    road: PolylineRoad
    log: np.ndarray
    energy: np.ndarray

    @classmethod
    def of(cls, duration, vehicle=TRAIL_BIKE):
        profile = iso_8608("D", SPEED * DURATION + 1.0, seed=1)
        road = PolylineRoad(profile.distance / SPEED, profile.height - profile.height[0])
        fit = TIMING.in_steps(LONGEST_STEP)
        steps = round(duration / fit.step)
        heights = road(0.5 * fit.step * np.arange(2 * steps + 1))
        log, energy = np.empty((kernel.LOGGED, steps // 4 + 1)).T, np.empty(kernel.ENERGIES)
        return cls((
            *kernel.packed(vehicle), LAW.code, LAW.packed(), fit.step, fit.every, fit.delay, fit.jitter, fit.smoothing,
            fit.valve_half, fit.valve_full, LAW.initial, kernel.rest(), heights, np.zeros_like(heights),
            LAW.ahead(heights[::2], fit.step), 1, 4, log, energy,
        ), road, log, energy)  # fmt: skip

    def run(self):
        self.arguments[STATE][:] = 0.0
        return kernel.march(*self.arguments)


class InC:
    """The same case through `kernel.c`, built with the machine's compiler and some flags."""

    def __init__(self, case, folder, name, *flags):
        built = Path(folder) / f"{name}.so"
        command = ["cc", "-O3", "-march=native", *flags, "-shared", "-fPIC", str(HERE / "kernel.c"), "-o", str(built)]
        subprocess.run([*command, "-lm"], check=True)
        self.log, self.energy = np.empty(case.log.shape), np.empty_like(case.energy)
        *given, _, _ = case.arguments
        *parts, code, law, step = given[:8]  # vehicle, what yields, what sticks, curves
        *whole, smoothing, half, full, initial = given[8:STATE]
        self.state, road, push, ahead, seed, log_every = kernel.rest(), *given[STATE + 1 :]
        self._kept = [None if a is None else np.array(a, float) for a in (*parts, law, road, push, ahead)]
        at = [ctypes.c_void_p(None if a is None else a.ctypes.data) for a in (*self._kept, self.log, self.energy)]
        self.arguments = (
            *at[:5], ctypes.c_long(code), at[5], ctypes.c_double(step), *map(ctypes.c_long, whole),
            *map(ctypes.c_double, (smoothing, half, full, initial)), ctypes.c_void_p(self.state.ctypes.data), *at[6:9],
            ctypes.c_long((road.size - 1) // 2), ctypes.c_uint64(seed), ctypes.c_long(log_every), *at[9:],
        )  # fmt: skip
        self.march = ctypes.CDLL(str(built)).march
        self.march.restype = ctypes.c_long

    def run(self):
        self.state[:] = 0.0
        return self.march(*self.arguments)


def seconds(call, clock=time.perf_counter):
    began = clock()
    call()
    return clock() - began


def first_difference(valve, other):
    """Index of the first differing decision, or the length."""
    differs = np.abs(valve - other) > DIFFERS
    return int(np.argmax(differs)) if differs.any() else len(differs)


def against_c(case):
    """Print the ratio to C; returns our best time in s."""
    case.run()
    with tempfile.TemporaryDirectory() as folder:
        plain, unfused = InC(case, folder, "plain"), InC(case, folder, "unfused", "-ffp-contract=off")
        best = dict.fromkeys(("ours", "plain", "unfused"), math.inf)
        for _ in range(60):
            for name, one in (("ours", case), ("plain", plain), ("unfused", unfused)):
                best[name] = min(best[name], seconds(one.run))
    print(f"\n| {DURATION:g} s of riding | best of 60, ms | ours / this | state differs by, at most | up to, s |")
    print("|---|---|---|---|---|")
    print(f"| ours (numba) | {1e3 * best['ours']:.2f} | 1 | | |")
    for name, words, one in (("plain", "C", plain), ("unfused", "C, multiply and add not fused", unfused)):
        same = first_difference(case.log[:, kernel.VALVE], one.log[:, kernel.VALVE])
        apart = np.abs(case.log[:same, :4] - one.log[:same, :4]).max()
        ratio = best["ours"] / best[name]
        print(f"| {words} | {1e3 * best[name]:.2f} | {ratio:.2f} | {apart:.1e} | {1e-3 * (same - 1):g} |")
    return best["ours"]


def against_solve_ivp(ours):
    """Print the ratio to `solve_ivp`; `ours` is our time in s for the whole ride."""
    case = Case.of(COMPARED)
    case.run()
    state, valve = case.log[:, :4], case.log[:, kernel.VALVE]

    def reference(method, rtol, atol, whole_first_step=True, duration=COMPARED):
        return integrate(
            TRAIL_BIKE, LAW, TIMING, case.road, duration, LONGEST_STEP, method=method, rtol=rtol, atol=atol,
            whole_first_step=whole_first_step,
        )  # fmt: skip

    tight = reference("DOP853", 1e-12, 1e-14)

    def error(travel, valve):
        same = first_difference(valve, tight.valve)
        return np.abs(travel - tight.travel)[:same].max(), 1e-3 * (same - 1)

    our_error, until = error(state[:, 0] - state[:, 2], valve)
    print(f"\nOurs: travel within {our_error:.1e} m of the reference, up to {until:g} s (of {COMPARED:g} s compared).")
    for whole_first_step, words in ((False, "called plainly"), (True, "told to try each stretch in one step first")):
        print(f"\n| solve_ivp, {words} | rtol | CPU for {COMPARED:g} s, s | travel error, m | up to, s |")
        print("|---|---|---|---|---|")
        good = []
        for method, rtol in TRIED:
            began = time.process_time()
            found = reference(method, rtol, 0.01 * rtol, whole_first_step)
            took = time.process_time() - began
            wrong, until = error(found.travel, found.valve)
            print(f"| {method} | {rtol:.0e} | {took:.2f} | {wrong:.1e} | {until:g} |")
            if wrong <= our_error and until >= COMPARED - 1e-9:
                good.append((took, method, rtol))
        _, method, rtol = min(good)
        chosen = method, rtol, 0.01 * rtol, whole_first_step, DURATION
        took = min(seconds(lambda chosen=chosen: reference(*chosen), time.process_time) for _ in range(2))
        print(f"\nQuickest at our accuracy or better, {words}: {method}, rtol {rtol:.0e}: {took:.2f} s of CPU for")
        print(f"{DURATION:g} s, ours {1e3 * ours:.2f} ms: {took / ours:.0f} times faster.")


if __name__ == "__main__":
    ours = against_c(Case.of(DURATION))
    print("\nWith a damper that yields, seals that stick, a tyre with rim and friction:")
    against_c(Case.of(DURATION, WHOLE))
    against_solve_ivp(ours)
