"""Ride the specifications of workbook 12 some five hundred times each, and store what came out.

    python tests/workbooks/make_verified.py        # from the project's folder; some minutes

writes `helpers/simulation/verified.json`. The specifications are those of the page's own cells.
"""

import json
from pathlib import Path

from matplotlib import use
from pages import Page

from helpers.simulation import verifying


def verifications():
    """Those of the page's cells: the draft and the team's, few rides and many."""
    page = Page(12)
    sources = {cell.id: cell.source for cell in page.cells}
    for name in ("verify", "team-specs"):
        page._run(sources[name])
    return [page._names["few"], page._names["many"], *page._names["verified"].values()]


def main():
    """Write the file, riding everything anew."""
    use("Agg")
    kept, verifying.STORED = verifying.STORED, Path("nothing")
    verifying._stored.cache_clear()
    found = {}
    for each in verifications():
        columns = {name: [float(f"{value:.4g}") for value in getattr(each.varied, name)] for name in verifying.COLUMNS}
        key = verifying.key_of(each.spec, each.need, len(each.varied.gain), each.seed)
        found[key] = {"of": verifying.summary(each).split(":")[0], "left": each.remains} | columns
    lines = json.dumps(found, separators=(",", ":")).replace("},", "},\n").replace("],", "],\n")
    kept.write_text(f"{lines}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
