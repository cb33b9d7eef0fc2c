"""Pictures of workbook 09: what half a kilogram of cells holds, the live hours and watts of a charge, the card."""

import numpy as np

from helpers.course import ActiveSkyhook, OptimalFeedback, bike, fell_loop, ride
from helpers.models.cells import CELLS, Pack, loaded, pack_for_load, usable_loaded
from helpers.models.energy import HOUR
from helpers.simulation.specification import ACTUATOR, Specification, duty
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import FAINT, GHOST, INK, PALETTE, new_figure, still, style

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
LOOKS = ((PLUM, "s"), (ORANGE, "o"), (BLUE, "^"), (BLUE, "o"))  # of the offers in their order
CHEMISTRIES = {"li_ion": "lithium-ion", "lipo": "lithium-polymer", "nimh": "NiMH", "lead": "lead", "coin": "coin cells"}
MASSES = (0.065, 0.12, 0.18, 0.25, 0.5, 1, 2, 4, 8)  # kg
CAGE, DAY = 0.5, 6.0  # kg and h
PREDICTED = {"hour": 0.5, "hours": 2.5, "day": 24.0, "ever": 900.0}  # h that each option says
SPAN = (0.05, 2e4)  # h
PAPER = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}  # so that no line strikes a text


def _aged(cell, winter):
    """The years and full charges of `winter`, for a cell that has any."""
    return {"years": winter["years"], "cycles": winter["cycles"] if cell.cycle_life else 0}


@style()
def battery_sketch(cells, winter):
    """What half a kilogram of battery gives, by chemistry: on the label, new in the warm, and in its third winter."""
    figure, ax = new_figure((9, 2.7))
    told = []
    for row, (key, name) in enumerate(CHEMISTRIES.items()):
        pack = Pack.within(cells[key], CAGE)
        old = pack.usable(winter["temperature"], **_aged(pack.cell, winter))
        full, new, old = (value / HOUR for value in (pack.energy, pack.usable(), old))
        ax.barh(-row, full, 0.7, facecolor="none", edgecolor=FAINT, linewidth=1.0)
        ax.barh(-row, old, 0.7, color=ORANGE)
        ax.plot([new, new], [-row - 0.35, -row + 0.35], color=INK, linewidth=2)
        ax.text(full + 1.0, -row, f"{pack.count} x {name}: {full:.1f} Wh on the label, {old:.1f} left in winter",
                va="center", fontsize=9)  # fmt: skip
        told.append(f"{name} {full:.1f} and {old:.1f} Wh")
    ax.set(xlim=(0, 160), ylim=(-4.6, 0.6), yticks=[], xlabel="energy (Wh)",
           title="Half a kilogram of battery. Outline: label; line: new and warm; orange: third winter")  # fmt: skip
    ax.grid(visible=False, axis="y")
    return still(figure, f"Half a kilogram of battery, on the label and left in its third winter: {'; '.join(told)}.")


# --- the live figure --------------------------------------------------------------------------------------------


def _peak(spec):
    """Largest power in W asked of the battery: of all valves' coils and the box, or of one motor's push."""
    drawn = duty(spec)
    if spec.drive != ACTUATOR:
        return spec.wheels * spec.power + drawn.controller
    rides = [ride(spec.machine, ground, spec.ridden_law, spec.timing()) for ground in fell_loop()]
    return max(one.power_peak for one in rides) / drawn.efficiency


def _hours(hours):
    return f"{hours:.2g}" if hours < 10.0 else f"{float(f'{hours:.2g}'):.0f}"


def _watts(watts):
    return f"{watts:.2f} W" if watts < 10.0 else f"{watts:.0f} W"


def hours_figure(offers, cells, winter, prediction=""):
    """Live: hours per charge of each offer, and what it asks for at once beside what the cells may give.

    offers: specifications by name; cells: by the keys of CHEMISTRIES; winter: age of the cells in their third winter.
    """
    asked = {name: (duty(spec).power, _peak(spec)) for name, spec in offers.items()}
    names = list(offers)
    rows = range(len(names))[::-1]

    def compute(cell, mass, temperature):
        chosen, degrees = cells[cell], float(temperature)
        if mass < 1.3 * chosen.mass:
            return {"count": 0, "most": 0.0, "lasts": {name: None for name in names}}
        pack = Pack.within(chosen, mass)
        most, lasts = loaded(pack, 0.0, degrees).most, {}
        for name, (mean, _) in asked.items():
            lasts[name] = None if mean > most else [
                usable_loaded(pack, mean, degrees, **age) / (mean + pack.leak) / HOUR
                for age in (_aged(chosen, winter), {})]  # fmt: skip
        return {"count": pack.count, "most": most, "lasts": lasts}

    def told(result, name):
        mean, peak = asked[name]
        if not result["count"]:
            return "not one cell"
        if result["lasts"][name] is None:
            return "refused"
        old, new = map(_hours, result["lasts"][name])
        return f"{old} to {new} h{'' if peak <= result['most'] else ', largest moment refused'}"

    def build(figure, result):
        left, right = figure.subplots(1, 2, width_ratios=(1.5, 1.0), sharey=True)
        left.set(xscale="log", xlim=SPAN, ylim=(-0.6, 3.8), yticks=[], xlabel="hours of riding per charge",
                 title="How long: cells of three years to new ones")  # fmt: skip
        left.set_xticks([0.1, 1, 10, 100, 1000, 10000], ["0.1", "1", "10", "100", "1000", "10 000"])
        right.set(xscale="log", xlim=(3e-3, 3e4), xlabel="W", title="How much at once: mean, largest, given")
        right.set_xticks([0.01, 1, 100, 10000], ["0.01", "1", "100", "10 000"])
        for ax in (left, right):
            ax.minorticks_off()
            ax.grid(visible=False, axis="y")
        left.axvline(DAY, color=INK, linestyle=(0, (2, 2)), linewidth=1.2)
        left.text(1.15 * DAY, -0.55, f"the call: {DAY:g} h", va="bottom", fontsize=9)
        held = {}
        for name, row, (colour, mark) in zip(names, rows, LOOKS, strict=True):
            mean, peak = asked[name]
            if result["lasts"][name]:
                left.plot(result["lasts"][name][1], row, "o", mfc="none", markersize=12, **GHOST)
            right.plot([mean, peak], [row, row], color=colour, linewidth=1.0)
            right.plot(mean, row, mark, color=colour, markersize=7)
            right.plot(peak, row, "D", color=colour, markersize=7)
            held[name] = left.plot([1.0, 1.0], [row, row], color=colour, linewidth=7, solid_capstyle="butt")[0]
            held[f"{name} text"] = left.text(0.055, row + 0.24, "", color=colour, va="bottom", fontsize=9, bbox=PAPER)
        held["most"] = right.axvline(1.0, color=INK, linewidth=1.5)
        held["gives"] = right.text(0.0036, 3.72, "", va="top", fontsize=9)
        if prediction:
            at = PREDICTED[prediction]
            left.plot(at, 0.72, marker="v", color=PLUM, markersize=9)
            left.text(1.3 * at, 0.68, "predicted: skyhook motor", color=PLUM, va="center", fontsize=9)
        draw(held, result)
        return held

    def draw(held, result):
        for name, row in zip(names, rows, strict=True):
            lasts = result["lasts"][name]
            held[name].set_data([np.nan] * 2 if lasts is None else np.clip(lasts, *SPAN), [row, row])
            held[f"{name} text"].set_text(f"{name}: {told(result, name)}")
        held["most"].set_xdata([max(result["most"], 1e-3)] * 2)
        held["gives"].set_text(f"cells give {_watts(result['most'])}")

    def read_out(result):
        return [("cells", f"{result['count']}"), ("they may give (W)", f"{result['most']:.3g}"),
                *((f"{name} (h)", told(result, name).removesuffix(" h")) for name in names[2:])]  # fmt: skip

    def describe(values, result):
        degrees = f"{values['temperature']:g}".replace("-", "−")
        begin = f"{values['mass']:g} kg of {CHEMISTRIES[values['cell']]} at {degrees} °C"
        if not result["count"]:
            return f"{begin}: one cell with its case weighs more."
        each = "; ".join(f"{name} {told(result, name)}" for name in names)
        return f"{begin} may give {_watts(result['most'])}. A charge: {each}."

    return LiveFigure(
        name="hours and watts of a charge",
        sliders=[
            Options("cell", "cells", [(name, key) for key, name in CHEMISTRIES.items()], "li_ion"),
            Options("mass", "mass of the battery", [(f"{mass:g} kg", mass) for mass in MASSES], CAGE),
            Slider("temperature", "temperature", -20, 20, 5, 20, "°C"),
        ],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.6),
    )  # fmt: skip


# --- card -------------------------------------------------------------------------------------------------------

CARD_CAPTION = "Mass of a lithium-ion battery over the hours of a call in its third winter."
CARD_ALT = (
    "Two rising lines of battery mass over hours on the trail bike. Full activity lies above half a kilogram from the "
    "start and near six kilograms at six hours; the skyhook motor passes half a kilogram before two hours."
)


@style()
def card_figure():
    """The page in one picture: what the hours of a call weigh, and the cage."""
    figure, ax = new_figure((7, 3.2))
    hours, state = np.linspace(0.25, 8.0, 32), {"temperature": -10.0, "years": 3.0, "cycles": 150.0}
    for name, law, dash in (("full activity", OptimalFeedback(bike), "-"),
                            ("skyhook motor", ActiveSkyhook(1000.0), (0, (4, 1.5)))):  # fmt: skip
        watts = duty(Specification(bike, law, ACTUATOR)).power
        masses = [pack_for_load(CELLS["li_ion"], HOUR * h * watts, watts, **state).mass for h in hours]
        ax.plot(hours, masses, color=BLUE, linestyle=dash)
        ax.text(hours[-14], masses[-14] + 0.25, name, color=BLUE, ha="right", fontsize=9)
    ax.axhline(CAGE, color=INK, linewidth=1.2)
    ax.text(7.95, CAGE + 0.1, "the cage", ha="right", fontsize=9)
    ax.axvline(DAY, color=INK, linestyle=(0, (2, 2)), linewidth=1.2)
    ax.set(xlim=(0.0, 8.0), ylim=(0.0, 8.0), xlabel="hours of a call", ylabel="battery (kg)",
           title="Energy density rules full activity out of the cage")  # fmt: skip
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
