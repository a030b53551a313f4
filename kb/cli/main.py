"""The `kb` command: options common to all commands, and the one place where an error is shown."""

import atexit
import errno
import gc
import importlib
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from io import BufferedWriter, RawIOBase, TextIOWrapper, UnsupportedOperation
from traceback import walk_tb
from typing import Any, TextIO

import click
from click.core import ParameterSource

from kb import __version__
from kb.cli.clock import tell_once
from kb.cli.minus import words_last
from kb.cli.output import counting, plain, say
from kb.errors import InvalidField, KbError, OnlyReadablePart, StoreUnusable
from kb.settings import Settings
from kb.store.address import file_of, resolve, without_passwords
from kb.store.clock import telling

COMMANDS = {
    "causes": "kb.cli.causes:causes",
    "fixes": "kb.cli.fixes:fixes",
    "similar": "kb.cli.similar:similar",
    "search": "kb.cli.search:search",
    "reading": "kb.cli.reading:reading",
    "next-test": "kb.cli.next_test:next_test",
    "job": "kb.cli.job:job",
    "undo": "kb.cli.undo:undo",
    "code": "kb.cli.code:code",
    "vehicle": "kb.cli.vehicle:vehicle",
    "recurring": "kb.cli.recurring:recurring",
    "watch": "kb.cli.watch:watch",
    "comebacks": "kb.cli.comebacks:comebacks",
    "stock": "kb.cli.stock:stock",
    "report": "kb.cli.report:report",
    "lesson": "kb.cli.lesson:lesson",
    "evaluate": "kb.cli.evaluate:evaluate",
    "weights": "kb.cli.weights:weights",
    "import": "kb.cli.import_:import_",
    "export": "kb.cli.export:export",
    "schema": "kb.cli.schema:schema",
    "words": "kb.cli.words:words",
    "names": "kb.cli.names:names",
    "review": "kb.cli.review:review",
    "demo": "kb.cli.demo:demo",
    "init": "kb.cli.db:init",
    "db": "kb.cli.db:db",
}
"""Command name to ``module:attribute``; a module is imported when its command is wanted."""


LONGEST_NAME = 120
"""Characters of a file's name that are told."""
_ARGUMENTS = "kb.arguments"
_OF_WHAT_IS_READ = (
    ValueError,
    TypeError,
    LookupError,
    AttributeError,
    RecursionError,
    MemoryError,
)
"""What a command raises where the store holds what the program did not write."""


@dataclass(frozen=True, slots=True)
class App:
    """What every command is given: which store, who is at the keyboard, and the settings."""

    address: str
    who: str | None = None
    settings: Settings = field(default_factory=Settings)

    @property
    def hours(self) -> float:
        """How long a confirmation holds at most."""
        return self.settings.troubleshooting.confirmation_hours


class Commands(click.Group):
    """A group that imports a command when it is called for, and turns a `KbError` into a line."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Names in the order a newcomer meets them."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import the command of that name, if there is one."""
        if cmd_name not in COMMANDS:
            return None
        module, attribute = COMMANDS[cmd_name].split(":")
        command: click.Command = getattr(importlib.import_module(module), attribute)
        return command

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Take the arguments, line ends in them as one sign whatever machine they come from."""
        ctx.meta[_ARGUMENTS] = (*args,)
        told = [each.replace("\r\n", "\n") for each in args]
        with _system_refusals():  # help and version are printed here
            return super().parse_args(ctx, told)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command; of its arguments one that begins with a minus may be a line."""
        name, command, rest = super().resolve_command(ctx, args)
        return name, command, words_last(command, rest) if command else rest

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; what the user can mend becomes one line and exit code 1."""
        try:
            with _system_refusals():
                return super().invoke(ctx)
        except (KbError, *_OF_WHAT_IS_READ) as error:
            spoilt = spoilt_behind(error, ctx.obj)
            if spoilt is not None:
                return self._of_readable_part(ctx, spoilt)
            if isinstance(error, KbError):
                raise click.ClickException(_line(str(error))) from error
            raise

    def _of_readable_part(self, ctx: click.Context, spoilt: str) -> Any:
        """Ask once more, of the store without what cannot be read in it; only for what reads."""
        from kb.store.cell_repair import readable_part  # noqa: PLC0415

        refused = click.ClickException(plain(f"store: {spoilt}"))
        if file_of(ctx.obj.address) is None:  # of a server no copy is asked
            raise refused
        try:
            with readable_part(ctx.obj.address) as part:
                say(f"Note: left out: {spoilt}", err=True)
                again = self.make_context(ctx.info_name, list(ctx.meta[_ARGUMENTS]))
                again.params |= {"store": part, "demo": False}
                with again:
                    return super().invoke(again)
        except OnlyReadablePart as error:
            raise refused from error
        except KbError as error:
            raise click.ClickException(_line(str(error))) from error


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--store",
    envvar="KB_STORE",
    metavar="FILE|URL",
    help="The case store: an SQLite file or an SQLAlchemy URL.  [env: KB_STORE]",
)
@click.option(
    "--demo", is_flag=True, help="Ask the demonstration shop that comes along; it is never changed."
)
@click.option("--who", envvar="KB_WHO", metavar="INITIALS", help="Who records.  [env: KB_WHO]")
@click.version_option(__version__, prog_name="kb")
@click.pass_context
def kb(ctx: click.Context, store: str | None, demo: bool, who: str | None) -> None:
    """Ask the shop's own past jobs: what was it last time, and did that fix last.

    \b
    Examples:
      kb --demo causes "airbag lamp on after seat was moved" --code B1234-1B
      kb init
      kb job open "LR door lock dead after rain, B1234-13, motor feed 4.1 V"
      kb causes "no crank, clicks once" --reading "battery 12.1 V"
    """
    if demo and ctx.get_parameter_source("store") is ParameterSource.COMMANDLINE:
        raise click.UsageError("--demo and --store exclude each other; give one of them.")
    ctx.with_resource(telling(tell_once))
    ctx.obj = App(address=_demo() if demo else resolve(store), who=_signed(who))


def _signed(who: str | None) -> str | None:
    """Read whoever signs like every other text that is kept; plain initials need no reading."""
    if who is None or who.isalnum():
        return who
    from kb.services.signing import signature  # noqa: PLC0415

    return signature(who)


@contextmanager
def _system_refusals() -> Iterator[None]:
    """Turn what the system refuses into a line."""
    try:
        yield
    except click.UsageError as error:
        told = _line(error.format_message())
        if isinstance(error, click.NoSuchOption):
            told = f'{told} A line of words? put "--" before it.'
        raise click.UsageError(told, error.ctx) from error
    except OSError as error:
        if error.errno == errno.EPIPE:  # whoever read on has stopped; click knows
            raise
        _stop_printing(error)
        raise click.ClickException(_line(_of_system(error))) from error
    except MemoryError as error:
        raise click.ClickException(
            "system: there is not enough memory for it; close other programs and try again"
        ) from error
    except UnicodeDecodeError as error:  # of what SQLite says of a schema that is torn
        if b"database" not in error.object:
            raise
        said = error.object.decode(errors="replace")
        raise click.ClickException(
            _line(f"store: {said}; put a copy back: 'kb db restore COPY'")
        ) from error
    except UnicodeEncodeError as error:
        if error.reason != "surrogates not allowed":
            raise
        raise click.ClickException(
            "system: a name or word has a byte that is no UTF-8, and cannot be used; give another"
        ) from error
    except ValueError as error:
        if "embedded null" not in str(error):
            raise
        raise click.ClickException("system: no file has a name with a NUL sign in it") from error


def _line(text: str) -> str:
    """Return a refusal as it may be printed: nothing that a terminal obeys, and no password."""
    return plain(without_passwords(text))


def _of_system(error: OSError) -> str:
    """Say what the system refused, of which file, and what helps."""
    name = f"{str(error.filename)[:LONGEST_NAME]!r}: " if error.filename else ""
    reason = error.strerror or str(error)
    return f"system: {name}{reason}; see that there is room, that it may be read, and try again"


def _stop_printing(error: OSError) -> None:
    """Let nothing more be written to where there is no room, lest Python fail in its turn."""
    if error.filename is None:
        _drop_output()


def _may_be_spoilt(error: Exception) -> bool:
    """Whether a command may have failed by what the store holds, not by what was typed."""
    if not isinstance(error, KbError):
        return isinstance(error, _OF_WHAT_IS_READ)
    frames = (frame for frame, _ in walk_tb(error.__traceback__))
    reads_store = any(
        frame.f_globals.get("__name__", "").startswith("kb.store") for frame in frames
    )
    return isinstance(error, StoreUnusable) or (reads_store and isinstance(error, InvalidField))


def spoilt_behind(error: Exception, app: App | None) -> str | None:
    """Say which value of the store cannot be read, where a command may have failed by that."""
    if app is None or not _may_be_spoilt(error):
        return None
    from kb.store.condition import condition_of  # noqa: PLC0415  nothing is wrong with most stores

    try:
        cells = condition_of(app.address).cells
    except KbError:
        return None
    if not cells:
        return None
    first, left = cells[0], len(cells) - 1
    more = f" and {left:,} more value{'' if left == 1 else 's'}" if left else ""
    return (
        f"{first.place}: {first.raw} cannot be read ({first.reason}){more}; see 'kb db check', and "
        "mend it with 'kb db check --repair'"
    )


def _demo() -> str:
    from kb.services.demo import demo_address  # noqa: PLC0415  pulls in the importer

    with counting("Making the demonstration shop") as progress:
        return demo_address(progress)


_OBJECTS_A_SEARCH = 100_000
"""Python looks for what may be forgotten after so many new objects, as most of a command's stay."""


def run() -> None:
    """Entry point of the installed program."""
    gc.set_threshold(_OBJECTS_A_SEARCH)
    atexit.register(gc.freeze)  # all is forgotten at the end without a search
    ready_streams()
    with _printed_whole():
        kb()


@contextmanager
def _printed_whole() -> Iterator[None]:
    """See at the end that all that was printed has arrived; if not, say so, with exit code 1.

    Some file systems tell only at the close of a file that they have no room for it.
    """
    try:
        yield
    finally:
        try:
            _bring_out(sys.stdout)
        except BrokenPipeError:  # whoever read on has stopped
            _drop_output()
            sys.exit(1)
        except OSError as error:
            _drop_output()
            click.ClickException(_line(_of_system(error))).show()
            sys.exit(1)


def _bring_out(stream: TextIO) -> None:
    """Write what waits to be written, and close another handle of the same file."""
    stream.flush()
    with suppress(UnsupportedOperation, ValueError):  # no file of the system's
        os.close(os.dup(stream.fileno()))


def _drop_output() -> None:
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, PTH123


def ready_streams() -> None:
    """Have streams that can be asked and written to, whatever the program was started with.

    A closed one becomes one without an end, and a sign that the encoding lacks is printed as
    another: what is recorded must not hang on what a terminal can show. What is written without a
    buffer may be cut off where a disk gets full, without a word; a buffer goes on until all of it
    is written or refused.
    """
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, mode, encoding="utf-8"))  # noqa: SIM115, PTH123
        elif mode == "w" and isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
            if isinstance(stream.buffer, RawIOBase):
                setattr(sys, name, _buffered(stream, stream.buffer))


def _buffered(stream: TextIOWrapper, raw: RawIOBase) -> TextIOWrapper:
    """Return a stream that writes whole what is given to it, at once, as one without a buffer."""
    return TextIOWrapper(
        BufferedWriter(raw),
        encoding=stream.encoding,
        errors=stream.errors,
        line_buffering=True,
        write_through=True,
    )
