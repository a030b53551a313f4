"""Fix rates in words: raw counts first, then the rate with its interval."""

from kb.diagnosis.fixes import FixRate
from kb.reports.wording import percent, plural
from kb.statistics.intervals import Interval


def fix_line(fix: FixRate) -> str:
    """Return one fix in one sentence: what was done, its counts, its rate at the horizon."""
    return f"{fix.label}: {counts(fix)}; {rate(fix)}"


def counts(fix: FixRate) -> str:
    """Return the raw counts, those that are nought left out; "held" is up to the horizon."""
    if not fix.tried:
        return f"tried {plural(fix.unknown, 'time')}, nobody wrote down whether it cured"
    told = [
        f"cured {fix.cured_at_handover} of {fix.tried}",
        fix.held and f"{fix.held} held",
        fix.comebacks and f"{fix.comebacks} came back",
        fix.still_good and f"{fix.still_good} good when last seen",
        fix.unheard and f"{fix.unheard} not heard of",
        fix.unknown and f"{fix.unknown} not written down",
    ]
    return ", ".join(str(part) for part in told if part)


def rate(fix: FixRate) -> str:
    """Return the chance that it cures and holds, or in words that it is not known."""
    if fix.rate is None:
        return "too few heard of for a rate"
    return f"{percent(fix.rate)} ({between(fix.interval)})"


def between(interval: Interval) -> str:
    """Return an interval as ``52–98%``."""
    return f"{interval.low * 100:.0f}–{interval.high * 100:.0f}%"
