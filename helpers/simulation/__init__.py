"""What happens: the compiled stepper, runs and their metrics. Imports models and control."""

from contextlib import suppress
from pathlib import Path


def _forget_stale_machine_code():
    """Drop the stepper's cached machine code when a source file that it compiles in is newer.

    numba compares the cache with the file that holds the function alone: a changed law would leave the old one in use.
    """
    here = Path(__file__).parent
    sources = [here / "kernel.py", *here.parent.joinpath("control").glob("*.py")]
    with suppress(OSError):  # a read-only installation keeps its cache elsewhere, and its sources do not change
        newest = max(path.stat().st_mtime for path in sources)
        for cached in here.joinpath("__pycache__").glob("kernel.*.nb?"):
            if cached.stat().st_mtime < newest:
                cached.unlink()


_forget_stale_machine_code()
