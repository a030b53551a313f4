"""Whether a clause tells what is forbidden, refused, stopped or not done, and does nothing of it.

*Never put a meter on the squib* is a warning, *would not let him* stopped somebody, *did not
measure it* left it undone; *never had trouble with a meter on it* is none. All of it is common
practice, no source.
"""

from collections.abc import Sequence
from itertools import pairwise

from kb.safety.igniter_acts import LEADING, TARGETS, Reason, Told, dangers_in, is_small
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import deeds_in
from kb.safety.igniter_words import Aside, Role, aside, roles, words_in


def tells_not_done(
    clause: Clause,
    dangers: Sequence[tuple[Piece, Reason]],
    told: Told,
    following: Clause | None,
) -> bool:
    """Whether what a clause names is forbidden, refused, stopped or told not to have been done."""
    if _bans_ohms(clause, told):
        return True
    goes_on = told.forbids and clause.joiner == "," and _is_order(clause, dangers)
    goes_on |= told.forbade and (clause.words[0] in _NOT_EVEN or _is_another_means(clause))
    goes_on |= told.forbade and clause.words[0] == "no" and clause.roles <= _MEANS_ALONE
    if goes_on or is_warning(clause, dangers, following) or _is_refused(clause, told, following):
        return True
    warned = told.forbade and (following is None or following.first)
    return (
        _is_stopped(clause, dangers, following)
        or _is_left_undone(clause, dangers, following)
        or (warned and _tells_what_is_enough(clause, dangers))
    )


def heads_warning(clause: Clause) -> bool:
    """Whether what follows is forbidden or warned of: *no meter*, *reminder for the lad*."""
    means = clause.roles & {Role.INSTRUMENT, Role.LAMP}
    forbids = bool(means) and aside(Aside.FORBID).longest(clause.words, 0) is not None
    bans = clause.words[:2] in _NO_OHMS and clause.joiner == ":"
    return forbids or bans or clause.words[0] in _HEEDING or _is_for_all(clause)


def _is_for_all(clause: Clause) -> bool:
    """Whether a clause names no more than whom an order is for: *whoever has this next*."""
    to_come = _PAST.isdisjoint(clause.words) and not clause.roles & _TOLD
    return to_come and aside(Aside.FOR_ALL).longest(clause.words, 0) is not None


_PAST = frozenset(["had", "was", "were", "did", "found"])
_TOLD = frozenset([*TARGETS, Role.VALUE, Role.INSTRUMENT, Role.MEASURE])


_HEEDING = frozenset(["reminder", "remember", "beware", "careful", "caution", "warning", "mind"])


def _bans_ohms(clause: Clause, told: Told) -> bool:
    """Whether measuring is forbidden by what it would tell: *reminder: no ohms on the squib*.

    Without such a heading only of many at once: *no ohms on the squib* may be what was read.
    """
    begins = clause.words[:2] in _NO_OHMS and Role.VALUE not in clause.roles
    many = any(p.role in TARGETS and p.words[-1].endswith("s") for p in clause.pieces)
    return begins and (told.forbade or many)


_NO_OHMS = (("no", "ohms"), ("no", "ohming"), ("no", "resistance"))


def _is_order(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether a clause is no more than the order to do a thing: *bridge the plug with a wire*."""
    plain = Role.VALUE not in clause.roles and not aside(Aside.LOOSEN).any_in(clause.words)
    return plain and clause.pieces[0].words == dangers[0][0].words


def _is_another_means(clause: Clause) -> bool:
    """Whether a list of what is forbidden goes on: *no test lamp, meter or power on it*."""
    means = clause.roles <= {*_NAMING, *_MEANS, Role.CONTACT, Role.FUNCTION, Role.ONTO, Role.KNOWN}
    return means and "or" in (clause.joiner, *clause.words)


_NAMING = TARGETS | {Role.PLACE}
_MEANS = frozenset([Role.INSTRUMENT, Role.LAMP, Role.POWER, Role.RAIL])
_MEANS_ALONE = _MEANS | {Role.BRIDGE, Role.FUNCTION, Role.KNOWN}


_NOT_EVEN = frozenset(["not", "nor", "neither", "even", "ever"])


_PROHIBITED = frozenset([("not", "allowed"), ("is", "forbidden"), ("is", "prohibited")])


_LOOSENING = frozenset(["before", "until", "till", "unless", "but", "yet", "sondern", "lecz"])


def is_warning(
    clause: Clause, dangers: Sequence[tuple[Piece, Reason]], following: Clause | None
) -> bool:
    """Whether a clause does nothing but forbid: *never put a meter on the squib*."""
    words = clause.words
    if following is not None and following.joiner == "because" and words[-1] == "just":
        words = words[:-1]  # *not ... just because*
    loosened = aside(Aside.LOOSEN).any_in(words) or Role.VALUE in clause.roles
    goes_on = following is not None and following.joiner in _LOOSENING
    if not goes_on and Role.VALUE not in clause.roles and _is_prohibited(clause.words):
        return not aside(Aside.PRAISED).any_in(clause.words)
    told_of_any = _tells_of_any(clause, dangers) and not _goes_on_to_do(following)
    return (
        _tells_danger(clause, dangers)
        or told_of_any
        or (
            not loosened and not goes_on and _forbids(clause.words, [piece for piece, _ in dangers])
        )
    )


def _is_prohibited(words: Sequence[str]) -> bool:
    if aside(Aside.NO_REPAIR).any_in(words):
        return True
    return any(pair in _PROHIBITED for pair in pairwise(words))


def _is_stopped(
    clause: Clause, dangers: Sequence[tuple[Piece, Reason]], following: Clause | None
) -> bool:
    """Whether somebody was kept from it: *would not let him wire a lamp*, *told him off for ...*.

    Who stopped him and did it himself is not.
    """
    found = (
        (at, aside(Aside.STOPPING).longest(clause.words, at))
        for at in range(min(_SOON, len(clause.words)))
    )
    begin = next((at + match[0] for at, match in found if match), None)
    if begin is None or Role.VALUE in clause.roles:
        return False
    behind = clause.words[begin:]
    person = aside(Aside.OTHERS).any_in(clause.words[: begin + _SOON]) or not _HIM.isdisjoint(
        clause.words[: begin + _SOON]
    )
    all_behind = all(piece.words[0] in behind for piece, _ in dangers)
    himself = following is not None and not _MYSELF.isdisjoint(following.words)
    loosened = aside(Aside.LOOSEN).any_in([word for word in behind if word not in _SAYS_WHO])
    goes_on = following is not None and following.joiner in _LOOSENING
    goes_on = goes_on and not (following and Role.ISOLATE in following.roles)
    return person and all_behind and not (himself or loosened or goes_on)


def stops_somebody(clause: Clause) -> bool:
    """Whether a clause says no more than that somebody was stopped: *stopped the lad*."""
    stops = aside(Aside.STOPPING).longest(clause.words, 0)
    return stops is not None and aside(Aside.OTHERS).any_in(clause.words[stops[0] :])


_HE = frozenset(["he", "she", "they"])


_SOON = 4
"""So many words may stand before the refusal, or between it and whom it stops."""


_HIM = frozenset(
    [
        "bodyshop",
        "painter",
        "him",
        "her",
        "them",
        "anybody",
        "anyone",
        "nobody",
        "ihn",
        "den",
        "azubi",
    ]
)


_SAYS_WHO = frozenset(["other", "before"])


_MYSELF = frozenset(["myself", "ourselves", "did", "selbst"])


def _is_refused(clause: Clause, told: Told, following: Clause | None) -> bool:
    """Whether somebody else did or wanted it, and was refused: *customer asked ..., told no*."""
    other = aside(Aside.OTHERS).any_in(clause.words) or (
        clause.joiner == "before" and clause.words[0] in _HE
    )
    if Role.VALUE in clause.roles or not other:
        return False
    if told.refused or following is None:
        return told.refused
    return following.words == ("no",) or aside(Aside.REFUSAL).any_in(following.words)


def is_answered_no(question: Sequence[Clause], answer: Sequence[Clause]) -> bool:
    """Whether a deed is asked about and the answer is no, as in *Meter the bag? No*.

    *Any harm in a meter? No* is none of these, and *Wait first? No* neither.
    """
    if len(question) != 1 or not answer or answer[0].words not in _NOES:
        return False
    asked = question[0]
    dangers = [*dangers_in(asked, Told(frozenset())), *deeds_in(question)]
    first = next((p for p in asked.pieces if p.text not in _ASKING), None)
    plain = not asked.roles & {Role.VALUE, Role.DEPLOY, Role.ISOLATE, Role.LIVE}
    return (
        plain
        and first is not None
        and any(piece.words == first.words for piece, _ in dangers)
        and not aside(Aside.LOOSEN).any_in(asked.words)
    )


def is_called_off(sentence: Sequence[Clause]) -> bool:
    """Whether what others say or do is told only to forbid it: *whatever he says ..., don't*."""
    denied = len(sentence) > 2 and sentence[0].words in _DENIALS
    told = sentence[denied:]
    taught = len(told) > 2 and not _TAUGHT.isdisjoint(told[0].words[:4])
    if len(told) == 2 and told[1].words in _NOT_WE and not _SAYING.isdisjoint(told[0].words):
        return Role.VALUE not in told[0].roles
    if len(told) == 2 and told[1].words[-2:] in _WRONG and not _SAYING.isdisjoint(told[0].words):
        return Role.VALUE not in told[0].roles
    if len(told) < 2 or not (told[0].words[0] == "whatever" or taught):
        return False
    first, *between, last = told
    forbids = last.words[last.words[0] == "just" :] in _DO_IT_NOT
    said = [first] if not between else [first, *between] if denied or taught else []
    acted = any(each.roles & _ACTS for each in between)
    return forbids and bool(said) and not acted and all(Role.VALUE not in c.roles for c in said)


_NOT_WE = (("we", "dont"), ("we", "do", "not"), ("we", "never", "do"), ("not", "here"))
_WRONG = (("is", "wrong"), ("are", "wrong"), ("is", "nonsense"), ("is", "rubbish"))
_SAYING = frozenset(["say", "says", "reckons", "thinks", "swears", "claims"])
_TAUGHT = frozenset(["taught", "told", "shown"])


_DENIALS = (("do", "not"), ("dont",), ("never",))


_ACTS = frozenset([Role.INSTRUMENT, Role.MEASURE, Role.POWER, Role.BRIDGE, Role.PATH, Role.FORCE])


_DO_IT_NOT = (("dont", "do", "it"), ("do", "not", "do", "it"), ("never", "do", "it"), ("dont",))


_NOES = (("no",), ("never",), ("nope",), ("nein",), ("non",), ("nie",))


_ASKING = frozenset(
    ["can", "could", "should", "may", "we", "i", "you", "just", "do", "to", "a", "the"]
)


def _is_left_undone(
    clause: Clause, dangers: Sequence[tuple[Piece, Reason]], following: Clause | None
) -> bool:
    """Whether a clause tells that nothing was done: *squib not measured*."""
    if Role.VALUE in clause.roles or (following is not None and following.joiner in _LOOSENING):
        return False
    dangers = [each for each in dangers if each[0].text not in _EMPTY] or dangers
    otherwise = following is not None and _goes_on_with_it(following)
    denied = _denies_measuring(clause, dangers)
    denied |= not otherwise and _denies_means(clause, dangers)
    if denied or len(dangers) != 1 or aside(Aside.LOOSEN).any_in(clause.words):
        return denied
    at = clause.pieces.index(dangers[0][0]) if dangers[0][0] in clause.pieces else 0
    if clause.words[0] in _NEGATING_FIRST and at == len(clause.pieces) - 1:
        return True
    undone = {"didnt", "havent"} & set(clause.words[:2]) or ("did", "not") in pairwise(
        clause.words[:3]
    )
    if (undone and _is_put_off(clause.pieces[:at])) or _is_unused(clause.pieces[at + 1 :]):
        return True
    if not at or clause.pieces[at - 1].text not in _NEGATING:
        return False
    before = clause.pieces[at - 2] if at > 1 else None
    return before is None or before.role in LEADING or before.text in _COPULA | _DOERS


def _denies_measuring(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether measuring, and where or with what, is denied: *did not measure across it*."""
    kinds = [piece.role for piece, _ in dangers]
    denials = [at for at, word in enumerate(clause.words[:_SOON]) if word in _NEGATING | _DIDNT]
    if kinds[:1] != [Role.MEASURE] or not set(kinds) <= _BY_METER or len(denials) != 1:
        return False
    behind = clause.words[denials[0] + 1 :]
    plain = not aside(Aside.LOOSEN).any_in(clause.words) and _NOW_OR_AGAIN.isdisjoint(clause.words)
    return plain and behind[: len(dangers[0][0].words)] == dangers[0][0].words


def _denies_means(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether it is denied that a means was put on it: *did not put a meter across the squib*."""
    first = dangers[0][0]
    kinds = {piece.role for piece, _ in dangers}
    tools = sum(piece.role is Role.INSTRUMENT for piece in clause.pieces)
    if first.role is not Role.INSTRUMENT or tools != 1 or not kinds <= _BY_METER:
        return False
    if first not in clause.pieces or aside(Aside.LOOSEN).any_in(clause.words):
        return False
    before = clause.pieces[: clause.pieces.index(first)]
    words = [word for piece in before for word in piece.words]
    denials = [at for at, word in enumerate(words) if word in _NEGATING | _DIDNT]
    put_off = _is_put_off(before) and _NOW_OR_AGAIN.isdisjoint(clause.words)
    return put_off and len(denials) == 1 and denials[0] < _SOON


def _goes_on_with_it(following: Clause) -> bool:
    """Whether what was denied is then done elsewhere, or another thing in its stead."""
    allowed = following.by_scan_tool or Role.SUBSTITUTE in following.roles
    return not allowed and bool({"with", "instead", "one", "just", "only"} & following.vocabulary)


_DIDNT = frozenset(["didnt", "havent"])


_BY_METER = frozenset([Role.MEASURE, Role.PATH, Role.INSTRUMENT])


_NOW_OR_AGAIN = frozenset(["now", "again", "once", "twice", "long", "much", "often"])


def _is_unused(behind: Sequence[Piece]) -> bool:
    """Whether a means was not used: *I have the ohmmeter not used on it*."""
    words = [piece.text for piece in behind]
    words = words[words[:1] in _IS :]
    return len(words) > 1 and words[0] in _NEGATING and words[1] in _USED


_IS = (["was"], ["is"], ["were"])


_USED = frozenset(["needed", "required", "necessary", "used", "put", "connected", "taken"])


_NEGATING_FIRST = frozenset(["nicht", "niet", "inte", "nie"])
"""Where the verb ends the clause: *nicht am Airbag gemessen*."""


def _is_put_off(before: Sequence[Piece]) -> bool:
    """Whether nothing but *didnt put a* stands before the danger."""
    return all(is_small(p) or p.role is Role.FUNCTION or p.text in _EMPTY for p in before)


_EMPTY = frozenset(["put", "use", "get"])


_NEGATING = frozenset(["not", "never", "nicht", "nie", "pas", "niet"])


_DOERS = frozenset(["i", "we", "they", "he", "did", "do", "does", "was"])


_COPULA = frozenset(["was", "were", "is", "are", "been", "be"])


def _forbids(words: Sequence[str], dangers: Sequence[Piece]) -> bool:
    """Whether all that is dangerous among these words is what *never* or its like forbids."""
    forbid = aside(Aside.FORBID)
    found = ((at, forbid.longest(words, at)) for at in range(len(words)))
    at, size = next(((at, match[0]) for at, match in found if match), (0, 0))
    never = " ".join(words[at : at + size])
    if never.endswith(" near"):
        return all(piece.words[0] in words[at + size :] for piece in dangers)
    kinds = {piece.role for piece in dangers}
    forced = all(
        (roles().longest(piece.words, 0) or (0, None))[1] is Role.FORCE for piece in dangers
    )
    infinitive = set(words[at + size : at + size + 1]) & words_in(Aside.ACTING)
    nouns_only = never == "no" and not infinitive
    nouns = kinds == {Role.INSTRUMENT} or all(p.words[0].endswith("ing") for p in dangers)
    if not size or (nouns_only and not nouns and not forced):
        return False
    if all(set(piece.words) <= set(words[at : at + size]) for piece in dangers):
        return True  # *keep the meter off it*
    before, after = words[:at], words[at + size :]
    done = [piece for piece in dangers if piece.words[0] in before]
    if done:
        told = not _PUT_THERE.isdisjoint(before) or (never in _OF_WHAT_IS_SEEN and bool(after))
        means = {piece.role for piece in done} == {Role.INSTRUMENT}
        return not told and len(done) == len(dangers) and means
    acts = words_in(Aside.ACTING)
    acting = [word for word in after if word in acts or roles().longest([word], 0) not in _SKIPPED]
    named = all(roles().longest([word], 0) in _NAMED for word in before)
    verb_last = never in _VERB_LAST and named
    forbidden = acts | {piece.words[0] for piece in dangers}
    return bool(acting) and (verb_last or acting[0] in forbidden)


_PUT_THERE = frozenset(
    {
        *("held", "hung", "clipped", "stuck", "hooked", "connected", "touched", "gehalten"),
        *("angelegt", "drangehalten", "hingehalten", "angeschlossen", "gesteckt", "geklemmt"),
        *("gehangt", "angehalten", "drangehangt", "posee", "pose", "branche", "branchee"),
        *("przylozona", "przylozony", "przylozylem", "podlaczony", "podlaczona", "podlaczylem"),
    }
)
"""Before a denial they tell that a meter was there: *Prüflampe daran gehalten, kein Licht*."""
_OF_WHAT_IS_SEEN = frozenset(["no", "kein", "keine", "keinen"])
"""Behind a meter these deny what it showed."""


def _tells_danger(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether a clause tells what may come of it: *a meter can fire it*."""
    kinds = [piece.role for piece, _ in dangers]
    fires = {Role.POWER, Role.INSTRUMENT} >= set(kinds) and Role.POWER in kinds
    may = any(p.role is Role.FUNCTION and p.text in _MAY for p in clause.pieces)
    return (
        fires and may and not {"not", "never"} & clause.vocabulary and Role.DEPLOY in clause.roles
    )


def _tells_of_any(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether it is told how little fires any of them: *a squib may go off on what a lamp draws*.

    Of this one, or of one that did, it is not: *that bag went off on less than a lamp draws*.
    """
    words = clause.words
    drawn = all(p.role in _FIRING or p.text in _DRAWING for p, _ in dangers)
    of_any = words[0] in _ANY or words[:3] == ("one", "of", "these")
    if of_any and _tells_of_meters(clause):
        return True
    may = not _MODALS.isdisjoint(words) or words[0] in _SEVERAL or "enough" in words
    little = not _LITTLE.isdisjoint(words) and Role.VALUE not in clause.roles
    denied = words_in(Aside.DENIAL) & clause.vocabulary or "too" in words
    fires = Role.DEPLOY in clause.roles and Role.BRIDGE not in clause.roles
    return of_any and may and little and fires and drawn and not denied


def _tells_of_meters(clause: Clause) -> bool:
    """Whether it is told what every meter does: *an ohmmeter sends its own current through it*."""
    named = [at for at, p in enumerate(clause.pieces[:3]) if p.role in {Role.INSTRUMENT, Role.LAMP}]
    behind = clause.pieces[named[0] + 1 : named[0] + 2] if named else ()
    sends = any(piece.words[0] in _SENDING for piece in behind)
    told = clause.roles & {*TARGETS, Role.CONTACT, Role.VALUE, Role.UNKNOWN}
    return sends and not _ITS_CURRENT.isdisjoint(clause.words) and not told


_ITS_CURRENT = frozenset(["own", "current"])
_SENDING = frozenset(["puts", "sends", "draws", "feeds", "gives", "passes", "drives", "pushes"])
_SEVERAL = frozenset(["these", "some", "most"])
_ANY = _SEVERAL | {"a", "an", "any", "such", "even"}
_MODALS = frozenset(["will", "can", "may", "could", "might"])
_LITTLE = frozenset(["under", "less", "than", "enough", "from", "what", "little", "hardly"])
_FIRING = frozenset([Role.POWER, Role.INSTRUMENT])
_DRAWING = frozenset(
    [
        "amp",
        "amps",
        "current",
        "draws",
        "draw",
        "takes",
        "puts",
        "passes",
        "gives",
        "needs",
        "puts out",
    ]
)


def _goes_on_to_do(following: Clause | None) -> bool:
    """Whether somebody does it behind what is told of any: *..., tried it in the yard*."""
    return following is not None and not _DOES.isdisjoint(following.words)


_DOES = frozenset(["did", "do", "done", "tried", "try", "used", "use"])


def _tells_what_is_enough(clause: Clause, dangers: Sequence[tuple[Piece, Reason]]) -> bool:
    """Whether a warning tells how little fires it: *beware: a small cell is enough to fire it*."""
    kinds = {piece.role for piece, _ in dangers}
    enough = "enough" in clause.vocabulary and Role.DEPLOY in clause.roles
    return enough and kinds <= {Role.POWER, Role.INSTRUMENT} and Role.VALUE not in clause.roles


_MAY = frozenset(["can", "could", "may", "might"])


_VERB_LAST = frozenset(
    [
        "nichts",
        "nichts daran",
        "niemals",
        "keinesfalls",
        "auf keinen fall",
        "nigdy",
        "nie",
        "ne jamais",
    ]
)
"""In other languages what is forbidden may end the clause."""


_NAMED = ((1, Role.IGNITER), (1, Role.SHARED), (1, Role.FUNCTION), (1, Role.PLACE))


_SKIPPED = ((1, Role.ONTO), (1, Role.PLACE), None)
