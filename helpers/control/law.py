"""What every control law is to the stepper: a code, a row of numbers, and damper curves that it may look up.

A law sees only the measurements of one sample, in the order of the constants below, and a small memory of its own.
"""

from dataclasses import dataclass

import numpy as np

from helpers.models.compiled import njit
from helpers.models.quantities import Checked

BODY_VELOCITY, RELATIVE_VELOCITY, BODY_ACCELERATION, WHEEL_ACCELERATION, TRAVEL, TYRE_DEFLECTION, AHEAD = range(7)
MEASUREMENTS = 7
PARAMETERS = 9
MEMORY = 4
PASSIVE, TWO_STATE, FOLLOWED_FORCE, STATE_FEEDBACK, MODE_SWITCH, OWN = range(6)


@dataclass(frozen=True)
class Law(Checked):
    """Base of the laws; a subclass names its `code` and lists its numbers in `numbers`."""

    code = PASSIVE
    moves_valve = True  # whether it asks a damper for more than one setting

    def numbers(self):
        """The law's parameters in the order that `decide` reads them."""
        raise NotImplementedError

    @property
    def initial(self):
        """Valve setting before the first command arrives."""
        return 0.0

    def ahead(self, road, step):
        """What the law makes of the road ahead at every step, N, the shape of `road`: nothing unless it has preview.

        road: height in m at every time step of `step` s, from the first to the last.
        """
        return np.zeros(len(road))

    def check(self):
        """Called when a ride is over: a law that could not decide raises here."""

    def packed(self):
        """The parameters as the stepper reads them: float array of length PARAMETERS."""
        numbers = self.numbers()
        return np.array([*numbers, *[0.0] * (PARAMETERS - len(numbers))])


@njit(cache=True, inline="always", error_model="numpy")
def curve_force(curve, velocity):
    """Force in N of a packed damper curve at one velocity in m/s: `DamperCurve.force`, compiled."""
    rebound_low, rebound_high, rebound_knee, low, high, knee, rounded = curve
    if velocity >= 0.0:
        low, high = rebound_low, rebound_high
    if rounded > 0.0:
        saturating = velocity / (1.0 + abs(velocity) / (rebound_knee if velocity >= 0.0 else knee))
    else:
        saturating = min(max(velocity, -knee), rebound_knee)
    return high * velocity + (low - high) * saturating
