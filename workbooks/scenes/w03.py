"""Pictures of workbook 03: the force-velocity region of a damper, the live comparison of laws, and the card."""

from functools import lru_cache

import numpy as np

from helpers.control.laws import LinearSkyhook
from helpers.models.reach import reach
from helpers.models.vehicles import FLEET, GRAVITY
from helpers.simulation.families import FAST_CHAIN, SKYHOOK
from helpers.simulation.metrics import metrics, valve_activity
from helpers.simulation.runs import ride_section
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import GHOST, INK, PALETTE, STYLES, new_figure, still, style
from scenes.w03_laws import laws_table, mix_fold, more_laws_fold  # the page asks this module for its tables too
from scenes.w03_rides import (
    HERE,
    LAWS,
    LOOP,
    ORDINARY,
    PLACES,
    ROUGH,
    SKY_SHARE,
    active,
    best_fixed,
    kept,
    law_of,
    named,
    narrowed,
    ordinary,
    semi,
    sky,
)
from scenes.w03_tables import (
    curves_table,
    delay_table,
    gain_table,
    kept_table,
    largest_brake,
    numbers_table,
    reach_table,
    rival_table,
    seeds_table,
    sign_table,
    skyhook_derivation,
    skyhook_limits,
    split,
)

__all__ = [
    "card", "curves_table", "delay_table", "force_sketch", "gain_table", "kept_table", "law_figure", "laws_table",
    "mix_fold", "more_laws_fold", "numbers_table", "range_figure", "reach_figure", "reach_table", "rival_table",
    "seeds_table", "sign_table", "skyhook_derivation", "skyhook_limits",
]  # fmt: skip

ACTIVE, SEMI, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
PREDICTED = {"a": 0.0, "b": 0.36, "c": 0.57, "d": 0.95}  # share of the active gain that each option says is kept


@style()
def force_sketch(place=HERE, length=0.6):
    """The actuator's force over a moment of the ride: what a damper could give of it, in direction and in size."""
    run, _ = active(place)
    start = run.time[int(np.argmin(run.actuator_force))] - 0.35  # so that a large force is in the picture
    part = (run.time >= start) & (run.time <= start + length)
    time, force = 1e3 * (run.time[part] - start), -run.actuator_force[part]
    speed = (run.body_velocity - run.wheel_velocity)[part]
    within, brakes = reach(run.vehicle, speed).holds(force), force * speed > 0.0
    kinds = (
        (within, "brakes, within the damper's range", {"color": SEMI, "alpha": 0.75}),
        (brakes & ~within, "brakes, but too little or too much for it", {"color": SEMI, "alpha": 0.2}),
        (~brakes & ~within, "drives the suspension",
         {"facecolor": "none", "edgecolor": ACTIVE, "hatch": "////"}),
    )  # fmt: skip
    shares = [100.0 * float(np.mean(where)) for where, _, _ in kinds]
    figure, ax = new_figure((9, 3.2))
    ax.plot(time, force, color=INK)
    for (where, name, look), share in zip(kinds, shares, strict=True):
        told = f"{name}: {share:.0f} % of the time"
        ax.fill_between(time, 0.0, force, where=where, linewidth=0.0, label=told, **look)
    ax.axhline(0.0, color=INK, linewidth=0.8)
    ax.set(
        xlim=(0.0, 1e3 * length), xlabel="time (ms)", ylabel="pull on the body (N)",
        title=f"What the actuator does in {length:g} s of the descent",
    )  # fmt: skip
    ax.legend(loc="upper left", fontsize=9, frameon=False)
    alt = (
        f"The force of the trail bike's actuator over {length:g} s of the descent, between {force.min():.0f} and "
        f"{force.max():.0f} N. For {shares[0]:.0f} % of that time it brakes the suspension with a force that the "
        f"damper has at that speed, for {shares[1]:.0f} % it brakes with one that is too small or too large for the "
        f"damper, for {shares[2]:.0f} % it drives the suspension."
    )
    return still(figure, alt)


@style()
def reach_figure(place=HERE):
    """The passivity limit: the region of the damper, and where the wanted skyhook force falls."""
    figure, (left, right) = new_figure((9, 4.0), columns=2, width_ratios=(1.15, 1.0))
    run, _ = semi(place)
    every = slice(None, None, max(1, len(run.time) // 900))
    speed = (run.body_velocity - run.wheel_velocity)[every]
    wanted = sky(place) * run.body_velocity[every]
    within = reach(run.vehicle, speed).holds(wanted)
    grid = np.linspace(-1.0, 1.0, 201)
    region = reach(run.vehicle, grid)
    left.fill_between(grid, region.low, region.high, color=SEMI, alpha=0.2, linewidth=0.0)
    left.plot(speed[within], wanted[within], ".", color=SEMI, markersize=4)
    left.plot(speed[~within], wanted[~within], ".", color=ACTIVE, markersize=3, alpha=0.6)
    left.axhline(0.0, color=INK, linewidth=0.8)
    left.axvline(0.0, color=INK, linewidth=0.8)
    left.set(xlim=(-1.0, 1.0), ylim=(-900.0, 900.0), xlabel="speed of travel $v_s - v_u$ (m/s)",
             ylabel="wanted force $c_\\mathrm{sky} v_s$ (N)", xticks=(-1.0, -0.5, 0.0, 0.5, 1.0))  # fmt: skip
    most = f"of the largest tenth {100 * largest_brake(place):.0f} % brake"
    left.set_title(f"{100 * split(place)[0]:.0f} % of the wanted forces lie within reach;\n{most}")
    left.text(-0.95, 790.0, "would drive", color=ACTIVE, va="center")
    left.text(0.95, -790.0, "would drive", color=ACTIVE, va="center", ha="right")
    left.text(0.95, 790.0, "within reach", color=SEMI, va="center", ha="right")
    places = ROUGH
    names = ("would drive", "too little", "within reach", "too much")
    colours = ("#9cc4de", "#e2e2e2", SEMI, "#b9b9b9")
    for row, each in enumerate(places):
        parts, at = split(each), 0.0
        for k, colour in zip((3, 1, 0, 2), colours, strict=True):
            right.barh(row, 100 * parts[k], left=at, color=colour, height=0.62, edgecolor="white")
            if parts[k] > 0.1:
                right.text(at + 50 * parts[k], row, f"{100 * parts[k]:.0f}", ha="center", va="center", fontsize=9,
                           color="white" if colour == SEMI else INK)  # fmt: skip
            if row == 0:
                shift = {3: 50 * parts[3], 1: 50 * parts[1], 0: 50 * parts[0], 2: 50 * parts[2]}[k]
                right.text(at + shift, -0.52, names[(3, 1, 0, 2).index(k)].replace(" ", "\n"), ha="center",
                           va="bottom", fontsize=8.5)  # fmt: skip
            at += 100 * parts[k]
    right.set_yticks(range(len(places)), [f"{FLEET[m].name},\n{s}" for m, s in places], fontsize=9)
    right.set(xlim=(0.0, 100.0), ylim=(len(places) - 0.5, -1.2), xlabel="share of time (%)")
    right.grid(visible=False)
    alt = (
        f"Left: wanted skyhook force against speed of travel for the {named(place)}; {100 * split(place)[0]:.0f} % "
        f"of the moments fall into the region between the soft and the firm curve; {most}. Right: shares of time by "
        "machine and section, within reach "
        f"{min(100 * split(p)[0] for p in places):.0f} to {max(100 * split(p)[0] for p in places):.0f} %."
    )
    return still(figure, alt)


@style()
def range_figure(place=HERE):
    """Which end of the damper's range matters: vibration as the soft end stiffens and as the firm end softens."""
    figure, ax = new_figure((9, 3.3))
    vehicle, part, law = FLEET[place[0]], LOOP.section(place[1]), LinearSkyhook(sky(place))
    factors = np.array([1.0, 1.5, 2.0, 3.0, 4.0])
    found = {}
    for key, colour, dash, text, place_of_text in (
        ("softest", SEMI, "solid", "soft curve times this", (2.55, 4.25)),
        ("firmest", PLUM, (0, (6, 2)), "firm curve divided by this", (2.0, 3.28)),
    ):
        valves = [narrowed(vehicle, **{key: f if key == "softest" else 1.0 / f}) for f in factors]
        found[key] = [metrics(ride_section(valve, part, law, FAST_CHAIN)).comfort for valve in valves]
        ax.plot(factors, found[key], color=colour, linestyle=dash, marker="o")
        ax.text(*place_of_text, text, color=colour, ha="right" if key == "softest" else "left")
    shares = {key: [100.0 * kept(place, value) for value in values] for key, values in found.items()}
    for key, at, shift in (("softest", 0, -0.13), ("softest", 2, -0.14), ("firmest", 4, -0.14)):
        ax.text(factors[at], found[key][at] + shift, f"{shares[key][at]:.0f} % kept", fontsize=9, va="top",
                ha=("left", "center", "center", "center", "right")[at])  # fmt: skip
    for level, name in ((ordinary(place).comfort, "plain damper"),
                        (best_fixed(place).metrics.comfort, "best fixed damper")):  # fmt: skip
        ax.axhline(level, **GHOST)
        ax.text(1.02, level, name, va="bottom", fontsize=9)
    ax.set(
        xlim=(0.95, 4.05), ylim=(3.0, 5.0), xlabel="range lost, as a factor", ylabel="vibration (m/s²)",
        title="Double the soft curve and the gain is all but gone; a quarter of the firm curve keeps two thirds of it",
    )  # fmt: skip
    numbers = "; ".join(
        f"{f:g} times: {found['softest'][k]:.2f} m/s², {shares['softest'][k]:.0f} % kept, and "
        f"{found['firmest'][k]:.2f} m/s², {shares['firmest'][k]:.0f} % kept" for k, f in enumerate(factors)
    )  # fmt: skip
    return still(figure, f"Vibration as the soft curve is raised, and as the firm curve is lowered, by: {numbers}.")


# --- the live figure --------------------------------------------------------------------------------------------

GRID = np.linspace(-1.0, 1.0, 81)  # m/s
MOMENTS = 350  # of a ride, shown as dots


@lru_cache
def _marks(place):
    """Marks of a place in the plane of load variation and vibration, both over the plain damper's."""
    plain = ordinary(place)
    base = np.array([plain.load_variation, plain.comfort])

    def at(m):
        return np.array([m.load_variation, m.comfort]) / base

    return {
        "base": base,
        "plain airborne": plain.airborne,
        "valley": np.array([at(ordinary(place, c)) for c in ORDINARY]).T,
        "best fixed": at(best_fixed(place).metrics),
        "active skyhook": at(active(place)[1]),
        "ghost": at(semi(place)[1]),
    }


def _wanted(law, run, coefficient):
    """The force a law wants, N, over a ride; None where it only switches by the sign of an acceleration."""
    if law == "acceleration":
        return None
    share = {"mix": SKY_SHARE, "groundhook": 0.0}.get(law, 1.0)
    return coefficient * (share * run.body_velocity - (1.0 - share) * run.wheel_velocity)


def _compute(place, law, strength, softest):
    place = tuple(place.split())
    vehicle = narrowed(FLEET[place[0]], softest)
    coefficient = sky(place, strength)
    run = ride_section(vehicle, LOOP.section(place[1]), law_of(law, vehicle, coefficient), FAST_CHAIN)
    m, weight, marks = metrics(run), vehicle.body_mass * GRAVITY, _marks(place)
    every = slice(None, None, max(1, len(run.time) // MOMENTS))
    speed = run.body_velocity - run.wheel_velocity
    wanted = _wanted(law, run, coefficient)
    region, around = reach(vehicle, GRID), reach(vehicle, speed)
    soft, firm = vehicle.open_curve.force(speed[every]), vehicle.lockout_curve.force(speed[every])
    given = soft + run.valve[every] * (firm - soft)
    return {
        "place": place,
        "asked": place == HERE and law == "skyhook",  # the prediction is about this case alone
        "marks": marks,
        "here": np.array([m.load_variation, m.comfort]) / marks["base"],
        "edge": np.column_stack([np.r_[GRID, GRID[::-1]], np.r_[region.low, region.high[::-1]] / weight]),
        "speed": speed[every],
        "wanted": np.full(len(given), np.nan) if wanted is None else wanted[every] / weight,
        "given": given / weight,
        "within": np.nan if wanted is None else float(np.mean(around.holds(wanted))),
        "vibration": m.comfort,
        "kept": kept(place, m.comfort),
        "airborne": m.airborne,
        "strokes": valve_activity(run).strokes,
    }


MARKS = {  # name: its look
    "best fixed": STYLES["plain"].points(markerfacecolor="white"),
    "active skyhook": STYLES["active"].points(),
}


def law_figure(prediction=""):
    """Live: a law on a machine and section; its forces in the damper's region, and comfort against grip."""

    def build(figure, result):
        left, right = figure.subplots(1, 2, width_ratios=(1.0, 1.1))
        left.set(xlim=(-1.0, 1.0), ylim=(-1.5, 1.5), xlabel="speed of travel $v_s - v_u$ (m/s)",
                 ylabel="damper force / body's weight", xticks=(-1.0, -0.5, 0.0, 0.5, 1.0))  # fmt: skip
        left.set_title("Given (brown) stays in; wanted (blue) in part")
        left.axhline(0.0, color=INK, linewidth=0.8)
        left.axvline(0.0, color=INK, linewidth=0.8)
        right.set(xlim=(0.5, 1.6), ylim=(0.35, 1.75), xlabel="tyre-load variation / plain damper's",
                  ylabel="vibration / plain damper's", title="Down is calmer, left is more grip")  # fmt: skip
        right.plot(1.0, 1.0, label="plain damper", **STYLES["plain"].points())
        held = {
            "edge": left.fill(*result["edge"].T, facecolor=SEMI, alpha=0.18, linewidth=0.0)[0],
            "wanted": left.plot([], [], ".", color=ACTIVE, markersize=3, alpha=0.6)[0],
            "given": left.plot([], [], ".", color=SEMI, markersize=4)[0],
            "within": left.text(-0.96, 1.36, "", color=ACTIVE, fontsize=9, va="center"),
            "valley": right.plot([], [], color=INK, linewidth=1.2, label="ordinary dampers, all coefficients")[0],
            "ghost": right.plot([], [], marker="^", markersize=11, markerfacecolor="none", label="skyhook at the start",
                                **(GHOST | {"linestyle": "none"}))[0],
        }
        held |= {name: right.plot([], [], label=name, **look)[0] for name, look in MARKS.items()}
        here = STYLES["semi_active"].points(markersize=10)
        held["here"] = right.plot([], [], label="your law", zorder=3, **here)[0]
        right.legend(loc="upper left", fontsize=8.5, frameon=False, handlelength=1.4, labelspacing=0.25)
        if prediction:
            held["predicted"] = right.axhline(1.0, color=PLUM, linestyle=(0, (2, 1.5)), linewidth=1.3)
            held["predicted text"] = right.text(1.59, 1.0, "predicted", color=PLUM, ha="right",
                                                va="bottom", fontsize=9)  # fmt: skip
        draw(held, result)
        return held

    def draw(held, result):
        marks = result["marks"]
        held["edge"].set_xy(result["edge"])
        for name in ("wanted", "given"):
            held[name].set_data(result["speed"], result[name])
        within = result["within"]
        held["within"].set_text(
            f"{100 * within:.0f} % of wanted forces within reach" if np.isfinite(within) else "this law names no force"
        )
        held["valley"].set_data(*marks["valley"])
        held["ghost"].set_data(*([value] for value in marks["ghost"]))
        held["here"].set_data(*([value] for value in np.clip(result["here"], (0.51, 0.36), (1.59, 1.74))))
        for name in MARKS:
            held[name].set_data(*([value] for value in marks[name]))
        if prediction:
            best, power = marks["best fixed"][1], marks["active skyhook"][1]
            level = best - PREDICTED[prediction] * (best - power)
            held["predicted"].set_ydata([level, level])
            held["predicted text"].set_y(level)
            for key in ("predicted", "predicted text"):
                held[key].set_visible(result["asked"])

    def read_out(result):
        return [
            ("vibration (m/s²)", f"{result['vibration']:.2f}"),
            ("kept (%)", f"{100.0 * result['kept']:.0f}" if result["kept"] > -0.005 else "none"),
            ("off the ground (%)",
             f"{100.0 * result['airborne']:.1f} (plain {100.0 * result['marks']['plain airborne']:.1f})"),
            ("full valve strokes (1/s)", f"{result['strokes']:.1f}"),
        ]

    def describe(values, result):
        share = 100.0 * result["kept"]
        told = f"keeps {share:.0f} % of what an active skyhook gains over" if share >= 0.5 else "is no calmer than"
        load = 100.0 * (result["here"][0] - 1.0)
        where = " in slow compression" if values["law"] in ("two-state", "acceleration") else ""
        return (
            f"On the {result['place'][1]}, the {FLEET[result['place'][0]].name} with the {LAWS[values['law']]} law "
            f"at {values['strength']:g} times the plain damper's coefficient{where} {told} the best fixed damper; its "
            f"vibration is {100.0 * result['here'][1]:.0f} % of the plain damper's, its tyre load varies "
            f"{abs(load):.0f} % {'more' if load > 0.0 else 'less'} than the plain damper's."
        )

    return LiveFigure(
        name="laws for a damper",
        sliders=[
            Options("place", "machine and section", [(named(p), " ".join(p)) for p in ROUGH], " ".join(HERE)),
            Options("law", "law", [(text, key) for key, text in LAWS.items()], "skyhook"),
            Slider("strength", "coefficient, times the plain damper's", 0.5, 6.0, 0.5, SKYHOOK),
            Slider("softest", "soft curve, times the valve's own", 1.0, 4.0, 0.25, 1.0),
        ],
        compute=_compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.9),
    )  # fmt: skip


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = "Vibration over that of the best fixed damper, by machine and section, for the same skyhook twice."
CARD_ALT = (
    "Dot chart by machine and section: vibration with a controllable damper and with an actuator, over that of the "
    "best fixed damper. The damper is clearly below one on the trail bike and on the carrier's descent, hardly on "
    "the motorcycle and on the carrier's other sections."
)


@style()
def card_figure():
    """The page in one picture: what damper and actuator gain over the best fixed damper."""
    figure, ax = new_figure((7, 3.8))
    ax.axvline(1.0, **(GHOST | {"color": INK}))
    for key, ride in (("semi_active", semi), ("active", active)):
        shares = [ride(place)[1].comfort / best_fixed(place).metrics.comfort for place in PLACES]
        ax.plot(shares, range(len(PLACES)), **STYLES[key].points())
        ax.text(shares[0], -0.75, {"semi_active": "damper", "active": "actuator"}[key], color=PALETTE[key], ha="center")
    ax.set_yticks(range(len(PLACES)), [named(place) for place in PLACES])
    ax.set(
        xlim=(0.5, 1.05), ylim=(len(PLACES) - 0.5, -1.3), xlabel="vibration / best fixed damper's",
        title="Where a controllable damper beats a good fixed one",
    )  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
