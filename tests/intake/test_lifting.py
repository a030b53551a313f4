from hypothesis import given
from hypothesis import strategies as st

from kb.intake.lifting import Doubt, Lifted, cut


def test_the_joints_are_mended() -> None:
    text = "lamp on, XX, rough (XX) at idle. XX."
    spans = [Lifted(9, 11), Lifted(20, 22), Lifted(33, 35)]
    assert cut(text, spans) == "lamp on, rough at idle."


def test_words_may_stay_in_the_place() -> None:
    assert cut("on: ABS/XX now", [Lifted(4, 10, "ABS")]) == "on ABS now"


def test_a_sign_before_a_number_stays() -> None:
    assert cut("XX -4 °C", [Lifted(0, 2)]) == "-4 °C"
    assert cut("XX - lean", [Lifted(0, 2)]) == "lean"


@given(st.text())
def test_nothing_lifted_changes_nothing(text: str) -> None:
    assert cut(text, []) == text.strip()


@given(st.lists(st.text("ab,;. ()\n-", max_size=8), min_size=2, max_size=5))
def test_words_outside_the_spans_stay_in_order(parts: list[str]) -> None:
    text, spans = parts[0], []
    for part in parts[1:]:
        spans.append(Lifted(len(text), len(text) + 2))
        text += f"XX{part}"
    letters = [char for char in cut(text, spans) if char in "ab"]
    assert letters == [char for char in "".join(parts) if char in "ab"]


def test_a_doubt_reads_as_a_sentence() -> None:
    assert str(Doubt("5 m ohm", "may be two things")) == "“5 m ohm” may be two things"
