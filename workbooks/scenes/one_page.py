"""What a practitioner carries away from the course, on one page: what to ask, to measure, to compute; numbers "
"computed."""

import math
from functools import lru_cache

from helpers.course import AccelerationDriven, Skyhook, bike, budget, calmest_fixed, fell_loop, real_chain, ride
from helpers.models.energy import HOUR, climb_seconds
from helpers.models.half_car import HALF_CARS
from helpers.models.orifice import BAR
from helpers.models.valve import BALANCED, POPPET
from helpers.models.vehicles import GRAVITY
from helpers.specifying import Requirements, Specification, due, duty, loaded, pressure, remains
from helpers.teaching.sheet import Part, Sheet

HEADS = ("question", "rule", "what the course found", "page")
WIDTHS = (7, 7, 9, 1.8)


def _hertz(rate, mass):
    return math.sqrt(rate / mass) / (2.0 * math.pi)


@lru_cache
def numbers():
    """Every number of the page, by name, in the units that it is printed in."""
    descent, spec, need = fell_loop().descent, Specification(bike, AccelerationDriven(firm=1.0), "coil on a pilot",
                                                             cells=3), Requirements()  # fmt: skip
    fixed, sky = ride(calmest_fixed(bike, descent), descent), ride(bike, descent, Skyhook(1000.0))
    traverse = ride(bike, fell_loop().traverse, Skyhook(1000.0))
    opened, response = {}, spec.response
    for name, valve in (("poppet", POPPET), ("spool", BALANCED)):
        opened[name] = float(valve.forces(0.0, 37.0 * BAR).to_open)
    warm, cold = (spec.pack.usable(degrees, years=3.0) / HOUR for degrees in (20.0, need.coldest))
    return opened | {
        "fixed": fixed.vibration, "sky": sky.vibration, "fixed dose": fixed.dose, "sky dose": sky.dose,
        "drives": 100.0 * (traverse.body_velocity * traverse.suspension_velocity < 0.0).mean(),
        "age": budget(real_chain).mean, "due": 1e3 * due(spec, need), "bar": pressure(bike, spec.law, 0.0) / BAR,
        "half": 1e3 * response.force_50, "most": 1e3 * response.force_63, "ninety": 1e3 * response.force_90,
        "stroke": 1e3 * response.fully_open, "shut": 100.0 * min(remains(spec, need)["valve stuck shut"].values()),
        "warm": warm, "cold": cold, "draw": duty(spec).power, "gives warm": loaded(spec.pack, 0.0, 20.0).most,
        "gives cold": loaded(spec.pack, 0.0, need.coldest).most,
        "sag": 1e3 * bike.body_mass * GRAVITY / bike.spring_rate,
        "body": _hertz(bike.spring_rate, bike.body_mass),
        "hop": _hertz(bike.spring_rate + bike.tyre_rate, bike.wheel_mass),
        "floor": 3e3 / 1000.0 / 40.0, "path": 1e3 * bike.descent_speed * 3e-3, "folds": abs(126.5 - 125.0),
        "warning": 1e3 * HALF_CARS["bike"].wheelbase / bike.descent_speed, "kilogram": climb_seconds(1.0, 100.0, 250.0),
        "unseen": 100.0 * (1.0 - 0.05 ** (1.0 / 500.0)),
    }  # fmt: skip


def one_page():
    """The page as a `Sheet`."""
    n = numbers()
    ask = (
        ("Response time: until what, against what pressure?", "dead time, then 50, 63 or 90 % of the force",
         f"coil on a pilot, opening, {n['bar']:.0f} bar: {n['half']:.1f}, {n['most']:.1f}, {n['ninety']:.1f} ms; "
         f"valve fully open {n['stroke']:.1f} ms", "05 08 10"),
        ("How old is what it acts on?", "age = filter + 1/(2 f) + computer + bus + jitter/2 + valve",
         f"a quick chain: {n['age']:.1f} ms; on the bike the gain is gone at {n['due']:.1f} ms", "05"),
        ("Calmer than which damper?", "the calmest that never moves, on your ground",
         f"bike's descent: skyhook {n['sky']:.2f}, fixed {n['fixed']:.2f} m/s²", "03"),
        ("By which measure?", "rms, and dose = fourth root of the sum of a⁴ over time, a weighted by frequency",
         f"the same two by dose: {n['sky dose']:.1f} and {n['fixed dose']:.1f} m/s¹·⁷⁵, the other way round", "03"),
        ("What remains when it fails?", "flat, sensor dead, stuck open, stuck shut",
         f"bike, valve stuck shut: {n['shut']:.0f} % of the speed", "12"),
        ("Hours at which temperature and age?", "hours = energy left / draw; peak ≤ what cold cells give",
         f"three cells, three years old: {n['warm']:.1f} Wh at 20 °C, {n['cold']:.1f} at −10; new, half full: "
         f"peak {n['gives warm']:.0f} W, then {n['gives cold']:.0f}", "09 12"),
    )  # fmt: skip
    measure = (
        ("Sag under all that the wheel's spring carries, no preload", "k = m g / sag", 
         f"bike: {n['sag']:.0f} mm", "01"),
        ("Bounce of the body, hop of the wheel", "f = √(k/m) / 2π, for the wheel with both springs",
         f"bike: {n['body']:.1f} and {n['hop']:.0f} Hz", "01"),
        ("Delay from a log of two channels", "mean difference of first crossings ± the larger of t s/√n and 3 T/n",
         f"40 events at 1000 Hz: no better than {n['floor']:.3f} ms", "10"),
        ("Draw over a whole lap, not at rest", "1 W is 1 Wh an hour", f"bike, two wheels: {n['draw']:.1f} W", "09 12"),
        ("Your own rides, body mass and speed varied", "none of n failed: up to 1 − 0.05^(1/n) may",
         f"500 rides, none failed: {n['unseen']:.1f} %", "12"),
    )  # fmt: skip
    compute = (
        ("How far has the wheel rolled meanwhile?", "x = v t", f"3 ms at 10 m/s: {n['path']:.0f} mm", "06"),
        ("How long is the rear wheel warned?", "t = wheelbase / v", f"bike at 10 m/s: {n['warning']:.0f} ms", "07"),
        ("Can a damper give a skyhook's force?", "only while v_body (v_body − v_wheel) > 0",
         f"bike's traverse, skyhook: not for {n['drives']:.0f} % of the time", "03"),
        ("What does a fast vibration look like, sampled?", "|f − k f_s|, k the nearest whole number",
         f"126.5 Hz at 125 Hz: {n['folds']:.1f} Hz", "05"),
        ("What force opens the valve?", "φ A p + jet + spring + friction",
         f"8 mm at 37 bar: poppet {n['poppet']:.0f} N, balanced spool {n['spool']:.0f} N", "08"),
        ("What does a kilogram cost uphill?", "t = m g h / P", f"100 m at 250 W: {n['kilogram']:.1f} s", "09 11"),
        ("Is the sum right?", "units first, then the order of magnitude, then the digits", "", "11"),
    )  # fmt: skip
    found = {"Ask the seller": ask, "Measure": measure, "Compute": compute}
    parts = tuple(Part(heading, heads=HEADS, rows=rows, widths=WIDTHS) for heading, rows in found.items())
    caution = Part("Caution", "No number here is a setting for a real machine: all machines are invented. Work on "
                   "pressurised dampers, loaded springs and lithium cells belongs to a qualified technician; tests on "
                   "the move to known ground, low speed first and a second person.")  # fmt: skip
    below = "From Suspension control, worked through; the pages of the course behind each line stand at its end."
    lead = "Whose time, whose watts, compared with what?"
    return Sheet("Electronic suspension on one page", below, lead, (*parts, caution))
