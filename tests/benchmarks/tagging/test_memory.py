from hypothesis import given
from hypothesis import strategies as st

from tests.benchmarks.tagging.memory import NOTHING, Memory
from tests.benchmarks.tagging.named import ConfirmedText, NamedRun, candidates
from tests.benchmarks.tagging.texts import confirmed_texts

FEW = st.lists(confirmed_texts(), min_size=1, max_size=5)


@given(FEW)
def test_without_a_text_is_what_the_others_say_of_its_facets(texts: list[ConfirmedText]) -> None:
    left = Memory.of(texts).without(texts[0])
    others = Memory.of(texts[1:])
    for facet in Memory.of(texts[:1]).seen:
        assert dict(left.shares(facet)) == dict(others.shares(facet))


@given(FEW)
def test_every_candidate_is_seen_once_by_its_words(texts: list[ConfirmedText]) -> None:
    seen = Memory.of(texts).seen
    runs = sum(sum(kinds.values()) for (side, _), kinds in seen.items() if side == "run")
    assert runs == sum(len(list(candidates(text.words))) for text in texts)


def test_what_was_seen_once_is_not_taken_for_certain() -> None:
    text = ConfirmedText(("clean", "plug"), (NamedRun(1, 2, "part"),))
    memory = Memory.of([text])
    assert list(memory.shares(("run", "plug"))) == [("part", 1 / 1.5)]
    assert list(memory.shares(("run", "clean"))) == [(NOTHING, 1 / 1.5)]
    assert list(memory.shares(("run", "hose"))) == []
