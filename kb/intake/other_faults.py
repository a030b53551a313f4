"""What was heard of a car that is of another fault than the one that was mended."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache

from kb.case import Outcome, System
from kb.intake.absences import trouble_kinds
from kb.intake.elapsed import without_since
from kb.intake.outcome_words import DENIALS, WordRole, clauses, plain_words, table_words
from kb.intake.outcomes import judge_contact
from kb.intake.pieces import work_in
from kb.intake.positions import find_position
from kb.intake.subjects import subjects_of, trade_subjects
from kb.intake.wording import Wording
from kb.patterns import compiled

_ENDS = compiled(
    r"[,;.\n]\s*|\s[-–—]\s|\s+(?:and|but|while|whereas|although|though|und|aber|während|et|mais|ale"
    r"|natomiast|oraz)\s+"
)
_THE_SAME = compiled(
    r"\b(?:same|gleiche[nrs]?|selbe[nrs]?|dasselbe|même|ten sam|ta sama|to samo)\b"
    r"|^\W*come ?back\b(?!\s+\w)",
)
"""What says by itself that it is of the fault that was mended."""
_CAME_FOR = compiled(
    r"(?:(?:is|was|came|brought|back|here|in|now|booked) )+for\b(?! (?:the )?same)"
)
_AGAIN = frozenset({"again", "wieder", "erneut", "nouveau", "encore", "znowu", "znow", "ponownie"})
_LITTLE = frozenset(
    {
        *(
            "the",
            "a",
            "an",
            "is",
            "was",
            "it",
            "its",
            "has",
            "and",
            "on",
            "in",
            "of",
            "after",
            "for",
        ),
        *("now", "since", "der", "die", "das", "ist", "nach", "le", "la", "les", "est", "apres"),
        *("po", "jest", "about", "only", "just", "days", "#"),
    }
)
_TIME_WORDS = """
autumn winter summer easter christmas weekend week month year last this mid early late end january
february march april may june july august september october november december monday tuesday
wednesday thursday friday saturday sunday today yesterday herbst sommer ostern weihnachten mitte
anfang ende januar februar marz mai juni juli oktober dezember gestern heute automne hiver ete
paques octobre jesien zima lato
"""
_TIMES = frozenset(_TIME_WORDS.split())
"""When it was so, as far as that is told without a number."""
_BACK = (WordRole.LAMP, WordRole.AGAIN, WordRole.BACK, WordRole.RETURNED)
_OPPOSITES = (
    frozenset({"left", "right"}),
    frozenset({"nearside", "offside"}),
    frozenset({"driver", "passenger"}),
    frozenset({"front", "rear"}),
)
_TOLD_APART_BY = (WordRole.SYMPTOM, WordRole.FUNCTION, WordRole.PART, WordRole.THING)
_SHORTEST_NAME = 4
"""Letters of a word by which a fault is known again."""


def of_this_fault(words: str, told: Iterable[str], wording: Wording) -> tuple[Outcome, str | None]:
    """Judge what was heard of a car by what is not plainly of another part of it.

    Of what speaks of another part alone, be it well or not, nothing is known of this fix. That it
    held may be told before that, or by name; that it came back by name only, or as the same.

    Parameters
    ----------
    told : iterable of str
        What was wrong, and what was done: complaint, cause and fixes.

    Returns
    -------
    outcome : Outcome
        As `kb.intake.outcomes.judge_contact` where no part of the words is of another fault.
    other : str or None
        The first part of them that is.

    Examples
    --------
    >>> told, wording = ["airbag lamp on", "clock spring: open"], Wording.default()
    >>> [str(part) for part in of_this_fault("tyres good", told, wording)]
    ['not told', 'tyres good']
    >>> [str(part) for part in of_this_fault("airbag lamp out; window dead again", told, wording)]
    ['held', 'window dead again']
    >>> [str(part) for part in of_this_fault("lamp on again", told, wording)]
    ['comeback', 'None']
    """
    outcome = judge_contact(words)
    fault = _Fault.of(tuple(told), wording)
    pieces = [each.strip() for each in _ENDS.split(words.casefold()) if each.strip()]
    by_name = [
        each
        for each in pieces
        if (fault.is_told_in(each, wording) and not fault.is_elsewhere(each))
        or _THE_SAME.search(each)
    ]
    back = outcome is Outcome.COMEBACK
    apart = by_name or any(map(_tells_apart, pieces))
    near = back and not apart
    others = [fault.is_foreign(each, wording, near=near) for each in pieces]
    if outcome not in (Outcome.HELD, Outcome.COMEBACK) or not any(others):
        return outcome, None
    first = others.index(True)
    before = _told_beside(pieces, others) if back else _told_before(pieces, others)
    own = dict.fromkeys([*before, *by_name])
    judged = judge_contact(", ".join(own)) if own else Outcome.NOT_TOLD
    known = {Outcome.HELD, outcome}
    return (judged if judged in known else Outcome.NOT_TOLD), pieces[first]


def _told_before(pieces: Sequence[str], others: Sequence[bool]) -> list[str]:
    """Return what is told before another part is named but for what the car came for."""
    told = list[str]()
    for piece, other in zip(pieces, others, strict=True):
        if not other:
            told.append(piece)
        elif not _CAME_FOR.match(piece):
            break
    return told


def _told_beside(pieces: Sequence[str], others: Sequence[bool]) -> list[str]:
    """Return what tells of a return by itself, beside another part of which no trouble is told."""
    foreign = [piece for piece, other in zip(pieces, others, strict=True) if other]
    if any(judge_contact(each) is Outcome.COMEBACK for each in foreign):
        return []
    own = (piece for piece, other in zip(pieces, others, strict=True) if not other)
    return [each for each in own if any(clause.has(*_BACK) for clause in clauses(each))]


def _tells_apart(said: str) -> bool:
    """Whether words tell that the fix held, or what else the car came for."""
    return judge_contact(said) is Outcome.HELD or _CAME_FOR.match(said) is not None


def is_complaint_again(words: str, complaint: str) -> bool:
    """Whether words tell that what was complained of is so again, and nothing beside that.

    Examples
    --------
    >>> is_complaint_again("heater cold again after 10 days", "heater cold")
    True
    >>> is_complaint_again("heater cold again in autumn", "heater blows cold")
    True
    >>> is_complaint_again("heater warm again", "heater cold")
    False
    >>> is_complaint_again("heater not cold again", "heater cold")
    False
    """
    asked = any(clause.asked for clause in clauses(words))
    said, known = set(plain_words(without_since(words))), set(plain_words(complaint))
    named = said & known - _LITTLE
    beside = known | _LITTLE | _AGAIN | _TIMES
    return bool(named) and bool(said & _AGAIN) and said <= beside and not asked


def may_be_complaint_again(words: str, complaint: str) -> bool:
    """Whether words tell of what was complained of that it is so again, be that meant well or not.

    Where the complaint tells what does not work, that it does again is well.

    Examples
    --------
    >>> may_be_complaint_again("zieht wieder", "Auto zieht nach rechts")
    True
    >>> may_be_complaint_again("zieht wieder", "zieht nicht")
    False
    >>> may_be_complaint_again("starts again", "only starts warm")
    False
    """
    if any(each.has(*DENIALS, *_LESS) for each in clauses(complaint)):
        return False
    for piece in _ENDS.split(words.casefold()):
        said, known = set(plain_words(piece)), set(plain_words(complaint))
        named = {word for word in said if any(_alike(word, each) for each in known)} - _LITTLE
        if named and said & _AGAIN and said <= named | _LITTLE | _AGAIN:
            return True
    return False


_LESS = (WordRole.ONLY, WordRole.LIMITED, WordRole.STOPPED, WordRole.GONE)


def _alike(word: str, other: str) -> bool:
    """Whether two words are one but for how they end: "pulls", "pulling"."""
    stems = (_ENDING.sub("", each) for each in (word, other))
    return next(stems) == next(stems)


_ENDING = compiled(r"(?<=[a-z]{3})(?:ing|ed|es|s)$")


class _Fault:
    """What a job was about: its subjects, the systems of these, and names in its words."""

    def __init__(self, told: tuple[str, ...], wording: Wording) -> None:
        text = "; ".join(told)
        self._subjects = subjects_of(text, wording)
        self._systems = _systems_of(self._subjects)
        self._names = names_in(text)
        self._sides = _sides_in([each for piece in told for each in _ENDS.split(piece)])

    @staticmethod
    @lru_cache(maxsize=16)
    def of(told: tuple[str, ...], wording: Wording) -> "_Fault":
        return _Fault(told, wording)

    def is_told_in(self, said: str, wording: Wording) -> bool:
        """Whether words speak of it, by a name or a part."""
        named = not self._names.isdisjoint(names_in(said))
        return named or not self._subjects.isdisjoint(subjects_of(said, wording))

    def is_foreign(self, said: str, wording: Wording, *, near: bool) -> bool:
        """Whether words speak of other parts only, and not of this fault.

        A `near` one of the same system may be this fault by another name: "no start" of a battery.
        """
        about = subjects_of(said, wording, plainly=True)
        apart = bool(about) and bool(self._subjects) and not self.is_told_in(said, wording)
        foreign = apart and not (near and not self._systems.isdisjoint(_systems_of(about)))
        return foreign or (bool(about) and self.is_elsewhere(said))

    def is_elsewhere(self, said: str) -> bool:
        """Whether words speak of the other side, or end, of the car than this fault was on.

        Left and nearside are not held against one another: which is which depends on the car.
        """
        own = _sides_in([said])
        return any(
            own & pair and self._sides & pair and not own & self._sides & pair
            for pair in _OPPOSITES
        )


def _sides_in(pieces: Iterable[str]) -> frozenset[str]:
    told = (find_position(piece)[0] or "" for piece in pieces)
    return frozenset(word for position in told for word in position.split())


def is_of_another(words: str, fix: Iterable[str], complaint: str, wording: Wording) -> bool:
    """Whether trouble that is told behind a fix is of another fault than that fix was made for.

    It is if it names parts of another system, or if it is what one part of the complaint tells, and
    the fix was for another part of it.

    Examples
    --------
    >>> fix, wording = ["replaced window motor", "window works"], Wording.default()
    >>> is_of_another("horn still dead", fix, "LF window dead, horn dead", wording)
    True
    >>> is_of_another("window dead again", fix, "LF window dead, horn dead", wording)
    False
    >>> is_of_another("still dead", fix, "LF window dead, horn dead", wording)
    False
    >>> is_of_another("heater cold again", ["replaced thermostat"], "heater cold", wording)
    False
    """
    pieces = [_named(piece) for piece in _ENDS.split(complaint.casefold())]
    if len(pieces) == 1 and _Fault.of((complaint,), wording).is_told_in(words, wording):
        return False
    if _Fault.of(tuple(fix), wording).is_foreign(words, wording, near=True):
        return True
    shared = [len(_named(words) & piece) for piece in pieces]
    if len(pieces) == 1 or max(shared) == 0 or shared.count(max(shared)) > 1:
        return False
    own = pieces.pop(shared.index(max(shared)))
    mended = _named("; ".join(fix))
    return not mended & own and any(mended & piece for piece in pieces)


def fine_of_another(
    pieces: Iterable[str], fix: str, complaint: str, wording: Wording
) -> Iterator[str]:
    """Yield the clauses behind a fix that tell only of another part of the car that it is well.

    What shows the state of others, such as a gauge, is of none by itself.

    Examples
    --------
    >>> told = "windows work again", "clunk gone"
    >>> wording = Wording.default()
    >>> list(fine_of_another(told, "replaced drop link", "clunk front left over bumps", wording))
    ['windows work again']
    """
    fault = _Fault.of((fix, complaint), wording)
    heard = trouble_kinds(complaint, named=True)
    untold = [role for role in _OF_THEIR_OWN if not any(c.has(role) for c in clauses(complaint))]
    for piece in pieces:
        about = subjects_of(piece, wording, plainly=True)
        foreign = about and fault.is_foreign(piece, wording, near=True)
        own = heard and not trouble_kinds(piece) and any(c.has(*untold) for c in clauses(piece))
        if about.isdisjoint(_SHOW_OTHERS) and (foreign or (own and untold)):
            yield piece


_OF_THEIR_OWN = (WordRole.STARTS, WordRole.LAMP)
"""What is told with these cures no noise, leak or smell of which nothing such was complained."""
_SHOW_OTHERS = frozenset({"instruments", "fuses and wiring"})


def may_be_of_another(words: str, cured: str, complaint: str) -> bool:
    """Whether trouble told behind a cure may be another part of a complaint than was told cured.

    It may where the complaint has several parts, the words of the cure tell of one of them, and the
    trouble is named and is not that one: somebody has to say.

    Examples
    --------
    >>> complaint = "AC warm at idle, fan noisy"
    >>> may_be_of_another("rattle still there", "condenser fan renewed, AC cold", complaint)
    True
    >>> may_be_of_another("AC warm again", "condenser fan renewed, AC cold", complaint)
    False
    >>> may_be_of_another("still there", "condenser fan renewed, AC cold", complaint)
    False
    >>> may_be_of_another("rattle still there", "condenser fan renewed, cured", complaint)
    False
    """
    pieces = [_known_by(each) for each in _ENDS.split(complaint.casefold()) if each.strip()]
    trouble = _known_by(words)
    if len(pieces) == 1 or not trouble or _THE_SAME.search(words.casefold()):
        return False
    told = [_known_by(each) for each in _ENDS.split(cured.casefold()) if not work_in(each)]
    cure = frozenset[str]().union(*told)
    well = [piece for piece in pieces if piece & cure]
    return bool(well) and len(well) < len(pieces) and not any(piece & trouble for piece in well)


def tells_another_function(
    words: str, fix: Iterable[str], complaint: str, wording: Wording
) -> bool:
    """Whether trouble told behind a cure is of functions alone of which nobody complained.

    What shares a fuse or a loom with the fault that was mended may fail by itself, so somebody has
    to say. What starts or charges a car is no function of its own: *no start* may be the old fault.

    Examples
    --------
    >>> fix, wording = ["replaced fuse 14", "fuse 14 SRS blown, new one held"], Wording.default()
    >>> tells_another_function("horn dead, cruise dead", fix, "airbag lamp on", wording)
    True
    >>> tells_another_function("horn dead again", fix, "airbag lamp on", wording)
    False
    >>> tells_another_function("horn dead, airbag lamp on", fix, "airbag lamp on", wording)
    False
    """
    fault = _Fault.of((*fix, complaint), wording)
    told = [each for each in _ENDS.split(words.casefold()) if each.strip()]
    if any(clause.has(*_BACK_AGAIN) for each in told for clause in clauses(each)):
        return False
    about = [subjects_of(each, wording, plainly=True) - _NO_FUNCTION for each in told]
    named = [each for each, subjects in zip(told, about, strict=True) if subjects]
    own = any(fault.is_told_in(each, wording) for each in told)
    return not own and any(fault.is_foreign(each, wording, near=False) for each in named)


_BACK_AGAIN = (WordRole.AGAIN, WordRole.BACK, WordRole.RETURNED)
_NO_FUNCTION = frozenset({"starting", "battery", "charging", "instruments", "fuses and wiring"})
"""Subjects by which an old fault may be told in other words."""


def _known_by(text: str) -> frozenset[str]:
    """Words and kinds of trouble by which a part of a complaint is known again."""
    return _named(text) | trouble_kinds(text)


def _named(text: str) -> frozenset[str]:
    """Words by which a fault is told from another: of trouble, of parts, and in no list."""
    words = (word for clause in clauses(text) for word in clause.words)
    strange = {word for word in words if isinstance(word, str)}
    known = {
        word
        for word in plain_words(text)
        if any(clause.has(*_TOLD_APART_BY) for clause in clauses(word))
    }
    return frozenset(each for each in strange | known if each.isalpha()) - _LITTLE


def _systems_of(subjects: Iterable[str]) -> frozenset[System]:
    table: Mapping[str, tuple[System, tuple[str, ...]]] = trade_subjects()
    return frozenset(table[each][0] for each in subjects)


def names_in(text: str) -> frozenset[str]:
    """Return the longer words of a text that tell no outcome."""
    words = set(plain_words(text)) - table_words()
    return frozenset(each for each in words if len(each) >= _SHORTEST_NAME)
