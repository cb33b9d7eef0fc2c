"""A rigid wheel over obstacles against statics problems, brute force, energy and a facts sheet of the trade."""

import math

import numpy as np
import pytest
import sympy as sp
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad

from fleet import CARRIER, FLEET, MOTORCYCLE, TRAIL_BIKE
from helpers.models import terrain, wheel_step
from helpers.models.terrain import Profile
from helpers.models.wheel_step import Climb, contact, half_round, ramp, step

radii = st.floats(0.1, 0.5)
shares_of_radius = st.floats(0.02, 0.98)

# --- statics ----------------------------------------------------------------------------------------------------


def test_garden_roller_at_a_step():
    # Statics exercise of the classroom, 3-4-5 triangle: 300 N, radius 25 cm, step 10 cm. Horizontal push at the axle
    # 400 N; least push, square to the radius, 240 N; least force anywhere, at the far side of the rim, 120 N.
    roller = step(0.25, 0.10)
    assert roller.length == pytest.approx(0.20, rel=1e-12)
    assert roller.push(300.0) == pytest.approx(400.0, rel=1e-12)
    least = 300.0 * math.sin(roller.contact_angle(0.0))
    assert least == pytest.approx(240.0, rel=1e-12)
    assert least / 2 == pytest.approx(120.0, rel=1e-12)


def test_cylinder_pulled_by_a_rope_over_its_top():
    # Serway, Physics for Scientists and Engineers, statics example (from memory): 500 N, radius 0.800 m, step 0.600 m:
    # the weight's arm about the edge is 0.77 m and the rope, 2 R - h above the edge, pulls with 385 N (rounded arm).
    cylinder = step(0.8, 0.6)
    assert cylinder.length == pytest.approx(0.77, abs=0.005)
    assert 500.0 * cylinder.length / (2 * 0.8 - 0.6) == pytest.approx(385.0, abs=2.5)


def test_cylinder_of_thirty_kilograms():
    # Exercise with a printed answer: 30 kg, radius 1 m, step 0.5 m, pulled at the top: 169.7 N (g = 9.8 m/s2).
    assert 30.0 * 9.8 * step(1.0, 0.5).length / 1.5 == pytest.approx(169.7, abs=0.05)


def test_step_of_three_quarters_of_the_radius():
    # Derived: cos of the contact angle is 1/4, so its tangent is sqrt(15).
    assert step(0.4, 0.3).push(100.0) == pytest.approx(100.0 * math.sqrt(15.0), rel=1e-12)


@given(radii, shares_of_radius)
def test_push_grows_without_limit_towards_the_axle(radius, part):
    # P / W = sqrt(h (2 R - h)) / (R - h), the textbook form.
    height = part * radius
    wheel = step(radius, height)
    assert wheel.push(1.0) == pytest.approx(math.sqrt(height * (2 * radius - height)) / (radius - height), rel=1e-9)
    assert step(radius, (1 - 1e-6) * radius).push(1.0) > 9e5


@given(radii, st.floats(0.02, 0.9), st.sampled_from(["step", "ramp", "half_round"]), st.floats(0.2, 4.0))
def test_work_of_the_push_lifts_the_weight(radius, part, shape, run):
    # Energy: without friction the push over the whole climb does W h, whatever the obstacle.
    height = part * radius
    wheel = {"step": step(radius, height), "ramp": ramp(radius, height, run * height),
             "half_round": half_round(radius, height)}[shape]  # fmt: skip
    work, _ = quad(lambda x: float(wheel.push(1.0, x)), 0.0, wheel.length, limit=200)
    assert work == pytest.approx(height, rel=1e-7)


# --- path against brute force ------------------------------------------------------------------------------------


def lowest_by_bisection(distance, height, radius, at):
    """Axle height at which a disc just clears every point, by trial: nothing of the envelope's formula is used."""
    near = np.abs(distance - at) < radius
    low, high = -1.0, 3.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        clear = ((distance[near] - at) ** 2 + (height[near] - middle) ** 2 >= radius**2) & (height[near] <= middle)
        low, high = (low, middle) if clear.all() else (middle, high)
    return high - radius


OBSTACLES = {
    "step": (step(0.36, 0.1), lambda x: np.where(x >= 0, 0.1, 0.0), 0.0),
    "gentle ramp": (ramp(0.30, 0.1, 0.3), lambda x: np.clip(1 + x / 0.3, 0, 1) * 0.1, 0.0),
    "ramp whose edge is met first": (ramp(0.30, 0.1, 0.02), lambda x: np.clip(1 + x / 0.02, 0, 1) * 0.1, 0.0),
    "half-round": (half_round(0.33, 0.05), lambda x: np.sqrt(np.maximum(0.05**2 - x**2, 0.0)), 0.0),
    "flat half-round": (
        half_round(0.29, 0.04, 0.3),
        lambda x: np.maximum(np.sqrt(0.30125**2 - np.minimum(x**2, 0.15**2)) - 0.26125, 0.0), 0.0,
    ),
    "kerb with a rounded edge": (
        Climb(0.36, 0.12, rounding=0.03),
        lambda x: np.where(x >= 0, 0.12, np.where(x > -0.03, 0.09 + np.sqrt(np.maximum(0.03**2 - x**2, 0)), 0)), 0.0,
    ),
}  # fmt: skip


@pytest.mark.parametrize(("wheel", "ground", "top"), OBSTACLES.values(), ids=OBSTACLES)
def test_rise_against_a_disc_moved_by_trial(wheel, ground, top):
    distance = np.arange(-20_000, 8_001) * 5e-5
    height = ground(distance)
    for x in np.linspace(-0.05, 1.0, 22) * wheel.length:
        found = lowest_by_bisection(distance, height, wheel.radius, top - wheel.length + x)
        assert wheel.rise(x) == pytest.approx(found, abs=2e-6)  # steep half-rounds fall between the points


@pytest.mark.parametrize("vehicle", FLEET.values(), ids=lambda vehicle: vehicle.name)
def test_envelope_of_a_fine_profile_against_brute_force(vehicle):
    # 20 m at 2 mm, as a live figure uses it.
    road = terrain.iso_8608("F", 20.0, 0.002, seed=5, band=(0.05, 60.0))
    path = road.under_wheel(vehicle.wheel_radius)
    for k in range(300, len(road.height) - 300, 397):
        found = lowest_by_bisection(road.distance, road.height, vehicle.wheel_radius, road.distance[k])
        assert path.height[k] == pytest.approx(found, abs=1e-12)


roads = st.lists(st.floats(-0.2, 0.2), min_size=8, max_size=60).map(lambda heights: Profile.of(heights, 0.05))


@given(roads, radii)
def test_touching_point_is_on_the_rim_and_the_road_nowhere_inside(road, radius):
    found = contact(road, radius, road.distance)
    assert found.axle == pytest.approx(road.under_wheel(radius).height, abs=1e-12)
    centre = found.axle + radius
    assert (found.distance - road.distance) ** 2 + (found.height - centre) ** 2 == pytest.approx(radius**2, rel=1e-9)
    away = (road.distance - road.distance[:, None]) ** 2 + (road.height - centre[:, None]) ** 2
    assert (away >= radius**2 * (1 - 1e-9)).all()
    assert (np.diff(found.distance) >= -1e-12).all()  # a wheel that rolls on does not touch again further back


def test_contact_stays_on_the_edge_and_agrees_with_the_closed_form():
    wheel, at = step(0.36, 0.08), 1.0
    ground = terrain.step(0.08, at, 2.0, 0.001)
    x = np.arange(1, int(wheel.length * 1000)) / 1000
    found = contact(ground, 0.36, at - wheel.length + x)
    snapped = np.rint((at - wheel.length + x) * 1000) / 1000 - at + wheel.length
    assert found.distance == pytest.approx(at)
    assert found.axle == pytest.approx(wheel.rise(snapped), abs=1e-9)
    assert found.slope == pytest.approx(wheel.slope(snapped), abs=1e-9)
    assert contact(ground, 0.36, 0.2).height == 0.0  # one place alone


# --- rise, slope, speed ------------------------------------------------------------------------------------------


@given(radii, shares_of_radius, st.floats(0.0, 1.0))
def test_share_and_distance_are_inverse(radius, part, share):
    for wheel in (step(radius, part * radius), ramp(radius, part * radius, 0.3), half_round(radius, part * radius)):
        x = wheel.distance_to(share)
        assert -1e-12 <= x <= wheel.length * (1 + 1e-12)
        assert wheel.share(x) == pytest.approx(share, abs=1e-9)


@given(radii, st.floats(0.02, 0.9), st.floats(0.02, 0.98))
def test_derivatives_by_differences(radius, part, where):
    wheel, small = step(radius, part * radius), 1e-5
    x = where * wheel.length
    before, here, after = (wheel.rise(x + shift) for shift in (-small, 0.0, small))
    assert (after - before) / (2 * small) == pytest.approx(wheel.slope(x), rel=1e-4)
    assert (after - 2 * here + before) / small**2 == pytest.approx(wheel.vertical_acceleration(1.0, x), rel=1e-2)


def test_derivation_is_what_is_evaluated():
    steps = {part.name: part.result for part in wheel_step.derivation()}
    wheel, x, speed = step(0.33, 0.12), np.linspace(0.0, 0.2, 9), 7.0
    names = {str(symbol): symbol for symbol in set().union(*(part.free_symbols for part in steps.values()))}
    d = steps["First contact"].rhs
    given_values = {names["R"]: 0.33, names["h"]: 0.12, names["v"]: speed, names["W"]: 250.0}
    for name, ours in (
        ("Rise", wheel.rise(x)), ("Slope", wheel.slope(x)),
        ("Vertical acceleration", wheel.vertical_acceleration(speed, x)),
    ):  # fmt: skip
        expression = getattr(steps[name], "rhs", steps[name]).subs(names["d"], d).subs(given_values)
        assert sp.lambdify(names["x"], expression)(x) == pytest.approx(ours, rel=1e-12)
    assert float(steps["Push to start"].rhs.subs(given_values)) == pytest.approx(wheel.push(250.0), rel=1e-12)


def test_speed_jumps_at_first_contact_and_acceleration_points_down_after():
    wheel = step(0.36, 0.05)
    assert wheel.slope(-1e-9) == 0.0
    assert wheel.slope(0.0) == wheel.first_slope == pytest.approx(math.sqrt(2 * 0.36 * 0.05 - 0.05**2) / 0.31)
    assert (wheel.vertical_acceleration(10.0, np.linspace(0.0, 0.99 * wheel.length, 50)) < 0.0).all()
    assert wheel.vertical_acceleration(10.0, [-0.1, wheel.length, 1.0]) == pytest.approx([0.0, 0.0, 0.0])


@given(radii, st.floats(0.02, 0.9), st.floats(1e-3, 0.3))
def test_a_larger_wheel_meets_a_step_sooner_and_less_steeply(radius, part, more):
    small, large = step(radius, part * radius), step(radius + more, part * radius)
    assert large.length > small.length
    assert large.first_slope < small.first_slope
    assert large.share(0.02) <= small.share(0.02) + 1e-12


# --- before the valve moves ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("speed", "gone_mm"), [(5.0, 15.0), (10.0, 30.0), (20.0, 60.0)])
def test_distance_gone_in_three_milliseconds(speed, gone_mm):
    # Common practice, no source: the wheel has gone 15, 30, 60 mm before anything moved.
    assert step(0.36, 0.05).before_response(speed, 3e-3).distance * 1e3 == pytest.approx(gone_mm, rel=1e-12)


@pytest.mark.parametrize("vehicle", [TRAIL_BIKE, MOTORCYCLE, CARRIER], ids=lambda vehicle: vehicle.name)
def test_share_climbed_grows_with_speed_and_falls_with_height(vehicle):
    speed = np.array([5.0, 10.0, 20.0])
    shares = np.array([step(vehicle.wheel_radius, h).before_response(speed, 3e-3).share for h in (0.02, 0.05, 0.1)])
    assert (np.diff(shares, axis=1) > 0).all() and (np.diff(shares, axis=0) < 0).all()
    # Independent: the circle's equation solved for the height at x = v t.
    r, h, x = vehicle.wheel_radius, 0.05, 0.03
    roots = np.roots([1.0, 2 * (r - h), (r - h) ** 2 + (math.sqrt(2 * r * h - h * h) - x) ** 2 - r * r])
    assert shares[1, 1] == pytest.approx(roots.max() / h, rel=1e-9)


def test_a_map_of_speed_against_response_time():
    found = step(0.36, 0.05).before_response(np.linspace(0, 20, 4)[:, None], np.linspace(0, 0.1, 5))
    assert found.share.shape == found.rise.shape == found.vertical_speed.shape == found.distance.shape == (4, 5)
    assert found.share[0] == pytest.approx(0.0, abs=1e-12)
    assert found.share[-1, -1] == 1.0


# --- bad input ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: step(0.3, 0.3), "height is 0.3 m; allowed is 0.0001 m to less than the wheel's radius, 0.3 m."),
        (lambda: Climb(0.3, 0.5, 0.1), "less than the wheel's radius + rounding, 0.4 m."),
        (lambda: step(0.3, -0.1), "Climb: height is -0.1 m; allowed is 0.0001 to 2 m."),
        (lambda: step(math.nan, 0.1), "Climb: radius is nan m; allowed is 0.05 to 2 m."),
        (lambda: ramp(0.3, 0.1, 0.0), "ramp: run is 0 m; allowed is 0.0001 to 200 m."),
        (lambda: half_round(0.3, 0.0), "half_round: height is 0 m; allowed is 0.0001 to 2 m."),
        (lambda: step(0.3, 0.1).distance_to(1.2), "share is 1.2; allowed is 0 to 1."),
        (lambda: step(0.3, 0.1).before_response(-1.0, 0.003), "speed is -1.0 m/s; allowed is 0 m/s and more"),
        (lambda: step(0.3, 0.1).before_response(1.0, math.nan), "response_time is nan s; allowed is 0 s and more"),
        (lambda: contact(terrain.flat(1.0), -1.0, 0.5), "radius is -1 m; allowed is 0 to 10 m."),
    ],
)
def test_errors_name_value_unit_and_range(call, told):
    with pytest.raises(ValueError) as raised:
        call()
    assert told in str(raised.value)


@given(radii, st.floats(0.0, 3.0))
def test_every_height_gives_a_climb_or_one_sentence(radius, part):
    assume(part * radius >= 1e-4)
    if part < 1.0:
        assert step(radius, part * radius).length > 0
    else:
        with pytest.raises(ValueError, match="allowed is"):
            step(radius, part * radius)
