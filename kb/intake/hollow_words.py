"""Words that say nothing of what is wrong when they stand alone.

They stand in ``hollow_words.txt`` beside this module, to be read and edited by the trade.
"""

from functools import cache
from pathlib import Path

HOLLOW_WORDS_FILE = Path(__file__).with_name("hollow_words.txt")


@cache
def hollow_words() -> frozenset[str]:
    """Read the trade's list, once.

    Examples
    --------
    >>> {"lamp", "dead", "cold", "min"} <= hollow_words()
    True
    """
    lines = HOLLOW_WORDS_FILE.read_text(encoding="utf-8").splitlines()
    return frozenset(word for line in lines if line[:1] not in ("#", "[") for word in line.split())
