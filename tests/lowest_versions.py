"""Run by hand: the tests without a browser, on the lowest versions that the requirements allow.

    .venv/bin/python tests/lowest_versions.py [word ...]      # words go to pytest; none: all but browser and pixels

Makes an environment of its own in a temporary folder, where each package named in requirements.txt and
tests/requirements.txt has its lower bound; pip chooses the rest.
"""

import os
import re
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
FILES = ("requirements.txt", "tests/requirements.txt")
BOUND = re.compile(r"^([\w.-]+)>=([\w.]+)", re.MULTILINE)


def lowest() -> list[str]:
    """Each package named by the requirements, at its lower bound."""
    return [f"{name}=={bound}" for file in FILES for name, bound in BOUND.findall((ROOT / file).read_text("utf-8"))]


def main(words: list[str]) -> int:
    """Install and test; returns pytest's exit code, or pip's."""
    # The project's own package is found by its path: an editable install would leave files in the tree.
    variables = os.environ | {"PYTHONPATH": str(ROOT)}
    with tempfile.TemporaryDirectory() as folder:
        venv.create(folder, with_pip=True)
        python = Path(folder) / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
        variables |= {"NUMBA_CACHE_DIR": str(Path(folder) / "compiled")}
        if failed := subprocess.call([python, "-m", "pip", "install", "-q", *lowest()]):
            return failed
        print("\n".join(lowest()), flush=True)
        return subprocess.call(
            [python, "-m", "pytest", "-p", "no:cacheprovider", *(words or ["-q", "-m", "not browser and not pixels"])],
            cwd=ROOT, env=variables,
        )  # fmt: skip


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
