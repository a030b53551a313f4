"""Whether each thing done to an igniter's parts is one of those that may be done.

The verbs stand in ``igniter_deeds.toml`` beside this module. A verb that acts on an igniter, its
plug or its wires and stands in no list is not plainly allowed; one that does is, under the
condition of its list: plugs with the supply off, wires joined with the maker's parts. All of it is
common practice, no source.
"""

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Self

from kb.bounds import whole_of
from kb.safety.igniter_acts import TARGETS, Reason, is_small, tells_supply
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_handling import is_before_us, is_other, is_reported, is_ruled_out
from kb.safety.igniter_words import Aside, Lexicon, Role, aside, entries, role_of, words_in

TABLE = Path(__file__).with_name("igniter_deeds.toml")


class Doing(StrEnum):
    """Under which condition something may be done; the names of the table's lists."""

    MAY = "may"
    WIRES = "wires"
    OFF = "off"
    JOINS = "joins"
    NEVER = "never"
    ALTERED = "altered"


class WordList(StrEnum):
    """Lists of the table that are asked beside the verbs."""

    KIT = "kit"
    OTHER = "other"
    SKIPS = "skips"
    AWAITED = "awaited"
    SECONDS = "seconds"
    FITS = "fits"
    SEEN_SO = "seen_so"
    STATE = "state"
    THING = "thing"
    HELD = "held"
    CUTS = "cuts"
    SUFFICES = "suffices"
    FITTING = "fitting"
    HOLDER = "holder"
    FROM = "from"
    CAR = "car"
    COMES_FROM = "comes_from"
    FOREIGN = "foreign"
    CHANGES = "changes"
    SUPPLY_ON = "supply_on"
    SUPPLY_OFF = "supply_off"
    KEY_ALONE = "key_alone"
    NO_CHARGE = "no_charge"
    BY_THE_MAKER = "by_the_maker"
    DIRECT = "direct"
    KEEPERS = "keepers"
    FOR_OTHERS = "for_others"
    FALLS = "falls"
    THROWN = "thrown"
    GOES = "goes"
    ONTO_GROUND = "onto_ground"
    GROUND = "ground"
    WETTED = "wetted"
    WARMED = "warmed"
    FUSED = "fused"
    WEBBING = "webbing"
    SOLVENTS = "solvents"
    BOTCHES = "botches"
    HELD_SO = "held_so"
    TAPES = "tapes"
    UNCENTRED = "uncentred"
    USED_SPRING = "used_spring"
    RESISTOR = "resistor"
    BY_IT = "by_it"
    CHANGED_FOR = "changed_for"
    INSTEAD_OF_IT = "instead_of_it"
    KNOWN_SO = "known_so"
    SHORTING_BARS = "shorting_bars"
    BAR_GONE = "bar_gone"
    CONTACT_SPRAYS = "contact_sprays"


@cache
def table() -> dict[str, list[str]]:
    """Read the table, once."""
    read = tomllib.loads(TABLE.read_text(encoding="utf-8"))
    return {name: entries(listed["words"]) for name, listed in read.items()}


@cache
def verbs() -> Lexicon[Doing]:
    """Read the verbs of the table, once."""
    return Lexicon.of({deed: table()[deed] for deed in Doing})


@cache
def list_of(name: WordList) -> Lexicon[WordList]:
    """Read one of the other lists, once."""
    return Lexicon.of({name: table()[name]})


def deeds_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what is done to an igniter's parts and is not plainly allowed."""
    told = _Told.of(sentence)
    on_it = told.on_it
    for place, clause in enumerate(sentence):
        if _skips_the_wait(clause):
            yield Piece(Role.LIVE, clause.words), Reason.LIVE
        on_it = _is_on_it(clause, on_it)
        if is_told_of_others(sentence, place) or (place and sentence[place - 1].stops_at_denial):
            continue
        live = told.hasty or _is_live(sentence, place)
        for at, size, deed in deeds_of(clause):
            words = clause.words[at : at + size]
            by_thing = size == 1 and words[0].endswith("s") and deed is not Doing.NEVER
            by_thing |= deed is Doing.NEVER and _acts_by_itself(clause, at, size)
            if by_thing or is_ruled_out(clause, at) or _is_name(deed, clause, at + size):
                continue  # what it catches or joins is nobody's deed
            if deed is Doing.OFF:
                told_of_supply = clause.pieces[clause.piece_at[at]].role is Role.LIVE
                if live and on_it is not False and not told_of_supply:
                    yield Piece(Role.UNKNOWN, words), Reason.LIVE
            elif _is_wrong(deed, clause, at, size, told, on_it):
                yield Piece(Role.UNKNOWN, words), Reason.UNKNOWN


def _acts_by_itself(clause: Clause, at: int, size: int) -> bool:
    """Whether another thing is complained of that nobody does anything to: *coolant boils*."""
    words = clause.words
    doing = words[at + size - 1].endswith(("s", "ing")) or words[at : at + size] in _GLOWING
    parts = TARGETS | {Role.CONTACT, Role.HARNESS, Role.CLOCK_SPRING}
    alone = not clause.roles & parts and set(words[at + size :]) <= _WHEN
    return doing and alone and not _BY_THEMSELVES.isdisjoint(words[:at])


_BY_THEMSELVES = frozenset(
    [*("coolant", "water", "fluid", "oil", "antifreeze", "radiator", "engine", "motor", "car"),
     *("van", "brakes", "brake", "clutch", "exhaust", "manifold", "disc", "discs", "steering"),
     *("gearbox", "bonnet", "mirror", "mirrors", "dash", "turbo", "battery", "acid", "fan")]
)  # fmt: skip
_GLOWING = (("red", "hot"), ("cherry", "red"))
_WHEN = frozenset(
    [*("over", "at", "idle", "idling", "badly", "up", "when", "hot", "cold", "on", "under"),
     *("braking", "load", "hill", "hills", "uphill", "motorway", "speed", "again", "now", "too")]
)  # fmt: skip


def _is_name(deed: Doing, clause: Clause, end: int) -> bool:
    """Whether the drawing's name of a joint stands there: *splice S41*."""
    named = "".join(clause.words[end : end + 1])
    return deed is Doing.JOINS and named[:1].isalpha() and named[-1:].isdigit()


@dataclass(frozen=True, slots=True)
class _Told:
    """What a sentence tells as a whole.

    Attributes
    ----------
    on_it : bool or None
        It is about an igniter's circuit and no other part; None if it names neither.
    safe, hasty : bool
        The supply is told to be off or the maker's parts are used; nobody waited for minutes.
    of_bag_alone, taken_out : bool
        An igniter is named, and no plug or wire of it; it is told to be out.
    """

    on_it: bool | None
    safe: bool
    hasty: bool
    of_bag_alone: bool
    taken_out: bool

    @classmethod
    def of(cls, sentence: Sequence[Clause]) -> Self:
        by_kit = any(list_of(WordList.KIT).any_in(each.words) for each in sentence)
        named = [each for each in sentence if each.roles & TARGETS]
        return cls(
            on_it=_is_of_its_wires(sentence),
            safe=by_kit or any(map(_is_isolated, sentence)),
            hasty=_is_hasty(sentence),
            of_bag_alone=bool(named) and not any(map(_names_wires, sentence)),
            taken_out=any(
                aside(Aside.TAKEN_OUT).any_in(each.words)
                and not aside(Aside.NOT_OUT).any_in(each.words)
                for each in named
            ),
        )


def _is_wrong(
    deed: Doing, clause: Clause, at: int, size: int, told: _Told, on_it: bool | None
) -> bool:
    """Whether a deed, other than opening a plug, is done to what it may not be done to."""
    if deed is Doing.NEVER:
        if (
            told.taken_out
            and not clause.roles & TARGETS
            and aside(Aside.HEATED).any_in(clause.words)
        ):
            return False
        words = set(clause.words[at : at + size])
        before = [word for word in clause.words[:at] if word not in _COPULA][-1:]
        named = {*words, *before} & _PARTS or _pronoun_follows(clause, at + size)
        named = named or "it" in clause.words[:at] or _unnamed_follows(clause, at + size)
        return bool(on_it or (on_it is None and named))
    joined_to = deed is Doing.JOINS and _unnamed_follows(clause, at + size)
    if not (on_it or joined_to):
        return False
    if deed is Doing.ALTERED:
        return not told.safe and _alters(clause, at, size)
    if deed is Doing.WIRES:
        alone = len(clause.words) == size and _HOLDS.isdisjoint(clause.roles)
        of_bag = bool(clause.roles & TARGETS) and not _names_wires(clause)
        return of_bag or (alone and told.of_bag_alone)
    turned = not _TURNED.isdisjoint(clause.words[at + size : at + size + 2])
    joins = deed is Doing.JOINS and not (turned or _is_of_webbing(clause))
    return joins and (not told.safe or Role.JOINED in clause.roles)


def _is_of_webbing(clause: Clause) -> bool:
    """Whether a belt and no wire is spoken of: *buckle twisted*."""
    wired = clause.roles & {*TARGETS, *_HOLDS, Role.JOINED, Role.CLOCK_SPRING}
    return not wired and not _WEBBING.isdisjoint(clause.words)


_TURNED = frozenset(["wheel", "steering", "key", "column"])
_WEBBING = frozenset(["belt", "belts", "buckle", "buckles", "webbing", "strap", "straps"])
_COPULA = frozenset(["was", "were", "is", "are", "been", "be", "has", "had", "then", "got"])


def is_ordinary(piece: Piece, reason: Reason) -> bool:
    """Whether a word that has no role is one of the deeds that may be done at any time.

    A strange one only has to be a deed of any list, which is judged by itself.
    """
    found = verbs().longest(piece.words, 0) if piece.role is Role.UNKNOWN else None
    whole = found is not None and found[0] == len(piece.words)
    return whole and (reason is Reason.STRANGE or found == (len(piece.words), Doing.MAY))


def deeds_of(clause: Clause) -> Iterator[tuple[int, int, Doing]]:
    """Yield every deed of a clause with its place and length in words."""
    at = 0
    ended = -1  # the verb that ends a phrase is no deed of its own: *Stecker unter Sitz geöffnet*
    while at < len(clause.words):
        size, deed = verbs().longest(clause.words, at) or (1, None)
        if deed is not None and not (at == ended and size == 1):
            yield at, size, deed
        inner = clause.words[at + 1 : at + size - 1]
        if deed is Doing.OFF and size > 1 and not any(role_of(word) in TARGETS for word in inner):
            ended = at + size - 1
        at += size if deed in _HARMFUL or deed is Doing.MAY else 1


_HARMFUL = frozenset([Doing.JOINS, Doing.NEVER, Doing.ALTERED])


def _is_on_it(clause: Clause, before: bool | None) -> bool | None:
    """Whether a clause is about an igniter or its circuit; one that names nothing goes on."""
    if clause.pieces[0].role is Role.RAIL and tells_supply(clause):
        return False
    other = list_of(WordList.OTHER).any_in(clause.words) or any(map(is_other, clause.pieces))
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
    return True if clause.roles & parts or list_of(WordList.HELD).any_in(clause.words) else before


_PARTS = frozenset(
    ["bag", "crash", "module", "ecu", "unit", "tensioner", "reel", "squib", "igniter"]
)
_COLOURS = frozenset(["yellow", "gelb", "gelbe", "gelber", "gelbes", "jaune"])


def _is_isolated(clause: Clause) -> bool:
    """Whether a clause tells that the supply is off; *battery on* does not."""
    off = (p for p in clause.pieces if p.role is Role.ISOLATE and p.words[-1] not in _ON_AGAIN)
    of_plugs = verbs()
    supply = aside(Aside.BATTERY).any_in(clause.words)
    told = any(supply or of_plugs.longest(piece.words, 0) is None for piece in off)
    return told and not _is_denied(clause)


def _is_of_its_wires(sentence: Sequence[Clause]) -> bool | None:
    """Whether a sentence is about an igniter's plug or wires, from its first word on."""
    pieces = [piece for clause in sentence for piece in clause.pieces]
    if any(map(is_other, pieces)) or any(list_of(WordList.OTHER).any_in(c.words) for c in sentence):
        return None
    return any(piece.role in {*TARGETS, Role.CONTACT, Role.HARNESS} for piece in pieces) or None


_HOLDS = frozenset([Role.CONTACT, Role.HARNESS, Role.UNIT, Role.NEIGHBOUR])


def _names_wires(clause: Clause) -> bool:
    """Whether a plug, a wire or trim is named beside the igniter: *cleaned the plug of the bag*."""
    roles_told = {role_of(word) for word in clause.words}
    wired = roles_told & {Role.CONTACT, Role.HARNESS, Role.CLOCK_SPRING, Role.UNIT, Role.NEIGHBOUR}
    plugged = "home" in clause.words
    return plugged or bool(wired) or list_of(WordList.OTHER).any_in(clause.words)


def _is_hasty(sentence: Sequence[Clause]) -> bool:
    """Whether it is told that nobody waited for minutes."""
    words = [word for each in sentence for word in each.words]
    told = [(_count(n), unit) for c in sentence for n, unit in pairwise(c.words) if _count(n)]
    minutes = [n for n, unit in told if aside(Aside.MINUTES).any_in([unit])]
    of_work = [c for before, c in pairwise([None, *sentence]) if not _is_of_lamp(before, c)]
    shortly = any(
        _count(n) and list_of(WordList.SECONDS).any_in([unit])
        for clause in of_work
        if clause
        for n, unit in pairwise(clause.words)
    )
    if minutes:
        return max(minutes) < _SHORTEST_WAIT
    if aside(Aside.MINUTES).any_in(words):
        return False
    plain = (
        (c.joiner, *(p.text for p in c.pieces if p.role is not Role.HARMLESS)) for c in sentence
    )
    joined = [word for told_here in plain for text in told_here for word in text.split()]
    at_once = aside(Aside.AT_ONCE).any_in(joined)
    return shortly or (at_once and not any(map(_is_denied, sentence)))


def _is_of_lamp(before: Clause | None, clause: Clause | None) -> bool:
    """Whether a clause tells the lamp, or goes on with it: *lamp out after 6 s*."""
    named = [each for each in (before, clause) if each and Role.LAMP in each.roles]
    return bool(named) and (clause in named or (clause is not None and clause.joiner == "after"))


def _count(word: str) -> int:
    """Return the number that a word is; 0 if it is none."""
    return whole_of(word) or _COUNTS.get(word, 0)


_COUNTS = {"one": 1, "two": 2, "three": 3, "five": 5, "ten": 10, "fifteen": 15, "twenty": 20}
_SHORTEST_WAIT = 3
"""So many minutes at least are waited; makers say more or less, and what they say goes first."""


def _skips_the_wait(clause: Clause) -> bool:
    """Whether a clause tells that nobody waits; *never skip the wait* does not."""
    if list_of(WordList.SUFFICES).any_in(clause.words) and list_of(WordList.SECONDS).any_in(
        clause.words
    ):
        return True
    words = clause.words
    for at in range(len(words)):
        skipped = list_of(WordList.SKIPS).longest(words, at)
        if skipped and not _is_for_others(words[at + skipped[0] :]):
            return not words_in(Aside.DENIAL) & set(words[:at])
    return False


def _is_for_others(behind: Sequence[str]) -> bool:
    """Whether the wait is for somebody or something away: *don't wait for the bus*."""
    awaited = behind[1:2] and list_of(WordList.AWAITED).longest(behind, 1)
    return behind[:1] == ("for",) and bool(awaited)


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
    kept = after is not None and (after.words in _ON or _is_engine_on(after))
    left_on = kept and not any(map(_is_isolated, sentence))
    left_on = left_on and not _ends_swap(sentence, place)
    within = Role.LIVE in clause.roles and not _is_denied(clause)
    hot = any(piece.text in _ADVERBS for piece in clause.pieces)
    return (
        within
        or hot
        or alone
        or left_on
        or (goes_on and after is not None and Role.LIVE in after.roles)
    )


def _ends_swap(sentence: Sequence[Clause], place: int) -> bool:
    """Whether the supply comes on last, load out and bag in: *dummy out, bag in, battery on*.

    The load was fitted, and is taken out, with the supply off.
    """
    last = place + 2 == len(sentence)
    taken = any(
        clause.pieces[0].role is Role.SUBSTITUTE and not _TAKEN.isdisjoint(clause.words)
        for clause in sentence[:place]
    )
    live = any(Role.LIVE in clause.roles for clause in sentence)
    return last and taken and not live and not any(map(_is_battery, sentence[:place]))


def _is_battery(clause: Clause) -> bool:
    return aside(Aside.BATTERY).any_in(clause.words)


_TAKEN = frozenset(["out", "removed", "off", "unplugged"])
_ADVERBS = frozenset(["hot", "live"])


def _is_engine_on(clause: Clause) -> bool:
    running = Role.LIVE in clause.roles and clause.roles <= _CIRCUMSTANCE
    return running and not _ENGINE.isdisjoint(clause.words)


_ENGINE = frozenset(["engine", "motor", "moteur", "silnik", "silniku", "motore"])
_ON_AGAIN = frozenset(["on", "back", "up", "reconnected"])
_ON = (("battery", "on"), ("batt", "on"))
_CIRCUMSTANCE = frozenset([Role.LIVE, Role.FUNCTION, Role.PLACE])


def is_told_of_others(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a clause tells what was found so, or what others did."""
    clause = sentence[place]
    before_us = is_before_us(clause) or is_customers(sentence)
    return (
        before_us or list_of(WordList.SEEN_SO).any_in(clause.words) or is_reported(sentence, place)
    )


def is_customers(sentence: Sequence[Clause]) -> bool:
    """Whether it is told what the customer says, and nothing of an igniter's circuit."""
    begins = sentence[0].words[:2]
    says = begins[:1] in (("customer",), ("cust",), ("driver",), ("owner",)) and begins[1:] in _SAYS
    return says and not any(clause.roles & _OF_CIRCUIT for clause in sentence)


_SAYS = (("says",), ("said",), ("reports",), ("states",), ("complains",))
_OF_CIRCUIT = frozenset(
    [*TARGETS, Role.CONTACT, Role.HARNESS, Role.CLOCK_SPRING, Role.UNIT, Role.JOINED]
)


def _alters(clause: Clause, at: int, size: int) -> bool:
    """Whether a part follows that is altered: *cut the plug*, but not *had a bent pin*."""
    found = clause.words[max(0, at - 1) : at]
    if found and (found[0] in words_in(Aside.ARTICLE) or found[0] in _FOUND):
        return False
    following = pieces_from(clause, at + size)[:1]
    bare = not (following and is_small(following[0])) and not _pronoun_follows(clause, at + size)
    if bare and not list_of(WordList.CUTS).longest(clause.words, at):
        return False  # a snapped plug
    return _part_follows(clause, at + size)


_FOUND = frozenset(["had", "has", "have", "with", "new", "old", "seen", "saw", "found"])


def pieces_from(clause: Clause, at: int) -> Sequence[Piece]:
    """Return the next pieces from a word on."""
    places = clause.piece_at[at : at + 1]
    return clause.pieces[places[0] : places[0] + _FAR] if places else ()


_FAR = 8
"""So many pieces on a verb can have its object."""


def _part_follows(clause: Clause, at: int) -> bool:
    """Whether an igniter, its plug or its wires is what the verb before acts on."""
    for piece in pieces_from(clause, at)[:5]:
        if piece.role in {*TARGETS, Role.CONTACT, Role.HARNESS}:
            return True
        if not (is_small(piece) or piece.role is Role.KNOWN):
            return False
    return _pronoun_follows(clause, at)


def _unnamed_follows(clause: Clause, at: int) -> bool:
    """Whether a plug, a wire or a thing is acted on, and nothing tells what part it is of.

    On a job that concerns an igniter it may be one's: *tapped into the two pin plug*.
    """
    behind = pieces_from(clause, at)
    for place, piece in enumerate(behind[:_FAR_OBJECT]):
        if is_other(piece) or list_of(WordList.OTHER).any_in(piece.words):
            return False
        if piece.role in {Role.CONTACT, Role.HARNESS} or piece.text in _THINGS:
            return not _tells_whose(behind[place + 1 :])
    return False


_FAR_OBJECT = 5


def _tells_whose(behind: Sequence[Piece]) -> bool:
    """Whether it is told of what other part it is: *the plug of the heater*, *the wire for ...*."""
    owned = bool(behind) and behind[0].text in _OWNED_BY
    return owned and any(is_other(p) or list_of(WordList.OTHER).any_in(p.words) for p in behind[:4])


_OWNED_BY = frozenset(["of", "to", "on", "in", "from"])
_THINGS = frozenset(
    ["thing", "things", "one", "ones", "part", "can", "gubbins", "bit", "pair", "bracket", "ends",
     "end", "device", "gizmo", "canister", "pot", "capsule", "cylinder", "stalk", "teil",
     "ding", "truc", "piece", "cosa"]
)  # fmt: skip


def _pronoun_follows(clause: Clause, at: int) -> bool:
    following = pieces_from(clause, at)[:2]
    return any(piece.text in words_in(Aside.PRONOUN) for piece in following)
