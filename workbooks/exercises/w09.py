"""Exercises of workbook 09: hours per charge, what decides them, batteries, heat, break-even mass, a winter's pack."""

import math
from dataclasses import replace

from helpers.models.cells import CELLS, Pack, pack_for
from helpers.models.energy import ELECTRONICS, HOUR, days_per_charge
from helpers.models.terrain import CLASSES, REFERENCE_FREQUENCY
from helpers.models.vehicles import GRAVITY
from helpers.teaching.exercises import (
    Choice,
    Criterion,
    Design,
    Draw,
    Idea,
    Misconception,
    Numeric,
    Parameter,
    ShortText,
    Slip,
)
from scenes.w09_numbers import locked_on_the_climb, moves_a_second

CHEMISTRIES = {"lithium-ion": "li_ion", "lithium-polymer": "lipo", "NiMH": "nimh", "lead": "lead", "coin": "coin"}
HOLDS = (0.2, 0.3, 0.5, 0.8)  # s, of the design's reference, drawn
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


def _after(n):
    """Hours in % of before once a part of the draw of share n.share is n.times as large."""
    share = 0.01 * n.share
    return 100.0 / (1.0 + share * (n.times - 1.0))


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


# --- E9: the pack and the hold time -----------------------------------------------------------------------------------


def _duty(n, hold):
    return replace(ELECTRONICS["mode_switching"], wheels=2, per_actuation=n.energy, actuation_rate=moves_a_second(hold))


def _state(n, cell):
    return {"temperature": float(n.cold), "years": 3.0} | ({"cycles": 150.0} if cell.cycle_life else {})


def _lightest(n):
    """(chemistry, pack) of least mass that lasts the days and gives the peak with the reference's hold time."""
    duty, packs = _duty(n, HOLDS[n.hold]), {}
    for name in ("lithium-ion", "lithium-polymer", "NiMH"):
        cell = CELLS[CHEMISTRIES[name]]
        count = pack_for(cell, 1.0, n.peak).count
        while days_per_charge(Pack(cell, parallel=count), duty, RIDING, **_state(n, cell)) < n.days:
            count += 1
        packs[name] = Pack(cell, parallel=count)
    return min(packs.items(), key=lambda item: item[1].mass)


def _limits(n):
    """Least share locked on the climb in %, largest mass in g."""
    return 100.0 * locked_on_the_climb(HOLDS[n.hold]) - 1.0, 1.02e3 * _lightest(n)[1].mass


def _judge(values, n):
    cell = CELLS[CHEMISTRIES[values.cell]]
    pack, (locked, mass) = Pack(cell, parallel=round(values.count)), _limits(n)
    days = days_per_charge(Pack(replace(cell, max_current=1e3), parallel=pack.count), _duty(n, values.hold), RIDING,
                           **_state(n, cell))  # fmt: skip
    return [
        Criterion("days per charge", days, n.days, "", "at least",
                  "More energy, or fewer moves: what does a longer hold time do to them?"),
        Criterion("power the cells may give", pack.count * cell.voltage * cell.max_current, n.peak, "W", "at least",
                  "Another chemistry, or more cells."),
        Criterion("mass of the pack", 1e3 * pack.mass, mass, "g", advice="Fewer cells, or a lighter chemistry."),
        Criterion("locked on the climb", 100.0 * locked_on_the_climb(values.hold), locked, "%", "at least",
                  "A shorter hold time gives the lock back."),
    ]  # fmt: skip


def _winter_question(n):
    locked, mass = _limits(n)
    return (
        f"A mode switch for Ilka's bike: each move takes {n.energy:g} J and {n.peak} W for a moment, everything else "
        f"as in the table of parameters. At {n.cold} °C, with cells of three years and 150 cycles (a coin cell: three "
        f"years), six hours a day ridden, a charge is to last at least {n.days} days. The cells must stand the "
        f"{n.peak} W, the pack with its case weighs at most {mass:.0f} g, and the switch stays locked for at least "
        f"{locked:.1f} % of the climb. Choose the cells, their number, and the hold time. The loop is ridden with it."
    )


def _winter_solution(n):
    (name, pack), hold = _lightest(n), HOLDS[n.hold]
    others = ", ".join(f"{3600 * moves_a_second(each):.0f} with {each:g} s" for each in HOLDS)
    return (
        f"The hold time sets the moves an hour ({others}) and the lock: {hold:g} s keeps it. Those moves and the days "
        f"ask for the energy, the peak for the current. Of the chemistries the lightest pack that gives both is "
        f"{pack.count} x {name}, {1e3 * pack.mass:.0f} g."
    )


EXERCISES = [
    Numeric(
        key="R1", title="Recall: what the battery gives",
        question=lambda n: f"From workbook 02: averaged over a ride, the pushes of one motor put in {n.supply:g} W at "
        f"its rod. The drive passes on {n.efficiency} %, and what comes back is lost. What do two such motors ask of "
        "the battery on average?",
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
            "c": "The mean is W k_t/2: of the machine only the tyre's rate counts.",
        },
    ),
    Choice(
        key="P", title="Half a kilogram for the skyhook motor",
        question="Half a kilogram of new lithium-ion cells, 86.4 Wh on the label, in the warm. A motor at each wheel "
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
            "a": "That is the comfort law of workbook 02: 0.8 hours. A modest skyhook beside the soft valve asks a "
            "third of it.",
            "b": "4.7 hours if the pushes and the drive are all, 2.5 once the windings are counted (1.6 to 3.4).",
            "c": "So long, 22 hours, lasts the semi-active valve. Each motor puts in 4.7 W on average, and its "
            "windings are warm whenever it holds a force.",
            "d": "It takes out 22.7 W at a wheel and puts in 4.7. But the returns are lost here. Were they stored, "
            "the motors would give 10.6 W on balance, and the windings would want 12.8.",
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
        ],
        solution=lambda n: f"$2\\cdot{n.moves}/3600\\cdot{n.energy:g} = {_draw(n, computer=0.0):.4g}$ W, with the "
        f"computer {_draw(n):.4g} W. ${n.cell:g}/{_draw(n):.4g} = {n.cell / _draw(n):.4g}$ h.",
    ),
    Numeric(
        key="E2", title="A pack in the cold", kind="gap",
        question=lambda n: f"{n.count} lithium-ion cells of 10.8 Wh each, of which 90 % can be used. In the cold "
        f"{n.cold} % of that is left. Each year takes {n.fade} % of the first capacity, and they are {n.years} years "
        f"old. Fill the gap and work it out for a draw of {n.draw:g} W: "
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
        key="E3", title="What an input counts",
        question=lambda n: f"The moves of a valve make {n.share} % of a machine's draw. On the bench each move turns "
        f"out to take {n.times:g} times the energy that was assumed. To what percentage of the former hours does a "
        "charge fall?",
        numbers=[Draw("share", 65, 80, 5), Draw("times", 3.0, 5.0, 0.5)],
        answer=_after, unit="%",
        hints=[
            "Only that part grows; the rest of the draw stays.",
            "$T'/T = P/P'$ with $P'/P = 1 + s\\,(k - 1)$.",
            "Work out the new draw in percent of the old; the hours go with its inverse.",
        ],
        slips=[
            Slip("all of the draw", lambda n: 100.0 / n.times, "So it would be if the moves were all of the draw."),
            Slip("the fall", lambda n: 100.0 - _after(n), "That is how much is lost; the question is what is left."),
            Slip("the draw", lambda n: 1e4 / _after(n), "That is the new draw; hours go with its inverse."),
            Slip("rest forgotten", lambda n: 1e4 / (n.share * n.times),
                 "The part grew, but the rest of the draw is still there: add it."),
        ],
        solution=lambda n: f"The draw grows to $1 + {0.01 * n.share:g}\\cdot{n.times - 1.0:g} = "
        f"{100.0 / _after(n):.4g}$ times; the hours fall to {_after(n):.4g} %.",
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
                 "Twice the right value: $2\\pi^2$ belongs to the intensity $W$, the heat is half of $W k_t$."),
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
            "d": "Known to the last digit, the computer would narrow the range by half an hour: 6.9 to 7.5.",
        },
    ),
    ShortText(
        key="E9", title="Is it the weight?",
        question="A seller: \"Against our comfort-law motor speaks only the weight of its battery. Cells get "
        "lighter every year.\" In one or two sentences: what do the page's numbers say about the weight, and what "
        "speaks against it more?",
        ideas=[
            Idea((r"(weight|mass|kilo\w*|kg|battery|carrying|heav\w*|lighter|lifting)\b.{0,60}\b(second|little|small|minor|least|cheap"
                  r"|not the|hardly|less|2\.5|two and a half|few)",
                  r"(few|2\.5|two and a half|2[.,]53) ?(s\b|second)", r"not (the|its) (weight|mass)", r"break\W*even"),
                 "Say what the weight of the battery costs on a lap."),
            Idea((r"energy", r"\b(watt|power)", r"joule", r"\bdraws?\b", r"consum", r"winding", r"k?wh\b", r"kilowatt"),
                 "Say what the motor asks for, hour by hour, and what else could be done with it."),
            Idea((r"pedal", r"\b(87|524|90|754|126|62|20|20\.4)\b", r"rider|legs",
                  r"(every|per|a|each|all) (day|hour|ride)", r"charg", r"more than (it|the|a|she|ilka)",
                  r"than .{0,30}(sav|gain)"),
                 "Compare: with the pedals, with the rider's power, or with what has to be charged."),
        ],
        misconceptions=[
            Misconception("weight decides",
                          (r"(weight|mass|battery|it)\b.{0,25}\b(is|are) (?!not)(\w+ )?too (heavy|much|large|big)",
                           r"weight\b.{0,30}\bso it is the (main|biggest)", r"(so|then|should) (we )?wait for lighter",
                           r"(half|lighter)\b.{0,50}\b(would|will|could|can) (solve|do\b|be enough|work|help|fix)",
                           r"(weight|mass) (is|remains|stays) the (main|only|real|biggest)",
                           r"slows? (her|him|the rider|ilka|the bike) (down )?(most|too much|the most)",
                           r"(seller|he) is right"),
                          "Look at the table of seconds: the battery's climb costs 2.53 s of a lap, its energy at the "
                          "pedals 20.42.",
                          "The battery is far too heavy, but with lighter cells it would be worth it."),
            Misconception("energy is free",
                          (r"(energy|power|electricity|charging)\b.{0,20}\b(is|are|costs?) (\w+ )?"
                           r"(free|no problem|nothing|cheap)",
                           r"(energy|power|watts?) (does not|do not|doesn.t|don.t) (matter|count)"),
                          "87 W are more than a healthy person gives all day, 75 W: out on the fell they are not free.",
                          "The weight costs 2.5 s; the energy is free, for it comes from a socket every day."),
            Misconception("it feeds itself",
                          (r"(recovers?|harvests?|regenerat\w+)\b.{0,40}\b(enough|cover|feeds?|pays?|pay|all)\b",
                           r"feeds? itself", r"needs? no battery"),
                          "With all its returns stored the comfort law still draws 56.4 W with its windings.",
                          "The motor can recover enough energy from the damper to need no battery."),
        ],
        model="The battery of a day weighs 5.4 kg and costs 2.5 seconds on the lap's climb, less than the motor saves. "
        "What speaks against it is the energy: 87 W, hour after hour, that must be charged every day, and at the "
        "pedals the same energy would save 20 seconds, more than the calmer ride can.",
        hints=["Find the battery's kilograms and its seconds in the table of seconds.",
               "Which column of that table is the largest for this motor?",
               "Lighter cells change the kilograms. Do they change the watts?"],
    ),
    Design(
        key="E10", title="A pack for a winter", kind="open",
        question=_winter_question,
        numbers=[Draw("energy", 0.05, 0.25, 0.05), Draw("peak", 20, 100, 20), Draw("cold", -15, 0, 5),
                 Draw("days", 3, 8, 1), Draw("hold", 0, 3, 1)],
        judge=_judge,
        parameters=[Parameter("cell", "cells", options=tuple(CHEMISTRIES)),
                    Parameter("count", "number of cells", 1.0, 400.0),
                    Parameter("hold", "hold time", 0.05, 3.0, "s")],
        passing=lambda n: {"cell": _lightest(n)[0], "count": str(_lightest(n)[1].count),
                           "hold": f"{HOLDS[n.hold]:g} s"},
        solution=_winter_solution,
        hints=["Two of the four requirements hang on the hold time, in opposite directions. Which?",
               "Start from 0.5 s and one cell. What fails, energy or power?",
               "Energy asks for Wh/kg, the peak for W/kg: the table of cells has both."],
    ),
]  # fmt: skip
