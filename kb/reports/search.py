"""Jobs found by their words as a page, the hits marked."""

from rich.console import RenderableType
from rich.text import Text

from kb.reports import layout
from kb.reports.labels import day, plural, shortened
from kb.services.search import FoundJob, Hit, SearchAnswer

MOST_HITS = 4
"""So many passages of a job are told."""
AROUND = 60
"""Characters told before the first mark of a passage; two lines in all."""
LONGEST = 150


def render(answer: SearchAnswer) -> RenderableType:
    """Lay out jobs found: cautions, how many there are, then one block a job."""
    return layout.page(
        *layout.cautions(answer.cautions),
        *layout.notices(answer.notices),
        Text(_counted(answer), style="bold"),
        layout.labelled([row for job in answer.jobs for row in _rows(job)]),
    )


def _counted(answer: SearchAnswer) -> str:
    found = f"{plural(answer.found, 'job')} of {answer.total:,} found"
    if not answer.found or answer.words < 2:
        return found
    return f"{found}, {answer.with_all:,} with all {answer.words} words"


def _rows(job: FoundJob) -> list[layout.Row]:
    head = f"{job.vehicle}, {day(job.opened)}, {job.state}"
    told = [hit for hit in job.hits if hit.field != "vehicle"]
    told = sorted(told, key=lambda hit: -len(hit.marks))[:MOST_HITS]
    rows: list[layout.Row] = [(f"#{job.number}", Text(head, style="bold"))]
    if not any(hit.field == "complaint" for hit in told):
        rows.append(("", Text(shortened(f"“{' '.join(job.complaint.split())}”", LONGEST))))
    return [*rows, *(("", _marked(hit)) for hit in told)]


def _marked(hit: Hit) -> Text:
    """Return the part of a passage around its first mark, with stars about every mark."""
    start = _start(hit)
    end = min(len(hit.text), start + LONGEST)
    line = Text(f"{hit.field.replace('_', ' ')}: {'…' if start else ''}")
    place = start
    for begin, stop in hit.marks:
        if stop > end:
            break
        line.append(" ".join(hit.text[place:begin].split("\n")))
        line.append(f"*{hit.text[begin:stop]}*", style="bold")
        place = stop
    line.append(" ".join(hit.text[place:end].split("\n")) + ("…" if end < len(hit.text) else ""))
    return line


def _start(hit: Hit) -> int:
    """Return where to begin: at a word, and with the whole of a line that stands for others."""
    first = hit.marks[0][0]
    if first <= AROUND:
        return 0
    start = hit.text.find(" ", first - AROUND, first) + 1 or first
    opened = hit.text.rfind("[", 0, start)
    return opened if opened > hit.text.rfind("]", 0, start) else start
