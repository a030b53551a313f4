"""A file that is written as a whole is there whole, or as it was before."""

import os
import time
from pathlib import Path
from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.files import (
    ABANDONED,
    LONGEST_NAME,
    MOST_BYTES,
    STOPPED,
    clear_abandoned,
    fitting,
    is_plain,
    read_whole,
    replacing,
    write_whole,
)


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


def test_another_writers_part_is_left_alone_until_it_is_old(tmp_path: Path) -> None:
    path, users = tmp_path / "some", tmp_path / "some.part"
    part = tmp_path / f"some.{uuid4().hex}.part"
    for each in (users, part):
        each.write_bytes(b"half")
    write_whole(path, b"whole")
    assert part.exists()
    old = time.time() - ABANDONED - 60
    for each in (users, part):
        os.utime(each, (old, old))
    write_whole(path, b"whole")
    assert {each.name for each in tmp_path.iterdir()} == {"some", "some.part"}


def test_a_new_file_is_its_owners_alone_and_an_older_one_keeps_its_readers(tmp_path: Path) -> None:
    path = tmp_path / "jobs.jsonl"
    write_whole(path, b"first")
    assert path.stat().st_mode & 0o777 == 0o600
    path.chmod(0o640)
    write_whole(path, b"second")
    assert path.stat().st_mode & 0o777 == 0o640


def test_what_may_be_shared_is_as_the_system_has_it(tmp_path: Path) -> None:
    (usual := tmp_path / "usual").touch()
    write_whole(tmp_path / "shared", b"", shared=True)
    assert (tmp_path / "shared").stat().st_mode == usual.stat().st_mode


def test_a_new_file_takes_no_place_also_of_one_that_came_meanwhile(tmp_path: Path) -> None:
    path = tmp_path / "copy.sqlite"
    with pytest.raises(FileExistsError), replacing(path, anew=True):
        path.write_bytes(b"theirs")
    assert path.read_bytes() == b"theirs"
    with pytest.raises(FileExistsError):
        write_whole(path, b"mine", anew=True)
    assert list(tmp_path.iterdir()) == [path]


def test_a_new_file_is_never_seen_empty_where_files_can_be_linked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "copy.sqlite"
    there: list[bool] = []

    def looking(place: Path, part: Path) -> None:
        there.append(place.exists())
        os.link(part, place)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "hardlink_to", looking)
        patch.setattr(Path, "replace", None)
        write_whole(path, b"mine", anew=True)
    assert there == [False]
    assert path.read_bytes() == b"mine"
    assert list(tmp_path.iterdir()) == [path]


def test_a_new_file_takes_its_place_also_where_files_cannot_be_linked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: Path) -> None:
        raise PermissionError

    monkeypatch.setattr(Path, "hardlink_to", refused)
    write_whole(tmp_path / "copy.sqlite", b"mine", anew=True)
    assert (tmp_path / "copy.sqlite").read_bytes() == b"mine"
    with pytest.raises(FileExistsError):
        write_whole(tmp_path / "copy.sqlite", b"other", anew=True)


def test_a_part_of_an_hour_goes_unless_a_program_holds_it(tmp_path: Path) -> None:
    def age(part: Path) -> None:
        os.utime(part, (time.time() - STOPPED - 60,) * 2)

    left = tmp_path / f"kept.json.{'0' * 32}.part"
    left.touch()
    with replacing(tmp_path / "kept.json") as part:
        part.write_bytes(b"mine")
        age(part)
        age(left)
        assert clear_abandoned(tmp_path, "kept.json") == [left]
        assert part.exists()
    assert [each.name for each in tmp_path.iterdir()] == ["kept.json"]


@pytest.mark.parametrize("kind", ["link", "broken link", "folder", "pipe"])
def test_what_is_no_plain_file_is_never_replaced(tmp_path: Path, kind: str) -> None:
    path, target = tmp_path / "path", tmp_path / "target"
    if kind == "link":
        target.write_bytes(b"theirs")
    if "link" in kind:
        path.symlink_to(target)
    elif kind == "folder":
        path.mkdir()
    else:
        os.mkfifo(path)
    before = path.lstat()
    with pytest.raises(OSError, match="no plain file"):
        write_whole(path, b"mine")
    assert not is_plain(path)
    assert path.lstat() == before
    assert len(list(tmp_path.iterdir())) == (2 if kind == "link" else 1)


def strange(path: Path, kind: str) -> None:
    """Put at a path what is no plain file."""
    if kind == "folder":
        path.mkdir()
    elif kind == "pipe":
        os.mkfifo(path)
    else:
        path.symlink_to(kind)


STRANGE = ["folder", "pipe", "/dev/full", "/dev/zero", "/none/there", "kept.json"]
"""The last two are links that lead nowhere, one of them to itself."""


@pytest.mark.parametrize("kind", STRANGE)
def test_what_can_be_made_again_takes_the_place_of_whatever_stands_there(
    tmp_path: Path, kind: str
) -> None:
    path = tmp_path / "kept.json"
    strange(path, kind)
    write_whole(path, b"mine", own=True)
    assert is_plain(path)
    assert read_whole(path) == b"mine"
    assert list(tmp_path.iterdir()) == [path]


def test_what_a_link_leads_to_and_what_lies_in_a_folder_stay(tmp_path: Path) -> None:
    theirs, link, folder = tmp_path / "theirs", tmp_path / "link", tmp_path / "folder"
    theirs.write_bytes(b"theirs")
    link.symlink_to(theirs)
    write_whole(link, b"mine", own=True)
    assert (theirs.read_bytes(), read_whole(link)) == (b"theirs", b"mine")
    folder.mkdir()
    (folder / "letter").write_bytes(b"theirs")
    with pytest.raises(OSError, match="not empty"):
        write_whole(folder, b"mine", own=True)
    assert (folder / "letter").read_bytes() == b"theirs"


def test_what_has_no_end_is_not_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "link").symlink_to(os.devnull)
    for path in (tmp_path, tmp_path / "pipe", tmp_path / "link", tmp_path / "none"):
        with pytest.raises(OSError, match=r"no plain file|No such file"):
            read_whole(path)
    write_whole(tmp_path / "file", b"mine")
    (tmp_path / "other").symlink_to(tmp_path / "file")
    assert read_whole(tmp_path / "other") == b"mine"
    os.truncate(tmp_path / "file", MOST_BYTES + 1)
    with pytest.raises(OSError, match="larger than"):
        read_whole(tmp_path / "file")


@pytest.mark.parametrize("sign", ["x", "ü", "車"])
def test_a_name_as_long_as_the_system_allows_is_written(tmp_path: Path, sign: str) -> None:
    """NAME_MAX is 255 bytes on common file systems: limits.h, from memory."""
    path = tmp_path / (sign * (LONGEST_NAME // len(sign.encode())))
    for content in (b"before", b"after"):
        write_whole(path, content)
        assert path.read_bytes() == content
    assert list(tmp_path.iterdir()) == [path]


@given(
    st.text(st.characters(exclude_characters="/\0", exclude_categories=["Cs"]), max_size=400),
    st.integers(9, 200),
)
def test_a_name_is_cut_only_where_it_must_be_and_leaves_the_room(name: str, room: int) -> None:
    cut = fitting(name, room)
    assert len(os.fsencode(cut)) + room <= LONGEST_NAME
    assert (cut == name) == (len(os.fsencode(name)) + room <= LONGEST_NAME)
    assert fitting(name + "a", room) != fitting(name + "b", room)
