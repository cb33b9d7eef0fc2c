"""Pictures of workbook 04: the puzzle, the state machine, the live figure and the card."""

from functools import lru_cache

import numpy as np
from matplotlib.patches import FancyArrowPatch

from helpers import course
from helpers.control.mode_switch import ModeSelector
from helpers.teaching.kept import with_own
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import FAINT, GHOST, INK, PALETTE, new_figure, sketch_axes, still, style

PREDICTED = {"all": 12, "nine": 9, "half": 6, "one": 1}  # roots still found at twice the dealer's threshold
ORANGE, PLUM = PALETTE["semi_active"], PALETTE["mode_switching"]
DEALER = (40, 0.4, 0)  # threshold, hold time, hysteresis
WINDOW, HIGHEST = 6.0, 120.0  # s and m/s2 shown
THRESHOLDS = np.array([10, 20, 30, 40, 50, 60, 70, 80, 90, 110], dtype=float)


def _peaks(one, start, seconds, every=6):
    """Time and the largest size of the wheel's acceleration in each `every` logged points of a window."""
    first = int(np.searchsorted(one.time, start))
    count = min(round(seconds * one.rate), len(one.time) - first) // every
    size = np.abs(one.wheel_acceleration[first : first + count * every]).reshape(count, every).max(axis=1)
    return one.time[first : first + count * every : every], size


@style()
def puzzle_sketch(one, start=24.5, seconds=12.0):
    """What the sensor reads on a part of a ride, and where the roots really are."""
    figure, ax = new_figure((9, 3.0))
    there, (time, size) = one.score.bumps, _peaks(one, start, seconds, 8)
    ax.plot(time - start, size, color=INK, linewidth=0.9)
    ax.hlines(np.full(len(there), 100.0), there.start - start, there.stop - start, color=ORANGE, linewidth=7)
    ax.text(0.1, 100.0, "roots:", color=ORANGE, va="center")
    ax.hlines(40.0, 0.0, seconds, color=FAINT, linewidth=0.8)
    ax.set(xlim=(0.0, seconds), ylim=(0.0, 110.0), xlabel="time (s)", title="Which of these should open the valve?",
           ylabel="size of the wheel's\nacceleration (m/s²)", yticks=(0.0, 20.0, 40.0))  # fmt: skip
    alt = f"Wheel acceleration on {seconds:.0f} s of the climb, damper locked: low noise, and spikes at the roots that "
    return still(figure, alt + "bars mark, all well past a line at 40 m/s²; after two roots a second spike passes it.")


@style()
def machine_sketch():
    """The selector as a state machine, with either state of rest."""
    figure, axes = new_figure((5.2, 6.2), rows=2)  # one above the other: to be read on a phone too
    arrow = {"arrowstyle": "-|>", "mutation_scale": 14, "color": PLUM, "linewidth": 1.6}
    for ax, first, rest in zip(axes, ("firm", "open"), ("Normally closed", "Normally open"), strict=True):
        sketch_axes(ax, 6.4, 4.0)
        ax.set_title(f"{rest}: rests {first} (double ring)")
        for x, text in ((0.95, "firm"), (3.75, "open")):
            ax.plot(x, 2.0, "o", markersize=62, markerfacecolor="#f1e6ee", markeredgecolor=INK)
            if text == first:
                ax.plot(x, 2.0, "o", markersize=70, markerfacecolor="none", markeredgecolor=INK)
            ax.text(x, 2.0, text, ha="center", va="center", fontsize=12)
        back = "a hold time without a bump" if first == "firm" else "pedalled, and a hold\ntime without a bump"
        for start, end, bend, text, at in (
            ((1.45, 2.6), (3.25, 2.6), -0.35, "bump", (2.35, 3.3)),
            ((3.25, 1.4), (1.45, 1.4), -0.35, back, (2.35, 0.6)),
            ((4.3, 2.55), (4.3, 1.45), -1.1, "bump:\nthe clock\nstarts again", (5.55, 2.0)),
        ):
            ax.add_patch(FancyArrowPatch(start, end, connectionstyle=f"arc3,rad={bend}", **arrow))
            ax.text(*at, text, ha="center", va="center", color=PLUM, fontsize=9)
    alt = "Two state diagrams, firm and open: a bump leads to open, a bump while open restarts the clock, a hold time "
    return still(figure, alt + "without a bump leads back to firm; with normally open only while the rider pedals.")


def _ridden(vehicle, ground, threshold, hold, hysteresis):
    law = ModeSelector(threshold=float(threshold), hold=float(hold), hysteresis=min(float(hysteresis), threshold))
    return course.ride(vehicle, ground, law)


@lru_cache(64)
def _shown(*case):
    """What the figure keeps of a ride: some seconds of it, and its scores."""
    one = _ridden(*case)
    met, climbs = one.score, case[1].name == "climb"
    start = float(met.bumps.start[6 if climbs else len(met.bumps) // 3]) - 0.6
    time, size = _peaks(one, start, WINDOW)
    bars = np.stack([met.bumps.start, met.bumps.stop, np.full(len(met.bumps), np.nan)], axis=1).ravel() - start
    return {"time": time - start, "size": np.minimum(size, HIGHEST), "met": met,
            "bumps": (bars, np.where(np.isnan(bars), np.nan, 0.95 * HIGHEST)),
            "valve": 1.0 - np.interp(time, one.time, one.valve), "vibration": one.vibration}  # fmt: skip


def _scores(met):
    return 100.0 * np.mean(met.hit), 100.0 * met.lock_share, met.false_alarms


@lru_cache(64)
def _curves(vehicle, ground, *others):
    """Shares found and locked in %, false alarms, over THRESHOLDS: shape (3, n)."""
    return np.array([_scores(_ridden(vehicle, ground, each, *others).score) for each in THRESHOLDS]).T


def threshold_figure(prediction, machines, loop):
    """Live: the sensor's readings, the valve, scores over the threshold; the first machine on all stretches."""
    first, fleet = machines[0], with_own({vehicle.name: vehicle for vehicle in machines})
    stretches = {stretch.name: stretch for stretch in loop}
    places = {f"{name}, climb": (each, stretches["climb"]) for name, each in fleet.items()}
    places |= {f"{first.name}, {name}": (first, stretches[name]) for name in ("traverse", "descent")}
    known = {}

    def compute(place, threshold, hold, hysteresis, wait=True):
        case, others = places[place], (hold, hysteresis)
        if wait:
            known[place, others] = _curves(*case, *others)
        shown, usual = _shown(*case, threshold, *others), _shown(*case, *DEALER)
        return shown | {
            "level": threshold, "usual": (usual["time"], usual["valve"]), "here": _scores(shown["met"]),
            "curves": known.get((place, others)), "asked": (place, *others) == (f"{first.name}, climb", *DEALER[1:]),
        }  # fmt: skip

    def build(figure, result):
        (top, shares), (below, alarms) = figure.subplots(2, 2, width_ratios=(1.25, 1.0), height_ratios=(1.5, 1.0))
        top.set(xlim=(0.0, WINDOW), ylim=(0.0, HIGHEST), title="Six seconds of the ride (bars: bumps that are there)")
        top.set_ylabel("size of the wheel's\nacceleration (m/s²)")
        below.set(xlim=(0.0, WINDOW), ylim=(-0.15, 1.15), xlabel="time (s)", title="The valve (grey: the dealer's)")
        below.set_yticks([0.0, 1.0], ["firm", "open"])
        shares.set(xlim=(0.0, 126.0), ylim=(-4.0, 106.0), ylabel="▲ found, ◆ locked (%)", title="Found and locked")
        alarms.set(xlim=(0.0, 126.0), ylim=(-4.0, 100.0), xlabel="threshold (m/s²)", title="■ False alarms")
        held = {"usual": below.plot(*result["usual"], **GHOST)[0]}
        held["size"] = top.plot(result["time"], result["size"], color=INK, linewidth=0.9)[0]
        held["bumps"] = top.plot(*result["bumps"], color=ORANGE, linewidth=7, solid_capstyle="butt")[0]
        held["level"] = top.plot([0.0, WINDOW], [0.0, 0.0], color=PLUM, linewidth=1.5)[0]
        held["valve"] = below.plot(result["time"], result["valve"], color=PLUM)[0]
        looks = ((shares, ORANGE, "^", (0, (7, 2))), (shares, PLUM, "D", "solid"), (alarms, INK, "s", (0, (2, 1.5))))
        for k, (ax, colour, marker, dash) in enumerate(looks):
            ax.plot(THRESHOLDS, result["curves"][k], **GHOST)
            held["curve", k] = ax.plot(THRESHOLDS, result["curves"][k], color=colour, linestyle=dash, marker=marker,
                                       markersize=3.5, linewidth=1.4)[0]  # fmt: skip
            held["here", k] = ax.plot(0.0, 0.0, marker, color=colour, markersize=10)[0]
        if prediction:
            held["predicted"] = shares.text(80.0, 100.0 * PREDICTED[prediction] / 12.0, "× predicted", va="center")
        draw(held, result)
        return held

    def draw(held, result):
        held["usual"].set_data(*result["usual"])
        held["size"].set_data(result["time"], result["size"])
        held["bumps"].set_data(*result["bumps"])
        held["level"].set_ydata([result["level"]] * 2)
        held["valve"].set_data(result["time"], result["valve"])
        for k in range(3):
            held["curve", k].set_alpha(0.25 if result["curves"] is None else 1.0)  # the old one stays till then
            if result["curves"] is not None:
                held["curve", k].set_ydata(result["curves"][k])
            held["here", k].set_data([result["level"]], [result["here"][k]])
        if prediction:
            held["predicted"].set_visible(result["asked"])

    def read_out(result):
        met = result["met"]
        return [("bumps found", f"{met.hits} of {len(met.hit)}"), ("false alarms", f"{met.false_alarms}"),
                ("time locked (%)", f"{100.0 * met.lock_share:.0f}"),
                ("vibration (m/s²)", f"{result['vibration']:.2f}")]  # fmt: skip

    def describe(values, result):
        met = result["met"]
        case = f"{values['threshold']} m/s², hold time {values['hold']:g} s, hysteresis {values['hysteresis']} m/s²"
        return (f"{values['place'].capitalize()}, {case}: it finds {met.hits} of {len(met.hit)} bumps, {met.carried} "
                f"of them because it was open already. Openings in {met.duration:.0f} s: {met.openings}, of these "
                f"at no bump {met.false_alarms}. Locked {100.0 * met.lock_share:.0f} % of the time.")  # fmt: skip

    return LiveFigure(
        name="threshold and hold time",
        sliders=[
            Options("place", "ride", [(place, place) for place in places], f"{first.name}, climb"),
            Slider("threshold", "threshold", 5, 120, 1, 40, "m/s²"),
            Slider("hold", "hold time", 0.05, 2.0, 0.05, 0.4, "s"),
            Slider("hysteresis", "hysteresis", 0, 30, 5, 0, "m/s²"),
        ],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe,
        preview=lambda **values: compute(**values, wait=False), size=(9, 3.8),
    )  # fmt: skip


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = "Roots found and time locked over the threshold: the trail bike's climb under the dealer's hold time."
CARD_ALT = "Over the threshold roots found stay complete for long, then fall to none; time locked rises throughout."


@style()
def card_figure():
    """The page in one picture: what a threshold buys and what it costs."""
    (figure, ax), (found, locked, _) = new_figure((7, 3.2)), _curves(course.bike, course.fell_loop().climb, *DEALER[1:])
    ax.plot(THRESHOLDS, found, color=ORANGE, linestyle=(0, (7, 2)), marker="^")
    ax.plot(THRESHOLDS, locked, color=PLUM, marker="D")
    ax.text(77.0, 40.0, "roots found", color=ORANGE)
    ax.text(22.0, 45.0, "time locked", color=PLUM)
    ax.set(xlim=(0.0, 115.0), ylim=(-3.0, 106.0), xlabel="threshold (m/s²)", ylabel="share (%)",
           title="Raise the threshold: more lock, then suddenly no roots")  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
