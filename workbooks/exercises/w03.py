"""Exercises of workbook 03: what a damper can give of a wanted force, what lateness costs, and a law of one's own."""

from functools import lru_cache

from helpers.course import Skyhook, bike, fell_loop, own_law, real_chain, ride
from helpers.teaching.design import LawParameter
from helpers.teaching.exercises import Choice, Criterion, Design, Draw, Numeric, Slip

CHAIN_MS = 1e3 * real_chain.delay
LOOP = 8  # the page's


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
    """Share of the active gain over the calmest fixed damper, %."""
    return 100.0 * (n.fixed - n.semi) / (n.fixed - n.active)


def _outdated(n, delay_ms=None):
    """Share of time in which an order by sign is out of date, %: twice a swing it stands for the delay."""
    return 0.2 * n.hop_hz * (CHAIN_MS + n.extra_ms if delay_ms is None else delay_ms)


def firm_with_both(seen):
    """A law that beats the skyhook: as firm as the body is quick, and firmer while the damper pulls it to rest."""
    if seen.body_velocity * seen.suspension_velocity <= 0:
        return 0.0
    push = abs(seen.body_acceleration) if seen.body_acceleration * seen.suspension_velocity > 0 else 0.0
    return 0.5 * abs(seen.body_velocity) + 0.03 * push


@lru_cache(16)
def _to_beat(seed):
    """Vibration and dose of the skyhook on the bike's descent of a loop."""
    ridden = ride(bike, fell_loop(seed).descent, Skyhook(1000.0))
    return ridden.vibration, ridden.dose


def _judge(values, n):
    found = []
    for seed, where in ((LOOP, "the page's loop"), (n.seed, f"loop {n.seed}")):
        mine, (vibration, dose) = ride(bike, fell_loop(seed).descent, values.law), _to_beat(seed)
        found += [
            Criterion(f"vibration, {where}:", mine.vibration, round(vibration - 0.03, 2), "m/s^2",
                      advice="How firm should it be while the body hardly moves?"),
            Criterion(f"dose, {where}:", mine.dose, round(dose, 1), "m/s¹·⁷⁵",
                      advice="What does body_acceleration tell that body_velocity does not?"),
        ]  # fmt: skip
    return found


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
        question="On the trail bike's traverse a skyhook by an actuator is calmer than the calmest fixed damper by "
        "some amount. Which share of that gain does the controllable damper keep, both on the real chain?",
        options={
            "none": "none: it can only brake",
            "quarter": "about a quarter",
            "half": "a little less than half",
            "nearly all": "nearly all",
        },
        answer="half",
        feedback={
            "none": "Braking at the right moments and letting go at the wrong ones beats every fixed setting there: "
            "3.00 against 3.45 m/s².",
            "quarter": "That is right for the bike's descent, 27 %, where blows decide. On the traverse it is 47 %.",
            "half": "47 %: calmest fixed damper 3.45, damper with skyhook 3.00, actuator 2.48 m/s². The rest is lost "
            "to the range of the valve as much as to its delay, and to being a damper at all.",
            "nearly all": "Not foolish: of the largest tenth of the wanted forces only 12 % would drive. But a valve "
            "without delay would have 2.9 m/s², one without limits 2.8: both cost.",
        },
    ),
    Choice(
        key="S1", title="Set the motorcycle, traverse, skyhook",
        question="What do you expect beside the calmest fixed damper?",
        options={"calmer": "less vibration, and no more time off the ground",
                 "grip": "no less vibration, but less time off the ground",
                 "worse": "more vibration and more time off the ground"},
        answer="grip",
        feedback={
            "calmer": "The calmest fixed damper is so soft that the skyhook is no calmer, 3.16 against 3.05 m/s². But "
            "look at the ground: 30.1 % of the time off it against 39.0.",
            "grip": "3.16 against 3.05 m/s², and 30.1 % of the time off the ground against 39.0. The rival bought its "
            "calm with a wheel in the air.",
            "worse": "Vibration is more, 3.16 against 3.05 m/s², but the wheel is off the ground for less of the time, "
            "30.1 against 39.0 %: the rival bought its calm with a wheel in the air.",
        },
    ),
    Choice(
        key="S2", title="Set the bike, descent, skyhook, and move the coefficient from 0.5 to 6",
        question="What does vibration do?",
        options={"falls": "it falls all the way: more skyhook, more calm",
                 "turns": "it falls a little, then rises",
                 "same": "hardly anything: the valve is at its stops"},
        answer="turns",
        feedback={
            "falls": "A late damper that asks for much switches between its curves, and each switch is a step in "
            "force: from 1.5 on vibration rises.",
            "turns": "Little coefficient brakes too little; much makes the valve switch between its curves, and each "
            "switch is a step in force.",
            "same": "At 6 the valve is at its stops, and that is a law with two states. It is rougher.",
        },
    ),
    Choice(
        key="S3", title="Set groundhook",
        question="It imitates a damper between wheel and ground. Where do the brown dots lie?",
        options={"out": "some leave the shaded region", "in": "all stay in it, elsewhere",
                 "same": "where the skyhook's were"},
        answer="in",
        feedback={
            "out": "No law leaves the region: it is the damper's. A law chooses where in it.",
            "in": "The region is the damper's; a law chooses where in it. This one leaves the body to swing.",
            "same": "The region is the same, the places in it are not: this law looks at the wheel.",
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
        question=lambda n: f"A rider's log of one section: plain damper {n.plain:.2f} m/s², calmest fixed damper "
        f"{n.fixed:.2f} m/s², controllable damper {n.semi:.2f} m/s², and an actuator would have {n.active:.2f} m/s². "
        "Which share of the actuator's gain over the calmest fixed damper does the controllable one keep?",
        numbers=[Draw("plain", 4.5, 5.0, 0.05), Draw("fixed", 3.9, 4.1, 0.05), Draw("semi", 3.3, 3.4, 0.02),
                 Draw("active", 2.95, 3.1, 0.05)],
        answer=_kept, unit="%",
        hints=[
            "A gain is a difference: what each of the two takes off the rival's vibration.",
            "share = (fixed - semi) / (fixed - active).",
            "The rival is the calmest fixed damper in both differences; the plain damper is not needed.",
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
        "(Leave the sampling and the valve's own lag aside.)",
        numbers=[Draw("hop_hz", 8, 13, 1), Draw("extra_ms", 6, 14, 1)],
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
        key="E6", title="Which one to buy?",
        question="Ilka is offered four parts for the descent. Which of them is calmer, by rms, than the calmest fixed "
        "damper?",
        options={
            "late": "the skyhook with a valve that is 5 ms slower",
            "lockout": "a valve of two states, open and lockout, with the two-state skyhook",
            "soft": "the skyhook with a valve of twice the soft curve",
            "firm": "the skyhook with a valve of half the firm curve",
        },
        answer="firm",
        feedback={
            "late": "3.76 against 3.66 m/s²: 5 ms took the whole gain and more.",
            "lockout": "4.54 against 3.66 m/s²: each switch is a step in force.",
            "soft": "3.86 against 3.66 m/s²: for a third of the time the best a damper can do is to let go, and then "
            "every newton of the soft curve is too much.",
            "firm": "3.56 against 3.66 m/s², nearly as calm as with the whole firm curve, 3.55.",
        },
    ),
    Design(
        key="E7", title="Beat the skyhook", kind="open",
        question=lambda n: "Write a law, as `@my_law`, that on the bike's descent is calmer than `Skyhook(1000)` by "
        f"0.03 m/s² or more, with no more dose, on the page's loop and on loop {n.seed}. Both are ridden with your law "
        "on the real chain.",
        numbers=[Draw("seed", 1, 7, 1)],
        parameters=[LawParameter("law", "your law")],
        judge=_judge,
        passing={"law": own_law(firm_with_both)},
        solution="Where the skyhook brakes, be as firm as the body is quick, `0.5 * abs(seen.body_velocity)`. While "
        "the damper also pulls against the acceleration, add `0.03 * abs(seen.body_acceleration)`. The first part is "
        "about the skyhook's own, and the second is what it lacks: a blow shows in the acceleration first.",
        hints=["How firm should it be while the body hardly moves?",
               "Which sign do body_velocity and suspension_velocity need? Start from what is as calm as the skyhook: "
               "`0.5 * abs(seen.body_velocity)` there, 0 elsewhere.",
               "Let body_acceleration add to it, where it has the sign of suspension_velocity."],
    ),
]  # fmt: skip
