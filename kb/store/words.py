"""The shop's own words, as stored."""

from collections.abc import Iterable

from sqlalchemy import delete, select

from kb.bounds import check_text
from kb.case import even
from kb.errors import InvalidField
from kb.store.changes import Recording
from kb.store.tables import WORDS


class Words(Recording):
    """Short forms of the shop and what they stand for; case of a short form does not count."""

    def all(self) -> dict[str, tuple[str, ...]]:
        """Every short form with its expansions, in order of the alphabet."""
        rows = self._connection.execute(select(WORDS.c.short, WORDS.c.expansions))
        words = {row.short: tuple(row.expansions) for row in rows}
        return dict(sorted(words.items()))

    def add(self, short: str, expansions: Iterable[str]) -> None:
        """Set what a short form stands for; what it stood for before is replaced.

        Raises
        ------
        InvalidField
            If the short form or an expansion is empty or cannot be stored.
        """
        key, meanings = _key(short), [text.strip() for text in expansions]
        for text in meanings:
            check_text("expansion", text)
        if not meanings or not all(meanings):
            raise InvalidField("expansion", meanings, "is empty; say what the word stands for")
        before = self._taken_out(key)
        self._transaction.put(WORDS, [{"short": key, "expansions": meanings}])
        if before != meanings:
            self._changes.note(None, f"words.{key}", before, meanings)

    def remove(self, short: str) -> None:
        """Take a short form out.

        Raises
        ------
        InvalidField
            If the shop has no such word.
        """
        key = _key(short)
        before = self._taken_out(key)
        if before is None:
            raise InvalidField("word", short, "is none of the shop's own words")
        self._changes.note(None, f"words.{key}", before)

    def _taken_out(self, key: str) -> list[str] | None:
        """Delete a short form; what it stood for, None if there was none."""
        same = WORDS.c.short == key
        before = self._connection.scalar(select(WORDS.c.expansions).where(same))
        self._connection.execute(delete(WORDS).where(same))
        return before


def _key(short: str) -> str:
    key = even(short)
    check_text("word", key)
    if not 0 < len(key) <= 100:
        raise InvalidField("word", short, "must have 1 to 100 characters")
    return key
