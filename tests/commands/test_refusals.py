"""What the system refuses (a folder that is read-only, a full disk, a killed server) is said in one sentence."""

import errno
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from helpers.__main__ import main
from helpers.commands import environment as module
from helpers.commands import start
from helpers.commands.environment import RUN, TEST, UNFINISHED, Environment

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ("helpers/__init__.py", "helpers/__main__.py", "helpers/pyproject.toml")
COPIED = (*PACKAGE, *TEST, module.CONSTRAINTS, module.KERNEL)
FULL = "make room and run the same command again."
BARRED = "copy the project's folder to a place where you may write, and run the same command there."


@pytest.fixture
def clone(tmp_path):
    """The files of a clone that the set-up reads."""
    sources = (path.relative_to(ROOT) for path in (ROOT / "helpers/commands").glob("*.py"))
    for name in (*COPIED, *map(str, sources)):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text((ROOT / name).read_text("utf-8"), "utf-8")
    return tmp_path


@pytest.fixture
def told(clone, monkeypatch, capsys):
    """Runs a command on the clone; gives the sentences it ends with, and that no traceback was shown."""
    monkeypatch.setattr(module, "project_root", lambda: clone)
    kept = {name: signal.getsignal(name) for name in (signal.SIGTERM, getattr(signal, "SIGHUP", signal.SIGTERM))}

    def run(*words):
        assert main([*words]) == 1
        out, err = capsys.readouterr()
        assert err == ""
        return [line for line in out.splitlines() if line and not line.startswith(("- ", "  "))]

    yield run
    for name, handler in kept.items():
        signal.signal(name, handler)


def ready(clone, files=TEST):
    """The environment of the clone as if it had been made: our Python, our stamp."""
    environment = Environment(clone)
    environment.python.parent.mkdir(parents=True)
    environment.python.symlink_to(sys.executable)
    environment.stamp.write_text(json.dumps(environment.wanted(files)))
    return environment


def refusing(code, *parts):
    """A stand-in for a call of the system that is refused where its first argument ends in one of `parts`."""

    def call(original):
        def instead(path, *words, **options):
            if not parts or str(path).endswith(parts):
                raise OSError(code, os.strerror(code), str(path))
            return original(path, *words, **options)

        return instead

    return call


# --- a folder that may not be written ----------------------------------------------------------------------------


@pytest.mark.parametrize("command", ["start", "test"])
@pytest.mark.parametrize("code", [errno.EROFS, errno.EACCES, errno.EPERM])
def test_a_first_start_in_a_read_only_folder(clone, told, monkeypatch, command, code):
    monkeypatch.setattr(Path, "mkdir", refusing(code)(Path.mkdir))
    reason = os.strerror(code)
    assert told(command) == [f"This may not be written ({clone / '.venv'}: {reason}): {BARRED}"]


def test_a_finished_environment_in_a_read_only_folder(clone, told, monkeypatch):
    """The server's log is the first file written."""
    ready(clone)
    monkeypatch.setattr("builtins.open", refusing(errno.EROFS, start.LOG)(open))
    assert told("start", "--no-browser") == [
        f"This may not be written ({clone / '.venv/lab.log'}: {os.strerror(errno.EROFS)}): {BARRED}"
    ]


@pytest.mark.parametrize("command", ["start", "test"])
def test_a_changed_list_of_packages_in_a_read_only_folder(clone, told, monkeypatch, command):
    environment = ready(clone)
    before = environment.stamp.read_text()
    (clone / "requirements.txt").write_text("changed\n")
    monkeypatch.setattr(Path, "write_text", refusing(errno.EROFS)(Path.write_text))
    assert [line.endswith(BARRED) for line in told(command)] == [True]
    assert environment.stamp.read_text() == before


# --- a full disk ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", ["start", "test"])
def test_too_little_room_is_said_before_anything_is_made(clone, told, monkeypatch, command):
    monkeypatch.setattr(module.shutil, "disk_usage", lambda path: module.shutil._ntuple_diskusage(2e9, 1e9, 0.2e9))
    assert told(command) == [f"The disk has 0.2 GB left and the environment .venv needs 1.5 GB: {FULL}"]


@pytest.mark.skipif(os.name == "nt", reason="a limit on the size of files is set by the shell elsewhere")
@pytest.mark.parametrize("command", ["start", "test"])
def test_no_byte_more_can_be_written(clone, command):
    """The system's own limit, for the command and all that it starts: making .venv fails in its first file."""
    limited = f"ulimit -f 0; exec {sys.executable} -B -m helpers {command}"
    ended = subprocess.run(["sh", "-c", limited], cwd=clone, env={**os.environ, "PYTHONPATH": ""}, capture_output=True,
                           text=True)  # fmt: skip
    assert ended.returncode == 1 and ended.stderr == ""
    assert ended.stdout.splitlines()[1:] == ["", f"The disk is full ({os.strerror(errno.EFBIG)}): {FULL}"]
    assert not (clone / ".venv").exists()


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EDQUOT])
@pytest.mark.parametrize("place", ["the stamp", "the log's old file", "the log", "the kernel's settings"])
def test_a_disk_that_fills_up_during_the_set_up(clone, told, monkeypatch, place, code):
    """Wherever it happens: a stamp of before is left whole, or one that has the environment made anew."""
    environment = ready(clone)
    (clone / "requirements.txt").write_text("changed\n")
    monkeypatch.setattr(Environment, "_pip", lambda self, command: 0)
    if place == "the stamp":
        monkeypatch.setattr(Path, "write_text", refusing(code, ".part")(Path.write_text))
    elif place == "the log's old file":
        environment.log.write_text("of before")
        monkeypatch.setattr(Path, "unlink", refusing(code, ".log")(Path.unlink))
    elif place == "the log":
        monkeypatch.setattr(Environment, "_pip", refusing(code)(Environment._pip))
    else:
        monkeypatch.setattr(module, "write_whole", refusing(code, "config.py")(module.write_whole))
    lines = told("start")
    assert len(lines) == 1 and lines[0].startswith("The disk is full (") and lines[0].endswith(FULL)
    assert environment.plan(RUN) == ("install" if place == "the stamp" else "make")


@pytest.mark.parametrize(("unpacked", "next_plan"), [(False, "install"), (True, "make")])
def test_pip_that_finds_the_disk_full(clone, told, monkeypatch, unpacked, next_plan):
    """Half unpacked packages are not taken for a finished set-up; a second attempt would fill the disk again."""
    environment, calls = ready(clone), []
    (clone / "requirements.txt").write_text("changed\n")

    def pip(self, command):
        calls.append(command)
        begun = f"{module.UNPACKING}: numpy\n" if unpacked else ""
        self.log.write_text(f"{begun}ERROR: Could not install packages due to an OSError: [Errno 28] No space left\n")
        return 1

    monkeypatch.setattr(Environment, "_pip", pip)
    assert told("start") == [f"The disk is full ({os.strerror(errno.ENOSPC)}): {FULL}"]
    assert len(calls) == 1 and environment.plan(RUN) == next_plan
    assert (UNFINISHED in environment.installed()) == unpacked


def test_a_file_is_written_whole_or_left(tmp_path, monkeypatch):
    path = tmp_path / "deeper/kept.json"
    module.write_whole(path, "before")
    write = Path.write_text

    def half(self, text, *words):
        write(self, text[:3], *words)
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(self))

    monkeypatch.setattr(Path, "write_text", half)
    with pytest.raises(OSError):
        module.write_whole(path, "after")
    assert path.read_text() == "before" and list(path.parent.iterdir()) == [path]


# --- a server that ends --------------------------------------------------------------------------------------------

ANSWERS = """
import http.server, os, signal, sys
class Status(http.server.BaseHTTPRequestHandler):
    def do_GET(self):
        self.send_response(200); self.end_headers()
    def log_message(self, *_): pass
server = http.server.HTTPServer(("127.0.0.1", int(sys.argv[1])), Status)
server.handle_request()
"""
ENDS = {
    "killed": (ANSWERS + "os.kill(os.getpid(), signal.SIGKILL)", "killed, as the system does when memory runs out"),
    "failed": (ANSWERS + "sys.exit(3)", "exit code 3"),
    "stopped": (ANSWERS + "os.kill(os.getpid(), signal.SIGABRT)", f"signal {int(signal.SIGABRT)}"),
}
STARTS = {
    "killed": ("import os; os.kill(os.getpid(), 9)", "(killed, as the system does when memory runs out)"),
    "refused": ("raise SystemExit('config.py: no such option')", "(exit code 1, config.py: no such option)"),
    "silent": ("raise SystemExit(4)", "(exit code 4)"),
}


def serving(monkeypatch, code):
    monkeypatch.setattr(start.Lab, "command", lambda self: [sys.executable, "-c", code, str(self.port)])


@pytest.mark.skipif(os.name == "nt", reason="there are no such signals")
@pytest.mark.parametrize("end", ENDS)
def test_a_server_that_is_ended(clone, told, monkeypatch, end):
    ready(clone)
    code, how = ENDS[end]
    serving(monkeypatch, code)
    assert told("start", "--no-browser")[-1] == (
        f"JupyterLab was ended from outside or by an error ({how}): run the same command again; what was saved is in "
        "the workbooks folder, what JupyterLab said in .venv/lab.log."
    )


def test_a_server_that_is_shut_down_from_its_page(clone, monkeypatch, capsys):
    ready(clone)
    monkeypatch.setattr(module, "project_root", lambda: clone)
    monkeypatch.setattr(signal, "signal", lambda *_: None)
    serving(monkeypatch, ANSWERS)
    assert main(["start", "--no-browser"]) == 0
    assert capsys.readouterr().out.endswith("JupyterLab has ended. What was saved is in the workbooks folder.\n")


@pytest.mark.skipif(os.name == "nt", reason="there are no such signals")
@pytest.mark.parametrize("end", STARTS)
def test_a_server_that_dies_at_its_start(clone, told, monkeypatch, end):
    ready(clone)
    code, how = STARTS[end]
    serving(monkeypatch, code)
    assert told("start", "--no-browser") == [f"JupyterLab did not start {how}: what it said is in .venv/lab.log."]


def test_a_server_that_finds_the_disk_full(clone, told, monkeypatch):
    ready(clone)
    serving(monkeypatch, "raise OSError(28, 'No space left on device', 'jpserver.json')")
    assert told("start", "--no-browser") == [f"The disk is full ({os.strerror(errno.ENOSPC)}): {FULL}"]


def test_compiling_ahead_that_is_killed_stops_nothing(clone, told, monkeypatch, capsys):
    environment = ready(clone)
    (clone / "requirements.txt").write_text("changed\n")
    monkeypatch.setattr(Environment, "_install", lambda self, files: None)
    environment.python.unlink()
    environment.python.write_text("#!/bin/sh\nkill -9 $$\n")
    environment.python.chmod(0o755)
    monkeypatch.setattr(Environment, "plan", lambda self, files: "install")
    serving(monkeypatch, "raise SystemExit(4)")
    assert told("start", "--no-browser")[-1].startswith("JupyterLab did not start (exit code 4)")
