"""Rides and closed forms of workbook 06: a wheel at a step, what its sensor feels, what a late valve costs, hold times.

Every ride over a step begins at the wheel's first contact with it. `cost` is how far the body's peak acceleration lies
above that of the same machine whose valve is open throughout, in per cent.
"""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from helpers.control.latency import Chain
from helpers.control.laws import Passive
from helpers.control.mode_switch import ModeSwitch
from helpers.models import wheel_step
from helpers.models.dampers import DamperCurve
from helpers.models.terrain import Profile
from helpers.models.vehicles import FLEET
from helpers.simulation import families
from helpers.simulation.batch import Ride
from helpers.simulation.deadline import FINE, SECONDS, deadline, peak, responding
from helpers.simulation.deadline import over_step as over
from helpers.simulation.runs import simulate
from helpers.simulation.sweep import sweep

QUICK = families.FAST_CHAIN  # 1000 samples a second, a valve of 1 ms dead time and 3 ms lag
PLAIN = replace(QUICK, sample_rate=200.0, bus=6e-3)  # the same valve; 200 samples a second, a slow link
CHAINS = {"quick chain": QUICK, "plain chain": PLAIN}
THRESHOLD = 40.0  # m/s2, the dealer's
PHASES = 8  # how a contact may fall between two samples: places tried in a sample period


@lru_cache
def machine(key, blow_off=1.0):
    """A machine as the dealer equips it: open, its plain damper; locked, it gives way at `blow_off` times its force."""
    vehicle = families.mode_switching(FLEET[key]).vehicle
    firm = vehicle.lockout_curve
    side = replace(firm.compression, knee=blow_off * firm.compression.knee)
    return vehicle.changed(lockout_curve=DamperCurve(firm.rebound, side))


def peak_time(run):
    """When that peak comes: ms from the start of the run."""
    return 1e3 * float(run.time[int(np.argmax(np.abs(run.body_acceleration)))])


def felt(run, threshold=THRESHOLD):
    """When the wheel's acceleration first passes a threshold in m/s2: s from the start of the run; NaN if never."""
    loud = np.flatnonzero(np.abs(run.wheel_acceleration) > threshold)
    return float(run.time[loud[0]]) if len(loud) else math.nan


@lru_cache(4096)
def always(key, height, speed, setting, blow_off=1.0):
    """The `Run` with the valve left in one setting, 0 open to 1 locked."""
    return over(machine(key, blow_off), height, speed, Passive(setting))


def excess(run, key, height, speed):
    """Cost in per cent of a run over a step: its peak over the open machine's, less 1."""
    return 100.0 * (peak(run) / peak(always(key, height, speed, 0.0)) - 1.0)


@lru_cache(65536)
def cost(key, height, speed, response, threshold=THRESHOLD, blow_off=1.0):
    """Cost in per cent of a normally closed valve that is half open `response` s after the threshold was passed."""
    run = over(machine(key, blow_off), height, speed, ModeSwitch(threshold=threshold), responding(response))
    return excess(run, key, height, speed)


def locked_cost(key, height, speed, blow_off=1.0):
    """Cost in per cent of a valve that never opens."""
    return excess(always(key, height, speed, 1.0, blow_off), key, height, speed)


@lru_cache(8192)
def chain_costs(key, height, speed, name, threshold=THRESHOLD, blow_off=1.0):
    """Costs in per cent through a whole chain, the contact at each of `PHASES` places between two samples."""
    timing = CHAINS[name]
    leads = np.arange(PHASES) / PHASES / timing.sample_rate
    law = ModeSwitch(threshold=threshold)
    runs = [over(machine(key, blow_off), height, speed, law, timing, lead) for lead in leads]
    return np.array([excess(run, key, height, speed) for run in runs])


def whole(percent):
    """A whole number as it is written: a true minus sign, no negative zero."""
    return "0" if round(percent) == 0 else f"{percent:.0f}".replace("-", "\N{MINUS SIGN}")


def _passes(time, values, level):
    """When `values` first pass `level` upwards, between the logged points linearly; NaN if never."""
    beyond = np.flatnonzero(values > level)
    if not len(beyond):
        return math.nan
    k = int(beyond[0])
    if k == 0:
        return float(time[0])
    share = (level - values[k - 1]) / (values[k] - values[k - 1])
    return float(time[k - 1] + share * (time[k] - time[k - 1]))


def half_open(run):
    """When the valve first is half open or more: s from the start of the run; NaN if never."""
    return _passes(run.time, -run.valve, -0.5)


def blown_off(run):
    """When a damper that stays locked first gives way: s from the start of the run; NaN if never."""
    knee = run.vehicle.lockout_curve.compression.knee
    return _passes(run.time, run.wheel_velocity - run.body_velocity, knee)


@lru_cache
def released(key, height, speed):
    """What a late opening leaves behind, the quick chain's mean: (time half open in s, the `Run`, tyre's compression at
    that time in m with the valve always open and with this one).
    """
    vehicle, climb = machine(key), wheel_step.step(FLEET[key].wheel_radius, height)
    late = over(vehicle, height, speed, ModeSwitch(threshold=THRESHOLD), responding(Chain.of(QUICK).mean))
    at = half_open(late)
    pressed = (float(climb.rise(speed * at) - np.interp(at, run.time, run.wheel_height))
               for run in (always(key, height, speed, 0.0), late))  # fmt: skip
    return at, late, *pressed


def exchanged(key, height, speed, wheel_from):
    """Peak in m/s2 of a body that starts open, at the time of `released`, over a wheel taken from "open" or "late"."""
    vehicle, climb = machine(key), wheel_step.step(FLEET[key].wheel_radius, height)
    at, late, *_ = released(key, height, speed)
    opened = always(key, height, speed, 0.0)

    def state(run, *names):
        return [float(np.interp(at, run.time, getattr(run, name))) for name in names]

    source = {"open": opened, "late": late}[wheel_from]
    start = (*state(opened, "body_height", "body_velocity"), *state(source, "wheel_height", "wheel_velocity"))
    run = simulate(vehicle, lambda time: climb.rise(speed * (at + time)), SECONDS, Passive(0.0), start=start,
                   log_step=FINE)  # fmt: skip
    return peak(run)


# --- what the sensor feels while the damper is locked, in closed form -------------------------------------------------


@lru_cache
def reading():
    """The wheel's reading at first contact in named steps; the body is held, spring and seals are left out."""
    import sympy as sp

    from helpers.models.quarter_car import Step

    m, c, k, j, t, s = sp.symbols("m_u c k_t j t s", positive=True)
    bump, slope, v = sp.symbols(r"a_\mathrm{bump} s_0 v", positive=True)
    z = sp.Function("z_u")(t)
    newton = sp.Eq(m * z.diff(t, 2), k * (j * t - z) - c * z.diff(t))
    transform = k * j / (m * s**2 + c * s + k)
    free = sp.inverse_laplace_transform(transform.subs(c, 0), s, t)
    stiff = sp.inverse_laplace_transform(transform.subs(m, 0), s, t)
    limit = sp.solve(sp.Eq(stiff.subs(t, 0).subs(j, v * slope), bump), v)[0]
    over_time = sp.Function("a")(t)
    return (
        Step("Newton's law for the wheel", "The ground rises evenly, $j t$ after a time $t$; the tyre pushes up, the "
             "damper holds back.", newton),
        Step("Laplace", "Transform of the acceleration $a = \\ddot z_u$, from rest.", sp.Eq(sp.Symbol("A"), transform)),
        Step("Damper of no force", "The wheel swings on its tyre: largest reading $j\\sqrt{k_t/m_u}$.",
             sp.Eq(over_time, free)),
        Step("Damper of great firmness", "The wheel's mass no longer counts: largest reading $j k_t/c$, at once.",
             sp.Eq(over_time, stiff)),
        Step("Limit", "The speed at which this largest reading, with $j = v s_0$, is the threshold.",
             sp.Eq(sp.Symbol(r"v_\mathrm{limit}"), limit)),
    )  # fmt: skip


@lru_cache
def _limit():
    """The last step of `reading` as a function of threshold, firm coefficient, tyre rate, slope."""
    import sympy as sp

    names = (r"a_\mathrm{bump}", "c", "k_t", "s_0")
    return sp.lambdify([sp.Symbol(name, positive=True) for name in names], reading()[-1].result.rhs)


def largest_reading(key, height, speed):
    """The closed form j k_t/c of `reading`, m/s2: what a locked wheel reads at the most, the body held still."""
    vehicle = machine(key)
    slope = wheel_step.step(vehicle.wheel_radius, height).first_slope
    return speed * slope * vehicle.tyre_rate / vehicle.lockout_curve.compression.low


def hidden_below(key, height, threshold=THRESHOLD):
    """Speed in m/s below which the locked damper hides a step from the sensor until it blows off: `reading`'s limit."""
    vehicle = machine(key)
    slope = wheel_step.step(vehicle.wheel_radius, height).first_slope
    return float(_limit()(threshold, vehicle.lockout_curve.compression.low, vehicle.tyre_rate, slope))


# --- budgets --------------------------------------------------------------------------------------------------------

ALLOWED = 10.0  # %
SPEEDS = np.arange(2.0, 20.5, 1.0)  # m/s
RESPONSES = np.arange(0.0, 0.0241, 0.001)  # s


@lru_cache(16)
def _ground(radius, height, length):
    """A step whose first contact is at the start: the spacing, 2 mm or so, divides the distance to the top exactly."""
    distance = wheel_step.step(radius, height).length
    before = round(distance / 0.002)
    spacing = distance / before
    places = np.arange(math.ceil(length / spacing) + 1)
    return Profile.of(np.where(places >= before, height, 0.0), spacing)


@lru_cache(64)
def cost_map(key, height, threshold=THRESHOLD, blow_off=1.0):
    """Cost in per cent over RESPONSES (rows) and SPEEDS (columns), all rides stepped abreast."""
    vehicle, law = machine(key, blow_off), ModeSwitch(threshold=threshold)
    timings = {response: responding(response) for response in RESPONSES.tolist()}

    def ride_at(response, speed):
        # A few lengths of ground serve all speeds, each ridden for SECONDS or a little longer.
        length = SECONDS * min(top for top in (3.0, 5.0, 8.0, 12.0, 20.0) if speed <= top)
        ground = _ground(vehicle.wheel_radius, height, length)
        return Ride(vehicle, ground, speed, law, timings[response], log_step=FINE)

    grid = {"response": RESPONSES.tolist(), "speed": SPEEDS.tolist()}
    peaks = sweep(ride_at, grid, metrics="peak_acceleration")["peak_acceleration"]
    least = [peak(always(key, height, speed, 0.0)) for speed in SPEEDS.tolist()]
    return 100.0 * (peaks / least - 1.0)


@lru_cache(512)
def budget(key, height, speed, threshold=THRESHOLD, blow_off=1.0):
    """The `deadline` of one machine, step and speed, in ms, searched in steps of 0.5 ms up to 30."""
    responses = np.arange(0.0, 0.0301, 5e-4)
    costs = []
    for response in responses:
        costs.append(cost(key, height, speed, float(response), threshold, blow_off))
        if costs[-1] > ALLOWED:
            break
    return 1e3 * deadline(responses[: len(costs)], costs, ALLOWED)


# --- hold time over successive roots ------------------------------------------------------------------------------


def row_of_roots(vehicle, height, apart, count):
    """The axle's height over `count` half-round roots `apart` m apart, as a function of distance from first contact."""
    root = wheel_step.half_round(vehicle.wheel_radius, height)

    def rise(distance):
        aside = np.abs(distance[:, None] - root.length - apart * np.arange(count)).min(axis=1)
        return root.rise(root.length - aside)

    return rise


@lru_cache(256)
def loud_for(key, height, speed, threshold=THRESHOLD):
    """Over one root, valve open: first and last reading above the threshold, and the longest gap between two, in s."""
    vehicle = machine(key)
    rise = row_of_roots(vehicle, height, 1.0, 1)
    run = simulate(vehicle, lambda time: rise(speed * time), 1.0, Passive(0.0), log_step=FINE)
    loud = run.time[np.abs(run.wheel_acceleration) > threshold]
    return float(loud[0]), float(loud[-1]), float(np.diff(loud).max())


@lru_cache(256)
def coming_down(key, height, speed, apart, count=5):
    """Least over a row of roots, valve open: the largest reading in m/s2 between a root's top and the next root."""
    vehicle = machine(key)
    rise = row_of_roots(vehicle, height, apart, count)
    run = simulate(vehicle, lambda time: rise(speed * time), count * apart / speed, Passive(0.0), log_step=FINE)
    top = wheel_step.half_round(vehicle.wheel_radius, height).length
    size = np.abs(run.wheel_acceleration)
    spans = [(speed * run.time > k * apart + top) & (speed * run.time < (k + 1) * apart) for k in range(count)]
    return float(min(size[span].max() for span in spans))


def felt_root(height, speed, threshold):
    """Bike, locked: when a single root is felt, s after contact."""
    rise = row_of_roots(machine("bike"), height, 1.0, 1)
    return felt(simulate(machine("bike"), lambda time: rise(speed * time), 0.3, Passive(1.0), log_step=FINE), threshold)


def hold_on_paper(key, height, speed, apart, threshold=THRESHOLD):
    """Least hold time in s that carries the valve from root to root, in closed form."""
    first, last, gap = loud_for(key, height, speed, threshold)
    return max(apart / speed - (last - first), gap)


def closings(key, height, speed, apart, law, timing=QUICK, count=5):
    """How often the valve closes between its first opening and its arrival at the last of `count` roots."""
    vehicle = machine(key)
    rise = row_of_roots(vehicle, height, apart, count)
    arrives = (count - 1) * apart / speed
    run = simulate(vehicle, lambda time: rise(speed * time), arrives + 0.05, law, timing, log_step=FINE)
    rising = np.diff(run.valve[run.time <= arrives + timing.delay]) > 1e-9
    return int(np.count_nonzero(rising[1:] & ~rising[:-1]))


@lru_cache(256)
def least_hold(key, height, speed, apart, chain="quick chain", threshold=THRESHOLD):
    """Least hold time in s, by simulation to a millisecond, at which the valve does not close between the roots."""
    low, high = 0.0, apart / speed + 0.1
    while high - low > 1e-3:
        middle = 0.5 * (low + high)
        law = ModeSwitch(threshold=threshold, hold=middle)
        low, high = (middle, high) if closings(key, height, speed, apart, law, CHAINS[chain]) else (low, middle)
    return high
