"""The fleet's numbers against what the trade would call plausible, and the checks on a vehicle."""

import math
import subprocess
import sys

import pytest

from fleet import CARRIER, FLEET, MOTORCYCLE, REFERENCE, TRAIL_BIKE
from helpers.models import quarter_car
from helpers.models.dampers import digressive, linear
from helpers.models.vehicles import GRAVITY, Vehicle

EVERY_VEHICLE = pytest.mark.parametrize("vehicle", [*FLEET.values(), REFERENCE], ids=lambda vehicle: vehicle.name)


def test_standard_gravity():
    assert GRAVITY == 9.80665  # CODATA; 3rd CGPM (1901), exact


def test_reference_is_the_published_quarter_car():
    # Sayers, Transportation Research Record 1501 (1995); ASTM E1926, as reprinted.
    ratios = [
        value / REFERENCE.body_mass
        for value in (REFERENCE.tyre_rate, REFERENCE.spring_rate, REFERENCE.damping, REFERENCE.wheel_mass)
    ]
    assert ratios == pytest.approx([653.0, 63.3, 6.0, 0.15], rel=1e-12)


@EVERY_VEHICLE
def test_modes_lie_where_the_trade_puts_them(vehicle):
    # Common practice, no source: bodies swing at 1 to 2.5 Hz, wheels hop at 10 to 30 Hz, dampers have 0.2 to 0.5.
    modes = quarter_car.modes(vehicle)
    assert 1.0 < modes.body_hz < 2.5
    assert 10.0 < modes.wheel_hz < 30.0
    assert 0.2 < modes.body_damping_ratio < 0.5


@pytest.mark.parametrize("vehicle", [TRAIL_BIKE, MOTORCYCLE], ids=lambda vehicle: vehicle.name)
def test_sag_is_a_third_of_the_travel(vehicle):
    # Common practice, no source: rear sag with the rider on is 25 to 35 % of the travel.
    travel = vehicle.rebound_travel + vehicle.bump_travel
    assert 0.25 < vehicle.rebound_travel / travel < 0.36


@EVERY_VEHICLE
def test_tyre_carries_its_load_without_much_squeeze(vehicle):
    # Common practice, no source: a tyre stands 5 to 30 mm down under its load.
    assert 0.005 < vehicle.static_load / vehicle.tyre_rate < 0.03


def test_bike_has_less_unsprung_mass_for_its_body_than_the_powered_machines():
    # Common practice, no source.
    bike, *others = (vehicle.wheel_mass / vehicle.body_mass for vehicle in (TRAIL_BIKE, MOTORCYCLE, CARRIER, REFERENCE))
    assert bike < min(others)


@pytest.mark.parametrize("vehicle", FLEET.values(), ids=lambda vehicle: vehicle.name)
@pytest.mark.parametrize("speed", [-2.0, -0.3, -0.05, 0.05, 0.3, 2.0])
def test_lockout_holds_more_than_open_and_the_plain_damper_lies_between_at_low_speed(vehicle, speed):
    soft, firm = abs(vehicle.open_curve.force(speed)), abs(vehicle.lockout_curve.force(speed))
    assert soft < firm
    if abs(speed) <= 0.3:
        assert soft < vehicle.damping * abs(speed) < firm


def test_a_vehicle_without_curves_is_on_its_plain_damper():
    assert REFERENCE.open_curve == REFERENCE.lockout_curve == linear(REFERENCE.damping)
    changed = REFERENCE.changed(damping=1000.0)
    assert changed.open_curve == changed.lockout_curve == linear(1000.0)
    assert TRAIL_BIKE.changed(damping=700.0).open_curve == TRAIL_BIKE.open_curve


def test_plain_puts_an_ordinary_damper_in():
    plain = TRAIL_BIKE.plain()
    assert plain.open_curve == plain.lockout_curve == linear(TRAIL_BIKE.damping)
    assert TRAIL_BIKE.plain(800.0).damping == 800.0
    assert TRAIL_BIKE.plain(800.0).open_curve == linear(800.0)


def test_speeds_by_section_and_static_load():
    assert [TRAIL_BIKE.speed(section) for section in ("climb", "traverse", "descent")] == [3.0, 6.0, 10.0]
    vehicle = REFERENCE.changed(body_mass=90.0, wheel_mass=10.0)
    assert vehicle.static_load == pytest.approx(980.665, rel=1e-12)
    assert REFERENCE.body_mass == 250.0


@pytest.mark.parametrize(
    ("change", "error", "sentence"),
    [
        ({"body_mass": 0.5}, ValueError, "Vehicle: body_mass is 0.5 kg; allowed is 1 to 5000 kg."),
        ({"tyre_rate": math.nan}, ValueError, "Vehicle: tyre_rate is nan N/m; allowed is 5000 to 2e+06 N/m."),
        ({"friction": -1}, ValueError, "Vehicle: friction is -1 N; allowed is 0 to 2000 N."),
        ({"damping": "x"}, TypeError, "Vehicle: damping is 'x', which is not a number; allowed is 0 to 50000 N s/m."),
        ({"gas_column": 0.1}, ValueError, "Vehicle: gas_column is 0.1 m; allowed is more than bump_travel, 0.103 m."),
        ({"damper_stiffness": 5e3}, ValueError, "Vehicle: damper_stiffness is 5000 N/m; allowed is 10000 to inf N/m."),
        ({"seal_stretch": -1e-3}, ValueError, "Vehicle: seal_stretch is -0.001 m; allowed is 0 to 0.02 m."),
        ({"seal_stretch": 1e-6}, ValueError, "Vehicle: seal_stretch is 1e-06 m; allowed is 0, or 1e-05 to 0.02 m."),
        ({"tyre_travel": 0.0}, ValueError, "Vehicle: tyre_travel is 0 m; allowed is 0.001 to inf m."),
        ({"rim_rate": math.nan}, ValueError, "Vehicle: rim_rate is nan N/m; allowed is 0 to 1e+07 N/m."),
        ({"tyre_friction": 1e4}, ValueError, "Vehicle: tyre_friction is 10000 N; allowed is 0 to 2000 N."),
        ({"tyre_stretch": 0.0}, ValueError, "Vehicle: tyre_stretch is 0 m; allowed is 0.0001 to 0.1 m."),
        (
            {"damper_stiffness": 8e5, "open_curve": digressive(400.0, 0.2)},
            ValueError,
            "Vehicle: open_curve is rounded and damper_stiffness 800000 N/m; allowed with a rounded curve is inf N/m.",
        ),
    ],
)
def test_bad_numbers_are_told_in_one_sentence(change, error, sentence):
    with pytest.raises(error) as raised:
        TRAIL_BIKE.changed(**change)
    assert str(raised.value) == sentence


def test_unknown_field_is_refused():
    with pytest.raises(TypeError):
        Vehicle("x", weight=3.0)


def test_vehicles_import_neither_sympy_nor_plots():
    code = "import sys, helpers.models.vehicles; print({'sympy', 'matplotlib', 'scipy'} & set(sys.modules))"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "set()"
