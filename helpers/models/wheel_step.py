"""A rigid wheel over a step, a ramp or a half-round in closed form, and where it touches any profile.

A wheel that climbs an upright edge turns about it: its axle moves on a circle of the wheel's radius. Rounding the edge
moves the circle's centre inward by as much as it widens the circle, so a wheel of radius R over a rounding rho moves
as one of radius R + rho over a sharp edge. A ramp only limits how steep this path is where it starts. The path of the
axle over any profile is `Profile.under_wheel`.

Distance x is that of the axle along the ground from first contact, x = v t: the speed along the ground is held.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import Checked, in_range, quantity


@dataclass(frozen=True)
class Climb(Checked):
    """A rigid wheel climbing an obstacle of one `height`; `step`, `ramp` and `half_round` make the usual ones.

    Raises ValueError for a height at which the first contact is not below the axle: no push there starts the climb.
    Methods take distances x in m of any shape, and hold the height reached beyond the top. Over a half-round, the way
    down mirrors the way up.
    """

    radius: float = quantity("wheel radius", "m", 0.05, 2.0, symbol="R")
    height: float = quantity("height of the obstacle", "m", 1e-4, 2.0, symbol="h")
    rounding: float = quantity("radius of the edge's rounding", "m", 0.0, 10.0, symbol=r"\rho", default=0.0)
    face_slope: float = quantity(
        "rise over run of the face; inf where it is upright", "", 1e-4, math.inf, symbol=r"\tan\alpha", default=math.inf
    )

    def __post_init__(self):
        super().__post_init__()
        if self.height >= self._turning:
            what = "radius + rounding" if self.rounding else "radius"
            raise ValueError(
                f"Climb: height is {self.height:g} m; allowed is 0.0001 m to less than the wheel's {what}, "
                f"{self._turning:g} m."
            )

    @property
    def _turning(self):
        """Radius of the circle on which the axle moves, m."""
        return self.radius + self.rounding

    @property
    def first_slope(self):
        """Slope of the axle's path at first contact, at which the axle's vertical speed jumps from 0 to slope v."""
        upright = math.sqrt((2.0 * self._turning - self.height) * self.height) / (self._turning - self.height)
        return min(upright, self.face_slope)

    @property
    def _turn(self):
        """Distance over which the axle turns about the edge, m: sqrt(2 R h - h^2), or less after a ramp."""
        return self._turning * math.sin(math.atan(self.first_slope))

    @property
    def length(self):
        """Distance of the axle from first contact to full rise, m."""
        return float(self._turn + self._risen(self._turn) / self.first_slope)

    def _risen(self, left):
        """Rise in m on the circle, `left` m before the top."""
        # The form without cancellation: sqrt(R^2 - u^2) - R = -u^2 / (R + sqrt(R^2 - u^2)).
        return self.height - left**2 / (self._turning + np.sqrt(self._turning**2 - left**2))

    def _left(self, distance):
        """Distance to the top, m: all of it, and the part on the circle."""
        left = np.clip(self.length - np.asarray(distance, dtype=float), 0.0, self.length)
        return left, np.minimum(left, self._turn)

    def rise(self, distance):
        """Rise of the axle in m."""
        left, turning = self._left(distance)
        return np.maximum(self._risen(turning) - (left - turning) * self.first_slope, 0.0)

    def share(self, distance):
        """Rise of the axle over the obstacle's height, 0 to 1."""
        return self.rise(distance) / self.height

    def slope(self, distance):
        """Rise over run of the axle's path: vertical speed over v, and (see `push`) push over weight."""
        turning = self._left(distance)[1]
        path = np.minimum(turning / np.sqrt(self._turning**2 - turning**2), self.first_slope)
        return np.where(np.asarray(distance) < 0.0, 0.0, path)

    def contact_angle(self, distance):
        """Angle in rad from the foot of the wheel forward to the point that touches."""
        return np.arctan(self.slope(distance))

    def push(self, weight, distance=0.0):
        """Horizontal force in N at the axle that balances `weight` in N on it, at rest, without friction in the hub.

        Moments about the point that touches: P (R - h + z) = W (d - x), so P / W is the slope of the path.
        """
        return weight * self.slope(distance)

    def vertical_acceleration(self, speed, distance):
        """Vertical acceleration in m/s2 of the axle at `speed` in m/s along the ground: v^2 d2z/dx2.

        On the circle it points down from the first moment on. At first contact the vertical speed jumps, which asks a
        rigid wheel for an infinite acceleration: there the tyre decides, which this model does not have.
        """
        left, turning = self._left(distance)
        on_circle = (left == turning) & (left > 0.0) & (np.asarray(distance) >= 0.0)
        bending = -(self._turning**2) / (self._turning**2 - turning**2) ** 1.5
        return np.asarray(speed) ** 2 * np.where(on_circle, bending, 0.0)

    def distance_to(self, share):
        """Distance in m from first contact at which the axle has risen by `share` of the height, 0 to 1."""
        share = np.asarray(share, dtype=float)
        if not np.all((share >= 0.0) & (share <= 1.0)):
            raise ValueError(f"Climb: share is {share}; allowed is 0 to 1.")
        missing = (1.0 - share) * self.height
        turning = np.minimum(np.sqrt((2.0 * self._turning - missing) * missing), self._turn)
        return self.length - turning - (self._risen(turning) - share * self.height) / self.first_slope

    def before_response(self, speed, response_time):
        """What the wheel has done before a valve moves: a `BeforeResponse`.

        speed: m/s; response_time: s, from first contact until the valve has moved. Arrays broadcast: a map.
        """
        for name, value, unit in (("speed", speed, "m/s"), ("response_time", response_time, "s")):
            if not np.all(np.isfinite(value) & (np.asarray(value) >= 0.0)):
                raise ValueError(f"Climb: {name} is {value} {unit}; allowed is 0 {unit} and more, finite.")
        distance = np.asarray(speed) * np.asarray(response_time)
        return BeforeResponse(distance, self.rise(distance), self.share(distance), speed * self.slope(distance))


@dataclass(frozen=True, eq=False)
class BeforeResponse:
    """How far the axle has gone and risen in m, the share of the obstacle climbed, its vertical speed then in m/s."""

    distance: np.ndarray
    rise: np.ndarray
    share: np.ndarray
    vertical_speed: np.ndarray


def step(radius, height):
    """A wheel of `radius` at an upright step; m."""
    return Climb(radius, height)


def ramp(radius, height, run):
    """A wheel of `radius` at a ramp that rises by `height` over `run`, its top edge sharp; m."""
    height, run = in_range("ramp", "height", height, "m", 1e-4, 2.0), in_range("ramp", "run", run, "m", 1e-4, 200.0)
    return Climb(radius, height, face_slope=height / run)


def half_round(radius, height, width=None):
    """A wheel of `radius` at a bump whose section is a circle's segment, as `terrain.half_round`; m."""
    height = in_range("half_round", "height", height, "m", 1e-4, 2.0)
    half = height if width is None else in_range("half_round", "width", width, "m", 1e-4, 20.0) / 2.0
    return Climb(radius, height, rounding=(height**2 + half**2) / (2.0 * height))


def derivation():
    """The step in named `Step`s: circle, first contact, rise, slope, vertical acceleration, push at the axle."""
    import sympy as sp

    from helpers.models.quarter_car import Step

    R, h, x, z, d, v, P, W = sp.symbols("R h x z d v P W", positive=True)
    circle = sp.Eq((d - x) ** 2 + (R - h + z) ** 2, R**2)
    first = sp.sqrt(sp.expand(R**2 - (R - h) ** 2))
    rise = h - R + sp.sqrt(R**2 - (d - x) ** 2)
    slope, bend = sp.simplify(rise.diff(x)), sp.simplify(rise.diff(x, 2))
    moments = sp.Eq(P * (R - h + z), W * (d - x))
    start = sp.solve(moments.subs({x: 0, z: 0, d: first}), P)[0]
    return (
        Step("Circle", "The axle stays one radius from the edge, which is $d$ ahead at first contact.", circle),
        Step("First contact", "Not yet risen, $z = 0$ at $x = 0$.", sp.Eq(d, first)),
        Step("Rise", "The circle, solved for the height of the axle.", sp.Eq(z, rise)),
        Step("Slope", "Steepest at first contact; times $v$ it is the axle's vertical speed.", slope),
        Step("Vertical acceleration", "Down throughout: what throws the axle up is the jump before.", v**2 * bend),
        Step("Moments about the edge", "At rest, the push at the axle against the weight on it.", moments),
        Step("Push to start", "At first contact; it grows without limit as $h \\to R$.", sp.Eq(P, start)),
    )


@dataclass(frozen=True, eq=False)
class Contact:
    """Where the rim touches: the point's distance and height, the axle's height less the radius, all in m, and the
    slope of the axle's path there; arrays of one shape.
    """

    distance: np.ndarray
    height: np.ndarray
    axle: np.ndarray
    slope: np.ndarray


def contact(profile, radius, at):
    """The `Contact` of a rigid wheel of `radius` in m with a profile, the axle at the points nearest to `at` in m.

    `at` is a number or a row of numbers within the profile, which is held beyond its ends. Meant for some places; the
    whole path of the axle is `profile.under_wheel(radius)`.
    """
    radius = in_range("contact", "radius", radius, "m", 0.0, 10.0)
    last = len(profile.height) - 1
    place = np.clip(np.rint((np.asarray(at) - profile.distance[0]) / profile.spacing).astype(int), 0, last)
    reach = int(radius / profile.spacing + 1e-9)
    beside = profile.spacing * np.arange(-reach, reach + 1)
    rim = np.sqrt(np.maximum(radius**2 - beside**2, 0.0))
    ground = profile.height[np.clip(place[..., None] + np.arange(-reach, reach + 1), 0, last)]
    touching = np.argmax(ground + rim, axis=-1)
    height = np.take_along_axis(ground, touching[..., None], axis=-1)[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):  # what touches at the height of the axle is a wall
        slope = beside[touching] / rim[touching]
    return Contact(profile.distance[place] + beside[touching], height, height + rim[touching] - radius, slope)
