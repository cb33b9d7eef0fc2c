"""Pictures of workbook 02: the donor's rig, what power buys at which price in grip and travel, and the card."""

from functools import lru_cache

import numpy as np

from helpers import course
from helpers.control.optimal import controlled_response
from helpers.models import closed_forms, quarter_car
from helpers.models.terrain import CLASSES, white_velocity_intensity
from helpers.teaching import plots
from helpers.teaching.kept import with_own
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import GHOST, INK, PALETTE, new_figure, still, style

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
PREDICTED = {"nothing": 0.0, "third": 1.0 / 3.0, "quarters": 0.75, "all": 1.0}  # of the plain damper's acceleration
FREQUENCY = np.geomspace(0.3, 40.0, 300)  # Hz
GRIPS, COEFFICIENTS = np.arange(4.0, 6.51, 0.25), np.geomspace(0.15, 5.0, 60)  # powers of ten; over the plain damper's
FAIR = np.geomspace(0.5, 2.0, 6)  # dampers that feedback is made equal to, over the plain one's
START = {"grip": 5.5, "travel": 4.0, "preview": 0.0}
BARS = ("motor puts in", "takes out", "from the battery", "with return")
FLOOR, CEILING, EFFICIENCY = -45.0, 45.0, 0.6  # W, W, and of the drive each way


def over_frequency(ax, ticks, **labels):
    """Set up a logarithmic frequency axis."""
    ax.set(xscale="log", xlim=(0.3, 40.0), xlabel="frequency (Hz)", **labels)
    ax.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    ax.minorticks_off()


@style()
def rig_sketch(vehicle):
    """The donor's rig on one wheel, and what the casualty feels today."""
    figure, (left, right) = new_figure((9, 3.3), columns=2, width_ratios=(0.7, 1.3))
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
    white = white_velocity_intensity(CLASSES["C"], vehicle.traverse_speed)
    height = np.abs(quarter_car.frequency_response(vehicle, "body", FREQUENCY, vehicle.damping))
    density = np.sqrt(2.0 * white) * 2.0 * np.pi * FREQUENCY * height
    right.plot(FREQUENCY, density, color=INK)
    for hz, name in ((1.9, "slow heave"), (13.8, "quick shake")):
        right.text(hz, float(np.interp(hz, FREQUENCY, density)) + 0.04, name, ha="center", color=ORANGE)
    over_frequency(right, (0.5, 1, 2, 5, 10, 20, 40), ylim=(0.0, 0.7), title="Today: a slow heave and a quick shake",
                   ylabel="body acceleration\n(m/s² per root Hz)")  # fmt: skip
    humps = " and ".join(f"{np.interp(hz, FREQUENCY, density):.2f} near {hz:.0f} Hz" for hz in (1.9, 13.8))
    alt = "Left: body and wheel with spring, damper and a motor between them, which pushes both apart. Right: the "
    alt += f"{vehicle.name}'s body acceleration over frequency on a class C track: humps of {humps}, m/s² per root Hz."
    return still(figure, alt)


@lru_cache(4096)
def _means(vehicle, grip, travel, preview):
    """(load, acceleration, travel) over the plain damper's, and the motor's power in and back, W."""
    law = course.OptimalFeedback(vehicle, 10.0**grip, 10.0**travel, preview)
    told, plain = course.by_formula(vehicle, law), course.by_formula(vehicle.plain())
    shares = [getattr(told, name) / getattr(plain, name) for name in ("tyre_load_variation", "acceleration", "travel")]
    return *shares, told.power_in, told.power_back


@lru_cache
def _dampers(vehicle):
    """(load, acceleration) of every damper over the plain one's, of feedback at some ones' grip and travel, of both."""
    plain = course.by_formula(vehicle.plain())
    fixed = [course.by_formula(vehicle.plain(vehicle.damping * c)) for c in (*COEFFICIENTS, *FAIR)]
    every = np.array([(one.tyre_load_variation / plain.tyre_load_variation, one.acceleration / plain.acceleration)
                      for one in fixed])  # fmt: skip
    fair = every[len(COEFFICIENTS) :].copy()
    for place, one in zip(fair, fixed[len(COEFFICIENTS) :], strict=True):
        try:
            law = course.OptimalFeedback(vehicle).equal(one)
            place[1] = course.by_formula(vehicle, law).acceleration / plain.acceleration
        except ValueError:  # a learner's machine may have no such law
            place[1] = np.nan
    joined = np.stack([every[len(COEFFICIENTS) :], fair, np.full_like(fair, np.nan)], axis=1).reshape(-1, 2)
    return every[: len(COEFFICIENTS)].T, fair.T, joined.T


def power_figure(prediction, machines):
    """Live: body response, what optimal laws buy at which grip, and the watts at the rod and at the battery."""
    fleet, first = with_own({vehicle.name: vehicle for vehicle in machines}), machines[-1].name

    def compute(machine, grip, travel, preview):
        vehicle = fleet[machine]
        design = course.OptimalFeedback(vehicle, 10.0**grip, 10.0**travel).design
        ahead = design.preview_spectrum(FREQUENCY, preview) if preview else 0.0
        load, calm, stroke, put_in, back = _means(vehicle, grip, travel, preview)
        point = closed_forms.invariant_points()[0].at(vehicle)
        curve = np.array([_means(vehicle, e, travel, preview)[:2] for e in GRIPS]).T
        return {
            "gain": np.abs(controlled_response(vehicle, design.gains, "body", FREQUENCY, ahead=ahead)),
            "plain": np.abs(quarter_car.frequency_response(vehicle, "body", FREQUENCY, vehicle.damping)),
            "point": (point.frequency_hz, abs(point.value)), "curve": curve,
            **dict(zip(("dampers", "fair", "joined"), _dampers(vehicle), strict=True)), "here": (load, calm),
            "start": _means(vehicle, **START)[:2], "stroke": stroke,
            "watts": (put_in, -back, put_in / EFFICIENCY, put_in / EFFICIENCY - EFFICIENCY * back)}  # fmt: skip

    def build(figure, result):
        left, middle, right = figure.subplots(1, 3, width_ratios=(1.0, 1.15, 0.75))
        over_frequency(left, (0.5, 2, 5, 20), yscale="log", ylim=(0.004, 40.0), ylabel="body height / road height",
                       title="All meet in the dot")  # fmt: skip
        middle.set(xlim=(0.3, 2.0), ylim=(0.0, 1.75), xlabel="tyre-load variation / plain damper's",
                   ylabel="body acceleration / plain damper's", title="Optimal laws pass every damper")  # fmt: skip
        middle.axvline(1.0, color=ORANGE, linewidth=1.0)
        middle.text(1.02, 0.02, "grip of the plain damper", color=ORANGE, fontsize=9, va="bottom")
        right.set(xlim=(FLOOR, CEILING), ylim=(3.7, -0.7), yticks=[], xlabel="mean power, one wheel (W)",
                  title="What it costs")  # fmt: skip
        right.axvline(0.0, color=INK, linewidth=0.8)
        held = {
            "start": middle.plot([], [], "o", markerfacecolor="none", markersize=12, **GHOST)[0],
            "plain": left.plot(FREQUENCY, result["plain"], color=INK, linewidth=1.2, label="plain damper")[0],
            "gain": left.plot(FREQUENCY, result["gain"], color=BLUE, label="your law")[0],
            "point": left.plot([], [], "o", color=ORANGE, markersize=9)[0],
            "dampers": middle.plot([], [], color=INK, label="every damper")[0],
            "joined": middle.plot([], [], ":", color=PLUM, linewidth=1.2)[0],
            "fair": middle.plot([], [], "s", color=PLUM, markersize=4, label="equal grip and travel")[0],
            "curve": middle.plot([], [], color=BLUE, label="your law, every weight of grip")[0],
            "here": middle.plot([], [], "o", color=BLUE, markersize=9)[0],
            "bars": [right.plot([0.0, 0.0], [row + 0.1] * 2, linewidth=7, solid_capstyle="butt",
                                color=BLUE if row < 2 else INK)[0] for row in range(len(BARS))],
            "texts": [right.text(FLOOR + 1, row - 0.3, "", fontsize=9, va="center") for row in range(4)]}  # fmt: skip
        left.legend(loc="upper right", fontsize=8, frameon=False)
        middle.legend(loc="lower left", bbox_to_anchor=(0.0, 0.06), fontsize=8, frameon=False, handlelength=1.6)
        if prediction:
            middle.axhline(PREDICTED[prediction], color=PLUM, linestyle=(0, (2, 1.5)), linewidth=1.3)
            middle.text(0.32, max(PREDICTED[prediction], 0.03), "predicted", color=PLUM, va="bottom", fontsize=9)
        draw(held, result)
        return held

    def draw(held, result):
        for name in ("gain", "plain"):
            held[name].set_ydata(result[name])
        for name in ("dampers", "joined", "fair", "curve", "point", "here", "start"):
            held[name].set_data(*np.atleast_1d(*result[name]))
        for name, bar, text, value in zip(BARS, held["bars"], held["texts"], result["watts"], strict=True):
            bar.set_xdata([0.0, min(max(value, FLOOR), CEILING)])
            text.set_text(f"{name}: {value:.1f}")

    def read_out(result):
        shares = zip(("acceleration left (%)", "tyre-load variation (%)", "travel (%)"),
                     (*result["here"][::-1], result["stroke"]), strict=True)  # fmt: skip
        return [*((name, f"{100.0 * value:.0f}") for name, value in shares),
                ("battery; with return (W)", "{2:.1f}; {3:.1f}".format(*result["watts"]))]  # fmt: skip

    def describe(values, result):
        more = [f"{100.0 * value:.0f} %" for value in (*result["here"][::-1], result["stroke"])]
        seen = f"seeing {values['preview']:.2f} s ahead" if values["preview"] else "without a look ahead"
        return (
            f"{values['machine'].capitalize()}, {seen}: {more[0]} of the plain damper's acceleration is left, with "
            f"{more[1]} of its tyre-load variation and {more[2]} of its travel. The motor puts in "
            f"{result['watts'][0]:.1f} W and takes out {-result['watts'][1]:.1f} W. At {result['point'][0]:.1f} Hz the "
            f"body follows {100.0 * result['point'][1]:.1f} % of the road."
        )

    return LiveFigure(
        name="what power buys",
        sliders=[Options("machine", "machine", list(fleet), first),
            Slider("grip", "weight of grip, 10 to the power of", 4.0, 6.5, 0.25, START["grip"]),
            Slider("travel", "weight of travel, 10 to the power of", 2.0, 5.0, 0.25, START["travel"]),
            Slider("preview", "road seen ahead", 0.0, 0.5, 0.05, START["preview"], "s"),
        ],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.6))  # fmt: skip


CARD_CAPTION = "Every damper of the stretcher carrier, and optimal feedback at the same grip and travel, by formula."
CARD_ALT = (
    "Body acceleration against tyre-load variation of the carrier: the valley of all dampers, and below it optimal "
    "feedback that has the grip and the travel of each of six of them, joined to it."
)


@style()
def card_figure():
    """The page in one picture: every damper, and feedback that is equal to it in grip and travel."""
    figure, ax = new_figure((7, 3.4))
    dampers, fair, joined = _dampers(course.carrier)
    ax.plot(*dampers, color=INK)
    ax.plot(*joined, ":", color=BLUE)
    ax.plot(*fair, "s", color=BLUE, markersize=5)
    ax.text(1.33, 1.22, "every damper")
    ax.text(1.22, 0.5, "optimal feedback, equal grip and travel", color=BLUE)
    ax.set(xlim=(0.9, 1.8), ylim=(0.0, 1.6), xlabel="tyre-load variation / plain damper's",
           ylabel="body acceleration /\nplain damper's", title="A quarter less at the same price")  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
