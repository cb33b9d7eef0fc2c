"""Pictures of workbook 07: the puzzle, the live figure of a rear valve that the front tells, and the card."""

from functools import lru_cache

import numpy as np
from matplotlib.patches import Circle

from helpers.course import Fixed, FrontTells, bike, real_chain, ride, step_ground, two_wheels
from helpers.teaching import plots
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import FAINT, GHOST, INK, PALETTE, new_figure, still, style

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
HARD = {"a": (True, True), "b": (True, False), "c": (False, True), "d": (False, False)}  # if read low, if read high
ERRORS = np.array([-40, -30, -25, -20, -15, -10, -5, 0, 10, 20, 40, 60])  # %
SHOWN, TALLEST, MOST = np.linspace(-0.05, 0.65, 421), 40.0, 40.0  # s since the front meets the step; m/s2


@style()
def puzzle_sketch(car, speed):
    """The same root under the front wheel, and a wheelbase later under the rear; speed in m/s."""
    figure, ax = new_figure((9, 3.0))
    plots.sketch_axes(ax, 9.0, 2.9)
    plots.ground(ax, 0.2, 8.8, 0.75)
    angle, late = np.linspace(0.0, np.pi, 30), 1e3 * car.warning(speed)
    for root, name in ((4.4, "root"), (6.8, "the same root")):  # as far ahead of the front hub as of the rear hub
        ax.fill(root + 0.15 * np.cos(angle), 0.75 + 0.12 * np.sin(angle), color=ORANGE)
        ax.text(root, 0.55, name, ha="center", va="top", color=ORANGE)
    for axle in (3.85, 7.45):  # of the front wheel, riding to the right
        for hub in (axle - 1.2, axle):
            ax.add_patch(Circle((hub, 1.11), 0.36, facecolor="white", edgecolor=INK, linewidth=1.8))
            plots.spring(ax, hub, 1.11, 1.6, coils=4, width=0.12)
        plots.mass(ax, axle - 0.6, 1.6, 1.4, 0.22, "body")
    ax.text(3.25, 2.05, "front wheel meets the root:\nthe sensor speaks", ha="center", va="bottom", color=PLUM)
    told = f"$L/v$ later it is the rear's turn:\n{late:.0f} ms at {speed:.0f} m/s"
    ax.text(6.85, 2.05, told, ha="center", va="bottom", color=PLUM)
    ax.annotate("", (3.85, 0.28), (2.65, 0.28), arrowprops={"arrowstyle": "<->", "color": INK})
    ax.text(3.25, 0.16, f"wheelbase $L$ = {car.wheelbase:.1f} m", ha="center", va="top")
    plots.arrow(ax, (0.5, 1.5), (1.4, 1.5), "$v$")
    alt = f"Sketch: a trail bike whose front wheel meets a root, and {late:.0f} ms later, at {speed:.0f} m/s, "
    return still(figure, alt + f"the same bike a wheelbase of {car.wheelbase:.1f} m on, whose rear wheel meets it.")


def _chain(timing, milliseconds):
    """The chain with a valve that makes it so long from sample to 63 % of the force."""
    rest = timing.compute + timing.bus + timing.valve_time_constant
    return timing.changed(valve_dead_time=max(1e-3 * milliseconds - rest, 0.0))


@lru_cache(512)
def _peaks(car, met, timing, law):
    """Peak of the body's acceleration above front and rear, m/s2: array (2,)."""
    one = ride(car, met, law, timing, log_step=2.5e-4)
    return np.array([one.front.peak, one.rear.peak])


@lru_cache(64)
def _trace(car, met, timing, law):
    """Body acceleration above both ends and how far the rear valve is open, over SHOWN; NaN once the ride is over."""
    one = ride(car, met, law, timing, log_step=2.5e-4)
    time = one.time - one.time[np.argmax(one.front.road > 1e-6)]
    rows = (one.front.body_acceleration, one.rear.body_acceleration, 1.0 - one.rear.valve)
    return [np.interp(SHOWN, time, row, right=np.nan) for row in rows]


def warning_figure(cars, height, timing, law, prediction=""):
    """Live: front and rear over a step, the rear told by the front, and what a wrong speed costs.

    cars: by name, the first is shown; height of the step in m; timing, law: chain and `FrontTells` to start from.
    """
    names, start, grounds, known = list(cars), 1e3 * (timing.delay + timing.valve_time_constant), {}, {}
    own = law.changed(told_by="rear")

    def compute(machine, speed, valve, error, wait=True):
        car, now, told = cars[machine], _chain(timing, valve), law.changed(speed_error=error / 100)
        met = grounds.setdefault(speed, step_ground(height, float(speed)))
        key = machine, speed, valve
        if wait and key not in known:
            known[key] = np.array([_peaks(car, met, now, law.changed(speed_error=e / 100))[1] for e in ERRORS])
        warning, latency = car.warning(speed), now.delay + now.valve_time_constant
        return {
            "told": _trace(car, met, now, told), "open": _trace(car, met, timing, Fixed(0.0)),
            "locked": _trace(car, met, timing, Fixed(1.0)), "warning": warning,
            "early": round(1e3 * (warning - latency - told.wait(warning, latency))), "error": error,
            "peaks": {name: _peaks(car, met, now, one) for name, one in
                      {"told": told, "own": own, "open": Fixed(0.0), "locked": Fixed(1.0)}.items()},
            "curve": known.get(key, np.full(len(ERRORS), np.nan)), "usually": key == (names[0], 10, start),
        }  # fmt: skip

    def preview(**values):
        return compute(**values, wait=False)

    def build(figure, result):
        grid = figure.add_gridspec(2, 2, width_ratios=(1.35, 1.0))
        front, rear = figure.add_subplot(grid[0, 0]), figure.add_subplot(grid[1, 0])
        errors, held = figure.add_subplot(grid[:, 1]), {}
        for k, (ax, name) in enumerate(((front, "front"), (rear, "rear"))):
            ax.set(xlim=(SHOWN[0], SHOWN[-1]), ylim=(-TALLEST, TALLEST), ylabel=f"{name} (m/s²)")
            held["locked", k] = ax.plot(SHOWN, SHOWN, **GHOST | {"linestyle": (0, (4, 2))})[0]
            held["open", k] = ax.plot(SHOWN, SHOWN, **GHOST | {"color": BLUE, "linewidth": 4.0, "alpha": 0.5})[0]
            held["told", k] = ax.plot(SHOWN, SHOWN, color=PLUM)[0]
        front.set_title("Body: front tells (plum), open (blue), locked (dashed)")
        front.tick_params(labelbottom=False)
        rear.set_title("Bar: its valve open; line: the step arrives")
        rear.set_xlabel("time since the front wheel met the step (s)")
        held["bar"] = rear.plot(SHOWN, SHOWN, color=ORANGE, linewidth=6, solid_capstyle="butt")[0]
        held["arrival"] = rear.axvline(result["warning"], color=ORANGE, linewidth=1.2)
        errors.set(xlim=(-44.0, 64.0), ylim=(0.0, MOST), xlabel="speed read too low (−) or too high (+) (%)",
                   ylabel="peak above the rear wheel (m/s²)", title="What a wrong speed costs")  # fmt: skip
        errors.plot(ERRORS, result["curve"], **GHOST)
        looks = {"open": (BLUE, "solid"), "locked": (FAINT, (0, (4, 2))), "own": (ORANGE, (0, (7, 2)))}
        held["levels"] = {name: errors.plot([-42, 62], [0, 0], color=colour, linestyle=dash, linewidth=1.2)[0]
                          for name, (colour, dash) in looks.items()}  # fmt: skip
        for row, (name, words) in enumerate({"locked": "dashed: locked", "own": "long dashes: own sensor",
                                             "open": "blue: open"}.items()):  # fmt: skip
            errors.text(62.0, 0.97 * MOST - 2.6 * row, words, color=looks[name][0], ha="right", va="top", fontsize=9)
        held["curve"] = errors.plot(ERRORS, result["curve"], color=PLUM, marker="D", markersize=3.5)[0]
        held["here"] = errors.plot([0.0], [0.0], "D", color=PLUM, markersize=10)[0]
        if prediction:
            levels = [result["peaks"]["locked" if hard else "open"][1] for hard in HARD[prediction]]
            held["predicted"] = errors.plot([-30, 30], levels, "x", color=INK, markersize=12, markeredgewidth=2.2)[0]
            held["word"] = errors.text(-30, levels[0] - 1.5, "predicted", color=INK, ha="center", va="top", fontsize=9)
        draw(held, result)
        return held

    def draw(held, result):
        for k in range(2):
            for name in ("locked", "open", "told"):
                held[name, k].set_ydata(np.clip(result[name][k], -TALLEST, TALLEST))
        held["bar"].set_ydata(np.where(result["told"][2] > 0.5, -0.88 * TALLEST, np.nan))
        held["arrival"].set_xdata([result["warning"]] * 2)
        for name, line in held["levels"].items():
            line.set_ydata([min(result["peaks"][name][1], MOST)] * 2)
        held["curve"].set_ydata(np.clip(result["curve"], 0.0, MOST))
        held["here"].set_data([result["error"]], [min(result["peaks"]["told"][1], MOST)])
        if prediction:
            for name in ("predicted", "word"):
                held[name].set_visible(result["usually"])

    def read_out(result):
        early, peaks = result["early"], result["peaks"]
        return [("warning L/v (ms)", f"{1e3 * result['warning']:.0f}"),
                ("rear valve open (ms)", f"{abs(early)} {'before the step' if early >= 0 else 'late'}"),
                ("front peak / open", f"{peaks['told'][0] / peaks['open'][0]:.2f}"),
                ("rear peak / open", f"{peaks['told'][1] / peaks['open'][1]:.2f}"),
                ("the same, own sensor", f"{peaks['own'][1] / peaks['open'][1]:.2f}")]  # fmt: skip

    def describe(values, result):
        early, error, peaks = result["early"], values["error"], result["peaks"]
        read = f"{abs(error)} % too {'low' if error < 0 else 'high'}" if error else "right"
        when = f"{abs(early)} ms {'before' if early >= 0 else 'after'}"
        return (f"{values['machine'].capitalize()}, step of {1e3 * height:.0f} mm, at {values['speed']} m/s, chain of "
                f"{values['valve']:g} ms, speed read {read}: the rear valve is open {when} the step is due; peaks are "
                f"{peaks['told'][0]:.1f} m/s² in front (open {peaks['open'][0]:.1f}) and {peaks['told'][1]:.1f} m/s² "
                f"behind (open {peaks['open'][1]:.1f}, locked {peaks['locked'][1]:.1f}, by its own sensor "
                f"{peaks['own'][1]:.1f}).")  # fmt: skip

    return LiveFigure(
        name="the rear wheel's warning",
        sliders=[
            Options("machine", "machine", [(name, name) for name in names], names[0]),
            Slider("speed", "speed", 3, 20, 1, 10, "m/s"),
            Slider("valve", "chain, sample to 63 % of the force", 5.0, 150.0, 0.5, start, "ms"),
            Slider("error", "error of the speed", -40, 60, 5, 0, "%"),
        ],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe, preview=preview, size=(9, 3.7),
    )  # fmt: skip


CARD_CAPTION = "Peak body acceleration over the open damper's, against the chain: trail bike, 10 m/s, step of 30 mm."
CARD_ALT = (
    "Three curves over the chain's length. Front and a rear with its own sensor rise from the open "
    "damper's level at 7 ms to the locked one's at 20 ms; the rear that the front tells stays at the open damper's "
    "until the chain is as long as the warning of 120 ms."
)


@style()
def card_figure():
    """The page in one picture: slowness is the front wheel's problem."""
    figure, ax = new_figure((7, 3.2))
    car, met = two_wheels(bike), step_ground(0.03, 10.0)
    chains = np.array([5.0, 6.5, 8, 10, 12, 14, 17, 20, 30, 45, 60, 80, 100, 110, 120, 130, 150])
    rows = [[_peaks(car, met, _chain(real_chain, ms), FrontTells(told_by=by)) for by in ("rear", "front")]
            for ms in chains] / _peaks(car, met, real_chain, Fixed(0.0))  # fmt: skip
    looks = (("front", rows[:, 0, 0], INK, "solid", 30.0), ("rear, own sensor", rows[:, 0, 1], ORANGE, "dashed", 55.0),
             ("rear, front tells", rows[:, 1, 1], PLUM, "dotted", 30.0))  # fmt: skip
    for name, row, colour, dash, where in looks:
        plots.label_line(ax, ax.plot(chains, row, color=colour, linestyle=dash)[0], name, x=where)
    ax.axvline(1e3 * car.warning(10.0), color=FAINT, linewidth=1.0)
    ax.set(xscale="log", xlim=(5.0, 150.0), ylim=(0.8, 1.9), xlabel="from sample to 63 % of the force (ms)",
           ylabel="peak / open damper's", title="A slow chain is the front wheel's problem")  # fmt: skip
    ax.set_xticks([5, 10, 20, 50, 100], ["5", "10", "20", "50", "100"])
    ax.minorticks_off()
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
