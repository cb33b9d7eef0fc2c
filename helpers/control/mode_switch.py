"""Mode switching: a controller that chooses among a few fixed settings of the damper by sensed events.

Within a setting the damper is an ordinary one. Every law here is one state machine, `selected`: a bump opens the valve,
quiet closes it, a motor takes its time from each setting to the next. A hand on a lever is a slow motor.
"""

import math
from dataclasses import dataclass

from helpers.control.law import MODE_SWITCH, Law
from helpers.models.compiled import njit
from helpers.models.quantities import quantity

SETTINGS = {"open": 0.0, "part_closed": 0.5, "lockout": 1.0}  # valve settings by name
UNTIL, OPENED, AWAY, ARRIVAL = range(4)  # places in a law's memory
BARELY = 1e-9  # s; rounding of times, so that a wait ends at the sample that it is due at


@njit(cache=True, error_model="numpy")
def selected(p, acceleration, memory, time):
    """Valve setting that the machine is in at one sample.

    p: threshold, hold, setting at rest, at the event, threshold while open, acceleration per further setting, settings
    between both ends, time per setting, and until when a normally open valve stays open (below 0: normally closed).
    acceleration: of the wheel, m/s2; time: s. memory: until when the valve is wanted open, by how many settings, how
    many it is away from rest, and when the next is reached (towards rest with a minus).
    """
    threshold, hold, rest, event, keep, grade, last, per_setting, first_quiet = (
        p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], p[8]
    )  # fmt: skip
    size = abs(acceleration)
    if size > threshold or (memory[OPENED] > 0.0 and size > keep):
        most = last if grade == 0.0 else min(1.0 + max((size - threshold) // grade, 0.0), last)
        memory[OPENED] = max(most, memory[OPENED])
        memory[UNTIL] = time + hold
    if time >= memory[UNTIL] - BARELY:
        memory[OPENED] = 0.0
    opened = last if time < first_quiet - BARELY else memory[OPENED]
    target = opened if first_quiet < 0.0 else last - opened
    if per_setting == 0.0:
        memory[AWAY] = target
    clock = time
    while True:
        if memory[ARRIVAL] != 0.0:  # a motor under way finishes its setting, whatever is wanted meanwhile
            if time < abs(memory[ARRIVAL]) - BARELY:
                break
            clock = abs(memory[ARRIVAL])
            memory[AWAY] += 1.0 if memory[ARRIVAL] > 0.0 else -1.0
            memory[ARRIVAL] = 0.0
        if memory[AWAY] == target:
            break
        memory[ARRIVAL] = clock + per_setting if target > memory[AWAY] else -(clock + per_setting)
    share = memory[AWAY] / last
    return (1.0 - share) * rest + share * event


def _threshold():
    return quantity(
        "wheel acceleration that counts as a bump", "m/s^2", 0.0, 5000.0, symbol=r"a_\mathrm{bump}", default=40.0
    )


def _count():
    return quantity("number of settings, both ends included", "", 2.0, 50.0, symbol="N", default=2.0)


@dataclass(frozen=True)
class ModeSwitch(Law):
    """A valve that rests in one setting and takes another for a hold time after the wheel was struck.

    With rest = 1 and event = 0 it is normally closed: firm unless a bump is sensed.
    """

    code = MODE_SWITCH
    threshold: float = _threshold()
    hold: float = quantity("time the event setting is kept after the last bump", "s", 0.0, 60.0, default=0.5)
    rest: float = quantity("valve setting at rest", "", 0.0, 1.0, default=1.0)
    event: float = quantity("valve setting after a bump", "", 0.0, 1.0, default=0.0)

    def numbers(self):
        return (self.threshold, self.hold, self.rest, self.event, self.threshold, 0.0, 1.0, 0.0, -1.0)

    @property
    def initial(self):
        return self.rest

    @property
    def levels(self):
        """The settings as valve values, from softest to firmest."""
        return _levels(self, 2.0)


@dataclass(frozen=True)
class ModeSelector(Law):
    """The whole machine: hysteresis, many settings, a motor that needs its time, and either state of rest.

    Normally closed (rest = 1) it starts firm. Normally open (rest = 0) it starts open, and is told to be firm only
    while the rider pedals and once no bump came for the hold time. Either opens on a bump. The motor passes through
    each setting on its way and finishes the one under way. The settings lie evenly from `soft` to `firm`.
    """

    code = MODE_SWITCH
    threshold: float = _threshold()
    hysteresis: float = quantity("how far below the threshold a bump ends", "m/s^2", 0.0, 5000.0, default=0.0)
    hold: float = quantity("time it stays open after the last bump", "s", 0.0, 60.0, symbol=r"t_h", default=0.5)
    rest: float = quantity("rest state: 0 normally open, 1 normally closed", "", 0.0, 1.0, default=1.0)
    soft: float = quantity("softest setting of the valve", "", 0.0, 1.0, default=0.0)
    firm: float = quantity("firmest setting of the valve", "", 0.0, 1.0, default=1.0)
    settings: float = _count()
    time_per_setting: float = quantity("time from one setting to the next", "s", 0.0, 10.0, symbol=r"t_m", default=0.0)
    grade: float = quantity(
        "wheel acceleration beyond the threshold that opens one setting more; 0: a bump opens all", "m/s^2", 0.0,
        5000.0, default=0.0,
    )  # fmt: skip
    pedalled: bool = True

    def __post_init__(self):
        super().__post_init__()
        if self.rest not in (0.0, 1.0):
            raise ValueError(f"ModeSelector: rest is {self.rest:g}; allowed are 0 (open) and 1 (closed).")
        _whole(self)

    @property
    def normally_open(self):
        return self.rest == 0.0

    @property
    def levels(self):
        """The settings as valve values, from softest to firmest."""
        return _levels(self, self.settings)

    def numbers(self):
        first_quiet = -1.0 if not self.normally_open else self.hold if self.pedalled else math.inf
        ends = (self.soft, self.firm) if self.normally_open else (self.firm, self.soft)
        keep = max(self.threshold - self.hysteresis, 0.0)
        return (
            self.threshold, self.hold, *ends, keep, self.grade, self.settings - 1.0, self.time_per_setting, first_quiet,
        )  # fmt: skip

    @property
    def initial(self):
        return self.soft if self.normally_open else self.firm


@dataclass(frozen=True)
class ManualLever(Law):
    """The rider changes from one setting to another by hand: the baseline of every automatic selector.

    The eye sees at time `at` that the ground changes; reaction and hand take theirs. A change counts in seconds; half
    a second while pedalling hardly matters (common practice, no source).
    """

    code = MODE_SWITCH
    first: float = quantity("valve setting before", "", 0.0, 1.0, default=1.0)
    then: float = quantity("valve setting after", "", 0.0, 1.0, default=0.0)
    at: float = quantity("when there is a reason to change", "s", 0.0, 100_000.0, default=0.0)
    reaction: float = quantity("from the reason to the hand's first motion", "s", 0.0, 60.0, default=0.5)
    hand: float = quantity("time of the hand from one setting to the next", "s", 0.0, 60.0, default=1.0)
    settings: float = _count()

    def __post_init__(self):
        super().__post_init__()
        _whole(self)

    def numbers(self):
        begins = self.at + self.reaction
        return (math.inf, 0.0, self.first, self.then, math.inf, 0.0, self.settings - 1.0, self.hand, begins)

    @property
    def initial(self):
        return self.first

    @property
    def levels(self):
        """The settings as valve values, from softest to firmest."""
        return _levels(self, self.settings)


def _levels(law, count):
    rest, event = law.numbers()[2:4]
    shares = (away / (count - 1.0) for away in range(int(count)))
    return tuple(sorted((1.0 - share) * rest + share * event for share in shares))


def _whole(law):
    if law.settings != int(law.settings):
        raise ValueError(f"{type(law).__name__}: settings is {law.settings:g}; allowed are whole numbers from 2 to 50.")


# Two sets of numbers for one machine, both invented for the course: quick and coarse, or slow and fine.
FAST_TWO_POSITION = ModeSelector(hysteresis=10.0, settings=2, time_per_setting=0.003)
SLOW_FINE = ModeSelector(hysteresis=10.0, hold=2.0, settings=7, time_per_setting=0.08, grade=10.0)
