"""Tables of workbook 08."""

import math
from dataclasses import fields, replace

from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.orifice import BAR, Annulus
from helpers.models.shims import TRAIL_PISTON
from helpers.models.valve import BALANCED, PILOT, PILOTED, POPPET, StickSlip
from helpers.teaching.page import Shown, table
from scenes import w08_numbers as numbers
from scenes import w08_rising as late
from scenes.w08_numbers import BENCH, BLOW_OFF, COIL, FIELD, HARD, MOST, POWER, STRONGER, VALVES

PRESSURES = (BENCH, 20.0, BLOW_OFF, HARD)  # bar
LITRE_MINUTE = 6e4  # in a m3/s
MILLI_MINUTE = 6e7  # ml/min in a m3/s


def _steps(steps):
    return Shown("\n\n".join(step._repr_markdown_() for step in steps))


def force_steps():
    """Show the way from pressure and jet to the work of a stroke."""
    return _steps(numbers.force_steps())


def limit_steps():
    """Show three cases whose answer is known beforehand."""
    return _steps(numbers.limit_steps())


def _ms(seconds):
    return "never" if math.isinf(seconds) else f"{1e3 * seconds:.1f}"


def _long(seconds):
    return "never" if math.isinf(seconds) else f"{1e3 * seconds:.0f}"


def _bar_heads(*first):
    return (*first, *(f"{bar:g} bar" for bar in PRESSURES))


def pressure_table():
    """Pressure in the locked bike's damper when the quick chain's command arrives, and if nothing opens."""
    rows = []
    for height in (0.02, 0.05, 0.1):
        for speed in (3.0, 5.0, 10.0, 20.0):
            felt, then, most = numbers.on_command(height, speed)
            told = ("never", "–", "–") if math.isnan(felt) else (
                f"{1e3 * felt:.1f}", f"{then:.0f}", f"{late.rising(height, speed)(8e-3):.0f}")  # fmt: skip
            rows.append((f"{1e3 * height:.0f} mm, {speed:g} m/s", *told, f"{most:.0f}"))
    heads = ("step, speed", "felt after (ms)", "at the command (bar)", "8 ms later, still shut (bar)",
             "highest, if it stays shut (bar)")  # fmt: skip
    return table(heads, rows)


def _left(milliseconds):
    if math.isnan(milliseconds):
        return "none"
    return "any" if math.isinf(milliseconds) else f"{milliseconds:.1f}"


def step_table():
    """Every step that is felt: the time left for the valve, and when it is half open as the pressure goes on rising."""
    offers = [("piloted valve", POWER), ("piloted valve", STRONGER), ("balanced spool", POWER),
              ("balanced spool", STRONGER)]  # fmt: skip
    rows = []
    for height in (0.02, 0.05, 0.1):
        for speed in (3.0, 5.0, 10.0, 20.0):
            if math.isnan(numbers.on_command(height, speed)[0]):
                continue
            most = late.left(height, speed)
            cells = []
            for name, power in offers:
                half = 1e3 * late.opens(name, height, speed, power)[0]
                cells.append(f"**{half:.1f}**" if half <= most else f"{half:.1f}")
            rows.append((f"{1e3 * height:.0f} mm, {speed:g} m/s", _left(most), *cells))
    return table(("step, speed", "left for the valve (ms)", "piloted, 10 W (ms)", "piloted, 50 W (ms)",
                  "spool, 10 W (ms)", "spool, 50 W (ms)"), rows)  # fmt: skip


def rising_table():
    """The step of the 11 ms, 50 mm at 10 m/s: half / fully open, ms, at a pressure that stays and as it rises."""
    rows = []
    for name, power in (("piloted valve", POWER), ("balanced spool", POWER), ("balanced spool", STRONGER)):
        pairs = (late.opens_at(name, BLOW_OFF, power), late.opens(name, 0.05, 10.0, power))
        rows.append((f"{name}, {power:g} W", *(" / ".join(_ms(time) for time in pair) for pair in pairs)))
    return table(("offer", "37 bar that stays (ms)", "from 38 bar up (ms)"), rows)


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
            start = valve.preload + valve.breakaway
            rest = start + valve.spring_rate * valve.stroke
            rows.append((f"{valve.name}, {bar:g} bar", f"{-shut.pressure:.1f}", f"{-wide.flow:.1f}",
                         f"{start:.1f} / {rest:.1f}", f"{shut.to_open:.1f}", f"{wide.to_open:.1f}"))  # fmt: skip
    return table(("valve", "pressure (N)", "jet, fully open (N)", "spring and friction, shut / open (N)",
                  "to start (N)", "fully open (N)"), rows)  # fmt: skip


def least_power_table():
    """Least mean power of any drive, W, to open fully in 5 ms."""
    rows = [(valve.name, *(f"{numbers.least_power(valve, bar):.3g}" for bar in PRESSURES))
            for valve in (POPPET, BALANCED, PILOT)]  # fmt: skip
    return table(_bar_heads("valve"), rows)


def help_table():
    """Highest pressure up to which the coil is stronger than the valve at every lift, one thing changed at a time."""
    half = (numbers.scaled(POPPET, 0.5), numbers.scaled(COIL, 0.5))
    changes = [
        ("poppet as it is", POPPET, POWER, COIL),
        ("half the moving mass, the coil's included", half[0], POWER, half[1]),
        ("no friction at all", replace(POPPET, breakaway=0.0, running=0.0), POWER, COIL),
        ("no spring at all", replace(POPPET, spring_rate=0.0, preload=0.0), POWER, COIL),
        ("50 W", POPPET, STRONGER, COIL),
        ("500 W", POPPET, 500.0, COIL),
        ("50 W, iron that carries 2.4 T", POPPET, STRONGER, replace(COIL, saturation=2.4)),
        ("coil of four times the pole face", POPPET, POWER, numbers.BIG),
        ("the same at 50 W", POPPET, STRONGER, numbers.BIG),
        ("balanced spool", BALANCED, POWER, COIL),
        ("piloted valve", PILOTED, POWER, COIL),
    ]
    rows = []
    for name, *what in changes:
        most = numbers.highest_pressure(*what)
        rows.append((name, f"over {MOST:.0f}" if most >= MOST else f"{most:.3g}"))
    return table(("one change, 10 W unless it says so", "highest pressure (bar)"), rows)


def time_table():
    """Time of the full opening stroke, ms, at a pressure that stays; 54 bar is the most that a command finds."""
    bars, rows = (BENCH, 20.0, BLOW_OFF, 54.0, HARD), []

    def times(name, **about):
        return [_ms(numbers.coil_move(name, bar, **about).time) for bar in bars]

    for name in VALVES:
        rows.append((name, *times(name)))
        if name == "poppet":
            rows.append(("poppet, half the moving mass", *times(name, mass=0.5)))
            rows.append(("poppet, four times the pole face", *times(name, drive=numbers.BIG)))
            rows.append(("the same, **50 W**", *times(name, power=STRONGER, drive=numbers.BIG)))
        if name == "balanced spool":
            calm = numbers.WithoutJet(**{f.name: getattr(BALANCED, f.name) for f in fields(BALANCED)})
            rows.append((f"{name}, without the jet's force",
                         *(_ms(COIL.move(calm, bar * BAR, POWER).time) for bar in bars)))  # fmt: skip
        rows.append((f"{name}, **50 W**", *times(name, power=STRONGER)))
    return table(("coil on", *(f"{bar:g} bar" for bar in bars)), rows)


def parts_table():
    """The piloted valve's time in its two parts, ms, beside what 1/sqrt(p) makes of the last one."""
    rows, last = [], PILOTED.opening_time(HARD * BAR)
    for bar in (3.0, BENCH, 10.0, 20.0, BLOW_OFF, HARD):
        coil, oil = COIL.move(PILOT, bar * BAR, POWER).time, PILOTED.opening_time(bar * BAR)
        rows.append((f"{bar:g} bar", _ms(coil), _ms(oil), _ms(last * math.sqrt(HARD / bar)), _ms(coil + oil)))
    return table(("pressure", "coil opens the pilot (ms)", "oil opens the main valve (ms)",
                  "main valve, by 1/√p from 100 bar (ms)", "both (ms)"), rows)  # fmt: skip


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
            f"{celsius:.0f} °C".replace("-", "−"), f"{1e6 * liquid.viscosity / liquid.density:.0f}",
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
    return table(_bar_heads("motor on", "settings"), rows)


def power_table():
    """Least power at which the motor, best geared, passes so many settings in that time: 5 / 100 bar, W."""
    rows = []
    for settings, time in ((100, 0.1), (200, 0.1), (100, 0.05), (200, 0.05)):
        cells = (" / ".join(_watts(numbers.power_for(name, bar, settings, time)) for bar in (BENCH, HARD))
                 for name in numbers.STRIDE)  # fmt: skip
        rows.append((f"{settings} settings in {1e3 * time:.0f} ms", f"{numbers.finest_power(settings, time):.3g}",
                     *cells))  # fmt: skip
    return table(("task", "motor alone (W)", "poppet (W)", "balanced spool (W)", "piloted, following (W)"), rows)


def keeping_table():
    """What an opening takes and what holding takes, at 37 bar and 10 W."""
    rows = []
    moves = {
        "coil, balanced spool": numbers.coil_move("balanced spool", BLOW_OFF),
        "coil, balanced spool, 50 W": numbers.coil_move("balanced spool", BLOW_OFF, STRONGER),
        "coil, piloted valve": numbers.coil_move("piloted valve", BLOW_OFF),
        "motor, balanced spool": numbers.motor_move("balanced spool", BLOW_OFF),
    }
    for name, move in moves.items():
        held = f"{1e3 * move.holding_power:.0f}"
        rows.append((name, move.settings, _ms(move.time), f"{1e3 * move.energy:.1f}", f"{move.mean_power:.2g}", held))
    return table(("drive and valve", "settings", "one move (ms)", "energy of it (mJ)", "mean power (W)",
                  "holding (mW)"), rows)  # fmt: skip


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
            rows.append((f"{1e6 * gap:.0f} µm, {celsius:.0f} °C".replace("-", "−"), *cells))
    return table(("clearance, oil", "5 bar (ml/min)", "37 bar (ml/min)", "100 bar (ml/min)"), rows)


def jump(stiffness):
    """The balanced spool's finest step in µm where a drive of `stiffness` N/m creeps: stick-slip."""
    part = StickSlip(BALANCED.mass, BALANCED.breakaway, BALANCED.running, stiffness, speed=1e-6)
    return 1e6 * part.jump


def passed(bar):
    """Litres a minute through the fully open poppet and spool."""
    return [LITRE_MINUTE * float(valve.flow(valve.stroke, bar * BAR)) for valve in (POPPET, BALANCED)]
