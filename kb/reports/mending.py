"""Entries of the history, as they are shown before they are taken back."""

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.text import Text

from kb.case import Job
from kb.local_time import local
from kb.reports import layout
from kb.reports.job import car, change_line, state
from kb.reports.labels import chance_of, plural, shortened
from kb.safety.job_words import FIT, JobWords
from kb.services.closing import CauseChoice
from kb.services.mending import Entries, TakenBack, TakingBack
from kb.store.history import ADDED, TAKEN_BACK, Change, ChangeSet

MOST_JOBS = 5
"""So many jobs of an entry are shown; an import has hundreds."""
MOST_CHANGES = 12
"""So many changes of a job are shown."""


def render_entries(found: Entries) -> RenderableType:
    """Lay out entries, the newest first, each with its number and what it did."""
    if not found.entries:
        return Text("Nothing was recorded on a job yet.")
    rows = [
        (str(each.sequence), Text("\n".join(_told(each, found.jobs)))) for each in found.entries
    ]
    return layout.page(
        *layout.cautions(found.cautions),
        Text(f"The last {plural(len(rows), 'entry', 'entries')}, the newest first", style="bold"),
        layout.labelled(rows),
        Text("To take one back: kb undo NUMBER", style="dim"),
    )


def _told(entry: ChangeSet, jobs: dict[int, Job]) -> Iterator[str]:
    taken = f", taken back by entry {entry.undone_by}" if entry.undone_by else ""
    yield f"{_when(entry)}{taken}"
    for number in entry.jobs[:MOST_JOBS]:
        yield f"job {number}, {car(jobs[number].vehicle)}: {_in_short(entry, jobs[number])}"
    yield from _and_more(len(entry.jobs))


def _in_short(entry: ChangeSet, job: Job) -> str:
    changes = entry.of(job.number or 0)
    words = JobWords.of(job)
    if changes[0].field == ADDED:
        return f"opened, “{shortened(_typed(job, words), 40)}”"
    for each in changes:
        if each.field == TAKEN_BACK:
            return change_line(each, words)
    told, *others = _shown(changes)
    more = f" and {len(others)} more" if others else ""
    return f"{shortened(change_line(told, words), 60)}{more}"


def _shown(changes: Sequence[Change]) -> Sequence[Change]:
    """Leave out where in an entry a fact was said, unless nothing else changed."""
    return [each for each in changes if ".said" not in each.field] or changes


def _typed(job: Job, words: JobWords) -> str:
    return " ".join(words.named(job.complaint_as_typed).split())


def render_taking_back(taking: TakingBack) -> RenderableType:
    """Lay out what an entry did, on which cars, and that this would be taken back."""
    entry = taking.entry
    parts: list[RenderableType] = [*layout.cautions(taking.cautions)]
    parts.append(Text(f"To be taken back: entry {entry.sequence}, {_when(entry)}", style="bold"))
    for draft in taking.drafts[:MOST_JOBS]:
        job = draft.base or draft.job
        parts.append(Text(f"Job {job.number}, {car(job.vehicle)}, {state(job)}"))
        parts.append(layout.labelled([("", Text(line)) for line in _lines(entry, job)]))
        parts += layout.notices(draft.notices)
    parts += [Text(line) for line in _and_more(len(taking.drafts))]
    return layout.page(*parts, *layout.notices([taking.doubt] if taking.doubt else []))


def _lines(entry: ChangeSet, job: Job) -> Iterator[str]:
    words, changes = JobWords.of(job), _shown(entry.of(job.number or 0))
    for each in changes[:MOST_CHANGES]:
        if each.field == ADDED:
            yield f"opened: “{_typed(job, words)}”; it becomes void, and can still be read"
        else:
            yield change_line(each, words)
    if len(changes) > MOST_CHANGES:
        yield f"and {plural(len(changes) - MOST_CHANGES, 'change')} more"


def render_choices(title: str, offered: Sequence[CauseChoice]) -> RenderableType:
    """Lay out causes to choose from by number."""
    rows = []
    for number, each in enumerate(offered, start=1):
        chance = f"{chance_of(each.chance, each.jobs):<4} " if each.chance is not None else ""
        jobs = f"  {plural(each.jobs, 'job')}" if each.jobs else ""
        rows.append((f"{number:>2}", Text(f"{chance}{FIT.named(each.cause.label)}{jobs}")))
    return layout.page(Text(title, style="bold"), layout.labelled(rows))


def taken_back_line(done: TakenBack) -> str:
    """Say what was taken back, and how to bring it back."""
    jobs = ", ".join(map(str, done.jobs[:MOST_JOBS]))
    which = f"job {jobs}" if len(done.jobs) == 1 else plural(len(done.jobs), "job")
    whose = f"of {done.who}" if done.who else "without initials"
    return (
        f"Entry {done.entry} {whose} on {which} is taken back. To bring it back: kb undo {done.by}"
    )


def _and_more(jobs: int) -> Iterator[str]:
    if jobs > MOST_JOBS:
        yield f"and {plural(jobs - MOST_JOBS, 'job')} more"


def _when(entry: ChangeSet) -> str:
    who = f" by {entry.who}" if entry.who else ", without initials"
    return f"{local(entry.at):%Y-%m-%d %H:%M}{who}"
