"""A geared motor on a screw: fine, self-locking where the thread allows, and as fast as its power lets it."""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.actuators import Drive, Move
from helpers.models.quantities import Checked, quantity


@dataclass(frozen=True)
class Screw(Checked):
    """A square thread (Shigley): torque that raises a load, and torque that lowers it."""

    lead: float = quantity("advance per turn", "m", 1e-5, 0.1, symbol=r"\ell", default=1e-3)
    diameter: float = quantity("mean diameter", "m", 1e-4, 0.2, symbol=r"d_m", default=3e-3)
    friction: float = quantity("coefficient of friction", "", 0.0, 0.6, symbol=r"\mu", default=0.12)

    def raising_torque(self, force):
        """Torque in N m that moves the nut against `force` in N."""
        turn, rub = math.pi * self.diameter, self.friction
        if rub * self.lead >= turn:
            raise ValueError(f"Screw: friction is {rub:g}; allowed is less than {turn / self.lead:g}, or it jams.")
        return 0.5 * force * self.diameter * (self.lead + rub * turn) / (turn - rub * self.lead)

    def lowering_torque(self, force):
        """Torque in N m that lets the nut go with `force` in N; negative where the load must be held back."""
        turn, rub = math.pi * self.diameter, self.friction
        return 0.5 * force * self.diameter * (rub * turn - self.lead) / (turn + rub * self.lead)

    @property
    def efficiency(self):
        """Work on the load over work of the torque that raises it."""
        return self.lead / (2.0 * math.pi * self.raising_torque(1.0))

    @property
    def self_locking(self):
        """Whether the load stays without torque."""
        return self.lowering_torque(1.0) >= 0.0


@dataclass(frozen=True)
class GearedMotor(Drive):
    """A direct-current motor, a gearbox and a screw. It starts from rest under full voltage and ends at a stop, so
    braking is left out; the load is the largest on the way, so a true stroke is a little quicker.
    """

    screw: Screw = Screw()
    constant: float = quantity(
        "torque per root of heating power", "N m/W^0.5", 1e-5, 1.0, symbol=r"K_m", default=1.5e-3
    )
    inertia: float = quantity("of rotor and first gear", "kg m2", 1e-11, 1e-2, symbol=r"J", default=2e-8)
    ratio: float = quantity("turns of the motor per turn of the screw", "", 0.1, 1e5, symbol=r"n", default=30.0)
    gear_efficiency: float = quantity("efficiency of the gearbox", "", 0.1, 1.0, symbol=r"\eta_g", default=0.7)
    step: float = quantity("motor angle that can be told apart", "rad", 1e-4, 6.3, symbol=r"\beta", default=math.pi / 3)
    backlash: float = quantity("lost motion at the valve", "m", 0.0, 1e-3, symbol=r"b", default=5e-6)

    @property
    def travel_per_radian(self):
        """Of the valve, by the motor's angle, m/rad."""
        return self.screw.lead / (2.0 * math.pi * self.ratio)

    def settings(self, stroke):
        """Positions that can be told apart on `stroke` in m: by the motor's steps, or by the backlash if coarser.

        The last one counts if it lies within a millionth of a setting of the end.
        """
        return 1 + int(stroke / max(self.step * self.travel_per_radian, self.backlash) + 1e-6)

    def _stroke(self, valve, pressure, power, travel):
        """Torque falls with speed from K_m sqrt(P) to nought at sqrt(P)/K_m: closed form with J/K_m^2 as its time."""
        settings = self.settings(travel)
        load, steady, lag = self._pace(valve, pressure, power)
        if steady <= 0.0:
            return Move.stalled(settings, power)
        angle = travel / self.travel_per_radian
        time = lag * _run_up(angle / (steady * lag))
        held = 0.0
        if not self.screw.self_locking:
            hold = -self.screw.lowering_torque(float(valve.forces(valve.stroke, pressure).to_hold))
            held = (hold * self.gear_efficiency / (self.ratio * self.constant)) ** 2
        energy = power * (time - angle * self.constant / math.sqrt(power))
        return Move(time, settings, power, held, energy, load * travel)

    def _pace(self, valve, pressure, power):
        """(load in N, speed of the loaded motor in rad/s, not above nought where it stalls, time to gain it in s)."""
        load = max(float(np.max(valve.forces(np.array([0.0, valve.stroke]), pressure).to_open)), 0.0)
        torque = self.screw.raising_torque(load) / (self.ratio * self.gear_efficiency)
        standing, free = self.constant * math.sqrt(power), math.sqrt(power) / self.constant
        inertia = self.inertia + valve.mass * self.travel_per_radian**2
        return load, free * (1.0 - torque / standing), inertia / self.constant**2

    def _course(self, valve, pressure, power):
        """Lift s(t) = steady (t - lag (1 - exp(-t/lag))) up to the stop."""
        _, steady, lag = self._pace(valve, pressure, power)
        time = np.linspace(0.0, self._stroke(valve, pressure, power, valve.stroke).time, 501)
        lift = self.travel_per_radian * steady * (time + lag * np.expm1(-time / lag))
        return time, np.append(np.clip(lift[:-1] / valve.stroke, 0.0, 1.0), 1.0)  # the stop, but for rounding


def _run_up(distance):
    """Time u in which u - 1 + exp(-u) reaches `distance`, by Newton from above: convex, so it cannot overshoot."""
    u = distance + 1.0
    for _ in range(80):
        excess = u + math.expm1(-u) - distance
        if excess <= 1e-15 * distance:
            break
        u -= excess / -math.expm1(-u)
    return u
