"""Control laws. Each is a frozen dataclass that the stepper reads as a code and a row of numbers.

A decision is a pair: the valve setting, 0 (open) to 1 (lockout), and the actuator force in N. A law sees only the
measurements of one sample, in the order of the constants below, and a small memory of its own.

Skyhook: Karnopp, Crosby and Harwood, Vibration control using semi-active force generators, J. Eng. Ind. 96 (1974).
"""

import math
from dataclasses import dataclass

import numpy as np
from numba import njit

from helpers.models.quantities import Checked, quantity

BODY_VELOCITY, RELATIVE_VELOCITY, BODY_ACCELERATION, WHEEL_ACCELERATION, TRAVEL, TYRE_DEFLECTION = range(6)
MEASUREMENTS = 6
PARAMETERS = 8
MEMORY = 4
PASSIVE, TWO_STATE_SKYHOOK, LINEAR_SKYHOOK, ACTIVE_SKYHOOK, MODE_SWITCH = range(5)


@dataclass(frozen=True)
class Law(Checked):
    """Base of the laws; a subclass names its `code` and lists its numbers in `numbers`."""

    code = PASSIVE

    def numbers(self):
        """The law's parameters in the order that `decide` reads them."""
        raise NotImplementedError

    @property
    def initial(self):
        """Valve setting before the first command arrives."""
        return 0.0

    def packed(self):
        """The parameters as the stepper reads them: float array of length PARAMETERS."""
        row = np.zeros(PARAMETERS)
        row[: len(self.numbers())] = self.numbers()
        return row


@dataclass(frozen=True)
class Passive(Law):
    """A fixed setting: an ordinary damper."""

    setting: float = quantity("valve setting: 0 open, 1 lockout", "", 0.0, 1.0, default=0.0)

    def numbers(self):
        return (self.setting,)

    @property
    def initial(self):
        return self.setting


@dataclass(frozen=True)
class TwoStateSkyhook(Law):
    """Firm while the damper would slow the body, soft while it would push it (Karnopp and others 1974)."""

    code = TWO_STATE_SKYHOOK
    soft: float = quantity("valve setting while soft", "", 0.0, 1.0, default=0.0)
    firm: float = quantity("valve setting while firm", "", 0.0, 1.0, default=0.3)

    def numbers(self):
        return (self.soft, self.firm)


@dataclass(frozen=True)
class LinearSkyhook(Law):
    """The damper imitates the skyhook force wherever its curves can reach it."""

    code = LINEAR_SKYHOOK
    coefficient: float = quantity(
        "skyhook coefficient", "N s/m", 0.0, 100_000.0, symbol=r"c_\mathrm{sky}", default=1000.0
    )

    def numbers(self):
        return (self.coefficient,)


@dataclass(frozen=True)
class ActiveSkyhook(Law):
    """An actuator pulls the body to rest in height: force -c_sky v_s, beside a damper at a fixed setting."""

    code = ACTIVE_SKYHOOK
    coefficient: float = quantity(
        "skyhook coefficient", "N s/m", 0.0, 100_000.0, symbol=r"c_\mathrm{sky}", default=1000.0
    )
    force_limit: float = quantity("largest actuator force", "N", 0.0, math.inf, default=math.inf)
    setting: float = quantity("setting of the damper beside it", "", 0.0, 1.0, default=0.0)

    def numbers(self):
        return (self.coefficient, self.force_limit, self.setting)

    @property
    def initial(self):
        return self.setting


@njit(cache=True, inline="always", error_model="numpy")
def saturated(curve, velocity):
    """s(v) of a packed damper curve `high v + (low - high) s(v)`, in m/s; see `helpers.models.dampers`."""
    _, _, rebound_knee, _, _, knee, rounded = curve
    if rounded > 0.0:
        return velocity / (1.0 + abs(velocity) / (rebound_knee if velocity >= 0.0 else knee))
    return min(max(velocity, -knee), rebound_knee)


@njit(cache=True, inline="always", error_model="numpy")
def curve_force(curve, velocity):
    """Force in N of a packed damper curve at one velocity in m/s: `DamperCurve.force`, compiled."""
    rebound_low, rebound_high, _, low, high, _, _ = curve
    if velocity >= 0.0:
        low, high = rebound_low, rebound_high
    return high * velocity + (low - high) * saturated(curve, velocity)


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
