"""What the parsers share that lift codes and readings out of running text."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class Doubt:
    """A piece of text that was not taken, or was taken with a reservation, and why."""

    text: str
    why: str

    def __str__(self) -> str:
        return f"“{self.text}” {self.why}"


class Lifted(NamedTuple):
    """A stretch of a text that was taken out, and the words that stay in its place."""

    start: int
    end: int
    words: str = ""


def cut(text: str, lifted: Sequence[Lifted]) -> str:
    """Take stretches out of a text and mend the joints.

    Parameters
    ----------
    text : str
    lifted : sequence of Lifted
        In order, not overlapping.

    Returns
    -------
    str
        Without double spaces, empty brackets or orphaned separators where something was taken.

    Examples
    --------
    >>> cut("lamp on, P0171, rough (P0300) at idle.", [Lifted(9, 14), Lifted(23, 28)])
    'lamp on, rough at idle.'
    """
    if not lifted:
        return text.strip()
    rest = text[: lifted[0].start]
    ends = [*(span.start for span in lifted[1:]), len(text)]
    for (_, done, words), end in zip(lifted, ends, strict=True):
        rest = _join(_join(rest, words) if words else rest, text[done:end])
    return rest.strip(_LOOSE)


_LOOSE = " \t\n,;:&/+="
_ENDS = (".", "!", "?")


def _join(left: str, right: str) -> str:
    before, after = left.rstrip(_LOOSE + "(["), right.lstrip(_LOOSE + ")]")
    if re.match(r"[-–—](?![0-9])", after):
        after = after[1:].lstrip()
    if before[-1:] == after[:1] and after[:1] in {'"', "'"}:
        before, after = before[:-1].rstrip(), after[1:].lstrip()
    if not before or not after:
        return before or after.lstrip(".!?" + _LOOSE)
    loose = left[len(before) :] + right[: len(right) - len(after)]
    if after[0] in _ENDS:
        return before + (after[1:] if before[-1] in _ENDS else after)
    separator = next((char for char in loose if char in ",;\n"), "")
    return f"{before}{'' if before[-1] in _ENDS else separator} {after}"
