"""The likeness to dangerous sentences: its table is what the kept sentences say.

What is dangerous was judged by people of the trade; common practice, no source.
"""

from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.safety import igniter_likeness
from kb.safety.igniter import Shown, Withheld, judged
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_likeness import (
    FEWEST,
    STEP,
    Columns,
    is_like_dangerous,
    is_like_harmless,
    likeness,
    parts_of_words,
    rows,
    runs_of_words,
    scales,
)
from kb.safety.igniter_lines import withheld_line
from kb.safety.igniter_steps import dangerous_step
from tests.benchmarks.igniter_fit import allowed, checksum, fitted, kept, table
from tests.benchmarks.igniter_fit import scales as scales_of

CERTAIN = "ohmed the squib with a multimeter, 2.2"


def test_the_table_is_fitted_to_the_kept_sentences() -> None:
    assert scales().sentences == checksum(), (
        "write it anew: python tests/benchmarks/igniter_fit.py --write"
    )
    marks = rows().marks
    assert len(marks) == scales().pieces
    assert (marks[1:] > marks[:-1]).all()


def test_a_sentence_is_weighed_as_scikit_learn_weighs_it() -> None:
    """Reference: scikit-learn's ``TfidfVectorizer`` and ``LogisticRegression``."""
    some = kept()[::40]
    model = fitted(some)
    texts = [each.text for each in kept()[7::400]]
    likeness.cache_clear()
    with (
        patch.object(igniter_likeness, "rows", return_value=Columns.of(table(model))),
        patch.object(igniter_likeness, "scales", return_value=scales_of(model, "")),
    ):
        ours = [likeness(text) for text in texts]
    likeness.cache_clear()
    assert np.std(ours) > 1
    np.testing.assert_allclose(ours, model.scores(texts), atol=30 / STEP)


def test_the_kept_dangerous_ones_are_more_like_dangerous_ones() -> None:
    some = kept()[::20]
    score = {
        dangerous: np.median([likeness(each.text) for each in some if each.dangerous is dangerous])
        for dangerous in (True, False)
    }
    assert score[True] > scales().hidden_from / STEP
    assert score[False] < scales().shown_below / STEP


def test_what_may_be_done_is_like_no_dangerous_one() -> None:
    assert [
        each for each in allowed() if not isinstance(judged(each, igniter_job=True), Shown)
    ] == []


@pytest.mark.parametrize("text", ["stood in front of the wheel bag as the supply went back on"])
def test_what_the_lists_do_not_know_is_hidden_and_asked_about(text: str) -> None:
    assert isinstance(judged(text, igniter_job=True, alike=False), Shown)
    verdict = judged(text, igniter_job=True)
    assert verdict == Withheld(Reason.LIKENESS, text)
    danger = dangerous_step(text, igniter_job=True, alike=True)
    assert danger is not None
    assert danger.reason is Reason.LIKENESS
    assert not danger.certain
    assert "not plainly allowed" in withheld_line(reason=Reason.LIKENESS)
    # a name or a complaint is judged by the lists alone
    assert dangerous_step(text, igniter_job=True) is None


@given(st.sampled_from([each.text for each in kept() if not each.dangerous]), st.booleans())
def test_no_harmless_sentence_beside_it_releases_what_is_certain(other: str, first: bool) -> None:
    text = f"{other}, {CERTAIN}" if first else f"{CERTAIN}, {other}"
    assert isinstance(judged(text, igniter_job=True), Withheld)


@given(st.text(st.characters()))
def test_nothing_is_like_both(text: str) -> None:
    assert not (is_like_dangerous(text) and is_like_harmless(text))


@given(st.lists(st.sampled_from(["bag", "meter", "squib", "2.2", "on"]), max_size=FEWEST - 1))
def test_so_few_words_are_like_nothing(words: list[str]) -> None:
    text = " ".join(words).replace(".", "")
    assert not is_like_dangerous(text)
    assert not is_like_harmless(text)


@pytest.mark.parametrize("pieces", [runs_of_words, parts_of_words])
def test_the_pieces_grow_with_the_length_only(pieces: igniter_likeness.Pieces) -> None:
    sizes = [len(list(pieces(" ".join(f"zorb{at}" for at in range(size))))) for size in (100, 200)]
    assert sizes[1] <= 2.1 * sizes[0]


@pytest.mark.parametrize(
    "text",
    [
        "battery connected again, ignition on, lamp self-test ok, lamp off",
        "switched the key on and read the codes again, B1212-1B back",
        "reconnected battery, switched on, no codes",
    ],
)
def test_the_end_of_a_job_is_like_no_dangerous_step(text: str) -> None:
    """Common practice, no source."""
    assert isinstance(judged(text, igniter_job=True), Shown)
