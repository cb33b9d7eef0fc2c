"""How `python3 -m helpers test` shares the tests among workers."""

import pytest

from helpers.commands import test

OWN = (["-n", "4"], ["-n0"], ["--numprocesses=3"], ["--pdb"], ["tests/models", "-n", "1"])


@pytest.mark.parametrize("arguments", OWN)
def test_what_the_caller_says_stands(arguments, monkeypatch):
    monkeypatch.setattr("os.cpu_count", lambda: 8)
    assert test.shared(arguments) == []


@pytest.mark.parametrize(("cores", "workers"), [(None, None), (1, None), (2, "2"), (16, "2")])
def test_two_workers_where_there_are_two_cores(cores, workers, monkeypatch):
    monkeypatch.setattr("os.cpu_count", lambda: cores)
    options = test.shared(["-m", "not browser"])
    assert options[1:2] == ([workers] if workers else [])
    assert ("loadfile" in options) == bool(workers)
