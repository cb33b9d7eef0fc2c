"""What yields, sticks and strikes in the stepper: the damper's series stiffness, seals, the tyre's friction and rim.

Oil, hoses and mounts of stiffness K stretch by s = F / K, so that the damper's own speed w lags behind the speed v of
the travel: ds/dt = v - w, and F = D(w) on the damper's curve. With an open valve s follows at K / c of some 10^4 1/s,
too fast for explicit steps. So s alone is taken implicitly, in stages that go with those of Runge-Kutta 4,

    s_i = s_0 + h sum_j a_ij (v_j - w_j),    a = (0; 1/2 - g, g; g, 1/2 - 2 g, g; 1/6, 1/3, 1/3, 1/6),

whose time and weights are the same: third order together (conditions for additive pairs: Kennedy and Carpenter, Applied
Numerical Mathematics 44, 2003, from memory). With g = (4 - sqrt 6) / 10 what decays faster than a step is gone after
it, as the last stage is the new state. A curve is straight between knees, so a stage's equation has a closed solution.

Friction of seals and of rubber is elastic until it slides (Jenkins, Journal of Applied Mechanics 29, 1962, from
memory): a spring in series with a block. It hangs on the way alone, not on speed, and is exact for motion one way.
"""

import math

from numba import types
from numba.extending import intrinsic

from helpers.models.compiled import njit

SHARE = (4.0 - math.sqrt(6.0)) / 10.0
NO_FRICTION = 1e-9  # N; less has a compliance that no number holds


@intrinsic
def select(typing_context, condition, one, other):
    """`one if condition else other` of two numbers that are both at hand: no branch, whatever the compiler thinks."""

    def code(context, builder, signature, arguments):
        return builder.select(*arguments)

    return types.float64(types.boolean, types.float64, types.float64), code


def _knees(soft, firm):
    """One side of both curves, D(w) = high w + sum of bend min(w, knee), each slope as (open, more when locked)."""
    knees = sorted([
        (soft.knee, soft.low - soft.high, soft.high - soft.low), (firm.knee, 0.0, firm.low - firm.high)
    ])  # fmt: skip
    return soft.high, firm.high - soft.high, *knees[0], *knees[1]


def packed_series(vehicle):
    """A `Vehicle`'s series stiffness and damper as `yielded` reads them: 17 numbers, or None for a rigid damper."""
    if math.isinf(vehicle.damper_stiffness):
        return None
    sides = (
        (getattr(vehicle.open_curve, name), getattr(vehicle.lockout_curve, name)) for name in ("rebound", "compression")
    )
    return 1.0 / vehicle.damper_stiffness, *(number for soft, firm in sides for number in _knees(soft, firm))


def packed_friction(vehicle):
    """A `Vehicle`'s seals, rim and tyre friction as the stepper reads them: 8 numbers, or None if it has none of them.

    Stiffness and largest force of the seals; travel and rate of the rim; stiffness, compliance and largest force of the
    tyre's friction; compliance of the tyre.
    """
    sticks = vehicle.friction > NO_FRICTION and vehicle.seal_stretch > 0.0
    rubs = vehicle.tyre_friction > NO_FRICTION
    if not sticks and vehicle.rim_rate == 0.0 and not rubs:
        return None
    seal = (vehicle.friction / vehicle.seal_stretch, vehicle.friction) if sticks else (0.0, 0.0)
    rubber = (0.0, 0.0, 0.0)
    if rubs:
        stiffness = vehicle.tyre_friction / vehicle.tyre_stretch
        rubber = stiffness, 1.0 / stiffness, vehicle.tyre_friction
    return *seal, vehicle.tyre_travel, vehicle.rim_rate, *rubber, 1.0 / vehicle.tyre_rate


@njit(cache=True, error_model="numpy")
def bent(yielding, side, valve, share):
    """What a damper's stretch hangs on, on one side: slopes of force, then of `share w + D(w) / K` and its bends."""
    soft, more, knee, bend, bends, edge, turn, turns = side
    high, bend, turn = soft + more * valve, bend + bends * valve, turn + turns * valve
    third = share + yielding * high
    second = third + yielding * turn
    first = second + yielding * bend
    at_knee = first * knee
    return high, bend, turn, first, second, third, at_knee, at_knee + second * (edge - knee)


@njit(cache=True, error_model="numpy")
def yielded(series, valve, reached, share):
    """Force in N and own speed w in m/s of a damper that stretches: `share w + D(w) / K = reached`.

    reached: m, the stretch there would be if the damper stood still; share: s, the part of the step that w counts for.
    With branches: a side and a slope last for many steps, so that the processor need not wait to know them.
    """
    side = series[1], series[2], series[3], series[4], series[5], series[6], series[7], series[8]
    size, sign = reached, 1.0
    if reached < 0.0:
        side = series[9], series[10], series[11], series[12], series[13], series[14], series[15], series[16]
        size, sign = -reached, -1.0
    high, bend, turn, first, second, third, at_knee, at_edge = bent(series[0], side, valve, share)
    knee, edge = side[2], side[5]
    if size <= at_knee:
        speed = size / first
    elif size <= at_edge:
        speed = knee + (size - at_knee) / second
    else:
        speed = edge + (size - at_edge) / third
    return sign * (high * speed + (bend * min(speed, knee) + turn * min(speed, edge))), sign * speed


@njit(cache=True, error_model="numpy")
def yielded_abreast(series, valve, reached, share):
    """`yielded` of one lane: the same sums without branches."""
    (
        yielding, soft, more, knee, bend, bends, edge, turn, turns,
        soft_in, more_in, knee_in, bend_in, bends_in, edge_in, turn_in, turns_in,
    ) = series  # fmt: skip
    out = reached >= 0.0
    knee, edge = select(out, knee, knee_in), select(out, edge, edge_in)
    side = (
        select(out, soft, soft_in), select(out, more, more_in), knee, select(out, bend, bend_in),
        select(out, bends, bends_in), edge, select(out, turn, turn_in), select(out, turns, turns_in),
    )  # fmt: skip
    high, bend, turn, first, second, third, at_knee, at_edge = bent(yielding, side, valve, share)
    size = abs(reached)
    below, beyond = size <= at_knee, size > at_edge
    begin = select(below, 0.0, select(beyond, edge, knee))
    left = size - select(below, 0.0, select(beyond, at_edge, at_knee))
    speed = begin + left / select(below, first, select(beyond, third, second))
    force = high * speed + (bend * min(speed, knee) + turn * min(speed, edge))
    return select(out, force, -force), select(out, speed, -speed)


@njit(cache=True, error_model="numpy")
def dragged(force, stiffness, moved, most):
    """Friction in N after a way of `moved` m from where it was `force`."""
    return min(max(force + stiffness * moved, -most), most)


@njit(cache=True, error_model="numpy")
def squeezed(friction, rubber, before, deflection):
    """What rim and friction add to a tyre's force at `deflection`, which was `before` (m) and `rubber` (N)."""
    _, _, rim_travel, rim_rate, stiffness, _, most, _ = friction
    return rim_rate * max(deflection - rim_travel, 0.0) + dragged(rubber, stiffness, deflection - before, most)


@njit(cache=True, error_model="numpy")
def rubbed(friction, tyre_rate, static_load, rubber, before, deflection):
    """After a step: the tyre's friction in N and what it has turned to heat, J.

    A tyre that leaves the ground stays as deflected as where its load was nothing, until the ground comes back.
    """
    _, _, rim_travel, rim_rate, stiffness, yielding, most, per_tyre_rate = friction
    after = dragged(rubber, stiffness, deflection - before, most)
    load = tyre_rate * deflection + (rim_rate * max(deflection - rim_travel, 0.0) + after) + static_load
    parted = (stiffness * before - rubber - static_load) / (tyre_rate + stiffness)
    slack = max(rubber + stiffness * (parted - before), -most)
    after = select(load > 0.0, after, slack)
    deflection = select(load > 0.0, deflection, -(static_load + slack) * per_tyre_rate)
    return after, after * (deflection - before - (after - rubber) * yielding)


@njit(cache=True, error_model="numpy")
def lift(start, middle, end, first, second, third, fourth):
    """Twice the work in J of the ground in a step, on top of that of the weight.

    start, middle, end: height of the road, m; then the tyre's force above its static load at each stage, N. Trapezia
    over height, not over time: exact where the force follows the road, however the road bends within the step.
    """
    mean = 0.5 * (second + third)
    return (first + mean) * (middle - start) + (mean + fourth) * (end - middle)


@njit(cache=True, error_model="numpy")
def held_energy(series, friction, damper, seals, rubber):
    """Energy in J in the stretched damper, in the shear of its seals, in the tyre's friction."""
    stretched = 0.0 if series is None else 0.5 * series[0] * damper * damper
    if friction is None:
        return stretched, 0.0, 0.0
    sheared = 0.5 * seals * seals / friction[0] if friction[0] > 0.0 else 0.0
    return stretched, sheared, 0.5 * rubber * rubber * friction[5]
