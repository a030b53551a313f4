"""Values and lines that begin with a minus are words, and no options; none of them is changed."""

from collections.abc import Container, Iterable, Sequence
from itertools import islice

import click

from kb.patterns import compiled

_MINUS = compiled(r"-(?![A-Za-z-]|\Z)")
"""Begins what is no option: a minus and no letter."""
_END = "--"
"""Behind this, all are words (POSIX, utility syntax guideline 10)."""


def words_last(command: click.Command, args: Sequence[str]) -> list[str]:
    """Return the arguments of a command with its options first, where a word begins with a minus.

    Else they stay in their order. Of a group the command in it is looked for; one that takes words
    in place of its name is given that of its command for lines.

    Examples
    --------
    >>> words_last(click.Command("add", params=[click.Option(["--yes", "-y"], is_flag=True)]),
    ...            ["12", "-0.4 V", "-y"])
    ['-y', '--', '12', '-0.4 V']
    """
    if isinstance(command, click.Group):
        return _in_group(command, args)
    options, words = _parted(command, args)
    if not any(map(_MINUS.match, words)):
        return [*args]
    return [*options, _END, *words]


def _in_group(group: click.Group, args: Sequence[str]) -> list[str]:
    if args and args[0] in group.commands:
        return [args[0], *words_last(group.commands[args[0]], args[1:])]
    line = group.commands.get("line")
    if line is None or not any(map(_MINUS.match, args)):
        return [*args]
    return ["line", *words_last(line, args)]


def _parted(command: click.Command, args: Iterable[str]) -> tuple[list[str], list[str]]:
    """Part the options of a command, with their values, from its words."""
    takes_value = _with_values(command)
    options, words, left = list[str](), list[str](), iter(args)
    for each in left:
        if each == _END:
            words += left
        elif each.startswith("-") and each != "-" and not _MINUS.match(each):
            options.append(each)
            if _is_followed(each, takes_value):
                options += islice(left, 1)
        else:
            words.append(each)
    return options, words


def _is_followed(option: str, takes_value: Container[str]) -> bool:
    """Whether the next argument is an option's value; short ones may stand together, as ``-yn``."""
    if option.startswith("--"):
        return option in takes_value
    first = next((at for at, sign in enumerate(option[1:], 1) if f"-{sign}" in takes_value), None)
    return first == len(option) - 1


def _with_values(command: click.Command) -> set[str]:
    """Names of a command's options that take a value."""
    options = (each for each in command.params if isinstance(each, click.Option))
    return {name for each in options if not (each.is_flag or each.count) for name in each.opts}
