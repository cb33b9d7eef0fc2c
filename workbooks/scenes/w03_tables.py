"""Derivations and tables of workbook 03: what a damper gives of a wanted force, what of the active gain is kept."""

from dataclasses import replace

import numpy as np
import sympy as sp

from helpers.control.laws import ActiveSkyhook, LinearSkyhook, MixedHook, Passive
from helpers.control.optimal import mean_squares, open_damping, regulator
from helpers.control.timing import Timing
from helpers.models.quarter_car import Step
from helpers.models.reach import reach
from helpers.models.terrain import fell_loop, iso_8608
from helpers.models.vehicles import FLEET
from helpers.simulation.families import FAST_CHAIN, SKYHOOK, share_kept
from helpers.simulation.metrics import metrics
from helpers.simulation.runs import ride_section, simulate
from helpers.teaching.page import Shown, folded, table
from scenes.w03_rides import (
    HERE,
    LOOP,
    ORDINARY,
    OTHER_LOOPS,
    PLACES,
    ROUGH,
    SETTINGS,
    SKY_SHARE,
    WITHOUT_LIMITS,
    active,
    best_fixed,
    best_in_grip,
    firm_setting,
    kept,
    mean_vibration,
    named,
    ordinary,
    ridden,
    semi,
    share_told,
    sky,
)

# --- the derivation ---------------------------------------------------------------------------------------------

V_S, V_U = sp.symbols("v_s v_u", real=True)
C_SKY = sp.Symbol(r"c_\mathrm{sky}", positive=True)
P, C, F = sp.symbols("P c f", real=True)
WANTED = C_SKY * V_S
POWER = sp.factor(-WANTED * (V_S - V_U))
NEEDED = WANTED / (V_S - V_U)
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
    step = sp.Symbol("d")
    together = sp.limit(NEEDED.subs(V_S, V_U + step), step, 0, "+").subs(sp.sign(V_U), 1)
    moments = (
        ("wheel at rest, $v_u = 0$", NEEDED.subs(V_U, 0), "yes, as firm as the skyhook"),
        ("body at rest, $v_s = 0$", NEEDED.subs(V_S, 0), "nearly: its softest, for no force is wanted"),
        ("moving together, $v_u \\to v_s$, body a little faster", together, "no damper is firm enough"),
        ("wheel twice as fast, $v_u = 2 v_s$", sp.simplify(NEEDED.subs(V_U, 2 * V_S)),
         "no: it would drive the suspension"),
    )  # fmt: skip
    rows = [(moment, f"${sp.latex(needed)}$", answer) for moment, needed, answer in moments]
    return table(("moment", "coefficient $c$ needed", "can a damper?"), rows)


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
    return folded(
        "How often does it brake? A closed form (optional)",
        "On a random road through a linear machine, body speed and speed of travel are two Gaussian signals with a "
        "correlation $\\rho$. They have the same sign for a share $\\frac12 + \\frac{1}{\\pi}\\arcsin\\rho$ of the "
        "time (Sheppard 1899). For the ideal active skyhook $\\rho$ has a closed form, since the actuator's mean power "
        "is known.",
        table(heads, rows),
        "A little over half: road and wheel move so much faster than the body that the sign of the travel is nearly a "
        "coin toss. The closed form is that of the *actuator* on a linear machine, 55 % on the bike. On the real "
        "descent the actuator's ride has 58 %; the *damper's* own ride, of which the prediction spoke, has 65 %.",
    )


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


def largest_brake(place):
    """Of the largest tenth of the wanted skyhook forces, the share that brakes."""
    run, _ = semi(place)
    speed, wanted = run.body_velocity - run.wheel_velocity, sky(place) * run.body_velocity
    large = np.abs(wanted) >= np.quantile(np.abs(wanted), 0.9)
    return float(np.mean((wanted * speed > 0.0)[large]))


def reach_table():
    """Where the wanted skyhook force lies, place by place."""
    heads = ("machine, section", "would drive (%)", "too little (%)", "within reach (%)", "too much (%)",
             "largest tenth: brakes (%)")  # fmt: skip
    rows = []
    for place in PLACES:
        within, little, much, drives = split(place)
        parts = (drives, little, within, much, largest_brake(place))
        rows.append((named(place), *(f"{100 * part:.0f}" for part in parts)))
    return folded(
        "The bars in numbers, with the climbs (optional)",
        table(heads, rows),
        "Everywhere more of the largest tenth of the wanted forces brake than of all of them.",
    )


# --- what is kept -----------------------------------------------------------------------------------------------


def kept_table():
    """The main comparison: the same skyhook by an actuator and by a damper, over the best fixed damper."""
    rows, every = [], []
    for place in PLACES:
        plain, best = ordinary(place), best_fixed(place)
        mine, power = semi(place)[1].comfort, active(place)[1].comfort
        share = f"{100 * kept(place, mine):.0f}"
        told = (f"{best.metrics.comfort:.2f}", f"{mine:.2f}", f"{power:.2f}")
        over_plain = f"{100 * share_kept(plain.comfort, power, mine):.0f}"
        every.append((named(place), share, *told, best.name, f"{plain.comfort:.2f}", over_plain))
        if place in ROUGH:
            rows.append((named(place), share, *told))
    heads = ("machine, section", "kept (%)", "best fixed (m/s²)", "damper (m/s²)", "actuator (m/s²)")
    more = ("best fixed is", "plain (m/s²)", "share of the gain over plain (%)")
    fold = folded(
        "With the climbs, and over the plain damper (optional)",
        table((*heads, *more), every),
        "Over the plain damper 67 to 93 % seem to be kept; on climbs *kept* is 64, 33 and 11 %.",
    )
    return Shown(f"{table(heads, rows)}\n\n{fold}")


def _rides_of_gain(place):
    """Function of (machine, law, timing) to vibration in m/s2 on `place`, and the machines that lack limits."""
    vehicle, part = FLEET[place[0]], LOOP.section(place[1])
    free = {
        "neither": vehicle.changed(**WITHOUT_LIMITS),
        "soft": vehicle.changed(open_curve=WITHOUT_LIMITS["open_curve"]),
        "firm": vehicle.changed(lockout_curve=WITHOUT_LIMITS["lockout_curve"]),
    }

    def shaken(machine, law, timing):
        if machine is vehicle:
            return ridden(place, law, timing)[1].comfort
        return metrics(ride_section(machine, part, law, timing)).comfort

    return shaken, vehicle, free


def gain_table():
    """Where the gain goes: a damper's handicaps taken away, alone and together."""
    names = ("damper, real chain", "without limits, but late", "without delay, but with limits",
             "with neither delay nor limits", "actuator alone, without delay",
             "actuator beside the open valve, without delay")  # fmt: skip
    now, columns, more, clipped = Timing.ideal(), {}, {}, []
    for place in (HERE, ("carrier", "descent")):
        shaken, vehicle, free = _rides_of_gain(place)
        damper, power = LinearSkyhook(sky(place)), ActiveSkyhook(sky(place))
        cases = ((vehicle, damper, FAST_CHAIN), (vehicle, damper, now), (free["neither"], damper, now),
                 (free["soft"], power, now), (vehicle, power, now))  # fmt: skip
        columns[named(place)] = [f"{shaken(*case):.2f}" for case in cases]
        columns[named(place)].insert(1, mean_vibration(place[1], free["neither"], damper))
        curve = vehicle.open_curve
        beside = 0.5 * (curve.compression.low + curve.rebound.low)  # N s/m, of the open valve, as a wish of the law
        both = MixedHook(sky(place) + 2.0 * beside, 1.0 - beside / (sky(place) + 2.0 * beside))
        cases = ((free["soft"], damper, FAST_CHAIN), (free["neither"], both, now), (free["soft"], power, FAST_CHAIN),
                 (vehicle, power, FAST_CHAIN))  # fmt: skip
        more[named(place)] = [f"{shaken(*case):.2f}" for case in cases]
        more[named(place)].insert(1, mean_vibration(place[1], free["firm"], damper))
        if place == HERE:
            best = regulator(vehicle)
            damper, power = best.clipped(), best.feedback()
            cases = ((vehicle, damper, FAST_CHAIN), (vehicle, damper, now), (free["neither"], damper, now),
                     (vehicle, power, now))  # fmt: skip
            clipped = [f"{shaken(*case):.2f}" for case in cases]
            clipped.insert(1, mean_vibration(place[1], free["neither"], damper))
    heads = ("vibration (m/s²)", *columns)
    others = ("damper, soft end at nothing, real chain", "damper, firm end at 50 000 N s/m, real chain",
              "damper with neither, asked for skyhook and open valve", "actuator alone, real chain",
              "actuator beside the open valve, real chain")  # fmt: skip
    fold = folded(
        "Which limit, what driving is worth, and optimal feedback (optional)",
        table(heads, list(zip(others, *more.values(), strict=True))),
        "Without limits a firm end and delay make the ride chaotic: the last bit of a gain decides the second digit. "
        "So *without limits, but late* and *firm end at 50 000 N s/m* are means of 256 rides whose gains differ by up "
        "to 1 %, and so is the clipped law's number below.",
        "**Which limit?** Late, the damper loses calm by a firm end without limit, and none by a soft end at nothing.",
        "**What is driving worth?** It depends on what stands beside the actuator. Alone it has 3.17 m/s² on the bike, "
        "the damper without handicaps 3.20; on the carrier 1.94, *more* than that damper's 1.80, for a skyhook alone "
        "leaves the wheel undamped. With the open valve beside the one, and in the wish of the other, it is 3.03 "
        "against 3.27 and 1.72 against 1.84.",
        f"**Optimal feedback** of workbook 02, clipped, on the bike: {clipped[0]} m/s² on the real chain, {clipped[1]} "
        f"without limits but late (worse than the best fixed damper, {best_fixed(HERE).metrics.comfort:.2f}), "
        f"{clipped[2]} without delay, {clipped[3]} with neither. Its actuator beside the open valve, without delay, "
        f"has {clipped[4]}.",
    )
    return Shown(f"{table(heads, list(zip(names, *columns.values(), strict=True)))}\n\n{fold}")


def rival_table():
    """Grip: what the calmest fixed damper costs, and how calm a fixed damper with at least the law's grip is."""
    rows, every = [], []
    for place in PLACES:
        law, rival = semi(place)[1], best_in_grip(place)
        rides = (ordinary(place), best_fixed(place).metrics, law)
        grip = (f"{100 * m.load_variation:.0f}\u00a0/\u00a0{100 * m.airborne:.1f}" for m in rides)
        calm, gain = f"none of {len(ORDINARY) + len(SETTINGS)}", "–"
        if rival:
            shaken = rival.metrics.comfort
            calm, gain = f"{shaken:.2f}, {rival.name}", f"{shaken - law.comfort:.2f}"
        every.append((named(place), *grip, calm, gain))
        if place in (HERE, ("motorcycle", "traverse"), ("carrier", "descent")):
            rows.append((named(place), *(f"{100 * m.airborne:.1f}" for m in rides)))
    heads = ("off the ground (%)", "plain", "best fixed", "law")
    more = ("machine, section", "plain: load varies / off the ground (%)", "best fixed (%)", "law (%)",
            "fixed with the law's grip (m/s²)", "the law gains over it (m/s²)")  # fmt: skip
    fold = folded(
        "Every section, and a second rival (optional)",
        "Two numbers in a cell: how much the tyre load varies, and how long the wheel is off the ground. The second "
        "rival is the calmest fixed damper that does at least as well as the law in both.",
        table(more, every),
        "On the motorcycle's traverse the load of the calmest fixed damper varies by 121 %. Against a fixed damper "
        "with the law's grip the law gains 0.39 m/s² there, not 0.03. On the bike and on the carrier's descent none "
        "of the 25 equals the law in both numbers.",
    )
    return Shown(f"{table(heads, rows)}\n\n{fold}")


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
    heads = ("machine, section", "gain here (m/s²)", "five other loops, least (m/s²)", "largest (m/s²)")
    rows, loops = [], [fell_loop(seed) for seed in OTHER_LOOPS]
    for place in PLACES:
        at = int(np.argmin([ordinary(place, c).comfort for c in ORDINARY]))
        set_at = int(np.argmin([ridden(place, Passive(s))[1].comfort for s in SETTINGS]))
        gains = [_gain_on(loop.section(place[1]), FLEET[place[0]], LinearSkyhook(sky(place)), at, set_at)
                 for loop in loops]  # fmt: skip
        mine, best = semi(place)[1].comfort, best_fixed(place).metrics.comfort
        rows.append((named(place), *(f"{gain:.2f}" for gain in (best - mine, min(gains), max(gains)))))
    return Shown(f"{table(heads, rows)}\n\n{_cheap(('carrier', 'descent'))}")


def _cheap(place):
    """What an ordinary damper does for a place, in a sentence."""
    calmest = min(ORDINARY, key=lambda c: ordinary(place, c).comfort)
    return (
        f"{named(place).capitalize()}, in m/s²: plain damper ({FLEET[place[0]].damping:.0f} N s/m) "
        f"{ordinary(place).comfort:.2f}, calmest ordinary damper ({calmest:.0f} N s/m) "
        f"{ordinary(place, calmest).comfort:.2f}, law {semi(place)[1].comfort:.2f}."
    )


# --- delay, parameters ---------------------------------------------------------------------------------------


def delay_table(places=(HERE, ("bike", "traverse"), ("carrier", "descent"))):
    """The skyhook with extra delay in the chain: share of the active skyhook's gain over the best fixed damper."""
    rows, every = [], []
    for extra_ms in (0, 5, 10, 20, 30):
        late = replace(FAST_CHAIN, valve_dead_time=FAST_CHAIN.valve_dead_time + 1e-3 * extra_ms)
        found = [ridden(place, LinearSkyhook(sky(place)), late)[1].comfort for place in places]
        told = [(f"{value:.2f}", share_told(place, value)) for place, value in zip(places, found, strict=True)]
        every.append((f"{extra_ms} ms", *(f"{a}\u00a0({b})" for a, b in told)))
        if extra_ms <= 20:
            rows.append((f"{extra_ms} ms", *told[0]))
    fold = folded(
        "Two more rides (optional)", table(("extra delay", *(f"{named(p)}: m/s² (kept, %)" for p in places)), every)
    )  # fmt: skip
    return Shown(f"{table(('extra delay', 'vibration (m/s²)', 'kept (%)'), rows)}\n\n{fold}")


def numbers_table():
    """The numbers of the laws, machine by machine, as the page uses them."""
    fleet = list(FLEET.values())
    firm = [firm_setting(v, SKYHOOK * v.damping) for v in fleet]

    def met(side):
        ends = [(getattr(v.open_curve, side).low, getattr(v.lockout_curve, side).low) for v in fleet]
        return [f"{(1 - s) * soft + s * hard:.0f}" for s, (soft, hard) in zip(firm, ends, strict=True)]

    one = "0.5 to 6 times the plain damper's"
    rows = [
        ("$c_\\mathrm{plain}$", "plain damper (N s/m)", *(f"{v.damping:.0f}" for v in fleet), "100 to 2000"),
        ("$c_\\mathrm{sky}$, $c$, $c_\\mathrm{mix}$", "skyhook, groundhook, mix (N s/m)",
         *(f"{SKYHOOK * v.damping:.0f}" for v in fleet), one),
        ("$\\alpha$", "share of skyhook in the mix", *(f"{SKY_SHARE:g}" for _ in fleet), "0.5 to 1"),
        ("$s$", "firm setting of a law that switches, 0 open to 1 lockout", *(f"{s:.3f}" for s in firm), "0 to 1"),
        ("", "met in slow compression (N s/m)", *met("compression"), ""),
        ("", "met in slow rebound (N s/m)", *met("rebound"), ""),
    ]  # fmt: skip
    return folded(
        "The numbers of all laws (optional)",
        table(("symbol", "meaning", *(v.name for v in fleet), "range on this page"), rows),
        "All are invented for the course. A law that switches is as firm as twice the plain damper in slow "
        "compression. In rebound the same setting is much softer: on the bike 363 N s/m, less than its plain damper "
        "has.",
    )


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
