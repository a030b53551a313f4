"""What became of an import, an export and the shop's words, as text."""

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.text import Text

from kb.reports import layout
from kb.reports.labels import plural
from kb.services.exchange import ExportResult, ImportResult, RawExport
from kb.services.import_tally import Reject
from kb.services.words import Shorthand

MOST_SHOWN = 10
"""Refused or renumbered jobs that are told; the file of refused jobs holds all."""


def render_import(result: ImportResult) -> RenderableType:
    """Lay out what became of a file: counts, then notices, then what was refused and why."""
    rows = [("added", f"{plural(result.added, 'job')}{' (dry run: not kept)' * result.dry_run}")]
    if result.already_there:
        rows.append(("already there", plural(result.already_there, "job")))
    rows += _alike(result)
    if result.never_recalled:
        named = ", ".join(map(str, result.never_recalled[:MOST_SHOWN]))
        more = ", ..." * (len(result.never_recalled) > MOST_SHOWN)
        told = "with a cause, but no closing day: no question is answered from it"
        rows.append(
            (
                "not recalled",
                f"{plural(len(result.never_recalled), 'job')} {told} (line {named}{more})",
            )
        )
    if result.renumbered:
        told = ", ".join(f"{old} → {new}" for old, new in result.renumbered[:MOST_SHOWN])
        more = ", ..." * (len(result.renumbered) > MOST_SHOWN)
        rows.append(("renumbered", f"{plural(len(result.renumbered), 'job')}: {told}{more}"))
    if result.rejects:
        kept_in = f", written to {result.rejects_file}" if result.rejects_file else ""
        rows.append(("refused", f"{plural(len(result.rejects), 'job')}{kept_in}"))
    refused = [
        (f"line {each.line}", Text(f"{_named(each)}: {_shown(each.value)}{each.reason}"))
        for each in result.rejects[:MOST_SHOWN]
    ]
    left = len(result.rejects) - MOST_SHOWN
    return layout.page(
        layout.labelled((label, Text(text)) for label, text in rows),
        *layout.notices(result.notices),
        layout.labelled(refused),
        *([Text(f"and {left:,} more")] if left > 0 else []),
    )


def _alike(result: ImportResult) -> Iterator[tuple[str, str]]:
    """Yield what became of rows that say the same as, or begin like, an earlier one."""
    for label, pairs, what in (
        ("told again", result.told_again, "of a job that is kept once"),
        ("alike", result.alike, "kept as jobs of their own; if one job, give both its number"),
    ):
        if pairs:
            named = ", ".join(f"line {line} as {earlier}" for line, earlier in pairs[:MOST_SHOWN])
            more = ", ..." * (len(pairs) > MOST_SHOWN)
            yield label, f"{plural(len(pairs), 'row')} {what} ({named}{more})"


def render_export(result: ExportResult) -> RenderableType:
    """Tell in a line what was written."""
    return Text(f"{plural(result.jobs, 'job')} written to {result.path or 'standard output'}")


def render_raw_export(result: RawExport) -> RenderableType:
    """Tell in a line what could not be read and was written as it lies in the store."""
    if not result.rows:
        return Text("The whole store can be read back: there is nothing to export raw.")
    return Text(
        f"{plural(result.rows, 'row')} that cannot be read written to "
        f"{result.path or 'standard output'}"
    )


def render_words(words: Sequence[Shorthand]) -> RenderableType:
    """Lay out shorthand and its meanings, the trade's dimmed."""
    if not words:
        return Text("The shop has no words of its own yet; kb words add SHORT MEANING adds one.")
    return layout.labelled(
        (word.short, Text(" | ".join(word.meanings), style="" if word.is_own else "dim"))
        for word in words
    )


def _named(reject: Reject) -> str:
    """Name the field, and the column of the sheet before it where that is called otherwise."""
    if reject.column in (None, reject.field):
        return reject.field
    return f"{reject.column} ({reject.field})"


def _shown(value: object, limit: int = 40) -> str:
    if value is None:
        return ""
    text = value if isinstance(value, str) else repr(value)
    return f"“{text if len(text) <= limit else text[: limit - 1] + '…'}” "
