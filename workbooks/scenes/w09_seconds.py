"""Tables of workbook 09 that price: mass and energy in seconds of a lap, and the battery that is decided on."""

from helpers.models.cells import LI_ION, pack_for
from helpers.models.energy import HOUR, RIDER_ALL_DAY, break_even_mass, climb_seconds, seconds_from_power
from helpers.models.terrain import fell_loop
from helpers.models.vehicles import TRAIL_BIKE
from helpers.teaching.page import table
from scenes.w09_numbers import (
    CAGE_MASS,
    CAGE_VOLUME,
    COURSE,
    DAY,
    MOTORS,
    OFFERS,
    RIDER,
    descent_seconds,
    drawing,
    duty,
    felt,
    from_the_legs,
    locked_on_the_climb,
    ridden,
    winter,
)
from scenes.w09_tables import day_pack, rounded

CLIMB = fell_loop().section("climb")
CLIMB_HEIGHT = CLIMB.gradient * CLIMB.profile.length  # m
DESCENT = fell_loop().section("descent").profile.length  # m
CLIMB_TIME = CLIMB.profile.length / TRAIL_BIKE.climb_speed  # s


def climb_table():
    """What half a kilogram costs: on the loop's climb and on a long one, by a strong and by a tired rider."""
    rows = [[f"{height:.0f} m", *(rounded(climb_seconds(CAGE_MASS, height, rider)) for rider in (RIDER, 150.0))]
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
        battery = day_pack(LI_ION, offer).mass if offer in OFFERS else 0.0
        even = [break_even_mass(climb + part * descent, CLIMB_HEIGHT, RIDER) for part in (0.0, 0.1, 1.0)]
        speed = DESCENT / (DESCENT / TRAIL_BIKE.descent_speed - descent)
        rows.append([name, f"{climb:.2f}", f"{descent:.1f} ({speed:.1f} m/s)",
                     " / ".join(f"{mass:.1f}" for mass in even), rounded(battery, 2)])  # fmt: skip
    return table(["yardstick: time of a lap", "saved on the climb (s)", "on the descent, at most (s; ridden at)",
                  "break-even mass: climb alone / with a tenth of the descent / with all of it (kg)",
                  "battery of a day (kg)"], rows)  # fmt: skip


def price(offer, share=0.5, section=None):
    """Seconds of a lap at a quantile of the draw: battery carried up, and its energy at the pedals, as good a drive.

    section: a motor that is on there alone.
    """
    watts = drawing(offer, section).quantile(share)
    if section is not None:
        watts *= felt(offer, section).duration / ridden("bike", offer).seconds
    pack = pack_for(LI_ION, watts * DAY * HOUR, watts, **winter(LI_ION))
    energy = watts * ridden("bike", offer).seconds * duty("comfort").efficiency
    return climb_seconds(pack.mass, CLIMB_HEIGHT, RIDER), energy / RIDER


def needed(offer, section=None):
    """Share of the descent's seconds that pays for battery and energy, at 5, 50 and 95 % of the draw, in %.

    The seconds of the climb count for a motor that is on there.
    """
    climb, descent = saved(offer)
    return [max(100.0 * (sum(price(offer, share, section)) - (0.0 if section else climb)) / descent, 0.0)
            for share in (0.05, 0.5, 0.95)]  # fmt: skip


def seconds_table():
    """Gain against the battery's mass and the same energy at the pedals; yardstick: the time of a lap."""
    rows = []
    for offer, name in OFFERS.items():
        climb, descent = saved(offer)
        mass, pedals = price(offer)
        others = [descent_seconds(offer, seed) for seed in (COURSE, 0, 1)] if descent else []
        rows.append([name, f"{climb + descent:.1f}", f"{mass:.2f}", f"{pedals:.2f}",
                     _shares(needed(offer)) if descent else "–",
                     _shares(needed(offer, "descent")) if offer in MOTORS else "–",
                     f"{min(others):.1f} to {max(others):.1f}" if others else "–"])  # fmt: skip
    return table(["yardstick: time of a lap", "saved, at most (s)", "battery carried up (s)",
                  "its energy at the pedals (s)", "share of the descent needed, at 5 / 50 / 95 % of the draw",
                  "the same, on for the descent alone", "descent, three loops (s)"], rows)  # fmt: skip


def _shares(values):
    return " / ".join(f"{value:.0f} %" for value in values)


def decision_table():
    """The cautious battery: a day in the third winter at the draw that 95 of 100 tries stay below."""
    rows = []
    for offer, name in OFFERS.items():
        watts, pack = drawing(offer).quantile(0.95), day_pack(LI_ION, offer, 0.95)
        fits = pack.mass <= CAGE_MASS and pack.volume <= CAGE_VOLUME
        rows.append([name, rounded(watts), rounded(watts * DAY), str(pack.count), rounded(pack.mass, 2),
                     rounded(1e3 * pack.volume, 2), "yes" if fits else "no",
                     rounded(pack.count * pack.cell.voltage * pack.cell.max_current),
                     f"{100.0 * watts / RIDER_ALL_DAY['healthy person']:.1f} %"])  # fmt: skip
    return table(["lithium-ion, third winter", "draw, cautious (W)", "a day (Wh)", "cells", "kg", "litres",
                  "fits the cage", "may give (W)", "of a healthy person's 75 W"], rows)  # fmt: skip
