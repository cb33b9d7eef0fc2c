"""Reading a log of a million rows and five columns, clean and with faults, in processor time.

    python tests/benchmarks/logs.py

Clean, with gaps in a column, with decimal commas, and with a hundred cells that hold a word. Aim: under 2 s each.
"""

import time

import numpy as np

from helpers.simulation.logs import load_log

ROWS = 1_000_000
HEAD = "time (s);wheel acceleration (g);body acceleration (g);pressure (bar);valve command\n"


def forms():
    """The text of each form by its name."""
    draw = np.random.default_rng(0)
    columns = (1e-3 * np.arange(ROWS), *(draw.normal(size=ROWS) for _ in range(3)), draw.integers(0, 2, ROWS))
    clean = "\n".join("{:.4f};{:.3f};{:.3f};{:.2f};{}".format(*row) for row in zip(*columns, strict=True))
    return {"clean": clean, "values missing": clean.replace(";0.12;", ";;"), "commas": clean.replace(".", ","),
            "words": clean.replace(";0.5", ";OVR", 100)}  # fmt: skip


if __name__ == "__main__":
    for name, text in forms().items():
        start = time.process_time()
        log = load_log(HEAD + text)
        print(f"{name}: {time.process_time() - start:.2f} s; {'; '.join(log.found) or 'nothing found'}")
