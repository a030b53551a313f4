"""Replay: a case is never found by itself."""

from kb.evaluation.replay import replay
from kb.intake.wording import Wording
from kb.settings import Settings
from tests.recall.shop import CASES


def test_cases_are_asked_without_themselves() -> None:
    replayed = list(replay(CASES, CASES, Wording.default(), Settings()))
    assert [each.job for each in replayed] == CASES
    # jobs 1 and 2 have the cause in common, every other cause was seen once
    assert all(each.rank in (1, 2) for each in replayed[:2])
    assert [each.rank for each in replayed[2:]] == [None] * 4
