"""A damper's piston from the inside: shim stacks, ports, bleed and check, gas behind, to a force-velocity curve.

Flow passes the bleed, which is always open, beside the ports and the shims that cover them, one behind the other.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models import orifice
from helpers.models.oil import ATMOSPHERE
from helpers.models.orifice import Opening, hole
from helpers.models.quantities import Checked, in_range, quantity


@dataclass(frozen=True)
class Shim(Checked):
    """One spring-steel disc."""

    radius: float = quantity("outer radius", "m", 1e-3, 0.1, symbol=r"a")
    thickness: float = quantity("thickness", "m", 1e-5, 3e-3, symbol=r"h")


@dataclass(frozen=True)
class Stack(Checked):
    """Shims from the piston's face outwards, clamped at the centre; the first covers the ports and rests on the seat.

    Thin-plate theory with a ring load at the first shim's rim (Timoshenko and Woinowsky-Krieger). Shims slide on one
    another and bend to one shape: their rigidities add, each out to its own radius. The stack is too stiff so where a
    small shim lets the large ones lift off it, and too soft where friction between shims counts.
    """

    shims: tuple[Shim, ...]
    clamp_radius: float = quantity("radius at which the stack is clamped", "m", 5e-4, 0.05, symbol=r"b", default=5e-3)
    preload: float = quantity("force at the rim before it lifts", "N", 0.0, 5000.0, symbol=r"P_0", default=0.0)
    modulus: float = quantity("Young's modulus", "Pa", 1e9, 4e11, symbol=r"E", default=206e9)
    poisson: float = quantity("Poisson's ratio", "", 0.0, 0.49, symbol=r"\nu", default=0.3)

    def __post_init__(self):
        super().__post_init__()
        object.__setattr__(self, "shims", tuple(self.shims))
        if not self.shims:
            raise ValueError("Stack: shims is empty, 0 shims; allowed is 1 shim or more.")
        largest = max(shim.radius for shim in self.shims)
        if self.shims[0].radius < largest:
            raise ValueError(
                f"Stack: the first shim's radius is {self.shims[0].radius:g} m; allowed is at least that of every "
                f"other, {largest:g} m."
            )
        if self.edge <= self.clamp_radius:
            raise ValueError(
                f"Stack: clamp_radius is {self.clamp_radius:g} m; allowed is less than the first shim's radius, "
                f"{self.edge:g} m."
            )

    @property
    def edge(self):
        """Radius of the rim that lifts, m."""
        return self.shims[0].radius

    @property
    def compliance(self):
        """Lift of the rim per newton of ring load there, m/N.

        Each ring of constant rigidity D bends by slope = A r + B/r - P r ln r / (4 pi D); slope and radial moment
        pass from ring to ring, and the moment at the rim is nought.
        """
        b = self.clamp_radius
        radii = sorted({b, *(shim.radius for shim in self.shims if shim.radius > b)})
        loaded, unloaded = (self._bend(radii, *start) for start in ((1.0, 0.0), (0.0, 1.0)))
        clamp_moment = -loaded[1] / unloaded[1]
        return loaded[0] + clamp_moment * unloaded[0]

    def _bend(self, radii, load, clamp_moment):
        """(lift, radial moment) at the rim for a ring load and a moment at the clamp; both are linear in the two."""
        slope, moment, lift, nu = 0.0, clamp_moment, 0.0, self.poisson
        for inner, outer in zip(radii, radii[1:], strict=False):
            cubes = sum(shim.thickness**3 for shim in self.shims if shim.radius >= outer)
            rigidity = self.modulus * cubes / (12.0 * (1.0 - nu**2))
            k = load / (4.0 * math.pi * rigidity)
            curvature = moment / rigidity - nu * slope / inner  # d slope / dr
            mean = slope / inner + k * math.log(inner)  # A + B/r^2
            bent = curvature + k * (1.0 + math.log(inner))  # A - B/r^2
            a, c = 0.5 * (mean + bent), 0.5 * (mean - bent) * inner**2
            lift += 0.5 * a * (outer**2 - inner**2) + c * math.log(outer / inner)
            lift -= 0.5 * k * (outer**2 * (math.log(outer) - 0.5) - inner**2 * (math.log(inner) - 0.5))
            slope = a * outer + c / outer - k * outer * math.log(outer)
            steep = a - c / outer**2 - k * (1.0 + math.log(outer))
            moment = rigidity * (steep + nu * slope / outer)
        return lift, moment

    def lift(self, force):
        """Lift of the rim in m under `force` in N; any shape."""
        return self.compliance * np.maximum(np.asarray(force, dtype=float) - self.preload, 0.0)


@dataclass(frozen=True)
class Check(Checked):
    """A check valve: a stiff plate on a light spring, up to a stop."""

    edge: float = quantity("outer radius of the plate", "m", 1e-3, 0.1, symbol=r"a")
    spring_rate: float = quantity("rate of its spring", "N/m", 10.0, 1e6, symbol=r"k", default=1000.0)
    preload: float = quantity("force before it lifts", "N", 0.0, 500.0, symbol=r"P_0", default=0.5)
    stop: float = quantity("largest lift", "m", 1e-5, 0.02, symbol=r"y", default=1e-3)

    def lift(self, force):
        """Lift in m under `force` in N; any shape."""
        return np.clip((np.asarray(force, dtype=float) - self.preload) / self.spring_rate, 0.0, self.stop)


@dataclass(frozen=True)
class Way(Checked):
    """How oil passes the piston in one direction: ports, what covers them, and a bleed beside (or None)."""

    ports: Opening
    cover: Stack | Check
    bleed: Opening | None = None

    def flow(self, cover_drop, liquid):
        """(flow in m3/s, pressure drop in Pa) of the whole way, with `cover_drop` Pa over the cover alone."""
        lift = self.cover.lift(cover_drop * self.ports.area)
        curtain = orifice.flow(2.0 * math.pi * self.cover.edge * lift, 2.0 * lift, cover_drop, liquid)
        drop = cover_drop + self.ports.pressure_drop(curtain, liquid)
        beside = self.bleed.flow(drop, liquid) if self.bleed else 0.0
        return curtain + beside, drop


@dataclass(frozen=True)
class Gas(Checked):
    """The gas that makes room for the rod, absolute pressure; p V^n stays constant."""

    pressure: float = quantity("absolute pressure, rod fully out", "Pa", 1e4, 5e6, symbol=r"p_0", default=12e5)
    volume: float = quantity("volume, rod fully out", "m3", 1e-6, 1e-2, symbol=r"V_0", default=30e-6)
    exponent: float = quantity("polytropic exponent", "", 1.0, 1.67, symbol=r"n", default=1.3)

    def at(self, displaced):
        """Absolute pressure in Pa with `displaced` m3 of rod in the oil, less than the volume; any shape."""
        return self.pressure * (self.volume / (self.volume - displaced)) ** self.exponent


@dataclass(frozen=True)
class Piston(Checked):
    """A single-tube damper: a piston with a way for each direction, its rod, gas behind a floating piston.

    Shaft speed is positive in rebound, as in all damper curves, and so is force.
    """

    rebound: Way
    compression: Way
    gas: Gas = Gas()
    diameter: float = quantity("diameter of the piston", "m", 5e-3, 0.2, symbol=r"D", default=25e-3)
    rod: float = quantity("diameter of the rod", "m", 1e-3, 0.1, symbol=r"d_r", default=10e-3)
    vapour: float = quantity("vapour pressure of the oil, absolute", "Pa", 0.0, 1e5, symbol=r"p_v", default=100.0)

    def __post_init__(self):
        super().__post_init__()
        if self.rod >= self.diameter:
            raise ValueError(f"Piston: rod is {self.rod:g} m; allowed is less than diameter, {self.diameter:g} m.")

    @property
    def rod_area(self):
        """m2."""
        return 0.25 * math.pi * self.rod**2

    @property
    def working_area(self):
        """Ring between bore and rod, on which the pressure drop acts, m2."""
        return 0.25 * math.pi * self.diameter**2 - self.rod_area

    def gas_pressure(self, stroke):
        """Absolute, Pa, with the rod in by `stroke` m; any shape."""
        longest = self.gas.volume / self.rod_area
        in_range("Piston", "stroke", np.max(stroke), "m", 0.0, 0.95 * longest)
        return self.gas.at(self.rod_area * np.asarray(stroke, dtype=float))

    def gas_force(self, stroke):
        """What the gas pushes the rod out with, N, against the atmosphere outside."""
        return (self.gas_pressure(stroke) - ATMOSPHERE) * self.rod_area

    def cavitation_force(self, stroke=0.0):
        """Largest damping force in compression, N: there the chamber behind the piston is down to vapour pressure."""
        return (self.gas_pressure(stroke) - self.vapour) * self.working_area

    def pressure_drop(self, speed, liquid):
        """Over the piston in Pa at shaft `speed` in m/s, of its sign, without cavitation; any shape.

        Interpolated between 2000 points of the flow, which is explicit in the drop over the cover.
        """
        v = np.asarray(speed, dtype=float)
        over_cover = np.concatenate([[0.0], np.geomspace(1.0, 1e8, 2000)])
        out = np.zeros(v.shape)
        for way, sign in ((self.rebound, 1.0), (self.compression, -1.0)):
            flow, drop = way.flow(over_cover, liquid)
            wanted = sign * v * self.working_area
            in_range("Piston", "speed", np.max(sign * v), "m/s", -math.inf, float(flow[-1]) / self.working_area)
            out = np.where(wanted > 0.0, sign * np.interp(wanted, flow, drop), out)
        return out

    def force(self, speed, liquid, stroke=0.0):
        """Damping force in N at shaft `speed` in m/s, positive in rebound, with the rod in by `stroke`; any shape.

        Compression stops at the cavitation limit. The gas's own push is not in it: see `gas_force`.
        """
        return np.maximum(self.pressure_drop(speed, liquid) * self.working_area, -self.cavitation_force(stroke))


def pyramid(largest, smallest, thickness, count, **about):
    """A `Stack` of `count` shims of one `thickness` whose radii fall evenly from `largest` to `smallest`, in m."""
    return Stack(tuple(Shim(r, thickness) for r in np.linspace(largest, smallest, count)), **about)


_PORTS = hole(3e-3, 6e-3, count=4)
_BLEED = hole(1e-3)
TRAIL_PISTON = Piston(
    rebound=Way(_PORTS, pyramid(9.5e-3, 6.5e-3, 0.2e-3, 5), _BLEED),
    compression=Way(_PORTS, pyramid(9.5e-3, 6.5e-3, 0.15e-3, 4), _BLEED),
)
