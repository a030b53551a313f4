"""A real terminal of 80 by 24: a command in it, what it shows, and keys."""

import fcntl
import os
import re
import select
import signal
import struct
import sys
import termios
import time
from collections.abc import Mapping
from pathlib import Path
from types import TracebackType
from typing import Self

from kb.cli.main import run
from tests.forked import STARTER

ROWS, COLUMNS = 24, 80
PATIENCE_SECONDS = 120
"""A busy machine is no failure."""
A_MOMENT, A_WHILE = 0.02, 3.0
_CONTROL = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]|\r")


def _run(screen: str, words: list[str], environment: dict[str, str]) -> None:
    """Run a command with nothing but a terminal around it, as a shell would start it."""
    os.login_tty(os.open(screen, os.O_RDWR))
    sys.stdin, sys.stdout, sys.stderr = open(0), open(1, "w"), open(2, "w")  # noqa: SIM115
    os.environ.clear()
    os.environ.update(environment)
    time.tzset()
    signal.signal(signal.SIGINT, signal.default_int_handler)  # tests in the background ignore it
    sys.argv = ["kb", *words]
    run()


class Terminal:
    """One run of `kb` in a pseudo-terminal of its own.

    As in::

        with Terminal("job", "open", store=address) as screen:
            screen.expect("Complaint")
            screen.answer("no crank")
            screen.press_ctrl_c()
        assert screen.code == 1
    """

    def __init__(
        self, *words: str, store: str, who: str | None = "BT", environment: Mapping[str, str] = {}
    ) -> None:
        self._words = ["--store", store, *words]
        self._environment = {**os.environ, "TERM": "xterm-256color", **environment}
        self._environment |= {"KB_WHO": who} if who else {}
        for name in ("COLUMNS", "LINES"):
            self._environment.pop(name, None)  # the terminal itself says
        self.shown = ""
        self._seen = 0
        self._closed = False
        self.code: int | None = None

    def __enter__(self) -> Self:
        self._screen, other_side = os.openpty()
        size = struct.pack("HHHH", ROWS, COLUMNS, 0, 0)
        fcntl.ioctl(self._screen, termios.TIOCSWINSZ, size)
        told = (os.ttyname(other_side), self._words, self._environment)
        self._child = STARTER.Process(target=_run, args=told)
        self._child.start()
        self._other_side = other_side  # held open, for it may be opened later than it is read
        return self

    def expect(self, *texts: str) -> str:
        """Wait until each text stands on the screen, in this order; what came until then."""
        start = self._seen
        for text in texts:
            while (place := self.shown.find(text, self._seen)) < 0:
                assert self._read(), f"{text!r} never came:\n{self.shown[start:]}"
            self._seen = place + len(text)
        return self.shown[start : self._seen]

    def answer(self, text: str) -> None:
        """Type a line and press Enter."""
        self._press(f"{text}\r")

    def press(self, key: str) -> None:
        """Press one key."""
        self._press(key)

    def press_ctrl_c(self) -> None:
        """Press Ctrl-C once the command waits for keys, and again where it does not heed it.

        A signal may be lost while a command begins to read, as a person at a busy machine knows.
        """
        until = time.monotonic() + PATIENCE_SECONDS
        while time.monotonic() < until:
            seen = len(self.shown)
            self._press("\x03")
            while self._read(A_WHILE):
                if self.shown[seen:].strip("^C\n "):
                    return
            if not self._child.is_alive():
                return

    def signal(self, number: int) -> None:
        """Send the command a signal once it waits for keys."""
        while not (self._sleeps() and self._sleeps()):
            pass
        assert self._child.pid is not None
        os.kill(self._child.pid, number)

    def close(self) -> None:
        """Close the window while the command waits for keys."""
        while not (self._sleeps() and self._sleeps()):
            pass
        for side in (self._other_side, self._screen):
            os.close(side)
        self._child.join()
        self._closed = True

    def _sleeps(self) -> bool:
        time.sleep(A_MOMENT)
        told = Path(f"/proc/{self._child.pid}/stat").read_text().rpartition(")")[2]
        return told.split()[0] in "SZ"

    def _press(self, keys: str) -> None:
        """Press keys once the command waits for them: what comes before that may be lost."""
        while not (self._sleeps() and self._sleeps()):
            pass
        os.write(self._screen, keys.encode())

    def _read(self, seconds: float = PATIENCE_SECONDS) -> bool:
        """Take in what the command writes; False at its end, or if nothing comes for so long."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            ready, _, _ = select.select([self._screen, self._child.sentinel], [], [], 1.0)
            if self._screen in ready:
                data = os.read(self._screen, 65536)
                self.shown += _CONTROL.sub("", data.decode(errors="replace"))
                return True
            if ready:
                return False
        return False

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if error is None and not self._closed:
            while self._read():
                pass
        for side in () if self._closed else (self._other_side, self._screen):
            os.close(side)  # hangs the command up, should it still wait
        self._child.join()
        self.code = self._child.exitcode
