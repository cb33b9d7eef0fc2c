"""A drawing of the course's damper: its hydraulic circuit in symbols in the spirit of ISO 1219, named in words."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Arc, Circle, FancyArrowPatch, FancyBboxPatch, Polygon, Rectangle

from helpers.teaching.plots import FAINT, INK, new_figure, sketch_axes, style

CAPTION = (
    "The course's damper: all oil passes the main stage and the controllable stage, one after the other, from left to "
    "right in compression and from right to left in rebound."
)
ALT = (
    "Hydraulic circuit. From the bore side of a cylinder whose piston has no valves a line leads to the main stage: "
    "side by side a shim stack for compression, one for rebound, and a bleed. Behind the middle node follows the "
    "controllable stage: side by side the controllable valve, a leak, a blow-off that opens in compression alone, and "
    "a path for rebound alone. From there the line leads back to the ring side. A selector of two checks, each opened "
    "by the pressure of the other side, joins the side of low pressure to the gas."
)
_WIDTH, _HEIGHT = 24.0, 15.3
_LEFT, _MIDDLE, _RIGHT = 1.6, 11.3, 22.4  # the two sides of the piston and the node between the stages
_MAIN, _HELD = (2.8, 10.1), (12.5, 21.2)  # from where to where the branches of each stage lie
_ROWS = (9.4, 7.5, 5.6, 3.7)
_STEM = 6.55  # height of the line that joins the stages
_SELECTOR = 1.7
_GAS = 11.1
_LINE = {"color": INK, "linewidth": 1.4, "solid_capstyle": "round"}


def damper_circuit() -> Figure:
    """The circuit as a figure."""
    figure, ax = new_figure((10, 6.4))
    with style():
        sketch_axes(ax, _WIDTH, _HEIGHT)
        _cylinder(ax)
        _stages(ax)
        _selector(ax)
    return figure


# --- symbols -----------------------------------------------------------------------------------------------------


def _pipe(ax: Axes, *points, **look) -> None:
    ax.plot(*np.array(points).T, **(_LINE | look))


def _node(ax: Axes, x: float, y: float) -> None:
    ax.add_patch(Circle((x, y), 0.1, color=INK))


def _throttle(ax: Axes, x: float, y: float) -> None:
    """Two arcs that narrow the line."""
    for sign in (1, -1):
        ax.add_patch(Arc((x, y + sign * 0.5), 1.0, 0.66, theta1=180 if sign > 0 else 0, theta2=360 if sign > 0 else 180,
                         color=INK, linewidth=1.4))  # fmt: skip


def _check(ax: Axes, x: float, y: float, opens: int, spring: bool = True) -> None:
    """A ball on a seat, which flow in the direction `opens` (1 to the right, -1 to the left) lifts; with its spring."""
    ax.add_patch(Rectangle((x - 0.36, y - 0.3), 0.72, 0.6, facecolor="white", edgecolor="none", zorder=3))
    _pipe(ax, (x + opens * 0.1, y + 0.4), (x - opens * 0.36, y), (x + opens * 0.1, y - 0.4), zorder=4)
    ax.add_patch(Circle((x, y), 0.24, facecolor="white", edgecolor=INK, linewidth=1.4, zorder=4))
    if spring:
        along = x + opens * (0.24 + 0.16 * np.arange(6))
        ax.add_patch(Rectangle((min(along[0], along[-1]), y - 0.1), 0.8, 0.2, color="white", zorder=3))
        ax.plot(along, y + 0.2 * np.array([0, 1, -1, 1, -1, 0]), **(_LINE | {"linewidth": 1.1}), zorder=4)
    else:
        _pipe(ax, (x + opens * 0.24, y), (x + opens * 0.36, y), zorder=4)


def _relief(ax: Axes, x: float, y: float) -> None:
    """A square with an arrow off the line, held by a spring, opened by the pressure before it (dashed)."""
    half = 0.55
    ax.add_patch(Rectangle((x - half, y - half), 2 * half, 2 * half, facecolor="white", edgecolor=INK, linewidth=1.4,
                           zorder=3))  # fmt: skip
    ax.add_patch(_head((x - half, y + 0.25), (x + half, y + 0.25)))
    _pipe(ax, (x - 1.2, y), (x - 1.2, y - 0.9), (x, y - 0.9), (x, y - half), linestyle=(0, (3, 2)), linewidth=1.0)
    up = y + half + 0.09 * np.arange(7)
    ax.plot(x + 0.2 * np.array([0, 1, -1, 1, -1, 1, 0]), up, **(_LINE | {"linewidth": 1.1}), zorder=4)


def _head(start, end, colour: str = INK) -> FancyArrowPatch:
    return FancyArrowPatch(start, end, arrowstyle="-|>", mutation_scale=10, shrinkA=0, shrinkB=0, linewidth=1.3,
                           color=colour, zorder=5)  # fmt: skip


def _name(ax: Axes, x: float, y: float, text: str, **more) -> None:
    ax.text(x, y, text, **({"ha": "left", "va": "bottom", "fontsize": 9} | more))


# --- parts -------------------------------------------------------------------------------------------------------


def _cylinder(ax: Axes) -> None:
    left, right, low, high = 6.5, 15.5, 12.7, 14.5
    piston, centre = 10.6, 0.5 * (low + high)
    ax.add_patch(Rectangle((left, low), right - left, high - low, facecolor="#eef3f6", edgecolor=INK, linewidth=1.6))
    ax.add_patch(Rectangle((piston, low), 0.45, high - low, facecolor="#c9d3d9", edgecolor=INK, linewidth=1.4))
    ax.add_patch(Rectangle((piston + 0.45, centre - 0.2), 7.4, 0.4, facecolor="white", edgecolor=INK, linewidth=1.4))
    _name(ax, 0.5 * (left + piston), centre, "bore side", ha="center", va="center")
    _name(ax, 13.3, centre + 0.28, "ring side", ha="center")
    _name(ax, 18.7, centre, "to the wheel,\nthrough the linkage", va="center")
    _name(ax, left - 0.3, centre, "to the body,\nthrough mounts", ha="right", va="center")
    _name(ax, piston + 0.22, high + 0.1, "piston without valves", ha="center")
    for port, side in ((left + 0.7, _LEFT), (right - 0.7, _RIGHT)):
        _pipe(ax, (port, low), (port, 11.75), (side, 11.75), (side, _SELECTOR))
    ax.add_patch(_head((2.9, 11.75), (2.4, 11.75), FAINT))
    _name(ax, 2.2, 11.9, "compression", color="#5c5c5c")
    ax.add_patch(_head((20.9, 11.75), (21.4, 11.75), FAINT))
    _name(ax, 21.9, 11.9, "rebound", color="#5c5c5c", ha="right")


def _stages(ax: Axes) -> None:
    _pipe(ax, (_LEFT, _STEM), (_MAIN[0], _STEM))
    _pipe(ax, (_MAIN[1], _STEM), (_HELD[0], _STEM))
    _pipe(ax, (_HELD[1], _STEM), (_RIGHT, _STEM))
    for x in (_LEFT, _MAIN[0], _MAIN[1], _HELD[0], _HELD[1], _RIGHT):
        _node(ax, x, _STEM)
    _node(ax, _MIDDLE, _STEM)
    _name(ax, _MIDDLE, _STEM + 0.25, "middle", ha="center")
    for (x0, x1), rows, title in ((_MAIN, _ROWS[:3], "Main stage"), (_HELD, _ROWS, "Controllable stage")):
        frame = (x0 - 0.45, rows[-1] - 1.05), x1 - x0 + 0.9, rows[0] - rows[-1] + 2.45
        ax.add_patch(FancyBboxPatch(*frame, boxstyle="round,pad=0,rounding_size=0.3", facecolor="none",
                                    edgecolor=FAINT, linestyle=(0, (5, 3)), linewidth=1.0))  # fmt: skip
        _name(ax, x0 - 0.2, rows[0] + 0.85, title, fontweight="bold")
        _pipe(ax, (x0, rows[0]), (x0, rows[-1]))
        _pipe(ax, (x1, rows[0]), (x1, rows[-1]))
        for y in rows:
            _pipe(ax, (x0, y), (x1, y))
    first, second, third, fourth = _ROWS
    for y, opens, direction in ((first, 1, "compression"), (second, -1, "rebound")):
        _throttle(ax, 4.4, y)
        _check(ax, 6.0, y, opens)
        _name(ax, 7.2, y + 0.1, f"ports and shims,\n{direction}")
    _throttle(ax, 4.4, third)
    _name(ax, 7.2, third + 0.1, "bleed")
    _throttle(ax, 14.3, first)
    ax.add_patch(_head((13.7, first - 0.65), (14.95, first + 0.65)))
    _name(ax, 16.6, first + 0.1, "controllable valve,\nboth directions", fontweight="bold")
    _throttle(ax, 14.3, second)
    _name(ax, 16.6, second + 0.1, "leak")
    _relief(ax, 14.8, third)
    _name(ax, 16.6, third + 0.1, "blow-off,\ncompression alone")
    _throttle(ax, 13.7, fourth)
    _check(ax, 15.45, fourth, -1)
    _name(ax, 16.6, fourth + 0.1, "ports, shims and bleed,\nrebound alone")


def _selector(ax: Axes) -> None:
    y, first, second = _SELECTOR, 8.2, 14.0
    dashes = {"linestyle": (0, (3, 2)), "linewidth": 1.0}
    _pipe(ax, (_LEFT, y), (_RIGHT, y))
    _check(ax, first, y, -1, spring=False)
    _check(ax, second, y, 1, spring=False)
    for near, far, level in ((first, 15.8, y - 0.85), (second, 6.4, y - 1.2)):
        _node(ax, far, y)
        _pipe(ax, (far, y), (far, level), (near, level), (near, y - 0.3), **dashes)
    _pipe(ax, (_GAS, y), (_GAS, y + 0.35))
    _node(ax, _GAS, y)
    ax.add_patch(FancyBboxPatch((_GAS - 0.35, y + 0.35), 0.7, 1.5, boxstyle="round,pad=0,rounding_size=0.34",
                                facecolor="white", edgecolor=INK, linewidth=1.4))  # fmt: skip
    _pipe(ax, (_GAS - 0.35, y + 1.1), (_GAS + 0.35, y + 1.1))
    ax.add_patch(Polygon([(_GAS - 0.16, y + 1.55), (_GAS + 0.16, y + 1.55), (_GAS, y + 1.25)], closed=True,
                         facecolor="white", edgecolor=INK, linewidth=1.1))  # fmt: skip
    _name(ax, _GAS - 0.55, y + 1.1, "gas", ha="right", va="center")
    _name(ax, 2.0, y + 0.15, "selector: the side of low\npressure is joined to the gas")
