"""What parts cost, told among the words of a fix: ``parts 38.00``, ``€34.50``, ``gasket 22.80``."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from kb.intake.deed_words import is_work
from kb.intake.items import trade_wording
from kb.intake.lifting import Lifted, Place, blanked, cut
from kb.intake.part_words import PART_NOUN
from kb.intake.units import find_unit
from kb.intake.usual_units import usual_unit
from kb.patterns import compiled

_NAMES = r"eur|gbp|usd|pln|chf|czk|huf|sek|nok|dkk|ron"
CURRENCY_SIGN = (
    r"€|£|\$|₴|₺|₽|euros?|quid|pounds|dollars?|zł(?:otych|ote)?|zl|sfr|fr\.(?!\w)|kč|kc|kr(?:oner|onor)?|lei"
    rf"|(?-i:Ft)(?! of)|{_NAMES}"
)
_CURRENCY = compiled(rf"(?<![^\W\d_])(?:{CURRENCY_SIGN})(?![^\W\d_])", re.IGNORECASE)
_PIECES = r"x|pcs?|pieces?|stk|stck|stück|szt|nos?"
_PARTS = compiled(
    r"(?:[,;]|(?<!\s))\s*\bp(?:ar)?ts?(?: cost)?:? "
    r"(?P<whole>[0-9]{1,3}(?:[,.][0-9]{3})+|[0-9]{1,9})(?:[.,](?P<cents>[0-9]{1,2}))?(?![\w.,]*[0-9])"
    rf"(?: ?(?:{CURRENCY_SIGN})(?!\w))?"
    rf"(?!\s*(?:v|a|ohm|bar|km|mm|days?|weeks?|off|of|{_PIECES})\b|\s*×)"
    rf"(?!(?<=[ ][0-9])\s+(?:[^\W\d_]+ ){{0,2}}(?:{PART_NOUN})\b)",
    re.IGNORECASE,
)
"""A count before the parts is no money: "parts: 1x disc set", "parts 2 drop links"."""
_SO_MUCH_PARTS = compiled(
    r"(?:^|(?<=[,;.\n] ))(?P<whole>[0-9]{1,3}(?:,[0-9]{3})+|[0-9]{1,5})(?:[.,](?P<cents>[0-9]{2}))?"
    r" (?:in |of |for )?(?:parts|material|teile|cz[eę][sś]ci)\b(?=\s*(?:[,;)\n]|\.(?:\s|$)|$))",
    re.IGNORECASE,
)
"""The same the other way round: "64.50 parts"; a small whole number counts them."""
_BEHIND_LABOUR = compiled(
    r"(?:[0-9] ?(?:h|hrs?|hours?|std|mins?|minutes?)), (?P<whole>[1-9][0-9]{1,3})(?P<cents>(?!))?"
    r"(?=\s*(?:[;\n]|\.?\s*$))",
    re.IGNORECASE,
)
"""A whole number alone at the end, behind the time it took: "6.5 h, 312"."""
_AMOUNT = r"(?P<whole>[0-9]{1,3}(?:[ ,.][0-9]{3})+|[0-9]{1,6})(?:[.,](?P<cents>[0-9]{1,2}))?"
_BEHIND = r"(?![\w.,]*[0-9])(?: ?\+ ?(?:vat|tax))?(?P<each> each| ea\b| apiece| je\b)?"
_TIME = r" ?(?:min(?:s|utes?)?|hrs?|hours?|h|std)\b"
_WHOLE_AMOUNT = r"(?P<whole>[0-9]{1,3}(?:[,.][0-9]{3})+(?=[.,])|[0-9]{1,5})"
_ADDEND = rf"(?:[€£$] ?)?[0-9]{{1,6}}(?:[.,][0-9]{{1,2}})?(?: ?(?:{CURRENCY_SIGN})(?!\w))?"
_SUM = compiled(
    rf"(?P<parts>(?<!\w)p(?:ar)?ts?(?: cost)?:? )?(?<![\w.,/:+–−-])"
    rf"(?P<sum>{_ADDEND}(?: ?(?:\+|plus) ?{_ADDEND})+)(?![\w.,]*[0-9])(?!{_TIME})",
    re.IGNORECASE,
)
"""Amounts of one bill that somebody adds up: "62+38 eur" is one cost."""
_NUMBERS = compiled("[0-9]+(?:[.,][0-9]+)?")
_MONEY = (
    compiled(
        rf"(?<![-–−])(?:(?:[€£$₴₺₽]|\b(?:{_NAMES}|kč|sfr)) ?{_AMOUNT}{_BEHIND}(?!{_TIME}))",
        re.IGNORECASE,
    ),
    compiled(
        rf"(?<![\w.,/:])(?<![-–−]){_AMOUNT}"
        rf"(?:[,.]- ?(?:{CURRENCY_SIGN})?| ?(?:{CURRENCY_SIGN})(?!\w)){_BEHIND}",
        re.IGNORECASE,
    ),
)
"""With the sign or name of a currency, before or behind; the shop's own is meant.

A time behind a sign is no amount: "189,90 € 1.5 h".
"""
_PRICE = compiled(
    rf"(?:(?<=[^\W\d_] )|(?<=[^\W\d_] \()){_WHOLE_AMOUNT}[.,](?P<cents>[0-9]{{2}})"
    r"(?=$|[,;)\n]|\.(?:\s|$)| \+|\+ ?(?:vat|tax)\b| each| ea\b| and\b"
    rf"| [0-9]{{1,3}}(?:[.,][0-9]{{1,2}})?{_TIME}"
    r"| w/| (?!(?:volts?|amps?|ohms?|bars?|psi|kpa|mbar|deg|grad|mins?|hrs?|hours?|miles"
    r"|litres?)\b)"
    r"[a-z]{2,})"
    r"(?: ?\+ ?(?:vat|tax))?(?P<each> each| ea\b| apiece| je\b)?",
    re.IGNORECASE,
)
_NEW_FOR = compiled(
    rf"\b(?:new|recon|s/h|used|genuine) (?:[^\W\d_]+ )?"
    rf"(?!(?:bulb|batter|fuse|relay|belt|tyre|plug|pad|disc)\w* )(?:{PART_NOUN}|ones?) "
    r"(?P<whole>[1-9][0-9]{1,3})(?P<cents>(?!))?"
    r"(?=\s*(?:[;\n]|,(?![0-9])|\+ ?(?:vat|tax)|\.(?:\s|$)|$))",
    re.IGNORECASE,
)
"""A whole number behind a new part ends its clause: what it cost; a size ends that of a bulb."""
_WHOLE = compiled(
    rf"\b(?P<part>(?:[^\W\d_]+ )?(?:{PART_NOUN})) (?P<whole>[1-9][0-9]{{1,3}})(?P<cents>(?!))?"
    r"(?=\s*(?:[;\n]|,(?![0-9])|[+&] ?(?![0-9])|\.(?:\s|$)|and\b|fitted\b|$"
    r"|(?:[^\W\d_]+ ){1,3}[0-9]{2}))",
    re.IGNORECASE,
)
"""A whole number behind a part: its price, if it is neither a number of it nor usual to measure."""
_FITTED_FOR = compiled(
    r"\b(?:fitted|renewed|replaced|installed) (?P<whole>[1-9][0-9]{1,2})(?P<cents>(?!))?"
    r"(?=\s*(?:[;\n]|,(?![0-9])|[+&]|\.(?:\s|$)|$))",
    re.IGNORECASE,
)
"""The same behind what was done: "bush kit fitted 31"."""
_NUMBERED = compiled(
    r"(?:fuse|relay|bulb|batter|tyre|connector|terminal|wire|cylinder|lamp|jet)",
    re.IGNORECASE,
)
"""Parts that are known by a number, or have a rating."""
_EACH_AT = compiled(
    r"@ ?(?P<whole>[0-9]{1,4})[.,](?P<cents>[0-9]{2})(?P<each>)(?![\w.,]*[0-9])", re.IGNORECASE
)
_EACH = compiled(
    r"(?<![\w.,/:])(?P<whole>[0-9]{1,4})[.,](?P<cents>[0-9]{2})(?P<each> each| ea\b| apiece| je\b)",
    re.IGNORECASE,
)
_ALONE = compiled(
    rf"(?<=[^\W\d_][.,;] ){_WHOLE_AMOUNT}[.,](?P<cents>[0-9]{{2}})"
    r"(?=\s*(?:\+ ?(?:vat|tax)\b|[;)\n]|[.,](?:\s|$)|$))"
    rf"(?!\s*[,;]\s*(?![0-9]{{1,3}}(?:[.,][0-9]{{1,2}})?{_TIME})[0-9])",
    re.IGNORECASE,
)
_VOLTS = range(9, 17)
"""What stands alone between these is a battery's."""
_BOUGHT = compiled(rf"\b(?:{PART_NOUN}) \(?$", re.IGNORECASE)
"""Parts whose name before two decimals makes these their price."""
"""Two decimals and no unit, behind the name of a part."""
_MEASURED = compiled(
    r"\b(?:volts?|batt?|battery|to|now|was|is|at|gap|toe|camber|castor|co|lambda|reads?|reading|drop"
    r"|idle|pressure|current|rest|crank|cranking|res|resistance|side|boost|others?|delta|set|actual"
    r"|act|spec|(?<![0-9])(?<![0-9] )min|max|limit|vs|and|or|from|of|after|before|hot|cold|wet|dry"
    r"|level|lo|hi) \(?$",
    re.IGNORECASE,
)
_NOT_PAID = compiled(
    r"\b(?:est|estimate[ds]?|quote[ds]?|quotation|up to|cash|budget|wants?|wanted|asked|asking"
    r"|previous|another|other garage|elsewhere|would|could|limit|deposit|offer(?:ed)?|sent"
    r"|order(?:ed)?|(?:if|when) (?:it|this|that|the|[pcbu][0-9]\w+|he|she|they|not|needed)"
    r"|next time|falls|gdyby|jeśli)\b[^.;\n]*$",
    re.IGNORECASE,
)
_LABOUR = (
    r"(?:labou?r|diag(?:nos\w*)?|arbeits(?:zeit|lohn)|arbeit|lohn|main d['’]?(?:œ|oe)uvre"
    r"|robocizna)"
)
_OF_LABOUR = compiled(
    rf"(?<!\w)(?:{_LABOUR}|tow(?:ing)?|call[- ]?out)"
    r"(?: (?:time|charge|fee|cost|only|rate))?[\s:=]*$",
    re.IGNORECASE,
)
_LABOUR_BEHIND = compiled(rf"\s*(?:for |of )?{_LABOUR}(?!\w)", re.IGNORECASE)
_NO_PARTS = compiled(
    r"(?<!\w)(?:(?:no|without|keine|sans|bez) (?:parts|teile|pi[èe]ces|cz[eę][sś]ci)"
    r"(?: (?:fitted|used|needed|required))?(?=\s*(?:[,.;]|$))"
    r"|cust(?:omer)?(?:['’]?s)? (?:supplied|own|brought)(?: (?:his|her|their))?(?: own)? parts?\b)",
    re.IGNORECASE,
)
"""Then what is charged is not for parts."""
_ON_A_DAY = compiled(
    r"\b(?:back|again|returned?|recurred|reappeared|on|since|until|till?|from|by|due|rang|called|phoned"
    r"|held|failed|broke|died|stopped|dead|seen|here|in|out|booked|handed over|collected)"
    r"(?: (?:on|in|again|back|customer|cust|owner))* \(?$",
    re.IGNORECASE,
)
"""Before a day: a return, a visit, a preposition of time."""
_DAYS, _MONTHS = 31, 12
_COUNT = compiled(
    r"(?<![\w.,/])(?P<count>[2-9]|two|three|four|five|six|both|pair)(?: ?x| of| off)? (?=[a-z])",
    re.I,
)
_COUNTS = {"two": 2, "both": 2, "pair": 2, "three": 3, "four": 4, "five": 5, "six": 6}
_NEAR = 60
_LEAST, _LEAST_WHOLE = 5, 17
_EARLIEST = 1950
"""From here on a whole number may be a year."""


@dataclass(frozen=True, slots=True)
class PartsCost:
    """What one part cost, in the currency of the shop, and how many there were of it.

    `currency` is what of one was typed beside it, which may be another than the shop's.
    """

    each: float
    count: int = 1
    currency: str | None = None

    @property
    def total(self) -> float:
        """What all of them cost."""
        return round(self.each * self.count, 2)


def find_costs(text: str) -> list[tuple[PartsCost, Place]]:
    """Find what parts cost: with a currency, behind the word parts, or bare behind a part fitted.

    Estimates, quotes and what is only ordered are none, what labour or a diagnosis costs is none,
    and nor is a price of each of nobody knows how many.

    Examples
    --------
    >>> found = find_costs("fitted gasket 22.80 + seals 6.40, 1.2 hr")
    >>> [cost.total for cost, _ in found]
    [22.8, 6.4]
    >>> find_costs("estimate £312.60")
    []
    """
    if _NO_PARTS.search(text):
        return []
    fitted = is_work(text)
    sums = list(_sums(text))
    found = [(cost, place) for cost, place in sums if cost]
    of_work = [place for cost, place in sums if cost is None]
    for pattern in (
        _PARTS,
        _SO_MUCH_PARTS,
        *_MONEY,
        _EACH_AT,
        _EACH,
        _NEW_FOR,
        *([_WHOLE, _FITTED_FOR, _BEHIND_LABOUR] if fitted else []),
        _PRICE,
        *([_ALONE] if fitted else []),
    ):
        rest = blanked(text, [*of_work, *(place for _, place in found)])
        for match in pattern.finditer(rest):
            start = (
                match.start() if pattern in (_PARTS, *_MONEY, _EACH_AT) else match.start("whole")
            )
            lead = text[max(0, match.start() - _NEAR) : match.start()]
            bare = pattern is _PRICE and not _is_price(_amount(match), lead, fitted=fitted)
            bare |= pattern in (_PRICE, _ALONE) and _is_day(match, lead)
            bare |= pattern is _ALONE and (_amount(match) < _LEAST or int(_amount(match)) in _VOLTS)
            counts = match["cents"] is None and not _LEAST_WHOLE <= _amount(match) < _EARLIEST
            bare |= pattern in (_SO_MUCH_PARTS, _BEHIND_LABOUR) and counts
            bare |= pattern is _WHOLE and not _is_whole_price(match, lead)
            count = _counted(lead) if match.groupdict().get("each") is not None else 1
            bare |= _OF_LABOUR.search(lead) is not None
            bare |= _LABOUR_BEHIND.match(text, match.end()) is not None
            if count and not bare and not _NOT_PAID.search(lead):
                named = _CURRENCY.search(match[0])
                cost = PartsCost(_amount(match), count, named[0] if named else None)
                found.append((cost, Place(start, match.end())))
    return sorted(found, key=lambda each: each[1])


def _sums(text: str) -> Iterator[tuple[PartsCost | None, Place]]:
    """Find amounts that are added up, of parts or in a currency, and those that are no cost."""
    for match in _SUM.finditer(text):
        lead = text[max(0, match.start() - _NEAR) : match.start()]
        named = _CURRENCY.search(match[0])
        behind = None if match["parts"] else _LABOUR_BEHIND.match(text, match.end())
        of_labour = _OF_LABOUR.search(lead) or behind
        amounts = (each.replace(",", ".") for each in _NUMBERS.findall(match["sum"]))
        total = round(sum(map(float, amounts)), 2)
        cost = PartsCost(total, currency=named[0] if named else None)
        if named or match["parts"]:
            paid = not (of_labour or _NOT_PAID.search(lead))
            yield cost if paid else None, Place(*match.span())


def _is_price(amount: float, lead: str, *, fitted: bool) -> bool:
    bought = fitted or _BOUGHT.search(lead) is not None
    return amount >= _LEAST and bought and not _MEASURED.search(lead)


def _is_day(match: re.Match[str], lead: str) -> bool:
    """Whether an amount may be a day of a month, and stands where one is told: "back 14.11."."""
    day, month = int(_amount(match)), int(match["cents"])
    return 1 <= day <= _DAYS and 1 <= month <= _MONTHS and _ON_A_DAY.search(lead) is not None


def _is_whole_price(match: re.Match[str], lead: str) -> bool:
    part, behind = match["part"], match.string[match.end() :].split(maxsplit=1)[:1]
    if behind and find_unit(behind[0].strip(",;.")):
        return False  # "rad 92 C top 41 C bottom"
    if _amount(match) < _LEAST_WHOLE or _NUMBERED.match(part.split()[-1]) or _MEASURED.search(lead):
        return False
    return usual_unit(part.casefold(), _amount(match), trade_wording()) is None


def _counted(lead: str) -> int:
    counts = _COUNT.findall(lead)
    if not counts:
        return 0
    return _COUNTS.get(counts[-1].casefold()) or int(counts[-1])


def _amount(match: re.Match[str]) -> float:
    return float(f"{re.sub('[^0-9]', '', match['whole'])}.{match['cents'] or 0}")


def lift_cost(text: str) -> tuple[float | None, str]:
    """Take what parts cost out of a text; with the text without it.

    Examples
    --------
    >>> lift_cost("replaced door loom, cured, parts 1,038.50, 90 min")
    (1038.5, 'replaced door loom, cured, 90 min')
    >>> lift_cost("replaced 2 parts, 38 left")
    (None, 'replaced 2 parts, 38 left')
    """
    found = find_costs(text)
    if not found:
        return None, text
    total = round(sum(cost.total for cost, _ in found), 2)
    return total, cut(text, [Lifted(*place) for _, place in found])
