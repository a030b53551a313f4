"""The word that a slip is of, against a look at every word."""

from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import OSA
from rapidfuzz.process import extractOne

from kb.intake.slips import Slips

words = st.text("abc", max_size=6)


@given(st.lists(words, max_size=12), words, st.integers(0, 2))
def test_it_is_the_word_that_a_look_at_every_word_finds(
    known: list[str], word: str, most: int
) -> None:
    # source: rapidfuzz, optimal string alignment, the first of equally near words
    found = extractOne(word, known, scorer=OSA.distance, score_cutoff=most)
    assert Slips.of(known, most=most).nearest(word) == (found[0] if found else None)
