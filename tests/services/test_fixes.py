"""All fixes of a cause: found by its words, compared, on either clock, with silence apart."""

import json
import re
import shutil
import sqlite3
import time
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console

from kb.case import Action, Attempt, Cause, Contact, FailureMode, Job, Outcome, Vehicle
from kb.errors import InvalidField, NoSuchJob, Notice
from kb.rates.fixes import ranking_horizon, standing
from kb.rates.trials import Clock
from kb.reports.fixes import counts, mistaken, rate, render
from kb.reports.fixes_page import to_html
from kb.services import fix_history, kept_rates
from kb.services.adding import add_part
from kb.services.ask import causes
from kb.services.comebacks import comebacks
from kb.services.exchange import Form, export_file, import_file
from kb.services.fixes import FixesAnswer, fixes
from kb.services.inquiry import Question
from kb.services.keeping import keep
from kb.services.knowledge import repairs_of
from kb.settings import RateSettings, Settings
from kb.store.address import index_folder
from kb.store.backup import back_up
from kb.store.database import create_store, open_store
from kb.store.repairs import Repairs
from kb.store.unit_of_work import UnitOfWork
from tests.services.test_follow_up import CLOSED, job, put
from tests.store_copies import copied

TODAY = date(2026, 11, 25)


def asked(address: str, text: str = "seat connector high", **more: object) -> FixesAnswer:
    return fixes(address, text, Settings(), today=TODAY, **more)  # type: ignore[arg-type]


def printed(answer: FixesAnswer) -> str:
    out = StringIO()
    Console(width=80, file=out).print(render(answer))
    return out.getvalue()


def test_every_attempt_for_the_cause_is_told(demo_store: str) -> None:
    found = asked(demo_store)
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        cases = list(work.jobs.all(cases_only=True))
    jobs = [each for each in cases if each.cause and each.cause.key == found.cause.key]
    tried = sum(len(each.attempts) for each in jobs)
    assert sum(each.rate.tried + each.rate.unknown for each in found.fixes) == tried
    assert found.cases == len(jobs)
    assert any("Airbags" in caution for caution in found.cautions)
    place = ranking_horizon([each.rate for each in found.fixes])
    assert place == 1
    stand = [standing(each.rate.horizons[place].belief) for each in found.fixes if each.rate.tried]
    assert stand == sorted(stand, reverse=True)


def test_rates_are_those_that_causes_tells(demo_store: str) -> None:
    question = Question(text="airbag lamp on after seat was moved")
    answer = causes(demo_store, question, Settings(), limit=1)
    likely = answer.causes[0]
    found = asked(demo_store, likely.cause.label)
    assert [each.rate for each in found.fixes] == list(likely.fixes)


def test_of_several_causes_each_is_named_as_it_is_asked_for(demo_store: str) -> None:
    with pytest.raises(InvalidField) as refused:
        asked(demo_store, "seat connector")
    told = re.findall(r'kb fixes "(.+)"  \(([\d,]+) cases?\)', str(refused.value))
    assert len(told) >= 2
    counts = [int(count.replace(",", "")) for _, count in told]
    assert counts == sorted(counts, reverse=True)
    for words, count in zip([words for words, _ in told], counts, strict=True):
        assert asked(demo_store, words).cases == count


def test_a_cause_is_found_by_job_and_refused_by_too_few_words(demo_store: str) -> None:
    found = asked(demo_store)
    assert asked(demo_store, "", job=found.fixes[0].rate.jobs[0]).cause == found.cause
    with pytest.raises(InvalidField, match="more of its words"):
        asked(demo_store, "connector")
    with pytest.raises(InvalidField, match="did you mean seat connector, under seat: high"):
        asked(demo_store, "seet conector under seat high resistance")
    with pytest.raises(InvalidField, match="did you mean seat connector"):
        asked(demo_store, "seat conector")
    with pytest.raises(InvalidField, match="name them"):
        asked(demo_store, "zebra")
    with pytest.raises(InvalidField, match="is empty"):
        asked(demo_store, " ")
    with pytest.raises(NoSuchJob):
        asked(demo_store, "", job=99_999)


def test_silence_is_shown_beside_and_changes_nothing_else(demo_store: str) -> None:
    settings = Settings(rates=RateSettings(silence_days=180))
    plain = asked(demo_store)
    told = fixes(demo_store, "seat connector high", settings, today=TODAY)
    assert [each.rate for each in told.fixes] == [each.rate for each in plain.fixes]
    assert all(each.with_silence is None for each in plain.fixes)
    counted = [each.with_silence for each in told.fixes if each.with_silence]
    assert sum(each.unheard for each in counted) < sum(each.rate.unheard for each in plain.fixes)


def test_kilometres_are_another_clock(demo_store: str) -> None:
    found = asked(demo_store, clock=Clock.KM)
    assert (found.clock, found.horizons) == (Clock.KM, Settings().rates.horizons_km)
    assert sum(each.rate.tried for each in found.fixes) == sum(
        each.rate.tried for each in asked(demo_store).fixes
    )


def test_final_fixes_only_is_said_beside_the_rates(empty_store: str) -> None:
    put(empty_store, *(job(f"K{n}", CLOSED) for n in range(12)))
    assert asked(empty_store, "door plug").notices == (Notice.FINAL_FIXES_ONLY,)
    answer = causes(empty_store, Question(text="door lock dead"), Settings())
    assert Notice.FINAL_FIXES_ONLY in answer.notices


def test_the_wider_history_is_kept_and_learnt_again_in_time(
    demo_store: str, empty_store: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fix_history, "LEAST_KEPT", 10)
    put(empty_store, *(job(f"K{n}", CLOSED, component=f"plug {n}") for n in range(12)))
    asked(empty_store, "plug 3")
    kept = index_folder(empty_store) / fix_history.FILE

    def learnt_at() -> int:
        return int(json.loads(kept.read_bytes().partition(b"\n")[2])["sequence"])

    before = learnt_at()
    put(empty_store, job("K20", CLOSED))
    asked(empty_store, "plug 3")
    assert learnt_at() == before
    put(empty_store, *(job(f"K{n}", CLOSED) for n in range(30, 60)))
    asked(empty_store, "plug 3")
    assert learnt_at() != before
    few = Settings(rates=RateSettings(least_fixes=99))
    assert not fixes(empty_store, "plug 3", few, today=TODAY).wider
    kept.write_text("no json")
    assert asked(empty_store, "plug 3").wider


def test_the_same_jobs_say_the_same_whenever_they_were_typed(
    empty_store: str, tmp_path: Path
) -> None:
    other = str(shutil.copy(empty_store, tmp_path / "other.sqlite"))
    for n in range(18):  # asked in between, as at work
        put(empty_store, job(f"K{n}", CLOSED, component=f"plug {n % 12}"))
        asked(empty_store, "plug 3") if n >= 12 else None
    export_file(empty_store, tmp_path / "jobs.jsonl")
    import_file(other, tmp_path / "jobs.jsonl")
    one, two = (asked(store, "plug 3").fixes for store in (empty_store, other))
    assert [each.rate for each in one] == [each.rate for each in two]


def test_a_comeback_after_the_first_horizon_is_hidden_nowhere(demo_store: str) -> None:
    """The demonstration shop's valves: cleaned ones come back by and by."""
    cleaned = next(each for each in asked(demo_store, "EGR valve blocked").fixes)
    at_90, at_a_year = cleaned.rate.horizons
    assert cleaned.rate.came_back == (154, 264)
    assert (at_90.held, at_90.seen_only, at_90.back_later, at_90.comebacks) == (3, 1, 2, 0)
    assert (at_a_year.back_later, at_a_year.comebacks) == (0, 2)
    assert counts(cleaned.rate).startswith(
        "cured 5 of 5, 3 held 90 days (1 held 1 year), 2 of them"
    )
    assert "2 of them came back later, at 154 and 264 days, 1 only seen after 90 days" in counts(
        cleaned.rate
    )
    assert "1 year" in rate(cleaned.rate)


def test_new_plugs_are_known_to_hold_where_cleaned_ones_do_not(demo_store: str) -> None:
    found = {each.rate.label: each for each in asked(demo_store).fixes}
    cleaned, new = found["cleaned seat connector"], found["replaced seat connector"]
    assert len(cleaned.rate.came_back) >= 3
    assert cleaned.compared_at == 365
    assert cleaned.first_better is not None
    assert cleaned.first_better > 0.95
    assert new.rate.came_back == ()
    held = [each.rate.minutes_held for each in (cleaned, new)]
    assert all(minutes is not None for minutes in held)


def test_a_longer_horizon_never_has_the_better_rate(demo_store: str) -> None:
    with UnitOfWork(open_store(demo_store), read_only=True) as work:
        known = [cause for cause, _ in work.repairs.causes()]
        rated = repairs_of(work, demo_store, [cause.key for cause in known], Settings())
    for each in (fix for found in rated.values() for fix in found.rates):
        means = [at.belief.mean for at in each.horizons]
        assert means == sorted(means, reverse=True)


def test_fixes_are_compared_where_both_were_watched(demo_store: str) -> None:
    for fix in asked(demo_store).fixes[1:]:
        first = asked(demo_store).fixes[0].rate
        both = [
            at.horizon
            for at, other in zip(fix.rate.horizons, first.horizons, strict=True)
            if at.supported and other.supported
        ]
        place = max(both) if both else 90
        known = [
            at.rate is not None
            for at in (*fix.rate.horizons, *first.horizons)
            if at.horizon == place
        ]
        assert fix.compared_at == (place if all(known) else None)


def test_four_cars_back_with_another_diagnosis_are_told_as_unjudged(empty_store: str) -> None:
    cars = [f"K{n}" for n in range(4)]
    again, tyres = CLOSED + timedelta(days=10), CLOSED + timedelta(days=97)
    worn = replace(job("K0", tyres, component="tyre"), complaint="worn tyres", system=None)
    put(
        empty_store,
        *(job(car, CLOSED) for car in cars),
        *(job(car, again, component="lock motor") for car in cars),
        *(replace(worn, vehicle=Vehicle(ref=car)) for car in cars),
    )
    (fix,) = asked(empty_store, "door plug").fixes
    told = counts(fix.rate)
    assert told == "cured 4 of 4, 4 back for something alike, not judged"
    assert "held" not in told
    assert rate(fix.rate).startswith(
        "no rate until they are judged; if the 4 not judged were the same fault 10%"
    )
    answer = asked(empty_store, "door plug")
    for page in (printed(answer), to_html(answer)):
        assert "if the 4 not judged were the same fault" in " ".join(page.split())
        assert "too few heard of" not in " ".join(page.split())


def test_outer_ends_stand_wherever_judging_may_lead_to_two_rates(empty_store: str) -> None:
    good = Contact(on=CLOSED + timedelta(days=99), outcome=Outcome.HELD)
    unwritten = (Attempt(action=Action.CLEANED, component="door plug"),)
    put(
        empty_store,
        *(replace(job(f"K{n}", CLOSED), contacts=(good,)) for n in range(4)),
        *(replace(job(f"K{n}", CLOSED), attempts=unwritten) for n in (4, 5)),
        job("K6", CLOSED),
        job("K7", CLOSED),
        job("K6", CLOSED + timedelta(days=10), component="lock motor"),
    )
    (fix,) = asked(empty_store, "door plug").fixes
    told = rate(fix.rate)
    assert "if the one not judged was the same fault" in told
    assert "whatever became of the cars not known to have held or failed" in told
    assert "(1 lost from sight, 1 back, not judged, 2 not told)" in told
    outer, first = fix.rate.first.ends, fix.rate.first
    assert first.if_same is not None
    assert first.if_other is not None
    assert outer.low < first.if_same.interval.low < first.if_other.interval.high
    assert "2 not told" in counts(fix.rate)
    put(empty_store, job("K4", CLOSED + timedelta(days=20), component="lock motor"))
    (fix,) = asked(empty_store, "door plug").fixes
    assert "2 not told, 1 of them back for something alike, not judged" in counts(fix.rate)
    assert "if the 2 not judged were the same fault" in rate(fix.rate)


def test_of_one_case_no_bar_and_no_curve_is_drawn(empty_store: str) -> None:
    held = Contact(on=CLOSED + timedelta(days=99), outcome=Outcome.HELD)
    put(empty_store, replace(job("K1", CLOSED), contacts=(held,)))
    once = asked(empty_store, "door plug")
    page = printed(once)
    assert "one case" in page
    assert not set(page) & set("├┤●┐└┈")
    assert "<svg" not in to_html(once)
    put(empty_store, replace(job("K2", CLOSED), contacts=(held,)))
    twice = asked(empty_store, "door plug")
    assert "├" in printed(twice)
    assert "<svg" in to_html(twice)


def test_cars_without_a_tag_are_told_as_returns_that_nobody_would_see(empty_store: str) -> None:
    tagged = job("K1", CLOSED)
    put(empty_store, tagged, replace(tagged, vehicle=Vehicle(make="Corvane", model="Lido")))
    told = (asked(empty_store, "door plug").notices, comebacks(empty_store, Settings()).notices)
    for notices in told:
        assert any("1 of 2 cases without key tag or VIN" in str(each) for each in notices)


def test_what_was_tried_for_another_cause_says_where_it_counts(demo_store: str) -> None:
    blocked, seized = (asked(demo_store, f"EGR valve {how}") for how in ("blocked", "seized"))
    (here,) = blocked.mistaken
    assert here in seized.mistaken
    assert (here.fix, here.cured) == ("cleaned EGR valve", False)
    assert here.tried_for.endswith("blocked")
    assert here.counts == here.proved
    assert here.proved.endswith("seized")
    cleaned = next(each.rate for each in blocked.fixes if each.rate.label == here.fix)
    assert here.job not in cleaned.jobs
    assert cleaned.mistaken == len(blocked.mistaken)
    told = next(line for line in mistaken(seized) if f"#{here.job}" in line)
    assert told.startswith("cleaned EGR valve, did not cure: tried for EGR valve")


@pytest.mark.parametrize(("by_one", "said"), [(12, True), (7, False)])
def test_most_of_what_was_heard_of_by_one_person_is_said_without_a_name(
    empty_store: str, tmp_path: Path, by_one: int, said: bool
) -> None:
    for number in range(14):
        job = plug_job(number, "BT")
        put(empty_store, replace(job, contacts=()))
        draft = add_part(empty_store, number + 1, job.contacts[0])
        keep(empty_store, draft, who="BT" if number < by_one else "KS")
    stores = [empty_store]
    for form in ("jsonl", "csv"):  # who told of it goes along with a job
        file, store = tmp_path / f"jobs.{form}", str(tmp_path / f"{form}.sqlite")
        export_file(empty_store, file, form=Form(form))
        create_store(store)
        import_file(store, file, who="MB")
        stores.append(store)
    for store in stores:
        answer = fixes(store, "plug", Settings(), today=TODAY)
        for notices in (answer.notices, comebacks(store, Settings()).notices):
            lines = [line for line in notices if "by one person alone" in line]
            assert len(lines) == said
            assert all(f"{by_one} of the 14" in line and "BT" not in line for line in lines)
    own = comebacks(empty_store, Settings(), by="BT")
    assert not any("by one person" in line for line in own.notices)


def test_what_two_people_noted_of_a_job_is_not_one_persons(empty_store: str) -> None:
    for number in range(14):
        job = plug_job(number, "BT")
        later = replace(job.contacts[0], on=job.contacts[0].on + timedelta(days=9))
        told = (job.contacts[0], later) if number < 6 else (later,)
        by = ("BT", "KS")
        signed = (replace(each, by=who) for each, who in zip(told, by, strict=False))
        put(empty_store, replace(job, contacts=tuple(signed)))
    notices = fixes(empty_store, "plug", Settings(), today=TODAY).notices
    # of all 14 BT noted something, of 8 of them alone: 57 %, which is not most
    assert not any("by one person" in line for line in notices)


def test_nobody_is_said_to_have_told_what_has_no_initials(empty_store: str) -> None:
    put(empty_store, *(plug_job(number, "BT") for number in range(14)))
    answer = fixes(empty_store, "plug", Settings(), today=TODAY)
    assert not any("by one person" in line for line in answer.notices)


def plug_job(number: int, technician: str) -> Job:
    day = date(2025, 1, 1)
    return Job(
        vehicle=Vehicle(ref=f"K{number}"),
        technician=technician,
        opened=day,
        closed=day,
        complaint="lamp on",
        cause=Cause(component="plug", failure_mode=FailureMode.OPEN),
        attempts=(Attempt(action=Action.CLEANED, component="plug", cured=True),),
        contacts=(Contact(on=day + timedelta(days=100), outcome=Outcome.HELD),),
    )


PLAIN_CHANGES = (
    "UPDATE contacts SET outcome = 'comeback' WHERE job_number IN (SELECT number FROM jobs "
    "WHERE cause_component = 'seat connector')",
    "UPDATE attempts SET cured = 0 WHERE job_number IN (SELECT number FROM jobs WHERE "
    "cause_component = 'seat connector' ORDER BY number LIMIT 5)",
    "UPDATE jobs SET void = 'never came' WHERE number IN (SELECT number FROM jobs WHERE "
    "cause_component = 'seat connector' ORDER BY number LIMIT 4)",
)


@pytest.mark.parametrize("kept_from", [fix_history.LEAST_KEPT, 10])
@pytest.mark.parametrize("change", PLAIN_CHANGES)
def test_rates_rest_on_what_is_in_the_store_whoever_wrote_it(
    demo_store: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, change: str, kept_from: int
) -> None:
    monkeypatch.setattr(fix_history, "LEAST_KEPT", kept_from)
    monkeypatch.setattr(kept_rates, "LEAST_KEPT", kept_from)
    shop = copied(demo_store, tmp_path)
    before = asked(shop).fixes
    put(shop, job("K900", CLOSED))  # a change that history tells of, of another cause
    question = Question(text="airbag lamp on after seat was moved")
    causes(shop, question, Settings())
    with closing(sqlite3.connect(shop)) as plain:
        assert plain.execute(change).rowcount
        plain.commit()
    other = str(back_up(shop, tmp_path / "other.sqlite"))  # without what is kept
    now, anew = asked(shop).fixes, asked(other).fixes
    assert [each.rate for each in now] == [each.rate for each in anew]
    assert [each.rate for each in now] != [each.rate for each in before]
    told = [causes(each, question, Settings(), limit=1) for each in (shop, other)]
    assert told[0].causes[0].fixes == told[1].causes[0].fixes


def test_an_untouched_store_is_not_read_through_for_its_rates_again(
    demo_store: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = copied(demo_store, tmp_path)
    asked(shop)
    calls: list[Repairs] = []
    digests = Repairs.digests

    def noted(repairs: Repairs) -> dict[str, str] | None:
        calls.append(repairs)
        return digests(repairs)

    monkeypatch.setattr(Repairs, "digests", noted)
    for _ in range(2):
        Path(shop).touch()
        time.sleep(0.2)  # then it is sure that nobody has written meanwhile
        calls.clear()
        asked(shop)
        assert len(calls) == 1
        asked(shop)
        assert len(calls) == 1
