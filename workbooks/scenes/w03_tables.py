"""Laws, rides and tables of workbook 03: what a damper gives of a wanted force, what of the active gain is kept."""

from dataclasses import dataclass, replace
from functools import lru_cache, partial

import numpy as np
import sympy as sp

from helpers.control.laws import (
    AccelerationDriven,
    ActiveSkyhook,
    Groundhook,
    LinearSkyhook,
    MixedHook,
    Passive,
    TwoStateSkyhook,
)
from helpers.control.optimal import mean_squares, open_damping, regulator
from helpers.control.timing import Timing
from helpers.models.quarter_car import Step
from helpers.models.reach import nearest, reach
from helpers.models.terrain import fell_loop, iso_8608
from helpers.models.vehicles import FLEET
from helpers.simulation.families import FAST_CHAIN, SKYHOOK, share_kept
from helpers.simulation.metrics import Metrics, metrics, rms, valve_activity
from helpers.simulation.runs import Run, ride_section, simulate
from helpers.teaching.page import Shown, table

LOOP = fell_loop()
PLACES = [(machine, section) for machine in FLEET for section in ("climb", "traverse", "descent")]
HERE = ("bike", "descent")  # where the page's questions are asked
# Fixed dampers among which the best is sought: ordinary ones, N s/m, and settings of the controllable one.
ORDINARY = np.geomspace(100.0, 2000.0, 16)
SETTINGS = (0.0, 0.02, 0.04, 0.06, 0.08, 0.1, 0.15, 0.2, 0.3)
SKY_SHARE = 0.8  # of the mix
LAWS = {
    "skyhook": "skyhook",
    "two-state": "two-state skyhook",
    "acceleration": "acceleration-driven",
    "mix": f"mix, {SKY_SHARE:.0%} skyhook".replace("%", " %"),
    "groundhook": "groundhook",
}


def firm_setting(vehicle, coefficient):
    """The valve setting at which slow compression meets `coefficient` in N s/m, between open and lockout."""
    soft, firm = vehicle.open_curve.compression.low, vehicle.lockout_curve.compression.low
    return min(1.0, max(0.0, (coefficient - soft) / (firm - soft)))


def law_of(name, vehicle, coefficient, dead_band=0.0):
    """A law by its name in LAWS, of `coefficient` in N s/m; a two-state law is that firm in slow compression."""
    firm = firm_setting(vehicle, coefficient)
    return {
        "skyhook": partial(LinearSkyhook, coefficient),
        "two-state": partial(TwoStateSkyhook, firm=firm, dead_band=dead_band),
        "acceleration": partial(AccelerationDriven, firm=firm, dead_band=dead_band),
        "mix": partial(MixedHook, coefficient, SKY_SHARE),
        "groundhook": partial(Groundhook, coefficient),
    }[name]()


@lru_cache(160)
def ridden(place, law, timing=FAST_CHAIN):
    """Run and Metrics of a law on a place, a (machine, section) of PLACES; the vehicle's own damper and valve."""
    run = ride_section(FLEET[place[0]], LOOP.section(place[1]), law, timing)
    return run, metrics(run)


@lru_cache(256)
def ordinary(place, damping=None):
    """Metrics of an ordinary damper of `damping` in N s/m, the machine's own unless given."""
    return metrics(ride_section(FLEET[place[0]].plain(damping), LOOP.section(place[1])))


@dataclass(frozen=True, eq=False)
class Fixed:
    """A damper that nothing switches: its name, its ride and the ride's metrics."""

    name: str
    run: Run
    metrics: Metrics


@lru_cache
def best_fixed(place):
    """The `Fixed` of least vibration on a place: an ordinary damper, or one setting of the controllable one."""
    coefficient = min(ORDINARY, key=lambda c: ordinary(place, c).comfort)
    setting = min(SETTINGS, key=lambda s: ridden(place, Passive(s))[1].comfort)
    rival = ridden(place, Passive(setting))
    if rival[1].comfort < ordinary(place, coefficient).comfort:
        return Fixed(f"valve at {setting:g}", *rival)
    run = ride_section(FLEET[place[0]].plain(coefficient), LOOP.section(place[1]))
    return Fixed(f"{coefficient:.0f} N s/m", run, metrics(run))


def sky(place, factor=SKYHOOK):
    """The skyhook coefficient used on a place, N s/m: twice the plain damper's unless `factor` is given."""
    return factor * FLEET[place[0]].damping


def semi(place):
    """Run and Metrics of the damper that imitates the skyhook."""
    return ridden(place, LinearSkyhook(sky(place)))


def active(place):
    """Run and Metrics of the actuator that is the skyhook."""
    return ridden(place, ActiveSkyhook(sky(place)))


@lru_cache
def optimal(place, clipped=False):
    """Metrics of optimal feedback for comfort: by an actuator, or clipped to what the damper can give."""
    design = regulator(FLEET[place[0]])
    return ridden(place, design.clipped() if clipped else design.feedback())[1]


def kept(place, vibration, rival=None):
    """Share of the gain of an active suspension (the skyhook unless `rival`) over the best fixed damper."""
    return share_kept(best_fixed(place).metrics.comfort, (rival or active(place)[1]).comfort, vibration)


def named(place):
    """A place in words."""
    return f"{FLEET[place[0]].name}, {place[1]}"


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
        Step("Wheel twice as fast", "$v_u = 2 v_s$: the coefficient would be negative, an actuator.",
             sp.simplify(NEEDED.subs(V_U, 2 * V_S))),
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
    """Share of time in which the skyhook force brakes: closed form for a Gaussian road against simulation."""
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
        rows.append((vehicle.name, f"{alike:.2f}", f"{100 * share:.0f}", f"{100 * found:.0f}"))
    return table(("machine", "correlation", "brakes, closed form (% of time)", "brakes, simulated (% of time)"), rows)


# --- what the damper can reach ----------------------------------------------------------------------------------


def split(place):
    """Shares of time: (within reach, too little wanted, too much wanted, would push) of the skyhook force."""
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
    heads = ("machine, section", "would push (%)", "less than soft (%)", "within reach (%)", "more than firm (%)",
             "largest tenth: brakes (%)", "miss / wanted, rms (%)")  # fmt: skip
    rows = []
    for place in PLACES:
        within, little, much, push = split(place)
        rows.append((named(place), *(f"{100 * part:.0f}" for part in (push, little, within, much, *miss(place)))))
    return table(heads, rows)


# --- what is kept -----------------------------------------------------------------------------------------------


def kept_table():
    """The main comparison: the same skyhook by an actuator and by a damper, over plain and best fixed dampers."""
    heads = ("machine, section", "plain (m/s²)", "best fixed (m/s²)", "which is", "semi (m/s²)",
             "active (m/s²)", "kept over plain (%)", "kept over best (%)")  # fmt: skip
    rows = []
    for place in PLACES:
        plain, best = ordinary(place), best_fixed(place)
        mine, power = semi(place)[1].comfort, active(place)[1].comfort
        rows.append((
            named(place), f"{plain.comfort:.2f}", f"{best.metrics.comfort:.2f}", best.name, f"{mine:.2f}",
            f"{power:.2f}", f"{100 * share_kept(plain.comfort, power, mine):.0f}", f"{100 * kept(place, mine):.0f}",
        ))  # fmt: skip
    return table(heads, rows)


def optimal_table(places=(("bike", "climb"), ("bike", "traverse"), ("bike", "descent"), ("carrier", "descent"))):
    """The same question for optimal feedback: all of it, and clipped to what the damper can give."""
    heads = ("machine, section", "best fixed (m/s²)", "clipped (m/s²)", "active (m/s²)", "kept over best (%)")
    rows = []
    for place in places:
        whole, part = optimal(place), optimal(place, True)
        rows.append((named(place), f"{best_fixed(place).metrics.comfort:.2f}", f"{part.comfort:.2f}",
                     f"{whole.comfort:.2f}", f"{100 * kept(place, part.comfort, whole):.0f}"))  # fmt: skip
    return table(heads, rows)


def _row(name, place, run, m):
    jerk = rms(np.diff(run.body_acceleration) * run.rate)
    busy = valve_activity(run)
    return (name, f"{m.comfort:.2f}", f"{100 * m.load_variation:.0f}", f"{100 * m.airborne:.1f}", f"{jerk:.0f}",
            f"{busy.commands:.0f}", f"{busy.strokes:.1f}", f"{100 * kept(place, m.comfort):.0f}")  # fmt: skip


HEADS = ("suspension", "vibration (m/s²)", "tyre load varies (%)", "off the ground (%)", "jerk (m/s³)",
         "commands (1/s)", "full strokes (1/s)", "kept over best (%)")  # fmt: skip


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


def narrowed(vehicle, softest=1.0, firmest=1.0):
    """The vehicle with its softest and its firmest curve scaled."""
    return vehicle.changed(
        open_curve=vehicle.open_curve.scaled(softest), lockout_curve=vehicle.lockout_curve.scaled(firmest)
    )


def chatter_table(place=HERE):
    """Commands and strokes a second, and what a dead band costs."""
    vehicle, coefficient = FLEET[place[0]], 3.0 * sky(place)
    driven = law_of("acceleration", vehicle, coefficient)
    banded = replace(driven, dead_band=0.1, acceleration_band=1.0)
    two = law_of("two-state", vehicle, sky(place))
    cases = (
        ("acceleration-driven, instant valve", driven, Timing.ideal()),
        ("the same with dead bands", banded, Timing.ideal()),
        ("acceleration-driven, real chain", driven, FAST_CHAIN),
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


def delay_table(places=(("bike", "descent"), ("carrier", "descent"), ("bike", "traverse"))):
    """The skyhook with extra delay in the chain: share of the active gain over the best fixed damper."""
    rows = []
    for extra_ms in (0, 5, 10, 20, 30):
        late = replace(FAST_CHAIN, valve_dead_time=FAST_CHAIN.valve_dead_time + 1e-3 * extra_ms)
        found = [ridden(place, LinearSkyhook(sky(place)), late)[1].comfort for place in places]
        rows.append((f"{extra_ms} ms",
                     *(f"{value:.2f} ({100 * kept(p, value):.0f} %)" for p, value in zip(places, found, strict=True))))
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
