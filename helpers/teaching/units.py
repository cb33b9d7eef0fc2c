"""Reading what a learner typed: a number with its unit, converted to the unit that the question asks for."""

import math
import re
from functools import lru_cache

_SUPERSCRIPT = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_RAISED = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
_SIGNS = str.maketrans({"−": "-", "·": "*", "⋅": "*", "×": "*", "\u00a0": " ", "\u2009": " ", "\u202f": " "})
_ANSWER = re.compile(r"(?:[^\W\d]\w{0,11}\s*[=≈]|[≈~])?\s*"                    # an optional "f ="
                     r"([+-]?\s?(?:\d{1,3}(?: \d{3})+(?!\d)|\d+)?(?:[.,]\d+)*\.?(?:[eE][+-]?\d+)?)"
                     r"(?:\s*[*x]\s*10\s*(?:\^|\*\*)\s*([+-]?\d+))?\s*(.*)", re.DOTALL)
# Only names with one-digit powers reach the units library: a tower of powers would keep it busy for ever.
_UNIT = re.compile(r"(?:[^\W\d]+(?:(?:\^|\*\*)-?\d)?|[°%]|1|[*/() ])*")
# What a plain number may count.
_COUNTED = {word + s for word in ("cell", "move", "piece", "setting", "step", "sample", "event") for s in ("", "s")}
_SPELLINGS = {"hz": "Hz", "khz": "kHz", "Nm": "N*m", "kNm": "kN*m", "Ns": "N*s", "kNs": "kN*s", "rev": "turn",
              "kmh": "km/h"}


class AnswerError(ValueError):
    """The answer cannot be read; the message is one sentence for the learner."""


@lru_cache(1)
def _registry():
    import pint  # half a second: only when the first answer is read

    return pint.UnitRegistry(cache_folder=None)


def clipped(text):
    """The learner's own text in one line of readable length."""
    try:
        text = " ".join(str(text).replace("`", "'").split())
    except ValueError:  # an integer of thousands of digits
        text = "a number that long"
    return text if len(text) <= 40 else text[:37] + "..."


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
    """A pint unit; AnswerError if the text is not one."""
    tidy = re.sub(r"[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+", lambda m: "^" + m[0].translate(_SUPERSCRIPT), text).translate(_SIGNS)
    tidy = re.sub(r"\s*(\^|\*\*)\s*", r"\1", tidy.strip())
    tidy = re.sub(r"(?<![\w^*])([^\W\d]+)(-?\d)\b", r"\1^\2", tidy)            # m/s2, s-1
    tidy = re.sub(r"[^\W\d_]+", lambda m: _SPELLINGS.get(m[0], m[0]), tidy)
    if len(tidy) <= 60 and _UNIT.fullmatch(tidy):
        try:
            return _registry().parse_units(tidy)
        except Exception:  # the library raises half a dozen unrelated types on nonsense
            pass
    raise AnswerError(f"The unit {quoted(text)} is not known; write it like Hz, N*s/m, m/s^2 or km/h.")


def _number(token, power, text):
    whole, _, decimals = token.partition(",")
    decimals = re.match(r"\d*", decimals)[0]
    if "," in token:
        if token.count(",") > 1 or "." in token or (len(decimals) == 3 and whole.strip("+- ") not in ("", "0")):
            raise AnswerError(f"In {quoted(text)} the comma may part thousands or decimals: "
                              "write 1200 or 1.2, with a point and without a comma.")
        token = token.replace(",", ".")
    try:
        return float(token.replace(" ", "")) * 10.0 ** int(power or 0)
    except (ValueError, OverflowError):
        raise AnswerError(f"There is no number that can be read in {quoted(text)}; "
                          "write one like 2.3 or 1.2e3.") from None


def _split(answer):
    """Value and unit text from '2.3 Hz', (2.3, 'Hz'), a bare number or a quantity of the units library."""
    if isinstance(answer, (tuple, list)) and len(answer) == 2:
        value, unit = answer
    elif hasattr(answer, "magnitude") and hasattr(answer, "units"):
        value, unit = answer.magnitude, str(answer.units)
    else:
        value, unit = answer, None
    if isinstance(value, str):
        if len(value) > 80:
            raise AnswerError("That is too long for a number with its unit; write for example '0.5 m'.")
        text = re.sub(r"10([⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+)", lambda m: "10^" + m[1].translate(_SUPERSCRIPT), value.strip())
        text = re.sub(r"^((?:[^\d=≈~]*[=≈~])?\s*[+-]?)10(?=\s*(?:\^|\*\*))", r"\g<1>1*10", text)  # a bare 10^7
        text = re.sub(r"^(\d+)\s*h\s*(\d{1,2})\s*min$", lambda m: f"{60 * int(m[1]) + int(m[2])} min", text)
        token, power, rest = _ANSWER.fullmatch(text.translate(_SIGNS)).groups()
        if re.match(r"(?:to|[-–])\s*\d", rest):
            raise AnswerError(f"{quoted(text)} is a range: give the one number that is asked for, with its unit.")
        value = _number(token, power, text)
        if unit is not None and rest:
            raise AnswerError(f"Give the unit once: {quoted(text)} already holds something after the number.")
        unit = rest if unit is None else unit
    try:
        number = math.nan if isinstance(value, bool) else float(value)
    except (TypeError, ValueError, OverflowError):
        number = math.nan
    if not math.isfinite(number):
        raise AnswerError(f"{quoted(answer)} is not a finite number with a unit.")
    return number, str(unit or "").strip()


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
        quantity = _registry().Quantity(value, source)
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
    return any(name.endswith("hertz") for name, _ in _registry().Quantity(1.0, unit).unit_items())


def _holds_angle(unit):
    return any(name == "radian" for name, _ in _registry().Quantity(1.0, unit).to_root_units().unit_items())
