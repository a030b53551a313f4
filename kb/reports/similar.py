"""Similar past jobs as a page."""

from rich.console import RenderableType
from rich.text import Text

from kb.recall.recall import SignalShare
from kb.recall.why import Why
from kb.reports import layout
from kb.reports.causes import asked_rows
from kb.reports.job import again_line, back_line, denied_line
from kb.reports.labels import day, percent, plural
from kb.reports.past_jobs import work_lines
from kb.safety.job_words import FIT
from kb.services.past_jobs import Match
from kb.services.similar import SimilarAnswer


def render(answer: SimilarAnswer) -> RenderableType:
    """Lay out similar jobs: cautions, what was understood, then one block a job."""
    heading = (
        f"{plural(len(answer.matches), 'similar job')} of {plural(answer.jobs, 'past job')}, "
        "with the chance of the same cause"
    )
    return layout.page(
        *layout.cautions(answer.cautions),
        layout.labelled(asked_rows(answer)),
        *layout.notices(answer.notices),
        *([Text(heading, style="bold")] if answer.matches else []),
        layout.labelled([row for match in answer.matches for row in _rows(match)]),
        *([] if answer.matches else [Text(layout.NOTHING_FOUND)]),
    )


def _rows(match: Match) -> list[tuple[str, Text]]:
    head = f"#{match.number}  {match.vehicle}, {day(match.opened)}"
    if match.odometer_km is not None:
        head += f", {match.odometer_km:,} km"
    return [
        (percent(match.chance), Text(head, style="bold")),
        ("", Text(f"“{' '.join(match.complaint.split())}”")),
        *(("", Text(line)) for line in work_lines(match)),
        *([("", Text(f"proved by: {match.proved_by}"))] if match.proved_by else []),
        *([("", Text(back_line(match.back)))] if match.back else []),
        *([("", Text(denied_line(match.denied)))] if match.denied else []),
        *([("", Text(again_line(match.again)))] if match.again else []),
        ("", Text(f"alike: {why_line(match.why)}", style="dim")),
        ("", Text(f"for and against: {parts_line(match.parts)}", style="dim")),
    ]


def parts_line(parts: tuple[SignalShare, ...]) -> str:
    """Return in one line what each signal added to the log-odds of the same cause."""
    return ", ".join(f"{part.signal} {part.added:+.1f}" for part in parts)


def why_line(why: Why) -> str:
    """Return in one line what two jobs share, words with their share of the texts' likeness."""
    words = ", ".join(f"{each.word} {percent(each.share)}" for each in why.words)
    parts = [
        words and f"words {words}",
        ", ".join(why.codes) and "code " + ", ".join(why.codes),
        ", ".join(f"{item} {now} / {then}" for item, now, then in why.readings),
        ", ".join(f"{name}: {_both(now, then)}" for name, now, then in why.tests),
        ", ".join(why.vehicle) and "same " + ", ".join(why.vehicle),
    ]
    shared = (FIT.named(part) for part in parts if part)
    return "; ".join(shared) or "spelling and system only"


def _both(now: str, then: str) -> str:
    return f"“{now}”" if now == then else f"“{now}”, then “{then}”"
