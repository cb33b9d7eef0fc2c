"""The open design of workbook 09: cells, their number and the hold time of a mode switch for a winter's days."""

from dataclasses import replace

from helpers.models.cells import CELLS, Pack, pack_for
from helpers.models.energy import ELECTRONICS, days_per_charge
from helpers.teaching.exercises import Criterion, Parameter
from helpers.teaching.units import AnswerError, quoted
from scenes.w09_numbers import DAY, locked_on_the_climb, moves_a_second

CHEMISTRIES = {"lithium-ion": "li_ion", "lithium-polymer": "lipo", "NiMH": "nimh", "lead": "lead", "coin": "coin"}
HOLDS = (0.2, 0.3, 0.5, 0.8)  # s, of the design's reference, drawn


class Count(Parameter):
    """A whole number of cells."""

    def read(self, answer):
        value = super().read(answer)
        if abs(value - round(value)) > 1e-9:
            raise AnswerError(f"{quoted(answer)} cannot be used for {self.name}: it is a whole number of cells.")
        return round(value)


def _duty(n, hold):
    return replace(
        ELECTRONICS["mode_switching"],
        wheels=2,
        per_actuation=n.energy,
        holding=0.01,
        actuation_rate=moves_a_second(hold),
    )


def _state(n, cell):
    return {"temperature": float(n.cold), "years": 3.0} | ({"cycles": 150.0} if cell.cycle_life else {})


def lightest(n):
    """(chemistry, pack) of least mass that lasts the days and gives the peak with the reference's hold time."""
    duty, packs = _duty(n, HOLDS[n.hold]), {}
    for name in ("lithium-ion", "lithium-polymer", "NiMH"):
        cell = CELLS[CHEMISTRIES[name]]
        count = pack_for(cell, 1.0, n.peak).count
        while days_per_charge(Pack(cell, parallel=count), duty, DAY, **_state(n, cell)) < n.days:
            count += 1
        packs[name] = Pack(cell, parallel=count)
    return min(packs.items(), key=lambda item: item[1].mass)


def limits(n):
    """Least share locked on the climb in %, largest mass in g."""
    return 100.0 * locked_on_the_climb(HOLDS[n.hold]) - 1.0, 1.02e3 * lightest(n)[1].mass


def judge(values, n):
    cell = CELLS[CHEMISTRIES[values.cell]]
    pack, (locked, mass) = Pack(cell, parallel=values.count), limits(n)
    days = days_per_charge(Pack(replace(cell, max_current=1e3), parallel=pack.count), _duty(n, values.hold), DAY,
                           **_state(n, cell))  # fmt: skip
    return [
        Criterion("days per charge", days, n.days, "", "at least",
                  "More energy, or fewer moves: what does a longer hold time do to them?"),
        Criterion("power the cells may give", pack.count * cell.voltage * cell.max_current, n.peak, "W", "at least",
                  "Another chemistry, or more cells."),
        Criterion("mass of the pack", 1e3 * pack.mass, mass, "g", advice="Fewer cells, or a lighter chemistry."),
        Criterion("locked on the climb", 100.0 * locked_on_the_climb(values.hold), locked, "%", "at least",
                  "A shorter hold time gives the lock back."),
    ]  # fmt: skip


def question(n):
    (locked, mass), cold = limits(n), f"{n.cold}".replace("-", "−")
    return (
        f"A mode switch for Ilka's bike: each move takes {n.energy:g} J and {n.peak} W for a moment, everything else "
        f"as in the table of parameters. At {cold} °C, with cells of three years and 150 cycles (a coin cell: three "
        f"years), six hours a day ridden, a charge is to last at least {n.days} days. The cells must stand the "
        f"{n.peak} W, the pack with its case weighs at most {mass:.0f} g, and the switch stays locked for at least "
        f"{locked:.1f} % of the climb. Choose the cells, their number, and the hold time. The loop is ridden with it."
    )


def solution(n):
    (name, pack), hold = lightest(n), HOLDS[n.hold]
    others = ", ".join(f"{3600 * moves_a_second(each):.0f} with {each:g} s" for each in HOLDS)
    return (
        f"The hold time sets the moves an hour ({others}) and the lock: {hold:g} s keeps it. Those moves and the days "
        f"ask for the energy, the peak for the current. Of the chemistries the lightest pack that gives both is "
        f"{pack.count} x {name}, {1e3 * pack.mass:.0f} g."
    )
