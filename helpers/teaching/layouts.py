"""How a live figure is laid out: wide on a page, narrow on a phone, larger before a class.

A figure is built wide and then arranged, so a scene lays out its panels once, for all.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text

from helpers.teaching.course import PageError

LETTER = 0.072  # inches that a letter takes at ten points


@dataclass(frozen=True)
class Layout:
    """dots: of an inch. type_size: over the wide layout's; lines: their width, likewise. width: inches, of one column.

    smallest, largest: points that any text has, where a picture is not shrunk to fit.
    """

    dots: int = 100
    type_size: float = 1.0
    lines: float = 1.0
    width: float = 0.0  # 0: panels side by side, as they were built
    smallest: float = 0.0
    largest: float = 100.0

    def arrange(self, figure: Figure) -> None:
        """Give a figure that was built wide this layout; axes limits and what the artists show stay."""
        for text in figure.findobj(Text):
            size = text.get_fontsize() * self.type_size
            text.set_fontsize(min(max(size, self.smallest), self.largest))
        for line in figure.findobj(Line2D):
            line.set_linewidth(line.get_linewidth() * self.lines)
            line.set_markersize(line.get_markersize() * self.lines**0.5)
        if self.width:
            self._stack(figure)

    def _stack(self, figure: Figure) -> None:
        """One panel below the other, column by column, each as high as it was within limits."""
        placed = [(ax, ax.get_subplotspec()) for ax in figure.axes]
        placed.sort(key=lambda pair: (pair[1].colspan.start, pair[1].rowspan.start))
        heights, names = [], []
        for ax, spec in placed:
            shares = spec.get_gridspec().get_height_ratios()
            share = sum(shares[row] for row in spec.rowspan) / sum(shares)
            heights.append(min(max(share * figure.get_figheight(), 1.9), 3.0))
            for text in ax.texts:  # long ones would leave the panel no room
                text.set_in_layout(False)
            for title in (ax.title, ax._left_title):  # may change as the controls are moved
                title.set_wrap(True)
            ticks = ax.get_yticklabels()
            if len(ticks) == len(names) and not any(tick.get_text() for tick in ticks):
                ax.set_yticks(
                    ax.get_yticks(), [name.get_text() for name in names]
                )  # its neighbour's, no more beside it
                for tick, name in zip(ax.get_yticklabels(), names, strict=True):
                    tick.set(color=name.get_color(), fontsize=name.get_fontsize())
            names = ax.get_yticklabels()
        figure.set_size_inches(self.width, sum(heights))
        grid = figure.add_gridspec(len(placed), 1, height_ratios=heights)
        for (ax, _), cell in zip(placed, grid, strict=True):
            ax.set_subplotspec(cell)
        figure.draw_without_rendering()  # tells how much room the labels have
        for ax in figure.axes:
            width, height = ax.get_position().size * figure.get_size_inches()
            for label, room in ((ax.xaxis.label, width), (ax.yaxis.label, height + 0.2)):
                label.set_text(textwrap.fill(" ".join(label.get_text().split()), int(room / LETTER)))


LAYOUTS = {
    "wide": Layout(),
    "narrow": Layout(width=3.9, smallest=9.0, largest=10.0),  # 11 to 14 dots even where a margin takes a twelfth
    "projector": Layout(dots=130, type_size=1.1, lines=1.5),
}
_chosen = "wide"


def layout_named(name: str = "") -> Layout:
    """The layout of a name, or the chosen one; PageError, one sentence, for another name."""
    if (name or _chosen) not in LAYOUTS:
        raise PageError(f"layout is {name!r}; allowed are {', '.join(map(repr, LAYOUTS))}.")
    return LAYOUTS[name or _chosen]


def choose_layout(name: str) -> None:
    """The layout of the live figures that are made from now on."""
    global _chosen
    layout_named(name)
    _chosen = name or "wide"
