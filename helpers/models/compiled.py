"""Machine code by numba, in a cache that is never older than the sources, wherever it lies.

numba compares cached code with the file that holds the function alone, but functions and constants of other files are
compiled into it. So each state of the sources has a cache folder of its own, named by a digest of their contents.
"""

import hashlib
import os
import shutil
import tempfile
from contextlib import suppress
from pathlib import Path

import numba
from numba import config

PACKAGE = Path(__file__).parents[1]
LAYERS = ("models", "control", "simulation")
KEPT = 3  # folders of other states, so that going back and forth between two does not compile anew


def sources() -> list[Path]:
    """Every file whose functions or constants may be compiled in."""
    return [
        *(path for layer in LAYERS for path in sorted((PACKAGE / layer).glob("*.py"))),
        PACKAGE / "teaching/picture.py",
    ]


def digest() -> str:
    """Sixteen digits that stand for the contents of the sources."""
    summed = hashlib.sha256()
    for path in sources():
        data = path.read_bytes()
        summed.update(f"{path.relative_to(PACKAGE).as_posix()} {len(data)}\n".encode() + data)
    return summed.hexdigest()[:16]


def cache_folder() -> str | None:
    """The folder for machine code of the present sources, made if need be; None where nothing can be written.

    Below NUMBA_CACHE_DIR if that is set, else in the package, else (a read-only installation) in the user's own cache.
    """
    name = f"helpers-{digest()}"
    if config.CACHE_DIR and _usable(given := Path(config.CACHE_DIR) / name):
        return str(given)
    user = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA") or os.path.expanduser("~/.cache")
    for ours in (PACKAGE / "__pycache__/machine-code", Path(user) / "suspension-control"):
        if _usable(ours / name):
            _tidy(ours, name)
            return str(ours / name)
    return None


def _usable(folder: Path) -> bool:
    """Whether files can be written into `folder`, tried rather than asked; made if need be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder) as probe:
            probe.write(b"\0")
        os.utime(folder)  # the last used is the last tidied away
    except OSError:
        return False
    return True


def _tidy(base: Path, name: str):
    """Remove the folders of other states of the sources, but for the last few used."""
    with suppress(OSError):  # another process tidies as well
        others = [path for path in base.glob("helpers-*") if path.name != name]
        for old in sorted(others, key=lambda path: path.stat().st_mtime)[:-KEPT]:
            shutil.rmtree(old, ignore_errors=True)


FOLDER = cache_folder()


def njit(cache=False, **options):
    """numba's decorator of the same name, but its cache is FOLDER; without one, every process compiles anew."""

    def decorate(function):
        before, config.CACHE_DIR = config.CACHE_DIR, FOLDER or ""  # numba looks for it here, when it decorates
        try:
            return numba.njit(cache=cache and FOLDER is not None, **options)(function)
        finally:
            config.CACHE_DIR = before

    return decorate
