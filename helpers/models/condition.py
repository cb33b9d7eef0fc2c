"""A machine on another day: its damper's oil cold or warm, its valve and seals worn."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from helpers.models.dampers import DamperCurve, Side
from helpers.models.machines import DAMPERS
from helpers.models.oil import ZERO_CELSIUS
from helpers.models.quantities import Checked, quantity

TEMPERATURES = (0.0, 20.0, 40.0, 60.0)  # degC of the oil at which the course's damper is worked out
# At the end of a service interval, over what they are when new; all three invented for the course.
LEAK_WORN, FRICTION_WORN, VALVE_WORN = 1.2, 1.5, 1.25  # gap beside the valve, seal friction, response time of a valve
STEEPEST = 50_000.0  # N s/m, what a damper curve may have


@dataclass(frozen=True)
class Condition(Checked):
    """In which state a machine is ridden."""

    oil: float = quantity("temperature of the damper's oil", "degC", 0.0, 60.0, default=40.0)
    wear: float = quantity("share of a service interval that is over", "", 0.0, 1.0, default=0.0)

    def of(self, vehicle):
        """The vehicle with curves and seal friction as they then are.

        Slopes and knees change by the factors of the bike's damper, whose own circuit is worked out at four
        temperatures, new and worn; between them their logarithms lie on straight lines. A damper whose two curves are
        one has no valve that leaks: both change as the bike's open curve.
        """
        fixed = vehicle.open_curve == vehicle.lockout_curve
        curves = [_changed(curve, self._factors(locked and not fixed))
                  for locked, curve in enumerate((vehicle.open_curve, vehicle.lockout_curve))]  # fmt: skip
        friction = vehicle.friction * (1.0 + (FRICTION_WORN - 1.0) * self.wear)
        return replace(vehicle, open_curve=curves[0], lockout_curve=curves[1], friction=friction)

    @property
    def valve_slower(self):
        """Times that a worn valve takes longer."""
        return 1.0 + (VALVE_WORN - 1.0) * self.wear

    def _factors(self, locked):
        new, worn = ([np.interp(self.oil, TEMPERATURES, column) for column in _logarithms(locked, leak).T]
                     for leak in (1.0, LEAK_WORN))  # fmt: skip
        return np.exp((1.0 - self.wear) * np.array(new) + self.wear * np.array(worn))


@lru_cache
def _logarithms(locked, leak):
    """Logarithms of low slope, high slope, knee in rebound, then in compression, over those at 40 degC when new."""
    rows = [_numbers(locked, leak, celsius) for celsius in TEMPERATURES]
    return np.log(np.array(rows) / _numbers(locked, 1.0, 40.0))


@lru_cache
def _numbers(locked, leak, celsius):
    damper = DAMPERS["bike"]
    gap = replace(damper.leak, area=leak * damper.leak.area, diameter=leak * damper.leak.diameter)
    worn = replace(damper, leak=gap, temperature=ZERO_CELSIUS + celsius)
    curve = worn.lockout_curve if locked else worn.open_curve
    return np.array(
        [value for side in (curve.rebound, curve.compression) for value in (side.low, side.high, side.knee)]
    )


def _changed(curve, factors):
    sides = []
    for side, (low, high, knee) in zip((curve.rebound, curve.compression), factors.reshape(2, 3), strict=True):
        steep = min(low * side.low, STEEPEST)
        bend = knee * side.knee * (low * side.low / steep if steep else 1.0)  # the force at the knee stays
        sides.append(Side(steep, min(high * side.high, STEEPEST), min(max(bend, 0.005), 10.0)))
    return DamperCurve(*sides, curve.rounded)
