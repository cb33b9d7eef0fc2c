"""Worded, hostile and odd answers, for a test and a benchmark. Run as a program, it judges each and prints verdicts.

    python tests/teaching/odd_answers.py

One line of JSON for each answer, written at once: where a judgement hangs, the last line tells after which.
"""

import json
import time
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import numpy as np
from samples import choice, design, numeric, short_text

from helpers.teaching.exercises import Learner, check
from helpers.teaching.units import registry


class Silent:
    """Neither says what it is nor becomes a number."""

    def __str__(self):
        raise RuntimeError("no words")

    __repr__ = __float__ = __str__


class Broken:
    """Asked for anything, it fails."""

    def __getattr__(self, name):
        raise RuntimeError(name)


_UNITS = """
Hz hz HZ Hertz hertz herz 1/s s^-1 s⁻¹ /s per_second rad/s rpm rev/min kHz mHz MHz µHz ㎐ Hｚ Hz² hz. Hz! (Hz) [Hz]
{Hz} 'Hz' "Hz" Hz,s Hz;s Hz|s Hz\\s Hz/ /Hz *Hz Hz* Hz** Hz^ Hz^^2 Hz**-1**2 Hz^10 Hz^99999999999 Hz^Hz Hz^(Hz)
Hz^(9) Hz^- N*s/m N·s/m N⋅s/m N×s/m Ns/m N.s/m N-s/m N_s/m kNs/m N/(m/s) N/m*s kg/s m/s m/s² m/s2 m/s^2 m/s**2 m·s⁻²
ms-2 ms^-2 ㎨ ms m s mm cm μm µm km inch in ft lbf psi bar Pa kPa N/mm² W J Wh kWh A V % ‰ ° deg rad grad °C K °F
degC degF delta_degC mol fathom/fortnight parsec barn lightyear dB dBm pH bit byte pixel euro $ € Ω ohm Ω Å ℃ ℓ ﷼
赫兹 герц هرتز 赫 e pi c inf nan True None lambda import eval exec dimensionless count 1 11 1/1 1*1 1**1 1^1 0/0 1/0
1111111111**1111111111 m^9*m^9*m^9*m^9*m^9*m^9 km^9*km^9*km^9*km^9*km^9/mm^9/mm^9/mm^9
m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m*m ((((((((((Hz)))))))))) ((((((((((((((((((((((((((((((((Hz
))))))))))))))))))))) (Hz )Hz( ()()()() ////////// ********** yottayottayottametre
aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa! a_a_a_a_a_a_a_a_a_a_a_a_a_a!
"""
_WORDED = """
fifteen milliseconds|two|zero|minus three hertz|one half|a dozen|about two and a half|I do not know|?|no idea|42?|
see above|15 milliseconds after the first contact.|it takes 15 ms|15 ms, I think|roughly 2.3 Hz|2.3 Hz (rounded)|
2.3 Hz or so|f = 2.3|f=2.3Hz|f : 2.3 Hz|frequency = 2.3 Hz|the natural frequency of the body = 2.3 Hz|f₀ = 2.3 Hz|
≈ 2.3 Hz|~2.3 Hz|= 2.3|2.3 to 2.5 Hz|2.3-2.5 Hz|2.3–2.5|2.3 … 2.5|2.3..2.5|2.3±0.1 Hz|2.3 +/- 0.1 Hz|> 2 Hz|< 3 Hz|
≥2|2 < f < 3|between 2 and 3 Hz|1/3 Hz|1 / 3|7/3|½ Hz|2½ Hz|2 1/2 Hz|3:4|50%|50 %|0.5 of it|2,3 Hz|1,234 Hz|
1,234,567|1.234.567,8|1'234 Hz|1 234 Hz|12 34 Hz|4 h 21 min|4h21|1:30 h|90 min|1 h 30 min 5 s|1 min 30 s|2 days|
1e3 ms|half an hour|a week|2026-01-02|12:30:00|2.3e0 Hz|2.3E0Hz|2.3e Hz|2.3e+ Hz|e5 Hz|1e400 Hz|-1e400|1e-400 Hz|
1e99999999999 Hz|10^7|10^-7 Hz|10**8|10^10^10|10^99999999 Hz|2*10^3 Hz|2·10³ Hz|2×10³ Hz|2x10^3 Hz|2 * 10 ** 3|
10⁷ Hz|10⁻⁷|10⁹⁹⁹⁹⁹⁹⁹|2³|²|⁻|₂|2.3₂ Hz|2^3^4 Hz|2**2**2**2**2**2**2**2**2 Hz|+2.3 Hz|++2.3|--2.3 Hz|+-2|- 2.3 Hz|
−2.3 Hz|–2.3 Hz|2.3.4 Hz|.|..|,|-|+|.5|5.|0x1F Hz|0b11|1_000 Hz|1e3j|2j|i|nan|NaN Hz|inf|-inf|Infinity Hz|∞ Hz|None|
True|False|null|undefined|NULL|[]|{}|()|[2.3]|(2.3, 'Hz')|{"f": 2.3}|2.3;Hz|2.3\tHz|2.3\nHz|2.3\r\nHz|２．３　Ｈｚ|
２.３ Hz|٢.٣ Hz|२.३ Hz|𝟚.𝟛 Hz|②|Ⅳ Hz|二 Hz|2。3 Hz|2٫3 Hz|２，３ Ｈｚ|🚲|👩‍🔧 2.3 Hz|2.3 \u200bHz|2.3\u00a0Hz|
2.3\u202fHz|\ufeff2.3 Hz|\u202e2.3 Hz|\x00|2.3\x00 Hz|\x1b[31m2.3 Hz|\x07\x08|\ud800|2.3 \udfff Hz|\u2028\u2029|é|é|
ẛ̣|ﷺﷺﷺ|ﬃ|Z͑ͫ̓ͪ̂ͫ̽͏̴̙̤̞͉͚̯̞̠͍A̴̵̜̰͔ͫ͗͢L̠ͨͧͩ͘G|<b>2.3</b> Hz|<script>alert(1)</script>|<img src=x onerror=alert(1)>|
&lt;2.3&gt;|2.3&nbsp;Hz|$2.3$ Hz|$$\\frac{1}{2}$$|\\(2\\)|`2.3` Hz|```2.3```|**2.3** Hz|# 2.3|- 2.3|
[x](javascript:alert(1))|![x](file:///etc/passwd)|| |   |\t|\\|\\n|%s %d|{0}|{n.mass}|
__import__('os').system('true')|exit()|import os|lambda: 2|2 if True else 3|9**9**9**9|'; DROP TABLE answers; --|
../../etc/passwd|a|b|c|d|A|(c)|c)|C.|option c|c c|abc|с|ｃ|ⓒ|c\u0301|a or b|both|none|all of them|e|1|3|
The ENERGY of the wheel heats the oil.|I love pizza but firm soft legs climb rough|heat|yes|no|because|
Why does a passive damper get warm|open|closed|Open|OPEN |ajar|open closed|900 N*s/m|9e99 N*s/m|-1 s|300 ms|0.3 s|
0.30000000001 s|301 ms|0 s|1e-300 s
"""

SENTENCE = "The work of its force warms the oil. "


def odd_answers():
    """Some five hundred answers, in an order that is always the same."""
    texts = [f"2.3 {unit}" for unit in _UNITS.split()]
    texts += _WORDED.strip("\n").replace("|\n", "|").split("|")
    texts += [
        "9" * 10**6,
        "9" * 79,
        "0." + "0" * 77 + "1",
        "1 " * 40,
        "1 000 " * 13,
        "1," * 40,
        "1." * 40,
        "-" * 80,
        "(" * 80,
        "1" + " " * 10**6 + "Hz",
        "a" * 10**6,
        "a " * 10**5,
        "2 " + "Hz*" * 20000 + "Hz",
        "²" * 80,
        "ﷺ" * 80,
        "=" * 80,
        "a=" * 40,
        "2 " + "(" * 39 + ")" * 39,
        "2 " + "m^" * 39,
        "2 " + "1/" * 39,
        "2 " + "m/" * 38 + "m",
        "½" * 80,
        "2 " + "é" * 70 + "!",
        "10" * 40,
        "10^" * 26,
        "<" * 10**5,
        "\n" * 10**5,
        "e" * 80,
        "1e" * 40,
        "2 m\u0301" * 9,
    ]
    others = [
        2.3,
        -2.3,
        0,
        10**400,
        10**5000,
        -(10**9999),
        1e308,
        5e-324,
        float("nan"),
        float("inf"),
        -float("inf"),
        2j,
        True,
        False,
        None,
        ...,
        NotImplemented,
        b"2.3 Hz",
        b"2.3",
        b"\xff\xfe",
        bytearray(b"2"),
        memoryview(b"2"),
        range(3),
        slice(3),
        Decimal("2.3"),
        Decimal("NaN"),
        Decimal("sNaN"),
        Decimal("1e999999"),
        Fraction(7, 3),
        Fraction(1, 10**400),
        np.float64(2.3),
        np.float16(2.3),
        np.int8(2),
        np.uint64(2**63),
        np.bool_(True),
        np.nan,
        np.complex128(2),
        np.str_("2.3 Hz"),
        np.array(2.3),
        np.array([2.3]),
        np.arange(10**6),
        np.array([]),
        np.array(["2.3 Hz"]),
        np.ma.masked,
        np.datetime64("2026"),
        np.timedelta64(3, "s"),
        (),
        [],
        {},
        set(),
        (2.3,),
        [2.3],
        [2.3, "Hz"],
        (2.3, "Hz"),
        ("2.3", "Hz"),
        ("2.3 Hz", "Hz"),
        (2.3, None),
        (2.3, ""),
        (2.3, 2.3),
        ("Hz", 2.3),
        (2.3, "Hz", "s"),
        (2.3, ["Hz"]),
        ([2.3], "Hz"),
        (2.3, "m" * 10**6),
        (2.3, Silent()),
        (Silent(), "Hz"),
        (True, "Hz"),
        (2j, "Hz"),
        (float("nan"), "Hz"),
        (10**400, "Hz"),
        (2.3, b"Hz"),
        (2.3, registry().hertz),
        registry().Quantity(2.3, "Hz"),
        registry().Quantity(2.3, "m"),
        registry().Quantity([1, 2], "Hz"),
        registry().Quantity(20, "degC"),
        (..., "Hz"),
        (None, None),
        ("", "Hz"),
        list(range(10**5)),
        [[[[[[[[2.3]]]]]]]],
        {"x": 1},
        {"damping": "900 N*s/m", "hold": "300 ms", "rest": "open"},
        {"damping": 900, "hold": 0.3, "rest": "open"},
        {"damping": Silent(), "hold": "300 ms", "rest": "open"},
        {"damping": (Silent(), Silent()), "hold": "1 s", "rest": "open"},
        {"damping": "900 N*s/m", "hold": "300 ms", "rest": Silent()},
        {"damping": "nan", "hold": "inf s", "rest": []},
        {"damping": "900 N*s/m", "hold": "15 milliseconds after the first contact.", "rest": "open"},
        {1: 2},
        {None: None},
        {"damping": [900, "N*s/m"], "hold": ("300", "ms"), "rest": "ＯＰＥＮ"},
        {"damping": {}, "hold": {}, "rest": {}},
        Silent(),
        Broken(),
        object(),
        object,
        int,
        print,
        len,
        iter([2.3]),
        (SENTENCE, "1 3"),
        (SENTENCE, Silent()),
        (SENTENCE, "1 " * 10**5),
        (SENTENCE, [1, [2]]),
        (SENTENCE, "\x00"),
        (SENTENCE * 10**5, "1"),
        (Silent(), "1"),
        (x for x in "ab"),
        SimpleNamespace(magnitude=2.3),
        SimpleNamespace(magnitude=2.3, units="Hz"),
        SimpleNamespace(magnitude=Silent(), units=Silent()),
        ValueError("2.3 Hz"),
        Path("2.3"),
        json,
        frozenset("ab"),
        "2.3 Hz".encode("utf-16"),
        Ellipsis,
        type(None),
        np,
        np.dtype(float),
    ]
    return texts + others


EXERCISES = (numeric(), numeric(unit="", as_asked=True), choice(), short_text(), design())


def judged():
    """Each answer's verdicts on the five exercises, and the longest of the five times in seconds."""
    learner = Learner("", "", 1)
    for answer in odd_answers():
        verdicts, slowest = [], 0.0
        for exercise in EXERCISES:
            begun = time.perf_counter()
            verdicts.append(check(exercise, answer, learner))
            slowest = max(slowest, time.perf_counter() - begun)
        yield answer, verdicts, slowest


if __name__ == "__main__":
    for _, verdicts, _ in judged():
        print(json.dumps([[verdict.correct, verdict.message] for verdict in verdicts]), flush=True)
