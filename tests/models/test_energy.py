"""Draw, charge, heat and the price of mass, against published figures, other computations and unit identities."""

import math
from dataclasses import replace

import pint
import pytest
from scipy.optimize import brentq

from helpers.models.cells import COIN, LI_ION, Pack
from helpers.models.energy import ELECTRONICS, Duty, climb_seconds, hours_per_charge

UNIT = pint.UnitRegistry()
SWITCH = replace(ELECTRONICS["mode_switching"], wheels=2, actuation_rate=0.5)


# --- draw and charge --------------------------------------------------------------------------------------------------


def test_draw_is_the_sum_by_hand_in_other_units():
    duty = Duty(wheels=2, sleep=0.0, controller=0.01, sensor=0.002, per_actuation=0.1, actuation_rate=0.5, holding=2.0,
                holding_share=0.25, supplied=30.0, returned=10.0, efficiency=0.6, reuse=1.0)  # fmt: skip
    moves = 1800 / UNIT.hour * 0.1 * UNIT.J
    expected = 0.01 + 2 * (0.002 + moves.to("W").magnitude + 0.5 + 50.0 - 6.0)
    assert duty.power == pytest.approx(expected, rel=1e-12)


def test_coin_cell_at_the_standards_load():
    """IEC 60086-2, from memory: a CR2032 into 15 kilohms, day and night, lasts 920 h on average at the least.

    The nominal 225 mAh over 3.0 V / 15 kilohms are 1125 h, were the cell emptied altogether.
    """
    load = Duty(sleep=3.0**2 / 15e3, controller=0.0, sensor=0.0, per_actuation=0.0)
    assert 920.0 < hours_per_charge(Pack(COIN), load) < 1125.0


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
        (lambda: climb_seconds(1.0, 12.0, 0.0), "climb_seconds: rider_power is 0 W; allowed is 1 to 2000 W."),
    ],
)  # fmt: skip
def test_a_bad_value_gives_one_sentence(make, words):
    with pytest.raises(ValueError) as caught:
        make()
    assert str(caught.value) == words
