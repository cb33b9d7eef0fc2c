"""The look of the figures, held to published measures; the still; the sketches' primitives."""

import base64
import itertools

import matplotlib
import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from helpers.teaching import plots


def linear(colour):
    """sRGB to linear light, IEC 61966-2-1 as reprinted in WCAG 2.2 (relative luminance)."""
    value = np.array(to_rgb(colour))
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


@pytest.mark.parametrize("colour", [*plots.PALETTE.values(), plots.INK, plots.FAINT])
def test_text_in_each_colour_is_readable_on_white(colour):
    # WCAG 2.2, success criterion 1.4.3: contrast (L1 + 0.05) / (L2 + 0.05) of at least 4.5 for text.
    luminance = linear(colour) @ [0.2126, 0.7152, 0.0722]
    assert 1.05 / (luminance + 0.05) >= 4.5


# Machado, Oliveira and Fernandes 2009, severity 1.0, for linear light (from memory).
VISION = {
    "full": np.eye(3),
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.01182, 0.04294, 0.968881]],
    "tritanopia": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.3039]],
}


def lab(light):
    """CIE 1976 L*a*b* of linear sRGB light, D65 white."""
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    ratio = to_xyz @ np.clip(light, 0, 1) / (to_xyz @ np.ones(3))
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("vision", VISION)
def test_families_stay_apart_for_colour_blind_readers(vision):
    # CIE 1976 colour difference; 2.3 is a just noticeable one (Mahy et al. 1994). Four times that is asked.
    seen = {family: lab(np.array(VISION[vision]) @ linear(colour)) for family, colour in plots.PALETTE.items()}
    apart = {pair: np.linalg.norm(seen[pair[0]] - seen[pair[1]]) for pair in itertools.combinations(seen, 2)}
    assert min(apart.values()) > 4 * 2.3, apart


def test_families_differ_in_dash_and_marker_too():
    assert len({str(look.dash) for look in plots.STYLES.values()}) == len(plots.STYLES) == 4
    assert len({look.marker for look in plots.STYLES.values()}) == 4


def test_nothing_global_changes():
    before = dict(matplotlib.rcParams)
    _, ax = plots.new_figure()
    assert dict(matplotlib.rcParams) == before
    assert not ax.spines["top"].get_visible()


def test_label_stands_on_its_curve_and_moves_with_it():
    _, ax = plots.new_figure()
    line = ax.plot([0, 1, 2], [0, 10, np.nan])[0]
    label = plots.label_line(ax, line, "wheel", x=0.5)
    assert label.xy == (0.5, 5) and label.get_color() == line.get_color()
    line.set_data([2, 1, 0], [4, 2, 0])  # falling x too
    plots.place_label(label, line, x=1.5)
    assert label.xy == (1.5, 3)
    plots.place_label(label, line)
    assert label.xy == (2, 4)


def test_still_carries_its_text_alternative_and_stays_small():
    figure, ax = plots.new_figure()
    ax.plot(np.sin(np.arange(2000) / 30))
    still = plots.still(figure, 'Travel stays below 5 mm & "calm".', "Caption")
    bundle, metadata = still._repr_mimebundle_()
    assert base64.b64decode(bundle["image/png"]) == still.png and metadata == {"image/png": {"alt": still.alt}}
    assert bundle["text/html"].startswith('<figure><img alt="Travel stays below 5 mm &amp; &quot;calm&quot;."')
    assert bundle["text/plain"] == 'Travel stays below 5 mm & "calm".\nCaption'
    assert len(still.png) < 80_000
    assert plots.still(Figure(), "An empty figure.").alt == "An empty figure."  # made without new_figure
    with pytest.raises(ValueError, match="text alternative"):
        plots.still(figure, " ")


@pytest.mark.parametrize("points", [plots.spring_points, plots.dashpot_points])
def test_springs_and_dashpots_reach_from_end_to_end(points):
    xs, ys = points(2.0, 1.0, 3.0, width=0.4)
    assert (xs[0], ys[0], xs[-1], ys[-1]) == (2, 1, 2, 3)
    assert np.nanmin(ys) == 1 and np.nanmax(ys) == 3
    assert np.nanmax(np.abs(xs - 2)) == pytest.approx(0.2)


def test_sketch_of_a_quarter_car_draws():
    figure, ax = plots.new_figure((4, 4))
    plots.sketch_axes(ax, 4, 4)
    plots.ground(ax, 0.5, 3.5, 0.4)
    plots.spring(ax, 1.5, 0.4, 1.5)
    plots.mass(ax, 2, 1.5, 2, 0.4, "$m_u$")
    plots.dashpot(ax, 2.5, 1.9, 3)
    plots.arrow(ax, (3.4, 2), (3.4, 2.8), "$z_u$")
    assert plots.still(figure, "A mass on a spring.").png.startswith(b"\x89PNG")
