"""The project's own environment in .venv: made once, finished after an interrupted install, left alone when ready.

Standard library only, because this runs before anything is installed.
"""

import errno
import hashlib
import importlib
import importlib.util
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

RUN = ("requirements.txt",)
TEST = ("requirements.txt", "tests/requirements.txt")
CONSTRAINTS = ".constraints.txt"
KERNEL = "helpers/commands/settings/ipython_kernel_config.py"  # read by every kernel of the environment
UNFINISHED = "unfinished"
UNPACKING = "Installing collected packages"  # what pip says before it changes anything
ROOM = 1.5e9  # bytes; the environment takes 1.1e9
FULL = (errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC))
BARRED = (errno.EACCES, errno.EPERM, errno.EROFS)


class CommandError(Exception):
    """One sentence that says what went wrong and what to do."""


class NothingInstalled(CommandError):
    """pip gave up before it changed anything."""


class Environment:
    """The virtual environment of the project in `root`."""

    def __init__(self, root: Path):
        self.root = root
        self.folder = root / ".venv"
        self.python = self.folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
        self.stamp = self.folder / "installed.json"
        self.log = self.folder / "install.log"

    def wanted(self, files: tuple[str, ...]) -> dict[str, str]:
        """The stamp of a finished install of `files`: a digest of each with all that decides what it installs."""
        shared = [str(self.root)]  # an editable install points here: a moved folder needs a new one
        shared += [(self.root / name).read_text("utf-8") for name in (CONSTRAINTS, "helpers/pyproject.toml", KERNEL)]
        return {
            name: hashlib.sha256("\0".join([*shared, (self.root / name).read_text("utf-8")]).encode()).hexdigest()
            for name in files
        }

    def installed(self) -> dict[str, str]:
        """The stamp that was left; {} when there is none."""
        try:
            return json.loads(self.stamp.read_text("utf-8"))
        except (OSError, ValueError):
            return {}

    def plan(self, files: tuple[str, ...]) -> str:
        """What is to be done: "nothing", "install" into what is there, or "make" it anew."""
        installed = self.installed()
        if not self.python.exists() or UNFINISHED in installed:
            return "make"
        if self.wanted(files).items() <= installed.items():
            return "nothing"
        has_pip = subprocess.run([self.python, "-m", "pip", "--version"], capture_output=True).returncode == 0
        return "install" if has_pip else "make"

    def ensure(self, files: tuple[str, ...]) -> bool:
        """Bring the environment to what `files` ask for; True when something had to be done."""
        plan = self.plan(files)
        if plan == "nothing":
            return False
        if plan == "make":
            self._make()
        installed = self.installed()
        # An install that is cut short (Ctrl-C, a full disk) leaves packages in pieces, so the next run starts from an
        # empty folder. One that pip gave up before it unpacked anything (no network) has changed nothing.
        self._write_stamp({UNFINISHED: ""})
        try:
            self._install(files)
        except NothingInstalled:
            self._write_stamp(installed)
            raise
        write_whole(self.folder / "etc/ipython" / Path(KERNEL).name, (self.root / KERNEL).read_text("utf-8"))
        self._write_stamp(installed | self.wanted(files))
        return True

    def _write_stamp(self, stamp: dict[str, str]):
        write_whole(self.stamp, json.dumps(stamp))

    def _make(self):
        if missing := missing_for_venv():
            version = f"{sys.version_info.major}.{sys.version_info.minor}"
            raise CommandError(
                f"This Python has no {missing} module, which the set-up needs: install it (on Debian and Ubuntu: "
                f"sudo apt install python{version}-venv) and run the same command again."
            )
        say("Making the environment in .venv")
        self.folder.mkdir(exist_ok=True)  # fails here where nothing may be written
        if (free := shutil.disk_usage(self.folder).free) < ROOM:
            raise CommandError(
                f"The disk has {free / 1e9:.1f} GB left and the environment .venv needs {ROOM / 1e9:.1f} GB: make room "
                "and run the same command again."
            )
        base = getattr(sys, "_base_executable", None) or sys.executable
        made = subprocess.run([base, "-m", "venv", "--clear", self.folder], capture_output=True, text=True)
        if made.returncode:
            shutil.rmtree(self.folder, ignore_errors=True)  # a part of one could pass for the whole
            said = (made.stderr or made.stdout).strip()
            reason = said.splitlines()[-1] if said else "no reason given"
            raise CommandError(system_error(said) or f"The environment .venv could not be made: {reason}")

    def _install(self, files):
        say("Installing the packages: a few minutes the first time")
        self.log.unlink(missing_ok=True)
        command = [self.python, "-m", "pip", "install", "--no-input", "--retries", "2", "--progress-bar", "off"]
        command += [word for name in files for word in ("-r", name)]
        # The exact set that was tested, first; on a system it does not fit, the ranges alone.
        for constraints in (["-c", CONSTRAINTS], []):
            if self._pip([*command, *constraints]) == 0:
                return
            said = self.log.read_text("utf-8")
            if UNPACKING in said or system_error(said):
                break
        errors = [line for line in map(str.strip, said.splitlines()) if line.startswith("ERROR")]
        refused = CommandError if UNPACKING in said else NothingInstalled
        raise refused(
            system_error(said)
            or f"The packages could not be installed ({errors[-1] if errors else 'see the log'}): check the network "
            "connection and run the same command again; all that was said is in .venv/install.log."
        )

    def _pip(self, command) -> int:
        """Run pip with its talk in the log; what it is collecting is shown, so that a long wait is not a silent one."""
        environment = {**os.environ, "PIP_USER": "0", "PIP_DISABLE_PIP_VERSION_CHECK": "1", "PYTHONUTF8": "1"}
        output = {"stdout": subprocess.PIPE, "stderr": subprocess.STDOUT, "encoding": "utf-8", "errors": "replace"}
        with (
            open(self.log, "a", encoding="utf-8") as log,
            subprocess.Popen(command, cwd=self.root, env=environment, stdin=subprocess.DEVNULL, **output) as pip,
        ):
            count = 0
            for line in pip.stdout:
                log.write(line)
                if line.startswith("Collecting "):
                    count += 1
                    name = line.split()[1].split("<")[0].split(">")[0].split("=")[0]
                    print(f"  {count:3} {name}", flush=True)
                elif line.startswith(UNPACKING):
                    print(f"  unpacking {line.count(',') + 1} packages, about a minute", flush=True)
        return pip.returncode


def missing_for_venv() -> str:
    """The module that making an environment needs and this Python lacks; "" when all is there."""
    return next((name for name in ("venv", "ensurepip") if importlib.util.find_spec(name) is None), "")


def sentence(problem: OSError) -> str:
    """What the system refused, and what to do."""
    reason = ": ".join(str(part) for part in (problem.filename, problem.strerror) if part) or str(problem)
    if problem.errno in FULL:
        return f"The disk is full ({reason}): make room and run the same command again."
    if problem.errno in BARRED:
        return (
            f"This may not be written ({reason}): copy the project's folder to a place where you may write, and run "
            "the same command there."
        )
    return f"The system refused something ({reason}): mend that and run the same command again."


def system_error(said: str) -> str:
    """The sentence for a full disk or a barred folder in what another program said; "" where it names neither."""
    numbers = [int(number) for number in re.findall(r"\[Errno (\d+)\]", said)]
    return next((sentence(OSError(n, os.strerror(n))) for n in reversed(numbers) if n in (*FULL, *BARRED)), "")


def write_whole(path: Path, text: str):
    """Write a text file as a whole or not at all: where the disk is full, what stood there stays."""
    path = path.resolve()
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.write_text(text, "utf-8")
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)


def say(text: str):
    """Tell the person who waits what is being done."""
    print(f"- {text} ...", flush=True)


def project_root() -> Path:
    """The project's folder, found from this file, so that the working directory does not matter."""
    root = Path(__file__).resolve().parents[2]
    if not (root / "requirements.txt").exists():
        raise CommandError("Go to the project's folder (the one with requirements.txt) and run this there.")
    return root


def run(name: str, arguments: list[str]) -> int:
    """Run the command `name`: `start` and `test` by this Python, the others by the environment's."""
    environment = Environment(project_root())
    if name in ("start", "test"):
        return importlib.import_module(f"helpers.commands.{name}").run(environment, arguments)
    if Path(sys.prefix).resolve() == environment.folder.resolve():
        return importlib.import_module(f"helpers.commands.{name}").run(environment.root, arguments)
    environment.ensure(RUN)
    return subprocess.call([environment.python, "-m", "helpers", name, *arguments], cwd=environment.root)
