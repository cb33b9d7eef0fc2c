"""Ground that is the same on every grid, and the path of the axle of a rigid wheel that rolls over it.

`terrain.Profile` is a row of heights: on another spacing it is another ground, and a step is a slope one spacing long.
Here ground is a sum of shapes with a height at any distance and exact edges; a grid is laid only when a wheel rolls
over it, so halving the spacing refines the path and changes nothing else. Heights in m, about the mean gradient.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numba import njit

from helpers.models.quantities import in_range
from helpers.models.terrain import REFERENCE_FREQUENCY, SPACING, FellLoop, Profile, Section, roughness

FINE = 0.0025  # m between the points of a path: halving it changes no printed digit
PARTS = 4  # points of the ground for each of the path: the point that touches is then known to some 0.3 mm
CLOSEST = 1e-6  # m between two points of a path


@dataclass(frozen=True, eq=False)
class Path:
    """Height of an axle, less the wheel's radius, against distance; shape (n,), m, at growing, unequal distances."""

    distance: np.ndarray
    height: np.ndarray

    @property
    def length(self):
        """Distance from the first point to the last, m."""
        return self.distance[-1] - self.distance[0]

    def at(self, distance):
        """Height in m at any distance in m: linear between points, held at the ends."""
        return np.interp(distance, self.distance, self.height)


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
        bump = np.sqrt(radius**2 - (distance[over] - self.place) ** 2) - (radius - self.height)
        height[over] += np.maximum(bump, 0.0)


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
        left = np.minimum((along / self.spacing).astype(int), len(self.heights) - 2)
        part = along / self.spacing - left
        padded = np.concatenate([[2 * self.heights[0] - self.heights[1]], self.heights,
                                 [2 * self.heights[-1] - self.heights[-2]]])  # fmt: skip
        a, b, c, d = (padded[left + k] for k in range(4))
        # Lagrange's cubic through the four heights about each place.
        up, down = part + 1.0, part - 1.0
        rough = part * (part - 2.0) * (up * c / -2.0 - down * a / 6.0) + down * (up * (part - 2.0) * b / 2.0)
        rough += up * part * down * d / 6.0
        if self.fade > 0.0:
            edge = np.minimum(along, length - along) / self.fade
            rough *= np.sin(np.pi / 2 * np.clip(edge, 0.0, 1.0)) ** 2
        height += rough


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
    def of(cls, profile, spacing=FINE):
        """The ground that a `Profile` describes, straight between its points: one's own, from a file."""
        start = profile.distance[0]
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
        # To 0.1 um: the last bits of a sine differ between processors, and a switching law would magnify them.
        return np.round(height, 7)

    def sampled(self, spacing=SPACING):
        """Its heights at equal intervals of about `spacing` in m: a `Profile` to draw, or to estimate a spectrum of."""
        distance = np.linspace(0.0, self.length, round(self.length / spacing) + 1)
        return Profile(distance, self.at(distance))

    def under_wheel(self, radius):
        """`Path` of the axle of a rigid wheel of `radius` in m that rolls over this ground.

        While one point of the ground touches, the axle moves on a circle about it. The path is the upper envelope of
        the circles about all points; its points are an even grid, the edges, and every kink, where the wheel meets the
        ground ahead before it leaves the ground behind and the point that touches jumps: two circles cross there.
        """
        radius = in_range("Ground", "radius", radius, "m", 0.01, 10.0)
        edges = np.unique(np.concatenate([np.zeros(0), *(shape.edges for shape in self.shapes)]))
        edges = edges[(edges > 0.0) & (edges < self.length)]
        count = round(self.length / self.spacing)
        grain = self.length / (count * PARTS)
        beyond = math.ceil(radius / grain)
        points = _merged(grain * np.arange(-beyond, count * PARTS + beyond + 1), edges, grain / 4)
        height = self.at(points)
        touched, since = _rolled(points, height, radius)
        jump = np.flatnonzero(np.diff(touched) > 1) + 1
        jump = jump[(since[jump] > 0.0) & (since[jump] < self.length)]
        kinks = since[jump]
        # A wall as high as the axle, or a drop as deep, moves it straight up or down.
        below = _over(points, height, touched[jump - 1], kinks, radius)
        wall = np.abs(below - _over(points, height, touched[jump], kinks, radius)) > 1e-9
        kinks = np.concatenate([kinks, kinks[wall] - 2 * CLOSEST])
        even = np.linspace(0.0, self.length, count + 1)
        distance = _merged(_merged(even, edges, self.spacing / 50), kinks, 1.5 * CLOSEST, even[[0, -1]])
        at = touched[np.searchsorted(since, distance, "right") - 1]
        return Path(distance, np.round(_over(points, height, at, distance, radius), 12))


def _merged(places, others, apart, kept=()):
    """Both rows in one, sorted, without those of `places` that lie nearer than `apart` to one of `others`."""
    others = np.unique(others)
    if len(others) == 0:
        return places
    after = np.searchsorted(others, places)
    near = np.minimum(
        np.abs(places - others[np.maximum(after - 1, 0)]), np.abs(others[np.minimum(after, len(others) - 1)] - places)
    )
    return np.unique(np.concatenate([places[near >= apart], others, kept]))


def _over(points, height, touched, distance, radius):
    """Height of the axle less the radius at `distance` on the circles about the points numbered `touched`."""
    return height[touched] + np.sqrt(np.maximum(radius**2 - (distance - points[touched]) ** 2, 0.0)) - radius


@njit(cache=True, error_model="numpy")
def _crossing(x, z, other_x, other_z, radius):
    """Where an axle on the circle about (x, z) goes over to the circle about another point further on."""
    run, rise = other_x - x, other_z - z
    middle, square = 0.5 * (x + other_x), run**2 + rise**2
    if run >= 2.0 * radius:
        return middle
    lean = math.sqrt(max(radius**2 / square - 0.25, 0.0))
    if run * lean < 0.5 * abs(rise):  # they do not cross above both points: the wheel stands at a wall, or falls
        return other_x - radius if rise > 0.0 else x + radius
    return middle - rise * lean


@njit(cache=True, error_model="numpy")
def _rolled(points, height, radius):
    """Numbers of the points that a wheel touches, in order, and from which distance of the axle on it touches each."""
    touched, since = np.empty(len(points), dtype=np.int64), np.empty(len(points))
    count = 0
    for j in range(len(points)):
        start = -math.inf
        while count > 0:
            i = touched[count - 1]
            start = _crossing(points[i], height[i], points[j], height[j], radius)
            if start > since[count - 1]:
                break
            count -= 1
            start = -math.inf
        touched[count], since[count] = j, start
        count += 1
    return touched[:count].copy(), since[:count].copy()


# --- kinds of ground -------------------------------------------------------------------------------------------------


def rough_road(road_class, length, *, seed, band=(0.011, 2.83), fade=0.0, spacing=FINE):
    """A random road as `terrain.iso_8608` makes it of the same seed; the band's upper limit at most 25 cycle/m.

    The sum of harmonics is worked out at 32 points of the shortest wave, with cubics between: to 4e-5 of its height.
    """
    length = in_range("rough_road", "length", length, "m", 1.0, 1e5)
    low, high = (in_range("rough_road", "band", limit, "cycle/m", 0.0, 1 / (2 * SPACING)) for limit in band)
    drawn = round(length / SPACING) // 2 + 1
    phase = np.random.default_rng(seed).uniform(0, 2 * np.pi, drawn)
    count = max(math.ceil(32 * high * length), 2 * drawn)
    lines = np.zeros(count // 2 + 1, dtype=complex)
    frequency = np.arange(drawn) / length
    inside = np.flatnonzero((frequency >= low) & (frequency <= high) & (frequency > 0))
    density = roughness(road_class) * (frequency[inside] / REFERENCE_FREQUENCY) ** -2
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


def fell_loop(seed=8, spacing=FINE):
    """The Fell loop of `terrain.fell_loop`: the same random road, roots and steps for a seed, on any grid."""
    draw = np.random.default_rng(seed)
    told = {"seed": draw, "band": (0.05, 2.83), "fade": 2.0, "spacing": spacing}  # longer waves belong to the gradient
    climb = _strewn(rough_road("C", 120.0, **told), draw, 12, (0.03, 0.04), (2.0, 3.0))
    waves = [
        Washboard(height, wavelength, 30, place)
        for place, height, wavelength in ((25.0, 0.025, 0.7), (80.0, 0.03, 0.9), (140.0, 0.03, 1.1))
    ]
    traverse = _strewn(rough_road("D", 200.0, **told).plus(*waves), draw, 6, (0.03, 0.05), (2.0, 4.0))
    descent = _strewn(rough_road(8e-4, 240.0, **told), draw, 7, (0.05, 0.09), (5.0, 8.0))  # within class D
    heights = (-0.05, -0.08, 0.05, -0.12, 0.08, -0.12, -0.08, 0.08, -0.05, -0.12)
    steps = [Step(height, 13.0 + 22.0 * k + draw.uniform(0.0, 8.0)) for k, height in enumerate(heights)]
    return FellLoop((
        Section("climb", climb.level(), 0.10, True),
        Section("traverse", traverse.level(), 0.0, True),
        Section("descent", descent.plus(*steps).level(), -0.05, False),
    ))  # fmt: skip
