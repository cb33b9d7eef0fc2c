"""Pictures of workbook 08: three valves in section, the live figure, and the card."""

import math
from functools import lru_cache

import numpy as np
from matplotlib.patches import Polygon, Rectangle

from helpers import valves
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import GHOST, INK, PALETTE, arrow, new_figure, sketch_axes, still, style

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
OIL, METAL, MOVING = "#f7e7d3", "#d5d9dc", "#a9c4d6"
LOOKS = {  # colour, dash and marker of each valve on the whole page
    "poppet": (INK, "solid", "s"), "balanced spool": (BLUE, (0, (6, 2)), "^"),
    "piloted valve": (PLUM, (0, (2, 1.2)), "D"),
}  # fmt: skip
PREDICTED = {"never": 43.5, "longer": 41.0, "same": 19.0, "third": 6.0}  # ms at 40 bar; the first two: at the top
LIFT = np.linspace(0.0, 1.0, 41)  # share of the stroke
PRESSURES = (3.0, 3.6, 5.0, 7.0, 10.0, 15.0, 20.0, 28.0, 40.0, 60.0, 80.0, 100.0, 120.0)  # bar
LONGEST, MOST = 45.0, 1000.0  # ms and N that the axes show


def _block(ax, x, y, width, height, colour=METAL, **look):
    ax.add_patch(Rectangle((x, y), width, height, **({"facecolor": colour, "edgecolor": INK, "linewidth": 1.0} | look)))


def _push(ax, *ways):
    for start, end in ways:
        ax.annotate("", end, start, arrowprops={"arrowstyle": "-|>", "color": ORANGE, "linewidth": 1.4})


def _cone(ax, *points):
    ax.add_patch(Polygon(points, facecolor=MOVING, edgecolor=INK))


def _words(ax, *told):
    for x, y, text in told:
        ax.text(x, y, text, fontsize=9, ha="center", va="center")


def _seat(ax):
    """Housing with a round seat and a cone on it."""
    _block(ax, 0.1, 0.2, 2.8, 2.2, OIL, linewidth=0.0)
    for x in (0.1, 1.9):
        _block(ax, x, 0.7, 1.0, 0.35)
    _cone(ax, (0.9, 1.32), (2.1, 1.32), (1.62, 0.86), (1.38, 0.86))


@style()
def valve_sketch():
    """Three valves in section: what pressure pushes on, and what the coil moves."""
    figure, (poppet, spool, piloted) = new_figure((9, 3.5), columns=3)
    for ax, name in zip((poppet, spool, piloted), LOOKS, strict=True):
        sketch_axes(ax, 3.0, 3.25)
        ax.set_title(name, loc="center")
    _seat(poppet)
    _block(poppet, 1.4, 1.32, 0.2, 1.08, MOVING)
    _push(poppet, *(((x, 2.05), (x, 1.4)) for x in (1.0, 1.2, 1.8, 2.0)))
    arrow(poppet, (1.5, 2.42), (1.5, 2.95), "coil lifts", INK)
    _words(poppet, (0.5, 1.75, "high\npressure"), (1.5, 0.42, "low pressure"))
    for *place, colour in ((0.1, 0.5, 2.8, 1.7, METAL), (0.3, 1.0, 2.4, 0.7, OIL), (0.75, 1.0, 0.55, 0.7, MOVING),
                           (1.7, 1.0, 0.55, 0.7, MOVING), (1.3, 1.25, 0.4, 0.2, MOVING), (1.85, 0.5, 0.25, 0.5, OIL),
                           (1.35, 1.7, 0.3, 0.5, OIL)):  # fmt: skip
        _block(spool, *place, colour)
    _push(spool, *(((1.5, 1.58), (end, 1.58)) for end in (1.29, 1.71)))
    arrow(spool, (0.25, 2.5), (0.72, 2.5), "", INK)
    _words(spool, (1.2, 2.5, "coil slides"), (1.5, 2.34, "high"), (1.97, 0.3, "low"))
    _seat(piloted)
    _block(piloted, 0.75, 1.32, 1.5, 0.28, MOVING)
    for place in ((0.55, 1.2, 0.2, 1.2), (2.25, 1.2, 0.2, 1.2), (0.55, 2.2, 0.8, 0.2), (1.65, 2.2, 0.8, 0.2)):
        _block(piloted, *place)
    _push(piloted, *(((x, 2.1), (x, 1.66)) for x in (0.9, 1.15, 1.85, 2.1)))
    _block(piloted, 1.47, 0.86, 0.06, 0.74, OIL, linewidth=0.6)
    _push(piloted, *(((x, 0.5), (x, 0.92)) for x in (1.3, 1.7)))
    _cone(piloted, (1.25, 2.0), (1.75, 2.0), (1.55, 2.32), (1.45, 2.32))
    _block(piloted, 1.46, 2.32, 0.08, 0.35, MOVING)
    arrow(piloted, (1.5, 3.1), (1.5, 2.7), "coil pushes", INK)
    _words(piloted, (1.5, 0.34, "high pressure"), (0.32, 1.75, "low"), (2.68, 1.75, "low"), (1.0, 2.62, "low"),
           (2.0, 2.55, "pilot"), (1.5, 1.83, "chamber"))  # fmt: skip
    piloted.annotate("feed hole", (1.47, 1.0), (0.14, 0.84), fontsize=9, arrowprops={"arrowstyle": "-", "color": INK})
    alt = "Three valves in section. Poppet: pressure holds a cone on its seat. Balanced spool: it pushes both ways. "
    return still(figure, alt + "Piloted: it is below the main cone and, by a feed hole, behind it, where the pilot is.")


def _heavier(part, times):
    if hasattr(part, "pilot"):
        return valves.replace(part, pilot=_heavier(part.pilot, times))
    return valves.replace(part, mass=times * part.mass)


def _told(milliseconds):
    return f"{milliseconds:.1f}" if math.isfinite(milliseconds) else "never"


@lru_cache(2000)
def _time(drive, valve, bar, power, mass, celsius):
    """ms until fully open against a pressure that stands."""
    return 1e3 * _heavier(drive, mass).move(_heavier(valve, mass), bar * valves.bar, power, valves.oil(celsius)).time


def valve_figure(prediction, drives):
    """Live: force to open over lift against the coil's pull, time over pressure; a coil and a valve by LOOKS' names."""

    def compute(bar, power, mass, celsius, wait=True):
        found = {"bar": bar, "force": {}, "pull": {}, "time": {}, "curve": {} if wait else None}
        settings = power, mass, celsius
        for name, (drive, valve) in drives.items():
            part, turns = getattr(valve, "pilot", valve), drive.coil * math.sqrt(power)
            found["force"][name] = part.forces(LIFT * part.stroke, bar * valves.bar).to_open
            found["pull"][name] = drive.force(turns, drive.rest_gap + part.stroke * (1.0 - LIFT))
            found["time"][name] = _time(drive, valve, float(bar), *settings)
            if wait:
                found["curve"][name] = [min(_time(drive, valve, at, *settings), 1e4) for at in PRESSURES]
        return found

    def build(figure, result):
        left, right = figure.subplots(1, 2)
        left.set(yscale="log", xlim=(0.0, 100.0), ylim=(0.8, MOST), xlabel="lift (% of its stroke)", ylabel="force (N)",
                 title="To open (thick) against the coil's pull (thin)")  # fmt: skip
        left.set_yticks([1, 10, 100, 1000], ["1", "10", "100", "1000"])
        right.set(xscale="log", xlim=(2.8, 125.0), ylim=(0.0, LONGEST), xlabel="pressure that stands (bar)",
                  title="Time to open fully (ms)")  # fmt: skip
        right.set_xticks([3, 5, 10, 20, 40, 100], ["3", "5", "10", "20", "40", "100"])
        for ax in (left, right):
            ax.minorticks_off()
        held, places = {}, {"poppet": (5.2, 40.0), "balanced spool": (26.0, 23.5), "piloted valve": (14.0, 3.0)}
        for name, (colour, dash, marker) in LOOKS.items():
            right.plot(PRESSURES, result["curve"][name], **GHOST)
            held[name] = (
                left.plot(100.0 * LIFT, LIFT, color=colour, linestyle=dash, linewidth=2.4)[0],
                left.plot(100.0 * LIFT, LIFT, color=colour, linewidth=1.0)[0],
                right.plot(PRESSURES, PRESSURES, color=colour, linestyle=dash)[0],
                right.plot([], [], marker, color=colour, markersize=9)[0],
                left.text(50.0, 1.0, name.removesuffix(" valve").removeprefix("balanced "), color=colour, va="bottom"),
            )
            right.text(*places[name], name, color=colour)
        if prediction:
            right.plot(40.0, PREDICTED[prediction], "x", color=PLUM, markersize=9)
            right.text(43.0, PREDICTED[prediction], "predicted", color=PLUM, va="center")
        draw(held, result)
        return held

    def draw(held, result):
        for name, (force, pull, curve, mark, label) in held.items():
            force.set_ydata(np.maximum(result["force"][name], 1e-3))
            pull.set_ydata(result["pull"][name])
            label.set_y(1.1 * max(float(result["force"][name][20]), 1.0))
            curve.set_alpha(0.25 if result["curve"] is None else 1.0)
            if result["curve"] is not None:
                curve.set_ydata(result["curve"][name])
            mark.set_data([result["bar"]], [result["time"][name]])  # never: above the picture

    def read_out(result):
        times = ", ".join(_told(time) for time in result["time"].values())
        return [("poppet, spool, piloted: fully open after (ms)", times)]

    def describe(values, result):
        told = "; ".join(f"{name} {result['force'][name][0]:.3g} N to start, its coil {result['pull'][name][0]:.3g} N, "
                         f"open after {_told(time)} ms" for name, time in result["time"].items())  # fmt: skip
        told = told.replace("open after never ms", "never opens fully")
        return f"At {values['bar']} bar, {values['power']:g} W: {told}."

    return LiveFigure(
        name="a valve under pressure",
        sliders=[
            Slider("bar", "pressure", 3, 120, 1, 5, "bar"),
            Options("power", "power", [(f"{p:g} W", p) for p in (2.0, 5.0, 10.0, 50.0)], 10.0),
            Options("mass", "moving mass", [("a quarter", 0.25), ("as it is", 1.0), ("four times", 4.0)], 1.0),
            Slider("celsius", "oil", -20, 70, 10, 40, "°C"),
        ],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe,
        preview=lambda **values: compute(**values, wait=False), size=(9, 3.6),
    )  # fmt: skip


CARD_CAPTION = "Force that starts each valve over the pressure it holds; thin, what its coil pulls there with 10 W."
CARD_ALT = "Force to start over pressure: the poppet's soon passes its coil's pull, the others' never do."


@style()
def card_figure():
    """The page in one picture: pressure on an unbalanced area sets the force."""
    (figure, ax), bars = new_figure((7, 3.2)), np.geomspace(3.0, 120.0, 30)
    parts = ((valves.coil, valves.poppet), (valves.coil, valves.spool), (valves.pilot_coil, valves.pilot))
    for (drive, valve), (name, (colour, dash, _)) in zip(parts, LOOKS.items(), strict=True):
        force = valve.forces(0.0, bars * valves.bar).to_open
        ax.plot(bars, force, color=colour, linestyle=dash, linewidth=2.4)
        ax.text(11.0, 1.15 * force[12], name.replace("piloted valve", "pilot"), color=colour, ha="right", va="bottom")
        ax.axhline(
            float(drive.force(drive.coil * math.sqrt(10.0), drive.rest_gap + valve.stroke)), color=colour, linewidth=0.8
        )
    ax.set(xscale="log", yscale="log", ylim=(1.0, MOST), xlabel="pressure (bar)", ylabel="force to start (N)",
           title="Pressure on an unbalanced area sets the force")  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
