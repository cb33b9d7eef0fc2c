"""The three machines without what yields, sticks and strikes: what equations, limits and benchmarks are tested on.

Their controllable dampers are given by slopes, and rigid; all else is that of `machines`. Beside them, for numbers
from outside the project, a published reference.
"""

from helpers.models.dampers import DamperCurve, Side, two_slope
from helpers.models.machines import MACHINES
from helpers.models.vehicles import Vehicle

RIGID = {
    name: Vehicle.__dataclass_fields__[name].default
    for name in ("damper_stiffness", "seal_stretch", "tyre_travel", "rim_rate", "tyre_friction", "tyre_stretch")
}


def _rigid(key, soft, firm):
    """A machine on a valve whose open curve begins with `soft` and whose lockout with `firm`, in N s/m.

    The valve sits in the compression path: locked out, compression is firm up to a blow-off of about the body's
    weight, and rebound is what its own, fixed path leaves, two and a half times the plain damper.
    """
    plain = MACHINES[key].damping
    return MACHINES[key].changed(
        open_curve=two_slope(soft, 0.8 * soft, 0.4, rebound_ratio=1.5),
        lockout_curve=DamperCurve(Side(2.5 * plain, 2.5 * plain), Side(firm, plain, 0.12)),
        **RIGID,
    )


TRAIL_BIKE = _rigid("bike", 140.0, 6000.0)
MOTORCYCLE = _rigid("motorcycle", 260.0, 10_500.0)
CARRIER = _rigid("carrier", 330.0, 12_000.0)
FLEET = {"bike": TRAIL_BIKE, "motorcycle": MOTORCYCLE, "carrier": CARRIER}

# The quarter car of the International Roughness Index, for one kilogram of body made into 250 kg (only ratios are
# published): Sayers, Transportation Research Record 1501 (1995); ASTM E1926.
REFERENCE = Vehicle(
    "reference quarter car", body_mass=250.0, wheel_mass=0.15 * 250.0, spring_rate=63.3 * 250.0,
    tyre_rate=653.0 * 250.0, damping=6.0 * 250.0, wheel_radius=0.3,
)  # fmt: skip
