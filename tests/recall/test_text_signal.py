"""Text similarity: what the analyser yields, and that both ways of posting agree."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.recall import text_signal as text
from kb.recall.hashing import key, keys

LAMP = ["airbag", "lamp", "on"]
LAMP_SEAT = ["airbag", "lamp", "on", "after", "seat", "moved"]
NOISE = ["noise", "front", "over", "bumps"]
CORPUS = [LAMP, LAMP_SEAT, NOISE]

words = st.lists(st.text("abcdeé1-", min_size=1, max_size=8), max_size=8)


def nobody_knows(word: str) -> bool:
    return False


def test_character_features_stay_inside_words() -> None:
    features = set(text.character_features(["ab", "cd"]))
    assert "c  ab" in features
    assert not any("b c" in feature for feature in features)


def test_the_same_text_has_cosine_one() -> None:
    model, postings = text.fit(CORPUS)
    cosines = postings.cosines(*model.weigh(LAMP_SEAT))
    assert cosines[1] == pytest.approx(1.0, abs=1e-6)
    assert cosines[0] > cosines[2]


def test_a_row_without_text_is_missing_not_unlike() -> None:
    model, postings = text.fit([LAMP, []])
    assert np.isnan(postings.cosines(*model.weigh(LAMP))[1])


def test_nothing_fitted_knows_no_word() -> None:
    model, postings = text.fit([])
    assert model.read_as(["lamp"], nobody_knows) == {}
    assert len(postings.cosines(*model.weigh(LAMP))) == 0


def test_posting_under_a_fitted_model_equals_fitting() -> None:
    model, fitted = text.fit(CORPUS)
    posted = text.post(CORPUS, model)
    for query in CORPUS:
        np.testing.assert_allclose(
            posted.cosines(*model.weigh(query)), fitted.cosines(*model.weigh(query)), atol=1e-6
        )


def test_a_word_never_fitted_is_found_once_posted() -> None:
    model, _ = text.fit(CORPUS)
    posted = text.post([["tailgate", "strut"], ["tailgate", "lamp"]], model)
    cosines = posted.cosines(*model.weigh(["strut"]))
    assert cosines[0] > 0.3
    assert cosines[0] > cosines[1]


def test_a_misspelt_word_still_finds_its_row_by_characters() -> None:
    model, postings = text.fit([["pretensioner", "fault"], ["thermostat", "fault"]])
    cosines = postings.cosines(*model.weigh(["pretensoner"]))
    assert cosines[0] > cosines[1]


def test_an_unknown_word_is_read_as_the_known_one_an_edit_away() -> None:
    model, _ = text.fit([["sensor", "lamp"], ["sensor", "relay"]])
    assert model.read_as(["sesnor", "sensors", "sensor", "lmap"], nobody_knows) == {
        "sesnor": "sensor",
        "sensors": "sensor",
    }


def test_a_word_that_is_known_elsewhere_is_no_slip() -> None:
    model, _ = text.fit([["horn", "rain"], ["horn", "rain"]])
    assert model.read_as(["worn", "drain", "hron"], {"worn", "drain"}.__contains__) == {
        "hron": "horn"
    }


def test_a_word_seen_once_is_never_read_into_another() -> None:
    model, _ = text.fit([["relay"], ["sensor"]])
    assert model.read_as(["relaay"], nobody_knows) == {}


@given(st.lists(words, max_size=7), words)
def test_cosines_are_the_products_of_what_was_weighed(
    corpus: list[list[str]], query: list[str]
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(text, "ROWS_AT_ONCE", 2)  # as in a store of many thousand jobs
        patch.setattr(text, "ENTRIES_AT_ONCE", 3)
        model, postings = text.fit(corpus)
    asked = dict(zip(*(each.tolist() for each in model.weigh(query)), strict=True))
    rows = [dict(zip(*(each.tolist() for each in model.weigh(row)), strict=True)) for row in corpus]
    wanted = [sum(asked.get(term, 0.0) * weight for term, weight in row.items()) for row in rows]
    cosines = np.nan_to_num(postings.cosines(*model.weigh(query)))
    np.testing.assert_allclose(cosines, np.minimum(wanted, 1.0), atol=1e-5)


@given(st.lists(words, max_size=6), words)
def test_cosines_lie_between_zero_and_one(corpus: list[list[str]], query: list[str]) -> None:
    model, postings = text.fit(corpus)
    cosines = postings.cosines(*model.weigh(query))
    assert cosines.shape == (len(corpus),)
    present = ~np.isnan(cosines)
    assert present.tolist() == [bool(tokens) for tokens in corpus]
    assert ((cosines[present] >= 0) & (cosines[present] <= 1)).all()


@given(words)
def test_every_vector_has_unit_length_or_none(tokens: list[str]) -> None:
    model, _ = text.fit(CORPUS)
    _, weights = model.weigh(tokens)
    assert np.linalg.norm(weights) == pytest.approx(1.0 if tokens else 0.0, abs=1e-5)


@given(st.lists(st.text(), unique=True, max_size=50))
def test_keys_tell_texts_apart(texts: list[str]) -> None:
    assert len(set(keys(texts).tolist())) == len(texts)
    assert [key(each) for each in texts] == keys(texts).tolist()
    assert key(None) == 0


words = st.lists(st.text("abcd", min_size=1, max_size=6), max_size=8)


@given(words)
def test_what_terms_are_worth_is_split_among_the_words_without_rest(tokens: list[str]) -> None:
    terms = {*text.word_features(tokens), *text.character_features(tokens)}
    worth = {key(term): float(len(term)) for term in terms}
    shares = text.split_by_word(tokens, worth)
    assert set(shares) == set(tokens)
    assert sum(shares.values()) == pytest.approx(sum(worth.values()))


@given(st.lists(words, max_size=5), words, st.lists(st.booleans(), min_size=5, max_size=5))
def test_terms_are_held_by_the_chosen_rows_that_have_them(
    corpus: list[list[str]], query: list[str], chosen: list[bool]
) -> None:
    _, postings = text.fit(corpus)
    terms = keys([f"w {word}" for word in query])
    rows = np.array(chosen[: len(corpus)], dtype=np.bool_)
    said = [
        any(word in row for row, kept in zip(corpus, rows, strict=True) if kept) for word in query
    ]
    assert postings.holds(terms, rows).tolist() == said


@given(st.lists(words, max_size=5))
def test_a_row_gives_back_what_was_weighed(corpus: list[list[str]]) -> None:
    model, postings = text.fit(corpus)
    for row, tokens in enumerate(corpus):
        terms, weights = model.weigh(tokens)
        order = np.argsort(terms)
        given_terms, given_weights = postings.row(row)
        assert given_terms.tolist() == terms[order].tolist()
        np.testing.assert_allclose(given_weights, weights[order], atol=1e-6)
