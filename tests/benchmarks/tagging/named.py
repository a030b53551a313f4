"""What the words of a card name: runs of words, each of one kind, one inside another at times."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from kb.errors import InvalidField

LONGEST = 4
"""So many words a name has at most; longer runs are not looked at."""


class NamedRun(NamedTuple):
    """Words `start` to before `end` of a text name something of a kind; both count from 0."""

    start: int
    end: int
    kind: str


class ProposedRun(NamedTuple):
    """A run that may name something of a kind, and the chance, 0 to 1, that it does."""

    start: int
    end: int
    kind: str
    chance: float

    @property
    def named(self) -> NamedRun:
        """The run without its chance."""
        return NamedRun(self.start, self.end, self.kind)


@dataclass(frozen=True, slots=True)
class ConfirmedText:
    """The words of a text, and every run in it that somebody confirmed: what is not there is none.

    Raises
    ------
    InvalidField
        If a run is empty or lies outside the text, or two runs have the same words.
    """

    words: tuple[str, ...]
    runs: tuple[NamedRun, ...]

    def __post_init__(self) -> None:
        """Check the runs."""
        for run in self.runs:
            if not 0 <= run.start < run.end <= len(self.words):
                raise InvalidField("runs", str(run), "must hold words of the text")
        if len({run[:2] for run in self.runs}) < len(self.runs):
            raise InvalidField("runs", str(self.runs), "must each have words of its own")


def candidates(words: Sequence[str]) -> Iterator[tuple[int, int]]:
    """Return start and end of every run that may name something.

    Examples
    --------
    >>> list(candidates(["bleed", "brakes"]))
    [(0, 1), (0, 2), (1, 2)]
    """
    for start in range(len(words)):
        for end in range(start + 1, min(start + LONGEST, len(words)) + 1):
            yield start, end
