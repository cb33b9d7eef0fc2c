"""`sweep` of the vocabulary: every combination once, draws that a seed repeats, one sentence for what is wrong."""

import math
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context

import numpy as np
import pytest

from helpers.course import bike, own_law, ride, step_ground, sweep
from helpers.models.uncertainty import Range, shares
from helpers.simulation.riding import RideError


def product(a, b=2.0):
    return a * b


def both(a, b):
    return {"sum": a + b, "ratio": a / b}


def test_a_grid_is_tried_once_at_each_place():
    calls = []

    def noted(a, b):
        calls.append((a, b))
        return 10 * a + b

    found = sweep(noted, {"a": [1, 2, 3], "b": (4, 5)})
    assert calls == [(a, b) for a in (1, 2, 3) for b in (4, 5)]
    assert found["result"].tolist() == [[14, 15], [24, 25], [34, 35]]
    assert found["a"].tolist() == [[1, 1], [2, 2], [3, 3]]
    assert repr(found).splitlines()[0] == "| a \\ b | 4.00 | 5.00 |"
    one = sweep(product, {"a": np.linspace(0, 1, 3)})
    assert repr(one).splitlines()[-1] == "| a 1.00 | 2.00 |" and one["result"].shape == (3,)
    three = sweep(lambda a, b, c: a, {"a": range(9), "b": range(9), "c": ["x", "y"]})
    assert three["result"].shape == (9, 9, 2) and "| result | 4.00 | 0 | 4.00 | 8.00 |" in repr(three)


def pooled():
    yield ThreadPoolExecutor(2)
    yield ProcessPoolExecutor(2, mp_context=get_context("forkserver"))


def test_any_executor_gives_the_same():
    grid = {"a": list(np.linspace(1, 2, 7)), "b": [1.0, 2.0, 3.0, 0.0]}
    here = sweep(both, grid)
    for pool in pooled():
        with pool:
            there = sweep(both, grid, executor=pool)
        for name in ("sum", "ratio", "a", "b"):
            np.testing.assert_array_equal(here[name], there[name])
        assert there.failures == here.failures and repr(there) == repr(here)
    assert len(here.failures) == 7 and np.isnan(here["ratio"][:, 3]).all()
    assert "7 of 28 failed, the first at a 1.00, b 0: ZeroDivisionError: float division by zero." in repr(here)


def test_progress_is_told():
    told = []
    sweep(product, {"a": range(40)}, progress=lambda done, total: told.append((done, total)))
    assert told == [(16, 40), (32, 40), (40, 40)]


def test_draws_hang_on_the_seed_alone_and_follow_their_ranges():
    over = {"a": (1, 3), "b": (0.0, 1.0, 4.0), "kind": ["x", "y", "z"]}

    def cost(a, b, kind):
        return {"cost": a + b, "x": kind == "x"}

    found, again, other = sweep(cost, over, draws=600), sweep(cost, over, draws=600), sweep(cost, over, 600, seed=2)
    assert np.array_equal(found["cost"], again["cost"]) and not np.array_equal(found["cost"], other["cost"])
    assert found["a"].min() >= 1 and found["a"].max() <= 3 and found["a"].mean() == pytest.approx(2.0, abs=1e-3)
    assert found["b"].mean() == pytest.approx(5 / 3, abs=3e-3)  # of a triangle: a third of its corners' sum
    assert np.std(found["a"]) == pytest.approx(2 / math.sqrt(12), rel=2e-3)
    assert found["x"].mean() == pytest.approx(1 / 3, abs=1e-9)  # strata: exactly a third
    table = found.rows["cost"]
    assert table["middle"] == np.quantile(found["cost"], 0.5) and table["5 %"] == np.quantile(found["cost"], 0.05)
    assert list(found.moved_by("cost").rows) == ["b", "a"]  # sd 0.85 against 0.58
    assert found.moved_by("cost")["b"]["rank correlation"] > 0.75
    assert sweep(lambda a: -a, {"a": (0, 1)}, draws=50).moved_by()["a"]["rank correlation"] == pytest.approx(-1)


def test_draws_are_those_of_the_course_s_uncertain_inputs():
    ranges = {"a": Range(0, 1, 4), "b": Range(1, 2, 3)}
    drawn = shares(ranges, seed=5, count=300)
    wanted = np.sort(ranges["a"].quantile(drawn["a"]) * ranges["b"].quantile(drawn["b"]))
    found = sweep(product, {"a": (0, 1, 4), "b": (1, 2, 3)}, draws=300, seed=5)
    np.testing.assert_array_equal(np.sort(found["result"]), wanted)


def test_rides_and_own_laws_are_swept():
    def felt(firm, height):
        return ride(bike, step_ground(height), own_law(lambda seen: firm))

    found = sweep(felt, {"firm": [0.0, 0.5], "height": [0.02, 0.05]})
    assert found["vibration"][1, 0] == ride(bike, step_ground(0.02), own_law(lambda seen: 0.5)).vibration
    assert found["travel_used"].shape == (2, 2) and "firm 0.500, height 0.0500" in repr(found)


def interrupting(a):
    raise KeyboardInterrupt


def endless(a):
    def law(seen):
        raise KeyboardInterrupt

    return ride(bike, step_ground(0.05), own_law(law))


WRONG = {
    "no function": (lambda: sweep(3, {"a": [1]}), "allowed are a function, and values by name"),
    "no values": (lambda: sweep(product, {"a": []}), r"a is \[\]; allowed is a list of values"),
    "a number": (lambda: sweep(product, {"a": 3}), "a is 3; allowed is a list of values"),
    "another name": (lambda: sweep(product, {"c": [3]}), "the function is handed c by name: missing a required"),
    "nothing works": (lambda: sweep(lambda a: 1 / 0, {"a": [0]}), "nothing could be computed, .* at a 0: ZeroDiv"),
    "text": (lambda: sweep(lambda a: "x", {"a": [0]}), "at a 0: .* returned 'x'; allowed is a number, a dict"),
    "a backward range": (lambda: sweep(product, {"a": (3, 1)}, draws=5), r"a is \(3, 1\); allowed is \(low, high\)"),
    "an odd triangle": (lambda: sweep(product, {"a": (1, 9, 3)}, draws=5), r"a is \(1, 9, 3\); allowed is"),
    "odd draws": (lambda: sweep(product, {"a": (1, 3)}, draws=1.5), "draws is 1.5; allowed is 1 to 1000000"),
    "an unknown result": (lambda: sweep(product, {"a": [1]})["b"], "'b' is not in it; allowed are result, a"),
    "an interrupt": (lambda: sweep(interrupting, {"a": [1, 2]}), "interrupted; none of its 2 cases is kept"),
}


@pytest.mark.parametrize("kind", WRONG)
def test_what_is_wrong_is_one_sentence(kind):
    act, told = WRONG[kind]
    with pytest.raises(RideError, match=told) as problem:
        act()
    assert "\n" not in str(problem.value)


def test_an_interrupted_law_ends_the_sweep():
    with pytest.raises(ValueError, match="law: at 0.000 s of the ride it was interrupted"):
        sweep(endless, {"a": [1, 2]})
