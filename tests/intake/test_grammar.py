"""Articles as they are spoken, and verbs that go with their counts; nowhere else are they made."""

import re
from pathlib import Path

import pytest

import kb
from kb.intake.grammar import with_article

HARD_WIRED = re.compile(r"\b(?:is|was|never had|had|of|when|where) an? \{(?!kind|wanted)")
"""An article before a name that is put in; *kind* is one of the program's own words."""


# Source: the rule of English spelling, an before a vowel sound; words as dictionaries speak them.
@pytest.mark.parametrize(
    ("noun", "told"),
    [
        ("Orrin", "an Orrin"),
        ("orrin Vale 2014", "an orrin Vale 2014"),
        ("Elvane", "an Elvane"),
        ("Ilaro", "an Ilaro"),
        ("Umbra", "an Umbra"),
        ("unit", "a unit"),
        ("used part", "a used part"),
        ("one-way valve", "a one-way valve"),
        ("uninsulated wire", "an uninsulated wire"),
        ("Corvane", "a Corvane"),
        ("ECU", "an ECU"),
        ("LED lamp", "an LED lamp"),
        ("UX 3", "a UX 3"),
        ("11 mm bolt", "an 11 mm bolt"),
        ("80 A fuse", "an 80 A fuse"),
        ("110 mm hose", "a 110 mm hose"),
        ("1.8 petrol", "a 1.8 petrol"),
        ("", "a "),
    ],
)
def test_the_article_goes_by_the_sound(noun: str, told: str) -> None:
    assert with_article(noun) == told


def test_no_sentence_has_an_article_of_its_own_before_a_name() -> None:
    sources = Path(kb.__file__).parent.rglob("*.py")
    found = [
        f"{path.name}: {line.strip()}"
        for path in sources
        for line in path.read_text("utf-8").splitlines()
        if HARD_WIRED.search(line)
    ]
    assert found == []
