"""What a ride was like, in a few numbers: comfort, grip, travel, heat and power."""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.quantities import in_range
from helpers.simulation.dose import exponential_transient
from helpers.simulation.weighting import vibration_dose, weighted_rms, weighting


@dataclass(frozen=True)
class Metrics:
    """Numbers of one ride, in SI units.

    body_acceleration: rms, m/s2. comfort: rms of body acceleration weighted by Wk, ISO 2631-1, m/s2.
    hand_arm: the same weighted by Wh, ISO 5349-1, m/s2, as felt by hands that hold the body.
    load_variation: rms of contact load about its static value, over the static value.
    airborne: share of time without ground contact. travel_rms, compression, extension: m; the last two are the
    largest strokes from static. bump_share: compression over the travel there is. bottomings: times the bump stop
    was reached. heat: mean power turned to heat in damper and seals, W. actuator_mean, actuator_supply: mean net
    power of the actuator and mean of its positive part, W. Of the acceleration weighted by Wk, see `dose.Vibration`:
    dose, m/s^1.75, crest_factor, and transient, MTVV by the exponential running average, m/s2.
    """

    body_acceleration: float
    comfort: float
    hand_arm: float
    load_variation: float
    airborne: float
    travel_rms: float
    compression: float
    extension: float
    bump_share: float
    bottomings: int
    heat: float
    actuator_mean: float
    actuator_supply: float
    dose: float
    crest_factor: float
    transient: float


def rms(values):
    """Root mean square of an array; same unit."""
    return float(np.sqrt(np.mean(np.square(values))))


def vibration(acceleration, rate):
    """The two numbers of vibration, weighted by Wk as ISO 2631-1 asks: rms in m/s2, and dose in m/s^1.75."""
    felt = weighting("Wk").filter(acceleration, rate)
    return rms(felt), vibration_dose(felt, rate)


def metrics(run):
    """The `Metrics` of a `Run`."""
    vehicle, squeeze = run.vehicle, -run.travel
    load, felt = run.contact_load, weighting("Wk").filter(run.body_acceleration, run.rate)
    comfort = rms(felt)
    at_stop = squeeze >= vehicle.bump_travel
    return Metrics(
        body_acceleration=rms(run.body_acceleration),
        comfort=comfort,
        hand_arm=weighted_rms(run.body_acceleration, run.rate, "Wh"),
        load_variation=rms(load - vehicle.static_load) / vehicle.static_load,
        airborne=float(np.mean(load <= 0.0)),
        travel_rms=rms(squeeze),
        compression=float(squeeze.max()),
        extension=float(-squeeze.min()),
        bump_share=float(squeeze.max()) / vehicle.bump_travel,
        bottomings=int(np.count_nonzero(at_stop[1:] & ~at_stop[:-1])),
        heat=(run.damper_heat + run.friction_heat) / run.duration,
        actuator_mean=run.actuator_work / run.duration,
        actuator_supply=run.actuator_supply / run.duration,
        dose=vibration_dose(felt, run.rate),
        crest_factor=float(np.abs(felt).max()) / comfort if comfort > 0.0 else 0.0,
        transient=exponential_transient(felt, run.rate),
    )


def bob(run, frequency):
    """Amplitude in m of suspension travel at one frequency in Hz: what pedalling at that rate makes of it.

    The travel is projected on sine and cosine over the whole number of cycles that fit into the ride.
    """
    cycles = math.floor(run.duration * frequency)
    if cycles < 1:
        raise ValueError(f"bob: frequency is {frequency:g} Hz; allowed is one cycle in {run.duration:g} s or more.")
    inside = run.time < cycles / frequency
    return 2.0 * abs(complex(np.mean(run.travel[inside] * np.exp(-2j * math.pi * frequency * run.time[inside]))))


@dataclass(frozen=True)
class Power:
    """What an actuator takes and gives, measured at its rod, W (its drive's own losses come on top).

    net: mean. supply: mean of the positive part, the supply's load without recovery. drawn: mean load of the supply
    when the stated share of what comes back is used again. peak, returned_peak: the largest at a logged point.
    """

    net: float
    supply: float
    drawn: float
    peak: float
    returned_peak: float


def power(run, recovery=0.0):
    """The `Power` of a `Run`'s actuator; recovery: share from 0 to 1 of the returned energy that is used again."""
    recovery = in_range("power", "recovery", recovery, "", 0.0, 1.0)
    net, supply = run.actuator_work / run.duration, run.actuator_supply / run.duration
    momentary = run.actuator_force * (run.body_velocity - run.wheel_velocity)
    drawn = supply - recovery * (supply - net)
    return Power(net, supply, drawn, max(float(momentary.max()), 0.0), max(float(-momentary.min()), 0.0))


@dataclass(frozen=True)
class ValveActivity:
    """How busy a valve is: changed commands a second, and its travel in full strokes a second."""

    commands: float
    strokes: float


def valve_activity(run):
    """The `ValveActivity` of a `Run`: what chatter costs."""
    return ValveActivity(run.commands / run.duration, float(np.abs(np.diff(run.valve)).sum()) / run.duration)
