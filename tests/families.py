"""The course's comparison: one vehicle on a plain damper and on the three electronic families, over the same ground."""

from dataclasses import dataclass

from helpers.control.law import Law
from helpers.control.laws import ActiveSkyhook, LinearSkyhook, Passive
from helpers.control.mode_switch import ModeSwitch
from helpers.control.timing import Timing
from helpers.models.dampers import DamperCurve, linear
from helpers.models.vehicles import Vehicle

# One chain of sensor, controller and valve for every family, so that only what the family can do differs.
FAST_CHAIN = Timing(sample_rate=1000.0, compute=1e-3, bus=1e-3, valve_dead_time=1e-3, valve_time_constant=3e-3)

SKYHOOK = 2.0  # times the plain damper's coefficient, the same for both laws: near the least vibration of the damper's


@dataclass(frozen=True)
class Suspension:
    """A vehicle with the law and timing of its suspension."""

    name: str
    vehicle: Vehicle
    law: Law
    timing: Timing


def plain(vehicle, damping=None):
    """The vehicle on an ordinary linear damper of `damping` in N s/m, or its own."""
    return Suspension("plain damper", vehicle.plain(damping), Passive(), Timing.ideal())


def soft_valve(vehicle):
    """The controllable damper left open, no electronics: what the two skyhook suspensions have without their law."""
    return Suspension("soft valve alone", vehicle, Passive(0.0), Timing.ideal())


def active(vehicle, coefficient=None, timing=FAST_CHAIN):
    """An actuator with a skyhook law of `coefficient` in N s/m (twice the damper's own) beside the open valve."""
    law = ActiveSkyhook(SKYHOOK * vehicle.damping if coefficient is None else coefficient)
    return Suspension("active", vehicle, law, timing)


def semi_active(vehicle, coefficient=None, timing=FAST_CHAIN):
    """A fast controllable damper that imitates a skyhook of `coefficient` in N s/m (twice the damper's own)."""
    law = LinearSkyhook(SKYHOOK * vehicle.damping if coefficient is None else coefficient)
    return Suspension("semi-active", vehicle, law, timing)


def mode_switching(vehicle, law=None, timing=FAST_CHAIN):
    """Two fixed settings, the plain damper (open) and lockout, chosen by sensed bumps; locked at rest by default."""
    open_curve: DamperCurve = linear(vehicle.damping)
    return Suspension("mode switching", vehicle.changed(open_curve=open_curve), law or ModeSwitch(), timing)
