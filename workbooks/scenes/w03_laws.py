"""Laws of workbook 03 side by side: comfort, grip, jerk and how busy the valve is; chatter; what hides in the mix."""

from dataclasses import replace

import numpy as np
import sympy as sp

from helpers.control.laws import ActiveSkyhook, MixedHook, Passive, TwoStateSkyhook
from helpers.control.optimal import regulator
from helpers.models.quarter_car import Step
from helpers.models.vehicles import FLEET
from helpers.simulation.families import FAST_CHAIN
from helpers.simulation.metrics import metrics, rms, valve_activity
from helpers.simulation.runs import ride_section
from helpers.teaching.page import folded, table
from scenes.w03_rides import (
    HERE,
    LAWS,
    LOOP,
    SAMPLED,
    SKY_SHARE,
    best_fixed,
    law_of,
    named,
    ordinary,
    ridden,
    share_told,
    sky,
)
from scenes.w03_tables import V_S, V_U, F

C_MIX, ALPHA = sp.Symbol(r"c_\mathrm{mix}", positive=True), sp.Symbol("alpha", real=True)
MIX = C_MIX * (ALPHA * V_S - (1 - ALPHA) * V_U)


def _jerk(run):
    return f"{rms(np.diff(run.body_acceleration) * run.rate):.0f}"


def laws_table(place=HERE):
    """The laws of the page's story on one place: comfort, grip, jerk, and the strokes of the valve."""
    vehicle, part = FLEET[place[0]], LOOP.section(place[1])
    plain, best = ride_section(vehicle.plain(), part), best_fixed(place)
    rides = {"plain damper": (plain, metrics(plain)), f"best fixed: {best.name}": (best.run, best.metrics)}
    rides |= {LAWS[key]: ridden(place, law_of(key, vehicle, sky(place))) for key in ("skyhook", "two-state")}
    rides["two-state skyhook, firm = lockout"] = ridden(place, TwoStateSkyhook(firm=1.0))
    rides[LAWS["groundhook"]] = ridden(place, law_of("groundhook", vehicle, sky(place)))
    rows = [
        (name, f"{m.comfort:.2f}", f"{100 * m.airborne:.1f}", _jerk(run), f"{valve_activity(run).strokes:.1f}")
        for name, (run, m) in rides.items()
    ]
    heads = ("suspension", "vibration (m/s²)", "off the ground (%)", "jerk (m/s³)", "full strokes (1/s)")
    return table(heads, rows)


def _more_laws(place):
    vehicle = FLEET[place[0]]
    laws = {LAWS[key]: law_of(key, vehicle, sky(place)) for key in ("skyhook", "two-state", "groundhook")}
    laws["acceleration-driven"] = law_of("acceleration", vehicle, sky(place))
    laws["acceleration-driven, three times as firm"] = law_of("acceleration", vehicle, 3.0 * sky(place))
    laws[LAWS["mix"]] = law_of("mix", vehicle, sky(place))
    laws["clipped optimal"] = regulator(vehicle).clipped()
    laws["valve left open"] = Passive(0.0)
    laws["active skyhook"] = ActiveSkyhook(sky(place))
    rows = []
    for name, law in laws.items():
        run, m = ridden(place, law)
        busy = valve_activity(run)
        valve = (f"{busy.commands:.0f}", f"{busy.strokes:.1f}")
        if name == "active skyhook":
            valve = ("–", "–")  # an actuator has no valve to wear
        rows.append((name, share_told(place, m.comfort), f"{m.comfort:.2f}", f"{100 * m.airborne:.1f}", _jerk(run),
                     *valve))  # fmt: skip
    heads = ("suspension", "kept (%)", "vibration (m/s²)", "off the ground (%)", "jerk (m/s³)", "commands (1/s)",
             "full strokes (1/s)")  # fmt: skip
    return table(heads, rows)


def _chatter(place):
    """Commands and strokes a second, and what a dead band costs.

    Commands fall on the log's own points, 1000 a second, and between them a valve moves one way: no stroke is lost.
    """
    vehicle, coefficient = FLEET[place[0]], 3.0 * sky(place)
    driven = law_of("acceleration", vehicle, coefficient)
    banded = replace(driven, dead_band=0.1, acceleration_band=1.0)
    two = law_of("two-state", vehicle, sky(place))
    cases = (
        ("acceleration-driven, three times as firm, instant valve", driven, SAMPLED),
        ("the same with dead bands", banded, SAMPLED),
        ("acceleration-driven, three times as firm, real chain", driven, FAST_CHAIN),
        ("the same with dead bands", banded, FAST_CHAIN),
        ("two-state skyhook, real chain", two, FAST_CHAIN),
        ("the same, dead band 0.1 m/s", replace(two, dead_band=0.1), FAST_CHAIN),
        ("the same, dead band 0.4 m/s", replace(two, dead_band=0.4), FAST_CHAIN),
    )
    rows = []
    for name, law, timing in cases:
        run, m = ridden(place, law, timing)
        busy = valve_activity(run)
        rows.append((name, f"{busy.commands:.0f}", f"{busy.strokes:.1f}", f"{m.comfort:.2f}"))
    return table(("law and valve", "commands (1/s)", "full strokes (1/s)", "vibration (m/s²)"), rows)


def more_laws_fold(place=HERE):
    """Three more laws, and how often laws that look at a sign command the valve."""
    return folded(
        "Three more laws, and chatter (optional)",
        "- **Mix**: a share $\\alpha$ of skyhook, the rest groundhook.\n"
        "- **Acceleration-driven**: firm while $\\dot v_s (v_s - v_u) > 0$, that is, while the damper pulls against "
        "the body's *acceleration*. It needs no speed of the body, which is hard to measure.\n"
        "- **Clipped optimal**: the optimal feedback of workbook 02, of whose force the damper gives what it can.",
        _more_laws(place),
        "**Clipped optimal is the calmest damper**, 3.41 m/s²: 70 % kept, by this page's measure. The "
        "acceleration-driven law has to be firm to be calm: 3.50 m/s² with three times the firmness, 3.88 without.",
        "**Chatter.** A law that looks at a sign switches whenever that sign trembles. A *dead band* lets the last "
        "decision stand while the speed of travel (here 0.1 m/s; for the acceleration-driven law 1 m/s² as well) is "
        "small. The instant valve is sampled 1000 times a second like the real chain, but nothing in it is late.",
        _chatter(place),
        "The faster the valve, the more it chatters: the acceleration-driven law asks an instant valve for 270 "
        "commands and 132 full strokes a second, the real chain for 70 and 23. Dead bands bring that to 26 commands "
        "and cost 3 % of calm, 3.59 instead of 3.50 m/s². On the two-state law a dead band of 0.1 m/s takes a third "
        "of the commands for one per cent.",
    )


def _mix_steps():
    parts = (1 - ALPHA) * C_MIX * (V_S - V_U) + (2 * ALPHA - 1) * C_MIX * V_S
    if sp.expand(parts - MIX) != 0:
        raise ArithmeticError("The parts of the mix no longer add up to it.")
    return (
        Step("Mix", "A share $\\alpha$ of skyhook, the rest groundhook, which wants $-c\\,v_u$.", sp.Eq(F, MIX)),
        Step("Sorted", "The same sum as an ordinary damper and a skyhook.", sp.Eq(F, parts)),
        Step("Half and half", "$\\alpha = 1/2$: the skyhook is gone.",
             sp.Eq(F, sp.factor(MIX.subs(ALPHA, sp.Rational(1, 2))))),
    )  # fmt: skip


def _grip(place):
    rides = {f"mix, {100 * share:.0f} % skyhook": ridden(place, MixedHook(sky(place), share))[1]
             for share in (1.0, 0.9, SKY_SHARE, 0.7, 0.5)}  # fmt: skip
    rides |= {"plain damper": ordinary(place), "valve left open": ridden(place, Passive(0.0))[1]}
    rows = [(name, f"{m.comfort:.2f}", f"{100 * m.load_variation:.0f}", f"{100 * m.airborne:.1f}")
            for name, m in rides.items()]  # fmt: skip
    return table((named(place), "vibration (m/s²)", "tyre load varies (%)", "off the ground (%)"), rows)


def mix_fold(place=("motorcycle", "descent")):
    """The mix of skyhook and groundhook: the damper that hides in it, and its grip on a machine with a heavy wheel."""
    return folded(
        "What hides in the mix (optional)",
        *_mix_steps(),
        "Half skyhook and half groundhook is *an ordinary damper* of half the coefficient: no sensor needed. Here on "
        "the motorcycle, whose wheel is heavy:",
        _grip(place),
        "With 80 % skyhook the wheel is off the ground for 21.4 % of the time instead of 26.3, and that costs 2 % of "
        "calm, 4.97 instead of 4.88 m/s². The half mix stands beside the plain damper, up to the delay of the chain: "
        "6.11 and 6.15.",
    )
