"""The one compiled function in which every law decides; the stepper calls it once a sample."""

from numba import njit

from helpers.control.law import (
    ACTIVE_SKYHOOK,
    BODY_VELOCITY,
    LINEAR_SKYHOOK,
    MODE_SWITCH,
    RELATIVE_VELOCITY,
    TWO_STATE_SKYHOOK,
    WHEEL_ACCELERATION,
    curve_force,
)


@njit(cache=True, error_model="numpy")
def decide(code, p, seen, memory, time, open_curve, lockout_curve):
    """One decision: (valve setting, actuator force in N).

    p: the law's numbers; seen: the measurements of this sample; memory: what the law keeps between samples; time: s.
    """
    if code == TWO_STATE_SKYHOOK:
        return (p[1] if seen[BODY_VELOCITY] * seen[RELATIVE_VELOCITY] > 0.0 else p[0]), 0.0
    if code == LINEAR_SKYHOOK:
        softest = curve_force(open_curve, seen[RELATIVE_VELOCITY])
        reach = curve_force(lockout_curve, seen[RELATIVE_VELOCITY]) - softest
        if reach == 0.0:
            return 0.0, 0.0
        wanted = (p[0] * seen[BODY_VELOCITY] - softest) / reach
        return min(max(wanted, 0.0), 1.0), 0.0
    if code == ACTIVE_SKYHOOK:
        return p[2], min(max(-p[0] * seen[BODY_VELOCITY], -p[1]), p[1])
    if code == MODE_SWITCH:
        if abs(seen[WHEEL_ACCELERATION]) > p[0]:
            memory[0] = time + p[1]
        return (p[3] if time < memory[0] else p[2]), 0.0
    return p[0], 0.0
