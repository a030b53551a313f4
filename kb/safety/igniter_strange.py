"""What nobody can say is allowed at an igniter, for no list has its words.

A verb beside an igniter's part that stands in no list, an unknown word where something is taken off
or put in, a thing that belongs nowhere there, a tongue that the tables do not know. All of it is
common practice, no source.
"""

from collections.abc import Iterator, Sequence
from functools import cache, lru_cache
from itertools import chain, pairwise

from kb.intake.slips import Slips
from kb.safety.igniter_acts import TARGETS, Reason, is_small
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import (
    Doing,
    WordList,
    deeds_of,
    is_told_of_others,
    list_of,
    pieces_from,
    table,
    verbs,
)
from kb.safety.igniter_words import Aside, Role, known_words, words_in


def strange_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what nobody can say is allowed, for no list has its words."""
    pieces = [piece for clause in sentence for piece in clause.pieces]
    named = any(piece.role in _NAMED for piece in pieces)
    open_to = (c for c in sentence if not words_in(Aside.DENIAL) & c.vocabulary)
    unknown = [
        piece
        for clause in open_to
        for piece in clause.pieces
        if piece.role is Role.UNKNOWN and not _is_listed(piece)
    ]
    told = [p for p in pieces if p.role not in {Role.NUMBER, Role.VALUE, Role.FUNCTION}]
    if named and any(map(_puts_or_takes, sentence)):
        done = (p for before, p in pairwise(pieces) if p in unknown and not _is_own(before, p))
        yield from ((piece, Reason.STRANGE) for piece in done)
    if named and len(unknown) >= _MANY and 2 * len(unknown) >= len(told):
        yield from ((piece, Reason.STRANGE) for piece in unknown)
    for place, clause in enumerate(sentence):
        if words_in(Aside.DENIAL) & clause.vocabulary or is_told_of_others(sentence, place):
            continue
        yield from ((piece, Reason.STRANGE) for piece in _strange_verbs(clause))
        yield from ((piece, Reason.STRANGE) for piece in _strange_participles(clause))
        if named:
            yield from ((piece, Reason.STRANGE) for piece in _strange_things(clause))


def _is_own(before: Piece, verb: Piece) -> bool:
    """Whether a part does it by itself, and nobody to it: *it spins*."""
    return before.text == "it" and verb.text.endswith("s")


_MANY = 3
"""So many unknown words, and half of all, are another tongue."""
_NAMED = frozenset([*TARGETS, Role.CONTACT])


def _is_listed(piece: Piece) -> bool:
    """Whether a word that has no role stands in a list all the same, or is a slip of one."""
    lists = map(list_of, (WordList.STATE, WordList.THING, WordList.OTHER, WordList.FITS))
    listed = verbs().longest(piece.words, 0) or any(e.longest(piece.words, 0) for e in lists)
    return bool(listed) or _is_slip(piece.words[0])


@lru_cache(maxsize=20_000)
def _is_slip(word: str) -> bool:
    """Whether a word is a slip of an ordinary one, and of none that is forbidden."""
    if len(word) <= _SHORTEST_SLIP:
        return False
    meant = _slips(harmless=True).nearest(word)
    if meant is None or _slips(harmless=False).nearest(word) is not None:
        return False
    moved = len(meant) != len(word) or sorted(meant) == sorted(word)
    return meant[0] == word[0] and moved  # with another letter it is another word


@cache
def _slips(*, harmless: bool) -> Slips:
    return Slips.of(_single_words(harmless=harmless), most=1)


_SHORTEST_SLIP = 4
_SHORTEST_DEED = 3


@cache
def _single_words(*, harmless: bool) -> tuple[str, ...]:
    """Words by themselves that are ordinary, or those that are not."""
    named = ("may", "wires", "state", "thing") if harmless else ("never", "joins", "altered", "off")
    lists = [table()[name] for name in named] + [known_words() if harmless else []]
    return tuple(each.rstrip("*") for each in chain(*lists) if " " not in each)


def _puts_or_takes(clause: Clause) -> bool:
    """Whether something is taken off or put in."""
    taken = any(deed is Doing.OFF for _, _, deed in deeds_of(clause))
    fits = (
        at for at in range(len(clause.words)) if list_of(WordList.FITS).longest(clause.words, at)
    )
    return taken or any(clause.words[max(0, at - 1) : at] not in _WHICH_ONE for at in fits)


_WHICH_ONE = (("of",), ("the",))
"""Behind these it tells which part is meant: *the number of the fitted one*."""


def _strange_verbs(clause: Clause) -> Iterator[Piece]:
    """Yield a first word that no list has and that acts on an igniter's part: *zorb the plug*."""
    pieces = list(clause.pieces)
    while pieces and pieces[0].role is Role.FUNCTION:
        pieces.pop(0)
    if len(pieces) < _SHORTEST_DEED or pieces[0].role not in {Role.KNOWN, Role.UNKNOWN}:
        return
    verb, following = pieces[0], pieces[1:5]
    begin = len(clause.words) - sum(len(each.words) for each in pieces)
    if verbs().longest(clause.words, begin) or verb.text in _NO_VERBS or verb.text.endswith("s"):
        return
    particle = following[0].text in _PARTICLES
    rest = following[particle:]
    article = bool(rest) and rest[0].text in words_in(Aside.ARTICLE) - {"of", "one"}
    part = next((p for p in rest if not is_small(p)), None)
    acts = article or (particle and verb.role is Role.UNKNOWN)
    if acts and part is not None and part.role in _NAMED:
        yield verb


def _strange_participles(clause: Clause) -> Iterator[Piece]:
    """Yield verbs in *-ed* and *-ing* that no list has, where an igniter's part is named."""
    if not clause.roles & _NAMED or Role.NEIGHBOUR in clause.roles:
        return
    listed: set[int] = set()
    for at, size, _ in deeds_of(clause):
        listed.update(range(at, at + size))
    begin = 0
    for piece in clause.pieces:
        places = range(begin, begin + len(piece.words))
        begin += len(piece.words)
        if piece.role not in {Role.KNOWN, Role.UNKNOWN} or not listed.isdisjoint(places):
            continue
        word = piece.words[0]
        if _is_participle(word) and not (
            list_of(WordList.STATE).longest([word], 0) or _is_slip(word)
        ):
            yield piece


def _is_participle(word: str) -> bool:
    return word.isalpha() and len(word) > _SHORTEST and word.endswith(("ed", "ing"))


_SHORTEST = 4


def _strange_things(clause: Clause) -> Iterator[Piece]:
    """Yield what is fitted, or was, and is no thing that belongs there."""
    for at in range(len(clause.words)):
        found = list_of(WordList.FITS).longest(clause.words, at)
        if found is not None and clause.pieces[clause.piece_at[at]].role is not Role.JOINED:
            things = _object(pieces_from(clause, at + found[0]))
            if clause.words[at] not in _ACTIVE:
                things += _object(_pieces_until(clause, at))
            if things and not any(map(_may_be_fitted, things)):
                yield things[0]


def _object(pieces: Sequence[Piece]) -> list[Piece]:
    """Return the words of weight before *in*, *under* ..."""
    found: list[Piece] = []
    for piece in pieces:
        if piece.role in {Role.ONTO, Role.JOINER} or piece.text in _PLACES:
            break
        if piece.role in {Role.KNOWN, Role.UNKNOWN, Role.HARNESS} or _may_be_fitted(piece):
            found.append(piece)
    return found


_PLACES = frozenset(["under", "behind", "below", "near", "beside", "for", "instead"])
_ACTIVE = frozenset(["put", "puts", "putting", "stuck"])
_FITTED = frozenset([*TARGETS, Role.CONTACT, Role.NEIGHBOUR, Role.UNIT, Role.CLOCK_SPRING])
_OTHERWISE_JUDGED = frozenset([Role.SUBSTITUTE, Role.SCAN, Role.GRIP, Role.HARMLESS, Role.VALUE])


def _may_be_fitted(piece: Piece) -> bool:
    by_role = piece.role in _FITTED | _OTHERWISE_JUDGED
    return by_role or list_of(WordList.THING).any_in(piece.words)


_PARTICLES = frozenset(["out", "off", "up", "open", "down", "back", "apart", "away", "over"])
_NO_VERBS = frozenset(
    [
        "behind",
        "between",
        "inside",
        "outside",
        "above",
        "underneath",
        "beside",
        "correct",
        "proper",
        "live",
    ]
)


def _pieces_until(clause: Clause, at: int) -> Sequence[Piece]:
    """Return the last pieces before a word."""
    place = clause.piece_at[at]
    return clause.pieces[max(0, place - _FAR) : place]


_FAR = 8
"""So many pieces before a verb may be what it is done to."""
