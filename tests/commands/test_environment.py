"""The set-up's decisions, on folders made for the purpose: nothing is installed here."""

import importlib
import json
import subprocess
import sys
from pathlib import Path

import pytest
from IPython.core.application import _env_config_dir

from helpers.commands import environment as module
from helpers.commands.environment import RUN, TEST, UNFINISHED, CommandError, Environment, NothingInstalled


@pytest.fixture
def project(tmp_path, monkeypatch):
    """A clone's files, and an environment whose making and installing are noted instead of done."""
    for name in (*TEST, module.CONSTRAINTS, "helpers/pyproject.toml", module.KERNEL):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(f"# {name}\n")
    environment = Environment(tmp_path)
    environment.done = []

    def make():
        environment.done.append("make")
        environment.python.parent.mkdir(parents=True, exist_ok=True)
        environment.python.unlink(missing_ok=True)
        environment.python.symlink_to(sys.executable)  # has pip, as a finished one does

    monkeypatch.setattr(environment, "_make", make)
    monkeypatch.setattr(environment, "_install", lambda files: environment.done.append(f"install {len(files)}"))
    return environment


def test_first_start_makes_and_installs_and_the_second_does_nothing(project):
    assert project.ensure(RUN) and project.done == ["make", "install 1"]
    assert not project.ensure(RUN) and len(project.done) == 2


def test_kernels_of_the_environment_are_set_up(project):
    """IPython reads this folder of its Python's prefix, in JupyterLab and in editors alike."""
    project.ensure(RUN)
    placed = project.folder / "etc/ipython/ipython_kernel_config.py"
    assert placed.read_text() == (project.root / module.KERNEL).read_text()
    assert placed.parent.relative_to(project.folder) == Path(_env_config_dir).relative_to(sys.prefix)


def test_the_tests_add_their_packages_and_leave_start_ready(project):
    project.ensure(RUN)
    assert project.ensure(TEST) and project.done[2:] == ["install 2"]
    assert project.plan(RUN) == project.plan(TEST) == "nothing"


@pytest.mark.parametrize("name", [*RUN, module.CONSTRAINTS, "helpers/pyproject.toml", module.KERNEL])
def test_changed_requirements_are_installed_into_what_is_there(project, name):
    project.ensure(RUN)
    (project.root / name).write_text("changed\n")
    assert project.plan(RUN) == "install"


def test_a_moved_folder_is_installed_again(project):
    project.ensure(RUN)
    moved = project.root.with_name("moved")
    project.root.rename(moved)
    assert Environment(moved).plan(RUN) != "nothing"


def test_interrupted_install_is_made_anew(project, monkeypatch):
    project.ensure(RUN)
    (project.root / "requirements.txt").write_text("changed\n")

    def interrupted(files):
        raise KeyboardInterrupt

    monkeypatch.setattr(project, "_install", interrupted)
    with pytest.raises(KeyboardInterrupt):
        project.ensure(RUN)
    assert UNFINISHED in json.loads(project.stamp.read_text()) and project.python.exists()
    assert project.plan(RUN) == "make"


def test_refused_install_leaves_what_worked(project, monkeypatch):
    project.ensure(RUN)
    (project.root / "requirements.txt").write_text("changed\n")

    def refused(files):
        raise NothingInstalled("no network")

    monkeypatch.setattr(project, "_install", refused)
    with pytest.raises(CommandError):
        project.ensure(RUN)
    assert project.plan(RUN) == "install"


def test_python_without_pip_is_made_anew(project):
    """What an aborted `python -m venv` leaves: a python, no pip."""
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", project.folder], check=True)
    assert project.plan(RUN) == "make"


def test_vanished_python_is_made_anew(project):
    project.ensure(RUN)
    project.python.unlink()
    project.python.symlink_to("/no/such/python")
    assert project.plan(RUN) == "make"


def test_damaged_stamp_counts_as_none(project):
    project.ensure(RUN)
    project.stamp.write_text('{"requirem')
    assert project.plan(RUN) == "install"


@pytest.mark.parametrize("lacking", ["venv", "ensurepip"])
def test_missing_venv_says_what_to_install(tmp_path, monkeypatch, lacking):
    find = module.importlib.util.find_spec
    monkeypatch.setattr(module.importlib.util, "find_spec", lambda name: None if name == lacking else find(name))
    with pytest.raises(CommandError, match=rf"no {lacking} module.*apt install python3\.\d+-venv"):
        Environment(tmp_path)._make()


def test_failed_install_names_the_error_and_the_log(project, monkeypatch):
    def pip(self, command):
        self.log.write_text("ERROR: no room on the disk\n")
        return 1

    project.ensure(RUN)
    monkeypatch.setattr(Environment, "_pip", pip)
    with pytest.raises(CommandError, match=r"no room on the disk.*\.venv/install\.log"):
        Environment(project.root)._install(RUN)


def run(*words, cwd):
    return subprocess.run([sys.executable, *words], cwd=cwd, capture_output=True, text=True)


def test_commands_are_listed_and_an_unknown_one_is_refused(root):
    assert "start" in run("-m", "helpers", cwd=root).stdout
    unknown = run("-m", "helpers", "begin", cwd=root)
    assert unknown.returncode == 2 and "start" in unknown.stdout


def test_works_from_another_folder_by_its_path(root, tmp_path):
    """`python3 path/to/helpers NAME` finds the project; an error is one sentence, without a traceback."""
    answer = run(root / "helpers", "refresh", "99", cwd=tmp_path)
    assert answer.returncode == 1 and answer.stdout.strip().startswith("There is no workbook 99")
    assert "Traceback" not in answer.stderr


def test_outside_a_clone_says_where_to_go(root, tmp_path):
    copy = tmp_path / "helpers"
    (copy / "commands").mkdir(parents=True)
    for name in ("__init__.py", "__main__.py", "commands/__init__.py", "commands/environment.py"):
        (copy / name).write_text((root / "helpers" / name).read_text())
    answer = run(copy, "start", cwd=tmp_path)
    assert answer.returncode == 1 and answer.stdout.strip().startswith("Go to the project's folder")


def test_old_python_is_told_in_one_sentence(monkeypatch, capsys):
    main = importlib.import_module("helpers.__main__").main
    monkeypatch.setattr(sys, "version_info", (3, 8, 1))
    assert main(["start"]) == 2 and "install Python 3.11 or newer" in capsys.readouterr().out
