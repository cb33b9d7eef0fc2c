"""The pitch plane: a body in bounce and pitch over a front and a rear wheel, derived once in sympy.

Bounce z is that of the mass centre, up; pitch theta is positive with the nose up. The body stands at
z_s1 = z + a theta above the front wheel z_u1 and at z_s2 = z - b theta above the rear wheel z_u2, these above the road
z_r1 and z_r2. Signs within an end are those of `quarter_car`. Small motions about static equilibrium; springs, dampers
and tyres are linear and wheels never leave the ground here. Parameters come from a `half_car.HalfCar`.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import sympy as sp

from helpers.models.quarter_car import StateSpace, Step

m, J, a, b = BODY = sp.symbols("m J a b", positive=True)
(m_1, m_2), (k_1, k_2), (c_1, c_2), (k_t1, k_t2) = ENDS = [
    sp.symbols(f"{name}1 {name}2", positive=True) for name in ("m_u", "k_s", "c_", "k_t")
]
PARAMETERS = (*BODY, *(symbol for pair in ENDS for symbol in pair))
z, theta, z_u1, z_u2, z_r1, z_r2 = sp.symbols("z theta z_u1 z_u2 z_r1 z_r2")
WITH_WHEELS, BODY_ALONE = (z, theta, z_u1, z_u2), (z, theta)
ROAD = (z_r1, z_r2)
FRONT, REAR = z + a * theta, z - b * theta

OUTPUTS = {
    "bounce": z,
    "pitch": theta,
    "front": FRONT,
    "rear": REAR,
    "travel_front": FRONT - z_u1,
    "travel_rear": REAR - z_u2,
    "tyre_front": z_u1 - z_r1,
    "tyre_rear": z_u2 - z_r2,
}


@dataclass(frozen=True)
class Matrices:
    """M q'' + C q' + K q = G r + H r' for coordinates q and the road r = (z_r1, z_r2); sympy matrices or arrays."""

    coordinates: tuple
    M: object
    C: object
    K: object
    G: object
    H: object


def energies(wheels=True):
    """Kinetic energy T, potential energy V and Rayleigh's function D as sympy expressions in heights and `rate(...)`.

    Without `wheels` these follow the road: the body stands on springs and dampers alone.
    """
    ends = ((FRONT, z_u1, z_r1, m_1, k_1, c_1, k_t1), (REAR, z_u2, z_r2, m_2, k_2, c_2, k_t2))
    kinetic, potential, lost = m * rate(z) ** 2 + J * rate(theta) ** 2, 0, 0
    for body, wheel, road, mass, spring, damper, tyre in ends:
        below = wheel if wheels else road
        potential += spring * (body - below) ** 2
        lost += damper * rate(body - below) ** 2
        if wheels:
            kinetic += mass * rate(wheel) ** 2
            potential += tyre * (wheel - road) ** 2
    return kinetic / 2, potential / 2, lost / 2


def rate(expression):
    """Time derivative of an expression linear in the heights: each height's own symbol with a dot."""
    heights = (*WITH_WHEELS, *ROAD)
    return expression.subs({height: sp.Symbol(rf"\dot{{{sp.latex(height)}}}") for height in heights})


@lru_cache
def matrices(wheels=True):
    """The symbolic `Matrices` by Lagrange's equations: each is a matrix of second derivatives of an energy."""
    kinetic, potential, lost = energies(wheels)
    q = WITH_WHEELS if wheels else BODY_ALONE
    q_rates, road_rates = ([rate(symbol) for symbol in symbols] for symbols in (q, ROAD))

    def second(energy, rows, columns):
        return sp.ImmutableMatrix([[sp.expand(energy.diff(row, column)) for column in columns] for row in rows])

    return Matrices(
        q, second(kinetic, q_rates, q_rates), second(lost, q_rates, q_rates), second(potential, q, q),
        -second(potential, q, ROAD), -second(lost, q_rates, road_rates),
    )  # fmt: skip


@lru_cache
def end_masses():
    """Mass matrix of the body in the heights of its two ends, in m, k, a, b; diagonal where k^2 = a b."""
    k = sp.Symbol("k", positive=True)
    from_ends = sp.Matrix([[b, a], [1, -1]]) / (a + b)  # z and theta from z_s1 and z_s2
    return sp.ImmutableMatrix((from_ends.T * sp.diag(m, m * k**2) * from_ends).applyfunc(sp.factor))


def derivation():
    """The reduced half-car in named `Step`s: ends, energies, bounce, pitch, and when the ends part."""
    kinetic, potential, _ = energies(wheels=False)
    form = matrices(wheels=False)
    forces = (sp.collect(sp.expand(-row), (z, theta)) for row in form.K * sp.Matrix(BODY_ALONE))
    bounce, pitch = (
        sp.Eq(inertia * sp.Symbol(rf"\ddot{{{symbol}}}"), force)
        for inertia, symbol, force in zip((m, J), ("z", r"\theta"), forces, strict=True)
    )
    frequencies = sp.Eq((form.K - sp.Symbol(r"\omega", positive=True) ** 2 * form.M).det(), 0)
    return (
        Step("Ends", "A rigid body, small angles: front and rear height.", sp.Tuple(FRONT, REAR)),
        Step("Kinetic energy", "Mass centre and rotation.", kinetic),
        Step("Potential energy", "Each spring between its end of the body and the road.", potential),
        Step("Bounce, road flat", "Pitch enters by $a k_{s1} - b k_{s2}$.", bounce),
        Step("Pitch, road flat", "Bounce enters by the same term.", pitch),
        Step("Modes", "Both swing at one frequency.", frequencies),
        Step("Masses of the ends", "In the ends' heights, no mass is shared if $k^2 = a b$.", end_masses()),
    )


@lru_cache
def _compiled(wheels):
    form = matrices(wheels)
    return sp.lambdify(PARAMETERS, [form.M, form.C, form.K, form.G, form.H], "numpy")


def numbers(car):
    """A car's values in the order of PARAMETERS."""
    names = ("wheel_mass", "spring_rate", "damping", "tyre_rate")
    ends = (getattr(end, name) for name in names for end in (car.front, car.rear))
    return car.body_mass, car.pitch_inertia, car.front_arm, car.rear_arm, *ends


def numeric_matrices(car, wheels=True):
    """`matrices(wheels)` with a car's numbers, as float arrays."""
    return Matrices(matrices(wheels).coordinates, *map(np.asarray, _compiled(wheels)(*numbers(car))))


def _dynamics(form):
    """A of x' = A x for x = (q, q'); the mass matrix is diagonal in these coordinates."""
    n, mass = len(form.M), np.diag(form.M)[:, None]
    return np.block([[np.zeros((n, n)), np.eye(n)], [-form.K / mass, -form.C / mass]])


@lru_cache
def _rows(output, wheels):
    """Rows that make an output of the coordinates and of the road, as a compiled function of the parameters."""
    expression = OUTPUTS[output] if wheels else OUTPUTS[output].subs({z_u1: z_r1, z_u2: z_r2})
    q = matrices(wheels).coordinates
    return sp.lambdify(PARAMETERS, [[expression.diff(symbol) for symbol in symbols] for symbols in (q, ROAD)], "numpy")


def _output(car, output, wheels):
    """(row of q, row of r, whether the second time derivative is asked)."""
    base = output.removesuffix("_acceleration")
    if base not in OUTPUTS:
        raise ValueError(
            f"Half-car: output is {output!r}; allowed are {', '.join(OUTPUTS)}, each with _acceleration as well."
        )
    return *(np.array(row, dtype=float) for row in _rows(base, wheels)(*numbers(car))), base != output


STATE_SPACE_OUTPUTS = (
    "bounce_acceleration", "pitch_acceleration", "front_acceleration", "rear_acceleration",
    "travel_front", "travel_rear", "tyre_front", "tyre_rear",
)  # fmt: skip


def state_space(car):
    """The numeric `StateSpace` with wheels: states q, q' (8), inputs z_r1, z_r2, outputs STATE_SPACE_OUTPUTS; SI."""
    form = numeric_matrices(car)
    A, B = _dynamics(form), np.vstack([np.zeros((4, 2)), form.G / np.diag(form.M)[:, None]])
    C, D = np.zeros((8, 8)), np.zeros((8, 2))
    for i, name in enumerate(STATE_SPACE_OUTPUTS):
        q, r, accelerates = _output(car, name, True)
        C[i], D[i] = (q @ A[4:], q @ B[4:]) if accelerates else (np.append(q, np.zeros(4)), r)
    names = tuple(map(str, form.coordinates))
    return StateSpace((*names, *(f"{name} rate" for name in names)), ("z_r1", "z_r2"), STATE_SPACE_OUTPUTS, A, B, C, D)


def frequency_response(car, output, frequency_hz, speed=math.inf, wheels=True):
    """Complex ratio of an output to the road's height, of the shape of `frequency_hz`.

    output: a key of OUTPUTS, or one with '_acceleration'; pitch in rad per m. The rear wheel meets what the front met
    L / v before, at `speed` in m/s; by default both at once. Raises ValueError for another output.
    """
    form = numeric_matrices(car, wheels)
    q, r, accelerates = _output(car, output, wheels)
    s = 2j * np.pi * np.asarray(frequency_hz, dtype=float)[..., None, None]
    delayed = np.exp(-s * car.wheelbase / speed)
    road = np.concatenate([np.ones_like(delayed), delayed], axis=-2)
    motion = np.linalg.solve(s**2 * form.M + s * form.C + form.K, (form.G + s * form.H) @ road)
    return ((q @ motion + r @ road) * (s[..., 0] ** 2 if accelerates else 1.0))[..., 0]


# --- modes ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Modes:
    """Undamped modes, slowest first, and the poles with dampers.

    frequency_hz (n,); shape (n, n), a row of coordinates per mode; node (n,): where the body stands still, m ahead of
    the mass centre (behind it if negative), inf for pure bounce. kind (n,): 'front wheel' or 'rear wheel' where that
    wheel has most of the kinetic energy, else 'pitch' where the node lies between the axles and 'bounce' where it does
    not. poles (2 n,) in 1/s, with pole_hz and pole_damping_ratio.
    """

    frequency_hz: np.ndarray
    shape: np.ndarray
    node: np.ndarray
    kind: tuple
    poles: np.ndarray
    pole_hz: np.ndarray
    pole_damping_ratio: np.ndarray


def modes(car, wheels=True):
    """The `Modes` of a half-car: four with wheels, two of the body on its springs alone without."""
    form = numeric_matrices(car, wheels)
    root = np.sqrt(np.diag(form.M))
    squares, vectors = np.linalg.eigh(form.K / np.outer(root, root))
    with np.errstate(divide="ignore"):
        node = -(vectors[0] / root[0]) / (vectors[1] / root[1])
    kinds = []
    for where, share in zip(node, vectors.T**2, strict=True):
        wheel = share[2:].argmax() if wheels and share[2:].max() > 0.5 else None
        body = "pitch" if -car.rear_arm <= where <= car.front_arm else "bounce"
        kinds.append(body if wheel is None else ("front wheel", "rear wheel")[wheel])
    poles = np.linalg.eigvals(_dynamics(form))
    poles = poles[np.lexsort((poles.imag, np.abs(poles).round(9)))]
    hertz = np.sqrt(squares) / (2 * np.pi)
    size = np.abs(poles)
    return Modes(hertz, (vectors / root[:, None]).T, node, tuple(kinds), poles, size / (2 * np.pi), -poles.real / size)


@dataclass(frozen=True, eq=False)
class WheelbaseFilter:
    """What two wheels in line make of a wave: bounce, the mean of both heights, and pitch, half their difference, each
    over the wave's height; shape of the frequencies asked.
    """

    bounce: np.ndarray
    pitch: np.ndarray


def wheelbase_filter(frequency_hz, speed, wheelbase):
    """The `WheelbaseFilter` |cos(pi f L / v)|, |sin(pi f L / v)|; Hz, m/s, m."""
    phase = np.pi * np.asarray(frequency_hz, dtype=float) * wheelbase / speed
    return WheelbaseFilter(np.abs(np.cos(phase)), np.abs(np.sin(phase)))


@dataclass(frozen=True, eq=False)
class Nulls:
    """Frequencies in Hz that the wheelbase keeps out of bounce, and those that it keeps out of pitch; (count,) each."""

    bounce: np.ndarray
    pitch: np.ndarray


def nulls(speed, wheelbase, count=3):
    """The first `Nulls`: (n + 1/2) v / L from n = 0 and n v / L from n = 1; m/s, m."""
    n = np.arange(count)
    return Nulls((n + 0.5) * speed / wheelbase, (n + 1.0) * speed / wheelbase)
