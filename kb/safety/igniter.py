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

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

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
from kb.safety.igniter_by_hand import by_hand_in
from kb.safety.igniter_clauses import Clause, Piece, clauses_of, sentences_of, words_of
from kb.safety.igniter_compared import compared_in
from kb.safety.igniter_concern import speaks_of_igniter
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
from kb.safety.igniter_lines import own_lines
from kb.safety.igniter_meanwhile import meanwhile_in
from kb.safety.igniter_not_done import done_after_all, left_to_judge
from kb.safety.igniter_reasons import NOT_PLAIN, fitting
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
from kb.safety.igniter_subject import goes_on_elsewhere, is_elsewhere, is_fuse_put_back, is_of_fuse
from kb.safety.igniter_supply import on_again_in, supply_in
from kb.safety.igniter_told import is_plain, told_in
from kb.safety.igniter_ways import ways_in
from kb.safety.igniter_webbing import webbing_in
from kb.safety.igniter_wholly import wholly_harmless
from kb.safety.igniter_words import Aside, Role, aside, igniters, spelt
from kb.safety.never import Never, forbidden_step

MOST_KEPT = 50_000
"""So many texts are kept with what was judged of them: of an import the shop's repeated ones."""


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
    asked = Asked(igniter_job, frozenset(live), alike=alike, of_drive=of_drive)
    verdicts = (verdict for _, verdict in judged_by_sentence(text, asked, wording))
    return next((each for each in verdicts if isinstance(each, Withheld)), Shown())


@dataclass(frozen=True, slots=True)
class Asked:
    """How a text is to be judged: see `judged`; `steps_only` see `dangerous_step`."""

    igniter_job: bool
    live: frozenset[float] = frozenset()
    steps_only: bool = False
    alike: bool = True
    of_drive: bool = False

    def bears_on(self, text: str, wording: Wording) -> bool:
        """Whether a text has to be judged at all."""
        return self.igniter_job or speaks_of_igniter(text, wording, of_drive=self.of_drive)


def judged_by_sentence(
    text: str, asked: Asked, wording: Wording | None
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


def _judged_by(text: str, asked: Asked, wording: Wording) -> Sequence[tuple[str, Shown | Withheld]]:
    """Judge every sentence of a text: a shop says most things often, and each is judged once."""
    if not asked.bears_on(text, wording):
        return _judged_elsewhere(text, wording)
    # how it came to be judged changes nothing more
    return _judged_at_igniter(text, replace(asked, igniter_job=True, of_drive=False), wording)


@lru_cache(maxsize=MOST_KEPT)
def _judged_elsewhere(text: str, wording: Wording) -> Sequence[tuple[str, Shown | Withheld]]:
    sentences = sentences_of(text)
    return [
        (sentence, _never_done(sentence, wording, before=before))
        for before, sentence in pairwise(["", *sentences])
    ]


@lru_cache(maxsize=MOST_KEPT)
def _judged_at_igniter(
    text: str, asked: Asked, wording: Wording
) -> Sequence[tuple[str, Shown | Withheld]]:
    return list(_sentences_judged(text, asked, wording))


def _sentences_judged(
    text: str, asked: Asked, wording: Wording
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
        if own_lines().fullmatch(sentence.strip()):
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
        certain = isinstance(verdict, Withheld) and is_certain(sentence, verdict.reason, wording)
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
    sentence: Sequence[Clause], after: Sequence[Clause], told: Told, asked: Asked
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
            if not allowed and not (steps_only and withheld.reason in NO_STEPS):
                return withheld
        hear(told, clause)
    if unlisted := [*deeds_in(sentence), *strange_in(sentence)]:
        withheld = _withheld(unlisted)
        if not steps_only or withheld.reason not in NO_STEPS:
            return withheld
    return Shown()


NO_STEPS = frozenset([Reason.VALUE, Reason.STRANGE])
"""Reasons not to show what is told, though no dangerous step is."""


_LEAST = NOT_PLAIN | NO_STEPS


_MEASURING = frozenset([Role.VALUE, Role.MEASURE, Role.INSTRUMENT])


_MEANWHILE = frozenset(["while", "whilst"])


def is_certain(sentence: str, reason: Reason, wording: Wording) -> bool:
    """Whether a sentence tells what is dangerous, and of an igniter or its circuit."""
    if reason in NOT_PLAIN or reason is Reason.VALUE:
        return False
    words = [spelt(word) for word in words_of(sentence, wording)]
    parts = PARTS | {Role.UNIT} if reason is Reason.HANDLING else PARTS
    named = any(clause.roles & parts for clause in clauses_of(sentence, wording))
    return named or igniters().any_in(words)


def _withheld(dangers: Sequence[tuple[Piece, Reason]]) -> Withheld:
    gravest = min(dangers, key=lambda each: list(Reason).index(each[1]))
    return Withheld(gravest[1], ", ".join(dict.fromkeys(piece.text for piece, _ in dangers)))


def may_be_proposed(text: str, *, restraint: bool) -> bool:
    """Whether a shop's own words may stand in a proposal of what to do next."""
    return isinstance(judged(text, igniter_job=restraint), Shown)
