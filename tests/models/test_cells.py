"""Cells and packs against IEC 60086, MacKay's tables, unit identities and what packs must obey."""

import math
from dataclasses import replace

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.models.cells import (
    CELLS,
    COIN,
    LEAD,
    LI_ION,
    LIPO,
    NIMH,
    SUPERCAPACITOR,
    Pack,
    loaded,
    pack_for,
    pack_for_load,
    usable_loaded,
)

UNIT = pint.UnitRegistry()
cells = st.sampled_from(list(CELLS.values()))


def test_coin_cell_is_the_standard_one():
    """CR2032, IEC 60086, as reprinted: 225 mAh, 3.0 V, 3.2 g, hence 0.675 Wh, 2430 J, 211 Wh/kg; 20 mm by 3.2 mm."""
    assert COIN.energy_wh == pytest.approx(0.675, rel=1e-12)
    assert COIN.energy == pytest.approx(2430.0, rel=1e-12)
    assert COIN.wh_per_kg == pytest.approx(211.0, rel=1e-3)
    assert COIN.volume == pytest.approx(math.pi * 0.010**2 * 0.0032, rel=1e-12)
    # Data sheets, as reprinted: 198 Wh/kg and 653 Wh/litre, "typically"; -20 to 70 degrees Celsius; 3 mA at most.
    assert COIN.wh_per_litre == pytest.approx(653.0, rel=0.1)
    assert (COIN.coldest, COIN.hottest, COIN.max_current) == (-20.0, 70.0, 3e-3)


@pytest.mark.parametrize(
    ("cell", "low", "high"), [(NIMH, 60, 120), (LIPO, 100, 130), (LEAD, 30, 50), (SUPERCAPACITOR, 5.5, 6.5)],
    ids=lambda value: getattr(value, "name", value),
)  # fmt: skip
def test_energy_per_mass_lies_in_published_bands(cell, low, high):
    """MacKay, Sustainable Energy (2008), p. 199, Wh/kg; a supercapacitor "6", here to its printed digit."""
    assert low <= cell.wh_per_kg <= high


def test_todays_lithium_ion_cell():
    """18650: 200 to 260 Wh/kg (from memory), above MacKay's 110 to 160 of 2008; the name says 18 mm by 65 mm."""
    assert 200.0 <= LI_ION.wh_per_kg <= 260.0
    assert LI_ION.wh_per_kg > 160.0
    assert LI_ION.volume == pytest.approx(math.pi * 0.009**2 * 0.065, rel=0.05)


@pytest.mark.parametrize(
    ("cell", "low", "high"), [(NIMH, 300, 500), (LI_ION, 300, 500), (LIPO, 300, 500), (LEAD, 200, 300)],
    ids=lambda value: getattr(value, "name", value),
)  # fmt: skip
def test_cycle_life_lies_in_published_bands(cell, low, high):
    """MacKay (2008), p. 199, cycles. By the usual definition a cell is worn when 80 % is left."""
    assert low <= cell.cycle_life <= high
    assert cell.share_left(cycles=cell.cycle_life) == pytest.approx(0.8 * cell.usable, rel=1e-12)


def test_supercapacitor_holds_half_c_v_squared():
    """E = C V^2/2 (any textbook): 350 F at 2.7 V; discharged to half its voltage it keeps a quarter."""
    full, half = (0.5 * 350.0 * volt**2 for volt in (2.7, 1.35))
    assert SUPERCAPACITOR.energy == pytest.approx(full, rel=1e-12)
    assert SUPERCAPACITOR.energy * SUPERCAPACITOR.usable == pytest.approx(full - half, rel=1e-12)


def test_units_against_a_unit_library():
    assert COIN.capacity == pytest.approx((225 * UNIT.mA * UNIT.hour).to("C").magnitude, rel=1e-12)
    assert LI_ION.energy_wh == pytest.approx((3.0 * UNIT.A * UNIT.hour * 3.6 * UNIT.V).to("Wh").magnitude, rel=1e-12)
    density = LEAD.energy * UNIT.J / (LEAD.volume * UNIT.m**3)
    assert LEAD.wh_per_litre == pytest.approx(density.to("Wh/litre").magnitude, rel=1e-12)
    leak = NIMH.energy * UNIT.J * 0.02 / (UNIT.year / 12)
    assert Pack(NIMH).leak == pytest.approx(leak.to("W").magnitude, rel=1e-3)


def test_half_a_kilogram():
    """Whole cells with 30 % of the rest: never more than half a kilogram, one more would be."""
    for cell in (COIN, NIMH, LI_ION, LIPO, LEAD, SUPERCAPACITOR):
        pack = Pack.within(cell, 0.5)
        assert pack.mass <= 0.5 < pack.mass + 1.3 * cell.mass
    assert Pack.within(LI_ION, 0.5).energy / 3600.0 == pytest.approx(8 * 10.8)


@given(cells, st.integers(1, 20), st.integers(1, 20), st.floats(0.0, 1.0))
def test_wiring_changes_voltage_only(cell, series, parallel, share):
    """Energy, mass and each cell's current at a power do not ask how the cells are wired."""
    one, other = Pack(cell, series, parallel), Pack(cell, 1, series * parallel)
    for name in ("energy", "mass", "volume", "count"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-12)
    power = share * one.count * cell.voltage * cell.max_current * (1.0 - 1e-9)
    assert one.current(power) == pytest.approx(other.current(power), rel=1e-12)
    assert one.voltage == pytest.approx(series * cell.voltage)


@given(cells, st.floats(1.0, 1e6), st.floats(0.0, 500.0), st.floats(-20.0, 50.0), st.floats(0.0, 5.0))
def test_the_smallest_pack_suffices_and_one_cell_less_does_not(cell, energy, power, temperature, years):
    pack = pack_for(cell, energy, power, temperature=temperature, years=years)
    assert pack.usable(temperature, years=years) >= energy * (1.0 - 1e-6)
    pack.current(power * (1.0 - 1e-6))
    if pack.count > 1:
        less = Pack(cell, 1, pack.count - 1)
        short = less.usable(temperature, years=years) < energy
        assert short or power > less.count * cell.voltage * cell.max_current


@given(cells, st.floats(-20.0, 50.0), st.floats(-20.0, 50.0), st.floats(0.0, 20.0), st.floats(0.0, 20.0))
def test_cold_and_age_only_take(cell, one, other, years, more):
    assert cell.share_left(min(one, other), years=years) <= cell.share_left(max(one, other), years=years)
    assert 0.0 <= cell.share_left(one, years=years + more) <= cell.share_left(one, years=years) <= cell.usable


# --- resistance and cold -----------------------------------------------------------------------------------------


def test_resistance_grows_between_two_published_cells():
    """Resistance in the cold, from half full cells, by Arrhenius's law taken to -10 against 20 degrees Celsius.

    Huria, Ceraolo, Gazzarri and Jackey (2012), a pouch of 31 Ah, tables as reprinted with its public model: R0 + R1
    10.7 + 3.4 milliohm at 5 degrees, 8.2 + 1.6 at 20. A 6 Ah cell in a file of the public vehicle model ADVISOR: 14.0
    at 0, 4.93 at 25.
    """

    def growth(cold, warm, ratio):
        chill = math.log(ratio) / (1 / (273.15 + cold) - 1 / (273.15 + warm))
        return math.exp(chill * (1 / 263.15 - 1 / 293.15))

    least, most = growth(5.0, 20.0, 14.1 / 9.8), growth(0.0, 25.0, 14.0 / 4.93)
    assert (least, most) == pytest.approx((2.16, 3.76), abs=0.01)
    for cell in (LI_ION, LIPO, COIN):
        ratio = cell.resistance_at(-10.0) / cell.resistance_at(20.0)
        assert least < ratio < most
        assert 2.0 <= ratio <= 3.0  # "about two to three times" (from memory)
        assert 0.65 <= cell.share_left(-10.0) / cell.usable <= 0.9  # capacity 0.7 to 0.9 (from memory), a pouch less
        assert cell.resistance_at(20.0) == pytest.approx(cell.resistance, rel=1e-12)
    assert 0.03 <= LI_ION.resistance <= 0.08  # 18650: less than 80 milliohm when full, a maker's page


@given(cells, st.floats(0.0, 1.0), st.floats(-20.0, 50.0))
def test_power_out_and_heat_are_what_the_cells_make(cell, share, temperature):
    """Ohm and Kirchhoff: V I = P + R I^2, and the smaller of both roots of R I^2 - V I + P = 0."""
    pack = Pack(cell, 2, 3)
    most = loaded(pack, 0.0, temperature).most
    told = loaded(pack, share * most, temperature)
    made = pack.count * cell.voltage * told.current
    assert made == pytest.approx(share * most + told.heat, rel=1e-9, abs=1e-12)
    resistance, power = cell.resistance_at(temperature), share * most / pack.count
    roots = sorted(np.roots([resistance, -cell.voltage, power]).real)
    assert told.current == pytest.approx(roots[0], rel=1e-6, abs=1e-9)
    assert 0.5 <= told.voltage_share <= 1.0
    assert told.voltage_share == pytest.approx(1.0 - resistance * told.current / cell.voltage, rel=1e-9)


def test_most_power():
    """Maximum power transfer (any textbook): V^2/(4 R) at half the voltage, where no rating stops it before."""
    free = replace(LI_ION, max_current=1000.0)
    most = loaded(Pack(free), 0.0, -10.0).most
    assert most == pytest.approx(3.6**2 / (4.0 * free.resistance_at(-10.0)), rel=1e-12)
    assert loaded(Pack(free), most, -10.0).voltage_share == pytest.approx(0.5, abs=1e-6)
    # The rating: 6 A and 0.36 V warm; at -10 degrees no more than 0.36 V again, hence 6 A over the growth.
    warm, cold = (loaded(Pack(LI_ION), 0.0, celsius).most for celsius in (20.0, -10.0))
    assert warm == pytest.approx(6.0 * 3.24, rel=1e-12)
    assert cold == pytest.approx(warm * LI_ION.resistance / LI_ION.resistance_at(-10.0), rel=1e-12)
    assert loaded(Pack(LI_ION), cold, -10.0).voltage_share == pytest.approx(0.9, rel=1e-9)


@given(cells, st.floats(10.0, 1e5), st.floats(0.0, 200.0), st.floats(-20.0, 40.0), st.floats(0.0, 5.0))
def test_the_smallest_loaded_pack_suffices_and_one_cell_less_does_not(cell, energy, power, temperature, years):
    pack = pack_for_load(cell, energy, power, temperature, years=years)
    assert usable_loaded(pack, power * (1.0 - 1e-9), temperature, years=years) >= energy * (1.0 - 1e-6)
    if pack.count > 1:
        less = Pack(cell, 1, pack.count - 1)
        if power <= loaded(less, 0.0, temperature).most:
            assert usable_loaded(less, power, temperature, years=years) < energy
    assert pack.count >= pack_for(cell, energy, temperature=temperature, years=years).count


@given(cells, st.floats(-20.0, 40.0), st.floats(-20.0, 40.0))
def test_the_cold_takes_power_and_energy(cell, one, other):
    cold, warm = min(one, other), max(one, other)
    pack = Pack(cell, 1, 10)
    power = 0.9 * loaded(pack, 0.0, cold).most
    assert loaded(pack, 0.0, cold).most <= loaded(pack, 0.0, warm).most * (1 + 1e-12)
    assert usable_loaded(pack, power, cold) <= usable_loaded(pack, power, warm) * (1 + 1e-12)
    assert usable_loaded(pack, power, cold) < pack.usable(cold)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Pack(COIN).current(0.13), "coin cell CR2032: current is 0.0433333333 A; allowed is 0 to 0.003 A."),
        (lambda: LI_ION.share_left(-30.0),
         "lithium-ion cell 18650: temperature is -30 degC; allowed is -20 to 60 degC."),
        (lambda: NIMH.share_left(70.0), "NiMH cell AA: temperature is 70 degC; allowed is -20 to 50 degC."),
        (lambda: COIN.share_left(cycles=10), "coin cell CR2032: cycles is 10; allowed is 0 to 0."),
        (lambda: Pack.within(LEAD, 0.3),
         "Pack of sealed lead cell: mass is 0.3 kg; allowed is 0.351 to 1000 kg."),
        (lambda: Pack(LI_ION, 2.5), "Pack: series is 2.5; allowed are whole numbers from 1."),
        (lambda: replace(LI_ION, mass=-0.05), "Cell: mass is -0.05 kg; allowed is 0.0001 to 10 kg."),
        (lambda: loaded(Pack(LI_ION), 8.0, -10.0),
         "lithium-ion cell 18650 at -10 degC: power is 8 W; allowed is 0 to 7.64456 W."),
        (lambda: loaded(Pack(replace(LI_ION, resistance=0.0)), 1.0),
         "lithium-ion cell 18650: resistance is 0 ohm; allowed is more where a load is counted."),
        (lambda: pack_for(NIMH, 100.0, years=40.0),
         "pack_for: nothing is left of NiMH cell AA after so many cycles and years."),
    ],
)  # fmt: skip
def test_a_bad_value_gives_one_sentence(make, words):
    with pytest.raises(ValueError) as caught:
        make()
    assert str(caught.value) == words
