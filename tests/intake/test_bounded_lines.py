"""A line longer than any job is refused by its number, and never held as a whole."""

import tracemalloc
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import KbError, UnreadableFile
from kb.intake import files, sheets
from kb.intake.files import LONGEST_LINE, Line, load_toml, read_json_lines
from kb.intake.sheets import read_csv
from kb.services.exchange import import_file

ALMOST = "x" * (LONGEST_LINE - 100)
JOB = '{"opened": "2026-01-01", "complaint": "%s"}'
ROW = "2026-01-01,%s"
HEAD = "opened,complaint\n"


def read(path: Path) -> Iterator[Line]:
    return read_csv(path) if path.suffix == ".csv" else read_json_lines(path)


def written(folder: Path, name: str, complaints: list[str]) -> Path:
    path, form = folder / name, ROW if name.endswith("csv") else JOB
    head = HEAD if name.endswith("csv") else ""
    path.write_text(head + "".join(form % each + "\n" for each in complaints))
    return path


@pytest.mark.parametrize("name", ["jobs.jsonl", "jobs.csv"])
def test_just_over_is_refused_and_the_others_are_read(tmp_path: Path, name: str) -> None:
    path = written(tmp_path, name, ["one", ALMOST, "x" * (LONGEST_LINE + 1), "four"])
    first = 2 if name.endswith("csv") else 1
    found = list(read(path))
    assert [line for line, _ in found] == [first, first + 1, first + 2, first + 3]
    assert [isinstance(each, KbError) for _, each in found] == [False, False, True, False]
    assert "is longer than 10,000,000 characters" in str(found[2][1])


@pytest.mark.parametrize("name", ["jobs.jsonl", "jobs.csv"])
def test_a_line_far_over_is_not_held(tmp_path: Path, name: str, empty_store: str) -> None:
    """Allocations are counted, which no busy machine changes."""
    times = 8
    path = written(tmp_path, name, ["x" * (times * LONGEST_LINE), "good"])
    rejects = tmp_path / "rejects.jsonl"
    tracemalloc.start()
    done = import_file(empty_store, path, rejects=rejects)
    held = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert (done.added, len(done.rejects)) == (1, 1)
    assert rejects.stat().st_size < 100_000
    assert held < times * LONGEST_LINE / 2


def test_a_quote_that_never_closes_holds_no_more_than_a_row_may_have(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sheets, "LONGEST_LINE", 1_000)
    path = tmp_path / "jobs.csv"
    path.write_text(HEAD + '2026-01-01,"open\n' + "2026-01-01,good\n" * 500)
    found = list(read_csv(path))
    assert [isinstance(each, KbError) for _, each in found] == [True, *[False] * 500]
    assert "never closes" in str(found[0][1])


@given(st.lists(st.text("ab\r\n,", max_size=30), max_size=8))
def test_short_lines_are_those_of_the_file(tmp_path: Path, texts: list[str]) -> None:
    path = tmp_path / "lines.txt"
    path.write_bytes("".join(texts).encode())
    for newline in (None, ""):
        with path.open(newline=newline) as file, path.open(newline=newline) as again:
            expected = [(number, line, True) for number, line in enumerate(file, 1)]
            assert list(files.bounded_lines(again)) == expected


def test_a_file_in_toml_is_read_as_a_whole_and_so_bounded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "LARGEST_TOML", 1_000)
    path = tmp_path / "jobs.toml"
    path.write_text("# " + "x" * 998)
    assert load_toml(path) == {}
    path.write_text("# " + "x" * 999)
    with pytest.raises(UnreadableFile, match="write so many jobs as JSON Lines"):
        load_toml(path)


@pytest.mark.parametrize("place", [0, 1, 2])
def test_a_byte_that_is_no_text_is_found_in_its_line(tmp_path: Path, place: int) -> None:
    """Also behind a line that is read in pieces, with a sign across two of them."""
    lines = [b"a\n", b"x" * ((1 << 20) - 1) + "é".encode() + b"\n", b"c\n"]
    lines[place] = lines[place][:-1] + b"\xff\x81\n"
    path = tmp_path / "jobs.jsonl"
    path.write_bytes(b"".join(lines).replace(b"\x81", b"\xc4"))
    with pytest.raises(UnreadableFile, match=f"line {place + 1} holds a byte"):
        files.encoding_of(path)
