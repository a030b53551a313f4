"""The lists of words that tell how a fix fared."""

import tomllib
from collections import Counter

import pytest

from kb.intake.outcome_words import WORDS_FILE, WordRole, clauses, plain_words

LISTS = tomllib.loads(WORDS_FILE.read_text("utf-8"))


def test_every_role_has_its_list() -> None:
    assert {name.upper() for name in LISTS} == {role.name for role in WordRole} | {"MISTYPED"}


def test_no_phrase_stands_in_two_lists() -> None:
    phrases = Counter(
        tuple(plain_words(" ".join(phrase.split()).removeprefix("~")))
        for name, phrases in LISTS.items()
        if name != "mistyped"
        for phrase in phrases.split(",")
        if phrase.strip()
    )
    assert [phrase for phrase, count in phrases.items() if count > 1] == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Hasn't dropped 0.5 V at 2,000 rpm", ["hasnt", "dropped", "#", "v", "at", "#", "rpm"]),
        ("nicht wieder für 10min", ["nicht", "wieder", "fur", "#", "days"]),
        ("część; P0171 - ok", ["czesc", ";", "code", "-", "ok"]),
        ("re-checked r/t ok/fine 90%", ["re", "checked", "r/t", "ok", "/", "fine", "#%"]),
    ],
)
def test_words_and_signs_are_evened_out(text: str, words: list[str]) -> None:
    assert plain_words(text) == words


def test_a_text_is_parted_where_it_turns() -> None:
    joints = [clause.joint for clause in clauses("ok, but noisy. Then fixed?")]
    assert joints == [".", ",", WordRole.BUT, ".", WordRole.THEN, "."]
    assert [clause.asked for clause in clauses("ok. fixed?")] == [False, True, False]


def test_not_yet_is_no_contrast() -> None:
    assert [clause.joint for clause in clauses("ok yet noisy")] == [".", WordRole.BUT]
    assert [clause.joint for clause in clauses("not driven yet")] == ["."]
