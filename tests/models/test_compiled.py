"""Machine code follows its sources wherever its cache lies, and is made once: counted, not timed."""

import ast
import os
import shutil
import subprocess
import sys

import pytest

from helpers.models import compiled

HELPERS = compiled.PACKAGE
LAW = """\
from helpers.models.compiled import njit
GAIN = 2.0

@njit(cache=True, inline="always")
def law(x):
    return GAIN * x
"""
STEPPER = """\
from helpers.models.compiled import njit
from helpers.control.law import law

@njit(cache=True)
def march(x):
    return law(x) + 1.0
"""
ASK = """\
from helpers.simulation.stepper import march
print(march(1.0), sum(march.stats.cache_hits.values()), sum(march.stats.cache_misses.values()))
"""


@pytest.fixture
def package(tmp_path):
    """A package in small: a law in one file, built into the stepper of another."""
    files = {"control/law.py": LAW, "simulation/stepper.py": STEPPER, "teaching/picture.py": ""}
    files |= {f"{name}__init__.py": "" for name in ("", "models/", "control/", "simulation/", "teaching/")}
    for name, text in files.items():
        (tmp_path / "a/helpers" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "a/helpers" / name).write_text(text)
    shutil.copy(HELPERS / "models/compiled.py", tmp_path / "a/helpers/models")
    return tmp_path / "a"


def started(package, script=ASK, **variables):
    """A process of its own that runs `script` with the package and nothing of ours in its way."""
    mine = {name: value for name, value in os.environ.items() if not name.startswith("NUMBA_CACHE")}
    mine |= {"PYTHONPATH": str(package), "XDG_CACHE_HOME": str(package / "user"), "PYTHONDONTWRITEBYTECODE": "1"}
    words = [sys.executable, "-c", script]
    return subprocess.Popen(words, env=mine | variables, cwd=package, stdout=subprocess.PIPE, text=True)


def asked(package, script=ASK, **variables):
    """What the process prints, as numbers: the result, then hits and misses of the cache."""
    process = started(package, script, **variables)
    told = process.communicate()[0]
    assert process.returncode == 0
    return [float(word) for word in told.split()]


def change_law(package, older=0):
    """The gain becomes 30; the file keeps its time, or is `older` by so many seconds."""
    law = package / "helpers/control/law.py"
    time = law.stat().st_mtime - older
    law.write_text(LAW.replace("2.0", "30.0"))
    os.utime(law, (time, time))


def barred(package):
    """A tree that takes no cache: where its folder would stand is a file."""
    (package / "helpers/__pycache__").write_text("")


PLACES = {
    "in the tree": (lambda package: {}, "helpers/__pycache__/machine-code", 1000),
    "elsewhere": (lambda package: {"NUMBA_CACHE_DIR": str(package / "given")}, "given", 0),
    "of the user, the tree read-only": (lambda package: barred(package) or {}, "user/suspension-control", 1000),
}


@pytest.mark.parametrize("place", PLACES)
def test_a_changed_law_is_compiled_anew_and_an_unchanged_one_is_not(package, place):
    prepare, folder, older = PLACES[place]
    variables = prepare(package)
    assert asked(package, **variables) == [3.0, 0, 1]
    assert asked(package, **variables) == [3.0, 1, 0]
    assert len(list((package / folder).glob("helpers-*/*/stepper.march*.nbc"))) == 1
    change_law(package, older)
    assert asked(package, **variables) == [31.0, 0, 1]
    assert asked(package, **variables) == [31.0, 1, 0]


def test_a_copied_cache_is_used_only_for_the_same_sources(package):
    asked(package)
    copy = shutil.copytree(package, package.with_name("b"))
    change_law(copy, older=1000)
    assert asked(copy)[0] == 31.0
    (copy / "helpers/control/law.py").write_text(LAW)
    assert asked(copy)[0] == 3.0


def test_touched_sources_still_give_their_number(package):
    asked(package)
    for name in ("control/law.py", "simulation/stepper.py"):
        os.utime(package / "helpers" / name, (1, 1))
    assert asked(package)[0] == 3.0


def test_without_any_place_to_write_it_compiles_each_time(package):
    barred(package)
    (package / "user").write_text("")
    for _ in range(2):
        assert asked(package, NUMBA_CACHE_DIR=str(package / "user/deeper")) == [3.0, 0, 1]


def test_two_processes_at_once(package):
    both = [started(package), started(package)]
    assert [float(process.communicate()[0].split()[0]) for process in both] == [3.0, 3.0]
    assert asked(package) == [3.0, 1, 0]


def test_states_of_long_ago_are_tidied_away(tmp_path):
    for age in range(6):
        (tmp_path / f"helpers-{age}/deeper").mkdir(parents=True)
        os.utime(tmp_path / f"helpers-{age}", (1000 - age, 1000 - age))
    compiled._tidy(tmp_path, "helpers-5")
    assert {path.name for path in tmp_path.iterdir()} == {f"helpers-{age}" for age in (*range(compiled.KEPT), 5)}


def test_other_peoples_functions_keep_their_cache(package):
    """The setting is ours only while a function of ours is made."""
    script = "from numba import config; from helpers.simulation.stepper import march; print(len(config.CACHE_DIR))"
    assert asked(package, script) == [0]


def test_every_compiled_function_is_made_here_of_files_that_are_watched():
    """No module asks numba itself, and what asks is in the digest."""
    watched = {path.relative_to(HELPERS) for path in compiled.sources()}
    for path in HELPERS.rglob("*.py"):
        names = [
            (node.module, alias.name)
            for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, ast.ImportFrom)
            for alias in node.names
        ]  # fmt: skip
        assert ("numba", "njit") not in names and ("numba", "jit") not in names, path
        if ("helpers.models.compiled", "njit") in names:
            assert path.relative_to(HELPERS) in watched


RIDE = """\
from helpers.control.laws import TwoStateSkyhook
from helpers.models.dampers import linear
from helpers.models.terrain import step
from helpers.models.vehicles import Vehicle
from helpers.simulation.runs import ride
bike = Vehicle("any", 60.0, 3.2, 12e3, 70e3, 500.0, open_curve=linear(200.0), lockout_curve=linear(2000.0))
print(ride(bike, step(0.02, 1.0, 3.0), 3.0, TwoStateSkyhook()).body_height.std())
"""


def test_the_stepper_follows_a_changed_law(tmp_path):
    """The package itself: the two-state law turned round, in a file that seems older, with the cache elsewhere."""
    shutil.copytree(HELPERS, tmp_path / "helpers", ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
    cache = {"NUMBA_CACHE_DIR": str(tmp_path / "cache"), "NUMBA_CPU_NAME": "generic"}
    before = asked(tmp_path, RIDE, **cache)
    decision = tmp_path / "helpers/control/decision.py"
    text = decision.read_text("utf-8")
    turned = text.replace("if signal * speed > 0.0", "if signal * speed < 0.0")
    assert turned != text
    decision.write_text(turned, "utf-8")
    os.utime(decision, (1, 1))
    after = asked(tmp_path, RIDE, **cache)
    assert after != pytest.approx(before, rel=0.01)
    assert after == pytest.approx(asked(tmp_path, RIDE, NUMBA_DISABLE_JIT="1"), rel=1e-9)
