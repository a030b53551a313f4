"""What a clause does to an igniter.

A clause is dangerous by its acts (measuring, powering, bridging, breaking), its instruments, its
electrical values, or by an unknown or empty verb or thing on the circuit, named or called *it*.
All of it is common practice, no source.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import nan

from kb.patterns import compiled
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_words import Aside, Role, aside, role_of, words_in


class Reason(StrEnum):
    """Why a sentence is not shown, the gravest first."""

    DEPLOY = "an igniter is never fired in a shop: a bag or pretensioner that goes off can kill"
    METER = "a meter, lamp or probe sends current through an igniter and may fire it"
    POWER = "a voltage on an igniter fires it"
    BRIDGE = "a bridge or a short in an igniter's circuit may fire it or hide its fault"
    LIVE = "a plug of an igniter opened or closed with the supply on may fire it"
    WAIT = (
        "without the battery off and the maker's wait the control unit is charged and may fire it"
    )
    SOURCE = "a part from another car, or made up anew, may have been dropped, wet or fired"
    HANDLING = (
        "an igniter that was dropped, wet, fired, heated or kept too long may fire, or fail in a "
        "crash"
    )
    OPENED = "an igniter that is opened, cut up, drilled or burnt may go off"
    FORCED = "heat, a blow or a pull may fire an igniter, or harm it unseen"
    CARRIED = "a bag that goes off strikes whoever carries it, or flies up from where it lies"
    STORED = "an igniter that lies about or goes where anybody finds it may hurt somebody"
    BEFORE = "a bag with a fault may fire as its supply comes on, and strikes whoever is before it"
    UNIT = (
        "a restraint unit that is loose or moved with its supply on takes that for a crash and may "
        "fire all it leads to"
    )
    SPRING = "a clock spring that was mended, used or not centred comes apart, and the bag fails"
    WIRING = (
        "a joint or a bent contact in an igniter's wires adds ohms or comes apart, and the "
        "restraint may fail in a crash"
    )
    SHORTING = (
        "the shorting bar keeps an igniter from firing while its plug is off, and without it a "
        "touch may"
    )
    CLEANED = (
        "what is sprayed, rubbed or oiled on an igniter, its plug or its belt may harm it unseen"
    )
    COVERED = "what lies over a bag or holds its cover keeps it from coming out as it must"
    WRONG_PART = "an igniter is made for one place in one car, and may fail in any other"
    DEFEAT = "it hides a fault, and the restraint may fail in a crash"
    NEVER = "it must never be done, see kb/safety/never.toml"
    UNKNOWN = "what was done to the igniter's circuit is not plainly one of the allowed ways"
    VALUE = "a value of an igniter's circuit without how it was taken may be a meter's"
    BARE = "a number by itself tells neither what was read nor with what"
    STRANGE = "it is told in words that are on no list, so nobody can say that it is allowed"
    LIKENESS = "it is worded like what has been told of dangerous work at igniters"


TARGETS = frozenset([Role.IGNITER, Role.SHARED])
LEADING = frozenset([*TARGETS, Role.CONTACT, Role.HARNESS])
PARTS = frozenset([*LEADING, Role.CLOCK_SPRING])
OBJECTS = PARTS | {Role.UNIT}
_GRAVE = {
    Role.INSTRUMENT: Reason.METER,
    Role.MEASURE: Reason.METER,
    Role.POWER: Reason.POWER,
    Role.BRIDGE: Reason.BRIDGE,
    Role.PATH: Reason.METER,
    Role.QUANTITY: Reason.VALUE,
    Role.VALUE: Reason.VALUE,
}
NOUNS = OBJECTS | {Role.NEIGHBOUR, Role.RAIL, Role.PLACE, Role.FUNCTION, Role.ONTO}
_BLANK = frozenset([*LEADING, Role.UNKNOWN, Role.FUNCTION, Role.PLACE, Role.ONTO, Role.NUMBER])
_TESTED = TARGETS | {Role.HARNESS, Role.CLOCK_SPRING}
SMALL = frozenset([Role.FUNCTION, Role.PLACE])
_MOST_BETWEEN = 3
"""So many small words may stand between *on* and what it is put on."""
_NEAR = 8
"""So many pieces before a word can bear on it."""
_MOST_APART = 5
"""So many pieces may stand between an unknown thing and *on*."""


@dataclass(slots=True)
class Told:
    """What the clauses before have said.

    Attributes
    ----------
    live : frozenset of float
        What the job's readings by scan tool had.
    by_scan, beside : bool
        The last thing spoken of is a live value, or a part beside the igniter.
    apart : bool
        Clock spring or harness is off at its ends.
    unit_off, end_off : bool
        The control unit is unplugged; so is what it leads to.
    listed : Clause or None
        The clause before, if it told the live value of an igniter or named the scan tool alone.
    heading : bool
        The sentence is headed by a live reading or a known load: *live data: ...*.
    load : bool
        The last thing spoken of is a known load in the igniter's place.
    lamp : bool
        A lamp was spoken of in this sentence.
    blinks : bool
        A lamp that flashes a count was spoken of in this sentence.
    forbade : bool
        The clause before was a warning.
    measured : bool
        Something beside the igniter was measured in this sentence.
    named : bool
        An igniter was named in this sentence, and nothing said of it yet.
    scanned : bool
        A sentence before told a live value, and nothing was unplugged or measured since.
    forbids : bool
        The clause before is a denial alone: *do not, repeat do not, ...*.
    refused : bool
        The clause before refuses: *job refused: ...*.
    counted : bool
        The sentence is a list of parts with how many of each.
    source : bool
        The scan tool was told in this sentence as what reads, and nothing else since: what follows
        are its values.
    limits : bool
        The clause before names the maker's limits.
    grip : bool
        The sentence is about how firmly contacts hold.
    paired : bool
        Values before and after a repair are told by scan tool.
    coded, unit : bool
        A code, or the control unit, was spoken of in this sentence.
    under_power : bool
        The circuit has supply, by this sentence.
    isolated : bool
        It had none: what comes on again has been off.
    allowed : bool
        What this sentence does to an igniter, or beside it, is one of the allowed ways.
    not_done : tuple of Clause
        Clauses of this sentence that deny or forbid what they name.
    """

    live: frozenset[float]
    by_scan: bool = False
    beside: bool = False
    apart: bool = False
    unit_off: bool = False
    end_off: bool = False
    listed: Clause | None = None
    heading: bool = False
    load: bool = False
    lamp: bool = False
    blinks: bool = False
    forbade: bool = False
    forbids: bool = False
    measured: bool = False
    named: bool = False
    under_power: bool = False
    isolated: bool = False
    scanned: bool = False
    refused: bool = False
    grip: bool = False
    coded: bool = False
    paired: bool = False
    unit: bool = False
    source: bool = False
    limits: bool = False
    counted: bool = False
    allowed: bool = False
    not_done: tuple[Clause, ...] = ()

    def at_new_sentence(self) -> "Told":
        """Keep what is unplugged; what is spoken of must be named anew."""
        return Told(
            live=self.live,
            apart=self.apart,
            unit_off=self.unit_off,
            end_off=self.end_off,
            scanned=self.by_scan or self.scanned,
            listed=self.listed if self.listed and Role.VALUE in self.listed.roles else None,
            load=self.load,
            isolated=self.isolated,
        )


def dangers_in(clause: Clause, told: Told) -> Iterator[tuple[Piece, Reason]]:
    """Yield what could fire an igniter, or tells of it."""
    target = next((piece for piece in clause.pieces if piece.role in TARGETS), None)
    if target is not None:
        yield from _repeated(clause, target, told)
    if told.under_power | _is_live_work(clause) and _is_on_plug(clause):
        yield from ((piece, Reason.LIVE) for piece in _handled(clause))
    if Role.JOINED in clause.roles and clause.roles & LEADING:
        yield from (
            (Piece(Role.UNKNOWN, (word,)), Reason.LIVE) for word in clause.words if word in _OPENING
        )
    for at, piece in enumerate(clause.pieces):
        if piece.role is Role.VALUE and _is_no_reading(clause, at, told):
            continue
        if are_volts_put(clause, at):
            yield Piece(Role.POWER, piece.words), Reason.POWER
        elif piece.role is Role.POWER and piece.words[0].startswith(_FIRING):
            yield piece, Reason.DEPLOY
        elif piece.role in _GRAVE:
            yield piece, _GRAVE[piece.role]
        elif piece.role in _MAYBE:
            acts_as, reason, does = _MAYBE[piece.role]
            if does(clause, at, told):
                yield Piece(acts_as, piece.words), reason
    if _is_strange(clause):
        strange = (piece for piece in clause.pieces if piece.role is Role.UNKNOWN)
        yield from ((piece, Reason.STRANGE) for piece in strange)


_FIRING = (
    *("blew", "blow", "pop", "ignit", "explod", "explos", "bang", "gezundet", "zundete"),
    *("declench", "percut", "sauter", "fait sauter", "odpal", "wystrzel", "zdeton", "deton"),
)


def fired_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what tells that somebody set an igniter off."""
    told = (each for clause in sentence for each in dangers_in(clause, Told(frozenset())))
    yield from (each for each in told if each[1] is Reason.DEPLOY)


def _repeated(clause: Clause, target: Piece, told: Told) -> Iterator[tuple[Piece, Reason]]:
    """Yield what is done to an igniter as to the part before: *buckle measured, then the squib*."""
    if _is_left_out(clause):
        if told.measured:
            yield Piece(Role.MEASURE, target.words), Reason.METER
        if told.lamp and clause.pieces[0].role is Role.ONTO:
            yield Piece(Role.INSTRUMENT, target.words), Reason.METER
    if _is_done_again(clause) and not (told.by_scan or told.load):
        yield Piece(Role.UNKNOWN, target.words), Reason.UNKNOWN


def _is_done_again(clause: Clause) -> bool:
    """Whether what was done elsewhere is done to an igniter: *did the same on the tensioner*."""
    again = "same" in clause.vocabulary or "likewise" in clause.vocabulary
    return again and not _DOING.isdisjoint(clause.vocabulary)


_DOING = frozenset(["do", "did", "does", "done", "doing", "repeat", "repeated"])


_OPENING = frozenset(["soldered", "soldering", "cut", "spliced", "crimped", "repaired", "stripped"])
"""Work on a wire that wants both its ends free."""


def are_volts_put(clause: Clause, at: int) -> bool:
    """Whether volts are put somewhere, *bag pins, put 12 V on*, or told of an igniter itself."""
    unit = clause.pieces[at + 1 : at + 2]
    if clause.pieces[at].role is not Role.VALUE or not unit:
        return False
    if clause.roles & {Role.UNIT, Role.RAIL, Role.NEIGHBOUR, Role.SCAN}:
        return False
    amps = [p.text for p in clause.pieces[at + 1 : at + 3]] in _AMPS_THROUGH
    if (amps or unit[0].words[0] in _OF_POWER) and clause.roles & TARGETS:
        return True  # no live value is one
    if unit[0].words[0] not in _VOLTS:
        return False
    before = {word for piece in clause.pieces[max(0, at - 3) : at] for word in piece.words}
    return not before.isdisjoint(_APPLYING)


def are_ohms(clause: Clause, at: int) -> bool:
    """Whether a value has ohms, or no unit and may be ohms."""
    if clause.pieces[at].role is not Role.VALUE or _is_no_reading(clause, at, Told(frozenset())):
        return False
    unit = clause.pieces[at + 1].text if at + 1 < len(clause.pieces) else ""
    decimal = not clause.pieces[at].text.isdigit()
    return unit.startswith(_OHMS) or (decimal and unit not in _OF_POWER)


def is_supply_voltage(pieces: Sequence[Piece], at: int) -> bool:
    """Whether a value is a voltage that a car's battery has."""
    unit = pieces[at + 1].text if at + 1 < len(pieces) else ""
    return unit in _VOLTS and _LEAST_VOLTS <= number_of(pieces[at]) <= _MOST_VOLTS


def number_of(value: Piece) -> float:
    """Return a value as a number; nan if it is not written as one."""
    try:
        return float(value.words[0].replace(",", ".").replace("r", "."))
    except ValueError:
        return nan


_LEAST_VOLTS, _MOST_VOLTS = 9, 16
_VOLTS = frozenset(["v", "volt", "volts"])
_OHMS = ("ohm", "ω", "kohm", "mohm", "kω")
_OF_POWER = _VOLTS | {"mv", "amp", "amps", "ma"}
_AMPS_THROUGH = (["a", "through"], ["a", "across"], ["a", "into"], ["a", "on"], ["a", "in"])
_APPLYING = frozenset(["put", "puts", "putting", "gave", "give", "applied", "apply", "applying"])


def _is_no_reading(clause: Clause, at: int, told: Told) -> bool:
    """Whether a number is no value of an igniter's circuit."""
    if at + 1 < len(clause.pieces) and clause.pieces[at + 1].role is Role.QUANTITY:
        return False
    return _is_clock_time(clause, at) or _is_charge(clause, at) or _is_mere_number(clause, at, told)


def _is_mere_number(clause: Clause, at: int, told: Told) -> bool:
    """Whether a number is money, or counts something that is no part of the circuit."""
    pieces = clause.pieces
    if told.counted or _is_billed(clause, at):
        return not clause.roles & {Role.INSTRUMENT, Role.MEASURE, Role.QUANTITY}
    whole = all(word.isdigit() for word in pieces[at].words)
    if whole and at == 0 and _is_counted(pieces[1:3]):
        return True  # so many of them: *1 clock spring*
    if whole and pieces[at - 1].text in _HAVING and pieces[at + 1 : at + 2]:
        ordered = pieces[at - 1].text == "quantity" or pieces[at + 1].role in _COUNTED
        return ordered and not clause.roles & _TAKING  # *has 1 curtain*
    blinks = told.blinks or bool(words_in(Aside.BLINKS) & clause.vocabulary)
    if whole and told.blinks and at == 0 and clause.joiner in {"then", ","}:
        return True
    if whole and blinks and not clause.roles & {*TARGETS, Role.INSTRUMENT, Role.MEASURE}:
        return True
    bare = not clause.roles & {*PARTS, Role.PLACE, Role.QUANTITY, Role.INSTRUMENT, Role.MEASURE}
    read = words_in(Aside.READS) & clause.vocabulary or clause.joiner == ":" or told.named
    return whole and bare and not read and (told.lamp or len(pieces) > 1)


def _is_billed(clause: Clause, at: int) -> bool:
    """Whether a number is money or hours of work: *quoted 340*, *labour 1.4*, *time 1.3*."""
    pieces = clause.pieces
    before, after = (
        {w for p in near for w in p.words}
        for near in (pieces[max(0, at - 1) : at], pieces[at + 1 : at + 2])
    )
    labour = words_in(Aside.LABOUR)
    if before & (words_in(Aside.PRICE) | labour) or after & labour:
        return True
    if len(pieces) == _NAME_AND_NUMBER and pieces[0].text == "time":
        return True
    large = number_of(pieces[at]) >= _LEAST_PRICE
    return large and bool(words_in(Aside.PRICE) & clause.vocabulary)


_NAME_AND_NUMBER = 2
_LEAST_PRICE = 20
"""A smaller number that does not stand beside its price may be a value."""


def _is_counted(behind: Sequence[Piece]) -> bool:
    """Whether a part follows, at once or as an order has it: *1 off clock spring*."""
    pieces = behind[1:] if behind and behind[0].text in _SO_MANY else behind[:1]
    return bool(pieces) and pieces[0].role in _COUNTED


def are_parts_counted(sentence: Sequence[Clause]) -> bool:
    """Whether a sentence lists parts with how many: *driver airbag 1, clock spring 1*.

    Of igniters alone, or two of one, they may be what was read.
    """
    heading = sentence[:1] if sentence and not _ORDERING.isdisjoint(sentence[0].words) else ()
    listed = sentence[len(heading) :]
    if listed and _tells_torque(sentence):
        return True
    if not listed or not all(map(_is_part_and_number, listed)):
        return bool(heading) and len(sentence) == 1 and _is_part_and_number(sentence[0])
    others = any(not each.roles & TARGETS for each in listed)
    one = all(_has_one(each) for each in listed if each.roles & TARGETS)
    return bool(heading) or (len(listed) > 1 and others and one)


def _tells_torque(sentence: Sequence[Clause]) -> bool:
    """Whether a sentence tells how firmly bolts were tightened: *torqued seat bolts 45, nut 50*."""
    numbers = [p.text for each in sentence for p in each.pieces if p.role is Role.VALUE]
    plain = not any(each.roles & _TAKING for each in sentence)
    firm = all(each.isdigit() and int(each) >= _LEAST_TORQUE for each in numbers)
    return sentence[0].words[0].startswith("torque") and plain and firm


_LEAST_TORQUE = 4
_ORDERING = frozenset(
    ["parts", "order", "qty", "quantity", "needed", "ordered", "invoice", "teile"]
)


def _is_part_and_number(clause: Clause) -> bool:
    """Whether a clause says no more than a part's name and a small whole number."""
    *named, count = clause.pieces
    whole = count.role in {Role.VALUE, Role.NUMBER} and count.text.isdigit()
    return bool(named) and whole and len(count.text) == 1 and {p.role for p in named} <= _NAMES


def _has_one(clause: Clause) -> bool:
    return clause.words[-1] == "1"


_NAMES = NOUNS | {Role.KNOWN, Role.HARMLESS} - {Role.ONTO}


_SO_MANY = frozenset(["off", "x", "pc", "pcs", "st", "stk", "szt"])


def _is_clock_time(clause: Clause, at: int) -> bool:
    """Whether a number is an hour of the working day: *booked in 9.10*, *car back at 14.30*."""
    told = clause.roles & {*PARTS, Role.QUANTITY, Role.INSTRUMENT, Role.MEASURE, Role.SCAN}
    timed = not words_in(Aside.TIMED).isdisjoint(clause.vocabulary)
    timed |= Role.ISOLATE in clause.roles or clause.pieces[at - 1].text == "at"
    timed &= not told
    if clause.pieces[at - 1].text == "by" and not clause.roles & _TAKING:
        return _FULL_HOUR.fullmatch(clause.pieces[at].text) is not None
    return timed and _CLOCK.fullmatch(clause.pieces[at].text) is not None


_CLOCK = compiled(r"(?:[7-9]|0[7-9]|1\d)\.[0-5]\d")
_FULL_HOUR = compiled(r"[7-9]|1[0-8]")
"""From seven to eight in the evening; earlier figures are those of an igniter's circuit."""


def _is_charge(clause: Clause, at: int) -> bool:
    """Whether a number is what the battery is charged with: *charge 14.3*."""
    before = clause.pieces[:at]
    volts = _LEAST_VOLTS <= number_of(clause.pieces[at]) <= _MOST_VOLTS
    first = before[0].words[0] if before else ""
    only = all(piece.role is Role.FUNCTION for piece in before[1:])
    return volts and only and at == len(clause.pieces) - 1 and first in _CHARGES


_CHARGES = frozenset(["charge", "charges", "charging", "charged"])


_HAVING = frozenset(["quantity", "has", "have", "had", "with", "needs", "need", "got"])
_TAKING = frozenset([Role.INSTRUMENT, Role.MEASURE, Role.QUANTITY])
_COUNTED = frozenset([*TARGETS, Role.CLOCK_SPRING, Role.UNIT, Role.NEIGHBOUR])


def _is_strange(clause: Clause) -> bool:
    """Whether nothing but unknown words is said of an igniter, or of a plug."""
    denied = words_in(Aside.DENIAL) & clause.vocabulary
    unknown = sum(p.role is Role.UNKNOWN and p.text not in denied for p in clause.pieces)
    if denied and unknown == 1:
        return False  # *never zorb a bag*
    if not unknown or not clause.roles <= _BLANK:
        return False
    return bool(clause.roles & TARGETS) or (unknown > 1 and bool(clause.roles & LEADING))


def _is_live_work(clause: Clause) -> bool:
    adverb = "live" in clause.vocabulary or clause.words[-1] == "hot"
    return Role.LIVE in clause.roles or adverb


def _handled(clause: Clause) -> Iterator[Piece]:
    """Yield what tells that a plug is opened or closed."""
    words = clause.words
    found = ((at, aside(Aside.HANDLING).longest(words, at)) for at in range(len(words)))
    for at, match in found:
        if match and not _is_forbidden(words, at):
            yield Piece(Role.UNKNOWN, words[at : at + match[0]])


def _is_forbidden(words: Sequence[str], at: int) -> bool:
    """Whether a deed stands right behind a denial, without a wait: *never unplug it without*."""
    unwaited = words[at:].count("without") == 1 and not _WAITED.isdisjoint(words[at:])
    return unwaited and words[max(0, at - 1) : at] in _NEVER


_NEVER = (("never",), ("dont",), ("not",))
_WAITED = frozenset(["waiting", "wait"])


def _is_on_plug(clause: Clause) -> bool:
    """Whether a clause is about the circuit itself, not read by scan tool."""
    parts = {*TARGETS, Role.CONTACT, Role.JOINED, Role.UNIT, Role.CLOCK_SPRING}
    named = clause.roles & parts or {"seat", "wheel"} & clause.vocabulary
    return bool(named) and Role.SCAN not in clause.roles


def _is_left_out(clause: Clause) -> bool:
    """Whether a clause leaves its verb to the one before: *..., then the squib*."""
    verdict = {"good", "fine", "open", "bad", "dead", "faulty", "fault", "shorted", "perfect"}
    if clause.vocabulary & {"off", "out", "unplugged"}:
        return False  # it is told to be apart
    rest = (p for p in clause.pieces if p.role not in NOUNS)
    return all(
        (p.role in {Role.KNOWN, Role.WEAK} and p.text in verdict) or p.text in _SEATED for p in rest
    )


def _is_put(clause: Clause, at: int, told: Told) -> bool:
    """Whether a lamp is put on a circuit: *lamp on the plug*, *with a lamp*."""
    pieces = clause.pieces
    if Role.HARMLESS in {piece.role for piece in pieces[at + 1 : at + 4]}:
        return False
    before = {word for piece in pieces[max(0, at - 2) : at] for word in piece.words}
    after = [piece.text for piece in pieces[at + 1 : at + 3]]
    is_on = after[:1] != ["off"] or after[1:] not in (["the"], ["a"])
    is_on = is_on and bool(after) and after[0] in {"on", "off", "out", "lit"}
    leads = at + 1 if after[:1] and after[0] in _LIT | words_in(Aside.PUTTING) else at
    return (bool(before & words_in(Aside.PUTTING)) and not is_on) or _leads_to_target(
        pieces, leads, told
    )


_LIT = frozenset(["lit", "lights", "glows", "glowed", "flashed", "flashes", "leuchtet", "brennt"])
"""What a lamp does that is held on a circuit: *lamp lit at the plug*."""


def _puts_something(clause: Clause, at: int, told: Told) -> bool:
    """Whether a thing is put on the circuit that is none of those which may be."""
    pieces = clause.pieces
    if pieces[at].text in _TAKES and _COMPLETING & clause.vocabulary:
        return False
    things: list[Piece] = []
    for near in range(at + 1, min(at + 8, len(pieces))):
        if things and _leads_to_target(pieces, near - 1, told):
            return not any(
                p.role in _MAY_BE_PUT or words_in(Aside.FITTINGS) & set(p.words) for p in things
            )
        things.append(pieces[near])
    return False


_MAY_BE_PUT = frozenset([Role.SUBSTITUTE, Role.GRIP, Role.CONTACT, Role.HARMLESS])


_TAKES = frozenset(["took", "take", "takes", "taking", "got", "get"])
_INTO = frozenset(["in", "at", "into"])


def _leads_to_target(pieces: Sequence[Piece], at: int, told: Told) -> bool:
    """Whether *on*, *in*, *to* ... a part of the circuit follows at once."""
    following = pieces[at + 1 : at + 2 + _MOST_BETWEEN + 1]
    if not following or following[0].role is not Role.ONTO:
        return bool(following) and following[0].words[0] in _INTO
    for piece in following[1:]:
        if piece.role in LEADING or (_is_pronoun(piece, told) and piece.text != "both"):
            return True
        if not is_small(piece):
            return False
    return False


_GOES_OUT = frozenset(["goes off", "went off", "go off", "gone off"])


def _is_done(clause: Clause, at: int, told: Told) -> bool:
    """Whether somebody fires it: *fired the old one*; *has fired* is a finding."""
    pieces = clause.pieces
    if told.lamp and pieces[at].text in _GOES_OUT:
        return False
    if aside(Aside.MODAL).any_in(
        [word for piece in pieces[max(0, at - _NEAR) : at] for word in piece.words]
    ):
        return bool(clause.roles & {Role.INSTRUMENT, Role.VALUE, Role.BRIDGE, Role.NEIGHBOUR})
    tools = {Role.INSTRUMENT, Role.QUANTITY, Role.VALUE, Role.HARNESS, Role.NEIGHBOUR}
    following = pieces[at + 1].role if at + 1 < len(pieces) else Role.STOP
    gone = aside(Aside.RENEWED).any_in(clause.words) or clause.words[-1] in {"out", "off"}
    gone |= not _TAKEN_AWAY.isdisjoint(clause.words)
    if at == 0 and following in TARGETS and gone:
        return False  # told of what has fired: *deployed tensioners replaced*
    by_hand = (
        len(pieces[at].words) > 2
        or _is_let_off(clause, at)
        or _fires_it(pieces, at)
        or {"hand", "manually", "remotely"} & clause.vocabulary
    )
    return bool(by_hand or clause.roles & tools or following in {Role.FUNCTION, *TARGETS})


_TAKEN_AWAY = frozenset(["collected", "returned", "sent", "boxed", "stored", "handed", "disposed"])


def _is_let_off(clause: Clause, at: int) -> bool:
    """Whether a bag was let off by somebody: *old airbag let off in the yard*."""
    let = clause.pieces[at].words[0] in {"let", "set"} and at > 0
    named = let and clause.pieces[at - 1].role in TARGETS
    return named and not aside(Aside.CRASH).any_in(clause.words)


def _fires_it(pieces: Sequence[Piece], at: int) -> bool:
    """Whether somebody *fired it*, and not *it fired*."""
    return pieces[at].words[-1] in {"it", "them"} and pieces[at].words[0].endswith("ed")


def _bridges(clause: Clause, at: int, told: Told) -> bool:
    """Whether *jumped*, *link* ... is no value that jumps."""
    if at and clause.pieces[at - 1].text == "no":
        return False
    touches = bool(clause.roles & PARTS) or acts_on(clause.pieces, at, told, bare=False)
    return touches and not told.by_scan and not clause.by_scan_tool


def _is_tested(clause: Clause, at: int, told: Told) -> bool:
    """Whether a test without a word of how goes through the circuit."""
    if clause.pieces[at].text == "complete" and aside(Aside.RENEWED).any_in(clause.words):
        return False  # the part as a whole
    if clause.roles & _TESTED:
        return Role.GRIP not in clause.roles
    if clause.words[0] == "they":
        return False  # what the customer heard
    others = {"side", "sides", "ones"} & {
        p.text for p in clause.pieces[at + 1 : at + _MOST_BETWEEN]
    }
    return bool(others) or acts_on(clause.pieces, at, told, bare=False)


def _is_fed(clause: Clause, at: int, told: Told) -> bool:
    """Whether a feed or an earth is put on the circuit: *a feed on the plug*, *earth one leg*."""
    if _is_earthed(clause, at, told) or _is_led_on(clause, at):
        return True
    if at == 0 and tells_supply(clause):
        return False
    at_it = clause.pieces[at + 1 : at + 2] and clause.pieces[at + 1].text == "at" and at == 0
    return (
        Role.UNIT not in clause.roles
        and not (at_it and told.unit)
        and _leads_to_target(clause.pieces, at, told)
    )


def _is_led_on(clause: Clause, at: int) -> bool:
    """Whether a supply is put on an igniter: *supply wire of the unit put on the tensioner*."""
    pieces = clause.pieces
    put = next(
        (i for i in range(at + 1, len(pieces)) if pieces[i].text in words_in(Aside.LIGHT)), None
    )
    if put is None:
        return False
    led = (i for i in range(put, len(pieces)) if pieces[i].role is Role.ONTO)
    return any(_is_led_to(pieces[i + 1 :]) for i in led)


def _is_led_to(behind: Sequence[Piece]) -> bool:
    """Whether an igniter by name is the first part that follows, and not only its unit's name."""
    small = (is_small(piece) or piece.text in _SEATED for piece in behind)
    part = next((at for at, each in enumerate(small) if not each), None)
    if part is None or behind[part].role not in TARGETS or behind[part].text in _SYSTEM:
        return False
    return Role.UNIT not in {piece.role for piece in behind[part + 1 : part + 2]}


_SEATED = frozenset(["belt", "seat", "wheel", "door", "roof", "steering"])


def tells_supply(clause: Clause) -> bool:
    """Whether it is told what the supply of the system has: *feed to SRS 9.8 V*."""
    volts = [at for at, piece in enumerate(clause.pieces) if piece.role is Role.VALUE]
    named = {piece.text for piece in clause.pieces if piece.role in LEADING}
    return (
        bool(volts)
        and named <= _SYSTEM
        and all(is_supply_voltage(clause.pieces, at) or _is_bare_supply(clause, at) for at in volts)
    )


def _is_bare_supply(clause: Clause, at: int) -> bool:
    """Whether a number ends what is told of a supply: *feed to SRS 9.8*."""
    last = at == len(clause.pieces) - 1
    return last and _LEAST_VOLTS <= number_of(clause.pieces[at]) <= _MOST_VOLTS


_SYSTEM = frozenset(["airbag", "airbags", "airbag system"])
"""Names of the restraints as a whole; shorthand for them is written out so."""


def _is_earthed(clause: Clause, at: int, told: Told) -> bool:
    """Whether *earth* is a verb, and what it earths belongs to the circuit."""
    piece, before = clause.pieces[at], clause.pieces[:at]
    if piece.text not in _EARTHING or (before and before[-1].text in words_in(Aside.ARTICLE)):
        return False
    following = list(clause.pieces[at + 1 : at + 2 + _MOST_BETWEEN])
    while following and (is_small(following[0]) or following[0].text in _EITHER):
        if _is_pronoun(following[0], told):
            return True
        following.pop(0)
    led = following != list(clause.pieces[at + 1 : at + 2 + _MOST_BETWEEN])
    return led and bool(following) and following[0].role in LEADING


_EARTHING = frozenset(["earth", "earthed", "earthing", "ground", "grounded", "grounding"])
_EITHER = frozenset(["one", "either", "each", "other", "second", "first"])


def _is_source(clause: Clause, at: int, _: Told) -> bool:
    """Whether a battery is put on the circuit, and not taken off or on the car."""
    piece, said = clause.pieces[at], clause.roles
    source = piece.words[0].startswith(SOURCES) and piece.words[-1] not in _HOLDERS
    if piece.words[-1] in _FEEDS and _is_led_on(clause, at):
        return True
    if source and (_is_fuse_of_unit(clause, at) or _is_on_again_clear_of_it(clause, at)):
        return False
    return (
        source and bool(said & {*TARGETS, Role.CONTACT, Role.JOINED}) and Role.ISOLATE not in said
    )


def is_clear_of(pieces: Sequence[Piece], at: int) -> bool:
    """Whether a part is named only as what one keeps away from: *stand clear of the bag*."""
    before = [word for p in pieces[max(0, at - _MOST_BETWEEN) : at] for word in p.words]
    return tuple(word for word in before if word not in _WHICH)[-2:] in _CLEAR_OF


_WHICH = frozenset(["the", "a", "any", "all", "that", "every"])
_CLEAR_OF = frozenset([("clear", "of"), ("away", "from"), ("well", "from"), ("back", "from")])


def _is_on_again_clear_of_it(clause: Clause, at: int) -> bool:
    """Whether the supply comes on and all stay away: *clear of the bag as battery goes on*."""
    behind = [word for piece in clause.pieces[at + 1 :] for word in piece.words]
    again = "on" in behind[-2:] and _GOING_ON.issuperset(behind)
    parts = {*TARGETS, Role.CONTACT, Role.JOINED}
    named = [place for place, piece in enumerate(clause.pieces) if piece.role in parts]
    return again and all(is_clear_of(clause.pieces, place) for place in named)


_GOING_ON = frozenset(
    ["goes", "went", "comes", "came", "is", "was", "gets", "put", "being", "back", "on", "again"]
)


def _is_fuse_of_unit(clause: Clause, at: int) -> bool:
    """Whether a fuse is named by what it feeds: *fuse 14 for the airbag module*."""
    pieces = clause.pieces
    if not pieces[at].words[0].startswith(_FUSES):
        return False
    behind = [p for p in pieces[at + 1 : at + 2 + _MOST_BETWEEN] if p.role is not Role.NUMBER]
    led = bool(behind) and behind[0].text in _FEEDING
    fed = next((p for p in behind[1:] if not is_small(p)), None) if led else None
    done = any(p.text in _PUT_ON for p in pieces[:at])
    return fed is not None and fed.words[-1] in _UNITS and not done


_FEEDS = frozenset(["feed", "supply", "power"])
_FUSES = ("fuse", "sicherung", "fusible", "bezpiecznik")
_FEEDING = frozenset(["for", "of", "to", "feeding", "fur", "vom", "von", "du", "de"])
_UNITS = frozenset(["module", "unit", "ecu", "computer", "steuergerat", "calculateur", "modul"])
_PUT_ON = frozenset(["with", "through", "across", "put", "from"])


SOURCES = (
    *("batt", "akumul", "accu", "jump", "booster", "fuse", "relay", "bezpiecz", "sicherung"),
    *("ignition coil", "coil", "spark"),
)
_HOLDERS = frozenset(["box", "fusebox", "holder"])


def _is_applied(clause: Clause, at: int, told: Told) -> bool:
    """Whether an unknown word is what is put on the circuit, or what is done to it."""
    pieces = clause.pieces
    for near in range(at, min(at + _MOST_APART, len(pieces))):
        if near > at and (
            pieces[near].role in LEADING or pieces[near].text in words_in(Aside.DEED)
        ):
            break
        if _leads_to_target(pieces, near, told):
            return True
    ends = pieces[at].words[0].endswith(("ed", "ing"))
    is_verb = at == 0 or pieces[at - 1].text not in words_in(Aside.ARTICLE)
    is_deed = is_verb and not pieces[at].words[0].endswith("s")  # *it catches*: nobody did it
    if is_deed and acts_on(pieces, at, told, bare=ends):
        return True
    if _is_means(clause, at, told):
        return True
    return pieces[at].words[0].endswith("ed") and at > 0 and pieces[at - 1].role in TARGETS


def _is_means(clause: Clause, at: int, told: Told) -> bool:
    """Whether a word names with what something is done to an igniter: *with two wires*."""
    before = [p for p in clause.pieces[max(0, at - _MOST_BETWEEN) : at] if p.role is Role.FUNCTION]
    if not any(piece.text in _WITH for piece in before):
        return False
    if words_in(Aside.CLEANING) & clause.vocabulary:
        return False
    if clause.vocabulary & _OF_MAKER:
        return False
    wire = clause.pieces[at].role is Role.HARNESS
    objects = (LEADING - {Role.HARNESS} if wire else TARGETS) & clause.roles
    return bool(objects) or any(_is_pronoun(p, told) for p in clause.pieces[:at])


def _is_wire_used(clause: Clause, at: int, told: Told) -> bool:
    """Whether wires are the means, or are put on an igniter: *heater wires put on the bag*."""
    put = clause.pieces[at + 1 : at + 2]
    held = bool(put) and put[0].text in _HELD_ON
    return _is_means(clause, at, told) or (held and _is_led_on(clause, at))


_HELD_ON = frozenset(["put", "held", "touched", "stuck", "hooked"])
_OF_MAKER = frozenset(["maker", "makers", "manufacturer", "manufacturers", "oem", "oe", "kit"])
_WITH = frozenset(["with", "mit", "avec", "con", "met", "w", "per"])


def acts_on(pieces: Sequence[Piece], at: int, told: Told, *, bare: bool) -> bool:
    """Whether what follows a verb at once is the igniter, its plug or *it*.

    Without an article only if bare: *zorbed squib*.
    """
    near = pieces[at + 1 : at + 2 + _MOST_BETWEEN]
    if near and near[0].text == "of":
        return False
    for place, piece in enumerate(near):
        if (
            piece.text == "both"
            and near[place + 1 : place + 2]
            and (near[place + 1].text in _SIDES)
        ):
            return False
        if _is_pronoun(piece, told):
            return True
        if piece.role in TARGETS or piece.role is Role.CONTACT:
            return bare
        if not is_small(piece):
            return False
        bare |= piece.text in words_in(Aside.ARTICLE)
    return False


_SIDES = frozenset(["sides", "ends", "ways", "halves", "circuits"])


def _is_pronoun(piece: Piece, told: Told) -> bool:
    """Whether *it*, *both*, *the old one* ... may be an igniter."""
    return piece.text in words_in(Aside.PRONOUN) and not told.beside


def _does_something(clause: Clause, at: int, told: Told) -> bool:
    """Whether *put*, *gave*, *took* ... does to the circuit what no known word says."""
    pieces = clause.pieces
    if pieces[at].text not in words_in(Aside.LIGHT) or clause.by_scan_tool or _is_side(pieces, at):
        return False
    if _is_of_neighbour(clause) or _is_left_alone(pieces, at):
        return False
    return _puts_something(clause, at, told) or (
        acts_on(pieces, at, told, bare=True) and _says_nothing(clause, at)
    )


def _is_left_alone(pieces: Sequence[Piece], at: int) -> bool:
    """Whether nothing was done: *left it*."""
    following = [piece.text for piece in pieces[at + 1 :]]
    return pieces[at].text == "left" and at == 0 and following in (["it"], ["it", "alone"])


def _is_side(pieces: Sequence[Piece], at: int) -> bool:
    """Whether *left* is no verb."""
    following = pieces[at + 1].text if at + 1 < len(pieces) else ""
    return pieces[at].text == "left" and following not in {"a", "my", "our", "it"}


def _says_nothing(clause: Clause, at: int) -> bool:
    """Whether no word tells what comes of an empty verb: *put it back*, *gave it a clean*."""
    verb, rest = clause.pieces[at].text, clause.pieces[at + 1 :]
    if verb.startswith("touch"):
        return any(piece.role is Role.ONTO or piece.text in _WITH for piece in rest)
    if verb in _GIVES:
        return not (_GIVEN | _COMPLETING) & clause.vocabulary
    known = any(piece.role not in _SAYS_NOTHING for piece in rest)
    return not known and not _COMPLETING & clause.vocabulary


_SAYS_NOTHING = frozenset(
    [
        *LEADING,
        Role.NEIGHBOUR,
        Role.UNKNOWN,
        Role.FUNCTION,
        Role.PLACE,
        Role.ONTO,
        Role.DEPLOY,
        Role.NUMBER,
    ]
)
_GIVES = frozenset(["gave", "give", "gives", "giving"])
_GIVEN = frozenset(
    ["clean", "wipe", "tug", "wiggle", "push", "pull", "look", "rub", "spray", "dry", "wobble"]
)
_COMPLETING = frozenset(
    [
        *("off", "out", "back", "apart", "away", "in", "down", "home", "up", "together"),
        *("ab", "weg", "raus", "rein"),
    ]
)


def _is_judged(clause: Clause, at: int, told: Told) -> bool:
    """Whether an igniter is tested and nothing said of how: *checked the squib, good*."""
    pieces = clause.pieces
    if pieces[at].text not in words_in(Aside.JUDGING):
        return False
    told_how = clause.roles & {Role.GRIP, Role.SUBSTITUTE} or (
        words_in(Aside.LOOKING) & clause.vocabulary
    )
    if told_how or (pieces[at].text in _READS and _is_read_by_tool(clause, at, told)):
        return False
    if at and pieces[at - 1].role in TARGETS:
        return _has_no_matter(pieces[at + 1 :])
    rest = list(pieces[at + 1 :])
    while rest and is_small(rest[0]) and not _is_pronoun(rest[0], told):
        rest.pop(0)
    if not rest or not (rest[0].role in TARGETS or _is_pronoun(rest[0], told)):
        return False
    if pieces[at].text in _READS:
        codes = {"out", "code", "codes", "again"} & clause.vocabulary
        return not told.by_scan and not codes
    noun = rest[1:2] and rest[1].role is Role.KNOWN and rest[1].text not in words_in(Aside.VERDICT)
    return not noun and _has_no_matter(rest[1:])


def _is_read_by_tool(clause: Clause, at: int, told: Told) -> bool:
    """Whether what is read is plainly not metered: *SRS box read*, *not measured, you read it*."""
    denied = any(Role.MEASURE in c.roles and Role.INSTRUMENT not in c.roles for c in told.not_done)
    unit = at > 0 and clause.pieces[at - 1].words[-1] in {"box", "module", "ecu", "unit"}
    return clause.by_scan_tool or denied or unit


def _has_no_matter(pieces: Sequence[Piece]) -> bool:
    """Whether nothing is named that was looked for: *for damage*, *against the list*."""
    begin = next((at for at, p in enumerate(pieces) if p.text in _LOOKED), len(pieces))
    matter = (piece for piece in pieces[begin + 1 :] if piece.role is Role.KNOWN)
    return all(piece.text in words_in(Aside.VERDICT) for piece in matter)


_READS = frozenset(["read", "reads"])
_LOOKED = frozenset(["for", "against", "on", "in"])


def is_small(piece: Piece) -> bool:
    """Whether a word may stand between a verb and what it is done to: *the*, *left*, *old*."""
    return piece.role is Role.PLACE or piece.text in words_in(Aside.ARTICLE)


def _is_forced(clause: Clause, at: int, told: Told) -> bool:
    """Whether an igniter is hit, heated or opened."""
    if Role.JOINED in clause.roles or words_in(Aside.PRONOUN) & set(clause.pieces[at].words):
        return not told.beside and not _is_of_neighbour(clause)
    if any(role_of(word) in TARGETS for word in clause.pieces[at].words):
        return True
    return not _is_of_neighbour(clause) and any(
        piece.role in {*TARGETS, Role.CONTACT, Role.UNIT} or _is_pronoun(piece, told)
        for piece in clause.pieces
    )


def _is_of_neighbour(clause: Clause) -> bool:
    """Whether a clause is about another part, not a source of power: *hit the wiper motor*."""
    others = (p for p in clause.pieces if p.role is Role.NEIGHBOUR)
    named = any(not piece.words[0].startswith(SOURCES) for piece in others)
    return named and not clause.roles & {*TARGETS, Role.JOINED, Role.UNIT}


def _is_unclear(clause: Clause, at: int, told: Told) -> bool:
    """Whether *put*, *gave*, *tried* ... hides what is done."""
    return (
        _does_something(clause, at, told)
        or _is_judged(clause, at, told)
        or _is_strange_deed(clause, at, told)
    )


def _is_strange_deed(clause: Clause, at: int, told: Told) -> bool:
    """Whether an ordinary word acts on an igniter in a way that no list has: *scooped the bag*."""
    piece = clause.pieces[at]
    if not piece.text.endswith("ed") or clause.by_scan_tool:
        return False
    if at and clause.pieces[at - 1].text in words_in(Aside.ARTICLE) | _SEEN:
        return False
    if "".join(piece.words) in words_in(Aside.DEED):
        return False
    if at == 0 and _is_adjective(clause):
        return False
    parted = {each.text for each in clause.pieces[at + 1 : at + 2]} & _PARTICLES
    return acts_on(clause.pieces, at + bool(parted), told, bare=True)


_SEEN = frozenset(["seen", "saw", "found"])
"""Behind these it tells what a part was like: *found crushed plug*."""


def _is_adjective(clause: Clause) -> bool:
    """Whether the first word tells how wires were found that the maker's parts mended."""
    named = [piece for piece in clause.pieces[1:] if not is_small(piece)]
    wires = bool(named) and named[0].words[-1].startswith(_WIRES)
    mended = any(piece.text in _MENDED for piece in named[1:2])
    return wires and mended and bool(clause.vocabulary & _OF_MAKER)


_WIRES = ("wire", "cable", "lead", "loom", "core")
_MENDED = frozenset(["repaired", "replaced", "renewed", "mended", "remade"])
_PARTICLES = frozenset(["out", "up", "off", "through", "down", "over", "around"])


_MAYBE: dict[Role, tuple[Role, Reason, Callable[[Clause, int, Told], bool]]] = {
    Role.LAMP: (Role.INSTRUMENT, Reason.METER, _is_put),
    Role.DEPLOY: (Role.POWER, Reason.DEPLOY, _is_done),
    Role.JUMP: (Role.BRIDGE, Reason.BRIDGE, _bridges),
    Role.WEAK: (Role.WEAK, Reason.METER, _is_tested),
    Role.RAIL: (Role.POWER, Reason.POWER, _is_fed),
    Role.FUNCTION: (Role.UNKNOWN, Reason.UNKNOWN, _is_unclear),
    Role.PLACE: (Role.UNKNOWN, Reason.UNKNOWN, _does_something),
    Role.KNOWN: (Role.UNKNOWN, Reason.UNKNOWN, _is_unclear),
    Role.HARNESS: (Role.UNKNOWN, Reason.UNKNOWN, _is_wire_used),
    Role.FORCE: (Role.UNKNOWN, Reason.UNKNOWN, _is_forced),
    Role.NEIGHBOUR: (Role.POWER, Reason.POWER, _is_source),
    Role.UNKNOWN: (Role.UNKNOWN, Reason.UNKNOWN, _is_applied),
}
"""Role -> what a word of it acts as, and why that is dangerous, where the check says so."""
