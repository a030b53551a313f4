"""Which part of the car a job is about: from a typed name, from a code, from trade words."""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path

from kb.case import System, TroubleCode
from kb.errors import InvalidField
from kb.intake.code_areas import area_of
from kb.intake.lifting import known_phrases, longest_phrases
from kb.patterns import compiled

_LEAST_LIKENESS = 80

_WEAK = "~"
"""What stands in the table before a word that speaks only where nothing else does."""
_WORDS_FILE = Path(__file__).with_name("trade_words.txt")
_SWITCHED = compiled(r"\b(?:ignition|ign) (?:is |was |switched |turned )?(?:on|off)\b")
"""What a switch stood at while something was seen, and no part that it was seen of."""
_LOADED = compiled(
    r"\b(?:(?:w/|(?:with|w|mit|avec|ze?|przy)(?= )) ?"
    r"(?:(?:the|all|both|der|die|das|dem|den|le|la|les) )?"
    r"|under load (?:of )?)"
    r"(?P<load>[^\W\d_][\w/'-]*(?: [^\W\d_][\w/'-]*)?"
    r"(?:(?: ?[,&+] ?| (?:and|und|et|i|oraz) )(?:the )?"
    r"[^\W\d_][\w/'-]*(?: [^\W\d_][\w/'-]*)?){0,3})"
    r" (?:switched |turned |all )?"
    r"(?:on|off|running|an|aus|ein|eingeschaltet|ausgeschaltet|allum[ée]e?s?"
    r"|[ée]teinte?s?|en marche|w[łl][ąa]czon\w+|wy[łl][ąa]czon\w+)\b"
)
"""What was switched on as a load, or off, while something was seen."""
_WORD = compiled(r"[a-z0-9]+(?:['/-][a-z0-9]+)*")


@cache
def trade_words() -> dict[str, System]:
    """Read ``trade_words.txt``: lower-case words and phrases, and the system each speaks for.

    Examples
    --------
    >>> trade_words()["pretensioner"].value
    'restraints'
    """
    return {word: system for word, system in _entries() if not word.startswith(_WEAK)}


@cache
def _weak_phrases() -> dict[tuple[str, ...], System]:
    """Words that speak for a system only where no other word or code does."""
    return {tuple(word[1:].split()): each for word, each in _entries() if word.startswith(_WEAK)}


def _entries() -> Iterator[tuple[str, System]]:
    system = System.OTHER
    for line in _WORDS_FILE.read_text(encoding="utf-8").splitlines():
        heading = re.fullmatch(r"\[(.+)\]", line.strip())
        if heading:
            system = System(heading[1])
        elif not line.startswith("#"):
            yield from ((word, system) for each in line.split(",") if (word := each.strip()))


@cache
def _phrases() -> dict[tuple[str, ...], System]:
    return {tuple(word.split()): system for word, system in trade_words().items()}


@cache
def _longest() -> Mapping[str, int]:
    return longest_phrases(_phrases())


def parse_system(text: str) -> System:
    """Read the name of a system: full, begun, misspelt, or one of its trade words.

    Raises
    ------
    InvalidField
        If none fits, or several fit equally; the message lists the choices.

    Examples
    --------
    >>> parse_system("srs").value, parse_system("Brakes").value, parse_system("colling").value
    ('restraints', 'brakes and wheel speed', 'cooling')
    """
    plain = " ".join(text.lower().split())
    if plain in trade_words():
        return trade_words()[plain]
    if plain:
        begun = {system for system in System if system.value.startswith(plain)}
        begun = begun or {
            system for word, system in trade_words().items() if word.startswith(plain)
        }
        if len(begun) == 1:
            return begun.pop()
        likest = _likest(plain)
        if not begun and likest is not None:
            return likest
    raise InvalidField("system", text, f"must be one of: {', '.join(System)}")


def _likest(plain: str) -> System | None:
    """Find the one system whose name or trade word is clearly the most alike."""
    from rapidfuzz import fuzz  # noqa: PLC0415 - only a name that nobody knows needs it

    best: dict[System, float] = {}
    names = [(system.value, system) for system in System]
    for word, system in (*names, *trade_words().items()):
        best[system] = max(best.get(system, 0.0), fuzz.ratio(plain, word))
    (first, score), (_, second) = Counter(best).most_common(2)
    return first if score >= _LEAST_LIKENESS and score > second else None


def system_of_code(code: TroubleCode) -> System | None:
    """Tell the part of the car from a standard code's range, where that is sure.

    None for maker-defined codes, bus codes, and ranges that serve several parts.

    References
    ----------
    See `kb.intake.code_areas`.

    Examples
    --------
    >>> system_of_code(TroubleCode(code="P0301")).value
    'ignition'
    >>> system_of_code(TroubleCode(code="B1234")) is None
    True
    """
    area = area_of(code.code)
    return area.system if area else None


def guess_system(text: str, codes: Sequence[TroubleCode] = ()) -> System | None:
    """Guess the part of the car from the trade words of a complaint and its codes, a vote each.

    None when nothing speaks for a system, or two are spoken for equally.

    Examples
    --------
    >>> guess_system("airbag lamp on after seat moved").value
    'restraints'
    >>> guess_system("makes a funny noise") is None
    True
    >>> guess_system("door will not close").value, guess_system("airbag lamp, door slammed").value
    ('body electrics', 'restraints')
    >>> guess_system("ignition off 12.4 V, LR window dead").value
    'body electrics'
    >>> guess_system("battery low with lights and blower on").value
    'charging and starting'
    """
    ranked = _votes(text, codes).most_common(2)
    if not ranked or (len(ranked) == 2 and ranked[0][1] == ranked[1][1]):
        return None
    return ranked[0][0]


def systems_told(text: str, codes: Sequence[TroubleCode] = ()) -> frozenset[System]:
    """Return every part of the car that a complaint or a code of it speaks for.

    Examples
    --------
    >>> sorted(systems_told("hybrid, a/c does not cool"))
    [<System.CLIMATE: 'climate'>, <System.HIGH_VOLTAGE: 'high voltage'>]
    """
    return frozenset(_votes(text, codes))


_AT_THE_WHEEL = compiled(
    r"\b(?:horn|hooter|hupe|klaxon|klakson)\b"
    r"|\b(?:wheel|radio|cruise|volume) (?:buttons?|controls?|switch(?:es)?)\b"
    r"|\bbuttons on the (?:steering )?wheel\b"
    r"|\b(?:when|while|as|on|if) (?:the )?(?:steering|turning)\b"
    r"|\b(?:steering )?wheel (?:is )?turned\b"
    r"|\bfull lock\b|\block to lock\b|\bbeim lenken\b",
    re.IGNORECASE,
)


def at_the_wheel(text: str) -> bool:
    """Whether words speak of what the clock spring carries beside an airbag, or of turning it.

    With an airbag lamp they are one fault with it, most of the time (common practice, no source).

    Examples
    --------
    >>> at_the_wheel("horn dead"), at_the_wheel("radio dead")
    (True, False)
    """
    return _AT_THE_WHEEL.search(text) is not None


def _votes(text: str, codes: Sequence[TroubleCode]) -> Counter[System]:
    plain = _SWITCHED.sub(" ", text.lower().replace("’", "'"))
    words = _WORD.findall(_LOADED.sub(" , ", plain))
    told = [*known_phrases(words, _phrases(), _longest()), *map(system_of_code, codes)]
    votes = Counter[System](
        each for each in told if isinstance(each, System) and each is not System.OTHER
    )
    weak = [] if votes else known_phrases(words, _weak_phrases())
    votes.update(each for each in weak if isinstance(each, System))
    if votes[System.RESTRAINTS] and at_the_wheel(text):
        votes[System.RESTRAINTS] += 1
    return votes
