"""What is kept beside a store as JSON is read back as it was written, or not at all."""

import json
import os
from pathlib import Path
from shutil import copy

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.services import fix_history
from kb.services.ask import CausesAnswer, causes
from kb.services.inquiry import Question
from kb.services.kept_json import NOT_KEPT, read_kept, write_kept
from kb.settings import Settings
from kb.store.address import index_folder
from tests.recall.damage import damaged
from tests.store_copies import copied

SETTINGS = Settings()
ASKED = Question(text="airbag lamp on after seat was moved")
KEPT = {"rate": 0.9512345, "cases": [1, 2, 3], "words": "plug é"}


@given(st.data())
def test_it_is_read_back_as_it_was_or_not_at_all(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    path = tmp_path_factory.mktemp("kept") / "folder" / "kept.json"
    write_kept(path, KEPT)
    assert read_kept(path, dict) == KEPT
    path.write_bytes(data.draw(damaged(path.read_bytes())))
    with pytest.raises(NOT_KEPT):
        read_kept(path, dict)


def test_another_kind_a_missing_file_and_a_pipe_are_refused(tmp_path: Path) -> None:
    write_kept(tmp_path / "kept.json", "[" * 100_000)
    for kind in (int, list):
        with pytest.raises(NOT_KEPT):
            read_kept(tmp_path / "kept.json", kind)
    os.mkfifo(tmp_path / "pipe")
    for name in ("pipe", "nothing"):
        with pytest.raises(NOT_KEPT):
            read_kept(tmp_path / name, dict)


@pytest.fixture
def shop(demo_store: str, tmp_path: Path) -> str:
    return copied(demo_store, tmp_path / "shop")


def ask(address: str) -> CausesAnswer:
    return causes(address, ASKED, SETTINGS)


def test_rates_kept_of_a_shop_are_not_believed_where_a_number_of_them_was_changed(
    shop: str, tmp_path: Path
) -> None:
    expected = ask(shop)
    file = index_folder(shop) / fix_history.FILE
    whole = file.read_bytes()
    checksum, _, told = whole.partition(b"\n")
    value = json.loads(told)
    value["history"] = None
    absurd = json.dumps(value, separators=(",", ":")).encode()
    for wrong in (
        checksum + b"\n" + absurd,
        absurd,
        checksum + b"\n" + told.replace(b"0.9", b"9.9"),
        whole[: len(whole) // 2],
        b"\0" * len(whole),
        b"[" * 100_000,
        b"",
    ):
        assert wrong != whole
        file.write_bytes(wrong)
        assert ask(shop) == expected
        assert history_in(file.read_bytes()) == history_in(whole)


def history_in(kept: bytes) -> object:
    """Return what is kept of the fixes' history, without when and of which rows it was learnt."""
    return json.loads(kept.partition(b"\n")[2])["history"]


def test_rates_kept_of_another_shop_are_not_believed(shop: str, small_store: str) -> None:
    expected = ask(small_store)
    ask(shop)
    copy(index_folder(shop) / fix_history.FILE, index_folder(small_store) / fix_history.FILE)
    assert ask(small_store) == expected
