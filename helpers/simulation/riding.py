"""One ride as a page asks for it: a machine over a stretch of ground under a law, and the numbers it is judged by."""

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from helpers.control.law import Law
from helpers.control.laws import Passive
from helpers.control.timing import Timing
from helpers.models.half_car import HalfCar
from helpers.models.pedalling import Pedalling
from helpers.models.reach import reach
from helpers.models.vehicles import Vehicle
from helpers.simulation import drag, events, metrics, runs
from helpers.simulation.bumps import true_bumps
from helpers.simulation.riding_two import allowed, ride_on_two
from helpers.simulation.stretches import Stretch

# From sample to first motion 4 ms, then a lag: the chain that the course's dealers sell.
REAL_CHAIN = Timing(sample_rate=800.0, compute=1e-3, bus=0.5e-3, valve_dead_time=2.5e-3, valve_time_constant=2.5e-3)
# Name on a page: (unit, what it is). Percentages are for reading; all else is SI.
MEASURES = {
    "vibration": ("m/s²", "body acceleration as people feel it: rms, weighted by Wk of ISO 2631-1"),
    "dose": ("m/s¹·⁷⁵", "vibration dose of the same: the fourth root of summed fourth powers, so that shocks count"),
    "off_ground": ("%", "share of the time in which the wheel does not touch the ground"),
    "tyre_load_variation": ("%", "rms of the load on the ground about its static value, over that value"),
    "travel_used": ("%", "largest compression, of the travel there is"),
    "bob": ("mm", "amplitude of travel at the rhythm of the legs"),
    "heat": ("W", "mean power turned to heat in damper and seals"),
    "power_in": ("W", "mean power that an actuator puts in, where nothing that comes back is used again"),
    "power_back": ("W", "mean power that an actuator takes out of the suspension"),
    "power_peak": ("W", "largest power that an actuator puts in"),
    "commands": ("1/s", "changed commands to the valve in a second"),
    "strokes": ("1/s", "travel of the valve in full strokes in a second"),
    "drag": ("W", "power that the suspension takes out of forward motion"),
}


class RideError(ValueError):
    """The ride that was asked for cannot be made; one sentence, and notebooks show no traceback."""

    def _render_traceback_(self):
        return [str(self)]


@dataclass(frozen=True, eq=False)
class Ride:
    """What a ride was like. Numbers: the names of `MEASURES`; over time, arrays of shape (n,) in SI units:

    time, travel, damper_force, valve, body_acceleration, wheel_acceleration, body_velocity, wheel_velocity,
    suspension_velocity, actuator_force, contact_load. `run` has all that the stepper kept. `score` says how well the
    valve's openings met the bumps that are there: see `score?`.
    """

    vehicle: Vehicle
    ground: Stretch
    law: Law
    timing: Timing
    run: runs.Run

    @cached_property
    def _metrics(self):
        return metrics.metrics(self.run)

    @cached_property
    def _shaken(self):  # by itself: most rides are asked for nothing else
        return metrics.vibration(self.run.body_acceleration, self.run.rate)

    vibration = property(lambda self: self._shaken[0])
    dose = property(lambda self: self._shaken[1])
    off_ground = property(lambda self: 100.0 * self._metrics.airborne)
    tyre_load_variation = property(lambda self: 100.0 * self._metrics.load_variation)
    travel_used = property(lambda self: 100.0 * self._metrics.bump_share)
    bob = property(lambda self: 1000.0 * metrics.bob(self.run, Pedalling().strokes))
    heat = property(lambda self: self._metrics.heat)
    power_in = property(lambda self: self._metrics.actuator_supply)
    power_back = property(lambda self: self._metrics.actuator_supply - self._metrics.actuator_mean)
    power_peak = property(lambda self: metrics.power(self.run).peak)
    commands = property(lambda self: metrics.valve_activity(self.run).commands)
    strokes = property(lambda self: metrics.valve_activity(self.run).strokes)
    drag = property(lambda self: drag.drag(self.run).power)
    suspension_velocity = property(lambda self: self.run.body_velocity - self.run.wheel_velocity)

    @cached_property
    def score(self):
        return events.score(self.run, _bumps(self.ground.ground, self.vehicle, self.ground.speed_of(self.vehicle)))

    def __getattr__(self, name):
        if name.startswith("_"):
            raise AttributeError(name)
        try:
            return getattr(self.run, name)
        except AttributeError:
            known = ", ".join([*MEASURES, "time", "travel", "valve", "body_acceleration", "damper_force"])
            raise AttributeError(f"A ride has no {name!r}; it has {known} and more: see Ride?") from None

    def within(self, force):
        """Whether the damper, as it moved on this ride, could have given `force` in N, at each time."""
        return reach(self.vehicle, self.suspension_velocity).holds(np.asarray(force))

    def __repr__(self):
        parts = [f"{name.replace('_', ' ')} {said(name, getattr(self, name))}" for name in ("vibration", "dose")]
        parts += [f"off the ground {said('off_ground', self.off_ground)}",
                  f"travel used {said('travel_used', self.travel_used)}"]  # fmt: skip
        return f"{self.vehicle.name}, {self.ground.name}, {law_name(self.law)}: {', '.join(parts)}"

    _repr_markdown_ = __repr__


@lru_cache(64)
def _bumps(ground, vehicle, speed):
    return true_bumps(ground, vehicle, speed)


def said(name, value, digits=3):
    """A number of a ride for reading, with its unit: three significant digits, or of a percentage one decimal."""
    unit = MEASURES[name][0] if name in MEASURES else ""
    text = f"{value:.1f}" if unit == "%" else rounded(value, digits)
    return f"{text} {unit}".strip().replace("-", "−")


def rounded(value, digits=3):
    """A number to so many significant digits as text, without powers of ten between a thousandth and a million."""
    if value == 0.0:
        return "0"
    size = math.floor(math.log10(abs(float(f"{value:.{digits}g}"))))
    return f"{value:.{max(digits - 1 - size, 0)}f}" if -4 <= size < 6 else f"{value:.{digits}g}"


def shown(thing):
    """What somebody gave, for a sentence: as it is, or by its kind where that is long."""
    told = repr(thing)
    return told if len(told) <= 60 and "\n" not in told else f"something of type {type(thing).__name__}"


def law_name(law):
    """What a law is called in a sentence: its class in words, a learner's by the function's name."""
    if isinstance(law, Passive):
        return "open" if law.setting == 0.0 else "lockout" if law.setting == 1.0 else f"setting {law.setting:g}"
    words = getattr(law, "name", "") or "".join(" " + c.lower() if c.isupper() else c for c in type(law).__name__)
    return words.strip()


def ride(vehicle, ground, law=None, timing=None, log_step=runs.LOG_STEP):
    """Ride a machine over a stretch of ground; returns a `Ride`.

    vehicle: `bike`, `motorcycle`, `carrier`, one of `machine(...)`, or any of these `.changed(...)`.
    ground: a stretch, such as `loop.descent` or `step_ground(0.05)`. law: the valve stays open unless given; any law, a
    learner's own included. timing: the real chain from sensor to valve unless told otherwise or the law carries its
    own, as the best history does; `ideal` has no delay. log_step: s between the points over time.
    Of `two_wheels(bike)` a `TwoWheelRide`: law is then one for both ends, (front, rear), or a `FrontTells`.
    Raises RideError, one sentence.
    """
    if not isinstance(vehicle, Vehicle | HalfCar):
        raise RideError(f"ride: the first is {shown(vehicle)}; allowed is a machine, such as bike or machine(...).")
    if not isinstance(ground, Stretch):
        raise RideError(f"ride: ground is {shown(ground)}; allowed is a stretch, such as loop.descent.")
    law = law or Passive()
    timing = timing or getattr(law, "timing", REAL_CHAIN)
    whole = isinstance(vehicle, HalfCar)
    if not (allowed(law) if whole else isinstance(law, Law)):
        raise RideError(f"ride: law is {shown(law)}; allowed is a law, such as Skyhook(1000), or own_law(function).")
    if not isinstance(timing, Timing):
        raise RideError(f"ride: timing is {shown(timing)}; allowed is a Timing, such as real_chain or ideal.")
    if whole:
        return ride_on_two(vehicle, ground, law, timing, log_step)
    plain = vehicle.open_curve == vehicle.lockout_curve
    if plain and law.moves_valve:
        raise RideError(
            f"ride: {vehicle.name} has one damper curve, so {law_name(law)} would have no valve to move; allowed is a "
            "machine with an open and a lockout curve, or no law."
        )
    push = Pedalling(force=vehicle.pedal_force).push if ground.pedalling and vehicle.pedal_force else None
    run = runs.ride(vehicle, ground.ground, ground.speed_of(vehicle), law, timing, push, log_step=log_step)
    return Ride(vehicle, ground, law, timing, run)
