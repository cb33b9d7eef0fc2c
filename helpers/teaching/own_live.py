"""Sliders on a function that the learner has just written: picture, numbers, sentence and still as on any page."""

import inspect
import math

import numpy as np

from helpers.simulation.riding import MEASURES, RideError, said
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import GHOST, STYLES, label_line
from helpers.teaching.tables import number, numbers_of

POINTS = 15  # of the curve along the first slider


def live(measure, **controls):
    """A live figure of a function: how what it returns hangs on its first argument, the others on sliders too.

    measure: a function of one to four arguments that returns a number, a dict of numbers by name, or a `Ride`.
    controls: for each argument by name (low, high, unit), or a list of choices; at most four. The curve runs along the
    first argument, the mark is where its slider stands, and the thin line is the curve of the other sliders' defaults,
    which are the function's own, or the middle. Raises RideError, one sentence; an error inside the function shows
    below the figure.
    """
    if not controls or len(controls) > 4:
        raise RideError(f"live: {len(controls)} sliders are asked for; allowed are one to four.")
    defaults = _defaults(measure)
    sliders = [_control(name, about, defaults.get(name)) for name, about in controls.items()]
    first = sliders[0]
    if isinstance(first, Options):
        raise RideError(f"live: {first.key}, the first, has choices; allowed is a range (low, high, unit) for a curve.")
    grid = np.linspace(first.low, first.high, POINTS)

    def here(values):
        return numbers_of("live", measure(**values))

    kept = {}

    def along(values):
        """The curve at these settings of the other sliders, kept: a move of the first slider only moves the mark."""
        others = tuple((key, value) for key, value in values.items() if key != first.key)
        if others not in kept:
            if len(kept) > 50:
                kept.clear()
            kept[others] = [here(values | {first.key: float(x)}) for x in grid]
        return kept[others]

    start = {slider.key: slider.default for slider in sliders}
    ghost = along(start)
    names = list(ghost[0])

    def compute(**values):
        return values[first.key], here(values), along(values)

    def preview(**values):
        return values[first.key], here(values), [{name: math.nan for name in names}] * POINTS

    def build(figure, result):
        axes = figure.subplots(1, len(names[:3]), squeeze=False)[0]
        held = []
        for ax, name, look in zip(axes, names, STYLES.values(), strict=False):
            usual = [row[name] for row in ghost]
            ax.plot(grid, usual, **GHOST)
            (line,) = ax.plot(grid, usual, **look.line())
            (mark,) = ax.plot([first.default], [usual[0]], **look.points(markersize=9))
            low, high = np.nanmin(usual), np.nanmax(usual)
            room = max(0.6 * (high - low), 0.1 * max(abs(low), abs(high)), 1e-12)
            ax.set(xlim=(first.low, first.high), ylim=(low - room, high + room), xlabel=first.full_label,
                   title=_heading(name))  # fmt: skip
            label_line(ax, ax.lines[0], "at the start", first.low + 0.2 * (first.high - first.low), above=False)
            held.append((line, mark))
        draw(held, result)
        return held

    def draw(held, result):
        x, now, curve = result
        for (line, mark), name in zip(held, names, strict=False):
            line.set_ydata([row[name] for row in curve])
            mark.set_data([x], [now[name]])

    def read_out(result):
        return [(_heading(name), number(value)) for name, value in result[1].items()]

    def describe(values, result):
        where = ", ".join(slider.text(values[slider.key]) for slider in sliders)
        told = ", ".join(f"{name.replace('_', ' ')} {said(name, value)}" for name, value in result[1].items())
        curve = [row[names[0]] for row in result[2]]
        best = f" Along {first.label} it is least at {number(float(grid[int(np.argmin(curve))]))}" \
               f" {first.unit}".rstrip() + "." if np.isfinite(curve).all() else ""  # fmt: skip
        return f"At {where}: {told}.{best}"

    return LiveFigure(
        name=getattr(measure, "__name__", "measure"), sliders=sliders, compute=compute, build=build, draw=draw,
        read_out=read_out, describe=describe, preview=preview, size=(9, 3.2),
    )  # fmt: skip


def _defaults(measure):
    told = inspect.signature(measure).parameters.values()
    return {p.name: p.default for p in told if p.default is not inspect.Parameter.empty}


def _control(name, about, default):
    label = name.replace("_", " ")
    if isinstance(about, list):
        return Options(name, label, about, about[0] if default not in about else default)
    if not (isinstance(about, tuple) and len(about) in (2, 3)):
        raise RideError(f"live: {name} is {about!r}; allowed is (low, high, unit), or a list of choices.")
    low, high, unit = *about[:2], about[2] if len(about) == 3 else ""
    if not low < high:
        raise RideError(f"live: {name} runs from {low} to {high}; allowed is a range that rises.")
    step = float(f"{(high - low) / 100:.1g}")
    middle = low + step * round((high - low) / 2 / step)
    start = default if isinstance(default, int | float) and low <= default <= high else middle
    return Slider(name, label, float(low), float(high), step, float(start), unit)


def _heading(name):
    unit = MEASURES[name][0] if name in MEASURES else ""
    return name.replace("_", " ") + (f" ({unit})" if unit else "")
