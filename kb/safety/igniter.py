"""The rule on igniters: what may be shown of a job on an airbag or a pretensioner, and what not.

On anything that concerns an igniter a sentence is shown only if each of its clauses is: a clause
that measures, powers or bridges, or tells a value, must itself say one of the few ways in which
that is allowed. No harmless word elsewhere, aside or denial releases it. The words stand in
``igniter_words.toml`` beside this module; all of it is common practice, no source.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from kb.case import System, TroubleCode
from kb.intake.items import trade_wording
from kb.intake.wording import Wording
from kb.safety.igniter_clauses import Clause, Piece, clauses_of, words_of
from kb.safety.igniter_words import Aside, Role, aside, igniters, implied, misspelt, named_alike, roles

RESTRAINT_CODES = "B00"
"""SAE J2012 keeps B00xx for the restraints; what makers define may be anything."""


class Reason(StrEnum):
    """Why a sentence is not shown."""

    METER = "a meter, lamp or probe sends current through an igniter and may fire it"
    POWER = "a voltage on an igniter fires it"
    BRIDGE = "a bridge or a short in an igniter's circuit may fire it or hide its fault"
    VALUE = "a value of an igniter's circuit without how it was taken may be a meter's"
    UNKNOWN = "what was put on the igniter's circuit is not plainly one of the allowed ways"


INSTEAD = (
    "Read the live value with a scan tool, or put a known load in the igniter's place; supply off "
    "and wait by the manufacturer's procedure before a plug is touched."
)


@dataclass(frozen=True, slots=True)
class Shown:
    """A sentence that may be shown as advice, proof, test or outcome."""


@dataclass(frozen=True, slots=True)
class Withheld:
    """A sentence that may not: why, and by which of its words."""

    reason: Reason
    words: str


@dataclass(frozen=True, slots=True)
class Danger:
    """A dangerous step, named at the moment of typing: its words, why, and what to do instead."""

    words: str
    reason: Reason
    instead: str = INSTEAD


def judged(
    text: str, *, igniter_job: bool, wording: Wording | None = None, by_scan_tool: bool = False
) -> Shown | Withheld:
    """Judge whether a shop's own words may be shown as advice, proof, test or outcome.

    Parameters
    ----------
    text : str
        Any words that somebody typed.
    igniter_job : bool
        The job concerns an igniter, see `concerns_igniter`; else the text must do so by itself
        to be withheld.
    wording : Wording, optional
        The trade's and the shop's own words; by default the trade's alone.
    by_scan_tool : bool
        All readings of the job were taken by scan tool: a value that is told alone is one of them.

    Returns
    -------
    Shown or Withheld

    Examples
    --------
    >>> judged("scan tool reads 2.3 on the squib", igniter_job=False)
    Shown()
    >>> judged("multimeter on the squib read OL, scan tool agreed", igniter_job=False).words
    'multimeter'
    """
    wording = wording or trade_wording()
    if not igniter_job and not concerns_igniter([text], wording=wording):
        return Shown()
    told = _Told(by_scan_tool)
    clauses = clauses_of(text, wording)
    for place, clause in enumerate(clauses):
        if clause.first:
            told = told.at_new_sentence(by_scan_tool)
        following = clauses[place + 1] if place + 1 < len(clauses) else None
        dangers = list(_dangers(clause, told))
        if dangers and not _is_allowed(clause, dangers, told, following):
            return _withheld(dangers)
        told.hear(clause)
    return Shown()


def concerns_igniter(
    texts: Iterable[str],
    *,
    systems: Iterable[System | None] = (),
    codes: Iterable[TroubleCode] = (),
    wording: Wording | None = None,
) -> bool:
    """Whether a job or a sentence concerns an igniter: by systems, by codes, by words.

    Parameters
    ----------
    texts : Iterable[str]
        Complaint, items of readings, components, names of links ...
    systems : Iterable[System or None]
    codes : Iterable[TroubleCode]
    wording : Wording, optional
        The trade's and the shop's own words; by default the trade's alone.

    Examples
    --------
    >>> concerns_igniter(["lamp on", "LF pretensioner 6.1 ohm"])
    True
    >>> concerns_igniter(["aux belt tensioner noisy"]), concerns_igniter(["wheel bearing"])
    (False, False)
    """
    if System.RESTRAINTS in systems or any(each.code.startswith(RESTRAINT_CODES) for each in codes):
        return True
    wording = wording or trade_wording()
    return any(_speaks_of_igniter(text, wording) for text in texts)


def _speaks_of_igniter(text: str, wording: Wording) -> bool:
    words = [
        word if roles().longest([word], 0) else misspelt(word) for word in words_of(text, wording)
    ]
    if igniters().any_in(words) or aside(Aside.BESIDE).any_in(words):
        return True
    if any(name.words.any_in(words) and not name.unless.any_in(words) for name in named_alike()):
        return True
    hinted = implied().words.any_in(words) and not implied().unless.any_in(words)
    return hinted and any(
        True for clause in clauses_of(text, wording) for _ in _dangers(clause, _Told())
    )


def dangerous_step(
    text: str, *, igniter_job: bool, wording: Wording | None = None
) -> Danger | None:
    """Name what is dangerous in a test, proof, outcome or way of reading just typed.

    Parameters
    ----------
    text, igniter_job, wording
        As for `judged`.

    Examples
    --------
    >>> dangerous_step("put test lamp across airbag squib, lamp lit", igniter_job=False).words
    'test lamp, across'
    """
    verdict = judged(text, igniter_job=igniter_job, wording=wording)
    return Danger(verdict.words, verdict.reason) if isinstance(verdict, Withheld) else None


def withheld_line(job: int | None = None) -> str:
    """Return the line that stands where something is not shown.

    Parameters
    ----------
    job : int, optional
        Number of the job where the words can be read, under their caution.

    Examples
    --------
    >>> withheld_line(7)
    "[not shown: it may put a meter, lamp or voltage on an igniter; read it with 'kb job show 7
    --verbatim']"
    """
    where = "" if job is None else f"; read it with 'kb job show {job} --verbatim'"
    return f"[not shown: it may put a meter, lamp or voltage on an igniter{where}]"


WITHHELD = withheld_line()


def screen(
    text: str,
    *,
    restraint: bool = False,
    job: int | None = None,
    wording: Wording | None = None,
    by_scan_tool: bool = False,
) -> str:
    """Return a shop's own words fit to be shown, or the line that stands in their place.

    Parameters
    ----------
    text : str
        Test, proof or fix in the shop's words.
    restraint : bool
        The words come from a job that concerns an igniter.
    job : int, optional
        Number of that job, for `withheld_line`.
    wording, by_scan_tool
        As for `judged`.

    Examples
    --------
    >>> screen("substitute load at the connector")
    'substitute load at the connector'
    >>> screen("checked resistance of LH pretensioner with multimeter").startswith("[not shown")
    True
    """
    verdict = judged(text, igniter_job=restraint, wording=wording, by_scan_tool=by_scan_tool)
    return text if isinstance(verdict, Shown) else withheld_line(job)


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
_UNRELEASED = frozenset([Role.POWER, Role.BRIDGE, Role.PATH, Role.UNKNOWN])
_SMALL = frozenset([Role.FUNCTION, Role.PLACE])
_MOST_BETWEEN = 3


@dataclass(slots=True)
class _Told:
    """What the clauses before have said.

    Attributes
    ----------
    by_scan, beside : bool
        The last thing spoken of is a live value, or a part beside the igniter.
    apart : bool
        Clock spring or harness is off at its ends.
    unit_off, end_off : bool
        The control unit is unplugged; so is what it leads to.
    listed : Clause or None
        The clause before, if it told the live value of an igniter or named the scan tool alone.
    measured : bool
        Something beside the igniter was measured in this sentence.
    named : bool
        An igniter was named in this sentence, and nothing said of it yet.
    """

    by_scan: bool = False
    beside: bool = False
    apart: bool = False
    unit_off: bool = False
    end_off: bool = False
    listed: Clause | None = None
    measured: bool = False
    named: bool = False

    def at_new_sentence(self, by_scan: bool) -> "_Told":
        """Keep what is unplugged; what is spoken of must be named anew."""
        return _Told(by_scan, apart=self.apart, unit_off=self.unit_off, end_off=self.end_off)

    def hear(self, clause: Clause) -> None:
        """Note what a clause that may be shown has said."""
        said = clause.roles
        self.measured |= bool(said & {Role.INSTRUMENT, Role.MEASURE})
        self.named |= bool(said & _TARGETS) and said <= _NOUNS
        live = _scan_is_used(clause) or _is_next_of_list(clause, self.listed)
        told = Role.VALUE in said and said & _TARGETS
        self.listed = clause if live and (told or _is_means_alone(clause)) else None
        if Role.JOINED in said:
            self.apart = self.unit_off = self.end_off = False
        elif Role.APART in said:
            self.apart = True
        if Role.ISOLATE in said or "off" in clause.words:
            self.unit_off |= Role.UNIT in said
            self.end_off |= bool(said & {*_TARGETS, Role.NEIGHBOUR})
        negated = {"not", "no", "nicht", "nie"} & set(clause.words[:2])
        load_alone = {Role.SUBSTITUTE, Role.APART} <= said
        if Role.NEIGHBOUR in said or load_alone or {Role.RAIL, Role.UNIT} <= said:
            self.beside = not negated and not said & _TARGETS
            self.by_scan = False
        elif _scan_is_used(clause):
            self.by_scan, self.beside = True, False
        elif said & _OBJECTS:
            proved = said & {Role.CLOCK_SPRING, Role.HARNESS} and self.apart
            self.beside = bool(proved) and not said & _TARGETS
            self.by_scan = False


def _dangers(clause: Clause, told: _Told) -> Iterator[tuple[Piece, Reason]]:
    """Yield what could fire an igniter, or tells of it."""
    pieces = clause.pieces
    said = clause.roles
    if told.measured and said & _TARGETS and _is_left_out(clause):
        target = next(piece for piece in pieces if piece.role in _TARGETS)
        yield Piece(Role.MEASURE, target.words), Reason.METER
    for at, piece in enumerate(pieces):
        if piece.role in _GRAVE:
            yield piece, _GRAVE[piece.role]
        elif piece.role is Role.LAMP and _is_put(pieces, at):
            yield Piece(Role.INSTRUMENT, piece.words), Reason.METER
        elif piece.role is Role.DEPLOY and _is_done(clause, at):
            yield Piece(Role.POWER, piece.words), Reason.POWER
        elif piece.role is Role.JUMP and said & _LEADING and not told.by_scan:
            if not _scan_is_used(clause):
                yield Piece(Role.BRIDGE, piece.words), Reason.BRIDGE
        elif piece.role is Role.WEAK and said & _TARGETS and Role.GRIP not in said:
            yield piece, Reason.METER
        elif piece.role is Role.NEIGHBOUR and _is_source(piece, said):
            yield Piece(Role.POWER, piece.words), Reason.POWER
        elif piece.role is Role.UNKNOWN and _is_applied(pieces, at):
            yield piece, Reason.UNKNOWN


def _is_left_out(clause: Clause) -> bool:
    """Whether a clause leaves its verb to the one before: *..., then the squib*."""
    verdict = {"good", "fine", "open", "bad", "dead", "faulty", "fault", "shorted", "perfect"}
    rest = (p for p in clause.pieces if p.role not in _NOUNS)
    return all(p.role in {Role.KNOWN, Role.WEAK} and p.text in verdict for p in rest)


def _is_put(pieces: Sequence[Piece], at: int) -> bool:
    """Whether a lamp is put on a circuit: *lamp on the plug*, *with a lamp*."""
    if Role.HARMLESS in {piece.role for piece in pieces[at + 1 : at + 4]}:
        return False
    before = {word for piece in pieces[max(0, at - 2) : at] for word in piece.words}
    return bool(before & _PUTTING) or _leads_to_target(pieces, at)


_PUTTING = frozenset(
    "put puts putting stuck hung used using with via clip clipped tried wired hooked held hold ran"
    " mit avec connected connect test my small little".split()
)


_INTO = frozenset(["in", "at", "into"])
_ARTICLES = frozenset(
    "the a an its both each every this that these those my his her our their all one two of der die"
    " das den dem des le la les l du de un une yellow".split()
)


def _leads_to_target(pieces: Sequence[Piece], at: int) -> bool:
    """Whether *on*, *in*, *to* ... a part of the circuit follows at once."""
    following = pieces[at + 1 : at + 2 + _MOST_BETWEEN + 1]
    if not following or following[0].role is not Role.ONTO:
        return bool(following) and following[0].words[0] in _INTO
    for piece in following[1:]:
        if piece.role in _LEADING:
            return True
        if piece.role is not Role.PLACE and piece.text not in _ARTICLES:
            return False
    return False


def _is_done(clause: Clause, at: int) -> bool:
    """Whether somebody fires it: *fired the old one*; *has fired* is a finding."""
    pieces = clause.pieces
    if aside(Aside.MODAL).any_in([word for piece in pieces[:at] for word in piece.words]):
        return bool(clause.roles & {Role.INSTRUMENT, Role.VALUE, Role.BRIDGE})
    tools = {Role.INSTRUMENT, Role.QUANTITY, Role.VALUE, Role.HARNESS, Role.NEIGHBOUR}
    following = pieces[at + 1].role if at + 1 < len(pieces) else Role.STOP
    by_hand = len(pieces[at].words) > 2 or {"hand", "manually", "remotely"} & set(clause.words)
    return bool(by_hand or clause.roles & tools or following in {Role.FUNCTION, *_TARGETS})


def _is_source(piece: Piece, said: frozenset[Role]) -> bool:
    """Whether a battery is put on the circuit, and not taken off or on the car."""
    battery = piece.words[0].startswith(("batter", "akumul"))
    return battery and bool(said & {*_TARGETS, Role.CONTACT}) and Role.ISOLATE not in said


def _is_applied(pieces: Sequence[Piece], at: int) -> bool:
    """Whether an unknown word is what is put on the circuit, or what is done to it."""
    if any(_leads_to_target(pieces, near) for near in range(at, min(at + 3, len(pieces)))):
        return True
    following = pieces[at + 1 : at + 2 + _MOST_BETWEEN]
    ends = pieces[at].words[0].endswith(("ed", "ing", "d", "en", "e"))
    if ends and (at == 0 or pieces[at - 1].role is not Role.FUNCTION):
        for piece in following:
            if piece.role in _TARGETS or piece.role is Role.CONTACT:
                return True
            if piece.role not in _SMALL:
                break
    return ends and at > 0 and pieces[at - 1].role in _TARGETS


def _is_allowed(
    clause: Clause,
    dangers: Sequence[tuple[Piece, Reason]],
    told: _Told,
    following: Clause | None,
) -> bool:
    """Whether a clause itself says an allowed way of what it does."""
    if _is_warning(clause, dangers, following):
        return True
    kinds = {piece.role for piece, _ in dangers}
    if kinds & _UNRELEASED:
        return False
    return (
        _is_live(clause, kinds, told, following)
        or _is_load(clause, kinds)
        or _is_beside(clause, told)
    )


def _is_live(
    clause: Clause, kinds: set[Role], told: _Told, following: Clause | None
) -> bool:
    """Whether the control unit itself has read it."""
    if Role.INSTRUMENT in kinds:
        return False
    if _scan_is_used(clause):
        return Role.MEASURE not in kinds or _scan_measures(clause)
    if Role.MEASURE in kinds:
        return False
    if told.by_scan and not clause.roles & _OBJECTS:
        return True
    if _is_next_of_list(clause, told.listed):
        return True
    return following is not None and _is_means_alone(following) and not following.first


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
    return _scan_is_used(clause) and clause.roles <= {Role.SCAN, Role.FUNCTION, Role.ONTO}


def _scan_is_used(clause: Clause) -> bool:
    """Whether a scan tool is the means here, and not only spoken of."""
    if Role.SCAN not in clause.roles:
        return False
    others = [word for piece in clause.pieces if piece.role is not Role.SCAN for word in piece.words]
    return not aside(Aside.NOT_THE_MEANS).any_in(others)


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
    return not said & _TARGETS or Role.IN_PLACE in said


def _is_beside(clause: Clause, told: _Told) -> bool:
    """Whether only something proved apart from the igniter is measured."""
    said = clause.roles
    if said & _TARGETS or Role.JOINED in said:
        return False
    if Role.NEIGHBOUR in said or (Role.RAIL in said and (Role.UNIT in said or told.beside)):
        return True
    ends_off = told.apart or Role.APART in said or (told.unit_off and told.end_off)
    if Role.HARNESS in said:
        return ends_off
    if Role.CLOCK_SPRING in said:
        return ends_off or told.end_off
    unit = Role.UNIT in said and not {"module", "modules"} & set(clause.words)
    if told.named:
        return False
    return told.beside and (unit or Role.UNIT not in said) and not said & _PARTS


_LOOSENING = frozenset(["before", "until", "till", "unless", "but", "yet"])


def _is_warning(
    clause: Clause, dangers: Sequence[tuple[Piece, Reason]], following: Clause | None
) -> bool:
    """Whether a clause does nothing but forbid: *never put a meter on the squib*."""
    words = clause.words
    if aside(Aside.LOOSEN).any_in(words) or Role.VALUE in clause.roles:
        return False
    if following is not None and following.joiner in _LOOSENING:
        return False
    forbid = aside(Aside.FORBID)
    at = next((place for place in range(len(words)) if forbid.longest(words, place)), None)
    if at is None:
        return False
    size = (forbid.longest(words, at) or (1, None))[0]
    before, after = words[:at], words[at + size :]
    done = [piece for piece, _ in dangers if piece.words[0] in before]
    if done:
        return all(piece.role is Role.INSTRUMENT for piece in done) and len(done) == len(dangers)
    acting = [word for word in after if roles().longest([word], 0) not in _SKIPPED]
    verb_last = " ".join(words[at : at + size]) in _VERB_LAST and not before
    return bool(acting) and (
        verb_last
        or acting[0] in _ACTING
        or any(acting[0] == piece.words[0] for piece, _ in dangers)
    )


_VERB_LAST = frozenset(["niemals", "keinesfalls", "auf keinen fall", "nigdy", "nie", "ne jamais"])
"""In other languages what is forbidden may end the clause."""
_SKIPPED = ((1, Role.ONTO), (1, Role.PLACE), None)
_ACTING = frozenset(
    "put use connect touch place stick check clip hang hook poke go try get test take ever a any an"
    " the with you".split()
)


def _withheld(dangers: Sequence[tuple[Piece, Reason]]) -> Withheld:
    gravest = min(dangers, key=lambda each: list(Reason).index(each[1]))
    return Withheld(gravest[1], ", ".join(dict.fromkeys(piece.text for piece, _ in dangers)))


def about_igniter(texts: Iterable[str]) -> bool:
    """Whether any of these words speaks of something that an igniter fires."""
    return concerns_igniter(texts)


def may_be_proposed(text: str, *, restraint: bool) -> bool:
    """Whether a shop's own words may stand in a proposal of what to do next."""
    return isinstance(judged(text, igniter_job=restraint), Shown)
