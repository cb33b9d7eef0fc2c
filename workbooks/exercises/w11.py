"""Exercises of workbook 11: hours and their price, payments, break-even, slips, a verdict in words, and a design."""

import math
from functools import lru_cache

from helpers.course import ModeSwitch, bike, economics, fell_loop, ride, rough_road
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

REFERENCE = 10.0, 0.3  # threshold in m/s2 and hold in s that the design's limits are taken from


def _hours(n, times=1.0):
    """Hours of a year at the lever."""
    return times * n.rides * n.climbs * n.seconds / 3600.0


def _share(n, chores=1.0, per=1.0):
    """Share of the seconds in % that must count for break-even."""
    return 100.0 * (n.cost / n.hour + chores * n.chores / 10.0) * 3600.0 / (n.rides * n.changes * n.seconds) * per


@lru_cache
def _long():
    """The machine of 180 mm."""
    return bike.changed(
        bump_travel=0.124, rebound_travel=0.056, spring_rate=10_400.0, gas_column=0.30, body_mass=60.8
    )  # fmt: skip


@lru_cache
def _ridden(seed, threshold, hold):
    """Watts taken and bob in mm on the climb, and vibration in m/s2 on mild ground, of a loop and road of one seed."""
    law = ModeSwitch(threshold=threshold, hold=hold)
    up, mild = (ride(_long(), ground, law) for ground in (fell_loop(seed).climb, rough_road("C", 100, seed)))
    return (up.damper_heat + up.friction_heat + up.tyre_heat) / up.duration, up.bob, mild.vibration


def _limits(n):
    """What the reference reaches and a little more: W, mm, m/s2."""
    taken, bob, shake = _ridden(n.loop, *REFERENCE)
    return math.ceil(10.3 * taken) / 10.0, math.ceil(11.0 * bob) / 10.0, math.ceil(110.0 * shake) / 100.0


def _judge(values, n):
    taken, bob, shake = _ridden(n.loop, values.threshold, values.hold)
    watts, swing, mild = _limits(n)
    return [
        Criterion("taken on the climb", taken, watts, "W", advice="Firm over roots, it is the roots that take watts."),
        Criterion("bob on the climb", bob, swing, "mm", advice="The legs must not open it, nor a root for long."),
        Criterion(
            "vibration on mild ground", shake, mild, "m/s^2", advice="It stays firm: what would it have to hear?"
        ),
    ]


EXERCISES = [
    Numeric(
        key="R1", title="Recall: a kilogram uphill",
        question=lambda n: f"From workbook 09: a battery of {n.mass / 10:g} kg is carried up {n.height} m by a rider "
        f"of {n.power} W. How many seconds does it cost? Take 9.81 m/s² for $g$.",
        numbers=[Draw("mass", 2, 9, 1), Draw("height", 300, 900, 50), Draw("power", 140, 220, 20)],
        answer=lambda n: n.mass / 10.0 * 9.81 * n.height / n.power, unit="s",
        hints=[
            "Its work is weight times height; the rider does that work at a power.",
            "$t = m\\,g\\,h / P$.",
            "Multiply mass, $g$ and height, then divide by the watts.",
        ],
        slips=[
            Slip("no g", lambda n: n.mass / 10.0 * n.height / n.power, "Kilograms are not newtons: $g$ is missing."),
            Slip("upside down", lambda n: n.power / (n.mass / 10.0 * 9.81 * n.height), "Upside down: a stronger rider "
                 "needs less time."),
            Slip("work", lambda n: n.mass / 10.0 * 9.81 * n.height, "Those are joules; over the rider's watts they are "
                 "seconds."),
        ],
        solution=lambda n: f"${n.mass / 10:g}\\cdot 9.81\\cdot {n.height}/{n.power}$ is "
        f"{n.mass / 10.0 * 9.81 * n.height / n.power:.3g} s.",
    ),
    Choice(
        key="R2", title="Recall: normally closed",
        question="From workbook 04: a mode selector is *normally closed* and opens on a wheel acceleration above a "
        "threshold. On ground that never reaches the threshold, what is the machine like?",
        options={"a": "firm, as if locked", "b": "open, since no bump asks for firmness", "c": "half open"},
        answer="a",
        feedback={
            "a": "It is firm until a bump is noticed, and here none is.",
            "b": "That is normally open: soft unless told to be firm.",
            "c": "It has two settings; without a bump it stays in the one at rest.",
        },
    ),
    Choice(
        key="P", title="The hours in the sheet",
        question="150 rides a year; 6 climbs in each, so 12 changes; 14 s for a climb, locking and opening "
        "together. How many hours of the year are that?",
        options={
            "a": "7 hours, as the sheet says",
            "b": "3.5 hours: half of what the sheet says",
            "c": "1.75 hours: a quarter",
            "d": "14 hours: each change is a way there and back",
        },
        answer="b",
        feedback={
            "a": "The sheet multiplies 12 changes by 14 s, but 14 s are two changes.",
            "b": "150 · 6 · 14 s are 12 600 s, 3.5 h. The sheet multiplied changes by the seconds of a whole climb.",
            "c": "You halved both, the changes and their seconds; the sheet has only one of them wrong.",
            "d": "The way there and back is in the 14 s: they are for locking and opening together.",
        },
    ),
    Choice(
        key="S1", title="Twice the rides",
        question="Ilka rides twice as often; all else stays. What do her saved hours do?",
        options={"a": "they more than triple", "b": "they double", "c": "they grow by less than double"},
        answer="a",
        feedback={
            "a": "From 0.74 to 2.28 h. Lever, watts and mass double, the chores do not: they were paid already.",
            "b": "That would be so if the chores doubled as well; but a battery wants its service however it is used.",
            "c": "What does not grow here is taken off, not added: the chores. So it is more than double.",
        },
    ),
    Choice(
        key="S2", title="Bren and a dearer part",
        question="Set Bren, and the price from 1050 to 1800 euro. Does it still pay?",
        options={
            "a": "yes: an hour costs half as much again, and is worth it still", "b": "yes: the price hardly matters",
            "c": "no",
        },
        answer="a",
        feedback={
            "a": "An hour costs 37 euro in place of 23, and is worth 45. The part may cost 2260 euro at the most.",
            "b": "An hour costs 23 euro at 1050 and 37 at 1800: nearly in proportion. The limit is not far.",
            "c": "An hour costs 37 euro then, still less than the 45 that it is worth to him.",
        },
    ),
    Choice(
        key="S3", title="Half the seconds",
        question="Reset. Set Ilka's seconds at the lever to half. What happens to her saved hours?",
        options={"a": "they fall below zero", "b": "they halve", "c": "they fall by a fifth"},
        answer="a",
        feedback={
            "a": "The lever's 1.75 h become 0.88, and mass and chores take more than that. A better lever is a rival.",
            "b": "Half of the lever's bar goes, but mass and chores stay, and they are large beside it.",
            "c": "The lever is nearly all that she saves; half of it is more than what is left over.",
        },
    ),
    Numeric(
        key="E1", title="Hours at the lever", kind="worked",
        question=lambda n: f"{n.rides} rides a year, {n.climbs} climbs in each, {n.seconds} s at the lever for "
        "a climb, "
        "both ways together. How many hours a year are that?",
        numbers=[Draw("rides", 65, 185, 10), Draw("climbs", 3, 8, 1), Draw("seconds", 7, 19, 2)],
        answer=_hours, unit="h",
        hints=[
            "Write the unit of what each number counts, and cancel.",
            "Rides a year, times climbs a ride, times seconds a climb, over 3600 s in an hour.",
            "Multiply the three, then divide by 3600.",
        ],
        slips=[
            Slip("changes", lambda n: _hours(n, 2.0), "You counted changes, two for a climb; the seconds are for both "
                 "together."),
            Slip("minutes", lambda n: _hours(n, 60.0), "Seconds over 60 are minutes: a slip of 60."),
            Slip("seconds", lambda n: _hours(n, 3600.0), "Those are the seconds; an hour has 3600."),
            Slip("halved", lambda n: _hours(n, 0.5), "The seconds are for a climb already: nothing is to be halved."),
        ],
        solution=lambda n: f"${n.rides}\\cdot {n.climbs}\\cdot {n.seconds}/3600$ is {_hours(n):.3g} h.",
    ),
    Numeric(
        key="E2", title="The price of an hour, first year", kind="gap",
        question=lambda n: f"A part costs {n.price} euro and saves {n.minutes} minutes on each of {n.rides} "
        "rides a year. "
        "What does an hour cost, if the first year pays for it all? Fill the gap, then give the price: "
        f"{n.price} euro over $\\_\\_\\_$ hours.",
        numbers=[Draw("price", 700, 1500, 50), Draw("rides", 40, 120, 10), Draw("minutes", 2, 5, 1)],
        answer=lambda n: 60.0 * n.price / (n.rides * n.minutes), unit="euro/h",
        hints=[
            "How many hours does it save in a year?",
            "Rides times minutes over 60; the price over that.",
            "Multiply the price by 60, then divide by rides and by minutes.",
        ],
        slips=[
            Slip("minutes", lambda n: n.price / (n.rides * n.minutes), "That is the price of a minute."),
            Slip("per ride", lambda n: n.price / n.rides, "That is the price of a ride."),
            Slip("upside down", lambda n: n.rides * n.minutes / 60.0 / n.price, "Upside down: hours for a euro."),
        ],
        solution=lambda n: f"${n.rides}\\cdot {n.minutes}/60$ are {n.rides * n.minutes / 60.0:.3g} h; {n.price} "
        "euro over "
        f"that are {60.0 * n.price / (n.rides * n.minutes):.4g} euro/h.",
    ),
    Numeric(
        key="E3", title="A price as a yearly payment",
        question=lambda n: f"A part costs {n.price} euro, is used for {n.years} years and is worth nothing then. Money "
        f"earns {n.rate} % a year. Which equal payment at the end of each year is that?",
        numbers=[Draw("price", 600, 1600, 100), Draw("years", 4, 8, 1), Draw("rate", 3, 8, 1)],
        answer=lambda n: n.price * float(economics.annuity(n.rate / 100.0, n.years)), unit="euro", tolerance=0.01,
        hints=[
            "It must be more than the price over the years: what is not yet repaid could have earned interest.",
            "$P\\,r/(1-(1+r)^{-n})$.",
            "Work out $(1+r)^{-n}$ first, take it from 1, and divide $P\\,r$ by what is left.",
        ],
        slips=[
            Slip("no interest", lambda n: n.price / n.years, "That is without interest."),
            Slip("interest on all", lambda n: n.price / n.years + n.price * n.rate / 100.0, "You took interest on the "
                 "whole price in every year; what is repaid bears none."),
            Slip("interest alone", lambda n: n.price * n.rate / 100.0, "That is the interest; the price must come back "
                 "too."),
        ],
        solution=lambda n: f"${n.price}\\cdot {n.rate / 100:g}/(1-{1 + n.rate / 100:g}^{{-{n.years}}})$ is "
        f"{n.price * float(economics.annuity(n.rate / 100.0, n.years)):.4g} euro.",
    ),
    Numeric(
        key="E4", title="How much must count?",
        question=lambda n: f"{n.rides} rides a year, {n.changes} changes in each, {n.seconds} s for a change. The "
        f"automatic costs {n.cost} euro a year and {n.chores / 10:g} hours of chores; an hour is worth {n.hour} "
        "euro. Uphill "
        "it changes nothing. Which share of the seconds must count for it to break even? For a third, type 33 %.",
        numbers=[Draw("rides", 150, 200, 10), Draw("changes", 8, 12, 1), Draw("seconds", 8, 12, 1),
                 Draw("cost", 220, 260, 10), Draw("chores", 4, 8, 2), Draw("hour", 150, 250, 50)],
        answer=_share, unit="%",
        hints=[
            "How many hours must it save to be worth its cost, and how many more for the chores?",
            "Cost over worth of an hour, plus chores: that many of the hours at the lever.",
            "Work out the hours at the lever in a year; divide the hours needed by them, times 100.",
        ],
        slips=[
            Slip("chores forgotten", lambda n: _share(n, 0.0), "The chores must be saved as well."),
            Slip("chores taken off", lambda n: _share(n, -1.0), "Chores are hours that it takes: they come on top."),
            Slip("one change", lambda n: _share(n, per=n.changes), "You counted one change in a ride."),
        ],
        solution=lambda n: f"Needed are ${n.cost}/{n.hour} + {n.chores / 10:g}$ = "
        f"{n.cost / n.hour + n.chores / 10.0:.3g} h; at the lever are "
        f"{n.rides * n.changes * n.seconds / 3600.0:.4g} h. That is {_share(n):.3g} %.",
    ),
    Choice(
        key="E5", title="Which sum is sound?",
        question="Four lines of a brochure. Use both checks. Which one is right?",
        options={
            "a": "80 rides, 6 changes in each, 5 s for a change: 0.67 h a year",
            "b": "80 rides, 3 climbs in each, 9 s for a climb: 36 h a year",
            "c": "80 rides, 6 changes in each, 9 s for a climb of two changes: 1.2 h a year",
            "d": "20 charges of 25 Wh at 0.30 euro for a kWh: 150 euro a year",
        },
        answer="a",
        feedback={
            "a": "80 · 6 · 5 s are 2400 s, two thirds of an hour, and the units cancel.",
            "b": "2160 s over 60 are 36 minutes: a slip of 60.",
            "c": "Seconds for a climb times changes: a slip of two. It is 0.6 h.",
            "d": "Watt-hours times the price of a kilowatt-hour: a slip of 1000. It is 15 cents.",
        },
    ),
    ShortText(
        key="E6", title="It depends",
        question="A rider asks you whether to buy the automatic, and your draws say *it depends on counted*, in 40 of "
        "100. Explain in two sentences or three what that means, and what to do before buying.",
        ideas=[
            "With what is known today it may pay or not, and neither is nearly certain.",
            "Of all inputs the part of the seconds that counts has the largest share of the spread.",
            "That share can be measured, by riding climbs with and without the lever against a watch.",
            "The rider should draw again with what was measured: the answer may be plain then.",
        ],
        misconceptions=[
            Misconception("half a yes", "It pays to two fifths.", "In each year it pays or does not; 40 of 100 "
            "says how "
                          "little is known, not how much is gained."),
            Misconception("better model", "The model must be made more exact.", "The model is exact enough: an "
            "input is "
                          "not known."),
            Misconception("vote", "Most draws say no, so do not buy.", "A draw is no vote: measure the input that "
                          "decides, and draw again."),
            Misconception("cheaper", "Wait until it is cheaper.", "The price explains little of her spread: "
            "look at the "
                          "shares."),
        ],
        model="With what is known today it may pay or not, and neither is nearly certain. The part of the "
        "seconds that counts has the largest share of the spread. Ride ten climbs with the lever and ten without "
        "against a watch, and draw again with what was measured.",
        hints=["What do the 60 other draws say?", "Which input would you pay to know?", "How would you measure it?"],
    ),
    Design(
        key="E7", title="A threshold for mild ground (extra)", kind="open",
        question=lambda n: "Set threshold and hold time of the automatic on the machine of 180 mm, so that it "
        "climbs and "
        f"still hears mild ground. It is ridden on loop {n.loop}, climb, where it may take {_limits(n)[0]:g} W "
        "and bob by "
        f"{_limits(n)[1]:g} mm, and on a class C road, nobody pedalling, where it may shake by {_limits(n)[2]:g} m/s².",
        numbers=[Draw("loop", 1, 7, 1)],
        parameters=[
            Parameter("threshold", "wheel acceleration that counts as a bump", 2.0, 100.0, "m/s^2"),
            Parameter("hold", "how long it stays open", 0.05, 2.0, "s"),
        ],
        judge=_judge,
        passing={"threshold": "10 m/s^2", "hold": "0.3 s"},
        solution="Mild ground wants a low threshold, the legs one above what they themselves do to the wheel, some "
        "6 m/s². Between lie 8 to 12. A long hold makes every root a long time of bob.",
        hints=["Change the threshold alone first, as in the lesson: 40, 20, 10, 6.",
               "Which number of the three goes wrong at each end?", "Then the hold: short, but not shorter than "
               "a root."],
    ),
]  # fmt: skip
