"""What says nothing of what is wrong: a number, a car, a key tag or a yes, and nothing else."""

import re
from collections.abc import Callable, Sequence

from kb.case import Vehicle, VehicleModel
from kb.errors import InvalidField
from kb.intake.codes import find_codes
from kb.intake.known_words import is_known, is_trade_word
from kb.intake.units import find_unit
from kb.intake.vehicle import FUEL_WORDS, is_car, is_like_tag
from kb.intake.wording import Wording
from kb.patterns import compiled

_MOST_WORDS = 6
_MAKE_AND_MODEL = 2
_YEAR = compiled(r"(?:19[5-9]|20[0-4])[0-9]")
_ENGINE_SIZE = compiled(r"[0-9][.,][0-9](?:l|ltr|litre)?[pd]?", re.IGNORECASE)
_ANSWERS = frozenset({"yes", "no", "ok", "okay"})
_YES_OR_NO = frozenset({"y", "Y", "yes", "Yes", "YES", "n", "no", "No"})
_WORD = compiled(r"[^\s,;]+")
_NUMBER = compiled(r"[-+±~<>=]*[0-9](?:[0-9.,:/'-]*[0-9])?(?P<unit>[^0-9]*)")


def what_is_missing(
    text: str,
    cars: Callable[[], Sequence[Vehicle]],
    models: Sequence[VehicleModel],
    wording: Wording,
) -> str | None:
    """Say what a complaint lacks that tells nothing of what is wrong; None if it tells more.

    That is a number, a car or its key tag, or a mere yes or no.

    The shop's `cars` are only asked for where no word is the trade's.

    Examples
    --------
    >>> what_is_missing("12.6 V", list, (), Wording.default())
    'is a number and nothing else; say what was measured, and what the car does or does not do'
    >>> what_is_missing("starts at 12.6 V", list, (), Wording.default()) is None
    True
    """
    words = [word.strip(".!?()") for word in _WORD.findall(text)]
    if not words or len(words) > _MOST_WORDS:
        return None
    if all(map(_is_number, words)) and any(map(str.isdigit, text)):
        return (
            "is a number and nothing else; say what was measured, and what the car does or does "
            "not do"
        )
    plain = {word.casefold() for word in words} - FUEL_WORDS.keys()
    if any(is_trade_word(word, wording) for word in plain):
        return None
    if len(words) == 1 and (words[0].casefold() in _ANSWERS or _is_letter(words[0])):
        return "says nothing of the car; say what it does or does not do"
    if _is_tag(words) or is_car(text, cars(), models) or _is_strange_car(words, wording):
        return "names a car and nothing else; say what it does or does not do"
    return None


def _is_strange_car(words: Sequence[str], wording: Wording) -> bool:
    """Whether make and model, which nobody knows, stand beside a year or an engine, or both.

    ``corvane lido 2016``, ``corvane lido 2.2 diesel``.
    """
    fuels = [word for word in words if word.casefold() in FUEL_WORDS]
    sizes = [word for word in words if _ENGINE_SIZE.fullmatch(word)]
    years = [word for word in words if _YEAR.fullmatch(word)]
    names = [word for word in words if word not in {*fuels, *sizes, *years}]
    told = max(map(len, (fuels, sizes, years))) == 1 and bool(years or (sizes and fuels))
    if not told or len(names) < _MAKE_AND_MODEL or not all(map(str.isalpha, names)):
        return False
    return any(not is_known(name.casefold(), wording) for name in names)


def as_told(text: str) -> str:
    """Return words as typed, that answer a question for something else than yes or no.

    Raises
    ------
    InvalidField
        If they are a mere yes or no, as where a key is struck once too often.

    Examples
    --------
    >>> as_told("when wet")
    'when wet'
    """
    if text.strip() in _YES_OR_NO:
        raise InvalidField(
            "answer", text, "is no answer to this; leave it empty if it is not known"
        )
    return text


def seen_as_told(text: str) -> str:
    """Return words as typed that tell what was seen: what proved a cause, how a cure was made sure.

    Raises
    ------
    InvalidField
        If they are a mere yes or no, or have no word in them: the number of some choice, as typed
        behind the wrong question.

    Examples
    --------
    >>> seen_as_told("2.3 ohm with the plug off")
    '2.3 ohm with the plug off'
    """
    if text.strip() and not any(map(str.isalpha, text)):
        raise InvalidField("proof", text, "tells of nothing seen; write in words what showed it")
    return as_told(text)


def _is_letter(word: str) -> bool:
    return len(word) == 1 and word.isascii()


def _is_tag(words: Sequence[str]) -> bool:
    """Whether a word stands alone that is shaped like a key tag, and is no trouble code."""
    if len(words) != 1 or not is_like_tag(words[0]):
        return False
    found = find_codes(words[0])
    return not (found.codes or found.doubtful)


def _is_number(word: str) -> bool:
    """Whether a word is a number, perhaps with a unit, or a unit alone."""
    match = _NUMBER.fullmatch(word)
    unit = match["unit"] if match else word.strip("/+-=")
    return unit == "" or find_unit(unit) is not None
