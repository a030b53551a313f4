"""Asking the index: what comes back, in which order, and what is left out."""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from kb.case import Cause, Complaint, FailureMode, Job, System, TroubleCode, Vehicle
from kb.diagnosis.causes import rank
from kb.intake.wording import Wording
from kb.recall import arrays
from kb.recall.features import Query
from kb.recall.hashing import key
from kb.recall.index import FILE, Index, cause_key
from kb.recall.recall import Neighbour, Recalled, recall, voting
from kb.settings import RecallSettings, Settings
from tests.recall.shop import CASES, LIDO, SEAT_CONNECTOR, case, pretensioner

WORDING = Wording.default()
SETTINGS = RecallSettings()
DIAGNOSIS = Settings().diagnosis
INDEX = Index.fit(CASES, WORDING, Settings())


def ask(complaint: Complaint, index: Index = INDEX, **kwargs: object) -> Recalled:
    return recall(Query(complaint=complaint), index, WORDING, SETTINGS, **kwargs)  # type: ignore[arg-type]


def numbers(recalled: Recalled) -> list[int]:
    return [neighbour.number for neighbour in recalled.neighbours]


def test_the_like_complaint_comes_first() -> None:
    found = ask(Complaint(text="airbag lamp came on when the seat was moved"))
    assert numbers(found)[0] == 1
    assert 4 not in numbers(found)
    assert found.cases == 6
    assert found.causes_seen_once == 4


def test_a_code_alone_recalls_its_jobs_newest_first_on_equal_chance() -> None:
    found = ask(Complaint(codes=(TroubleCode(code="B1234"),)))
    assert numbers(found)[:2] == [2, 1]


def test_a_like_car_or_system_alone_recalls_nothing() -> None:
    assert ask(Complaint(vehicle=LIDO, system=System.RESTRAINTS)).neighbours == ()


def test_nothing_asked_and_nothing_stored_recall_nothing() -> None:
    assert ask(Complaint()).neighbours == ()
    empty = Index.fit([], WORDING, Settings())
    found = ask(Complaint(text="airbag lamp"), empty)
    assert (found.neighbours, found.cases) == ((), 0)


def test_a_hidden_cause_is_as_if_never_had() -> None:
    asked = Complaint(text="airbag lamp on seat moved")
    found = ask(asked, hidden=[key(cause_key(CASES[0]))])
    assert set(numbers(found)) == {3}
    assert (found.cases, found.causes_seen_once) == (4, 4)


@pytest.mark.parametrize("most", [1, 2, 5, 8])
def test_of_many_likely_cases_the_likeliest_are_kept(most: int) -> None:
    words = ["airbag", "lamp", "on", "after", "seat", "moved", "again", "rain"]
    cases = [
        replace(
            CASES[0],
            number=number,
            complaint=" ".join(word for bit, word in enumerate(words) if number >> bit & 1),
        )
        for number in range(1, 256)
    ]
    index, asked = (
        Index.fit(cases, WORDING, Settings()),
        Query(complaint=Complaint(text=" ".join(words))),
    )
    every = recall(asked, index, WORDING, SETTINGS).neighbours
    few = recall(asked, index, WORDING, replace(SETTINGS, neighbours=most)).neighbours
    assert len(every) > 8
    assert [each.number for each in few] == [each.number for each in every[:most]]


def test_a_model_no_case_is_of_is_told() -> None:
    asked = Complaint(text="airbag lamp on", vehicle=Vehicle(make="Corvane", model="Zembra"))
    assert ask(asked).new_model
    assert not ask(replace(asked, vehicle=LIDO)).new_model
    assert not ask(replace(asked, vehicle=Vehicle(make="Corvane"))).new_model


def test_votes_go_on_growing_where_chances_come_close_to_one() -> None:
    sure = replace(SETTINGS, intercept=4.0)
    found = recall(
        Query(complaint=Complaint(text="airbag lamp on seat moved")), INDEX, WORDING, sure
    )
    first, second = found.neighbours[:2]
    assert first.vote / second.vote > 1.5 * first.chance / second.chance
    certain = replace(SETTINGS, intercept=60.0)
    found = recall(Query(complaint=Complaint(text="airbag lamp on")), INDEX, WORDING, certain)
    assert found.neighbours[0].chance == 1
    assert math.isfinite(found.neighbours[0].vote)


def neighbour(number: int, cause: int, chance: float) -> Neighbour:
    return Neighbour(number=number, cause=cause, chance=chance, parts=())


chances = st.floats(0.001, 1.0)


@given(
    alike=st.floats(0.12, 1.0),
    how_many=st.integers(10, 39),
    newcomer=chances,
    less=st.lists(st.tuples(st.integers(1, 4), st.floats(0.05, 1.0)), max_size=20),
)
@example(alike=0.21, how_many=10, newcomer=0.86, less=[])
def test_no_single_job_outvotes_ten_that_are_alike(
    alike: float, how_many: int, newcomer: float, less: list[tuple[int, float]]
) -> None:
    many = [neighbour(number, 1, alike) for number in range(how_many)]
    rest = [
        neighbour(100 + number, cause, alike * share) for number, (cause, share) in enumerate(less)
    ]
    single = neighbour(1000, 5, newcomer)
    found = voting([*many, *rest, single], SETTINGS)
    assert found[-1].vote <= sum(each.vote for each in found[:how_many])


@given(st.lists(st.tuples(st.integers(1, 4), chances), min_size=1, max_size=40))
def test_votes_are_cut_alike_and_never_raised(told: list[tuple[int, float]]) -> None:
    cast = [neighbour(number, *each) for number, each in enumerate(told)]
    free = voting(cast, replace(SETTINGS, vote_most=math.inf))
    found = voting(cast, SETTINGS)
    assert found == voting(found, SETTINGS)
    for each, unbound in zip(found, free, strict=True):
        others = [other.vote for other in free if other.cause != each.cause]
        assert 0 < each.vote <= unbound.vote
        small = unbound.chance <= SETTINGS.vote_always
        if small or unbound.vote <= SETTINGS.vote_most * max(others, default=0.0):
            assert each.vote == unbound.vote
        else:
            assert each.vote >= SETTINGS.vote_most * max(others, default=0.0)
    for one, other in combinations(found, 2):
        if one.cause == other.cause and one.chance <= other.chance:
            assert one.vote <= other.vote


def made_up(number: int, words: Sequence[str], component: str) -> Job:
    return replace(
        case(number % 12 + 1, LIDO, " ".join(words), System.OTHER, SEAT_CONNECTOR),
        number=number,
        cause=Cause(component=component, failure_mode=FailureMode.WORN),
    )


@given(st.data())
@settings(max_examples=15, deadline=None)
def test_a_case_in_the_complaints_own_words_does_not_outweigh_ten_like_ones(
    data: st.DataObject,
) -> None:
    sound = st.sampled_from([a + b for a in "bdfglmnrstv" for b in "aeiou"])
    word = st.lists(sound, min_size=3, max_size=3).map("".join)
    words = data.draw(st.lists(word, min_size=40, max_size=40, unique=True))
    size = data.draw(st.integers(4, 8))
    kept = data.draw(st.integers(size - 2, size - 1))
    asked, unlike = words[:size], words[size:]
    like = [
        made_up(number, [*asked[:kept], unlike[0]], "first part")
        for number in range(1, data.draw(st.integers(10, 20)) + 1)
    ]
    noise = [
        made_up(
            100 + n, data.draw(st.lists(st.sampled_from(unlike[1:]), min_size=4)), f"part {n // 4}"
        )
        for n in range(data.draw(st.integers(0, 12)))
    ]
    own = made_up(1000, asked, "other part")
    before = recalled_from([*like, *noise], asked)
    after = recalled_from([*like, *noise, own], asked)
    assume(min(found.neighbours[9].chance for found in (before, after)) > 0.2)
    first, newcomer = (key(cause_key(each)) for each in (like[0], own))
    had, has = (
        {each.cause: each.chance for each in rank(found, DIAGNOSIS).causes}
        for found in (before, after)
    )
    assert has[first] > had[first] / 2
    assert has[first] > has[newcomer]


def recalled_from(cases: Sequence[Job], words: Sequence[str]) -> Recalled:
    index = Index.fit(cases, WORDING, Settings())
    return ask(Complaint(text=" ".join(words), vehicle=LIDO), index)


def test_since_and_without_leave_jobs_out() -> None:
    asked = Complaint(text="airbag lamp on seat moved")
    assert numbers(ask(asked))[0] == 1
    assert 1 not in numbers(ask(asked, since=date(2024, 2, 1)))
    assert 1 not in numbers(ask(asked, without=[1]))
    assert ask(asked, since=date(2024, 2, 1)).cases == 5


def test_a_misspelt_word_is_read_as_the_known_one_and_said_so() -> None:
    found = ask(Complaint(text="airbga lamp"))
    assert found.read_as == {"airbga": "airbag"}


def test_the_parts_of_a_match_add_up_to_its_chance() -> None:
    found = ask(Complaint(text="airbag lamp on", codes=(TroubleCode(code="B1234"),), vehicle=LIDO))
    first = found.neighbours[0]
    log_odds = SETTINGS.intercept + sum(part.added for part in first.parts)
    assert first.chance == pytest.approx(1 / (1 + math.exp(-log_odds)), abs=1e-5)
    assert {part.signal for part in first.parts} == {"complaint", "codes", "vehicle"}
    added = [part.added for part in first.parts]
    assert added == sorted(added, reverse=True)
    assert added[0] > added[-1]


def test_readings_raise_the_job_that_measured_the_same() -> None:
    near = replace(CASES[0], number=7, readings=(pretensioner(6.0),))
    far = replace(CASES[0], number=8, readings=(pretensioner(2.2),))
    index = Index.fit([*CASES, near, far], WORDING, Settings())
    found = ask(Complaint(text="airbag lamp", readings=(pretensioner(5.9),)), index)
    assert numbers(found)[0] == 7


def test_conditions_raise_the_job_of_the_same_weather() -> None:
    wet = replace(CASES[0], number=7, conditions="heavy rain, cold")
    dry = replace(CASES[0], number=8, conditions="hot, after long drive")
    index = Index.fit([*CASES, wet, dry], WORDING, Settings())
    first, second = ask(Complaint(text="airbag lamp", conditions="cold rain"), index).neighbours[:2]
    assert first.number == 7
    assert "conditions" in {part.signal for part in first.parts}
    assert second.chance < first.chance
    silent = ask(Complaint(text="airbag lamp"), index).neighbours
    assert "conditions" not in {part.signal for each in silent for part in each.parts}


def test_the_same_system_speaks_for_a_job_and_another_against_it() -> None:
    asked = Complaint(text="airbag lamp on", system=System.RESTRAINTS)
    first = ask(asked).neighbours[0]
    assert [p.similarity for p in first.parts if p.signal == "system"] == [1.0]
    other = replace(asked, system=System.COOLING)
    chances = [
        ask(each).neighbours[0].chance for each in (asked, Complaint(text=asked.text), other)
    ]
    assert chances == sorted(chances, reverse=True)
    assert len(set(chances)) == 3


def test_a_job_recorded_since_is_recalled_without_fitting_again() -> None:
    new = case(7, LIDO, "tailgate strut squeaks", System.BODY_ELECTRICS, SEAT_CONNECTOR)
    index = INDEX.with_changes([7], [new], WORDING)
    found = ask(Complaint(text="squeaking tailgate strut"), index)
    assert numbers(found)[0] == 7
    assert len(index) == found.cases == 7


def test_a_job_edited_since_is_recalled_as_it_is_now() -> None:
    edited = replace(CASES[0], complaint="wipers park half way")
    index = INDEX.with_changes([1], [edited], WORDING)
    assert numbers(ask(Complaint(text="wipers park"), index)) == [1]
    assert 1 not in numbers(ask(Complaint(text="airbag lamp seat moved"), index))
    assert len(index) == 6


def test_a_case_opened_again_is_not_recalled() -> None:
    index = INDEX.with_changes([1], [], WORDING)
    assert 1 not in numbers(ask(Complaint(text="airbag lamp seat moved"), index))


def test_a_saved_index_answers_as_before(tmp_path: Path) -> None:
    replace(INDEX, mark="shop 12").save(tmp_path / "index")
    loaded = Index.load(tmp_path / "index")
    assert loaded is not None
    assert loaded.mark == "shop 12"
    for job in CASES:
        assert ask(Complaint.of(job), loaded) == ask(Complaint.of(job))


def test_saving_again_replaces_the_older_index(tmp_path: Path) -> None:
    INDEX.save(tmp_path)
    Index.fit(CASES[:2], WORDING, Settings(), mark="new").save(tmp_path)
    loaded = Index.load(tmp_path)
    assert loaded is not None
    assert len(loaded) == 2
    assert [file.name for file in tmp_path.iterdir()] == [FILE]


@pytest.mark.parametrize("content", [b"", b"{}", b"kbarrays", bytes(4096)])
def test_what_is_no_index_is_not_read(tmp_path: Path, content: bytes) -> None:
    (tmp_path / FILE).write_bytes(content)
    assert Index.load(tmp_path) is None
    assert Index.load(tmp_path / "nowhere") is None


@pytest.mark.parametrize(
    ("name", "column"),
    [
        ("base.numbers", np.arange(6, dtype=np.int32)),
        ("base.numbers", np.arange(7, dtype=np.int64)),
        ("base.opened", np.empty(0, dtype=np.int32)),
        ("base.readings.size", np.asarray(10**12)),
        ("model.documents", np.arange(2)),
    ],
)
def test_whole_columns_that_do_not_fit_are_not_read(
    tmp_path: Path, name: str, column: NDArray[Any]
) -> None:
    INDEX.save(tmp_path)
    kept = arrays.read(tmp_path / FILE)
    arrays.write(tmp_path / FILE, kept.about, {**kept.arrays, name: column})
    assert Index.load(tmp_path) is None
    without = {other: array for other, array in kept.arrays.items() if other != name}
    arrays.write(tmp_path / FILE, kept.about, without)
    assert Index.load(tmp_path) is None


def test_the_systems_that_a_cause_was_on_are_told_of_what_is_asked_about() -> None:
    # by hand: of the three cases of one cause two are of the restraints, of the other the only one
    cases = [*CASES, replace(CASES[0], number=7, system=System.OTHER)]
    asked = Complaint(text="airbag lamp on")
    connector, spring = (key(cause_key(CASES[place])) for place in (0, 2))
    whole = Index.fit(cases, WORDING, Settings())
    assert ask(asked, whole).same_system == pytest.approx({connector: 2 / 3, spring: 1.0})
    assert ask(asked, whole, hidden=[spring]).same_system == pytest.approx({connector: 2 / 3})
    assert ask(Complaint(text="same again"), whole).same_system == {}


def test_words_alone_are_told_from_what_was_read_or_tried() -> None:
    words = Complaint(text="airbag lamp on")
    code = TroubleCode(code="B1234")
    assert ask(words).words_alone
    assert not ask(replace(words, codes=(code,))).words_alone
    assert not ask(replace(words, readings=(pretensioner(6.1),))).words_alone
