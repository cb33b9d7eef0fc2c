"""Exercises of workbook 05: budgets of age, folded lines, filters, lags, what the figure shows, and a design."""

import math
from functools import lru_cache
from types import SimpleNamespace

import numpy as np

from helpers.course import Skyhook, Timing, budget, carrier, fell_loop, ride
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

SAMPLE_COST = 0.002  # W per sample a second: invented for the course
BAND = 30.0  # Hz, up to which the law must see true: the wheel's hop and a little more
CLEAR = 40.0  # Hz, above which the pump must be seen


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


# --- the design ---------------------------------------------------------------------------------------------------


def _timing(rate, cutoff, valve):
    """A chain of that rate in Hz, cut-off in Hz and valve in ms; the rest as in the present one."""
    return Timing(
        sample_rate=rate, sensor_filter=cutoff, compute=1e-3, bus=5e-4, jitter=1e-3,
        valve_dead_time=4e-3 * valve / 7.5, valve_time_constant=3.5e-3 * valve / 7.5,
    )  # fmt: skip


@lru_cache
def _ridden(rate, cutoff, valve):
    """Vibration of the carrier's descent, m/s2."""
    return ride(carrier, fell_loop().descent, Skyhook(2.0 * carrier.damping), _timing(rate, cutoff, valve)).vibration


def _age(rate, cutoff, valve):
    """Mean age, ms."""
    return budget(_timing(rate, cutoff, valve)).mean


def _seen_at(line, rate):
    """Where a line appears between samples, Hz."""
    return abs(line - rate * round(line / rate))


def _left(frequency, cutoff):
    """Share of a line that the first-order filter leaves."""
    return 1.0 / math.hypot(1.0, frequency / cutoff)


def _needed(n, rate):
    """Cut-off in Hz, rounded down, that leaves what is asked of all that folds below the band's edge."""
    return math.floor((rate - BAND) / math.sqrt((0.01 * n.left) ** -2 - 1.0))


@lru_cache
def _best(power, cost, left, line):
    n = SimpleNamespace(power=power, cost=cost, left=left, line=line)
    most = 0.01 * power / SAMPLE_COST
    boxes = [
        (rate, float(_needed(n, rate)), math.ceil(100.0 * cost / (0.01 * power - SAMPLE_COST * rate)) / 100.0)
        for rate in np.arange(100.0, 0.7 * most, 10.0).tolist()
        if _seen_at(line, rate) >= CLEAR
    ]
    return min(boxes, key=lambda box: _age(*box))


def _reference(n):
    """(rate, cut-off, valve): the least age for the power, at rates where the pump stays clear."""
    return _best(n.power, n.cost, n.left, n.line)


def _oldest(n):
    """The age in ms that is asked for: 1 % above the least, rounded up to tenths."""
    return math.ceil(10.1 * _age(*_reference(n))) / 10.0


def _roughest(n):
    return math.ceil(101.0 * _ridden(*_reference(n))) / 100.0


def _judge(values, n):
    rate, cutoff, valve = values.sample_rate, values.cutoff, values.valve
    edge = max(rate - BAND, 0.0)
    return [
        Criterion("power", SAMPLE_COST * rate + n.cost / valve, n.power / 100.0, "W",
                  advice="Fewer samples, or a slower valve."),
        Criterion("left of what folds below 30 Hz", 100.0 * _left(edge, cutoff), n.left,
                  "%", advice="A lower cut-off, or more samples a second, as in E4."),
        Criterion("pump seen at", _seen_at(n.line, rate), CLEAR, "Hz", "at least",
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
        "such a number in mind when this page speaks of 16 ms.",
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
        key="P", title="Four times the sample rate",
        question="The present chain takes 125 samples a second, and on average its valve acts on news 16.2 ms old. "
        "Board A takes 500; all else stays. How old is the news then, on average?",
        options={
            "a": "4 ms: four times the rate, a quarter of the age",
            "b": "about 10 ms: all that is electronic gets four times as quick",
            "c": "13.2 ms: one stage gets four times as quick on average, the others stay",
            "d": "10.2 ms: the wait was 8 ms and is now 2 ms, the others stay",
        },
        answer="c",
        feedback={
            "a": "Only the wait for the next sample is shortened to a quarter, from 4 ms on average to 1. The other "
            "12.2 ms know nothing of the rate.",
            "b": "Filter, computer, bus and jitter are electronic, too, and they stay: together 4.7 ms. Only the wait "
            "knows the rate.",
            "c": "The wait falls from 4 to 1 ms on average, so 16.2 becomes 13.2 ms. Vibration falls from 3.97 to "
            "3.76 m/s², the mean of six loops.",
            "d": "8 ms is the longest wait, and the worst case does fall by 6 ms. On average the wait is half a "
            "period: 4 ms before, 1 after.",
        },
    ),
    Choice(
        key="S1", title="Fewer samples",
        question="Set the sample rate to 25 Hz, the rest as it was. By how much does the mean age grow?",
        options={
            "a": "by 16 ms", "b": "by 32 ms", "c": "to five times what it was",
        },
        answer="a",
        feedback={
            "a": "The period grows from 8 to 40 ms, the mean wait from 4 to 20. The bar through the dot, best to "
            "worst, becomes longer still: the best case knows nothing of the rate.",
            "b": "That is how much the period grows, and so the worst case. An event falls anywhere in a period, so "
            "the mean wait grows by half of it.",
            "c": "Only the wait is five times as long. All else stays.",
        },
    ),
    Choice(
        key="S2", title="The filter nobody touched",
        question="Reset. Set the rate to 500 Hz, then the cut-off to 300 Hz. What does the second step bring, "
        "compared with the first?",
        options={
            "a": "about two thirds as much", "b": "nothing: a filter is not a delay", "c": "three times as much",
        },
        answer="a",
        feedback={
            "a": "The rate takes 3.0 ms, the cut-off another 2.2, and vibration follows: 3.94, 3.79, 3.72 m/s². The "
            "higher cut-off is safe only because lines now fold from 470 Hz on.",
            "b": "A filter of first order brings slow motion late by one over two pi times its cut-off: 2.7 ms at "
            "60 Hz, 0.5 ms at 300.",
            "c": "A filter cannot give back more than its own delay, here 2.7 ms.",
        },
    ),
    Choice(
        key="S3", title="Two chains of one age",
        question="Chain one: 500 Hz, 60 Hz, valve 14 ms. Chain two: 50 Hz, 60 Hz, valve 5 ms. Both mean ages are "
        "19.7 ms. Which one rides rougher?",
        options={
            "a": "neither by more than a few per cent", "b": "the second, by far",
            "c": "the first, by far",
        },
        answer="a",
        feedback={
            "a": "4.03 and 4.07 m/s². The worst cases differ, 21.2 against 30.2 ms, the means do not, and the ride "
            "follows the mean.",
            "b": "Its worst case is much older, 30.2 against 21.2 ms. But the ride follows the mean: 4.07 against 4.03 "
            "m/s².",
            "c": "A millisecond of valve is no worse than one of waiting: 4.03 against 4.07 m/s².",
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
        "average. By how many per cent does it fall at five times the rate? Fill the gap, then give the fall: it is "
        "$\\frac{4}{5}\\cdot\\_\\_\\_$ ms, over the mean age.",
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
        key="E4", title="What does the filter cost?",
        question=lambda n: f"A first-order filter must leave at most {n.left} % of anything that could fold below "
        f"{n.band} Hz. The box takes {n.rate} samples a second. By how many ms does the filter delay slow signals?",
        numbers=[Draw("rate", 200, 400, 50), Draw("band", 25, 35, 5), Draw("left", 20, 40, 5)],
        answer=_filter_delay, unit="ms", tolerance=0.01,
        hints=[
            "Into the band up to $B$ (the page: 30 Hz) folds what lies above $f_s - B$. What must the filter do there?",
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
    Choice(
        key="E5", title="Where is the next millisecond cheapest?",
        question="A trail bike's chain has, on average, 0.5 ms of filter, 1 ms of wait, 3 ms of computer and bus, and "
        "9.5 ms of valve. From about 10 ms on it gains nothing on the calmest fixed damper. Which of four changes "
        "of one price makes the chain worth having?",
        options={
            "a": "five times the sample rate",
            "b": "a computer and a bus twice as quick",
            "c": "a valve that takes a third of its time",
            "d": "none: it is stable, so it is worth having already",
        },
        answer="c",
        feedback={
            "a": "Of 1 ms of wait four fifths go: 13.2 ms, still too late. The largest factor stands at one of the "
            "smallest stages.",
            "b": "1.5 ms go: 12.5 ms, still too late.",
            "c": "6.3 ms go: 7.7 ms, well below 10. The largest stage has the most to give.",
            "d": "Useful ends long before stable does. At 14 ms a fixed damper is calmer.",
        },
    ),
    ShortText(
        key="E6", title="Ten samples a second",
        question="To save the spare bike's battery, Tomas lets its selector take ten samples a second. It is normally "
        "open, and the legs alone make it firm. Why does a bump not have to be sensed here, which two "
        "things come late nevertheless, and what would go wrong in a normally-closed one?",
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
                          "A reading lasts some ms, samples come every 100: most roots slip through."),
            Misconception("closed never misses",
                          "The closed one never misses a bump, since it is already firm when it comes.",
                          "It is the one that has to notice bumps, and it notices few of them."),
            Misconception("bump makes it firm", "It is already open, and a bump makes it firm a moment late.",
                          "A bump makes no selector firm: a bump opens it. The legs make this one firm."),
            Misconception("no difference", "There is no difference between open and closed at ten samples.",
                          "On the descent normally closed has 6.3 m/s² at 10 Hz, normally open 4.4."),
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
        key="E7", title="A chain for the carrier (extra)", kind="open",
        question=lambda n: "Design the carrier's own chain. A sample costs 2 mJ, a valve whose dead time and motion "
        f"take $t$ ms together {n.cost}/$t$ W (both invented). A pump shakes the frame at {n.line} Hz. The power is to "
        f"be at most {n.power / 100:g} W, at most {n.left} % left of what could fold below 30 Hz, the pump seen at "
        f"40 Hz or above, the mean age at most {_oldest(n):.1f} ms, computer, bus and jitter as they are, and "
        f"vibration on its descent at most {_roughest(n):.2f} m/s².",
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
               "Fold the pump's line at your rate, as in E3. If it lands below 40 Hz, move the rate by a tenth."],
    ),
]  # fmt: skip
