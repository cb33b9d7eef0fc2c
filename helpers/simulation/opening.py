"""A locked machine rolls up a step: what stands over its valve, and how a coil opens it while that rises.

The oil's speed is that of a ride whose valve stays shut; what stands over the valve at each lift is the circuit's at
that speed, any valve being open as far as the damper's own at the same share of its stroke. A damper that lets go
moves faster than one that stays shut, so late in the stroke the true pressure is higher: a pilot is quicker then, a
spool slower. As in `actuators`, a main cone has no mass and oil does not yield.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from helpers.control.laws import Passive
from helpers.control.mode_switch import ModeSwitch
from helpers.control.response import Response
from helpers.control.timing import Timing
from helpers.models.damper import Damper
from helpers.models.machines import DAMPERS, MACHINES
from helpers.models.valve import MINERAL, PilotedValve
from helpers.simulation.deadline import MOMENT, step_deadline
from helpers.simulation.riding import REAL_CHAIN, Ride, RideError, ride
from helpers.simulation.stretches import step_ground

LIFTS = np.concatenate([[0.0], np.geomspace(0.01, 1.0, 17)])  # shares of the stroke
WITHIN, TICK = 0.02, 2.5e-5  # s after the order, and between the points of the course
STEPS = TICK * np.arange(round(WITHIN / TICK) + 1)


@dataclass(frozen=True, eq=False)
class Strike:
    """A machine with its valve shut over a step. Times in s from contact, pressures in Pa over the valve."""

    locked: Ride
    damper: Damper
    felt: float
    chain: Timing
    due: float
    """s from when it is felt until 63 % of the change of force must be there; see `step_deadline`."""

    @cached_property
    def contact(self):
        """s of the ride."""
        return float(self.locked.time[(self.locked.road > 0.0).argmax()])

    @cached_property
    def _over(self):
        return -self.damper.held(self.locked.damper_speed, 1.0)

    def order(self, wait=1.0):
        """When the order is at the valve, after a `wait` for a sample as a share of its period."""
        return self.felt + wait / self.chain.sample_rate + self.chain.compute + self.chain.bus

    def left(self, wait=1.0):
        """s that the valve may take from that order to 63 % of the change of force."""
        return self.felt + self.due - self.order(wait)

    def pressure(self, time):
        """Over the shut valve at `time` s, positive in compression; any shape."""
        return np.interp(np.asarray(time) + self.contact, self.locked.time, self._over)

    def opens(self, drive, valve, power, liquid=MINERAL, wait=1.0):
        """The `Response` from the order of a valve moved by a `Solenoid` with `power` W; see the module."""
        order = self.contact + self.order(wait)
        speed = np.interp(order + STEPS, self.locked.time, self.locked.damper_speed)
        return opening(drive, valve, power, self.damper, speed, liquid)


@lru_cache(64)
def strike(machine, height=MOMENT.height, speed=MOMENT.speed, threshold=40.0, timing=REAL_CHAIN, cost=0.1):
    """The `Strike` of one of the course's machines at a step of `height` m at `speed` m/s; by default of `MOMENT`.

    threshold: m/s2 that the wheel must read. cost: share that lateness may add to the body's peak. Raises RideError.
    """
    known = next((key for key, one in MACHINES.items() if one.lockout_curve == machine.lockout_curve), None)
    if known is None:
        raise RideError(f"strike: {machine.name} has no circuit; allowed are the course's bike, motorcycle, carrier.")
    locked = ride(machine, step_ground(height, speed), Passive(setting=1.0), log_step=5e-5)
    beyond = np.abs(locked.wheel_acceleration) > threshold
    if not beyond.any():
        raise RideError(f"strike: the locked {machine.name} never reads {threshold:g} m/s² on that step.")
    felt = float(locked.time[beyond.argmax()] - locked.time[(locked.road > 0.0).argmax()])
    due = step_deadline(machine, ModeSwitch(threshold, 0.4), height, speed, cost)
    return Strike(locked, DAMPERS[known], felt, timing, due)


def opening(drive, valve, power, damper, speed, liquid=MINERAL):
    """The `Response` of `valve` moved by a `Solenoid` with `power` W in a `damper`; what comes after WITHIN is inf.

    speed: of the damper with its valve shut, m/s at the wheel, at STEPS after the order.
    """
    known = _held(damper, speed)

    def over(at, lift):
        k = min(int(np.searchsorted(LIFTS, lift, side="right")), len(LIFTS) - 1)
        n = min(int(at / TICK), len(STEPS) - 2)
        late, share = at / TICK - n, (lift - LIFTS[k - 1]) / (LIFTS[k] - LIFTS[k - 1])
        low, high = ((1.0 - late) * row[n] + late * row[n + 1] for row in known[k - 1 : k + 1])
        return low + share * (high - low)

    if isinstance(valve, PilotedValve):
        pilot = _coil(drive, valve.pilot, power, lambda at, lift: over(at, 0.0))
        lift = _main(valve, over, pilot, liquid)
    else:
        lift = _coil(drive, valve, power, over)
    here = np.array([over(at, x) for at, x in zip(STEPS, lift, strict=True)])
    share = (known[0] - here) / np.maximum(known[0] - known[-1], 1.0)
    return Response.of(STEPS, share.round(9), lift)  # rounded: no share out of a last digit


def _held(damper, speed):
    """Pressure over the valve in Pa in compression, else 0, at each of LIFTS and `speed` (n,): shape (lifts, n)."""
    stroke = damper.valve.stroke
    return np.array([np.maximum(-damper.drops(speed, float(share) * stroke).valve, 0.0) for share in LIFTS])


def _coil(drive, valve, power, over):
    """Lift of the coil's valve as a share of its stroke, at STEPS after the current is switched on."""
    from scipy.integrate import solve_ivp

    gap, stroke, mass = drive.rest_gap + valve.stroke, valve.stroke, drive.mass + valve.mass

    def rates(at, y):
        x, v = min(max(y[1], 0.0), stroke), max(y[2], 0.0)
        load = float(valve.forces(x, over(at, x / stroke), speed=v).to_open)
        rising, push, _ = drive.pulling(y[0], gap - x, v, load, power)
        return [rising, v, push / mass]

    def arrived(_, y):
        return y[1] - stroke

    arrived.terminal = True
    ran = solve_ivp(rates, (0.0, WITHIN), [0.0, 0.0, 0.0], events=arrived, rtol=1e-7, atol=1e-12, max_step=2.5e-4,
                    dense_output=True)  # fmt: skip
    lift = np.clip(ran.sol(np.minimum(STEPS, ran.t[-1]))[1] / stroke, 0.0, 1.0)
    if ran.t_events[0].size:
        lift[ran.t[-1] <= STEPS] = 1.0
    return lift


def _main(valve, over, pilot, liquid):
    """Lift of the main valve as a share of its stroke, at STEPS, once the `pilot` is fully up."""
    lift = np.zeros(len(STEPS))
    for k in range(len(STEPS) - 1):
        if pilot[k] == 1.0:
            speed = valve.pace(lift[k] * valve.main.stroke, over(STEPS[k], lift[k]), liquid)
            lift[k + 1] = min(lift[k] + max(float(speed), 0.0) / valve.main.stroke * TICK, 1.0)
    return lift
