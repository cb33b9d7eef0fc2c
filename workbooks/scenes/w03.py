"""Pictures of workbook 03: what a damper can reach, the live comparison of laws, and the card."""

from functools import lru_cache

import numpy as np

from helpers import course
from helpers.models.reach import reach
from helpers.models.vehicles import GRAVITY
from helpers.simulation.riding import law_name
from helpers.teaching.kept import with_own
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import FAINT, INK, PALETTE, STYLES, new_figure, still, style

ACTIVE, SEMI, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
PREDICTED = {"none": 0.0, "quarter": 0.25, "half": 0.5, "nearly all": 0.95}  # of the gain that an option says is kept
STRENGTH = 2.0  # of every skyhook of the page, over the machine's plain coefficient
GRID, MOMENTS = np.linspace(-1.0, 1.0, 81), 350  # m/s; dots of a ride
_grounds = lru_cache(lambda: tuple(course.fell_loop())[1:])  # traverse and descent of the page's loop
LAWS = {
    "skyhook": course.Skyhook, "active skyhook": course.ActiveSkyhook, "groundhook": course.Groundhook,
    "two-state skyhook": lambda c: course.TwoStateSkyhook(0.0, min(c / 10_000.0, 1.0)),
    "acceleration-driven": lambda c: course.AccelerationDriven(0.0, min(c / 2000.0, 1.0)),
}  # fmt: skip


@style()
def force_sketch(ridden, length=0.6):
    """An actuator's force about its largest push: what a damper could give of it, in direction and in size."""
    start = ridden.time[int(np.argmin(ridden.actuator_force))] - 0.35
    part = (ridden.time >= start) & (ridden.time <= start + length)
    time, force = 1e3 * (ridden.time[part] - start), -ridden.actuator_force[part]
    speed = ridden.suspension_velocity[part]
    within, brakes = reach(ridden.vehicle, speed).holds(force), force * speed > 0.0
    kinds = (
        (within, "brakes, within the damper's range", {"color": SEMI, "alpha": 0.75}),
        (brakes & ~within, "brakes, but too little or too much for it", {"color": SEMI, "alpha": 0.2}),
        (~brakes & ~within, "drives the suspension", {"facecolor": "none", "edgecolor": ACTIVE, "hatch": "////"}),
    )
    (figure, ax), told = new_figure((9, 3.0)), []
    ax.plot(time, force, color=INK)
    for where, name, look in kinds:
        told.append(f"{name}: {100.0 * np.mean(where):.0f} % of the time")
        ax.fill_between(time, 0.0, force, where=where, linewidth=0.0, label=told[-1], **look)
    ax.axhline(0.0, color=INK, linewidth=0.8)
    title = f"What the actuator does in {length:g} s of the {ridden.ground.name}"
    ax.set(xlim=(0.0, 1e3 * length), xlabel="time (ms)", ylabel="pull on the body (N)", title=title)
    ax.legend(loc="upper left", fontsize=9, frameon=False)
    return still(figure, f"{title}: {force.min():.0f} to {force.max():.0f} N. {'; '.join(told)}.")


@style()
def reach_figure(ridden, coefficient, shown=900):
    """Where a skyhook's forces fall: the region between the damper's curves, and the moments in and outside it."""
    asked, speed, region = coefficient * ridden.body_velocity, ridden.suspension_velocity, reach(ridden.vehicle, GRID)
    drives, within, some = asked * speed < 0.0, ridden.within(asked), np.arange(len(speed)) % (len(speed) // shown) == 0
    kinds = (
        (within, "brakes, within reach", {"marker": ".", "color": SEMI, "ms": 5}, 660),
        (~drives & ~within, "brakes, out of reach", {"marker": "o", "color": SEMI, "ms": 3, "mfc": "none"}, 540),
        (drives, "would drive", {"marker": "x", "color": ACTIVE, "ms": 4}, 780),
    )  # fmt: skip
    (figure, ax), told = new_figure((9, 3.4)), []
    ax.fill_between(GRID, region.low, region.high, color=SEMI, alpha=0.2, linewidth=0.0)
    for where, name, look, y in kinds:
        told.append(f"{name}, {100 * where.mean():.0f} % of the time")
        ax.plot(np.r_[-0.95, speed[where & some]], np.r_[y, asked[where & some]], linestyle="none", **look)
        ax.text(-0.92, y, name, color=look["color"], va="center", fontsize=10)
    title = f"The {ridden.vehicle.name}'s {ridden.ground.name}: a dot a moment"
    ax.set(xlim=(-1, 1), ylim=(-900, 900), xlabel="suspension velocity (m/s)", ylabel="wanted force (N)", title=title)
    return still(figure, f"{title}. The damper's forces fill two opposite quarters in part. {'; '.join(told)}.")


def _numbers(ridden):
    """What is kept of a ride: load variation, vibration, dose, time off the ground and strokes."""
    return np.array([ridden.tyre_load_variation, ridden.vibration, ridden.dose, ridden.off_ground, ridden.strokes])


@lru_cache
def _measured(vehicle, ground):
    """The numbers of what is shown for comparison."""
    c, rival = STRENGTH * vehicle.damping, course.calmest_fixed(vehicle, ground)
    cases = {
        "plain damper": (vehicle.plain(), None), "calmest fixed damper": (rival, None),
        "actuator": (vehicle, course.ActiveSkyhook(c)), "skyhook at the start": (vehicle, course.Skyhook(c)),
    }  # fmt: skip
    return {name: _numbers(course.ride(machine, ground, law)) for name, (machine, law) in cases.items()}


def law_figure(prediction, machines, own):
    """Live: a law on a machine and stretch; its forces in the damper's region, and comfort against grip."""
    fleet, first = with_own({vehicle.name: vehicle for vehicle in machines}), machines[0].name
    grounds = {ground.name: ground for ground in _grounds()}

    def compute(machine, ground, law, strength):
        vehicle, stretch, coefficient = fleet[machine], grounds[ground], strength * fleet[machine].damping
        rule = own if law == "my law" else LAWS[law](coefficient)
        ridden, measured = course.ride(vehicle, stretch, rule), _measured(vehicle, stretch)
        weight, every = vehicle.body_mass * GRAVITY, slice(None, None, max(1, len(ridden.time) // MOMENTS))
        region, speed, valve = reach(vehicle, GRID), ridden.suspension_velocity[every], ridden.valve[every]
        soft, firm = vehicle.open_curve.force(speed), vehicle.lockout_curve.force(speed)
        numbers = measured | {"chosen law": _numbers(ridden)}
        return {
            "asked": machine == first and ground == "traverse" and law == "skyhook", "numbers": numbers,
            "marks": {name: row[:2] / measured["plain damper"][:2] for name, row in numbers.items()},
            "edge": np.column_stack([np.r_[GRID, GRID[::-1]], np.r_[region.low, region.high[::-1]] / weight]),
            "given": (speed, (soft + valve * (firm - soft)) / weight),
            "wanted": (speed, coefficient * ridden.body_velocity[every] / weight),
            "law": law_name(rule) if law == "my law" else law,
        }  # fmt: skip

    def build(figure, result):
        left, right = figure.subplots(1, 2, width_ratios=(1.0, 1.1))
        left.set(xlim=(-1, 1), xticks=(-1, -0.5, 0, 0.5, 1), ylim=(-1.5, 1.5), xlabel="suspension velocity (m/s)",
                 ylabel="damper force / body's weight", title="Given (brown); a skyhook wants (blue)")  # fmt: skip
        right.set(xlim=(0.5, 1.6), ylim=(0.35, 1.75), xlabel="tyre-load variation / plain damper's",
                  ylabel="vibration / plain damper's", title="Down is calmer, left is more grip")  # fmt: skip
        looks = {
            "plain damper": STYLES["plain"].points(), "actuator": STYLES["active"].points(),
            "calmest fixed damper": STYLES["plain"].points(markerfacecolor="white"),
            "skyhook at the start": STYLES["semi_active"].points(markersize=12, markerfacecolor="none", color=FAINT),
            "chosen law": STYLES["semi_active"].points(markersize=9, zorder=3),
        }  # fmt: skip
        held = {
            "edge": left.fill(*result["edge"].T, facecolor=SEMI, alpha=0.18, linewidth=0.0)[0],
            "wanted": left.plot([], [], ".", color=ACTIVE, markersize=3, alpha=0.5)[0],
            "given": left.plot([], [], ".", color=SEMI, markersize=4)[0],
        } | {name: right.plot([], [], label=name, **look)[0] for name, look in looks.items()}
        right.legend(loc="upper left", fontsize=8.5, frameon=False, handlelength=1.4, labelspacing=0.25)
        if prediction:
            held["predicted"] = right.axhline(1.0, color=PLUM, linestyle=(0, (2, 1.5)), linewidth=1.3)
            held["said"] = right.text(1.59, 1.0, "predicted", color=PLUM, ha="right", va="bottom", fontsize=9)
        draw(held, result)
        return held

    def draw(held, result):
        held["edge"].set_xy(result["edge"])
        held["wanted"].set_data(*result["wanted"])
        held["given"].set_data(*result["given"])
        for name, place in result["marks"].items():
            held[name].set_data(*([value] for value in np.clip(place, (0.51, 0.36), (1.59, 1.74))))
        if prediction:
            fixed, power = (result["marks"][name][1] for name in ("calmest fixed damper", "actuator"))
            level = fixed - PREDICTED[prediction] * (fixed - power)
            held["predicted"].set(ydata=[level, level], visible=result["asked"])
            held["said"].set(y=level, visible=result["asked"])

    def read_out(result):
        mine, rival = (result["numbers"][name] for name in ("chosen law", "calmest fixed damper"))
        names = {"vibration (m/s²)": 2, "dose (m/s¹·⁷⁵)": 1, "off the ground (%)": 1, "full valve strokes (1/s)": 1}
        return [(name, f"{mine[k]:.{d}f} (fixed {rival[k]:.{d}f})") for k, (name, d) in enumerate(names.items(), 1)]

    def describe(values, result):
        mine, rival = (result["numbers"][name] for name in ("chosen law", "calmest fixed damper"))
        words = ["less" if mine[k] < rival[k] else "more" for k in (1, 2, 3)]
        return (f"On the {values['ground']} the {values['machine']} with {result['law']} has {words[0]} vibration than "
                f"the calmest fixed damper, {words[1]} dose, and its wheel is off the ground for {words[2]} of the "
                "time.")  # fmt: skip

    return LiveFigure(
        name="laws for a damper",
        sliders=[
            Options("machine", "machine", list(fleet), first),
            Options("ground", "stretch", list(grounds), "traverse"),
            Options("law", "law", [*LAWS, "my law"], "skyhook"),
            Slider("strength", "coefficient, times the plain damper's", 0.5, 6.0, 0.5, STRENGTH),
        ],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.6),
    )  # fmt: skip


CARD_CAPTION = "Skyhook by damper and by actuator, over the calmest fixed damper: by rms and by dose they disagree."
CARD_ALT = (
    "Two dot charts by machine and stretch, by rms and by dose. On the bike's traverse damper and actuator lie clearly "
    "below the calmest fixed damper in both. On its descent the damper lies below it by rms and above it by dose."
)


@style()
def card_figure():
    """The page in one picture: damper and actuator over the calmest fixed damper, by both measures."""
    pairs = [(vehicle, ground) for vehicle in (course.bike, course.motorcycle, course.carrier) for ground in _grounds()]
    rows = [_measured(vehicle, ground) for vehicle, ground in pairs]
    figure, axes = new_figure((8, 3.4), columns=2, sharey=True)
    for ax, measure, k in zip(axes, ("vibration", "dose"), (1, 2), strict=True):
        ax.axvline(1.0, color=INK, linewidth=1.0)
        for key, name, shown in (("semi_active", "damper", "skyhook at the start"), ("active", "actuator", "actuator")):
            over = [row[shown][k] / row["calmest fixed damper"][k] for row in rows]
            ax.plot(over, range(len(rows)), **STYLES[key].points())
            ax.text(over[0], -0.55, name, color=PALETTE[key], ha="center", fontsize=9)
        ax.set(ylim=(len(rows) - 0.5, -1.1), xlim=(0.65, 1.3), title=f"By {measure}", xlabel="over the fixed damper's")
    axes[0].set_yticks(range(len(rows)), [f"{vehicle.name}, {ground.name}" for vehicle, ground in pairs])
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
