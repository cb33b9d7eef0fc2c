"""Ground that is the same on every grid, and the wheel that rolls over it, against closed forms and brute force."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet import FLEET
from helpers.models import ground, terrain, wheel_step
from helpers.models.ground import Ground, HalfRound, Ramp, Step, Washboard, fell_loop, rough_road
from helpers.models.terrain_file import read_terrain

SAMPLE = Path(__file__).parents[2] / "workbooks" / "data" / "quarry-track.csv"
LOOP = fell_loop()
RADII = sorted({vehicle.wheel_radius for vehicle in FLEET.values()})


def bends(path):
    """Change of slope at each inner point of a path."""
    return np.diff(np.diff(path.height) / np.diff(path.distance))


def first_kink(path, least=0.02):
    """Distance at which a path first turns upwards at once."""
    return path.distance[1 + int(np.argmax(bends(path) > least))]


# --- the same ground on every grid ------------------------------------------------------------------------------------


@pytest.mark.parametrize("section", ["climb", "traverse", "descent"])
def test_a_finer_grid_only_adds_points(section):
    coarse, fine = (fell_loop(8, spacing).section(section).profile for spacing in (0.02, 0.002))
    places = np.random.default_rng(1).uniform(0.0, coarse.length, 5000)
    assert np.array_equal(coarse.at(np.sort(places)), fine.at(np.sort(places)))


@pytest.mark.parametrize("seed", [8, 1])
def test_the_loop_is_that_of_the_coarse_grid(seed):
    """Same phases, roots and steps as `terrain.fell_loop`, but for its 20 mm: corners of roots, places of steps."""
    for section, old in zip(fell_loop(seed).sections, terrain.fell_loop(seed).sections, strict=True):
        apart = np.abs(section.profile.sampled().height - old.profile.height)
        assert np.quantile(apart, 0.95) < 1.5e-6  # the old heights are rounded to a micrometre
        assert (section.name, section.gradient, section.pedalling) == (old.name, old.gradient, old.pedalling)
        assert section.profile.at([0.0, section.profile.length]) == pytest.approx([0.0, 0.0], abs=1e-8)


def test_elevation_of_the_loop():
    whole = LOOP.elevation()
    assert whole.length == pytest.approx(560.0)
    assert whole.at(120.0) == pytest.approx(12.0, abs=1e-6)


def test_random_road_is_the_sum_of_harmonics():
    # The same seed through `iso_8608`, whose points are exact. A cubic through points g apart errs half way between
    # two by 3/128 (2 pi n g)^4 of a wave of n cycles a metre; phases are random, so the squares add.
    length, top = 100.0, 2.83
    road, old = rough_road("E", length, seed=4), terrain.iso_8608("E", length, seed=4)
    n = np.arange(2, int(length * top) + 1) / length
    wave = np.sqrt(2 * 4096e-6 * (n / 0.1) ** -2 / length)
    apart = 3 / 128 * (2 * np.pi * n / (32 * top)) ** 4 * wave
    assert np.abs(road.at(old.distance) - old.height).max() < 5 * math.sqrt(np.sum(apart**2) / 2) + 5e-9


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("letter", ["A", "D"])
def test_realised_spectrum_by_octaves(seed, letter):
    # ISO 8608, waviness 2, Gd(n0) of class A 16e-6 and D 1024e-6 m3 (as reprinted). Bound: four standard deviations of
    # a Welch estimate (Welch 1967), as in test_terrain.
    length, segment = 2000.0, 100.0
    found = terrain.spectrum(rough_road(letter, length, seed=seed).sampled(0.05), segment)
    target = {"A": 16e-6, "D": 1024e-6}[letter] * (np.maximum(found.frequency, 1e-9) / 0.1) ** -2
    segments = 2 * length / segment - 1
    for low in (0.1, 0.2, 0.4, 0.8, 1.4):
        octave = (found.frequency >= low) & (found.frequency < min(2 * low, 2.7))
        ratio = np.mean(found.density[octave] / target[octave])
        assert abs(ratio - 1) < 4 * math.sqrt(1.056 / segments * 1.94 / octave.sum())


def test_nothing_above_the_band():
    found = terrain.spectrum(rough_road("E", 500.0, seed=1).sampled(0.01), 100.0)
    assert found.density[found.frequency > 3.0].max() < 1e-8 * found.density.max()


def test_shapes_have_the_sizes_asked_for():
    flat = Ground(10.0)
    assert flat.plus(Step(0.1, 4.0)).at([3.999999, 4.0, 9.0]) == pytest.approx([0.0, 0.1, 0.1])
    assert flat.plus(Step(-0.1, 4.0)).at([3.0, 4.0, 4.000001]) == pytest.approx([0.0, 0.0, -0.1])
    assert flat.plus(Ramp(0.4, 1.0, 2.0)).at([0.5, 2.0, 2.01, 9.0]) == pytest.approx([0.0, 0.2, 0.202, 0.4])
    root = flat.plus(HalfRound(0.04, 5.0, 0.08))
    assert root.at([4.95, 5.0, 5.03, 5.041]) == pytest.approx([0.0, 0.04, math.sqrt(0.04**2 - 0.03**2), 0.0], abs=1e-8)
    waves = flat.plus(Washboard(0.03, 0.8, 10, 1.0)).sampled(0.01)
    assert np.ptp(waves.height) == pytest.approx(0.03)
    assert not waves.height[(waves.distance < 1.0) | (waves.distance > 9.0)].any()
    level = flat.plus(Step(0.1, 4.0), Ramp(0.2, 0.0, 10.0)).level()
    assert level.at([0.0, 10.0]) == pytest.approx([0.0, 0.0], abs=1e-8)


# --- first contact: 0.05 ms are 140 um at 2.8 m/s, below every pace of the course -------------------------------------


@pytest.mark.parametrize("radius", RADII)
@pytest.mark.parametrize("height", [0.02, 0.05, 0.12])
@pytest.mark.parametrize("place", [1.5, 1.50037])
def test_contact_with_a_step(radius, height, place):
    wheel = wheel_step.step(radius, height)
    path = Ground(3.0, (Step(height, place),)).under_wheel(radius)
    assert first_kink(path) == pytest.approx(place - wheel.length, abs=1e-6)
    at = np.linspace(0.0, 3.0, 6_011)
    # The chord of a circle between points 1 mm apart, steepest where the wheel first touches.
    sag = ground.FINE**2 / 8 * (1 + wheel.first_slope**2) ** 1.5 / radius + ground.FINE**2 / 4
    assert path.at(at) == pytest.approx(wheel.rise(at - (place - wheel.length)), abs=sag)


@pytest.mark.parametrize("radius", RADII)
@pytest.mark.parametrize(("height", "width"), [(0.03, 0.06), (0.04, 0.12), (0.09, 0.72)])
def test_contact_with_a_half_round(radius, height, width):
    wheel = wheel_step.half_round(radius, height, width)
    path = Ground(3.0, (HalfRound(height, 1.5, width),)).under_wheel(radius)
    assert first_kink(path) == pytest.approx(1.5 - wheel.length, abs=5e-6)
    before = np.linspace(0.0, 1.5, 4_011)
    rise = wheel.rise(before - (1.5 - wheel.length))
    assert path.at(before) == pytest.approx(rise, abs=1.5e-6)
    assert path.at(3.0 - before) == pytest.approx(rise, abs=1.5e-6)  # the way down mirrors the way up


@pytest.mark.parametrize("radius", RADII)
@pytest.mark.parametrize("slope", [-0.3, 0.1, 0.25])
@pytest.mark.parametrize("height", [0.03, 0.1])
def test_contact_with_a_step_on_a_slope(radius, slope, height):
    """Turned by the slope's angle a it is a step of h cos a on the level; the edge stays where it is (derived)."""
    place, a = 2.0, math.atan(slope)
    along = place * math.cos(a) + (slope * place + height) * math.sin(a)  # of the edge, in the slope's direction
    touches = along - wheel_step.step(radius, height * math.cos(a)).length
    expected = touches * math.cos(a) - radius * math.sin(a)
    path = Ground(4.0, (Ramp(4.0 * slope, 0.0, 4.0), Step(height, place))).under_wheel(radius)
    away = np.abs(path.distance[1:-1] - expected) < 0.3  # the ends of the ground are corners too
    assert path.distance[1:-1][away][np.argmax(bends(path)[away])] == pytest.approx(expected, abs=5e-6)
    edge = np.array([expected]), np.array([slope * expected + radius * (math.hypot(1.0, slope) - 1.0)])
    assert path.at(edge[0]) == pytest.approx(edge[1], abs=1e-6)


def test_a_drop_is_left_at_its_edge_and_landed_on_the_far_side():
    radius, height = 0.36, 0.1
    path = Ground(4.0, (Step(-height, 2.0),)).under_wheel(radius)
    reach = math.sqrt(2 * radius * height - height**2)
    kink = path.distance[1 + int(np.argmax(bends(path)))]
    assert kink == pytest.approx(2.0 + reach, abs=1e-6)
    assert path.at([2.0, 2.0 + reach, 4.0]) == pytest.approx([0.0, -height, -height], abs=1e-8)


# --- the path elsewhere -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["climb", "traverse", "descent"])
@pytest.mark.parametrize("radius", RADII)
def test_path_against_brute_force(name, radius):
    """The lowest place of a disc that nowhere lies below the ground, tried at edges and at points 50 um apart."""
    profile = LOOP.section(name).profile
    edges = np.array([edge for shape in profile.shapes for edge in shape.edges])
    path = profile.under_wheel(radius)
    for at in np.linspace(1.0, profile.length - 1.0, 40):
        place = path.distance[np.searchsorted(path.distance, at)]
        aside = np.linspace(-radius, radius, 2 * round(radius / 5e-5) + 1)
        under = edges[np.abs(edges - place) < radius]
        aside = np.sort(np.concatenate([aside, under - place]))
        lowest = (profile.at(place + aside) + np.sqrt(np.maximum(radius**2 - aside**2, 0.0))).max() - radius
        assert path.at(place) == pytest.approx(lowest, abs=3e-7)


@pytest.mark.parametrize("name", ["climb", "descent"])
def test_halving_the_grid_moves_the_path_by_micrometres(name):
    whole, half = (fell_loop(8, ground.FINE / parts).section(name).profile.under_wheel(0.36) for parts in (1, 2))
    at = np.union1d(whole.distance, half.distance)
    apart = np.abs(whole.at(at) - half.at(at))
    assert apart.max() < 2e-6
    assert np.sqrt(np.mean(apart**2)) < 2e-7


shapes = st.lists(
    st.one_of(
        st.builds(Step, st.floats(-0.3, 0.3).filter(bool), st.floats(0.5, 3.5)),
        st.builds(HalfRound, st.floats(0.01, 0.1), st.floats(0.5, 3.5), st.floats(0.2, 0.6)),
        st.builds(Ramp, st.floats(-0.5, 0.5), st.floats(0.5, 3.0), st.floats(0.01, 1.0)),
        st.builds(Washboard, st.floats(0.01, 0.2), st.floats(0.2, 1.0), st.integers(1, 3), st.floats(0.0, 3.0)),
    ),
    max_size=5,
)


@given(shapes, st.floats(0.05, 0.5), st.floats(0.01, 0.5))
@settings(deadline=None, max_examples=60)
def test_path_lies_above_the_ground_and_higher_for_a_larger_wheel(laid, radius, more):
    field = Ground(4.0, tuple(laid), 0.002)
    small, large = field.under_wheel(radius), field.under_wheel(radius + more)
    assert (np.diff(small.distance) > 0.0).all()
    assert small.distance[[0, -1]] == pytest.approx([0.0, 4.0])
    # Beside an edge the point that touches may lie half an interval away.
    assert (small.height >= field.at(small.distance) - 0.002**2 / (8 * radius) - 1e-8).all()
    # Straight lines lie above the smaller wheel's path where it curves upwards between its points.
    assert (large.height >= small.at(large.distance) - 2e-5).all()


def test_a_wall_as_high_as_the_axle_is_gone_straight_up():
    path = Ground(4.0, (Step(0.5, 2.0),)).under_wheel(0.3)
    assert path.at([1.6999, 1.7, 3.0]) == pytest.approx([0.0, 0.2, 0.5], abs=1e-5)
    fall = Ground(4.0, (Step(-0.5, 2.0),)).under_wheel(0.3)
    assert fall.at([2.2999, 2.3001]) == pytest.approx([-0.3, -0.5], abs=1e-2)


def test_level_ground_is_a_path_of_two_points():
    path = Ground(50.0).under_wheel(0.36)
    assert path.distance == pytest.approx([0.0, 50.0])
    assert not path.height.any()


# --- one's own ground, from a file ------------------------------------------------------------------------------------


def test_a_file_rolls_as_its_profile_does():
    measured = read_terrain(SAMPLE, spacing=0.001).profile
    coarse = read_terrain(SAMPLE).profile
    path = Ground.of(measured).under_wheel(0.36)
    assert path.length == pytest.approx(measured.length)
    at = np.arange(1000, 119_000, 997) * 0.001
    assert path.at(at) == pytest.approx(measured.under_wheel(0.36).at(at), abs=2e-6)
    # Rows 10 cm apart with straight lines between: the coarse grid rounds its corners by some tenths of a millimetre.
    assert path.at(at) == pytest.approx(coarse.under_wheel(0.36).at(at), abs=2e-3)


def test_long_ground_keeps_its_memory():
    long = terrain.Profile.of(np.zeros(20_001), 1.0)
    assert Ground.of(long).spacing == pytest.approx(0.02)
    assert Ground.of(long, 0.05).spacing == 0.05


# --- bad input --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: Ground(-1.0), "length is -1 m; allowed is 0.004 to 100000 m."),
        (lambda: replace(Ground(10.0), spacing=0.0), "spacing is 0 m; allowed is 0.0001 to 0.1 m."),
        (lambda: Ground(10.0).under_wheel(0.0), "radius is 0 m; allowed is 0.01 to 10 m."),
        (lambda: rough_road("K", 10.0, seed=1), "road class is 'K'; allowed are the letters A to H"),
        (lambda: rough_road("A", 10.0, seed=1, band=(0.1, 50.0)), "band is 50 cycle/m; allowed is 0 to 25 cycle/m."),
    ],
)
def test_errors_name_what_is_wrong(call, told):
    with pytest.raises(ValueError) as error:
        call()
    assert told in str(error.value)
