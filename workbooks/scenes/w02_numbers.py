"""Numbers and tables of workbook 02: what an ideal actuator buys on one wheel, and what it must be fed.

All of it linear and in closed form; the rides are in `w02_rides`.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import sympy as sp

from helpers.control import optimal
from helpers.control.optimal import COMFORT, GRIP, Weights, controlled_response, regulator
from helpers.models import closed_forms, quarter_car
from helpers.models.lifting import lift
from helpers.models.quarter_car import Step
from helpers.models.terrain import CLASSES, white_velocity_intensity
from helpers.models.vehicles import CARRIER, FLEET
from helpers.teaching.page import Shown, table

EFFICIENCY = 0.6  # of drive and electronics, each way: an assumption of the course
TRAVEL_WEIGHT = COMFORT.travel
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


def laws(vehicle=CARRIER, frequency=FREQUENCY):
    """(name, gains, damping beside the actuator, preview spectrum) of the laws that this page compares."""
    comfort = regulator(vehicle)
    none = np.zeros(4)
    return (
        ("calmest damper", none, closed_forms.comfort_damping(vehicle), 0.0),
        ("skyhook", np.array([0.0, 4.0 * vehicle.damping, 0.0, 0.0]), None, 0.0),
        ("optimal, comfort", comfort.gains, None, 0.0),
        ("optimal, grip", regulator(vehicle, GRIP).gains, None, 0.0),
        ("comfort, 0.3 s preview", comfort.gains, None, comfort.preview_spectrum(frequency, 0.3)),
    )


# --- proofs -----------------------------------------------------------------------------------------------------------


def bands_table(vehicle=CARRIER):
    """Body over road at the point, and rms acceleration as a whole, below 6 Hz and close to the point."""
    white = intensity(vehicle)
    point = closed_forms.invariant_points()[0].at(vehicle).frequency_hz
    narrow, wide = (np.linspace((1.0 - share) * point, (1.0 + share) * point, 300) for share in (0.03, 0.15))
    bands = (FINE, np.geomspace(0.02, 6.0, 2000), wide, narrow)
    rows = []
    for place, (name, gains, damping, _) in enumerate(laws(vehicle)):
        at, *ahead = (laws(vehicle, band)[place][3] for band in (np.array([point]), *bands))
        ratio = abs(controlled_response(vehicle, gains, "body", np.array([point]), damping, at)[0])
        gain = (per_velocity(vehicle, gains, "acceleration", *rest, damping, seen)
                for *rest, seen in zip(bands, ahead, strict=True))  # fmt: skip
        felt = (math.sqrt(2.0 * white * np.trapezoid(np.abs(one) ** 2, band))
                for one, band in zip(gain, bands, strict=True))  # fmt: skip
        rows.append([name, f"{ratio:.4f}", *(f"{one:.2f}" for one in felt)])
    head = ["law", "body / road at the point", "acceleration, rms (m/s²)", "its part below 6 Hz",
            *(f"from {band[0]:.1f} to {band[-1]:.1f} Hz" for band in (wide, narrow))]  # fmt: skip
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
    """Show the four steps."""
    return Shown("\n\n".join(step._repr_markdown_() for step in energy_steps()))


def balance_table():
    """The balance in numbers on class C: the laws for the carrier, with and without a damper, and one for the bike."""
    bare = regulator(CARRIER, damping=0.0)
    cases = [(name, CARRIER, gains, damping) for name, gains, damping, _ in laws()[:-1]]
    cases.append(("optimal, comfort, no damper beside it", CARRIER, bare.gains, 0.0))
    cases.append(("trail bike: optimal, comfort", FLEET["bike"], regulator(FLEET["bike"]).gains, None))
    rows = []
    for name, vehicle, gains, damping in cases:
        mean = optimal.mean_squares(vehicle, gains, intensity(vehicle), damping)
        heat = (optimal.open_damping(vehicle) if damping is None else damping) * mean.relative_velocity
        watts = (0.5 * intensity(vehicle) * vehicle.tyre_rate, heat - mean.power, heat, mean.power + 0.0, mean.supply,
                 mean.supply - mean.power)  # fmt: skip
        rows.append([name, *(f"{value:.1f}" for value in watts)])
    return table(["law", "$W k_t/2$ (W)", "heat less net (W)", "heat in the damper (W)", "motor, net (W)",
                  "motor puts in (W)", "motor takes out (W)"], rows)  # fmt: skip


# --- reading ----------------------------------------------------------------------------------------------------------


def bought_table():
    """What feedback and preview leave of the calmest damper's acceleration at its grip, and the power, class C."""
    rows = []
    for machine, vehicle in FLEET.items():
        base = calmest(machine)
        blind, near, far = (bought(machine, at_the_same_grip(machine, ahead), ahead) for ahead in (0.0, 0.1, 0.3))
        left = [f"{100.0 * got.acceleration / base.acceleration_rms:.0f} %" for got in (blind, near, far)]
        rows.append([vehicle.name, f"{base.acceleration_rms:.2f}", left[0],
                     f"{1e3 * base.travel_rms:.1f}, {1e3 * blind.travel:.1f}", f"{blind.supply:.1f}; {blind.net:.1f}",
                     *left[1:], f"{far.supply:.1f}; {far.net:.1f}"])  # fmt: skip
    return table(["machine", "calmest damper (m/s²)", "feedback leaves", "travel, rms: calmest, feedback (mm)",
                  "puts in; net (W)", "seeing 0.1 s ahead", "0.3 s ahead", "puts in; net at 0.3 s (W)"], rows)


def ratios_table():
    """Why the bike gains more than the motorcycle: the motorcycle with the bike's ratios, feedback at equal grip."""
    from scipy.optimize import brentq

    bike, moto = FLEET["bike"], FLEET["motorcycle"]
    wheel = {"wheel_mass": moto.body_mass * bike.wheel_mass / bike.body_mass}
    spring = {"spring_rate": moto.tyre_rate * bike.spring_rate / bike.tyre_rate}
    cases = (("motorcycle", {}), ("with the bike's mass ratio", wheel), ("with the bike's ratio of rates", spring),
             ("with both", wheel | spring))  # fmt: skip
    rows = []
    for name, changes in cases:
        vehicle, white = moto.changed(**changes), intensity(moto)
        base = closed_forms.trade_off(vehicle, white, closed_forms.comfort_damping(vehicle))

        def under(exponent, vehicle=vehicle, white=white):
            gains = regulator(vehicle, Weights(TRAVEL_WEIGHT, 10.0**exponent)).gains
            return optimal.mean_squares(vehicle, gains, white)

        level = float(base.tyre_deflection_rms) ** 2
        got = under(brentq(lambda e, level=level, under=under: under(e).tyre_deflection - level, 2.5, 7.0))
        rows.append([name, f"{vehicle.wheel_mass / vehicle.body_mass:.2f}",
                     f"{vehicle.tyre_rate / vehicle.spring_rate:.1f}",
                     f"{100.0 * math.sqrt(got.acceleration) / base.acceleration_rms:.0f} %"])  # fmt: skip
    heads = "machine", "wheel over body, $m_u/m_s$", "tyre over spring, $k_t/k_s$", "feedback leaves, same grip"
    return table(heads, rows)


def weights_table(machine="carrier"):
    """What weight of grip and preview do, class C, one wheel; battery at the assumed efficiency."""
    rows, base = [], calmest(machine)
    for exponent, ahead in ((4.5, 0.0), (5.25, 0.0), (6.0, 0.0), (4.5, 0.3)):
        got = bought(machine, exponent, ahead)
        shares = (got.acceleration / base.acceleration_rms, got.load / base.load_share_rms)
        bill = (drawn(got.supply, got.net, EFFICIENCY, reuse) for reuse in (False, True))
        rows.append([f"$10^{{{exponent:g}}}$" + (f", seeing {ahead:g} s ahead" if ahead else ""),
                     *(f"{100.0 * share:.0f} %" for share in shares), f"{1e3 * got.travel:.1f}",
                     f"{got.supply:.1f}; {got.net:.1f}", *(f"{watts:.1f}" for watts in bill)])  # fmt: skip
    return table(["weight of grip (1/s⁴)", "acceleration / calmest damper's", "tyre-load variation / calmest damper's",
                  "travel, rms (mm)", "puts in; net (W)", "battery (W)", "with returns reused (W)"], rows)  # fmt: skip


def lift_table(force=3000.0):
    """Energy, force and least time to lift the body by all its rebound travel, one wheel."""
    rows = []
    for vehicle in FLEET.values():
        done = [lift(vehicle, vehicle.rebound_travel, force, limit) for limit in (100.0, 250.0, 1000.0, math.inf)]
        rows.append([
            vehicle.name, f"{1e3 * vehicle.rebound_travel:.0f}", f"{done[0].energy:.1f}",
            f"{done[0].holding_force:.0f}", *(f"{one.least_time:.2f}" for one in done[:3]),
            f"{done[3].least_time:.3f}", f"{1e-3 * done[3].peak_power:.1f}", f"{done[3].by_gravity:.3f}",
            f"{done[3].by_gravity * vehicle.descent_speed:.1f}",
        ])  # fmt: skip
    return table(["machine", "rebound travel (mm)", "energy (J)", "to hold it there (N)", "with 100 W (s)", "250 W (s)",
                  "1 kW (s)", f"any power, {1e-3 * force:g} kN (s)", "its peak (kW)", "bound by gravity (s)",
                  "rolled meanwhile (m)"], rows)  # fmt: skip
