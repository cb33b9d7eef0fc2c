"""Sketches of workbook 08: three valves in section, and the curve of a piston with shim stacks."""

import numpy as np
from matplotlib.patches import Polygon, Rectangle

from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.shims import TRAIL_PISTON
from helpers.teaching.plots import FAINT, INK, PALETTE, arrow, new_figure, sketch_axes, still, style
from scenes.w08_numbers import VALVES

BLUE, ORANGE = PALETTE["active"], PALETTE["semi_active"]
OIL, METAL, MOVING = "#f7e7d3", "#d5d9dc", "#a9c4d6"


def _block(ax, x, y, width, height, colour=METAL, **look):
    ax.add_patch(Rectangle((x, y), width, height, **({"facecolor": colour, "edgecolor": INK, "linewidth": 1.0} | look)))


def _push(ax, start, end):
    ax.annotate("", end, start, arrowprops={"arrowstyle": "-|>", "color": ORANGE, "linewidth": 1.4})


def _seat(ax, chamber=False):
    """Housing with a round seat and a cone on it; with `chamber`, one closed off behind the cone."""
    _block(ax, 0.1, 0.2, 2.8, 2.2, OIL, linewidth=0.0)
    _block(ax, 0.1, 0.7, 1.0, 0.35)
    _block(ax, 1.9, 0.7, 1.0, 0.35)
    ax.add_patch(Polygon([(0.9, 1.32), (2.1, 1.32), (1.62, 0.86), (1.38, 0.86)], facecolor=MOVING, edgecolor=INK))
    if chamber:
        _block(ax, 0.75, 1.32, 1.5, 0.28, MOVING)
        for x in (0.55, 2.25):
            _block(ax, x, 1.2, 0.2, 1.2)
        _block(ax, 0.55, 2.2, 0.8, 0.2)
        _block(ax, 1.65, 2.2, 0.8, 0.2)
    else:
        _block(ax, 1.4, 1.32, 0.2, 1.08, MOVING)


@style()
def valve_sketch():
    """Three valves in section: what pressure pushes on, and what the coil moves."""
    figure, axes = new_figure((9, 3.5), columns=3)
    for ax, name in zip(axes, VALVES, strict=True):
        sketch_axes(ax, 3.0, 3.25)
        ax.set_title(name, loc="center")
    poppet, spool, piloted = axes
    _seat(poppet)
    for x in (1.0, 1.2, 1.8, 2.0):
        _push(poppet, (x, 2.05), (x, 1.4))
    arrow(poppet, (1.5, 2.42), (1.5, 2.95), "coil lifts", INK)
    poppet.text(0.2, 1.75, "high\npressure", fontsize=9, va="center")
    poppet.text(1.5, 0.42, "low pressure", fontsize=9, ha="center")
    _block(spool, 0.1, 0.5, 2.8, 1.7)
    _block(spool, 0.3, 1.0, 2.4, 0.7, OIL)
    _block(spool, 0.75, 1.0, 0.55, 0.7, MOVING)
    _block(spool, 1.7, 1.0, 0.55, 0.7, MOVING)
    _block(spool, 1.3, 1.25, 0.4, 0.2, MOVING)
    _block(spool, 1.85, 0.5, 0.25, 0.5, OIL)
    _block(spool, 1.35, 1.7, 0.3, 0.5, OIL)
    for end in (1.29, 1.71):
        _push(spool, (1.5, 1.58), (end, 1.58))
    arrow(spool, (0.72, 2.5), (0.25, 2.5), "", INK)
    spool.text(0.8, 2.5, "coil slides", va="center")
    spool.text(1.5, 2.28, "high", fontsize=9, ha="center", va="bottom")
    spool.text(1.97, 0.3, "low", fontsize=9, ha="center", va="center")
    _seat(piloted, chamber=True)
    for x in (0.9, 1.15, 1.85, 2.1):
        _push(piloted, (x, 2.1), (x, 1.66))
    _block(piloted, 1.47, 0.86, 0.06, 0.74, OIL, linewidth=0.6)
    for x in (1.3, 1.7):
        _push(piloted, (x, 0.5), (x, 0.92))
    piloted.text(1.5, 0.34, "high pressure", fontsize=9, ha="center", va="center")
    for x, y in ((0.32, 1.75), (2.68, 1.75), (1.0, 2.62)):
        piloted.text(x, y, "low", fontsize=9, ha="center", va="center")
    piloted.add_patch(Polygon([(1.3, 2.62), (1.7, 2.62), (1.55, 2.35), (1.45, 2.35)], facecolor=MOVING, edgecolor=INK))
    arrow(piloted, (1.5, 2.62), (1.5, 3.05), "coil lifts", INK)
    piloted.text(1.8, 2.5, "pilot", fontsize=9, va="center")
    piloted.text(1.5, 1.88, "chamber", fontsize=9, ha="center", va="center")
    piloted.annotate("feed hole", (1.47, 1.0), (0.14, 0.84), fontsize=9, arrowprops={"arrowstyle": "-", "color": INK})
    alt = (
        "Three valves in section. Poppet: high pressure pushes the cone onto its seat, the coil lifts it. Balanced "
        "spool: the pressure between two lands pushes both ways, the coil slides it. Piloted valve: high pressure is "
        "below the main cone and, by a feed hole through it, in a larger chamber behind it, which holds it shut; the "
        "coil lifts only a small cone, the pilot, which empties the chamber to the low side."
    )
    return still(figure, alt)


@style()
def piston_figure():
    """Force-velocity curve of a piston with shim stacks, for three oils."""
    figure, ax = new_figure((7, 3.4))
    speed = np.concatenate([-np.geomspace(2.0, 1e-3, 80), np.geomspace(1e-3, 2.0, 80)])
    ends = []
    for celsius, colour, dash in ((-10.0, BLUE, (0, (6, 2))), (40.0, INK, "solid"), (70.0, ORANGE, (0, (2, 1.2)))):
        force = TRAIL_PISTON.force(speed, DAMPER_OIL.at(ZERO_CELSIUS + celsius))
        ends.append(f"{force[-1]:.0f}")
        ax.plot(speed, force, color=colour, linestyle=dash)
    ax.text(0.72, 1620, "−10 °C", color=BLUE, ha="right")
    ax.text(1.15, 1480, "40 and 70 °C", color=ORANGE, va="top")
    most = TRAIL_PISTON.cavitation_force()
    ax.axhline(-most, color=FAINT, linewidth=1.0)
    ax.text(1.98, -most - 60, "the gas can push no harder", color=FAINT, ha="right", va="top")
    ax.set(xlim=(-2.0, 2.0), ylim=(-1000.0, 3200.0), xlabel="shaft speed (m/s), rebound positive", ylabel="force (N)",
           title="Shims bend: the curve is steepest where it starts")  # fmt: skip
    alt = (
        f"Damping force over shaft speed: at 2 m/s in rebound {', '.join(ends)} N with oil at −10, 40 and 70 degrees "
        f"Celsius; in compression it stops at {most:.0f} N."
    )
    return still(figure, alt)
