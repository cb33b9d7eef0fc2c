"""Pictures of workbook 05: a box's budget, folding and holding, the live budget with its ride, and the card."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
from matplotlib.patches import Rectangle

from helpers.control import sampling
from helpers.models.vehicles import FLEET
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import GHOST, INK, PALETTE, label_line, new_figure, still, style
from scenes.w05_folds import (  # the page asks this module for its folds and tables too
    ages_fold,
    check_fold,
    engine_fold,
    hold_derivation,
    margin_fold,
    ranges_fold,
    signals_fold,
    steeper_fold,
)
from scenes.w05_rides import (
    BIKE,
    BOXES,
    CARRIER,
    LINE,
    MOTORCYCLE,
    PRESENT,
    TRAVERSE,
    age,
    calmest_fixed,
    chain,
    delayed,
    named,
    with_box,
)
from scenes.w05_tables import (
    beginnings,
    boxes_table,
    deadlines_table,
    decision_table,
    engine_table,
    parameters_table,
    rejection_table,
    roots_table,
    seeds_table,
    selector_facts,
    selector_table,
)

__all__ = [
    "ages_fold", "beginnings", "boxes_table", "budget_figure", "card", "chain_sketch", "check_fold",
    "deadlines_table", "decision_table", "engine_fold", "engine_table", "hold_derivation", "margin_fold",
    "parameters_table", "ranges_fold", "rejection_table", "roots_table", "sampling_figure", "seeds_table",
    "selector_facts", "selector_table", "signals_fold", "steeper_fold",
]  # fmt: skip

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
ROWS = ("filter", "wait for a sample", "computer, bus, jitter", "valve dead time", "valve motion")
PREDICTED = {"a": 3.0, "b": 10.2, "c": 13.0, "d": 11.0}  # mean age in ms that each option says of box A


def _row_times(timing):
    """Least and most time in ms of each of ROWS: two arrays of shape (5,)."""
    stages = {stage.name: stage for stage in chain(timing).stages}
    groups = *((name,) for name in ROWS[:2]), ("compute", "bus", "jitter"), *((name,) for name in ROWS[3:])
    sums = [[sum(getattr(stages[n], end) for n in group if n in stages) for group in groups] for end in
            ("least", "most")]  # fmt: skip
    return 1e3 * np.array(sums)


def _bars(timing):
    """Where each bar begins and how long it is, in ms: means, one after the other."""
    means = _row_times(timing).mean(axis=0)
    return np.r_[0.0, np.cumsum(means)[:-1]], means


@style()
def chain_sketch(timing=PRESENT):
    """The present box as a chain of bars: from a knock at the wheel to the valve."""
    figure, ax = new_figure((9, 3.0))
    begins, means = _bars(timing)
    for row, (begin, mean, least, most) in enumerate(zip(begins, means, *_row_times(timing), strict=True)):
        uneven = most > least
        look = {"facecolor": "white", "hatch": "////"} if uneven else {"facecolor": "#9cc4de"}
        ax.barh(row, mean, left=begin, height=0.62, edgecolor=BLUE, linewidth=1.2, **look)
        told = f"{least:.1f} to {most:.1f} ms" if uneven else f"{mean:.1f} ms"
        ax.text(begin + mean + 0.2, row, told, va="center", fontsize=9)
    total, speed = chain(timing), FLEET["bike"].descent_speed
    ax.axvline(1e3 * total.mean, color=ORANGE)
    ax.set_yticks(range(len(ROWS)), ROWS)
    ax.set(xlim=(0.0, 19.0), ylim=(len(ROWS) - 0.4, -0.6), xlabel="time since the wheel was knocked (ms)")
    ax.set_title(
        f"The valve acts on news {1e3 * total.mean:.0f} ms old on average; at {speed:.0f} m/s the bike rolls "
        f"{1e3 * speed * total.mean:.0f} mm in that time"
    )
    ax.grid(visible=False, axis="y")
    told = "; ".join(f"{name} {a:.1f} to {b:.1f} ms" if b > a else f"{name} {a:.1f} ms"
                     for name, a, b in zip(ROWS, *_row_times(timing), strict=True))  # fmt: skip
    alt = f"Bars one after the other in time: {told}. Together {1e3 * total.mean:.0f} ms on average."
    return still(figure, alt)


@style()
def sampling_figure():
    """Left: 7 Hz sampled at 10 Hz has the samples of 3 Hz. Right: a held value is half a period late."""
    figure, (left, right) = new_figure((9, 3.1), columns=2)
    fine, coarse = np.linspace(0.0, 1.0, 801), np.arange(11) / 10.0
    seen = float(sampling.alias(7.0, 10.0))
    left.plot(fine, np.cos(2 * np.pi * 7.0 * fine), color=INK, linewidth=1.0)
    left.plot(fine, np.cos(2 * np.pi * seen * fine), color=ORANGE, linestyle=(0, (6, 2)))
    left.plot(coarse, np.cos(2 * np.pi * 7.0 * coarse), "o", color=BLUE)
    left.text(0.03, 1.48, "7 Hz, what is there", va="center")
    left.text(0.97, 1.48, f"{seen:g} Hz, what it looks like", color=ORANGE, va="center", ha="right")
    left.set(xlim=(0.0, 1.0), ylim=(-1.2, 1.7), xlabel="time (s)", yticks=(-1.0, 0.0, 1.0),
             title="Ten samples a second, two stories")  # fmt: skip
    rate, frequency = 50.0, 4.0
    time = np.linspace(0.0, 0.3, 1201)
    held = np.sin(2 * np.pi * frequency * np.floor(time * rate + 1e-9) / rate)
    response = complex(sampling.hold_response(frequency, rate))
    right.plot(time, np.sin(2 * np.pi * frequency * time), color=INK, linewidth=1.0)
    right.plot(time, held, color=BLUE, linewidth=1.2)
    mean = abs(response) * np.sin(2 * np.pi * frequency * time + np.angle(response))
    right.plot(time, mean, color=ORANGE, linestyle=(0, (6, 2)))
    right.text(0.012, 1.48, "motion", va="center")
    right.text(0.115, 1.48, "held at 50 Hz", color=BLUE, va="center", ha="center")
    right.text(0.297, 1.48, "its mean, 10 ms late", color=ORANGE, va="center", ha="right")
    right.set(xlim=(0.0, 0.3), ylim=(-1.2, 1.7), xlabel="time (s)", yticks=(-1.0, 0.0, 1.0),
              title="Holding is being late by half a period")  # fmt: skip
    alt = (
        f"Left: a 7 Hz swing and a {seen:g} Hz swing pass through the same ten samples a second. Right: a 4 Hz swing, "
        f"its steps held for 20 ms, and the steps' mean course, 10 ms late and {100 * abs(response):.0f} % as high."
    )
    return still(figure, alt)


# --- the live figure --------------------------------------------------------------------------------------------

AGES = np.array([2.0, 6.0, 10.0, 14.0, 18.0, 22.0, 26.0, 33.0, 40.0])  # ms
LIVE_PLACES = (BIKE, TRAVERSE, MOTORCYCLE, CARRIER)
VALVE = round(1e3 * (PRESENT.valve_dead_time + PRESENT.valve_time_constant), 6)  # ms
LOWEST, HIGHEST = 0.8, 1.32  # of the calmest fixed damper's vibration


@lru_cache
def _rivals(place):
    """(calmest fixed damper's vibration, vibration over it for AGES of pure delay)."""
    fixed = calmest_fixed(place)[0]
    return fixed, np.array([delayed(place, each) for each in AGES]) / fixed


def _told(place):
    """A place in words; of the carrier that its engine does not run here."""
    return named(place) + (", engine off" if place == CARRIER else "")


def _box(rate, cutoff, valve):
    slower = valve / VALVE
    return replace(
        PRESENT, sample_rate=float(rate), sensor_filter=float(cutoff),
        valve_dead_time=slower * PRESENT.valve_dead_time, valve_time_constant=slower * PRESENT.valve_time_constant,
    )  # fmt: skip


def _compute(place, rate, cutoff, valve, ridden=True):
    place = tuple(place.split())
    timing = _box(rate, cutoff, valve)
    fixed, curve = _rivals(place)
    vibration = with_box(place, timing) if ridden else fixed * float(np.interp(age(timing), AGES, curve))
    total = chain(timing)
    return {
        "place": place,
        "begins": _bars(timing)[0],
        "means": _bars(timing)[1],
        "ages": tuple(1e3 * each for each in (total.best, total.mean, total.worst)),
        "half": 500.0 / rate,
        "vibration": vibration,
        "over": vibration / fixed,
        "curve": curve,
        "ghost": with_box(place, PRESENT) / fixed,
        "seen": float(sampling.alias(LINE, rate)),
        "left": 100.0 * float(sampling.butterworth_gain(LINE, cutoff, 1)),
    }


def _preview(**values):
    """The budget at once, and vibration read off the curve of pure delay until the ride has been ridden."""
    return _compute(**values, ridden=False)


def budget_figure(prediction=""):
    """Live: the budget of a box as bars, and below, on the same axis of time, what its age costs on a ride."""
    for place in LIVE_PLACES:  # so that the first change of place is as quick as any
        _rivals(place)

    def build(figure, result):
        top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=(1.0, 1.25))
        top.set(xlim=(0.0, 50.0), ylim=(len(ROWS) - 0.4, -0.6), title="Where the age comes from (hatched: uneven)")
        top.set_yticks(range(len(ROWS)), ROWS)
        top.grid(visible=False, axis="y")
        bottom.set(
            ylim=(LOWEST, HIGHEST), xlabel="mean age of what the valve acts on (ms)",
            ylabel="vibration /\ncalmest fixed", title="What it costs: above the black line a fixed damper is calmer",
        )  # fmt: skip
        bottom.axhline(1.0, color=INK, linewidth=1.2)
        bottom.text(49.7, 0.995, "calmest fixed damper", ha="right", va="top", fontsize=9)
        held = {"bars": []}
        for row, (begin, mean) in enumerate(zip(result["begins"], result["means"], strict=True)):
            top.add_patch(Rectangle((begin, row - 0.4), mean, 0.8, facecolor="none", edgecolor=GHOST["color"]))
            look = {"facecolor": "white", "hatch": "////"} if row in (1, 2) else {"facecolor": "#9cc4de"}
            held["bars"].append(top.add_patch(Rectangle((begin, row - 0.28), mean, 0.56, edgecolor=BLUE, **look)))
        held["mean"] = top.axvline(result["ages"][1], color=ORANGE)
        held["mean text"] = top.text(0.0, -0.1, "", color=ORANGE, va="center", fontsize=9)
        held["curve"] = bottom.plot(AGES, result["curve"], color=ORANGE, linewidth=1.3, marker=".")[0]
        held["curve text"] = bottom.text(49.7, 0.84, "orange line: nothing but delay, 1 kHz", color=ORANGE,
                                         ha="right", fontsize=9)  # fmt: skip
        held["ghost"] = bottom.plot([age(PRESENT)], [1.0], "o", markerfacecolor="none", markersize=11, **GHOST)[0]
        held["span"] = bottom.plot([0.0, 0.0], [1.0, 1.0], color=BLUE, linewidth=1.2, marker="|")[0]
        held["here"] = bottom.plot([0.0], [1.0], "o", color=BLUE, markersize=8)[0]
        if prediction:
            at = PREDICTED[prediction]
            for ax in (top, bottom):
                ax.axvline(at, color=PLUM, linestyle=(0, (2, 1.5)), linewidth=1.3)
            bottom.text(at + 0.4, 1.285, "predicted for box A", color=PLUM, va="center", fontsize=9)
        draw(held, result)
        return held

    def draw(held, result):
        for bar, begin, mean in zip(held["bars"], result["begins"], result["means"], strict=True):
            bar.set_x(begin)
            bar.set_width(mean)
        best, mean, worst = result["ages"]
        held["mean"].set_xdata([mean, mean])
        held["mean text"].set_position((mean + 0.5, 0.0))
        held["mean text"].set_text(f"mean {mean:.1f} ms")
        over = min(max(result["over"], LOWEST + 0.01), HIGHEST - 0.01)
        held["span"].set_data([best, worst], [over, over])
        held["here"].set_data([mean], [over])
        held["curve"].set_ydata(result["curve"])
        held["ghost"].set_ydata([result["ghost"]])

    def read_out(result):
        best, mean, worst = result["ages"]
        told = [
            ("mean age (ms)", f"{mean:.1f}, from {best:.1f} to {worst:.1f}"),
            ("vibration (m/s²)", f"{result['vibration']:.2f}"),
            ("of the calmest fixed damper's (%)", f"{100.0 * result['over']:.0f}"),
        ]
        if result["place"] == CARRIER:  # the only one with an engine on its frame here
            seen = f"seen at {result['seen']:.1f} Hz, {result['left']:.0f} % of its size"
            told.append(("engine's line, not part of this ride", seen))
        return told

    def describe(values, result):
        best, mean, worst = result["ages"]
        share = 100.0 * (result["over"] - 1.0)
        apart = f"{abs(share):.0f} % {'above' if share > 0.0 else 'below'}" if abs(share) >= 0.5 else "within 0.5 % of"
        rival = f"{apart} the calmest fixed damper's"
        return (
            f"{_told(result['place']).capitalize()}: the valve acts on news {mean:.1f} ms old on average, between "
            f"{best:.1f} and {worst:.1f}; sampling has {result['half']:.1f} ms of it, the valve "
            f"{result['means'][3] + result['means'][4]:.1f}. Vibration is {result['vibration']:.2f} m/s², {rival}."
        )

    return LiveFigure(
        name="budget of a box",
        sliders=[
            Options("place", "machine and section", [(_told(p), " ".join(p)) for p in LIVE_PLACES], " ".join(BIKE)),
            Options("rate", "sample rate", [(f"{r} Hz", r) for r in (50, 100, 200, 250, 500, 1000)], 200),
            Options("cutoff", "filter's cut-off", [(f"{c} Hz", c) for c in (20, 40, 80, 160, 436)], 80),
            Slider("valve", "valve, dead time and motion", 1.8, 18.0, 0.9, VALVE, "ms"),
        ],
        compute=_compute, build=build, draw=draw, read_out=read_out, describe=describe, preview=_preview,
        size=(9, 3.8),
    )  # fmt: skip


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = "Vibration of the trail bike's descent over the mean age of what its valve acts on, with four boxes."
CARD_ALT = (
    "A rising curve of vibration over mean age from 2 to 26 ms, for the trail bike's skyhook damper; it crosses the "
    "calmest fixed damper's level at 14 ms. The present box at 15 ms lies above that level, box A with five times "
    "the sample rate at 13 ms just below, box B with the quicker valve at 9.6 ms well below, both together lowest."
)


@style()
def card_figure():
    """The page in one picture: age against vibration, and where the boxes lie."""
    figure, ax = new_figure((7, 3.6))
    ages = AGES[AGES < 28.0]
    ax.plot(ages, [delayed(BIKE, each) for each in ages], color=ORANGE)
    fixed = ax.plot([0.0, 27.0], [calmest_fixed(BIKE)[0]] * 2, color=INK, linewidth=1.2)[0]
    label_line(ax, fixed, "calmest fixed damper", x=23.0, above=False)
    places = {"present box": (-8, 5, "right"), "box A: 1 kHz": (8, -11, "left"),
              "box B: quicker valve": (8, -11, "left"), "both, filter raised": (8, -11, "left")}  # fmt: skip
    for name, (right, up, side) in places.items():
        at = (age(BOXES[name]), with_box(BIKE, BOXES[name]))
        ax.plot(*at, "o", color=BLUE)
        ax.annotate(f"{name}, {at[0]:.1f} ms", at, xytext=(right, up), textcoords="offset points", color=BLUE, ha=side)
    ax.set(
        xlim=(0.0, 27.0), ylim=(3.2, 4.5), xlabel="mean age of what the valve acts on (ms)",
        ylabel="vibration (m/s²)", title="A millisecond counts the same wherever it comes from",
    )  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
