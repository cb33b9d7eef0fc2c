"""Rides of workbook 02: the laws with stops, friction, lift-off and a motor of this world, over the Fell loop."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from helpers.control.laws import Passive
from helpers.control.optimal import COMFORT, PreviewFeedback, Weights, regulator
from helpers.control.timing import Timing
from helpers.models.terrain import fell_loop, iso_8608
from helpers.models.vehicles import FLEET
from helpers.simulation.families import FAST_CHAIN
from helpers.simulation.metrics import metrics, power
from helpers.simulation.runs import ride, ride_section
from helpers.teaching.page import table
from scenes.w02_numbers import EFFICIENCY, TRAVEL_WEIGHT, at_the_same_grip, bought, calmest, drawn

LOOP = fell_loop()
WHEELS = {"bike": 2, "motorcycle": 2, "carrier": 4}
AT_ONCE = Timing.ideal()
GENTLE = Weights(1e4, COMFORT.tyre_deflection)
GRIPPING = Weights(TRAVEL_WEIGHT, 10.0**5.25)  # on class C with the calmest damper's grip on the carrier
ROUGH = [(machine, section) for machine in FLEET for section in ("traverse", "descent")]


@dataclass(frozen=True)
class LatePreview(PreviewFeedback):
    """Preview whose picture of the road comes `late` s late, which the controller does not know."""

    late: float = 0.0

    def ahead(self, road, step):
        """See `Law.ahead`."""
        wanted, wait = super().ahead(road, step), round(self.late / step)
        return np.concatenate([np.zeros(wait), wanted])[: len(wanted)]


@lru_cache
def active(machine, section, timing=AT_ONCE, force_limit=math.inf, weights=COMFORT, preview=0.0, late=0.0):
    """(Run, Metrics) of an optimal law over a section of the loop; preview: s that the road is seen ahead."""
    vehicle, design = FLEET[machine], regulator(FLEET[machine], weights)
    law = LatePreview(design, preview, force_limit, late) if preview else design.feedback(force_limit)
    run = ride_section(vehicle, LOOP.section(section), law, timing)
    return run, metrics(run)


@lru_cache
def without(machine, section, damping=0.0):
    """Metrics of a ride without a motor: on a plain damper of `damping` N s/m, or on the open valve alone."""
    vehicle = FLEET[machine].plain(damping) if damping else FLEET[machine]
    return metrics(ride_section(vehicle, LOOP.section(section), Passive()))


def calm_table():
    """Weighted vibration on rough ground without a motor, with the comfort law, late, and with preview."""
    rows = []
    for machine, section in ROUGH:
        dampers = (FLEET[machine].damping, float(calmest(machine).damping), 0.0)
        cases = ({}, {"timing": FAST_CHAIN}, {"preview": 0.3}, {"preview": 0.3, "timing": FAST_CHAIN})
        felt = [without(machine, section, damping) for damping in dampers]
        felt += [active(machine, section, **case)[1] for case in cases]
        rows.append([f"{FLEET[machine].name}, {section}", *(f"{one.comfort:.2f}" for one in felt)])
    return table(["weighted vibration (m/s²)", "plain damper", "calmest damper", "soft valve alone",
                  "comfort law, at once", "through the chain of workbook 00", "seeing 0.3 s ahead, at once",
                  "through the chain"], rows)  # fmt: skip


def _battery(machine, at, reuse=False):
    return WHEELS[machine] * drawn(at.supply, at.net, EFFICIENCY, reuse)


def bill_table():
    """Power, grip and stroke of the comfort law with an unlimited motor on rough ground, at once and late."""
    rows = []
    for machine, section in ROUGH:
        run, got = active(machine, section)
        still = [without(machine, section, damping) for damping in (FLEET[machine].damping, 0.0)]
        at, late = power(run), power(active(machine, section, FAST_CHAIN)[0])
        rows.append([
            f"{FLEET[machine].name}, {section}", f"{_battery(machine, at):.0f}; {_battery(machine, at, True):.0f}",
            f"{_battery(machine, late):.0f}", f"{at.supply:.0f}; {round(at.net)}", f"{1e-3 * at.peak:.1f}",
            f"{late.supply:.0f}; {round(late.net)}", f"{1e-3 * late.peak:.1f}",
            ", ".join(f"{100.0 * one.airborne:.1f}" for one in (*still, got)),
            ", ".join(f"{100.0 * one.bump_share:.0f}" for one in (*still, got)),
        ])  # fmt: skip
    return table(["machine, section", "battery; with returns (W)", "battery, chain of workbook 00 (W)",
                  "puts in; net (W)", "peak (kW)", "chain: puts in; net (W)", "peak (kW)",
                  "off the ground: plain, soft alone, active (%)", "bump travel: plain, soft alone, active (%)"], rows)


def modest_table():
    """The same motor asked for less: on the bike's descent and over its whole loop, on the carrier's traverse."""
    laws = (("comfort law, at once", {}), ("weight of travel 10 000", {"weights": GENTLE}),
            ("the same, 800 N, chain of workbook 00",
             {"weights": GENTLE, "timing": FAST_CHAIN, "force_limit": 800.0}))  # fmt: skip
    grip = ("weight of grip 10⁵·²⁵, at once", {"weights": GRIPPING})
    cases = [("bike", "descent", *law) for law in laws] + [("carrier", "traverse", *law) for law in (*laws, grip)]
    rows = []
    for machine, section, name, law in cases:
        run, got = active(machine, section, **law)
        at, whole = power(run), "–"
        if machine == "bike":
            rides = [active(machine, part.name, **law)[0] for part in LOOP.sections]
            joules = sum(_battery(machine, power(one)) * one.duration for one in rides)
            whole = f"{joules / sum(one.duration for one in rides):.0f}; {joules / 3600.0:.1f}"
        rows.append([f"{FLEET[machine].name}, {section}: {name}", f"{got.comfort:.2f}", f"{100.0 * got.airborne:.1f}",
                     f"{100.0 * got.bump_share:.0f}", f"{at.supply:.0f}; {round(at.net)}",
                     f"{_battery(machine, at):.0f}", whole])  # fmt: skip
    return table(["machine, section: law", "vibration (m/s²)", "off the ground (%)", "bump travel (%)",
                  "puts in; net (W)", "battery (W)", "over the loop (W; Wh)"], rows)


def _limits(cases, machine, section):
    rows = []
    for name, case in cases:
        run, got = active(machine, section, **case)
        at = power(run)
        rows.append([name, f"{got.comfort:.2f}", f"{100.0 * got.airborne:.1f}", f"{at.supply:.0f}; {round(at.net)}",
                     f"{1e-3 * at.peak:.1f}", f"{_battery(machine, at):.0f}"])  # fmt: skip
    return rows


_HEADS = ["vibration (m/s²)", "off the ground (%)", "puts in; net (W)", "peak (kW)", "battery, four wheels (W)"]


def limits_table(machine="carrier", section="traverse"):
    """What is left of the gain when the motor is slow, late or weak; first, what there is without a motor."""
    vehicle, calm = FLEET[machine], float(calmest(machine).damping)
    rows = []
    for name, damping in ((f"plain damper, {vehicle.damping:g} N s/m", vehicle.damping),
                          (f"calmest damper, {calm:.0f} N s/m", calm), ("soft valve alone", 0.0)):  # fmt: skip
        got = without(machine, section, damping)
        rows.append([f"no motor: {name}", f"{got.comfort:.2f}", f"{100.0 * got.airborne:.1f}", "0; 0", "0.0", "0"])
    cases = [("unlimited, at once", {})]
    for late in (0.003, 0.01, 0.03):
        hertz = 1.0 / (2.0 * math.pi * late)
        slow = Timing(sample_rate=math.inf, valve_time_constant=late)
        cases.append((f"lag of {1e3 * late:g} ms ({hertz:.0f} Hz)", {"timing": slow}))
    cases += [(f"delay of {1e3 * late:g} ms", {"timing": Timing(sample_rate=math.inf, valve_dead_time=late)})
              for late in (0.003, 0.01, 0.03)]  # fmt: skip
    cases += [(f"at most {force} N, at once", {"force_limit": float(force)}) for force in (400, 200, 100)]
    cases += [("chain of workbook 00", {"timing": FAST_CHAIN}),
              ("the same, 400 N", {"timing": FAST_CHAIN, "force_limit": 400.0})]  # fmt: skip
    return table(["motor, comfort law", *_HEADS], rows + _limits(cases, machine, section))


def preview_table(machine="carrier", section="traverse"):
    """What a look ahead is worth in a ride, with limits and with a picture of the road that comes late."""
    chain = {"timing": FAST_CHAIN, "force_limit": 400.0}
    cases = [("no camera", {})]
    cases += [(f"sees {ahead:g} s ahead", {"preview": ahead}) for ahead in (0.1, 0.3)]
    cases += [(f"0.3 s, road {1e3 * late:g} ms late", {"preview": 0.3, "late": late}) for late in (0.01, 0.02, 0.04)]
    cases += [("chain of workbook 00, 400 N, no camera", chain)]
    cases += [(f"the same, sees {ahead:g} s ahead", chain | {"preview": ahead}) for ahead in (0.1, 0.3)]
    return table(["comfort law", *_HEADS], _limits(cases, machine, section))


def friction_table(machine="carrier"):
    """What a ride over class C with seal friction makes of the formula's shares, at the same weights of grip."""
    vehicle = FLEET[machine]
    road = iso_8608("C", 600.0, seed=1)
    designs = [(ahead, regulator(vehicle, Weights(TRAVEL_WEIGHT, 10.0 ** at_the_same_grip(machine, ahead))))
               for ahead in (0.0, 0.3)]  # fmt: skip
    laws = [PreviewFeedback(design, ahead) if ahead else design.feedback() for ahead, design in designs]
    base = float(calmest(machine).acceleration_rms)
    shares = [bought(machine, at_the_same_grip(machine, ahead), ahead).acceleration / base for ahead in (0.0, 0.3)]
    rows = [["formula", *(f"{100.0 * share:.0f} %" for share in shares)]]
    for name, friction, timing in (("ride without friction", 0.0, AT_ONCE),
                                   (f"ride with {vehicle.friction:g} N of it", vehicle.friction, AT_ONCE),
                                   ("the same, chain of workbook 00", vehicle.friction, FAST_CHAIN)):  # fmt: skip
        ridden = vehicle.changed(friction=friction)
        calm = metrics(ride(ridden.plain(float(calmest(machine).damping)), road, vehicle.traverse_speed))
        felt = [metrics(ride(ridden, road, vehicle.traverse_speed, law, timing)) for law in laws]
        rows.append([name, *(f"{100.0 * one.body_acceleration / calm.body_acceleration:.0f} %" for one in felt)])
    return table(["class C, carrier, of the calmest damper's acceleration", "feedback leaves", "seeing 0.3 s ahead"],
                 rows)  # fmt: skip
