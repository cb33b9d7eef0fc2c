"""Control laws that follow the motion: passive, semi-active and active.

A decision is a pair: the valve setting, 0 (open) to 1 (lockout), and the actuator force in N. Two-state laws choose
between two settings; the others ask for a force, and a damper gives what of it lies between its curves.

Skyhook: Karnopp, Crosby and Harwood, Vibration control using semi-active force generators, J. Eng. Ind. 96 (1974).
Groundhook: Valasek, Novak, Sika and Vaculin, Extended ground-hook, Vehicle Syst. Dyn. 27 (1997).
Their mix: Goncalves and Ahmadian, A hybrid control policy for semi-active vehicle suspensions, Shock Vib. 10 (2003).
Acceleration-driven damping: Savaresi, Silani and Bittanti, J. Dyn. Sys. Meas. Control 127 (2005).
Clipped optimal: Tseng and Hedrick, Semi-active control laws, optimal and sub-optimal, Vehicle Syst. Dyn. 23 (1994).
"""

import math
from dataclasses import dataclass

from helpers.control.law import FOLLOWED_FORCE, STATE_FEEDBACK, TWO_STATE, Law
from helpers.models.quantities import quantity


def _setting(meaning, default):
    return quantity(meaning, "", 0.0, 1.0, default=default)


def _coefficient(meaning, symbol):
    return quantity(meaning, "N s/m", 0.0, 100_000.0, symbol=symbol, default=1000.0)


def _speed_band():
    return quantity("relative velocity within which the last decision stands", "m/s", 0.0, 2.0, default=0.0)


@dataclass(frozen=True)
class Passive(Law):
    """A fixed setting of the valve, 0 open to 1 lockout: an ordinary damper."""

    moves_valve = False
    setting: float = _setting("valve setting: 0 open, 1 lockout", 0.0)

    def numbers(self):
        return (self.setting,)

    @property
    def initial(self):
        return self.setting


@dataclass(frozen=True)
class TwoStateSkyhook(Law):
    """Firm while the damper would slow the body, soft while it would push it (Karnopp and others 1974)."""

    code = TWO_STATE
    soft: float = _setting("valve setting while soft", 0.0)
    firm: float = _setting("valve setting while firm", 0.3)
    dead_band: float = _speed_band()
    body_band: float = quantity("body velocity within which the last decision stands", "m/s", 0.0, 2.0, default=0.0)

    def numbers(self):
        return (self.soft, self.firm, 1.0, 0.0, self.body_band, self.dead_band)


@dataclass(frozen=True)
class AccelerationDriven(Law):
    """Firm while the damper's force is against the body's acceleration, soft while with it (Savaresi and others 2005).

    Least body acceleration at the next instant, for a valve that moves at once; the road need not be known.
    """

    code = TWO_STATE
    soft: float = _setting("valve setting while soft", 0.0)
    firm: float = _setting("valve setting while firm", 0.3)
    dead_band: float = _speed_band()
    acceleration_band: float = quantity(
        "body acceleration within which the last decision stands", "m/s^2", 0.0, 50.0, default=0.0
    )

    def numbers(self):
        return (self.soft, self.firm, 0.0, 1.0, self.acceleration_band, self.dead_band)


@dataclass(frozen=True)
class LinearSkyhook(Law):
    """The damper imitates the skyhook force c_sky v_s wherever its curves can reach it."""

    code = FOLLOWED_FORCE
    coefficient: float = _coefficient("skyhook coefficient", r"c_\mathrm{sky}")

    def numbers(self):
        return (0.0, self.coefficient, 0.0, 0.0)


@dataclass(frozen=True)
class Groundhook(Law):
    """The damper imitates one between wheel and ground, of force -c_gnd v_u on the wheel, wherever it can."""

    code = FOLLOWED_FORCE
    coefficient: float = _coefficient("groundhook coefficient", r"c_\mathrm{gnd}")

    def numbers(self):
        return (0.0, 0.0, 0.0, -self.coefficient)


@dataclass(frozen=True)
class ActiveSkyhook(Law):
    """An actuator pulls the body to rest in height: force -c_sky v_s, beside a damper at a fixed setting."""

    code = STATE_FEEDBACK
    moves_valve = False
    coefficient: float = _coefficient("skyhook coefficient", r"c_\mathrm{sky}")
    force_limit: float = quantity("largest actuator force", "N", 0.0, math.inf, default=math.inf)
    setting: float = _setting("setting of the damper beside it", 0.0)

    def numbers(self):
        return (0.0, self.coefficient, 0.0, 0.0, self.force_limit, self.setting)

    @property
    def initial(self):
        return self.setting


@dataclass(frozen=True)
class Gains(Law):
    """Base of the laws with a gain on each state; `gains` in the order of the 'deflections' state space."""

    on_travel: float = quantity("gain on travel", "N/m", -1e8, 1e8, symbol="K_1", default=0.0)
    on_body_velocity: float = quantity("gain on body velocity", "N s/m", -1e7, 1e7, symbol="K_2", default=0.0)
    on_tyre_deflection: float = quantity("gain on tyre deflection", "N/m", -1e8, 1e8, symbol="K_3", default=0.0)
    on_wheel_velocity: float = quantity("gain on wheel velocity", "N s/m", -1e7, 1e7, symbol="K_4", default=0.0)

    @property
    def gains(self):
        """(travel, body velocity, tyre deflection, wheel velocity)."""
        return (self.on_travel, self.on_body_velocity, self.on_tyre_deflection, self.on_wheel_velocity)


@dataclass(frozen=True)
class StateFeedback(Gains):
    """An actuator of force -K x beside a damper at a fixed setting; x is travel, v_s, tyre deflection, v_u."""

    code = STATE_FEEDBACK
    moves_valve = False
    force_limit: float = quantity("largest actuator force", "N", 0.0, math.inf, default=math.inf)
    setting: float = _setting("setting of the damper beside it", 0.0)

    def numbers(self):
        return (*self.gains, self.force_limit, self.setting)

    @property
    def initial(self):
        return self.setting


@dataclass(frozen=True)
class ClippedOptimal(Gains):
    """The damper imitates the force K x wherever its curves can reach it: optimal feedback less what needs power.

    K x is the whole force of the damper, positive in rebound (Tseng and Hedrick 1994).
    """

    code = FOLLOWED_FORCE

    def numbers(self):
        return self.gains
