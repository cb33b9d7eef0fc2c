"""A ride on two wheels as a page asks for it: what it was like above each wheel."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from helpers.control.front_sensed import FrontTells
from helpers.control.law import Law
from helpers.control.timing import Timing
from helpers.models.half_car import HalfCar
from helpers.models.vehicles import Vehicle
from helpers.simulation.metrics import vibration
from helpers.simulation.two_wheels import End, TwoWheelRun, ride_two


@dataclass(frozen=True, eq=False)
class EndRide:
    """A ride above one wheel: vibration and dose as of a `Ride`, peak in m/s2, locked in % of the time, and over time

    arrays of shape (n,) in SI units: time, travel, valve, body_acceleration, wheel_acceleration, road and more.
    """

    time: np.ndarray
    end: End
    vehicle: Vehicle

    @cached_property
    def _shaken(self):
        return vibration(self.body_acceleration, 1.0 / (self.time[1] - self.time[0]))

    vibration = property(lambda self: self._shaken[0])
    dose = property(lambda self: self._shaken[1])
    peak = property(lambda self: float(np.abs(self.end.body_acceleration).max()))
    locked = property(lambda self: 100.0 * float(np.mean(self.end.valve > 0.5)))

    def __getattr__(self, name):
        if name.startswith("_"):
            raise AttributeError(name)
        return getattr(self.end, name)


@dataclass(frozen=True, eq=False)
class TwoWheelRide:
    """A ride on two wheels: `front` and `rear` are an `EndRide` each; `run` has all that the stepper kept."""

    run: TwoWheelRun

    time = property(lambda self: self.run.time)
    front = property(lambda self: EndRide(self.run.time, self.run.front, self.run.car.front))
    rear = property(lambda self: EndRide(self.run.time, self.run.rear, self.run.car.rear))

    def __repr__(self):
        front, rear = self.front.vibration, self.rear.vibration
        return f"{self.run.car.name}: vibration {front:.2f} m/s² in front, {rear:.2f} m/s² behind"


def ride_on_two(car: HalfCar, ground, law, timing: Timing, log_step):
    """Ride a machine on two wheels over a stretch; law: for both ends, a pair, front first, or a `FrontTells`."""
    speed = ground.speed_of(car.rear)
    if isinstance(law, FrontTells):
        law = law.laws(car.warning(speed), timing.delay + timing.valve_time_constant)
    return TwoWheelRide(ride_two(car, ground.ground, speed, law, timing, log_step=log_step))


def allowed(law):
    """Whether `ride_on_two` takes it."""
    pair = law if isinstance(law, tuple) and len(law) == 2 else (law,)
    return isinstance(law, FrontTells) or all(isinstance(one, Law) for one in pair)
