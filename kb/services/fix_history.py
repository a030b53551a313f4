"""Keeping what a shop's fixes say of one another in step with the store."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from kb import __version__
from kb.case import RepairRecord
from kb.rates.fixes import Relearn, horizons_of
from kb.rates.shrinkage import Key, StagedHistory, fit_stages
from kb.rates.survival import Lifetime
from kb.rates.trials import Clock, Lives, Silence, Trial, trials
from kb.recall.index import most_changes
from kb.services.advisable import only_advisable
from kb.services.indexing import digest, moment_of
from kb.services.kept_json import NOT_KEPT, read_kept, write_kept
from kb.services.kept_rates import forget_rates
from kb.settings import Settings
from kb.store.address import index_folder
from kb.store.repair_digests import differ
from kb.store.unit_of_work import UnitOfWork

FILE = "fixes.json"
FORMAT = 17
"""To be counted up when what is learnt, or how, changes."""
LEAST_KEPT = 1_000
"""What fewer cases say is learnt again after any change: it takes a fifth of a second, and the same
jobs then say the same in whatever store, whenever they were typed."""
MOST_DIGESTED = 20_000
"""Of more cases it is looked for changes without history only where history tells of none since:
that takes a second for 100,000 jobs, which is too long after every job that is recorded."""


@dataclass(frozen=True, slots=True)
class _Saved:
    """A wider history with what it was made from; `cases` is how many there were.

    `digests` are of what it rests on, and `stamp` is of the store when they were last seen to be
    right (`kb.store.repair_digests`).
    """

    mark: str
    sequence: int
    cases: int
    history: StagedHistory | None
    digests: dict[str, str] | None = None
    stamp: str | None = None


def wider_history(
    work: UnitOfWork, address: str, settings: Settings, tried: Iterable[Trial] | None = None
) -> StagedHistory | None:
    """Return what the shop's fixes say of one another in days; None while there are too few.

    It is learnt again when as many jobs have changed as make the index be fitted again, in a small
    store (`LEAST_KEPT`) when any has, and kept beside it; and when what it rests on changed though
    history tells of nothing: another program wrote into the store. A folder that cannot be written
    is no error. Who knows already all that was `tried` in the store gives it, to spare a second
    reading.
    """
    path = index_folder(address) / FILE
    saved = _load(path)
    if saved is None or saved.mark != _mark(work, saved.sequence, settings):
        forget_rates(address)
        return _learnt(work, path, settings, tried)
    changed = work.changes.since(saved.sequence)
    most = most_changes(saved.cases, settings.recall) if saved.cases >= LEAST_KEPT else 0
    if len(changed) > most:
        return _learnt(work, path, settings, tried)
    if not _rests_on_the_same(work, path, saved, changed):
        forget_rates(address)
        return _learnt(work, path, settings, tried)
    return saved.history


def _rests_on_the_same(work: UnitOfWork, path: Path, saved: _Saved, changed: Sequence[int]) -> bool:
    """Whether the store has all that is kept was learnt from, but for the jobs that changed."""
    stamp = work.repairs.stamp(work.changes.at)
    if stamp is not None and stamp == saved.stamp:
        return True
    if saved.digests is None or (changed and saved.cases > MOST_DIGESTED):
        return True
    now = work.repairs.digests()
    if now is not None and differ(saved.digests, now, changed):
        return False
    if stamp is not None:
        with suppress(OSError):
            write_kept(path, replace(saved, stamp=stamp))
    return True


def is_astray(work: UnitOfWork, address: str, settings: Settings) -> bool:
    """Whether what is kept is not what the store says, though its history tells of no change."""
    saved = _load(index_folder(address) / FILE)
    if saved is None or saved.mark != _mark(work, saved.sequence, settings):
        return False
    if saved.sequence != work.changes.last():
        return False
    return learn(work.repairs.all(), settings) != saved.history


def learn(
    repairs: Iterable[RepairRecord],
    settings: Settings,
    clock: Clock = Clock.DAYS,
    silence: Silence | None = None,
) -> StagedHistory | None:
    """Learn a wider history from all cases of a store, on any clock; see `only_advisable`."""
    every = trials(only_advisable(repairs), settings.rates, clock, silence)
    lives = ((trial, trial.lives) for trial in every)
    return _fitted(lives, settings, clock)


def _fitted(
    every: Iterable[tuple[Trial, Lives]], settings: Settings, clock: Clock
) -> StagedHistory | None:
    lives: dict[tuple[Hashable, Key], list[Lifetime]] = defaultdict(list)
    rates = settings.rates
    for trial, known in every:
        lives[trial.cause, trial.tried.fix] += () if trial.again else known
    return fit_stages(lives, horizons_of(clock, rates), rates.least_fixes)


def relearning(work: UnitOfWork, address: str, settings: Settings) -> Relearn | None:
    """Return what learns the history of `wider_history` with answers supposed.

    None where some answers more do not have it learnt anew.
    """
    saved = _load(index_folder(address) / FILE)
    if saved is not None and saved.cases >= LEAST_KEPT:
        return None
    return relearner(work.repairs.all, settings)


def relearner(
    repairs: Callable[[], Iterable[RepairRecord]],
    settings: Settings,
    clock: Clock = Clock.DAYS,
    silence: Silence | None = None,
) -> Relearn:
    """Return what learns as `learn` does with answers supposed; repairs are read when it must."""

    @cache
    def every() -> list[Trial]:
        return [*trials(only_advisable(repairs()), settings.rates, clock, silence)]

    @cache
    def relearn(
        jobs: frozenset[tuple[int, Key]], end: Callable[[Trial], Lives]
    ) -> StagedHistory | None:
        lives = ((each, end(each) if each.of in jobs else each.lives) for each in every())
        return _fitted(lives, settings, clock)

    return relearn


def _learnt(
    work: UnitOfWork, path: Path, settings: Settings, tried: Iterable[Trial] | None
) -> StagedHistory | None:
    if tried is None:
        tried = trials(only_advisable(work.repairs.all()), settings.rates)
    history = _fitted(((each, each.lives) for each in tried), settings, Clock.DAYS)
    sequence, cases = work.changes.last(), work.jobs.count_cases()
    digests, stamp = work.repairs.digests(), work.repairs.stamp(work.changes.at)
    saved = _Saved(_mark(work, sequence, settings), sequence, cases, history, digests, stamp)
    with suppress(OSError):
        write_kept(path, saved)
    return history


def _load(path: Path) -> _Saved | None:
    try:
        return read_kept(path, _Saved)
    except NOT_KEPT:
        return None


def _mark(work: UnitOfWork, sequence: int, settings: Settings) -> str:
    """Tell one store, program and way of rating from another."""
    counted = replace(settings.rates, silence_days=None)  # silence is never learnt from here
    made_of = digest(counted, work.names.vocabulary())
    return f"{__version__} {FORMAT} {made_of} {moment_of(work, sequence)}"
