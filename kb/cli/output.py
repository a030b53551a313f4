"""How results reach the terminal: one option for machines, one console for people."""

import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import Any, TypeVar

try:
    import termios
except ImportError:  # where terminals are not of that kind
    termios = None  # type: ignore[assignment]

import click
from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment

from kb.errors import UnreadableFile
from kb.files import write_whole
from kb.progress import untold
from kb.reports.json import MISLEADING, SURROGATES, to_json

LEAST_COLUMNS = 40
"""A page is laid out no narrower, whatever the surroundings say: below that tables lose words, and
at nought columns the cautions, too."""
_SIGN = "\N{REPLACEMENT CHARACTER}"
_OBEYED = dict.fromkeys({*MISLEADING, *range(0x20), *SURROGATES} - {*b"\n\t"}, _SIGN)
"""What a terminal obeys, and what has no sign; a page's colours are added later. A browser turns
words by the same marks of direction."""
_WAYS = "kb.ways"
"""Where the keys are noted that lead elsewhere than to an answer."""
Command = TypeVar("Command", bound=Callable[..., Any])


def json_option(command: Command) -> Command:
    """Add ``--json`` to a command; its function receives ``as_json``."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON for machines.")(command)


def show(
    result: object,
    render: Callable[[Any], RenderableType],
    *,
    as_json: bool,
    verbatim: bool = False,
) -> None:
    """Print a result dataclass, or a list of them, as JSON or as `render` lays it out.

    JSON that goes to a screen is masked as the page is, unless `verbatim`.
    """
    if as_json:
        people = sys.stdout.isatty() and not verbatim
        click.echo(to_json(_masked(result) if people else result))
    else:
        print_page(render(result))


def _masked(result: object) -> object:
    from kb.safety.job_words import fit_to_read  # noqa: PLC0415  a machine needs none of it

    return fit_to_read(result)


def write_page(path: Path, html: str) -> None:
    """Write a page for the browser, with a sign in place of what turns or hides words there, too.

    Raises
    ------
    UnreadableFile
        If it cannot be written there.
    """
    try:
        write_whole(path, plain(html).encode())
    except OSError as error:
        raise UnreadableFile(
            f"page: {path} cannot be written ({error.strerror}); choose another place"
        ) from error


def at_terminal() -> bool:
    """Whether somebody is there to be asked."""
    return sys.stdin.isatty()


def print_page(page: RenderableType) -> None:
    """Print a page; at a terminal a screen at a time, so that its cautions stay in sight."""
    screen, lines = console(), page_lines(page)
    if not (screen.is_terminal and at_terminal()):
        click.echo("\n".join(lines))
        return
    print_rest(lines)


def print_rest(lines: Sequence[str], below: int = 1) -> bool:
    """Print lines at a terminal, a screen at a time; any key goes on, q leaves.

    Parameters
    ----------
    below : int
        Lines that are kept free below the last ones.

    Returns
    -------
    bool
        Whether all of them were shown.
    """
    room, shown = room_above(below), max(console().height - 2, 1)
    while room is not None and len(lines) > room:
        cut = shown if len(lines) > shown else room
        click.echo("\n".join(lines[:cut]))
        lines = lines[cut:]
        if not _goes_on(len(lines)):
            return False
    click.echo("\n".join(lines))
    return True


def print_under(heading: RenderableType, lines: Sequence[str]) -> None:
    """Print lines at a terminal, a screen at a time, the heading above each."""
    above = page_lines(heading)
    room = max(console().height - 2 - len(above), 1)
    for begin in range(0, len(lines), room):
        if begin and not _goes_on(len(lines) - begin):
            return
        click.echo("\n".join([*above, *lines[begin : begin + room]]))


def _goes_on(left: int) -> bool:
    """Wait for a key before so many more lines; whether it is none that leaves."""
    click.echo(f"— {left} more line{'' if left == 1 else 's'}: any key; q leaves —", nl=False)
    forget_typed_ahead()
    key = click.getchar()
    click.echo()
    return key not in {"q", "Q"}


def room_above(below: int) -> int | None:
    """Return how many lines fit above a prompt of so many; None where no screen has an end."""
    screen = console()
    return max(screen.height - below, 1) if screen.is_terminal else None


def plain(text: str) -> str:
    """Return text with a sign in place of what a terminal would obey instead of show."""
    return text.translate(_OBEYED)


def say(text: str, *, err: bool = False) -> None:
    """Print a line, with a sign in place of what a terminal would obey."""
    click.echo(plain(text), err=err)


@contextmanager
def ways(keys: Mapping[str, Callable[[], None]]) -> Iterator[None]:
    """Let keys be typed at any question in place of an answer: what each does, then ask again."""
    meta = click.get_current_context().meta
    before = meta.get(_WAYS, {})
    meta[_WAYS] = keys
    try:
        yield
    finally:
        meta[_WAYS] = before


def prompt(question: str, *, default: str = "", err: bool = False) -> str:
    """Ask for a line; nothing but blanks is the default."""
    while True:
        text: str = click.prompt(plain(question), default=default, show_default=False, err=err)
        way = click.get_current_context().meta.get(_WAYS, {}).get(text.strip().casefold())
        if way is None:
            return text.strip() or default
        way()


def forget_typed_ahead() -> None:
    """Throw away the keys that were pressed before a question stood there to be read."""
    if termios is None or not at_terminal():
        return
    sys.stdout.flush()
    with suppress(OSError, termios.error):  # no terminal of its own to be emptied
        termios.tcflush(sys.stdin.fileno(), termios.TCIFLUSH)


def confirm(question: str, *, default: bool, err: bool = False) -> bool:
    """Ask what is to be answered with yes or no, likewise.

    Behind something else that was typed, or pasted, Enter alone is no yes; behind one wrong key it
    is. What was typed before the question stood there is no answer to it.
    """
    usual = "y" if default else "n"
    while True:
        forget_typed_ahead()
        choice = {"y": "[Y/n]", "n": "[y/N]"}.get(usual, "[y/n]")
        said = prompt(f"{question} {choice}", default=usual, err=err).casefold()
        if said in {"y", "yes", "n", "no"}:
            return said in {"y", "yes"}
        say("  That is neither y nor n.", err=err)
        if len(said) > 1:
            usual = "" if default else "n"


def page_lines(page: RenderableType) -> list[str]:
    """Lay a page out for the screen; where no terminal reads it, without blanks at line ends."""
    screen = console()
    with screen.capture() as capture:
        screen.print(page)
    lines = capture.get().splitlines()
    return lines if screen.is_terminal else [line.rstrip() for line in lines]


class PlainConsole(Console):
    """A console for the shop's words: with a sign in place of what a terminal would obey."""

    def render(
        self, renderable: RenderableType, options: ConsoleOptions | None = None
    ) -> Iterator[Segment]:
        """Lay out what is to be printed, before colours are added."""
        for segment in super().render(renderable, options):
            yield segment if segment.control else segment._replace(text=plain(segment.text))


def console(*, stderr: bool = False) -> Console:
    """Return a console that prints the shop's words as they are: no markup, no emoji codes."""
    screen = PlainConsole(stderr=stderr, markup=False, emoji=False, highlight=False)
    screen.width = max(screen.width, LEAST_COLUMNS)
    return screen


@contextmanager
def counting(
    label: str, *, broken_off: str = "nothing was stored by it"
) -> Iterator[Callable[[int, int], None]]:
    """Show a progress bar on standard error while something long is counted, at a terminal only.

    What it yields is called with how many of how many are done; the bar appears at the first call.
    Keys that were typed ahead of the bar answer no question that comes behind it.

    Parameters
    ----------
    broken_off : str
        What is told of what is kept, where somebody presses Ctrl-C meanwhile.
    """
    screen = console(stderr=True)
    update: Callable[[int, int], None] | None = None
    try:
        with ExitStack() as stack:

            def count(done: int, total: int) -> None:
                nonlocal update
                if update is None:
                    update = stack.enter_context(_bar(label, screen))
                update(done, total)

            yield count if screen.is_terminal else untold
    except KeyboardInterrupt:
        if at_terminal():
            say(f"\n{label}: broken off; {broken_off}.", err=True)
        raise
    if update is not None:
        _drop_keys()


def _drop_keys() -> None:
    """Forget the keys that wait at the terminal, if one reads them."""
    try:
        import termios  # noqa: PLC0415  not on every system
    except ImportError:
        return
    with suppress(OSError, ValueError, termios.error):
        if at_terminal():
            termios.tcflush(sys.stdin.fileno(), termios.TCIFLUSH)


@contextmanager
def _bar(label: str, screen: Console) -> Iterator[Callable[[int, int], None]]:
    from rich.progress import Progress  # noqa: PLC0415  most commands never count

    with Progress(console=screen, transient=True) as bar:
        task = bar.add_task(label, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)
