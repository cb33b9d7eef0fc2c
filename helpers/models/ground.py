"""Ground that is the same on every grid: a sum of shapes with exact edges, random roads, the Fell loop.

`terrain.Profile` is a row of heights: on another spacing it is another ground, and a step is a slope one spacing long.
Here ground is a sum of shapes with a height at any distance and exact edges; a grid is laid only when a wheel rolls
over it, so halving the spacing refines the path and changes nothing else. Heights in m, about the mean gradient.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from helpers.models.compiled import njit
from helpers.models.quantities import in_range
from helpers.models.rolling import rolled
from helpers.models.terrain import REFERENCE_FREQUENCY, SPACING, FellLoop, Profile, Section, roughness

FINE = 0.001  # m between the points of the ground: halving it changes no printed digit
MOST_POINTS = 1_000_000  # of a path, on ground of one's own


# --- shapes: each adds its height to `height` at the sorted distances given, the upper one where it has an edge ------


@dataclass(frozen=True)
class Step:
    """A rise by `height` (a drop if negative) at distance `place`; m."""

    height: float
    place: float

    @property
    def edges(self):
        return (self.place,)

    def add(self, distance, height):
        height[np.searchsorted(distance, self.place, "left" if self.height > 0 else "right") :] += self.height


@dataclass(frozen=True)
class Ramp:
    """An even rise by `height` over `run` from distance `place` on; m."""

    height: float
    place: float
    run: float

    @property
    def edges(self):
        return self.place, self.place + self.run

    def add(self, distance, height):
        height += self.height * np.clip((distance - self.place) / self.run, 0.0, 1.0)


@dataclass(frozen=True)
class HalfRound:
    """A bump whose section is a circle's segment of `width` along the ground, highest at `place`: a root, a rock; m."""

    height: float
    place: float
    width: float

    edges = ()  # it meets the ground in a corner, which no wheel reaches

    def add(self, distance, height):
        half = self.width / 2
        radius = (self.height**2 + half**2) / (2 * self.height)
        over = slice(*np.searchsorted(distance, (self.place - half, self.place + half)))
        aside = np.minimum(np.abs(distance[over] - self.place), half)
        height[over] += np.maximum(np.sqrt(radius**2 - aside**2) - (radius - self.height), 0.0)


@dataclass(frozen=True)
class Washboard:
    """Whole `waves` of `height` from trough to crest about height 0, from distance `place` on; m."""

    height: float
    wavelength: float
    waves: int
    place: float

    @property
    def edges(self):
        return self.place, self.place + self.waves * self.wavelength

    def add(self, distance, height):
        over = slice(*np.searchsorted(distance, self.edges))
        height[over] += self.height / 2 * np.sin(2 * np.pi * (distance[over] - self.place) / self.wavelength)


@dataclass(frozen=True, eq=False)
class Rough:
    """Heights at equal intervals of `spacing` from distance `place` on, with cubics between them; m.

    `fade`: over how many m at either end the height is brought smoothly to 0.
    """

    heights: np.ndarray
    spacing: float
    place: float = 0.0
    fade: float = 0.0

    edges = ()

    def add(self, distance, height):
        length = self.spacing * (len(self.heights) - 1)
        along = np.clip(distance - self.place, 0.0, length)
        rough = _cubic(self.heights, along / self.spacing)
        if self.fade > 0.0:
            edge = np.minimum(along, length - along) / self.fade
            rough *= np.sin(np.pi / 2 * np.clip(edge, 0.0, 1.0)) ** 2
        height += rough


@njit(cache=True, error_model="numpy")
def _cubic(heights, places):
    """Lagrange's cubic through the four heights about each place, whose unit is their interval."""
    found, last = np.empty(len(places)), len(heights) - 1
    for n in range(len(places)):
        k = min(int(places[n]), last - 1)
        u = places[n] - k
        b, c = heights[k], heights[k + 1]
        a = heights[k - 1] if k > 0 else 2.0 * b - c
        d = heights[k + 2] if k + 2 <= last else 2.0 * c - b
        found[n] = (
            -u * (u - 1.0) * (u - 2.0) / 6.0 * a + (u + 1.0) * (u - 1.0) * (u - 2.0) / 2.0 * b
            - (u + 1.0) * u * (u - 2.0) / 2.0 * c + (u + 1.0) * u * (u - 1.0) / 6.0 * d
        )  # fmt: skip
    return found


@dataclass(frozen=True, eq=False)
class Surveyed:
    """Straight lines through (distance, height), from distance `place` on, held beyond the ends; m."""

    distance: np.ndarray
    height: np.ndarray
    place: float = 0.0

    @property
    def edges(self):
        return self.distance + self.place

    def add(self, distance, height):
        height += np.interp(distance, self.distance + self.place, self.height)


# --- ground ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Ground:
    """Level ground from distance 0 to `length` in m with `shapes` laid on it, held beyond its ends.

    spacing: m between the points of the paths over it; what the ground is does not depend on it.
    """

    length: float
    shapes: tuple = ()
    spacing: float = FINE

    def __post_init__(self):
        object.__setattr__(self, "spacing", in_range("Ground", "spacing", self.spacing, "m", 1e-4, 0.1))
        object.__setattr__(self, "length", in_range("Ground", "length", self.length, "m", 4 * self.spacing, 1e5))

    @classmethod
    def of(cls, profile, spacing=None):
        """The ground that a `Profile` describes, straight between its points: one's own, from a file.

        spacing: `FINE` unless given, and coarser on ground over a kilometre long.
        """
        start = profile.distance[0]
        spacing = max(FINE, profile.length / MOST_POINTS) if spacing is None else spacing
        return cls(profile.length, (Surveyed(profile.distance - start, profile.height),), spacing)

    def plus(self, *shapes):
        """This ground with more shapes laid on it."""
        return replace(self, shapes=(*self.shapes, *shapes))

    def level(self):
        """This ground less the straight line from its first point to its last."""
        first, last = self.at([0.0, self.length])
        return self.plus(Step(-first, -1.0), Ramp(first - last, 0.0, self.length))

    def at(self, distance):
        """Height in m at any distances in m, shape (n,), in growing order; at an edge, that of its upper side."""
        within = np.clip(np.asarray(distance, dtype=float), 0.0, self.length)
        height = np.zeros(len(within))
        for shape in self.shapes:
            shape.add(within, height)
        # To 10 nm: the last bits of a sine differ between processors, and a switching law would magnify them.
        return np.round(height, 8)

    def sampled(self, spacing=SPACING):
        """Its heights at equal intervals of about `spacing` in m: a `Profile` to draw, or to estimate a spectrum of."""
        distance = np.linspace(0.0, self.length, round(self.length / spacing) + 1)
        return Profile(distance, self.at(distance))

    def under_wheel(self, radius):
        """`Path` of the axle of a rigid wheel of `radius` in m that rolls over this ground. See `rolling.rolled`."""
        radius = in_range("Ground", "radius", radius, "m", 0.01, 10.0)
        edges = np.concatenate([np.zeros(0), *(shape.edges for shape in self.shapes)])
        return rolled(self.at, edges, self.length, self.spacing, radius)


# --- kinds of ground -------------------------------------------------------------------------------------------------


def rough_road(road_class, length, *, seed, band=(0.011, 2.83), fade=0.0, waviness=2.0, spacing=FINE):
    """A random road as `terrain.iso_8608` makes it of the same seed; the band's upper limit at most 25 cycle/m.

    waviness: the exponent by which the spectrum falls with frequency from Gd(n0) at 0.1 cycle/m, 2 in ISO 8608.
    The sum of harmonics is worked out at 32 points of the shortest wave, with cubics between: to 4e-5 of its height.
    """
    length = in_range("rough_road", "length", length, "m", 1.0, 1e5)
    waviness = in_range("rough_road", "waviness", waviness, "", 1.0, 4.0)
    low, high = (in_range("rough_road", "band", limit, "cycle/m", 0.0, 1 / (2 * SPACING)) for limit in band)
    drawn = round(length / SPACING) // 2 + 1
    phase = np.random.default_rng(seed).uniform(0, 2 * np.pi, drawn)
    count = max(math.ceil(32 * high * length), 2 * drawn)
    lines = np.zeros(count // 2 + 1, dtype=complex)
    frequency = np.arange(drawn) / length
    inside = np.flatnonzero((frequency >= low) & (frequency <= high) & (frequency > 0))
    density = roughness(road_class) * (frequency[inside] / REFERENCE_FREQUENCY) ** -waviness
    lines[inside] = np.sqrt(2 * density / length) * np.exp(1j * phase[inside]) * count / 2
    heights = np.fft.irfft(lines, count)
    return Ground(length, (Rough(np.append(heights, heights[0]), length / count, fade=fade),), spacing)


def _strewn(ground, draw, count, heights, width):
    """The ground with `count` half-rounds spread over it, height in m and width over height drawn from two ranges."""
    apart, roots = (ground.length - 8.0) / count, []
    for k in range(count):
        height = draw.uniform(*heights)
        across = height * draw.uniform(*width)
        roots.append(HalfRound(height, 4.0 + apart * (k + draw.uniform(0.1, 0.9)), across))
    return ground.plus(*roots)


def fell_loop(seed=8, spacing=FINE, waviness=2.0, rougher=1.0):
    """The Fell loop of `terrain.fell_loop`: the same random road, roots and steps for a seed, on any grid.

    waviness: as in `rough_road`; rougher: times the random road's spectrum, 4 for one class of ISO 8608.
    """
    draw = np.random.default_rng(seed)
    rougher = in_range("fell_loop", "rougher", rougher, "", 0.01, 64.0)
    told = {"seed": draw, "band": (0.05, 2.83), "fade": 2.0}  # longer waves belong to the gradient
    told |= {"spacing": spacing, "waviness": waviness}
    climb = _strewn(rough_road(rougher * roughness("C"), 120.0, **told), draw, 12, (0.03, 0.04), (2.0, 3.0))
    waves = [
        Washboard(height, wavelength, 30, place)
        for place, height, wavelength in ((25.0, 0.025, 0.7), (80.0, 0.03, 0.9), (140.0, 0.03, 1.1))
    ]
    boards = rough_road(rougher * roughness("D"), 200.0, **told).plus(*waves)
    traverse = _strewn(boards, draw, 6, (0.03, 0.05), (2.0, 4.0))
    descent = _strewn(rough_road(rougher * 8e-4, 240.0, **told), draw, 7, (0.05, 0.09), (5.0, 8.0))  # within class D
    heights = (-0.05, -0.08, 0.05, -0.12, 0.08, -0.12, -0.08, 0.08, -0.05, -0.12)
    steps = [Step(height, 13.0 + 22.0 * k + draw.uniform(0.0, 8.0)) for k, height in enumerate(heights)]
    return FellLoop((
        Section("climb", climb.level(), 0.10, True),
        Section("traverse", traverse.level(), 0.0, True),
        Section("descent", descent.plus(*steps).level(), -0.05, False),
    ))  # fmt: skip
