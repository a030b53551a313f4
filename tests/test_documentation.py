"""What the program says of itself is complete: help texts, README, contributor guide."""

import importlib
import inspect
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import click
import pytest
from click.testing import CliRunner

from kb.cli.main import kb

TOP = Path(__file__).parents[1]
README = (TOP / "README.md").read_text(encoding="utf-8")
GUIDE = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")


def commands(group: click.Group = kb, path: str = "kb") -> Iterator[tuple[str, click.Command]]:
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        if isinstance(command, click.Group):
            yield from commands(command, f"{path} {name}")
        else:
            yield f"{path} {name}", command


ALL = dict(commands())


@pytest.mark.parametrize("path", ALL)
def test_every_command_has_help_with_an_example(path: str) -> None:
    text = ALL[path].help or ""
    assert re.search(rf"^\s*{path}\b", text, re.MULTILINE), f"no example of {path} in its help"


@pytest.mark.parametrize("path", ALL)
def test_every_option_is_explained(path: str) -> None:
    silent = [
        parameter.name
        for parameter in ALL[path].params
        if isinstance(parameter, click.Option) and not parameter.help
    ]
    assert silent == []


@pytest.mark.parametrize("path", ALL)
def test_every_command_stands_in_the_readme(path: str) -> None:
    assert path in README


def test_every_room_stands_in_both_maps() -> None:
    rooms = [each.name for each in (TOP / "kb").iterdir() if (each / "__init__.py").exists()]
    for room in rooms:
        assert f"{room}/" in README
        assert f"kb/{room}" in GUIDE


def walk() -> list[str]:
    """Dotted names of the guide's walk through a question, in its order."""
    start = GUIDE.index("### find your way through a question")
    return re.findall(r"`(kb\.[a-z_.]+\.[A-Za-z_]+)`", GUIDE[start : GUIDE.index("###", start + 4)])


def code_of(name: str) -> CodeType:
    """The code of a dotted name's function; of a command, of what it calls."""
    module, attribute = name.rsplit(".", 1)
    found = getattr(importlib.import_module(module), attribute)
    called: Any = found.callback if isinstance(found, click.Command) else found
    called = inspect.unwrap(called)
    assert inspect.isfunction(called), name
    return called.__code__


def first_calls(names: Iterable[str], asked: Callable[[], object]) -> list[str]:
    """Those of the functions that are called, in the order of their first calls."""
    codes = {code_of(name): name for name in names}
    called: dict[str, None] = {}

    def note(frame: FrameType, event: str, _: object) -> None:
        if event == "call" and frame.f_code in codes:
            called.setdefault(codes[frame.f_code])

    sys.setprofile(note)
    try:
        asked()
    finally:
        sys.setprofile(None)
    return list(called)


def test_a_question_walks_the_way_that_the_guide_says(demo_store: str) -> None:
    question = ["--store", demo_store, "causes", "airbag lamp on after seat was moved"]
    names = walk()
    assert len(names) == len(set(names)) > 10
    assert first_calls(names, lambda: CliRunner().invoke(kb, question)) == names


def test_the_walk_goes_down_the_house() -> None:
    rooms = list(dict.fromkeys(name.split(".")[1] for name in walk()))
    assert rooms == ["cli", "services", "intake", "diagnosis", "recall", "rates", "reports"]


def test_the_top_level_holds_nothing_else() -> None:
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "kb",
        "migrations",
        "tests",
        "seed_cases",
    }
    built = {"dist", "build"}
    found = {each.name for each in TOP.iterdir() if not each.name.startswith(".")}
    assert found - built == allowed
