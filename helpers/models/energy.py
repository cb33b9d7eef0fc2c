"""The energy budget of an electronic suspension: what it draws, how long a charge lasts, what its mass costs uphill.

What an actuation and a held valve take are arguments: a valve's own model knows them. How often a valve moves and what
an actuator puts in come from rides (`helpers.simulation.specification`).
"""

from dataclasses import dataclass

from helpers.models.cells import Pack
from helpers.models.quantities import Checked, in_range, quantity
from helpers.models.vehicles import GRAVITY

HOUR = 3600.0  # s


@dataclass(frozen=True)
class Duty(Checked):
    """What the electronics of a whole machine draw while it is ridden; per wheel where it says so."""

    wheels: float = quantity("wheels with a controlled damper", "", 1.0, 8.0, default=1.0)
    sleep: float = quantity("draw that never stops, ridden or not", "W", 0.0, 100.0, default=2e-4)
    controller: float = quantity("computer, ridden", "W", 0.0, 100.0, default=0.015)
    sensor: float = quantity("sensors of a wheel, ridden", "W", 0.0, 100.0, default=0.003)
    per_actuation: float = quantity("energy of one move of a valve", "J", 0.0, 1000.0, symbol="E_1", default=0.1)
    actuation_rate: float = quantity("moves of a wheel's valve", "1/s", 0.0, 1e5, symbol="n", default=0.0)
    holding: float = quantity("draw of a held valve, or of windings", "W", 0.0, 1000.0, symbol="P_h", default=0.0)
    holding_share: float = quantity("share of the ride that it is held", "", 0.0, 1.0, default=1.0)
    supplied: float = quantity("mean that a wheel's actuator puts in, at its rod", "W", 0.0, 1e5, default=0.0)
    returned: float = quantity("mean that it takes out", "W", 0.0, 1e5, default=0.0)
    efficiency: float = quantity("of the actuator's drive, either way", "", 0.05, 1.0, default=0.6)
    reuse: float = quantity("share of the returns that the drive stores", "", 0.0, 1.0, default=0.0)

    def parts(self):
        """Mean draw in W by name, the whole machine, ridden; returns count as negative."""
        drive = self.supplied / self.efficiency - self.reuse * self.efficiency * self.returned
        return {
            "sleep": self.sleep,
            "controller": self.controller,
            "sensors": self.wheels * self.sensor,
            "actuations": self.wheels * self.per_actuation * self.actuation_rate,
            "holding": self.wheels * self.holding * self.holding_share,
            "actuators": self.wheels * drive,
        }

    @property
    def power(self):
        """Mean draw while ridden, W; the same number is Wh per hour."""
        return sum(self.parts().values())


# Electronics of each family but for what a ride and a valve's model tell; invented for the course.
ELECTRONICS = {
    "mode_switching": Duty(),
    "semi_active": Duty(sleep=1e-3, controller=0.3, sensor=0.02, per_actuation=0.0, holding=2.0),
    "active": Duty(sleep=1e-3, controller=1.0, sensor=0.05, per_actuation=0.0),
}


def hours_per_charge(pack: Pack, duty: Duty, **state):
    """Hours of riding without a break from one charge; state: temperature, cycles, years as for `Cell.share_left`.

    Raises ValueError for a cell over its rating, in temperature or by the duty's mean draw.
    """
    if not duty.power > 0.0:
        raise ValueError(f"Duty: power is {duty.power:g} W on average; allowed is more than 0 W for a charge to end.")
    pack.current(duty.power)
    return pack.usable(**state) / (duty.power + pack.leak) / HOUR


def climb_seconds(mass, height, rider_power):
    """Seconds that `mass` in kg adds to a climb of `height` m at a rider's steady power in W: m g h / P.

    Rolling resistance would add to it, air drag, which falls with the speed, would take from it.
    """
    mass = in_range("climb_seconds", "mass", mass, "kg", 0.0, 1000.0)
    height = in_range("climb_seconds", "height", height, "m", 0.0, 10_000.0)
    return mass * GRAVITY * height / in_range("climb_seconds", "rider_power", rider_power, "W", 1.0, 2000.0)
