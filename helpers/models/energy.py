"""The energy budget of an electronic suspension: what it draws, how long a charge lasts, what its mass costs uphill.

What an actuation and a held valve take are arguments: a valve's own model knows them. How often a valve moves and what
an actuator puts in come from rides (`helpers.simulation.duty`).
"""

from dataclasses import dataclass, fields, replace

from helpers.models import closed_forms
from helpers.models.cells import Pack
from helpers.models.quantities import Checked, in_range, quantity
from helpers.models.terrain import roughness, white_velocity_intensity
from helpers.models.uncertainty import spread
from helpers.models.vehicles import GRAVITY

HOUR, DAY = 3600.0, 86_400.0  # s

# Power in W at the pedals that is kept up for eight hours: Malewicki (1983), as reprinted. A rider in training sustains
# some 100 to 250 W on a climb (from memory).
RIDER_ALL_DAY = {"healthy person": 75.0, "first-class athlete": 300.0}


@dataclass(frozen=True)
class Duty(Checked):
    """What the electronics of a whole machine draw while it is ridden; per wheel where it says so."""

    wheels: float = quantity("wheels with a controlled damper", "", 1.0, 8.0, default=1.0)
    sleep: float = quantity("draw that never stops, ridden or not", "W", 0.0, 100.0, default=2e-4)
    controller: float = quantity("computer, ridden", "W", 0.0, 100.0, default=0.015)
    sensor: float = quantity("sensors of a wheel, ridden", "W", 0.0, 100.0, default=0.003)
    per_actuation: float = quantity("energy of one move of a valve", "J", 0.0, 1000.0, symbol="E_1", default=0.1)
    actuation_rate: float = quantity("moves of a wheel's valve", "1/s", 0.0, 1e5, symbol="n", default=0.0)
    holding: float = quantity("draw of a valve that is held", "W", 0.0, 1000.0, symbol="P_h", default=0.0)
    holding_share: float = quantity("share of the ride that it is held", "", 0.0, 1.0, default=1.0)
    supplied: float = quantity("mean that a wheel's actuator puts in, at its rod", "W", 0.0, 1e5, default=0.0)
    returned: float = quantity("mean that it takes out", "W", 0.0, 1e5, default=0.0)
    efficiency: float = quantity("of the actuator's drive, either way", "", 0.05, 1.0, default=0.6)
    reuse: float = quantity("share of the returns that the drive stores", "", 0.0, 1.0, default=0.0)
    drag: float = quantity(
        "mean that a wheel's suspension takes out of forward motion", "W", -1e5, 1e5, default=0.0, quiet=True
    )

    def parts(self):
        """Mean draw in W by name, the whole machine, ridden; returns count as negative, drag only where it is told."""
        drive = self.supplied / self.efficiency - self.reuse * self.efficiency * self.returned
        parts = {
            "sleep": self.sleep,
            "controller": self.controller,
            "sensors": self.wheels * self.sensor,
            "actuations": self.wheels * self.per_actuation * self.actuation_rate,
            "holding": self.wheels * self.holding * self.holding_share,
            "actuators": self.wheels * drive,
        }
        return parts | {"drag": self.wheels * self.drag} if self.drag else parts

    @property
    def power(self):
        """Mean draw while ridden, W; the same number is Wh per hour."""
        return sum(self.parts().values())

    @property
    def actuations_per_hour(self):
        """Moves of one wheel's valve in an hour."""
        return HOUR * self.actuation_rate

    def energy_of_day(self, riding_hours):
        """Energy in J from one morning to the next, of which `riding_hours` h are ridden."""
        riding_hours = in_range("Duty", "riding_hours", riding_hours, "h", 0.0, 24.0)
        return (self.power - self.sleep) * riding_hours * HOUR + self.sleep * DAY


# Electronics of each family but for what a ride and a valve's model tell; invented for the course.
ELECTRONICS = {
    "mode_switching": Duty(),
    "semi_active": Duty(sleep=1e-3, controller=0.3, sensor=0.02, per_actuation=0.0, holding=2.0),
    "active": Duty(sleep=1e-3, controller=1.0, sensor=0.05, per_actuation=0.0),
}


def hours_per_charge(pack: Pack, duty: Duty, **state):
    """Hours of riding without a break from one charge; state: temperature, cycles, years as for `Cell.share_left`.

    Raises ValueError for a cell over its rating, in temperature or by the duty's mean draw.
    """
    pack.current(max(duty.power, 0.0))
    return pack.usable(**state) / (_drawn(duty, duty.power) + pack.leak) / HOUR


def days_per_charge(pack: Pack, duty: Duty, riding_hours, **state):
    """Days from one charge, `riding_hours` h of each ridden, the rest asleep; otherwise as `hours_per_charge`."""
    pack.current(max(duty.power, 0.0))
    daily = _drawn(duty, duty.energy_of_day(riding_hours)) + pack.leak * DAY
    return pack.usable(**state) / daily


def _drawn(duty, value):
    if not value > 0.0:
        raise ValueError(f"Duty: power is {duty.power:g} W on average; allowed is more than 0 W for a charge to end.")
    return value


def charge_spread(pack, duty, ranges, seed, count=2000, riding_hours=None):
    """The `Spread` of hours per charge, or of days with `riding_hours`, over a dict of `Range`s.

    Its keys are names of the duty's quantities, or 'temperature' in degC, 'cycles', 'years', or 'riding_hours'.
    Raises ValueError for another name, and for a draw that is out of range.
    """
    known, states = {told.name for told in fields(duty)}, {"temperature", "cycles", "years"}
    allowed = known | states | {"riding_hours"}
    if wrong := set(ranges) - allowed:
        raise ValueError(f"charge_spread: no input is called {', '.join(sorted(wrong))}; allowed are "
                         f"{', '.join(sorted(allowed))}.")  # fmt: skip

    def lasts(**drawn):
        ridden = drawn.pop("riding_hours", riding_hours)
        state = {name: drawn.pop(name) for name in states & set(drawn)}
        changed = replace(duty, **drawn)
        if ridden is None:
            return hours_per_charge(pack, changed, **state)
        return days_per_charge(pack, changed, ridden, **state)

    return spread(lasts, ranges, seed, count)


# --- heat and recovery ------------------------------------------------------------------------------------------------


def damper_heat(vehicle, road_class, speed):
    """Mean heat in W of one damper on an ISO 8608 road at `speed` m/s: pi^2 n0^2 Gd(n0) v k_t, whatever the damper.

    road_class: a letter, or Gd(n0) in m3. Zuo and Zhang (2013); linear, the tyre always on the ground.
    """
    speed = in_range("damper_heat", "speed", speed, "m/s", 0.0, 100.0)
    return closed_forms.mean_damper_power(vehicle, white_velocity_intensity(roughness(road_class), speed))


def recovered(heat, efficiency):
    """What comes back of `heat` in W at an efficiency from 0 to 1 from the damper's rod to the battery, W."""
    return in_range("recovered", "efficiency", efficiency, "", 0.0, 1.0) * heat


# --- mass against benefit ---------------------------------------------------------------------------------------------


def climb_seconds(mass, height, rider_power):
    """Seconds that `mass` in kg adds to a climb of `height` m at a rider's steady power in W: m g h / P.

    Rolling resistance would add to it, air drag, which falls with the speed, would take from it.
    """
    mass = in_range("climb_seconds", "mass", mass, "kg", 0.0, 1000.0)
    height = in_range("climb_seconds", "height", height, "m", 0.0, 10_000.0)
    return mass * GRAVITY * height / _rider(rider_power)


def seconds_from_power(saved, rider_power, duration):
    """Seconds that a climb of `duration` s is shorter where `saved` W of the rider's power are lost no more.

    Work is as before: (P - saved) t = P (t - dt).
    """
    saved = in_range("seconds_from_power", "saved", saved, "W", 0.0, _rider(rider_power))
    return saved / rider_power * duration


def seconds_at_equal_vibration(share, duration):
    """Seconds that a stretch of `duration` s is shorter if ridden faster until it shakes as the plain damper did.

    share: vibration over the plain damper's at equal speed. On an ISO 8608 road mean squares grow with speed, so speed
    may grow by 1/share^2. The kindest reading of a calmer ride: nothing else limits the rider, and steps and stops do
    not count. `helpers.simulation.duty.equal_vibration_speed` rides them.
    """
    share = in_range("seconds_at_equal_vibration", "share", share, "", 0.0, 10.0)
    return (1.0 - share**2) * duration


def break_even_mass(seconds_saved, height, rider_power):
    """Mass in kg whose climb of `height` m takes back `seconds_saved`: above it the lap is slower with the system.

    The yardstick is the time of a lap. 0 where nothing was saved.
    """
    height = in_range("break_even_mass", "height", height, "m", 0.1, 10_000.0)
    return max(seconds_saved, 0.0) * _rider(rider_power) / (GRAVITY * height)


def _rider(power):
    return in_range("climb", "rider_power", power, "W", 1.0, 2000.0)
