"""Tables of workbook 06."""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from helpers.control.latency import Chain
from helpers.control.laws import Passive
from helpers.control.mode_switch import ModeSwitch
from helpers.models import wheel_step
from helpers.models.pedalling import Pedalling
from helpers.models.terrain import fell_loop
from helpers.models.vehicles import FLEET
from helpers.simulation.bumps import section_bumps
from helpers.simulation.metrics import bob
from helpers.simulation.runs import ride_section
from helpers.teaching.page import folded, table
from scenes import w06_numbers as numbers
from scenes.w06_numbers import CHAINS, QUICK, THRESHOLD, whole

HEIGHTS = (0.02, 0.05, 0.1)  # m
PACES = (3.0, 10.0, 20.0)  # m/s
DERIVATION = "The derivation (optional)"


def climb_steps():
    """Show the step in closed form: circle, first contact, rise, slope."""
    import sympy as sp

    *steps, slope = wheel_step.derivation()[:4]
    return folded(DERIVATION, *steps, replace(slope, result=sp.Eq(sp.Symbol("s"), slope.result)))


def reading_steps():
    """Show what the wheel's sensor reads at first contact."""
    return folded(DERIVATION, *numbers.reading())


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


def machine_table():
    """What decides at a step, machine by machine."""
    rows = []
    for key, vehicle in FLEET.items():
        side = numbers.machine(key).lockout_curve.compression
        rows.append((vehicle.name, f"{1e3 * vehicle.wheel_radius:.0f}", f"{vehicle.body_mass:g}",
                     f"{vehicle.wheel_mass:g}", f"{vehicle.tyre_rate / 1e3:g}", f"{vehicle.damping:g}", f"{side.low:g}",
                     f"{side.low * side.knee:.0f}", f"{vehicle.climb_speed:g}, {vehicle.descent_speed:g}"))  # fmt: skip
    heads = ("machine", "wheel radius (mm)", "body (kg)", "unsprung mass $m_u$ (kg)", "tyre rate $k_t$ (kN/m)",
             "open damper (N s/m)", "firm damper $c$ (N s/m)", "blow-off (N)", "climb, descent (m/s)")  # fmt: skip
    return table(heads, rows)


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
                for speed, setting in ((vehicle.climb_speed, 0.0), (vehicle.climb_speed, 1.0), (1.5 * limit, 1.0))
            ]
            rows.append((f"{vehicle.name}, {1e3 * height:.0f} mm, {vehicle.climb_speed:g} m/s", f"{limit:.1f}", *waits))
    heads = ("machine, step, climb's pace", "limit (m/s)", "open (ms)", "locked (ms)", "1.5 × limit, locked (ms)")
    return table(heads, rows)


def hidden_table():
    """Bike, locked, at the pace of the climb: what its wheel reads, and when the damper blows off."""
    rows = []
    for height in (0.05, 0.02):
        run = numbers.always("bike", height, 3.0, 1.0)
        gives_way = numbers.blown_off(run)
        size = np.abs(run.wheel_acceleration)
        rows.append((f"{1e3 * height:.0f}\N{NO-BREAK SPACE}mm", f"{numbers.largest_reading('bike', height, 3.0):.0f}",
                     f"{size[run.time < gives_way].max():.0f}", _ms(gives_way), _ms(numbers.felt(run)),
                     f"{size.max():.0f}"))  # fmt: skip
    heads = ("step", "closed form (m/s²)", "read before blow-off (m/s²)", "blows off after (ms)", "felt after (ms)",
             "read in all (m/s²)")  # fmt: skip
    return table(heads, rows)


def release_table():
    """Bike, 50 mm: what stands in tyre and peaks when the quick chain has its valve half open."""
    rows = []
    for speed in (3.0, 20.0):
        opened, locked = (numbers.always("bike", 0.05, speed, setting) for setting in (0.0, 1.0))
        at, late, free, held = numbers.released("bike", 0.05, speed)
        peaks = [numbers.peak(run) for run in (opened, late, locked)]
        rows.append((f"{speed:g}\N{NO-BREAK SPACE}m/s", f"{1e3 * at:.1f}", f"{numbers.peak_time(opened):.1f}",
                     f"{1e3 * free:.1f} / {1e3 * held:.1f}", " / ".join(f"{one:.1f}" for one in peaks),
                     f"{peaks[2] - peaks[0]:.1f}"))  # fmt: skip
    heads = ("speed", "half open after (ms)", "open body's peak after (ms)", "tyre then, open / held (mm)",
             "peak, open / quick chain / locked (m/s²)", "locked adds (m/s²)")  # fmt: skip
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
        for speed in PACES:
            wait = numbers.felt(numbers.always("bike", height, speed, 1.0))
            quick, plain = (numbers.chain_costs("bike", height, speed, name) for name in CHAINS)
            rolled = speed * (wait + Chain.of(QUICK).mean)
            share = wheel_step.step(FLEET["bike"].wheel_radius, height).share(rolled)
            gone = ("–", "–") if np.isnan(wait) else (f"{1e3 * rolled:.0f}", f"{100.0 * share:.0f} %")
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
                " / ".join(_budget(numbers.budget(key, height, speed, a)) for a in (0.0, THRESHOLD)) for speed in PACES
            ]
            rows.append((f"{vehicle.name}, {1e3 * height:.0f} mm", *cells))
    return table(("machine, step", *(f"{speed:g} m/s" for speed in PACES)), rows)


def blow_off_table():
    """Bike, 50 mm: what becomes of the cost where the lockout gives way later."""
    rows = []
    for factor in (1.0, 2.0, 4.0):
        side = numbers.machine("bike", factor).lockout_curve.compression
        cells = [
            f"{whole(numbers.chain_costs('bike', 0.05, v, 'quick chain', THRESHOLD, factor).mean())} / "
            f"{whole(numbers.locked_cost('bike', 0.05, v, factor))}"
            for v in PACES
        ]
        rows.append((f"{side.low * side.knee:.0f} N", *cells))
    return table(("blow-off", *(f"{speed:g} m/s" for speed in PACES)), rows)


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


def _range(values, digits=0):
    """Lowest to highest, written out."""
    low, high = (f"{one:.{digits}f}".replace("-0", "0") if abs(one) < 0.5 * 10**-digits else f"{one:.{digits}f}"
                 for one in (min(values), max(values)))  # fmt: skip
    return low if low == high else f"{low} to {high}".replace("-", "\N{MINUS SIGN}")


def _given(seed, way):
    """Bob in mm and time locked in per cent on one pedalled climb."""
    run = climbed(seed, *way)[1]
    return 1e3 * bob(run, Pedalling().strokes), 100.0 * float(np.mean(run.valve > 0.99))


def roots_table():
    """Usual and worst root of eight climbs, and what the rider gives for it."""
    ways = {"left locked": (Passive(1.0), QUICK)}
    ways |= {name: (ModeSwitch(threshold=a), CHAINS[chain]) for name, (chain, a) in SETTINGS.items()}
    rows = []
    for name, way in ways.items():
        costs = [root_costs(seed, *way) for seed in CLIMBS]
        bobs, locked = zip(*(_given(seed, way) for seed in CLIMBS), strict=True)
        rows.append((name, _range([np.median(one) for one in costs]), _range([one.max() for one in costs]),
                     sum(met_open(seed, *way) for seed in CLIMBS), _range(bobs, 1), _range(locked)))  # fmt: skip
    heads = ("setting", "usual root (%)", "worst root (%)", "met open, of 96", "bob (mm)", "time locked (%)")
    return table(heads, rows)


def screw_price(chain="plain chain"):
    """What a rider has on the climbs at 40 m/s2, and what the screw alone, down to 15, changes on each; in words."""
    ways = [(ModeSwitch(threshold=a), CHAINS[chain]) for a in (40.0, 15.0)]
    before, after = (np.array([_given(seed, way) for seed in CLIMBS]) for way in ways)
    bobs, locked = (after - before).T
    print(f"{chain}, 40 m/s²: bob {_range(before[:, 0], 1)} mm, time locked {_range(before[:, 1])} %")
    print(f"{chain}, 15 m/s²: bob up by {_range(bobs, 1)} mm, time locked down by {_range(-locked)} points")


def rest_table():
    """Motorcycle and carrier at their pace on the descent, the valve resting closed: what each chain costs."""
    rows = []
    for key in ("motorcycle", "carrier"):
        for height in HEIGHTS[:2]:
            speed = FLEET[key].descent_speed
            costs = [numbers.chain_costs(key, height, speed, name) for name in reversed(CHAINS)]
            rows.append((f"{FLEET[key].name}, {1e3 * height:.0f} mm, {speed:g} m/s",
                         _ms(numbers.felt(numbers.always(key, height, speed, 1.0))),
                         whole(numbers.locked_cost(key, height, speed)),
                         *(f"{whole(one.mean())} ({whole(one.max())})" for one in costs)))  # fmt: skip
    chains = (f"{name} (%)" for name in reversed(CHAINS))
    return table(("machine, step, speed", "felt after (ms)", "never opened (%)", *chains), rows)


APART = 1.2  # m
FRAGILE = ((0.03, 40.0), (0.02, 40.0), (0.05, 40.0), (0.03, 60.0))  # height m, threshold m/s2; at the climb's pace


def _holds(height, speed, threshold):
    """Least hold time in ms on paper, and by simulation with each chain."""
    paper = numbers.hold_on_paper("bike", height, speed, APART, threshold)
    found = [numbers.least_hold("bike", height, speed, APART, name, threshold) for name in CHAINS]
    return [f"{1e3 * one:.0f}" for one in (paper, *found)]


def hold_table():
    """Five roots of 30 mm in a row: least hold time on paper and by simulation, over the speed."""
    rows = []
    for speed in (3.0, 6.0, 10.0):
        first, last, _ = numbers.loud_for("bike", 0.03, speed)
        rows.append((f"{speed:g} m/s", f"{1e3 * APART / speed:.0f}", f"{1e3 * (last - first):.0f}",
                     *_holds(0.03, speed, THRESHOLD)))  # fmt: skip
    heads = ("speed", "spacing / speed (ms)", "loud for (ms)", "on paper (ms)", "quick chain (ms)", "plain chain (ms)")
    return table(heads, rows)


def fragile_table():
    """The same at 3 m/s for other roots and another threshold, with what makes the loud time jump."""
    rows = []
    for height, threshold in FRAGILE:
        first, last, pause = numbers.loud_for("bike", height, 3.0, threshold)
        rows.append((f"{1e3 * height:.0f} mm, {threshold:g}\N{NO-BREAK SPACE}m/s²", f"{1e3 * (last - first):.0f}",
                     f"{1e3 * pause:.0f}", f"{numbers.coming_down('bike', height, 3.0, APART):.0f}",
                     *_holds(height, 3.0, threshold)))  # fmt: skip
    heads = ("root, threshold", "loud for (ms)", "longest pause (ms)", "coming down reads (m/s²)", "on paper (ms)",
             "quick chain (ms)", "plain chain (ms)")  # fmt: skip
    return table(heads, rows)
