"""Suspension drag: what a suspension takes out of forward motion, and where it stays.

At constant speed the ground does work on a wheel only as far as its path rises and falls: load times rate of rise.
Forward motion pays for it. It turns up as heat in damper, seals and tyre less what an actuator puts in, as a change of
what is stored, and as the weight that was carried up, which a level mean ground does not ask for.
"""

from dataclasses import dataclass

from helpers.models.quantities import in_range


@dataclass(frozen=True)
class Drag:
    """Of one wheel, mean over a ride, W. power: out of forward motion, the climb not counted.

    damper, seals, tyre: what turned to heat there. actuator: what it put in, net. A rider who pedals pushes on the body
    as well: what legs and forward motion give together is `taken`, but for a change of what is stored.
    """

    power: float
    damper: float
    seals: float
    tyre: float
    actuator: float

    @property
    def taken(self):
        """Heat less the actuator's work, W: the same as `power` where nobody pedals and the ride ends as it began."""
        return self.damper + self.seals + self.tyre - self.actuator

    def force(self, speed):
        """The same as a force against the motion, N, at a travelling speed in m/s."""
        return self.power / in_range("Drag", "speed", speed, "m/s", 0.05, 100.0)


def dragged(run):
    """Energy in J that a `Run` took out of forward motion, beyond the weight that it carried up."""
    return run.ground_work - run.vehicle.static_load * float(run.road[-1] - run.road[0])


def drag(run):
    """The `Drag` of a `Run`."""
    joules = dragged(run), run.damper_heat, run.friction_heat, run.tyre_heat, run.actuator_work
    return Drag(*(energy / run.duration for energy in joules))
