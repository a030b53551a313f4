"""Fix rates in words: raw counts first, then the rate with its interval."""

from kb.diagnosis.fixes import FixRate
from kb.diagnosis.intervals import Interval
from kb.reports.wording import percent


def fix_line(fix: FixRate, horizon_days: int) -> str:
    """Return one fix in one sentence: what was done, its counts, its rate."""
    return f"{fix.label}: {counts(fix, horizon_days)}; {rate(fix, horizon_days)}"


def counts(fix: FixRate, horizon_days: int) -> str:
    """Return the raw counts, those that are nought left out."""
    if not fix.tried:
        return f"tried {fix.unknown} times, nobody wrote down whether it cured"
    told = [
        f"cured {fix.cured_at_handover} of {fix.tried}",
        fix.held and f"{fix.held} held {horizon_days} days",
        fix.comebacks and f"{fix.comebacks} came back",
        fix.still_good and f"{fix.still_good} good when last seen",
        fix.unheard and f"{fix.unheard} not heard of since",
        fix.unknown and f"{fix.unknown} not written down",
    ]
    return ", ".join(str(part) for part in told if part)


def rate(fix: FixRate, horizon_days: int) -> str:
    """Return the chance that it cures and holds, or in words that it is not known."""
    if fix.rate is None:
        return f"too few heard of for a {horizon_days}-day fix rate"
    return f"fix rate {percent(fix.rate)} ({between(fix.interval)})"


def between(interval: Interval) -> str:
    """Return an interval as ``52–98 %``."""
    return f"{interval.low * 100:.0f}–{interval.high * 100:.0f} %"
