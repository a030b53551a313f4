"""Asking: what was typed and what was stored come together, and nothing stale is told."""

import shutil
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from kb.case import Action, Attempt, System
from kb.diagnosis.reading_evidence import Side
from kb.errors import InvalidField, KbError, NoSuchJob, Notice, StoreMissing
from kb.reports.causes import may_be_next
from kb.safety.igniter_lines import withheld_line
from kb.services import indexing
from kb.services.ask import CausesAnswer, causes
from kb.services.inquiry import Question
from kb.services.similar import similar
from kb.services.starting import NOT_SEEN
from kb.settings import Settings
from kb.store.address import index_folder
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork
from tests.recall.shop import CASES, LATCH, LIDO, SEAT_CONNECTOR, case

SETTINGS = Settings()
LAMP = Question(text="airbag lamp on after seat moved")


def numbers(address: str, question: Question) -> list[int]:
    return [match.number for match in similar(address, question, SETTINGS).matches]


def change(address: str, *jobs: object) -> None:
    with UnitOfWork(open_store(address)) as work:
        for job in jobs:
            work.jobs.add(job)  # type: ignore[arg-type]
        work.commit()


def test_similar_jobs_come_with_cautions_and_reasons(small_store: str) -> None:
    answer = similar(small_store, LAMP, SETTINGS)
    assert answer.jobs == 6
    assert answer.matches[0].number == 1
    assert "seat" in {each.word for each in answer.matches[0].why.words}
    assert any("Airbags" in caution for caution in answer.cautions)


def test_causes_are_ranked_with_what_is_left(small_store: str) -> None:
    answer = causes(small_store, LAMP, SETTINGS)
    assert answer.causes[0].cause == SEAT_CONNECTOR
    assert answer.causes[0].all_jobs == 2
    total = sum(likely.chance for likely in answer.causes) + answer.not_seen_before
    assert total == pytest.approx(1.0)
    assert Notice.FEW_JOBS in answer.notices


def test_codes_and_readings_may_stand_in_the_text_or_beside_it(small_store: str) -> None:
    inside = similar(small_store, Question(text="lamp on B1234 pretensioner 5.8 ohm"), SETTINGS)
    beside = similar(
        small_store,
        Question(text="lamp on", codes=("b1234",), readings=("pretensioner 5.8 ohm",)),
        SETTINGS,
    )
    assert inside.complaint.codes == beside.complaint.codes
    assert inside.complaint.readings == beside.complaint.readings
    assert [m.number for m in inside.matches] == [m.number for m in beside.matches]


def test_an_empty_store_says_so(empty_store: str) -> None:
    answer = causes(empty_store, LAMP, SETTINGS)
    assert answer.notices == (Notice.EMPTY_STORE,)
    assert (answer.causes, answer.not_seen_before) == ((), 1.0)


def test_nothing_similar_and_an_unknown_code_are_said(small_store: str) -> None:
    answer = causes(small_store, Question(codes=("P0999",)), SETTINGS)
    assert Notice.NOTHING_SIMILAR in answer.notices
    assert any("P0999" in notice for notice in answer.notices)


def test_asking_nothing_is_an_error_that_says_what_to_give(small_store: str) -> None:
    with pytest.raises(InvalidField, match="--code"):
        causes(small_store, Question(text="  "), SETTINGS)


def test_no_store_and_no_such_job_are_errors(small_store: str, tmp_path: Path) -> None:
    with pytest.raises(StoreMissing, match="kb init"):
        causes(str(tmp_path / "none.sqlite"), LAMP, SETTINGS)
    with pytest.raises(NoSuchJob):
        causes(small_store, Question(job=99), SETTINGS)
    with pytest.raises(KbError):
        causes(small_store, Question(codes=("nonsense",)), SETTINGS)


def test_a_jobs_own_facts_can_be_asked_with_and_it_is_not_its_own_answer(small_store: str) -> None:
    assert 2 in numbers(small_store, Question(job=1))
    assert 1 not in numbers(small_store, Question(job=1))


def test_since_leaves_older_jobs_out(small_store: str) -> None:
    assert 1 not in numbers(small_store, replace(LAMP, since=date(2024, 2, 1)))


def test_a_job_just_recorded_is_recalled_by_the_next_question(small_store: str) -> None:
    numbers(small_store, LAMP)
    change(small_store, case(7, LIDO, "tailgate strut squeaks", System.BODY_ELECTRICS, LATCH))
    assert numbers(small_store, Question(text="squeaky tailgate strut")) == [7]


def test_a_job_edited_is_recalled_as_it_is_now(small_store: str) -> None:
    numbers(small_store, LAMP)
    with UnitOfWork(open_store(small_store)) as work:
        work.jobs.replace(replace(work.jobs.get(1), complaint="wipers park half way"))
        work.commit()
    assert numbers(small_store, LAMP)[-1] == 1  # by its cause alone, the seat connector
    assert numbers(small_store, Question(text="wipers park")) == [1]


def test_changes_of_a_small_store_fit_the_index_again(
    small_store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    numbers(small_store, LAMP)
    fitted: list[int] = []
    fit = indexing.fit_index

    def counted(*args: Any) -> Any:
        fitted.append(1)
        return fit(*args)

    monkeypatch.setattr(indexing, "fit_index", counted)
    few = [case(7, LIDO, f"rattle {n}", System.BODY_ELECTRICS, LATCH) for n in range(5)]
    change(small_store, *(replace(job, number=None) for job in few))
    numbers(small_store, LAMP)
    assert fitted == [1]
    many = [replace(few[0], number=None, complaint=f"squeak {n}") for n in range(20)]
    change(small_store, *many)
    assert len(numbers(small_store, Question(text="squeak"))) == 10
    assert fitted == [1, 1]


def test_another_store_at_the_same_place_is_not_asked_through_the_old_index(
    small_store: str, tmp_path: Path
) -> None:
    numbers(small_store, LAMP)
    kept = tmp_path / "kept.index"
    shutil.copytree(index_folder(small_store), kept)
    for file in tmp_path.glob("small.sqlite*"):
        shutil.rmtree(file) if file.is_dir() else file.unlink()
    from kb.store.database import create_store  # noqa: PLC0415

    with UnitOfWork(create_store(small_store)) as work:
        for each in CASES:
            work.jobs.add(replace(each, complaint="bonnet will not shut", cause=LATCH))
        work.commit()
    shutil.copytree(kept, index_folder(small_store))
    assert numbers(small_store, LAMP) == []


def test_the_shops_own_words_are_used_at_once(small_store: str) -> None:
    assert numbers(small_store, Question(text="zorbel")) == []
    with UnitOfWork(open_store(small_store)) as work:
        work.words.add("zorbel", ["airbag"])
        work.commit()
    assert 1 in numbers(small_store, Question(text="zorbel lamp"))


def test_a_meter_on_an_igniter_is_never_told_on(small_store: str) -> None:
    bad = "measured resistance of pretensioner with multimeter"
    with UnitOfWork(open_store(small_store)) as work:
        fix = Attempt(action=Action.OTHER, component="squib, ohmed out", cured=True)
        work.jobs.replace(replace(work.jobs.get(2), proved_by=bad, attempts=(fix,)))
        work.commit()
    proved = causes(small_store, LAMP, SETTINGS).causes[0].proved
    assert proved is not None
    assert proved.text == withheld_line(2)
    told = {m.number: m for m in similar(small_store, LAMP, SETTINGS).matches}[2]
    assert (told.proved_by, told.fix) == (withheld_line(2), withheld_line(2))


def test_the_under_seat_connector_is_found_in_the_demonstration_shop(demo_store: str) -> None:
    question = Question(text="airbag light on since the seat was moved", vehicle="corvane lido")
    answer = causes(demo_store, question, SETTINGS)
    assert answer.cases > 250
    assert answer.causes[0].cause.component == "seat connector"
    assert sum(fix.tried for fix in answer.causes[0].fixes) >= 5


def test_a_reading_off_its_band_raises_the_causes_whose_jobs_read_so(demo_store: str) -> None:
    lamp = Question(text="airbag lamp on")
    without = causes(demo_store, lamp, SETTINGS)
    off = causes(demo_store, replace(lamp, readings=("RF pretensioner 6.1 ohm",)), SETTINGS)
    assert off.readings[0].side is Side.ABOVE
    named = off.readings[0].causes[0][0]
    chance = {each.cause.label: each.chance for each in without.causes}
    assert off.causes[0].cause.label == named
    assert off.causes[0].chance > chance[named]


def test_every_job_told_brings_its_cautions_however_far_down(small_store: str) -> None:
    horn = case(8, LIDO, "horn dead, lamp on", System.RESTRAINTS, CASES[2].cause or LATCH)
    near = [
        replace(case(8, LIDO, "horn dead", System.BODY_ELECTRICS, LATCH), number=None)
        for _ in range(4)
    ]
    change(small_store, *near, replace(horn, number=None))
    question = Question(text="horn dead")
    for answer in (
        similar(small_store, question, SETTINGS),
        causes(small_store, question, SETTINGS),
    ):
        assert "Airbags" in answer.cautions[0]


def test_what_only_jobs_out_of_sight_concern_is_named_in_one_line(small_store: str) -> None:
    odd = case(8, LIDO, "tailgate rattles, lamp on", System.RESTRAINTS, LATCH)
    near = [case(8, LIDO, "tailgate rattles", System.BODY_ELECTRICS, LATCH) for _ in range(12)]
    change(small_store, *(replace(each, number=None) for each in (*near, odd)))
    question = Question(text="tailgate rattles")
    page = causes(small_store, question, SETTINGS, limit=1).cautions
    assert not any(each.startswith("Airbags") for each in page)
    line = page[-1]
    assert line.startswith("Jobs not shown also concern: ")
    assert "airbags and pretensioners" in line
    whole = causes(small_store, question, SETTINGS).cautions
    assert any(each.startswith("Airbags") for each in whole)
    assert not any("not shown" in each for each in whole)


def test_a_cause_named_where_no_complaint_is_alike_is_pointed_to_under_its_cautions(
    small_store: str,
) -> None:
    answer = causes(small_store, Question(text="clock spring?"), SETTINGS)
    assert not answer.causes
    assert any("#3" in each and 'kb fixes "clock spring"' in each for each in answer.notices)
    assert any("Airbags" in caution for caution in answer.cautions)


def test_what_names_a_cause_is_told_with_how_much_it_counts(small_store: str) -> None:
    likely = causes(small_store, Question(text="lamp on, seat connector green"), SETTINGS).causes[0]
    assert likely.cause == SEAT_CONNECTOR
    assert set(likely.named_by) == {"seat", "connector"}
    assert likely.by_name > 1.5
    plain = causes(small_store, Question(text="horn dead"), SETTINGS).causes[0]
    assert plain.named_by == ()


@pytest.mark.parametrize("text", ["12.6 V", "42", "Lido"])
def test_a_number_or_a_car_alone_is_no_question(small_store: str, text: str) -> None:
    with pytest.raises(InvalidField, match="and nothing else"):
        causes(small_store, Question(text=text), SETTINGS)
    assert causes(small_store, Question(text=text, codes=("B1234",)), SETTINGS).cases


def test_only_a_vehicle_is_no_question(small_store: str) -> None:
    with pytest.raises(InvalidField, match="says nothing"):
        similar(small_store, Question(vehicle="corvane lido"), SETTINGS)


def test_words_that_plain_english_has_are_not_read_as_others(small_store: str) -> None:
    change(
        small_store,
        case(11, LIDO, "horn dead in rain", System.BODY_ELECTRICS, LATCH),
        case(12, LIDO, "horn dead in rain", System.BODY_ELECTRICS, LATCH),
    )
    told = "\n".join(
        similar(small_store, Question(text="thorn in the train, hron"), SETTINGS).notices
    )
    assert "'hron'; read as 'horn'" in told
    assert "thorn" not in told
    assert "train" not in told


def test_what_was_tried_in_vain_on_an_open_job_is_not_proposed_first_again(
    small_store: str,
) -> None:
    lamp = case(7, LIDO, "airbag lamp on after seat moved", CASES[0].system, SEAT_CONNECTOR)  # type: ignore[arg-type]
    vain = Attempt(action=Action.REPLACED, component="seat connector", cured=False)
    change(small_store, replace(lamp, closed=None, cause=None, attempts=()))
    change(small_store, replace(lamp, number=8, closed=None, cause=None, attempts=(vain,)))
    before, after = (causes(small_store, Question(job=n), SETTINGS) for n in (7, 8))
    assert before.causes[0].cause == SEAT_CONNECTOR
    assert (before.in_vain, before.cured_by) == ((), None)
    assert after.in_vain == ("replaced seat connector",)
    told = {each.cause.key: each.chance for each in after.causes}
    assert told[SEAT_CONNECTOR.key] < before.causes[0].chance / 3
    total = sum(told.values()) + after.other_causes + after.not_seen_before
    assert total == pytest.approx(1)


def test_what_was_renewed_in_vain_is_not_cleaned_next(small_store: str) -> None:
    lamp = case(7, LIDO, "airbag lamp on after seat moved", CASES[0].system, SEAT_CONNECTOR)  # type: ignore[arg-type]
    cleaned = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
    change(small_store, replace(lamp, attempts=(cleaned,)))
    vain = Attempt(action=Action.REPLACED, component="seat connector", cured=False)
    change(small_store, replace(lamp, number=8, closed=None, cause=None, attempts=()))
    change(small_store, replace(lamp, number=9, closed=None, cause=None, attempts=(vain,)))
    before, after = (causes(small_store, Question(job=n), SETTINGS) for n in (8, 9))

    def left(answer: CausesAnswer) -> set[str]:
        fixes = [fix for each in answer.causes for fix in each.fixes]
        return {fix.label for fix in fixes if may_be_next(answer, fix)}

    assert "cleaned seat connector" in left(before)
    assert "cleaned seat connector" not in left(after)


def test_what_is_left_of_a_cured_job_is_its_proof(small_store: str) -> None:
    lamp = case(7, LIDO, "airbag lamp on after seat moved", CASES[0].system, SEAT_CONNECTOR)  # type: ignore[arg-type]
    cure = Attempt(action=Action.CLEANED, component="seat connector", cured=True)
    change(small_store, replace(lamp, closed=None, cause=None, attempts=(cure,)))
    answer = causes(small_store, Question(job=7), SETTINGS)
    assert answer.cured_by == "cleaned seat connector"
    assert not any(may_be_next(answer, fix) for each in answer.causes for fix in each.fixes)
    closed = causes(small_store, Question(job=1), SETTINGS)
    assert closed.cured_by is None


def test_what_the_shop_never_had_is_told_so_with_where_to_start(demo_store: str) -> None:
    """Common practice, no source: a bumper is bodywork, and one looks first."""
    answer = causes(demo_store, Question(text="bumper hanging off at the corner"), SETTINGS)
    assert answer.not_seen_before >= NOT_SEEN
    assert answer.start is not None
    assert answer.start.about == ("bodywork",)
    assert answer.start.tests[0].name == "visual check"


def test_where_it_is_likelier_seen_before_there_is_no_such_word(demo_store: str) -> None:
    answer = causes(demo_store, Question(text="ABS lamp on, wheel speed sensor"), SETTINGS)
    assert answer.not_seen_before < NOT_SEEN
    assert answer.start is None


def test_on_what_may_have_an_igniter_one_starts_with_a_look_alone(small_store: str) -> None:
    strange = replace(SETTINGS, diagnosis=replace(SETTINGS.diagnosis, unseen_intercept=1.0))
    answer = causes(small_store, Question(text="curtain bag trim cracked, horn ok"), strange)
    assert answer.start is not None
    assert System.RESTRAINTS in answer.start.systems
    assert [test.name for test in answer.start.tests] == ["visual check"]
