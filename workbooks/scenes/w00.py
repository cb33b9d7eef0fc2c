"""Pictures of workbook 00: the Fell loop, signs, the three families, the live comparison and the card."""

from functools import lru_cache

import numpy as np

from helpers import course
from helpers.teaching import plots
from helpers.teaching.kept import with_own
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import GHOST, INK, PALETTE, STYLES, new_figure, still, style

NAMES = {"plain": "plain damper", "active": "active", "semi_active": "semi-active", "mode_switching": "mode switching"}
PREDICTED = {"half": 0.5, "quarter": 0.75, "same": 1.0, "more": 1.5}  # share of the plain damper's that each claims
HOLD, THRESHOLD, PLUM = 0.6, 40.0, PALETTE["mode_switching"]  # s, m/s²: the dealer's
LENGTH, POINTS = 0.4, 201  # s shown about the hardest blow
PANELS = (("vibration (m/s²)", 9.0), ("dose (m/s¹·⁷⁵)", 36.0), ("off the ground (%)", 40.0), ("pedal bob (mm)", 16.0))
_grounds = lru_cache(lambda: {ground.name: ground for ground in course.fell_loop()})  # the page's loop


@style()
def loop_sketch(loop, vehicle):
    """Five metres of each stretch of the loop about its highest point, at one scale."""
    (figure, axes), told, along = new_figure((9, 2.5), columns=3, sharey=True), [], np.linspace(0.0, 5.0, 501)
    for ax, stretch in zip(axes, loop, strict=True):
        start = 4.5 + 0.02 * np.argmax(stretch.ground.at(np.arange(6.0, stretch.ground.length - 6.0, 0.02)))
        height = 1e3 * (stretch.ground.at(start + along) - stretch.ground.at(np.array([start])))
        told.append(f"{stretch.name}, {stretch.speed_of(vehicle):g} m/s")
        ax.plot(along, height, color=INK)
        ax.set(xlim=(0.0, 5.0), ylim=(-140.0, 140.0), xlabel="distance (m)", title=told[-1])
    axes[0].set_ylabel("height (mm)")
    return still(figure, f"Five metres of ground of each stretch: {'; '.join(told)}: a root, washboard, a rock.")


@style()
def signs_sketch():
    """One wheel and what it carries, with the directions that count as positive."""
    figure, ax = new_figure((6.4, 3.4))
    plots.sketch_axes(ax, 6.4, 3.4)
    plots.ground(ax, 0.6, 4.2, 0.3)
    plots.spring(ax, 2.0, 0.3, 1.0, coils=3)
    plots.mass(ax, 2.0, 1.0, 1.4, 0.45, "wheel  $m_u$")
    plots.spring(ax, 1.6, 1.45, 2.55)
    plots.dashpot(ax, 2.4, 1.45, 2.55)
    plots.mass(ax, 2.0, 2.55, 2.2, 0.6, "body  $m_s$")
    for y, name in ((0.3, "$z_r$"), (1.2, "$z_u$"), (2.8, "$z_s$")):
        plots.arrow(ax, (3.5, y), (3.5, y + 0.55), name)
    for start, end in (((0.75, 2.55), (0.75, 1.95)), ((1.0, 1.45), (1.0, 2.05))):
        plots.arrow(ax, start, end, "$f$", PLUM, "left")
    for y, text, colour in ((2.5, "travel $x = z_s - z_u$\nrebound positive", INK),
                            (1.7, "$f > 0$ in rebound:\nbody pulled down,\nwheel pulled up", PLUM)):  # fmt: skip
        ax.text(4.3, y, text, va="center", color=colour)
    alt = "Sketch: a body on a spring and a damper above a wheel, the wheel on a tyre spring on the ground. Heights of "
    alt += "ground, wheel and body count upwards; a positive damper force pulls the body down and the wheel up."
    return still(figure, alt)


@style()
def reach_sketch(vehicle):
    """Where each family can put the suspension force, for every speed of the suspension."""
    (figure, grid), speed = new_figure((6.4, 5.2), rows=2, columns=2), np.linspace(-1.0, 1.0, 401)
    soft, firm, plain = vehicle.open_curve.force(speed), vehicle.lockout_curve.force(speed), vehicle.damping * speed
    axes = grid.flat
    axes[0].plot(speed, plain, **STYLES["plain"].line())
    axes[1].fill_between(speed, -1500.0, 1500.0, color=PALETTE["active"], alpha=0.25, linewidth=0.0)
    axes[2].fill_between(speed, soft, firm, color=PALETTE["semi_active"], alpha=0.25, linewidth=0.0)
    for ax, key in ((axes[2], "semi_active"), (axes[3], "mode_switching")):
        for curve in (soft, firm):
            ax.plot(speed, curve, **STYLES[key].line(linewidth=1.2))
    for ax, (key, name) in zip(axes, NAMES.items(), strict=True):
        ax.plot([-1.0, 1.0, np.nan, 0.0, 0.0], [0.0, 0.0, np.nan, -1500.0, 1500.0], color=INK, linewidth=0.8)
        ax.set(xlim=(-1.0, 1.0), ylim=(-1500.0, 1500.0), xlabel="speed $v_s - v_u$ (m/s)", ylabel="force $f$ (N)")
        ax.set_title(name, color=PALETTE[key])
        ax.label_outer()
    for k, x, y, text in ((1, -0.8, 900.0, "any force, until the\nmotor or stroke ends"),
                          (2, -0.95, 800.0, "never here:\nit would need\npower"), (3, 0.1, 1150.0, "lockout"),
                          (3, 0.5, 250.0, "open"), (3, -0.95, -1150.0, "blow-off")):  # fmt: skip
        axes[k].text(x, y, text, fontsize=10)
    alt = "Damper force against speed. Plain damper: a line. Active: the whole plane. Semi-active: all between a soft "
    alt += f"curve, {soft.min():.0f} to {soft.max():.0f} N, and a firm one, {firm.min():.0f} to {firm.max():.0f} N. "
    alt += "Mode switching: these two curves alone."
    return still(figure, alt)


def _numbers(ridden):
    """What a ride is judged by, in the order of `PANELS`."""
    bob = ridden.bob if ridden.ground.pedalling and ridden.vehicle.pedal_force > 0.0 else np.nan
    return np.array([ridden.vibration, ridden.dose, ridden.off_ground, bob])


def _suspension(key, vehicle, ground, threshold=THRESHOLD, setting=0.0):
    """A ride of one of the four, on this machine and ground."""
    sky = 2.0 * vehicle.damping
    law = {"active": course.ActiveSkyhook(sky), "semi_active": course.Skyhook(sky),
           "mode_switching": course.ModeSwitch(threshold, HOLD, event=setting)}.get(key)  # fmt: skip
    return course.ride(vehicle if law else vehicle.plain(), ground, law)


@lru_cache(32)
def _usual(vehicle, ground):
    """(times about the plain damper's hardest blow, numbers by key, accelerations by key) at the dealer's setting."""
    rides = {key: _suspension(key, vehicle, ground) for key in NAMES}
    hardest = int(np.argmax(abs(rides["plain"].body_acceleration)))
    time = rides["plain"].time[hardest] + np.linspace(-0.3 * LENGTH, 0.7 * LENGTH, POINTS)
    blows = {key: np.interp(time, one.time, one.body_acceleration) for key, one in rides.items()}
    return time, {key: _numbers(one) for key, one in rides.items()}, blows


def comparison_figure(prediction, machines):
    """Live: four suspensions on a stretch; acceleration about the hardest blow, and what each ride comes to."""
    fleet, first = with_own({vehicle.name: vehicle for vehicle in machines}), machines[0].name

    def compute(machine, section, threshold, setting):
        time, numbers, blows = _usual(fleet[machine], _grounds()[section])
        mine = _suspension("mode_switching", fleet[machine], _grounds()[section], threshold, setting)
        blows = blows | {"mode_switching": np.interp(time, mine.time, mine.body_acceleration)}
        return {"usual": numbers, "numbers": numbers | {"mode_switching": _numbers(mine)}, "blows": blows,
                "locked": np.mean(mine.valve > 0.9), "asked": machine == first and section == "descent"}  # fmt: skip

    def build(figure, result):
        grid = figure.add_gridspec(2, 4, height_ratios=(1.25, 1.0))
        top, held = figure.add_subplot(grid[0, :]), {}
        top.set(xlim=(0.0, 1e3 * LENGTH), ylim=(-40.0, 80.0), xlabel="time about the hardest blow (ms)",
                ylabel="body acceleration\n(m/s²)", title="What reaches the body: the flatter, the calmer")  # fmt: skip
        for key in NAMES:
            held[key] = top.plot(1e3 * np.linspace(0.0, LENGTH, POINTS), result["blows"][key], **STYLES[key].line())[0]
        for k, (label, most) in enumerate(PANELS):
            ax = figure.add_subplot(grid[1, k])
            ax.set(xlim=(-0.03 * most, most), ylim=(3.6, -0.6), xlabel=label)
            ax.set_yticks(range(4), list(NAMES.values()) if k == 0 else [""] * 4)
            for row, (key, text) in enumerate(zip(NAMES, ax.get_yticklabels(), strict=True)):
                text.set_color(PALETTE[key])
                hollow = {"marker": STYLES[key].marker, "markersize": 11, "markerfacecolor": "none"}
                held["usual", key, k] = ax.plot(0.0, row, **hollow, **GHOST)[0]
                held[key, k] = ax.plot(0.0, row, **STYLES[key].points())[0]
            if k == 0 and prediction:
                held["predicted"] = ax.plot([0.0], [3.0], "|", color=INK, markersize=16, markeredgewidth=2.2)[0]
                held["said"] = ax.text(0.0, 2.62, "predicted", ha="center", fontsize=8)
        held["legs"] = ax.text(0.5 * most, 1.5, "", ha="center", va="center", fontsize=9)
        draw(held, result)
        return held

    def draw(held, result):
        for key in NAMES:
            held[key].set_ydata(result["blows"][key])
            for k, (_, most) in enumerate(PANELS):
                held[key, k].set_xdata([min(result["numbers"][key][k], 0.98 * most)])
                held["usual", key, k].set_xdata([min(result["usual"][key][k], 0.98 * most)])
        held["legs"].set_text("" if np.isfinite(result["numbers"]["plain"][3]) else "nobody\npedals here")
        if prediction:
            claimed = PREDICTED[prediction] * result["numbers"]["plain"][0]
            held["predicted"].set(xdata=[claimed], visible=result["asked"])
            held["said"].set(x=claimed, visible=result["asked"])

    def read_out(result):
        return [(f"{NAMES[key]} (m/s²)", f"{row[0]:.2f}, dose {row[1]:.1f}") for key, row in result["numbers"].items()]

    def describe(values, result):
        rows = result["numbers"]
        calmest, least = (NAMES[min(rows, key=lambda key, k=k: rows[key][k])] for k in (0, 1))
        share, dose = (100.0 * rows["mode_switching"][k] / rows["plain"][k] for k in (0, 1))
        return (f"On the {values['section']} of the {values['machine']} vibration is least with {calmest}, dose with "
                f"{least}; mode switching has {share:.0f} % of the plain damper's vibration, {dose:.0f} % of its dose, "
                f"and is locked {100.0 * result['locked']:.0f} % of the time.")  # fmt: skip

    return LiveFigure(
        name="four suspensions",
        sliders=[
            Options("machine", "machine", list(fleet), first),
            Options("section", "stretch", list(_grounds()), "descent"),
            Slider("threshold", "bump threshold", 10, 150, 5, THRESHOLD, "m/s²"),
            Slider("setting", "setting when struck, 0 open", 0.0, 0.4, 0.05, 0.0),
        ],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.7),
    )  # fmt: skip


CARD_CAPTION = "Four suspensions of the trail bike on each stretch of the Fell loop, by rms and by dose."
CARD_ALT = "Dot charts by rms and by dose: active lies lowest, then semi-active; mode switching on the climb lies "
CARD_ALT += "above the plain damper by rms and below it by dose."


@style()
def card_figure():
    """The page in one picture: both measures by stretch and suspension."""
    figure, axes = new_figure((8, 3.0), columns=2, sharey=True)
    rows = [_usual(course.bike, ground)[1] for ground in _grounds().values()]
    for k, ax in enumerate(axes):
        for key, name in NAMES.items():
            ax.plot([row[key][k] for row in rows], range(3), label=name, **STYLES[key].points())
        ax.set(xlim=(0.0, None), ylim=(2.4, -0.4), xlabel=PANELS[k][0])
    axes[0].set_yticks(range(3), list(_grounds()))
    axes[0].legend(loc="lower left", fontsize=9, frameon=False)
    axes[0].set_title("Calmer by rms is not always calmer by dose")
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
