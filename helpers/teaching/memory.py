"""Memory that a cell's rides have used and freed goes back to the system: an eighth of a kernel on a page's end.

Thirty learners share one server; the C library keeps what is freed for itself unless it is asked.
"""

import ctypes
from contextlib import suppress

MMAP_THRESHOLD, LARGE = -3, 1 << 22  # of malloc.h; bytes: an array of so many lies by itself, and leaves no hole


def hand_back(_=None):
    """Ask the C library for it where it can (glibc); nothing elsewhere."""
    with suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)


def watch(shell):
    """Hand back after each cell of a kernel; once, however often a page is opened in it."""
    with suppress(ValueError):
        shell.events.unregister("post_run_cell", hand_back)
    shell.events.register("post_run_cell", hand_back)
    with suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).mallopt(MMAP_THRESHOLD, LARGE)
