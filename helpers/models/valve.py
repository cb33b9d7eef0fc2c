"""Forces on a valve that holds pressure: what a drive must overcome to move it.

Lift is 0 shut and grows as the valve opens. Forces on the moving part are positive towards opening. The pressure drop
over the valve is taken as constant; in a damper it rises while the valve is shut and falls once it opens. The flow's
force by its direction: `jets`.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from helpers.models import jets, orifice
from helpers.models.jets import INWARD, OUTWARD
from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.orifice import SHARP_EDGED, Opening, hole
from helpers.models.quantities import Checked, in_range, quantity

SPOOL_JET_ANGLE = math.radians(69.0)  # von Mises: jet past a square land without clearance, from the spool's axis
MINERAL = DAMPER_OIL.at(ZERO_CELSIUS + 40.0)


@dataclass(frozen=True, eq=False)
class Forces:
    """Forces on a valve in N, positive towards opening; `friction` is a size, against whichever way it moves."""

    pressure: np.ndarray
    flow: np.ndarray
    spring: np.ndarray
    transient: np.ndarray
    friction: float

    @property
    def balance(self):
        """Sum without friction: what pushes the valve open of its own."""
        return self.pressure + self.flow + self.spring + self.transient

    @property
    def to_open(self):
        """Force towards opening that a drive must give, N; negative where the valve opens of its own."""
        return self.friction - self.balance

    @property
    def to_close(self):
        """Force towards closing that a drive must give, N; negative where the valve shuts of its own."""
        return self.friction + self.balance

    @property
    def to_hold(self):
        """Size of the force that a drive must give to keep the valve where it is, friction helping, N."""
        return np.maximum(np.abs(self.balance) - self.friction, 0.0)


def _easier_in_motion(part):
    """Raise ValueError where running friction is above the friction to break loose."""
    if part.running > part.breakaway:
        raise ValueError(
            f"{type(part).__name__}: running is {part.running:g} N; allowed is at most breakaway, {part.breakaway:g} N."
        )


@dataclass(frozen=True)
class Valve(Checked):
    """What a poppet and a spool share."""

    name: str
    diameter: float = quantity("diameter of seat or bore", "m", 2e-4, 0.1, symbol=r"d")
    stroke: float = quantity("lift when fully open", "m", 1e-5, 0.05, symbol=r"s")
    unbalanced: float = quantity(
        "share of the seat's area on which pressure holds the valve shut; negative pushes it open",
        "", -1.5, 1.5, symbol=r"\phi", default=1.0,
    )  # fmt: skip
    mass: float = quantity("moving mass", "kg", 1e-6, 1.0, symbol=r"m", default=5e-3)
    spring_rate: float = quantity("rate of the closing spring", "N/m", 0.0, 1e6, symbol=r"k", default=2000.0)
    preload: float = quantity("closing spring's force when shut", "N", 0.0, 1000.0, symbol=r"F_0", default=5.0)
    breakaway: float = quantity("friction to break loose", "N", 0.0, 500.0, symbol=r"F_s", default=3.0)
    running: float = quantity("friction while moving", "N", 0.0, 500.0, symbol=r"F_k", default=2.0)
    damping_length: float = quantity(
        "length of oil that moves with the valve; positive steadies it", "m", -0.1, 0.1, symbol=r"L_d", default=5e-3
    )
    direction: str | None = None
    """Of the flow at a positive pressure drop: 'inward' over the seat, 'outward' from its bore, or not said: then the
    jet closes, and the drop is never negative."""

    def __post_init__(self):
        super().__post_init__()
        _easier_in_motion(self)
        if self.direction not in (None, INWARD, OUTWARD):
            raise ValueError(f"{self.name}: direction is {self.direction!r}; allowed are None, inward, outward.")

    @property
    def area(self):
        """Area of seat or bore, m2."""
        return 0.25 * math.pi * self.diameter**2

    def opening_area(self, lift):
        """Free area in m2 at `lift` in m; any shape."""
        return self.width * self.gap(lift)

    @property
    def area_gradient(self):
        """Free area for each metre of lift, m: Merritt's w, length of the slit times the gap for each lift."""
        return float(self.opening_area(1.0))

    def flow(self, lift, pressure_drop, liquid=MINERAL):
        """Flow in m3/s at `lift` (m) and `pressure_drop` (Pa); arrays are broadcast."""
        gap = self.gap(lift)
        return orifice.flow(self.width * gap, 2.0 * gap, pressure_drop, liquid)

    def forces(self, lift, pressure_drop, speed=0.0, liquid=MINERAL):
        """The `Forces` at `lift` (m), `pressure_drop` (Pa) and opening `speed` (m/s); arrays are broadcast.

        A negative drop, where `direction` is said, is flow the other way: the pressure then acts from the other side.
        Flow: see `jets`; where no direction is said 2 Cd Cv A dp cos(jet angle), closing (Merritt). Transient: L_d
        times the change of flow with lift times density and speed. Friction is the breakaway force at rest, the running
        force in motion.
        """
        lift, drop = np.asarray(lift, dtype=float), np.asarray(pressure_drop, dtype=float)
        least = 0.0 if self.direction is None else -1e8
        in_range(self.name, "pressure_drop", drop.min(), "Pa", least, 1e8)
        in_range(self.name, "lift", lift.min(), "m", 0.0, self.stroke)
        w = self.area_gradient
        moved = np.copysign(np.sqrt(2.0 * liquid.density * np.abs(drop)), drop) * speed
        return Forces(
            pressure=-self.unbalanced * self.area * drop + 0.0 * lift,
            flow=self._flow_force(w * lift, drop),
            spring=-(self.preload + self.spring_rate * lift) + 0.0 * drop,
            transient=-self.damping_length * SHARP_EDGED * w * moved + 0.0 * lift,
            friction=self.running if np.any(speed) else self.breakaway,
        )

    def _flow_force(self, opening, drop):
        return jets.along_spool(opening, drop, self.jet_angle)


@dataclass(frozen=True)
class Poppet(Valve):
    """A cone on a seat: tight, and pressure acts on the whole seat."""

    cone: float = quantity("half angle of the cone", "rad", 0.2, 1.57, symbol=r"\theta", default=math.pi / 4.0)

    @property
    def jet_angle(self):
        """Of the jet from the axis, rad: it follows the cone."""
        return self.cone

    @property
    def width(self):
        """Length of the slit, m."""
        return math.pi * self.diameter

    def gap(self, lift):
        """Height of the slit in m at `lift` in m."""
        return np.asarray(lift, dtype=float) * math.sin(self.cone)

    def _flow_force(self, opening, drop):
        if self.direction is None:
            return super()._flow_force(opening, drop)
        inward = (drop >= 0.0) == (self.direction == INWARD)
        pushed = jets.inward(opening, drop, self.cone), jets.outward(opening, drop, self.cone, self.area)
        return np.where(inward, *pushed)


@dataclass(frozen=True)
class Spool(Valve):
    """A piston with lands in a bore with ports: pressure acts on both ends, and the clearance leaks."""

    ports: float = quantity("share of the circumference that is port", "", 0.01, 1.0, symbol=r"\psi", default=0.7)
    jet_angle = SPOOL_JET_ANGLE

    @property
    def width(self):
        """Length of the slit, m: Merritt's area gradient w."""
        return self.ports * math.pi * self.diameter

    def gap(self, lift):
        """Height of the slit in m at `lift` in m."""
        return np.asarray(lift, dtype=float)


@dataclass(frozen=True)
class StickSlip(Checked):
    """A part that a drive drags by a spring at a steady speed: it sticks until the spring breaks it loose, then jumps.

    Coulomb friction; oil does not damp the jump here, so it is longer than a real one.
    """

    mass: float = quantity("moving mass", "kg", 1e-6, 1.0, symbol=r"m")
    breakaway: float = quantity("friction to break loose", "N", 0.0, 500.0, symbol=r"F_s")
    running: float = quantity("friction while moving", "N", 0.0, 500.0, symbol=r"F_k")
    stiffness: float = quantity("of what drags the part", "N/m", 1.0, 1e9, symbol=r"k")
    speed: float = quantity("of the drive", "m/s", 1e-9, 10.0, symbol=r"v")

    def __post_init__(self):
        super().__post_init__()
        _easier_in_motion(self)

    @property
    def _half(self):
        return (self.breakaway - self.running) / self.stiffness

    @property
    def _frequency(self):
        return math.sqrt(self.stiffness / self.mass)

    @property
    def stick_time(self):
        """Rest between two jumps, s."""
        return 2.0 * self._half / self.speed

    @property
    def slip_time(self):
        """Duration of a jump, s."""
        return 2.0 * (math.pi - math.atan(self._half * self._frequency / self.speed)) / self._frequency

    @property
    def jump(self):
        """Length of a jump, m: at creeping speed 2 (F_s - F_k)/k, the finest step that can be made."""
        return 2.0 * self._half + self.speed * self.slip_time

    def position(self, time):
        """Where the part is in m, `time` s after it first broke loose; any shape."""
        cycles, since = np.divmod(np.asarray(time, dtype=float), self.slip_time + self.stick_time)
        t = np.minimum(since, self.slip_time)
        turn = self._frequency * t
        swing = self._half * (1.0 - np.cos(turn)) - self.speed / self._frequency * np.sin(turn)
        return cycles * self.jump + self.speed * t + swing


@dataclass(frozen=True)
class PilotedValve(Checked):
    """A main valve moved by the pressure it holds, and the small pilot valve that a drive moves.

    Upstream pressure acts on the seat and, through the feed hole, on the larger chamber behind, and keeps the main
    valve shut. The pilot lets the chamber out faster than the feed fills it. The main valve's mass and the oil's
    compressibility are left out; both make the true times longer. With `follows` the pilot's seat is on the main
    valve, which copies the pilot's place: as many settings as the pilot's drive has, for a longer way.
    """

    main: Valve
    pilot: Valve
    feed: Opening
    area_ratio: float = quantity("area of the seat over that of the chamber", "", 0.1, 0.95, symbol=r"a", default=0.7)
    follows: bool = False

    @property
    def chamber_area(self):
        """Area behind the main valve, m2."""
        return self.main.area / self.area_ratio

    @property
    def pilot_travel(self):
        """How far a drive moves the pilot, m."""
        return self.main.stroke if self.follows else self.pilot.stroke

    def _chamber_pressure(self, lift, pressure, way):
        """Pressure behind the main valve in Pa that balances it while it opens (`way` 1) or closes (-1)."""
        forces = self.main.forces(lift, pressure)
        closing = way * self.main.running - forces.flow - forces.spring
        return np.maximum(self.area_ratio * pressure - closing / self.chamber_area, 0.0)

    def opening_time(self, pressure, liquid=MINERAL):
        """Time in s of the main valve's stroke, pilot fully open, at `pressure` in Pa; inf where it stops short."""
        return float(self.opening_course(pressure, liquid)[-1])

    def closing_time(self, pressure, liquid=MINERAL):
        """Time in s of the main valve's stroke back, pilot shut, at `pressure` in Pa; inf where it stops short."""
        return float(self._course(pressure, -1, liquid)[-1])

    def opening_course(self, pressure, liquid=MINERAL):
        """Times in s at 129 lifts of the main valve from shut to open, evenly apart; see `opening_time`."""
        return self._course(pressure, 1, liquid)

    def pace(self, lift, pressure, liquid=MINERAL, way=1):
        """Speed in m/s at which the main valve opens (`way` 1) or shuts (-1); not above 0: it stops. Broadcast."""
        behind = self._chamber_pressure(lift, pressure, way)
        out = self.pilot.flow(self.pilot.stroke if way > 0 else 0.0, behind, liquid)
        return way * (out - self.feed.flow(pressure - behind, liquid)) / self.chamber_area

    def _course(self, pressure, way, liquid):
        in_range(self.main.name, "pressure_drop", pressure, "Pa", 0.0, 1e8)  # reversed, it has nothing to move it
        lift = np.linspace(0.0, self.main.stroke, 129)
        speed = self.pace(lift, pressure, liquid, way)
        if np.any(speed <= 0.0):
            return np.full(len(lift), math.inf)
        return np.concatenate([[0.0], np.cumsum(0.5 * (1.0 / speed[1:] + 1.0 / speed[:-1]) * np.diff(lift))])


POPPET = Poppet("poppet", diameter=8e-3, stroke=1e-3)
BALANCED = Spool("balanced spool", diameter=8e-3, stroke=1e-3, unbalanced=0.02, breakaway=4.0, running=2.5)
PILOT = Poppet(
    "pilot", diameter=1.5e-3, stroke=0.2e-3, mass=0.3e-3, preload=0.5, breakaway=0.3, running=0.2, damping_length=0.0
)
PILOTED = PilotedValve(POPPET, PILOT, feed=hole(0.5e-3, 1e-3))
FOLLOWING = replace(PILOTED, follows=True)

# The same with the direction of their flow: high pressure round the cone and on its back; under a piloted main valve.
INWARD_POPPET, INWARD_PILOT = replace(POPPET, direction=INWARD), replace(PILOT, direction=INWARD)
DIRECTED = replace(PILOTED, main=replace(POPPET, direction=OUTWARD), pilot=INWARD_PILOT)
