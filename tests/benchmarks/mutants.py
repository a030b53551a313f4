"""How many small faults in a module its tests notice.

``python tests/benchmarks/mutants.py kb/statistics/beta.py`` changes one place of the module at a
time: a comparison, an operation, a number, a condition. It runs the module's tests on each of a
sample, in a process of its own, and prints the share that was caught and the places where none was.
Nothing is written: the changed module is handed to the process that imports it. A change that makes
no difference cannot be caught, so the places have to be looked at.

``--tests`` names other tests than those of the mirrored file, ``--sample`` how many changes are
tried, ``--seed`` draws others.
"""

import argparse
import ast
import copy
import importlib.abc
import importlib.util
import os
import random
import resource
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from functools import partial
from importlib import import_module
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple

import pytest

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_SECONDS = 120
"""Of the processor's time: a change that makes the tests run on for ever is noticed, too."""
OTHERWISE: dict[type[ast.AST], type[Any]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.And: ast.Or,
    ast.Or: ast.And,
}
ALL_IMPORT = ("numpy", "scipy.stats", "scipy.special", "hypothesis", "sqlalchemy.dialects.sqlite")
"""What tests import besides the program, and is imported once."""


class Mutant(NamedTuple):
    """A changed module: where, what stood there, and what stands there now."""

    line: int
    before: str
    after: str
    tree: ast.Module


def mutants(source: str) -> Iterator[Mutant]:
    """Yield every change of one place."""
    tree = ast.parse(source)
    for place, node in enumerate(ast.walk(tree)):
        for turn in range(len(_changed(node))):
            other = copy.deepcopy(tree)
            there = next(each for at, each in enumerate(ast.walk(other)) if at == place)
            before = ast.unparse(there)
            _changed(there)[turn]()
            yield Mutant(getattr(there, "lineno", 0), before, ast.unparse(there), other)


def _changed(node: ast.AST) -> list[Callable[[], None]]:
    """Return what changes a node in place, once for each way."""
    match node:
        case ast.Compare(ops=ops):
            return [
                partial(_turn, ops, at) for at, each in enumerate(ops) if type(each) in OTHERWISE
            ]
        case ast.BinOp(op=op) | ast.BoolOp(op=op) | ast.AugAssign(op=op) if type(op) in OTHERWISE:
            return [partial(setattr, node, "op", OTHERWISE[type(op)]())]
        case ast.Constant(value=bool(value)):
            return [partial(setattr, node, "value", not value)]
        case ast.Constant(value=int(value) | float(value)):
            return [partial(setattr, node, "value", value + 1)]
        case ast.If() | ast.IfExp() | ast.While():
            return [partial(setattr, node, "test", ast.UnaryOp(ast.Not(), node.test))]
    return []


def _turn(signs: list[ast.cmpop], at: int) -> None:
    signs[at] = OTHERWISE[type(signs[at])]()


class Handed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives the changed module to whoever imports it."""

    def __init__(self, name: str, path: Path, tree: ast.Module) -> None:
        self._name, self._path = name, path
        self._code = compile(ast.fix_missing_locations(tree), str(path), "exec")

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """Find the one module."""
        if fullname != self._name:
            return None
        return importlib.util.spec_from_file_location(fullname, self._path, loader=self)

    def exec_module(self, module: ModuleType) -> None:
        """Run what it was changed to."""
        exec(self._code, module.__dict__)


def is_caught(module: str, path: Path, tree: ast.Module, tests: Sequence[str]) -> bool:
    """Run the tests on a changed module in a process of its own, and tell whether one fails."""
    child = os.fork()
    if not child:
        ended = 1
        with suppress(BaseException):
            resource.setrlimit(resource.RLIMIT_CPU, (PATIENCE_SECONDS, PATIENCE_SECONDS))
            sys.meta_path.insert(0, Handed(module, path, tree))
            with Path(os.devnull).open("w") as nowhere:
                os.dup2(nowhere.fileno(), 1)
                os.dup2(nowhere.fileno(), 2)
                given = ["-x", "-q", "-n", "0", "-p", "no:cacheprovider", *tests]
                ended = int(pytest.main(given))
        os._exit(ended)
    return os.waitpid(child, 0)[1] != 0


def main() -> None:
    """Print what was caught."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("module", type=Path)
    parser.add_argument("--tests", nargs="*")
    parser.add_argument("--sample", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    told = parser.parse_args()
    path: Path = told.module.resolve()
    inside = path.relative_to(ROOT)
    mirrored = ROOT / "tests" / Path(*inside.parts[1:]).with_name(f"test_{path.name}")
    tests: list[str] = told.tests or [str(mirrored)]
    for name in ALL_IMPORT:
        import_module(name)
    os.environ["CI"] = "1"  # the same examples for all, so that only the change tells
    module = ".".join(inside.with_suffix("").parts)
    every = list(mutants(path.read_text(encoding="utf-8")))
    assert not is_caught(module, path, ast.parse(path.read_text("utf-8")), tests), "fails as it is"
    some = random.Random(told.seed).sample(every, min(told.sample, len(every)))
    missed = [each for each in some if not is_caught(module, path, each.tree, tests)]
    for each in sorted(missed, key=lambda each: each.line):
        print(f"{inside}:{each.line}: not caught: {each.before!r} -> {each.after!r}")
    share = 1 - len(missed) / len(some)
    print(f"{inside}: {share:.0%} of {len(some)} changes caught ({len(every)} there are)")


if __name__ == "__main__":
    main()
