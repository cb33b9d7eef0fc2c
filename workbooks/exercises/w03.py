"""Exercises of workbook 03: what a damper can give of a wanted force, the mix of hooks, wear, and a design."""

from helpers.models.vehicles import TRAIL_BIKE
from helpers.simulation.families import FAST_CHAIN
from helpers.simulation.metrics import metrics, valve_activity
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
from scenes.w03_tables import LAWS, LOOP, law_of


def _needed(n):
    """The coefficient a skyhook asks of the damper, N s/m."""
    return n.sky * n.body_mms / (n.body_mms - n.wheel_mms)


def _power(n):
    """Power of the wanted force at the suspension, W."""
    return -n.sky * n.body_mms * (n.body_mms + n.wheel_mms) * 1e-6


def _soft_force(n):
    """What a damper gives that is asked to push: its soft curve, N."""
    return -n.soft * (n.wheel_mms - n.body_mms) / 1e3


def _kept(n):
    """Share of the active gain over the best fixed damper, %."""
    return 100.0 * (n.fixed - n.semi) / (n.fixed - n.active)


def _hours(n):
    return n.life_million * 1e6 / n.strokes / 3600.0


def _judge_descent(values, n):
    law = law_of(values.law, TRAIL_BIKE, values.coefficient, values.dead_band)
    run = ride_section(TRAIL_BIKE, LOOP.section("descent"), law, FAST_CHAIN)
    m = metrics(run)
    return [
        Criterion("vibration", m.comfort, 3.85, "m/s^2",
                  advice="Compare the laws in the table, then move the coefficient."),
        Criterion("off the ground", 100.0 * m.airborne, 5.6, "%",
                  advice="A law that leaves the damper soft too often lets the wheel hop."),
        Criterion("commands", valve_activity(run).commands, n.commands, "1/s",
                  advice="A law with two states and a dead band commands less often."),
    ]  # fmt: skip


EXERCISES = [
    Numeric(
        key="R1", title="Recall: the damper's force",
        question=lambda n: f"From workbook 00: the body moves up at {n.body_mms} mm/s, the wheel up at {n.wheel_mms} "
        f"mm/s. What is the force $f$ of a damper of {n.damping} N s/m, with its sign (positive in rebound)?",
        numbers=[Draw("damping", 400, 1200, 50), Draw("body_mms", 100, 240, 10), Draw("wheel_mms", 520, 900, 20)],
        answer=lambda n: n.damping * (n.body_mms - n.wheel_mms) / 1e3, unit="N",
        hints=[
            "Only the difference of the two speeds counts.",
            "$f = c\\,(v_s - v_u)$.",
            "The wheel is the faster one: is the suspension being compressed or extended?",
        ],
        slips=[
            Slip("sign", lambda n: n.damping * (n.wheel_mms - n.body_mms) / 1e3,
                 "The size is right. The wheel comes up faster than the body: compression, so the force is negative."),
            Slip("sum", lambda n: n.damping * (n.body_mms + n.wheel_mms) / 1e3,
                 "Both move up, so subtract the speeds."),
            Slip("body only", lambda n: n.damping * n.body_mms / 1e3,
                 "That is a skyhook's force. A damper feels the difference of the speeds."),
            Slip("mm/s", lambda n: float(n.damping * (n.body_mms - n.wheel_mms)), "The speeds went in as mm/s."),
        ],
        solution=lambda n: f"${n.damping}\\cdot({n.body_mms / 1e3:g} - {n.wheel_mms / 1e3:g}) = "
        f"{n.damping * (n.body_mms - n.wheel_mms) / 1e3:.4g}$ N.",
    ),
    Choice(
        key="R2", title="Recall: calm or grip",
        question="From workbook 01: an ordinary damper is set for least body acceleration. What does it need for the "
        "best grip?",
        options={"a": "to be firmer", "b": "to be softer", "c": "nothing: both are best at the same coefficient"},
        answer="a",
        feedback={
            "a": "On the carrier 1212 N s/m against 685. The wheel needs holding more than the body does.",
            "b": "Softer still, the wheel hops longer and the tyre's load varies more.",
            "c": "The two coefficients differ, and between them lies the trade-off.",
        },
    ),
    Choice(
        key="P", title="A damper that can only brake",
        question="On the trail bike's descent the damper can give the wanted skyhook force in only about a third of "
        "the time; otherwise it gives the nearest force it can. The actuator's skyhook is calmer than the best "
        "fixed damper by some amount. Which share of that gain does the damper keep?",
        options={
            "a": "none: it can only brake",
            "b": "about a third, as much as the share of time",
            "c": "a little more than half",
            "d": "nearly all",
        },
        answer="c",
        feedback={
            "a": "Braking at the right moments and letting go at the wrong ones is already better than any fixed "
            "setting: 3.51 against 3.91 m/s².",
            "b": "Within reach for 36 % of the time, but 57 % of the gain: the large wanted forces tend to be "
            "forces that brake, and they count most.",
            "c": "57 %: best fixed damper 3.91, damper with skyhook 3.51, actuator 3.21 m/s².",
            "d": "The rest of the gain needs forces that push, and no damper has them.",
        },
    ),
    Numeric(
        key="E1", title="Which coefficient now?", kind="worked",
        question=lambda n: f"At this moment the body moves up at {n.body_mms} mm/s and the wheel up at {n.wheel_mms} "
        f"mm/s. A skyhook of {n.sky} N s/m is wanted. Which coefficient should the damper have right now?",
        numbers=[Draw("sky", 800, 2000, 100), Draw("body_mms", 300, 600, 10), Draw("wheel_mms", 50, 200, 10)],
        answer=_needed, unit="N*s/m",
        hints=[
            "The damper must give the skyhook's force at its own speed.",
            "$c = c_\\mathrm{sky}\\,v_s/(v_s - v_u)$.",
            "Subtract the wheel's speed from the body's; the milli cancels in the fraction.",
        ],
        slips=[
            Slip("sum", lambda n: n.sky * n.body_mms / (n.body_mms + n.wheel_mms), "Both move up: subtract."),
            Slip("skyhook's own", lambda n: float(n.sky),
                 "That would do if the wheel stood still. It follows the body, so the damper moves more slowly and "
                 "must be firmer."),
            Slip("sign", lambda n: -_needed(n), "The body is the faster one, so both differences are positive."),
        ],
        solution=lambda n: f"${n.sky}\\cdot{n.body_mms}/({n.body_mms}-{n.wheel_mms}) = {_needed(n):.4g}$ N s/m. "
        "It is positive, so a damper can do it if its range goes that far.",
    ),
    Numeric(
        key="E2", title="Could a damper do that?", kind="gap",
        question=lambda n: f"Now the body moves up at {n.body_mms} mm/s and the wheel *down* at {n.wheel_mms} mm/s, "
        f"with the same wish of {n.sky} N s/m. Fill the gap and work out the power of the wanted force, with its "
        "sign: $P = -c_\\mathrm{sky}\\,v_s\\cdot(\\_\\_\\_)$.",
        numbers=[Draw("sky", 800, 2000, 100), Draw("body_mms", 200, 400, 10), Draw("wheel_mms", 150, 350, 10)],
        answer=_power, unit="W",
        hints=[
            "Power is force times the speed at which the suspension opens or closes, and negative where it brakes.",
            "$P = -c_\\mathrm{sky}\\,v_s\\,(v_s - v_u)$.",
            "Down is negative, so $v_u$ carries a minus of its own. Speeds in m/s.",
        ],
        slips=[
            Slip("sign", lambda n: -_power(n), "The size is right. This force brakes, so energy leaves: negative."),
            Slip("wheel's sign", lambda n: -n.sky * n.body_mms * (n.body_mms - n.wheel_mms) * 1e-6,
                 "The wheel moves down: its speed is negative, and minus a negative number adds."),
            Slip("on the body", lambda n: -n.sky * n.body_mms**2 * 1e-6,
                 "That is the power on the body alone. The force also acts on the wheel."),
            Slip("mm/s", lambda n: 1e6 * _power(n), "Both speeds went in as mm/s."),
        ],
        solution=lambda n: f"$-{n.sky}\\cdot{n.body_mms / 1e3:g}\\cdot({n.body_mms / 1e3:g}+{n.wheel_mms / 1e3:g}) = "
        f"{_power(n):.4g}$ W. It is negative: a damper could do it.",
    ),
    Numeric(
        key="E3", title="What the damper gives instead",
        question=lambda n: f"The wheel comes up at {n.wheel_mms} mm/s, the body goes up at {n.body_mms} mm/s. A "
        f"skyhook of {n.sky} N s/m is wanted. The damper can be anything from {n.soft} to {n.firm} N s/m. Which "
        "force $f$ does it give, with its sign?",
        numbers=[Draw("sky", 1300, 2000, 100), Draw("soft", 150, 300, 10), Draw("firm", 3000, 6000, 500),
                 Draw("wheel_mms", 640, 900, 20), Draw("body_mms", 200, 300, 10)],
        answer=_soft_force, unit="N",
        hints=[
            "Compare the sign of the wanted force with the sign of the speed of travel.",
            "Wanted: $c_\\mathrm{sky} v_s$. Speed of travel: $v_s - v_u$. Equal signs are within reach, others not.",
            "Where it would have to push, the nearest force is the smallest one it can give at that speed.",
        ],
        slips=[
            Slip("wanted", lambda n: n.sky * n.body_mms / 1e3,
                 "That is the wanted force. It would push, so no damper gives it."),
            Slip("sign", lambda n: -_soft_force(n), "The suspension is being compressed: the force is negative."),
            Slip("firm", lambda n: -n.firm * (n.wheel_mms - n.body_mms) / 1e3,
                 "That is the firm end, the farthest from what is wanted."),
            Slip("body's speed", lambda n: n.soft * n.body_mms / 1e3,
                 "The damper feels the difference of the speeds, not the body's speed."),
        ],
        solution=lambda n: f"Wanted are {n.sky * n.body_mms / 1e3:.4g} N with the travel at "
        f"{(n.body_mms - n.wheel_mms) / 1e3:g} m/s: signs differ, so the soft end is nearest, "
        f"${n.soft}\\cdot({n.body_mms / 1e3:g}-{n.wheel_mms / 1e3:g}) = {_soft_force(n):.4g}$ N.",
    ),
    Numeric(
        key="E4", title="Which share is kept?",
        question=lambda n: f"A rider's log of one section: plain damper {n.plain:.2f} m/s², best fixed damper "
        f"{n.fixed:.2f} m/s², controllable damper {n.semi:.2f} m/s², and an actuator would have {n.active:.2f} m/s². "
        "Which share of the actuator's gain over the best fixed damper does the controllable one keep?",
        numbers=[Draw("plain", 4.4, 5.0, 0.05), Draw("fixed", 3.7, 4.0, 0.05), Draw("semi", 3.2, 3.45, 0.05),
                 Draw("active", 2.5, 2.9, 0.05)],
        answer=_kept, unit="%",
        hints=[
            "A gain is a difference: what each of the two takes off the rival's vibration.",
            "share = (fixed - semi) / (fixed - active).",
            "The rival is the best fixed damper in both differences; the plain damper is not needed.",
        ],
        slips=[
            Slip("over plain", lambda n: 100.0 * (n.plain - n.semi) / (n.plain - n.active),
                 "That is the share over the plain damper, an easier rival than the one asked for."),
            Slip("upside down", lambda n: 1e4 / _kept(n), "Upside down: the damper's gain goes above the line."),
            Slip("no rival's gain", lambda n: 100.0 * (n.fixed - n.semi) / n.fixed,
                 "That is the damper's gain as a share of the vibration; divide by the actuator's gain instead."),
        ],
        solution=lambda n: f"$({n.fixed:.2f}-{n.semi:.2f})/({n.fixed:.2f}-{n.active:.2f})$ is "
        f"{_kept(n):.3g} %.",
    ),
    Numeric(
        key="E5", title="The skyhook inside the mix",
        question=lambda n: f"A mix of {n.mix} N s/m is set to {n.percent} % skyhook, the rest groundhook. Sorted into "
        "an ordinary damper and a skyhook, how large is the skyhook's coefficient?",
        numbers=[Draw("mix", 800, 2400, 100), Draw("percent", 70, 95, 5)],
        answer=lambda n: n.mix * (2.0 * n.percent / 100.0 - 1.0), unit="N*s/m",
        hints=[
            "Part of the skyhook and all of the groundhook make up an ordinary damper.",
            "$f = (1-\\alpha)\\,c\\,(v_s - v_u) + (2\\alpha - 1)\\,c\\,v_s$.",
            "Put the share, as a fraction, for $\\alpha$ and look at the term with $v_s$ alone.",
        ],
        slips=[
            Slip("the share", lambda n: n.mix * n.percent / 100.0,
                 "That is what stands before $v_s$ in all; the ordinary damper takes its part of it."),
            Slip("the damper", lambda n: n.mix * (1.0 - n.percent / 100.0),
                 "That is the ordinary damper in the mix; the question asks for the skyhook."),
            Slip("percent", lambda n: n.mix * (2.0 * n.percent - 1.0), "The share went in as percent."),
        ],
        solution=lambda n: f"$(2\\cdot{n.percent / 100:g}-1)\\cdot{n.mix} = "
        f"{n.mix * (2.0 * n.percent / 100.0 - 1.0):.4g}$ N s/m.",
    ),
    Numeric(
        key="E6", title="How long does the valve last?",
        question=lambda n: f"A valve is good for {n.life_million} million full strokes, says its data sheet. A law "
        f"makes {n.strokes:g} full strokes a second on rough ground. After how many hours of rough ground is it worn?",
        numbers=[Draw("life_million", 2, 12, 1), Draw("strokes", 3.0, 26.0, 0.5)],
        answer=_hours, unit="h", as_asked=True,
        hints=[
            "Strokes there are, over strokes a second, gives seconds.",
            "$t = N / n$, and an hour has 3600 s.",
            "Write the million with its six noughts before you divide.",
        ],
        slips=[
            Slip("seconds", lambda n: 3600.0 * _hours(n), "That is the number of seconds: divide by 3600."),
            Slip("minutes", lambda n: 60.0 * _hours(n), "That is the number of minutes: divide by 60 again."),
            Slip("upside down", lambda n: n.strokes * 3600.0 / (n.life_million * 1e6),
                 "Upside down: more strokes in store must give more hours."),
        ],
        solution=lambda n: f"${n.life_million}\\cdot10^6/{n.strokes:g}/3600 = {_hours(n):.4g}$ h.",
    ),
    ShortText(
        key="E7", title="Softer or firmer?",
        question="A maker offers two improved valves: one doubles its firmest force, the other halves its softest. In "
        "one or two sentences: which one does more for a skyhook law, and why?",
        ideas=[
            Idea(("soft", "open", "low end", "lower end", "least", "second", "half"), "Say which of the two ends."),
            Idea(("push", "wrong", "drive", "power", "energy", "cannot", "can't", "let go", "opposite",
                  "little", "not wanted", "no force", "less force", "too much"),
                 "Say what the damper should do in the moments in which the wanted force is out of reach."),
        ],
        misconceptions=[
            Misconception("firmer", ("firmer end", "firm one", "firmer one", "firmer valve", "twice as firm"),
                          "Look at the figure of the lost range: dividing the firm curve by four changes the "
                          "vibration very little.",
                          "The firmer one, since a damper works by braking hard."),
        ],
        model="The softer one: for about half of the time the wanted force would push, or is smaller than the soft "
        "curve gives, and then the best the damper can do is to let go; every newton it still makes is too much.",
        hints=["In the bar chart, which out-of-reach parts are the largest?",
               "Which curve does the damper lie on in those parts?",
               "Compare the two curves of the figure of the lost range."],
    ),
    Design(
        key="E8", title="A law for Ilka's descent", kind="open",
        question=lambda n: "The bike's valve wears with every command. Choose a law, its coefficient and a dead band "
        "so that on the descent vibration is at most 3.85 m/s², the wheel is off the ground at most 5.6 % of the time "
        f"**and** the valve gets at most {n.commands} commands a second. The descent is ridden with your choice; the "
        "chain is the real one. (The dead band counts for the two laws that switch.)",
        numbers=[Draw("commands", 19, 27, 1)],
        parameters=[
            Parameter("law", "law", options=tuple(LAWS)),
            Parameter("coefficient", "coefficient", 200.0, 3000.0, "N*s/m"),
            Parameter("dead_band", "dead band on the speed of travel", 0.0, 1.0, "m/s"),
        ],
        judge=_judge_descent,
        passing={"law": "two-state", "coefficient": "1200 N*s/m", "dead_band": "0.2 m/s"},
        solution="Laws that follow a force command hundreds of times a second, so the limit on commands leaves the two "
        "that switch. Of these, acceleration-driven switches more often, and lets the wheel hop at moderate "
        "coefficients. "
        "The two-state skyhook passes with about two times the plain damper's coefficient; a dead band of 0.2 m/s "
        "halves its commands and costs little calm.",
        hints=["Which laws stay near the limit on commands at all?",
               "Start from the two-state skyhook with twice the plain damper's coefficient and no dead band.",
               "Widen the dead band until the commands fit; then check what it cost."],
    ),
]  # fmt: skip
