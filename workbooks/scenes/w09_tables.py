"""Derivation and tables of workbook 09: draws, hours, batteries, peaks, heat, and seconds of a lap."""

import math
from functools import lru_cache

import sympy as sp

from helpers.control.laws import Passive
from helpers.models.actuators import Solenoid
from helpers.models.cells import CELLS, COIN, JOULES_PER_WH, LI_ION, NIMH, Pack, pack_for
from helpers.models.energy import (
    HOUR,
    RIDER_ALL_DAY,
    break_even_mass,
    climb_seconds,
    damper_heat,
    days_per_charge,
    hours_per_charge,
    recovered,
    seconds_from_power,
)
from helpers.models.geared_motor import GearedMotor
from helpers.models.orifice import BAR
from helpers.models.quarter_car import Step
from helpers.models.terrain import fell_loop, iso_8608, washboard
from helpers.models.valve import BALANCED, PILOTED, POPPET
from helpers.models.vehicles import FLEET, TRAIL_BIKE
from helpers.simulation.duty import WHEELS, lap
from helpers.simulation.metrics import metrics
from helpers.simulation.runs import ride, ride_section, simulate
from helpers.teaching.page import Shown, table
from scenes.w09_numbers import (
    CAGE_MASS,
    CAGE_VOLUME,
    COURSE,
    CYCLES,
    DAY,
    MOTOR_CONSTANT,
    NAMED,
    OFFERS,
    OTHERS,
    RECOVERED,
    RIDER,
    WINTER,
    buffer_energy,
    descent_seconds,
    drawing,
    duty,
    felt,
    from_the_legs,
    half_kilogram,
    largest_push,
    lasting,
    locked_on_the_climb,
    over_loops,
    over_the_loop,
    ranges,
    ridden,
    suspension,
    windings,
    winter,
)

SECTIONS = ("climb", "traverse", "descent")
CLIMB = fell_loop().section("climb")
CLIMB_HEIGHT = CLIMB.gradient * CLIMB.profile.length  # m
DESCENT = fell_loop().section("descent").profile.length  # m
CLIMB_TIME = CLIMB.profile.length / TRAIL_BIKE.climb_speed  # s


def _round(value, digits=3):
    """Three significant digits, without a power of ten."""
    return f"{float(f'{value:.{digits}g}'):g}"


# --- derivation -------------------------------------------------------------------------------------------------------

P, P_0, w, n, E_1, P_h, sigma, S, eta = sp.symbols("P P_0 w n E_1 P_h sigma S eta", positive=True)
T, E, q, m, e, o, t_d, g, h, t_c, P_r, p = sp.symbols("T E q m e o t_d g h t_c P_r p", positive=True)
DRAW = P_0 + w * (n * E_1 + sigma * P_h + S / eta)
HOURS = q * E / DRAW
COUNTS = -w * n * E_1 / P  # per cent of hours per per cent of the energy of a move


@lru_cache
def draw_steps():
    """Draw, hours per charge, how far an input moves them, the battery of a day."""
    assert sp.simplify(E_1 / HOURS * sp.diff(HOURS, E_1) - COUNTS.subs(P, DRAW)) == 0
    return (
        Step("Draw", "$P_0$ runs always. Each of $w$ wheels has $n$ moves a second of $E_1$ each, a valve held with "
             "$P_h$ for a share $\\sigma$ of the time, and pushes $S$ through a drive that passes on $\\eta$.",
             sp.Eq(P, DRAW)),
        Step("Hours per charge", "Of the energy $E$ on the label a share $q$ can be used.", sp.Eq(T, q * E / P)),
        Step("What an input counts", "If $E_1$ grows by one per cent, the hours change by so many per cent: "
             "minus its share of the draw. The same holds for every part.", COUNTS),
        Step("Battery for a day", "Cells hold $e$ a kilogram; case and wiring add a share $o$ of their mass.",
             sp.Eq(m, (1 + o) * P * t_d / (q * e))),
    )  # fmt: skip


@lru_cache
def mass_steps():
    """What a mass costs on a climb, what a saved watt is worth there, and the mass at which both are equal."""
    cost, worth = m * g * h / P_r, p * t_c / P_r
    even = sp.solve(sp.Eq(cost, worth), m)[0]
    return (
        Step("What a mass costs", "Lifted by $h$ by a rider of power $P_r$, it takes so many seconds more.", cost),
        Step("What saved power is worth", "$p$ watts that the legs lose no more, over a climb of $t_c$ seconds: the "
             "work stays the same.", worth),
        Step("Break-even mass", "Both equal: the rider's power has gone; what is left is how fast the climb rises, "
             "$h/t_c$.", sp.Eq(m, even)),
    )  # fmt: skip


def derivation(steps):
    """Show steps."""
    return Shown("\n\n".join(step._repr_markdown_() for step in steps))


def limits():
    """Show three limits that can be seen without algebra."""
    steps = (
        Step("No moves, nothing held, no pushes", "What runs always decides.",
             sp.Eq(T, HOURS.subs({n: 0, sigma: 0, S: 0}))),
        Step("Moves without end", "$n \\to \\infty$: no hours are left.", sp.limit(HOURS, n, sp.oo)),
        Step("Moves that decide all", "$P_0, P_h, S \\to 0$: twice the energy of a move, half the hours.",
             sp.Eq(T, HOURS.subs({P_0: 0, P_h: 0, S: 0}))),
    )  # fmt: skip
    return derivation(steps)


def by_expression():
    """The derived expressions against the model that the page uses, for two offers and half a kilogram."""
    pack, rows = half_kilogram(), []
    for offer in ("switch", "comfort"):
        d = duty(offer)
        known = {P_0: d.sleep + d.controller + d.wheels * d.sensor + pack.leak, w: d.wheels, n: d.actuation_rate,
                 E_1: d.per_actuation, P_h: d.holding, sigma: d.holding_share, S: d.supplied, eta: d.efficiency,
                 q: pack.cell.usable, E: pack.energy / JOULES_PER_WH}
        rows.append([OFFERS[offer], _round(float(DRAW.subs(known)), 4), _round(d.power + pack.leak, 4),
                     _round(float(HOURS.subs(known)), 4), _round(hours_per_charge(pack, d), 4)])  # fmt: skip
    return table(["bike, Fell loop", "draw and leak, expression (W)", "model (W)", "hours, expression",
                  "model"], rows)  # fmt: skip


def move_energy_table():
    """What one move of a valve takes, by the models of workbook 08: drive, valve and pressure."""
    rows = []
    cases = ((Solenoid(), "solenoid, 10 W", 10.0, BALANCED, "balanced spool"),
             (Solenoid(), "solenoid, 50 W", 50.0, POPPET, "poppet"),
             (GearedMotor(), "geared motor, 10 W", 10.0, BALANCED, "balanced spool"),
             (Solenoid(), "solenoid, 2 W", 2.0, PILOTED, "piloted valve"))  # fmt: skip
    for drive, name, watts, valve, kind in cases:
        row = [f"{name}, {kind}"]
        for bars in (5, 20):
            move = drive.move(valve, bars * BAR, watts)
            row += [f"{1e3 * move.time:.0f}", f"{move.energy:.3f}", f"{1e3 * move.holding_power:.0f}"]
        rows.append(row)
    return table(["drive, valve", "5 bar: time (ms)", "energy (J)", "to hold (mW)", "20 bar: time (ms)",
                  "energy (J)", "to hold (mW)"], rows)  # fmt: skip


def moves_table():
    """How often the mode switch moves its valve, section by section, the loop, and the loops drawn like it."""
    rows = []
    for machine, vehicle in FLEET.items():
        parts = [lap(suspension("switch", machine), sections=[name]) for name in SECTIONS]
        whole = ridden(machine, "switch")
        low, high = over_loops("switch", lambda one: one.actuations_per_hour, machine)
        rows.append([vehicle.name, *(f"{part.actuations:.0f} in {part.seconds:.0f} s" for part in parts),
                     f"{whole.actuations_per_hour:.0f}", f"{low:.0f} to {high:.0f}"])  # fmt: skip
    return table(["machine", *SECTIONS, "an hour", f"{1 + len(OTHERS)} loops"], rows)


# --- draw and hours ---------------------------------------------------------------------------------------------------


def draw_table():
    """What each offer draws on the bike and what it buys, at the chain of workbook 00."""
    rows = [["plain damper", *_felt("plain"), "0", "–", "–"], ["soft valve alone", *_felt("soft"), "0", "–", "–"]]
    for offer, name in OFFERS.items():
        low, high = over_loops(offer, lambda one: one.power)
        rows.append([name, *_felt(offer), _round(duty(offer).power),
                     f"{_round(low)} to {_round(high)}" if high - low > 1e-6 else "the same",
                     f"{_round(2.0 * windings(offer))}" if windings(offer) else "–"])  # fmt: skip
    at_once = duty("comfort", at_once=True).power
    rows.append(["the same, ideal motor at once", *_felt("comfort", True), _round(at_once), "–", "–"])
    return table(["bike", "traverse (m/s²)", "descent (m/s²)", "draw (W = Wh per hour)",
                  f"draw, {1 + len(OTHERS)} loops (W)", "windings, two motors (W)"], rows)  # fmt: skip


def _felt(offer, at_once=False):
    return [f"{felt(offer, section, at_once=at_once).vibration:.2f}" for section in ("traverse", "descent")]


def returns_table():
    """The two motors, returns lost and returns stored, without and with their windings."""
    rows = []
    for offer in ("skyhook", "comfort"):
        d = duty(offer)
        heat = 2.0 * windings(offer)
        back = d.wheels * d.efficiency * d.returned
        rows.append([OFFERS[offer], f"{d.supplied:.1f}; {d.returned:.1f}", f"{d.power:.1f}", f"{d.power - back:.1f}",
                     f"{over_the_loop(offer, 'force'):.0f}", f"{d.power + heat:.1f}", f"{d.power + heat - back:.1f}"])
    return table(["motor", "puts in; takes out, one wheel (W)", "draw, returns lost (W)", "returns stored (W)",
                  "force, rms (N)", "with windings: returns lost (W)", "returns stored (W)"], rows)  # fmt: skip


def range_table():
    """Draw and hours per charge of half a kilogram of new lithium-ion cells as ranges, and what decides them."""
    pack, rows = half_kilogram(), []
    for offer, name in OFFERS.items():
        watts, found = drawing(offer), lasting(offer, pack)
        first, second = found.swings[:2]
        rows.append([name, f"{_round(hours_per_charge(pack, duty(offer)))}",
                     " / ".join(_round(watts.quantile(share)) for share in (0.05, 0.5, 0.95)),
                     " / ".join(_round(found.quantile(share)) for share in (0.05, 0.5, 0.95)),
                     *(f"{NAMED[one.name]}: {_round(one.at_low, 2)} to {_round(one.at_high, 2)}"
                       for one in (first, second))])  # fmt: skip
    return table(["offer", "hours, the point", "draw: 5 / 50 / 95 % (W)", "hours: 5 / 50 / 95 %",
                  "moves them most (hours)", "next"], rows)  # fmt: skip


def ranges_table():
    """The ranges that go in, an input a line: lowest / most likely / highest."""
    units = {"per_actuation": "J", "actuation_rate": "", "holding": "W", "holding_share": "", "controller": "W",
             "sensor": "W", "supplied": "W", "efficiency": "", "motor_constant": "N/√W", "years": "years"}  # fmt: skip
    rows = []
    for key, unit in units.items():
        scale = HOUR if key == "actuation_rate" else 1.0
        known = [ranges(offer).get(key) for offer in OFFERS]
        name = NAMED[key] + (", motor constant" if key == "motor_constant" else "") + (f" ({unit})" if unit else "")
        rows.append([name, *(" / ".join(_round(scale * value) for value in (one.low, one.likely, one.high))
                             if one else "–" for one in known)])  # fmt: skip
    return table(["lowest / most likely / highest", *OFFERS.values()], rows)


# --- batteries --------------------------------------------------------------------------------------------------------


def cells_table():
    """Cells by chemistry."""
    rows = [[cell.name, f"{cell.energy_wh:.2f}", f"{1e3 * cell.mass:.0f}", f"{cell.wh_per_kg:.0f}",
             f"{100.0 * cell.usable:.0f}", f"{100.0 * cell.share_left(**winter(cell)):.0f}",
             _round(cell.max_current * cell.voltage)] for cell in CELLS.values()]  # fmt: skip
    return table(["cell", "energy (Wh)", "mass (g)", "Wh/kg", "usable, new, 20 °C (%)", "in its third winter (%)",
                  "most it may give (W)"], rows)  # fmt: skip


def _pack(cell, offer, share=0.5):
    """The smallest `Pack` for a day in the third winter at a quantile of the draw, its rating kept on average."""
    watts = drawing(offer).quantile(share)
    return pack_for(cell, watts * DAY * HOUR, watts, **winter(cell))


def day_table():
    """Battery of a six-hour day in its third winter, median draw, by chemistry: mass and volume."""
    rows = []
    for offer, name in OFFERS.items():
        row = [name, _round(drawing(offer).quantile(0.5) * DAY)]
        for key in ("li_ion", "lipo", "nimh", "lead"):
            pack = _pack(CELLS[key], offer)
            row.append(f"{pack.count}: {_round(pack.mass, 2)} kg, {_round(1e3 * pack.volume, 2)} l")
        rows.append(row)
    return table(["offer, six hours", "energy (Wh)", "lithium-ion", "lithium-polymer", "NiMH", "lead"], rows)


def days_table():
    """Days per charge of the mode switch, six hours ridden: three packs, in the warm and in the third winter."""
    rows = []
    for name, pack in (("one lithium-ion cell", Pack(LI_ION)), ("four NiMH cells AA", Pack(NIMH, 4)),
                       ("120 coin cells", Pack(COIN, parallel=120))):  # fmt: skip
        row = [name, f"{1e3 * pack.mass:.0f}"]
        for state in ({}, winter(pack.cell)):
            found = [_days(pack, watts, state) for watts in
                     (drawing("switch").quantile(share) for share in (0.95, 0.5, 0.05))]  # fmt: skip
            row.append(" / ".join(_round(days, 2) for days in found))
        rows.append([*row, f"{days_per_charge(pack, duty('switch'), DAY):.1f}"])
    try:
        Pack(COIN).current(duty("switch").power)
    except ValueError as refused:
        said = str(refused)
    return Shown(table(["mode switch, six hours a day", "mass (g)", "days new, 20 °C: 5 / 50 / 95 %",
                        "days, third winter", "the point, new (days)"], rows).text + f"\n\nOne coin cell: *{said}*")


def _days(pack, watts, state):
    daily = (watts - duty("switch").sleep) * DAY * HOUR + (duty("switch").sleep + pack.leak) * 24.0 * HOUR
    return pack.usable(**state) / daily


def peak_table():
    """What a push asks of the battery for a moment, against the rating of half a kilogram of cells."""
    rows = []
    for offer in ("skyhook", "comfort"):
        push = largest_push(offer)
        row = [OFFERS[offer], f"{push:.0f}"]
        for key in ("li_ion", "lipo"):
            pack = half_kilogram(CELLS[key])
            limit = pack.count * pack.cell.voltage * pack.cell.max_current
            needed = pack_for(pack.cell, 1.0, push)
            row += [f"{limit:.0f}", f"{needed.mass:.1f}", f"{buffer_energy(offer, limit):.0f}"]
        rows.append(row)
    valve = pack_for(COIN, 1.0, 2.0)
    text = table(["motor, one wheel", "largest push, from the battery (W)", "half a kg of lithium-ion gives (W)",
                  "cells for the push (kg)", "or a store of (J)", "half a kg of lithium-polymer gives (W)",
                  "for the push (kg)", "or a store of (J)"], rows).text  # fmt: skip
    return Shown(f"{text}\n\nA valve of 2 W would ask {valve.count} coin cells, {valve.mass:.2f} kg.")


# --- heat -------------------------------------------------------------------------------------------------------------


def _linear(damping):
    """The bike as the formula sees it."""
    return TRAIL_BIKE.plain(damping).changed(friction=0.0, gas_column=math.inf, bump_travel=1.0, rebound_travel=1.0)


@lru_cache
def _on_class_c(damping, seconds=160.0):
    """Heat in W of a linear damper on the bike, ridden over class C at the speed of the traverse."""
    vehicle = _linear(damping)
    road = iso_8608("C", 20.0 * round(seconds * vehicle.traverse_speed / 20.0), 0.005, seed=5, band=(0.005, 90.0))
    run = simulate(vehicle, lambda time: road.at(vehicle.traverse_speed * time) - road.height[0], seconds)
    return run.damper_heat / run.duration


def heat_table():
    """Heat of three dampers on the bike: class C by formula and ridden, on washboard alone, and on the loop."""
    rows, waves = [], washboard(0.03, 0.9, 90.0)
    for damping in (250.0, 500.0, 1000.0):
        plain = TRAIL_BIKE.plain(damping)
        on_loop = [metrics(ride_section(plain, fell_loop().section(name), Passive())).heat for name in SECTIONS]
        beaten = ride(_linear(damping), waves, TRAIL_BIKE.traverse_speed, Passive())
        one_beat = beaten.damper_heat / beaten.duration
        rows.append([f"{damping:.0f} N s/m", f"{damper_heat(plain, 'C', plain.traverse_speed):.1f}",
                     f"{_on_class_c(damping):.1f}", *(f"{heat:.0f}" for heat in (one_beat, *on_loop))])  # fmt: skip
    return table(["bike, one wheel", "class C, formula (W)", "class C, ridden (W)", "washboard alone (W)",
                  "loop: climb (W)", "traverse (W)", "descent (W)"], rows)  # fmt: skip


def recovery_table():
    """Heat on the loop with the plain damper, what could come back, and what the offers draw, machine by machine."""
    rows = []
    for machine, vehicle in FLEET.items():
        whole = ridden(machine, "plain")
        heat = WHEELS[machine] * whole.heat / whole.seconds
        rows.append([vehicle.name, f"{heat:.0f}", f"{recovered(heat, RECOVERED):.0f}",
                     *(_round(duty(offer, machine).power) for offer in OFFERS)])  # fmt: skip
    return table(["machine, all wheels", "heat on the loop (W)", f"{100 * RECOVERED:.0f} % of it (W)",
                  *(f"{name} draws (W)" for name in OFFERS.values())], rows)  # fmt: skip


# --- seconds ----------------------------------------------------------------------------------------------------------


def climb_table():
    """What half a kilogram costs: on the loop's climb and on a long one, by a strong and by a tired rider."""
    rows = [[f"{height:.0f} m", *(_round(climb_seconds(CAGE_MASS, height, rider)) for rider in (RIDER, 150.0))]
            for height in (CLIMB_HEIGHT, 600.0)]  # fmt: skip
    return table(["half a kilogram, climb of", f"{RIDER:.0f} W (s)", "150 W (s)"], rows)


def saved(offer):
    """Seconds saved on the climb, where the legs lose less, and on the descent, on the kindest yardstick."""
    share = locked_on_the_climb() if offer == "switch" else 1.0
    watts = share * (from_the_legs("plain") - from_the_legs("switch" if offer == "lever" else offer))
    fast = 0.0 if offer in ("switch", "lever") else descent_seconds(offer)
    return float(seconds_from_power(watts, RIDER, CLIMB_TIME)), float(fast)


def mass_table():
    """Break-even mass; yardstick: the time of a lap."""
    rows = []
    for offer, name in ({"lever": "lever, locked by hand"} | OFFERS).items():
        climb, descent = saved(offer)
        battery = _pack(LI_ION, offer).mass if offer in OFFERS else 0.0
        even = [break_even_mass(climb + part * descent, CLIMB_HEIGHT, RIDER) for part in (0.0, 0.1, 1.0)]
        speed = DESCENT / (DESCENT / TRAIL_BIKE.descent_speed - descent)
        rows.append([name, f"{climb:.2f}", f"{descent:.1f} ({speed:.1f} m/s)",
                     " / ".join(f"{mass:.1f}" for mass in even), _round(battery, 2)])  # fmt: skip
    return table(["yardstick: time of a lap", "saved on the climb (s)", "on the descent, at most (s; ridden at)",
                  "break-even mass: climb alone / with a tenth of the descent / with all of it (kg)",
                  "battery of a day (kg)"], rows)  # fmt: skip


def price(offer, share=0.5):
    """Seconds of a lap at a quantile of the draw: battery carried up, and its energy at the pedals, as good a drive."""
    battery = climb_seconds(_pack(LI_ION, offer, share).mass, CLIMB_HEIGHT, RIDER)
    energy = drawing(offer).quantile(share) * ridden("bike", offer).seconds * duty("comfort").efficiency
    return battery, energy / RIDER


def seconds_table():
    """Gain against the battery's mass and the same energy at the pedals; yardstick: the time of a lap."""
    rows = []
    for offer, name in OFFERS.items():
        climb, descent = saved(offer)
        mass, pedals = price(offer)
        needed = [(sum(price(offer, share)) - climb) / descent if descent else 0.0 for share in (0.05, 0.5, 0.95)]
        others = [descent_seconds(offer, seed) for seed in (COURSE, 0, 1)] if descent else []
        rows.append([name, f"{climb + descent:.1f}", f"{min(others):.1f} to {max(others):.1f}" if others else "–",
                     f"{mass:.2f}", f"{pedals:.2f}", f"{climb + descent - mass - pedals:.1f}",
                     " / ".join(f"{100.0 * max(one, 0.0):.0f} %" for one in needed) if descent else "–"])  # fmt: skip
    return table(["yardstick: time of a lap", "saved, at most (s)", "descent, three loops (s)",
                  "battery carried up (s)", "its energy at the pedals (s)", "left (s)",
                  "share of the descent needed, at 5 / 50 / 95 % of the draw"], rows)  # fmt: skip


# --- decision ---------------------------------------------------------------------------------------------------------


def decision_table():
    """The cautious battery: a day in the third winter at the draw that 95 % of the draws stay below."""
    rows = []
    for offer, name in OFFERS.items():
        watts, pack = drawing(offer).quantile(0.95), _pack(LI_ION, offer, 0.95)
        fits = pack.mass <= CAGE_MASS and pack.volume <= CAGE_VOLUME
        rows.append([name, _round(watts), _round(watts * DAY), str(pack.count), _round(pack.mass, 2),
                     _round(1e3 * pack.volume, 2), "yes" if fits else "no",
                     f"{100.0 * watts / RIDER_ALL_DAY['healthy person']:.1f} %"])  # fmt: skip
    return table(["lithium-ion, third winter", "draw, cautious (W)", "a day (Wh)", "cells", "kg", "litres",
                  "fits the cage", "of a healthy person's 75 W"], rows)  # fmt: skip


def state_sentence():
    """The cells' state in words."""
    return f"{WINTER['temperature']:g} °C, {WINTER['years']:g} years, {CYCLES:g} full cycles"


def windings_sentence():
    """From which motor constant on the skyhook motor feeds itself, its returns stored."""
    d, force = duty("skyhook"), over_the_loop("skyhook", "force")
    left = d.wheels * d.efficiency * d.returned - d.power
    enough = force / math.sqrt(left / d.wheels)
    screw = 0.05 * 2.0 * math.pi / 5e-3
    return Shown(f"Windings counted with {MOTOR_CONSTANT:g} N/√W. A motor of 0.05 N m/√W on a screw that advances 5 mm "
                 f"a turn has {screw:.0f}, on one of 10 mm {0.5 * screw:.0f}. Returns stored, the skyhook motors feed "
                 f"themselves from {enough:.0f} N/√W on.")  # fmt: skip
