"""Ground: ISO 8608 figures, realised spectra, the rolling wheel in closed form, the Fell loop."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage
from scipy import signal as scipy_signal

from families import plain
from fleet import TRAIL_BIKE
from helpers.models import terrain
from helpers.models.terrain import Profile, fell_loop, iso_8608, spectrum, white_velocity_intensity
from helpers.simulation.metrics import metrics
from helpers.simulation.runs import ride

# ISO 8608 (as reprinted): geometric means and upper limits of Gd(n0) in 1e-6 m3, n0 = 0.1 cycle/m, waviness 2.
MEANS = {"A": 16, "B": 64, "C": 256, "D": 1024, "E": 4096, "F": 16384, "G": 65536, "H": 262144}
UPPER = {"A": 32, "B": 128, "C": 512, "D": 2048, "E": 8192, "F": 32768}


@pytest.mark.parametrize(("letter", "mean"), MEANS.items())
def test_class_means(letter, mean):
    assert terrain.roughness(letter) == mean * 1e-6


@pytest.mark.parametrize(("letter", "upper"), UPPER.items())
def test_class_limits(letter, upper):
    low, high = terrain.limits(letter)
    assert high == upper * 1e-6
    assert terrain.limits(chr(ord(letter) + 1))[0] == high
    assert letter == "A" or low == high / 4


def test_open_ends_of_the_classes():
    assert terrain.limits("A")[0] == 0.0
    assert terrain.limits("H")[1] == math.inf


@pytest.mark.parametrize(("letter", "per_rad"), [("A", 1e-6), ("B", 4e-6), ("C", 16e-6), ("D", 64e-6)])
def test_same_road_per_rad_per_metre(letter, per_rad):
    # ISO 8608 in angular terms, Gd(1 rad/m) (from memory): Gd(Omega) dOmega = Gd(n) dn with Omega = 2 pi n.
    n = 1 / (2 * np.pi)
    density = terrain.roughness(letter) * (n / terrain.REFERENCE_FREQUENCY) ** -2
    assert density / (2 * np.pi) == pytest.approx(per_rad, rel=0.006)
    # The trap: that figure, taken for Gd(n0), is a road sixteen times too smooth.
    assert terrain.roughness(letter) / per_rad == pytest.approx(16.0)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("letter", ["A", "D"])
def test_realised_spectrum_by_octaves(seed, letter):
    # Bound: four standard deviations of a Welch estimate of Gaussian noise (Welch 1967; Hann windows half overlapped:
    # variance 1.056/K of a line over K segments, 1.94/M of the mean of M neighbouring lines over one line's).
    length, segment = 2000.0, 100.0
    road = iso_8608(letter, length, 0.05, seed=seed)
    found = spectrum(road, segment)
    target = MEANS[letter] * 1e-6 * (np.maximum(found.frequency, 1e-9) / 0.1) ** -2
    segments = 2 * length / segment - 1
    for low in (0.1, 0.2, 0.4, 0.8, 1.4):
        octave = (found.frequency >= low) & (found.frequency < min(2 * low, 2.7))
        ratio = np.mean(found.density[octave] / target[octave])
        assert abs(ratio - 1) < 4 * math.sqrt(1.056 / segments * 1.94 / octave.sum())


def test_spectrum_agrees_with_scipy():
    road = iso_8608("C", 400.0, 0.05, seed=3)
    frequency, density = scipy_signal.welch(
        road.height, 1 / 0.05, window="hann", nperseg=1000, noverlap=500, detrend="constant"
    )
    found = spectrum(road, 50.0)
    assert found.frequency == pytest.approx(frequency)
    assert found.density == pytest.approx(density, rel=1e-9, abs=1e-20)


@given(st.integers(0, 2**31), st.sampled_from("ABCDEFGH"))
@settings(max_examples=25, deadline=None)
def test_mean_square_is_the_area_under_the_spectrum(seed, letter):
    # Lines half an interval inside the band: the sum is the midpoint rule for the integral of Gd(n0) n0^2/n^2.
    length, low, high = 500.0, 0.051, 2.499
    road = iso_8608(letter, length, 0.05, seed=seed, band=(low, high))
    area = terrain.roughness(letter) * 0.01 * (1 / low - 1 / high)
    assert np.mean(road.height[:-1]) == pytest.approx(0.0, abs=1e-12)
    assert np.mean(road.height[:-1] ** 2) == pytest.approx(area, rel=2e-3)
    assert road.height[0] == road.height[-1]


def test_nothing_outside_the_band():
    road = iso_8608("E", 200.0, 0.05, seed=1, band=(0.1, 1.0))
    lines = np.abs(np.fft.rfft(road.height[:-1]))
    frequency = np.fft.rfftfreq(4000, 0.05)
    assert lines[(frequency < 0.1) | (frequency > 1.0)].max() < 1e-9 * lines.max()


def test_white_velocity_intensity_by_the_structure_function():
    # A white velocity makes the height a random walk, so E[(z(x + d) - z(x))^2] = W d/v whatever v (derived).
    road = iso_8608("B", 20_000.0, 0.02, seed=5, band=(1e-4, 25.0))
    speed, apart = 12.0, 50  # 50 points are 1 m
    rise = road.height[apart:] - road.height[:-apart]
    assert np.mean(rise**2) == pytest.approx(white_velocity_intensity(64e-6, speed) * 1.0 / speed, rel=0.02)


def test_white_velocity_intensity_in_figures():
    assert white_velocity_intensity(256e-6, 10.0) == pytest.approx(2 * math.pi**2 * 0.01 * 256e-6 * 10.0, rel=1e-12)
    assert white_velocity_intensity(256e-6, 10.0) == pytest.approx(5.053e-4, rel=1e-3)


def test_roads_are_repeatable_and_differ_by_seed():
    one, same, other = (iso_8608("D", 50.0, seed=seed).height for seed in (4, 4, 5))
    assert np.array_equal(one, same)
    assert not np.allclose(one, other)


# --- profiles ----------------------------------------------------------------------------------------------------


def test_height_between_points_and_beyond_the_ends():
    slope = terrain.ramp(0.4, 1.0, 3.0, 5.0)
    assert slope.at([-1.0, 0.5, 2.0, 2.01, 4.0, 9.0]) == pytest.approx([0, 0, 0.2, 0.202, 0.4, 0.4])


def test_joined_carries_on_in_distance_and_height():
    whole = terrain.step(0.1, 1.0, 2.0).joined(terrain.ramp(0.3, 0.0, 1.0, 1.0)).joined(terrain.flat(1.0))
    assert whole.length == pytest.approx(4.0)
    assert whole.at([0.5, 1.5, 2.5, 3.5]) == pytest.approx([0.0, 0.1, 0.25, 0.4])
    assert len(whole.height) == 201


def test_plus_lays_a_shape_on_the_ground():
    ground = terrain.ramp(1.0, 0.0, 10.0, 10.0).plus(terrain.step(0.1, 0.5, 1.0), at=4.0)
    assert ground.at([4.0, 5.0]) == pytest.approx([0.4, 0.6])
    assert ground.level().at([0.0, 10.0]) == pytest.approx([0.0, 0.0])


def test_shapes_have_the_sizes_asked_for():
    waves = terrain.washboard(0.03, 0.8, 8.0, 0.01)
    assert np.ptp(waves.height) == pytest.approx(0.03)
    assert np.mean(waves.height) == pytest.approx(0.0, abs=1e-9)
    assert np.sum(np.diff(np.sign(waves.height[1:-1])) > 0) == pytest.approx(10, abs=1)
    rock = terrain.half_round(0.06, 1.0, 2.0, 0.01, width=0.3)
    assert rock.height.max() == pytest.approx(0.06)
    assert rock.distance[rock.height > 1e-9] == pytest.approx(np.arange(0.86, 1.141, 0.01))
    root = terrain.half_round(0.04, 1.0, 2.0, 0.01)
    assert root.at(1.0 + 0.03) == pytest.approx(math.sqrt(0.04**2 - 0.03**2))


# --- the rolling wheel -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("height", [0.05, 0.08, 0.12])
@pytest.mark.parametrize("radius", [0.29, 0.36])
def test_wheel_climbs_a_step_in_closed_form(height, radius):
    # The axle starts to rise sqrt(2 r h - h^2) before the step and turns about its edge (derived).
    spacing, at = 0.001, 1.0
    axle = terrain.step(height, at, 2.0, spacing).under_wheel(radius)
    before = at - axle.distance
    reach = math.sqrt(2 * radius * height - height**2)
    turning = (before >= 0) & (before <= reach)
    assert axle.height[turning] == pytest.approx(height - radius + np.sqrt(radius**2 - before[turning] ** 2), abs=1e-12)
    assert axle.height[before > reach + 1e-9] == pytest.approx(0.0, abs=1e-12)
    assert axle.height[before <= 0] == pytest.approx(height)


def test_wheel_rolls_over_a_half_round_in_closed_form():
    # Two circles in contact: the axle is r + a from the centre of the half-round of radius a (derived).
    spacing, a, radius = 0.001, 0.05, 0.33
    axle = terrain.half_round(a, 1.0, 2.0, spacing).under_wheel(radius)
    path = np.sqrt(np.maximum((radius + a) ** 2 - (axle.distance - 1.0) ** 2, 0.0)) - radius
    # Between points the rim may sink by spacing^2/8 (1/r + 1/a); where the half-round meets the ground it is steep.
    top = np.abs(axle.distance - 1.0) < 0.15
    assert axle.height[top] == pytest.approx(path[top], abs=spacing**2 / 8 * (1 / radius + 1 / a) * 2)
    assert axle.height == pytest.approx(np.maximum(path, 0.0), abs=1e-4)


def test_wheel_envelope_agrees_with_scipys_grey_dilation():
    road, radius = iso_8608("F", 40.0, seed=2), 0.36
    across = road.spacing * np.arange(-18, 19)
    disc = np.sqrt(radius**2 - across.clip(-radius, radius) ** 2) - radius
    expected = ndimage.grey_dilation(road.height, structure=disc, size=37, mode="nearest")
    assert road.under_wheel(radius).height == pytest.approx(expected, abs=1e-12)


roads = st.lists(st.floats(-0.3, 0.3), min_size=2, max_size=80).map(Profile.of)


@given(roads, st.floats(0.0, 0.5), st.floats(0.0, 0.5))
@settings(deadline=None)
def test_axle_path_lies_above_the_ground_and_higher_for_a_larger_wheel(road, radius, more):
    small, large = road.under_wheel(radius), road.under_wheel(radius + more)
    assert (small.height >= road.height).all()
    assert (large.height >= small.height - 1e-12).all()
    assert small.height.max() == road.height.max()


def test_a_point_wheel_follows_the_ground():
    road = iso_8608("E", 20.0, seed=1)
    assert np.array_equal(road.under_wheel(0.0).height, road.height)


# --- bad input ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: terrain.roughness("K"), "road class is 'K'; allowed are the letters A to H"),
        (lambda: terrain.roughness(-1.0), "Gd(n0) is -1 m3; allowed is 0 to 1 m3."),
        (lambda: iso_8608("A", -5.0, seed=1), "length is -5 m; allowed is 0.08 to 1e+06 m."),
        (lambda: terrain.flat(1.0).under_wheel(-0.3), "radius is -0.3 m; allowed is 0 to 10 m."),
        (lambda: Profile([0.0, 0.1, 0.3], [0, 0, 0]), "intervals of distance run from 0.1 to 0.2 m;"),
        (lambda: Profile([0.0, 0.1], [0, math.nan]), "not a finite number of metres"),
        (lambda: Profile([0.0, 0.1], [0, 0, 0]), "distance has shape (2,) and height (3,)"),
        (lambda: terrain.flat(1.0).joined(terrain.flat(1.0, 0.1)), "a spacing of 0.1 m cannot be joined"),
        (lambda: fell_loop().section("bog"), "section is 'bog'; there are climb, traverse, descent."),
    ],
)
def test_errors_name_what_is_wrong(call, told):
    with pytest.raises(ValueError) as error:
        call()
    assert told in str(error.value)


# --- the Fell loop -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", [8, 1, 2])
def test_fell_loop_sections(seed):
    loop = fell_loop(seed)
    assert [section.name for section in loop.sections] == ["climb", "traverse", "descent"]
    assert [section.pedalling for section in loop.sections] == [True, True, False]
    for section in loop.sections:
        profile = section.profile
        assert profile.spacing == pytest.approx(0.02)
        assert profile.height[[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-12)
        assert 20 <= profile.length / TRAIL_BIKE.speed(section.name) <= 41
    climb, traverse, descent = (section.profile.height.std() for section in loop.sections)
    assert climb < traverse < descent
    assert loop.section("climb").gradient > 0 > loop.section("descent").gradient


def test_fell_loop_is_repeatable_and_its_elevation_carries_the_gradients():
    assert np.array_equal(fell_loop().section("descent").profile.height, fell_loop().section("descent").profile.height)
    loop = fell_loop()
    whole = loop.elevation()
    assert whole.length == pytest.approx(sum(section.profile.length for section in loop.sections))
    assert whole.at(120.0) == pytest.approx(12.0, abs=1e-6)
    assert whole.height[-1] == pytest.approx(0.0, abs=1e-9)  # a loop comes back to where it began


@pytest.mark.parametrize("height", [0.05, 0.08, 0.12])
def test_descent_has_steps_of_the_sizes_named(height):
    jumps = np.abs(np.diff(fell_loop().section("descent").profile.height))
    # The random ground and the levelling move a jump between neighbours by a few millimetres.
    assert (np.abs(jumps - height) < 0.012).any()


@pytest.mark.parametrize("seed", [8, 1, 2])
def test_fell_loop_is_sized_to_the_trail_bike(seed):
    loop = fell_loop(seed)
    bike = plain(TRAIL_BIKE).vehicle
    climb, traverse, descent = (metrics(ride(bike, s.profile, bike.speed(s.name))) for s in loop.sections)
    whole = TRAIL_BIKE.bump_travel + TRAIL_BIKE.rebound_travel
    assert 0.7 <= (descent.compression + descent.extension) / whole <= 1.1
    assert 0.02 <= descent.airborne <= 0.10
    assert max(climb.airborne, traverse.airborne) < descent.airborne
    assert climb.bottomings == traverse.bottomings == 0
