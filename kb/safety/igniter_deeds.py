"""Whether each thing done to an igniter's parts is one of those that may be done.

The verbs stand in ``igniter_deeds.toml`` beside this module. A verb that acts on an igniter, its
plug or its wires and stands in no list is not plainly allowed; one that does is, under the
condition of its list: plugs with the supply off, wires joined with the maker's parts. All of it is
common practice, no source.
"""

import tomllib
from collections.abc import Iterator, Sequence
from enum import StrEnum
from functools import cache, lru_cache
from itertools import chain, pairwise
from pathlib import Path

from kb.safety.igniter_acts import TARGETS, Reason, is_small
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_handling import is_other, is_reported, is_ruled_out
from kb.safety.igniter_words import Aside, Lexicon, Role, aside, known_words, role_of, words_in

TABLE = Path(__file__).with_name("igniter_deeds.toml")


class Deed(StrEnum):
    """Under which condition something may be done; the names of the table's lists."""

    MAY = "may"
    WIRES = "wires"
    OFF = "off"
    JOINS = "joins"
    NEVER = "never"
    ALTERED = "altered"


class _List(StrEnum):
    KIT = "kit"
    OTHER = "other"
    SKIPS = "skips"
    SECONDS = "seconds"
    FITS = "fits"
    SEEN_SO = "seen_so"
    STATE = "state"
    THING = "thing"


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
    on_it = _is_of_its_wires(sentence)
    by_kit = any(_list(_List.KIT).any_in(each.words) for each in sentence)
    safe = by_kit or any(_is_isolated(each) for each in sentence)
    hasty = _is_hasty(sentence)
    for place, clause in enumerate(sentence):
        if _skips_the_wait(clause):
            yield Piece(Role.LIVE, clause.words), Reason.LIVE
        on_it = _is_on_it(clause, on_it)
        if is_told_of_others(sentence, place):
            continue
        for at, size, deed in _done(clause):
            words = clause.words[at : at + size]
            if is_ruled_out(clause, at) or (size == 1 and words[0].endswith("s")):
                continue  # what it catches or joins is nobody's deed
            if deed is Deed.NEVER:
                named = on_it is None and (_PARTS & {*words} or _pronoun_follows(clause, at + size))
                wrong = bool(on_it or named)
            elif deed is Deed.ALTERED:
                wrong = on_it and not safe and _alters(clause, at, size)
            elif deed is Deed.WIRES:
                whole = on_it and len(clause.words) <= size + 1 and _HOLDS.isdisjoint(clause.roles)
                told = sentence if whole else [clause]
                wrong = any(c.roles & TARGETS for c in told) and not any(map(_names_wires, told))
            elif deed is Deed.JOINS:
                wrong = on_it and (not safe or Role.JOINED in clause.roles)
            else:
                wrong = deed is Deed.OFF and on_it is not False and (hasty or _is_live(sentence, place))
            if wrong:
                yield Piece(Role.UNKNOWN, words), Reason.LIVE if deed is Deed.OFF else Reason.UNKNOWN


def strange_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what nobody can say is allowed, for no list has its words."""
    pieces = [piece for clause in sentence for piece in clause.pieces]
    named = any(piece.role in {*TARGETS, Role.CONTACT} for piece in pieces)
    unknown = [p for p in pieces if p.role is Role.UNKNOWN and not _is_listed(p)]
    told = [p for p in pieces if p.role not in {Role.NUMBER, Role.VALUE, Role.FUNCTION}]
    puts = any(_puts_or_takes(clause) for clause in sentence)
    if named and puts:
        yield from ((piece, Reason.STRANGE) for piece in unknown if piece is not pieces[0])
    if named and len(unknown) >= _MANY and 2 * len(unknown) >= len(told):
        yield from ((piece, Reason.STRANGE) for piece in unknown)
    for place, clause in enumerate(sentence):
        if _is_denied(clause) or is_told_of_others(sentence, place):
            continue
        yield from ((piece, Reason.STRANGE) for piece in _strange_verbs(clause))
        yield from ((piece, Reason.STRANGE) for piece in _strange_participles(clause))
        if named:
            yield from ((piece, Reason.STRANGE) for piece in _strange_things(clause))


_MANY = 3


def _is_listed(piece: Piece) -> bool:
    lists = (_list(_List.STATE), _list(_List.THING), _list(_List.OTHER), _list(_List.FITS))
    return any(each.longest(piece.words, 0) for each in (_deeds(), *lists)) or (
        len(piece.words) == 1 and _is_slip(piece.words[0])
    )


@lru_cache(maxsize=20_000)
def _is_slip(word: str) -> bool:
    """Whether a word is a slip of an ordinary one, and of none that is forbidden."""
    from rapidfuzz import process  # noqa: PLC0415 - most sentences have no such word
    from rapidfuzz.distance import OSA  # noqa: PLC0415

    if len(word) <= _SHORTEST_SLIP:
        return False
    near = (
        process.extractOne(word, words, scorer=OSA.distance, score_cutoff=1)
        for words in (_single_words(harmless=True), _single_words(harmless=False))
    )
    ordinary, forbidden = near
    if ordinary is None or forbidden is not None:
        return False
    meant = ordinary[0]
    moved = len(meant) != len(word) or sorted(meant) == sorted(word)
    return meant[0] == word[0] and moved  # with another letter it is another word


_SHORTEST_SLIP = 4


@cache
def _single_words(*, harmless: bool) -> tuple[str, ...]:
    named = ("may", "wires", "state", "thing") if harmless else ("never", "joins", "altered", "off")
    lists = [_table()[name] for name in named] + [known_words() if harmless else []]
    return tuple(each.rstrip("*") for each in chain(*lists) if " " not in each)


def _puts_or_takes(clause: Clause) -> bool:
    taken = any(deed is Deed.OFF for _, _, deed in _done(clause))
    return taken or _list(_List.FITS).any_in(clause.words)


def _strange_verbs(clause: Clause) -> Iterator[Piece]:
    """Yield a first word that no list has and that acts on an igniter's part: *zorb the plug*."""
    pieces = list(clause.pieces)
    while pieces and pieces[0].role is Role.FUNCTION:
        pieces.pop(0)
    if len(pieces) < 3 or pieces[0].role not in {Role.KNOWN, Role.UNKNOWN}:
        return
    verb, following = pieces[0], pieces[1:5]
    if _deeds().longest(verb.words, 0) or verb.text in _NO_VERBS or verb.text.endswith("s"):
        return
    particle = following[0].text in _PARTICLES
    rest = following[particle:]
    article = bool(rest) and rest[0].text in words_in(Aside.ARTICLE) - {"of"}
    part = next((p for p in rest if not is_small(p)), None)
    if (article or (particle and verb.role is Role.UNKNOWN)) and part is not None:
        if part.role in {*TARGETS, Role.CONTACT}:
            yield verb


def _strange_participles(clause: Clause) -> Iterator[Piece]:
    """Yield verbs in *-ed* and *-ing* that no list has, where an igniter's part is named."""
    if not clause.roles & {*TARGETS, Role.CONTACT} or Role.NEIGHBOUR in clause.roles:
        return
    listed: set[int] = set()
    for at, size, _ in _done(clause):
        listed.update(range(at, at + size))
    begin = 0
    for piece in clause.pieces:
        places = range(begin, begin + len(piece.words))
        begin += len(piece.words)
        if piece.role not in {Role.KNOWN, Role.UNKNOWN} or not listed.isdisjoint(places):
            continue
        word = piece.words[0]
        if _is_participle(word) and not (_list(_List.STATE).longest([word], 0) or _is_slip(word)):
            yield piece


def _is_participle(word: str) -> bool:
    return word.isalpha() and len(word) > _SHORTEST and word.endswith(("ed", "ing"))


_SHORTEST = 4


def _strange_things(clause: Clause) -> Iterator[Piece]:
    """Yield what is fitted, or was, and is no thing that belongs there."""
    for at in range(len(clause.words)):
        found = _list(_List.FITS).longest(clause.words, at)
        if found is not None:
            things = _object(_pieces_from(clause, at + found[0]))
            if clause.words[at] not in _ACTIVE:
                things = things or _object(_pieces_until(clause, at))
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


_PLACES = frozenset(["under", "behind", "below", "near", "beside", "for", "instead", "unter", "sous"])
_ACTIVE = frozenset(["put", "puts", "putting", "stuck"])
_FITTED = frozenset([*TARGETS, Role.CONTACT, Role.NEIGHBOUR, Role.UNIT, Role.CLOCK_SPRING])
_OTHERWISE_JUDGED = frozenset([Role.SUBSTITUTE, Role.SCAN, Role.GRIP, Role.HARMLESS, Role.VALUE])


def _may_be_fitted(piece: Piece) -> bool:
    by_role = piece.role in _FITTED | _OTHERWISE_JUDGED
    return by_role or _list(_List.THING).any_in(piece.words)


_PARTICLES = frozenset(["out", "off", "up", "open", "down", "back", "apart", "away", "over"])
_NO_VERBS = frozenset(["behind", "between", "inside", "outside", "above", "underneath", "beside"])


def _done(clause: Clause) -> Iterator[tuple[int, int, Deed]]:
    """Yield every deed of a clause with its place and length in words."""
    at = 0
    while at < len(clause.words):
        size, deed = _deeds().longest(clause.words, at) or (1, None)
        if deed is not None:
            yield at, size, deed
        at += size if deed in _HARMFUL else 1


_HARMFUL = frozenset([Deed.JOINS, Deed.NEVER, Deed.ALTERED])


def _is_on_it(clause: Clause, before: bool | None) -> bool | None:
    """Whether a clause is about an igniter or its circuit; one that names nothing goes on."""
    other = _list(_List.OTHER).any_in(clause.words) or any(map(is_other, clause.pieces))
    targets = [piece for piece in clause.pieces if piece.role in TARGETS]
    if any(not other or piece.words[0] not in _COLOURS for piece in targets):
        return True
    if other:
        return False
    if Role.NEIGHBOUR in clause.roles and Role.ISOLATE not in clause.roles:
        return None  # of the battery or a fuse
    if Role.APART in clause.roles:
        return False
    parts = {Role.CONTACT, Role.HARNESS, Role.CLOCK_SPRING, Role.JOINED}
    return True if clause.roles & parts or _HELD & clause.vocabulary else before


_PARTS = frozenset(["bag", "module", "ecu", "unit", "tensioner", "reel", "squib", "igniter"])
_COLOURS = frozenset(["yellow", "gelb", "gelbe", "gelber", "gelbes", "jaune"])
_HELD = frozenset(["belt", "belts", "buckle", "buckles", "bag", "bags", "airbag", "airbags", "tensioner", "tensioners", "reel", "retractor", "gurt"])


def _is_isolated(clause: Clause) -> bool:
    return Role.ISOLATE in clause.roles and not words_in(Aside.DENIAL) & clause.vocabulary


def _is_of_its_wires(sentence: Sequence[Clause]) -> bool | None:
    """Whether a sentence is about an igniter's plug or wires, from its first word on."""
    pieces = [piece for clause in sentence for piece in clause.pieces]
    if any(map(is_other, pieces)) or any(_list(_List.OTHER).any_in(c.words) for c in sentence):
        return None
    return any(piece.role in {*TARGETS, Role.CONTACT, Role.HARNESS} for piece in pieces) or None


_HOLDS = frozenset([Role.CONTACT, Role.HARNESS, Role.UNIT, Role.NEIGHBOUR])


def _names_wires(clause: Clause) -> bool:
    """Whether a plug, a wire or trim is named beside the igniter: *cleaned the plug of the bag*."""
    roles_told = {role_of(word) for word in clause.words}
    wired = roles_told & {Role.CONTACT, Role.HARNESS, Role.CLOCK_SPRING, Role.UNIT, Role.NEIGHBOUR}
    return bool(wired) or _list(_List.OTHER).any_in(clause.words)


def _is_hasty(sentence: Sequence[Clause]) -> bool:
    """Whether it is told that nobody waited for minutes."""
    words = [word for each in sentence for word in each.words]
    told = [(_count(n), unit) for c in sentence for n, unit in pairwise(c.words) if _count(n)]
    minutes = [n for n, unit in told if aside(Aside.MINUTES).any_in([unit])]
    shortly = any(_list(_List.SECONDS).any_in([unit]) for _, unit in told)
    if minutes:
        return max(minutes) < _SHORTEST_WAIT
    if aside(Aside.MINUTES).any_in(words):
        return False
    return shortly or any(
        aside(Aside.AT_ONCE).any_in(each.words) and not _is_denied(each) for each in sentence
    )


def _count(word: str) -> int:
    """Return the number that a word is; 0 if it is none."""
    return int(word) if word.isdecimal() else _COUNTS.get(word, 0)


_COUNTS = {"one": 1, "two": 2, "three": 3, "five": 5, "ten": 10, "fifteen": 15, "twenty": 20}
_SHORTEST_WAIT = 3
"""So many minutes at least are waited; makers say more or less, and what they say goes first."""


def _skips_the_wait(clause: Clause) -> bool:
    """Whether a clause tells that nobody waits; *never skip the wait* does not."""
    if _SUFFICES & clause.vocabulary and _list(_List.SECONDS).any_in(clause.words):
        return True
    found = (at for at in range(len(clause.words)) if _list(_List.SKIPS).longest(clause.words, at))
    at = next(found, None)
    return at is not None and not words_in(Aside.DENIAL) & set(clause.words[:at])


_SUFFICES = frozenset(["enough", "plenty", "sufficient", "suffices", "reicht", "suffit", "wystarczy"])


def _is_denied(clause: Clause) -> bool:
    return bool(words_in(Aside.DENIAL) & clause.vocabulary)


def _is_live(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a plug is opened while the supply is told to be on: *ign on, pull the plug*."""
    clause = sentence[place]
    if Role.SCAN in clause.roles and not clause.roles & {*TARGETS, Role.CONTACT}:
        return False
    before = sentence[place - 1] if place else None
    alone = before is not None and Role.LIVE in before.roles and before.roles <= _CIRCUMSTANCE
    after = sentence[place + 1] if place + 1 < len(sentence) else None
    goes_on = after is not None and after.joiner == "and" and after.pieces[0].role is not Role.LIVE
    meanwhile = after is not None and after.joiner in {"while", "whilst", "with"}
    goes_on = goes_on or meanwhile
    within = Role.LIVE in clause.roles and not _is_denied(clause)
    hot = any(piece.text in _ADVERBS for piece in clause.pieces)
    return within or hot or alone or (goes_on and after is not None and Role.LIVE in after.roles)


_ADVERBS = frozenset(["hot", "live"])
_CIRCUMSTANCE = frozenset([Role.LIVE, Role.FUNCTION, Role.PLACE])


def is_told_of_others(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a clause tells what was found so, or what others did."""
    clause = sentence[place]
    before_us = clause.joiner == "before" and clause.words[0] in {"us", "me"}
    return (
        before_us or _list(_List.SEEN_SO).any_in(clause.words) or is_reported(sentence, place)
    )


def _alters(clause: Clause, at: int, size: int) -> bool:
    """Whether a part follows that is altered: *cut the plug*, but not *had a bent pin*."""
    found = clause.words[max(0, at - 1) : at]
    if found and (found[0] in words_in(Aside.ARTICLE) or found[0] in _FOUND):
        return False
    following = _pieces_from(clause, at + size)[:1]
    bare = not (following and is_small(following[0])) and not _pronoun_follows(clause, at + size)
    if bare and not clause.words[at].startswith(_CUTS):
        return False  # a snapped plug
    return _part_follows(clause, at + size)


_CUTS = ("cut", "durch", "abge", "gekappt", "coup", "section", "obci", "uci", "odci", "przeci", "tagli", "cort", "door", "afge", "geknipt", "klipp", "ustri", "пере", "отре", "обре", "отку")
_FOUND = frozenset(["had", "has", "have", "with", "new", "old"])


def _pieces_from(clause: Clause, at: int) -> list[Piece]:
    """Return the pieces from a word on."""
    begin, pieces = 0, []
    for piece in clause.pieces:
        if begin >= at:
            pieces.append(piece)
        begin += len(piece.words)
    return pieces


def _pieces_until(clause: Clause, at: int) -> list[Piece]:
    """Return the pieces before a word."""
    return list(clause.pieces)[: len(clause.pieces) - len(_pieces_from(clause, at))]


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
