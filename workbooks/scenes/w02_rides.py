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
from scenes.w02_numbers import EFFICIENCY, TRAVEL_WEIGHT, at_the_same_grip, bought, calmest, drawn, optional

LOOP = fell_loop()
WHEELS = {"bike": 2, "motorcycle": 2, "carrier": 4}
AT_ONCE = Timing.ideal()
GENTLE = Weights(1e4, COMFORT.tyre_deflection)
GRIPPING = Weights(TRAVEL_WEIGHT, 10.0**5.25)  # on class C with the calmest damper's grip on the carrier
ROUGH = [(machine, section) for machine in FLEET for section in ("traverse", "descent")]
HARD = (("carrier", "traverse"), ("bike", "descent"), ("motorcycle", "descent"))  # where each asks for most power


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


def battery(machine, at, reuse=False):
    """Mean power in W from the battery, every wheel counted like this one."""
    return WHEELS[machine] * drawn(at.supply, at.net, EFFICIENCY, reuse)


def _name(machine, section):
    return f"{machine}, {section}"


# --- the core's tables, of a few rows ---------------------------------------------------------------------------------


def calm_table():
    """Weighted vibration on each machine's roughest ride: plain, on the soft valve alone, with the motor."""
    rows = []
    for machine, section in HARD:
        felt = [without(machine, section, damping) for damping in (FLEET[machine].damping, 0.0)]
        felt += [active(machine, section, timing)[1] for timing in (AT_ONCE, FAST_CHAIN)]
        rows.append([_name(machine, section), *(f"{one.comfort:.2f}" for one in felt)])
    return table(["vibration (m/s²)", "plain damper", "soft valve alone", "motor, at once", "motor, late"], rows)


def bill_table():
    """Battery's mean power for the comfort law, the largest push and the stroke, on the same rides."""
    rows = []
    for machine, section in HARD:
        run, got = active(machine, section)
        at, late = power(run), power(active(machine, section, FAST_CHAIN)[0])
        watts = battery(machine, at), battery(machine, at, True), battery(machine, late)
        rows.append([_name(machine, section), f"{100.0 * got.bump_share:.0f}", f"{1e-3 * at.peak:.1f}",
                     *(f"{one:.0f}" for one in watts)])  # fmt: skip
    return table(["comfort law", "bump travel (%)", "peak (kW)", "battery (W)", "returns reused (W)", "late (W)"], rows)


MODEST = {"weights": GENTLE, "timing": FAST_CHAIN, "force_limit": 800.0}
LAWS = (("comfort law, at once", {}), ("comfort law, late", {"timing": FAST_CHAIN}),
        ("modest law, at once", {"weights": GENTLE}), ("modest law, late, at most 800 N", MODEST))  # fmt: skip


def modest_table(machine="bike"):
    """The bike's motor under two pairs of weights, at once and late: on the descent and over the whole loop."""
    rows = []
    for name, law in LAWS:
        run, got = active(machine, "descent", **law)
        rides = [active(machine, part.name, **law)[0] for part in LOOP.sections]
        joules = sum(battery(machine, power(one)) * one.duration for one in rides)
        rows.append([name, f"{got.comfort:.2f}", f"{battery(machine, power(run)):.0f}",
                     f"{joules / sum(one.duration for one in rides):.0f}"])  # fmt: skip
    return table([f"{FLEET[machine].name}", "descent (m/s²)", "battery, descent (W)", "battery, whole loop (W)"], rows)


def _limits(cases, machine, section):
    """Rows: name, vibration, wheel off the ground, battery, peak at one wheel."""
    rows = []
    for name, case in cases:
        run, got = active(machine, section, **case)
        at = power(run)
        rows.append([name, f"{got.comfort:.2f}", f"{100.0 * got.airborne:.1f}", f"{battery(machine, at):.0f}",
                     f"{1e-3 * at.peak:.1f}"])  # fmt: skip
    return rows


_HEADS = ["vibration (m/s²)", "off the ground (%)", "battery (W)", "peak (kW)"]
CHAIN = {"timing": FAST_CHAIN, "force_limit": 400.0}


def _slow(lag=0.0, delay=0.0):
    return {"timing": Timing(sample_rate=math.inf, valve_time_constant=lag, valve_dead_time=delay)}


def limits_table(machine="carrier", section="traverse"):
    """What is left of the gain when the motor is slow, late or weak."""
    rows = []
    for name, damping in (("plain damper", FLEET[machine].damping), ("soft valve alone", 0.0)):
        got = without(machine, section, damping)
        rows.append([name, f"{got.comfort:.2f}", f"{100.0 * got.airborne:.1f}", "0", "0.0"])
    cases = (("unlimited, at once", {}), ("unlimited, lag of 30 ms", _slow(lag=0.03)),
             ("unlimited, delay of 30 ms", _slow(delay=0.03)), ("400 N, at once", {"force_limit": 400.0}),
             ("400 N, late by the chain", CHAIN))  # fmt: skip
    return table([_name(machine, section), *_HEADS], rows + _limits(cases, machine, section))


def camera_table(machine="carrier", section="traverse"):
    """What a camera brings to the rig of the letter, and what is left when its picture is out of date."""
    cases = [("400 N, chain, no camera", CHAIN), ("sees 0.1 s ahead", CHAIN | {"preview": 0.1})]
    cases += [(f"its picture {1e3 * late:g} ms late", CHAIN | {"preview": 0.1, "late": late})
              for late in (0.005, 0.01, 0.04)]  # fmt: skip
    return table([_name(machine, section), *_HEADS], _limits(cases, machine, section))


# --- all rides, folded ------------------------------------------------------------------------------------------------


def every_ride():
    """Vibration, power, grip and stroke of every machine on both rough sections."""
    felt, rod, bill, ground = [], [], [], []
    for machine, section in ROUGH:
        name = _name(machine, section)
        dampers = (FLEET[machine].damping, float(calmest(machine).damping), 0.0)
        still = [without(machine, section, damping) for damping in dampers]
        cases = ({}, {"timing": FAST_CHAIN}, {"preview": 0.3}, {"preview": 0.3, "timing": FAST_CHAIN})
        ridden = [active(machine, section, **case) for case in cases]
        felt.append([name, *(f"{one.comfort:.2f}" for one in (*still, *(got for _, got in ridden)))])
        at, late = (power(run) for run, _ in ridden[:2])
        rod.append([name, *(text for one in (at, late) for text in (
            f"{one.supply:.0f}", f"{round(one.net)}", f"{1e-3 * one.peak:.1f}"))])  # fmt: skip
        bill.append([name, *(f"{one:.0f}" for one in (
            battery(machine, at), battery(machine, at, True), battery(machine, late)))])  # fmt: skip
        three = (still[0], still[2], ridden[0][1])
        ground.append([name, *(f"{100.0 * one.airborne:.1f}" for one in three),
                       *(f"{100.0 * one.bump_share:.0f}" for one in three)])  # fmt: skip
    return optional(
        "every machine on both rough sections",
        "*Seeing ahead* is 0.3 s of preview; *late* is the chain of workbook 00.",
        table(["weighted vibration (m/s²)", "plain damper", "calmest damper", "soft valve alone", "motor, at once",
               "late", "seeing ahead, at once", "late"], felt),
        "One motor at its rod, comfort law, and the battery for all wheels:",
        table(["one motor", "puts in, at once (W)", "net (W)", "peak (kW)", "puts in, late (W)", "net (W)",
               "peak (kW)"], rod),
        table(["battery, all wheels", "at once (W)", "returns reused (W)", "late (W)"], bill),
        "Grip and stroke, motor at once. More than 100 % of the bump travel: the rubber stop itself is squeezed.",
        table(["off the ground (%); bump travel (%)", "off: plain", "off: soft valve", "off: motor", "travel: plain",
               "travel: soft valve", "travel: motor"], ground),
        "**Unlimited power strikes the stop** on every descent, and the missing damper has a part in it: see the soft "
        "valve alone. The motorcycle's tyre tells the same: on the soft valve it is off the ground far more often than "
        "with the plain damper, and the motor hardly mends it. There the late motor is calmer than the one at once, "
        "which fights the stop. And the law of the straight-line model is not everybody's: on the motorcycle's "
        "traverse preview makes it worse, for its wheel is in the air a third of the time.",
    )  # fmt: skip


def more_limits(machine="carrier", section="traverse"):
    """The carrier's motor slower, later, weaker; asked for less; and with a camera but no limit."""
    cases = [(f"lag of {1e3 * t:g} ms ({1.0 / (2.0 * math.pi * t):.0f} Hz)", _slow(lag=t)) for t in (0.003, 0.01, 0.03)]
    cases += [(f"delay of {1e3 * t:g} ms", _slow(delay=t)) for t in (0.003, 0.01, 0.03)]
    cases += [(f"at most {force} N, at once", {"force_limit": float(force)}) for force in (400, 200, 100)]
    cases += [("chain of workbook 00, unlimited", {"timing": FAST_CHAIN})]
    cases += [("modest law, at once", {"weights": GENTLE}), ("modest law, late, at most 800 N", MODEST),
              ("weight of grip at 5.25, at once", {"weights": GRIPPING})]  # fmt: skip
    seen = [(f"sees {ahead:g} s ahead", {"preview": ahead}) for ahead in (0.1, 0.3)]
    seen += [(f"0.3 s, picture {1e3 * late:g} ms late", {"preview": 0.3, "late": late}) for late in (0.01, 0.02, 0.04)]
    seen += [("400 N, chain, sees 0.3 s ahead", CHAIN | {"preview": 0.3}),
             ("400 N, chain, 0.1 s, picture 20 ms late", CHAIN | {"preview": 0.1, "late": 0.02})]  # fmt: skip
    got = active(machine, section, **MODEST)[1], without(machine, section)
    stroke = [f"{100.0 * one.bump_share:.0f}" for one in got]
    return optional(
        "the carrier's motor slower, later, weaker, thriftier, and with a camera",
        "A lag of 3 ms is a bandwidth of 53 Hz.",
        table([f"{_name(machine, section)}: motor", *_HEADS], _limits(cases, machine, section)),
        "With a late motor thrift calms the carrier no more than the soft valve alone does. What it buys there is "
        f"stroke: {stroke[0]} % of the bump travel instead of {stroke[1]}. With the weight of grip at 5.25 the wheel "
        "holds the ground like the plain damper's, and the ride is rougher than on the soft valve alone.",
        table([f"{_name(machine, section)}: camera", *_HEADS], _limits(seen, machine, section)),
        "Without a limit of force a camera brings more, and harms more when its picture is late: the later it is, the "
        "more often the wheel is off the ground.",
    )  # fmt: skip


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
