"""Orifices, tubes and clearances against the `fluids` library, IEC 60534 and published laws of flow."""

import math

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.models import orifice
from helpers.models.oil import Liquid
from helpers.models.orifice import BAR, SHARP_EDGED, Opening, area_of_kv, hole, kv, slit

WATER = Liquid(1000.0, 1e-3)
OIL = Liquid(850.0, 12e-3)
THIN = Liquid(1000.0, 1e-5)  # so thin that every flow here is turbulent
SYRUP = Liquid(1000.0, 100.0)  # so thick that every flow here creeps


def test_sharp_edged_coefficient():
    # Kirchhoff's jet from a slit, pi/(pi + 2); Encyclopaedia Britannica, 11th edition, Hydraulics: 0.97 x 0.64 = 0.62.
    assert pytest.approx(0.611, abs=5e-4) == SHARP_EDGED
    assert pytest.approx(0.97 * 0.64, rel=0.02) == SHARP_EDGED
    assert hole(2e-3).discharge_coefficient(10 * BAR, THIN) == pytest.approx(SHARP_EDGED, rel=1e-3)


@given(st.floats(0.5e-3, 5e-3), st.floats(1e5, 2e7))
def test_turbulent_flow_against_fluids(diameter, drop):
    # fluids (MIT), orifice in a pipe wide enough that the velocity of approach does not count.
    mass_flow = fluids.flow_meter.flow_meter_discharge(
        D=1.0, Do=diameter, P1=drop + 1e5, P2=1e5, rho=THIN.density, C=SHARP_EDGED, expansibility=1.0
    )
    assert hole(diameter).flow(drop, THIN) == pytest.approx(mass_flow / THIN.density, rel=3e-3)


def lichtarowicz(reynolds, ratio):
    """Discharge coefficient of a short tube by Lichtarowicz, Duggins and Markland (1965), with the Reynolds number of
    the velocity without loss; from memory."""
    dip = 0.005 * ratio / (1.0 + 7.5 * math.log10(0.00015 * reynolds) ** 2)
    return 1.0 / (1.0 / (0.827 - 0.0085 * ratio) + 20.0 / reynolds * (1.0 + 2.25 * ratio) - dip)


@pytest.mark.parametrize("ratio", [2.0, 4.0, 10.0])
@pytest.mark.parametrize("reynolds, within", [(300.0, 0.05), (1000.0, 0.05), (1e4, 0.021), (2e4, 0.012)])
def test_short_tube_against_measurements(ratio, reynolds, within):
    # The correlation sums up the measurements of several authors, which scatter by some per cent.
    tube = hole(1e-3, ratio * 1e-3)
    drop = 0.5 * WATER.density * (reynolds * WATER.viscosity / (WATER.density * 1e-3)) ** 2
    assert tube.discharge_coefficient(drop, WATER) == pytest.approx(lichtarowicz(reynolds, ratio), rel=within)


def test_short_tube_passes_a_third_more_than_a_sharp_edge():
    # Common figures of textbooks: sharp orifice 0.62, short tube 0.80 to 0.82.
    assert orifice.turbulent_coefficient([0.0, 2.5]) == pytest.approx([0.62, 0.81], rel=0.02)


def test_creeping_flow_through_a_thin_wall():
    # Sampson (1891): Q = d^3 dp / (24 mu) for a hole. Merritt, Hydraulic Control Systems, after Wuest (from memory):
    # Cd = 0.157 sqrt(Re) for a slit, Re with the hydraulic diameter.
    assert hole(1e-3).flow(BAR, SYRUP) == pytest.approx(1e-9 * BAR / (24.0 * SYRUP.viscosity), rel=1e-4)
    thin = slit(10e-3, 0.2e-3)
    reynolds = thin.reynolds_number(thin.flow(BAR, SYRUP), SYRUP)
    assert thin.discharge_coefficient(BAR, SYRUP) / math.sqrt(reynolds) == pytest.approx(0.157, abs=5e-4)


def test_wall_friction_against_fluids():
    # Hagen and Poiseuille by fluids: what another 100 mm of bore take.
    flow, d = 1e-6, 2e-3
    more = fluids.friction.one_phase_dP(m=flow * OIL.density, rho=OIL.density, mu=OIL.viscosity, D=d, L=0.1)
    longer, long = (hole(d, length).pressure_drop(flow, OIL) for length in (0.2, 0.1))
    assert longer - long == pytest.approx(more, rel=1e-9)


def test_wall_friction_of_a_slit():
    # Flow between plates, w h^3 dp / (12 mu L).
    long = slit(20e-3, 0.1e-3, 0.2)
    assert long.flow(BAR, SYRUP) == pytest.approx(20e-3 * 1e-12 * BAR / (12.0 * SYRUP.viscosity * 0.2), rel=2e-3)


@given(st.floats(1.0, 1e8), st.floats(1e-4, 1e-2), st.floats(0.0, 10.0), st.floats(1e-4, 1.0))
def test_pressure_and_flow_are_inverse(drop, diameter, ratio, viscosity):
    liquid = Liquid(850.0, viscosity)
    tube = hole(diameter, ratio * diameter, count=3)
    assert tube.pressure_drop(tube.flow(drop, liquid), liquid) == pytest.approx(drop, rel=1e-9)
    assert tube.flow(-drop, liquid) == -tube.flow(drop, liquid)


@given(st.floats(1e3, 1e7))
def test_coefficient_by_reynolds_number(drop):
    # 1/Cd^2 = 1/C^2 + k/Re, the module's own statement, from the public functions.
    tube = hole(1e-3, 3e-3)
    reynolds = tube.reynolds_number(tube.flow(drop, OIL), OIL)
    k = 12.0 * math.pi + 64.0 * 3.0
    inverse = 1.0 / orifice.turbulent_coefficient(3.0) ** 2 + k / reynolds
    assert tube.discharge_coefficient(drop, OIL) == pytest.approx(inverse**-0.5, rel=1e-9)


def test_cold_thickens_clearances_more_than_sharp_edges():
    # Common practice, no source: metering edges are made sharp so that the damper changes little with temperature.
    cold, warm = Liquid(880.0, 0.27), Liquid(830.0, 0.006)
    sharp, tube = (
        hole(1e-3, length).flow(5 * BAR, cold) / hole(1e-3, length).flow(5 * BAR, warm) for length in (0.0, 10e-3)
    )
    clearance = slit(8e-3 * math.pi, 5e-6, 6e-3)
    assert sharp > 0.85
    assert tube < 0.35
    assert clearance.flow(BAR, cold) / clearance.flow(BAR, warm) == pytest.approx(0.006 / 0.27, rel=1e-3)


def test_closed_and_array_openings():
    flows = orifice.flow(np.array([0.0, 1e-6, 1e-6]), np.array([0.0, 1e-3, 1e-3]), np.array([BAR, BAR, 0.0]), WATER)
    assert flows.shape == (3,)
    assert flows[0] == flows[2] == 0.0 < flows[1]


def test_kv_definition():
    # IEC 60534: Kv is the flow of water in m3/h at 1 bar; Av = Q sqrt(rho/dp) = Kv / 3600 sqrt(1000/1e5) in m2. An
    # orifice with Cd 0.61 needs 32.2 mm2.
    assert kv(1.0 / 3600.0, BAR, 1000.0) == pytest.approx(1.0, rel=1e-12)
    assert area_of_kv(1.0, 1.0) * math.sqrt(2.0) == pytest.approx(2.7778e-5, rel=1e-5)
    assert area_of_kv(1.0, 0.61) == pytest.approx(32.2e-6, rel=4e-3)


@given(st.floats(1e-5, 1e-2), st.floats(0.1e5, 5e5), st.floats(700.0, 1100.0))
def test_kv_against_fluids(flow, drop, density):
    # fluids, sizing equation of IEC 60534 for a liquid that neither boils nor creeps.
    sized = fluids.size_control_valve_l(
        rho=density, Psat=100.0, Pc=22e6, mu=1e-3, P1=drop + 50e5, P2=50e5, Q=flow, allow_laminar=False
    )
    assert kv(flow, drop, density) == pytest.approx(sized, rel=5e-4)


@pytest.mark.parametrize(
    "make, told",
    [
        (lambda: slit(1e-2, 0.0), "Opening: area is 0 m2"),
        (lambda: hole(-1e-3), "Opening: diameter is -0.001 m"),
        (lambda: Opening(1e-6, 1e-3, -1.0), "Opening: length is -1 m; allowed is 0 to 1 m."),
    ],
)
def test_bad_input_is_one_sentence(make, told):
    with pytest.raises(ValueError) as raised:
        make()
    assert told in str(raised.value)
