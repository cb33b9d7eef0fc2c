"""Exercises of workbook 04: the clock, the walk, the score, steps, the legs, the title, a design, a miss's worth."""

from dataclasses import replace
from math import pi

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
from scenes import w04_steps as steps
from scenes import w04_tables as tables

PAIRS = ((20, 50), (30, 60), (20, 60), (30, 50))  # thresholds to compare on the traverse, m/s2


def _open_time(n):
    return min(n.gap_short, n.hold) + min(n.gap_long, n.hold) + n.hold


def _strokes(n):
    """Angular frequency in rad/s of the pushes: two for each turn of the cranks."""
    return 2.0 * pi * 2.0 * n.cadence / 60.0


def _legs(n):
    return _strokes(n) ** 2 * n.push / (1e3 * n.tyre)


def _carry(n):
    return 1e3 * n.apart / (n.speed_kmh / 3.6)


def _readings(n):
    """The list to walk through: a bump that decays within the hysteresis, a near miss, and a second bump."""
    return [5, n.first, n.tail, 9, 6, 4, 7, 5, n.near, n.second, 8, 5, 4, 3, 6, 2]


def _open_rows(n, hysteresis=None, threshold=40.0):
    wide = n.hysteresis if hysteresis is None else hysteresis
    return float(sum(is_open for _, is_open, _ in tables.walked(_readings(n), threshold, n.hold, wide)))


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


def _two(n):
    """Scores on the traverse at the lower and the higher of the learner's two thresholds."""
    return tuple(tables.scored(replace(tables.DEALER, threshold=float(a)), section="traverse") for a in PAIRS[n.pair])


def _worth(n):
    low, high = _two(n)
    return (low.false_alarms - high.false_alarms) / (high.misses - low.misses)


def _worth_question(n):
    (a, b), (low, high) = PAIRS[n.pair], _two(n)
    return (
        f"On the traverse, {low.duration:.1f} s and {len(low.hit)} bumps, the dealer's selector at {a} m/s² misses "
        f"{low.misses} bumps and raises {low.false_alarms} false alarms; at {b} m/s² it misses {high.misses} and "
        f"raises {high.false_alarms}. A miss is as bad as $w$ false alarms. For which $w$ are both thresholds equally "
        "good on this ride? (Give a decimal, or let Python divide, without quotes.)"
    )


def _judge(values, n):
    law = tables.ModeSelector(threshold=values.threshold, hold=values.hold)
    found, peak = tables.scored(law), steps.edge_peak(n.step_mm / 1e3, values.threshold)
    return [
        Criterion("time locked on the climb", 100.0 * found.lock_share, n.lock, "%", "at least",
                  "Fewer false alarms or a shorter hold time keep it locked for longer."),
        Criterion(f"peak on the {n.step_mm} mm step above the open damper's", 100.0 * (peak - 1.0), 10.0, "%",
                  advice="It must know sooner that the wheel was struck. The hold time has no say in that."),
        Criterion("openings on the climb", found.openings, n.openings,
                  advice="Either it opens at nothing, or it closes too soon after each root."),
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
            Slip("rad/s", lambda n: _strokes(n), "That is the number of rad/s: divide by $2\\pi$."),
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
        question="At the dealer's 40 m/s² the selector finds all 12 roots of the climb, raises no false alarm, and the "
        "bike is locked 82 % of the time. Tomas turns the screw to 80 m/s². How many of the 12 roots does it still "
        "find?",
        options={
            "a": "all 12: a root is a root, a higher threshold only keeps small stuff out",
            "b": "about 6: twice the threshold, half the roots",
            "c": "about 3: only the hardest struck pass 80",
            "d": "none: whatever is found at 40 is lost at 80",
        },
        answer="c",
        feedback={
            "a": "That was true from 10 to 40 m/s². But the roots are not equal: the locked wheel reads peaks from 42 "
            "to 84 m/s² on them, so each step beyond 40 loses some.",
            "b": "There is no such proportion. Roots found fall from 12 to 5 between 40 and 60 and to 3 at 80: what "
            "counts is how many roots have their peak between the two thresholds.",
            "c": "3 of 12 have a peak above 80 m/s², as one of the four in the sketch. The other nine find the bike "
            "locked, and all it buys is a bike locked 96 % of the time in place of 82 %.",
            "d": "Three roots strike harder than 80, with 82, 83 and 84 m/s². Above 84 none is left.",
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
        key="E5", title="Where does normally closed cost most?",
        question="A valve of 3 ms, a threshold of 40 m/s². Where is the body's peak under the normally-closed valve "
        "largest, compared with the normally-open one left open?",
        options={
            "a": "on a 20 mm step at 5 m/s",
            "b": "on a 100 mm step at 20 m/s",
            "c": "wherever most of the step is climbed before the valve moves",
        },
        answer="a",
        feedback={
            "a": "1.33 times. The locked damper ties the wheel to the body until the lockout blows off, so the sensor "
            "reads 40 m/s² only 10.8 ms after contact.",
            "b": "There the wheel passes the threshold at once: 1.01 times, though the blow is the "
            "hardest.",
            "c": "At 20 m/s 86 % of a 20 mm step is climbed by then, and the peak is 1.00 times the open one. The "
            "body's peak comes later than the climb.",
        },
    ),
    Choice(
        key="E6", title="Far above the legs? (extra)",
        question="Tomas sets the dealer's selector to a threshold of 6 m/s² with a hysteresis of 4, and Ilka pedals at "
        "80 turns a minute on smooth tarmac with one root on it. What does the valve do?",
        options={
            "a": "It opens at the root and is firm again half a second later: 6 is far above what her legs make.",
            "b": "It is firm up to the root, opens, and stays open for as long as she pedals.",
            "c": "It opens and closes with each push of her legs, from the start.",
            "d": "It stays firm: with that much hysteresis a root is not enough.",
        },
        answer="b",
        feedback={
            "a": "6 is the threshold at which a bump *begins*. At what reading does it end, and what do the legs make "
            "of the open setting?",
            "b": "A bump ends below 6 − 4 = 2 m/s². Open, her legs make 2.6 at each push, so the bump never ends. With "
            "a hysteresis of 3 it would end, and the valve would close.",
            "c": "Locked, her legs make 1.1 m/s², which opens nothing; once open, the clock never runs out between "
            "pushes.",
            "d": "Hysteresis lowers the reading at which a bump ends, not the one at which it begins.",
        },
    ),
    ShortText(
        key="E7", title="Is it semi-active?",
        question="The dealer writes: \"Our valve reacts in 3 ms, so our selector is a semi-active suspension.\" In one "
        "or two sentences: why does the quick valve not make it one in the sense of this course?",
        ideas=[
            "While the valve stands in one setting, the suspension is an ordinary damper with a fixed curve.",
            "It decides by an event and a clock, where a semi-active law follows the motion within the bump.",
            "How quickly it moves from one setting to the other changes neither.",
        ],
        misconceptions=[
            Misconception("too slow", "3 ms is too slow to follow the wheel.",
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
        hints=["Look at the left half of the figure of two curves.",
               "How many moves a second does each valve make?",
               "What would change if the valve needed no time at all?"],
    ),
    Design(
        key="E8", title="Set the two screws", kind="open",
        question=lambda n: "Threshold and hold time are a screw each. Set both, on the dealer's normally-closed "
        f"selector, so that on the climb it is locked at least {n.lock} % of the time **and** opens at most "
        f"{n.openings} times in the 40 s, **and** its peak body acceleration on a {n.step_mm} mm step at 3 m/s is at "
        "most 10 % above the open damper's. The 17 m/s² and 0.2 s of the page have 11 % on your step: too much. Both "
        "rides are run with your values.",
        numbers=[Draw("step_mm", 40, 45, 5), Draw("openings", 20, 24, 2), Draw("lock", 80, 82, 2)],
        judge=_judge,
        parameters=[Parameter("threshold", "threshold", 1.0, 150.0, "m/s^2"),
                    Parameter("hold", "hold time", 0.05, 3.0, "s")],
        passing={"threshold": "15 m/s^2", "hold": "0.27 s"},
        solution=lambda n: "The step limits the threshold from above: the valve must know early. The small stones of "
        "the climb limit it from below. The hold time has no say on the step; too long it loses the lock (0.5 s at 15 "
        "m/s²: 74 %), too short it opens again at its own closing (0.1 s: 34 openings). On a step of 30 mm there is "
        "no window: 15 m/s² has 12 % there, and a threshold of 8, which has 9 to 10 %, is locked for 32 % of the climb "
        "with 0.5 s and opens 111 times with 0.1 s. A valve that rests open is no way out: Ilka pedals, so it is told "
        "to be firm. A quicker chain is: with 3 ms in all and a sensor read without pause, 15 m/s² costs 5 % on that "
        "step.",
        hints=["Which of the three requirements does the hold time decide, which the threshold alone?",
               "The table of edges is coarse and its last digit uncertain. Run 20, 17 and 15 m/s² and watch the step "
               "alone.",
               "Then look in the live figure for a hold time that is short enough for the lock and long enough for few "
               "openings: its steps of 0.05 s will do. Small changes may jump, as the closing valve trips its own "
               "sensor."],
    ),
    Numeric(
        key="E9", title="What the legs do to the wheel (extra)",
        question=lambda n: f"A rider pedals at {n.cadence} turns a minute on smooth ground; the pushes load the body "
        f"by up to {n.push} N either way of their mean. The tyre has {n.tyre} kN/m. Take the slow limit of the "
        "derivation, in which the tyre carries the push like a scale. What is the largest wheel acceleration in this "
        "limit?",
        numbers=[Draw("cadence", 60, 96, 3), Draw("push", 60, 140, 10), Draw("tyre", 55, 110, 5)],
        answer=_legs, unit="m/s^2",
        hints=[
            "In the slow limit the wheel moves by $P/k_t$. What turns a swing into an acceleration?",
            "$a = \\omega^2 P/k_t$, with $\\omega = 2\\pi f$ and two pushes to each turn.",
            "Work out $f$ as in R1, then $\\omega$, then its square.",
        ],
        slips=[
            Slip("one leg", lambda n: 0.25 * _legs(n),
                 "A quarter of the right value: you took one push to each turn of the cranks, and it counts squared."),
            Slip("Hz", lambda n: (_strokes(n) / (2.0 * pi)) ** 2 * n.push / (1e3 * n.tyre),
                 "The frequency went in as Hz: the acceleration needs $\\omega = 2\\pi f$."),
            Slip("not squared", lambda n: _strokes(n) * n.push / (1e3 * n.tyre),
                 "That is the wheel's largest speed. An acceleration needs $\\omega$ once more."),
            Slip("force over mass", lambda n: n.push / tables.BIKE.wheel_mass,
                 "The push does not act on a free wheel: it comes through the spring, and the tyre holds."),
        ],
        solution=lambda n: f"$\\omega = 2\\pi\\cdot2\\cdot{n.cadence}/60 = {_strokes(n):.4g}$ rad/s and "
        f"$a = {_strokes(n):.4g}^2\\cdot{n.push}/{1e3 * n.tyre:.0f} = {_legs(n):.3g}$ m/s². It is a rough guide: for "
        "Ilka at 80 turns a minute the limit gives 0.44, the whole fraction 0.69 m/s², since the pushes lie near the "
        "body's own 2.1 Hz. Seals and uneven dampers do the rest.",
    ),
    Numeric(
        key="E10", title="What is a miss worth? (extra)",
        question=_worth_question, numbers=[Draw("pair", 0, len(PAIRS) - 1, 1)],
        answer=_worth, unit="",
        hints=[
            "Going to the higher threshold saves false alarms and costs misses. At the break-even both weigh the same.",
            "$w\\cdot(\\text{misses more}) = (\\text{false alarms fewer})$.",
            "Take the two differences first; the misses belong below the line.",
        ],
        slips=[
            Slip("upside down", lambda n: 1.0 / _worth(n), "Upside down: $w$ is false alarms *per miss*."),
            Slip("a minute", lambda n: _worth(n) * 60.0 / _two(n)[0].duration,
                 "You took false alarms a minute against misses of the whole ride; count both over one ride."),
            Slip("sign", lambda n: -_worth(n),
                 "The size is right. False alarms fall while misses rise; take each change as a positive number."),
            Slip("higher only", lambda n: _two(n)[1].false_alarms / _two(n)[1].misses,
                 "That compares the two errors at one threshold. The question is what *changes* between the two."),
        ],
        solution=lambda n: f"False alarms fall by {_two(n)[0].false_alarms - _two(n)[1].false_alarms}, misses rise by "
        f"{_two(n)[1].misses - _two(n)[0].misses}, so $w = {_worth(n):.3g}$. Who minds a miss more than that takes the "
        "lower threshold. No curve can tell the team how much a miss hurts.",
    ),
]  # fmt: skip
