"""Rides and tables of workbook 04: a mode selector's logic, the rider's legs, its errors and its hold time."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from helpers.control.law import MEMORY
from helpers.control.laws import Passive
from helpers.control.mode_switch import FAST_TWO_POSITION, SLOW_FINE, ManualLever, ModeSelector, selected
from helpers.control.timing import Timing
from helpers.models.pedalling import Pedalling, pedalled_wheel_acceleration, wheel_over_push
from helpers.models.quantities import table as described
from helpers.models.quarter_car import PASSIVE, Step, Z_r, Z_u, c, equations_of_motion, f, k_t, laplace, s
from helpers.models.terrain import fell_loop, half_round
from helpers.models.vehicles import FLEET, TRAIL_BIKE
from helpers.simulation import families
from helpers.simulation.events import pedalling_acceleration, score, section_bumps
from helpers.simulation.kernel import valve_force
from helpers.simulation.metrics import bob, metrics
from helpers.simulation.runs import axle_path, ride, ride_section
from helpers.teaching.course import PageError
from helpers.teaching.page import Shown, table
from helpers.teaching.units import pretty, quoted, with_unit

LOOP = fell_loop()
CHAIN = families.FAST_CHAIN  # sensor, computer, bus and quick valve, as in workbook 00
MOTOR = Timing(sample_rate=1000.0, compute=1e-3, bus=1e-3)  # the same without a valve: the law's motor takes the time
DEALER = ModeSelector()  # threshold 40 m/s2, hold 0.5 s, normally closed
FIRST_SHOWN, LEAD = 4, 0.6  # root at which the live figure begins, and how many s before it
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


def walked(readings, threshold, hold, hysteresis):
    """(reading, whether the valve is open, hold time left in s) for readings in m/s2, one every 0.1 s."""
    law, memory, rows = ModeSelector(threshold=threshold, hold=hold, hysteresis=hysteresis), np.zeros(MEMORY), []
    for k, reading in enumerate(readings):
        valve = selected(np.array(law.packed()), float(reading), memory, 0.1 * k)
        rows.append((reading, valve != law.firm, max(memory[0] - 0.1 * k, 0.0)))
    return rows


def _reading(value):
    """One reading as a number; a sentence for the learner if it is none."""
    try:
        if math.isfinite(number := float(value)):
            return number
    except (TypeError, ValueError):
        pass
    raise PageError(f"The reading {quoted(value)} is not a number: write readings in m/s², parted by commas.")


def walk(readings, threshold=40.0, hold=0.3, hysteresis=10.0):
    """Take the machine by hand through readings of the wheel's acceleration in m/s2, one every 0.1 s."""
    threshold, hold, hysteresis = (_reading(value) for value in (threshold, hold, hysteresis))
    readings = [_reading(value) for value in (readings if isinstance(readings, list | tuple) else [readings])]
    if not 0.0 <= hysteresis <= threshold:
        raise PageError(f"A hysteresis of {hysteresis:g} m/s² cannot be used: it may be 0 to {threshold:g} m/s², the "
                        "threshold.")  # fmt: skip
    rows = [(f"{0.1 * k:.1f}", f"{reading:g}", "open" if is_open else "firm", f"{left:.1f}")
            for k, (reading, is_open, left) in enumerate(walked(readings, threshold, hold, hysteresis))]  # fmt: skip
    return table(("time (s)", "reading (m/s²)", "valve", "hold time left (s)"), rows)


def parameters_table():
    """The four numbers of the dealer's selector that this page turns."""
    rows = []
    for row in described(DEALER):
        if row.name in ("threshold", "hold", "hysteresis", "rest"):
            limits = "0 or 1" if row.name == "rest" else f"{row.low:g} to {row.high:g}"
            symbol = f"${row.symbol}$" if row.symbol else "–"
            rows.append((row.meaning, symbol, with_unit(row.value, ""), pretty(row.unit) or "–", limits))
    return table(("meaning", "symbol", "dealer's", "unit", "range"), rows)


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
        Step("Slow pushes", "The tyre carries them like a scale: $P/k_t$, times $s^2$. Only a rough guide here: the "
             "legs' 2.7 Hz lies near the body's own 2.1 Hz.",
             sp.limit(sp.cancel(answer / s**2), s, 0) * s**2),
        Step("Damper of infinite firmness", "Body and wheel are one mass on the tyre.", sp.limit(answer, c, sp.oo)),
        Step("Rigid tyre", "The wheel cannot move.", sp.limit(answer, k_t, sp.oo)),
    )  # fmt: skip
    return Shown("\n\n".join(step._repr_markdown_() for step in steps))


def legs_on_paper():
    """Largest wheel acceleration that the rider's legs cause, by the derived expression and by its slow limit."""
    slow = (2.0 * math.pi * STROKES) ** 2 * BIKE.pedal_force / BIKE.tyre_rate
    rate = BIKE.spring_rate * BIKE.tyre_rate / (BIKE.spring_rate + BIKE.tyre_rate)
    body = math.sqrt(rate / BIKE.body_mass) / (2.0 * math.pi)
    return Shown(
        f"Legs: {pedalled_wheel_acceleration(TRAIL_BIKE):.2f} m/s² by the fraction, {slow:.2f} m/s² by its slow limit "
        f"(pushes at {STROKES:.1f} Hz; the body's own swing {body:.1f} Hz)."
    )


def legs_table():
    """What the legs make of the wheel in each setting: smooth pushes, sharp ones, a quick cadence, no seal friction."""
    smooth, quick = (Pedalling(cadence=turns / 60.0, force=BIKE.pedal_force) for turns in (80.0, 110.0))
    sharp = replace(smooth, ripple=1.0)
    ways = ((BIKE, smooth), (BIKE, sharp), (BIKE, quick), (BIKE.changed(friction=0.0), smooth))
    rows = [
        (name, *(f"{pedalling_acceleration(bike, Passive(value), legs):.1f}" for bike, legs in ways))
        for name, value in (("open", 0.0), ("locked", 1.0))
    ]
    heads = ("setting", "80 turns/min (m/s²)", "sharp dead centres (m/s²)", "110 turns/min (m/s²)",
             "80, no seal friction (m/s²)")  # fmt: skip
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
    """One machine, three sets of numbers."""
    meanings = {
        "threshold": ("threshold (m/s²)", 1.0), "hysteresis": ("hysteresis (m/s²)", 1.0),
        "hold": ("hold time (s)", 1.0), "settings": ("settings", 1.0),
        "time_per_setting": ("motor, each setting (ms)", 1e3), "grade": ("one setting more for each (m/s²)", 1.0),
    }  # fmt: skip
    rows = []
    for name, (text, scale) in meanings.items():
        values = [scale * getattr(law, name) for law in (DEALER, FAST_TWO_POSITION, SLOW_FINE)]
        rows.append((text, *("–" if value == 0.0 and name != "hysteresis" else f"{value:g}" for value in values)))
    return table(("quantity", "dealer's", "fast, two positions", "slow, fine"), rows)


# --- scores ---------------------------------------------------------------------------------------------------------

THRESHOLDS = (10, 15, 20, 30, 40, 60, 80, 100)


def threshold_table():
    """Roots found, false alarms and time locked over the threshold: the trail bike on the climb."""
    rows = []
    for threshold in THRESHOLDS:
        found = scored(replace(DEALER, threshold=threshold))
        alarms, locked = f"{found.false_alarms_per_minute:.0f}", f"{100.0 * found.lock_share:.0f} %"
        rows.append((threshold, found.hits, alarms, locked))
    return table(("threshold (m/s²)", "roots found, of 12", "false alarms a minute", "time locked"), rows)


def _peaks_at(run, found):
    """The largest size of the wheel's acceleration in m/s2 within each bump, in order of size."""
    size = np.abs(run.wheel_acceleration)
    return sorted(size[(run.time >= a) & (run.time <= b)].max() for a, b in zip(found.start, found.stop, strict=True))


def root_peaks():
    """The largest reading at each root of the climb, damper locked, in order of size."""
    peaks = _peaks_at(ridden(Passive(1.0)), bumps("bike", "climb"))
    return Shown("Peaks at the twelve roots, damper locked, m/s²: " + ", ".join(f"{peak:.1f}" for peak in peaks))


def machines_table():
    """The same roots under the three machines, and what the dealer's selector makes of them."""
    section, rows = LOOP.section("climb"), []
    for key, slow in (("bike", None), ("carrier", None), ("motorcycle", None), ("motorcycle", 3.0)):
        machine = switched(key) if slow is None else switched(key).changed(climb_speed=slow)
        found = section_bumps(machine, section)
        peaks = _peaks_at(ride_section(machine, section, Passive(1.0), CHAIN), found)
        side = machine.lockout_curve.compression
        told = []
        for threshold in (40.0, 60.0):
            law = replace(DEALER, threshold=threshold)
            one = score(ride_section(machine, section, law, CHAIN), found, machine.climb_speed)
            told.append(f"{one.hits}; {one.false_alarms_per_minute:.0f}; {100.0 * one.lock_share:.0f} %")
        name = machine.name if slow is None else f"the same at {slow:g} m/s"
        rows.append((name, f"{peaks[0]:.1f} to {peaks[-1]:.1f}", *told,
                     f"{machine.climb_speed:g}", f"{machine.wheel_mass:g}", f"{machine.tyre_rate / 1e3:g}",
                     f"{side.low * side.knee:.0f}"))  # fmt: skip
    heads = ("machine", "peaks, locked (m/s²)", "at 40 m/s²: found; false alarms/min; locked", "the same at 60 m/s²",
             "pace (m/s)", "wheel (kg)", "tyre (N/mm)", "blow-off (N)")  # fmt: skip
    return table(heads, rows)


def contacts(found, machine="bike", section="climb"):
    """Times in s at which the wheel meets each bump and leaves it: where its path bends upwards most sharply."""
    path = axle_path(LOOP.section(section).profile, switched(machine).wheel_radius)
    bend, at = np.diff(path.height, 2), path.distance[1:-1]
    ends = []
    for begin, stop in zip(found.distance, found.stop * FLEET[machine].speed(section), strict=True):
        inside = np.flatnonzero((at > begin - 1.5 * path.spacing) & (at < stop + 1.5 * path.spacing))
        meets = inside[np.argmax(bend[inside])]
        others = inside[np.abs(inside - meets) > 3]  # a bend lies on one point or two
        ends.append(sorted((at[meets], at[others[np.argmax(bend[others])]])))
    return np.array(ends).T / FLEET[machine].speed(section)


def found_late():
    """How late after contact the dealer's selector is half open at the climb's roots, and how long a root lasts."""
    found, known = scored(DEALER), bumps("bike", "climb")
    touch, leave = contacts(known)
    late, lasts = known.start + found.latency - touch, float(np.median(leave - touch))
    middle, pace = float(np.median(late)), found.speed
    return Shown(
        f"After the wheel touches a root the valve is half open {1e3 * middle:.0f} ms and {pace * middle:.2f} m later "
        f"(median of twelve); at the weakest root {1e3 * late.max():.0f} ms later. A root lifts the wheel for "
        f"{lasts:.2f} s, {pace * lasts:.2f} m. Roots met with the valve open already: {found.carried}."
    )


def switch_spike():
    """The first root of the live figure, ridden locked, open and with the dealer's selector; a closing valve."""
    known = bumps("bike", "climb")
    begin, stop = known.start[FIRST_SHOWN], known.stop[FIRST_SHOWN]
    largest = []
    for law in (Passive(1.0), Passive(0.0), DEALER):
        run = ridden(law)
        inside = (run.time >= begin) & (run.time <= stop)
        largest.append(float(np.abs(run.wheel_acceleration[inside]).max()))
    curves = BIKE.open_curve.packed(), BIKE.lockout_curve.packed()
    opening = int(np.flatnonzero(inside & (run.valve < 0.9))[0])
    body = np.abs(run.body_acceleration[opening - 1 : opening + 4])
    speed = (run.body_velocity - run.wheel_velocity)[opening]
    taken = valve_force(*curves, 0.0, speed) - valve_force(*curves, 1.0, speed)
    low = ridden(replace(DEALER, threshold=5.0))
    quiet = (low.time > stop + 0.5) & (low.time < begin + 2.5) & (np.gradient(low.valve) > 0.05)
    closing = np.flatnonzero(quiet)[np.argmax(np.abs(low.wheel_acceleration[quiet]))]
    return Shown(
        f"Wheel's peak: locked {largest[0]:.0f}, always open {largest[1]:.0f}, with the dealer's selector "
        f"{largest[2]:.0f} m/s². As the valve opens it takes {taken:.0f} N off a wheel of {BIKE.wheel_mass:g} kg; the "
        f"body goes from {body[0]:.1f} to {body.min():.1f} m/s². Threshold 5 m/s²: the closing valve makes "
        f"{abs(low.wheel_acceleration[closing]):.0f} m/s² at {low.time[closing] - begin + LEAD:.1f} s of the figure."
    )


def hold_table():
    """The traverse at the dealer's threshold, over the hold time and with hysteresis."""
    rows = []
    for hold in (0.05, 0.1, 0.2, 0.3, 0.5, 1.0):
        plain, wide = (scored(ModeSelector(hold=hold, hysteresis=h), section="traverse") for h in (0.0, 20.0))
        rows.append((hold, f"{plain.hits} ({plain.carried})", plain.openings, f"{100 * plain.lock_share:.0f} %",
                     f"{wide.hits} ({wide.carried})", wide.openings, f"{100 * wide.lock_share:.0f} %"))  # fmt: skip
    heads = ("hold time (s)", f"found, of {len(bumps('bike', 'traverse'))} (carried)", "openings", "locked",
             "with 20 m/s² of hysteresis: found (carried)", "openings", "locked")  # fmt: skip
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
        "lever, at once (1.5 s)": lambda section: (_lever(section), MOTOR),
        "lever, 6 s late": lambda section: (_lever(section, 6.0), MOTOR),
        "dealer's, normally closed": lambda section: (DEALER, CHAIN),
        "dealer's, normally open": lambda section: (replace(opens, pedalled=LOOP.section(section).pedalling), CHAIN),
        "fast, two positions": lambda section: (FAST_TWO_POSITION, MOTOR),
        "the same, hold time 2 s": lambda section: (replace(FAST_TWO_POSITION, hold=2.0), MOTOR),
        "slow, fine (hold time 2 s)": lambda section: (SLOW_FINE, MOTOR),
        "the same, hold time 0.5 s": lambda section: (replace(SLOW_FINE, hold=0.5), MOTOR),
    }
    rows = []
    for name, way in ways.items():
        runs = {section: ridden(*way(section), "bike", section) for section in ("climb", "traverse", "descent")}
        locked = f"{100.0 * float(np.mean(runs['climb'].valve > 0.99)):.0f} %"
        vibration = [f"{metrics(run).comfort:.2f}" for run in runs.values()]
        found = scored(*way("climb")) if isinstance(way("climb")[0], ModeSelector) else None
        rows.append((name, *vibration, f"{1e3 * bob(runs['climb'], STROKES):.1f}", locked,
                     f"{found.hits} ({found.carried})" if found else "–"))  # fmt: skip
    heads = ("way of choosing", "vibration, climb (m/s²)", "traverse (m/s²)", "descent (m/s²)", "bob, climb (mm)",
             "locked, climb", "roots found, climb (carried)")  # fmt: skip
    return table(heads, rows)


def root_gaps():
    """From one root of the climb to the next, against the time of a hand."""
    gaps, lever = np.diff(bumps("bike", "climb").start), ManualLever()
    return Shown(f"From root to root {gaps.min():.1f} to {gaps.max():.1f} s; the hand needs "
                 f"{lever.reaction + lever.hand:.1f} s each way.")  # fmt: skip
