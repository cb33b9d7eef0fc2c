"""What moves a damper's valve, how fast, how finely, at what electrical power: any drive, a solenoid, and a
magnetorheological gap in which nothing moves. The motor on a screw is in `geared_motor`.

`power` is that of the supply into the standing coil or the stalled motor, U^2/R, the peak. Coils and motors are
described by constants that do not depend on the number of turns: ampere-turns, or torque, per root of a watt of heat.
Every move is a full opening stroke against a constant pressure, from rest to the stop.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from helpers.models.quantities import Checked, in_range, quantity
from helpers.models.valve import MINERAL, PilotedValve

MU0 = 1.25663706127e-6  # N/A2, magnetic constant, CODATA 2022


def magnetic_pressure(flux_density):
    """Pull of a magnetic gap on its faces in Pa at `flux_density` in T: B^2 / (2 mu0)."""
    return np.square(flux_density) / (2.0 * MU0)


@dataclass(frozen=True)
class Move:
    """One opening stroke: `time` in s (inf where the drive is not strong enough), `settings` that can be told apart,
    `peak_power` and `holding_power` in W, `energy` from the supply and `work` on the valve in J.
    """

    time: float
    settings: int
    peak_power: float
    holding_power: float
    energy: float
    work: float

    @property
    def mean_power(self):
        """Energy over time, W; a drive that does not move takes its peak power."""
        return self.energy / self.time if self.time < math.inf else self.peak_power

    @classmethod
    def stalled(cls, settings, power):
        """The stroke of a drive that cannot make it: no time, no work, power turned into heat."""
        return cls(math.inf, settings, power, power, math.inf, 0.0)


@dataclass(frozen=True)
class Drive(Checked):
    """What can move a valve."""

    def move(self, valve, pressure, power, liquid=MINERAL):
        """The `Move` that opens `valve` against `pressure` in Pa with `power` in W.

        Of a piloted valve the drive moves the pilot, and the main valve comes after, sooner in a thin `liquid`: shut
        or open, or where it follows the pilot's place, as finely as the drive.
        """
        power = in_range(type(self).__name__, "power", power, "W", 1e-3, 1e4)
        if not isinstance(valve, PilotedValve):
            return self._stroke(valve, pressure, power, valve.stroke)
        pilot = self._stroke(valve.pilot, pressure, power, valve.pilot_travel)
        settings = pilot.settings if valve.follows else 2
        after = valve.opening_time(pressure, liquid)
        if math.inf in (pilot.time, after):
            return Move.stalled(settings, power)
        energy = pilot.energy + after * pilot.holding_power
        return replace(pilot, time=pilot.time + after, settings=settings, energy=energy)

    def course(self, valve, pressure, power, liquid=MINERAL):
        """(time in s, lift as a share of the stroke), shape (n,) each, of what `move` times; empty where it stalls."""
        if math.isinf(self.move(valve, pressure, power, liquid).time):
            return np.empty(0), np.empty(0)
        if not isinstance(valve, PilotedValve):
            return self._course(valve, pressure, power)
        pilot = self._stroke(valve.pilot, pressure, power, valve.pilot_travel).time
        times = pilot + valve.opening_course(pressure, liquid)
        return np.concatenate([[0.0], times]), np.concatenate([[0.0], np.linspace(0.0, 1.0, len(times))])


@dataclass(frozen=True)
class Solenoid(Drive):
    """A coil with an iron core and a working gap that the stroke closes. Two settings: drawn in, or let go.

    The iron takes no ampere-turns before it saturates; eddy currents are left out. Both make the true times longer.
    """

    pole: float = quantity("diameter of the pole face", "m", 1e-3, 0.5, symbol=r"d_p", default=14e-3)
    coil: float = quantity("ampere-turns per root of heating power", "A/W^0.5", 1.0, 1e4, symbol=r"K_c", default=280.0)
    rest_gap: float = quantity("gap left when drawn in", "m", 1e-6, 5e-3, symbol=r"g_0", default=0.1e-3)
    saturation: float = quantity("flux density at which the iron saturates", "T", 0.1, 2.4, symbol=r"B_s", default=1.5)
    mass: float = quantity("mass of the armature", "kg", 1e-5, 1.0, symbol=r"m_a", default=8e-3)

    @property
    def area(self):
        """Of the pole face, m2."""
        return 0.25 * math.pi * self.pole**2

    def force(self, ampere_turns, gap):
        """Pull in N at `ampere_turns` in A and `gap` in m; any shape. Raises ValueError for a gap that is not open."""
        gap = np.asarray(gap, dtype=float)
        in_range("Solenoid", "gap", gap.min(), "m", 1e-6, math.inf)
        density = np.minimum(MU0 * np.abs(ampere_turns) / gap, self.saturation)
        return self.area * magnetic_pressure(density)

    def rise_time(self, gap):
        """Time constant L/R in s at `gap` in m: mu0 A K_c^2 / gap, whatever the number of turns."""
        return MU0 * self.area * self.coil**2 / in_range("Solenoid", "gap", gap, "m", 1e-6, 1.0)

    def pulling(self, flux, gap, speed, load, power):
        """Rate of the flux in Wb/s, force left over a load in N, and ampere-turns over the gap, with `power` W on.

        flux in Wb, gap in m, speed of the armature in m/s. sqrt(P)/K_c = NI/K_c^2 + d(flux)/dt.
        """
        turns = flux * gap / (MU0 * self.area)
        rising = math.sqrt(power) / self.coil - turns / self.coil**2
        if flux >= self.saturation * self.area:  # the driver lets the iron have no more
            rising = min(rising, 0.0)
        push = flux**2 / (2.0 * MU0 * self.area) - load
        if speed == 0.0:  # friction holds it until the flux has grown
            push = max(push, 0.0)
        return rising, push, turns

    def _holding_power(self, force):
        """Heat in W that holds `force` N at the rest gap."""
        return (self.rest_gap * math.sqrt(2.0 * force / (MU0 * self.area)) / self.coil) ** 2

    def _stroke(self, valve, pressure, power, travel):
        ran = self._run(valve, pressure, power, travel)
        if ran is None:
            return Move.stalled(2, power)
        holding = self._holding_power(float(valve.forces(valve.stroke, pressure).to_hold))
        return Move(float(ran.t[-1]), 2, power, holding, float(ran.y[3, -1]), float(ran.y[4, -1]))

    def _course(self, valve, pressure, power):
        ran = self._run(valve, pressure, power, valve.stroke, dense=True)
        time = np.linspace(ran.t[0], ran.t[-1], 501)
        lift = np.clip(ran.sol(time)[1] / valve.stroke, 0.0, 1.0)
        lift[-1] = 1.0  # but for rounding
        return np.concatenate([[0.0], time]), np.concatenate([[0.0], lift])

    def _run(self, valve, pressure, power, travel, dense=False):
        """The stroke as `solve_ivp` gives it, from breaking loose to the stop; None where it stalls.

        State: flux, lift, speed, energy, work; with `dense`, `sol` gives it at any time. See `pulling`.
        """
        from scipy.integrate import solve_ivp

        gap, mass = self.rest_gap + travel, self.mass + valve.mass
        full, flux_limit = MU0 * self.area * math.sqrt(power) * self.coil / gap, self.saturation * self.area
        needed = math.sqrt(2.0 * MU0 * self.area * max(float(valve.forces(0.0, pressure).to_open), 0.0))
        holding = self._holding_power(float(valve.forces(valve.stroke, pressure).to_hold))
        if needed >= min(full, flux_limit) or holding > power:
            return None
        start = -self.rise_time(gap) * math.log1p(-needed / full)

        def rates(_, y):
            x, v = y[1], max(y[2], 0.0)
            load = float(valve.forces(min(max(x, 0.0), valve.stroke), pressure, speed=max(v, 1e-12)).to_open)
            rising, push, turns = self.pulling(y[0], gap - x, v, load, power)
            return [rising, v, push / mass, turns * (turns / self.coil**2 + rising), load * v]

        def arrived(_, y):
            return y[1] - travel

        arrived.terminal = True
        spent = power * (start - self.rise_time(gap) * needed / full)  # integral of U i while it waits
        begin = [needed, 0.0, 0.0, spent, 0.0]
        ran = solve_ivp(
            rates, (0.0, 1.0), begin, events=arrived, rtol=1e-8, atol=1e-12, max_step=2e-3, dense_output=dense
        )
        if not ran.t_events[0].size:
            return None
        ran.t, late = ran.t + start, ran.sol
        ran.sol = lambda time: late(time - start)
        return ran


@dataclass(frozen=True)
class Magnetorheological(Drive):
    """A gap whose fluid stiffens in a magnetic field: nothing moves, so pressure costs no force, but the field must
    stand as long as the setting, and beyond its yield the gap lets go.
    """

    soft: float = quantity("damping coefficient without current", "N s/m", 1.0, 1e5, symbol=r"c_0", default=600.0)
    firm: float = quantity("the same at full field", "N s/m", 1.0, 1e6, symbol=r"c_1", default=6000.0)
    scale: float = quantity("current for 63 per cent of the change", "A", 1e-3, 100.0, symbol=r"i_0", default=1.0)
    resistance: float = quantity("of the coil", "ohm", 1e-3, 1e4, symbol=r"R", default=1.2)
    inductance: float = quantity("of the coil", "H", 1e-6, 10.0, symbol=r"L", default=6e-3)
    fluid_time: float = quantity("time in which the particles order", "s", 0.0, 1.0, symbol=r"\tau_f", default=2e-3)
    yield_pressure: float = quantity("pressure it holds at full field", "Pa", 0.0, 1e8, symbol=r"p_y", default=40e5)
    hysteresis: float = quantity("share of the range that remanence blurs", "", 1e-3, 1.0, symbol=r"h", default=0.05)
    bias: float = quantity(
        "current that a magnet in the gap stands for: what is left when power fails", "A", 0.0, 100.0, symbol=r"i_m",
        default=0.0,
    )  # fmt: skip

    def share(self, current):
        """Of the change from soft to firm, 0 to 1, at `current` in A, negative against the magnet; any shape."""
        return -np.expm1(-np.abs(np.asarray(current) + self.bias) / self.scale)

    def coefficient(self, current):
        """Damping coefficient in N s/m at `current` in A; any shape."""
        return self.soft + (self.firm - self.soft) * self.share(current)

    def move(self, valve, pressure, power, liquid=MINERAL):
        """The `Move` to nine tenths of the coefficient's change, firmer, current and particles one after the other;
        there is no valve to move, so `valve` and `liquid` do not matter.
        """
        power = in_range("Magnetorheological", "power", power, "W", 1e-3, 1e4)
        pressure = in_range("Magnetorheological", "pressure", pressure, "Pa", 0.0, 1e8)
        current = math.sqrt(power / self.resistance)
        reached = float(self.share(current))
        settings = 1 + int(reached / self.hysteresis)
        if self.yield_pressure * reached < pressure:
            return Move.stalled(settings, power)
        at = (-self.scale * math.log1p(-0.9 * reached - 0.1 * float(self.share(0.0))) - self.bias) / current
        rise = -self.inductance / self.resistance * math.log1p(-at)
        time = rise + self.fluid_time * math.log(10.0)
        lag = self.inductance / self.resistance
        energy = power * (time + lag * math.expm1(-time / lag))
        return Move(time, settings, power, power, energy, 0.0)

    def ordered(self, power, soften=False):
        """(time in s, share of the change), shape (n,) each, while the coil's current and then the particles follow.

        From no current to what `power` in W keeps up, or with `soften` back, the coil shorted. The particles follow the
        field as a first-order lag; `move` lets the one wait for the other, which is longer.
        """
        from scipy.integrate import solve_ivp

        power = in_range("Magnetorheological", "power", power, "W", 1e-3, 1e4)
        lag, full = self.inductance / self.resistance, math.sqrt(power / self.resistance)
        start, end = (full, 0.0) if soften else (0.0, full)
        low, high = self.share(start), self.share(end)

        def field(time):
            current = end + (start - end) * np.exp(-time / lag)
            return (self.share(current) - low) / (high - low)

        time = np.linspace(0.0, 12.0 * (lag + self.fluid_time), 2401)
        if self.fluid_time == 0.0:
            return time, field(time)
        span, tight = (0.0, time[-1]), {"rtol": 1e-9, "atol": 1e-12}
        ran = solve_ivp(lambda t, y: (field(t) - y) / self.fluid_time, span, [0.0], t_eval=time, **tight)
        return time, ran.y[0]


# For a pilot: the poppet's coil at half the size. Ampere-turns per root watt grow as the root of the size.
PILOT_COIL = Solenoid(pole=7e-3, coil=198.0, mass=1e-3)
