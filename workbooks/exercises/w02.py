"""Exercises of workbook 02: the energy balance of a motor, its battery, a lift, and a law within its limits."""

import math
from functools import lru_cache

from helpers.control.optimal import Weights, regulator
from helpers.models.terrain import fell_loop
from helpers.models.vehicles import CARRIER
from helpers.simulation.families import FAST_CHAIN
from helpers.simulation.metrics import metrics, power
from helpers.simulation.runs import ride_section
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

REFERENCE = (3e4, 1e4, 600.0)  # weights of tyre deflection and travel, force limit: a design that passes


def _point_hz(n):
    return math.sqrt(n.tyre / n.wheel) / (2.0 * math.pi)


def _heat(n):
    return n.damping * (1e-3 * n.speed_mms) ** 2


def _road(n):
    return 0.5e-6 * n.intensity * n.tyre


def _battery(n):
    share = 0.01 * n.efficiency
    return n.supply / share - share * (n.supply - n.net)


def _lift_power(n):
    return 0.5 * n.rate * (1e-3 * n.height_mm) ** 2 * n.speed / n.length


def _shake(n):
    return 1e-3 * n.road_mm * n.tyre / n.mass


def _look(n):
    return n.speed_kmh / 3.6 * 1e-3 * (n.preview_ms + n.latency_ms)


@lru_cache(64)
def _ridden(mass, wheel, grip_weight, travel_weight, force_limit):
    """(vibration in m/s2, bump travel used in %, mean and largest power put in, W) on the descent, one wheel."""
    vehicle = CARRIER.changed(body_mass=float(mass), wheel_mass=float(wheel))
    law = regulator(vehicle, Weights(travel_weight, grip_weight)).feedback(force_limit)
    run = ride_section(vehicle, fell_loop().section("descent"), law, FAST_CHAIN)
    ridden, watts = metrics(run), power(run)
    return ridden.comfort, 100.0 * ridden.bump_share, watts.supply, watts.peak


def _limits(n):
    """What the reference design reaches, and a little more."""
    reached = _ridden(n.mass, n.wheel, *REFERENCE)
    return [slack * value for slack, value in zip((1.03, 1.05, 1.15, 1.06), reached, strict=True)]


def _judge_rig(values, n):
    reached = _ridden(n.mass, n.wheel, values.grip_weight, values.travel_weight, values.force_limit)
    named = (
        ("vibration, weighted", "m/s^2", "Ask less of grip and travel, or allow more force."),
        ("bump travel used", "%", "A larger weight on travel keeps the stroke in hand."),
        ("mean power put in", "W", "With more weight on travel the motor works more as a damper and pushes less."),
        ("largest power put in", "W", "Limit the force, or weight the travel more."),
    )
    return [
        Criterion(name, value, limit, unit, advice=advice)
        for (name, unit, advice), value, limit in zip(named, reached, _limits(n), strict=True)
    ]


def _rig_question(n):
    vibration, travel, mean, peak = _limits(n)
    return (
        f"The team may try the rig on a loaded carrier: body {n.mass} kg on each wheel, wheel {n.wheel} kg with its "
        "motor, everything else as in the table of parameters. Sensor, computer and motor are those of workbook 00 "
        "(1000 samples a second, 3 ms late, 3 ms lag). Choose the weights of the optimal law and the largest force, "
        f"so that on the descent of the Fell loop, at one wheel, weighted vibration is at most {vibration:.2f} m/s², "
        f"bump travel used at most {travel:.1f} %, mean power put in at most {mean:.1f} W and the largest power put "
        f"in at most {peak:.0f} W. Plain numbers for the weights, which are in 1/s⁴."
    )


EXERCISES = [
    Numeric(
        key="R1", title="Recall: who does the work",
        question=lambda n: f"From workbook 00: a motor between body and wheel pushes the body up with {n.force} N "
        f"while the suspension is being compressed at {n.speed_mms} mm/s. At what rate does it put energy in?",
        numbers=[Draw("force", 200, 900, 50), Draw("speed_mms", 150, 900, 50)],
        answer=lambda n: -1e-3 * n.force * n.speed_mms, unit="W",
        hints=[
            "Does the motor move with its own push, or is it pushed back?",
            "It puts in $F_a\\,(v_s - v_u)$, and compression means that $v_s - v_u$ is negative.",
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
        question="The rig's motors give any force, at once, with any power. The best possible controller knows all "
        "that the machine does, but not the road ahead. The tyre must hold the ground no worse than with the calmest "
        "damper of workbook 01. On the class C track, how much of that damper's body acceleration (rms) is left?",
        options={
            "a": "almost nothing: with enough power the body is held still",
            "b": "about a third",
            "c": "about two thirds",
            "d": "all of it: nobody moves the 14 Hz point, and the shake is what counts",
        },
        answer="c",
        feedback={
            "a": "The motor can hold the body still only by leaving the wheel to itself. To shake the body less it "
            "must let the wheel swing on its tyre, and grip is gone: power is not what runs out.",
            "b": "So much is left (32 %) once the controller also sees the road 0.3 s ahead. Without that, 68 % is "
            "left, however strong the motor.",
            "c": "68 % is left on the carrier, 54 % on the bike, 74 % on the motorcycle, and the motor puts in a few "
            "watts only.",
            "d": "At 13.8 Hz nothing changes, true. But three quarters of the calmest damper's acceleration sit below "
            "6 Hz (0.85 of 1.13 m/s² as rms), and there a motor helps.",
        },
    ),
    Numeric(
        key="E1", title="What the motor puts in on balance", kind="worked",
        question=lambda n: f"Beside a motor with a clever law stands a soft damper of {n.damping} N s/m. On a road of "
        f"intensity {n.intensity}·10⁻⁶ m²/s the suspension moves at {n.speed_mms} mm/s rms. The tyre has {n.tyre} N/m. "
        "What mean net power does the motor put in?",
        numbers=[Draw("damping", 150, 250, 10), Draw("intensity", 500, 900, 50), Draw("speed_mms", 150, 250, 10),
                 Draw("tyre", 120000, 160000, 10000)],
        answer=lambda n: _heat(n) - _road(n), unit="W",
        hints=[
            "Three flows add up to zero: road, damper, motor.",
            "$c\\,\\mathrm{E}[v^2] - P = W k_t/2$, solved for $P$.",
            "The damper's heat first (square the speed in m/s), then take away what the road puts in.",
        ],
        slips=[
            Slip("sign", lambda n: _road(n) - _heat(n),
                 "The road puts in more than the damper burns; the rest goes out through the motor: negative."),
            Slip("no half", lambda n: _heat(n) - 2.0 * _road(n), "The road puts in $W k_t/2$: the half is missing."),
            Slip("heat only", _heat, "That is the damper's heat; the road's part is missing."),
            Slip("added", lambda n: _heat(n) + _road(n),
                 "Heat and the road's part stand on opposite sides of the balance: take one from the other."),
        ],
        solution=lambda n: f"Heat: ${n.damping}\\cdot{1e-3 * n.speed_mms:g}^2 = {_heat(n):.4g}$ W. Road: "
        f"${n.intensity}\\cdot10^{{-6}}\\cdot{n.tyre}/2 = {_road(n):.4g}$ W. So $P = {_heat(n) - _road(n):.4g}$ W: on "
        "balance the motor takes energy out.",
    ),
    Numeric(
        key="E2", title="From the rod to the battery", kind="gap",
        question=lambda n: f"At its rod a motor puts in {n.supply} W on average while it pushes; its net is {n.net} W. "
        f"Drive and electronics pass on {n.efficiency} % in either direction, and what comes back is stored. Fill the "
        "gap and work out the battery's mean power: $B = S/\\eta - \\_\\_\\_\\,(S - P)$.",
        numbers=[Draw("supply", 60, 100, 4), Draw("net", -10, -2, 2), Draw("efficiency", 50, 80, 5)],
        answer=_battery, unit="W",
        hints=[
            "What comes back at the rod shrinks once more on its way into the battery.",
            "$B = S/\\eta - \\eta\\,(S - P)$, and $S - P$ is what the motor takes out.",
            lambda n: f"Mind the sign: {n.supply} less a negative number is more than {n.supply}.",
        ],
        slips=[
            Slip("full return", lambda n: n.supply / (0.01 * n.efficiency) - (n.supply - n.net),
                 "That counts the returned energy whole; the drive loses its share on the way back, too."),
            Slip("no return", lambda n: n.supply / (0.01 * n.efficiency), "That is without any return."),
            Slip("multiplied", lambda n: 0.01 * n.efficiency * n.net,
                 "Losses make the battery give more than the rod needs: divide what goes out of it."),
            Slip("net only", lambda n: n.net / (0.01 * n.efficiency),
                 "The losses act on each flow by itself, not on their difference."),
        ],
        solution=lambda n: f"${n.supply}/{0.01 * n.efficiency:g} - {0.01 * n.efficiency:g}\\cdot{n.supply - n.net} = "
        f"{_battery(n):.4g}$ W. The net is negative and the battery empties all the same.",
    ),
    Numeric(
        key="E3", title="Lifted while the bump passes",
        question=lambda n: f"A motor beside a spring of {n.rate} N/m, which carries the {n.mass} kg of body at rest, "
        f"is to raise the body by {n.height_mm} mm while the machine rolls {n.length:g} m at {n.speed} m/s. What mean "
        "power does that take, losses left out?",
        numbers=[Draw("rate", 12000, 18000, 500), Draw("mass", 150, 180, 10), Draw("height_mm", 40, 70, 5),
                 Draw("length", 0.8, 2.0, 0.2), Draw("speed", 4, 10, 1)],
        answer=_lift_power, unit="W",
        hints=[
            "The spring carries the weight; what must the motor work against as the body rises?",
            "Energy $\\frac12 k_s h^2$, time $L/v$.",
            "Put the height in metres and square it; divide the energy by the time.",
        ],
        slips=[
            Slip("no half", lambda n: 2.0 * _lift_power(n),
                 "The force grows from zero as the spring lets go, so the energy holds a half."),
            Slip("weight", lambda n: n.mass * 9.80665 * 1e-3 * n.height_mm * n.speed / n.length,
                 "That lifts the whole weight; the spring already carries it."),
            Slip("energy", lambda n: 0.5 * n.rate * (1e-3 * n.height_mm) ** 2 if n.length != n.speed else 0.0,
                 "That is the number of the energy in joules: divide it by the time."),
        ],
        solution=lambda n: f"$\\frac12\\cdot{n.rate}\\cdot{1e-3 * n.height_mm:g}^2$ is "
        f"{0.5 * n.rate * (1e-3 * n.height_mm) ** 2:.4g} J in {n.length / n.speed:.3g} s: {_lift_power(n):.4g} W on "
        "average, and several times that at the peak.",
    ),
    Numeric(
        key="E4", title="The shake that stays",
        question=lambda n: f"Body {n.mass} kg, wheel {n.wheel} kg, tyre {n.tyre} N/m. At the frequency where no "
        f"suspension force counts, the road has an amplitude of {n.road_mm:g} mm. What amplitude has the body's "
        "acceleration, whatever the motor does?",
        numbers=[Draw("mass", 70, 140, 10), Draw("wheel", 10, 18, 1), Draw("tyre", 90000, 150000, 10000),
                 Draw("road_mm", 1, 3, 0.5)],
        answer=_shake, unit="m/s^2",
        hints=[
            "How far does the body move there, and how does an amplitude become an acceleration?",
            "The body moves $m_u/m_s$ of the road, times $\\omega^2 = k_t/m_u$: the wheel's mass drops out.",
            "Road amplitude in metres, times the tyre rate, over the body's mass.",
        ],
        slips=[
            Slip("wheel's mass", lambda n: 1e-3 * n.road_mm * n.tyre / n.wheel,
                 "That is the road's own acceleration; the body follows only $m_u/m_s$ of it."),
            Slip("Hz", lambda n: _shake(n) / (2.0 * math.pi) ** 2,
                 "The square is of $\\omega$ in rad/s, not of the frequency in Hz."),
            Slip("both masses", lambda n: 1e-3 * n.road_mm * n.tyre / (n.mass + n.wheel),
                 "Wheel over body, not wheel over both."),
        ],
        solution=lambda n: f"${1e-3 * n.road_mm:g}\\cdot{n.tyre}/{n.mass} = {_shake(n):.3g}$ m/s². A softer tyre or a "
        "heavier body lowers it; a motor does not.",
    ),
    Numeric(
        key="E5", title="How far ahead to look",
        question=lambda n: f"A preview law wants the road {n.preview_ms} ms before the wheel meets it. From the "
        f"camera's picture to the motor's force pass another {n.latency_ms} ms. How far ahead of the wheel must the "
        f"camera see the ground at {n.speed_kmh} km/h?",
        numbers=[Draw("preview_ms", 150, 300, 50), Draw("latency_ms", 30, 80, 10), Draw("speed_kmh", 18, 54, 6)],
        answer=_look, unit="m",
        hints=[
            "The late chain eats part of what the camera sees.",
            "$d = v\\,(T_p + \\tau)$.",
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
    ShortText(
        key="E6", title="A motor that needs no battery?",
        question="A brochure says: \"The motor's mean net power is -10 W. It harvests more than it uses, so it needs "
        "no supply.\" In one or two sentences: what is wrong with the conclusion?",
        ideas=[
            Idea(("moment", "instant", "peak", "while it push", "when it push", "at times", "sometimes", "positive",
                  "puts in", "put in", "part of the time", "average hides", "first"),
                 "Say what happens at single moments, not on average."),
            Idea(("loss", "lose", "efficien", "stor", "buffer", "heat", "convert", "drive", "capacitor"),
                 "Say what lies between what comes back and what can be used again."),
        ],
        misconceptions=[
            Misconception("free energy", ("perpetual", "impossible to harvest", "cannot harvest", "can never take out"),
                          "It can: on average it brakes like a damper, and the road pays. Look at the moments when it "
                          "pushes.",
                          "A motor can never take out energy; that would be perpetual motion."),
        ],
        model="On average it takes energy out, like a damper, but at single moments it pushes with the motion, and "
        "that power must be there at once. What comes back shrinks by the losses on both ways and has to be stored "
        "in between, so with ordinary efficiency the battery still gives.",
        hints=["The net is a difference of two flows. Which are they?",
               "What does the drive's efficiency do to each of them?",
               "Compare the last two bars of the live figure."],
    ),
    Design(
        key="E7", title="A law for the rig", kind="open",
        question=_rig_question,
        numbers=[Draw("mass", 140, 170, 10), Draw("wheel", 16, 20, 1)],
        parameters=[
            Parameter("grip_weight", "weight of tyre deflection", 1e3, 1e7),
            Parameter("travel_weight", "weight of travel", 1.0, 1e6),
            Parameter("force_limit", "largest force of the motor", 50.0, 5000.0, "N"),
        ],
        judge=_judge_rig,
        passing={"grip_weight": "30000", "travel_weight": "10000", "force_limit": "600 N"},
        solution="Comfort alone (30000 and 300) swings too far and asks for too much power. Much more weight on travel "
        "saves stroke and most of the power and costs a tenth of the calm or less; the force limit then cuts the peak "
        "on the steps and costs next to nothing.",
        hints=["Start from the comfort weights of this page, 30000 and 300, and 5000 N; see what fails.",
               "Raise the weight of travel tenfold and more. What improves, and how much vibration does it cost?",
               "Then bring down the force until the peak passes. A larger weight on grip costs calm: leave it."],
    ),
]  # fmt: skip
