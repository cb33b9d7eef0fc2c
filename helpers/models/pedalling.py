"""The rider's push: pedalling loads the body at twice the cadence, once for each leg."""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import Checked, quantity


@dataclass(frozen=True)
class Pedalling(Checked):
    """A steady pedal stroke as seen by the rear suspension of a pedal bike."""

    cadence: float = quantity("turns of the cranks in a second", "1/s", 0.2, 3.0, default=80.0 / 60.0)
    force: float = quantity("amplitude of the vertical force on the body", "N", 0.0, 1000.0, default=110.0)

    def push(self, time):
        """Force on the body in N (up positive) at `time` in s; array in, array of the same shape out."""
        return -self.force * np.sin(2.0 * math.pi * 2.0 * self.cadence * np.asarray(time))
