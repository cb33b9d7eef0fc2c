"""What the quarter car tells without simulation: invariant points, mean squares, best dampers, isolators.

A road of white vertical velocity has E[v_r(t) v_r(t + tau)] = W delta(tau), W in m2/s; an ISO 8608 road at constant
speed is one (waviness 2). Nothing here knows about stops, tyre lift-off or friction.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import sympy as sp

from helpers.models import quarter_car
from helpers.models.quarter_car import SKYHOOK, Step, Z_r, Z_s, Z_u, c, compiled, k_s, k_t, m_s, m_u, numbers, omega, s

W = sp.Symbol("W", positive=True)
r, zeta = sp.symbols("r zeta", positive=True)  # frequency over the undamped natural one, damping ratio


@dataclass(frozen=True)
class InvariantPoint:
    """A frequency at which no suspension force, feedback included, changes a ratio to the road height.

    `frequency` in rad/s and `value` are sympy expressions; `steps` is the proof; `output` names the ratio.
    """

    output: str
    frequency: sp.Expr
    value: sp.Expr
    steps: tuple

    def at(self, vehicle):
        """The `InvariantValue` of a vehicle."""
        values = numbers(vehicle)
        radians, value = (float(compiled(expression)(*values)) for expression in (self.frequency, self.value))
        return InvariantValue(radians / (2 * np.pi), value)


@dataclass(frozen=True)
class InvariantValue:
    """An invariant point in numbers: frequency in Hz, ratio to the road height."""

    frequency_hz: float
    value: float


@lru_cache
def invariant_points():
    """The two invariant points, (body over road, travel over road). Hedrick and Butsuen (1990)."""
    motion = quarter_car.equations_of_motion()
    total = sp.Eq(motion.body.lhs + motion.wheel.lhs, sp.expand(motion.body.rhs + motion.wheel.rhs))
    shaking = quarter_car.laplace(total).subs(s, sp.I * omega)
    body = sp.Eq(m_s * omega**2 * Z_s, sp.collect(sp.expand(-shaking.rhs - m_u * omega**2 * Z_u), Z_u))
    X = sp.Symbol("X")
    travel = sp.Eq(m_s * omega**2 * X, sp.collect(sp.expand(body.rhs - m_s * omega**2 * Z_u), Z_u))
    added = Step("Add both equations", "What pushes the body pulls the wheel: f is gone, whatever made it.", total)
    sine = Step("Shake at one frequency", "Each second derivative becomes $-\\omega^2$ times an amplitude.", shaking)
    points = []
    for output, equation, unknown, why in (
        ("body", body, Z_s, "Alone on the left: the body's amplitude."),
        ("travel", travel, X, "With $Z_s = Z_u + X$, the travel $X$ is alone on the left."),
    ):
        frequency = sp.sqrt(sp.solve(equation.rhs.coeff(Z_u), omega**2)[0])
        value = sp.simplify(sp.solve(equation.subs(omega, frequency), unknown)[0] / Z_r)
        sorted_out = Step("Sort", why, equation)
        stands = Step("Choose the frequency", "Here the wheel's amplitude drops out.", sp.Eq(omega, frequency))
        found = Step("Read off", "No suspension force had a say.", sp.Eq(unknown / Z_r, value))
        points.append(InvariantPoint(output, frequency, value, (added, sine, sorted_out, stands, found)))
    return tuple(points)


@lru_cache
def covariance():
    """Covariance (4, 4) of the 'deflections' states on a white-velocity road: P solving A P + P A' + W b b' = 0."""
    form = quarter_car.state_space()
    b = form.B[:, 0]
    unknown = sp.Matrix(4, 4, lambda i, j: sp.Symbol(f"p_{min(i, j)}{max(i, j)}"))
    balance = form.A * unknown + unknown * form.A.T + W * b * b.T
    answer = sp.solve([balance[i, j] for i in range(4) for j in range(i, 4)], list(unknown.free_symbols), dict=True)[0]
    return sp.ImmutableMatrix(unknown.subs(answer).applyfunc(sp.factor))


@lru_cache
def mean_square(output):
    """E[output^2] on a white-velocity road, a sympy expression sorted by powers of c.

    `output` is 'acceleration', 'travel', 'tyre_deflection' or 'relative_velocity'.
    """
    form = quarter_car.state_space()
    if output not in form.outputs:
        raise ValueError(f"mean_square: output is {output!r}; allowed are {', '.join(form.outputs)}.")
    row = form.C[form.outputs.index(output), :]
    return sp.collect(sp.expand((row * covariance() * row.T)[0]), c, _by_spring)


def _by_spring(expression):
    return sp.collect(sp.expand(expression), k_s, sp.factor)


@lru_cache
def best_damping(output):
    """The coefficient c of least E[output^2], a sympy expression in N s/m.

    For 'acceleration' (comfort) and 'tyre_deflection' (grip); travel only shrinks with c.
    """
    if output not in ("acceleration", "tyre_deflection"):
        raise ValueError(f"best_damping: output is {output!r}; allowed are 'acceleration' and 'tyre_deflection'.")
    growing, _, falling = sp.Poly(sp.expand(c * mean_square(output)), c).all_coeffs()  # growing c + ... + falling / c
    return sp.sqrt(sum(sp.factor(term / growing) for term in sp.Add.make_args(_by_spring(falling))))


def comfort_damping(vehicle):
    """Damping coefficient of least body acceleration, N s/m."""
    return float(compiled(best_damping("acceleration"))(*numbers(vehicle)))


def grip_damping(vehicle):
    """Damping coefficient of least tyre deflection, hence of least wheel-load variation, N s/m."""
    return float(compiled(best_damping("tyre_deflection"))(*numbers(vehicle)))


@dataclass(frozen=True)
class TradeOff:
    """Root mean squares over `damping` in N s/m: body acceleration in m/s2, travel and tyre deflection in m, relative
    velocity in m/s, and wheel-load deviation over static load; all of the shape of `damping`.
    """

    damping: np.ndarray
    acceleration_rms: np.ndarray
    travel_rms: np.ndarray
    tyre_deflection_rms: np.ndarray
    relative_velocity_rms: np.ndarray
    load_share_rms: np.ndarray


def trade_off(vehicle, intensity, damping=None):
    """The `TradeOff` of a vehicle on a road of white velocity `intensity` W in m2/s, at `damping` in N s/m.

    `damping` is an array or a number above 0, by default the vehicle's own. Raises ValueError outside.
    """
    values = numbers(vehicle, damping)
    if not np.all(np.asarray(values[-1]) > 0.0):
        raise ValueError(f"trade_off: damping is {np.min(values[-1]):g} N s/m; allowed is above 0 N s/m.")
    acceleration, travel, tyre_deflection, relative_velocity = (
        np.sqrt(compiled(mean_square(output), W)(_intensity(intensity), *values))
        for output in quarter_car.state_space().outputs
    )
    load_share = vehicle.tyre_rate * tyre_deflection / vehicle.static_load
    return TradeOff(np.asarray(values[-1]), acceleration, travel, tyre_deflection, relative_velocity, load_share)


@lru_cache
def mean_power():
    """c E[(v_s - v_u)^2], the mean power that the damper turns to heat, in W: W k_t / 2, whatever else the car is."""
    return sp.simplify(c * mean_square("relative_velocity"))


def mean_damper_power(vehicle, intensity):
    """Mean power in W that the damper turns to heat on a road of white velocity `intensity` W in m2/s.

    Independent of the masses, the spring and the damper. Zuo and Zhang, J. Dyn. Sys. Meas. Control 135 (2013).
    """
    return compiled(mean_power(), W)(_intensity(intensity), *numbers(vehicle))


def _intensity(value):
    if not np.all(np.isfinite(value) & (np.asarray(value) >= 0.0)):
        raise ValueError(f"White-velocity road: intensity is {value} m2/s; allowed is 0 and more, finite.")
    return value


@lru_cache
def isolator_transmissibility(skyhook=False):
    """Body over road amplitude in r and zeta where the wheel follows the road (k_t to infinity).

    r = omega / sqrt(k_s/m_s), zeta = c / (2 sqrt(k_s m_s)), the damper between body and wheel or, for `skyhook`,
    between body and a fixed height.
    """
    force = SKYHOOK if skyhook else quarter_car.PASSIVE
    rigid = sp.limit(quarter_car.transfer_function("body", force=force), k_t, sp.oo)
    plain = sp.cancel(rigid.subs({c: 2 * zeta * sp.sqrt(k_s * m_s), s: sp.I * r * sp.sqrt(k_s / m_s)}))
    above, below = (sp.expand(sp.expand(part) * sp.expand(sp.conjugate(part))) for part in sp.fraction(plain))
    above, below = sp.fraction(sp.cancel(above / below))
    return sp.sqrt(above) / sp.sqrt(below)


@lru_cache
def compiled_isolator(skyhook=False):
    """`isolator_transmissibility` as a numpy function of (r, zeta)."""
    return sp.lambdify((r, zeta), isolator_transmissibility(skyhook), "numpy")


def units_of(expression):
    """The SI unit that an expression in m_s, m_u, k_s, k_t, c, s, omega and W has, as a sympy product of kg, m and s.

    Each symbol is scaled by its own unit; what the expression is scaled by is its unit. Raises ValueError where terms
    of different units are added.
    """
    kilogram, metre, second = sp.symbols("kg m s_", positive=True)
    rate = kilogram / second**2
    unit = {m_s: kilogram, m_u: kilogram, k_s: rate, k_t: rate, c: kilogram / second, W: metre**2 / second}
    unit |= {s: 1 / second, omega: 1 / second}
    scaled = expression.subs({symbol: symbol * factor for symbol, factor in unit.items()}, simultaneous=True)
    ratio = sp.simplify(scaled / expression)
    if ratio.free_symbols - {kilogram, metre, second}:
        raise ValueError(f"units_of: {expression} adds terms of different units.")
    return ratio.subs(second, sp.Symbol("s", positive=True))
