"""Whether a value is told in a way that makes it taken at the igniter itself, by whatever meter.

*Driver bag 2.2 ohm on the bench* names no instrument, yet no scan tool reads a bag that lies there.
All of it is common practice, no source.
"""

from collections.abc import Iterator, Sequence

from kb.safety.igniter_acts import TARGETS, Reason, are_ohms
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import WordList, list_of
from kb.safety.igniter_words import Aside, Role, aside, role_of, words_in

_ELSEWHERE = frozenset([Role.SCAN, Role.SUBSTITUTE, Role.NEIGHBOUR, Role.RAIL])
"""What a value is of, or by, where no igniter was measured."""
_PARTS = TARGETS | {Role.CLOCK_SPRING}


def direct_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield every value of an igniter that was taken directly at it, and what it still hung on."""
    yield from _measured_with_bag(sentence)
    yield from _found_open(sentence)
    live = False
    for place, clause in enumerate(sentence):
        live |= bool(clause.roles & {Role.SCAN, Role.SUBSTITUTE})
        value = next((p for at, p in enumerate(clause.pieces) if are_ohms(clause, at)), None)
        if value is None or clause.roles & _ELSEWHERE or words_in(Aside.LIMITS) & clause.vocabulary:
            continue
        beside = [each for each in sentence[max(0, place - 1) : place + 2] if _goes_with(each)]
        told = any(_directly(each) and (each is clause or not _falls(each)) for each in beside)
        named = [each for each in beside if each.roles & _PARTS]
        own = bool(clause.roles & (_PARTS | {Role.HARNESS}))
        spring = any(Role.CLOCK_SPRING in each.roles for each in named)
        of_it = [clause] if own else [each for each in named if not _is_put_away(each)]
        of_it = [each for each in of_it if not (spring and _is_off_it(each))]
        apart = Role.APART in clause.roles
        igniter = any(each.roles & TARGETS for each in of_it)
        if (igniter and (told or (_at_contact(clause) and not live))) or (
            _has_bag([each for each in beside if not (apart and _is_refitted(each))])
            and any(Role.CLOCK_SPRING in each.roles for each in named)
        ):
            yield Piece(Role.INSTRUMENT, value.words), Reason.METER


def _measured_with_bag(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what leads to a bag and is metered while that stays on: *alone, airbag left on*."""
    if any(each.roles & {Role.SCAN, Role.SUBSTITUTE} for each in sentence):
        return
    if not any(map(_stays_on, sentence)):
        return
    for clause in sentence:
        metered = (p for p in clause.pieces if p.role in {Role.MEASURE, Role.INSTRUMENT})
        piece = next(metered, None)
        if piece is not None and clause.roles & _LEADS and Role.NEIGHBOUR not in clause.roles:
            yield piece, Reason.METER


def _found_open(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what only a meter finds at an igniter's own plug: *side bag open at its own plug*."""
    if any(each.roles & {Role.SCAN, Role.SUBSTITUTE} for each in sentence):
        return
    for clause in sentence:
        own = any(
            piece.text in {"own", "its own"} and clause.pieces[at + 1].role is Role.CONTACT
            for at, piece in enumerate(clause.pieces[:-1])
        )
        named = clause.roles & TARGETS and not clause.roles & {*_ELSEWHERE, Role.HARNESS}
        verdict = next((p for p in clause.pieces if p.text in _FOUND_OPEN), None)
        if own and named and verdict is not None:
            yield verdict, Reason.METER


_FOUND_OPEN = frozenset(
    ["open", "open circuit", "short", "shorted", "infinite", "ol", "low", "high"]
)


def _stays_on(clause: Clause) -> bool:
    """Whether a clause says that the bag is not taken off; that it is back on tells an order."""
    staying = {Role.JOINED, Role.APART} & clause.roles == {Role.JOINED} and not _STAYING.isdisjoint(
        clause.words
    )
    bag = bool(clause.roles & TARGETS) or any(role_of(w) in TARGETS for w in clause.words)
    return staying and bag and not words_in(Aside.DENIAL) & clause.vocabulary


_LEADS = frozenset([Role.CLOCK_SPRING, Role.HARNESS])
_STAYING = frozenset(
    ["still", "left", "noch", "bleibt", "dran", "reste", "toujours", "rimane", "sigue", "blijft",
     "nadal"]
)  # fmt: skip


def _goes_with(clause: Clause) -> bool:
    """Whether a clause beside a value may say of what it is, or where it was taken."""
    return not clause.roles & _ELSEWHERE


def _is_refitted(clause: Clause) -> bool:
    """Whether a clause tells that the bag went back on, in its turn: *refitted the airbag*."""
    return clause.words[0] in {"refitted", "reconnected"}


def _is_put_away(clause: Clause) -> bool:
    """Whether a clause tells only where an igniter lies meanwhile: *bag in the cabinet*."""
    away = not _AWAY.isdisjoint(clause.words) and Role.VALUE not in clause.roles
    return away and not clause.roles & {Role.MEASURE, Role.INSTRUMENT, Role.CONTACT}


def _is_off_it(clause: Clause) -> bool:
    """Whether a clause tells only that the bag is off: *bag off*."""
    plain = clause.roles <= TARGETS | {Role.FUNCTION, Role.PLACE, Role.APART, Role.ISOLATE}
    return plain and clause.words[-1] in _OFF


_OFF = frozenset(["off", "out", "unplugged", "removed", "ab", "weg"])
_AWAY = frozenset(
    [
        *("cabinet", "cupboard", "store", "stored", "locker", "safe", "shelf", "away"),
        *("schrank", "lager", "regal", "armoire", "etagere", "szafie", "szafa", "regale"),
    ]
)


def _directly(clause: Clause) -> bool:
    return list_of(WordList.DIRECT).any_in(clause.words)


def _falls(clause: Clause) -> bool:
    """Whether a clause tells from where something fell, and not where a value was taken."""
    return aside(Aside.HARMED).any_in(clause.words)


def _at_contact(clause: Clause) -> bool:
    """Whether a value is told at an igniter's own contacts: *squib 2.2 ohm at the plug*."""
    words = iter(word for piece in clause.pieces for word in piece.words)
    led = any(role_of(word) is Role.ONTO and word != "between" for word in words)
    return led and bool(clause.roles & TARGETS) and any(role_of(w) is Role.CONTACT for w in words)


def _has_bag(clauses: Sequence[Clause]) -> bool:
    """Whether the bag still hangs on what was measured: *clock spring 2.4 ohm, bag connected*."""
    return any(Role.JOINED in each.roles for each in clauses)
