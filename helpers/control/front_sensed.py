"""Valves that rest firm on two wheels, and what opens the rear: its own wheel, or in advance the front's."""

from dataclasses import dataclass, replace

from helpers.control.own_law import OwnLaw
from helpers.models.quantities import Checked, in_range, quantity

TOLD_BY = ("front", "rear", "either", "both at once")
SAMPLED = 1e-6  # s; of a wait that ends at a sample, so that rounding does not put it off to the next


@dataclass(frozen=True)
class FrontTells(Checked):
    """A law for both ends of a machine whose valves rest firm, to be ridden on `two_wheels(...)`.

    A bump is a wheel acceleration beyond the threshold. The front valve opens at once, as far as the chain lets it. The
    rear is `told_by` the "front", so that it has opened `lead` before the bump is due, a wheelbase over the speed as
    read after the front felt it; by the "rear" itself; by "either"; or by "both at once", which needs no speed. Each
    closes after the hold time from its last bump, and not before its suspension stands still.
    """

    threshold: float = quantity("wheel acceleration that counts as a bump", "m/s^2", 1.0, 1e4, default=20.0)
    hold: float = quantity("time open, from when it was last told to open", "s", 0.0, 10.0, symbol="t_h", default=0.1)
    still: float = quantity("speed of the suspension below which it may close", "m/s", 0.0, 100.0, default=0.05)
    lead: float = quantity("time open before the bump, as planned", "s", 0.0, 10.0, default=0.02)
    speed_error: float = quantity("speed as read over true speed, less 1", "", -0.9, 9.0, symbol="e", default=0.0)
    told_by: str = "front"

    def __post_init__(self):
        super().__post_init__()
        if self.told_by not in TOLD_BY:
            raise ValueError(f"FrontTells: told_by is {self.told_by!r}; allowed are {', '.join(TOLD_BY)}.")

    def changed(self, **values):
        """The same law with other values, as in `FrontTells().changed(hold=0.2)`."""
        return replace(self, **values)

    def wait(self, warning, latency):
        """Time in s from the front's bump to the rear's order; warning: wheelbase over true speed; both in s."""
        warning = in_range("FrontTells", "warning", warning, "s", 0.0, 1e3)
        if self.told_by == "both at once":
            return 0.0
        return max(warning / (1.0 + self.speed_error) - self.lead - latency, 0.0)

    def laws(self, warning, latency):
        """Both ends' laws for one ride, front first: what the front has felt passes from one to the other."""
        wait, felt = self.wait(warning, latency) - SAMPLED, []

        def front(seen, memory):
            bump = abs(seen.wheel_acceleration) > self.threshold
            if bump:
                felt.append(seen.time)
            return held(seen, memory, bump)

        def rear(seen, memory):
            bump = self.told_by in ("rear", "either") and abs(seen.wheel_acceleration) > self.threshold
            while self.told_by != "rear" and felt and felt[0] + wait <= seen.time:
                felt.pop(0)
                bump = True
            return held(seen, memory, bump)

        def held(seen, memory, bump):
            if bump:
                memory.open, memory.until = 1.0, seen.time + self.hold
            elif seen.time > memory.until - SAMPLED and abs(seen.suspension_velocity) < self.still:
                memory.open = 0.0
            return 1.0 - memory.open

        return OwnLaw(front, setting=1.0), OwnLaw(rear, setting=1.0)
