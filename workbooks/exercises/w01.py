"""Exercises of workbook 01: frequencies, an invariant point, best dampers and heat, for a stranger's vehicle."""

import math

import numpy as np

from helpers.models import closed_forms
from helpers.models.terrain import CLASSES, REFERENCE_FREQUENCY, white_velocity_intensity
from helpers.models.vehicles import Vehicle
from helpers.teaching.exercises import Choice, Criterion, Design, Draw, Numeric, Parameter, Slip

TRAILER_SPEED = 8.0  # m/s
TRAILER_ROAD = white_velocity_intensity(CLASSES["C"], TRAILER_SPEED)


def _body_hz(n):
    return math.sqrt(n.rate / n.mass) / (2.0 * math.pi)


def _damping(n):
    return 2.0 * n.ratio * math.sqrt(n.rate * n.mass)


def _comfort(n):
    return n.rate * math.sqrt((n.mass + n.wheel) / n.tyre)


def _heat(n):
    return math.pi**2 * REFERENCE_FREQUENCY**2 * CLASSES["C"] * n.speed_kmh / 3.6 * n.tyre


def _mount(n):
    """Casualty's motion over the body's at the frequency where no suspension force counts."""
    return n.mount / (n.mount - n.person * n.tyre / n.wheel)


def _lying(n):
    """How far the casualty moves, mm: the mount's pull on the body counts as mass."""
    return abs(10.0 * _mount(n) * n.wheel / (n.mass + n.person * _mount(n)))


def _trailer(n, damping=1.0):
    return Vehicle("rescue trailer", n.mass, n.wheel, n.rate, n.tyre, damping)


def _limits(n):
    """What the middle between the calmest and the best-grip coefficient reaches, and a little more."""
    trailer = _trailer(n)
    middle = math.sqrt(closed_forms.comfort_damping(trailer) * closed_forms.grip_damping(trailer))
    at = closed_forms.trade_off(trailer, TRAILER_ROAD, np.array([middle]))
    return middle, 1.02 * float(at.acceleration_rms[0]), 1.02 * float(at.load_share_rms[0])


def _judge_trailer(values, n):
    at = closed_forms.trade_off(_trailer(n), TRAILER_ROAD, np.array([values.damping]))
    _, calm, grip = _limits(n)
    return [
        Criterion("body acceleration, rms", float(at.acceleration_rms[0]), calm, "m/s^2",
                  advice="Compare with the coefficient of least vibration."),
        Criterion("tyre-load variation", 100.0 * float(at.load_share_rms[0]), 100.0 * grip, "%",
                  advice="Compare with the coefficient of best grip."),
    ]  # fmt: skip


EXERCISES = [
    Numeric(
        key="R1", title="Recall: heat in a damper",
        question=lambda n: f"From workbook 00: a linear damper of {n.damping} N s/m is compressed at {n.speed_mms} "
        "mm/s. At what rate does it turn motion into heat?",
        numbers=[Draw("damping", 400, 1500, 50), Draw("speed_mms", 200, 800, 20)],
        answer=lambda n: n.damping * (n.speed_mms / 1e3) ** 2, unit="W",
        hints=[
            "Power is force times speed.",
            "$P = c\\,(v_s-v_u)^2$, whichever way it moves.",
            "Put the speed in m/s, square it, multiply.",
        ],
        slips=[
            Slip("force", lambda n: n.damping * n.speed_mms / 1e3, "That is the number of the force in newtons."),
            Slip("half", lambda n: 0.5 * n.damping * (n.speed_mms / 1e3) ** 2,
                 "No half here: that belongs to stored energy."),
            Slip("negative", lambda n: -n.damping * (n.speed_mms / 1e3) ** 2,
                 "The machine loses energy, but the heat that appears in the oil is positive, in compression too."),
        ],
        solution=lambda n: f"${n.damping}\\cdot{n.speed_mms / 1e3:g}^2 = "
        f"{n.damping * (n.speed_mms / 1e3) ** 2:.3g}$ W.",
    ),
    Choice(
        key="R2", title="Recall: what a mode switch is",
        question="From workbook 00: a mode-switching damper has just been told to be open. What is it now?",
        options={
            "a": "an ordinary damper",
            "b": "a semi-active damper",
            "c": "an actuator, as long as the battery lasts",
        },
        answer="a",
        feedback={
            "a": "Within one setting it has one force-velocity curve, like any damper.",
            "b": "Semi-active means that the coefficient follows the motion within each bump; here it stands still "
            "until the next event.",
            "c": "The battery moves a valve, not the wheel: no energy reaches the suspension.",
        },
    ),
    Choice(
        key="P", title="The bounce-test setting on the track",
        question="Tomas sets the carrier's damper to 2307 N s/m, where the parked machine returns from a push without "
        "a second swing. In the linear model, on a random road, how large is the body's rms acceleration with that "
        "setting, compared with the calmest damper one could choose?",
        options={
            "same": "the same: what settles fastest shakes least",
            "third": "about a third more",
            "mean square": "about four fifths more",
            "coefficient": "more than three times as much",
        },
        answer="third",
        feedback={
            "same": "A push on a parked machine moves the body at its own slow frequency only. A track shakes the "
            "wheel at all frequencies, and above its own the damper is a path for the road into the body.",
            "third": "With r = 2307/685 = 3.37 times the calmest coefficient, the growing term is r times, the falling "
            "one 1/r times what it was: the mean square is (r + 1/r)/2 = 1.83 times the least, and its root 1.35.",
            "mean square": "That is the mean square, 1.83 times the least. The acceleration is its root: 1.35. (On the "
            "loop's traverse, where roots are no random road, you would be near.)",
            "coefficient": "That is how many times the coefficient is too large, 3.37. Only one of the two terms grows "
            "with it, and the acceleration goes with the root of their mean.",
        },
    ),
    Choice(
        key="S1", title="Set the road class from B to D",
        question="What does the middle picture do?",
        options={"stays": "nothing", "worse": "the curve moves up and to the right: less calm, less grip",
                 "firmer": "its two best points move to firmer dampers"},
        answer="stays",
        feedback={
            "stays": "And the bar on the right grows fourfold. The best coefficient holds neither the road nor the "
            "speed: in this model one setting is right on every road.",
            "worse": "Both wishes are measured by the best that can be had on the same road. What grows, fourfold, is "
            "the bar on the right.",
            "firmer": "That is the rule of the trade, and this model does not know it: the best coefficient holds "
            "neither the road nor the speed.",
        },
    ),
    Choice(
        key="S2", title="Double the spring rate",
        question="What does the calmest coefficient do?",
        options={"root": "it grows by the root of two", "double": "it doubles", "stays": "it stays: masses and tyre "
                 "decide"},
        answer="double",
        feedback={
            "root": "That keeps the damping ratio. But the calmest coefficient is the spring rate times a root in "
            "which the spring does not stand.",
            "double": "It is the spring rate times a root in which the spring does not stand. A stiffer spring needs "
            "more damping than the same damping ratio would say.",
            "stays": "Masses and tyre stand under the root, but the spring rate stands before it: it doubles.",
        },
    ),
    Choice(
        key="S3", title="Set the motorcycle, class D, and go from 400 to 1300 N s/m",
        question="What does the bar on the right do?",
        options={"safe": "it falls below the line: the tyre now stays on the ground",
                 "still": "it falls by a quarter and stays above the line", "grows": "it grows: firm suspension hops"},
        answer="still",
        feedback={
            "safe": "It falls by a quarter only, and stays far above the line: no coefficient holds a heavy wheel on "
            "such ground at that speed.",
            "still": "1313 N s/m is its best for grip, and even there the tyre lifts off: no setting of a damper mends "
            "that. The model goes on as if it could pull; a ride does not.",
            "grows": "For so heavy a wheel it falls, by a quarter: more damping holds it. Only far beyond it grows.",
        },
    ),
    Numeric(
        key="E1", title="The body's own frequency", kind="worked",
        question=lambda n: f"A stranger rolls in with a machine whose rear wheel carries {n.mass} kg on a spring of "
        f"{n.rate} N/m at the wheel. At what frequency does the body swing, if the tyre is taken as rigid?",
        numbers=[Draw("mass", 45, 160, 5), Draw("rate", 9000, 24000, 500)],
        answer=_body_hz, unit="Hz",
        hints=[
            "A mass on a spring has one natural frequency: stiffer is faster, heavier is slower.",
            "$f = \\frac{1}{2\\pi}\\sqrt{k_s/m_s}$.",
            lambda n: f"Work out {n.rate}/{n.mass} first, take the root, then divide by $2\\pi$.",
        ],
        slips=[
            Slip("rad/s", lambda n: 2.0 * math.pi * _body_hz(n),
                 "That is the number of rad/s; the question asks for Hz: divide by $2\\pi$."),
            Slip("no root", lambda n: n.rate / n.mass / (2.0 * math.pi), "The square root is missing."),
            Slip("upside down", lambda n: math.sqrt(n.mass / n.rate) / (2.0 * math.pi),
                 "Mass and rate are swapped: a stiffer spring must give a higher frequency."),
        ],
        solution=lambda n: f"$\\sqrt{{{n.rate}/{n.mass}}} = {math.sqrt(n.rate / n.mass):.4g}$ rad/s, and divided by "
        f"$2\\pi$ that is {_body_hz(n):.3g} Hz. A tyre that gives way lowers it by a few per cent.",
    ),
    Numeric(
        key="E2", title="From damping ratio to coefficient", kind="gap",
        question=lambda n: f"Another machine, {n.mass} kg on {n.rate} N/m, is to have a body damping ratio of "
        f"{n.ratio:g}. Fill the gap and work it out: $c = 2\\,\\zeta\\,\\sqrt{{\\_\\_\\_\\cdot m_s}}$.",
        numbers=[Draw("mass", 45, 160, 5), Draw("rate", 9000, 24000, 500), Draw("ratio", 0.2, 0.45, 0.05)],
        answer=_damping, unit="N*s/m",
        hints=[
            "The damping ratio compares the damper with the one that would just stop the body from swinging.",
            "$c = 2\\,\\zeta\\sqrt{k_s m_s}$.",
            lambda n: f"Multiply {n.rate} by {n.mass}, take the root, then multiply by 2 and by {n.ratio:g}.",
        ],
        slips=[
            Slip("factor 2", lambda n: 0.5 * _damping(n), "The factor of two is missing."),
            Slip("frequency", lambda n: 2.0 * n.ratio * math.sqrt(n.rate / n.mass),
                 "You divided by the mass under the root; the critical coefficient holds rate *times* mass."),
            Slip("critical", lambda n: 2.0 * math.sqrt(n.rate * n.mass),
                 "That is the critical coefficient, ratio 1: multiply by the ratio asked for."),
        ],
        solution=lambda n: f"$c = 2\\cdot{n.ratio:g}\\sqrt{{{n.rate}\\cdot{n.mass}}} = {_damping(n):.4g}$ N s/m.",
    ),
    Numeric(
        key="E3", title="Forces on a wheel",
        question=lambda n: f"At one moment the tyre is pressed by {n.pressed_mm} mm ($z_u - z_r = -{n.pressed_mm}$ mm, "
        f"tyre {n.tyre} N/m) and the suspension force is $f = -{n.force}$ N: it pushes body and wheel apart. Sketch "
        f"the wheel with its two arrows. What is the acceleration of the wheel of {n.wheel} kg, up positive?",
        numbers=[Draw("pressed_mm", 4, 12, 1), Draw("tyre", 80000, 150000, 10000), Draw("force", 100, 280, 20),
                 Draw("wheel", 8, 18, 1)],
        answer=lambda n: (n.tyre * n.pressed_mm / 1e3 - n.force) / n.wheel, unit="m/s^2", absolute=0.2,
        hints=[
            "Newton's law for the wheel alone: which two forces act on it?",
            "$m_u\\,\\ddot z_u = f - k_t\\,(z_u - z_r)$.",
            "A pressed tyre pushes the wheel up; a negative $f$ pushes it down. Put the compression in metres.",
        ],
        slips=[
            Slip("sign of f", lambda n: (n.tyre * n.pressed_mm / 1e3 + n.force) / n.wheel,
                 "The suspension force is negative here: it pushes the wheel down."),
            Slip("no suspension", lambda n: n.tyre * n.pressed_mm / 1e3 / n.wheel, "The suspension force is missing."),
            Slip("upside down", lambda n: (n.force - n.tyre * n.pressed_mm / 1e3) / n.wheel,
                 "The size is right, the direction is not: which way does a pressed tyre push?"),
        ],
        solution=lambda n: f"The tyre pushes up with ${n.tyre}\\cdot{n.pressed_mm / 1e3:g} = "
        f"{n.tyre * n.pressed_mm / 1e3:.0f}$ N, the suspension down with {n.force} N; their difference over "
        f"{n.wheel} kg is {(n.tyre * n.pressed_mm / 1e3 - n.force) / n.wheel:.4g} m/s².",
    ),
    Numeric(
        key="E4", title="What no damper can change",
        question=lambda n: f"A machine has {n.mass} kg of body and {n.wheel} kg of wheel at one corner. At the "
        f"frequency where no suspension force counts, the road moves up and down by {n.road_mm} mm about its middle. "
        "How far does the body move about its own middle?",
        numbers=[Draw("mass", 60, 110, 10), Draw("wheel", 8, 18, 1), Draw("road_mm", 2, 8, 1)],
        answer=lambda n: n.road_mm * n.wheel / n.mass, unit="mm",
        hints=[
            "It is the point of section *The model*: what is left when the two equations are added?",
            "At $\\omega = \\sqrt{k_t/m_u}$ the ratio of body height to road height is $-m_u/m_s$.",
            "The minus sign says that body and road move against each other; how far it moves is the size.",
        ],
        slips=[
            Slip("sign", lambda n: -n.road_mm * n.wheel / n.mass,
                 "The minus sign says *against the road*; how far it moves is the size alone."),
            Slip("upside down", lambda n: n.road_mm * n.mass / n.wheel,
                 "Upside down: the body is the heavier part and moves less than the road."),
            Slip("travel point", lambda n: n.road_mm * (n.mass + n.wheel) / n.mass,
                 "That is the suspension's travel at a frequency of its own, not the body's motion."),
            Slip("share of the whole", lambda n: n.road_mm * n.wheel / (n.mass + n.wheel),
                 "Wheel over body, not wheel over both."),
        ],
        solution=lambda n: f"${n.road_mm}\\cdot {n.wheel}/{n.mass} = {n.road_mm * n.wheel / n.mass:.3g}$ mm, against "
        "the road, with any damper and any electronics.",
    ),
    Numeric(
        key="E5", title="The calmest damper for a stranger",
        question=lambda n: f"Body {n.mass} kg, wheel {n.wheel} kg, spring {n.rate} N/m, tyre {n.tyre} N/m. Which "
        "damping coefficient gives the least body acceleration on a rough road?",
        numbers=[Draw("mass", 50, 100, 10), Draw("wheel", 8, 18, 1), Draw("rate", 9000, 24000, 1000),
                 Draw("tyre", 60000, 160000, 10000)],
        answer=_comfort, unit="N*s/m",
        hints=[
            "Two terms make up the mean square: one grows with $c$, one falls. They are equal at the least sum.",
            "$c = k_s\\sqrt{(m_s+m_u)/k_t}$.",
            "Add the masses, divide by the tyre rate, take the root, multiply by the spring rate.",
        ],
        slips=[
            Slip("body only", lambda n: n.rate * math.sqrt(n.mass / n.tyre),
                 "Close, but the wheel's mass belongs under the root as well."),
            Slip("spring in the root", lambda n: math.sqrt(n.rate * (n.mass + n.wheel)),
                 "That has the spring's own rate under the root; the tyre decides how much road gets through."),
            Slip("upside down", lambda n: n.rate * math.sqrt(n.tyre / (n.mass + n.wheel)),
                 "The fraction under the root is upside down: a stiffer tyre asks for less damping."),
        ],
        solution=lambda n: f"${n.rate}\\sqrt{{({n.mass}+{n.wheel})/{n.tyre}}} = {_comfort(n):.4g}$ N s/m.",
        tolerance=0.01,
    ),
    Numeric(
        key="E6", title="Heat, whatever the damper",
        question=lambda n: f"A wheel with a tyre of {n.tyre} N/m runs at {n.speed_kmh} km/h over a class C road, "
        "$G_d(n_0) = 256\\cdot10^{-6}$ m³ at $n_0 = 0.1$ cycle/m. What mean power does its damper turn into heat?",
        numbers=[Draw("tyre", 60000, 160000, 10000), Draw("speed_kmh", 18, 54, 2)],
        answer=_heat, unit="W",
        hints=[
            "The mean power does not depend on the damper, the spring or the masses.",
            "$P = \\pi^2 n_0^2\\, G_d(n_0)\\, v\\, k_t$.",
            "Turn km/h into m/s first; then it is one product.",
        ],
        slips=[
            Slip("km/h", lambda n: 3.6 * _heat(n), "The speed went in as km/h."),
            Slip("upper limit", lambda n: 2.0 * _heat(n),
                 "Twice the right value: either the class's upper limit went in for its mean, or $2\\pi^2$, which "
                 "belongs to the intensity $W$, for $\\pi^2$."),
            Slip("rad/m", lambda n: _heat(n) / 16.0,
                 "A sixteenth of the right value: that is the road figure per rad/m used with $n_0$ in cycle/m."),
        ],
        solution=lambda n: f"$\\pi^2\\cdot0.1^2\\cdot256\\cdot10^{{-6}}\\cdot{n.speed_kmh / 3.6:.3g}\\cdot{n.tyre} = "
        f"{_heat(n):.3g}$ W.",
    ),
    Numeric(
        key="E7", title="A casualty on a mount",
        question=lambda n: f"A casualty of {n.person} kg lies on a mount of {n.mount} N/m without damping, on a body "
        f"of {n.mass} kg; wheel {n.wheel} kg, tyre {n.tyre} N/m. At $\\omega = \\sqrt{{k_t/m_u}}$ the road moves up "
        "and down by 10 mm. How far does the casualty move? Two more states and two more rows in the cells of *The "
        "model* tell, whatever the suspension; or a line by hand.",
        numbers=[Draw("person", 60, 90, 5), Draw("mount", 40000, 80000, 5000), Draw("mass", 60, 100, 10),
                 Draw("wheel", 12, 18, 1), Draw("tyre", 100000, 140000, 10000)],
        answer=_lying, unit="mm", tolerance=0.01,
        hints=[
            "The mount pulls on body and casualty; add all three equations and it is gone too.",
            "What is left: $m_p \\omega^2 Z_p + m_s \\omega^2 Z_s = -k_t Z_r$; and for the casualty alone "
            "$Z_p/Z_s = k_p/(k_p - m_p\\omega^2)$.",
            lambda n: f"$\\omega^2 = {n.tyre}/{n.wheel}$. Work out $Z_p/Z_s$ first, with its sign.",
        ],
        slips=[
            Slip("bolted", lambda n: 10.0 * n.wheel / (n.mass + n.person),
                 "That is a casualty bolted to the body, one mass with it."),
            Slip("no pull back", lambda n: abs(10.0 * n.wheel / n.mass * _mount(n)),
                 "The casualty pulls on the body too, so the body does not move by $m_u/m_s$ of the road any more."),
            Slip("body", lambda n: abs(10.0 * n.wheel / (n.mass + n.person * _mount(n))),
                 "That is the body's motion; the casualty moves less."),
        ],
        solution=lambda n: f"$Z_p/Z_s = {n.mount}/({n.mount} - {n.person}\\cdot{n.tyre / n.wheel:.0f}) = "
        f"{_mount(n):.4f}$, so the body has ${n.wheel}/({n.mass} {n.person * _mount(n):+.2f})$ of 10 mm, and the "
        f"casualty {_lying(n):.3g} mm.",
    ),
    Design(
        key="E8", title="A damper for the trailer", kind="open",
        question=lambda n: f"The team borrows a trailer: body {n.mass} kg on each wheel, wheel {n.wheel} kg, spring "
        f"{n.rate} N/m, tyre {n.tyre} N/m. It will follow the carrier over a class C track at 8 m/s. Choose its "
        f"damping coefficient so that body acceleration is at most {_limits(n)[1]:.3f} m/s² rms **and** tyre load "
        f"varies by at most {100.0 * _limits(n)[2]:.2f} % rms.",
        numbers=[Draw("mass", 90, 150, 10), Draw("wheel", 12, 18, 1), Draw("rate", 12000, 28000, 1000),
                 Draw("tyre", 110000, 150000, 10000)],
        parameters=[Parameter("damping", "damping coefficient", 100.0, 6000.0, "N*s/m")],
        judge=_judge_trailer,
        passing=lambda n: {"damping": f"{_limits(n)[0]:.0f} N*s/m"},
        solution="Work out the calmest coefficient, $k_s\\sqrt{(m_s+m_u)/k_t}$, and the one of best grip, which is "
        "larger. Calm limits the choice from above, grip from below; their geometric mean passes.",
        hints=["One limit asks for a softer damper, the other for a firmer one.",
               "Start from the coefficient of least acceleration, as in E5.",
               "Then raise it until the tyre-load limit passes too; near its least the acceleration changes little."],
    ),
]  # fmt: skip
