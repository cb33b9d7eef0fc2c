"""A machine of one's own, from what can be measured at home: scales under the wheel, a ruler, a stopwatch."""

import math

from helpers.models.dampers import DamperCurve, Side, two_slope
from helpers.models.quantities import in_range
from helpers.models.vehicles import GRAVITY, Vehicle

# A controllable damper in the proportions of the course's: open and locked slopes over the plain coefficient.
SOFT, FIRM, LOCKED_REBOUND, KNEE = 0.28, 12.0, 2.5, 0.12  # the last in m/s
YIELD = 13_000.0  # N/m of series stiffness for each kg of body: the course's machines


class MachineError(ValueError):
    """The machine cannot be; the message is one sentence with the reason, and notebooks show no traceback."""

    def _render_traceback_(self):
        return [str(self)]


def machine(
    name, *, load, wheel, travel, sag=None, bounce=None, tyre_press=None, tyre_rate=None, damping_ratio=0.3,
    wheel_diameter=0.7, climb=3.0, traverse=6.0, descent=10.0, friction=0.0, pedal_force=0.0,
):  # fmt: skip
    """Your own machine as a vehicle of the course, from one wheel of it.

    load: kg on a scale under this wheel, rider aboard, the other wheel as high. wheel: kg, the wheel and what moves
    with it. travel: m of the axle, from fully out to the bump stop. sag: m, how far the rider's weight presses it from
    fully out (springs without preload); or bounce: Hz, counted over ten bounces. tyre_press: m by which the load
    presses the tyre; or tyre_rate: N/m. damping_ratio: a guess of damping, 0.05 to 1.5; 0.2 to 0.4 is usual (common
    practice, no source), and `robust` tells whether it matters. wheel_diameter: m. climb, traverse, descent: m/s.
    friction: N, half the difference between the loads that just let it sink and just lift it. pedal_force: N.
    Raises MachineError for what cannot be.
    """

    def asked(field, value, unit, low, high):
        try:
            return in_range(f"machine {name}", field, value, unit, low, high)
        except (TypeError, ValueError) as problem:
            raise MachineError(str(problem)) from None

    load, wheel = asked("load", load, "kg", 3.0, 5000.0), asked("wheel", wheel, "kg", 0.2, 500.0)
    travel = asked("travel", travel, "m", 0.02, 1.0)
    body = load - wheel
    if body < 0.5 * wheel:
        raise MachineError(
            f"machine {name}: load is {load:g} kg and wheel {wheel:g} kg; allowed is a load of at least 1.5 times the "
            "wheel, since load counts the wheel too."
        )
    if (sag is None) == (bounce is None):
        raise MachineError(f"machine {name}: give one of sag (m) and bounce (Hz), the other follows.")
    if (tyre_press is None) == (tyre_rate is None):
        raise MachineError(f"machine {name}: give one of tyre_press (m) and tyre_rate (N/m), the other follows.")
    if tyre_rate is None:
        tyre_rate = load * GRAVITY / asked("tyre_press", tyre_press, "m", 5e-4, 0.2)
    tyre_rate = asked("tyre_rate", tyre_rate, "N/m", 5000.0, 2e6)
    if sag is not None:
        sag = asked("sag", sag, "m", 2e-3, 0.9 * travel)
        spring = body * GRAVITY / sag
    else:
        # Body on spring and tyre in series, which is what bounces slowly.
        both = body * (2.0 * math.pi * asked("bounce", bounce, "Hz", 0.4, 8.0)) ** 2
        if both >= 0.8 * tyre_rate:
            raise MachineError(
                f"machine {name}: bounce is {bounce:g} Hz, which asks for a stiffer spring than the tyre's "
                f"{tyre_rate:.0f} N/m lets through; allowed is less than "
                f"{math.sqrt(0.8 * tyre_rate / body) / (2.0 * math.pi):.2g} Hz."
            )
        spring = both * tyre_rate / (tyre_rate - both)
        sag = min(body * GRAVITY / spring, 0.6 * travel)  # softer springs are preloaded
    ratio = asked("damping_ratio", damping_ratio, "", 0.05, 1.5)
    friction = asked("friction", friction, "N", 0.0, 0.5 * body * GRAVITY)
    plain = 2.0 * ratio * math.sqrt(spring * body)
    soft, firm = SOFT * plain, FIRM * plain
    try:
        return Vehicle(
            name, body_mass=body, wheel_mass=wheel, spring_rate=spring, tyre_rate=tyre_rate, damping=plain,
            bump_travel=travel - sag, rebound_travel=sag, stop_rate=12.0 * spring, friction=friction,
            wheel_radius=0.5 * asked("wheel_diameter", wheel_diameter, "m", 0.1, 2.0), climb_speed=climb,
            traverse_speed=traverse, descent_speed=descent, pedal_force=pedal_force,
            open_curve=two_slope(soft, 0.8 * soft, 0.4, rebound_ratio=1.5),
            lockout_curve=DamperCurve(
                Side(LOCKED_REBOUND * plain, LOCKED_REBOUND * plain), Side(firm, soft, KNEE)
            ),
            damper_stiffness=YIELD * body, seal_stretch=2e-4 if friction else 0.0,
        )  # fmt: skip
    except (TypeError, ValueError) as problem:
        raise MachineError(str(problem)) from None
