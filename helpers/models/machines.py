"""The three machines on the course's damper, with what yields, sticks and strikes: every number invented.

Curves and the stiffness behind them follow from each machine's `Damper`. All three crack their blow-off at 35 bar:
what a heavier machine asks for, bore and linkage give. Of what size the rest is, is common practice, no source:

- seal_stretch: the seals shear by 0.2 mm on the rod before they slide, times the linkage at the wheel.
- tyre_travel: of a tyre 55 mm high the rim strikes when some 45 are used up, 9 of them at rest; 60 of 90 on the
  motorcycle, 50 of 60 on the carrier. rim_rate: rim on rubber between, ten to fifteen times the tyre.
- tyre_friction: 2 % of the static load, built up over a millimetre: a loss factor of 0.035 to 0.05 at 5 mm of swing.
"""

from helpers.models.damper import Damper
from helpers.models.orifice import hole, slit
from helpers.models.shims import Gas, Shim, Stack, Way, pyramid
from helpers.models.valve import Spool
from helpers.models.vehicles import Vehicle

_SPOOL = {"unbalanced": 0.02, "breakaway": 4.0, "running": 2.5, "ports": 0.9}

_BIKE = Damper(
    compression=Way(hole(3.5e-3, 6e-3, 6), pyramid(10e-3, 7e-3, 0.2e-3, 2), hole(1.5e-3)),
    rebound=Way(hole(2.5e-3, 6e-3, 4), pyramid(10e-3, 7e-3, 0.2e-3, 3), hole(1.5e-3)),
    valve=Spool("valve of the trail bike", diameter=12e-3, stroke=1e-3, **_SPOOL),
    leak=slit(40e-3, 42e-6, 3e-3),
    blow_off=Way(hole(4e-3, 4e-3, 2), pyramid(9e-3, 6e-3, 0.2e-3, 2, clamp_radius=4e-3, preload=88.0)),
    rebound_path=Way(hole(2e-3, 6e-3), pyramid(8e-3, 5e-3, 0.25e-3, 2, clamp_radius=4e-3), hole(0.6e-3)),
    selector=hole(4e-3), gas=Gas(12e5, 30e-6), bore=25e-3, rod=12e-3, linkage=2.5, static_stroke=18.8e-3,
)  # fmt: skip
_MOTORCYCLE = Damper(
    compression=Way(hole(4e-3, 6e-3, 8), pyramid(12e-3, 9e-3, 0.25e-3, 2, clamp_radius=6e-3), hole(2e-3)),
    rebound=Way(hole(3e-3, 6e-3, 8), pyramid(12e-3, 9e-3, 0.25e-3, 4, clamp_radius=6e-3), hole(2e-3)),
    valve=Spool("valve of the motorcycle", diameter=18e-3, stroke=1.1e-3, **_SPOOL),
    leak=slit(40e-3, 51e-6, 3e-3),
    blow_off=Way(hole(6e-3, 4e-3, 2), pyramid(10e-3, 7e-3, 0.2e-3, 3, preload=198.0)),
    rebound_path=Way(hole(2e-3, 6e-3, 2), Stack((Shim(8e-3, 0.25e-3),), clamp_radius=4e-3), hole(0.7e-3)),
    selector=hole(5e-3), gas=Gas(12e5, 60e-6), bore=36e-3, rod=14e-3, linkage=3.0, static_stroke=30e-3,
    bore_column=120e-3, ring_column=90e-3, hose=4e-14, mounts=2e7,
)  # fmt: skip
_CARRIER = Damper(
    compression=Way(hole(4e-3, 6e-3, 10), pyramid(12e-3, 9e-3, 0.25e-3, 2, clamp_radius=6e-3), hole(2e-3)),
    rebound=Way(hole(3e-3, 6e-3, 10), pyramid(12e-3, 9e-3, 0.25e-3, 4, clamp_radius=6e-3), hole(2e-3)),
    valve=Spool("valve of the carrier", diameter=18e-3, stroke=1.1e-3, **_SPOOL),
    leak=slit(40e-3, 55e-6, 3e-3),
    blow_off=Way(hole(4e-3, 4e-3, 4), pyramid(10e-3, 7e-3, 0.2e-3, 2, preload=176.0)),
    rebound_path=Way(hole(2e-3, 6e-3, 3), pyramid(8e-3, 5e-3, 0.15e-3, 5, clamp_radius=4e-3), hole(0.9e-3)),
    selector=hole(5e-3), gas=Gas(12e5, 50e-6), bore=32e-3, rod=12e-3, linkage=2.0, static_stroke=35e-3,
    bore_column=120e-3, ring_column=90e-3, hose=4e-14, mounts=2e7,
)  # fmt: skip
DAMPERS = {"bike": _BIKE, "motorcycle": _MOTORCYCLE, "carrier": _CARRIER}


def _on(damper, name, **values):
    """A vehicle on a damper: its curves, and its stiffness to whole kN/m."""
    return Vehicle(
        name, open_curve=damper.open_curve, lockout_curve=damper.lockout_curve,
        damper_stiffness=round(damper.series_stiffness, -3), **values,
    )  # fmt: skip


MACHINES = {
    "bike": _on(
        _BIKE, "trail bike", body_mass=60.0, wheel_mass=3.2, spring_rate=12_500.0, tyre_rate=70_000.0, damping=500.0,
        bump_travel=0.103, rebound_travel=0.047, stop_rate=1.5e5, gas_column=0.25, friction=25.0, wheel_radius=0.36,
        climb_speed=3.0, traverse_speed=6.0, descent_speed=10.0, pedal_force=110.0,
        seal_stretch=0.5e-3, tyre_travel=36e-3, rim_rate=1e6, tyre_friction=12.0, tyre_stretch=1e-3,
    ),
    "motorcycle": _on(
        _MOTORCYCLE, "rescue motorcycle", body_mass=120.0, wheel_mass=17.0, spring_rate=13_000.0, tyre_rate=150_000.0,
        damping=950.0, bump_travel=0.19, rebound_travel=0.09, stop_rate=2.5e5, friction=40.0, wheel_radius=0.33,
        climb_speed=8.0, traverse_speed=14.0, descent_speed=20.0,
        seal_stretch=0.6e-3, tyre_travel=51e-3, rim_rate=2e6, tyre_friction=27.0, tyre_stretch=1e-3,
    ),
    "carrier": _on(
        _CARRIER, "stretcher carrier", body_mass=140.0, wheel_mass=16.0, spring_rate=19_000.0, tyre_rate=120_000.0,
        damping=950.0, bump_travel=0.13, rebound_travel=0.07, stop_rate=3e5, friction=30.0, wheel_radius=0.29,
        climb_speed=3.0, traverse_speed=6.0, descent_speed=5.0,
        seal_stretch=0.4e-3, tyre_travel=37e-3, rim_rate=1.5e6, tyre_friction=30.0, tyre_stretch=1e-3,
    ),
}  # fmt: skip
