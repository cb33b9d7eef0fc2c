"""Tables of workbook 08."""

import math
from dataclasses import fields, replace

from helpers.models.jets import VELOCITY_COEFFICIENT
from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.orifice import BAR, SHARP_EDGED, Annulus
from helpers.models.quantities import table as described
from helpers.models.shims import TRAIL_PISTON
from helpers.models.valve import BALANCED, PILOT, PILOTED, POPPET, StickSlip
from helpers.teaching.page import Shown, folded, quantity_cells, quantity_table, table
from scenes import w08_numbers as numbers
from scenes import w08_rising as late
from scenes.w08_numbers import BENCH, BLOW_OFF, COIL, FIELD, HARD, MOST, MOTOR, POWER, STRONGER

PRESSURES = (BENCH, BLOW_OFF, HARD)  # bar
LITRE_MINUTE = 6e4  # in a m3/s
MILLI_MINUTE = 6e7  # ml/min in a m3/s


def _with_more(core, summary, *more):
    """A short table and, folded away below it, the whole of it."""
    return Shown(f"{core}\n\n{folded(summary, *more)}")


def force_steps():
    """The way from pressure and jet to the work of a stroke, and three cases known beforehand, folded away."""
    return folded(
        "The mathematics (optional; the thread goes on at the table of forces)", *numbers.force_steps(),
        "Three cases whose answer is known beforehand:", *numbers.limit_steps(),
    )  # fmt: skip


def _ms(seconds):
    return "never" if math.isinf(seconds) else f"{1e3 * seconds:.1f}"


def _long(seconds):
    return "never" if math.isinf(seconds) else f"{1e3 * seconds:.0f}"


def pressure_table():
    """Pressure in the locked bike's damper when the quick chain's command arrives, and if nothing opens."""
    rows, felts = {}, {}
    for height, speed in _steps(felt_only=False):
        felt, then, most = numbers.on_command(height, speed)
        name, never = f"{1e3 * height:.0f} mm, {speed:g} m/s", math.isnan(felt)
        felts[name] = "never" if never else f"{1e3 * felt:.1f}"
        told = ("–", "–") if never else (f"{then:.0f}", f"{late.rising(height, speed)(8e-3):.0f}")
        rows[name] = (*told, f"{most:.0f}")
    heads = ("at the command (bar)", "8 ms later, still shut (bar)", "highest, if it stays shut (bar)")
    few = [(name, *rows[name]) for name in ("20 mm, 20 m/s", "50 mm, 10 m/s", "50 mm, 20 m/s", "100 mm, 20 m/s")]
    whole = table(("step, speed", "felt after (ms)", *heads), [(name, felts[name], *rows[name]) for name in rows])
    return _with_more(table(("step, speed", *heads), few), "All twelve steps (optional)", whole)


def _steps(felt_only=True):
    """(height in m, speed in m/s) of the steps of workbook 06."""
    steps = [(height, speed) for height in (0.02, 0.05, 0.1) for speed in (3.0, 5.0, 10.0, 20.0)]
    return [step for step in steps if not (felt_only and math.isnan(numbers.on_command(*step)[0]))]


def _left(milliseconds):
    if math.isnan(milliseconds):
        return "none"
    return "any" if math.isinf(milliseconds) else f"{milliseconds:.1f}"


def step_table():
    """Every step that is felt: the time left for the valve, and when it is half open as the pressure goes on rising."""
    offers = {
        "piloted, 10 W (ms)": ("piloted valve", POWER),
        "piloted, 50 W (ms)": ("piloted valve", STRONGER),
        "spool, 10 W (ms)": ("balanced spool", POWER),
        "spool, 50 W (ms)": ("balanced spool", STRONGER),
    }

    def rows(steps, heads):
        found = []
        for height, speed in steps:
            most = late.left(height, speed)
            halves = [1e3 * late.opens(offers[head][0], height, speed, offers[head][1])[0] for head in heads]
            cells = [f"**{half:.1f}**" if half <= most else f"{half:.1f}" for half in halves]
            found.append((f"{1e3 * height:.0f} mm, {speed:g} m/s", _left(most), *cells))
        return table(("step, speed", "left (ms)", *heads), found)

    few = rows([(0.02, 10.0), (0.05, 5.0), (0.05, 10.0), (0.05, 20.0), (0.1, 10.0)],
               [head for head in offers if head != "piloted, 50 W (ms)"])  # fmt: skip
    every, in_time = _steps(), {name: 0 for name in offers}
    for head, (name, power) in offers.items():
        in_time[head] = sum(1e3 * late.opens(name, *step, power)[0] <= late.left(*step) for step in every)
    return _with_more(
        few, "All steps that are felt, and half against fully open (optional)", rows(every, list(offers)),
        "*None*: no valve is quick enough; *any*: at that step a valve may be as late as 30 ms. Of the "
        f"{len(every)} steps that are felt, in time: piloted valve {in_time['piloted, 10 W (ms)']} with 10 W and "
        f"{in_time['piloted, 50 W (ms)']} with 50, spool {in_time['spool, 10 W (ms)']} and "
        f"{in_time['spool, 50 W (ms)']}.",
        "One valve has several times, by what is counted. Half / fully open, at 50 mm and 10 m/s:", rising_table(),
    )  # fmt: skip


def rising_table():
    """The step of the 11 ms, 50 mm at 10 m/s: half / fully open, ms, at a pressure that stays and as it rises."""
    rows = []
    for name, power in (("piloted valve", POWER), ("balanced spool", POWER), ("balanced spool", STRONGER)):
        pairs = (late.opens_at(name, BLOW_OFF, power), late.opens(name, 0.05, 10.0, power))
        rows.append((f"{name}, {power:g} W", *(" / ".join(_ms(time) for time in pair) for pair in pairs)))
    return table(("offer", "37 bar that stays (ms)", "rising from 38 bar (ms)"), rows)


def release():
    """ms that a plain diode takes at 37 bar to let the pilot, and the spool, come loose from full iron."""
    return [1e3 * late.release_time(valve, BLOW_OFF) for valve in (PILOT, BALANCED)]


def cold_table():
    """The chamber's two flows at 37 bar, main valve at its seat, and the oil's part of the opening."""
    rows = [(words, *(f"{one:.2f}" for one in late.cold_flows(BLOW_OFF, celsius)))
            for words, celsius in (("40 °C", 40.0), ("−20 °C", -20.0))]  # fmt: skip
    return table(("oil", "out by the pilot (l/min)", "in by the feed hole (l/min)", "oil's part (ms)"), rows)


def force_table():
    """What has to be overcome, part by part, N."""
    rows = []
    for valve in (POPPET, BALANCED, PILOT):
        for bar in (BENCH, BLOW_OFF, HARD):
            shut, wide = (valve.forces(lift, bar * BAR) for lift in (0.0, valve.stroke))
            rows.append((f"{_short(valve.name)}, {bar:g} bar", f"{shut.to_open:.1f}", f"{-shut.pressure:.1f}",
                         f"{wide.to_open:.1f}", f"{-wide.flow:.1f}"))  # fmt: skip
    return table(("valve", "to start (N)", "of it pressure (N)", "fully open (N)", "of it the jet (N)"), rows)


def _short(name):
    return name.removeprefix("balanced ")


def least_power_table():
    """Least mean power of any drive, W, to open fully in 5 ms."""
    rows = [(_short(valve.name), *(f"{numbers.least_power(valve, bar):.3g}" for bar in PRESSURES))
            for valve in (POPPET, BALANCED, PILOT)]  # fmt: skip
    return table(("valve", *(f"{bar:g} bar (W)" for bar in PRESSURES)), rows)


def help_table():
    """Highest pressure up to which the coil starts the valve, and up to which it is stronger than it at every lift."""
    half = (numbers.scaled(POPPET, 0.5), numbers.scaled(COIL, 0.5))
    changes = [
        ("poppet as it is", POPPET, POWER, COIL),
        ("half the moving mass, the coil's included", half[0], POWER, half[1]),
        ("50 W", POPPET, STRONGER, COIL),
        ("500 W", POPPET, 500.0, COIL),
        ("balanced spool", BALANCED, POWER, COIL),
        ("piloted valve", PILOTED, POWER, COIL),
    ]
    more = [
        ("no friction at all", replace(POPPET, breakaway=0.0, running=0.0), POWER, COIL),
        ("no spring at all", replace(POPPET, spring_rate=0.0, preload=0.0), POWER, COIL),
        ("50 W, iron that carries 2.4 T", POPPET, STRONGER, replace(COIL, saturation=2.4)),
        ("coil of four times the pole face", POPPET, POWER, numbers.BIG),
        ("the same at 50 W", POPPET, STRONGER, numbers.BIG),
    ]

    def told(bar):
        return f"over {MOST:.0f}" if bar >= MOST else f"{bar:.3g}"

    def rows(changed):
        found = [(name, told(numbers.starting_pressure(*what)), told(numbers.highest_pressure(*what)))
                 for name, *what in changed]  # fmt: skip
        heads = ("one change, 10 W unless it says so", "starts up to (bar)", "opens all the way up to (bar)")
        return table(heads, found)

    return _with_more(
        rows(changes), "More changes: friction, spring, iron, pole face (optional)", rows(more),
        "Without friction or spring little changes. That it is the iron, the last three rows show: iron that carried "
        "2.4 T would do at 50 W for 52.5 bar, and four times the pole face at 50 W for 82.9.",
    )  # fmt: skip


def time_table():
    """Time of the full opening stroke, ms, at a pressure that stays; 54 bar is the most that a command finds."""
    calm = numbers.WithoutJet(**{f.name: getattr(BALANCED, f.name) for f in fields(BALANCED)})

    def coil(name, **about):
        return lambda bar: numbers.coil_move(name, bar, **about).time

    times = {
        "poppet": coil("poppet"), "poppet, **50 W**": coil("poppet", power=STRONGER),
        "spool": coil("balanced spool"), "spool, **50 W**": coil("balanced spool", power=STRONGER),
        "piloted valve": coil("piloted valve"),
    }  # fmt: skip
    more = {
        "piloted valve, **50 W**": coil("piloted valve", power=STRONGER),
        "poppet, half the moving mass": coil("poppet", mass=0.5),
        "poppet, four times the pole face": coil("poppet", drive=numbers.BIG),
        "the same, **50 W**": coil("poppet", power=STRONGER, drive=numbers.BIG),
        "spool, without the jet's force": lambda bar: COIL.move(calm, bar * BAR, POWER).time,
    }

    def rows(which, bars):
        found = [(name, *(_ms(time(bar)) for bar in bars)) for name, time in which.items()]
        return table(("coil on", *(f"{bar:g} bar (ms)" for bar in bars)), found)

    return _with_more(
        rows(times, PRESSURES), "More pressures, a lighter poppet, a larger pole face, no jet (optional)",
        rows(times | more, (BENCH, 20.0, BLOW_OFF, 54.0, HARD)),
        "Half the mass opens nothing more. Four times the pole face opens the poppet at 37 bar, too late. Without the "
        "jet's force the spool would take 14.3 ms at 100 bar in place of 30.3. At 20 bar, a little beyond the 19.6 of "
        "the table of changes, the poppet opens with 50 W still: once it moves, its swing carries it over.",
    )  # fmt: skip


def parts_table():
    """The piloted valve's time in its two parts, ms; folded, beside what 1/sqrt(p) makes of the last one."""
    heads = ("pressure", "coil opens the pilot (ms)", "oil opens the main valve (ms)")
    rows, few, last = [], [], PILOTED.opening_time(HARD * BAR)
    for bar in (3.0, BENCH, 10.0, 20.0, BLOW_OFF, HARD):
        coil, oil = COIL.move(PILOT, bar * BAR, POWER).time, PILOTED.opening_time(bar * BAR)
        told = (f"{bar:g} bar", _ms(coil), _ms(oil))
        rows.append((*told, _ms(last * math.sqrt(HARD / bar))))
        if bar not in (3.0, 10.0):
            few.append((*told, _ms(coil + oil)))
    return _with_more(
        table((*heads, "both (ms)"), few), "Does the oil's part follow 1/√p? (optional)",
        table((*heads, "main valve, by 1/√p from 100 bar (ms)"), rows),
        "From 20 bar up it does, closely: 5.5 against 5.1 ms. Below, the main valve's spring takes its share of the "
        "pressure: at 5 bar 18.5 instead of 10.1 ms, and at 3 bar the main valve does not open at all.",
    )  # fmt: skip


def parameter_table():
    """The five quantities that the page turns on, valve by valve; every parameter folded away, for looking up."""
    valves = (POPPET, BALANCED, PILOT)
    core = table(("quantity", *(_short(valve.name) for valve in valves)), [
        ("area of seat or bore, $A = \\pi d^2/4$ (mm²)", *(f"{1e6 * valve.area:.3g}" for valve in valves)),
        ("share of it that is not balanced, $\\phi$", *(f"{valve.unbalanced:g}" for valve in valves)),
        ("stroke, $s$ (mm)", *(f"{1e3 * valve.stroke:g}" for valve in valves)),
        ("mass of valve and armature, $m + m_a$ (g)", *(f"{1e3 * (valve.mass + COIL.mass):.3g}" for valve in valves)),
        ("the coil's iron is full at $B_s$ (T)", *(f"{COIL.saturation:g}" for _ in valves)),
    ])  # fmt: skip
    rows = []
    for row in (row for each in (POPPET, PILOTED, COIL, MOTOR) for row in described(each)):
        symbol, meaning, unit, default, within = quantity_cells(row)
        turned = f" ({math.degrees(row.value):.0f}°)" if row.unit == "rad" else ""
        rows.append([symbol, meaning, unit.replace("kg m2", "kg·m²"), default + turned, within])
    width, ports = 1e3 * POPPET.opening_area(1.0), 1e3 * BALANCED.opening_area(1.0)
    return _with_more(
        core, "Every parameter, for looking up", quantity_table(rows),
        "Source of every value: invented for the course. The rows are the poppet's, from $a$ on the piloted valve's, "
        "from $d_p$ the coil's, from $K_m$ the motor's.",
        "Fully open at 37 bar the poppet passes {:.1f} and the spool {:.1f} litres a minute.".format(*passed(BLOW_OFF)),
        f"Spool: $\\phi = {BALANCED.unbalanced:g}$, friction {BALANCED.breakaway:g} and {BALANCED.running:g} N, ports "
        f"on {BALANCED.ports:g} of its circumference, jet at {math.degrees(BALANCED.jet_angle):.0f}°. Pilot: seat of "
        f"{1e3 * PILOT.diameter:g} mm, stroke {1e3 * PILOT.stroke:g} mm, {1e3 * PILOT.mass:g} g, spring "
        f"{PILOT.preload:g} N when shut, friction {PILOT.breakaway:g} and {PILOT.running:g} N.",
        f"Made of these: free area for each mm of lift $w$, {width:.1f} mm²/mm for the poppet (its circumference "
        f"times the sine of its cone's half angle), {ports:.1f} for the spool; chamber $A_c = A/a$, "
        f"{1e6 * PILOTED.chamber_area:.1f} mm²; pole face $A_p = \\pi d_p^2/4$, {1e6 * COIL.area:.0f} mm². Known from "
        f"many measurements: $C_d = {SHARP_EDGED:.3g}$, $C_v = {VELOCITY_COEFFICIENT:g}$.",
    )  # fmt: skip


def _three(time_at):
    return " / ".join(_ms(time_at(bar)) for bar in (BENCH, BLOW_OFF, HARD))


def mass_table():
    """Opening time at 10 W with other moving masses, valve and coil alike, at 5 / 37 / 100 bar, ms."""
    rows = [
        (words, *(_three(lambda bar, v=v, m=m: numbers.coil_move(v, bar, mass=m).time) for v in numbers.VALVES))
        for words, m in (("a quarter", 0.25), ("half", 0.5), ("as it is", 1.0), ("twice", 2.0), ("four times", 4.0))
    ]
    return table(("moving mass", *(f"{name} (ms)" for name in numbers.VALVES)), rows)


def oil_table():
    """Piloted valve with oil from cold to hot, 10 W, at 5 / 37 / 100 bar, ms."""
    rows = []
    for celsius in (-20.0, -10.0, 10.0, 40.0, 70.0):
        liquid = DAMPER_OIL.at(ZERO_CELSIUS + celsius)
        rows.append((
            f"{celsius:.0f} °C", f"{1e6 * liquid.viscosity / liquid.density:.0f}",
            _three(lambda bar, c=celsius: numbers.coil_move("piloted valve", bar, celsius=c).time),
            _three(lambda bar, liquid=liquid: PILOTED.closing_time(bar * BAR, liquid)),
        ))  # fmt: skip
    return table(("oil", "viscosity (mm²/s)", "opens (ms)", "main valve closes (ms)"), rows)


def _watts(power):
    return "–" if math.isinf(power) else f"{power:.3g}"


def motor_table():
    """The motor with its own gear of 30: time and settings at 10 W."""
    rows = [(name, numbers.motor_move(name, BENCH).settings,
             *(_long(numbers.motor_move(name, bar).time) for bar in PRESSURES)) for name in numbers.STRIDE]  # fmt: skip
    rows = [(f"{name}, following" if name == "piloted valve" else name, *rest) for name, *rest in rows]
    return table(("motor on", "settings", *(f"{bar:g} bar (ms)" for bar in PRESSURES)), rows)


def power_table():
    """Least power at which the motor, best geared, passes so many settings in that time: 5 / 100 bar, W."""
    rows = []
    for settings, time in ((100, 0.1), (200, 0.1), (100, 0.05), (200, 0.05)):
        cells = (" / ".join(_watts(numbers.power_for(name, bar, settings, time)) for bar in (BENCH, HARD))
                 for name in numbers.STRIDE)  # fmt: skip
        rows.append((f"{settings} settings in {1e3 * time:.0f} ms", f"{numbers.finest_power(settings, time):.3g}",
                     *cells))  # fmt: skip
    return table(("task", "motor alone (W)", "poppet (W)", "spool (W)", "piloted (W)"), rows)


def keeping_table():
    """What an opening takes and what holding takes, at 37 bar and 10 W."""
    rows = []
    moves = {
        "coil, spool": numbers.coil_move("balanced spool", BLOW_OFF),
        "coil, spool, 50 W": numbers.coil_move("balanced spool", BLOW_OFF, STRONGER),
        "coil, piloted": numbers.coil_move("piloted valve", BLOW_OFF),
        "motor, spool": numbers.motor_move("balanced spool", BLOW_OFF),
    }
    for name, move in moves.items():
        held = f"{1e3 * move.holding_power:.0f}"
        rows.append((name, move.settings, _ms(move.time), f"{1e3 * move.energy:.1f}", f"{move.mean_power:.2g}", held))
    return table(("drive, valve", "settings", "move (ms)", "energy (mJ)", "mean (W)", "holding (mW)"), rows)


def field_table():
    """Highest pressure that the magnetorheological gap holds, and how soon it is firm, by power."""
    rows = []
    for power in (0.5, 2.0, 10.0, 50.0):
        current = math.sqrt(power / FIELD.resistance)
        held = FIELD.yield_pressure * float(FIELD.share(current)) / BAR
        move = FIELD.move(POPPET, BENCH * BAR, power)
        rows.append((f"{power:g} W", move.settings, _ms(move.time), f"{held:.0f}", f"{move.holding_power:g}"))
    return table(("power", "settings", "firm after (ms)", "holds up to (bar)", "as long as it is firm (W)"), rows)


def piston_table():
    """Force and pressure of a piston with shim stacks in rebound, by speed and oil."""
    rows = []
    for speed in (0.05, 0.1, 0.5, 1.0, 2.0):
        cells = []
        for celsius in (-10.0, 40.0, 70.0):
            liquid = DAMPER_OIL.at(ZERO_CELSIUS + celsius)
            force, drop = (float(f(speed, liquid)) for f in (TRAIL_PISTON.force, TRAIL_PISTON.pressure_drop))
            cells.append(f"{force:.0f} N, {drop / BAR:.0f} bar")
        rows.append((f"{speed:g} m/s", *cells))
    return table(("shaft speed, rebound", "−10 °C", "40 °C", "70 °C"), rows)


def price_table():
    """What the spool's clearance leaks, against what it passes fully open, ml/min."""
    rows = []
    for gap in (5e-6, 10e-6):
        for celsius in (-10.0, 40.0, 70.0):
            liquid = DAMPER_OIL.at(ZERO_CELSIUS + celsius)
            cells = [
                " to ".join(f"{MILLI_MINUTE * Annulus(BALANCED.diameter, gap, 5e-3, e).leakage(bar * BAR, liquid):.1f}"
                            for e in (0.0, 1.0)) for bar in (BENCH, BLOW_OFF, HARD)
            ]  # fmt: skip
            rows.append((f"{1e6 * gap:.0f} µm, {celsius:.0f} °C", *cells))
    return table(("clearance, oil", "5 bar (ml/min)", "37 bar (ml/min)", "100 bar (ml/min)"), rows)


def jump(stiffness):
    """The balanced spool's finest step in µm where a drive of `stiffness` N/m creeps: stick-slip."""
    part = StickSlip(BALANCED.mass, BALANCED.breakaway, BALANCED.running, stiffness, speed=1e-6)
    return 1e6 * part.jump


def passed(bar):
    """Litres a minute through the fully open poppet and spool."""
    return [LITRE_MINUTE * float(valve.flow(valve.stroke, bar * BAR)) for valve in (POPPET, BALANCED)]
