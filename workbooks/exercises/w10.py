"""Exercises of workbook 10: the doubt of a mean, events needed, filters, clocks, verdicts, and a measurement."""

import math
from dataclasses import replace
from functools import lru_cache

from helpers.course import Timing, motorcycle, recording, response_times
from helpers.simulation.response_times import interval
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


def _spread(n, rest=None):
    """Standard deviation of one difference, ms."""
    rest = (n.true % n.period) if rest is None else rest
    return math.sqrt(rest * (n.period - rest))


def _half(n, spread=None, root=True):
    """Half the interval, ms."""
    return 2.0 * (_spread(n) if spread is None else spread) / (math.sqrt(n.events) if root else n.events)


def _needed(n, power=2.0, factor=2.0):
    """Events until half the interval is small enough."""
    return (factor * n.spread / (0.1 * n.tenths)) ** power


def _mended(n, share=0.225):
    """The measured mean without the filter's delay, ms."""
    return n.mean - 1e3 * share / n.cutoff


def _drift(n, knocks=1.0):
    """How much faster the second clock runs, ppm."""
    return 1e3 * n.late / (60.0 * n.minutes) * knocks


# --- the design ---------------------------------------------------------------------------------------------------

SECONDS = 1.0  # of riding for each plank: 4.2 to 5.2 m at 5 m/s
SOLD = Timing(sample_rate=800, compute=1e-3, bus=0.5e-3, jitter=0.5e-3, valve_dead_time=2e-3, valve_time_constant=4e-3)


@lru_cache(1)
def _tape():
    return recording(motorcycle, SOLD, events=60, seed=4)


@lru_cache
def _doubt(rate, events):
    """Half the interval of the time to 63 % in ms, as measured in the yard."""
    log = _tape().log(rate, seed=5)
    times = response_times(log)
    return 1e3 * replace(times, to_63=interval(times.differences[:events, 1], log.period)).to_63.half


def _judge(values, n):
    events = int(round(values.events))
    return [
        Criterion("doubt", _doubt(values.rate, events), n.tenths / 10.0, "ms",
                  advice="More events, or a faster logger: which do you have left?"),
        Criterion("rows", values.rate * SECONDS * events / 1000.0, n.rows, "", advice="The logger's memory is full."),
        Criterion("riding", SECONDS * events, n.seconds, "s", advice="Fewer events."),
    ]  # fmt: skip


def _reference(n):
    events = n.seconds
    return math.floor(1000.0 * n.rows / events / 10.0) * 10.0, float(events)


EXERCISES = [
    Numeric(
        key="R1", title="Recall: what a period costs",
        question=lambda n: f"From workbook 05: a computer looks {n.rate} times a second. How long does an event wait "
        f"for "
        "the next look, on average, in ms?",
        numbers=[Draw("rate", 100, 400, 50)],
        answer=lambda n: 500.0 / n.rate, unit="ms",
        hints=["An event falls anywhere between two looks.", "The wait is even from nothing to one period $1/f_s$.",
               "Work out the period in ms and halve it."],
        slips=[Slip("whole", lambda n: 1e3 / n.rate, "That is the longest wait; the mean is half of it."),
               Slip("none", lambda n: 250.0 / n.rate, "Halved once too often."),
               Slip("per second", lambda n: n.rate / 2.0, "That is half the rate; its inverse is a time.")],
        solution=lambda n: f"The period is {1e3 / n.rate:.4g} ms, the mean wait {500.0 / n.rate:.4g} ms.",
    ),
    Choice(
        key="R2", title="Recall: until when?",
        question="From workbook 05: the valve's force follows a first-order lag. Which of its times is the longest?",
        options={"a": "until 63 % of the change", "b": "until 90 % of the change", "c": "the dead time"},
        answer="b",
        feedback={"a": "One time constant after the dead time; 90 % takes 2.3 of them.",
                  "b": "2.3 time constants after the dead time.", "c": "It ends before the force changes at all."},
    ),
    Choice(
        key="P", title="Forty readings of a slow clock",
        question="Ilka's logger takes 100 samples a second, so it reads each time to 10 ms. The true time until 63 % "
        "is "
        "some 8 ms. She takes the mean of forty differences. How near to the truth does it come, in 19 logs of 20?",
        options={"a": "10 ms: no number of readings makes a clock finer", "b": "5 ms: half a period, always",
                 "c": "some 1.2 ms: errors that fall at random average out",
                 "d": "exactly: over many events all errors cancel"},
        answer="c",
        feedback={
            "a": "So it would be if all readings erred alike. The phase of the clock differs from event to event, "
            "and so "
            "does the error.",
            "b": "Half a period is the most by which one difference spreads. The mean of forty spreads less, by the "
            "root "
            "of forty.",
            "c": "One difference spreads by some 3.7 ms; two of these over the root of forty are 1.2 ms. It holds "
            "while "
            "the phase is random, and only for the mean.",
            "d": "They cancel on average over logs; one log of forty still errs.",
        },
    ),
    Choice(
        key="S1", title="A slower logger",
        question="Set the logger to 100 Hz. What becomes of the differences, and of the verdict?",
        options={"a": "they fall on two values, and the logger cannot tell to 1 ms",
                 "b": "they spread evenly, and the claim is refuted still",
                 "c": "they all become 10 ms, and the claim is refuted"},
        answer="a",
        feedback={"a": "Nothing or one period: their mean is near the truth, and the doubt is larger than 1 ms.",
                  "b": "A clock of 10 ms knows 0 and 10 and nothing between.",
                  "c": "Some events fall just before a sample and their answer before the next: they read 0."},
    ),
    Choice(
        key="S2", title="A filter on one channel",
        question="Reset. Put a filter of 50 Hz on the pressure alone. What happens to the measured time?",
        options={"a": "nothing: both channels are sampled at the same moments", "b": "it grows by 5 to 6 ms",
                 "c": "it grows by 20 ms, the cut-off's period"},
        answer="b",
        feedback={"a": "Sampled at the same moments, but one of them shows what was some ms ago.",
                  "b": "Slow motion comes 0.225 over 50 Hz late, 4.5 ms, and this pressure, quick beside the filter, a "
                  "little more. The interval is as narrow as before: it does not know of the filter.",
                  "c": "The delay of slow motion is 0.225 of the cut-off's period, not all of it."},
    ),
    Choice(
        key="S3", title="Half the events",
        question="Reset. Halve the events, from 40 to 20. How much wider does the interval become?",
        options={"a": "twice as wide", "b": "by about four tenths", "c": "not at all: the clock is what counts"},
        answer="b",
        feedback={"a": "The width falls as the root of the number.",
                  "b": "The root of two, give or take what twenty events happen to show.",
                  "c": "The clock sets how much one difference spreads; the number sets what is left in the mean."},
    ),
    Numeric(
        key="E1", title="The doubt of a mean", kind="worked",
        question=lambda n: f"A logger has a period of {n.period} ms, the true time is {n.true} ms, and nothing else "
        f"spreads. What is half the 95 % interval of the mean of {n.events} events? Take 2 for Student's t.",
        numbers=[Draw("period", 5, 9, 2), Draw("true", 12, 13, 1), Draw("events", 30, 60, 10)],
        answer=_half, unit="ms",
        hints=["What is left of the time after whole periods?", "One difference spreads by $\\sqrt{r(T-r)}$.",
               "Work out $r$, the spread, then twice it over the root of the number."],
        slips=[
            Slip("no root", lambda n: _half(n, root=False), "Over the root of the number, not the number."),
            Slip("even spread", lambda n: _half(n, n.period / math.sqrt(12.0)), "That is the spread of one time, not "
                 "of "
                 "a difference."),
            Slip("one event", lambda n: 2.0 * _spread(n), "That is for one event; forty know better."),
        ],
        solution=lambda n: f"$r = {n.true} - {n.period * (n.true // n.period)} = {n.true % n.period}$ ms, so one "
        f"difference spreads by {_spread(n):.3g} ms. Twice that over $\\sqrt{{{n.events}}}$ is {_half(n):.3g} ms.",
    ),
    Numeric(
        key="E2", title="How many events?", kind="gap",
        question=lambda n: f"One difference spreads by {n.spread} ms. How many events until half the interval is "
        f"{n.tenths / 10:g} ms? Fill the gap: $n = (2 s/\\_\\_\\_)^2$.",
        numbers=[Draw("spread", 2, 5, 1), Draw("tenths", 4, 9, 1)],
        answer=_needed, unit="", tolerance=0.03,
        hints=["The interval narrows with the root of the number.", "$2 s/\\sqrt{n}$ is to be what is allowed.",
               "Twice the spread over what is allowed, squared."],
        slips=[
            Slip("not squared", lambda n: _needed(n, 1.0), "Squared: the root stands on the other side."),
            Slip("no two", lambda n: _needed(n, 2.0, 1.0), "The two of the 95 % is missing, and it is squared as "
                 "well."),
            Slip("two outside", lambda n: 2.0 * _needed(n, 2.0, 1.0), "The two is squared too."),
        ],
        solution=lambda n: f"$(2 \\cdot {n.spread}/{n.tenths / 10:g})^2$ is {_needed(n):.4g}.",
    ),
    Numeric(
        key="E3", title="A filter somebody forgot",
        question=lambda n: f"A log says {n.mean} ms until 63 %. Later it turns out that the pressure, and only it, "
        f"went "
        f"through a second-order Butterworth filter of {n.cutoff} Hz. Counted as the delay of slow motion: what would "
        "it have said without?",
        numbers=[Draw("mean", 9, 14, 1), Draw("cutoff", 60, 120, 20)],
        answer=_mended, unit="ms",
        hints=["Which of the two channels came late?", "A filter's delay of slow motion is $0.225/f_c$.",
               "Work out the delay in ms and take it off."],
        slips=[
            Slip("added", lambda n: _mended(n, -0.225), "The pressure came late, so the measured time is too long."),
            Slip("first order", lambda n: _mended(n, 1.0 / (2.0 * math.pi)), "That is the delay of a first-order "
                 "filter."),
            Slip("the delay", lambda n: 225.0 / n.cutoff, "That is the delay; what is left without it?"),
        ],
        solution=lambda n: f"$0.225/{n.cutoff}$ is {225.0 / n.cutoff:.3g} ms, so {_mended(n):.4g} ms.",
    ),
    Numeric(
        key="E4", title="Two loggers, two clocks",
        question=lambda n: "Acceleration is in one logger, pressure in another. Someone knocks on both at the start, "
        "and "
        f"again {n.minutes} minutes later. Set to agree at the first knock, the second logger shows the other one "
        f"{n.late} ms too late. By how many parts in a million does its clock run too fast?",
        numbers=[Draw("minutes", 4, 12, 1), Draw("late", 12, 40, 2)],
        answer=_drift, unit="", tolerance=0.02,
        hints=["How long is it from knock to knock?", "The drift is what it shows more over the time that passed.",
               "Both in ms, then times a million."],
        slips=[
            Slip("minutes", lambda n: 60.0 * _drift(n), "The minutes were not made seconds."),
            Slip("thousand", lambda n: 1e-3 * _drift(n), "A thousand times too small: ms over s are parts in a "
                 "thousand."),
            Slip("half", lambda n: _drift(n, 0.5), "The mean error is half of that; asked is the rate at which it "
                 "grows."),
        ],
        solution=lambda n: f"{n.late} ms over {60 * n.minutes} s is {_drift(n):.4g} parts in a million.",
    ),
    Choice(
        key="E5", title="Which verdict?",
        question="A log gives 9.6 ± 0.3 ms until 63 %. Both channels stand in one logger, without filters. The claim "
        "is "
        "9 ms, and 1 ms is forgiven. What do you write?",
        options={"a": "refuted: 9.6 is more than 9", "b": "confirmed: at most 9.9, and 10 are allowed",
                 "c": "this logger cannot tell: 9.6 and 9 differ by more than 0.3"},
        answer="b",
        feedback={"a": "What is forgiven belongs to the claim: the limit is 10 ms.",
                  "b": "The whole interval lies below 10 ms. With a skew of 0.5 ms between two loggers it would not.",
                  "c": "That the claim lies outside the interval does not matter; the limit does."},
    ),
    ShortText(
        key="E6", title="The clean log",
        question="A dealer shows a log from two loggers: 200 events, 4.0 ± 0.1 ms. Why can the answer still be wrong "
        "by a "
        "millisecond, why does more riding not help, and what would you ask for?",
        ideas=[
            "The two clocks may stand apart, and every difference is wrong by the same amount.",
            "The interval tells how much the differences scatter, and says nothing of an error that all share.",
            "I would ask for one event that both loggers see, such as a knock, at the start and at the end.",
        ],
        misconceptions=[
            Misconception("more events", "Two hundred events are too few for such a claim.",
                          "Two hundred are plenty against scatter, and none helps against a shared error."),
            Misconception("rate", "The loggers must sample faster.", "A faster clock that stands apart stands apart."),
            Misconception("interval", "It cannot be wrong by more than 0.1 ms, that is what the interval says.",
                          "It says so of scatter alone."),
        ],
        model="The two clocks may stand apart, so that every difference is wrong by the same amount. The interval "
        "tells "
        "how much the differences scatter and says nothing of an error that all share, so more riding narrows it "
        "around "
        "the wrong value. I would ask for one event that both loggers see, such as a knock on both, at the start and "
        "at the end.",
        hints=["What do all two hundred differences have in common?", "Which errors does a mean take away?",
               "How could both loggers be shown the same moment?"],
    ),
    Design(
        key="E7", title="Plan a measurement (extra)", kind="open",
        question=lambda n: f"The time until 63 % is to be known to {n.tenths / 10:g} ms. The logger holds {n.rows} "
        f"thousand "
        f"rows, and the planks may be ridden for {n.seconds} s, one a second. Which rate, how many events?",
        numbers=[Draw("tenths", 4, 5, 1), Draw("rows", 26, 34, 2), Draw("seconds", 40, 56, 4)],
        parameters=[Parameter("rate", "logger's rate", 50.0, 2000.0, "Hz"),
                    Parameter("events", "events", 5.0, 60.0, "")],
        judge=_judge,
        passing=lambda n: {"rate": f"{_reference(n)[0]:g} Hz", "events": f"{_reference(n)[1]:g}"},
        solution="Rows are rate times seconds. The doubt falls with the root of the events, and about with the root of "
        "the rate while the clock's period is what spreads; below a period of about twice the chain's own scatter a "
        "faster clock buys nothing. So ride as long as you may, and take the rate that fills the memory.",
        hints=["Start with as many events as the time allows.", "How many rows a second are then left?",
               "Read the doubt; would half the rate do?"],
    ),
]  # fmt: skip
