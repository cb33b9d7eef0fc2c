"""The four ways that live_figure.py measures: one computation, four pictures of it."""

from types import SimpleNamespace

import anywidget
import ipywidgets as widgets
import numpy as np
import traitlets

from helpers.teaching.live import LiveFigure, Slider

TIME = np.linspace(0, 4, 2000)  # s
PULSES = 2 * np.pi * np.array([0.8, 1.1, 1.4, 1.7])  # rad/s
LIMITS = {"xlim": (0, 4), "ylim": (-1.1, 1.1), "xlabel": "time (s)", "ylabel": "travel (mm)", "title": "Four swings"}


def swings(ratio):
    """Four free vibrations, shape (4, 2000)."""
    decay = np.exp(-ratio * PULSES[:, None] * TIME)
    return decay * np.cos(PULSES[:, None] * np.sqrt(1 - ratio**2) * TIME)


def slider():
    return widgets.FloatSlider(value=0.05, min=0.02, max=0.98, step=0.01, description="damping ratio")


def build(figure, first):
    ax = figure.subplots()
    ax.set(**LIMITS)
    return ax.plot(TIME, first.travel.T)


def draw(lines, result):
    for line, travel in zip(lines, result.travel, strict=True):
        line.set_ydata(travel)


def numbers(result):
    return [
        ("lowest travel", f"{result.travel.min():.4g} mm"),
        ("last travel", f"{result.travel[0, -1]:.4g} mm"),
        ("mean", f"{result.travel.mean():.4g} mm"),
    ]


def sentence(values, result):
    return f"At a damping ratio of {values['ratio']:.2f} the travel falls to {result.travel.min():.3g} mm."


def live():
    return LiveFigure(
        name="swings",
        sliders=[Slider("ratio", "damping ratio", 0.02, 0.98, 0.01, 0.05)],
        compute=lambda ratio: SimpleNamespace(travel=swings(ratio)),
        build=build,
        draw=draw,
        read_out=numbers,
        describe=sentence,
    )


def interact():
    import matplotlib.pyplot as plt

    def show(ratio):
        result = SimpleNamespace(travel=swings(ratio))
        _, ax = plt.subplots(figsize=(9, 4), dpi=100)
        ax.plot(TIME, result.travel.T)
        ax.set(**LIMITS)
        ax.grid()
        plt.show()
        print(*(f"{label}: {text}" for label, text in numbers(result)))
        print(sentence({"ratio": ratio}, result))

    widgets.interact(show, ratio=slider())


class Canvas(anywidget.AnyWidget):
    """Lines drawn by the browser from heights sent as 32-bit numbers."""

    heights = traitlets.Bytes().tag(sync=True)
    _esm = """
    export default { render({ model, el }) {
      const canvas = Object.assign(document.createElement('canvas'), { width: 900, height: 400 });
      const pen = canvas.getContext('2d');
      const colours = ['#0072b2', '#b85000', '#8a3d78', '#3d3d3d'];
      const draw = () => {
        const view = model.get('heights');
        const y = new Float32Array(view.buffer.slice(view.byteOffset, view.byteOffset + view.byteLength));
        pen.clearRect(0, 0, 900, 400);
        for (let line = 0; line < 4; line++) {
          pen.beginPath();
          pen.strokeStyle = colours[line];
          for (let i = 0; i < 2000; i++) pen.lineTo(i * 0.45, 200 - 180 * y[line * 2000 + i]);
          pen.stroke();
        }
        canvas.dispatchEvent(new Event('drawn', { bubbles: true }));
      };
      model.on('change:heights', draw);
      el.appendChild(canvas);
      draw();
    } };"""


def canvas():
    control = slider()
    picture = Canvas(heights=swings(control.value).astype("f4").tobytes())
    control.observe(lambda change: setattr(picture, "heights", swings(change["new"]).astype("f4").tobytes()), "value")
    return widgets.VBox([control, picture])


def image():
    """Pictures of the same size made ahead, only to be sent and shown."""
    figure, control = live(), slider()
    ready = {}
    for value in np.arange(control.min, control.max, control.step):
        figure.update(ratio=float(value))
        ready[round(value, 2)] = figure._image.value
    picture = widgets.Image(format="url", value=ready[control.value])
    control.observe(lambda change: setattr(picture, "value", ready[round(change["new"], 2)]), "value")
    return widgets.VBox([control, picture])
