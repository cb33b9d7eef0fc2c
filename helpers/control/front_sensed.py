"""Valves that rest firm and open for a bump that a wheel has met; what the front met may open the rear in advance."""

import math
from dataclasses import dataclass

from helpers.models.quantities import Checked, in_range, quantity

SERVED_BY = ("front", "rear", "either")  # whose sensing opens the rear valve


@dataclass(frozen=True)
class FrontSensed(Checked):
    """A bump is a wheel acceleration beyond a threshold. The front valve opens as soon as it can, `latency` later.

    With the rear `served_by` "front" its valve is due to be open `lead` before the bump arrives, at a wheelbase over
    the estimated speed after the front sensed it, and never sooner than `latency` allows. By "rear", its own sensor
    opens it, as late as the front; by "either", whichever is first. Both valves begin to close `hold` after they
    were last due to open and take `closing` over it: a valve that shuts at once in mid-stroke jerks the wheel, and the
    jerk may count as a bump.
    """

    threshold: float = quantity("wheel acceleration that counts as a bump", "m/s^2", 1.0, 1e4, default=60.0)
    latency: float = quantity("time from sensing to a valve that has moved", "s", 0.0, 1.0, default=0.01)
    hold: float = quantity("time open, from when it was last due to open", "s", 0.001, 10.0, symbol="T_h", default=0.15)
    lead: float = quantity("time open before the bump, as planned", "s", 0.0, 1.0, default=0.02)
    speed_error: float = quantity("estimated over true speed, less 1", "", -0.9, 9.0, default=0.0)
    closing: float = quantity("time a valve takes from open to firm", "s", 0.0, 1.0, default=0.0)
    served_by: str = "front"

    def __post_init__(self):
        super().__post_init__()
        if self.served_by not in SERVED_BY:
            raise ValueError(f"FrontSensed: served_by is {self.served_by!r}; allowed are {', '.join(SERVED_BY)}.")

    def rear_wait(self, wheelbase, speed):
        """Time in s from the front's sensing (its own, if only that serves it) to the rear valve being open; m, m/s."""
        if self.served_by == "rear":
            return self.latency
        return max(self.latency, _warning(wheelbase, speed) / (1.0 + self.speed_error) - self.lead)

    def placement(self, wheelbase, speed):
        """The `Placement` of one opening of the rear valve, both wheels taking as long to sense the bump.

        Of "either", the opening by the front.
        """
        arrives = 0.0 if self.served_by == "rear" else _warning(wheelbase, speed)
        opens = self.rear_wait(wheelbase, speed)
        return Placement(arrives, arrives - opens, opens + self.hold - arrives)

    def errors_allowed(self, wheelbase, speed):
        """The `SpeedErrors` between which the rear valve is open when the bump arrives; `speed_error` has no part.

        None where no error would do: the warning is shorter than the latency. With a hold shorter than the lead the
        valve is in time only if the speed is read too low, and both are negative.
        """
        warning = _warning(wheelbase, speed)
        if self.served_by == "rear" or self.latency > warning:
            return None
        # Open at the earliest, the valve is still open when the bump comes: then no estimate is too fast.
        lasts = self.latency + self.hold >= warning or self.hold - self.lead >= warning
        fastest = math.inf if lasts else warning / (warning - (self.hold - self.lead)) - 1.0
        return SpeedErrors(warning / (warning + self.lead) - 1.0, fastest)


@dataclass(frozen=True)
class Placement:
    """When the rear valve is open, in s: the warning from sensing to the bump's arrival (0 without the front's help),
    the opening before the arrival and the closing after it, each negative if it misses.
    """

    warning: float
    opens_before: float
    closes_after: float

    @property
    def verdict(self):
        """'too late', 'too early' (closed again when the bump comes) or 'in time'."""
        if self.opens_before < 0.0:
            return "too late"
        return "too early" if self.closes_after < 0.0 else "in time"


@dataclass(frozen=True)
class SpeedErrors:
    """Estimated over true speed, less 1: below `lowest` the valve is too late, above `highest` too early."""

    lowest: float
    highest: float


def _warning(wheelbase, speed):
    return wheelbase / in_range("FrontSensed", "speed", speed, "m/s", 0.05, 100.0)
