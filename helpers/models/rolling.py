"""The path of the axle of a rigid wheel over ground given by points, with a point of its own at every kink.

While one point of the ground touches, the axle moves on a circle about it, so the path is the upper envelope of equal
circles about all points. It kinks where the wheel meets the ground ahead before it leaves the ground behind: there the
point that touches jumps, and two circles cross.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.compiled import njit

CLOSEST = 1e-6  # m between two points of a path
NEAR = np.arange(-15, 16) / 16  # intervals of the grid, about a point that touches at a kink


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


def rolled(height_at, edges, length, spacing, radius):
    """`Path` of the axle of a rigid wheel of `radius` over `length` of ground; m.

    height_at: the ground's height at a row of growing distances, of the upper side at an edge. edges: distances at
    which it jumps or turns a corner, which become points of their own beside an even grid of about `spacing`.
    Points that a straight line replaces within spacing^2 / 4 over a metre are left out.
    """
    count = round(length / spacing)
    grain = length / count
    edges = np.unique(edges)
    edges = edges[(edges > grain / 4) & (edges < length - grain / 4)]
    beyond = math.ceil(radius / grain)
    points, _ = _merged(grain * np.arange(-beyond, count + beyond + 1), edges, grain / 4)
    height = height_at(points)
    touched, since = _envelope(points, height, radius)
    jump = np.flatnonzero(np.diff(touched) > 1) + 1
    # Again, with closer points about those that touch at the kinks: these then lie where they should.
    about = points[touched[np.concatenate([jump - 1, jump])]]
    more = np.unique((about + grain * NEAR[:, None]).ravel())
    more, _ = _merged(more[np.diff(more, prepend=-math.inf) > grain / 64], edges, grain / 64)
    known = points
    points, old = _merged(points, more, grain / 64)
    height = np.insert(height[old], np.searchsorted(known[old], more), height_at(more))
    touched, since = _envelope(points, height, radius)
    jump = np.flatnonzero(np.diff(touched) > 1) + 1
    jump = jump[(since[jump] > 3 * CLOSEST) & (since[jump] < length - 3 * CLOSEST)]
    jump = jump[np.diff(since[jump], prepend=-math.inf) > 4 * CLOSEST]
    kinks = since[jump]
    # A wall as high as the axle, or a drop as deep, moves it straight up or down.
    ways = [
        height[i] + np.sqrt(np.maximum(radius**2 - (kinks - points[i]) ** 2, 0.0))
        for i in (touched[jump - 1], touched[jump])
    ]
    kinks = np.concatenate([kinks, kinks[np.abs(ways[1] - ways[0]) > 1e-9] - 2 * CLOSEST])
    distance, _ = _merged(grain * np.arange(count + 1), edges, grain / 50)
    distance, _ = _merged(distance, kinks, 1.5 * CLOSEST)
    sharp = np.zeros(len(points), dtype=bool)
    sharp[np.searchsorted(points, edges)] = True
    axle = np.round(_axle(points, height, sharp, touched, since, distance, radius), 12)
    kept = _thinned(distance, axle, spacing**2 / 4.0)
    return Path(distance[kept], axle[kept])


def _merged(places, others, apart):
    """Both rows in one, sorted, less those of `places` within `apart` of an other; and which of `places` are kept."""
    others = np.unique(others)
    first, stop = np.searchsorted(places, others - apart), np.searchsorted(places, others + apart, "right")
    alone = np.ones(len(places), dtype=bool)
    for one, other in zip(first[stop > first], stop[stop > first], strict=True):
        alone[one:other] = False
    kept = places[alone]
    return np.insert(kept, np.searchsorted(kept, others), others), alone


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
def _envelope(points, height, radius):
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


@njit(cache=True, error_model="numpy")
def _axle(points, height, sharp, touched, since, distance, radius):
    """Height of the axle less the radius at each distance."""
    axle, k = np.empty(len(distance)), 0
    for n in range(len(distance)):
        x = distance[n]
        while k + 1 < len(touched) and since[k + 1] <= x:
            k += 1
        i = touched[k]
        here = height[i] + math.sqrt(max(radius**2 - (x - points[i]) ** 2, 0.0))
        # On smooth ground the place that touches lies between two points: a parabola through three finds it.
        if 0 < k < len(touched) - 1 and touched[k - 1] == i - 1 and touched[k + 1] == i + 1 and not sharp[i]:
            before, after = points[i] - points[i - 1], points[i + 1] - points[i]
            rising = (here - height[i - 1] - math.sqrt(max(radius**2 - (x - points[i - 1]) ** 2, 0.0))) / before
            falling = (height[i + 1] + math.sqrt(max(radius**2 - (x - points[i + 1]) ** 2, 0.0)) - here) / after
            slope, bend = (rising * after + falling * before) / (before + after), (falling - rising) / (before + after)
            if abs(slope) < -2.0 * bend * max(before, after):
                here -= slope**2 / (4.0 * bend)
        axle[n] = here - radius
    return axle


@njit(cache=True, error_model="numpy")
def _thinned(distance, height, within):
    """Numbers of the points to keep so that straight lines between them pass all others `within` m."""
    kept, count, k = np.empty(len(distance), dtype=np.int64), 1, 0
    kept[0] = 0
    while k < len(distance) - 1:
        # The slopes from point k that pass all points so far; the last point whose own is among them is the next kept.
        low, high, best, j = -math.inf, math.inf, k + 1, k + 1
        while j < len(distance) and low <= high:
            run, rise = distance[j] - distance[k], height[j] - height[k]
            if low <= rise / run <= high:
                best = j
            low, high = max(low, (rise - within) / run), min(high, (rise + within) / run)
            j += 1
        k = best
        kept[count] = k
        count += 1
    return kept[:count].copy()
