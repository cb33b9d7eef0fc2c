"""Derivation and tables of workbook 09: draws, hours, batteries, peaks, heat, and seconds of a lap."""

import math
from dataclasses import replace
from functools import lru_cache

import sympy as sp

from helpers.control.laws import Passive
from helpers.control.mode_switch import ModeSwitch
from helpers.models.actuators import Solenoid
from helpers.models.cells import CELLS, COIN, JOULES_PER_WH, LI_ION, Pack, pack_for
from helpers.models.energy import (
    HOUR,
    RIDER_ALL_DAY,
    damper_heat,
    hours_per_charge,
    recovered,
)
from helpers.models.geared_motor import GearedMotor
from helpers.models.orifice import BAR
from helpers.models.quarter_car import Step
from helpers.models.terrain import CLASSES, fell_loop, iso_8608, washboard
from helpers.models.valve import BALANCED, PILOTED, POPPET
from helpers.models.vehicles import FLEET, SECTIONS, TRAIL_BIKE
from helpers.simulation.duty import WHEELS, lap
from helpers.simulation.metrics import metrics
from helpers.simulation.runs import ride, ride_section, simulate
from helpers.teaching.page import Shown, table
from scenes.w09_numbers import (
    COURSE,
    DAY,
    LONG_SCREW,
    MOTOR_CONSTANT,
    MOTORS,
    NAMED,
    OFFERS,
    OTHERS,
    RECOVERED,
    SHORT,
    balance,
    buffer_energy,
    deciders,
    drawing,
    duty,
    enough,
    felt,
    half_kilogram,
    largest_push,
    lasting,
    moves_a_second,
    over_loops,
    over_the_loop,
    power_of,
    ranges,
    ridden,
    suspension,
    windings,
    winter,
)


def rounded(value, digits=3):
    """Three significant digits, without a power of ten, with a minus as wide as a plus."""
    return f"{float(f'{value:.{digits}g}'):g}".replace("-", "−")


# --- derivation -------------------------------------------------------------------------------------------------------

P, P_0, w, n, E_1, P_h, sigma, S, eta = sp.symbols("P P_0 w n E_1 P_h sigma S eta", positive=True)
T, E, q, m, e, o, t_d, g, h, t_c, P_r, p = sp.symbols("T E q m e o t_d g h t_c P_r p", positive=True)
DRAW = P_0 + w * (n * E_1 + sigma * P_h + S / eta)
HOURS = q * E / DRAW
F, K = sp.symbols("F K", positive=True)
MOVED = sp.Symbol(r"\frac{\Delta T / T}{\Delta E_1 / E_1}")
COUNTS = -w * n * E_1 / P  # per cent of hours per per cent of the energy of a move


@lru_cache
def draw_steps():
    """Draw, a motor's windings, hours per charge, how far an input moves them, the battery of a day."""
    assert sp.simplify(E_1 / HOURS * sp.diff(HOURS, E_1) - COUNTS.subs(P, DRAW)) == 0
    held, heat = over_the_loop("skyhook", "force"), windings("skyhook")
    return (
        Step("Draw", "$P_0$ runs always. Each of $w$ wheels has $n$ moves a second of $E_1$ each, a valve held with "
             "$P_h$ for a share $\\sigma$ of the time, and pushes $S$ through a drive that passes on $\\eta$.",
             sp.Eq(P, DRAW)),
        Step("Windings", "Hold a bag at arm's length: it gets no work, and you get warm. A motor that holds a force "
             f"$F$ heats its windings, by the square. The skyhook's {held:.0f} N (root mean square) with the motor "
             f"constant $K$ = {MOTOR_CONSTANT:.0f} N/√W make {heat:.1f} W in each motor. That stands in the place of "
             "$P_h$, with $\\sigma = 1$.", sp.Eq(P_h, F**2 / K**2)),
        Step("Hours per charge", "Of the energy $E$ on the label a share $q$ can be used.", sp.Eq(T, q * E / P)),
        Step("What an input counts", "If the moves are 70 % of the draw and $E_1$ grows by 1 %, the hours fall by "
             "0.7 %; every other part counts likewise, by its share of the draw. (Where a part of share $s$ becomes "
             "$k$ times as large, the hours become $T/(1 + s\\,(k - 1))$.)", sp.Eq(MOVED, COUNTS)),
        Step("Battery for a day", "Cells hold $e$ a kilogram; case and wiring add a share $o$ of their mass.",
             sp.Eq(m, (1 + o) * P * t_d / (q * e))),
    )  # fmt: skip


@lru_cache
def mass_steps():
    """What a mass costs on a climb, what a saved watt is worth there, and the mass at which both are equal."""
    cost, worth = m * g * h / P_r, p * t_c / P_r
    even = sp.solve(sp.Eq(cost, worth), m)[0]
    return (
        Step("What a mass costs", "Lifted by $h$ by a rider of power $P_r$, a mass $m$ makes the climb longer.",
             sp.Eq(sp.Symbol(r"\Delta t_m"), cost)),
        Step("What saved power is worth", "The suspension takes $p$ watts less from the legs over a climb of $t_c$ "
             "seconds; the work stays the same.", sp.Eq(sp.Symbol(r"\Delta t_p"), worth)),
        Step("Break-even mass", "Both equal. The rider's power has gone; what is left is how fast the climb "
             "rises, $h/t_c$.", sp.Eq(m, even)),
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
    """The sum with the mode switch's numbers; the derived expressions are held to the model for all offers."""
    pack, found = half_kilogram(), {}
    for offer in OFFERS:
        d = duty(offer)
        known = {
            P_0: _always(d) + pack.leak,
            w: d.wheels,
            n: d.actuation_rate,
            E_1: d.per_actuation,
            P_h: d.holding,
            sigma: d.holding_share,
            S: d.supplied,
            eta: d.efficiency,
            q: pack.cell.usable,
            E: pack.energy / JOULES_PER_WH,
        }
        found[offer] = float(DRAW.subs(known)), float(HOURS.subs(known))
        assert math.isclose(found[offer][0], d.power + pack.leak, rel_tol=1e-9)
        assert math.isclose(found[offer][1], hours_per_charge(pack, d), rel_tol=1e-9)
    d, (watts, hours) = duty("switch"), found["switch"]
    total = f"{_always(d):.4f} + 2·({d.per_actuation:g}·{d.actuation_rate:.4f} + {d.holding:g}·{d.holding_share:g})"
    return Shown(f"The mode switch by hand: P = {total} = {rounded(d.power)} W, with the leak of the cells "
                 f"{rounded(watts)} W. T = {pack.energy / JOULES_PER_WH:.1f}·{pack.cell.usable:g}/{rounded(watts)} = "
                 f"{rounded(hours)} h.")  # fmt: skip


def _always(d):
    """Draw in W of all that runs whatever the valves do."""
    return d.sleep + d.controller + d.wheels * d.sensor


def symbols_table():
    """The symbols of the derivation and their values for the mode switch on half a kilogram of lithium-ion cells."""
    d, pack = duty("switch"), half_kilogram()
    always = f"{d.sleep:g} + {d.controller:g} + 2·{d.sensor:g} = {_always(d):.4f}"
    rows = [["sleep, computer and a sensor at each wheel, $P_0$", "W", always],
            ["wheels with a controlled damper, $w$", "–", f"{d.wheels:g}"],
            ["moves of a wheel's valve, $n$", "1/s", f"{d.actuation_rate:.4f}"],
            ["energy of one move, $E_1$", "J", f"{d.per_actuation:g}"],
            ["draw of a valve that is held, $P_h$", "W", f"{d.holding:g}"],
            ["share of the ride that it is held, $\\sigma$", "–", f"{d.holding_share:g}"],
            ["what a wheel's motor puts in at its rod, $S$", "W", f"{d.supplied:g}, no motor"],
            ["efficiency of its drive, $\\eta$", "–", f"{d.efficiency:g}"],
            [f"label of {pack.count} lithium-ion cells, $E$", "Wh", f"{pack.energy / JOULES_PER_WH:.1f}"],
            ["share of it that can be used, new and warm, $q$", "–", f"{pack.cell.usable:g}"],
            ["energy of the cells by mass, $e$", "Wh/kg", f"{pack.cell.wh_per_kg:.0f}"],
            ["case and wiring, over the mass of the cells, $o$", "–", f"{pack.overhead:g}"],
            ["hours ridden in a day, $t_d$", "h", f"{DAY:g}"]]  # fmt: skip
    return table(["quantity and symbol", "unit", "mode switch"], rows)


def move_energy_table():
    """What one move of a valve takes, by the models of workbook 08: drive, valve and pressure."""
    rows = []
    cases = ((Solenoid(), "solenoid, 10 W", 10.0, BALANCED, "balanced spool"),
             (Solenoid(), "solenoid, 50 W", 50.0, POPPET, "poppet"),
             (GearedMotor(), "geared motor, 10 W", 10.0, BALANCED, "balanced spool"),
             (Solenoid(), "solenoid, 2 W", 2.0, PILOTED, "piloted valve"))  # fmt: skip
    for drive, name, watts, valve, kind in cases:
        low, high = (drive.move(valve, bars * BAR, watts) for bars in (5, 20))
        rows.append([f"{name}, {kind}", f"{1e3 * high.time:.0f}", f"{low.energy:.3f}", f"{high.energy:.3f}",
                     f"{1e3 * high.holding_power:.0f}"])  # fmt: skip
    told = table(["drive, valve", "time, 20 bar (ms)", "energy, 5 bar (J)", "energy, 20 bar (J)",
                  "to hold, 20 bar (mW)"], rows)  # fmt: skip
    move, pack = Solenoid().move(POPPET, 20 * BAR, 50.0), half_kilogram()
    with_it = replace(duty("switch"), per_actuation=move.energy, holding=move.holding_power)
    return Shown(
        f"{told.text}\n\nWith the poppet at 20 bar the mode switch draws {with_it.power:.2f} W: "
        f"{hours_per_charge(pack, with_it):.0f} h from half a kilogram of new lithium-ion cells."
    )


def moves_table():
    """How often the mode switch moves a valve of the bike: section by section, the loop, and the loops like it."""
    parts = [lap(suspension("switch"), sections=[name]) for name in SECTIONS]
    low, high = over_loops("switch", lambda one: one.actuations_per_hour)
    row = [*(f"{part.actuations:.0f} in {part.seconds:.0f} s" for part in parts),
           f"{ridden('bike', 'switch').actuations_per_hour:.0f}", f"{low:.0f} to {high:.0f}"]  # fmt: skip
    told = table([*SECTIONS, "in an hour", f"in an hour, {1 + len(OTHERS)} loops"], [row])
    others = ", ".join(f"{HOUR * moves_a_second(hold):.0f} with {hold:g} s" for hold in (0.2, 0.3, 0.8))
    return Shown(f"{told.text}\n\nHold time {ModeSwitch().hold:g} s. In an hour: {others}.")


# --- draw and hours ---------------------------------------------------------------------------------------------------


def draw_table():
    """What each offer draws on the bike and what it buys, at the chain of workbook 00."""
    rows = [["plain damper", *_felt("plain"), "0"], ["soft valve alone", *_felt("soft"), "0"]]
    rows += [[name, *_felt(offer), rounded(duty(offer).power)] for offer, name in OFFERS.items()]
    rows.append(["the same, ideal motor at once", *_felt("comfort", True),
                 rounded(duty("comfort", at_once=True).power)])  # fmt: skip
    return table(["bike", "traverse (m/s²)", "descent (m/s²)", "draw, the point (W)"], rows)


def _felt(offer, at_once=False):
    return [f"{felt(offer, section, at_once=at_once).vibration:.2f}" for section in ("traverse", "descent")]


def returns_table():
    """The two motors, returns lost and returns stored; for the skyhook the sum without and with its windings."""
    columns = []
    for offer in MOTORS:
        d, heat = duty(offer), 2.0 * windings(offer)
        back = d.wheels * d.efficiency * d.returned
        columns.append(
            [
                f"{d.supplied:.1f}",
                f"{d.returned:.1f}",
                f"{over_the_loop(offer, 'force'):.0f} N",
                f"{heat:.1f}",
                f"{d.power + heat:.1f}",
                f"{d.power + heat - back:.1f}",
            ]
        )
    d, heat = duty("skyhook"), 2.0 * windings("skyhook")
    stored = f"returns stored at {100 * d.efficiency:.0f} %"
    names = ["one motor puts in", "one motor takes out", "one motor's force, root mean square", "both: windings",
             "both: draw with windings, returns lost", f"both: draw with windings, {stored}"]  # fmt: skip
    told = table(["mean over the loop (W)", *(OFFERS[offer] for offer in MOTORS)],
                 list(zip(names, *columns, strict=True)))  # fmt: skip
    runs, back = d.power - d.wheels * d.supplied / d.efficiency, d.wheels * d.efficiency * d.returned
    gained = back - d.power
    return Shown(f"{told.text}\n\nThe skyhook pair, {stored}, without windings: {runs:.1f} + "
                 f"2·({d.supplied:.2f}/{d.efficiency:g} − {d.efficiency:g}·{d.returned:.2f}) = −{gained:.1f} W; with "
                 f"them {heat:.1f} − {gained:.1f} = {heat - gained:.1f} W.")  # fmt: skip


def four_draws_table():
    """The four kinds of draw that the page uses of each offer, and what a rider gives."""
    rows = []
    for offer, name in OFFERS.items():
        d, found = duty(offer), drawing(offer)
        heat = 2.0 * windings(offer)
        rows.append([name, rounded(d.power), rounded(d.power + heat) if heat else "–",
                     *(rounded(found.quantile(share)) for share in (0.5, 0.95))])  # fmt: skip
    told = table(["draw (W)", "point", "with windings", "median", "cautious"], rows)
    day = RIDER_ALL_DAY["healthy person"]
    share = 100.0 * drawing("comfort").quantile(0.5) / day
    return Shown(
        f"{told.text}\n\nA healthy person keeps up {day:.0f} W at the pedals for eight hours (Malewicki 1983, "
        f"as reprinted); the comfort law's median is {share:.0f} % of that."
    )


def range_table():
    """Hours per charge of half a kilogram of lithium-ion cells as ranges, and what decides them."""
    pack, rows = half_kilogram(), []
    for offer, name in OFFERS.items():
        found = lasting(offer, pack)
        most = [f"{NAMED[one.name]}: {rounded(one.at_low, 2)} to {rounded(one.at_high, 2)}"
                for one in deciders(found.swings)]  # fmt: skip
        rows.append([name, f"{rounded(hours_per_charge(pack, duty(offer)))}",
                     " / ".join(rounded(found.quantile(share)) for share in (0.05, 0.5, 0.95)),
                     "; ".join(most)])  # fmt: skip
    told = table(["offer", "hours, the point", "hours: 5 / 50 / 95 %", "moves them most (hours)"], rows)
    most = [power_of(offer, LONG_SCREW) for offer in MOTORS]
    hours = pack.usable() / most[0] / HOUR
    return Shown(
        f"{told.text}\n\nWith {LONG_SCREW:.0f} N/√W, below the range, the skyhook pair draws {most[0]:.0f} W: "
        f"{hours:.2f} h from new cells. The comfort-law pair draws {most[1]:.0f} W."
    )


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
    rows = [[cell.name, f"{cell.wh_per_kg:.0f}", rounded(cell.max_current * cell.voltage, 2),
             f"{100.0 * cell.usable:.0f}", f"{100.0 * cell.share_left(**winter(cell)):.0f}",
             f"{cell.energy_wh:.2f}", f"{1e3 * cell.mass:.0f}"] for cell in CELLS.values()]  # fmt: skip
    return table(["cell", "Wh/kg", "may give (W)", "usable, new, 20 °C (%)", "third winter (%)", "energy (Wh)",
                  "mass (g)"], rows)  # fmt: skip


def day_pack(cell, offer, share=0.5):
    """The smallest `Pack` for a day in the third winter at a quantile of the draw, its rating kept on average."""
    watts = drawing(offer).quantile(share)
    return pack_for(cell, watts * DAY * HOUR, watts, **winter(cell))


def day_table():
    """Battery of a six-hour day in its third winter, median draw, by chemistry."""
    packs = {key: [day_pack(CELLS[key], offer) for offer in OFFERS] for key in ("li_ion", "lipo", "nimh", "lead")}
    rows = [["six hours (Wh)", *(rounded(drawing(offer).quantile(0.5) * DAY) for offer in OFFERS)],
            ["lithium-ion: cells", *(str(pack.count) for pack in packs["li_ion"])],
            ["litres", *(rounded(1e3 * pack.volume, 2) for pack in packs["li_ion"])]]  # fmt: skip
    names = {"li_ion": "**lithium-ion (kg)**", "lipo": "lithium-polymer (kg)", "nimh": "NiMH (kg)", "lead": "lead (kg)"}
    rows += [[name, *(rounded(pack.mass, 2) for pack in packs[key])] for key, name in names.items()]
    return table(["third winter", *(SHORT[offer] for offer in OFFERS)], rows)


def days_table():
    """Days per charge of the mode switch, six hours ridden: two packs, in the warm and in the third winter."""
    rows = []
    for name, pack in (("one lithium-ion cell", Pack(LI_ION)), ("120 coin cells", Pack(COIN, parallel=120))):
        row = [name, f"{1e3 * pack.mass:.0f}"]
        for state in ({}, winter(pack.cell)):
            found = [_days(pack, watts, state) for watts in
                     (drawing("switch").quantile(share) for share in (0.95, 0.5, 0.05))]  # fmt: skip
            row.append(" / ".join(rounded(days, 2) for days in found))
        rows.append(row)
    asked = 1e3 * drawing("switch").quantile(0.5) / COIN.voltage
    limit = 120 * COIN.voltage * COIN.max_current
    return Shown(table(["mode switch", "mass (g)", "days new, 20 °C: 5 / 50 / 95 %", "days, third winter"], rows).text +
                 f"\n\nOne coin cell may give {1e3 * COIN.max_current:g} mA; the median draw asks {asked:.0f} mA. "
                 f"120 of them may give {limit:.2f} W.")  # fmt: skip


def _days(pack, watts, state):
    daily = (watts - duty("switch").sleep) * DAY * HOUR + (duty("switch").sleep + pack.leak) * 24.0 * HOUR
    return pack.usable(**state) / daily


def peak_table():
    """What one motor's largest push asks of the battery, loop by loop; half a kilogram of cells feeds two motors."""
    pack, rows = half_kilogram(), []
    limit = 0.5 * pack.count * pack.cell.voltage * pack.cell.max_current
    for offer in MOTORS:
        pushes, stores, heats = zip(
            *(
                (
                    largest_push(offer, seed),
                    buffer_energy(offer, limit, seed),
                    (max(felt(offer, section, seed=seed).most_force for section in SECTIONS) / MOTOR_CONSTANT) ** 2,
                )
                for seed in (COURSE, *OTHERS)
            ),
            strict=True,
        )
        cells = [pack_for(pack.cell, 1.0, push).mass for push in pushes]
        rows.append([OFFERS[offer], *(f"{min(told):.0f} to {max(told):.0f}" for told in
                                                          (pushes, stores, heats)),
                     f"{min(cells):.1f} to {max(cells):.1f}"])  # fmt: skip
    text = table(["motor, one wheel", f"largest push, from the battery, {1 + len(OTHERS)} loops (W)",
                  f"store beside {limit:.0f} W (J)", "windings at the largest force (W)", "or cells for it (kg)"],
                 rows).text  # fmt: skip
    return Shown(f"{text}\n\nHalf a kilogram of lithium-ion cells may give {2.0 * limit:.0f} W, {limit:.0f} W a motor.")


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
    rows, waves, speed = [], washboard(0.03, 0.9, 90.0), TRAIL_BIKE.traverse_speed
    for damping in (250.0, 500.0, 1000.0):
        plain = TRAIL_BIKE.plain(damping)
        on_loop = [metrics(ride_section(plain, fell_loop().section(name), Passive())).heat for name in SECTIONS]
        beaten = ride(_linear(damping), waves, speed, Passive())
        rows.append([f"{damping:.0f} N s/m", f"{damper_heat(plain, 'C', speed):.1f}", f"{_on_class_c(damping):.1f}",
                     f"{beaten.damper_heat / beaten.duration:.0f}",
                     " / ".join(f"{heat:.0f}" for heat in on_loop)])  # fmt: skip
    tyre, road = TRAIL_BIKE.tyre_rate, 1e6 * CLASSES["C"]
    total = damper_heat(TRAIL_BIKE.plain(), "C", speed)
    told = table(["damper, one wheel", "class C, formula (W)", "class C, ridden (W)", "washboard (W)",
                  "loop: climb / traverse / descent (W)"], rows)  # fmt: skip
    return Shown(
        f"At {speed:g} m/s with a tyre of {1e-3 * tyre:g} kN/m: π²·0.1²·{road:g}·10⁻⁶·{speed:g}·{tyre:g} = "
        f"{total:.1f} W.\n\n{told.text}"
    )


def recovery_table():
    """Heat on the loop with the plain damper, what could come back, and what the offers draw, machine by machine."""
    rows, shown = [], ("valve", "skyhook", "comfort")
    for machine, vehicle in FLEET.items():
        whole = ridden(machine, "plain")
        heat = WHEELS[machine] * whole.heat / whole.seconds
        rows.append([vehicle.name, f"{heat:.0f}", f"{recovered(heat, RECOVERED):.0f}",
                     *(rounded(duty(offer, machine).power) for offer in shown)])  # fmt: skip
    seals = [ride_section(TRAIL_BIKE.plain(), fell_loop().section(name), Passive()) for name in SECTIONS]
    rubbed = 2.0 * sum(run.friction_heat for run in seals) / sum(run.duration for run in seals)
    told = table(["all wheels (W)", "heat on the loop", f"{100 * RECOVERED:.0f} % of it",
                  *(f"{OFFERS[offer]} draws" for offer in shown)], rows)  # fmt: skip
    return Shown(f"{told.text}\n\nOn the bike {rubbed:.0f} W of the heat are rubbed in the seals.")


def windings_sentence():
    """What a screw does to the motor constant, from which one the skyhook feeds itself, the balance as a range."""
    from_course, found = enough("skyhook"), balance("skyhook")
    others = [enough("skyhook", seed) for seed in OTHERS]
    ratio = {lead: 2.0 * math.pi / (1e-3 * lead) for lead in (5, 20)}  # rad/m
    share = 100.0 * float((found.values < 0.0).mean())
    return Shown(
        f"A motor of 0.05 N m/√W has {0.05 * ratio[5]:.0f} N/√W on a screw that advances 5 mm a turn and "
        f"{0.05 * ratio[20]:.0f} on one of 20 mm. But the screw of 5 mm must spin the rotor four times as fast: "
        f"10⁻⁵ kg m² (from memory) then resist like {1e-5 * ratio[5] ** 2:.0f} kg at the wheel instead of "
        f"{1e-5 * ratio[20] ** 2:.1f}.\n\nReturns stored at 60 %, the skyhook pair feeds itself from {from_course:.0f} "
        f"N/√W on; on the eight other loops from {min(others):.0f} to {max(others):.0f}. Over the ranges of drive, "
        "windings and computer it draws "
        + " / ".join(rounded(found.quantile(part), 2) for part in (0.05, 0.5, 0.95))
        + f" W (5 / 50 / 95 %); in {share:.0f} % of the tries less than nothing."
    )  # fmt: skip
