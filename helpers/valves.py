"""The vocabulary of workbook 08, beside that of `helpers.course`: `from helpers.valves import *`."""

from dataclasses import replace

from helpers.control.response import DRIVES, responses
from helpers.models.actuators import PILOT_COIL, Magnetorheological, Solenoid
from helpers.models.geared_motor import GearedMotor
from helpers.models.machines import DAMPERS as dampers
from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.shims import TRAIL_PISTON as piston
from helpers.models.valve import BALANCED, DIRECTED, INWARD_PILOT, INWARD_POPPET, StickSlip
from helpers.simulation.opening import strike

__all__ = [
    "DRIVES", "Magnetorheological", "StickSlip", "bar", "coil", "dampers", "motor", "oil", "pilot", "pilot_coil",
    "piloted", "piston", "poppet", "replace", "responses", "spool",
    "strike",
]  # fmt: skip

bar = 1e5  # Pa
poppet, spool, pilot, piloted = INWARD_POPPET, BALANCED, INWARD_PILOT, DIRECTED
coil, pilot_coil, motor = Solenoid(), PILOT_COIL, GearedMotor()


def oil(celsius):
    """The course's damper oil at a temperature in degrees Celsius."""
    return DAMPER_OIL.at(ZERO_CELSIUS + celsius)
