"""The compiled stepper: one quarter vehicle, one law, one road, fourth-order Runge-Kutta at a fixed step.

Heights are from static equilibrium, z up. The spring hardens with a gas column, the stops are linear, the tyre cannot
pull, seal friction passes smoothly through zero speed unless it sticks. What yields, sticks and strikes stands in
`elements`. Between commands the valve moves exponentially, exact here.

What a step costs is the wait of each stage for the speed of the one before. So sums are grouped, and coefficients
blended, such that all that does not need this speed is ready when it comes.
"""

import numpy as np

from helpers.control.decision import decide
from helpers.control.law import MEASUREMENTS, MEMORY, curve_force
from helpers.models.compiled import njit
from helpers.simulation.elements import (
    SHARE,
    dragged,
    held_energy,
    lift,
    packed_friction,
    packed_series,
    rubbed,
    squeezed,
    yielded,
)

FRICTION_SMOOTHING = 0.02  # m/s; from here on seal friction is whole; below, a smooth cubic
FULLEST_COLUMN = 0.95  # share of the gas column; the bump stop ends the stroke well before
BODY_HEIGHT, BODY_SPEED, WHEEL_HEIGHT, WHEEL_SPEED, BODY_ACC, WHEEL_ACC, VALVE, ACTUATOR = range(8)
DAMPER, DAMPER_SPEED, LOAD = range(8, 11)
LOGGED = 11
DAMPER_HEAT, FRICTION_HEAT, ACTUATOR_WORK, ACTUATOR_SUPPLY, TYRE_HEAT, GROUND_WORK, STORED = range(7)
ENERGIES = 7


def packed_vehicle(vehicle):
    """A `Vehicle`'s numbers as the stepper reads them; a tuple, so that the compiler keeps them in registers."""
    smooth = vehicle.friction if vehicle.seal_stretch == 0.0 else 0.0
    return (
        1.0 / vehicle.body_mass, 1.0 / vehicle.wheel_mass, vehicle.spring_rate, vehicle.tyre_rate, vehicle.bump_travel,
        vehicle.rebound_travel, vehicle.stop_rate, 1.0 / vehicle.gas_column, smooth, vehicle.static_load,
    )  # fmt: skip


def packed(vehicle):
    """What `march` must know of a `Vehicle`: its numbers, what yields and what sticks (or None), its two curves."""
    curves = vehicle.open_curve.packed(), vehicle.lockout_curve.packed()
    return packed_vehicle(vehicle), packed_series(vehicle), packed_friction(vehicle), *curves


def rest(start=(0.0, 0.0, 0.0, 0.0)):
    """State for `march`: body height and velocity, wheel height and velocity, and nothing stretched or sheared."""
    return np.array([*start, 0.0, 0.0, 0.0, 0.0])


@njit(cache=True, inline="always", error_model="numpy")
def valve_force(open_curve, lockout_curve, valve, speed):
    """Damper force in N between the two curves, at `valve` from 0 open to 1 lockout: (1 - valve) open + valve lockout.

    With sharp curves `high v + (low - high) s(v)`, the coefficients of v and of both s(v) are blended first.
    """
    low, high, knee, below, beyond, edge, rounded = open_curve
    firm_low, firm_high, firm_knee, firm_below, firm_beyond, firm_edge, firm_rounded = lockout_curve
    rest = 1.0 - valve
    if rounded > 0.0 or firm_rounded > 0.0:
        return rest * curve_force(open_curve, speed) + valve * curve_force(lockout_curve, speed)
    if speed >= 0.0:
        knees = rest * (low - high) * min(speed, knee) + valve * (firm_low - firm_high) * min(speed, firm_knee)
        return (rest * high + valve * firm_high) * speed + knees
    edges = rest * (below - beyond) * max(speed, -edge) + valve * (firm_below - firm_beyond) * max(speed, -firm_edge)
    return (rest * beyond + valve * firm_beyond) * speed + edges


@njit(cache=True, inline="always", error_model="numpy")
def damping(open_curve, lockout_curve, series, valve, speed, reached, share):
    """Damper force in N, and how fast it is stretched, m/s; see `elements.yielded`. series: None if rigid."""
    if series is None:
        return valve_force(open_curve, lockout_curve, valve, speed), 0.0
    force, own = yielded(series, valve, reached + share * speed, share)
    return force, speed - own


@njit(cache=True, inline="always", error_model="numpy")
def moving(vehicle, friction, zs, vs, zu, vu, road, push, actuator, damper, seals, travel, rubber, before):
    """Body and wheel acceleration in m/s2, friction in N (positive in rebound), tyre force above its static load in N.

    push: outside force on the body, N, up. actuator: force, N, positive lifts the body. damper: N. friction: None, or
    what `elements.packed_friction` gives; then seals (N) and travel (m), rubber (N) and before (m) are the forces of
    seals and of the tyre's friction at the start of the step, and where they were that.
    """
    (
        per_body_mass, per_wheel_mass, spring_rate, tyre_rate, bump_travel, rebound_travel, stop_rate, per_gas_column,
        seal, static_load,
    ) = vehicle  # fmt: skip
    squeeze = zu - zs
    speed = vs - vu
    column = min(squeeze * per_gas_column, FULLEST_COLUMN)
    spring = spring_rate * squeeze / (1.0 - column)
    stop = max(squeeze - bump_travel, 0.0) - max(-squeeze - rebound_travel, 0.0)
    held = spring + stop_rate * stop + actuator
    pressed = tyre_rate * (road - zu)
    if friction is not None:
        pressed = pressed + squeezed(friction, rubber, before, road - zu)
    tyre = max(pressed, -static_load)
    slide = min(max(speed, -FRICTION_SMOOTHING), FRICTION_SMOOTHING)
    steep, bend = seal * (1.5 / FRICTION_SMOOTHING), seal * (0.5 / FRICTION_SMOOTHING**3)
    rubbing = steep * slide - bend * slide * (slide * slide)
    if friction is not None:
        rubbing = rubbing + dragged(seals, friction[0], -squeeze - travel, friction[1])
    resisting = damper + rubbing
    body = (held + push - resisting) * per_body_mass
    wheel = (tyre - held + resisting) * per_wheel_mass
    return body, wheel, rubbing, tyre


@njit(cache=True, inline="always", error_model="numpy")
def accelerations(vehicle, open_curve, lockout_curve, zs, vs, zu, vu, road, push, valve, actuator):
    """Body and wheel acceleration in m/s2, and the force of damper and of friction in N (positive in rebound).

    push: outside force on the body, N, up. valve: 0 open to 1 lockout. actuator: force, N, positive lifts the body.
    All of a vehicle that neither yields nor sticks.
    """
    damper = valve_force(open_curve, lockout_curve, valve, vs - vu)
    body, wheel, friction, _ = moving(vehicle, None, zs, vs, zu, vu, road, push, actuator, damper, 0.0, 0.0, 0.0, 0.0)
    return body, wheel, damper, friction


@njit(cache=True, nogil=True, error_model="numpy")
def march(
    vehicle, series, friction, open_curve, lockout_curve, code, law, step, every, delay, jitter, smoothing, valve_half,
    valve_full, valve_start, state, road, push, ahead, seed, log_every, log, energy,
):  # fmt: skip
    """Step through `road` and fill `log` and `energy`; returns the number of changed commands.

    series, friction: see `elements`; None for a vehicle without. road, push: height in m and force on the body in N
    at every half step, shape (2 n + 1,). ahead: what the law makes of the road ahead at every step, N, shape (n + 1,).
    state: shape (8,), left as it is at the end, see `rest`: heights and speeds of body and wheel, the damper's force
    and own speed, the force of the seals, the tyre's friction.
    log: shape (n // log_every + 1, LOGGED), one row per `log_every` steps in the order of the constants above.
    energy: shape (ENERGIES,), J: heat of the damper, heat of friction, net work of the actuator, its positive part,
    heat of the tyre, work of the ground, and what is left in what yields.
    """
    steps = (road.size - 1) // 2
    zs, vs, zu, vu = state[0], state[1], state[2], state[3]
    yielding, tyre_rate, static_load = 0.0 if series is None else series[0], vehicle[3], vehicle[9]
    valve = command_valve = valve_start
    d1 = own = seals = rubber = travel = before = 0.0
    if series is not None:
        d1, own = state[4], state[5]
    if friction is not None:
        seals, rubber = state[6], state[7]
    stretched, sheared, rolled = held_energy(series, friction, d1, seals, rubber)
    actuator = command_force = 0.0
    slots = delay + jitter + 1
    due_valve, due_force = np.zeros(slots), np.zeros(slots)
    due_stamp = np.full(slots, -1)
    newest, changes = -1, 0
    random = np.uint64(2 * seed + 1)
    seen, memory = np.zeros(MEASUREMENTS), np.zeros(MEMORY)
    half, quick, sixth = 0.5 * step, SHARE * step, step / 6.0
    damper_heat = friction_heat = tyre_heat = work = supply = ground = 0.0
    for n in range(steps + 1):
        r0, p0 = road[2 * n], push[2 * n]
        if series is None:
            d1, e1 = damping(open_curve, lockout_curve, series, valve, vs - vu, 0.0, 0.0)
        else:
            e1 = (vs - vu) - own
        if friction is not None:
            travel, before = zs - zu, max(r0 - zu, -(static_load + rubber) * friction[7])
        a1, b1, f1, t1 = moving(vehicle, friction, zs, vs, zu, vu, r0, p0, actuator, d1, seals, travel, rubber, before)
        sampling = n % every == 0
        if sampling or smoothing > 0.0:
            seen[0] = smoothing * seen[0] + (1.0 - smoothing) * vs
            seen[1] = smoothing * seen[1] + (1.0 - smoothing) * (vs - vu)
            seen[2] = smoothing * seen[2] + (1.0 - smoothing) * a1
            seen[3] = smoothing * seen[3] + (1.0 - smoothing) * b1
            seen[4] = smoothing * seen[4] + (1.0 - smoothing) * (zs - zu)
            seen[5] = smoothing * seen[5] + (1.0 - smoothing) * (zu - r0)
            seen[6] = smoothing * seen[6] + (1.0 - smoothing) * ahead[n]
        if sampling:
            slot = n + delay
            if jitter > 0:
                # A linear congruential generator (Knuth, The Art of Computer Programming 2): the same on every machine.
                random = random * np.uint64(6364136223846793005) + np.uint64(1442695040888963407)
                slot += int(random >> np.uint64(33)) % (jitter + 1)
            slot %= slots
            due_valve[slot], due_force[slot] = decide(code, law, seen, memory, n * step, open_curve, lockout_curve)
            due_stamp[slot] = n
        slot = n % slots
        # A command that jitter let a newer one overtake is stale and is dropped.
        if due_stamp[slot] > newest:
            newest = due_stamp[slot]
            if due_valve[slot] != command_valve or due_force[slot] != command_force:
                command_valve, command_force = due_valve[slot], due_force[slot]
                changes += 1
                if valve_half == 0.0:
                    valve, actuator = command_valve, command_force
                    # A stretched damper keeps its force, and changes its speed.
                    force, e1 = damping(open_curve, lockout_curve, series, valve, vs - vu, yielding * d1, quick)
                    d1 = force if series is None else d1
                    a1, b1, f1, t1 = moving(
                        vehicle, friction, zs, vs, zu, vu, r0, p0, actuator, d1, seals, travel, rubber, before
                    )
        if n % log_every == 0:
            row = log[n // log_every]
            row[0], row[1], row[2], row[3] = zs, vs, zu, vu
            row[4], row[5], row[6], row[7] = a1, b1, valve, actuator
            row[8], row[9], row[10] = d1, (vs - vu) - e1, t1 + static_load
        if n == steps:
            break
        mid_valve = command_valve + valve_half * (valve - command_valve)
        mid_force = command_force + valve_half * (actuator - command_force)
        end_valve = command_valve + valve_full * (valve - command_valve)
        end_force = command_force + valve_full * (actuator - command_force)
        rm, pm, r1, p1 = road[2 * n + 1], push[2 * n + 1], road[2 * n + 2], push[2 * n + 2]
        stretch = yielding * d1
        vs2, vu2 = vs + half * a1, vu + half * b1
        d2, e2 = damping(open_curve, lockout_curve, series, mid_valve, vs2 - vu2, stretch + (half - quick) * e1, quick)
        a2, b2, f2, t2 = moving(
            vehicle, friction, zs + half * vs, vs2, zu + half * vu, vu2, rm, pm, mid_force, d2, seals, travel, rubber,
            before,
        )  # fmt: skip
        vs3, vu3 = vs + half * a2, vu + half * b2
        d3, e3 = damping(
            open_curve, lockout_curve, series, mid_valve, vs3 - vu3,
            stretch + (quick * e1 + (half - 2.0 * quick) * e2), quick,
        )  # fmt: skip
        a3, b3, f3, t3 = moving(
            vehicle, friction, zs + half * vs2, vs3, zu + half * vu2, vu3, rm, pm, mid_force, d3, seals, travel, rubber,
            before,
        )  # fmt: skip
        vs4, vu4 = vs + step * a3, vu + step * b3
        d4, e4 = damping(
            open_curve, lockout_curve, series, end_valve, vs4 - vu4, stretch + sixth * (e1 + 2.0 * (e2 + e3)), sixth
        )
        a4, b4, f4, t4 = moving(
            vehicle, friction, zs + step * vs3, vs4, zu + step * vu3, vu4, r1, p1, end_force, d4, seals, travel, rubber,
            before,
        )  # fmt: skip
        # Powers take the same stage weights as the state, so heat and work are as accurate as the motion.
        x1, x2, x3, x4 = vs - vu, vs2 - vu2, vs3 - vu3, vs4 - vu4
        damper_heat += d1 * x1 + 2.0 * (d2 * x2 + d3 * x3) + d4 * x4
        friction_heat += f1 * x1 + 2.0 * (f2 * x2 + f3 * x3) + f4 * x4
        w1, w4 = actuator * x1, end_force * x4
        w2, w3 = mid_force * x2, mid_force * x3
        work += w1 + 2.0 * (w2 + w3) + w4
        supply += max(w1, 0.0) + 2.0 * (max(w2, 0.0) + max(w3, 0.0)) + max(w4, 0.0)
        ground += lift(r0, rm, r1, t1, t2, t3, t4)
        zs += step / 6.0 * (vs + 2.0 * (vs2 + vs3) + vs4)
        zu += step / 6.0 * (vu + 2.0 * (vu2 + vu3) + vu4)
        vs += step / 6.0 * (a1 + 2.0 * (a2 + a3) + a4)
        vu += step / 6.0 * (b1 + 2.0 * (b2 + b3) + b4)
        valve, actuator = end_valve, end_force
        if series is not None:
            d1, own = d4, x4 - e4
        if friction is not None:
            seals = dragged(seals, friction[0], (zs - zu) - travel, friction[1])
            rubber, heat = rubbed(friction, tyre_rate, static_load, rubber, before, r1 - zu)
            tyre_heat += heat
    state[0], state[1], state[2], state[3] = zs, vs, zu, vu
    if series is not None:
        state[4], state[5] = d1, own
    if friction is not None:
        state[6], state[7] = seals, rubber
    stretch_left, shear_left, rubber_left = held_energy(series, friction, d1, seals, rubber)
    # What damper and seals took in and have not given back yet is no heat.
    energy[0] = damper_heat * step / 6.0 - (stretch_left - stretched)
    energy[1] = friction_heat * step / 6.0 - (shear_left - sheared)
    energy[2] = work * step / 6.0
    energy[3] = supply * step / 6.0
    energy[4] = tyre_heat
    energy[5] = 0.5 * ground + static_load * (road[2 * steps] - road[0])
    energy[6] = stretch_left + shear_left + rubber_left
    return changes
