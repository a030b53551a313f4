"""What an evaluation says in words, and the page it makes."""

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest

from kb.evaluation.compare import compare, compare_losses
from kb.evaluation.figures import Answer, Figures, Truth, figures
from kb.evaluation.replay import TOOL
from kb.reports.evaluate import (
    calibration_lines,
    comparison_line,
    loss_line,
    stage_lines,
    verdict_lines,
)
from kb.reports.evaluate_page import to_page
from kb.services.evaluate import Evaluation, QuestionKind, StageFigures, Way, evaluate
from kb.settings import Settings

RIGHT = Answer(chances={1: 0.9}, not_seen_before=0.1)
WRONG = Answer(chances={2: 0.9}, not_seen_before=0.1)
TRUTH = Truth(cause=1, new=False)


def test_words_say_who_is_ahead_or_that_nobody_can_tell() -> None:
    ahead = comparison_line("plain", compare([True] * 9, [False] * 9))
    assert ahead == "Ahead of plain: only it had 9 right, only they 0: +32.7 to +100.0 points."
    assert comparison_line("plain", compare([False] * 9, [True] * 9)).startswith("Behind plain")
    few = comparison_line("plain", compare([True] * 2, [False] * 2))
    assert few.startswith("Beside plain the store is too small to tell: only it had 2 right")
    alike = comparison_line("plain", compare([True], [True]))
    assert alike == "Beside plain nobody can tell: both had the same ones right."


def test_words_say_whose_chances_are_better() -> None:
    assert loss_line(compare_losses([0.5] * 40, [0.7, 0.9] * 20)).startswith(
        "Its chances are better: log loss -0.3"
    )
    assert loss_line(compare_losses([0.7, 0.9] * 20, [0.5] * 40)).startswith("Its chances are wor")
    assert "cannot be told" in loss_line(compare_losses([0.5], [0.7]))


def told(answers: list[Answer], truth: Truth = TRUTH) -> Figures:
    return figures(answers, [truth] * len(answers))


def test_chances_that_are_off_are_called_so_and_few_are_not() -> None:
    assert "nothing speaks against" in calibration_lines(told([RIGHT] * 180 + [WRONG] * 20))[0]
    assert "the chances are off" in calibration_lines(told([RIGHT] * 10 + [WRONG] * 40))[0]


FEW, HONEST = told([RIGHT] * 4 + [WRONG]), told([RIGHT] * 180 + [WRONG] * 20)
OFF = told([RIGHT] * 90 + [WRONG] * 360)


@pytest.mark.parametrize(
    ("stages", "says"),
    [
        ([HONEST, HONEST], ["At every stage the chances hold within 0.03 beyond luck."]),
        ([HONEST, OFF], ["The chances are off by more than luck explains: 1."]),
        ([FEW, FEW], ["Whether the chances hold cannot be told from so few at any stage; honest"]),
        ([OFF, FEW], ["The chances are off by more", "Whether the chances hold cannot be told"]),
        ([FEW, HONEST], ["Whether the chances hold cannot be told from so few: 0; ", "They hold"]),
    ],
)
def test_stages_are_told_by_whether_their_chances_hold(
    small: Evaluation, stages: list[Figures], says: list[str]
) -> None:
    """What honest chances would be off by, too, is never called as good as honest."""
    named = tuple(StageFigures(name=f"{n}", figures=each) for n, each in enumerate(stages))
    lines = stage_lines(replace(small, stages=named))[1:]
    assert len(lines) == len(says)
    assert all(line.startswith(start) for line, start in zip(lines, says, strict=True))


def test_of_few_questions_nobody_says_that_the_chances_hold() -> None:
    assert FEW.tells_little
    assert not HONEST.tells_little
    (line, *_) = calibration_lines(FEW)
    assert line.endswith("with so few: whether the chances hold cannot be told.")
    assert "nothing speaks against" in calibration_lines(HONEST)[0]


def test_what_no_stage_tells_of_is_left_out(small: Evaluation) -> None:
    assert stage_lines(replace(small, stages=())) == []


def test_not_seen_before_needs_both_kinds_to_be_judged() -> None:
    assert "cannot be judged" in calibration_lines(told([RIGHT]))[-1]
    both = figures([RIGHT, WRONG], [TRUTH, Truth(cause=7, new=True)])
    assert "given 10% on average where the cause was new, 10%" in calibration_lines(both)[-1]


def test_a_share_comes_with_how_sure_it_is() -> None:
    way = Way(
        name=TOOL, figures=told([RIGHT] * 5 + [WRONG] * 5), program_first=None, program_loss=None
    )
    whole = QuestionKind(group="all", name="all", questions=10, new=0, ways=(way,))
    # Wilson's 95% interval of 5 in 10 is 0.2366 to 0.7634 (R package binom; from memory)
    assert verdict_lines(whole, 0.95)[0].endswith("that means 24% to 76%.")
    # and the 80% interval 0.3122 to 0.6878, by Wilson's formula with z = 1.2816
    assert verdict_lines(whole, 0.8)[0].endswith("that means 31% to 69%.")


@pytest.fixture
def small(small_store: str) -> Evaluation:
    return evaluate(small_store, Settings(), least_known=1)


def test_the_page_is_well_formed_and_stands_alone(small: Evaluation) -> None:
    page = to_page(small)
    assert not re.search(r"https?:|src=|href=|@import|url\(", page)
    root = ET.fromstring(page[page.index("<body>") : page.index("</html>")])
    first, calibration, kinds = root.iter("svg")
    assert len(list(first.iter("rect"))) == 6
    assert list(calibration.iter("circle"))
    assert len(list(kinds.iter("rect"))) == len(small.strata)
    assert len(list(root.iter("table"))) == 4


def test_a_page_of_nothing_says_why(empty_store: str) -> None:
    page = to_page(evaluate(empty_store, Settings()))
    assert "none asked" in page
    assert "no closed job" in page
