"""How quick a valve is, by the damper's force: dead time, 50, 63 and 90 % of the change, and what these are in lift.

Control engineering counts a response in shares of the change of what is controlled, here of force: 63.2 % is a
first-order lag's time constant. Fluid power shifts by pressure: at its first change (JIS 8375), at 50 % (CETOP RP111P)
or at 90 % of it (ANSI/NFPA T3.21.8), before ISO 12238 (all as told in Fluid Power Journal). Half and fully open are
lifts of the controllable valve. *Open* always means that valve fully open, the damper's softest curve, not a plain
damper.
"""

import math
from dataclasses import astuple, dataclass

import numpy as np

from helpers.control.timing import Timing
from helpers.models.actuators import PILOT_COIL, Magnetorheological, Solenoid
from helpers.models.geared_motor import GearedMotor
from helpers.models.orifice import BAR
from helpers.models.quantities import in_range
from helpers.models.valve import BALANCED, DIRECTED, INWARD_POPPET, MINERAL

_NINETY_AFTER = math.log(10.0) - 1.0  # a first-order lag's way from 63.2 to 90 %, in time constants: 1.3026
HEADS = ("dead time", "10 to 90 %", "half open", "fully open", "50 %", "63 %", "90 %")
"""Columns of the table that converts one meaning of response into another: a `Response`'s fields in their order."""


@dataclass(frozen=True)
class Response:
    """Times in s from the order: until the force changes at all, from 10 to 90 % of its change, until the valve's lift
    is half and whole, until 50, 63.2 and 90 % of the force's change. inf what never comes, nan a lift where is none.
    """

    dead_time: float
    rise_time: float
    half_open: float
    fully_open: float
    force_50: float
    force_63: float
    force_90: float

    @classmethod
    def of(cls, time, force, lift=None):
        """From a course: time in s, rising, share of the force's change and of the lift, shape (n,) each, from 0 to 1.

        Read off by straight lines between the points; the last time that the force is still unchanged is the dead time.
        """
        time, force = np.asarray(time, dtype=float), np.asarray(force, dtype=float)
        if not len(time):
            return cls(*[math.inf] * 7)
        idle = np.flatnonzero(force > 0.0)
        dead = float(time[max(idle[0] - 1, 0)]) if len(idle) else math.inf
        shares = [reached(time, force, share) for share in (0.1, 0.5, 1.0 - math.exp(-1.0), 0.9)]
        lifts = (math.nan, math.nan) if lift is None else (reached(time, lift, 0.5), reached(time, lift, 1.0))
        return cls(dead, shares[3] - shares[0], *lifts, *shares[1:])

    @classmethod
    def first_order(cls, dead_time, time_constant):
        """Of a dead time and a first-order lag, s, the `Timing`'s valve: its setting is the share of the force itself.

        A setting that creeps up to its aim is never fully open; of a lift it says nothing.
        """
        halved, ninety = math.log(2.0) * time_constant, math.log(10.0) * time_constant
        return cls(dead_time, time_constant * math.log(9.0), math.nan, math.nan, dead_time + halved,
                   dead_time + time_constant, dead_time + ninety)  # fmt: skip

    @property
    def as_lag(self):
        """(dead time, time constant) in s of the first-order lag that has the same 63.2 and 90 %.

        Where that would begin before the order, the one without dead time that has the same 63.2 %; inf if it stalls.
        """
        if math.isinf(self.force_90):
            return math.inf, math.inf
        constant = min((self.force_90 - self.force_63) / _NINETY_AFTER, self.force_63)
        return self.force_63 - constant, constant

    def timing(self, **chain):
        """A `Timing` whose valve is `as_lag`; chain: its other fields."""
        dead, constant = self.as_lag
        return Timing(valve_dead_time=dead, valve_time_constant=constant, **chain)

    @property
    def row(self):
        """The times in s in the order of `HEADS`."""
        return astuple(self)


def reached(time, values, share):
    """First time in s at which `values` has `share`, by straight lines between the points; inf if never."""
    values = np.asarray(values, dtype=float)
    there = np.flatnonzero(values >= share)
    if not len(there):
        return math.inf
    k = there[0]
    if k == 0:
        return float(time[0])
    part = (share - values[k - 1]) / (values[k] - values[k - 1])
    return float(time[k - 1] + part * (time[k] - time[k - 1]))


def force_share(lift, open_pressure, relief_pressure):
    """Share of the change of force, 0 locked to 1 fully open, at `lift` as a share of the stroke; any shape.

    The plainest circuit at one speed of the damper, hence one flow: the valve beside a relief valve that holds
    `relief_pressure` (Pa) while it is needed. A valve of area in proportion to its lift makes open_pressure/lift^2 of
    all the flow, which falls below the relief's pressure at a lift of sqrt(open_pressure/relief_pressure): until then
    the force does not change. open_pressure: over the valve fully open, Pa.
    """
    relief_pressure = in_range("force_share", "relief_pressure", relief_pressure, "Pa", 1.0, 1e8)
    open_pressure = in_range("force_share", "open_pressure", open_pressure, "Pa", 0.0, 0.999 * relief_pressure)
    lift = np.asarray(lift, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        pressure = np.minimum(np.where(lift > 0.0, open_pressure / lift**2, np.inf), relief_pressure)
    return (relief_pressure - pressure) / (relief_pressure - open_pressure)


DRIVES = {
    "coil on a poppet": (Solenoid(), INWARD_POPPET), "coil on a spool": (Solenoid(), BALANCED),
    "coil on a pilot": (PILOT_COIL, DIRECTED), "geared motor on a spool": (GearedMotor(), BALANCED),
    "magnetorheological": (Magnetorheological(), None),
}  # fmt: skip


def responses(pressure, power, force_of=None, liquid=MINERAL, drives=None):
    """The `Response` of each of `drives`, opening, by name: the rows of the table whose columns are `HEADS`.

    pressure in Pa that stands over the valve, power in W. force_of: share of the change of force at a share of the
    lift, an array function; by default `force_share` with the relief at that pressure and 2 bar when open. The
    magnetorheological gap softens, its coil shorted: its damping falls as its field.
    """
    if force_of is None:

        def force_of(lift):
            return force_share(lift, 2.0 * BAR, pressure)

    found = {}
    for name, (drive, valve) in (drives or DRIVES).items():
        if valve is None:
            found[name] = Response.of(*drive.ordered(power, soften=True))
        else:
            time, lift = drive.course(valve, pressure, power, liquid)
            found[name] = Response.of(time, force_of(lift), lift)
    return found
