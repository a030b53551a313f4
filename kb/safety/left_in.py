"""Whether what stood in for an igniter stayed in, told in any sentence of a job.

A load that is put in an igniter's place is a test; that it stays, or that the car went so, is often
told in another field than the load: *known load in: code gone* and, a day later, *collected like
that*. How it is told stands in ``left_in.toml``, to be read and edited by the trade. All of it is
common practice, no source.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path

from kb.patterns import compiled
from kb.safety.igniter_clauses import sentences_of
from kb.safety.igniter_concern import about_igniter
from kb.tables import read_table

TABLE = Path(__file__).with_name("left_in.toml")
_CLAUSE_ENDS = compiled(r"[.;,!?:]+(?:\s|$)")


class _Told:
    """What the table's patterns tell, each kind as one pattern.

    `leaves` tells of a stand-in only where it follows one in the same text; what others say of
    one counts where `now` tells how the car is, not what somebody once did.
    """

    def __init__(self, table: Mapping[str, Sequence[str]]) -> None:
        standing, may_stand = "|".join(table["standing"]), "|".join(table["may_stand"])
        puts = "|".join(table["put"])
        put = rf"\b(?:{puts})\b"
        named = rf"\b(?:{may_stand})\b"
        places = {
            "{standing}": standing,
            "{may_stand}": may_stand,
            "{it}": "(?:it|they|them|that|this|both|these|one"
            rf"|(?:the |a |its )?(?:{standing}|{may_stand}))",
        }

        def pattern(kind: Iterable[str], around: str = "") -> re.Pattern[str]:
            told = "|".join(kind)
            for name, meant in places.items():
                told = told.replace(name, meant)
            return re.compile(f"{around}(?:{told}){around}", re.IGNORECASE)

        self.stands = pattern(
            [rf"\b(?:{standing})\b", rf"{named}(?=[^.;!?]{{0,60}}{put})",
             rf"{put}[^.;!?]{{0,30}}{named}"]
        )  # fmt: skip
        self.stays, self.out = pattern(table["stays"]), pattern(table["out"])
        self.leaves = pattern(table["leaves"], r"\b")
        self.renewed, self.to_come = (
            pattern(table["renewed"], r"\b"),
            pattern(table["to_come"], r"\b"),
        )
        self.beside, self.now = pattern(table["beside"], r"\b"), pattern(table["now"], r"\b")
        self.denied = pattern(table["denied"], r"\b")


@cache
def _told() -> _Told:
    return _Told(read_table(TABLE))


def stands_told(text: str) -> bool:
    """Whether a text tells that something was put where an igniter belongs.

    Examples
    --------
    >>> stands_told("known load in: code gone"), stands_told("seat load sensor renewed")
    (True, False)
    """
    return _told().stands.search(text) is not None


def is_out_told(told: Iterable[str]) -> bool:
    """Whether the words of a job, in order, tell that a stand-in came out again.

    A new igniter where it stood tells it as well.

    Examples
    --------
    >>> is_out_told(["known load in: code gone", "replaced pretensioner"])
    True
    >>> is_out_told(["known load in, lamp out", "new bag ordered"])
    False
    >>> is_out_told(["known load in, lamp out", "replaced clock spring"])
    False
    """
    return _comes_out(_joined(told))


def left_in(told: Sequence[str], heard: Sequence[str] = ()) -> str | None:
    """Return the words that a stand-in stayed in, or the car left so; None if it came out again.

    Parameters
    ----------
    told : sequence of str
        What the shop tells of a job that concerns an igniter, in order.
    heard : sequence of str
        What others tell, as a complaint or a contact: it counts where it tells how it is now.

    Examples
    --------
    >>> left_in(["known load in: code gone", "customer collected the car like that"])
    'customer collected the car like that'
    >>> left_in(["known load in: code gone", "taken out again, left it in the drawer"])
    """
    return next(_texts_that_stay(told, heard), None)


def parts_left_in(told: Sequence[str], heard: Sequence[str] = ()) -> list[str]:
    """Return every sentence that tells it, or a whole text where only all of it does.

    Parameters
    ----------
    told, heard : sequence of str
        As for `left_in`.

    Examples
    --------
    >>> parts_left_in(["Known load in its place: right. Forgot to take it out.", "It stays."])
    ['Forgot to take it out.', 'It stays.']
    """
    found: list[str] = []
    for text in _texts_that_stay(told, heard):
        parts = [each.strip() for each in sentences_of(text) if _stays(each)]
        found += parts or [text]
    return list(dict.fromkeys(found))


def _texts_that_stay(told: Sequence[str], heard: Sequence[str]) -> Iterator[str]:
    now = [text for text in heard if _told().now.search(text)]
    texts = [*told, *now]
    if stands_told(_joined(texts)) and not _comes_out(_joined(told)):
        yield from filter(_stays, texts)


def _stays(text: str) -> bool:
    """Whether a text tells that a stand-in stayed, that the car went, or that none came out."""
    told = _told()
    kept = (told.out.search(each) and told.denied.search(each) for each in _clauses(text))
    return bool(told.stays.search(text)) or _leaves_with_it(text) or any(kept)


def _joined(told: Iterable[str]) -> str:
    return ". ".join(dict.fromkeys(text.strip().rstrip(".") for text in told))


def _leaves_with_it(text: str) -> bool:
    put = _told().stands.search(text)
    return put is not None and _told().leaves.search(text, put.end()) is not None


def _comes_out(whole: str) -> bool:
    put = _told().stands.search(whole)
    behind = whole[put.start() :] if put else whole
    return any(map(_tells_out, _clauses(behind)))


def _clauses(text: str) -> Iterator[str]:
    yield from filter(None, map(str.strip, _CLAUSE_ENDS.split(text)))


def _tells_out(clause: str) -> bool:
    """Whether a clause tells a stand-in out, or a new igniter in; an old one out is neither."""
    named = about_igniter([clause])
    stands = stands_told(clause)
    other = stands or _told().beside.search(clause)
    if _told().renewed.search(clause) and named and not other:
        return _told().to_come.search(clause) is None
    out = _told().out.search(clause)
    if out is None or _told().denied.search(clause):
        return False
    return not named or stands or "back" in clause or "connected" in clause or "refit" in clause
