"""Flow through holes and slits, sharp-edged to long, creeping to turbulent.

The pressure drop is the sum of what the jet loses and what viscosity takes:

    dp = rho v^2 / (2 C^2) + k mu v / (2 d),    v = Q / A,    k = k_end + k_wall L / d,

d the hydraulic diameter. It is a quadratic in Q, so flow from pressure and pressure from flow are both explicit, and
the discharge coefficient Cd = Q / (A sqrt(2 dp / rho)) follows: 1/Cd^2 = 1/C^2 + k/Re. The sum leaves out that a
sharp-edged orifice passes up to a sixth more at Reynolds numbers of about 100 to 300, and it lies up to a quarter
below what is measured on short tubes at about 10; from 300 up it is within 5 per cent.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import Checked, quantity

SHARP_EDGED = math.pi / (math.pi + 2.0)  # 0.611, Kirchhoff's free jet from a slit in a thin wall
_SPREADS, _FILLED = 0.5, 2.0  # length over diameter from which the jet starts to fill the bore, and fills it
HOUR, BAR = 3600.0, 1e5
KV_DENSITY = 1000.0  # kg/m3: the water of IEC 60534's definition of Kv


def turbulent_coefficient(length_over_diameter):
    """Discharge coefficient at high Reynolds number, of any shape: sharp-edged, or a short tube that flows full.

    Short tube, 2 to 10 diameters: 0.827 - 0.0085 L/d, Lichtarowicz, Duggins and Markland (1965); a straight line in
    between.
    """
    ratio = np.asarray(length_over_diameter, dtype=float)
    rising = np.interp(ratio, [_SPREADS, _FILLED], [SHARP_EDGED, 0.827 - 0.0085 * _FILLED])
    return np.where(ratio > _FILLED, np.maximum(0.827 - 0.0085 * ratio, SHARP_EDGED), rising)


@dataclass(frozen=True)
class Shape:
    """Viscous loss of a cross-section in the terms of the module's formula, by hydraulic diameter."""

    end: float
    wall: float


# Creeping flow through a thin wall: a hole by Sampson (1891), dp = 24 mu Q / d^3; a slit by Hasimoto (1958), which is
# Wuest's 0.157 sqrt(Re) as Merritt prints it. Walls: Hagen and Poiseuille.
ROUND = Shape(12.0 * math.pi, 64.0)
SLIT = Shape(128.0 / math.pi, 96.0)


def flow(area, diameter, pressure_drop, liquid, length=0.0, shape=SLIT):
    """Flow in m3/s with the sign of `pressure_drop` (Pa) through `area` (m2) of hydraulic `diameter` (m).

    Arrays are broadcast; a closed opening, area 0 or diameter 0, passes nothing.
    """
    area, diameter, drop = (np.asarray(each, dtype=float) for each in (area, diameter, pressure_drop))
    is_open = (area > 0.0) & (diameter > 0.0)
    d = np.where(is_open, diameter, 1.0)
    inertial = liquid.density / (2.0 * turbulent_coefficient(length / d) ** 2)
    viscous = (shape.end + shape.wall * length / d) * liquid.viscosity / (2.0 * d)
    size = np.abs(drop)
    velocity = 2.0 * size / (viscous + np.sqrt(viscous**2 + 4.0 * inertial * size))
    return np.where(is_open, np.sign(drop) * area * velocity, 0.0)


@dataclass(frozen=True)
class Opening(Checked):
    """One or several equal holes or slits side by side."""

    area: float = quantity("free area", "m2", 1e-10, 1.0, symbol=r"A")
    diameter: float = quantity("hydraulic diameter of each", "m", 1e-6, 1.0, symbol=r"d")
    length: float = quantity("length in the direction of flow", "m", 0.0, 1.0, symbol=r"L", default=0.0)
    shape: Shape = SLIT

    def flow(self, pressure_drop, liquid):
        """m3/s at `pressure_drop` in Pa, of its sign; any shape."""
        return flow(self.area, self.diameter, pressure_drop, liquid, self.length, self.shape)

    def pressure_drop(self, flow, liquid):
        """Pa at `flow` in m3/s, of its sign; any shape."""
        v = np.asarray(flow, dtype=float) / self.area
        ratio = self.length / self.diameter
        inertial = liquid.density / (2.0 * turbulent_coefficient(ratio) ** 2)
        viscous = (self.shape.end + self.shape.wall * ratio) * liquid.viscosity / (2.0 * self.diameter)
        return inertial * v * np.abs(v) + viscous * v

    def discharge_coefficient(self, pressure_drop, liquid):
        """Q / (A sqrt(2 dp / rho)) at `pressure_drop` above 0 Pa; any shape."""
        return self.flow(pressure_drop, liquid) / (self.area * np.sqrt(2.0 * pressure_drop / liquid.density))

    def reynolds_number(self, flow, liquid):
        """Of the mean velocity and the hydraulic diameter at `flow` in m3/s."""
        return liquid.density * np.abs(flow) / self.area * self.diameter / liquid.viscosity


def hole(diameter, length=0.0, count=1):
    """`count` round holes of `diameter` and `length` in m as an `Opening`; length 0 is sharp-edged."""
    return Opening(count * 0.25 * math.pi * diameter**2, diameter, length, ROUND)


def slit(width, gap, length=0.0):
    """A slit `width` wide and `gap` high, in m, as an `Opening`; wide against its gap."""
    return Opening(width * gap, 2.0 * gap, length, SLIT)


def kv(flow, pressure_drop, density):
    """Flow coefficient Kv in m3/h of water at 1 bar, from `flow` (m3/s) at `pressure_drop` (Pa) of a liquid of
    `density` (kg/m3), turbulent: IEC 60534.
    """
    return flow * HOUR * np.sqrt(BAR / np.asarray(pressure_drop) * density / KV_DENSITY)


def area_of_kv(coefficient, discharge=SHARP_EDGED):
    """Area in m2 of an orifice of that `discharge` coefficient whose Kv is `coefficient` (m3/h)."""
    return coefficient / HOUR / math.sqrt(2.0 * BAR / KV_DENSITY) / discharge
