"""What happens: the compiled stepper, runs and their metrics. Imports models and control."""

from contextlib import suppress
from pathlib import Path


def _forget_stale_machine_code():
    """Drop the cached machine code of steppers and laws when a source file that it compiles in is newer.

    numba compares the cache with the file that holds the function alone: a changed law would leave the old one in use.
    """
    here, control = Path(__file__).parent, Path(__file__).parents[1] / "control"
    sources = [here / "kernel.py", here / "elements.py", *here.glob("lane*.py"), *control.glob("*.py")]
    with suppress(OSError):  # a read-only installation keeps its cache elsewhere, and its sources do not change
        newest = max(path.stat().st_mtime for path in sources)
        for folder in (here, control):
            for cached in folder.joinpath("__pycache__").glob("*.nb?"):
                if cached.stat().st_mtime < newest:
                    cached.unlink()


_forget_stale_machine_code()
