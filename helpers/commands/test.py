"""`python3 -m helpers test`: every test, workbooks and lint included, by pytest as .pytest.ini sets it up."""

import os
import subprocess

from helpers.commands.environment import TEST, Environment, say

WORKERS = 2  # each may hold a browser, a server and a kernel


def run(environment: Environment, arguments: list[str]) -> int:
    """Install what the tests need, then run them; `arguments` go to pytest. Returns pytest's exit code.

    On several cores two workers share the files, unless the arguments say how many.
    """
    environment.ensure(TEST)
    say("Running the tests")
    command = [environment.python, "-m", "pytest", *shared(arguments), *arguments]
    return subprocess.call(command, cwd=environment.root)


def shared(arguments: list[str]) -> list[str]:
    """Options that share the tests among workers: none where `arguments` have their own, or want a debugger.

    A file stays on one worker, for a notebook's cells need one kernel, and files keep their order.
    """
    own = any(word.startswith(("-n", "--numprocesses", "--pdb", "--trace")) for word in arguments)
    if own or (os.cpu_count() or 1) < WORKERS:
        return []
    return ["-n", str(WORKERS), "--dist", "loadfile", "--no-loadscope-reorder"]
