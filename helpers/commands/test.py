"""`python3 -m helpers test`: every test, workbooks and lint included, by pytest as .pytest.ini sets it up."""

import subprocess

from helpers.commands.environment import TEST, Environment, say


def run(environment: Environment, arguments: list[str]) -> int:
    """Install what the tests need, then run them; `arguments` go to pytest. Returns pytest's exit code."""
    environment.ensure(TEST)
    say("Running the tests")
    return subprocess.call([environment.python, "-m", "pytest", *arguments], cwd=environment.root)
