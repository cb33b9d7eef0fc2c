"""Pictures of workbook 10: one event as a logger sees it, the live measurement of a response time, and the card."""

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from matplotlib.patches import Rectangle

from helpers.simulation.response_times import CANNOT, interval, response_times
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import GHOST, INK, PALETTE, label_line, new_figure, still, style

YARD = Path(__file__).resolve().parents[1] / "data" / "yard-log.csv.gz"
BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
PREDICTED = {"a": 10.0, "b": 5.0, "c": 1.2, "d": 0.05}  # ms, half an interval that each option says of 100 Hz
THRESHOLD, LOCKED, CHANGE = 40.0, 12e5, 10e5  # m/s2, Pa, Pa
BINS = np.arange(-1.5, 31.0, 1.0)  # ms


@style()
def event_sketch(log, at, claim):
    """One event: samples of wheel acceleration and pressure, the two first crossings, and what a seller claims, ms.

    at: where in the log, s.
    """
    figure, axes = new_figure((9, 3.6), rows=2, sharex=True)
    part = log.between(at - 0.02, at + 0.04)
    size = np.abs(part.wheel_acceleration)
    share = (LOCKED - part.pressure) / CHANGE
    felt = int(np.argmax(size > THRESHOLD))
    answered = felt + int(np.argmax(share[felt:] > 0.632))
    time = 1e3 * (part.time - part.time[felt])
    for ax, values, level, name in ((axes[0], size, THRESHOLD, "wheel acceleration\n(m/s², size)"),
                                    (axes[1], 100.0 * share, 63.2, "pressure, share\nof its change (%)")):  # fmt: skip
        ax.plot(time, values, color=BLUE, linewidth=0.6, marker=".", markersize=7)
        ax.axhline(level, color=INK, linewidth=1.0)
        ax.set_ylabel(name)
    for ax, k, values in ((axes[0], felt, size), (axes[1], answered, 100.0 * share)):
        ax.plot(time[k], values[k], "o", mfc="none", markersize=12, color=ORANGE)
    axes[1].axvspan(0.0, claim, color="#dddddd")
    axes[1].text(claim + 0.4, 8.0, f"claimed: {claim:g} ms", fontsize=9)
    axes[1].set_xlabel("time since the first reading above 40 m/s² (ms)")
    axes[0].set_title(f"One event: the first samples beyond the two levels lie {time[answered]:.0f} ms apart")
    told = "Samples of one event. The wheel's acceleration passes 40 m/s² and the pressure has 63 % of its change "
    return still(figure, f"{told}{time[answered]:.0f} ms later, as read; claimed are {claim:g} ms.")


# --- the live figure --------------------------------------------------------------------------------------------


@lru_cache(64)
def _times(tape, rate, cutoff):
    """The log and its times; cutoff 0 is no filter."""
    log = tape.log(float(rate), seed=3, filters=(None, cutoff or None))
    return log, response_times(log)


def measure_figure(tapes, truth, claim, prediction=""):
    """Live: forty differences of first crossings, their mean with its interval, and the verdict on a claim.

    tapes: recordings by name, the first is shown; truth: of the time to 63 %, ms; claim: ms.
    """

    def compute(tape, rate, events, cutoff):
        log, times = _times(tapes[tape], rate, cutoff)
        found = times.differences[: int(events), 1]
        times = replace(times, to_63=interval(found, log.period))
        verdict = times.judge(1e-3 * claim)
        return {"counts": np.histogram(np.clip(1e3 * found, -1.4, 30.4), BINS)[0] / max(len(found), 1), "times": times,
                "verdict": CANNOT if verdict.startswith(CANNOT) else verdict, "why": verdict,
                "found": 1e3 * found}  # fmt: skip

    def build(figure, result):
        ax = figure.subplots()
        ax.set(xlim=(-1.5, 30.5), ylim=(0.0, 1.0), xlabel="difference of first crossings, event until 63 % (ms)",
               ylabel="share of the events",
               title="Where the differences fall, and how well their mean is known")  # fmt: skip
        ax.axvline(truth, color=INK, linewidth=1.2)
        ax.text(truth + 0.2, 0.95, "truth", fontsize=9)
        ax.axvline(claim + 1.0, color=PLUM, linestyle=(0, (4, 2)), linewidth=1.2)
        ax.text(claim + 0.8, 0.88, f"claim, {claim:g} ms,\nand 1 ms more", ha="right", fontsize=9, color=PLUM)
        ax.stairs(result["counts"], BINS, **GHOST)
        held = {"bars": ax.plot(*_outline(result["counts"]), color=BLUE)[0]}
        held["band"] = ax.add_patch(Rectangle((0.0, 0.0), 1.0, 1.0, facecolor=ORANGE, alpha=0.25, edgecolor=ORANGE))
        held["mean"] = ax.axvline(0.0, color=ORANGE)
        held["text"] = ax.text(29.7, 0.6, "", ha="right", color=ORANGE)
        if prediction:
            half = PREDICTED[prediction]
            for end in (truth - half, truth + half):
                ax.axvline(end, color=PLUM, linestyle=(0, (1, 1.5)), linewidth=1.5)
            ax.text(29.7, 0.75, f"dotted: predicted for 100 Hz, ± {half:g} ms", ha="right", color=PLUM, fontsize=9)
        draw(held, result)
        return held

    def draw(held, result):
        found = result["times"].to_63
        mean, half = 1e3 * found.value, min(1e3 * found.half, 50.0)
        held["bars"].set_data(*_outline(result["counts"]))
        held["band"].set_x(mean - half)
        held["band"].set_width(2.0 * half)
        held["mean"].set_xdata([mean, mean])
        held["text"].set_text(f"mean {found}: {result['verdict']}")

    def read_out(result):
        found = result["times"].to_63
        return [("time to 63 % (ms)", f"{1e3 * found.value:.2f} ± {1e3 * found.half:.2f}"),
                ("median (ms)", f"{np.median(result['found']):.1f}"),
                (f"claim of {claim:g} ms", result["verdict"])]  # fmt: skip

    def describe(values, result):
        found = result["times"].to_63
        off = 1e3 * found.value - truth
        cutoff = f"a filter of {values['cutoff']} Hz on the pressure alone" if values["cutoff"] else "no filter"
        why = result["why"].removeprefix(CANNOT).lstrip(": ") or "it is"
        told = (
            f"{CANNOT}: {why}" if result["verdict"] == CANNOT else f"The claim of {claim:g} ms is {result['verdict']}."
        )
        return (f"{values['tape'].capitalize()}, {values['rate']} Hz, {found.count} events, {cutoff}: the mean is "
                f"{1e3 * found.value:.2f} ± {1e3 * found.half:.2f} ms, {abs(off):.2f} ms "
                f"{'above' if off > 0 else 'below'} the truth; the median is {np.median(result['found']):.1f} ms. "
                f"{told}")  # fmt: skip

    names = list(tapes)
    return LiveFigure(
        name="measurement of a response time",
        sliders=[
            Options("tape", "machine", [(name, name) for name in names], names[0]),
            Options("rate", "logger", [(f"{r} Hz", r) for r in (50, 100, 200, 500, 1000)], 500),
            Slider("events", "events", 20, 40, 5, 40, ""),
            Options("cutoff", "filter on the pressure", [("none", 0), *((f"{c} Hz", c) for c in (200, 100, 50))], 0),
        ],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.6),
    )  # fmt: skip


def _outline(counts):
    """A histogram's outline as one line."""
    return np.repeat(BINS, 2), np.r_[0.0, np.repeat(counts, 2), 0.0]


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = "Half the 95 % interval of a mean of differences, over the number of events, for an 8.4 ms response."
CARD_ALT = (
    "Falling lines on logarithmic axes: half the interval over the number of events for loggers of 100, 200, 500 and "
    "1000 Hz. Two events at 100 Hz leave 15 ms of doubt, forty about 1 ms, forty at 500 Hz a quarter of that."
)


@style()
def card_figure():
    """The page in one picture: doubt over events, by rate."""
    figure, ax = new_figure((7, 3.4))
    events = np.geomspace(2.0, 400.0, 60)
    for rate, place, above in ((100, 30.0, True), (200, 5.0, False), (500, 30.0, True), (1000, 5.0, False)):
        period, true, own = 1e3 / rate, 8.375, 0.39  # ms; own: the chain's wait and jitter
        rest = true % period
        spread = np.sqrt(rest * (period - rest) + own**2)
        half = np.maximum(2.0 * spread / np.sqrt(events), 3.0 * period / events)
        (line,) = ax.plot(events, half, color=BLUE)
        label_line(ax, line, f"{rate} Hz", x=place, above=above)
    ax.axhline(1.0, color=INK, linewidth=1.0)
    ax.text(390.0, 1.05, "1 ms", ha="right", fontsize=9)
    ax.set(xscale="log", yscale="log", xlim=(2.0, 400.0), ylim=(0.02, 20.0), xlabel="events",
           ylabel="half interval (ms)", title="Many events do what one reading cannot")  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
