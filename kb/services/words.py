"""The shop's own shorthand, on top of the trade's."""

from dataclasses import dataclass

from kb.bounds import check_text
from kb.errors import InvalidField
from kb.intake.wording import entry, is_phrase, phrase, trade_shorthand, words_of_languages
from kb.safety.job_dangers import refuse_dangerous, refuse_hiding
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

_MARKUP = frozenset("[]<>{}\\")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shorthand:
    """A shorthand and its meanings, the shop's own or the trade's."""

    short: str
    meanings: tuple[str, ...]
    is_own: bool


def list_words(address: str, *, with_trade: bool = False) -> list[Shorthand]:
    """List the shop's own shorthand in order of the alphabet, perhaps with the trade's.

    An entry of the trade is left out where the shop has a meaning of its own.
    """
    with UnitOfWork(open_store(address), read_only=True) as work:
        own = work.words.all()
    trade = {**words_of_languages(), **trade_shorthand()} if with_trade else {}
    words = [Shorthand(short=short, meanings=meant, is_own=True) for short, meant in own.items()]
    words += [
        Shorthand(short=short, meanings=tuple(meant.split(" | ")), is_own=False)
        for short, meant in trade.items()
        if short not in own
    ]
    return sorted(words, key=lambda word: word.short)


def add_word(
    address: str, short: str, meanings: tuple[str, ...], *, who: str | None = None
) -> Shorthand:
    """Set what a shorthand means; what the shop meant by it before is replaced.

    A shorthand is one word or slash form, in any case; several words name something measured. With
    several meanings all of them are read; a name has one only.

    Raises
    ------
    InvalidField
        If it holds what a terminal obeys, or markup.
    Dangerous
        If one of them tells a dangerous step, or the shorthand would hide one: the name of a tool
        or of an igniter cannot mean anything else.
    """
    for field, text in (("word", short), *(("meaning", each) for each in meanings)):
        check_text(field, text)
        if not _MARKUP.isdisjoint(text):
            raise InvalidField(field, text, "holds markup; write plain words")
    refuse_dangerous("word", short, *meanings)
    refuse_hiding(short, *meanings)
    key = _key(short, meanings)
    with UnitOfWork(open_store(address), who=who) as work:
        work.words.add(key, meanings)
        work.commit()
    return Shorthand(short=key, meanings=meanings, is_own=True)


def remove_word(address: str, short: str, *, who: str | None = None) -> None:
    """Take a shorthand of the shop out; the trade's meaning, if there is one, holds again."""
    key = _key(short, (short,))
    with UnitOfWork(open_store(address), who=who) as work:
        work.words.remove(key)
        work.commit()


def _key(short: str, meanings: tuple[str, ...]) -> str:
    check = phrase if is_phrase(short) else entry
    return check(short, " | ".join(meanings))[0]
