"""One name, one thing, and one way to ask."""

import ast
from collections import defaultdict
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


def test_a_complaint_is_asked_of_the_past_in_one_place() -> None:
    """Learning alone recalls by itself: it hides causes and does without the ranking."""
    askers = {
        path.relative_to(KB).as_posix()
        for path in KB.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
        if (node.module, alias.name)
        in {("kb.recall.recall", "recall"), ("kb.diagnosis.causes", "rank")}
    }
    assert askers == {"diagnosis/diagnose.py", "evaluation/learning.py"}
