"""All fixes that were tried for one cause: rates, curves, and which of them is better."""

from collections import Counter
from collections.abc import Collection, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import TypedDict

from rapidfuzz import fuzz, process

from kb.cards.proposed import ProposedCase
from kb.case import Cause, RepairRecord, even, tells_of_fix
from kb.errors import InvalidField, Notice, for_shell
from kb.rates.fixes import Fix, FixRate, chance_better, compared_at, horizons_of
from kb.rates.fixes import fixes as rated
from kb.rates.trials import Clock, Silence, km_per_day, trials
from kb.safety.hazards import Situation, cautions_of
from kb.safety.job_words import FIT
from kb.services.advisable import is_advised, left_out, only_advisable, with_hidden_fault
from kb.services.fix_history import learn, relearner, relearning, wider_history
from kb.services.found_wrong import told_wrong
from kb.services.indexing import shop_wording
from kb.services.knowledge import fit_rate, shop_causes
from kb.services.proposed import ProposedFix, fixes_proposed, proposed
from kb.settings import Settings
from kb.store.database import open_store
from kb.store.mapping import cause_digest
from kb.store.unit_of_work import UnitOfWork

LEAST_TOLD, MOST_OF_ONE = 10, 0.7
"""From so many jobs heard of, more than this share of one person is told (by judgement)."""
MOST_NAMED = 6
MOST_PROPOSED = 2
LIKE_WORD, LIKE = 75.0, 65.0
"""Likeness of a word, and of all words together, from which a cause is proposed, 0 to 100."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedFix(Fix):
    """One fix beside the others.

    `first_better` is the chance that the first fix of the answer cures and holds more often to a
    horizon, `compared_at`, the longest that both support; None for itself and where nobody wrote
    down whether this one cured. `with_silence` is what the rate would be if silence counted as the
    shop's setting wants.
    """

    first_better: float | None
    compared_at: int | None
    with_silence: FixRate | None


@dataclass(frozen=True, slots=True)
class Mistaken:
    """A fix that was tried on a job for one cause, where another was proved, as labels.

    `counts` is the one of the two for which it counts.
    """

    job: int
    fix: str
    tried_for: str
    proved: str
    counts: str
    cured: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FixesAnswer:
    """Every fix tried for a cause, the likeliest to hold first, under the cautions.

    The horizons are in days or km, as `clock` tells; `km_per_day` is what km are reckoned by where
    no odometer tells them. `wider` says whether there are fixes enough in
    the store to tell of one another, `silence_days` is the shop's setting where its effect is
    shown. `mistaken` are fixes that were tried for this cause where another was proved, or the
    other way round. `proposed` cards, which nobody has reviewed, may be of the cause as well: what
    was done on them, `proposed_fixes`, is in no rate.
    """

    cause: Cause
    cautions: tuple[str, ...]
    notices: tuple[str, ...]
    cases: int
    since: date | None
    until: date | None
    clock: Clock
    km_per_day: float | None
    horizons: tuple[int, ...]
    confidence: float
    would_tell: float
    wider: bool
    silence_days: int | None
    fixes: tuple[RatedFix, ...]
    mistaken: tuple[Mistaken, ...] = ()
    proposed: int = 0
    proposed_fixes: tuple[ProposedFix, ...] = ()


def fixes(
    address: str,
    text: str,
    settings: Settings,
    *,
    job: int | None = None,
    clock: Clock = Clock.DAYS,
    today: date,
) -> FixesAnswer:
    """Rate every fix that was tried for a cause, told by some of its words or by a job that had it.

    With `silence_days` set, the rates with silence until today counted are told as well.

    Raises
    ------
    InvalidField
        If no cause of the store has these words, or several have.
    """
    days = settings.rates.silence_days
    silence = None if days is None else Silence(days, today)
    with UnitOfWork(open_store(address), read_only=True) as work:
        named = work.names.vocabulary().component(text)
        cards = proposed(work, address, today=today).values()
        cause = _meant(work, named, cards) if job is None else _of_job(work, job)
        wording = shop_wording(work)
        (repairs,) = work.repairs.of_causes([cause.key]).values()
        final_only = work.repairs.only_final_fixes()
        untagged = work.repairs.untagged()
        hand = tuple(one_hand(repairs))
        safe = only_advisable(repairs, cause.key)
        mistaken = tuple(_mistaken(work, safe, cause, settings))
        to_come = work.repairs.ahead(cause.key)
        wrong = told_wrong(work, meant := cause_digest(cause.key))
        every = work.repairs.all() if silence or clock is not Clock.DAYS else []
        if clock is Clock.DAYS:
            plain = wider_history(work, address, settings)
            relearn = relearning(work, address, settings)
        else:
            plain = learn(every, settings, clock)
            relearn = relearner(lambda: every, settings, clock)
        every_fix = rated(
            safe,
            settings.rates,
            plain,
            cause=meant,
            clock=clock,
            relearn=relearn,
        )
    proved = [each for each in repairs if each.cause == meant]
    found = [fix for fix in every_fix if is_advised(fix.rate)]
    counted: dict[str, FixRate] = {}
    if silence:
        history = learn(every, settings, clock, silence)
        told = rated(
            safe,
            settings.rates,
            history,
            cause=meant,
            clock=clock,
            silence=silence,
            relearn=relearner(lambda: every, settings, clock, silence),
        )
        counted = {fix.rate.label: fix.rate for fix in told}
    return FixesAnswer(
        cause=FIT.shown_cause(cause),
        cautions=cautions_of(
            Situation.of_causes([cause], (each.system for each in proved)), wording
        ),
        notices=(
            *([Notice.FINAL_FIXES_ONLY] if final_only else []),
            *_dangerous(left_out(repairs, cause.key), with_hidden_fault(repairs, cause.key)),
            *closed_ahead(to_come),
            *unseen_returns(proved, untagged),
            *wrong,
            *hand,
        ),
        cases=len(proved),
        since=min((each.closed for each in proved), default=None),
        until=max((each.closed for each in proved), default=None),
        clock=clock,
        km_per_day=km_per_day(safe) if clock is Clock.KM else None,
        horizons=horizons_of(clock, settings.rates),
        confidence=settings.rates.confidence,
        would_tell=settings.rates.would_tell,
        wider=plain is not None,
        silence_days=days,
        fixes=tuple(
            RatedFix(
                rate=fit_rate(fix.rate),
                curve=fix.curve,
                **_behind(fix.rate, found[0].rate),
                with_silence=counted.get(fix.rate.label),
            )
            for fix in found
        ),
        mistaken=mistaken,
        proposed=sum(each.cause.key == cause.key for each in cards),
        proposed_fixes=fixes_proposed(cards, cause.key),
    )


def _mistaken(
    work: UnitOfWork, repairs: Sequence[RepairRecord], cause: Cause, settings: Settings
) -> Iterator[Mistaken]:
    """Yield what was tried for this cause where another was proved, or the other way round."""
    if not any(each.supposed for repair in repairs for each in repair.attempts):
        return
    proved = {each.number: each.cause for each in repairs}
    known = [cause, *shop_causes(work)]
    causes: dict[Hashable, Cause] = {cause_digest(each.key): each for each in reversed(known)}

    @cache
    def name(digest: Hashable) -> str:
        return FIT.shown_cause(causes[digest]).label if digest in causes else ""

    for trial in trials(repairs, settings.rates):
        tried_for, found = trial.tried.supposed, proved[trial.job]
        if trial.tried.component and tried_for not in {None, found}:
            yield Mistaken(
                job=trial.job,
                fix=FIT.named(f"{trial.tried.action} {trial.tried.component}"),
                tried_for=name(tried_for),
                proved=name(found),
                counts=name(trial.cause),
                cured=trial.tried.cured,
            )


def one_hand(repairs: Iterable[RepairRecord]) -> Iterator[str]:
    """Say, without a name, that most of what was heard of cars was noted by one person.

    That is who asked or listened, and need not be who mended the car. A job of which somebody else
    noted something, too, or nobody knows who did, rests on no one person.
    """
    told = [
        [heard for heard in each.contacts if tells_of_fix(heard, each.closed)] for each in repairs
    ]
    heard_of = [contacts for contacts in told if contacts]
    of_each = [{even(each.by or "") for each in contacts} for contacts in heard_of]
    hands = Counter(hand for hands in of_each if len(hands) == 1 for hand in hands if hand)
    most = max(hands.values(), default=0)
    if len(heard_of) >= LEAST_TOLD and most > MOST_OF_ONE * len(heard_of):
        yield (
            f"What was heard of {most} of the {len(heard_of)} jobs was noted by one person alone: "
            "who asks more hears more, of comebacks too, so rates and counts depend on whom that "
            "one asked"
        )


def _dangerous(jobs: Sequence[int], hidden: Sequence[int]) -> Iterator[str]:
    """Say that a fix is left out, and why: its own words, or the fault was hidden on its job."""
    if jobs:
        yield f"Left out, whatever it cured, as what was done is not to be repeated: {_named(jobs)}"
    if others := [each for each in hidden if each not in jobs]:
        yield (
            "Withheld: dangerous, not counted, as the fault was hidden and nothing shows what "
            f"cured: {_named(others)}"
        )


def withheld(jobs: Sequence[int]) -> Iterator[str]:
    """Say that what was left on the cars of some jobs counts nowhere."""
    if jobs:
        yield (
            "Withheld: dangerous, not counted, whatever it is told to have cured; make sure that "
            f"nothing of it is left on the car: {_named(jobs)}"
        )


def closed_ahead(jobs: Sequence[int]) -> Iterator[str]:
    """Say that jobs are left out whose day of closing is yet to come."""
    if jobs:
        one = jobs[0]
        yield (
            f"Left out, as the day of closing is yet to come: {_named(jobs)}; to correct it: "
            f"kb job edit {one} --set closed=DAY"
        )


def _named(jobs: Iterable[int]) -> str:
    return " ".join(f"#{number}" for number in jobs)


def unseen_returns(proved: Sequence[RepairRecord], untagged: Collection[int]) -> Iterator[str]:
    """Say that of some cars nobody would see it if they came back: those of jobs `untagged`."""
    count = sum(each.number in untagged for each in proved)
    if count:
        of = f"{count} of {len(proved)} cases" if len(proved) > 1 else "The only case is"
        yield (
            f"{of} without key tag or VIN: that such a car came back is "
            "seen only where a job names it"
        )


class _Behind(TypedDict):
    """As in `RatedFix`."""

    first_better: float | None
    compared_at: int | None


def _behind(rate: FixRate, first: FixRate) -> _Behind:
    if rate is first or not rate.tried:
        return _Behind(first_better=None, compared_at=None)
    place = compared_at(first, rate)
    one, other = first.horizons[place], rate.horizons[place]
    if one.rate is None or other.rate is None:
        return _Behind(first_better=None, compared_at=None)
    return _Behind(first_better=chance_better(one.belief, other.belief), compared_at=other.horizon)


def _meant(work: UnitOfWork, text: str, cards: Iterable[ProposedCase]) -> Cause:
    """Find the cause that somebody means by some of its words.

    It was proved once, or only mended for, or is proposed of a card that nobody has reviewed.
    """
    words = text.casefold().replace(",", " ").replace(":", " ").split()
    if not words:
        raise InvalidField("cause", text, "is empty; write what failed, as 'clock spring'")
    proved = work.repairs.causes()
    keys = {cause.key for cause, _ in proved}
    others = (*work.repairs.supposed(), *(each.cause for each in cards))
    unproved = {each.key: each for each in others if each.key not in keys}
    counts = [*proved, *((each, 0) for each in unproved.values())]
    known = [cause for cause, _ in counts]
    fitting = [cause for cause in known if all(word in " ".join(cause.key) for word in words)]
    exact = [cause for cause in fitting if _spoken(cause) == " ".join(words)]
    found = exact or fitting
    if len(found) == 1:
        return found[0]
    if found:
        raise InvalidField("cause", text, _which(found, counts))
    raise InvalidField("cause", text, f"is no cause of a closed job here{_respelt(words, known)}")


def _which(found: Sequence[Cause], counts: Sequence[tuple[Cause, int]]) -> str:
    """Say which causes may be meant, the most frequent first, as they are asked for."""
    lines = [
        f"\n  kb fixes {for_shell(FIT.named(_spoken(cause)))}  ({count:,} case{'s' * (count != 1)})"
        for cause, count in counts
        if cause in found
    ]
    left = len(lines) - MOST_NAMED
    more = f"\n  and {left} more: give more of its words" if left > 0 else ""
    return f"names {len(lines)} causes; ask for one of them:{''.join(lines[:MOST_NAMED])}{more}"


def _spoken(cause: Cause) -> str:
    """Return all words of a cause, by which it is found and no other."""
    return " ".join(" ".join(cause.key).split())


def _respelt(words: Sequence[str], known: Sequence[Cause]) -> str:
    """Propose the causes that have the nearest known words, or else are spelt most alike."""
    keys = [_spoken(cause) for cause in known]
    vocabulary = sorted({word for each in keys for word in each.split()})
    near = [process.extractOne(word, vocabulary, scorer=fuzz.ratio) for word in words]
    meant = {match[0] for match in near if match and match[1] >= LIKE_WORD}
    fitting = [
        place
        for place, each in enumerate(keys)
        if len(meant) == len(words) and meant <= set(each.split())
    ]
    if not fitting:
        alike = process.extract(
            " ".join(words), keys, scorer=fuzz.token_sort_ratio, score_cutoff=LIKE
        )
        fitting = [place for _, _, place in alike]
    if not fitting:
        return "; 'kb causes' and 'kb job list' name them"
    proposed = [FIT.shown_cause(known[place]).label for place in fitting[:MOST_PROPOSED]]
    return f"; did you mean {' or '.join(proposed)}?"


def _of_job(work: UnitOfWork, number: int) -> Cause:
    cause = work.jobs.get_many([number])[0].cause
    if cause is None:
        raise InvalidField("job", number, "has no cause yet; give the cause in words instead")
    return replace(cause, position=None, words=None)
