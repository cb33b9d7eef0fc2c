"""Cells and packs: what they hold, weigh and may give, in the warm and in the cold, new and aged.

Figures are of one cell of each chemistry, not of a product; resistances are from memory, how those of lithium cells
grow in the cold between two published cells (see the tests). A lithium cell beyond its rating can burn: here a sentence
stops it, on a machine a fuse and a protection circuit must, and the maker's instructions hold. Charging is left out; a
lithium cell is not charged below freezing.
"""

import math
from dataclasses import dataclass

import numpy as np

from helpers.models.oil import ZERO_CELSIUS
from helpers.models.quantities import Checked, in_range, quantity

JOULES_PER_WH = 3600.0
COULOMBS_PER_MAH = 3.6
MONTH = 365.25 / 12.0 * 86_400.0  # s


def _figure(meaning, unit, low, high, **known):
    return quantity(meaning, unit, low, high, source="the cell's own", **known)


def _round(diameter_mm, height_mm):
    """Volume of a round cell in m3."""
    return math.pi / 4.0 * diameter_mm**2 * height_mm * 1e-9


@dataclass(frozen=True)
class Cell(Checked):
    """One cell. `source` says where its figures come from."""

    name: str
    source: str
    capacity: float = _figure("charge from full to empty at its rated load, 20 degrees Celsius", "C", 1.0, 1e6)
    voltage: float = _figure("mean voltage from full to empty", "V", 0.1, 10.0)
    mass: float = _figure("mass", "kg", 1e-4, 10.0)
    volume: float = _figure("volume", "m3", 1e-8, 0.01)
    usable: float = _figure("share of its energy that is used", "", 0.05, 1.0)
    max_current: float = _figure("largest lasting current", "A", 1e-5, 1000.0)
    coldest: float = _figure("lowest temperature of use", "degC", -60.0, 0.0, default=-20.0)
    hottest: float = _figure("highest temperature of use", "degC", 20.0, 100.0, default=60.0)
    left_at_0: float = _figure("share of its capacity left at 0 degrees Celsius", "", 0.05, 1.0, default=0.85)
    left_at_minus_20: float = _figure("the same at 20 degrees below", "", 0.05, 1.0, default=0.6)
    cycle_life: float = _figure("full cycles to 80 % of its capacity; 0: not rechargeable", "", 0.0, 1e7, default=0.0)
    yearly_fade: float = _figure("share of its capacity lost in a year", "1/year", 0.0, 1.0, default=0.03)
    monthly_loss: float = _figure("share of its charge that leaks away in a month", "1/month", 0.0, 1.0, default=0.03)
    resistance: float = _figure("resistance to a load of some seconds, half full, 20 degrees Celsius", "ohm", 0.0, 1e4,
                                symbol="R", default=0.0)  # fmt: skip
    chill: float = _figure("how it grows in the cold: as exp(chill/T), T absolute", "K", 0.0, 1e4, default=0.0)

    @property
    def energy(self):
        """From full to empty, J."""
        return self.capacity * self.voltage

    @property
    def energy_wh(self):
        return self.energy / JOULES_PER_WH

    @property
    def wh_per_kg(self):
        return self.energy_wh / self.mass

    @property
    def wh_per_litre(self):
        return 1e-3 * self.energy_wh / self.volume

    def share_left(self, temperature=20.0, cycles=0.0, years=0.0):
        """Share of the energy that can be used, from 0 to 1: the rest is kept, frozen (degC) or aged away.

        The cold is read off between 20, 0 and -20 degC; ageing is a straight line. Raises ValueError for a
        temperature beyond the rating and for cycles of a cell that has none.
        """
        temperature = self.at_temperature(temperature)
        cycles = in_range(self.name, "cycles", cycles, "", 0.0, 5.0 * self.cycle_life)
        years = in_range(self.name, "years", years, "year", 0.0, 100.0)
        cold = np.interp(temperature, (-20.0, 0.0, 20.0), (self.left_at_minus_20, self.left_at_0, 1.0))
        worn = 0.2 * cycles / self.cycle_life if cycles else 0.0
        return float(self.usable * cold * max(1.0 - worn - self.yearly_fade * years, 0.0))

    def resistance_at(self, temperature):
        """Resistance in ohm at `temperature` in degC: Arrhenius's law from 20 degC."""
        kelvin = ZERO_CELSIUS + self.at_temperature(temperature)
        return self.resistance * math.exp(self.chill * (1.0 / kelvin - 1.0 / (ZERO_CELSIUS + 20.0)))

    def at_temperature(self, temperature):
        """The temperature in degC, or one sentence where it is beyond the rating."""
        return in_range(self.name, "temperature", temperature, "degC", self.coldest, self.hottest)


@dataclass(frozen=True)
class Pack(Checked):
    """Equal cells, `series` in a row and `parallel` of such rows, with case, wiring and protection."""

    cell: Cell
    series: float = quantity("cells in a row", "", 1.0, 1000.0, default=1.0)
    parallel: float = quantity("rows side by side", "", 1.0, 100_000.0, default=1.0)
    overhead: float = quantity("mass and volume of the rest, over that of the cells", "", 0.0, 3.0, default=0.3)

    def __post_init__(self):
        super().__post_init__()
        for name in ("series", "parallel"):
            if getattr(self, name) != int(getattr(self, name)):
                raise ValueError(f"Pack: {name} is {getattr(self, name):g}; allowed are whole numbers from 1.")

    @classmethod
    def within(cls, cell, mass, overhead=0.3):
        """The most cells, side by side, that `mass` in kg holds with the rest of the pack."""
        least = cell.mass * (1.0 + overhead)
        mass = in_range(f"Pack of {cell.name}", "mass", mass, "kg", least, 1000.0)
        return cls(cell, parallel=int(mass / least + 1e-9), overhead=overhead)

    @property
    def count(self):
        return int(self.series * self.parallel)

    @property
    def voltage(self):
        return self.series * self.cell.voltage

    @property
    def mass(self):
        return self.count * self.cell.mass * (1.0 + self.overhead)

    @property
    def volume(self):
        return self.count * self.cell.volume * (1.0 + self.overhead)

    @property
    def energy(self):
        """From full to empty, J."""
        return self.count * self.cell.energy

    @property
    def leak(self):
        """Mean power in W that a full pack loses by itself."""
        return self.energy * self.cell.monthly_loss / MONTH

    def usable(self, temperature=20.0, cycles=0.0, years=0.0):
        """Energy in J that can be drawn; see `Cell.share_left`."""
        return self.energy * self.cell.share_left(temperature, cycles, years)

    def current(self, power):
        """Current in A of each cell at `power` in W, at its mean voltage; one sentence where it is over its rating.

        How the cells are wired makes no difference. Near empty the voltage is lower and the current larger.
        """
        return in_range(self.cell.name, "current", power / (self.count * self.cell.voltage), "A", 0.0,
                        self.cell.max_current)  # fmt: skip


@dataclass(frozen=True)
class Load:
    """A pack under load: current of each cell, A; its voltage over the mean one; `heat` made inside the cells, and
    `most`, the largest lasting power at that temperature, W.
    """

    current: float
    voltage_share: float
    heat: float
    most: float


def loaded(pack, power, temperature=20.0):
    """The `Load` of a `Pack` at `power` in W and `temperature` in degC, the resistance of its cells counted.

    P = (V - R I) I, V the mean voltage: at most V^2/(4 R), with half the voltage, and at most what the current's rating
    gives, which is taken to fall as the resistance grows, so that the voltage drops no further than it may at 20 degC.
    Raises ValueError beyond, and for a cell whose resistance is not known.
    """
    cell = pack.cell
    most = pack.count * _most(cell, temperature)
    power = in_range(f"{cell.name} at {temperature:g} degC", "power", power, "W", 0.0, most)
    share = _voltage_share(cell, power / pack.count, temperature)
    current = power / (pack.count * cell.voltage * share)
    return Load(current, share, pack.count * cell.resistance_at(temperature) * current**2, most)


def usable_loaded(pack, power, temperature=20.0, **state):
    """Energy in J that comes out at `power` in W: `Pack.usable` less what turns to heat inside; see `loaded`."""
    return pack.usable(temperature, **state) * loaded(pack, power, temperature).voltage_share


def pack_for_load(cell, energy, power, temperature=20.0, series=1, overhead=0.3, **state):
    """The smallest `Pack` that gives `energy` in J at a lasting `power` (W) and `temperature` (degC); see `loaded`."""
    least = power / _most(cell, temperature)
    cells = energy / (cell.energy * cell.share_left(temperature, **state))  # if nothing were lost inside
    half = 2.0 * cell.resistance_at(temperature) * power / cell.voltage**2  # cells at half their voltage, halved
    if cells > half:
        cells = cells**2 / (cells - 0.5 * half)  # n (1 + sqrt(1 - 2 half/n))/2 = cells, solved for n
    return Pack(cell, series, math.ceil(max(cells, least, 1.0) / series - 1e-9), overhead)


def _most(cell, temperature):
    """Largest lasting power of one cell, W."""
    resistance = cell.resistance_at(temperature)
    if not resistance > 0.0:
        raise ValueError(f"{cell.name}: resistance is 0 ohm; allowed is more where a load is counted.")
    rated = cell.max_current * cell.resistance / resistance
    drop = resistance * rated
    return rated * (cell.voltage - drop) if drop < 0.5 * cell.voltage else 0.25 * cell.voltage**2 / resistance


def _voltage_share(cell, power, temperature):
    """Share of a cell's voltage that is left at `power` in W, from 1 down to a half."""
    return 0.5 + 0.5 * math.sqrt(max(1.0 - 4.0 * cell.resistance_at(temperature) * power / cell.voltage**2, 0.0))


def pack_for(cell, energy, power=0.0, series=1, overhead=0.3, **state):
    """The smallest `Pack` that gives `energy` in J in the stated state and whose cells stand `power` in W.

    state: temperature, cycles, years as for `Cell.share_left`. Raises ValueError where nothing is left of a cell.
    """
    left = cell.energy * cell.share_left(**state)
    if not left > 0.0:
        raise ValueError(f"pack_for: nothing is left of {cell.name} after so many cycles and years.")
    cells = max(energy / left, power / (cell.voltage * cell.max_current), 1.0)
    return Pack(cell, series, math.ceil(cells / series - 1e-9), overhead)


_MACKAY = "energy per mass and cycles within MacKay, Sustainable Energy (2008), p. 199; the rest from memory"

COIN = Cell(
    "coin cell CR2032", "charge, voltage, mass and size of IEC 60086, as reprinted; the rest from memory",
    capacity=225.0 * COULOMBS_PER_MAH, voltage=3.0, mass=3.2e-3, volume=_round(20.0, 3.2), usable=0.9,
    max_current=3e-3, hottest=70.0, left_at_0=0.9, left_at_minus_20=0.7, yearly_fade=0.01, monthly_loss=0.001,
    resistance=15.0, chill=2400.0,
)  # fmt: skip
NIMH = Cell(
    "NiMH cell AA", f"size R6 of IEC 60086; {_MACKAY}",
    capacity=2000.0 * COULOMBS_PER_MAH, voltage=1.2, mass=0.029, volume=_round(14.5, 50.5), usable=0.9,
    max_current=4.0, hottest=50.0, left_at_minus_20=0.5, cycle_life=500.0, monthly_loss=0.02,
    resistance=0.03, chill=1800.0,
)  # fmt: skip
LI_ION = Cell(
    "lithium-ion cell 18650", "from memory, within what several makers print",
    capacity=3000.0 * COULOMBS_PER_MAH, voltage=3.6, mass=0.047, volume=_round(18.3, 65.2), usable=0.9,
    max_current=6.0, cycle_life=500.0,
    resistance=0.06, chill=2400.0,
)  # fmt: skip
LIPO = Cell(
    "lithium-polymer pouch", f"{_MACKAY}; a pouch for large currents",
    capacity=1000.0 * COULOMBS_PER_MAH, voltage=3.7, mass=0.029, volume=34e-3 * 50e-3 * 8e-3, usable=0.8,
    max_current=20.0, left_at_0=0.8, left_at_minus_20=0.5, cycle_life=300.0,
    resistance=0.02, chill=2400.0,
)  # fmt: skip
LEAD = Cell(
    "sealed lead cell", f"{_MACKAY}; one of the six cells of a 12 V block",
    capacity=4500.0 * COULOMBS_PER_MAH, voltage=2.0, mass=0.27, volume=107e-6, usable=0.5,
    max_current=10.0, hottest=50.0, left_at_minus_20=0.55, cycle_life=250.0, yearly_fade=0.05,
    resistance=0.006, chill=1200.0,
)  # fmt: skip
SUPERCAPACITOR = Cell(  # 350 F charged to 2.7 V; half of that is the mean, and three quarters are out at half of it
    "supercapacitor", f"{_MACKAY}",
    capacity=350.0 * 2.7, voltage=0.5 * 2.7, mass=0.06, volume=_round(33.0, 62.0), usable=0.75,
    max_current=25.0, coldest=-40.0, hottest=65.0, left_at_0=1.0, left_at_minus_20=1.0, cycle_life=500_000.0,
    yearly_fade=0.02, monthly_loss=0.5,
    resistance=3.2e-3, chill=600.0,
)  # fmt: skip
CELLS = {"coin": COIN, "nimh": NIMH, "li_ion": LI_ION, "lipo": LIPO, "lead": LEAD, "supercapacitor": SUPERCAPACITOR}
