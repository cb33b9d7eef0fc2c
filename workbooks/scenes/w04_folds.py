"""Folded parts of workbook 04, for those who want more: the legs on paper, hysteresis, ways of choosing, more steps."""

import math
from dataclasses import replace

import numpy as np

from helpers.control.laws import Passive
from helpers.control.mode_switch import FAST_TWO_POSITION, SLOW_FINE, ManualLever, ModeSelector
from helpers.models.pedalling import Pedalling, pedalled_wheel_acceleration, wheel_over_push
from helpers.models.quarter_car import PASSIVE, Step, Z_r, Z_u, c, equations_of_motion, f, k_t, laplace, s
from helpers.models.vehicles import TRAIL_BIKE
from helpers.simulation.events import pedalling_acceleration
from helpers.simulation.metrics import bob, metrics
from helpers.teaching.page import folded, table
from scenes.w04_steps import slow_valves, step_row, step_table
from scenes.w04_tables import BIKE, CHAIN, DEALER, LOOP, MOTOR, STROKES, bumps, ridden, scored

# --- the rider's legs -----------------------------------------------------------------------------------------------


def _push_steps():
    """How the legs reach the wheel on smooth ground, and three limits."""
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
    return [step._repr_markdown_() for step in steps]


def _legs_on_paper():
    """Largest wheel acceleration that the rider's legs cause, by the derived expression and by its slow limit."""
    slow = (2.0 * math.pi * STROKES) ** 2 * BIKE.pedal_force / BIKE.tyre_rate
    rate = BIKE.spring_rate * BIKE.tyre_rate / (BIKE.spring_rate + BIKE.tyre_rate)
    body = math.sqrt(rate / BIKE.body_mass) / (2.0 * math.pi)
    return (
        f"Ilka's {BIKE.pedal_force:g} N at 80 turns a minute: {pedalled_wheel_acceleration(TRAIL_BIKE):.2f} m/s² by "
        f"the fraction, {slow:.2f} m/s² by its slow limit (pushes at {STROKES:.1f} Hz; the body's own swing {body:.1f} "
        "Hz)."
    )


def legs_fold():
    """The legs' share on paper, and what seals and dead centres make of it."""
    smooth = Pedalling(force=BIKE.pedal_force)
    ways = (BIKE, smooth), (BIKE, replace(smooth, ripple=1.0)), (BIKE.changed(friction=0.0), smooth)
    rows = [
        (name, *(f"{pedalling_acceleration(bike, Passive(value), legs):.1f}" for bike, legs in ways))
        for name, value in (("open", 0.0), ("locked", 1.0))
    ]
    return folded(
        "Why these numbers? Derivation and more simulations (optional, for E9)",
        "The push $P$ acts on the body; through spring and damper it reaches the wheel. Symbols as in workbook 01.",
        *_push_steps(), _legs_on_paper(),
        "That is the bike on its plain damper. The machine has more: seals that stick and slip, and a lockout that is "
        "far firmer in compression than in rebound. With them, by simulation, at 80 turns a minute. (*Sharp dead "
        "centres*: between the pushes of the two legs the torque drops to nothing for a moment.)",
        table(("setting", "as above (m/s²)", "sharp dead centres (m/s²)", "no seal friction (m/s²)"), rows),
        f"Without seal friction, open, the simulation finds the {rows[0][3]} m/s² of the fraction; seals that stick "
        f"and slip make {rows[0][1]} of it. Uneven dampers jerk the wheel as the motion turns, which friction softens: "
        f"locked, {rows[1][3]} without, {rows[1][1]} with it.",
    )  # fmt: skip


# --- hysteresis -----------------------------------------------------------------------------------------------------


def hysteresis_fold():
    """The traverse over the hold time, with 20 m/s2 of hysteresis and without."""
    rows = []
    for hold in (0.05, 0.2, 0.5, 1.0):
        plain, wide = (scored(ModeSelector(hold=hold, hysteresis=h), section="traverse") for h in (0.0, 20.0))
        rows.append((hold, f"{plain.hits}", f"{wide.hits} ({wide.carried})", plain.openings, wide.openings,
                     f"{100 * plain.lock_share:.0f} %", f"{100 * wide.lock_share:.0f} %"))  # fmt: skip
    heads = ("hold time (s)", "found, none", "found (carried), 20 m/s²", "openings, none", "openings, 20 m/s²",
             "locked, none", "locked, 20 m/s²")  # fmt: skip
    short = rows[1]
    return folded(
        "Hysteresis does some of the same work (optional, for E6)",
        "The traverse again, without hysteresis and with 20 m/s² of it:",
        table(heads, rows),
        f"With it the openings at {short[0]:g} s fall from {short[3]} to {short[4]} and time locked from {short[5]} to "
        f"{short[6]}; it finds {short[2].split()[0]} bumps in place of {short[1]}, since a bump kept from ending "
        "carries the valve to the next.",
    )


# --- ways of choosing -----------------------------------------------------------------------------------------------


def _kinds():
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


def _lever(section, late=0.0):
    """The rider's lever: firm up the climb, opened where the traverse begins, open on the descent."""
    return {"climb": Passive(1.0), "traverse": ManualLever(at=late), "descent": Passive(0.0)}[section]


def _selectors():
    """Every way to choose a setting, over the loop, the trail bike: rows of a table."""
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
    return rows


def ways_fold():
    """Two more kinds of selector and the rider's lever, over the loop."""
    heads = ("way of choosing", "vibration, climb (m/s²)", "traverse (m/s²)", "descent (m/s²)", "bob, climb (mm)",
             "locked, climb", "roots found, climb (carried)")  # fmt: skip
    rows = _selectors()
    climb, traverse, descent = ([row[k] for row in rows] for k in (1, 2, 3))
    gaps, lever = np.diff(bumps("bike", "climb").start), ManualLever()
    hand, travel = lever.reaction + lever.hand, (SLOW_FINE.settings - 1) * SLOW_FINE.time_per_setting
    return folded(
        "The rider's lever, quick and slow selectors, over the loop (extra)",
        "The trade builds two kinds of selector: quick with two positions, or slow with many. For the state machine "
        "they are other numbers; both sets are invented. The slow one opens further for a harder bump: one setting for "
        "a bump at the threshold, one more for each 10 m/s² beyond. The dealer's quick valve has no motor of its own "
        "here; its few milliseconds belong to the chain of workbook 00.",
        _kinds(),
        "The bike over the whole loop. The lever's rows: Ilka rides up locked and opens it by hand where the traverse "
        "begins; half a second to react, one second for the hand.",
        table(heads, rows),
        f"- **A hand does better where the ground changes once.** Opened at the top, the lever has {traverse[2]} m/s² "
        f"on the traverse; six seconds late it has {traverse[3]}, much as the dealer's selector, which keeps locking "
        f"between the ripples, with {traverse[4]}. The selector earns its place where bumps and quiet alternate: from "
        f"root to root of the climb there are {gaps.min():.1f} to {gaps.max():.1f} s, and no hand makes two moves of "
        f"{hand:.1f} s in that.\n"
        f"- **Slow and fine serves stretches, not bumps.** A root lasts 0.11 s; its motor needs {travel:.2f} s from "
        f"end to end. With a hold time of 0.5 s, as in the live figure, it finds {rows[9][6].split()[0]} of the 12 "
        f"roots, with its own 2 s only {rows[8][6].split()[0]}, still open from the root before. What helps it on the "
        f"traverse, {traverse[8]} m/s², is the long hold time: the quick one with 2 s has {traverse[7]} there and "
        f"{climb[7]} on the climb, where it pays with {rows[7][4]} mm of bob.\n"
        f"- **Normally open forgives.** Nobody pedals down the descent, so it stays where it rests: {descent[5]} m/s², "
        f"exactly the plain damper. Normally closed has {descent[4]}. While pedalled the two are the same machine once "
        "the first hold time is over, here after half a second.",
    )


# --- steps ----------------------------------------------------------------------------------------------------------


def steps_fold():
    """More steps, one that is never opened for, and slower valves."""
    rows = [step_row(speed, height) for speed in (5.0, 10.0, 20.0) for height in (0.02, 0.05, 0.1)]
    return folded("More steps, and slower valves (optional)", step_table(rows, every=True), slow_valves())
