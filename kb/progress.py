"""How long work tells how far it is."""

from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

T = TypeVar("T")
Progress = Callable[[int, int], None]
"""Called with how many of how many steps are done."""


def untold(done: int, total: int) -> None:
    """Tell nobody."""


def counted(items: Iterable[T], total: int, progress: Progress | None) -> Iterator[T]:
    """Yield items, telling after each how many of so many are done."""
    for done, item in enumerate(items, start=1):
        yield item
        if progress is not None:
            progress(done, total)
