"""What stands behind a value that nobody should take so again."""

from typing import Any

OF_STEP = "(measured by a step that is not to be repeated)"
"""Stands behind the value of a reading whose item is not shown."""
_NUMBERS = frozenset(["value", "upper"])


def leave_out_number(reading: dict[str, Any]) -> None:
    """Take the number out of a reading's record where it is marked as taken by such a step.

    Parameters
    ----------
    reading : dict
        A record of any kind; only a marked reading is changed.

    Examples
    --------
    >>> told = {"typed": f"2.3 ohm {OF_STEP}", "value": 2.3}
    >>> leave_out_number(told)
    >>> told["value"] is None
    True
    """
    typed = reading.get("typed")
    if isinstance(typed, str) and typed.endswith(OF_STEP):
        reading |= dict.fromkeys(_NUMBERS & reading.keys())


def leave_out_numbers(job: dict[str, Any]) -> None:
    """Take the number out of every marked reading of a job's record.

    Parameters
    ----------
    job : dict
        As it is exported.
    """
    for reading in job.get("readings", ()):
        leave_out_number(reading)
