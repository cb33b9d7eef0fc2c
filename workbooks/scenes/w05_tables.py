"""Tables of workbook 05: boxes and filters, what age costs on a ride, the engine's line, the selector, the decision."""

from dataclasses import replace

import numpy as np

from helpers.control import sampling
from helpers.control.laws import Passive
from helpers.models.vehicles import FLEET
from helpers.simulation.metrics import bob, rms
from helpers.simulation.runs import ride_section
from helpers.teaching.page import Shown, table
from scenes.w05_rides import (
    BAND,
    BIKE,
    BOXES,
    CARRIER,
    FASTER,
    HOME,
    LINE,
    LINE_STRENGTH,
    MOTORCYCLE,
    OTHERS,
    PRESENT,
    QUICKER,
    SELECTOR_RATES,
    SPARE,
    TRAVERSE,
    actuator_loop,
    age,
    begun,
    calmest_fixed,
    chain,
    deadline,
    delayed,
    loop,
    named,
    readings,
    root_met,
    selected,
    selector,
    sensed,
    skyhook,
    spare,
    told_by_legs,
    told_to_open,
    vibration,
    with_box,
)


def _whole(text):
    """A text that a narrow table may not break."""
    return text.replace(" ", "\u00a0")


# --- the model ----------------------------------------------------------------------------------------------------


def parameters_table():
    """Symbols and values of the present box and of the two on offer, times in ms."""

    def each(tell):
        return [tell(timing) for timing in (PRESENT, FASTER, QUICKER)]

    rows = [
        ("sample rate $f_s$", *each(lambda t: f"{t.sample_rate:.0f} Hz")),
        ("period $T = 1/f_s$", *each(lambda t: f"{1e3 / t.sample_rate:.1f} ms")),
        ("filter's cut-off $f_c$", *each(lambda t: f"{t.sensor_filter:.0f} Hz")),
        ("computer", *each(lambda t: f"{1e3 * t.compute:.1f} ms")),
        ("bus", *each(lambda t: f"{1e3 * t.bus:.1f} ms")),
        ("jitter", *each(lambda t: f"0 to {1e3 * t.jitter:.0f} ms")),
        ("valve, dead time", *each(lambda t: f"{1e3 * t.valve_dead_time:.1f} ms")),
        ("valve, motion", *each(lambda t: f"{1e3 * t.valve_time_constant:.1f} ms")),
    ]
    return table(("stage", "present box", "box A", "box B"), rows)


def rejection_table():
    """The trade of sample rate against filter delay: cut-off and delay at equal weakening of what folds in."""
    rows = []
    for name, left in ((", the box's own", float(sampling.butterworth_gain(200.0 - BAND, PRESENT.sensor_filter, 1))),
                       ("", 0.1)):  # fmt: skip
        cutoffs = [sampling.cutoff_for(rate, BAND, left, 1) for rate in (200.0, 1000.0)]
        rows.append((f"{100 * left:.0f} %{name}", *(
            f"{1e3 * sampling.butterworth_delay(each, 1):.1f} ({each:.0f} Hz)" for each in cutoffs
        )))  # fmt: skip
    return table(("leaves", "at 200 Hz: delay in ms (cut-off)", "at 1 kHz"), rows)


# --- the carrier's engine -----------------------------------------------------------------------------------------


def engine_table():
    """What the engine's line does to the carrier's law, with one box after another."""
    run = ride_section(FLEET["carrier"], loop().section("descent"), skyhook(CARRIER), PRESENT)
    lead = (
        f"Calmest fixed damper {calmest_fixed(CARRIER)[0]:.2f} m/s²; the body's true speed "
        f"{rms(run.body_velocity):.2f} m/s, rms; the present box told that speed, as in the live figure, "
        f"{with_box(CARRIER, PRESENT):.2f} m/s²."
    )
    rows = []
    for name, strength, timing in (
        ("present box, engine off", 0.0, PRESENT),
        ("present box", LINE_STRENGTH, PRESENT),
        ("box B: quicker valve", LINE_STRENGTH, QUICKER),
        ("box A: 1 kHz", LINE_STRENGTH, FASTER),
        ("present box set to 250 Hz", LINE_STRENGTH, replace(PRESENT, sample_rate=250.0)),
    ):
        found = sensed(CARRIER, timing, strength)
        seen = f"{float(sampling.alias(LINE, timing.sample_rate)):.1f}" if strength else "–"
        rows.append((name, f"{found.vibration:.2f}", seen, f"{found.error:.2f}"))
    heads = ("engine at 5955 turns a minute", "vibration (m/s²)", "seen at (Hz)", "wrong speed, rms (m/s)")
    return Shown(f"{lead}\n\n{table(heads, rows)}")


# --- what age costs -----------------------------------------------------------------------------------------------


def boxes_table():
    """Every box on two rides of the bike, and the calmest damper without electronics."""
    places = (BIKE, TRAVERSE)
    rows = [
        (name, *(f"{with_box(place, timing):.2f}" for place in places), f"{age(timing):.1f}",
         f"{1e3 * chain(timing).best:.1f} to {1e3 * chain(timing).worst:.1f}")
        for name, timing in BOXES.items()
    ]  # fmt: skip
    rows.append(("calmest fixed damper", *(f"{calmest_fixed(place)[0]:.2f}" for place in places), "–", "–"))
    heads = ("trail bike", "descent (m/s²)", "traverse (m/s²)", "mean age (ms)", "best to worst (ms)")
    return table(heads, rows)


def beginnings():
    """How far the present box's ride on the bike's descent depends on where in a period it begins."""
    rides = begun(BIKE, skyhook(BIKE), PRESENT)
    print(f"present box, {len(rides)} beginnings: {min(rides):.2f} to {max(rides):.2f} m/s²")


def deadlines_table():
    """When a law is too late: for a damper, for an actuator, and for the actuator's stability."""
    rows = [
        (named(place), f"{deadline(place):.0f}", f"{deadline(place, active=True):.0f}",
         f"{1e3 * actuator_loop(place[0])[-1].delay:.0f}")
        for place in (BIKE, TRAVERSE, MOTORCYCLE, CARRIER)
    ]  # fmt: skip
    heads = ("no gain from an age in ms of", "damper", "actuator", "actuator unstable at")
    six = [deadline(place, seed=seed) for place in (BIKE, MOTORCYCLE, CARRIER) for seed in (HOME, *OTHERS)]
    left = [calmest_fixed(MOTORCYCLE)[0] - delayed(MOTORCYCLE, milliseconds) for milliseconds in (9.0, 10.0)]
    note = (
        f"On other loops a damper's limit lies elsewhere, from {min(six):.0f} to {max(six):.0f} ms on six descents of "
        f"each machine. The motorcycle's is blunt: its skyhook gains {left[0]:.2f} m/s² at 9 ms, {left[1]:.2f} at 10."
    )
    return Shown(f"{table(heads, rows)}\n\n{note}")


# --- the spare bike -----------------------------------------------------------------------------------------------


def selector_table():
    """Sample rate of the spare bike's selector, resting closed and resting open."""
    closed, opened = ({(section, rate): spare(section, selector(rest, section), rate)
                       for section in ("descent", "climb") for rate in SELECTOR_RATES} for rest in (1.0, 0.0))
    rows = [
        (f"{rate:.0f}", f"{closed['descent', rate]:.2f}", f"{closed['climb', rate]:.2f}",
         f"{100 * np.minimum(readings() * rate, 1.0).mean():.0f}")
        for rate in SELECTOR_RATES
    ]  # fmt: skip
    heads = ("sample rate (Hz)", "normally closed, descent (m/s²)", "the same, climb (m/s²)", "readings seen (%)")
    downhill = [opened["descent", rate] for rate in SELECTOR_RATES]
    apart = max(abs(opened["climb", rate] - closed["climb", rate]) for rate in SELECTOR_RATES)
    note = (
        f"Normally open: {min(downhill):.2f} to {max(downhill):.2f} m/s² on the descent, whatever the rate; on the "
        f"climb within {apart:.2f} m/s² of normally closed."
    )
    return Shown(f"{table(heads, rows)}\n\n{note}")


def roots_table():
    """A root half a metre after the last stroke, and what a late first firmness costs on the climb."""
    rows = []
    for speed in (6.0, 10.0):
        met = (*(root_met(speed, told_to_open(), rate) for rate in (10.0, 50.0)),
               root_met(speed, Passive(0.0)), root_met(speed, Passive(1.0)))  # fmt: skip
        rows.append((_whole(f"{speed:.0f} m/s"), *(f"{each:.1f}" for each in met)))
    heads = ("root met at", "told at 10 Hz (m/s²)", "at 50 Hz (m/s²)", "open already (m/s²)", "firm (m/s²)")
    bobs = [1e3 * bob(selected("climb", told_by_legs(), rate), 8.0 / 3.0) for rate in (10.0, 200.0)]
    note = f"Bob on the climb: {bobs[0]:.2f} mm told at 10 Hz, {bobs[1]:.2f} mm at 200 Hz."
    return Shown(f"{table(heads, rows)}\n\n{note}")


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
    heads = ("descent, vibration (m/s²)", "fixed", "present", "box A", "box B")
    return table(heads, rows)


def seeds_table():
    """What the page decided on, on this loop and on five others of the same make."""

    def carrier(place, box, seed):
        return sensed(place, box, seed=seed).vibration

    rows = []
    for name, place, box, ride in (
        ("trail bike, box A", BIKE, FASTER, with_box),
        ("trail bike, box B", BIKE, QUICKER, with_box),
        ("rescue motorcycle, box B", MOTORCYCLE, QUICKER, with_box),
        ("stretcher carrier, engine on, box A", CARRIER, FASTER, carrier),
        ("stretcher carrier, engine on, box B", CARRIER, QUICKER, carrier),
    ):
        gains = [calmest_fixed(place, seed)[0] - ride(place, box, seed=seed) for seed in (HOME, *OTHERS)]
        rows.append((name, *(f"{each:+.2f}" for each in (gains[0], min(gains[1:]), max(gains[1:])))))
    return table(("calmer than the calmest fixed damper by (m/s²)", "this loop", "five others, least", "largest"), rows)
