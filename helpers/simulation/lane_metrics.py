"""Metrics of many runs abreast, gathered while they run: the numbers of `metrics.Metrics` without keeping a state.

The weighted accelerations come from a recursive filter instead of the Fourier transform of `weighting`. Its poles are
those of the weighting, all else a least-squares fit to its response up to `FITTED` of half the log's rate: the rms
differs by a few parts in 100 000 for Wh and in a million for Wk, as long as little of the acceleration lies above; so
do Wk's dose and running average, and its peak by less than one in 10 000.
"""

import math
from dataclasses import fields
from functools import lru_cache

import numpy as np

from helpers.models.compiled import njit
from helpers.simulation.lane_step import (
    BODY,
    BODY_ACC,
    BODY_SPEED,
    BUMP,
    END,
    FIRST,
    LANES,
    PULL,
    ROAD,
    TYRE,
    TYRE_FORCE,
    VALVE,
    WHEEL,
    WHEEL_SPEED,
    select,
)
from helpers.simulation.metrics import Metrics
from helpers.simulation.runs import FARTHEST
from helpers.simulation.weighting import weighting

SHOCKED = ("dose", "crest_factor", "transient")  # what takes more of Wk than its rms
NAMES = (*(told.name for told in fields(Metrics)), "peak_acceleration", "commands", "strokes")
"""What a sweep can gather: the fields of `Metrics`; the largest size of the body's acceleration, m/s2; changed commands
and strokes of the valve a second, see `metrics.valve_activity`."""

TAPS, LATE = 8, 3  # taps beside the resonators; points that the filter's answer comes after its input
FITTED = 0.7
(
    LAST, LOG_STEP, SQUARES, LOADS, AIRBORNE, TRAVELS, DEEPEST, SHALLOWEST, STRUCK, AT_STOP, PEAK, STROKES,
    VALVE_BEFORE, GONE, WAITING,
) = range(END, END + 15 * LANES, LANES)  # fmt: skip
PAST = END + 15 * LANES  # the accelerations of the points before, one fewer than TAPS
WK = PAST + (TAPS - 1) * LANES
SECTION = 6 * LANES  # rows of a resonator: two feedback numbers, two of its output, its last two values
WH = WK + 4 * SECTION + (TAPS + 1) * LANES  # after the resonators the taps and the sum of squares
WK_SQUARES, WH_SQUARES = WK + 4 * SECTION + TAPS * LANES, WH + 2 * SECTION + TAPS * LANES
SHOCKS = WH_SQUARES + LANES  # of what Wk lets through: fourth powers, largest square, running average, its largest
FOURTHS, LARGEST, AVERAGE, HIGHEST, KEPT_SHARE = range(SHOCKS, SHOCKS + 5 * LANES, LANES)
ROWS = SHOCKS // LANES + 5


@lru_cache(64)
def recursion(name, rate):
    """Column of a weighting's filter at `rate` in Hz: (a1, a2, c0, c1, 0, 0) of each resonator, then the taps, then 0.

    The output `LATE` points late is the sum of c0 u + c1 u' over resonators u = x + a1 u' + a2 u'', plus the taps times
    the last inputs. Poles above half the rate need no resonator: they are gone within a point.
    """
    told = weighting(name)
    poles = [(told.high_pass, math.sqrt(0.5)), (told.transition, told.transition_q)]
    if told.step is not None:
        poles += [told.step[2:], (told.low_pass, math.sqrt(0.5))]
    grid = np.linspace(0.0, 0.5 * FITTED * rate, 401)[1:]
    grid = np.concatenate([np.geomspace(0.05 * told.high_pass, grid[-1], 400), grid])
    back = np.exp(-2j * np.pi * grid / rate)
    feedback, answers = [], []
    for frequency, q in poles:
        pole = np.exp(2.0 * math.pi * frequency / rate * complex(-0.5 / q, math.sqrt(1.0 - 0.25 / q**2)))
        feedback.append((2.0 * pole.real, -(abs(pole) ** 2)))
        answers.append(1.0 / (1.0 - feedback[-1][0] * back - feedback[-1][1] * back**2))
    # Sums and differences of neighbours, scaled to a gain near one: numbers of like size, which a fit needs.
    scales = [1.0 - a1 - a2 for a1, a2 in feedback]
    columns = []
    for answer, scale in zip(answers, scales, strict=True):
        columns += [scale * answer, math.sqrt(scale) * (1.0 - back) * answer]
    columns += [back**k for k in range(TAPS)]
    table, wanted = np.array(columns).T, told.response(grid) * back**LATE
    stacked = np.vstack([table.real, table.imag]), np.concatenate([wanted.real, wanted.imag])
    found = np.linalg.lstsq(*stacked, rcond=None)[0]
    column = []
    for k, ((a1, a2), scale) in enumerate(zip(feedback, scales, strict=True)):
        whole, change = scale * found[2 * k], math.sqrt(scale) * found[2 * k + 1]
        column += [a1, a2, whole + change, -change, 0.0, 0.0]
    return np.array([*column, *found[2 * len(feedback) :], 0.0])


def prepare(rows, lane, log_step, points):
    """Set the rows of one lane for a log of `points` points, one every `log_step` s."""
    rows[LAST // LANES, lane] = points - 1
    rows[LOG_STEP // LANES, lane] = log_step
    rows[DEEPEST // LANES, lane], rows[SHALLOWEST // LANES, lane] = -math.inf, math.inf
    rows[AT_STOP // LANES, lane] = 1.0  # to begin at the stop is not to reach it
    rows[GONE // LANES, lane] = math.inf
    rows[KEPT_SHARE // LANES, lane] = math.exp(-log_step)  # of a running average over 1 s
    for name, base in (("Wk", WK), ("Wh", WH)):
        column = recursion(name, 1.0 / log_step)
        rows[base // LANES : base // LANES + len(column), lane] = column


@njit(cache=True, error_model="numpy")
def gather(w, lanes, point, wk, wh, shocks, friction):
    """Take in the logged point number `point` of all lanes. wk to shocks: see `weigh`; friction: `lane_step.stage`."""
    at = float(point)
    for j in range(lanes):
        inside = at <= w[LAST + j]
        zs, zu, load = w[BODY + j], w[WHEEL + j], -w[PULL + j]
        squeeze = zu - zs
        acceleration, valve = w[FIRST + BODY_ACC + j], w[VALVE + j]
        if friction is None:
            contact = max(load + w[TYRE + j] * (w[ROAD + j] - zu), 0.0)
        else:
            contact = load + w[FIRST + TYRE_FORCE + j]
        varied = contact - load
        w[SQUARES + j] = select(inside, w[SQUARES + j] + acceleration * acceleration, w[SQUARES + j])
        w[LOADS + j] = select(inside, w[LOADS + j] + varied * varied, w[LOADS + j])
        w[AIRBORNE + j] += select(inside & (contact <= 0.0), 1.0, 0.0)
        w[TRAVELS + j] = select(inside, w[TRAVELS + j] + squeeze * squeeze, w[TRAVELS + j])
        w[DEEPEST + j] = max(w[DEEPEST + j], select(inside, squeeze, w[DEEPEST + j]))
        w[SHALLOWEST + j] = min(w[SHALLOWEST + j], select(inside, squeeze, w[SHALLOWEST + j]))
        touching = squeeze >= w[BUMP + j]
        w[STRUCK + j] += select(inside & touching & (w[AT_STOP + j] == 0.0), 1.0, 0.0)
        w[AT_STOP + j] = select(touching, 1.0, 0.0)
        w[PEAK + j] = max(w[PEAK + j], select(inside, abs(acceleration), 0.0))
        w[STROKES + j] += select(inside & (point > 0), abs(valve - w[VALVE_BEFORE + j]), 0.0)
        w[VALVE_BEFORE + j] = valve
        slow = (abs(w[FIRST + BODY_SPEED + j]) < FARTHEST) & (abs(w[FIRST + WHEEL_SPEED + j]) < FARTHEST)
        near = (abs(zs) < FARTHEST) & (abs(zu) < FARTHEST) & slow  # false for what is not a number as well
        w[GONE + j] = min(w[GONE + j], select(inside & (not near), at, math.inf))
    if wk is not None or wh is not None:
        weigh(w, lanes, point, wk, wh, shocks)


@njit(cache=True, inline="always", error_model="numpy")
def resonate(w, x0, x1, at):
    """Step the resonator that stands at `at` through two points; returns its parts of both answers."""
    a1, a2, c0, c1, u1, u2 = (
        w[at], w[at + LANES], w[at + 2 * LANES], w[at + 3 * LANES], w[at + 4 * LANES], w[at + 5 * LANES],
    )  # fmt: skip
    new = x0 + a1 * u1 + a2 * u2
    newest = x1 + a1 * new + a2 * u1
    w[at + 4 * LANES], w[at + 5 * LANES] = newest, new
    return c0 * new + c1 * u1, c0 * newest + c1 * new


@njit(cache=True, inline="always", error_model="numpy")
def tapped(w, x0, x1, past, at):
    """Two points and the inputs before them times the taps that stand at `at`: parts of both answers."""
    p0, p1, p2, p3, p4, p5, p6 = past
    g0, g1, g2, g3 = w[at], w[at + LANES], w[at + 2 * LANES], w[at + 3 * LANES]
    g4, g5, g6, g7 = w[at + 4 * LANES], w[at + 5 * LANES], w[at + 6 * LANES], w[at + 7 * LANES]
    first = x0 * g0 + p0 * g1 + (p1 * g2 + p2 * g3) + (p3 * g4 + p4 * g5 + (p5 * g6 + p6 * g7))
    second = x1 * g0 + x0 * g1 + (p0 * g2 + p1 * g3) + (p2 * g4 + p3 * g5 + (p4 * g6 + p5 * g7))
    return first, second


@njit(cache=True, inline="always", error_model="numpy")
def heard(w, j, square, inside):
    """Take the square of a weighted acceleration of lane `j` into dose, peak and running average."""
    square = select(inside, square, 0.0)
    w[FOURTHS + j] += square * square
    w[LARGEST + j] = max(w[LARGEST + j], square)
    average = w[KEPT_SHARE + j] * w[AVERAGE + j] + (1.0 - w[KEPT_SHARE + j]) * square
    w[AVERAGE + j], w[HIGHEST + j] = average, max(w[HIGHEST + j], average)


@njit(cache=True, error_model="numpy")
def weigh(w, lanes, point, wk, wh, shocks):
    """Take the acceleration of the logged point number `point` into the filters; after its end a lane is at rest.

    wk, wh: None for a filter that is not asked for. shocks: None if of Wk nothing but the rms is. Points go through in
    pairs, which saves half the loads of the filters' numbers.
    """
    at = float(point)
    if point % 2 == 0:
        for j in range(lanes):
            w[WAITING + j] = select(at <= w[LAST + j], w[FIRST + BODY_ACC + j], 0.0)
        return
    for j in range(lanes):
        last, x0 = w[LAST + j], w[WAITING + j]
        x1 = select(at <= last, w[FIRST + BODY_ACC + j], 0.0)
        p = PAST + j
        past = (
            w[p], w[p + LANES], w[p + 2 * LANES], w[p + 3 * LANES], w[p + 4 * LANES], w[p + 5 * LANES], w[p + 6 * LANES]
        )  # fmt: skip
        early, late = at - 1.0 - LATE, at - LATE
        in_early, in_late = (early >= 0.0) & (early <= last), (late >= 0.0) & (late <= last)
        if wk is not None:
            y0, y1 = tapped(w, x0, x1, past, WK + 4 * SECTION + j)
            a0, a1 = resonate(w, x0, x1, WK + j)
            b0, b1 = resonate(w, x0, x1, WK + SECTION + j)
            c0, c1 = resonate(w, x0, x1, WK + 2 * SECTION + j)
            d0, d1 = resonate(w, x0, x1, WK + 3 * SECTION + j)
            y0, y1 = y0 + (a0 + b0) + (c0 + d0), y1 + (a1 + b1) + (c1 + d1)
            w[WK_SQUARES + j] += select(in_early, y0 * y0, 0.0) + select(in_late, y1 * y1, 0.0)
            if shocks is not None:
                heard(w, j, y0 * y0, in_early)
                heard(w, j, y1 * y1, in_late)
        if wh is not None:
            y0, y1 = tapped(w, x0, x1, past, WH + 2 * SECTION + j)
            a0, a1 = resonate(w, x0, x1, WH + j)
            b0, b1 = resonate(w, x0, x1, WH + SECTION + j)
            y0, y1 = y0 + (a0 + b0), y1 + (a1 + b1)
            w[WH_SQUARES + j] += select(in_early, y0 * y0, 0.0) + select(in_late, y1 * y1, 0.0)
        w[p], w[p + LANES], w[p + 2 * LANES], w[p + 3 * LANES] = x1, x0, past[0], past[1]
        w[p + 4 * LANES], w[p + 5 * LANES], w[p + 6 * LANES] = past[2], past[3], past[4]


def measured(names, rows, energy, changes):
    """The metrics `names` of all lanes, shape (len(names), LANES), and the time in s at which each ran out of bounds.

    energy: shape (ENERGIES, LANES), J, and changes: shape (LANES,), of each lane at its end; see `kernel.march`. The
    time is infinite for a run that stayed within.
    """

    def row(place):
        return rows[place // LANES]

    count = row(LAST) + 1.0
    mean_square = np.maximum(row(WK_SQUARES) / count, 5e-324)  # at rest a crest factor of 0
    with np.errstate(all="ignore"):
        duration = row(LAST) * row(LOG_STEP)
        found = (
            np.sqrt(row(SQUARES) / count), np.sqrt(row(WK_SQUARES) / count),
            np.sqrt(row(WH_SQUARES) / count), np.sqrt(row(LOADS) / count) / -row(PULL),
            row(AIRBORNE) / count, np.sqrt(row(TRAVELS) / count), row(DEEPEST), -row(SHALLOWEST),
            row(DEEPEST) / row(BUMP), row(STRUCK), (energy[0] + energy[1]) / duration, energy[2] / duration,
            energy[3] / duration, (row(FOURTHS) * row(LOG_STEP)) ** 0.25, np.sqrt(row(LARGEST) / mean_square),
            np.sqrt(row(HIGHEST)), row(PEAK), changes / duration, row(STROKES) / duration,
        )  # fmt: skip
        gone = row(GONE) * row(LOG_STEP)
    by_name = dict(zip(NAMES, found, strict=True))
    return np.array([by_name[name] for name in names]).reshape(len(names), LANES), gone
