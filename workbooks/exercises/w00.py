"""Exercises of workbook 00: units, signs, what each family can do, and one fixed setting."""

from helpers.models.vehicles import TRAIL_BIKE
from helpers.simulation import families
from helpers.simulation.metrics import bob, metrics
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
from scenes import w00 as scenes

MACHINES = ("bike", "motorcycle", "carrier")


def _kept(n):
    """Plain, active and semi-active vibration on the learner's machine and section, m/s2."""
    found = scenes.rides(MACHINES[n.machine], scenes.SECTIONS[n.section])
    return tuple(found[key][1].comfort for key in ("plain", "active", "semi_active"))


def _share(n):
    plain, active, semi = _kept(n)
    return 100.0 * (plain - semi) / (plain - active)


def _where(n):
    vehicle = scenes.FLEET[MACHINES[n.machine]].name
    return f"{vehicle} on the {scenes.SECTIONS[n.section]}"


def _judge_fixed(values, n):
    suspension = families.plain(TRAIL_BIKE, values.damping)
    climb, descent = (
        ride_section(suspension.vehicle, scenes.LOOP.section(part), suspension.law) for part in ("climb", "descent")
    )
    return [
        Criterion("pedal bob on the climb", 1e3 * bob(climb, scenes.STROKES), n.bob_mm, "mm",
                  advice="More damping holds the body against the legs."),
        Criterion("vibration on the descent", metrics(descent).comfort, 5.4, "m/s^2",
                  advice="Less damping lets the wheel move without the body."),
    ]  # fmt: skip


EXERCISES = [
    Numeric(
        key="R1", title="Recall: speed in SI units",
        question=lambda n: f"The rescue motorcycle traverses at {n.speed_kmh} km/h. How many metres is that in one "
        "second? Give the speed in m/s.",
        numbers=[Draw("speed_kmh", 20, 70, 1)],
        answer=lambda n: n.speed_kmh / 3.6, unit="m/s", as_asked=True,
        hints=[
            "An hour has 3600 seconds and a kilometre has 1000 metres.",
            "$v_\\mathrm{m/s} = v_\\mathrm{km/h}\\cdot 1000 / 3600$.",
            lambda n: f"Multiply {n.speed_kmh} by 1000, then divide by 3600.",
        ],
        slips=[
            Slip("not converted", lambda n: n.speed_kmh, "That is still the number of km/h: divide, do not rename."),
            Slip("multiplied", lambda n: n.speed_kmh * 3.6,
                 "That is the conversion the other way: a metre a second is 3.6 km/h, so the number gets smaller."),
            Slip("per minute", lambda n: n.speed_kmh / 60.0,
                 "That is km a minute: an hour has 3600 seconds, and a kilometre 1000 metres."),
        ],
        solution=lambda n: f"${n.speed_kmh}\\cdot 1000/3600 = {n.speed_kmh / 3.6:.3g}$ m/s.",
    ),
    Choice(
        key="R2", title="Recall: which way does the energy go?",
        question="A force always points against the motion of the thing it acts on. What does it do to the energy of "
        "that thing?",
        options={
            "a": "It adds energy.",
            "b": "It takes energy away.",
            "c": "Nothing, since force and energy are different quantities.",
        },
        answer="b",
        feedback={
            "a": "Power is force times speed in the same direction; here the two point in opposite directions, so the "
            "product is negative.",
            "b": "Force times speed is negative, so energy leaves. A damper turns it into heat.",
            "c": "They are linked: power, the rate of change of energy, is force times speed.",
        },
    ),
    Choice(
        key="P", title="The mode switch on the descent",
        question="The mode-switching damper has two settings: *open*, which is exactly the plain damper, and "
        "*lockout*. On the trail bike's descent it senses the bumps and opens. Compared with the plain damper alone, "
        "how much vibration reaches the body on the descent?",
        options={
            "a": "about half as much",
            "b": "about a quarter less",
            "c": "about the same",
            "d": "about half as much again",
        },
        answer="c",
        feedback={
            "a": "Sensing a bump does not invent a better damper: on the descent it can only choose the plain one.",
            "b": "A fifth less is what the semi-active damper reaches here. It changes its coefficient within every "
            "bump; a mode switch only picks a setting for a whole stretch.",
            "c": "Open is the plain damper, so being open nearly all the time is the plain damper nearly all the "
            "time. The few moments in lockout make it slightly worse here.",
            "d": "It would be, if it stayed locked: the lockout is far harsher. But the descent strikes the wheel "
            "often enough to hold it open most of the time.",
        },
    ),
    Numeric(
        key="E1", title="Force of a plain damper", kind="worked",
        question=lambda n: f"A linear damper of {n.damping} N s/m is being compressed: body and wheel approach each "
        f"other at {n.speed_mms} mm/s. What is the damper force $f$, with the sign of our convention?",
        numbers=[Draw("damping", 400, 1200, 20), Draw("speed_mms", 150, 600, 10)],
        answer=lambda n: -n.damping * n.speed_mms / 1e3, unit="N",
        hints=[
            "Force is coefficient times the speed of suspension travel; the sign is that of the speed.",
            "$f = c\\,(v_s - v_u)$, and $v_s - v_u$ is negative in compression.",
            "Turn mm/s into m/s before you multiply, and keep the minus sign.",
        ],
        slips=[
            Slip("sign", lambda n: n.damping * n.speed_mms / 1e3,
                 "The size is right. In compression the travel $z_s - z_u$ shrinks, so its speed and the force are "
                 "negative."),
            Slip("millimetres", lambda n: -n.damping * n.speed_mms,
                 "The speed went in as mm/s; the coefficient is per m/s."),
            Slip("divided", lambda n: -n.damping / (n.speed_mms / 1e3),
                 "You divided by the speed: a damper's force grows with speed, so multiply."),
        ],
        solution=lambda n: f"The travel shrinks, so $v_s - v_u = -{n.speed_mms / 1e3:g}$ m/s and "
        f"$f = {n.damping}\\cdot(-{n.speed_mms / 1e3:g}) = {-n.damping * n.speed_mms / 1e3:.4g}$ N: a push that holds "
        "body and wheel apart.",
    ),
    Numeric(
        key="E2", title="Where the energy goes", kind="gap",
        question=lambda n: f"The same kind of damper, {n.damping} N s/m, now extends at {n.speed_mms} mm/s. The power "
        "it takes away is $P = f\\,(v_s-v_u) = c\\,(\\_\\_\\_)^2$. Fill the gap and give the power in watts.",
        numbers=[Draw("damping", 400, 1200, 20), Draw("speed_mms", 250, 900, 10)],
        answer=lambda n: n.damping * (n.speed_mms / 1e3) ** 2, unit="W",
        hints=[
            "Power is force times speed, and the force is itself proportional to the speed.",
            "$P = c\\,(v_s-v_u)^2$; the speed must be in m/s.",
            lambda n: f"Square {n.speed_mms / 1e3:g} m/s first, then multiply by the coefficient.",
        ],
        slips=[
            Slip("force", lambda n: n.damping * n.speed_mms / 1e3,
                 "That is the number of the force in newtons. Power needs the speed once more."),
            Slip("half", lambda n: 0.5 * n.damping * (n.speed_mms / 1e3) ** 2,
                 "The half belongs to energies stored in a spring or a moving mass; a damper's power has none."),
            Slip("negative", lambda n: -n.damping * (n.speed_mms / 1e3) ** 2,
                 "The machine loses energy, so its power is negative; the power that the damper *takes* is positive."),
            Slip("millimetres", lambda n: n.damping * n.speed_mms**2,
                 "The speed went in as mm/s: squared, that is a factor of a million."),
        ],
        solution=lambda n: f"$P = {n.damping}\\cdot {n.speed_mms / 1e3:g}^2 = "
        f"{n.damping * (n.speed_mms / 1e3) ** 2:.3g}$ W, all of it heat in the oil.",
    ),
    Numeric(
        key="E3", title="Signs on a bump",
        question=lambda n: f"Over a root the wheel rises at {n.wheel_mms} mm/s while the body rises at {n.body_mms} "
        f"mm/s. The damper is linear with {n.damping} N s/m. What is $f$?",
        numbers=[Draw("wheel_mms", 420, 900, 20), Draw("body_mms", 50, 200, 10), Draw("damping", 500, 1100, 50)],
        answer=lambda n: n.damping * (n.body_mms - n.wheel_mms) / 1e3, unit="N",
        hints=[
            "A damper does not feel either speed alone, only their difference.",
            "$f = c\\,(v_s - v_u)$, body first.",
            "The wheel rises faster than the body, so the suspension is being compressed: which sign is that?",
        ],
        slips=[
            Slip("wheel first", lambda n: n.damping * (n.wheel_mms - n.body_mms) / 1e3,
                 "You took wheel minus body. Our travel is $z_s - z_u$: body first, rebound positive."),
            Slip("sum", lambda n: n.damping * (n.wheel_mms + n.body_mms) / 1e3,
                 "You added the speeds. Both rise, so they partly cancel: take the difference."),
            Slip("sum, negative", lambda n: -n.damping * (n.wheel_mms + n.body_mms) / 1e3,
                 "The sign is right, but you added the speeds. Both rise, so they partly cancel."),
            Slip("wheel only", lambda n: -n.damping * n.wheel_mms / 1e3,
                 "That leaves the body out: it moves too, so the damper feels less than the wheel's speed."),
        ],
        solution=lambda n: f"$v_s - v_u = {n.body_mms / 1e3:g} - {n.wheel_mms / 1e3:g} = "
        f"{(n.body_mms - n.wheel_mms) / 1e3:.3g}$ m/s, so $f = {n.damping}\\cdot"
        f"({(n.body_mms - n.wheel_mms) / 1e3:.3g}) = {n.damping * (n.body_mms - n.wheel_mms) / 1e3:.4g}$ N: "
        "compression, hence negative.",
    ),
    Choice(
        key="E4", title="Who can do that?",
        question="The body is sinking and a controller wants to push it **up** with 300 N, while the suspension is "
        "being **extended** at 0.4 m/s. Which suspensions can produce this force?",
        options={
            "a": "all four",
            "b": "active and semi-active",
            "c": "only the active one",
            "d": "the mode-switching one, if it is quick enough",
        },
        answer="c",
        feedback={
            "a": "A plain damper resists extension: it pulls the body down just now.",
            "b": "A semi-active damper can choose how hard it resists, not which way. Extending, its force on the "
            "body points down.",
            "c": "Up on the body while extending means putting power in, 300 N times 0.4 m/s = 120 W. Only an "
            "actuator can.",
            "d": "Each of its settings is a damper, and every damper pulls the body down while it extends. Speed of "
            "switching does not change that.",
        },
    ),
    Numeric(
        key="E5", title="How much of the active gain is kept?",
        question=lambda n: f"Take the {_where(n)}. Weighted vibration is {_kept(n)[0]:.3f} m/s² on the plain damper, "
        f"{_kept(n)[1]:.3f} m/s² active and {_kept(n)[2]:.3f} m/s² semi-active. Which share of the active "
        "suspension's *gain over the plain damper* does the semi-active one keep? Answer in percent.",
        numbers=[Draw("machine", 0, 2, 1), Draw("section", 0, 2, 1)],
        answer=_share, unit="%", tolerance=0.01,
        hints=[
            "A gain is a difference: what each one takes off the plain damper's vibration.",
            "share = (plain - semi-active) / (plain - active).",
            "Work out both differences first; the larger one belongs below the line.",
        ],
        slips=[
            Slip("active gain", lambda n: 100.0 * (_kept(n)[0] - _kept(n)[1]) / _kept(n)[0],
                 "That is the active gain as a share of the plain vibration; the semi-active one is missing."),
            Slip("against plain", lambda n: 100.0 * (_kept(n)[0] - _kept(n)[2]) / _kept(n)[0],
                 "That is the semi-active gain as a share of the plain vibration; divide by the active gain instead."),
            Slip("upside down", lambda n: 100.0 * (_kept(n)[0] - _kept(n)[1]) / (_kept(n)[0] - _kept(n)[2]),
                 "Upside down: the semi-active gain goes above the line."),
        ],
        solution=lambda n: f"The gains are {_kept(n)[0] - _kept(n)[2]:.3f} and {_kept(n)[0] - _kept(n)[1]:.3f} m/s², "
        f"so the share is {_share(n):.0f} %. Part of it the softer "
        "valve would have brought alone: compare the first column of the reading table.",
    ),
    ShortText(
        key="E6", title="Why no single fixed setting?",
        question="In one or two sentences, for a team mate: why is no single fixed damper setting right for the whole "
        "Fell loop?",
        ideas=[
            Idea(("pedal", "bob", "climb", "uphill", "legs", "firm", "stiff", "hard"),
                 "Say what the climb asks for: what do the rider's legs do to a soft suspension?"),
            Idea(("soft", "gentl", "comfort", "vibrat", "bump", "rough", "descent", "downhill", "traverse", "hands"),
                 "Say what rough ground asks for: what does a firm damper do to the body there?"),
            Idea(("opposite", "conflict", "but", "while", "whereas", "both", "trade", "compromis", "differ", "cannot",
                  "can't", "can not", "same time", "neither", "instead", "other"),
                 "Say how the two demands stand to each other."),
        ],
        misconceptions=[
            Misconception("firmer is better", ("firm is better", "setting is always better", "stiff is better"),
                          "Firm is better for pedalling only: look at the vibration on the traverse.",
                          "A firm setting is always better because nothing moves."),
            Misconception("reversed", ("climb soft", "soft on the climb", "climb wants soft", "climb needs soft",
                                       "descent wants firm", "descent firm", "firm on the descent"),
                          "You have them the wrong way round: look at the bob of a soft damper, and at the vibration "
                          "of a firm one.",
                          "Because soft on the climb is right and the rough part wants the opposite."),
        ],
        model="On the climb the legs push the body up and down, and only a firm damper holds that bob; on the traverse "
        "and the descent the same firmness carries every bump into the body, so the two demands conflict.",
        hints=["Compare the left and the right half of the figure of fixed settings.",
               "Name a part of the loop that wants a firm damper, and why.",
               "Then name one that wants a soft damper, and what happens if you give it the firm one."],
    ),
    Design(
        key="E7", title="A fixed compromise", kind="open",
        question=lambda n: "The team's purse allows only a plain damper on the trail bike. Choose its coefficient so "
        f"that pedal bob on the climb is at most {n.bob_mm:g} mm **and** vibration on the descent at most 5.4 m/s². "
        "The loop is ridden with your value.",
        numbers=[Draw("bob_mm", 7.2, 8.0, 0.1)],
        parameters=[Parameter("damping", "damping coefficient", 100.0, 3000.0, "N*s/m")],
        judge=_judge_fixed,
        passing={"damping": "820 N*s/m"},
        solution="Read the two curves of the fixed settings together: bob sets a lower limit, vibration on the descent "
        "an upper one, and the window between them is narrow.",
        hints=["Which requirement asks for more damping, which for less?",
               "Find both limits in the figure of fixed settings.",
               "Try a value between the two; the verdict says which limit still fails."],
    ),
]  # fmt: skip
