"""The server's connection to a kernel sends each message at once."""

from pathlib import Path
from types import SimpleNamespace

from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection
from traitlets.config import Config

from helpers.commands import prompt_connection
from helpers.commands.prompt_connection import PromptConnection


def test_lab_is_set_up_with_it():
    file = Path(prompt_connection.__file__).with_name("lab_config.py")
    configuration = Config()
    exec(compile(file.read_text("utf-8"), file.name, "exec"), {"get_config": lambda: configuration})
    told = configuration.ServerApp.kernel_websocket_connection_class
    assert told == f"{PromptConnection.__module__}.{PromptConnection.__name__}"


def test_nothing_is_held_back(monkeypatch):
    asked = []
    monkeypatch.setattr(ZMQChannelsWebsocketConnection, "connect", lambda self: "connected")
    monkeypatch.setattr(PromptConnection, "websocket_handler", SimpleNamespace(set_nodelay=asked.append))
    assert PromptConnection.__new__(PromptConnection).connect() == "connected"
    assert asked == [True]
