"""The guard on what may be printed: no page puts a meter on an igniter."""

import re
from collections.abc import Iterable

_IGNITER = re.compile(
    r"air ?-?bags?\b|curtain|pre-?tens\w*|\bpret\w*nsoner|igniters?\b|initiators?\b|squibs?\b"
    r"|inflators?\b|\bsrs\b|seat ?-?belt tensioner",
    re.IGNORECASE,
)
_METER = re.compile(
    r"\bohm-?\s?meter\w*|\bohm(?:m?ed|ming)\b|(?<![\d.,\s])\s*\bohm\s+(?:out|the|it|across)\b"
    r"|\bmulti-?\s?meter\b|\bdmm\b|\bdvm\b|\bmeter(?:ed)?\b|\btest ?-?lamp\b|\bcontinuity\b"
    r"|\bbuzz(?:ed|er|ing)?\b"
    r"|\b(?:measur|check|test|took|tak)\w*\s+(?:\S+\s+){0,8}?(?:resistances?|ohms?)\b"
    r"|\bresistances?\s+(?:\S+\s+){0,8}?(?:measur|check|test|tak)\w*",
    re.IGNORECASE,
)
_SAFE = re.compile(
    r"substitut|dummy|known load|load at the connector|load resistor|scan tool|live (?:value|data|"
    r"reading)|\bnever\b|do not|don't|proves nothing|proved nothing",
    re.IGNORECASE,
)
WITHHELD = (
    "[withheld: no meter on an igniter circuit; read its live value with a scan tool or put a "
    "known load in its place]"
)


def screen(text: str, *, restraint: bool = False) -> str:
    """Return a shop's own words fit to be printed as advice.

    Words that would have somebody measure an airbag or pretensioner igniter with a meter are
    replaced by `WITHHELD`, wherever they came from.

    Parameters
    ----------
    text : str
        Test, proof or fix in the shop's words.
    restraint : bool
        The words come from a job on the restraints, where every circuit may be an igniter's.

    Examples
    --------
    >>> screen("substitute load at the connector")
    'substitute load at the connector'
    >>> screen("checked resistance of LH pretensioner with multimeter").startswith("[withheld")
    True
    """
    about_igniter = restraint or _IGNITER.search(text)
    if about_igniter and _METER.search(text) and not _SAFE.search(text):
        return WITHHELD
    return text


_MEASURING = re.compile(
    r"\bohm|Ω|\bresist|\bmulti-?\s?meter|\bmeter|\bmeasur|\bcontinuity|\bbuzz|\bprob(?:e|ing)\b"
    r"|\btest ?-?(?:lamp|light)|\bdmm\b|\bdvm\b|\bbell(?:ed|ing)?\b|\bmegger"
    r"|\bring(?:ing)? (?:out|through)",
    re.IGNORECASE,
)


def about_igniter(texts: Iterable[str]) -> bool:
    """Whether any of these words speaks of something that an igniter fires.

    Examples
    --------
    >>> about_igniter(["lamp on", "LF pretensioner 6.1 ohm"]), about_igniter(["wheel bearing"])
    (True, False)
    """
    return any(_IGNITER.search(text) for text in texts)


def may_be_proposed(text: str, *, restraint: bool) -> bool:
    """Whether a shop's own words may stand in a proposal of what to do next.

    Stricter than `screen`: on the restraints no word of measuring passes at all, whatever stands
    beside it; the trade's own tests are worded in `kb/troubleshooting/general_tests.toml`.

    Examples
    --------
    >>> may_be_proposed("cleaned seat connector", restraint=True)
    True
    >>> may_be_proposed("resistance at seat plug, never live", restraint=True)
    False
    """
    if restraint or _IGNITER.search(text):
        return not _MEASURING.search(text)
    return True
