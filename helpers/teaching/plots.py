"""The look of the figures, static figures with their text alternative, and the primitives of sketches.

Figures are made without pyplot: nothing global changes, and nothing shows by itself.
"""

from __future__ import annotations

import base64
import io
from dataclasses import dataclass
from html import escape

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import FancyArrowPatch, Rectangle
from matplotlib.patheffects import withStroke
from matplotlib.text import Text
from PIL import Image

INK, FAINT = "#222222", "#767676"
_LOOK = {
    "figure.facecolor": "white", "axes.facecolor": "white", "font.family": "DejaVu Sans", "font.size": 10,
    "axes.titlesize": 11, "axes.labelsize": 10, "axes.titlelocation": "left", "text.color": INK, "axes.labelcolor": INK,
    "axes.edgecolor": FAINT, "xtick.color": INK, "ytick.color": INK, "axes.grid": True, "grid.color": "#dddddd",
    "grid.linewidth": 0.6, "axes.axisbelow": True, "axes.spines.top": False, "axes.spines.right": False,
    "lines.linewidth": 1.8, "hatch.linewidth": 0.6,
}  # fmt: skip


def style():
    """Context in which axes and curves take the look of the course."""
    return rc_context(_LOOK)


@dataclass(frozen=True)
class Style:
    """How one family of suspensions is drawn: told apart by colour, by dash and by marker."""

    colour: str
    dash: str | tuple
    marker: str

    def line(self, **more) -> dict:
        """Keyword arguments of `Axes.plot` for a curve."""
        return {"color": self.colour, "linestyle": self.dash} | more

    def points(self, **more) -> dict:
        """Keyword arguments of `Axes.plot` for single points."""
        return {"color": self.colour, "linestyle": "none", "marker": self.marker, "markersize": 7} | more


# The hues of Okabe and Ito's palette, darkened until text in the same colour reaches 4.5:1 on white.
STYLES = {
    "plain": Style("#3d3d3d", "solid", "o"),
    "active": Style("#0072b2", (0, (7, 2.5)), "s"),
    "semi_active": Style("#b85000", (0, (7, 2, 1.5, 2)), "^"),
    "mode_switching": Style("#8a3d78", (0, (2, 1.5)), "D"),
}
PALETTE = {family: look.colour for family, look in STYLES.items()}
GHOST = {"color": "#8c8c8c", "linestyle": "solid", "linewidth": 1.0}  # the curve of the default values


def new_figure(size: tuple[float, float] = (9, 4), rows: int = 1, columns: int = 1, **subplots):
    """A figure (inches, 100 dots each) in the course's look, and its axes as `Figure.subplots` returns them."""
    figure = Figure(size, dpi=100, layout="constrained")
    FigureCanvasAgg(figure)
    with style():
        return figure, figure.subplots(rows, columns, **subplots)


def label_line(ax: Axes, line: Line2D, text: str, x: float | None = None, above: bool = True) -> Text:
    """Write the curve's name on the curve, in its colour, at x (its right end without x)."""
    label = ax.annotate(
        text, (0, 0), xytext=(0, 4 if above else -4), textcoords="offset points", ha="right" if x is None else "center",
        va="bottom" if above else "top", color=line.get_color(),
        path_effects=[withStroke(linewidth=3, foreground="white")],
    )  # fmt: skip
    place_label(label, line, x)
    return label


def place_label(label: Text, line: Line2D, x: float | None = None) -> None:
    """Move a label of `label_line` along after its curve's data changed."""
    xs, ys = (np.asarray(data, float) for data in line.get_data())
    good = np.isfinite(xs) & np.isfinite(ys)
    if good.any():
        order = np.argsort(xs[good], kind="stable")
        at = xs[good].max() if x is None else x
        label.xy = (at, float(np.interp(at, xs[good][order], ys[good][order])))


def png_small(pixels: np.ndarray) -> bytes:
    """A well compressed PNG (48 colours) of an (height, width, 4) uint8 array, for what is saved."""
    out = io.BytesIO()
    image = Image.fromarray(pixels).convert("RGB")
    few = image.quantize(48, method=Image.Quantize.MAXCOVERAGE, kmeans=1, dither=Image.Dither.NONE)
    few.save(out, "PNG", optimize=True)
    return out.getvalue()


def _address(png: bytes) -> str:
    return f"data:image/png;base64,{base64.b64encode(png).decode()}"


def picture_html(png: bytes, alt: str, caption: str = "", narrow: bytes = b"") -> str:
    """An image element that holds its picture and its text alternative; `narrow` is the picture for a phone.

    JupyterLab drops a text alternative given as metadata of an `image/png` output; it keeps the one in HTML,
    in notebooks that are not trusted too.
    """
    if not alt.strip():
        raise ValueError("A figure needs a text alternative: one sentence on what it shows.")
    image = f'<img alt="{escape(alt)}" style="max-width:100%" src="{_address(png)}">'
    if narrow:
        image = f'<picture><source media="(max-width: 480px)" srcset="{_address(narrow)}">{image}</picture>'
    return f"<figure>{image}<figcaption>{escape(caption)}</figcaption></figure>" if caption else image


def picture_bundle(png: bytes, alt: str, text: str, caption: str = "", narrow: bytes = b"") -> tuple[dict, dict]:
    """The forms of a saved picture, and their metadata: HTML first, PNG for viewers that show none, text for others."""
    shown, plain = picture_html(png, alt, caption, narrow), base64.b64encode(png).decode()
    return {"text/html": shown, "image/png": plain, "text/plain": text}, {"image/png": {"alt": alt}}


class Still:
    """A drawn figure to be shown as the value of a cell, with its text alternative and caption."""

    def __init__(self, png: bytes, alt: str, caption: str = ""):
        self.alt, self.caption, self.png = alt, caption, png
        self._bundle = picture_bundle(png, alt, "\n".join(filter(None, [alt, caption])), caption)

    def _repr_mimebundle_(self, **kwargs) -> tuple[dict, dict]:
        return self._bundle


def still(figure: Figure, alt: str, caption: str = "") -> Still:
    """A static figure for a cell's last expression; alt says what is to be seen, with its numbers."""
    if not hasattr(figure.canvas, "buffer_rgba"):
        FigureCanvasAgg(figure)
    with style():
        figure.canvas.draw()
    return Still(png_small(np.asarray(figure.canvas.buffer_rgba())), alt, caption)


def sketch_axes(ax: Axes, width: float, height: float) -> None:
    """Bare axes for a sketch: one scale in both directions, no frame, origin at the lower left."""
    ax.set(xlim=(0, width), ylim=(0, height), aspect="equal")
    ax.axis("off")


def spring_points(x: float, y0: float, y1: float, coils: int = 5, width: float = 0.3):
    """Corners of a zigzag spring from (x, y0) to (x, y1): two arrays of shape (2 coils + 4,)."""
    sides = np.r_[0, 0, np.tile([1, -1], coils), 0, 0] * width / 2
    heights = np.r_[0, 0.15 + 0.7 * np.r_[0, (np.arange(2 * coils) + 0.5) / (2 * coils), 1], 1]
    return x + sides, y0 + (y1 - y0) * heights


def spring(ax: Axes, x: float, y0: float, y1: float, coils: int = 5, width: float = 0.3, **look) -> Line2D:
    """A spring from (x, y0) to (x, y1); `set_data(*spring_points(...))` moves it."""
    return ax.plot(*spring_points(x, y0, y1, coils, width), **({"color": INK, "linewidth": 1.5} | look))[0]


def dashpot_points(x: float, y0: float, y1: float, width: float = 0.3):
    """One broken line for a damper: rod, piston and an open cup; arrays with NaN where the pen lifts."""
    gap, half = np.nan, width / 2
    xs = x + np.array([0, 0, gap, -half, -half, half, half, gap, -0.75 * half, 0.75 * half, gap, 0, 0])
    heights = np.array([0, 0.3, gap, 0.7, 0.3, 0.3, 0.7, gap, 0.55, 0.55, gap, 0.55, 1])
    return xs, y0 + (y1 - y0) * heights


def dashpot(ax: Axes, x: float, y0: float, y1: float, width: float = 0.3, **look) -> Line2D:
    """A damper from (x, y0) to (x, y1); `set_data(*dashpot_points(...))` moves it."""
    return ax.plot(*dashpot_points(x, y0, y1, width), **({"color": INK, "linewidth": 1.5} | look))[0]


def mass(ax: Axes, x: float, y: float, width: float, height: float, text: str = "") -> Rectangle:
    """A body centred on x with its lower edge at y, its name inside."""
    box = ax.add_patch(Rectangle((x - width / 2, y), width, height, facecolor="#e8eef2", edgecolor=INK, linewidth=1.5))
    ax.text(x, y + height / 2, text, ha="center", va="center")
    return box


def ground(ax: Axes, x0: float, x1: float, y: float, depth: float = 0.15) -> Line2D:
    """The ground line from x0 to x1, hatched below."""
    ax.add_patch(
        Rectangle((x0, y - depth), x1 - x0, depth, facecolor="none", edgecolor=FAINT, hatch="////", linewidth=0)
    )
    return ax.plot([x0, x1], [y, y], color=INK, linewidth=1.5)[0]


def arrow(
    ax: Axes, start: tuple[float, float], end: tuple[float, float], text: str = "", colour: str = INK,
    side: str = "right",
) -> FancyArrowPatch:  # fmt: skip
    """A force or a coordinate: an arrow from start to end, its name beside its head on the given side."""
    patch = ax.add_patch(
        FancyArrowPatch(
            start, end, arrowstyle="-|>", mutation_scale=14, shrinkA=0, shrinkB=0, linewidth=1.8, color=colour
        )
    )
    ax.annotate(
        text, end, xytext=(6 if side == "right" else -6, 0), textcoords="offset points", va="center",
        ha="left" if side == "right" else "right", color=colour,
    )  # fmt: skip
    return patch
