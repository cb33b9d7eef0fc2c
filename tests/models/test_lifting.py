"""Lifting body and rider, against closed forms and against the stepper."""

import math
from dataclasses import dataclass

import numpy as np
import pytest

from helpers.control.laws import StateFeedback
from helpers.models.lifting import lift
from helpers.models.vehicles import CARRIER, FLEET, GRAVITY, TRAIL_BIKE
from helpers.simulation.runs import simulate


@pytest.mark.parametrize("vehicle", FLEET.values(), ids=lambda vehicle: vehicle.name)
def test_quickest_lift_by_force_alone_is_a_throw(vehicle):
    """Constant push F to height x, free flight from there (school mechanics): F x = m g h, v^2 = 2 g (h - x)."""
    m, h, force = vehicle.body_mass, 0.1, 2.2 * vehicle.body_mass * GRAVITY
    x = m * GRAVITY * h / force
    v = math.sqrt(2.0 * GRAVITY * (h - x))
    found = lift(vehicle, h, force, spring=False)
    assert found.least_time == pytest.approx(v / (force / m - GRAVITY) + v / GRAVITY, rel=1e-7)
    assert found.peak_power == pytest.approx(force * v, rel=1e-6)
    assert found.energy == pytest.approx(m * GRAVITY * h, rel=1e-12)
    # However strong: a stone thrown up takes sqrt(2h/g) to its highest point (Galilei).
    assert lift(vehicle, h, 1e6, spring=False).least_time == pytest.approx(math.sqrt(2.0 * h / GRAVITY), rel=2e-3)
    assert found.by_gravity == pytest.approx(math.sqrt(0.2 / GRAVITY), rel=1e-12)


def test_quickest_lift_beside_a_spring_is_half_a_swing_then_a_throw():
    """Push F beside a spring: x = F/k (1 - cos wt); then flight. Work from rest to rest fixes where they meet."""
    m, k, h, force = TRAIL_BIKE.body_mass, TRAIL_BIKE.spring_rate, 0.05, 1000.0
    weight, w = m * GRAVITY, math.sqrt(k / m)
    # (F + m g) x - k x^2/2 = m g h
    x = ((force + weight) - math.sqrt((force + weight) ** 2 - 2.0 * k * weight * h)) / k
    pushing = math.acos(1.0 - k * x / force) / w
    flying = force / k * w * math.sin(w * pushing) / GRAVITY
    assert lift(TRAIL_BIKE, h, force).least_time == pytest.approx(pushing + flying, rel=1e-7)


def test_a_weak_supply_needs_the_energy_over_its_power():
    """In the limit of small power nearly all work is lift: time = m g h / P (from above)."""
    found = lift(CARRIER, 0.1, 5000.0, 20.0, spring=False)
    assert found.by_power == pytest.approx(CARRIER.body_mass * GRAVITY * 0.1 / 20.0, rel=1e-12)
    assert found.by_power < found.least_time < 1.01 * found.by_power
    times = [lift(CARRIER, 0.1, 5000.0, P).least_time for P in (100.0, 300.0, 1000.0, math.inf)]
    assert all(a > b for a, b in zip(times, times[1:], strict=False))


@dataclass(frozen=True)
class SlowLift(StateFeedback):
    """An actuator whose force rises evenly to its end."""

    def ahead(self, road, step):
        return np.linspace(0.0, self.force_limit, len(road))


def test_energy_is_the_work_of_a_slow_lift_in_the_stepper():
    """k h^2/2: the spring hands over the rest of m g h. The wheel's tyre feels the same load at the end."""
    vehicle = CARRIER.changed(friction=0.0)
    told = lift(vehicle, 0.06, 5000.0)
    law = SlowLift(force_limit=told.holding_force)
    run = simulate(vehicle, np.zeros_like, 20.0, law)
    assert run.body_height[-1] == pytest.approx(0.06, rel=2e-3)
    assert run.wheel_height[-1] == pytest.approx(0.0, abs=1e-4)
    assert run.actuator_work == pytest.approx(told.energy, rel=5e-3)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: lift(TRAIL_BIKE, 0.2, 5000.0), "lift: height is 0.2 m; allowed is 0.0001 to 0.15 m."),
        (lambda: lift(TRAIL_BIKE, 0.1, 500.0), "lift: force_limit is 500 N; allowed is 1250 to 1e+06 N."),
    ],
)
def test_a_bad_value_is_named(make, words):
    with pytest.raises(ValueError) as caught:
        make()
    assert str(caught.value) == words
