"""Laws: what they ask of the valve, held against definitions and against the force that arrives."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet import TRAIL_BIKE
from helpers.control.decision import decide
from helpers.control.law import MEASUREMENTS, MEMORY, curve_force
from helpers.control.laws import ActiveSkyhook, LinearSkyhook, Passive, TwoStateSkyhook
from helpers.control.mode_switch import ModeSwitch
from helpers.control.timing import Timing
from helpers.models.dampers import DamperCurve, Side, linear
from helpers.models.terrain import iso_8608
from helpers.simulation.kernel import valve_force
from helpers.simulation.runs import ride

slopes, knees, speeds = st.floats(0.0, 50_000.0), st.floats(0.005, 10.0), st.floats(-50.0, 50.0)
sides = st.builds(Side, slopes, slopes, knees)
curves = st.builds(DamperCurve, sides, sides, st.booleans())
settings_of_valve = st.floats(0.0, 1.0)
GROUND = iso_8608("D", 30.0, seed=4)


def decided(law, open_curve, lockout_curve, body_velocity=0.0, relative=0.0, wheel_acceleration=0.0, time=0.0,
            memory=None):  # fmt: skip
    seen = np.zeros(MEASUREMENTS)
    seen[[0, 1, 3]] = body_velocity, relative, wheel_acceleration
    memory = np.zeros(MEMORY) if memory is None else memory
    return decide(law.code, law.packed(), seen, memory, time, open_curve.packed(), lockout_curve.packed())


@settings(max_examples=300, deadline=None)
@given(curve=curves, speed=speeds)
def test_compiled_curve_is_the_curve(curve, speed):
    assert curve_force.py_func(curve.packed(), speed) == pytest.approx(float(curve.force(speed)), rel=1e-12, abs=1e-9)


@settings(max_examples=300, deadline=None)
@given(soft=curves, firm=curves, valve=settings_of_valve, speed=speeds)
def test_valve_lies_between_its_curves_and_never_feeds_the_motion(soft, firm, valve, speed):
    """A semi-active damper only dissipates: its force never has the other sign than the velocity."""
    force = valve_force.py_func(soft.packed(), firm.packed(), valve, speed)
    low, high = sorted([float(soft.force(speed)), float(firm.force(speed))])
    slack = 1e-12 * max(abs(low), abs(high), 1e-6)
    # Terms high v and (low - high) s(v) may cancel: their rounding is that of the largest slope.
    slack += 1e-11 * 50_000.0 * abs(speed)
    assert low - slack <= force <= high + slack
    assert force * speed >= -slack * abs(speed)


@settings(max_examples=200, deadline=None)
@given(soft=curves, firm=curves, setting=settings_of_valve, body=speeds, relative=speeds)
def test_passive_does_not_look(soft, firm, setting, body, relative):
    assert decided(Passive(setting), soft, firm, body, relative) == (setting, 0.0)


@settings(max_examples=200, deadline=None)
@given(soft=curves, firm=curves, body=speeds, relative=speeds)
def test_two_state_skyhook(soft, firm, body, relative):
    """Karnopp, Crosby and Harwood (1974): firm where body velocity and relative velocity have one sign."""
    law = TwoStateSkyhook(soft=0.1, firm=0.7)
    assert decided(law, soft, firm, body, relative) == ((0.7 if body * relative > 0.0 else 0.1), 0.0)


@settings(max_examples=300, deadline=None)
@given(coefficient=st.floats(0.0, 20_000.0), body=speeds, relative=speeds.filter(lambda v: abs(v) > 1e-3),
       rounded=st.booleans())  # fmt: skip
def test_linear_skyhook_is_the_skyhook_force_wherever_the_valve_reaches_it(coefficient, body, relative, rounded):
    soft = DamperCurve(Side(300.0, 200.0, 0.3), Side(200.0, 150.0, 0.4), rounded)
    firm = DamperCurve(Side(9000.0, 1500.0, 0.1), Side(6000.0, 900.0, 0.1), rounded)
    valve, actuator = decided(LinearSkyhook(coefficient), soft, firm, body, relative)
    force = (1.0 - valve) * float(soft.force(relative)) + valve * float(firm.force(relative))
    lowest, highest = sorted([float(soft.force(relative)), float(firm.force(relative))])
    assert actuator == 0.0
    assert force == pytest.approx(np.clip(coefficient * body, lowest, highest), rel=1e-9, abs=1e-9)


@given(coefficient=st.floats(0.0, 1e5), body=speeds, limit=st.floats(0.0, 5000.0), setting=settings_of_valve)
def test_active_skyhook_brakes_the_body_within_its_limit(coefficient, body, limit, setting):
    curve = linear(100.0)
    valve, force = decided(ActiveSkyhook(coefficient, limit, setting), curve, curve, body, 1.0)
    assert valve == setting
    assert abs(force) <= limit
    assert force * body <= 0.0
    if coefficient * abs(body) < limit:
        assert force == pytest.approx(-coefficient * body)


def test_mode_switch_holds_and_returns():
    law, curve, memory = ModeSwitch(threshold=40.0, hold=0.5, rest=0.9, event=0.2), linear(100.0), np.zeros(MEMORY)
    seen = [(0.0, 0.0), (0.1, -50.0), (0.3, 0.0), (0.599, 39.0), (0.601, 0.0), (0.7, 41.0), (1.0, 60.0), (1.4, 0.0),
            (1.51, 0.0)]  # fmt: skip
    valves = [decided(law, curve, curve, wheel_acceleration=a, time=t, memory=memory)[0] for t, a in seen]
    assert valves == [0.9, 0.2, 0.2, 0.2, 0.9, 0.2, 0.2, 0.2, 0.9]


@pytest.mark.parametrize("law", [Passive(0.4), TwoStateSkyhook(), LinearSkyhook(2000.0), ModeSwitch()])
def test_a_valve_takes_no_power(law):
    """Common to semi-active dampers: only an actuator does work, and the damper only makes heat."""
    run = ride(TRAIL_BIKE, GROUND, 8.0, law, Timing(compute=0.004, valve_time_constant=0.003))
    assert (run.actuator_work, run.actuator_supply) == (0.0, 0.0)
    assert run.damper_heat > 0.0
    assert run.friction_heat > 0.0


def test_active_skyhook_both_feeds_and_takes():
    run = ride(TRAIL_BIKE, GROUND, 8.0, ActiveSkyhook(1500.0))
    assert run.actuator_supply > 0.0
    assert run.actuator_supply > run.actuator_work


def test_a_fixed_setting_rides_like_an_ordinary_damper_of_that_curve():
    curve = linear(1234.0)
    valve = TRAIL_BIKE.changed(open_curve=linear(234.0), lockout_curve=linear(2234.0))
    plain = TRAIL_BIKE.changed(open_curve=curve, lockout_curve=curve)
    ours, ordinary = ride(valve, GROUND, 8.0, Passive(0.5)), ride(plain, GROUND, 8.0, Passive(0.0))
    np.testing.assert_allclose(ours.travel, ordinary.travel, rtol=0, atol=1e-9)
    assert ours.damper_heat == pytest.approx(ordinary.damper_heat, rel=1e-9)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Passive(1.5), "Passive: setting is 1.5; allowed is 0 to 1."),
        (lambda: LinearSkyhook(-1.0), "LinearSkyhook: coefficient is -1 N s/m; allowed is 0 to 100000 N s/m."),
        (lambda: ModeSwitch(hold=math.inf), "ModeSwitch: hold is inf s; allowed is 0 to 60 s."),
    ],
)
def test_a_bad_value_is_named(make, words):
    with pytest.raises(ValueError) as caught:
        make()
    assert str(caught.value) == words
