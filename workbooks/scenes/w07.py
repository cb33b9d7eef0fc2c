"""Pictures of workbook 07: the puzzle, bounce and pitch, the wheelbase's filter, the live figure, the card."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
from matplotlib.patches import Circle

from helpers.models import pitch_plane
from helpers.models.half_car import HALF_CARS
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import (
    FAINT,
    GHOST,
    INK,
    PALETTE,
    arrow,
    ground,
    mass,
    new_figure,
    sketch_axes,
    spring,
    still,
    style,
)
from scenes.w07_tables import (  # the page asks this module for its tables too
    BIKE,
    LOCKED,
    OPEN,
    RULE,
    allowed_table,
    climb_table,
    derivation,
    elsewhere_table,
    ends_table,
    hold_table,
    latency_table,
    modes_table,
    more_table,
    nulls_table,
    over_latency,
    parameters,
    peaks,
    ridden,
    robust_table,
    root_table,
    slow_table,
    warning_table,
    wheelbase_steps,
)

__all__ = [
    "allowed_table", "body_sketch", "card", "climb_table", "derivation", "elsewhere_table", "ends_table",
    "filter_figure", "hold_table", "latency_table", "modes_table", "more_table", "nulls_table", "parameters",
    "puzzle_sketch", "robust_table", "root_table", "rule_sketch", "slow_table", "warning_figure", "warning_table",
    "wheelbase_steps",
]  # fmt: skip

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
# Rear peak at a speed read 30 % low and 30 % high, m/s2, as each option claims it.
PREDICTED = {"a": (36.7, 36.7), "b": (36.7, 21.6), "c": (21.6, 36.7), "d": (21.6, 21.6)}


def _machine(ax, x, y, length, radius=0.36):
    """A two-wheeler's side view: front axle at x, riding to the right."""
    for hub in (x - length, x):
        ax.add_patch(Circle((hub, y + radius), radius, facecolor="white", edgecolor=INK, linewidth=1.8))
        spring(ax, hub, y + radius, y + 0.85, coils=4, width=0.12)
    mass(ax, x - length / 2, y + 0.85, length + 0.2, 0.22, "body")


@style()
def puzzle_sketch():
    """The same root under the front wheel, and a wheelbase later under the rear."""
    figure, ax = new_figure((9, 3.0))
    sketch_axes(ax, 9.0, 2.9)
    ground(ax, 0.2, 8.8, 0.75)
    angle = np.linspace(0.0, np.pi, 30)
    for root, name in ((4.4, "root"), (6.8, "the same root")):  # as far ahead of the front hub as of the rear hub
        ax.fill(root + 0.15 * np.cos(angle), 0.75 + 0.12 * np.sin(angle), color=ORANGE)
        ax.text(root, 0.55, name, ha="center", va="top", color=ORANGE)
    _machine(ax, 3.85, 0.75, 1.2)
    _machine(ax, 3.85 + 3.6, 0.75, 1.2)
    ax.text(3.25, 2.05, "front wheel meets the root:\nthe sensor speaks", ha="center", va="bottom", color=PLUM)
    ax.text(6.85, 2.05, "$L/v$ later it is the rear's turn:\n120 ms at 10 m/s", ha="center", va="bottom", color=PLUM)
    ax.annotate("", (3.85, 0.28), (2.65, 0.28), arrowprops={"arrowstyle": "<->", "color": INK})
    ax.text(3.25, 0.16, "wheelbase $L$ = 1.2 m", ha="center", va="top")
    arrow(ax, (0.5, 1.5), (1.4, 1.5), "$v$")
    alt = (
        "Sketch: a trail bike whose front wheel meets a root, and the same bike a wheelbase of 1.2 m on, 120 ms "
        "later at 10 m/s, when its rear wheel meets the same root."
    )
    return still(figure, alt)


@style()
def body_sketch():
    """Arms and signs of the body over two wheels, and its two ways to swing about a node."""
    figure, (left, right) = new_figure((9, 3.5), columns=2)
    sketch_axes(left, 4.4, 3.3)
    ground(left, 0.2, 4.2, 0.3)
    for x, end in ((0.9, "2"), (3.3, "1")):
        spring(left, x, 0.3, 0.7, coils=3)
        mass(left, x, 0.7, 0.7, 0.3)
        left.text(x, 0.85, f"$m_{{u{end}}}$", ha="center", va="center", fontsize=9)
        spring(left, x, 1.0, 1.7)
        left.text(x + 0.25, 1.3, f"$k_{{s{end}}}, c_{end}$")
    mass(left, 2.1, 1.7, 3.0, 0.4)
    left.plot(1.86, 1.9, "o", color=INK, markersize=8)
    arrow(left, (1.86, 1.95), (1.86, 2.65), "$z$", PLUM)
    for ends, name in (((1.86, 3.3), "$a$"), ((0.9, 1.86), "$b$")):
        left.annotate("", (ends[0], 2.32), (ends[1], 2.32), arrowprops={"arrowstyle": "<->", "color": INK})
        left.text(sum(ends) / 2, 2.38, name, ha="center")
    bend = {"arrowstyle": "-|>", "color": PLUM, "linewidth": 1.8, "connectionstyle": "arc3,rad=0.35"}
    left.annotate("", (3.55, 2.75), (3.95, 1.75), arrowprops=bend)
    left.text(3.98, 2.35, "$\\theta$", color=PLUM)
    left.text(3.3, 0.02, "front", ha="center")
    left.text(0.9, 0.02, "rear", ha="center")
    left.set_title("Nose up is positive; 1 is the front", fontsize=10)
    modes = pitch_plane.modes(BIKE, wheels=False)
    for k, (colour, dash, start) in enumerate(((BLUE, "solid", -4.4), (ORANGE, (0, (6, 2)), -0.7))):
        reach = np.array([start, 0.9])
        height = reach - modes.node[k]
        height = height / np.abs(np.array([BIKE.front_arm, -BIKE.rear_arm]) - modes.node[k]).max()
        right.plot(reach, height, color=colour, linestyle=dash)
        right.plot(modes.node[k], 0.0, "o", color=colour, markersize=8)
    right.axhline(0.0, color=FAINT, linewidth=0.8)
    for arm, name in ((BIKE.front_arm, "front axle"), (-BIKE.rear_arm, "rear axle")):
        right.axvline(arm, color=FAINT, linewidth=0.8, linestyle=(0, (2, 2)))
        right.text(arm, -1.42, f" {name} ", ha="left" if arm > 0 else "right", fontsize=9, color=FAINT)
    right.text(-2.6, 0.42, f"bounce, {modes.frequency_hz[0]:.2f} Hz", color=BLUE, ha="right")
    right.text(-0.95, -1.0, f"pitch, {modes.frequency_hz[1]:.2f} Hz", color=ORANGE, ha="right")
    right.text(-4.3, -0.3, "node", color=BLUE)
    right.text(0.1, -0.35, "node", color=ORANGE)
    right.set(
        xlim=(-4.6, 2.2), ylim=(-1.6, 1.6), yticks=[], xlabel="m ahead of the mass centre",
        ylabel="height of the body, any scale",
    )  # fmt: skip
    right.set_title("Trail bike: in each mode the body turns about a node", fontsize=10)
    alt = (
        "Left: a body on two springs and two wheels, mass centre at height z, front arm a, rear arm b, pitch angle "
        f"positive with the nose up. Right: the trail bike's body in bounce at {modes.frequency_hz[0]:.2f} Hz turns "
        f"about a node {-modes.node[0]:.2f} m behind the mass centre, in pitch at {modes.frequency_hz[1]:.2f} Hz about "
        f"one {1e3 * modes.node[1]:.0f} mm ahead of it."
    )
    return still(figure, alt)


@style()
def filter_figure():
    """Bounce and pitch of the bike over frequency at 5 m/s, beside the wheelbase's filter alone."""
    figure, axes = new_figure((9, 3.6), columns=2)
    frequency, speed = np.linspace(0.3, 12.0, 1200), 5.0
    nulls = pitch_plane.nulls(speed, BIKE.wheelbase)
    names = ("bounce", "bounce (mm per mm of road)", 3.0), ("pitch", "pitch (degrees per 10 mm of road)", 3.0)
    for ax, (name, label, top) in zip(axes, names, strict=True):
        scale = 1.0 if name == "bounce" else 0.01 * 180.0 / np.pi
        both = scale * np.abs(pitch_plane.frequency_response(BIKE, name, frequency))
        delayed = scale * np.abs(pitch_plane.frequency_response(BIKE, name, frequency, speed))
        ax.plot(frequency, both, color=FAINT, linewidth=1.2, linestyle=(0, (5, 2)))
        ax.plot(frequency, delayed, color=BLUE if name == "bounce" else ORANGE)
        for null in getattr(nulls, name):
            if null < 12.0:
                ax.plot(null, 0.0, "v", color=INK, markersize=8, clip_on=False)
        ax.set(xlim=(0.0, 12.0), ylim=(0.0, top), xlabel="frequency (Hz)", ylabel=label)
        if name == "bounce":
            ax.text(2.75, 2.1, "both wheels at once", color=FAINT)
            ax.text(4.4, 0.62, "rear 240 ms later", color=BLUE)
            ax.set_title("The first bounce null lies on the bounce mode")
        else:
            ax.text(3.0, 2.1, "rear 240 ms later", color=ORANGE)
            ax.text(2.3, 0.16, "both at once", color=FAINT, ha="center", fontsize=9)
            ax.set_title("The bike pitches instead")
    found = pitch_plane.frequency_response(BIKE, "bounce", np.array([nulls.bounce[0]]), speed)
    together = pitch_plane.frequency_response(BIKE, "bounce", np.array([nulls.bounce[0]]))
    alt = (
        f"Trail bike at 5 m/s over frequency. At {nulls.bounce[0]:.2f} Hz bounce falls from {abs(together[0]):.2f} "
        f"with both wheels at once to {abs(found[0]):.2f}, while pitch is near its peak. Marks: bounce nulls at "
        f"{nulls.bounce[0]:.2f}, {nulls.bounce[1]:.2f} and {nulls.bounce[2]:.2f} Hz, pitch nulls at "
        f"{nulls.pitch[0]:.2f} and {nulls.pitch[1]:.2f} Hz."
    )
    return still(figure, alt)


@style()
def rule_sketch():
    """When the rear valve is open, for a true, a low and a high estimate of the speed."""
    figure, ax = new_figure((9, 2.9))
    speed = 10.0
    rows = ((0.0, "speed true"), (-0.3, "30 % low"), (0.3, "30 % high"))
    for k, (error, name) in enumerate(rows):
        found = replace(RULE, speed_error=error).placement(BIKE.wheelbase, speed)
        start = 1e3 * (found.warning - found.opens_before)
        ax.plot([start, start + 1e3 * RULE.hold], [2 - k] * 2, color=PLUM, linewidth=9, solid_capstyle="butt")
        ax.text(-12.0, 2 - k, name, ha="right", va="center")
        early = 1e3 * found.opens_before
        told = f"{early:.0f} ms before the root" if early >= 0 else f"{-early:.0f} ms after the root came"
        said = f"opens at {start:.0f} ms, {told}"
        ax.text(max(start, 122.0) + 8.0, 2.28 - k, said, va="bottom", fontsize=9, color=PLUM)
    ax.axvline(1e3 * BIKE.warning(speed), color=ORANGE, linewidth=1.5)
    ax.text(1e3 * BIKE.warning(speed), 2.95, "root at the rear wheel", color=ORANGE, ha="center", va="bottom")
    ax.set(
        xlim=(0.0, 700.0), ylim=(-0.5, 2.9), yticks=[], xlabel="time since the front wheel sensed the root (ms)",
    )  # fmt: skip
    ax.spines["left"].set_visible(False)
    alt = (
        "Bars of open time of the rear valve at 10 m/s. True speed: open from 100 to 600 ms, 20 ms before the root "
        "comes at 120 ms. Speed read 30 % low: open from 151 ms, 31 ms too late. Read 30 % high: open from 72 ms, 48 "
        "ms before, and still open when it comes."
    )
    return still(figure, alt)


# --- the live figure ------------------------------------------------------------------------------------------------

PLACES = {  # what the chooser offers: machine, height of the root in mm
    "bike": ("bike", 50), "bike, low root": ("bike", 30), "motorcycle": ("motorcycle", 50), "carrier": ("carrier", 50),
}  # fmt: skip
NAMES = [(f"{HALF_CARS[car].rear.name}, root {height} mm", key) for key, (car, height) in PLACES.items()]
ERRORS = np.array([-40, -30, -25, -20, -15, -10, -5, 0, 10, 20, 40, 60])
SHOWN, TALLEST = np.linspace(-0.05, 1.0, 421), 60.0  # s since the front meets the root, m/s2
DEFAULT = (10, 10)  # speed in m/s, latency in ms


@lru_cache(maxsize=256)
def _trace(place, speed, rule, valves):
    """Body acceleration over SHOWN and its peak at each end; the rear valve's opening (0 to 1); rear topped out?"""
    machine, height = PLACES[place]
    run = ridden(machine, float(speed), rule, valves, height)
    # The tyre meets the root before its top is under the axle; the ground is level until then.
    time = run.time - run.time[np.argmax(run.front.road > 1e-6)]
    felt = [end.body_acceleration for end in (run.front, run.rear)]
    opened = np.interp(SHOWN, time, 1.0 - run.rear.valve)
    topped = run.rear.travel.max() > run.car.rear.rebound_travel
    return [(np.interp(SHOWN, time, one), np.abs(one).max()) for one in felt], opened, topped


_CURVES = {}


def _over_error(place, speed, latency_ms, wait=True):
    """Rear peak in m/s2 for each of ERRORS; blank if not yet known and there is no time."""
    key = place, speed, latency_ms
    if key not in _CURVES:
        if not wait:
            return np.full(len(ERRORS), np.nan)
        machine, height = PLACES[place]
        rules = [replace(RULE, latency=1e-3 * latency_ms, speed_error=e / 100) for e in ERRORS]
        _CURVES[key] = np.array([peaks(machine, float(speed), rule, LOCKED, height)[1] for rule in rules])
    return _CURVES[key]


def _compute(machine, speed, latency, error, wait=True):
    rule = replace(RULE, latency=1e-3 * latency, speed_error=error / 100)
    ends, opened, _ = _trace(machine, speed, rule, LOCKED)
    by_open, _, topped = _trace(machine, speed, None, OPEN)
    car = HALF_CARS[PLACES[machine][0]]
    return {
        "machine": machine, "speed": speed, "error": error, "ends": ends, "opened": opened,
        "open": by_open, "topped": topped, "locked": _trace(machine, speed, None, LOCKED)[0],
        "curve": _over_error(machine, speed, latency, wait), "usual": _over_error(machine, *DEFAULT, wait),
        "warning": car.warning(speed), "usually": (machine, speed, latency) == ("bike", *DEFAULT),
        "placed": rule.placement(car.wheelbase, speed),
    }  # fmt: skip


def _preview(**values):
    return _compute(**values, wait=False)


def _finding(result):
    """Title of the right half: what the curve of errors says, once it is known."""
    curve = result["curve"] / result["open"][1][1]
    if np.isnan(curve).any():
        return "Peak above the rear wheel"
    late, early = curve[ERRORS < 0].max(), curve[ERRORS >= 0].max()
    if result["topped"]:
        return "Open, the rear hits its top-out stop here"
    if early > 1.1:
        return "No error helps: the latency is too long" if curve.min() > 1.1 else "Late costs most, early a little"
    if late > 1.1:
        return "Late costs, early does not"
    return "No error shown costs anything here"


def warning_figure(prediction=""):
    """Live: front and rear over a root, the rear told by the front, and what a wrong speed costs."""

    def build(figure, result):
        figure.get_layout_engine().set(wspace=0.05)
        grid = figure.add_gridspec(2, 2, width_ratios=(1.35, 1.0))
        front, rear = figure.add_subplot(grid[0, 0]), figure.add_subplot(grid[1, 0])
        errors = figure.add_subplot(grid[:, 1])
        held = {}
        for k, (ax, name) in enumerate(((front, "front"), (rear, "rear"))):
            ax.set(xlim=(SHOWN[0], SHOWN[-1]), ylim=(-TALLEST, TALLEST), ylabel=f"{name} (m/s²)")
            held["locked", k] = ax.plot(SHOWN, SHOWN, **GHOST | {"linestyle": (0, (4, 2))})[0]
            held["open", k] = ax.plot(SHOWN, SHOWN, **GHOST | {"color": BLUE})[0]
            held["end", k] = ax.plot(SHOWN, SHOWN, color=PLUM)[0]
        front.set_title("Body acceleration: front tells (plum), open (blue), locked (dashed)", fontsize=10)
        front.tick_params(labelbottom=False)
        rear.set_title("Rear; bar: its valve open; line: the root arrives", fontsize=10)
        rear.set_xlabel("time since the front wheel met the root (s)")
        held["bar"] = rear.plot(SHOWN, SHOWN, color=ORANGE, linewidth=6, solid_capstyle="butt")[0]
        held["arrival"] = rear.axvline(0.12, color=ORANGE, linewidth=1.2)
        errors.set(
            xlim=(-44.0, 64.0), ylim=(0.0, 55.0), xlabel="speed read too low (-) or too high (+) (%)",
            ylabel="peak above the rear wheel (m/s²)",
        )  # fmt: skip
        held["usual"] = errors.plot(ERRORS, result["usual"], **GHOST)[0]
        held["levels"] = [
            errors.plot([-42, 62], [0, 0], color=colour, linestyle=dash, linewidth=1.0)[0]
            for colour, dash in ((BLUE, "solid"), (FAINT, (0, (4, 2))))
        ]
        held["names"] = [
            errors.text(at, 0.0, name, color=colour, ha=side)
            for name, colour, at, side in (("open", BLUE, 60.0, "right"), ("locked", FAINT, 60.0, "right"))
        ]
        held["curve"] = errors.plot(ERRORS, result["curve"], color=PLUM, marker="D", markersize=3.5)[0]
        held["here"] = errors.plot([0.0], [0.0], "D", color=PLUM, markersize=10)[0]
        if prediction:
            mark = {"color": INK, "markersize": 12, "markeredgewidth": 2.2, "linestyle": "none"}
            held["predicted"] = errors.plot([-30, 30], PREDICTED[prediction], marker="x", **mark)[0]
            below = PREDICTED[prediction][0] < 30.0
            held["predicted text"] = errors.text(
                -30, PREDICTED[prediction][0] + (-2.0 if below else 2.0), "predicted", ha="center",
                va="top" if below else "bottom", fontsize=9,
            )  # fmt: skip
        held["title"] = errors.set_title(" ", fontsize=10)
        draw(held, result)
        return held

    def draw(held, result):
        for k in range(2):
            for name, key in (("locked", "locked"), ("open", "open"), ("end", "ends")):
                held[name, k].set_ydata(np.clip(result[key][k][0], -TALLEST, TALLEST))
        held["bar"].set_ydata(np.where(result["opened"] > 0.5, -0.88 * TALLEST, np.nan))
        held["arrival"].set_xdata([result["warning"]] * 2)
        held["usual"].set_ydata(np.clip(result["usual"], 0.0, 55.0))
        levels = [result[key][1][1] for key in ("open", "locked")]
        near, higher = abs(levels[0] - levels[1]) < 6.0, levels[0] > levels[1]
        sides = near and not higher, near and higher  # one name under its line if the two are too near each other
        for line, text, level, below in zip(held["levels"], held["names"], levels, sides, strict=True):
            line.set_ydata([level] * 2)
            text.set_y(level + (-0.6 if below else 0.6))
            text.set_va("top" if below else "bottom")
        held["title"].set_text(_finding(result))
        held["curve"].set_ydata(np.clip(result["curve"], 0.0, 55.0))
        held["here"].set_data([result["error"]], [min(result["ends"][1][1], 55.0)])
        if prediction:
            for name in ("predicted", "predicted text"):
                held[name].set_visible(result["usually"])

    def read_out(result):
        early = round(1e3 * result["placed"].opens_before)
        return [
            ("warning L/v (ms)", f"{1e3 * result['warning']:.0f}"),
            ("rear valve opens (ms)", f"{abs(early)} {'before the root' if early >= 0 else 'late'}"),
            ("front peak / open", f"{result['ends'][0][1] / result['open'][0][1]:.2f}"),
            ("rear peak / open", f"{result['ends'][1][1] / result['open'][1][1]:.2f}"),
        ]

    def describe(values, result):
        early = round(1e3 * result["placed"].opens_before)
        when = f"{abs(early)} ms {'before' if early >= 0 else 'after'}"
        error = values["error"]
        read = f"{abs(error)} % too {'low' if error < 0 else 'high'}" if error else "right"
        (front, rear), (front_open, rear_open) = ([one[1] for one in result[key]] for key in ("ends", "open"))
        car, height = PLACES[values["machine"]]
        return (
            f"{HALF_CARS[car].rear.name.capitalize()}, root of {height} mm, at {values['speed']} m/s, latency "
            f"{values['latency']} ms, speed read {read}: the rear valve opens {when} the root is due; peaks are "
            f"{front:.1f} m/s² in front (open {front_open:.1f}) and {rear:.1f} m/s² behind (open {rear_open:.1f}, "
            f"locked {result['locked'][1][1]:.1f})."
        )

    return LiveFigure(
        name="the rear wheel's warning",
        sliders=[
            Options("machine", "machine", NAMES, "bike"),
            Slider("speed", "speed", 3, 20, 1, 10, "m/s"),
            Slider("latency", "latency", 1, 150, 1, 10, "ms"),
            Slider("error", "error of the speed", -40, 60, 5, 0, "%"),
        ],
        compute=_compute, build=build, draw=draw, read_out=read_out, describe=describe, preview=_preview, size=(9, 3.8),
    )  # fmt: skip


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = "Peak body acceleration over the open damper's, against latency: trail bike, 10 m/s, root of 50 mm."
CARD_ALT = (
    "Three curves over latency from 1 to 200 ms. Front and a rear with its own sensor rise from 1.0 at 5 ms to 1.4 and "
    "1.2 at 10 ms and 1.8 and 1.6 at 20 ms; the rear that the front tells stays near 0.9 until the latency reaches the "
    "warning of 120 ms."
)


@style()
def card_figure():
    """The page in one picture: latency is the front wheel's problem."""
    figure, ax = new_figure((7, 3.2))
    latency = np.array([1, 2, 3, 4, 5, 7, 10, 14, 20, 30, 45, 60, 80, 100, 110, 117, 123, 130, 150, 200])
    looks = ((INK, "solid"), (ORANGE, (0, (7, 2))), (PLUM, (0, (2, 1.5))))
    for curve, (colour, dash) in zip(over_latency(latency).T, looks, strict=True):
        ax.plot(latency, curve, color=colour, linestyle=dash)
    ax.axvline(120.0, color=FAINT, linewidth=1.0)
    ax.text(114.0, 1.22, "warning\n$L/v$", color=FAINT, ha="right", va="center", fontsize=9)
    ax.text(35.0, 1.87, "front", color=INK)
    ax.text(21.0, 1.48, "rear, own sensor", color=ORANGE, va="top")
    ax.text(14.0, 1.0, "rear, front tells", color=PLUM)
    ax.set(
        xscale="log", xlim=(1.0, 200.0), ylim=(0.8, 2.0), xlabel="latency (ms)", ylabel="peak / open damper's",
        title="Latency is the front wheel's problem",
    )  # fmt: skip
    ax.set_xticks([1, 3, 10, 30, 100], ["1", "3", "10", "30", "100"])
    ax.minorticks_off()
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
