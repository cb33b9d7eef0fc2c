"""Pictures and tables of workbook 00: the Fell loop, the three families, and the comparison on all of it."""

import numpy as np
from IPython.display import display

from helpers.control.mode_switch import ModeSwitch
from helpers.models.terrain_file import read_terrain
from helpers.models.vehicles import FLEET, TRAIL_BIKE
from helpers.simulation import families
from helpers.simulation.metrics import bob, metrics
from helpers.simulation.runs import ride
from helpers.teaching.kept import choices
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.page import Shown
from helpers.teaching.plots import (
    GHOST,
    INK,
    PALETTE,
    STYLES,
    arrow,
    dashpot,
    ground,
    label_line,
    mass,
    new_figure,
    sketch_axes,
    spring,
    still,
    style,
)
from scenes.w00_tables import (
    LOOP,
    NAMES,
    SECTIONS,
    STROKES,
    fixed_settings,
    freed_table,
    loop_table,
    quarry,
    reading_table,
    ridden,
    rides,
)

__all__ = [
    "FLEET", "LOOP", "SECTIONS", "STROKES", "TRAIL_BIKE", "ModeSwitch", "card", "card_figure", "comparison_figure",
    "families", "fixed_figure", "freed_table", "loop_sketch", "loop_table", "own_ground", "quarry", "reach_sketch",
    "reading_table", "rides", "signs_sketch",
]  # fmt: skip

PREDICTED = {"a": 0.5, "b": 0.75, "c": 1.0, "d": 1.5}  # share of the plain damper's vibration that each option claims


@style()
def loop_sketch():
    """The Fell loop in profile, and five metres of the ground of each section."""
    figure, axes = new_figure((9, 4.4), rows=2, columns=3)
    for ax in axes[0]:
        ax.remove()
    ax = figure.add_subplot(axes[0, 0].get_gridspec()[0, :])
    whole = LOOP.elevation()
    ax.plot(whole.distance, whole.height, color=INK)
    at = 0.0
    for section, close in zip(LOOP.sections, axes[1], strict=True):
        text = f"{section.name}\ngradient {100 * section.gradient:.0f} %, {TRAIL_BIKE.speed(section.name):g} m/s"
        ax.text(at + 0.5 * section.profile.length, 33.0, text, ha="center", va="top")
        at += section.profile.length
        ax.axvline(at, color=GHOST["color"], linewidth=0.8)
        start = _roughest(section.profile) - 1.5
        along = np.linspace(0.0, 5.0, 501)
        surface = 1e3 * section.profile.at(start + along)
        close.plot(along, surface - surface[0], color=INK)
        close.set(xlim=(0.0, 5.0), ylim=(-130.0, 130.0), xlabel="distance (m)")
        close.set_title(f"five metres of the {section.name}")
    axes[1][0].set_ylabel("height (mm)")
    ax.fill_between(whole.distance, whole.height, -5.0, color="#e4e7e2")
    ax.set(
        xlabel="distance (m)", ylabel="height (m)", xlim=(0.0, at), ylim=(-5.0, 35.0),
        title="The loop asks three different things of one suspension",
    )  # fmt: skip
    alt = (
        "Height against distance over the Fell loop: a climb of 120 m, a traverse of 200 m and a descent of 240 m, "
        "with the trail bike's speeds of 3, 6 and 10 m/s; below, five metres of each: a root, washboard, a rock."
    )
    return still(figure, alt)


@style()
def signs_sketch():
    """One wheel and what it carries, with the directions that count as positive."""
    figure, ax = new_figure((6.4, 3.6))
    sketch_axes(ax, 6.4, 3.6)
    ground(ax, 0.6, 4.2, 0.3)
    spring(ax, 2.0, 0.3, 1.0, coils=3)
    mass(ax, 2.0, 1.0, 1.4, 0.45, "wheel  $m_u$")
    spring(ax, 1.6, 1.45, 2.55)
    dashpot(ax, 2.4, 1.45, 2.55)
    mass(ax, 2.0, 2.55, 2.2, 0.6, "body  $m_s$")
    for y, name in ((0.3, "$z_r$"), (1.2, "$z_u$"), (2.8, "$z_s$")):
        arrow(ax, (3.5, y), (3.5, y + 0.55), name)
        ax.plot([3.3, 3.7], [y, y], color=INK, linewidth=0.8)
    arrow(ax, (0.75, 2.55), (0.75, 1.95), "$f$", PALETTE["mode_switching"], "left")
    arrow(ax, (1.0, 1.45), (1.0, 2.05), "$f$", PALETTE["mode_switching"], "left")
    ax.text(4.3, 2.5, "travel $x = z_s - z_u$\nrebound positive", va="center")
    ax.text(
        4.3,
        1.7,
        "$f > 0$ in rebound:\nbody pulled down,\nwheel pulled up",
        va="center",
        color=PALETTE["mode_switching"],
    )
    ax.text(4.3, 0.8, "tyre deflection $z_u - z_r$", va="center")
    alt = (
        "Sketch: a body on a spring and a damper above a wheel, the wheel on a tyre spring on the ground. Heights of "
        "ground, wheel and body count upwards; a positive damper force pulls the body down and the wheel up."
    )
    return still(figure, alt)


@style()
def reach_sketch(vehicle=TRAIL_BIKE):
    """Where each family can put the suspension force, for every speed of the suspension."""
    figure, axes = new_figure((9, 3.1), columns=4, sharey=True)
    speed = np.linspace(-1.0, 1.0, 201)
    soft, firm = vehicle.open_curve.force(speed), vehicle.lockout_curve.force(speed)
    fixed = vehicle.damping * speed
    looks = {key: {"facecolor": PALETTE[key], "alpha": 0.25, "linewidth": 0.0} for key in NAMES}
    axes[0].plot(speed, fixed, **STYLES["plain"].line())
    axes[1].fill_between(speed, -1500.0, 1500.0, **looks["active"])
    axes[2].fill_between(speed, soft, firm, **looks["semi_active"])
    for curve in (soft, firm):
        axes[2].plot(speed, curve, **STYLES["semi_active"].line(linewidth=1.0))
    for curve in (fixed, firm):
        axes[3].plot(speed, curve, **STYLES["mode_switching"].line())
    for ax, (key, name) in zip(axes, NAMES.items(), strict=True):
        ax.axhline(0.0, color=INK, linewidth=0.8)
        ax.axvline(0.0, color=INK, linewidth=0.8)
        ax.set(xlim=(-1.0, 1.0), ylim=(-1500.0, 1500.0), xlabel="speed $v_s - v_u$ (m/s)", title=name)
        ax.title.set_color(PALETTE[key])
    axes[0].set_ylabel("damper force $f$ (N)")
    axes[1].text(0.0, 900.0, "any force, until the\nmotor or the stroke ends", ha="center", fontsize=8.5)
    axes[2].text(-0.95, 900.0, "never here:\nit would need\npower", fontsize=8.5)
    axes[3].annotate(
        "lockout",
        (0.2, float(vehicle.lockout_curve.force(0.2))),
        (-0.95, 1150.0),
        fontsize=8.5,
        arrowprops={"arrowstyle": "-", "color": GHOST["color"]},
    )
    axes[3].text(0.45, 60.0, "open", fontsize=8.5)
    alt = (
        "Four diagrams of damper force against suspension speed. Plain damper: one line through zero. Active: the "
        "whole plane. Semi-active: the region between a soft and a firm curve, only where force and speed have the "
        "same sign. Mode switching: two curves and nothing between."
    )
    return still(figure, alt)


# --- one fixed setting ------------------------------------------------------------------------------------------


@style()
def fixed_figure():
    """No fixed coefficient serves the whole loop: bob against vibration over the damping coefficient."""
    coefficients, found = fixed_settings()
    figure, (left, right) = new_figure((9, 3.4), columns=2)
    left.plot(coefficients, 1e3 * found["bob"], **STYLES["plain"].line(marker="o", markersize=4))
    left.set(
        xscale="log", xlabel="damping coefficient (N s/m)", ylabel="pedal bob on the climb (mm)", ylim=(0.0, None),
        title="Pedalling wants it firm ...",
    )  # fmt: skip
    dashes = {"climb": "solid", "traverse": (0, (6, 2)), "descent": (0, (2, 1.5))}
    for section in SECTIONS:
        line = right.plot(coefficients, found[section], color=INK, linestyle=dashes[section])[0]
        best = int(np.argmin(found[section]))
        right.plot(coefficients[best], found[section][best], "o", color=INK)
        at = {"climb": 1500.0, "traverse": 400.0, "descent": 800.0}[section]
        label_line(right, line, section, x=at, above=section != "traverse")
    right.set(
        xscale="log", xlabel="damping coefficient (N s/m)", ylabel="vibration, legs still (m/s²)", ylim=(0.0, None),
        title="... comfort wants it soft (dot: least vibration)",
    )  # fmt: skip
    for ax in (left, right):
        ax.set_xticks([75, 150, 300, 600, 1200, 2400], ["75", "150", "300", "600", "1200", "2400"])
        ax.minorticks_off()
    least = {section: coefficients[int(np.argmin(found[section]))] for section in SECTIONS}
    alt = (
        f"Left: pedal bob falls from {1e3 * found['bob'][0]:.0f} mm at 60 N s/m to {1e3 * found['bob'][-1]:.0f} mm "
        f"at 2200 N s/m. Right: vibration, nobody pedalling, is least at {least['climb']:.0f} N s/m on the climb, "
        f"{least['traverse']:.0f} on the traverse and {least['descent']:.0f} on the descent."
    )
    return still(figure, alt, alt)


# --- the live comparison ----------------------------------------------------------------------------------------

WINDOW = 12.0  # m of ground shown
PANELS = (("vibration (m/s²)", 12.0), ("off the ground (%)", 45.0), ("pedal bob (mm)", 16.0))


def _roughest(profile):
    """Distance of the highest point of a profile, away from its ends, m."""
    inside = slice(500, -1500)
    return profile.distance[inside][int(np.argmax(profile.height[inside]))]


def _measures(run, m, pedalling):
    return m.comfort, 100.0 * m.airborne, 1e3 * bob(run, STROKES) if pedalling else np.nan


def _compute(machine, section, damping, threshold):
    found = ridden(machine, section, damping, threshold)
    part, vehicle = LOOP.section(section), FLEET[machine]
    speed = vehicle.speed(section)
    start = _roughest(part.profile) - 3.0  # so that there is something to see
    x = np.linspace(0.0, WINDOW, 481)
    surface = part.profile.at(start + x)
    level = float(np.mean(surface))
    pedalling = part.pedalling and vehicle.pedal_force > 0.0
    return {
        "measures": {key: _measures(run, m, pedalling) for key, (run, m) in found.items()},
        "usual": {key: _measures(run, m, pedalling) for key, (run, m) in rides(machine, section).items()},
        "paths": {
            key: np.interp((start + x) / speed, run.time, run.body_height + part.profile.height[0]) - level
            for key, (run, m) in found.items()
        },
        "ground": surface - level,
        "x": x,
        "locked": float(np.mean(found["mode_switching"][0].valve > 0.5)),
    }


def comparison_figure(prediction=""):
    """Live: four suspensions on a section, with the learner's prediction for the mode switch beside the result."""

    def build(figure, result):
        grid = figure.add_gridspec(2, 3, height_ratios=(1.25, 1.0))
        top = figure.add_subplot(grid[0, :])
        top.set(
            xlim=(0.0, WINDOW), ylim=(-0.15, 0.15), xlabel="distance along the roughest stretch (m)",
            ylabel="height (m)",
            title="The body's path over the ground (black): the straighter, the calmer (colours as below)",
        )  # fmt: skip
        held = {"ground": top.plot(result["x"], result["ground"], color=INK, linewidth=2.4)[0]}
        for key in NAMES:
            held[key] = top.plot(result["x"], result["paths"][key], **STYLES[key].line())[0]
        for number, (label, limit) in enumerate(PANELS):
            ax = figure.add_subplot(grid[1, number])
            ax.set(xlim=(-0.03 * limit, limit), ylim=(3.6, -0.6), xlabel=label)
            ax.set_yticks(range(4), list(NAMES.values()) if number == 0 else [""] * 4)
            if number == 2:
                held["still legs"] = ax.text(limit / 2, 1.5, "", ha="center", color=INK, fontsize=9)
            if number == 0:
                for text, key in zip(ax.get_yticklabels(), NAMES, strict=True):
                    text.set_color(PALETTE[key])
                ax.set_title("Hollow: plain damper x 1, threshold 40 m/s²", fontsize=9)
            for row, key in enumerate(NAMES):
                value = result["measures"][key][number]
                hollow = {"marker": STYLES[key].marker, "markersize": 10, "markerfacecolor": "none"}
                held["usual", key, number] = ax.plot(value, row, **hollow, **GHOST)[0]
                held[key, number] = ax.plot(value, row, **STYLES[key].points())[0]
            if number == 0 and prediction:
                held["prediction"] = ax.plot([0.0], [3.0], "|", color=INK, markersize=16, markeredgewidth=2.2)[0]
                held["prediction text"] = ax.text(0.0, 2.62, "predicted", ha="center", fontsize=8)
        draw(held, result)
        return held

    def _place_prediction(held, result):
        claimed = PREDICTED[prediction] * result["measures"]["plain"][0]
        held["prediction"].set_xdata([claimed])
        held["prediction text"].set_x(claimed)

    def draw(held, result):
        held["ground"].set_ydata(result["ground"])
        for key in NAMES:
            held[key].set_ydata(result["paths"][key])
            for number in range(len(PANELS)):
                held[key, number].set_xdata([result["measures"][key][number]])
                held["usual", key, number].set_xdata([result["usual"][key][number]])
        held["still legs"].set_text("" if np.isfinite(result["measures"]["plain"][2]) else "nobody pedals here")
        if prediction:
            _place_prediction(held, result)

    def read_out(result):
        names = ["vibration (m/s²), plain damper", *list(NAMES.values())[1:]]
        return [(name, f"{result['measures'][key][0]:.2f}") for name, key in zip(names, NAMES, strict=True)]

    def describe(values, result):
        vibration = {key: measures[0] for key, measures in result["measures"].items()}
        calmest = min(vibration, key=vibration.get)
        share = 100.0 * vibration["mode_switching"] / vibration["plain"]
        return (
            f"On the {values['section']}, the {FLEET[values['machine']].name} is calmest with the {NAMES[calmest]} "
            f"suspension, {vibration[calmest]:.2f} m/s²; mode switching has {share:.0f} % of the plain damper's "
            f"vibration and is locked {100.0 * result['locked']:.0f} % of the time."
        )

    return LiveFigure(
        name="four suspensions",
        sliders=[
            Options("machine", "machine", choices(FLEET), "bike"),
            Options("section", "section", list(SECTIONS), "descent"),
            Slider("damping", "plain damper, times its own", 0.3, 3.0, 0.1, 1.0),
            Slider("threshold", "bump threshold", 10, 150, 5, 40, "m/s²"),
        ],
        compute=_compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.9),
    )  # fmt: skip


# --- a terrain of one's own -------------------------------------------------------------------------------------


@style()
def _terrain_figure(terrain):
    figure, ax = new_figure((9, 2.6))
    ax.plot(terrain.profile.distance, 1e3 * terrain.profile.height, color=INK, linewidth=1.0)
    found = (
        f"{terrain.name}: {terrain.profile.length:.0f} m, {terrain.rows} rows, mean gradient "
        f"{100 * terrain.gradient:.1f} %, heights from {1e3 * terrain.profile.height.min():.0f} to "
        f"{1e3 * terrain.profile.height.max():.0f} mm about it"
    )
    ax.set(xlabel="distance (m)", ylabel="height (mm)", xlim=(0.0, terrain.profile.length), title=found)
    return still(figure, f"Height against distance. {found}.")


def own_ground(file, machine="bike", speed=6.0):
    """Draw the ground of a learner's CSV file and ride it with the four suspensions at one speed in m/s.

    What cannot be read or ridden is said in one sentence, and nothing else is shown.
    """
    try:
        if machine not in list(FLEET):
            raise ValueError(f"machine is {machine!r}; allowed are {', '.join(map(repr, FLEET))}.")
        terrain = read_terrain(file)
        head = "| suspension | vibration (m/s²) | off the ground (%) | bump travel used (%) |"
        lines = [head, "|---|---:|---:|---:|"]
        worst_air = worst_bump = 0.0
        for suspension in families.four_families(FLEET[machine]).values():
            m = metrics(ride(suspension.vehicle, terrain.profile, speed, suspension.law, suspension.timing))
            worst_air, worst_bump = max(worst_air, m.airborne), max(worst_bump, m.bump_share)
            numbers = (f"{m.comfort:.2f}", f"{100 * m.airborne:.1f}", f"{100 * m.bump_share:.0f}")
            lines.append(f"| {suspension.name} | {' | '.join(numbers)} |")
    except (OverflowError, TypeError, ValueError) as error:
        return Shown(f"Not ridden: {error}")
    display(_terrain_figure(terrain))
    told = [f"The {FLEET[machine].name} at {speed:g} m/s, nobody pedalling."]
    if 2.0 * worst_air > 1.0 or worst_bump > 1.0:
        told.append(
            f"With some of them the tyre is off the ground for {100 * worst_air:.0f} % of the time and "
            f"{100 * worst_bump:.0f} % of the bump travel is used: if that surprises you, check the header's units."
        )
    return Shown("\n".join([*lines, "", " ".join(told)]))


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = "Vibration of the trail bike on each section of the Fell loop, by suspension."
CARD_ALT = (
    "Dot chart: weighted body acceleration on climb, traverse and descent for a plain damper, active, semi-active and "
    "mode-switching suspension; active is least everywhere, mode switching nowhere below the plain damper."
)


@style()
def card_figure():
    """The page in one picture: vibration by section and suspension."""
    figure, ax = new_figure((7, 3))
    for key, name in NAMES.items():
        values = [rides("bike", section)[key][1].comfort for section in SECTIONS]
        ax.plot(values, range(3), **STYLES[key].points())
        above = key in ("active", "plain")
        ax.annotate(
            name,
            (values[0], 0),
            xytext=(0, 10 if above else -10),
            textcoords="offset points",
            fontsize=9,
            color=PALETTE[key],
            ha="center",
            va="bottom" if above else "top",
        )
    ax.set_yticks(range(3), SECTIONS)
    ax.set(
        xlim=(0.0, None), ylim=(2.4, -0.7), xlabel="vibration, weighted rms (m/s²)",
        title="What the families leave of the ground's vibration",
    )  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
