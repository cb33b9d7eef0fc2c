"""Tables of workbook 09 that price: mass and energy in seconds of a lap, and the battery that is decided on."""

from helpers.models.cells import LI_ION, pack_for
from helpers.models.energy import HOUR, break_even_mass, climb_seconds, seconds_from_power
from helpers.models.terrain import fell_loop
from helpers.models.vehicles import TRAIL_BIKE
from helpers.teaching.page import Shown, table
from scenes.w09_numbers import (
    CAGE_MASS,
    CAGE_VOLUME,
    DAY,
    LONG_SCREW,
    MOTORS,
    OFFERS,
    RIDER,
    SHORT,
    descent_seconds,
    drawing,
    duty,
    felt,
    from_the_legs,
    locked_on_the_climb,
    power_of,
    ranges,
    ridden,
    winter,
)
from scenes.w09_tables import day_pack, rounded

CLIMB = fell_loop().section("climb")
CLIMB_HEIGHT = CLIMB.gradient * CLIMB.profile.length  # m
DESCENT = fell_loop().section("descent").profile.length  # m
CLIMB_TIME = CLIMB.profile.length / TRAIL_BIKE.climb_speed  # s


def climb_sentence():
    """What half a kilogram costs: on the loop's climb and on a long one, by a strong and by a tired rider."""
    short, long, tired = (rounded(climb_seconds(CAGE_MASS, *case)) for case in
                          ((CLIMB_HEIGHT, RIDER), (600.0, RIDER), (600.0, 150.0)))  # fmt: skip
    return Shown(f"Half a kilogram on the loop's climb: {CAGE_MASS:g}·9.81·{CLIMB_HEIGHT:.0f}/{RIDER:.0f} = {short} s. "
                 f"On 600 m it is {long} s at {RIDER:.0f} W and {tired} s at 150 W.")  # fmt: skip


def saved(offer):
    """Seconds saved on the climb, where the legs lose less, and on the descent, on the kindest yardstick."""
    share = locked_on_the_climb() if offer == "switch" else 1.0
    watts = share * (from_the_legs("plain") - from_the_legs("switch" if offer == "lever" else offer))
    fast = 0.0 if offer in ("switch", "lever") else descent_seconds(offer)
    return float(seconds_from_power(watts, RIDER, CLIMB_TIME)), float(fast)


def mass_table():
    """Break-even mass; yardstick: the time of a lap."""
    columns = []
    for offer in SHORT:
        climb, descent = saved(offer)
        even = [break_even_mass(climb + part * descent, CLIMB_HEIGHT, RIDER) for part in (0.0, 0.1, 1.0)]
        speed = DESCENT / (DESCENT / TRAIL_BIKE.descent_speed - descent)
        columns.append([f"{climb:.2f}", f"{descent:.1f}", f"{speed:.1f}", *(f"{mass:.1f}" for mass in even),
                        rounded(day_pack(LI_ION, offer).mass, 2)])  # fmt: skip
    names = ["saved on the climb (s)", "on the descent, at most (s)", "ridden at (m/s)",
             "break-even (kg), descent not counted", "break-even (kg), a tenth counted",
             "break-even (kg), all counted", "**battery of a day (kg)**"]  # fmt: skip
    told = table(["time of a lap", *SHORT.values()], list(zip(names, *columns, strict=True)))
    climb, _ = saved("lever")
    even = break_even_mass(climb, CLIMB_HEIGHT, RIDER)
    return Shown(f"{told.text}\n\nA lever, locked by hand: {climb:.2f} s on the climb, break-even {even:.1f} kg.")


def price(offer, watts, section=None):
    """Seconds of a lap at a draw in W: battery carried up, and its energy at the pedals, through as good a drive.

    section: a motor that is on there alone.
    """
    if section is not None:
        watts *= felt(offer, section).duration / ridden("bike", offer).seconds
    pack = pack_for(LI_ION, watts * DAY * HOUR, watts, **winter(LI_ION))
    energy = watts * ridden("bike", offer).seconds * duty("comfort").efficiency
    return climb_seconds(pack.mass, CLIMB_HEIGHT, RIDER), energy / RIDER


def needed(offer, watts, section=None):
    """Share in % of the seconds of the descent that pays for battery and energy at a draw in W.

    The seconds of the climb count for a motor that is on there.
    """
    climb, descent = saved(offer)
    return max(100.0 * (sum(price(offer, watts, section)) - (0.0 if section else climb)) / descent, 0.0)


def seconds_table():
    """Gain against the battery's mass and the same energy at the pedals; yardstick: the time of a lap."""
    rows = []
    for offer, name in OFFERS.items():
        mass, pedals = price(offer, drawing(offer).quantile(0.5))
        rows.append([name, f"{sum(saved(offer)):.1f}", rounded(mass, 2), rounded(pedals, 2)])
    watts, seconds = drawing("comfort").quantile(0.5), ridden("bike", "comfort").seconds
    told = table(["time of a lap", "saved, at most (s)", "battery carried up (s)", "energy at the pedals (s)"], rows)
    mass, pedals = price("comfort", watts)
    return Shown(f"{told.text}\n\nThe comfort law's two prices: {rounded(day_pack(LI_ION, 'comfort').mass, 2)} kg·9.81·"
                 f"{CLIMB_HEIGHT:.0f} m/{RIDER:.0f} W = {mass:.1f} s; {rounded(watts)} W·{seconds:.1f} s·"
                 f"{duty('comfort').efficiency:g}/{RIDER:.0f} W = {pedals:.1f} s.")  # fmt: skip


def shares_table():
    """Share of the descent's seconds that pays for an offer, as a range of its draw; a motor also on there alone."""
    (climb, descent), (mass, pedals) = saved("comfort"), price("comfort", drawing("comfort").quantile(0.5))
    rows = []
    for offer in ("valve", *MOTORS):
        parts = [None, "descent"] if offer in MOTORS else [None]
        told = [[needed(offer, drawing(offer, part).quantile(share), part) for share in (0.05, 0.5, 0.95)]
                for part in parts]  # fmt: skip
        row = [" / ".join(f"{value:.0f} %" for value in values) for values in told]
        rows.append([OFFERS[offer], *row, *["–"] * (2 - len(row))])
    likely = {name: one.likely for name, one in ranges("skyhook").items() if name not in ("years", "motor_constant")}
    long = [needed("skyhook", power_of("skyhook", LONG_SCREW, part, **likely), part) for part in (None, "descent")]
    told = table(["share of the descent needed", "on all round the loop: 5 / 50 / 95 %",
                  "on for the descent alone: 5 / 50 / 95 %"], rows)  # fmt: skip
    return Shown(
        f"For the comfort law ({mass:.1f} + {pedals:.1f} − {climb:.1f})/{descent:.1f} = "
        f"{needed('comfort', drawing('comfort').quantile(0.5)):.0f} %.\n\n{told.text}\n\nWith "
        f"{LONG_SCREW:.0f} N/√W the skyhook motor would need {long[0]:.0f} % and {long[1]:.0f} %."
    )


def decision_table():
    """The cautious battery: a day in the third winter at the draw that 95 of 100 tries stay below."""
    columns = []
    for offer in OFFERS:
        watts, pack = drawing(offer).quantile(0.95), day_pack(LI_ION, offer, 0.95)
        fits = pack.mass <= CAGE_MASS and pack.volume <= CAGE_VOLUME
        columns.append([rounded(watts), rounded(watts * DAY), str(pack.count), rounded(pack.mass, 2),
                        rounded(1e3 * pack.volume, 2), "yes" if fits else "no",
                        rounded(pack.count * pack.cell.voltage * pack.cell.max_current)])  # fmt: skip
    quick = pack_for(LI_ION, 1.0, 50.0)
    names = ["cautious draw (W)", "six hours (Wh)", "cells", "**kg**", "litres", "**fits the cage**",
             "cells may give (W)"]  # fmt: skip
    told = table(["lithium-ion, third winter", *(SHORT[offer] for offer in OFFERS)],
                 list(zip(names, *columns, strict=True)))  # fmt: skip
    return Shown(f"{told.text}\n\nA valve that asks 50 W for a moment needs {quick.count} cells, {quick.mass:.2f} kg.")
