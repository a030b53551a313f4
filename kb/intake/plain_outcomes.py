"""Whether a success is told plainly: nothing in the words may limit, deny or redirect it.

Before the word of success anything may stand that the trade knows by name ("wheel bearing noise
gone"); behind it, and in the clauses that follow, only what is in the lists of
``outcome_words.toml`` ("again", "after 30 km", "with new coil"). One word more that nobody knows,
a number or a sign takes the plainness away: "cured my foot", "gone below 50", "hardly cured".
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice, pairwise

from kb.intake.items import trade_wording
from kb.intake.known_words import is_trade_word
from kb.intake.outcome_words import DENIALS, TROUBLE, OutcomeClause, Word, WordRole
from kb.intake.part_words import PART_NOUN
from kb.patterns import compiled

_ODD_SIGN = compiled(r"[^\w\s.,;:!()/&+\-–—→'’`\"°]|(?<!\w)[:;]-?[()/]")
_IN_QUOTES = compiled(r"""(?<!\w)(["'“‘])[^\W\d_]+["'”’](?!\w)""")
_NEVER_A_NAME = frozenset(
    {
        *("about", "anti", "approx", "bad", "between", "losing", "main", "max", "maximum", "min"),
        *("cold", "damp", "dry", "hot", "warm", "wet", "bar", "jump", "jumper", "spare", "loan"),
        *("minimum", "minus", "monitor", "neg", "negative", "part", "poor", "primary", "repair"),
        *("replace", "replaced", "reqd", "required", "return", "short", "soft", "temporary"),
        "while",
    }
)
"""Words of the trade's tables that may limit what follows."""
_PART = compiled(
    rf"{PART_NOUN}|\w{{3,}}(?:links?|mounts?|bolts?|joints?|hoses?|pipes?|plugs?|seals?|bearings?"
    r"|sensors?|pumps?|belts?|cables?|brackets?|springs?|switch|motors?|wheels?)"
)
"""Names of parts, written as one word or not: "droplinks"."""
_NAMES = frozenset({*TROUBLE, WordRole.LAMP})
_ANYWHERE = frozenset(
    {
        *(WordRole.LITTLE, WordRole.NOW, WordRole.SETTING, WordRole.SPAN, WordRole.HAPPY),
        WordRole.ANY_MORE,
    }
)
_THINGS = frozenset({WordRole.FUNCTION, WordRole.THING})
_OF_WORK = frozenset(
    {
        *(WordRole.PART, WordRole.LITTLE, WordRole.WAY, WordRole.AFTER, WordRole.CHANGE),
        *(WordRole.SETTING, WordRole.LAMP, WordRole.THING),
    }
)
"""What may stand beside a part, or what was done, behind "after"."""
_LEADING = frozenset({WordRole.WAY, WordRole.LIT})
"""Behind these stands a place: "in", "on"."""
_PLACING = frozenset(
    {
        *(_LEADING | _ANYWHERE | _NAMES),
        *(WordRole.ASIDE, WordRole.RUNS, WordRole.STARTS, WordRole.PART, *_THINGS),
    }
)
_SUCCESS = frozenset(
    {
        *(WordRole.CURED, WordRole.WORKS, WordRole.FINE, WordRole.NICE, WordRole.RUNS),
        *(WordRole.STARTS, WordRole.WHOLE),
        *(WordRole.OUT, WordRole.GONE, WordRole.STOPPED, WordRole.AGAIN, WordRole.PROMPT),
    }
)
_ABSENT = frozenset({WordRole.RETURNED, WordRole.BACK, WordRole.PRESENT, WordRole.LIT})
"""Told of what is denied: "no codes returned"."""
_LINKS = frozenset({WordRole.NO, WordRole.NO_MORE, WordRole.OR, WordRole.MEANS})
_UNITS = frozenset(
    {
        *(
            "v",
            "volt",
            "volts",
            "a",
            "ma",
            "amp",
            "amps",
            "ohm",
            "ohms",
            "bar",
            "mbar",
            "psi",
            "kpa",
        ),
        *("deg", "degrees", "grad", "c", "mm", "g", "hz", "ms"),
        *("l", "ltr", "ltrs", "litre", "litres", "bottle", "bottles", "tin", "tins", "tube"),
    }
)
_BESIDE_VALUES = frozenset({*_ANYWHERE, *_THINGS, WordRole.PART, WordRole.AFTER})
_ENDED = frozenset({WordRole.NO_MORE, WordRole.NO_LONGER})
_SAID = frozenset({WordRole.PERSON, WordRole.HEARSAY})
_BEHIND = frozenset(
    {
        *(_ANYWHERE | _THINGS),
        *(WordRole.PERSON, WordRole.PART, WordRole.MEANS, WordRole.FINE, WordRole.NICE),
    }
)
_BEHIND_HEARD = frozenset(
    {*_BEHIND, WordRole.HEARSAY, WordRole.ASIDE, WordRole.OTHER, WordRole.TODAY}
)
"""What takes nothing back in a clause behind a success; and what not in a contact."""
_FREELY = _ANYWHERE | _SUCCESS | _NAMES | _LINKS
_WHEN_HEARD = frozenset({*_SAID, WordRole.OTHER, WordRole.STILL, WordRole.TO_NOW})
_NAMING = frozenset(
    {
        *_SAID,
        *(WordRole.PART, WordRole.WAY, WordRole.NOT, WordRole.CHANGE, WordRole.BROKEN),
        *(WordRole.ASIDE, WordRole.AFTER, WordRole.WITH, WordRole.NO_LONGER, *_THINGS),
    }
)


def has_odd_sign(text: str) -> bool:
    """Whether a text has a sign that may mean anything: a per cent sign, a face, a word in quotes.

    Examples
    --------
    >>> has_odd_sign("cured ~80%"), has_odd_sign("cured :("), has_odd_sign("cured, road test: ok")
    (True, True, False)
    >>> has_odd_sign("'fixed'")
    True
    """
    return _ODD_SIGN.search(text) is not None or _IN_QUOTES.search(text) is not None


def is_plain(clause: OutcomeClause, *, heard: bool) -> bool:
    """Whether a clause that tells a success tells it plainly; `heard` that it is of a contact."""
    held_to_then = clause.words[-2:] == [WordRole.WORKS, WordRole.SPAN]
    lamp_out = clause.has(WordRole.LAMP) and clause.has(WordRole.OUT)
    if held_to_then or (lamp_out and _lasts(clause, heard=heard)):
        return False
    telling = _Telling(clause, heard)
    for place in range(len(clause.words)):
        behind = clause.words[place:]
        if telling.is_over and (_is_work_before(behind) or _is_where_it_was(clause, behind)):
            return True
        if not telling.takes(behind):
            return telling.before is WordRole.MEANS and _is_ending(behind)
    ended = telling.before in _ENDED and clause.has(*TROUBLE)  # "stalls no more"
    open_end = telling.awaits or telling.before in (*DENIALS, WordRole.WAY, WordRole.WITH)
    return ended or not open_end


def is_plain_but_for_where(clause: OutcomeClause) -> bool:
    """Whether a clause tells a success, and by plain words how it ran then: "cold again at idle".

    It may limit the success, unless the whole repair is told to have cured.
    """
    return clause.has(WordRole.WAY, WordRole.RUNS) and all(
        word in _WHERE or _is_name(word) for word in clause.words
    )


def is_verdict(clause: OutcomeClause) -> bool:
    """Whether a clause tells that the repair cured, and no word more."""
    said = [word for word in clause.words if word is not WordRole.LITTLE]
    return said == [WordRole.CURED] and not clause.asked


_WHERE = frozenset(
    {
        *(WordRole.CURED, WordRole.WORKS, WordRole.FINE, WordRole.NICE, WordRole.RUNS),
        *(WordRole.STARTS, WordRole.WHOLE, WordRole.PROMPT, WordRole.AGAIN, WordRole.GONE),
        *(WordRole.WAY, WordRole.LITTLE, WordRole.NOW, WordRole.SETTING, *_THINGS, *_NAMES),
    }
)


@dataclass
class _Telling:
    """How far a clause has told its success.

    A name may follow as long as none was told, or a denial awaits what it denies.
    """

    clause: OutcomeClause
    heard: bool
    naming: bool = True
    denied: bool = False
    told: bool = False
    awaits: bool = False
    before: Word = WordRole.LITTLE

    @property
    def is_over(self) -> bool:
        """Whether the success is told, and nothing awaited."""
        return self.told and not self.naming

    def takes(self, behind: Sequence[Word]) -> bool:
        """Take the first of the words left, if it leaves the success plain."""
        word, following = behind[0], _next_of_weight(behind)
        not_back = self.told and word is WordRole.NOT and following is WordRole.RETURNED
        if not (not_back or self._fits(word, is_last=len(behind) == 1)):
            return False
        if word in DENIALS or word is WordRole.MEANS:
            self.naming, self.denied = not not_back, self.denied or word in DENIALS
            self.awaits = word in DENIALS
        elif word in _SUCCESS or word in _ABSENT or (word in _NAMES and self.denied):
            self.awaits = self.awaits and word is WordRole.LIT and not self._is_of_lamp
            self.naming, self.told = False, True
        elif word is WordRole.BROKEN:
            self.awaits = False
        self.before = word
        return True

    def _fits(self, word: Word, *, is_last: bool) -> bool:
        by_way = word is WordRole.CURED and self.before in (WordRole.WAY, WordRole.WITH, "#")
        part_gone = word is WordRole.GONE and _is_name(self.before)  # "lamp bulb gone"
        if by_way or part_gone or (word == "#" and self.told):
            return False
        return (
            word in _FREELY
            or (word in _ABSENT and self._is_absent(word))
            or (word in _WHEN_HEARD and self.heard)
            or (word is WordRole.AFTER and is_last and self.clause.has(*DENIALS))  # "not once"
            or (self.naming and (word in _NAMING or word == "#" or _is_name(word)))
        )

    @property
    def _is_of_lamp(self) -> bool:
        """Whether "on" is said of a lamp: "lamp no longer on", and not "without heater on"."""
        denied = self.before in (WordRole.NOT, WordRole.NO_LONGER)
        return self.before in _NAMES or (denied and self.clause.has(WordRole.LAMP))

    def _is_absent(self, word: Word) -> bool:
        named = word is WordRole.LIT and self.naming and self.before in _NAMES
        return self.denied or named or self.before is WordRole.FUNCTION  # "knock on lock gone"


def _next_of_weight(words: Sequence[Word]) -> Word | None:
    return next((each for each in islice(words, 1, None) if each is not WordRole.LITTLE), None)


def _is_work_before(words: Sequence[Word]) -> bool:
    """Whether words tell after what repair: "after droplinks", "once the bush was pressed in"."""
    if words[0] not in (WordRole.AFTER, WordRole.NOW, WordRole.MEANS):
        return False
    rest = words[1:]
    done = [word for word in rest if word is WordRole.PART or _is_part(word)]
    return (
        bool(done)
        and rest[-1] != "#"
        and all(
            word in _OF_WORK or word == "#" or _is_part(word) or _is_name(word) for word in rest
        )
    )


def _is_where_it_was(clause: OutcomeClause, words: Sequence[Word]) -> bool:
    """Whether words behind "no more noise" tell where it was: "over speed bumps"."""
    ended = clause.has(WordRole.NO_MORE, WordRole.NO_LONGER) or (
        clause.has(WordRole.ANY_MORE) and clause.has(*DENIALS)
    )
    if not ended or words[-1] in _LEADING:
        return False
    return all(
        word in _PLACING
        or (isinstance(word, str) and word != "#" and before in _LEADING)
        or _is_name(word)
        for before, word in pairwise((WordRole.LITTLE, *words))
    )


def _is_ending(words: Sequence[Word]) -> bool:
    """Whether one word that nobody knows is all that is left: "with new lager"."""
    return len(words) == 1 and isinstance(words[0], str) and words[0] not in _NEVER_A_NAME | {"#"}


def _is_part(word: Word) -> bool:
    return isinstance(word, str) and _PART.fullmatch(word) is not None


def is_harmless(clause: OutcomeClause, *, heard: bool) -> bool:
    """Whether a clause behind a success, with none in it, takes nothing of it back."""
    if _is_measured(clause.words) or _is_blame(clause):
        return True
    said = _BEHIND_HEARD if heard else _BEHIND
    pairs = pairwise((WordRole.LITTLE, *clause.words))
    return all(
        word in said
        or _is_name(word)
        or (word is WordRole.OUT and not clause.strange)
        or (word == "#" and (before is WordRole.PART or _is_name(before)))
        for before, word in pairs
    )


def _is_blame(clause: OutcomeClause) -> bool:
    """Whether a clause tells no more than which part was the cause: "was the plug behind the dash".

    Words that nobody knows say where or in what state it was.
    """
    if clause.words[:1] != [WordRole.BLAMED] or len(clause.words) > _LONGEST_BLAME:
        return False
    named = any(word is WordRole.PART or _is_part(word) or _is_name(word) for word in clause.words)
    plain = (word in _IN_BLAME or (isinstance(word, str) and word != "#") for word in clause.words)
    return named and all(plain)


_LONGEST_BLAME = 10
_IN_BLAME = frozenset(
    {
        *(WordRole.BLAMED, WordRole.LITTLE, WordRole.PART, WordRole.WAY, WordRole.WITH),
        *(WordRole.AFTER, WordRole.THING, WordRole.FUNCTION),
    }
)


def _is_measured(words: Sequence[Word]) -> bool:
    """Whether a clause tells what was measured: "22 mA after sleep", "vent 4 deg"."""
    values = [place for place, pair in enumerate(pairwise(words)) if _is_value(*pair)]
    return bool(values) and all(
        word in _BESIDE_VALUES
        or word == "#"
        or word in _UNITS
        or _is_name(word)
        or (word is WordRole.WAY and place > values[0])
        for place, word in enumerate(words)
    )


def _is_value(one: Word, two: Word) -> bool:
    return one == "#" and two in _UNITS


def is_lone(clause: OutcomeClause) -> bool:
    """Whether a clause is one word that need not speak of the car: "well, it idles"."""
    return clause.words == [WordRole.NICE]


def _lasts(clause: OutcomeClause, *, heard: bool) -> bool:
    """Whether a lamp is "out again", or "still out", which may be said of one that is broken."""
    return clause.has(WordRole.AGAIN) or (clause.has(WordRole.STILL) and not heard)


def _is_name(word: Word) -> bool:
    return (
        isinstance(word, str)
        and word not in _NEVER_A_NAME
        and any(is_trade_word(one, trade_wording()) for one in (word, word.removesuffix("s")))
    )
