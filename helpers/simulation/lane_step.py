"""One Runge-Kutta step of many runs abreast: the arithmetic of `kernel.march`, in its order, over rows of lanes.

All numbers stand in one array of one dimension, a row of `LANES` for each quantity at a constant place, and the loops
over lanes have no branches: that is what lets the compiler take eight lanes at a time. A loop for each stage keeps
several of them in flight, where one loop over the whole step would wait for each stage in turn.
"""

import math

import numpy as np
from numba import njit, types
from numba.extending import intrinsic

from helpers.control.law import MEASUREMENTS
from helpers.simulation.kernel import FRICTION_SMOOTHING, FULLEST_COLUMN, packed_vehicle

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
# Of each stage: accelerations, speeds, and the powers of damper, seals and actuator. SEEN takes a row a measurement.
BODY_ACC, WHEEL_ACC, BODY_SPEED, WHEEL_SPEED, DAMPER_POWER, SEAL_POWER, POWER = range(0, 7 * LANES, LANES)
FIRST, SECOND, THIRD, FOURTH = range(SEEN + MEASUREMENTS * LANES, SEEN + (MEASUREMENTS + 28) * LANES, 7 * LANES)
NO_SHARE = -1
END = FOURTH + 7 * LANES


@intrinsic
def select(typing_context, condition, one, other):
    """`one if condition else other` of two numbers that are both at hand: no branch, whatever the compiler thinks."""

    def code(context, builder, signature, arguments):
        return builder.select(*arguments)

    return types.float64(types.boolean, types.float64, types.float64), code


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
def stage(w, lanes, here, before, share, kept, road, push, pushed, active, rounded):
    """One stage of the step for all lanes: from the state and the stage `before` to the rows of the stage `here`.

    share: row of the time since the step began, NO_SHARE for the first stage; kept: row of what is then left of the
    way to the command. road, push: rows. The fourth stage ends the step. active, rounded: None where no lane has an
    actuator or a rounded curve.
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
        tyre = max(w[TYRE + j] * (w[road + j] - at_zu), w[PULL + j])
        curves = (
            w[OPEN_BEND + j], w[OPEN_HIGH + j], w[OPEN_KNEE + j], w[OPEN_BELOW + j], w[OPEN_BEYOND + j],
            w[OPEN_EDGE + j], w[FIRM_BEND + j], w[FIRM_HIGH + j], w[FIRM_KNEE + j], w[FIRM_BELOW + j],
            w[FIRM_BEYOND + j], w[FIRM_EDGE + j],
        )  # fmt: skip
        damper = blended(curves, (w[OPEN_ROUND + j], w[FIRM_ROUND + j]), valve, speed, rounded)
        slide = min(max(speed, -FRICTION_SMOOTHING), FRICTION_SMOOTHING)
        friction = w[STEEP + j] * slide - w[BEND + j] * slide * (slide * slide)
        resisting = damper + friction
        lifting = held if pushed is None else held + w[push + j]
        body_acc = (lifting - resisting) * w[PER_BODY + j]
        wheel_acc = (tyre - held + resisting) * w[PER_WHEEL + j]
        heat, seal_heat, power = damper * speed, friction * speed, at_force * speed
        if here != FOURTH:
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
            w[BODY + j] = zs + sixth * (vs + 2.0 * (w[SECOND + BODY_SPEED + j] + w[THIRD + BODY_SPEED + j]) + at_vs)
            w[WHEEL + j] = zu + sixth * (vu + 2.0 * (w[SECOND + WHEEL_SPEED + j] + w[THIRD + WHEEL_SPEED + j]) + at_vu)
            w[FIRST + BODY_SPEED + j] = vs + sixth * (
                w[FIRST + BODY_ACC + j] + 2.0 * (w[SECOND + BODY_ACC + j] + w[THIRD + BODY_ACC + j]) + body_acc
            )
            w[FIRST + WHEEL_SPEED + j] = vu + sixth * (
                w[FIRST + WHEEL_ACC + j] + 2.0 * (w[SECOND + WHEEL_ACC + j] + w[THIRD + WHEEL_ACC + j]) + wheel_acc
            )
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
    per_body, per_wheel, spring, tyre, bump, rebound, stop, per_column, seal, load = packed_vehicle(vehicle)
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


def lined_up(rows, dtype=float):
    """Zeros of shape (rows, LANES) that begin where a line of the processor's cache does.

    Elsewhere every vector of eight numbers lies in two lines, and the same arithmetic takes a third longer.
    """
    size, spare = rows * LANES, CACHE_LINE // 8
    room = np.zeros(size + spare, dtype=dtype)
    begin = -room.ctypes.data // 8 % spare
    return room[begin : begin + size].reshape(rows, LANES)
