"""A small live figure: the free vibration of a damped oscillator, as the browser tests show it."""

from types import SimpleNamespace

import numpy as np

from helpers.teaching import plots
from helpers.teaching.live import LiveFigure, Options, Slider

TIME = np.linspace(0, 4, 2000)  # s


def swing(ratio, frequency, start):
    if ratio > 0.945 and frequency > 2.95:
        raise ValueError(f"damping ratio {ratio:.2f} at {frequency:.1f} Hz is refused by this demonstration")
    pulse = 2 * np.pi * frequency
    travel = start * np.exp(-ratio * pulse * TIME) * np.cos(pulse * np.sqrt(1 - ratio**2) * TIME)
    return SimpleNamespace(travel_mm=travel, lowest_mm=travel.min())


def build(figure, first):
    ax = figure.subplots()
    ax.set(
        xlim=(0, 4),
        ylim=(-22, 22),
        xlabel="time (s)",
        ylabel="travel (mm)",
        title="More damping lets it swing less often",
    )
    ax.plot(TIME, first.travel_mm, **plots.GHOST)
    line = ax.plot(TIME, first.travel_mm, **plots.STYLES["active"].line())[0]
    return SimpleNamespace(line=line, name=plots.label_line(ax, line, "travel", x=0.7))


def draw(artists, result):
    artists.line.set_ydata(result.travel_mm)
    plots.place_label(artists.name, artists.line, x=0.7)


def demo():
    return LiveFigure(
        name="swing",
        sliders=[
            Slider("ratio", "damping ratio", 0.05, 0.95, 0.05, 0.35),
            Slider("frequency", "natural frequency", 0.5, 3.0, 0.1, 1.5, "Hz"),
            Options("start", "released at", [("10 mm", 10), ("20 mm", 20)], 20),
        ],
        compute=swing,
        build=build,
        draw=draw,
        read_out=lambda result: [("lowest travel", f"{result.lowest_mm:.4g} mm"), ("highest travel", "20 mm")],
        describe=lambda values, result: (
            f"At a damping ratio of {values['ratio']:.2f} the travel falls to "
            f"{result.lowest_mm:.3g} mm before it settles."
        ),
    )
