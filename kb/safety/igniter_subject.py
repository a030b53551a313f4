"""Whether a sentence is plainly about another part of the car, so that nothing of it is hidden.

The part it names first is what its deeds and values are of, until an igniter, a plug or a wire of
unknown owner, or the control unit is named. All of it is common practice, no source.
"""

from collections.abc import Sequence

from kb.safety.igniter_acts import SOURCES, TARGETS, are_volts_put, is_small, is_supply_voltage
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_handling import is_other
from kb.safety.igniter_words import Aside, Role, aside, role_of, words_in

_OF_IGNITER = frozenset(
    [
        *(*TARGETS, Role.JOINED, Role.CLOCK_SPRING, Role.UNIT, Role.SUBSTITUTE, Role.IN_PLACE),
        *(Role.DEPLOY, Role.DEFEAT, Role.LAMP, Role.LIVE),
    ]
)
"""Where one of these is told, an igniter may be what it is done to."""
_WIRED = frozenset([Role.CONTACT, Role.HARNESS])
_DEEDS = frozenset([Role.INSTRUMENT, Role.MEASURE, Role.POWER, Role.BRIDGE, Role.PATH, Role.FORCE])
_SUPPLIES = (*SOURCES, "charg", "crank", "while", "when")
"""What is named beside a supply or a moment is no part that something is done to."""


def is_elsewhere(sentence: Sequence[Clause]) -> bool:
    """Whether all that is done or measured in a sentence is done to another part.

    *Seat motor dead, put 12 volts on the motor plug, it spins* is; *seat motor out of the way,
    2.2 ohm on the yellow plug* is not.
    """
    if _tells_bulb(sentence):
        return True
    told = [clause for clause in sentence if not _rules_out(clause)]
    return bool(told) and _is_subject(told[0]) and all(map(stays_with_it, told))


def goes_on_elsewhere(sentence: Sequence[Clause], before: Sequence[Clause]) -> bool:
    """Whether a sentence names no part, and goes on about another one: *Then soldered*.

    So it is behind *Trailer plug measured, pin 4 dead*, if no igniter was named before that.
    """
    told = [word for word in sentence[0].words if word != "then"] if sentence else []
    bare = len(told) == 1 and not sentence[0].roles & _NAMES
    elsewhere = bare and (is_elsewhere(before) or _is_of_others_plug(before))
    return elsewhere and all(map(stays_with_it, sentence[1:]))


def _is_of_others_plug(sentence: Sequence[Clause]) -> bool:
    """Whether a sentence begins with another part's plug and tells of its pins."""
    first = sentence[0].pieces[0] if sentence else None
    named = first is not None and first.role is Role.NEIGHBOUR and first.words[-1] in _PLUGS
    return named and all(clause.roles <= _OF_PINS for clause in sentence)


_PLUGS = frozenset(["plug", "socket", "connector"])
_OF_PINS = frozenset(
    [Role.NEIGHBOUR, Role.CONTACT, Role.NUMBER, Role.KNOWN, Role.MEASURE, Role.FUNCTION]
)

_NAMES = frozenset([*TARGETS, Role.CONTACT, Role.HARNESS, Role.UNIT, Role.DEPLOY, Role.LIVE])


def is_of_fuse(sentence: Sequence[Clause]) -> bool:
    """Whether a fuse is what a sentence measures, and nothing is fed or joined by it.

    *Airbag fuse tested out of its holder, good* is.
    """
    pieces = [piece for clause in sentence for piece in clause.pieces]
    part = next((piece for piece in pieces if piece.role in _PARTS), None)
    fuse = part is not None and any(word.startswith(_FUSES) for word in part.words)
    measured = any(clause.roles & _MEASURED for clause in sentence)
    return fuse and measured and not any(clause.roles & _MORE_THAN_FUSE for clause in sentence)


def is_fuse_put_back(sentence: Sequence[Clause]) -> bool:
    """Whether a fuse was out and is in again, or a new one: *fuse out of its holder, refitted*."""
    if not sentence or not _is_of_fuse_alone(sentence[0]):
        return False
    plain = all(each.roles <= _BESIDE_FUSE for each in sentence[1:])
    return plain and any(_puts_back(each) for each in sentence[1:])


def _puts_back(clause: Clause) -> bool:
    """Whether a clause tells only that it is in again, or a new one: *put back*, *new holder*."""
    again = not _BACK.isdisjoint(clause.words) and _PUTTING.issuperset(clause.words)
    return again or clause.words[:2] in (("new", "holder"), ("new", "fuse"), ("new", "one"))


def _is_of_fuse_alone(clause: Clause) -> bool:
    """Whether a clause names a fuse, and at most the unit that it feeds."""
    parts = [piece for piece in clause.pieces if piece.role in _PARTS]
    fuse = bool(parts) and parts[0].words[0].startswith(_FUSES)
    fuse |= bool(parts) and parts[0].words[-1].startswith(_FUSES)
    fuse &= not any(word.startswith("pyro") for word in clause.words)  # which is fired
    return fuse and all(p.role in {Role.NEIGHBOUR, Role.UNIT} for p in parts[1:])


_BACK = frozenset(["refitted", "back", "replaced", "renewed", "reseated", "home", "again"])
_PUTTING = _BACK | {"put", "pushed", "clicked", "in", "and", "like", "for", "it", "was", "fully"}
_BESIDE_FUSE = frozenset(
    [Role.JOINED, Role.KNOWN, Role.FUNCTION, Role.ONTO, Role.LAMP, Role.NEIGHBOUR, Role.NUMBER]
)


_FUSES = ("fuse", "sicherung", "fusible", "bezpiecznik")
_MEASURED = frozenset([Role.INSTRUMENT, Role.MEASURE])
_MORE_THAN_FUSE = frozenset(
    [*_OF_IGNITER, *_WIRED, Role.POWER, Role.BRIDGE, Role.PATH, Role.FORCE, Role.JUMP]
) - {Role.LAMP}


def _tells_bulb(sentence: Sequence[Clause]) -> bool:
    """Whether a lamp's own bulb was mended and no more: *headlamp bulb replaced, lamp works*."""
    bulbs = [
        piece
        for clause in sentence
        for piece in clause.pieces
        if piece.role is Role.INSTRUMENT and piece.words[-1].startswith("bulb")
    ]
    named = [piece for piece in bulbs if piece.words[0] in _LAMPS_OF_CAR]
    plain = all(clause.roles <= _PLAIN | {Role.INSTRUMENT} for clause in sentence)
    mended = bool(sentence) and aside(Aside.MENDED).any_in(sentence[0].words)
    tools = sum(p.role is Role.INSTRUMENT for clause in sentence for p in clause.pieces)
    return len(named) == tools == 1 and plain and mended


_LAMPS_OF_CAR = frozenset(["headlamp", "brake", "side", "sidelight", "dash"])
_PLAIN = frozenset([Role.KNOWN, Role.FUNCTION, Role.PLACE, Role.LAMP, Role.HARMLESS])


def _rules_out(clause: Clause) -> bool:
    """Whether a clause says only what it is not: *is not airbag*."""
    weighty = [piece for piece in clause.pieces if piece.role is not Role.FUNCTION]
    denied = bool(words_in(Aside.DENIAL) & clause.vocabulary)
    if clause.words[-3:] == ("in", "the", "way") and denied and Role.VALUE not in clause.roles:
        return all(p.role in _NAMED_ONLY for p in clause.pieces)
    return denied and [piece.role in TARGETS for piece in weighty] == [True]


_NAMED_ONLY = frozenset([*TARGETS, Role.FUNCTION, Role.ONTO, Role.PLACE])


def _is_subject(clause: Clause) -> bool:
    """Whether the first part that a clause names is another one, and no means or place."""
    parts = (at for at, piece in enumerate(clause.pieces) if piece.role in _PARTS)
    at = next((at for at in parts if not _is_of_a_part(clause.pieces, at)), None)
    if at is None or not _is_part(clause.pieces[at]):
        return False
    before = clause.pieces[:at]
    led = any(p.words[0] in _MEANS for p in before) or (
        any(p.role is Role.ONTO for p in before) and _IN_TYRE.isdisjoint(clause.pieces[at].words)
    )
    return not led and not any(p.text in words_in(Aside.PRONOUN) for p in before)


_PARTS = frozenset([*_OF_IGNITER, *_WIRED, Role.NEIGHBOUR])
_MEANS = frozenset(["with", "from", "off", "via", "by", "using", "use", "used", "mit", "avec", "z"])


_IN_TYRE = frozenset(["tyre", "tyres", "tire", "tires"])
"""A nail in one is no bridge in anything else."""


def _is_part(piece: Piece) -> bool:
    return is_other(piece) and not any(word.startswith(_SUPPLIES) for word in piece.words)


def stays_with_it(clause: Clause) -> bool:
    """Whether a clause names no part but such as have nothing to do with an igniter."""
    if clause.roles & _OF_IGNITER or aside(Aside.CRASH_SENSOR).any_in(clause.words):
        return False
    if _tells_lamp(clause) or _is_of_restraints(clause):
        return False
    owned = all(
        _is_owned(clause.pieces, at)
        for at, piece in enumerate(clause.pieces)
        if piece.role in _WIRED
    )
    found = clause.roles <= _VERDICT and not clause.first  # *so wiring good*
    return (owned or found or _tells_supply(clause)) and not _is_done_to_unknown(clause)


def _tells_lamp(clause: Clause) -> bool:
    """Whether a lamp is told of that is no tool: a test lamp is."""
    lamps = (p for p in clause.pieces if p.role is not Role.INSTRUMENT and not _lights_outside(p))
    told = (word for p in lamps for word in p.words)
    return not words_in(Aside.LAMPS).isdisjoint(told)


def _lights_outside(piece: Piece) -> bool:
    """Whether a lamp, or its switch, is named that no igniter has: *brake lamp switch*."""
    return piece.role is Role.NEIGHBOUR and piece.words[0] in _OUTSIDE


_OUTSIDE = frozenset(
    [*("brake", "stop", "reverse", "reversing", "tail", "rear", "fog", "number", "interior"),
     *("boot", "glovebox", "glove", "headlamp", "headlight")]
)  # fmt: skip
_VERDICT = frozenset([Role.HARNESS, Role.KNOWN, Role.FUNCTION])


def _is_of_restraints(clause: Clause) -> bool:
    """Whether a seat is worked on, or what supplies a bag is named: *bag fuse out*."""
    others = [p for p in clause.pieces if p.role is Role.NEIGHBOUR]
    supplies = any(role_of(word) in TARGETS for p in others for word in p.words)
    plain = {p.text for p in clause.pieces if p not in others}
    return supplies or (bool(_UNDONE & clause.roles) and not _HOLDERS.isdisjoint(plain))


_UNDONE = frozenset([Role.ISOLATE, Role.LIVE, Role.APART])
_HOLDERS = frozenset(["seat", "seats", "belt", "belts", "buckle", "wheel"])


def _is_owned(pieces: Sequence[Piece], at: int) -> bool:
    """Whether a plug or a wire is told to be of another part: *motor plug*, *its own plug*."""
    before = pieces[at - 1] if at else None
    own = any(p.text in {"own", "its own"} for p in pieces[max(0, at - 2) : at])
    return own or _is_of_a_part(pieces, at) or (before is not None and _is_part(before))


def _is_of_a_part(pieces: Sequence[Piece], at: int) -> bool:
    """Whether a plug or wires of another part are told: *the wires of the position switch*."""
    following = [piece for piece in pieces[at + 1 : at + 4] if piece.text != "the"]
    of_it = pieces[at].role in _WIRED and [p.text for p in following[:1]] == ["of"]
    return of_it and any(map(_is_part, following[1:2]))


def _tells_supply(clause: Clause) -> bool:
    """Whether a battery's voltage is told of a plug, and put nowhere: *12 V at the plug*."""
    if clause.roles & _DEEDS or Role.HARNESS in clause.roles:
        return False
    volts = [at for at, piece in enumerate(clause.pieces) if piece.role is Role.VALUE]
    return bool(volts) and all(
        is_supply_voltage(clause.pieces, at) and not are_volts_put(clause, at) for at in volts
    )


def _is_done_to_unknown(clause: Clause) -> bool:
    """Whether a thing that no list has may be what something is done to: *meter on the dingus*."""
    if not clause.roles & _DEEDS:
        return False
    pieces = clause.pieces
    return any(
        piece.role is Role.UNKNOWN and at > 0 and (_leads(pieces[at - 1]))
        for at, piece in enumerate(pieces)
    )


def _leads(piece: Piece) -> bool:
    return piece.role is Role.ONTO or is_small(piece)
