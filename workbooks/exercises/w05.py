"""Exercises of workbook 05: budgets of age, folded lines, filters, lags, readings between samples, and a design."""

import math
from functools import lru_cache

from helpers.control import sampling
from helpers.control.timing import Timing
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
from scenes.w05_rides import BAND, CARRIER, LINE_STRENGTH, with_box

SAMPLE_COST, VALVE_COST = 0.002, 12.0  # W per sample a second; W times ms of the valve: invented for the course
LINE_LIMIT = 1.0  # m/s2


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


def _spare(n, periods=0.5):
    """Delay that a held loop still bears, ms."""
    return n.phase / (0.36 * n.cross) - periods * 1e3 / n.rate


def _seen(n):
    return 0.1 * n.last * n.rate


# --- the design ---------------------------------------------------------------------------------------------------


@lru_cache
def _ridden(rate, cutoff, valve):
    """Vibration of the carrier's descent, m/s2, with a box of that rate in Hz, cut-off in Hz and valve in ms."""
    timing = Timing(
        sample_rate=rate, sensor_filter=cutoff, compute=5e-4, bus=5e-4, jitter=1e-3,
        valve_dead_time=5e-3 * valve / 9.0, valve_time_constant=4e-3 * valve / 9.0,
    )  # fmt: skip
    return with_box(CARRIER, timing)


def _reference(n):
    """(rate, cut-off, valve): the least age for the power, the rate moved aside where the line would fold in."""
    power = n.power / 100.0
    best = power / (SAMPLE_COST * (1.0 + math.sqrt(VALVE_COST / (500.0 * SAMPLE_COST))))
    rate = next(r for r in (10.0 * round(best * f / 10.0) for f in (1.0, 0.85, 1.15, 0.75))
                if sampling.alias(n.line, r) > BAND + 2.0)  # fmt: skip
    valve = VALVE_COST / (power - SAMPLE_COST * rate)
    return rate, 300.0, math.ceil(100.0 * valve) / 100.0


def _limit(n):
    return math.ceil(1005.0 * _ridden(*_reference(n))) / 1000.0


def _judge(values, n):
    rate, cutoff, valve = values.sample_rate, values.cutoff, values.valve
    left = LINE_STRENGTH * float(sampling.butterworth_gain(n.line, cutoff, 1))
    return [
        Criterion("power", SAMPLE_COST * rate + VALVE_COST / valve, n.power / 100.0, "W",
                  advice="Fewer samples, or a slower valve."),
        Criterion("line folded below 20 Hz", left if sampling.alias(n.line, rate) <= BAND else 0.0, LINE_LIMIT,
                  "m/s^2", advice="Move the rate aside, or lower the cut-off and pay for it in age."),
        Criterion("vibration", _ridden(rate, cutoff, valve), _limit(n), "m/s^2",
                  advice="Write down the budget: which stage is the largest for the power it takes?"),
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
            "b": "about 7.5 ms: what is electronic gets quicker, the valve does not",
            "c": "13 ms",
            "d": "15 ms as before: the valve decides alone",
        },
        answer="c",
        feedback={
            "a": "Only the wait for the next sample is shortened to a fifth, from 2.5 ms on average to 0.5. The other "
            "12.5 ms know nothing of the rate.",
            "b": "Filter, computer, bus and jitter are electronic, too, and they stay: together 3.5 ms.",
            "c": "The wait falls from 2.5 to 0.5 ms on average, so 15.0 becomes 13.0 ms, 13 % less. On the bike's "
            "descent that is 3.83 instead of 3.95 m/s²; the quicker valve of box B has 3.64.",
            "d": "The wait is a part of the chain like any other: its average falls from 2.5 to 0.5 ms. The worst case "
            "gains more, 18 to 14 ms.",
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
        ],
        solution=lambda n: f"The period is {1e3 / n.rate:.3g} ms, so the wait is {500.0 / n.rate:.3g} ms on average; "
        f"the jitter {0.5 * n.jitter:g} ms. ${500.0 / n.rate:.3g} + {n.compute} + {0.5 * n.jitter:g} + {n.dead} + "
        f"{n.motion}$ is {_mean(n):.3g} ms.",
    ),
    Numeric(
        key="E2", title="Five times the rate", kind="gap",
        question=lambda n: f"A box samples {n.rate} times a second; what its valve acts on is {n.age} ms old on "
        "average. By how many per cent does the mean age fall if only the sample rate is made five times as high? Fill "
        "the gap: the fall is $\\frac{4}{5}\\cdot\\_\\_\\_$, over the mean age.",
        numbers=[Draw("rate", 150, 300, 50), Draw("age", 16, 26, 1)],
        answer=_gone, unit="%",
        hints=[
            "Which part of the age depends on the rate at all?",
            "The mean wait is half a period, $1/(2 f)$; a fifth of it remains.",
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
        numbers=[Draw("rate", 120, 300, 20), Draw("times", 2, 3, 1), Draw("off", 12, 40, 2), Draw("above", 0, 1, 1)],
        answer=lambda n: float(n.off), unit="Hz",
        hints=[
            "Samples cannot tell a line from one that lies a whole multiple of the rate away.",
            "$|f - k f_s|$ with the whole number $k$ that makes it least.",
            "Which multiple of the rate lies nearest to the line?",
        ],
        slips=[
            Slip("one rate", lambda n: float(_line(n) - n.rate), "You took the rate away once; go on until what is "
                 "left lies below half the rate."),
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
        numbers=[Draw("rate", 200, 400, 50), Draw("band", 20, 30, 5), Draw("left", 10, 25, 5)],
        answer=_filter_delay, unit="ms", tolerance=0.01,
        hints=[
            "The lowest line that folds below the band's edge $B$ lies at $f_s - B$. What must the filter do there?",
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
        numbers=[Draw("hop", 12, 28, 1), Draw("age", 5, 18, 1)],
        answer=_lag, unit="deg",
        hints=[
            "A whole swing is 360 degrees. Which part of a swing has passed?",
            "Lag is $360^\\circ\\cdot f\\,\\tau$.",
            "Put the age in seconds before you multiply.",
        ],
        slips=[
            Slip("milliseconds", lambda n: 360.0 * n.hop * n.age, "The age went in as ms: divide it by 1000."),
            Slip("half", lambda n: 0.5 * _lag(n), "The mean age is in already; there is nothing left to halve."),
            Slip("share of a swing", lambda n: n.hop * n.age / 1e3, "That is the share of a swing: times 360 in "
                 "degrees."),
        ],
        solution=lambda n: f"$360\\cdot{n.hop}\\cdot{n.age / 1e3:g} = {_lag(n):.4g}$ degrees.",
    ),
    Numeric(
        key="E6", title="What is left of a delay margin?",
        question=lambda n: f"The gain of an actuator's loop crosses one at {n.cross:.1f} Hz, with a phase margin of "
        f"{n.phase}°. Its commands are held at {n.rate} samples a second. Which delay does it bear besides?",
        numbers=[Draw("cross", 2.4, 4.0, 0.2), Draw("phase", 70, 100, 5), Draw("rate", 20, 40, 5)],
        answer=_spare, unit="ms",
        hints=[
            "The phase margin says how far the loop may turn before it swings on its own.",
            "Turned into time it is $\\varphi/(360^\\circ f)$. The hold has used up half a period.",
            "Work out the whole margin in ms, then take half a period away.",
        ],
        slips=[
            Slip("no hold", lambda n: _spare(n, 0.0), "That is the margin before sampling; the hold takes half a "
                 "period of it."),
            Slip("whole period", lambda n: _spare(n, 1.0), "A held value is late by half a period, not by a whole "
                 "one."),
            Slip("radians", lambda n: 1e3 * n.phase / (2.0 * math.pi * n.cross) - 500.0 / n.rate,
                 "Degrees over radians: a whole turn is 360° here."),
        ],
        solution=lambda n: f"${n.phase}/(360\\cdot{n.cross:.1f})$ s is {n.phase / (0.36 * n.cross):.4g} ms; half a "
        f"period is {500.0 / n.rate:.4g} ms. Left are {_spare(n):.4g} ms.",
    ),
    Numeric(
        key="E7", title="Between two samples",
        question=lambda n: f"A root makes the sensor read more than the threshold for {n.last} ms. The box takes "
        f"{n.rate} samples a second, without a filter. How many per cent of such roots does it notice?",
        numbers=[Draw("last", 2, 6, 1), Draw("rate", 20, 70, 10)],
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
        solution=lambda n: f"The period is {1e3 / n.rate:.4g} ms, and {n.last} ms of it are covered: {_seen(n):.3g} %. "
        "The rest falls between two samples.",
    ),
    ShortText(
        key="E8", title="Ten samples a second",
        question="To save the spare bike's battery, Tomas lets its selector take ten samples a second. It is normally "
        "open, and the legs alone make it firm. In one or two sentences: why does that do no harm here, and why would "
        "it in a normally-closed one?",
        ideas=[
            Idea((r"already (open|soft)", r"(is|was|stays?|rests?|stands?|lies) (already |still |always |then )?"
                  r"(open|soft)\b.{0,40}(bump|root|rock|knock|hit|strik|before|anyway|without)",
                  r"(open|soft) (anyway|already|before|when|by itself|at rest|whatever|without|for every)",
                  r"(bump|root|rock|knock)\w* (\w+ ){0,3}(meets?|finds?) (\w+ ){0,3}(open|soft)",
                  r"(need|has|have|does)\w* (\w+ ){0,2}(not|nothing|no) (\w+ ){0,2}(open|move|sens|see|notice)",
                  r"nothing (has|needs) to", r"open.{0,40}(every|any|each|all) (bump|root|rock|knock)",
                  r"(no|not any) (bump|root|knock)\w* (\w+ ){0,4}(sens|notic|seen|found)"),
                 "Say where the normally-open valve is when a bump comes."),
            Idea((r"firm\w* (\w+ ){0,4}(late|later|delay|tenth|moment|100 ms|0\.1)",
                  r"(late|later|delay\w*|tenth|100 ms|0\.1 s|moment|wait\w*)\b.{0,60}(firm|lock|clos)",
                  r"(firm|lock|clos)\w*.{0,60}\b(late|later|delay\w*|tenth|100 ms|0\.1 s|moment)", r"bob"),
                 "Say what a slow sample costs the normally-open one: what comes late?"),
            Idea((r"miss\w*", r"overlook", r"between (two |the )?samples",
                  r"(not|never|cannot|does ?n.t|hardly) (\w+ ){0,2}"
                  r"(see|sees|seen|notice\w*|catch\w*|sens\w*|find\w*)", r"slips? (through|past)", r"over (before|by)",
                  r"(still|stays?|remains?|is) (firm|locked|closed|shut)", r"(short|brief|few ms|6 ms|few milli)"),
                 "Say what happens to bumps that a normally-closed valve must notice."),
        ],
        misconceptions=[
            Misconception("quicker to open",
                          (r"(normally.open|it|open one|open valve)\b.{0,30}(reacts?|opens|responds?) (\w+ ){0,2}"
                           r"(faster|quicker|sooner|more quickly)",),
                          "It does not open more quickly. It does not have to open at all.",
                          "The normally-open one reacts faster to a bump, and closed is locked and misses it."),
            Misconception("fast enough",
                          (r"(ten|10) (samples|hz|times)\b.{0,40}(is|are) (\w+ )?(enough|sufficient|fast|plenty) "
                           r"(\w+ ){0,2}(to|for) (\w+ ){0,2}(catch|see|sense|notice|find|feel)",
                           r"(enough|sufficient) (\w+ ){0,2}to (catch|see|sense|notice|find) (\w+ ){0,2}(bump|root)"),
                          "A reading lasts 6 ms, samples come every 100: of a hundred roots it would notice six.",
                          "Ten samples are enough to catch every bump, a moment late."),
            Misconception("closed never misses", (r"closed\b.{0,40}(never|not|does ?n.t) (\w+ )?miss",
                                                      r"miss\w* (nothing|none|no (bump|root))"),
                          "It is the one that has to notice bumps, and it notices few of them.",
                          "The closed one never misses a bump, since it is already firm when it comes."),
            Misconception("bump makes it firm",
                          (r"(bump|root|knock)\w* (\w+ ){0,2}(makes?|turns?|sets?|tells?|gets?) (\w+ ){0,3}firm",),
                          "A bump makes no selector firm: a bump opens it. The legs make this one firm.",
                          "It is already open and a bump makes it firm a moment late."),
            Misconception("no difference", (r"no difference", r"same (for|in) (both|either)"),
                          "On the descent normally closed has 6.47 m/s² at 10 Hz, normally open 4.46.",
                          "There is no difference between open and closed at ten samples."),
        ],
        model="The normally-open valve is already open when a bump comes, so nothing has to be sensed in time; all "
        "that a slow sample costs is that it goes firm up to a tenth of a second late. A normally-closed valve is firm "
        "until a bump is noticed, and at ten samples a second most readings, which last a few ms, fall between two "
        "samples.",
        hints=["Where is each valve at the moment in which the wheel strikes a root?",
               "How long does a reading last, and how far apart are the samples?",
               "What comes late in the normally-open one, and does it hurt?"],
    ),
    Design(
        key="E9", title="A box for the carrier", kind="open",
        question=lambda n: "Design the carrier's own box. Every sample costs 2 mJ (200 a second: 0.4 W), and a valve "
        "whose dead time and motion take $t$ ms together needs 12/$t$ W (both invented; workbook 08 says why a quick "
        f"valve takes power). A pump shakes the frame at {n.line} Hz with 10 m/s². Choose sample rate, cut-off and "
        f"valve so that the power is at most {n.power / 100:g} W, no more than 1 m/s² of the pump lands below 20 Hz, "
        f"and vibration on the descent is at most {_limit(n):.3f} m/s². The descent is ridden with your box, the law "
        "told the speed; computer, bus and jitter are those of the present box.",
        numbers=[Draw("power", 240, 360, 10), Draw("line", 260, 410, 10)],
        parameters=[
            Parameter("sample_rate", "sample rate", 50.0, 2000.0, "Hz"),
            Parameter("cutoff", "cut-off of the first-order filter", 10.0, 500.0, "Hz"),
            Parameter("valve", "dead time and motion of the valve together", 2.0, 20.0, "ms"),
        ],
        judge=_judge,
        passing=lambda n: dict(zip(("sample_rate", "cutoff", "valve"),
                                   (f"{value:g} {unit}" for value, unit in
                                    zip(_reference(n), ("Hz", "Hz", "ms"), strict=True)), strict=True)),
        solution="Age is half a period and the valve's time, and a few ms that are not yours to choose. Each watt goes "
        "where it takes away most: 1 kHz alone would eat 2 W for the last 1.5 ms, and starve the valve. The least sum "
        "lies near a quarter of the power for samples and three quarters for the valve. Then look where the pump folds "
        "to: moving the rate aside is free, a low cut-off is not.",
        hints=["Write the mean age as a sum of two terms that you can buy.",
               "Spend all the power. Try it in halves first, then move some from samples to the valve and look.",
               "Fold the pump's line at your rate, as in E3. If it lands below 20 Hz, move the rate by a tenth."],
    ),
]  # fmt: skip
