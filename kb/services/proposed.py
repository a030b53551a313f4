"""What nobody has confirmed yet of old cards: read once, kept beside the index, proposed anew.

Reading takes milliseconds a card, so what was read is kept, and only cards that changed since are
read again. What is proposed rests on every case as well, and is made again after any change.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from functools import cache, partial
from pathlib import Path
from typing import Generic, TypeVar

import kb
from kb.cards.choice import ConfirmedCard
from kb.cards.groups import CauseKey, Confirmed, WaitingCards
from kb.cards.proposed import ProposedCase, UnreviewedCard, proposed_cases
from kb.cards.work import CardRead, Fix, read_card
from kb.case import EntryKind, Job, even
from kb.intake.wording import Wording
from kb.progress import Progress, counted
from kb.safety.job_words import FIT
from kb.services.advisable import is_fit
from kb.services.card_words import marked
from kb.services.indexing import digest, moment_of, own_words, refresh_index
from kb.services.kept_json import NOT_KEPT, read_kept, write_kept
from kb.services.workers import worked
from kb.settings import Settings
from kb.store.address import index_folder
from kb.store.database import open_store
from kb.store.mapping import cause_digest
from kb.store.unit_of_work import UnitOfWork

READ_FILE, PROPOSED_FILE = "cards.read", "cards.proposed"
NO_CAUSE, OPEN = "closed without a cause", "open"
MARK, DENIED = "confirmed from the card", "denied as the cause of this card"
"""How an entry tells where what it says is from."""
_LEARNT_FROM = 200
"""Of so many confirmed cards, the last, it is learnt how a shop tells what was the repair."""
_AT_ONCE, _WORTH_HELP = 10_000, 3_000
"""So many cards are held at once; from so many on they are read by several processes."""
T = TypeVar("T")


@dataclass(frozen=True)
class _Kept(Generic[T]):
    """What was read or proposed, from which state of which store, by which program."""

    mark: str
    sequence: int
    found: list[T]


def proposed(
    work: UnitOfWork, address: str, *, today: date, progress: Progress | None = None
) -> dict[int, ProposedCase]:
    """Return what each card of a job that is over, but has no cause yet, may be a case of."""
    folder, program = (
        index_folder(address),
        f"{_program()} {digest(work.names.vocabulary(), today)}",
    )
    kept = _read_kept(work, folder / PROPOSED_FILE, program, _Kept[ProposedCase])
    if kept is not None and kept.sequence == work.changes.last():
        return {each.number: each for each in kept.found}
    cards = [each for each in unreviewed(work, address, progress) if each.is_done(today)]
    known = confirmed(work, cards) if cards else Confirmed()
    waiting = WaitingCards.of(named_by_shop(work, (each.read for each in cards)), known.cards)
    found = {each.number: each for each in proposed_cases(waiting, known)}
    _keep(work, folder / PROPOSED_FILE, program, list(found.values()))
    return found


def prepare_recall(
    address: str, settings: Settings, *, today: date, progress: Progress | None = None
) -> None:
    """Bring the indexes up to date and read the cards, so that the next question need not wait."""
    with UnitOfWork(open_store(address), read_only=True) as work:
        refresh_index(work, address, settings, progress)
        proposed(work, address, today=today, progress=progress)


def unreviewed(
    work: UnitOfWork, address: str, progress: Progress | None = None
) -> list[UnreviewedCard]:
    """Return every job that counts and has no cause, as it was read."""
    file = index_folder(address) / READ_FILE
    own = own_words(work)
    program = f"{_program()} {digest(sorted(own.items()))}"
    kept = _read_kept(work, file, program, _Kept[UnreviewedCard])
    changed = set(work.changes.since(kept.sequence)) if kept else set()
    every = kept.found if kept else []
    known = {each.read.number: each for each in every if each.read.number not in changed}
    waiting = [*work.jobs.numbers_with(state=NO_CAUSE), *work.jobs.numbers_with(state=OPEN)]
    new = sorted(set(waiting) - known.keys())
    for card in counted(_read(work, new, own), len(new), progress):
        known[card.read.number] = card
    cards = [known[number] for number in sorted(waiting)]
    if new or changed:
        _keep(work, file, program, cards)
    return cards


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedFix:
    """What was done on so many cards for a cause that nobody confirmed on them."""

    label: str
    cards: int


def fixes_proposed(cases: Iterable[ProposedCase], cause: CauseKey) -> tuple[ProposedFix, ...]:
    """Return what was done on the cards of which a cause is proposed, the most frequent first.

    What nobody should repeat is left out.
    """
    fit = (each for each in cases if each.cause.key == cause and is_fit(each))
    done = Counter(even(f"{each.action} {each.component}") for each in fit)
    return tuple(
        ProposedFix(label=FIT.named(label), cards=cards) for label, cards in done.most_common()
    )


def confirmed(work: UnitOfWork, cards: Iterable[UnreviewedCard]) -> Confirmed:
    """Return what every case teaches, and what was said of cards that have no cause yet."""
    causes = {cause_digest(cause.key): cause for cause, _ in work.repairs.causes()}
    known = Confirmed()
    for repair in work.repairs.all():
        if repair.attempts and repair.cause in causes:
            last = repair.attempts[-1]
            known.learn((last.action, last.fix[1]), causes[repair.cause])
    known.cards = [
        ConfirmedCard(read=read_card(replace(job, attempts=())), fix=_fix_of(job))
        for job in _confirmed_cards(work)
    ]
    known.denied.update({each.read.number: set(each.denied) for each in cards if each.denied})
    return known


def named_by_shop(work: UnitOfWork, cards: Iterable[CardRead]) -> list[CardRead]:
    """Return cards with the shop's one name for each component."""
    names = work.names.vocabulary()
    return [
        replace(
            card,
            works=tuple(
                replace(each, component=names.component(each.component)) for each in card.works
            ),
        )
        for card in cards
    ]


def _read(
    work: UnitOfWork, numbers: Sequence[int], own: Mapping[str, str]
) -> Iterator[UnreviewedCard]:
    """Read cards, on every core where there are many."""
    jobs = (
        job
        for first in range(0, len(numbers), _AT_ONCE)
        for job in work.jobs.get_many(numbers[first : first + _AT_ONCE], as_typed=True)
    )
    yield from worked(partial(_unreviewed, own=own), jobs, worth=_WORTH_HELP)


def _unreviewed(job: Job, own: Mapping[str, str]) -> UnreviewedCard:
    return UnreviewedCard(
        read=marked(read_card(job), job, Wording.default(own)),
        opened=job.opened,
        closed=job.closed is not None,
        denied=denied_on(job),
        reopened=job.cause is not None and job.closed is None,
    )


def _confirmed_cards(work: UnitOfWork) -> list[Job]:
    """Return the last cases that were confirmed from their cards."""
    last = sorted(work.jobs.numbers_with(state="closed"))[-_LEARNT_FROM:]
    return [
        job
        for job in work.jobs.get_many(last)
        if job.attempts and any(each.text.endswith(f"({MARK})") for each in job.entries)
    ]


def _fix_of(job: Job) -> Fix:
    return job.attempts[-1].action, job.attempts[-1].fix[1]


def denied_on(job: Job) -> tuple[str, ...]:
    """Return the causes that somebody said were not a job's own, each in one line."""
    mark = f" ({DENIED})"
    notes = (each.text for each in job.entries if each.kind is EntryKind.NOTE)
    return tuple(text.removesuffix(mark) for text in notes if text.endswith(mark))


def _read_kept(work: UnitOfWork, file: Path, made_by: str, kind: type[_Kept[T]]) -> _Kept[T] | None:
    """Return what is kept; None where it is of another store or program."""
    try:
        kept = read_kept(file, kind)
    except NOT_KEPT:
        return None
    return kept if kept.mark == f"{made_by} {moment_of(work, kept.sequence)}" else None


def _keep(work: UnitOfWork, file: Path, made_by: str, found: Sequence[object]) -> None:
    """Keep something beside the index; a folder that cannot be written is no error."""
    sequence = work.changes.last()
    kept = _Kept(f"{made_by} {moment_of(work, sequence)}", sequence, list(found))
    with suppress(OSError):
        write_kept(file, kept)


@cache
def _program() -> str:
    """Tell one state of the rooms that read cards from another."""
    rooms = (Path(kb.__file__).with_name(room) for room in ("intake", "cards", "safety"))
    files = (file for room in rooms for file in room.rglob("*.*") if file.suffix != ".pyc")
    stats = ((file.name, file.stat()) for file in files)
    return digest(sorted((name, stat.st_size, stat.st_mtime_ns) for name, stat in stats))
