"""Laws and rides of workbook 03, and the fixed dampers that a law has to beat."""

from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np

from helpers.control.laws import (
    AccelerationDriven,
    ActiveSkyhook,
    ClippedOptimal,
    Groundhook,
    LinearSkyhook,
    MixedHook,
    Passive,
    TwoStateSkyhook,
)
from helpers.control.timing import Timing
from helpers.models.dampers import linear
from helpers.models.terrain import fell_loop
from helpers.models.vehicles import FLEET
from helpers.simulation.batch import Ride, ride_abreast
from helpers.simulation.families import FAST_CHAIN, SKYHOOK, share_kept
from helpers.simulation.lane_step import LANES
from helpers.simulation.metrics import Metrics, metrics
from helpers.simulation.runs import Run, ride_section
from helpers.simulation.weighting import weighted_rms

LOOP = fell_loop()
PLACES = [(machine, section) for machine in FLEET for section in ("climb", "traverse", "descent")]
ROUGH = [place for place in PLACES if place[1] != "climb"]
HERE = ("bike", "descent")  # where the page's questions are asked
# Fixed dampers among which the best is sought: ordinary ones, N s/m, and settings of the controllable one.
ORDINARY = np.geomspace(100.0, 2000.0, 16)
SETTINGS = (0.0, 0.02, 0.04, 0.06, 0.08, 0.1, 0.15, 0.2, 0.3)
SKY_SHARE = 0.8  # of the mix
OTHER_LOOPS = (1, 2, 3, 4, 5)  # seeds of loops of the same make as the page's own
SAMPLED = Timing(sample_rate=1000.0)  # no wait; "at every time step" would make commands a matter of the step
SCATTER = np.linspace(0.99, 1.01, 256)  # of the gains of a ride that is chaotic
WITHOUT_LIMITS = {"open_curve": linear(0.0), "lockout_curve": linear(5e4)}
LAWS = {
    "skyhook": "skyhook",
    "two-state": "two-state skyhook",
    "acceleration": "acceleration-driven",
    "mix": f"mix, {SKY_SHARE:.0%} skyhook".replace("%", " %"),
    "groundhook": "groundhook",
}


def firm_setting(vehicle, coefficient):
    """The valve setting at which slow compression meets `coefficient` in N s/m, between open and lockout."""
    soft, firm = vehicle.open_curve.compression.low, vehicle.lockout_curve.compression.low
    return min(1.0, max(0.0, (coefficient - soft) / (firm - soft)))


def law_of(name, vehicle, coefficient, dead_band=0.0):
    """A law by its name in LAWS, of `coefficient` in N s/m; a two-state law is that firm in slow compression."""
    firm = firm_setting(vehicle, coefficient)
    return {
        "skyhook": partial(LinearSkyhook, coefficient),
        "two-state": partial(TwoStateSkyhook, firm=firm, dead_band=dead_band),
        "acceleration": partial(AccelerationDriven, firm=firm, dead_band=dead_band),
        "mix": partial(MixedHook, coefficient, SKY_SHARE),
        "groundhook": partial(Groundhook, coefficient),
    }[name]()


@lru_cache(160)
def ridden(place, law, timing=FAST_CHAIN):
    """Run and Metrics of a law on a place, a (machine, section) of PLACES; the vehicle's own damper and valve."""
    run = ride_section(FLEET[place[0]], LOOP.section(place[1]), law, timing)
    return run, metrics(run)


@lru_cache(256)
def ordinary(place, damping=None):
    """Metrics of an ordinary damper of `damping` in N s/m, the machine's own unless given."""
    return metrics(ride_section(FLEET[place[0]].plain(damping), LOOP.section(place[1])))


@dataclass(frozen=True, eq=False)
class Fixed:
    """A damper that nothing switches: its name, its ride's metrics, and the ride where it is of use."""

    name: str
    metrics: Metrics
    run: Run | None = None


def _coefficient(value):
    return f"{value:.0f} N s/m".replace(" ", "\u00a0")  # a table may not break it


def _valve_at(setting):
    return f"valve at {setting:g}".replace(" ", "\u00a0")


@lru_cache
def best_fixed(place):
    """The `Fixed` of least vibration on a place: an ordinary damper, or one setting of the controllable one."""
    coefficient = min(ORDINARY, key=lambda c: ordinary(place, c).comfort)
    setting = min(SETTINGS, key=lambda s: ridden(place, Passive(s))[1].comfort)
    run, rival = ridden(place, Passive(setting))
    if rival.comfort < ordinary(place, coefficient).comfort:
        return Fixed(_valve_at(setting), rival, run)
    run = ride_section(FLEET[place[0]].plain(coefficient), LOOP.section(place[1]))
    return Fixed(_coefficient(coefficient), metrics(run), run)


def sky(place, factor=SKYHOOK):
    """The skyhook coefficient used on a place, N s/m: twice the plain damper's unless `factor` is given."""
    return factor * FLEET[place[0]].damping


def semi(place):
    """Run and Metrics of the damper that imitates the skyhook."""
    return ridden(place, LinearSkyhook(sky(place)))


def active(place):
    """Run and Metrics of the actuator that is the skyhook."""
    return ridden(place, ActiveSkyhook(sky(place)))


@lru_cache
def best_in_grip(place):
    """The calmest `Fixed` whose load varies no more than with the law and whose wheel is off no longer, or None."""
    law = semi(place)[1]
    every = [Fixed(_coefficient(c), ordinary(place, c)) for c in ORDINARY]
    every += [Fixed(_valve_at(s), ridden(place, Passive(s))[1]) for s in SETTINGS]
    holds = [each for each in every if each.metrics.load_variation <= law.load_variation
             and each.metrics.airborne <= law.airborne]  # fmt: skip
    return min(holds, key=lambda each: each.metrics.comfort, default=None)


def kept(place, vibration):
    """Share of the active skyhook's gain over the best fixed damper."""
    return share_kept(best_fixed(place).metrics.comfort, active(place)[1].comfort, vibration)


def share_told(place, vibration):
    """`kept` in per cent, in words where nothing is: how much less than nothing tells a reader nothing."""
    share = 100.0 * kept(place, vibration)
    return f"{share:.0f}" if share > -0.5 else "none"


def named(place):
    """A place in words."""
    return f"{FLEET[place[0]].name}, {place[1]}"


def narrowed(vehicle, softest=1.0, firmest=1.0):
    """The vehicle with its softest and its firmest curve scaled."""
    return vehicle.changed(
        open_curve=vehicle.open_curve.scaled(softest), lockout_curve=vehicle.lockout_curve.scaled(firmest)
    )


def mean_vibration(section, machine, law):
    """Mean vibration in m/s2, to one decimal as text, of late rides whose gains differ by up to 1 %.

    A firm end without limit, and late, throws the wheel about: what differs in the last bit at the start differs by
    0.3 m/s2 at the end. One such ride is no fact; the mean has a standard error below 0.01 m/s2.
    """
    profile, speed, gains = LOOP.section(section).profile, machine.speed(section), np.array(law.numbers())
    rides = [Ride(machine, profile, speed, ClippedOptimal(*(factor * gains)), FAST_CHAIN) for factor in SCATTER]
    runs = [
        run for first in range(0, len(rides), LANES)
        for run in ride_abreast(rides[first : first + LANES], keep_states=True, metrics=()).runs
    ]  # fmt: skip
    return f"{np.mean([weighted_rms(run.body_acceleration, run.rate, 'Wk') for run in runs]):.1f}"
