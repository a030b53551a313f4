"""What became of an import, an export and the shop's words, as text."""

from collections.abc import Sequence

from rich.console import RenderableType
from rich.text import Text

from kb.reports import layout
from kb.reports.labels import plural
from kb.services.exchange import ExportResult, ImportResult
from kb.services.words import Shorthand

MOST_SHOWN = 10


def render_import(result: ImportResult) -> RenderableType:
    """Lay out what became of a file: counts, then notices, then what was refused and why."""
    rows = [("added", f"{plural(result.added, 'job')}{' (dry run: not kept)' * result.dry_run}")]
    if result.already_there:
        rows.append(("already there", plural(result.already_there, "job")))
    if result.renumbered:
        told = ", ".join(f"{old} → {new}" for old, new in result.renumbered[:MOST_SHOWN])
        more = ", ..." * (len(result.renumbered) > MOST_SHOWN)
        rows.append(("renumbered", f"{plural(len(result.renumbered), 'job')}: {told}{more}"))
    if result.rejects:
        kept_in = f", written to {result.rejects_file}" if result.rejects_file else ""
        rows.append(("refused", f"{plural(len(result.rejects), 'job')}{kept_in}"))
    refused = [
        (f"line {each.line}", Text(f"{each.field}: {_shown(each.value)}{each.reason}"))
        for each in result.rejects[:MOST_SHOWN]
    ]
    left = len(result.rejects) - MOST_SHOWN
    return layout.page(
        layout.labelled((label, Text(text)) for label, text in rows),
        *layout.notices(result.notices),
        layout.labelled(refused),
        *([Text(f"and {left:,} more")] if left > 0 else []),
    )


def render_export(result: ExportResult) -> RenderableType:
    """Tell in a line what was written."""
    return Text(f"{plural(result.jobs, 'job')} written to {result.path or 'standard output'}")


def render_words(words: Sequence[Shorthand]) -> RenderableType:
    """Lay out shorthand and its meanings, the trade's dimmed."""
    if not words:
        return Text("The shop has no words of its own yet; kb words add SHORT MEANING adds one.")
    return layout.labelled(
        (word.short, Text(" | ".join(word.meanings), style="" if word.is_own else "dim"))
        for word in words
    )


def _shown(value: object, limit: int = 40) -> str:
    if value is None:
        return ""
    text = value if isinstance(value, str) else repr(value)
    return f"“{text if len(text) <= limit else text[: limit - 1] + '…'}” "
