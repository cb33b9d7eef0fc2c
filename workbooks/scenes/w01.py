"""Pictures of workbook 01: the bounce test, the forces, the live trade-off and the card."""

import math

import numpy as np

from helpers import course
from helpers.models import closed_forms, quarter_car
from helpers.models.terrain import roughness, white_velocity_intensity
from helpers.simulation.runs import simulate
from helpers.teaching import plots
from helpers.teaching.kept import with_own
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import GHOST, INK, PALETTE, label_line, new_figure, still, style

ROAD_CLASS = "C"
BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
PREDICTED = {"same": 1.0, "third": 1.35, "mean square": 1.83, "coefficient": 3.37}  # shaking over the least
FREQUENCY = np.geomspace(0.3, 40.0, 400)  # Hz
COEFFICIENTS = np.geomspace(60.0, 6000.0, 160)  # N s/m
MARKS = (("calmest", (6, -14), "left"), ("best grip", (6, 6), "left"), ("bounce test", (8, -4), "left"))


def settling_damping(vehicle):
    """The coefficient at which a parked body settles without a second swing worth seeing: damping ratio 1/sqrt 2."""
    return math.sqrt(2.0 * vehicle.spring_rate * vehicle.body_mass)


@style()
def bounce_sketch(vehicle):
    """Tomas's test: the parked machine is pushed down 50 mm and let go."""
    figure, ax = new_figure((9, 3.2))
    settling, free = settling_damping(vehicle), {"friction": 0.0, "bump_travel": 1.0, "rebound_travel": 1.0}
    for damping, dash in ((0.15 * settling, "solid"), (0.5 * settling, (0, (6, 2))), (settling, (0, (2, 1.5)))):
        start = (-0.05, 0.0, -0.05 * vehicle.spring_rate / (vehicle.spring_rate + vehicle.tyre_rate), 0.0)
        run = simulate(vehicle.plain(damping).changed(**free), np.zeros_like, 2.0, start=start)
        line = ax.plot(run.time, 1e3 * run.body_height, color=INK, linestyle=dash)[0]
        at = {0.15: 0.87, 0.5: 0.42, 1.0: 0.26}[round(damping / settling, 2)]
        label_line(ax, line, f"{damping:.0f} N s/m", x=at, above=damping != settling)
    ax.set(xlim=(0.0, 2.0), ylim=(-55.0, 45.0), xlabel="time after letting go (s)", ylabel="body height (mm)",
           title=f"The bounce test likes {settling:.0f} N s/m: one swing and still")  # fmt: skip
    alt = f"Body height of the parked {vehicle.name} after a push of 50 mm: with {0.15 * settling:.0f} N s/m it swings"
    alt += f" on for two seconds, with {settling:.0f} N s/m it returns once and stays."
    return still(figure, alt)


@style()
def free_body_sketch():
    """Body and wheel cut free, each with the forces that act on it."""
    figure, (left, right) = new_figure((8, 3.8), columns=2)
    for ax, title, height in ((left, "One wheel and what it carries", 2.55),
                              (right, "Cut free: what one feels, the other feels reversed", 2.75)):  # fmt: skip
        plots.sketch_axes(ax, 4.0, 3.8)
        plots.mass(ax, 2.0, 1.0, 1.4, 0.45, "$m_u$")
        plots.mass(ax, 2.0, height, 2.2, 0.6, "$m_s$")
        ax.set_title(title)
    plots.ground(left, 0.6, 3.4, 0.3)
    plots.spring(left, 2.0, 0.3, 1.0, coils=3)
    plots.spring(left, 1.6, 1.45, 2.55)
    plots.dashpot(left, 2.4, 1.45, 2.55)
    for x, y, name in ((2.25, 0.62, "$k_t$"), (1.15, 1.95, "$k_s$"), (2.65, 1.95, "$c$")):
        left.text(x, y, name)
    for y, name in ((0.3, "$z_r$"), (1.2, "$z_u$"), (2.8, "$z_s$")):
        plots.arrow(left, (3.45, y), (3.45, y + 0.5), name)
    plots.arrow(right, (2.0, 2.75), (2.0, 2.05), "$f$", PLUM)
    plots.arrow(right, (1.7, 1.45), (1.7, 2.05), "$f$", PLUM, "left")
    plots.arrow(right, (2.0, 1.0), (2.0, 0.3), "$k_t (z_u - z_r)$", BLUE)
    alt = "Left: body on spring and damper, wheel, tyre spring, ground. Right: the body with the suspension force f "
    alt += "pulling down; the wheel with f pulling up and the tyre force pulling down."
    return still(figure, alt)


def _compute(base, damping, road, stiffness):
    """What the figure shows of a machine whose spring is `stiffness` times its own."""
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
        "point": (point.frequency_hz, abs(point.value)), "curve": (loose[4:], calm[4:]),
        "marks": list(zip(loose[:3], calm[:3], strict=True)), "here": (loose[3], calm[3]),
        "acceleration": float(every.acceleration_rms[3]), "load": float(every.load_share_rms[3]),
        "travel": 1e3 * float(every.travel_rms[3]), "comfort": comfort, "grip": grip,
    }  # fmt: skip


def trade_off_figure(prediction, machines):
    """Live: body response, comfort against grip, and what the road leaves of the grip, for any damper and spring."""
    fleet = with_own({vehicle.name: vehicle for vehicle in machines})

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
            f"With {values['damping']} N s/m the {values['machine']} has {calm:.0f} % more body "
            f"acceleration than its calmest damper and {loose:.0f} % more tyre-load variation than its best for grip; "
            f"on class {values['road']} its tyre {'now and then leaves' if leaves else 'stays on'} the ground. At "
            f"{result['point'][0]:.1f} Hz the body follows {100.0 * result['point'][1]:.1f} % of the road, whatever "
            "the damper."
        )

    return LiveFigure(
        name="one damper, two wishes",
        sliders=[
            Options("machine", "machine", list(fleet), course.carrier.name),
            Options("road", "road class", list("BCD"), ROAD_CLASS),
            Slider("damping", "damping coefficient", 100, 4000, 50, 950, "N s/m"),
            Slider("stiffness", "spring rate, times its own", 0.5, 2.0, 0.1, 1.0),
        ],
        compute=lambda machine, **values: _compute(fleet[machine], **values),
        build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.8),
    )  # fmt: skip


CARD_CAPTION = "The linear model of the stretcher carrier on a random road: every damping coefficient."
CARD_ALT = "Curve of body acceleration against tyre-load variation as the coefficient grows: the calmest and the "
CARD_ALT += "best-grip coefficient are different points on it, and the bounce-test setting lies above both."


@style()
def card_figure():
    """The page in one picture: the trade-off curve with its three marks."""
    vehicle, (figure, ax) = course.carrier, new_figure((7, 3.4))
    result = _compute(vehicle, vehicle.damping, ROAD_CLASS, 1.0)
    ax.plot(*result["curve"], color=INK)
    coefficients = (result["comfort"], result["grip"], settling_damping(vehicle))
    for (name, shift, side), mark, coefficient in zip(MARKS, result["marks"], coefficients, strict=True):
        ax.plot(*mark, "s", color=ORANGE)
        text = f"{name}: {coefficient:.0f} N s/m"
        ax.annotate(text, mark, xytext=shift, textcoords="offset points", color=ORANGE, ha=side)
    ax.set(xlim=(0.95, 1.9), ylim=(0.9, 2.0), xlabel="tyre-load variation / least possible",
           ylabel="body acceleration /\nleast possible", title="By formula, calm and grip differ")  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
