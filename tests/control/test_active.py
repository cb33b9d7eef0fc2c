"""Optimal feedback as a law, matched to a damper, and what the straight-line model says."""

import math

import numpy as np
import pytest

from helpers.control.active import LinearMeans, OptimalFeedback, by_formula
from helpers.control.optimal import Weights, regulator
from helpers.models.closed_forms import comfort_damping, mean_damper_power, trade_off
from helpers.models.machines import MACHINES
from helpers.models.terrain import CLASSES, white_velocity_intensity

CARRIER = MACHINES["carrier"]
WHITE = white_velocity_intensity(CLASSES["C"], CARRIER.traverse_speed)


def test_a_damper_alone_is_that_of_the_closed_forms():
    told, known = by_formula(CARRIER.plain(800.0)), trade_off(CARRIER, WHITE, 800.0)
    assert told.acceleration == pytest.approx(known.acceleration_rms, rel=1e-9)
    assert told.tyre_load_variation == pytest.approx(100.0 * known.load_share_rms, rel=1e-9)
    assert told.travel == pytest.approx(1e3 * known.travel_rms, rel=1e-9)
    assert told.heat == pytest.approx(mean_damper_power(CARRIER, WHITE), rel=1e-9) == pytest.approx(told.road)
    assert told.power_in == told.power_back == 0.0


@pytest.mark.parametrize("grip", [1e4, 3e5])
def test_the_same_wheel_makes_the_same_heat(grip):
    """Heat less net power of the motor is what the road puts in, under any feedback."""
    told = by_formula(CARRIER, OptimalFeedback(CARRIER, grip))
    assert told.heat - told.power_in + told.power_back == pytest.approx(told.road, rel=1e-9)


def test_means_with_a_preview_of_nothing_are_those_without():
    """The sum over frequency that preview needs against the closed form: within a tenth of a per cent."""
    closed, summed = (by_formula(CARRIER, OptimalFeedback(CARRIER, preview=T)) for T in (0.0, 1e-9))
    for name in ("acceleration", "tyre_load_variation", "travel", "power_in", "heat"):
        assert getattr(summed, name) == pytest.approx(getattr(closed, name), rel=1e-3), name


def test_means_with_preview_have_the_cost_of_the_riccati_equation():
    law = OptimalFeedback(CARRIER, preview=0.2)
    told = by_formula(CARRIER, law)
    deflection = told.tyre_load_variation / 100.0 * CARRIER.static_load / CARRIER.tyre_rate
    cost = told.acceleration**2 + law.travel * (1e-3 * told.travel) ** 2 + law.grip * deflection**2
    assert cost == pytest.approx(law.design.cost(WHITE, 0.2), rel=1e-3)


@pytest.mark.parametrize("vehicle", MACHINES.values(), ids=lambda vehicle: vehicle.name)
@pytest.mark.parametrize("preview", [0.0, 0.1])
def test_equal_is_equal(vehicle, preview):
    fixed, law = by_formula(vehicle.plain()), OptimalFeedback(vehicle, preview=preview)
    both, grip = (by_formula(vehicle, law.equal(fixed, travel)) for travel in (True, False))
    assert both.tyre_load_variation == pytest.approx(fixed.tyre_load_variation, rel=1e-4)
    assert both.travel == pytest.approx(fixed.travel, rel=1e-4)
    assert grip.tyre_load_variation == pytest.approx(fixed.tyre_load_variation, rel=1e-4)
    assert grip.acceleration < both.acceleration < fixed.acceleration


def test_no_other_feedback_is_calmer_at_equal_grip_and_travel():
    """A thousand gains near the optimum, all that keep both limits: none has less acceleration."""
    fixed = by_formula(CARRIER.plain())
    law = OptimalFeedback(CARRIER).equal(fixed)
    best, draw, kept = by_formula(CARRIER, law).acceleration, np.random.default_rng(1), 0
    for spread in draw.normal(0.0, 0.05, (1000, 4)):
        other = by_formula(CARRIER, law.gains * (1.0 + spread))
        if other.tyre_load_variation <= fixed.tyre_load_variation and other.travel <= fixed.travel:
            kept += 1
            assert other.acceleration >= best * (1.0 - 1e-5)
    assert kept > 20


def test_what_review_found_holds():
    """At the plain damper's grip feedback leaves 89 % on the motorcycle and 73 % on the carrier; 68 at the calmest."""
    left = {}
    for name, vehicle in MACHINES.items():
        for c in (vehicle.damping, comfort_damping(vehicle)):
            fixed = by_formula(vehicle.plain(c))
            found = by_formula(vehicle, OptimalFeedback(vehicle).equal(fixed, travel=False))
            left[name, c == vehicle.damping] = round(100.0 * found.acceleration / fixed.acceleration)
    assert left["motorcycle", True] == 89 and left["carrier", True] == 73 and left["carrier", False] == 68


def test_limits_that_no_feedback_keeps_are_told():
    with pytest.raises(ValueError, match="no weights give a variation of tyre load of 1 % and a travel of 50 mm"):
        OptimalFeedback(CARRIER).equal(LinearMeans(1.0, 1.0, 50.0, 0.0, 0.0, 0.0, 0.0))


def test_a_late_picture_is_the_old_one():
    """What the law makes of the road comes later by the picture's age, and nothing comes before."""
    road = np.cumsum(np.random.default_rng(2).normal(0.0, 1e-3, 3000))
    on_time, late = (OptimalFeedback(CARRIER, preview=0.1, late=age).ahead(road, 1e-3) for age in (0.0, 0.04))
    assert not late[:40].any() and np.array_equal(late[40:], on_time[:-40])
    design = regulator(CARRIER, Weights(300.0, 3e4))
    gain = design.preview_gain(1e-3 * (np.arange(100) + 0.5))
    assert on_time[500] == pytest.approx(-gain @ np.diff(road)[500:600], rel=1e-9)


def test_a_class_is_half_as_high_as_the_next():
    calm, rough = (by_formula(CARRIER.plain(), road_class=letter) for letter in "BC")
    assert rough.travel == pytest.approx(2.0 * calm.travel) and rough.road == pytest.approx(4.0 * calm.road)
    assert math.isclose(by_formula(CARRIER, np.zeros(4)).travel, by_formula(CARRIER).travel)
