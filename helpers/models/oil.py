"""Damper oil: viscosity and density against temperature, stiffness against pressure with gas in it.

Temperatures are absolute, K; pressures absolute, Pa.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import Checked, in_range, quantity

ZERO_CELSIUS = 273.15  # K
ATMOSPHERE = 101_325.0  # Pa, standard atmosphere
_MM2 = 1e-6  # m2/s in a mm2/s

# ISO 3448 (as reprinted): the grade's number and the middle of its band at 40 degrees Celsius, mm2/s; the band is
# ten per cent either way.
GRADES = {
    2: 2.2, 3: 3.2, 5: 4.6, 7: 6.8, 10: 10.0, 15: 15.0, 22: 22.0, 32: 32.0, 46: 46.0, 68: 68.0, 100: 100.0,
    150: 150.0, 220: 220.0, 320: 320.0, 460: 460.0, 680: 680.0, 1000: 1000.0, 1500: 1500.0,
}  # fmt: skip


def grade_band(grade):
    """(lowest, highest) kinematic viscosity in m2/s at 40 degrees Celsius of an ISO viscosity grade.

    Raises ValueError for a grade that ISO 3448 does not have.
    """
    if grade not in GRADES:
        allowed = ", ".join(map(str, GRADES))
        raise ValueError(f"grade_band: grade is {grade!r}, an ISO viscosity grade in mm2/s; allowed are {allowed}.")
    return 0.9 * GRADES[grade] * _MM2, 1.1 * GRADES[grade] * _MM2


def grade_of(viscosity):
    """ISO viscosity grade of an oil of `viscosity` m2/s at 40 degrees Celsius; None between two bands."""
    return next((grade for grade in GRADES if grade_band(grade)[0] <= viscosity <= grade_band(grade)[1]), None)


@dataclass(frozen=True)
class Liquid(Checked):
    """What an opening sees of an oil at one temperature."""

    density: float = quantity("density", "kg/m3", 500.0, 3500.0, symbol=r"\rho")
    viscosity: float = quantity("dynamic viscosity", "Pa s", 1e-5, 1e3, symbol=r"\mu")


@dataclass(frozen=True)
class Walther:
    """log10 log10 (nu + 0.7) = A - B log10 T, nu in mm2/s, T in K: the Walther relation as ASTM D341 has it (its main
    term, meant for more than 2 mm2/s).
    """

    a: float
    b: float

    @classmethod
    def through(cls, cold, warm):
        """The relation through two points (temperature in K, viscosity in m2/s); the warmer one is the thinner."""
        (t1, nu1), (t2, nu2) = cold, warm
        if not (0.0 < t1 < t2 and nu1 > nu2 > 0.3 * _MM2):
            raise ValueError(
                f"Walther: the points are {nu1 / _MM2:g} mm2/s at {t1:g} K and {nu2 / _MM2:g} mm2/s at {t2:g} K; "
                "allowed is a second point that is warmer and thinner, above 0.3 mm2/s."
            )
        z1, z2 = (math.log10(math.log10(nu / _MM2 + 0.7)) for nu in (nu1, nu2))
        b = (z1 - z2) / math.log10(t2 / t1)
        return cls(z1 + b * math.log10(t1), b)

    def viscosity(self, temperature):
        """Kinematic viscosity in m2/s at `temperature` in K; any shape."""
        return (10.0 ** (10.0 ** (self.a - self.b * np.log10(temperature))) - 0.7) * _MM2


@dataclass(frozen=True)
class Oil(Checked):
    """An oil by what its data sheet says, and the gas that is stirred into it."""

    viscosity_40: float = quantity("kinematic viscosity at 40 °C", "m2/s", 2e-6, 2e-3, symbol=r"\nu_{40}")
    viscosity_100: float = quantity("kinematic viscosity at 100 °C", "m2/s", 0.5e-6, 1e-4, symbol=r"\nu_{100}")
    density_15: float = quantity("density at 15 °C", "kg/m3", 600.0, 1500.0, symbol=r"\rho_{15}", default=860.0)
    expansion: float = quantity(
        "volume expansion", "1/K", 0.0, 2e-3, symbol=r"\beta", default=7e-4,
        source="mineral oil, usual figure of handbooks (from memory)",
    )  # fmt: skip
    bulk_modulus: float = quantity("bulk modulus of the oil alone", "Pa", 1e8, 5e9, symbol=r"K", default=1.5e9)
    gas_share: float = quantity(
        "gas in bubbles, share of the volume at one atmosphere", "", 0.0, 0.5, symbol=r"\alpha", default=0.005
    )
    exponent: float = quantity("polytropic exponent of the gas", "", 1.0, 1.67, symbol=r"n", default=1.4)

    def __post_init__(self):
        super().__post_init__()
        self.walther  # noqa: B018  two points that make no curve stop here

    @property
    def walther(self):
        """The `Walther` relation through the two viscosities of the data sheet."""
        points = ((40.0, self.viscosity_40), (100.0, self.viscosity_100))
        return Walther.through(*((ZERO_CELSIUS + celsius, nu) for celsius, nu in points))

    def kinematic_viscosity(self, temperature):
        """m2/s at `temperature` in K; any shape."""
        return self.walther.viscosity(temperature)

    def density(self, temperature):
        """kg/m3 at `temperature` in K and one atmosphere; any shape."""
        return self.density_15 / (1.0 + self.expansion * (np.asarray(temperature) - ZERO_CELSIUS - 15.0))

    def at(self, temperature):
        """The `Liquid` at `temperature` in K, 230 to 450."""
        temperature = in_range("Oil", "temperature", temperature, "K", 230.0, 450.0)
        density = float(self.density(temperature))
        return Liquid(density, density * float(self.kinematic_viscosity(temperature)))

    def stiffness(self, pressure):
        """Effective bulk modulus -V dp/dV in Pa of oil with its bubbles at absolute `pressure` in Pa; any shape.

        The bubbles follow p V^n = constant and none dissolves, which makes the figure too low at high pressure.
        At one atmosphere it is Wood's (1930) mixture: 1/K = (1 - a)/K_oil + a/(n p).
        """
        p = np.asarray(pressure, dtype=float)
        if np.any(~(p > 0.0)):
            raise ValueError(f"Oil: pressure is {np.min(p):g} Pa; allowed is an absolute pressure above 0 Pa.")
        liquid = (1.0 - self.gas_share) * np.exp(-(p - ATMOSPHERE) / self.bulk_modulus)
        gas = self.gas_share * (ATMOSPHERE / p) ** (1.0 / self.exponent)
        return (liquid + gas) / (liquid / self.bulk_modulus + gas / (self.exponent * p))


DAMPER_OIL = Oil(viscosity_40=15e-6, viscosity_100=3.8e-6)  # ISO VG 15
