"""The roads of many runs abreast: heights under their wheels, worked out a block of steps ahead."""

from helpers.models.compiled import njit
from helpers.simulation.lane_step import LANES, ROAD_END, ROAD_MID

ORIGIN, SPEED, HALF_STEP, DATUM = range(4)  # columns of `legs`
BLOCK = 64  # steps for which the roads are worked out ahead
ROLLED = 2 * BLOCK + 1  # half steps of them
WIDE = ROLLED + 16  # with room for whole vectors


@njit(cache=True, error_model="numpy")
def roll(legs, ground, distance, height, cursor, first, path):
    """Height under each wheel at the `ROLLED` half steps from number `first` on, into `path`, shape (legs, WIDE).

    legs: (start in m, speed, half step, height at the start) of each; ground: where its path begins in `distance` and
    `height`, and where it ends. The arithmetic is `numpy.interp`'s; cursor: the interval that each wheel is in.
    """
    stop = first + ROLLED
    for leg in range(len(legs)):
        origin, speed, half_step, datum = legs[leg, ORIGIN], legs[leg, SPEED], legs[leg, HALF_STEP], legs[leg, DATUM]
        row, last, at, k = path[leg], ground[leg, 1] - 1, cursor[leg], first
        a_metre = 1.0 / (speed * half_step)
        while k < stop:
            x = origin + speed * (half_step * k)
            while at < last and x >= distance[at + 1]:
                at += 1
            if at == last:
                row[k - first : ROLLED] = height[last] - datum
                break
            left, right, base = distance[at], distance[at + 1], height[at]
            slope = (height[at + 1] - base) / (right - left)
            # Rounded up to whole vectors: what lies beyond the interval is written again with the next one.
            sure = min(max(int((right - origin) * a_metre) - 1, k + 1), stop)
            for i in range(k, k + 8 * ((sure - k + 9) // 8)):
                row[i - first] = slope * (origin + speed * (half_step * i) - left) + base - datum
            k = sure
            while k < sure + 2 and origin + speed * (half_step * k) < right:
                k += 1
        cursor[leg] = at


@njit(cache=True, error_model="numpy")
def lay(path, leg, lanes, under):
    """Write the heights of `path` to the lanes of each half step, `under`, shape (ROLLED, LANES), well before `spread`.

    A vector read right after the single numbers in it were written would wait for them. All are addresses.
    """
    for k in range(ROLLED):
        for j in range(lanes):
            under[k * LANES + j] = path[leg[j] * WIDE + k]


@njit(cache=True, inline="always", error_model="numpy")
def spread(w, lanes, under):
    """Take over the roads of the middle and the end of the step."""
    for j in range(lanes):
        w[ROAD_MID + j] = under[j]
    for j in range(lanes):
        w[ROAD_END + j] = under[LANES + j]
