"""The check of an answer: units, tolerance, named slips, and that nothing a learner types breaks it."""

import math
import string

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from samples import choice, design, frequency, numeric, short_text

from helpers.course import Skyhook, bike, my_law, own_law, ride, step_ground
from helpers.teaching.design import LawParameter
from helpers.teaching.exercises import Choice, Criterion, Draw, Learner, Misconception, Numeric, Slip, check
from helpers.teaching.verification import verify

DEMO = Learner("", "", 1)
names = st.text(max_size=20)


# ---- the drawn numbers


@given(names, names, st.integers(-1000, 1000), st.integers(1, 50), st.sampled_from([1, 5, 0.5, 0.1, 0.05, 0.025]))
def test_drawn_numbers_stay_in_range_and_on_the_step(name, code, low, steps, step):
    high = round(low + steps * step, 6)
    value = Learner(name, code, 3).draw("E1", [Draw("x", low, high, step)]).x
    assert low <= value <= high
    assert abs((value - low) / step - round((value - low) / step)) < 1e-6
    assert isinstance(value, int) == isinstance(step, int)


def test_name_and_code_ignore_case_and_spaces_but_nothing_else():
    draws = [Draw("x", 0, 10**9, 1)]
    x = Learner("Ada Tarn", "Spring 26", 1).draw("E1", draws).x
    assert x == Learner("  ada  TARN ", "spring26", 1).draw("E1", draws).x
    others = [
        Learner("Ada Tarm", "Spring 26", 1),
        Learner("Ada Tarn", "Spring 27", 1),
        Learner("Ada Tarn", "", 1),
        Learner("Ada Tarn", "Spring 26", 2),
        Learner("AdaTarnS", "pring 26", 1),
    ]
    other_key = Learner("Ada Tarn", "Spring 26", 1).draw("E2", draws).x
    assert len({x, other_key, *(other.draw("E1", draws).x for other in others)}) == 7


@pytest.mark.parametrize(
    "one, same",
    [
        ("Zoë Brønsted", "Zoe\u0308 Brønsted"),
        ("Ångström", "A\u030angstro\u0308m"),
        ("Łukasz", "ŁUKASZ"),
        ("Ada Tarn", "ada\u00a0tarn"),
        ("Ada Tarn", "\ufeffAda\u2009\u202fTarn\u3000\n"),
        ("Ada\u200b Tarn", "Ada\u00ad Tarn"),
        ("Ada T.", "Ada T"),
        ("Ada Tarn.", "ADA TARN . "),
        ("Straße", "STRASSE"),
        ("Ａｄａ", "Ada"),
        ("İnci", "I\u0307nci"),
        ("O’Neill", "O'Neill"),
        ("ﬁlip", "Filip"),
        ("", " \t\u00a0"),
        ("Ada", "Ada\ud800"),
    ],
)
def test_one_person_draws_one_set_of_numbers_however_the_name_is_typed(one, same):
    draws = [Draw("x", 0, 10**9, 1)]
    assert Learner(one, "S", 1).draw("E1", draws) == Learner(same, "S", 1).draw("E1", draws)
    assert Learner("Bo", one, 1).draw("E1", draws) == Learner("Bo", same, 1).draw("E1", draws)


def test_accents_and_other_marks_still_tell_people_apart():
    draws = [Draw("x", 0, 10**9, 1)]
    names = ("Zoë", "Zoe", "Zoé", "A. Tarn", "Ada-Tarn", "AdaTarn", "Ada.Tarn", "Ada1", "Ada2")
    assert len({Learner(name).draw("E1", draws).x for name in names}) == len(names)


def test_drawn_numbers_are_the_same_for_ever():
    """SHA-256 of 'ada', 'x', '1', 'E1', 'mass' parted by 1F, modulo 31 steps: worked by hand with sha256sum."""
    assert (
        Learner("Ada", "x", 1).draw("E1", [Draw("mass", 30, 60, 1)]).mass
        == 30 + int("b03eda2b77e5e7442f4b149b9f6371794767b3e784750480785640a6cc3d9277", 16) % 31
    )


def test_all_values_are_drawn_about_equally_often():
    seen = [Learner(f"p{k}").draw("E", [Draw("x", 0.1, 0.5, 0.1)]).x for k in range(1000)]
    assert set(seen) == {0.1, 0.2, 0.3, 0.4, 0.5}  # 0.3, not 0.30000000000000004
    # chi-squared with 4 degrees of freedom: 18.47 is passed by chance once in a thousand (standard table)
    assert sum((seen.count(v) - 200) ** 2 / 200 for v in set(seen)) < 18.47


@pytest.mark.parametrize("low, high, step", [(0, 1, 0), (0, 1, -1), (1, 1, 1), (2, 1, 1), (0, 1, 0.3)])
def test_a_draw_that_cannot_be_counted_is_refused(low, high, step):
    with pytest.raises(ValueError, match="Draw x"):
        Draw("x", low, high, step)


@given(names)
def test_right_answer_passes_in_any_unit_and_within_two_percent(name):
    exercise, learner = numeric(), Learner(name, "code", 1)
    right = frequency(exercise.drawn(learner))
    for answer in (
        f"{right} Hz",
        f"{right / 1000} kHz",
        (right * 60, "1/min"),
        (2 * math.pi * right, "rad/s"),
        f"{right * 1.019:.9g} Hz",
        f"{right * 0.981:.9g} Hz",
        f"{right:.9f} Hz".replace(".", ","),
    ):
        assert check(exercise, answer, learner).correct, answer
    for answer in (f"{right * 1.021:.9g} Hz", f"{right * 0.979:.9g} Hz", f"{right} kHz", f"{-right} Hz", f"{right}"):
        assert not check(exercise, answer, learner).correct, answer


@pytest.mark.parametrize(
    "times, slip, says",
    [
        (2 * math.pi, "rad/s", "asks for Hz"),
        (1000, "factor 1000", "milli or kilo"),
        (0.001, "factor 1000", "milli"),
        (2, "factor 2", "factor of two"),
        (0.5, "factor 2", "factor of two"),
        (-1, "sign", "which direction"),
        (1.3, None, "too large"),
        (0.7, None, "too small"),
        (-1.3, None, "the sign is wrong"),
    ],
)
def test_each_slip_gets_its_own_message(times, slip, says):
    right = frequency(numeric().drawn(DEMO))
    verdict = check(numeric(), (times * right, "Hz"), DEMO)
    assert (verdict.correct, verdict.slip) == (False, slip)
    assert says in verdict.message


def test_right_beats_slips_and_the_first_slip_beats_the_second():
    same = [Slip(name, frequency, name) for name in "abc"]
    right = frequency(numeric().drawn(DEMO))
    assert check(numeric(slips=same), (right, "Hz"), DEMO).correct
    twice = [Slip(name, lambda n: 2 * frequency(n), name) for name in "abc"]
    assert check(numeric(slips=twice), (2 * right, "Hz"), DEMO).slip == "a"  # and the named beats the common one


def test_an_answer_of_zero_needs_an_absolute_tolerance():
    zero = numeric(answer=lambda n: 0.0, absolute=0.01)
    assert check(zero, "0.009 Hz", DEMO).correct and not check(zero, "0.011 Hz", DEMO).correct
    assert any("absolute" in problem for problem in verify(numeric(answer=lambda n: 0.0), DEMO))


@pytest.mark.parametrize("answer", [..., None, "", "  ", (..., "Hz"), {}, {"damping": ..., "hold": ...}])
def test_no_answer_says_what_to_put(answer):
    for exercise in (numeric(), choice(), short_text(), design()):
        verdict = check(exercise, answer, DEMO)
        assert not verdict.correct and verdict.message.startswith("No answer yet: put ")
    assert check(numeric(), ..., DEMO).message == (
        "No answer yet: put a number with its unit between the quotes, for example 0.5 Hz."
    )


typed = "0123456789.,eE+-^*/() " + string.ascii_letters + "²·%°"
anything = st.one_of(
    st.text(),
    st.text(typed),
    st.floats(),
    st.integers(),
    st.binary(),
    st.lists(st.integers()),
    st.complex_numbers(),
    st.tuples(st.floats(), st.text()),
    st.dictionaries(st.sampled_from(["damping", "hold", "rest", "x"]), st.text() | st.floats()),
)


@settings(max_examples=300)
@given(anything)
def test_the_check_never_raises_and_answers_in_words(answer):
    for exercise in (numeric(), choice(), short_text(), design()):
        verdict = check(exercise, answer, DEMO)
        assert isinstance(verdict.correct, bool) and verdict.message


@given(st.floats(0.01, 1e4), st.sampled_from([0.02, 0.05, 0.1]))
def test_tolerance_is_relative_to_the_right_answer(right, tolerance):
    exercise = numeric(answer=lambda n: right, tolerance=tolerance)
    assert check(exercise, (right * (1 + 0.99 * tolerance), "Hz"), DEMO).correct
    assert not check(exercise, (right * (1 + 1.01 * tolerance), "Hz"), DEMO).correct


# ---- choice, design


@pytest.mark.parametrize("written", ["{}", " {}) ", "({})", "{}.", "\t{}\n"])
def test_a_letter_is_read_however_it_is_written(written):
    letter = choice().drawn(DEMO).letters["c"]
    for form in (letter, letter.upper(), chr(ord(letter) + ord("ａ") - ord("a"))):
        assert check(choice(), written.format(form), DEMO).correct


def test_every_option_has_its_feedback_and_other_letters_are_named():
    letters = choice().drawn(DEMO).letters
    assert [check(choice(), letters[option], DEMO).slip for option in "abc"] == ["a", "b", None]
    assert "only near resonance" in check(choice(), letters["a"], DEMO).message
    for answer in ("d", "ab", "helps", 3):
        assert "is not one of the letters a, b, c" in check(choice(), answer, DEMO).message


def test_a_design_is_judged_by_running_the_model_every_time():
    runs = []

    def judge(values, n):
        runs.append(values)
        return [Criterion("damping ratio", values.damping / 3000, 0.4)]

    good = {"damping": (900, "N*s/m"), "hold": "300 ms", "rest": "closed"}
    assert check(design(judge=judge), good, DEMO).correct
    assert check(design(judge=judge), good, DEMO).correct
    assert [(r.damping, r.rest) for r in runs] == [(900, "closed")] * 2
    assert runs[0].hold == pytest.approx(0.3)
    assert not check(design(judge=lambda v, n: []), good, DEMO).correct
    assert not check(design(judge=lambda v, n: [Criterion("x", math.nan, 1)]), good, DEMO).correct
    assert not check(design(judge=lambda v, n: [Criterion("x", math.nan, 1, "", "at least")]), good, DEMO).correct


def test_a_law_of_the_learners_own_is_ridden_by_a_design():
    def judge(values, n):
        return [Criterion("vibration", ride(bike, step_ground(0.05), values.law).vibration, 100.0, "m/s^2")]

    own = {"parameters": [LawParameter("law", "your law")], "judge": judge}
    assert check(design(**own), {"law": own_law(lambda seen: 0.2)}, DEMO).correct
    assert "it returned None" in check(design(**own), {"law": own_law(lambda seen: None)}, DEMO).message
    force, told = own_law(lambda seen: 0.0, actuator=True), check(design(**own), {"law": own_law(abs)}, DEMO).message
    assert "an actuator's force; asked for is the valve's setting" in check(design(**own), {"law": force}, DEMO).message
    assert "at 0.000 s of the ride it stopped" in told and "TypeError" in told
    pulls = own | {"parameters": [LawParameter("law", "your law", actuator=True)]}
    assert check(design(**pulls), {"law": force}, DEMO).correct
    assert "the valve's setting; asked for is an actuator's" in check(design(**pulls), {"law": my_law}, DEMO).message
    for other in ("my law", 3, ("a", "b"), Skyhook(1000)):
        assert "cannot be used for law (your law)" in check(design(**own), {"law": other}, DEMO).message


def test_what_never_comes_is_said_so():
    assert str(Criterion("opening:", math.inf, 12.0, "ms", advice="Wider.")) == (
        "fails: opening: never, at most 12 ms. Wider."
    )


def test_a_design_reports_measure_limit_and_pass_for_each_criterion():
    verdict = check(design(), {"damping": "900 N*s/m", "hold": "30 ms", "rest": "open"}, DEMO)
    assert verdict.message.splitlines() == [
        "Not yet: the model was run on your values.",
        "",
        "- passes: damping ratio 0.3, at most 0.4",
        "- fails: hold time 0.03 s, at least 0.2 s. Hold on.",
    ]
    assert verdict.slip == "hold time"
    assert str(Criterion("force", 100.04, 100, "N")) == "fails: force 100.04 N, at most 100 N"


@pytest.mark.parametrize(
    "changed, says",
    [
        (
            {"damping": "9000 N*s/m"},
            "`9000 N*s/m` cannot be used for damping (damping coefficient): it may be 100 to 3000 N·s/m.",
        ),
        ({"damping": "900"}, "damping (damping coefficient): `900` has no unit yet"),
        ({"damping": "x"}, "100 to 3000 N·s/m"),
        ({"hold": ("301", "ms")}, "`301 ms` cannot be used for hold"),
        ({"rest": "ajar"}, "one of open, closed"),
        ({"rest": 3}, "one of open, closed"),
        ({"colour": "red"}, "asks for damping, hold, rest"),
    ],
)
def test_a_value_that_cannot_be_used_gets_one_sentence_and_no_run(changed, says):
    exercise = design(judge=lambda v, n: pytest.fail("the model must not run"))
    verdict = check(exercise, exercise.passing | changed, DEMO)
    assert not verdict.correct and says in verdict.message


def test_a_model_that_refuses_the_values_is_quoted():
    def judge(values, n):
        raise ValueError("QuarterCar: damping is 900 N*s/m; allowed is 0 to 1 N*s/m.")

    assert "allowed is 0 to 1" in check(design(judge=judge), design().passing, DEMO).message
    assert "asks for damping, hold, rest" in check(design(), "900 N*s/m", DEMO).message


# ---- authors' mistakes


@pytest.mark.parametrize("exercise", [numeric(), choice(), short_text(), design()])
def test_sound_exercises_verify(exercise):
    assert verify(exercise, DEMO) == []


def slips(*values):
    return [Slip(f"s{k}", value, f"message {k}") for k, value in enumerate(values)]


@pytest.mark.parametrize(
    "exercise, says",
    [
        (
            numeric(slips=slips(lambda n: 1.01 * frequency(n), lambda n: 99, lambda n: 999)),
            "'s0' coincides with the right",
        ),
        (numeric(slips=slips(lambda n: 9, lambda n: 9.1, lambda n: 999)), "'s0' and 's1' coincide"),
        (numeric(slips=slips(lambda n: 9, lambda n: math.nan, lambda n: 999)), "'s1' coincides"),
        # a coincidence that only those meet who draw a light body
        (
            numeric(slips=slips(lambda n: frequency(n) if n.mass < 34 else 99, lambda n: 9, lambda n: 999)),
            "'s0' coincides",
        ),
        (numeric(hints=["idea", "equation", lambda n: f"It is {frequency(n):.3g}."]), "hint 3 prints"),
        (numeric(hints=["idea", lambda n: f"It is {1000 * frequency(n):.4g} mHz.", "x"]), "hint 2 prints"),
        (numeric(hints=["idea", " ", "next"]), "hint 2 is empty"),
        (numeric(solution="See the book."), "does not state the answer"),
        (numeric(answer=lambda n: math.nan), "not finite"),
        (choice(feedback=dict.fromkeys("abc", "Think again.")), "two share their feedback"),
        (short_text(ideas=["Only one."]), "not two to five ideas"),
        (short_text(ideas=["Same.", "Same."]), "read alike"),
        (short_text(ideas=["energy", "Heat."]), "'energy' is not a sentence"),
        (short_text(misconceptions=[Misconception("m", "A zebra.", "no zebra")]), "'no zebra' is not a sentence"),
        (short_text(model="Too short."), "is not shown"),
        (design(passing={"damping": "3000 N*s/m", "hold": "300 ms", "rest": "open"}), "given as passing does not pass"),
        (design(judge=lambda v, n: [Criterion("x", 0, 1)]), "nothing has to be designed"),
    ],
)
def test_verify_names_what_an_author_got_wrong(exercise, says):
    problems = verify(exercise, DEMO)
    assert any(says in problem for problem in problems), problems


@pytest.mark.parametrize(
    "make",
    [
        lambda: numeric(slips=numeric().slips[:2]),
        lambda: numeric(hints=["one", "two"]),
        lambda: numeric(tolerance=0),
        lambda: numeric(tolerance=0.5),
        lambda: numeric(absolute=-1),
        lambda: numeric(kind="hard"),
        lambda: choice(answer="d"),
        lambda: choice(feedback={"a": "only a"}),
        lambda: Criterion("x", 1, 1, "", "about"),
    ],
)
def test_an_incomplete_exercise_cannot_be_made(make):
    with pytest.raises(ValueError, match="Exercise|Criterion"):
        make()


@given(names)
def test_hints_never_hold_the_answers_digits(name):
    exercise, learner = numeric(), Learner(name, "", 1)
    n = exercise.drawn(learner)
    digits = f"{frequency(n):.3g}"
    assume(len(digits) >= 3)
    assert not any(digits in (hint(n) if callable(hint) else hint) for hint in exercise.hints)


def test_a_unit_that_is_asked_for_must_be_given():
    asked = Numeric(
        key="U",
        title="Speed",
        question="Give 36 km/h in m/s.",
        answer=lambda n: 10.0,
        unit="m/s",
        as_asked=True,
        hints=("a", "b", "c"),
        slips=[Slip(str(k), lambda n, k=k: 100.0 * k, "no") for k in (2, 3, 4)],
        solution="10",
    )
    assert check(asked, "10 m/s", Learner()).correct
    verdict = check(asked, "36 km/h", Learner())
    assert not verdict.correct
    assert verdict.message == "The question asks for m/s itself: convert `km/h`."


def test_a_fraction_is_told_from_a_percentage():
    share = Numeric(
        key="S",
        title="Share",
        question="Which share?",
        answer=lambda n: 51.5,
        unit="%",
        hints=("a", "b", "c"),
        slips=[Slip(str(k), lambda n, k=k: 100.0 * k, "no") for k in (2, 3, 4)],
        solution="51.5",
    )
    assert check(share, "0.515 %", Learner()).slip == "fraction"
    assert check(share, "53.5 %", Learner()).message == "Near, but not within 2 %: check the last step."


def test_letters_are_letters_whatever_the_options_are_called():
    options = {"none": "nothing", "half": "half of it", "all": "all of it"}
    choice = Choice(key="P", title="Share", question="Which?", options=options, answer="half", feedback=dict(options))
    for code in ("", "autumn", "spring"):
        n = choice.drawn(Learner("", code, 1))
        assert sorted(n.letters.values()) == ["a", "b", "c"] and set(n.letters) == set(options)
        assert choice.option(n.letters["half"], n) == "half"
