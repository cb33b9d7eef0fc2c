"""Control laws that follow the motion: passive and skyhook.

A decision is a pair: the valve setting, 0 (open) to 1 (lockout), and the actuator force in N.

Skyhook: Karnopp, Crosby and Harwood, Vibration control using semi-active force generators, J. Eng. Ind. 96 (1974).
"""

import math
from dataclasses import dataclass

from helpers.control.law import ACTIVE_SKYHOOK, LINEAR_SKYHOOK, TWO_STATE_SKYHOOK, Law
from helpers.models.quantities import quantity


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
