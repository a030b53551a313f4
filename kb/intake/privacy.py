"""Warnings of personal data in free text: nothing is taken out, the one who types decides.

Formats of number plates: the British one since 2001, the French and Italian ones (two letters,
three digits, two letters) and the German one, as they are issued (from memory); any other only
where the text calls it a plate. A VIN has the 17 signs of ISO 3779, some of them letters and the
last four digits (from memory). Card numbers carry the check digit of ISO/IEC 7812-1, annex B
(Luhn), account numbers that of ISO 13616 (IBAN, by ISO 7064 MOD 97-10), both from memory. A name is
seen behind a title; and beside a word for somebody whose car it is, where neither English nor the
trade know it, so that one which is a word as well is missed. An address is seen as a number beside
a street's name, a post box, or a British postcode (common practice, no source).
"""

import re
from collections.abc import Iterable, Iterator

from kb.bounds import CODE_PATTERN
from kb.intake.items import trade_wording
from kb.intake.known_words import is_known
from kb.intake.units import find_unit
from kb.patterns import WORD_BEGINS, compiled

_EMAIL = compiled(r"(?<![\w.+'-])[\w.+'-]+@[\w-]+(?:\.[\w-]+)+")
_PHONES = (
    compiled(
        r"(?<![\w.,+-])(?:\+[0-9]{1,15}(?: ?\(0\))?|\(?0[0-9]{1,14}\)?)"
        r"(?:(?:[ /-]{1,2}|(?<=\)))\(?[0-9]{2,14}\)?){0,5}(?![\w%])"
    ),
    compiled(r"(?<![\w.,+-])\(?[2-9][0-9]{2}\)?[ -][2-9][0-9]{2}[ -][0-9]{4}(?![\w%])"),
    compiled(r"(?<![\w.,+-])0[0-9](?:\.[0-9]{2}){4}(?![\w%])"),
)
_FEWEST_DIGITS, _MOST_DIGITS = 9, 15
_PLATE_SIGN = compiled(r"[0-9]{2}[ -]?[^\W\d_]{2}|[A-Z] ?[1-9][0-9]{2}")
"""Stands in every plate of `_PLATES`, and begins with what is found quickly."""
_GERMAN_SIGN = compiled(r"[A-Z] [1-9]|[a-z] ?[1-9][0-9]{2}")
"""Stands in every plate of `_GERMAN_PLATES`."""
_PLATES = (
    compiled(r"\b[A-HJ-PR-Y]{2}[0-9]{2} ?(?P<last>[A-HJ-PR-Z]{3})\b", re.IGNORECASE),
    compiled(r"\b[A-HJ-PR-Y]{2}(?P<dash>[ -])[0-9]{2}(?P=dash)(?P<last>[A-HJ-PR-Z]{3})\b"),
    compiled(r"\b[A-Z]{2}(?P<dash>[ -]?)[0-9]{3}(?P=dash)(?P<last>[A-Z]{2})\b"),
    compiled(r"\b[A-ZÄÖÜ]{1,3}-[A-Z]{1,2} ?[1-9][0-9]{2,3}\b(?! ?(?P<last>[^\W\d_]+|%))"),
)
_GERMAN_PLATES = tuple(
    compiled(rf"(?<![\w/-])(?P<plate>{form}\b)(?! ?%)(?: ?(?P<unit>[^\W\d_]+))?")
    for form in (
        r"(?P<area>[A-ZÄÖÜ]{1,3})[ -](?P<own>[A-Z]{1,2}) [1-9][0-9]{0,3}[EH]?",
        r"(?P<area>[a-zäöü]{1,3})-(?P<own>[a-z]{1,2}) ?[1-9][0-9]{2,3}",
    )
)
_SHORTEST = len("B Q 123")
_VIN = compiled(
    r"(?<![\w-])(?=(?:[0-9]*[A-Z]){4})[A-HJ-NPR-Z0-9]{13}[0-9]{4}(?![\w-])", re.IGNORECASE
)
_CALLED_PLATE = compiled(
    r"\b(?:number ?plate|licen[cs]e plate|plate|registration|reg)(?:\.| no\.?| number)?[ :]+"
    r"(?P<plate>(?=[A-Z0-9 -]*[A-Z])(?=[A-Z0-9 -]*[0-9]{2})[A-Z0-9]{1,4}[ -]?[A-Z0-9]{2,5})\b"
)
_CARD = compiled(r"(?<![\w.,+-])[3-6][0-9]{3}(?:[ -]?[0-9]){9,15}(?![\w%])")
_IBAN = compiled(r"\b[A-Z]{2}[0-9]{2}(?: ?[A-Z0-9]{4}){2,7}(?: ?[A-Z0-9]{1,3})?\b", re.IGNORECASE)
_TITLES = ("mr", "ms", "miss", "dr", "herr", "frau")
_TITLED = compiled(
    rf"{WORD_BEGINS}(?:(?i:mrs?|ms|miss|dr)\.? |(?i:herrn?|frau) )"
    r"(?P<name>[A-ZÄÖÜ][\w'-]+(?: [A-ZÄÖÜ][\w'-]+)?)"
)
_NAME = r"(?P<name>(?:[A-Z]\. ?)?[A-ZÄÖÜ][a-zäöüß'-]{2,}(?: [A-ZÄÖÜ][a-zäöüß'-]{2,})?+)(?![\w'-])"
_OWNERS = (
    *("customer", "client", "owner", "keeper", "driver", "ask", "spoke", "speak", "call", "ring"),
    *("phone", "brought in", "dropped off", "collected", "belongs"),
)
_GERMAN_OWNERS = ("kund", "halter", "fahrer")
_CALLING = ("phoned", "rang", "texted", "emailed", "will collect")
_OWNED = compiled(
    rf"{WORD_BEGINS}(?i:customer|client|owner|keeper|driver|ask(?:ed)? for|spoke (?:to|with)"
    r"|speak to|call(?:ed)?|ring|phone|brought in by|dropped off by|collected by|belongs to)"
    rf"(?i: is| named| called)?[:,]? {_NAME}(?! (?:dealer|agent|garage|parts|support|hotline"
    r"|(?:19|20)[0-9]{2}\b))"
)
_GERMAN_OWNED = compiled(
    rf"{WORD_BEGINS}(?i:kunde|kundin|halter|halterin|fahrer|fahrerin),? {_NAME}"
    r"(?=,|$| (?:wartet|ruft|sagt|kommt|holt|meldet|möchte|will|war|hat)\b)"
)
_CALLED = compiled(rf"(?:^|[,;.] ){_NAME} (?:{'|'.join(_CALLING)})\b")
_UNTITLED = ((_OWNERS, _OWNED), (_GERMAN_OWNERS, _GERMAN_OWNED), (_CALLING, _CALLED))
"""Words one of which stands in whatever the pattern behind them finds."""
_DIGIT = compiled("[0-9]")
_STREETS = (
    *("Street", "Road", "Lane", "Avenue", "Close", "Drive", "Terrace", "Court", "Crescent"),
    *("Gardens", "Grove"),
)
_GERMAN_STREETS = ("straße", "strasse", "str.", "gasse", "allee", "platz")
_FRENCH_STREETS = ("rue", "avenue", "boulevard", "chemin")
_ADDRESSES = (
    (
        _STREETS,
        compiled(rf"\b[0-9]{{1,4}}[a-d]? (?:[A-Z][\w'-]+ ){{1,3}}(?:{'|'.join(_STREETS)})\b"),
    ),
    (
        _GERMAN_STREETS,
        compiled(
            rf"\b[A-ZÄÖÜ][\w-]{{2,30}}(?:{'|'.join(map(re.escape, _GERMAN_STREETS))})"
            r" ?[0-9]{1,4}\b"
        ),
    ),
    (
        _FRENCH_STREETS,
        compiled(
            rf"\b[0-9]{{1,4}},? (?:{'|'.join(_FRENCH_STREETS)}) "
            r"(?:(?:de|du|des|la|le) ){0,2}[A-Z]\w+"
        ),
    ),
    (("ul. ",), compiled(r"\bul\. [A-ZĄĆĘŁŃÓŚŹŻ]\w+ [0-9]{1,4}\b")),
    (("x", "X"), compiled(r"\b(?i:P\.?O\.? ?box) [0-9]{1,6}\b")),
    (
        ("",),
        compiled(r"\b[A-PR-UWYZ][A-HK-Y]?[0-9][A-Z0-9]? [0-9](?P<last>[ABD-HJLNP-UW-Z]{2})\b"),
    ),
)
"""Words one of which stands in an address, and its form; without any a text is not searched."""
_A_PERSON = "leave out what names a person"
_A_PLATE = "a number plate; use the key tag instead"
_TRADE_WORDS = frozenset(
    (
        *("PIN", "GND", "BAT", "IGN", "SIG", "REF", "HI", "LO", "TO", "AT", "IN", "OF", "IS", "VS"),
        *("ABS", "SRS", "ECU", "EGR", "DPF", "ESP", "EPS", "EPB", "BCM", "CAN", "LIN", "OIL"),
        *("LF", "RF", "LR", "RR", "FL", "FR", "RL", "LH", "RH", "NS", "OS", "OK", "ON", "NO"),
    )
)


def personal_data(text: str) -> list[str]:
    """Look for phone, card and account numbers, e-mail and street addresses, names and plates.

    One warning for each piece found, in order of appearance; it names the piece. Trouble codes,
    readings, days and the shop's own key tags are not taken for any.

    Examples
    --------
    >>> personal_data("call on 07700 900123, reg AB12 CDE, K031, P0301, 12.4 V")
    ['“07700 900123” looks like a phone number; leave out what names a person',
     '“AB12 CDE” looks like a number plate; use the key tag instead']
    """
    warnings: list[str] = []
    done = 0
    found: list[tuple[tuple[int, int], str]] = []
    if "@" in text:
        found += _emails(text)
    found += _people(text)
    if _DIGIT.search(text):  # without one there is nothing of what follows
        for look in (_accounts, _addresses, _phones, _plates, _vins):
            found += look(text)
    for (start, end), kind in sorted(found):
        if start >= done:
            warnings.append(f"“{text[start:end]}” looks like {kind}")
            done = end
    return warnings


Found = Iterator[tuple[tuple[int, int], str]]


def _emails(text: str) -> Found:
    for match in _EMAIL.finditer(text):
        yield match.span(), "an e-mail address; leave out what names a person"


def _accounts(text: str) -> Found:
    for match in _CARD.finditer(text):
        if _fits_luhn([int(char) for char in match[0] if char.isdecimal()]):
            yield match.span(), f"a card number; {_A_PERSON}"
    for match in _IBAN.finditer(text):
        if match[0].isascii() and _fits_97(match[0].replace(" ", "").upper()):
            yield match.span(), f"an account number; {_A_PERSON}"


def _fits_luhn(digits: list[int]) -> bool:
    doubled = (sum(divmod(2 * digit, 10)) for digit in digits[-2::-2])
    return (sum(digits[-1::-2]) + sum(doubled)) % 10 == 0


def _fits_97(number: str) -> bool:
    return int("".join(str(int(char, 36)) for char in number[4:] + number[:4])) % 97 == 1


def _people(text: str) -> Found:
    folded = _folded(text)
    for match in _TITLED.finditer(text) if _any_of(_TITLES, folded) else ():
        yield match.span("name"), f"a name; {_A_PERSON}"
    for beside, pattern in _UNTITLED:
        for match in pattern.finditer(text) if _any_of(beside, folded) else ():
            if any(not is_known(word, trade_wording()) for word in _words(match["name"])):
                yield match.span("name"), f"a name; {_A_PERSON}"


def _addresses(text: str) -> Found:
    for beside, pattern in _ADDRESSES:
        for match in pattern.finditer(text) if _any_of(beside, text) else ():
            if not _is_of_trade(match.groupdict().get("last") or ""):
                yield match.span(), f"an address; {_A_PERSON}"


def _folded(text: str) -> str:
    return text.casefold().replace("ı", "i").replace("\u0307", "")


def _any_of(words: Iterable[str], text: str) -> bool:
    return any(word in text for word in words)


def _phones(text: str) -> Found:
    for pattern in _PHONES:
        for match in pattern.finditer(text):
            digits = sum(char.isdigit() for char in match[0])
            if _FEWEST_DIGITS <= digits <= _MOST_DIGITS:
                yield match.span(), "a phone number; leave out what names a person"


def _plates(text: str) -> Found:
    for pattern in _PLATES if _PLATE_SIGN.search(text) else ():
        for match in pattern.finditer(text):
            in_one_case = match[0] in (match[0].upper(), match[0].lower())
            spaced = match.groupdict().get("dash") == " "
            is_words = spaced and text.isupper() and text.strip() != match[0]
            if in_one_case and not is_words and not _is_of_trade(match["last"] or ""):
                yield match.span(), _A_PLATE
    for match in _CALLED_PLATE.finditer(text):
        if len(match["plate"]) >= 5 and not CODE_PATTERN.match(match["plate"]):
            yield match.span("plate"), _A_PLATE

    german = _GERMAN_SIGN.search(text) and not text.isupper()
    for pattern in _GERMAN_PLATES if german else ():
        for match in pattern.finditer(text):
            of_trade = map(_is_of_trade, (match["own"], match["unit"] or ""))
            are_pins = len(match["area"] + match["own"]) == 2 and len(match["plate"]) < _SHORTEST
            if match["area"].upper() not in _TRADE_WORDS and not any(of_trade) and not are_pins:
                yield match.span("plate"), _A_PLATE


def _vins(text: str) -> Found:
    for match in _VIN.finditer(text):
        yield match.span(), "a VIN; it has a place with the vehicle"


def _words(name: str) -> list[str]:
    return [word for word in name.casefold().split() if not word.endswith(".")]


def _is_of_trade(last: str) -> bool:
    """Whether what ends like a plate or postcode is a unit, side or short word of the trade."""
    return last.upper() in _TRADE_WORDS or find_unit(last) is not None
