"""A law of one's own: equal to a built-in one where it says the same; wrong ones end in one sentence with the time."""

import math
import signal
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from fleet import TRAIL_BIKE
from helpers.control.laws import AccelerationDriven, ActiveSkyhook, Passive, TwoStateSkyhook
from helpers.control.own_law import Interrupted, OwnLaw, OwnLawError
from helpers.control.timing import Timing
from helpers.models.terrain import iso_8608, step
from helpers.simulation.batch import Ride, ride_abreast
from helpers.simulation.metrics import metrics
from helpers.simulation.runs import ride

GROUND = iso_8608("D", 20.0, seed=4)
CHAIN = Timing(sensor_filter=80.0, compute=0.001, jitter=0.001, valve_dead_time=0.001, valve_time_constant=0.003)
ARRAYS = ("body_height", "wheel_velocity", "body_acceleration", "valve", "actuator_force")


def rode(law, timing=CHAIN):
    return ride(TRAIL_BIKE, GROUND, 8.0, law, timing)


def alike(one, other):
    assert one.commands == other.commands and one.damper_heat == other.damper_heat
    for name in ARRAYS:
        assert np.array_equal(getattr(one, name), getattr(other, name)), name


def skyhook(seen):
    return 0.3 if seen.body_velocity * seen.suspension_velocity > 0 else 0.0


def driven(seen):
    return 0.3 if seen.body_acceleration * seen.suspension_velocity > 0.0 else 0.0


@pytest.mark.parametrize("timing", [CHAIN, Timing(), Timing.ideal()], ids=["chain", "sampled", "ideal"])
@pytest.mark.parametrize(("mine", "built_in"), [(skyhook, TwoStateSkyhook()), (driven, AccelerationDriven())])
def test_equals_the_built_in_law_to_the_last_bit(mine, built_in, timing):
    alike(rode(OwnLaw(mine), timing), rode(built_in, timing))


def test_actuator_equals_the_active_skyhook():
    law = ActiveSkyhook(900.0)
    mine = OwnLaw(lambda seen: -900.0 * seen.body_velocity, actuator=True, setting=law.initial)
    alike(rode(mine), rode(law))


def test_wheel_velocity_time_and_all_measurements_arrive():
    told = []

    def note(seen):
        told.append((seen.time, seen.wheel_velocity, seen.travel, seen.body_acceleration, seen.tyre_deflection))
        return 0

    run = ride(TRAIL_BIKE, GROUND, 8.0, OwnLaw(note), Timing(), longest_step=2.5e-4)
    seen = np.array(told).T
    for row, true in zip(seen, (run.time, run.wheel_velocity, run.travel, run.body_acceleration,
                                run.wheel_height - run.road), strict=True):  # fmt: skip
        assert row == pytest.approx(true, abs=1e-12)


def test_memory_starts_anew_with_each_ride():
    def counting(seen, memory):
        memory.samples += 1
        return 1.0 if memory.samples > 1000 else 0.0

    law = OwnLaw(counting)
    first, second = rode(law, Timing()), rode(law, Timing())
    assert first.valve[999] == 0.0 and first.valve[1000] == 1.0
    alike(first, second)


def test_a_valve_stays_at_its_stops_and_numbers_of_any_kind_will_do():
    for value, setting in ((7, 1.0), (-0.5, 0.0), (True, 1.0), (np.float32(0.25), 0.25), (np.array(0.5), 0.5)):
        alike(rode(OwnLaw(lambda seen, value=value: value)), rode(OwnLaw(lambda seen, setting=setting: setting)))
    assert rode(OwnLaw(lambda seen: 0.4), Timing()).valve[-1] == rode(Passive(0.4), Timing()).valve[-1]


class Mute(Exception):
    def __repr__(self):
        raise RuntimeError("mute")

    __str__ = __repr__


def mute():
    raise Mute


WRONG = {
    "None": (lambda seen: None, "returned None \\(is a `return` missing\\?\\); allowed is a number, 0 open to 1 firm"),
    "text": (lambda seen: "firm", "returned 'firm'; allowed is a number"),
    "a list": (lambda seen: [1.0, 0.0], r"returned \[1.0, 0.0\], a list of 2; allowed is a number"),
    "a pair": (lambda seen: (0.3, 100), r"returned \(0.3, 100\), a tuple of 2; allowed"),
    "a long list": (lambda seen: [0.0] * 99, "returned something of type list, a list of 99; allowed"),
    "what cannot be told": (lambda seen: Mute(), "stopped .* with RuntimeError: mute"),
    "an error that cannot be told": (lambda seen: mute(), "it stopped."),
    "NaN": (lambda seen: math.nan, "returned nan; allowed"),
    "infinity": (lambda seen: math.inf, "returned inf; allowed"),
    "long": (lambda seen: "x" * 10_000, "something of type str; allowed"),
    "division": (lambda seen: 1 / 0, "ZeroDivisionError: division by zero"),
    "unknown name": (lambda seen: firmly, "NameError: name 'firmly' is not defined"),  # noqa: F821
    "unknown measurement": (lambda seen: seen.height, "asked for seen.height; allowed are body_velocity, .* wheel_ve"),
    "exit": (lambda seen: exit(), "stopped.* with SystemExit"),
    "later": (lambda seen: 0.0 if seen.time < 1.2 else None, "at 1.200 s of the ride it returned None"),
}


@pytest.mark.parametrize("kind", WRONG)
def test_a_wrong_law_ends_in_one_sentence(kind):
    function, told = WRONG[kind]
    with pytest.raises(OwnLawError, match=told) as problem:
        rode(OwnLaw(function), Timing())
    assert "s of the ride" in str(problem.value) and "\n" not in str(problem.value) and len(str(problem.value)) < 250
    assert problem.value._render_traceback_() == [str(problem.value)]


def test_rides_abreast_and_in_threads_have_sessions_of_their_own():
    def counting(seen, memory):
        memory.samples += 1
        return 0.3 if memory.samples % 40 < 20 else 0.0

    def broken(seen):
        return 0.0 if seen.time < 1.0 else None

    law = OwnLaw(counting)
    laws = 3 * [law] + [OwnLaw(broken), law]
    found = ride_abreast([Ride(TRAIL_BIKE, GROUND, 8.0, one, Timing()) for one in laws], metrics=("comfort",))
    alone = metrics(rode(law, Timing())).comfort
    assert found.values[[0, 1, 2, 4], 0] == pytest.approx(alone, rel=1e-4) and math.isnan(found.values[3, 0])
    assert list(found.failures) == [3] and "at 1.000 s of the ride it returned None" in found.failures[3]
    with ThreadPoolExecutor(2) as pool:
        for run in pool.map(lambda _: rode(law, Timing()), range(4)):
            alike(run, rode(law, Timing()))


def test_an_endless_loop_is_stopped_by_interrupting():
    def endless(seen):
        signal.setitimer(signal.ITIMER_REAL, 0.1)
        while True:
            pass

    before = signal.signal(signal.SIGALRM, signal.default_int_handler)  # SIGINT itself is ignored in the background
    try:
        with pytest.raises(Interrupted, match="endless: at 0.000 s of the ride it was interrupted"):
            rode(OwnLaw(endless))
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


def test_what_is_no_law_is_refused():
    wrong = (3, "not a function"), (lambda: 0.0, "takes 0 arguments"), (lambda a, b, c: 0.0, "3 arguments")
    for thing, told in wrong:
        with pytest.raises(OwnLawError, match=told):
            OwnLaw(thing)


def test_laws_are_equal_where_the_same_function_decides():
    def soft(seen):
        return 0.0

    def firm(seen):
        return 1.0

    assert OwnLaw(soft) == OwnLaw(soft) and hash(OwnLaw(soft)) == hash(OwnLaw(soft))
    assert OwnLaw(soft) != OwnLaw(firm) and OwnLaw(soft) != OwnLaw(soft, actuator=True)


def test_abreast_each_ride_has_a_memory_of_its_own_and_tells_its_failure():
    """The same law in several lanes: each as ridden alone; one that stops fails alone, in its sentence."""

    def counting(seen, memory):
        memory.count += 1.0
        return 1.0 if memory.count > 200 else 0.0

    law, ground = OwnLaw(counting), step(0.03, 0.5, 2.0, 1e-3)
    rides = [Ride(TRAIL_BIKE, ground, speed, law, Timing(sample_rate=500.0)) for speed in (3.0, 4.0, 5.0)]
    found = ride_abreast(rides, metrics=("comfort",))
    alone = [metrics(ride(TRAIL_BIKE, ground, one.speed, law, one.timing)).comfort for one in rides]
    assert found.values[:, 0] == pytest.approx(alone, rel=1e-4) and found.failures == {}
    stops = OwnLaw(lambda seen: None)
    other = Ride(TRAIL_BIKE, ground, 3.0, stops, Timing(sample_rate=500.0))
    mixed = ride_abreast([rides[0], other], metrics=("comfort",))
    assert list(mixed.failures) == [1] and "returned None" in mixed.failures[1] and math.isnan(mixed.values[1, 0])
