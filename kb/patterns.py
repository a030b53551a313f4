"""Patterns that are compiled when they are first used: a command needs few of all there are."""

import re
from typing import Any, cast

WORD_BEGINS = r"\b(?=[^\W\d])"
"""Where a word begins, and no number: a pattern of many words looks at those places alone."""


class _Uncompiled:
    """Stands for a pattern; what it is asked for first makes it one."""

    def __init__(self, pattern: str, flags: int) -> None:
        self.pattern, self._flags = pattern, flags

    def __getattr__(self, name: str) -> Any:
        compiled = re.compile(self.pattern, self._flags)
        found = getattr(compiled, name)
        setattr(self, name, found)
        return found


def compiled(pattern: str, flags: int = 0) -> re.Pattern[str]:
    """Return a pattern as `re.compile` does, but compile it only when it is used.

    Its methods and attributes are those of a pattern; it is no instance of the class.

    Examples
    --------
    >>> compiled("[0-9]+").findall("12 V, 3 A")
    ['12', '3']
    """
    return cast("re.Pattern[str]", _Uncompiled(pattern, flags))
