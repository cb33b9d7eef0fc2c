"""Invariant points, mean squares, best dampers, heat and isolators against publications and other computations."""

import control
import numpy as np
import pytest
import sympy as sp
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.linalg import solve_continuous_lyapunov
from scipy.optimize import minimize_scalar

from fleet import FLEET, REFERENCE
from helpers.models import closed_forms, quarter_car
from helpers.models.closed_forms import W, c, k_s, k_t, m_s, m_u
from helpers.models.quarter_car import PARAMETERS, PASSIVE, Z_r, Z_s, Z_u, s
from helpers.models.vehicles import Vehicle

M = m_s + m_u
OUTPUTS = ("acceleration", "travel", "tyre_deflection", "relative_velocity")
SETTINGS = settings(derandomize=True, deadline=None, max_examples=60)

vehicles = st.from_type(Vehicle)
gains = st.lists(st.floats(-2e3, 2e3), min_size=4, max_size=4)


def test_invariants_are_the_published_ones():
    # Hedrick and Butsuen, Invariant properties of automotive suspensions, Proc. IMechE D 204 (1990), from memory.
    body, travel = closed_forms.invariant_points()
    assert sp.simplify(body.frequency - sp.sqrt(k_t / m_u)) == sp.simplify(body.value + m_u / m_s) == 0
    assert sp.simplify(travel.frequency - sp.sqrt(k_t / M)) == sp.simplify(travel.value + M / m_s) == 0
    for point in (body, travel):
        assert point.steps[0].result.has(quarter_car.f) is False
        assert point.steps[-1].result.rhs == point.value


@SETTINGS
@given(vehicles, st.floats(1.0, 2e4))
def test_invariants_hold_for_every_damper(vehicle, damping):
    for point in closed_forms.invariant_points():
        there = point.at(vehicle)
        response = quarter_car.frequency_response(vehicle, point.output, there.frequency_hz, damping)
        assert response == pytest.approx(there.value, rel=1e-8)


def feedback(gain):
    """A suspension force with feedback of body speed, wheel height, tyre deflection and a lagged body acceleration."""
    lagged = s**2 * Z_s / (1 + s / 50)
    return PASSIVE + gain[0] * s * Z_s + gain[1] * Z_u + gain[2] * (Z_u - Z_r) + gain[3] * lagged / 100


@pytest.fixture(scope="module")
def fed_back():
    symbols = sp.symbols("g_1:5")
    force = feedback(symbols)
    return {
        point.output: sp.lambdify(
            (s, symbols, *PARAMETERS), quarter_car.transfer_function(point.output, force=force), "numpy"
        )
        for point in closed_forms.invariant_points()
    }


@SETTINGS
@given(vehicle=vehicles, gain=gains)
def test_invariants_hold_for_feedback(fed_back, vehicle, gain):
    for point in closed_forms.invariant_points():
        there = point.at(vehicle)
        response = fed_back[point.output](2j * np.pi * there.frequency_hz, gain, *quarter_car.numbers(vehicle))
        assert response == pytest.approx(there.value, rel=1e-8)


def test_wheel_hop_invariant_holds_for_a_nonlinear_damper():
    # For a damper that is no filter at all, the invariant holds for the part of the motion at the shaking frequency.
    there = closed_forms.invariant_points()[0].at(REFERENCE)
    omega = 2 * np.pi * there.frequency_hz

    def rates(time, state):
        height, speed, wheel, wheel_speed = state
        rate = speed - wheel_speed
        force = REFERENCE.spring_rate * (height - wheel) + (2500.0 if rate > 0.0 else 700.0) * rate
        tyre = REFERENCE.tyre_rate * (wheel - 0.01 * np.sin(omega * time))
        return speed, -force / REFERENCE.body_mass, wheel_speed, (force - tyre) / REFERENCE.wheel_mass

    settled, count = 100, 40  # periods; the first 100, 9.5 s, let the body's own swing die out below 1e-9
    time = (settled + np.arange(count * 200) / 200) / there.frequency_hz
    answer = solve_ivp(rates, (0, time[-1]), np.zeros(4), "DOP853", time, rtol=1e-9, atol=1e-12)
    amplitude = 2 * np.mean(answer.y[0] * np.exp(-1j * omega * time)) / (0.01 / 1j)
    assert amplitude == pytest.approx(there.value, rel=1e-5)


def test_mean_squares_are_the_expressions_derived_by_hand():
    # White-velocity road; worked out apart from this code, by hand. M = m_s + m_u.
    expected = {
        "acceleration": W / 2 * (c * k_t / m_s**2 + k_s**2 * M / (c * m_s**2)),
        "travel": W * M / (2 * c),
        "relative_velocity": W * k_t / (2 * c),
        "tyre_deflection": W / 2 * (
            M**2 * c / (k_t * m_s**2) + k_s**2 * M**3 / (c * k_t**2 * m_s**2) - 2 * k_s * m_u * M / (c * k_t * m_s)
            + m_u / c
        ),
    }  # fmt: skip
    for output, expression in expected.items():
        assert sp.simplify(closed_forms.mean_square(output) - expression) == 0


@SETTINGS
@given(vehicles, st.floats(1e-6, 1e-1))
def test_mean_squares_against_scipy_lyapunov(vehicle, intensity):
    form = quarter_car.numeric_state_space(vehicle)
    road = form.B[:, :1]
    covariance = solve_continuous_lyapunov(form.A, -intensity * road @ road.T)
    squares = np.diag(form.C @ covariance @ form.C.T)
    ours = closed_forms.trade_off(vehicle, intensity)
    rms = [getattr(ours, f"{output}_rms") for output in form.outputs]
    np.testing.assert_allclose(np.square(rms), squares, rtol=1e-9)


@pytest.mark.parametrize("vehicle", FLEET.values(), ids=lambda vehicle: vehicle.name)
@pytest.mark.parametrize("output", OUTPUTS)
def test_mean_squares_against_two_other_ways(vehicle, output):
    # The H2 norm of python-control, and the integral of the squared response over frequency (Parseval), by scipy.
    form = quarter_car.numeric_state_space(vehicle)
    row = form.outputs.index(output)
    norm = control.norm(control.ss(form.A, form.B[:, :1], form.C[row], 0), p=2)
    assert getattr(closed_forms.trade_off(vehicle, 1.0), f"{output}_rms") == pytest.approx(norm, rel=1e-9)

    def power(log_frequency):
        frequency = np.exp(log_frequency)
        return 2 * frequency * abs(quarter_car.frequency_response(vehicle, output, frequency, per="velocity")) ** 2

    area, _ = quad(power, np.log(1e-5), np.log(1e7), limit=400, epsrel=1e-9)
    assert area == pytest.approx(norm**2, rel=1e-5)


@pytest.mark.parametrize("vehicle", [*FLEET.values(), REFERENCE], ids=lambda vehicle: vehicle.name)
def test_best_dampers_against_numeric_minimisation(vehicle):
    def square(log_damping, output):
        form = quarter_car.numeric_state_space(vehicle, np.exp(log_damping))
        road = form.B[:, :1]
        row = form.C[form.outputs.index(output)]
        return row @ solve_continuous_lyapunov(form.A, -road @ road.T) @ row

    for output, best in (
        ("acceleration", closed_forms.comfort_damping(vehicle)),
        ("tyre_deflection", closed_forms.grip_damping(vehicle)),
    ):
        found = minimize_scalar(square, bracket=(5.0, 9.0), args=(output,), tol=1e-12).x
        assert best == pytest.approx(np.exp(found), rel=1e-6)
    # Common practice, no source: the damper of best comfort is softer than the damper of best grip.
    assert closed_forms.comfort_damping(vehicle) < closed_forms.grip_damping(vehicle)


def test_least_acceleration_needs_the_known_coefficient():
    assert sp.simplify(closed_forms.best_damping("acceleration") - k_s * sp.sqrt(M / k_t)) == 0


def test_trade_off_is_a_trade_off():
    vehicle = FLEET["carrier"]
    between = np.linspace(closed_forms.comfort_damping(vehicle), closed_forms.grip_damping(vehicle), 20)
    curve = closed_forms.trade_off(vehicle, 1e-3, between)
    assert np.all(np.diff(curve.acceleration_rms) > 0)  # comfort lost ...
    assert np.all(np.diff(curve.load_share_rms) < 0)  # ... buys grip
    assert np.all(np.diff(curve.travel_rms) < 0)
    load = vehicle.tyre_rate * curve.tyre_deflection_rms / ((vehicle.body_mass + vehicle.wheel_mass) * 9.80665)
    np.testing.assert_allclose(curve.load_share_rms, load, rtol=1e-12)


@SETTINGS
@given(vehicles, st.floats(10.0, 1e4))
def test_heat_depends_on_road_speed_and_tyre_only(vehicle, damping):
    # Zuo and Zhang, J. Dyn. Sys. Meas. Control 135 (2013): pi^2 n0^2 Gd(n0) v k_t, n0 = 0.1 cycle/m.
    gd, speed = 64e-6, 20.0
    intensity = 2 * np.pi**2 * 0.1**2 * gd * speed
    expected = np.pi**2 * 0.1**2 * gd * speed * vehicle.tyre_rate
    changed = vehicle.changed(damping=damping)
    assert closed_forms.mean_damper_power(changed, intensity) == pytest.approx(expected, rel=1e-9)
    heat = damping * closed_forms.trade_off(vehicle, intensity, damping).relative_velocity_rms ** 2
    assert heat == pytest.approx(expected, rel=1e-9)


def test_heat_of_a_car_is_of_the_published_size():
    # Zuo and Zhang (2013), abstract: 100 to 400 W for a car at 60 mph. Four wheels, tyre rate of 200 kN/m (common
    # practice, no source), ISO 8608 class B, a good road.
    car = Vehicle("car", body_mass=350.0, wheel_mass=40.0, spring_rate=20e3, tyre_rate=200e3, damping=1500.0)
    intensity = 2 * np.pi**2 * 0.1**2 * 64e-6 * 60 * 0.44704
    assert 100.0 < 4 * closed_forms.mean_damper_power(car, intensity) < 400.0


def test_isolator_passes_the_road_unchanged_at_root_two():
    # Den Hartog, Mechanical Vibrations: every curve crosses 1 at r = sqrt 2, whatever the damper.
    ratio = np.geomspace(1e-3, 10.0, 50)
    np.testing.assert_allclose(closed_forms.compiled_isolator()(np.sqrt(2.0), ratio), 1.0, rtol=1e-12)
    # Below, more damping passes less; above, more damping passes more.
    assert np.all(np.diff(closed_forms.compiled_isolator()(1.2, ratio)) < 0)
    assert np.all(np.diff(closed_forms.compiled_isolator()(2.0, ratio)) > 0)


def test_isolator_and_skyhook_are_the_textbook_expressions():
    r, zeta = closed_forms.r, closed_forms.zeta
    # Den Hartog, Mechanical Vibrations; Karnopp, Crosby and Harwood, J. Eng. Ind. 96 (1974).
    below = (1 - r**2) ** 2 + (2 * zeta * r) ** 2
    assert sp.simplify(closed_forms.isolator_transmissibility() ** 2 - (1 + (2 * zeta * r) ** 2) / below) == 0
    assert sp.simplify(closed_forms.isolator_transmissibility(skyhook=True) ** 2 - 1 / below) == 0


def test_skyhook_has_no_peak_from_one_over_root_two():
    r = np.geomspace(1e-3, 100.0, 20_001)
    evaluate = closed_forms.compiled_isolator(skyhook=True)
    for ratio in (1 / np.sqrt(2), 0.8, 1.0, 2.0):
        assert np.max(evaluate(r, ratio)) <= 1 + 1e-9
    # Below, the peak stands at r = sqrt(1 - 2 zeta^2) and is 1 / (2 zeta sqrt(1 - zeta^2)): the second-order low-pass.
    for ratio in (0.2, 0.5, 0.7):
        assert np.max(evaluate(r, ratio)) == pytest.approx(1 / (2 * ratio * np.sqrt(1 - ratio**2)), rel=1e-6)


def test_units():
    metre, second, kilogram = sp.symbols("m s kg", positive=True)
    assert closed_forms.units_of(closed_forms.mean_square("acceleration")) == metre**2 / second**4
    assert closed_forms.units_of(closed_forms.mean_square("tyre_deflection")) == metre**2
    assert closed_forms.units_of(closed_forms.best_damping("tyre_deflection")) == kilogram / second
    assert closed_forms.units_of(closed_forms.mean_power()) == kilogram * metre**2 / second**3  # watt
    assert closed_forms.units_of(quarter_car.transfer_function("body")) == 1
    with pytest.raises(ValueError, match="adds terms of different units"):
        closed_forms.units_of(m_s + k_s)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: closed_forms.mean_square("roll"), "output is 'roll'; allowed are acceleration, travel"),
        (lambda: closed_forms.best_damping("travel"), "output is 'travel'; allowed are 'acceleration' and"),
        (lambda: closed_forms.trade_off(REFERENCE, 1e-3, [0.0, 1.0]), "damping is 0 N s/m; allowed is above 0 N s/m."),
        (lambda: closed_forms.trade_off(REFERENCE, -1.0), "intensity is -1.0 m2/s; allowed is 0 and more, finite."),
        (lambda: closed_forms.mean_damper_power(REFERENCE, np.inf), "intensity is inf m2/s"),
    ],
)
def test_errors_name_value_and_range(call, sentence):
    with pytest.raises(ValueError) as raised:
        call()
    assert sentence in str(raised.value)
    assert str(raised.value).endswith(".")
