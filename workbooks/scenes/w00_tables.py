"""The rides and tables of workbook 00: four suspensions over the Fell loop."""

from functools import lru_cache

import numpy as np

from helpers.control.mode_switch import ModeSwitch
from helpers.models.pedalling import Pedalling
from helpers.models.terrain import fell_loop
from helpers.models.terrain_file import read_terrain
from helpers.models.vehicles import FLEET, TRAIL_BIKE
from helpers.simulation import families
from helpers.simulation.metrics import bob, metrics
from helpers.simulation.runs import ride_section
from helpers.teaching.course import workbooks_folder
from helpers.teaching.page import Shown

LOOP = fell_loop()
SECTIONS = ("climb", "traverse", "descent")
NAMES = {
    "plain": "plain damper",
    "active": "active",
    "semi_active": "semi-active",
    "mode_switching": "mode switching",
}
STROKES = 2.0 * Pedalling().cadence  # pushes of the legs in a second, Hz


@lru_cache(maxsize=64)
def rides(machine, section):
    """Run and Metrics of the four families, by key, on a section; machine is a key of FLEET."""
    return ridden(machine, section, 1.0, ModeSwitch().threshold)


def ridden(machine, section, damping, threshold):
    vehicle = FLEET[machine]
    ordinary = vehicle.changed(damping=damping * vehicle.damping)
    four = families.four_families(vehicle)
    four["plain"] = families.plain(ordinary)
    four["mode_switching"] = families.mode_switching(ordinary, ModeSwitch(threshold=threshold))
    part = LOOP.section(section)
    runs = {key: ride_section(s.vehicle, part, s.law, s.timing) for key, s in four.items()}
    return {key: (run, metrics(run)) for key, run in runs.items()}


def loop_table(machine="bike"):
    """The main comparison: four suspensions over climb, traverse and descent, as one table."""
    pedals = FLEET[machine].pedal_force > 0.0
    head = ["section", "suspension", "vibration (m/s²)", "off the ground (%)", "bump travel used (%)"]
    head += (["pedal bob (mm)"] if pedals else []) + ["power in (W)", "net (W)"]
    lines = [f"| {' | '.join(head)} |", "|---|---|" + "---:|" * (len(head) - 2)]
    for section in SECTIONS:
        for key, (run, m) in rides(machine, section).items():
            cells = [section, NAMES[key], f"{m.comfort:.2f}", f"{100 * m.airborne:.1f}", f"{100 * m.bump_share:.0f}"]
            if pedals:
                cells.append(f"{1e3 * bob(run, STROKES):.1f}" if LOOP.section(section).pedalling else "–")
            power = (m.actuator_supply, m.actuator_mean) if key == "active" else ()
            cells += [f"{watts:.0f}" for watts in power] or ["–", "–"]
            lines.append(f"| {' | '.join(cells)} |")
    return Shown("\n".join(lines))


@lru_cache
def fixed_settings():
    """For a row of fixed dampers of the trail bike: vibration by section, legs still, and bob on the climb (m)."""
    coefficients = np.array([60, 90, 120, 180, 240, 300, 400, 500, 600, 800, 1000, 1300, 1700, 2200], dtype=float)
    found = {name: [] for name in (*SECTIONS, "bob")}
    for coefficient in coefficients:
        ridden = families.plain(TRAIL_BIKE, coefficient).vehicle
        for section in SECTIONS:
            still_legs = ridden.changed(pedal_force=0.0)
            found[section].append(metrics(ride_section(still_legs, LOOP.section(section))).comfort)
        found["bob"].append(bob(ride_section(ridden, LOOP.section("climb")), STROKES))
    return coefficients, {name: np.array(values) for name, values in found.items()}


@lru_cache
def quarry():
    """The sample terrain that ships with the course."""
    return read_terrain(workbooks_folder() / "data" / "quarry-track.csv")


def reading_table():
    """Machine by machine: vibration as a share of the plain damper's, time off the ground, the actuator's power."""
    heads = ("machine, section", "softest", "semi-active", "active", "mode switching", "off, plain (%)",
             "off, softest (%)", "off, active (%)", "in (W)", "net (W)")  # fmt: skip
    lines = [f"| {' | '.join(heads)} |", "|---|" + "---:|" * (len(heads) - 1)]
    for machine, vehicle in FLEET.items():
        for section in SECTIONS:
            found = {key: m for key, (_, m) in rides(machine, section).items()}
            found["soft"] = _ridden(families.soft_valve(vehicle), section)
            order = ("soft", "semi_active", "active", "mode_switching")
            shares = [f"{100 * found[key].comfort / found['plain'].comfort:.0f} %" for key in order]
            air = [f"{100 * found[key].airborne:.1f}" for key in ("plain", "soft", "active")]
            power = [f"{watts:.0f}" for watts in (found["active"].actuator_supply, found["active"].actuator_mean)]
            lines.append(f"| {vehicle.name}, {section} | {' | '.join([*shares, *air, *power])} |")
    lines.append(
        "\nVibration as a share of the plain damper's; *softest* is the controllable damper at its softest, without "
        "electronics. *Off*: time off the ground. *In*, *net*: power of the actuator."
    )
    return Shown("\n".join(lines))


def _ridden(suspension, section):
    return metrics(ride_section(suspension.vehicle, LOOP.section(section), suspension.law, suspension.timing))


def freed_table(soft=300.0, firm=2200.0):
    """What a mode switch frees: its open setting can suit the descent, since lockout takes care of the legs."""
    switch = families.mode_switching(TRAIL_BIKE.changed(damping=soft))
    lines = ["| trail bike | pedal bob on the climb (mm) | vibration on the descent (m/s²) |", "|---|---:|---:|"]
    for name, suspension in (
        (f"fixed, {soft:.0f} N s/m", families.plain(TRAIL_BIKE, soft)),
        (f"fixed, {firm:.0f} N s/m", families.plain(TRAIL_BIKE, firm)),
        (f"mode switch, open at {soft:.0f} N s/m", switch),
    ):
        climb = ride_section(suspension.vehicle, LOOP.section("climb"), suspension.law, suspension.timing)
        lines.append(f"| {name} | {1e3 * bob(climb, STROKES):.1f} | {_ridden(suspension, 'descent').comfort:.2f} |")
    return Shown("\n".join(lines))
