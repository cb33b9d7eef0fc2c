"""Exercises of workbook 03: what a damper can give of a wanted force, what range and delay cost, and a design."""

from functools import lru_cache

from helpers.models.vehicles import TRAIL_BIKE
from helpers.simulation.families import FAST_CHAIN
from helpers.simulation.metrics import metrics, valve_activity
from helpers.simulation.runs import ride_section
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
from scenes.w03_rides import LAWS, LOOP, law_of

CHAIN_MS = 1e3 * FAST_CHAIN.delay
REFERENCE = 1050.0  # N s/m, of the two-state law that sets the limits of the design


def _needed(n):
    """The coefficient a skyhook asks of the damper, N s/m."""
    return n.sky * n.body_mms / (n.body_mms - n.wheel_mms)


def _power(n):
    """Power of the wanted force at the suspension, W."""
    return -n.sky * n.body_mms * (n.body_mms + n.wheel_mms) * 1e-6


def _moment(n):
    """(body, wheel) in m/s, both up: a wheel that overtakes the body, or one that nearly keeps up with it."""
    body = (n.body_mms + 100 * n.keeps_up) / 1e3
    return body, body - n.behind_mms / 1e3 if n.keeps_up else n.wheel_mms / 1e3


def _given(n):
    """What the damper gives, N: its soft end where it would have to drive, its firm end where too much is wanted."""
    body, wheel = _moment(n)
    return (n.firm if n.keeps_up else n.soft) * (body - wheel)


def _wrong_end(n):
    body, wheel = _moment(n)
    return (n.soft if n.keeps_up else n.firm) * (body - wheel)


def _kept(n):
    """Share of the active gain over the best fixed damper, %."""
    return 100.0 * (n.fixed - n.semi) / (n.fixed - n.active)


def _outdated(n, delay_ms=None):
    """Share of time in which an order by sign is out of date, %: twice a swing it stands for the delay."""
    return 0.2 * n.hop_hz * (CHAIN_MS + n.extra_ms if delay_ms is None else delay_ms)


@lru_cache
def _ridden(law, coefficient, dead_band):
    """Vibration in m/s2, share of time off the ground in % and commands a second on the bike's descent."""
    law = law_of(law, TRAIL_BIKE, coefficient, dead_band)
    run = ride_section(TRAIL_BIKE, LOOP.section("descent"), law, FAST_CHAIN)
    m = metrics(run)
    return m.comfort, 100.0 * m.airborne, valve_activity(run).commands


def _limits(n):
    """What a two-state skyhook with the drawn dead band reaches, and a little more."""
    vibration, airborne, commands = _ridden("two-state", REFERENCE, n.band_cms / 100.0)
    return round(1.006 * vibration, 2), round(1.05 * airborne, 1), round(1.06 * commands)


def _judge_descent(values, n):
    key = next(key for key, name in LAWS.items() if name == values.law)
    named = (
        ("vibration", "m/s^2", "Compare the laws in the table, then move the coefficient."),
        ("off the ground", "%", "A law that leaves the damper soft too often lets the wheel hop."),
        ("commands", "1/s", "A law with two states and a dead band commands less often."),
    )
    reached = _ridden(key, values.coefficient, values.dead_band)
    return [
        Criterion(name, value, limit, unit, advice=advice)
        for (name, unit, advice), value, limit in zip(named, reached, _limits(n), strict=True)
    ]


def _descent_question(n):
    vibration, airborne, commands = _limits(n)
    return (
        f"The bike's valve has a simple driver: the driver's electronics allow {commands:g} commands per second. "
        "Choose a law, its coefficient and a dead band so that on the descent there are no more than that, vibration "
        f"is at most {vibration:.2f} m/s² and the wheel is off the ground for at most {airborne:.1f} % of the time. "
        "The descent is ridden with your choice, through the real chain. (The dead band counts for the two laws that "
        "switch; their coefficient is that of slow compression.)"
    )


EXERCISES = [
    Numeric(
        key="R1", title="Recall: who brakes?",
        question=lambda n: f"From workbook 02: the road feeds {n.road} W into a rough-road ride, whatever the law. The "
        f"damper beside the motor turns {n.heat} W of it into heat. What is the motor's net mean power, with its sign?",
        numbers=[Draw("road", 26, 44, 2), Draw("heat", 6, 18, 1)],
        answer=lambda n: float(n.heat - n.road), unit="W",
        hints=[
            "Damper and motor together must get rid of what the road feeds in.",
            "Heat of the damper less power of the motor is the road's power.",
            "What the damper does not burn, the motor takes out: is that positive or negative power of the motor?",
        ],
        slips=[
            Slip("sign", lambda n: float(n.road - n.heat),
                 "The size is right. The motor takes energy out, so its net power is negative: on balance it brakes."),
            Slip("sum", lambda n: float(n.road + n.heat), "The damper's heat is a part of what the road feeds in."),
            Slip("damper forgotten", lambda n: -float(n.road), "The damper burns a part of that already."),
        ],
        solution=lambda n: f"${n.heat} - {n.road} = {n.heat - n.road}$ W: on balance the motor is a brake, and yet it "
        "drives the suspension at times. This page asks what is lost without those times.",
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
        question="On the trail bike's descent, ridden with the damper, the wanted skyhook force has the right "
        "direction for a damper in 65 % of the time, and in 36 % its size lies within the damper's range as well. "
        "Otherwise the damper gives the nearest force it has. An actuator's skyhook is calmer than the best fixed "
        "damper by some amount. Which share of that gain does the damper keep, both on the real chain?",
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
            "b": "Within reach for 36 % of the time, but 57 % of the gain: of the largest tenth of wanted forces 88 % "
            "brake, and they count most.",
            "c": "57 %: best fixed damper 3.91, damper with skyhook 3.51, actuator 3.21 m/s². The rest is not all "
            "lost to being a damper: the same one has 3.33 without its delay and 3.20 without its limits as well. But "
            "quickness comes first: without limits and as late as ours it has about 3.9.",
            "d": "Being a damper alone would cost little, and that guess is not foolish: without delay and without "
            "limits of range it would have 3.20 m/s², an actuator alone 3.17. But the real valve is late and its range "
            "ends: 3.51.",
        },
    ),
    Numeric(
        key="E1", title="Which coefficient now?", kind="worked",
        question=lambda n: f"At this moment the body moves up at {n.body_mms} mm/s and the wheel up at {n.wheel_mms} "
        f"mm/s. A skyhook of {n.sky} N s/m is wanted. Which coefficient should the damper have right now?",
        numbers=[Draw("sky", 800, 2000, 100), Draw("body_mms", 340, 500, 10), Draw("wheel_mms", 150, 240, 10)],
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
            Slip("upside down", lambda n: n.sky * (n.body_mms - n.wheel_mms) / n.body_mms,
                 "The fraction is upside down: the damper moves more slowly than the body, so it must be firmer."),
            Slip("sign", lambda n: -_needed(n), "The body is the faster one, so both differences are positive."),
        ],
        solution=lambda n: f"${n.sky}\\cdot{n.body_mms}/({n.body_mms}-{n.wheel_mms}) = {_needed(n):.4g}$ N s/m. "
        "It is positive, so a damper can do it if its range goes that far.",
    ),
    Numeric(
        key="E2", title="Could a damper do that?", kind="gap",
        question=lambda n: f"Another moment, another skyhook: the body moves up at {n.body_mms} mm/s, the wheel *down* "
        f"at {n.wheel_mms} mm/s, and the skyhook is one of {n.sky} N s/m. Fill the gap and work out the power of the "
        "wanted force, with its sign: $P = -c_\\mathrm{sky}\\,v_s\\cdot(\\_\\_\\_)$.",
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
        question=lambda n: f"The body goes up at {1e3 * _moment(n)[0]:.0f} mm/s, the wheel up at "
        f"{1e3 * _moment(n)[1]:.0f} mm/s. A skyhook of {n.sky} N s/m is wanted. The damper can be anything from "
        f"{n.soft} to {n.firm} N s/m. Which force $f$ does it give, with its sign?",
        numbers=[Draw("sky", 1600, 2200, 100), Draw("soft", 150, 200, 10), Draw("firm", 3000, 6000, 500),
                 Draw("wheel_mms", 640, 900, 20), Draw("body_mms", 200, 300, 10), Draw("keeps_up", 0, 1, 1),
                 Draw("behind_mms", 30, 60, 2)],
        answer=_given, unit="N",
        hints=[
            "Compare the sign of the wanted force with the sign of the speed of travel.",
            "Wanted: $c_\\mathrm{sky} v_s$. The damper has anything from soft to firm times $(v_s - v_u)$.",
            "If what is wanted lies outside, the nearest force is the end of that range that lies on its side.",
        ],
        slips=[
            Slip("wanted", lambda n: n.sky * _moment(n)[0], lambda n:
                 "That is the wanted force; at this speed of travel even the firm end has less." if n.keeps_up else
                 "That is the wanted force. It would drive the suspension, so no damper gives it."),
            Slip("nothing", lambda n: 0.0, "A damper that moves always gives something, at least its soft end."),
            Slip("wrong end", _wrong_end, "That is the end of the range that lies farther from what is wanted."),
            Slip("sum of speeds", lambda n: _given(n) * sum(_moment(n)) / (_moment(n)[0] - _moment(n)[1]),
                 "Both move up: the speed of travel is their difference."),
            Slip("sign", lambda n: -_given(n), "The size is right. Is the suspension opening or closing?"),
            Slip("body's speed", lambda n: (n.firm if n.keeps_up else n.soft) * _moment(n)[0],
                 "The damper feels the difference of the speeds, not the body's speed."),
        ],
        solution=lambda n: f"Wanted are {n.sky * _moment(n)[0]:.4g} N, with the travel at "
        f"{_moment(n)[0] - _moment(n)[1]:.3g} m/s. "
        + ("Signs agree, but even the firm end gives less, and it is the nearest: " if n.keeps_up else
           "The signs differ, so the soft end is nearest: ")
        + f"${n.firm if n.keeps_up else n.soft}\\cdot({_moment(n)[0]:g}-{_moment(n)[1]:g}) = {_given(n):.4g}$ N.",
    ),
    Numeric(
        key="E4", title="Which share is kept?",
        question=lambda n: f"A rider's log of one section: plain damper {n.plain:.2f} m/s², best fixed damper "
        f"{n.fixed:.2f} m/s², controllable damper {n.semi:.2f} m/s², and an actuator would have {n.active:.2f} m/s². "
        "Which share of the actuator's gain over the best fixed damper does the controllable one keep?",
        numbers=[Draw("plain", 4.5, 5.0, 0.05), Draw("fixed", 3.9, 4.1, 0.05), Draw("semi", 3.3, 3.4, 0.02),
                 Draw("active", 2.95, 3.1, 0.05)],
        answer=_kept, unit="%",
        hints=[
            "A gain is a difference: what each of the two takes off the rival's vibration.",
            "share = (fixed - semi) / (fixed - active).",
            "The rival is the best fixed damper in both differences; the plain damper is not needed.",
        ],
        slips=[
            Slip("over plain", lambda n: 100.0 * (n.plain - n.semi) / (n.plain - n.active),
                 "That is the share over the plain damper, an easier rival than the one asked for."),
            Slip("share lost", lambda n: 100.0 - _kept(n), "That is the share that is lost; asked is what is kept."),
            Slip("upside down", lambda n: 1e4 / _kept(n), "Upside down: the damper's gain goes above the line."),
            Slip("no rival's gain", lambda n: 100.0 * (n.fixed - n.semi) / n.fixed,
                 "That is the damper's gain as a share of the vibration; divide by the actuator's gain instead."),
        ],
        solution=lambda n: f"$({n.fixed:.2f}-{n.semi:.2f})/({n.fixed:.2f}-{n.active:.2f})$ is "
        f"{_kept(n):.3g} %.",
    ),
    Numeric(
        key="E5", title="How often is the order out of date?",
        question=lambda n: f"The wheel hops at {n.hop_hz} Hz, so the speed of travel changes its sign twice in each "
        f"swing. The chain of this page is {CHAIN_MS:g} ms late; a cheaper valve adds {n.extra_ms} ms. After each "
        "change of sign the old order still stands for the whole delay. For which share of the time is it out of date? "
        "(Leave the valve's own lag aside.)",
        numbers=[Draw("hop_hz", 8, 13, 1), Draw("extra_ms", 4, 14, 1)],
        answer=_outdated, unit="%",
        hints=[
            "How many changes of sign are there in a second, and how long is the order wrong after each?",
            "share $= 2 f T$, with $T$ the whole delay.",
            "Add the two delays, put them in seconds, multiply by twice the frequency.",
        ],
        slips=[
            Slip("once a swing", lambda n: 0.5 * _outdated(n), "The sign changes twice in each swing."),
            Slip("extra only", lambda n: _outdated(n, n.extra_ms), "The chain's own delay counts as well."),
            Slip("chain only", lambda n: _outdated(n, CHAIN_MS), "The cheaper valve's delay is missing."),
            Slip("milliseconds", lambda n: 1e3 * _outdated(n), "The delay went in as milliseconds."),
            Slip("share in date", lambda n: 100.0 - _outdated(n), "That is the share in which the order is right."),
        ],
        solution=lambda n: f"$2\\cdot{n.hop_hz}\\cdot{(CHAIN_MS + n.extra_ms) / 1e3:g}$, that is {_outdated(n):.3g} %. "
        "An order that is out of date is not only useless: firm and soft are then the wrong way round.",
    ),
    Choice(
        key="E6", title="Worse than never",
        question="Each of these was ridden down the bike's descent. Which one is worse even than the plain damper, "
        "which nothing switches?",
        options={
            "a": "the skyhook with 5 ms of extra delay",
            "b": "the two-state skyhook whose firm state is lockout",
            "c": "the two-state skyhook as firm as twice the plain damper in slow compression",
            "d": "the skyhook with a firm curve divided by four",
        },
        answer="b",
        feedback={
            "a": "3.74 m/s², against 4.46 of the plain damper and 3.91 of the best fixed one. It takes some 10 ms to "
            "be worse than the best fixed damper (4.04) and 20 ms to be no better than the plain one (4.42).",
            "b": "4.60 against 4.46 m/s²: each switch is a step in force, and jerk doubles, 735 against 357 m/s³. "
            "Other cases are a groundhook, 5.43, and a soft curve four times as firm, 4.74.",
            "c": "3.75 m/s²: simple, and still calmer than every fixed damper.",
            "d": "3.64 m/s²: a third of the gain is gone, the rest stays.",
        },
    ),
    Choice(
        key="E7", title="Softer or firmer?",
        question="A maker offers two valves that are worse than ours, at a lower price: one has twice the softest "
        "force, the other half the firmest. Which one should a skyhook avoid?",
        options={
            "a": "the one with twice the softest force",
            "b": "the one with half the firmest force",
            "c": "neither: only the ratio of firm to soft counts, and it is the same",
        },
        answer="a",
        feedback={
            "a": "With twice the soft curve 3.87 m/s² are left, 5 % of the gain; with half the firm one still 3.51, "
            "56 %.",
            "b": "Read the figure of the lost range at 2: half the firm curve leaves 3.51 m/s², twice the soft one "
            "3.87.",
            "c": "The ratio is the same, the ride is not: 3.87 against 3.51 m/s² in the figure of the lost range at 2.",
        },
    ),
    ShortText(
        key="E8", title="And why?",
        question="In one or two sentences: why does a skyhook suffer more from a stiffer soft end than from a weaker "
        "firm end? Think of the moments in which what is wanted cannot be had.",
        ideas=[
            "For about half of the time the wanted force would drive the suspension, or is smaller than the soft "
            "curve gives.",
            "Then the best the damper can do is to let go, and every newton that the soft curve still makes is too "
            "much.",
        ],
        misconceptions=[
            Misconception("firmer", "The firm end matters more, since a damper works by braking hard.",
                          "Look at the bars: forces larger than the firm curve are wanted in 12 % of the time only."),
        ],
        model="For about half of the time, 35 % and 16 %, the wanted force would drive the suspension or is smaller "
        "than the soft curve gives. Then the best the damper can do is to let go, and every newton that the soft curve "
        "still makes is too much. More than the firm curve is wanted in 12 % of the time only.",
        hints=["In the bar chart, which out-of-reach parts are the largest?",
               "Which curve does the damper lie on in those parts?",
               "Is the force that it still makes there wanted?"],
    ),
    Design(
        key="E9", title="A law for Ilka's descent", kind="open",
        question=_descent_question,
        numbers=[Draw("band_cms", 8, 40, 2)],
        parameters=[
            Parameter("law", "law", options=tuple(name for key, name in LAWS.items() if key != "mix")),
            Parameter("coefficient", "coefficient", 200.0, 3000.0, "N*s/m"),
            Parameter("dead_band", "dead band on the speed of travel", 0.0, 1.0, "m/s"),
        ],
        judge=_judge_descent,
        passing=lambda n: {"law": LAWS["two-state"], "coefficient": f"{REFERENCE:.0f} N*s/m",
                           "dead_band": f"{n.band_cms / 100:g} m/s"},
        solution="Laws that follow a force command hundreds of times a second, so the limit on commands leaves the two "
        "that switch. Of these, acceleration-driven switches more often, and at moderate coefficients lets the wheel "
        "hop. The two-state skyhook passes with about twice the plain damper's coefficient; the dead band then takes "
        "the commands down, and the price is a little calm.",
        hints=["Which laws in the table stay near the limit on commands at all?",
               "Start from the two-state skyhook with twice the plain damper's coefficient and no dead band.",
               "Widen the dead band until the commands fit; then check what it cost."],
    ),
]  # fmt: skip
