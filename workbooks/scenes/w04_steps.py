"""Steps of workbook 04: what a wheel's sensor reads on an edge, what lateness costs, and the decision."""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from helpers.control.laws import Passive
from helpers.models.dampers import DamperCurve
from helpers.simulation.events import over_step
from helpers.simulation.metrics import bob, metrics
from helpers.teaching.page import Shown, table
from scenes.w04_tables import BIKE, CHAIN, DEALER, STROKES, ridden, scored

RESTS_OPEN = replace(DEALER, rest=0.0, pedalled=False)


@lru_cache(maxsize=256)
def _step(height, speed, law, response=0.003, timing=None):
    return over_step(BIKE, height, speed, law, response, timing)


def _read_at(answer, threshold=DEALER.threshold):
    """Time in s from contact to the first reading above the threshold, NaN for never."""
    loud = np.abs(answer.run.wheel_acceleration) > threshold
    return float(answer.run.time[np.argmax(loud)] - answer.contact) if loud.any() else float("nan")


def step_row(speed, height):
    """One step, a valve of 3 ms, ideal sensor: when the valve moves, when the body peaks, peaks over the open one's."""
    closed, opened, locked = (_step(height, speed, law) for law in (DEALER, RESTS_OPEN, Passive(1.0)))
    run, least = opened.run, opened.peak_body_acceleration
    peak = run.time[int(np.argmax(np.abs(run.body_acceleration)))] - opened.contact
    return (f"{speed:g} m/s, {1e3 * height:.0f} mm".replace(" ", "\u00a0"), f"{1e3 * closed.moved:.1f}",
            f"{100.0 * closed.climbed:.0f} %", f"{1e3 * peak:.1f}", f"{closed.peak_body_acceleration / least:.2f}",
            f"{locked.peak_body_acceleration / least:.2f}", f"{least:.1f}")  # fmt: skip


def step_table(rows=None, every=False):
    """Steps as a table, the first four if none are given; `every` column or the five that the page reads."""
    rows = rows or [step_row(*way) for way in ((5.0, 0.02), (20.0, 0.02), (20.0, 0.05), (20.0, 0.1))]
    heads = ("speed, step", "closed valve moves (ms)", "step climbed by then", "peak if open (ms)", "closed / open",
             "never opened / open", "peak, normally open (m/s²)")  # fmt: skip
    return table(heads, rows) if every else table(heads[:5], [row[:5] for row in rows])


def slow_valves():
    """A fast, high step under slower valves: peak over open."""
    height, speed = 0.05, 20.0
    least = _step(height, speed, Passive(0.0)).peak_body_acceleration
    told = [f"{1e3 * wait:.0f} ms {_step(height, speed, DEALER, wait).peak_body_acceleration / least:.2f}"
            for wait in (0.003, 0.01, 0.02)]  # fmt: skip
    never = _step(height, speed, Passive(1.0)).peak_body_acceleration / least
    side = BIKE.lockout_curve.compression
    return Shown(f"20 m/s, 50 mm, by the valve's time: {', '.join(told)}, never {never:.2f}. "
                 f"The lockout blows off at {side.low * side.knee:.0f} N.")  # fmt: skip


def small_step():
    """When the sensor reads a small step, locked and open, and when the lockout blows off."""
    speed, height = 5.0, 0.02
    locked, opened = (_step(height, speed, Passive(value)) for value in (1.0, 0.0))
    run, side = locked.run, BIKE.lockout_curve.compression
    blown = run.time[np.argmax(run.body_velocity - run.wheel_velocity < -side.knee)] - locked.contact
    twice = DamperCurve(BIKE.lockout_curve.rebound, replace(side, knee=2.0 * side.knee))
    firmer = over_step(BIKE.changed(lockout_curve=twice), height, speed, Passive(1.0))
    most = np.abs(firmer.run.wheel_acceleration).max()
    return Shown(
        f"{speed:g} m/s, {1e3 * height:.0f} mm: 40 m/s² is read {1e3 * _read_at(opened):.1f} ms after contact if open, "
        f"{1e3 * _read_at(locked):.1f} ms if locked (blow-off after {1e3 * blown:.1f} ms). With twice the blow-off the "
        f"locked wheel reads {most:.0f} m/s² at most."
    )


def _over_open(height, law):
    """Peak body acceleration of a law on a step at the climb's speed, dealer's chain, over that of the open damper."""
    peak, least = (_step(height, BIKE.climb_speed, each, timing=CHAIN).peak_body_acceleration
                   for each in (law, Passive(0.0)))  # fmt: skip
    return peak / least


def edge_peak(height, threshold):
    """Peak body acceleration on a step at the climb's speed, over that of the open damper: a ratio."""
    return _over_open(height, replace(DEALER, threshold=threshold))


def edge_table():
    """At 3 m/s, through the dealer's whole chain: peak over open by threshold and step."""
    rows = [(threshold, *(f"{edge_peak(height, threshold):.2f}" for height in (0.03, 0.05)))
            for threshold in (8, 15, 17, 20, 30, 40)]  # fmt: skip
    return table(("threshold (m/s²)", "step of 30 mm", "step of 50 mm"), rows)


def decision_table():
    """The bike on the climb, left in one setting, and with the screws as found, then turned one after the other."""
    ways = {"left open": Passive(0.0), "left locked, by hand": Passive(1.0)}
    for note, threshold, hold in ((", as found", 40.0, 0.5), ("", 80.0, 0.5), ("", 40.0, 0.2), ("", 17.0, 0.2)):
        ways[f"{threshold:g}\u00a0m/s², {hold:g}\u00a0s{note}"] = replace(DEALER, threshold=threshold, hold=hold)
    rows = []
    for name, law in ways.items():
        run, openings = ridden(law), "–" if isinstance(law, Passive) else scored(law).openings
        rows.append((name, f"{1e3 * bob(run, STROKES):.1f}", f"{metrics(run).comfort:.2f}",
                     f"{100.0 * float(np.mean(run.valve > 0.99)):.0f} %",
                     f"{100.0 * (_over_open(0.05, law) - 1.0):.0f} %", openings))  # fmt: skip
    heads = ("threshold, hold time", "bob (mm)", "vibration (m/s²)", "locked", "50 mm step, above open",
             "openings in 40 s")  # fmt: skip
    return table(heads, rows)
