"""The chain from measurement to command of one end of a two-wheeled model: what `kernel.march` does for its one."""

import numpy as np

from helpers.control.decision import decide
from helpers.control.law import MEASUREMENTS
from helpers.models.compiled import njit


def packed_laws(laws, road, fit, seed):
    """What `two_wheels.march` must know of both ends' laws over their roads, shape (2, 2 n + 1)."""
    return (
        np.array([law.code for law in laws]), np.array([law.packed() for law in laws]),
        np.array([law.ahead(heights[::2].copy(), fit.step) for law, heights in zip(laws, road, strict=True)]),
        (fit.every, fit.delay, fit.jitter), (fit.smoothing, fit.valve_half, fit.valve_full), seed,
    )  # fmt: skip


@njit(cache=True, error_model="numpy")
def commanded(code, law, curves, n, step, clock, late, smoothing, measured, seen, memory, due, command):
    """The chain at step `n`; returns whether what is commanded has changed.

    clock: steps between samples, of delay. late: steps of jitter. due, shape (slots, 3), and command, shape (3,): valve
    setting, force, step of the sample.
    """
    sampling = n % clock[0] == 0
    if sampling or smoothing > 0.0:
        for i in range(MEASUREMENTS):
            seen[i] = smoothing * seen[i] + (1.0 - smoothing) * measured[i]
    if sampling:
        told = due[(n + clock[1] + late) % len(due)]
        told[0], told[1] = decide(code, law, seen, memory, n * step, curves[1], curves[2])
        told[2] = n
    told = due[n % len(due)]
    if told[2] <= command[2]:  # nothing new, or jitter let a newer one overtake it
        return False
    changed = told[0] != command[0] or told[1] != command[1]
    command[:] = told
    return changed
