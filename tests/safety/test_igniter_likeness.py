"""The likeness to dangerous sentences: its table is what the kept sentences say.

What is dangerous was judged by people of the trade; common practice, no source.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.intake.items import trade_wording
from kb.safety.igniter import Shown, Withheld, dangerous_step, judged, withheld_line
from kb.safety.igniter_acts import Reason
from kb.safety.igniter_clauses import clauses_of
from kb.safety.igniter_likeness import FEWEST, STEP, is_like_dangerous, traits_of, weights
from tests.benchmarks.igniter_fit import allowed, fitted, kept, table

SLACK = 2
"""Another machine may round the last places of a weight otherwise."""


def test_the_table_is_what_the_kept_sentences_say() -> None:
    read = table(fitted(kept()), weights().enough / STEP)
    assert (weights().sentences, weights().traits.keys()) == (
        read["sentences"],
        read["traits"].keys(),
    )
    assert abs(weights().bias - read["bias"]) <= SLACK
    for trait, (count, weight) in read["traits"].items():
        assert weights().traits[trait][0] == count, trait
        assert abs(weights().traits[trait][1] - weight) <= SLACK, trait


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


@given(st.text(), st.booleans())
def test_likeness_only_hides_more(text: str, igniter_job: bool) -> None:
    by_lists = judged(text, igniter_job=igniter_job, alike=False)
    if isinstance(by_lists, Withheld):
        assert isinstance(judged(text, igniter_job=igniter_job), Withheld)


@given(st.lists(st.sampled_from(["bag", "meter", "squib", "2.2", "on"]), max_size=FEWEST - 1))
def test_so_few_words_are_like_nothing(words: list[str]) -> None:
    assert not is_like_dangerous(clauses_of(" ".join(words), trade_wording()))


def test_the_traits_grow_with_the_length_only() -> None:
    sizes = []
    for size in (100, 200):
        text = " ".join(f"zorb{at}" for at in range(size))
        sizes.append(len(traits_of(clauses_of(text, trade_wording()))))
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
