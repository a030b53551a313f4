"""The line that stands in the place of words on an igniter that are not shown."""

import re
from functools import cache

from kb.safety.igniter_acts import Reason
from kb.safety.igniter_reasons import NOT_PLAIN, may_do
from kb.safety.never import never_table


def withheld_line(job: int | None = None, reason: Reason = Reason.METER) -> str:
    """Return the line that stands where something is not shown.

    Parameters
    ----------
    job : int, optional
        Number of the job where the words can be read, under their caution.
    reason : Reason
        Why, by default that it may send current through an igniter.

    Examples
    --------
    >>> withheld_line(7)
    "[not shown: it may put a meter, lamp or voltage on an igniter; read it with 'kb job show 7
    --verbatim']"
    """
    if reason in NOT_PLAIN:
        return f"{NOT_SHOWN}: it is not plainly allowed at an igniter{where_to_read(job)}]"
    return f"{NOT_SHOWN}: it may {may_do(reason)}{where_to_read(job)}]"


@cache
def own_lines() -> re.Pattern[str]:
    """Return the pattern of the lines that stand for hidden words, and of nothing else."""
    lines = {withheld_line(None, reason) for reason in Reason}
    lines |= {f"{NOT_SHOWN}: it may {each.may}]" for each in never_table()}
    begun = "|".join(re.escape(line.removesuffix("]")) for line in sorted(lines))
    place = re.escape(where_to_read(0)).replace("0", r"\d+")
    return re.compile(f"(?:{begun})(?:{place})?\\]")


def where_to_read(job: int | None) -> str:
    """Return where words that are not shown can be read."""
    return "" if job is None else f"; read it with 'kb job show {job} --verbatim'"


NOT_SHOWN = "[not shown"


WITHHELD = withheld_line()
