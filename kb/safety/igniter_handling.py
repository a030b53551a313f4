"""Handling of an igniter that is dangerous though nothing is measured.

What has fired, fallen or burnt goes back into the car, heat beside it, a plug opened with the
battery on or without waiting, wires joined by what may come loose. Judged by whole sentences, for
the part and the act often stand apart. All of it is common practice, no source.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from kb.safety.igniter_acts import LEADING, SOURCES, TARGETS, Reason, is_small
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_words import Aside, Role, aside, igniters, role_of, words_in

_Danger = tuple[Piece, Reason]
_WIRED = frozenset([Role.CONTACT, Role.HARNESS, Role.CLOCK_SPRING])
_SMALL = frozenset([Role.FUNCTION, Role.PLACE])


def handling_in(sentence: Sequence[Clause], after: Sequence[Clause] = ()) -> Iterator[_Danger]:
    """Yield what is done in a way that may fire an igniter, or keep it from firing in a crash.

    What is asked for is not done where the sentence `after` begins with *no*.
    """
    if not _is_declined(sentence, after):
        yield from _refitted(sentence)
        yield from _named_fallen(sentence)
    yield from _heated(sentence)
    yield from _forced_unnamed(sentence)
    if not _is_isolated(sentence):
        yield from _under_power(sentence)
    yield from _at_once(sentence)
    yield from _spliced(sentence)
    yield from _struck(sentence)
    yield from _swapped(sentence)
    yield from _set_off(sentence)
    yield from _thrown_away(sentence)
    yield from _parted(sentence)
    yield from _carried(sentence)
    yield from _laid_down(sentence)
    yield from _kept_after_crash(sentence)
    yield from _sat_before(sentence)
    yield from _left_live(sentence)


def _told(clause: Clause, reason: Reason) -> _Danger:
    return Piece(Role.DEFEAT, clause.words), reason


def _has(clause: Clause, name: Aside) -> bool:
    return aside(name).any_in(clause.words)


def _is_denied(clause: Clause) -> bool:
    return bool(words_in(Aside.DENIAL) & clause.vocabulary)


def _names_it(clause: Clause) -> bool:
    others = words_in(Aside.PRONOUN) | {"wheel", "wheels", "seat", "seats"}
    return bool(clause.roles & {*LEADING, Role.JOINED} or others & clause.vocabulary)


def is_ruled_out(clause: Clause, at: int) -> bool:
    """Whether what is done at a place is denied or forbidden, and by nothing that lets it off."""
    if _is_kept_off(clause.words, at):
        return True
    before = clause.words[max(0, at - _NEAR - 1) : at]
    denied = (i for i, word in enumerate(before) if word in words_in(Aside.DENIAL))
    no = max(denied, default=None)
    if no is None:
        return aside(Aside.NO_REPAIR).any_in(clause.words[at : at + _BEHIND])
    between = before[no + 1 :]
    near = before[no] not in _OF_NOUNS or len(between) <= _NEAR_NO
    return near and not aside(Aside.LOOSEN).any_in(between)


def _is_kept_off(words: Sequence[str], at: int) -> bool:
    """Whether it is to stay away: *don't go near the bag with it*, *keep it away from the bag*."""
    before = words[:at]
    away = before[-3:-1] in _KEEP or before[-2:-1] in _KEEP or before[-1:] in _KEEP
    near = ("go", "near") in pairwise(before) and not words_in(Aside.DENIAL).isdisjoint(before)
    return near or (away and "away" in words[at : at + _NEAR])


def _is_kept_from(clause: Clause) -> bool:
    """Whether heat and tools are denied, or told to be kept away."""
    words = clause.words
    return _is_denied(clause) or any(
        word in {"keep", "keeps"} and "away" in words[at:] for at, word in enumerate(words[:3])
    )


_KEEP = (("keep",), ("keeps",), ("keep", "the"), ("keep", "that"), ("keep", "any"))
_OF_NOUNS = frozenset(["no", "none", "without", "ohne", "kein", "sans", "sin", "senza", "bez"])
"""Deny the noun behind them, and no deed further on."""
_NEAR_NO, _NEAR, _BEHIND = 2, 5, 10
"""So many words may stand between a denial and what it denies, or behind that."""


# --- what was harmed and goes back


def _refitted(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    harmed = [
        clause
        for before, clause in zip([None, *sentence], sentence, strict=False)
        if _is_harmed(clause) or _is_harmed_too(clause, before)
    ]
    if any(clause.roles & TARGETS or _names_new_part(clause) for clause in sentence):
        harmed += [clause for clause in sentence if _is_harm_alone(clause)]
    others = [clause for clause in sentence if clause not in harmed]
    if not harmed or any(map(is_renewal, others)) or is_asked(sentence):
        return
    back = (
        each
        for each in sentence
        if (_has(each, Aside.REFITTED) or each.words == ("in",))
        and not _is_denied(each)
        and not _SENT & each.vocabulary
        and _REFUSING.isdisjoint(each.words[:2])
    )
    yield from (_told(each, Reason.HANDLING) for each in back)


def _named_fallen(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield a part that is named by its fall and not told to go: *bag that fell off a trolley*."""
    gone = is_sent_away(sentence) or any({"new", "another"} & c.vocabulary for c in sentence)
    gone = gone or (bool(sentence) and is_asked(sentence))
    for clause in sentence if not gone else ():
        which = (at for at, piece in enumerate(clause.pieces) if piece.text in _WHICH)
        for at in which:
            before, behind = clause.pieces[max(0, at - 1) : at], clause.pieces[at + 1 : at + 4]
            said = [word for piece in behind for word in piece.words]
            fell = not _FALLS.isdisjoint(said) and not _is_denied(clause)
            if fell and any(piece.role in TARGETS for piece in before):
                yield _told(clause, Reason.HANDLING)


def is_sent_away(sentence: Sequence[Clause]) -> bool:
    """Whether a part is told to go, or to be kept from use."""
    return any(not (_SENT | _GONE).isdisjoint(each.words) for each in sentence)


_WHICH = frozenset(["that", "which"])
_FALLS = frozenset(["fell", "fallen", "dropped", "slipped"])
_GONE = frozenset(
    ["quarantined", "quarantine", "ordered", "condemned", "refused", "declined", "rejected"]
)


def is_asked(sentence: Sequence[Clause]) -> bool:
    """Whether somebody only asks, and the answer is no."""
    return _has(sentence[0], Aside.ASKED) and any(each.words[:1] == ("no",) for each in sentence)


def _is_declined(sentence: Sequence[Clause], after: Sequence[Clause]) -> bool:
    """Whether it is asked about, and the answer is no: *Could it be refitted? No*."""
    asked = not _MODALS.isdisjoint(sentence[0].words[:1]) if sentence else False
    return asked and bool(after) and after[0].words[:1] == ("no",)


_MODALS = frozenset(["can", "could", "may", "should"])


def _is_harmed(clause: Clause) -> bool:
    """Whether a bag or a tensioner itself has fired, fallen, burnt or been under water."""
    words = clause.words
    if _has(clause, Aside.SPOILT):
        if Role.UNIT in clause.roles and not clause.roles & TARGETS:
            return False
        named = {role_of(word) for word in words}
        return bool(named & TARGETS) and not (named & _WIRED or _has(clause, Aside.RENEWED))
    found = ((at, aside(Aside.HARMED).longest(words, at)) for at in range(len(words)))
    return any(
        _next_noun(words[:at][::-1])
        or (match[0] == 1 and _next_noun(words[at + 1 :]))
        or _is_of_igniter(clause, at, at + match[0])
        for at, match in found
        if match and Role.VALUE not in clause.roles
    )


def _is_of_igniter(clause: Clause, begin: int, end: int) -> bool:
    """Whether what stands before some words, or the next part behind, is a bag, no plug of one."""
    places = clause.piece_at
    before = clause.pieces[max(0, places[begin] - _MOST_BETWEEN) : places[begin]]
    after = clause.pieces[places[end] :] if end < len(places) else ()
    weighty = [each for each in before if each.role not in _SMALL]
    for side in (weighty[-1:], after[:_MOST_BETWEEN]):
        part = next((p for p in side if p.role in _ANY_PART), None)
        if part is not None and part.role in TARGETS and not _WIRES.intersection(part.words):
            following = after[after.index(part) + 1 :] if part in after else ()
            return not following or following[0].role not in _WIRED
    return False


_MOST_BETWEEN = 4
_ANY_PART = frozenset([*TARGETS, Role.UNIT, Role.NEIGHBOUR, *_WIRED])
_WIRES = frozenset(
    ["plug", "plugs", "connector", "connectors", "wire", "wires", "wiring", "pin", "pins", "loom",
     "lead", "leads", "terminal", "terminals", "socket", "harness", "cable", "line", "pair"]
)  # fmt: skip
_REFUSING = frozenset(["refused", "refuse", "declined", "wouldnt"])
_SENT = frozenset(["sent", "returned", "scrapped", "binned", "stored", "quoted"])


def is_renewal(clause: Clause) -> bool:
    """Whether it is replaced, and not only told what a new one costs."""
    priced = words_in(Aside.PRICE) & clause.vocabulary or _is_denied(clause)
    return _has(clause, Aside.RENEWED) and not priced


def _is_harm_alone(clause: Clause) -> bool:
    """Whether a clause tells of harm and leaves out to what: *fell off the bench, ...*."""
    begins = aside(Aside.HARMED).longest(clause.words, 0)
    new_part = _names_new_part(clause)
    subject = 1 + (new_part and clause.words[:1] in _THE)
    if new_part or (begins is None and clause.words[0] in _SUBJECTS and len(clause.words) > 1):
        of_it = aside(Aside.HARMED).longest(clause.words, subject)
        return of_it is not None and not _is_denied(clause) and Role.VALUE not in clause.roles
    spoilt = _has(clause, Aside.SPOILT) and not clause.roles & {*_WIRED, Role.NEIGHBOUR, Role.UNIT}
    alone = begins is not None and begins[0] > 1 and not clause.roles & {Role.UNIT, Role.VALUE}
    return (alone or spoilt) and not _is_denied(clause)


def _names_new_part(clause: Clause) -> bool:
    """Whether a clause begins with what was to be fitted: *the replacement fell off the bench*."""
    named = clause.words[clause.words[:1] in _THE :]
    return len(named) > 1 and named[0] in _NEW_PARTS


_THE = (("the",), ("my",), ("our",), ("this",))
_NEW_PARTS = frozenset(["replacement", "spare", "one"])
_SUBJECTS = frozenset(["it", "they", "which", "that", "both"])


def _is_harmed_too(clause: Clause, before: Clause | None) -> bool:
    """Whether only the verb is told: *the reel had locked and fired*."""
    alone = aside(Aside.HARMED).longest(clause.words, 0) == (len(clause.words), Aside.HARMED)
    return alone and clause.joiner == "and" and before is not None and _is_held(before)


def _next_noun(words: Sequence[str]) -> bool:
    """Whether the first word of weight is a bag, a tensioner or the control unit, no plug."""
    weighty = [
        word
        for word in words
        if role_of(word) not in _SMALL
        and word not in _BETWEEN
        and not aside(Aside.CRASH).any_in([word])
    ]
    first, *rest = [*map(role_of, weighty), None]
    named = first in {*TARGETS, Role.UNIT} or weighty[:1] in _HELD
    return named and rest[:1] != [Role.CONTACT]


_HELD = (["reel"], ["retractor"], ["belt"], ["belts"], ["buckle"])
_BETWEEN = frozenset(["new", "that", "which", "had", "has", "been", "was"])


def _heated(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield heat and blows beside what they may fire, unless that is told to be out."""
    held = [each for each in sentence if _is_held(each)]
    out = any(_has(each, Aside.TAKEN_OUT) and not _has(each, Aside.NOT_OUT) for each in held)
    if held and not out and not any(_has(each, Aside.FOUND) for each in sentence):
        hot = (each for each in sentence if _has(each, Aside.HEATED) and not _is_kept_from(each))
        yield from (_told(each, Reason.HANDLING) for each in hot)


def _forced_unnamed(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield blows and flames on a thing that is not named: *bit of oxy on the bracket*.

    Beside a restraint it is an igniter's until another part is told, or the igniter is out.
    """
    if any(_has(each, Aside.FOUND) for each in sentence):
        return
    for clause, following in zip(sentence, [*sentence[1:], None], strict=False):
        out = _is_held(clause) and _has(clause, Aside.TAKEN_OUT)
        if out or "bodyshop" in clause.words or Role.NEIGHBOUR in clause.roles:
            return
        if _is_denied(clause) or not _NOT_DONE.isdisjoint([clause.joiner, clause.words[0]]):
            continue
        if following is not None and _is_burnt_until(clause, following):
            yield _told(clause, Reason.HANDLING)
        for before, piece in pairwise((None, *clause.pieces)):
            told_only = before is not None and before.text in _NOT_DONE
            if piece and piece.role is Role.FORCE and not (told_only or piece.text in _NOT_FORCE):
                yield piece, Reason.HANDLING


def _is_burnt_until(clause: Clause, following: Clause) -> bool:
    """Whether a torch is no light, for something gave way: *torch on it until it moved*."""
    flame = clause.words[:2] == ("torch", "on")
    seen = words_in(Aside.LOOKING) | {"found", "saw", "see", "seen", "spotted"}
    return flame and following.joiner in {"until", "till"} and not seen & following.vocabulary


_NOT_DONE = frozenset(["before", "prior", "for", "from", "keep"])
_NOT_FORCE = frozenset(["static", "oven", "vice", "lighter"])
"""Words of force that are as often something else where nothing is named."""


def _is_held(clause: Clause) -> bool:
    """Whether a clause names what heat may fire, or what holds it."""
    joined = (p.words for p in clause.pieces if p.role is Role.JOINED)
    named = any(role_of(word) in TARGETS for words in joined for word in words)
    return named or bool(clause.roles & TARGETS or {"reel", "retractor"} & clause.vocabulary)


def _struck(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield blows on what tells a crash."""
    if any(_has(each, Aside.FOUND) for each in sentence):
        return
    for clause in sentence:
        felt = _has(clause, Aside.CRASH_SENSOR) and not _is_denied(clause)
        by_road = not {"off", "by", "kerb"}.isdisjoint(clause.words)
        if felt and _has(clause, Aside.BLOWS) and not by_road:
            yield _told(clause, Reason.HANDLING)


def _swapped(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield igniters of two places that changed them: each is made for its own."""
    words = [word for clause in sentence for word in clause.words]
    sides = {word for word in words if role_of(word) is Role.PLACE}
    if len(sides) < _TWO or any(each.roles & _WIRED for each in sentence):
        return
    if {"seat", "seats", "sensor", "sensors"} & set(words) or Role.SCAN in sentence[0].roles:
        return
    named = any(each.roles & TARGETS for each in sentence)
    for clause in sentence if named else ():
        if _has(clause, Aside.SWAPPING) and not _is_denied(clause):
            yield _told(clause, Reason.HANDLING)


_TWO = 2


def _set_off(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield what fires an igniter on purpose, by whatever is at hand."""
    yield from (_told(each, Reason.DEPLOY) for each in sentence if _sets_off(each))
    words = [word for clause in sentence for word in clause.words]
    if not any(each.roles & TARGETS for each in sentence) or not aside(Aside.FIRED_BY).any_in(
        words
    ):
        return
    powered = any(word.startswith(_POWERS) for word in words) and "charger" not in words
    for clause in sentence if powered else ():
        if _has(clause, Aside.FROM_AFAR) and not _is_denied(clause):
            yield _told(clause, Reason.DEPLOY)
    for clause in sentence:
        if _has(clause, Aside.SETTING_OFF) and not _is_denied(clause):
            yield _told(clause, Reason.DEPLOY)


def _sets_off(clause: Clause) -> bool:
    """Whether an igniter stands between *set* and *off*: *set the old knee bag off*."""
    words = clause.words
    begins = [at for at, word in enumerate(words) if word in _SETS]
    ends = [at for at, word in enumerate(words) if word == "off"]
    if not begins or _is_denied(clause) or words_in(Aside.LAMPS) & clause.vocabulary:
        return False
    between = (words[a:b] for a in begins for b in ends if 0 < b - a <= _FAR)
    return any(
        igniters().any_in(some) or any(role_of(word) in TARGETS for word in some)
        for some in between
    )


_POWERS = ("batt", "jump", "akku", "akumul", "drill", "pp3")
_SETS = frozenset(["set", "let", "setting", "letting"])
_FAR = 7


def _thrown_away(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield what may fire and goes where anybody may find it."""
    for clause in sentence:
        named = any(role_of(word) in TARGETS for word in clause.words)
        named |= ("old", "one") in pairwise(clause.words)
        if named and _has(clause, Aside.RUBBISH) and not (_is_denied(clause) or _is_fired(clause)):
            yield _told(clause, Reason.HANDLING)


def _is_fired(clause: Clause) -> bool:
    return not {"deployed", "fired", "spent", "cover", "trim"}.isdisjoint(clause.words)


def _carried(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield a bag carried with what fires turned to the body: *face against my chest*."""
    words = [word for clause in sentence for word in clause.words]
    named = words_in(Aside.PRONOUN) | _MODULES
    held = any(map(_is_held, sentence)) or not named.isdisjoint(words)
    if not held or ("lap" not in words and not aside(Aside.CARRYING).any_in(words)):
        return
    for clause in sentence:
        places = (at for at in range(len(clause.words)) if _turned(clause.words, at))
        if any(not is_ruled_out(clause, at) for at in places):
            yield _told(clause, Reason.HANDLING)


def _laid_down(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield a bag that lies on the side that fires: *stored with the emblem down*."""
    told = any(each.roles & TARGETS for each in sentence)
    for clause in sentence:
        words = clause.words
        faces = (at for at in range(len(words)) if aside(Aside.FACING).longest(words, at))
        down = any(not _DOWN.isdisjoint(words[at + 1 : at + 3]) for at in faces)
        named = told or not _MODULES.isdisjoint(words)
        if down and named and not _is_denied(clause):
            yield _told(clause, Reason.HANDLING)


_DOWN = frozenset(["down", "downward", "downwards", "underneath", "below"])
_MODULES = frozenset(["module", "modules"])


def _kept_after_crash(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield belts or bags of a crash that stay in use: *put the old belts back after the crash*."""
    words = [word for each in sentence for word in (each.joiner, *each.words)]
    if not aside(Aside.CRASH).any_in(words) or any(_has(c, Aside.FOUND) for c in sentence):
        return
    for clause in sentence:
        kept = not _KEEPS.isdisjoint(clause.words) and not _is_denied(clause)
        if kept and any(_is_old_restraint(clause.words, at) for at in range(len(clause.words))):
            yield _told(clause, Reason.HANDLING)
    if not _RESTRAINTS.isdisjoint(words) and not any(map(is_renewal, sentence)):
        eased = (c for c in sentence if not _EASED.isdisjoint(c.words) and not _is_denied(c))
        yield from (_told(clause, Reason.HANDLING) for clause in eased)
    for place, clause in enumerate(sentence):
        if _stays_in(sentence[:place], clause) and not _is_denied(clause):
            yield _told(clause, Reason.HANDLING)


def _stays_in(before: Sequence[Clause], clause: Clause) -> bool:
    """Whether a restraint is told to stay in the car: *pretensioners looked ok so left in*."""
    words = clause.words
    found = ((at, aside(Aside.STAYS_IN).longest(words, at)) for at in range(len(words)))
    at, size = next(((at, match[0]) for at, match in found if match), (0, 0))
    if not size or words[at + size : at + size + 1] in _ELSEWHERE:
        return False
    said = [word for word in words[:at] if word not in _BARE]
    named = said or [word for each in before for word in each.words]
    return any(word in _RESTRAINTS or role_of(word) in TARGETS for word in named)


_EASED = frozenset(["freed", "oiled", "oil", "lubricated", "greased", "unjammed", "straightened"])
"""What is done to belts that a crash has locked, to keep them."""
_BARE = frozenset(["it", "they", "was", "were", "so", "and", "just", "looked", "looks", "ok"])
_ELSEWHERE = (("for",), ("in",), ("until",), ("till",), ("on",))
"""What is *kept in a box* or *left in for the assessor* does not stay in use."""


def _is_old_restraint(words: Sequence[str], at: int) -> bool:
    """Whether a belt, a reel or a bag is told to be the one that was there."""
    following = words[at + 1 : at + 4]
    named = not _RESTRAINTS.isdisjoint(following) or any(role_of(w) in TARGETS for w in following)
    return words[at] in words_in(Aside.KEPT_OLD) and named


_RESTRAINTS = frozenset(
    ["belt", "belts", "buckle", "buckles", "reel", "reels", "retractor", "gurt", "gurte"]
)
_KEEPS = frozenset(
    ["back", "kept", "keep", "keeping", "left", "refit", "refits", "refitted", "refitting",
     "reused", "reuse", "used", "fitted", "stay", "stayed", "stays", "remain", "remained"]
)  # fmt: skip


def _sat_before(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield somebody in front of a bag when the supply comes back: *sat in it to reconnect*."""
    seated = connected = False
    for clause in sentence:
        words = clause.words
        again = [at for at in range(len(words)) if aside(Aside.SUPPLY_AGAIN).longest(words, at)]
        before = words[: again[-1]] if again else words
        denied = _is_denied(clause)
        seated |= aside(Aside.GETTING_OUT if denied else Aside.SEATED).any_in(before)
        if denied and not (again and seated):
            continue
        meanwhile = clause.joiner in {"while", "whilst"} and aside(Aside.SEATED).any_in(words)
        if (again and seated) or (meanwhile and connected):
            yield _told(clause, Reason.HANDLING)
        connected |= bool(again)


def _left_live(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield an igniter that lies about with the supply on: *left the bag on the seat, key on*."""
    live = any(Role.LIVE in each.roles and not _is_denied(each) for each in sentence)
    for clause in sentence if live else ():
        led = (at for at, word in enumerate(clause.words) if word in _LEFT)
        at = next(led, None)
        behind = () if at is None else clause.words[at + 1 : at + _NEAR]
        if any(role_of(word) in TARGETS for word in behind) and Role.ONTO in clause.roles:
            yield _told(clause, Reason.LIVE)


_LEFT = frozenset(["left", "laid", "lay", "lying", "put", "set", "stood", "parked"])


def _turned(words: Sequence[str], at: int) -> bool:
    """Whether it lies at the body from a word on; its back or its underside may."""
    behind = words[at + 1 : at + 3]
    owned = not _OWNERS.isdisjoint(behind[:1])
    near = behind[1:] if owned or behind[:1] == ("the",) else behind[:1]
    body = bool(near) and near[0] in words_in(Aside.AT_BODY)
    turned = words[at] in _AT and (body or (owned and words[at] == "facing"))
    borne = words[at] in _BORNE and body and (owned or not _BEARING.isdisjoint(near))
    return (turned or borne) and _BACKS.isdisjoint(words[:at])


_AT = frozenset(["against", "to", "toward", "towards", "facing"])
_BORNE = frozenset(["on", "in", "at", "between", "under"])
_BEARING = frozenset(["lap", "knee", "knees", "legs"])
_OWNERS = frozenset(["my", "your", "his", "her", "our", "their"])


_BACKS = frozenset(["back", "rear", "underside", "bottom", "bracket", "away"])


def _parted(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield an igniter that is taken out of what it fires: *took the squib out of the inflator*."""
    for clause in sentence:
        words = clause.words
        out = (at for at in range(len(words)) if words[at : at + 2] == ("out", "of"))
        for at in out:
            charged = not _CHARGES.isdisjoint(words[:at])
            from_it = any(role_of(word) in TARGETS for word in words[at + 2 : at + 5])
            if charged and from_it and not _is_denied(clause):
                yield _told(clause, Reason.HANDLING)


_CHARGES = frozenset(
    ["squib", "squibs", "igniter", "igniters", "initiator", "detonator", "charge", "inflator",
     "generator", "propellant"]
)  # fmt: skip


# --- work with the supply on


def _under_power(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield what is taken off or plugged with the battery, the ignition or the engine on."""
    left_on = any(_is_left_on(sentence, at) for at in range(len(sentence)))
    named = any(map(_names_it, sentence))
    named |= not any(is_other(piece) for each in sentence for piece in each.pieces)
    unnamed = not any(each.roles & _PARTS for each in sentence)
    followed = zip(sentence, [*sentence[1:], None], strict=False)
    for place, (clause, following) in enumerate(followed):
        if is_reported(sentence, place):
            continue
        whole = [clause]
        if (
            following
            and following.joiner in _JOINED_BY
            and any(map(_is_circumstance, (clause, following)))
        ):
            whole.append(following)
        live = any(map(_is_circumstance, whole))
        opens = any(map(_names_it, whole)) and any(map(_undoes, whole))
        on = _is_left_on(sentence, place)
        rule = on and _is_denied(clause) and (_names_part(clause) or unnamed)
        kept = on and _is_kept_on(clause)
        if kept and any(map(_names_part, sentence)):
            yield _told(clause, Reason.LIVE)
        if rule or (opens and (live or (left_on and named))):
            yield _told(clause, Reason.LIVE)


def _undoes(clause: Clause) -> bool:
    """Whether something comes off or goes on; *never unplug it* forbids that."""
    words = clause.words
    found = (at for at in range(len(words)) if aside(Aside.UNDOING).longest(words, at))
    return any(not is_ruled_out(clause, at) for at in found)


def is_other(piece: Piece) -> bool:
    """Whether a piece names another part, which is no source of power."""
    return piece.role is Role.NEIGHBOUR and not piece.words[0].startswith(SOURCES)


_PARTS = frozenset([*TARGETS, Role.CONTACT, Role.CLOCK_SPRING])


def _names_part(clause: Clause) -> bool:
    return bool(clause.roles & _PARTS)


_JOINED_BY = frozenset(["and", "&", "en", "und"])
_WITH = frozenset(
    [
        *("with", "while", "mit", "bei", "con", "met", "med", "avec", "przy", "при", "с"),
        *("terwijl", "wahrend", "mientras", "mentre", "medan", "podczas", "пока"),
    ]
)
_ARTICLES = frozenset(["the", "my", "het", "das", "le", "la", "el", "il"])
_AWAY = frozenset(["off", "isolated", "disconnected", "away", "removed", "down"])


def _is_circumstance(clause: Clause) -> bool:
    """Whether a clause tells under which supply all is done: *with the key on*."""
    pieces = [each for each in clause.pieces if each.text not in _ARTICLES]
    if Role.SCAN in clause.roles:
        return False
    return any(
        piece.role is Role.LIVE
        and (piece.words[0] in _WITH or (at > 0 and pieces[at - 1].text in _WITH))
        and not (at + 1 < len(pieces) and pieces[at + 1].words[0] in _AWAY)
        for at, piece in enumerate(pieces)
    )


_SAME_SUBJECT = frozenset(["and", "before", "while", "whilst"])


def is_before_us(clause: Clause) -> bool:
    """Whether a clause is of those who had the car before: *the chap before us cut it*."""
    came = clause.words[:2] in (("it", "came"), ("car", "came"), ("we", "got"), ("it", "got"))
    return clause.joiner == "before" and (clause.words[0] in {"us", "me"} or came)


def is_reported(sentence: Sequence[Clause], place: int) -> bool:
    """Whether a clause tells what others did before the car came, and the rest what came of it."""
    clause, subject = sentence[place], place
    if Role.VALUE in clause.roles:
        return False
    while subject and sentence[subject].joiner in _SAME_SUBJECT:
        subject -= 1
    if not _has(sentence[subject], Aside.OUTSIDERS):
        return False
    rest = [each for each in sentence[subject:] if not is_before_us(each)]
    words = [word for each in rest for word in each.words]
    said = [word for each in rest if not _is_mere_renewal(each) for word in each.words]
    return aside(Aside.AFTERMATH).any_in(words) and not aside(Aside.PRAISED).any_in(said)


def _is_mere_renewal(clause: Clause) -> bool:
    """Whether a clause tells only that a part was replaced: *we fitted a new one*."""
    named = {
        *TARGETS,
        Role.FUNCTION,
        Role.PLACE,
        Role.KNOWN,
        Role.IN_PLACE,
        Role.UNIT,
        Role.HARMLESS,
    }
    done = is_renewal(clause) and not words_in(Aside.PRONOUN) & clause.vocabulary
    return done and clause.roles <= named and clause.words[0] in _OURS


_OURS = frozenset(["we", "i", "new", "fitted", "replaced", "renewed"])


def _is_battery_on(clause: Clause) -> bool:
    """Whether the battery is spoken of, and neither how it is nor that it came off."""
    if not _has(clause, Aside.BATTERY) or clause.roles & {Role.VALUE, Role.QUANTITY}:
        return False
    denials = len(words_in(Aside.DENIAL) & clause.vocabulary)
    shrugged = denials == 1 and (_has(clause, Aside.UNDOING) or _has(clause, Aside.SHRUGGED))
    return shrugged or not (denials or _is_off(clause) or _has(clause, Aside.BATTERY_STATE))


def _is_left_on(sentence: Sequence[Clause], place: int) -> bool:
    return _is_battery_on(sentence[place]) and not _comes_back(sentence, place)


def _comes_back(sentence: Sequence[Clause], place: int) -> bool:
    """Whether the battery is told to be joined once more behind the work: *connected it again*."""
    clause, behind = sentence[place], sentence[place + 1 :]
    anew = not _ANEW.isdisjoint(clause.words) or clause.words[0] in _JOINING
    left = _is_denied(clause) or not _LEFT_SO.isdisjoint(clause.words)
    told = place > 0 and anew and not left and clause.joiner not in _SAME_TIME
    done = (each for each in behind if Role.LAMP not in each.roles)
    return told and not any(_undoes(each) or _names_part(each) for each in done)


_ANEW = frozenset(
    ["again", "back", "reconnected", "wieder", "nouveau", "rebranchee", "rebranche", "ponownie",
     "znowu", "znow", "weer", "opnieuw", "nuovo", "nuevo", "igen"]
)  # fmt: skip
_JOINING = frozenset(["connected", "connect", "hooked", "clamped", "joined"])
_LEFT_SO = frozenset(["still", "left", "kept", "never", "noch", "encore", "always", "already"])
_SAME_TIME = frozenset(["while", "whilst", "as", "as i", "during", "when", "because", "since"])


def _is_off(clause: Clause) -> bool:
    """Whether a clause plainly tells that the battery came off."""
    off = Role.ISOLATE in clause.roles or _has(clause, Aside.UNDOING)
    return off and not _is_denied(clause) and not _is_kept_on(clause)


def _is_kept_on(clause: Clause) -> bool:
    """Whether it is told to stay on; *left to right* tells a side."""
    words = clause.words
    if any(map(_is_battery_off, clause.pieces)) and _ON.isdisjoint(words):
        return False  # *car stays outside with the battery off*
    found = (at for at in range(len(words)) if aside(Aside.KEPT_ON).longest(words, at))
    return any(words[at] != "left" or words[at + 1 : at + 2] not in _SIDES for at in found)


_SIDES = (
    ("off",),
    ("to",),
    ("side",),
    ("hand",),
    ("front",),
    ("rear",),
    ("right",),
    ("seat",),
    ("bag",),
)


def _is_battery_off(piece: Piece) -> bool:
    """Whether words tell together that the battery is off: *with the battery off*."""
    off = piece.role is Role.ISOLATE and piece.words[-1] in _AWAY
    return off and aside(Aside.BATTERY).any_in(piece.words)


_ON = frozenset(["on", "connected", "live", "in", "still", "not", "never", "an", "dran"])


def _is_isolated(sentence: Sequence[Clause]) -> bool:
    return any(_has(each, Aside.BATTERY) and _is_off(each) for each in sentence)


def _at_once(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield what is taken off without waiting."""
    words = [word for each in sentence for word in each.words]
    if not aside(Aside.BATTERY).any_in(words) or aside(Aside.MINUTES).any_in(words):
        return
    for clause in sentence:
        taken = clause.roles & TARGETS and _has(clause, Aside.UNDOING)
        if taken and _has(clause, Aside.AT_ONCE):
            yield _told(clause, Reason.LIVE)


# --- its wires


def _spliced(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield wires that are joined by a terminal block, twisted, or soldered past the plug."""
    words = [word for clause in sentence for word in clause.words]
    named = {role_of(word) for word in words}
    if aside(Aside.FOUND).any_in(words) or "kit" in words:
        return
    if not (named & TARGETS or {"yellow", "seat", "belt", "buckle"} & set(words)):
        return
    yield from _on_its_pins(sentence)
    yield from _soldered_to_it(sentence)
    past_plug = Role.HARNESS in named and aside(Aside.TOGETHER).any_in(words)
    for clause in sentence:
        soldered = past_plug and _has(clause, Aside.SOLDERED)
        joined = soldered or _has(clause, Aside.SPLICED) or clause.words == ("twisted",)
        if joined and Role.NEIGHBOUR not in clause.roles and not _has(clause, Aside.NO_REPAIR):
            yield _told(clause, Reason.DEFEAT)


def _soldered_to_it(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield solder on wires that lead to an igniter: *soldered the wires going into the bag*."""
    for clause in sentence:
        led = any(
            before.role is Role.HARNESS
            and any(p.role in TARGETS for p in clause.pieces[at + 1 : at + 1 + _MOST_BETWEEN])
            for at, before in enumerate(clause.pieces)
        )
        if led and _has(clause, Aside.SOLDERED) and not (_is_denied(clause) or _is_wired(clause)):
            yield _told(clause, Reason.HANDLING)


def _is_wired(clause: Clause) -> bool:
    """Whether a plug stands between, or another part has the wires."""
    return bool(clause.roles & {Role.CONTACT, Role.NEIGHBOUR}) or _has(clause, Aside.NO_REPAIR)


def _on_its_pins(sentence: Sequence[Clause]) -> Iterator[_Danger]:
    """Yield what is done to an igniter's own contacts: *soldered onto the bag's pins*."""
    for clause in sentence:
        pins = any(
            before.role in TARGETS and after.role is Role.CONTACT and after.text not in _PLUGS
            for before, after in pairwise(clause.pieces)
        )
        pins |= any(p.role in TARGETS and p.words[-1].startswith("pin") for p in clause.pieces)
        pins |= any(_is_pin_of_it(clause.pieces, at) for at in range(len(clause.pieces)))
        mended = _has(clause, Aside.SOLDERED) or any(w.startswith(_MENDING) for w in clause.words)
        if pins and mended and not _is_denied(clause):
            yield _told(clause, Reason.HANDLING)


def _is_pin_of_it(pieces: Sequence[Piece], at: int) -> bool:
    """Whether a pin of an igniter itself is named: *the pin on the driver bag igniter*."""
    led = [piece for piece in pieces[at + 1 : at + 5] if not is_small(piece)]
    if not pieces[at].words[-1].startswith(_PIN) or len(led) < 2 or led[0].text not in _OF:
        return False
    itself = len(led) == 2 or led[2].role not in {Role.CONTACT, Role.HARNESS}
    return led[1].role in TARGETS and itself


_PIN = ("pin", "terminal", "leg", "prong", "stift")
_OF = frozenset(["on", "of", "at", "in", "an", "am", "vom", "der"])
_MENDING = (
    *("repair", "mend", "fix", "straighten", "bent", "bend", "tinned", "filed", "widen"),
    "squeez",
)
_PLUGS = frozenset(["plug", "plugs", "connector", "connectors", "socket"])
