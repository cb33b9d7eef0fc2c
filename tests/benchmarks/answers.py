"""How long the check takes for worded, hostile and odd answers: the slowest, each the best of three judgements.

    python tests/benchmarks/answers.py

The units library is loaded before, as a page does when it is opened. Asked for is at most 50 ms for any answer.
"""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "teaching"))

from odd_answers import EXERCISES, judged  # noqa: E402

from helpers.teaching.units import clipped, registry  # noqa: E402

begun = time.perf_counter()
registry()
print(f"Units library, once for each page: {time.perf_counter() - begun:.2f} s")
rounds = [[(seconds, clipped(answer)) for answer, _, seconds in judged()] for _ in range(3)]
best = [min(times) for times in zip(*rounds, strict=True)]
print(f"{len(best)} answers, {len(EXERCISES)} exercises each; the slowest of the five, ms:")
for seconds, answer in sorted(best, reverse=True)[:10]:
    print(f"{1e3 * seconds:8.2f}  {answer}")
first = max(seconds for seconds, _ in rounds[0])
print(f"The slowest when seen for the first time: {1e3 * first:.1f} ms")
