"""The half-car's parameters: quarter cars that add up, the fleet, and what the rear wheel is told."""

import math

import pytest

from helpers.models.half_car import HALF_CARS, HalfCar, two_wheels
from helpers.models.machines import MACHINES

EVERY_CAR = pytest.mark.parametrize("key", HALF_CARS)


@EVERY_CAR
def test_quarter_cars_add_up_and_balance(key):
    car = HALF_CARS[key]
    assert car.rear is MACHINES[key] and two_wheels(MACHINES[key]) == car
    assert car.front.body_mass + car.rear.body_mass == car.body_mass
    assert car.front_arm + car.rear_arm == pytest.approx(car.wheelbase, rel=1e-12)
    # Statics: the mass centre is where both loads balance.
    assert car.front.body_mass * car.front_arm == pytest.approx(car.rear.body_mass * car.rear_arm, rel=1e-12)
    assert car.front.wheel_radius == car.rear.wheel_radius


@EVERY_CAR
def test_machines_are_as_the_trade_builds_them(key):
    # Olley's rule (from memory): the front swings more slowly than the rear, which has to catch up with it. Common
    # practice, no source: damping ratios of body on spring between 0.2 and 0.5; dynamic index below 1.
    car = HALF_CARS[key]
    slow, quick = (math.sqrt(end.spring_rate / end.body_mass) for end in (car.front, car.rear))
    assert slow < quick < 1.15 * slow
    for end in (car.front, car.rear):
        assert 0.2 < end.damping / (2 * math.sqrt(end.spring_rate * end.body_mass)) < 0.5
    assert 0.4 < car.dynamic_index < 1.0
    assert car.decoupled().dynamic_index == pytest.approx(1.0, rel=1e-12)


def test_front_damper_keeps_the_shape_of_the_rear():
    front, rear = HALF_CARS["bike"].front, MACHINES["bike"]
    for name in ("open_curve", "lockout_curve"):
        ours, theirs = (getattr(end, name).force([-2.0, -0.05, 0.1, 1.0]) for end in (front, rear))
        assert ours == pytest.approx(0.6 * theirs, rel=1e-12)
    assert front.damper_stiffness == pytest.approx(0.6 * rear.damper_stiffness, rel=1e-12)


def test_rear_of_the_trail_bike_is_warned_by_over_a_tenth_of_a_second():
    assert HALF_CARS["bike"].warning(10.0) == pytest.approx(0.12)
    assert HALF_CARS["motorcycle"].warning(20.0) == pytest.approx(0.074)


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: HALF_CARS["bike"].warning(0.0), "HalfCar: speed is 0 m/s; allowed is 0.05 to 100 m/s."),
        (lambda: two_wheels(MACHINES["bike"].changed(name="mine")), "two_wheels: the machine is 'mine'; allowed are"),
        (
            lambda: HalfCar("x", MACHINES["bike"], MACHINES["bike"], -1.0, 0.5),
            "HalfCar: wheelbase is -1 m; allowed is 0.2 to",
        ),
        (
            lambda: HalfCar("x", MACHINES["bike"], MACHINES["bike"], 1.0, math.nan),
            "HalfCar: gyration is nan m; allowed is 0.05 to",
        ),
    ],
)
def test_errors_name_value_unit_and_range(call, told):
    with pytest.raises(ValueError) as raised:
        call()
    assert told in str(raised.value)
