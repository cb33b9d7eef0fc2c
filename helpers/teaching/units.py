"""Reading what a learner typed: a number with its unit, converted to the unit that the question asks for.

Whatever was typed is read in milliseconds: length is bounded first, and no pattern here can read the same characters
in two ways (`++` and `*+` never give back what they took), so none has alternatives to try without end.
"""

import math
import re
import reprlib
import unicodedata
from functools import lru_cache

import numpy as np

LONGEST = 80  # characters of a number with its unit
_RAISED = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_LOWERED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")
_SIGNS = str.maketrans("−–·⋅∙×∕⁄", "--****//")
_ANSWER = re.compile(
    r"(?:[^\W\d]\w{0,11}\s?[=≈]|[≈~])?\s?"  # an optional "f ="
    r"([+-]?\s?(?:\d{1,3}(?: \d{3})++(?!\d)|\d++)?(?:[.,]\d++)*+\.?(?:[eE][+-]?\d++)?)"
    r"(?:\s?[*x]\s?10\s?(?:\^|\*\*)\s?([+-]?\d++))?\s?(.*)"
)
# Only names with one-digit powers, and 1 over something, reach the units library, which would work out a tower of
# powers or of digits for ever.
_UNIT = re.compile(r"(?:[^\W\d]++(?:(?:\^|\*\*)-?\d)?|[°%]|1(?= ?/)|[*/() ])*+")
# What a plain number may count.
_COUNTED = {word + s for word in ("cell", "move", "piece", "setting", "step", "sample", "event") for s in ("", "s")}
_SPELLINGS = {
    "hz": "Hz", "khz": "kHz", "Nm": "N*m", "kNm": "kN*m", "Ns": "N*s", "kNs": "kN*s", "rev": "turn", "kmh": "km/h",
}  # fmt: skip


class AnswerError(ValueError):
    """The answer cannot be read; the message is one sentence for the learner."""


@lru_cache(1)
def registry():
    """The units library, loaded once: half a second, which a page spends when it is opened."""
    import pint

    units = pint.UnitRegistry(cache_folder=None)
    units.define("euro = [money] = EUR")
    return units


class _Short(reprlib.Repr):
    """A container's first members, each as str() shows it: a learner meets 2.5 and not a type's name."""

    def repr_instance(self, x, level):
        return str(x)

    repr_int = repr_instance


def clipped(thing):
    """What the learner gave, in one line of readable length and without control characters."""
    try:
        text = (thing if isinstance(thing, str) else _Short().repr(thing))[:400]
    except Exception:  # an object that cannot say what it is, an integer of thousands of digits
        text = "something that cannot be shown"
    text = " ".join("".join(c if c.isprintable() else " " for c in text.replace("`", "'")).split())
    return text if len(text) <= 40 else text[:37] + "..."


def plain(text):
    """One spelling for what looks alike: full-width letters, signs, spaces; superscripts as ^2."""
    text = re.sub("[⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺]++", lambda m: "^" + m[0].translate(_LOWERED), text)
    return " ".join(unicodedata.normalize("NFKC", text).translate(_SIGNS).split())


def quoted(text):
    """The learner's own text as code in Markdown."""
    return f"`{clipped(text)}`" if clipped(text) else "an empty text"


def pretty(unit):
    """A unit for reading: N*s/m as N·s/m, no asterisk for Markdown to take as emphasis; 1/s^4 as 1/s⁴, W^0.5 as √W."""
    rooted = re.sub(r"([^\W\d]+)\^0\.5", r"√\1", unit.replace("*", "·"))
    return re.sub(r"\^(-?\d)", lambda power: power[1].translate(_RAISED), rooted)


def with_unit(value, unit, digits=3):
    """A value with its unit for reading: 2.31 Hz, 2·10⁶ N/m; digits are significant, without a power below 1e6."""
    text = f"{value:.{digits}g}"
    if "e" in text and 1e-3 <= abs(value) < 1e6:
        text = f"{float(text):.0f}"
    elif "e" in text:
        size, power = text.split("e")
        text = f"{size}·10{str(int(power)).translate(_RAISED)}".removeprefix("1·")
    return f"{text} {pretty(unit)}".strip()


@lru_cache(256)
def _parse_unit(text):
    """A unit of the library for a `plain` text; AnswerError if it is none."""
    tidy = re.sub(r" ?(\^|\*\*) ?", r"\1", text.replace("€", "euro")) if len(text) <= LONGEST else "?"
    tidy = re.sub(r"(?<![\w^*])([^\W\d]++)(-?\d)\b", r"\1^\2", tidy)  # m/s2, s-1
    tidy = re.sub(r"[^\W\d_]++", lambda m: _SPELLINGS.get(m[0], m[0]), tidy)
    if len(tidy) <= LONGEST and _UNIT.fullmatch(tidy):
        try:
            return registry().parse_units(tidy)
        except Exception:  # the library raises half a dozen unrelated types on nonsense
            pass
    raise AnswerError(f"The unit {quoted(text)} is not known; write it like Hz, N*s/m, m/s^2 or km/h.")


def _number(token, power, text):
    whole, _, decimals = token.partition(",")
    decimals = re.match(r"\d*", decimals)[0]
    if "," in token:
        if token.count(",") > 1 or "." in token or (len(decimals) == 3 and whole.strip("+- ") not in ("", "0")):
            raise AnswerError(
                f"In {quoted(text)} the comma may part thousands or decimals: "
                "write 1200 or 1.2, with a point and without a comma."
            )
        token = token.replace(",", ".")
    try:
        return float(token.replace(" ", "")) * 10.0 ** int(power or 0)
    except (ValueError, OverflowError):
        raise AnswerError(
            f"There is no number that can be read in {quoted(text)}; write one like 2.3 or 1.2e3."
        ) from None


def _parted(answer):
    """Number or text, and the unit's text or None, of '2.3 Hz', (2.3, 'Hz'), a bare number, a quantity of pint."""
    if isinstance(answer, (tuple, list)) and len(answer) == 2:
        value, unit = answer
    elif hasattr(answer, "magnitude") and hasattr(answer, "units"):
        value, unit = answer.magnitude, answer.units
    else:
        value, unit = answer, None
    if not isinstance(value, str):
        no_number = isinstance(value, (bool, np.bool_, complex, np.ma.MaskedArray)) or getattr(value, "ndim", 0)
        value = math.nan if no_number else float(value)
    return value, None if unit is None else str(unit)


def _split(answer):
    """Value and unit text of an answer; AnswerError if it is not a finite number."""
    try:
        value, unit = _parted(answer)
    except Exception:  # any object may stand in an answer cell, and its conversion may raise anything
        value, unit = math.nan, None
    if max(len(text) for text in (value, unit, "") if isinstance(text, str)) > LONGEST:
        raise AnswerError("That is too long for a number with its unit; write for example '0.5 m'.")
    unit = None if unit is None else plain(unit)
    if isinstance(value, str):
        text = plain(value)
        marked = re.sub(r"^((?:[^\d=≈~]*+[=≈~])?\s?[+-]?)10(?=\s?(?:\^|\*\*))", r"\g<1>1*10", text)  # a bare 10^7
        marked = re.sub(r"^(\d++)\s?h\s?(\d{1,2})\s?min$", lambda m: f"{60 * int(m[1]) + int(m[2])} min", marked)
        token, power, rest = _ANSWER.fullmatch(marked).groups()
        if re.match(r"(?:to|-|±)\s?\d", rest):
            raise AnswerError(f"{quoted(text)} is a range: give the one number that is asked for, with its unit.")
        if token and re.match(r"/\s?\d", rest):
            raise AnswerError(f"{quoted(text)} is a fraction: work it out and give one number, such as 0.25.")
        value = _number(token, power, text)
        if unit is not None and rest:
            raise AnswerError(f"Give the unit once: {quoted(text)} already holds something after the number.")
        unit = rest.rstrip(". ") if unit is None else unit
    if not math.isfinite(value):
        raise AnswerError(f"{quoted(answer)} is not a finite number with a unit.")
    return value, (unit or "").strip()


def read_quantity(answer, unit, converting=True):
    """The learner's answer as a float in `unit`.

    answer: '2.3 Hz', '2,3 Hz', (2.3, 'Hz'), a bare number (only where unit is ''). A comma before three digits
    could mean thousands, so it is asked back. Without `converting`, only the unit itself will do.
    Raises AnswerError, one sentence, if it cannot be read.
    1 Hz is read as one turn per second: 6.283 rad/s answers 1 Hz (SI leaves the radian out; learners may not).
    """
    value, given = _split(answer)
    if not given:
        if unit:
            raise AnswerError(f"{quoted(f'{value:.6g}')} has no unit yet: add one, such as {pretty(unit)}.")
        return value
    if given == unit or (not unit and given in _COUNTED):
        return value
    source, target = _parse_unit(given), _parse_unit(unit)
    try:
        quantity = registry().Quantity(value, source)
        turns = (_in_hertz(target) and _holds_angle(source)) - (_in_hertz(source) and _holds_angle(target))
        converted = float(quantity.to(target).magnitude) / (2 * math.pi) ** turns
    except Exception:  # wrong dimension, overflow, offset temperature: one answer for the learner
        asked = f"{pretty(unit)} or a unit that converts to it" if unit else "a plain number without a unit"
        raise AnswerError(f"{quoted(given)} measures something else: the question asks for {asked}.") from None
    if not converting and source != target:
        raise AnswerError(f"The question asks for {pretty(unit)} itself: convert {quoted(given)}.")
    if not math.isfinite(converted):
        raise AnswerError(f"{quoted(given)} makes the number too large to compare.")
    return converted


def _in_hertz(unit):
    return any(name.endswith("hertz") for name, _ in registry().Quantity(1.0, unit).unit_items())


def _holds_angle(unit):
    return any(name == "radian" for name, _ in registry().Quantity(1.0, unit).to_root_units().unit_items())
