"""The open design of workbook 06: a borrowed bike at a step, and on a stretch of rough ground with roots.

Bike, ground and limits are the learner's. `aim` picks the threshold from which the limits are worked out; the learner
does not see it, so the one that serves has to be found by running the model. The limits lie close to what that design
does, and the thresholds far apart, so that few learners can do with a neighbour's design.
"""

import math
from functools import lru_cache
from types import SimpleNamespace

import numpy as np

from helpers.control.laws import Passive
from helpers.control.mode_switch import ModeSwitch
from helpers.models.dampers import DamperCurve
from helpers.models.terrain import iso_8608
from helpers.simulation.runs import simulate
from scenes import w06_numbers as numbers

FAST, ROOTS, RADIUS = 10.0, 5, 0.36  # m/s; roots in the row; wheel radius in m
PRICE = 1200.0  # points times ms: what a chain costs, times its response time
AIMS = (7.0, 9.0, 11.0, 14.0, 17.0, 21.0, 26.0, 32.0)  # m/s2


@lru_cache(1)
def _rough():
    return iso_8608("C", 40.0, 0.01, seed=3, band=(0.05, 2.83)).under_wheel(RADIUS)


@lru_cache(64)
def _bike(body, wheel, tyre, firm):
    """The borrowed bike; `firm`: N s/m of the locked damper up to the same blow-off force as ours."""
    bike = numbers.machine("bike")
    curve = bike.lockout_curve
    side = curve.compression
    bent = type(side)(low=firm, knee=side.low * side.knee / firm, high=side.high)
    return bike.changed(body_mass=body, wheel_mass=wheel, tyre_rate=1e3 * tyre,
                        lockout_curve=DamperCurve(curve.rebound, bent))  # fmt: skip


@lru_cache(4096)
def _step_cost(machine, height, pace, threshold, response):
    """The higher cost in per cent of two paces over the learner's step."""
    bike, costs = _bike(*machine), []
    for speed in (pace, FAST):
        late = numbers.over(bike, height, speed, ModeSwitch(threshold=threshold), numbers.responding(response))
        least = numbers.over(bike, height, speed, Passive(0.0))
        costs.append(100.0 * (numbers.peak(late) / numbers.peak(least) - 1.0))
    return max(costs)


@lru_cache(512)
def _stretch(machine, rough_share, root, pace, apart, threshold, hold, response):
    """Thirty metres of rough ground with a row of roots: share of time locked in per cent, closings within the row,
    and the time in ms from the wheel's contact with the last root to a valve that is half closed again.
    """
    bike, rough = _bike(*machine), _rough()
    rise = numbers.row_of_roots(bike, root, apart, ROOTS)
    timing = numbers.responding(response)

    def road_at(time):
        x = pace * time
        return rough_share * (rough.at(x) - rough.height[0]) + rise(x - 10.0)

    run = simulate(bike, road_at, 30.0 / pace, ModeSwitch(threshold=threshold, hold=hold), timing, log_step=5e-4)
    last = (10.0 + (ROOTS - 1) * apart) / pace
    rising = np.diff(run.valve[(run.time >= 10.0 / pace + 0.03) & (run.time <= last)]) > 1e-9
    firm = run.time[(run.time > last + 0.02) & (run.valve > 0.5)]
    again = 1e3 * (float(firm[0]) - last) if len(firm) else math.inf
    return 100.0 * float(np.mean(run.valve > 0.99)), int(np.count_nonzero(rising[1:] & ~rising[:-1])), again


def measured(n, threshold, response, hold):
    """Step cost, time locked, closings and time to firm of one choice; response and hold in s."""
    machine, pace = (n.body, n.wheel, n.tyre, n.firm), n.pace_kmh / 3.6
    cost = _step_cost(machine, n.step_mm / 1e3, pace, threshold, response)
    return cost, *_stretch(machine, n.rough / 100.0, n.root_mm / 1e3, pace, n.apart, threshold, hold, response)


@lru_cache(64)
def _reference(items):
    n = SimpleNamespace(**dict(items))
    machine, pace = (n.body, n.wheel, n.tyre, n.firm), n.pace_kmh / 3.6

    def serves(threshold, response):
        return _step_cost(machine, n.step_mm / 1e3, pace, threshold, response) <= numbers.ALLOWED

    threshold, low, high = AIMS[n.aim], 3e-3, 0.03  # s
    while not serves(threshold, low):
        threshold -= 1.0
    while high - low > 1e-4:  # the slowest chain that serves
        middle = 0.5 * (low + high)
        low, high = (middle, high) if serves(threshold, middle) else (low, middle)
    response = math.floor(9.8e3 * low) / 1e4
    hold = 0.02
    while measured(n, threshold, response, hold)[2]:
        hold += 0.01
    hold += 0.01
    _, locked, _, again = measured(n, threshold, response, hold)
    return threshold, response, hold, locked, again


def reference(n):
    """A choice that serves: threshold in m/s2, response, hold in s; its time locked in per cent, and to firm in ms."""
    return _reference(tuple(sorted(vars(n).items())))


def limits(n):
    """The learner's limits: least time locked in per cent, highest price, longest time to firm in ms."""
    _, response, _, locked, again = reference(n)
    least = locked - 0.01 * (100.0 - locked)  # the more the ground opens it, the more room
    price = math.ceil(1.03 * PRICE / (1e3 * response))
    return math.floor(10.0 * least) / 10.0, price, 10 * math.ceil(again / 10.0 + 0.5)
