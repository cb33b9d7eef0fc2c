"""Folded parts of workbook 05, for those who want more: checks, derivations and rides beside the page's story."""

import math
from dataclasses import replace

import numpy as np
import sympy as sp

from helpers.control import sampling
from helpers.control.laws import ActiveSkyhook
from helpers.control.mode_switch import ModeSwitch
from helpers.control.timing import Timing
from helpers.models.quantities import table as described
from helpers.models.quarter_car import Step
from helpers.models.vehicles import FLEET
from helpers.simulation.runs import simulate
from helpers.teaching.page import folded, table
from scenes.w05_rides import (
    BAND,
    BIKE,
    CARRIER,
    LINE_STRENGTH,
    MOTORCYCLE,
    MOVED,
    PRESENT,
    actuator_loop,
    age,
    chain,
    late,
    sensed,
    with_box,
)

EQUAL_AGE = 10.0  # ms


# --- the budget ---------------------------------------------------------------------------------------------------


def _valve_gone(timing, event, seed):
    """Time in s from a jump of the road until the stepper's valve has gone 63 % of its way."""
    law = ModeSwitch(threshold=20.0, hold=0.2, rest=1.0, event=0.0)
    run = simulate(
        FLEET["bike"], lambda time: np.where(np.asarray(time) >= event - 1e-9, 0.02, 0.0), event + 0.1, law, timing,
        longest_step=1e-4, log_step=1e-4, seed=seed,
    )  # fmt: skip
    return run.time[int(np.argmax(run.valve < 1.0 - MOVED))] - event


def _slow_lag(timing, frequency=1.0, seconds=12.0):
    """How late the stepper's actuator follows the body's speed, in s, on a slow sine of the road."""
    run = simulate(
        FLEET["bike"], lambda time: 0.01 * np.sin(2.0 * np.pi * frequency * time), seconds, ActiveSkyhook(1.0), timing,
        log_step=2.5e-4,
    )  # fmt: skip
    whole = (run.time >= 2.0) & (run.time < seconds)  # ten swings, the start has died away
    turned = np.exp(-2j * np.pi * frequency * run.time[whole])
    force, speed = (np.mean(each[whole] * turned) for each in (-run.actuator_force, run.body_velocity))
    return float(-np.angle(force / speed) / (2.0 * np.pi * frequency))


def check_fold(events=60):
    """The sums of the budget against drawing and against the stepper."""
    knock = replace(PRESENT, sensor_filter=math.inf)
    phases = 0.05 + np.arange(events) / (events * knock.sample_rate)
    stepped = np.array([_valve_gone(knock, phase, seed) for seed, phase in enumerate(phases)])
    drawn, slow_drawn = chain(knock).drawn(10_000, seed=1), chain(PRESENT).drawn(10_000, seed=1)

    def told(best, mean, worst):
        return f"{1e3 * mean:.1f} ({1e3 * best:.1f} to {1e3 * worst:.1f})"

    sums = chain(knock)
    return folded(
        "Does it add up? (optional)",
        f"The same chain drawn by dice, and measured in the simulation that computes every ride: {events} knocks at "
        "different moments, then a slow swing. Mean, and best to worst, in ms:",
        table(
            ("what happens", "sums", "10 000 drawn", "simulated"),
            [
                ("a knock, sensor without filter", told(sums.best, sums.mean, sums.worst),
                 *(told(each.min(), each.mean(), each.max()) for each in (drawn, stepped))),
                ("a slow swing of 1 Hz, whole box", f"{age(PRESENT):.2f}", f"{1e3 * slow_drawn.mean():.2f}",
                 f"{1e3 * _slow_lag(PRESENT):.2f}"),
            ],
        ),
        "It does. The sixty knocks did not meet the very best and worst case.",
    )  # fmt: skip


def ranges_fold():
    """The least and most that a box's model takes."""
    rows = [
        (row.name.replace("_", " "), f"{row.low:g} to {row.high:g}".replace("to inf", "or more"), row.unit)
        for row in described(PRESENT)
    ]
    ranges = table(("stage", "range", "unit"), rows)
    return folded("What the model accepts (optional)", "Least and most of each stage:", ranges)


# --- hold and delay -----------------------------------------------------------------------------------------------

T, TAU, OMEGA = sp.symbols("T tau omega", positive=True)
S = sp.Symbol("s")
HOLD = (1 - sp.exp(-S * T)) / (S * T)
HALF = OMEGA * T / 2
HELD = sp.sin(HALF) / HALF * sp.exp(-sp.I * HALF)
LAG = OMEGA * (TAU + T / 2)


def hold_derivation():
    """Why holding a value for a period is a delay of half a period."""
    if sp.simplify((HOLD.subs(S, sp.I * OMEGA) - HELD).rewrite(sp.cos)) != 0:
        raise ArithmeticError("The hold is no longer its shrinking times its lag.")
    size = sp.Function("H")
    steps = (
        Step("Hold", "A command stands for one period: it goes up now and down one period later.",
             sp.Eq(size(S), HOLD)),
        Step("Shake at one frequency", "$s = i\\omega$, sorted into a size and a turn: it shrinks like $\\sin(x)/x$ "
             "and is late by half a period.", sp.Eq(size(sp.I * OMEGA), HELD)),
        Step("Late as well", "A delay $\\tau$ turns by $\\omega\\tau$ more. Lags add up.",
             sp.Eq(sp.Symbol(r"\mathrm{lag}"), LAG)),
        Step("Sampled without end", "$T \\to 0$: only the delay is left.", sp.limit(LAG, T, 0)),
        Step("Slow motion", "$\\omega \\to 0$: the hold does not shrink.", sp.limit(sp.sin(HALF) / HALF, OMEGA, 0)),
        Step("One whole swing a period", "$\\omega = 2\\pi/T$: nothing is left of it.",
             sp.simplify((sp.sin(HALF) / HALF).subs(OMEGA, 2 * sp.pi / T))),
    )  # fmt: skip
    return folded("The derivation (optional)", *steps)


def _held_margin(a, b, gains, rate, most):
    """The delay in s beyond which the loop, closed at samples, grows."""
    least = 0.0
    while most - least > 1e-5:
        middle = 0.5 * (least + most)
        if sampling.growth(a, b, gains, 1.0 / rate, middle) < 1.0:
            least = middle
        else:
            most = middle
    return least


def margin_fold():
    """Delay margin of an actuator's skyhook beside the open valve: as it is, and held at 200 Hz."""
    rows, bike = [], None
    for machine, vehicle in FLEET.items():
        a, b, gains, margin = actuator_loop(machine)
        held = _held_margin(a, b, gains, 200.0, margin.delay)
        alone = math.pi * vehicle.body_mass / (2.0 * gains[1])
        bike = bike or (vehicle.body_mass, gains[1], 1e3 * alone)
        rows.append((
            vehicle.name, f"{1e3 * margin.delay:.1f}", f"{1e3 * held:.1f}", f"{1e3 * alone:.0f}",
            f"{margin.crossover:.2f}", f"{math.degrees(margin.phase_margin):.1f}",
        ))  # fmt: skip
    heads = ("machine", "delay margin (ms)", "held at 200 Hz (ms)", "body alone (ms)", "crossover (Hz)",
             "phase margin (°)")  # fmt: skip
    return folded(
        "Delay margin (optional)",
        "An actuator with a skyhook law closes a loop: the body's speed makes a force, the force changes the speed. "
        "At the *crossover* frequency a swing comes back from the loop as large as it went; the *phase margin* is the "
        "angle left there until the loop feeds its own swing. A delay uses it up. The actuator itself is taken as "
        "immediate.",
        "A body $m$ alone on a skyhook $c_\\mathrm{sky}$ bears at most $\\tau_\\mathrm{max} = \\pi m/(2 "
        f"c_\\mathrm{{sky}})$: for the bike's {bike[0]:.0f} kg and {bike[1]:.0f} N s/m {bike[2]:.0f} ms.",
        table(heads, rows),
        "On the whole machine, beside the open valve, the bike's crossover is 3.51 Hz: "
        "$93.7^\\circ/(360^\\circ\\cdot3.51\\,\\mathrm{Hz})$ is 74.1 ms. Held at 200 Hz it bears 71.7 ms besides: "
        "half a period is used up.",
    )


# --- filters ------------------------------------------------------------------------------------------------------


def steeper_fold():
    """Filters of second and fourth order: delay at equal weakening of what folds in."""
    rows = []
    for name, order, left in (("second", 2, 0.1), ("fourth", 4, 0.03)):
        cutoffs = [sampling.cutoff_for(rate, BAND, left, order) for rate in (200.0, 1000.0)]
        cells = (f"{1e3 * sampling.butterworth_delay(each, order):.1f} ({each:.0f} Hz)" for each in cutoffs)
        rows.append((name, f"{100 * left:.0f}", *cells))
    return folded(
        "Steeper filters (optional)",
        "A filter of higher *order* leaves less of what lies above its cut-off, for more delay at the same cut-off.",
        table(("order", "leaves (%)", "at 200 Hz: delay in ms (cut-off)", "at 1 kHz"), rows),
    )


def engine_fold():
    """Other engine speeds and other filters than those of the page's story."""
    fourth = sampling.cutoff_for(200.0, BAND, 0.03, 4)
    slower = replace(PRESENT, sample_rate=250.0)
    rows = []
    for name, turns, timing, order in (
        ("present box", 5800, PRESENT, 1),
        ("present box", 6000, PRESENT, 1),
        ("present box", 6200, PRESENT, 1),
        ("filter at 20 Hz", 5955, replace(PRESENT, sensor_filter=20.0), 1),
        (f"fourth order at {fourth:.0f} Hz", 5955, replace(PRESENT, sensor_filter=fourth), 4),
        ("set to 250 Hz", 7455, slower, 1),
    ):
        found = sensed(CARRIER, timing, LINE_STRENGTH, frequency=turns / 30.0, order=order)
        extra = 1e3 * (sampling.butterworth_delay(timing.sensor_filter, order)
                       - sampling.butterworth_delay(timing.sensor_filter, 1))  # fmt: skip
        seen = float(sampling.alias(turns / 30.0, timing.sample_rate))
        rows.append((
            f"{name}, {turns}", f"{found.vibration:.2f}", f"{seen:.1f}", f"{found.error:.2f}",
            f"{age(timing) + extra:.1f}",
        ))  # fmt: skip
    heads = ("turns a minute", "vibration (m/s²)", "seen at (Hz)", "wrong speed (m/s)", "mean age (ms)")
    return folded(
        "Other engine speeds, other filters (optional)",
        "The present box on the carrier's descent, with another filter or rate where the row says so.",
        table(heads, rows),
        "**The slower the sway, the larger the wrong speed**, since adding up divides by the frequency. At 6000 turns "
        "a minute the line stands still: 3.92 m/s² here, and how bad depends on where in the turn the samples fall. "
        "5800 and 6200 are both seen at 6.7 Hz; of the faster line the filter leaves a little less, 0.07 m/s in place "
        "of 0.08: 2.14 and 2.18 m/s², about level with the fixed damper. Who flees from 5955 must not stop at 6000.",
        "**A filter costs what it saves.** At 20 Hz it makes the news 21.0 ms old: 2.25 m/s². A steep one, fourth "
        "order at 75 Hz, leaves 2.17, as good as a fixed damper.",
    )


# --- what age costs -----------------------------------------------------------------------------------------------


def ages_fold():
    """Seven chains of one mean age, made of different things."""
    ways = {
        "delay (1 kHz)": late(EQUAL_AGE),
        "delay, 200 Hz": Timing(sample_rate=200.0, compute=0.0075),
        "delay, 100 Hz": Timing(sample_rate=100.0, compute=0.005),
        "sampling alone, 50 Hz": Timing(sample_rate=50.0),
        "jitter up to 4 ms, 200 Hz": Timing(sample_rate=200.0, compute=0.0055, jitter=0.004),
        "half a slow filter (32 Hz)": Timing(sample_rate=1000.0, sensor_filter=100.0 / math.pi, compute=0.0045),
        "half a slow valve": Timing(sample_rate=1000.0, compute=0.0045, valve_time_constant=0.005),
    }
    places = (BIKE, CARRIER, MOTORCYCLE)
    rows = [(name, *(f"{with_box(place, timing):.2f}" for place in places)) for name, timing in ways.items()]
    return folded(
        "A millisecond is a millisecond: seven chains of one age (optional)",
        "All seven have a mean age of 10 ms. Vibration on the descent, in m/s²:",
        table(("10 ms made of", "bike", "carrier", "motorcycle"), rows),
        "The age decides, not what it is made of: on each machine the seven lie within 3 %.",
    )


def signals_fold(extra=15):
    """Which of a skyhook's two signals must be fresh: vibration with neither, one and both of them late."""
    bare = Timing(sample_rate=1000.0, sensor_filter=1000.0, valve_time_constant=1e-4)
    rows = [
        (FLEET[place[0]].name, *(f"{sensed(place, bare, 0.0, told=True, behind=behind).vibration:.2f}"
                                  for behind in ((0, 0), (extra, 0), (0, extra), (extra, extra))))
        for place in (BIKE, MOTORCYCLE, CARRIER)
    ]  # fmt: skip
    return folded(
        "Which signal must be fresh? (optional)",
        "An actuator's law looks at the body's speed alone, a damper's at the opening speed besides. One of them "
        f"{extra} ms late (one ride each, all else immediate), vibration on the descent in m/s²:",
        table(("late", "nothing", "body's speed", "opening speed", "both"), rows),
        "**Most of the harm comes with the fast signal.** On the bike 15 ms cost 0.23 m/s² where the body's speed is "
        "late, 0.50 where the opening speed is; the order is the same on all three. The slow signal is not harmless: "
        "it holds some of the hop, too.",
    )
