"""Response on force: closed forms of a first-order lag, the strokes that `move` times, an integral done by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from families import FAST_CHAIN
from fleet import TRAIL_BIKE
from helpers.control.latency import Chain
from helpers.control.laws import Passive
from helpers.control.response import DRIVES, HEADS, Response, force_share, reached, responses
from helpers.control.timing import Timing
from helpers.models.actuators import Magnetorheological, Solenoid
from helpers.models.geared_motor import GearedMotor
from helpers.models.orifice import BAR
from helpers.models.valve import BALANCED, DIRECTED, FOLLOWING, POPPET
from helpers.simulation.runs import simulate


class StepTo(Passive):
    """A setting ordered at the start, the valve open before."""

    initial = 0.0


# Of a first-order lag, in time constants (closed form): half, 63.2 and 90 % of the change, from 10 to 90 %.
HALF, WHOLE, NINETY, RISE = 0.6931, 1.0, 2.3026, 2.1972


def test_first_order_lag():
    told = Response.first_order(0.0, 1.0)
    assert (told.force_50, told.force_63, told.force_90, told.rise_time) == pytest.approx(
        (HALF, WHOLE, NINETY, RISE), abs=1e-4
    )
    assert told.dead_time == 0.0 and math.isnan(told.half_open) and math.isnan(told.fully_open)
    late = Response.first_order(0.002, 0.003)
    assert late.force_90 == pytest.approx(0.002 + 0.003 * NINETY, abs=1e-6)
    assert late.as_lag == pytest.approx((0.002, 0.003), rel=1e-12)


def test_the_same_read_off_its_course():
    time = np.linspace(0.0, 0.05, 20_001)
    share = np.where(time > 0.004, -np.expm1(-(time - 0.004) / 0.003), 0.0)
    read, known = Response.of(time, share, share), Response.first_order(0.004, 0.003)
    for name in ("dead_time", "rise_time", "force_50", "force_63", "force_90"):
        assert getattr(read, name) == pytest.approx(getattr(known, name), abs=3e-6), name
    assert read.half_open == read.force_50 and read.fully_open == math.inf
    assert read.as_lag == pytest.approx((0.004, 0.003), abs=3e-6)
    assert len(read.row) == len(HEADS) == 7


@given(st.floats(0.0, 0.1), st.floats(1e-4, 0.1))
def test_a_lag_through_63_and_90(dead, constant):
    told = Response.first_order(dead, constant).timing(compute=0.001)
    assert (told.valve_dead_time, told.valve_time_constant) == pytest.approx((dead, constant), rel=1e-9, abs=1e-12)
    assert told.compute == 0.001


@given(st.floats(0.001, 0.1), st.floats(1.0, 10.0))
def test_a_lag_never_begins_before_the_order(at_63, ratio):
    dead, constant = replace(Response.first_order(0.0, 1.0), force_63=at_63, force_90=at_63 * ratio).as_lag
    assert dead >= 0.0 and dead + constant == pytest.approx(at_63, rel=1e-12)


def test_the_stepper_s_valve_counts_on_force():
    # A setting ordered to change at 0: its share is the share of the way between both curves' forces.
    timing = Timing(sample_rate=1000.0, valve_dead_time=0.004, valve_time_constant=0.003)
    known = Response.first_order(0.004, 0.003)
    run = simulate(TRAIL_BIKE, np.zeros_like, 0.05, StepTo(1.0), timing, longest_step=5e-5, log_step=5e-5)
    for share, time in ((0.5, known.force_50), (1 - math.exp(-1), known.force_63), (0.9, known.force_90)):
        assert reached(run.time, run.valve, share) == pytest.approx(time, abs=1e-4)


# --- force and lift ----------------------------------------------------------------------------------------------


def test_force_against_lift_by_hand():
    # 2 bar when open, relief at 32: unchanged up to a quarter of the lift, then 2/x^2; at half lift 8 bar, 24 of 30.
    assert force_share([0.0, 0.25, 0.5, 1.0], 2 * BAR, 32 * BAR) == pytest.approx([0.0, 0.0, 0.8, 1.0], abs=1e-12)
    # 63.2 % of the change: 32 - 18.96 = 13.04 bar, at 0.3917 of the lift; 90 %: 5 bar, at 0.6325.
    assert force_share(math.sqrt(2 / 13.0363), 2 * BAR, 32 * BAR) == pytest.approx(1 - math.exp(-1), abs=1e-5)
    assert force_share(math.sqrt(2 / 5), 2 * BAR, 32 * BAR) == pytest.approx(0.9, rel=1e-12)


def test_without_pressure_when_open_the_first_lift_is_all():
    assert force_share([0.0, 1e-6, 1.0], 0.0, 32 * BAR) == pytest.approx([0.0, 1.0, 1.0])


# --- every drive -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("bars", [5, 37, 100])
@pytest.mark.parametrize(("drive", "valve"), [
    (Solenoid(), BALANCED), (Solenoid(), DIRECTED), (GearedMotor(), BALANCED), (GearedMotor(), FOLLOWING),
    (Solenoid(), POPPET),
])  # fmt: skip
def test_courses_end_where_the_moves_do(drive, valve, bars):
    move = drive.move(valve, bars * BAR, 50.0)
    time, lift = drive.course(valve, bars * BAR, 50.0)
    if move.time == math.inf:
        assert len(time) == len(lift) == 0
        return
    assert (time[0], lift[0], lift[-1]) == (0.0, 0.0, 1.0)
    assert time[-1] == pytest.approx(move.time, rel=1e-9)
    assert np.all(np.diff(time) >= 0.0) and np.all(np.diff(lift) >= 0.0)


def test_motor_s_course_against_its_equation():
    # J' dw/dt = K_m sqrt(P) - K_m^2 w - load, integrated from rest.
    motor, pressure = GearedMotor(), 20 * BAR
    load = motor.screw.raising_torque(float(BALANCED.forces(BALANCED.stroke, pressure).to_open))
    load /= motor.ratio * motor.gear_efficiency
    inertia = motor.inertia + BALANCED.mass * motor.travel_per_radian**2

    def rates(_, y):
        return [y[1], (motor.constant * math.sqrt(10.0) - motor.constant**2 * y[1] - load) / inertia]

    time, lift = motor.course(BALANCED, pressure, 10.0)
    inside = time[:-1]
    ran = solve_ivp(rates, (0.0, inside[-1]), [0.0, 0.0], t_eval=inside, rtol=1e-10, atol=1e-12)
    assert lift[:-1] == pytest.approx(ran.y[0] * motor.travel_per_radian / BALANCED.stroke, abs=1e-7)


def test_magnetorheological_course():
    # A weak current keeps the field in proportion: two lags in series, 1 - (a e^(-t/a) - b e^(-t/b))/(a - b).
    gap = Magnetorheological(scale=100.0)
    a, b = gap.inductance / gap.resistance, gap.fluid_time
    for soften in (False, True):
        time, share = gap.ordered(1e-3, soften)
        two = 1.0 - (a * np.exp(-time / a) - b * np.exp(-time / b)) / (a - b)
        assert share == pytest.approx(two, abs=2e-4)
    # At full field it firms sooner than it softens, and sooner than `move`, which lets one wait for the other.
    gap = Magnetorheological()
    firm, soft = (Response.of(*gap.ordered(10.0, soften)) for soften in (False, True))
    assert firm.force_90 < soft.force_90 and firm.force_90 < gap.move(POPPET, 5 * BAR, 10.0).time
    alone = Response.of(*replace(gap, fluid_time=0.0).ordered(10.0))
    assert alone.force_90 < firm.force_90 and math.isnan(alone.half_open)


def test_a_magnet_in_the_gap():
    # Without power it keeps what the magnet's field gives; a current against it softens, to the least at -bias.
    gap = Magnetorheological(bias=0.7)
    assert gap.coefficient(0.0) == Magnetorheological().coefficient(0.7) > gap.coefficient(-0.7) == gap.soft
    assert gap.share(-1.4) == pytest.approx(float(gap.share(0.0)))


@pytest.mark.parametrize("power", [10.0, 50.0])
def test_the_table(power):
    table = responses(37 * BAR, power)
    assert list(table) == list(DRIVES)
    for name, told in table.items():
        if name == "coil on a poppet":
            assert told.row == (math.inf,) * 7 and told.as_lag == (math.inf, math.inf)  # too weak at that pressure
            continue
        assert told.dead_time < told.force_50 < told.force_63 < told.force_90, name
        if name != "magnetorheological":
            # 2 bar of 37: half the lift has 85 % of the change, so it lies between the two.
            assert told.force_63 < told.half_open < told.force_90 < told.fully_open, name
    # By lift alone the order is another: it is the force that lags.
    by_lift = responses(37 * BAR, power, force_of=lambda lift: lift)["coil on a spool"]
    assert by_lift.force_50 == by_lift.half_open < by_lift.force_90 < by_lift.fully_open


# --- sums --------------------------------------------------------------------------------------------------------


def test_the_quick_chain_with_a_valve_of_its_own():
    # Found by another: 9.9 ms of the valve, 0.5 to wait for a sample, 1 to compute and 1 on the bus are 12.4 ms.
    quick = Chain.of(FAST_CHAIN, valve=9.9e-3)
    assert quick.mean == pytest.approx(12.4e-3, rel=1e-12)
    assert (quick.best, quick.worst) == pytest.approx((11.9e-3, 12.9e-3), rel=1e-12)
    assert [stage.name for stage in quick.stages] == ["wait for a sample", "compute", "bus", "valve"]
    told = Response.first_order(FAST_CHAIN.valve_dead_time, FAST_CHAIN.valve_time_constant)
    assert Chain.of(FAST_CHAIN, valve=told.force_50).mean == pytest.approx(Chain.of(FAST_CHAIN).mean, rel=1e-12)
    assert Chain.of(FAST_CHAIN, valve=told.force_90).mean == pytest.approx(Chain.of(FAST_CHAIN, share=0.9).mean)


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: force_share(0.5, 32e5, 32e5), "open_pressure is 3200000 Pa; allowed is 0 to 3.1968e+06 Pa."),
        (lambda: Chain.of(FAST_CHAIN, valve=-1.0), "Stage: least is -1 s; allowed is 0 to 10 s."),
        (lambda: Response.of([], []).timing(), "Timing: valve_dead_time is inf s; allowed is 0 to 1 s."),
        (lambda: Magnetorheological(bias=-1.0), "Magnetorheological: bias is -1 A; allowed is 0 to 100 A."),
    ],
)
def test_bad_values_get_one_sentence(call, told):
    with pytest.raises(ValueError) as raised:
        call()
    assert told in str(raised.value)
