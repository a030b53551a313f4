"""What a past job turned out to be and what was done on it, in lines under its heading."""

from collections.abc import Iterator

from kb.reports.labels import percent, shortened
from kb.services.past_jobs import Match

LONGEST_NOTE = 210
"""Characters of what was written on a job: three lines."""


def work_lines(match: Match) -> Iterator[str]:
    """Yield the cause and fix of a case; of another job what was done, and how it ended."""
    if match.state == "closed":
        yield match.cause + (f" → {match.fix}" if match.fix else "")
    else:
        if match.proposed and match.proposed_chance is not None:
            yield f"proposed: {match.proposed} ({percent(match.proposed_chance)}, not confirmed)"
        if match.done:
            yield f"done: {', '.join(match.done)}"
        if match.notes:
            yield f"written: {shortened(' '.join(match.notes.split()), LONGEST_NOTE)}"
        yield "still open" if match.state == "open" else match.state
    if match.heard:
        yield f"heard of since: {match.heard}"
