"""Whether a success is told plainly: nothing in the words may limit, deny or redirect it.

Before the word of success anything may stand that the trade knows by name ("wheel bearing noise
gone"); behind it, and in the clauses that follow, only what is in the lists of
``outcome_words.toml`` ("again", "after 30 km", "with new coil"). One word more that nobody knows,
a number or a sign takes the plainness away: "cured my foot", "gone below 50", "hardly cured".
"""

from itertools import pairwise

from kb.intake.items import trade_wording
from kb.intake.known_words import is_trade_word
from kb.intake.outcome_words import DENIALS, TROUBLE, OutcomeClause, Word, WordRole
from kb.patterns import compiled

_ODD_SIGN = compiled(r"[^\w\s.,;:!()/&+\-–—→'’`\"°]|(?<!\w)[:;]-?[()/]")
_NEVER_A_NAME = frozenset(
    {
        *("about", "anti", "approx", "bad", "between", "losing", "main", "max", "maximum", "min"),
        *("cold", "damp", "dry", "hot", "warm", "wet"),
        *("minimum", "minus", "monitor", "neg", "negative", "part", "poor", "primary", "repair"),
        *("replace", "replaced", "reqd", "required", "return", "short", "soft", "temporary"),
        "while",
    }
)
"""Words of the trade's tables that may limit what follows."""
_NAMES = frozenset({*TROUBLE, WordRole.LAMP})
_ANYWHERE = frozenset(
    {WordRole.LITTLE, WordRole.NOW, WordRole.SETTING, WordRole.SPAN, WordRole.HAPPY}
)
_SUCCESS = frozenset(
    {
        *(WordRole.CURED, WordRole.WORKS, WordRole.FINE, WordRole.NICE, WordRole.RUNS),
        *(WordRole.OUT, WordRole.GONE, WordRole.STOPPED, WordRole.AGAIN),
    }
)
_ABSENT = frozenset({WordRole.RETURNED, WordRole.BACK, WordRole.PRESENT, WordRole.LIT})
"""Told of what is denied: "no codes returned"."""
_SAID = frozenset({WordRole.PERSON, WordRole.HEARSAY})
_BEHIND = frozenset(
    {*_ANYWHERE, WordRole.PERSON, WordRole.PART, WordRole.MEANS, WordRole.FINE, WordRole.NICE}
)
_BEHIND_HEARD = frozenset(
    {*_BEHIND, WordRole.HEARSAY, WordRole.ASIDE, WordRole.OTHER, WordRole.TODAY}
)
"""What takes nothing back in a clause behind a success; and what not in a contact."""
_NAMING = frozenset(
    {
        *(WordRole.PART, WordRole.WAY, WordRole.NOT, WordRole.CHANGE, WordRole.BROKEN),
        WordRole.ASIDE,
    }
)


def has_odd_sign(text: str) -> bool:
    """Whether a text has a sign that may mean anything: a per cent sign, a tick, a face.

    Examples
    --------
    >>> has_odd_sign("cured ~80%"), has_odd_sign("cured :("), has_odd_sign("cured, road test: ok")
    (True, True, False)
    """
    return _ODD_SIGN.search(text) is not None


def is_plain(clause: OutcomeClause, *, heard: bool) -> bool:
    """Whether a clause that tells a success tells it plainly; `heard` that it is of a contact."""
    held_to_then = clause.words[-2:] == [WordRole.WORKS, WordRole.SPAN]
    lamp_out = clause.has(WordRole.LAMP) and clause.has(WordRole.OUT)
    if held_to_then or (lamp_out and _lasts(clause, heard=heard)):
        return False
    # a name may follow as long as no success was told, or a denial waits for what it denies
    naming, denied = True, False
    told = False
    before: Word = WordRole.LITTLE
    for word in clause.words:
        if not _fits(word, naming=naming, denied=denied, heard=heard):
            return False
        if word is WordRole.CURED and before in (WordRole.WAY, "#"):
            return False
        if word is WordRole.GONE and _is_name(before):
            return False  # "lamp bulb gone"
        if word == "#" and told:
            return False
        if word in DENIALS or word is WordRole.MEANS:
            naming, denied = True, denied or word in DENIALS
        elif word in _SUCCESS or (word in _NAMES | _ABSENT and denied):
            naming, told = False, True
        before = word
    return before not in DENIALS and before is not WordRole.WAY


def is_harmless(clause: OutcomeClause, *, heard: bool) -> bool:
    """Whether a clause behind a success, with none in it, takes nothing of it back."""
    said = _BEHIND_HEARD if heard else _BEHIND
    pairs = pairwise((WordRole.LITTLE, *clause.words))
    return all(
        word in said
        or _is_name(word)
        or (word is WordRole.OUT and not clause.strange)
        or (word == "#" and (before is WordRole.PART or _is_name(before)))
        for before, word in pairs
    )


def is_lone(clause: OutcomeClause) -> bool:
    """Whether a clause is one word that need not speak of the car: "well, it idles"."""
    return clause.words == [WordRole.NICE]


def _lasts(clause: OutcomeClause, *, heard: bool) -> bool:
    """Whether a lamp is "out again", or "still out", which may be said of one that is broken."""
    return clause.has(WordRole.AGAIN) or (clause.has(WordRole.STILL) and not heard)


def _fits(word: Word, *, naming: bool, denied: bool, heard: bool) -> bool:
    """Whether a word may stand where it does in a clause that tells a success."""
    if word in _ANYWHERE or word in _SUCCESS:
        return True
    if word in _NAMES or word is WordRole.NO or word is WordRole.OR or word is WordRole.MEANS:
        return True
    if word in _ABSENT:
        return denied
    if word in _SAID:
        return heard or naming
    if word is WordRole.STILL:
        return heard
    return naming and (word in _NAMING or word == "#" or _is_name(word))


def _is_name(word: Word) -> bool:
    return (
        isinstance(word, str)
        and word not in _NEVER_A_NAME
        and any(is_trade_word(one, trade_wording()) for one in (word, word.removesuffix("s")))
    )
