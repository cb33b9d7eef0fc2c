"""Rides and tables of workbook 07: the warning, the modes, the nulls, and a rear valve told by the front wheel."""

from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import sympy as sp

from helpers.control.front_sensed import FrontSensed
from helpers.models import pitch_plane
from helpers.models.half_car import HALF_CARS
from helpers.models.quarter_car import Step
from helpers.models.terrain import fell_loop, half_round
from helpers.simulation.two_wheels import lever, ride_two
from helpers.simulation.weighting import weighted_rms
from helpers.teaching.page import Shown, table

BIKE = HALF_CARS["bike"]
# Threshold and hold time of workbook 04's dealer; 10 ms to open, 20 ms ahead at the rear, 20 ms to close.
RULE = FrontSensed(threshold=40.0, hold=0.5, closing=0.02)
# On the climb each hold time is the shortest in steps of 100 ms that leaves the vibration alone: `hold_table`.
CLIMB = replace(RULE, hold=0.4)
EARLIER = replace(CLIMB, lead=0.1)
AT_ONCE = replace(RULE, lead=1.0, hold=0.6)  # 390 ms ahead there, as soon as the latency allows: no speed is needed
# A machine whose fork no sensor speaks to: it stays locked.
CARS = HALF_CARS | {
    "fork locked": replace(BIKE, front=BIKE.front.changed(open_curve=BIKE.front.lockout_curve))
}
ROOT_AT = 1.5  # m along the profile
LOOPS = range(8, 14)  # seeds: loop 8 is the team's own, the others are laid out by the same rules
OPEN, LOCKED, FORK_OPEN = (0.0, 0.0), (1.0, 1.0), (0.0, 1.0)
FINE = 1e-4  # s, time step and log of rides whose peak is read: the peak of a late opening is a spike


def by(rule, served_by):
    """The same rule with the rear valve told by 'front', 'rear' or 'either'."""
    return replace(rule, served_by=served_by)


def off(rule, percent):
    """The same rule with a speed estimate wrong by so many per cent."""
    return replace(rule, speed_error=percent / 100.0)


@lru_cache(maxsize=256)
def root(height_mm, after):
    """A root 300 mm long on level ground, and `after` m behind it."""
    return half_round(1e-3 * height_mm, ROOT_AT, ROOT_AT + after, 0.005, width=0.3)


@lru_cache(maxsize=512)
def ridden(machine="bike", speed=10.0, rule=None, valves=LOCKED, height_mm=50):
    """The `TwoWheelRun` over one root; without a rule the valves stay as they are."""
    ground = root(height_mm, max(3.0, 1.1 * speed))
    return ride_two(CARS[machine], ground, speed, rule, valves, longest_step=FINE, log_step=FINE)


def peaks(*where, **more):
    """Largest size of the body's acceleration in m/s2 above the front and above the rear wheel: array (2,)."""
    run = ridden(*where, **more)
    return np.array([np.abs(end.body_acceleration).max() for end in (run.front, run.rear)])


class Shaken(NamedTuple):
    """Vibration above each wheel in m/s2, weighted by Wk, and the share of time in which the rear valve is locked."""

    rear: float
    front: float
    locked: float


@lru_cache(maxsize=512)
def section_ride(section, rule, valves=LOCKED, machine="bike", seed=8, speed=None):
    """How a section shakes a machine at its own pace, or at `speed` in m/s."""
    car = CARS[machine]
    run = ride_two(car, _loop(seed).section(section).profile, speed or car.rear.speed(section), rule, valves)
    rate = 1.0 / (run.time[1] - run.time[0])
    rear, front = (weighted_rms(end.body_acceleration, rate, "Wk") for end in (run.rear, run.front))
    return Shaken(rear, front, float(np.mean(run.rear.valve)))


def loops(section, rule, valves=LOCKED, machine="bike", seeds=LOOPS):
    """`section_ride` on each of the loops: array (n, 3)."""
    return np.array([section_ride(section, rule, valves, machine, seed) for seed in seeds])


@lru_cache
def _loop(seed):
    return fell_loop(seed)


# --- the model ------------------------------------------------------------------------------------------------------


def warning_table():
    """Wheelbase and warning of each machine."""
    rows = []
    for car in HALF_CARS.values():
        own = [car.warning(car.rear.speed(section)) for section in ("climb", "traverse", "descent")]
        known = [car.warning(speed) for speed in (5.0, 10.0, 20.0)]
        rows.append((car.name, f"{car.wheelbase:.2f}", *(f"{1e3 * t:.0f}" for t in (*known, *own))))
    return table(
        ("machine", "wheelbase (m)", "at 5 m/s (ms)", "at 10 m/s (ms)", "at 20 m/s (ms)", "its climb (ms)",
         "its traverse (ms)", "its descent (ms)"), rows,
    )  # fmt: skip


def derivation():
    """Show the body over two wheels step by step, up to its two equations of motion."""
    wanted = ("Ends", "Bounce, road flat", "Pitch, road flat")
    return Shown("\n\n".join(step._repr_markdown_() for step in pitch_plane.derivation() if step.name in wanted))


def modes_table():
    """Bounce and pitch of each machine and where the body stands still in each."""
    rows = []
    for car in HALF_CARS.values():
        alone, whole = pitch_plane.modes(car, wheels=False), pitch_plane.modes(car)
        told = []
        for kind in ("bounce", "pitch"):
            k = alone.kind.index(kind)
            side = "ahead" if alone.node[k] > 0.0 else "behind"
            told += [f"{alone.frequency_hz[k]:.2f}", f"{abs(alone.node[k]):.2f} {side}"]
            told.append(f"{whole.frequency_hz[whole.kind.index(kind)]:.2f}")
        rows.append((car.name, *told))
    return table(
        ("machine", "bounce, rigid tyres (Hz)", "its node (m)", "bounce, with wheels (Hz)", "pitch, rigid tyres (Hz)",
         "its node (m)", "pitch, with wheels (Hz)"), rows,
    )  # fmt: skip


def ends_table():
    """What a push at one end does to the other, as built and with k^2 = ab."""
    rows = []
    for car in HALF_CARS.values():
        own = lever(car)
        alike = lever(car.decoupled())
        rows.append((
            car.name, f"{car.front_arm:.2f}", f"{car.rear_arm:.2f}", f"{car.gyration:.2f}", f"{car.dynamic_index:.2f}",
            f"{100 * own[1, 0] / own[0, 0]:.0f}", f"{100 * abs(alike[1, 0] / alike[0, 0]):.0f}",
        ))  # fmt: skip
    return table(
        ("machine", "$a$ (m)", "$b$ (m)", "$k$ (m)", "ratio $k^2/(ab)$", "rear's answer to a push at the front (%)",
         "the same, were $k^2 = ab$ (%)"), rows,
    )  # fmt: skip


def wheelbase_steps():
    """Show what two wheels in line make of one wave."""
    omega, tau = sp.symbols("omega tau", positive=True)
    n = sp.Symbol("n", integer=True, nonnegative=True)
    half = omega * tau / 2
    delayed = sp.exp(-sp.I * omega * tau)
    mean, difference = (1 + delayed) / 2, (1 - delayed) / 2
    # Both are a turn by half the delay times a real number, which is their size.
    sizes = [sp.simplify(sp.expand((part * sp.exp(sp.I * half)).rewrite(sp.cos))) for part in (mean, difference / sp.I)]
    v, length, f = sp.symbols("v L f", positive=True)
    steps = [
        Step("Two heights", "The front follows the wave; the rear does the same $\\tau = L/v$ later.",
             sp.Tuple(1, delayed)),
        Step("Bounce of the ground", "The mean of both heights; its size is this cosine's.", sizes[0]),
        Step("Pitch of the ground", "Half their difference; its size is this sine's.", sizes[1]),
        Step("No bounce", "The cosine is 0 when its angle, half the rear's lag, is a quarter turn, three quarters, and "
             "so on. The rear then lags half a turn: it is in a trough while the front is on a crest.",
             sp.Eq(f, (n + sp.Rational(1, 2)) * v / length)),
        Step("No pitch", "The sine is 0 when its angle is half a turn, a whole one, and so on. The rear then lags "
             "whole turns: both wheels are on crests at once. Here $n$ starts at 1.",
             sp.Eq(f, n * v / length)),
    ]  # fmt: skip
    return Shown("\n\n".join(step._repr_markdown_() for step in steps))


def _lowest(output, speed, about):
    """Frequency in Hz at which the bike's response is least near `about`."""
    frequency = np.linspace(0.85 * about, 1.15 * about, 601)
    size = np.abs(pitch_plane.frequency_response(BIKE, output, frequency, speed))
    return frequency[size.argmin()], size.min()


def nulls_table():
    """First nulls by the formula and in the bike's own response, and what is left there."""
    rows = []
    for speed in (3.0, 5.0, 10.0):
        null = pitch_plane.nulls(speed, BIKE.wheelbase)
        cells = []
        for output, about in (("bounce", null.bounce[0]), ("pitch", null.pitch[0])):
            found, size = _lowest(output, speed, about)
            together = abs(pitch_plane.frequency_response(BIKE, "bounce", np.array([found]))[0])
            cells += [f"{about:.2f}", f"{found:.2f}"]
            if output == "bounce":
                cells.append(f"{size / together:.2f}")
        rows.append((f"{speed:.0f}", *cells))
    return table(
        ("speed (m/s)", "first bounce null (Hz)", "least bounce of the bike (Hz)",
         "least bounce / bounce with both wheels at once",
         "first pitch null (Hz)", "least pitch of the bike (Hz)"), rows,
    )  # fmt: skip


def allowed_table():
    """How far too low the estimated speed may be, by the formula, for two leads."""
    rows = []
    for speed in (2.0, 3.0, 6.0, 10.0, 20.0):
        lowest = [100 * rule.errors_allowed(BIKE.wheelbase, speed).lowest for rule in (RULE, EARLIER)]
        rows.append((f"{speed:.0f}", f"{1e3 * BIKE.warning(speed):.0f}", *(f"{one:.1f}" for one in lowest)))
    return table(("speed (m/s)", "warning (ms)", "lowest error, lead 20 ms (%)", "lowest error, lead 100 ms (%)"), rows)


# --- the rides ------------------------------------------------------------------------------------------------------


def root_table():
    """One root at 10 m/s under each way of telling the rear valve."""
    opened = peaks(valves=OPEN)
    ways = (
        ("both open all the time", "bike", None, OPEN),
        ("both locked all the time", "bike", None, LOCKED),
        ("one sensor, rear wheel; fork stays locked", "fork locked", by(RULE, "rear"), LOCKED),
        ("a sensor at each wheel, each valve by its own", "bike", by(RULE, "rear"), LOCKED),
        ("one sensor, front wheel, tells both", "bike", RULE, LOCKED),
        ("the same, speed read 30 % low", "bike", off(RULE, -30), LOCKED),
        ("the same, speed read 30 % high", "bike", off(RULE, 30), LOCKED),
        ("one sensor, front wheel, opens both at once", "bike", replace(RULE, lead=1.0), LOCKED),
    )
    rows = []
    for name, machine, rule, valves in ways:
        found = peaks(machine, rule=rule, valves=valves)
        rows.append((name, *(f"{one:.1f}" for one in found), *(f"{one:.2f}" for one in found / opened)))
    return table(("valves", "front (m/s²)", "rear (m/s²)", "front / open", "rear / open"), rows)


LATENCIES = (1, 3, 5, 10, 20, 60, 100, 150)  # ms


def over_latency(latencies_ms, speed=10.0):
    """Peaks over the open damper's at front, at a rear with its own sensor, at a rear told by the front: (n, 3)."""
    opened = peaks(speed=speed, valves=OPEN)
    found = []
    for latency in latencies_ms:
        rule = replace(RULE, latency=1e-3 * latency)
        (front, told), (_, own) = (peaks(speed=speed, rule=by(rule, who)) / opened for who in ("front", "rear"))
        found.append((front, own, told))
    return np.array(found)


def latency_table():
    """The same root for latencies from 1 to 150 ms."""
    rows = [(one, *(f"{x:.2f}" for x in row)) for one, row in zip(LATENCIES, over_latency(LATENCIES), strict=True)]
    return table(("latency (ms)", "front / open", "rear by its own / open", "rear told by the front / open"), rows)


PACES = (("bike", (3, 6, 10, 14)), ("motorcycle", (8, 14, 20)), ("carrier", (3, 5, 8)))
HEIGHTS = (30, 40, 50)  # mm


def over_open(machine, speed, height_mm):
    """Peaks over the open damper's: locked rear, front, rear by its own, rear told, the same 30 % low: array (5,)."""
    opened = peaks(machine, speed, valves=OPEN, height_mm=height_mm)
    rules = (None, RULE, by(RULE, "rear"), off(RULE, -30))
    (_, locked), (front, told), (_, own), (_, late) = (
        peaks(machine, speed, rule, height_mm=height_mm) / opened for rule in rules
    )
    return np.array([locked, front, own, told, late])


def robust_table():
    """Least and most over roots of 30, 40 and 50 mm, for each machine at several speeds."""
    rows = []
    for machine, speeds in PACES:
        for speed in speeds:
            found = [over_open(machine, speed, height) for height in HEIGHTS]
            ranges = (f"{low:.2f} to {high:.2f}" for low, high in zip(np.min(found, 0), np.max(found, 0), strict=True))
            rows.append((f"{HALF_CARS[machine].rear.name}, {speed} m/s", *ranges))
    return table(
        ("machine, speed", "rear locked", "front", "rear by its own", "rear told by the front", "the same, 30 % low"),
        rows,
    )  # fmt: skip


def slow_table():
    """The bike at its climbing pace over each root: where being open stops paying, and why."""
    rows = []
    for height in HEIGHTS:
        run = ridden("bike", 3.0, None, OPEN, height)
        locked, _, _, told, late = over_open("bike", 3.0, height)
        opened = peaks("bike", 3.0, valves=OPEN, height_mm=height)[1]
        rows.append((height, f"{1e3 * run.rear.travel.max():.0f}", f"{opened:.1f}", *(
            f"{one:.2f}" for one in (locked, told, late)
        )))  # fmt: skip
    return table(
        ("root (mm)", "largest extension, open (mm)", "rear peak, open (m/s²)", "locked / open", "told / open",
         "told 30 % low / open"), rows,
    )  # fmt: skip


def closes_after(rule, speed):
    """When the rear valve of the bike begins to close after one root has come, by the rule, in ms."""
    return 1e3 * rule.placement(BIKE.wheelbase, speed).closes_after


def hold_table():
    """The bike's climb for hold times: at each, told and by its own are locked alike; means of the six loops."""
    rows = []
    for hold_ms in (200, 300, 400, 600):
        rule = replace(EARLIER, hold=1e-3 * hold_ms)
        low, high, own = off(rule, -20), off(rule, 30), by(rule, "rear")
        told, slow, fast, alone = (loops("climb", one).mean(axis=0) for one in (rule, low, high, own))
        rows.append((
            hold_ms, *(f"{closes_after(one, 3.0):.0f}" for one in (rule, high)), f"{slow[0]:.2f}", f"{told[0]:.2f}",
            f"{fast[0]:.2f}", f"{100 * told[2]:.0f}", f"{alone[0]:.2f}", f"{100 * alone[2]:.0f}",
        ))  # fmt: skip
    return table(
        ("hold time (ms)", "closes after the root, true (ms)", "the same, 30 % high (ms)", "told, 20 % low (m/s²)",
         "told, true (m/s²)", "told, 30 % high (m/s²)", "rear locked (%)", "by its own (m/s²)", "rear locked (%)"),
        rows,
    )  # fmt: skip


def late_by(rule, seconds, warning):
    """The rule with no lead and a speed read so that its rear valve opens that long after the root."""
    return replace(rule, lead=0.0, speed_error=warning / (warning + seconds) - 1.0)


OWN, QUICK = by(CLIMB, "rear"), 0.003
WAYS = (
    ("both open", None, OPEN),
    ("both locked", None, LOCKED),
    ("one sensor, rear wheel; fork stays locked", OWN, LOCKED),
    ("one sensor, rear wheel; fork stays open", OWN, FORK_OPEN),
    ("a sensor at each wheel, each valve by its own", OWN, LOCKED),
    ("the same, latency 3 ms", replace(OWN, latency=QUICK), LOCKED),
    ("front tells both, lead 20 ms", CLIMB, LOCKED),
    ("the same, 10 % low", off(CLIMB, -10), LOCKED),
    ("front tells both, but opens 10 ms after the root", late_by(CLIMB, 0.01, 0.4), LOCKED),
    ("front tells both, lead 100 ms", EARLIER, LOCKED),
    ("the same, 20 % low", off(EARLIER, -20), LOCKED),
    ("the same, 30 % low", off(EARLIER, -30), LOCKED),
    ("the same, 30 % high", off(EARLIER, 30), LOCKED),
    ("front tells both, lead 100 ms, latency 3 ms", replace(EARLIER, latency=QUICK), LOCKED),
    ("front tells both at once, no speed needed, hold 600 ms", AT_ONCE, LOCKED),
    ("the same, hold 500 ms", replace(AT_ONCE, hold=0.5), LOCKED),
    ("two sensors, the rear takes either, lead 100 ms", by(EARLIER, "either"), LOCKED),
    ("the same, 30 % low", off(by(EARLIER, "either"), -30), LOCKED),
)


def climb_table():
    """The bike's climb on six loops: vibration above both wheels and how long the rear valve stays locked."""
    rows = []
    for name, rule, valves in WAYS:
        found = loops("climb", rule, valves, "fork locked" if "fork stays locked" in name else "bike")
        (rear, front, locked), low, high = found.mean(axis=0), found.min(axis=0)[0], found.max(axis=0)[0]
        rows.append((name, f"{rear:.2f}", f"{low:.2f} to {high:.2f}", f"{100 * locked:.0f}", f"{front:.2f}"))
    return table(
        ("valves", "rear, mean (m/s²)", "rear, least to most", "rear locked (%)", "front, mean (m/s²)"), rows,
    )  # fmt: skip


def elsewhere_table():
    """What the warning itself buys on other ground: vibration above the rear wheel and lock, means of three loops."""
    rows = []
    for machine, section, longer in (("bike", "descent", 0.8), ("bike", "traverse", 0.8), ("carrier", "traverse", 0.6)):
        car = HALF_CARS[machine]
        late = late_by(CLIMB, 0.01, car.warning(car.rear.speed(section)))
        cells = []
        for rule in (OWN, replace(OWN, hold=longer), late, EARLIER):
            rear, _, locked = loops(section, rule, LOCKED, machine, LOOPS[:3]).mean(axis=0)
            cells.append(f"{rear:.2f} at {100 * locked:.0f} %")
        rows.append((f"{car.rear.name}, {section}", *cells))
    return table(
        ("ride", "by its own (m/s², rear locked)", "by its own, longer hold", "told, 10 ms after the bump",
         "told, lead 100 ms"), rows,
    )  # fmt: skip
