"""What can hurt somebody at a job: one judgement, of everything that is known of it.

The hazards stand in ``hazards.toml`` beside this module, to be read and edited by the trade. Each
says what raises it: the part of the car, codes, words, places, the vehicle's engine. Where these
disagree, all of them count: a hazard is there if anything speaks for it.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import cache, cached_property, lru_cache
from itertools import chain, product
from operator import attrgetter
from pathlib import Path
from typing import Self, TypeVar

import msgspec

from kb.case import Cause, Complaint, Job, Quantity, Reading, System, TroubleCode, Vehicle
from kb.intake.items import trade_items, trade_wording
from kb.intake.known_words import is_known
from kb.intake.lifting import longest_phrases
from kb.intake.systems import guess_system, system_of_code, trade_words
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.safety.igniter_concern import about_igniter, is_of_drive, tells_loop
from kb.tables import read_table

TABLE = Path(__file__).with_name("hazards.toml")
DEFERENCE = "Manufacturer's procedure, local rules and licensed practice go first."
"""Stands under every caution."""
MOST = 3
"""How many cautions a person reads in full."""
_KILLS = 3
MOST_NAMED = 6
"""How many more a person reads the names of."""
_TENSIONER = compiled(r"tensi?on\w*", re.IGNORECASE)
_PART_END = compiled(r"[.,;!?\n ](?:(?<=[^\n ])(?=\s|$)|(?<=\n)|(?<= )- )")
"""A mark, a line's end or a dash. The sign it begins with stands first: it is what is sought."""
_GROUP = compiled(r"<([a-z ]+)>")
_TOGETHER = " + "
_MOST_BETWEEN = 3
"""How many words may stand between two that belong together."""
_PARTING = frozenset(
    ["near", "beside", "behind", "next", "by", "below", "under", "and", "but", "with"]
)
"""What stands between these does not belong together: *hose swollen near battery*."""
_OWNING = frozenset(["of", "for", "in", "from"])
"""What stands before these belongs to what follows: *battery of the remote*."""
_NUMBER = compiled(r"\d[\d.,:]*(\D*)")
_NAMES_IN_NUMBERS = frozenset(["48v", "134a", "1234yf"])
"""Numbers with a letter behind that are names, and no value: refrigerants, a hybrid's supply."""
_ALONE = compiled(r"\b(?:on (?:its|their) own|of (?:its|their) own accord)\b", re.IGNORECASE)
_MILD = compiled(r"\b48[\s-]?v(?:olts?)?\b", re.IGNORECASE)
"""The one voltage that is a name: of a mild hybrid's supply."""
_LOW_VOLTAGE = compiled(
    r"\b[0-5]?\d(?:[.,]\d+)? ?v(?:olts?)? high voltage\b"
    r"|\bhigh voltage(?: reading)?(?: of| at)? "
    r"(?:[0-5]?\d(?:[.,]\d+)? ?v(?:olts?)?|[0-5]?\d[.,]\d+)\b",
    re.IGNORECASE,
)
"""Too much of a supply or a signal: below 60 V direct current none of what can kill
(UN ECE R100, from memory)."""
_ARTICLES = frozenset(["the", "a", "an", "his", "her", "its", "my", "own", "is", "has", "was"])
_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss"})
_SHORTEST_SLIP, _SHORTEST_MISSPELT, _TWO_SLIPS_FROM = 4, 6, 10
_MOST_CACHED = 20_000

Words = tuple[str, ...]
_T = TypeVar("_T")


class Evidence(IntEnum):
    """What speaks for a hazard, the weakest first."""

    SAID = 1
    NAMED = 2
    CODE = 3
    RECORDED = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """One line of what raises a hazard: each field that is given must be met."""

    systems: tuple[System, ...] = ()
    codes: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    company: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    engines: tuple[str, ...] = ()
    before: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """One line of the table; what the fields mean is written at its head."""

    key: str
    title: str
    caution: str
    source: str
    gravity: int
    when: tuple[Sign, ...]
    unless: tuple[str, ...] = ()
    always: bool = False
    igniter: bool = False
    system: System | None = None
    covered_by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """What is known of a job, a complaint or a question, as far as it tells of hazards.

    Attributes
    ----------
    systems : tuple of System
        As recorded, or as those of suspects.
    named : tuple of str
        Items of readings, components, links of the circuit.
    places : tuple of str
        Where causes sit.
    said : tuple of str
        Everything else in words: complaint, conditions, tests, notes, entries.
    """

    systems: tuple[System, ...] = ()
    codes: tuple[TroubleCode, ...] = ()
    vehicles: tuple[Vehicle, ...] = ()
    named: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    said: tuple[str, ...] = ()

    @property
    def of_drive(self) -> bool:
        """Whether all is of a drive, whose tensioners fire nothing."""
        return is_of_drive(self.systems, self.codes, (*self.said, *self.named))

    @classmethod
    def of_job(cls, job: Job) -> Self:
        """Everything that a job has on record."""
        own = cls(
            named=(
                *(link.name for link in job.circuit),
                *(attempt.component for attempt in job.attempts),
            ),
            said=_told(
                *(text for each in job.attempts for text in (each.label, each.words)),
                job.cause.words if job.cause else None,
                job.proved_by,
                job.notes,
                *(each.text for each in job.entries),
            ),
        )
        causes = cls.of_causes(() if job.cause is None else (job.cause,))
        readings = cls.of_readings(job.readings)
        return cls.together(cls.of_complaint(Complaint.so_far(job)), readings, own, causes)

    @classmethod
    def of_complaint(cls, complaint: Complaint) -> Self:
        """What is asked with."""
        system = complaint.system
        named = system is not None and _only_names(complaint.text, system)
        return cls(
            systems=() if system is None or named else (system,),
            codes=complaint.codes,
            vehicles=(complaint.vehicle,),
            said=_told(
                complaint.text,
                complaint.conditions,
                *(f"{test.name}. {test.seen}" for test in complaint.tests),
            ),
        ) | cls.of_readings(complaint.readings)

    @classmethod
    def of_readings(cls, readings: Iterable[Reading]) -> Self:
        """What was measured. A belt tensioner that has a resistance is no engine's: it fires."""
        taken = tuple(readings)
        fires = any(
            each.quantity is Quantity.RESISTANCE and _TENSIONER.search(each.item) for each in taken
        )
        return cls(
            systems=(System.RESTRAINTS,) if fires else (),
            named=tuple(each.item for each in taken),
            said=_told(*(_joined(each.method, each.condition) for each in taken)),
        )

    @classmethod
    def of_jobs(cls, jobs: Iterable[Job]) -> Self:
        """Several jobs of which little more than the complaints is told."""
        situation = cls()
        for job in jobs:
            situation |= cls.of_complaint(Complaint.of(job))
        return situation

    @classmethod
    def of_causes(cls, causes: Iterable[Cause], systems: Iterable[System | None] = ()) -> Self:
        """Suspects, or causes that are told of, with the parts of the car they belong to."""
        told = tuple(causes)
        return cls(
            systems=tuple(system for system in systems if system is not None),
            named=tuple(cause.component for cause in told),
            places=_told(*(cause.location for cause in told)),
        )

    @classmethod
    def together(cls, *parts: Self) -> Self:
        """All of them, each thing once."""
        told = zip(*map(_all_of, parts), strict=True)
        return cls(
            **{
                name: tuple(dict.fromkeys(chain(*each))) if any(each) else ()
                for name, each in zip(cls.__slots__, told, strict=True)
            }
        )

    def __or__(self, other: Self) -> Self:
        """Both together, each thing once."""
        return self.together(self, other)


_all_of = attrgetter(*Situation.__slots__)


def _told(*texts: str | None) -> tuple[str, ...]:
    return tuple(text for text in texts if text)


def _joined(*texts: str | None) -> str:
    return ". ".join(_told(*texts))


def hazards(situation: Situation, wording: Wording) -> tuple[Hazard, ...]:
    """Judge what can hurt somebody.

    Parameters
    ----------
    situation : Situation
    wording : Wording
        The trade's and the shop's own words.

    Returns
    -------
    tuple of Hazard
        First what can kill and is always said, then the others; of either the likeliest first, by
        gravity times the strength of the strongest evidence, then in the order of the table. More
        evidence never takes one away.

    Examples
    --------
    >>> found = hazards(Situation(said=("lamp on, LF pretensioner 6.1 ohm",)), Wording.default())
    >>> [hazard.key for hazard in found]
    ['restraints']
    """
    table = hazard_table()
    seen = _Seen(situation, wording)
    rank: dict[int, int] = {}
    for place, hazard in enumerate(table):
        if strongest := max(_strengths(place, hazard, seen)):
            rank[place] = strongest * hazard.gravity
    order = sorted(rank, key=lambda place: (not _comes_first(table[place]), -rank[place], place))
    return tuple(table[place] for place in order)


def is_raised(system: System, situation: Situation, wording: Wording) -> bool:
    """Whether any hazard of a part of the car is there: `concerns`, where no other is asked for.

    Examples
    --------
    >>> situation = Situation(said=("lamp on, LF pretensioner 6.1 ohm",))
    >>> is_raised(System.RESTRAINTS, situation, Wording.default())
    True
    """
    seen = _Seen(situation, wording)
    asked = ((at, each) for at, each in enumerate(hazard_table()) if each.system is system)
    return any(any(_strengths(place, hazard, seen)) for place, hazard in asked)


def _strengths(place: int, hazard: Hazard, seen: "_Seen") -> Iterator[int]:
    """Yield the strength of each sign of a hazard, 0 where it is not met."""
    yield from (_strength(place, at, sign, seen) for at, sign in enumerate(hazard.when))
    if hazard.igniter:
        yield _igniter(seen.situation, place, seen.lexicon.words)


def _comes_first(hazard: Hazard) -> bool:
    return hazard.always and hazard.gravity == _KILLS


def cautions(found: Sequence[Hazard], most: int = MOST) -> tuple[str, ...]:
    """Put hazards into words: so many in full, the rest in one line that names them.

    Parameters
    ----------
    found : sequence of Hazard
        As `hazards` ranks them.
    most : int
        How many are said in full; those marked `always` are, however many they be.

    Returns
    -------
    tuple of str
        Empty only if nothing was found. The deference to the manufacturer is
        `DEFERENCE`.

    Examples
    --------
    >>> cooling = Situation(systems=(System.COOLING,))
    >>> cautions(hazards(cooling, Wording.default()), most=1)
    ('Hot coolant scalds: open it cold only.', 'Also: fans that start by themselves.')
    """
    keys = {hazard.key for hazard in found}
    told = [hazard for hazard in found if hazard.covered_by not in keys]
    room = most - sum(hazard.always for hazard in told)
    others = [hazard for hazard in told if not hazard.always]
    rest = others[max(room, 0) :]
    full = [hazard for hazard in told if hazard not in rest]
    return (*(hazard.caution for hazard in full), *_folded([each.title for each in rest]))


def _folded(titles: Sequence[str]) -> tuple[str, ...]:
    """Return the line that names what is not said in full; none where all is."""
    if not titles:
        return ()
    more = len(titles) - MOST_NAMED
    named = ", ".join(titles[:MOST_NAMED])
    return (f"Also: {named}{f' and {more} more' if more > 0 else ''}.",)


def cautions_of(situation: Situation, wording: Wording) -> tuple[str, ...]:
    """Return the cautions that come before anything told of a situation."""
    return cautions(hazards(situation, wording))


def cautions_of_list(situation: Situation, wording: Wording) -> tuple[str, ...]:
    """Return the cautions above a list, where no one job is worked on: the gravest, others named.

    Examples
    --------
    >>> listed = Situation(systems=(System.RESTRAINTS, System.FUEL_MIXTURE))
    >>> len(cautions_of_list(listed, Wording.default()))
    2
    """
    found = sorted(hazards(situation, wording), key=lambda each: (not each.always, -each.gravity))
    return cautions([replace(each, always=False) for each in found], most=1)


def concerns(found: Iterable[Hazard], system: System) -> bool:
    """Whether any hazard found belongs to a part of the car.

    A lock asks so; for high voltage it leaves the vehicle out of the situation, or every job on a
    hybrid would be locked.

    Examples
    --------
    >>> found = hazards(Situation(said=("lamp on, LF pretensioner 6.1 ohm",)), Wording.default())
    >>> concerns(found, System.RESTRAINTS), concerns(found, System.HIGH_VOLTAGE)
    (True, False)
    """
    return any(hazard.system is system for hazard in found)


@cache
def hazard_table() -> tuple[Hazard, ...]:
    """Read the table, once, with the words of its groups written out."""
    return tuple(
        replace(
            hazard,
            unless=_written_out(hazard.unless),
            when=tuple(
                replace(
                    sign,
                    words=_written_out(sign.words),
                    company=_written_out(sign.company),
                    places=_written_out(sign.places),
                    engines=_written_out(sign.engines),
                )
                for sign in hazard.when
            ),
        )
        for hazard in _file().hazard
    )


def _written_out(texts: Iterable[str]) -> tuple[str, ...]:
    """Write wordings of the table out with each word of the groups that they name."""
    return tuple(written for text in texts for written in _without_groups(text))


def _without_groups(text: str) -> Iterator[str]:
    named = _GROUP.search(text)
    if named is None:
        yield text
        return
    for word in _file().groups[named[1]]:
        yield from _without_groups(text[: named.start()] + word + text[named.end() :])


@dataclass(frozen=True, slots=True, kw_only=True)
class NotOf:
    """Words that name a part of the car though the work is not on it: *key stuck in ignition*."""

    system: System
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _File:
    hazard: tuple[Hazard, ...]
    spelt: tuple[str, ...]
    not_of: tuple[NotOf, ...]
    elsewhere: tuple[str, ...]
    marks: tuple[str, ...]
    deeds: tuple[str, ...]
    between: tuple[str, ...]
    groups: dict[str, tuple[str, ...]]
    stems: dict[str, str]


@cache
def _file() -> _File:
    return msgspec.convert(read_table(TABLE), _File)


def _only_names(text: str, system: System) -> bool:
    """Whether a complaint names a system only as *key stuck in ignition* does."""
    named = _not_of().get(system)
    if not named:
        return False
    told = f" {' '.join(_tokens(text, trade_wording()))} "
    return any(words in told for words in named)


@cache
def _not_of() -> Mapping[System, Sequence[str]]:
    """Return the words that name a system only, as they stand among others."""
    named: dict[System, list[str]] = defaultdict(list)
    for each in _file().not_of:
        told = (_tokens(words, trade_wording()) for words in each.words)
        named[each.system] += (f" {' '.join(words)} " for words in told)
    return dict(named)


Place = tuple[int, int]
"""Hazard and sign, by their places in the table."""


@dataclass(frozen=True)
class _Seen:
    """What is found of a situation, with the strength of the evidence; looked for when asked."""

    situation: Situation
    wording: Wording

    @cached_property
    def lexicon(self) -> "_Lexicon":
        """The table's words as the wording reads them."""
        return _lexicon(self.wording)

    @cached_property
    def systems(self) -> Mapping[System, Evidence]:
        """Parts of the car that are recorded, or that a code is of."""
        of_codes = {system: Evidence.CODE for system in self._of_codes if system}
        return of_codes | dict.fromkeys(self.situation.systems, Evidence.RECORDED)

    @cached_property
    def codes(self) -> tuple[str, ...]:
        """Codes without their failure types."""
        return tuple(code.code for code in self.situation.codes)

    @cached_property
    def engines(self) -> frozenset[str]:
        """Words of the vehicles' engines."""
        named = (vehicle.engine or "" for vehicle in self.situation.vehicles)
        return frozenset(word for each in named for word in _tokens(each, self.wording))

    @cached_property
    def words(self) -> Mapping[Place, Evidence]:
        """Signs whose words are said or named."""
        phrases = self.lexicon.words
        said = dict.fromkeys(phrases.in_texts(self.situation.said), Evidence.SAID)
        return said | dict.fromkeys(phrases.in_texts(self.situation.named), Evidence.NAMED)

    @cached_property
    def company(self) -> frozenset[Place]:
        """Signs whose company is said or named."""
        told = (*self.situation.said, *self.situation.named)
        return frozenset(self.lexicon.company.in_texts(told))

    @cached_property
    def places(self) -> frozenset[Place]:
        """Signs whose places are told."""
        return frozenset(self.lexicon.places.in_texts(self.situation.places))

    @cached_property
    def oldest(self) -> int | None:
        """Year of the oldest vehicle."""
        return min((each.year for each in self.situation.vehicles if each.year), default=None)

    def raises(self, system: System, hazard: int) -> Evidence | None:
        """Return how strongly a part of the car speaks for a hazard.

        One that the words speak for is worth no more than these, told or guessed: *air conditioning
        display dead*; what concerns an igniter always counts.
        """
        found = self.systems.get(system)
        if found is Evidence.RECORDED and self._is_only_named(system, hazard):
            return None
        return found

    def _is_only_named(self, system: System, hazard: int) -> bool:
        """Whether nothing speaks for it but words that are, to a hazard, something else."""
        if hazard_table()[hazard].igniter or system in self._of_codes:
            return False
        speaking = [text for text, guessed in self._guessed if guessed is system]
        left = (_without_harmless(text, hazard, self.lexicon.words) for text in speaking)
        return bool(speaking) and all(guess_system(text) is not system for text in left)

    @cached_property
    def _of_codes(self) -> frozenset[System | None]:
        return frozenset(map(system_of_code, self.situation.codes))

    @cached_property
    def _guessed(self) -> list[tuple[str, System | None]]:
        return [(text, guess_system(text)) for text in self.situation.said]


def _strength(hazard: int, place: int, sign: Sign, seen: _Seen) -> int:
    """Strength of the strongest part of a sign; 0 if any part of it is not met."""
    strongest = 0
    for part in _parts_of(hazard, place, sign, seen):
        if not part:
            return 0
        strongest = max(strongest, part)
    return strongest


def _parts_of(hazard: int, place: int, sign: Sign, seen: _Seen) -> Iterator[int]:
    """Yield the strength of each part of a sign, 0 if it is not met."""
    if sign.systems:
        yield max((seen.raises(system, hazard) or 0 for system in sign.systems), default=0)
    if sign.codes:
        yield Evidence.CODE * any(code.startswith(sign.codes) for code in seen.codes)
    if sign.words:
        yield seen.words.get((hazard, place), 0)
    if sign.company:
        yield Evidence.SAID * ((hazard, place) in seen.company)
    if sign.places:
        yield Evidence.NAMED * ((hazard, place) in seen.places)
    if sign.before:
        yield Evidence.NAMED * (seen.oldest is not None and seen.oldest < sign.before)
    if sign.engines:
        yield Evidence.NAMED * (not seen.engines.isdisjoint(sign.engines))


Span = tuple[int, int]


@dataclass(frozen=True, slots=True, eq=False)
class _Phrases:
    """Wordings of the table, ready to be looked for in texts."""

    wording: Wording
    raising: Mapping[Words, tuple[Place, ...]]
    harmless: Mapping[Words, tuple[int, ...]]
    """Wordings that are something else -> the hazards they are not."""
    raising_pairs: Mapping[Words, Mapping[Words, tuple[Place, ...]]]
    """Of two wordings that go together the one -> the other -> what they mean."""
    harmless_pairs: Mapping[Words, Mapping[Words, tuple[int, ...]]]
    things: frozenset[Words]
    """What is no part of a car, so that what belongs to it is none either."""
    marks: frozenset[Words]
    """What is only written or drawn, as is then the thing named right before it."""
    spelling: frozenset[str]
    every: frozenset[Words]
    longest: Mapping[str, int]
    """Words of the longest wording that begins with each word."""

    def in_texts(self, texts: Iterable[str]) -> Iterator[Place]:
        """Yield the signs whose words stand in the texts."""
        for text in texts:
            yield from _signs_in(text, self)

    def signs(self, text: str) -> Iterator[Place]:
        """Yield the signs whose words stand in a text."""
        for words in self._read([text]):
            spans = self._spans(words)
            found = list(_found(self.raising, self.raising_pairs, spans, words))
            if not found:
                continue
            covered, of_things = self._covered(words, spans), self._of_things(words, spans)
            for places, span in found:
                if of_things.isdisjoint(span):
                    yield from (place for place in places if covered[place[0]].isdisjoint(span))

    def without_harmless(self, text: str, hazard: int) -> str:
        """Return a text less the words that say something else than a hazard."""
        told: list[str] = []
        for words in self._read([text]):
            spans = self._spans(words)
            out = self._covered(words, spans)[hazard] | self._of_things(words, spans)
            told.append(" ".join(word for at, word in enumerate(words) if at not in out))
        return ". ".join(told)

    def _read(self, texts: Iterable[str]) -> Iterator[list[str]]:
        for text in texts:
            for part in _parts(text, self.wording):
                words = [self._spelt(word) for word in part]
                yield words
                if renamed := _renamed(words, self.wording):
                    yield renamed

    def _spans(self, words: Sequence[str]) -> Mapping[Words, list[Span]]:
        found: dict[Words, list[Span]] = defaultdict(list)
        for start in range(len(words)):
            most = self.longest.get(words[start], 0)
            for end in range(start + 1, min(start + most, len(words)) + 1):
                phrase = tuple(words[start:end])
                if phrase in self.every:
                    found[phrase].append((start, end))
        return found

    def _covered(
        self, words: Sequence[str], spans: Mapping[Words, list[Span]]
    ) -> Mapping[int, set[int]]:
        """Places of the words that, to each hazard, say something else."""
        covered: dict[int, set[int]] = defaultdict(set)
        for hazards_, span in _found(self.harmless, self.harmless_pairs, spans, words):
            for hazard in hazards_:
                covered[hazard].update(span)
        return covered

    def _of_things(self, words: Sequence[str], spans: Mapping[Words, list[Span]]) -> set[int]:
        """Places of things that are no part of a car, and of what belongs to them."""
        found: set[int] = set()
        for thing in self.things & spans.keys():
            for start, end in spans[thing]:
                before = [at for at in (start - 1, start - 2) if at > 0 and words[at] in _OWNING]
                found.update(range(before[0] - 1 if before else start, end + 1))
        return found | self._only_written(words, spans)

    def _only_written(self, words: Sequence[str], spans: Mapping[Words, list[Span]]) -> set[int]:
        """Places of things of which only a mark is told: *refrigerant label unreadable*."""
        found: set[int] = set()
        for mark in self.marks & spans.keys():
            for start, end in spans[mark]:
                last = start - (start > 0 and words[start - 1] in _file().between)
                named = [begun for at in spans.values() for begun, over in at if over == last]
                found.update(range(min(named, default=start), end))
        return found

    def _spelt(self, word: str) -> str:
        return word if word in self.spelling else _meant(word, self.spelling)


def _found(
    single: Mapping[Words, tuple[_T, ...]],
    pairs: Mapping[Words, Mapping[Words, tuple[_T, ...]]],
    spans: Mapping[Words, list[Span]],
    words: Sequence[str],
) -> Iterator[tuple[tuple[_T, ...], frozenset[int]]]:
    """Yield what is meant by each wording found, and where its words stand."""
    for phrase, at in spans.items():
        for start, end in at:
            if meant := single.get(phrase):
                yield meant, frozenset(range(start, end))
    for one, other in product([each for each in spans if each in pairs], spans):
        if meant := pairs[one].get(other):
            for first, second in product(spans[one], spans[other]):
                if _belong_together(first, second, words):
                    yield meant, frozenset((*range(*first), *range(*second)))


def _belong_together(one: Span, other: Span, words: Sequence[str]) -> bool:
    first, second = sorted((one, other))
    between = words[first[1] : second[0]]
    return first[1] <= second[0] and len(between) <= _MOST_BETWEEN and _PARTING.isdisjoint(between)


@dataclass(frozen=True, slots=True)
class _Lexicon:
    words: _Phrases
    company: _Phrases
    places: _Phrases


@lru_cache(maxsize=_MOST_CACHED)
def _signs_in(text: str, phrases: _Phrases) -> tuple[Place, ...]:
    """Return each sign once whose words stand in a text; a shop says most things often."""
    return tuple(dict.fromkeys(phrases.signs(text)))


@lru_cache(maxsize=_MOST_CACHED)
def _without_harmless(text: str, hazard: int, phrases: _Phrases) -> str:
    return phrases.without_harmless(text, hazard)


def _igniter(situation: Situation, hazard: int, phrases: _Phrases) -> int:
    if tells_loop(situation.systems, situation.codes, situation.said):
        return Evidence.CODE
    of_drive = situation.of_drive
    for strength, texts in ((Evidence.NAMED, situation.named), (Evidence.SAID, situation.said)):
        if about_igniter(texts, of_drive=of_drive) and about_igniter(
            (_without_harmless(text, hazard, phrases) for text in texts), of_drive=of_drive
        ):
            return strength
    return 0


@dataclass(frozen=True, slots=True, eq=False)
class _ByContent:
    """A wording compared by what it holds, as every opening of a store builds an equal one anew."""

    wording: Wording

    def __hash__(self) -> int:
        return hash((len(self.wording.shorthand), frozenset(self.wording.phrases.items())))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, _ByContent):
            return NotImplemented
        mine, theirs = self.wording, other.wording
        return (mine.shorthand, mine.phrases, mine.sayings) == (
            theirs.shorthand,
            theirs.phrases,
            theirs.sayings,
        )


@lru_cache(maxsize=4)
def _lexicon(wording: Wording) -> _Lexicon:
    """Find the table's words as a wording reads them."""
    return _read(_ByContent(wording))


@lru_cache(maxsize=4)
def _read(content: _ByContent) -> _Lexicon:
    """Read the table's words as a wording of this content reads them."""
    wording = content.wording
    table = hazard_table()
    harmless, harmless_pairs = _by_phrase(
        ((text, place) for place, hazard in enumerate(table) for text in hazard.unless), wording
    )
    things = frozenset(tuple(_tokens(text, wording)) for text in _file().elsewhere)
    marks = frozenset(tuple(_tokens(text, wording)) for text in _file().marks)

    def phrases(field: str) -> _Phrases:
        raising, raising_pairs = _by_phrase(
            (
                (text, (place, at))
                for place, hazard in enumerate(table)
                for at, sign in enumerate(hazard.when)
                for text in getattr(sign, field)
            ),
            wording,
        )
        paired = (
            phrase
            for pairs in (raising_pairs, harmless_pairs)
            for one, others in pairs.items()
            for phrase in (one, *others)
        )
        every = frozenset((*raising, *harmless, *paired, *things, *marks))
        return _Phrases(
            wording=wording,
            raising=raising,
            harmless=harmless,
            raising_pairs=raising_pairs,
            harmless_pairs=harmless_pairs,
            things=things,
            marks=marks,
            spelling=frozenset(word for phrase in every for word in phrase),
            every=every,
            longest=longest_phrases(every),
        )

    return _Lexicon(phrases("words"), phrases("company"), phrases("places"))


def _by_phrase(
    pairs: Iterable[tuple[str, _T]], wording: Wording
) -> tuple[Mapping[Words, tuple[_T, ...]], Mapping[Words, Mapping[Words, tuple[_T, ...]]]]:
    """Sort wordings of the table into those that stand as one and those of two that go together."""
    single: dict[Words, list[_T]] = defaultdict(list)
    double: dict[Words, dict[Words, list[_T]]] = defaultdict(lambda: defaultdict(list))
    for text, meant in pairs:
        one, *other = (tuple(_tokens(part, wording)) for part in text.split(_TOGETHER))
        if other:
            double[one][other[0]].append(meant)
        else:
            single[one].append(meant)
    return (
        {phrase: tuple(each) for phrase, each in single.items()},
        {
            one: {other: tuple(each) for other, each in others.items()}
            for one, others in double.items()
        },
    )


@lru_cache(maxsize=_MOST_CACHED)
def _parts(text: str, wording: Wording) -> Sequence[Sequence[str]]:
    """Return the words of each part of a text between its stops.

    A part that is nothing but a deed is done to what stands before it, so that both are a part,
    too: *headlining sagging, replace*.
    """
    before: list[str] = []
    parts: list[list[str]] = []
    for part in _PART_END.split(text):
        if words := _tokens(part, wording):
            parts.append(words)
            if before and _deeds().issuperset(words):
                parts.append(before + words)
            before = words
    return parts


@cache
def _deeds() -> frozenset[str]:
    """Words of which a part that tells a deed alone may be made."""
    wording = trade_wording()
    return frozenset(word for each in _file().deeds for word in _tokens(each, wording))


def _tokens(text: str, wording: Wording) -> list[str]:
    """Words of a text with shorthand written out, numbers, plurals and articles evened out."""
    found: list[str] = []
    for word in wording.tokens(_plainly_told(text)):
        if word in _NAMES_IN_NUMBERS:
            found.append(word)
        elif number := _NUMBER.fullmatch(word):
            found += ["#", *([number[1]] if number[1] else [])]
        elif word not in _ARTICLES:
            found += _stem(word)
    return found


def _plainly_told(text: str) -> str:
    """Write what is told in several words, or by a voltage, in the words of the table."""
    if "48" in text:
        text = _MILD.sub("48v", text)
    folded = text.casefold()
    if "gh volt" in folded:
        text = _LOW_VOLTAGE.sub("too many volts", text)
    return _ALONE.sub("itself", text) if "own" in folded else text


@lru_cache(maxsize=_MOST_CACHED)
def _stem(word: str) -> tuple[str, ...]:
    """Return a word without its plural s, or what a German compound is, by its beginning."""
    plain = word.translate(_UMLAUTS)
    if not plain.startswith(_stems()):
        return (_singular(word),)
    begun = max((stem for stem in _stems() if plain.startswith(stem)), key=len)
    return tuple(map(_singular, _file().stems[begun].split()))


@cache
def _stems() -> tuple[str, ...]:
    return tuple(_file().stems)


def _singular(word: str) -> str:
    plural = len(word) > 3 and word.endswith("s") and not word.endswith("ss")
    return word[:-1] if plural else word


def _renamed(words: Sequence[str], wording: Wording) -> list[str]:
    """Words with the shop's own names of things replaced by what is meant; empty if none stands."""
    text = before = f" {' '.join(words)} "
    for name, meant in wording.phrases.items():
        told, said = (" ".join(_tokens(each, wording)) for each in (name, meant))
        text = text.replace(f" {told} ", f" {said} ")
    return [] if text == before else text.split()


@lru_cache(maxsize=_MOST_CACHED)
def _meant(word: str, spelling: frozenset[str]) -> str:
    """Return the table's word that a word was meant to be, else the word itself."""
    if word in _known():
        return word
    if len(word) < _SHORTEST_MISSPELT:
        return _short_meant(word, spelling)
    from rapidfuzz.distance import OSA  # noqa: PLC0415 - only a strange word needs it

    most = 1 if len(word) < _TWO_SLIPS_FROM else 2
    sizes = range(len(word) - most, len(word) + most + 1)
    framed = (each for size in sizes for each in _framed(spelling).get((*_ends(word), size), ()))
    near = [(OSA.distance(word, each, score_cutoff=most), each) for each in framed]
    best = min(near, default=(most + 1, word))
    return best[1] if best[0] <= most else word


def _short_meant(word: str, spelling: frozenset[str]) -> str:
    """Return the table's word that a short one was meant to be: a letter left out, or two swapped.

    Examples
    --------
    >>> words = frozenset(["fuel", "petrol", "wheel"])
    >>> [_short_meant(slip, words) for slip in ("fule", "petrl", "whel", "full", "petal")]
    ['fuel', 'petrol', 'wheel', 'full', 'petal']
    """
    if len(word) < _SHORTEST_SLIP or not word.isalpha():
        return word
    swapped = (
        word[:at] + word[at + 1] + word[at] + word[at + 2 :] for at in range(1, len(word) - 1)
    )
    found = {each for each in swapped if each != word and each in spelling}
    longer = _framed(spelling).get((*_ends(word), len(word) + 1), ())
    found |= {each for each in longer if _lacks(word, each)}
    return found.pop() if len(found) == 1 and not is_known(word, trade_wording()) else word


def _lacks(word: str, whole: str) -> bool:
    """Whether a word is another, longer one with one letter left out."""
    return any(word == whole[:at] + whole[at + 1 :] for at in range(len(whole)))


@lru_cache(maxsize=16)
def _framed(spelling: frozenset[str]) -> Mapping[tuple[str, str, int], Sequence[str]]:
    """Sort the longer words by their length and the ends that a slip leaves."""
    framed: dict[tuple[str, str, int], list[str]] = defaultdict(list)
    for word in spelling:
        if len(word) >= _SHORTEST_SLIP:
            framed[*_ends(word), len(word)].append(word)
    return framed


def _ends(word: str) -> tuple[str, str]:
    return word[0], word[-1]


@cache
def _known() -> frozenset[str]:
    """Words that are no slips: those of the trade's other tables, and those said to be none."""
    items = trade_items()
    names = [*items.parts, *items.readings, *trade_words()]
    return items.words.union(*(name.split() for name in names), _file().spelt)
