"""Exercises of workbook 04: the hold time's clock, carrying, the legs, a slow motor, what a miss is worth, a design."""

from dataclasses import replace
from math import pi

from helpers.control.mode_switch import ModeSelector
from helpers.simulation.events import over_step
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
from scenes import w04_tables as tables

PAIRS = ((20, 50), (30, 60), (40, 80), (20, 60))  # thresholds to compare on the traverse, m/s2


def _open_time(n):
    return min(n.gap_short, n.hold) + min(n.gap_long, n.hold) + n.hold


def _strokes(n):
    """Angular frequency in rad/s of the pushes: two for each turn of the cranks."""
    return 2.0 * pi * 2.0 * n.cadence / 60.0


def _legs(n):
    return _strokes(n) ** 2 * n.push / (1e3 * n.tyre)


def _carry(n):
    return 1e3 * n.apart / (n.speed_kmh / 3.6)


def _motor(n):
    return (n.speed_kmh / 3.6) * (n.settings - 1) * n.each_ms / 1e3


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
        "good on this ride?"
    )


def _judge(values, n):
    law = ModeSelector(threshold=values.threshold, hold=values.hold)
    found = tables.scored(law)
    height, speed = n.step_mm / 1e3, tables.BIKE.climb_speed
    peak, least = (
        over_step(tables.BIKE, height, speed, each, timing=tables.CHAIN).peak_body_acceleration
        for each in (law, tables.Passive(0.0))
    )
    return [
        Criterion("time locked on the climb", 100.0 * found.lock_share, 60.0, "%", "at least",
                  "Fewer false alarms or a shorter hold time keep it locked for longer."),
        Criterion(f"peak on the {n.step_mm} mm step above the open damper's", 100.0 * (peak / least - 1.0), 10.0, "%",
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
            "c": "about 3",
            "d": "none: whatever is found at 40 is lost at 80",
        },
        answer="c",
        feedback={
            "a": "That was true from 10 to 40 m/s². But the roots are not equal: the locked wheel reads peaks from 42 "
            "to 84 m/s² on them, so each step beyond 40 loses some.",
            "b": "There is no such proportion. Hits fall from 12 to 5 between 40 and 60 and to 3 at 80: what counts is "
            "how many roots have their peak between the two thresholds.",
            "c": "3 of 12 have a peak above 80 m/s². The other nine find the bike locked, and all it buys is 96 % of "
            "lockout instead of 82 %.",
            "d": "Three roots strike harder than 80, with 82, 83 and 84 m/s². At 100 none is left.",
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
        key="E3", title="What the legs do to the wheel",
        question=lambda n: f"A rider pedals at {n.cadence} turns a minute on smooth ground; the pushes load the body "
        f"by up to {n.push} N either way of their mean. The tyre has {n.tyre} kN/m. Take the slow limit of the "
        "derivation, in which the tyre carries the push like a scale. What is the largest wheel acceleration?",
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
        f"$a = {_strokes(n):.4g}^2\\cdot{n.push}/{1e3 * n.tyre:.0f} = {_legs(n):.3g}$ m/s². Seals and one-sided "
        "dampers make it larger, as the table of the legs shows.",
    ),
    Numeric(
        key="E4", title="A slow motor",
        question=lambda n: f"A motor turns a valve through {n.settings} settings, the two ends included, "
        f"{n.each_ms} ms from each to the next. How far does a bike at {n.speed_kmh} km/h roll while it goes from the "
        "firmest to the softest?",
        numbers=[Draw("settings", 4, 8, 1), Draw("each_ms", 50, 110, 10), Draw("speed_kmh", 9, 36, 1)],
        answer=_motor, unit="m",
        hints=[
            "How many moves lie between the first setting and the last?",
            "$x = v\\,(N-1)\\,t_m$.",
            "Turn the speed into m/s and the time into s before you multiply.",
        ],
        slips=[
            Slip("settings, not moves", lambda n: _motor(n) * n.settings / (n.settings - 1),
                 "A fence of $N$ posts has $N-1$ gaps: from the first setting to the last there are $N-1$ moves."),
            Slip("one move", lambda n: _motor(n) / (n.settings - 1), "That is one move; the motor has to make more."),
            Slip("km/h", lambda n: 3.6 * _motor(n), "The speed went in as km/h: divide it by 3.6."),
        ],
        solution=lambda n: f"${n.settings - 1}$ moves take {(n.settings - 1) * n.each_ms} ms, and "
        f"${n.speed_kmh / 3.6:.3g}\\cdot{(n.settings - 1) * n.each_ms / 1e3:.3g} = {_motor(n):.3g}$ m. A root has "
        "passed long before.",
    ),
    Numeric(
        key="E5", title="What is a miss worth?",
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
    Choice(
        key="E6", title="Too low a threshold",
        question="Tomas sets the dealer's selector to 2 m/s² and lets Ilka pedal on smooth tarmac with one root on it. "
        "What does the valve do?",
        options={
            "a": "It opens at the root and is firm again half a second later.",
            "b": "It is firm up to the root, opens, and stays open for as long as she pedals.",
            "c": "It opens and closes with each stroke of her legs, from the start.",
            "d": "It stays firm: pedalling and a root cannot be told apart at 2 m/s².",
        },
        answer="b",
        feedback={
            "a": "That needs quiet for half a second. Once open, the same legs make 2.6 m/s², above the threshold, at "
            "each stroke.",
            "b": "Locked, her legs make 1.1 m/s², below the threshold; open, they make 2.6, above it. So the clock "
            "starts again at each stroke and never runs out.",
            "c": "The hold time is longer than a stroke, so it could not close in between; and while it is locked the "
            "legs make only 1.1 m/s², which opens nothing.",
            "d": "A low threshold is passed more easily, not less: the root opens it.",
        },
    ),
    ShortText(
        key="E7", title="Is it semi-active?",
        question="The dealer writes: \"Our valve reacts in 3 ms, so our selector is a semi-active suspension.\" In one "
        "or two sentences: why does the quick valve not make it one in the sense of this course?",
        ideas=[
            Idea(("fixed", "ordinary", "plain damper", "two curves", "same damper", "one curve", "setting"),
                 "Say what the suspension is while the valve stands in one setting."),
            Idea(("event", "threshold", "hold", "after a bump", "bump has", "clock", "not within", "within a bump",
                  "within each", "within every", "moment", "continu", "law", "follow", "decides", "decision", "choos"),
                 "Say by what it decides, and how that differs from a law that follows the motion."),
        ],
        misconceptions=[
            Misconception("too slow", ("3 ms is too slow", "not fast enough", "too slow a valve"),
                          "Speed is not the point: with a valve of no delay at all it would still rest in one of two "
                          "settings between events.",
                          "Because 3 ms is too slow to follow the wheel."),
            Misconception("active", ("puts energy in", "adds energy", "needs power to push"),
                          "Neither kind puts energy into the wheel: both are dampers at every moment.",
                          "It adds energy to the wheel when the valve switches."),
        ],
        model="Between events the valve stands in one of two settings, and there it is an ordinary damper with a fixed "
        "curve. It decides by an event and a clock, not by the motion within the bump, so how quickly it moves from "
        "one curve to the other changes nothing about what it can do on either.",
        hints=["Look at the left half of the figure of two curves.",
               "How many strokes a second does each valve make?",
               "What would change if the valve needed no time at all?"],
    ),
    Design(
        key="E8", title="Set the two screws", kind="open",
        question=lambda n: "Set threshold and hold time of the dealer's normally-closed selector for the climb so that "
        f"it is locked at least 60 % of the time, its peak body acceleration on a {n.step_mm} mm step at 3 m/s is at "
        f"most 10 % above the open damper's, **and** it opens at most {n.openings} times in the 40 s. Both rides are "
        "run with your values.",
        numbers=[Draw("step_mm", 50, 60, 5), Draw("openings", 20, 26, 2)],
        parameters=[Parameter("threshold", "threshold", 1.0, 150.0, "m/s^2"),
                    Parameter("hold", "hold time", 0.05, 3.0, "s")],
        judge=_judge,
        passing={"threshold": "15 m/s^2", "hold": "0.5 s"},
        solution="The step limits the threshold from above: the valve must know early. Ground and legs limit it from "
        "below. The hold time has no say on the step; too long it loses the lock, too short it opens at each echo of a "
        "root. With these limits there is a window. On a step of 30 mm there is none: the table of edges has 12 % at "
        "15 m/s². A threshold of 8 brings 9 %, but with a hold time of 0.5 s it is locked for only 32 % of the climb, "
        "and with 0.1 s, where it is locked for 64 %, it opens 111 times. Then the honest answer is a valve that rests "
        "open, or a quicker sensor.",
        hints=["Which of the three requirements does the hold time decide, which the threshold alone?",
               "Read the highest threshold that the step allows in the table of edges.",
               "Then look in the live figure for a hold time that is short enough for the lock and long enough for few "
               "openings."],
    ),
]  # fmt: skip
