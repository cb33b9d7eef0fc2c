"""Stills that a page's cells make of numbers: curves and traces over time, with names on the lines and in words."""

from itertools import cycle

import numpy as np

from helpers.simulation.riding import RideError
from helpers.teaching.plots import STYLES, label_line, new_figure, still, style

# What can be traced: (name on the axis, factor from SI).
TRACED = {
    "travel": ("travel (mm)", 1000.0), "body_height": ("body height (mm)", 1000.0),
    "wheel_height": ("wheel height (mm)", 1000.0), "road": ("ground (mm)", 1000.0),
    "body_velocity": ("body velocity (m/s)", 1.0), "wheel_velocity": ("wheel velocity (m/s)", 1.0),
    "suspension_velocity": ("suspension velocity (m/s)", 1.0),
    "body_acceleration": ("body acceleration (m/s²)", 1.0), "wheel_acceleration": ("wheel acceleration (m/s²)", 1.0),
    "damper_force": ("damper force (N)", 1.0), "actuator_force": ("actuator force (N)", 1.0),
    "contact_load": ("load on the ground (N)", 1.0), "valve": ("valve (0 open, 1 firm)", 1.0),
}  # fmt: skip
MOST_POINTS = 1500  # of a line; more than a picture's width shows
FEW_POINTS = 40  # of a line that shows each by a dot: samples


def traces(rides, what, span=None, title=""):
    """What happened over time, a line for each ride and a panel for each thing traced.

    rides: by name. what: one name or several of `TRACED`, such as "valve" or ("travel", "valve"). span: (from, to) in s
    of the ride. A damper of one curve has no valve to draw beside one that has. Raises RideError.
    """
    what = (what,) if isinstance(what, str) else tuple(what)
    for name in what:
        if name not in TRACED:
            raise RideError(f"traces: {name!r} is not traced; allowed are {', '.join(TRACED)}.")
    shown, words = [], []
    valved = {case: ride for case, ride in rides.items() if ride.vehicle.open_curve != ride.vehicle.lockout_curve}
    for name in what:
        label, factor = TRACED[name]
        lines = {}
        for case, ride in (name == "valve" and valved or rides).items():
            time = ride.time
            first, last = span or (time[0], time[-1])
            part = (time >= first) & (time <= last)
            if part.sum() < 2:
                raise RideError(f"traces: span is {first:g} to {last:g} s; allowed is a part of 0 to {time[-1]:.3g} s.")
            lines[case] = (time[part], factor * np.asarray(getattr(ride, name))[part])
        shown.append(("time (s)", label, lines))
        words += [f"{label}, {case}: {_extent(y)}" for case, (_, y) in lines.items()]
    return _panels(shown, title, words)


def curves(lines, x="", y="", title="", span=None):
    """Curves in one panel. lines: by name, each (x, y) of two rows; few points are shown as dots.

    x, y: what the axes show, with units. span: (from, to) along x.
    """
    drawn = {name: tuple(np.asarray(row, dtype=float) for row in pair) for name, pair in lines.items()}
    words = [f"{name}: {y} {_extent(pair[1])} for {x} {_extent(pair[0])}" for name, pair in drawn.items()]
    return _panels([(x, y, drawn)], title, words, span)


def _extent(values):
    ends = (round(float(value), 3) for value in (np.nanmin(values), np.nanmax(values)))  # a valve at rest: 0, not 2e-6
    return " to ".join(f"{end:.0f}" if abs(end) >= 1000.0 else f"{end:.3g}" for end in ends).replace("-", "−")


@style()
def _panels(panels, title, words, span=None):
    figure, axes = new_figure((9, 0.6 + 2.4 * len(panels)), rows=len(panels), sharex=True, squeeze=False)
    names = dict.fromkeys(name for *_, lines in panels for name in lines)
    # Names stand at different places along the lines, so that they do not lie on one another.
    places = np.linspace(0.93, 0.35, max(len(names), 2))
    looks = {name: given for name, *given in zip(names, cycle(STYLES.values()), places, strict=False)}
    for ax, (_, y, lines) in zip(axes[:, 0], panels, strict=True):
        for name, (xs, ys) in lines.items():
            look, place = looks[name]
            every = max(1, len(xs) // MOST_POINTS)
            dots = {"marker": "o", "markersize": 4} if len(xs) <= FEW_POINTS else {}
            (line,) = ax.plot(xs[::every], ys[::every], **look.line(linewidth=1.5), **dots)
            label_line(ax, line, name, xs[0] + place * (xs[-1] - xs[0]))
        ax.set(ylabel=y, xlim=span or (None, None))
        ax.margins(x=0.0, y=0.15)
    axes[-1, 0].set_xlabel(panels[-1][0])
    axes[0, 0].set_title(title)
    return still(figure, ". ".join(filter(None, [title.rstrip("."), *words])) + ".")
