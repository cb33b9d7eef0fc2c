"""Exercises of workbook 02: the energy balance of a motor, its battery, a lift, and a law within its limits."""

import math
from functools import lru_cache

from helpers.course import OptimalFeedback, carrier, fell_loop, ride
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

TRAVEL_WEIGHTS, FORCES = (3e3, 6e3, 1.2e4, 2.4e4, 4.8e4), (400.0, 600.0, 800.0)  # of E6's reference, drawn
GRIP, TRAVEL = OptimalFeedback.grip, OptimalFeedback.travel  # the comfort law's weights
SLACK = (1.02, 1.03, 1.15, 1.06, 1.0)  # of its limits: a neighbour's reference seldom passes
GRAVITY = 9.81  # m/s2


def _point_hz(n):
    return math.sqrt(n.tyre / n.wheel) / (2.0 * math.pi)


def _heat(n):
    return n.damping * (1e-3 * n.speed_mms) ** 2


def _road(n):
    return 0.5e-6 * n.intensity * n.tyre


def _of_rider(n, returned, taken=None):
    """Percent of the rider's power that two batteries give, `returned` of what the motor takes out being kept."""
    taken = n.supply - n.net if taken is None else taken
    return 200.0 / n.rider * (n.supply / (0.01 * n.efficiency) - returned * taken)


def _soonest(n, heavier=None):
    """Least time in s in which the body can be lifted: thrown up, then held back by its own weight and the wheel's."""
    heavier = 1.0 + n.wheel / n.mass if heavier is None else heavier
    return math.sqrt(2e-3 * n.height_mm / (GRAVITY * heavier))


def _look(n):
    return n.speed_kmh / 3.6 * 1e-3 * (n.preview_ms + n.latency_ms)


@lru_cache(64)
def _ridden(mass, wheel, grip_weight, travel_weight, force_limit):
    """Vibration, m/s2, bump travel used, %, mean and largest power put in, W, and force, N: descent, one wheel."""
    vehicle = carrier.changed(body_mass=float(mass), wheel_mass=float(wheel))
    law = OptimalFeedback(vehicle, grip_weight, travel_weight, force_limit=force_limit)
    one = ride(vehicle, fell_loop().descent, law)
    force = float(abs(one.actuator_force).max())
    return one.vibration, one.travel_used, one.power_in, one.power_peak, force


def _reference(n):
    """Weights of tyre deflection and travel and the force limit of a design that passes."""
    return GRIP, TRAVEL_WEIGHTS[n.travel], FORCES[n.motor]


def _limits(n):
    """What the reference design reaches, and a little more."""
    return [slack * value for slack, value in zip(SLACK, _ridden(n.mass, n.wheel, *_reference(n)), strict=True)]


def _judge_rig(values, n):
    reached = _ridden(n.mass, n.wheel, values.grip_weight, values.travel_weight, values.force_limit)
    named = (
        ("vibration, weighted", "m/s^2", "Ask less of grip and travel, or allow more force."),
        ("bump travel used", "%", "A larger weight on travel keeps the stroke in hand, if the force allows it."),
        ("mean power put in", "W", "With more weight on travel the motor works more as a damper and pushes less."),
        ("largest power put in", "W", "Limit the force, or weight the travel more."),
        ("largest force", "N", "The motor cannot give that much: limit the force."),
    )
    return [
        Criterion(name, value, limit, unit, advice=advice)
        for (name, unit, advice), value, limit in zip(named, reached, _limits(n), strict=True)
    ]


def _rig_question(n):
    vibration, travel, mean, peak, force = _limits(n)
    return (
        f"The team may try the rig on a carrier: body {n.mass} kg on each wheel, wheel {n.wheel} kg with its motor, "
        f"all else as on this page, the real chain too; the motor gives {force:.0f} N at most. Choose the weights of "
        "the optimal law and the largest force, so that on the descent of the Fell loop, at one wheel, weighted "
        f"vibration is at most {vibration:.2f} m/s², bump travel used at most {travel:.1f} %, mean power put in at "
        f"most {mean:.1f} W and the largest power put in at most {peak:.0f} W."
    )


def _rig_solution(n):
    start, done = (_ridden(n.mass, n.wheel, *design) for design in ((GRIP, TRAVEL, 5000.0), _reference(n)))
    told = ("{:.2f} m/s², {:.0f} % of the bump travel, {:.1f} W on average, {:.0f} W at the peak, {:.0f} N".format(
        *reached) for reached in (start, done))  # fmt: skip
    return (
        "Comfort alone (30000 and 300, 5000 N) swings too far and asks for too much power: {}. More weight on travel "
        "saves stroke and most of the power and costs some calm; the limit of force cuts the push on the steps. This "
        "design: {}. Weight on grip is calm given away for something nobody asked for here."
    ).format(*told)  # fmt: skip


EXERCISES = [
    Numeric(
        key="R1", title="Recall: who does the work",
        question=lambda n: f"From workbook 00: a motor between body and wheel pushes the body up with {n.force} N "
        f"while the suspension is being compressed at {n.speed_mms} mm/s. At what rate does it put energy in?",
        numbers=[Draw("force", 200, 900, 50), Draw("speed_mms", 150, 900, 50)],
        answer=lambda n: -1e-3 * n.force * n.speed_mms, unit="W",
        hints=[
            "Does the motor move with its own push, or is it pushed back?",
            "It puts in $F_a\\,(v_s - v_u)$, $F_a$ positive upwards on the body, against workbook 00's $f$; and "
            "compression means that $v_s - v_u$ is negative.",
            "Put the speed in m/s, multiply, and think of the sign.",
        ],
        slips=[
            Slip("sign", lambda n: 1e-3 * n.force * n.speed_mms,
                 "The suspension moves against the push, so energy goes out: the sign is negative."),
            Slip("mm/s", lambda n: -n.force * n.speed_mms, "The speed went in as mm/s."),
            Slip("half", lambda n: -0.5e-3 * n.force * n.speed_mms, "No half here: a force at a speed is a rate."),
        ],
        solution=lambda n: f"$-{n.force}\\cdot{1e-3 * n.speed_mms:g} = {-1e-3 * n.force * n.speed_mms:.4g}$ W: it "
        "takes energy out.",
    ),
    Numeric(
        key="R2", title="Recall: the point that stays",
        question=lambda n: f"From workbook 01: body {n.mass} kg, wheel {n.wheel} kg, spring {n.rate} N/m, tyre "
        f"{n.tyre} N/m. At what frequency does no suspension force change how far the body follows the road?",
        numbers=[Draw("mass", 60, 140, 10), Draw("wheel", 10, 18, 1), Draw("rate", 12000, 20000, 1000),
                 Draw("tyre", 90000, 150000, 10000)],
        answer=_point_hz, unit="Hz", tolerance=0.01,
        hints=[
            "Add the two equations of motion. Which masses and springs are left beside the wheel's amplitude?",
            "$f = \\frac{1}{2\\pi}\\sqrt{k_t/m_u}$.",
            "Tyre rate over the wheel's mass, take the root, divide by $2\\pi$.",
        ],
        slips=[
            Slip("both springs", lambda n: math.sqrt((n.tyre + n.rate) / n.wheel) / (2.0 * math.pi),
                 "That is wheel hop on both springs; here the suspension's spring has dropped out."),
            Slip("rad/s", lambda n: math.sqrt(n.tyre / n.wheel), "That is the number of rad/s: divide by $2\\pi$."),
            Slip("travel point", lambda n: math.sqrt(n.tyre / (n.wheel + n.mass)) / (2.0 * math.pi),
                 "That is the other point, the travel's, with both masses."),
        ],
        solution=lambda n: f"$\\sqrt{{{n.tyre}/{n.wheel}}}$ is {math.sqrt(n.tyre / n.wheel):.4g} rad/s, that is "
        f"{_point_hz(n):.3g} Hz.",
    ),
    Choice(
        key="P", title="A motor at every wheel",
        question="The carrier on the class C track of the sketch (in fair order, workbook 01). The motors give any "
        "force, at once. The best controller knows all that the machine does, but not the road ahead. Grip and travel "
        "may be no worse than today's. How much of today's body acceleration (rms) is left?",
        options={"nothing": "almost nothing", "third": "about a third", "quarters": "about three quarters",
                 "all": "all of it"},
        answer="quarters",
        feedback={
            "nothing": "The motor can hold the body still only by leaving the wheel to itself, on its tyre and over "
            "its travel. What runs out is not power.",
            "third": "Pushing at the right moment cancels a bump, but only who knows the bump can push before it: who "
            "sees the road 0.1 s ahead has 42 % left. Without that it is 74 %, however strong the motor.",
            "quarters": "The slow heave goes, the quick shake stays: 74 % is left on the carrier, 60 % on the bike, "
            "89 % on the motorcycle, and the motor puts in about a watt.",
            "all": "At 13.8 Hz nothing changes, true. But much of the acceleration lies in the slow heave, and there a "
            "motor helps.",
        },
    ),
    Choice(
        key="S1", title="Set the weight of grip to its top, 6.5",
        question="It is still the best possible law for what is asked. What becomes of the carrier's acceleration?",
        options={"less": "less than the plain damper's: optimal is always calmer",
                 "same": "as much as the plain damper's", "more": "more than the plain damper's"},
        answer="more",
        feedback={
            "less": "131 % is left, and the load on the tyre varies 22 % less. Optimal means best at what was asked, "
            "and grip was asked.",
            "same": "131 % is left, and the load on the tyre varies 22 % less: calm was given away for grip.",
            "more": "131 % is left, and the load on the tyre varies 22 % less. Optimal means best at what was asked.",
        },
    ),
    Choice(
        key="S2", title="Back to 5.5, and let the rig see 0.10 s ahead",
        question="Which of the three, acceleration, tyre load, travel, pays for the others?",
        options={"grip": "grip: the tyre load varies more", "travel": "travel: the body is raised in time",
                 "none": "none of the three: all become less"},
        answer="none",
        feedback={
            "grip": "All three become less: 61 % of the acceleration, 63 % of the load variation, 81 % of the travel. "
            "The battery pays: the motor now puts in 5.4 W and takes out 3.1.",
            "travel": "All three become less: 61, 63 and 81 %. Over a long road the body need not be raised more, only "
            "sooner. The battery pays: the motor puts in 5.4 W and takes out 3.1.",
            "none": "61, 63 and 81 %. The battery pays: the motor now puts in 5.4 W and takes out 3.1. It is a brake "
            "no more.",
        },
    ),
    Choice(
        key="S3", title="No look ahead, weight of grip 4.5, of travel 2.5",
        question="The motor takes out 11.3 W and puts in 10.4. All that comes back is stored, by a drive of 60 %. Does "
        "the battery fill?",
        options={"fills": "yes: more comes back than goes out", "even": "it stays about as it is",
                 "empties": "no: it empties"},
        answer="empties",
        feedback={
            "fills": "It gives 10.5 W on average. More comes back at the rod, but the losses are paid twice: going "
            "out, and coming back.",
            "even": "It gives 10.5 W on average. In and out are about equal at the rod, not at the battery: the losses "
            "are paid going out, and coming back.",
            "empties": "It gives 10.5 W on average: the losses are paid twice, going out, and coming back.",
        },
    ),
    Numeric(
        key="E1", title="What the motor puts in on balance", kind="worked",
        question=lambda n: f"Beside a motor with a clever law stands a soft damper of {n.damping} N s/m. On a road of "
        f"intensity {n.intensity}·10⁻⁶ m²/s the suspension moves at {n.speed_mms} mm/s rms. The tyre has {n.tyre} N/m. "
        "What mean net power does the motor put in?",
        numbers=[Draw("damping", 250, 350, 10), Draw("intensity", 350, 500, 50), Draw("speed_mms", 150, 500, 350),
                 Draw("tyre", 100000, 140000, 10000)],
        answer=lambda n: _heat(n) - _road(n), unit="W",
        hints=[
            "Three flows add up to zero: road, damper, motor.",
            "$V c = P + W k_t/2$, solved for $P$; $V$ is the square of the rms speed of travel.",
            "The damper's heat first (square the speed in m/s), then take away what the road puts in.",
        ],
        slips=[
            Slip("sign", lambda n: _road(n) - _heat(n),
                 "The size is right. Who burns more than the road brings needs it from the motor: heat less the "
                 "road's part, in this order."),
            Slip("no half", lambda n: _heat(n) - 2.0 * _road(n), "The road puts in $W k_t/2$: the half is missing."),
            Slip("heat only", _heat, "That is the damper's heat; the road's part is missing."),
            Slip("added", lambda n: _heat(n) + _road(n),
                 "Heat and the road's part stand on opposite sides of the balance: take one from the other."),
        ],
        solution=lambda n: f"Heat: ${n.damping}\\cdot{1e-3 * n.speed_mms:g}^2 = {_heat(n):.4g}$ W. Road: "
        f"${n.intensity}\\cdot10^{{-6}}\\cdot{n.tyre}/2 = {_road(n):.4g}$ W. So $P = {_heat(n) - _road(n):.4g}$ W: on "
        f"balance the motor {'puts energy in' if _heat(n) > _road(n) else 'takes energy out'}.",
    ),
    Numeric(
        key="E2", title="From the rod to the battery, and to the rider", kind="gap",
        question=lambda n: f"Averaged over a whole ride, a motor's pushes put in $S = {n.supply}$ W at its rod; its "
        f"net is $P = {n.net}$ W. Drive and electronics pass on {n.efficiency} % in either direction "
        f"($\\eta = {0.01 * n.efficiency:g}$), and what comes back is stored. Fill the gap in the battery's mean "
        f"power, $B = S/\\eta - \\_\\_\\_\\,(S - P)$. Ilka sustains {n.rider} W at the pedals: what share "
        "of that do two such motors ask for?",
        numbers=[Draw("supply", 56, 80, 4), Draw("net", -9, -6, 1), Draw("efficiency", 50, 60, 5),
                 Draw("rider", 120, 240, 20)],
        answer=lambda n: _of_rider(n, 0.01 * n.efficiency), unit="%",
        hints=[
            "What comes back at the rod shrinks once more on its way into the battery.",
            "$B = S/\\eta - \\eta\\,(S - P)$, and $S - P$ is what the motor takes out. Two motors, so $2B$ over the "
            "rider's power.",
            lambda n: f"Mind the sign: {n.supply} less a negative number is more than {n.supply}.",
        ],
        slips=[
            Slip("divided twice", lambda n: _of_rider(n, 100.0 / n.efficiency),
                 "You divided both flows by $\\eta$: what comes back is multiplied by it."),
            Slip("full return", lambda n: _of_rider(n, 1.0),
                 "That counts the returned energy whole; the drive loses its share on the way back, too."),
            Slip("sign", lambda n: _of_rider(n, 0.01 * n.efficiency, n.supply + n.net),
                 "The net is negative, so $S - P$ is more than $S$, not less."),
            Slip("no return", lambda n: _of_rider(n, 0.0), "That is without any return."),
            Slip("one motor", lambda n: 0.5 * _of_rider(n, 0.01 * n.efficiency),
                 "That is one motor: the bike has two."),
        ],
        solution=lambda n: f"$B = {n.supply}/{0.01 * n.efficiency:g} - "
        f"{0.01 * n.efficiency:g}\\cdot{n.supply - n.net} = {0.005 * n.rider * _of_rider(n, 0.01 * n.efficiency):.4g}$ "
        f"W; two of them are {_of_rider(n, 0.01 * n.efficiency):.4g} % of {n.rider} W. The net is negative and the "
        "battery empties all the same.",
    ),
    Numeric(
        key="E3", title="How far ahead to look",
        question=lambda n: f"A preview law wants the road {n.preview_ms} ms before the wheel meets it. From the "
        f"camera's picture to the motor's force pass another {n.latency_ms} ms. How far ahead of the wheel must the "
        f"camera see the ground at {n.speed_kmh} km/h?",
        numbers=[Draw("preview_ms", 150, 300, 50), Draw("latency_ms", 30, 80, 10), Draw("speed_kmh", 18, 54, 6)],
        answer=_look, unit="m",
        hints=[
            "The late chain eats part of what the camera sees.",
            "$d = v\\,(T_p + \\tau)$: $T_p$ is the look ahead that the law wants, $\\tau$ the time from picture to "
            "force.",
            "Speed in m/s, times the sum of both times in seconds.",
        ],
        slips=[
            Slip("km/h", lambda n: 3.6 * _look(n), "The speed went in as km/h."),
            Slip("difference", lambda n: n.speed_kmh / 3.6 * 1e-3 * (n.preview_ms - n.latency_ms),
                 "A late chain needs a longer look, not a shorter one: add the times."),
            Slip("preview only", lambda n: n.speed_kmh / 3.6 * 1e-3 * n.preview_ms,
                 "By the time the force is there, part of the preview has gone by: add the delay."),
        ],
        solution=lambda n: f"${n.speed_kmh / 3.6:.3g}\\cdot{1e-3 * (n.preview_ms + n.latency_ms):g} = "
        f"{_look(n):.3g}$ m.",
    ),
    Numeric(
        key="E4", title="Lifted before the bump",
        question=lambda n: "(Needs *More*, below.) "
        f"A motor of any power throws the body of {n.mass} kg up by {n.height_mm} mm, from rest to "
        f"rest, over a wheel of {n.wheel} kg that must stay on the ground. What is the least time? (Upwards the motor "
        f"may push as hard as it likes; what pulls the body back? Gravity is {GRAVITY} m/s².)",
        numbers=[Draw("mass", 60, 140, 10), Draw("wheel", 12, 20, 1), Draw("height_mm", 40, 90, 5)],
        answer=_soonest, unit="s", tolerance=0.01,
        hints=[
            "The body must come to rest at the top. Which two weights can pull it down, if the motor pulls the wheel "
            "up at it?",
            "Braking is at most $g\\,(1 + m_u/m_s)$, and a body thrown up that far needs $t = \\sqrt{2h/a}$.",
            "Put the height in metres, and find the braking first.",
        ],
        slips=[
            Slip("own weight only", lambda n: _soonest(n, 1.0),
                 "That is by the body's weight alone. The motor can also pull at the wheel, until the tyre carries "
                 "nothing."),
            Slip("wheel takes away", lambda n: _soonest(n, 1.0 - n.wheel / n.mass),
                 "The wheel's weight helps to brake the body: add it."),
            Slip("no 2", lambda n: _soonest(n) / math.sqrt(2.0), "Height is *half* of braking times time squared."),
            Slip("no root", lambda n: _soonest(n) ** 2, "That is the time squared."),
        ],
        solution=lambda n: f"$a = {GRAVITY}\\cdot(1 + {n.wheel}/{n.mass}) = "
        f"{GRAVITY * (1.0 + n.wheel / n.mass):.4g}$ m/s², $t = \\sqrt{{2\\cdot{1e-3 * n.height_mm:g}/"
        f"{GRAVITY * (1.0 + n.wheel / n.mass):.4g}}} = {_soonest(n):.3g}$ s. No power makes it less.",
    ),
    ShortText(
        key="E5", title="A motor that needs no battery?",
        question="A brochure says: \"The motor's mean net power is -1 W. It harvests more than it uses, so it needs "
        "no supply.\" In one or two sentences: what is wrong with the conclusion?",
        ideas=[
            "At single moments the motor pushes with the motion, and that power must be there at once, whatever the "
            "average says.",
            "What comes back shrinks by the losses on both ways and has to be stored until it is needed.",
        ],
        misconceptions=[
            Misconception("free energy", "A motor can never take out energy; that would be perpetual motion.",
                          "It can: on average it brakes like a damper, and the road pays. Look at the moments when it "
                          "pushes."),
            Misconception("brochure believed", "The net is negative, so it needs no supply.",
                          "Net negative is not never positive: compare what the motor puts in with what it takes out."),
            Misconception("net drawn", "It needs a supply of 1 W, all the time.",
                          "Minus 1 W is what comes out on balance, not what goes in. The supply is for the moments "
                          "when it pushes."),
        ],
        model="On average it takes energy out, like a damper, but at single moments it pushes with the motion, and "
        "that power must be there at once. What comes back shrinks by the losses on both ways and has to be stored "
        "in between. With the carrier's weights at 4.5 and 2.5 the motor takes out 11.3 W and puts in 10.4, and a "
        "battery behind a drive of 60 % still gives 10.5 W.",
        hints=["The net is a difference of two flows. Which are they?",
               "What does the drive's efficiency do to each of them?",
               "Look at the last two bars of the live figure, with weights of 4.5 and 2.5."],
    ),
    Design(
        key="E6", title="A law for the rig", kind="open",
        question=_rig_question,
        numbers=[Draw("mass", 140, 170, 10), Draw("wheel", 16, 20, 1), Draw("travel", 0, 4, 1), Draw("motor", 0, 2, 1)],
        parameters=[
            Parameter("grip_weight", "weight of tyre deflection", 1e3, 1e7, "1/s^4"),
            Parameter("travel_weight", "weight of travel", 1.0, 1e6, "1/s^4"),
            Parameter("force_limit", "largest force of the motor", 50.0, 5000.0, "N"),
        ],
        judge=_judge_rig,
        passing=lambda n: {
            "grip_weight": f"{_reference(n)[0]:.0f} 1/s^4", "travel_weight": f"{_reference(n)[1]:.0f} 1/s^4",
            "force_limit": f"{_reference(n)[2]:.0f} N",
        },
        solution=_rig_solution,
        hints=["Start from the comfort law's weights, 30000 1/s^4 and 300 1/s^4 (written so, not as powers of "
               "ten), and all the motor's force; see what fails.",
               "Raise the weight of travel tenfold and more. What improves, and how much vibration does it cost?",
               "Halve your steps: stroke and mean power ask for more weight on travel, vibration for less. A larger "
               "weight on grip costs calm: leave it."],
    ),
]  # fmt: skip
