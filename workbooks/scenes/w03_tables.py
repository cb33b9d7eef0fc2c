"""Derivations and tables of workbook 03: what a damper gives of a wanted force, what of the active gain is kept."""

from dataclasses import replace

import numpy as np
import sympy as sp

from helpers.control.laws import ActiveSkyhook, LinearSkyhook, MixedHook, Passive, TwoStateSkyhook
from helpers.control.optimal import mean_squares, open_damping, regulator
from helpers.control.timing import Timing
from helpers.models.dampers import linear
from helpers.models.quarter_car import Step
from helpers.models.reach import nearest, reach
from helpers.models.terrain import fell_loop, iso_8608
from helpers.models.vehicles import FLEET
from helpers.simulation.families import FAST_CHAIN, SKYHOOK, share_kept
from helpers.simulation.metrics import metrics, rms, valve_activity
from helpers.simulation.runs import ride_section, simulate
from helpers.teaching.page import Shown, table
from scenes.w03_rides import (
    HERE,
    LAWS,
    LOOP,
    ORDINARY,
    OTHER_LOOPS,
    PLACES,
    SAMPLED,
    SETTINGS,
    SKY_SHARE,
    WITHOUT_LIMITS,
    active,
    best_fixed,
    best_in_grip,
    firm_setting,
    kept,
    law_of,
    named,
    ordinary,
    ridden,
    semi,
    sky,
)

# --- the derivation ---------------------------------------------------------------------------------------------

V_S, V_U = sp.symbols("v_s v_u", real=True)
C_SKY, C_MIX = sp.symbols(r"c_\mathrm{sky} c_\mathrm{mix}", positive=True)
P, C, F, ALPHA = sp.symbols("P c f alpha", real=True)
WANTED = C_SKY * V_S
POWER = sp.factor(-WANTED * (V_S - V_U))
NEEDED = WANTED / (V_S - V_U)
MIX = C_MIX * (ALPHA * V_S - (1 - ALPHA) * V_U)
_power = sp.lambdify((V_S, V_U, C_SKY), POWER)


def _steps(*steps):
    return Shown("\n\n".join(step._repr_markdown_() for step in steps))


def skyhook_derivation():
    """What a skyhook asks of a damper, and when a damper can give it."""
    return _steps(
        Step("Wish", "The damper force the body should feel: as if hung on a damper from the sky.", sp.Eq(F, WANTED)),
        Step("Power", "Force times speed at both ends of the damper, as in workbook 00.", sp.Eq(P, POWER)),
        Step("Condition", "A damper cannot put energy in: $P \\le 0$.", sp.Ge(V_S * (V_S - V_U), 0)),
        Step("Coefficient", "Force over speed: what the damper's coefficient would have to be.", sp.Eq(C, NEEDED)),
    )


def skyhook_limits():
    """Four moments in which the answer can be seen without algebra."""
    return _steps(
        Step("Wheel at rest", "$v_u = 0$: skyhook and damper are the same thing.", NEEDED.subs(V_U, 0)),
        Step("Body at rest", "$v_s = 0$: no force is wanted.", NEEDED.subs(V_S, 0)),
        Step("Moving together", "$v_u \\to v_s$, the body a little faster: no damper is firm enough.",
             sp.limit(NEEDED.subs(V_S, V_U + sp.Symbol("d")), sp.Symbol("d"), 0, "+").subs(sp.sign(V_U), 1)),
        Step("Wheel twice as fast", "$v_u = 2 v_s$: a negative coefficient, so the force would drive the "
             "suspension.", sp.simplify(NEEDED.subs(V_U, 2 * V_S))),
    )  # fmt: skip


def mix_derivation():
    """The mix of skyhook and groundhook, and the damper that hides in it."""
    parts = (1 - ALPHA) * C_MIX * (V_S - V_U) + (2 * ALPHA - 1) * C_MIX * V_S
    if sp.expand(parts - MIX) != 0:
        raise ArithmeticError("The parts of the mix no longer add up to it.")
    return _steps(
        Step("Mix", "A share $\\alpha$ of skyhook, the rest groundhook, which wants $-c\\,v_u$.", sp.Eq(F, MIX)),
        Step("Sorted", "The same sum as an ordinary damper and a skyhook.", sp.Eq(F, parts)),
        Step("Half and half", "$\\alpha = 1/2$: the skyhook is gone.",
             sp.Eq(F, sp.factor(MIX.subs(ALPHA, sp.Rational(1, 2))))),
    )  # fmt: skip


def right_sign(run, coefficient):
    """Share of time in which the wanted skyhook force would brake the suspension."""
    return float(np.mean(_power(run.body_velocity, run.wheel_velocity, coefficient) < 0.0))


def sign_table(seconds=60.0):
    """Share of time in which the skyhook force brakes: closed form, its simulation, and two rides of the descent."""
    rows = []
    for vehicle in FLEET.values():
        coefficient = SKYHOOK * vehicle.damping
        spread = mean_squares(vehicle, (0.0, coefficient, 0.0, 0.0), 1e-3)
        alike = -spread.power / np.sqrt(spread.force * spread.relative_velocity)
        linear = vehicle.plain(open_damping(vehicle)).changed(
            friction=0.0, gas_column=np.inf, bump_travel=1.0, rebound_travel=1.0
        )
        speed = vehicle.traverse_speed
        road = iso_8608("C", 20.0 * round(seconds * speed / 20.0), 0.005, seed=5, band=(0.005, 90.0))
        run = simulate(linear, lambda t, r=road, v=speed: r.at(v * t) - r.height[0], seconds,
                       ActiveSkyhook(coefficient))  # fmt: skip
        share = 0.5 + np.arcsin(alike) / np.pi
        found = right_sign(run, coefficient)
        here = next(key for key, each in FLEET.items() if each is vehicle), "descent"
        rides = [right_sign(ride(here)[0], coefficient) for ride in (active, semi)]
        rows.append((vehicle.name, f"{alike:.2f}", *(f"{100 * each:.0f}" for each in (share, found, *rides))))
    heads = ("machine", "correlation", "actuator, closed form (%)", "actuator, linear machine simulated (%)",
             "actuator, descent (%)", "damper, descent (%)")  # fmt: skip
    return table(heads, rows)


# --- what the damper can reach ----------------------------------------------------------------------------------


def split(place):
    """Shares of time: (within reach, too little wanted, too much wanted, would drive) of the skyhook force."""
    run, _ = semi(place)
    speed, wanted = run.body_velocity - run.wheel_velocity, sky(place) * run.body_velocity
    region = reach(run.vehicle, speed)
    within, brakes = region.holds(wanted), wanted * speed > 0.0
    little = brakes & ~within & (np.abs(wanted) < np.minimum(np.abs(region.low), np.abs(region.high)))
    much = brakes & ~within & ~little
    return tuple(float(np.mean(part)) for part in (within, little, much, ~brakes & ~within))


def miss(place):
    """(share of the largest tenth of wanted forces that brake, rms of wanted less given over rms of wanted)."""
    run, _ = semi(place)
    speed, wanted = run.body_velocity - run.wheel_velocity, sky(place) * run.body_velocity
    large = np.abs(wanted) >= np.quantile(np.abs(wanted), 0.9)
    left_over = wanted - nearest(run.vehicle, wanted, speed)
    return float(np.mean((wanted * speed > 0.0)[large])), rms(left_over) / rms(wanted)


def reach_table():
    """Where the wanted skyhook force lies, place by place, and by how much the damper misses it."""
    heads = ("machine, section", "would drive (%)", "less than soft (%)", "within reach (%)", "more than firm (%)",
             "largest tenth: brakes (%)", "miss / wanted, rms (%)")  # fmt: skip
    rows = []
    for place in PLACES:
        within, little, much, drives = split(place)
        rows.append((named(place), *(f"{100 * part:.0f}" for part in (drives, little, within, much, *miss(place)))))
    return table(heads, rows)


# --- what is kept -----------------------------------------------------------------------------------------------


def kept_table():
    """The main comparison: the same skyhook by an actuator and by a damper, over plain and best fixed dampers."""
    heads = ("machine, section", "plain (m/s²)", "best fixed (m/s²)", "which is", "semi (m/s²)", "active (m/s²)",
             "kept of the active skyhook's gain over plain (%)", "the same over best fixed (%)")  # fmt: skip
    rows = []
    for place in PLACES:
        plain, best = ordinary(place), best_fixed(place)
        mine, power = semi(place)[1].comfort, active(place)[1].comfort
        rows.append((
            named(place), f"{plain.comfort:.2f}", f"{best.metrics.comfort:.2f}", best.name, f"{mine:.2f}",
            f"{power:.2f}", f"{100 * share_kept(plain.comfort, power, mine):.0f}", f"{100 * kept(place, mine):.0f}",
        ))  # fmt: skip
    return table(heads, rows)


def gain_table():
    """Where the gain goes: from the best fixed damper to the actuator, one handicap after the other taken away."""
    names = ("best fixed damper", "damper, real chain (kept)", "damper without delay (lost to delay)",
             "… and without limits of range (lost to range)",
             "actuator beside the open valve, without delay (no damper can drive)",
             "for comparison: the same, real chain", "actuator alone, without delay",
             "actuator alone, real chain")  # fmt: skip
    columns, now = {}, Timing.ideal()
    for place, kind in ((HERE, "skyhook"), (("carrier", "descent"), "skyhook"), (HERE, "optimal")):
        vehicle, part = FLEET[place[0]], LOOP.section(place[1])
        damper, power = LinearSkyhook(sky(place)), ActiveSkyhook(sky(place))
        if kind == "optimal":
            damper, power = regulator(vehicle).clipped(), regulator(vehicle).feedback()
        free, bare = vehicle.changed(**WITHOUT_LIMITS), vehicle.changed(open_curve=linear(0.0))
        cases = ((vehicle, damper, FAST_CHAIN), (vehicle, damper, now), (free, damper, now), (vehicle, power, now),
                 (vehicle, power, FAST_CHAIN), (bare, power, now), (bare, power, FAST_CHAIN))  # fmt: skip
        if kind == "optimal":
            cases = cases[:-2]  # its gains count on the open valve beside it
        first = best_fixed(place).metrics.comfort
        steps = [first, *(metrics(ride_section(machine, part, law, chain)).comfort for machine, law, chain in cases)]
        shares = -np.diff(steps[:5]) / (first - steps[4])
        cells = [f"{a:.2f}\u00a0({100 * b:.0f}\u00a0%)" for a, b in zip(steps[1:5], shares, strict=True)]
        cells = [f"{first:.2f}", *cells, *(f"{value:.2f}" for value in steps[5:])]
        columns[f"{named(place)}, {kind} (m/s²)"] = cells + ["–"] * (len(names) - len(cells))
    return table(("what acts", *columns), list(zip(names, *columns.values(), strict=True)))


def rival_table():
    """Grip: what the calmest fixed damper costs, and how calm a fixed damper with at least the law's grip is."""
    heads = ("machine, section", "plain: load varies / off the ground (%)", "best fixed (%)", "law (%)",
             "fixed with the law's grip (m/s²)", "the law gains over it (m/s²)")  # fmt: skip
    rows = []
    for place in PLACES:
        law, rival = semi(place)[1], best_in_grip(place)
        grip = (f"{100 * m.load_variation:.0f}\u00a0/\u00a0{100 * m.airborne:.1f}"
                for m in (ordinary(place), best_fixed(place).metrics, law))  # fmt: skip
        calm, gain = f"none of {len(ORDINARY) + len(SETTINGS)}", "–"
        if rival:
            shaken = rival.metrics.comfort
            calm, gain = f"{shaken:.2f}, {rival.name}", f"{shaken - law.comfort:.2f}"
        rows.append((named(place), *grip, calm, gain))
    return table(heads, rows)


def _downhill(values, start, cost):
    """The least cost that neighbours of values[start] lead down to: the valley of a fixed damper has one floor."""
    least = cost(values[start])
    for way in (1, -1):
        at = start + way
        while 0 <= at < len(values) and (found := cost(values[at])) < least:
            least, at = found, at + way
    return least


def _gain_on(part, vehicle, law, coefficient_at, setting_at):
    """What the law gains over the best fixed damper on another section, m/s2; the search starts at this page's."""
    def shaken(machine, *ridden_by):
        return metrics(ride_section(machine, part, *ridden_by)).comfort

    fixed = min(
        _downhill(ORDINARY, coefficient_at, lambda c: shaken(vehicle.plain(c))),
        _downhill(SETTINGS, setting_at, lambda s: shaken(vehicle, Passive(s), FAST_CHAIN)),
    )
    return fixed - shaken(vehicle, law, FAST_CHAIN)


def seeds_table():
    """What the law gains over the best fixed damper on this loop and on five others of the same make."""
    heads = ("machine, section", "best ordinary damper (m/s²)", "law (m/s²)", "gain over best fixed (m/s²)",
             "on five other loops, least (m/s²)", "largest (m/s²)")  # fmt: skip
    rows, loops = [], [fell_loop(seed) for seed in OTHER_LOOPS]
    for place in PLACES:
        at = int(np.argmin([ordinary(place, c).comfort for c in ORDINARY]))
        set_at = int(np.argmin([ridden(place, Passive(s))[1].comfort for s in SETTINGS]))
        gains = [_gain_on(loop.section(place[1]), FLEET[place[0]], LinearSkyhook(sky(place)), at, set_at)
                 for loop in loops]  # fmt: skip
        mine, best = semi(place)[1].comfort, best_fixed(place).metrics.comfort
        calmest = ordinary(place, ORDINARY[at]).comfort
        rows.append((
            named(place), f"{calmest:.2f}, {ORDINARY[at]:.0f}\u00a0N\u00a0s/m", f"{mine:.2f}",
            *(f"{gain:.2f}" for gain in (best - mine, min(gains), max(gains))),
        ))  # fmt: skip
    return table(heads, rows)


def _row(name, place, run, m):
    jerk = rms(np.diff(run.body_acceleration) * run.rate)
    busy = valve_activity(run)
    return (name, f"{m.comfort:.2f}", f"{100 * m.load_variation:.0f}", f"{100 * m.airborne:.1f}", f"{jerk:.0f}",
            f"{busy.commands:.0f}", f"{busy.strokes:.1f}", f"{100 * kept(place, m.comfort):.0f}")  # fmt: skip


HEADS = ("suspension", "vibration (m/s²)", "tyre load varies (%)", "off the ground (%)", "jerk (m/s³)",
         "commands (1/s)", "full strokes (1/s)", "share of the active skyhook's gain (%)")  # fmt: skip


def laws_table(place=HERE):
    """Every law on one place: comfort, grip, jerk and how busy the valve is."""
    vehicle = FLEET[place[0]]
    part = LOOP.section(place[1])
    plain, best = ride_section(vehicle.plain(), part), best_fixed(place)
    rows = [_row("plain damper", place, plain, metrics(plain)),
            _row(f"best fixed: {best.name}", place, best.run, best.metrics)]  # fmt: skip
    laws = {"valve left open": Passive(0.0)} | {LAWS[key]: law_of(key, vehicle, sky(place)) for key in LAWS}
    laws["two-state skyhook, firm = lockout"] = TwoStateSkyhook(firm=1.0)
    laws["acceleration-driven, three times as firm"] = law_of("acceleration", vehicle, 3.0 * sky(place))
    laws["clipped optimal"] = regulator(vehicle).clipped()
    laws["active skyhook"] = ActiveSkyhook(sky(place))
    rows += [_row(name, place, *ridden(place, law)) for name, law in laws.items()]
    rows[-1] = (*rows[-1][:5], "–", "–", rows[-1][7])  # an actuator has no valve to wear
    return table(HEADS, rows)


# --- range, chatter, delay, grip --------------------------------------------------------------------------------


def chatter_table(place=HERE):
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


def delay_table(places=(("bike", "descent"), ("bike", "traverse"), ("carrier", "descent"))):
    """The skyhook with extra delay in the chain: share of the active skyhook's gain over the best fixed damper."""
    rows = []
    for extra_ms in (0, 5, 10, 20, 30):
        late = replace(FAST_CHAIN, valve_dead_time=FAST_CHAIN.valve_dead_time + 1e-3 * extra_ms)
        found = [ridden(place, LinearSkyhook(sky(place)), late)[1].comfort for place in places]
        shares = [100 * kept(place, value) for place, value in zip(places, found, strict=True)]
        cells = (f"{a:.2f}\u00a0({b:.0f}\u00a0%)" for a, b in zip(found, shares, strict=True))
        rows.append((f"{extra_ms} ms", *cells))
    return table(("extra delay", *(f"{named(place)} (m/s²)" for place in places)), rows)


def grip_table(place=("motorcycle", "descent")):
    """Skyhook, mixes and an ordinary damper on a machine with a heavy wheel."""
    rows = []
    for share in (1.0, 0.9, 0.8, 0.7, 0.5):
        m = ridden(place, MixedHook(sky(place), share))[1]
        rows.append((f"mix, {100 * share:.0f} % skyhook", f"{m.comfort:.2f}", f"{100 * m.load_variation:.0f}",
                     f"{100 * m.airborne:.1f}"))  # fmt: skip
    for name, m in (("plain damper", ordinary(place)), ("valve left open", ridden(place, Passive(0.0))[1])):
        rows.append((name, f"{m.comfort:.2f}", f"{100 * m.load_variation:.0f}", f"{100 * m.airborne:.1f}"))
    return table((named(place), "vibration (m/s²)", "tyre load varies (%)", "off the ground (%)"), rows)


def numbers_table():
    """The numbers of the laws, machine by machine, as the page uses them."""
    fleet = list(FLEET.values())
    firm = [firm_setting(v, SKYHOOK * v.damping) for v in fleet]

    def met(side):
        ends = [(getattr(v.open_curve, side).low, getattr(v.lockout_curve, side).low) for v in fleet]
        return [f"{(1 - s) * soft + s * hard:.0f}" for s, (soft, hard) in zip(firm, ends, strict=True)]

    rows = [
        ("plain damper (N s/m)", *(f"{v.damping:.0f}" for v in fleet)),
        ("skyhook, groundhook, mix: coefficient (N s/m)", *(f"{SKYHOOK * v.damping:.0f}" for v in fleet)),
        ("mix: share of the skyhook (%)", *(f"{100 * SKY_SHARE:.0f}" for _ in fleet)),
        ("two-state and acceleration-driven: firm setting, 0 open to 1 lockout", *(f"{s:.3f}" for s in firm)),
        ("the same, met in slow compression (N s/m)", *met("compression")),
        ("the same, met in slow rebound (N s/m)", *met("rebound")),
    ]
    return table(("number", *(v.name for v in fleet)), rows)


def curves_table():
    """The two curves between which each machine's valve moves."""
    rows = []
    for vehicle in FLEET.values():
        soft, firm = vehicle.open_curve, vehicle.lockout_curve
        rows.append((
            vehicle.name, f"{soft.compression.low:.0f}", f"{firm.compression.low:.0f}",
            f"{firm.compression.high:.0f}, from {firm.compression.knee:g} m/s", f"{soft.rebound.low:.0f}",
            f"{firm.rebound.low:.0f}",
        ))  # fmt: skip
    heads = ("machine", "compression, soft (N s/m)", "compression, firm (N s/m)", "firm after blow-off (N s/m)",
             "rebound, soft (N s/m)", "rebound, firm (N s/m)")  # fmt: skip
    return table(heads, rows)
