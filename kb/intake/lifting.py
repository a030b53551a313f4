"""What the parsers share that lift codes and readings out of running text."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

from kb.patterns import compiled

T = TypeVar("T")


class Place(NamedTuple):
    """Where in a text something was said: ``text[start:end]``."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Doubt:
    """A piece of text that was not taken, or was taken with a reservation, and why."""

    text: str
    why: str
    place: Place | None = None

    def __str__(self) -> str:
        return f"“{self.text}” {self.why}"


class Lifted(NamedTuple):
    """A stretch of a text that was taken out, and the words that stay in its place."""

    start: int
    end: int
    words: str = ""


def cut(text: str, lifted: Sequence[Lifted]) -> str:
    """Take stretches, in order and not overlapping, out of a text and mend the joints.

    No double spaces, empty brackets or orphaned separators are left where something was taken.

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


def blanked(text: str, places: Iterable[Place]) -> str:
    """Put blanks in the stead of what stands at some places; the length stays the same.

    Examples
    --------
    >>> blanked("P0171, 4.1 V", [Place(0, 5)])
    '     , 4.1 V'
    """
    pieces: list[str] = []
    done = 0
    for start, end in sorted(places):
        pieces += text[done:start], " " * (end - max(start, done))
        done = max(done, end)
    return "".join((*pieces, text[done:]))


def merged(spans: Iterable[tuple[int, int]]) -> list[Place]:
    """Bring stretches of a text in order; those that overlap become one.

    Examples
    --------
    >>> merged([(4, 9), (0, 2), (7, 12)])
    [Place(start=0, end=2), Place(start=4, end=12)]
    """
    whole: list[Place] = []
    for start, end in sorted(spans):
        if whole and start < whole[-1].end:
            whole[-1] = Place(whole[-1].start, max(end, whole[-1].end))
        else:
            whole.append(Place(start, end))
    return whole


def is_within(place: Place, whole: Place) -> bool:
    """Whether one place lies in another."""
    return whole.start <= place.start and place.end <= whole.end


def longest_phrases(phrases: Iterable[tuple[str, ...]]) -> dict[str, int]:
    """Return how many words the longest of some phrases has, by the word that it begins with."""
    longest: dict[str, int] = {}
    for phrase in phrases:
        longest[phrase[0]] = max(longest.get(phrase[0], 0), len(phrase))
    return longest


def known_phrases(
    words: Sequence[str],
    meanings: Mapping[tuple[str, ...], T],
    longest: Mapping[str, int] | None = None,
) -> Iterator[str | T]:
    """Yield what the longest phrases that are known mean, and the other words, in their order.

    Who asks often of a large table tells its `longest_phrases`.

    Examples
    --------
    >>> list(known_phrases(["low", "oil", "pressure"], {("oil",): 1, ("oil", "pressure"): 2}))
    ['low', 2]
    """
    longest = longest_phrases(meanings) if longest is None else longest
    place = 0
    while place < len(words):
        most = longest.get(words[place])
        if most is None:
            yield words[place]
            place += 1
            continue
        for end in range(min(place + most, len(words)), place, -1):
            meant = meanings.get(tuple(words[place:end]))
            if meant is not None:
                yield meant
                place = end
                break
        else:
            yield words[place]
            place += 1


_LOOSE = " \t\n,;:&/+="
_ENDS = (".", "!", "?")
_DASHES = ("-", "–", "—")
_DASH = compiled("[-–—](?![0-9])")


def _join(left: str, right: str) -> str:
    before, after = left.rstrip(_LOOSE + "(["), right.lstrip(_LOOSE + ")]")
    if after[:1] in _DASHES and _DASH.match(after):
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
