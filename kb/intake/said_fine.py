"""What a complaint says is well: a part that is fine, and what is seen to work.

"Battery ok, won't crank" names the battery to leave it out, and "cranks but no start" tells that
the starter turns the engine. What is seen to work stands in the trade's table of subjects.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, TypeVar

from kb.case import System, TroubleCode
from kb.intake.account import Fine
from kb.intake.in_vain import (
    cleaned_in_vain,
    is_new_in_front,
    replaced_in_vain,
    said_new,
    without_work_before,
)
from kb.intake.lifting import Place
from kb.intake.spelling import mended
from kb.intake.subjects import (
    seen_to_work,
    subject_words,
    subjects_of,
    trade_subjects,
    works_and_yet,
)
from kb.intake.systems import guess_system
from kb.intake.wording import Wording

_NOT = r"no|not|never|nothing|wo?n'?t|will not|does ?n'?t|does not|is ?n'?t|did ?n'?t"


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


FINE = _words("fine ok okay good normal normally well alright healthy perfect perfectly strong")
_LINKS = _words(
    "is are seem seems look looks read reads test tests tested check checks checked work works"
    " working run runs running feel feels sound sounds all still also both very quite"
)
_BRISKLY = _words(
    "fast quickly quick briskly brisk freely strongly over away at the a its same usual full right"
    " proper speed speeds rate rpm as should it always ever does nice nicely"
)
_OPENING = _words("the a and it engine motor car still he she they")
_DENIED = _words(
    "no not never nothing hardly barely was were had if unless until when then after once sometimes"
    " usually mostly often"
)
"""Words by which a clause says the contrary, or says it of another time or of a condition."""
_STARTS_LATE = frozenset([System.FUEL_MIXTURE, System.IGNITION])
"""What an engine is short of that is cranked well and starts late."""
C = TypeVar("C")
MOST_WORDS = 4
"""Words of a part: a longer clause tells of more than that a part is fine."""
_LONGEST = 160
"""Characters of a clause beyond which it says more than that."""
_CLAUSES = re.compile(
    r"[,;:!](?=\s|$)|(?<!\bcyl)(?<!\bzyl)(?<!\bno)(?<!\bnr)\.(?=\s|$)|[()\n]|\s[-–]\s"
    r"|\b(?:but|though|although|yet|however)\b",
    re.IGNORECASE,
)
_TURNS = re.compile(
    rf"\b(?P<well>{'|'.join(FINE)}|over|cranks|spins)\s+(?:and\s+)?(?=(?:{_NOT})\b)", re.IGNORECASE
)

_HELD = (
    r"(?:horn(?: pad| button)?|brake|clutch|throttle|accelerator|pedal|button|switch|seat ?belt"
    r"|belt|buckle|handbrake|door handle|hupe|bremse|kupplung|gurt|klaxon|frein|ceinture)"
)
_STATES = re.compile(
    rf"\b(?:(?:with|while|when|if|bei|mit|avec|quand)\s+)?(?:(?:the|both|brake|seat|clutch)\s+)*{_HELD}"
    r"\s+(?:(?:is|was|being|kept|fully)\s+)*(?:pressed|depressed|pushed in|held(?: down)?|latched"
    r"|unlatched|buckled|unbuckled|fastened|unfastened|plugged in|released|gedr[üu]ckt|getreten"
    r"|angelegt|gesteckt|appuy[ée]e?|boucl[ée]e)\b(?!\s+(?:itself|by itself|on its own|stays?))",
    re.IGNORECASE,
)
"""What was done to the car while it was looked at: no fault (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class SaidFine:
    """What a text says is well.

    Attributes
    ----------
    rest : str
        The text without the clauses that say so, without what was done to the car while it was
        looked at ("horn pressed") and without the work that the trouble came after, unless it tells
        nothing else, or what is new alone says what it is about; else the text itself.
    parts : str
        The words of what is said to be fine.
    working : frozenset of str
        The subjects (`kb.intake.subjects`) that are seen to work.
    in_vain : str
        The words of what was replaced without effect (`kb.intake.in_vain`).
    new : str
        The words of what is told to be new behind what is wrong, or before it if it is a
        battery.
    cleaned : str
        The words of what was cleaned without effect.
    """

    rest: str
    parts: str = ""
    working: frozenset[str] = frozenset()
    in_vain: str = ""
    new: str = ""
    cleaned: str = field(default="", repr=False)

    def subjects(self, wording: Wording) -> frozenset[str]:
        """Return the subjects of the rest that are not seen to work.

        Examples
        --------
        >>> words = Wording.default()
        >>> sorted(said_fine("wipers fine, horn dead", words).subjects(words))
        ['horn']
        """
        words = mended(wording.tokens(self.rest), subject_words(wording), wording)
        return subjects_of(" ".join(words), wording) - self.working


def said_fine(text: str, wording: Wording) -> SaidFine:
    """Find what a text says is well, a clause each.

    A clause counts where it says that and nothing else: what is fine when cold, was fine, or is
    asked about may be at fault.

    Examples
    --------
    >>> wording = Wording.default()
    >>> said_fine("Battery ok but won't crank", wording)
    SaidFine(rest="won't crank", parts='battery', working=frozenset(), in_vain='', new='')
    >>> sorted(said_fine("no start, cranks fine", wording).working)
    ['battery', 'main cables', 'starting']
    >>> said_fine("starts fine when cold", wording)
    SaidFine(rest='starts fine when cold', parts='', working=frozenset(), in_vain='', new='')
    >>> said_fine("misfire, coil swapped no change", wording).in_vain
    'coil'
    >>> said_fine("abs lamp on after wheel bearing replaced", wording).rest
    'abs lamp on'
    >>> said_fine("airbag lamp flickers, horn pressed", wording).rest
    'airbag lamp flickers, '
    """
    text = _without_states(text)
    rest, parts, in_vain, new = list[str](), list[str](), list[str](), list[str]()
    cleaned = list[str]()
    working: set[str] = set()
    of_work = False
    working |= works_and_yet(text, wording)
    for place, told in _judgements(text, wording):
        working |= told.works
        parts += told.fine
        in_vain += told.in_vain
        new += told.new
        cleaned += told.cleaned
        clause = "" if any(told) else text[slice(*place)].strip()
        bare = without_work_before(clause, wording)
        of_work |= bare != clause
        if bare:
            rest.append(bare)
    if not (parts or working or in_vain or new or cleaned or (of_work and rest)):
        return SaidFine(text)
    words = (" ".join(each) for each in (in_vain, new, cleaned))
    left = ", ".join(rest)
    if new and not subjects_of(left, wording):
        left = text  # "new battery, flat overnight": what is flat stands beside what is new
    return SaidFine(left, " ".join(parts), frozenset(working), *words)


def _without_states(text: str) -> str:
    """Leave out what was done to the car while it was looked at, if anything else is told."""
    bare = _STATES.sub("", text)
    return bare if any(map(str.isalpha, bare)) else text


def fine_parts(text: str, wording: Wording) -> Iterator[tuple[Fine, Place]]:
    """Yield what a text says is well as it was typed, and where, clause by clause.

    Examples
    --------
    >>> trade = Wording.default()
    >>> [(fine.what, fine.works) for fine, _ in fine_parts("Battery ok, cranks fine, dead", trade)]
    [('Battery', False), ('cranks', True)]
    """
    for (start, end), told in _judgements(text, wording):
        if end - start > _LONGEST or not any(told):
            continue
        typed = text[start:end].split()
        while len(typed) > 1 and typed[-1].casefold() in FINE | _LINKS | _BRISKLY:
            typed.pop()
        begin = start + len(text[start:end]) - len(text[start:end].lstrip())
        place = Place(begin, start + len(text[start:end].rstrip()))
        what = " ".join(typed)
        yield (
            Fine(
                what,
                works=bool(told.works),
                in_vain=bool(told.in_vain),
                is_new=bool(told.new),
                is_clean=bool(told.cleaned),
            ),
            place,
        )


class _Told(NamedTuple):
    """What a clause says is well: what is seen to work, or the words of a part."""

    works: frozenset[str] = frozenset()
    fine: Sequence[str] = ()
    in_vain: Sequence[str] = ()
    new: Sequence[str] = ()
    cleaned: Sequence[str] = ()


def _judgements(text: str, wording: Wording) -> Iterator[tuple[Place, _Told]]:
    """Yield every clause with what it says is well.

    A part is new only behind what is wrong, or in front of it where it is a battery: what else was
    renewed before may be how the trouble came.
    """
    places = list(_clauses(text))
    of_trouble = False
    for place, behind in _with_next(places, Place(len(text), len(text))):
        told = _told(text[slice(*place)], text[slice(*behind)], wording, behind_trouble=of_trouble)
        of_trouble |= not any(told) and bool(text[slice(*place)].strip())
        yield place, told


def _told(clause: str, behind: str, wording: Wording, *, behind_trouble: bool) -> _Told:
    works, fine = _judged(clause, wording)
    if works or fine:
        return _Told(works, fine)
    if vain := replaced_in_vain(clause, behind, wording):
        return _Told(in_vain=vain)
    if cleaned := cleaned_in_vain(clause, behind, wording):
        return _Told(cleaned=cleaned)
    new = said_new(clause, wording)
    return _Told(new=new if behind_trouble or is_new_in_front(new, behind) else ())


def _with_next(clauses: Sequence[C], none: C) -> Iterator[tuple[C, C]]:
    """Yield every clause with the one behind it, the last with `none`."""
    return zip(clauses, (*clauses[1:], none), strict=False)


def _clauses(text: str) -> Iterator[Place]:
    """Yield where the clauses of a text stand; what is well ends before a denial behind it."""
    cuts = [match.span() for match in _CLAUSES.finditer(text)]
    cuts += [(match.end("well"), match.end()) for match in _TURNS.finditer(text)]
    start = 0
    for stop, goes_on in (*sorted(cuts), (len(text), len(text))):
        yield Place(start, max(start, stop))
        start = max(start, goes_on)


def _judged(clause: str, wording: Wording) -> tuple[frozenset[str], list[str]]:
    """Return the subjects that a clause shows to work, and the words of the part that is fine."""
    if not any(map(str.isalpha, clause)):
        return frozenset(), []
    words = _without(wording.tokens(clause), _OPENING)
    works = seen_to_work(words, wording, FINE | _LINKS | _BRISKLY)
    return works, [] if works or "?" in clause else _fine_part(words)


def system_at_fault(
    text: str, wording: Wording, codes: Sequence[TroubleCode] = ()
) -> System | None:
    """Guess the part of the car as `guess_system` does, but not from what the text says is well.

    Examples
    --------
    >>> words = Wording.default()
    >>> [system_at_fault(text, words) for text in ("no start", "cranks, no start")]
    [<System.CHARGING_STARTING: 'charging and starting'>, None]
    """
    found = said_fine(text, wording)
    about = {trade_subjects()[each][0] for each in found.subjects(wording)}
    if works_and_yet(found.rest, wording) and about <= _STARTS_LATE:
        return guess_system("", codes) or System.FUEL_MIXTURE
    if found.working and not found.subjects(wording):
        return guess_system("", codes)
    return guess_system(" ".join(wording.tokens(found.rest)), codes)


def _fine_part(words: list[str]) -> list[str]:
    """Return the words of the part that a clause says is fine; none if it says anything else."""
    if not words or words[-1] not in FINE or not _DENIED.isdisjoint(words):
        return []
    part = words[:-1]
    while part and part[-1] in _LINKS:
        part.pop()
    return part if len(part) <= MOST_WORDS else []


def _without(words: list[str], opening: frozenset[str]) -> list[str]:
    """Leave out what opens a clause and says nothing."""
    start = next((at for at, word in enumerate(words) if word not in opening), len(words))
    return words[start:]
