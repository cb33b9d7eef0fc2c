"""One small exercise of each kind, for the tests and the benchmark of answers."""

import math

from helpers.teaching.exercises import (
    Choice,
    Criterion,
    Design,
    Draw,
    Misconception,
    Numeric,
    Parameter,
    ShortText,
    Slip,
)


def frequency(n):
    return math.sqrt(n.rate / n.mass) / (2 * math.pi)


def numeric(**changes):
    parts = {
        "key": "E1",
        "title": "Natural frequency",
        "numbers": [Draw("mass", 30, 60, 1), Draw("rate", 4000, 9000, 50)],
        "question": lambda n: f"A body of {n.mass} kg rests on a spring of {n.rate} N/m. What is its frequency?",
        "answer": frequency,
        "unit": "Hz",
        "hints": ["Stiffness against mass sets the pace.", r"$\omega = \sqrt{k/m}$", "Then turns, not radians."],
        "slips": [
            Slip("rad/s", lambda n: 2 * math.pi * frequency(n), "That is in rad/s; the question asks for Hz."),
            Slip("no root", lambda n: n.rate / n.mass, "The square root is missing."),
            Slip("upside down", lambda n: math.sqrt(n.mass / n.rate), lambda n: f"{n.mass} kg is on top."),
        ],
        "solution": lambda n: f"The root of {n.rate}/{n.mass}, over $2\\pi$, is {frequency(n):.3g} Hz.",
    }
    return Numeric(**parts | changes)


def choice(**changes):
    parts = {
        "key": "P",
        "title": "Firmer",
        "question": "What does a firmer damper do?",
        "answer": "c",
        "options": {"a": "helps", "b": "harms", "c": "it depends"},
        "feedback": {"a": "only near resonance", "b": "only far above it", "c": "the frequency decides"},
    }
    return Choice(**parts | changes)


def short_text(**changes):
    parts = {
        "key": "E2",
        "title": "Warm damper",
        "question": "Why does a passive damper get warm on a rough track when nobody heats it?",
        "ideas": ["Its force does negative work.", "That energy becomes heat.", "The heat goes into the oil."],
        "misconceptions": [Misconception("spring", "The spring warms it.", "The spring gives its energy back.")],
        "model": "Its force does negative work, and that becomes heat in the oil.",
    }
    return ShortText(**parts | changes)


def design(**changes):
    parts = {
        "key": "E5",
        "title": "Choose",
        "question": "Choose damping and hold time.",
        "parameters": [
            Parameter("damping", "damping coefficient", 100, 3000, "N*s/m"),
            Parameter("hold", "hold time", 0, 0.3, "s"),
            Parameter("rest", "rest state", options=("open", "closed")),
        ],
        "judge": lambda v, n: [
            Criterion("damping ratio", v.damping / 3000, 0.4),
            Criterion("hold time", v.hold, 0.2, "s", "at least", "Hold on."),
        ],
        "passing": {"damping": "0.9 kN*s/m", "hold": "300 ms", "rest": "Open"},
    }
    return Design(**parts | changes)
