"""The vocabulary of battery and capstone, beside that of `helpers.course`: `from helpers.specifying import *`."""

from helpers.control.response import DRIVES
from helpers.models.cells import CELLS, Pack, loaded, pack_for_load, usable_loaded
from helpers.models.energy import climb_seconds, hours_per_charge
from helpers.models.quantities import table as quantities_of
from helpers.simulation.calmest import with_curve
from helpers.simulation.specification import Requirements, Specification, due, duty, pressure
from helpers.simulation.verifying import remains, summary, verify
from helpers.teaching.specification_sheet import sheet

__all__ = [
    "CELLS", "DRIVES", "Pack", "Requirements", "Specification", "climb_seconds", "due", "duty", "hours_per_charge",
    "loaded", "pack_for_load", "pressure", "quantities_of", "remains", "sheet", "summary", "usable_loaded", "verify",
    "with_curve",
]  # fmt: skip
