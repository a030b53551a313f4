"""What an evaluation comes to, in words that a foreman can repeat."""

from kb.evaluation.figures import Figures
from kb.evaluation.metrics import Bin

HUNDRED = 100
"""Of at least so many, shares are told of a hundred; of fewer, the counts themselves."""
OFTEN = 10
"""Chances of one size, that many times said, tell whether they hold (by judgement)."""
SURE = 0.8
"""The chance that people ask about: told is the one said that is nearest to it."""


def in_short(told: Figures, new: int) -> str:
    """Say how often it was right, how much was new, and whether its chances can be believed.

    `new` of the questions had a cause that no known case had: none could find it, so these are
    told apart.

    Examples
    --------
    >>> from kb.evaluation.figures import Answer, Truth, figures
    >>> answers = [Answer(chances={1: 0.8}, not_seen_before=0.2)] * 10
    >>> in_short(figures(answers, [Truth(cause=1, new=False)] * 10), 0).split("; ")[1:]
    ['none of 10 was new to the shop', 'when it says 80% it is right in 10 of 10.']
    """
    known = told.questions - new
    parts = []
    if known:
        first, three = (round(s * told.questions) for s in (told.first, told.first_three))
        parts.append(
            f"Of complaints with a cause seen before it had the right one first in "
            f"{_of(first, known)}, among the first three in {_of(three, known)}"
        )
    parts.append(f"{_of(new, told.questions)} {'was' if new < 2 else 'were'} new to the shop")
    if (usual := _nearest(told.calibration)) is not None:
        right = _of(usual.came_true, usual.count)
        parts.append(f"when it says {usual.chance:.0%} it is right in {right}")
    line = "; ".join(parts) + "."
    return line[0].upper() + line[1:]


def _of(count: int, total: int) -> str:
    if total >= HUNDRED:
        return f"{HUNDRED * count / total:.0f} of {HUNDRED}"
    return f"{count or 'none'} of {total}"


def _nearest(bins: tuple[Bin, ...]) -> Bin | None:
    """Return the chances nearest to `SURE` that were said often enough."""
    often = [each for each in bins if each.count >= OFTEN]
    return min(often, key=lambda each: abs(each.chance - SURE), default=None)
