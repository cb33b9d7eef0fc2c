"""Rides and tables of workbook 04: a mode selector's logic, its errors, its hold time, and what a step makes of it."""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from helpers.control.law import MEMORY
from helpers.control.laws import Passive
from helpers.control.mode_switch import FAST_TWO_POSITION, SLOW_FINE, ManualLever, ModeSelector, selected
from helpers.control.timing import Timing
from helpers.models.pedalling import Pedalling, pedalled_wheel_acceleration, wheel_over_push
from helpers.models.quarter_car import PASSIVE, Step, Z_r, Z_u, c, equations_of_motion, f, k_t, laplace, s
from helpers.models.terrain import fell_loop, half_round
from helpers.models.vehicles import FLEET, TRAIL_BIKE
from helpers.simulation import families
from helpers.simulation.events import over_step, pedalling_acceleration, score, section_bumps
from helpers.simulation.metrics import bob, metrics
from helpers.simulation.runs import ride, ride_section
from helpers.teaching.page import Shown, table

LOOP = fell_loop()
CHAIN = families.FAST_CHAIN  # sensor, computer, bus and quick valve, as in workbook 00
MOTOR = Timing(sample_rate=1000.0, compute=1e-3, bus=1e-3)  # the same without a valve: the law's motor takes the time
DEALER = ModeSelector()  # threshold 40 m/s2, hold 0.5 s, normally closed
STROKES = Pedalling().strokes


def switched(machine):
    """A machine whose open setting is its plain damper, as the dealer sells it."""
    return families.mode_switching(FLEET[machine]).vehicle


BIKE = switched("bike")


@lru_cache
def bumps(machine, section):
    """Ground truth: the bumps that are there on a section for a machine's wheel."""
    return section_bumps(switched(machine), LOOP.section(section))


@lru_cache(maxsize=24)
def ridden(law, timing=CHAIN, machine="bike", section="climb"):
    """The `Run` of a law over a section."""
    return ride_section(switched(machine), LOOP.section(section), law, timing)


def ordinary(section="climb"):
    """The trail bike on its plain damper, no electronics."""
    return ride_section(TRAIL_BIKE.plain(), LOOP.section(section))


@lru_cache(maxsize=512)
def scored(law, timing=CHAIN, machine="bike", section="climb"):
    """The `Score` of a selector over a section."""
    run = ridden(law, timing, machine, section)
    return score(run, bumps(machine, section), FLEET[machine].speed(section))


# --- the logic ------------------------------------------------------------------------------------------------------


def walk(readings, threshold=40.0, hold=0.3, hysteresis=10.0):
    """Take the machine by hand through readings of the wheel's acceleration in m/s2, one every 0.1 s."""
    law = ModeSelector(threshold=threshold, hold=hold, hysteresis=hysteresis)
    memory, rows = np.zeros(MEMORY), []
    for k, reading in enumerate(readings):
        valve = selected(np.array(law.packed()), float(reading), memory, 0.1 * k)
        left = f"{max(memory[0] - 0.1 * k, 0.0):.1f}"
        rows.append((f"{0.1 * k:.1f}", reading, "firm" if valve == law.firm else "open", left))
    return table(("time (s)", "reading (m/s²)", "valve", "hold time left (s)"), rows)


# --- the rider's legs -----------------------------------------------------------------------------------------------


def push_steps():
    """Show how the legs reach the wheel on smooth ground, and three limits."""
    import sympy as sp

    motion, push = equations_of_motion(), sp.Symbol("P")
    body, wheel = (laplace(e).subs(laplace(f), PASSIVE).subs(Z_r, 0) for e in (motion.body, motion.wheel))
    answer = wheel_over_push()
    steps = (
        Step("Body, pushed", "The legs' push $P$ acts on the body only.", sp.Eq(body.lhs, body.rhs + push)),
        Step("Wheel on smooth ground", "No road height; the push arrives through spring and damper.", wheel),
        Step("Wheel acceleration over push", "$Z_s$ eliminated, $Z_u$ found, times $s^2$.",
             sp.Eq(s**2 * Z_u / push, answer)),
        Step("Slow pushes", "The tyre carries them like a scale: $P/k_t$, times $s^2$.",
             sp.limit(sp.cancel(answer / s**2), s, 0) * s**2),
        Step("Damper of infinite firmness", "Body and wheel are one mass on the tyre.", sp.limit(answer, c, sp.oo)),
        Step("Rigid tyre", "The wheel cannot move.", sp.limit(answer, k_t, sp.oo)),
    )  # fmt: skip
    return Shown("\n\n".join(step._repr_markdown_() for step in steps))


def legs_on_paper(vehicle=TRAIL_BIKE):
    """Largest wheel acceleration in m/s2 that the rider's legs cause, by the derived expression."""
    return pedalled_wheel_acceleration(vehicle)


def legs_table():
    """What the legs make of the wheel in each setting, with seal friction."""
    named = {"open": 0.0, "half way": 0.5, "lockout": 1.0}
    ripple = Pedalling(force=BIKE.pedal_force, ripple=1.0)
    rows = [
        (name, f"{pedalling_acceleration(BIKE, Passive(value)):.1f}",
         f"{pedalling_acceleration(BIKE, Passive(value), ripple):.1f}",
         f"{pedalling_acceleration(BIKE.changed(friction=0.0), Passive(value)):.1f}")
        for name, value in named.items()
    ]  # fmt: skip
    heads = ("setting", "smooth stroke (m/s²)", "sharp dead centres (m/s²)", "smooth stroke, no seal friction (m/s²)")
    return table(heads, rows)


@lru_cache
def _latched(threshold):
    """Share of time locked on smooth ground before one root and, from 8 s after it, behind it; the rider pedals."""
    profile = half_round(0.04, 10.0, 60.0, 0.005)
    law = ModeSelector(threshold=threshold)
    run = ride(BIKE, profile, BIKE.climb_speed, law, CHAIN, Pedalling(force=BIKE.pedal_force).push)
    return tuple(float(np.mean(run.valve[part] > 0.5)) for part in (run.time < 3.0, run.time > 11.5))


def latch_table():
    """Smooth ground, pedalled, one root: who closes again?"""
    rows = [
        (f"{threshold:g}", *(f"{100.0 * share:.0f} %" for share in _latched(threshold)))
        for threshold in (1.0, 1.5, 2.0, 2.5, 3.0, 4.0)
    ]
    return table(("threshold (m/s²)", "locked before the root", "locked from 8 s after it"), rows)


def kinds_table():
    """One machine, two sets of numbers."""
    meanings = (
        ("threshold", "m/s²", 1.0), ("hysteresis", "m/s²", 1.0), ("hold", "s", 1.0), ("settings", "", 1.0),
        ("time_per_setting", "ms", 1e3), ("grade", "m/s²", 1.0),
    )  # fmt: skip
    rows = [
        (f"{name.replace('_', ' ')} {f'({unit})' if unit else ''}",
         *(f"{scale * getattr(law, name):g}" for law in (FAST_TWO_POSITION, SLOW_FINE)))
        for name, unit, scale in meanings
    ]  # fmt: skip
    return table(("quantity", "fast, two positions", "slow, fine"), rows)


# --- scores ---------------------------------------------------------------------------------------------------------

THRESHOLDS = (10, 20, 30, 40, 60, 80, 100, 120)


def threshold_table(section="climb"):
    """Bumps found, false alarms and time locked over the threshold, for the three machines."""
    rows = []
    for threshold in THRESHOLDS:
        row = [threshold]
        for machine in FLEET:
            found = scored(replace(DEALER, threshold=threshold), CHAIN, machine, section)
            row.append(f"{found.hits} / {found.false_alarms_per_minute:.0f} / {100.0 * found.lock_share:.0f} %")
        rows.append(row)
    heads = [f"{v.name}, {len(bumps(key, section))} bumps" for key, v in FLEET.items()]
    return table(["threshold (m/s²)", *heads], rows)


def root_peaks():
    """The largest reading at each root of the climb, damper locked, in order of size."""
    run, found = ridden(Passive(1.0)), bumps("bike", "climb")
    size = np.abs(run.wheel_acceleration)
    peaks = [size[(run.time >= a) & (run.time <= b)].max() for a, b in zip(found.start, found.stop, strict=True)]
    return Shown("Peaks at the twelve roots, m/s²: " + ", ".join(f"{peak:.0f}" for peak in sorted(peaks)))


def found_late():
    """How late the dealer's selector is half open at the climb's roots, and how long a root is under the wheel."""
    found, known = scored(DEALER), bumps("bike", "climb")
    late, rolled = 1e3 * float(np.median(found.latency)), float(np.median(found.rolled))
    lasts = float(np.median(known.stop - known.start))
    return Shown(
        f"Half open {late:.0f} ms after the root begins, {rolled:.2f} m on; the root is over after {lasts:.2f} s "
        f"(medians). Carried: {found.carried}."
    )


def hold_table():
    """The traverse at the dealer's threshold, over the hold time and with hysteresis."""
    rows = []
    for hold in (0.05, 0.1, 0.2, 0.3, 0.5, 1.0):
        plain, wide = (scored(ModeSelector(hold=hold, hysteresis=h), section="traverse") for h in (0.0, 20.0))
        rows.append((hold, plain.hits, plain.carried, plain.openings, wide.openings, f"{100 * plain.lock_share:.0f} %",
                     f"{100 * wide.lock_share:.0f} %"))  # fmt: skip
    heads = ("hold time (s)", f"found, of {len(bumps('bike', 'traverse'))}", "of these carried", "openings",
             "openings, hysteresis 20", "locked", "locked, hysteresis 20")  # fmt: skip
    return table(heads, rows)


def _lever(section, late=0.0):
    """The rider's lever: firm up the climb, opened where the traverse begins, open on the descent."""
    return {"climb": Passive(1.0), "traverse": ManualLever(at=late), "descent": Passive(0.0)}[section]


def selectors_table():
    """Every way to choose a setting, over the loop, the trail bike."""
    opens = replace(DEALER, rest=0.0)
    ways = {
        "left open": lambda section: (Passive(0.0), CHAIN),
        "left locked": lambda section: (Passive(1.0), CHAIN),
        "lever, opened 1.5 s after the top": lambda section: (_lever(section), MOTOR),
        "lever, remembered 10 s late": lambda section: (_lever(section, 10.0), MOTOR),
        "dealer's, normally closed": lambda section: (DEALER, CHAIN),
        "dealer's, normally open": lambda section: (replace(opens, pedalled=LOOP.section(section).pedalling), CHAIN),
        "fast, two positions": lambda section: (FAST_TWO_POSITION, MOTOR),
        "slow, fine": lambda section: (SLOW_FINE, MOTOR),
    }
    rows = []
    for name, way in ways.items():
        runs = {section: ridden(*way(section), "bike", section) for section in ("climb", "traverse", "descent")}
        locked = f"{100.0 * float(np.mean(runs['climb'].valve > 0.99)):.0f} %"
        vibration = [f"{metrics(run).comfort:.2f}" for run in runs.values()]
        rows.append((name, f"{1e3 * bob(runs['climb'], STROKES):.1f}", locked, *vibration))
    heads = ("way of choosing", "bob, climb (mm)", "locked, climb", "vibration, climb (m/s²)", "traverse (m/s²)",
             "descent (m/s²)")  # fmt: skip
    return table(heads, rows)


# --- steps ----------------------------------------------------------------------------------------------------------


@lru_cache
def _step(height, speed, law, response=0.003, timing=None):
    return over_step(BIKE, height, speed, law, response, timing)


def step_table():
    """One step, a valve of 3 ms, normally closed and normally open, three speeds and three heights."""
    rest_open = replace(DEALER, rest=0.0, pedalled=False)
    rows = []
    for speed in (5.0, 10.0, 20.0):
        for height in (0.02, 0.05, 0.1):
            closed, opened, locked = (_step(height, speed, law) for law in (DEALER, rest_open, Passive(1.0)))
            run, least = opened.run, opened.peak_body_acceleration
            peak = run.time[int(np.argmax(np.abs(run.body_acceleration)))] - opened.contact
            rows.append((f"{speed:g} m/s, {1e3 * height:.0f} mm", f"{1e3 * closed.moved:.1f}",
                         f"{100.0 * closed.climbed:.0f} %", f"{1e3 * peak:.1f}", f"{least:.1f}",
                         f"{closed.peak_body_acceleration / least:.2f}",
                         f"{locked.peak_body_acceleration / least:.2f}"))  # fmt: skip
    heads = ("speed, step", "valve moves (ms)", "step climbed by then", "peak if open (ms)",
             "peak, normally open (m/s²)", "normally closed / open", "never opened / open")  # fmt: skip
    return table(heads, rows)


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
