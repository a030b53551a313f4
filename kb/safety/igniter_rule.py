"""What a clause does to an igniter, and whether it says an allowed way of it.

A clause is dangerous by its acts (measuring, powering, bridging), its instruments, its electrical
values, or an unknown thing put on the circuit. It is allowed only if it says itself one of the few
ways in which such a thing may be done. All of it is common practice, no source.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import nan

from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_words import Aside, Role, aside, roles, words_in


class Reason(StrEnum):
    """Why a sentence is not shown."""

    METER = "a meter, lamp or probe sends current through an igniter and may fire it"
    POWER = "a voltage on an igniter fires it"
    BRIDGE = "a bridge or a short in an igniter's circuit may fire it or hide its fault"
    VALUE = "a value of an igniter's circuit without how it was taken may be a meter's"
    UNKNOWN = "what was done to the igniter's circuit is not plainly one of the allowed ways"


_TARGETS = frozenset([Role.IGNITER, Role.SHARED])
_LEADING = frozenset([*_TARGETS, Role.CONTACT, Role.HARNESS])
_PARTS = frozenset([*_LEADING, Role.CLOCK_SPRING])
_OBJECTS = _PARTS | {Role.UNIT}
_GRAVE = {
    Role.INSTRUMENT: Reason.METER,
    Role.MEASURE: Reason.METER,
    Role.POWER: Reason.POWER,
    Role.BRIDGE: Reason.BRIDGE,
    Role.PATH: Reason.METER,
    Role.QUANTITY: Reason.VALUE,
    Role.VALUE: Reason.VALUE,
}
_NOUNS = _OBJECTS | {Role.NEIGHBOUR, Role.RAIL, Role.PLACE, Role.FUNCTION, Role.ONTO}
_TESTED = _TARGETS | {Role.HARNESS, Role.CLOCK_SPRING}
_UNRELEASED = frozenset([Role.POWER, Role.BRIDGE, Role.PATH, Role.UNKNOWN])
_SMALL = frozenset([Role.FUNCTION, Role.PLACE])
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
    forbade : bool
        The clause before was a warning.
    measured : bool
        Something beside the igniter was measured in this sentence.
    named : bool
        An igniter was named in this sentence, and nothing said of it yet.
    scanned : bool
        A sentence before told a live value, and nothing was unplugged or measured since.
    refused : bool
        The clause before refuses: *job refused: ...*.
    grip : bool
        The sentence is about how firmly contacts hold.
    under_power : bool
        The circuit has supply, by this sentence.
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
    forbade: bool = False
    measured: bool = False
    named: bool = False
    under_power: bool = False
    scanned: bool = False
    refused: bool = False
    grip: bool = False

    def at_new_sentence(self) -> "Told":
        """Keep what is unplugged; what is spoken of must be named anew."""
        return Told(
            live=self.live,
            apart=self.apart,
            unit_off=self.unit_off,
            end_off=self.end_off,
            scanned=self.by_scan or self.scanned,
        )

    def hear(self, clause: Clause) -> None:
        """Note what a clause that may be shown has said."""
        said = clause.roles
        self.measured |= bool(said & {Role.INSTRUMENT, Role.MEASURE})
        self.named |= _names_target(clause) and said <= _NOUNS
        live = clause.by_scan_tool or _is_next_of_list(clause, self.listed)
        told = Role.VALUE in said and said & _TARGETS
        self.listed = clause if live and (told or _is_means_alone(clause)) else None
        if Role.JOINED in said:
            self.apart = self.unit_off = self.end_off = False
        elif Role.APART in said or _is_spring_out(clause):
            self.apart = True
        if Role.ISOLATE in said or "off" in clause.words:
            self.unit_off |= Role.UNIT in said
            self.end_off |= bool(said & {*_TARGETS, Role.NEIGHBOUR})
        self.under_power |= Role.LIVE in said
        self.grip |= Role.GRIP in said
        self.refused = aside(Aside.REFUSAL).any_in(clause.words)
        self.scanned &= not said & {Role.ISOLATE, Role.APART, Role.INSTRUMENT, Role.MEASURE}
        negated = {"not", "no", "nicht", "nie"} & set(clause.words[:2])
        self.lamp |= Role.LAMP in said
        self.forbade = _is_warning(clause, list(dangers_in(clause, self)), None)
        if Role.SUBSTITUTE in said:
            self.load = True
        elif clause.pieces[0].role is not Role.ONTO and said & _NOT_LOAD:
            self.load = False
        if Role.ISOLATE in said or _UNDOING & clause.vocabulary:
            self.heading = False
        load_alone = {Role.SUBSTITUTE, Role.APART} <= said
        if Role.NEIGHBOUR in said or load_alone or {Role.RAIL, Role.UNIT} <= said:
            self.beside = not (negated or _names_target(clause) or _is_isolating(clause))
            self.by_scan = False
        elif clause.by_scan_tool:
            self.by_scan, self.beside = True, False
        elif said & _OBJECTS and not (Role.VALUE in said and _is_watched(clause, self)):
            proved = said & {Role.CLOCK_SPRING, Role.HARNESS} and self.apart
            self.beside = bool(proved) and not said & _TARGETS
            self.by_scan = False


def _is_isolating(clause: Clause) -> bool:
    """Whether a clause only takes the battery or a fuse off."""
    neighbours = [piece.words[0] for piece in clause.pieces if piece.role is Role.NEIGHBOUR]
    return Role.ISOLATE in clause.roles and all(word.startswith(_SOURCES) for word in neighbours)


def _is_spring_out(clause: Clause) -> bool:
    """Whether the clock spring is out of the car."""
    return Role.CLOCK_SPRING in clause.roles and "out" in clause.words and clause.first


_SOURCES = ("batter", "akumul", "accu", "jump", "booster", "fuse", "relay", "bezpiecz", "sicherung")
_NOT_LOAD = _OBJECTS | {Role.NEIGHBOUR, Role.INSTRUMENT, Role.MEASURE}
_UNDOING = frozenset(["off", "out", "apart", "undone", "ab", "real", "then"])


def dangers_in(clause: Clause, told: Told) -> Iterator[tuple[Piece, Reason]]:
    """Yield what could fire an igniter, or tells of it."""
    target = next((piece for piece in clause.pieces if piece.role in _TARGETS), None)
    if target is not None and _is_left_out(clause):
        if told.measured:
            yield Piece(Role.MEASURE, target.words), Reason.METER
        if told.lamp and clause.pieces[0].role is Role.ONTO:
            yield Piece(Role.INSTRUMENT, target.words), Reason.METER
    handled = _HANDLING & clause.vocabulary
    if handled and told.under_power | (Role.LIVE in clause.roles) and _is_on_plug(clause):
        yield Piece(Role.UNKNOWN, tuple(sorted(handled))), Reason.UNKNOWN
    for at, piece in enumerate(clause.pieces):
        if piece.role in _GRAVE:
            yield piece, _GRAVE[piece.role]
        elif piece.role in _MAYBE:
            acts_as, reason, does = _MAYBE[piece.role]
            if does(clause, at, told):
                yield Piece(acts_as, piece.words), reason


_HANDLING = frozenset(
    [
        *("unplugged", "plugged", "disconnected", "connected", "reconnected", "unplug"),
        *("disconnect", "pulled", "swapped", "crossed", "split", "cut", "joined"),
    ]
)


def _is_on_plug(clause: Clause) -> bool:
    """Whether a clause is about the circuit itself, not read by scan tool."""
    return bool(clause.roles & {*_TARGETS, Role.CONTACT}) and Role.SCAN not in clause.roles


def _is_left_out(clause: Clause) -> bool:
    """Whether a clause leaves its verb to the one before: *..., then the squib*."""
    verdict = {"good", "fine", "open", "bad", "dead", "faulty", "fault", "shorted", "perfect"}
    rest = (p for p in clause.pieces if p.role not in _NOUNS)
    return all(p.role in {Role.KNOWN, Role.WEAK} and p.text in verdict for p in rest)


def _is_put(clause: Clause, at: int, told: Told) -> bool:
    """Whether a lamp is put on a circuit: *lamp on the plug*, *with a lamp*."""
    pieces = clause.pieces
    if Role.HARMLESS in {piece.role for piece in pieces[at + 1 : at + 4]}:
        return False
    before = {word for piece in pieces[max(0, at - 2) : at] for word in piece.words}
    is_on = at + 1 < len(pieces) and pieces[at + 1].text in {"on", "off", "out", "lit"}
    return (bool(before & words_in(Aside.PUTTING)) and not is_on) or _leads_to_target(
        pieces, at, told
    )


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
        if piece.role in _LEADING or (_is_pronoun(piece, told) and piece.text != "both"):
            return True
        if not _is_small(piece):
            return False
    return False


def _is_done(clause: Clause, at: int, _: Told) -> bool:
    """Whether somebody fires it: *fired the old one*; *has fired* is a finding."""
    pieces = clause.pieces
    if aside(Aside.MODAL).any_in(
        [word for piece in pieces[max(0, at - _NEAR) : at] for word in piece.words]
    ):
        return bool(clause.roles & {Role.INSTRUMENT, Role.VALUE, Role.BRIDGE, Role.NEIGHBOUR})
    tools = {Role.INSTRUMENT, Role.QUANTITY, Role.VALUE, Role.HARNESS, Role.NEIGHBOUR}
    following = pieces[at + 1].role if at + 1 < len(pieces) else Role.STOP
    by_hand = len(pieces[at].words) > 2 or {"hand", "manually", "remotely"} & clause.vocabulary
    return bool(by_hand or clause.roles & tools or following in {Role.FUNCTION, *_TARGETS})


def _bridges(clause: Clause, at: int, told: Told) -> bool:
    """Whether *jumped*, *link* ... is no value that jumps."""
    if at and clause.pieces[at - 1].text == "no":
        return False
    touches = bool(clause.roles & _PARTS) or _acts_on(clause.pieces, at, told, bare=False)
    return touches and not told.by_scan and not clause.by_scan_tool


def _is_tested(clause: Clause, at: int, told: Told) -> bool:
    """Whether a test without a word of how goes through the circuit."""
    if clause.roles & _TESTED:
        return Role.GRIP not in clause.roles
    if clause.words[0] == "they":
        return False  # what the customer heard
    others = {"side", "sides", "ones"} & {
        p.text for p in clause.pieces[at + 1 : at + _MOST_BETWEEN]
    }
    return bool(others) or _acts_on(clause.pieces, at, told, bare=False)


def _is_fed(clause: Clause, at: int, told: Told) -> bool:
    """Whether a feed or an earth is put on the circuit: *a feed on the plug*."""
    return Role.UNIT not in clause.roles and _leads_to_target(clause.pieces, at, told)


def _is_source(clause: Clause, at: int, _: Told) -> bool:
    """Whether a battery is put on the circuit, and not taken off or on the car."""
    piece, said = clause.pieces[at], clause.roles
    source = piece.words[0].startswith(_SOURCES) and piece.words[-1] not in _HOLDERS
    return source and bool(said & {*_TARGETS, Role.CONTACT}) and Role.ISOLATE not in said


_HOLDERS = frozenset(["box", "fusebox", "holder"])


def _is_applied(clause: Clause, at: int, told: Told) -> bool:
    """Whether an unknown word is what is put on the circuit, or what is done to it."""
    pieces = clause.pieces
    for near in range(at, min(at + _MOST_APART, len(pieces))):
        if near > at and pieces[near].role in _LEADING:
            break
        if _leads_to_target(pieces, near, told):
            return True
    ends = pieces[at].words[0].endswith(("ed", "ing"))
    is_verb = at == 0 or pieces[at - 1].text not in words_in(Aside.ARTICLE)
    is_deed = is_verb and not pieces[at].words[0].endswith("s")  # *it catches*: nobody did it
    if is_deed and _acts_on(pieces, at, told, bare=ends):
        return True
    if _is_means(clause, at, told):
        return True
    return pieces[at].words[0].endswith("ed") and at > 0 and pieces[at - 1].role in _TARGETS


def _is_means(clause: Clause, at: int, told: Told) -> bool:
    """Whether a word names with what something is done to an igniter: *with two wires*."""
    before = [p for p in clause.pieces[max(0, at - _MOST_BETWEEN) : at] if p.role is Role.FUNCTION]
    if not any(piece.text in _WITH for piece in before):
        return False
    if words_in(Aside.CLEANING) & clause.vocabulary:
        return False
    wire = clause.pieces[at].role is Role.HARNESS
    objects = (_LEADING - {Role.HARNESS} if wire else _TARGETS) & clause.roles
    return bool(objects) or any(_is_pronoun(p, told) for p in clause.pieces[:at])


_WITH = frozenset(["with", "mit", "avec", "con", "met", "w", "per"])


def _acts_on(pieces: Sequence[Piece], at: int, told: Told, *, bare: bool) -> bool:
    """Whether what follows a verb at once is the igniter, its plug or *it*.

    Without an article only if bare: *zorbed squib*.
    """
    for piece in pieces[at + 1 : at + 2 + _MOST_BETWEEN]:
        if _is_pronoun(piece, told):
            return True
        if piece.role in _TARGETS or piece.role is Role.CONTACT:
            return bare
        if not _is_small(piece):
            return False
        bare |= piece.text in words_in(Aside.ARTICLE)
    return False


def _is_pronoun(piece: Piece, told: Told) -> bool:
    """Whether *it*, *both*, *the old one* ... may be an igniter."""
    return piece.text in words_in(Aside.PRONOUN) and not told.beside


def _does_something(clause: Clause, at: int, told: Told) -> bool:
    """Whether *put*, *gave*, *took* ... does to the circuit what no known word says."""
    pieces = clause.pieces
    if pieces[at].text not in words_in(Aside.LIGHT) or clause.by_scan_tool:
        return False
    if (
        pieces[at].text == "left"
        and clause.pieces[at + 1 : at + 2][:1]
        and (pieces[at + 1].text not in {"a", "my", "our", "it"})
    ):
        return False  # a side
    if _puts_something(clause, at, told):
        return True
    if not _acts_on(pieces, at, told, bare=True):
        return False
    if pieces[at].text.startswith("touch"):
        return any(piece.role is Role.ONTO or piece.text in _WITH for piece in pieces[at + 1 :])
    if pieces[at].text in _GIVES:
        return not (_GIVEN | _COMPLETING) & clause.vocabulary
    return all(piece.role in _SAYS_NOTHING for piece in pieces[at + 1 :]) and not (
        _COMPLETING & clause.vocabulary
    )


_SAYS_NOTHING = frozenset(
    [
        *_LEADING,
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
    ["off", "out", "back", "apart", "away", "in", "down", "home", "up", "ab", "weg", "raus", "rein"]
)


def _is_judged(clause: Clause, at: int, told: Told) -> bool:
    """Whether an igniter is tested and nothing said of how: *checked the squib, good*."""
    pieces = clause.pieces
    if pieces[at].text not in words_in(Aside.JUDGING):
        return False
    if clause.roles & {Role.GRIP, Role.SUBSTITUTE}:
        return False
    if at and pieces[at - 1].role in _TARGETS:
        return _has_no_matter(pieces[at + 1 :])
    rest = list(pieces[at + 1 :])
    while rest and _is_small(rest[0]) and not _is_pronoun(rest[0], told):
        rest.pop(0)
    if not rest or not (rest[0].role in _TARGETS or _is_pronoun(rest[0], told)):
        return False
    if pieces[at].text == "read":
        codes = {"out", "code", "codes", "again"} & clause.vocabulary
        return Role.SCAN not in clause.roles and not told.by_scan and not codes
    noun = rest[1:2] and rest[1].role is Role.KNOWN and rest[1].text not in words_in(Aside.VERDICT)
    return not noun and _has_no_matter(rest[1:])


def _has_no_matter(pieces: Sequence[Piece]) -> bool:
    """Whether nothing is named that was looked for: *for damage*, *against the list*."""
    begin = next((at for at, p in enumerate(pieces) if p.text in _LOOKED), len(pieces))
    matter = (piece for piece in pieces[begin + 1 :] if piece.role is Role.KNOWN)
    return all(piece.text in words_in(Aside.VERDICT) for piece in matter)


_LOOKED = frozenset(["for", "against", "on", "in"])


def _is_small(piece: Piece) -> bool:
    return piece.role is Role.PLACE or piece.text in words_in(Aside.ARTICLE)


def _is_forced(clause: Clause, _at: int, told: Told) -> bool:
    """Whether an igniter is hit, heated or opened."""
    return Role.JOINED in clause.roles or any(
        piece.role in {*_TARGETS, Role.CONTACT} or _is_pronoun(piece, told)
        for piece in clause.pieces
    )


def _is_unclear(clause: Clause, at: int, told: Told) -> bool:
    """Whether *put*, *gave*, *tried* ... hides what is done."""
    return _does_something(clause, at, told) or _is_judged(clause, at, told)


_MAYBE: dict[Role, tuple[Role, Reason, Callable[[Clause, int, Told], bool]]] = {
    Role.LAMP: (Role.INSTRUMENT, Reason.METER, _is_put),
    Role.DEPLOY: (Role.POWER, Reason.POWER, _is_done),
    Role.JUMP: (Role.BRIDGE, Reason.BRIDGE, _bridges),
    Role.WEAK: (Role.WEAK, Reason.METER, _is_tested),
    Role.RAIL: (Role.POWER, Reason.POWER, _is_fed),
    Role.FUNCTION: (Role.UNKNOWN, Reason.UNKNOWN, _is_unclear),
    Role.PLACE: (Role.UNKNOWN, Reason.UNKNOWN, _does_something),
    Role.KNOWN: (Role.UNKNOWN, Reason.UNKNOWN, _is_unclear),
    Role.HARNESS: (Role.UNKNOWN, Reason.UNKNOWN, _is_means),
    Role.FORCE: (Role.UNKNOWN, Reason.UNKNOWN, _is_forced),
    Role.NEIGHBOUR: (Role.POWER, Reason.POWER, _is_source),
    Role.UNKNOWN: (Role.UNKNOWN, Reason.UNKNOWN, _is_applied),
}
"""Role -> what a word of it acts as, and why that is dangerous, where the check says so."""


def is_allowed(
    clause: Clause,
    dangers: Sequence[tuple[Piece, Reason]],
    told: Told,
    following: Clause | None,
) -> bool:
    """Whether a clause itself says an allowed way of what it does."""
    goes_on = told.forbade and clause.words[0] in _NOT_EVEN
    if goes_on or _is_warning(clause, dangers, following) or _is_refused(clause, told, following):
        return True
    if _is_left_undone(clause, dangers, following) or _has_fired(clause, dangers):
        return True
    kinds = {piece.role for piece, _ in dangers}
    if _is_count(clause, dangers, told) or _heads_neighbour(clause, kinds, following):
        return True
    if kinds & _UNRELEASED and not _is_across_neighbour(clause, kinds):
        return False
    return (
        _is_live(clause, kinds, told, following)
        or _is_load(clause, kinds)
        or _is_beside(clause, told)
    )


def _is_count(clause: Clause, dangers: Sequence[tuple[Piece, Reason]], told: Told) -> bool:
    """Whether a drag test tells how many pins were loose: *drag test: 2 loose*."""
    whole = all(piece.role is Role.VALUE and piece.text.isdigit() for piece, _ in dangers)
    return told.grip and whole and not clause.roles & {*_TARGETS, Role.UNKNOWN}


def _heads_neighbour(clause: Clause, kinds: set[Role], following: Clause | None) -> bool:
    """Whether a test without an object heads what is no igniter: *voltage drop: fuse holder*."""
    if following is None or following.joiner != ":" or clause.roles & _OBJECTS:
        return False
    beside = Role.NEIGHBOUR in following.roles and not following.roles & {*_TARGETS, Role.CONTACT}
    return beside and kinds <= {Role.MEASURE, Role.QUANTITY}


def _is_across_neighbour(clause: Clause, kinds: set[Role]) -> bool:
    """Whether a voltage is told across a part that is no igniter: *2.6 V across the fuse*."""
    return (
        kinds <= {Role.PATH, Role.VALUE, Role.QUANTITY, Role.MEASURE}
        and Role.NEIGHBOUR in clause.roles
        and not clause.roles & {*_TARGETS, Role.CONTACT}
    )


def _is_live(clause: Clause, kinds: set[Role], told: Told, following: Clause | None) -> bool:
    """Whether the control unit itself has read it."""
    if Role.INSTRUMENT in kinds:
        return False
    if clause.by_scan_tool:
        return Role.MEASURE not in kinds or _scan_measures(clause)
    return Role.MEASURE not in kinds and (
        (told.heading and _is_under_heading(clause))
        or _is_known_live(clause, told)
        or ((told.by_scan or told.load) and _is_bare(clause))
        or _is_watched(clause, told)
        or _is_next_of_list(clause, told.listed)
        or (following is not None and _is_means_alone(following) and not following.first)
    )


def _is_under_heading(clause: Clause) -> bool:
    """Whether a value is told of what the heading reads: *live data: jumps to 9 at the plug*.

    An igniter may be named only at once: *live data: driver bag 12.7*.
    """
    other = {Role.WEAK, Role.APART, Role.UNKNOWN}
    if clause.joiner != ":" or Role.CONTACT in clause.roles:
        other |= _TARGETS
    return not clause.roles & other and not words_in(Aside.MEANS) & clause.vocabulary


def _is_known_live(clause: Clause, told: Told) -> bool:
    """Whether every value told is one that the scan tool has read on this job."""
    values = [_number(piece) for piece in clause.pieces if piece.role is Role.VALUE]
    touched = {Role.APART, Role.ISOLATE, Role.WEAK} & clause.roles
    return bool(values) and told.live.issuperset(values) and not touched


def _number(value: Piece) -> float:
    """Return a value as a number; nan if it is not written as one."""
    try:
        return float(value.words[0].replace(",", ".").replace("r", "."))
    except ValueError:
        return nan


def _is_watched(clause: Clause, told: Told) -> bool:
    """Whether a value is told of what the scan tool goes on watching: *side bag went 2.2*."""
    changes = bool(_CHANGING & clause.vocabulary) or clause.joiner == ":"
    if told.by_scan or told.heading:
        bare = clause.roles <= _BARE | _TARGETS and not words_in(Aside.MEANS) & clause.vocabulary
        return changes and bare
    return told.scanned and changes and _is_bare(clause)


def _is_bare(clause: Clause) -> bool:
    """Whether a clause tells a value and names neither what was read nor with what."""
    return clause.roles <= _BARE and not words_in(Aside.MEANS) & clause.vocabulary


_CHANGING = frozenset(
    [
        "jumped",
        "moved",
        "climbed",
        "dropped",
        "drops",
        "back",
        "now",
        "came",
        "went",
        "down",
        "fell",
    ]
)
_BARE = frozenset(
    [
        *(Role.VALUE, Role.QUANTITY, Role.PLACE, Role.FUNCTION, Role.KNOWN, Role.NUMBER),
        *(Role.ONTO, Role.HARMLESS, Role.WEAK, Role.SCAN, Role.SUBSTITUTE, Role.IN_PLACE),
        Role.JUMP,
    ]
)


def _is_next_of_list(clause: Clause, before: Clause | None) -> bool:
    """Whether a live value is told of the next of several: *live data LF bag 2.1, RF bag 2.2*."""
    plain = all(p.role in _LISTED or p.text == "on" for p in clause.pieces)
    if before is None or not plain:
        return False
    if _is_means_alone(before):
        return clause.joiner == ":"
    if clause.joiner != ",":
        return False
    names, past = ({p.text for p in each.pieces if p.role in _NAMING} for each in (clause, before))
    return not names <= past


_NAMING = _TARGETS | {Role.PLACE}
_LISTED = _NAMING | {Role.VALUE, Role.QUANTITY}


def _is_means_alone(clause: Clause) -> bool:
    return clause.by_scan_tool and clause.roles <= {Role.SCAN, Role.FUNCTION, Role.ONTO}


def _scan_measures(clause: Clause) -> bool:
    """Whether it is the scan tool that measures: *measured with the scan tool*."""
    order = [p.role for p in clause.pieces if p.role not in _SMALL]
    scan = order.index(Role.SCAN)
    measure = order.index(Role.MEASURE)
    return measure == scan + 1 or (measure < scan and order[scan - 1] in {Role.ONTO, Role.MEASURE})


def _is_load(clause: Clause, kinds: set[Role]) -> bool:
    """Whether a known load stands in the igniter's place, or is measured by itself."""
    said = clause.roles
    if Role.SUBSTITUTE not in said or Role.JOINED in said:
        return False
    if kinds & {Role.INSTRUMENT, Role.MEASURE, Role.WEAK}:
        return Role.APART in said and not said & _LEADING
    first = next(piece.role for piece in clause.pieces if piece.role not in _SMALL)
    begins = first is Role.SUBSTITUTE and Role.CONTACT in said
    return not said & _TARGETS or Role.IN_PLACE in said or begins


def _is_beside(clause: Clause, told: Told) -> bool:
    """Whether only something proved apart from the igniter is measured."""
    said = clause.roles
    if _names_target(clause) or Role.JOINED in said or _is_done_to_it(clause, told):
        return False
    if Role.NEIGHBOUR in said or (Role.RAIL in said and (Role.UNIT in said or told.beside)):
        return True
    ends_off = told.apart or Role.APART in said or (told.unit_off and told.end_off)
    if Role.HARNESS in said:
        return ends_off
    if Role.CLOCK_SPRING in said:
        return ends_off or told.end_off
    unit = Role.UNIT in said and not {"module", "modules"} & clause.vocabulary
    if told.named or Role.UNKNOWN in said:
        return False
    own_plug = "own" in clause.words and said & _PARTS == {Role.CONTACT}
    apart = own_plug or not said & _PARTS
    return told.beside and apart and (unit or Role.UNIT not in said)


def _names_target(clause: Clause) -> bool:
    """Whether an igniter is named, and not only whose part it is: *earth strap of the bag*."""
    pieces = [piece for piece in clause.pieces if not _is_small(piece) or piece.text == "of"]
    return any(
        piece.role in _TARGETS
        and not (
            at > 1
            and pieces[at - 1].text in {"of", "for"}
            and pieces[at - 2].role is Role.NEIGHBOUR
        )
        for at, piece in enumerate(pieces)
    )


def _is_done_to_it(clause: Clause, told: Told) -> bool:
    """Whether *it* or *them* is what is measured: *meter them while the battery is off*."""
    return any(
        piece.role in {Role.INSTRUMENT, Role.MEASURE}
        and _acts_on(clause.pieces, at, told, bare=False)
        for at, piece in enumerate(clause.pieces)
    )


_NOT_EVEN = frozenset(["not", "nor", "neither", "even", "ever"])
_PROHIBITED = frozenset([("not", "allowed"), ("is", "forbidden"), ("is", "prohibited")])
_LOOSENING = frozenset(["before", "until", "till", "unless", "but", "yet"])


def _is_warning(
    clause: Clause, dangers: Sequence[tuple[Piece, Reason]], following: Clause | None
) -> bool:
    """Whether a clause does nothing but forbid: *never put a meter on the squib*."""
    loosened = aside(Aside.LOOSEN).any_in(clause.words) or Role.VALUE in clause.roles
    goes_on = following is not None and following.joiner in _LOOSENING
    if not goes_on and Role.VALUE not in clause.roles and clause.words[-2:] in _PROHIBITED:
        return True
    return _tells_danger(clause, dangers) or (
        not loosened and not goes_on and _forbids(clause.words, [piece for piece, _ in dangers])
    )


def _is_refused(clause: Clause, told: Told, following: Clause | None) -> bool:
    """Whether somebody else did or wanted it, and was refused: *customer asked ..., told no*."""
    if Role.VALUE in clause.roles or not aside(Aside.OTHERS).any_in(clause.words):
        return False
    refusal = aside(Aside.REFUSAL)
    return told.refused or (following is not None and refusal.any_in(following.words))


def _is_left_undone(
    clause: Clause, dangers: Sequence[tuple[Piece, Reason]], following: Clause | None
) -> bool:
    """Whether a clause tells that nothing was done: *squib not measured*."""
    if Role.VALUE in clause.roles or (following is not None and following.joiner in _LOOSENING):
        return False
    if len(dangers) != 1 or aside(Aside.LOOSEN).any_in(clause.words):
        return False
    at = clause.pieces.index(dangers[0][0]) if dangers[0][0] in clause.pieces else 0
    if not at or clause.pieces[at - 1].text not in _NEGATING:
        return False
    before = clause.pieces[at - 2] if at > 1 else None
    return before is None or before.role in _LEADING or before.text in _COPULA


_NEGATING = frozenset(["not", "never", "nicht", "nie", "pas", "niet"])
_COPULA = frozenset(["was", "were", "is", "are", "been", "be"])


def _has_fired(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether an igniter was fired by a crash, and by nobody."""
    kinds = [piece.role for piece, _ in dangers]
    return kinds == [Role.POWER] and aside(Aside.CRASH).any_in(clause.words)


def _forbids(words: Sequence[str], dangers: Sequence[Piece]) -> bool:
    """Whether all that is dangerous among these words is what *never* or its like forbids."""
    forbid = aside(Aside.FORBID)
    found = ((at, forbid.longest(words, at)) for at in range(len(words)))
    at, size = next(((at, match[0]) for at, match in found if match), (0, 0))
    never = " ".join(words[at : at + size])
    if not size or (never == "no" and {piece.role for piece in dangers} != {Role.INSTRUMENT}):
        return False
    before, after = words[:at], words[at + size :]
    done = [piece for piece in dangers if piece.words[0] in before]
    if done:
        return len(done) == len(dangers) and {piece.role for piece in done} == {Role.INSTRUMENT}
    acting = [word for word in after if roles().longest([word], 0) not in _SKIPPED]
    verb_last = never in _VERB_LAST and not before
    forbidden = words_in(Aside.ACTING) | {piece.words[0] for piece in dangers}
    return bool(acting) and (verb_last or acting[0] in forbidden)


def _tells_danger(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether a clause tells what may come of it: *a meter can fire it*."""
    kinds = [piece.role for piece, _ in dangers]
    fires = {Role.POWER, Role.INSTRUMENT} >= set(kinds) and Role.POWER in kinds
    may = any(p.role is Role.FUNCTION and p.text in _MAY for p in clause.pieces)
    return (
        fires and may and not {"not", "never"} & clause.vocabulary and Role.DEPLOY in clause.roles
    )


_MAY = frozenset(["can", "could", "may", "might"])
_VERB_LAST = frozenset(["niemals", "keinesfalls", "auf keinen fall", "nigdy", "nie", "ne jamais"])
"""In other languages what is forbidden may end the clause."""
_SKIPPED = ((1, Role.ONTO), (1, Role.PLACE), None)
