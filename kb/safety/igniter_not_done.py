"""What a sentence tells that was not done, so that only the rest of it is to be judged.

*Buckle switch metered, 100 ohm, tensioner not touched* is about the switch: the clause that only
says that an igniter was left alone is no clause about work on one. So is a wish that is refused at
once, *wanted to check the squib with a lamp but the book says no*. Such a clause releases nothing
else: what stands beside it is judged as if it stood alone. All of it is common practice, no source.
"""

from collections.abc import Iterator, Sequence
from itertools import chain

from kb.safety.igniter_acts import LEADING, TARGETS, Reason
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_words import Aside, Role, aside, role_of, roles, words_in


def left_to_judge(sentence: Sequence[Clause]) -> tuple[Clause, ...]:
    """Return the clauses that tell more than what was left alone, or wished and refused.

    Parameters
    ----------
    sentence : sequence of Clause
        All clauses of a sentence.

    Returns
    -------
    tuple of Clause
        None if the sentence says nothing else; all if it says nothing of the kind.
    """
    begun = _behind_refusal(sentence)
    chosen = (_without_rejected(clause, begun[at + 1 :]) for at, clause in enumerate(begun))
    rest = [_without_denial(clause) for clause in chosen if clause is not None]
    return tuple(
        clause
        for at, clause in enumerate(rest)
        if not (_leaves_alone(clause, rest[at + 1 : at + 2]) or _is_stowed(clause))
    )


# --- left alone


def _leaves_alone(clause: Clause, following: Sequence[Clause]) -> bool:
    """Whether a clause says only that an igniter was left alone, or that it is not meant."""
    goes_on = any(each.joiner in _TURNING for each in following)
    if goes_on or clause.roles & _SAYS_MORE:
        return False
    if _is_untouched(clause) or _is_not_meant(clause) or _is_kept_away(clause):
        return True
    told = clause.words[clause.words[0] in _PLEASE :]
    if told[:1] and told[0] in _NOT and told[1:2] in _WITH:
        return _names_means_alone(told[2:])  # *nicht mit Ohmmeter an den Zünder*
    allowed = any(each.roles & _ALLOWED and Role.INSTRUMENT not in each.roles for each in following)
    return allowed and clause.words[0] in _WITHOUT and _names_means_alone(clause.words[1:])


_PLEASE = frozenset(["bitte", "please"])
_WITH = (("mit",), ("met",), ("avec",), ("with",))
_WITHOUT = frozenset(["without", "ohne", "sans", "bez"])
_TURNING = frozenset(
    ["but", "until", "till", "til", "unless", "except", "aber", "bis", "sondern", "mais", "ale"]
)
_SAYS_MORE = frozenset([Role.VALUE, Role.QUANTITY, Role.LIVE, Role.DEFEAT, Role.NUMBER])
_SMALL = frozenset([Role.FUNCTION, Role.PLACE, Role.ONTO])


def _is_untouched(clause: Clause) -> bool:
    """Whether an igniter, or its plug, was not touched: *side bag plug left alone*."""
    words = _without_means(clause.words)
    found = ((at, aside(Aside.LEFT_ALONE).longest(words, at)) for at in range(len(words)))
    at, size = next(((at, match[0]) for at, match in found if match), (0, 0))
    if not size:
        return False
    rest = [*words[:at], *words[at + size :]]
    roles = [role_of(word) for word in rest]
    named = bool(clause.roles & TARGETS) or bool(TARGETS.intersection(filter(None, roles)))
    plain = all(_names_it(word) for word in rest)
    return named and plain and len(words) > size


def _without_means(words: tuple[str, ...]) -> tuple[str, ...]:
    """Return words without the means that end them: *not touched with a meter*."""
    at = words.index("with") if "with" in words else len(words)
    return words[:at] if _names_means_alone(words[at + 1 :]) else words


def _names_it(word: str) -> bool:
    """Whether a word may stand in the name of an igniter or its plug."""
    role = role_of(word)
    named = role in LEADING or role in {Role.FUNCTION, Role.PLACE}
    return (named or word in _HOLDERS) and word not in _DOING_MORE


_HOLDERS = frozenset(
    ["job", "seat", "belt", "wheel", "roof", "knee", "head", "sitz", "siege", "fotela"]
)
_DOING_MORE = words_in(Aside.LIGHT) | words_in(Aside.DENIAL) | {"only", "until", "then", "first"}


def _is_not_meant(clause: Clause) -> bool:
    """Whether a clause only says what something is not: *not a squib*, *not the tensioner plug*."""
    first = clause.pieces[0].words[0]
    rest = [word for piece in clause.pieces[1:] for word in piece.words]
    named = bool({role_of(word) for word in rest} & TARGETS)
    return first in _NOT and named and all(map(_names_it, rest))


def _without_denial(clause: Clause) -> Clause:
    """Return a clause without what its end says that it is not: *its own wires, not a squib*.

    So is *used the load rather than a meter on the squib*.
    """
    pieces = clause.pieces
    if clause.roles & _ALLOWED and (left := _before_means_left(clause)):
        return Clause(left, clause.joiner)
    for at in range(max(1, len(pieces) - _LONGEST_END), len(pieces)):
        if pieces[at].words[0] not in _NOT or pieces[at - 1].role is Role.FUNCTION:
            continue
        if any(piece.text == "ne" for piece in pieces[:at]):
            continue  # *on ne mesure pas l'airbag*
        end = Clause(pieces[at:], ",")
        if Role.NEIGHBOUR not in end.roles and _is_not_meant(end):
            return Clause(pieces[:at], clause.joiner)
    return clause


_ALLOWED = frozenset([Role.SUBSTITUTE, Role.SCAN])


def _before_means_left(clause: Clause) -> tuple[Piece, ...]:
    """Return what stands before a means that was not taken; nothing if none ends the clause."""
    for at in range(1, len(clause.pieces)):
        behind = tuple(word for piece in clause.pieces[at:] for word in piece.words)
        size = next((len(each) for each in _RATHER if behind[: len(each)] == each), 0)
        if not size or not {p.role for p in clause.pieces[:at]} & _ALLOWED:
            continue
        if _names_means_alone(behind[size:]):
            return clause.pieces[:at]
    return ()


def _names_means_alone(words: Sequence[str]) -> bool:
    """Whether words name a means, and at most where it was not put: *a meter on the squib*."""
    small = words_in(Aside.ARTICLE) | _PUTTING
    begin = next((at for at, word in enumerate(words) if word not in small), len(words))
    size, role = (roles().longest(words, begin) if begin < len(words) else None) or (0, None)
    behind = words[begin + size :]
    where = all(_names_it(word) or word in _NEAR for word in behind)
    return role in _MEANS and where and (not behind or behind[0] in _NEAR)


_PUTTING = frozenset(["putting", "using", "taking", "sticking", "hanging", "ever"])
_RATHER = (
    *(("rather", "than"), ("instead", "of"), ("in", "place", "of"), ("without",), ("statt",)),
    *(("anstatt",), ("ohne",), ("au", "lieu", "de"), ("au", "lieu", "d"), ("sans",), ("zamiast",)),
    *(("not",), ("bez",), ("in", "lieu", "of")),
)


_LONGEST_END = 6
_NOT = frozenset(["not", "nicht", "pas", "nie", "isnt"])
"""None of *no side bags*, which may be what the control unit was told."""


def _is_kept_away(clause: Clause) -> bool:
    """Whether a clause tells that no instrument came near: *no bulb near any bag*."""
    first, *rest = clause.pieces
    if first.words[0] not in _NONE or not rest or rest[0].role not in _MEANS:
        return False
    behind = [word for piece in rest[1:] for word in piece.words]
    lit = rest[0].role is Role.LAMP  # *no light at the bag* tells what a test lamp did
    near = any(word in _NEAR for word in behind) if not lit else behind[:1] == ["near"]
    return near and all(_names_it(word) or word in _NEAR for word in behind)


_NONE = frozenset(["no", "kein", "keine", "aucun", "aucune", "zaden", "zadna"])
_MEANS = frozenset([Role.INSTRUMENT, Role.LAMP])
_NEAR = frozenset(["near", "on", "at", "to", "it", "them", "an", "am", "sur", "na", "across"])


# --- another way chosen, a tool put away


def _without_rejected(clause: Clause, following: Sequence[Clause]) -> Clause | None:
    """Return a clause without the deed that it begins with and that was not chosen.

    *Rather than measure the squib we fitted the load* tells that the load was fitted. Only what is
    allowed may be told in its stead; None if nothing else is told in the clause.
    """
    size = _length_of_rejected(clause.pieces)
    rest = clause.pieces[size:]
    chosen = {piece.role for piece in rest}.union(*(each.roles for each in following[:1]))
    if not size or not chosen & _ALLOWED or chosen & _TOOLS:
        return clause
    return Clause(rest, clause.joiner) if rest else None


def _length_of_rejected(pieces: Sequence[Piece]) -> int:
    """Return how many pieces tell a measuring that was not chosen; 0 if they do not begin so."""
    words = tuple(word for piece in pieces[:3] for word in piece.words)
    said = next((len(each) for each in _RATHER_THAN if words[: len(each)] == each), 0)
    subjects = _SUBJECTS | ({"on"} if words[:1] in _FRENCH else frozenset())
    measured = False
    for at, piece in enumerate(pieces if said else ()):
        if said > 0:
            said -= len(piece.words)
        elif piece.role in _TOOLS:
            if measured and piece.role is Role.MEASURE:
                return at
            measured = True
        elif piece.text in subjects or not all(map(_belongs_to_it, piece.words)):
            return at if measured else 0
    return len(pieces) if measured else 0


_FRENCH = (("plutot",), ("au",))


def _belongs_to_it(word: str) -> bool:
    """Whether a word may stand in a deed beside its verb, its means and the igniter's name."""
    small = words_in(Aside.ARTICLE) | words_in(Aside.PUTTING) | _PUTTING
    return word in small or word in _NEAR or word in _BESIDE_DEED or _names_it(word)


_RATHER_THAN = (
    *(("rather", "than"), ("sooner", "than"), ("instead", "of"), ("in", "place", "of")),
    *(("plutot", "que", "de"), ("plutot", "que"), ("plutot", "qu"), ("au", "lieu", "de")),
    *(("statt",), ("anstatt",), ("zamiast",)),
)
_SUBJECTS = frozenset(
    ["we", "i", "he", "she", "they", "you", "haben", "hab", "habe", "wurde", "nous", "ich", "wir"]
)
_BESIDE_DEED = frozenset(["with", "using", "out", "zu", "mit", "avec", "au", "put", "stick", "own"])
_TOOLS = frozenset([Role.INSTRUMENT, Role.MEASURE, Role.PATH, Role.POWER, Role.BRIDGE])


def _is_stowed(clause: Clause) -> bool:
    """Whether a clause tells only where a tool is kept: *test lamps stay in the drawer*."""
    tools = [at for at, piece in enumerate(clause.pieces) if piece.role in _STOWABLE]
    places = [at for at, piece in enumerate(clause.pieces) if _STORES & {*piece.words}]
    if not tools or not places or places[0] <= tools[-1] or clause.roles & _USED:
        return False
    begin = tools[-1] + 1
    while clause.pieces[begin].role is Role.CONTACT:
        begin += 1  # a dummy has a plug of its own
    led = clause.pieces[begin : places[0]]
    words = {word for piece in led for word in piece.words}
    on_it = words & words_in(Aside.PRONOUN) or any(piece.role in LEADING for piece in led)
    return bool(words & _IN) and not (words & _FROM or on_it)


_STOWABLE = frozenset([Role.INSTRUMENT, Role.SUBSTITUTE, Role.LAMP])
_USED = frozenset([Role.VALUE, Role.QUANTITY, Role.MEASURE, Role.PATH, Role.JOINED, Role.DEFEAT])
_STORES = frozenset(
    [
        *("drawer", "drawers", "toolbox", "cupboard", "cabinet", "locker", "stores", "store"),
        *("shelf", "rack", "case", "toolchest", "chest", "hook", "trolley"),
        *("schublade", "koffer", "schrank", "tiroir", "mallette", "armoire", "szufladzie"),
        *("szuflady", "skrzynce", "szafie", "walizce", "walizki"),
    ]
)
_IN = frozenset(["in", "into", "to", "on", "im", "dans", "w", "do"])
_FROM = frozenset(["out", "from", "off"])


# --- wished, and refused


def _behind_refusal(sentence: Sequence[Clause]) -> Sequence[Clause]:
    """Return what follows a wish and its refusal, or the whole sentence."""
    if sentence and _is_untempted(sentence[0]):
        return sentence[1:]
    if sentence and _is_answered_no(sentence[0]):
        told = set(chain.from_iterable((each.joiner, *each.words) for each in sentence[1:]))
        return sentence if told & _AFTER_ALL else sentence[1:]
    if len(sentence) < 2 or not _wishes(sentence[0]):
        return sentence
    if not (_refuses(sentence[1]) or _has_better(sentence[1])):
        return sentence
    rest = sentence[2:]
    said = (each for each in rest if not each.by_scan_tool)
    told = set(chain.from_iterable((each.joiner, *each.words) for each in said))
    if Role.VALUE in sentence[0].roles | sentence[1].roles or told & _AFTER_ALL:
        return sentence
    return rest


def _wishes(clause: Clause) -> bool:
    """Whether a deed is only wished, asked for or heard of: *I wanted to check it with a lamp*."""
    words = clause.words
    wished = any(aside(Aside.WISHED).longest(words, at) for at in range(min(_SOON, len(words))))
    return wished and _DEED_DONE.isdisjoint(words) and not _asks_of_harm(words)


def _is_answered_no(clause: Clause) -> bool:
    """Whether leave is asked and refused: *if he asks whether he can meter it the answer is no*."""
    words, begin = clause.words, clause.words[: _SOON + 2]
    answered = words[-2:] in (("say", "no"), ("is", "no")) or words[-3:] == ("is", "always", "no")
    asked = words[0] in _SUPPOSING and not _ASKS.isdisjoint(begin)
    asks = next((at for at, word in enumerate(begin) if word in _ASKS), 0)
    leave = words[asks + 1 : asks + 2] == ("to",) or not _MAY.isdisjoint(words[asks : asks + 6])
    return answered and asked and leave and not _asks_of_harm(words)


def _asks_of_harm(words: Sequence[str]) -> bool:
    """Whether it is asked what would come of it, so that *no* is no refusal."""
    return not _HARM.isdisjoint(words)


_SUPPOSING = frozenset(["if", "when", "whenever", "should", "whoever"])
_ASKS = frozenset(["ask", "asks", "asked", "wants", "want"])
_MAY = frozenset(["can", "could", "may", "might", "be"])
_HARM = frozenset(
    [
        *("harm", "hurt", "hurts", "matter", "matters", "danger", "dangerous", "risk", "risky"),
        *("wrong", "trouble", "damage", "bad", "unsafe", "forbidden", "mind", "fire", "off"),
    ]
)


def _is_untempted(clause: Clause) -> bool:
    """Whether a clause only warns of being tempted: *don't be tempted to try it with a battery*."""
    words = clause.words[clause.words[0] in _PLEASE :]
    denied = words[:1] in (("dont",), ("never",)) or words[:2] == ("do", "not")
    tempted = denied and "tempted" in words[:4]
    return (tempted or words[:1] == ("resist",)) and Role.VALUE not in clause.roles


def _has_better(clause: Clause) -> bool:
    """Whether what is told behind a wish is what may be done: *but the scan tool gives it*."""
    if clause.joiner != "but" or clause.roles & {*_TOOLS, *LEADING}:
        return False
    tells = _IS_TOLD.intersection(clause.words)
    by_unit = bool(tells) and (Role.UNIT in clause.roles or "box" in clause.words)
    others = [word for word in clause.words if word not in _ENOUGH]
    scanned = Role.SCAN in clause.roles and not aside(Aside.NOT_THE_MEANS).any_in(others)
    return scanned or Role.SUBSTITUTE in clause.roles or by_unit


_ENOUGH = frozenset(["need", "same"])
"""*Its value is all you need*, *gives the same*."""
_IS_TOLD = frozenset(["reports", "reads", "tells", "shows", "says", "gives", "measures"])
_SOON = 4
_DEED_DONE = frozenset(["did", "then", "anyway", "finally", "doch", "quand", "jednak"])


def _refuses(clause: Clause) -> bool:
    """Whether a clause is no more than the refusal: *but the book says no*."""
    refused = aside(Aside.REFUSED_SO).any_in(clause.words)
    told = clause.words[:-1] if clause.words[-1] == "instead" else clause.words
    return refused and not aside(Aside.LOOSEN).any_in(told)


_AFTER_ALL = words_in(Aside.PRONOUN) | frozenset(
    [
        *("it", "them", "that", "did", "does", "done", "anyway", "still", "later", "then", "but"),
        *("until", "till", "til", "once", "quick", "quickly", "regardless", "finally", "sneaked"),
        *("doch", "trotzdem", "aber", "spater", "quand", "mais", "jednak", "ale", "mimo", "though"),
    ]
)
"""Where one of these follows, it may have been done all the same."""


def done_after_all(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield what was done though it was refused: *told him no, did it anyway*."""
    refused = False
    for clause in sentence:
        after_all = (clause.joiner, *clause.words)
        if refused and aside(Aside.AFTER_ALL).any_in(after_all):
            yield Piece(Role.UNKNOWN, clause.words), Reason.UNKNOWN
        refused |= aside(Aside.REFUSAL).any_in(clause.words) or _refuses(clause)
        if refused and aside(Aside.AT_FIRST).any_in(clause.words):
            yield Piece(Role.UNKNOWN, clause.words), Reason.UNKNOWN
