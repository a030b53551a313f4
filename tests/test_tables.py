"""A table says what its file says, whether it was kept or not."""

import os
import sys
from pathlib import Path

import pytest

from kb.tables import read_table


@pytest.fixture(autouse=True)
def kept_beside(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tables are kept where compiled modules are, unless somebody wants none."""
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    monkeypatch.setattr(sys, "pycache_prefix", None)


def written(path: Path, text: str, second: int) -> Path:
    path.write_text(text, encoding="utf-8")
    os.utime(path, (second, second))
    return path


def kept(path: Path) -> Path:
    (file,) = (path.parent / "__pycache__").iterdir()
    return file


def test_it_is_kept_until_the_file_changes(tmp_path: Path) -> None:
    path = written(tmp_path / "words.toml", 'words = ["ohm", "Ω"]', 1)
    assert read_table(path) == read_table(path) == {"words": ["ohm", "Ω"]}
    kept(path).write_bytes(kept(path).read_bytes().replace(b"ohm", b"mho"))
    assert read_table(path) == {"words": ["mho", "Ω"]}  # nobody reads the file again
    assert read_table(written(path, 'words = ["bar", "Ω"]', 2)) == {"words": ["bar", "Ω"]}
    assert read_table(written(path, "words = []", 2)) == {"words": []}


@pytest.mark.parametrize("content", [b"", b"garbage", b"[1, 2]", b'["a", 1, {}]'])
def test_garbage_is_not_believed(tmp_path: Path, content: bytes) -> None:
    path = written(tmp_path / "words.toml", "least = 3", 1)
    read_table(path)
    kept(path).write_bytes(content)
    assert read_table(path) == {"least": 3}


def test_where_nothing_may_be_kept_it_is_read_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = written(tmp_path / "words.toml", "least = 3", 1)
    (tmp_path / "__pycache__").write_text("in the way")
    assert read_table(path) == {"least": 3}
    (tmp_path / "__pycache__").unlink()
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert read_table(path) == {"least": 3}
    assert not (tmp_path / "__pycache__").exists()
