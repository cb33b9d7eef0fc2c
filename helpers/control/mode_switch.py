"""Mode switching: a controller that chooses among a few fixed settings of the damper by sensed events.

Within a setting the damper is an ordinary one. The event logic is compiled in `helpers.control.decision.decide`.
"""

from dataclasses import dataclass

from helpers.control.law import MODE_SWITCH, Law
from helpers.models.quantities import quantity


@dataclass(frozen=True)
class ModeSwitch(Law):
    """A valve that rests in one setting and takes another for a hold time after the wheel was struck.

    With rest = 1 and event = 0 it is normally closed: firm unless a bump is sensed.
    """

    code = MODE_SWITCH
    threshold: float = quantity(
        "wheel acceleration that counts as a bump", "m/s^2", 0.0, 5000.0, symbol=r"a_\mathrm{bump}", default=40.0
    )
    hold: float = quantity("time the event setting is kept after the last bump", "s", 0.0, 60.0, default=0.5)
    rest: float = quantity("valve setting at rest", "", 0.0, 1.0, default=1.0)
    event: float = quantity("valve setting after a bump", "", 0.0, 1.0, default=0.0)

    def numbers(self):
        return (self.threshold, self.hold, self.rest, self.event)

    @property
    def initial(self):
        return self.rest
