"""What must never be done at a hazard, told in words of any order.

The list stands in ``never.toml`` beside this module, to be read and edited by the trade; all of it
is common practice, no source. It is short and says what is judged dangerous: what it does not name
is shown, under the cautions of its job. What it has of restraints is asked where an igniter is
concerned, beside the igniter rule.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache, reduce
from operator import or_
from pathlib import Path

import msgspec

from kb.intake.known_words import is_known
from kb.intake.slips import Slips
from kb.intake.wording import Wording
from kb.safety.igniter_clauses import words_of
from kb.tables import read_table

TABLE = Path(__file__).with_name("never.toml")
AT_IGNITER = "restraints"
"""Key of the hazard whose steps are asked only where an igniter is concerned."""
_NEAR = 14
"""Within so many words stands all that tells of one step."""
_BEFORE = 4
"""So many words before a deed a denial may stand."""
_BEHIND = 6
"""And so many behind it somebody else who did it."""
_BY = frozenset(["by", "von", "vom", "durch", "par", "przez"])
_TOGETHER = " + "
_OR = "|"
_STOPS = frozenset([",", ":", "."])
_FEW_WORDS = r"(?:\ [^ ,:.]+){0,2}\ "
_NUMBER = r"(?!0(?:[.,]0+)? )\d+(?:[.,]\d+)?"
"""Any but nought: a gauge at 0 bar and a meter at 0 V tell that nothing is there."""


@dataclass(frozen=True, slots=True)
class Never:
    """A kind of step that must never be done: why, and what to do instead."""

    hazard: str
    may: str
    reason: str
    instead: str


@dataclass(frozen=True, slots=True)
class ForbiddenStep:
    """A step found in a sentence, and the words that tell it."""

    never: Never
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Entry:
    hazard: str
    may: str
    reason: str
    instead: str
    steps: tuple[str, ...]
    unless: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _File:
    never_said: tuple[str, ...]
    denials: tuple[str, ...]
    others: tuple[str, ...]
    groups: dict[str, tuple[str, ...]]
    never: tuple[_Entry, ...]


@dataclass(frozen=True, eq=False)
class _Phrases:
    """Phrases, any of which may stand; most are never looked for, and cost no pattern."""

    told: tuple[str, ...]

    @cached_property
    def pattern(self) -> re.Pattern[str]:
        return _pattern(self.told)


@dataclass(frozen=True, eq=False)
class _Part(_Phrases):
    """One part of a step, and its own bit among those of all parts.

    Only where the longest word of one of its phrases stands the pattern is looked for.
    """

    bit: int

    @property
    def longest(self) -> set[str]:
        return {max(phrase.replace("#", "").split(), key=len) for phrase in self.told}


@dataclass(frozen=True, slots=True)
class _Step:
    parts: tuple[_Part, ...]
    bits: int


@dataclass(frozen=True, slots=True)
class _Rule:
    """One entry of the table, ready to be looked for."""

    never: Never
    steps: tuple[_Step, ...]
    unless: _Phrases | None


@dataclass(frozen=True)
class _Rules:
    never: re.Pattern[str]
    denials: re.Pattern[str]
    others: re.Pattern[str]
    parts: tuple[_Part, ...]
    rules: tuple[_Rule, ...]

    @cached_property
    def elsewhere(self) -> tuple[_Rule, ...]:
        """Those that are asked where no igniter is concerned."""
        return tuple(rule for rule in self.rules if rule.never.hazard != AT_IGNITER)


def never_table() -> tuple[Never, ...]:
    """Return the kinds of steps that must never be done, in the order of the table."""
    return tuple(rule.never for rule in _rules().rules)


@lru_cache(maxsize=20_000)
def forbidden_step(
    sentence: str, wording: Wording, *, at_igniter: bool = False, before: str = ""
) -> ForbiddenStep | None:
    """Find in a sentence a step that must never be done at a hazard.

    Parameters
    ----------
    sentence : str
        One sentence that somebody typed.
    wording : Wording
        The trade's and the shop's own words.
    at_igniter : bool
        The sentence concerns an igniter, so that the steps at restraints are asked, too.
    before : str
        The sentence before it, which may tell at what the step was done.

    Returns
    -------
    ForbiddenStep or None
        None where it is denied, told of somebody else, or told with what makes it harmless.

    Examples
    --------
    >>> from kb.intake.items import trade_wording
    >>> forbidden_step("opened the radiator cap hot", trade_wording()).never.hazard
    'hot_coolant'
    >>> forbidden_step("opened the radiator cap cold, top hose was hot", trade_wording())
    >>> forbidden_step("Patch welded.", trade_wording(), before="Fuel drained.").never.hazard
    'fuel'
    """
    words = words_of(sentence, wording)
    rules = _rules().rules if at_igniter else _rules().elsewhere
    found = _step_in(words, rules)
    if found is None and (meant := [_spelt(word, wording) for word in words]) != words:
        found = _step_in(meant, rules)
    if found is None and (ahead := words_of(before, wording)):
        return _step_in([*ahead, *words], rules, done_from=len(ahead))
    return found


def _step_in(
    words: Sequence[str], rules: Iterable[_Rule], done_from: int = 0
) -> ForbiddenStep | None:
    there = reduce(or_, map(_parts_with, words), 0)
    if not there:
        return None
    text = f" {' '.join(words)} "
    for rule in rules:
        for step in rule.steps:
            if there & step.bits != step.bits:
                continue
            found = _told(text, words, step.parts, done_from)
            if found and not (rule.unless and _is_released(text, rule.unless.pattern, found)):
                told = (" ".join(words[begin:end]) for begin, end in found)
                return ForbiddenStep(rule.never, ", ".join(told))
    return None


def _is_released(text: str, unless: re.Pattern[str], step: Iterable[tuple[int, int]]) -> bool:
    """Whether words make a step harmless that are no piece of what tells it: *not recovered*."""
    return any(
        not any(
            begin <= first and last <= end and last - first < end - begin for begin, end in step
        )
        for first, last in _places(unless, text, _word_at(text))
    )


@lru_cache(maxsize=50_000)
def _parts_with(word: str) -> int:
    """Return the bits of the parts of steps that a word may stand in."""
    whole, beginnings = _bits_of_words()
    begun = (beginnings.get(word[:size], 0) for size in range(1, len(word) + 1))
    return reduce(or_, begun, whole.get(word, 0))


@cache
def _bits_of_words() -> tuple[dict[str, int], dict[str, int]]:
    """Sort the parts by the words that tell them, and by the beginnings of such words."""
    whole, beginnings = defaultdict[str, int](int), defaultdict[str, int](int)
    for part in _rules().parts:
        for word in part.longest:
            whole[word] |= part.bit
            if word.endswith("*"):
                beginnings[word[:-1]] |= part.bit
    return dict(whole), dict(beginnings)


@lru_cache(maxsize=20_000)
def _spelt(word: str, wording: Wording) -> str:
    """Return the word of the table that a word which nobody knows is a slip of, or the word."""
    if len(word) < _SHORTEST or not word.isalpha() or word in _full_words():
        return word
    near = _slips().nearest(word)
    return word if near is None or is_known(word, wording) else near


@cache
def _slips() -> Slips:
    return Slips.of(_full_words(), most=1)


_SHORTEST = 5
"""A shorter word is as near to many others."""


@cache
def _full_words() -> dict[str, None]:
    """Return the words of the table that are long enough to be meant by a slip, in its order."""
    file = msgspec.convert(read_table(TABLE), _File)
    phrases = (each for group in file.groups.values() for each in group)
    plain = (word.rstrip("*") for each in phrases for word in each.split())
    return {word: None for word in plain if len(word) >= _SHORTEST}


def _told(
    text: str, words: Sequence[str], step: Sequence[_Part], done_from: int
) -> list[tuple[int, int]]:
    """Return where the words of a step stand if its parts are near one another, and it was done.

    Its deed stands from one word on; what stands before may tell the rest of it.
    """
    parts: list[list[tuple[int, int]]] = []
    word_at = _word_at(text)
    for part in step:
        if not (spans := _places(part.pattern, text, word_at)):
            return []
        parts.append(spans)
    deeds = [
        span
        for span in parts[0]
        if span[0] >= done_from
        and not (_is_denied(words, span[0]) or _is_by_others(words, span[1]))
    ]
    marked = sorted((span, at) for at, spans in enumerate([deeds, *parts[1:]]) for span in spans)
    last: dict[int, tuple[int, int]] = {}
    for span, at in marked:
        last[at] = span
        if len(last) < len(step):
            continue
        spans = sorted(last.values())
        if spans[-1][0] - spans[0][0] <= _NEAR:
            return spans
    return []


@lru_cache(maxsize=1)
def _word_at(text: str) -> Mapping[int, int]:
    """Return which word begins at a sign of a text."""
    begins = [at + 1 for at, sign in enumerate(text) if sign == " "]
    return {begin: place for place, begin in enumerate(begins)}


def _places(part: re.Pattern[str], text: str, word_at: Mapping[int, int]) -> list[tuple[int, int]]:
    """Return the first and last word of each place where a part of a step stands."""
    return [(word_at[found.start()], word_at[found.end() + 1]) for found in part.finditer(text)]


def _is_denied(words: Sequence[str], deed: int) -> bool:
    """Whether a deed is denied, or told of somebody else, by the words before it."""
    before = list(words[:deed])
    if _rules().never.search(f" {' '.join(before)} "):
        return True
    near = before[-_BEFORE:]
    stops = [place for place, word in enumerate(near) if word in _STOPS]
    near = near[stops[-1] + 1 :] if stops else near
    told = f" {' '.join(near)} "
    return any(each.search(told) for each in (_rules().denials, _rules().others))


def _is_by_others(words: Sequence[str], end: int) -> bool:
    """Whether somebody else is named behind a deed: *opened hot by the customer*."""
    behind = words[end : end + _BEHIND]
    stops = (place for place, word in enumerate(behind) if word in _STOPS)
    behind = behind[: next(stops, len(behind))]
    by = next((place for place, word in enumerate(behind) if word in _BY), None)
    told = f" {' '.join(behind[by + 1 :])} " if by is not None else ""
    return bool(_rules().others.search(told))


@cache
def _rules() -> _Rules:
    file = msgspec.convert(read_table(TABLE), _File)
    groups = {f"<{name}>": phrases for name, phrases in file.groups.items()}
    told = {part for each in file.never for step in each.steps for part in step.split(_TOGETHER)}
    parts = {
        told_by: _Part(_named(told_by.split(_OR), groups), 1 << at)
        for at, told_by in enumerate(sorted(told))
    }
    return _Rules(
        never=_pattern(file.never_said),
        denials=_pattern(file.denials),
        others=_pattern(file.others),
        parts=tuple(parts.values()),
        rules=tuple(
            _Rule(
                never=Never(each.hazard, each.may, each.reason, each.instead),
                steps=tuple(
                    _step([parts[part] for part in step.split(_TOGETHER)]) for step in each.steps
                ),
                unless=_Phrases(_named(each.unless, groups)) if each.unless else None,
            )
            for each in file.never
        ),
    )


def _named(phrases: Iterable[str], groups: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    """Return the phrases, the words of a group in the place of its name."""
    return tuple(word for each in phrases for word in groups.get(each, (each,)))


def _step(parts: Sequence[_Part]) -> _Step:
    return _Step(tuple(parts), reduce(or_, (part.bit for part in parts)))


def _pattern(phrases: Iterable[str]) -> re.Pattern[str]:
    """Make a pattern of phrases as whole words, the longest first."""
    longest = sorted(phrases, key=len, reverse=True)
    return re.compile(rf"(?<= )(?:{'|'.join(map(_told_by, longest))})(?= )")


def _told_by(phrase: str) -> str:
    plain = re.escape(phrase).replace(r"\*", r"\w*").replace(r"\#", _NUMBER)
    return plain.replace(r"\ \~\ ", _FEW_WORDS)
