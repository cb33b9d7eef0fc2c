"""The server that `start` runs: its port, its address, and what it writes when a learner saves."""

import contextlib
import copy
import json
import socket
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook, new_output

from helpers.commands import start
from helpers.commands.environment import Environment
from helpers.commands.refresh import METADATA
from helpers.commands.saving import WIDGET_VIEW, keep_stills

VIEW = {"model_id": "0" * 32, "version_major": 2, "version_minor": 0}


def widget_notebook():
    """A page as JupyterLab sends it to be saved: a live figure with its still, and a widget that has none."""
    still = {WIDGET_VIEW: VIEW, "image/png": "iVBORw0KGgo=", "text/plain": "figure"}
    bare = {WIDGET_VIEW: VIEW, "text/plain": "slider"}
    cells = [
        new_code_cell("figure", execution_count=1, outputs=[new_output("display_data", still)]),
        new_code_cell("slider", execution_count=2, outputs=[new_output("display_data", bare)]),
    ]
    return new_notebook(cells=cells, metadata={"widgets": {"state": {}}, **METADATA})


def test_keep_stills_takes_the_view_only_where_a_still_remains():
    notebook = keep_stills(widget_notebook())
    figure, slider = (cell.outputs[0].data for cell in notebook.cells)
    assert set(figure) == {"image/png", "text/plain"} and WIDGET_VIEW in slider
    assert "widgets" not in notebook.metadata


def test_keep_stills_leaves_other_notebooks_alone():
    notebook = new_notebook(cells=[new_code_cell("1", outputs=[new_output("stream", text="one")])])
    assert keep_stills(copy.deepcopy(notebook)) == notebook


@pytest.fixture(scope="module")
def lab(root, tmp_path_factory):
    """A real server as `start` runs it, over an empty folder, from the environment the tests run in."""
    environment = Environment(root)
    environment.folder = tmp_path_factory.mktemp("environment")
    environment.python = Path(start.sys.executable)
    with start.Lab(environment, folder=tmp_path_factory.mktemp("notebooks")) as server:
        server.wait_until_it_answers()
        yield server


def test_saved_copy_shows_stills(lab):
    """A save through the server's contents API, as JupyterLab does it; then the file, as a reader gets it."""
    body = json.dumps({"type": "notebook", "format": "json", "content": widget_notebook()}).encode()
    lab.request("/api/contents/mine.ipynb", "PUT", body)
    saved = nbformat.read(lab.folder / "mine.ipynb", as_version=4)
    assert set(saved.cells[0].outputs[0].data) == {"image/png", "text/plain"}
    assert "widgets" not in saved.metadata
    assert [cell.execution_count for cell in saved.cells] == [1, 2]


def test_other_files_are_saved_as_they_are(lab):
    body = json.dumps({"type": "file", "format": "text", "content": "distance (m),height (m)\n"}).encode()
    lab.request("/api/contents/mine.csv", "PUT", body)
    assert (lab.folder / "mine.csv").read_text() == "distance (m),height (m)\n"


def test_server_wants_its_token_and_listens_here_alone(lab):
    with pytest.raises(start.urllib.error.HTTPError, match="403"):
        start.urllib.request.build_opener(start.urllib.request.ProxyHandler({})).open(lab.base + "/api/contents")
    assert "--ServerApp.ip=127.0.0.1" in lab.command()
    assert lab.token not in " ".join(lab.command())
    assert lab.address.startswith(f"{lab.base}/lab/tree/workbooks/00-start-here.ipynb?token=")


def test_nobody_is_asked_for_news_or_updates(lab):
    told = json.loads(lab.request("/lab/api/settings/@jupyterlab/apputils-extension:notification"))
    defaults = {name: about["default"] for name, about in told["schema"]["properties"].items()}
    assert defaults["fetchNews"] == "false" and defaults["checkForUpdates"] is False


def test_free_port_passes_over_one_in_use():
    with socket.socket() as taken:
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        with contextlib.suppress(OSError):  # somebody uses it already, which serves as well
            taken.bind(("127.0.0.1", 8888))
            taken.listen()
        port = start.free_port()
        assert port != 8888
        with socket.socket() as ours:
            ours.bind(("127.0.0.1", port))


def test_a_server_that_does_not_start_is_reported(lab, tmp_path):
    failing = start.Lab(lab.environment, folder=tmp_path / "missing")
    failing.command = lambda: [start.sys.executable, "-c", "raise SystemExit(1)"]
    failing.folder = tmp_path
    with pytest.raises(start.CommandError, match=r"did not start.*lab\.log"), failing:
        failing.wait_until_it_answers()


@pytest.mark.parametrize(("variables", "opens"), [({}, False), ({"DISPLAY": ":0"}, True)])
def test_no_window_no_browser(monkeypatch, variables, opens):
    monkeypatch.setattr(start.sys, "platform", "linux")
    monkeypatch.setattr(start.webbrowser, "get", lambda: object())
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert start.can_open_browser() is opens
