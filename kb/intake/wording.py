"""The words of a complaint: evened out, with the trade's shorthand written out.

What is typed is never changed; words are only for comparing one job with another. The shorthand
stands in ``shorthand.txt`` beside this module, to be read and edited by the trade; words of other
languages stand in ``languages``, a file each.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from itertools import pairwise
from pathlib import Path

from kb.errors import InvalidField
from kb.intake.lifting import known_phrases
from kb.patterns import compiled

SHORTHAND_FILE = Path(__file__).with_name("shorthand.txt")
LANGUAGES = Path(__file__).with_name("languages")
LEAST_LIKENESS = 0.90
"""Jaro-Winkler likeness from which a word is proposed as what another was meant to be."""
SHORTEST_SUGGESTED = 4
"""Shorter words are too alike for a proposal to mean anything."""

_WORDINGS = 4
"""A process asks of one store, or of a few."""

Sayings = Mapping[tuple[str, ...], tuple[str, ...]]
"""Several words, as they are written -> the words meant."""
_WITH_E = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})
_BARE = str.maketrans("äöüàâçéèêëîïôûąćęłńóśźż", "aouaaceeeeiiouacelnoszz")
_APOSTROPHES = str.maketrans("", "", "'’‘ʼ`´")
_TOKEN = compiled(
    r"[pcbu][0-3][0-9a-f]{3}(?:-[0-9a-f]{2})?(?![^\W_])"  # a trouble code
    r"|\d+(?:[.,:]\d+)*[^\W_]*(?:[°%]c?|/(?:s|h|min|km)\b)?"  # a number and its unit: 12.4v, 5g/s
    r"|[+-]ve\b|\bb\+"  # the poles of a battery
    r"|[^\W_]+(?:[/+][^\W_]+)*"  # a word, or a slash form
)


@dataclass(frozen=True, slots=True, eq=False)
class Wording:
    """How a text becomes words; one object serves the index and the question alike.

    Compared and hashed by identity, so that tables made from one can be kept; what `default` builds
    of the same entries is the same one.

    `shorthand` is what is written -> the words meant, all in lower case, of all meanings together.
    `phrases` are the shop's own names of several words for what is measured -> the name meant; see
    `kb.intake.items`. `sayings` are by their first word: several words of another language -> the
    words meant.

    Examples
    --------
    >>> wording = Wording.default()
    >>> wording.tokens("LF W/S sens. U/S, won't reset; 12.4V")
    ['left', 'front', 'wheel', 'speed', 'windscreen', 'sensor', 'faulty', 'will', 'not', 'reset',
     '12.4v']
    """

    shorthand: Mapping[str, tuple[str, ...]]
    phrases: Mapping[str, str] = field(default_factory=dict)
    sayings: Mapping[str, Sayings] = field(default_factory=dict)

    @classmethod
    def default(cls, extra: Mapping[str, str] | None = None) -> "Wording":
        """Build the wording from the trade's table and the shop's own entries.

        Its own entries, what is written -> what is meant with a bar between several meanings, go
        before the table's; shorthand of the trade in what is meant is written out. What is written
        in several words is a name of something measured.

        Raises
        ------
        InvalidField
            If an entry is no word, nothing is meant by it, or several things by a name.
        """
        return _with_own(tuple((extra or {}).items()))

    def tokens(self, text: str) -> list[str]:
        """Words of a text in their order, in lower case, shorthand written out, repetitions kept.

        Codes ("b1234-13"), numbers with their unit ("12.4v") and slash forms that are not in the
        table ("n/a") stay whole. Nothing is left out as too common: *no*, *not* and *ok* are what
        tells one complaint from another.
        """
        known = self.shorthand.get
        words: list[str] = []
        for token in self._said(_TOKEN.findall(_even(text))):
            meant = token if isinstance(token, tuple) else known(token)
            if meant:
                words.extend(meant)
            elif "/" in token or "+" in token:
                words.extend(self._slash_form(str(token)))
            else:
                words.append(str(token))
        return words

    def _said(self, tokens: list[str]) -> Iterable[str | tuple[str, ...]]:
        """Put the words meant in place of several words of another language."""
        if self.sayings.keys().isdisjoint(tokens):
            return tokens
        if _begin_sayings(self).isdisjoint(pairwise(tokens)):
            return tokens
        begun = (self.sayings.get(token, {}) for token in set(tokens))
        return known_phrases(
            tokens, {words: meant for each in begun for words, meant in each.items()}
        )

    def _slash_form(self, token: str) -> list[str]:
        """Keep ``n/a`` and ``5g/s`` whole; part ``abs/esp`` and ``lf/rf``."""
        sides = re.split("[/+]", token)
        whole = token[0].isdigit() or all(len(side) <= 2 for side in sides)
        if whole and not all(side in self.shorthand for side in sides):
            return [token]
        return [word for side in sides for word in self.shorthand.get(side, (side,))]


@lru_cache(maxsize=_WORDINGS)
def _begin_sayings(wording: Wording) -> frozenset[tuple[str, ...]]:
    """Return the first two words of every saying."""
    return frozenset(words[:2] for each in wording.sayings.values() for words in each)


@lru_cache(maxsize=_WORDINGS)
def _with_own(extra: tuple[tuple[str, str], ...]) -> Wording:
    trade = Wording(_table(), sayings=_sayings())
    own, phrases = {}, {}
    for written, meant in extra:
        if is_phrase(written):
            name, item = phrase(written, meant)
            phrases[name] = item
        else:
            short, words = entry(written, meant)
            own[short] = tuple(trade.tokens(" ".join(words)))
    return Wording({**trade.shorthand, **own}, phrases, trade.sayings)


@cache
def trade_shorthand() -> Mapping[str, str]:
    """Read the trade's table, once: what is written -> what is meant, as the file puts it."""
    return dict(_entries(SHORTHAND_FILE))


@cache
def words_of_languages() -> Mapping[str, str]:
    """Read the words of other languages, once: what is written -> what is meant."""
    return {
        written: meant
        for file in sorted(LANGUAGES.glob("*.txt"))
        for written, meant in _entries(file)
    }


def _entries(file: Path) -> Iterator[tuple[str, str]]:
    lines = file.read_text(encoding="utf-8").splitlines()
    pairs = (line.partition(" = ") for line in lines if line and line[0] != "#")
    return ((written, meant) for written, _, meant in pairs)


def entry(written: str, meant: str) -> tuple[str, tuple[str, ...]]:
    """One entry of a shorthand table, evened out and checked.

    It is one word or slash form, as it is looked up, and the words of all its meanings, each once;
    a bar stands between several meanings.

    Raises
    ------
    InvalidField
        If `written` is no single word, or nothing is meant by it.

    Examples
    --------
    >>> entry("Cond.", "condenser | condition")
    ('cond', ('condenser', 'condition'))
    """
    tokens = _TOKEN.findall(_even(written))
    if len(tokens) != 1:
        raise InvalidField("word", written, "must be one word or slash form, such as w/s")
    words = tuple(dict.fromkeys(_TOKEN.findall(_even(meant))))
    if not words:
        raise InvalidField("meaning", meant, "says nothing; write out what is meant")
    return tokens[0], words


def is_phrase(written: str) -> bool:
    """Whether an entry is written in several words: then it names something measured."""
    return len(written.split()) > 1


def phrase(written: str, meant: str) -> tuple[str, str]:
    """One name of several words for something measured, evened out and checked.

    Raises
    ------
    InvalidField
        If either says nothing, or several things are meant.

    Examples
    --------
    >>> phrase("Belt  tensioner", "pretensioner")
    ('belt tensioner', 'pretensioner')
    """
    if "|" in meant:
        raise InvalidField("meaning", meant, "says several things; a name of several words has one")
    name, item = (" ".join(_TOKEN.findall(_even(text))) for text in (written, meant))
    if not name:
        raise InvalidField("word", written, "says nothing; write a word, a slash form or a name")
    if not item:
        raise InvalidField("meaning", meant, "says nothing; write out what is meant")
    return name, item


def suggest(
    word: str, vocabulary: Iterable[str], *, limit: int = 3, least: float = LEAST_LIKENESS
) -> tuple[str, ...]:
    """Words of a vocabulary that an unknown word was probably meant to be, likeliest first.

    At most `limit`, from a Jaro-Winkler likeness of `least` on; none if the word is known, is
    shorter than four letters, or resembles nothing.

    References
    ----------
    W. E. Winkler, "String comparator metrics and enhanced decision rules in the Fellegi-Sunter
    model of record linkage", Proceedings of the Section on Survey Research Methods, American
    Statistical Association, 1990, 354-359.

    Examples
    --------
    >>> suggest("pretensoner", ["connector", "pretensioner"])
    ('pretensioner',)
    """
    from rapidfuzz import process  # noqa: PLC0415 - only a proposal needs it, not every start
    from rapidfuzz.distance import JaroWinkler  # noqa: PLC0415

    known = list(dict.fromkeys(vocabulary))
    if len(word) < SHORTEST_SUGGESTED or word in known:
        return ()
    near = process.extract(
        word,
        known,
        scorer=JaroWinkler.normalized_similarity,
        score_cutoff=least,
        limit=limit,
    )
    return tuple(choice for choice, _, _ in near)


def _even(text: str) -> str:
    if text.isascii():
        return text.lower().replace("'", "").replace("`", "")
    text = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", text).casefold())
    return text.casefold().translate(_APOSTROPHES)


@cache
def _table() -> Mapping[str, tuple[str, ...]]:
    """Return the trade's shorthand, with single words of other languages; the trade's go before."""
    trade = dict(entry(written, meant) for written, meant in trade_shorthand().items())
    return {**{words[0]: meant for words, meant in _foreign() if len(words) == 1}, **trade}


@cache
def _sayings() -> Mapping[str, Sayings]:
    table: dict[str, dict[tuple[str, ...], tuple[str, ...]]] = {}
    for words, meant in _foreign():
        if len(words) > 1:
            table.setdefault(words[0], {})[words] = meant
    return table


def bare_spellings(written: str) -> set[str]:
    """Return how a word is typed with its accents and without them.

    Examples
    --------
    >>> sorted(bare_spellings("läuft"))
    ['laeuft', 'lauft', 'läuft']
    """
    return {written, written.translate(_WITH_E), written.translate(_BARE)}


@cache
def _foreign() -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Return words of other languages, as they are spelt and as they are typed without accents."""
    found = []
    for written, meant in words_of_languages().items():
        words = tuple(_TOKEN.findall(_even(meant)))
        spellings = bare_spellings(written) - {meant}
        found += [(tuple(_TOKEN.findall(_even(spelt))), words) for spelt in sorted(spellings)]
    return found
