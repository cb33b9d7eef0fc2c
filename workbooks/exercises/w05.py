"""Exercises of workbook 05: budgets of age, folded lines, filters, lags, readings between samples, and a design."""

import math
from functools import lru_cache
from types import SimpleNamespace

import numpy as np

from helpers.control import sampling
from helpers.control.timing import Timing
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
from scenes.w05_rides import BAND, CARRIER, chain, with_box

SAMPLE_COST = 0.002  # W per sample a second: invented for the course
CLEAR = 30.0  # Hz, above which the pump must be seen


def _swing(n, rate=None):
    """How long one swing of the wheel's hop lasts, ms."""
    return 2e3 * math.pi * math.sqrt(n.wheel / (1e3 * (n.tyre + n.spring) if rate is None else rate))


def _mean(n, sampling_share=0.5, jitter_share=0.5):
    """Mean age of a chain, ms."""
    return sampling_share * 1e3 / n.rate + n.compute + jitter_share * n.jitter + n.dead + n.motion


def _gone(n, share=0.8, periods=0.5):
    """What five times the rate takes off the mean age, %."""
    return 100.0 * share * periods * 1e3 / n.rate / n.age


def _line(n):
    return n.times * n.rate + (n.off if n.above else -n.off)


def _filter_delay(n, edge=None, ratio=None):
    """Delay of the first-order filter, ms."""
    ratio = math.sqrt((0.01 * n.left) ** -2 - 1.0) if ratio is None else ratio
    return 1e3 * ratio / (2.0 * math.pi * (n.rate - n.band if edge is None else edge))


def _lag(n):
    return 0.36 * n.age * n.hop


_LATE = r"(late|later|delay\w*|tenth|100\W?ms|0\.1\W?s|moment)"


def _seen(n):
    return 0.01 * n.last * n.rate


# --- the design ---------------------------------------------------------------------------------------------------


def _timing(rate, cutoff, valve):
    """A box of that rate in Hz, cut-off in Hz and valve in ms; the rest as in the present box."""
    return Timing(
        sample_rate=rate, sensor_filter=cutoff, compute=5e-4, bus=5e-4, jitter=1e-3,
        valve_dead_time=5e-3 * valve / 9.0, valve_time_constant=4e-3 * valve / 9.0,
    )  # fmt: skip


@lru_cache
def _ridden(rate, cutoff, valve):
    """Vibration of the carrier's descent, m/s2."""
    return with_box(CARRIER, _timing(rate, cutoff, valve))


def _age(rate, cutoff, valve):
    """Mean age, ms."""
    return 1e3 * chain(_timing(rate, cutoff, valve)).mean


def _needed(n, rate):
    """Cut-off in Hz, rounded down, that leaves what is asked of all that folds below the band's edge."""
    return math.floor(sampling.cutoff_for(rate, BAND, 0.01 * n.left, 1))


@lru_cache
def _best(power, cost, left, line):
    n = SimpleNamespace(power=power, cost=cost, left=left, line=line)
    most = 0.01 * power / SAMPLE_COST
    boxes = [
        (rate, float(_needed(n, rate)), math.ceil(100.0 * cost / (0.01 * power - SAMPLE_COST * rate)) / 100.0)
        for rate in np.arange(100.0, 0.7 * most, 10.0).tolist()
        if sampling.alias(line, rate) >= CLEAR
    ]
    return min(boxes, key=lambda box: _age(*box))


def _reference(n):
    """(rate, cut-off, valve): the least age for the power, at rates where the pump stays clear."""
    return _best(n.power, n.cost, n.left, n.line)


def _oldest(n):
    """The age in ms that is asked for: 1 % above the least, rounded up."""
    return math.ceil(101.0 * _age(*_reference(n))) / 100.0


def _roughest(n):
    return math.ceil(1010.0 * _ridden(*_reference(n))) / 1000.0


def _judge(values, n):
    rate, cutoff, valve = values.sample_rate, values.cutoff, values.valve
    edge = max(rate - BAND, 0.0)
    return [
        Criterion("power", SAMPLE_COST * rate + n.cost / valve, n.power / 100.0, "W",
                  advice="Fewer samples, or a slower valve."),
        Criterion("left of what folds below 20 Hz", 100.0 * float(sampling.butterworth_gain(edge, cutoff, 1)), n.left,
                  "%", advice="A lower cut-off, or more samples a second, as in E4."),
        Criterion("pump seen at", float(sampling.alias(n.line, rate)), CLEAR, "Hz", "at least",
                  advice="Move the rate aside."),
        Criterion("mean age", _age(rate, cutoff, valve), _oldest(n), "ms",
                  advice="Write down the budget: from which stage does the next tenth of a watt take most?"),
        Criterion("vibration", _ridden(rate, cutoff, valve), _roughest(n), "m/s^2", advice="First mend the age."),
    ]  # fmt: skip


EXERCISES = [
    Numeric(
        key="R1", title="Recall: one swing of the wheel",
        question=lambda n: f"From workbook 01: a wheel of {n.wheel} kg hops on a tyre of {n.tyre} kN/m and a spring of "
        f"{n.spring} kN/m. How long does one whole swing last, in ms?",
        numbers=[Draw("wheel", 8, 18, 1), Draw("tyre", 90, 150, 10), Draw("spring", 14, 22, 2)],
        answer=_swing, unit="ms",
        hints=[
            "Both springs push the wheel back, side by side. The swing's duration is one over its frequency.",
            "$1/f = 2\\pi\\sqrt{m_u/(k_s+k_t)}$.",
            "Add the rates, turn kN into N, take the root, multiply by $2\\pi$, then give it in ms.",
        ],
        slips=[
            Slip("no two pi", lambda n: _swing(n) / (2.0 * math.pi),
                 "That is the time for one radian; a whole swing has $2\\pi$ of them."),
            Slip("tyre only", lambda n: _swing(n, 1e3 * n.tyre), "The spring pushes the wheel back as well."),
            Slip("in series", lambda n: _swing(n, 1e3 * n.tyre * n.spring / (n.tyre + n.spring)),
                 "For the wheel the two act side by side: add the rates."),
        ],
        solution=lambda n: f"$2\\pi\\sqrt{{{n.wheel}/{1e3 * (n.tyre + n.spring):.0f}}}$ s is {_swing(n):.4g} ms. Keep "
        "such a number in mind when this page speaks of 15 ms.",
    ),
    Choice(
        key="R2", title="Recall: at rest",
        question="From workbook 04: a mode selector is *normally open*. The sensor has read nothing for a minute, and "
        "nobody pedals. Where is its valve?",
        options={"a": "open", "b": "locked", "c": "half way, ready for either"},
        answer="a",
        feedback={
            "a": "It rests soft and is made firm only on demand.",
            "b": "That is normally closed: firm unless a bump is sensed.",
            "c": "A selector has settings; at rest it takes one of them.",
        },
    ),
    Choice(
        key="P", title="Five times the sample rate",
        question="The present box takes 200 samples a second, and on average its valve acts on news 15.0 ms old. Box A "
        "takes 1000 samples a second; filter, computer, wiring and valve stay as they are. How old is the news then, "
        "on average?",
        options={
            "a": "3 ms: five times the rate, a fifth of the age",
            "b": "about 10 ms: all that is electronic gets five times as quick, the valve does not",
            "c": "13 ms: one stage gets five times as quick on average, the others stay",
            "d": "11 ms: the wait was 5 ms and is now 1 ms, the others stay",
        },
        answer="c",
        feedback={
            "a": "Only the wait for the next sample is shortened to a fifth, from 2.5 ms on average to 0.5. The other "
            "12.5 ms know nothing of the rate.",
            "b": "Filter, computer, bus and jitter are electronic, too, and they stay: together 3.5 ms. Only the wait "
            "knows the rate.",
            "c": "The wait falls from 2.5 to 0.5 ms on average, so 15.0 becomes 13.0 ms, 13 % less. On the bike's "
            "descent that is 3.82 instead of 3.93 m/s²; the quicker valve of box B has 3.66.",
            "d": "5 ms is the longest wait, and the worst case does fall by 4 ms, from 18 to 14. On average the wait "
            "is half a period: 2.5 ms before, 0.5 after.",
        },
    ),
    Numeric(
        key="E1", title="A budget", kind="worked",
        question=lambda n: f"A box samples {n.rate} times a second without a filter, computes for {n.compute} ms, has "
        f"a jitter of up to {n.jitter} ms, a valve dead time of {n.dead} ms and a valve motion of {n.motion} ms. "
        "How old is what its valve acts on, on average?",
        numbers=[Draw("rate", 100, 250, 50), Draw("compute", 1, 3, 1), Draw("jitter", 2, 3, 1), Draw("dead", 3, 7, 1),
                 Draw("motion", 2, 5, 1)],
        answer=_mean, unit="ms",
        hints=[
            "Means add up, stage by stage.",
            "An even wait from 0 to $T$ is $T/2$ on average, and so is jitter from 0 to its most.",
            "Work out the period in ms, halve it and the jitter, then add all five.",
        ],
        slips=[
            Slip("whole period", lambda n: _mean(n, 1.0), "You took the longest wait for a sample; its average is half "
                 "a period."),
            Slip("jitter at its most", lambda n: _mean(n, 0.5, 1.0), "The jitter went in at its most; on average it is "
                 "half of that."),
            Slip("worst", lambda n: _mean(n, 1.0, 1.0), "That is the worst case: every wait at its longest."),
            Slip("best", lambda n: _mean(n, 0.0, 0.0), "That is the best case: no wait, no jitter."),
            Slip("no wait", lambda n: _mean(n, 0.0), "The wait for a sample is missing: half a period on average."),
            Slip("no jitter", lambda n: _mean(n, 0.5, 0.0), "The jitter is missing: half its most on average."),
        ],
        solution=lambda n: f"The period is {1e3 / n.rate:.3g} ms, so the wait is {500.0 / n.rate:.3g} ms on average; "
        f"the jitter {0.5 * n.jitter:g} ms. ${500.0 / n.rate:.3g} + {n.compute} + {0.5 * n.jitter:g} + {n.dead} + "
        f"{n.motion}$ is {_mean(n):.3g} ms.",
    ),
    Numeric(
        key="E2", title="Five times the rate", kind="gap",
        question=lambda n: f"A box samples {n.rate} times a second; what its valve acts on is {n.age} ms old on "
        "average. By how many per cent does the mean age fall if only the sample rate is made five times as high? Fill "
        "the gap in ms, then give the fall in per cent: it is $\\frac{4}{5}\\cdot\\_\\_\\_$ ms, over the mean age.",
        numbers=[Draw("rate", 150, 300, 50), Draw("age", 16, 26, 1)],
        answer=_gone, unit="%",
        hints=[
            "Which part of the age depends on the rate?",
            "The mean wait is half a period, $1/(2 f_s)$; a fifth of it remains.",
            "Take four fifths of half a period in ms, divide by the mean age, times 100.",
        ],
        slips=[
            Slip("whole period", lambda n: _gone(n, 0.8, 1.0), "On average an event waits half a period, not a whole "
                 "one."),
            Slip("nothing remains", lambda n: _gone(n, 1.0), "A fifth of the wait remains: four fifths are gone."),
            Slip("four fifths", lambda n: 80.0, "That would be so if all of the age were a wait for a sample."),
            Slip("what remains", lambda n: 100.0 - _gone(n), "That is how much remains; asked is the fall."),
        ],
        solution=lambda n: f"Half a period is {500.0 / n.rate:.3g} ms; four fifths of it, {400.0 / n.rate:.3g} ms, go. "
        f"Over {n.age} ms that is {_gone(n):.3g} %.",
    ),
    Numeric(
        key="E3", title="Where does the line appear?",
        question=lambda n: f"A pump shakes the frame at {_line(n)} Hz. The box takes {n.rate} samples a second, "
        "without a filter. At which frequency does the law see the pump?",
        numbers=[Draw("rate", 120, 300, 20), Draw("times", 3, 4, 1), Draw("off", 12, 40, 1), Draw("above", 0, 1, 1)],
        answer=lambda n: float(n.off), unit="Hz",
        hints=[
            "Samples cannot tell a line from one that lies a whole multiple of the rate away.",
            "$|f - k f_s|$ with the whole number $k$ that makes it least.",
            "Which multiple of the rate lies nearest to the line?",
        ],
        slips=[
            Slip("one rate", lambda n: float(_line(n) - n.rate), "You took the rate away once; go on until what is "
                 "left lies below half the rate."),
            Slip("remainder", lambda n: float(n.rate - n.off), "That still lies above half the rate: the next multiple "
                 "is nearer."),
            Slip("sign", lambda n: -float(n.off), "A frequency is a size: drop the sign."),
            Slip("half a rate", lambda n: _line(n) - 0.5 * n.rate, "Lines repeat with the whole rate, not with half of "
                 "it."),
            Slip("as it is", lambda n: float(_line(n)), "That is where it really is. Above half the rate it cannot be "
                 "seen there."),
        ],
        solution=lambda n: f"The nearest multiple is {n.times} times the rate, {n.times * n.rate} Hz: "
        f"$|{_line(n)} - {n.times * n.rate}| = {n.off}$ Hz.",
    ),
    Numeric(
        key="E4", title="What does the filter cost? (extra)",
        question=lambda n: f"A first-order filter must leave at most {n.left} % of anything that could fold below "
        f"{n.band} Hz. The box takes {n.rate} samples a second. By how many ms does the filter delay slow signals?",
        numbers=[Draw("rate", 200, 400, 50), Draw("band", 20, 30, 5), Draw("left", 20, 40, 5)],
        answer=_filter_delay, unit="ms", tolerance=0.01,
        hints=[
            "Into the band up to $B$ (the page: 20 Hz) folds what lies above $f_s - B$. What must the filter do there?",
            "$1/\\sqrt{1 + ((f_s-B)/f_c)^2}$ is the share that is left; the delay is $1/(2\\pi f_c)$.",
            "So $(f_s - B)/f_c = \\sqrt{1/\\text{share}^2 - 1}$. Work out $f_c$, then the delay.",
        ],
        slips=[
            Slip("band forgotten", lambda n: _filter_delay(n, edge=n.rate), "What folds into the band begins below the "
                 "sample rate, at $f_s - B$."),
            Slip("half the rate", lambda n: _filter_delay(n, edge=0.5 * n.rate), "A line just above half the rate "
                 "folds to just below it, far outside the band. The filter may begin higher."),
            Slip("no two pi", lambda n: 2.0 * math.pi * _filter_delay(n), "That is $1/f_c$; the delay is "
                 "$1/(2\\pi f_c)$."),
            Slip("upside down", lambda n: _filter_delay(n, ratio=1.0 / math.sqrt((0.01 * n.left) ** -2 - 1.0)),
                 "Upside down: the cut-off lies below the line, so the line's frequency goes above."),
            Slip("no root", lambda n: _filter_delay(n, ratio=100.0 / n.left - 1.0), "Squares and root: the shares of "
                 "a filter add as squares."),
        ],
        solution=lambda n: f"$f_c = {n.rate - n.band}/\\sqrt{{1/{n.left / 100:g}^2-1}}$ is "
        f"{(n.rate - n.band) / math.sqrt((0.01 * n.left) ** -2 - 1.0):.4g} Hz, and $1/(2\\pi f_c)$ is "
        f"{_filter_delay(n):.4g} ms.",
    ),
    Numeric(
        key="E5", title="How far behind the wheel?",
        question=lambda n: f"A wheel hops at {n.hop} Hz. What the valve acts on is {n.age} ms old on average. By how "
        "many degrees of the wheel's swing is the valve behind?",
        numbers=[Draw("hop", 12, 28, 1), Draw("age", 6, 18, 1)],
        answer=_lag, unit="deg",
        hints=[
            "A whole swing is 360 degrees. Which part of a swing has passed?",
            "Lag is $360^\\circ\\cdot f$ times the mean age. The mean age is the $\\tau+T/2$ of the page.",
            "Put the age in seconds before you multiply.",
        ],
        slips=[
            Slip("milliseconds", lambda n: 360.0 * n.hop * n.age, "The age went in as ms: divide it by 1000."),
            Slip("half", lambda n: 0.5 * _lag(n), "The mean age is in already; there is nothing left to halve."),
            Slip("radians", lambda n: 2e-3 * math.pi * n.hop * n.age, "That is in radians; times $180/\\pi$ it is in "
                 "degrees."),
            Slip("share of a swing", lambda n: n.hop * n.age / 1e3, "That is the share of a swing: times 360 in "
                 "degrees."),
        ],
        solution=lambda n: f"$360\\cdot{n.hop}\\cdot{n.age / 1e3:g} = {_lag(n):.4g}$ degrees.",
    ),
    Choice(
        key="E6", title="Where is the next millisecond cheapest?",
        question="A trail bike's box has, on average, 0.5 ms of filter, 1 ms of wait (it takes 500 samples a second), "
        "3.5 ms of computer and bus, and 11.5 ms of valve. On its descent a skyhook gains nothing from 14 ms on. Four "
        "changes cost the same. Which one makes the box worth having?",
        options={
            "a": "five times the sample rate",
            "b": "a computer and a bus twice as quick",
            "c": "a valve that takes a third off its time",
            "d": "none: at 16.5 ms its actuator would be stable for long yet, so it is worth having already",
        },
        answer="c",
        feedback={
            "a": "Of 1 ms of wait four fifths go: 15.7 ms, still too late. The largest factor stands at one of the "
            "smallest stages.",
            "b": "1.75 ms go: 14.75 ms, still too late.",
            "c": "3.8 ms go: 12.7 ms, below 14. A small part of the largest stage is more than four fifths of a small "
            "one.",
            "d": "Useful ends long before stable does. At 16.5 ms a fixed damper is calmer, and what hangs on the "
            "opening of a damper ages sooner than an actuator's law.",
        },
    ),
    Numeric(
        key="E7", title="Between two samples (extra)",
        question=lambda n: f"A root makes the sensor read more than the threshold for {n.last / 10:g} ms. The box "
        f"takes {n.rate} samples a second, without a filter. How many per cent of such roots does it notice?",
        numbers=[Draw("last", 21, 69, 2), Draw("rate", 20, 70, 10)],
        answer=_seen, unit="%",
        hints=[
            "A root may come at any time between two samples.",
            "The share noticed is the reading's duration over the period, as long as that is below one.",
            "Work out the period in ms.",
        ],
        slips=[
            Slip("always", lambda n: 100.0, "Only where the reading lasts as long as the period is it sure to be "
                 "noticed."),
            Slip("missed", lambda n: 100.0 - _seen(n), "That is the share that slips through."),
            Slip("upside down", lambda n: 1e4 / _seen(n), "Upside down: the reading's duration goes above the line."),
        ],
        solution=lambda n: f"The period is {1e3 / n.rate:.4g} ms, and {n.last / 10:g} ms of it are covered: "
        f"{_seen(n):.3g} %. The rest falls between two samples.",
    ),
    ShortText(
        key="E8", title="Ten samples a second",
        question="To save the spare bike's battery, Tomas lets its selector take ten samples a second. It is normally "
        "open, and the legs alone make it firm. In two or three sentences: why does a bump not have to be sensed here, "
        "which two things come late nevertheless, and what would go wrong in a normally-closed one?",
        ideas=[
            "The normally-open valve is already open when a bump comes, so nothing has to be sensed in time.",
            "It goes firm up to a tenth of a second after the legs begin.",
            "It opens up to a tenth of a second after the legs stop, and until then the ground is ridden firm.",
            "A normally-closed valve is firm until a bump is noticed, and most readings fall between two samples.",
        ],
        misconceptions=[
            Misconception("swapped", "The normally-closed one is already open, and the normally-open one misses bumps.",
                          "You have the two the wrong way round: which one is locked before a bump comes?"),
            Misconception("quicker to open", "The normally-open one reacts faster to a bump.",
                          "It does not open more quickly. It does not have to open at all."),
            Misconception("fast enough", "Ten samples are enough to catch every bump, a moment late.",
                          "A reading lasts 6 ms, samples come every 100: of a hundred roots it would notice six."),
            Misconception("closed never misses",
                          "The closed one never misses a bump, since it is already firm when it comes.",
                          "It is the one that has to notice bumps, and it notices few of them."),
            Misconception("bump makes it firm", "It is already open, and a bump makes it firm a moment late.",
                          "A bump makes no selector firm: a bump opens it. The legs make this one firm."),
            Misconception("no difference", "There is no difference between open and closed at ten samples.",
                          "On the descent normally closed has 6.27 m/s² at 10 Hz, normally open 4.45."),
        ],
        model="The normally-open valve is already open when a bump comes, so nothing has to be sensed in time. It goes "
        "firm up to a tenth of a second after the legs begin, which hardly matters, and it opens up to a tenth of a "
        "second after they stop: at 10 m/s a metre ridden firm. A normally-closed valve is firm until a bump is "
        "noticed, and at ten samples a second most readings, which last a few ms, fall between two samples.",
        hints=["Where is each valve at the moment in which the wheel strikes a root?",
               "The legs begin, the legs stop: what must the valve do each time, and when does the computer look?",
               "How long does a reading of a bump last, and how far apart are the samples?"],
    ),
    Design(
        key="E9", title="A box for the carrier (extra)", kind="open",
        question=lambda n: "Design the carrier's own box. Every sample costs 2 mJ (200 a second: 0.4 W), and a valve "
        f"whose dead time and motion take $t$ ms together needs {n.cost}/$t$ W (both invented; workbook 08 says why a "
        f"quick valve takes power). A pump shakes the frame at {n.line} Hz, and there may be other lines. Choose "
        f"sample rate, cut-off and valve so that the power is at most {n.power / 100:g} W, at most {n.left} % is left "
        "of anything that could fold below 20 Hz, the pump is seen at 30 Hz or above, and the mean age is at most "
        f"{_oldest(n):.2f} ms. Computer, bus and jitter are those of the present box. The carrier's descent is then "
        f"ridden with your box, the law told the speed: at most {_roughest(n):.3f} m/s².",
        numbers=[Draw("power", 200, 360, 40), Draw("cost", 10, 18, 2), Draw("left", 20, 50, 10),
                 Draw("line", 260, 410, 10)],
        parameters=[
            Parameter("sample_rate", "sample rate", 50.0, 2000.0, "Hz"),
            Parameter("cutoff", "cut-off of the first-order filter", 10.0, 1000.0, "Hz"),
            Parameter("valve", "dead time and motion of the valve together", 2.0, 40.0, "ms"),
        ],
        judge=_judge,
        passing=lambda n: dict(zip(("sample_rate", "cutoff", "valve"),
                                   (f"{value:g} {unit}" for value, unit in
                                    zip(_reference(n), ("Hz", "Hz", "ms"), strict=True)), strict=True)),
        solution="Three stages can be bought. The cut-off is bought with the rate: the highest that E4 allows, since "
        "each Hz less costs age. So the rate shortens two stages, wait and filter, and the valve gets the watts that "
        "are left. Each tenth of a watt goes where it takes away most; near the least age, moving one to and fro "
        "changes next to nothing. Then look where the pump folds to: moving the rate aside is nearly free.",
        hints=["Take a rate. E4 gives its cut-off, the power that is left gives the valve. Add up the age.",
               "Do that for four or five rates, 200 to 800 Hz, and look for the least age.",
               "Fold the pump's line at your rate, as in E3. If it lands below 30 Hz, move the rate by a tenth."],
    ),
]  # fmt: skip
