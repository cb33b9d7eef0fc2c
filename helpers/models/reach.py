"""The forces that a controllable damper can give at a speed: what lies between its open and its locked-out curve.

A damper's force has the sign of its velocity: half of the force-velocity plane is closed to it, whatever its valve.
"""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False)
class Region:
    """Forces from `low` to `high` in N, both of the shape of the velocities asked for."""

    low: np.ndarray
    high: np.ndarray

    def holds(self, force):
        """Whether `force` in N (broadcast) lies in the region, both ends included."""
        return (self.low <= force) & (force <= self.high)

    def nearest(self, force):
        """The force of the region nearest to `force` in N (broadcast)."""
        return np.clip(force, self.low, self.high)


def reach(vehicle, speed):
    """The `Region` of a vehicle's damper at relative velocity `speed` in m/s, positive in rebound; any shape."""
    curves = [curve.force(speed) for curve in (vehicle.open_curve, vehicle.lockout_curve)]
    return Region(np.minimum(*curves), np.maximum(*curves))


def is_reachable(vehicle, force, speed):
    """Whether the damper can give `force` in N at `speed` in m/s; arrays are broadcast."""
    return reach(vehicle, speed).holds(force)


def nearest(vehicle, force, speed):
    """What a damper that is asked for `force` in N at `speed` in m/s gives: the nearest force it reaches, N."""
    return reach(vehicle, speed).nearest(force)
