"""Two coupled quarter cars against the symbolic half-car, scipy, the single stepper, and energy."""

import numpy as np
import pitch_plane
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from helpers.control.front_sensed import FrontTells
from helpers.control.laws import ActiveSkyhook, Passive, TwoStateSkyhook
from helpers.control.own_law import OwnLaw, OwnLawError
from helpers.control.timing import Timing
from helpers.models import terrain
from helpers.models.half_car import HALF_CARS, HalfCar
from helpers.models.terrain import Profile
from helpers.models.vehicles import Vehicle
from helpers.simulation.runs import simulate
from helpers.simulation.two_wheels import HELD, ends, lever, rates, ride_two

BIKE = HALF_CARS["bike"]
BUMP = terrain.half_round(0.05, 4.0, 9.0, 0.005, width=0.3)
RIGID = {"damper_stiffness": np.inf, "seal_stretch": 0.0, "tyre_travel": np.inf, "rim_rate": 0.0, "tyre_friction": 0.0,
         "tyre_stretch": 5e-3}  # fmt: skip


def linear(car, **values):
    """The car without friction, progression, stops or limits on its tyres' pull (by its weight), nothing yielding."""
    none = RIGID | {"friction": 0.0, "gas_column": np.inf, "stop_rate": 0.0} | values
    ends = (end.changed(**RIGID).plain().changed(**none) for end in (car.front, car.rear))
    return HalfCar(car.name, *ends, car.wheelbase, car.gyration)


any_end = st.builds(
    Vehicle, st.just("any"), body_mass=st.floats(20.0, 1000.0), wheel_mass=st.floats(1.0, 100.0),
    spring_rate=st.floats(3e3, 1e5), tyre_rate=st.floats(5e4, 5e5), damping=st.floats(100.0, 5e3),
)  # fmt: skip
any_car = st.builds(HalfCar, st.just("any"), any_end, any_end, st.floats(0.5, 4.0), st.floats(0.2, 2.0)).map(linear)
small = st.lists(st.floats(-1e-5, 1e-5), min_size=10, max_size=10)  # no tyre leaves the ground


@given(any_car, small)
def test_derivative_is_the_symbolic_one(car, drawn):
    state, road, found = np.array(drawn[:8]), np.array(drawn[8:]), np.empty(8)
    rates(*ends(car), lever(car), state, *road, np.zeros((2, 2)), np.zeros((2, HELD)), 0, 1e-4, found)
    form = pitch_plane.state_space(car)
    a, b, length = car.front_arm, car.rear_arm, car.wheelbase
    # Ends to bounce and pitch: z = (b z_s1 + a z_s2) / L, theta = (z_s1 - z_s2) / L.
    to_body = np.array([[b / length, 0, a / length, 0], [1 / length, 0, -1 / length, 0], [0, 1, 0, 0], [0, 0, 0, 1]])
    q = np.concatenate([to_body @ state[0::2], to_body @ state[1::2]])
    expected = np.linalg.solve(to_body, (form.A @ q + form.B @ road)[4:])
    # Scale of the largest force that goes in: what is left of it may be a small difference.
    scale = np.abs(np.linalg.solve(to_body, np.abs(form.A[4:]) @ np.abs(q) + np.abs(form.B[4:]) @ np.abs(road))).max()
    np.testing.assert_allclose(found[1::2], expected, rtol=1e-12, atol=1e-12 * scale)
    np.testing.assert_array_equal(found[0::2], state[1::2])


@pytest.mark.parametrize("car", HALF_CARS.values(), ids=lambda car: car.name)
def test_ride_against_scipy(car):
    car, speed = linear(car), 5.0  # each point of the profile then falls on a step, for both wheels
    ground = Profile(BUMP.distance, 0.05 * BUMP.height)  # 2.5 mm: no tyre leaves the ground
    ours = ride_two(car, ground, speed, longest_step=1e-4, log_step=1e-4)
    form = pitch_plane.state_space(car)
    road = np.column_stack([ours.front.road, ours.rear.road])
    _, outputs, states = signal.lsim((form.A, form.B, form.C, form.D), road, ours.time)  # held linearly between points
    for found, expected in (
        (ours.bounce, states[:, 0]), (ours.pitch, states[:, 1]), (ours.front.wheel_height, states[:, 2]),
        (ours.rear.travel, outputs[:, 5]), (ours.front.body_acceleration, outputs[:, 2]),
        (ours.rear.body_acceleration, outputs[:, 3]),
    ):  # fmt: skip
        np.testing.assert_allclose(found, expected, rtol=0, atol=1e-5 * np.abs(expected).max())


ELEMENTS = {
    "none": RIGID,
    "sticks": RIGID | {"seal_stretch": 5e-4, "tyre_travel": 0.03, "rim_rate": 4e5, "tyre_friction": 30.0},
    "yields": RIGID | {"seal_stretch": 5e-4, "tyre_travel": 0.03, "rim_rate": 4e5, "tyre_friction": 30.0,
               "damper_stiffness": 8e5},
}  # fmt: skip


@pytest.mark.parametrize("elements", ELEMENTS)
@pytest.mark.parametrize("valve", [0.0, 1.0])
def test_decoupled_ends_ride_like_quarter_cars(valve, elements):
    # k^2 = a b: two rides of the single stepper, with stops, friction, progression and lift-off.
    car, speed = BIKE.decoupled(), 8.0
    ends = (end.changed(**ELEMENTS[elements]) for end in (car.front, car.rear))
    car = HalfCar(car.name, *ends, car.wheelbase, car.gyration)
    both = ride_two(car, BUMP, speed, Passive(valve), longest_step=1e-4)
    path = BUMP.under_wheel(0.36)
    for end, vehicle, behind in ((both.front, car.front, 0.0), (both.rear, car.rear, car.wheelbase)):
        fixed = vehicle.lockout_curve if valve else vehicle.open_curve
        held = vehicle.changed(open_curve=fixed, lockout_curve=fixed)
        alone = simulate(
            held, lambda t, behind=behind: path.at(speed * t - behind), both.time[-1], Passive(), longest_step=1e-4
        )
        assert np.diff(alone.time[:2]) == pytest.approx(np.diff(both.time[:2]))
        count = min(len(alone.time), len(both.time))
        np.testing.assert_allclose(end.body_height[:count], alone.body_height[:count], rtol=0, atol=1e-9)
        np.testing.assert_allclose(end.wheel_height[:count], alone.wheel_height[:count], rtol=0, atol=1e-9)


def test_energy_is_kept_without_dampers():
    car = linear(BIKE)
    free = HalfCar("free", car.front.plain(0.0), car.rear.plain(0.0), car.wheelbase, car.gyration)
    run = ride_two(free, terrain.flat(20.0), 5.0, start=(0.01, 0.0, 0.0, 0.0, -0.005, 0.1, 0.0, 0.0), longest_step=1e-4)
    form = pitch_plane.numeric_matrices(free)
    velocity = (run.front.body_velocity, run.rear.body_velocity)
    bounce_rate = (free.rear_arm * velocity[0] + free.front_arm * velocity[1]) / free.wheelbase
    pitch_rate = (velocity[0] - velocity[1]) / free.wheelbase
    q = np.array([run.bounce, run.pitch, run.front.wheel_height, run.rear.wheel_height])
    rate = np.array([bounce_rate, pitch_rate, run.front.wheel_velocity, run.rear.wheel_velocity])
    energy = 0.5 * (np.sum(rate * (form.M @ rate), axis=0) + np.sum(q * (form.K @ q), axis=0))
    assert energy == pytest.approx(energy[0], rel=1e-6)


def test_rear_meets_the_bump_a_wheelbase_later():
    run = ride_two(BIKE, BUMP, 6.0)
    front, rear = (run.time[np.argmax(end.road > 0.001)] for end in (run.front, run.rear))
    assert rear - front == pytest.approx(BIKE.warning(6.0), abs=2e-3)
    # Nose up as the front climbs, nose down as the rear does.
    assert run.pitch[np.argmax(run.front.road)] > 0 > run.pitch[np.argmax(run.rear.road) + 40]


QUICK, SLOW = (Timing(sample_rate=1000.0, valve_dead_time=late) for late in (0.003, 0.03))


def told(rule, car=BIKE, timing=QUICK, speed=10.0, ground=BUMP):
    """A ride under a rule, both valves at rest locked, and after how long each end opens; s, NaN if it never does."""
    run = ride_two(car, ground, speed, rule.laws(car.warning(speed), timing.delay), timing, log_step=2.5e-4)
    opens = [run.time[np.argmin(end.valve)] if end.valve.min() < 1.0 else np.nan for end in (run.front, run.rear)]
    return run, np.array(opens)


@pytest.mark.parametrize("timing", [QUICK, SLOW], ids=["quick", "slow"])
def test_valves_open_when_the_rule_says(timing):
    rule = FrontTells(lead=0.05)
    run, opens = told(rule, timing=timing)
    at_samples = np.flatnonzero(np.arange(len(run.time)) % 4 == 0)  # 1 ms of 0.25
    sensed = run.time[at_samples[np.argmax(np.abs(run.front.wheel_acceleration[at_samples]) > rule.threshold)]]
    assert opens[0] == pytest.approx(sensed + timing.delay, abs=4e-4)
    assert opens[1] == pytest.approx(sensed + BIKE.warning(10.0) - 0.05, abs=1.3e-3)  # the next sample's order
    assert run.rear.valve[0] == run.rear.valve[-1] == 1.0
    quiet, opens = told(rule.changed(threshold=1e4))
    assert np.isnan(opens).all() and (quiet.rear.valve == 1.0).all()


def test_rear_told_by_either_opens_at_the_first():
    slow = FrontTells(speed_error=-0.3)  # the front's word comes after the bump
    opened = {by: told(slow.changed(told_by=by))[1][1] for by in ("front", "rear", "either")}
    assert opened["either"] == opened["rear"] < opened["front"]
    alone, in_time = (told(FrontTells(told_by=by))[1][1] for by in ("either", "front"))
    assert alone == in_time < opened["rear"]
    at_once = told(FrontTells(told_by="both at once"))[1]
    assert at_once[0] == at_once[1]


def test_a_valve_closes_after_its_hold_and_not_before_its_suspension_stands_still():
    for still in (100.0, 0.05):
        rule = FrontTells(hold=0.15, still=still, told_by="rear")
        run = told(rule, ground=terrain.half_round(0.05, 4.0, 20.0, 0.005, width=0.3))[0]
        loud = run.time[np.abs(run.rear.wheel_acceleration) > rule.threshold][-1]
        closes = run.time[np.flatnonzero(run.rear.valve < 1.0)[-1]]
        assert closes > loud + 0.148
        speed = np.abs(run.rear.body_velocity - run.rear.wheel_velocity)
        assert np.interp(closes - QUICK.delay, run.time, speed) < still + 0.02


def peaks(run):
    return np.array([np.abs(end.body_acceleration).max() for end in (run.front, run.rear)])


@pytest.mark.parametrize("car", HALF_CARS.values(), ids=lambda car: car.name)
def test_a_slow_chain_is_the_front_wheels_problem(car):
    # Finding of workbook 07: with 30 ms the front is as hard as locked, the rear that it tells as soft as open.
    softest, hardest = (peaks(ride_two(car, BUMP, 10.0, Passive(setting))) for setting in (0.0, 1.0))
    late, own = (peaks(told(FrontTells(told_by=by), car, SLOW)[0]) for by in ("front", "rear"))
    assert late[0] > 0.8 * hardest[0] > 1.1 * softest[0]
    assert late[1] < 1.1 * softest[1] < own[1]


def test_a_speed_read_low_costs_the_rear_its_warning_one_read_high_little():
    good, low, high = (peaks(told(FrontTells(speed_error=error))[0])[1] for error in (0.0, -0.3, 0.6))
    assert low > 1.25 * good and high < 1.1 * good


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: ride_two(BIKE, BUMP, 0.0), "ride_two: speed is 0 m/s; allowed is 0.05 to 100 m/s."),
        (lambda: ride_two(BIKE, BUMP, 5.0, longest_step=1.0), "longest_step is 1 s; allowed is 1e-06 to 0.001 s."),
    ],
)
def test_errors_name_value_unit_and_range(call, told):
    with pytest.raises(ValueError) as raised:
        call()
    assert told in str(raised.value)


# --- laws ----------------------------------------------------------------------------------------------------------

CHAIN = Timing(sensor_filter=80.0, compute=0.001, jitter=0.002, valve_dead_time=0.001, valve_time_constant=0.003)
BANDED = TwoStateSkyhook(dead_band=0.01, body_band=0.01)  # at rest the last bits would decide
CHAINS = {"ideal": Timing.ideal(), "sampled": Timing(sample_rate=500.0, compute=0.002), "chain": CHAIN}


def same(one, other):
    for ours, theirs in ((one.front, other.front), (one.rear, other.rear)):
        for name in ("body_height", "wheel_velocity", "body_acceleration", "valve", "actuator_force"):
            np.testing.assert_array_equal(getattr(ours, name), getattr(theirs, name))


def skyhook(seen):
    return 0.3 if seen.body_velocity * seen.suspension_velocity > 0.0 else 0.0


def calm(seen):
    return -300.0 * seen.body_velocity


@pytest.mark.parametrize("chain", CHAINS)
@pytest.mark.parametrize("elements", ELEMENTS)
@pytest.mark.parametrize("law", [BANDED, ActiveSkyhook(300.0)], ids=["valve", "actuator"])
def test_decoupled_ends_under_a_law_ride_like_quarter_cars(law, elements, chain):
    car, speed = BIKE.decoupled(), 8.0
    ends = (end.changed(**ELEMENTS[elements]) for end in (car.front, car.rear))
    car = HalfCar(car.name, *ends, car.wheelbase, car.gyration)
    both = ride_two(car, BUMP, speed, laws=law, timing=CHAINS[chain], seed=3, longest_step=1e-4)
    path = BUMP.under_wheel(0.36)
    for end, vehicle, behind in ((both.front, car.front, 0.0), (both.rear, car.rear, car.wheelbase)):
        alone = simulate(
            vehicle, lambda t, behind=behind: path.at(speed * t - behind), both.time[-1], law, CHAINS[chain], seed=3,
            longest_step=1e-4,
        )  # fmt: skip
        count = min(len(alone.time), len(both.time))
        assert np.abs(np.diff(end.valve)).max() > 0.0 or np.abs(end.actuator_force).max() > 10.0
        for name in ("body_height", "wheel_height", "valve", "actuator_force"):
            near = 1e-9 * (1e6 if name == "actuator_force" else 1.0)
            np.testing.assert_allclose(getattr(end, name)[:count], getattr(alone, name)[:count], rtol=0, atol=near)


@pytest.mark.parametrize("chain", CHAINS)
def test_own_laws_equal_built_in_ones_to_the_last_bit(chain):
    def rode(laws):
        return ride_two(BIKE, BUMP, 9.0, laws=laws, timing=CHAINS[chain])

    same(rode(OwnLaw(skyhook)), rode(TwoStateSkyhook()))
    same(rode(OwnLaw(calm, actuator=True)), rode(ActiveSkyhook(300.0)))
    mixed = rode((OwnLaw(skyhook), OwnLaw(calm, actuator=True)))
    same(mixed, rode((TwoStateSkyhook(), ActiveSkyhook(300.0))))
    assert np.ptp(mixed.front.valve) > 0.0 == np.ptp(mixed.rear.valve) and mixed.rear.actuator_force.any()


def test_a_fixed_law_is_a_fixed_valve():
    held = ride_two(BIKE, BUMP, 9.0, (Passive(0.2), Passive(0.7)))
    assert (held.front.valve == 0.2).all() and (held.rear.valve == 0.7).all()
    same(held, ride_two(BIKE, BUMP, 9.0, (Passive(0.2), Passive(0.7)), CHAIN))


def test_each_wheel_has_a_memory_of_its_own():
    def counting(seen, memory):
        memory.samples += 1
        return 1.0 if memory.samples > 200 else 0.0

    run = ride_two(BIKE, BUMP, 9.0, laws=OwnLaw(counting), timing=Timing())
    for end in (run.front, run.rear):
        assert end.valve[199] == 0.0 and end.valve[200] == 1.0


def test_wrong_laws_are_one_sentence():
    def late(seen):
        return 0.0 if seen.time < 0.5 else None

    with pytest.raises(OwnLawError, match="late: at 0.500 s of the ride it returned None"):
        ride_two(BIKE, BUMP, 9.0, laws=(Passive(), OwnLaw(late)), timing=Timing())
    for laws in (3, (Passive(),), "skyhook"):
        with pytest.raises(ValueError, match="allowed is a law, or one for each end"):
            ride_two(BIKE, BUMP, 9.0, laws=laws)
