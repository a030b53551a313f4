"""A real terminal of 80 by 24: a command in it, what it shows, and keys."""

import fcntl
import os
import pty
import re
import select
import struct
import sys
import termios
import time
from collections.abc import Mapping
from types import TracebackType
from typing import Self

ROWS, COLUMNS = 24, 80
PATIENCE_SECONDS = 120
"""A busy machine is no failure."""
A_MOMENT = 0.5
_CONTROL = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]|\r")
_START = "import sys; from kb.cli.main import run; sys.argv[0] = 'kb'; run()"


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
        self._command = [sys.executable, "-c", _START, "--store", store, *words]
        self._environment = {**os.environ, "TERM": "xterm-256color", **environment}
        self._environment |= {"KB_WHO": who} if who else {}
        for name in ("COLUMNS", "LINES"):
            self._environment.pop(name, None)  # the terminal itself says
        self.shown = ""
        self._seen = 0
        self.code: int | None = None

    def __enter__(self) -> Self:
        self._child, self._screen = pty.fork()
        if not self._child:
            os.execve(sys.executable, self._command, self._environment)
        size = struct.pack("HHHH", ROWS, COLUMNS, 0, 0)
        fcntl.ioctl(self._screen, termios.TIOCSWINSZ, size)
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
        """Press Ctrl-C, a moment after the question: a signal before it is read would be lost."""
        time.sleep(A_MOMENT)
        self._press("\x03")

    def _press(self, keys: str) -> None:
        os.write(self._screen, keys.encode())

    def _read(self) -> bool:
        """Take in what the command writes; False at its end."""
        until = time.monotonic() + PATIENCE_SECONDS
        while time.monotonic() < until:
            if select.select([self._screen], [], [], 1.0)[0]:
                try:
                    data = os.read(self._screen, 65536)
                except OSError:  # how Linux tells that the other side is closed
                    return False
                self.shown += _CONTROL.sub("", data.decode(errors="replace"))
                return bool(data)
        return False

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if error is None:
            while self._read():
                pass
        os.close(self._screen)  # hangs the command up, should it still wait
        self.code = os.waitstatus_to_exitcode(os.waitpid(self._child, 0)[1])
