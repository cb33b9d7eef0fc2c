"""Vibration as people feel it: frequency weightings, running values, comfort words and daily exposure.

Wk (vertical, seated or lying), Wd (horizontal) and Wj (vertical, under the head of a lying person) of ISO 2631-1, Wh
(hand and arm) of ISO 5349-1, by the filter parameters of ISO 8041 (as reprinted).
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from helpers.models.quantities import in_range

WORKING_DAY = 8 * 3600.0  # s, reference duration of A(8)


@dataclass(frozen=True)
class Weighting:
    """A frequency weighting: band limits, acceleration-velocity transition and, for Wk and Wj, an upward step.

    Frequencies in Hz; a transition at inf is none. The transfer function is the product of the four terms of ISO 8041.
    """

    name: str
    high_pass: float  # f1, with Q1 = 1/sqrt 2
    low_pass: float  # f2, with Q2 = 1/sqrt 2
    transition: float  # f3 = f4
    transition_q: float  # Q4
    step: tuple | None = None  # (f5, Q5, f6, Q6)

    def response(self, frequency):
        """Complex weighting factor at `frequency` in Hz, a number or an array; its size is the factor in tables."""
        s = 1j * np.asarray(frequency, dtype=float)  # frequencies in Hz throughout: the factors 2 pi cancel
        high = s**2 / (s**2 + math.sqrt(2) * self.high_pass * s + self.high_pass**2)
        low = 1 / _quadratic(s, self.low_pass, math.sqrt(0.5))
        transition = (1 + s / self.transition) / _quadratic(s, self.transition, self.transition_q)
        if self.step is None:
            return high * low * transition
        f5, q5, f6, q6 = self.step
        return high * low * transition * _quadratic(s, f5, q5) / _quadratic(s, f6, q6) * (f5 / f6) ** 2

    def filter(self, signal, rate):
        """The weighted signal, sampled at `rate` in Hz along the last axis; it is taken as zero before its start.

        Done in the frequency domain, padded until the high pass has died away: exact to rounding up to half the rate
        for a signal sampled without aliasing. (The bilinear transform at 1 kHz would make Wk 7 % low at 100 Hz.)
        """
        signal = np.asarray(signal, dtype=float)
        rate = in_range("weighting", "sample rate", rate, "Hz", 4 * self.high_pass, 1e7)
        count = signal.shape[-1]
        # exp(-2 pi f1 t/sqrt 2) is below 1e-15 after eight periods of the high pass.
        padded = 1 << math.ceil(math.log2(max(count + 8 * rate / self.high_pass, 2)))
        return np.fft.irfft(np.fft.rfft(signal, padded) * _factors(self, padded, rate), padded)[..., :count]


@lru_cache(16)
def _factors(told, count, rate):
    """Factors of a spectrum of `count` points, kept: most rides have a few lengths."""
    return told.response(np.fft.rfftfreq(count, 1 / rate))


def _quadratic(s, frequency, q):
    return 1 + s / (q * frequency) + (s / frequency) ** 2


WEIGHTINGS = {
    "Wk": Weighting("Wk", 0.4, 100.0, 12.5, 0.63, (2.37, 0.91, 3.35, 0.91)),
    "Wd": Weighting("Wd", 0.4, 100.0, 2.0, 0.63),
    "Wh": Weighting("Wh", 10**0.8, 10**3.1, 100 / (2 * math.pi), 0.64),
    "Wj": Weighting("Wj", 0.4, 100.0, math.inf, 1.0, (3.75, 0.91, 5.32, 0.91)),
}


def weighting(name):
    """The weighting called 'Wk', 'Wd', 'Wh' or 'Wj'."""
    if name not in WEIGHTINGS:
        raise ValueError(f"weighting: name is {name!r}; allowed are {', '.join(WEIGHTINGS)}.")
    return WEIGHTINGS[name]


def weighted_rms(acceleration, rate, name):
    """Weighted root-mean-square acceleration in m/s2 of a record in m/s2 sampled at `rate` in Hz."""
    return float(np.sqrt(np.mean(np.square(weighting(name).filter(acceleration, rate)))))


def running_rms(weighted, rate, window=1.0):
    """Root mean square over each full window of `window` s (linear average), shape (n - window x rate + 1,).

    A record shorter than the window gives its one overall value.
    """
    squares = np.square(np.asarray(weighted, dtype=float))
    width = min(max(round(window * rate), 1), len(squares))
    total = np.concatenate([[0.0], np.cumsum(squares)])
    return np.sqrt(np.maximum(total[width:] - total[:-width], 0.0) / width)


def maximum_transient(weighted, rate):
    """Maximum transient vibration value, MTVV of ISO 2631-1, in m/s2: the highest running rms over 1 s."""
    return float(running_rms(weighted, rate).max())


def vibration_dose(weighted, rate):
    """Vibration dose value, VDV of ISO 2631-1, in m/s^1.75: the fourth root of the integral of the fourth power."""
    return float((np.sum(np.square(np.square(np.asarray(weighted, dtype=float)))) / rate) ** 0.25)


# Likely reactions in public transport, ISO 2631-1 Annex C (as reprinted), m/s2; the bands overlap. The first is "less
# than" and the last "greater than": their own figures stay out.
COMFORT = (
    (0.0, math.nextafter(0.315, 0.0), "not uncomfortable"),
    (0.315, 0.63, "a little uncomfortable"),
    (0.5, 1.0, "fairly uncomfortable"),
    (0.8, 1.6, "uncomfortable"),
    (1.25, 2.5, "very uncomfortable"),
    (math.nextafter(2.0, 3.0), math.inf, "extremely uncomfortable"),
)


def comfort_band(weighted_rms_value):
    """Every reaction of ISO 2631-1 Annex C whose band holds this weighted rms acceleration in m/s2, mildest first."""
    value = in_range("weighting", "weighted rms acceleration", weighted_rms_value, "m/s2", 0.0, 1e6)
    return tuple(words for low, high, words in COMFORT if low <= value <= high)


@dataclass(frozen=True)
class ExposureValues:
    """Daily exposure A(8) in m/s2 above which an employer must act, and which may not be passed."""

    action: float
    limit: float

    def verdict(self, exposure):
        """'below the action value', 'above the action value' or 'above the limit value' for A(8) in m/s2."""
        if exposure > self.limit:
            return "above the limit value"
        return "above the action value" if exposure > self.action else "below the action value"


# Directive 2002/44/EC of the European Union, article 3.
HAND_ARM = ExposureValues(action=2.5, limit=5.0)
WHOLE_BODY = ExposureValues(action=0.5, limit=1.15)


def daily_exposure(weighted_rms_value, duration):
    """Daily exposure A(8) in m/s2 of one or several spells: weighted rms in m/s2 and duration in s of each."""
    return math.sqrt(np.sum(np.square(weighted_rms_value) * np.asarray(duration)) / WORKING_DAY)


def time_until(exposure, weighted_rms_value):
    """Duration in s of a weighted rms acceleration in m/s2 after which A(8) reaches `exposure` in m/s2."""
    return WORKING_DAY * (exposure / weighted_rms_value) ** 2
