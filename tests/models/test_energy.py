"""Draw, charge, heat and the price of mass, against published figures, other computations and unit identities."""

import math
from dataclasses import replace

import numpy as np
import pint
import pytest
from scipy.optimize import brentq

from helpers.models.cells import COIN, LI_ION, Pack
from helpers.models.energy import (
    ELECTRONICS,
    Duty,
    break_even_mass,
    charge_spread,
    climb_seconds,
    damper_heat,
    days_per_charge,
    hours_per_charge,
    recovered,
    seconds_at_equal_vibration,
    seconds_from_power,
)
from helpers.models.terrain import iso_8608
from helpers.models.uncertainty import Range
from helpers.models.vehicles import FLEET, REFERENCE, TRAIL_BIKE
from helpers.simulation.metrics import rms
from helpers.simulation.runs import simulate

UNIT = pint.UnitRegistry()
SWITCH = replace(ELECTRONICS["mode_switching"], wheels=2, actuation_rate=0.5)


# --- draw and charge --------------------------------------------------------------------------------------------------


def test_draw_is_the_sum_by_hand_in_other_units():
    duty = Duty(wheels=2, sleep=0.0, controller=0.01, sensor=0.002, per_actuation=0.1, actuation_rate=0.5, holding=2.0,
                holding_share=0.25, supplied=30.0, returned=10.0, efficiency=0.6, reuse=1.0)  # fmt: skip
    moves = 1800 / UNIT.hour * 0.1 * UNIT.J
    expected = 0.01 + 2 * (0.002 + moves.to("W").magnitude + 0.5 + 50.0 - 6.0)
    assert duty.actuations_per_hour == pytest.approx(1800.0)
    assert duty.power == pytest.approx(expected, rel=1e-12)


def test_coin_cell_at_the_standards_load():
    """IEC 60086-2, from memory: a CR2032 into 15 kilohms, day and night, lasts 920 h on average at the least.

    The nominal 225 mAh over 3.0 V / 15 kilohms are 1125 h, were the cell emptied altogether.
    """
    load = Duty(sleep=3.0**2 / 15e3, controller=0.0, sensor=0.0, per_actuation=0.0)
    assert 920.0 < hours_per_charge(Pack(COIN), load) < 1125.0


def test_days_and_hours_agree_on_a_day_without_rest():
    pack = Pack(LI_ION)
    assert days_per_charge(pack, SWITCH, 24.0) == pytest.approx(hours_per_charge(pack, SWITCH) / 24.0, rel=1e-12)
    assert days_per_charge(pack, SWITCH, 6.0) > days_per_charge(pack, SWITCH, 12.0, temperature=-10.0)
    # Never ridden, what drains the cell is sleep and its own leak.
    asleep = pack.usable() / (SWITCH.sleep + pack.leak) / 86_400.0
    assert days_per_charge(pack, SWITCH, 0.0) == pytest.approx(asleep, rel=1e-12)


def test_spread_brackets_the_point_and_names_the_largest_input():
    """Hours go with the inverse of the draw: of two equal parts, the one known worse decides."""
    pack = Pack(replace(LI_ION, monthly_loss=0.0))
    duty = Duty(sleep=0.0, controller=0.05, sensor=0.0, per_actuation=0.1, actuation_rate=0.5)
    ranges = {"controller": Range(0.04, 0.05, 0.06), "per_actuation": Range(0.02, 0.1, 0.3),
              "temperature": Range(19.0, 20.0, 20.0)}  # fmt: skip
    found = charge_spread(pack, duty, ranges, seed=1)
    assert found.dominant == "per_actuation"
    usable = pack.usable() / 3600.0
    low, high = (usable / (0.05 + 0.5 * energy) for energy in Range(0.02, 0.1, 0.3).quantile([0.95, 0.05]))
    assert (found.quantile(0.05), found.quantile(0.95)) == pytest.approx((low, high), rel=0.03)
    days = charge_spread(pack, duty, ranges, seed=1, riding_hours=24.0)
    assert days.quantile(0.5) == pytest.approx(found.quantile(0.5) / 24.0, rel=1e-9)
    assert charge_spread(pack, duty, {"riding_hours": Range(2, 4, 8)}, seed=1).dominant == "riding_hours"


# --- heat -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("vehicle", [*FLEET.values(), REFERENCE], ids=lambda vehicle: vehicle.name)
@pytest.mark.parametrize("factor", [0.5, 1.5])
def test_heat_against_simulation(vehicle, factor):
    """pi^2 n0^2 Gd v kt, Zuo and Zhang (2013), against the stepper, damper halved and half as firm again: 5 %."""
    speed = 10.0
    linear = vehicle.plain(factor * vehicle.damping).changed(
        friction=0.0, gas_column=math.inf, bump_travel=1.0, rebound_travel=1.0
    )
    road = iso_8608("A", 1200.0, seed=11, band=(0.011, 25.0))  # as white as the spacing allows
    run = simulate(linear, lambda time: road.at(speed * time), road.length / speed)
    told = damper_heat(vehicle, "A", speed)
    assert told == pytest.approx(math.pi**2 * 0.1**2 * 16e-6 * speed * vehicle.tyre_rate, rel=1e-9)
    assert run.contact_load.min() > 0.0
    assert run.damper_heat / run.duration == pytest.approx(told, rel=0.05)
    assert linear.damping * rms(run.body_velocity - run.wheel_velocity) ** 2 == pytest.approx(told, rel=0.05)


def test_heat_of_a_car_from_good_to_average_roads():
    """Zuo and Zhang (2013), abstract, read: 100 to 400 W at 60 mph, four dampers, good to average roads.

    Good and average are classes B and C of ISO 8608, as reprinted. The much used quarter car of 240 and 36 kg, 16 and
    160 kN/m (from memory) gives both ends to the one digit that is printed.
    """
    speed = (60 * UNIT.mile / UNIT.hour).to("m/s").magnitude
    car = REFERENCE.changed(body_mass=240.0, wheel_mass=36.0, spring_rate=16e3, tyre_rate=160e3)
    good, average = (4.0 * damper_heat(car, road_class, speed) for road_class in "BC")
    assert average / good == pytest.approx(400.0 / 100.0, rel=1e-12)
    assert (round(good, -2), round(average, -2)) == (100.0, 400.0)


def test_recovery_is_a_share():
    assert recovered(40.0, 0.25) == 10.0
    with pytest.raises(ValueError, match="recovered: efficiency is 1.3; allowed is 0 to 1."):
        recovered(40.0, 1.3)


# --- mass -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("gradient", "power"), [(0.10, 250.0), (0.10, 150.0), (0.15, 200.0)])
def test_climb_against_the_equation_of_cycling(gradient, power):
    """Martin et al., J. Appl. Biomech. 14 (1998), from memory: P = v (mg sin a + mg Crr cos a + rho CdA v^2/2).

    Solved for the speed with and without a kilogram, without rolling resistance: air drag, which falls with speed,
    makes the cost a little smaller, never larger; without air they agree.
    """
    angle, length = math.atan(gradient), 1000.0

    def seconds(mass, drag):
        slope = mass * 9.80665 * math.sin(angle)
        speed = brentq(lambda v: v * (slope + 0.5 * 1.2 * drag * v * v) - power, 0.01, 30.0, xtol=1e-13)
        return length / speed

    told = climb_seconds(1.0, length * math.sin(angle), power)
    assert told == pytest.approx(seconds(101.0, 0.0) - seconds(100.0, 0.0), rel=1e-8)
    in_air = seconds(101.0, 0.5) - seconds(100.0, 0.5)
    assert 0.85 * told < in_air < told


def test_a_kilogram_over_a_thousand_metres():
    """1 kg x 9.81 m/s2 x 1000 m = 9.81 kJ, 39 s at 250 W: mechanics on the back of an envelope."""
    assert climb_seconds(1.0, 1000.0, 250.0) == pytest.approx(39.2, abs=0.05)


def test_break_even_undoes_the_climb():
    for saved in (0.1, 2.0):
        mass = break_even_mass(saved, 12.0, 250.0)
        assert climb_seconds(mass, 12.0, 250.0) == pytest.approx(saved, rel=1e-12)
    assert break_even_mass(-1.0, 12.0, 250.0) == 0.0
    # What a saving of power is worth in mass hangs on climbing speed alone: P/(g v sin a), the rider cancels.
    masses = [break_even_mass(seconds_from_power(5.0, rider, 40.0), 12.0, rider) for rider in (100.0, 250.0)]
    assert masses == pytest.approx([5.0 / (9.80665 * 12.0 / 40.0)] * 2, rel=1e-12)


def test_equal_vibration_is_the_square_root_law():
    """Rms goes with the root of speed where the road is white in velocity (closed form of workbook 01)."""
    from helpers.models.closed_forms import trade_off
    from helpers.models.terrain import white_velocity_intensity

    share = 0.8
    slow, fast = (
        trade_off(TRAIL_BIKE, white_velocity_intensity(64e-6, 10.0 * factor)).acceleration_rms
        for factor in (1.0, 1.0 / share**2)
    )
    assert share * fast == pytest.approx(slow, rel=1e-12)
    assert seconds_at_equal_vibration(share, 24.0) == pytest.approx(24.0 - 24.0 * share**2)
    assert seconds_at_equal_vibration(1.1, 24.0) < 0.0


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Duty(per_actuation=-1.0), "Duty: per_actuation is -1 J; allowed is 0 to 1000 J."),
        (lambda: hours_per_charge(Pack(COIN), SWITCH),
         "coin cell CR2032: current is 0.0404 A; allowed is 0 to 0.003 A."),
        (lambda: hours_per_charge(Pack(LI_ION), SWITCH, temperature=-25.0),
         "lithium-ion cell 18650: temperature is -25 degC; allowed is -20 to 60 degC."),
        (lambda: hours_per_charge(Pack(LI_ION), Duty(returned=10.0, reuse=1.0)),
         "Duty: power is -5.9818 W on average; allowed is more than 0 W for a charge to end."),
        (lambda: SWITCH.energy_of_day(25.0), "Duty: riding_hours is 25 h; allowed is 0 to 24 h."),
        (lambda: climb_seconds(1.0, 12.0, 0.0), "climb: rider_power is 0 W; allowed is 1 to 2000 W."),
        (lambda: seconds_from_power(300.0, 250.0, 40.0),
         "seconds_from_power: saved is 300 W; allowed is 0 to 250 W."),
    ],
)  # fmt: skip
def test_a_bad_value_gives_one_sentence(make, words):
    with pytest.raises(ValueError) as caught:
        make()
    assert str(caught.value) == words


def test_an_unknown_input_is_named():
    with pytest.raises(ValueError, match="charge_spread: no input is called tempreature; allowed are .*temperature"):
        charge_spread(Pack(LI_ION), SWITCH, {"tempreature": Range(0, 1, 2)}, seed=1)


def test_what_is_not_drawn_stays():
    """A range of no width is a point."""
    found = charge_spread(Pack(LI_ION), SWITCH, {"cycles": Range(100, 100, 100)}, seed=1, count=20)
    np.testing.assert_allclose(found.values, hours_per_charge(Pack(LI_ION), SWITCH, cycles=100), rtol=1e-12)
