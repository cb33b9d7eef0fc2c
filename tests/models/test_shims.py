"""Shim stacks against Timoshenko's table and a numerical plate; pistons against their own flow; gas against Boyle."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.orifice import hole
from helpers.models.shims import TRAIL_PISTON, Check, Gas, Piston, Shim, Stack, Way, pyramid

COLD, COOL, HOT = (DAMPER_OIL.at(ZERO_CELSIUS + celsius) for celsius in (-10.0, 40.0, 70.0))

# --- stack -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ratio, k", [(1.25, 0.0051), (1.5, 0.0249), (2, 0.0877), (3, 0.209), (4, 0.293), (5, 0.350)])
def test_single_plate(ratio, k):
    # Timoshenko, Strength of Materials II, circular plates with a hole, clamped inside, ring load at the free rim,
    # nu = 0.3 (as reprinted in handbooks): w = k P a^2 / (E h^3).
    plate = Stack((Shim(ratio * 5e-3, 0.2e-3),), clamp_radius=5e-3)
    assert plate.compliance * plate.modulus * 0.2e-3**3 / plate.edge**2 == pytest.approx(k, rel=0.01)


def plate_by_shooting(stack):
    """Lift per newton of the stack's rim from M' = (M_t - M_r)/r - P/(2 pi r), integrated ring by ring."""
    nu = stack.poisson
    radii = sorted({stack.clamp_radius, *(shim.radius for shim in stack.shims)})

    def outward(load, moment):
        state = [0.0, moment, 0.0]  # slope, radial moment, lift
        for inner, outer in zip(radii, radii[1:], strict=False):
            d = sum(stack.modulus * s.thickness**3 for s in stack.shims if s.radius >= outer) / (12.0 * (1.0 - nu**2))

            def rates(r, y, d=d):
                bend = y[1] / d - nu * y[0] / r
                around = d * (y[0] / r + nu * bend)
                return [bend, (around - y[1]) / r - load / (2.0 * math.pi * r), y[0]]

            state = solve_ivp(rates, (inner, outer), state, rtol=1e-11, atol=1e-16).y[:, -1]
        return state

    (_, m_load, w_load), (_, m_unit, w_unit) = outward(1.0, 0.0), outward(0.0, 1.0)
    return w_load - m_load / m_unit * w_unit


@pytest.mark.parametrize("stack", [way.cover for way in (TRAIL_PISTON.rebound, TRAIL_PISTON.compression)])
def test_stepped_stack_against_a_numerical_plate(stack):
    assert stack.compliance == pytest.approx(plate_by_shooting(stack), rel=1e-6)


@given(st.integers(1, 8), st.floats(0.1e-3, 0.5e-3))
def test_shims_that_slide_share_the_load(count, thickness):
    # Leaves of a spring: n loose shims are n times as stiff as one, not n^3.
    one, several = (Stack((Shim(10e-3, thickness),) * n) for n in (1, count))
    assert one.compliance / several.compliance == pytest.approx(count, rel=1e-9)


def test_what_stiffens_a_stack():
    plain = pyramid(9.5e-3, 6.5e-3, 0.15e-3, 4)
    assert pyramid(9.5e-3, 6.5e-3, 0.30e-3, 4).compliance == pytest.approx(plain.compliance / 8.0, rel=1e-9)
    assert replace(plain, clamp_radius=6e-3).compliance < plain.compliance
    assert Stack((*plain.shims, Shim(4e-3, 0.3e-3))).compliance == pytest.approx(plain.compliance, rel=1e-12)
    preloaded = replace(plain, preload=20.0)
    assert preloaded.lift([10.0, 30.0]) == pytest.approx([0.0, 10.0 * plain.compliance], rel=1e-12)


# --- piston ------------------------------------------------------------------------------------------------------


@given(st.floats(0.001, 3.0), st.sampled_from([COLD, COOL, HOT]))
def test_flow_through_the_piston_is_what_it_displaces(speed, liquid):
    # Continuity: ports, shims and bleed at the pressure found pass speed times area.
    from scipy.optimize import brentq

    for way, sign in ((TRAIL_PISTON.rebound, 1.0), (TRAIL_PISTON.compression, -1.0)):
        drop = abs(TRAIL_PISTON.pressure_drop(sign * speed, liquid))
        over_cover = brentq(lambda p, way=way, drop=drop: way.flow(p, liquid)[1] - drop, 0.0, 1e8, xtol=1e-6)
        assert way.flow(over_cover, liquid)[0] == pytest.approx(speed * TRAIL_PISTON.working_area, rel=1e-3)


def test_shape_of_the_curve():
    # Common practice, no source: a shim stack is digressive, an orifice alone progressive; thick oil is firmer.
    speeds = np.array([0.05, 0.1, 0.5, 1.0, 2.0])
    force = TRAIL_PISTON.force(speeds, COOL)
    assert np.all(np.diff(force) > 0.0)
    assert np.all(np.diff(force / speeds) < 0.0)
    only_bleed = replace(TRAIL_PISTON, rebound=replace(TRAIL_PISTON.rebound, cover=Check(9.5e-3, 1e6, 500.0)))
    slow, fast = only_bleed.force(np.array([0.1, 0.2]), HOT)
    assert 3.0 < fast / slow < 4.0
    assert np.all(TRAIL_PISTON.force(speeds, COLD) > TRAIL_PISTON.force(speeds, HOT))
    assert TRAIL_PISTON.force(0.0, COOL) == 0.0


def test_bleed_counts_at_low_speed_and_preload_lifts_the_curve():
    no_bleed = replace(TRAIL_PISTON, rebound=replace(TRAIL_PISTON.rebound, bleed=None))
    gain = no_bleed.force([0.05, 2.0], COOL) / TRAIL_PISTON.force([0.05, 2.0], COOL)
    assert gain[0] > 1.3 * gain[1]
    stack = replace(TRAIL_PISTON.rebound.cover, preload=50.0)
    preloaded = replace(TRAIL_PISTON, rebound=replace(TRAIL_PISTON.rebound, cover=stack))
    assert np.all(preloaded.force([0.1, 0.5, 1.0], COOL) > TRAIL_PISTON.force([0.1, 0.5, 1.0], COOL))


def test_check_valve_is_easy_one_way():
    check = Check(edge=9e-3, stop=0.8e-3)
    assert check.lift([0.2, 0.9, 100.0]) == pytest.approx([0.0, 0.4e-3, 0.8e-3], rel=1e-9)
    one_way = replace(TRAIL_PISTON, compression=Way(hole(4e-3, 6e-3, 4), check))
    assert abs(one_way.force(-0.5, COOL)) < 0.2 * one_way.force(0.5, COOL)


def test_damping_turns_flow_times_pressure_into_heat():
    # P = F v = Q dp, the same watts on the shaft and in the oil.
    drop = TRAIL_PISTON.pressure_drop(0.7, COOL)
    assert TRAIL_PISTON.force(0.7, COOL) * 0.7 == pytest.approx(drop * 0.7 * TRAIL_PISTON.working_area, rel=1e-12)


# --- gas ---------------------------------------------------------------------------------------------------------


def test_gas_by_boyle_and_by_energy():
    # Boyle: half the volume, twice the pressure, if the gas stays as warm. Else the closed form of the work on a gas.
    slow = replace(TRAIL_PISTON, gas=Gas(10e5, 20e-6, exponent=1.0))
    half = 10e-6 / slow.rod_area
    assert slow.gas_pressure(half) == pytest.approx(20e5, rel=1e-12)
    quick = replace(slow, gas=Gas(10e5, 20e-6, exponent=1.4))
    work, _ = quad(lambda x: float(quick.gas_pressure(x)) * quick.rod_area, 0.0, half)
    assert work == pytest.approx(10e5 * 20e-6 / 0.4 * (2.0**0.4 - 1.0), rel=1e-9)
    assert slow.gas_force(0.0) == pytest.approx((10e5 - 101_325.0) * math.pi / 4 * 10e-3**2, rel=1e-12)


def test_cavitation_limits_compression_only():
    # The chamber behind the piston cannot be below vapour pressure: 12 bar on 412 mm2 are 495 N.
    assert TRAIL_PISTON.cavitation_force() == pytest.approx(12e5 * 412.33e-6, rel=1e-3)
    hard = TRAIL_PISTON.force([-3.0, 3.0], COOL)
    assert hard[0] == pytest.approx(-TRAIL_PISTON.cavitation_force(), rel=1e-12)
    assert hard[1] > TRAIL_PISTON.cavitation_force()
    assert TRAIL_PISTON.cavitation_force(0.05) > TRAIL_PISTON.cavitation_force()


@pytest.mark.parametrize(
    "make, told",
    [
        (lambda: Stack(()), "Stack: shims is empty, 0 shims; allowed is 1 shim or more."),
        (lambda: Shim(9e-3, 0.0), "Shim: thickness is 0 m; allowed is 1e-05 to 0.003 m."),
        (lambda: Stack((Shim(8e-3, 2e-4), Shim(9e-3, 2e-4))), "the first shim's radius is 0.008 m"),
        (lambda: Stack((Shim(4e-3, 2e-4),)), "clamp_radius is 0.005 m; allowed is less than the first shim's radius"),
        (lambda: Gas(pressure=-1e5), "Gas: pressure is -100000 Pa"),
        (lambda: replace(TRAIL_PISTON, rod=30e-3), "Piston: rod is 0.03 m; allowed is less than diameter, 0.025 m."),
        (lambda: TRAIL_PISTON.gas_pressure(0.4), "Piston: stroke is 0.4 m"),
        (lambda: TRAIL_PISTON.force(-1e3, COOL), "Piston: speed is 1000 m/s"),
    ],
)
def test_bad_input_is_one_sentence(make, told):
    with pytest.raises(ValueError) as raised:
        make()
    assert told in str(raised.value)


def test_piston_area():
    # Geometry: 25 mm bore, 10 mm rod, pi/4 (625 - 100) mm2.
    assert isinstance(TRAIL_PISTON, Piston)
    assert TRAIL_PISTON.working_area == pytest.approx(412.334e-6, rel=1e-6)
