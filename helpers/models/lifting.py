"""What it takes to lift body and rider: energy, force and least time, from rest to rest, the wheel on firm ground.

The suspension pushes the body up with S = F + carried: the actuator's force F, and what the spring still carries of
the weight, m g - k x at height x (nothing without a spring). S never pulls, or the wheel would leave the ground, so
the body is braked by its own weight at best. Wheel mass, damper, friction, progression and the tyre's give are left
out; all but the last make the true figures larger.
"""

import math
from dataclasses import dataclass

from helpers.models.quantities import in_range
from helpers.models.vehicles import GRAVITY


@dataclass(frozen=True)
class Lift:
    """energy: net work of the actuator, J. holding_force: at the top, N. least_time: s. Its bounds: `by_power`, the
    energy over the power limit, and `by_gravity`, a body thrown up that comes to rest by its weight, s.
    peak_power: largest in the quickest lift, W.
    """

    energy: float
    holding_force: float
    least_time: float
    by_power: float
    by_gravity: float
    peak_power: float


def lift(vehicle, height, force_limit, power_limit=math.inf, spring=True):
    """The `Lift` of a vehicle's body by `height` in m with an actuator of limits in N and W.

    spring: the actuator stands beside the spring, which carries the weight at rest; False: it carries all. The
    quickest lift pushes as hard as the limits allow, then brakes as hard as gravity and the actuator allow. The whole
    stroke is allowed, as if the body stood that low at rest. Raises ValueError for a height beyond the stroke and for
    a force that cannot hold the body at the top.
    """
    mass, rate = vehicle.body_mass, vehicle.spring_rate if spring else 0.0
    weight = mass * GRAVITY
    stroke = vehicle.bump_travel + vehicle.rebound_travel
    height = in_range("lift", "height", height, "m", 1e-4, stroke)
    holding = rate * height if spring else weight
    force_limit = in_range("lift", "force_limit", force_limit, "N", holding * (1.0 if spring else 1.001), 1e6)
    power_limit = in_range("lift", "power_limit", power_limit, "W", 1e-3, math.inf)
    energy = 0.5 * rate * height**2 if spring else weight * height
    least_time, peak_power = _quickest(mass, weight if spring else 0.0, rate, height, force_limit, power_limit)
    by_gravity = math.sqrt(2.0 * height / GRAVITY)
    return Lift(energy, holding, least_time, energy / power_limit, by_gravity, peak_power)


def _quickest(mass, carried, rate, height, force_limit, power_limit):
    """(least time in s, peak power in W): full push until braking from here just ends at the top, then braking."""
    from scipy.integrate import quad, solve_ivp

    def force(x, v):
        return min(force_limit, power_limit / v) if v > 0.0 else force_limit

    def braking(x):
        """Deceleration in m/s2 that the body can have at height x: by its weight, less what the spring still pushes."""
        return GRAVITY - max(carried - rate * x - force_limit, 0.0) / mass

    def too_fast(_, y):
        """Speed squared over 2, less what braking from here to the top takes off: it must not be passed."""
        kink = (carried - force_limit) / rate if rate > 0.0 else -1.0
        taken_off = quad(braking, y[0], height, points=[kink] if y[0] < kink < height else None)[0]
        return 0.5 * y[1] ** 2 - taken_off

    def at_rest(_, y):
        return y[1]

    too_fast.terminal = at_rest.terminal = True
    at_rest.direction = -1
    exactly = {"rtol": 1e-10, "atol": 1e-12}
    pushed = solve_ivp(
        lambda _, y: [y[1], (force(*y) + carried - rate * y[0]) / mass - GRAVITY], (0.0, 1e4), [0.0, 0.0],
        "DOP853", events=too_fast, max_step=10.0, **exactly,
    )  # fmt: skip
    start = pushed.y[:, -1]
    braked = solve_ivp(lambda _, y: [y[1], -braking(y[0])], (0.0, 1e4), start, events=at_rest, **exactly)
    powers = [force(x, v) * v for x, v in pushed.y.T]
    return float(pushed.t[-1] + braked.t[-1]), float(max(powers))
