"""Much work of one kind, done by several processes where there is much of it."""

import gc
import os
import signal
from collections.abc import Callable, Iterable, Iterator
from itertools import chain, islice
from threading import Thread
from typing import TypeVar

A = TypeVar("A")
B = TypeVar("B")

_AT_ONCE = 10_000
"""So many items are held at once."""
_CHUNK = 100
"""So many items are handed over together."""
_OBJECTS_A_SEARCH = 100_000
"""Python looks for what may be forgotten after so many new objects: a tenth of the time, else."""
_MOST = 4
"""More processes hold more memory than the time is worth that they save."""


def worked(do: Callable[[A], B], items: Iterable[A], *, worth: int) -> Iterator[B]:
    """Yield what a function makes of each item, in their order, by several processes if worth it.

    From so many items on they are `worth` it, as each process takes seconds to know the tables.
    The function and the items are handed to other processes: they must be of a module's own, and
    what it does may not depend on what this process has changed.
    """
    rest = iter(items)
    first = list(islice(rest, worth))
    if len(first) < worth:
        yield from map(do, first)
        return
    from concurrent.futures import ProcessPoolExecutor  # noqa: PLC0415  many items only
    from concurrent.futures.process import BrokenProcessPool  # noqa: PLC0415
    from multiprocessing import get_context  # noqa: PLC0415

    most = min(os.cpu_count() or 1, _MOST)
    with ProcessPoolExecutor(most, get_context("spawn"), initializer=_begin) as pool:
        every = chain(first, rest)
        while batch := list(islice(every, _AT_ONCE)):
            done = 0
            try:
                for each in pool.map(do, batch, chunksize=_CHUNK):
                    yield each
                    done += 1
            except BrokenProcessPool:  # the system took one away: the rest is done here
                yield from map(do, batch[done:])


def _begin() -> None:
    """Leave Ctrl-C to the process that asked, and end when that is no more.

    What the tables were made into stays: it is not looked through for what may be forgotten.
    """
    gc.set_threshold(_OBJECTS_A_SEARCH)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    from multiprocessing import parent_process  # noqa: PLC0415  in a process of its own

    if parent := parent_process():
        parent.join()
        os._exit(1)
