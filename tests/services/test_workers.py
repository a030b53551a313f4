"""Much work parted among processes: as one would do it, in order, and nobody left behind."""

import os
import subprocess
import sys
from collections.abc import Iterator
from multiprocessing import parent_process
from pathlib import Path
from time import sleep

import pytest

from kb.services import workers
from kb.services.workers import worked

SLOWLY = """
import time
from kb.services.workers import worked
from tests.services.test_workers import process_of
if __name__ == "__main__":
    for pid in worked(process_of, range(2), worth=1):
        print(pid, flush=True)
        time.sleep(600)
"""


def double(number: int) -> int:
    return 2 * number


def process_of(_: int) -> int:
    return os.getpid()


def at_home(number: int) -> int:
    """Return the number here; another process ends by it, as one that the system takes away."""
    if parent_process() is not None:
        os._exit(1)
    return number


def test_what_comes_out_is_in_order(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workers, "_CHUNK", 2)
    monkeypatch.setattr(workers, "_AT_ONCE", 5)
    assert list(worked(double, iter(range(13)), worth=3)) == [2 * number for number in range(13)]


def test_few_are_done_here_and_many_elsewhere() -> None:
    assert set(worked(process_of, range(2), worth=3)) == {os.getpid()}
    assert os.getpid() not in set(worked(process_of, range(3), worth=3))


def test_nothing_is_read_ahead_where_it_is_done_here() -> None:
    def told() -> Iterator[int]:
        yield from range(2)

    assert list(worked(double, told(), worth=3)) == [0, 2]


def test_what_a_process_that_is_taken_away_had_to_do_is_done_here() -> None:
    assert list(worked(at_home, range(5), worth=1)) == [0, 1, 2, 3, 4]


def test_what_goes_wrong_elsewhere_goes_wrong_here() -> None:
    with pytest.raises(ZeroDivisionError):
        list(worked((1).__floordiv__, [1, 0], worth=1))


def test_no_process_outlives_the_one_that_asked() -> None:
    with subprocess.Popen([sys.executable, "-c", SLOWLY], stdout=subprocess.PIPE) as asking:
        assert asking.stdout is not None
        other = int(asking.stdout.readline())
        asking.kill()
    while _is_there(other):
        sleep(0.05)


def _is_there(process: int) -> bool:
    try:
        told = Path(f"/proc/{process}/stat").read_text(encoding="ascii")
        return told.rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
