"""Vibration by two numbers, rms and vibration dose; when ISO 2631-1 asks for the second; a person who lies.

Wk, Wd and Wj are in `weighting`. The dose grows with the fourth power of the acceleration, so that it hears the shocks
that an rms averages away.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.compiled import njit
from helpers.models.quantities import in_range
from helpers.simulation.weighting import ExposureValues, maximum_transient, vibration_dose, weighting

# ISO 2631-1, 6.2 and 6.3.3 (from memory): beyond them the rms alone may mislead.
MOST_CREST, MOST_TRANSIENT, MOST_DOSE = 9.0, 1.5, 1.75  # peak, MTVV, VDV T^(-1/4), each over the rms
WHOLE_BODY_DOSE = ExposureValues(action=9.1, limit=21.0)  # m/s^1.75 a day, Directive 2002/44/EC, article 3
LYING = {"vertical": "Wk", "horizontal": "Wd", "head": "Wj"}
"""Weighting of each axis of a person who lies on the back, by ISO 2631-1 for comfort (as reprinted), all by a factor 1.

Vertical is the person's x axis, measured under the pelvis; horizontal are the other two; head is vertical again, under
the head where no pillow lies between. So under the pelvis a lying person's vertical number is a seated one's.
"""


@njit(cache=True)
def highest_average(squares, kept):
    """Highest exponential average of `squares`, shape (n,), of which a step keeps the share `kept`."""
    mean = most = 0.0
    for square in squares:
        mean = kept * mean + (1.0 - kept) * square
        most = max(most, mean)
    return most


def exponential_transient(weighted, rate, time_constant=1.0):
    """Maximum transient vibration value, MTVV, in m/s2 by the exponential running average of ISO 2631-1, tau 1 s.

    The standard allows it beside the linear one of `weighting.maximum_transient`: meters call it slow. weighted: m/s2,
    shape (n,), taken as zero before its start; rate in Hz.
    """
    squares = np.square(np.asarray(weighted, dtype=float))
    return math.sqrt(highest_average(squares, math.exp(-1.0 / (rate * time_constant))))


@dataclass(frozen=True)
class Vibration:
    """A weighted acceleration in the numbers of ISO 2631-1.

    rms, peak: m/s2. dose: VDV, m/s^1.75. transient: MTVV by the linear running average over 1 s, m/s2. slow_transient:
    the same by the exponential one. duration: s.
    """

    rms: float
    dose: float
    peak: float
    transient: float
    slow_transient: float
    duration: float

    @classmethod
    def of(cls, acceleration, rate, name="Wk"):
        """Of an acceleration in m/s2, shape (n,), at `rate` in Hz, weighted by `name` of `weighting.WEIGHTINGS`."""
        weighted = weighting(name).filter(acceleration, rate)
        return cls(
            rms=float(np.sqrt(np.mean(np.square(weighted)))), dose=vibration_dose(weighted, rate),
            peak=float(np.abs(weighted).max()), transient=maximum_transient(weighted, rate),
            slow_transient=exponential_transient(weighted, rate), duration=len(weighted) / rate,
        )  # fmt: skip

    @property
    def crest_factor(self):
        """Peak over rms; 0 at rest."""
        return _ratio(self.peak, self.rms)

    @property
    def transient_ratio(self):
        """MTVV over rms."""
        return _ratio(self.transient, self.rms)

    @property
    def dose_ratio(self):
        """VDV over rms times the fourth root of the duration: 3^(1/4), 1.32, for Gaussian noise."""
        return _ratio(self.dose, self.rms * self.duration**0.25)

    @property
    def asked_for(self):
        """What ISO 2631-1 asks for beside the rms: 'MTVV', 'VDV', both or nothing, as a tuple.

        Above a crest factor of 9 either will do, so both are named; otherwise the one whose own ratio is passed.
        """
        shocks = self.crest_factor > MOST_CREST
        passed = {"MTVV": self.transient_ratio > MOST_TRANSIENT, "VDV": self.dose_ratio > MOST_DOSE}
        return tuple(name for name, beyond in passed.items() if shocks or beyond)


def _ratio(one, other):
    return one / other if other > 0.0 else 0.0


def lying(vertical, horizontal=None, head=None, *, rate):
    """The `Vibration`s of a lying person by axis, those given: accelerations in m/s2, shape (n,), at `rate` in Hz."""
    given = {"vertical": vertical, "horizontal": horizontal, "head": head}
    return {axis: Vibration.of(a, rate, LYING[axis]) for axis, a in given.items() if a is not None}


def estimated_dose(rms, duration):
    """Estimated vibration dose, eVDV = 1.4 a T^(1/4), in m/s^1.75: weighted rms in m/s2 over `duration` in s.

    BS 6841 and BS 6472 (as reprinted), for a crest factor of no more than about 6. It is 6 % above Gaussian noise's.
    """
    return 1.4 * rms * np.asarray(duration, dtype=float) ** 0.25


def dose_over(dose, measured, duration):
    """Dose in m/s^1.75 after `duration` s of what gave `dose` in `measured` s: the fourth root of the time tells."""
    measured = in_range("dose_over", "measured", measured, "s", 1e-6, 1e9)
    return dose * (np.asarray(duration, dtype=float) / measured) ** 0.25


def summed_dose(doses):
    """Dose in m/s^1.75 of several spells one after the other, their doses along the last axis."""
    return np.sum(np.asarray(doses, dtype=float) ** 4, axis=-1) ** 0.25


def calmer(rms, dose):
    """One sentence on which of several is calmest by rms and which by dose.

    rms: weighted, m/s2, by name; dose: VDV, m/s^1.75, by the same names.
    """
    if len(rms) < 2 or set(rms) != set(dose):
        raise ValueError(f"calmer: rms has {', '.join(rms)}, dose {', '.join(dose)}; allowed are the same two or more.")
    first, other = min(rms, key=rms.get), min(dose, key=dose.get)
    if first == other:
        return f"By rms ({rms[first]:.3g} m/s²) and by dose ({dose[first]:.3g} m/s^1.75) {first} is calmest."
    return (
        f"Rms and dose disagree: by rms {first} is calmest ({rms[first]:.3g} against {rms[other]:.3g} m/s²), "
        f"by dose {other} ({dose[other]:.3g} against {dose[first]:.3g} m/s^1.75)."
    )
