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


def step_table():
    """One step, a valve of 3 ms, normally closed and normally open, three speeds and three heights."""
    rows = []
    for speed in (5.0, 10.0, 20.0):
        for height in (0.02, 0.05, 0.1):
            closed, opened, locked = (_step(height, speed, law) for law in (DEALER, RESTS_OPEN, Passive(1.0)))
            run, least = opened.run, opened.peak_body_acceleration
            peak = run.time[int(np.argmax(np.abs(run.body_acceleration)))] - opened.contact
            rows.append((f"{speed:g} m/s, {1e3 * height:.0f} mm".replace(" ", "\u00a0"),
                         f"{closed.peak_body_acceleration / least:.2f}",
                         f"{locked.peak_body_acceleration / least:.2f}", f"{1e3 * closed.moved:.1f}",
                         f"{100.0 * closed.climbed:.0f} %", f"{1e3 * peak:.1f}", f"{least:.1f}"))  # fmt: skip
    heads = ("speed, step", "closed / open", "never opened / open", "closed valve moves (ms)", "step climbed by then",
             "peak if open (ms)", "peak, normally open (m/s²)")  # fmt: skip
    return table(heads, rows)


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
    lines = []
    for speed, height in ((5.0, 0.02), (3.0, 0.03)):
        locked, opened = (_step(height, speed, Passive(value)) for value in (1.0, 0.0))
        run, side = locked.run, BIKE.lockout_curve.compression
        blown = run.time[np.argmax(run.body_velocity - run.wheel_velocity < -side.knee)] - locked.contact
        twice = DamperCurve(BIKE.lockout_curve.rebound, replace(side, knee=2.0 * side.knee))
        firmer = over_step(BIKE.changed(lockout_curve=twice), height, speed, Passive(1.0))
        most = np.abs(firmer.run.wheel_acceleration).max()
        lines.append(
            f"- {speed:g} m/s, {1e3 * height:.0f} mm: 40 m/s² is read {1e3 * _read_at(opened):.1f} ms after contact if "
            f"open, {1e3 * _read_at(locked):.1f} ms if locked (blow-off after {1e3 * blown:.1f} ms). With twice the "
            f"blow-off the locked wheel reads {most:.0f} m/s² at most."
        )
    return Shown("\n".join(lines))


def edge_peak(height, threshold):
    """Peak body acceleration on a step at the climb's speed, over that of the open damper: a ratio."""
    law = replace(DEALER, threshold=threshold)
    speed = BIKE.climb_speed
    least = _step(height, speed, Passive(0.0), timing=CHAIN).peak_body_acceleration
    return _step(height, speed, law, timing=CHAIN).peak_body_acceleration / least


def edge_table():
    """At 3 m/s, through the dealer's whole chain: peak over open by threshold and step."""
    rows = [(threshold, *(f"{edge_peak(height, threshold):.2f}" for height in (0.03, 0.05, 0.08)))
            for threshold in (8, 12, 15, 20, 30, 40)]  # fmt: skip
    return table(("threshold (m/s²)", "step of 30 mm", "step of 50 mm", "step of 80 mm"), rows)


def decision_table():
    """What the bike has on the climb with the screws as found, turned up and turned down."""
    rows = []
    for threshold, hold in ((17.0, 0.2), (40.0, 0.5), (80.0, 0.5)):
        law = replace(DEALER, threshold=threshold, hold=hold)
        run, found = ridden(law), scored(law)
        rows.append((f"{threshold:g} m/s², {hold:g} s".replace(" ", "\u00a0"), f"{1e3 * bob(run, STROKES):.1f}",
                     f"{metrics(run).comfort:.2f}", f"{100.0 * found.lock_share:.0f} %",
                     f"{100.0 * (edge_peak(0.05, threshold) - 1.0):.0f} %", found.openings,
                     f"{found.hits} ({found.carried})"))  # fmt: skip
    heads = ("threshold, hold time", "bob (mm)", "vibration (m/s²)", "locked", "50 mm step, above open",
             "openings in 40 s", "roots found (carried)")  # fmt: skip
    return table(heads, rows)
