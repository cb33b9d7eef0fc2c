"""Exercises of workbook 09: hours per charge, what decides them, batteries, heat, break-even mass, a winter's pack."""

import math

from helpers.models.energy import HOUR
from helpers.models.terrain import CLASSES, REFERENCE_FREQUENCY
from helpers.models.vehicles import GRAVITY
from helpers.teaching.exercises import (
    Choice,
    Design,
    Draw,
    Misconception,
    Numeric,
    Parameter,
    ShortText,
    Slip,
)
from scenes import w09_winter as winter

RIDING = 6.0  # h a day


def _draw(n, wheels=2, per_hour=HOUR, computer=1e-3):
    """Draw of a mode switch in W."""
    return computer * n.computer + wheels * n.moves / per_hour * n.energy


def _left(n, cold=None, age=None):
    """Usable share of a pack's label: use, cold and age."""
    cold = 0.01 * n.cold if cold is None else cold
    age = 1.0 - 0.01 * n.fade * n.years if age is None else age
    return 0.9 * cold * age


def _winter_hours(n, share):
    return n.count * 10.8 * share / n.draw


def _ends(n):
    """Most and fewest hours where the moves, a share n.share of the draw, take half or n.times what was assumed."""
    return tuple(n.hours / (1.0 + 0.01 * n.share * (times - 1.0)) for times in (0.5, n.times))


def _width(n):
    most, fewest = _ends(n)
    return most - fewest


def _mass(n, overhead=1.3, share=None):
    return n.draw * RIDING / (n.dense * (0.01 * n.left if share is None else share)) * overhead


def _cells(n, power):
    return math.ceil(power / (n.volts * n.amps) - 1e-9)


def _heat(n, times=1.0):
    """Heat of one damper on class C in W."""
    return math.pi**2 * REFERENCE_FREQUENCY**2 * CLASSES["C"] * times * n.speed_kmh / 3.6 * 1e3 * n.tyre


def _covered(n, wheels=2.0, returned=None, heat=None):
    heat = _heat(n) if heat is None else heat
    return 100.0 * wheels * (0.01 * n.returned if returned is None else returned) * heat / n.draw


def _even(n, gravity=GRAVITY):
    return n.saved * n.time / (gravity * n.height)


EXERCISES = [
    Numeric(
        key="R1", title="Recall: what the battery gives",
        question=lambda n: "From workbook 02; another bike, on ground of its own. Averaged over a ride, the pushes of "
        f"one motor put in {n.supply:g} W at its rod. The drive passes on {n.efficiency} %, and what comes back is "
        "lost. What do two such motors ask of the battery on average?",
        numbers=[Draw("supply", 4, 20, 1), Draw("efficiency", 55, 65, 5)],
        answer=lambda n: 200.0 * n.supply / n.efficiency, unit="W",
        hints=[
            "The drive loses a part on the way from battery to rod. Which of the two is larger?",
            "$B = S/\\eta$ for each motor.",
            "Divide by the efficiency as a fraction, then double.",
        ],
        slips=[
            Slip("multiplied", lambda n: 0.02 * n.supply * n.efficiency,
                 "You multiplied by the efficiency: the battery must give more than arrives at the rod."),
            Slip("one motor", lambda n: 100.0 * n.supply / n.efficiency, "That is one motor: the bike has two."),
            Slip("at the rod", lambda n: 2.0 * n.supply, "That is at the rods; the drive's losses are missing."),
        ],
        solution=lambda n: f"$2\\cdot{n.supply}/{0.01 * n.efficiency:g} = {200.0 * n.supply / n.efficiency:.4g}$ W.",
    ),
    Choice(
        key="R2", title="Recall: heat in a firmer damper",
        question="From workbook 01: on a class C road, at the same speed, a linear damper is made twice as firm. What "
        "becomes of the mean power that it turns to heat?",
        options={
            "a": "it doubles: a firmer damper brakes more",
            "b": "it halves: a firmer damper moves less",
            "c": "it stays the same",
        },
        answer="c",
        feedback={
            "a": "It brakes harder, but it moves less; on such a road the two balance.",
            "b": "It moves less, but it brakes harder; on such a road the two balance.",
            "c": "The mean hangs on the road, the speed and the tyre's rate: not on the damper.",
        },
    ),
    Choice(
        key="P", title="Half a kilogram for the skyhook motor",
        question="Half a kilogram of lithium-ion cells, 86.4 Wh on the label, in the warm. A motor at each wheel "
        "of the bike follows a modest skyhook law over the Fell loop, through the chain of workbook 00; its drive "
        "passes on about 60 %, and what the motors take out is not stored. How long does it run?",
        options={
            "a": "not an hour: a motor that must match a rider empties any battery a bottle cage takes",
            "b": "a few hours",
            "c": "about a day and a night: it only nudges now and then",
            "d": "without end: on balance a skyhook takes energy out",
        },
        answer="b",
        feedback={
            "a": "That is the comfort law of workbook 02: 0.8 hours. A modest skyhook beside the soft valve asks, "
            "with windings, a third of it. (With a motor of 16 N/√W even the skyhook lasts 0.55 hours: point 5.)",
            "b": "4.7 hours with new cells, if pushes and drive are all; 2.5 (1.6 to 3.4) with the windings, if the "
            "motor has 25 to 100 N/√W, and cells of up to five years. That is the mean; single pushes ask far more "
            "(point 11).",
            "c": "The semi-active valve lasts that long: 22 hours. Each motor puts in 4.7 W on average, and its "
            "windings are warm whenever it holds a force.",
            "d": "It takes out 22.7 W at a wheel and puts in 4.7. But the returns are lost here. Were 60 % "
            "of them stored, the pair would give 10.6 W on balance, and its windings would want 12.8: near a coin toss "
            "(point 4).",
        },
    ),
    Numeric(
        key="E1", title="Hours per charge of a mode switch", kind="worked",
        question=lambda n: f"Each of the two valves of a mode switch moves {n.moves} times an hour, {n.energy:g} J a "
        f"move. The computer takes {n.computer} mW. The battery gives {n.cell:g} Wh. How many hours of riding is that?",
        numbers=[Draw("moves", 1600, 3000, 100), Draw("energy", 0.1, 0.16, 0.02), Draw("computer", 20, 35, 5),
                 Draw("cell", 6, 12, 1)],
        answer=lambda n: n.cell / _draw(n), unit="h",
        hints=[
            "Energy over power is time. What power are so many moves an hour?",
            "$P = P_0 + 2\\,n E_1$ with $n$ in moves a *second*; $T = E/P$.",
            "Turn moves an hour into moves a second, times the joules, times both valves; add the computer in watts.",
        ],
        slips=[
            Slip("one wheel", lambda n: n.cell / _draw(n, 1), "That is one valve: the bike has two."),
            Slip("computer forgotten", lambda n: n.cell / _draw(n, computer=0.0), "The computer's draw is missing."),
            Slip("milliwatts", lambda n: n.cell / _draw(n, computer=1.0), "The computer's draw is in mW: divide by "
                 "1000 before you add."),
            Slip("per minute", lambda n: n.cell / _draw(n, per_hour=60.0),
                 "Moves an hour over 60 are moves a minute; a watt is a joule a second."),
            Slip("twice", lambda n: 2.0 * n.cell / _draw(n),
                 "Twice the right value: both wheels' moves and the computer draw on one battery."),
        ],
        solution=lambda n: f"$2\\cdot{n.moves}/3600\\cdot{n.energy:g} = {_draw(n, computer=0.0):.4g}$ W, with the "
        f"computer {_draw(n):.4g} W. ${n.cell:g}/{_draw(n):.4g} = {n.cell / _draw(n):.4g}$ h.",
    ),
    Numeric(
        key="E2", title="A pack in the cold", kind="gap",
        question=lambda n: f"{n.count} lithium-ion cells of 10.8 Wh each, of which 90 % can be used. In the cold "
        f"{n.cold} % of that is left. Each year takes $f$ = {n.fade} % of the first capacity, and they are $y$ = "
        f"{n.years} years old. Fill the gap and work it out for a draw of {n.draw:g} W: "
        "$T = E\\cdot0.9\\cdot\\_\\_\\_\\cdot(1 - f\\,y)/P$.",
        numbers=[Draw("count", 4, 12, 1), Draw("cold", 60, 70, 2), Draw("fade", 4, 5, 1), Draw("years", 4, 5, 1),
                 Draw("draw", 3, 30, 1)],
        answer=lambda n: _winter_hours(n, _left(n)), unit="h",
        hints=[
            "Each loss takes a share of what the one before has left.",
            "In the gap stands the share that is *left* in the cold, as a fraction.",
            "Label energy of all cells first, then one factor after the other, then divide by the draw.",
        ],
        slips=[
            Slip("cold forgotten", lambda n: _winter_hours(n, _left(n, cold=1.0)), "The cold is missing."),
            Slip("lost for left", lambda n: _winter_hours(n, _left(n, cold=1.0 - 0.01 * n.cold)),
                 "You put in the share that the cold takes; the share that is left belongs there."),
            Slip("age forgotten", lambda n: _winter_hours(n, _left(n, age=1.0)), "The years are missing."),
            Slip("label", lambda n: _winter_hours(n, _left(n) / 0.9), "Not all that is on the label can be used."),
            Slip("one cell", lambda n: _winter_hours(n, _left(n)) / n.count, "That is one cell of the pack."),
        ],
        solution=lambda n: f"${n.count}\\cdot10.8\\cdot0.9\\cdot{0.01 * n.cold:g}\\cdot"
        f"{1.0 - 0.01 * n.fade * n.years:g} = {n.count * 10.8 * _left(n):.4g}$ Wh; over {n.draw:g} W that is "
        f"{_winter_hours(n, _left(n)):.4g} h.",
    ),
    Numeric(
        key="E3", title="A range from one input",
        question=lambda n: f"Worked out from most likely values, a charge of a mode switch lasts {n.hours} h, and the "
        f"moves make {n.share} % of its draw. What a move takes is known only from half to {n.times:g} times what was "
        "assumed; the rest is known. How many hours wide is the range? Give one number: most minus fewest.",
        numbers=[Draw("hours", 120, 400, 20), Draw("share", 60, 75, 5), Draw("times", 3.5, 5.0, 0.5)],
        answer=_width, unit="h",
        hints=[
            "Each end has a draw of its own. Only the moves' part changes; the rest stays.",
            "At an end with $k$ times the energy: $T' = T/(1 + s\\,(k - 1))$.",
            "Work out both ends, $k$ one half and $k$ the larger one, and subtract.",
        ],
        slips=[
            Slip("all of the draw", lambda n: n.hours * (2.0 - 1.0 / n.times),
                 "So it would be if the moves were all of the draw."),
            Slip("hours like the draw", lambda n: n.hours * 0.01 * n.share * (n.times - 0.5),
                 "That is how far the draw moves; hours go with its inverse, so work out each end."),
            Slip("one end", lambda n: _ends(n)[0], "That is one end of the range; the question is its width."),
            Slip("the other end", lambda n: _ends(n)[1],
                 "That is the bad end of the range; the question is its width."),
            Slip("from the point", lambda n: n.hours - _ends(n)[1],
                 "That is from the most likely value to the fewest hours; the other end lies above it."),
        ],
        solution=lambda n: f"At the good end ${n.hours}/(1 - {0.01 * n.share:g}\\cdot0.5) = {_ends(n)[0]:.4g}$ h, at "
        f"the bad one ${n.hours}/(1 + {0.01 * n.share:g}\\cdot{n.times - 1.0:g}) = {_ends(n)[1]:.4g}$ h: "
        f"{_width(n):.4g} h wide, and {n.hours} h is not in its middle.",
    ),
    Numeric(
        key="E4", title="A battery for a day",
        question=lambda n: f"An offer draws {n.draw:g} W for six hours. Its cells hold {n.dense} Wh/kg on the label, "
        f"of which {n.left} % can be used in winter. Case, wiring and protection add 30 % to the mass of the cells. "
        "What does the battery weigh, cells counted as if they could be cut?",
        numbers=[Draw("draw", 4, 40, 2), Draw("dense", 80, 240, 10), Draw("left", 50, 64, 2)],
        answer=_mass, unit="kg",
        hints=[
            "How much energy must be on the label so that enough is left?",
            "$m = (1 + o)\\,P\\,t_d/(q\\,e)$.",
            "Watt-hours of the day first, divided by the share, by the Wh/kg, then 30 % on top.",
        ],
        slips=[
            Slip("no case", lambda n: _mass(n, 1.0), "The case and wiring are missing."),
            Slip("label", lambda n: _mass(n, share=1.0), "That takes the label at its word; in winter less is left."),
            Slip("share upside down", lambda n: _mass(n, share=100.0 / n.left),
                 "You multiplied by the share: with less left, more cells are needed, not fewer."),
            Slip("one hour", lambda n: _mass(n) / RIDING, "That is one hour."),
            Slip("twice", lambda n: 2.0 * _mass(n),
                 "Twice the right value: the draw is that of the whole bike, both wheels."),
        ],
        solution=lambda n: f"${n.draw:g}\\cdot6 = {n.draw * RIDING:g}$ Wh; ${n.draw * RIDING:g}/({0.01 * n.left:g}"
        f"\\cdot{n.dense})\\cdot1.3 = {_mass(n):.4g}$ kg.",
    ),
    Numeric(
        key="E5", title="Cells for a push",
        question=lambda n: f"The largest push of a motor is {n.push} W at its rod; the drive passes on "
        f"{n.efficiency} %. A cell has {n.volts:g} V on average and may give {n.amps} A. How many cells, a whole "
        "number, does the push ask for, whatever they hold?",
        numbers=[Draw("push", 700, 1500, 50), Draw("efficiency", 50, 70, 5), Draw("volts", 3.6, 3.7, 0.1),
                 Draw("amps", 6, 12, 1)],
        answer=lambda n: _cells(n, 100.0 * n.push / n.efficiency), unit="", tolerance=1e-3, absolute=0.4,
        hints=[
            "The question is about current, not about energy: what may one cell give in watts?",
            "Cells = push from the battery over volts times amperes, rounded up.",
            "Divide the push by the efficiency as a fraction first.",
        ],
        slips=[
            Slip("at the rod", lambda n: _cells(n, n.push),
                 "The drive's losses come on top: divide by its efficiency."),
            Slip("multiplied", lambda n: _cells(n, 0.01 * n.push * n.efficiency),
                 "You multiplied by the efficiency: the battery gives more than arrives."),
            Slip("amperes only", lambda n: math.ceil(100.0 * n.push / n.efficiency / n.amps - 1e-9),
                 "Watts over amperes are volts. A cell gives volts times amperes."),
            Slip("rounded down", lambda n: _cells(n, 100.0 * n.push / n.efficiency) - 1,
                 "One too few: rounded down, each is over its rating."),
            Slip("two motors", lambda n: _cells(n, 200.0 * n.push / n.efficiency),
                 "That is for two motors at once; the question is about one."),
        ],
        solution=lambda n: f"${n.push}/{0.01 * n.efficiency:g} = {100.0 * n.push / n.efficiency:.4g}$ W from the "
        f"battery, ${n.volts:g}\\cdot{n.amps} = {n.volts * n.amps:.4g}$ W a cell: "
        f"{100.0 * n.push / n.efficiency / (n.volts * n.amps):.2f}, so {_cells(n, 100.0 * n.push / n.efficiency)}.",
    ),
    Numeric(
        key="E6", title="Living off the heat",
        question=lambda n: f"A bike with a tyre of {n.tyre} kN/m runs at {n.speed_kmh} km/h over a class C road, "
        "$G_d(n_0) = 256\\cdot10^{-6}$ m³ at $n_0 = 0.1$ cycle/m. Of the heat of its two dampers "
        f"{n.returned} % could come back. What share of the draw of its valves, {n.draw:g} W in all, would that be?",
        numbers=[Draw("tyre", 60, 90, 5), Draw("speed_kmh", 16, 34, 2), Draw("returned", 15, 35, 5),
                 Draw("draw", 3, 8, 1)],
        answer=_covered, unit="%",
        hints=[
            "The heat does not depend on the damper. On what does it?",
            "$\\pi^2 n_0^2\\,G_d(n_0)\\,v\\,k_t$ for each wheel.",
            "Speed in m/s, tyre in N/m; two wheels; then the share that comes back, over the draw.",
        ],
        slips=[
            Slip("one wheel", lambda n: _covered(n, 1.0), "That is one damper: the bike has two."),
            Slip("all of it", lambda n: _covered(n, returned=1.0), "That is all the heat; only a part comes back."),
            Slip("km/h", lambda n: 3.6 * _covered(n), "The speed went in as km/h."),
            Slip("road's intensity", lambda n: 2.0 * _covered(n),
                 "Twice the right value: $2\\pi^2$ belongs to the road's intensity; the heat is half of it times "
                 "$k_t$."),
            Slip("power of ten", lambda n: 0.1 * _covered(n),
                 "Ten times too small: $n_0^2$ is 0.01, and $256\\cdot10^{-6}$ is $2.56\\cdot10^{-4}$."),
            Slip("no square", lambda n: 10.0 * _covered(n), "Ten times too large: $n_0$ is squared."),
        ],
        solution=lambda n: f"$\\pi^2\\cdot0.1^2\\cdot256\\cdot10^{{-6}}\\cdot{n.speed_kmh / 3.6:.4g}\\cdot"
        f"{1000 * n.tyre} = {_heat(n):.4g}$ W a wheel; $2\\cdot{0.01 * n.returned:g}\\cdot{_heat(n):.4g}/{n.draw:g}$ "
        f"is {_covered(n):.4g} %.",
    ),
    Numeric(
        key="E7", title="The mass that takes it back",
        question=lambda n: f"A locked damper saves a rider of {n.rider} W on average {n.saved:g} W on a climb of "
        f"{n.height} m that takes {n.time} s. The yardstick is the time of the climb. How much may the system weigh, "
        "battery and all, before the climb is slower with it than without?",
        numbers=[Draw("saved", 3, 9, 0.5), Draw("height", 10, 30, 2), Draw("time", 40, 90, 10),
                 Draw("rider", 150, 300, 25)],
        answer=_even, unit="kg",
        hints=[
            "At the break-even mass the work saved is the work of lifting it.",
            "$m = p\\,t_c/(g\\,h)$.",
            "Watts times seconds are joules; divide by 9.81 and by the height. Is the rider's power needed?",
        ],
        slips=[
            Slip("no g", lambda n: _even(n, 1.0), "A mass is lifted against its weight: $g$ is missing."),
            Slip("per second", lambda n: _even(n) / n.time,
                 "The watts are saved over the whole climb: times its seconds."),
            Slip("newtons", lambda n: _even(n, 1.0 / GRAVITY), "You multiplied by $g$: it belongs below the line."),
            Slip("rider's power", lambda n: n.rider * n.time / (GRAVITY * n.height),
                 "That lifts what the rider's whole power could lift; only the saved watts count."),
        ],
        solution=lambda n: f"${n.saved:g}\\cdot{n.time}/(9.81\\cdot{n.height}) = {_even(n):.3g}$ kg, whatever the "
        "rider's power.",
    ),
    Choice(
        key="E8", title="A range, and what to do with it",
        question="For a six-hour day the hours per charge of a valve are 4.6 / 7.3 / 12 (5, 50 and 95 %). With the "
        "draw of the held valve at its two ends they are 4.9 and 11, with the computer's 6.9 and 7.5. What do you "
        "tell the team?",
        options={
            "a": "It lasts the day: 7.3 is more than 6. Take it.",
            "b": "It does not last the day: 4.6 is less than 6. Leave it.",
            "c": "It may fail the day. Measure the draw of the held valve; until then take a larger battery.",
            "d": "It may fail the day. Measure the computer's draw, which is easiest, and decide then.",
        },
        answer="c",
        feedback={
            "a": "Half of all cases lie below the median, and among them those below 6. A rescue is not planned by the "
            "median.",
            "b": "One case in twenty ends before 4.6 hours. That is a reason to know more or to carry more, not a "
            "proof that it fails.",
            "c": "The held valve's draw moves the hours from 11 to 4.9: known better, it narrows the range. The larger "
            "battery covers what is not known yet.",
            "d": "6.9 to 7.5 is a short bar beside 4.9 to 11. Known to the last digit, the computer would narrow the "
            "range by minutes.",
        },
    ),
    ShortText(
        key="E9", title="Is it the weight?",
        question="A seller: \"Against our comfort-law motor speaks only the weight of its battery. Cells get "
        "lighter every year.\" In one or two sentences: what do the page's numbers say about the weight, and what "
        "speaks against it more?",
        ideas=[
            "The battery's weight costs little on a lap, less than the motor saves if a fair part of the descent "
            "counts.",
            "What speaks against the motor is the energy that it asks for, hour after hour.",
            "That energy is large beside something named: what it would do at the pedals, what a rider gives, or what "
            "has to be charged every day.",
        ],
        misconceptions=[
            Misconception("swapped", "The weight costs 20 seconds and the energy only 2.5.",
                          "You have the two numbers the other way round: look at their columns in the table of "
                          "seconds."),
            Misconception("weight decides", "The battery is far too heavy; with lighter cells it would be worth it.",
                          "Look at the table of seconds: the battery's climb costs 2.5 s of a lap, its energy at the "
                          "pedals 20."),
            Misconception("energy is free", "The energy is free, for it comes from a socket.",
                          "87 W are more than a healthy person gives all day, 75 W: out on the fell they are not "
                          "free."),
            Misconception("it feeds itself", "The motor can recover enough energy from the damper to need no battery.",
                          "With its returns stored at 60 % the comfort law still draws 56.4 W with its windings."),
        ],
        model="The battery of a day weighs 5.4 kg and costs 2.5 seconds on the lap's climb, less than the motor saves "
        "if a fair part of the descent counts. What speaks against it is the energy: 87 W, hour after hour, that must "
        "be charged every day; at the pedals the same energy would save 20 seconds, and the motor, if it runs all "
        "round the loop, saves 13 at most.",
        hints=["Find the battery's kilograms and its seconds in the table of seconds.",
               "Which column of that table is the largest for this motor?",
               "Lighter cells change the kilograms. Do they change the watts?"],
    ),
    Design(
        key="E10", title="A pack for a winter", kind="open",
        question=winter.question,
        numbers=[Draw("energy", 0.05, 0.25, 0.05), Draw("peak", 20, 160, 20), Draw("cold", -15, 0, 5),
                 Draw("days", 2, 9, 1), Draw("hold", 0, 3, 1)],
        judge=winter.judge,
        parameters=[Parameter("cell", "cells", options=tuple(winter.CHEMISTRIES)),
                    winter.Count("count", "number of cells", 1.0, 400.0),
                    Parameter("hold", "hold time", 0.05, 3.0, "s")],
        passing=lambda n: {"cell": winter.lightest(n)[0], "count": str(winter.lightest(n)[1].count),
                           "hold": f"{winter.HOLDS[n.hold]:g} s"},
        solution=winter.solution,
        hints=["Two of the four requirements hang on the hold time, in opposite directions. Which?",
               "Start from 0.5 s and one cell. What fails, energy or power?",
               "Energy asks for Wh/kg, the peak for W/kg: the table of cells has both."],
    ),
]  # fmt: skip
