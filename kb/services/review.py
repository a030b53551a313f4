"""Reviewing old cards: groups of them to ask about, and what is confirmed stored on each job."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from typing import Any

from kb.cards.choice import ConfirmedCard
from kb.cards.groups import MOST_SHOWN, CardGroup, CardProposal, Confirmed, groups_of
from kb.cards.work import CardRead, Fix, cure_told, read_card, tried_before
from kb.case import Attempt, Cause, EntryKind, Job, JobEntry
from kb.errors import Conflict, Dangerous, InvalidField
from kb.intake.wording import Wording
from kb.progress import Progress, counted
from kb.safety.hazards import Situation, cautions_of_list
from kb.safety.job_words import JobWords, danger_line, is_igniter_job
from kb.services.drafts import draft_of
from kb.services.indexing import shop_wording
from kb.store.database import open_store
from kb.store.mapping import cause_digest
from kb.store.unit_of_work import UnitOfWork

_NO_CAUSE, _OPEN = "closed without a cause", "open"
MARK, DENIED = "confirmed from the card", "denied as the cause of this card"
"""How an entry tells where what it says is from."""
_LEARNT_FROM = 200
"""Of so many confirmed cards, the last, it is learnt how a shop tells what was the repair."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownCard:
    """One card in its own words, as far as these may be shown, and those its repair rests on.

    `cured` are the words by which it tells that the repair cured, empty where it does not;
    `in_vain` is what was done before that, and most likely cured nothing.
    """

    number: int
    car: str
    opened: date
    complaint: str
    words: str
    cured: str = ""
    in_vain: tuple[str, ...] = ()

    @property
    def tells_more(self) -> bool:
        """Whether it tells an outcome, or what was tried before."""
        return bool(self.cured or self.in_vain)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Story:
    """What a card tells besides its repair: whether that cured, and what was tried before it."""

    cured: bool
    before: tuple[Attempt, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CardQuestion:
    """Cards on which the same was done, shown to be asked about, under their cautions.

    `fix` and `cause` are worded to be shown; `cause` is empty where none is proposed. `chance` is
    as in `CardGroup`. `more` cards of the same kind are not shown; `left` in all wait for an
    answer, these included.
    """

    cautions: tuple[str, ...]
    fix: str
    cause: str
    chance: float | None
    cards: tuple[ShownCard, ...]
    more: int
    left: int

    @property
    def numbers(self) -> tuple[int, ...]:
        """The jobs of the cards shown."""
        return tuple(card.number for card in self.cards)


@dataclass(frozen=True, slots=True, kw_only=True)
class CardsStored:
    """The jobs on which an answer was stored, and why it was not on others."""

    numbers: tuple[int, ...]
    refused: tuple[str, ...]


@dataclass(kw_only=True)
class CardReview:
    """Cards under review: what is left to ask about, and what is known by now.

    Attributes
    ----------
    jobs : dict
        The cards as jobs, by number.
    read : list of CardRead
        What was read on those that wait for an answer.
    unread : int
        Cards on which no work could be read.
    open : int
        Jobs still open, which are not asked about: without a handover they would count nowhere.
    open_too : bool
        They are asked about, as handed over on the day they came.
    asked : CardGroup or None
        What was asked about last.
    """

    address: str
    jobs: dict[int, Job]
    read: list[CardRead]
    confirmed: Confirmed
    wording: Wording
    today: date
    unread: int
    open: int
    open_too: bool = False
    put_off: set[int] = field(default_factory=set)
    asked: CardGroup | None = None
    _stories: dict[int, _Story] = field(default_factory=dict)

    def questions(self) -> list[CardGroup]:
        """Return the groups that were not put off, in the order in which they are asked about."""
        return groups_of([c for c in self.read if c.number not in self.put_off], self.confirmed)

    def question(self) -> CardQuestion | None:
        """Return what to ask about next; None where nothing is left."""
        groups = self.questions()
        self.asked = groups[0] if groups else None
        left = sum(len(group.cards) for group in groups)
        return self._shown(groups[0], left) if groups else None

    def deny(self, numbers: Iterable[int], *, who: str | None = None) -> CardsStored:
        """Keep on some jobs that the cause asked about last is not theirs: it is not asked again.

        They are asked about with another, where one is likely. What is said stays, as all that is
        typed does; the same cause can still be told instead of what is asked.
        """
        if self.asked is None or self.asked.cause is None:
            return CardsStored(numbers=(), refused=())
        label = self.asked.cause.label

        def denied(base: Job) -> Job:
            return _checked(base, entries=_kept(base, [(EntryKind.NOTE, label, DENIED)], who))

        result = _store(self.address, numbers, denied, who, open_too=self.open_too)
        for number in result.numbers:
            self.confirmed.denied[number].add(label)
        return result

    def later(self, numbers: Iterable[int]) -> None:
        """Put some cards off until the next review."""
        self.put_off.update(numbers)

    def confirm(
        self,
        numbers: Iterable[int],
        done: Attempt | None = None,
        cause: Cause | None = None,
        *,
        as_told: bool = False,
        who: str | None = None,
    ) -> CardsStored:
        """Store a repair and its cause on some jobs: as asked about last, or what is told instead.

        With `as_told` also that the repair cured, and what was tried in vain before it, as far as
        each card was shown to tell it.

        The others are asked about in the light of it. An answer is one entry of the history, so
        `kb undo` takes it back whole. Jobs on which it cannot be stored are told.

        Raises
        ------
        InvalidField
            If no cause is told, and none was proposed.
        """
        cause = cause or (self.asked.cause if self.asked else None)
        if self.asked is None or cause is None:
            raise InvalidField("cause", None, "is missing; write what was wrong")
        done = Attempt(
            action=done.action if done else self.asked.action,
            component=done.component if done else self.asked.component,
        )
        told = cause

        def settled(base: Job) -> Job:
            story = self._stories.get(base.number or 0) if as_told else None
            return _settled(base, done, told, who, story)

        result = _store(self.address, numbers, settled, who, open_too=self.open_too)
        for card in self.read:
            if card.number in result.numbers:
                self.confirmed.learn((done.action, done.component), cause, card)
        self.read = [card for card in self.read if card.number not in result.numbers]
        return result

    def _shown(self, group: CardGroup, left: int) -> CardQuestion:
        cards = group.cards[:MOST_SHOWN]
        jobs = [self.jobs[card.number] for card in cards]
        words = JobWords(
            number=None, igniter_job=any(is_igniter_job(job, self.wording) for job in jobs)
        )
        situation = Situation.of_causes([group.cause] if group.cause else [])
        for job in jobs:
            situation |= Situation.of_job(job)
        return CardQuestion(
            cautions=cautions_of_list(situation, self.wording),
            fix=words.named(f"{group.action} {group.component}"),
            cause=words.shown_cause(group.cause).label if group.cause else "",
            chance=group.chance,
            cards=tuple(self._card(job, card) for job, card in zip(jobs, cards, strict=True)),
            more=len(group.cards) - len(cards),
            left=left,
        )

    def _card(self, job: Job, card: CardProposal) -> ShownCard:
        fit = JobWords.of(job, self.wording)
        read = next(each for each in self.read if each.number == card.number)
        cured = None if job.attempts else cure_told(job, card.work, self.today)
        before = () if job.attempts else tried_before(read, card.work)
        in_vain = tuple(
            Attempt(action=each.action, component=each.component, cured=False) for each in before
        )
        self._stories[card.number] = _Story(cured=cured is not None, before=in_vain)
        return ShownCard(
            number=card.number,
            car=fit.shown_vehicle(job.vehicle).tagged,
            opened=job.opened,
            complaint=fit.named(job.complaint_as_typed),
            words=fit.shown(card.work.words),
            cured=fit.shown(cured) if cured else "",
            in_vain=tuple(fit.named(each.label) for each in in_vain),
        )


def review_cards(
    address: str,
    *,
    limit: int,
    today: date,
    open_too: bool = False,
    progress: Progress | None = None,
) -> CardReview:
    """Read the last `limit` closed jobs without a cause, and learn from all that have one.

    With `open_too` also jobs that are still open and came before today: old cards often do not tell
    the day of the handover, and somebody has to say that it may be taken to be the same.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        unsettled = [
            job
            for job in work.jobs.get_many(work.jobs.numbers_with(state=_OPEN))
            if _waits(job) and job.opened < today
        ]
        numbers = {*work.jobs.numbers_with(state=_NO_CAUSE)}
        if open_too:
            numbers.update(job.number or 0 for job in unsettled)
        jobs = {job.number or 0: job for job in work.jobs.get_many(sorted(numbers)[-limit:])}
        confirmed, wording = _confirmed(work), shop_wording(work)
        earlier = _confirmed_cards(work)
    every = [read_card(job) for job in counted(jobs.values(), total=len(jobs), progress=progress)]
    read = [card for card in every if card.works]
    confirmed.denied = _denied(jobs.values())
    confirmed.cards = [
        ConfirmedCard(read=read_card(replace(job, attempts=())), fix=_fix_of(job))
        for job in earlier
    ]
    return CardReview(
        address=address,
        jobs=jobs,
        read=read,
        confirmed=confirmed,
        wording=wording,
        today=today,
        unread=len(every) - len(read),
        open=0 if open_too else len(unsettled),
        open_too=open_too,
    )


def _confirmed(work: UnitOfWork) -> Confirmed:
    causes = {cause_digest(cause.key): cause for cause, _ in work.repairs.causes()}
    known = Confirmed()
    for repair in work.repairs.all():
        if repair.attempts and repair.cause in causes:
            last = repair.attempts[-1]
            known.learn((last.action, last.fix[1]), causes[repair.cause])
    return known


def _confirmed_cards(work: UnitOfWork) -> list[Job]:
    """Return the last cases that were confirmed from their cards."""
    last = sorted(work.jobs.numbers_with(state="closed"))[-_LEARNT_FROM:]
    return [
        job
        for job in work.jobs.get_many(last)
        if job.attempts and any(each.text.endswith(f"({MARK})") for each in job.entries)
    ]


def _store(
    address: str,
    numbers: Iterable[int],
    changed: Callable[[Job], Job],
    who: str | None,
    *,
    open_too: bool,
) -> CardsStored:
    """Store what an answer makes of each job that still waits for one."""
    stored, refused = [], []
    with UnitOfWork(open_store(address), who=who) as work:
        for base in work.jobs.get_many(numbers):
            try:
                if base.state != _NO_CAUSE and not (open_too and _waits(base)):
                    raise Conflict("was changed by somebody else meanwhile; nothing was stored")
                work.jobs.replace(changed(base))
            except (Conflict, Dangerous, InvalidField) as error:
                refused.append(f"job {base.number}: {error}")
            else:
                stored.append(base.number or 0)
        work.commit()
    return CardsStored(numbers=tuple(stored), refused=tuple(refused))


def _waits(job: Job) -> bool:
    """Whether an open job has no cause yet."""
    return job.state == _OPEN and job.cause is None


def _settled(base: Job, done: Attempt, cause: Cause, who: str | None, story: _Story | None) -> Job:
    """Return a card with its repair and cause, what else it told of them, and who said so."""
    before = story.before if story else ()
    cured = True if story and story.cured else None
    said = [(EntryKind.ATTEMPT, f"{each.label}, in vain", MARK) for each in before]
    said.append((EntryKind.ATTEMPT, f"{done.label}{', cured' if cured else ''}", MARK))
    said.append((EntryKind.CAUSE, cause.label, MARK))
    known = done.fix in {each.fix for each in base.attempts}
    return _checked(
        base,
        closed=base.closed or base.opened,
        cause=cause,
        attempts=base.attempts if known else (*base.attempts, *before, replace(done, cured=cured)),
        entries=_kept(base, said, who),
    )


def _kept(
    base: Job, said: Iterable[tuple[EntryKind, str, str]], who: str | None
) -> tuple[JobEntry, ...]:
    """Return the entries of a job with what was said of it, each marked with where it is from."""
    now = datetime.now(UTC)
    new = (
        JobEntry(kind=kind, text=f"{text} ({mark})", at=now, by=who) for kind, text, mark in said
    )
    return *base.entries, *new


def _checked(base: Job, **told: Any) -> Job:
    """Return a card with what is told of it.

    Raises
    ------
    Dangerous
        If that is a dangerous step.
    """
    draft = draft_of(replace(base, **told), base)
    if draft.dangers:
        raise Dangerous("; ".join(map(danger_line, draft.dangers)))
    return draft.job


def _fix_of(job: Job) -> Fix:
    return job.attempts[-1].action, job.attempts[-1].fix[1]


def _denied(jobs: Iterable[Job]) -> dict[int, set[str]]:
    """Return of each job the causes that somebody said were not its own, in one line."""
    mark = f" ({DENIED})"
    found: dict[int, set[str]] = defaultdict(set)
    for job in jobs:
        texts = [each.text for each in job.entries if each.kind is EntryKind.NOTE]
        if said := {text.removesuffix(mark) for text in texts if text.endswith(mark)}:
            found[job.number or 0] = said
    return found
