"""Ground: profiles of height against distance, ISO 8608 road classes, simple shapes and the Fell loop.

Heights are relative to the mean gradient of the ground, which is kept as a number beside the profile.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import in_range

SPACING = 0.02  # m; well under a tyre's contact length, so that steps and roots keep their shape
REFERENCE_FREQUENCY = 0.1  # n0, cycle/m, ISO 8608

# Geometric mean of the displacement spectrum Gd(n0) of each class in m3, ISO 8608 (as reprinted): a factor of four
# from class to class. The upper limit of a class is twice its mean and the lower limit of the next.
CLASSES = {letter: 16e-6 * 4.0**k for k, letter in enumerate("ABCDEFGH")}


@dataclass(frozen=True, eq=False)
class Profile:
    """Height against distance, both arrays of shape (n,) in m, n >= 2, the distances equally spaced."""

    distance: np.ndarray
    height: np.ndarray

    def __post_init__(self):
        for name in ("distance", "height"):
            object.__setattr__(self, name, np.array(getattr(self, name), dtype=float))
        if self.distance.ndim != 1 or self.distance.shape != self.height.shape or len(self.distance) < 2:
            raise ValueError(
                f"Profile: distance has shape {self.distance.shape} and height {self.height.shape}; "
                "both must be one row of the same two or more points."
            )
        if not (np.isfinite(self.distance).all() and np.isfinite(self.height).all()):
            raise ValueError("Profile: a distance or a height is not a finite number of metres.")
        steps = np.diff(self.distance)
        if not steps.min() > 0 or np.ptp(steps) > 1e-6 * steps.max() + 1e-9:
            raise ValueError(
                f"Profile: intervals of distance run from {steps.min():g} to {steps.max():g} m; "
                "they must be equal and positive."
            )

    @classmethod
    def of(cls, height, spacing=SPACING):
        """A profile that starts at distance 0, from heights in m and their spacing in m."""
        return cls(spacing * np.arange(len(height)), height)

    @property
    def spacing(self):
        """Distance between neighbouring points, m."""
        return (self.distance[-1] - self.distance[0]) / (len(self.distance) - 1)

    @property
    def length(self):
        """Distance from the first point to the last, m."""
        return self.distance[-1] - self.distance[0]

    def at(self, distance):
        """Height in m at any distance in m: linear between points, held at the ends."""
        return np.interp(distance, self.distance, self.height)

    def sampled(self):
        """Itself, as `ground.Ground.sampled` is a profile to draw."""
        return self

    def plus(self, other, at=0.0):
        """This profile with the heights of `other` added, whose distance 0 is laid at distance `at` of this one.

        Before its first point and after its last, `other` adds the height it has there (so a step stays up).
        """
        return Profile(self.distance, self.height + other.at(self.distance - at))

    def joined(self, other):
        """This profile carried on by `other` of the same spacing, from the distance and height where this one ends."""
        if not math.isclose(self.spacing, other.spacing, rel_tol=1e-6):
            raise ValueError(
                f"Profile: a spacing of {other.spacing:g} m cannot be joined to one of {self.spacing:g} m; "
                "the two must be equal."
            )
        height = np.concatenate([self.height, self.height[-1] + other.height[1:] - other.height[0]])
        return Profile(self.distance[0] + self.spacing * np.arange(len(height)), height)

    def level(self):
        """This profile less the straight line from its first point to its last: it starts and ends at height 0."""
        along = np.linspace(0.0, 1.0, len(self.height))
        return Profile(self.distance, self.height - (1 - along) * self.height[0] - along * self.height[-1])

    def under_wheel(self, radius):
        """Path of the axle of a rigid wheel of `radius` in m that rolls over this profile, less the radius.

        The lowest position at which the rim lies nowhere below the ground: max over |s| <= r of
        z(x + s) + sqrt(r2 - s2) - r, taken at the points of the profile, which is held beyond its ends.
        """
        radius = in_range("Profile", "radius", radius, "m", 0.0, 10.0)
        reach = int(radius / self.spacing + 1e-9)
        count = len(self.height)
        ground = np.pad(self.height, reach, mode="edge")
        axle = self.height.copy()
        for shift in range(-reach, reach + 1):
            drop = math.sqrt(max(radius**2 - (shift * self.spacing) ** 2, 0.0)) - radius
            np.maximum(axle, ground[reach + shift : reach + shift + count] + drop, out=axle)
        return Profile(self.distance, axle)


# --- random roads -----------------------------------------------------------------------------------------------


def roughness(road_class):
    """Gd(n0) in m3 of a class letter 'A' to 'H' (its geometric mean); a number is taken as Gd(n0) itself."""
    if isinstance(road_class, str):
        if road_class not in CLASSES:
            raise ValueError(f"terrain: road class is {road_class!r}; allowed are the letters A to H of ISO 8608.")
        return CLASSES[road_class]
    return in_range("terrain", "Gd(n0)", road_class, "m3", 0.0, 1.0)


def limits(road_class):
    """Lower and upper limit of Gd(n0) of a class in m3; class A starts at 0 and H has no upper limit."""
    mean = roughness(road_class)
    return (0.0 if road_class == "A" else mean / 2), (math.inf if road_class == "H" else 2 * mean)


def iso_8608(road_class, length, spacing=SPACING, *, seed, band=(0.011, 2.83)):
    """A random profile of zero mean whose spectrum is Gd(n) = Gd(n0) (n/n0)^-2 within `band` in cycle/m.

    A sum of harmonics of the length with fixed amplitudes and random phases, so it repeats: the last point equals
    the first. `road_class` as in `roughness`; length and spacing in m; `seed` a number or a numpy Generator. The
    default band is that of ISO 8608.
    """
    length = in_range("terrain", "length", length, "m", 4 * spacing, 1e6)
    count = round(length / spacing)
    frequency = np.fft.rfftfreq(count, spacing)
    inside = (frequency >= band[0]) & (frequency <= band[1]) & (frequency > 0)
    amplitude = np.zeros(len(frequency))
    density = roughness(road_class) * (frequency[inside] / REFERENCE_FREQUENCY) ** -2
    amplitude[inside] = np.sqrt(2 * density / (count * spacing))
    phase = np.random.default_rng(seed).uniform(0, 2 * np.pi, len(frequency))
    height = np.fft.irfft(amplitude * np.exp(1j * phase) * count / 2, count)
    return Profile.of(np.append(height, height[0]), spacing)


def white_velocity_intensity(gd, speed):
    """Intensity W in m2/s of the road's vertical velocity w at `speed` in m/s: E[w(t) w(t + s)] = W delta(s).

    The two-sided spectrum of the velocity in Hz, half of (2 pi f)^2 Gd(f/v)/v, which waviness 2 makes constant.
    """
    return 2 * np.pi**2 * REFERENCE_FREQUENCY**2 * gd * speed


@dataclass(frozen=True, eq=False)
class Spectrum:
    """One-sided displacement spectrum: frequency in cycle/m and density in m3, both of shape (m,)."""

    frequency: np.ndarray
    density: np.ndarray


def spectrum(profile, segment=50.0):
    """Welch estimate of a profile's spectrum: Hann windows `segment` m long, half overlapped, each less its mean."""
    count = min(round(segment / profile.spacing), len(profile.height))
    pieces = np.lib.stride_tricks.sliding_window_view(profile.height, count)[:: max(count // 2, 1)]
    window = np.sin(np.pi * np.arange(count) / count) ** 2
    lines = np.fft.rfft((pieces - pieces.mean(axis=1, keepdims=True)) * window, axis=1)
    density = 2 * profile.spacing * np.mean(np.abs(lines) ** 2, axis=0) / np.sum(window**2)
    density[0] /= 2  # the mean has no negative-frequency twin, nor has the highest line of an even count
    if count % 2 == 0:
        density[-1] /= 2
    return Spectrum(np.fft.rfftfreq(count, profile.spacing), density)


# --- shapes -----------------------------------------------------------------------------------------------------


def flat(length, spacing=SPACING):
    """Level ground; m."""
    return Profile.of(np.zeros(round(length / spacing) + 1), spacing)


def step(height, at, length, spacing=SPACING):
    """Level ground that rises by `height` (falls if negative) at distance `at`, within one spacing; m."""
    ground = flat(length, spacing)
    return Profile(ground.distance, np.where(ground.distance > at - spacing / 2, height, 0.0))


def ramp(height, start, stop, length, spacing=SPACING):
    """Level ground that rises evenly by `height` from `start` to `stop`; m."""
    ground = flat(length, spacing)
    return Profile(ground.distance, height * np.clip((ground.distance - start) / (stop - start), 0.0, 1.0))


def half_round(height, at, length, spacing=SPACING, *, width=None):
    """A bump whose section is a circle's segment, highest at `at`: a root or a rock; m.

    `width` along the ground is twice the height unless given: half a cylinder.
    """
    ground = flat(length, spacing)
    half = height if width is None else width / 2
    radius = (height**2 + half**2) / (2 * height)
    aside = np.minimum(np.abs(ground.distance - at), half)
    return Profile(ground.distance, np.maximum(np.sqrt(radius**2 - aside**2) - (radius - height), 0.0))


def washboard(height, wavelength, length, spacing=SPACING):
    """Waves of `height` from trough to crest about height 0; m."""
    ground = flat(length, spacing)
    return Profile(ground.distance, height / 2 * np.sin(2 * np.pi * ground.distance / wavelength))


# --- the Fell loop ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Section:
    """A stretch of a loop: its profile about the mean gradient (rise over run), and whether the rider pedals."""

    name: str
    profile: Profile
    gradient: float
    pedalling: bool


@dataclass(frozen=True, eq=False)
class FellLoop:
    """The sections of the loop in the order ridden."""

    sections: tuple

    def section(self, name):
        """The section called 'climb', 'traverse' or 'descent'."""
        for section in self.sections:
            if section.name == name:
                return section
        raise ValueError(f"Fell loop: section is {name!r}; there are {', '.join(s.name for s in self.sections)}.")

    def elevation(self):
        """The whole loop in one profile, gradients included."""
        whole = None
        for section in self.sections:
            profile = section.profile.sampled()
            rising = profile.plus(ramp(section.gradient * profile.length, 0.0, profile.length, profile.length,
                                       profile.spacing))  # fmt: skip
            whole = rising if whole is None else whole.joined(rising)
        return whole


def _faded(ground, over=2.0):
    """The ground with its height brought smoothly to 0 over the first and last `over` m, so that sections join."""
    edge = np.minimum(ground.distance, ground.length - ground.distance)
    return Profile(ground.distance, ground.height * np.sin(np.pi / 2 * np.clip(edge / over, 0.0, 1.0)) ** 2)


def _strewn(ground, draw, count, heights, width):
    """The ground with `count` half-rounds spread over it, height in m and width over height drawn from two ranges."""
    apart = (ground.length - 8.0) / count
    for k in range(count):
        height = draw.uniform(*heights)
        bump = half_round(height, 1.0, 2.0, ground.spacing, width=height * draw.uniform(*width))
        ground = ground.plus(bump, at=3.0 + apart * (k + draw.uniform(0.1, 0.9)))
    return ground


def fell_loop(seed=8, spacing=SPACING):
    """The Fell loop of Skarrow Fell Rescue (invented for the course): climb, traverse, rough descent with steps.

    Sized so that the trail bike with its plain damper uses most of its travel on the descent and has its wheel off
    the ground there for some hundredths of the time.
    """
    draw = np.random.default_rng(seed)
    fine = {"spacing": spacing, "band": (0.05, 2.83)}  # longer waves belong to the gradient

    climb = _faded(iso_8608("C", 120.0, seed=draw, **fine))
    climb = _strewn(climb, draw, 12, (0.03, 0.04), (2.0, 3.0))

    traverse = _faded(iso_8608("D", 200.0, seed=draw, **fine))
    for at, height, wavelength in ((25.0, 0.025, 0.7), (80.0, 0.03, 0.9), (140.0, 0.03, 1.1)):
        traverse = traverse.plus(washboard(height, wavelength, 30 * wavelength, spacing), at=at)
    traverse = _strewn(traverse, draw, 6, (0.03, 0.05), (2.0, 4.0))

    descent = _faded(iso_8608(8e-4, 240.0, seed=draw, **fine))  # within class D
    descent = _strewn(descent, draw, 7, (0.05, 0.09), (5.0, 8.0))
    # Each edge stands on a point of the profile, so that it stays sharp.
    for k, height in enumerate((-0.05, -0.08, 0.05, -0.12, 0.08, -0.12, -0.08, 0.08, -0.05, -0.12)):
        at = spacing * round((12.0 + 22.0 * k + draw.uniform(0.0, 8.0)) / spacing)
        descent = descent.plus(step(height, 1.0, 2.0, spacing), at=at)

    def settled(profile):
        # To a micrometre: the last bits of a sine differ between processors, and a switching law would magnify them.
        return Profile(profile.distance, np.round(profile.level().height, 6))

    return FellLoop((
        Section("climb", settled(climb), 0.10, True),
        Section("traverse", settled(traverse), 0.0, True),
        Section("descent", settled(descent), -0.05, False),
    ))  # fmt: skip
