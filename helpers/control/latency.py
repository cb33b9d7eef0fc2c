"""The chain from an event to the valve, stage by stage: how old is what the valve acts on?

Each stage takes a time between a least and a most, every value in between equally likely and independent of the
other stages. A wait for the next sample is such a stage: an event falls anywhere between two samples.
"""

import itertools
import math
from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import Checked, in_range, quantity

LONGEST = 10.0  # s; the longest stage that is taken seriously


def butterworth_delay(cutoff, order):
    """Delay of slow signals in s: 1 / (2 pi cutoff sin(pi / 2 order)), the sum of its poles' shares; cutoff in Hz."""
    return 0.0 if math.isinf(cutoff) else 1.0 / (2.0 * math.pi * cutoff * math.sin(math.pi / (2.0 * order)))


@dataclass(frozen=True)
class Stage(Checked):
    """One stage of the chain: a name and the least and the most time that it takes, in s."""

    name: str
    least: float = quantity("least time of the stage", "s", 0.0, LONGEST)
    most: float = quantity("most time of the stage", "s", 0.0, LONGEST)

    def __post_init__(self):
        super().__post_init__()
        if self.most < self.least:
            raise ValueError(f"Stage {self.name}: most is {self.most:g} s; allowed is {self.least:g} s, its least, up.")

    @classmethod
    def fixed(cls, name, time):
        """A stage that always takes the same time, in s."""
        return cls(name, time, time)

    @property
    def mean(self):
        return 0.5 * (self.least + self.most)

    @property
    def width(self):
        return self.most - self.least


@dataclass(frozen=True)
class Chain:
    """Stages one after the other; times in s."""

    stages: tuple

    @classmethod
    def of(cls, timing, *, filter_order=1, share=0.5, valve=None):
        """The chain that a `Timing` stands for, up to the moment when a `share` of the change of force is there.

        The stepper's valve setting is the share of the way from the open to the lockout force, so that its lag counts
        on force: half of it by default, 63.2 % after the time constant. valve: s from the order to whatever share or
        lift is meant, such as `Response.force_63`, in place of the timing's own valve and `share`. filter_order: of a
        Butterworth sensor filter with the timing's cut-off; the stepper has the first order. Stages that take no time
        are left out.
        """
        share = in_range("Chain", "share", share, "", 0.0, 0.999)
        wait = 0.0 if math.isinf(timing.sample_rate) else 1.0 / timing.sample_rate
        stages = (
            Stage.fixed("filter", butterworth_delay(timing.sensor_filter, filter_order)),
            Stage("wait for a sample", 0.0, wait),
            Stage.fixed("compute", timing.compute),
            Stage.fixed("bus", timing.bus),
            Stage("jitter", 0.0, timing.jitter),
        )
        if valve is None:
            stages += (
                Stage.fixed("valve dead time", timing.valve_dead_time),
                Stage.fixed("valve motion", -timing.valve_time_constant * math.log(1.0 - share)),
            )
        else:
            stages += (Stage.fixed("valve", valve),)
        return cls(tuple(stage for stage in stages if stage.most > 0.0))

    @property
    def best(self):
        return sum(stage.least for stage in self.stages)

    @property
    def mean(self):
        return sum(stage.mean for stage in self.stages)

    @property
    def worst(self):
        return sum(stage.most for stage in self.stages)

    @property
    def deviation(self):
        """Standard deviation: variances of independent stages add, width^2 / 12 each."""
        return math.sqrt(sum(stage.width**2 for stage in self.stages) / 12.0)

    def share_within(self, time):
        """Probability that the whole chain takes `time` s or less: the sum of independent even distributions.

        F(t) = sum over subsets S of the uneven stages of (-1)^|S| (t - best - widths in S)+^k / (k! product of widths);
        Feller, An Introduction to Probability Theory 2, I.9, for widths that differ (from memory).
        """
        widths = [stage.width for stage in self.stages if stage.width > 0.0]
        rest = time - self.best
        if rest < 0.0:
            return 0.0
        if not widths or rest >= sum(widths):
            return 1.0
        total = 0.0
        for chosen in itertools.product((0, 1), repeat=len(widths)):
            left = rest - sum(width for width, taken in zip(widths, chosen, strict=True) if taken)
            total += (-1) ** sum(chosen) * max(left, 0.0) ** len(widths)
        return total / (math.factorial(len(widths)) * math.prod(widths))

    def drawn(self, events, seed):
        """Times that `events` events take, by drawing every stage: shape (events,), s."""
        draw = np.random.default_rng(seed)
        return sum((draw.uniform(stage.least, stage.most, events) for stage in self.stages), np.zeros(events))
