from hypothesis import given
from hypothesis import strategies as st

from kb.intake.wording import Wording
from tests.benchmarks.tagging.trade import trade_marks

WORDING = Wording.default()


@given(st.text(max_size=12))
def test_any_word_has_its_marks_once(word: str) -> None:
    marks = trade_marks(word.casefold(), WORDING)
    assert len(set(marks)) == len(marks)
    assert set(marks) <= {"part", "work", "failure", "known"}
