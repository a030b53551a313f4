"""Arrays in one file: they come back as they were, and no damage goes unnoticed."""

import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from numpy.typing import NDArray

from kb.recall import arrays
from tests.recall.damage import damaged

ABOUT = {"format": 1, "mark": "shop 12"}
SOME: dict[str, NDArray[Any]] = {
    "numbers": np.arange(100, dtype=np.int64),
    "empty": np.empty(0, np.uint64),
    "matrix": np.linspace(0, 1, 60, dtype=np.float32).reshape(5, 12),
    "flags": np.zeros(33, dtype=np.bool_),
    "one": np.asarray(0.3),
}
kinds = st.sampled_from([np.bool_, np.uint8, np.int16, np.int32, np.uint64, np.float32, np.float64])
shapes = hnp.array_shapes(min_dims=0, max_dims=2, min_side=0, max_side=5)


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("arrays") / "some"


def same(one: NDArray[Any], other: NDArray[Any]) -> bool:
    return (one.dtype, one.shape, one.tobytes()) == (other.dtype, other.shape, other.tobytes())


@given(st.dictionaries(st.text(max_size=5), hnp.arrays(kinds, shapes), max_size=5))
def test_arrays_come_back_as_they_were(path: Path, written: dict[str, NDArray[Any]]) -> None:
    arrays.write(path, ABOUT, written)
    found = arrays.read(path)
    assert found.about == ABOUT
    assert found.arrays.keys() == written.keys()
    assert all(same(found.arrays[name], array) for name, array in written.items())


@given(st.data())
def test_damage_is_noticed_or_changes_nothing(path: Path, data: st.DataObject) -> None:
    arrays.write(path, ABOUT, SOME)
    whole = path.read_bytes()
    path.unlink()
    path.write_bytes(data.draw(damaged(whole)))
    try:
        found = arrays.read(path)
    except arrays.Damaged:
        return
    assert found.about == ABOUT
    assert all(same(found.arrays[name], array) for name, array in SOME.items())


@given(st.binary(max_size=300))
def test_any_other_file_is_refused(path: Path, content: bytes) -> None:
    path.unlink(missing_ok=True)
    path.write_bytes(content)
    with pytest.raises(arrays.Damaged):
        arrays.read(path)


def test_equal_arrays_are_written_once(tmp_path: Path) -> None:
    many = np.arange(10_000, dtype=np.int64)
    arrays.write(tmp_path / "once", {}, {"one": many})
    arrays.write(tmp_path / "twice", {}, {"one": many, "other": many.copy()})
    size = (tmp_path / "twice").stat().st_size
    assert size < (tmp_path / "once").stat().st_size + 1_000


def test_what_is_no_number_is_refused(tmp_path: Path) -> None:
    with pytest.raises(TypeError):
        arrays.write(tmp_path / "words", {}, {"words": np.array(["lamp"], dtype=object)})
    assert list(tmp_path.iterdir()) == []


def test_a_reader_goes_on_with_the_file_it_has_open(tmp_path: Path) -> None:
    arrays.write(tmp_path / "some", {}, SOME)
    before = arrays.read(tmp_path / "some")
    arrays.write(tmp_path / "some", {}, {"numbers": np.zeros(100, np.int64)})
    assert before.arrays["numbers"].tolist() == list(range(100))
    assert arrays.read(tmp_path / "some").arrays["numbers"].tolist() == [0] * 100


def test_a_writer_that_fails_leaves_the_older_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    arrays.write(tmp_path / "some", {}, SOME)

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        arrays.write(tmp_path / "some", {}, {"numbers": np.zeros(3)})
    assert arrays.read(tmp_path / "some").arrays["numbers"].tolist() == list(range(100))
    assert [each.name for each in tmp_path.iterdir()] == ["some"]
