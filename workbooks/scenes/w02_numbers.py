"""Numbers and tables of workbook 02: what an ideal actuator buys on one wheel, and what it must be fed."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import sympy as sp

from helpers.control import optimal
from helpers.control.optimal import COMFORT, GRIP, Weights, controlled_response, regulator
from helpers.control.timing import Timing
from helpers.models import closed_forms, quarter_car
from helpers.models.lifting import lift
from helpers.models.quarter_car import Step
from helpers.models.terrain import CLASSES, fell_loop, white_velocity_intensity
from helpers.models.vehicles import CARRIER, FLEET
from helpers.simulation.metrics import metrics, power
from helpers.simulation.runs import ride_section
from helpers.teaching.page import Shown, table

LOOP = fell_loop()
WHEELS = {"bike": 2, "motorcycle": 2, "carrier": 4}
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
    """Rms body acceleration in m/s2, tyre-load variation over static load, and the actuator's powers in W."""

    acceleration: float
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
        acceleration, tyre, net, supply = mean.acceleration, mean.tyre_deflection, mean.power, mean.supply
    else:
        ahead = design.preview_spectrum(FINE, preview_time)
        a, x, v, tyre = (
            per_velocity(vehicle, design.gains, output, FINE, ahead=ahead)
            for output in ("acceleration", "travel", "relative_velocity", "tyre_deflection")
        )
        force = vehicle.body_mass * a + vehicle.spring_rate * x + design.damping * v
        acceleration, tyre, squared, speed, net = (
            2.0 * white * np.trapezoid((one * np.conj(other)).real * FINE, np.log(FINE))
            for one, other in ((a, a), (tyre, tyre), (force, force), (v, v), (force, v))
        )
        size = math.sqrt(squared * speed)
        alike = net / size  # the mean of |F v| for Gaussian signals, as in `optimal.mean_squares`
        supply = 0.5 * (net + 2.0 / math.pi * size * (math.sqrt(1.0 - alike**2) + alike * math.asin(alike)))
    load = vehicle.tyre_rate * math.sqrt(tyre) / vehicle.static_load
    return Bought(math.sqrt(acceleration), load, float(net), float(supply))


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
        Step("The road's part", "The tyre answers a kick of the road at once; half of the kick has arrived, on "
             "average, while it works. Whatever the suspension does comes later. So no law enters, as long as the "
             "road ahead is not known.", sp.Eq(c * squared, net + white * k_t / 2)),
    )  # fmt: skip


def energy_balance():
    """Show the four steps."""
    return Shown("\n\n".join(step._repr_markdown_() for step in energy_steps()))


def balance_table():
    """The balance in numbers on class C: five laws for the carrier, the comfort law for the bike."""
    bare = regulator(CARRIER, damping=0.0)
    cases = [(name, CARRIER, gains, damping) for name, gains, damping, _ in laws()[:-1]]
    cases.append(("optimal, comfort, no damper beside it", CARRIER, bare.gains, 0.0))
    cases.append(("trail bike: optimal, comfort", FLEET["bike"], regulator(FLEET["bike"]).gains, None))
    rows = []
    for name, vehicle, gains, damping in cases:
        mean = optimal.mean_squares(vehicle, gains, intensity(vehicle), damping)
        heat = (optimal.open_damping(vehicle) if damping is None else damping) * mean.relative_velocity
        watts = (heat, mean.supply, mean.supply - mean.power, mean.power + 0.0, heat - mean.power,
                 0.5 * intensity(vehicle) * vehicle.tyre_rate)  # fmt: skip
        rows.append([name, *(f"{value:.1f}" for value in watts)])
    return table(["law", "heat in the damper (W)", "motor puts in (W)", "motor takes out (W)", "motor, net (W)",
                  "heat less net (W)", "$W k_t/2$ (W)"], rows)  # fmt: skip


# --- reading ----------------------------------------------------------------------------------------------------------


def weights_table(machine="carrier"):
    """What the weight of grip does, class C, one wheel; battery at the assumed efficiency."""
    rows = []
    for exponent in (4.5, 5.25, 6.0):
        got, base = bought(machine, exponent), calmest(machine)
        shares = (got.acceleration / base.acceleration_rms, got.load / base.load_share_rms)
        bill = (drawn(got.supply, got.net, EFFICIENCY, reuse) for reuse in (False, True))
        rows.append([f"$10^{{{exponent:g}}}$", *(f"{100.0 * share:.0f} %" for share in shares),
                     f"{got.supply:.1f}, {got.net:.1f}", *(f"{watts:.1f}" for watts in bill)])  # fmt: skip
    return table(["weight of grip (1/s⁴)", "acceleration / calmest damper's", "tyre-load variation / calmest damper's",
                  "puts in, net (W)", "battery (W)", "with returns reused (W)"], rows)  # fmt: skip


def bought_table():
    """What feedback and preview leave of the calmest damper's acceleration at its grip, and the power, class C."""
    rows = []
    for machine, vehicle in FLEET.items():
        base = float(calmest(machine).acceleration_rms)
        rows.append([vehicle.name, f"{vehicle.wheel_mass / vehicle.body_mass:.2f}", f"{base:.2f}"])
        for preview in (0.0, 0.3):
            got = bought(machine, at_the_same_grip(machine, preview), preview)
            rows[-1] += [f"{100.0 * got.acceleration / base:.0f} %", f"{got.supply:.1f}, {got.net:.1f}"]
    return table(["machine", "mass ratio $m_u/m_s$", "calmest damper (m/s²)", "feedback, same grip", "puts in, net (W)",
                  "with 0.3 s preview, same grip", "puts in, net (W)"], rows)  # fmt: skip


@lru_cache
def active_ride(machine, section, time_constant=0.0, force_limit=math.inf, weights=COMFORT):
    """(Run, Metrics) of an optimal law over a section of the loop, sensing without delay."""
    vehicle = FLEET[machine]
    timing = Timing(sample_rate=math.inf, valve_time_constant=time_constant)
    run = ride_section(vehicle, LOOP.section(section), regulator(vehicle, weights).feedback(force_limit), timing)
    return run, metrics(run)


def bill_table():
    """The comfort law with an unlimited actuator over the Fell loop, one wheel of each machine."""
    rows = []
    for machine, vehicle in FLEET.items():
        for section in LOOP.sections:
            plain = metrics(ride_section(vehicle.plain(), section))
            run, got = active_ride(machine, section.name)
            at = power(run)
            bill = [WHEELS[machine] * drawn(at.supply, at.net, EFFICIENCY, reuse) for reuse in (False, True)]
            rows.append([
                f"{vehicle.name}, {section.name}", f"{plain.comfort:.2f}, {got.comfort:.2f}",
                f"{100.0 * plain.airborne:.1f}, {100.0 * got.airborne:.1f}", f"{100.0 * got.bump_share:.0f}",
                f"{np.abs(run.actuator_force).max():.0f}", f"{at.supply:.0f}, {round(at.net)}", f"{1e-3 * at.peak:.1f}",
                f"{bill[0]:.0f}", f"{bill[1]:.0f}",
            ])  # fmt: skip
    return table(["machine, section", "vibration: plain, active (m/s²)", "off the ground: plain, active (%)",
                  "bump travel used (%)", "largest force (N)", "puts in, net (W)", "peak (kW)",
                  "battery, whole machine (W)", "with returns reused (W)"], rows)  # fmt: skip


def limits_table(machine="carrier", section="traverse"):
    """What is left of the gain when the actuator is slow or weak."""
    plain = metrics(ride_section(FLEET[machine].plain(), LOOP.section(section)))
    rows = [["none: plain damper", f"{plain.comfort:.2f}", "0", "0.0"]]
    cases = [("unlimited", {})]
    cases += [(f"{1e3 * lag:g} ms late", {"time_constant": lag}) for lag in (0.003, 0.01, 0.03)]
    cases += [(f"at most {force} N", {"force_limit": float(force)}) for force in (600, 400, 200, 100)]
    gentle = Weights(1e4, COMFORT.tyre_deflection)
    cases += [("unlimited, weight of travel 10 000 instead of 300", {"weights": gentle})]
    for name, limits in cases:
        run, got = active_ride(machine, section, **limits)
        at = power(run)
        rows.append([name, f"{got.comfort:.2f}", f"{at.supply:.0f}", f"{1e-3 * at.peak:.1f}"])
    return table(["actuator", "vibration (m/s²)", "puts in (W)", "peak (kW)"], rows)


def lift_table(height=0.1, force=3000.0):
    """Energy, force and least time to lift the body, one wheel."""
    rows = []
    for vehicle in FLEET.values():
        done = [lift(vehicle, height, force, limit) for limit in (100.0, 250.0, 1000.0, math.inf)]
        rows.append([
            vehicle.name, f"{done[0].energy:.0f}", f"{done[0].holding_force:.0f}",
            *(f"{one.least_time:.2f}" for one in done), f"{1e-3 * done[3].peak_power:.1f}",
            f"{done[3].least_time * vehicle.descent_speed:.1f}",
        ])  # fmt: skip
    return table(["machine", "energy (J)", "to hold it there (N)", "with 100 W (s)", "250 W (s)", "1 kW (s)",
                  "any power (s)", "its peak (kW)", "and rolls meanwhile (m)"], rows)  # fmt: skip
