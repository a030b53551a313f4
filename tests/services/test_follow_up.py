"""Following up: what is refused, what is asked, what an answer does to the list."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from rich.console import Console

from kb.case import (
    Action,
    Attempt,
    Cause,
    Contact,
    FailureMode,
    Job,
    Outcome,
    System,
    Vehicle,
)
from kb.errors import InvalidField, NoSuchJob
from kb.intake.distances import MOST_KM, parse_odometer
from kb.intake.single_facts import parse_contact
from kb.rates.doubt import found_wrong
from kb.rates.survival import Lifetime
from kb.rates.trials import trials
from kb.recurrence.pattern import Pattern
from kb.reports.causes import may_be_next
from kb.reports.fixes import denied
from kb.reports.job import render_sheet
from kb.reports.similar import render as render_similar
from kb.services.adding import add_line, add_part
from kb.services.ask import causes
from kb.services.editing import edit_job
from kb.services.fixes import fixes
from kb.services.follow_up import FollowUps, follow_ups, heard, only_visit
from kb.services.found_wrong import came_back, refuted_jobs
from kb.services.inquiry import Question
from kb.services.keeping import keep
from kb.services.lookup import JobSheet, show_job
from kb.services.mending import bring_back, void_job
from kb.services.scan import scan
from kb.services.similar import similar
from kb.services.troubleshoot import working_job
from kb.settings import RateSettings, Settings
from kb.store.database import open_store
from kb.store.unit_of_work import UnitOfWork

TODAY = date(2026, 3, 2)
CLOSED = date(2026, 1, 2)
DAY = timedelta(days=1)
ASKED = Question(text="door lock dead")


@pytest.fixture
def shop(empty_store: str) -> str:
    """One finished job of one car."""
    put(empty_store, job("K1", CLOSED, 80_000))
    return empty_store


def job(ref: str, day: date, km: int | None = None, component: str = "door plug") -> Job:
    return Job(
        vehicle=Vehicle(ref=ref, make="Corvane", model="Lido"),
        opened=day,
        closed=day,
        complaint="door lock dead",
        system=System.BODY_ELECTRICS,
        odometer_km=km,
        cause=Cause(component=component, failure_mode=FailureMode.OPEN),
        attempts=(Attempt(action=Action.CLEANED, component=component, cured=True),),
    )


def put(address: str, *jobs: Job) -> None:
    with UnitOfWork(open_store(address)) as work:
        for each in jobs:
            work.jobs.add(each)
        work.commit()


def lives(address: str) -> dict[int, Lifetime | None]:
    with UnitOfWork(open_store(address), read_only=True) as work:
        known = trials(work.repairs.all(), RateSettings(would_tell=1))
        return {each.job: each.life for each in known}


def listed(address: str, limit: int = 20) -> FollowUps:
    return follow_ups(address, Settings(), limit=limit, today=TODAY)


def test_an_answer_takes_the_car_off_the_list(shop: str) -> None:
    (car,) = listed(shop).cars
    assert (car.job, car.car, car.days, car.good_until) == (1, "K1 Corvane Lido", 59, 0)
    keep(shop, heard(shop, 1, Outcome.HELD, today=TODAY))
    assert listed(shop).total == 0
    (contact,) = show_job(shop, 1).job.contacts
    assert (contact.on, contact.outcome) == (TODAY, Outcome.HELD)


def test_what_cannot_have_been_is_refused_with_the_cure(shop: str) -> None:
    early, ahead = CLOSED - timedelta(days=1), TODAY + timedelta(days=1)
    with pytest.raises(InvalidField, match=r"2026-01-01.*before the handover.*--set closed=DAY"):
        heard(shop, 1, Outcome.HELD, on=early, today=TODAY)
    with pytest.raises(InvalidField, match="yet to come"):
        heard(shop, 1, Outcome.HELD, on=ahead, today=TODAY)
    with pytest.raises(InvalidField, match=r"79000.*less than the 80,000 km.*leave it out"):
        heard(shop, 1, Outcome.HELD, odometer_km=79_000, today=TODAY)
    with pytest.raises(InvalidField, match="this very job"):
        heard(shop, 1, Outcome.COMEBACK, job=1, today=TODAY)
    with pytest.raises(NoSuchJob):
        heard(shop, 9, Outcome.HELD, today=TODAY)
    open_job = Job(vehicle=Vehicle(), opened=CLOSED, complaint="lock dead")
    put(shop, open_job)
    with pytest.raises(InvalidField, match="open yet"):
        heard(shop, 2, Outcome.HELD, today=TODAY)


def test_a_return_is_shown_beside_the_first_complaint_and_asked_about(shop: str) -> None:
    put(shop, job("K1", CLOSED + timedelta(days=20), 81_000, component="lock motor"))
    found = listed(shop)
    (car, *_) = found.cars
    assert car.visit is not None
    assert (found.returns, car.job, car.visit.job, car.visit.cause) == (1, 1, 2, "lock motor: open")
    assert (car.opened, car.visit.on) == (CLOSED, CLOSED + timedelta(days=20))
    assert (car.complaint, car.visit.complaint) == ("door lock dead", "door lock dead")
    draft = heard(shop, 1, Outcome.COMEBACK, job=2, today=TODAY)
    (contact,) = draft.job.contacts
    assert (contact.on, contact.odometer_km) == (CLOSED + timedelta(days=20), 81_000)
    assert any("another part bad, lock motor" in notice for notice in draft.notices)
    assert "Job 2, opened 2026-01-22: “door lock dead”" in draft.notices
    keep(shop, draft)
    assert [each.job for each in listed(shop).cars] == [2]


@pytest.mark.parametrize("later", [None, System.CLIMATE])
def test_a_return_is_asked_about_though_an_import_named_no_system(
    empty_store: str, later: System | None
) -> None:
    first = replace(job("K1", CLOSED), complaint="blower dead on speeds 1 to 3", system=None)
    back = Job(
        vehicle=first.vehicle,
        opened=CLOSED + 30 * DAY,
        complaint="blower only works on top speed",
        system=later,
    )
    put(empty_store, first, back)
    found = listed(empty_store)
    assert [(car.job, car.visit.job) for car in found.cars if car.visit] == [(1, 2)]
    sheet = show_job(empty_store, 1)
    assert (sheet.job.system, sheet.about) == (None, System.CLIMATE)


def test_a_similar_job_that_came_back_is_never_told_as_held(shop: str) -> None:
    put(shop, job("K1", CLOSED + 40 * DAY, component="lock motor"))
    keep(shop, heard(shop, 1, Outcome.COMEBACK, job=2, today=TODAY))
    keep(shop, heard(shop, 1, Outcome.HELD, on=TODAY, today=TODAY))
    matches = similar(shop, ASKED, Settings()).matches
    (match,) = [each for each in matches if each.number == 1]
    assert match.heard == (
        "comeback, 2026-02-11, as #2, which proved lock motor: open; "
        "held 2026-03-02: does not count, as it came back"
    )
    sheet = show_job(shop, 1)
    assert sheet.uncounted == {"contacts[1]": "the car came back on 2026-02-11"}


def test_a_comeback_that_nobody_told_is_said_of_a_similar_job(shop: str) -> None:
    put(shop, job("K1", CLOSED + 40 * DAY))
    keep(shop, heard(shop, 1, Outcome.HELD, on=TODAY, today=TODAY))
    found = similar(shop, ASKED, Settings())
    (match,) = [each for each in found.matches if each.number == 1]
    assert match.heard == "held 2026-03-02: does not count, as it came back"
    assert match.again is not None
    console = Console(width=200, record=True)
    console.print(render_similar(found))
    assert "Came back: #2 of 2026-02-11 proved the same cause." in console.export_text()


@pytest.mark.parametrize(
    ("cured", "told"),
    [
        ((None, None), "replaced loom, cleaned door plug"),
        ((False, None), "cleaned door plug"),
        ((None, True), "cleaned door plug"),
    ],
)
def test_a_similar_job_tells_all_fixes_that_may_have_cured_it(
    empty_store: str, cured: tuple[bool | None, bool | None], told: str
) -> None:
    car = job("K1", CLOSED)
    loom = Attempt(action=Action.REPLACED, component="loom", cured=cured[0])
    put(empty_store, replace(car, attempts=(loom, replace(car.attempts[0], cured=cured[1]))))
    (match,) = similar(empty_store, ASKED, Settings()).matches
    assert match.fix == told


def test_a_fix_that_came_back_is_no_example_of_a_proof(shop: str) -> None:
    put(shop, replace(job("K2", CLOSED + 5 * DAY), proved_by="plug wiggled, lock ran"))
    put(shop, replace(job("K3", CLOSED + 3 * DAY), proved_by="4.1 V at the plug"))

    def told() -> list[int]:
        first = causes(shop, ASKED, Settings()).causes[0]
        return [first.proved.job] if first.proved else []

    assert told() == [2]
    keep(shop, heard(shop, 2, Outcome.COMEBACK, today=TODAY))
    assert told() == [3]
    keep(shop, heard(shop, 3, Outcome.COMEBACK, today=TODAY))
    assert told() == []


def test_returns_are_listed_however_short_the_list(shop: str) -> None:
    put(shop, job("K2", CLOSED))
    for ref in ("K1", "K2"):
        put(shop, job(ref, CLOSED + timedelta(days=20), component="lock motor"))
    found = listed(shop, limit=1)
    assert ([each.job for each in found.cars], found.returns) == ([1, 2, 3], 2)


def test_a_return_of_which_nothing_is_known_rests_and_is_listed_again(shop: str) -> None:
    put(shop, job("K1", CLOSED + timedelta(days=20), component="lock motor"))
    keep(shop, heard(shop, 1, Outcome.NOT_TOLD, job=2, today=TODAY))
    (contact,) = show_job(shop, 1).job.contacts
    assert (contact.on, contact.job) == (TODAY, 2)
    assert (listed(shop).returns, listed(shop).rested) == (0, 2)
    later = follow_ups(shop, Settings(), limit=20, today=TODAY + timedelta(days=30))
    assert later.returns == 1


@pytest.mark.parametrize(("km", "asked"), [(89_000, False), (89_001, True)])
def test_an_odometer_that_gained_more_than_a_car_is_driven_is_asked_about(
    shop: str, km: int, asked: bool
) -> None:
    on = CLOSED + timedelta(days=8)
    told = heard(shop, 1, Outcome.HELD, on=on, odometer_km=km, today=TODAY).notices
    assert any("than a car is driven" in each for each in told) is asked


def test_what_is_typed_as_a_contact_is_asked_about_by_every_way(shop: str) -> None:
    put(shop, replace(job("K2", CLOSED, km=50_000)))
    soon = Contact(on=CLOSED + timedelta(days=8), outcome=Outcome.HELD, odometer_km=140_000)
    (said,) = add_part(shop, 2, soon).notices
    assert "90,000 km since job 2 in 8 days is more than a car is driven" in said
    side = "came back, same noise but other side"
    for draft in (
        add_part(shop, 1, parse_contact(side, TODAY), side),
        add_line(shop, 1, side, today=TODAY),
        heard(shop, 1, Outcome.COMEBACK, words=side, today=TODAY),
    ):
        assert any("“other side”: if what was fixed still holds" in each for each in draft.notices)


def test_an_odometer_that_no_car_comes_to_is_refused_with_the_cure(shop: str) -> None:
    for refused in (
        lambda: heard(shop, 1, Outcome.HELD, odometer_km=MOST_KM + 1, today=TODAY),
        lambda: edit_job(shop, 1, [f"odometer_km={MOST_KM + 1}"], today=TODAY),
        lambda: parse_odometer(f"{MOST_KM + 1}"),
    ):
        with pytest.raises(InvalidField, match="is more than a car drives, 3,000,000 km at most"):
            refused()
    assert heard(shop, 1, Outcome.HELD, odometer_km=MOST_KM, today=TODAY)


def test_a_visit_is_of_the_same_car_and_after_the_handover(shop: str) -> None:
    put(shop, job("K2", CLOSED + timedelta(days=20)), job("K1", CLOSED - timedelta(days=20)))
    with pytest.raises(InvalidField, match="2 is of another car, K2 Corvane Lido"):
        heard(shop, 1, Outcome.COMEBACK, job=2, today=TODAY)
    with pytest.raises(InvalidField, match="3 was opened 2025-12-13, before the handover of job 1"):
        heard(shop, 1, Outcome.COMEBACK, job=3, today=TODAY)


def test_an_answer_against_a_proved_cause_is_asked_about_and_stands_on_the_page(shop: str) -> None:
    put(shop, job("K1", CLOSED + timedelta(days=20)))
    told = heard(shop, 1, Outcome.OTHER_REASON, job=2, today=TODAY)
    assert any("Job 2 proved the same cause" in each for each in told.notices)
    line = add_line(shop, 1, "held 2026-01-30 as job 2", today=TODAY)
    assert any("Job 2 proved the same cause" in each for each in line.notices)
    keep(shop, told)
    sheet = show_job(shop, 1)
    assert sheet.denied
    assert sheet.denied.number == 2
    assert not show_job(shop, 2).denied
    (fix,) = fixes(shop, "door plug", Settings(), today=TODAY).fixes
    assert denied(fix.rate) == "said to be another fault, but the same cause was proved: #1 by #2"


def test_a_visit_before_a_late_handover_is_asked_about_and_judged(empty_store: str) -> None:
    first = replace(job("K1", CLOSED), closed=CLOSED + timedelta(days=50))
    put(empty_store, first, job("K1", CLOSED + timedelta(days=20), component="striker"))
    (car,) = [each for each in listed(empty_store).cars if each.visit]
    assert (car.job, car.visit and car.visit.job) == (1, 2)
    told = heard(empty_store, 1, Outcome.COMEBACK, job=2, today=TODAY)
    assert told.job.contacts[-1].on == first.closed
    assert any("opened before the handover of job 1" in each for each in told.notices)
    keep(empty_store, told)
    assert lives(empty_store)[1] == Lifetime(1, failed=True)


def test_a_contact_added_by_hand_is_warned_of_with_the_cure(shop: str) -> None:
    short = Contact(on=CLOSED + timedelta(days=1), outcome=Outcome.HELD, odometer_km=79_000)
    told = " ".join(add_part(shop, 1, short).notices)
    assert "kb job edit 1 --set contacts[0].odometer_km=KM" in told


def test_fewer_kilometres_than_the_job_has_are_not_stored(shop: str) -> None:
    day = CLOSED + timedelta(days=30)
    line = add_line(shop, 1, f"held {day} at 79000 km", today=day)
    (heard_of,) = line.job.contacts
    assert (heard_of.outcome, heard_of.odometer_km) == (Outcome.HELD, None)
    assert "79,000 km is less than the 80,000 km" in " ".join(line.notices)
    short = Contact(on=day, outcome=Outcome.HELD, odometer_km=79_000)
    with pytest.raises(InvalidField, match="--set odometer_km=KM"):
        add_part(shop, 1, short, "held")


def test_a_visit_judged_as_another_reason_is_not_asked_about_again(shop: str) -> None:
    put(shop, job("K1", CLOSED + timedelta(days=20), component="lock motor"))
    keep(shop, heard(shop, 1, Outcome.OTHER_REASON, job=2, today=TODAY))
    assert all(each.visit is None for each in listed(shop).cars)


def test_the_same_cause_again_needs_no_asking(shop: str) -> None:
    put(shop, job("K1", CLOSED + timedelta(days=20)))
    found = listed(shop)
    assert (found.cars, found.needless) == ((), 1)  # a rate counts a car once, by its first job


def test_a_list_may_be_short_and_tells_of_how_many(shop: str) -> None:
    put(shop, *(job(f"K{n}", CLOSED) for n in range(2, 6)))
    found = listed(shop, limit=2)
    assert (len(found.cars), found.total) == (2, 5)


@pytest.mark.parametrize("on", [None, TODAY])
def test_a_comeback_told_late_counts_from_the_day_that_its_words_tell(
    shop: str, on: date | None
) -> None:
    told = heard(shop, 1, Outcome.COMEBACK, on=on, words="came back the next week", today=TODAY)
    assert told.job.contacts[0].on == CLOSED + timedelta(days=7)
    assert f"may be as early as 2026-01-09: kept as that, not as {TODAY}" in " ".join(told.notices)


@pytest.mark.parametrize(
    ("words", "outcome", "day"),
    [
        ("came back last month", Outcome.COMEBACK, date(2026, 2, 1)),
        ("came back last year", Outcome.COMEBACK, CLOSED),
        ("came back last spring", Outcome.COMEBACK, CLOSED),
        ("still fine last month", Outcome.HELD, date(2026, 2, 1)),
        ("all good three weeks ago", Outcome.HELD, TODAY - timedelta(days=21)),
        ("no noise in January", Outcome.HELD, CLOSED),
        ("fine since last month", Outcome.HELD, TODAY),
    ],
)
def test_a_time_of_no_one_day_gives_no_credit_for_more_than_it_tells(
    shop: str, words: str, outcome: Outcome, day: date
) -> None:
    """By hand, in a line and at follow-up alike, and one day is named, not two."""
    contact = replace(parse_contact(words, TODAY), outcome=outcome)
    drafts = [
        add_part(shop, 1, contact, words, today=TODAY),
        heard(shop, 1, outcome, words=words, today=TODAY),
    ]
    for each in drafts:
        assert each.job.contacts[-1].on == day
        assert not any("names no one day" in notice for notice in each.notices)


def test_a_line_that_begins_with_a_day_tells_of_that_day(shop: str) -> None:
    draft = add_line(shop, 1, "2026-02-01: came back last month", today=TODAY)
    assert [each.on for each in draft.job.contacts] == [date(2026, 2, 1)]
    draft = add_line(shop, 1, "came back last month", today=TODAY)
    assert [each.on for each in draft.job.contacts] == [date(2026, 2, 1)]
    assert not any("names no one day" in each for each in draft.notices)


def test_a_comeback_of_no_known_day_gives_no_credit_for_holding(shop: str) -> None:
    told = heard(shop, 1, Outcome.COMEBACK, today=TODAY)
    assert told.job.contacts[0].on == CLOSED
    assert told.job.contacts[0].words == f"comeback; heard of {TODAY}, its day not told"
    assert any("day it came back is not told" in notice for notice in told.notices)
    good = CLOSED + timedelta(days=30)
    keep(shop, heard(shop, 1, Outcome.HELD, on=good, today=TODAY))
    assert heard(shop, 1, Outcome.COMEBACK, today=TODAY).job.contacts[-1].on == (
        good + timedelta(days=1)
    )
    given = heard(shop, 1, Outcome.COMEBACK, on=TODAY, today=TODAY)
    assert given.job.contacts[-1].on == TODAY


def test_a_line_puts_a_comeback_where_its_words_have_it(shop: str) -> None:
    draft = add_line(shop, 1, "comeback after 2 weeks, same fault", today=TODAY)
    (contact,) = draft.job.contacts
    assert (contact.on, contact.outcome) == (CLOSED + timedelta(days=14), Outcome.COMEBACK)
    assert add_line(shop, 1, f"comeback {TODAY}", today=TODAY).job.contacts[0].on == TODAY


@pytest.mark.parametrize(
    ("words", "days"),
    [
        ("was fine for 2 weeks, then dead again", 14),
        ("fine for 6 weeks; fault back", 42),
        ("ok for a week. Then dead again.", 7),
        ("two good months, then it came back", 0),
        ("it never got better", 0),
        ("ging 3 Wochen, jetzt wieder kaputt", 0),
        ("dead again", 0),
        ("came back 2026-02-01", 30),
        ("came back on Saturday", 57),
        ("dead again today", 59),
    ],
)
def test_a_comeback_is_of_one_day_by_whatever_door_it_is_told(
    shop: str, words: str, days: int
) -> None:
    told = (
        add_line(shop, 1, words, today=TODAY),
        add_part(shop, 1, parse_contact(words, TODAY), words, today=TODAY),
        heard(shop, 1, Outcome.COMEBACK, words=words, today=TODAY),
    )
    for draft in told:
        assert [each.on for each in draft.job.contacts] == [CLOSED + timedelta(days)]


def test_a_month_that_was_over_at_the_handover_is_refused_by_every_door(shop: str) -> None:
    words, refused = "came back in December", "before the handover of job 1"
    with pytest.raises(InvalidField, match=refused):
        add_line(shop, 1, words, today=TODAY)
    with pytest.raises(InvalidField, match=refused):
        add_part(shop, 1, parse_contact(words, TODAY), words, today=TODAY)
    with pytest.raises(InvalidField, match=refused):
        heard(shop, 1, Outcome.COMEBACK, words=words, today=TODAY)
    told = add_line(shop, 1, "came back in January", today=TODAY).job.contacts
    assert [each.on for each in told] == [CLOSED]


def test_a_day_that_is_told_stands_though_it_is_today(shop: str) -> None:
    told = Contact(on=TODAY, outcome=Outcome.COMEBACK)
    draft = add_part(shop, 1, told, "comeback", day_told=True, today=TODAY)
    assert draft.job.contacts[0].on == TODAY


def test_a_comeback_since_a_day_is_of_that_day_whenever_it_was_heard_of(shop: str) -> None:
    words, on = "dead again since 12 January", date(2026, 2, 20)
    draft = heard(shop, 1, Outcome.COMEBACK, on=on, words=words, today=TODAY)
    assert draft.job.contacts[0].on == date(2026, 1, 12)


def test_a_visit_says_itself_since_when_the_fault_was_back(shop: str) -> None:
    back = replace(job("K1", date(2026, 2, 20)), complaint="door lock dead again since 12 January")
    put(shop, back)
    draft = heard(shop, 1, Outcome.COMEBACK, job=2, today=TODAY)
    assert draft.job.contacts[0].on == date(2026, 1, 12)
    assert any("By its words it was back before" in each for each in draft.notices)
    other = heard(shop, 1, Outcome.OTHER_REASON, job=2, today=TODAY)
    assert other.job.contacts[0].on == date(2026, 2, 20)


@pytest.mark.parametrize("words", ["tyres good", "brakes work again", "radiator dry"])
def test_another_part_that_is_well_is_no_hold(shop: str, words: str) -> None:
    told = parse_contact(words, TODAY)
    for draft in (
        add_part(shop, 1, told, words, today=TODAY),
        heard(shop, 1, told.outcome, words=words, today=TODAY),
    ):
        assert draft.job.contacts[0].outcome is Outcome.NOT_TOLD


def test_what_was_complained_of_again_is_a_comeback(shop: str) -> None:
    put(shop, replace(job("K2", CLOSED), complaint="heater cold", system=System.CLIMATE))
    (told,) = add_line(shop, 2, "heater cold again after 10 days", today=TODAY).job.contacts
    assert (told.outcome, told.on) == (Outcome.COMEBACK, CLOSED + timedelta(days=10))
    good = add_line(shop, 2, "heater warm again", today=TODAY).job.contacts
    assert Outcome.COMEBACK not in {each.outcome for each in good}


def test_a_visit_that_was_judged_is_not_judged_otherwise_beside_that(shop: str) -> None:
    put(shop, job("K1", CLOSED + timedelta(days=20)))
    keep(shop, heard(shop, 1, Outcome.COMEBACK, job=2, today=TODAY))
    cure = r'judged before: 2026-01-22 comeback.*"contacts\[0\]\.outcome=other reason"'
    with pytest.raises(InvalidField, match=cure):
        heard(shop, 1, Outcome.OTHER_REASON, job=2, today=TODAY)
    assert any(
        "judged before" in n
        for n in add_line(shop, 1, "in for tyres as job 2", today=TODAY).notices
    )
    assert not any(
        "judged" in n
        for n in heard(shop, 1, Outcome.COMEBACK, job=2, words="again", today=TODAY).notices
    )
    edit = edit_job(shop, 1, ["contacts[0].outcome=other reason"], today=TODAY)
    keep(shop, edit)
    assert lives(shop)[1] == Lifetime(20, failed=False)


@pytest.mark.parametrize(
    ("before", "after", "days", "said"),
    [
        (Outcome.COMEBACK, Outcome.HELD, 0, True),
        (Outcome.COMEBACK, Outcome.HELD, 9, True),
        (Outcome.HELD, Outcome.COMEBACK, 0, False),  # back after that, on a day not told
        (Outcome.HELD, Outcome.COMEBACK, 9, False),
        (Outcome.COMEBACK, Outcome.OTHER_REASON, 9, False),
        (Outcome.HELD, Outcome.HELD, 9, False),
    ],
)
def test_held_told_for_or_after_a_comeback_is_asked_about(
    shop: str, before: Outcome, after: Outcome, days: int, said: bool
) -> None:
    first = CLOSED + timedelta(days=20)
    keep(shop, heard(shop, 1, before, on=first, today=TODAY))
    told = heard(shop, 1, after, on=first + timedelta(days=days), today=TODAY)
    assert any("cannot both be so" in notice for notice in told.notices) is said


def test_a_hold_before_a_comeback_of_no_told_day_still_tells(shop: str) -> None:
    keep(shop, heard(shop, 1, Outcome.HELD, on=CLOSED + 20 * DAY, today=TODAY))
    draft = heard(shop, 1, Outcome.COMEBACK, words="leaking again since Easter", today=TODAY)
    assert not any("cannot both be so" in notice for notice in draft.notices)
    keep(shop, draft)
    assert lives(shop) == {1: Lifetime(21, failed=True)}
    assert show_job(shop, 1).uncounted == {}
    (match,) = similar(shop, ASKED, Settings()).matches
    assert match.heard == f"comeback, {CLOSED + 21 * DAY}"


def test_a_comeback_stands_once_its_visit_is_void(shop: str) -> None:
    put(shop, job("K1", CLOSED + timedelta(days=20), component="lock motor"))
    keep(shop, heard(shop, 1, Outcome.COMEBACK, job=2, today=TODAY))
    assert lives(shop)[1] == Lifetime(20, failed=True)
    void = void_job(shop, 2, "told twice")
    assert any("2026-01-22 comeback. It still counts" in notice for notice in void.notices)
    keep(shop, void)
    assert lives(shop) == {1: Lifetime(20, failed=True)}
    assert show_job(shop, 1).uncounted == {}
    (match, *_) = similar(shop, ASKED, Settings()).matches
    assert match.heard == "comeback, 2026-01-22, as #2, which is void"
    keep(shop, bring_back(shop, 2))
    assert lives(shop)[1] == Lifetime(20, failed=True)


def test_what_a_void_visit_was_for_counts_no_more(shop: str) -> None:
    put(shop, job("K1", CLOSED + timedelta(days=20), component="lock motor"))
    keep(shop, heard(shop, 1, Outcome.OTHER_REASON, job=2, today=TODAY))
    void = void_job(shop, 2, "told twice")
    assert any("That counts no more" in notice for notice in void.notices)
    keep(shop, void)
    assert lives(shop) == {1: Lifetime(0, failed=False)}


def test_a_visit_judged_another_fault_is_named(shop: str) -> None:
    put(shop, job("K1", CLOSED + timedelta(days=20), component="lock motor"))
    keep(shop, heard(shop, 1, Outcome.OTHER_REASON, job=2, today=TODAY))
    (said,) = show_job(shop, 1).found_since
    assert "#2 of 2026-01-22 was judged to be for another fault, which proved lock motor" in said
    assert said in " ".join(printed(show_job(shop, 1)).split())


def test_a_job_is_no_past_job_beside_itself(empty_store: str) -> None:
    put(empty_store, *(job(f"K{number}", CLOSED, component="fuse box") for number in range(6)))
    asked = Question(job=3)
    found = causes(empty_store, asked, Settings())
    assert found.cases == similar(empty_store, asked, Settings()).jobs == 5
    assert [each.all_jobs for each in found.causes] == [5]
    assert causes(empty_store, Question(text="door lock dead"), Settings()).cases == 6


def test_a_cause_found_wrong_says_so_and_counts_less(empty_store: str) -> None:
    for number in (1, 2, 3):
        first = job(f"K{number}", CLOSED, component="fuse box")
        again = job(f"K{number}", CLOSED + timedelta(days=10), component="ignition switch")
        put(empty_store, first, again)
    asked = Question(text="door lock dead")
    before = {each.cause.component: each for each in causes(empty_store, asked, Settings()).causes}
    assert before["fuse box"].wrong is None
    for number in (1, 3, 5):
        draft = heard(empty_store, number, Outcome.COMEBACK, job=number + 1, today=TODAY)
        keep(empty_store, draft)
    now = {each.cause.component: each for each in causes(empty_store, asked, Settings()).causes}
    assert show_job(empty_store, 1).found_since == (
        f"Its cause was found wrong: back with the same fault, #2 of {CLOSED + 10 * DAY} proved "
        "ignition switch: open.",
    )
    assert show_job(empty_store, 2).found_since == ()
    wrong = now["fuse box"].wrong
    assert wrong is not None
    assert (wrong.jobs, wrong.cases, wrong.then) == ((1, 3, 5), 3, ("ignition switch",))
    assert now["fuse box"].chance < before["fuse box"].chance / 2
    assert now["ignition switch"].wrong is None
    for part in ("fuse box", "ignition switch"):
        page = fixes(empty_store, part, Settings(), today=TODAY)
        said = "#3 was taken for fuse box: open: back with the same fault, #4 proved ignition"
        assert any(said in notice for notice in page.notices)
    assert now["ignition switch"].chance > before["ignition switch"].chance


def test_a_cause_found_wrong_no_longer_keeps_coming_back(empty_store: str) -> None:
    """As `kb causes` tells it, so does the foreman's page."""
    for number in range(5):
        first = job(f"K{number}", CLOSED, component="fuse box")
        put(empty_store, first, job(f"K{number}", CLOSED + 10 * DAY, component="ignition switch"))
    kiri = Vehicle(make="Sunato", model="Kiri")
    for number in range(30):
        other = job("S", CLOSED, component="mirror" if number % 2 else "horn")
        put(empty_store, replace(other, vehicle=replace(kiri, ref=f"S{number}")))

    def told() -> dict[str, Pattern]:
        return {
            e.pattern.component: e.pattern
            for e in scan(empty_store, Settings(), today=date(2026, 11, 1)).facts
        }

    assert told().keys() == {"fuse box", "ignition switch"}
    for number in (1, 3, 5, 7):
        draft = heard(empty_store, number, Outcome.COMEBACK, job=number + 1, today=TODAY)
        keep(empty_store, draft)
    now = told()
    assert now.keys() == {"ignition switch"}
    assert now["ignition switch"].counts.observed == 5
    assert now["ignition switch"].refuted == ()


def test_a_part_that_failed_in_another_way_was_not_found_wrong(empty_store: str) -> None:
    again = job("K1", CLOSED + 10 * DAY)
    mode = Cause(component="door plug", failure_mode=FailureMode.LOOSE)
    put(empty_store, job("K1", CLOSED), replace(again, cause=mode))
    put(empty_store, job("K2", CLOSED), job("K2", CLOSED + 10 * DAY, component="loom"))
    for number in (1, 3):
        draft = heard(empty_store, number, Outcome.COMEBACK, job=number + 1, today=TODAY)
        keep(empty_store, draft)
    with UnitOfWork(open_store(empty_store), read_only=True) as work:
        assert {each.number for each in found_wrong(came_back(work))} == {1, 3}
        assert refuted_jobs(work) == {3}


def test_a_cause_found_wrong_names_what_it_proved_in_the_end(empty_store: str) -> None:
    days = [CLOSED + timedelta(days=10 * n) for n in range(4)]
    for ref, parts in (("K1", ("fuse box", "loom", "water pump")), ("K2", ("fuse box", "switch"))):
        put(
            empty_store,
            *(job(ref, day, component=part) for part, day in zip(parts, days, strict=False)),
        )
    put(empty_store, *(job("K3", day, component="fuse box") for day in days[:2]))
    put(empty_store, job("K3", days[2], component="relay"))
    for number in (1, 2, 6, 7):  # each names the next job of its car
        keep(empty_store, heard(empty_store, number, Outcome.COMEBACK, job=number + 1, today=TODAY))
    # rung before the car's own job was opened, and never linked
    keep(empty_store, heard(empty_store, 4, Outcome.COMEBACK, on=days[1] - DAY, today=TODAY))
    found = {
        each.cause.component: each.wrong for each in causes(empty_store, ASKED, Settings()).causes
    }
    wrong = found["fuse box"]
    assert wrong is not None
    assert (wrong.jobs, wrong.cases) == ((1, 4, 6, 7), 4)
    assert set(wrong.then) == {"water pump", "switch", "relay"}
    assert wrong.then[0] == "relay"
    loom = found["loom"]
    assert loom is not None
    assert loom.then == ("water pump",)


def test_a_comeback_that_names_no_job_is_of_no_visit_for_something_else(empty_store: str) -> None:
    later = CLOSED + timedelta(days=10)
    tyres = replace(job("K1", later, component="tyre"), complaint="two tyres", system=None)
    put(empty_store, job("K1", CLOSED, component="fuse box"), tyres)
    keep(empty_store, heard(empty_store, 1, Outcome.COMEBACK, on=later - DAY, today=TODAY))
    with UnitOfWork(open_store(empty_store), read_only=True) as work:
        assert came_back(work) == []


def test_a_cause_whose_cars_came_back_counts_less_before_anybody_judges(empty_store: str) -> None:
    for number in (1, 2, 3, 4):
        first = job(f"K{number}", CLOSED, component="fuse box")
        again = job(f"K{number}", CLOSED + timedelta(days=10), component="ignition switch")
        put(empty_store, first, again)
    answer = causes(empty_store, Question(text="door lock dead"), Settings())
    found = {each.cause.component: each for each in answer.causes}
    assert answer.causes[0].cause.component == "ignition switch"
    assert found["fuse box"].chance < found["ignition switch"].chance / 2
    assert (found["fuse box"].came_back, found["ignition switch"].came_back) == (4, 0)


def test_an_open_comeback_is_not_given_the_same_fix_again(empty_store: str) -> None:
    open_again = replace(
        job("K1", CLOSED + timedelta(days=9)), closed=None, cause=None, attempts=()
    )
    put(empty_store, job("K1", CLOSED), job("K2", CLOSED), job("K3", CLOSED), open_again)
    before = causes(empty_store, Question(job=4), Settings())
    assert before.came_back == {}
    assert may_be_next(before, before.causes[0].fixes[0])
    keep(empty_store, heard(empty_store, 1, Outcome.COMEBACK, job=4, today=TODAY))
    after = causes(empty_store, Question(job=4), Settings())
    assert after.came_back == {1: "cleaned door plug"}
    assert after.causes[0].chance < before.causes[0].chance
    assert not any(may_be_next(after, fix) for each in after.causes for fix in each.fixes)
    now = datetime(2026, 3, 2, tzinfo=UTC)
    working = working_job(empty_store, 4, Settings(), who=None, now=now)
    assert working.came_back == after.came_back
    assert "cleaned door plug" not in [step.title for step in working.advice.steps]


def test_a_comeback_that_proved_the_same_cause_was_no_wrong_diagnosis(empty_store: str) -> None:
    put(empty_store, job("K1", CLOSED), job("K1", CLOSED + timedelta(days=10)))
    keep(empty_store, heard(empty_store, 1, Outcome.COMEBACK, job=2, today=TODAY))
    with UnitOfWork(open_store(empty_store), read_only=True) as work:
        assert found_wrong(came_back(work)) == []


def test_one_return_need_not_be_named_and_stands_on_the_job_until_it_is_judged(
    empty_store: str,
) -> None:
    put(empty_store, job("K1", CLOSED), job("K1", CLOSED + timedelta(days=9), component="loom"))
    back = show_job(empty_store, 1).back
    assert back is not None
    assert back.number == only_visit(empty_store, 1) == 2
    (match,) = [each for each in similar(empty_store, ASKED, Settings()).matches if each.back]
    assert match.number == 1
    keep(empty_store, heard(empty_store, 1, Outcome.OTHER_REASON, job=2, today=TODAY))
    assert show_job(empty_store, 1).back is None
    assert only_visit(empty_store, 1) is None
    put(empty_store, job("K2", CLOSED), *[job("K2", TODAY, component=c) for c in ("a", "b")])
    assert only_visit(empty_store, 3) is None


@pytest.mark.parametrize(
    ("named", "outcome"),
    [(None, Outcome.COMEBACK), (None, Outcome.OTHER_REASON), (1, Outcome.COMEBACK)],
)
def test_a_return_told_of_an_earlier_job_is_judged_by_a_bare_answer(
    shop: str, named: int | None, outcome: Outcome
) -> None:
    put(shop, job("K1", CLOSED + timedelta(days=20), component="lock motor"))
    back = CLOSED + timedelta(days=45)
    keep(shop, heard(shop, 1, Outcome.COMEBACK, on=back, today=TODAY))
    (car,) = listed(shop).cars
    assert car.visit is not None
    assert (car.job, car.visit.job, car.visit.told_of, car.visit.on) == (2, 1, 1, back)
    (rated,) = fixes(shop, "lock motor", Settings(), today=TODAY).fixes
    assert [(each.job, each.visit) for each in rated.rate.unjudged] == [(2, 1)]
    assert rated.rate.unheard == 0
    seen = show_job(shop, 2).back
    assert seen is not None
    assert seen.told_of == 1
    job_named = named or only_visit(shop, 2)
    draft = heard(shop, 2, outcome, job=job_named, today=TODAY)
    assert any("told of job 1" in notice for notice in draft.notices)
    assert (draft.job.contacts[-1].on, draft.job.contacts[-1].job) == (back, None)
    keep(shop, draft)
    assert show_job(shop, 2).back is None
    (rated,) = fixes(shop, "lock motor", Settings(), today=TODAY).fixes
    assert len(rated.rate.came_back) == (outcome is Outcome.COMEBACK)


def test_what_counts_for_nothing_is_marked_so_on_the_page(shop: str) -> None:
    put(shop, job("K1", CLOSED + timedelta(days=20), component="lock motor"))
    keep(shop, heard(shop, 1, Outcome.OTHER_REASON, job=2, today=TODAY))
    soon = heard(shop, 1, Outcome.HELD, on=CLOSED, today=TODAY)
    assert any("too soon to tell that a fix held" in notice for notice in soon.notices)
    keep(shop, soon)
    keep(shop, heard(shop, 2, Outcome.HELD, today=TODAY))
    assert show_job(shop, 1).uncounted == {
        "contacts[1]": "the day of the handover tells nothing",
    }
    assert show_job(shop, 2).uncounted == {}
    keep(shop, void_job(shop, 2, "told twice"))
    assert show_job(shop, 1).uncounted["contacts[0]"] == "job 2 is void"
    void = show_job(shop, 2)
    assert void.uncounted == dict.fromkeys(("attempts[0]", "contacts[0]"), "the job is void")
    assert "held (counts for nothing: the job is void)" in " ".join(printed(void).split())
    (rated,) = fixes(shop, "door plug", Settings(), today=TODAY).fixes
    assert rated.rate.unheard == 1


def printed(sheet: JobSheet) -> str:
    console = Console(width=80)
    with console.capture() as captured:
        console.print(render_sheet(sheet))
    return captured.get()


@pytest.mark.parametrize("joined", [True, False])
def test_a_car_without_a_tag_is_one_once_an_answer_joins_its_jobs(
    empty_store: str, joined: bool
) -> None:
    """Counted by hand: two jobs of unknown cars are two cars, joined ones are one that failed."""
    later = CLOSED + 20 * DAY
    untagged = Vehicle(make="Corvane", model="Lido")
    put(empty_store, *(replace(job("K1", day), vehicle=untagged) for day in (CLOSED, later)))
    if joined:
        told = heard(empty_store, 1, Outcome.COMEBACK, job=2, today=TODAY)
        keep(empty_store, told)
    (fix,) = fixes(empty_store, "door plug", Settings(), today=TODAY).fixes
    assert fix.rate.tried == (1 if joined else 2)
    assert fix.rate.again == (1 if joined else 0)
    assert fix.rate.came_back == ((20.0,) if joined else ())
