"""The course's damper as a hydraulic circuit: what a wheel feels of it, and what its controllable valve holds.

The piston carries no valves. Compression drives oil out of the bore side, rebound out of the ring side, and all of it
passes two stages in series on its way to the other side:

    bore side -- main stage -- middle -- controllable stage -- ring side

The main stage is a shim stack for each direction with a bleed beside it. The controllable stage is the valve, passed
forwards in compression and backwards in rebound, with side by side to it a leak, a blow-off (compression alone) and a
fixed path (rebound alone). A selector, two checks of which each is opened by the pressure of the other side, joins
the side of low pressure to the gas, and the rod's volume passes it.

Flows of what stands side by side add, drops of what stands in series add. Speeds and forces are those at the wheel,
positive in rebound; `lift` is the valve's in m, 0 shut. Gas and spring push in addition; the vehicle's spring has
both. Left out: the low pressure inside a jet, the oil's inertia, and oil that seals drag along.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from helpers.models import orifice
from helpers.models.dampers import DamperCurve, Side
from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS, Oil
from helpers.models.orifice import Opening
from helpers.models.quantities import Checked, in_range, quantity
from helpers.models.shims import Gas, Way
from helpers.models.valve import Valve

FIT_SPEEDS = (0.02, 4.0)  # m/s at the wheel: where the curves of two slopes are fitted
FIT_SHARE, FIT_FORCE = 0.1, 20.0  # what a deviation is measured by: this share of the force, or this force in N
_OVER_COVER = np.geomspace(1.0, 1e8, 8000)  # Pa; so close that interpolation keeps to a millionth


@dataclass(frozen=True, eq=False)
class Drops:
    """Pressure drops in Pa on the way of the oil, of the sign of the speed."""

    main: np.ndarray
    valve: np.ndarray
    selector: np.ndarray


@dataclass(frozen=True, eq=False)
class Pressures:
    """Absolute pressures in Pa along the circuit."""

    bore: np.ndarray
    middle: np.ndarray
    ring: np.ndarray
    gas: np.ndarray

    @property
    def lowest(self):
        """The lowest of the three in the oil, Pa."""
        return np.minimum(np.minimum(self.bore, self.middle), self.ring)


@dataclass(frozen=True)
class Damper(Checked):
    """A damper whose oil passes a main stage and a controllable stage; see the module."""

    compression: Way
    rebound: Way
    valve: Valve
    leak: Opening | None
    blow_off: Way
    rebound_path: Way
    selector: Opening
    gas: Gas = Gas()
    oil: Oil = DAMPER_OIL
    bore: float = quantity("diameter of the bore", "m", 5e-3, 0.2, symbol=r"D", default=25e-3)
    rod: float = quantity("diameter of the rod", "m", 1e-3, 0.1, symbol=r"d_r", default=12e-3)
    linkage: float = quantity("wheel travel over damper travel", "", 0.3, 10.0, symbol=r"i", default=2.5)
    static_stroke: float = quantity(
        "how far the rod is in at static equilibrium", "m", 0.0, 0.5, symbol=r"s_0", default=19e-3
    )
    bore_column: float = quantity(
        "oil under pressure in compression, as a length of the bore", "m", 5e-3, 1.0, symbol=r"L_c", default=80e-3
    )
    ring_column: float = quantity(
        "oil under pressure in rebound, as a length of the ring", "m", 5e-3, 1.0, symbol=r"L_r", default=80e-3
    )
    hose: float = quantity(
        "volume by which hoses and walls widen for each pascal", "m3/Pa", 0.0, 1e-10, symbol=r"C_h", default=1.5e-14
    )
    mounts: float = quantity(
        "stiffness of both mounts in series, at the damper", "N/m", 1e4, math.inf, symbol=r"k_m", default=1.2e7
    )
    temperature: float = quantity("of the oil", "K", 230.0, 450.0, symbol=r"T", default=ZERO_CELSIUS + 40.0)
    vapour: float = quantity("vapour pressure of the oil, absolute", "Pa", 0.0, 1e5, symbol=r"p_v", default=100.0)

    def __post_init__(self):
        super().__post_init__()
        if self.rod >= self.bore:
            raise ValueError(f"Damper: rod is {self.rod:g} m; allowed is less than bore, {self.bore:g} m.")

    # --- geometry -------------------------------------------------------------------------------------------------

    @property
    def rod_area(self):
        """m2."""
        return 0.25 * math.pi * self.rod**2

    @property
    def bore_area(self):
        """What pushes the oil in compression, m2."""
        return 0.25 * math.pi * self.bore**2

    @property
    def ring_area(self):
        """What pushes the oil in rebound, m2."""
        return self.bore_area - self.rod_area

    @property
    def liquid(self):
        """The oil at the damper's temperature."""
        return self.oil.at(self.temperature)

    def gas_pressure(self, travel=0.0):
        """Absolute, Pa, at `travel` of the wheel in m from static equilibrium, positive in extension; any shape.

        A top-out stop that yields lets the rod further out than `static_stroke`.
        """
        stroke = self.static_stroke - np.asarray(travel, dtype=float) / self.linkage
        longest = 0.95 * self.gas.volume / self.rod_area
        in_range("Damper", "travel", np.min(travel), "m", (self.static_stroke - longest) * self.linkage, math.inf)
        return self.gas.at(self.rod_area * stroke)

    # --- circuit --------------------------------------------------------------------------------------------------

    def flow(self, speed):
        """Through both stages in m3/s, of the sign of `speed` (m/s); any shape."""
        v = np.asarray(speed, dtype=float)
        return v / self.linkage * np.where(v > 0.0, self.ring_area, self.bore_area)

    def drops(self, speed, lift):
        """The `Drops` at `speed` in m/s, any shape, and one `lift` of the valve in m."""
        lift = in_range("Damper", "lift", lift, "m", 0.0, self.valve.stroke)
        speed, flow = np.asarray(speed, dtype=float), self.flow(speed)
        main, held = np.zeros(flow.shape), np.zeros(flow.shape)
        for sign, area in ((1.0, self.ring_area), (-1.0, self.bore_area)):
            moves, fastest = sign * speed > 0.0, np.max(sign * speed, initial=0.0)
            for out, (passed, drop) in ((main, _main(self, sign)), (held, _held(self, sign, lift))):
                in_range("Damper", "speed", fastest, "m/s", 0.0, float(passed[-1]) / area * self.linkage)
                out[moves] = sign * np.interp(sign * flow[moves], passed, drop)
        rod_flow = speed / self.linkage * self.rod_area
        return Drops(main, held, self.selector.pressure_drop(rod_flow, self.liquid))

    def force(self, speed, lift):
        """At the wheel in N, positive in rebound, at `speed` in m/s, any shape, and one `lift` of the valve in m."""
        return self._force(speed, self.drops(speed, lift))

    def _force(self, speed, drops):
        area = np.where(np.asarray(speed) > 0.0, self.ring_area, self.bore_area)
        return ((drops.main + drops.valve) * area + drops.selector * self.rod_area) / self.linkage

    def pressures(self, speed, setting, travel=0.0):
        """The `Pressures` at `speed` in m/s, `setting` of the valve (see `held`) and `travel` in m; broadcast."""
        drops, held, gas = self.drops(speed, self.valve.stroke), self.held(speed, setting), self.gas_pressure(travel)
        low = gas - drops.selector + 0.0 * held  # above the gas where the rod goes in, below where it comes out
        bore = np.where(np.asarray(speed) > 0.0, low, low - held - drops.main)
        middle = bore + drops.main
        return Pressures(bore, middle, middle + held, gas + 0.0 * low)

    def cavitation_speed(self, travel=0.0):
        """Rebound speed in m/s at which the selector has used up the gas's pressure and the bore side cavitates.

        In compression the side of low pressure stands above the gas, so it never does.
        """
        spare = self.gas_pressure(travel) - self.vapour
        return self.selector.flow(spare, self.liquid) / self.rod_area * self.linkage

    # --- valve setting --------------------------------------------------------------------------------------------

    def held(self, speed, setting):
        """Pressure drop over the controllable valve in Pa, of the sign of `speed`, at a `setting`; broadcast.

        Setting is the share of the way from the open to the lockout force at that speed, 0 open. The flow through
        the main stage is that of the speed whatever the valve does, so the share of force is one of this drop.
        """
        fully_open, shut = (self.drops(speed, lift).valve for lift in (self.valve.stroke, 0.0))
        return fully_open + np.asarray(setting) * (shut - fully_open)

    def setting(self, speed, lift):
        """Share of the way from the open to the lockout force that one `lift` (m) gives at `speed` (m/s, not 0)."""
        fully_open, shut, here = (self.drops(speed, each).valve for each in (self.valve.stroke, 0.0, lift))
        return (here - fully_open) / (shut - fully_open)

    def lift(self, speed, setting):
        """Lift of the valve in m that gives a `setting` at `speed` in m/s, not 0; broadcast.

        The drop over a slit without length goes with 1/lift^2 at the same flow.
        """
        drop = np.abs(self.held(speed, setting))
        flow = np.abs(self.flow(speed)) + 0.0 * drop
        beside = np.empty(drop.shape)
        for sign in (1.0, -1.0):
            passed, over = _held(self, sign, 0.0)
            mine = np.broadcast_to(sign * np.asarray(speed) > 0.0, drop.shape)
            beside[mine] = np.interp(drop[mine], over, passed)
        gap = float(self.valve.gap(self.valve.stroke))
        whole = orifice.slit(self.valve.width, gap).pressure_drop(np.maximum(flow - beside, 0.0), self.liquid)
        return np.minimum(self.valve.stroke * np.sqrt(whole / drop), self.valve.stroke)

    # --- curves for the stepper -----------------------------------------------------------------------------------

    def curve(self, lift):
        """The curve at one `lift` (m) as the stepper takes it: two slopes a side with a sharp knee between.

        For each knee on a grid of whole mm/s the slopes are those of least squares, every deviation measured by the
        larger of FIT_SHARE of the force and FIT_FORCE, over speeds spaced evenly in logarithm within FIT_SPEEDS; the
        knee is the one whose largest deviation is least. Slopes are rounded to whole N s/m. Faster than FIT_SPEEDS the
        curve is too soft: by a seventh in open compression at 7 m/s on the bike.
        """
        return DamperCurve(self._side(1.0, lift), self._side(-1.0, lift))

    def _side(self, sign, lift):
        v = np.geomspace(*FIT_SPEEDS, 100)
        force = sign * self.force(sign * v, lift)
        weight = 1.0 / np.maximum(FIT_SHARE * force, FIT_FORCE)
        fits = []
        for knee in np.unique(np.geomspace(20.0, 2000.0, 120).round()) / 1000.0:
            parts = np.column_stack([np.minimum(v, knee), np.maximum(v - knee, 0.0)])
            slopes = np.maximum(np.linalg.lstsq(parts * weight[:, None], force * weight, rcond=None)[0].round(), 0.0)
            fits.append((np.max(np.abs(parts @ slopes - force) * weight), float(knee), slopes))
        _, knee, (low, high) = min(fits, key=lambda fit: fit[:2])
        return Side(float(low), float(high), knee)

    @property
    def open_curve(self):
        """`DamperCurve` at the wheel with the controllable valve fully open."""
        return self.curve(self.valve.stroke)

    @property
    def lockout_curve(self):
        """`DamperCurve` at the wheel with the controllable valve shut."""
        return self.curve(0.0)

    # --- what yields ----------------------------------------------------------------------------------------------

    def column_stiffness(self, modulus, rebound=False):
        """Of the oil column alone, N/m at the wheel, with a bulk `modulus` in Pa; any shape."""
        area, length = (self.ring_area, self.ring_column) if rebound else (self.bore_area, self.bore_column)
        return np.asarray(modulus) * area / length / self.linkage**2

    def stiffness(self, over_gas, rebound=False, travel=0.0):
        """Of oil with bubbles, hoses and mounts in series, N/m at the wheel, `over_gas` Pa above the gas; any shape."""
        modulus = self.oil.stiffness(self.gas_pressure(travel) + np.asarray(over_gas, dtype=float))
        area = self.ring_area if rebound else self.bore_area
        rest = self.hose / area**2 + 1.0 / self.mounts
        return 1.0 / (1.0 / self.column_stiffness(modulus, rebound) + rest * self.linkage**2)

    @property
    def series_stiffness(self):
        """One number for the stepper, N/m at the wheel: force over yielding in compression up to the blow-off.

        Bubbles make the oil soft at the gas's pressure and firm above, so the mean is taken of what yields, from the
        gas's pressure to that at which the blow-off cracks.
        """
        over_gas = np.linspace(0.0, self.cracking_pressure, 200)
        return self.cracking_pressure / np.trapezoid(1.0 / self.stiffness(over_gas), over_gas)

    @property
    def cracking_pressure(self):
        """Drop over the controllable valve at which the blow-off lifts, Pa."""
        return self.blow_off.cover.preload / self.blow_off.ports.area


def _grid(way):
    """Drops over a cover in Pa, from 0 on, crowded where the cover lifts."""
    lifts = way.cover.preload / way.ports.area
    return np.unique(np.concatenate([[0.0, lifts], _OVER_COVER, lifts + _OVER_COVER]))


@lru_cache(maxsize=64)
def _main(damper, sign):
    """(flow in m3/s, drop in Pa) of the main stage in rebound (`sign` 1) or compression (-1), both rising."""
    way = damper.rebound if sign > 0 else damper.compression
    return way.flow(_grid(way), damper.liquid)


@lru_cache(maxsize=64)
def _held(damper, sign, lift):
    """(flow in m3/s, drop in Pa) of the controllable stage; both are explicit in the drop over the way beside it."""
    way, liquid = damper.rebound_path if sign > 0 else damper.blow_off, damper.liquid
    flow, drop = way.flow(_grid(way), liquid)
    leak = damper.leak.flow(drop, liquid) if damper.leak else 0.0
    return flow + leak + damper.valve.flow(lift, drop, liquid), drop
