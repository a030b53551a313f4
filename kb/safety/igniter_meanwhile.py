"""What is told to be on meanwhile, in a clause of its own: the supply, or a live value.

*Replaced the bag, key was on* tells no deed with the key, and yet how the bag was replaced; a plug
that is opened while the scan tool reads is opened with the supply on. Words stand in
``igniter_told.toml``, all of it is common practice, no source.
"""

from collections.abc import Iterator, Sequence

from kb.safety.igniter_acts import TARGETS, Reason
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import Doing, deeds_of, is_told_of_others
from kb.safety.igniter_supply import is_enough, tells_lamp, touches
from kb.safety.igniter_told import fully_tells, tells
from kb.safety.igniter_words import Aside, Role, words_in


def meanwhile_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what says that a part was worked at with the supply on, if nothing tells it off."""
    for place, clause in enumerate(sentence):
        if is_told_of_others(sentence, place) or _is_off(sentence, place):
            continue
        if (
            _is_supply_on(sentence, place)
            or _is_plug_at_live_value(sentence, place)
            or _is_off_too_late(sentence, place)
        ):
            yield Piece(Role.LIVE, clause.words), Reason.LIVE


def _is_off(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a clause before, or one behind that says *after*, tells the supply to be off."""
    after = [each for each in sentence[place + 1 :] if each.joiner == "after"]
    return any(is_enough(each) or tells("off", each) for each in (*sentence[:place], *after))


def _is_supply_on(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a clause tells only that the supply is on, behind what was done to a part.

    What is told without a verb may have come next, if the lamp, a code or a value is told then.
    """
    clause, behind = sentence[place], sentence[place + 1 :]
    tried = not tells("state_told", clause) and any(_WORKS & e.vocabulary for e in sentence)
    of_machine = fully_tells("state_of_machine", clause) and not tried
    if clause.joiner in _ORDER or not (of_machine or fully_tells("state", clause)):
        return False
    if not _is_worked_before(sentence, place):
        return False
    return of_machine or tells("state_told", clause) or not any(map(_proves, behind))


def _is_worked_before(sentence: Sequence[Clause], place: int) -> bool:
    """Whether work at a part of the restraints is told before a clause."""
    worked = (at for at in range(place) if not is_told_of_others(sentence, at))
    return any(_works(sentence, at) for at in worked)


def _is_off_too_late(sentence: Sequence[Clause], place: int) -> bool:
    """Whether the supply came off behind the work alone: *replaced bag, battery off afterwards*."""
    clause, behind = sentence[place], sentence[place + 1 : place + 2]
    if not (is_enough(clause) or tells("off", clause)):
        return False
    for each in behind:
        if each.joiner == "after" and _works(sentence, place + 1):
            return True
    of_that = any(each.joiner == "after" and set(each.words) <= _THAT for each in behind)
    late = of_that or clause.joiner in _LATER or tells("later", clause)
    return late and _is_worked_before(sentence, place)


def _works(sentence: Sequence[Clause], place: int) -> bool:
    clause = sentence[place]
    other = clause.roles & {*_READ, Role.UNIT} or tells_lamp(clause)
    if other or words_in(Aside.DENIAL) & clause.vocabulary:
        return False
    part = (
        clause.roles & {*TARGETS, Role.CLOCK_SPRING}
        or (Role.CONTACT in clause.roles and Role.NEIGHBOUR not in clause.roles)
        or tells("bag_in", clause)
    )
    return bool(part) and (tells("handled", clause) or touches(sentence, place))


def _proves(clause: Clause) -> bool:
    """Whether a clause tells what was seen of the system, as one does at the end of a job."""
    return tells_lamp(clause) or bool(clause.roles & _READ) or tells("proof", clause)


def _is_plug_at_live_value(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a plug is opened or closed as a live value is read."""
    clause = sentence[place]
    if not _moves_plug(clause):
        return False
    live = [at for at, each in enumerate(sentence) if _is_live_value(each)]
    beside = [at for at in live if abs(at - place) == 1]
    if place in live or (live and tells("meanwhile", clause)):
        at_it = place in live and tells("at_that_moment", clause)
        return at_it or tells("meanwhile", clause)
    if any(sentence[max(at, place)].joiner in _WHILE for at in beside):
        return True
    before = max((at for at in live if at < place), default=None)
    if before is None or clause.joiner not in _NEXT:
        return False
    between = sentence[before + 1 : place]
    if not all(each.joiner in _NEXT and any(True for _ in _deeds(each)) for each in between):
        return False
    moves = any(tells("jumps", each) for each in sentence[place:])
    return moves or tells("shaken", clause) or _is_watched(sentence[before])


def _is_watched(clause: Clause) -> bool:
    """Whether a live value is told to be watched, and nothing of what it was."""
    return tells("watched", clause) and not (Role.VALUE in clause.roles or tells("read", clause))


def _is_live_value(clause: Clause) -> bool:
    """Whether a clause reads by scan tool; a *maker's tool* alone may be one for pins.

    The test by the name of *unplug and watch* says of itself when the supply is on.
    """
    named = clause.words[0] in {"unplug", "unplugged"}
    return (
        not named
        and clause.by_scan_tool
        and any(piece.role is Role.SCAN and piece.text != "tool" for piece in clause.pieces)
    )


def _moves_plug(clause: Clause) -> bool:
    plug = bool(clause.roles & {*TARGETS, Role.CONTACT})
    others = clause.roles & {Role.NEIGHBOUR, Role.UNIT, Role.SUBSTITUTE} or tells("others", clause)
    if not plug or (others and not clause.roles & TARGETS):
        return False
    denied = words_in(Aside.DENIAL) & clause.vocabulary
    moved = any(True for _ in _deeds(clause)) or tells("plugging", clause)
    return moved and not denied and not tells("unmoved", clause)


def _deeds(clause: Clause) -> Iterator[Doing]:
    return (deed for _, _, deed in deeds_of(clause) if deed in _PLUG_DEEDS)


_PLUG_DEEDS = frozenset([Doing.OFF, Doing.WIRES, Doing.ALTERED, Doing.JOINS])
_READ = frozenset([Role.SCAN, Role.VALUE])
_ORDER = frozenset(["then", "after", "before", "until", "till"])
_WORKS = frozenset(["works", "work", "tried", "checked", "ok", "geht", "marche"])
"""What is tried at the end of a job: *horn works, radio on*."""
_LATER = frozenset(["then", "danach", "dann", "puis", "potem"])
_THAT = frozenset(
    ["that", "it", "this", "all", "the", "job", "work", "i", "we", "had", "was", "done"]
)
_WHILE = frozenset(["while", "whilst", "as", "as i", "during", "when", "wahrend", "pendant que"])
_NEXT = frozenset(["", ",", "and", ":"])
