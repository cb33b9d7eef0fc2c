"""Pictures of workbook 02: the donor's rig, curves that all meet in a point, and what power buys."""

import math
from functools import lru_cache

import numpy as np

from helpers.control.optimal import Weights, controlled_response, regulator
from helpers.models import closed_forms, quarter_car
from helpers.models.vehicles import CARRIER, FLEET
from helpers.teaching import plots
from helpers.teaching.kept import choices
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import GHOST, INK, PALETTE, new_figure, still, style
from scenes.w02_numbers import (
    FREQUENCY,
    TRAVEL_WEIGHT,
    at_the_same_grip,
    bought,
    calmest,
    drawn,
    intensity,
    laws,
    per_velocity,
)

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
GREY = "#6b6b6b"
PREDICTED = {"a": 0.0, "b": 1.0 / 3.0, "c": 0.68, "d": 1.0}  # of the calmest damper's acceleration, at its own grip
EXPONENTS = np.arange(4.0, 6.51, 0.25)  # of the weight of tyre deflection, powers of ten
START = (5.25, 0.0, 60)  # weight of grip as a power of ten, preview in s, efficiency in %: near the calmest one's grip


def over_frequency(ax, ticks=(0.5, 1, 2, 5, 10, 20, 40), **labels):
    """Set up a logarithmic frequency axis."""
    ax.set(xscale="log", xlim=(0.3, 40.0), xlabel="frequency (Hz)", **labels)
    ax.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    ax.minorticks_off()


@style()
def rig_sketch():
    """The donor's rig on one wheel, and what the casualty feels today."""
    figure, (left, right) = new_figure((9, 3.5), columns=2, width_ratios=(0.7, 1.3))
    plots.sketch_axes(left, 4.0, 3.8)
    plots.ground(left, 0.6, 3.4, 0.3)
    plots.spring(left, 2.0, 0.3, 1.0, coils=3)
    plots.mass(left, 2.0, 1.0, 1.6, 0.45, "wheel")
    plots.spring(left, 1.4, 1.45, 2.55)
    plots.dashpot(left, 2.0, 1.45, 2.55)
    left.plot([2.6, 2.6], [1.45, 2.55], color=INK, linewidth=1.5, zorder=0.5)
    plots.mass(left, 2.6, 1.8, 0.5, 0.4, "M")
    plots.mass(left, 2.0, 2.55, 2.2, 0.6, "stretcher, body")
    plots.arrow(left, (3.3, 2.3), (3.3, 2.85), "$F_a$", BLUE)
    plots.arrow(left, (3.3, 1.75), (3.3, 1.2), "$F_a$", BLUE)
    left.set_title("A motor at every wheel")
    gain = np.abs(per_velocity(CARRIER, np.zeros(4), "acceleration", FREQUENCY, CARRIER.damping))
    density = math.sqrt(2.0 * intensity(CARRIER)) * gain
    right.plot(FREQUENCY, density, color=INK)
    for hz, name in ((1.9, "slow heave"), (13.8, "the 14 Hz shake")):
        right.text(hz, float(np.interp(hz, FREQUENCY, density)) + 0.04, name, ha="center", color=ORANGE)
    over_frequency(right, ylim=(0.0, 0.8), ylabel="body acceleration\n(m/s² per root Hz)",
                   title="Today: a slow heave and a quick shake")  # fmt: skip
    alt = (
        "Left: body and wheel with spring, damper and a motor between them; the motor pushes the body up and the wheel "
        "down with the same force. Right: acceleration of the carrier's body over frequency on a class C track, with "
        "a hump at about 2 Hz, the heave, and one near 14 Hz, the shake."
    )
    return still(figure, alt)


@style()
def crossing_figure(vehicle=CARRIER):
    """Body over road under five laws: all through the same point."""
    figure, ax = new_figure((9, 3.9))
    point = closed_forms.invariant_points()[0].at(vehicle)
    looks = ((INK, "solid", 2.15, 2.2), (PLUM, (0, (2, 1.5)), 1.25, 0.95), (BLUE, (0, (7, 2.5)), 3.4, 0.045),
             (BLUE, "solid", 1.0, 0.03))  # fmt: skip
    for (name, gains, damping, ahead), look in zip(laws(vehicle), looks, strict=True):
        gain = np.abs(controlled_response(vehicle, gains, "body", FREQUENCY, damping, ahead))
        ax.loglog(FREQUENCY, gain, color=look[0], linestyle=look[1])
        ax.text(look[2], look[3], name, color=look[0], va="center")
    ax.plot(point.frequency_hz, abs(point.value), "o", color=ORANGE, markersize=9)
    ax.text(1.1 * point.frequency_hz, 1.3 * abs(point.value), f"{point.frequency_hz:.1f} Hz, {abs(point.value):.3g}",
            color=ORANGE)  # fmt: skip
    over_frequency(ax, ylim=(0.004, 4.0), ylabel="body height / road height",
                   title="The heave goes; at the orange dot no law has a say")  # fmt: skip
    ax.set_yticks([0.01, 0.1, 1.0], ["0.01", "0.1", "1"])
    alt = (
        f"Body height over road height for the {vehicle.name} with the calmest damper, a skyhook, an optimal law "
        "set for calm, and the same with preview. Below 10 Hz the active ones lie far lower; all four "
        f"pass through {abs(point.value):.3f} at {point.frequency_hz:.1f} Hz."
    )
    return still(figure, alt)


# --- the live figure --------------------------------------------------------------------------------------------------


@lru_cache
def _curves(machine, preview_time):
    """(load, acceleration) over the weights, both over the calmest damper's."""
    base, points = calmest(machine), [bought(machine, e, preview_time) for e in EXPONENTS]
    return (np.array([p.load for p in points]) / base.load_share_rms,
            np.array([p.acceleration for p in points]) / base.acceleration_rms)  # fmt: skip


@lru_cache
def _valley(machine):
    vehicle, base = FLEET[machine], calmest(machine)
    every = closed_forms.trade_off(vehicle, intensity(vehicle), np.geomspace(60.0, 6000.0, 160))
    return every.load_share_rms / base.load_share_rms, every.acceleration_rms / base.acceleration_rms


@lru_cache(4096)
def _state(machine, exponent, preview, efficiency):
    """(gain over FREQUENCY, place in the trade-off, watts) of one law."""
    vehicle, here, base = FLEET[machine], bought(machine, exponent, preview), calmest(machine)
    design = regulator(vehicle, Weights(TRAVEL_WEIGHT, 10.0**exponent))
    ahead = design.preview_spectrum(FREQUENCY, preview) if preview else 0.0
    bill = [drawn(here.supply, here.net, 0.01 * efficiency, reuse) for reuse in (False, True)]
    return (
        np.abs(controlled_response(vehicle, design.gains, "body", FREQUENCY, ahead=ahead)),
        (here.load / float(base.load_share_rms), here.acceleration / float(base.acceleration_rms)),
        (here.supply, here.net - here.supply, here.net, *bill),
    )


def _compute(machine, exponent, preview, efficiency):
    vehicle = FLEET[machine]
    point = closed_forms.invariant_points()[0].at(vehicle)
    damping = float(calmest(machine).damping)
    names = ("gain", "here", "watts")
    start = dict(zip((f"start {name}".removesuffix(" here") for name in names), _state(machine, *START), strict=True))
    return start | dict(zip(names, _state(machine, exponent, preview, efficiency), strict=True)) | {
        "plain": np.abs(quarter_car.frequency_response(vehicle, "body", FREQUENCY, damping)),
        "point": (point.frequency_hz, abs(point.value)),
        "valley": _valley(machine),
        "feedback": _curves(machine, 0.0),
        "curve": _curves(machine, preview),
        "load": bought(machine, exponent, preview).load,
    }  # fmt: skip


BARS = ("motor puts in", "motor takes out", "motor, net", "from the battery", "battery with returns")
FLOOR, CEILING = -50.0, 70.0  # W


def power_figure(prediction=""):
    """Live: body response, what the law buys against every damper, and the watts at the rod and at the battery."""

    def build(figure, result):
        left, middle, right = figure.subplots(1, 3, width_ratios=(1.0, 1.15, 0.8))
        over_frequency(left, (0.5, 2, 5, 20), yscale="log", ylim=(0.004, 40.0), ylabel="body height / road height",
                       title="All meet in the dot")  # fmt: skip
        middle.set(
            xlim=(0.3, 2.3), ylim=(0.0, 1.75), xlabel="tyre-load variation / calmest damper's",
            ylabel="body acceleration / calmest damper's", title="Optimal laws pass every damper",
        )  # fmt: skip
        middle.axvline(1.0, color=ORANGE, linewidth=1.0)
        middle.text(1.02, 0.02, "same grip", color=ORANGE, fontsize=9, va="bottom")
        middle.text(2.28, 1.11, "every damper", fontsize=9, ha="right")
        left.set_yticks([0.01, 0.1, 1.0, 10.0], ["0.01", "0.1", "1", "10"])
        middle.text(0.33, 0.02, "optimal laws\n(dashed: no\npreview)", color=BLUE, fontsize=9, va="bottom")
        for place, color, name in ((0.97, INK, "calmest damper"), (0.91, BLUE, "your law"), (0.85, GREY, "start")):
            left.text(0.97, place, name, color=color, fontsize=9, va="top", ha="right", transform=left.transAxes)
        right.set(xlim=(FLOOR, CEILING), ylim=(-0.7, 4.7), yticks=[], xlabel="mean power, one wheel (W)")
        right.set_title("What it costs")
        right.invert_yaxis()
        right.grid(visible=False, axis="y")
        right.axvline(0.0, color=INK, linewidth=0.8)
        for row, name in enumerate(BARS):
            right.text(CEILING, row - 0.3, name, ha="right", va="center", fontsize=9,
                       bbox={"facecolor": "white", "linewidth": 0.0, "pad": 0.5})  # fmt: skip
        held = {
            "start gain": left.plot(FREQUENCY, result["start gain"], **GHOST)[0],
            "start": middle.plot(*result["start"], "o", markerfacecolor="none", markersize=12, **GHOST)[0],
            "start watts": [right.plot(0.0, row + 0.1, "|", markersize=14, **GHOST)[0] for row in range(5)],
            "plain": left.plot(FREQUENCY, result["plain"], color=INK, linewidth=1.2)[0],
            "gain": left.plot(FREQUENCY, result["gain"], color=BLUE)[0],
            "point": left.plot(*result["point"], "o", color=ORANGE, markersize=9)[0],
            "valley": middle.plot(*result["valley"], color=INK)[0],
            "feedback": middle.plot(*result["feedback"], color=BLUE, linestyle=(0, (7, 2.5)))[0],
            "curve": middle.plot(*result["curve"], color=BLUE)[0],
            "bars": [right.plot([0.0, 0.0], [row + 0.1] * 2, linewidth=7, solid_capstyle="butt",
                                color=BLUE if row < 3 else INK)[0] for row in range(5)],
            "texts": [right.text(FLOOR + 1, row - 0.3, "", fontsize=9, va="center") for row in range(5)],
        }  # fmt: skip
        if prediction:
            level = PREDICTED[prediction]
            middle.axhline(level, color=PLUM, linestyle=(0, (2, 1.5)), linewidth=1.3)
            middle.text(2.28, max(level, 0.03), "predicted", color=PLUM, ha="right", va="bottom", fontsize=9)
        held["here"] = middle.plot(*result["here"], "o", color=BLUE, markersize=9)[0]
        draw(held, result)
        return held

    def draw(held, result):
        for name in ("gain", "plain", "start gain"):
            held[name].set_ydata(result[name])
        for name in ("valley", "feedback", "curve"):
            held[name].set_data(*result[name])
        for name in ("point", "here", "start"):
            held[name].set_data(*([value] for value in result[name]))
        for bar, text, value in zip(held["bars"], held["texts"], result["watts"], strict=True):
            bar.set_xdata([0.0, min(max(value, FLOOR), CEILING)])
            text.set_text(f"{value:.1f}")
        for mark, value in zip(held["start watts"], result["start watts"], strict=True):
            mark.set_xdata([min(max(value, FLOOR), CEILING)])

    def read_out(result):
        return [
            ("acceleration left (%)", f"{100.0 * result['here'][1]:.0f}"),
            ("tyre-load variation (%)", f"{100.0 * result['here'][0]:.0f}"),
            ("put in; net (W)", "{0:.1f}; {2:.1f}".format(*result["watts"])),
            ("battery; returns reused (W)", "{3:.1f}; {4:.1f}".format(*result["watts"])),
        ]

    def describe(values, result):
        loose, calm = result["here"]
        grip = "as well as" if abs(loose - 1.0) < 0.005 else "less well than" if loose > 1.0 else "better than"
        seen = f"seeing {values['preview']:.2f} s ahead" if values["preview"] else "without a look ahead"
        lifts = " and now and then leaves it" if 3.0 * result["load"] > 1.0 else ""
        return (
            f"{FLEET[values['machine']].name.capitalize()}, {seen}: {100.0 * calm:.0f} % of the calmest damper's "
            f"acceleration is left; the tyre holds the ground {grip} that damper's{lifts}. The motor puts in "
            f"{result['watts'][0]:.1f} W and takes out {-result['watts'][1]:.1f} W; at {values['efficiency']} % the "
            f"battery gives {result['watts'][3]:.1f} W. At {result['point'][0]:.1f} Hz the body still follows "
            f"{100.0 * result['point'][1]:.1f} % of the road."
        )

    return LiveFigure(
        name="what power buys",
        sliders=[
            Options("machine", "machine", choices(FLEET), "carrier"),
            Slider("exponent", "weight of grip, 10 to the power of", 4.0, 6.5, 0.25, START[0]),
            Slider("preview", "road seen ahead", 0.0, 0.5, 0.05, START[1], "s"),
            Slider("efficiency", "efficiency of the drive, each way", 40, 100, 5, START[2], "%"),
        ],
        compute=_compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.8),
    )  # fmt: skip


# --- card -------------------------------------------------------------------------------------------------------------

CARD_CAPTION = "What every damper, feedback and feedback with preview make of the stretcher carrier on a class C track."
CARD_ALT = (
    "Body acceleration against tyre-load variation of the carrier: the valley of all dampers, below it the curve of "
    "optimal feedback, and lowest the curve of optimal feedback that sees the road 0.3 seconds ahead."
)


@style()
def card_figure():
    """The page in one picture: three curves, and what is left at the calmest damper's grip."""
    figure, ax = new_figure((7, 3.4))
    for (loose, calm), name, look, shift in (
        (_valley("carrier"), "every damper", {"color": INK}, (1.45, 1.12)),
        (_curves("carrier", 0.0), "optimal feedback", {"color": BLUE, "linestyle": (0, (7, 2.5))}, (1.3, 0.68)),
        (_curves("carrier", 0.3), "the same, seeing 0.3 s ahead", {"color": BLUE}, (1.27, 0.2)),
    ):
        ax.plot(loose, calm, **look)
        ax.text(*shift, name, color=look["color"])
    base = float(calmest("carrier").acceleration_rms)
    for preview in (0.0, 0.3):
        level = bought("carrier", at_the_same_grip("carrier", preview), preview).acceleration / base
        ax.plot(1.0, level, "s", color=ORANGE)
        ax.annotate(f"{100.0 * level:.0f} %", (1.0, level), xytext=(-8, -12), textcoords="offset points",
                    color=ORANGE, ha="right")  # fmt: skip
    ax.plot(1.0, 1.0, "s", color=ORANGE)
    ax.set(
        xlim=(0.3, 2.0), ylim=(0.0, 1.6), xlabel="tyre-load variation / calmest damper's",
        ylabel="body acceleration /\ncalmest damper's",
        title="Feedback takes a third of the shaking, a look ahead another third",
    )  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
