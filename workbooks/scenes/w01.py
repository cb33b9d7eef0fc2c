"""Pictures and tables of workbook 01: the quarter car over frequency, its invariant points, and the trade-off."""

import math
from functools import lru_cache

import numpy as np

from helpers.models import closed_forms, quarter_car
from helpers.models.terrain import iso_8608, roughness, white_velocity_intensity
from helpers.models.vehicles import CARRIER, FLEET
from helpers.simulation.metrics import rms
from helpers.simulation.runs import simulate
from helpers.simulation.weighting import weighting
from helpers.teaching.kept import choices
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.page import Shown
from helpers.teaching.plots import (
    GHOST,
    INK,
    PALETTE,
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

ROAD_CLASS = "C"
BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
PREDICTED = {"a": 1.0, "b": 1.35, "c": 1.83, "d": 3.37}  # the bounce setting's acceleration over the least
FREQUENCY = np.geomspace(0.3, 40.0, 400)  # Hz
COEFFICIENTS = np.geomspace(60.0, 6000.0, 160)  # N s/m


def linear(vehicle, damping=None):
    """The vehicle as the closed forms see it: linear spring and damper, no friction, stops out of reach."""
    return vehicle.plain(damping).changed(friction=0.0, gas_column=math.inf, bump_travel=1.0, rebound_travel=1.0)


def settling_damping(vehicle):
    """The coefficient at which a parked body settles without a second swing worth seeing: damping ratio 1/sqrt 2."""
    return math.sqrt(2.0 * vehicle.spring_rate * vehicle.body_mass)


def intensity(vehicle):
    """White-velocity intensity in m2/s of the course's track, class C, at the vehicle's speed on the traverse."""
    return white_velocity_intensity(roughness(ROAD_CLASS), vehicle.traverse_speed)


@style()
def bounce_sketch():
    """Tomas's test: the parked carrier is pushed down 50 mm and let go."""
    figure, ax = new_figure((9, 3.2))
    settling = settling_damping(CARRIER)
    for damping, dash in ((0.15 * settling, "solid"), (0.5 * settling, (0, (6, 2))), (settling, (0, (2, 1.5)))):
        start = (-0.05, 0.0, -0.05 * CARRIER.spring_rate / (CARRIER.spring_rate + CARRIER.tyre_rate), 0.0)
        run = simulate(linear(CARRIER, damping), np.zeros_like, 2.0, start=start)
        line = ax.plot(run.time, 1e3 * run.body_height, color=INK, linestyle=dash)[0]
        at = {0.15: 0.87, 0.5: 0.42, 1.0: 0.26}[round(damping / settling, 2)]
        label_line(ax, line, f"{damping:.0f} N s/m", x=at, above=damping != settling)
    ax.set(
        xlim=(0.0, 2.0), ylim=(-55.0, 45.0), xlabel="time after letting go (s)", ylabel="body height (mm)",
        title=f"The bounce test likes {settling:.0f} N s/m: one swing and still",
    )  # fmt: skip
    alt = (
        f"Body height of the parked carrier after a push of 50 mm: with {0.15 * settling:.0f} N s/m it swings on for "
        f"two seconds, with {settling:.0f} N s/m it returns once and stays."
    )
    return still(figure, alt)


@style()
def free_body_sketch():
    """Body and wheel cut free, each with the forces that act on it."""
    figure, (left, right) = new_figure((8, 3.8), columns=2)
    sketch_axes(left, 4.0, 3.8)
    ground(left, 0.6, 3.4, 0.3)
    spring(left, 2.0, 0.3, 1.0, coils=3)
    left.text(2.25, 0.62, "$k_t$")
    mass(left, 2.0, 1.0, 1.4, 0.45, "$m_u$")
    spring(left, 1.6, 1.45, 2.55)
    left.text(1.15, 1.95, "$k_s$")
    dashpot(left, 2.4, 1.45, 2.55)
    left.text(2.65, 1.95, "$c$")
    mass(left, 2.0, 2.55, 2.2, 0.6, "$m_s$")
    for y, name in ((0.3, "$z_r$"), (1.2, "$z_u$"), (2.8, "$z_s$")):
        arrow(left, (3.45, y), (3.45, y + 0.5), name)
    left.set_title("One wheel and what it carries")
    sketch_axes(right, 4.0, 3.8)
    mass(right, 2.0, 2.75, 2.2, 0.6, "$m_s$")
    arrow(right, (2.0, 2.75), (2.0, 2.05), "$f$", PLUM)
    mass(right, 2.0, 1.0, 1.4, 0.45, "$m_u$")
    arrow(right, (1.7, 1.45), (1.7, 2.05), "$f$", PLUM, "left")
    arrow(right, (2.0, 1.0), (2.0, 0.3), "$k_t (z_u - z_r)$", BLUE)
    right.set_title("Cut free: what one feels, the other feels reversed")
    alt = (
        "Left: body on spring and damper, wheel, tyre spring, ground. Right: the body with the suspension force f "
        "pulling down; the wheel with f pulling up and the tyre force pulling down."
    )
    return still(figure, alt)


def equations():
    """Show the derivation of the equations of motion step by step."""
    return Shown("\n\n".join(step._repr_markdown_() for step in quarter_car.equations_of_motion().steps()))


def limits():
    """Show the limits of body over road that can be seen without algebra."""
    return Shown("\n\n".join(step._repr_markdown_() for step in quarter_car.limit_checks()))


def invariant_proof(which=0):
    """Show why a point cannot move: 0 for the body, 1 for the travel."""
    return Shown("\n\n".join(step._repr_markdown_() for step in closed_forms.invariant_points()[which].steps))


def modes_table():
    """Natural frequencies and damping ratios of the three machines."""
    lines = ["| machine | body (Hz) | wheel (Hz) | body, on paper (Hz) | wheel, on paper (Hz) | body damping ratio |",
             "|---|---:|---:|---:|---:|---:|"]  # fmt: skip
    for vehicle in FLEET.values():
        m = quarter_car.modes(vehicle)
        lines.append(
            f"| {vehicle.name} | {m.body_hz:.2f} | {m.wheel_hz:.1f} | {m.body_estimate_hz:.2f} | "
            f"{m.wheel_estimate_hz:.1f} | {m.body_damping_ratio:.2f} |"
        )
    return Shown("\n".join(lines))


def invariant_table():
    """The two invariant points of each machine."""
    lines = ["| machine | body point (Hz) | body / road | travel point (Hz) | travel / road |",
             "|---|---:|---:|---:|---:|"]  # fmt: skip
    for vehicle in FLEET.values():
        body, travel = (point.at(vehicle) for point in closed_forms.invariant_points())
        lines.append(
            f"| {vehicle.name} | {body.frequency_hz:.1f} | {body.value:.3f} | {travel.frequency_hz:.2f} | "
            f"{travel.value:.3f} |"
        )
    return Shown("\n".join(lines))


@style()
def invariant_figure(vehicle=CARRIER):
    """Body and travel over frequency for four dampers: all cross in one point each."""
    figure, axes = new_figure((9, 3.6), columns=2)
    points = [point.at(vehicle) for point in closed_forms.invariant_points()]
    dashes = ("solid", (0, (7, 2)), (0, (4, 1.5, 1, 1.5)), (0, (1.5, 1.2)))
    for ax, output, point in zip(axes, ("body", "travel"), points, strict=True):
        for factor, dash in zip((0.2, 0.7, 2.0, 8.0), dashes, strict=True):
            damping = factor * vehicle.damping
            gain = np.abs(quarter_car.frequency_response(vehicle, output, FREQUENCY, damping))
            line = ax.loglog(FREQUENCY, gain, color=INK, linestyle=dash, linewidth=1.3)[0]
            if output == "body" and factor in (0.2, 8.0):
                label_line(ax, line, f"{damping:.0f} N s/m", x={0.2: 0.95, 8.0: 6.5}[factor], above=factor > 1.0)
        ax.plot(point.frequency_hz, abs(point.value), "o", color=ORANGE, markersize=9)
        ax.annotate(
            f"{point.frequency_hz:.1f} Hz, {abs(point.value):.3g}", (point.frequency_hz, abs(point.value)),
            xytext=(10, 8) if output == "body" else (-20, 26), textcoords="offset points", color=ORANGE, va="center",
        )  # fmt: skip
        ax.set(xlabel="frequency (Hz)", xlim=(0.3, 40.0))
        ax.set_xticks([0.5, 1, 2, 5, 10, 20, 40], ["0.5", "1", "2", "5", "10", "20", "40"])
        ax.minorticks_off()
    axes[0].set(ylabel="body height / road height", ylim=(0.005, 8.0), title="No damper moves the orange point ...")
    axes[1].set(ylabel="travel / road height", ylim=(0.02, 10.0), title="... nor this one")
    alt = (
        f"Body and travel over frequency for the {vehicle.name} with 0.2, 0.7, 2 and 8 times its damping coefficient. "
        f"All body curves pass through {abs(points[0].value):.3f} at {points[0].frequency_hz:.1f} Hz, all travel "
        f"curves through {abs(points[1].value):.2f} at {points[1].frequency_hz:.2f} Hz."
    )
    return still(figure, alt)


@lru_cache
def _simulated(machine, seconds=160.0, seed=5):
    """Root mean squares of body acceleration, travel and tyre deflection, and mean heat, by simulation."""
    vehicle = linear(FLEET[machine])
    speed = vehicle.traverse_speed
    road = iso_8608(ROAD_CLASS, 20.0 * round(seconds * speed / 20.0), 0.005, seed=seed, band=(0.005, 90.0))
    run = simulate(vehicle, lambda time: road.at(speed * time) - road.height[0], seconds)
    keep = run.time > 5.0  # the start from rest has died away
    return (
        rms(run.body_acceleration[keep]), rms(run.travel[keep]), rms((run.wheel_height - run.road)[keep]),
        run.damper_heat / run.duration,
    )  # fmt: skip


def mean_square_table():
    """Closed form against simulation on a class C road, machine by machine."""
    lines = ["| machine | quantity | closed form | simulated | difference |", "|---|---|---:|---:|---:|"]
    for machine, vehicle in FLEET.items():
        white = intensity(vehicle)
        form = closed_forms.trade_off(vehicle, white)
        exact = (
            float(form.acceleration_rms), float(form.travel_rms), float(form.tyre_deflection_rms),
            float(closed_forms.mean_damper_power(vehicle, white)),
        )  # fmt: skip
        named = (("body acceleration (m/s²)", 1.0), ("travel (mm)", 1e3), ("tyre deflection (mm)", 1e3),
                 ("heat (W)", 1.0))  # fmt: skip
        for (name, scale), closed, found in zip(named, exact, _simulated(machine), strict=True):
            lines.append(
                f"| {vehicle.name} | {name} | {scale * closed:.2f} | {scale * found:.2f} | "
                f"{100.0 * (found / closed - 1.0):+.1f} % |"
            )
    return Shown("\n".join(lines))


@lru_cache
def felt_damping(vehicle):
    """The coefficient of least body acceleration as people feel it, weighted by Wk of ISO 2631-1, N s/m."""
    frequency = np.linspace(0.05, 120.0, 6000)
    felt = np.abs(weighting("Wk").response(frequency)) ** 2
    coefficients = np.geomspace(80.0, 3000.0, 400)[:, None]
    gain = quarter_car.frequency_response(vehicle, "acceleration", frequency, coefficients, per="velocity")
    return float(coefficients[np.argmin((np.abs(gain) ** 2 * felt).sum(axis=1)), 0])


def settings_table():
    """Which coefficient serves which wish, and what the bounce-test setting costs, machine by machine."""
    lines = ["| machine | calmest (N s/m) | calmest as felt, Wk (N s/m) | best grip (N s/m) | bounce test (N s/m) | "
             "its acceleration / least | its load variation / least |",
             "|---|---:|---:|---:|---:|---:|---:|"]  # fmt: skip
    for vehicle in FLEET.values():
        comfort, grip = closed_forms.comfort_damping(vehicle), closed_forms.grip_damping(vehicle)
        at = closed_forms.trade_off(vehicle, intensity(vehicle), np.array([comfort, grip, settling_damping(vehicle)]))
        lines.append(
            f"| {vehicle.name} | {comfort:.0f} | {felt_damping(vehicle):.0f} | {grip:.0f} | "
            f"{settling_damping(vehicle):.0f} | {at.acceleration_rms[2] / at.acceleration_rms[0]:.2f} | "
            f"{at.load_share_rms[2] / at.load_share_rms[1]:.2f} |"
        )
    return Shown("\n".join(lines))


# --- the live figure --------------------------------------------------------------------------------------------


def _compute(machine, damping, road, stiffness):
    base = FLEET[machine]
    vehicle = base.changed(spring_rate=stiffness * base.spring_rate)
    white = white_velocity_intensity(roughness(road), vehicle.traverse_speed)
    point = closed_forms.invariant_points()[0].at(vehicle)
    comfort, grip = closed_forms.comfort_damping(vehicle), closed_forms.grip_damping(vehicle)
    marks = np.array([comfort, grip, settling_damping(vehicle), damping])
    every = closed_forms.trade_off(vehicle, white, np.concatenate([marks, COEFFICIENTS]))
    calm = every.acceleration_rms / every.acceleration_rms[0]
    loose = every.load_share_rms / every.load_share_rms[1]
    return {
        "gain": np.abs(quarter_car.frequency_response(vehicle, "body", FREQUENCY, damping)),
        "point": (point.frequency_hz, abs(point.value)),
        "curve": (loose[4:], calm[4:]),
        "marks": list(zip(loose[:3], calm[:3], strict=True)),
        "here": (loose[3], calm[3]),
        "acceleration": float(every.acceleration_rms[3]),
        "load": float(every.load_share_rms[3]),
        "travel": 1e3 * float(every.travel_rms[3]),
        "comfort": comfort,
        "grip": grip,
    }


MARKS = (("calmest", (6, -14), "left"), ("best grip", (6, 6), "left"), ("bounce test", (8, -4), "left"))


def trade_off_figure(prediction=""):
    """Live: body response, comfort against grip, and what the road leaves of the grip, for any damper and spring."""

    def build(figure, result):
        left, middle, right = figure.subplots(1, 3, width_ratios=(1.0, 1.1, 0.35))
        left.set(
            xscale="log", yscale="log", xlim=(0.3, 40.0), ylim=(0.005, 8.0), xlabel="frequency (Hz)",
            ylabel="body height / road height", title="The curve pivots on the dot",
        )  # fmt: skip
        left.set_xticks([0.5, 2, 5, 20], ["0.5", "2", "5", "20"])
        left.minorticks_off()
        left.plot(FREQUENCY, result["gain"], **GHOST)
        middle.set(
            xlim=(0.9, 2.9), ylim=(0.8, 3.6), xlabel="tyre-load variation / least possible",
            ylabel="body acceleration / least possible", title="Every damper from soft to firm",
        )  # fmt: skip
        middle.plot(*result["here"], "o", markerfacecolor="none", markersize=12, **GHOST)
        right.set(xlim=(-0.6, 0.6), ylim=(0.0, 5.2), xticks=[], ylabel="3 x rms tyre-load variation / static load")
        right.set_title("Touching?")
        right.grid(visible=False, axis="x")
        right.axhline(1.0, color=ORANGE)
        right.text(0.55, 1.02, "lifts off", color=ORANGE, ha="right", va="bottom", fontsize=9)
        right.plot(0.0, 3.0 * result["load"], "o", markerfacecolor="none", markersize=12, **GHOST)
        held = {
            "gain": left.plot(FREQUENCY, result["gain"], color=BLUE)[0],
            "point": left.plot(*result["point"], "o", color=ORANGE, markersize=9)[0],
            "curve": middle.plot(*result["curve"], color=INK)[0],
            "load": right.plot([0.0, 0.0], [0.0, 0.0], color=BLUE, linewidth=3, marker="o", markevery=[1])[0],
        }
        for name, shift, side in MARKS:
            held[name] = middle.plot(0.0, 0.0, marker="s", markersize=6, linestyle="none", color=ORANGE)[0]
            held[f"{name} text"] = middle.annotate(
                name, (0.0, 0.0), xytext=shift, textcoords="offset points", color=ORANGE, ha=side, fontsize=9
            )
        if prediction:
            level = PREDICTED[prediction]
            middle.axhline(level, color=PLUM, linestyle=(0, (2, 1.5)), linewidth=1.3)
            middle.text(2.88, level, "predicted for the bounce test", color=PLUM, ha="right", va="bottom", fontsize=9)
        held["here"] = middle.plot(*result["here"], "o", color=BLUE, markersize=9)[0]
        draw(held, result)
        return held

    def draw(held, result):
        held["gain"].set_ydata(result["gain"])
        for name in ("point", "here"):
            held[name].set_data(*([value] for value in result[name]))
        held["curve"].set_data(*result["curve"])
        for (name, _, _), mark in zip(MARKS, result["marks"], strict=True):
            held[name].set_data(*([value] for value in mark))
            held[f"{name} text"].xy = mark
        held["load"].set_ydata([0.0, 3.0 * result["load"]])

    def read_out(result):
        return [
            ("body acceleration, rms (m/s²)", f"{result['acceleration']:.2f}"),
            ("tyre-load variation, rms (%)", f"{100.0 * result['load']:.0f}"),
            ("travel, rms (mm)", f"{result['travel']:.1f}"),
            ("calmest, best grip (N s/m)", f"{result['comfort']:.0f}, {result['grip']:.0f}"),
        ]

    def describe(values, result):
        loose, calm = (100.0 * (value - 1.0) for value in result["here"])
        leaves = 3.0 * result["load"] > 1.0
        return (
            f"With {values['damping']} N s/m the {FLEET[values['machine']].name} has {calm:.0f} % more body "
            f"acceleration than its calmest damper and {loose:.0f} % more tyre-load variation than its best for grip; "
            f"on class {values['road']} its tyre {'now and then leaves' if leaves else 'stays on'} the ground. At "
            f"{result['point'][0]:.1f} Hz the body follows {100.0 * result['point'][1]:.1f} % of the road, whatever "
            "the damper."
        )

    return LiveFigure(
        name="one damper, two wishes",
        sliders=[
            Options("machine", "machine", choices(FLEET), "carrier"),
            Options("road", "road class", list("BCD"), ROAD_CLASS),
            Slider("damping", "damping coefficient", 100, 4000, 50, 950, "N s/m"),
            Slider("stiffness", "spring rate, times its own", 0.5, 2.0, 0.1, 1.0),
        ],
        compute=_compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.8),
    )  # fmt: skip


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = "Comfort against grip of the stretcher carrier on a class C track, for every damping coefficient."
CARD_ALT = (
    "Curve of body acceleration against tyre-load variation as the damping coefficient grows; the calmest and the "
    "best-grip coefficient are different points on it, and the bounce-test setting lies above both."
)


@style()
def card_figure():
    """The page in one picture: the trade-off curve with its three marks."""
    figure, ax = new_figure((7, 3.4))
    result = _compute("carrier", CARRIER.damping, ROAD_CLASS, 1.0)
    ax.plot(*result["curve"], color=INK)
    coefficients = (result["comfort"], result["grip"], settling_damping(CARRIER))
    for (name, shift, side), mark, coefficient in zip(MARKS, result["marks"], coefficients, strict=True):
        ax.plot(*mark, "s", color=ORANGE)
        ax.annotate(
            f"{name}: {coefficient:.0f} N s/m", mark, xytext=shift, textcoords="offset points", color=ORANGE, ha=side
        )
    ax.set(
        xlim=(0.95, 1.9), ylim=(0.9, 2.0), xlabel="tyre-load variation / least possible",
        ylabel="body acceleration /\nleast possible", title="Calm and grip want different dampers",
    )  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
