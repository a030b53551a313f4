"""The rule on igniters: what may be shown of a job on an airbag or a pretensioner, and what not.

What must never be done, at another hazard or in words of any order (``never.py``), is named in the
same way, and never proposed; on a job that concerns no igniter its words are shown, and marked.

On anything that concerns an igniter a sentence is shown only if each of its clauses is: a clause
that measures, powers or bridges, or tells a value, must itself say one of the few ways in which
that is allowed. No harmless word elsewhere, aside or denial releases it. Where the lists find
nothing, a sentence that is worded like those that people judged dangerous is hidden all the same;
what is only strange to them is shown if all of it is worded like harmless ones.
The words stand in ``igniter_words.toml`` beside this module; all of it is common practice, no
source.
"""

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from itertools import pairwise

from kb.case import Reading, System, TroubleCode
from kb.intake.items import trade_wording
from kb.intake.wording import Wording
from kb.patterns import compiled
from kb.safety.igniter_acts import (
    PARTS,
    TARGETS,
    Reason,
    Told,
    are_parts_counted,
    dangers_in,
    fired_in,
)
from kb.safety.igniter_beside import goes_on, is_of_it, is_pause, is_told_of_it
from kb.safety.igniter_by_hand import by_hand_in
from kb.safety.igniter_clauses import Clause, Piece, clauses_of, sentences_of, words_of
from kb.safety.igniter_compared import compared_in
from kb.safety.igniter_deeds import (
    Doing,
    deeds_in,
    deeds_of,
    is_customers,
    is_ordinary,
    is_told_of_others,
)
from kb.safety.igniter_defeats import defeats_in, is_undone, left_in
from kb.safety.igniter_denied import is_answered_no, is_called_off
from kb.safety.igniter_direct import direct_in
from kb.safety.igniter_feed import is_fed_itself, is_systems_supply
from kb.safety.igniter_finish import is_fetched, is_finish, lies_aside
from kb.safety.igniter_handling import handling_in, is_reported
from kb.safety.igniter_left_out import befallen_in
from kb.safety.igniter_likeness import is_like_dangerous, is_like_harmless
from kb.safety.igniter_meanwhile import meanwhile_in
from kb.safety.igniter_not_done import done_after_all, left_to_judge
from kb.safety.igniter_reasons import NOT_PLAIN, fitting, instead_of, may_do
from kb.safety.igniter_rule import (
    are_before_and_after,
    are_ends_off,
    hear,
    is_allowed,
    is_spring_of_free_bag,
    takes_its_place,
)
from kb.safety.igniter_sources import fitted_later_in, sources_in
from kb.safety.igniter_spring import is_held_centred, spring_in
from kb.safety.igniter_strange import strange_in
from kb.safety.igniter_subject import (
    goes_on_elsewhere,
    is_elsewhere,
    is_fuse_put_back,
    is_of_fuse,
)
from kb.safety.igniter_supply import on_again_in, supply_in
from kb.safety.igniter_told import is_plain, told_in
from kb.safety.igniter_ways import ways_in
from kb.safety.igniter_webbing import webbing_in
from kb.safety.igniter_wholly import wholly_harmless
from kb.safety.igniter_words import (
    Aside,
    Role,
    aside,
    belted,
    igniters,
    implied,
    named_alike,
    pictured,
    speaking,
    spelt,
)
from kb.safety.never import AT_IGNITER, Never, forbidden_step, never_table

_MOST_KEPT = 50_000
"""So many texts are kept with what was judged of them: of an import the shop's repeated ones."""
RESTRAINT_CODES = "B00"
"""SAE J2012 keeps B00xx for the restraints; what makers define may be anything."""


@dataclass(frozen=True, slots=True)
class Shown:
    """A sentence that may be shown as advice, proof, test or outcome."""


@dataclass(frozen=True, slots=True)
class Withheld:
    """A sentence that may not: why, and by which of its words.

    `never` is the step it tells where that is dangerous elsewhere than at an igniter; `why` the
    reason that is given where another fits what is told better, see `fitting`.
    """

    reason: Reason
    words: str
    never: Never | None = None
    why: Reason | None = None

    @property
    def told_as(self) -> Reason:
        """The reason that is given."""
        return self.why or self.reason


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


def judged(
    text: str,
    *,
    igniter_job: bool,
    wording: Wording | None = None,
    live: Collection[float] = (),
    alike: bool = True,
    of_drive: bool = False,
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
    live : Collection[float]
        Values that the job's readings by scan tool had, see `live_values`: told again without a
        word of how they were taken, they are these.
    alike : bool
        What is only worded like dangerous sentences is withheld, too.
    of_drive : bool
        The job is of a drive, which has tensioners of its own, see `is_of_drive`.

    Returns
    -------
    Shown or Withheld

    Examples
    --------
    >>> judged("scan tool reads 2.3 on the squib", igniter_job=False)
    Shown()
    >>> judged("multimeter on the squib read OL, scan tool agreed", igniter_job=False).words
    'multimeter, read, ol'
    """
    asked = _Asked(igniter_job, frozenset(live), alike=alike, of_drive=of_drive)
    verdicts = (verdict for _, verdict in _judged(text, asked, wording))
    return next((each for each in verdicts if isinstance(each, Withheld)), Shown())


@dataclass(frozen=True, slots=True)
class _Asked:
    """How a text is to be judged: see `judged`; `steps_only` see `dangerous_step`."""

    igniter_job: bool
    live: frozenset[float] = frozenset()
    steps_only: bool = False
    alike: bool = True
    of_drive: bool = False

    def bears_on(self, text: str, wording: Wording) -> bool:
        """Whether a text has to be judged at all."""
        return self.igniter_job or _speaks_of_igniter(text, wording, of_drive=self.of_drive)


def _judged(
    text: str, asked: _Asked, wording: Wording | None
) -> Iterator[tuple[str, Shown | Withheld]]:
    """Yield every sentence with its verdict, by what the shop's own words mean and as typed."""
    trade = trade_wording()
    if wording is None or not _has_own_words(wording):
        yield from _judged_by(text, asked, trade)
        return
    asked = replace(asked, igniter_job=asked.bears_on(text, trade))
    by_meaning, as_typed = (_judged_by(text, asked, each) for each in (wording, trade))
    for (sentence, meant), (_, typed) in zip(by_meaning, as_typed, strict=True):
        yield sentence, typed if isinstance(meant, Shown) else meant


@lru_cache(maxsize=4)
def _has_own_words(wording: Wording) -> bool:
    return bool(wording.phrases) or wording.shorthand != trade_wording().shorthand


def _judged_by(
    text: str, asked: _Asked, wording: Wording
) -> Sequence[tuple[str, Shown | Withheld]]:
    """Judge every sentence of a text: a shop says most things often, and each is judged once."""
    if not asked.bears_on(text, wording):
        return _judged_elsewhere(text, wording)
    # how it came to be judged changes nothing more
    return _judged_at_igniter(text, replace(asked, igniter_job=True, of_drive=False), wording)


@lru_cache(maxsize=_MOST_KEPT)
def _judged_elsewhere(text: str, wording: Wording) -> Sequence[tuple[str, Shown | Withheld]]:
    sentences = sentences_of(text)
    return [
        (sentence, _never_done(sentence, wording, before=before))
        for before, sentence in pairwise(["", *sentences])
    ]


@lru_cache(maxsize=_MOST_KEPT)
def _judged_at_igniter(
    text: str, asked: _Asked, wording: Wording
) -> Sequence[tuple[str, Shown | Withheld]]:
    return list(_sentences_judged(text, asked, wording))


def _sentences_judged(
    text: str, asked: _Asked, wording: Wording
) -> Iterator[tuple[str, Shown | Withheld]]:
    sentences = sentences_of(text)
    told = Told(live=asked.live)
    clauses = [clauses_of(each, wording) for each in sentences]
    harmless = wholly_harmless(sentences, wording)
    together = _told_together(clauses, harmless)
    named = False
    for at, (sentence, told_here) in enumerate(zip(sentences, clauses, strict=True)):
        told_next = clauses[at + 1] if at + 1 < len(clauses) else ()
        told = told.at_new_sentence()
        question = sentence.rstrip().endswith("?")
        if _own_lines().fullmatch(sentence.strip()):
            yield sentence, Shown()
            continue
        if harmless[at] and at not in together:
            told = Told(live=asked.live)  # it may have put the supply on, or measured a part
            named = named or any(clause.roles & TARGETS for clause in told_here)
            yield sentence, Shown()
            continue
        if is_called_off(told_here) or (question and is_answered_no(told_here, told_next)):
            yield sentence, Shown()
            continue
        rest = left_to_judge(told_here)
        named = named or any(clause.roles & TARGETS for clause in told_here)
        if at and not named and goes_on_elsewhere(rest, clauses[at - 1]):
            rest = ()
        verdict = _sentence_verdict(rest, told_next, told, asked) if rest else Shown()
        if at in together and (isinstance(verdict, Shown) or verdict.reason in _LEAST):
            verdict = _withheld(together[at])
        certain = isinstance(verdict, Withheld) and _is_certain(sentence, verdict.reason, wording)
        before = sentences[at - 1] if at else ""
        never = _never_done(_told_as_ours(rest), wording, at_igniter=True, before=before)
        if isinstance(never, Withheld):
            verdict = verdict if certain else never
        elif asked.alike and rest:
            with_neighbours = "".join(sentences[max(0, at - 2) : at + 3])
            allowed = told.allowed or told.counted
            verdict = _by_likeness([sentence, with_neighbours], rest, verdict, allowed=allowed)
        yield sentence, _with_reason(verdict, sentence, wording)


def _told_together(
    sentences: Sequence[Sequence[Clause]], harmless: Sequence[bool]
) -> dict[int, list[tuple[Piece, Reason]]]:
    """Return what only several sentences tell together, by the places of those that tell it.

    A sentence that is harmless by itself tells of no load that stayed, but it may be told of work
    under power.
    """
    found: dict[int, list[tuple[Piece, Reason]]] = {}
    told = (*on_again_in(sentences), *fitted_later_in(sentences), *told_in(sentences))
    for at, piece, reason in told:
        if reason is Reason.LIVE or not harmless[at]:
            found.setdefault(at, []).append((piece, reason))
    bearing = [() if plain else each for each, plain in zip(sentences, harmless, strict=True)]
    for at, piece in left_in(bearing):
        found.setdefault(at, []).append((piece, Reason.DEFEAT))
    return found


def _with_reason(verdict: Shown | Withheld, sentence: str, wording: Wording) -> Shown | Withheld:
    """Give a verdict the reason that fits what the sentence tells."""
    if isinstance(verdict, Shown) or verdict.never is not None:
        return verdict
    if verdict.reason is Reason.VALUE and _BARE_NUMBER.fullmatch(sentence.strip()):
        return replace(verdict, why=Reason.BARE)
    why = fitting(verdict.reason, words_of(sentence, wording), verdict.words.split(", "))
    return verdict if why is verdict.reason else replace(verdict, why=why)


_BARE_NUMBER = compiled(r"[\d.,]+")


def _by_likeness(
    told: Sequence[str], clauses: Sequence[Clause], by_lists: Shown | Withheld, *, allowed: bool
) -> Shown | Withheld:
    """Judge by its wording what the lists know nothing of, and what is only strange to them.

    A sentence must be like others both alone and with its neighbours.
    """
    if isinstance(by_lists, Withheld):
        strange = by_lists.reason is Reason.STRANGE
        return Shown() if strange and all(map(is_like_harmless, told)) else by_lists
    alike = all(is_like_dangerous(each, allowed=allowed) for each in told)
    if alike and not _is_of_others(clauses):
        return Withheld(Reason.LIKENESS, " ".join(p.text for c in clauses for p in c.pieces))
    return by_lists


def _told_as_ours(sentence: Sequence[Clause]) -> str:
    """Return the words of a sentence without the clauses that tell what others did."""
    places = (at for at in range(len(sentence)) if not is_told_of_others(sentence, at))
    return " ".join(" ".join((sentence[at].joiner, *sentence[at].words)) for at in places)


def _never_done(
    sentence: str, wording: Wording, *, at_igniter: bool = False, before: str = ""
) -> Shown | Withheld:
    """Judge a sentence by what must never be done, whatever the order of its words."""
    step = forbidden_step(sentence, wording, at_igniter=at_igniter, before=before)
    return Withheld(Reason.NEVER, step.words, step.never) if step else Shown()


def _sentence_verdict(
    sentence: Sequence[Clause], after: Sequence[Clause], told: Told, asked: _Asked
) -> Shown | Withheld:
    """Judge a sentence, an endless one a stretch at a time, so that its cost grows as it does."""
    ends = range(_MOST_CLAUSES, len(sentence) + _STEP_OF_CLAUSES, _STEP_OF_CLAUSES)
    for end in ends or [_MOST_CLAUSES]:
        part = sentence[max(0, end - _MOST_CLAUSES) : end]
        behind = sentence[end : end + _STEP_OF_CLAUSES] or after
        verdict = _verdict(part, behind, told, steps_only=asked.steps_only)
        if isinstance(verdict, Withheld):
            return verdict
    return Shown()


_MOST_CLAUSES = 40
"""Clauses judged together: more than any sentence that was ever written for the tests has."""
_STEP_OF_CLAUSES = 20
"""How far the next stretch begins behind the last: what belongs together stands in one of them."""


def _is_of_others(sentence: Sequence[Clause]) -> bool:
    """Whether a sentence plainly tells of other parts, others' deeds, live values or a renewal."""
    if is_elsewhere(sentence) or is_of_fuse(sentence) or is_customers(sentence):
        return True
    if is_held_centred(sentence) or is_finish(sentence) or lies_aside(sentence):
        return True
    if is_fetched(sentence) or is_spring_of_free_bag(sentence) or is_plain(sentence):
        return True
    if all(clause.by_scan_tool and clause.roles <= _LIVE_VALUE for clause in sentence):
        return True
    if all(is_fed_itself(clause) or is_systems_supply(clause) for clause in sentence):
        return True
    reported = any(is_reported(sentence, place) for place in range(len(sentence)))
    return reported or _is_renewal(sentence)


_LIVE_VALUE = TARGETS | {Role.SCAN, Role.VALUE, Role.QUANTITY, Role.ONTO, Role.FUNCTION, Role.PLACE}


def _is_renewal(sentence: Sequence[Clause]) -> bool:
    """Whether a part is renewed, and all that is done may be done: *replaced the driver bag*."""
    deeds = {deed for clause in sentence for _, _, deed in deeds_of(clause)}
    renewed = any(aside(Aside.RENEWED).any_in(clause.words) for clause in sentence)
    return renewed and deeds <= {Doing.MAY} and all(Role.ONTO not in c.roles for c in sentence)


def _verdict(
    sentence: Sequence[Clause], after: Sequence[Clause], told: Told, *, steps_only: bool
) -> Shown | Withheld:
    """Judge a sentence by what was told before it, and note what it says."""
    if is_fuse_put_back(sentence) or is_plain(sentence):
        return Shown()
    undone = is_undone(sentence, (*sentence, *after))
    defeats = [] if undone else [(piece, Reason.DEFEAT) for piece in defeats_in(sentence)]
    handled = [*handling_in(sentence, after), *sources_in(sentence), *supply_in(sentence)]
    handled += [*direct_in(sentence), *compared_in(sentence), *befallen_in(sentence, after)]
    handled += [*done_after_all(sentence), *spring_in(sentence), *webbing_in(sentence)]
    handled += [*ways_in(sentence), *meanwhile_in(sentence), *by_hand_in(sentence)]
    if hidden := [*defeats, *handled]:
        return _withheld([*hidden, *fired_in(sentence)])
    if is_elsewhere(sentence):
        for clause in sentence:
            hear(told, clause)
        return Shown()
    told.apart |= are_ends_off(sentence)
    told.counted = are_parts_counted(sentence)
    told.paired = are_before_and_after(sentence)
    followed: list[Clause | None] = [*sentence[1:], next(iter(after), None)]
    for place, (clause, following) in enumerate(zip(sentence, followed, strict=False)):
        if clause.joiner == ":" and place == 1:
            live = sentence[0].by_scan_tool or sentence[0].words == ("live",)
            told.heading = live or Role.SUBSTITUTE in sentence[0].roles
        if following and following.joiner in _MEANWHILE and Role.LIVE in following.roles:
            told.under_power = True
        told.allowed |= takes_its_place(clause, following)
        dangers = [
            (piece, reason)
            for piece, reason in dangers_in(clause, told)
            if not (piece in clause.pieces and is_ordinary(piece, reason))
        ]
        found = undone and not (clause.roles & _MEASURING and Role.SUBSTITUTE not in clause.roles)
        found |= is_reported(sentence, place) or is_customers(sentence)
        if dangers and not found:
            allowed = is_allowed(clause, dangers, told, following)
            told.allowed |= allowed
            withheld = _withheld(dangers)
            if not allowed and not (steps_only and withheld.reason in _NO_STEPS):
                return withheld
        hear(told, clause)
    if unlisted := [*deeds_in(sentence), *strange_in(sentence)]:
        withheld = _withheld(unlisted)
        if not steps_only or withheld.reason not in _NO_STEPS:
            return withheld
    return Shown()


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


_NO_STEPS = frozenset([Reason.VALUE, Reason.STRANGE])
"""Reasons not to show what is told, though no dangerous step is."""
_LEAST = NOT_PLAIN | _NO_STEPS
_MEASURING = frozenset([Role.VALUE, Role.MEASURE, Role.INSTRUMENT])
_MEANWHILE = frozenset(["while", "whilst"])


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
    >>> concerns_igniter(["belt off, tensioner seized"], systems=[System.COOLING])
    False
    """
    recorded, stored = set(systems), tuple(codes)
    if System.RESTRAINTS in recorded or any(
        each.code.startswith(RESTRAINT_CODES) for each in stored
    ):
        return True
    wording = wording or trade_wording()
    of_drive = is_of_drive(recorded, stored)
    return any(_speaks_of_igniter(text, wording, of_drive=of_drive) for text in texts)


def is_of_drive(
    systems: Iterable[System | None], codes: Iterable[TroubleCode], texts: Iterable[str] = ()
) -> bool:
    """Whether all on record is of engine, cooling or transmission, which have own tensioners.

    Where no system is recorded, a belt or chain of a drive that is named tells it, too.
    """
    recorded = {system for system in systems if system is not None}
    driven = recorded <= _DRIVES if recorded else any(map(_names_drive, texts))
    return driven and all(each.code[0] == "P" for each in codes)


@lru_cache(maxsize=20_000)
def _names_drive(text: str) -> bool:
    words = words_of(text, trade_wording())
    return not _SEATS & set(words) and aside(Aside.DRIVE_BELT).any_in(words)


_SEATS = frozenset(["seat", "seats"])
"""What no drive has: a belt tensioner there is of the seat belt."""


_DRIVES = frozenset([System.ENGINE_MECHANICAL, System.COOLING, System.TRANSMISSION])


@lru_cache(maxsize=20_000)
def _speaks_of_igniter(text: str, wording: Wording, *, of_drive: bool = False) -> bool:
    words = [spelt(word) for word in words_of(text, wording)]
    if of_drive and not belted().any_in(words):
        words = [word for word in words if not word.startswith("tensioner")]
    if not speaking().any_in(words):
        return False
    if igniters().any_in(words) or aside(Aside.BESIDE).any_in(words):
        return True
    if any(
        name.words.any_in(words) and not name.unless.any_in(words)
        for name in (*named_alike(), pictured())
    ):
        return True
    hinted = implied().words.any_in(words) and not implied().unless.any_in(words)
    return hinted and any(
        True for clause in clauses_of(text, wording) for _ in dangers_in(clause, Told(frozenset()))
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
def _asked_of_step(igniter_job: bool, alike: bool, of_drive: bool) -> _Asked:
    return _Asked(igniter_job, steps_only=True, alike=alike, of_drive=of_drive)


@lru_cache(maxsize=_MOST_KEPT)
def _steps_in(text: str, asked: _Asked, wording: Wording | None) -> Sequence[Danger]:
    found = (
        _named(" ".join(sentence.split()), verdict, wording or trade_wording())
        for sentence, verdict in _judged(text, asked, wording)
        if isinstance(verdict, Withheld)
    )
    return tuple(found)


def _named(sentence: str, verdict: Withheld, wording: Wording) -> Danger:
    """Return a withheld sentence as a danger with its reason, and what to do instead."""
    if step := verdict.never:
        return Danger(verdict.words, step.reason, step.instead, sentence, certain=True)
    certain = _is_certain(sentence, verdict.reason, wording)
    why = verdict.told_as
    return Danger(verdict.words, why, instead_of(why), sentence, certain)


def bears_on_igniter(
    text: str, *, igniter_job: bool, wording: Wording | None = None, of_drive: bool = False
) -> bool:
    """Whether a text has to be judged at all, by the shop's words or as typed.

    Parameters
    ----------
    text, igniter_job, wording, of_drive
        As for `judged`.

    Examples
    --------
    >>> bears_on_igniter("replaced water pump", igniter_job=False)
    False
    """
    if igniter_job:
        return True
    trade = trade_wording()
    own = wording not in (None, trade) and _speaks_of_igniter(text, wording, of_drive=of_drive)
    return own or _speaks_of_igniter(text, trade, of_drive=of_drive)


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


def _is_certain(sentence: str, reason: Reason, wording: Wording) -> bool:
    """Whether a sentence tells what is dangerous, and of an igniter or its circuit."""
    if reason in NOT_PLAIN or reason is Reason.VALUE:
        return False
    words = [spelt(word) for word in words_of(sentence, wording)]
    parts = PARTS | {Role.UNIT} if reason is Reason.HANDLING else PARTS
    named = any(clause.roles & parts for clause in clauses_of(sentence, wording))
    return named or igniters().any_in(words)


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
    told = _judged(text, _Asked(igniter_job=True, steps_only=True, alike=False), None)
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


def withheld_line(job: int | None = None, reason: Reason = Reason.METER) -> str:
    """Return the line that stands where something is not shown.

    Parameters
    ----------
    job : int, optional
        Number of the job where the words can be read, under their caution.
    reason : Reason
        Why, by default that it may send current through an igniter.

    Examples
    --------
    >>> withheld_line(7)
    "[not shown: it may put a meter, lamp or voltage on an igniter; read it with 'kb job show 7
    --verbatim']"
    """
    if reason in NOT_PLAIN:
        return f"{_NOT_SHOWN}: it is not plainly allowed at an igniter{_where(job)}]"
    return f"{_NOT_SHOWN}: it may {may_do(reason)}{_where(job)}]"


@cache
def _own_lines() -> re.Pattern[str]:
    """Return the pattern of the lines that stand for hidden words, and of nothing else."""
    lines = {withheld_line(None, reason) for reason in Reason}
    lines |= {f"{_NOT_SHOWN}: it may {each.may}]" for each in never_table()}
    begun = "|".join(re.escape(line.removesuffix("]")) for line in sorted(lines))
    place = re.escape(_where(0)).replace("0", r"\d+")
    return re.compile(f"(?:{begun})(?:{place})?\\]")


def _where(job: int | None) -> str:
    """Return where words that are not shown can be read."""
    return "" if job is None else f"; read it with 'kb job show {job} --verbatim'"


_NOT_SHOWN = "[not shown"


WITHHELD = withheld_line()


def line_for(
    text: str,
    *,
    igniter_job: bool,
    job: int | None = None,
    wording: Wording | None = None,
    live: Collection[float] = (),
    of_drive: bool = False,
    words: str | None = None,
) -> str:
    """Return the line that stands for words that are not to be shown, with their own reason.

    Where no igniter is concerned nothing is hidden: the words stand behind a mark.

    Parameters
    ----------
    text, igniter_job, wording, live, of_drive
        As for `judged`.
    job : int, optional
        As for `withheld_line`.
    words : str, optional
        What stands behind the mark, by default the text.
    """
    verdict = judged(text, igniter_job=igniter_job, wording=wording, live=live, of_drive=of_drive)
    never = verdict.never if isinstance(verdict, Withheld) else None
    if not bears_on_igniter(text, igniter_job=igniter_job, wording=wording, of_drive=of_drive):
        return _marked(text if words is None else words, never)
    return _line(verdict, job) if isinstance(verdict, Withheld) else withheld_line(job)


def _marked(text: str, never: Never | None) -> str:
    """Return words behind a mark that says what they tell, or are a part of; once is enough."""
    if text.lstrip().startswith(_MUST_NEVER):
        return text
    begin = text[: len(text) - len(text.lstrip())]
    told = f": it may {never.may}" if never else ""
    return f"{begin}{_MUST_NEVER}{told}] {text.lstrip()}"


def is_marked(shown: str | None) -> bool:
    """Whether shown words stand behind a mark of what must never be done, see `line_for`."""
    return shown is not None and _MUST_NEVER in shown


_MUST_NEVER = "[must never be done"


def _line(withheld: Withheld, job: int | None) -> str:
    """Return the line that stands in the place of a sentence with this verdict."""
    if withheld.never is None:
        return withheld_line(job, withheld.told_as)
    return f"{_NOT_SHOWN}: it may {withheld.never.may}{_where(job)}]"


def screen(
    text: str,
    *,
    restraint: bool = False,
    job: int | None = None,
    wording: Wording | None = None,
    live: Collection[float] = (),
    of_drive: bool = False,
) -> str:
    """Return a shop's own words fit to be shown, a line in place of each sentence that is not.

    Where no igniter is concerned, a sentence that tells what must never be done is marked as that.

    Parameters
    ----------
    text : str
        Test, proof or fix in the shop's words.
    restraint : bool
        The words come from a job that concerns an igniter.
    job : int, optional
        Number of that job, for `withheld_line`.
    wording, live, of_drive
        As for `judged`.

    Examples
    --------
    >>> screen("substitute load at the connector")
    'substitute load at the connector'
    >>> screen("checked resistance of LH pretensioner with multimeter").startswith("[not shown")
    True
    >>> screen("Plug green. Ohmed the squib. New plug fitted.", job=7).split("[")[0]
    'Plug green. '
    >>> screen("opened the radiator cap hot")
    '[must never be done: it may open a cooling system that is hot] opened the radiator cap hot'
    """
    shown: list[str] = []
    asked = _Asked(restraint, frozenset(live), of_drive=of_drive)
    at_igniter = bears_on_igniter(text, igniter_job=restraint, wording=wording, of_drive=of_drive)
    before: Shown | Withheld = Shown()
    for sentence, own in _judged(text, asked, wording):
        behind = isinstance(own, Shown) and at_igniter and isinstance(before, Withheld)
        of_it = behind and (is_of_it(sentence, wording) or is_told_of_it(sentence, wording))
        verdict = before if of_it else own
        before = before if behind and is_pause(sentence, wording) else verdict
        if isinstance(verdict, Shown):
            shown.append(sentence)
            continue
        if not at_igniter:
            shown.append(_marked(sentence, verdict.never))
            continue
        line = _line(verdict, job)
        igniter_job = restraint or verdict.never is None
        whole_step = verdict.never is not None and verdict.never.hazard == AT_IGNITER
        cut = None if whole_step else _cut(sentence, line, wording, live, igniter_job=igniter_job)
        if cut:
            shown.append(cut)
        elif not shown or not shown[-1].startswith(line):
            ends = sentence[len(sentence.rstrip()) :]
            shown.append(line + (ends or " "))
    whole = "".join(shown)
    return whole.rstrip() if _NOT_SHOWN in whole else whole


def proof_left(screened: str) -> str:
    """Return a screened proof, or the line alone where a deed of it is not shown.

    What came of a deed that must not be done proves no repair.

    Parameters
    ----------
    screened : str
        A proof as `screen` left it.

    Examples
    --------
    >>> proof_left("lamp off for a week")
    'lamp off for a week'
    >>> proof_left(screen("ohmed the squib, lamp off", restraint=True)).endswith("off")
    False
    """
    line = _LINE.search(screened)
    return line.group() if line else screened


_LINE = compiled(r"\[not shown[^\]]*\]")


def _cut(
    sentence: str,
    line: str,
    wording: Wording | None,
    live: Collection[float],
    *,
    igniter_job: bool,
) -> str | None:
    """Return a sentence with its dangerous parts alone replaced; None if the rest may not stay."""
    parts = _PART.findall(sentence)
    shown = [
        isinstance(judged(part, igniter_job=igniter_job, wording=wording, live=live), Shown)
        for part in parts
    ]
    if all(shown):
        return None
    shown = [
        stays and not is_of_it(part, wording) for part, stays in zip(parts, shown, strict=True)
    ]
    apart = shown.copy()
    for at, part in enumerate(parts[1:], 1):
        apart[at] = apart[at] and (apart[at - 1] or not is_told_of_it(part, wording))
    for each in (shown, apart):
        rest = "".join(part for part, stays in zip(parts, each, strict=True) if stays)
        if not any(map(str.isalnum, rest)):
            return None
        if isinstance(judged(rest, igniter_job=igniter_job, wording=wording, live=live), Withheld):
            return None
        if any(map(goes_on, clauses_of(rest, wording or trade_wording()))):
            return None
    cut: list[str] = []
    for part, stays in zip(parts, apart, strict=True):
        if stays:
            cut.append(part)
        elif not cut or not cut[-1].startswith(line):
            cut.append(line + part[len(part.rstrip(_MARKS)) :])
    return "".join(cut)


_PART = re.compile(r".+?(?:(?<!\d)[,;]\s*|[,;](?!\d)\s*|\s[-–—]+\s+|$)", re.DOTALL)
"""A part of a sentence, with the mark behind it."""
_MARKS = " \t\n,;:.-–—!?"


def _withheld(dangers: Sequence[tuple[Piece, Reason]]) -> Withheld:
    gravest = min(dangers, key=lambda each: list(Reason).index(each[1]))
    return Withheld(gravest[1], ", ".join(dict.fromkeys(piece.text for piece, _ in dangers)))


def about_igniter(texts: Iterable[str], *, of_drive: bool = False) -> bool:
    """Whether any of these words speaks of something that an igniter fires.

    A bare *tensioner* does not where all on record is of a drive, see `is_of_drive`.
    """
    wording = trade_wording()
    return any(_speaks_of_igniter(text, wording, of_drive=of_drive) for text in texts)


@lru_cache(maxsize=20_000)
def about_circuit(item: str) -> bool:
    """Whether what was measured is an igniter, or what leads to one in the steering wheel."""
    pieces = (p for clause in clauses_of(item, trade_wording()) for p in clause.pieces)
    spring = any(p.role is Role.CLOCK_SPRING and p.text not in _ANY_SPRING for p in pieces)
    return spring or about_igniter([item])


_ANY_SPRING = frozenset(["spring", "spiral", "spiralen"])
"""Names of the clock spring that others share."""


def may_be_proposed(text: str, *, restraint: bool) -> bool:
    """Whether a shop's own words may stand in a proposal of what to do next."""
    return isinstance(judged(text, igniter_job=restraint), Shown)
