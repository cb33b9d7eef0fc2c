"""Figures of workbook 08: time over pressure, fronts of time and settings, the live figure, the card."""

import math
from functools import lru_cache

import numpy as np
from matplotlib.patheffects import withStroke

from helpers.models.geared_motor import geared
from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.orifice import BAR
from helpers.models.valve import BALANCED, PILOT, PILOTED, POPPET
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import FAINT, GHOST, INK, PALETTE, new_figure, still, style
from scenes import w08_numbers as numbers
from scenes.w08_numbers import BENCH, BLOW_OFF, COIL, HARD, MOTOR, POWER, STRIDE, VALVES
from scenes.w08_sketches import piston_figure, valve_sketch
from scenes.w08_tables import (  # the page asks this module for its tables too
    cold_table,
    field_table,
    force_steps,
    force_table,
    help_table,
    jump,
    keeping_table,
    least_power_table,
    mass_table,
    motor_table,
    oil_table,
    parameter_table,
    parts_table,
    passed,
    piston_table,
    power_table,
    pressure_table,
    price_table,
    release,
    step_table,
    time_table,
)

__all__ = [
    "BALANCED", "COIL", "MOTOR", "PILOT", "PILOTED", "POPPET", "card", "cold_table", "field_table", "force_steps",
    "force_table", "fronts_figure", "help_table", "jump", "keeping_table", "least_power_table", "mass_table",
    "motor_table", "numbers", "oil_table", "parameter_table", "parts_table", "passed", "piston_figure", "piston_table",
    "power_table", "pressure_table", "price_table", "release", "step_table", "time_figure", "time_table",
    "valve_figure", "valve_sketch",
]  # fmt: skip

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
LOOKS = {  # colour, dash and marker of each valve on the whole page
    "poppet": (INK, "solid", "s"), "balanced spool": (BLUE, (0, (6, 2)), "^"),
    "piloted valve": (PLUM, (0, (2, 1.2)), "D"),
}  # fmt: skip
PREDICTED = {"a": math.inf, "b": 100.0, "c": 23.0, "d": 12.0}  # ms
HALO = [withStroke(linewidth=2.5, foreground="white")]


# --- time over pressure, fronts -----------------------------------------------------------------------------------

LATE = 25_000.0  # ms, the right end of all axes of time and settings
GRID = (3.5, 4.0, 5.0, 7.0, 10.0, 14.0, 20.0, 28.0, 37.0, 50.0, 70.0, 100.0, 120.0)  # bar


@style()
def time_figure():
    """Opening time of the three valves over pressure, the same coil and 10 W."""
    figure, ax = new_figure((8, 3.6))
    told = []
    for name, (colour, dash, _) in LOOKS.items():
        at = np.array(GRID)
        time = np.array([1e3 * numbers.coil_move(name, float(bar)).time for bar in at])
        good = np.isfinite(time)
        ax.plot(at[good], time[good], color=colour, linestyle=dash)
        some = [f"{time[GRID.index(bar)]:.1f} at {bar:g} bar" for bar in (BENCH, 10.0, HARD)]
        told.append(f"{name} {', '.join(some)}".replace("inf at", "never at"))
    ax.text(10.4, 51.0, "poppet: never above 10.9 bar", color=INK, va="center")
    ax.text(60.0, 24.5, "balanced spool", color=BLUE, ha="right")
    ax.text(22.0, 7.0, "piloted valve", color=PLUM)
    for bar, name in ((BENCH, "bench"), (BLOW_OFF, "locked, gives way"), (HARD, "hard hit")):
        ax.axvline(bar, color=FAINT, linewidth=0.8, linestyle=(0, (1, 2)))
        ax.text(bar * 0.985, 0.8, name, color=FAINT, ha="right", fontsize=9)
    ax.set(xscale="log", xlim=(3.0, 125.0), ylim=(0.0, 60.0), xlabel="pressure (bar)", ylabel="time to open fully (ms)",
           title="Same coil, 10 W: the piloted valve is quickest under load")  # fmt: skip
    ax.set_xticks([3, 5, 10, 20, 37, 100], ["3", "5", "10", "20", "37", "100"])
    ax.minorticks_off()
    return still(figure, f"Time to open fully in ms over pressure, coil at 10 W: {'; '.join(told)}.")


def _front(ax, name, bar, power, **look):
    found = numbers.motor_front(name, bar, power)
    return ax.plot(1e3 * found.time, found.settings, **({"marker": "o", "markersize": 2.5} | look))[0]


def _front_axes(ax, title):
    ax.set(xscale="log", yscale="log", xlim=(2.0, LATE), ylim=(1.5, 350.0), xlabel="time to open (ms)", title=title)
    ax.set_xticks([3, 10, 30, 100, 300, 1000, 10000], ["3", "10", "30", "100", "300", "1000", "10000"])
    ax.set_yticks([2, 5, 10, 20, 50, 100, 200], ["2", "5", "10", "20", "50", "100", "200"])
    ax.minorticks_off()


@style()
def fronts_figure():
    """Fronts of the motor at 37 bar: the balanced spool at four powers, and three valves at 10 W."""
    figure, (left, right) = new_figure((9, 3.7), columns=2)
    _front_axes(left, "More power: sooner (balanced spool)")
    _front_axes(right, "10 W: balancing and piloting move it")
    left.set_ylabel("settings")
    told = []
    for power, dash in ((0.5, (0, (1, 1.2))), (2.0, (0, (2, 1.2))), (10.0, (0, (6, 2))), (50.0, "solid")):
        line = _front(left, "balanced spool", BLOW_OFF, power, color=BLUE, linestyle=dash)
        told.append(f"{power:g} W {line.get_xdata()[0]:.0f} ms")
        left.text(line.get_xdata()[0], line.get_ydata()[0] / 1.25, f"{power:g} W", color=BLUE, ha="center", va="top")
    for name, (colour, dash, _) in LOOKS.items():
        line = _front(right, name, BLOW_OFF, POWER, color=colour, linestyle=dash)
        told.append(f"{name} {line.get_xdata()[0]:.0f} ms")
        beside = name == "balanced spool"
        right.text(line.get_xdata()[0] * (1.25 if beside else 1.0), line.get_ydata()[0] / (1.0 if beside else 1.25),
                   name.replace("valve", "valve,\nfollowing"), color=colour, ha="left" if beside else "center",
                   va="center" if beside else "top")  # fmt: skip
    alt = f"Settings over time of a geared motor at 37 bar. Shortest times: balanced spool {', '.join(told[:4])}; "
    return still(figure, alt + f"at 10 W {', '.join(told[4:])}. Up to 201 settings for a longer time.")


# --- the live figure ------------------------------------------------------------------------------------------------

LIFT = np.linspace(0.0, 1.0, 41)  # share of the stroke
FEW = np.geomspace(1.0, 1000.0, 31)  # gear ratios
TOP = 1000.0  # N


@lru_cache(512)
def _motor(bar, power, celsius):
    """(times in ms, settings) of each valve's front, gear by gear, without what is both slower and coarser."""
    out = {}
    liquid = DAMPER_OIL.at(ZERO_CELSIUS + celsius)
    for name, valve in STRIDE.items():
        moves = [motor.move(valve, bar * BAR, power, liquid) for motor in geared(MOTOR, FEW)]
        points = sorted((1e3 * m.time, m.settings) for m in moves if m.time < math.inf)
        best = [p for k, p in enumerate(points) if all(p[1] > q[1] for q in points[:k])]
        out[name] = tuple(np.array(best).T) if best else (np.array([]), np.array([]))
    return out


def _quick(bar, power, mass, celsius):
    """All but the coil's times."""
    opened = {name: (VALVES[name] if name != "piloted valve" else PILOT) for name in VALVES}
    return {
        "force": {name: valve.forces(LIFT * valve.stroke, bar * BAR).to_open for name, valve in opened.items()},
        "pull": {valve: numbers.pull(power, LIFT * valve.stroke, valve.stroke) for valve in (POPPET, PILOT)},
        "inertia": {valve: numbers.inertia(mass * (valve.mass + COIL.mass), valve.stroke, numbers.QUICKLY)
                    for valve in (POPPET, PILOT)},
        "motor": _motor(float(bar), power, float(celsius)), "coil": None, "power": power, "bar": bar,
    }  # fmt: skip


def _compute(bar, power, mass, celsius):
    coil = {name: 1e3 * numbers.coil_move(name, float(bar), power, mass, float(celsius)).time for name in VALVES}
    return _quick(bar, power, mass, celsius) | {"coil": coil}


def valve_figure(prediction=""):
    """Live: force to open over lift against the coil's pull; settings over time of coil and motor, for three valves."""

    def build(figure, result):
        left, right = figure.subplots(1, 2, width_ratios=(1.0, 1.15))
        left.set(yscale="log", xlim=(0.0, 100.0), ylim=(0.05, TOP), xlabel="lift (% of the stroke)", ylabel="force (N)",
                 title="To open: force against the coil's pull")  # fmt: skip
        left.set_yticks([0.1, 1, 10, 100, 1000], ["0.1", "1", "10", "100", "1000"])
        left.minorticks_off()
        _front_axes(right, "Fast and coarse, or slow and fine")
        right.set_ylabel("settings")
        held = {"dots": {}, "fronts": {}, "forces": {}, "names": {}}
        for force in result["force"].values():
            left.plot(100.0 * LIFT, force, **GHOST)
        for time, settings in result["motor"].values():
            right.plot(time, settings, **GHOST)
        for name, (colour, dash, marker) in LOOKS.items():
            held["forces"][name] = left.plot(LIFT, LIFT, color=colour, linestyle=dash)[0]
            held["names"][name] = left.text(60.0, 1.0, _word(name), color=colour, fontsize=9, va="center", ha="center",
                                            path_effects=HALO)  # fmt: skip
            held["fronts"][name] = right.plot([], [], color=colour, linestyle=dash, marker="o", markersize=2.5)[0]
            look = {"marker": marker, "linestyle": "none", "markersize": 12 if name == "poppet" else 7}
            if result["coil"] and math.isfinite(result["coil"][name]):
                right.plot([result["coil"][name]], [2.0], **look, color=GHOST["color"], markerfacecolor="none")
            face = {"markerfacecolor": "none"} if name == "poppet" else {}
            held["dots"][name] = right.plot([], [], **look, color=colour, **face)[0]
        for what, colour, width in (("pull", ORANGE, 2.2), ("inertia", FAINT, 1.0)):
            for valve, dash in ((POPPET, "solid"), (PILOT, (0, (1, 1.5)))):
                line = left.plot([0.0, 100.0], [1.0, 1.0], color=colour, linewidth=width, linestyle=dash)[0]
                name = left.text(0.0, 1.0, "", color=colour, fontsize=9, va="center", path_effects=HALO)
                held[what, valve] = line, name
        key = "coil: square poppet,\ntriangle spool, diamond piloted"
        for settings, text in ((3.2, key), (280.0, "motor, all gears")):
            right.text(0.96 * LATE, settings, text, color=FAINT, fontsize=9, ha="right", va="center", path_effects=HALO)
        if prediction:
            _predicted(right, PREDICTED[prediction])
        draw(held, result)
        return held

    def draw(held, result):
        for name, force in result["force"].items():
            held["forces"][name].set_data(100.0 * LIFT, force)
            held["fronts"][name].set_data(*result["motor"][name])
            if result["coil"]:
                time = result["coil"][name]
                held["dots"][name].set_data(*(([time], [2.0]) if math.isfinite(time) else ([], [])))
        _apart(held["names"], {name: float(force[24]) for name, force in result["force"].items()})
        pulls, masses = result["pull"], result["inertia"]
        for valve in (POPPET, PILOT):
            held["pull", valve][0].set_data(100.0 * LIFT, pulls[valve])
            held["inertia", valve][0].set_ydata([masses[valve]] * 2)
        end = float(pulls[POPPET][-1])
        below = any(0.9 < float(force[-1]) / end < 1.8 for force in result["force"].values())
        _name(held["pull", POPPET][1], 98.0, end * (0.7 if below else 1.35), f"coil, {result['power']:g} W", "right")
        start, full = float(pulls[PILOT][0]), float(pulls[PILOT][-1])
        near = any(1.0 < float(force[4]) / start < 1.8 for force in result["force"].values())
        _name(held["pull", PILOT][1], 2.0, start * (1.7 if start < full else 0.72 if near else 1.35), "on the pilot",
              "left")  # fmt: skip
        pilot = float(result["force"]["piloted valve"][-1])
        lift = 1.45 if pilot < masses[POPPET] else 0.68
        _name(held["inertia", POPPET][1], 99.0, masses[POPPET] * lift, "to speed the mass up", "right")
        _name(held["inertia", PILOT][1], 99.0, masses[PILOT] * 1.45, "the same, pilot", "right")

    def read_out(result):
        starts = [f"{force[0]:.3g}" for force in result["force"].values()]
        coil = ["…"] * 3 if result["coil"] is None else [_late(time) for time in result["coil"].values()]
        fine = [_late(min((t for t, n in zip(*result["motor"][name], strict=True) if n >= 100), default=math.inf), 0)
                for name in STRIDE]  # fmt: skip
        return [
            ("poppet, spool, pilot: force to start (N)", ", ".join(starts)),
            ("coil opens the valve after (ms)", ", ".join(coil)),
            ("motor, 100 settings (ms)", ", ".join(fine)),
        ]

    def describe(values, result):
        force, reach = result["force"], [float(pull[0]) for pull in result["pull"].values()]
        ratio = float(force["poppet"][0]) / result["inertia"][POPPET]
        told = [name for name in VALVES if result["coil"] and math.isfinite(result["coil"][name])]
        opens = ", ".join(f"the {name} within {_late(result['coil'][name])} ms" for name in told)
        opens = f"opens {opens or 'none of the three'}" if result["coil"] else "is being worked out"
        return (
            f"At {values['bar']} bar the poppet takes {force['poppet'][0]:.3g} N to start, {ratio:.0f} times what "
            f"speeds its mass up; the balanced spool {force['balanced spool'][0]:.3g} N, the pilot "
            f"{force['piloted valve'][0]:.3g} N. A coil at {values['power']:g} W, pulling {reach[0]:.0f} N over 1 "
            f"mm and {reach[1]:.0f} over the pilot's 0.2 mm, {opens}."
        )

    return LiveFigure(
        name="a valve under pressure",
        sliders=[
            Slider("bar", "pressure", 1, 120, 1, int(BENCH), "bar"),
            Options("power", "power", [(f"{p:g} W", p) for p in (0.5, 2.0, 10.0, 50.0)], POWER),
            Options("mass", "moving mass", [("a quarter", 0.25), ("half", 0.5), ("as it is", 1.0), ("four times", 4.0)],
                    1.0),
            Slider("celsius", "oil", -20, 70, 10, 40, "°C"),
        ],
        compute=_compute, preview=_quick, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.5),
    )  # fmt: skip


def _word(name):
    return name.replace("piloted valve", "pilot").replace("balanced ", "")


def _name(label, x, y, text, side):
    label.set(position=(x, y), text=text, ha=side)


def _late(milliseconds, digits=1):
    return "never" if math.isinf(milliseconds) else f"{milliseconds:.{digits}f}"


def _apart(labels, heights):
    """Names just above their curves; where the next curve is close above, below."""
    order = sorted(heights, key=heights.get)
    for name, above in zip(order, [*order[1:], None], strict=True):
        crowded = above and heights[above] < 2.2 * heights[name] or heights[name] > 0.6 * TOP
        labels[name].set_position((60.0, heights[name] * (0.68 if crowded else 1.45)))


def _predicted(ax, milliseconds):
    """Where the learner expects the piloted valve at 100 bar."""
    if math.isinf(milliseconds):
        ax.text(0.99, 0.22, "predicted at 100 bar: piloted valve never", color=PLUM, fontsize=9, ha="right",
                transform=ax.transAxes, path_effects=HALO)  # fmt: skip
        return
    ax.axvline(milliseconds, color=PLUM, linestyle=(0, (1, 1.5)), linewidth=1.3)
    ax.text(milliseconds * 1.1, 3.2, "predicted\nat 100 bar", color=PLUM, fontsize=9, va="bottom", path_effects=HALO)


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = (
    "Force that starts each valve to open at 5, 37 and 100 bar. Poppet and spool have 8 mm and pass the same oil; the "
    "pilot has 1.5 mm and lets the oil move a poppet of 8 mm."
)
CARD_ALT = (
    "Bars of the force to start at 5, 37 and 100 bar. Poppet: 33, 194 and 511 N. Balanced spool: 10, 13 and 19 N. "
    "Pilot: 2, 7 and 18 N. Lines across poppet and spool: 63 N, the coil's pull over 1 mm with 10 W; 2.1 N, which "
    "speeds 13 g up. Across the pilot: 138 N, the coil's pull over 0.2 mm; 0.3 N, which speeds 8.3 g up."
)


@style()
def card_figure():
    """The page in one picture: pressure on an area sets the force."""
    figure, ax = new_figure((7, 3.4))
    valves = {"poppet": POPPET, "balanced spool": BALANCED, "pilot": PILOT}
    bars, places = (BENCH, BLOW_OFF, HARD), []
    for k, (name, valve) in zip((0.0, 1.0, 2.8), valves.items(), strict=True):
        colour = LOOKS["piloted valve" if name == "pilot" else name][0]
        for j, bar in enumerate(bars):
            force, x = float(valve.forces(0.0, bar * BAR).to_open), k + 0.28 * (j - 1)
            places.append(x)
            ax.bar(x, force - 0.1, 0.22, bottom=0.1, color=colour, alpha=0.85)
            ax.text(x, force * 1.08, f"{force:.0f}", ha="center", va="bottom", fontsize=9, path_effects=HALO)
        ax.text(k, 0.038, name, ha="center", va="top", color=colour)
    for valve, start, end in ((POPPET, -0.5, 1.48), (PILOT, 2.3, 3.28)):
        grams, millimetres = 1e3 * (valve.mass + COIL.mass), 1e3 * valve.stroke
        speeding = numbers.inertia(valve.mass + COIL.mass, valve.stroke, numbers.QUICKLY)
        pull = float(numbers.pull(POWER, 0.0, valve.stroke))
        for level, text, colour in (
            (pull, f"coil: {pull:.0f} N\nover {millimetres:g} mm", ORANGE),
            (speeding, f"mass: {speeding:.1f} N\nfor {grams:.3g} g", FAINT),
        ):
            ax.plot([start, end], [level, level], color=colour, linewidth=1.3)
            ax.text(end + 0.04, level, text, color=colour, va="center", fontsize=9, path_effects=HALO)  # fmt: skip
    ax.set(yscale="log", xlim=(-0.5, 4.0), ylim=(0.1, 1500.0), ylabel="force to start (N)",
           title="Pressure on an unbalanced area, not mass, sets the force")  # fmt: skip
    ax.set_xlabel("bar", loc="right", labelpad=-12)
    ax.set_xticks(places, [f"{bar:g}" for bar in bars] * 3)
    ax.set_yticks([0.1, 1, 10, 100, 1000], ["0.1", "1", "10", "100", "1000"])
    ax.minorticks_off()
    ax.grid(visible=False, axis="x")
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
