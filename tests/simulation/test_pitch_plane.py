"""Bounce and pitch against published examples, two libraries, and facts that need no model."""

import math

import control
import nbformat
import numpy as np
import pitch_plane
import pytest
import scipy.linalg
import sympy as sp
from hypothesis import assume, given
from hypothesis import strategies as st
from pitch_plane import STATE_SPACE_OUTPUTS, WITH_WHEELS, frequency_response, modes, nulls

from helpers import course
from helpers.models import quarter_car
from helpers.models.half_car import HALF_CARS, HalfCar, two_wheels
from helpers.models.vehicles import Vehicle
from helpers.teaching.course import workbooks_folder

FREQUENCY = np.geomspace(0.1, 60.0, 50)
EVERY_CAR = pytest.mark.parametrize("car", HALF_CARS.values(), ids=lambda car: car.name)
vehicles = st.builds(  # the size of a bike to that of a lorry's corner
    Vehicle, st.just("any"), body_mass=st.floats(20.0, 1000.0), wheel_mass=st.floats(1.0, 100.0),
    spring_rate=st.floats(3e3, 1e5), tyre_rate=st.floats(5e4, 5e5), damping=st.floats(100.0, 5e3),
)  # fmt: skip
half_cars = st.builds(HalfCar, st.just("any"), vehicles, vehicles, st.floats(0.5, 4.0), st.floats(0.2, 2.0))


def textbook(mass, gyration, a, b, front_rate, rear_rate, **wheels):
    """A half-car from a textbook's data; any consistent units."""
    rest = {"wheel_mass": 20.0, "tyre_rate": 2e5, "damping": 0.0} | wheels
    length = a + b
    front = Vehicle("front", body_mass=mass * b / length, spring_rate=front_rate, **rest)
    return HalfCar(
        "textbook", front, front.changed(body_mass=mass * a / length, spring_rate=rear_rate), length, gyration
    )


# --- published examples -----------------------------------------------------------------------------------------


def test_automobile_of_rao():
    # Rao, Mechanical Vibrations, frequencies and modes of an automobile: 1000 kg, radius of gyration 0.9 m, 1.0 m and
    # 1.5 m, 18 and 22 kN/m; 5.8593 and 9.4341 rad/s. The ratios 2.6461 and 0.3061 m are from memory.
    found = modes(textbook(1000.0, 0.9, 1.0, 1.5, 18e3, 22e3), wheels=False)
    assert 2 * np.pi * found.frequency_hz == pytest.approx([5.8593, 9.4341], abs=5e-5)
    assert np.abs(found.node) == pytest.approx([2.6461, 0.3061], abs=5e-5)
    assert found.kind == ("bounce", "pitch")


def test_automobile_of_thomson():
    # Thomson, Theory of Vibration with Applications, section 5.3 (as reprinted): 3220 lb or 100 slug, 4.5 ft and
    # 5.5 ft, 2400 and 2600 lb/ft, radius of gyration 4 ft: 6.90 and 9.06 rad/s, from 7.07 and 8.92 uncoupled, vertical
    # stiffness 5000, rotational 127 250. Nodes at 14.6 and 1.09 ft (from memory; 1.09 and 9.06 worked by slide rule).
    car = textbook(100.0, 4.0, 4.5, 5.5, 2400.0, 2600.0)
    form, found = pitch_plane.numeric_matrices(car, wheels=False), modes(car, wheels=False)
    assert np.diag(form.M) == pytest.approx([100.0, 1600.0])
    assert np.diag(form.K) == pytest.approx([5000.0, 127_250.0])
    assert np.sqrt(np.diag(form.K) / np.diag(form.M)) == pytest.approx([7.07, 8.92], abs=0.005)
    assert 2 * np.pi * found.frequency_hz == pytest.approx([6.90, 9.06], abs=0.01)
    assert np.abs(found.node) == pytest.approx([14.6, 1.09], rel=0.01)


def test_matrices_of_thomson_with_wheels():
    # Thomson, problem on four degrees of freedom (as reprinted), pitch positive nose down, tyres k_0, wheels m_0:
    # rows x, theta, x_1, x_2 of the stiffness matrix as printed there.
    k1, k2, l1, l2, k0, m0 = 2000.0, 2400.0, 4.4, 5.6, 9000.0, 3.0
    printed = np.array([
        [k1 + k2, k2 * l2 - k1 * l1, -k1, -k2],
        [k2 * l2 - k1 * l1, k1 * l1**2 + k2 * l2**2, k1 * l1, -k2 * l2],
        [-k1, k1 * l1, k0 + k1, 0.0],
        [-k2, -k2 * l2, 0.0, k0 + k2],
    ])  # fmt: skip
    mass = 3500.0 / 32.2
    car = textbook(mass, 4.0, l1, l2, k1, k2, wheel_mass=m0, tyre_rate=k0)
    form, nose_up = pitch_plane.numeric_matrices(car), np.diag([1.0, -1.0, 1.0, 1.0])
    np.testing.assert_allclose(nose_up @ form.K @ nose_up, printed, rtol=1e-12)
    np.testing.assert_allclose(form.M, np.diag([mass, 16.0 * mass, m0, m0]), rtol=1e-12)


def test_two_axle_car_of_edwards_and_penney():
    # Edwards and Penney, Differential Equations, section 7.4, problem 24 (as reprinted): 100 slug, inertia 1000,
    # springs 2000 lb/ft at 6 ft and 4 ft: 6.13 and 10.31 rad/s, cut after two decimals. A road of 40 ft waves shakes at
    # omega = 2 pi v / 40.
    car = textbook(100.0, math.sqrt(10.0), 6.0, 4.0, 2000.0, 2000.0)
    found = modes(car, wheels=False)
    assert np.floor(200 * np.pi * found.frequency_hz) / 100 == pytest.approx([6.13, 10.31], rel=1e-12)
    for hertz in found.frequency_hz:
        off, critical = (
            abs(frequency_response(car, "bounce", speed / 40.0, speed, wheels=False))
            for speed in (0.8 * 40.0 * hertz, (1 + 1e-6) * 40.0 * hertz)
        )
        assert critical > 1e3 * off


# --- facts that need no model -----------------------------------------------------------------------------------


@given(half_cars)
def test_centres_of_oscillation_are_conjugate(car):
    # Each centre is the centre of percussion of the other: their distances from the mass centre multiply to k^2
    # (Huygens; orthogonal modes).
    found = modes(car, wheels=False)
    assume(np.abs(found.node).max() < 1e4)  # in pure bounce one is infinitely far
    assert found.node[0] * found.node[1] == pytest.approx(-(car.gyration**2), rel=1e-6)


@given(half_cars)
def test_coupling_spreads_the_frequencies(car):
    # Interlacing: coupled frequencies lie outside the uncoupled ones (Thomson asks for the proof in a problem).
    form = pitch_plane.numeric_matrices(car, wheels=False)
    alone = np.sort(np.sqrt(np.diag(form.K) / np.diag(form.M)))
    both = 2 * np.pi * modes(car, wheels=False).frequency_hz
    assert both[0] <= alone[0] * (1 + 1e-9) and both[1] >= alone[1] * (1 - 1e-9)


@given(half_cars)
def test_modes_with_wheels_against_scipy(car):
    form = pitch_plane.numeric_matrices(car)
    squares, vectors = scipy.linalg.eigh(form.K, form.M)
    found = modes(car)
    assert found.frequency_hz == pytest.approx(np.sqrt(squares) / (2 * np.pi), rel=1e-7)
    overlap = np.abs(found.shape @ form.M @ vectors)
    assert np.diag(overlap) == pytest.approx(np.ones(4), abs=1e-4) or np.min(np.diff(squares) / squares[1:]) < 1e-6


@EVERY_CAR
def test_poles_against_python_control(car):
    form = pitch_plane.state_space(car)
    frequency, ratio, _ = control.damp(control.ss(form.A, form.B, form.C, form.D), doprint=False)
    found = modes(car)
    assert found.pole_hz == pytest.approx(np.sort(frequency) / (2 * np.pi), rel=1e-9)
    assert np.sort(found.pole_damping_ratio) == pytest.approx(np.sort(ratio), rel=1e-9)


@given(half_cars)
def test_decoupled_ends_on_springs_alone(car):
    # k^2 = a b (derived): w = sqrt(k_1 L / (m b)) with its node at the other axle, and likewise.
    parted = car.decoupled()
    m, length, a, b = car.body_mass, car.wheelbase, car.front_arm, car.rear_arm
    ends = [math.sqrt(car.front.spring_rate * length / (m * b)), math.sqrt(car.rear.spring_rate * length / (m * a))]
    found = modes(parted, wheels=False)
    order = np.argsort(ends)
    assert 2 * np.pi * found.frequency_hz == pytest.approx(np.array(ends)[order], rel=1e-9)
    if abs(ends[0] / ends[1] - 1) > 1e-3:
        assert found.node == pytest.approx(np.array([-b, a])[order], rel=1e-4)


@EVERY_CAR
@pytest.mark.parametrize("output", ["travel", "acceleration", "tyre_deflection"])
def test_decoupled_ends_are_two_quarter_cars(car, output):
    parted, speed = car.decoupled(), 7.0
    ours = {"travel": "travel_{}", "acceleration": "{}_acceleration", "tyre_deflection": "tyre_{}"}[output]
    late = np.exp(-2j * np.pi * FREQUENCY * car.wheelbase / speed)
    for name, end, phase in (("front", car.front, 1.0), ("rear", car.rear, late)):
        alone = quarter_car.frequency_response(end, output, FREQUENCY) * phase
        found = frequency_response(parted, ours.format(name), FREQUENCY, speed)
        np.testing.assert_allclose(found, alone, rtol=1e-9, atol=1e-11)


def test_masses_of_the_ends():
    # Statics and Steiner: with k^2 = a b the body is two masses, m b / L over the front wheel, m a / L over the rear.
    m, a, b, k = pitch_plane.m, pitch_plane.a, pitch_plane.b, sp.Symbol("k", positive=True)
    parted = pitch_plane.end_masses().subs(k, sp.sqrt(a * b)).applyfunc(sp.simplify)
    assert parted == sp.diag(m * b / (a + b), m * a / (a + b))
    assert sp.simplify(sum(pitch_plane.end_masses()) - m) == 0  # both ends moved alike move the whole mass


@pytest.mark.parametrize("wheels", [True, False])
def test_nothing_strains_where_road_and_body_rise_or_tilt_together(wheels):
    form = pitch_plane.matrices(wheels)
    for body, road in (((1, 0), (1, 1)), ((0, 1), (pitch_plane.a, -pitch_plane.b))):
        q = sp.Matrix([*body, *(road if wheels else ())])
        assert sp.simplify(form.K * q - form.G * sp.Matrix(road)) == sp.zeros(len(q), 1)
    assert form.M.is_symmetric() and form.C.is_symmetric() and form.K.is_symmetric()


def test_equations_agree_with_newton():
    # Written by hand: force of each end on the body pulls down at its arm.
    end = sp.symbols("f_1 f_2")
    q, rates = sp.Matrix(WITH_WHEELS), sp.Matrix([pitch_plane.rate(symbol) for symbol in WITH_WHEELS])
    travel = [pitch_plane.OUTPUTS["travel_front"], pitch_plane.OUTPUTS["travel_rear"]]
    strut = ((pitch_plane.k_1, pitch_plane.c_1), (pitch_plane.k_2, pitch_plane.c_2))
    force = [k * x + c * pitch_plane.rate(x) for (k, c), x in zip(strut, travel, strict=True)]
    tyre = [pitch_plane.k_t1 * pitch_plane.OUTPUTS["tyre_front"], pitch_plane.k_t2 * pitch_plane.OUTPUTS["tyre_rear"]]
    newton = sp.Matrix([
        -end[0] - end[1], -pitch_plane.a * end[0] + pitch_plane.b * end[1], end[0] - tyre[0], end[1] - tyre[1]
    ]).subs(dict(zip(end, force, strict=True)))  # fmt: skip
    form = pitch_plane.matrices()
    lagrange = form.G * sp.Matrix(pitch_plane.ROAD) - form.C * rates - form.K * q
    assert (newton - lagrange).expand() == sp.zeros(4, 1)


# --- wheelbase filter ---------------------------------------------------------------------------------------------

SYMMETRIC = HalfCar("alike", HALF_CARS["carrier"].rear, HALF_CARS["carrier"].rear, 1.6, 0.7)


@pytest.mark.parametrize("wheels", [True, False])
@pytest.mark.parametrize("speed", [2.0, 10.0])
def test_wheelbase_nulls(wheels, speed):
    # Gillespie, Fundamentals of Vehicle Dynamics, wheelbase filtering (from memory): no bounce at (n + 1/2) v / L, no
    # pitch at n v / L, of a car alike at both ends.
    found = nulls(speed, 1.6)
    assert found.bounce == pytest.approx(speed / 1.6 * np.array([0.5, 1.5, 2.5]))
    for output, at in (("bounce", found.bounce), ("pitch", found.pitch)):
        passed = np.abs(frequency_response(SYMMETRIC, output, at + speed / 6.4, speed, wheels))
        kept_out = np.abs(frequency_response(SYMMETRIC, output, at, speed, wheels))
        assert (kept_out < 1e-12 * passed.max()).all()


def test_filter_is_what_the_two_wheels_meet():
    # Independent: heights of a sine under both wheels over one period.
    frequency, speed, length = 3.3, 9.0, 1.48
    time = np.linspace(0.0, 1 / frequency, 4001)[:-1]
    front, rear = (np.sin(2 * np.pi * frequency * (time - late)) for late in (0.0, length / speed))
    found = pitch_plane.wheelbase_filter(frequency, speed, length)
    assert found.bounce == pytest.approx(np.abs(front + rear).max() / 2, rel=1e-5)
    assert found.pitch == pytest.approx(np.abs(front - rear).max() / 2, rel=1e-5)
    assert found.bounce**2 + found.pitch**2 == pytest.approx(1.0, rel=1e-12)
    # The response of a car alike at both ends is the filter times its response to one road under both wheels.
    together = abs(frequency_response(SYMMETRIC, "bounce", frequency))
    delayed = abs(frequency_response(SYMMETRIC, "bounce", frequency, speed))
    own = pitch_plane.wheelbase_filter(frequency, speed, 1.6).bounce
    assert delayed == pytest.approx(together * own, rel=1e-12)


# --- state space ----------------------------------------------------------------------------------------------------


@EVERY_CAR
def test_state_space_and_frequency_response_against_python_control(car):
    form, speed = pitch_plane.state_space(car), 6.0
    at = 2j * np.pi * FREQUENCY
    response = control.ss(form.A, form.B, form.C, form.D)(at)
    for row, output in enumerate(STATE_SPACE_OUTPUTS):
        expected = response[row, 0] + response[row, 1] * np.exp(-at * car.wheelbase / speed)
        found = frequency_response(car, output, FREQUENCY, speed)
        np.testing.assert_allclose(found, expected, rtol=1e-8, atol=1e-10 * np.abs(expected).max())


@EVERY_CAR
@pytest.mark.parametrize("wheels", [True, False])
def test_slow_waves_carry_the_body_along(car, wheels):
    assert frequency_response(car, "bounce", 1e-4, wheels=wheels) == pytest.approx(1.0, abs=1e-6)
    assert abs(frequency_response(car, "pitch", 1e-4, wheels=wheels)) < 1e-6
    # With a speed, pitch follows the slope of the ground: -i omega / v.
    slope = -2j * np.pi * 1e-3 / 5.0
    assert abs(frequency_response(car, "pitch", 1e-3, 5.0, wheels) / -slope - 1) < 2e-3


def test_derivation_reads_like_the_matrices():
    steps = {part.name: part for part in pitch_plane.derivation()}
    assert r"\ddot{z}" in steps["Bounce, road flat"]._repr_markdown_()
    square = sp.Symbol(r"\omega", positive=True)
    car = HALF_CARS["bike"]
    values = dict(zip(pitch_plane.PARAMETERS, pitch_plane.numbers(car), strict=True))
    roots = sp.Poly(steps["Modes"].result.lhs.subs(values), square).nroots()
    found = sorted(float(sp.re(root)) / (2 * math.pi) for root in roots if sp.re(root) > 0)
    assert found == pytest.approx(modes(car, wheels=False).frequency_hz, rel=1e-9)


@pytest.mark.parametrize("cell", ["modes", "nulls"])
def test_workbook_07_tells_the_same(cell):
    page = nbformat.read(workbooks_folder() / "07-two-wheels.ipynb", as_version=4)
    names = {name: getattr(course, name) for name in course.__all__} | {"whole": HALF_CARS["bike"]}
    exec(next(one.source for one in page.cells if one.id == cell), names)
    if cell == "nulls":
        told, found = list(names["nulls"](7.0).values()), nulls(7.0, 1.2)
        assert told == pytest.approx([*found.bounce[:2], *found.pitch[:2]])
        return
    for vehicle in (course.bike, course.motorcycle, course.carrier):
        told, found = list(names["modes"](vehicle).values()), modes(two_wheels(vehicle), wheels=False)
        assert told[:4:2] == pytest.approx(found.frequency_hz) and told[1:4:2] == pytest.approx(found.node)


def test_unknown_output_is_named():
    with pytest.raises(ValueError, match=r"output is 'roll'; allowed are bounce, pitch, .*_acceleration as well\."):
        frequency_response(SYMMETRIC, "roll", 1.0)
