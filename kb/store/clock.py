"""The clock of this machine, held against the store's last change.

A wrong clock gives wrong days: of a handover, of a call, of the end of a warranty. No program can
tell which of two clocks is right, so it is said, and whoever stands there sees the wall.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime, timedelta

MOST_BEHIND = timedelta(minutes=5)
"""Machines of one shop whose clocks nobody sets may differ by so much (by judgement). An hour, as
of a machine that takes its own time zone for another, is more."""
MOST_AHEAD = timedelta(days=365)
"""No shop records nothing for so long (by judgement); weeks without an entry are a holiday."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongClock:
    """What the clock of this machine says, and when the store was last changed by its own word."""

    now: datetime
    last: datetime

    def __str__(self) -> str:
        long_ago = ", more than a year before" if self.now > self.last else ""
        return (
            f"The clock of this machine says {_on_the_wall(self.now)}, the store's last change is "
            f"of {_on_the_wall(self.last)}{long_ago}: set the clock, or days are stored wrong. If "
            "it is right, go on; it is not said again once something is stored by it."
        )


def wrong_clock(now: datetime, last: datetime | None) -> WrongClock | None:
    """Hold a clock against the last change of a store; None where they agree, or none was made.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> last = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
    >>> wrong_clock(datetime(2026, 3, 2, 7, 56, tzinfo=UTC), last)
    >>> wrong_clock(datetime(2026, 3, 1, 8, 0, tzinfo=UTC), last) is not None
    True
    """
    if last is None or -MOST_BEHIND <= now - last <= MOST_AHEAD:
        return None
    return WrongClock(now=now, last=last)


_TELL: ContextVar[Callable[[WrongClock], object] | None] = ContextVar("tell", default=None)


@contextmanager
def telling(tell: Callable[[WrongClock], object]) -> Iterator[None]:
    """Have it told before something is stored by a clock that seems wrong."""
    before = _TELL.set(tell)
    try:
        yield
    finally:
        _TELL.reset(before)


def tell_if_wrong(now: datetime, last: datetime | None) -> None:
    """Tell whoever wants to know, where a clock seems wrong."""
    tell, wrong = _TELL.get(), wrong_clock(now, last)
    if tell and wrong:
        tell(wrong)


def _on_the_wall(moment: datetime) -> str:
    """Return a moment as a clock beside the machine shows it."""
    try:
        moment = moment.astimezone()
    except (OverflowError, OSError, ValueError):  # at the ends of what a calendar has
        return f"{moment:%Y-%m-%d %H:%M} UTC"
    return f"{moment:%Y-%m-%d %H:%M}"
