"""What parts cost, told among the words of a fix, as the pages print it: ``parts 38.00``."""

import re

from kb.intake.lifting import Lifted, cut

_COST = re.compile(
    r"(?:[,;]|(?<!\s))\s*\bparts?(?: cost)?:? "
    r"(?P<whole>[0-9]{1,3}(?:,[0-9]{3})+|[0-9]{1,9})(?:[.,](?P<cents>[0-9]{1,2}))?(?![\w.,]*[0-9])"
    r"(?!\s*(?:v|a|ohm|bar|km|mm|days?|weeks?|off|of)\b)",
    re.IGNORECASE,
)


def lift_cost(text: str) -> tuple[float | None, str]:
    """Take what parts cost out of a text; with the text without it.

    Examples
    --------
    >>> lift_cost("replaced door loom, cured, parts 1,038.50, 90 min")
    (1038.5, 'replaced door loom, cured, 90 min')
    >>> lift_cost("replaced 2 parts, 38 left")
    (None, 'replaced 2 parts, 38 left')
    """
    match = _COST.search(text)
    if match is None:
        return None, text
    cost = float(f"{match['whole'].replace(',', '')}.{match['cents'] or 0}")
    return cost, cut(text, [Lifted(*match.span())])
