"""What stands on the sheet of a specification: two pages, every number from its verification."""

import math
from dataclasses import fields

import numpy as np

from helpers.control.laws import Passive
from helpers.models.condition import FRICTION_WORN, LEAK_WORN, VALVE_WORN
from helpers.models.energy import HOUR
from helpers.models.orifice import BAR
from helpers.simulation.riding import law_name, rounded
from helpers.simulation.specification import ACTUATOR, BENEFITS, FAMILIES, NOTHING, duty, pressure
from helpers.simulation.verifying import FLOORS, LOOPS, WARMER, WITHIN
from helpers.teaching import kept
from helpers.teaching.plots import INK, PALETTE, new_figure, style
from helpers.teaching.sheet import Part, Picture, Sheet, svg_of

LONGEST = 110  # characters of each part of a learner's decision on the sheet; the page keeps the whole
SHOWN = 7  # earlier decisions that the second page holds, the last ones
CAUTIONS = (
    "No number here is a setting for a real machine, and no check stands for a test of a real one.",
    "Dampers hold gas and oil under pressure, springs hold energy on a parked machine: such work belongs to a "
    "qualified technician, by the maker's instructions.",
    "Lithium cells can burn: a fuse and a protection circuit belong to every pack, and it is not charged when frozen.",
    "A valve that fails can be soft where firm was counted on. Test stand first, then low speed on known ground, with "
    "protective equipment and a second person, within local rules.",
)  # fmt: skip


def said(value, unit=""):
    """A number with its unit for the sheet; 'never' for what does not come, 'not known' for what was not measured."""
    if math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "never"
    return f"{rounded(value)} {unit}".strip().replace("-", "\N{MINUS SIGN}")


def sheet(verification, by="", unless="", choice="", decisions=None):
    """The two-page `Sheet` of a `Verification`.

    by: who specifies. choice, unless: the choice in your own words, and what would change it. decisions: of earlier
    pages, as the course keeps them unless given.
    """
    spec, checks = verification.spec, verification.checks
    failed = verification.failed
    lead = f"It passes all {len(checks)} checks." if not failed else (
        f"It FAILS {len(failed)} of {len(checks)} checks: {'; '.join(check.name for check in failed)}.")  # fmt: skip
    below = ", ".join(filter(None, [short(by, 60), "workbook 12 of Suspension control, worked through"]))
    bought = "nothing is bought" if spec.family == "fixed" else f"{FAMILIES[spec.family]} suspension"
    earlier = kept.read().get("decisions", {}) if decisions is None else decisions
    return Sheet(f"Specification: {short(spec.machine.name, 40)}, {bought}", below, lead, tuple(filter(None, (
        Part("Decisions", short(choice, 3 * LONGEST), ("what", "chosen", "what it gives"), tuple(_chosen(verification)),
             (3, 6, 9)),
        Part("Checks", "", ("check", "found", "limit", "margin", "result"), tuple(map(_row, checks)), (10, 4, 4, 4, 3)),
        Part("Margins and rides", pictures=tuple(_pictures(verification))),
        _failures(verification),
        Part("Assumptions", points=tuple(_assumed(verification))),
        Part("What would change the choice", points=tuple(_would_change(verification, unless))),
        _earlier(earlier),
        Part("Cautions", points=CAUTIONS),
    ))))  # fmt: skip


def short(text, most=LONGEST):
    """A learner's text on one line, cut at `most` characters."""
    text = " ".join(str(text).split())
    return text if len(text) <= most else text[: most - 1] + "\N{HORIZONTAL ELLIPSIS}"


def _chosen(verification):
    spec, need, seen = verification.spec, verification.need, verification.varied
    unit = BENEFITS[need.benefit][1]
    yield ("machine", f"{short(spec.machine.name, 40)}, {rounded(spec.machine.body_mass)} kg on the wheel, "
           f"{spec.wheels:.0f} wheels", f"ridden with {100 * need.mass_spread:.0f} % more and less")  # fmt: skip
    low, middle, high = _quantiles(seen.gain)
    yield ("requirement", f"{need.benefit} less by {need.matters:g} {unit} on {' and '.join(need.sections)}",
           f"less by {said(middle)} {unit}, {said(low)} to {said(high)} in nine rides of ten")  # fmt: skip
    law = "a fixed damper" if spec.family == "fixed" else f"{FAMILIES[spec.family]}: {short(law_name(spec.law), 40)}"
    yield ("family, law", law, _numbers(spec.law))
    if spec.family == "fixed":
        return
    rest = {0.0: "open", 1.0: "firm"}.get(spec.rest, f"{spec.rest:g} of the way to firm, held by a stop")
    yield "rest state", rest, "without power the valve goes there"
    yield ("sampling, latency", f"{rounded(spec.sample_rate)} Hz, {rounded(1e3 * spec.latency)} ms to the order",
           f"age of what the damper acts on, on average: {said(1e3 * spec.age, 'ms')}")  # fmt: skip
    yield "valve, drive", f"{spec.drive}, {rounded(spec.power)} W", _moved(spec)
    pack = spec.pack
    cells = "none" if pack is None else f"{pack.count} of {pack.cell.name}, {rounded(pack.energy / HOUR)} Wh"
    try:
        drawn = duty(spec).power
    except ValueError:  # it cannot be ridden; a check says why
        drawn = math.nan
    yield "battery", cells, f"draw of the machine on the loop: {said(drawn, 'W')}"


def _numbers(law):
    if isinstance(law, Passive):
        return "nothing is sensed and nothing moves"
    told = [f"{each.name.replace('_', ' ')} {getattr(law, each.name):g}" for each in fields(law) if each.metadata]
    return ", ".join(told) or "as its author wrote it"


def _moved(spec):
    if spec.misfit or spec.drive in (NOTHING, ACTUATOR):
        return spec.misfit or "force without a valve"
    bar = round(pressure(spec.machine, spec.law, spec.rest) / BAR)
    if not spec.moves:
        return f"does not move its valve against {bar} bar"
    return (f"opens: 63 % of the force {said(1e3 * spec.response.force_63, 'ms')} after the order, against {bar} bar; "
            f"{said(1e3 * spec.move.energy, 'mJ')} a stroke")  # fmt: skip


def _quantiles(values):
    return np.quantile(values, (0.05, 0.5, 0.95)) if len(values) and np.isfinite(values).all() else (math.nan,) * 3


def _row(check):
    result = "passed" if check.passed else "FAILED"
    name = f"{check.name} ({check.note.rstrip('.')})" if check.note else check.name
    return (short(name, 160), said(check.measured, check.unit), f"{check.sense} {said(check.limit, check.unit)}",
            said(check.margin, check.unit), result)  # fmt: skip


def _failures(verification):
    rows = [(failure, *(f"{100 * pace:.0f} % of the speed" if pace else "not rideable" for pace in paces.values()))
            for failure, paces in verification.remains.items()]  # fmt: skip
    if not rows:
        return Part("What remains rideable", "There are no electronics that could fail.", page=True)
    told = (f"Rideable: no more vibration, time off the ground and travel than {WITHIN:g} times the plain damper's at "
            f"full speed, or {100 * FLOORS['airborne']:g} % of the time and all of the travel.")  # fmt: skip
    sections = verification.need.sections
    return Part(
        "What remains rideable", told, ("failure", *sections), tuple(rows), (4, *[3] * len(sections)), page=True
    )


def _assumed(verification):
    spec, need, count = verification.spec, verification.need, len(verification.varied.gain)
    yield (
        f"{count} rides: body mass {100 * need.mass_spread:.0f} % and speed {100 * need.pace_spread:.0f} % either way, "
        f"air {said(need.coldest)} to {said(need.hottest)} °C, the oil {WARMER:g} K warmer, {LOOPS} loops of one kind."
    )
    yield (f"Worn means: the leak beside the valve {100 * (LEAK_WORN - 1):.0f} % wider, the seals' friction "
           f"{100 * (FRICTION_WORN - 1):.0f} % up, the valve {100 * (VALVE_WORN - 1):.0f} % slower.")  # fmt: skip
    rival = f"calmest fixed damper of our {need.sections[-1]}, left as it is elsewhere"
    yield f"The reference is the {'plain damper of today' if spec.family == 'fixed' else rival}."
    yield "One wheel stands for all; speeds and accelerations are sensed without error, so a real law gains less."
    if spec.family != "fixed":
        yield (f"Battery, for the hours: {said(need.coldest)} °C and {need.years:g} years old. The peak is that of new "
               "cells at their mean voltage: aged or nearly empty ones give less.")  # fmt: skip
        yield ("A dead sensor reads zero. Not looked at, so ask: other faults of a sensor, the way into a failure, "
               "sealing, electromagnetic compatibility, endurance, tolerances.")  # fmt: skip
    if spec.move:
        yield ("Timed, and counted in the draw, is the opening of a new valve that rests shut, its oil at 40 °C. Not "
               "timed: closing, a valve that rests open. A piloted one shuts later: the age is greater.")  # fmt: skip


def _would_change(verification, unless):
    for check in verification.failed[:5]:
        yield f"It fails now: {check.name} would have to be {check.sense} {said(check.limit, check.unit)}."
    near = sorted(
        (check for check in _with_unit(verification) if check.passed and _relative(check) < 0.5), key=_relative
    )
    for check in near[:3]:
        yield f"Little to spare: {check.name}, {said(check.margin, check.unit)}."
    if short(unless):
        yield f"In the words of who specifies: {short(unless, 3 * LONGEST)}"


def _earlier(decisions):
    told = {page: each for page, each in sorted(decisions.items()) if isinstance(each, dict) and page != "12"}
    rows = [(page, *(short(each.get(name, "")) for name in ("choice", "number", "unless")))
            for page, each in told.items()][-SHOWN:]  # fmt: skip
    heads = ("page", "choice", "the number that decides", "unless")
    return Part("Decided on earlier pages", heads=heads, rows=tuple(rows), widths=(1, 6, 6, 6)) if rows else None


# --- pictures ---------------------------------------------------------------------------------------------------------


def _with_unit(verification):
    return [check for check in verification.checks if check.unit]


def _relative(check):
    """Margin over limit, -1 to 1; -1 where nothing was measured."""
    if math.isnan(check.margin):
        return -1.0
    size = max(abs(check.limit), 1e-9) if math.isfinite(check.limit) else 1.0
    return float(np.clip(check.margin / size, -1.0, 1.0))


def _pictures(verification):
    margins = {check.name: 100.0 * _relative(check) for check in _with_unit(verification)}
    words = "; ".join(f"{name} {said(margin, '%')}" for name, margin in margins.items())
    yield Picture(svg_of(_margins(margins), "margins"), f"Bars of the margin of each check over its limit: {words}.",
                  "Margin over the limit; hatched bars to the left of the line fail.")  # fmt: skip
    gains, need = np.sort(verification.varied.gain), verification.need
    unit = BENEFITS[need.benefit][1]
    if len(gains) and np.isfinite(gains).all():
        low, middle, high = _quantiles(gains)
        yield Picture(
            svg_of(_rides(gains, need, unit), "rides"), f"The gain of {len(gains)} varied rides in order, from "
            f"{said(gains[0])} to {said(gains[-1])} {unit}; half of them gain at least {said(middle)}, nine of ten "
            f"between {said(low)} and {said(high)}.",
            f"Gain of each varied ride, in order, and the {need.matters:g} {unit} that counts.",
        )  # fmt: skip


@style()
def _margins(margins):
    figure, ax = new_figure((5.2, 3.4))
    colours = [PALETTE["active"] if margin >= 0.0 else PALETTE["semi_active"] for margin in margins.values()]
    bars = ax.barh(range(len(margins)), margins.values(), height=0.65, color="white", edgecolor=colours)
    for bar, margin, colour in zip(bars, margins.values(), colours, strict=True):
        bar.set(**({"facecolor": colour} if margin >= 0.0 else {"hatch": "////"}))
    ax.axvline(0.0, color=INK, linewidth=1.2)
    ax.set(xlim=(-105.0, 105.0), ylim=(len(margins) - 0.4, -0.6), xlabel="margin over the limit (%)")
    ax.set_yticks(range(len(margins)), [short(name, 34) for name in margins], fontsize=7.5)
    ax.grid(visible=False, axis="y")
    return figure


@style()
def _rides(gains, need, unit):
    figure, ax = new_figure((5.2, 3.4))
    share = 100.0 * (np.arange(len(gains)) + 0.5) / len(gains)
    ax.plot(share, gains, color=PALETTE["active"])
    ax.axhline(need.matters, color=INK, linewidth=1.0)
    ax.axvline(100.0 * (1.0 - need.share), color=INK, linewidth=1.0, linestyle="dotted")
    ax.set(xlim=(0.0, 100.0), xlabel="share of the rides (%)", ylabel=f"{need.benefit} less ({unit})")
    ax.set_title("The line must pass the crossing above", fontsize=9)
    return figure
