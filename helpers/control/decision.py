"""The one compiled function in which every law decides; the stepper has it built in and runs it once a sample."""

from helpers.control.law import (
    AHEAD,
    BODY_ACCELERATION,
    BODY_VELOCITY,
    FOLLOWED_FORCE,
    MODE_SWITCH,
    OWN,
    RELATIVE_VELOCITY,
    STATE_FEEDBACK,
    TRAVEL,
    TWO_STATE,
    TYRE_DEFLECTION,
    WHEEL_ACCELERATION,
    curve_force,
)
from helpers.control.mode_switch import selected
from helpers.control.own_law import call_own
from helpers.models.compiled import njit


@njit(cache=True, inline="always", error_model="numpy")
def weighed(p, seen):
    """The sum of gain times state over travel, body velocity, tyre deflection and wheel velocity: N."""
    wheel_velocity = seen[BODY_VELOCITY] - seen[RELATIVE_VELOCITY]
    return p[0] * seen[TRAVEL] + p[1] * seen[BODY_VELOCITY] + p[2] * seen[TYRE_DEFLECTION] + p[3] * wheel_velocity


@njit(cache=True, inline="always", error_model="numpy")
def decide(code, p, seen, memory, time, open_curve, lockout_curve):
    """One decision: (valve setting, actuator force in N).

    p: the law's numbers; seen: the measurements of this sample; memory: what the law keeps between samples; time: s.
    """
    if code == TWO_STATE:
        speed = seen[RELATIVE_VELOCITY]
        signal = p[2] * seen[BODY_VELOCITY] + p[3] * seen[BODY_ACCELERATION]
        if abs(signal) >= p[4] and abs(speed) >= p[5]:  # within its dead bands the last decision stands
            memory[0] = 1.0 if signal * speed > 0.0 else 0.0
        return (p[1] if memory[0] > 0.0 else p[0]), 0.0
    if code == FOLLOWED_FORCE:
        softest = curve_force(open_curve, seen[RELATIVE_VELOCITY])
        reach = curve_force(lockout_curve, seen[RELATIVE_VELOCITY]) - softest
        if reach == 0.0:
            return 0.0, 0.0
        return min(max((weighed(p, seen) - softest) / reach, 0.0), 1.0), 0.0
    if code == STATE_FEEDBACK:
        return p[5], min(max(seen[AHEAD] - weighed(p, seen), -p[4]), p[4])
    if code == MODE_SWITCH:
        return selected(p, seen[WHEEL_ACCELERATION], memory, time), 0.0
    if code == OWN:
        given = call_own(p[0], seen[0], seen[1], seen[2], seen[3], seen[4], seen[5], seen[6], time)
        return (p[2], given) if p[1] > 0.0 else (given, 0.0)
    return p[0], 0.0
