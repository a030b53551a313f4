"""Tables of words by what they mean, and the longest form that a text begins with."""

import re
from collections.abc import Mapping
from enum import StrEnum
from typing import TypeVar

from kb.patterns import compiled

Word = TypeVar("Word", bound=StrEnum)


def forms_table(words: Mapping[Word, str]) -> Mapping[Word, re.Pattern[str]]:
    """Return a pattern for each word: its forms and itself, where no part of a longer word."""
    return {
        word: compiled(rf"(?<![\w/-])(?:{forms}|{word})(?![\w/-]|['’][^\W\d_])", re.IGNORECASE)
        for word, forms in words.items()
    }


def leading(text: str, patterns: Mapping[Word, re.Pattern[str]]) -> tuple[Word, str] | None:
    """Return the word whose longest form a text begins with, and what follows."""
    found = [(match.end(), word) for word, form in patterns.items() if (match := form.match(text))]
    if not found:
        return None
    end, word = max(found, key=lambda each: each[0])
    return word, text[end:]
