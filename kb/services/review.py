"""Reviewing old cards: groups of them to ask about, and what is confirmed stored on each job."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from typing import Any

from kb.cards.groups import MOST_SHOWN, CardGroup, CardProposal, Confirmed, WaitingCards
from kb.cards.work import cure_told, failure_told, tried_before
from kb.case import Attempt, Cause, EntryKind, Job, JobEntry, Reading, TroubleCode, even
from kb.errors import Conflict, Dangerous, InvalidField
from kb.intake.card_facts import codes_in_words, readings_in_words
from kb.intake.wording import Wording
from kb.progress import Progress
from kb.safety.hazards import Situation, cautions_of_list
from kb.safety.igniter_steps import Danger
from kb.safety.job_dangers import danger_line
from kb.safety.job_words import JobWords, is_igniter_job
from kb.services.card_words import dangers_of_work
from kb.services.drafts import draft_of
from kb.services.indexing import shop_wording
from kb.services.proposed import (
    DENIED,
    MARK,
    NO_CAUSE,
    OPEN,
    confirmed,
    denied_on,
    named_by_shop,
    unreviewed,
)
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownCard:
    """One card in its own words, as far as these may be shown, and those its repair rests on.

    `cured` are the words by which it tells that the repair cured, `not_cured` those by which it
    tells that it did not, empty where it does not; `in_vain` is what was done before that, and most
    likely cured nothing. `told` are codes and readings that stand in its words only.
    """

    number: int
    car: str
    opened: date
    complaint: str
    words: str
    cured: str = ""
    not_cured: str = ""
    in_vain: tuple[str, ...] = ()
    told: tuple[str, ...] = ()

    @property
    def tells_more(self) -> bool:
        """Whether it tells an outcome, or what was tried before."""
        return bool(self.cured or self.not_cured or self.in_vain)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Story:
    """What a card tells besides its repair: whether that cured, and what was tried before it.

    `codes` and `readings` stand in its words only.
    """

    cured: bool | None
    before: tuple[Attempt, ...]
    codes: tuple[TroubleCode, ...]
    readings: tuple[Reading, ...]

    @property
    def facts(self) -> tuple[tuple[EntryKind, str], ...]:
        """Codes and readings, as they are shown and kept."""
        return (
            *((EntryKind.CODE, str(each)) for each in self.codes),
            *((EntryKind.READING, f"{each.place} {each.typed}") for each in self.readings),
        )


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
    waiting : WaitingCards
        What was read on the cards that wait for an answer.
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
    waiting: WaitingCards
    confirmed: Confirmed
    wording: Wording
    today: date
    unread: int
    open: int
    open_too: bool = False
    put_off: set[int] = field(default_factory=set)
    settled: set[int] = field(default_factory=set)
    asked: CardGroup | None = None
    _stories: dict[int, _Story] = field(default_factory=dict)

    def questions(self) -> Iterator[CardGroup]:
        """Yield the groups that were not put off, in the order in which they are asked about."""
        return self.waiting.groups(self.confirmed, self.put_off | self.settled)

    def question(self) -> CardQuestion | None:
        """Return what to ask about next; None where nothing is left."""
        self.asked = next(self.questions(), None)
        return self._shown(self.asked) if self.asked else None

    def deny(self, numbers: Iterable[int], *, who: str | None = None) -> CardsStored:
        """Keep on some jobs that the cause asked about last is not theirs: it is not asked again.

        They are asked about with another, where one is likely. What is said stays, as all that is
        typed does; the same cause can still be told instead of what is asked.
        """
        if self.asked is None or self.asked.cause is None:
            return CardsStored(numbers=(), refused=())
        label = self.asked.cause.label

        def denied(base: Job) -> Job:
            if label in denied_on(base):  # somebody else said so meanwhile
                return base
            said = [(EntryKind.NOTE, label, DENIED)]
            return _checked(base, base, self.wording, entries=_kept(base, said, who))

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

        Codes and readings that a card was shown to tell in its words are stored with it. With
        `as_told` also whether the repair cured, and what was tried in vain before it, as far as
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
            story = self._stories.get(base.number or 0)
            read = self.waiting.card(base.number or 0)
            fix = done.action, even(done.component)
            _refuse(dangers_of_work(base, read, fix, self.wording))
            card = _with_facts(base, story, who, self.wording) if story else base
            return _settled(card, base, done, told, who, story if as_told else None, self.wording)

        result = _store(self.address, numbers, settled, who, open_too=self.open_too)
        for number in result.numbers:
            card = self.waiting.card(number)
            self.confirmed.learn((done.action, done.component), cause, card)
        self.settled.update(result.numbers)
        return result

    def _shown(self, group: CardGroup) -> CardQuestion:
        cards = group.cards[:MOST_SHOWN]
        with UnitOfWork(open_store(self.address), read_only=True) as work:
            jobs = work.jobs.get_many(card.number for card in cards)
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
            left=sum(
                each.number not in self.put_off and each.number not in self.settled
                for each in self.waiting.cards
            ),
        )

    def _card(self, job: Job, card: CardProposal) -> ShownCard:
        fit = JobWords.of(job, self.wording)
        read = self.waiting.card(card.number)
        cured = None if job.attempts else cure_told(job, card.work, self.today)
        failed = None if job.attempts or cured else failure_told(job, read, card.work)
        before = () if job.attempts else tried_before(read, card.work)
        in_vain = tuple(
            Attempt(action=each.action, component=each.component, cured=False) for each in before
        )
        story = self._stories[card.number] = _Story(
            cured=True if cured else False if failed else None,
            before=in_vain,
            codes=codes_in_words(job),
            readings=_readings_told(job, fit, self.wording),
        )
        return ShownCard(
            number=card.number,
            car=fit.shown_vehicle(job.vehicle).tagged,
            opened=job.opened,
            complaint=fit.named(job.complaint_as_typed),
            words=fit.shown(card.work.words),
            cured=fit.shown(cured) if cured else "",
            not_cured=fit.shown(failed) if failed else "",
            in_vain=tuple(fit.named(each.label) for each in in_vain),
            told=tuple(fit.named(text) for _, text in story.facts),
        )


def review_cards(
    address: str,
    *,
    limit: int | None = None,
    today: date,
    open_too: bool = False,
    progress: Progress | None = None,
) -> CardReview:
    """Read the closed jobs without a cause, and learn from all that have one.

    With a `limit` only the last so many are asked about.

    With `open_too` also jobs that are still open and came before today: old cards often do not tell
    the day of the handover, and somebody has to say that it may be taken to be the same.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        cards = unreviewed(work, address, progress)
        unsettled = sum(not card.closed and card.opened < today for card in cards)
        waiting = [each for each in cards if each.closed or (open_too and each.opened < today)]
        waiting = waiting[-limit:] if limit else waiting
        known, wording = confirmed(work, cards), shop_wording(work)
        read = named_by_shop(work, (each.read for each in waiting))
    return CardReview(
        address=address,
        waiting=WaitingCards.of(read, known.cards),
        confirmed=known,
        wording=wording,
        today=today,
        unread=sum(not card.works for card in read),
        open=0 if open_too else unsettled,
        open_too=open_too,
    )


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
                if base.state != NO_CAUSE and not (open_too and _waits(base)):
                    raise Conflict("was changed by somebody else meanwhile; nothing was stored")
                if (job := changed(base)) != base:
                    work.jobs.replace(job)
            except (Conflict, Dangerous, InvalidField) as error:
                refused.append(f"job {base.number}: {error}")
            else:
                stored.append(base.number or 0)
        work.commit()
    return CardsStored(numbers=tuple(stored), refused=tuple(refused))


def _waits(job: Job) -> bool:
    """Whether an open job has no cause yet."""
    return job.state == OPEN and job.cause is None


def _readings_told(job: Job, fit: JobWords, wording: Wording) -> tuple[Reading, ...]:
    """Return the readings in a card's words; none where some of these may not be shown.

    Alone, a reading would no longer tell that it was taken in a dangerous way.
    """
    if fit.dangers or fit.shown(job.notes or "") != (job.notes or ""):
        return ()
    found = readings_in_words(job, wording)
    return tuple(each for each in found if fit.shown_reading(each) == each)


def _with_facts(base: Job, story: _Story, who: str | None, wording: Wording) -> Job:
    """Return a card with the codes and readings of its words; without what is dangerous there."""
    said = [(kind, text, MARK) for kind, text in story.facts]
    try:
        return _checked(
            base,
            base,
            wording,
            codes=(*base.codes, *story.codes),
            readings=(*base.readings, *story.readings),
            entries=_kept(base, said, who),
        )
    except (Dangerous, InvalidField):
        return base


def _settled(
    card: Job,
    base: Job,
    done: Attempt,
    cause: Cause,
    who: str | None,
    story: _Story | None,
    wording: Wording,
) -> Job:
    """Return a card with its repair and cause, what else it told of them, and who said so.

    `base` is the card as it is stored.
    """
    before = story.before if story else ()
    cured = story.cured if story else None
    ended = {True: ", cured", False: ", did not cure", None: ""}[cured]
    said = [(EntryKind.ATTEMPT, f"{each.label}, in vain", MARK) for each in before]
    said.append((EntryKind.ATTEMPT, f"{done.label}{ended}", MARK))
    said.append((EntryKind.CAUSE, cause.label, MARK))
    known = done.fix in {each.fix for each in base.attempts}
    return _checked(
        card,
        base,
        wording,
        closed=base.closed or base.opened,
        cause=cause,
        attempts=base.attempts if known else (*base.attempts, *before, replace(done, cured=cured)),
        entries=_kept(card, said, who),
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


def _checked(card: Job, base: Job, wording: Wording, **told: Any) -> Job:
    """Return a card with what is told of it; `base` is the card as it is stored.

    Raises
    ------
    Dangerous
        If that is a dangerous step.
    """
    draft = draft_of(replace(card, **told), base, wording=wording)
    _refuse(draft.dangers)
    return draft.job


def _refuse(dangers: Sequence[Danger]) -> None:
    if dangers:
        raise Dangerous("; ".join(map(danger_line, dangers)))
