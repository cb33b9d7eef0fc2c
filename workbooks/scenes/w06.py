"""Pictures of workbook 06: wheels at a step, the map of speed against response time, the card."""

from functools import lru_cache

import numpy as np
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.patches import Circle
from matplotlib.patheffects import withStroke

from helpers.course import Fixed, bike, budget, real_chain
from helpers.models.wheel_step import step
from helpers.simulation.bumps import felt
from helpers.simulation.deadline import AT_TOUCH, over_step, step_cost, step_deadline
from helpers.teaching.kept import with_own
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import FAINT, GHOST, INK, PALETTE, ground, new_figure, sketch_axes, still, style

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
LOOKS = {"quick chain": (PLUM, "solid"), "plain chain": (ORANGE, (0, (5, 2)))}
PREDICTED = {"climb": "least at 3", "descent": "least at 10", "alike": "alike at both", "neither": "any will do"}
SPEEDS, TIMES = np.arange(2.0, 21.0, 2.0), np.arange(0.0, 0.0241, 0.001)  # m/s, s
TINTS = ListedColormap(["#f4f4f4", "#e3e9f2", "#b9cfe6", "#7fa8d1", "#4a7fb8"]).with_extremes(bad="#c9c4bb")
ALLOWED, TOP, HALO = 0.1, 100.0, [withStroke(linewidth=2.5, foreground="white")]  # share; % shown


def _wheel(ax, x, z, radius, **look):
    ax.add_patch(Circle((x, radius + z), radius, fill=False, **({"edgecolor": INK, "linewidth": 1.5} | look)))


@style()
def puzzle_sketch(cases, chains, height=0.05):
    """To scale: where wheels are when each chain has acted, counted from first contact. cases: (vehicle, m/s)."""
    (figure, axes), told = new_figure((9, 3.4), columns=len(cases)), []
    for ax, (vehicle, speed) in zip(axes, cases, strict=True):
        climb = step(vehicle.wheel_radius, height)
        sketch_axes(ax, 1.3, 0.85)
        ground(ax, 0.0, 0.5 + climb.length, 0.06, 0.05)
        ground(ax, 0.5 + climb.length, 1.3, 0.06 + height, 0.05)
        ax.plot([0.5 + climb.length] * 2, [0.06, 0.06 + height], color=INK, linewidth=1.5)
        _wheel(ax, 0.5, 0.06, vehicle.wheel_radius, edgecolor=FAINT, linewidth=1.0)
        rolled = {name: speed * 1e-3 * budget(chain).mean for name, chain in chains.items()}
        for name, x in rolled.items():
            _wheel(ax, 0.5 + x, 0.06 + float(climb.rise(x)), vehicle.wheel_radius, edgecolor=LOOKS[name][0],
                   linestyle=LOOKS[name][1])  # fmt: skip
        far = ", ".join(f"{1e3 * x:.0f} mm ({name.split()[0]})" for name, x in rolled.items())
        told.append(f"{vehicle.name}, {speed:g} m/s: {far}")
        ax.set_title(told[-1], fontsize=10)
    return still(figure, f"Wheels at a step, to scale, rolled on while a chain responds. {'; '.join(told)}.")


# --- the live figure --------------------------------------------------------------------------------------------


def _strikes(vehicle, height, speed):
    """Whether the rim strikes with the valve open: such a ride is left out."""
    run = over_step(vehicle, height, speed, None)
    return (run.road - run.wheel_height).max() > vehicle.tyre_travel


@lru_cache(32)
def _map(vehicle, height):
    """Cost in % over TIMES (rows) and SPEEDS, and the time allowed in ms; NaN where the rim strikes."""
    costs = np.array([[step_cost(vehicle, height, v, t) for v in SPEEDS.tolist()] for t in TIMES.tolist()])
    out = np.array([_strikes(vehicle, height, v) for v in SPEEDS.tolist()])
    limit = [min(1e3 * step_deadline(vehicle, AT_TOUCH, height, v, ALLOWED), 99.0) for v in SPEEDS.tolist()]
    return np.where(out, np.nan, 100.0 * costs), np.where(out, np.nan, limit)


@lru_cache(512)
def _felt(vehicle, height, speed, threshold):
    """ms from contact until the locked wheel reads a threshold in m/s2; inf if never."""
    late = felt(over_step(vehicle, height, speed, Fixed(1.0)), threshold, 0.0)
    return np.inf if np.isnan(late) else 1e3 * late


def map_figure(machines, chains, prediction=""):
    """Live: cost over speed and time from contact, with what each chain needs; beside it the cost at one speed.

    machines: vehicles by name, the first is shown; chains: two by the names of LOOKS.
    """
    machines, names = with_own(machines), list(machines)
    means = {name: budget(chain).mean for name, chain in chains.items()}

    def compute(machine, height_mm, threshold, speed):
        vehicle, height, speed = machines[machine], 1e-3 * height_mm, float(speed)
        costs, limit = _map(vehicle, height)
        here = _felt(vehicle, height, speed, threshold)
        out, due = _strikes(vehicle, height, speed), step_deadline(vehicle, AT_TOUCH, height, speed, ALLOWED)
        ends = {name: here + mean for name, mean in means.items()}
        return {
            "costs": costs, "limit": limit, "here": here, "due": np.nan if out else 1e3 * due, "speed": speed,
            "felt": np.array([_felt(vehicle, height, v, threshold) for v in SPEEDS.tolist()]), "ends": ends,
            "along": 100.0 * np.array([step_cost(vehicle, height, speed, t) for t in TIMES.tolist()]),
            "climbed": 100.0 * step(vehicle.wheel_radius, height).share(speed * TIMES),
            "paid": {name: np.nan if out else 100.0 * step_cost(vehicle, height, speed, 1e-3 * min(end, 500.0))
                     for name, end in ends.items()},
        }  # fmt: skip

    def build(figure, result):
        left, right = figure.subplots(1, 2, width_ratios=(1.25, 1.0))
        top, told = 1e3 * TIMES[-1], {"fontsize": 9, "path_effects": HALO, "zorder": 3}
        left.set(xlim=(1.0, 21.0), ylim=(-0.5, top + 0.5), xlabel="speed (m/s)", xticks=(2, 6, 10, 14, 18))
        left.set(ylabel="from contact until\nthe force is there (ms)", title="Cost: darker from 5, 10, 20, 40 %")
        left.grid(visible=False)
        held = {"map": left.imshow(result["costs"], origin="lower", aspect="auto", extent=(1.0, 21.0, -0.5, top + 0.5),
                                   cmap=TINTS, norm=BoundaryNorm((-1e3, 5, 10, 20, 40, 1e3), 5), zorder=0)}  # fmt: skip
        usual = compute(names[0], 50, 40, 3.0)
        held["usual"] = left.plot(SPEEDS, usual["limit"], **GHOST)[0]
        held["limit"] = left.plot(SPEEDS, SPEEDS, color=INK, zorder=2.5)[0]
        held["speed"] = left.axvline(3.0, color=INK, linewidth=0.8, linestyle=":")
        held["rim"] = left.text(20.8, 1.0, "grey: rim strikes", ha="right", **told)
        right.set(xlim=(0.0, top), ylim=(-8.0, TOP), xlabel="from contact until the force is there (ms)",
                  ylabel="%", title="At that speed")  # fmt: skip
        held["old"] = right.plot(1e3 * TIMES, usual["along"], **GHOST)[0]
        held["climbed"] = right.plot(1e3 * TIMES, TIMES, color=BLUE, linestyle=(0, (6, 2)))[0]
        held["along"] = right.plot(1e3 * TIMES, TIMES, color=INK)[0]
        right.text(23.5, 93.0, "solid: cost", ha="right", fontsize=9)
        right.text(23.5, 86.0, "dashed: step climbed", color=BLUE, ha="right", fontsize=9)
        for name, (colour, dash) in LOOKS.items():
            held[name] = left.plot(SPEEDS, SPEEDS, color=colour, linestyle=dash)[0]
            held[f"{name} here"] = right.axvline(0.0, color=colour, linestyle=dash, linewidth=1.3)
            held[f"{name} name"] = left.text(20.8, means[name] + 1.0, name, color=colour, ha="right", **told)
        if prediction:
            held["predicted"] = left.text(1.3, 22.5, f"predicted: {PREDICTED[prediction]}", **told)
        draw(held, result)
        return held

    def draw(held, result):
        held["map"].set_data(result["costs"])
        held["limit"].set_ydata(result["limit"])
        held["speed"].set_xdata([result["speed"]] * 2)
        held["rim"].set_visible(bool(np.isnan(result["limit"]).any()))
        held["along"].set_ydata(np.minimum(result["along"], TOP - 1.0))
        held["climbed"].set_ydata(np.minimum(result["climbed"], TOP - 1.0))
        for name in LOOKS:
            held[name].set_ydata(np.where(np.isinf(result["felt"]), np.nan, result["felt"] + means[name]))
            held[f"{name} here"].set_xdata([min(result["ends"][name], 99.0)] * 2)

    def read_out(result):
        here = "never" if np.isinf(result["here"]) else f"{result['here']:.1f}"
        costs = [(f"cost, {name} (%)", _whole(cost)) for name, cost in result["paid"].items()]
        return [("felt after (ms)", here), ("time allowed (ms)", _whole(np.floor(result["due"]))), *costs]

    def describe(values, result):
        here = "never felt" if np.isinf(result["here"]) else f"felt after {result['here']:.1f} ms"
        told = f"{values['machine'].capitalize()}, step of {values['height_mm']} mm at {values['speed']:g} m/s, "
        told += f"threshold {values['threshold']} m/s²: {here}. "
        if np.isnan(result["due"]):
            return told + "The rim strikes: such a ride is left out."
        if np.isinf(result["due"]):
            return told + "Whenever the valve opens, it costs less than 10 %."
        share = np.interp(result["due"], 1e3 * TIMES, result["climbed"])
        told += f"The force has to be there within {np.floor(result['due']):.0f} ms of contact; in the time allowed "
        return told + f"the wheel rolls {values['speed'] * result['due']:.0f} mm and climbs {share:.0f} %."

    return LiveFigure(
        name="speed against response time",
        sliders=[Options("machine", "machine", [(name, name) for name in machines], names[0]),
                 Slider("height_mm", "step", 10, 80, 5, 50, "mm"),
                 Slider("threshold", "threshold", 10, 80, 5, 40, "m/s²"),
                 Slider("speed", "speed", 2.0, 20.0, 1.0, 3.0, "m/s")],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.8),
    )  # fmt: skip


def _whole(value):
    return "–" if np.isnan(value) else "any" if np.isinf(value) else f"{value:.0f}".replace("-", "−")


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = "Trail bike, locked: time from first contact until the force must be there, for a cost of 10 %."
CARD_ALT = (
    "Time allowed over speed for steps of 20 and 50 mm, and what the quick chain needs, feeling included: it is in "
    "time on the large step, too late on the small one."
)


@style()
def card_figure():
    """The page in one picture: which steps a chain is quick enough for."""
    figure, ax = new_figure((7, 3.2))
    for height, dash in ((0.02, (0, (2, 1.5))), (0.05, "solid")):
        limit = _map(bike, height)[1]
        ax.plot(SPEEDS, limit, color=INK, linestyle=dash)
        ax.text(9.0, limit[4] + 0.5, f"allowed, {1e3 * height:.0f} mm step")
    need = np.array([_felt(bike, 0.05, v, 40.0) for v in SPEEDS.tolist()]) + budget(real_chain).mean
    ax.plot(SPEEDS, need, color=PLUM)
    ax.text(10.0, need[6] + 0.6, "quick chain, felt and moved", color=PLUM)
    ax.set(xlim=(2.0, 18.0), ylim=(0.0, 16.0), xlabel="speed (m/s)", ylabel="ms from contact",
           title="In time on large steps, too late on small ones")  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
