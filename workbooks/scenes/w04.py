"""Pictures of workbook 04: the puzzle, the state machine, two curves against a region, the live figure, the card."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
from matplotlib.patches import FancyArrowPatch
from matplotlib.patheffects import withStroke

from helpers.control.laws import Passive
from helpers.control.mode_switch import SLOW_FINE, ModeSelector
from helpers.models.vehicles import FLEET, TRAIL_BIKE
from helpers.simulation import families
from helpers.simulation.events import operating_curve
from helpers.simulation.kernel import valve_force
from helpers.simulation.metrics import metrics, valve_activity
from helpers.simulation.runs import ride_section
from helpers.teaching.kept import choices
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import FAINT, GHOST, INK, PALETTE, new_figure, sketch_axes, still, style
from scenes.w04_folds import hysteresis_fold, legs_fold, steps_fold, ways_fold
from scenes.w04_steps import decision_table, edge_table, small_step, step_table
from scenes.w04_tables import (  # the page asks this module for its tables too
    BIKE,
    CHAIN,
    DEALER,
    FIRST_SHOWN,
    LEAD,
    LOOP,
    MOTOR,
    bumps,
    found_late,
    hold_table,
    identity,
    latch_table,
    legs_table,
    machines_table,
    parameters_table,
    ridden,
    root_peaks,
    scored,
    switch_spike,
    switched,
    threshold_table,
    walk,
)

__all__ = [
    "card", "decision_table", "edge_table", "found_late", "hold_table", "hysteresis_fold", "identity", "latch_table",
    "legs_fold", "legs_table", "machine_sketch", "machines_table", "parameters_table", "puzzle_sketch", "root_peaks",
    "small_step", "step_table", "steps_fold", "switch_spike", "threshold_figure", "threshold_table",
    "two_curves_figure", "walk", "ways_fold", "BIKE",
]  # fmt: skip

PREDICTED = {"a": 12, "b": 6, "c": 3, "d": 0}  # roots still found at twice the dealer's threshold
BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]


def _peaks(run, start, seconds, every=8):
    """Time and the largest size of the wheel's acceleration in each `every` logged points of a window."""
    first = int(np.searchsorted(run.time, start))
    count = round(seconds * run.rate) // every
    size = np.abs(run.wheel_acceleration[first : first + count * every]).reshape(count, every).max(axis=1)
    return run.time[first : first + count * every : every], size


def _marks(found, level):
    """One broken line over the times in which a bump is there."""
    ends = np.stack([found.start, found.stop, np.full(len(found), np.nan)], axis=1).ravel()
    return ends, np.where(np.isnan(ends), np.nan, level)


@style()
def puzzle_sketch():
    """What the sensor reads on twelve seconds of the climb, and where the roots really are."""
    figure, ax = new_figure((9, 3.0))
    start, found = 24.5, bumps("bike", "climb")
    time, size = _peaks(ridden(Passive(1.0)), start, 12.0)
    ax.plot(time - start, size, color=INK, linewidth=0.9)
    at, level = _marks(found, 100.0)
    ax.plot(at - start, level, color=ORANGE, linewidth=7, solid_capstyle="butt")
    inside = [start < one < start + 12.0 for one in found.start]
    ax.text(0.1, 100.0, "roots:", color=ORANGE, va="center")
    ax.set(
        xlim=(0.0, 12.0), ylim=(0.0, 110.0), xlabel="time (s)", ylabel="size of the wheel's\nacceleration (m/s²)",
        title="Which of these spikes should open the valve?",
    )  # fmt: skip
    alt = (
        f"Wheel acceleration on 12 s of the climb, damper locked: low noise all the time and high spikes; bars mark "
        f"the {sum(inside)} roots that are there. The highest reading is {size.max():.0f} m/s²."
    )
    return still(figure, alt)


def _state(ax, x, text, first):
    ax.plot(x, 2.0, "o", markersize=62, markerfacecolor="#f1e6ee", markeredgecolor=INK)
    if first:
        ax.plot(x, 2.0, "o", markersize=70, markerfacecolor="none", markeredgecolor=INK)
    ax.text(x, 2.0, text, ha="center", va="center", fontsize=12)


def _move(ax, start, end, bend, text, at):
    curve = {"connectionstyle": f"arc3,rad={bend}", "arrowstyle": "-|>", "mutation_scale": 14}
    ax.add_patch(FancyArrowPatch(start, end, color=PLUM, linewidth=1.6, **curve))
    ax.text(*at, text, ha="center", va="center", color=PLUM, fontsize=9)


@style()
def machine_sketch():
    """The selector as a state machine, with either state of rest."""
    figure, axes = new_figure((9, 3.4), columns=2)
    for ax, first, title in zip(axes, ("firm", "open"), ("Normally closed", "Normally open"), strict=True):
        sketch_axes(ax, 6.4, 4.0)
        ax.set_title(f"{title}: rests {first} (double ring)")
        _state(ax, 0.95, "firm", first == "firm")
        _state(ax, 3.75, "open", first == "open")
        _move(ax, (1.45, 2.6), (3.25, 2.6), -0.35, "bump", (2.35, 3.3))
        back = "a hold time without a bump" if first == "firm" else "pedalled, and a hold\ntime without a bump"
        _move(ax, (3.25, 1.4), (1.45, 1.4), -0.35, back, (2.35, 0.6))
        _move(ax, (4.3, 2.55), (4.3, 1.45), -1.1, "bump:\nthe clock\nstarts again", (5.55, 2.0))
    alt = (
        "Two state diagrams with the states firm and open. A bump leads from firm to open; a bump while open restarts "
        "the clock; a hold time without a bump leads back to firm. Normally closed starts firm; normally open starts "
        "open and goes firm only while the rider pedals."
    )
    return still(figure, alt)


def _force(run):
    """Damper force in N and its speed in m/s at every third logged point."""
    speed = (run.body_velocity - run.wheel_velocity)[::3]
    curves = run.vehicle.open_curve.packed(), run.vehicle.lockout_curve.packed()
    return speed, np.array([valve_force(*curves, v, x) for v, x in zip(run.valve[::3], speed, strict=True)])


@style()
def two_curves_figure():
    """Force against speed on the climb: a mode selector's two curves beside a semi-active law's region."""
    figure, axes = new_figure((9, 3.6), columns=2, sharey=True)
    semi = families.semi_active(TRAIL_BIKE)
    runs = ridden(DEALER), ride_section(semi.vehicle, LOOP.section("climb"), semi.law, semi.timing)
    shares, strokes = [], []
    for ax, run, colour, name in zip(axes, runs, (PLUM, ORANGE), ("mode selector", "semi-active"), strict=True):
        ax.plot(*_force(run), ".", color=colour, markersize=1.5, rasterized=True)
        shares.append(100.0 * float(np.mean((run.valve < 0.01) | (run.valve > 0.99))))
        strokes.append(valve_activity(run).strokes)
        ax.set(xlim=(-1.0, 1.0), ylim=(-1000.0, 700.0), xlabel="speed $v_s - v_u$ (m/s)")
        ax.set_title(f"{name}: {shares[-1]:.0f} % of the time at an end,\n{strokes[-1]:.1f} valve moves a second")
    axes[0].set_ylabel("damper force (N)")
    for x, y, name in ((0.45, 120.0, "open"), (0.1, 420.0, "lockout"), (-0.95, -930.0, "lockout blows off")):
        axes[0].text(x, y, name, color=PLUM)
    axes[0].plot(-0.12, -720.0, "o", markersize=9, markerfacecolor="none", markeredgecolor=INK)
    axes[0].text(-0.07, -735.0, "−720 N", color=INK, va="center")
    alt = (
        f"Damper force against speed on the climb. Mode selector: the points lie on two curves, {shares[0]:.1f} % of "
        f"the time in one setting or the other, {strokes[0]:.1f} valve moves a second; the lockout bends at "
        f"−720 N. Semi-active: they fill a region, {shares[1]:.0f} % of the time at an end, {strokes[1]:.1f} moves a "
        "second."
    )
    return still(figure, alt)


# --- the live figure ------------------------------------------------------------------------------------------------

RIDES = {
    "trail bike, climb": ("bike", "climb"),
    "trail bike, traverse": ("bike", "traverse"),
    "trail bike, descent": ("bike", "descent"),
    "rescue motorcycle, climb": ("motorcycle", "climb"),
    "stretcher carrier, climb": ("carrier", "climb"),
}
KINDS = {
    "dealer's, normally closed": "closed",
    "dealer's, normally open": "open",
    "slow and fine, normally closed (extra)": "fine",
}
WINDOW, HIGHEST, EDGE = 6.0, 120.0, 126.0  # s shown; m/s2, and with room for the marks there
ASKED = "trail bike, climb", "closed", 0.5  # the case of the prediction
THRESHOLDS = np.array([5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 100, 120], dtype=float)


def _ridden(place):
    """Machine and section of a ride: one of RIDES, or the key of a learner's machine and a section."""
    return RIDES.get(place) or place.rsplit(", ", 1)


def _law(kind, place, threshold, hold):
    """The selector of a kind, and its timing; a normally open one is told where the rider pedals."""
    machine, section = _ridden(place)
    if kind == "fine":
        return replace(SLOW_FINE, threshold=threshold, hold=hold), MOTOR
    if kind == "closed":
        return replace(DEALER, threshold=threshold, hold=hold), CHAIN
    told = LOOP.section(section).pedalling and FLEET[machine].pedal_force > 0.0
    return ModeSelector(threshold=threshold, hold=hold, rest=0.0, pedalled=told), CHAIN


def _idle(law):
    """Whether a selector has nothing to do on a ride: open at rest, and nobody pedals."""
    return law.normally_open and not law.pedalled


_CURVES = {}


def _curves(place, kind, hold, wait=True):
    """Found and locked in %, false alarms a minute, over THRESHOLDS; None if not yet known and there is no time."""
    key = place, kind, hold
    if key not in _CURVES:
        if not wait:
            return None
        machine, section = _ridden(place)
        law, timing = _law(kind, place, 40.0, hold)
        if _idle(law):
            _CURVES[key] = np.full((3, len(THRESHOLDS)), np.nan)
            return _CURVES[key]
        known = bumps(machine, section)
        curve = operating_curve(switched(machine), LOOP.section(section), THRESHOLDS, law, timing, known)
        _CURVES[key] = np.array([100.0 * curve.hit_rate, 100.0 * curve.lock_share, curve.false_alarms_per_minute])
    return _CURVES[key]


@lru_cache(maxsize=64)
def _trace(place, law, timing):
    """What one ride shows: readings and valve in the window, score, vibration."""
    machine, section = _ridden(place)
    run, known = ridden(law, timing, machine, section), bumps(machine, section)
    start = float(known.start[FIRST_SHOWN if section == "climb" else len(known) // 3]) - LEAD
    time, size = _peaks(run, start, WINDOW, 6)
    valve = 1.0 - np.interp(time, run.time, run.valve)
    at, level = _marks(known, 0.95 * HIGHEST)
    return {
        "time": time - start, "size": size, "valve": valve, "bumps": (at - start, level),
        "comfort": metrics(run).comfort, "score": scored(law, timing, machine, section),
    }  # fmt: skip


def _compute(place, kind, threshold, hold, wait=True):
    law, timing = _law(kind, place, float(threshold), float(hold))
    shown, usual = _trace(place, law, timing), _trace(place, *_law("closed", place, 40.0, 0.5))
    found, idle = shown["score"], _idle(law)
    here = (100.0 * found.hit_rate, 100.0 * found.lock_share, found.false_alarms_per_minute)
    return shown | {
        "usual": (usual["time"], usual["valve"]), "threshold": threshold,
        "idle": idle, "asked": (place, kind, hold) == ASKED,
        "curves": _curves(place, kind, hold, wait), "usual_curves": _curves(place, "closed", 0.5, wait),
        "here": (np.nan,) * 3 if idle else here,
    }  # fmt: skip


def _preview(**values):
    return _compute(**values, wait=False)


def threshold_figure(prediction=""):
    """Live: what the wheel's sensor reads, what the valve makes of it, and the scores over the threshold."""
    looks = (
        {"color": ORANGE, "linestyle": (0, (7, 2)), "marker": "^"},
        {"color": PLUM, "linestyle": "solid", "marker": "D"},
        {"color": BLUE, "linestyle": (0, (2, 1.5)), "marker": "s"},
    )

    def build(figure, result):
        (top, shares), (below, alarms) = figure.subplots(2, 2, width_ratios=(1.25, 1.0), height_ratios=(1.5, 1.0))
        top.set(
            xlim=(0.0, WINDOW), ylim=(0.0, HIGHEST), ylabel="size of the wheel's\nacceleration (m/s²)",
            title="Six seconds of the ride (bars: bumps that are there)",
        )  # fmt: skip
        below.set(xlim=(0.0, WINDOW), ylim=(-0.15, 1.15), xlabel="time (s)", title="The valve (grey: as you found it)")
        below.set_yticks([0.0, 1.0], ["firm", "open"])
        shares.set(
            xlim=(0.0, EDGE), ylim=(-4.0, 106.0), ylabel="▲ found, ◆ locked (%)",
            title="Bumps found and time locked",
        )  # fmt: skip
        root, square = (lambda y: np.sign(y) * np.sqrt(np.abs(y))), (lambda y: np.sign(y) * y**2)
        alarms.set_yscale("function", functions=(root, square))
        alarms.set(
            xlim=(0.0, EDGE), ylim=(-1.0, 300.0), xlabel="threshold (m/s²)", ylabel="■ a minute",
            title="False alarms (axis stretched at the foot)",
        )  # fmt: skip
        alarms.set_yticks([0, 10, 50, 120, 250])
        held = {"usual": below.plot(*result["usual"], **GHOST)[0]}
        held["size"] = top.plot(result["time"], result["size"], color=INK, linewidth=0.9)[0]
        held["bumps"] = top.plot(*result["bumps"], color=ORANGE, linewidth=7, solid_capstyle="butt")[0]
        held["level"] = top.plot([0.0, WINDOW], [0.0, 0.0], color=PLUM, linewidth=1.5)[0]
        held["valve"] = below.plot(result["time"], result["valve"], color=PLUM)[0]
        for k, look in enumerate(looks):
            ax = alarms if k == 2 else shares
            held["usual", k] = ax.plot(THRESHOLDS, result["usual_curves"][k], **GHOST)[0]
            held["curve", k] = ax.plot(THRESHOLDS, result["curves"][k], **look, markersize=3.5, linewidth=1.4)[0]
            held["here", k] = ax.plot(0.0, 0.0, look["marker"], color=look["color"], markersize=10)[0]
        held["idle"] = shares.text(
            0.5 * EDGE, 60.0, "It stays open here:\nnothing to find,\nno alarm to raise.", ha="center", va="center",
            path_effects=[withStroke(linewidth=4, foreground="white")],
        )  # fmt: skip
        if prediction:
            claimed = 100.0 * PREDICTED[prediction] / 12.0
            side, up = (-8, 5) if prediction == "d" else (9, -14 if claimed > 90.0 else 6)
            mark = {"color": INK, "markersize": 13, "markeredgewidth": 2.2}
            held["predicted"] = shares.plot(80.0, claimed, "x", **mark)[0]
            held["predicted text"] = shares.annotate(
                "predicted", (80.0, claimed), xytext=(side, up), textcoords="offset points", fontsize=9,
                ha="left" if side > 0 else "right", path_effects=[withStroke(linewidth=3, foreground="white")],
            )  # fmt: skip
        draw(held, result)
        return held

    def draw(held, result):
        held["usual"].set_data(*result["usual"])
        held["size"].set_data(result["time"], np.minimum(result["size"], HIGHEST))
        held["bumps"].set_data(*result["bumps"])
        held["level"].set_ydata([result["threshold"]] * 2)
        held["valve"].set_data(result["time"], result["valve"])
        for k in range(3):
            for name, curves in (("usual", result["usual_curves"]), ("curve", result["curves"])):
                # Until the new curves are known the old ones stay, pale.
                held[name, k].set_alpha(0.25 if curves is None else 1.0)
                if curves is not None:
                    held[name, k].set_ydata(curves[k])
                held[name, k].set_visible(not result["idle"])
            held["here", k].set_data([result["threshold"]], [result["here"][k]])
        held["idle"].set_visible(result["idle"])
        if prediction:
            for name in ("predicted", "predicted text"):
                held[name].set_visible(result["asked"])

    def read_out(result):
        found = result["score"]
        if result["idle"]:
            return [("bumps to find", "none: it is open"), ("time locked (%)", "0"),
                    ("vibration (m/s²)", f"{result['comfort']:.2f}")]  # fmt: skip
        return [
            ("bumps found", f"{found.hits} of {len(found.hit)}"),
            ("false alarms a minute", f"{found.false_alarms_per_minute:.1f}"),
            ("time locked (%)", f"{100.0 * found.lock_share:.0f}"),
            ("vibration (m/s²)", f"{result['comfort']:.2f}"),
        ]

    def describe(values, result):
        found = result["score"]
        machine, section = _ridden(values["place"])
        where = f"{FLEET[machine].name.capitalize()}, {section}"
        kind = next(name for name, key in KINDS.items() if key == values["kind"]).removesuffix(" (extra)")
        if result["idle"]:
            return (
                f"{where}, {kind}: a normally-open valve goes firm only where the rider pedals; "
                "elsewhere it stays open: nothing to find, no alarm to raise."
            )
        opens = "once" if found.openings == 1 else f"{found.openings} times"
        return (
            f"{where}, {kind}: at {values['threshold']} m/s² and a hold time of "
            f"{values['hold']:g} s it finds {found.hits} of {len(found.hit)} bumps, {found.carried} of them because it "
            f"was open already, raises {found.false_alarms} false alarms in {found.duration:.0f} s, opens "
            f"{opens} and is locked {100.0 * found.lock_share:.0f} % of the time."
        )

    own = [(f"{name}, {part}", f"{key}, {part}") for name, key in choices({}) for part in ("climb", "descent")]
    return LiveFigure(
        name="threshold and hold time",
        sliders=[
            Options("place", "ride", [*((ride, ride) for ride in RIDES), *own], "trail bike, climb"),
            Options("kind", "selector", list(KINDS.items()), "closed"),
            Slider("threshold", "threshold", 5, 120, 1, 40, "m/s²"),
            Slider("hold", "hold time", 0.05, 2.0, 0.05, 0.5, "s"),
        ],
        compute=_compute, build=build, draw=draw, read_out=read_out, describe=describe, preview=_preview, size=(9, 3.8),
    )  # fmt: skip


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = "Roots found and time locked over the threshold: trail bike, climb, hold time 0.5 s."
CARD_ALT = (
    "Two curves over the threshold. The share of roots found stays at 100 % up to 40 m/s² and falls to nothing at 100; "
    "the share of time locked rises from a tenth to all of it."
)


@style()
def card_figure():
    """The page in one picture: what a threshold buys and what it costs."""
    figure, ax = new_figure((7, 3.2))
    found, locked, _ = _curves("trail bike, climb", "closed", 0.5)
    ax.plot(THRESHOLDS, found, color=ORANGE, linestyle=(0, (7, 2)), marker="^")
    ax.plot(THRESHOLDS, locked, color=PLUM, marker="D")
    ax.axvline(DEALER.threshold, color=FAINT, linewidth=1.0)
    ax.text(DEALER.threshold + 1.0, 3.0, "dealer's", color=FAINT)
    ax.text(58.0, 60.0, "roots found", color=ORANGE)
    ax.text(14.0, 40.0, "time locked", color=PLUM)
    ax.set(
        xlim=(0.0, EDGE), ylim=(-3.0, 106.0), xlabel="threshold (m/s²)", ylabel="share (%)",
        title="Raise the threshold: more lock, fewer roots found",
    )  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
