"""Pictures of workbook 11: a ride and its lever, the live year of a rider, a tornado, and the card."""

import numpy as np
from matplotlib.patches import Rectangle

from helpers.course import economics
from helpers.teaching.live import LiveFigure, Options, Slider
from helpers.teaching.plots import GHOST, INK, PALETTE, new_figure, still, style

BLUE, ORANGE, PLUM = PALETTE["active"], PALETTE["semi_active"], PALETTE["mode_switching"]
OF_MONEY = ("hour", "price", "years", "resale", "upkeep")
PREDICTED = {"a": 7.0, "b": 3.5, "c": 1.75, "d": 14.0}  # hours that each option says
PARTS = ("the lever", "watts uphill", "mass uphill", "chores", "saved in a year")
YEARS = np.linspace(1.0, 10.0, 37)
CHEAPEST, DEAREST = 5.0, 5000.0  # euro an hour, ends of the axis


@style()
def ride_sketch(climbs=6):
    """Height over time in one ride: the lever is moved at the foot and at the top of each climb."""
    figure, ax = new_figure((9, 2.3))
    ax.plot(np.arange(2 * climbs + 1), np.arange(2 * climbs + 1) % 2, color=INK, linewidth=1.5)
    for name, at, marker, height in (
        ("lock", np.arange(0, 2 * climbs, 2), "s", 0),
        ("open", np.arange(1, 2 * climbs, 2), "o", 1),
    ):
        ax.plot(at, np.full(climbs, height), marker, color=ORANGE, markersize=8)
        for x in at:
            ax.text(x, height + (0.15 if height else -0.17), name, ha="center", va="center", fontsize=9, color=ORANGE)
    ax.set(xlim=(-0.6, 2 * climbs + 0.4), ylim=(-0.4, 1.4), xlabel="time", yticks=[], xticks=[],
           title=f"{climbs} climbs: the hand goes to the lever {2 * climbs} times")  # fmt: skip
    ax.set_ylabel("height")
    return still(figure, f"Height over time in one ride: {climbs} climbs, each with a mark *lock* at its foot and "
                 f"*open* at its top, {2 * climbs} marks in all.")  # fmt: skip


# --- the live figure --------------------------------------------------------------------------------------------


def worth_figure(riders, hours, worth, prediction=""):
    """Live: a rider's hours of a year by where they come from, and what one of them costs over the years of use.

    riders: ranges by rider's name; hours, worth: the page's functions of a year.
    """

    def year(rider, rides, hand, price):
        middle = economics.likely(riders[rider])
        return middle | {"rides": rides * middle["rides"], "seconds": hand * middle["seconds"], "price": float(price)}

    def parts(inputs):
        only = {name: value for name, value in inputs.items() if name not in OF_MONEY}
        none = only | {"seconds": 0.0, "watts": 0.0, "mass": 0.0, "chores": 0.0}
        each = [hours(**none | {name: only[name]}) for name in ("seconds", "watts", "mass", "chores")]
        return np.array([*each, sum(each)]), hours(**none | {"seconds": only["seconds"], "counted": 1.0})

    def compute(rider, rides, hand, price):
        inputs = year(rider, rides, hand, price)
        bars, every = parts(inputs)
        costs = np.array([-worth(**inputs | {"hour": 0.0, "years": y}) for y in YEARS])
        cost, free = (-worth(**inputs | {"hour": 0.0, "price": p}) for p in (price, 0.0))
        afford = (inputs["hour"] * bars[-1] - free) * price / (cost - free)
        curve = costs / bars[-1] if bars[-1] > 0.0 else np.full(len(YEARS), np.nan)
        return {"bars": bars, "every": every, "hour": inputs["hour"], "years": inputs["years"], "cost": cost,
                "curve": curve, "afford": afford}  # fmt: skip

    def build(figure, result):
        left, right = figure.subplots(1, 2, width_ratios=(1.15, 1.0))
        left.set(xlim=(-4.0, 17.0), ylim=(len(PARTS) - 0.4, -0.6), xlabel="hours a year",
                 title="Where the hours come from")  # fmt: skip
        left.set_yticks(range(len(PARTS)), PARTS)
        left.axvline(0.0, color=INK, linewidth=1.0)
        left.grid(visible=False, axis="y")
        for row, width in enumerate(result["bars"]):
            left.add_patch(Rectangle((0.0, row - 0.42), width, 0.84, facecolor="none", edgecolor=GHOST["color"]))
        right.set(xlim=(1.0, 10.0), ylim=(CHEAPEST, DEAREST), yscale="log", xlabel="years of use",
                  ylabel="euro for an hour saved", title="Below the orange line it pays")  # fmt: skip
        right.plot(YEARS, np.clip(result["curve"], CHEAPEST, DEAREST), **GHOST)
        right.set_yticks([10, 100, 1000], ["10", "100", "1000"])
        held = {"every": left.add_patch(Rectangle((0.0, -0.34), 1.0, 0.68, facecolor="none", edgecolor=BLUE,
                                                  linestyle=(0, (4, 2))))}  # fmt: skip
        held["bars"] = [left.add_patch(Rectangle((0.0, row - 0.28), 1.0, 0.56, facecolor="#9cc4de", edgecolor=BLUE))
                        for row in range(len(PARTS))]  # fmt: skip
        held["texts"] = [left.text(0.0, row, "", va="center", fontsize=9) for row in range(len(PARTS))]
        held["curve"] = right.plot(YEARS, YEARS, color=BLUE)[0]
        held["here"] = right.plot([1.0], [10.0], "o", color=BLUE, markersize=8)[0]
        held["hour"] = right.axhline(10.0, color=ORANGE, linewidth=1.5)
        held["told"] = right.text(1.15, 10.0, "", color=ORANGE, va="top", fontsize=9)
        held["none"] = right.text(5.5, 2000.0, "", ha="center", fontsize=10)
        if prediction:
            left.axvline(PREDICTED[prediction], color=PLUM, linestyle=(0, (2, 1.5)), linewidth=1.3)
            aside = {"ha": "right"} if PREDICTED[prediction] > 12.0 else {}
            left.text(PREDICTED[prediction], 3.45, " predicted ", color=PLUM, va="center", fontsize=9, **aside)
        draw(held, result)
        return held

    def draw(held, result):
        held["every"].set_width(result["every"])
        for bar, text, width in zip(held["bars"], held["texts"], result["bars"], strict=True):
            bar.set_width(np.clip(width, -4.0, 17.0))
            text.set_text(f"{width:.2f}".replace("-", "−"))
            text.set_x(min(max(width, 0.0), 14.5) + 0.3)
        held["texts"][0].set_x(min(max(result["every"], 0.0), 14.5) + 0.3)
        held["curve"].set_ydata(np.clip(result["curve"], CHEAPEST, DEAREST))
        here = np.interp(result["years"], YEARS, result["curve"])
        held["here"].set_data([result["years"]], [np.clip(here, CHEAPEST, DEAREST)])
        held["hour"].set_ydata([result["hour"]] * 2)
        held["told"].set_y(0.95 * result["hour"])
        held["told"].set_text(f"worth to the rider: {result['hour']:.0f}")
        held["none"].set_text("" if result["bars"][-1] > 0.0 else "no hour is saved, at any price")

    def read_out(result):
        saved = result["bars"][-1]
        return [("saved in a year (h)", f"{saved:.2f}".replace("-", "−")),
                ("cost of a year (euro)", f"{result['cost']:.0f}"),
                ("an hour costs (euro)", f"{result['cost'] / saved:.0f}" if saved > 0.0 else "none is saved"),
                ("may cost at most (euro)", f"{max(result['afford'], 0.0):.0f}")]  # fmt: skip

    def describe(values, result):
        saved, lever = result["bars"][-1], result["bars"][0]
        head = f"{values['rider']}: the lever takes {lever:.2f} h a year that count, of {result['every']:.2f} h at it; "
        if saved <= 0.0:
            return f"{head}chores and mass take {abs(saved):.2f} h more than the automatic gives, so no price pays."
        pays = "so it pays" if result["cost"] < result["hour"] * saved else "so it does not pay"
        return (f"{head}{saved:.2f} h are left, at {result['cost'] / saved:.0f} euro each. An hour is worth "
                f"{result['hour']:.0f} euro to this rider, {pays}.")  # fmt: skip

    names = list(riders)
    return LiveFigure(
        name="a rider's year",
        sliders=[
            Options("rider", "rider", [(name, name) for name in names], names[0]),
            Slider("rides", "rides, times the rider's", 0.2, 2.0, 0.1, 1.0),
            Slider("hand", "seconds at the lever, times the rider's", 0.0, 2.0, 0.1, 1.0),
            Slider("price", "price", 100.0, 1900.0, 50.0, 1050.0, "euro"),
        ],
        compute=compute, build=build, draw=draw, read_out=read_out, describe=describe, size=(9, 3.6),
    )  # fmt: skip


# --- stills -----------------------------------------------------------------------------------------------------


@style()
def tornado(swings, title, most=8):
    """Bars of a measure between the low and the high end of each input, the widest on top. swings: {input: pair}."""
    figure, ax = new_figure((9, 3.4))
    shown = dict(list(swings.items())[:most])
    for row, ends in enumerate(shown.values()):
        ax.barh(row, max(ends) - min(ends), left=min(ends), height=0.6, facecolor="#9cc4de", edgecolor=BLUE)
        for value, word in zip(ends, ("low", "high"), strict=True):
            side = "left" if value == max(ends) else "right"
            ax.text(value, row, f" {word} ", ha=side, va="center", fontsize=8)
    every = [0.0, *(value for ends in shown.values() for value in ends)]
    room = 0.08 * (max(every) - min(every))
    ax.axvline(0.0, color=INK, linewidth=1.2)
    ax.set_yticks(range(len(shown)), shown)
    ax.invert_yaxis()
    ax.grid(visible=False, axis="y")
    ax.set(xlim=(min(every) - room, max(every) + room), xlabel="worth, euro a year (right of the line it pays)",
           title=title)  # fmt: skip
    told = "; ".join(f"{name} {low:.0f} to {high:.0f}".replace("-", "−") for name, (low, high) in shown.items())
    return still(figure, f"{title}. Worth in euro a year from the input's low to its high end: {told}.")


CARD_CAPTION = "What automatic firming is worth in a year to three invented riders: the middle nine tenths of draws."
CARD_ALT = (
    "Three bars of worth in euro a year. Bren's lies wholly right of zero: yes. Ilka's lies across zero: it depends on "
    "how many of her seconds at the lever count. Oda's lies wholly left: no."
)
# 5 %, middle and 95 % of the page's draws, to ten euro, and the word.
CARD_BARS = {"Bren": (80, 250, 470, "yes"), "Ilka": (-320, -10, 500, "it depends"), "Oda": (-310, -240, -190, "no")}


@style()
def card_figure():
    """The page in one picture: three riders, one part, three answers."""
    figure, ax = new_figure((7, 2.8))
    for row, (low, middle, high, word) in enumerate(CARD_BARS.values()):
        ax.barh(row, high - low, left=low, height=0.5, facecolor="#9cc4de", edgecolor=BLUE)
        ax.plot([middle, middle], [row - 0.25, row + 0.25], color=INK, linewidth=1.5)
        ax.text(high + 15, row, word, va="center")
    ax.axvline(0.0, color=INK, linewidth=1.2)
    ax.set_yticks(range(len(CARD_BARS)), CARD_BARS)
    ax.set(
        ylim=(2.6, -0.6), xlim=(-450, 700), xlabel="worth, euro a year", title="One part, three riders, three answers"
    )
    ax.grid(visible=False, axis="y")
    return figure


def card():
    """The card's picture for the page."""
    return still(card_figure(), CARD_ALT, CARD_CAPTION)
