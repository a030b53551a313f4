"""The day and the time where the shop is, as the clock on its wall shows them."""

from datetime import UTC, datetime


def local(moment: datetime) -> datetime:
    """Return a moment as the clock on the wall shows it; in UTC where this machine's zone is none.

    A zone may be set that is a day or more away, which no calendar has.
    """
    try:
        return moment.astimezone()
    except (OverflowError, OSError, ValueError):
        return moment.astimezone(UTC)


def local_now() -> datetime:
    """Return this moment, likewise."""
    return local(datetime.now(UTC))
