"""The state of a store, in words."""

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from kb.case import UNREADABLE
from kb.errors import Notice
from kb.reports.labels import plural, shortened
from kb.safety.job_words import FIT
from kb.store.backup import Restored
from kb.store.database import StoreRoles, StoreStatus, Upgrade
from kb.store.rotation import Rotated

if TYPE_CHECKING:  # pulls in the matcher, which most lines here can do without
    from kb.services.checking import Checked, Repaired
    from kb.services.erasing import Erased
    from kb.services.indexing import Reindexed
    from kb.store.condition import BadCell, Condition
    from kb.store.erasing import HeldAt


def created_line(status: StoreStatus) -> str:
    """Return that a store was made, and how to fill it."""
    return (
        f"Created an empty store: {status.address}\n"
        "Record with 'kb job open', or bring past jobs in with 'kb import FILE'."
    )


_MOST_FILES = 3
"""So many files are named."""


def copied_line(made: Rotated) -> str:
    """Return where a store was copied to, and why older copies were kept where they were."""
    told = f"Copied to {made.copy}"
    for paths, one, many in (
        (made.removed, "older copy", "older copies"),
        (made.cleared, "half-written copy of a program that was stopped", "half-written copies"),
    ):
        if paths:
            told += f"\nRemoved {plural(len(paths), one, many)}: {_named(paths)}"
    if made.ahead:
        copies = plural(len(made.ahead), "copy has", "copies have")
        told += (
            f"\n{copies} a moment to come in the name: {_named(made.ahead)}. None of that is "
            "counted or removed; see that the clock is right, and remove what is not wanted."
        )
    if made.unsound:
        told += (
            f"\nNo older copy was removed, for not all of the store can be read: {made.unsound}. "
            "See 'kb db check'."
        )
    return told


def _named(paths: Sequence[Path]) -> str:
    """Name the first of some files, and say how many more there are."""
    more = f" and {len(paths) - _MOST_FILES:,} more" if paths[_MOST_FILES:] else ""
    return ", ".join(each.name for each in paths[:_MOST_FILES]) + more


def status_line(status: StoreStatus) -> str:
    """Return what was found at an address, and what to do about it."""
    if status.revision is None:
        return f"{status.address}: no store yet; create it with 'kb init'."
    cases = "" if status.cases is None else f", {plural(status.cases, 'closed case')}"
    jobs = plural(status.jobs or 0, "job")
    counted = f"{status.address}: {jobs}{cases}; revision {status.revision}"
    if status.pending:
        return f"{counted}, older than {status.head}: run 'kb db upgrade'."
    if status.revision != status.head:
        return f"{counted}, which this program ({status.head}) does not know: update the program."
    index = status.index or "none yet; the first question makes one"
    lines = [f"{counted}, up to date.", f"Index of past jobs: {index}"]
    return "\n".join([*lines, *([str(status.clock)] if status.clock else [])])


def upgrade_line(upgrade: Upgrade) -> str:
    """Return what an upgrade did."""
    if upgrade.before == upgrade.after:
        return f"{upgrade.address}: revision {upgrade.after}, up to date; nothing to do."
    kept = f" The store as it was: {upgrade.backup}" if upgrade.backup else ""
    return f"{upgrade.address}: upgraded from {upgrade.before} to {upgrade.after}.{kept}"


def roles_lines(made: StoreRoles) -> str:
    """Return which roles there are, and how a person gets one."""
    return (
        f"{made.address}: roles {made.reader}, {made.technician} and {made.foreman}.\n"
        "Let somebody in, in the server's own tool (psql):\n"
        f'  CREATE ROLE bt LOGIN IN ROLE "{made.technician}";\n'
        "  \\password bt"
    )


def restored_line(done: Restored) -> str:
    """Return what a store was put back from, and where what was there before is."""
    undone = f" {plural(done.undone, 'change')} undone." if done.undone else ""
    kept = f" The store as it was: {done.before}" if done.before else ""
    return f"{done.address}: put back from {done.source}.{undone}{kept}"


_LONGEST = 60
_MOST = 20
"""Bad cells named one by one: more say no more than their number."""


def condition_lines(found: "Checked") -> str:
    """Return what is wrong with a store and its index, and what to do about it."""
    return "\n".join(filter(None, (_store_lines(found), _index_line(found), _clock_line(found))))


def _index_line(found: "Checked") -> str:
    """Return what the index is worth; nothing where something is wrong with the store."""
    if found.index is None:
        return ""
    if found.astray:
        jobs = ", ".join(map(str, found.astray[:MOST_ASTRAY]))
        more = len(found.astray) - MOST_ASTRAY
        others = f" and {more} more" if more > 0 else ""
        return (
            f"The index has job {jobs}{others} otherwise than the store, whose history tells of no "
            "change: make it again with 'kb db check --repair'."
        )
    if found.rates_astray:
        return (
            "What is kept of how fixes fared is not what the store says, whose history tells of no "
            "change: make it again with 'kb db check --repair'."
        )
    told = [INDEX_LINES[found.index.state].format(cases=plural(found.index.cases, "case"))]
    if found.cards and found.cards.state != "none":  # made where somebody asks for similar jobs
        told.append(CARD_LINES[found.cards.state].format(cards=plural(found.cards.cases, "job")))
    if found.weights_lost:
        told.append(str(Notice.WEIGHTS_LOST))
    return "\n".join(told)


def _clock_line(found: "Checked") -> str:
    return str(found.clock) if found.clock else ""


INDEX_LINES = {
    "none": "There is no index yet; the next question makes one.",
    "in step": "The index agrees with it: {cases}.",
    "behind": "The index is an older one; the next question makes it again.",
    "damaged": "The index is damaged; the next question makes it again.",
}
CARD_LINES = {
    "in step": "So does that of all jobs, which 'kb similar' asks: {cards}.",
    "behind": "That of all jobs, which 'kb similar' asks, is an older one, and is made again then.",
    "damaged": "That of all jobs, which 'kb similar' asks, is damaged, and is made again then.",
}
MOST_ASTRAY = 10
"""So many jobs are named."""


def _store_lines(found: "Condition") -> str:
    if not (found.database or found.missing or found.cells):
        return "The whole store can be read back: nothing is wrong with it."
    lines = [f"The database complains: {each}" for each in found.database]
    lines += [f"Missing: {each}; put a copy back with 'kb db restore'" for each in found.missing]
    lines += _cells("Cannot be read:", found.cells)
    if found.database:  # of pages that are torn no copy can be made, and so nothing mended
        lines.append("Put a copy back: 'kb db restore COPY'.")
    elif found.cells:
        lines.append(
            "Mend it with 'kb db check --repair', or put a copy back: 'kb db restore COPY'."
        )
    return "\n".join(lines)


def mended_lines(done: "Repaired") -> str:
    """Return what was mended, where what stood there is kept, and that the index follows it."""
    lines = [
        *_cells("Made what it was, as the store tells it elsewhere, too:", done.restored, done.now),
        *_cells("Emptied:", done.emptied),
        *_cells("Taken out:", done.taken_out),
        *_cells("Put in their place:", done.guessed, done.now),
        *_cells("Could not be mended, put a copy back ('kb db restore COPY'):", done.left),
    ]
    kept = f"What stood there, word for word: {done.kept}\nThe store as it was: {done.backup}"
    made = [f"Made again: {reindexed_line(done.index)}"] if done.index else []
    return "\n".join((*lines, kept, *made))


def _cells(
    title: str, cells: "tuple[BadCell, ...]", now: Mapping[str, str] = MappingProxyType({})
) -> list[str]:
    if not cells:
        return []
    told = [_cell_line(each, now.get(each.place)) for each in cells[:_MOST]]
    more = [f"  and {len(cells) - _MOST:,} more"] if len(cells) > _MOST else []
    return [title, *told, *more]


def _cell_line(cell: "BadCell", now: str | None) -> str:
    """Return what is wrong with a cell, and what it counts with where that is not nothing."""
    line = f"  {cell.place}: {cell.raw} ({cell.reason})"
    if now is None:
        return line
    if now == UNREADABLE:
        return f"{line}; counts without words, as {now}"
    return f"{line}; counts with {FIT.shown(shortened(now, _LONGEST))}"


def places_lines(places: "Sequence[HeldAt]") -> str:
    """Return where a text was found, without the text."""
    found: dict[str, Counter[str]] = {}
    for each in places:
        where = f"job {each.job}" if each.job else "no one job"
        kind = "history" if each.table == "changes" else f"{each.table}: {each.field}"
        found.setdefault(where, Counter())[kind] += 1
    lines = [
        f"  {where}: {', '.join(f'{kind} ({count})' for kind, count in kinds.items())}"
        for where, kinds in list(found.items())[:_MOST]
    ]
    more = [f"  and {plural(len(found) - _MOST, 'job')} more"] if len(found) > _MOST else []
    return "\n".join([f"Found in {plural(len(places), 'place')}:", *lines, *more])


def erased_lines(done: "Erased") -> str:
    """Return what was erased, and what may hold it still."""
    lines = [f"Erased in {plural(done.places, 'place')} of {done.address}, for good."]
    if not done.places:
        room = " What was freed there was overwritten all the same." if done.scrubbed else ""
        lines = [f"Not found in {done.address}.{room}"]
    if not done.scrubbed:
        lines.append(
            "Somebody else has the store open, or owns its tables, so the file may hold the text "
            "where nothing is kept now: do the same again when they are done, or as the owner."
        )
    lines += [f"May hold it still: {each}" for each in done.beside]
    if done.in_server:
        lines.append(
            "The server's own log of changes (pg_wal, and where it is archived), its replicas and "
            "its backups may hold it still, until they are replaced: ask whoever looks after it."
        )
    lines.append(
        "Every copy, export and page made before may hold it still, wherever it lies, and so may "
        "the shell's list of past commands: remove them or make them anew."
    )
    return "\n".join(lines)


def reindexed_line(made: "Reindexed") -> str:
    """Return what an index was made of, and what it takes; or that it could not be kept."""
    if not made.kept:
        return made.unkept
    return f"{made.folder}: {plural(made.cases, 'case')} indexed, {made.bytes / 1e6:,.1f} MB."
