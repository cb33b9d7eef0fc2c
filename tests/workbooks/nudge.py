"""Imported in a kernel before a page's first cell: every parameter, gain and ground is off by up to 1e-9 of itself.

What is changed here is what simulations and models take in, never a scene: a page may be rewritten at will. Times,
rates and counts (no unit) stay, for they become whole numbers of steps; vehicles and laws keep their fields, which
pages compare, and change where the stepper reads them.
"""

from dataclasses import fields, replace
from functools import wraps

import numpy as np

from helpers.control import law
from helpers.models import dampers, quantities, terrain
from helpers.simulation import kernel

SIZE = 1e-9
EXACT = ("", "s", "Hz")  # units


def nudged(numbers):
    """Each of a row of numbers, another share of SIZE larger or smaller; what is 0 or infinite stays so."""
    row = np.asarray(numbers, dtype=float)
    return row * (1.0 + SIZE * np.cos(np.arange(len(row))))


def nudged_fields(parameters):
    """The name and new value of every field with a unit that is not exact; none where it would leave its range."""
    told = [each for each in fields(parameters) if each.metadata.get("unit", "") not in EXACT]
    values = nudged([getattr(parameters, each.name) for each in told])
    return {
        each.name: float(value) for each, value in zip(told, values, strict=True)
        if each.metadata["low"] <= value <= each.metadata["high"]
    }  # fmt: skip


def around(owner, name):
    """Replace a function of a module or class by `change(function)`."""

    def put(change):
        plain = getattr(owner, name)
        setattr(owner, name, wraps(plain)(change(plain)))

    return put


@around(terrain.Profile, "__post_init__")
def _ground(plain):
    def made(profile):
        plain(profile)
        object.__setattr__(profile, "height", nudged(profile.height))

    return made


@around(kernel, "packed_vehicle")
def _vehicle(plain):
    return lambda vehicle: tuple(nudged(plain(vehicle)).tolist())


@around(dampers.DamperCurve, "packed")
def _curve(plain):
    return lambda curve: (*nudged(plain(curve)[:6]).tolist(), plain(curve)[6])  # the last is a flag


@around(law.Law, "packed")
def _law(plain):
    def packed(rule):
        if rule.code == law.MODE_SWITCH:  # its row holds counts and flags
            return plain(replace(rule, **nudged_fields(rule)))
        if rule.code == law.OWN:  # an address; what a learner's function decides from is off by itself
            return plain(rule)
        return nudged(plain(rule))

    return packed


@around(quantities.Checked, "__post_init__")
def _parameters(plain):
    def made(parameters):
        plain(parameters)
        if not isinstance(parameters, (law.Law, dampers.Side)) and not hasattr(parameters, "open_curve"):
            for name, value in nudged_fields(parameters).items():
                object.__setattr__(parameters, name, value)

    return made
