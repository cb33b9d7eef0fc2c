"""Exercises of workbook 08: force from pressure, least power, a coil's limit, settings and their price, a design."""

import math
from dataclasses import replace
from functools import lru_cache

from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.orifice import hole
from helpers.teaching.exercises import (
    Choice,
    Criterion,
    Design,
    Draw,
    Misconception,
    Numeric,
    Parameter,
    ShortText,
    Slip,
)
from helpers.valves import bar, pilot_coil, piloted


def _left(n):
    return n.whole - 1000 / n.rate - n.compute - n.link


def _seat(n):
    """Force of the pressure on the seat, N."""
    return 0.25 * math.pi * n.seat**2 * n.bar / 10.0


def _least(n):
    return 0.5 * (n.start + n.end) * n.stroke / n.time


def _up_to(n):
    return 10.0 * (n.pull - n.spring - n.friction) / (0.25 * math.pi * n.seat**2)


def _step(n, turns=1.0):
    """What the valve moves between two marks of the motor's sensor, um."""
    return 1000.0 * n.lead / (n.ratio * n.marks) * turns


def _places(n, apart=None):
    return 1.0 + 1000.0 * n.stroke / (max(_step(n), n.backlash) if apart is None else apart)


# --- the design: a pilot for a borrowed damper ------------------------------------------------------------------------


def _valve(seat, wide, feed):
    main, small = replace(piloted.main, diameter=1e-3 * seat), replace(piloted.pilot, diameter=1e-3 * wide)
    return replace(piloted, main=main, pilot=small, feed=hole(1e-3 * feed, 1e-3))


@lru_cache(4096)
def _measured(seat, low, high, cold, wide, feed, power):
    """Opening times at both pressures, closing time at the lower one in cold oil, s, of one choice; mm, bar, °C, W."""
    valve = _valve(seat, wide, feed)
    opens = [pilot_coil.move(valve, drop * bar, power).time for drop in (low, high)]
    return *opens, valve.closing_time(low * bar, DAMPER_OIL.at(ZERO_CELSIUS + cold))


def _chosen(n, wide, feed, power):
    return _measured(n.seat, n.low, n.high, n.cold, wide, feed, power)


def _limits(n):
    """Longest times in ms and highest power in W: a little beyond the learner's own reference."""
    times = _chosen(n, n.own_pilot, n.own_feed, n.own_power)
    return [math.ceil(10.0 * 1.02e3 * time) / 10.0 for time in times] + [math.ceil(10.0 * 1.02 * n.own_power) / 10.0]


def _judge(values, n):
    quiet, hard, closing = (1e3 * time for time in _chosen(n, values.pilot, values.feed, values.power))
    valve, limits = _valve(n.seat, values.pilot, values.feed), _limits(n)
    stuck = [math.isinf(valve.opening_time(drop * bar)) for drop in (n.low, n.high)]
    drain = "The chamber never empties: the feed hole lets in as much as the pilot lets out, or more."
    return [
        Criterion(f"opening at {n.low} bar:", quiet, limits[0], "ms", advice=drain if stuck[0] else
                  "Here the oil's part is the longer one: what drains the chamber, what fills it meanwhile?"),
        Criterion(f"opening at {n.high} bar:", hard, limits[1], "ms", advice=drain if stuck[1] else
                  "Here the coil's part is the longer one: its force goes with the pilot's area."),
        Criterion(f"closing at {n.low} bar in oil of {n.cold} °C:".replace("-", "−"), closing, limits[2], "ms",
                  advice="Only one hole fills the chamber."),
        Criterion("power", values.power, limits[3], "W", advice="More power than the driver has."),
    ]  # fmt: skip


def _passing(n):
    return {"pilot": f"{n.own_pilot:g} mm", "feed": f"{n.own_feed:g} mm", "power": f"{n.own_power:g} W"}


EXERCISES = [
    Numeric(
        key="R1", title="Recall: what is left for the valve",
        question=lambda n: f"From 05 and 06: a whole chain may take {n.whole} ms, from what is felt to 63 % of the "
        f"force, at the worst. The sensor is read {n.rate} times a second, computing takes {n.compute} ms, the link "
        f"{n.link} ms. How long may the valve itself take?",
        numbers=[Draw("whole", 16, 24, 1), Draw("rate", 200, 500, 300), Draw("compute", 1, 2, 1),
                 Draw("link", 3, 4, 1)],
        answer=_left, unit="ms", tolerance=0.01,
        hints=[
            "The stages come one after the other: their times add.",
            "Valve = whole chain − one sample period − computing − link.",
            "One sample period is 1000 ms over the number of samples a second.",
        ],
        slips=[
            Slip("no wait", lambda n: _left(n) + 1000 / n.rate,
                 "The wait for the next sample is missing: at the worst a whole period."),
            Slip("mean wait", lambda n: _left(n) + 500 / n.rate, "At the worst the wait is a whole sample period."),
            Slip("no link", lambda n: _left(n) + n.link, "The link takes its time as well."),
        ],
        solution=lambda n: f"${n.whole} - {1000 / n.rate:g} - {n.compute} - {n.link} = {_left(n):g}$ ms.",
    ),
    Choice(
        key="R2", title="Recall: which way under load",
        question="From 04 and 06: a selector rests firm (normally closed). A wheel meets a root. What must its valve "
        "do, and when?",
        options={
            "a": "shut, while little pressure stands over it",
            "b": "open, while the locked damper is being pushed",
            "c": "open, before the wheel touches the root",
        },
        answer="b",
        feedback={
            "a": "It is shut already: that is what firm means.",
            "b": "It opens after the bump was felt, while the pressure in the locked damper rises.",
            "c": "Nothing tells it: its sensor feels the root only when the wheel does.",
        },
    ),
    Choice(
        key="P", title="A pilot at eight times the pressure",
        question="With its own small coil and 10 W the piloted valve opens on the bench, at 5 bar, in 19 ms. How "
        "long does it take at 40 bar?",
        options={
            "never": "it never opens: the coil is too weak for 40 bar",
            "longer": "about 150 ms: eight times as much to push",
            "same": "19 ms: a pilot takes the pressure out of play",
            "third": "about 6 ms, a third: pressure is what drives the oil",
        },
        answer="third",
        feedback={
            "never": "True of the present poppet, 209 N against a pull of 63. The pilot has 1.5 mm in place of 8: 7.87 "
            "N, and on its short stroke the small coil pulls 34.5.",
            "longer": "The coil's part does grow, from 1.6 to 2.6 ms. But it is the oil that moves the main valve, and "
            "more pressure drives it faster: 17.3 ms become 3.6.",
            "same": "Neither part stays: the coil's grows from 1.6 to 2.6 ms, the oil's shrinks from 17.3 to 3.6.",
            "third": "6.2 ms: 2.6 for the coil, which has more to lift, and 3.6 for the oil, which flows faster.",
        },
    ),
    Choice(
        key="S1", title="Set 25 bar, then 50 W",
        question="With 10 W the poppet stays shut. What happens with five times the power?",
        options={
            "a": "it opens, in under 20 ms",
            "b": "it stays shut: the iron is full",
            "c": "it starts, and stops half way",
        },
        answer="a",
        feedback={
            "a": "16.8 ms: it asks 134 N, and the iron gives 137.8 at most. 10 W pull 62.7; at 40 bar no power helps.",
            "b": "Full it is, at 137.8 N. But 25 bar ask 134: just enough.",
            "c": "Once started it goes on: the jet helps, and fully open it asks less than shut.",
        },
    ),
    Choice(
        key="S2", title="Reset, then down to 3 bar",
        question="Hardly any pressure. Which valve does not open fully?",
        options={"a": "the poppet", "b": "the spool", "c": "the piloted one"},
        answer="c",
        feedback={
            "a": "At 3 bar it opens after 15.8 ms: little pressure is what a poppet likes.",
            "b": "The spool hardly minds either way: 9.7 ms.",
            "c": "The oil has to lift its main cone against a spring and its own jet: below 3.2 bar it cannot.",
        },
    ),
    Choice(
        key="S3", title="40 bar, then a quarter of the moving mass",
        question="What becomes of the spool's 16.9 ms?",
        options={"a": "about 8 ms", "b": "about 4 ms", "c": "hardly anything"},
        answer="c",
        feedback={
            "a": "By the root of the mass? That would be so if its force sped the mass up. It is the current that has "
            "to rise, and the jet.",
            "b": "Mass is the smallest part of what the coil works against.",
            "c": "16.8 ms, for what takes the time is the coil: its force has to grow to 45.2 N, most of it for the "
            "jet.",
        },
    ),
    Numeric(
        key="E1", title="Pressure on a seat", kind="worked",
        question=lambda n: f"A poppet closes a seat of {n.seat:g} mm diameter against {n.bar} bar. With what force "
        "does the pressure hold it shut?",
        numbers=[Draw("seat", 5.0, 12.0, 0.5), Draw("bar", 15, 140, 5)],
        answer=_seat, unit="N",
        hints=[
            "Force is pressure times the area it acts on.",
            "$F = p\\,\\pi d^2/4$; 1 bar is 0.1 N on each mm².",
            "Work out the area in mm² first.",
        ],
        slips=[
            Slip("diameter for radius", lambda n: 4.0 * _seat(n),
                 "Four times too much: you took the diameter for the radius."),
            Slip("bar", lambda n: 10.0 * _seat(n), "Ten times too much: 1 bar is 0.1 N/mm², not 1."),
            Slip("circumference", lambda n: math.pi * n.seat * n.bar / 10.0,
                 "That is the circumference; the pressure acts on the area."),
        ],
        solution=lambda n: f"The area is $\\pi\\cdot{n.seat:g}^2/4 = {0.25 * math.pi * n.seat**2:.4g}$ mm², the "
        f"pressure {n.bar / 10:g} N/mm², so the force is {_seat(n):.4g} N.",
    ),
    Numeric(
        key="E2", title="Least power", kind="gap",
        question=lambda n: f"A valve takes $F_1 = {n.start}$ N to start and, rising evenly, $F_2 = {n.end}$ N when "
        f"it is fully open after {n.stroke:g} mm. It is to open in {n.time} ms. Fill the gap, "
        "$P = \\tfrac12(F_1 + \\_\\_\\_)\\,s/t$, and give the least mean power of any drive.",
        numbers=[Draw("start", 60, 300, 20), Draw("end", 360, 600, 20), Draw("stroke", 0.6, 1.4, 0.2),
                 Draw("time", 4, 9, 1)],
        answer=_least, unit="W",
        hints=[
            "Work is force times way, here the mean force; power is work over time.",
            "In the gap stands the force at the end of the stroke.",
            "Newtons times millimetres are millijoules; millijoules over milliseconds are watts.",
        ],
        slips=[
            Slip("starting force", lambda n: n.start * n.stroke / n.time,
                 "That takes the first force all the way; it rises."),
            Slip("last force", lambda n: n.end * n.stroke / n.time,
                 "That takes the largest force all the way: it is the power at the end, not the mean."),
            Slip("no half", lambda n: 2.0 * _least(n), "The mean of two forces is half their sum."),
        ],
        solution=lambda n: f"$\\tfrac12({n.start} + {n.end})\\cdot{n.stroke:g} = "
        f"{0.5 * (n.start + n.end) * n.stroke:.4g}$ mJ, and over {n.time} ms that is {_least(n):.4g} W.",
    ),
    Numeric(
        key="E3", title="Up to what pressure?",
        question=lambda n: f"A coil pulls {n.pull} N at the start of a poppet's stroke. The seat has {n.seat:g} mm, "
        f"the closing spring {n.spring} N, friction {n.friction} N. Up to what pressure does the coil start the "
        "poppet?",
        numbers=[Draw("pull", 60, 180, 10), Draw("seat", 4.0, 10.0, 0.5), Draw("spring", 9, 14, 1),
                 Draw("friction", 2, 4, 1)],
        answer=_up_to, unit="bar", tolerance=0.01,
        hints=[
            "At the limit the coil's pull equals everything that holds the valve shut.",
            "$F = \\phi A p + F_0 + F_s$ with $\\phi = 1$, at no lift.",
            "Take spring and friction off the pull, divide by the area in mm², and 1 N/mm² is 10 bar.",
        ],
        slips=[
            Slip("pressure alone", lambda n: 10.0 * n.pull / (0.25 * math.pi * n.seat**2),
                 "Spring and friction hold it shut as well."),
            Slip("friction helps", lambda n: _up_to(n) + 20.0 * n.friction / (0.25 * math.pi * n.seat**2),
                 "Friction is against the motion, so against the coil here."),
            Slip("diameter for radius", lambda n: 0.25 * _up_to(n), "You took the diameter for the radius."),
            Slip("N/mm²", lambda n: 0.1 * _up_to(n), "That is the number of N/mm²; 1 N/mm² is 10 bar."),
        ],
        solution=lambda n: f"$({n.pull} - {n.spring} - {n.friction})/(\\pi\\cdot{n.seat:g}^2/4) = "
        f"{_up_to(n) / 10:.4g}$ N/mm², that is {_up_to(n):.4g} bar.",
    ),
    Numeric(
        key="E4", title="What would an encoder bring?",
        question=lambda n: f"A screw of {n.lead:g} mm lead, turned by a motor over a gear of {n.ratio}, moves a "
        f"valve over {n.stroke:g} mm. The motor's own sensor tells {n.marks} places in a turn; gear and screw have "
        f"{n.backlash} µm of backlash at the valve. An encoder with a hundred times as many marks replaces the sensor. "
        "How many settings more can be told apart on the stroke?",
        numbers=[Draw("lead", 1.0, 1.5, 0.25), Draw("ratio", 16, 24, 2), Draw("marks", 4, 6, 2),
                 Draw("stroke", 0.8, 1.4, 0.2), Draw("backlash", 3, 6, 1)],
        answer=lambda n: _places(n, n.backlash) - _places(n), unit="", tolerance=0.02,
        hints=[
            "What limits it now, the sensor's step or the backlash? And with the encoder?",
            "One step is lead over gear over marks; settings are one more than the stroke over the coarser of the two.",
            "Work out the step in µm: it is more than the backlash. With the encoder the backlash is left.",
        ],
        slips=[
            Slip("a hundredfold", lambda n: 99.0 * (_places(n) - 1.0), "The encoder tells a hundred times as many "
                 "places, but the valve does not follow within the backlash."),
            Slip("all of them", lambda n: _places(n, n.backlash), "That is how many there are then; asked is how many "
                 "more."),
            Slip("present ones", lambda n: _places(n), "That is how many there are now."),
        ],
        solution=lambda n: f"A step is $1000\\cdot{n.lead:g}/({n.ratio}\\cdot{n.marks}) = {_step(n):.3g}$ µm, more "
        f"than the {n.backlash} µm of backlash: {_places(n):.4g} settings. With the encoder the backlash counts: "
        f"{_places(n, n.backlash):.4g}. That is {_places(n, n.backlash) - _places(n):.4g} more, for no power at all.",
    ),
    ShortText(
        key="E5", title="Half the mass",
        question="The dealer: \"Take the light one. Half the moving mass, so half the trouble: it will open on the "
        "fell too.\" In one or two sentences: why will it not, and what would have to be changed instead?",
        ideas=[
            "Pressure on the whole seat holds the valve shut; the mass takes next to nothing of the force.",
            "The area under pressure has to change: balance it, make it small, or let the coil move a small pilot "
            "only.",
        ],
        misconceptions=[
            Misconception("more power", "It needs a stronger driver.",
                          "A stronger driver fills the same iron: 137.8 N with 50 W as with 500. Change what the "
                          "pressure acts on."),
            Misconception("friction or oil", "The friction of the seal, or thick oil, holds the valve.",
                          "Friction is 3 of the 209 N at 40 bar."),
            Misconception("mass after all", "The mass is still too large.",
                          "Speeding 13 g up in 5 ms takes 2.1 N, the pressure 201 at 40 bar."),
            Misconception("less pressure", "The pressure has to be lowered.",
                          "The pressure makes the damper firm; it cannot be done away with. On what does it act?"),
        ],
        model="What holds it shut is pressure on the whole seat, 201 N at 40 bar, against 2.1 N for the mass. The area "
        "has to change: balance it, or let the coil move a small pilot only.",
        hints=["Compare 2.1 N with the forces in the table.", "Which letter of $\\phi A p$ can a designer change?",
               "What do spool and pilot have in common?"],
    ),
    Design(
        key="E6", title="A pilot for a borrowed damper (extra)", kind="open",
        question=lambda n: f"A borrowed damper has a piloted valve and coil like ours, its seat {n.seat:g} mm wide. "
        "Choose the diameters of pilot and feed hole and the coil's power. It must open within "
        f"{_limits(n)[0]:g} ms at {n.low} bar and within {_limits(n)[1]:g} ms at {n.high} bar (oil at 40 °C), close "
        f"again within {_limits(n)[2]:g} ms of the pilot's being shut at {n.low} bar with oil at {n.cold} °C, and the "
        f"driver gives {_limits(n)[3]:g} W.".replace("-", "−"),
        numbers=[Draw("seat", 7.0, 10.0, 0.5), Draw("low", 8, 18, 2), Draw("high", 80, 120, 10),
                 Draw("cold", -15, 0, 5), Draw("own_pilot", 1.2, 1.6, 0.1), Draw("own_feed", 0.38, 0.46, 0.02),
                 Draw("own_power", 5, 12, 1)],
        parameters=[Parameter("pilot", "diameter of the pilot's seat", 0.5, 4.0, "mm"),
                    Parameter("feed", "diameter of the feed hole", 0.2, 1.5, "mm"),
                    Parameter("power", "power into the coil", 0.5, 50.0, "W")],
        judge=_judge, passing=_passing,
        solution="Closing depends on the feed hole alone: choose it first, no larger than closing asks for. Take all "
        "the power there is. Then the pilot: large enough to drain the chamber at the low pressure, small enough for "
        "the coil at the high one.",
        hints=["Which of the four requirements hangs on one hole only?",
               "What the feed hole lets in, the pilot must let out as well: do not make it larger than needed.",
               "Then two limits pull on the pilot: one asks for a larger, one for a smaller diameter."],
    ),
]  # fmt: skip
