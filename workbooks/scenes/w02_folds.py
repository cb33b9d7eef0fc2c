"""Folded parts of workbook 02, for those who want more: proofs, other machines, a lift, every parameter."""

import math
from dataclasses import replace

import sympy as sp

from helpers.control import optimal
from helpers.control.optimal import COMFORT, Weights, isolator_gains, regulator
from helpers.models import closed_forms, quantities
from helpers.models.lifting import lift
from helpers.models.quarter_car import Step, Z_r, Z_s, Z_u, k_t, m_s, m_u, s, transfer_function
from helpers.models.vehicles import CARRIER, FLEET
from helpers.teaching.page import Shown, quantity_cells, quantity_table, table
from scenes.w02_numbers import CALM, EFFICIENCY, EVEN, TRAVEL_WEIGHT, bought, calmest, drawn, intensity, optional


def isolator_fold():
    """A body alone: the best law is a skyhook."""
    travel, speed = isolator_gains(TRAVEL_WEIGHT)
    return optional(
        "is the skyhook a good idea or a lucky guess?",
        "Take a body alone over a wheel that follows the road, and ask for the best law for acceleration² plus $q$ "
        f"times travel². Two gains come out, $\\sqrt q$ and $\\sqrt{{2\\sqrt q}}$: for $q = {TRAVEL_WEIGHT:g}$ they "
        f"are {travel:.1f} 1/s² on travel and {speed:.2f} 1/s on the body's speed, none on the speed of travel. The "
        f"optimum *is* a skyhook, with a damping ratio of {speed / (2.0 * math.sqrt(travel)):.3f}. A real wheel on a "
        "real tyre adds two more gains.",
    )  # fmt: skip


def point_fold():
    """The most general linear law, and a factor that holds none of its gains."""
    gains = sp.symbols("K_1:5")
    law = gains[0] * (Z_s - Z_u) + gains[1] * s * Z_s + gains[2] * (Z_u - Z_r) + gains[3] * s * Z_u
    apart = sp.factor(transfer_function("body", force=law) + m_u / m_s)
    if sp.simplify(apart.subs(s, sp.I * sp.sqrt(k_t / m_u))) != 0:
        raise ArithmeticError("The ratio at the point is no longer that of the masses.")
    step = Step("Distance from $-m_u/m_s$", "The most general linear law, all gains left as letters (spring and damper "
                "are among them: $K_1 = k_s$, $K_2 = c$, $K_4 = -c$).", apart)  # fmt: skip
    return optional(
        "why no gain can reach it (algebra)",
        "Workbook 01 added the two equations of motion and the suspension force was gone. Put in any law, and ask how "
        "far body over road is from $-m_u/m_s$:",
        step,
        "Above the line stands the factor $k_t + m_u s^2$ with $s = i\\omega$, and it holds no gain. At "
        "$\\omega = \\sqrt{k_t/m_u}$ it is zero, and the ratio is $-m_u/m_s$, whatever the four gains are. The proof "
        "of workbook 01 never asked where the force came from, so preview, delay or any computer change nothing.",
    )


_CORE = ("body_mass", "wheel_mass", "spring_rate", "tyre_rate", "damping", "bump_travel", "traverse_speed")


def _rows(rows):
    told = (replace(row, meaning=f"{row.meaning} (grip)") if row.name == "tyre_deflection" else row for row in rows)
    return quantity_table(map(quantity_cells, told))


def parameters():
    """What the page names, and folded all that the rides take besides."""
    every = quantities.table(CARRIER)
    soft = CARRIER.open_curve
    slopes = [slope for side in (soft.rebound, soft.compression) for slope in (side.low, side.high)]
    core = [row for row in every if row.name in _CORE]
    place = next(k for k, row in enumerate(core) if row.name == "damping")
    core[place + 1 : place + 1] = [
        replace(core[place], meaning=f"damping coefficient of the {name}", value=value)
        for name, value in (("calmest damper", round(float(calmest("carrier").damping))),
                            ("soft valve, beside the motor", optimal.open_damping(CARRIER)))
    ]  # fmt: skip
    core += quantities.table(COMFORT, "travel", "tyre_deflection")
    others = [row for row in every if row.name not in _CORE] + quantities.table(COMFORT, "force")
    fold = optional(
        "everything else the rides take", _rows(others),
        f"In the rides the soft valve has {min(slopes):.0f} to {max(slopes):.0f} N s/m, by speed and direction; the "
        "formulas count with the least.",
    )  # fmt: skip
    return Shown(f"{_rows(core)}\n\nSource of every value: {every[0].source}.\n\n{fold}")


def ratios_fold():
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
    return optional(
        "why does the bike gain most, and the motorcycle least?",
        "The motorcycle with one ratio of the bike, then with both:", table(heads, rows),
        "Two ratios do it: a light wheel and a tyre that is soft beside the spring. Each alone helps the motorcycle a "
        "little, both together bring it to the bike's own share.",
    )  # fmt: skip


def weights_fold(machine="carrier"):
    """What weight of grip and preview do, class C, one wheel; battery at the assumed efficiency."""
    rows, base = [], calmest(machine)
    for exponent, ahead in ((CALM, 0.0), (EVEN, 0.0), (6.0, 0.0), (CALM, 0.1), (CALM, 0.3)):
        got = bought(machine, exponent, ahead)
        shares = (got.acceleration / base.acceleration_rms, got.load / base.load_share_rms)
        bill = (drawn(got.supply, got.net, EFFICIENCY, reuse) for reuse in (False, True))
        rows.append([f"{exponent:g}" + (f", seeing {ahead:g} s ahead" if ahead else ""),
                     *(f"{100.0 * share:.0f} %" for share in shares), f"{1e3 * got.travel:.1f}",
                     *(f"{watts:.1f}" for watts in (got.supply, got.net, *bill))])  # fmt: skip
    heads = ["weight of grip, 10 to the power of", "acceleration", "tyre-load variation", "travel, rms (mm)",
             "puts in (W)", "net (W)", "battery (W)", "returns reused (W)"]  # fmt: skip
    return optional("the same in a table", table(heads, rows))


def lift_fold(force=3000.0):
    """Energy, force and least time to lift the body by all its rebound travel, one wheel."""
    rows, all_done = [], {}
    for machine, vehicle in FLEET.items():
        limits = (100.0, 250.0, 1000.0, math.inf)
        done = all_done[machine] = [lift(vehicle, vehicle.rebound_travel, force, limit) for limit in limits]
        rows.append([
            vehicle.name, f"{1e3 * vehicle.rebound_travel:.0f}", f"{done[0].energy:.1f}",
            f"{done[0].holding_force:.0f}", *(f"{one.least_time:.2f}" for one in done[:3]),
            f"{done[3].least_time:.3f}", f"{1e-3 * done[3].peak_power:.1f}", f"{done[3].by_gravity:.3f}",
            f"{done[3].by_gravity * vehicle.descent_speed:.1f}",
        ])  # fmt: skip
    heads = ["machine", "rebound travel (mm)", "energy (J)", "to hold it there (N)", "with 100 W (s)", "250 W (s)",
             "1 kW (s)", f"any power, {1e-3 * force:g} kN (s)", "its peak (kW)", "bound by gravity (s)",
             "rolled meanwhile (m)"]  # fmt: skip
    four, bike = all_done["carrier"], all_done["bike"][3].by_gravity
    return optional(
        "could a motor lift the body over a bump?",
        "Raise the body by all its rebound travel while the bump comes:", table(heads, rows),
        f"It is a matter of time, not of energy. To raise the carrier by its {1e3 * CARRIER.rebound_travel:.0f} mm "
        f"takes {four[0].energy:.0f} J at a wheel, what a lamp of 10 W uses in five seconds. But 250 W need "
        f"{four[1].least_time:.2f} s, {force:.0f} N with any power {four[3].least_time:.3f} s, and nothing beats "
        f"{four[3].by_gravity:.3f} s, for only its weight brings the body to rest: the tyre cannot pull. In its own "
        f"least time, {bike:.3f} s, the bike at {FLEET['bike'].descent_speed:g} m/s rolls "
        f"{bike * FLEET['bike'].descent_speed:.1f} m. Who has not seen the bump before will be late.",
    )  # fmt: skip
