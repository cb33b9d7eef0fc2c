"""A matplotlib figure drawn fast: a kept background, its moving artists blitted, a PNG of few colours."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable, Iterator, Mapping

import numpy as np
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from helpers.models.compiled import njit
from helpers.teaching.layouts import Layout
from helpers.teaching.plots import png_small, style


@njit(cache=True)
def _indexed(pixels, rows, palette):
    """Fill `rows[:, 1:]` with palette places and `palette`, shape (256, 3), with colours; returns how many.

    Colours that agree in the upper four bits of red, green and blue share a place and take the commonest of theirs
    (Boyer and Moore's majority vote), so that areas and lines keep their exact colour. Past 256 such groups, the ones
    of fewest pixels take the nearest colour kept.
    """
    height, width, _ = pixels.shape
    group = np.empty((height, width), np.uint16)
    size, votes, leader = np.zeros(4096, np.int64), np.zeros(4096, np.int64), np.zeros((4096, 3), np.uint8)
    for i in range(height):
        for j in range(width):
            red, green, blue = pixels[i, j, 0], pixels[i, j, 1], pixels[i, j, 2]
            g = (red >> 4) << 8 | (green >> 4) << 4 | blue >> 4
            group[i, j] = g
            size[g] += 1
            if leader[g, 0] == red and leader[g, 1] == green and leader[g, 2] == blue:
                votes[g] += 1
            elif votes[g] == 0:
                leader[g, 0], leader[g, 1], leader[g, 2] = red, green, blue
                votes[g] = 1
            else:
                votes[g] -= 1
    place = np.zeros(4096, np.uint8)
    kept = 0
    for g in np.argsort(-size):
        if size[g] == 0:
            break
        if kept < 256:
            palette[kept] = leader[g]
            place[g] = kept
            kept += 1
        else:
            nearest = 3 * 256**2
            for k in range(256):
                apart = 0
                for c in range(3):
                    apart += (int(palette[k, c]) - int(leader[g, c])) ** 2
                if apart < nearest:
                    nearest = apart
                    place[g] = k
    for i in range(height):
        for j in range(width):
            rows[i, j + 1] = place[group[i, j]]
    return kept


def encode_png(pixels: np.ndarray) -> bytes:
    """PNG of an opaque (height, width, 4) uint8 array in at most 256 colours.

    A quarter of the bytes to compress, send and decode; no filter and runs alone, for what is shown for a moment.
    """
    height, width, _ = pixels.shape
    rows = np.zeros((height, width + 1), np.uint8)  # the first byte of a row names its filter: 0, none
    palette = np.zeros((256, 3), np.uint8)
    kept = _indexed(pixels, rows, palette)

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)
    packer = zlib.compressobj(1, zlib.DEFLATED, 15, 9, zlib.Z_RLE)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"PLTE", palette[:kept].tobytes())
        + chunk(b"IDAT", packer.compress(rows.data) + packer.flush())
        + chunk(b"IEND", b"")
    )


def _artists(held) -> Iterator[Artist]:
    if isinstance(held, Artist):
        yield held
    elif isinstance(held, Mapping):
        yield from _artists(list(held.values()))
    elif isinstance(held, (list, tuple)):
        for part in held:
            yield from _artists(part)
    elif hasattr(held, "__dict__"):
        yield from _artists(list(vars(held).values()))


class Picture:
    """The matplotlib figure with its kept background; axes limits stay as they were built."""

    def __init__(self, build: Callable, result, size: tuple[float, float], layout: Layout):
        self.figure = Figure(size, dpi=layout.dots, layout="constrained")
        self.canvas = FigureCanvasAgg(self.figure)
        with style():
            self.held = build(self.figure, result)
            layout.arrange(self.figure)
        self.moving = sorted(_artists(self.held), key=lambda artist: artist.get_zorder())
        for artist in self.moving:
            artist.set_animated(True)
        self.canvas.draw()
        self.figure.set_layout_engine("none")
        self.background = self.canvas.copy_from_bbox(self.figure.bbox)

    def pixels(self) -> np.ndarray:
        self.canvas.restore_region(self.background)
        renderer = self.canvas.get_renderer()
        for artist in self.moving:
            artist.draw(renderer)
        return np.asarray(self.canvas.buffer_rgba())

    def still(self) -> bytes:
        """A small PNG for the saved notebook."""
        return png_small(self.pixels())

    def curve_numbers(self) -> str:
        """Root mean square of every moving line, so that a compared reference also holds the curves."""
        lines = [np.asarray(a.get_ydata(), float) for a in self.moving if hasattr(a, "get_ydata")]
        rms = [np.sqrt(np.nanmean(y**2)) for y in lines if np.isfinite(y).any()]
        return ", ".join(f"{value:.4g}" if value > 1e-9 else "0" for value in rms)
