"""Exercises of workbook 00: units, signs, what each family can do, and one fixed setting."""

from functools import lru_cache

from helpers.models.vehicles import FLEET, TRAIL_BIKE
from helpers.simulation import families
from helpers.simulation.metrics import bob, metrics
from helpers.simulation.runs import ride, ride_section
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
from scenes import w00 as scenes

MACHINES = ("bike", "motorcycle", "carrier")


@lru_cache(maxsize=256)
def _quarry_ride(machine, speed, key):
    suspension = families.four_families(FLEET[machine])[key]
    return metrics(ride(suspension.vehicle, scenes.quarry().profile, speed, suspension.law, suspension.timing)).comfort


def _quarry(n, key):
    """Vibration on the quarry track with the learner's machine and speed, m/s2, as the table prints it."""
    return _quarry_ride(MACHINES[n.machine], n.speed, key)


def _on_quarry_track(n, key="mode_switching"):
    return 100.0 * _quarry(n, key) / _quarry(n, "plain")


@lru_cache(maxsize=256)
def _fixed(damping):
    """Bob on the climb, mm, and vibration on the descent, m/s2, of the trail bike on a plain damper."""
    suspension = families.plain(TRAIL_BIKE, damping)
    climb, descent = (
        ride_section(suspension.vehicle, scenes.LOOP.section(part), suspension.law) for part in ("climb", "descent")
    )
    return 1e3 * bob(climb, scenes.STROKES), metrics(descent).comfort


def _fixed_limits(n):
    """What a damper of the drawn coefficient reaches, and two per cent more."""
    return tuple(1.02 * value for value in _fixed(float(n.middle)))


def _judge_fixed(values, n):
    swing, shake = _fixed(values.damping)
    most_swing, most_shake = _fixed_limits(n)
    return [
        Criterion("pedal bob on the climb", swing, most_swing, "mm",
                  advice="More damping holds the body against the legs."),
        Criterion("vibration on the descent", shake, most_shake, "m/s^2",
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
        question="The dealer's damper has two settings: *open*, for rough ground, and *lockout*. On the trail bike's "
        "descent it senses the bumps and opens. Compared with the plain damper that the bike has now, how much "
        "vibration reaches the body on the descent?",
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
            "c": "Open, it *is* the plain damper here, so being open nearly all the time is the plain damper nearly "
            "all the time. The few moments in lockout make it slightly worse here.",
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
    Choice(
        key="E5", title="Which row for whom?",
        question="Look at the table of the loop. Ilka minds only the bob on the climb, Tomas only the vibration on the "
        "descent, and neither wants a motor that needs feeding. Which suspension serves each best?",
        options={
            "a": "mode switching serves both",
            "b": "semi-active serves both",
            "c": "mode switching serves Ilka, semi-active serves Tomas",
            "d": "semi-active serves Ilka, mode switching serves Tomas",
        },
        answer="c",
        feedback={
            "a": "It has little bob, but on the descent it is no calmer than the plain damper; the semi-active row is.",
            "b": "It is the calmest without a motor, but on the climb its bob is larger than the mode switch's.",
            "c": "On the climb the mode switch has the least bob of all four rows, on the descent the semi-active "
            "damper the least vibration of those without a motor.",
            "d": "The other way round: compare the bob column on the climb and the vibration column on the descent.",
        },
    ),
    ShortText(
        key="E6", title="Why no single fixed setting?",
        question="In one or two sentences, for a team mate: why is no single fixed damper setting right for the whole "
        "Fell loop?",
        ideas=[
            "On the climb the legs make the body bob, and a firm damper holds that.",
            "On rough ground a firm damper carries every bump into the body, and a soft one is calmer.",
            "So what serves one part of the loop harms another.",
        ],
        misconceptions=[
            Misconception("firmer is better", "A firm setting is always better, because nothing moves.",
                          "Firm is better for pedalling only: look at the vibration on the traverse."),
            Misconception("reversed", "Pedalling wants it soft, rough ground wants it firm.",
                          "You have them the wrong way round: look at the bob of a soft damper, and at the vibration "
                          "of a firm one."),
        ],
        model="On the climb the legs push the body up and down, and only a firm damper holds that bob; on the traverse "
        "and the descent the same firmness carries every bump into the body where a soft damper is calmer, so the two "
        "conflict.",
        hints=["Compare the left and the right half of the figure of fixed settings.",
               "Name a part of the loop that wants a firm damper, and why.",
               "Then name one that wants a soft damper, and what happens if you give it the firm one."],
    ),
    Numeric(
        key="E7", title="The quarry track",
        question=lambda n: f"Ride `data/quarry-track.csv` with the {FLEET[MACHINES[n.machine]].name} at {n.speed:g} "
        "m/s, in the cell of *Your own ground*. What is the mode switch's vibration in percent of the plain damper's?",
        numbers=[Draw("machine", 0, 2, 1), Draw("speed", 4.0, 8.0, 0.1)],
        answer=_on_quarry_track, unit="%",
        hints=[
            "The cell takes the machine and the speed; its table has a row for each suspension.",
            "percent = 100 · (vibration of mode switching) / (vibration of the plain damper).",
            "Read both numbers from the column of vibration, and divide the lower row by the upper one.",
        ],
        slips=[
            Slip("difference", lambda n: _on_quarry_track(n) - 100.0,
                 "That is by how much it is more; the question asks for the whole, where equal would be 100 %."),
            Slip("against semi-active", lambda n: 100.0 * _quarry(n, "mode_switching") / _quarry(n, "semi_active"),
                 "You divided by the semi-active row."),
            Slip("saving", lambda n: 100.0 - 1e4 / _on_quarry_track(n),
                 "That is how much less the plain damper has; the question asks for one level over the other."),
        ],
        solution=lambda n: f"The table gives {_quarry(n, 'mode_switching'):.2f} and {_quarry(n, 'plain'):.2f} m/s², "
        f"that is {_on_quarry_track(n):.0f} %. On this ground the lockout is more often in the way than on the loop's "
        "descent.",
    ),
    Design(
        key="E8", title="A fixed compromise", kind="open",
        question=lambda n: "The team's purse allows only a plain damper on the trail bike. Choose its coefficient so "
        f"that pedal bob on the climb is at most {_fixed_limits(n)[0]:.2f} mm **and** vibration on the descent at most "
        f"{_fixed_limits(n)[1]:.2f} m/s². The loop is ridden with your value.",
        numbers=[Draw("middle", 450, 1000, 10)],
        parameters=[Parameter("damping", "damping coefficient", 100.0, 3000.0, "N*s/m")],
        judge=_judge_fixed,
        passing=lambda n: {"damping": f"{n.middle} N*s/m"},
        solution="Read the two curves of the fixed settings together: bob sets a lower limit, vibration on the descent "
        "an upper one, and the window between them is narrow.",
        hints=["Which requirement asks for more damping, which for less?",
               "Find both limits in the figure of fixed settings.",
               "Try a value between the two; the verdict says which limit still fails."],
    ),
]  # fmt: skip
