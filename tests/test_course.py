"""The vocabulary of a page's cells: each name does what it says, and wrong use ends in one sentence."""

import json
import math

import numpy as np
import pytest

import helpers.course as course
from helpers.control.response import Response
from helpers.control.timing import Timing
from helpers.course import *  # noqa: F403
from helpers.course import bike, carrier, fell_loop, ideal, motorcycle, my_law, own_law, real_chain, ride
from helpers.simulation import calmest, history, robust
from helpers.simulation.logs import LogError
from helpers.simulation.metrics import bob, metrics
from helpers.simulation.riding import RideError
from helpers.simulation.robust import Finding
from helpers.simulation.runs import ride as plainly

LOOP = fell_loop()
STEP = course.step_ground(0.05)


def test_each_name_answers_what_can_be_changed():
    for name in course.__all__:
        assert len((getattr(course, name).__doc__ or "").split()) > 8 or name in ("np", "display"), name
    assert len(course.__all__) <= 44


def test_ride_takes_the_real_chain_and_the_vehicles_speed():
    here = ride(bike, LOOP.descent, course.Skyhook(1000))
    run = plainly(bike, LOOP.descent.ground, bike.descent_speed, course.Skyhook(1000), real_chain)
    assert np.array_equal(here.body_acceleration, run.body_acceleration)
    told = metrics(run)
    assert (here.vibration, here.dose, here.commands) == (told.comfort, told.dose, run.commands / run.duration)
    assert here.off_ground == 100.0 * told.airborne and here.travel_used == 100.0 * told.bump_share
    assert np.array_equal(here.suspension_velocity, run.body_velocity - run.wheel_velocity)
    assert here.heat + here.drag > 0.0 and here.power_in == 0.0
    assert ride(bike, LOOP.descent, course.Skyhook(1000), ideal).vibration != here.vibration
    assert "trail bike, descent, linear skyhook: vibration" in repr(here)


def test_a_ride_on_two_wheels_is_measured_above_each():
    """Where k^2 = ab the rear is the quarter car, a wheelbase later."""
    car = course.two_wheels(bike).decoupled()
    one, alone = ride(car, STEP, (course.Fixed(1), course.Fixed(0))), ride(bike, STEP, course.Fixed(0))
    late = round(1e3 * car.warning(3.0))
    count = len(alone.time) - 1
    ours = one.rear.body_acceleration[late : late + count]
    np.testing.assert_allclose(ours, alone.body_acceleration[:count], rtol=0, atol=0.02 * one.rear.peak)
    assert one.rear.peak == abs(one.rear.body_acceleration).max() and (one.front.locked, one.rear.locked) == (100, 0)
    assert one.rear.vibration * len(one.time) ** 0.5 == pytest.approx(alone.vibration * count**0.5, rel=0.01)
    assert one.rear.dose == pytest.approx(alone.dose, rel=0.01) and "m/s² behind" in repr(one)
    law = course.FrontTells(lead=0.05)
    pair = law.laws(car.warning(3.0), real_chain.delay + real_chain.valve_time_constant)
    assert np.array_equal(ride(car, STEP, law).rear.valve, ride(car, STEP, pair).rear.valve)
    for vehicle, wrong in ((car, (course.Fixed(1),)), (car, "skyhook"), (bike, law), (bike, pair)):
        with pytest.raises(RideError, match="allowed is a law"):
            ride(vehicle, STEP, wrong)
    with pytest.raises(AttributeError):
        one.rear.bob  # noqa: B018


def test_bob_is_the_travel_at_the_rhythm_of_the_legs():
    climb = ride(bike.plain(), LOOP.climb)
    turn = 2.0 * math.pi * (2.0 * 80.0 / 60.0) * climb.time  # two pushes a turn, 80 turns a minute
    waves = np.column_stack([np.sin(turn), np.cos(turn), np.ones_like(turn)])
    fitted = np.linalg.lstsq(waves, climb.travel, rcond=None)[0]
    assert climb.bob == pytest.approx(1e3 * math.hypot(*fitted[:2]), rel=2e-3)


def test_a_ride_measures_bob_and_the_score_of_its_valve():
    """Bob is read at two pushes a turn, where the legs move a locked bike least; the score, from exact bumps."""
    opened, locked = (ride(bike, LOOP.climb, course.Fixed(setting)) for setting in (0, 1))
    assert opened.bob == pytest.approx(1000 * bob(opened.run, 2 * 80 / 60)) and opened.bob > 4 * locked.bob
    assert (opened.score.carried, locked.score.hits, locked.score.lock_share) == (12, 0, 1.0)
    assert opened.score.bumps is locked.score.bumps
    fine = ride(bike, STEP, course.Fixed(1), log_step=2.5e-4)
    assert np.diff(fine.time) == pytest.approx(2.5e-4)


def test_a_stretch_changes_in_one_word():
    faster = LOOP.descent.changed(pace=1.2)
    assert faster.speed_of(bike) == pytest.approx(12.0) and faster.about == LOOP.descent.about
    other = LOOP.descent.changed(seed=3)
    assert other.changed(seed=8).ground.at([50.0, 60.0]) == pytest.approx(LOOP.descent.ground.at([50.0, 60.0]))
    assert not np.allclose(other.ground.at([50.0, 60.0]), LOOP.descent.ground.at([50.0, 60.0]))
    assert STEP.changed(height=0.02).ground.at([3.0])[0] == 0.02 and STEP.speed_of(carrier) == 3.0
    rough = course.rough_road("D", 100.0).changed(road_class="B")
    assert np.std(rough.ground.at(np.arange(0, 100, 0.1))) < 0.01
    assert [stretch.name for stretch in LOOP] == ["climb", "traverse", "descent"]


WRONG = {
    "a word for ground": (lambda: ride(bike, "descent"), "ground is 'descent'; allowed is a stretch"),
    "a profile for ground": (lambda: ride(bike, LOOP.descent.ground), "allowed is a stretch"),
    "a plain machine under a law": (lambda: ride(bike.plain(), STEP, course.Skyhook(9)), "no valve to move"),
    "a number for a law": (lambda: ride(bike, STEP, 3), "law is 3; allowed is a law"),
    "a number for the timing": (lambda: ride(bike, STEP, None, 0.01), "timing is 0.01; allowed is a Timing"),
    "a name for a machine": (lambda: ride("bike", STEP), "allowed is a machine"),
    "an unknown measure": (lambda: course.compare({"a": ride(bike, STEP)}, "comfort"), "'comfort' is not measured"),
    "no cases": (lambda: course.compare({}), "the cases come by name"),
    "a budget of a number": (lambda: course.budget(3), "budget: timing is 3; allowed is a Timing"),
    "an unknown trace": (lambda: course.traces({"a": ride(bike, STEP)}, "colour"), "'colour' is not traced"),
    "a span outside": (lambda: course.traces({"a": ride(bike, STEP)}, "valve", (50, 60)), "span is 50 to 60 s"),
    "a gain that is a ride": (lambda: course.robust(lambda g: ride(bike, g), STEP, loops=1), "allowed is one finite"),
    "nothing to vary": (lambda: course.robust(abs, STEP, waviness=(1.0,)), "no waviness to vary; allowed are height"),
    "a number to ride": (lambda: course.robust(abs, 3), "given is 3; allowed are a stretch of ground and machines"),
    "two stretches": (lambda: course.robust(abs, STEP, STEP), "2 stretches are given; allowed are one stretch"),
    "factors of nothing": (lambda: course.robust(abs, STEP, body_mass=(2,)), "body_mass of no machine; allowed are"),
    "an unknown factor": (lambda: course.robust(lambda v: 1.0, bike, mass=(2,)), "no 'mass' to vary; allowed are"),
    "no such log": (lambda: course.load_log("none.csv"), "none.csv: there is no such file"),
    "live without sliders": (lambda: course.live(lambda: 1.0), "0 sliders are asked for"),
    "live with a wrong range": (lambda: course.live(lambda a: a, a=(3, 1)), "runs from 3 to 1"),
}


@pytest.mark.parametrize("kind", WRONG)
def test_wrong_use_is_one_sentence(kind):
    act, told = WRONG[kind]
    with pytest.raises((RideError, LogError), match=told) as problem:
        act()
    assert problem.value._render_traceback_() == [str(problem.value)] and "\n" not in str(problem.value)


def test_a_log_of_the_yard_gives_back_the_chain():
    times = course.response_times(course.recording(motorcycle, real_chain, events=24).log(rate=1000))
    assert times.events in (24, 25)  # a plank close behind another may find the valve shut again
    assert abs(times.to_63.value - 1e-3 * course.budget(real_chain).mean) < times.to_63.half
    assert "63 %: 7." in repr(times)
    log = course.load_log("time (s),pressure (bar)\n0,1\n0.001,2\n0.002,3")
    assert "3 rows, 0.0 s at 1000.0 Hz" in repr(log)


def test_what_cannot_be_changed_is_said():
    with pytest.raises(ValueError, match="there is no 'sed' to change; allowed are pace, speed, pedalling, seed"):
        LOOP.descent.changed(sed=3)
    with pytest.raises(AttributeError, match="A ride has no 'comfort'; it has vibration, dose"):
        _ = ride(bike, STEP).comfort


@pytest.fixture
def as_it_was():
    """The law that cells find before they write one, put back for other tests."""
    first = my_law.function
    yield
    object.__setattr__(my_law, "function", first)


@pytest.mark.usefixtures("as_it_was")
def test_my_law_is_the_last_that_was_written():
    first = ride(bike, STEP, my_law)

    @my_law
    def mine(seen):
        return 1.0

    second, same = ride(bike, STEP, my_law), ride(bike, STEP, own_law(lambda seen: 1.0))
    assert np.array_equal(second.valve, same.valve) and not np.array_equal(first.valve, second.valve)
    assert ride(bike, STEP, mine).vibration == second.vibration and "mine" in repr(second)
    assert ride(bike, STEP, own_law(lambda seen: -500 * seen.body_velocity, actuator=True)).power_in > 0.0


def test_an_actuators_powers_add_up():
    """What it puts in less what it takes out is its net work; a late picture costs more calm than a weak motor."""
    one = ride(carrier, LOOP.traverse, course.OptimalFeedback(carrier))
    assert one.power_in - one.power_back == pytest.approx(one.run.actuator_work / one.run.duration)
    assert one.power_peak > 10.0 * one.power_in > 0.0 and "optimal feedback" in repr(one)
    late, weak = (
        course.OptimalFeedback(carrier, preview=0.1, **more) for more in ({"late": 0.04}, {"force_limit": 200})
    )
    assert ride(carrier, LOOP.traverse, late).vibration > 1.2 * ride(carrier, LOOP.traverse, weak).vibration


def test_compare_tells_units_and_keeps_numbers():
    rides = {"open": ride(bike, STEP), "firm": ride(bike, STEP, course.Fixed(1.0))}
    table = course.compare(rides, "vibration", "travel_used")
    assert "| vibration (m/s²) | travel used (%) |" in repr(table)
    assert table["firm"]["vibration"] == rides["firm"].vibration
    rows = course.compare({"a": (2, 3), "b": 5}, lambda x, y=1: {"sum": x + y, "share (%)": -12.34, "never": math.inf})
    assert repr(rows).splitlines()[2:] == ["| a | 5 | −12.3 | never |", "| b | 6 | −12.3 | never |"]


def test_a_budget_adds_up_until_63_and_90_percent_of_the_force():
    slow = Timing(sample_rate=100.0, sensor_filter=50.0, compute=1e-3, jitter=2e-3, valve_dead_time=3e-3,
                  valve_time_constant=2e-3)  # fmt: skip
    table, late = course.budget(slow), 1e3 / (100 * math.pi)  # of first order: its time constant
    assert (table.best, table.mean, table.worst) == pytest.approx((late + 6.0, late + 12.0, late + 18.0))
    ninety = Response.first_order(3e-3, 2e-3).force_90 - Response.first_order(3e-3, 2e-3).force_63
    assert table["until 90 % of the force"]["mean (ms)"] == pytest.approx(table.mean + 1e3 * ninety)
    assert "| wait for a sample | 0 | 5.00 | 10.0 |" in repr(table)
    assert course.budget(slow.changed(sample_rate=500.0)).mean == pytest.approx(table.mean - 4.0)
    assert course.budget(ideal).worst == 0.0
    assert course.budget(slow, filter_order=2).mean == pytest.approx(table.mean + (math.sqrt(2.0) - 1.0) * late)


def test_stills_say_what_they_show():
    shown = course.traces({"open": ride(bike, STEP)}, ("travel", "valve"), (0.5, 1.0), "A step")
    assert shown.alt.startswith("A step. travel (mm), open:") and "valve (0 open, 1 firm), open: 0 to 0" in shown.alt
    both = course.traces({"plain": ride(bike.plain(), STEP), "open": ride(bike, STEP)}, ("travel", "valve"))
    assert "travel (mm), plain:" in both.alt and "valve (0 open, 1 firm), plain:" not in both.alt
    alone = course.traces({"plain": ride(bike.plain(), STEP)}, "valve")
    assert alone.alt.startswith("valve (0 open, 1 firm), plain: 0 to 0")
    drawn = course.curves({"line": ([0, 1, 2], [0, -1, 4])}, "speed (m/s)", "force (N)", "A line rises")
    assert drawn.alt == "A line rises. line: force (N) −1 to 4 for speed (m/s) 0 to 2."


def test_robust_counts_and_judges():
    told = {1.0: 0.2, 0.8: 0.1, 1.2: 0.3}
    found = course.robust(lambda ground: told[ground.pace], STEP, loops=1)
    assert (found.here, found.least, found.largest, found.agree) == (0.2, 0.1, 0.3, 3) and found.verdict == "sure"
    loops = course.robust(lambda ground: 0.1 * ground.about["seed"], LOOP.climb, loops=6, speeds=(1.0,))
    assert len(loops.values) == 6 and loops.largest == 0.8
    varied = course.robust(lambda leak=1.0: 2.0 - leak, varied={"leak": (0.5, 1.99, 3.0)}, matters=0.05)
    assert varied.row == {"here": 1.0, "least": -1.0, "largest": 1.5, "agree": "3 of 4", "verdict": "less sure"}
    assert Finding(0.01, {"here": 0.01, "else": -0.2}, 0.05).verdict == "not shown"
    others = {"loops": 1, "speeds": (1.0,), "waviness": (1.5,)}
    spectra = course.robust(lambda ground: ground.about["waviness"], LOOP.climb, **others)
    assert spectra.values == {"here": 2.0, "waviness 1.5": 1.5}


def test_robust_varies_machines_spectra_and_tells_the_dose():
    seen = []

    def gain(vehicle, ground, rival):
        seen.append((vehicle, rival))
        return vehicle.body_mass / 60.0 - rival.damping / 5000.0 - 0.1 * (ground.about["waviness"] - 2.0)

    given, few = (bike, LOOP.climb, bike.plain(1000)), {"loops": 1, "speeds": ()}
    found = course.robust(gain, *given, **few, waviness=(2.0, 2.5), classes="BC", body_mass=(0.5,), damping=(1.0, 2.0))
    told = {"here": 0.8, "waviness 2.5": 0.75, "class B": 0.8, "body_mass times 0.5": 0.3, "damping times 1": 0.8,
            "damping times 2": 0.6}  # fmt: skip
    assert found.values == pytest.approx(told)
    vehicle, rival = seen[-1]
    assert vehicle.open_curve.force(0.3) == pytest.approx(2 * bike.open_curve.force(0.3)) and vehicle.damping == 1000
    assert rival.open_curve == rival.lockout_curve == bike.plain(2000).open_curve
    usual = course.robust(lambda one: one.tyre_rate, bike)
    assert list(usual.values) == ["here"] + [f"{name} times {factor:g}" for name, factors in robust.FACTORS.items()
                                             for factor in factors]  # fmt: skip
    pair = course.robust(lambda ground: (ride(bike, ground), ride(bike, ground, course.Fixed(0.1))), STEP)
    first, second = ride(bike, STEP), ride(bike, STEP, course.Fixed(0.1))
    assert pair.here == first.vibration - second.vibration and pair.doses["here"] == first.dose - second.dose
    fewer = sum(dose > 0.0 for dose in pair.doses.values())
    assert pair.row["less dose"] == f"{fewer} of 3" and len(pair.values) == 3
    road = course.robust(lambda ground: float(ord(ground.about["road_class"])), course.rough_road("C", 50.0), loops=1,
                         speeds=(), classes="BCD")  # fmt: skip
    assert road.values == {"here": 67.0, "class B": 66.0, "class D": 68.0}
    rougher = robust.cases(LOOP.descent, loops=1, speeds=(), classes="E")["class E"]
    assert rougher.about == LOOP.descent.about | {"rougher": 4.0}


def broken(seen):
    return 0.0 if seen.time < 0.5 else None


def test_a_law_of_ones_own_in_compare_robust_and_live():
    good, bad = own_law(lambda seen: 0.4), own_law(broken)
    table = course.compare({"good": (bike, STEP, good), "bad": (bike, STEP, bad)}, ride, "dose", "commands")
    assert table["good"] == {"dose": ride(bike, STEP, good).dose, "commands": ride(bike, STEP, good).commands}
    sentence = "broken: at 0.500 s of the ride it returned None (is a `return` missing?); allowed is a number"
    assert f"| bad | {sentence}" in repr(table) and "| dose (m/s¹·⁷⁵) | commands (1/s) |" in repr(table)
    rows = course.compare({"a": bad, "b": good}, lambda law: {"x": ride(bike, STEP, law).dose, "y": 1})
    assert f"| a | {sentence}" in repr(rows) and rows["b"]["y"] == 1
    with pytest.raises(ValueError, match="at 0.500 s"):
        course.compare({"a": (bike, STEP, bad)}, ride)

    def gain(ground, law=good):
        return ride(bike, ground), ride(bike, ground, law)

    assert course.robust(gain, STEP).here == ride(bike, STEP).vibration - ride(bike, STEP, good).vibration
    with pytest.raises(ValueError, match="broken: at 0.500 s of the ride"):
        course.robust(lambda ground: gain(ground, bad), STEP)

    def felt(gain):
        return ride(bike, STEP, own_law(lambda seen: gain if seen.time < 1.0 or gain < 0.9 else None))

    figure = course.live(felt, gain=(0.0, 0.8))
    figure.update(gain=0.2)
    assert figure.numbers[0] == ("vibration (m/s²)", f"{felt(0.2).vibration:.3g}")
    with pytest.raises(ValueError, match="at 1.000 s of the ride it returned None"):
        course.live(felt, gain=(0.0, 1.0))


def test_live_follows_a_function_just_written():
    def parabola(gain, offset=1.0):
        return {"height": (gain - 2.0) ** 2 + offset}

    figure = course.live(parabola, gain=(0, 10, "N s/m"), offset=(0, 4))
    assert figure.values == {"gain": 5.0, "offset": 1.0}
    assert "At gain 5 N s/m, offset 1: height 10.0." in figure.description
    assert "Along gain it is least at 2.14 N s/m." in figure.description
    before = figure.picture.pixels().copy()
    figure.update(gain=0.0)
    assert figure.numbers == [("height", "5.00")] and not np.array_equal(before, figure.picture.pixels())
    figure.update(offset=0.0)
    assert figure.numbers == [("height", "4.00")]
    assert 'alt="At gain 0' in figure._repr_mimebundle_()[0]["text/html"]


def test_calmest_fixed_is_stored_and_found_again_in_little():
    assert not calmest.key_of(bike.changed(tyre_rate=80_000.0), LOOP.descent)  # not the machine that is stored
    assert calmest.key_of(bike, LOOP.descent.changed(speed=5.0)) not in calmest.stored()
    keys = {calmest.key_of(machine, stretch) for machine in course.MACHINES.values() for stretch in LOOP}
    assert set(calmest.stored()) == keys
    rival = course.calmest_fixed(bike, LOOP.descent)
    stored = ride(rival, LOOP.descent).vibration
    assert rival.open_curve == rival.lockout_curve and rival.damping == bike.damping
    assert stored < ride(bike, LOOP.descent).vibration
    few = calmest.with_curve(bike, calmest.search(bike, LOOP.descent, rounds=3))
    assert stored <= ride(few, LOOP.descent).vibration + 0.02, "a few rounds found a calmer one"


def test_best_history_is_calmer_than_any_law_and_its_gradient_is_right():
    known = course.best_history(bike, LOOP.descent)
    best = ride(bike, LOOP.descent, known, known.timing).vibration
    assert best < 0.9 * ride(bike, LOOP.descent, course.Skyhook(1000), ideal).vibration
    assert set(history.stored()) == {key for key in calmest.stored() if "climb" not in key}
    problem = history.Search(bike, STEP, 0.016)
    settings = np.random.default_rng(0).uniform(0.2, 0.8, problem.holds)
    _, gradient = problem.value(settings)
    for place in (40, 45, 60):
        ends = [settings + sign * 1e-5 * (np.arange(problem.holds) == place) for sign in (1, -1)]
        slope = (problem.value(ends[0])[0] - problem.value(ends[1])[0]) / 2e-5
        assert gradient[place] == pytest.approx(slope, rel=1e-4, abs=1e-9)
    coarse = history.History(history.search(bike, STEP, 0.016, iterations=30), 0.016)
    assert ride(bike, STEP, coarse, coarse.timing).vibration < ride(bike, STEP).vibration
    assert history.unpacked(history.packed(np.array([0.0, 1.0, 0.2]))) == pytest.approx([0.0, 1.0, 0.2])


def test_what_is_kept_survives_and_a_bad_file_is_one_sentence(tmp_path, monkeypatch):
    from helpers.teaching import kept
    from helpers.teaching.course import PageError

    path = tmp_path / "my-course.json"
    monkeypatch.setenv("COURSE_LEARNER", str(path))
    assert kept.read() == {}
    kept.keep(learner="Zoë", decisions={"03": {"choice": "a"}})
    kept.keep(class_code="autumn")
    assert kept.read() == {"learner": "Zoë", "class_code": "autumn", "decisions": {"03": {"choice": "a"}}}
    for bad in ("{", "[]", json.dumps({"learner": 3}), json.dumps({"marks": "100"}), "x" * 300_000):
        path.write_text(bad)
        with pytest.raises(PageError, match="my-course.json cannot be read .*: put it aside"):
            kept.read()
        assert path.read_text() == bad
    monkeypatch.setenv("COURSE_LEARNER", "")
    kept.keep(learner="nobody")
    assert kept.read() == {}


MINE = {"name": "barrow", "load": 48, "wheel": 3, "travel": 0.14, "sag": 0.035, "tyre_press": 0.009}


def test_a_machine_of_ones_own_is_kept_for_all_pages(tmp_path, monkeypatch, capsys):
    from helpers.models.own_machine import MachineError
    from helpers.teaching import kept
    from helpers.teaching.course import PageError
    from helpers.teaching.page import open_workbook

    path = tmp_path / "my-course.json"
    monkeypatch.setenv("COURSE_LEARNER", str(path))
    open_workbook(3, learner="Ada", class_code="autumn")
    with pytest.raises(PageError, match="No machine of your own is kept yet"):
        _ = open_workbook(3).machine
    assert kept.with_own({"bike": bike}) == {"bike": bike}
    made = course.machine(**MINE)
    with pytest.raises(MachineError):
        course.machine("nothing", load=1, wheel=3, travel=0.1, sag=0.02, tyre_press=0.01)
    assert made == open_workbook(5).machine and kept.read()["machine"] == MINE and kept.read()["learner"] == "Ada"
    assert kept.with_own({"bike": bike}) == {"bike": bike, "barrow": made}
    course.machine(**MINE | {"name": "trail bike", "load": np.int64(60)})  # the name of another, another weight
    offered = kept.with_own({"trail bike": bike})
    assert list(offered) == ["trail bike", "trail bike (own)"] and offered["trail bike"] == bike
    assert offered["trail bike (own)"].body_mass == 57 and made.body_mass == 45
    capsys.readouterr()
    wrong = ({"load": "heavy"}, {"name": ""}, {"wings": 2}, {"sag": math.nan})
    for bad in ({"load": 1}, {}, *(MINE | part for part in wrong)):
        path.write_text(json.dumps({"machine": bad, "learner": "Ada"}))
        before = path.read_text()
        open_workbook(3)
        said = capsys.readouterr().out.splitlines()
        told = [line for line in said if line.startswith("my-course.json holds a machine that cannot be (")]
        assert len(told) == (bad != {}) and any("drawn for Ada" in line for line in said)
        assert kept.with_own({"bike": bike}) == {"bike": bike} and path.read_text() == before
    path.write_text("{")
    assert course.machine(**MINE) == made and "cannot be read" in capsys.readouterr().out and path.read_text() == "{"


def test_a_hand_in_holds_the_pages_and_what_is_kept(tmp_path, monkeypatch, capsys):
    import zipfile

    from helpers.teaching import kept, page
    from helpers.teaching.course import PageError, workbooks_folder

    monkeypatch.setenv("COURSE_LEARNER", str(tmp_path / "mine.json"))
    kept.keep(learner="Ada")
    path, names = kept.hand_in(tmp_path)
    assert zipfile.ZipFile(path).namelist() == names and zipfile.ZipFile(path).testzip() is None
    assert names == [*(file.name for file in sorted(workbooks_folder().glob("*.ipynb"))), kept.NAME]
    with pytest.raises(PageError, match="hand-in.zip could not be written"):
        kept.hand_in(tmp_path / "none")
    pages = workbooks_folder()
    monkeypatch.setattr(kept, "workbooks_folder", lambda: tmp_path)
    (tmp_path / "mine.pdf").write_bytes(b"%PDF-")
    assert kept.hand_in(tmp_path)[1] == ["mine.pdf", kept.NAME]
    assert "holds 0 pages as last saved and 1 files of sheets, and my-course.json" in kept.handed_in("yes")
    monkeypatch.setattr(kept, "workbooks_folder", lambda: pages)
    told, made = [], []
    monkeypatch.setattr(page, "_show", told.append)
    monkeypatch.setattr(kept, "hand_in", lambda: made.append(1) or (path, names))
    book = page.open_workbook(3)
    book.hand_in("")
    assert not made and "nothing is made yet" in told[0]
    book.hand_in("Yes ")
    assert told[1] == (
        f"**Hand in**: `hand-in.zip`, in the folder `{tmp_path.name}`, holds {len(names) - 1} pages as last saved, and "
        "my-course.json with name, machine and decisions."
    )
