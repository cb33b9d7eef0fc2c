"""Exercises of workbook 02: the energy balance of a motor, its battery, a lift, and a law within its limits."""

import math
from functools import lru_cache

from helpers.control.optimal import COMFORT, Weights, regulator
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
    Misconception,
    Numeric,
    Parameter,
    ShortText,
    Slip,
)
from scenes.w02_numbers import bought, calmest

TRAVEL_WEIGHTS, FORCES = (3e3, 6e3, 1.2e4, 2.4e4, 4.8e4), (400.0, 600.0, 800.0)  # of E8's reference, drawn
COMFORT_ONLY = COMFORT.tyre_deflection, COMFORT.travel
SLACK = (1.02, 1.03, 1.15, 1.06, 1.0)  # of its limits: a neighbour's reference seldom passes
MACHINES, NAMES = ("bike", "motorcycle"), ("trail bike", "rescue motorcycle")
SLIDER = [4.0 + 0.25 * k for k in range(11)]  # powers of ten of the live figure's weight of grip


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


def _place(machine, preview_time, exponent):
    """(tyre-load variation, acceleration) of an optimal law in percent of the calmest damper's."""
    here, base = bought(machine, exponent, preview_time), calmest(machine)
    return 100.0 * here.load / float(base.load_share_rms), 100.0 * here.acceleration / float(base.acceleration_rms)


def _best(n, preview_time=None):
    """Place on the slider of the least weight that keeps the limit, as the read-out rounds it."""
    preview_time = n.preview if preview_time is None else preview_time
    return next(k for k, exponent in enumerate(SLIDER)
                if round(_place(MACHINES[n.machine], preview_time, exponent)[0]) <= n.limit)  # fmt: skip


def _left(n, back=0):
    return _place(MACHINES[n.machine], n.preview, SLIDER[_best(n) - back])[1]


def _lift_energy(n):
    return 0.5 * n.rate * (1e-3 * n.height_mm) ** 2


def _lift_power(n):
    return _lift_energy(n) * n.speed / n.length


def _shake(n):
    return 1e-3 * n.road_mm * n.tyre / n.mass


def _look(n):
    return n.speed_kmh / 3.6 * 1e-3 * (n.preview_ms + n.latency_ms)


@lru_cache(64)
def _ridden(mass, wheel, grip_weight, travel_weight, force_limit):
    """Vibration, m/s2, bump travel used, %, mean and largest power put in, W, and force, N: descent, one wheel."""
    vehicle = CARRIER.changed(body_mass=float(mass), wheel_mass=float(wheel))
    law = regulator(vehicle, Weights(travel_weight, grip_weight)).feedback(force_limit)
    run = ride_section(vehicle, fell_loop().section("descent"), law, FAST_CHAIN)
    ridden, watts = metrics(run), power(run)
    return ridden.comfort, 100.0 * ridden.bump_share, watts.supply, watts.peak, float(abs(run.actuator_force).max())


def _reference(n):
    """Weights of tyre deflection and travel and the force limit of a design that passes."""
    return COMFORT.tyre_deflection, TRAVEL_WEIGHTS[n.travel], FORCES[n.motor]


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
        f"The team may try the rig on a carrier: body {n.mass} kg on each wheel, wheel {n.wheel} kg with its "
        f"motor, everything else as in the table of parameters. Sensor, computer and motor are those of workbook 00 "
        f"(1000 samples a second, 3 ms late, 3 ms lag); the motor gives {force:.0f} N at most. Choose the weights of "
        "the optimal law and the largest force, so that on the descent of the Fell loop, at one wheel, weighted "
        f"vibration is at most {vibration:.2f} m/s², bump travel used at most {travel:.1f} %, mean power put in at "
        f"most {mean:.1f} W and the largest power put in at most {peak:.0f} W."
    )


def _rig_solution(n):
    start, done = (_ridden(n.mass, n.wheel, *design) for design in ((*COMFORT_ONLY, 5000.0), _reference(n)))
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
            "b": "about a third: a motor that pushes at the right moment cancels most bumps",
            "c": "about two thirds: the slow heave goes, the quick shake stays",
            "d": "all of it: nobody moves the 14 Hz point, and the shake is what counts",
        },
        answer="c",
        feedback={
            "a": "The motor can hold the body still only by leaving the wheel to itself. To shake the body less it "
            "must let the wheel swing on its tyre, and grip is gone: power is not what runs out.",
            "b": "So much is left (32 %) once the controller also sees the road 0.3 s ahead: only who knows the bump "
            "can push before it. Without that, 68 % is left, however strong the motor.",
            "c": "68 % is left on the carrier, 54 % on the bike, 74 % on the motorcycle, and the motor puts in a few "
            "watts only.",
            "d": "At 13.8 Hz nothing changes, true. But 0.85 of the 1.13 m/s² (57 % of the mean square) lies below "
            "6 Hz, and there a motor helps.",
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
        key="E3", title="Calm at a price in grip",
        question=lambda n: f"Set the live figure to the {NAMES[n.machine]} and {n.preview:g} s. Tyre loads may vary at "
        f"most {n.limit} % of the calmest damper's. Of the weights on the slider, take the one that leaves the least "
        "acceleration: what share of the calmest damper's is it?",
        numbers=[Draw("machine", 0, 1, 1), Draw("preview", 0.05, 0.3, 0.05), Draw("limit", 85, 110, 5)],
        answer=_left, unit="%",
        hints=[
            "On the solid blue curve, which way is calm and which way is grip?",
            "The tyre-load variation falls as the weight of grip grows, and acceleration rises with it: go only as far "
            "as the limit asks.",
            lambda n: f"Start at weight 4.0 and step up until the second read-out is {n.limit} or less; then read the "
            "first.",
        ],
        slips=[
            Slip("too loose", lambda n: _left(n, 1),
                 "There the tyre load still varies too much: one step more weight of grip."),
            Slip("the other axis", lambda n: _place(MACHINES[n.machine], n.preview, SLIDER[_best(n)])[0],
                 "That is the tyre-load variation at the right weight; the question asks for acceleration."),
            Slip("no preview", lambda n: _place(MACHINES[n.machine], 0.0, SLIDER[_best(n, 0.0)])[1],
                 "That is without a look ahead: set *road seen ahead*."),
        ],
        solution=lambda n: f"At weight {SLIDER[_best(n)]:g} the tyre load varies by "
        f"{_place(MACHINES[n.machine], n.preview, SLIDER[_best(n)])[0]:.0f} % of the calmest damper's, and "
        f"{_left(n):.3g} % of its acceleration is left. One step down, at {SLIDER[_best(n) - 1]:g}, it would be "
        f"{_place(MACHINES[n.machine], n.preview, SLIDER[_best(n) - 1])[0]:.0f} %: too much.",
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
        "heavier body lowers it; a motor does not. At a given amplitude the wheel's mass drops out; a lighter wheel "
        "moves the point to a higher frequency, where the road is smaller.",
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
        "in between. With the carrier's weight of grip at 4.5 the net is -1.3 W, and a battery behind a drive of 60 % "
        "still gives 10.2 W; at 5.25, with a net of -9.9 W, it gains 3.4 W, and must still be there for the pushes.",
        hints=["The net is a difference of two flows. Which are they?",
               "What does the drive's efficiency do to each of them?",
               "Compare the last two bars of the live figure; set the weight of grip to 4.5 first."],
    ),
    Numeric(
        key="E6", title="How far ahead to look",
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
        key="E7", title="Lifted while the bump passes",
        question=lambda n: f"A motor beside a spring of {n.rate} N/m, which carries the {n.mass} kg of body at rest, "
        f"is to raise the body by {n.height_mm} mm while the machine rolls {n.length:g} m at {n.speed} m/s. What mean "
        "power does that take, losses left out?",
        numbers=[Draw("rate", 12000, 18000, 500), Draw("mass", 150, 180, 10), Draw("height_mm", 40, 70, 5),
                 Draw("length", 1.6, 2.8, 0.2), Draw("speed", 4, 8, 1)],
        answer=_lift_power, unit="W",
        hints=[
            "The spring carries the weight; what must the motor work against as the body rises?",
            "Energy $\\frac12 k_s h^2$ in joules, time $L/v$ in seconds; a joule a second is a watt.",
            "Put the height in metres and square it; divide the energy by the time.",
        ],
        slips=[
            Slip("no half", lambda n: 2.0 * _lift_power(n),
                 "The force grows from zero as the spring lets go, so the energy holds a half."),
            Slip("weight", lambda n: n.mass * 9.80665 * 1e-3 * n.height_mm * n.speed / n.length,
                 "That lifts the whole weight; the spring already carries it."),
            Slip("times", lambda n: _lift_energy(n) * n.length / n.speed,
                 "Energy *over* time is power: joules a second are watts. You multiplied."),
        ],
        solution=lambda n: f"$\\frac12\\cdot{n.rate}\\cdot{1e-3 * n.height_mm:g}^2$ is "
        f"{_lift_energy(n):.4g} J in {n.length / n.speed:.3g} s: {_lift_power(n):.4g} W on "
        "average, and several times that at the peak.",
    ),
    Design(
        key="E8", title="A law for the rig", kind="open",
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
        hints=["Start from the comfort weights of this page, 30000 1/s^4 and 300 1/s^4 (written so, not as powers of "
               "ten), and all the motor's force; see what fails.",
               "Raise the weight of travel tenfold and more. What improves, and how much vibration does it cost?",
               "Halve your steps: stroke and mean power ask for more weight on travel, vibration for less. A larger "
               "weight on grip costs calm: leave it."],
    ),
]  # fmt: skip
