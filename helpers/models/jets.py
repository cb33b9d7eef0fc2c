"""Force of the flow on a valve by its direction, from the momentum of the oil in a control volume.

All forces in N, positive towards opening, beside the static force of the pressure drop dp on the seat's area A. The
free opening is a; Q = Cd a sqrt(2 dp/rho) leaves it as a jet of speed v = Cv sqrt(2 dp/rho) at the angle th to the
valve's axis, into oil that stands at the low pressure: what the jet's speed could give back further down is lost. So
rho Q v = 2 Cd Cv a dp.

Spool. Volume: the oil between the lands. Pressures on the two lands cancel; the other opening is wide and its flow
square to the axis. What the jet carries along the axis, in or out, is the lands' push: rho Q v cos th, closing
whichever way the oil flows.

Cone, outward: from the seat's bore along the cone. Volume: the oil in the bore under the face, from where it comes at
u = Q/A, the pressure there rho u^2/2 below that of the chamber it comes from. Force of the face on the oil is that
pressure on A, plus rho Q u that flows in, less rho Q v cos th that flows out:
closing by rho Q v cos th, opening by rho Q u - rho u^2 A/2 = rho Q^2/(2 A).

Cone, inward: over the seat, along the cone, into the bore or the room below. Volume: the jet from the slit until it has
turned into one along the axis. Around it stands the low pressure, so its speed stays: in with rho Q v cos th along the
axis, away from the cone, out with rho Q v. The tip turns it and is pushed open by rho Q v (1 - cos th). A jet that
breaks up before pushes less; none closes. (A balance of the bore as far down as the jet has mixed reads rho Q v cos th
closing, but beside the static force of the pressure there, which is the higher by what the jet gave back. To add that
to the whole dp counts it twice.) Where the opening is no longer small against A none of this holds.
"""

import math

import numpy as np

from helpers.models.orifice import SHARP_EDGED

VELOCITY_COEFFICIENT = 0.98  # Merritt, Hydraulic Control Systems (1967)
INWARD, OUTWARD = "inward", "outward"
"""Flow over the seat into its bore, and from the bore outward."""


def thrust(opening, pressure_drop):
    """Momentum that the jet carries in a second, rho Q v, in N: `opening` in m2, `pressure_drop` in Pa of any sign."""
    return 2.0 * SHARP_EDGED * VELOCITY_COEFFICIENT * np.asarray(opening, dtype=float) * np.abs(pressure_drop)


def along_spool(opening, pressure_drop, angle):
    """Flow force on a spool, either way: `angle` of the jet to the axis in rad; arrays are broadcast."""
    return -math.cos(angle) * thrust(opening, pressure_drop)


def outward(opening, pressure_drop, angle, area):
    """Flow force on a cone of half angle `angle` in rad over a seat of `area` in m2, flow from the bore outward."""
    came = SHARP_EDGED**2 * np.square(opening) / area * np.abs(pressure_drop)
    return along_spool(opening, pressure_drop, angle) + came


def inward(opening, pressure_drop, angle):
    """The same with flow over the seat inward, the jet turned by the cone's tip: the most that pushes it open."""
    return (1.0 - math.cos(angle)) * thrust(opening, pressure_drop)
