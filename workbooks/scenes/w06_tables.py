"""Tables of workbook 06."""

from functools import lru_cache

import numpy as np

from helpers.control.latency import Chain
from helpers.control.laws import Passive
from helpers.control.mode_switch import ModeSelector, ModeSwitch
from helpers.models import wheel_step
from helpers.models.pedalling import Pedalling
from helpers.models.terrain import fell_loop
from helpers.models.vehicles import FLEET
from helpers.simulation.events import section_bumps
from helpers.simulation.metrics import bob
from helpers.simulation.runs import ride_section
from helpers.teaching.page import Shown, table
from scenes import w06_numbers as numbers
from scenes.w06_numbers import CHAINS, PLAIN, QUICK, THRESHOLD, whole

HEIGHTS = (0.02, 0.05, 0.1)  # m
ROOT = 0.03  # m, height of the roots in the row


def _steps(steps):
    return Shown("\n\n".join(step._repr_markdown_() for step in steps))


def climb_steps():
    """Show the step in closed form: circle, first contact, rise, slope."""
    return _steps(wheel_step.derivation()[:4])


def reading_steps():
    """Show what the wheel's sensor reads at first contact."""
    return _steps(numbers.reading())


def _span(stage):
    least, most = 1e3 * stage.least, 1e3 * stage.most
    return f"{least:.1f}" if most - least < 1e-9 else f"{least:.0f} to {most:.0f}"


def chain_table():
    """Both chains, stage by stage."""
    chains = [Chain.of(timing) for timing in CHAINS.values()]
    rows = [(one.name, _span(one), _span(other)) for one, other in zip(*(c.stages for c in chains), strict=True)]
    rows += [(f"**{name}**", *(f"**{1e3 * getattr(c, name):.1f}**" for c in chains))
             for name in ("best", "mean", "worst")]  # fmt: skip
    return table(("stage", *(f"{name} (ms)" for name in CHAINS)), rows)


def share_table():
    """Share of a step climbed after 15, 30 and 60 mm, and the slope at first contact."""
    rows = []
    for vehicle in FLEET.values():
        for height in HEIGHTS:
            climb = wheel_step.step(vehicle.wheel_radius, height)
            shares = [f"{100.0 * climb.share(x):.0f} %" for x in (0.015, 0.03, 0.06)]
            rows.append((f"{vehicle.name}, {1e3 * height:.0f} mm", *shares, f"{1e3 * climb.length:.0f}",
                         f"{climb.first_slope:.2f}"))  # fmt: skip
    heads = ("machine, step", "after 15 mm", "after 30 mm", "after 60 mm", "whole climb (mm)", "first slope")
    return table(heads, rows)


def _ms(seconds):
    return "never" if np.isnan(seconds) else f"{1e3 * seconds:.1f}"


def felt_table():
    """When the sensor passes the dealer's threshold, open and locked, at the pace of the climb and around the limit."""
    rows = []
    for key, vehicle in FLEET.items():
        for height in HEIGHTS:
            limit = numbers.hidden_below(key, height)
            waits = [
                _ms(numbers.felt(numbers.always(key, height, speed, setting)))
                for speed, setting in ((vehicle.climb_speed, 0.0), (vehicle.climb_speed, 1.0),
                                       (0.75 * limit, 1.0), (1.5 * limit, 1.0))
            ]  # fmt: skip
            rows.append((f"{vehicle.name}, {1e3 * height:.0f} mm", f"{limit:.1f}", *waits))
    heads = ("machine, step", "limit (m/s)", "climb pace, open (ms)", "climb pace, locked (ms)",
             "0.75 × limit, locked (ms)", "1.5 × limit, locked (ms)")  # fmt: skip
    return table(heads, rows)


def force_table():
    """Push of the damper on the body while nothing has moved yet, N."""
    rides = [numbers.always("bike", 0.05, speed, setting) for speed in (3.0, 20.0) for setting in (0.0, 1.0)]
    rows = []
    for after in (1, 2, 3, 6, 10):
        at = [int(np.argmin(np.abs(run.time - 1e-3 * after))) for run in rides]
        rows.append((after, *(f"{push(run)[k]:.0f}" for run, k in zip(rides, at, strict=True))))
    heads = ("after contact (ms)", "3 m/s, open (N)", "3 m/s, locked (N)", "20 m/s, open (N)", "20 m/s, locked (N)")
    return table(heads, rows)


def push(run):
    """Force of a fixed damper on the body, up positive, N."""
    curve = run.vehicle.open_curve if run.valve[0] < 0.5 else run.vehicle.lockout_curve
    return -curve.force(run.body_velocity - run.wheel_velocity)


# --- reading --------------------------------------------------------------------------------------------------------


def distance_table():
    """Bike: how far and how high before the valve is half open, and what that costs."""
    rows = []
    for height in HEIGHTS:
        for speed in (3.0, 5.0, 10.0, 20.0):
            wait = numbers.felt(numbers.always("bike", height, speed, 1.0))
            quick, plain = (numbers.chain_costs("bike", height, speed, name) for name in CHAINS)
            rolled = speed * (wait + Chain.of(QUICK).mean)
            share = wheel_step.step(FLEET["bike"].wheel_radius, height).share(rolled)
            gone = ("–", "100 %") if np.isnan(wait) else (f"{1e3 * rolled:.0f}", f"{100.0 * share:.0f} %")
            rows.append((f"{1e3 * height:.0f}", f"{speed:g}", _ms(wait), *gone,
                         f"{whole(quick.mean())} ({whole(quick.max())})",
                         f"{whole(plain.mean())} ({whole(plain.max())})",
                         whole(numbers.locked_cost("bike", height, speed))))  # fmt: skip
    heads = ("step (mm)", "speed (m/s)", "felt after (ms)", "rolled, quick chain (mm)", "climbed by then",
             "cost, quick chain (%)", "cost, plain chain (%)", "cost, never opened (%)")  # fmt: skip
    return table(heads, rows)


def _budget(milliseconds):
    if np.isnan(milliseconds):
        return "none"
    return "any" if np.isinf(milliseconds) else f"{milliseconds:.0f}"


def budget_table():
    """Response times that keep the cost within 10 %, the clock started by first touch or by the threshold."""
    rows = []
    for key, vehicle in FLEET.items():
        for height in HEIGHTS:
            cells = [
                " / ".join(_budget(numbers.budget(key, height, speed, a)) for a in (0.0, THRESHOLD))
                for speed in (3.0, 5.0, 10.0, 20.0)
            ]
            rows.append((f"{vehicle.name}, {1e3 * height:.0f} mm", *cells))
    return table(("machine, step", "3 m/s", "5 m/s", "10 m/s", "20 m/s"), rows)


def blow_off_table():
    """Bike, 50 mm: what becomes of the cost where the lockout gives way later."""
    rows = []
    for factor in (1.0, 2.0, 4.0):
        side = numbers.machine("bike", factor).lockout_curve.compression
        cells = [
            f"{whole(numbers.chain_costs('bike', 0.05, v, 'quick chain', THRESHOLD, factor).mean())} / "
            f"{whole(numbers.locked_cost('bike', 0.05, v, factor))}"
            for v in (3.0, 5.0, 10.0, 20.0)
        ]
        rows.append((f"{side.low * side.knee:.0f} N", *cells))
    return table(("blow-off", "3 m/s", "5 m/s", "10 m/s", "20 m/s"), rows)


CLIMBS = (8, 1, 2, 3, 4, 5, 6, 7)  # seeds; the first is the Fell loop's own climb
SETTINGS = {
    f"{chain}, {threshold:g} m/s²": (chain, threshold)
    for threshold in (40.0, 15.0) for chain in ("plain chain", "quick chain")
}  # fmt: skip


@lru_cache
def _climb(seed):
    bike, section = numbers.machine("bike"), fell_loop(seed).section("climb")
    return bike, section, section_bumps(bike, section)


@lru_cache
def climbed(seed, law, timing):
    """The pedalled climb of one seed: peak body acceleration over each root in m/s2, and the `Run`."""
    bike, section, roots = _climb(seed)
    run = ride_section(bike, section, law, timing)
    size = np.abs(run.body_acceleration)
    inside = zip(roots.start, roots.stop + 0.05, strict=True)
    return np.array([size[(run.time >= start) & (run.time <= stop)].max() for start, stop in inside]), run


def root_costs(seed, law, timing):
    """Cost in per cent at each root of the pedalled climb of one seed."""
    return 100.0 * (climbed(seed, law, timing)[0] / climbed(seed, Passive(0.0), QUICK)[0] - 1.0)


def met_open(seed, law, timing):
    """How many roots of a climb the wheel met with the valve half open or more."""
    _, _, roots = _climb(seed)
    run = climbed(seed, law, timing)[1]
    return int(np.count_nonzero(run.valve[np.searchsorted(run.time, roots.start)] < 0.5))


def roots_table():
    """Median cost over the twelve roots of each climb, cost of one sharp step, and what the rider gives for it."""
    ways = {"left locked": (Passive(1.0), QUICK)}
    ways |= {name: (ModeSwitch(threshold=a), CHAINS[chain]) for name, (chain, a) in SETTINGS.items()}
    rows = []
    for name, way in ways.items():
        run, edge = climbed(CLIMBS[0], *way)[1], numbers.locked_cost("bike", 0.05, 3.0)
        if name in SETTINGS:
            chain, threshold = SETTINGS[name]
            edge = numbers.chain_costs("bike", 0.05, 3.0, chain, threshold).mean()
        medians = [np.median(root_costs(seed, *way)) for seed in CLIMBS]
        already = sum(met_open(seed, *way) for seed in CLIMBS)
        locked = f"{100.0 * np.mean(run.valve > 0.99):.0f} %"
        rows.append((name, f"{whole(min(medians))} to {whole(max(medians))}", already, whole(edge),
                     f"{1e3 * bob(run, Pedalling().strokes):.1f}", locked))  # fmt: skip
    heads = ("setting", "cost at the roots (%)", "met open, of 96", "cost, 50 mm step (%)", "bob (mm)", "locked")
    return table(heads, rows)


def rest_table():
    """Each machine at its pace on the descent, nobody pedalling: the state of rest decides."""
    rows = []
    asleep = ModeSelector(rest=0.0, pedalled=False)
    for key, vehicle in FLEET.items():
        for height in HEIGHTS:
            speed = vehicle.descent_speed
            quick, plain = (numbers.chain_costs(key, height, speed, name).mean() for name in CHAINS)
            run = numbers.over(numbers.machine(key), height, speed, asleep, PLAIN)
            rows.append((f"{vehicle.name}, {1e3 * height:.0f} mm", f"{speed:g}", f"{numbers.peak_time(run):.1f}",
                         whole(numbers.locked_cost(key, height, speed)), whole(plain), whole(quick),
                         whole(numbers.excess(run, key, height, speed))))  # fmt: skip
    heads = ("machine, step", "speed (m/s)", "open peak after (ms)", "never opened (%)", "closed, plain chain (%)",
             "closed, quick chain (%)", "rests open, plain chain (%)")  # fmt: skip
    return table(heads, rows)


def hold_table():
    """Five roots in a row: least hold time on paper and by simulation."""
    rows = []
    for speed in (3.0, 6.0, 10.0):
        first, last, _ = numbers.loud_for("bike", ROOT, speed)
        for apart in (1.2, 2.4):
            paper = numbers.hold_on_paper("bike", ROOT, speed, apart)
            found = [numbers.least_hold("bike", ROOT, speed, apart, name) for name in CHAINS]
            rows.append((f"{speed:g} m/s", f"{apart:g}", f"{1e3 * apart / speed:.0f}", f"{1e3 * (last - first):.0f}",
                         f"{1e3 * paper:.0f}", *(f"{1e3 * one:.0f}" for one in found)))  # fmt: skip
    heads = ("speed", "spacing (m)", "d / v (ms)", "loud for (ms)", "on paper (ms)", "quick chain (ms)",
             "plain chain (ms)")  # fmt: skip
    return table(heads, rows)

