"""A file that is written as a whole is there whole, or as it was before."""

from pathlib import Path

import pytest

from kb.files import replacing, write_whole


def test_what_was_written_takes_the_place_of_what_stood_there(tmp_path: Path) -> None:
    path = tmp_path / "weights.json"
    write_whole(path, b"first")
    write_whole(path, b"second")
    assert path.read_bytes() == b"second"
    assert list(tmp_path.iterdir()) == [path]


def test_what_stood_there_stays_until_the_new_one_is_whole(tmp_path: Path) -> None:
    path = tmp_path / "jobs.jsonl"
    path.write_bytes(b"first")
    with replacing(path) as part:
        part.write_bytes(b"sec")
        assert path.read_bytes() == b"first"
        part.write_bytes(b"second")
    assert path.read_bytes() == b"second"


def test_a_failure_leaves_what_stood_there_and_no_part(tmp_path: Path) -> None:
    path = tmp_path / "jobs.jsonl"
    path.write_bytes(b"first")
    with pytest.raises(TypeError), replacing(path) as part:
        part.write_bytes("no bytes")  # type: ignore[arg-type]
    assert path.read_bytes() == b"first"
    assert list(tmp_path.iterdir()) == [path]


def test_two_writers_do_not_meet_in_one_part(tmp_path: Path) -> None:
    path = tmp_path / "jobs.jsonl"
    with replacing(path) as one, replacing(path) as other:
        one.write_bytes(b"one")
        other.write_bytes(b"other")
    assert path.read_bytes() == b"one"
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_is_missing_is_an_error_of_the_system(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        write_whole(tmp_path / "nowhere" / "weights.json", b"{}")
