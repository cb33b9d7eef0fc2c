"""Run by hand: stored outputs and the tests of numbers, as on each kind of processor, with the time that each takes.

.venv/bin/python tests/every_processor.py [name ...]      # names from KINDS; none: all
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TESTED = [f"tests/{part}" for part in ("models", "control", "simulation", "teaching", "workbooks")] + ["workbooks"]
# The page runs of this file choose a kind of processor for themselves.
OPTIONS = ["-q", "-p", "no:cacheprovider", "--ignore", "tests/workbooks/test_numbers_hold.py"]
KINDS = {"detected": {}}
KINDS |= {kind: {"OPENBLAS_CORETYPE": kind} for kind in ("Haswell", "Zen", "SkylakeX", "Sandybridge")}
KINDS |= {"generic": {"NUMBA_CPU_NAME": "generic"}}


def run(kind: str, cache: str) -> bool:
    """Run the tests as on one kind of processor, machine code for it in `cache`; True if they pass."""
    chosen = KINDS[kind] | ({"NUMBA_CACHE_DIR": cache} if kind == "generic" else {})
    left = {name: value for name, value in os.environ.items() if name not in ("OPENBLAS_CORETYPE", "NUMBA_CPU_NAME")}
    start = time.monotonic()
    done = subprocess.run([sys.executable, "-m", "pytest", *OPTIONS, *TESTED], cwd=ROOT, env=left | chosen)
    verdict = "passed" if done.returncode == 0 else "FAILED"
    print(f"{kind}: {verdict} in {time.monotonic() - start:.0f} s", flush=True)
    return done.returncode == 0


def main(names: list[str]) -> int:
    """Run the kinds named, or all; returns 1 if any failed, 2 for an unknown name."""
    if unknown := set(names) - set(KINDS):
        print(f"{unknown.pop()} is no kind of processor here; allowed are {', '.join(KINDS)}.")
        return 2
    with tempfile.TemporaryDirectory() as cache:
        passed = [run(kind, cache) for kind in names or KINDS]
    return 0 if all(passed) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
