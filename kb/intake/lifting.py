"""What the parsers share that lift codes and readings out of running text."""

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Doubt:
    """A piece of text that was not taken, or was taken with a reservation, and why."""

    text: str
    why: str

    def __str__(self) -> str:
        return f"“{self.text}” {self.why}"


def close_gaps(text: str) -> str:
    """Mend what lifting leaves behind: double spaces, empty brackets, orphaned separators.

    Examples
    --------
    >>> close_gaps("EML on,  , rough ( ) at idle, ")
    'EML on, rough at idle'
    """
    text = re.sub(r"\(\s*\)|\[\s*\]", " ", text)
    text = re.sub(r"[ \t]+", " ", text)
    text = re.sub(r"(?: ?[,;])+(?= ?[,;.])| +(?=[,;.!?])", "", text)
    return text.strip(" \t\n,;:-–&/+")
