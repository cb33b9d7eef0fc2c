"""The compiled stepper: one quarter vehicle, one law, one road, fourth-order Runge-Kutta at a fixed step.

Heights are from static equilibrium, z up. The spring hardens with a gas column, the stops are linear, the tyre cannot
pull, seal friction passes smoothly through zero speed. Between commands the valve moves exponentially, exact here.

What a step costs is the wait of each stage for the speed of the one before. So sums are grouped, and coefficients
blended, such that all that does not need this speed is ready when it comes.
"""

import numpy as np
from numba import njit

from helpers.control.decision import decide
from helpers.control.law import MEASUREMENTS, MEMORY, curve_force

FRICTION_SMOOTHING = 0.02  # m/s; from here on seal friction is whole; below, a smooth cubic
FULLEST_COLUMN = 0.95  # share of the gas column; the bump stop ends the stroke well before
BODY_HEIGHT, BODY_SPEED, WHEEL_HEIGHT, WHEEL_SPEED, BODY_ACC, WHEEL_ACC, VALVE, ACTUATOR = range(8)
DAMPER_HEAT, FRICTION_HEAT, ACTUATOR_WORK, ACTUATOR_SUPPLY = range(4)


def packed_vehicle(vehicle):
    """A `Vehicle`'s numbers as the stepper reads them; a tuple, so that the compiler keeps them in registers."""
    return (
        1.0 / vehicle.body_mass, 1.0 / vehicle.wheel_mass, vehicle.spring_rate, vehicle.tyre_rate, vehicle.bump_travel,
        vehicle.rebound_travel, vehicle.stop_rate, 1.0 / vehicle.gas_column, vehicle.friction, vehicle.static_load,
    )  # fmt: skip


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
def accelerations(vehicle, open_curve, lockout_curve, zs, vs, zu, vu, road, push, valve, actuator):
    """Body and wheel acceleration in m/s2, and the force of damper and of friction in N (positive in rebound).

    push: outside force on the body, N, up. valve: 0 open to 1 lockout. actuator: force, N, positive lifts the body.
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
    tyre = max(tyre_rate * (road - zu), -static_load)
    damper = valve_force(open_curve, lockout_curve, valve, speed)
    slide = min(max(speed, -FRICTION_SMOOTHING), FRICTION_SMOOTHING)
    steep, bend = seal * (1.5 / FRICTION_SMOOTHING), seal * (0.5 / FRICTION_SMOOTHING**3)
    friction = steep * slide - bend * slide * (slide * slide)
    resisting = damper + friction
    body = (held + push - resisting) * per_body_mass
    wheel = (tyre - held + resisting) * per_wheel_mass
    return body, wheel, damper, friction


@njit(cache=True, error_model="numpy")
def march(
    vehicle, open_curve, lockout_curve, code, law, step, every, delay, jitter, smoothing, valve_half, valve_full,
    valve_start, start, road, push, ahead, seed, log_every, log, energy,
):  # fmt: skip
    """Step through `road` and fill `log` and `energy`; returns the number of changed commands.

    road, push: height in m and force on the body in N at every half step, shape (2 n + 1,). ahead: what the law
    makes of the road ahead at every step, N, shape (n + 1,). start: state, shape (4,).
    log: shape (n // log_every + 1, 8), one row per `log_every` steps in the order of the constants above.
    energy: shape (4,), J: heat of the damper, heat of friction, net work of the actuator, its positive part.
    """
    steps = (road.size - 1) // 2
    zs, vs, zu, vu = start[0], start[1], start[2], start[3]
    valve = command_valve = valve_start
    actuator = command_force = 0.0
    slots = delay + jitter + 1
    due_valve, due_force = np.zeros(slots), np.zeros(slots)
    due_stamp = np.full(slots, -1)
    newest, changes = -1, 0
    random = np.uint64(2 * seed + 1)
    seen, memory = np.zeros(MEASUREMENTS), np.zeros(MEMORY)
    half = 0.5 * step
    damper_heat = friction_heat = work = supply = 0.0
    for n in range(steps + 1):
        r0, p0 = road[2 * n], push[2 * n]
        a1, b1, d1, f1 = accelerations(vehicle, open_curve, lockout_curve, zs, vs, zu, vu, r0, p0, valve, actuator)
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
                    a1, b1, d1, f1 = accelerations(
                        vehicle, open_curve, lockout_curve, zs, vs, zu, vu, r0, p0, valve, actuator
                    )
        if n % log_every == 0:
            row = log[n // log_every]
            row[0], row[1], row[2], row[3] = zs, vs, zu, vu
            row[4], row[5], row[6], row[7] = a1, b1, valve, actuator
        if n == steps:
            break
        mid_valve = command_valve + valve_half * (valve - command_valve)
        mid_force = command_force + valve_half * (actuator - command_force)
        end_valve = command_valve + valve_full * (valve - command_valve)
        end_force = command_force + valve_full * (actuator - command_force)
        rm, pm = road[2 * n + 1], push[2 * n + 1]
        vs2, vu2 = vs + half * a1, vu + half * b1
        a2, b2, d2, f2 = accelerations(
            vehicle, open_curve, lockout_curve, zs + half * vs, vs2, zu + half * vu, vu2, rm, pm, mid_valve, mid_force
        )
        vs3, vu3 = vs + half * a2, vu + half * b2
        a3, b3, d3, f3 = accelerations(
            vehicle, open_curve, lockout_curve, zs + half * vs2, vs3, zu + half * vu2, vu3, rm, pm, mid_valve, mid_force
        )
        vs4, vu4 = vs + step * a3, vu + step * b3
        a4, b4, d4, f4 = accelerations(
            vehicle, open_curve, lockout_curve, zs + step * vs3, vs4, zu + step * vu3, vu4,
            road[2 * n + 2], push[2 * n + 2], end_valve, end_force,
        )  # fmt: skip
        # Powers take the same stage weights as the state, so heat and work are as accurate as the motion.
        x1, x2, x3, x4 = vs - vu, vs2 - vu2, vs3 - vu3, vs4 - vu4
        damper_heat += d1 * x1 + 2.0 * (d2 * x2 + d3 * x3) + d4 * x4
        friction_heat += f1 * x1 + 2.0 * (f2 * x2 + f3 * x3) + f4 * x4
        w1, w4 = actuator * x1, end_force * x4
        w2, w3 = mid_force * x2, mid_force * x3
        work += w1 + 2.0 * (w2 + w3) + w4
        supply += max(w1, 0.0) + 2.0 * (max(w2, 0.0) + max(w3, 0.0)) + max(w4, 0.0)
        zs += step / 6.0 * (vs + 2.0 * (vs2 + vs3) + vs4)
        zu += step / 6.0 * (vu + 2.0 * (vu2 + vu3) + vu4)
        vs += step / 6.0 * (a1 + 2.0 * (a2 + a3) + a4)
        vu += step / 6.0 * (b1 + 2.0 * (b2 + b3) + b4)
        valve, actuator = end_valve, end_force
    energy[0] = damper_heat * step / 6.0
    energy[1] = friction_heat * step / 6.0
    energy[2] = work * step / 6.0
    energy[3] = supply * step / 6.0
    return changes
