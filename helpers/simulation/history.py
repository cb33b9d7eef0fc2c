"""The best valve history found for a ride whose ground is known: what any law of a damper falls short of.

The valve's setting in each hold is a free number from 0 to 1. The gradient of the mean squared, weighted acceleration
comes from one pass backwards through the steps of the ride (Runge-Kutta 4 on a rigid damper with smooth friction, its
transpose derived by hand), and L-BFGS-B walks down it. It is a history found, not a proven bound: other starts end
within some hundredths.
"""

import base64
import json
import zlib
from functools import lru_cache
from pathlib import Path

import numpy as np

from helpers.control.own_law import OwnLaw
from helpers.control.timing import Timing
from helpers.models.compiled import njit
from helpers.models.machines import MACHINES
from helpers.models.pedalling import Pedalling
from helpers.simulation.calmest import key_of
from helpers.simulation.kernel import packed_vehicle
from helpers.simulation.riding import RideError
from helpers.simulation.runs import axle_path
from helpers.simulation.weighting import weighting

STORED = Path(__file__).with_name("histories.json")
STEP = 5e-4  # s
FRICTION_SPEED = 0.02  # m/s; below it the friction of the search is viscous
LEVELS = 255  # of the valve, so that a history is stored in a byte a hold


@njit(cache=True, inline="always", error_model="numpy")
def _side(curve, speed):
    """Force of a sharp curve at `speed`, and its slope there."""
    low, high, knee, below, beyond, edge, _ = curve
    if speed < 0.0:
        low, high, knee = below, beyond, edge
    inside = abs(speed) < knee
    held = speed if inside else (knee if speed > 0.0 else -knee)
    return high * speed + (low - high) * held, low if inside else high


@njit(cache=True, inline="always", error_model="numpy")
def _rates(v, soft, firm, zs, vs, zu, vu, road, push, u):
    """Accelerations of body and wheel, and slopes: of spring, tyre, damper, and of its force with the valve."""
    squeeze, speed = zu - zs, vs - vu
    left = 1.0 - min(squeeze * v[7], 0.95)
    spring, stiff = v[2] * squeeze / left, v[2] / (left * left)
    if squeeze > v[4]:
        spring, stiff = spring + v[6] * (squeeze - v[4]), stiff + v[6]
    elif squeeze < -v[5]:
        spring, stiff = spring + v[6] * (squeeze + v[5]), stiff + v[6]
    tyre, grip = v[3] * (road - zu), v[3]
    if tyre < -v[9]:
        tyre, grip = -v[9], 0.0
    open_force, open_slope = _side(soft, speed)
    firm_force, firm_slope = _side(firm, speed)
    slide = min(max(speed / FRICTION_SPEED, -1.0), 1.0)
    rubbing = 0.0 if abs(slide) >= 1.0 else v[8] * 1.5 * (1.0 - slide * slide) / FRICTION_SPEED
    damper = open_force + u * (firm_force - open_force) + v[8] * (1.5 * slide - 0.5 * slide**3)
    slope = open_slope + u * (firm_slope - open_slope) + rubbing
    return (spring + push - damper) * v[0], (tyre - spring + damper) * v[1], stiff, grip, slope, firm_force - open_force


@njit(cache=True, error_model="numpy")
def forward(v, soft, firm, road, push, u, hold, h, states, acceleration):
    """Ride through `road` (half steps) with the valve at u[n // hold]; fills the states and the body's acceleration."""
    zs = vs = zu = vu = 0.0
    for n in range(len(acceleration)):
        k = u[min(n // hold, len(u) - 1)]
        states[n, 0], states[n, 1], states[n, 2], states[n, 3] = zs, vs, zu, vu
        a1, b1, _, _, _, _ = _rates(v, soft, firm, zs, vs, zu, vu, road[2 * n], push[2 * n], k)
        acceleration[n] = a1
        if n == len(acceleration) - 1:
            break
        r, p = road[2 * n + 1], push[2 * n + 1]
        vs2, vu2 = vs + 0.5 * h * a1, vu + 0.5 * h * b1
        a2, b2, _, _, _, _ = _rates(v, soft, firm, zs + 0.5 * h * vs, vs2, zu + 0.5 * h * vu, vu2, r, p, k)
        vs3, vu3 = vs + 0.5 * h * a2, vu + 0.5 * h * b2
        a3, b3, _, _, _, _ = _rates(v, soft, firm, zs + 0.5 * h * vs2, vs3, zu + 0.5 * h * vu2, vu3, r, p, k)
        vs4, vu4 = vs + h * a3, vu + h * b3
        a4, b4, _, _, _, _ = _rates(
            v, soft, firm, zs + h * vs3, vs4, zu + h * vu3, vu4, road[2 * n + 2], push[2 * n + 2], k
        )
        zs += h / 6.0 * (vs + 2.0 * (vs2 + vs3) + vs4)
        zu += h / 6.0 * (vu + 2.0 * (vu2 + vu3) + vu4)
        vs += h / 6.0 * (a1 + 2.0 * (a2 + a3) + a4)
        vu += h / 6.0 * (b1 + 2.0 * (b2 + b3) + b4)


@njit(cache=True, inline="always", error_model="numpy")
def _back(v, stiff, grip, slope, reach, p0, p1, p2, p3):
    """The transposed derivative of the rates times p, and what the valve's setting gets of it."""
    body, wheel = p1 * v[0], p3 * v[1]
    pull = wheel - body
    return stiff * pull, p0 + slope * pull, -stiff * pull - grip * wheel, p2 - slope * pull, reach * pull


@njit(cache=True, error_model="numpy")
def backward(v, soft, firm, road, push, u, hold, h, states, wanted, gradient):
    """Add to `gradient` what each setting does to the sum of wanted[n] acceleration[n]: `forward` transposed."""
    q0 = q1 = q2 = q3 = 0.0
    last = len(wanted) - 1
    for n in range(last, -1, -1):
        place = min(n // hold, len(u) - 1)
        k = u[place]
        zs, vs, zu, vu = states[n, 0], states[n, 1], states[n, 2], states[n, 3]
        a1, b1, s1, g1, c1, r1 = _rates(v, soft, firm, zs, vs, zu, vu, road[2 * n], push[2 * n], k)
        if n == last:
            q0, q1, q2, q3, given = _back(v, s1, g1, c1, r1, 0.0, wanted[n], 0.0, 0.0)
            gradient[place] += given
            continue
        vs2, vu2 = vs + 0.5 * h * a1, vu + 0.5 * h * b1
        r, p = road[2 * n + 1], push[2 * n + 1]
        a2, b2, s2, g2, c2, r2 = _rates(v, soft, firm, zs + 0.5 * h * vs, vs2, zu + 0.5 * h * vu, vu2, r, p, k)
        vs3, vu3 = vs + 0.5 * h * a2, vu + 0.5 * h * b2
        a3, b3, s3, g3, c3, r3 = _rates(v, soft, firm, zs + 0.5 * h * vs2, vs3, zu + 0.5 * h * vu2, vu3, r, p, k)
        vs4, vu4 = vs + h * a3, vu + h * b3
        _, _, s4, g4, c4, r4 = _rates(
            v, soft, firm, zs + h * vs3, vs4, zu + h * vu3, vu4, road[2 * n + 2], push[2 * n + 2], k
        )
        w, d = h / 6.0, 0.5 * h
        x0, x1, x2, x3, e4 = _back(v, s4, g4, c4, r4, w * q0, w * q1, w * q2, w * q3)
        y0, y1, y2, y3, e3 = _back(
            v, s3, g3, c3, r3, 2 * w * q0 + h * x0, 2 * w * q1 + h * x1, 2 * w * q2 + h * x2, 2 * w * q3 + h * x3
        )
        z0, z1, z2, z3, e2 = _back(
            v, s2, g2, c2, r2, 2 * w * q0 + d * y0, 2 * w * q1 + d * y1, 2 * w * q2 + d * y2, 2 * w * q3 + d * y3
        )
        t0, t1, t2, t3, e1 = _back(
            v, s1, g1, c1, r1, w * q0 + d * z0, w * q1 + d * z1 + wanted[n], w * q2 + d * z2, w * q3 + d * z3
        )
        q0, q1, q2, q3 = q0 + x0 + y0 + z0 + t0, q1 + x1 + y1 + z1 + t1, q2 + x2 + y2 + z2 + t2, q3 + x3 + y3 + z3 + t3
        gradient[place] += e1 + e2 + e3 + e4


class Search:
    """The weighted vibration of a ride as a function of its valve history, and its gradient."""

    def __init__(self, vehicle, ground, hold=0.002):
        if vehicle.open_curve.rounded or vehicle.lockout_curve.rounded:
            raise RideError(f"best_history: {vehicle.name} has a rounded curve; allowed are sharp ones.")
        path, speed = axle_path(ground.ground, vehicle.wheel_radius), ground.speed_of(vehicle)
        steps = int((path.distance[-1] - path.distance[0]) / speed / STEP)
        self.hold = round(hold / STEP)
        self.road = path.at(path.distance[0] + speed * 0.5 * STEP * np.arange(2 * steps + 1)) - path.height[0]
        self.push = np.zeros(len(self.road))
        if ground.pedalling and vehicle.pedal_force:
            self.push = Pedalling(force=vehicle.pedal_force).push(0.5 * STEP * np.arange(len(self.road)))
        self.holds = -(-(steps + 1) // self.hold)
        smooth = packed_vehicle(vehicle.changed(seal_stretch=0.0))
        self.fixed = smooth, vehicle.open_curve.packed(), vehicle.lockout_curve.packed()
        self.states, self.acceleration = np.empty((steps + 1, 4)), np.empty(steps + 1)
        padded = 1 << int(np.ceil(np.log2(steps + 1 + 8 / STEP / weighting("Wk").high_pass)))
        self.padded, self.factors = padded, weighting("Wk").response(np.fft.rfftfreq(padded, STEP))

    def value(self, u):
        """Mean of the squared weighted acceleration, (m/s2)^2, and its gradient with the setting of each hold."""
        forward(*self.fixed, self.road, self.push, u, self.hold, STEP, self.states, self.acceleration)
        count = len(self.acceleration)
        felt = np.fft.irfft(np.fft.rfft(self.acceleration, self.padded) * self.factors, self.padded)[:count]
        wanted = np.fft.irfft(np.fft.rfft(felt, self.padded) * self.factors.conj(), self.padded)[:count] * (2 / count)
        gradient = np.zeros(len(u))
        backward(*self.fixed, self.road, self.push, u, self.hold, STEP, self.states, wanted, gradient)
        return float(np.mean(felt**2)), gradient


def search(vehicle, ground, hold=0.002, iterations=400, start=0.15):
    """Settings found, one a hold, shape (holds,). start: the setting that all begin from, or an array of them."""
    from scipy.optimize import minimize

    problem = Search(vehicle, ground, hold)
    first = np.broadcast_to(np.asarray(start, dtype=float), problem.holds).copy()
    found = minimize(
        problem.value, first, jac=True, method="L-BFGS-B", bounds=[(0.0, 1.0)] * problem.holds,
        options={"maxiter": iterations, "maxfun": 2 * iterations, "maxcor": 20},
    )  # fmt: skip
    return found.x


def packed(settings):
    """A history as text: a byte a hold, compressed."""
    return base64.b64encode(zlib.compress(np.round(LEVELS * settings).astype(np.uint8).tobytes(), 9)).decode()


def unpacked(text):
    """The settings that `packed` took."""
    return np.frombuffer(zlib.decompress(base64.b64decode(text)), np.uint8) / LEVELS


class History(OwnLaw):
    """A valve that follows a history of settings, one a hold of `hold` s, whatever it senses."""

    def __init__(self, settings, hold):
        settings = np.append(settings, settings[-1]).tolist()
        last = len(settings) - 1
        super().__init__(lambda seen: settings[min(int(seen.time / hold + 0.5), last)])
        object.__setattr__(self, "timing", Timing(sample_rate=1.0 / hold))

    name = "best valve history found"


@lru_cache(1)
def stored():
    """Histories that were found before: by `calmest.key_of`, the hold in s and the packed settings."""
    return json.loads(STORED.read_text("utf-8")) if STORED.is_file() else {}


@lru_cache(8)
def best_history(vehicle, ground):
    """The best valve history found on this ground, its every bump known: a law to ride, which carries its own timing.

    Stored for the course's machines on its loop; for others it is searched, some seconds with holds of 8 ms.
    """
    known = stored().get(key_of(vehicle, ground))
    if known is not None and vehicle in MACHINES.values():
        return History(unpacked(known["settings"]), known["hold"])
    return History(search(vehicle, ground, hold=0.008, iterations=150), 0.008)
