"""Who signs for what is stored."""

from kb.safety.job_dangers import refuse_dangerous


def signature(who: str) -> str:
    """Return initials, or a name, as they will stand beside what is stored.

    Raises
    ------
    Dangerous
        If that tells a dangerous step: it would stand in the history of every job.

    Examples
    --------
    >>> signature("BT")
    'BT'
    """
    refuse_dangerous("who", who)
    return who
