"""Pictures of workbook 06: a wheel at a step, a damper that waits, the map of speed against response time, the card."""

from functools import lru_cache

import numpy as np
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.patches import Circle
from matplotlib.patheffects import withStroke

from helpers.control.latency import Chain
from helpers.models import wheel_step
from helpers.models.vehicles import FLEET, TRAIL_BIKE
from helpers.teaching.kept import choices
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import (
    FAINT,
    GHOST,
    INK,
    PALETTE,
    arrow,
    ground,
    new_figure,
    sketch_axes,
    still,
    style,
)
from scenes import w06_numbers as numbers
from scenes.w06_numbers import CHAINS, PLAIN, QUICK, RESPONSES, SPEEDS, THRESHOLD
from scenes.w06_tables import (  # the page asks this module for its tables too
    blow_off_table,
    budget_table,
    chain_table,
    climb_steps,
    distance_table,
    felt_table,
    fragile_table,
    hidden_table,
    hold_table,
    machine_table,
    push,
    reading_steps,
    release_table,
    rest_table,
    roots_table,
    screw_price,
    share_table,
)

__all__ = [
    "PLAIN", "QUICK", "TRAIL_BIKE", "blow_off_table", "budget_table", "card", "chain_table", "climb_figure",
    "climb_steps", "distance_table", "felt_table", "fragile_table", "hidden_table", "hold_table", "machine_table",
    "map_figure", "numbers", "puzzle_sketch", "reading_steps", "release_table", "rest_table", "roots_table",
    "screw_price", "share_table", "waiting_figure",
]  # fmt: skip

PREDICTED = {"a": "at 20 m/s", "b": "alike", "c": "at 3 m/s", "d": "nowhere"}
BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
MEANS = {name: Chain.of(timing).mean for name, timing in CHAINS.items()}  # s


# --- puzzle and model -------------------------------------------------------------------------------------------------


def _wheel(ax, x, z, radius, **look):
    ax.add_patch(Circle((x, radius + z), radius, fill=False, **({"edgecolor": INK, "linewidth": 1.5} | look)))


@style()
def puzzle_sketch():
    """To scale: where two wheels are when each chain has opened its valve, counted from first contact."""
    figure, axes = new_figure((9, 3.6), columns=2)
    told = []
    for ax, key, speed in zip(axes, ("bike", "motorcycle"), (3.0, 20.0), strict=True):
        radius, climb = FLEET[key].wheel_radius, wheel_step.step(FLEET[key].wheel_radius, 0.05)
        sketch_axes(ax, 1.3, 0.85)
        ground(ax, 0.0, 0.5 + climb.length, 0.06, 0.05)
        ground(ax, 0.5 + climb.length, 1.3, 0.11, 0.05)
        ax.plot([0.5 + climb.length] * 2, [0.06, 0.11], color=INK, linewidth=1.5)
        looks = {"contact": {"edgecolor": FAINT, "linewidth": 1.0}, "quick chain": {"edgecolor": PLUM},
                 "plain chain": {"edgecolor": ORANGE, "linestyle": (0, (5, 2))}}  # fmt: skip
        for name, look in looks.items():
            x = speed * MEANS.get(name, 0.0)
            _wheel(ax, 0.5 + x, 0.06 + float(climb.rise(x)), radius, **look)
        quick, plain = (speed * mean for mean in MEANS.values())
        told.append(f"{FLEET[key].name} at {speed:g} m/s: {1e3 * quick:.0f} mm (quick), {1e3 * plain:.0f} mm (plain)")
        ax.set_title(told[-1], fontsize=10)
    for x, z, name, colour in ((0.16, 0.66, "first contact", FAINT), (0.6, 0.78, "quick chain", PLUM),
                               (1.15, 0.62, "plain chain", ORANGE)):  # fmt: skip
        axes[1].text(x, z, name, color=colour, ha="center")
    alt = f"Two wheels at a 50 mm step, to scale, rolled on from contact while a chain responds. {'; '.join(told)}. "
    return still(figure, alt + "The motorcycle's wheel is on top of the step when the plain chain has opened.")


@style()
def climb_figure():
    """The geometry of a climb, and the bike's axle over three steps."""
    figure, (left, right) = new_figure((9, 3.6), columns=2, width_ratios=(0.8, 1.2))
    sketch_axes(left, 1.1, 0.95)
    radius, height, x0 = 0.36, 0.1, 0.42
    climb = wheel_step.step(radius, height)
    edge = x0 + climb.length
    ground(left, 0.0, edge, 0.06, 0.05)
    ground(left, edge, 1.1, 0.06 + height, 0.05)
    left.plot([edge, edge], [0.06, 0.06 + height], color=INK, linewidth=1.5)
    _wheel(left, x0, 0.06, radius)
    left.plot([x0, edge], [0.06 + radius, 0.06 + height], color=BLUE, linewidth=1.3)
    left.text(x0 + 0.16, 0.33, "$R$", color=BLUE)
    along = np.linspace(0.0, climb.length, 60)
    left.plot(x0 + along, 0.06 + radius + climb.rise(along), color=ORANGE)
    arrow(left, (x0, 0.06 + radius), (x0 + 0.14, 0.06 + radius + 0.14 * climb.first_slope), "", ORANGE)
    left.text(x0 + 0.02, 0.57, "axle's path", color=ORANGE, ha="right")
    left.annotate("", (edge + 0.12, 0.06 + height), (edge + 0.12, 0.06), arrowprops={"arrowstyle": "<->", "color": INK})
    left.text(edge + 0.15, 0.06 + 0.5 * height, "$h$", va="center", bbox={"facecolor": "white", "edgecolor": "none",
                                                                          "pad": 0.5})  # fmt: skip
    left.annotate("", (edge, 0.02), (x0, 0.02), arrowprops={"arrowstyle": "<->", "color": INK})
    left.text(0.5 * (x0 + edge), 0.0, "$d$", ha="center", va="top")
    left.set(ylim=(-0.08, 0.87), title="The axle turns about the edge")
    along = np.linspace(0.0, 260.0, 400)
    after = []
    for height, dash, at in ((0.02, "solid", 78.0), (0.05, (0, (6, 2)), 108.0), (0.1, (0, (2, 1.5)), 150.0)):
        climb = wheel_step.step(radius, height)
        after.append(f"{100.0 * climb.share(0.06):.0f}")
        right.plot(along, 100.0 * climb.share(along / 1e3), color=INK, linestyle=dash)
        right.text(at, 100.0 * climb.share(at / 1e3), f"{1e3 * height:.0f} mm", ha="center", va="center",
                   bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0})  # fmt: skip
    for x in (15.0, 30.0, 60.0):
        right.axvline(x, color=PLUM, linewidth=1.0)
        right.text(x, 104.0, f"{x:.0f}", color=PLUM, ha="center", fontsize=9,
                   bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5})  # fmt: skip
    right.set(
        xlim=(0.0, 260.0), ylim=(0.0, 110.0), xlabel="distance from first contact (mm)",
        ylabel="share of the step climbed (%)", title="Most of the rise comes early",
    )  # fmt: skip
    alt = (
        "Left: a wheel touches a step's edge; its axle then moves on a circle about the edge, steepest at first. "
        "Right: share of the step climbed by the trail bike's axle over distance for 20, 50 and 100 mm: after 60 mm "
        f"it is {', '.join(after)} per cent."
    )
    return still(figure, alt)


@style()
def waiting_figure():
    """Bike, 50 mm: force of the damper on the body, and the body's acceleration, at two speeds."""
    figure, axes = new_figure((9, 5.0), rows=2, columns=2, sharex=True)
    words = []
    for column, speed in enumerate((3.0, 20.0)):
        force, body = axes[:, column]
        opened, locked = (numbers.always("bike", 0.05, speed, setting) for setting in (0.0, 1.0))
        late = numbers.over(
            numbers.machine("bike"), 0.05, speed, numbers.ModeSwitch(), numbers.responding(MEANS["quick chain"])
        )
        time = 1e3 * opened.time
        looks = ((opened, INK, "solid"), (locked, ORANGE, (0, (6, 2))))
        for run, colour, dash in looks:
            force.plot(time, push(run), color=colour, linestyle=dash)
            body.plot(time, run.body_acceleration, color=colour, linestyle=dash)
        body.plot(time, late.body_acceleration, color=PLUM, linestyle=(0, (2, 1.2)))
        at = 1e3 * numbers.half_open(late)
        for ax in (force, body):
            ax.axvline(at, color=PLUM, linewidth=1.0)
        force.set(xlim=(0.0, 40.0), ylim=(-500.0, 2400.0))
        body.set(xlim=(0.0, 40.0), ylim=(-5.0, 42.0), xlabel="time from first contact (ms)")
        force.set_title(f"{speed:g} m/s: quick chain half open at {at:.1f} ms")
        body.set_title(f"open: peak {numbers.peak(opened):.1f} m/s² at {numbers.peak_time(opened):.1f} ms")
        words.append(
            f"At {speed:g} m/s the quick chain's valve is half open at {at:.1f} ms; peaks of body acceleration: open "
            f"{numbers.peak(opened):.1f}, quick chain {numbers.peak(late):.1f}, locked {numbers.peak(locked):.1f} m/s²."
        )
    axes[0, 0].set_ylabel("damper's push\non the body (N)")
    axes[1, 0].set_ylabel("body\nacceleration (m/s²)")
    axes[0, 0].text(22.0, 1200.0, "locked", color=ORANGE)
    axes[0, 0].text(25.0, 250.0, "open", color=INK, ha="right")
    axes[1, 0].text(24.0, 23.5, "locked", color=ORANGE)
    axes[1, 0].text(18.0, 8.0, "open", color=INK)
    for ax, z in ((axes[1, 0], 36.0), (axes[1, 1], 37.0)):
        ax.text(39.0, z, "dotted: quick chain", color=PLUM, ha="right", va="bottom", fontsize=9)
    return still(figure, "Trail bike at a 50 mm step, damper open and locked. " + " ".join(words))


# --- the live figure ------------------------------------------------------------------------------------------------

USUAL = (50, int(THRESHOLD), 1.0)  # step in mm, threshold, blow-off: what each machine's grey curves stand for
LEVELS = (5.0, 10.0, 20.0, 40.0)  # %, borders of the map's tints
TINTS = ("#fbf8fa", "#efe3eb", "#dfc3d6", "#cd9fbf", "#bd7fab")
LABELLED = [(float(v), float(ms)) for ms in (2, 8, 16, 20, 23) for v in (3, 6, 10, 15, 19)]  # m/s, ms
HALO = [withStroke(linewidth=2.5, foreground="white")]
TOP = 130.0  # %


@lru_cache(64)
def _compute(machine, height_mm, threshold, blow_off):
    height, threshold = height_mm / 1e3, float(threshold)
    costs = numbers.cost_map(machine, height, threshold, blow_off)
    climb = wheel_step.step(FLEET[machine].wheel_radius, height)
    locked = [numbers.always(machine, height, float(v), 1.0, blow_off) for v in SPEEDS]
    waits = np.array([numbers.felt(run, threshold) for run in locked])
    quick = MEANS["quick chain"]
    share = 100.0 * climb.share(SPEEDS * (waits + quick))
    return {
        "machine": machine, "height": height_mm, "costs": costs, "waits": 1e3 * waits, "share": share,
        "quick": np.array([numbers.chain_costs(machine, height, float(v), "quick chain", threshold, blow_off).mean()
                           for v in SPEEDS]),
        "plain": {v: numbers.chain_costs(machine, height, v, "plain chain", threshold, blow_off).mean()
                  for v in (FLEET[machine].climb_speed, FLEET[machine].descent_speed)},
        "limit": np.array([1e3 * numbers.deadline(RESPONSES, column, numbers.ALLOWED) for column in costs.T]),
        "never": np.array([numbers.locked_cost(machine, height, float(v), blow_off) for v in SPEEDS]),
    }  # fmt: skip


def _border(limit):
    """The border as it is drawn: at the foot where not even no delay will do, at the top where any delay will."""
    return np.clip(np.nan_to_num(limit, nan=0.0, posinf=1e6), 0.0, 1e3 * RESPONSES[-1] + 0.5)


def map_figure(prediction=""):
    """Live: cost over speed and response time for any step; beside it, share climbed and cost along the speed."""

    def build(figure, result):
        left, right = figure.subplots(1, 2, width_ratios=(1.25, 1.0))
        half_v, half_t = 0.5 * (SPEEDS[1] - SPEEDS[0]), 0.5e3 * (RESPONSES[1] - RESPONSES[0])
        low, high = SPEEDS[0] - half_v, SPEEDS[-1] + half_v
        top = 1e3 * RESPONSES[-1] + half_t
        left.set(xlim=(low, high), ylim=(-half_t, top), xlabel="speed (m/s)", xticks=(2, 5, 10, 15, 20),
                 ylabel="response time of the whole chain (ms)", title="Cost (%) against always open")  # fmt: skip
        left.grid(visible=False)
        held = {"map": left.imshow(
            result["costs"], origin="lower", aspect="auto", extent=(low, high, -half_t, top), interpolation="nearest",
            cmap=ListedColormap(TINTS), norm=BoundaryNorm((-1e3, *LEVELS, 1e3), len(TINTS)), zorder=0,
        )}  # fmt: skip
        held["usual limit"] = left.plot(SPEEDS, SPEEDS, **GHOST, zorder=1.5)[0]
        held["limit"] = left.plot(SPEEDS, SPEEDS, color=INK, zorder=2)[0]
        for name, colour, dash in (("quick", PLUM, "solid"), ("plain", ORANGE, (0, (6, 2)))):
            level = 1e3 * MEANS[f"{name} chain"]
            held[f"{name} line"] = left.plot([low, high], [level] * 2, color=colour, linestyle=dash, linewidth=1.3)[0]
            held[f"{name} name"] = left.text(high - 0.15, level - 0.3, f"{name} chain", color=colour, ha="right",
                                             va="top", fontsize=9, path_effects=HALO, zorder=3)  # fmt: skip
        held["numbers"] = [left.text(v, ms, "", ha="center", va="center", fontsize=8.5, zorder=3, path_effects=HALO)
                           for v, ms in LABELLED]  # fmt: skip
        held["border"] = left.text(12.5, 0.0, "10 %", ha="center", va="bottom", fontsize=9, zorder=3, path_effects=HALO)
        right.set(xlim=(low, high), ylim=(-10.0, TOP), xlabel="speed (m/s)", xticks=(2, 5, 10, 15, 20), ylabel="%",
                  title="Quick chain: climbed is not cost")  # fmt: skip
        for name in ("share", "quick"):
            held[f"usual {name}"] = right.plot(SPEEDS, SPEEDS, **GHOST)[0]
        held["unfelt"] = right.text(0.94, 0.835, "no dashes: never felt", color=BLUE, ha="right", va="center",
                                    transform=right.transAxes, fontsize=9)  # fmt: skip
        held["share"] = right.plot(SPEEDS, SPEEDS, color=BLUE, linestyle=(0, (6, 2)))[0]
        held["quick"] = right.plot(SPEEDS, SPEEDS, color=PLUM)[0]
        for y, text, colour in ((0.955, "dashed: step climbed when half open", BLUE), (0.895, "solid: cost", PLUM)):
            right.text(0.94, y, text, color=colour, ha="right", va="center", transform=right.transAxes, fontsize=9)
        if prediction:
            _predicted(right, prediction)
        draw(held, result)
        return held

    def draw(held, result):
        usual = _compute(result["machine"], *USUAL)
        held["map"].set_data(result["costs"])
        border = _border(result["limit"])
        held["limit"].set_ydata(border)
        held["usual limit"].set_ydata(_border(usual["limit"]))
        at = int(np.argmin(np.abs(SPEEDS - 12.0)))
        held["border"].set_position((12.5, border[at] + 0.3))
        held["border"].set_visible(0.0 < border[at] < 21.0)
        for text, (v, ms) in zip(held["numbers"], LABELLED, strict=True):
            row, column = int(np.argmin(np.abs(1e3 * RESPONSES - ms))), int(np.argmin(np.abs(SPEEDS - v)))
            text.set_text(numbers.whole(result["costs"][row, column]))
        held["unfelt"].set_visible(bool(np.isnan(result["share"]).any()))
        for name in ("share", "quick"):
            held[name].set_ydata(np.minimum(result[name], TOP - 2.0))
            held[f"usual {name}"].set_ydata(usual[name])

    def read_out(result):
        vehicle = FLEET[result["machine"]]
        at = [int(np.argmin(np.abs(SPEEDS - v))) for v in (vehicle.climb_speed, vehicle.descent_speed)]
        paces = " and ".join(f"{SPEEDS[k]:g}" for k in at)
        never = "\N{EN DASH}"
        return [
            (f"at {paces} m/s: felt after (ms)", ", ".join(
                never if np.isnan(result["waits"][k]) else f"{result['waits'][k]:.1f}" for k in at)),
            ("cost, quick chain (%)", ", ".join(numbers.whole(result["quick"][k]) for k in at)),
            ("cost, plain chain (%)", ", ".join(numbers.whole(cost) for cost in result["plain"].values())),
            ("cost, never opened (%)", ", ".join(numbers.whole(result["never"][k]) for k in at)),
        ]  # fmt: skip

    def describe(values, result):
        vehicle = FLEET[result["machine"]]
        lock = {1.0: "as supplied", 2.0: "of twice the blow-off", 4.0: "of four times the blow-off"}[values["blow_off"]]
        within = result["quick"] <= numbers.ALLOWED
        if within.all():
            where = "at every speed from 2 to 20 m/s"
        elif not within.any():
            where = "at no speed from 2 to 20 m/s"
        else:
            where = "at " + _spans(SPEEDS[within]) + " m/s"
        worst = int(np.argmax(result["quick"]))
        return (
            f"{vehicle.name.capitalize()}, step of {values['height_mm']} mm, threshold {values['threshold']} m/s², "
            f"lockout {lock}: with the quick chain the cost is within 10 % {where}; it is highest at "
            f"{SPEEDS[worst]:g} m/s with {numbers.whole(result['quick'][worst])} %. Below the black line on the map a "
            "chain is quick enough for 10 %."
        )

    return LiveFigure(
        name="speed against response time",
        sliders=[
            Options("machine", "machine", choices(FLEET), "bike"),
            Slider("height_mm", "step", 10, 100, 5, 50, "mm"),
            Slider("threshold", "threshold; 0: first touch", 0, 80, 5, int(THRESHOLD), "m/s²"),
            Options("blow_off", "lockout", [("as supplied", 1.0), ("twice the blow-off", 2.0),
                                            ("four times the blow-off", 4.0)], 1.0),
        ],
        compute=_compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.7),
    )  # fmt: skip


def _spans(speeds):
    """Neighbouring speeds drawn together: '6 to 10, 14'."""
    groups = np.split(speeds, np.flatnonzero(np.diff(speeds) > 1.5) + 1)
    return ", ".join(f"{g[0]:g}" if len(g) == 1 else f"{g[0]:g} to {g[-1]:g}" for g in groups)


def _predicted(ax, prediction):
    """What the predicted option claims about the cost."""
    told = {"color": INK, "fontsize": 9, "va": "bottom"}
    if prediction in ("a", "c"):
        v = 20.0 if prediction == "a" else 3.0
        ax.axvline(v, color=INK, linestyle=(0, (1, 1.5)), linewidth=1.3)
        ax.text(v + (-0.2 if prediction == "a" else 0.2), 103.0, "predicted worst", ha="right" if prediction == "a"
                else "left", **told)  # fmt: skip
    else:
        level, name = (40.0, "predicted: alike (at any height)") if prediction == "b" else (0.0, "predicted: nowhere")
        ax.axhline(level, color=INK, linestyle=(0, (1, 1.5)), linewidth=1.3)
        ax.text(SPEEDS[-1], level + (1.0 if prediction == "b" else -9.0), name, ha="right", **told)


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = (
    "Trail bike, resting locked, threshold 40 m/s²: response time of the whole chain, counted from felt, that costs "
    "10 % of peak body acceleration against always open. From 12 m/s on, a 100 mm step costs less even if it stays "
    "locked."
)
CARD_ALT = (
    "Response time allowed over speed for steps of 20, 50 and 100 mm. The 20 mm curve starts only near 7 m/s and stays "
    "at 3 to 8 ms; the 50 mm curve rises steeply from 4 to 6 m/s and then lies at 12 to 15 ms; the 100 mm curve lies "
    "above 17 ms from 5 m/s on. The quick chain's 5.6 ms and the plain chain's 12.6 ms are lines across."
)


@style()
def card_figure():
    """The page in one picture: where a few milliseconds are enough."""
    figure, ax = new_figure((7, 3.4))
    for height, dash, at in ((0.02, (0, (2, 1.5)), (16.0, 8.6)), (0.05, "solid", (8.0, 15.1)),
                             (0.1, (0, (6, 2)), (6.0, 19.3))):  # fmt: skip
        limit = np.array([numbers.budget("bike", height, float(v)) for v in SPEEDS])
        ax.plot(SPEEDS, np.where(limit > 22.0, np.nan, np.nan_to_num(limit)), color=INK, linestyle=dash)
        ax.text(*at, f"{1e3 * height:.0f} mm step")
    for name, colour in (("quick chain", PLUM), ("plain chain", ORANGE)):
        ax.axhline(1e3 * MEANS[name], color=colour, linewidth=1.3)
        ax.text(20.0, 1e3 * MEANS[name] - 0.3, name, color=colour, ha="right", va="top")
    ax.set(
        xlim=(2.0, 20.2), ylim=(0.0, 22.0), xlabel="speed (m/s)", ylabel="response time\nallowed (ms)",
        xticks=(2, 5, 10, 15, 20), yticks=(0, 5, 10, 15, 20), title="Late on small steps, and at a slow pace",
    )  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
