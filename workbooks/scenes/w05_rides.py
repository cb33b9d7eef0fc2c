"""Boxes and rides of workbook 05: chains of sensor, computer and valve, what they cost on a ride, fixed rivals."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from helpers.control import sampling
from helpers.control.latency import Chain
from helpers.control.laws import ActiveSkyhook, LinearSkyhook, Passive
from helpers.control.mode_switch import ManualLever, ModeSelector
from helpers.control.optimal import open_damping
from helpers.control.timing import Timing
from helpers.models import quarter_car
from helpers.models.pedalling import Pedalling
from helpers.models.terrain import fell_loop
from helpers.models.vehicles import FLEET
from helpers.simulation.families import SKYHOOK, mode_switching
from helpers.simulation.metrics import metrics
from helpers.simulation.runs import axle_path, ride_section, simulate
from helpers.simulation.summed_speed import ride_summed

# Invented for the course: the box that came with the dampers, and the two that are offered.
PRESENT = Timing(
    sample_rate=200.0, sensor_filter=80.0, compute=5e-4, bus=5e-4, jitter=1e-3, valve_dead_time=5e-3,
    valve_time_constant=4e-3,
)  # fmt: skip
BAND = 20.0  # Hz, below which the laws look at the body
FASTER = replace(PRESENT, sample_rate=1000.0)
# The cut-off that lets as much of what folds into the band through at 1 kHz as the present one does at 200 Hz.
RAISED = replace(FASTER, sensor_filter=80.0 * (1000.0 - BAND) / (200.0 - BAND))
QUICKER = replace(PRESENT, valve_dead_time=2e-3, valve_time_constant=1.6e-3)
BOTH = replace(RAISED, valve_dead_time=2e-3, valve_time_constant=1.6e-3)
BOXES = {
    "present box": PRESENT,
    "box A: 1 kHz": FASTER,
    "box A, filter raised": RAISED,
    "box B: quicker valve": QUICKER,
    "both, filter raised": BOTH,
}
MOVED = 1.0 - math.exp(-1.0)  # share of its way that the valve has gone after its time constant

BIKE, TRAVERSE, CARRIER, MOTORCYCLE = (
    ("bike", "descent"), ("bike", "traverse"), ("carrier", "descent"), ("motorcycle", "descent"),
)  # fmt: skip
HOME, OTHERS = 8, (1, 2, 3, 4, 5)  # seeds of the Fell loop and of five others of the same make
# Fixed dampers among which the calmest is sought, those of workbook 03.
ORDINARY = np.geomspace(100.0, 2000.0, 16)
SETTINGS = (0.0, 0.02, 0.04, 0.06, 0.08, 0.1, 0.15, 0.2, 0.3)
# The carrier's engine: two shakes a turn at 5955 turns a minute, this strong on the frame. Invented for the course.
LINE, LINE_STRENGTH = 198.5, 10.0  # Hz, m/s2
SPARE = mode_switching(FLEET["bike"]).vehicle  # the spare bike, on the selector of workbook 04
SELECTOR_RATES = (10.0, 50.0, 200.0, 1000.0)


def chain(timing):
    """The stages of a box, up to the moment when the valve has gone 63 % of its way, its time constant."""
    return Chain.of(timing, share=MOVED)


def age(timing):
    """Mean age in ms of what the valve acts on."""
    return 1e3 * chain(timing).mean


def late(milliseconds):
    """A chain of that mean age that is nothing but delay, sampled at 1 kHz."""
    return Timing(sample_rate=1000.0, compute=1e-3 * milliseconds - 5e-4)


@lru_cache(8)
def loop(seed=HOME):
    """The Fell loop, or another of the same make."""
    return fell_loop(seed)


def named(place):
    """A place in words."""
    return f"{FLEET[place[0]].name}, {place[1]}"


@lru_cache(2048)
def vibration(place, law, timing=None, seed=HOME, vehicle=None):
    """Vibration in m/s2, weighted by Wk, of a law on a place; ideal timing unless given."""
    return metrics(ride_section(vehicle or FLEET[place[0]], loop(seed).section(place[1]), law, timing)).comfort


def skyhook(place):
    """The skyhook law for the controllable damper, of twice the plain damper's coefficient as in workbook 03."""
    return LinearSkyhook(SKYHOOK * FLEET[place[0]].damping)


PHASES = 8  # moments within a sample period at which a ride begins; the page shows the mean


def _after(path, speed, wait):
    """The road under a wheel that stands for `wait` s before it sets off."""
    return lambda time: path.at(path.distance[0] + speed * np.maximum(time - wait, 0.0)) - path.height[0]


@lru_cache(1024)
def begun(place, law, timing, seed=HOME, vehicle=None):
    """Vibration in m/s2 of one ride, begun at PHASES moments spread over a sample period: a tuple."""
    vehicle, section = vehicle or FLEET[place[0]], loop(seed).section(place[1])
    path, speed = axle_path(section.profile, vehicle.wheel_radius), vehicle.speed(place[1])
    push = Pedalling(force=vehicle.pedal_force).push if section.pedalling else None
    waits = np.arange(PHASES) / (PHASES * timing.sample_rate)
    rides = (simulate(vehicle, _after(path, speed, wait), path.length / speed + wait, law, timing, push)
             for wait in waits)  # fmt: skip
    return tuple(metrics(each).comfort for each in rides)


def with_box(place, timing, seed=HOME):
    """Vibration in m/s2 of the controllable damper with a skyhook law and a box: the mean of `begun`."""
    return float(np.mean(begun(place, skyhook(place), timing, seed)))


def delayed(place, milliseconds, seed=HOME):
    """Vibration in m/s2 with a chain of nothing but delay; at 1 kHz one beginning is enough."""
    return vibration(place, skyhook(place), late(milliseconds), seed)


def _least(values, cost):
    """(least cost, its value) along `values`, whose costs fall and then rise: downhill from the third of them."""
    at = 2
    while True:
        near = range(max(at - 1, 0), min(at + 2, len(values)))
        best = min(near, key=lambda k: cost(values[k]))
        if best == at:
            return cost(values[at]), values[at]
        at = best


@lru_cache
def calmest_fixed(place, seed=HOME):
    """(vibration in m/s2, name) of the calmest of 25 dampers that nothing switches."""
    vehicle = FLEET[place[0]]
    ordinary = _least(ORDINARY, lambda c: vibration(place, Passive(), None, seed, vehicle.plain(c)))
    setting = _least(SETTINGS, lambda s: vibration(place, Passive(s), None, seed))
    return min((ordinary[0], f"{ordinary[1]:.0f} N s/m"), (setting[0], f"valve at {setting[1]:g}"))


@lru_cache
def actuator_loop(machine):
    """(A, b, gains, delay margin) of an actuator's skyhook loop beside the open valve."""
    vehicle = FLEET[machine].plain(open_damping(FLEET[machine]))
    model = quarter_car.numeric_state_space(vehicle)
    a, b, gains = model.A, model.B[:, -1], np.array([0.0, SKYHOOK * FLEET[machine].damping, 0.0, 0.0])
    return a, b, gains, sampling.delay_margin(sampling.loop_response(a, b, gains))


@lru_cache
def deadline(place, active=False, seed=HOME):
    """Mean age in ms, to a quarter, at which a law of nothing but delay is as rough as the calmest fixed damper."""
    law = ActiveSkyhook(SKYHOOK * FLEET[place[0]].damping) if active else skyhook(place)
    least, most = (10.0, 60.0) if active else (4.0, 36.0)
    while most - least > 0.51:
        middle = 0.5 * (least + most)
        if vibration(place, law, late(middle), seed) < calmest_fixed(place, seed)[0]:
            least = middle
        else:
            most = middle
    return 0.5 * (least + most)


# --- a law that must find the body's speed for itself -------------------------------------------------------------


@lru_cache(64)
def sensed(place, timing, line=LINE_STRENGTH, seed=HOME, frequency=LINE, **options):
    """`ride_summed` at a place, with a skyhook, while an engine shakes the frame at `line` in m/s2."""
    vehicle, section = FLEET[place[0]], loop(seed).section(place[1])
    path, sky = axle_path(section.profile, vehicle.wheel_radius), SKYHOOK * vehicle.damping
    return ride_summed(
        vehicle, path, vehicle.speed(place[1]), timing, sky, line=line, frequency=frequency, seed=seed, **options
    )


# --- the spare bike's selector ------------------------------------------------------------------------------------


def told_by_legs():
    """A selector that rests open and is firm from the rider's first stroke: no bump sensor."""
    return ManualLever(first=0.0, then=1.0, at=1e-3, reaction=0.0, hand=0.0)  # just after a sample: the latest start


def selector(rest, section):
    """The selector of workbook 04 that opens on bumps: normally closed with rest 1, normally open with rest 0."""
    return ModeSelector(hysteresis=10.0, rest=rest, pedalled=section != "descent")


def told_to_open():
    """The same selector, firm so far, from the moment in which the rider stops pedalling: the latest opening."""
    return ManualLever(first=1.0, then=0.0, at=1e-3, reaction=0.0, hand=0.0)


ROOT_HEIGHT, ROOT_LENGTH, ROOT_AFTER = 0.04, 0.3, 0.5  # m; a half-sine root, this far after the last stroke


def root_met(speed, law, rate=200.0):
    """Greatest body acceleration in m/s2 when the spare bike meets a root half a metre after the last stroke."""

    def road(time):
        along = np.clip((speed * time - ROOT_AFTER) / ROOT_LENGTH, 0.0, 1.0)
        return ROOT_HEIGHT * np.sin(math.pi * along)

    seconds = (ROOT_AFTER + ROOT_LENGTH) / speed + 0.5
    run = simulate(SPARE, road, seconds, law, replace(PRESENT, sample_rate=rate))
    return float(np.abs(run.body_acceleration).max())


@lru_cache
def selected(section, law, rate=200.0, seed=HOME):
    """The spare bike's `Run` under a selector law, with the present box at another sample rate."""
    return ride_section(SPARE, loop(seed).section(section), law, replace(PRESENT, sample_rate=rate))


def spare(section, law, rate=200.0, seed=HOME):
    """Vibration in m/s2 of the spare bike under a selector law: the mean of `begun`."""
    return float(np.mean(begun(("bike", section), law, replace(PRESENT, sample_rate=rate), seed, SPARE)))


def readings(threshold=40.0):
    """How long each reading above the threshold lasts on the climb, the spare bike locked: sorted array, s."""
    run = ride_section(SPARE, loop().section("climb"), Passive(1.0), None, log_step=2.5e-4)
    above = np.abs(run.wheel_acceleration) > threshold
    edges = np.flatnonzero(np.diff(np.r_[False, above, False].astype(int)))
    return np.sort(edges[1::2] - edges[::2]) * run.time[1]
