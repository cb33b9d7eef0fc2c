"""Exercises of workbook 08: force from pressure, least power, a coil's limit, a pilot, settings for power, a design."""

import math
from dataclasses import replace
from functools import lru_cache

from helpers.models.actuators import Solenoid
from helpers.models.oil import DAMPER_OIL, ZERO_CELSIUS
from helpers.models.orifice import BAR, hole
from helpers.models.valve import PILOT, POPPET, PilotedValve
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


def _left(n):
    return n.whole - 1000 / n.rate - n.compute - n.link


def _seat(n):
    """Force of the pressure on the seat, N."""
    return 0.25 * math.pi * n.seat**2 * n.bar / 10.0


def _least(n):
    return 0.5 * (n.start + n.end) * n.stroke / n.time


def _speeding(n):
    """Force in N that moves the mass over the stroke in the time."""
    return 4.0 * n.grams * n.stroke / n.time**2


def _times(n):
    return _seat(n) / _speeding(n)


def _up_to(n):
    return 10.0 * (n.pull - n.spring - n.friction) / (0.25 * math.pi * n.seat**2)


def _oil_time(n):
    return n.time * math.sqrt(n.low / n.high)


def _power(n):
    return n.power * (n.many / n.few * n.slow / n.quick) ** 2


# --- the design: a pilot for a borrowed damper ------------------------------------------------------------------------

COIL = Solenoid()


@lru_cache(4096)
def _measured(seat, low, high, cold, pilot, feed, power):
    """Opening times at both pressures, closing time at the lower one in cold oil, s, of one choice; mm, bar, °C, W."""
    valve = PilotedValve(replace(POPPET, diameter=1e-3 * seat), replace(PILOT, diameter=1e-3 * pilot),
                         feed=hole(1e-3 * feed, 1e-3))  # fmt: skip
    opens = [COIL.move(valve, bar * BAR, power).time for bar in (low, high)]
    return *opens, valve.closing_time(low * BAR, DAMPER_OIL.at(ZERO_CELSIUS + cold))


def _chosen(n, pilot, feed, power):
    return _measured(n.seat, n.low, n.high, n.cold, pilot, feed, power)


def _limits(n):
    """Longest times in ms and highest power in W: a little beyond the learner's own reference."""
    times = _chosen(n, n.own_pilot, n.own_feed, n.own_power)
    return [math.ceil(10.0 * 1.02e3 * time) / 10.0 for time in times] + [math.ceil(10.0 * 1.02 * n.own_power) / 10.0]


def _judge(values, n):
    quiet, hard, closing = (1e3 * time for time in _chosen(n, values.pilot, values.feed, values.power))
    empties = [
        PilotedValve(
            replace(POPPET, diameter=1e-3 * n.seat),
            replace(PILOT, diameter=1e-3 * values.pilot),
            feed=hole(1e-3 * values.feed, 1e-3),
        ).opening_time(bar * BAR)
        for bar in (n.low, n.high)
    ]
    drain = "The chamber never empties: the feed hole lets in as much as the pilot lets out, or more."
    limits = _limits(n)
    return [
        Criterion(f"opening at {n.low} bar:", quiet, limits[0], "ms",
                  advice=drain if math.isinf(empties[0]) else
                  "Here the oil's part is the longer one: what drains the chamber, what fills it meanwhile?"),
        Criterion(f"opening at {n.high} bar:", hard, limits[1], "ms",
                  advice=drain if math.isinf(empties[1]) else
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
        question=lambda n: f"From 05 and 06: a whole chain may take {n.whole} ms, from an event to the open valve, at "
        f"the worst. The sensor is read {n.rate} times a second, computing takes {n.compute} ms, the link {n.link} ms. "
        "How long may the valve itself take?",
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
            "b": "It opens after the bump was felt, and by then the locked damper holds the wheel's force.",
            "c": "Nothing tells it: its sensor feels the root only when the wheel does.",
        },
    ),
    Choice(
        key="P", title="A pilot at twenty times the pressure",
        question="With the present coil and 10 W the piloted valve opens on the bench, at 5 bar, in 23 ms: no sooner "
        "than the present one. How long does it take at 100 bar?",
        options={
            "a": "it never opens: the coil is too weak for 100 bar",
            "b": "about 100 ms: the more pressure, the more there is to push",
            "c": "23 ms as on the bench: the pilot takes the pressure out of play",
            "d": "about 12 ms, half as long",
        },
        answer="d",
        feedback={
            "a": "True of the present poppet, 511 N against a pull of 63. The pilot has 1.5 mm in place of 8: 18.5 N, "
            "and at its short stroke the coil pulls 138.",
            "b": "The coil's part does grow, from 4.1 to 9.6 ms. But it is the oil that moves the main valve, and more "
            "pressure drives it faster: 18.5 ms become 2.3.",
            "c": "Neither part stays the same: the coil's grows from 4.1 to 9.6 ms, the oil's shrinks from 18.5 to "
            "2.3.",
            "d": "11.9 ms: 9.6 for the coil, which has a little more to lift, and 2.3 for the oil, which flows faster.",
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
        key="E3", title="How many times the mass? (extra)",
        question=lambda n: f"The moving parts of a poppet weigh {n.grams} g and are to move {n.stroke:g} mm in "
        f"{n.time} ms, half of the way speeding up, half of it slowing down. The seat of {n.seat:g} mm holds {n.bar} "
        "bar. How many times the force that speeds the mass up is the force of the pressure?",
        numbers=[Draw("grams", 6, 20, 2), Draw("stroke", 0.6, 1.4, 0.2), Draw("time", 4, 8, 1),
                 Draw("seat", 5.0, 10.0, 0.5), Draw("bar", 20, 80, 5)],
        answer=_times, unit="",
        hints=[
            "Two forces, then their ratio.",
            "$F_p = p\\,\\pi d^2/4$ and $F_m = 4 m s/t^2$.",
            "With kg, m and s the second one comes out in newtons.",
        ],
        slips=[
            Slip("no braking", lambda n: 2.0 * _times(n),
                 "You let it speed up all the way, $2ms/t^2$; then it hits the stop at full speed. Half the way is for "
                 "slowing down."),
            Slip("no factor", lambda n: 4.0 * _times(n),
                 "Four times: the 4 in $4ms/t^2$ is missing, or the diameter went in for the radius."),
            Slip("upside down", lambda n: 1.0 / _times(n), "Upside down: pressure over mass."),
        ],
        solution=lambda n: f"$F_p = {_seat(n):.4g}$ N; $F_m = 4\\cdot{n.grams / 1e3:g}\\cdot{n.stroke / 1e3:g}/"
        f"{n.time / 1e3:g}^2 = {_speeding(n):.3g}$ N; the ratio is {_times(n):.4g}. Half the mass would double it, and "
        "change nothing in the first force.",
    ),
    Numeric(
        key="E4", title="Up to what pressure?",
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
        key="E5", title="The oil's part (extra)",
        question=lambda n: f"The oil opens the main valve of a piloted one in {n.time:g} ms at {n.low} bar, where its "
        f"spring hardly counts any more. How long does it take at {n.high} bar?",
        numbers=[Draw("time", 4.0, 9.0, 0.5), Draw("low", 20, 30, 2), Draw("high", 50, 140, 10)],
        answer=_oil_time, unit="ms",
        hints=[
            "The same chamber has to be emptied; how does the flow out of it grow with pressure?",
            "Flow goes with $\\sqrt p$, so time with $1/\\sqrt p$.",
            "Multiply the time by the root of the lower pressure over the higher one.",
        ],
        slips=[
            Slip("no root", lambda n: n.time * n.low / n.high,
                 "Twice the pressure does not mean twice the flow: a hole's flow goes with the root."),
            Slip("slower", lambda n: n.time * math.sqrt(n.high / n.low),
                 "More pressure drives the oil faster, not more slowly."),
            Slip("slower, no root", lambda n: n.time * n.high / n.low,
                 "That is the growth of a force. Here the pressure drives: time goes with $1/\\sqrt p$."),
        ],
        solution=lambda n: f"${n.time:g}\\sqrt{{{n.low}/{n.high}}} = {_oil_time(n):.3g}$ ms.",
    ),
    Numeric(
        key="E6", title="Finer and faster",
        question=lambda n: f"A geared motor that hardly feels its load passes {n.few} settings in {n.slow} ms with "
        f"{n.power:g} W. You want {n.many} settings in {n.quick} ms and choose the gear for it. What power does that "
        "take?",
        numbers=[Draw("few", 20, 25, 5), Draw("slow", 120, 130, 10), Draw("power", 0.2, 0.5, 0.1),
                 Draw("many", 90, 150, 10), Draw("quick", 90, 100, 5)],
        answer=_power, unit="W",
        hints=[
            "What counts is the number of settings passed in a second.",
            "$P \\propto N^2/t^2$.",
            "Form the factor by which $N$ grows and the one by which $t$ shrinks, multiply them, then square.",
        ],
        slips=[
            Slip("no square", lambda n: math.sqrt(_power(n) * n.power),
                 "The power goes with the square of the settings a second."),
            Slip("settings alone", lambda n: n.power * (n.many / n.few) ** 2, "The time gets shorter as well."),
            Slip("time alone", lambda n: n.power * (n.slow / n.quick) ** 2, "It gets finer as well."),
            Slip("time upside down", lambda n: n.power * (n.many / n.few * n.quick / n.slow) ** 2,
                 "Less time takes more power: $t$ stands below."),
        ],
        solution=lambda n: f"${n.power:g}\\cdot({n.many}/{n.few}\\cdot{n.slow}/{n.quick})^2 = {_power(n):.4g}$ W. Both "
        "wishes are squared, and they multiply.",
    ),
    Choice(
        key="E7", title="Five hundred watts (extra)",
        question="Tomas borrows a driver of 500 W for the poppet. At 37 bar it stays shut. Why?",
        options={
            "a": "The valve is too heavy for such a quick push.",
            "b": "The iron is full: it pulls 138 N at most, whatever the current.",
            "c": "The current had not enough time to rise.",
            "d": "The driver's power is lost as heat before it reaches the valve.",
        },
        answer="b",
        feedback={
            "a": "A quarter of the moving mass does not open it either (*never* at 37 bar, in the optional table of "
            "masses), and valve and armature need 2.1 N.",
            "b": "The table of changes has 19.6 bar with 50 W and with 500 W, and folded below it 52.5 with iron that "
            "carries 2.4 T. A larger pole face opens it, too late (folded below the table of times); balancing helps "
            "more.",
            "c": "Time makes it no stronger than its iron: 19.6 bar is with the current fully risen.",
            "d": "It is lost as heat, all of it, while nothing moves; yet the current that makes the heat makes "
            "the field, too. "
            "Where does the field end?",
        },
    ),
    ShortText(
        key="E8", title="Half the mass (extra)",
        question="The dealer: \"Take the light one. Half the moving mass, so half the trouble: it will open on the "
        "fell too.\" In one or two sentences: why will it not, and what would have to be changed instead?",
        ideas=[
            "Pressure on the whole seat holds the valve shut; the mass takes next to nothing of the force.",
            "The area under pressure has to change: balance it, make it small, or let the coil move a small pilot "
            "only.",
        ],
        misconceptions=[
            Misconception("more power", "It needs a stronger driver.",
                          "A stronger driver fills the same iron: 19.6 bar with 50 W as with 500. Four times the pole "
                          "face opens it, but too late (folded below the table of times). Change what the pressure "
                          "acts on."),
            Misconception("friction or oil", "The friction of the seal, or thick oil, holds the valve.",
                          "Without any friction the coil opens 11.5 in place of 10.9 bar (folded below the table of "
                          "changes): that is not what holds it."),
            Misconception("mass after all", "The mass is still too large.",
                          "No mass is small enough: speeding 13 g up takes 2.1 N, the pressure 186 at 37 bar."),
            Misconception("less pressure", "The pressure has to be lowered.",
                          "The pressure makes the damper firm; it cannot be done away with. On what does it act?"),
        ],
        model="What holds it shut is pressure on the whole seat, 186 N at 37 bar, against 2.1 N for the mass. The area "
        "has to change: balance it, or let the coil move a small pilot only.",
        hints=["Compare 2.1 N with the forces in the table.", "Which letter of $\\phi A p$ can a designer change?",
               "What do spool and pilot have in common?"],
    ),
    Design(
        key="E9", title="A pilot for a borrowed damper (extra)", kind="open",
        question=lambda n: f"A borrowed damper has a piloted valve like ours, with a seat of {n.seat:g} mm. Choose the "
        f"diameters of pilot and feed hole and the coil's power. It must open within {_limits(n)[0]:g} ms at {n.low} "
        f"bar and within {_limits(n)[1]:g} ms at {n.high} bar (oil at 40 °C), close again within "
        f"{_limits(n)[2]:g} ms of the pilot's being shut at {n.low} bar with oil at {n.cold} °C".replace("-", "−") +
        f", and the driver gives {_limits(n)[3]:g} W.",
        numbers=[Draw("seat", 7.0, 10.0, 0.5), Draw("low", 8, 18, 2), Draw("high", 80, 120, 10),
                 Draw("cold", -15, 0, 5), Draw("own_pilot", 1.2, 2.2, 0.1), Draw("own_feed", 0.38, 0.46, 0.02),
                 Draw("own_power", 6, 14, 1)],
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
