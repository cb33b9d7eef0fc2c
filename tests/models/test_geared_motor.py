"""Screw against textbook examples; motor against its own circuit, integrated, and the balance of energy."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from helpers.models.geared_motor import GearedMotor, Screw
from helpers.models.orifice import BAR
from helpers.models.valve import BALANCED, POPPET, Spool

MOTOR = GearedMotor()
screws = st.builds(Screw, st.floats(2e-4, 2e-2), st.floats(2e-3, 2e-2), st.floats(0.01, 0.3))


def test_power_screw_of_the_textbook():
    # Shigley, Mechanical Engineering Design, power screws, first example (from memory): square thread, mean diameter
    # 30 mm, lead 8 mm, friction 0.08, 6.4 kN. Thread torque 15.94 N m to raise, -0.466 N m to lower: not self-locking.
    screw = Screw(lead=8e-3, diameter=30e-3, friction=0.08)
    assert screw.raising_torque(6400.0) == pytest.approx(15.94, abs=5e-3)
    assert screw.lowering_torque(6400.0) == pytest.approx(-0.466, abs=5e-4)
    assert not screw.self_locking
    # With the collar, 10.24 N m more, the book's efficiency is 0.311.
    collar = 6400.0 * 0.08 * 40e-3 / 2.0
    assert 6400.0 * 8e-3 / (2.0 * math.pi * (screw.raising_torque(6400.0) + collar)) == pytest.approx(0.311, abs=5e-4)


def test_screw_jack():
    # Statics exercise with a printed answer: 10 000 lb, two threads per inch, mean diameter 2 in, friction 0.2:
    # 2840 in lb. Units: 1 lb = 4.4482216 N, 1 in = 25.4 mm.
    pound, inch = 4.4482216152605, 25.4e-3
    jack = Screw(lead=0.5 * inch, diameter=2.0 * inch, friction=0.2)
    assert jack.raising_torque(10_000.0 * pound) / (pound * inch) == pytest.approx(2840.0, abs=5.0)
    assert jack.self_locking


@given(screws)
def test_self_locking_costs_half_of_the_work(screw):
    # Textbook: self-locking means friction angle above lead angle, and then the efficiency is below a half;
    # efficiency = tan(lead angle) / tan(lead angle + friction angle).
    lead_angle, friction_angle = math.atan(screw.lead / (math.pi * screw.diameter)), math.atan(screw.friction)
    assert screw.efficiency == pytest.approx(math.tan(lead_angle) / math.tan(lead_angle + friction_angle), rel=1e-9)
    assert screw.self_locking == (friction_angle >= lead_angle)
    if screw.self_locking:
        assert screw.efficiency < 0.5


@pytest.mark.parametrize("valve, bars, power", [(POPPET, 5, 10.0), (BALANCED, 100, 10.0), (BALANCED, 5, 0.5)])
@pytest.mark.parametrize("ratio", [30.0, 200.0])
def test_stroke_against_the_motor_circuit(valve, bars, power, ratio):
    # A winding of 0.02 N m/A: U = R i + k w, J dw/dt = k i - load, integrated; and where the energy went.
    motor, k = replace(MOTOR, ratio=ratio), 0.02
    move = motor.move(valve, bars * BAR, power)
    resistance = (k / motor.constant) ** 2
    voltage = math.sqrt(power * resistance)
    travel = motor.screw.lead / (2.0 * math.pi * ratio)
    load = max(float(valve.forces(lift, bars * BAR).to_open) for lift in (0.0, valve.stroke))
    torque = motor.screw.raising_torque(load) / (ratio * motor.gear_efficiency)
    inertia = motor.inertia + valve.mass * travel**2

    def rates(_, y):
        current = (voltage - k * y[1]) / resistance
        return [y[1], (k * current - torque) / inertia, voltage * current, resistance * current**2]

    def arrived(_, y):
        return y[0] * travel - valve.stroke

    arrived.terminal = True
    ran = solve_ivp(rates, (0.0, 10.0), [0.0] * 4, events=arrived, rtol=1e-10, atol=1e-12)
    angle, speed, energy, heat = ran.y[:, -1]
    assert move.time == pytest.approx(ran.t[-1], rel=1e-6)
    assert move.energy == pytest.approx(energy, rel=1e-6)
    assert energy == pytest.approx(heat + 0.5 * inertia * speed**2 + torque * angle, rel=1e-6)
    assert move.work == pytest.approx(torque * angle * motor.gear_efficiency * motor.screw.efficiency, rel=1e-6)


def test_best_gear_gives_a_quarter_of_the_power():
    # Textbook of direct-current motors: a quarter of the stall power, at half speed. The long stroke hides the start.
    long = Spool("long", diameter=8e-3, stroke=40e-3, spring_rate=0.0)
    light = replace(MOTOR, inertia=1e-11)
    moves = [replace(light, ratio=n).move(long, 0.0, 2.0) for n in np.geomspace(1.0, 50.0, 200).tolist()]
    efficiency = MOTOR.screw.efficiency * MOTOR.gear_efficiency
    best = max(move.work / move.time for move in moves)
    assert best / efficiency == pytest.approx(0.25 * 2.0, rel=2e-3)


def test_fast_and_fine_together_cost_power():
    # Without load the settings passed per second are the motor's free speed, sqrt(P)/K_m: twice as fine in the same
    # time, or as fine in half the time, takes four times the power. While the rotor still gathers speed, N ~ t^2
    # sqrt(P): half the time then takes sixteen times.
    free = Spool("free", diameter=8e-3, stroke=1e-3, spring_rate=0, preload=0, breakaway=0, running=0, unbalanced=0)
    fine = replace(MOTOR, ratio=1000.0, backlash=0.0)
    assert fine.settings(1e-3) == 6001
    slow, quick = fine.move(free, 0.0, 2.0), fine.move(free, 0.0, 8.0)
    assert slow.time / quick.time == pytest.approx(2.0, rel=0.02)
    heavy = replace(fine, inertia=1e-3)
    assert heavy.move(free, 0.0, 2.0).time / heavy.move(free, 0.0, 32.0).time == pytest.approx(2.0, rel=0.02)


def test_settings_by_step_and_backlash():
    # One turn of the motor is six steps, one of the screw 1 mm: at 10 to 1, sixty steps on 1 mm; backlash caps it.
    assert replace(MOTOR, ratio=10.0).settings(1e-3) == 61
    assert replace(MOTOR, ratio=1000.0).settings(1e-3) == 201
    assert replace(MOTOR, ratio=1000.0, backlash=10e-6).settings(1e-3) == 101


def test_a_stroke_that_differs_in_the_ninth_digit_has_as_many_settings():
    assert [GearedMotor().settings(1e-3 * (1.0 + by)) for by in (-1e-9, 0.0, 1e-9)] == [181] * 3


def test_holding_is_free_only_where_the_screw_locks():
    assert MOTOR.screw.self_locking
    assert MOTOR.move(POPPET, 5 * BAR, 10.0).holding_power == 0.0
    steep = replace(MOTOR, screw=Screw(lead=4e-3, diameter=3e-3), ratio=100.0)
    held = steep.move(POPPET, 5 * BAR, 10.0).holding_power
    torque = -steep.screw.lowering_torque(float(POPPET.forces(POPPET.stroke, 5 * BAR).to_hold))
    assert held == pytest.approx((torque * 0.7 / 100.0 / MOTOR.constant) ** 2, rel=1e-9)
    assert 0.0 < held < 10.0


@pytest.mark.parametrize(
    "make, told",
    [
        (lambda: Screw(lead=0.0), "Screw: lead is 0 m"),
        (lambda: Screw(lead=0.02, diameter=1e-3, friction=0.5).raising_torque(1.0), "Screw: friction is 0.5; allowed"),
        (lambda: GearedMotor(gear_efficiency=1.2), "gear_efficiency is 1.2; allowed is 0.1 to 1."),
        (lambda: MOTOR.move(POPPET, -1.0, 2.0), "pressure_drop is -1 Pa"),
    ],
)
def test_bad_input_is_one_sentence(make, told):
    with pytest.raises(ValueError) as raised:
        make()
    assert told in str(raised.value)
