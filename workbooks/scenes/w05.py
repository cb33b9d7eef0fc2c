"""Pictures of workbook 05: a chain's budget as bars, the live budget with its ride, and the card."""

from functools import lru_cache

import numpy as np
from matplotlib.patches import Rectangle

from helpers.course import Skyhook, Timing, bike, budget, calmest_fixed, fell_loop, ride
from helpers.teaching.kept import with_own
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import GHOST, INK, PALETTE, label_line, new_figure, still, style

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
ROWS = {"filter": ("filter",), "wait for a sample": ("wait for a sample",),
        "computer, bus, jitter": ("compute", "bus", "jitter"), "valve dead time": ("valve dead time",),
        "valve motion": ("valve motion",)}  # fmt: skip
PREDICTED = {"a": 4.0, "b": 9.7, "c": 13.2, "d": 10.2}  # mean age in ms that each option says of board A
AGES = np.array([2.0, 5.0, 8.0, 11.0, 14.0, 17.0, 20.0, 25.0, 32.0, 40.0])  # ms
LOWEST, HIGHEST = 0.85, 1.25  # of the calmest fixed damper's vibration


def _bars(timing):
    """Least, mean and most time in ms of each of ROWS, shape (3, 5)."""
    table = budget(timing).rows
    return np.array([[sum(table[stage][f"{case} (ms)"] for stage in stages if stage in table)
                      for stages in ROWS.values()] for case in ("best", "mean", "worst")])  # fmt: skip


def _begins(means):
    return np.r_[0.0, np.cumsum(means)[:-1]]


@style()
def chain_sketch(timing, speed):
    """A chain as bars one after the other, from a knock at the wheel to the valve; speed in m/s of the machine."""
    figure, ax = new_figure((9, 2.8))
    least, means, most = _bars(timing)
    words = [f"{low:.1f} to {high:.1f} ms" if high > low else f"{low:.1f} ms"
             for low, high in zip(least, most, strict=True)]  # fmt: skip
    for row, (begin, mean) in enumerate(zip(_begins(means), means, strict=True)):
        look = {"facecolor": "white", "hatch": "////"} if most[row] > least[row] else {"facecolor": "#9cc4de"}
        ax.barh(row, mean, left=begin, height=0.62, edgecolor=BLUE, linewidth=1.2, **look)
        ax.text(begin + mean + 0.2, row, words[row], va="center", fontsize=9)
    age = means.sum()
    ax.axvline(age, color=ORANGE)
    ax.set_yticks(range(len(ROWS)), ROWS)
    ax.set(xlim=(0.0, 1.25 * age), ylim=(len(ROWS) - 0.4, -0.6), xlabel="time since the wheel was knocked (ms)")
    ax.set_title(f"The valve acts on news {age:.1f} ms old on average; at {speed:.0f} m/s the bike rolls "
                 f"{speed * age:.0f} mm in that time")  # fmt: skip
    ax.grid(visible=False, axis="y")
    told = "; ".join(f"{name} {word}" for name, word in zip(ROWS, words, strict=True))
    return still(figure, f"Bars one after the other in time: {told}. Together {age:.1f} ms on average.")


# --- the live figure --------------------------------------------------------------------------------------------


@lru_cache(16)
def _rivals(vehicle, ground):
    """(calmest fixed damper's vibration, vibration over it for AGES of nothing but delay)."""
    fixed = ride(calmest_fixed(vehicle, ground), ground).vibration
    late = [Timing(sample_rate=2000.0, compute=1e-3 * age - 2.5e-4) for age in AGES]
    return fixed, np.array([_felt(vehicle, ground, timing) for timing in late]) / fixed


@lru_cache(512)
def _felt(vehicle, ground, timing):
    return ride(vehicle, ground, Skyhook(2.0 * vehicle.damping), timing).vibration


def budget_figure(machines, ground, timing, prediction=""):
    """Live: a chain's budget as bars, and below, on the same axis of time, what its age costs on a ride.

    machines: vehicles by name, the first is shown; timing: the chain that the controls start from.
    """
    machines, start = with_own(machines), 1e3 * (timing.valve_dead_time + timing.valve_time_constant)

    def chain(rate, cutoff, valve):
        share = valve / start
        return timing.changed(
            sample_rate=float(rate), sensor_filter=float(cutoff), valve_dead_time=share * timing.valve_dead_time,
            valve_time_constant=share * timing.valve_time_constant,
        )  # fmt: skip

    def compute(machine, rate, cutoff, valve, ridden=True):
        now, vehicle = chain(rate, cutoff, valve), machines[machine]
        fixed, curve = _rivals(vehicle, ground)
        sums = budget(now)
        over = _felt(vehicle, ground, now) / fixed if ridden else float(np.interp(sums.mean, AGES, curve))
        return {"means": _bars(now)[1], "ages": (sums.best, sums.mean, sums.worst), "half": 500.0 / rate,
                "vibration": over * fixed, "over": over, "curve": curve,
                "ghost": _felt(vehicle, ground, timing) / fixed}  # fmt: skip

    def preview(**values):
        return compute(**values, ridden=False)

    def build(figure, result):
        top, bottom = figure.subplots(2, 1, sharex=True, height_ratios=(1.0, 1.25))
        top.set(xlim=(0.0, 46.0), ylim=(len(ROWS) - 0.4, -0.6),
                title="Where the age comes from (hatched stages vary: drawn at their mean)")  # fmt: skip
        top.set_yticks(range(len(ROWS)), ROWS)
        top.grid(visible=False, axis="y")
        bottom.set(ylim=(LOWEST, HIGHEST), xlabel="mean age of what the valve acts on (ms)",
                   ylabel="vibration /\ncalmest fixed",
                   title="What it costs: above the black line a fixed damper is calmer")  # fmt: skip
        bottom.axhline(1.0, color=INK, linewidth=1.2)
        bottom.text(45.7, 0.995, "calmest fixed damper", ha="right", va="top", fontsize=9)
        bottom.text(45.7, 0.87, "orange line: nothing but delay", color=ORANGE, ha="right", fontsize=9)
        held = {"bars": []}
        for row, (begin, mean) in enumerate(zip(_begins(result["means"]), result["means"], strict=True)):
            top.add_patch(Rectangle((begin, row - 0.4), mean, 0.8, facecolor="none", edgecolor=GHOST["color"]))
            look = {"facecolor": "white", "hatch": "////"} if row in (1, 2) else {"facecolor": "#9cc4de"}
            held["bars"].append(top.add_patch(Rectangle((begin, row - 0.28), mean, 0.56, edgecolor=BLUE, **look)))
        held["mean"] = top.axvline(result["ages"][1], color=ORANGE)
        held["text"] = top.text(0.0, 0.0, "", color=ORANGE, va="center", fontsize=9)
        held["curve"] = bottom.plot(AGES, result["curve"], color=ORANGE, linewidth=1.3, marker=".")[0]
        held["ghost"] = bottom.plot([budget(timing).mean], [1.0], "o", mfc="none", markersize=11, **GHOST)[0]
        held["span"] = bottom.plot([0.0, 0.0], [1.0, 1.0], color=BLUE, linewidth=1.2, marker="|")[0]
        held["here"] = bottom.plot([0.0], [1.0], "o", color=BLUE, markersize=8)[0]
        if prediction:
            for ax in (top, bottom):
                ax.axvline(PREDICTED[prediction], color=PLUM, linestyle=(0, (2, 1.5)), linewidth=1.3)
            bottom.text(PREDICTED[prediction] + 0.4, HIGHEST - 0.02, "predicted for board A", color=PLUM, va="center",
                        fontsize=9)  # fmt: skip
        draw(held, result)
        return held

    def draw(held, result):
        for bar, begin, mean in zip(held["bars"], _begins(result["means"]), result["means"], strict=True):
            bar.set_x(begin)
            bar.set_width(mean)
        best, mean, worst = result["ages"]
        held["mean"].set_xdata([mean, mean])
        held["text"].set_position((mean + 0.5, 0.0))
        held["text"].set_text(f"mean {mean:.1f} ms")
        over = min(max(result["over"], LOWEST + 0.005), HIGHEST - 0.005)
        held["span"].set_data([best, worst], [over, over])
        held["here"].set_data([mean], [over])
        held["curve"].set_ydata(result["curve"])
        held["ghost"].set_ydata([result["ghost"]])

    def read_out(result):
        best, mean, worst = result["ages"]
        return [("mean age (ms)", f"{mean:.1f}, from {best:.1f} to {worst:.1f}"),
                ("vibration (m/s²)", f"{result['vibration']:.2f}"),
                ("of the calmest fixed damper's (%)", f"{100.0 * result['over']:.0f}")]  # fmt: skip

    def describe(values, result):
        best, mean, worst = result["ages"]
        share = 100.0 * (result["over"] - 1.0)
        apart = f"{abs(share):.0f} % {'above' if share > 0.0 else 'below'}" if abs(share) >= 0.5 else "within 0.5 % of"
        return (f"{values['machine'].capitalize()}, {ground.name}: the valve acts on news {mean:.1f} ms old on "
                f"average, between {best:.1f} and {worst:.1f}; waiting for samples has {result['half']:.1f} ms of it, "
                f"the valve {result['means'][3:].sum():.1f}. Vibration is {result['vibration']:.2f} m/s², {apart} the "
                "calmest fixed damper's.")  # fmt: skip

    names = list(machines)
    return LiveFigure(
        name="budget of a chain",
        sliders=[
            Options("machine", "machine", [(name, name) for name in names], names[0]),
            Options("rate", "sample rate", [(f"{r} Hz", r) for r in (25, 50, 125, 160, 500, 625)], 125),
            Options("cutoff", "filter's cut-off", [(f"{c} Hz", c) for c in (20, 40, 60, 120, 300)], 60),
            Slider("valve", "valve, dead time and motion", 1.5, 15.0, 0.5, start, "ms"),
        ],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe, preview=preview,
        size=(9, 3.8),
    )  # fmt: skip


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = "Vibration of the trail bike's descent over the mean age of what its valve acts on."
CARD_ALT = (
    "A rising curve of vibration over mean age for the trail bike's skyhook on nothing but delay; it crosses the level "
    "of the calmest fixed damper between 8 and 11 ms. Beyond, a damper without electronics is calmer."
)


@style()
def card_figure():
    """The page in one picture: age against vibration, and the damper that has no electronics."""
    figure, ax = new_figure((7, 3.4))
    fixed, curve = _rivals(bike, fell_loop().descent)
    shown = AGES < 26.0
    ax.plot(AGES[shown], fixed * curve[shown], color=ORANGE, marker=".")
    level = ax.plot([0.0, 26.0], [fixed, fixed], color=INK, linewidth=1.2)[0]
    label_line(ax, level, "calmest fixed damper", x=21.0, above=False)
    ax.set(xlim=(0.0, 26.0), xlabel="mean age of what the valve acts on (ms)", ylabel="vibration (m/s²)",
           title="A millisecond counts the same wherever it comes from")  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
