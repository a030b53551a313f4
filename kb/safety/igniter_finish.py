"""What a sentence tells beside an igniter, and nothing is done to it.

The end of a job, where the supply comes on again and codes and the lamp are looked at, and a bag
that merely lies somewhere while another part is measured. Both are worded like work with the supply
on or a meter on the bag, and are neither. All of it is common practice, no source.
"""

from collections.abc import Sequence

from kb.safety.igniter_acts import TARGETS
from kb.safety.igniter_clauses import Clause
from kb.safety.igniter_deeds import Doing, deeds_of
from kb.safety.igniter_handling import is_other
from kb.safety.igniter_subject import stays_with_it
from kb.safety.igniter_words import Aside, Role, aside, words_in

_PLAIN = frozenset(
    [*(Role.KNOWN, Role.FUNCTION, Role.LAMP, Role.SCAN, Role.NUMBER, Role.HARMLESS, Role.PLACE),
     Role.JOINER]
)  # fmt: skip
_ON_AGAIN = frozenset(
    ["on", "back", "up", "reconnected", "connected", "again", "dran", "angeklemmt", "rebranchee",
     "branchee", "podlaczony", "podpiety", "restored"]
)  # fmt: skip


def is_finish(sentence: Sequence[Clause]) -> bool:
    """Whether the supply comes on again and all that follows is what was seen then.

    *Battery back on, ign on, code still there* is; what is put back may be told before the battery.
    """
    begin = next((at for at, each in enumerate(sentence) if _switches_on(each)), None)
    if begin is None or any(map(_seats_somebody, sentence)):
        return False
    before, rest = sentence[:begin], sentence[begin:]
    by_battery = Role.LIVE not in rest[0].roles
    put_back = all(map(_puts_back, before)) and (by_battery or not before)
    return put_back and all(_switches_on(each) or _tells_result(each) for each in rest)


def is_fetched(sentence: Sequence[Clause]) -> bool:
    """Whether all that is told is that the customer has his car: *customer collected the car*."""
    words = {word for clause in sentence for word in clause.words}
    return bool(words & _FETCHED) and words <= _FETCHED | _BESIDE_FETCHED


_FETCHED = frozenset(["collected", "fetched", "abgeholt"])
_BESIDE_FETCHED = frozenset(
    ["customer", "owner", "kunde", "the", "his", "her", "car", "van", "by", "hat", "auto", "all",
     "fine", "ok", "well", "on", "monday", "tuesday", "wednesday", "thursday", "friday",
     "saturday", "today"]
)  # fmt: skip


def _switches_on(clause: Clause) -> bool:
    """Whether a clause tells that the battery or the key is on, and no more."""
    plain = clause.roles <= {Role.ISOLATE, Role.LIVE, Role.FUNCTION, Role.JOINER}
    on = any(
        piece.role is Role.LIVE
        or (piece.role is Role.ISOLATE and not _ON_AGAIN.isdisjoint(piece.words))
        for piece in clause.pieces
    )
    return plain and on and not words_in(Aside.DENIAL) & clause.vocabulary


def _seats_somebody(clause: Clause) -> bool:
    return aside(Aside.SEATED).any_in(clause.words)


def _tells_result(clause: Clause) -> bool:
    """Whether a clause tells of codes and the lamp, and of no deed that wants the supply off."""
    if not clause.roles <= _PLAIN or words_in(Aside.PRONOUN) & clause.vocabulary:
        return False
    return all(deed is Doing.MAY for _, _, deed in deeds_of(clause))


def _puts_back(clause: Clause) -> bool:
    """Whether a clause tells that something is fitted or plugged again, with nothing beside it."""
    plain = clause.roles <= _PLAIN | TARGETS | {Role.JOINED}
    return plain and Role.JOINED in clause.roles and not words_in(Aside.DENIAL) & clause.vocabulary


def lies_aside(sentence: Sequence[Clause]) -> bool:
    """Whether a bag only lies somewhere, or is off, and all that is done is done elsewhere.

    *Bag on the seat, test lamp on the window fuse* is; with the supply told to be on it is not.
    """
    if len(sentence) < _LEAST or not _only_lies(sentence[0]):
        return False
    rest = sentence[1:]
    acts = [each for each in rest if each.roles & _ACTS]
    live = any(Role.LIVE in each.roles for each in sentence)
    done = not live and bool(acts) and all(map(_names_another, acts))
    return done and all(map(stays_with_it, rest))


_LEAST = 2


def _names_another(clause: Clause) -> bool:
    return any(piece.role is Role.NEIGHBOUR and is_other(piece) for piece in clause.pieces)


_ACTS = frozenset(
    [*(Role.INSTRUMENT, Role.MEASURE, Role.POWER, Role.BRIDGE, Role.PATH, Role.VALUE, Role.WEAK),
     *(Role.QUANTITY, Role.FORCE, Role.UNKNOWN)]
)  # fmt: skip


def _only_lies(clause: Clause) -> bool:
    """Whether a clause names an igniter first, and then only where it is, or that it is off."""
    lying = {*TARGETS, Role.FUNCTION, Role.PLACE, Role.ONTO, Role.KNOWN, Role.ISOLATE, Role.APART}
    named = [p for p in clause.pieces if p.role not in {Role.FUNCTION, Role.PLACE}]
    begins = bool(named) and named[0].role in TARGETS
    away = clause.roles & {Role.ONTO, Role.ISOLATE, Role.APART}
    deeds = {deed for _, _, deed in deeds_of(clause)} - {Doing.MAY, Doing.OFF}
    short = len(clause.words) <= _LONGEST_PLACE
    held = aside(Aside.AT_BODY).any_in(clause.words) or aside(Aside.CARRYING).any_in(clause.words)
    plain = short and clause.roles <= lying and not (deeds or held)
    return plain and begins and bool(away)


_LONGEST_PLACE = 7
"""So many words name a bag and where it lies; more tell how."""
