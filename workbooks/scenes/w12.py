"""Pictures of workbook 12: where each answer goes, the live choice of drive and battery, and the card."""

import math
from dataclasses import replace

from matplotlib.patches import FancyArrowPatch, Rectangle

from helpers.models.cells import Pack, loaded, pack_for
from helpers.models.energy import HOUR
from helpers.simulation.specification import duty
from helpers.specifying import due
from helpers.teaching.live import LiveFigure, Options
from helpers.teaching.plots import GHOST, INK, PALETTE, new_figure, still, style

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
STEPS = (("what must it do?", "00, 01"), ("family and law", "02, 03, 04"), ("rest state", "04"),
         ("sampling, latency", "05, 06, 07"), ("valve and drive", "08, 10"), ("battery", "09"),
         ("worth it?", "11"))  # fmt: skip
PREDICTED = {"one": 1, "hours": 2, "peak": 3, "eight": 8}  # cells that each option says
LONGEST, MOST = 30.0, 12.0  # ms and cells that the axes show
CARD_CAPTION = "Seven decisions, each with the workbooks that answer it, on the way to the specification sheet."
CARD_ALT = (
    "Boxes in a row: what must it do, family and law, rest state, sampling and latency, valve and drive, battery, "
    "worth it. Below each stand the workbooks that answer it; an arrow, five hundred varied rides and four failures, "
    "leads to the sheet."
)


@style()
def card_figure(answered=True):
    """The decisions one after the other and the sheet that holds them; `answered`: with the workbooks behind each."""
    figure, ax = new_figure((9, 2.5 if answered else 2.3))
    ax.set(xlim=(0.0, 9.0), ylim=(0.0, 2.3))
    ax.axis("off")
    for k, (name, pages) in enumerate(STEPS):
        ax.add_patch(Rectangle((0.05 + 1.1 * k, 1.15), 0.98, 0.85, facecolor="#e4eff7", edgecolor=BLUE))
        ax.text(0.54 + 1.1 * k, 1.57, name.replace(" ", "\n", 1), ha="center", va="center", fontsize=8)
        ax.text(0.54 + 1.1 * k, 1.02, pages if answered else "?", ha="center", va="top", fontsize=8, color=ORANGE)
    ax.add_patch(Rectangle((7.9, 0.15), 1.0, 1.85, facecolor="white", edgecolor=INK, linewidth=1.4))
    ax.text(8.4, 1.1, "sheet\n\nchecks\nmargins\nfailures\nor: fails", ha="center", va="center", fontsize=8)
    ax.add_patch(FancyArrowPatch((0.6, 0.45), (7.8, 0.45), arrowstyle="-|>", mutation_scale=14, color=INK))
    ax.text(4.0, 0.5, "five hundred varied rides, four failures", ha="center", va="bottom", fontsize=9)
    return figure


def steps_sketch():
    """The same before anything is answered."""
    told = f"{CARD_ALT.split('. ')[0]}. Each has a question mark; an arrow leads to the sheet."
    return still(card_figure(answered=False), told)


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)


# --- the live figure --------------------------------------------------------------------------------------------


def _cells(spec, need, drawn):
    """(cells for the hours, aged; cells for the peak, new and half full), in the cold."""
    cell = spec.pack.cell
    hours = pack_for(cell, drawn.power * need.hours * HOUR, temperature=need.coldest, years=need.years).count
    peak = spec.wheels * spec.power + drawn.controller
    return hours, math.ceil(peak / loaded(Pack(cell), 0.0, need.coldest).most - 1e-9)


def drive_figure(specs, need, drives, prediction=""):
    """Live: what a drive, its power and the sample rate make of the age, and which battery they ask for.

    specs: specifications by machine, the first is shown; need: what they must do; drives: names to choose from.
    """

    def compute(machine, drive, power, rate):
        base = specs[machine]
        spec = base.changed(drive=drive, power=float(power), sample_rate=float(rate))
        parts = 500.0 / rate, 1e3 * spec.latency, 1e3 * spec.response.force_63 if spec.moves else math.inf
        move, before = spec.move, duty(base)
        drawn = replace(before, controller=before.controller * rate / base.sample_rate)
        if spec.moves:
            drawn = replace(drawn, per_actuation=move.energy, holding=move.holding_power)
        return {"parts": parts, "age": 1e3 * spec.age, "due": 1e3 * due(base, need), "moves": spec.moves,
                "power": drawn.power, "cells": _cells(spec, need, drawn),
                "most": need.battery / Pack(spec.pack.cell).mass}  # fmt: skip

    def build(figure, result):
        left, right = figure.subplots(1, 2, width_ratios=(1.5, 1.0))
        left.set(xlim=(0.0, LONGEST), ylim=(-1.0, 1.0), xlabel="ms", title="Age of what the damper acts on")
        left.set_yticks([])
        right.set(xlim=(0.0, MOST), ylim=(1.6, -0.7), xlabel="cells", title="Cells that it takes in the cold")
        right.set_yticks([0, 1], ["hours,\naged", "peak,\nnew"])
        for ax in (left, right):
            ax.grid(visible=False, axis="y")
        right.axvline(result["most"], color=INK, linewidth=1.2)
        right.text(result["most"] - 0.1, 1.5, "0.5 kg", ha="right", fontsize=9)
        if prediction:
            right.axvline(PREDICTED[prediction], color=PLUM, linestyle=(0, (2, 1.5)))
            right.text(PREDICTED[prediction] + 0.15, -0.6, "predicted", color=PLUM, va="top", fontsize=9)
        looks = ({"facecolor": "white", "hatch": "////"}, {"facecolor": "#e4eff7"}, {"facecolor": "#9cc4de"})
        held = {"parts": [left.add_patch(Rectangle((0.0, -0.25), 1.0, 0.5, edgecolor=BLUE, **look)) for look in looks]}
        ghost = sum(result["parts"])
        left.add_patch(Rectangle((0.0, -0.35), min(ghost, LONGEST), 0.7, facecolor="none", edgecolor=GHOST["color"]))
        left.text(11.5, -0.9, "hatched: wait for a sample; pale: to the\norder; blue: valve and drive", fontsize=8)
        held["due"] = left.axvline(result["due"], color=ORANGE)
        held["text"] = left.text(0.0, 0.6, "", color=ORANGE, fontsize=9)
        held["cells"] = [right.add_patch(Rectangle((0.0, k - 0.3), 1.0, 0.6, facecolor="#9cc4de", edgecolor=BLUE))
                         for k in (0, 1)]  # fmt: skip
        draw(held, result)
        return held

    def draw(held, result):
        begin = 0.0
        for bar, part in zip(held["parts"], result["parts"], strict=True):
            width = min(part, LONGEST - begin)
            bar.set(x=begin, width=width)
            begin += width
        limit = min(result["due"], LONGEST)
        held["due"].set_xdata([limit, limit])
        held["text"].set_position((limit + 0.3, 0.6))
        held["text"].set_text(f"allowed: {result['due']:.1f} ms")
        for bar, cells in zip(held["cells"], result["cells"], strict=True):
            bar.set_width(min(cells, MOST))

    def read_out(result):
        age = f"{result['age']:.1f}" if result["moves"] else "never"
        return [("age (ms)", age), ("allowed (ms)", f"{result['due']:.1f}"), ("draws (W)", f"{result['power']:.2f}"),
                ("cells for the hours", result["cells"][0]), ("cells for the peak", result["cells"][1])]  # fmt: skip

    def describe(values, result):
        hours, peak = result["cells"]
        if not result["moves"]:
            return (
                f"{values['machine'].capitalize()}: {values['drive']} with {values['power']} W does not move its valve."
            )
        time = "in time" if result["age"] <= result["due"] else "too late"
        decides = "the peak" if peak > hours else "the hours" if hours > peak else "both alike"
        return (
            f"{values['machine'].capitalize()}: the damper acts on what was {result['age']:.1f} ms ago, {time} for "
            f"the {result['due']:.1f} ms allowed. It takes {max(hours, peak)} cells; what decides: {decides}."
        )

    names = list(specs)
    return LiveFigure(
        name="drive and battery",
        sliders=[
            Options("machine", "machine", [(name, name) for name in names], names[0]),
            Options("drive", "drive", [(name, name) for name in drives], specs[names[0]].drive),
            Options("power", "power", [(f"{p} W", p) for p in (2, 5, 10, 20, 50)], 10),
            Options("rate", "sample rate", [(f"{r} Hz", r) for r in (50, 100, 200, 800, 3200)], 800),
        ],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.4),
    )  # fmt: skip
