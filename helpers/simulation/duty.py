"""What a lap of the Fell loop asks of a suspension and gives back: valve moves, actuator energy, heat, speed."""

from dataclasses import dataclass, replace

import numpy as np

from helpers.control.mode_switch import ModeSelector
from helpers.models.energy import HOUR, Duty
from helpers.models.pedalling import Pedalling
from helpers.models.quantities import in_range
from helpers.models.terrain import FellLoop, fell_loop
from helpers.models.vehicles import SECTIONS
from helpers.simulation.drag import dragged
from helpers.simulation.families import Suspension
from helpers.simulation.metrics import valve_activity
from helpers.simulation.runs import ride, ride_section, simulate
from helpers.simulation.weighting import weighted_rms

WHEELS = {"bike": 2, "motorcycle": 2, "carrier": 4}  # each counted as the one that carries the most


@dataclass(frozen=True)
class Lap:
    """One wheel over the loop or a part of it, in s and J. actuations: changed commands; strokes: of the whole valve.

    supplied, returned: by the actuator at its rod. heat: in damper and seals. dragged: what the suspension took out of
    forward motion.
    """

    seconds: float
    actuations: float
    strokes: float
    supplied: float
    returned: float
    heat: float
    dragged: float

    @property
    def actuations_per_hour(self):
        return HOUR * self.actuations / self.seconds

    def duty(self, electronics: Duty, wheels=1, with_drag=False):
        """The `Duty` of a machine that rides such laps without a break, on `wheels` wheels all as busy as this one.

        with_drag: count what the suspension takes out of forward motion as a draw, where the same battery drives.
        """
        return replace(
            electronics, wheels=wheels, actuation_rate=self.actuations / self.seconds,
            supplied=self.supplied / self.seconds, returned=self.returned / self.seconds,
            drag=self.dragged / self.seconds if with_drag else 0.0,
        )  # fmt: skip


def lap(suspension: Suspension, loop: FellLoop | None = None, sections=SECTIONS):
    """Ride the sections named of a loop (the course's unless given) and return the `Lap`.

    A normally open selector is told on each section whether the rider pedals there.
    """
    loop, total = loop or fell_loop(), np.zeros(7)
    for section in map(loop.section, sections):
        law = suspension.law
        if isinstance(law, ModeSelector):
            law = replace(law, pedalled=law.pedalled and section.pedalling)
        run = ride_section(suspension.vehicle, section, law, suspension.timing)
        total += (
            run.duration, run.commands, valve_activity(run).strokes * run.duration, run.actuator_supply,
            run.actuator_supply - run.actuator_work, run.damper_heat + run.friction_heat, dragged(run),
        )  # fmt: skip
    return Lap(*(float(value) for value in total))


def actuations_per_hour(suspension, seeds, sections=SECTIONS):
    """Moves of one wheel's valve in an hour of riding, shape (n,), on the loop drawn from each of `seeds`."""
    return np.array([lap(suspension, fell_loop(seed), sections).actuations_per_hour for seed in seeds])


def pedalling_loss(vehicle, law=None, pedalling=None, timing=None):
    """Mean power in W that damper and seals of the rear wheel take from the rider's legs on smooth ground.

    law: the open valve unless given. Counted over whole strokes, once the start has died out.
    """
    pedalling = pedalling or Pedalling(force=vehicle.pedal_force)

    def heat(strokes):
        run = simulate(vehicle, np.zeros_like, strokes / pedalling.strokes, law, timing, pedalling.push)
        return run.damper_heat + run.friction_heat

    return (heat(48) - heat(16)) * pedalling.strokes / 32.0


def equal_vibration_speed(suspension, section, limit, most=3.0):
    """The speed in m/s at which a suspension first shakes its rider by `limit` in m/s2, weighted by Wk.

    Ridden from the vehicle's own speed on the section upwards in steps of 5 %, up to `most` times that; the last two
    are joined by a line. Its own speed where that shakes more already.
    """
    own, before = suspension.vehicle.speed(section.name), None
    for factor in np.arange(1.0, in_range("equal_vibration_speed", "most", most, "", 1.0, 10.0) + 1e-9, 0.05):
        run = ride(suspension.vehicle, section.profile, own * factor, suspension.law, suspension.timing)
        felt = weighted_rms(run.body_acceleration, run.rate, "Wk")
        if felt >= limit:
            return own * (float(np.interp(limit, (before, felt), (factor - 0.05, factor))) if before else factor)
        before = felt
    return own * factor
