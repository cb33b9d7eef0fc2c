"""Numbers and tables of workbook 02: what an ideal actuator buys on one wheel, and what it must be fed.

All of it linear and in closed form; the rides are in `w02_rides`.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import sympy as sp

from helpers.control import optimal
from helpers.control.optimal import COMFORT, Weights, controlled_response, regulator
from helpers.models import closed_forms, quarter_car
from helpers.models.quarter_car import Step
from helpers.models.terrain import CLASSES, white_velocity_intensity
from helpers.models.vehicles import CARRIER, FLEET
from helpers.teaching.page import Shown, folded, table

EFFICIENCY = 0.6  # of drive and electronics, each way: an assumption of the course
TRAVEL_WEIGHT = COMFORT.travel
CALM, EVEN = 4.5, 5.25  # stops of the slider: for calm, and for nearly the calmest damper's grip on the carrier
FREQUENCY = np.geomspace(0.3, 40.0, 300)  # Hz, drawn
FINE = np.geomspace(0.02, 400.0, 700)  # Hz, summed over


def intensity(vehicle):
    """White-velocity intensity in m2/s of a class C track at the vehicle's speed on the traverse."""
    return white_velocity_intensity(CLASSES["C"], vehicle.traverse_speed)


def per_velocity(vehicle, gains, output, frequency, damping=None, ahead=0.0):
    """An output over the road's velocity, the shape of `frequency` in Hz."""
    return controlled_response(vehicle, gains, output, frequency, damping, ahead) / (2j * np.pi * frequency)


@dataclass(frozen=True)
class Bought:
    """Rms body acceleration in m/s2 and travel in m, tyre-load variation over static load, actuator's powers in W."""

    acceleration: float
    travel: float
    load: float
    net: float
    supply: float


def drawn(supply, net, efficiency, reuse):
    """Mean power in W from a battery behind a drive of this efficiency each way, its returns reused or not."""
    return supply / efficiency - (efficiency * (supply - net) if reuse else 0.0)


@lru_cache(4096)
def bought(machine, exponent, preview_time=0.0):
    """The `Bought` of the optimal law with tyre weight 10^exponent on class C, seen `preview_time` s ahead."""
    vehicle = FLEET[machine]
    white, design = intensity(vehicle), regulator(vehicle, Weights(TRAVEL_WEIGHT, 10.0**exponent))
    if preview_time == 0.0:
        mean = optimal.mean_squares(vehicle, design.gains, white)
        acceleration, travel, tyre = mean.acceleration, mean.travel, mean.tyre_deflection
        net, supply = mean.power, mean.supply
    else:
        ahead = design.preview_spectrum(FINE, preview_time)
        a, x, v, tyre = (
            per_velocity(vehicle, design.gains, output, FINE, ahead=ahead)
            for output in ("acceleration", "travel", "relative_velocity", "tyre_deflection")
        )
        force = vehicle.body_mass * a + vehicle.spring_rate * x + design.damping * v
        acceleration, travel, tyre, squared, speed, net = (
            2.0 * white * np.trapezoid((one * np.conj(other)).real * FINE, np.log(FINE))
            for one, other in ((a, a), (x, x), (tyre, tyre), (force, force), (v, v), (force, v))
        )
        size = math.sqrt(squared * speed)
        alike = net / size  # the mean of |F v| for Gaussian signals, as in `optimal.mean_squares`
        supply = 0.5 * (net + 2.0 / math.pi * size * (math.sqrt(1.0 - alike**2) + alike * math.asin(alike)))
    load = vehicle.tyre_rate * math.sqrt(tyre) / vehicle.static_load
    return Bought(math.sqrt(acceleration), math.sqrt(travel), load, float(net), float(supply))


@lru_cache
def calmest(machine):
    """The `TradeOff` of the calmest damper on class C."""
    vehicle = FLEET[machine]
    return closed_forms.trade_off(vehicle, intensity(vehicle), closed_forms.comfort_damping(vehicle))


@lru_cache
def at_the_same_grip(machine, preview_time=0.0):
    """The exponent at which the optimal law leaves the tyre as well on the ground as the calmest damper does."""
    from scipy.optimize import brentq

    level = float(calmest(machine).load_share_rms)
    return brentq(lambda exponent: bought(machine, exponent, preview_time).load - level, 3.0, 6.5, xtol=1e-4)


def at_stop(vehicle, exponent, damping=None):
    """The optimal design at a stop of the live figure's slider."""
    return regulator(vehicle, Weights(TRAVEL_WEIGHT, 10.0**exponent), damping=damping)


def laws(vehicle=CARRIER, frequency=FREQUENCY):
    """(name, gains, damping beside the actuator, preview spectrum) of the laws that this page compares."""
    calm = at_stop(vehicle, CALM)
    none = np.zeros(4)
    return (
        ("calmest damper", none, closed_forms.comfort_damping(vehicle), 0.0),
        ("skyhook", np.array([0.0, 4.0 * vehicle.damping, 0.0, 0.0]), None, 0.0),
        ("optimal law", calm.gains, None, 0.0),
        ("optimal, sees 0.3 s ahead", calm.gains, None, calm.preview_spectrum(frequency, 0.3)),
    )


def optional(summary, *parts):
    """Texts and tables that nobody needs for the rest, in a fold that is closed at first."""
    return folded(f"Optional: {summary}", *parts)


# --- proofs -----------------------------------------------------------------------------------------------------------


def bands_table(vehicle=CARRIER):
    """Rms acceleration as a whole, below 6 Hz and round the point."""
    white = intensity(vehicle)
    point = closed_forms.invariant_points()[0].at(vehicle).frequency_hz
    bands = (FINE, np.geomspace(0.02, 6.0, 2000), np.linspace(0.85 * point, 1.15 * point, 300))
    rows = []
    for place, (name, gains, damping, _) in enumerate(laws(vehicle)):
        felt = []
        for band in bands:
            gain = per_velocity(vehicle, gains, "acceleration", band, damping, laws(vehicle, band)[place][3])
            felt.append(math.sqrt(2.0 * white * np.trapezoid(np.abs(gain) ** 2, band)))
        rows.append([name, *(f"{one:.2f}" for one in felt)])
    head = ["acceleration, rms (m/s²)", "whole", "below 6 Hz", f"{bands[2][0]:.1f} to {bands[2][-1]:.1f} Hz"]
    return table(head, rows)


@lru_cache
def energy_steps():
    """Where the energy goes, as `Step`s: any law, any damper, a road of white velocity."""
    from helpers.models.quarter_car import F_a, c, k_s, k_t, m_s, m_u, t, z_r, z_s, z_u

    motion = quarter_car.equations_of_motion()
    travel, tyre = z_s - z_u, z_u - z_r
    stored = sum(sp.Rational(1, 2) * k * q**2 for k, q in (
        (m_s, z_s.diff(t)), (m_u, z_u.diff(t)), (k_s, travel), (k_t, tyre)))  # fmt: skip
    accelerations = {
        z_s.diff(t, 2): motion.passive_body.rhs / m_s,
        z_u.diff(t, 2): motion.passive_wheel.rhs / m_u,
    }
    rate = sp.expand(stored.diff(t).subs(accelerations))
    flows = sum(sp.factor(rate.coeff(symbol)) * symbol for symbol in (F_a, c, k_t))
    left_over = sp.simplify(rate - flows)
    white, net, squared = closed_forms.W, sp.Symbol("P"), sp.Symbol("V")
    return (
        Step("Stored", "Two moving masses and two springs.", stored),
        Step("Its rate", "Newton's law put in. Three flows are left: actuator, damper, road.", flows + left_over),
        Step("On average", "A long ride stores nothing, so the flows add up to zero: the damper burns what the motor "
             "puts in, $P$ on average, and what the road puts in through the tyre, $R$.",
             sp.Eq(c * squared, net + sp.Symbol("R"))),
        Step("The road's part", "While the road rises by a small kick, the tyre's push grows from nothing to its "
             "full size, so the kick works against half of it on average. Whatever the suspension does comes later. So "
             "no law enters, as long as the road ahead is not known.", sp.Eq(c * squared, net + white * k_t / 2)),
    )  # fmt: skip


def energy_balance():
    """The last of the four steps, and the others folded."""
    *steps, last = energy_steps()
    fold = optional("how it is derived", "$\\dot z_s$ and $\\dot z_u$ are the speeds $v_s$ and $v_u$.", *steps)
    return Shown(f"{last._repr_markdown_()}\n\n{fold}")


def _watts(vehicle, gains, damping):
    """Heat in the damper, what the motor puts in, takes out, and its net, W, on class C."""
    mean = optimal.mean_squares(vehicle, gains, intensity(vehicle), damping)
    heat = (optimal.open_damping(vehicle) if damping is None else damping) * mean.relative_velocity
    return heat, mean.supply, mean.supply - mean.power, mean.power + 0.0


def balance_table():
    """The balance in numbers for the carrier on class C: no motor, a motor beside the soft damper, a motor alone."""
    white, soft = intensity(CARRIER), optimal.open_damping(CARRIER)
    calmest_damper, _, calm, _ = laws()
    rows = [[name, *(f"{watts:.1f}" for watts in _watts(CARRIER, gains, damping))] for name, gains, damping in (
        calmest_damper[:3], ("optimal law at 4.5", *calm[1:3]),
        ("optimal law at 4.5, no damper", at_stop(CARRIER, CALM, 0.0).gains, 0.0))]  # fmt: skip
    heads = ["carrier, class C, 6 m/s", "heat in the damper (W)", "motor puts in (W)", "takes out (W)", "net (W)"]
    worked = (
        f"Here $W = {1e6 * white:.0f}\\cdot10^{{-6}}$ m²/s, so the road puts in "
        f"${1e6 * white:.0f}\\cdot10^{{-6}}\\cdot{CARRIER.tyre_rate:.0f}/2 = {0.5 * white * CARRIER.tyre_rate:.1f}$ W. "
        f"Beside the motor stands the soft valve, $c = {soft:.0f}$ N s/m."
    )
    return Shown(f"{worked}\n\n{table(heads, rows)}")


def balance_fold():
    """More rows, the check of both sides, and a law under which the motor is no brake."""
    _, skyhook, _, _ = laws()
    bike = FLEET["bike"]
    cases = (("carrier: skyhook", CARRIER, *skyhook[1:3]),
             ("carrier: optimal law at 5.25", CARRIER, at_stop(CARRIER, EVEN).gains, None),
             ("carrier: optimal law at 4.0", CARRIER, at_stop(CARRIER, 4.0).gains, None),
             ("trail bike: optimal law at 4.5", bike, at_stop(bike, CALM).gains, None))  # fmt: skip
    rows = []
    for name, vehicle, gains, damping in cases:
        heat, supply, taken, net = _watts(vehicle, gains, damping)
        road = 0.5 * intensity(vehicle) * vehicle.tyre_rate
        rows.append([name, *(f"{watts:.1f}" for watts in (road, heat - net, heat, supply, taken, net))])
    heads = ["machine: law", "road puts in, $W k_t/2$ (W)", "heat less net (W)", "heat in the damper (W)",
             "motor puts in (W)", "takes out (W)", "net (W)"]  # fmt: skip
    return optional(
        "is the motor always a brake?", table(heads, rows),
        "The first two columns are the two sides of the balance. With no damper, $c = 0$, the left side vanishes and "
        "$P = -W k_t/2$, whatever the law: a motor alone is always a brake. Beside a damper it need not be. The bike's "
        "law makes its soft damper burn more than the road puts in, and the motor must add the rest; so does the "
        "carrier's at 4.0. With preview the force comes before the kick: then the road's part changes, too.",
    )  # fmt: skip


# --- reading ----------------------------------------------------------------------------------------------------------


def bought_table():
    """What feedback and preview leave of the calmest damper's acceleration at its grip, and the power, class C."""
    rows = []
    for machine, vehicle in FLEET.items():
        base = calmest(machine)
        every = [bought(machine, at_the_same_grip(machine, ahead), ahead) for ahead in (0.0, 0.1, 0.3)]
        rows.append([vehicle.name, *(f"{100.0 * got.acceleration / base.acceleration_rms:.0f} %" for got in every),
                     *(f"{got.supply:.1f}" for got in (every[0], every[2]))])  # fmt: skip
    return table(["same grip", "feedback", "0.1 s ahead", "0.3 s ahead", "motor puts in (W)", "at 0.3 s (W)"], rows)
