"""The quarter car, derived once in sympy; what a workbook shows is what it evaluates.

z is up, from static equilibrium. Travel z_s - z_u is positive in extension (rebound), tyre deflection is z_u - z_r.
The suspension force f pulls the body down and the wheel up; a spring, a damper and an actuator make
f = k_s (z_s - z_u) + c (v_s - v_u) - F_a. The tyre is a spring without damping that never leaves the ground here.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import sympy as sp

m_s, m_u, k_s, k_t, c = PARAMETERS = sp.symbols("m_s m_u k_s k_t c", positive=True)
omega = sp.Symbol("omega", positive=True)
t, s, F_a = sp.symbols("t s F_a")  # time, Laplace variable, actuator force
z_s, z_u, z_r, f = (sp.Function(name)(t) for name in ("z_s", "z_u", "z_r", "f"))
Z_s, Z_u, Z_r = sp.symbols("Z_s Z_u Z_r")  # their Laplace transforms, or complex amplitudes

# Suspension forces as Laplace transforms. The ideal skyhook damper joins the body to a fixed height.
PASSIVE = k_s * (Z_s - Z_u) + c * s * (Z_s - Z_u)
SKYHOOK = k_s * (Z_s - Z_u) + c * s * Z_s

OUTPUTS = {
    "body": Z_s,
    "wheel": Z_u,
    "acceleration": s**2 * Z_s,
    "travel": Z_s - Z_u,
    "relative_velocity": s * (Z_s - Z_u),
    "tyre_deflection": Z_u - Z_r,
}


@dataclass(frozen=True, repr=False)
class Step:
    """One step of a derivation: its name, a sentence why it holds, and the sympy expression reached."""

    name: str
    because: str
    result: sp.Basic

    def __repr__(self):
        return f"{self.name}: {self.result}"

    def _repr_markdown_(self):
        from sympy.physics.vector.printing import vlatex  # dots for time derivatives

        return f"**{self.name}.** {self.because}\n\n$$ {vlatex(self.result)} $$"


@dataclass(frozen=True)
class Motion:
    """Equations of motion: for any suspension force f(t), that force, and with it put in."""

    body: sp.Eq
    wheel: sp.Eq
    force: sp.Eq
    passive_body: sp.Eq
    passive_wheel: sp.Eq

    def steps(self):
        """The derivation, in the order in which a workbook shows it."""
        return (
            Step("Body", "Newton's second law; weight is balanced at static equilibrium.", self.body),
            Step("Wheel", "The same force upwards, and the tyre pressed between wheel and road.", self.wheel),
            Step("Force", "Spring and damper act on the travel; an actuator pushes the body up.", self.force),
            Step("Body, force put in", "Linear in heights and speeds.", self.passive_body),
            Step("Wheel, force put in", "What the body feels, the wheel feels reversed.", self.passive_wheel),
        )


@lru_cache
def equations_of_motion():
    """The two equations of motion as a `Motion`."""
    travel = z_s - z_u
    force = k_s * travel + c * travel.diff(t) - F_a
    body = sp.Eq(m_s * z_s.diff(t, 2), -f)
    wheel = sp.Eq(m_u * z_u.diff(t, 2), f - k_t * (z_u - z_r))
    return Motion(body, wheel, sp.Eq(f, force), body.subs(f, force), wheel.subs(f, force))


@dataclass(frozen=True)
class StateSpace:
    """x' = A x + B u, y = C x + D u, with the names of states, inputs and outputs; sympy matrices or numpy arrays."""

    states: tuple
    inputs: tuple
    outputs: tuple
    A: object
    B: object
    C: object
    D: object


@lru_cache
def state_space(states="deflections"):
    """The symbolic state space with a road input and an actuator force F_a in N.

    'deflections': x = (z_s - z_u, v_s, z_u - z_r, v_u), road input v_r = dz_r/dt. Nothing drifts with the road, so a
    road of white vertical velocity has a stationary answer.
    'heights': x = (z_s, v_s, z_u, v_u), road input z_r: the form of the International Roughness Index.
    Outputs of both: body acceleration, travel, tyre deflection, relative velocity v_s - v_u. SI units.
    """
    if states not in ("deflections", "heights"):
        raise ValueError(f"state_space: states is {states!r}; allowed are 'deflections' and 'heights'.")
    x_1, x_3, h_s, v_s, h_u, v_u, h_r, v_r = sp.symbols("x_1 x_3 z_s v_s z_u v_u z_r v_r")
    motion = equations_of_motion()
    plain = [(z_s.diff(t), v_s), (z_u.diff(t), v_u), (z_s, h_s), (z_u, h_u), (z_r, h_r)]
    acceleration = (motion.passive_body.rhs / m_s).subs(plain)
    wheel_acceleration = (motion.passive_wheel.rhs / m_u).subs(plain)
    if states == "heights":
        x, u = (h_s, v_s, h_u, v_u), (h_r, F_a)
        rates = (v_s, acceleration, v_u, wheel_acceleration)
        outputs = (acceleration, h_s - h_u, h_u - h_r, v_s - v_u)
    else:
        x, u = (x_1, v_s, x_3, v_u), (v_r, F_a)
        travel = {h_s: h_u + x_1}, {h_u: h_r + x_3}
        acceleration, wheel_acceleration = (
            sp.expand(rate.subs(travel[0]).subs(travel[1])) for rate in (acceleration, wheel_acceleration)
        )
        rates = (v_s - v_u, acceleration, v_u - v_r, wheel_acceleration)
        outputs = (acceleration, x_1, x_3, v_s - v_u)
    names = ("travel", "v_s", "tyre_deflection", "v_u") if states == "deflections" else ("z_s", "v_s", "z_u", "v_u")
    inputs = ("v_r", "F_a") if states == "deflections" else ("z_r", "F_a")
    matrices = (
        sp.ImmutableMatrix(rows).jacobian(sp.Matrix(by)).applyfunc(sp.factor)
        for rows in (rates, outputs)
        for by in (x, u)
    )
    return StateSpace(names, inputs, ("acceleration", "travel", "tyre_deflection", "relative_velocity"), *matrices)


@lru_cache
def transfer_function(output, per="height", force=PASSIVE):
    """Ratio of an output to the road, as a quotient of polynomials in s.

    `output` is a key of OUTPUTS; `per` is 'height' or 'velocity' of the road; `force` is the Laplace transform of the
    suspension force in Z_s, Z_u and Z_r, `PASSIVE` unless told.
    """
    if output not in OUTPUTS:
        raise ValueError(f"transfer_function: output is {output!r}; allowed are {', '.join(OUTPUTS)}.")
    if per not in ("height", "velocity"):
        raise ValueError(f"transfer_function: per is {per!r}; allowed are 'height' and 'velocity'.")
    motion = equations_of_motion()
    transformed = [laplace(equation).subs(laplace(f), force) for equation in (motion.body, motion.wheel)]
    answer = sp.solve(transformed, (Z_s, Z_u), dict=True)[0]
    ratio = OUTPUTS[output].subs(answer) / (Z_r if per == "height" else s * Z_r)
    above, below = sp.fraction(sp.cancel(ratio))
    return sp.collect(sp.expand(above), s, sp.factor) / sp.collect(sp.expand(below), s, sp.factor)


def laplace(expression):
    """Transform of an equation of motion that starts from rest."""
    pairs = [(z.diff(t, 2), s**2 * Z) for z, Z in ((z_s, Z_s), (z_u, Z_u))]
    return expression.subs([*pairs, (z_s, Z_s), (z_u, Z_u), (z_r, Z_r), (f, sp.Symbol("F"))])


@lru_cache
def compiled(expression, *variables):
    """A numpy function of `variables` followed by m_s, m_u, k_s, k_t, c that evaluates a sympy expression."""
    return sp.lambdify((*variables, *PARAMETERS), expression, "numpy", cse=True)


def numbers(vehicle, damping=None):
    """(m_s, m_u, k_s, k_t, c) of a vehicle, c replaced by `damping` in N s/m (a number or an array) where given."""
    coefficient = vehicle.damping if damping is None else np.asarray(damping, dtype=float)
    if not np.all(np.isfinite(coefficient) & (np.asarray(coefficient) >= 0.0)):
        raise ValueError(f"Quarter car: damping is {damping} N s/m; allowed is 0 and more, finite.")
    return vehicle.body_mass, vehicle.wheel_mass, vehicle.spring_rate, vehicle.tyre_rate, coefficient


def frequency_response(vehicle, output, frequency_hz, damping=None, per="height", force=PASSIVE):
    """Complex frequency response to the road, the shape of `frequency_hz` (broadcast with `damping`), SI units.

    Raises ValueError unless every frequency is positive.
    """
    frequency = np.asarray(frequency_hz, dtype=float)
    if not np.all(frequency > 0.0):
        raise ValueError(f"frequency_response: frequency_hz is {frequency.min():g} Hz; allowed is above 0 Hz.")
    evaluate = compiled(transfer_function(output, per, force), s)
    return evaluate(2j * np.pi * frequency, *numbers(vehicle, damping))


def numeric_state_space(vehicle, damping=None, states="deflections"):
    """`state_space(states)` with a vehicle's numbers: A (4, 4), B (4, 2), C (4, 4), D (4, 2)."""
    form = state_space(states)
    values = numbers(vehicle, damping)
    matrices = (np.array(compiled(matrix)(*values), dtype=float) for matrix in (form.A, form.B, form.C, form.D))
    return StateSpace(form.states, form.inputs, form.outputs, *matrices)


def derivative(vehicle, state, road_height, actuator_force=0.0, damping=None):
    """Time derivative (4,) of the state (z_s, v_s, z_u, v_u); a time stepper must agree with it where it is linear."""
    form = numeric_state_space(vehicle, damping, "heights")
    return form.A @ np.asarray(state, dtype=float) + form.B @ np.array([road_height, actuator_force])


@lru_cache
def undamped_frequencies():
    """The exact angular frequencies (body mode, wheel mode) without a damper, as sympy expressions in rad/s."""
    square = sp.Symbol("q", positive=True)
    _, below = sp.fraction(transfer_function("body"))
    polynomial = below.subs(c, 0).subs(s, sp.I * sp.sqrt(square))
    return tuple(sp.sqrt(root) for root in sp.solve(sp.expand(polynomial), square))


@dataclass(frozen=True)
class Modes:
    """Frequencies in Hz and damping ratios of the two modes.

    `body_hz`, `wheel_hz` are exact without a damper. The estimates hold the other mass still: the body on spring and
    tyre in series, the wheel between both. The ratios with them, c / (2 sqrt(k m)), are those the trade quotes: spring
    and body, both springs and wheel. `poles` (4,), `pole_hz`, `pole_damping_ratio` are exact with the damper.
    """

    body_hz: float
    wheel_hz: float
    body_estimate_hz: float
    wheel_estimate_hz: float
    body_damping_ratio: float
    wheel_damping_ratio: float
    poles: np.ndarray
    pole_hz: np.ndarray
    pole_damping_ratio: np.ndarray


def modes(vehicle, damping=None):
    """The `Modes` of a vehicle with a linear damper, poles sorted by frequency."""
    body, wheel, spring, tyre, coefficient = values = numbers(vehicle, damping)
    exact = [float(compiled(expression)(*values)) / (2 * np.pi) for expression in undamped_frequencies()]
    poles = np.linalg.eigvals(numeric_state_space(vehicle, damping).A)
    poles = poles[np.lexsort((poles.imag, np.abs(poles).round(9)))]
    size = np.abs(poles)
    return Modes(
        *exact,
        float(np.sqrt(spring * tyre / (spring + tyre) / body) / (2 * np.pi)),
        float(np.sqrt((spring + tyre) / wheel) / (2 * np.pi)),
        float(coefficient / (2 * np.sqrt(spring * body))),
        float(coefficient / (2 * np.sqrt((spring + tyre) * wheel))),
        poles, size / (2 * np.pi), -poles.real / size,
    )  # fmt: skip


def limit_checks():
    """Four limits of body height over road height, each a `Step` with an answer that can be seen without algebra."""
    ratio = transfer_function("body")

    def limit(symbol, to):
        return sp.factor(sp.limit(ratio, symbol, to))

    return (
        Step("Slowly", "$s \\to 0$: the body follows the road.", limit(s, 0)),
        Step("No damper", "$c \\to 0$: only even powers of s are left, so nothing decays.", limit(c, 0)),
        Step("Rigid damper", "$c \\to \\infty$: one mass rides on the tyre.", limit(c, sp.oo)),
        Step("Rigid tyre", "$k_t \\to \\infty$: the wheel is the road, and the spring isolates.", limit(k_t, sp.oo)),
    )
