"""Exercises of workbook 06: distance, share climbed, what a sensor feels, hold times, the state of rest, a design."""

import math
from types import SimpleNamespace

from helpers.models.wheel_step import step
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
from scenes import w06_design as design
from scenes import w06_numbers as numbers

RATES = (100, 125, 200, 250, 400)  # samples a second


def _worst(n):
    return 1e3 / RATES[n.rate] + n.compute + n.link + n.valve


def _rolled(n):
    return n.speed_kmh / 3.6 * n.response


def _share(n):
    return 100.0 * float(step(n.radius / 1e3, n.height / 1e3).share(n.rolled / 1e3))


def _turn(n):
    """Distance from first contact to full rise, mm."""
    return 1e3 * step(n.radius / 1e3, n.height / 1e3).length


def _time_left(n):
    climb = step(n.radius / 1e3, n.height / 1e3)
    return 1e3 * float(climb.distance_to(n.share / 100.0)) / (n.speed_kmh / 3.6)


def _slope(n):
    return step(n.radius / 1e3, n.height / 1e3).first_slope


def _felt_from(n):
    return n.threshold * n.firm / (1e3 * n.tyre) / _slope(n)


def _hold(n):
    return 1e3 * n.apart / (n.speed_kmh / 3.6) - n.loud


def _passing(n):
    threshold, response, hold, _, _ = design.reference(n)
    return {"threshold": f"{threshold:g} m/s^2", "response": f"{1e3 * response:g} ms", "hold": f"{1e3 * hold:g} ms"}


def _judge(values, n):
    cost, locked, closed, again = design.measured(n, values.threshold, values.response, values.hold)
    least, price, soon = design.limits(n)
    return [
        Criterion("cost on the step, at the worse of both paces", cost, numbers.ALLOWED, "%",
                  advice="Felt too late, or answered too late: the two add."),
        Criterion("closings within the row of roots", closed, 0,
                  advice="Spacing over speed, less the time for which one root is loud."),
        Criterion("time locked on the stretch", locked, least, "%", "at least",
                  "Stones open it too often, or for too long each time."),
        Criterion("firm again after the last root", again, soon, "ms",
                  advice="It stays open for longer than the row needs."),
        Criterion("price of the chain, points", design.PRICE / (1e3 * values.response), price,
                  advice="A quicker chain than the step needs is money lost."),
    ]  # fmt: skip


EXERCISES = [
    Numeric(
        key="R1", title="Recall: the whole chain",
        question=lambda n: f"A sensor is read {RATES[n.rate]} times a second. Computing takes {n.compute} ms, the link "
        f"to the valve {n.link} ms, and the valve is half open {n.valve} ms after its command. An event falls anywhere "
        "between two samples. What is the longest time from the event to the half open valve?",
        numbers=[Draw("rate", 0, len(RATES) - 1, 1), Draw("compute", 1, 3, 1), Draw("link", 4, 8, 1),
                 Draw("valve", 6, 7, 1)],
        answer=_worst, unit="ms", tolerance=0.01,
        hints=[
            "The stages come one after the other: their times add. Which stage is missing from the list?",
            "Longest time = one sample period + computing + link + valve.",
            "The sample period is one second over the number of samples; in ms that is 1000 over it.",
        ],
        slips=[
            Slip("mean wait", lambda n: _worst(n) - 500.0 / RATES[n.rate],
                 "That is the mean: an event that just misses a sample waits a whole period."),
            Slip("no wait", lambda n: _worst(n) - 1e3 / RATES[n.rate],
                 "That is the shortest time: the wait for the next sample is missing."),
            Slip("no valve", lambda n: _worst(n) - n.valve, "The valve's own time belongs to the chain as well."),
        ],
        solution=lambda n: f"${1e3 / RATES[n.rate]:g} + {n.compute} + {n.link} + {n.valve} = {_worst(n):g}$ ms.",
    ),
    Choice(
        key="R2", title="Recall: the state of rest",
        question="Workbook 04: a normally open selector is told to be firm only while the rider pedals. On a descent "
        "nobody pedals. Where is its valve when the wheel touches a step?",
        options={
            "a": "firm, until the sensor has felt the step",
            "b": "open",
            "c": "half way, ready for either",
        },
        answer="b",
        feedback={
            "a": "That is a normally closed one.",
            "b": "It rests open and nobody told it otherwise.",
            "c": "A selector stands in one of its settings; half way it is only while it moves.",
        },
    ),
    Choice(
        key="P", title="Where does it cost most?",
        question="The trail bike's damper rests locked. It rolls at a step of 50 mm; the quick chain opens the valve "
        "about 6 ms after the sensor has felt the step. At which speed does the body's peak acceleration lie farthest "
        "above that of a bike whose damper is always open?",
        options={
            "a": "at 20 m/s: it has rolled 120 mm in 6 ms and is nearly up the step",
            "b": "alike at every speed: 6 ms is 6 ms",
            "c": "at 3 m/s, the pace of the climb",
            "d": "nowhere: the body's peak comes well after 6 ms in any case",
        },
        answer="c",
        feedback={
            "a": "At 20 m/s the axle has climbed 88 % of the step when the valve is half open, and the cost is "
            "−1 %. The share climbed is a matter of the rigid wheel. Between its path and the body is the tyre: held "
            "for 6 ms, it is pressed together by 40.4 mm, and with the damper always open it would be 38.6.",
            "b": "The chain takes the same time, but its clock starts when the sensor feels the step: 0.2 ms after "
            "contact at 20 m/s, 8.2 ms at 3 m/s.",
            "c": "20 % at 3 m/s, 3 % at 10, −1 % at 20. At a slow pace the locked damper holds the wheel so "
            "firmly that its sensor passes the threshold only after 8.2 ms, and the tyre takes up the step meanwhile. "
            "Slower still it is dearer: 33 % at 2 m/s.",
            "d": "True: at 3 m/s the valve is half open after 13.8 ms, the open body's peak comes after 21.5. But by "
            "then the held wheel has left 18.1 mm in the tyre in place of 13.2. Released, it strikes later and harder: "
            "17.3 in place of 14.4 m/s².",
        },
    ),
    Numeric(
        key="E1", title="How far in the whole chain?", kind="worked",
        question=lambda n: f"A machine travels at {n.speed_kmh} km/h. Its valve is half open {n.valve} ms after its "
        f"command, and the whole chain takes {n.response} ms from first contact. How far does the wheel roll before "
        "the valve is half open?",
        numbers=[Draw("speed_kmh", 14, 72, 2), Draw("valve", 3, 4, 1), Draw("response", 7, 18, 1)],
        answer=_rolled, unit="mm",
        hints=[
            "Distance is speed times time. Which of the two times is asked for?",
            "$x = v\\,t$, with $v$ in m/s; metres a second are millimetres a millisecond.",
            "Divide the speed by 3.6 and multiply by the chain's time in ms.",
        ],
        slips=[
            Slip("km/h", lambda n: 3.6 * _rolled(n), "The speed went in as km/h: divide it by 3.6 first."),
            Slip("valve alone", lambda n: _rolled(n) * n.valve / n.response,
                 "That is the valve's time alone. The wheel rolls on while sensor, computer and link take theirs."),
            Slip("added twice", lambda n: _rolled(n) * (n.response + n.valve) / n.response,
                 "The whole chain holds the valve's time already."),
            Slip("multiplied by 3.6", lambda n: 12.96 * _rolled(n),
                 "From km/h to m/s the number gets smaller: divide by 3.6."),
        ],
        solution=lambda n: f"$v = {n.speed_kmh}/3.6 = {n.speed_kmh / 3.6:.3g}$ m/s, that is {n.speed_kmh / 3.6:.3g} mm "
        f"in each ms, and ${n.speed_kmh / 3.6:.4g}\\cdot{n.response} = {_rolled(n):.3g}$ mm.",
    ),
    Numeric(
        key="E2", title="What share of the step?", kind="gap",
        question=lambda n: f"A wheel of radius {n.radius} mm has rolled {n.rolled} mm from first contact with a step "
        f"of {n.height} mm. Fill the gap, $z = h - R + \\sqrt{{R^2 - (\\_\\_\\_ - x)^2}}$, and give the share of the "
        "step that the axle has climbed, in per cent.",
        numbers=[Draw("radius", 280, 370, 10), Draw("rolled", 20, 50, 5), Draw("height", 30, 40, 5)],
        answer=_share, unit="%",
        hints=[
            "In the gap stands the distance from first contact to the top of the climb.",
            "$d = \\sqrt{2Rh - h^2}$; the share is $z/h$.",
            "Work out $d$, then $d - x$, then the root, then $z$; divide by $h$ and multiply by 100.",
        ],
        slips=[
            Slip("rise in mm", lambda n: _share(n) * n.height / 100.0,
                 "That is the rise $z$ in mm. As a share it still has to be divided by $h$."),
            Slip("evenly", lambda n: 100.0 * n.rolled / _turn(n),
                 "That is $x/d$: the share of the distance. The axle rises fastest at first."),
            Slip("radius in the gap", lambda n: 100.0 * (n.height - n.radius + math.sqrt(
                n.radius**2 - (n.radius - n.rolled) ** 2)) / n.height,
                 "$R$ is not what belongs in the gap: at first contact the edge lies $d$ ahead of the axle."),
            Slip("straight on", lambda n: 100.0 * _slope(n) * n.rolled / n.height,
                 "That goes on at the first slope; the path bends."),
        ],
        solution=lambda n: f"$d = \\sqrt{{2\\cdot{n.radius}\\cdot{n.height} - {n.height}^2}} = {_turn(n):.4g}$ mm, "
        f"$z = {n.height} - {n.radius} + \\sqrt{{{n.radius}^2 - {_turn(n) - n.rolled:.4g}^2}} = "
        f"{_share(n) * n.height / 100.0:.3g}$ mm, and over {n.height} mm that is {_share(n):.3g} %.",
    ),
    Numeric(
        key="E3", title="The other way round",
        question=lambda n: f"At {n.speed_kmh} km/h a wheel of radius {n.radius} mm meets a step of {n.height} mm. "
        f"After what time from first contact has its axle climbed {n.share} % of it?",
        numbers=[Draw("speed_kmh", 18, 72, 2), Draw("radius", 280, 370, 10), Draw("height", 40, 100, 10),
                 Draw("share", 20, 40, 5)],
        answer=_time_left, unit="ms",
        hints=[
            "First the distance at which that share is reached, then the time.",
            "$d - x = \\sqrt{2Rm - m^2}$, where $m$ is the part of $h$ still to climb.",
            "Work out $m$ as one less the share, times $h$; take the root; subtract it from $d$; divide by $v$ in m/s.",
        ],
        slips=[
            Slip("distance", lambda n: _time_left(n) * n.speed_kmh / 3.6,
                 "That is the distance $x$ in mm: divide it by the speed."),
            Slip("evenly", lambda n: n.share / 100.0 * _turn(n) / (n.speed_kmh / 3.6),
                 "You took that share of the distance. The axle rises fastest at first, so it is there sooner."),
            Slip("km/h", lambda n: _time_left(n) / 3.6, "The speed went in as km/h: divide it by 3.6 first."),
            Slip("share for the rest", lambda n: _time_left(SimpleNamespace(**{**vars(n), "share": 100 - n.share})),
                 "That is the time at which this share is still *left*: $m$ is what is still to climb."),
        ],
        solution=lambda n: f"$m = {n.height * (1.0 - n.share / 100.0):g}$ mm, $d - x = "
        f"\\sqrt{{2\\cdot{n.radius}\\cdot{n.height * (1.0 - n.share / 100.0):g} - "
        f"{n.height * (1.0 - n.share / 100.0):g}^2}} = {_turn(n) - _time_left(n) * n.speed_kmh / 3.6:.4g}$ mm, $d = "
        f"{_turn(n):.4g}$ mm, so $x = {_time_left(n) * n.speed_kmh / 3.6:.4g}$ mm, and over "
        f"{n.speed_kmh / 3.6:.4g} mm/ms that is {_time_left(n):.3g} ms.",
    ),
    Numeric(
        key="E4", title="From what speed is it felt at once?",
        question=lambda n: f"Another bike: wheel radius {n.radius} mm, unsprung mass {n.wheel:g} kg, tyre {n.tyre} "
        f"kN/m; its locked damper has {n.firm} N s/m below blow-off. The threshold is {n.threshold} m/s². From what "
        f"speed on does the locked wheel's sensor feel a step of {n.height} mm at first touch, by the closed form for "
        "a firm damper?",
        numbers=[Draw("radius", 300, 370, 10), Draw("wheel", 2.5, 4.0, 0.5), Draw("tyre", 55, 85, 5),
                 Draw("firm", 5000, 8000, 500), Draw("threshold", 25, 60, 5), Draw("height", 20, 60, 10)],
        answer=_felt_from, unit="m/s",
        hints=[
            "Which of the two limits holds for a firm damper, and what does it leave out?",
            "Largest reading $j\\,k_t/c$ with $j = v\\,s_0$ and $s_0 = \\sqrt{2Rh-h^2}/(R-h)$.",
            "Work out $s_0$; then $j$ from the threshold, $c$ and $k_t$; then divide.",
        ],
        slips=[
            Slip("no slope", lambda n: _felt_from(n) * _slope(n),
                 "That is $j$, the vertical speed of the axle's path. The bike's speed is larger: divide by "
                 "$s_0$."),
            Slip("open wheel", lambda n: n.threshold * math.sqrt(n.wheel / (1e3 * n.tyre)) / _slope(n),
                 "That is the limit of a damper without force. Locked, the wheel's mass has no part in it."),
            Slip("sine", lambda n: _felt_from(n) * _slope(n) / math.sin(math.atan(_slope(n))),
                 "You divided the root by $R$: that is the sine. The slope is the root over $R - h$."),
            Slip("multiplied", lambda n: _felt_from(n) * _slope(n) ** 2,
                 "You multiplied by the slope: $v = j/s_0$."),
        ],
        solution=lambda n: f"$s_0 = {_slope(n):.4g}$; $j = {n.threshold}\\cdot{n.firm}/{1e3 * n.tyre:.0f} = "
        f"{_felt_from(n) * _slope(n):.4g}$ m/s; $v = {_felt_from(n):.3g}$ m/s. Slower than that, this step is felt "
        "late. (The wheel's mass was not needed.)",
    ),
    Choice(
        key="E5", title="Is the plain chain too slow?",
        question="The dealer to the motorcyclist: \"At 20 m/s and a step of 50 mm the plain chain is useless. In its "
        "12.6 ms you roll 252 mm; your wheel is up on the step after 175.\" The lockout is as supplied, the threshold "
        "40 m/s². What do the tables say?",
        options={
            "a": "He is right: opened after the climb, it costs the 18 % of a valve that never opens.",
            "b": "His distances are right, his conclusion is not: on average it costs 2 %, at the worst place 11.",
            "c": "He is wrong: speed does not matter, and any chain keeps the cost within 10 %.",
            "d": "He is right, and the quick chain costs 10 % or more as well: 112 of 175 mm are gone.",
        },
        answer="b",
        feedback={
            "a": "The tyre stands between the axle's path and the body. When the rigid wheel would be up, much of the "
            "step is still in the tyre. The table of rest states has 2 % for the plain chain.",
            "b": "The budget table has 14 ms from the threshold. The plain chain takes 12.6 ms on average, 15.1 at the "
            "worst: 2 % on average, 11 at the worst place, just over the limit.",
            "c": "A valve that never opens costs 18 % there, and beyond 14 ms the cost climbs towards that.",
            "d": "The quick chain costs −2 % there: distance rolled is not cost.",
        },
    ),
    Numeric(
        key="E6", title="Carried to the next root",
        question=lambda n: f"Roots lie {n.apart:g} m apart; the bike rolls at {n.speed_kmh} km/h. Over one root the "
        f"open wheel's readings are above the threshold for {n.loud} ms, from the first to the last. The whole chain "
        f"takes {n.response} ms. What is the least hold time that carries the valve from root to root, by the closed "
        "form?",
        numbers=[Draw("apart", 0.9, 1.6, 0.1), Draw("speed_kmh", 12, 20, 1), Draw("loud", 50, 80, 5),
                 Draw("response", 16, 26, 1)],
        answer=_hold, unit="ms", tolerance=0.01,
        hints=[
            "The clock starts at the last reading above the threshold, not at the first.",
            "$t_h = D/v - t_\\mathrm{loud}$. What of the chain?",
            "Turn the speed into m/s and the spacing over it into ms; then subtract.",
        ],
        slips=[
            Slip("spacing over speed", lambda n: _hold(n) + n.loud,
                 "That counts from the first reading of a root. The clock starts anew with each reading, so it counts "
                 "from the last."),
            Slip("loud added", lambda n: _hold(n) + 2.0 * n.loud,
                 "The time for which a root is loud shortens the hold time that is needed: subtract it."),
            Slip("less the chain", lambda n: _hold(n) - n.response,
                 "The chain delays opening and closing alike: the hold time needs no allowance for it."),
            Slip("more for the chain", lambda n: _hold(n) + n.response,
                 "The chain delays opening and closing alike: the hold time needs no allowance for it."),
            Slip("km/h", lambda n: 1e3 * n.apart / n.speed_kmh - n.loud,
                 "The speed went in as km/h: divide it by 3.6 first."),
        ],
        solution=lambda n: f"$D/v = {n.apart:g}/{n.speed_kmh / 3.6:.4g}$ s $= "
        f"{1e3 * n.apart / (n.speed_kmh / 3.6):.4g}$ ms, less {n.loud} ms: {_hold(n):.4g} ms. The chain's "
        f"{n.response} ms shift opening and closing alike and drop out. With a slow sensor add one sample period, for "
        "the last reading may fall between two samples.",
    ),
    ShortText(
        key="E7", title="A slow valve that is never late",
        question="The carrier's driver: \"With a casualty aboard I want the quickest chain there is; ours rests open "
        "and takes 15 ms.\" In one or two sentences: why does a valve that rests open forgive a slow chain at a step, "
        "and when would it not?",
        ideas=[
            "At first contact it is open already, so at a step there is nothing to wait for.",
            "Its delay falls on going firm, where nobody is hurt.",
            "Told to be firm, for instance while a rider pedals, it is as late as any other.",
        ],
        misconceptions=[
            Misconception("opens sooner", "Resting open, it opens faster than a locked one.",
                          "It does not open sooner: it does not open at all, for it is open."),
            Misconception("never late", "It rests open, so it is never late, not even when it is told to be firm.",
                          "Told to be firm it has the way to open before it, and is as late as any other."),
            Misconception("open and firm exchanged", "It is already firm at the step, and late when it is open.",
                          "The other way round: a valve that rests open is open at the step, a firm one has to open."),
            Misconception("the step is slow", "The carrier drives at a slow pace, so the 15 ms do not matter.",
                          "Pace is not the reason: an open valve has nothing to do at 20 m/s either."),
            Misconception("the machine", "The carrier is heavy, so its body moves late and the delay does not matter.",
                          "Mass is not the reason: the same holds for bike and motorcycle."),
            Misconception("closes at the step",
                          "It rests open and closes at the step after 15 ms, which is late enough.",
                          "At a step a selector opens if it was locked; it is never made firm by one."),
        ],
        model="At first contact it is open already, so there is nothing to wait for: its delay falls on going firm, "
        "where nobody is hurt. Told to be firm, for instance while a rider pedals, it is as late as any other.",
        hints=["Where does each kind of valve stand when the wheel touches the step?",
               "On which of the two moves, to open or to firm, does the delay of each fall?",
               "Point 12 of the page: why no column for resting open, and when do the columns hold all the same?"],
    ),
    Design(
        key="E8", title="A selector for a borrowed bike", kind="open",
        question=lambda n: f"A borrowed bike: body {n.body} kg, unsprung {n.wheel:g} kg, tyre {n.tyre} kN/m, locked "
        f"damper {n.firm} N s/m up to a blow-off of 720 N, else like ours, normally closed. Choose threshold, response "
        "time of the whole chain (from felt to half open) and hold time, so that\n\n"
        f"- on a step of {n.step_mm} mm the cost is at most 10 %, at the climb's {n.pace_kmh:g} km/h and at 10 m/s;\n"
        f"- on 30 m of rough ground at {n.pace_kmh:g} km/h ({n.rough} % of the heights of class C), with five roots of "
        f"{n.root_mm} mm {n.apart:g} m apart, the valve does not close within the row, is half firm again within "
        f"{design.limits(n)[2]} ms after the wheel meets the last root, and is locked at least {design.limits(n)[0]} % "
        "of the time;\n"
        f"- the price of the chain, 1200/$T$ points for a chain of $T$ ms, is at most {design.limits(n)[1]} points.",
        numbers=[Draw("body", 50, 75, 5), Draw("wheel", 2.8, 3.8, 0.2), Draw("tyre", 60, 80, 5),
                 Draw("firm", 5000, 8000, 500), Draw("step_mm", 40, 60, 2), Draw("root_mm", 20, 60, 5),
                 Draw("rough", 90, 170, 10), Draw("pace_kmh", 10, 14, 1), Draw("apart", 1.1, 1.9, 0.1),
                 Draw("aim", 0, len(design.AIMS) - 1, 1)],
        parameters=[Parameter("threshold", "threshold", 1.0, 150.0, "m/s^2"),
                    Parameter("response", "response time of the whole chain", 0.5, 40.0, "ms"),
                    Parameter("hold", "hold time", 5.0, 3000.0, "ms")],
        judge=lambda values, n: _judge(SimpleNamespace(
            threshold=values.threshold, response=values.response / 1e3, hold=values.hold / 1e3), n),
        passing=_passing,
        solution="The price sets how quick the chain can be. With that chain, lower the threshold until the step is "
        "felt soon enough at the slow pace; lower still, the stones open it and the lock is lost. The hold time comes "
        "last: spacing over pace less the time for which a root is loud, found by trying, and not much more, for each "
        "millisecond is open time.",
        hints=["Which requirement does the hold time not touch at all?",
               "Start with the quickest chain that the money buys and bring the threshold down.",
               "For the hold time begin with spacing over speed. How long a root is loud depends on its height: come "
               "down until the valve closes within the row."],
    ),
]  # fmt: skip
