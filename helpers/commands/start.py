"""`python3 -m helpers start`: from a fresh clone to the first workbook in the browser."""

import argparse
import contextlib
import os
import secrets
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
import webbrowser
from pathlib import Path

from helpers.commands.environment import RUN, CommandError, Environment, say, system_error

FIRST_PAGE = "workbooks/00-start-here.ipynb"
WARM = "helpers.commands.warming"
LOG = "lab.log"
# JupyterLab's main, without an optional check of internationalised addresses whose grammar costs over a second to load.
LAB = "import sys; sys.modules['rfc3987_syntax'] = None; from jupyterlab.labapp import main; main()"


def run(environment: Environment, arguments: list[str]) -> int:
    """Set up, start JupyterLab on this machine alone, open the first workbook, stay until Ctrl-C."""
    parser = argparse.ArgumentParser("python3 -m helpers start")
    parser.add_argument("--no-browser", action="store_true", help="only print the address")
    options = parser.parse_args(arguments)
    if environment.ensure(RUN):
        say("Compiling the simulation once, so that the first figure need not wait")
        warm = subprocess.run([environment.python, "-m", WARM], cwd=environment.root, capture_output=True, text=True)
        if warm.returncode:  # no reason to stop: the first figure compiles what it needs
            print(f"  not compiled ahead: {last_line(warm.stderr) or how_it_ended(warm.returncode)}")
    for name in ("SIGTERM", "SIGHUP"):  # a closed terminal must not leave a server behind
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.default_int_handler)
    say("Starting JupyterLab")
    browser = not options.no_browser and can_open_browser()
    with Lab(environment, browser) as lab:
        lab.wait_until_it_answers()
        opened = "It opens in your browser; if it does not, use" if browser else "Open in a browser on this machine"
        print(f"\nJupyterLab is ready. {opened} this address:\n\n  {lab.address}\n\nCtrl-C here ends it.", flush=True)
        with contextlib.suppress(KeyboardInterrupt):
            if code := lab.process.wait():
                raise CommandError(
                    f"JupyterLab was ended from outside or by an error ({how_it_ended(code)}): run the same command "
                    f"again; what was saved is in the workbooks folder, what JupyterLab said in .venv/{LOG}."
                )
        print("\nJupyterLab has ended. What was saved is in the workbooks folder.")
        return 0


class Lab:
    """A JupyterLab server of the project's environment, for this machine alone; ends with the `with` block."""

    def __init__(self, environment: Environment, browser: bool = False, folder: Path | None = None):
        self.environment, self.browser = environment, browser
        self.folder = folder or environment.root
        self.port, self.token = free_port(), secrets.token_hex(24)
        self.base = f"http://127.0.0.1:{self.port}"
        self.address = f"{self.base}/lab/tree/{FIRST_PAGE}?token={self.token}"

    def command(self) -> list[str]:
        """The server's command line; the token goes by the environment, where other users cannot read it."""
        words = [str(self.environment.python), "-c", LAB, "--ServerApp.ip=127.0.0.1"]
        words += [f"--ServerApp.port={self.port}", "--ServerApp.port_retries=0", f"--ServerApp.root_dir={self.folder}"]
        words += [f"--config={Path(__file__).with_name('lab_config.py')}"]
        words += [f"--LabApp.default_url=/lab/tree/{FIRST_PAGE}"]
        words += [] if self.browser else ["--no-browser"]
        as_root = hasattr(os, "geteuid") and os.geteuid() == 0
        return words + (["--allow-root"] if as_root else [])

    def variables(self) -> dict[str, str]:
        """The server's environment: the token, and settings of ours beside whatever the machine has."""
        paths = [str(Path(__file__).with_name("settings")), os.environ.get("JUPYTER_CONFIG_PATH", "")]
        return {**os.environ, "JUPYTER_TOKEN": self.token, "JUPYTER_CONFIG_PATH": os.pathsep.join(filter(None, paths))}

    def __enter__(self):
        self.log = open(self.environment.folder / LOG, "wb")  # noqa: SIM115 (closed in __exit__)
        self.process = subprocess.Popen(
            self.command(), cwd=self.folder, env=self.variables(), stdin=subprocess.DEVNULL, stdout=self.log,
            stderr=subprocess.STDOUT,
        )  # fmt: skip
        return self

    def __exit__(self, *_):
        self.process.terminate()
        self.process.wait()
        self.log.close()

    def request(self, path: str, method: str = "GET", body: bytes | None = None) -> bytes:
        """One call to the server, past any proxy. Raises urllib.error.URLError where it does not answer."""
        headers = {"Authorization": f"token {self.token}", "Content-Type": "application/json"}
        call = urllib.request.Request(self.base + path, body, headers, method=method)
        with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(call, timeout=30) as answer:
            return answer.read()

    def wait_until_it_answers(self, seconds: float = 60):
        """Return as soon as the server accepts our token, so that it is ours and not another on the port."""
        end = time.monotonic() + seconds
        while self.process.poll() is None and time.monotonic() < end:
            try:
                self.request("/api/status")
                return
            except (urllib.error.URLError, OSError):
                time.sleep(0.05)
        code, said = self.process.poll(), Path(self.log.name).read_text("utf-8", "replace")
        how = "it does not answer" if code is None else ", ".join(filter(None, (how_it_ended(code), last_line(said))))
        raise CommandError(system_error(said) or f"JupyterLab did not start ({how}): what it said is in .venv/{LOG}.")


def how_it_ended(code: int) -> str:
    """A process's exit code in words."""
    if code == -getattr(signal, "SIGKILL", 9):
        return "killed, as the system does when memory runs out"
    return f"signal {-code}" if code < 0 else f"exit code {code}"


def last_line(said: str) -> str:
    """The last line that says something; "" where nothing was said."""
    return next((line.strip()[:200] for line in reversed(said.splitlines()) if line.strip()), "")


def free_port() -> int:
    """8888 when it is free (the address stays the same from day to day), else any free port."""
    for port in (8888, 0):
        with socket.socket() as probe:
            if os.name != "nt":  # a port just left is free; on Windows the option would allow taking one in use
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
                return probe.getsockname()[1]
            except OSError:
                continue
    raise CommandError("No free port was found for JupyterLab: end a program that serves pages and try again.")


def can_open_browser() -> bool:
    """Whether a browser with a window can be opened from here; a text browser would only take the terminal."""
    if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return False
    try:
        webbrowser.get()
    except webbrowser.Error:
        return False
    return True
