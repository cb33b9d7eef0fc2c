"""Run by hand: search again what `calmest_fixed` and `best_history` keep for the course's machines on its loop.

.venv/bin/python tests/simulation/make_stored.py          # a few minutes
"""

import json
import sys

from helpers.models.machines import MACHINES
from helpers.simulation import calmest, history
from helpers.simulation.stretches import fell_loop

HOLD = 0.004  # s; of 2 ms they are calmer by half a hundredth and twice as large


def main():
    shapes, histories = {}, {}
    for vehicle in MACHINES.values():
        for ground in fell_loop():
            key = calmest.key_of(vehicle, ground)
            shapes[key] = calmest.stored()[key] if "histories" in sys.argv else calmest.search(vehicle, ground)
            print(key, shapes[key], flush=True)
            if ground.section != "climb":
                settings = history.search(vehicle, ground, HOLD)
                histories[key] = {"hold": HOLD, "settings": history.packed(settings)}
    for path, stored in ((calmest.STORED, shapes), (history.STORED, histories)):
        path.write_text(json.dumps(stored, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
