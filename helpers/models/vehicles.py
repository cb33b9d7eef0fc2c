"""A vehicle as the quarter that carries the most: body over one wheel, with what lies between and below.

Heights are measured from static equilibrium, so weight enters only where a force has a limit: the tyre cannot pull.
"""

import math
from dataclasses import dataclass, replace

from helpers.models.dampers import DamperCurve, linear
from helpers.models.quantities import Checked, quantity

SECTIONS = ("climb", "traverse", "descent")
SHORTEST_STRETCH = 1e-5  # m; seals that shear by less would make the stepper's time steps needlessly short
GRAVITY = 9.80665  # m/s2, standard acceleration of free fall, ISO 80000-3


@dataclass(frozen=True)
class Vehicle(Checked):
    """A quarter vehicle: body over one wheel, spring, controllable damper, tyre, stops."""

    name: str
    body_mass: float = quantity("mass of the body this wheel carries", "kg", 1.0, 5000.0, symbol=r"m_s")
    wheel_mass: float = quantity("unsprung mass: wheel and what moves with it", "kg", 0.2, 500.0, symbol=r"m_u")
    spring_rate: float = quantity("spring rate at the wheel", "N/m", 500.0, 500_000.0, symbol=r"k_s")
    tyre_rate: float = quantity("tyre rate", "N/m", 5_000.0, 2_000_000.0, symbol=r"k_t")
    damping: float = quantity("damping coefficient of the plain damper", "N s/m", 0.0, 50_000.0, symbol=r"c")
    bump_travel: float = quantity("travel left in compression", "m", 0.01, 1.0, symbol=r"x_b", default=0.1)
    rebound_travel: float = quantity("travel left in rebound", "m", 0.01, 1.0, symbol=r"x_r", default=0.05)
    stop_rate: float = quantity("rate of the bump and top-out stops", "N/m", 0.0, 5e6, symbol=r"k_b", default=2e5)
    gas_column: float = quantity(
        "progression: the stroke at which the hardening spring force would grow without limit; inf for a coil spring",
        "m", 0.02, math.inf, symbol=r"\ell", default=math.inf,
    )  # fmt: skip
    friction: float = quantity("seal friction", "N", 0.0, 2000.0, symbol=r"F_f", default=0.0)
    wheel_radius: float = quantity("wheel radius", "m", 0.05, 1.0, symbol=r"r", default=0.3)
    climb_speed: float = quantity("speed on the climb", "m/s", 0.1, 60.0, symbol=r"v_1", default=5.0)
    traverse_speed: float = quantity("speed on the traverse", "m/s", 0.1, 60.0, symbol=r"v_2", default=10.0)
    descent_speed: float = quantity("speed on the descent", "m/s", 0.1, 60.0, symbol=r"v_3", default=10.0)
    pedal_force: float = quantity(
        "amplitude of the pedalling rider's push on the body", "N", 0.0, 1000.0, symbol=r"F_p", default=0.0
    )
    damper_stiffness: float = quantity(
        "stiffness of oil, hoses and mounts in series with the damper, at the wheel; inf for a rigid damper",
        "N/m", 1e4, math.inf, symbol=r"k_d", default=math.inf, quiet=True,
    )  # fmt: skip
    seal_stretch: float = quantity(
        "how far a seal shears before it slides; 0 for friction that passes smoothly through zero speed",
        "m", 0.0, 0.02, symbol=r"x_f", default=0.0, quiet=True,
    )  # fmt: skip
    tyre_travel: float = quantity(
        "compression of the tyre from static until the rim meets the ground; inf for a tyre without a rim",
        "m", 0.001, math.inf, symbol=r"x_t", default=math.inf, quiet=True,
    )  # fmt: skip
    rim_rate: float = quantity("rate that the rim adds beyond", "N/m", 0.0, 1e7, symbol=r"k_r", default=0.0, quiet=True)
    tyre_friction: float = quantity(
        "half width of the tyre's hysteresis loop", "N", 0.0, 2000.0, symbol=r"F_t", default=0.0, quiet=True
    )
    tyre_stretch: float = quantity(
        "deflection over which that friction builds up from nothing", "m", 1e-4, 0.1, symbol=r"x_h", default=0.005,
        quiet=True,
    )  # fmt: skip
    open_curve: DamperCurve | None = None
    lockout_curve: DamperCurve | None = None

    def __post_init__(self):
        super().__post_init__()
        if 0.0 < self.seal_stretch < SHORTEST_STRETCH:
            raise ValueError(
                f"Vehicle: seal_stretch is {self.seal_stretch:g} m; allowed is 0, or {SHORTEST_STRETCH:g} to 0.02 m."
            )
        if self.gas_column <= self.bump_travel:
            raise ValueError(
                f"Vehicle: gas_column is {self.gas_column:g} m; "
                f"allowed is more than bump_travel, {self.bump_travel:g} m."
            )
        for name in ("open_curve", "lockout_curve"):
            if getattr(self, name) is None:  # without curves of its own, whatever a valve does is the plain damper
                object.__setattr__(self, name, linear(self.damping))
            if getattr(self, name).rounded and not math.isinf(self.damper_stiffness):
                raise ValueError(
                    f"Vehicle: {name} is rounded and damper_stiffness {self.damper_stiffness:g} N/m; "
                    "allowed with a rounded curve is inf N/m."
                )

    @property
    def static_load(self):
        """Weight on the ground contact, N."""
        return (self.body_mass + self.wheel_mass) * GRAVITY

    def speed(self, section):
        """Travelling speed in m/s on 'climb', 'traverse' or 'descent'."""
        if section not in SECTIONS:
            raise ValueError(f"Vehicle: section is {section!r}; allowed are {', '.join(SECTIONS)}.")
        return getattr(self, f"{section}_speed")

    def plain(self, damping=None):
        """The same vehicle on an ordinary damper: linear, of `damping` in N s/m or its own, whatever a valve does."""
        curve = linear(self.damping if damping is None else damping)
        return replace(self, damping=curve.rebound.low, open_curve=curve, lockout_curve=curve)

    def changed(self, **values):
        """A copy with some fields changed and checked; a plain damper's curves follow its coefficient."""
        for name in ("open_curve", "lockout_curve"):
            if getattr(self, name) == linear(self.damping):
                values.setdefault(name, None)
        return replace(self, **values)
