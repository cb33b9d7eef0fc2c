"""Exercises of workbook 12: what is left for a valve, packs in the cold, what rides prove, and a specification."""

import math
from functools import lru_cache

from helpers.course import AccelerationDriven, carrier
from helpers.models.cells import LI_ION, Pack, loaded
from helpers.simulation.specification import Requirements, Specification, due, duty
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


def _mean(n, wait=0.5):
    """Mean age of a chain in ms."""
    return 1e3 * wait / n.rate + n.compute + n.valve


def _left(n, wait=0.5, computer=1.0):
    """Time left for the valve, ms."""
    return n.due - 1e3 * wait / n.rate - computer * n.compute


def _each(n, wheels=None, controller=1.0, cells=None):
    """What each cell must give at the peak, W."""
    return ((n.wheels if wheels is None else wheels) * n.power + controller * n.controller / 10.0) / (cells or n.cells)


def _hours(n, cold=None, years=None, shares=1.0):
    """Hours on a charge."""
    cold, years = n.cold if cold is None else cold, n.years if years is None else years
    return shares * n.cells * 10.8 * 0.9 * cold / 100.0 * (1.0 - 0.03 * years) / (n.draw / 10.0)


def _unseen(n, left=0.05):
    """Share of rides that may fail though none of n did, %."""
    return 100.0 * (1.0 - left ** (1.0 / n.rides))


# --- the design ---------------------------------------------------------------------------------------------------

NEED = Requirements(sections=("descent",))
PARTS = {"poppet": "coil on a poppet", "spool": "coil on a spool", "pilot": "coil on a pilot"}
RATES = (50.0, 100.0, 200.0, 400.0, 800.0)


def _spec(drive, power, rate):
    return Specification(carrier, AccelerationDriven(firm=0.5), PARTS[drive], sample_rate=rate, power=power, cells=6,
                         wheels=4)  # fmt: skip


@lru_cache(256)
def _age(drive, power, rate):
    return 1e3 * _spec(drive, power, rate).age


@lru_cache(256)
def _drawn(drive, power, rate):
    return duty(_spec(drive, power, rate)).power if math.isfinite(_age(drive, power, rate)) else math.inf


@lru_cache
def _allowed():
    return 1e3 * due(_spec("pilot", 10.0, 800.0), NEED)


def _judge(values, n):
    drive, power, rate = values.drive, values.power, values.sample_rate
    pack, state = Pack(LI_ION, parallel=round(values.cells)), {"temperature": -float(n.cold), "years": 3.0}
    drawn = _drawn(drive, power, rate)
    return [
        Criterion("age of what the damper acts on", _age(drive, power, rate), _allowed(), "ms",
                  advice="Write the chain down as in E1. Which stage is too long?"),
        Criterion("peak of the drives over what the cells give", 4.0 * power / loaded(pack, 0.0, -n.cold).most, 1.0,
                  advice="More cells, or less power in the drive."),
        Criterion("hours on a charge, cold and aged", pack.usable(**state) / drawn / 3600.0, n.hours, "h", "at least",
                  advice="What does the machine draw, and where does it go?"),
        Criterion("mass of the battery", pack.mass, n.grams / 1000.0, "kg", advice="Fewer cells: what decides?"),
    ]  # fmt: skip


def _passing(n):
    """The least power in whole watts at which the pilot's coil is in time, and the cells that its peak takes."""
    power = next(p for p in (2.0, 3.0, 4.0, 5.0) if _age("pilot", p, 800.0) <= _allowed())
    cells = math.ceil(4.0 * power / loaded(Pack(LI_ION), 0.0, -n.cold).most + 1e-9)
    return {"drive": "pilot", "power": f"{power:g} W", "sample_rate": "800 Hz", "cells": f"{max(cells, 3)}"}


EXERCISES = [
    Numeric(
        key="R1", title="Recall: how old is the news?",
        question=lambda n: f"From workbook 05: a box samples {n.rate} times a second, takes {n.compute} ms until the "
        f"order is at the valve, and the valve {n.valve} ms until 63 % of its force. How old is what the damper acts "
        "on, on average?",
        numbers=[Draw("rate", 100, 250, 50), Draw("compute", 7, 9, 1), Draw("valve", 4, 9, 1)],
        answer=_mean, unit="ms",
        hints=["Means add up, and an event falls anywhere between two samples.",
               "$\\frac{1}{2 f_s}$ plus computer plus valve.",
               "Half a period in ms, then add the other two."],
        slips=[
            Slip("whole period", lambda n: _mean(n, 1.0), "On average an event waits half a period."),
            Slip("no wait", lambda n: _mean(n, 0.0), "The wait for a sample is missing."),
            Slip("no computer", lambda n: _mean(n) - n.compute, "The computer takes its part."),
        ],
        solution=lambda n: f"${500.0 / n.rate:.3g} + {n.compute} + {n.valve}$ is {_mean(n):.3g} ms.",
    ),
    Choice(
        key="R2", title="Recall: what keeps a valve shut?",
        question="From workbook 08: a coil of 10 W moves a poppet of 8 mm on the bench. In the damper, with 35 bar "
        "over it, it does not. Which change lets the same coil open it?",
        options={"a": "twice the voltage for a millisecond", "b": "a small pilot valve: the oil then moves the poppet",
                 "c": "a stiffer spring that helps to open"},
        answer="b",
        feedback={
            "a": "A sooner pull is no stronger pull: the power that the coil may take is what limits it.",
            "b": "The pilot's seat is small, so the pressure holds it with little force, and the oil does the work.",
            "c": "A spring that opens against 35 bar would hold the valve open as soon as the pressure is gone.",
        },
    ),
    Choice(
        key="P", title="How many cells?",
        question="The bike's two drives take 10 W each while they move, and on the loop the whole machine draws 1.2 "
        "W on average. The battery must last six hours at 10 degrees below freezing, three years old; one "
        "lithium-ion cell holds 10.8 Wh when it is new and warm, and may give 6 A. How many does it need?",
        options={
            "one": "one: six hours at 1.2 W are 7.2 Wh",
            "hours": "two: the cold and the years take a third and more from the 10.8 Wh",
            "peak": "three: in the cold a cell gives less power, and the peak of both drives is what decides",
            "eight": "eight: the peak of 20 W has to last six hours",
        },
        answer="peak",
        feedback={
            "one": "Of 10.8 Wh a cell gives 90 %, in the cold less, after three years less again: one is not enough.",
            "hours": "Two hold enough energy. But a cold cell has several times its resistance, and two of them cannot "
            "give both drives their 10 W at once.",
            "peak": "At 10 degrees below freezing a new cell may give some 8 W in place of more than 20. Two drives "
            "and the computer ask for 20.2 W: three cells. The hours would be content with two.",
            "eight": "The drives take their 10 W for some milliseconds a stroke. The mean, 1.2 W, is what empties the "
            "battery.",
        },
    ),
    Choice(
        key="S1", title="Set the coil on a spool",
        question="The bike, all else as it is: a coil on a balanced spool in place of one on a pilot. What happens?",
        options={"late": "it is too late", "same": "hardly anything: it is the same power",
                 "stall": "it does not move against the pressure"},
        answer="late",
        feedback={
            "late": "The coil must move the whole valve, 1 mm of it, and no longer lets the oil do it: the age passes "
            "what is allowed.",
            "same": "The same power moves five times the way and much more mass.",
            "stall": "A balanced spool is nearly free of the pressure, so it moves; it is slow. The poppet stalls.",
        },
    ),
    Choice(
        key="S2", title="Reset, and set 2 W",
        question="A fifth of the power in each drive, the rest as it was. What happens to age and battery?",
        options={"none": "the valve no longer moves", "both": "it stays in time, and fewer cells do",
                 "late": "it is too late, whatever the battery"},
        answer="both",
        feedback={
            "none": "The pilot is small enough for 2 W.",
            "both": "The pilot takes a little longer, well within what the bike allows, and the peak falls to a "
            "fifth. Now the hours decide.",
            "late": "Most of the time is the oil's, which moves the poppet; the pilot has time to spare.",
        },
    ),
    Choice(
        key="S3", title="Reset, and set 50 samples a second",
        question="What does a slow sample rate do here?",
        options={"late": "the age passes what is allowed", "nothing": "nothing: the valve is quick",
                 "save": "it saves most of the battery"},
        answer="late",
        feedback={
            "late": "Half a period is 10 ms, more than all the rest together.",
            "nothing": "A quick valve cannot make up for news that are 10 ms old on average before anybody decides.",
            "save": "The computer is one part of what is drawn; the strokes stay.",
        },
    ),
    Numeric(
        key="E1", title="What is left for the valve?", kind="worked",
        question=lambda n: f"A law gains nothing once it acts on what was {n.due} ms ago, on average. The box "
        f"samples {n.rate} times a second and takes {n.compute} ms until the order is at the valve. How long may the "
        "valve take until 63 % of its force?",
        numbers=[Draw("due", 10, 15, 1), Draw("rate", 300, 500, 50), Draw("compute", 2, 4, 1)],
        answer=_left, unit="ms",
        hints=["What is allowed, less what the other stages take on average.",
               "$t_\\mathrm{valve} = t_\\mathrm{allowed} - \\frac{1}{2 f_s} - t_\\mathrm{computer}$.",
               "Half a period in ms; take it and the computer away."],
        slips=[
            Slip("whole period", lambda n: _left(n, 1.0), "The allowance is a mean: half a period counts, not the "
                "whole."),
            Slip("no wait", lambda n: _left(n, 0.0), "The wait for a sample takes its part."),
            Slip("no computer", lambda n: _left(n, 0.5, 0.0), "The computer takes its part."),
        ],
        solution=lambda n: f"Half a period is {500.0 / n.rate:.3g} ms: ${n.due} - {500.0 / n.rate:.3g} - "
        f"{n.compute}$ is {_left(n):.3g} ms.",
    ),
    Numeric(
        key="E2", title="The peak, cell by cell", kind="gap",
        question=lambda n: f"{n.wheels} drives of {n.power} W may move at once, beside a computer of "
        f"{n.controller / 10:g} W, on {n.cells} cells side by side. What must one cell give? Fill the gap: "
        "$P_\\mathrm{cell} = (\\_\\_\\_\\cdot P_\\mathrm{drive} + P_\\mathrm{computer})/n$.",
        numbers=[Draw("wheels", 2, 4, 2), Draw("power", 8, 20, 2), Draw("controller", 3, 9, 1), Draw("cells", 5, 8, 1)],
        answer=_each, unit="W",
        hints=["All drives can move in the same millisecond: a step is met by every wheel at some time.",
               "Add what may be on at once, share it among the cells.",
               "How many drives are there?"],
        slips=[
            Slip("one drive", lambda n: _each(n, wheels=1), "That is one drive; all of them may move at once."),
            Slip("no share", lambda n: _each(n, cells=1), "That is what all cells give together."),
            Slip("swapped", lambda n: _each(n, wheels=n.cells, cells=n.wheels), "Drives and cells changed places."),
        ],
        solution=lambda n: f"$({n.wheels}\\cdot {n.power} + {n.controller / 10:g})/{n.cells}$ is {_each(n):.3g} W.",
    ),
    Numeric(
        key="E3", title="Hours in the third winter",
        question=lambda n: f"{n.cells} cells of 10.8 Wh, of which 90 % are used. In the cold {n.cold} % of that are "
        f"left, and each of {n.years} years has taken 3 % of what they held when new. The machine draws "
        f"{n.draw / 10:g} W. For how many hours?",
        numbers=[Draw("cells", 2, 6, 1), Draw("cold", 60, 70, 5), Draw("years", 5, 8, 1), Draw("draw", 8, 20, 2)],
        answer=_hours, unit="h",
        hints=["Energy that can be drawn, over the draw.",
               "Each share is a factor: used, cold, aged.",
               "Aged is one less 0.03 a year. Multiply, then divide by the draw."],
        slips=[
            Slip("warm", lambda n: _hours(n, cold=100.0), "That is in the warm."),
            Slip("new", lambda n: _hours(n, years=0.0), "That is with new cells."),
            Slip("all of it", lambda n: _hours(n, shares=1.0 / 0.9), "Only 90 % of a cell's energy are used."),
        ],
        solution=lambda n: f"${n.cells}\\cdot 10.8\\cdot 0.9\\cdot {n.cold / 100:g}\\cdot {1 - 0.03 * n.years:g}$ Wh "
        f"over {n.draw / 10:g} W is {_hours(n):.3g} h.",
    ),
    Numeric(
        key="E4", title="What do rides without a failure prove?",
        question=lambda n: f"{n.rides} rides, drawn at random, all passed. Which share of rides may fail all the "
        "same, so that such luck would still happen once in twenty times?",
        numbers=[Draw("rides", 20, 200, 10)],
        answer=_unseen, unit="%", tolerance=0.03,
        hints=["If a share $q$ fails, how likely is it that none of $n$ rides does?",
               "$(1-q)^n = 0.05$.",
               "Take the $n$-th root of 0.05, and what it lacks to one."],
        slips=[
            Slip("one in n", lambda n: 100.0 / n.rides, "If one in $n$ failed, none of $n$ would fail more than once "
                "in "
                 "three times. Ask for once in twenty."),
            Slip("five in a hundred", lambda n: 500.0 / n.rides, "Not five over $n$: use $(1-q)^n = 0.05$."),
            Slip("all but", lambda n: 100.0 - _unseen(n), "That is the share that passes at least."),
        ],
        solution=lambda n: f"$1 - 0.05^{{1/{n.rides}}}$ is {_unseen(n):.3g} %; nearly three over the number of rides.",
    ),
    Choice(
        key="E5", title="Which decision mends it?",
        question="A sheet fails one check only, the peak: 40 W where the cells give 31 W in the cold. The age is "
        "6 ms of 14 allowed. Which mend is lightest and cheapest?",
        options={
            "cells": "two more cells",
            "power": "half the power in each drive, and the age looked at again",
            "rate": "half the sample rate",
            "warm": "a requirement of 0 °C in place of 10 below",
        },
        answer="power",
        feedback={
            "cells": "That passes, but adds mass and price while the age has 8 ms to spare.",
            "power": "There is time to spare, so a slower drive will do; its chain must be looked at again.",
            "rate": "The computer's draw is a small part of the peak.",
            "warm": "That changes the question, not the system. If it is really never colder, say so before you "
            "design.",
        },
    ),
    ShortText(
        key="E6", title="Why is *nothing* a specification?",
        question="A friend says: 'You were asked for a suspension, and you wrote a sheet that buys nothing. That is no "
        "answer.' Reply in three or four sentences.",
        ideas=[
            "It was verified by the same rides, and by every check that applies to it, against today's damper.",
            "It names the damper and its shims, against what stands there today.",
            "What could be bought failed checks, which the sheet can name.",
            "It says what would change the choice.",
        ],
        misconceptions=[
            Misconception("price", "Electronics are too dear, that is all.",
                          "No price was looked at here: what was offered fails by its rides."),
            Misconception("no test", "Nothing was bought, so nothing had to be tested.",
                          "The fixed damper went through the same rides as the others, and could have failed."),
            Misconception("never", "Electronics never help a motorcycle.",
                          "These laws, this damper and this ground: the sheet says what would change the choice."),
        ],
        model="It went through the same five hundred rides and every check that applies, against today's damper, and "
        "passes. It names a damper and its shims, which gain over what stands there today. What could be bought was "
        "verified too: it fails, and its sheet says at which check. And it says what would change the choice.",
        hints=["What did the sheet go through?", "What is compared with what?", "When would you choose otherwise?"],
    ),
    Design(
        key="E7", title="A drive and a battery for the carrier (extra)", kind="open",
        question=lambda n: "The carrier's acceleration-driven law, firm at 0.5, on four wheels. Choose drive, "
        "power, sample rate and cells so that it is in time on the descent, gives its four drives their peak at "
        f"{n.cold} degrees below freezing, lasts {n.hours} h with cells three years old, and its battery weighs "
        f"{n.grams} g at most.",
        numbers=[Draw("cold", 5, 15, 5), Draw("hours", 6, 9, 1), Draw("grams", 250, 320, 10)],
        parameters=[
            Parameter("drive", "what the coil moves", options=tuple(PARTS)),
            Parameter("power", "power into each drive while it moves", 1.0, 100.0, "W"),
            Parameter("sample_rate", "sample rate", 10.0, 2000.0, "Hz"),
            Parameter("cells", "lithium-ion cells side by side", 1.0, 20.0),
        ],
        judge=_judge, passing=_passing,
        solution="The pilot is quick with little power, for the oil does the work. Less power means a lower peak, "
        "and the peak is what decided. Then the hours decide, and three or four cells do.",
        hints=["Which drive is in time at 10 W, and how much does it have to spare?",
               "What does the peak fall to if you use up the time to spare?",
               "At that power: how many cells for the peak, how many for the hours?"],
    ),
]  # fmt: skip
