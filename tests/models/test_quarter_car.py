"""The quarter car's equations against published matrices, two reference libraries and facts that need no model."""

import control
import numpy as np
import pytest
import sympy as sp
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import expm

from fleet import FLEET, REFERENCE, TRAIL_BIKE
from helpers.models import quarter_car
from helpers.models.quarter_car import OUTPUTS, SKYHOOK, c, k_s, k_t, m_s, m_u, s
from helpers.models.vehicles import Vehicle

FREQUENCY = np.geomspace(0.05, 200.0, 60)
EVERY_VEHICLE = pytest.mark.parametrize("vehicle", [*FLEET.values(), REFERENCE], ids=lambda vehicle: vehicle.name)
SETTINGS = settings(derandomize=True, deadline=None, max_examples=60)

# International Roughness Index: state transition and input of a 0.25 m step at 80 km/h. Sayers, Transportation Research
# Record 1501 (1995); Sayers, Gillespie and Queiroz, World Bank Technical Paper 46 (1986); as reprinted.
IRI_TRANSITION = [
    [0.9966071, 0.01091514, -0.002083274, 0.0003190145],
    [-0.5563044, 0.9438768, -0.8324718, 0.05064701],
    [0.02153176, 0.002126763, 0.7508714, 0.008221888],
    [3.335013, 0.3376467, -39.12762, 0.4347564],
]
IRI_INPUT = [0.005476107, 1.388776, 0.2275968, 35.79262]


def test_roughness_index_matrices():
    form = quarter_car.numeric_state_space(REFERENCE, states="heights")
    transition = expm(form.A * 0.25 / (80 / 3.6))
    # The input is held over the step: A^-1 (S - I) B.
    entered = np.linalg.solve(form.A, (transition - np.eye(4)) @ form.B[:, 0])
    np.testing.assert_allclose(transition, IRI_TRANSITION, rtol=1e-6)
    np.testing.assert_allclose(entered, IRI_INPUT, rtol=2e-5)


def blocks(vehicle):
    """Body and wheel over road, put together from single blocks with python-control's feedback."""
    laplace = control.tf("s")
    suspension = vehicle.damping * laplace + vehicle.spring_rate
    body_over_wheel = control.feedback(suspension * control.tf(1, [vehicle.body_mass, 0, 0]), 1)
    load = vehicle.body_mass * laplace**2 * body_over_wheel  # what the wheel carries, per height of the wheel
    wheel = control.feedback(control.tf(vehicle.tyre_rate, [vehicle.wheel_mass, 0, 0]), 1 + load / vehicle.tyre_rate)
    return body_over_wheel * wheel, wheel


@EVERY_VEHICLE
def test_transfer_functions_against_python_control(vehicle):
    at = 2j * np.pi * FREQUENCY
    body, wheel = (system(at) for system in blocks(vehicle))
    expected = {
        "body": body, "wheel": wheel, "acceleration": at**2 * body, "travel": body - wheel,
        "relative_velocity": at * (body - wheel), "tyre_deflection": wheel - 1,
    }  # fmt: skip
    assert expected.keys() == OUTPUTS.keys()
    for output, response in expected.items():
        # A difference such as wheel - 1 loses figures in the reference, hence a floor far below anything plotted.
        np.testing.assert_allclose(
            quarter_car.frequency_response(vehicle, output, FREQUENCY), response, rtol=1e-8, atol=1e-11
        )


@EVERY_VEHICLE
@pytest.mark.parametrize("states", ["deflections", "heights"])
def test_state_space_gives_the_same_responses(vehicle, states):
    # python-control evaluates C (jw - A)^-1 B + D.
    form = quarter_car.numeric_state_space(vehicle, states=states)
    per = "velocity" if states == "deflections" else "height"
    response = control.ss(form.A, form.B, form.C, form.D)(2j * np.pi * FREQUENCY)
    for row, output in enumerate(form.outputs):
        ours = quarter_car.frequency_response(vehicle, output, FREQUENCY, per=per)
        np.testing.assert_allclose(response[row, 0], ours, rtol=1e-8, atol=1e-12 * np.abs(ours).max())


@EVERY_VEHICLE
def test_poles_and_damping_ratios_against_python_control(vehicle):
    form = quarter_car.numeric_state_space(vehicle)
    frequency, ratio, _ = control.damp(control.ss(form.A, form.B, form.C, form.D), doprint=False)
    order = np.argsort(frequency, kind="stable")
    modes = quarter_car.modes(vehicle)
    np.testing.assert_allclose(modes.pole_hz, frequency[order] / (2 * np.pi), rtol=1e-9)
    np.testing.assert_allclose(modes.pole_damping_ratio, ratio[order], rtol=1e-9)
    # The roots of the transfer function's denominator are the same poles.
    _, below = sp.fraction(quarter_car.transfer_function("body"))
    values = dict(zip(quarter_car.PARAMETERS, quarter_car.numbers(vehicle), strict=True))
    roots = np.roots([float(number) for number in sp.Poly(below.subs(values), s).all_coeffs()])
    np.testing.assert_allclose(np.sort_complex(modes.poles), np.sort_complex(roots), rtol=1e-9)


@SETTINGS
@given(st.from_type(Vehicle))
def test_undamped_frequencies_are_those_of_the_matrices(vehicle):
    mass = np.diag([vehicle.body_mass, vehicle.wheel_mass])
    spring, tyre = vehicle.spring_rate, vehicle.tyre_rate
    squares = np.sort(np.linalg.eigvals(np.linalg.solve(mass, [[spring, -spring], [-spring, spring + tyre]])).real)
    modes = quarter_car.modes(vehicle)
    np.testing.assert_allclose([modes.body_hz, modes.wheel_hz], np.sqrt(squares) / (2 * np.pi), rtol=1e-8)
    # Rayleigh: a constraint taken away from the other mass lowers the lower frequency and raises the higher one.
    assert modes.body_hz <= modes.body_estimate_hz * (1 + 1e-9)
    assert modes.wheel_hz >= modes.wheel_estimate_hz * (1 - 1e-9)


def test_reference_vehicle_has_its_known_resonances():
    # Body bounce near 1.2 Hz and wheel hop near 11 Hz: the bands that the roughness index was made to weigh (Sayers and
    # Karamihas, The Little Book of Profiling, 1998; from memory).
    modes = quarter_car.modes(REFERENCE)
    assert modes.body_hz == pytest.approx(1.2, abs=0.05)
    assert modes.wheel_hz == pytest.approx(11.0, abs=0.1)


def test_limits():
    # Each limit is a car that can be written down at once.
    slowly, undamped, rigid_damper, rigid_tyre = (step.result for step in quarter_car.limit_checks())
    two_springs = k_s * k_t / ((m_s * s**2 + k_s) * (m_u * s**2 + k_s + k_t) - k_s**2)
    assert slowly == 1
    assert sp.simplify(undamped - two_springs) == 0
    assert sp.simplify(rigid_damper - k_t / ((m_s + m_u) * s**2 + k_t)) == 0
    assert sp.simplify(rigid_tyre - (c * s + k_s) / (m_s * s**2 + c * s + k_s)) == 0


def test_signs():
    # Pull the suspension apart: the spring pulls the body down and the wheel up. An actuator's positive force lifts the
    # body. A road that rises squeezes the tyre and pushes the wheel up.
    form = quarter_car.numeric_state_space(TRAIL_BIKE)
    travel, actuator, road = form.A[:, 0], form.B[:, 1], form.B[:, 0]
    assert travel[1] < 0 < travel[3]
    assert actuator[1] > 0 > actuator[3]
    assert road[2] < 0
    assert quarter_car.derivative(TRAIL_BIKE, np.zeros(4), 0.01)[3] > 0
    # Rebound, v_s above v_u: the damper holds the body back.
    assert quarter_car.derivative(TRAIL_BIKE, [0, 1, 0, 0], 0.0)[1] == -TRAIL_BIKE.damping / TRAIL_BIKE.body_mass


def test_steps_are_shown_with_dots_and_equal_what_is_evaluated():
    motion = quarter_car.equations_of_motion()
    assert r"\ddot{z}_{s}" in motion.steps()[0]._repr_markdown_()
    # Momentum: what acts on body and wheel together is the tyre alone.
    total = motion.passive_body.rhs + motion.passive_wheel.rhs
    assert sp.simplify(total + k_t * (quarter_car.z_u - quarter_car.z_r)) == 0


def test_skyhook_lifts_nothing_at_rest_and_beats_the_damper_at_the_body_resonance():
    resonance = quarter_car.modes(REFERENCE).body_hz
    passive, skyhook = (
        abs(quarter_car.frequency_response(REFERENCE, "body", resonance, force=force))
        for force in (quarter_car.PASSIVE, SKYHOOK)
    )
    # Two-mass model close to the isolator's textbook value 1/(2 zeta) at resonance (Karnopp, Crosby and Harwood 1974).
    ratio = REFERENCE.damping / (2 * np.sqrt(REFERENCE.spring_rate * REFERENCE.body_mass))
    assert skyhook < passive
    assert skyhook == pytest.approx(1 / (2 * ratio), rel=0.1)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: quarter_car.transfer_function("roll"), "output is 'roll'; allowed are body, wheel"),
        (lambda: quarter_car.transfer_function("body", "slope"), "per is 'slope'; allowed are 'height' and"),
        (lambda: quarter_car.state_space("modal"), "states is 'modal'; allowed are 'deflections' and 'heights'."),
        (lambda: quarter_car.frequency_response(TRAIL_BIKE, "body", [1.0, 0.0]), "frequency_hz is 0 Hz"),
        (lambda: quarter_car.modes(TRAIL_BIKE, -1.0), "damping is -1.0 N s/m; allowed is 0 and more, finite."),
        (lambda: quarter_car.modes(TRAIL_BIKE, np.nan), "damping is nan N s/m"),
    ],
)
def test_errors_name_value_and_range(call, sentence):
    with pytest.raises(ValueError) as raised:
        call()
    assert sentence in str(raised.value)
    assert str(raised.value).endswith(".")
