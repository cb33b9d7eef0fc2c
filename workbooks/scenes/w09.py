"""Pictures of workbook 09: what half a kilogram of cells holds, the live figure of hours per charge, the card."""

import numpy as np
from matplotlib.patheffects import withStroke

from helpers.models.cells import CELLS, JOULES_PER_WH, Pack
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import FAINT, GHOST, INK, PALETTE, STYLES, new_figure, still, style
from scenes.w09_numbers import (
    CAGE_MASS,
    DAY,
    FAMILY,
    NAMED,
    OFFERS,
    deciders,
    drawing,
    half_kilogram,
    lasting,
    winter,
)
from scenes.w09_seconds import (  # the page asks this module for its tables too
    climb_sentence,
    decision_table,
    mass_table,
    seconds_table,
    shares_table,
)
from scenes.w09_tables import (
    by_expression,
    cells_table,
    day_table,
    days_table,
    derivation,
    draw_steps,
    draw_table,
    four_draws_table,
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
    symbols_table,
    windings_sentence,
)

__all__ = [
    "by_expression", "card", "cells_table", "climb_sentence", "day_table", "days_table", "decision_table", "derivation",
    "draw_steps", "draw_table", "four_draws_table", "heat_table", "hours_figure", "limits", "mass_steps",
    "mass_table", "move_energy_table", "moves_table", "peak_table", "puzzle_sketch", "range_table", "ranges_table",
    "recovery_table", "returns_table", "seconds_table", "shares_table", "symbols_table", "windings_sentence",
]  # fmt: skip

ORANGE = PALETTE["semi_active"]
ROWS = dict(zip(OFFERS, (3, 2, 1, 0), strict=True))
PREDICTED = {"a": (0.5, "a: not an hour"), "b": (3.5, "b: a few hours"), "c": (24.0, "c: about a day"),
             "d": (6e3, "d: without end")}  # fmt: skip
CHEMISTRIES = {"li_ion": "lithium-ion", "lipo": "lithium-polymer", "nimh": "NiMH", "lead": "lead", "coin": "coin cells"}
MASSES = (0.005, 0.065, 0.12, 0.19, 0.25, 0.31, 0.37, 0.5, 1.0, 2.0, 3.0, 6.0, 8.0)  # kg, from one coin cell on
ONE_MOVE = 2.0  # W that the least drive in the table of moves asks while it moves
CLEAR = [withStroke(linewidth=3, foreground="white")]  # so that no line strikes a text
PAPER = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}  # nor the line of the day
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
           title="Half a kilogram of battery. Outline: label; line: new and warm; orange: third winter")  # fmt: skip
    ax.grid(visible=False, axis="y")
    return still(figure, f"Half a kilogram of battery, on the label and left in its third winter: {'; '.join(told)}.")


# --- the live figure --------------------------------------------------------------------------------------------------


def _compute(offer, cell, mass, temperature):
    chosen, nothing = CELLS[cell], dict.fromkeys(OFFERS, [np.nan] * 3)
    if mass < chosen.mass * 1.3:
        return {"hours": nothing, "why": dict.fromkeys(OFFERS, "not one cell"), "weak": False, "swings": [],
                "decided": "", "chosen": offer, "usable": 0.0, "count": 0}  # fmt: skip
    pack = Pack.within(chosen, mass)
    limit = pack.count * pack.cell.voltage * pack.cell.max_current
    found = {one: lasting(one, pack, float(temperature)) for one in OFFERS}
    median = found[offer].quantile(0.5)
    return {
        "hours": {one: [told.quantile(share) for share in (0.05, 0.5, 0.95)] for one, told in found.items()},
        "why": {one: "over the cells' rating" for one in OFFERS if drawing(one).quantile(0.5) > limit},
        "weak": limit < ONE_MOVE,
        "swings": [(NAMED[swing.name], swing.at_low / median, swing.at_high / median)
                   for swing in found[offer].swings[:INPUTS]],
        "decided": ", ".join(NAMED[swing.name] for swing in deciders(found[offer].swings)),
        "chosen": offer, "usable": pack.usable(float(temperature)) / JOULES_PER_WH, "count": pack.count,
    }  # fmt: skip


def _hours(value):
    return f"{value:.2g}" if value < 10 else f"{float(f'{value:.2g}'):.0f}"


def _told(result, offer):
    """The hours of an offer in words."""
    if offer in result["why"]:
        return result["why"][offer]
    low, middle, high = map(_hours, result["hours"][offer])
    words = f"{middle} h ({low} to {high})"
    return f"mean: {words}; one move: no (point 10)" if _hollow(result, offer) else words


def _hollow(result, offer):
    """Whether the cells feed the mean of the mode switch and not a single move."""
    return offer == "switch" and result["weak"] and offer not in result["why"]


def _minus(value):
    return f"{value:g}".replace("-", "−")


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
        right.set(xscale="log", xlim=(0.42, 2.4), ylim=(-0.6, INPUTS + 0.35), yticks=[],
                  xlabel="hours / hours at the median", title="What moves the hours")  # fmt: skip
        right.set_xticks([0.5, 0.7, 1.0, 1.4, 2.0], ["0.5", "0.7", "1", "1.4", "2"])
        right.minorticks_off()
        right.grid(visible=False, axis="y")
        right.axvline(1.0, color=FAINT, linewidth=1.0)
        held = {}
        for offer, row in ROWS.items():
            left.plot(result["hours"][offer][1], row, "o", markerfacecolor="none", markersize=13, **GHOST)
            look = _look(offer)
            held[offer] = left.plot(
                [1.0, 1.0], [row, row], color=look["color"], linewidth=5, alpha=0.45, solid_capstyle="butt"
            )[0]
            held[f"{offer} dot"] = left.plot(1.0, row, linestyle="none", markersize=8, **look)[0]
            held[f"{offer} text"] = left.text(
                0.0078, row + 0.26, "", color=look["color"], va="bottom", fontsize=9, bbox=PAPER
            )
        held["of"] = right.text(0.43, INPUTS - 0.05, "", va="bottom", fontsize=9, fontweight="bold", path_effects=CLEAR)
        held["none"] = right.text(0.46, INPUTS / 2, "", va="center", fontsize=9, bbox=PAPER)
        for k in range(INPUTS):
            held[f"bar {k}"] = right.plot(
                [1.0, 1.0], [k, k], color=PALETTE["plain"], linewidth=7, solid_capstyle="butt"
            )[0]
            held[f"name {k}"] = right.text(0.43, k + 0.2, "", va="bottom", fontsize=9, path_effects=CLEAR)
        if prediction:
            at, words = PREDICTED[prediction]
            left.plot(at, ROWS["skyhook"], marker="v", color=INK, markersize=11, linestyle="none")
            left.text(min(at, 9e2), ROWS["skyhook"] - 0.17, f"predicted, {words}", color=INK, va="top", ha="center",
                      fontsize=9, path_effects=CLEAR)  # fmt: skip
        draw(held, result)
        return held

    def draw(held, result):
        for offer, row in ROWS.items():
            low, middle, high = result["hours"][offer]
            gone, hollow, chosen = offer in result["why"], _hollow(result, offer), offer == result["chosen"]
            held[offer].set_data([np.nan, np.nan] if gone else [low, high], [row, row])
            held[offer].set_linestyle((0, (0.35, 0.35)) if hollow else "solid")
            held[f"{offer} dot"].set_data([np.nan if gone else middle], [row])
            held[f"{offer} dot"].set_markerfacecolor("white" if hollow else _look(offer)["color"])
            held[f"{offer} text"].set_text(f"{OFFERS[offer]}: {_told(result, offer)}")
            held[f"{offer} text"].set_fontweight("bold" if chosen else "normal")
        chosen = result["chosen"]
        held["of"].set_text(f"of the {OFFERS[chosen]}")
        held["none"].set_text(f"no bars: {result['why'][chosen]}" if chosen in result["why"] else "")
        for k in range(INPUTS):
            known = k < len(result["swings"]) and chosen not in result["why"]
            name, low, high = result["swings"][k] if known else ("", np.nan, np.nan)
            held[f"bar {k}"].set_data([low, high], [INPUTS - 1 - k] * 2)
            held[f"name {k}"].set_text(name)
            held[f"name {k}"].set_y(INPUTS - 1 - k + 0.2)

    def read_out(result):
        refused = result["why"].get(result["chosen"])
        hours = refused or " / ".join(map(_hours, result["hours"][result["chosen"]]))
        return [
            ("usable while new (Wh)", f"{result['usable']:.1f}"),
            ("hours, cells of 0 to 5 years: 5 / 50 / 95 %", hours),
            ("decided by", "–" if refused else result["decided"]),
            ("cells", f"{result['count']}"),
        ]

    def describe(values, result):
        sentence = (
            f"{values['mass']:g} kg of {CHEMISTRIES[values['cell']]} at {_minus(values['temperature'])} °C: "
            + "; ".join(f"{name} {_told(result, offer)}" for offer, name in OFFERS.items())
        )
        if not result["count"]:
            return f"{sentence}. One cell with its case weighs more."
        if values["offer"] in result["why"]:
            return f"{sentence}. The {OFFERS[values['offer']]} asks more than these cells may give."
        return f"{sentence}. Of the {OFFERS[values['offer']]}'s hours most is decided by: {result['decided']}."

    return LiveFigure(
        name="hours per charge",
        sliders=[
            Options("offer", "inputs of", [(name, key) for key, name in OFFERS.items()], "skyhook"),
            Options("cell", "cells", [(name, key) for key, name in CHEMISTRIES.items()], "li_ion"),
            Options("mass", "mass of the battery", [(f"{mass:g} kg", mass) for mass in MASSES], CAGE_MASS),
            Slider("temperature", "temperature", -20, 20, 5, 20, "°C"),
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
        at, side = {"switch": (middle, "center"), "valve": (DAY * 1.12, "left")}.get(offer, (DAY / 1.12, "right"))
        ax.text(at, row + 0.2, f"{OFFERS[offer]}: {_hours(middle)} h ({_hours(low)} to {_hours(high)})",
                color=look["color"], ha=side, va="bottom", fontsize=9)  # fmt: skip
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
