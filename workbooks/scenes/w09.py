"""Pictures of workbook 09: what half a kilogram of cells holds, the live figure of hours per charge, the card."""

import numpy as np
from matplotlib.patheffects import withStroke

from helpers.models.cells import CELLS, JOULES_PER_WH, Pack
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import FAINT, GHOST, INK, PALETTE, STYLES, new_figure, still, style
from scenes.w09_numbers import CAGE_MASS, DAY, FAMILY, NAMED, OFFERS, drawing, half_kilogram, lasting, winter
from scenes.w09_seconds import (  # the page asks this module for its tables too
    climb_table,
    decision_table,
    mass_table,
    seconds_table,
)
from scenes.w09_tables import (
    by_expression,
    cells_table,
    day_table,
    days_table,
    derivation,
    draw_steps,
    draw_table,
    heat_table,
    limits,
    mass_steps,
    move_energy_table,
    moves_table,
    peak_table,
    range_table,
    ranges_table,
    recovery_table,
    returns_table,
    windings_sentence,
)

__all__ = [
    "by_expression", "card", "cells_table", "climb_table", "day_table", "days_table", "decision_table", "derivation",
    "draw_steps", "draw_table", "heat_table", "hours_figure", "limits", "mass_steps", "mass_table",
    "move_energy_table", "moves_table", "peak_table", "puzzle_sketch", "range_table", "ranges_table",
    "recovery_table", "returns_table", "seconds_table", "windings_sentence",
]  # fmt: skip

ORANGE, PLUM = PALETTE["semi_active"], PALETTE["mode_switching"]
ROWS = dict(zip(OFFERS, (3, 2, 1, 0), strict=True))
PREDICTED = {"a": (0.5, "a: not an hour"), "b": (3.5, "b: a few hours"), "c": (24.0, "c: about a day"),
             "d": (6e3, "d: without end")}  # fmt: skip
CHEMISTRIES = {"li_ion": "lithium-ion", "lipo": "lithium-polymer", "nimh": "NiMH", "lead": "lead", "coin": "coin cells"}
CLEAR = [withStroke(linewidth=3, foreground="white")]  # so that no line strikes a text
INPUTS = 5  # drawn on the right, those that move the hours most


def _look(offer):
    """Colour and dash of an offer; the two motors share the colour of the active family, not its dash."""
    look = STYLES[FAMILY[offer]]
    return {"color": look.colour, "marker": "o" if offer == "comfort" else look.marker}


@style()
def puzzle_sketch():
    """What half a kilogram of battery gives, by chemistry: new in the warm, and in its third winter."""
    figure, ax = new_figure((9, 3.0))
    names, told = {"coin": "coin cells"} | CHEMISTRIES | {"supercapacitor": "supercapacitors"}, []
    for row, (key, name) in enumerate(names.items()):
        pack = Pack.within(CELLS[key], CAGE_MASS)
        full, new, old = (value / JOULES_PER_WH for value in
                          (pack.energy, pack.usable(), pack.usable(**winter(pack.cell))))  # fmt: skip
        ax.barh(-row, full, 0.7, facecolor="none", edgecolor=FAINT, linewidth=1.0)
        ax.barh(-row, old, 0.7, color=ORANGE)
        told.append(f"{name} {full:.1f} and {old:.1f} Wh")
        ax.plot([new, new], [-row - 0.35, -row + 0.35], color=INK, linewidth=2)
        ax.text(full + 1.0, -row, f"{pack.count} x {name}: {full:.1f} Wh on the label, {old:.1f} left in winter",
                va="center", fontsize=9)  # fmt: skip
    ax.set(xlim=(0, 160), ylim=(-5.6, 0.6), yticks=[], xlabel="energy (Wh)",
           title="Half a kilogram of battery: outline the label, line new and warm, orange third winter")  # fmt: skip
    ax.grid(visible=False, axis="y")
    return still(figure, f"Half a kilogram of battery, on the label and left in its third winter: {'; '.join(told)}.")


# --- the live figure --------------------------------------------------------------------------------------------------


def _compute(offer, cell, mass, temperature):
    pack = Pack.within(CELLS[cell], mass)
    limit = pack.count * pack.cell.voltage * pack.cell.max_current
    found = {one: lasting(one, pack, float(temperature)) for one in OFFERS}
    median = found[offer].quantile(0.5)
    return {
        "hours": {one: [told.quantile(share) for share in (0.05, 0.5, 0.95)] for one, told in found.items()},
        "refused": {one: drawing(one).quantile(0.5) > limit for one in OFFERS},
        "swings": [(NAMED[swing.name], swing.at_low / median, swing.at_high / median)
                   for swing in found[offer].swings[:INPUTS]],
        "chosen": offer, "usable": pack.usable(float(temperature)) / JOULES_PER_WH, "count": pack.count,
    }  # fmt: skip


def _hours(value):
    return f"{value:.2g}" if value < 10 else f"{float(f'{value:.2g}'):.0f}"


def _told(result, offer):
    """The hours of an offer in words."""
    if result["refused"][offer]:
        return "over the cells' rating"
    low, middle, high = map(_hours, result["hours"][offer])
    return f"{middle} h ({low} to {high})"


def _deciders(result):
    """The input that moves the hours most, and the next if it moves them nearly as much."""
    (name, low, high), (other, least, most) = result["swings"][:2]
    return f"{name}, {other}" if abs(most - least) > 0.85 * abs(high - low) else name


def hours_figure(prediction=""):
    """Live: hours per charge of the four offers as ranges, and the inputs that move the chosen one's."""

    def build(figure, result):
        left, right = figure.subplots(1, 2, width_ratios=(1.75, 1.0))
        left.set(xscale="log", xlim=(0.007, 2e4), ylim=(-0.6, 3.85), yticks=[], xlabel="hours of riding per charge",
                 title="A charge lasts from minutes to weeks. Dot: median; bar: 5 to 95 %")  # fmt: skip
        left.set_xticks([0.1, 1, 10, 100, 1000, 10000], ["0.1", "1", "10", "100", "1000", "10 000"])
        left.minorticks_off()
        left.grid(visible=False, axis="y")
        left.axvline(DAY, color=INK, linestyle=(0, (2, 2)), linewidth=1.2)
        left.text(DAY * 1.15, -0.55, f"a day: {DAY:g} h", va="bottom", fontsize=9)
        right.set(xscale="log", xlim=(0.42, 2.4), ylim=(-0.6, INPUTS - 0.1), yticks=[],
                  xlabel="hours / hours at the median", title="What moves them")  # fmt: skip
        right.set_xticks([0.5, 0.7, 1.0, 1.4, 2.0], ["0.5", "0.7", "1", "1.4", "2"])
        right.minorticks_off()
        right.grid(visible=False, axis="y")
        right.axvline(1.0, color=FAINT, linewidth=1.0)
        held = {}
        for offer, row in ROWS.items():
            left.plot(result["hours"][offer][1], row, "o", markerfacecolor="none", markersize=13, **GHOST)
            look = _look(offer)
            held[offer] = left.plot([1.0, 1.0], [row, row], color=look["color"], linewidth=5, alpha=0.45,
                                    solid_capstyle="butt")[0]
            held[f"{offer} dot"] = left.plot(1.0, row, linestyle="none", markersize=8, **look)[0]
            held[f"{offer} text"] = left.text(0.0075, row + 0.24, "", color=look["color"], va="bottom", fontsize=9,
                                                path_effects=CLEAR)
        for k in range(INPUTS):
            held[f"bar {k}"] = right.plot([1.0, 1.0], [k, k], color=PALETTE["plain"], linewidth=7,
                                          solid_capstyle="butt")[0]
            held[f"name {k}"] = right.text(0.43, k + 0.2, "", va="bottom", fontsize=9, path_effects=CLEAR)
        if prediction:
            at, words = PREDICTED[prediction]
            left.plot(at, ROWS["skyhook"], marker="v", color=PLUM, markersize=11, linestyle="none")
            left.text(min(at, 9e2), ROWS["skyhook"] - 0.2, f"predicted, {words}", color=PLUM, va="top", ha="center",
                      fontsize=9, path_effects=CLEAR)  # fmt: skip
        draw(held, result)
        return held

    def draw(held, result):
        for offer, row in ROWS.items():
            low, middle, high = result["hours"][offer]
            gone = result["refused"][offer]
            held[offer].set_data([np.nan, np.nan] if gone else [low, high], [row, row])
            held[f"{offer} dot"].set_data([np.nan if gone else middle], [row])
            mark = "> " if offer == result["chosen"] else ""
            held[f"{offer} text"].set_text(f"{mark}{OFFERS[offer]}: {_told(result, offer)}")
        for k in range(INPUTS):
            known = k < len(result["swings"]) and not result["refused"][result["chosen"]]
            name, low, high = result["swings"][k] if known else ("", np.nan, np.nan)
            held[f"bar {k}"].set_data([low, high], [INPUTS - 1 - k] * 2)
            held[f"name {k}"].set_text(name)
            held[f"name {k}"].set_y(INPUTS - 1 - k + 0.2)

    def read_out(result):
        refused = result["refused"][result["chosen"]]
        hours = "over the rating" if refused else " / ".join(map(_hours, result["hours"][result["chosen"]]))
        return [
            ("usable while new (Wh)", f"{result['usable']:.1f}"),
            ("hours, cells of 0 to 5 years: 5 / 50 / 95 %", hours),
            ("decided by", "–" if refused else _deciders(result)),
            ("cells", f"{result['count']}"),
        ]

    def describe(values, result):
        sentence = (
            f"{values['mass']:.1f} kg of {CHEMISTRIES[values['cell']]} at {values['temperature']:g} °C: "
            + "; ".join(f"{name} {_told(result, offer)}" for offer, name in OFFERS.items())
        )
        if result["refused"][values["offer"]]:
            return f"{sentence}. The {OFFERS[values['offer']]} asks more than these cells may give."
        return f"{sentence}. Of the {OFFERS[values['offer']]}'s hours most is decided by: {_deciders(result)}."

    return LiveFigure(
        name="hours per charge",
        sliders=[
            Options("offer", "what moves the hours of", [(name, key) for key, name in OFFERS.items()], "skyhook"),
            Options("cell", "cells", [(name, key) for key, name in CHEMISTRIES.items()], "li_ion"),
            Slider("mass", "mass of the battery", 0.4, 3.0, 0.1, 0.5, "kg"),
            Slider("temperature", "temperature", -20, 40, 5, 20, "°C"),
        ],
        compute=_compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.7),
    )  # fmt: skip


# --- card -------------------------------------------------------------------------------------------------------------

CARD_CAPTION = (
    "Trail bike: hours of riding from half a kilogram of lithium-ion cells, up to five years old, at 20 °C, 5 to 95 %."
)
CARD_ALT = (
    "Ranges of hours per charge on a logarithmic axis for the trail bike: the mode switch some hundreds of hours, the "
    "semi-active valve about a day, the skyhook motor two or three hours, the comfort-law motor less than one."
)


@style()
def card_figure():
    """The page in one picture: four ranges of hours, and the day they have to last."""
    figure, ax = new_figure((7, 3.2))
    pack = half_kilogram()
    for offer, row in ROWS.items():
        low, middle, high = (lasting(offer, pack).quantile(share) for share in (0.05, 0.5, 0.95))
        look = _look(offer)
        ax.plot([low, high], [row, row], color=look["color"], linewidth=6, alpha=0.45, solid_capstyle="butt")
        ax.plot(middle, row, linestyle="none", markersize=8, **look)
        ax.text(middle, row + 0.2, f"{OFFERS[offer]}: {_hours(middle)} h ({_hours(low)} to {_hours(high)})",
                color=look["color"], ha="center", va="bottom", fontsize=9, path_effects=CLEAR)  # fmt: skip
    ax.axvline(DAY, color=INK, linestyle=(0, (2, 2)), linewidth=1.2)
    ax.text(DAY * 1.1, -0.5, f"a day: {DAY:g} h", va="bottom", fontsize=9)
    ax.set(xscale="log", xlim=(0.08, 4e3), ylim=(-0.6, 3.7), yticks=[], xlabel="hours of riding per charge",
           title="Half a kilogram of lithium-ion cells on the trail bike")  # fmt: skip
    ax.set_xticks([0.1, 1, 10, 100, 1000], ["0.1", "1", "10", "100", "1000"])
    ax.minorticks_off()
    ax.grid(visible=False, axis="y")
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
