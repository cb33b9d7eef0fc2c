"""The vocabulary of the capstone, beside that of `helpers.course`: `from helpers.specifying import *`."""

from helpers.control.response import DRIVES
from helpers.models.cells import loaded
from helpers.models.energy import hours_per_charge
from helpers.models.quantities import table as quantities_of
from helpers.simulation.calmest import with_curve
from helpers.simulation.specification import Requirements, Specification, due, duty, pressure
from helpers.simulation.verifying import remains, summary, verify
from helpers.teaching.specification_sheet import sheet

__all__ = [
    "DRIVES", "Requirements", "Specification", "due", "duty", "hours_per_charge", "loaded", "pressure",
    "quantities_of", "remains", "sheet", "summary", "verify", "with_curve",
]  # fmt: skip
