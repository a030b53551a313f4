"""Whether each thing done to an igniter's parts is one of those that may be done.

The verbs stand in ``igniter_deeds.toml`` beside this module. A verb that acts on an igniter, its
plug or its wires and stands in no list is not plainly allowed; one that does is, under the
condition of its list: plugs with the supply off, wires joined with the maker's parts. All of it is
common practice, no source.
"""

import tomllib
from collections.abc import Iterator, Sequence
from enum import StrEnum
from functools import cache
from pathlib import Path

from kb.safety.igniter_acts import SOURCES, TARGETS, Reason, is_small
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_words import Aside, Lexicon, Role, aside, words_in

TABLE = Path(__file__).with_name("igniter_deeds.toml")


class Deed(StrEnum):
    """Under which condition something may be done; the names of the table's lists."""

    MAY = "may"
    OFF = "off"
    JOINS = "joins"
    NEVER = "never"
    ALTERED = "altered"


class _List(StrEnum):
    KIT = "kit"
    OTHER = "other"


@cache
def _table() -> dict[str, list[str]]:
    read = tomllib.loads(TABLE.read_text(encoding="utf-8"))
    return {name: entries["words"] for name, entries in read.items()}


@cache
def _deeds() -> Lexicon[Deed]:
    return Lexicon.of({deed: _table()[deed] for deed in Deed})


@cache
def _list(name: _List) -> Lexicon[_List]:
    return Lexicon.of({name: _table()[name]})


def deeds_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what is done to an igniter's parts and is not plainly allowed."""
    on_it = False
    by_kit = any(_list(_List.KIT).any_in(each.words) for each in sentence)
    safe = by_kit or any(_is_isolated(each) for each in sentence)
    for place, clause in enumerate(sentence):
        on_it = _is_on_it(clause, on_it)
        if is_told_of_others(sentence, place):
            continue
        for at, size, deed in _done(clause):
            words = clause.words[at : at + size]
            if _is_ruled_out(clause, at):
                continue
            if deed is Deed.NEVER:
                wrong = on_it or _pronoun_follows(clause, at + size)
            elif deed is Deed.ALTERED:
                wrong = on_it and not safe and _part_follows(clause, at + size)
            elif deed is Deed.JOINS:
                wrong = on_it and (not safe or Role.JOINED in clause.roles)
            else:
                wrong = False
            if wrong:
                yield Piece(Role.UNKNOWN, words), Reason.UNKNOWN


def _done(clause: Clause) -> Iterator[tuple[int, int, Deed]]:
    """Yield every deed of a clause with its place and length in words."""
    at = 0
    while at < len(clause.words):
        size, deed = _deeds().longest(clause.words, at) or (1, None)
        if deed is not None:
            yield at, size, deed
        at += size


def _is_on_it(clause: Clause, before: bool) -> bool:
    """Whether a clause is about an igniter or its circuit; one that names nothing goes on."""
    if clause.roles & TARGETS:
        return True
    if _list(_List.OTHER).any_in(clause.words) or any(map(_is_other, clause.pieces)):
        return False
    if Role.APART in clause.roles:
        return False
    parts = {Role.CONTACT, Role.HARNESS, Role.CLOCK_SPRING, Role.JOINED}
    named = clause.roles & parts or _HELD & clause.vocabulary
    return bool(named) or before


_HELD = frozenset(["belt", "belts", "reel", "retractor", "gurt"])


def _is_other(piece: Piece) -> bool:
    return piece.role is Role.NEIGHBOUR and not piece.words[0].startswith(SOURCES)


def _is_isolated(clause: Clause) -> bool:
    return Role.ISOLATE in clause.roles and not words_in(Aside.DENIAL) & clause.vocabulary


def is_told_of_others(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a clause tells what was found so, or what others did."""
    clause = sentence[place]
    return aside(Aside.FOUND).any_in(clause.words) or aside(Aside.OUTSIDERS).any_in(clause.words)


def _is_ruled_out(clause: Clause, at: int) -> bool:
    """Whether what is done at a place is denied or forbidden, and by nothing that lets it off."""
    before = clause.words[:at]
    no = max((i for i, word in enumerate(before) if word in words_in(Aside.DENIAL)), default=None)
    if no is None:
        return aside(Aside.NO_REPAIR).any_in(clause.words)
    between = clause.words[no + 1 : at]
    return not aside(Aside.LOOSEN).any_in(between)


def _pieces_from(clause: Clause, at: int) -> list[Piece]:
    """Return the pieces from a word on."""
    begin, pieces = 0, []
    for piece in clause.pieces:
        if begin >= at:
            pieces.append(piece)
        begin += len(piece.words)
    return pieces


def _part_follows(clause: Clause, at: int) -> bool:
    """Whether an igniter, its plug or its wires is what the verb before acts on."""
    for piece in _pieces_from(clause, at)[:5]:
        if piece.role in {*TARGETS, Role.CONTACT, Role.HARNESS}:
            return True
        if not (is_small(piece) or piece.role is Role.KNOWN):
            return False
    return _pronoun_follows(clause, at)


def _pronoun_follows(clause: Clause, at: int) -> bool:
    following = _pieces_from(clause, at)[:2]
    return any(piece.text in words_in(Aside.PRONOUN) for piece in following)
