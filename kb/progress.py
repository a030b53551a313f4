"""How long work tells how far it is."""

from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

T = TypeVar("T")
Progress = Callable[[int, int], None]
"""Called with how many of how many steps are done."""


def in_parts(progress: Progress | None, *sizes: int) -> Iterator[Progress]:
    """Yield for each of some parts of a work, of so many steps each, what tells of the whole."""
    before, whole = 0, sum(sizes)
    for size in sizes:

        def tell(done: int, total: int, before: int = before, size: int = size) -> None:
            if progress is not None:
                progress(before + (size * done // total if total else size), whole)

        yield tell
        before += size


def untold(done: int, total: int) -> None:
    """Tell nobody."""


def counted(items: Iterable[T], total: int, progress: Progress | None) -> Iterator[T]:
    """Yield items, telling after each how many of so many are done."""
    for done, item in enumerate(items, start=1):
        yield item
        if progress is not None:
            progress(done, total)
