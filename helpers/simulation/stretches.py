"""Ground as a page names it: stretches that know how they are ridden, and that can be changed in one word."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache

from helpers.models import ground as grounds
from helpers.models.quantities import in_range
from helpers.models.terrain_file import read_terrain
from helpers.models.vehicles import SECTIONS


@dataclass(frozen=True, eq=False, repr=False)
class Stretch:
    """A stretch of ground and how it is ridden.

    section: whose speed of the machine counts, climb, traverse or descent. speed: m/s, in place of that. pace: times
    that speed. pedalling: whether a pedal bike's rider pedals. `changed(pace=1.2)`, or `changed(seed=3)` of what it was
    made from.
    """

    name: str
    ground: grounds.Ground
    section: str = "traverse"
    pedalling: bool = False
    speed: float | None = None
    pace: float = 1.0
    made: Callable | None = field(default=None, repr=False)  # makes it anew from `about`
    about: dict = field(default_factory=dict)

    def __post_init__(self):
        object.__setattr__(self, "pace", in_range(self.name, "pace", self.pace, "", 0.1, 4.0))
        if self.speed is not None:
            object.__setattr__(self, "speed", in_range(self.name, "speed", self.speed, "m/s", 0.05, 100.0))

    def __repr__(self):
        pace = "" if self.pace == 1.0 else f" at {self.pace:g} times the speed"
        return f"{self.name}{pace}, {self.ground.length:.0f} m"

    def speed_of(self, vehicle):
        """Speed in m/s at which a machine rides it."""
        return self.pace * (vehicle.speed(self.section) if self.speed is None else self.speed)

    def changed(self, **values):
        """The same stretch with other values: pace, speed, pedalling, and what it was made from."""
        ridden = {name: values.pop(name) for name in ("pace", "speed", "pedalling") if name in values}
        unknown = [name for name in values if name not in self.about]
        if unknown:
            allowed = ", ".join(["pace", "speed", "pedalling", *self.about])
            raise ValueError(f"{self.name}: there is no {unknown[0]!r} to change; allowed are {allowed}.")
        kept = {"pace": self.pace, "speed": self.speed, "pedalling": self.pedalling}
        base = self.made(**self.about | values) if values else self
        return replace(base, **kept | ridden)


@lru_cache(32)
def _section(name, seed, waviness, rougher):
    """A section of the loop, kept: rides over it by other machines and laws then share the path of the axle too."""
    return grounds.fell_loop(seed=seed, waviness=waviness, rougher=rougher).section(name)


@dataclass(frozen=True, eq=False)
class Loop:
    """The Fell loop as three stretches: `climb`, `traverse`, `descent`."""

    about: dict

    def _stretch(self, name):
        def made(**about):
            section = _section(name, **about)
            return Stretch(name, section.profile, name, section.pedalling, made=made, about=about)

        return made(**self.about)

    climb = property(lambda self: self._stretch("climb"))
    traverse = property(lambda self: self._stretch("traverse"))
    descent = property(lambda self: self._stretch("descent"))

    def changed(self, **values):
        """The same loop from another `seed`, road class or waviness."""
        unknown = [name for name in values if name not in self.about]
        if unknown:
            raise ValueError(f"Fell loop: there is no {unknown[0]!r} to change; allowed are {', '.join(self.about)}.")
        return Loop(self.about | values)

    def __iter__(self):
        return (self._stretch(name) for name in SECTIONS)


def fell_loop(seed=8, waviness=2.0, rougher=1.0):
    """The Fell loop: `.climb`, `.traverse` and `.descent`; another `seed` is another loop of the same kind.

    waviness: exponent of the random road's spectrum, 2 in ISO 8608. rougher: times the spectrum of its random road; 4
    is one road class up.
    """
    return Loop({"seed": seed, "waviness": waviness, "rougher": rougher})


def step_ground(height, speed=3.0):
    """Level ground with one step up (down if negative) of `height` in m after 2 m, ridden at `speed` in m/s."""

    def made(height):
        height = in_range("step_ground", "height", height, "m", -0.3, 0.3)
        return Stretch(f"step of {1000 * height:.0f} mm", grounds.Ground(6.0, (grounds.Step(height, 2.0),)),
                       speed=speed, made=made, about={"height": height})  # fmt: skip

    return made(height)


def rough_road(road_class="C", length=200.0, seed=1, waviness=2.0):
    """A random road of a class 'A' to 'H' of ISO 8608, `length` in m, ridden at the machine's speed on the traverse."""

    def made(**about):
        return Stretch(f"class {about['road_class']} road", grounds.rough_road(**about), made=made, about=about)

    return made(road_class=road_class, length=length, seed=seed, waviness=waviness)


def own_ground(source):
    """A learner's own ground from a CSV file with distance and height; one sentence where it cannot be read."""
    measured = read_terrain(source)
    return Stretch(measured.name, grounds.Ground.of(measured.profile))
