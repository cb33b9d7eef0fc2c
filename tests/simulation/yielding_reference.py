"""A quarter vehicle that yields, sticks and strikes, as one set of equations for `scipy.integrate.solve_ivp`.

Written from the definitions, at a fixed valve setting or one that changes with time. The damper's force is a state,
dF/dt = K (v - w(F)), with w read off its curve's points; friction is a spring in series with a block, dF/dt = k v while
it sticks or is drawn back and nothing while it slides; a tyre in the air stays as it was when it left the ground. Heat
and work are states too. Where friction begins and ends to slide its rate jumps, which an implicit method's Newton steps
take badly: the explicit one, at a tight tolerance, takes as many steps as the stiffness asks for.
"""

import bisect
import math
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

STANDARD_GRAVITY = 9.80665  # m/s2, ISO 80000-3
FAR = 1e3  # m/s, beyond all speeds


@dataclass(frozen=True, eq=False)
class StiffRide:
    """Solution at `time`, shape (n,); heats and work over the whole time, J."""

    time: np.ndarray
    travel: np.ndarray
    body_acceleration: np.ndarray
    wheel_acceleration: np.ndarray
    damper_force: np.ndarray
    contact_load: np.ndarray
    damper_heat: float
    friction_heat: float
    tyre_heat: float
    ground_work: float


@dataclass(frozen=True)
class EdgePath:
    """Axle of a rigid wheel of `radius` m that rolls at `speed` m/s and meets an edge of `height` m at `contact` s."""

    radius: float
    height: float
    speed: float
    contact: float

    @property
    def over(self):
        """Time in s at which the axle stands over the edge."""
        return self.contact + math.sqrt(2.0 * self.radius * self.height - self.height**2) / self.speed

    @property
    def kinks(self):
        return self.contact, self.over

    def __call__(self, time):
        left = self.speed * np.clip(self.over - time, 0.0, self.over - self.contact)
        return np.sqrt(self.radius**2 - left**2) - (self.radius - self.height)

    def height_at(self, time):
        """The same for one time."""
        left = self.speed * min(max(self.over - time, 0.0), self.over - self.contact)
        return math.sqrt(self.radius**2 - left**2) - (self.radius - self.height)

    def slope(self, time):
        """Rise in m/s, for one time strictly between kinks."""
        if not self.contact < time < self.over:
            return 0.0
        left = self.speed * (self.over - time)
        return self.speed * left / math.sqrt(self.radius**2 - left**2)


@dataclass(frozen=True, eq=False)
class PolylinePath:
    """Height in m over time in s, straight between its kinks."""

    kinks: np.ndarray
    heights: np.ndarray

    @classmethod
    def of(cls, profile, speed, duration):
        """A profile as it is ridden at `speed` m/s, from its first point on."""
        count = int(np.searchsorted(profile.distance, profile.distance[0] + speed * duration)) + 1
        return cls((profile.distance[:count] - profile.distance[0]) / speed, profile.height[:count] - profile.height[0])

    def __call__(self, time):
        return np.interp(time, self.kinks, self.heights)

    def _at(self, time):
        return min(max(bisect.bisect_right(self.kinks, time) - 1, 0), len(self.kinks) - 2)

    def height_at(self, time):
        """The same for one time."""
        k = self._at(time)
        return self.heights[k] + self.slope(time) * (time - self.kinks[k])

    def slope(self, time):
        """Rise in m/s, for one time strictly between kinks."""
        k = self._at(time)
        return float((self.heights[k + 1] - self.heights[k]) / (self.kinks[k + 1] - self.kinks[k]))


def felt(run, threshold):
    """Time in s at which a run's wheel acceleration first passes `threshold` in m/s2, between two points of its log.

    NaN where it never does.
    """
    size = np.abs(run.wheel_acceleration)
    k = int(np.argmax(size > threshold))
    if k == 0:
        return math.nan
    return run.time[k - 1] + (threshold - size[k - 1]) / (size[k] - size[k - 1]) * (run.time[k] - run.time[k - 1])


def joined(points, values):
    """The function of one number that is straight between `points`."""
    points, values = points.tolist(), values.tolist()

    def value(at):
        k = min(max(bisect.bisect_right(points, at) - 1, 0), len(points) - 2)
        return values[k] + (at - points[k]) / (points[k + 1] - points[k]) * (values[k + 1] - values[k])

    return value


def curve_points(vehicle):
    """Speeds in m/s at which the damper's curves bend, and the forces there of the open and of the lockout one, N."""
    speeds = {-FAR, 0.0, FAR}
    for curve in (vehicle.open_curve, vehicle.lockout_curve):
        speeds |= {curve.rebound.knee, -curve.compression.knee}
    speeds = np.array(sorted(speeds))
    return speeds, vehicle.open_curve.force(speeds), vehicle.lockout_curve.force(speeds)


def block(force, stiffness, speed, most):
    """Rate in N/s of the force of a spring whose block slides at `most` N."""
    return 0.0 if abs(force) >= most and force * speed > 0.0 else stiffness * speed


def integrate(vehicle, setting, road, duration, points, *, rtol=1e-8, longest=1e-3):
    """The `StiffRide` of a vehicle with all elements over `road`, smooth between its `kinks`, logged `points` times.

    setting: of the valve, or a function of the time in s.
    """
    q = vehicle
    speeds, opened, locked = curve_points(q)
    rigid = math.isinf(q.damper_stiffness)

    def curve(share):
        forces = (1.0 - share) * opened + share * locked
        return joined(speeds, forces), joined(forces, speeds)

    fixed = None if callable(setting) else curve(setting)

    def curve_at(time):
        return fixed or curve(setting(time))

    weight = (q.body_mass + q.wheel_mass) * STANDARD_GRAVITY
    seal, rubber = q.friction / q.seal_stretch, q.tyre_friction / q.tyre_stretch

    def parts(time, y):
        zs, vs, zu, vu, damper, seals, rolled = y[:7]
        travel, speed = zs - zu, vs - vu
        spring = q.spring_rate * travel / (1.0 + travel / q.gas_column)
        spring += q.stop_rate * (max(travel - q.rebound_travel, 0.0) - max(-travel - q.bump_travel, 0.0))
        damper = curve_at(time)[0](speed) if rigid else damper
        pull = spring + damper + seals
        squeeze = road.height_at(time) - zu
        load = weight + q.tyre_rate * squeeze + q.rim_rate * max(squeeze - q.tyre_travel, 0.0) + rolled
        load = max(load, 0.0)
        return -pull / q.body_mass, (pull + load - weight) / q.wheel_mass, load, damper, speed

    def rates(time, y):
        y = y.tolist()
        body, wheel, load, damper, speed = parts(time, y)
        seals, rolled = y[5:7]
        rise = road.slope(time)
        own = speed if rigid else curve_at(time)[1](damper)
        sheared = block(seals, seal, speed, q.friction)
        bent = block(rolled, rubber, rise - y[3], q.tyre_friction) if load > 0.0 else 0.0
        kneaded = rolled * (rise - y[3] - bent / rubber) if load > 0.0 else 0.0
        return [
            y[1], body, y[3], wheel, 0.0 if rigid else q.damper_stiffness * (speed - own), sheared, bent,
            damper * own, seals * (speed - sheared / seal), kneaded, load * rise,
        ]  # fmt: skip

    at = np.linspace(0.0, duration, points)
    stops = [0.0, *(kink for kink in road.kinks if 0.0 < kink < duration), duration]
    y, rows = np.zeros(11), []
    for begin, end in zip(stops[:-1], stops[1:], strict=True):
        inside = at[(at >= begin) & (at < end)] if end < duration else at[at >= begin]
        scale = np.array([1e-8, 1e-6, 1e-8, 1e-6, 1e-3, 1e-3, 1e-3, 1e-4, 1e-4, 1e-4, 1e-4])
        found = solve_ivp(
            rates, (begin, end), y, "DOP853", np.union1d(inside, end), rtol=rtol, atol=scale, max_step=longest
        )
        assert found.success
        rows += [(time, *state[:4], *parts(time, state)[:4]) for time, state in zip(inside, found.y.T, strict=False)]
        y = found.y[:, -1]
    time, zs, _, zu, _, body, wheel, load, damper = np.array(rows).T
    return StiffRide(time, zs - zu, body, wheel, damper, load, *(float(joules) for joules in y[7:]))
