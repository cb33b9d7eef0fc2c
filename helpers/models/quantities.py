"""Parameters with a unit, a range and a source, checked when they are made.

A parameter set is a frozen dataclass that inherits from `Checked` and declares each number with `quantity(...)`.
"""

from dataclasses import MISSING, dataclass, field, fields


def quantity(meaning, unit, low, high, *, symbol="", default=MISSING, source="invented for the course", quiet=False):
    """Declare a number field: what it means, its SI unit and the closed range allowed.

    `symbol` is LaTeX without dollar signs; `source` says where the default comes from. quiet: a whole table leaves it
    out while it stands at its default, which means that there is no such thing.
    """
    told = {"meaning": meaning, "unit": unit, "low": low, "high": high, "symbol": symbol, "source": source}
    told["quiet"] = quiet
    return field(metadata=told) if default is MISSING else field(default=default, metadata=told)


def in_range(owner, name, value, unit, low, high):
    """Return `value` as a float, or raise one sentence with the value, the field, its unit and the range.

    Raises TypeError for what is not a number and ValueError for what is outside [low, high] or not a number.
    """
    try:
        number = float(value)
        if isinstance(value, bool | str):
            raise TypeError
    except (TypeError, ValueError):
        raise TypeError(f"{owner}: {name} is {value!r}, which is not a number; {_allowed(unit, low, high)}.") from None
    if not low <= number <= high:  # NaN fails both comparisons
        told = f" {unit}" if unit else ""
        raise ValueError(f"{owner}: {name} is {number:.9g}{told}; {_allowed(unit, low, high)}.")
    return number


def _allowed(unit, low, high):
    return f"allowed is {low:g} to {high:g}" + (f" {unit}" if unit else "")


@dataclass(frozen=True)
class Checked:
    """Base of every parameter set: each `quantity` field is converted to float and held to its range."""

    def __post_init__(self):
        for told in fields(self):
            if "unit" in told.metadata:
                about = told.metadata
                value = in_range(
                    type(self).__name__, told.name, getattr(self, told.name), about["unit"], about["low"], about["high"]
                )
                object.__setattr__(self, told.name, value)


@dataclass(frozen=True)
class Row:
    """One line of a parameter table; numbers in the unit named."""

    name: str
    symbol: str
    meaning: str
    unit: str
    value: float
    low: float
    high: float
    source: str


def _silent(instance, told):
    return told.metadata["quiet"] and getattr(instance, told.name) == told.default


def table(instance, *names):
    """Rows that describe a parameter set's quantities (all that are not quiet, or those named), in declared order."""
    rows = [
        Row(
            name=told.name,
            value=getattr(instance, told.name),
            **{key: told.metadata[key] for key in ("symbol", "meaning", "unit", "low", "high", "source")},
        )
        for told in fields(instance)
        if "unit" in told.metadata and (told.name in names or (not names and not _silent(instance, told)))
    ]
    unknown = set(names) - {row.name for row in rows}
    if unknown:
        raise ValueError(f"{type(instance).__name__} has no quantity {', '.join(sorted(unknown))}.")
    return rows
