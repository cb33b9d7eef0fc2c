"""Derivation and tables of workbook 05: the budget of a box, folding and filters, what age costs on a ride."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
import sympy as sp

from helpers.control import sampling
from helpers.control.laws import ActiveSkyhook, Passive
from helpers.control.mode_switch import ModeSwitch
from helpers.control.optimal import open_damping
from helpers.control.timing import Timing
from helpers.models import quarter_car
from helpers.models.quarter_car import Step
from helpers.models.vehicles import FLEET
from helpers.simulation.families import SKYHOOK
from helpers.simulation.metrics import bob, rms
from helpers.simulation.runs import ride_section, simulate
from helpers.teaching.page import Shown, table
from scenes.w05_rides import (
    BAND,
    BIKE,
    BOXES,
    CARRIER,
    FASTER,
    HOME,
    LINE_STRENGTH,
    MOTORCYCLE,
    MOVED,
    OTHERS,
    PRESENT,
    QUICKER,
    SELECTOR_RATES,
    SPARE,
    TRAVERSE,
    age,
    begun,
    calmest_fixed,
    chain,
    deadline,
    delayed,
    late,
    loop,
    named,
    readings,
    root_met,
    selected,
    selector,
    sensed,
    skyhook,
    soft_alone,
    spare,
    told_by_legs,
    told_to_open,
    vibration,
    with_box,
)

PLACES = (BIKE, TRAVERSE, MOTORCYCLE)
EQUAL_AGE = 10.0  # ms


def _whole(text):
    """A text that a narrow table may not break."""
    return text.replace(" ", "\u00a0")


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


def check_table(events=60):
    """The sums of the budget against drawing and against the stepper."""
    knock = replace(PRESENT, sensor_filter=math.inf)
    phases = 0.05 + np.arange(events) / (events * knock.sample_rate)
    stepped = np.array([_valve_gone(knock, phase, seed) for seed, phase in enumerate(phases)])
    drawn, slow_drawn = chain(knock).drawn(10_000, seed=1), chain(PRESENT).drawn(10_000, seed=1)

    def told(best, mean, worst):
        return f"{1e3 * mean:.1f} ({1e3 * best:.1f} to {1e3 * worst:.1f})"

    sums = chain(knock)
    return table(
        ("what happens", "sums: mean (best to worst)", "10 000 drawn", "stepper"),
        [
            ("a knock, sensor without filter", told(sums.best, sums.mean, sums.worst),
             *(told(each.min(), each.mean(), each.max()) for each in (drawn, stepped))),
            ("a slow swing of 1 Hz, whole box: mean", f"{age(PRESENT):.2f}", f"{1e3 * slow_drawn.mean():.2f}",
             f"{1e3 * _slow_lag(PRESENT):.2f}"),
        ],
    )  # fmt: skip


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
    shown = "\n\n".join(step._repr_markdown_() for step in steps)
    return Shown(f"<details><summary>The derivation (optional)</summary>\n\n{shown}\n\n</details>")


@lru_cache
def _margin(machine):
    vehicle = FLEET[machine].plain(open_damping(FLEET[machine]))
    model = quarter_car.numeric_state_space(vehicle)
    a, b, gains = model.A, model.B[:, -1], np.array([0.0, SKYHOOK * FLEET[machine].damping, 0.0, 0.0])
    return a, b, gains, sampling.delay_margin(sampling.loop_response(a, b, gains))


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


def margin_table():
    """Delay margin of an actuator's skyhook beside the open valve: as it is, and held at 200 Hz."""
    rows = []
    for machine, vehicle in FLEET.items():
        a, b, gains, margin = _margin(machine)
        held = _held_margin(a, b, gains, 200.0, margin.delay)
        alone = math.pi * vehicle.body_mass / (2.0 * gains[1])
        rows.append((
            vehicle.name, f"{1e3 * alone:.0f}", f"{margin.crossover:.2f}", f"{math.degrees(margin.phase_margin):.1f}",
            f"{1e3 * margin.delay:.1f}", f"{1e3 * held:.1f}",
        ))  # fmt: skip
    heads = ("machine", "body alone (ms)", "crossover (Hz)", "phase margin (°)", "delay margin (ms)",
             "left when held at 200 Hz (ms)")  # fmt: skip
    return table(heads, rows)


# --- folding and filters ------------------------------------------------------------------------------------------


def rejection_table():
    """The trade of sample rate against filter delay: cut-off and delay at equal weakening of what folds in."""
    first = float(sampling.butterworth_gain(200.0 - BAND, PRESENT.sensor_filter, 1))
    rows = []
    for name, order, left in (("first order (the box's own)", 1, first), ("first order", 1, 0.1),
                              ("second order", 2, 0.1), ("fourth order", 4, 0.03)):  # fmt: skip
        cutoffs = [sampling.cutoff_for(rate, BAND, left, order) for rate in (200.0, 1000.0)]
        delays = [1e3 * sampling.butterworth_delay(each, order) for each in cutoffs]
        rows.append((
            name, f"{100 * left:.0f}", f"{cutoffs[0]:.0f}", f"{delays[0]:.1f}", f"{cutoffs[1]:.0f}",
            f"{delays[1]:.1f}",
        ))  # fmt: skip
    heads = ("filter", "left of what folds in, at most (%)", "cut-off at 200 Hz (Hz)", "its delay (ms)",
             "cut-off at 1 kHz (Hz)", "its delay (ms)")  # fmt: skip
    return table(heads, rows)


def engine_table():
    """What the engine's line does to the carrier's law, with one box, engine speed and filter after another."""
    fourth = sampling.cutoff_for(200.0, BAND, 0.03, 4)
    slower = replace(PRESENT, sample_rate=250.0)
    rows = []
    for name, turns, timing, order in (
        ("present box", None, PRESENT, 1),
        ("present box", 5800, PRESENT, 1),
        ("present box", 5955, PRESENT, 1),
        ("present box", 6000, PRESENT, 1),
        ("present box", 6200, PRESENT, 1),
        ("box B: quicker valve", 5955, QUICKER, 1),
        ("box A: 1 kHz", 5955, FASTER, 1),
        ("present box, filter at 20 Hz", 5955, replace(PRESENT, sensor_filter=20.0), 1),
        (f"present box, fourth order at {fourth:.0f} Hz", 5955, replace(PRESENT, sensor_filter=fourth), 4),
        ("present box set to 250 Hz", 5955, slower, 1),
        ("present box set to 250 Hz", 7455, slower, 1),
    ):
        line = (turns or 0.0) / 30.0
        found = sensed(CARRIER, timing, LINE_STRENGTH if turns else 0.0, frequency=line, order=order)
        extra = 1e3 * (sampling.butterworth_delay(timing.sensor_filter, order)
                       - sampling.butterworth_delay(timing.sensor_filter, 1))  # fmt: skip
        rows.append((
            name, str(turns or "off"), f"{float(sampling.alias(line, timing.sample_rate)):.1f}" if turns else "–",
            f"{age(timing) + extra:.1f}", f"{found.error:.2f}", f"{found.vibration:.2f}",
        ))  # fmt: skip
    heads = ("carrier, descent", "engine (turns a minute)", "line seen at (Hz)", "mean age (ms)",
             "error of the speed, rms (m/s)", "vibration (m/s²)")  # fmt: skip
    return table(heads, rows)


def engine_facts():
    """Fair rivals of the carrier, and the true speed of the body."""
    run = ride_section(FLEET["carrier"], loop().section("descent"), skyhook(CARRIER), PRESENT)
    print(f"calmest fixed damper:  {calmest_fixed(CARRIER)[0]:.2f} m/s²; soft valve alone: {soft_alone(CARRIER):.2f}")
    print(f"the body's true speed: {rms(run.body_velocity):.2f} m/s, rms")


# --- what age costs -----------------------------------------------------------------------------------------------


def _parts(timing):
    """Mean ms of filter, wait, computer with bus and jitter, and valve."""
    means = {stage.name: 1e3 * stage.mean for stage in chain(timing).stages}
    electronics = means["compute"] + means["bus"] + means["jitter"]
    parts = means["filter"], means["wait for a sample"], electronics, means["valve dead time"] + means["valve motion"]
    return " + ".join(f"{each:.1f}" for each in parts)


def boxes_table():
    """Every box on three rides, and two dampers without electronics."""
    rows = [
        (_whole(name), _whole(_parts(timing)), f"{age(timing):.1f}",
         _whole(f"{1e3 * chain(timing).best:.1f} to {1e3 * chain(timing).worst:.1f}"),
         *(f"{with_box(place, timing):.2f}" for place in PLACES))
        for name, timing in BOXES.items()
    ]  # fmt: skip
    for name, rival in (("calmest fixed damper", lambda place: calmest_fixed(place)[0]),
                        ("soft valve alone", soft_alone)):  # fmt: skip
        rows.append((_whole(name), "–", "–", "–", *(f"{rival(place):.2f}" for place in PLACES)))
    heads = ("box", "filter + wait + computer, bus, jitter + valve (ms)", "mean age (ms)", "best to worst (ms)",
             *(f"{named(place)} (m/s²)" for place in PLACES))  # fmt: skip
    return table(heads, rows)


def beginnings():
    """How far one box's ride on the bike's descent depends on where in a period it begins."""
    for name in ("present box", "box A: 1 kHz", "box B: quicker valve"):
        rides = begun(BIKE, skyhook(BIKE), BOXES[name])
        print(f"{name}, {len(rides)} beginnings: {min(rides):.2f} to {max(rides):.2f} m/s²")


def ages_table():
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
    return table(("10 ms made of", *(f"{named(p)} (m/s²)" for p in places)), rows)


def deadlines_table():
    """When a law is too late: for a damper, for an actuator, and for the actuator's stability."""
    rows = []
    for place in (BIKE, TRAVERSE, MOTORCYCLE, CARRIER):
        hop = quarter_car.modes(FLEET[place[0]]).wheel_hz
        six = [deadline(place, seed=seed) for seed in (HOME, *OTHERS)] if place != TRAVERSE else []
        rows.append((
            named(place), f"{deadline(place):.0f}", _whole(f"{min(six):.0f} to {max(six):.0f}") if six else "–",
            _whole(f"{0.36 * deadline(place) * hop:.0f}° of {hop:.1f} Hz"), f"{deadline(place, active=True):.0f}",
            f"{1e3 * _margin(place[0])[-1].delay:.0f}",
        ))  # fmt: skip
    heads = ("machine, section", "damper: no gain from (ms)", "on six loops (ms)", "lag of the wheel's hop there",
             "actuator: no gain from (ms)", "actuator: unstable from (ms)")  # fmt: skip
    return table(heads, rows)


def signals_table(extra=15):
    """Which of a skyhook's two signals must be fresh: vibration with neither, one and both of them late."""
    bare = Timing(sample_rate=1000.0, sensor_filter=1000.0, valve_time_constant=1e-4)
    rows = [
        (named(place), *(f"{sensed(place, bare, 0.0, told=True, behind=behind).vibration:.2f}"
                         for behind in ((0, 0), (extra, 0), (0, extra), (extra, extra))))
        for place in (BIKE, MOTORCYCLE, CARRIER)
    ]  # fmt: skip
    heads = ("vibration (m/s²)", "nothing late", f"body's speed {extra} ms late", f"opening speed {extra} ms late",
             "both")  # fmt: skip
    return table(heads, rows)


# --- the spare bike -----------------------------------------------------------------------------------------------


def selector_table():
    """Sample rate of the spare bike's selector, resting closed and resting open."""
    rows = []
    for rate in SELECTOR_RATES:
        seen = np.minimum(readings() * rate, 1.0).mean()
        rows.append((f"{rate:.0f}", f"{100 * seen:.0f}", *(
            f"{spare(section, selector(rest, section), rate):.2f}" for section in ("descent", "climb")
            for rest in (1.0, 0.0)
        )))  # fmt: skip
    heads = ("sample rate (Hz)", "readings seen (%)", "descent, normally closed", "descent, normally open",
             "climb, normally closed", "climb, normally open")  # fmt: skip
    return table(heads, rows)


def legs_bob():
    """What a late first firmness costs the normally-open selector that the legs alone tell, on the climb."""
    for rate in (10.0, 200.0):
        told = 1e3 * bob(selected("climb", told_by_legs(), rate), 8.0 / 3.0)
        print(f"told by the legs, {rate:.0f} a second: bob {told:.2f} mm")


def roots_table():
    """A root half a metre after the last stroke: the spare bike open, firm, and told by the legs to open."""
    rows = []
    for speed in (3.0, 6.0, 10.0):
        met = (root_met(speed, Passive(0.0)), root_met(speed, Passive(1.0)),
               *(root_met(speed, told_to_open(), rate) for rate in (10.0, 50.0, 200.0)))  # fmt: skip
        rows.append((f"{speed:.0f}", f"{0.1 * speed:.1f}", *(f"{each:.1f}" for each in met)))
    heads = ("speed (m/s)", "ground in 0.1 s (m)", "open already (m/s²)", "firm (m/s²)", "told at 10 Hz (m/s²)",
             "at 50 Hz (m/s²)", "at 200 Hz (m/s²)")  # fmt: skip
    return table(heads, rows)


def selector_facts():
    """How long the readings last, and the spare bike left open and left locked."""
    last = readings()
    print(f"readings above 40 m/s² on the climb: {len(last)}, median {1e3 * np.median(last):.1f} ms, "
          f"{1e3 * last.min():.1f} to {1e3 * last.max():.1f} ms")  # fmt: skip
    for name, setting in (("open", 0.0), ("locked", 1.0)):
        values = [vibration(("bike", section), Passive(setting), None, HOME, SPARE) for section in ("descent", "climb")]
        print(f"left {name}: descent {values[0]:.2f}, climb {values[1]:.2f} m/s²")


# --- the decision -------------------------------------------------------------------------------------------------


def decision_table():
    """Each machine's descent with each box: one yardstick, vibration."""
    boxes = (PRESENT, FASTER, QUICKER)
    opened = selector(0.0, "descent")
    rows = [
        (what, f"{calmest_fixed(place)[0]:.2f}", *(f"{each:.2f}" for each in rides))
        for what, place, rides in (
            ("trail bike, skyhook told the speed", BIKE, [with_box(BIKE, box) for box in boxes]),
            ("stretcher carrier, skyhook that adds up, engine on", CARRIER,
             [sensed(CARRIER, box).vibration for box in boxes]),
            ("rescue motorcycle, skyhook told the speed", MOTORCYCLE, [with_box(MOTORCYCLE, box) for box in boxes]),
            ("spare bike, normally open", BIKE, [spare("descent", opened, box.sample_rate) for box in boxes]),
        )
    ]  # fmt: skip
    heads = ("descent, vibration (m/s²)", "calmest fixed", "present box", "box A", "box B")
    return table(heads, rows)


def seeds_table():
    """The claims of the page on this loop and on five others of the same make."""

    def fixed(place, box, ride):
        return lambda seed: calmest_fixed(place, seed)[0] - ride(place, box, seed=seed)

    def carrier(place, box, seed):
        return sensed(place, box, seed=seed).vibration

    def equal(rate):
        slow = Timing(sample_rate=rate, compute=1e-3 * EQUAL_AGE - 0.5 / rate)
        return lambda seed: with_box(BIKE, slow, seed) - delayed(BIKE, EQUAL_AGE, seed)

    claims = (
        *((f"{machine}: {box} below the calmest fixed", fixed(place, timing, ride))
          for machine, place, ride in (("bike", BIKE, with_box), ("motorcycle", MOTORCYCLE, with_box),
                                       ("carrier, engine on", CARRIER, carrier))
          for box, timing in (("present box", PRESENT), ("box A", FASTER), ("box B", QUICKER))),
        ("bike: at a mean age of 10 ms, 50 Hz above 1 kHz", equal(50.0)),
        ("spare bike: normally closed at 10 Hz above normally open",
         lambda seed: spare("descent", selector(1.0, "descent"), 10.0, seed)
         - spare("descent", selector(0.0, "descent"), 10.0, seed)),
    )  # fmt: skip
    rows = []
    for name, claim in claims:
        others = [claim(seed) for seed in OTHERS]
        rows.append((name, *(f"{each:+.2f}" for each in (claim(HOME), min(others), max(others)))))
    return table(("descent, difference (m/s²)", "this loop", "five others, least", "largest"), rows)
