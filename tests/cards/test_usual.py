from hypothesis import given
from hypothesis import strategies as st

from kb.cards.usual import kind_of, usual_failure
from kb.case import Action, FailureMode


@given(st.text(max_size=20))
def test_the_kind_of_a_part_is_told_in_small_letters(component: str) -> None:
    kind = kind_of(component)
    assert kind == kind.casefold()
    assert not component.split() or kind


def test_a_part_fails_as_its_kind_unless_what_was_done_tells() -> None:
    """Common practice, no source."""
    assert usual_failure(Action.REPLACED, "rear brake pads") is FailureMode.WORN
    assert usual_failure(Action.TIGHTENED, "hose") is FailureMode.LOOSE
    assert usual_failure(Action.CLEANED, "fuel filter") is FailureMode.BLOCKED
    assert usual_failure(Action.CLEANED, "wheel speed sensor") is FailureMode.CONTAMINATED
    assert usual_failure(Action.REPLACED, "glovebox") is None
