"""Exercises of workbook 00: units, signs, what each family can do, and the three screws of a mode switch."""

from functools import lru_cache

from helpers.course import ModeSwitch, Skyhook, bike, carrier, fell_loop, motorcycle, own_ground, ride
from helpers.teaching.course import workbooks_folder
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

MACHINES = (bike, motorcycle, carrier)
HOLD, THRESHOLD = 0.25, 40.0  # s, m/s²: of a design that passes; the dealer's hold time is 0.6 s


@lru_cache(256)
def _quarry_ride(machine, speed, name):
    vehicle = MACHINES[machine]
    ground = own_ground(workbooks_folder() / "data" / "quarry-track.csv").changed(speed=speed)
    law = Skyhook(2.0 * vehicle.damping) if name == "skyhook" else None
    return ride(vehicle if law else vehicle.plain(), ground, law).vibration


def _quarry(n, name):
    """Vibration on the quarry track with the learner's machine and speed, m/s2."""
    return _quarry_ride(n.machine, n.speed, name)


def _on_quarry_track(n):
    return 100.0 * _quarry(n, "skyhook") / _quarry(n, "plain")


@lru_cache(256)
def _switched(threshold, hold, setting):
    """Bob on the climb, mm, and vibration on the descent, m/s2, of the bike's mode switch with its three screws."""
    loop, switch = fell_loop(), ModeSwitch(threshold, hold, event=setting)
    return ride(bike, loop.climb, switch).bob, ride(bike, loop.descent, switch).vibration


def _limits(n):
    """What the switch reaches that opens to the drawn setting, and two per cent more: the dealer's hold fails."""
    return tuple(1.02 * value for value in _switched(THRESHOLD, HOLD, n.setting))


def _judge_switch(values, n):
    bob, vibration = _switched(values.threshold, values.hold, values.setting)
    most_bob, most_vibration = _limits(n)
    return [
        Criterion("pedal bob on the climb", bob, most_bob, "mm",
                  advice="It stays open for too long after a bump, or is too soft while it is open."),
        Criterion("vibration on the descent", vibration, most_vibration, "m/s^2",
                  advice="Open, it is an ordinary damper: which one do you make it?"),
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
        question="On the trail bike's descent the dealer's damper senses the bumps and opens. Compared with the plain "
        "damper that the bike has now, 500 N s/m, how much vibration reaches the body on the descent?",
        options={
            "half": "about half as much",
            "quarter": "about a quarter less",
            "same": "about the same",
            "more": "about half as much again",
        },
        answer="same",
        feedback={
            "half": "Sensing a bump does not invent a better damper. Open, it is an ordinary one of less than 200 N "
            "s/m, and in the first figure no coefficient gets from 4.48 m/s² to half of it.",
            "quarter": "The semi-active damper has a fifth less, 3.55 against 4.48 m/s². It changes its coefficient "
            "within every bump; a mode switch only picks a setting for a stretch of ground.",
            "same": "4.70 against 4.48 m/s². Open nearly all the time, it *is* its open setting, 4.67 m/s², and that "
            "is about as good a damper for the descent as the plain one.",
            "more": "It would be, if it stayed locked: 6.52 m/s². But the descent strikes the wheel often enough to "
            "hold it open nearly all the time.",
        },
    ),
    Choice(
        key="S1", title="Set the bump threshold to 150 m/s²",
        question="The switch now stays locked over most bumps of the descent. What do its vibration and its dose do?",
        options={"both": "both rise", "parted": "vibration rises, dose falls", "none": "neither changes much"},
        answer="parted",
        feedback={
            "both": "Vibration does, from 4.70 to 5.64 m/s². But locked it no longer strikes its stop, and the dose "
            "falls from 18.9 to 17.0.",
            "parted": "4.70 becomes 5.64 m/s²: every bump comes through. But open it strikes its stop at the rocks, "
            "and the dose counts such blows most: 18.9 becomes 17.0.",
            "none": "Locked or open is the largest change that this damper knows: 4.70 becomes 5.64 m/s².",
        },
    ),
    Choice(
        key="S2", title="Set the setting when struck from 0 to 0.15",
        question="Struck, the switch now opens less far. What does vibration on the descent do?",
        options={"rises": "it rises: firmer is harsher", "falls": "it falls by about a sixth",
                 "none": "nothing: it is the same switch"},
        answer="falls",
        feedback={
            "rises": "Up to a point firmer is calmer here: 4.70 becomes 3.92 m/s². See the first figure, from 100 to "
            "300 N s/m.",
            "falls": "4.70 becomes 3.92 m/s². Fully open it is too soft for the descent and strikes its stop.",
            "none": "While open it is an ordinary damper, and you have just set another one: 4.70 becomes 3.92 m/s².",
        },
    ),
    Choice(
        key="S3", title="Set the stretcher carrier, descent",
        question="The same switch, unchanged. How does its vibration compare with the carrier's plain damper?",
        options={"less": "about a fifth less", "same": "about the same, as on the bike",
                 "more": "about two fifths more"},
        answer="more",
        feedback={
            "less": "That is what the semi-active damper does for the carrier. The switch has 143 % of the plain "
            "damper's vibration: it is locked 63 % of the time.",
            "same": "On the bike the wheel is struck hard enough to keep it open. The carrier is slower: the switch is "
            "locked 63 % of the time, and has 143 % of the plain damper's vibration.",
            "more": "143 %. At the carrier's speed its wheel seldom reaches 40 m/s², so the switch is locked 63 % of "
            "the time, over bumps too. A threshold fits one machine.",
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
    ShortText(
        key="E5", title="Why no single fixed setting?",
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
        hints=["Compare the two halves of the page's first figure.",
               "Name a part of the loop that wants a firm damper, and why.",
               "Then name one that wants a soft damper, and what happens if you give it the firm one."],
    ),
    Numeric(
        key="E6", title="The quarry track",
        question=lambda n: f"Ride `data/quarry-track.csv` with the {MACHINES[n.machine].name} at {n.speed:g} m/s, in "
        "the last cell of *Your own ground, your own machine*. What is the semi-active damper's vibration in percent "
        "of the plain damper's?",
        numbers=[Draw("machine", 0, 2, 1), Draw("speed", 4.0, 8.0, 0.1)],
        answer=_on_quarry_track, unit="%",
        hints=[
            "Change `vehicle` and the speed in the cell of the table, which has a row for each suspension.",
            "percent = 100 · (vibration of semi-active) / (vibration of the plain damper).",
            "Read both numbers from the column of vibration, and divide the lower row by the upper one.",
        ],
        slips=[
            Slip("upside down", lambda n: 1e4 / _on_quarry_track(n),
                 "Upside down: *in percent of the plain damper's* puts the plain damper below the line."),
            Slip("saving", lambda n: 100.0 - _on_quarry_track(n),
                 "That is how much less it has; asked is what is left, where equal would be 100 %."),
            Slip("fraction", lambda n: 0.01 * _on_quarry_track(n), "That is the fraction: a hundred times as many %."),
        ],
        solution=lambda n: f"The table gives {_quarry(n, 'skyhook'):.2f} and {_quarry(n, 'plain'):.2f} m/s², "
        f"that is {_on_quarry_track(n):.0f} %.",
    ),
    Design(
        key="E7", title="Three screws", kind="open",
        question=lambda n: "Set threshold and hold time of the dealer's damper, and how far it opens when struck, "
        f"from 0 (open) to 1 (locked), so that the trail bike has at most {_limits(n)[0]:.2f} mm of bob on the climb "
        f"**and** {_limits(n)[1]:.2f} m/s² on the descent.",
        numbers=[Draw("setting", 0.1, 0.2, 0.01)],
        parameters=[Parameter("threshold", "bump threshold", 10.0, 150.0, "m/s^2"),
                    Parameter("hold", "hold time", 0.05, 2.0, "s"),
                    Parameter("setting", "setting when struck", 0.0, 1.0, "")],
        judge=_judge_switch,
        passing=lambda n: {"threshold": f"{THRESHOLD:g} m/s^2", "hold": f"{HOLD:g} s", "setting": f"{n.setting:g}"},
        solution="A setting between 0.1 and 0.2 is near the calmest for the descent; firmer ones bob less, and shake "
        "more. With the dealer's hold time, 0.6 s, no setting holds both limits at his threshold: each root on the "
        "climb opens the valve for longer than it needs. A shorter one locks sooner, and on the descent bumps come so "
        "thick that it stays open all the same, down to about 0.25 s.",
        hints=["What does the valve do on the climb after each root, and which screw ends it?",
               "Try designs in the table of *Could an ordinary damper do it?*: a row of your own, as in "
               "`(bike, ModeSwitch(threshold=40, hold=0.6, event=0.15))`.",
               "Leave the threshold at 40 m/s², open to about 0.15, and shorten the hold time in steps of 0.1 s."],
    ),
]  # fmt: skip
