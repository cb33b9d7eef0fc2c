"""Exercises of workbook 06: chain, distance, share climbed, what is left for the valve, the state of rest, a design."""

import math
from functools import lru_cache

from helpers.course import ModeSwitch, bike, deadline, fell_loop, ride
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

RATES = (100, 125, 200, 250, 400)  # samples a second
PRICE = 1200.0  # points times ms: what a chain costs, times its response time
THRESHOLD, HOLD = 20.0, 0.1  # m/s2, s: the page's own, from which the limits of the design are worked out


def _worst(n):
    return 1e3 / RATES[n.rate] + n.compute + n.link + n.valve


def _rolled(n):
    return n.speed_kmh / 3.6 * n.response


def _share(n):
    return 100.0 * float(step(n.radius / 1e3, n.height / 1e3).share(n.rolled / 1e3))


def _turn(n):
    """Distance from first contact to full rise, mm."""
    return 1e3 * step(n.radius / 1e3, n.height / 1e3).length


def _slope(n):
    return step(n.radius / 1e3, n.height / 1e3).first_slope


def _left(n):
    """What is left for the valve on average, ms."""
    return n.allowed - n.felt / 10.0 - 500.0 / RATES[n.rate] - n.compute - n.link


@lru_cache(64)
def _machine(body, wheel, tyre):
    return bike.changed(body_mass=float(body), wheel_mass=wheel / 10.0, tyre_rate=1e3 * tyre)


@lru_cache(256)
def _design(machine, height, threshold, response, hold):
    """(cost in % at the dearer of two speeds, time locked on the climb in %) of one choice; response in s."""
    law, timing = ModeSwitch(threshold, hold), deadline.responding(response)
    costs = [deadline.step_cost(machine, height, speed, response, law) for speed in (3.0, 10.0)]
    return 100.0 * max(costs), 100.0 * ride(machine, fell_loop().climb, law, timing).score.lock_share


@lru_cache(64)
def _reference(machine, height):
    """Response time in ms that serves with the page's threshold and hold time, and the time locked in % then."""
    law = ModeSwitch(THRESHOLD, HOLD)
    due = min(deadline.step_deadline(machine, law, height, speed, 0.1) for speed in (3.0, 10.0))
    response = math.floor(9.7e3 * due) / 10.0
    return response, _design(machine, height, THRESHOLD, response / 1e3, HOLD)[1]


def _of(n):
    return _machine(n.body, n.wheel, n.tyre), n.step_mm / 1e3


def _limits(n):
    """Highest price in points, least time locked in %."""
    response, locked = _reference(*_of(n))
    return math.ceil(1.02 * PRICE / response), math.floor(locked) - 1


def _judge(values, n):
    cost, locked = _design(*_of(n), values.threshold, values.response / 1e3, values.hold / 1e3)
    price, least = _limits(n)
    return [
        Criterion("cost on the step, at the dearer of both speeds", cost, 10.0, "%",
                  advice="Felt too late, or answered too late: the two add."),
        Criterion("time locked on the climb", locked, least, "%", "at least",
                  "Stones open it too often, or each root for too long."),
        Criterion("price of the chain, points", PRICE / values.response, price,
                  advice="A quicker chain than the step needs is money lost."),
    ]  # fmt: skip


EXERCISES = [
    Numeric(
        key="R1", title="Recall: the whole chain",
        question=lambda n: f"A sensor is read {RATES[n.rate]} times a second. Computing takes {n.compute} ms, the link "
        f"to the valve {n.link} ms, and 63 % of the force is there {n.valve} ms after the order. An event falls "
        "anywhere between two samples. What is the longest time from the event to 63 % of the force?",
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
            "firm": "firm, until the sensor has felt the step",
            "open": "open",
            "half": "half way, ready for either",
        },
        answer="open",
        feedback={
            "firm": "That is a normally closed one.",
            "open": "It rests open and nobody told it otherwise.",
            "half": "A selector stands in one of its settings; half way it is only while it moves.",
        },
    ),
    Choice(
        key="P", title="Where is there least time?",
        question="The trail bike's locked damper meets a step of 50 mm. It has to open so soon that the body's peak "
        "acceleration lies at most 10 % above that of a damper open all the time. At which speed has it the least "
        "time, from first contact?",
        options={
            "climb": "at 3 m/s, the pace of the climb",
            "descent": "at 10 m/s, that of the descent: the wheel is up three times as soon",
            "alike": "alike at both: force knows no distance",
            "neither": "at neither: the body's peak comes so late that any valve will do",
        },
        answer="climb",
        feedback={
            "climb": "9 ms at 3 m/s, 13 at 10. Met slowly the step gives an open bike a low peak, 10.2 m/s², and the "
            "locked damper has pushed the body as hard after 6.8 ms. Met fast it gives 20.4, matched only after 9.3.",
            "descent": "The wheel is up sooner, but the open damper pushes too: 20.4 m/s² at 10 m/s, 10.2 at 3. What "
            "counts is when the locked one pushes harder than that: 13 ms against 9.",
            "alike": "The locked damper's push is compared with the peak of the open one, 10.2 m/s² at 3 m/s and 20.4 "
            "at 10.",
            "neither": "The locked damper pushes the body as hard as the open one ever does after 6.8 ms at 3 m/s; "
            "then the cost climbs its cliff.",
        },
    ),
    Choice(
        key="S1", title="Set the step to 20 mm",
        question="What does the black line do?",
        options={
            "up": "it rises: a small step leaves more time",
            "slow": "it falls below both chains at the slow end only",
            "down": "it falls below both chains at every speed",
        },
        answer="down",
        feedback={
            "up": "It falls to 7 ms and less. A small step is mild for an open damper, so the locked one is soon "
            "worse.",
            "slow": "It lies below both chains everywhere, and lowest at the fast end.",
            "down": "7 ms are left at most, and the quick chain takes 7.1 after it has felt the step. The cost is "
            "large in per cent because the open peak is small.",
        },
    ),
    Choice(
        key="S2", title="Choose the carrier, 20 mm, 3 m/s",
        question="The threshold stands at 40 m/s². How soon is the step felt?",
        options={
            "soon": "after 2 ms, as on the bike",
            "late": "after some 6 ms: its wheel is heavier",
            "never": "never, and at half the threshold after 2 ms",
        },
        answer="never",
        feedback={
            "soon": "Its wheel has 16 kg, and its damper yields half as much: it never reads 40.",
            "late": "It does not come late, it does not come: what it reads stays below 40. Now turn the screw to 20.",
            "never": "The heavy wheel on the stiffer damper never reads 40. At 20 m/s² it is felt after 2.3 ms: a "
            "threshold belongs to a machine.",
        },
    ),
    Choice(
        key="S3", title="Reset, the motorcycle, 3 and then 20 m/s",
        question="The wheel rolls nearly seven times as far in the same time. What happens to the time allowed on 50 "
        "mm?",
        options={
            "seventh": "it shrinks to a seventh: the distance is what counts",
            "quarter": "it shrinks by a quarter",
            "same": "nothing: it does not depend on speed",
        },
        answer="quarter",
        feedback={
            "seventh": "11 ms become 8. In them the wheel rolls 35 mm and 178 mm: distance is not what counts.",
            "quarter": "From 11 to 8 ms, while the distance rolled in it grows from 35 to 178 mm.",
            "same": "A little: 11 ms at 3 m/s, 8 at 20, for the step is met with a harder blow.",
        },
    ),
    Numeric(
        key="E1", title="How far in the whole chain?", kind="worked",
        question=lambda n: f"A machine travels at {n.speed_kmh} km/h. Its valve begins to move {n.valve} ms after "
        f"its order, and from first contact to 63 % of the force the whole chain takes {n.response} ms. How far does "
        "the wheel roll before the force is there?",
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
        key="E3", title="What is left for the valve?",
        question=lambda n: f"A locked machine allows {n.allowed} ms from first contact. Its wheel feels the step after "
        f"{n.felt / 10:g} ms. The sensor is read {RATES[n.rate]} times a second; computing takes {n.compute} ms and "
        f"the link {n.link} ms. How long may the valve take on average, from its order to 63 % of the force?",
        numbers=[Draw("allowed", 20, 26, 1), Draw("felt", 8, 16, 2), Draw("rate", 1, 3, 1),
                 Draw("compute", 1, 2, 1), Draw("link", 3, 5, 1)],
        answer=_left, unit="ms", tolerance=0.01,
        hints=[
            "The clock runs from contact. Who takes time from it before the valve has its order?",
            "Left = allowed − felt − half a sample period − computing − link.",
            "The sample period in ms is 1000 over the rate; on average half of it is waited.",
        ],
        slips=[
            Slip("whole period", lambda n: _left(n) - 500.0 / RATES[n.rate],
                 "That is for an event that just misses a sample; on average half a period is waited."),
            Slip("no wait", lambda n: _left(n) + 500.0 / RATES[n.rate],
                 "Between two samples nobody looks: half a period is lost on average."),
            Slip("from felt", lambda n: _left(n) + n.felt / 10.0,
                 "The time allowed counts from contact, and the step is felt later than that."),
        ],
        solution=lambda n: f"${n.allowed} - {n.felt / 10:g} - {500.0 / RATES[n.rate]:g} - {n.compute} - {n.link} = "
        f"{_left(n):.4g}$ ms.",
    ),
    Choice(
        key="E4", title="Is the plain chain too slow?",
        question="The dealer to the motorcyclist: \"At 20 m/s you roll 300 mm in the plain chain's 15 ms, and your "
        "wheel is up on a 50 mm step after 175. Buy the quick one.\" The valve rests open, and nobody locks it. What "
        "do you say?",
        options={
            "right": "He is right: it opens when the climb is over, and might as well stay locked.",
            "reason": "He is right for another reason: 8 ms are allowed.",
            "open": "His distances are right, but an open valve has nothing to do at a step.",
            "distance": "Distance does not count: any chain will do, locked or not.",
        },
        answer="open",
        feedback={
            "right": "Of a locked valve that would be so. Where does his stand when the wheel touches the step?",
            "reason": "Right for a valve that rests locked. His rests open: what would the chain have to do in 8 ms?",
            "open": "Locked, it would have 8 ms, and the plain chain would be too late. Open, it costs nothing at a "
            "step whatever the chain.",
            "distance": "Distance does not count, time does: locked, it has 8 ms and not 15. But his is not locked.",
        },
    ),
    ShortText(
        key="E5", title="A slow valve that is never late",
        question="The carrier's driver: \"With a casualty aboard I want the quickest chain there is; ours rests open "
        "and takes 15 ms.\" In one or two sentences: why does a valve that rests open forgive a slow chain at a step, "
        "and when would it not?",
        ideas=[
            "At first contact it is open already, so at a step there is nothing to wait for.",
            "Its delay falls on going firm, which a step does not ask for; a drop or hard braking may.",
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
        "which a step does not ask for; a drop or hard braking may. Told to be firm, for instance while a rider "
        "pedals, it is as late as any other.",
        hints=["Where does each kind of valve stand when the wheel touches the step?",
               "On which of the two moves, to open or to firm, does the delay of each fall?",
               "What has a rider who pedals told the valve to do?"],
    ),
    Design(
        key="E6", title="A selector for a borrowed bike", kind="open",
        question=lambda n: f"A borrowed bike: body {n.body} kg, wheel {n.wheel / 10:g} kg, tyre {n.tyre} kN/m, else "
        "like ours, told to be firm on the climb. Choose threshold, response of the chain (from felt to 63 % of the "
        f"force) and hold time, so that a step of {n.step_mm} mm costs at most 10 % at 3 m/s and at 10 m/s; the climb "
        f"leaves it locked at least {_limits(n)[1]} % of the time; and the chain's price, 1200/$T$ points for $T$ ms, "
        f"is at most {_limits(n)[0]} points.",
        numbers=[Draw("body", 50, 75, 5), Draw("wheel", 28, 38, 2), Draw("tyre", 60, 80, 5),
                 Draw("step_mm", 20, 50, 5)],
        parameters=[Parameter("threshold", "threshold", 1.0, 150.0, "m/s^2"),
                    Parameter("response", "response time of the chain", 0.5, 40.0, "ms"),
                    Parameter("hold", "hold time", 50.0, 3000.0, "ms")],
        judge=_judge,
        passing=lambda n: {"threshold": f"{THRESHOLD:g} m/s^2", "response": f"{_reference(*_of(n))[0]:g} ms",
                           "hold": f"{1e3 * HOLD:g} ms"},
        solution="The price sets how quick the chain can be. With that chain, lower the threshold until the step is "
        "felt soon enough; lower still, stones and legs open the valve. The hold time touches the lock alone: on the "
        "climb the roots lie too far apart to be carried, unless the selector's own slam opens it again.",
        hints=["Which requirement does the hold time not touch at all?",
               "Start with the quickest chain that the money buys, and 20 m/s².",
               "For the lock, make the hold time short."],
    ),
]  # fmt: skip
