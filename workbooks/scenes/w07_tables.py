"""Rides and tables of workbook 07: the warning, the modes, the nulls, and a rear valve told by the front wheel."""

from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import sympy as sp

from helpers.control.front_sensed import FrontSensed
from helpers.models import pitch_plane, quantities
from helpers.models.half_car import HALF_CARS
from helpers.models.quarter_car import Step
from helpers.models.terrain import fell_loop, half_round
from helpers.simulation.two_wheels import lever, ride_two
from helpers.simulation.weighting import weighted_rms
from helpers.teaching.page import Shown, folded, quantity_cells, quantity_table, table

BIKE = HALF_CARS["bike"]
# Threshold and hold time of workbook 04's dealer; 10 ms to open, 20 ms ahead at the rear, 20 ms to close.
RULE = FrontSensed(threshold=40.0, hold=0.5, closing=0.02)
# On the climb the hold time is the shortest in steps of 100 ms that leaves the vibration alone: `hold_table`.
CLIMB = replace(RULE, hold=0.4)
EARLIER = replace(CLIMB, lead=0.1)
AT_ONCE = replace(RULE, lead=1.0, hold=0.6)  # 390 ms ahead there, as soon as the latency allows: no speed is needed
# A machine whose fork no sensor speaks to: it stays locked.
CARS = HALF_CARS | {"fork locked": replace(BIKE, front=BIKE.front.changed(open_curve=BIKE.front.lockout_curve))}
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
    """Wheelbase and warning of each machine at its own paces."""
    rows = []
    for car in HALF_CARS.values():
        paces = [car.rear.speed(section) for section in ("climb", "traverse", "descent")]
        told = (f"{1e3 * car.warning(pace):.0f} ms at {pace:g} m/s" for pace in paces)
        rows.append((f"{car.name}, {car.wheelbase:.2f} m", *told))
    return table(("machine, wheelbase", "on its climb", "on its traverse", "on its descent"), rows)


def derivation():
    """Show the body over two wheels step by step, up to its two equations of motion."""
    wanted = ("Ends", "Bounce, road flat", "Pitch, road flat")
    steps = [step for step in pitch_plane.derivation() if step.name in wanted]
    return folded(
        "The equations (optional)", *steps,
        "Here the tyres are rigid, the ground is level and the dampers are left out. $J = m k^2$ is the body's moment "
        "of inertia, with $k$ the *radius of gyration*: the distance from the mass centre at which the whole mass "
        "would be as hard to tip. Each equation holds a term of the other, with the factor $a k_{s1} - b k_{s2}$; the "
        "sign before it only says which way it pushes.",
    )  # fmt: skip


def modes_table():
    """Bounce and pitch of each machine with its wheels, and where its body stands still in each."""
    rows = []
    for car in HALF_CARS.values():
        alone, whole = pitch_plane.modes(car, wheels=False), pitch_plane.modes(car)
        told = [f"{whole.frequency_hz[whole.kind.index(kind)]:.2f}" for kind in ("bounce", "pitch")]
        for node in (alone.node[alone.kind.index(kind)] for kind in ("bounce", "pitch")):
            told.append(f"{abs(node):.2f} {'ahead' if node > 0.0 else 'behind'}")
        rows.append((car.name, *told))
    heads = ("machine", "bounce (Hz)", "pitch (Hz)", "node of bounce (m)", "node of pitch (m)")
    return folded(
        "All three machines (optional)", table(heads, rows),
        "Frequencies with wheels and tyres; nodes as in the sketch, on rigid tyres, counted from the mass centre.",
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
    sizes = [sp.expand(part * sp.exp(sp.I * half)).rewrite(sp.cos).expand() for part in (mean, difference / sp.I)]
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
    return folded("The steps (optional)", *steps)


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
    heads = (
        "speed (m/s)",
        "first bounce null (Hz)",
        "least bounce of the bike (Hz)",
        "least bounce / bounce with both wheels at once",
        "first pitch null (Hz)",
        "least pitch of the bike (Hz)",
    )
    return folded(
        "Formula and machine at three speeds (optional)", table(heads, rows),
        "They agree within 4 %. They are not equal, and a fifth to a quarter of the bounce is left, because front and "
        "rear are not built alike, so that each bounce brings some pitch.",
    )  # fmt: skip


def _row(symbol, told, *values):
    """Cells of the parameter table under a symbol of the page's own."""
    return [symbol, *quantity_cells(told, *values)[1:]]


def _slopes(curve):
    """Least and most slope of a damper's curve in N s/m."""
    slopes = [slope for side in (curve.rebound, curve.compression) for slope in (side.low, side.high)]
    return f"{min(slopes):.0f} to {max(slopes):.0f}"


def parameters():
    """The bike and the rule: what the page names, and folded all that the rides take besides."""
    car = {row.name: row for row in quantities.table(BIKE)}
    rule = {row.name: row for row in quantities.table(RULE)}
    front, rear = ({row.name: row for row in quantities.table(end)} for end in (BIKE.front, BIKE.rear))

    def both(symbol, name):
        values = front[name].value, rear[name].value
        return _row(symbol, front[name], *values if values[0] != values[1] else values[:1])

    core = [
        _row("$L$", car["wheelbase"]), _row("$k$", car["gyration"]),
        both("$m_{s1}$, $m_{s2}$", "body_mass"), both("$k_{s1}$, $k_{s2}$", "spring_rate"),
        _row("threshold", rule["threshold"]), _row("latency", rule["latency"]),
        _row("$t_\\mathrm{lead}$", rule["lead"]), _row("$t_h$", rule["hold"]),
    ]  # fmt: skip
    others = [
        both(f"${told.symbol}$" if told.symbol else name.replace("_", " "), name)
        for name, told in front.items()
        if name not in ("body_mass", "spring_rate", "pedal_force") and np.isfinite(told.value)
    ]
    others += [_row("$e$", rule["speed_error"]), _row("closing", rule["closing"])]
    firm, hard = (end.lockout_curve.compression for end in (BIKE.front, BIKE.rear))
    looked_up = folded(
        "All other values (optional)", quantity_table(others),
        f"The rides use curves. Open: {_slopes(BIKE.front.open_curve)} N s/m in front, {_slopes(BIKE.rear.open_curve)} "
        f"behind. Locked: {firm.low:.0f} and {hard.low:.0f} N s/m in compression up to a blow-off at "
        f"{firm.low * firm.knee:.0f} and {hard.low * hard.knee:.0f} N. The plain coefficient $c$ serves only the "
        "figure of the waves. Nobody pedals.",
    )  # fmt: skip
    told = "Two values are front and rear. Source of every value: invented for the course."
    return Shown(f"{quantity_table(core)}\n\n{told}\n\n{looked_up}")


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
        ("own sensor, on the rear wheel only; fork locked", "fork locked", by(RULE, "rear"), LOCKED),
        ("own sensor, one on each wheel", "bike", by(RULE, "rear"), LOCKED),
        ("front tells", "bike", RULE, LOCKED),
        ("front tells, speed read 30 % low", "bike", off(RULE, -30), LOCKED),
        ("front tells, speed read 30 % high", "bike", off(RULE, 30), LOCKED),
    )
    rows = []
    for name, machine, rule, valves in ways:
        found = peaks(machine, rule=rule, valves=valves)
        rows.append((name, *(f"{one:.1f}" for one in found), *(f"{one:.2f}" for one in found / opened)))
    return table(("valves", "front (m/s²)", "rear (m/s²)", "front / open", "rear / open"), rows)


LATENCIES = (1, 5, 10, 20, 100, 150)  # ms


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
    return table(("latency (ms)", "front / open", "rear, own sensor / open", "rear, front tells / open"), rows)


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
    heads = ("machine, speed", "rear locked", "front", "rear, own sensor", "rear, front tells",
             "rear, front tells, 30 % low")  # fmt: skip
    return folded("Other roots, paces and machines (optional)", table(heads, rows))


def slow_table():
    """The bike at its climbing pace over each root: where being open stops paying, and why."""
    rows = []
    for height in HEIGHTS:
        run = ridden("bike", 3.0, None, OPEN, height)
        opened = peaks("bike", 3.0, valves=OPEN, height_mm=height)[1]
        found = [peaks("bike", 3.0, rule, height_mm=height)[1] / opened for rule in (None, RULE, off(RULE, -10))]
        extension = f"{1e3 * run.rear.travel.max():.0f}"
        rows.append((height, extension, f"{opened:.1f}", *(f"{one:.2f}" for one in found)))
    heads = ("root (mm)", "largest extension, open (mm)", "rear peak, open (m/s²)", "locked / open",
             "front tells / open", "front tells, 10 % low / open")  # fmt: skip
    return folded("The bike at 3 m/s, root by root (optional)", table(heads, rows))


ERRORS = (-25, -20, 0, 30)  # per cent, in the table of hold times


def hold_table():
    """The bike's climb for hold times and speed errors, lead 100 ms; means of the six loops."""
    rows = []
    for hold_ms in (200, 300, 400, 600):
        rule = replace(EARLIER, hold=1e-3 * hold_ms)
        found = [loops("climb", off(rule, error)).mean(axis=0) for error in ERRORS]
        locked = found[ERRORS.index(0)][2]
        rows.append((hold_ms, *(f"{one[0]:.2f}" for one in found), f"{100 * locked:.0f}"))
    heads = []
    for error in ERRORS:
        before = round(1e3 * off(EARLIER, error).placement(BIKE.wheelbase, 3.0).opens_before)
        when = f"{abs(before)} ms {'before' if before > 0 else 'after'}" if before else "with the root"
        heads.append(f"{f'{abs(error)} % ' + ('low' if error < 0 else 'high') if error else 'true'}: {when}")
    return table(("hold time (ms)", *heads, "rear locked (%)"), rows)


def late_by(rule, seconds, warning):
    """The rule with no lead and a speed read so that its rear valve opens that long after the root."""
    return replace(rule, lead=0.0, speed_error=warning / (warning + seconds) - 1.0)


OWN, QUICK = by(CLIMB, "rear"), 0.003
ALONE = "own sensor, on the rear wheel only; fork locked"
WAYS = (
    ("both always open", None, OPEN),
    ("both always locked", None, LOCKED),
    (ALONE, OWN, LOCKED),
    ("own sensor, one on each wheel", OWN, LOCKED),
    ("own sensor, one on each wheel, 17 m/s², hold 200 ms", replace(OWN, threshold=17.0, hold=0.2), LOCKED),
    ("front tells", EARLIER, LOCKED),
    ("front tells, speed read 30 % low", off(EARLIER, -30), LOCKED),
    ("both at once, hold 600 ms", AT_ONCE, LOCKED),
)
LATE = late_by(CLIMB, 0.01, 0.4)
MORE_WAYS = (
    ("own sensor, one on each wheel", OWN, LOCKED),
    ("front tells", EARLIER, LOCKED),
    ("front tells, but opens 10 ms after the root", LATE, LOCKED),
    ("own sensor, on the rear wheel only; fork open", OWN, FORK_OPEN),
    ("own sensor, latency 3 ms", replace(OWN, latency=QUICK), LOCKED),
    ("front tells, latency 3 ms", replace(EARLIER, latency=QUICK), LOCKED),
    ("own sensor, 17 m/s², hold 300 ms", replace(OWN, threshold=17.0, hold=0.3), LOCKED),
    ("front tells, 17 m/s², hold 300 ms", replace(EARLIER, threshold=17.0, hold=0.3), LOCKED),
    ("front tells, lead 20 ms, 10 % low", off(CLIMB, -10), LOCKED),
    ("front tells, lead 40 ms, hold 300 ms, 5 % low", off(replace(CLIMB, lead=0.04, hold=0.3), -5), LOCKED),
    ("both at once, hold 500 ms", replace(AT_ONCE, hold=0.5), LOCKED),
    ("either sensor, lead 100 ms", by(EARLIER, "either"), LOCKED),
    ("either sensor, lead 100 ms, 30 % low", off(by(EARLIER, "either"), -30), LOCKED),
)


def climb_table():
    """The bike's climb on six loops: vibration above both wheels and how long the rear valve stays locked."""
    rows = []
    for name, rule, valves in WAYS:
        found = loops("climb", rule, valves, "fork locked" if name == ALONE else "bike")
        rear, front, locked = found.mean(axis=0)
        rows.append((name, f"{rear:.2f}", f"{100 * locked:.0f}", f"{front:.2f}"))
    return table(("rule", "rear (m/s²)", "rear locked (%)", "front (m/s²)"), rows)


def more_table():
    """Further rules on the same six climbs, with the least and the most of the loops."""
    rows = []
    for name, rule, valves in MORE_WAYS:
        found = loops("climb", rule, valves)
        (rear, front, locked), low, high = found.mean(axis=0), found.min(axis=0)[0], found.max(axis=0)[0]
        rows.append((name, f"{rear:.2f}", f"{low:.2f} to {high:.2f}", f"{100 * locked:.0f}", f"{front:.2f}"))
    heads = ("rule", "rear (m/s²)", "rear, least to most", "rear locked (%)", "front (m/s²)")
    return folded("More rules, and how much the six loops differ (optional)", table(heads, rows))


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
    heads = ("ride", "own sensor (m/s², rear locked)", "own sensor, longer hold",
             "front tells, 10 ms after the bump", "front tells")  # fmt: skip
    told = "Means of the loops 8 to 10. Longer hold: 800 ms on the bike, 600 on the carrier: locked about as long."
    return folded("Descent and traverse (optional)", told, table(heads, rows))
