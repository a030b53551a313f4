import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tests.benchmarks.tagging.word_space import WordSpace

WORD = st.text("abcdefgh", min_size=1, max_size=6)


@given(st.lists(st.lists(WORD, max_size=5), max_size=6))
def test_every_word_lies_at_length_one_in_each_half_and_a_strange_one_at_nought(
    texts: list[list[str]],
) -> None:
    space = WordSpace.fit(texts)
    assert set(space.vectors) == {word for text in texts for word in text}
    assert not space.of("strange!").any()
    for place in space.vectors.values():
        assert place.shape == (space.dimensions,)
        assert np.isclose(np.linalg.norm(place), np.sqrt(2), atol=1e-3)


def test_words_of_the_same_company_lie_nearer_than_others() -> None:
    parts = ("pump", "filter", "hose", "valve")
    texts = [[verb, part, "today"] for part in parts for verb in ("replaced", "cleaned", "checked")]
    space = WordSpace.fit(texts)
    assert space.of("pump") @ space.of("hose") > space.of("pump") @ space.of("cleaned")
    assert space.of("replaced") @ space.of("checked") > space.of("replaced") @ space.of("valve")
