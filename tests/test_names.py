"""One name, one thing, and one way to ask."""

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

KB = Path(__file__).resolve().parent.parent / "kb"


def test_no_public_class_name_occurs_twice() -> None:
    found: dict[str, list[str]] = defaultdict(list)
    for path in sorted(KB.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                found[node.name].append(str(path.relative_to(KB)))
    assert found
    assert {name: places for name, places in found.items() if len(places) > 1} == {}


def test_no_imported_class_is_called_otherwise() -> None:
    """A class that goes by two names is two words for one thing."""
    renamed = [
        f"{path.relative_to(KB)}: {alias.name} as {alias.asname}"
        for path in sorted(KB.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("kb.")
        for alias in node.names
        if alias.asname and alias.name[0].isupper()
    ]
    assert renamed == []


ASKING = {"kb.recall.recall.recall", "kb.diagnosis.causes.rank"}
"""What recalls and ranks."""


def test_a_complaint_is_asked_of_the_past_in_one_place() -> None:
    """Learning recalls by itself: it hides causes and does without the ranking; speed is timed.

    Old cards are looked up beside the cases, for `diagnose`.
    """
    askers = {
        name
        for name, tree in _sources("kb", "tests/benchmarks")
        if any(used in ASKING for used in _used(tree))
    }
    assert askers == {
        "kb/diagnosis/diagnose.py",
        "kb/diagnosis/proposals.py",
        "kb/evaluation/learning.py",
        "tests/benchmarks/speed.py",
    }


def test_what_is_asked_is_put_together_in_one_place() -> None:
    """Elsewhere the day, or the cars of the same platform, would be forgotten."""
    makers = {
        name
        for name, tree in _sources("kb", "tests/benchmarks")
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] == "Query"
    }
    assert makers == {"kb/diagnosis/diagnose.py"}


def test_a_name_is_seen_however_it_is_imported() -> None:
    for source in (
        "from kb.recall.recall import recall",
        "from kb.recall.recall import recall as ask",
        "from kb.recall import recall as past\npast.recall()",
        "import kb.recall.recall\nkb.recall.recall.recall()",
        "import kb.recall.recall as past\npast.recall()",
    ):
        assert "kb.recall.recall.recall" in _used(ast.parse(source)), source
    assert not ASKING & set(_used(ast.parse("from kb.recall.recall import Recalled")))


def _sources(*folders: str) -> Iterator[tuple[str, ast.Module]]:
    for folder in folders:
        for path in sorted((KB.parent / folder).rglob("*.py")):
            name = path.relative_to(KB.parent).as_posix()
            yield name, ast.parse(path.read_text(encoding="utf-8"))


def _used(tree: ast.Module) -> Iterator[str]:
    """Yield, in full, what a module imports, and the attributes of modules it reaches for."""
    full: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            for alias in node.names:
                full[alias.asname or alias.name] = f"{node.module}.{alias.name}"
        elif isinstance(node, ast.Import):
            full |= {alias.asname: alias.name for alias in node.names if alias.asname}
    yield from full.values()
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute):
            first, _, rest = ast.unparse(node).partition(".")
            yield f"{full.get(first, first)}.{rest}"
