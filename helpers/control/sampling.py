"""What sampling does to a signal and to a loop: folding, filtering, holding, waiting.

Astrom and Wittenmark, Computer-Controlled Systems; Franklin, Powell and Workman, Digital Control of Dynamic Systems.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import in_range


def alias(frequency, rate):
    """Frequency in Hz, 0 to rate / 2, as which a line at `frequency` Hz appears when sampled at `rate` Hz."""
    frequency = np.asarray(frequency, float)
    return np.abs(frequency - rate * np.round(frequency / rate))


def butterworth_gain(frequency, cutoff, order):
    """Share of a line's amplitude that a Butterworth low-pass filter lets through; frequencies in Hz."""
    return (1.0 + (np.asarray(frequency, float) / cutoff) ** (2 * order)) ** -0.5


def butterworth_response(frequency, cutoff, order):
    """The filter's complex response: its poles lie evenly on the left half of a circle."""
    s = 1j * np.asarray(frequency, float) / cutoff
    angles = math.pi * (2.0 * np.arange(1, order + 1) + order - 1.0) / (2.0 * order)
    return 1.0 / np.prod(s[..., None] - np.exp(1j * angles), axis=-1)


def butterworth_delay(cutoff, order):
    """Delay of slow signals in s: 1 / (2 pi cutoff sin(pi / 2 order)), the sum of its poles' shares."""
    return 0.0 if math.isinf(cutoff) else 1.0 / (2.0 * math.pi * cutoff * math.sin(math.pi / (2.0 * order)))


def cutoff_for(rate, band, rejection, order):
    """Cut-off in Hz with which what would fold into 0 to `band` Hz is at most `rejection` of its amplitude.

    The lowest frequency that folds into the band is `rate` - `band`; a filter weakens all above it further.
    """
    in_range("Anti-alias filter", "rejection", rejection, "", 1e-6, 0.999)
    in_range("Anti-alias filter", "band", band, "Hz", 0.0, 0.499 * rate)
    return (rate - band) / (rejection**-2 - 1.0) ** (0.5 / order)


def hold_response(frequency, rate):
    """Complex response of the zero-order hold: it shrinks like sin(x) / x and lags by half a period."""
    share = np.asarray(frequency, float) / rate
    return np.sinc(share) * np.exp(-1j * math.pi * share)


def sampled(a, b, period, delay=0.0):
    """The plant x' = A x + b u between samples, u held for `period` s and `delay` s late: (Phi, Gamma).

    The state is x and the inputs under way, oldest first; Gamma belongs to the input chosen at the sample.
    a: shape (n, n). b: shape (n,). Astrom and Wittenmark, section on systems with delay.
    """
    from scipy.linalg import expm

    a, b = np.atleast_2d(np.asarray(a, float)), np.asarray(b, float).ravel()
    n = b.size
    whole, rest = divmod(delay, period)
    whole = int(whole)
    if math.isclose(rest, period, rel_tol=1e-9):
        whole, rest = whole + 1, 0.0

    def moved(time):
        both = np.zeros((n + 1, n + 1))
        both[:n, :n], both[:n, n] = a * time, b * time
        out = expm(both)
        return out[:n, :n], out[:n, n]

    # In a period the oldest input under way acts for `rest`, then the next one for what is left.
    (phi_late, gamma_late), (phi_left, gamma_left) = moved(rest), moved(period - rest)
    waiting = whole + (rest > 0.0)
    phi, gamma = np.zeros((n + waiting, n + waiting)), np.zeros(n + waiting)
    inputs = np.zeros((n, waiting + 1))  # effect of each input under way, and last of the one chosen now
    if rest > 0.0:
        inputs[:, 0] = phi_left @ gamma_late
    inputs[:, 1 if rest > 0.0 else 0] += gamma_left
    phi[:n, :n], phi[:n, n:], gamma[:n] = phi_left @ phi_late, inputs[:, :-1], inputs[:, -1]
    if waiting:
        phi[n:-1, n + 1 :] = np.eye(waiting - 1)
        gamma[-1] = 1.0
    return phi, gamma


def growth(a, b, gains, period, delay=0.0):
    """Largest magnitude of an eigenvalue of the loop u = -gains x closed at samples: below 1 it dies out."""
    phi, gamma = sampled(a, b, period, delay)
    feedback = np.zeros(gamma.size)
    feedback[: np.size(gains)] = gains
    return float(np.abs(np.linalg.eigvals(phi - np.outer(gamma, feedback))).max())


def loop_response(a, b, gains):
    """The loop that u = -gains x closes, cut open at u, as a function of an array of frequencies in Hz."""
    a, b, gains = np.asarray(a, float), np.asarray(b, float).ravel(), np.asarray(gains, float)

    def response(frequency):
        s = 2j * math.pi * np.asarray(frequency, float)
        return np.linalg.solve(s[..., None, None] * np.eye(b.size) - a, b[:, None])[..., 0] @ gains

    return response


@dataclass(frozen=True)
class DelayMargin:
    """Where a loop's gain crosses 1, and what delay more it bears there."""

    crossover: float  # Hz
    phase_margin: float  # rad
    delay: float  # s


def delay_margin(loop, lowest=0.01, highest=1000.0, points=20_000):
    """The least delay that makes the loop oscillate: phase margin over crossover frequency, over all crossings.

    loop: complex response of an array of frequencies in Hz, the loop stable as it is. Delay is inf without a crossing.
    """
    from scipy.optimize import brentq

    frequency = np.geomspace(lowest, highest, points)
    excess = np.log(np.abs(loop(frequency)))
    margins = []
    for place in np.flatnonzero(np.sign(excess[1:]) != np.sign(excess[:-1])):
        at = brentq(lambda f: math.log(abs(loop(np.array([f]))[0])), frequency[place], frequency[place + 1], xtol=1e-12)
        phase = (math.pi + np.angle(loop(np.array([at]))[0])) % (2.0 * math.pi)
        margins.append(DelayMargin(float(at), float(phase), float(phase / (2.0 * math.pi * at))))
    return min(margins, key=lambda margin: margin.delay, default=DelayMargin(math.nan, math.nan, math.inf))
