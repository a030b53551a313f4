import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import InvalidField
from tests.benchmarks.tagging.named import LONGEST, ConfirmedText, NamedRun, candidates


@given(st.integers(0, 12))
def test_every_run_of_a_few_words_is_a_candidate_once(size: int) -> None:
    found = list(candidates(["word"] * size))
    assert len(set(found)) == len(found)
    assert set(found) == {
        (start, end)
        for start in range(size)
        for end in range(size + 1)
        if 0 < end - start <= LONGEST
    }


@pytest.mark.parametrize(
    "runs",
    [
        (NamedRun(1, 1, "part"),),
        (NamedRun(-1, 1, "part"),),
        (NamedRun(0, 3, "part"),),
        (NamedRun(0, 1, "part"), NamedRun(0, 1, "work")),
    ],
)
def test_runs_outside_the_text_and_two_of_the_same_words_are_refused(
    runs: tuple[NamedRun, ...],
) -> None:
    with pytest.raises(InvalidField):
        ConfirmedText(("clean", "plug"), runs)
