"""Whatever stands in an answer cell is judged: none hangs, none raises, each gets a sentence that can be read."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from odd_answers import EXERCISES, odd_answers
from samples import frequency, numeric

from helpers.teaching.exercises import Learner, check

WATCHDOG = 120  # seconds for all together, some two on an idle machine: tells answers from hangs and no more


@pytest.fixture(scope="module")
def verdicts(root):
    """For each odd answer, what the check says of it for each exercise, from a process that a hang cannot hold."""
    program = Path(__file__).with_name("odd_answers.py")
    try:
        run = subprocess.run(
            [sys.executable, "-X", "utf8", program],
            capture_output=True,
            encoding="utf-8",
            env=os.environ | {"PYTHONPATH": str(root)},
            timeout=WATCHDOG,
            check=False,
        )
    except subprocess.TimeoutExpired as stopped:
        done = (stopped.stdout or b"").count(b"\n")
        pytest.fail(f"the judgement of {odd_answers()[done]!r} hangs")
    told = [json.loads(line) for line in run.stdout.splitlines()]
    assert len(told) == len(odd_answers()), f"{odd_answers()[len(told)]!r}: {run.stderr}"
    return told


def test_there_are_enough_of_them():
    assert len(odd_answers()) >= 400


def test_each_gets_a_sentence_that_can_be_read(verdicts):
    for answer, told in zip(odd_answers(), verdicts, strict=True):
        assert len(told) == len(EXERCISES)
        for _, message in told:
            assert 20 < len(message) < 600, (answer, message)
            assert message.replace("\n", " ").isprintable(), message


def test_none_of_them_is_right_by_accident(verdicts):
    """Only a letter and values that pass are right."""
    right = [sum(told[k][0] for told in verdicts) for k in range(len(EXERCISES))]
    assert right[0] == right[1] == right[3] == 0 and right[2] <= 10 and right[4] <= 3, right


@pytest.mark.parametrize("form", ["{} Hz", "{} Hz.", "f = {} Hz", "≈ {}Hz", "{} ㎐", "{} s⁻¹", "{} rev/s", "+{} hertz"])
def test_a_right_answer_in_odd_clothes_is_right(form):
    learner = Learner("", "", 1)
    value = f"{frequency(numeric().drawn(learner)):.4f}"
    wide = value.translate(str.maketrans("0123456789.", "０１２３４５６７８９．"))
    for digits in (value, value.replace(".", ","), wide):
        assert check(numeric(), form.format(digits), learner).correct, form.format(digits)
