"""A progress bar in a real terminal: keys typed ahead of it, and Ctrl-C while it runs."""

import os
import pty
import sys
import termios
from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from select import select

import pytest

from kb.cli.output import counting


@contextmanager
def _terminal() -> Iterator[tuple[int, StringIO]]:
    """Be at a terminal: where its keys are pressed, and what standard error shows."""
    keys, screen = pty.openpty()
    mode = termios.tcgetattr(screen)
    mode[3] &= ~termios.ECHO
    termios.tcsetattr(screen, termios.TCSANOW, mode)
    shown = StringIO()
    with pytest.MonkeyPatch.context() as patch, os.fdopen(screen) as stdin:
        patch.setattr(shown, "isatty", lambda: True)
        patch.setattr(sys, "stdin", stdin)
        patch.setattr(sys, "stderr", shown)
        yield keys, shown
    os.close(keys)


def _waits(seconds: float) -> bool:
    return bool(select([sys.stdin], [], [], seconds)[0])


def _count(keys: int, *, begun: bool) -> None:
    with counting("Reading past jobs") as progress:
        if begun:
            progress(1, 2)
        os.write(keys, b"y\n")
        assert _waits(5)


def test_keys_typed_while_a_bar_ran_answer_nothing() -> None:
    with _terminal() as (keys, _):
        _count(keys, begun=True)
        assert not _waits(0.2)


def test_keys_stay_where_nothing_was_counted() -> None:
    with _terminal() as (keys, _):
        _count(keys, begun=False)
        assert _waits(5)


def _leave() -> None:
    with counting("Importing", broken_off="the jobs are stored") as progress:
        progress(1, 2)
        raise KeyboardInterrupt


def test_ctrl_c_in_a_bar_says_what_is_kept() -> None:
    with _terminal() as (_, shown):
        with pytest.raises(KeyboardInterrupt):
            _leave()
        assert "Importing: broken off; the jobs are stored." in shown.getvalue()
