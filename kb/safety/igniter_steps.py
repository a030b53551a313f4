"""The dangerous steps that somebody's words tell, named at the moment of typing."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from kb.case import Reading
from kb.intake.items import trade_wording
from kb.intake.wording import Wording
from kb.safety.igniter import (
    MOST_KEPT,
    Asked,
    Shown,
    Withheld,
    is_certain,
    judged,
    judged_by_sentence,
)
from kb.safety.igniter_acts import TARGETS, Reason, Told, dangers_in
from kb.safety.igniter_clauses import clauses_of
from kb.safety.igniter_deeds import Doing, deeds_of
from kb.safety.igniter_reasons import NOT_PLAIN, instead_of
from kb.safety.igniter_words import Role


@dataclass(frozen=True, slots=True)
class Danger:
    """A dangerous step, named at the moment of typing: its words, why, and what to do instead.

    `told` is the sentence that tells of it; `certain` that it names an igniter, its plug or its
    wires, or another hazard, and what was done is known to be dangerous there.
    """

    words: str
    reason: str
    instead: str
    told: str = ""
    certain: bool = False


def hidden_by(short: str, meanings: Iterable[str]) -> str | None:
    """Return what a word names that its new meanings would hide, None if they hide nothing.

    A tool, a way of measuring or powering, or an igniter may be called by another name, but its
    name may not come to mean anything else.

    Examples
    --------
    >>> hidden_by("ohmmeter", ["torch"]), hidden_by("belt shooter", ["pretensioner"])
    ('ohmmeter', None)
    """
    wording = trade_wording()
    meant = {
        p.role for each in meanings for clause in clauses_of(each, wording) for p in clause.pieces
    }
    hides: frozenset[Role] = frozenset().union(
        *(kind for kind in (TARGETS, _TOOLS) if not kind & meant)
    )
    pieces = (p for clause in clauses_of(short, wording) for p in clause.pieces)
    return next((p.text for p in pieces if p.role in hides), None)


_TOOLS = frozenset(
    [Role.INSTRUMENT, Role.MEASURE, Role.POWER, Role.BRIDGE, Role.DEPLOY, Role.PATH, Role.LAMP]
)


def dangerous_step(
    text: str,
    *,
    igniter_job: bool,
    wording: Wording | None = None,
    alike: bool = False,
    of_drive: bool = False,
) -> Danger | None:
    """Name the dangerous step in a test, proof, outcome or way of reading just typed.

    A value without a word of how it was taken, and words that are on no list, are no step.

    Parameters
    ----------
    text, igniter_job, wording, alike, of_drive
        As for `judged`; a name or a complaint is not held against what others did.

    Examples
    --------
    >>> dangerous_step("put test lamp across airbag squib, lamp lit", igniter_job=False).words
    'test lamp, across'
    """
    return next(iter(_steps_in(text, _asked_of_step(igniter_job, alike, of_drive), wording)), None)


def dangerous_steps(
    text: str,
    *,
    igniter_job: bool,
    wording: Wording | None = None,
    live: Collection[float] = (),
    alike: bool = False,
    of_drive: bool = False,
) -> Sequence[Danger]:
    """Name every dangerous step, each in its sentence; see `dangerous_step`.

    Parameters
    ----------
    text, igniter_job, wording, live, alike, of_drive
        As for `judged`.

    Examples
    --------
    >>> told = "Ohmed the squib. Lamp on. Bridged the yellow plug."
    >>> [each.told for each in dangerous_steps(told, igniter_job=True)]
    ['Ohmed the squib.', 'Bridged the yellow plug.']
    """
    asked = _asked_of_step(igniter_job, alike, of_drive)
    return _steps_in(text, replace(asked, live=frozenset(live)) if live else asked, wording)


@cache
def _asked_of_step(igniter_job: bool, alike: bool, of_drive: bool) -> Asked:
    return Asked(igniter_job, steps_only=True, alike=alike, of_drive=of_drive)


@lru_cache(maxsize=MOST_KEPT)
def _steps_in(text: str, asked: Asked, wording: Wording | None) -> Sequence[Danger]:
    found = (
        _named(" ".join(sentence.split()), verdict, wording or trade_wording())
        for sentence, verdict in judged_by_sentence(text, asked, wording)
        if isinstance(verdict, Withheld)
    )
    return tuple(found)


def _named(sentence: str, verdict: Withheld, wording: Wording) -> Danger:
    """Return a withheld sentence as a danger with its reason, and what to do instead."""
    if step := verdict.never:
        return Danger(verdict.words, step.reason, step.instead, sentence, certain=True)
    certain = is_certain(sentence, verdict.reason, wording)
    why = verdict.told_as
    return Danger(verdict.words, why, instead_of(why), sentence, certain)


@lru_cache(maxsize=20_000)
def tells_work(text: str, wording: Wording | None = None) -> bool:
    """Whether a complaint, a reading or a name tells a deed, so that its likeness is asked about.

    Parameters
    ----------
    text : str
        Any words that somebody typed.
    wording : Wording, optional
        By default the trade's.

    Examples
    --------
    >>> tells_work("airbag lamp on since the seat was moved"), tells_work("pretensioner 2.3 ohm")
    (False, False)
    >>> tells_work("airbag lamp on, lad pulled the wheel plug")
    True
    """
    return any(
        clause.roles & _WORK or any(deed is not Doing.MAY for _, _, deed in deeds_of(clause))
        for clause in clauses_of(text, wording or trade_wording())
    )


_WORK = frozenset(
    [
        *(Role.INSTRUMENT, Role.MEASURE, Role.POWER, Role.BRIDGE, Role.PATH, Role.FORCE),
        *(Role.LIVE, Role.DEPLOY),
    ]
)


def is_untold_value(text: str) -> bool:
    """Whether a text that is hidden tells a value, and nothing that is dangerous whoever read it.

    Examples
    --------
    >>> is_untold_value("loop through the bag, 2.4"), is_untold_value("3 ohm resistor for the bag")
    (True, False)
    """
    verdict = judged(text, igniter_job=True)
    open_to_it = isinstance(verdict, Shown) or verdict.told_as in _OPEN
    return open_to_it and any(map(str.isdigit, text))


_OPEN = NOT_PLAIN | {Reason.VALUE, Reason.METER, Reason.BARE}


def dangerous_sentences(text: str) -> list[str]:
    """Return the sentences of a text that tell a dangerous step, on a job that concerns an igniter.

    See `dangerous_step`.
    """
    told = judged_by_sentence(text, Asked(igniter_job=True, steps_only=True, alike=False), None)
    return [sentence for sentence, verdict in told if isinstance(verdict, Withheld)]


def live_values(readings: Iterable[Reading], wording: Wording | None = None) -> frozenset[float]:
    """Return the values of those readings that were taken by scan tool.

    Parameters
    ----------
    readings : Iterable[Reading]
        Of one job.
    wording : Wording, optional
        By default the trade's.
    """
    wording = wording or trade_wording()
    return frozenset(
        each.value
        for each in readings
        if each.value is not None and each.method and _is_live_method(each.method, wording)
    )


def _is_live_method(method: str, wording: Wording) -> bool:
    clauses = clauses_of(method, wording)
    acts = [each for clause in clauses for each in dangers_in(clause, Told(frozenset()))]
    return not acts and any(clause.by_scan_tool for clause in clauses)
