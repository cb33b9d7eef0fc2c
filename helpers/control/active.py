"""Optimal feedback as a law, with preview of the road if asked, and what the straight-line model says of it.

Sources in `control.optimal`; preview: Bender 1968, Tomizuka 1976, Hac 1992.
"""

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from helpers.control.law import Law
from helpers.control.laws import StateFeedback
from helpers.control.optimal import (
    Weights,
    controlled_response,
    mean_squares,
    open_damping,
    positive_part,
    regulator,
)
from helpers.models.quantities import quantity
from helpers.models.terrain import roughness, white_velocity_intensity
from helpers.models.vehicles import Vehicle

_FINE = np.geomspace(2e-3, 2e4, 1200)  # Hz, summed over; the tyre's deflection falls as 1/f


@dataclass(frozen=True)
class OptimalFeedback(Law):
    """An actuator beside the open damper: the feedback of least mean cost for a machine, with preview if asked.

    The cost is E[acc^2 + travel x^2 + grip y^2]: a larger `grip` keeps the tyre's deflection y smaller, a larger
    `travel` the suspension's x. preview: s that the road is known ahead of the wheel. late: s by which that picture is
    out of date, which the controller does not know. `force_limit` in N. It knows the machine's motion as the chain
    tells it; `gains` are on travel, body velocity, tyre deflection and wheel velocity.
    """

    code = StateFeedback.code
    moves_valve = False
    vehicle: Vehicle
    grip: float = quantity("weight of tyre deflection", "1/s^4", 0.0, 1e9, symbol="q_t", default=30_000.0)
    travel: float = quantity("weight of travel", "1/s^4", 1e-3, 1e8, symbol="q_x", default=300.0)
    preview: float = quantity("time the road is known ahead", "s", 0.0, 5.0, symbol="T_p", default=0.0)
    late: float = quantity("age of the picture of the road", "s", 0.0, 5.0, default=0.0)
    force_limit: float = quantity("largest actuator force", "N", 0.0, math.inf, default=math.inf)

    @cached_property
    def design(self):
        """Its `Regulator`."""
        return regulator(self.vehicle, Weights(self.travel, self.grip))

    gains = property(lambda self: self.design.gains)

    def numbers(self):
        return self.design.feedback(self.force_limit).numbers()

    def ahead(self, road, step):
        """See `Law.ahead`: the gain at the middle of each step ahead times the rise over it; beyond its end the road
        is level."""
        count, wait = min(round(self.preview / step), len(road)), round(self.late / step)
        gain = self.design.preview_gain(step * (np.arange(count) + 0.5))
        rise = np.append(np.diff(road), np.zeros(count))
        size = 1 << (len(rise) + count).bit_length()
        # A correlation by Fourier transform: the sum over k of gain[k] rise[n + k].
        product = np.fft.rfft(rise, size) * np.conj(np.fft.rfft(gain, size))
        return np.append(np.zeros(wait), -np.fft.irfft(product, size)[: len(road)])[: len(road)]

    def equal(self, limits, travel=True):
        """The same law with weights that make grip and travel as large as in `limits`, a `LinearMeans`, by formula.

        travel=False: grip alone, the weight of travel stays. Raises ValueError where no weights are found.
        """
        from scipy.optimize import root

        def matched(exponents):
            return replace(self, **dict(zip(("grip", "travel"), 10.0 ** np.clip(exponents, -1.0, 8.0), strict=False)))

        def over(exponents):
            found = by_formula(self.vehicle, matched(exponents))
            ratios = (found.tyre_load_variation / limits.tyre_load_variation, found.travel / limits.travel)
            return np.log(ratios[: len(exponents)])

        found = root(over, [5.3, 3.5] if travel else [5.3], tol=1e-6)
        if not np.abs(found.fun).max() < 1e-4:
            raise ValueError(
                f"equal: no weights give a variation of tyre load of {limits.tyre_load_variation:.3g} % and a travel "
                f"of {limits.travel:.3g} mm."
            )
        return matched(found.x)


@dataclass(frozen=True)
class LinearMeans:
    """Rms on a rough road by the straight-line model, and mean powers of one wheel.

    acceleration: m/s2. tyre_load_variation: % of the static load. travel: mm. power_in, power_back: what the actuator
    puts in and takes out, W. heat: in the damper, W. road: what the road puts in if it is not known ahead, W.
    """

    acceleration: float
    tyre_load_variation: float
    travel: float
    power_in: float
    power_back: float
    heat: float
    road: float


def by_formula(vehicle, law=None, road_class="C"):
    """What the straight-line model says of a machine on a random road: no stops, friction, lift-off or delay.

    law: an `OptimalFeedback`, or four gains, on travel, body velocity, tyre deflection and wheel velocity; without one
    the damper acts alone, as in by_formula(bike.plain(500)); a valve counts by its least open slope. road_class: 'A'
    to 'H' of ISO 8608, at the machine's speed on the traverse. Returns `LinearMeans`.
    """
    white = white_velocity_intensity(roughness(road_class), vehicle.traverse_speed)
    gains, damping = getattr(law, "gains", np.zeros(4) if law is None else law), open_damping(vehicle)
    if getattr(law, "preview", 0.0):
        ahead = law.design.preview_spectrum(_FINE, law.preview)
        a, x, y, v = (
            controlled_response(vehicle, gains, output, _FINE, ahead=ahead) / (2j * np.pi * _FINE)
            for output in ("acceleration", "travel", "tyre_deflection", "relative_velocity")
        )
        force = vehicle.body_mass * a + vehicle.spring_rate * x + damping * v
        squares = [2.0 * white * np.trapezoid((one * np.conj(other)).real * _FINE, np.log(_FINE))
                   for one, other in ((a, a), (y, y), (x, x), (v, v), (force, force), (force, v))]  # fmt: skip
        net, supply = squares[5], positive_part(squares[5], math.sqrt(squares[4] * squares[3]))
    else:
        mean = mean_squares(vehicle, gains, white)
        squares = mean.acceleration, mean.tyre_deflection, mean.travel, mean.relative_velocity
        net, supply = mean.power, mean.supply
    load = 100.0 * vehicle.tyre_rate * math.sqrt(squares[1]) / vehicle.static_load
    return LinearMeans(
        math.sqrt(squares[0]), load, 1e3 * math.sqrt(squares[2]), float(supply), float(supply - net),
        float(damping * squares[3]), 0.5 * white * vehicle.tyre_rate,
    )  # fmt: skip
