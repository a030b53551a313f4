"""Keeping the index of cases in step with the store."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from hashlib import blake2b
from pathlib import Path
from shutil import rmtree
from typing import TypeVar

from kb import __version__
from kb.case import Job
from kb.errors import Dangerous, InvalidField, Notice, StoreUnusable
from kb.intake.subjects import subject_lines
from kb.intake.wording import Wording, phrase
from kb.patterns import compiled
from kb.progress import Progress, counted
from kb.recall.cards import Cards
from kb.recall.index import FILE, Index, most_changes
from kb.safety.job_dangers import refuse_hiding
from kb.settings import Settings
from kb.store.address import index_folder
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

Answer = TypeVar("Answer")
Kind = TypeVar("Kind", bound=Index)
"""Cases alone (`Index`), or every job (`Cards`)."""


def shop_wording(work: UnitOfWork) -> Wording:
    """Return the trade's wording with the shop's own words on top.

    What else the shop calls a component names what is measured there as well.

    Raises
    ------
    StoreUnusable
        If a word of its own, which the store should never have taken, is no word.
    """
    try:
        own = Wording.default(own_words(work))
    except InvalidField as error:
        raise StoreUnusable(f"store: {error}; see 'kb db check'") from error
    names = tuple(_measured_at(work.names.vocabulary().components))
    return _with_names(own, names) if names else own


def own_words(work: UnitOfWork) -> dict[str, str]:
    """Return the shop's own words as `Wording.default` takes them."""
    return {short: " | ".join(long) for short, long in work.words.all().items()}


@lru_cache(maxsize=4)
def _with_names(own: Wording, names: tuple[tuple[str, str], ...]) -> Wording:
    """Return the same wording for the same names: tables are kept that were made from it."""
    return replace(own, phrases={**dict(names), **own.phrases})


def _measured_at(names: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for name, meant in names.items():
        # A name without a letter, or with a bar, names no item; no name may hide an igniter.
        with suppress(InvalidField, Dangerous):
            refuse_hiding(name, meant)
            yield phrase(name, meant)


def current_index(
    work: UnitOfWork,
    address: str,
    wording: Wording,
    settings: Settings,
    progress: Progress | None = None,
) -> Index:
    """Return an index of every case in the store as it is now.

    The index on disk is taken if it was made from this store with this wording and these settings,
    and brought up to date in memory; if too much has changed since, it is fitted again and saved.
    In a small store one case is too much, so that an answer does not depend on when it was fitted.
    """
    return _current(Index, work, address, wording, settings, Every(work, progress, Index))


def current_cards(
    work: UnitOfWork,
    address: str,
    wording: Wording,
    settings: Settings,
    progress: Progress | None = None,
) -> Cards:
    """Return an index of every job in the store as it is now, likewise."""
    return _current(Cards, work, address, wording, settings, Every(work, progress))


def refresh_index(
    work: UnitOfWork, address: str, settings: Settings, progress: Progress | None = None
) -> None:
    """Bring the indexes up to date now, so that the next question need not wait."""
    wording, every = shop_wording(work), Every(work, progress)
    for kind in (Index, Cards):
        _current(kind, work, address, wording, settings, every)


WEIGHTS_FILE = "weights.json"
"""What the shop has learnt lies beside the index, too; it is made again when it is asked for."""


_COMPUTED = compiled(
    r"(?:(?:cases|cards)\.index|cards\.(?:read|proposed)|fixes\.json|rates|index\.json|arrays-.*)"
    r"(?:\.[0-9a-f]{32}\.part)?"
)
"""Names of what is computed from jobs, of older programs, too, and of what was half written of it.
What else lies in that folder, or where a link in its place leads to, is nobody's here."""
_FOLDERS = compiled(r"rates|cards\.(?:read|proposed)|arrays-.*")
"""Those of them that were folders."""


def forget_computed(address: str) -> None:
    """Remove what is computed from jobs beside a store, but for learnt weights, mere numbers.

    Raises
    ------
    OSError
        If it cannot be removed.
    """
    folder = index_folder(address)
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        if not _COMPUTED.fullmatch(path.name):
            continue
        if path.is_dir() and not path.is_symlink():
            if _FOLDERS.fullmatch(path.name):
                rmtree(path)
            else:
                with suppress(OSError):  # what lies in it is somebody's
                    path.rmdir()
        else:
            path.unlink(missing_ok=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reindexed:
    """An index that was made again: where it lies, its size there, whether it could be written."""

    folder: str
    cases: int
    bytes: int
    kept: bool
    unkept: str = ""


def reindex(address: str, settings: Settings, progress: Progress | None = None) -> Reindexed:
    """Make the index again from the store, whatever lies there.

    What else is computed is forgotten, and made again when it is needed.
    """
    with suppress(OSError):
        forget_computed(address)
    with UnitOfWork(open_store(address), read_only=True) as work:
        wording = shop_wording(work)
        every = Every(work, progress)
        index = fit_index(Index, work, address, wording, settings, every)
        fit_index(Cards, work, address, wording, settings, every)
    folder = index_folder(address)
    return Reindexed(
        folder=str(folder),
        cases=len(index),
        bytes=(folder / FILE).stat().st_size if index.kept else 0,
        kept=index.kept,
        unkept=index.unkept,
    )


class Every:
    """Every job of a store that an index takes: read when one is fitted, once for both kinds.

    `kind` is what is to be fitted, where not both are.
    """

    def __init__(
        self, work: UnitOfWork, progress: Progress | None, kind: type[Index] = Cards
    ) -> None:
        self._work, self._progress, self._kind = work, progress, kind

    @cached_property
    def _jobs(self) -> list[Job]:
        jobs, cases_only = self._work.jobs, self._kind is Index
        total = jobs.count_cases() if cases_only else jobs.count()
        read = jobs.all(cases_only=cases_only, lists=self._kind.lists)
        return list(counted(read, total, self._progress))

    def taken_by(self, kind: type[Index]) -> list[Job]:
        """Return the jobs that belong into an index."""
        return [job for job in self._jobs if kind.takes(job)]


def _current(
    kind: type[Kind],
    work: UnitOfWork,
    address: str,
    wording: Wording,
    settings: Settings,
    every: Every,
) -> Kind:
    index = kind.load(index_folder(address))
    if index is None or not is_of(index, work, wording, settings):
        return fit_index(kind, work, address, wording, settings, every)
    changed = work.changes.since(index.sequence)
    if len(changed) > most_changes(len(index), settings.recall):
        return fit_index(kind, work, address, wording, settings, every)
    if changed:
        jobs = [job for job in work.jobs.get_many(changed) if kind.takes(job)]
        unfitted = set(index.unfitted(changed, jobs))
        if len(unfitted) > kind.most_unfitted(len(index), settings.recall):
            return fit_index(kind, work, address, wording, settings, every)
        new = [job for job in jobs if job.number in unfitted]
        index = index.with_changes(unfitted, new, wording)
    if len(index) <= MOST_COUNTED and len(index) != _taken(kind, work):
        return fit_index(kind, work, address, wording, settings, every)
    return index


def _taken(kind: type[Index], work: UnitOfWork) -> int:
    """Return how many jobs of a store an index takes."""
    if kind is Index:
        return work.jobs.count_cases()
    return work.jobs.count() - work.jobs.count_in_state("void")


class IndexAstray(Exception):
    """An index has a recalled job otherwise than the store: another program wrote into that."""


def refuse_astray(index: Index, recalled: Iterable[Job]) -> None:
    """Hold the jobs that are told of, which were read from the store anyway, against the index.

    Raises
    ------
    IndexAstray
        If one is not as it was fitted, though history tells of no change.
    """
    if index.astray(recalled):
        raise IndexAstray


def answered_anew(
    ask: Callable[[bool], Answer], address: str, settings: Settings, progress: Progress | None
) -> Answer:
    """Answer a question, and once more with an index made anew where that was astray.

    What is asked is told whether it may say so; an index that cannot be kept is taken as it is.
    """
    try:
        return ask(True)
    except IndexAstray:
        reindex(address, settings, progress)
        return ask(False)


def _save(index: Index, folder: Path) -> None:
    """Save an index; once more where others made or removed the same at that moment."""
    for _ in range(_TRIES - 1):
        with suppress(OSError):
            index.save(folder)
            return
    index.save(folder)


_TRIES = 3
MOST_COUNTED = 20_000
"""So many jobs are counted at every question, in less than a hundredth of a second: a job that
another program put in or took out is noticed. In larger stores `kb db check` tells of it."""


def fit_index(
    kind: type[Kind],
    work: UnitOfWork,
    address: str,
    wording: Wording,
    settings: Settings,
    every: Every,
) -> Kind:
    """Fit an index on every job it takes and save it beside the store.

    A folder that cannot be written is no error: the index then serves this once (`Index.kept`).
    """
    jobs = every.taken_by(kind)
    sequence = work.changes.last()
    mark = _mark(work, wording, settings, sequence)
    index = kind.fit(jobs, wording, settings, sequence=sequence, mark=mark)
    try:
        _save(index, index_folder(address))
    except OSError:
        return replace(index, kept=False, unkept=_unkept(address, index.file))
    return index


def _unkept(address: str, name: str) -> str:
    """Say that an index could not be kept; what stands in its place and is somebody's is left."""
    folder = index_folder(address)
    if folder.exists() and not folder.is_dir():
        there = f"{folder} is no folder"
    elif (folder / name).is_dir():
        there = f"{folder / name} is a folder with something in it"
    else:
        return Notice.INDEX_NOT_KEPT
    return (
        "The index of past jobs could not be written beside the store, so every question makes it "
        f"again: {there}, which is none of this program's; move it away."
    )


def is_of(index: Index, work: UnitOfWork, wording: Wording, settings: Settings) -> bool:
    """Whether an index was made from this store, by this program with these words and settings."""
    return index.mark == _mark(work, wording, settings, index.sequence)


def _mark(work: UnitOfWork, wording: Wording, settings: Settings, sequence: int) -> str:
    """Tell one store, wording, program and settings of the fit from another."""
    words = (sorted(wording.shorthand.items()), sorted(wording.phrases.items()), wording.sayings)
    names = work.names.vocabulary()
    made_with = digest(words, names, subject_lines(), settings.recall, settings.readings)
    return f"{__version__} {made_with} {moment_of(work, sequence)}"


def digest(*parts: object) -> str:
    """Return what tells some values from others, by all that their `repr` shows."""
    return blake2b(repr(parts).encode(), digest_size=8).hexdigest()


def moment_of(work: UnitOfWork, sequence: int) -> str:
    """Return what tells one store from another: when one of its changes was made, ISO 8601."""
    moment = work.changes.moment(sequence)
    return moment.isoformat() if moment else "empty"
