"""Rides and tables of workbook 04: a mode selector's logic, the rider's legs, its errors, its hold time."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from helpers.control.law import MEMORY
from helpers.control.laws import Passive
from helpers.control.mode_switch import ModeSelector, selected
from helpers.control.timing import Timing
from helpers.models.pedalling import Pedalling
from helpers.models.quantities import table as described
from helpers.models.terrain import fell_loop, half_round
from helpers.models.vehicles import FLEET, TRAIL_BIKE
from helpers.simulation import families
from helpers.simulation.events import pedalling_acceleration, score, section_bumps
from helpers.simulation.kernel import valve_force
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
OWN = 0.05  # s after its own closing within which an opening is put down to it


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
    names = {"threshold": ("threshold", "1 to 120"), "hysteresis": ("hysteresis", "0 to 20"),
             "hold": ("hold time $t_h$", "0.05 to 2"), "rest": ("state of rest", "0 or 1")}  # fmt: skip
    rows = []
    for row in described(DEALER):
        if row.name in names:
            name, used = names[row.name]
            meaning = row.meaning.removeprefix("rest state: ")
            rows.append((f"{name}: {meaning}", with_unit(row.value, ""), pretty(row.unit) or "–", used))
    return table(("what it is", "dealer's", "unit", "on this page"), rows)


def identity():
    """A setting against the damper that it is: largest difference of the body's acceleration over the climb."""
    pairs = {
        "Left open": (ModeSelector(rest=0.0, pedalled=False), ordinary()),
        "Locked for good": (ModeSelector(threshold=5000.0), ridden(Passive(1.0))),
    }
    told = []
    for name, (law, damper) in pairs.items():
        apart = np.abs(ridden(law).body_acceleration - damper.body_acceleration)
        told.append(f"{name}: largest difference {apart.max():.1f} m/s², over {len(apart)} points.")
    return Shown(" ".join(told))


# --- the rider's legs -----------------------------------------------------------------------------------------------


def legs_table():
    """What the legs make of the wheel in each setting, at two cadences."""
    cadences = [Pedalling(cadence=turns / 60.0, force=BIKE.pedal_force) for turns in (80.0, 110.0)]
    rows = [
        (name, *(f"{pedalling_acceleration(BIKE, Passive(value), legs):.1f}" for legs in cadences))
        for name, value in (("open", 0.0), ("locked", 1.0))
    ]
    return table(("setting", "80 turns a minute (m/s²)", "110 turns a minute (m/s²)"), rows)


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
        for threshold in (1.0, 2.0, 2.5, 3.0)
    ]
    return table(("threshold (m/s²)", "locked before the root", "locked from 8 s after it"), rows)


# --- scores ---------------------------------------------------------------------------------------------------------

THRESHOLDS = (10, 20, 40, 60, 80)


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
        told = [score(ride_section(machine, section, replace(DEALER, threshold=threshold), CHAIN), found,
                      machine.climb_speed).hits for threshold in (40.0, 60.0)]  # fmt: skip
        rows.append((machine.name if slow is None else f"the same at {slow:g} m/s", f"{machine.climb_speed:g}",
                     f"{machine.wheel_mass:g}", f"{peaks[0]:.1f} to {peaks[-1]:.1f}", *told))  # fmt: skip
    heads = ("machine", "pace (m/s)", "wheel (kg)", "peaks, locked (m/s²)", "found at 40 m/s², of 12",
             "found at 60 m/s²")  # fmt: skip
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
    """The first root of the live figure, locked, open and with the selector; openings by the valve's own closing."""
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
    short = ridden(replace(DEALER, hold=0.2))
    turns = np.diff((short.valve < 0.5).astype(int))
    opens, closes = (short.time[1:][turns == way] for way in (1, -1))
    after = np.array([one - closes[closes < one].max(initial=-np.inf) for one in opens])
    own = opens[after < OWN]
    seen = own[(own > begin) & (own < begin + 5.0)] - begin + LEAD
    return Shown(
        f"Wheel's peak: locked {largest[0]:.0f}, always open {largest[1]:.0f}, with the dealer's selector "
        f"{largest[2]:.0f} m/s². As the valve opens it takes {taken:.0f} N off a wheel of {BIKE.wheel_mass:g} kg; the "
        f"body goes from {body[0]:.1f} to {body.min():.1f} m/s². Hold time 0.2 s: {len(own)} of {len(opens)} openings "
        f"come {1e3 * after[after < OWN].max():.0f} ms after the valve has half closed, one of them at "
        f"{seen[0]:.1f} s of the figure."
    )


def hold_table():
    """The traverse at the dealer's threshold, over the hold time."""
    rows = []
    for hold in (0.05, 0.2, 0.5, 1.0):
        found = scored(ModeSelector(hold=hold), section="traverse")
        rows.append((hold, f"{found.hits} ({found.carried})", found.openings, f"{100 * found.lock_share:.0f} %"))
    heads = ("hold time (s)", f"found, of {len(bumps('bike', 'traverse'))} (carried)", "openings", "locked")
    return table(heads, rows)
