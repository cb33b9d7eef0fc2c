"""Sweeps: every run counted once and equal to a single ride, whatever the executor, its order and its accidents."""

import math
import os
import signal
import tracemalloc
from concurrent.futures import Executor, Future, ThreadPoolExecutor

import numpy as np
import pytest
from distributed import Client, LocalCluster

from fleet import FLEET, TRAIL_BIKE
from helpers.control.laws import Passive, StateFeedback, TwoStateSkyhook
from helpers.control.mode_switch import ModeSelector
from helpers.control.timing import Timing
from helpers.models.terrain import iso_8608, step
from helpers.simulation import sweep as sweeping
from helpers.simulation.batch import Ride
from helpers.simulation.lane_metrics import NAMES
from helpers.simulation.metrics import metrics
from helpers.simulation.runs import ride
from helpers.simulation.sweep import sweep

SHORT = iso_8608("D", 4.0, seed=2)  # m
SPEEDS, MASSES = np.linspace(5.0, 12.0, 7), np.linspace(50.0, 75.0, 11)
CHAIN = Timing(sample_rate=1000.0, compute=0.003, valve_time_constant=0.002)
GRID = {"speed": SPEEDS, "mass": MASSES}


def run_of(speed, mass):
    return Ride(TRAIL_BIKE.changed(body_mass=mass), SHORT, speed, TwoStateSkyhook(), CHAIN)


@pytest.fixture(scope="module")
def whole():
    """The map of GRID."""
    return sweep(run_of, GRID)


def assert_same(one, other):
    """Bit for bit the same map."""
    assert list(one.values) == list(other.values)
    for name, values in one.values.items():
        np.testing.assert_array_equal(values, other[name], err_msg=name)
    np.testing.assert_array_equal(one.done, other.done)
    assert one.failures == other.failures


class Shuffled(Executor):
    """Runs nothing until asked, then in an order of its own; `again` returns one batch for another."""

    def __init__(self, seed, again=False):
        self.random, self.waiting, self.again, self.first = np.random.default_rng(seed), [], again, None

    def submit(self, call, *arguments):
        future = Future()
        self.waiting.append((future, call, arguments))
        if len(self.waiting) == 3:
            self.work()
        return future

    def work(self):
        self.random.shuffle(self.waiting)
        while self.waiting:
            future, call, arguments = self.waiting.pop()
            result = call(*arguments)
            self.first = self.first or result
            future.set_result(self.first if self.again else result)


# --- the numbers ---------------------------------------------------------------------------------------------------


# Recursive filters against the Fourier transform, in a ride of half a second.
NEAR = {"comfort": 1e-4, "hand_arm": 5e-4, "dose": 1e-4, "transient": 1e-4, "crest_factor": 2e-4}


def test_equals_single_rides(whole):
    assert set(whole.values) == set(NAMES) and not whole.cancelled and whole.done.all()
    assert whole["comfort"].shape == (7, 11)
    for i, j in ((0, 0), (3, 5), (6, 10), (2, 9)):
        one = run_of(SPEEDS[i], MASSES[j])
        run = ride(one.vehicle, one.profile, one.speed, one.law, one.timing)
        wanted = vars(metrics(run))
        for name, value in wanted.items():
            near = NEAR.get(name, 1e-9)
            assert whole[name][i, j] == pytest.approx(value, rel=near, abs=1e-12), name
        assert whole["peak_acceleration"][i, j] == pytest.approx(np.abs(run.body_acceleration).max(), rel=1e-9)


def test_any_kind_of_parameter():
    """Machines, laws, sample rates and valve lags as axes: time steps and logs differ from run to run."""
    grid = {
        "machine": list(FLEET), "law": [Passive(0.2), TwoStateSkyhook(), ModeSelector()],
        "rate": [math.inf, 333.0, 1000.0, 4000.0], "lag": [0.0, 0.01],
    }  # fmt: skip

    def of(machine, law, rate, lag):
        return Ride(FLEET[machine], SHORT, 8.0, law, Timing(sample_rate=rate, compute=0.001, valve_time_constant=lag))

    found = sweep(of, grid)
    assert found["heat"].shape == (3, 3, 4, 2) and found.axes["law"] == grid["law"]
    for place in ((0, 1, 0, 0), (1, 2, 1, 1), (2, 0, 2, 1), (1, 1, 3, 0)):
        one = of(*(values[k] for values, k in zip(grid.values(), place, strict=True)))
        run = ride(one.vehicle, one.profile, one.speed, one.law, one.timing)
        assert found["heat"][place] == pytest.approx(metrics(run).heat, rel=1e-9)
        assert found["body_acceleration"][place] == pytest.approx(metrics(run).body_acceleration, rel=1e-9)


def climbed(run):
    return float(run.wheel_height.max())


def test_measures_and_kept_runs(whole):
    """A measure of one's own, and the states only if asked for."""
    assert whole.runs == {}
    grid = {"height": [0.02, 0.05], "speed": [4.0, 6.0, 9.0]}

    def of(height, speed):
        return Ride(TRAIL_BIKE, step(height, 1.0, 4.0), speed, ModeSelector(), CHAIN, log_step=2.5e-4)

    found = sweep(of, grid, measures={"climbed": climbed}, keep_runs=True)
    assert set(found.runs) == {(i, j) for i in range(2) for j in range(3)}
    for place, run in found.runs.items():
        one = of(grid["height"][place[0]], grid["speed"][place[1]])
        single = ride(one.vehicle, one.profile, one.speed, one.law, one.timing, log_step=2.5e-4)
        np.testing.assert_allclose(run.wheel_height, single.wheel_height, rtol=0, atol=1e-10)
        assert found["climbed"][place] == climbed(run)
    assert sweep(of, grid, measures={"climbed": climbed}).runs == {}


@pytest.mark.parametrize(
    "names", [("comfort",), ("dose", "transient"), ("heat", "hand_arm"), ("strokes", "airborne"), "peak_acceleration"]
)
def test_only_the_metrics_asked_for(whole, names):
    """The same numbers whether or not the filters of the weightings run beside them."""
    found = sweep(run_of, GRID, metrics=names)
    assert list(found.values) == ([names] if isinstance(names, str) else list(names))
    for name, values in found.values.items():
        np.testing.assert_array_equal(values, whole[name], err_msg=name)


def test_measures_alone():
    assert list(sweep(run_of, {"speed": [6.0], "mass": [60.0]}, metrics=(), measures={"climbed": climbed}).values) == [
        "climbed"
    ]


@pytest.mark.parametrize(
    ("metrics", "measures", "sentence"),
    [
        (("confort",), {}, "metric is 'confort'; allowed are body_acceleration, comfort"),
        (("heat", "heat"), {}, "heat is asked for twice"),
        (("heat",), {"heat": climbed}, "heat is asked for twice"),
        ((), {}, "metrics and measures are empty"),
    ],
)
def test_names_that_a_map_cannot_hold(metrics, measures, sentence):
    with pytest.raises(ValueError, match=sentence):
        sweep(run_of, GRID, metrics=metrics, measures=measures)


# --- order, workers, accidents -------------------------------------------------------------------------------------


@pytest.mark.parametrize("workers", [1, 2, 5])
def test_number_of_workers_does_not_matter(whole, workers):
    with ThreadPoolExecutor(workers) as pool:
        assert_same(sweep(run_of, GRID, pool), whole)
        assert pool.submit(int, 3).result() == 3, "the executor stays open"


@pytest.mark.parametrize("seed", [1, 2])
def test_order_does_not_matter(whole, seed):
    """77 runs are three batches, done in an order that is drawn."""
    assert_same(sweep(run_of, GRID, Shuffled(seed)), whole)


def test_batches_do_not_matter(whole, monkeypatch):
    """Other windows put other rides side by side."""
    monkeypatch.setattr(sweeping, "WINDOW", 10)
    assert_same(sweep(run_of, GRID), whole)


def test_a_run_that_comes_back_twice_is_an_error():
    with pytest.raises(RuntimeError, match=r"sweep: run \d+ came back twice; allowed is once"):
        sweep(run_of, GRID, Shuffled(1, again=True))


def test_a_run_that_never_comes_back_is_an_error(monkeypatch):
    kept = sweeping._step

    def loses_one(metrics, measures, keep_runs, numbers, rides):
        back = kept(metrics, measures, keep_runs, numbers, rides)
        if 5 in numbers:
            left = [k for k, number in enumerate(numbers) if number != 5]
            return sweeping._Returned([numbers[k] for k in left], back.values[left], {}, {})
        return back

    monkeypatch.setattr(sweeping, "_step", loses_one)
    with pytest.raises(RuntimeError, match="sweep: run 5 never came back; allowed is once"):
        sweep(run_of, GRID)


def test_a_failing_executor_is_told():
    def broken(run):
        raise OSError("no room left")

    with pytest.raises(RuntimeError, match=r"sweep: the executor failed on runs \[.*no room left"):
        sweep(run_of, GRID, measures={"broken": broken})


def test_a_cluster_that_loses_a_worker(whole):
    """Two worker processes of dask's, one killed midway: the same map, every run in it, none twice."""
    seen = []
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        victim = next(iter(client.run(os.getpid).values()))

        def progress(done, total):
            if not seen:
                os.kill(victim, signal.SIGKILL)
            seen.append((done, total))

        window, sweeping.WINDOW = sweeping.WINDOW, 4  # 20 batches
        try:
            found = sweep(run_of, GRID, client.get_executor(), progress)
        finally:
            sweeping.WINDOW = window
    assert len(seen) > 1 and seen[0][0] < 77 and seen[-1] == (77, 77)
    assert_same(found, whole)


# --- progress, cancel, memory --------------------------------------------------------------------------------------


def test_progress(monkeypatch):
    monkeypatch.setattr(sweeping, "WINDOW", 8)
    told = []
    sweep(run_of, GRID, progress=lambda done, total: told.append((done, total)))
    counts = [done for done, _ in told]
    assert counts == sorted(set(counts)) and told[-1] == (77, 77) and len(told) > 1


def test_cancel_returns_what_is_done(whole, monkeypatch):
    """Cancelled after the first batches: what is there is right, the rest NaN, and nothing claims to be done."""
    monkeypatch.setattr(sweeping, "WINDOW", 8)
    monkeypatch.setattr(sweeping, "IN_FLIGHT", 2)
    counted = [0]
    found = sweep(run_of, GRID, None, lambda done, total: counted.append(done), lambda: counted[-1] > 8)
    assert found.cancelled and 8 < found.done.sum() < 77
    for name in NAMES:
        np.testing.assert_array_equal(found[name][found.done], whole[name][found.done])
        assert np.isnan(found[name][~found.done]).all()


def test_cancelled_before_it_begins():
    found = sweep(run_of, GRID, cancel=lambda: True)
    assert found.cancelled and not found.done.any()


def test_cancelled_when_all_is_done(whole):
    asked = []
    found = sweep(run_of, GRID, progress=lambda done, total: asked.append(done), cancel=lambda: asked[-1:] == [77])
    assert not found.cancelled
    assert_same(found, whole)


def test_a_failing_progress_stops_the_sweep():
    def fails(done, total):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        sweep(run_of, GRID, progress=fails)


def test_memory_does_not_grow_with_the_number_of_runs():
    """Beyond the map itself, a run more takes some bytes for its place on the axes, not the 2 kB of a ride nor the
    9 kB of its states."""
    flat = iso_8608("B", 1.0, seed=1)

    def peak(count):
        tracemalloc.start()
        grid = {"setting": np.linspace(0.0, 1.0, count // 8), "speed": np.linspace(8.0, 9.0, 8)}
        here = sweeping.Here()  # as many batches under way each time, which threads on a busy machine leave to chance
        found = sweep(lambda setting, speed: Ride(TRAIL_BIKE, flat, speed, Passive(setting)), grid, here)
        top = tracemalloc.get_traced_memory()[1] - sum(values.nbytes for values in found.values.values())
        tracemalloc.stop()
        assert found.done.all()
        return top

    peak(64)
    assert peak(8192) - peak(2048) < 100 * (8192 - 2048)


# --- errors --------------------------------------------------------------------------------------------------------


def test_bad_runs_lose_nothing(whole):
    """A speed that no ride may have, and a loop that runs away, are NaN with their sentence; the rest is there."""
    speeds = [*SPEEDS, -3.0]

    def of(speed, mass):
        gain = -1e6 if mass == MASSES[4] else 0.0
        one = run_of(speed, mass)
        return one if gain == 0.0 else Ride(one.vehicle, SHORT, speed, StateFeedback(on_body_velocity=gain), CHAIN)

    found = sweep(of, {"speed": speeds, "mass": MASSES})
    assert found.done.all() and not found.cancelled
    bad = {(7, j) for j in range(11)} | {(i, 4) for i in range(7)}
    assert set(found.failures) == bad
    assert found.failures[7, 0] == "ride: speed is -3 m/s; allowed is 0.05 to 100 m/s."
    assert "driven beyond 10000 m or m/s" in found.failures[0, 4]
    good = np.ones((8, 11), dtype=bool)
    good[tuple(np.array(sorted(bad)).T)] = False
    for name in NAMES:
        assert np.isnan(found[name][~good]).all()
        np.testing.assert_array_equal(found[name][:7][good[:7]], whole[name][good[:7]])


@pytest.mark.parametrize(
    ("grid", "error", "sentence"),
    [
        ({}, TypeError, r"sweep: grid is \{\}; allowed are one or more parameters by name"),
        ([1.0, 2.0], TypeError, r"sweep: grid is \[1.0, 2.0\]; allowed are"),
        ({"speed": 4.0}, TypeError, r"sweep: speed is 4.0; allowed is a sequence of values"),
        ({"speed": "fast"}, TypeError, r"sweep: speed is 'fast'; allowed is a sequence"),
        ({"speed": [4.0], "mass": []}, ValueError, r"sweep: mass has no values; allowed is one or more"),
    ],
)
def test_bad_grids(grid, error, sentence):
    with pytest.raises(error, match=sentence):
        sweep(run_of, grid)


def test_what_is_no_ride():
    with pytest.raises(TypeError, match=r"sweep: run_of returned 4.0; allowed is a Ride"):
        sweep(lambda speed: speed, {"speed": [4.0]})


def test_unknown_name(whole):
    with pytest.raises(KeyError, match="'comfrt' is not in the map; allowed are body_acceleration, comfort"):
        whole["comfrt"]
