"""A skyhook on a summed accelerometer against the same chain in plain Python, scipy's filters and closed forms."""

import math
from collections import deque
from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import butter, lfilter, sosfilt

from helpers.control.law import curve_force
from helpers.control.laws import LinearSkyhook, Passive
from helpers.control.timing import Timing
from helpers.models.terrain import Profile, iso_8608
from helpers.models.vehicles import CARRIER, MOTORCYCLE, TRAIL_BIKE
from helpers.simulation import kernel
from helpers.simulation.metrics import metrics, rms
from helpers.simulation.runs import axle_path, ride
from helpers.simulation.summed_speed import LEAK, SUBSTEPS, TICK, block, ride_summed
from helpers.simulation.weighting import weighted_rms

ROAD = iso_8608("D", 24.0, seed=4)
BOX = Timing(
    sample_rate=200.0, sensor_filter=80.0, compute=5e-4, bus=5e-4, jitter=4e-3, valve_dead_time=5e-3,
    valve_time_constant=4e-3,
)  # fmt: skip
SKY = 900.0


def in_python(vehicle, path, speed, timing, sky, line, frequency, order, seed, told, behind):
    """The chain written in another way: scipy filters the whole log so far, commands wait in a dictionary."""
    ticks, step = int(path.length / speed / TICK), TICK / SUBSTEPS
    halves = 0.5 * step * np.arange(2 * SUBSTEPS * ticks + 1)
    road = path.at(path.distance[0] + speed * halves) - path.height[0]
    push = line * vehicle.body_mass * np.sin(2.0 * math.pi * frequency * halves)
    every = round(1.0 / (timing.sample_rate * TICK))
    curves = vehicle.open_curve.packed(), vehicle.lockout_curve.packed()
    weights = butter(order, timing.sensor_filter, fs=SUBSTEPS / TICK)
    kept = [np.zeros(order) for _ in range(3)]
    draw, state, accelerations, errors = np.random.default_rng(seed), kernel.rest(), [0.0], []
    past, due = deque([np.zeros(3)] * 50, 50), {}
    valve = command = summed = 0.0
    for n in range(ticks):
        if n % every == 0:
            summed = math.exp(-2.0 * math.pi * LEAK / timing.sample_rate) * summed + past[-1][0] / timing.sample_rate
            soft, firm = (curve_force(curve, past[-1 - behind[1]][1]) for curve in curves)
            wanted = sky * (past[-1 - behind[0]][2] if told else summed)
            asked = 0.0 if firm == soft else min(max((wanted - soft) / (firm - soft), 0.0), 1.0)
            due[n + round(timing.delay / TICK) + int(draw.integers(0, round(timing.jitter / TICK) + 1))] = asked
            errors.append(summed - state[1])
        command = due.pop(n, command)
        middle, valve = (
            command + math.exp(-share * TICK / timing.valve_time_constant) * (valve - command) for share in (0.5, 1.0)
        )
        log, energy = np.zeros((SUBSTEPS + 1, kernel.LOGGED)), np.empty(kernel.ENERGIES)
        part = slice(2 * SUBSTEPS * n, 2 * SUBSTEPS * (n + 1) + 1)
        kernel.march(
            *kernel.packed(vehicle), Passive.code, Passive(middle).packed(), step, 1, 0, 0, 0.0, 0.0, 0.0, middle,
            state, road[part], push[part], np.zeros(SUBSTEPS + 1), 1, 1, log, energy,
        )  # fmt: skip
        accelerations.append(log[-1, kernel.BODY_ACC])
        signals = (
            log[1:, kernel.BODY_ACC], log[1:, kernel.BODY_SPEED] - log[1:, kernel.WHEEL_SPEED],
            log[1:, kernel.BODY_SPEED],
        )  # fmt: skip
        seen = np.zeros(3)
        for k, signal in enumerate(signals):
            filtered, kept[k] = lfilter(*weights, signal, zi=kept[k])
            seen[k] = filtered[-1]
        past.append(seen)
    return weighted_rms(np.array(accelerations), 1.0 / TICK, "Wk"), rms(errors)


@pytest.mark.parametrize(
    ("vehicle", "timing", "options"),
    [
        (TRAIL_BIKE, BOX, {}),
        (CARRIER, BOX, {"line": 10.0, "frequency": 198.5, "order": 3, "seed": 5}),
        (MOTORCYCLE, replace(BOX, sample_rate=1000.0, sensor_filter=400.0), {"told": True, "behind": (7, 2)}),
    ],
)
def test_the_same_chain_in_plain_python(vehicle, timing, options):
    every = {"line": 0.0, "frequency": 0.0, "order": 1, "seed": 1, "told": False, "behind": (0, 0)} | options
    found = ride_summed(vehicle, ROAD, 10.0, timing, SKY, **every)
    vibration, error = in_python(vehicle, ROAD, 10.0, timing, SKY, **every)
    assert found.vibration == pytest.approx(vibration, rel=1e-9)
    assert found.error == pytest.approx(error, rel=1e-9)


@pytest.mark.parametrize(("cutoff", "order"), [(80.0, 1), (404.0, 2), (80.0, 4)])
def test_a_block_is_the_filter_of_scipy(cutoff, order):
    """In sections of second order, which lose the fewest digits."""
    signal = np.random.default_rng(3).standard_normal(60 * SUBSTEPS)
    sections = butter(order, cutoff, fs=SUBSTEPS / TICK, output="sos")
    wanted = sosfilt(sections, signal)[SUBSTEPS - 1 :: SUBSTEPS]
    state, found = np.zeros(order), []
    for part in signal.reshape(-1, SUBSTEPS):
        *state, output = block(cutoff, order) @ np.concatenate([state, part])
        found.append(output)
    np.testing.assert_allclose(found, wanted, rtol=0, atol=1e-10)


@pytest.mark.parametrize("vehicle", [TRAIL_BIKE, CARRIER])
def test_told_the_true_speed_it_is_the_steppers_linear_skyhook(vehicle):
    """Both sample at 1 kHz behind no delay; the filter of 1.9 kHz and the valve moving by ticks leave a little."""
    timing = Timing(sample_rate=1000.0, sensor_filter=1900.0, valve_time_constant=2e-3)
    path = axle_path(ROAD, vehicle.wheel_radius)
    found = ride_summed(vehicle, path, 8.0, timing, SKY, told=True)
    plain = ride(vehicle, ROAD, 8.0, LinearSkyhook(SKY), replace(timing, sensor_filter=math.inf))
    assert found.vibration == pytest.approx(metrics(plain).comfort, rel=0.015)


def test_a_line_above_half_the_sample_rate_folds_into_the_sum():
    """198.5 Hz sampled at 200 Hz looks like 1.5 Hz: the sum holds A G / (2 pi 1.5 Hz), nearly, with the leak.

    On flat ground a stiff machine hardly moves, so its true speed is small beside the folded one. A: size of the
    acceleration, G: gain of the filter at the line, both in closed form.
    """
    line, frequency, rate = 10.0, 198.5, 200.0
    flat = Profile.of(np.zeros(6000), 0.02)
    timing = replace(BOX, jitter=0.0)
    found = ride_summed(CARRIER, flat, 4.0, timing, 0.0, line=line, frequency=frequency)
    warped = [math.tan(math.pi * hertz * TICK / SUBSTEPS) for hertz in (frequency, timing.sensor_filter)]
    gain = 1.0 / math.hypot(1.0, warped[0] / warped[1])
    keep = math.exp(-2.0 * math.pi * LEAK / rate)
    summing = abs(1.0 / rate / (1.0 - keep * np.exp(-2j * math.pi * 1.5 / rate)))
    assert found.error == pytest.approx(line * gain * summing / math.sqrt(2.0), rel=0.02)


def test_what_it_cannot_ride_gets_one_sentence():
    with pytest.raises(ValueError, match="sample_rate is 300 Hz; allowed are 1000 Hz over a whole number"):
        ride_summed(CARRIER, ROAD, 10.0, replace(BOX, sample_rate=300.0), SKY)
    for cutoff in (2000.0, math.inf):
        with pytest.raises(ValueError, match="sensor_filter is .* Hz; allowed is below 2000 Hz"):
            ride_summed(CARRIER, ROAD, 10.0, replace(BOX, sensor_filter=cutoff), SKY)
