"""A machine from home measurements: published parameter sets come back, impossible machines are refused."""

import math

import pytest

from helpers.models.own_machine import MachineError, machine
from helpers.models.quarter_car import modes
from helpers.models.vehicles import GRAVITY

# Body and wheel mass in kg, spring and tyre rate in N/m, damping in N s/m of published quarter cars; from memory unless
# said otherwise.
PUBLISHED = {
    # Sayers, Transportation Research Record 1501 (1995), ratios as read, times 250 kg.
    "roughness index": (250.0, 37.5, 15_825.0, 163_250.0, 1500.0),
    # Rajamani, Vehicle Dynamics and Control (2012), chapter 10.
    "Rajamani": (250.0, 45.0, 16_000.0, 160_000.0, 1000.0),
    # Hac, Suspension optimization of a 2-DOF vehicle model, J. Sound Vib. 100 (1985): the ratios of a usual car.
    "Hac": (240.0, 36.0, 16_000.0, 160_000.0, 980.0),
    # Savaresi and others, Semi-Active Suspension Control Design for Vehicles (2010): the motorcycle's rear corner.
    "Savaresi": (117.0, 30.0, 26_000.0, 200_000.0, 1500.0),
    # Tseng and Hedrick, Vehicle System Dynamics 23 (1994).
    "Tseng": (243.0, 40.0, 14_671.0, 124_660.0, 370.0),
}


@pytest.mark.parametrize("source", PUBLISHED)
@pytest.mark.parametrize("by", ["sag", "bounce"])
def test_a_published_machine_comes_back_from_what_one_would_measure(source, by):
    body, wheel, spring, tyre, damping = PUBLISHED[source]
    sag = body * GRAVITY / spring
    seen = {"sag": sag} if by == "sag" else {"bounce": math.sqrt(spring * tyre / (spring + tyre) / body) / 2 / math.pi}
    found = machine(
        source, load=body + wheel, wheel=wheel, travel=3.0 * sag, tyre_press=(body + wheel) * GRAVITY / tyre,
        damping_ratio=damping / (2.0 * math.sqrt(spring * body)), **seen,
    )  # fmt: skip
    given = (found.body_mass, found.wheel_mass, found.spring_rate, found.tyre_rate, found.damping)
    assert given == pytest.approx(PUBLISHED[source], rel=1e-9)
    assert found.bump_travel + found.rebound_travel == pytest.approx(3.0 * sag)


def test_bounce_is_the_lower_natural_frequency_nearly():
    """The body on spring and tyre in series is the lower mode but for the wheel's mass: within 3 % for a usual car."""
    found = machine("car", load=295.0, wheel=45.0, travel=0.2, bounce=1.2, tyre_rate=160_000.0)
    assert modes(found).body_hz == pytest.approx(1.2, rel=0.03)


USUAL = {"load": 63.2, "wheel": 3.2, "travel": 0.15, "sag": 0.047, "tyre_rate": 70_000.0}
IMPOSSIBLE = {
    "wheel as heavy as the load": ({"wheel": 60.0}, "load is 63.2 kg and wheel 60 kg"),
    "sag beyond travel": ({"sag": 0.2}, "sag is 0.2 m; allowed is 0.002 to 0.135 m"),
    "millimetres": ({"travel": 150.0}, "travel is 150 m; allowed"),
    "both": ({"bounce": 2.0}, "give one of sag"),
    "neither": ({"sag": None}, "give one of sag"),
    "no tyre": ({"tyre_rate": None}, "give one of tyre_press"),
    "bounce above the tyre": ({"sag": None, "bounce": 6.0}, "stiffer spring than the tyre"),
    "damping": ({"damping_ratio": 5.0}, "damping_ratio is 5; allowed"),
    "a word": ({"load": "heavy"}, "load"),
    "not finite": ({"load": math.nan}, "load is nan kg"),
    "speed": ({"descent": 500.0}, "descent_speed is 500 m/s"),
    "negative friction": ({"friction": -1.0}, "friction is -1 N"),
}


@pytest.mark.parametrize("kind", IMPOSSIBLE)
def test_what_cannot_be_is_refused_in_one_sentence(kind):
    changed, told = IMPOSSIBLE[kind]
    with pytest.raises(MachineError) as problem:
        machine("mine", **USUAL | changed)
    sentence = str(problem.value)
    assert told in sentence and "\n" not in sentence and problem.value._render_traceback_() == [sentence]
