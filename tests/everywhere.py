"""The one table of calls of every command, with words of one's choice.

For what must hold wherever somebody looks: a new command goes in here, and is tried everywhere.
"""

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import click

from kb.cli.main import kb

READING = "reading", "seat connector 2.2 ohm"


def _leaves(
    command: click.Command = kb, path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Yield every command that has none below it, with its name in parts."""
    if not isinstance(command, click.Group):
        yield path, command
        return
    context = click.Context(command)
    for name in command.list_commands(context):
        below = command.get_command(context, name)
        assert below is not None
        yield from _leaves(below, (*path, name))


@cache
def commands() -> dict[tuple[str, ...], click.Command]:
    """Every command by its name in parts."""
    return dict(_leaves())


def takes_json(call: tuple[str, ...]) -> bool:
    """Whether the command of a call can print JSON."""
    return any("--json" in each.opts for each in commands()[named(call)].params)


def questions(word: str, job: int, closed: int, folder: Path) -> list[tuple[str, ...]]:
    """Calls that change nothing in the store; some write a page into the folder."""
    n, c = str(job), str(closed)
    return [
        ("causes", word),
        ("causes", "--job", n, "--detail"),
        ("causes", "airbag lamp on after seat moved", "--vehicle", word, "--detail"),
        ("fixes", word),
        ("fixes", "--job", c, "--detail", "--force", "--page", str(folder / "fixes.html")),
        ("similar", word),
        ("similar", "--job", n),
        ("search", word),
        ("search", "", "--vehicle", word, "--part", word, "--technician", word),
        ("search", "", "--since", "2020-01-01"),
        ("reading", word),
        (*READING, "--detail"),
        (*READING, "--job", n),
        ("next-test", n, "--detail"),
        ("job", "history", n),
        ("job", "history", c),
        ("job", "list"),
        ("job", "list", "--vehicle", word),
        ("job", "list", "--system", word),
        ("job", "show", n),
        ("job", "show", c, "--verbatim"),
        ("job", "show", word),
        ("job", "follow-up", "--list"),
        ("job", "work", n),
        ("undo", "--list"),
        ("code", "B1234", "--detail"),
        ("code", word),
        ("vehicle", "list"),
        ("vehicle", "show", word),
        ("vehicle", "show", "Corvane Lido"),
        ("recurring", "--detail"),
        ("review", "--health"),
        ("recurring", "--system", word),
        ("recurring", "--csv"),
        ("comebacks", "--detail"),
        ("comebacks", "--by", "cause", "--detail"),
        ("comebacks", "--by", "model"),
        ("stock", "--detail"),
        ("report", "--force", str(folder / "report.html")),
        ("lesson", "restraints", "--detail"),
        ("lesson", word),
        ("evaluate", "--baselines", "--force", "--page", str(folder / "evaluate.html")),
        ("weights",),
        ("export",),
        ("export", "--format", "csv"),
        ("export", "--raw"),
        ("export", "--system", word),
        ("schema",),
        ("words", "list", "--all"),
        ("names", "list"),
        ("names", "propose"),
        ("demo", "copy", str(folder)),
        ("demo", "reset"),
        ("init",),
        ("db", "check"),
        ("db", "status"),
    ]


def changes(word: str, job: int, closed: int, folder: Path) -> list[tuple[str, ...]]:
    """Calls that change the store, or what is kept beside it."""
    n, c = str(job), str(closed)
    given = folder / "given.jsonl"
    return [
        ("watch",),
        ("watch", "--follow", word),
        ("watch", "--list"),
        ("next-test", n, "--did", word, "--saw", word, "--yes"),
        ("job", "add", "attempt", n, word, "--verified", word, "--supposed", word, "--yes"),
        ("job", "add", "attempt", n, f"replaced {word}", "--part-maker", word, "--yes"),
        ("job", "add", "attempt", n, f"repaired {word}", "--yes"),
        ("job", "add", "code", n, word, "--yes"),
        ("job", "add", "code", n, "B1310", "--yes"),
        ("job", "add", "contact", c, "held", "--words", word, "--yes"),
        ("job", "add", "contact", c, word, "--yes"),
        ("job", "add", "line", n, word, "--yes"),
        ("job", "add", "reading", n, word, "--condition", word, "--yes"),
        ("job", "add", "reading", n, "battery 12.4 V", "--condition", word, "--yes"),
        ("job", "add", "test", n, word, "--points-to", word, "--clears", word, "--yes"),
        ("job", "add", "test", n, f"visual check: {word}", "--points-to", word, "--yes"),
        ("job", "circuit", n, "--yes"),
        ("job", "circuit", n, f"airbag ECU, {word}, pretensioner", "--yes"),
        ("job", "edit", n, "--set", f"notes={word}", "--yes"),
        ("job", "edit", n, "--set", f"{word}={word}", "--yes"),
        ("job", "remove", n, word, "--yes"),
        ("job", "remove", n, "1", "--yes"),
        ("job", "open", word, "--vehicle", word, "--technician", word, "--yes"),
        ("job", "open", "no crank", "--vehicle", "2014 Bramwick Dray", "--yes"),
        ("job", "use", n),
        ("job", "use", word),
        ("job", "follow-up", c, "held", "--yes"),
        ("job", "close", n, word, "--proved-by", word, "--yes"),
        ("job", "close", n, "seat connector, open", "--yes"),
        ("job", "reopen", n, "--yes"),
        ("job", "reopen", c, "--yes"),
        ("job", "void", n, "--why", word, "--yes"),
        ("job", "void", n, "--back", "--yes"),
        ("undo", "1", "--yes"),
        ("undo", word, "--yes"),
        ("vehicle", "add", "Corvane", word, "--generation", word, "--platform", word),
        ("vehicle", "remove", "Corvane", word, "--generation", word),
        ("words", "add", "zz", word),
        ("words", "remove", word),
        ("names", "join", word, "seat connector"),
        ("names", "part", word),
        ("weights", "--learn"),
        ("import", str(given), "--dry-run"),
        ("import", str(given), "--force"),
        ("import", str(folder / word[:20].replace("/", "_"))),
        ("db", "backup"),
        ("db", "erase", word, "--confirm", "99999"),
        ("db", "reindex"),
        ("db", "roles"),
        ("db", "restore", str(folder / "none.sqlite")),
        ("db", "upgrade"),
    ]


def every_call(
    word: str, job: int, closed: int, folder: Path
) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    """All calls of the table, each with the name of its command in parts."""
    calls = (*questions(word, job, closed, folder), *changes(word, job, closed, folder))
    return tuple((named(call), call) for call in calls)


def named(call: tuple[str, ...]) -> tuple[str, ...]:
    """Name in parts of the command that is called."""
    return max((path for path in commands() if call[: len(path)] == path), key=len)
