"""Optimal linear feedback for the quarter car, with and without preview of the road, and what feedback does in general.

The actuator force is F = -K x + F_p: feedback of x = (travel, v_s, tyre deflection, v_u) and, with preview, a part F_p
that answers the road ahead. Linear, as the quarter car of `models.quarter_car`: no stops, lift-off or friction.
Hrovat, Survey of advanced suspension developments and related optimal control applications, Automatica 33 (1997).
Preview: Bender, J. Basic Eng. 90 (1968); Tomizuka, J. Dyn. Sys. Meas. Control 98 (1976); Hac, Vehicle Syst. Dyn. 21
(1992).
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.control.laws import ClippedOptimal, StateFeedback
from helpers.models.quantities import Checked, in_range, quantity
from helpers.models.quarter_car import numeric_state_space
from helpers.models.vehicles import Vehicle

RESPONSES = ("body", "wheel", "acceleration", "travel", "relative_velocity", "tyre_deflection")


@dataclass(frozen=True)
class Weights(Checked):
    """What the mean cost E[acc^2 + q_x travel^2 + q_t tyre^2 + q_F force^2] holds against one (m/s2)^2."""

    travel: float = quantity("weight of travel", "1/s^4", 1e-3, 1e8, symbol="q_x", default=300.0)
    tyre_deflection: float = quantity("weight of tyre deflection", "1/s^4", 0.0, 1e9, symbol="q_t", default=30_000.0)
    force: float = quantity("weight of actuator force", "1/kg^2", 0.0, 1.0, symbol="q_F", default=0.0)


COMFORT = Weights(travel=300.0, tyre_deflection=3e4)
GRIP = Weights(travel=1e3, tyre_deflection=1e6)


def open_damping(vehicle):
    """Least slope of the damper fully open, N s/m: the damping that is there at every speed.

    Feedback for comfort cancels the damper beside it. Counting on more than there is would drive the wheel.
    """
    return min(
        slope
        for side in (vehicle.open_curve.rebound, vehicle.open_curve.compression)
        for slope in (side.low, side.high)
    )


def _linear(vehicle, damping):
    """The 'deflections' form: (A, B of the road's velocity, B of the actuator, C, D of the actuator)."""
    form = numeric_state_space(vehicle, open_damping(vehicle) if damping is None else damping)
    return form.A, form.B[:, 0], form.B[:, 1], form.C, form.D[:, 1]


@dataclass(frozen=True, eq=False)
class Regulator:
    """The feedback of least mean cost on a road of white velocity, and the preview that goes with it.

    gains: (4,). riccati: (4, 4), P. closed_loop: (4, 4), A - B K. from_road, from_actuator: (4,). effort: R, the
    cost of one N squared. damping: N s/m, of the linear damper beside the actuator.
    """

    vehicle: Vehicle
    weights: Weights
    damping: float
    gains: np.ndarray
    riccati: np.ndarray
    closed_loop: np.ndarray
    from_road: np.ndarray
    from_actuator: np.ndarray
    effort: float

    def cost(self, intensity, preview_time=0.0):
        """Least mean cost in (m/s2)^2 on a road of white velocity `intensity` in m2/s, seen `preview_time` s ahead."""
        from scipy.linalg import expm, solve_continuous_lyapunov

        gone = expm(preview_time * self.closed_loop)
        steered = np.outer(self.from_actuator, self.from_actuator) / self.effort
        whole = solve_continuous_lyapunov(self.closed_loop, -steered)
        pushed = self.riccati @ self.from_road
        saved = pushed @ (whole - gone @ whole @ gone.T) @ pushed
        return float(intensity * (self.from_road @ pushed - saved))

    def preview_gain(self, ahead):
        """Force now for a unit of road height that comes `ahead` s from now, g in N/m, the shape of `ahead`.

        g = B' exp((A - B K)' s) P b / R; the force is F_p(t) = - integral of g(s) v_r(t + s) over the preview time.
        """
        rates, left = np.linalg.eig(self.closed_loop.T)
        share = np.linalg.solve(left, self.riccati @ self.from_road) * (self.from_actuator @ left) / self.effort
        return (np.exp(np.multiply.outer(np.asarray(ahead, dtype=float), rates)) @ share).real

    def preview_spectrum(self, frequency_hz, preview_time):
        """Complex force F_p over the road's velocity in N s/m at `frequency_hz`, its shape."""
        turning = 2j * np.pi * np.asarray(frequency_hz, dtype=float)
        rates, left = np.linalg.eig(self.closed_loop.T)
        share = np.linalg.solve(left, self.riccati @ self.from_road) * (self.from_actuator @ left) / self.effort
        total = np.add.outer(turning, rates)
        return -((np.exp(total * preview_time) - 1.0) / total) @ share

    def feedback(self, force_limit=math.inf):
        """The law of the actuator, the damper beside it open."""
        return StateFeedback(*self.gains, force_limit)

    def clipped(self):
        """The law of a damper alone that imitates actuator and damper together."""
        return ClippedOptimal(*(self.gains + self.damping * np.array([0.0, 1.0, 0.0, -1.0])))


def regulator(vehicle, weights=COMFORT, damping=None):
    """The `Regulator` of a vehicle beside a linear damper of `damping` in N s/m (its damper open unless given).

    Acceleration holds the actuator's force itself, so the cost has a term between state and force.
    """
    from scipy.linalg import solve_continuous_are

    damping = open_damping(vehicle) if damping is None else damping
    a, road, actuator, outputs, direct = _linear(vehicle, damping)
    acceleration, push = outputs[0], direct[0]
    states = np.outer(acceleration, acceleration) + np.diag([weights.travel, 0.0, weights.tyre_deflection, 0.0])
    effort = push**2 + weights.force
    cross = acceleration * push
    column = actuator[:, None]
    riccati = solve_continuous_are(a, column, states, np.array([[effort]]), s=cross[:, None])
    gains = (actuator @ riccati + cross) / effort
    return Regulator(
        vehicle, weights, damping, gains, riccati, a - np.outer(actuator, gains), road, actuator, effort
    )  # fmt: skip


def isolator_gains(weight):
    """Gains (on travel, on body velocity) in 1/s^2 and 1/s of least E[acc^2] + q E[travel^2], q in 1/s^4.

    A body alone above a road of white velocity, the force on it free: the optimum is a spring and a skyhook damper.
    """
    from scipy.linalg import solve_continuous_are

    weight = in_range("isolator_gains", "weight", weight, "1/s^4", 1e-6, 1e12)
    push = np.array([[0.0], [1.0]])
    return push[:, 0] @ solve_continuous_are([[0.0, 1.0], [0.0, 0.0]], push, np.diag([weight, 0.0]), [[1.0]])


# --- any feedback -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class MeanSquares:
    """Mean squares under feedback on a road of white velocity: (m/s2)^2, m2, m2, (m/s)^2 and N2; mean powers in W.

    power: net, of the actuator; supply: mean of its positive part, for a Gaussian road.
    """

    acceleration: float
    travel: float
    tyre_deflection: float
    relative_velocity: float
    force: float
    power: float
    supply: float


def mean_squares(vehicle, gains, intensity, damping=None):
    """The `MeanSquares` of feedback `gains` (4,) on a road of white velocity `intensity` in m2/s.

    damping: N s/m of the linear damper beside it (open unless given). Raises ValueError where the loop is unstable.
    The mean of |F v| of two Gaussian signals is (2/pi) (sqrt(1 - r^2) + r arcsin r) times both rms (Nabeya 1951).
    """
    from scipy.linalg import solve_continuous_lyapunov

    a, road, actuator, outputs, direct = _linear(vehicle, damping)
    gains = np.asarray(gains, dtype=float)
    closed = a - np.outer(actuator, gains)
    if not np.linalg.eigvals(closed).real.max() < 0.0:
        raise ValueError(f"mean_squares: gains are {gains}; allowed are gains under which every motion decays.")
    covariance = solve_continuous_lyapunov(closed, -intensity * np.outer(road, road))
    rows = np.vstack([outputs - np.outer(direct, gains), -gains])
    spread = rows @ covariance @ rows.T
    net, size = spread[4, 3], math.sqrt(spread[4, 4] * spread[3, 3])
    return MeanSquares(*(float(value) for value in spread.diagonal()), float(net), positive_part(net, size))


def positive_part(net, size):
    """Mean of the positive part of a product of two Gaussian signals: of its mean and the product of their rms."""
    alike = net / size if size > 0.0 else 0.0
    return float(0.5 * (net + 2.0 / math.pi * size * (math.sqrt(1.0 - alike**2) + alike * math.asin(alike))))


def controlled_response(vehicle, gains, output, frequency_hz, damping=None, ahead=0.0):
    """Complex ratio of an output to road height under feedback `gains` (4,), the shape of `frequency_hz`, SI units.

    output: 'body', 'wheel', 'acceleration', 'travel', 'relative_velocity' or 'tyre_deflection'. damping: N s/m of the
    damper beside it (open unless given). ahead: force over road velocity, see `Regulator.preview_spectrum`.
    """
    if output not in RESPONSES:
        raise ValueError(f"controlled_response: output is {output!r}; allowed are {', '.join(RESPONSES)}.")
    a, road, actuator, _, _ = _linear(vehicle, damping)
    s = 2j * np.pi * np.asarray(frequency_hz, dtype=float)[..., None]
    driven = road + np.asarray(ahead)[..., None] * actuator
    shaken = s[..., None] * np.eye(4) - a + np.outer(actuator, np.asarray(gains, dtype=float))
    travel, body_velocity, tyre, wheel_velocity = np.moveaxis(
        np.linalg.solve(shaken, (s * driven)[..., None])[..., 0], -1, 0
    )
    return {
        "body": 1.0 + tyre + travel,
        "wheel": 1.0 + tyre,
        "acceleration": s[..., 0] * body_velocity,
        "travel": travel,
        "relative_velocity": body_velocity - wheel_velocity,
        "tyre_deflection": tyre,
    }[output]


def return_difference(design, frequency_hz):
    """Complex 1 + L(j omega) of a `Regulator`'s loop, the shape of `frequency_hz`: never smaller than 1.

    Kalman, When is a linear control system optimal?, J. Basic Eng. 86 (1964). His inequality is about a cost without a
    term between state and input; taking as input what the force adds to the best force for acceleration alone makes
    the cost such a one, and that loop is the one opened here.
    """
    a, _, actuator, outputs, direct = _linear(design.vehicle, design.damping)
    held = outputs[0] * direct[0] / design.effort
    s = 2j * np.pi * np.asarray(frequency_hz, dtype=float)[..., None, None]
    answer = np.linalg.solve(s * np.eye(4) - a + np.outer(actuator, held), actuator[:, None])
    return 1.0 + (answer[..., 0] @ (design.gains - held))
