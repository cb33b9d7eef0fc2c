"""One Runge-Kutta step of many runs abreast: the arithmetic of `kernel.march`, in its order, over rows of lanes.

All numbers stand in one array of one dimension, a row of `LANES` for each quantity at a constant place, and the loops
over lanes have no branches: that is what lets the compiler take eight lanes at a time. A loop for each stage keeps
several of them in flight, where one loop over the whole step would wait for each stage in turn.
"""

import math

import numpy as np
from numba import types
from numba.extending import intrinsic

from helpers.control.law import MEASUREMENTS
from helpers.models.compiled import njit
from helpers.simulation.elements import SHARE, dragged, held_energy, lift, rubbed, select, squeezed, yielded_abreast
from helpers.simulation.kernel import FRICTION_SMOOTHING, FULLEST_COLUMN, packed

LANES = 32
CACHE_LINE = 64  # bytes
# What a vehicle is; the damper's slopes as `high` and `low - high`, lower limits with their sign.
(
    PER_BODY, PER_WHEEL, SPRING, TYRE, BUMP, REBOUND, STOP, PER_COLUMN, STEEP, BEND, PULL, OPEN_BEND, OPEN_HIGH,
    OPEN_KNEE, OPEN_BELOW, OPEN_BEYOND, OPEN_EDGE, FIRM_BEND, FIRM_HIGH, FIRM_KNEE, FIRM_BELOW, FIRM_BEYOND, FIRM_EDGE,
    OPEN_ROUND, FIRM_ROUND,
) = range(0, 25 * LANES, LANES)  # fmt: skip
# The run: its step, what is left of the way to a command after half a step and a whole one, the filter, the command.
(
    STEP, HALF, SIXTH, KEPT_HALF, KEPT_FULL, SMOOTHING, FRESH, COMMAND_VALVE, COMMAND_FORCE, TOLD_VALVE, TOLD_FORCE,
    BODY, WHEEL, VALVE, FORCE, ROAD, ROAD_MID, ROAD_END, PUSH, PUSH_MID, PUSH_END, HEAT, SEAL_HEAT, WORK, SUPPLY, AHEAD,
    ASKED, VALVE_MID, SEEN,
) = range(25 * LANES, 54 * LANES, LANES)  # fmt: skip
# Of each stage: accelerations, speeds, the powers of damper, seals and actuator, how fast the damper is stretched, the
# tyre's force above its static load. SEEN takes a row a measurement.
(
    BODY_ACC, WHEEL_ACC, BODY_SPEED, WHEEL_SPEED, DAMPER_POWER, SEAL_POWER, POWER, STRETCHING, TYRE_FORCE,
) = range(0, 9 * LANES, LANES)  # fmt: skip
FIRST, SECOND, THIRD, FOURTH = range(SEEN + MEASUREMENTS * LANES, SEEN + (MEASUREMENTS + 36) * LANES, 9 * LANES)
NO_SHARE = -1
# Of vehicles with `elements`: what `packed` tells of them, and their state (see `kernel.march`). Of the ground: its
# work, and the road at the start.
SERIES, FRICTION, DAMPER = FOURTH + 9 * LANES, FOURTH + 26 * LANES, FOURTH + 34 * LANES
QUICK, OWN, SEALS, TRAVEL, RUBBER, BEFORE, TYRE_HEAT, GROUND, ROAD_FIRST = range(
    DAMPER + LANES, DAMPER + 10 * LANES, LANES
)
END = DAMPER + 10 * LANES


@intrinsic
def numbers(typing_context, array, place):
    """The numbers of a contiguous array, or of an address, from flat index `place` on: an address, to be indexed.

    Counting references to an array is a call, which a loop over lanes must not hold; an address is not counted.
    """

    def code(context, builder, signature, arguments):
        start, place = arguments
        if isinstance(array, types.Array):
            start = context.make_array(array)(context, builder, start).data
        return builder.gep(start, [place])

    return types.CPointer(array.dtype)(array, types.intp), code


@njit(cache=True, inline="always", error_model="numpy")
def blended(curves, rounds, valve, speed, rounded):
    """`kernel.valve_force` of one lane; `rounded` is None where no lane of the batch has a rounded curve."""
    bend, high, knee, below, beyond, edge, firm_bend, firm_high, firm_knee, firm_below, firm_beyond, firm_edge = curves
    rest = 1.0 - valve
    out = speed >= 0.0
    low, slope = select(out, bend, below), select(out, high, beyond)
    firm_low, firm_slope = select(out, firm_bend, firm_below), select(out, firm_high, firm_beyond)
    held, firm_held = min(max(speed, edge), knee), min(max(speed, firm_edge), firm_knee)
    sharp = (rest * slope + valve * firm_slope) * speed + (rest * low * held + valve * firm_low * firm_held)
    if rounded is None:
        return sharp
    size = abs(speed)
    held = select(rounds[0] > 0.0, speed / (1.0 + size / select(out, knee, -edge)), held)
    firm_held = select(rounds[1] > 0.0, speed / (1.0 + size / select(out, firm_knee, -firm_edge)), firm_held)
    apart = rest * (slope * speed + low * held) + valve * (firm_slope * speed + firm_low * firm_held)
    return select(rounds[0] + rounds[1] > 0.0, apart, sharp)


@njit(cache=True, inline="always", error_model="numpy")
def series_of(w, j):
    """What `elements.yielded` must know of a lane's damper."""
    at = SERIES + j
    return (
        w[at], w[at + LANES], w[at + 2 * LANES], w[at + 3 * LANES], w[at + 4 * LANES], w[at + 5 * LANES],
        w[at + 6 * LANES], w[at + 7 * LANES], w[at + 8 * LANES], w[at + 9 * LANES], w[at + 10 * LANES],
        w[at + 11 * LANES], w[at + 12 * LANES], w[at + 13 * LANES], w[at + 14 * LANES], w[at + 15 * LANES],
        w[at + 16 * LANES],
    )  # fmt: skip


@njit(cache=True, inline="always", error_model="numpy")
def friction_of(w, j):
    """What sticks in a lane, as `elements.packed_friction` tells it."""
    at = FRICTION + j
    return (
        w[at], w[at + LANES], w[at + 2 * LANES], w[at + 3 * LANES], w[at + 4 * LANES], w[at + 5 * LANES],
        w[at + 6 * LANES], w[at + 7 * LANES],
    )  # fmt: skip


@njit(cache=True, inline="always", error_model="numpy")
def stage(w, lanes, here, before, share, kept, road, push, pushed, active, rounded, series, friction, ground):
    """One stage of the step for all lanes: from the state and the stage `before` to the rows of the stage `here`.

    share: row of the time since the step began, NO_SHARE for the first stage; kept: row of what is then left of the
    way to the command. road, push: rows. The fourth stage ends the step. pushed to friction: None where no lane has an
    outside force, an actuator, a rounded curve, a damper that yields, or friction that sticks. ground: None where its
    work is not asked for.
    """
    for j in range(lanes):
        zs, zu = w[BODY + j], w[WHEEL + j]
        vs, vu = w[FIRST + BODY_SPEED + j], w[FIRST + WHEEL_SPEED + j]
        valve, force = w[VALVE + j], 0.0 if active is None else w[FORCE + j]
        at_zs, at_zu, at_vs, at_vu, at_force = zs, zu, vs, vu, force
        if share != NO_SHARE:
            time = w[share + j]
            at_zs, at_vs = zs + time * w[before + BODY_SPEED + j], vs + time * w[before + BODY_ACC + j]
            at_zu, at_vu = zu + time * w[before + WHEEL_SPEED + j], vu + time * w[before + WHEEL_ACC + j]
            if active is not None:
                at_force = w[COMMAND_FORCE + j] + w[kept + j] * (force - w[COMMAND_FORCE + j])
            if here == THIRD:
                valve = w[VALVE_MID + j]
            else:
                valve = w[COMMAND_VALVE + j] + w[kept + j] * (valve - w[COMMAND_VALVE + j])
            if here == SECOND:
                w[VALVE_MID + j] = valve
        squeeze, speed = at_zu - at_zs, at_vs - at_vu
        column = min(squeeze * w[PER_COLUMN + j], FULLEST_COLUMN)
        spring = w[SPRING + j] * squeeze / (1.0 - column)
        stop = squeeze - min(max(squeeze, w[REBOUND + j]), w[BUMP + j])
        held = spring + w[STOP + j] * stop
        if active is not None:
            held = held + at_force
        pressed = w[TYRE + j] * (w[road + j] - at_zu)
        if friction is not None:
            sticking = friction_of(w, j)
            if here == FIRST:
                w[TRAVEL + j] = zs - zu
                w[BEFORE + j] = max(w[road + j] - zu, -(w[RUBBER + j] - w[PULL + j]) * sticking[7])
            pressed = pressed + squeezed(sticking, w[RUBBER + j], w[BEFORE + j], w[road + j] - at_zu)
        tyre = max(pressed, w[PULL + j])
        curves = (
            w[OPEN_BEND + j], w[OPEN_HIGH + j], w[OPEN_KNEE + j], w[OPEN_BELOW + j], w[OPEN_BEYOND + j],
            w[OPEN_EDGE + j], w[FIRM_BEND + j], w[FIRM_HIGH + j], w[FIRM_KNEE + j], w[FIRM_BELOW + j],
            w[FIRM_BEYOND + j], w[FIRM_EDGE + j],
        )  # fmt: skip
        if series is None:
            damper = blended(curves, (w[OPEN_ROUND + j], w[FIRM_ROUND + j]), valve, speed, rounded)
        elif here == FIRST:
            damper = w[DAMPER + j]
            w[FIRST + STRETCHING + j] = speed - w[OWN + j]
        else:
            reached, part, first = w[SERIES + j] * w[DAMPER + j], w[QUICK + j], w[FIRST + STRETCHING + j]
            if here == SECOND:
                reached = reached + (w[HALF + j] - part) * first
            elif here == THIRD:
                reached = reached + (part * first + (w[HALF + j] - 2.0 * part) * w[SECOND + STRETCHING + j])
            else:
                part = w[SIXTH + j]
                middle = w[SECOND + STRETCHING + j] + w[THIRD + STRETCHING + j]
                reached = reached + part * (first + 2.0 * middle)
            damper, own = yielded_abreast(series_of(w, j), valve, reached + part * speed, part)
            if here != FOURTH:
                w[here + STRETCHING + j] = speed - own
            else:
                # As the scalar form has it: the own speed from that of the travel and of the stretch.
                w[DAMPER + j], w[OWN + j] = damper, speed - (speed - own)
        slide = min(max(speed, -FRICTION_SMOOTHING), FRICTION_SMOOTHING)
        rubbing = w[STEEP + j] * slide - w[BEND + j] * slide * (slide * slide)
        if friction is not None:
            rubbing = rubbing + dragged(w[SEALS + j], sticking[0], -squeeze - w[TRAVEL + j], sticking[1])
        resisting = damper + rubbing
        lifting = held if pushed is None else held + w[push + j]
        body_acc = (lifting - resisting) * w[PER_BODY + j]
        wheel_acc = (tyre - held + resisting) * w[PER_WHEEL + j]
        heat, seal_heat, power = damper * speed, rubbing * speed, at_force * speed
        if here == FIRST and ground is not None:
            w[DAMPER + j] = damper
        if here != FOURTH:
            if ground is not None:
                w[here + TYRE_FORCE + j] = tyre
            w[here + BODY_ACC + j], w[here + WHEEL_ACC + j] = body_acc, wheel_acc
            w[here + DAMPER_POWER + j], w[here + SEAL_POWER + j] = heat, seal_heat
            if active is not None:
                w[here + POWER + j] = power
            if share != NO_SHARE:
                w[here + BODY_SPEED + j], w[here + WHEEL_SPEED + j] = at_vs, at_vu
        else:
            sixth = w[SIXTH + j]
            second_heat, third_heat = w[SECOND + DAMPER_POWER + j], w[THIRD + DAMPER_POWER + j]
            second_seal, third_seal = w[SECOND + SEAL_POWER + j], w[THIRD + SEAL_POWER + j]
            w[HEAT + j] += w[FIRST + DAMPER_POWER + j] + 2.0 * (second_heat + third_heat) + heat
            w[SEAL_HEAT + j] += w[FIRST + SEAL_POWER + j] + 2.0 * (second_seal + third_seal) + seal_heat
            if active is not None:
                w1, w2, w3 = w[FIRST + POWER + j], w[SECOND + POWER + j], w[THIRD + POWER + j]
                w[WORK + j] += w1 + 2.0 * (w2 + w3) + power
                w[SUPPLY + j] += max(w1, 0.0) + 2.0 * (max(w2, 0.0) + max(w3, 0.0)) + max(power, 0.0)
                w[FORCE + j] = at_force
            if ground is not None:
                w[GROUND + j] += lift(
                    w[ROAD + j], w[ROAD_MID + j], w[road + j], w[FIRST + TYRE_FORCE + j], w[SECOND + TYRE_FORCE + j],
                    w[THIRD + TYRE_FORCE + j], tyre,
                )  # fmt: skip
            new_zs = zs + sixth * (vs + 2.0 * (w[SECOND + BODY_SPEED + j] + w[THIRD + BODY_SPEED + j]) + at_vs)
            new_zu = zu + sixth * (vu + 2.0 * (w[SECOND + WHEEL_SPEED + j] + w[THIRD + WHEEL_SPEED + j]) + at_vu)
            w[BODY + j], w[WHEEL + j] = new_zs, new_zu
            w[FIRST + BODY_SPEED + j] = vs + sixth * (
                w[FIRST + BODY_ACC + j] + 2.0 * (w[SECOND + BODY_ACC + j] + w[THIRD + BODY_ACC + j]) + body_acc
            )
            w[FIRST + WHEEL_SPEED + j] = vu + sixth * (
                w[FIRST + WHEEL_ACC + j] + 2.0 * (w[SECOND + WHEEL_ACC + j] + w[THIRD + WHEEL_ACC + j]) + wheel_acc
            )
            if friction is not None:
                moved = (new_zs - new_zu) - w[TRAVEL + j]
                w[SEALS + j] = dragged(w[SEALS + j], sticking[0], moved, sticking[1])
                w[RUBBER + j], rubber_heat = rubbed(
                    sticking, w[TYRE + j], -w[PULL + j], w[RUBBER + j], w[BEFORE + j], w[road + j] - new_zu
                )
                w[TYRE_HEAT + j] += rubber_heat
            w[VALVE + j], w[ROAD + j] = valve, w[road + j]
            if pushed is not None:
                w[PUSH + j] = w[push + j]


@njit(cache=True, inline="always", error_model="numpy")
def sense(w, lanes, two_state):
    """Let the sensor filters take in what is there now; a filter that keeps nothing shows it as it is.

    two_state: whether all laws are of that kind, which look at the first three measurements alone.
    """
    for j in range(lanes):
        keep, take = w[SMOOTHING + j], w[FRESH + j]
        vs, vu = w[FIRST + BODY_SPEED + j], w[FIRST + WHEEL_SPEED + j]
        w[SEEN + j] = keep * w[SEEN + j] + take * vs
        w[SEEN + LANES + j] = keep * w[SEEN + LANES + j] + take * (vs - vu)
        w[SEEN + 2 * LANES + j] = keep * w[SEEN + 2 * LANES + j] + take * w[FIRST + BODY_ACC + j]
    if not two_state:
        for j in range(lanes):
            keep, take = w[SMOOTHING + j], w[FRESH + j]
            zs, zu = w[BODY + j], w[WHEEL + j]
            w[SEEN + 3 * LANES + j] = keep * w[SEEN + 3 * LANES + j] + take * w[FIRST + WHEEL_ACC + j]
            w[SEEN + 4 * LANES + j] = keep * w[SEEN + 4 * LANES + j] + take * (zs - zu)
            w[SEEN + 5 * LANES + j] = keep * w[SEEN + 5 * LANES + j] + take * (zu - w[ROAD + j])
            w[SEEN + 6 * LANES + j] = keep * w[SEEN + 6 * LANES + j] + take * w[AHEAD + j]


def place(rows, lane, vehicle, fit, initial, start):
    """Write a run into column `lane` of `rows`, shape (.., LANES): its vehicle, its `Steps`, valve and state."""
    numbers, series, friction, *_ = packed(vehicle)
    per_body, per_wheel, spring, tyre, bump, rebound, stop, per_column, seal, load = numbers
    steep, bend = seal * (1.5 / FRICTION_SMOOTHING), seal * (0.5 / FRICTION_SMOOTHING**3)
    column = [per_body, per_wheel, spring, tyre, bump, -rebound, stop, per_column, steep, bend, -load]
    for curve in (vehicle.open_curve, vehicle.lockout_curve):
        low, high, knee, below, beyond, edge, _ = curve.packed()
        column += [low - high, high, knee, below - beyond, beyond, -edge]
    column += [float(vehicle.open_curve.rounded), float(vehicle.lockout_curve.rounded)]
    column += [fit.step, 0.5 * fit.step, fit.step / 6.0, fit.valve_half, fit.valve_full, fit.smoothing]
    column += [1.0 - fit.smoothing, initial, 0.0, initial if fit.jitter == 0 else math.nan, 0.0]
    column += [start[0], start[2], initial]
    rows[: len(column), lane] = column
    rows[(FIRST + BODY_SPEED) // LANES, lane], rows[(FIRST + WHEEL_SPEED) // LANES, lane] = start[1], start[3]
    if series is not None:
        rows[SERIES // LANES : FRICTION // LANES, lane], rows[QUICK // LANES, lane] = series, SHARE * fit.step
    rows[FRICTION // LANES : DAMPER // LANES, lane] = friction or 8 * (0.0,)


@njit(cache=True, error_model="numpy")
def settle(w, j, energy):
    """Write a lane's energies, `energy` being an address; see `kernel.march`."""
    series, friction = series_of(w, j), friction_of(w, j)
    stretched, sheared, rolled = held_energy(series, friction, w[DAMPER + j], w[SEALS + j], w[RUBBER + j])
    energy[j] = w[HEAT + j] * w[STEP + j] / 6.0 - stretched
    energy[LANES + j] = w[SEAL_HEAT + j] * w[STEP + j] / 6.0 - sheared
    energy[2 * LANES + j] = w[WORK + j] * w[STEP + j] / 6.0
    energy[3 * LANES + j] = w[SUPPLY + j] * w[STEP + j] / 6.0
    energy[4 * LANES + j] = w[TYRE_HEAT + j]
    energy[5 * LANES + j] = 0.5 * w[GROUND + j] - w[PULL + j] * (w[ROAD + j] - w[ROAD_FIRST + j])
    energy[6 * LANES + j] = stretched + sheared + rolled


def lined_up(rows, dtype=float):
    """Zeros of shape (rows, LANES) that begin where a line of the processor's cache does.

    Elsewhere every vector of eight numbers lies in two lines, and the same arithmetic takes a third longer.
    """
    size, spare = rows * LANES, CACHE_LINE // 8
    room = np.zeros(size + spare, dtype=dtype)
    begin = -room.ctypes.data // 8 % spare
    return room[begin : begin + size].reshape(rows, LANES)
