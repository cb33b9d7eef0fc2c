"""Exercises of workbook 04: the clock, the walk, the score, what a lock hides, the legs, the title, a design."""

from functools import lru_cache
from math import pi
from types import SimpleNamespace

from helpers.course import Fixed, bike, fell_loop, own_law, ride, step_ground
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


def selector(threshold, ends, hold, still=9.0):
    """The page's selector: a function of `seen` and `memory`. m/s2, m/s2, s, m/s."""

    def law(seen, memory):
        size = abs(seen.wheel_acceleration)
        if size > (ends if memory.open else threshold):
            memory.open, memory.until = 1, seen.time + hold
        elif seen.time > memory.until - 1e-6 and abs(seen.suspension_velocity) < still:
            memory.open = 0
        return 0.0 if memory.open else 1.0

    return law


def _open_time(n):
    return min(n.gap_short, n.hold) + min(n.gap_long, n.hold) + n.hold


def _carry(n):
    return 1e3 * n.apart / (n.speed_kmh / 3.6)


def _readings(n):
    """The list to walk through: a bump that decays within the hysteresis, a near miss, and a second bump."""
    return [5, n.first, n.tail, 9, 6, 4, 7, 5, n.near, n.second, 8, 5, 4, 3, 6, 2]


def _open_rows(n, hysteresis=None):
    wide = n.hysteresis if hysteresis is None else hysteresis
    law, memory = selector(40.0, 40.0 - wide, n.hold), SimpleNamespace(open=0, until=0.0)
    seen = [SimpleNamespace(time=0.1 * k, wheel_acceleration=size, suspension_velocity=0.0)
            for k, size in enumerate(_readings(n))]  # fmt: skip
    return float(sum(law(each, memory) == 0.0 for each in seen))


def _log(n):
    """Bumps and openings of a stretch: (from, to) in s. Bumps found late, carried, and one that is over too soon."""
    bumps, openings, at = [], [], 1.0
    for k in range(n.found):
        begins = at + 0.02 * n.late
        bumps.append((at, at + 0.12))
        last = begins + 0.5
        if k == 0:  # the carried ones follow the first, each within the hold time
            for _ in range(n.carried):
                at += 0.35
                bumps.append((at, at + 0.12))
                last = at + 0.54
        openings.append((begins, last))
        at += 1.6
    bumps.append((at, at + 0.06))  # over before the valve is half open
    openings.append((at + 0.08, at + 0.58))
    return bumps, openings


def _score_question(n):
    told = [", ".join(f"{a:.2f} to {b:.2f}" for a, b in spans) for spans in _log(n)]
    return (
        f"A log of a ride. Bumps that are there, in s: {told[0]}. The valve, normally closed, is half open or more, in "
        f"s: {told[1]}. How many bumps are *found without being carried*: met firm, and half open before they are over?"
    )


@lru_cache(64)
def _ridden(threshold, hold, still):
    """Score of the climb, vibration of the traverse, and the body's peak on a 20 mm step over the open damper's."""
    loop, law = fell_loop(), own_law(selector(threshold, threshold, hold, still))
    step = step_ground(0.02, speed=3.0)
    peak, least = (abs(ride(bike, step, each).body_acceleration).max() for each in (law, Fixed(0.0)))
    return ride(bike, loop.climb, law).score, ride(bike, loop.traverse, law).vibration, peak / least


def _judge(values, n):
    met, shaken, over = _ridden(values.threshold, values.hold, values.still)
    return [
        Criterion("time locked on the climb", 100.0 * met.lock_share, n.lock, "%", "at least",
                  "Fewer false alarms or a shorter hold time keep it locked for longer."),
        Criterion("false alarms on the climb", met.false_alarms, 1,
                  advice="Either stones or its own slam open it. Which of your three numbers is about the slam?"),
        Criterion("vibration on the traverse", shaken, n.shaken / 100.0, "m/s²",
                  advice="It closes too soon after each bump."),
        Criterion("peak on the step above the open damper's", 100.0 * (over - 1.0), 30.0, "%",
                  advice="It must know sooner that the wheel was struck. The hold time has no say in that."),
    ]  # fmt: skip


EXERCISES = [
    Numeric(
        key="R1", title="Recall: how often do the legs push?",
        question=lambda n: f"Ilka turns the cranks {n.cadence} times a minute. At what frequency do her legs push the "
        "body? Give it in Hz.",
        numbers=[Draw("cadence", 60, 96, 3)],
        answer=lambda n: 2.0 * n.cadence / 60.0, unit="Hz",
        hints=[
            "Each turn of the cranks has one push from each leg.",
            "$f = 2\\cdot\\text{cadence}/60$, with the cadence in turns a minute.",
            lambda n: f"Double {n.cadence}, then divide by 60.",
        ],
        slips=[
            Slip("one leg", lambda n: n.cadence / 60.0, "That counts one leg: there are two pushes in each turn."),
            Slip("per minute", lambda n: 2.0 * n.cadence, "That is the number of pushes in a minute, not in a second."),
            Slip("rad/s", lambda n: 4.0 * pi * n.cadence / 60.0, "That is the number of rad/s: divide by $2\\pi$."),
        ],
        solution=lambda n: f"$2\\cdot{n.cadence}/60 = {2.0 * n.cadence / 60.0:.3g}$ Hz.",
    ),
    Choice(
        key="R2", title="Recall: what does a skyhook law look at?",
        question="Workbook 03: a semi-active damper with a skyhook law is firm at one moment and soft at the next. "
        "What decides?",
        options={
            "a": "whether the wheel was struck within the last half second",
            "b": "whether the damper's force would slow the body just now",
            "c": "how fast the machine travels",
        },
        answer="b",
        feedback={
            "a": "That is the rule of this page's selector: an event and a clock.",
            "b": "Firm while the damper's force points against the body's motion, soft while it would push the body "
            "along: that may change many times within one bump.",
            "c": "Speed does not enter the law at all.",
        },
    ),
    Choice(
        key="P", title="Twice the threshold",
        question="At the dealer's 40 m/s² the selector finds all 12 roots of the climb, ridden at 3 m/s. Tomas turns "
        "the screw to 80 m/s². How many of the 12 does it still find?",
        options={
            "all": "all 12: a root is a root, a higher threshold only keeps small stuff out",
            "nine": "about 9: it loses the gentle ones",
            "half": "about 6: twice the threshold, half the roots",
            "one": "1 at most: hardly any root strikes that hard",
        },
        answer="one",
        feedback={
            "all": "That is true from 10 to 50 m/s². But each root has a height of its own: the locked wheel reads "
            "peaks from 58 to 83 m/s² on them.",
            "nine": "So it is between 60 and 70: 11 and 7. The roots strike about equally hard, so they go nearly all "
            "at once.",
            "half": "There is no such proportion. What counts is how many roots have their peak above the threshold: "
            "two come near 80.",
            "one": "One. The four in the sketch all stay below 80. What the screw buys is a bike locked 99 % of the "
            "time in place of 69, and 3.27 m/s² in place of 2.41.",
        },
    ),
    Choice(
        key="S1", title="Set the hold time to 1 s",
        question="What do time locked and false alarms do?",
        options={
            "both": "less lock, and fewer false alarms",
            "more": "less lock, and more false alarms: it is open for longer",
            "lock": "more lock: it opens less often",
        },
        answer="both",
        feedback={
            "both": "52 % locked in place of 69: open for longer after each root. And 6 false alarms in place of 14: "
            "after a second the bike swings less, and fewer closings jerk the wheel.",
            "more": "While it is open no opening can be counted. Look at the lower left picture: when does it open at "
            "nothing?",
            "lock": "It does open less often, but for longer: the time open is what counts.",
        },
    ),
    Choice(
        key="S2", title="Set 60 m/s², then choose the stretcher carrier",
        question="The same roots at the same pace. How many of the 12 does its selector find?",
        options={"same": "11, as on the bike", "some": "about half", "none": "none"},
        answer="none",
        feedback={
            "same": "The roots are the same, the wheel is not: 16 kg in place of 3.2, on another tyre.",
            "some": "The roots are alike: they go nearly all at once.",
            "none": "Not one, at 40 m/s² all. A wheel of 16 kg answers more gently than one of 3.2. So the screw "
            "belongs to the machine.",
        },
    ),
    Choice(
        key="S3", title="Reset, then set the hysteresis to 20 m/s²",
        question="The valve opens 14 times at nothing. What does hysteresis do about it?",
        options={
            "little": "little: a few false alarms fewer",
            "gone": "it ends them: that is what hysteresis is for",
            "more": "it makes more of them",
        },
        answer="little",
        feedback={
            "little": "11 in place of 14. Hysteresis keeps a bump from ending at each swing of the reading. The slam "
            "of the closing valve is a new bump, and that needs the threshold itself.",
            "gone": "It would, if a reading that hovers about the threshold opened and closed it. What opens it here "
            "is the closing itself.",
            "more": "It holds a bump for longer, so the valve closes later, when the bike swings a little less.",
        },
    ),
    Numeric(
        key="E1", title="How long is it open?", kind="worked",
        question=lambda n: "A normally-closed selector without hysteresis reads three bumps on an otherwise quiet "
        f"stretch: the second {n.gap_short:g} s after the first, the third {n.gap_long:g} s after the second. The hold "
        f"time is {n.hold:g} s. For how long is the valve open in all? (Take each bump as one instant.)",
        numbers=[Draw("gap_short", 0.15, 0.4, 0.05), Draw("gap_long", 2.0, 3.0, 0.1), Draw("hold", 0.5, 0.8, 0.1)],
        answer=_open_time, unit="s",
        hints=[
            "Each bump starts the clock again; it does not add a second clock.",
            "Open time = sum of $\\min(\\text{gap to the next bump}, t_h)$, and $t_h$ after the last.",
            "The first gap is shorter than the hold time and counts whole; the second is longer.",
        ],
        slips=[
            Slip("three holds", lambda n: 3.0 * n.hold,
                 "You gave each bump a whole hold time of its own. The second came before the first was over."),
            Slip("to the end", lambda n: n.gap_short + n.gap_long + n.hold,
                 "In the long gap the valve closes again: it counts only up to the hold time."),
            Slip("two holds", lambda n: 2.0 * n.hold,
                 "The second bump starts the clock again, so the first opening is longer than one hold time."),
            Slip("one hold", lambda n: n.hold, "That is one opening; the valve opens twice."),
        ],
        solution=lambda n: f"The first gap is shorter than the hold time and counts whole, {n.gap_short:g} s. The "
        f"second is cut off at {n.hold:g} s, and the last adds {n.hold:g} s: ${n.gap_short:g} + 2\\cdot{n.hold:g} = "
        f"{_open_time(n):.3g}$ s, in two openings.",
    ),
    Numeric(
        key="E2", title="Carried from root to root", kind="gap",
        question=lambda n: f"A stair of roots lies {n.apart:g} m apart, and the bike rolls at {n.speed_kmh} km/h. Each "
        "root is read as one instant. The shortest hold time that keeps the valve open from root to root is "
        "$t_h = d\\,/\\,\\_\\_\\_$. Fill the gap and give the time in ms.",
        numbers=[Draw("apart", 0.6, 2.4, 0.1), Draw("speed_kmh", 9, 27, 1)],
        answer=_carry, unit="ms",
        hints=[
            "The clock must not run out before the next root starts it again.",
            "$t_h = d / v$, with $v$ in m/s.",
            lambda n: f"Turn {n.speed_kmh} km/h into m/s, then divide {n.apart:g} m by it.",
        ],
        slips=[
            Slip("km/h", lambda n: 1e3 * n.apart / n.speed_kmh, "The speed went in as km/h: divide it by 3.6 first."),
            Slip("multiplied by 3.6", lambda n: 1e3 * n.apart / (3.6 * n.speed_kmh),
                 "From km/h to m/s the number gets smaller: divide by 3.6."),
            Slip("upside down", lambda n: 1e3 * (n.speed_kmh / 3.6) / n.apart,
                 "That is speed over distance: how many roots a second, not how long from one to the next."),
        ],
        solution=lambda n: f"$v = {n.speed_kmh}/3.6 = {n.speed_kmh / 3.6:.3g}$ m/s, so "
        f"$t_h = {n.apart:g}/{n.speed_kmh / 3.6:.3g}$ s, which is {_carry(n):.3g} ms.",
    ),
    Numeric(
        key="E3", title="Walk the machine",
        question=lambda n: f"Readings each 0.1 s, in m/s²: {', '.join(map(str, _readings(n)))}. The selector is "
        f"normally closed; threshold 40, hysteresis {n.hysteresis}, hold time {n.hold:g} s. In how many rows is the "
        "valve open? (Walk it by hand, row by row, as in the table of the model.)",
        numbers=[Draw("first", 45, 60, 1), Draw("tail", 31, 36, 1), Draw("near", 32, 38, 1), Draw("second", 43, 58, 1),
                 Draw("hold", 0.3, 0.5, 0.1), Draw("hysteresis", 10, 15, 5)],
        answer=_open_rows, unit="",
        hints=[
            "Three questions in each row: does a bump begin, does one go on, has the clock run out?",
            "A bump begins above 40. One that has begun goes on above 40 less the hysteresis, and starts the clock "
            "again.",
            lambda n: f"Find the last row of each bump; from there the valve stays open for {n.hold:g} s, and in the "
            "row in which the clock stands at 0 it is firm.",
        ],
        slips=[
            Slip("no hysteresis", lambda n: _open_rows(n, 0.0),
                 lambda n: f"The {n.tail} after the first bump is still above 40 less the hysteresis: the bump goes "
                 "on."),
            Slip("a near miss opens it", lambda n: _open_rows(n) + 1.0,
                 lambda n: f"The {n.near} comes when the valve is firm. A new bump needs more than 40."),
            Slip("three holds", lambda n: 30.0 * n.hold,
                 "You gave each loud reading a hold time of its own. There is one clock, and it is started again."),
        ],
        solution=lambda n: f"{n.first} opens it and {n.tail} keeps the bump going, so the first opening has "
        f"{10 * n.hold + 1:.0f} rows. {n.near} opens nothing. {n.second} opens it for {10 * n.hold:.0f} rows more: "
        f"{_open_rows(n):.0f} in all.",
    ),
    Numeric(
        key="E4", title="Keep the score",
        question=_score_question,
        numbers=[Draw("found", 2, 4, 1), Draw("carried", 2, 3, 1), Draw("late", 1, 4, 1)],
        answer=lambda n: float(n.found), unit="",
        hints=[
            "Take the bumps one by one: how did the valve stand when it came, and when it was over?",
            "Open already at its start: carried. Half open before its end: found. Half open only later: missed.",
            "Look for bumps that begin inside an opening, and for one that ends before its opening begins.",
        ],
        slips=[
            Slip("too late", lambda n: n.found + 1.0,
                 "One of these openings comes when its bump is over: that bump was missed, whatever the valve did "
                 "next."),
            Slip("carried counted", lambda n: float(n.found + n.carried),
                 "Some of these met a valve that was open already: found, but carried."),
            Slip("all", lambda n: n.found + n.carried + 1.0, "These are all the bumps that are there."),
        ],
        solution=lambda n: f"{n.carried} bumps begin inside the first opening: carried. The last is over 0.02 s before "
        f"the valve is half open: missed. That leaves {n.found}, each found {20 * n.late} ms after it began.",
    ),
    Choice(
        key="E5", title="Far above the legs?",
        question="Tomas sets a threshold of 10 m/s², a hysteresis of 7 and a hold time of 0.4 s, and Ilka pedals at 80 "
        "turns a minute on level ground with one root on it. What does the valve do?",
        options={
            "closes": "It opens at the root and is firm again 0.4 s later: 10 is twice what her legs make.",
            "latches": "It is firm up to the root, opens, and stays open for as long as she pedals.",
            "pushes": "It opens and closes with each push of her legs, from the start.",
            "firm": "It stays firm: with that much hysteresis a root is not enough.",
        },
        answer="latches",
        feedback={
            "closes": "10 is the threshold at which a bump *begins*. At what reading does it end, and what do the legs "
            "make of the open setting?",
            "latches": "A bump ends below 10 − 7 = 3 m/s². Open, her legs make 4.9 at each push, and the next push "
            "comes before 0.4 s are over. At a hold time of 0.15 s it would close between two pushes.",
            "pushes": "Locked, her legs make 1.4 m/s², which opens nothing; once open, the clock never runs out "
            "between pushes.",
            "firm": "Hysteresis lowers the reading at which a bump ends, not the one at which it begins.",
        },
    ),
    ShortText(
        key="E6", title="Is it semi-active?",
        question="The dealer writes: \"Our valve moves in 4 ms, so our selector is a semi-active suspension.\" In one "
        "or two sentences: why does the quick valve not make it one in the sense of this course?",
        ideas=[
            "While the valve stands in one setting, the suspension is an ordinary damper with a fixed curve.",
            "It decides by an event and a clock, where a semi-active law follows the motion within the bump.",
            "How quickly it moves from one setting to the other changes neither.",
        ],
        misconceptions=[
            Misconception("too slow", "4 ms is too slow to follow the wheel.",
                          "Speed is not the point: with a valve of no delay at all it would still rest in one of two "
                          "settings between events."),
            Misconception("it is one", "It is semi-active, because it reacts to every bump.",
                          "In the sense of this course it is not one: look at what decides, and at how often."),
            Misconception("active", "It adds energy to the wheel when the valve switches.",
                          "Neither kind puts energy into the wheel: both are dampers at every moment, and both need a "
                          "little current for valve and sensor."),
        ],
        model="Between events the valve stands in one of two settings, and there it is an ordinary damper with a fixed "
        "curve. It decides by an event and a clock, not by the motion within the bump, so how quickly it moves from "
        "one curve to the other changes nothing about what it can do on either.",
        hints=["What decides when it moves?",
               "How long does its valve stand between its ends, how long that of workbook 03?",
               "What would change if the valve needed no time at all?"],
    ),
    Design(
        key="E7", title="Set three numbers", kind="open",
        question=lambda n: "The page's changed selector has 20 m/s², 0.1 s and 0.05 m/s, no hysteresis. Set threshold, "
        f"hold time and *still* anew: on the climb locked at least {n.lock} % of the time **with** one false alarm at "
        f"most, on the traverse at most {n.shaken / 100:g} m/s² of vibration, **and** the body's peak on a 20 mm step "
        "at 3 m/s at most 30 % above the open damper's. Climb, traverse and step are ridden with your values.",
        numbers=[Draw("lock", 76, 79, 1), Draw("shaken", 370, 385, 5)],
        judge=_judge,
        parameters=[Parameter("threshold", "threshold", 1.0, 150.0, "m/s^2"),
                    Parameter("hold", "hold time", 0.05, 3.0, "s"),
                    Parameter("still", "speed below which the valve may close", 0.01, 9.0, "m/s")],
        passing={"threshold": "20 m/s^2", "hold": "0.4 s", "still": "0.05 m/s"},
        solution="The step limits the threshold from above: at 40 m/s² the valve knows too late. The stones limit it "
        "from below. The traverse limits the hold time from below: 0.1 s lets the valve close between waves. The "
        "climb's lock limits it from above, and only *still* keeps the closing valve from opening itself, so that a "
        "hold time of 0.4 s still leaves the bike locked.",
        hints=["Which of the four requirements does the hold time decide, which the threshold alone?",
               "Start from the page's three numbers and see which requirements fail.",
               "One of them is a matter of the hold time alone: double it, and double it again."],
    ),
]  # fmt: skip
