"""Derivation and tables of workbook 09: draws, hours, batteries, peaks, heat, and seconds of a lap."""

import math
from functools import lru_cache

import sympy as sp

from helpers.control.laws import Passive
from helpers.models.actuators import Solenoid
from helpers.models.cells import CELLS, COIN, JOULES_PER_WH, LI_ION, Pack, pack_for
from helpers.models.energy import (
    HOUR,
    damper_heat,
    days_per_charge,
    hours_per_charge,
    recovered,
)
from helpers.models.geared_motor import GearedMotor
from helpers.models.orifice import BAR
from helpers.models.quarter_car import Step
from helpers.models.terrain import fell_loop, iso_8608, washboard
from helpers.models.valve import BALANCED, PILOTED, POPPET
from helpers.models.vehicles import FLEET, SECTIONS, TRAIL_BIKE
from helpers.simulation.duty import WHEELS, lap
from helpers.simulation.metrics import metrics
from helpers.simulation.runs import ride, ride_section, simulate
from helpers.teaching.page import Shown, table
from scenes.w09_numbers import (
    COURSE,
    DAY,
    MOTOR_CONSTANT,
    MOTORS,
    NAMED,
    OFFERS,
    OTHERS,
    RECOVERED,
    balance,
    buffer_energy,
    drawing,
    duty,
    enough,
    felt,
    half_kilogram,
    largest_push,
    lasting,
    over_loops,
    over_the_loop,
    ranges,
    ridden,
    suspension,
    windings,
    winter,
)


def rounded(value, digits=3):
    """Three significant digits, without a power of ten."""
    return f"{float(f'{value:.{digits}g}'):g}"


# --- derivation -------------------------------------------------------------------------------------------------------

P, P_0, w, n, E_1, P_h, sigma, S, eta = sp.symbols("P P_0 w n E_1 P_h sigma S eta", positive=True)
T, E, q, m, e, o, t_d, g, h, t_c, P_r, p = sp.symbols("T E q m e o t_d g h t_c P_r p", positive=True)
DRAW = P_0 + w * (n * E_1 + sigma * P_h + S / eta)
HOURS = q * E / DRAW
MOVED = sp.Symbol(r"\frac{\Delta T / T}{\Delta E_1 / E_1}")
COUNTS = -w * n * E_1 / P  # per cent of hours per per cent of the energy of a move


@lru_cache
def draw_steps():
    """Draw, hours per charge, how far an input moves them, the battery of a day."""
    assert sp.simplify(E_1 / HOURS * sp.diff(HOURS, E_1) - COUNTS.subs(P, DRAW)) == 0
    return (
        Step("Draw", "$P_0$ runs always. Each of $w$ wheels has $n$ moves a second of $E_1$ each, a valve held with "
             "$P_h$ for a share $\\sigma$ of the time, and pushes $S$ through a drive that passes on $\\eta$. (The "
             "heat of a motor's windings, which comes in later, stands in the place of $P_h$, with $\\sigma = 1$.)",
             sp.Eq(P, DRAW)),
        Step("Hours per charge", "Of the energy $E$ on the label a share $q$ can be used.", sp.Eq(T, q * E / P)),
        Step("What an input counts", "If $E_1$ grows by one per cent, the hours change by so many per cent: "
             "minus its share of the draw. The same holds for every part.", sp.Eq(MOVED, COUNTS)),
        Step("Battery for a day", "Cells hold $e$ a kilogram; case and wiring add a share $o$ of their mass.",
             sp.Eq(m, (1 + o) * P * t_d / (q * e))),
    )  # fmt: skip


@lru_cache
def mass_steps():
    """What a mass costs on a climb, what a saved watt is worth there, and the mass at which both are equal."""
    cost, worth = m * g * h / P_r, p * t_c / P_r
    even = sp.solve(sp.Eq(cost, worth), m)[0]
    return (
        Step("What a mass costs", "Lifted by $h$ by a rider of power $P_r$, it takes so many seconds more.",
             sp.Eq(sp.Symbol(r"\Delta t_m"), cost)),
        Step("What saved power is worth", "$p$ watts that the legs lose no more, over a climb of $t_c$ seconds: the "
             "work stays the same.", sp.Eq(sp.Symbol(r"\Delta t_p"), worth)),
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
        Step("Moves without end", "$n \\to \\infty$: no hours are left.",
             sp.Eq(sp.Symbol(r"\lim_{n \to \infty} T"), sp.limit(HOURS, n, sp.oo), evaluate=False)),
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
        rows.append([OFFERS[offer], rounded(float(DRAW.subs(known)), 4), rounded(d.power + pack.leak, 4),
                     rounded(float(HOURS.subs(known)), 4), rounded(hours_per_charge(pack, d), 4)])  # fmt: skip
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
        rows.append([name, *_felt(offer), rounded(duty(offer).power),
                     f"{rounded(low)} to {rounded(high)}" if high - low > 1e-6 else "the same",
                     f"{rounded(2.0 * windings(offer))}" if windings(offer) else "–"])  # fmt: skip
    at_once = duty("comfort", at_once=True).power
    rows.append(["the same, ideal motor at once", *_felt("comfort", True), rounded(at_once), "–", "–"])
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
    """Draw and hours per charge of half a kilogram of lithium-ion cells as ranges, and what decides them."""
    pack, rows = half_kilogram(), []
    for offer, name in OFFERS.items():
        watts, found = drawing(offer), lasting(offer, pack)
        first, second = found.swings[:2]
        rows.append([name, f"{rounded(hours_per_charge(pack, duty(offer)))}",
                     " / ".join(rounded(watts.quantile(share)) for share in (0.05, 0.5, 0.95)),
                     " / ".join(rounded(found.quantile(share)) for share in (0.05, 0.5, 0.95)),
                     *(f"{NAMED[one.name]}: {rounded(one.at_low, 2)} to {rounded(one.at_high, 2)}"
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
        rows.append([name, *(" / ".join(rounded(scale * value) for value in (one.low, one.likely, one.high))
                             if one else "–" for one in known)])  # fmt: skip
    return table(["lowest / most likely / highest", *OFFERS.values()], rows)


# --- batteries --------------------------------------------------------------------------------------------------------


def cells_table():
    """Cells by chemistry."""
    rows = [[cell.name, f"{cell.energy_wh:.2f}", f"{1e3 * cell.mass:.0f}", f"{cell.wh_per_kg:.0f}",
             f"{100.0 * cell.usable:.0f}", f"{100.0 * cell.share_left(**winter(cell)):.0f}",
             rounded(cell.max_current * cell.voltage)] for cell in CELLS.values()]  # fmt: skip
    return table(["cell", "energy (Wh)", "mass (g)", "Wh/kg", "usable, new, 20 °C (%)", "in its third winter (%)",
                  "most it may give (W)"], rows)  # fmt: skip


def day_pack(cell, offer, share=0.5):
    """The smallest `Pack` for a day in the third winter at a quantile of the draw, its rating kept on average."""
    watts = drawing(offer).quantile(share)
    return pack_for(cell, watts * DAY * HOUR, watts, **winter(cell))


def day_table():
    """Battery of a six-hour day in its third winter, median draw, by chemistry: mass and volume."""
    rows = []
    for offer, name in OFFERS.items():
        row = [name, rounded(drawing(offer).quantile(0.5) * DAY)]
        for key in ("li_ion", "lipo", "nimh", "lead"):
            pack = day_pack(CELLS[key], offer)
            row.append(f"{pack.count}: {rounded(pack.mass, 2)} kg, {rounded(1e3 * pack.volume, 2)} l")
        rows.append(row)
    return table(["offer, six hours", "energy (Wh)", "lithium-ion", "lithium-polymer", "NiMH", "lead"], rows)


def days_table():
    """Days per charge of the mode switch, six hours ridden: two packs, in the warm and in the third winter."""
    rows = []
    for name, pack in (("one lithium-ion cell", Pack(LI_ION)), ("120 coin cells", Pack(COIN, parallel=120))):
        row = [name, f"{1e3 * pack.mass:.0f}"]
        for state in ({}, winter(pack.cell)):
            found = [_days(pack, watts, state) for watts in
                     (drawing("switch").quantile(share) for share in (0.95, 0.5, 0.05))]  # fmt: skip
            row.append(" / ".join(rounded(days, 2) for days in found))
        rows.append([*row, f"{days_per_charge(pack, duty('switch'), DAY):.1f}"])
    asked = 1e3 * duty("switch").power / COIN.voltage
    limit = 120 * COIN.voltage * COIN.max_current
    return Shown(table(["mode switch, six hours a day", "mass (g)", "days new, 20 °C: 5 / 50 / 95 %",
                        "days, third winter", "the point, new (days)"], rows).text +
                 f"\n\nOne coin cell may give {1e3 * COIN.max_current:g} mA, the mean draw asks {asked:.0f} mA; 120 of "
                 f"them may give {limit:.2f} W.")  # fmt: skip


def _days(pack, watts, state):
    daily = (watts - duty("switch").sleep) * DAY * HOUR + (duty("switch").sleep + pack.leak) * 24.0 * HOUR
    return pack.usable(**state) / daily


def peak_table():
    """What one motor's largest push asks of the battery, loop by loop; half a kilogram of cells feeds two motors."""
    pack, rows = half_kilogram(), []
    limit = 0.5 * pack.count * pack.cell.voltage * pack.cell.max_current
    for offer in MOTORS:
        pushes, stores, heats = zip(*((largest_push(offer, seed), buffer_energy(offer, limit, seed),
                                       (max(felt(offer, section, seed=seed).most_force for section in SECTIONS)
                                        / MOTOR_CONSTANT) ** 2) for seed in (COURSE, *OTHERS)), strict=True)
        cells = [pack_for(pack.cell, 1.0, push).mass for push in pushes]
        rows.append([OFFERS[offer], f"{pushes[0]:.0f}", *(f"{min(told):.0f} to {max(told):.0f}" for told in
                                                          (pushes, stores, heats)),
                     f"{min(cells):.1f} to {max(cells):.1f}"])  # fmt: skip
    valve = pack_for(COIN, 1.0, 2.0)
    text = table(["motor, one wheel", "largest push, from the battery (W)", f"the same, {1 + len(OTHERS)} loops (W)",
                  f"store beside {limit:.0f} W (J)", "windings at the largest force (W)", "or cells for the push (kg)"],
                 rows).text  # fmt: skip
    return Shown(f"{text}\n\nHalf a kilogram of lithium-ion cells may give {2.0 * limit:.0f} W, {limit:.0f} W a motor. "
                 f"A move of a valve of 2 W would ask {valve.count} coin cells, {valve.mass:.2f} kg.")


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
                     *(rounded(duty(offer, machine).power) for offer in OFFERS)])  # fmt: skip
    seals = [ride_section(TRAIL_BIKE.plain(), fell_loop().section(name), Passive()) for name in SECTIONS]
    rubbed = 2.0 * sum(run.friction_heat for run in seals) / sum(run.duration for run in seals)
    told = table(["machine, all wheels", "heat on the loop (W)", f"{100 * RECOVERED:.0f} % of it (W)",
                  *(f"{name} draws (W)" for name in OFFERS.values())], rows)  # fmt: skip
    motors = [duty(offer).power + 2.0 * windings(offer) for offer in MOTORS]
    return Shown(f"{told.text}\n\nOn the bike {rubbed:.0f} W of the heat are rubbed in the seals. With their windings "
                 f"its motors draw {motors[0]:.1f} and {motors[1]:.1f} W.")


def windings_sentence():
    """From which motor constant on the skyhook motor feeds itself, what its screw does, and the balance as a range."""
    from_course, found = enough("skyhook"), balance("skyhook")
    others = [enough("skyhook", seed) for seed in OTHERS]
    ratio = {lead: 2.0 * math.pi / (1e-3 * lead) for lead in (5, 20)}  # rad/m
    share = 100.0 * float((found.values < 0.0).mean())
    return Shown(
        f"A motor of 0.05 N m/√W on a screw that advances 5 mm a turn has {0.05 * ratio[5]:.0f} N/√W, on one of 20 mm "
        f"{0.05 * ratio[20]:.0f}. Its rotor, 1e-5 kg m² (from memory), then acts like {1e-5 * ratio[5] ** 2:.0f} kg "
        f"between body and wheel, or like {1e-5 * ratio[20] ** 2:.1f} kg.\n\nReturns stored at 60 %, the skyhook pair "
        f"feeds itself from {from_course:.0f} N/√W on; on the eight other loops from {min(others):.0f} to "
        f"{max(others):.0f}. Over the ranges of drive, windings and computer it draws "
        + " / ".join(rounded(found.quantile(part), 2) for part in (0.05, 0.5, 0.95))
        + f" W (5 / 50 / 95 %); in {share:.0f} % of the tries less than nothing."
    )  # fmt: skip
