"""Exercises of workbook 09: hours per charge, cold cells, a battery's watts beside drag, what to measure, a pack."""

import math
from functools import lru_cache

from helpers.course import ModeSwitch, bike
from helpers.models.cells import CELLS, Pack, loaded, pack_for
from helpers.models.energy import HOUR
from helpers.simulation.specification import Specification, duty
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
from helpers.teaching.units import AnswerError, quoted


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


def _gives(n, times=None, drop=1.0):
    """What a cell may give in W where its resistance has grown: the voltage drops no further, so the current falls."""
    times = 0.1 * n.times if times is None else times
    return n.amps / times * (3.6 - drop * 0.001 * n.milliohms * n.amps)


def _cells(n, share=None, **known):
    power = n.push / (0.01 * n.efficiency if share is None else share)
    return math.ceil(power / _gives(n, **known) - 1e-9)


def _more(n, wheels=1.0, share=None, plain=1.0):
    """What the motor costs more than the damper, W, the battery's at the pedals."""
    return wheels * n.motor + n.battery * (0.01 * n.efficiency if share is None else share) - plain * n.damper


# --- the design -------------------------------------------------------------------------------------------------

CHEMISTRIES = {"lithium-ion": "li_ion", "lithium-polymer": "lipo", "NiMH": "nimh", "lead": "lead"}
POWERS = (2.0, 3.0, 4.0, 6.0)  # W, of the design's reference, drawn


class Count(Parameter):
    """A whole number of cells."""

    def read(self, answer):
        value = super().read(answer)
        if abs(value - round(value)) > 1e-9:
            raise AnswerError(f"{quoted(answer)} cannot be used for {self.name}: it is a whole number of cells.")
        return round(value)


@lru_cache(256)
def _ridden(power):
    """(ms until 63 % of the force, mean draw in W, largest in W) of a mode switch at a power in W into each coil."""
    spec = Specification(bike, ModeSwitch(20.0, 0.1), "coil on a pilot", power=power)
    drawn = duty(spec)
    return 1e3 * spec.response.force_63, drawn.power, spec.wheels * power + drawn.controller


def _state(n):
    return {"temperature": -float(n.cold), "years": 3.0, "cycles": 150.0}


def _smallest(name, n):
    """The least `Pack` of a chemistry that gives hours and peak at the reference's power."""
    _, mean, peak = _ridden(POWERS[n.pick])
    cell = CELLS[CHEMISTRIES[name]]
    count = math.ceil(peak / loaded(Pack(cell), 0.0, -float(n.cold)).most + 1e-9)
    return Pack(cell, parallel=max(count, pack_for(cell, 1.0001 * mean * n.hours * HOUR, **_state(n)).count))


def _lightest(n):
    return min(CHEMISTRIES, key=lambda name: _smallest(name, n).mass)


def _limits(n):
    """Longest time in ms, largest mass in g."""
    return math.ceil(10.1 * _ridden(POWERS[n.pick])[0]) / 10.0, math.ceil(1010.0 * _smallest(_lightest(n), n).mass)


def _judge(values, n):
    cell, (late, grams) = CELLS[CHEMISTRIES[values.cell]], _limits(n)
    pack, (time, mean, peak) = Pack(cell, parallel=values.count), _ridden(values.power)
    return [
        Criterion("time until 63 % of the force", time, late, "ms", advice="More power into the coil."),
        Criterion("largest power over what the cells give", peak / loaded(pack, 0.0, -float(n.cold)).most, 1.0,
                  advice="Another chemistry, more cells, or less power into the coils."),
        Criterion("hours on a charge, cold and aged", pack.usable(**_state(n)) / mean / HOUR, n.hours, "h", "at least",
                  "More energy: which chemistry holds most in a kilogram?"),
        Criterion("mass of the pack", 1e3 * pack.mass, grams, "g", advice="Fewer cells, or a lighter chemistry."),
    ]  # fmt: skip


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
        question="Half a kilogram of lithium-ion cells, 86.4 Wh on the label, new and warm. A motor at each wheel "
        "follows a modest skyhook law over the Fell loop; its drive passes on 60 %, what the motors take out is not "
        "stored. How long does it run?",
        options={
            "hour": "not an hour: a motor that must match a rider empties any battery a bottle cage takes",
            "hours": "a few hours",
            "day": "about a day and a night: it only nudges now and then",
            "ever": "without end: on balance a skyhook takes energy out",
        },
        answer="hours",
        feedback={
            "hour": "That is full activity: 0.82 hours. A modest skyhook beside the open valve draws a third of it.",
            "hours": "2.66 hours by its mean alone: pushes take 15.6 W, windings 12.8, the box 0.9. Over all that is "
            "not known about motor, drive and cells it is 1.2 to 3 hours.",
            "day": "Each motor puts in some 5 W on average, and its windings are warm whenever it holds a force: "
            "29.3 W in all.",
            "ever": "At the rods it takes out 45.6 W and puts in 9.3. But the returns are lost here; were they stored, "
            "the windings would make it a coin toss.",
        },
    ),
    Choice(
        key="S1", title="Set −10 °C",
        question="Half a kilogram of lithium-ion. Which offers do the cells now refuse, whatever they still hold?",
        options={"full": "full activity", "both": "both motors", "none": "none: it only gets shorter"},
        answer="full",
        feedback={
            "full": "They may give 61 W, and it asks for 95 on average. The skyhook's 29 W they give, though not its "
            "pushes.",
            "both": "The skyhook asks for 29 W on average, and 61 may be given. Its largest pushes were refused in the "
            "warm already.",
            "none": "Cold takes power even more than energy: of 156 W there are 61 left.",
        },
    ),
    Choice(
        key="S2", title="Reset, and take coin cells",
        question="Half a kilogram of coin cells holds 81 Wh, nearly as much as lithium-ion. What do they give the mode "
        "switch?",
        options={
            "mean": "its mean, for hundreds of hours, but not one stroke",
            "all": "hundreds of hours without a care",
            "none": "nothing: they refuse its mean",
        },
        answer="mean",
        feedback={
            "mean": "120 cells may give 1.06 W together. The mean is less than a tenth of a watt; both coils at once "
            "take 20.",
            "all": "By energy, yes. But both coils at once take 20 W, and 120 cells may give 1.06.",
            "none": "One cell would. 120 may give 1.06 W, twelve times the mean.",
        },
    ),
    Choice(
        key="S3", title="Reset, and take 4 kg",
        question="Eight times the mass. Full activity now reaches the six hours, new and warm. What is still refused?",
        options={"push": "its largest pushes", "none": "nothing", "mean": "its mean power"},
        answer="push",
        feedback={
            "push": "The cells give 1264 W, and one motor's largest push asks 7600 W. Peaks ask for a store beside the "
            "battery, not for kilograms.",
            "none": "Look at the diamond: 7600 W for an instant, and the cells give 1264.",
            "mean": "The mean is 95 W, and the cells give 1264.",
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
        key="E3", title="Cells for a push in the cold",
        question=lambda n: f"A motor's largest push asks {n.push} W at its rod; the drive passes on {n.efficiency} %. "
        f"A warm cell has 3.6 V, may give {n.amps} A and has {n.milliohms} mΩ. In the cold its resistance is "
        f"{0.1 * n.times:g} times as large; its voltage may drop no further than in the warm. How many cells, a whole "
        "number, does the push ask for?",
        numbers=[Draw("push", 700, 1500, 50), Draw("efficiency", 65, 70, 5), Draw("amps", 6, 10, 1),
                 Draw("milliohms", 40, 80, 10), Draw("times", 26, 30, 1)],
        answer=_cells, unit="", tolerance=1e-3, absolute=0.4,
        hints=[
            "The same drop at a larger resistance: what becomes of the current?",
            "$I = I_{warm}/k$; a cell gives $I\\,(V - R_{warm} I_{warm})$. Cells: the battery's watts over that.",
            "Work out the drop in the warm first, then the current in the cold, then the watts of one cell.",
        ],
        slips=[
            Slip("warm", lambda n: _cells(n, times=1.0), "That is in the warm: the current must fall as the resistance "
                 "grows."),
            Slip("no drop", lambda n: _cells(n, drop=0.0), "Under load the voltage is lower than 3.6 V."),
            Slip("at the rod", lambda n: _cells(n, share=1.0), "The drive's losses come on top."),
            Slip("multiplied", lambda n: _cells(n, share=100.0 / n.efficiency), "You multiplied by the efficiency: the "
                 "battery gives more than arrives."),
            Slip("rounded down", lambda n: _cells(n) - 1, "One too few: rounded down, each is over its rating."),
        ],
        solution=lambda n: f"From the battery ${n.push}/{0.01 * n.efficiency:g} = {100.0 * n.push / n.efficiency:.4g}$ "
        f"W. The drop is {0.001 * n.milliohms * n.amps:.3g} V, the current in the cold ${n.amps}/{0.1 * n.times:g} = "
        f"{10.0 * n.amps / n.times:.3g}$ A, so a cell gives {_gives(n):.4g} W: "
        f"{100.0 * n.push / n.efficiency / _gives(n):.2f}, so {_cells(n)}.",
    ),
    Numeric(
        key="E4", title="The whole price",
        question=lambda n: f"A fixed damper takes {n.damper} W out of forward motion. With motors the suspension "
        f"takes {n.motor} W, and they draw {n.battery} W from the battery, of which a motor at the pedals would pass "
        f"on {n.efficiency} %. How many watts more do the motors cost, all counted? A minus sign if less.",
        numbers=[Draw("damper", 135, 140, 1), Draw("motor", 90, 95, 1), Draw("battery", 60, 90, 10),
                 Draw("efficiency", 60, 65, 5)],
        answer=_more, unit="W", absolute=0.5,
        hints=[
            "Put both in the same watts: those that turn the wheel.",
            "$P = D_{motor} + \\eta B - D_{damper}$.",
            "Take the battery's watts times the efficiency as a fraction first.",
        ],
        slips=[
            Slip("battery alone", lambda n: _more(n, wheels=0.0, plain=0.0), "The drag of both is missing."),
            Slip("at the battery", lambda n: _more(n, share=1.0), "At the pedals only a share of the battery's watts "
                 "would arrive."),
            Slip("divided", lambda n: _more(n, share=100.0 / n.efficiency), "You divided by the efficiency: at the "
                 "pedals less arrives than the battery gives."),
            Slip("drag alone", lambda n: _more(n, share=0.0), "The battery's watts are missing."),
            Slip("no rival", lambda n: _more(n, plain=0.0), "That is what the motor costs; the damper costs something "
                 "too."),
        ],
        solution=lambda n: f"${n.motor} + {0.01 * n.efficiency:g}\\cdot{n.battery} - {n.damper} = {_more(n):.4g}$ W.",
    ),
    Choice(
        key="E5", title="A range, and what to do with it",
        question="For a six-hour day a valve's charge lasts 4.6 / 7.3 / 12 h (5, 50 and 95 %). With the held valve's "
        "draw at its two ends it is 4.9 and 11, with the computer's 6.9 and 7.5. What do you tell the team?",
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
        key="E6", title="Is it free?",
        question="A seller: \"Counted properly, full activity is free: what its battery gives comes back at the "
        "wheels. Only its weight was against it, and cells get lighter.\" Against which rival is the first half so, "
        "how surely, and what rules it out on this bike?",
        ideas=[
            "It is level only with the plain damper, 136 and 137 W, and only on this traverse: elsewhere not shown.",
            "A well set fixed damper takes less than both, 108 or 77 W.",
            "On this bike the energy of six hours does not fit the cage: the cells would have to hold nearly twelve "
            "times as much, and no year brings that.",
            "In the cold the cells refuse its power, and its pushes ask for kilowatts.",
        ],
        misconceptions=[
            Misconception("drag forgotten", "It is never free: 87 W are drawn and nothing comes back.",
                          "Look at the drag: 83.7 W in place of the plain damper's 137."),
            Misconception("weight decides", "The weight is what matters; with lighter cells it would be worth it.",
                          "Cells nearly twelve times as dense are not lighter cells, and the watts stay."),
            Misconception("feeds itself", "The motor can live on what it takes out of the suspension.",
                          "Even the skyhook's sum is a coin toss at the battery, and in the cold nothing may be "
                          "charged."),
            Misconception("free for all", "It is free, since drag and battery cancel.",
                          "Against the plain damper, here. Which damper would Ilka have if she set hers well?"),
        ],
        model="Level it is here, with the plain damper: on the traverse it takes 83.7 W out of forward motion where "
        "that takes 137, and its battery's 87.4 W make up the rest; over other rides it is not shown. A well set fixed "
        "damper takes 108 or 77 W and draws nothing. And on this bike six hours are 569 Wh: the cage holds a battery "
        "for half an hour, cells would have to be nearly twelve times as dense, and in the cold they refuse even its "
        "mean.",
        hints=["Which rows of the table of drag come near its *together*?",
               "Which rows take less, and what do they draw?",
               "Six hours, half a kilogram: what would a kilogram of cells have to hold?"],
    ),
    Design(
        key="E7", title="A pack for a winter (extra)", kind="open",
        question=lambda n: "A mode switch for Ilka's bike, both wheels, a coil on a pilot. It must have 63 % of its "
        f"force after {_limits(n)[0]:.1f} ms. At {'−' if n.cold else ''}{n.cold} °C, with cells of three years and "
        f"150 charges, a charge lasts at least {n.hours} hours, and the cells, counted as new, give both coils their "
        f"power at once. The pack weighs at most {_limits(n)[1]} g.",
        numbers=[Draw("pick", 0, 3, 1), Draw("cold", 0, 15, 5), Draw("hours", 40, 120, 10)],
        parameters=[
            Parameter("cell", "cells", options=tuple(CHEMISTRIES)),
            Count("count", "number of cells", 1.0, 400.0),
            Parameter("power", "power into each coil while it moves", 1.0, 100.0, "W"),
        ],
        judge=_judge,
        passing=lambda n: {"cell": _lightest(n), "count": str(_smallest(_lightest(n), n).count),
                           "power": f"{POWERS[n.pick]:g} W"},
        solution=lambda n: "The time sets the least power, and so the peak; holding and hours set the energy. At "
        f"{POWERS[n.pick]:g} W the packs are " + ", ".join(
            f"{_smallest(name, n).count} x {name} ({1e3 * _smallest(name, n).mass:.1f} g)" for name in CHEMISTRIES)
        + ".",
        hints=["Find the least power that is in time: try watts in the cell that has 10, 4 and 2 W. More only makes "
               "the peak larger.",
               "Then count cells twice, for the peak in the cold and for the hours. The larger number holds.",
               "Energy asks for Wh/kg, the peak for W/kg: the table of cells has both."],
    ),
]  # fmt: skip
