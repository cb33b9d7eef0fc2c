"""Exercises of workbook 07: the warning, nulls, coupled ends, a wrong speed, and a rear valve told by the front."""

from dataclasses import replace
from functools import lru_cache
from math import floor, sqrt
from types import SimpleNamespace

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
from scenes import w07_tables as tables

LENGTH = tables.BIKE.wheelbase


def _reach(n):
    """Metres ridden in the latency of R1."""
    return n.speed * n.latency_ms / 1e3


def _left(n):
    """Milliseconds between the earliest opening and the root at the rear wheel."""
    return 1e3 * n.wheelbase / (n.speed_kmh / 3.6) - n.latency_ms


def _null(n):
    return n.speed / (2.0 * n.wheelbase)


def _pace(n):
    return 3.6 * n.mode * n.wheelbase


def _too_low(n):
    """Largest error towards slow in per cent."""
    warning = 1e3 * n.wheelbase / n.speed
    return 100.0 * n.lead_ms / (warning + n.lead_ms)


def _arms(n):
    """Distances of the axles from the mass centre in m: front, rear."""
    whole = n.front + n.rear
    return n.wheelbase * n.rear / whole, n.wheelbase * n.front / whole


def _gyration(n):
    a, b = _arms(n)
    return sqrt(a * b)


def _ahead(n):
    return n.speed * (n.latency_ms + n.lead_ms) / 1e3


# --- the design -----------------------------------------------------------------------------------------------------


# Errors in per cent: none of these is served by a lead and a hold time that the page prints.
MAGNETS = (12, 13, 14, 24, 25, 26, 27, 28, 29, 30)


def _error(n):
    return MAGNETS[n.magnet]


def _pace_of(n):
    return 3.0 + 0.5 * n.pace


def _needed(n):
    """Lead in s that a speed read too low uses up."""
    share = _error(n) / 100.0
    return LENGTH / _pace_of(n) * share / (1.0 - share)


def _earlier(n):
    """By how many s the valve opens sooner than planned with the speed read too high."""
    share = _error(n) / 100.0
    return LENGTH / _pace_of(n) * share / (1.0 + share)


def _climb(n, rule):
    return tables.section_ride("climb", rule, seed=n.loop, speed=_pace_of(n))


def _model(n):
    """Lead and hold time in ms of a design that passes."""
    lead = round(1e3 * _needed(n)) + 10
    return lead, lead + round(1e3 * _earlier(n)) + 210


@lru_cache(maxsize=64)
def _limits(magnet, pace, loop):
    """Vibration in m/s2 and lock in %: a valve told right that stays open amply, and a design that passes."""
    n = SimpleNamespace(magnet=magnet, pace=pace, loop=loop)
    lead, hold = _model(n)
    right = _climb(n, replace(tables.RULE, lead=1e-3 * lead, hold=1e-3 * lead + 0.3)).rear
    lasts = _climb(n, replace(tables.RULE, lead=1e-3 * lead, hold=1e-3 * hold)).locked
    return round(right + 0.07, 2), floor(100.0 * lasts - 1.0)


def _judge(values, n):
    rule = replace(tables.RULE, lead=values.lead, hold=values.hold)
    error, (shaken, held) = _error(n), _limits(n.magnet, n.pace, n.loop)
    low, high = tables.off(rule, -error), tables.off(rule, error)
    placed = low.placement(LENGTH, _pace_of(n)), high.placement(LENGTH, _pace_of(n))
    late, after = -1e3 * placed[0].opens_before, 1e3 * placed[1].closes_after
    slow = (
        f"By the rule the valve opens {late:.0f} ms after the root has come: what does the wrong estimate add to the "
        "wait?"
        if late > 0.0
        else "It is open in time, but not for long enough: when does it close?"
    )
    gone = f"{after:.0f} ms after the root has come" if after >= 0.0 else f"{-after:.0f} ms before the root comes"
    return [
        Criterion(f"vibration on the climb, speed read {error} % low", _climb(n, low).rear, shaken, "m/s^2", "at most",
                  slow),
        Criterion(f"vibration on the climb, speed read {error} % high", _climb(n, high).rear, shaken, "m/s^2",
                  "at most", f"By the rule the valve begins to close {gone}: the wheel still works on the root."),
        Criterion("rear locked on the climb, speed true", 100.0 * _climb(n, rule).locked, held, "%", "at least",
                  "Every ms of hold time is paid for at each bump, and every ms of lead needs one of hold time."),
    ]  # fmt: skip


def _passing(n):
    lead, hold = _model(n)
    return {"lead": f"{lead} ms", "hold": f"{hold} ms"}


EXERCISES = [
    Numeric(
        key="R1", title="Recall: distance before response",
        question=lambda n: f"From workbook 06: a machine rolls at {n.speed} m/s, and its valve has moved "
        f"{n.latency_ms} ms after the wheel was struck. How far has the wheel gone by then?",
        numbers=[Draw("speed", 4, 18, 1), Draw("latency_ms", 4, 24, 1)],
        answer=lambda n: 1e3 * _reach(n), unit="mm",
        hints=["Distance is speed times time.", "$x = v\\,t$.",
               lambda n: f"Put {n.latency_ms} ms as seconds, multiply, and turn the metres into millimetres."],
        slips=[
            Slip("centimetres", lambda n: 100.0 * _reach(n), "That is in centimetres; the question asks for mm."),
            Slip("divided", lambda n: 1e3 * n.speed / n.latency_ms, "Speed over time is not a distance: multiply."),
            Slip("km/h", lambda n: 1e3 * _reach(n) / 3.6, "The speed is in m/s already: do not divide by 3.6."),
        ],
        solution=lambda n: f"${n.speed}\\cdot{n.latency_ms / 1e3:g}$ m, which is {1e3 * _reach(n):g} mm.",
    ),
    Choice(
        key="R2", title="Recall: a bump while open",
        question="From workbook 04: a normally-closed selector with a hold time of 0.5 s is open and reads another "
        "bump 0.2 s after the first. When does it close, if no more bumps come?",
        options={
            "a": "0.5 s after the first bump",
            "b": "0.7 s after the first bump",
            "c": "1.0 s after the first bump",
        },
        answer="b",
        feedback={
            "a": "The second bump starts the clock again.",
            "b": "The clock starts again at the second bump: 0.2 s and then 0.5 s.",
            "c": "Hold times do not add up; the clock starts again.",
        },
    ),
    Choice(
        key="P", title="A speed that is wrong",
        question="The trail bike at 10 m/s meets a root of 50 mm. Its front wheel tells the rear valve, which is to "
        "open 20 ms before the root comes and stays open for half a second. Above the rear wheel the body's peak "
        "acceleration is 23.1 m/s² with the valve always open, 36.6 locked. Now the speed is read wrong, once 30 % "
        "too low, once 30 % too high. What does the rear get?",
        options={
            "a": "about 37 both times: a valve that opens at the wrong time is as good as locked",
            "b": "about 37 if read too low, about 22 if read too high",
            "c": "about 22 if read too low, about 37 if read too high",
            "d": "about 22 both times: half a second of hold time covers either error",
        },
        answer="b",
        feedback={
            "a": "Wrong, but in two ways. The valve opens either 31 ms after the root has come, or 48 ms before, and "
            "that one stays open until at least 452 ms after it.",
            "b": "36.7 and 21.6 m/s². Read too low, the computer waits 151 ms where 100 would be right, and the root "
            "is there at 120. Read too high, it opens at 72 ms and is still open when the root comes.",
            "c": "The other way round: a speed read too low makes the wait $L/v$ too long, so the valve is late.",
            "d": "The hold time covers what opens too early. No hold time helps a valve that has not opened yet.",
        },
    ),
    Numeric(
        key="E1", title="Time to spare", kind="worked",
        question=lambda n: f"A stranger's machine has a wheelbase of {n.wheelbase:g} m and rolls at {n.speed_kmh} "
        f"km/h. From the front wheel's sensing to a valve that has moved it takes {n.latency_ms} ms. How long before "
        "the root arrives could the rear valve be open at the earliest?",
        numbers=[Draw("wheelbase", 1.1, 1.4, 0.05), Draw("speed_kmh", 36, 54, 1), Draw("latency_ms", 12, 20, 1)],
        answer=_left, unit="ms",
        hints=["How long is it from the front's root to the rear's, and what has to be done in that time?",
               "$L/v - t_\\mathrm{latency}$.",
               lambda n: f"Turn {n.speed_kmh} km/h into m/s before you divide the wheelbase by it."],
        slips=[
            Slip("km/h", lambda n: 1e3 * n.wheelbase / n.speed_kmh - n.latency_ms,
                 "The speed went in as km/h: divide it by 3.6 first."),
            Slip("no latency", lambda n: _left(n) + n.latency_ms,
                 "That is the whole warning. The latency is taken from it."),
            Slip("added", lambda n: _left(n) + 2.0 * n.latency_ms,
                 "The latency is spent, not gained: subtract it."),
            Slip("as a delay", lambda n: -_left(n), "The size is right. Asked is how long *before* the root."),
        ],
        solution=lambda n: f"${n.speed_kmh}/3.6 = {n.speed_kmh / 3.6:.4g}$ m/s, so the warning is "
        f"${n.wheelbase:g}/{n.speed_kmh / 3.6:.4g}$ s, {_left(n) + n.latency_ms:.1f} ms; less {n.latency_ms} ms it is "
        f"{_left(n):.1f} ms.",
    ),
    Numeric(
        key="E2", title="The ground that does not lift", kind="gap",
        question=lambda n: f"A motorcycle with a wheelbase of {n.wheelbase:g} m rides at {n.speed} m/s over waves. "
        "The lowest frequency at which the two wheels together do not lift it is $f = v\\,/\\,(\\_\\_\\_\\cdot L)$. "
        "Fill the gap and give the frequency in Hz.",
        numbers=[Draw("wheelbase", 1.3, 1.6, 0.05), Draw("speed", 7, 16, 1)],
        answer=_null, unit="Hz",
        hints=["When one wheel is on a crest, where must the other be for the mean of both to stand still?",
               "Bounce nulls lie at $(n+\\tfrac12)\\,v/L$, from $n = 0$.",
               "The lowest is half of one number over another."],
        slips=[
            Slip("pitch null", lambda n: 2.0 * _null(n), "That is the first *pitch* null: there both wheels rise at "
                 "once, so the ground lifts the machine and does not tip it."),
            Slip("the gap", lambda n: 2.0, "That is the number in the gap. Now put it in: the frequency is asked."),
            Slip("period", lambda n: 1.0 / _null(n), "That is upside down: the time of one wave, in s."),
            Slip("rad/s", lambda n: 6.283185307 * _null(n), "That is in rad/s; divide by $2\\pi$."),
            Slip("second null", lambda n: 3.0 * _null(n), "That is a bounce null, but the second one, with $n = 1$."),
        ],
        solution=lambda n: f"The gap is 2: $f = {n.speed}/(2\\cdot{n.wheelbase:g}) = {_null(n):.3g}$ Hz. The wave is "
        "twice as long as the wheelbase.",
    ),
    Numeric(
        key="E3", title="A speed without pitching",
        question=lambda n: f"A four-wheeled vehicle with a wheelbase of {n.wheelbase:g} m pitches at {n.mode:g} Hz. "
        "At which speed, in km/h, does the first pitch null lie on that frequency, so that the ground does not feed "
        "the swing?",
        numbers=[Draw("wheelbase", 2.0, 2.4, 0.1), Draw("mode", 1.4, 1.8, 0.1)],
        answer=_pace, unit="km/h",
        hints=["The rear must come to the next crest in one period of the swing.",
               "$f = v/L$ is the first pitch null.",
               "Solve for $v$, then turn m/s into km/h."],
        slips=[
            Slip("m/s", lambda n: n.mode * n.wheelbase, "That is in m/s: times 3.6 it is in km/h."),
            Slip("bounce", lambda n: 2.0 * _pace(n), "There the first *bounce* null lies on it: the wheels are on "
                 "crest and trough, and the ground pitches the machine most."),
            Slip("divided", lambda n: 3.6 * n.mode / n.wheelbase, "Divided where one multiplies: $f = v/L$ is "
                 "$v = f L$."),
            Slip("period", lambda n: 3.6 * n.wheelbase / n.mode, "That is $L/f$. One wheelbase in one period "
                 "$1/f$ makes the speed $L\\cdot f$."),
        ],
        solution=lambda n: f"$v = f L = {n.mode:g}\\cdot{n.wheelbase:g} = {n.mode * n.wheelbase:.4g}$ m/s, which is "
        f"{_pace(n):.3g} km/h.",
    ),
    Numeric(
        key="E4", title="How wrong may it be?",
        question=lambda n: f"A bike with a wheelbase of {n.wheelbase:g} m rides at {n.speed} m/s. Its rear valve is "
        f"due {n.lead_ms} ms before the root. By how many per cent may the speed be read too low at most, so that the "
        "valve is still not late? Give a positive number.",
        numbers=[Draw("wheelbase", 1.1, 1.3, 0.05), Draw("speed", 3, 7, 1), Draw("lead_ms", 30, 60, 5)],
        answer=_too_low, unit="%",
        hints=["A low estimate makes the wait longer. How much longer may it be?",
               "$\\frac{L/v}{1+e} - t_\\mathrm{lead} = \\frac{L}{v}$, solved for $e$.",
               "Put the warning in ms on the right, add the lead, and divide the warning by that sum."],
        slips=[
            Slip("lead over warning", lambda n: 100.0 * n.lead_ms / (1e3 * n.wheelbase / n.speed),
                 "The *wait* may grow by that much. The speed stands below the line, so its error is smaller: lead "
                 "over warning plus lead."),
            Slip("what is left", lambda n: 100.0 - _too_low(n), "That is what is left of the speed, $1+e$. Asked is "
                 "what is missing."),
            Slip("fraction", lambda n: _too_low(n) / 100.0, "That is the fraction; times 100 it is in percent."),
            Slip("other side", lambda n: 100.0 * n.lead_ms / abs(1e3 * n.wheelbase / n.speed - n.lead_ms),
                 "The lead is added to the warning, not taken from it."),
        ],
        solution=lambda n: f"The warning is ${n.wheelbase:g}/{n.speed}$ s, {1e3 * n.wheelbase / n.speed:.1f} ms. "
        f"$1 + e = {1e3 * n.wheelbase / n.speed:.1f}/({1e3 * n.wheelbase / n.speed:.1f} + {n.lead_ms}) = "
        f"{1.0 - _too_low(n) / 100:.4g}$: the speed may be {_too_low(n):.3g} % too low.",
    ),
    Numeric(
        key="E5", title="Ends that do not feel each other",
        question=lambda n: f"On a stranger's motorcycle with a wheelbase of {n.wheelbase:g} m the body lays "
        f"{n.front} kg on the front wheel and {n.rear} kg on the rear. Which radius of gyration would make the two "
        "ends independent?",
        numbers=[Draw("wheelbase", 1.2, 1.5, 0.05), Draw("front", 40, 55, 5), Draw("rear", 125, 150, 5)],
        answer=_gyration, unit="m",
        hints=["Where is the mass centre? The heavier end is the nearer.",
               "$a = L\\,m_{s2}/m$, $b = L\\,m_{s1}/m$ and $k^2 = a b$.",
               "Work out both arms, multiply them, and take the root."],
        slips=[
            Slip("half", lambda n: n.wheelbase / 2.0, "Half the wheelbase would do for a mass centre in the middle. "
                 "Here it is nearer to the rear."),
            Slip("not rooted", lambda n: _gyration(n) ** 2, "That is $ab$, in m²: take the root."),
            Slip("an arm", lambda n: _arms(n)[0], "That is $a$, the distance of the front axle. The product of "
                 "both arms is wanted."),
        ],
        solution=lambda n: f"$a = {n.wheelbase:g}\\cdot{n.rear}/{n.front + n.rear} = {_arms(n)[0]:.4g}$ m, "
        f"$b = {_arms(n)[1]:.4g}$ m, so $k = \\sqrt{{ab}}$, {_gyration(n):.3g} m.",
    ),
    Numeric(
        key="E6", title="A warning for the front",
        question=lambda n: "The front wheel has no wheel ahead of it. Suppose a sensor could look at the ground ahead "
        f"of the front wheel. The bike rides at {n.speed} m/s, the chain takes {n.latency_ms} ms, and the front valve "
        f"is to be open {n.lead_ms} ms before the wheel meets the root. How far ahead of that point must the sensor "
        "look?",
        numbers=[Draw("speed", 4, 14, 1), Draw("latency_ms", 6, 12, 1), Draw("lead_ms", 30, 50, 5)],
        answer=_ahead, unit="m",
        hints=["What must have happened before the wheel arrives, and how long does it take in all?",
               "$d = v\\,(t_\\mathrm{latency} + t_\\mathrm{lead})$.",
               "Add the two times, turn them into seconds, and multiply by the speed."],
        slips=[
            Slip("latency only", lambda n: n.speed * n.latency_ms / 1e3, "That has the valve open just as the wheel "
                 "arrives. It is to be open earlier."),
            Slip("lead only", lambda n: n.speed * n.lead_ms / 1e3, "The chain needs its own time before that."),
            Slip("difference", lambda n: n.speed * (n.lead_ms - n.latency_ms) / 1e3, "Both times lie before the "
                 "root: add them."),
        ],
        solution=lambda n: f"${n.speed}\\cdot({n.latency_ms} + {n.lead_ms})/1000$ m, which is {_ahead(n):.3g} m. The "
        "rear has a wheelbase for the same purpose.",
    ),
    ShortText(
        key="E7", title="Why not symmetrical?",
        question="Ilka says: \"Set the wheel size so that the speed reads a few per cent low rather than high, that is "
        "the safe side.\" In two or three sentences: what happens to the rear valve in either case, and which side is "
        "the safe one?",
        ideas=[
            "A speed read too low makes the wait too long: the valve opens after the root has come, and the rear is "
            "as hard as locked.",
            "A speed read too high makes the wait too short: the valve opens too early.",
            "An early opening does little harm, for the hold time keeps the valve open until the root is there.",
            "So the safe side is to read the speed a little high.",
        ],
        misconceptions=[
            Misconception("low is safe", "Ilka is right, low is safe: late is better than early.",
                          "Look at the live figure's right half: on which side of 0 does the curve rise?"),
            Misconception("low is early", "Read low, the valve opens too early.",
                          "Turn it round: the wait is $L$ over the estimated speed, less the lead. A low estimate "
                          "makes the wait longer."),
            Misconception("the front valve", "Read low, the front valve is late; read high, it is early.",
                          "The front valve opens as soon as it can, whatever the speed. Which valve has to wait?"),
            Misconception("closed again", "Neither side is safe, for the hold time runs out before the root comes.",
                          "How long before the root does a speed read a few per cent high open the valve, and how "
                          "long is the hold time?"),
            Misconception("symmetrical", "It does not matter: early or late, the hold time covers it.",
                          "The two errors are alike in size, not in what they do. Which of them has the valve closed "
                          "when the root comes?"),
        ],
        model="A speed read too low makes the wait too long, so the valve opens after the root has come and the rear "
        "is as hard as locked. A speed read too high opens it too early, and the hold time keeps it open until the "
        "root is there. So the safe side is to read the speed a little high.",
        hints=["The wait is the wheelbase over the estimated speed. Which error makes it longer?",
               "What is a valve that opened 50 ms too early doing when the root comes?",
               "Put the two together: which error costs something?"],
    ),
    Design(
        key="E8", title="A rear valve for Tomas's wheel magnet", kind="open",
        question=lambda n: f"Another of Tomas's speed sensors may read up to {_error(n)} % too low or too high. Ilka "
        f"climbs at {_pace_of(n):g} m/s on loop {n.loop}. Choose lead and hold time for *front tells*, at a "
        "threshold of 40 m/s² with 10 ms of latency, so that\n\n"
        f"- with the speed read {_error(n)} % low the rear's vibration is at most "
        f"{_limits(n.magnet, n.pace, n.loop)[0]:.2f} m/s²,\n- with the speed read {_error(n)} % high it is no more "
        f"than that either,\n- with a true speed the rear is locked at least "
        f"{_limits(n.magnet, n.pace, n.loop)[1]} % of the time.\n\nThe climb is ridden three times with your values.",
        numbers=[Draw("magnet", 0, 9, 1), Draw("pace", 0, 1, 1), Draw("loop", 8, 13, 1)],
        parameters=[Parameter("lead", "time open before the root, as planned", 0.0, 0.5, "s"),
                    Parameter("hold", "hold time", 0.05, 2.0, "s")],
        judge=_judge,
        passing=_passing,
        solution=lambda n: f"A speed read {_error(n)} % low lengthens the wait by {1e3 * _needed(n):.0f} ms; the lead "
        "is that and 10 ms to spare. Read high, the valve opens "
        f"{1e3 * _earlier(n):.0f} ms sooner than planned, and the hold time counts from there. It must last for the "
        "lead, for those, and for about 200 ms in which the wheel works on the root. Beyond that it only costs lock.",
        hints=["Work out how much longer the wait becomes with the low reading, as in E4. The lead must be that long.",
               "With the high reading the valve opens sooner than planned. By how much is $L/v$ shorter then?",
               "The hold time counts from the opening. In the table of hold times and point 6, how long after the "
               "root did the valve have to stay open?"],
    ),
]  # fmt: skip
