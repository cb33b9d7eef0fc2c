"""When a controller knows and when its valve moves: every controlled simulation takes a `Timing`."""

import math
from dataclasses import dataclass, replace

from helpers.models.quantities import Checked, quantity


@dataclass(frozen=True)
class Timing(Checked):
    """The chain from motion to valve: sensor filter, sampling, computing, bus, valve.

    A valve setting is a share of the way from the open to the lockout force, so dead time and lag of the valve count on
    force; `response` turns what is known in lift into them.
    """

    sample_rate: float = quantity("samples a second; inf samples at every step", "Hz", 1.0, math.inf, default=1000.0)
    sensor_filter: float = quantity(
        "cut-off of the first-order sensor filter; inf is none", "Hz", 0.5, math.inf, default=math.inf
    )
    compute: float = quantity("from sample to decision", "s", 0.0, 1.0, default=0.0)
    bus: float = quantity("from decision to valve driver", "s", 0.0, 1.0, default=0.0)
    jitter: float = quantity("largest extra delay, drawn evenly from 0 up", "s", 0.0, 1.0, default=0.0)
    valve_dead_time: float = quantity("from command to first motion", "s", 0.0, 1.0, default=0.0)
    valve_time_constant: float = quantity("first-order lag of the valve or actuator", "s", 0.0, 1.0, default=0.0)

    @classmethod
    def ideal(cls):
        """No wait anywhere: the controller knows and the valve moves at every step of the simulation."""
        return cls(sample_rate=math.inf)

    def changed(self, **values):
        """The same chain with other values, as in `real_chain.changed(sample_rate=100)`."""
        return replace(self, **values)

    @property
    def delay(self):
        """Fixed part of the delay from sample to first valve motion, s."""
        return self.compute + self.bus + self.valve_dead_time

    def in_steps(self, longest):
        """Fit the chain to time steps no longer than `longest` s; see `Steps`.

        The step divides the sample period exactly; delay and jitter are rounded to whole steps.
        """
        every = 1 if math.isinf(self.sample_rate) else math.ceil(1.0 / (self.sample_rate * longest) - 1e-9)
        step = longest if math.isinf(self.sample_rate) else 1.0 / (self.sample_rate * every)
        if self.valve_time_constant > 0.0:
            half, full = (math.exp(-share * step / self.valve_time_constant) for share in (0.5, 1.0))
        else:
            half = full = 0.0
        smoothing = 0.0 if math.isinf(self.sensor_filter) else math.exp(-2.0 * math.pi * self.sensor_filter * step)
        return Steps(step, every, round(self.delay / step), round(self.jitter / step), smoothing, half, full)


@dataclass(frozen=True)
class Steps:
    """A `Timing` in whole time steps.

    step: s. every, delay, jitter: steps. smoothing: share of the old value that the sensor filter keeps in a step.
    valve_half, valve_full: share of the distance to the command that is left after half a step and a whole one.
    """

    step: float
    every: int
    delay: int
    jitter: int
    smoothing: float
    valve_half: float
    valve_full: float
