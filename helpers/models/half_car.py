"""The half-car's parameters: two quarter vehicles that share one body, and the three machines as such.

End 1 is the front, `a` ahead of the mass centre, end 2 the rear, `b` behind it. The quarter car of an end carries what
the body weighs on its wheel, m_s1 = m b / L and m_s2 = m a / L: they add up to the body and balance about its mass
centre. Where k^2 = a b they are also all there is to its motion.
"""

import math
from dataclasses import dataclass, replace

from helpers.models.machines import MACHINES
from helpers.models.quantities import Checked, in_range, quantity
from helpers.models.vehicles import Vehicle


@dataclass(frozen=True)
class HalfCar(Checked):
    """Two quarter vehicles, one body: each end is a `Vehicle` with the mass that the body lays on its wheel.

    Body mass and the place of its mass centre follow from the ends, so that these always add up.
    """

    name: str
    front: Vehicle
    rear: Vehicle
    wheelbase: float = quantity("distance between the axles", "m", 0.2, 20.0, symbol="L")
    gyration: float = quantity("radius of gyration of the body in pitch", "m", 0.05, 10.0, symbol="k")

    @property
    def body_mass(self):
        """m, kg."""
        return self.front.body_mass + self.rear.body_mass

    @property
    def front_arm(self):
        """a, distance of the front axle ahead of the mass centre, m."""
        return self.wheelbase * self.rear.body_mass / self.body_mass

    @property
    def rear_arm(self):
        """b, distance of the rear axle behind the mass centre, m."""
        return self.wheelbase * self.front.body_mass / self.body_mass

    @property
    def pitch_inertia(self):
        """J = m k^2, kg m2."""
        return self.body_mass * self.gyration**2

    @property
    def dynamic_index(self):
        """k^2 / (a b): 1 where neither end feels the other, below 1 where the body turns easily."""
        return self.gyration**2 / (self.front_arm * self.rear_arm)

    def changed(self, **values):
        """A copy with some fields changed and checked."""
        return replace(self, **values)

    def decoupled(self):
        """The same machine with its mass spread so that k^2 = a b."""
        return replace(self, gyration=math.sqrt(self.front_arm * self.rear_arm))

    def warning(self, speed):
        """Time in s from a bump under the front wheel to the same bump under the rear: L / v, speed in m/s."""
        return self.wheelbase / in_range("HalfCar", "speed", speed, "m/s", 0.05, 100.0)


def _front(vehicle, damping, **values):
    """The front of a machine whose rear is `vehicle`: the same damper with all its areas smaller, so that pressures and
    the shape of the curves stay, and forces and what yields shrink alike."""
    share = damping / vehicle.damping
    return vehicle.changed(
        name=f"{vehicle.name}, front", damping=damping, pedal_force=0.0, open_curve=vehicle.open_curve.scaled(share),
        lockout_curve=vehicle.lockout_curve.scaled(share), damper_stiffness=share * vehicle.damper_stiffness, **values,
    )  # fmt: skip


def _car(key, name, damping, wheelbase, gyration, **front):
    return HalfCar(name, _front(MACHINES[key], damping, **front), MACHINES[key], wheelbase, gyration)


# The rear of each two-wheeler is the course's machine; of the four-wheeled carrier, one side stands for both.
HALF_CARS = {
    "bike": _car("bike", "trail bike", 300.0, 1.2, 0.47, body_mass=40.0, wheel_mass=2.8, spring_rate=7500.0),
    "motorcycle": _car(
        "motorcycle", "rescue motorcycle", 750.0, 1.48, 0.55, body_mass=100.0, wheel_mass=15.0, spring_rate=10_000.0
    ),
    "carrier": _car("carrier", "stretcher carrier, one side", 750.0, 1.6, 0.7, body_mass=110.0, spring_rate=13_500.0),
}


def two_wheels(vehicle):
    """The `HalfCar` of which `vehicle` is the rear, as `ride` takes it: of bike, motorcycle or carrier.

    A changed machine is the rear; `.changed(wheelbase=1.3)` of what is returned changes the rest. Raises ValueError.
    """
    for car in HALF_CARS.values():
        if car.rear.name == getattr(vehicle, "name", ""):
            return replace(car, rear=vehicle)
    names = ", ".join(car.rear.name for car in HALF_CARS.values())
    raise ValueError(f"two_wheels: the machine is {getattr(vehicle, 'name', vehicle)!r}; allowed are {names}.")
