"""The rider's push: pedalling loads the body at twice the cadence, once for each leg.

Crank torque follows |sin| of the crank's angle from dead centre, the trade's and textbooks' first picture of two legs.
Its Fourier series is 2/pi - 4/pi sum cos(2 k angle) / (4 k^2 - 1): mean 2/pi of the peak, and a fundamental at twice
the cadence of two thirds of the mean.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from helpers.models.quantities import Checked, quantity


@dataclass(frozen=True)
class Pedalling(Checked):
    """A steady pedal stroke as seen by the rear suspension of a pedal bike."""

    cadence: float = quantity("turns of the cranks in a second", "1/s", 0.2, 3.0, default=80.0 / 60.0)
    force: float = quantity(
        "amplitude at twice the cadence of the vertical force on the body", "N", 0.0, 1000.0, default=110.0
    )
    ripple: float = quantity("share of the sharp dead centres of |sin|; 0: a pure sine", "", 0.0, 1.0, default=0.0)

    @property
    def strokes(self):
        """Pushes of the legs in a second, Hz."""
        return 2.0 * self.cadence

    def wave(self, time):
        """The stroke about its mean at `time` in s, its part at twice the cadence of amplitude 1; array in and out."""
        phase = 2.0 * math.pi * 2.0 * self.cadence * np.asarray(time)
        sine = np.sin(phase)
        if self.ripple == 0.0:
            return sine
        # |sin| of the crank's angle less its mean 2/pi, over the fundamental's amplitude 4/(3 pi).
        strokes = (np.abs(np.sin(0.5 * phase + 0.25 * math.pi)) - 2.0 / math.pi) * (0.75 * math.pi)
        return sine + self.ripple * (strokes - sine)

    def push(self, time):
        """Force on the body in N (up positive) at `time` in s; array in, array of the same shape out."""
        return -self.force * self.wave(time)

    def torque_over_mean(self, time):
        """Crank torque over its mean at `time` in s: between dead centres pi/2 with the whole ripple."""
        return 1.0 + 2.0 / 3.0 * self.wave(time)

    def harmonic(self, k):
        """Amplitude in N of the force's part at k times twice the cadence, signed against k = 1 (k from 1)."""
        share = 1.0 if k == 1 else self.ripple * (-1.0) ** (k + 1) * 3.0 / (4.0 * k**2 - 1.0)
        return self.force * share


@lru_cache
def wheel_over_push():
    """Wheel acceleration over a force on the body, on smooth ground: a quotient of polynomials in s (sympy), 1/kg."""
    import sympy as sp

    from helpers.models.quarter_car import PASSIVE, Z_r, Z_s, Z_u, equations_of_motion, f, laplace, s

    motion, push = equations_of_motion(), sp.Symbol("P")
    body, wheel = (laplace(e).subs(laplace(f), PASSIVE).subs(Z_r, 0) for e in (motion.body, motion.wheel))
    answer = sp.solve([sp.Eq(body.lhs, body.rhs + push), wheel], (Z_s, Z_u), dict=True)[0]
    above, below = sp.fraction(sp.cancel(s**2 * answer[Z_u] / push))
    return sp.collect(sp.expand(above), s, sp.factor) / sp.collect(sp.expand(below), s, sp.factor)


def pedalled_wheel_acceleration(vehicle, damping=None, pedalling=None, harmonics=40):
    """Largest wheel acceleration in m/s2 that pedalling causes on smooth ground with a linear damper: closed form.

    damping: N s/m, the vehicle's own unless given; pedalling: of the vehicle's pedal force unless given. Friction,
    stops and the spring's progression are left out. The harmonics of the stroke are summed over one stroke.
    """
    from helpers.models.quarter_car import compiled, numbers, s

    pedalling = pedalling or Pedalling(force=vehicle.pedal_force)
    response = compiled(wheel_over_push(), s)
    values, turn = numbers(vehicle, damping), 2.0 * math.pi * np.linspace(0.0, 1.0, 2001)
    total = np.zeros(len(turn))
    for k in range(1, (harmonics if pedalling.ripple > 0.0 else 1) + 1):
        ratio = response(2j * math.pi * pedalling.strokes * k, *values)
        # The harmonics of |sin| are cosines of the crank's angle: of a phase that is zero when the push is greatest.
        total += pedalling.harmonic(k) * np.real(ratio * np.exp(1j * k * turn))
    return float(np.abs(total).max())
