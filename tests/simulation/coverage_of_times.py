"""Coverage, bias and width of the response times over many simulated logs, and verdicts on a claim; by hand:

    python tests/simulation/coverage_of_times.py 400 80        # logs of each condition, and rides that they are of

prints a line for each true time (3, 8, 15 ms until 63 %) and each logger's rate. Then five times as many logs each of
true 3 and 5 ms are judged against a claim of 3 ms, missed by 1 ms at most. The tests take fewer.
"""

import math
import sys
from collections import Counter
from dataclasses import dataclass

import numpy as np

from helpers.control.timing import Timing
from helpers.models.machines import MACHINES
from helpers.simulation.loggers import STEP, recording
from helpers.simulation.response_times import response_times

TRUE, RATES, QUANTITIES = (3.0, 8.0, 15.0), (200.0, 500.0, 1000.0, 2000.0), ("dead_time", "to_63", "to_90", "hold")


def chain(until_63):
    """A chain that takes so many ms from felt to 63 % on average, of which about a third is the valve's dead time."""
    valve = 1e-3 * until_63 - (0.5e-3 + 0.25e-3 + 0.25e-3 + 0.5 / 800.0)
    dead = STEP * round(valve / 3.0 / STEP)
    return Timing(sample_rate=800.0, compute=0.5e-3, bus=0.25e-3, jitter=0.5e-3, valve_dead_time=dead,
                  valve_time_constant=valve - dead)  # fmt: skip


def truth(until_63):
    """The true mean times in s, from the chain alone: the switch looks at any moment within its period.

    Its hold time counts from its own last look before the reading fell, and its answer from its first look after the
    reading rose, which together are one of its periods short of the hold time that is set.
    """
    lag = chain(until_63).valve_time_constant
    at = 1e-3 * until_63
    return {"dead_time": at - lag, "to_63": at, "to_90": at + lag * (math.log(10.0) - 1.0), "hold": 0.25 - 1.0 / 800.0}


@dataclass
class Condition:
    """Of one truth and rate: the estimates of each log, a list for each quantity, and the truth of each in s."""

    true: float
    rate: float
    truth: dict
    found: dict
    refused: int  # logs that say themselves that they cannot tell, counted all the same

    def coverage(self, name):
        return np.mean([abs(e.value - self.truth[name]) <= e.half for e in self.found[name]])

    def bias(self, name):
        return np.mean([e.value for e in self.found[name]]) - self.truth[name]

    def width(self, name):
        return 2.0 * np.mean([e.half for e in self.found[name]])


def conditions(logs, rides=None, true=TRUE, rates=RATES):
    """The `Condition`s, each of so many logs: of `rides` rides (as many as logs unless given), logged in turn."""
    for until_63 in true:
        tapes = [recording(MACHINES["motorcycle"], chain(until_63), seed=k) for k in range(rides or logs)]
        for rate in rates:
            every = [response_times(tapes[k % len(tapes)].log(rate, seed=k + 1)) for k in range(logs)]
            refused = sum(bool(times.cannot) for times in every)
            found = {name: [getattr(times, name) for times in every] for name in QUANTITIES}
            yield Condition(until_63, rate, truth(until_63), found, refused)


def verdicts(logs, rides, true, rate, claim=3.0):
    """How many of so many logs confirm, refute and cannot tell a claim in ms, within 1 ms."""
    tapes, told = [recording(MACHINES["motorcycle"], chain(true), seed=k) for k in range(rides)], []
    for k in range(logs):
        verdict = response_times(tapes[k % rides].log(rate, seed=1000 + k)).judge(1e-3 * claim)
        told.append(verdict if verdict in ("confirmed", "refuted") else "cannot tell")
    return Counter(told)


if __name__ == "__main__":
    logs, rides = map(int, sys.argv[1:3])
    print("true rate | quantity: truth ms, coverage %, bias ms, full width ms")
    for one in conditions(logs, rides):
        told = [f"{name}: {1e3 * one.truth[name]:.3f}, {100 * one.coverage(name):.1f}, {1e3 * one.bias(name):+.3f}, "
                f"{1e3 * one.width(name):.3f}" for name in QUANTITIES]  # fmt: skip
        print(f"{one.true:g} ms {one.rate:g} Hz, {one.refused} refused | {'; '.join(told)}", flush=True)
    for true in (3.0, 5.0):
        for rate in (200.0, 1000.0):
            print(
                f"claim 3 ms, true {true:g} ms, {rate:g} Hz: {dict(verdicts(5 * logs, rides, true, rate))}", flush=True
            )
