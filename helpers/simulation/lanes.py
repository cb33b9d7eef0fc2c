"""Many runs abreast: `kernel.march` for up to `LANES` runs at once, each with its own vehicle, law, timing and road.

Between samples all lanes step together, without branches (`lane_step`). What happens at a sample, when a command
arrives and at a run's end is done lane by lane, by the same `decide`, and only where it is due.
"""

import numpy as np

from helpers.control.decision import decide
from helpers.control.law import MEMORY, TWO_STATE
from helpers.models.compiled import njit
from helpers.simulation.elements import yielded
from helpers.simulation.lane_metrics import LATE, gather, weigh
from helpers.simulation.lane_roads import BLOCK, lay, roll, spread
from helpers.simulation.lane_step import (
    AHEAD,
    ASKED,
    BODY,
    BODY_ACC,
    BODY_SPEED,
    COMMAND_FORCE,
    COMMAND_VALVE,
    DAMPER,
    FIRST,
    FORCE,
    FOURTH,
    HALF,
    KEPT_FULL,
    KEPT_HALF,
    LANES,
    NO_SHARE,
    OWN,
    PULL,
    PUSH,
    PUSH_END,
    PUSH_MID,
    QUICK,
    ROAD,
    ROAD_END,
    ROAD_FIRST,
    ROAD_MID,
    SECOND,
    SEEN,
    SERIES,
    STEP,
    THIRD,
    TOLD_FORCE,
    TOLD_VALVE,
    TYRE_FORCE,
    VALVE,
    WHEEL,
    WHEEL_ACC,
    WHEEL_SPEED,
    numbers,
    sense,
    series_of,
    settle,
    stage,
)

# Whole numbers of each lane, rows of `clock`: what is given, and what the stepper keeps.
CODE, EVERY, DELAY, JITTER, STEPS, LEG, PUSHED, SEES = range(0, 8 * LANES, LANES)
NEXT, NEWEST, HEAD, TAIL, CHANGES, WAKE = range(8 * LANES, 14 * LANES, LANES)
CLOCKS = 14
NEVER = 1 << 62
CURVES = 14  # numbers of both curves
NO_CURVE = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@njit(cache=True, inline="always", error_model="numpy")
def law_of(laws, j):
    """The numbers of a lane's law."""
    return (
        laws[j], laws[LANES + j], laws[2 * LANES + j], laws[3 * LANES + j], laws[4 * LANES + j], laws[5 * LANES + j],
        laws[6 * LANES + j], laws[7 * LANES + j], laws[8 * LANES + j],
    )  # fmt: skip


@njit(cache=True, inline="always", error_model="numpy")
def seen_by(w, j):
    """The measurements of a lane."""
    return (
        w[SEEN + j], w[SEEN + LANES + j], w[SEEN + 2 * LANES + j], w[SEEN + 3 * LANES + j], w[SEEN + 4 * LANES + j],
        w[SEEN + 5 * LANES + j], w[SEEN + 6 * LANES + j],
    )  # fmt: skip


@njit(cache=True, error_model="numpy")
def receive(n, w, j, clock, told, when, ring, series):
    """Commands under way to lane `j`: returns (step of the next arrival, whether valve or actuator has jumped)."""
    due, taken, jumped = NEVER, -1, False
    for k in range(clock[HEAD + j], clock[TAIL + j]):
        slot = 2 * (ring + 1) * j + (k & ring)
        stamp, arrival = when[slot], when[slot + ring + 1]
        if stamp + clock[DELAY + j] > n:  # nor can those behind it have arrived
            due = min(due, stamp + clock[DELAY + j])
            break
        if arrival > n:
            due = min(due, arrival)
        elif k == clock[HEAD + j]:
            clock[HEAD + j] += 1
        # A command that jitter let a newer one overtake is stale and is dropped.
        if arrival == n and stamp > clock[NEWEST + j]:
            clock[NEWEST + j], taken = stamp, slot
    if taken >= 0:
        valve, force = told[taken], told[taken + ring + 1]
        if valve != w[COMMAND_VALVE + j] or force != w[COMMAND_FORCE + j]:
            w[COMMAND_VALVE + j], w[COMMAND_FORCE + j] = valve, force
            clock[CHANGES + j] += 1
            if w[KEPT_HALF + j] == 0.0:
                w[VALVE + j], w[FORCE + j] = valve, force
                if series is not None:  # a stretched damper keeps its force, and changes its speed
                    speed, part = w[FIRST + BODY_SPEED + j] - w[FIRST + WHEEL_SPEED + j], w[QUICK + j]
                    reached = w[SERIES + j] * w[DAMPER + j] + part * speed
                    _, w[OWN + j] = yielded(series_of(w, j), valve, reached, part)
                jumped = True
    return due, jumped


@njit(cache=True, error_model="numpy")
def attend(n, w, lanes, clock, random, laws, curves, memory, told, when, ring, energy, two_state, series):
    """Samples, arriving commands and ends of the lanes that are due at step `n`.

    Returns (step at which a lane is due next, whether a valve or an actuator has jumped). All arrays are addresses.
    told: valve and force of the commands under way, when: the steps of their sample and their arrival, both of shape
    (LANES, 2, ring + 1), a power of two. In order, a command that repeats the last one changes nothing and is not sent;
    with jitter it may make others stale, so there none counts as told.
    """
    wake, jumped = NEVER, False
    together = two_state and n == clock[NEXT]
    if together:
        for j in range(lanes):
            # No law of this kind looks at a curve or beyond the first place of its memory.
            w[ASKED + j], _ = decide(
                TWO_STATE, law_of(laws, j), seen_by(w, j), numbers(memory, j), n * w[STEP + j], NO_CURVE, NO_CURVE
            )
    for j in range(lanes):
        if clock[WAKE + j] == n:
            if clock[NEXT + j] == n:
                clock[NEXT + j] = n + clock[EVERY + j]
                if together:
                    valve, force = w[ASKED + j], 0.0
                else:
                    curve = numbers(curves, j * CURVES)
                    valve, force = decide(
                        clock[CODE + j], law_of(laws, j), seen_by(w, j), numbers(memory, j * MEMORY), n * w[STEP + j],
                        (curve[0], curve[1], curve[2], curve[3], curve[4], curve[5], curve[6]),
                        (curve[7], curve[8], curve[9], curve[10], curve[11], curve[12], curve[13]),
                    )  # fmt: skip
                if valve != w[TOLD_VALVE + j] or force != w[TOLD_FORCE + j]:
                    jitter, arrival = clock[JITTER + j], n + clock[DELAY + j]
                    if jitter > 0:
                        random[j] = random[j] * np.uint64(6364136223846793005) + np.uint64(1442695040888963407)
                        arrival += int(random[j] >> np.uint64(33)) % (jitter + 1)
                    else:
                        w[TOLD_VALVE + j], w[TOLD_FORCE + j] = valve, force
                    slot = 2 * (ring + 1) * j + (clock[TAIL + j] & ring)
                    told[slot], told[slot + ring + 1], when[slot], when[slot + ring + 1] = valve, force, n, arrival
                    clock[TAIL + j] += 1
            due = clock[NEXT + j]
            if clock[HEAD + j] != clock[TAIL + j]:
                arriving, jump = receive(n, w, j, clock, told, when, ring, series)
                due, jumped = min(due, arriving), jumped or jump
            if clock[STEPS + j] <= due:
                due = clock[STEPS + j]
                if due == n:
                    settle(w, j, energy)
                    due = NEVER
            clock[WAKE + j] = due
        wake = min(wake, clock[WAKE + j])
    return wake, jumped


@njit(cache=True, nogil=True, error_model="numpy")
def march(
    array, lanes, most, log_every, clocks, random, laws, curves, kept, legs, grounds, distance, height, path, heights,
    pushes, aheads, told, when, log, energy, filtered, two_state, pushed, active, rounded, series, friction, ground, wk,
    wh, shocks,
):  # fmt: skip
    """Step all lanes from 0 to `most` steps, gathering metrics every `log_every` steps in `array`.

    array: see `lane_step` and `lane_metrics`; a lane goes on after its own end, unheeded. clocks: whole numbers, shape
    (CLOCKS, LANES). laws: shape (PARAMETERS, LANES); curves: both curves of each, shape (LANES, CURVES); kept: memory
    of each law, zeros, shape (LANES, MEMORY). legs, grounds, distance, height, path: see `roll`; heights: see `lay`.
    pushes: N at every half step, and aheads: N at every step, a row for each that differs. log: shape (LANES, points,
    LOGGED + 1) to keep the states in the order of `kernel.march` and the road, or empty. energy: shape (ENERGIES,
    LANES), filled. filtered: whether a lane has a sensor filter; two_state: whether all are two-state laws that sample
    at the same steps, and so decide at once. pushed to ground: see `lane_step.stage`; a log needs the ground. wk, wh,
    shocks: see `lane_metrics.weigh`.
    """
    w, clock, memory, ring = numbers(array, 0), numbers(clocks, 0), numbers(kept, 0), told.shape[2] - 1
    law, curve, orders, times = numbers(laws, 0), numbers(curves, 0), numbers(told, 0), numbers(when, 0)
    dice, joules = numbers(random, 0), numbers(energy, 0)
    under, cursor = numbers(heights, 0), grounds[:, 0].copy()
    wake, point, next_point, block = 0, 0, 0, -1
    for n in range(most + 1):
        if n // BLOCK != block:
            block = n // BLOCK
            roll(legs, grounds, distance, height, cursor, 2 * n, path)
            if len(legs) > 1:
                lay(numbers(path, 0), numbers(clock, LEG), lanes, under)
        k = 2 * (n - block * BLOCK)
        if n == 0:
            for j in range(lanes):
                w[ROAD + j] = w[ROAD_FIRST + j] = path[clock[LEG + j], 0]
                if clock[PUSHED + j] >= 0:
                    w[PUSH + j] = pushes[clock[PUSHED + j], 0]
        stage(w, lanes, FIRST, FIRST, NO_SHARE, 0, ROAD, PUSH, pushed, active, rounded, series, friction, ground)
        if len(aheads) > 0 and (n == wake or filtered):
            for j in range(lanes):
                if clock[SEES + j] >= 0:
                    w[AHEAD + j] = aheads[clock[SEES + j], n]
        if n == wake or filtered:
            sense(w, lanes, two_state)
        if n == wake:
            wake, jumped = attend(
                n, w, lanes, clock, dice, law, curve, memory, orders, times, ring, joules, two_state, series
            )
            if jumped:
                stage(
                    w, lanes, FIRST, FIRST, NO_SHARE, 0, ROAD, PUSH, pushed, active, rounded, series, friction, ground
                )
        if n == next_point:
            gather(w, lanes, point, wk, wh, shocks, friction)
            for j in range(len(log)):
                if point < log.shape[1]:
                    row = log[j, point]
                    vs, vu = w[FIRST + BODY_SPEED + j], w[FIRST + WHEEL_SPEED + j]
                    row[0], row[1], row[2], row[3] = w[BODY + j], vs, w[WHEEL + j], vu
                    row[4], row[5], row[6] = w[FIRST + BODY_ACC + j], w[FIRST + WHEEL_ACC + j], w[VALVE + j]
                    row[7], row[8], row[9] = w[FORCE + j], w[DAMPER + j], vs - vu
                    if series is not None:
                        row[9] = w[OWN + j]
                    row[10], row[11] = w[FIRST + TYRE_FORCE + j] - w[PULL + j], w[ROAD + j]
            point, next_point = point + 1, next_point + log_every
        if n == most:
            break
        if len(legs) == 1:
            middle, end = path[0, k + 1], path[0, k + 2]
            for j in range(lanes):
                w[ROAD_MID + j], w[ROAD_END + j] = middle, end
        else:
            spread(w, lanes, numbers(under, (k + 1) * LANES))
        if pushed is not None:
            for j in range(lanes):
                if clock[PUSHED + j] >= 0:
                    w[PUSH_MID + j] = pushes[clock[PUSHED + j], 2 * n + 1]
                    w[PUSH_END + j] = pushes[clock[PUSHED + j], 2 * n + 2]
        stage(
            w, lanes, SECOND, FIRST, HALF, KEPT_HALF, ROAD_MID, PUSH_MID, pushed, active, rounded, series, friction,
            ground,
        )  # fmt: skip
        stage(
            w, lanes, THIRD, SECOND, HALF, KEPT_HALF, ROAD_MID, PUSH_MID, pushed, active, rounded, series, friction,
            ground,
        )  # fmt: skip
        stage(
            w, lanes, FOURTH, THIRD, STEP, KEPT_FULL, ROAD_END, PUSH_END, pushed, active, rounded, series, friction,
            ground,
        )  # fmt: skip
    if wk is not None or wh is not None:
        for late in range(LATE + 1):  # one more than late, since points go in pairs
            weigh(w, lanes, point + late, wk, wh, shocks)
