"""A JupyterLab of our own for the browser tests and benchmarks, and the page that drives it."""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import nbformat

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
CHROMIUM_OPTIONS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
LAB_CONFIG = Path(__file__).parents[2] / "helpers" / "commands" / "lab_config.py"
# Every cell stays in the document, so that all prompts can be read; the launcher's news question stays away.
SETTINGS = {
    "notebook-extension/tracker": {"windowingMode": "none"},
    "apputils-extension/notification": {"fetchNews": "false", "checkForUpdates": False},
}


@dataclass(frozen=True)
class LabServer:
    root: Path
    address: str
    token: str

    def url(self, notebook: str) -> str:
        return f"{self.address}/lab/tree/{notebook}?token={self.token}&reset"

    def ask(self, resource: str, method: str = "GET"):
        """The answer of Jupyter's REST interface, None where it has no body."""
        request = urllib.request.Request(
            f"{self.address}/api/{resource}", method=method, headers={"Authorization": f"token {self.token}"}
        )
        with urllib.request.urlopen(request, timeout=10) as answer:
            return json.loads(answer.read() or "null")


@contextmanager
def lab_server(root: Path, scratch: Path, patience: float = 60):
    """Serve `root` on a free port; all that JupyterLab writes for itself goes below `scratch`."""
    for name, content in SETTINGS.items():
        path = scratch / "settings" / "@jupyterlab" / f"{name}.jupyterlab-settings"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(content))
    folders = {
        "JUPYTER_CONFIG_DIR": "config",
        "JUPYTER_DATA_DIR": "data",
        "JUPYTER_RUNTIME_DIR": "runtime",
        "JUPYTERLAB_SETTINGS_DIR": "settings",
        "JUPYTERLAB_WORKSPACES_DIR": "spaces",
        "IPYTHONDIR": "ipython",
    }
    environment = os.environ | {key: str(scratch / folder) for key, folder in folders.items()}
    environment.pop("JUPYTER_TOKEN", None)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = LabServer(root, f"http://127.0.0.1:{port}", secrets.token_hex(16))
    marker = root / f"{secrets.token_hex(8)}.txt"
    marker.write_text("ours")
    with (scratch / "lab.log").open("w") as log:
        process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "jupyterlab",
                "--no-browser",
                "--allow-root",
                "--ServerApp.ip=127.0.0.1",
                f"--ServerApp.port={port}",
                "--ServerApp.port_retries=0",
                f"--ServerApp.root_dir={root}",
                f"--IdentityProvider.token={server.token}",
                f"--config={LAB_CONFIG}",
            ],
            env=environment,
            stdout=log,
            stderr=subprocess.STDOUT,
        )
        try:
            _wait_until_ours(server, marker.name, process, patience)
            yield server
        finally:
            marker.unlink(missing_ok=True)
            process.terminate()
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                process.kill()


def _wait_until_ours(server: LabServer, marker: str, process: subprocess.Popen, patience: float) -> None:
    """Only our server knows our token and holds our marker."""
    deadline = time.monotonic() + patience
    while time.monotonic() < deadline and process.poll() is None:
        try:
            if server.ask(f"contents/{marker}")["content"] == "ours":
                return
        except (OSError, ValueError):
            time.sleep(0.2)
    raise RuntimeError(f"JupyterLab did not answer at {server.address}; its log is in the scratch folder.")


def write_notebook(path: Path, *sources: str) -> None:
    """A notebook of code cells, with the kernel's name so that JupyterLab does not ask for one."""
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(source) for source in sources])
    notebook.metadata["kernelspec"] = {"display_name": "Python 3", "language": "python", "name": "python3"}
    nbformat.write(notebook, path)


class Workbook:
    """One notebook open in JupyterLab."""

    def __init__(self, page, server: LabServer, notebook: str):
        self.page, self.server, self.notebook, self.path = page, server, notebook, server.root / notebook
        page.goto(server.url(notebook))
        self.area = page.locator(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-Notebook")
        self.area.wait_for(timeout=60_000)
        self._wait_for_kernel(60)

    @property
    def code_cells(self) -> int:
        """Those that show a prompt: neither empty nor with a collapsed source."""
        return sum(
            cell.cell_type == "code"
            and bool(cell.source.strip())
            and not cell.metadata.get("jupyter", {}).get("source_hidden")
            for cell in nbformat.read(self.path, as_version=4).cells
        )

    def menu(self, menu: str, item: str) -> None:
        """Choose a command of the menu bar."""
        self.page.locator(".lm-MenuBar-itemLabel", has_text=re.compile(f"^{menu}$")).click()
        self.page.locator(".lm-Menu-itemLabel", has_text=re.compile(f"^{item}$")).click()

    def run_all(self, patience: float = 300) -> None:
        """Run every cell until each prompt carries a new number."""
        self.menu("Edit", "Clear Outputs of All Cells")
        self.menu("Run", "Run All Cells")
        deadline, rest = time.monotonic() + patience, time.monotonic()
        while self._prompts(r"\[\d+\]") < self.code_cells:
            now = time.monotonic()
            if now > deadline:
                raise TimeoutError(f"{self.path.name} did not run to its end within {patience} s.")
            if self._prompts(r"\[\*\]"):
                rest = now
            elif now - rest > 4:  # a kernel just connected can swallow the request
                for question in self.page.locator("dialog .jp-mod-accept").all():  # "Which kernel?": the one proposed
                    question.click()
                self.menu("Run", "Run All Cells")
                rest = now
            self.page.wait_for_timeout(100)

    def cell(self, place: int):
        """The code cell at a place among the code cells."""
        return self.area.locator(".jp-CodeCell").nth(place)

    def run(self, places: list[int]) -> None:
        """Have the code cells at these places run, in their order."""
        for place in places:
            self.cell(place).locator(".jp-InputPrompt, .jp-Placeholder").first.click()
            self.page.keyboard.press("Control+Enter")

    def _prompts(self, pattern: str) -> int:
        """How many prompts of code cells match the pattern."""
        return self.area.locator(".jp-CodeCell .jp-InputPrompt").filter(has_text=re.compile(pattern)).count()

    def _wait_for_kernel(self, patience: float) -> None:
        """Ask the server: the page's own sign says idle before there is a kernel at all."""
        deadline = time.monotonic() + patience
        while time.monotonic() < deadline:
            for session in self.server.ask("sessions"):
                kernel = session["kernel"]
                if session["path"] == self.notebook and kernel["connections"] and kernel["execution_state"] == "idle":
                    return
            self.page.wait_for_timeout(200)
        raise TimeoutError(f"{self.path.name} got no kernel within {patience} s.")

    def save(self) -> None:
        """Save the notebook and wait until the file changed."""
        before = self.path.stat().st_mtime_ns
        self.menu("File", "Save Notebook")
        deadline = time.monotonic() + 20
        while self.path.stat().st_mtime_ns == before or not self.path.stat().st_size:  # emptied, not yet written
            if time.monotonic() > deadline:
                raise TimeoutError(f"{self.path.name} was not saved.")
            self.page.wait_for_timeout(100)
