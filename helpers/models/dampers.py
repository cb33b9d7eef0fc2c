"""Force-velocity curves of dampers.

Velocity is that of suspension travel, v_s - v_u, positive in rebound (extension); force has the sign of the velocity.
Every curve is `high v + (low - high) s(v)`, where s(v) equals v at small speed and saturates at the knee: sharply for
a two-slope curve, smoothly for a digressive one. A linear damper has one slope, low = high.
"""

from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import Checked, quantity


@dataclass(frozen=True)
class Side(Checked):
    """One direction of a damper's motion."""

    low: float = quantity("slope at low speed", "N s/m", 0.0, 50_000.0, symbol=r"c_\mathrm{low}")
    high: float = quantity("slope at high speed", "N s/m", 0.0, 50_000.0, symbol=r"c_\mathrm{high}")
    knee: float = quantity("speed at which the slope changes", "m/s", 0.005, 10.0, symbol=r"v_k", default=0.3)


@dataclass(frozen=True)
class DamperCurve:
    """A damper's force against velocity: its rebound side, its compression side, and how round its knee is."""

    rebound: Side
    compression: Side
    rounded: bool = False

    def force(self, velocity):
        """Damper force in N at `velocity` in m/s (scalar or array of any shape)."""
        v = np.asarray(velocity, dtype=float)
        low, high, knee = (
            np.where(v >= 0.0, getattr(self.rebound, name), getattr(self.compression, name))
            for name in ("low", "high", "knee")
        )
        saturating = v / (1.0 + np.abs(v) / knee) if self.rounded else np.clip(v, -knee, knee)
        return high * v + (low - high) * saturating

    def packed(self):
        """The curve as the stepper reads it: (rebound low, high, knee, compression low, high, knee, rounded)."""
        r, c = self.rebound, self.compression
        return (r.low, r.high, r.knee, c.low, c.high, c.knee, float(self.rounded))

    def scaled(self, factor):
        """The same curve with every force multiplied by `factor`."""
        sides = (Side(side.low * factor, side.high * factor, side.knee) for side in (self.rebound, self.compression))
        return DamperCurve(*sides, self.rounded)


def linear(coefficient):
    """A damper whose force is `coefficient` (N s/m) times velocity in both directions."""
    side = Side(coefficient, coefficient)
    return DamperCurve(side, side)


def two_slope(low, high, knee, rebound_ratio=1.0):
    """Slopes `low` then `high` (N s/m) with a sharp knee (m/s); rebound is `rebound_ratio` times compression."""
    return DamperCurve(Side(low * rebound_ratio, high * rebound_ratio, knee), Side(low, high, knee))


def digressive(low, knee, rebound_ratio=1.0, high=0.0):
    """A smooth curve of slope `low` (N s/m) at rest that flattens towards slope `high` beyond the knee (m/s)."""
    curve = two_slope(low, high, knee, rebound_ratio)
    return DamperCurve(curve.rebound, curve.compression, rounded=True)
