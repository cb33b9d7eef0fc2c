"""The stepper, written for speed, has the derivative of the equations derived in sympy."""

import math

import numpy as np
import pytest

from fleet import FLEET
from helpers.models import quarter_car
from helpers.models.dampers import linear
from helpers.models.vehicles import GRAVITY, Vehicle
from helpers.simulation.kernel import FRICTION_SMOOTHING, accelerations, packed_vehicle


def rates(vehicle, state, road, push=0.0, valve=0.0, actuator=0.0):
    """Body and wheel acceleration, damper and friction force, as the stepper has them."""
    curves = vehicle.open_curve.packed(), vehicle.lockout_curve.packed()
    return accelerations(packed_vehicle(vehicle), *curves, *map(float, state), road, push, valve, actuator)


@pytest.mark.parametrize("seed", range(5))
def test_derivative_of_a_linear_car(seed):
    draw = np.random.default_rng(seed)
    for _ in range(40):
        soft, firm = draw.uniform(50.0, 1000.0), draw.uniform(1000.0, 5000.0)
        vehicle = Vehicle(
            "any", body_mass=draw.uniform(20, 500), wheel_mass=draw.uniform(1, 60), spring_rate=draw.uniform(5e3, 5e4),
            tyre_rate=draw.uniform(5e4, 3e5), damping=1000.0, open_curve=linear(soft), lockout_curve=linear(firm),
        )  # fmt: skip
        # Inside the stops, and with the tyre on the ground: there the car is linear.
        squeezed = vehicle.static_load / vehicle.tyre_rate
        travel, road = draw.uniform(-0.09, 0.04), draw.uniform(-0.2, 0.2)
        wheel = road + draw.uniform(-1.0, 0.9) * squeezed
        state = np.array([wheel + travel, draw.uniform(-3, 3), wheel, draw.uniform(-3, 3)])
        valve, actuator = draw.uniform(), draw.uniform(-500.0, 500.0)
        damping = soft + valve * (firm - soft)
        body, wheel_rate, damper, _ = rates(vehicle, state, road, valve=valve, actuator=actuator)
        ours = quarter_car.derivative(vehicle, state, road, actuator, damping)
        # The largest term that enters each sum is its scale.
        scale = np.array([vehicle.body_mass, vehicle.wheel_mass]) ** -1.0 * (damping * 6.0 + vehicle.tyre_rate * 0.1)
        np.testing.assert_allclose([body, wheel_rate] / scale, ours[[1, 3]] / scale, rtol=0, atol=1e-12)
        assert damper == pytest.approx(damping * (state[1] - state[3]), rel=1e-12)
        np.testing.assert_array_equal(ours[[0, 2]], state[[1, 3]])


@pytest.mark.parametrize("vehicle", FLEET.values(), ids=lambda vehicle: vehicle.name)
def test_derivative_of_the_whole_car(vehicle):
    """The same equations of motion with the suspension force f put together from its parts, stops and lift-off too."""
    draw = np.random.default_rng(8)
    motion = quarter_car.equations_of_motion()
    body_rate = quarter_car.compiled(motion.body.rhs / quarter_car.m_s, quarter_car.f)
    for _ in range(200):
        travel, speed = draw.uniform(-1.1 * vehicle.bump_travel, 1.3 * vehicle.rebound_travel), draw.uniform(-4, 4)
        wheel, wheel_speed, road = draw.uniform(-0.1, 0.1), draw.uniform(-4, 4), draw.uniform(-0.1, 0.1)
        state = [wheel + travel, wheel_speed + speed, wheel, wheel_speed]
        valve, actuator, push = draw.uniform(), draw.uniform(-500, 500), draw.uniform(-200, 200)
        # A column of gas of length L beyond static pushes back as L/(L + x): k x / (1 + x/L) from static.
        spring = vehicle.spring_rate * travel / (1.0 + travel / vehicle.gas_column)
        stop = vehicle.stop_rate * (min(travel + vehicle.bump_travel, 0.0) + max(travel - vehicle.rebound_travel, 0.0))
        soft, firm = (curve.force(speed) for curve in (vehicle.open_curve, vehicle.lockout_curve))
        body, wheel_acceleration, damper, friction = rates(vehicle, state, road, push, valve, actuator)
        assert damper == pytest.approx((1 - valve) * soft + valve * firm, rel=1e-12)
        if abs(speed) > FRICTION_SMOOTHING:
            assert friction == math.copysign(vehicle.friction, speed)
        force = spring + stop + damper + friction - actuator
        expected = body_rate(force, *quarter_car.numbers(vehicle)) + push / vehicle.body_mass
        assert body == pytest.approx(expected, rel=1e-12, abs=1e-10)
        # The ground can push a wheel and cannot pull it: with the weight, the tyre's force is never negative.
        load = vehicle.tyre_rate * (road - wheel) + (vehicle.body_mass + vehicle.wheel_mass) * GRAVITY
        tyre = max(load, 0.0) - vehicle.static_load
        assert wheel_acceleration == pytest.approx((force + tyre) / vehicle.wheel_mass, rel=1e-12, abs=1e-9)


def test_friction_is_whole_outside_its_smooth_passage_and_never_jumps():
    vehicle = FLEET["bike"]
    speed = np.linspace(-2 * FRICTION_SMOOTHING, 2 * FRICTION_SMOOTHING, 801)
    friction = np.array([rates(vehicle, [0.0, one, 0.0, 0.0], 0.0)[3] for one in speed])
    assert np.all(np.abs(friction[np.abs(speed) >= FRICTION_SMOOTHING]) == pytest.approx(vehicle.friction, rel=1e-12))
    assert np.all(np.diff(friction) >= 0.0)
    # A cubic that leaves and arrives level: its steepest slope is 1.5 times the mean one.
    assert np.diff(friction).max() <= 1.51 * vehicle.friction * (speed[1] - speed[0]) / FRICTION_SMOOTHING


def test_at_rest_nothing_moves():
    for vehicle in FLEET.values():
        assert rates(vehicle, np.zeros(4), 0.0) == (0.0, 0.0, 0.0, 0.0)
