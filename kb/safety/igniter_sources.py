"""Where a fitted bag, tensioner or seat comes from.

What was in another car, lay about or was made up anew may have been dropped, wet, fired or read as
fired; nobody can see it. Turned over: from the maker or its dealer, new, it may come; any other
source that is told is not shown. The words stand in ``igniter_deeds.toml``. All of it is common
practice, no source.
"""

from collections.abc import Iterator, Sequence

from kb.safety.igniter_acts import TARGETS, Reason
from kb.safety.igniter_clauses import Clause, Piece
from kb.safety.igniter_deeds import WordList, list_of
from kb.safety.igniter_handling import is_reported, is_ruled_out
from kb.safety.igniter_words import Aside, Role, aside, igniters, role_of, words_in

_FAR = 6
"""So many words behind *from* can tell where something comes from."""


def sources_in(sentence: Sequence[Clause]) -> Iterator[tuple[Piece, Reason]]:
    """Yield a source of what is fitted that is not plainly the maker's."""
    if not (any(map(_names_it, sentence)) or _is_nameless(sentence)) or _is_refused(sentence):
        return
    fits = any(list_of(WordList.FITTING).any_in(clause.words) for clause in sentence)
    for place, clause in enumerate(sentence):
        if is_reported(sentence, place) or list_of(WordList.SEEN_SO).any_in(clause.words):
            continue
        if sentence[1:2] and sentence[1].joiner == ":" and clause.words[1:] in _CAR:
            continue  # the car in the shop: *crash car: both bags deployed*
        if "wrong" in clause.words and any(_NEEDING & set(each.words) for each in sentence):
            continue  # told of what has to come out again
        for at in range(len(clause.words)):
            found = _source(clause.words, at, fits=fits)
            if found and not _is_denied(clause, at):
                yield Piece(Role.DEFEAT, found), Reason.SOURCE
                break


def fitted_later_in(
    sentences: Sequence[Sequence[Clause]],
) -> Iterator[tuple[int, Piece, Reason]]:
    """Yield what is told of a part before a later sentence fits it: *From a donor car. Fitted it*.

    Told so is where it comes from, or that it fired or fell. A new part, or what is refused or
    goes, ends it. Each comes with the place of its sentence.
    """
    told: dict[int, tuple[Piece, Reason]] = {}
    for at, sentence in enumerate(sentences):
        told = {place: each for place, each in told.items() if at - place <= _SOON}
        if any(map(_is_of_a_new_part, sentence)):
            told = {}
        if told and any(map(_goes_in, sentence)):
            yield from ((place, *each) for place, each in told.items())
            yield at, Piece(Role.DEFEAT, sentence[0].words), next(iter(told.values()))[1]
        if found := _told_of_part(sentence):
            told[at] = found


_SOON = 3
"""So many sentences later a part may still be called *it*."""


def _is_of_a_new_part(clause: Clause) -> bool:
    """Whether a part is new, or goes; a new cover makes none of the old one."""
    new = aside(Aside.RENEWED).any_in(clause.words) and _NOT_NEW.isdisjoint(clause.words)
    return new or not _GOES.isdisjoint(clause.words)


_NOT_NEW = frozenset(
    [
        "like",
        "nearly",
        "almost",
        "cover",
        "lid",
        "plug",
        "badge",
        "trim",
        "clip",
        "clips",
        "screws",
        "bolts",
    ]
)
_GOES = frozenset(["removed", "refused", "declined", "away", "disposed", "condemned", "skip"])


def _goes_in(clause: Clause) -> bool:
    """Whether a clause fits what is left out or called *it*: *then in*, *plugged it in*."""
    words = clause.words
    return _PUT_IN.issuperset(words) and not _IN.isdisjoint(words)


_IN = frozenset(
    ["in", "fitted", "refitted", "installed", "mounted", "eingebaut", "verbaut", "monte", "remonte",
     "rein", "drin", "on", "plugged", "wstawiony", "zamontowany"]
)  # fmt: skip
_PUT_IN = _IN | {
    *(
        "it",
        "then",
        "back",
        "again",
        "and",
        "went",
        "goes",
        "put",
        "straight",
        "into",
        "the",
        "car",
    ),
    *(
        "place",
        "home",
        "same",
        "day",
        "one",
        "so",
        "now",
        "them",
        "both",
        "bolted",
        "screwed",
        "dann",
        "wieder",
    ),
}


def _told_of_part(sentence: Sequence[Clause]) -> tuple[Piece, Reason] | None:
    """Return what a sentence tells of a part that may not be fitted, igniter's or not named."""
    named = any(clause.roles & TARGETS for clause in sentence)
    if _is_refused(sentence) or (not named and any(c.roles & _OTHERS for c in sentence)):
        return None
    for place, clause in enumerate(sentence):
        words = clause.words
        if is_reported(sentence, place) or words_in(Aside.DENIAL) & clause.vocabulary:
            continue
        for at in range(len(words)):
            behind = words[at + 1 : at + 1 + _FAR]
            unlisted = words[at] in _TAKEN_FROM and _is_unlisted(words[:at], behind)
            if found := _source(words, at, fits=False) or (words[at:] if unlisted else ()):
                return Piece(Role.DEFEAT, found), Reason.SOURCE
        befell = any(aside(Aside.HARMED).longest(words, at) for at in range(1, len(words)))
        if befell and (words[0] in _SUBJECT or clause.roles & TARGETS):
            return Piece(Role.FORCE, words), Reason.HANDLING
    return None


_TAKEN_FROM = frozenset(["from", "ex"])
_SUBJECT = frozenset(["it", "one", "they", "both", "sie", "er", "il", "elle"])


_CAR = (("car",), ("vehicle",))
_NEEDING = frozenset(["need", "needs", "ordered", "order"])


def _names_it(clause: Clause) -> bool:
    """Whether a clause names an igniter or what holds one."""
    named = bool(clause.roles & (TARGETS | {Role.UNIT})) or any(
        role_of(word) in TARGETS for word in clause.words
    )
    return named or list_of(WordList.HOLDER).any_in(clause.words)


def _is_nameless(sentence: Sequence[Clause]) -> bool:
    """Whether no part is named but *one*, which on such a job may be an igniter's."""
    other = any(clause.roles & _OTHERS for clause in sentence)
    return not other and any({"one", "ones"} & set(clause.words) for clause in sentence)


_OTHERS = frozenset([Role.NEIGHBOUR, Role.CLOCK_SPRING, Role.UNIT, Role.CONTACT, Role.HARNESS])


def _is_refused(sentence: Sequence[Clause]) -> bool:
    """Whether it is refused, asked only, or came out again for a new one."""
    words = [word for clause in sentence for word in clause.words]
    told = set(words)
    asked = aside(Aside.ASKED).any_in(words) and bool(told & _NO)
    righted = aside(Aside.FOUND).any_in(words) and aside(Aside.RIGHTED).any_in(words)
    gone = not _GONE.isdisjoint(told) and not _SPENT.isdisjoint(told)
    gone |= "condemned" in told and not list_of(WordList.FITS).any_in(words)
    return asked or righted or gone or aside(Aside.REFUSAL).any_in(words)


_SPENT = frozenset(["fired", "deployed", "spent"])
_GONE = frozenset(["disposal", "disposed", "entsorgt", "entsorgung", "utylizacja"])
_NO = frozenset(["no", "not", "never", "refused", "declined", "wont", "nein", "non", "nie"])


def _is_denied(clause: Clause, at: int) -> bool:
    """Whether it is not fitted: *never fit one from*, *no used bag*, *not to be refitted*."""
    words = clause.words
    verbs = [i for i in range(len(words)) if list_of(WordList.FITTING).longest(words, i)]
    denied = any(words_in(Aside.DENIAL) & set(words[max(0, i - 3) : i]) for i in verbs)
    return denied or is_ruled_out(clause, at)


def _source(words: Sequence[str], at: int, *, fits: bool) -> tuple[str, ...]:
    """Return the words from a place on that tell a source which may not be; empty if none."""
    if len(words) > 1 and (found := list_of(WordList.FOREIGN).longest(words, at)):
        return () if _is_no_source(words, at, found[0]) else tuple(words[at:][: found[0]])
    scrap = words[at] == "scrap" and words[at + 1 : at + 2] in _SCRAPPED
    if fits and scrap and not {"sent", "to"} & set(words):
        return tuple(words[at : at + 2])
    preposition = list_of(WordList.FROM).longest(words, at)
    if preposition is None or (words[at] == "off" and _takes_nothing(words, at)):
        return ()
    behind = words[at + preposition[0] : at + preposition[0] + _FAR]
    if words[at] == "of" and list_of(WordList.OTHER).any_in(behind[:1]):
        return ()  # that part's own: *the tensioner of the alternator*
    if _is_another_car(behind) or (fits and _is_unlisted(words[:at], behind)):
        return tuple(words[at : at + preposition[0] + 3])
    return ()


def _is_no_source(words: Sequence[str], at: int, size: int) -> bool:
    """Whether what is told so is a car that is lent, a way of coding, or another part."""
    behind = words[at + size :]
    if words[at] == "online":
        beside = [*words[max(0, at - 1) : at], *behind[:1]]
        coded = aside(Aside.CODING).any_in(beside) or not _ROUTINES.isdisjoint(beside)
        if coded or not behind:
            return True  # so a unit is told of its car, or answers again
    if words[at : at + 2] == ("write", "off") and size == len(words) and size == _TWO:
        return True  # what the crash left of the car
    return (at == 0 and _is_lent(behind)) or _is_of_a_neighbour(behind[:2])


def _is_lent(behind: Sequence[str]) -> bool:
    """Whether it is a car that is lent: *courtesy car given*."""
    return not _LENT.isdisjoint(behind[: 1 + (behind[:1] == ("was",))])


_SCRAPPED = (("unit",), ("module",), ("bag",), ("airbag",), ("tensioner",), ("belt",), ("reel",))
_TWO = 2
_LENT = frozenset(
    [
        "given",
        "lent",
        "out",
        "issued",
        "booked",
        "back",
        "returned",
        "needed",
        "taken",
        "till",
        "for",
    ]
)


_ROUTINES = frozenset(["routine", "procedure", "function", "session", "server"])


def _is_of_a_neighbour(behind: Sequence[str]) -> bool:
    """Whether what is called so is another part: *a used instrument cluster*."""
    roles = [role_of(word) for word in behind]
    return Role.NEIGHBOUR in roles and not (TARGETS & set(roles) or igniters().any_in(behind))


def _takes_nothing(words: Sequence[str], at: int) -> bool:
    """Whether *off* is no source: a bag went off, or a switch or a lamp tells that it is off."""
    fired = not _SET.isdisjoint(words[max(0, at - _NEAR) : at])
    told_by = not _TELLTALES.isdisjoint(words[at + 1 : at + 2])
    return fired or told_by or tuple(words[at - 1 : at]) in _WENT


_TELLTALES = frozenset(["switch", "indicator", "lamp", "light", "telltale"])
_SET = frozenset(["set", "let", "setting", "letting"])
_NEAR = 5
_WENT = tuple((word,) for word in ("go", "goes", "going", "gone", "went", "set", "let"))


def _is_another_car(behind: Sequence[str]) -> bool:
    """Whether a car follows that is told apart from the one in the shop: *my old car*."""
    cars = (i for i, word in enumerate(behind) if list_of(WordList.CAR).longest([word], 0))
    car = next(cars, None)
    if car is None or any(list_of(WordList.COMES_FROM).longest([w], 0) for w in behind[:car]):
        return False
    told = [word for word in behind[:car] if word not in _THIS]
    return bool(told) and not any(map(_is_preposition, told))


_THIS = frozenset(["the", "this", "that", "his", "her", "their", "customers", "customer", "same"])


def _is_preposition(word: str) -> bool:
    return list_of(WordList.FROM).longest([word], 0) is not None or word in _BREAKS


_BREAKS = frozenset(["in", "on", "at", "to", "with", "for", "by", "under", "behind", "when"])


def _is_unlisted(before: Sequence[str], behind: Sequence[str]) -> bool:
    """Whether what follows *one from* is on no list of where it may come from."""
    joined = [word for word in before if word not in _CAME][-1:]
    if not behind or _PART.isdisjoint(joined):
        return False
    if tuple(behind) in _OFF_THIS:
        return False  # off the car that is in the shop
    return not any(list_of(WordList.COMES_FROM).longest([word], 0) for word in behind[:4])


_OFF_THIS = (("the", "car"), ("the", "vehicle"))
_CAME = frozenset(["came", "comes", "come", "taken", "bought", "sourced", "fitted", "in", "got"])
_PART = frozenset(
    ["one", "ones", "bag", "airbag", "tensioner", "pretensioner", "curtain", "seat", "part", "unit",
     "it", "them", "bags", "airbags", "seats", "tensioners", "pretensioners", "parts"]
)  # fmt: skip
