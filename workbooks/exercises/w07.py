"""Exercises of workbook 07: the warning, a wrong speed, where a slow valve may go, and a rear valve that is told."""

from functools import lru_cache
from math import ceil, floor

from helpers.course import FrontTells, bike, fell_loop, real_chain, ride, two_wheels
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

WHOLE = two_wheels(bike)
SLOW = real_chain.changed(valve_dead_time=0.036)
ERRORS = (12, 16)  # %: more than the page's lead of 50 ms forgives on the climb


def _reach(n):
    """Metres ridden in the latency of R1."""
    return n.speed * n.latency_ms / 1e3


def _left(n):
    """Milliseconds between the earliest opening and the root at the rear wheel."""
    return 1e3 * n.wheelbase / (n.speed_kmh / 3.6) - n.latency_ms


def _pace(n):
    return 3.6 * n.mode * n.wheelbase


def _too_low(n):
    """Largest error towards slow in per cent."""
    warning = 1e3 * n.wheelbase / n.speed
    return 100.0 * n.lead_ms / (warning + n.lead_ms)


def _ahead(n):
    return n.speed * (n.latency_ms + n.lead_ms) / 1e3


# --- the design -----------------------------------------------------------------------------------------------------


@lru_cache(maxsize=256)
def _climbed(loop, lead, hold, error):
    """The rear on the climb of a loop, its valve slow, the speed read wrong by `error` %: vibration m/s2, % locked."""
    rule = FrontTells(lead=lead, hold=hold, speed_error=error / 100.0)
    rear = ride(WHOLE, fell_loop(loop).climb, rule, SLOW).rear
    return rear.vibration, rear.locked


def _needed(n):
    """Lead in s that a speed read too low uses up."""
    share = ERRORS[n.magnet] / 100.0
    return WHOLE.warning(bike.climb_speed) * share / (1.0 - share)


def _model(n):
    """Lead and hold time in s of a design that passes."""
    return round(_needed(n) + 0.01, 3), 0.2


@lru_cache(maxsize=16)
def _limits(error, loop, lead, hold):
    """Vibration in m/s2 with the speed read either way, and lock in %, a little wider than a design that passes."""
    most = max(_climbed(loop, lead, hold, side * error)[0] for side in (-1, 1))
    return ceil(100.0 * most + 2.0) / 100.0, floor(_climbed(loop, lead, hold, 0)[1] - 2.0)


def _asked(n):
    return _limits(ERRORS[n.magnet], n.loop, *_model(n))


def _judge(values, n):
    error, (most, held) = ERRORS[n.magnet], _asked(n)
    low, high, true = (_climbed(n.loop, values.lead, values.hold, e) for e in (-error, error, 0))
    late = 1e3 * (_needed(n) - values.lead)
    slow = (
        f"The valve is open {late:.0f} ms after the root has come: what does the wrong estimate add to the wait?"
        if late > 0.0
        else "It is open in time. Is it open for long enough, or so early that the bike is unsettled before?"
    )
    return [
        Criterion(f"vibration, speed read {error} % low", low[0], most, "m/s^2", "at most", slow),
        Criterion(f"vibration, speed read {error} % high", high[0], most, "m/s^2", "at most",
                  "Read high, the valve opens sooner than planned: is the hold time enough, is the lead too long?"),
        Criterion("rear locked, speed true", true[1], held, "%", "at least",
                  "Every ms of hold time is paid for at each bump."),
    ]  # fmt: skip


def _passing(n):
    lead, hold = _model(n)
    return {"lead": f"{1e3 * lead:.0f} ms", "hold": f"{1e3 * hold:.0f} ms"}


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
        "bump 0.2 s after the first. When may it close, if no more bumps come?",
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
        question="The trail bike meets a step of 30 mm at 10 m/s, valves at rest locked, chain of 6.5 ms. Its front "
        "wheel tells the rear valve, which is to be open 20 ms before the step comes. Above the rear wheel the body's "
        "peak acceleration is 16.0 m/s² with the valve always open, 23.7 locked. Now the speed is read wrong, once 30 "
        "% too low, once 30 % too high. What does the rear get?",
        options={
            "a": "as hard as locked both times: a valve that opens at the wrong time is no use",
            "b": "as hard as locked if read too low, as soft as open if read too high",
            "c": "as soft as open if read too low, as hard as locked if read too high",
            "d": "as soft as open both times: the valve stays open for a while, which covers either error",
        },
        answer="b",
        feedback={
            "a": "Wrong, but in two ways: too late, or too early and still open when the step comes.",
            "b": "24.8 and 15.3 m/s². Read too low, the wait of L/v comes out too long, and the valve is open 31 ms "
            "after the step. Read too high, it opens 48 ms before, and waits.",
            "c": "The other way round: a speed read too low makes the wait too long, so the valve is late.",
            "d": "Holding covers what opens too early. It does not help a valve that has not opened yet.",
        },
    ),
    Choice(
        key="S1", title="Set the chain to 40 ms",
        question="A slow valve on both wheels, at 10 m/s, the speed read right. Which peaks rise?",
        options={
            "a": "the front's, and that of a rear with its own sensor; not that of the rear which the front tells",
            "b": "all three: slow is slow",
            "c": "none: 40 ms is a third of the warning",
        },
        answer="a",
        feedback={
            "a": "1.72 times open in front, 1.53 behind by its own sensor, 0.93 if the front tells: the computer "
            "sends the rear's order sooner, and the slowness is gone within the wait. Nobody warns the front.",
            "b": "The rear's order can go out 33.5 ms sooner: the wait is there to be used.",
            "c": "The warning is the rear's alone. What does the front wheel know before the step?",
        },
    ),
    Choice(
        key="S2", title="Reset; set the speed to 3 m/s, then the error to −10 %",
        question="The slower, the longer the warning: 400 ms in place of 120. What does the rear get, against open?",
        options={
            "a": "more than 1.5: nearly as hard as locked",
            "b": "about 1: so long a warning forgives an error of a tenth",
            "c": "about 1.1: a tenth of an error, a tenth of a cost",
        },
        answer="a",
        feedback={
            "a": "A tenth of a long wait is a long time: the valve comes 24 ms after the step. At 10 m/s the same "
            "error cost nothing.",
            "b": "The wait grows with the warning, and so does what an error adds to it.",
            "c": "The cost does not grow with the error: it comes at one stroke, where the valve comes after the step.",
        },
    ),
    Choice(
        key="S3", title="Reset; set the chain to 130 ms",
        question="Longer than the warning of 120 ms. With which estimate of the speed does the rear valve still come "
        "in time?",
        options={
            "a": "with none: the order goes out at once, and is late all the same",
            "b": "with one read high, by 40 % or more",
            "c": "with the true one: the lead makes up for it",
        },
        answer="a",
        feedback={
            "a": "Every estimate leaves it 10 ms late or more. Then only a quicker valve, a slower pace or a longer "
            "machine helps.",
            "b": "A high estimate shortens the wait. Can the wait be shorter than nothing?",
            "c": "The lead is a wish. The computer cannot order before the front wheel has felt the step.",
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
        key="E2", title="How wrong may it be?", kind="gap",
        question=lambda n: f"A bike with a wheelbase of {n.wheelbase:g} m rides at {n.speed} m/s. Its rear valve is "
        f"due {n.lead_ms} ms before the root. By how many per cent may the speed be read too low at most, so that the "
        "valve is still not late? $|e| = t_\\mathrm{lead}\\,/\\,(\\_\\_\\_ + t_\\mathrm{lead})$. Fill the gap and give "
        "a positive number.",
        numbers=[Draw("wheelbase", 1.1, 1.3, 0.05), Draw("speed", 3, 7, 1), Draw("lead_ms", 30, 60, 5)],
        answer=_too_low, unit="%",
        hints=["A low estimate makes the wait longer. How much longer may it be?",
               "$\\frac{L/v}{1+e} - t_\\mathrm{lead} = \\frac{L}{v}$, solved for $e$.",
               "Put the warning in ms in the gap, add the lead, and divide the *lead* by that sum."],
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
        f"${n.lead_ms}/({1e3 * n.wheelbase / n.speed:.1f} + {n.lead_ms})$ is {_too_low(n):.3g} %: so much too low the "
        "speed may be read.",
    ),
    Numeric(
        key="E3", title="A warning for the front",
        question=lambda n: "No wheel rides ahead of the front one. Suppose a sensor could look at the ground there. "
        f"The bike rides at {n.speed} m/s, the chain takes {n.latency_ms} ms, and the front valve "
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
    Numeric(
        key="E4", title="A speed without pitching (optional)",
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
    ShortText(
        key="E5", title="Why not symmetrical?",
        question="Ilka says: \"Set the wheel size so that the speed reads a few per cent low rather than high, that is "
        "the safe side.\" What happens to the rear valve in either case, and which side is the safe one?",
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
    Choice(
        key="E6", title="Where may the slow one go?",
        question="The team has one quick valve and one slow, and a sensor on each wheel. The wheel's speed is read "
        "within 5 %. On the climb, where does the slow one belong, and what moves it?",
        options={
            "a": "on the front, opened by the front's own sensor: it has the whole climb to itself",
            "b": "on the rear, opened by the rear's own sensor: the rear has a softer ride anyhow",
            "c": "on the rear, told by the front, with a lead that covers the 5 %",
            "d": "on neither: slow is slow",
        },
        answer="c",
        feedback={
            "a": "The front has no warning: slow, it is nearly as hard as locked.",
            "b": "By its own sensor a slow rear has 3.36 m/s², a quick one 2.61.",
            "c": "The wait hides the slowness, and a lead of 50 ms is late only beyond 11 % too low.",
            "d": "Told by the front, the slow rear is within 0.1 m/s² of the quick one.",
        },
    ),
    Design(
        key="E7", title="A rear valve for Tomas's wheel magnet", kind="open",
        question=lambda n: f"Another speed sensor may read up to {ERRORS[n.magnet]} % too low or too high. The rear "
        f"has the slow valve, chain 40 ms, and the front tells it; Ilka climbs on loop {n.loop}. Choose lead and "
        f"hold time so that\n\n- the rear's vibration is at most {_asked(n)[0]:.2f} m/s² with the speed read "
        f"{ERRORS[n.magnet]} % low, and no more than that {ERRORS[n.magnet]} % high,\n- with a true speed the rear is "
        f"locked at least {_asked(n)[1]} % of the time.",
        numbers=[Draw("magnet", 0, 1, 1), Draw("loop", 8, 9, 1)],
        parameters=[Parameter("lead", "time open before the root, as planned", 0.0, 0.5, "s"),
                    Parameter("hold", "hold time", 0.05, 2.0, "s")],
        judge=_judge,
        passing=_passing,
        solution=lambda n: f"A speed read {ERRORS[n.magnet]} % low lengthens the wait by {1e3 * _needed(n):.0f} ms; "
        "the lead is that and 10 ms to spare. A longer lead unsettles the bike before the root comes. The hold time "
        "must cover what the valve opens sooner with the high reading; beyond that it only costs lock.",
        hints=["Work out how much longer the wait becomes with the low reading, as in E2. The lead must be that long.",
               "With the high reading the valve opens sooner than planned. By how much is $L/v$ shorter then?",
               "The hold time counts from the opening; what it costs is in the table of the speed that is wrong."],
    ),
]  # fmt: skip
