"""What is noticed before a job is stored."""

from datetime import date, timedelta

import pytest

from kb.case import Job, Stage
from kb.errors import InvalidField
from kb.intake.readings import parse_reading
from kb.intake.single_facts import parse_contact
from kb.services.adding import add_line, add_part
from kb.services.closing import Closing, close_job
from kb.services.drafts import Draft
from kb.services.editing import edit_job
from kb.services.keeping import keep
from kb.services.mending import edit_part, void_job
from kb.services.new_job import Opening, open_job
from kb.settings import Settings

TODAY = date(2026, 3, 2)
FUTURE = date.today() + timedelta(days=2)


def draft(address: str, text: str = "no crank", **given: object) -> Draft:
    return open_job(address, Opening(text=text, **given), today=TODAY)  # type: ignore[arg-type]


def opened(address: str, text: str = "no crank", **given: object) -> Job:
    return keep(address, draft(address, text, **given)).job


def told(made: Draft) -> str:
    return "\n".join(made.notices)


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(1901, 3, 2), "opened on 1901-03-02: check the day."),
        (date(2010, 3, 2), "opened on 2010-03-02, and the car is of 2014: check the day."),
        (date(2013, 3, 2), None),  # sold in the year before its model year
        (TODAY, None),
    ],
)
def test_a_day_before_the_car_was_built_is_asked_about(
    empty_store: str, day: date, said: str | None
) -> None:
    car = None if said and "1901" in said else "Corvane Lido 2014"
    made = draft(empty_store, vehicle=car, opened=day)
    assert [each for each in made.notices if "check the day" in each] == (
        [f"The job is told to be {said}"] if said else []
    )
    job = keep(empty_store, made).job
    later = edit_job(empty_store, job.number or 0, ["notes=paid"], today=TODAY)
    assert "check the day" not in told(later)  # it was asked about before


@pytest.fixture
def shop(empty_store: str) -> str:
    opened(empty_store, ref="K025", vehicle="Corvane Lido 2015", odometer_km=81_000)
    return empty_store


@pytest.mark.parametrize("text", ["12.6 V", "42", "corvane lido 2015", "K025"])
def test_a_number_or_a_car_alone_opens_no_job(shop: str, text: str) -> None:
    with pytest.raises(InvalidField, match="and nothing else"):
        draft(shop, text)


def test_with_a_code_it_does(shop: str) -> None:
    assert draft(shop, "corvane lido", codes=("P0335",)).job.complaint == "corvane lido"


@pytest.mark.parametrize("ref", ["corvane lido 2016", "Lido", "corvne lido", "Zephyra Bolt 2014"])
def test_a_car_in_place_of_the_key_tag_is_taken_as_the_car(shop: str, ref: str) -> None:
    made = draft(shop, ref=ref)
    assert made.job.vehicle.ref is None
    assert made.job.vehicle.model in {"Lido", "Bolt"}
    assert "names a car and was not taken as its key tag" in told(made)


@pytest.mark.parametrize("ref", ["K077", "red 7", "12", "K025", "k025"])
def test_a_tag_is_a_tag(shop: str, ref: str) -> None:
    made = draft(shop, ref=ref)
    assert made.job.vehicle.ref == ("K025" if ref == "k025" else ref)
    assert "names a car" not in told(made)


def test_a_tag_like_one_of_the_shop_s_is_asked_about(shop: str) -> None:
    assert "if K025 is meant, give that" in told(draft(shop, ref="K02S"))


def test_a_mistyped_tag_in_the_complaint_is_asked_about(shop: str) -> None:
    assert "“KO25” is no key tag of the shop's; if K025 is meant" in told(
        draft(shop, "KO25 no crank")
    )
    assert "is no key tag" not in told(draft(shop, "K025 no crank, P0335, 12V"))


def test_a_mistyped_tag_is_no_make(shop: str) -> None:
    made = draft(shop, vehicle="K02S")
    assert made.job.vehicle.make is None
    assert "“K02S” is no key tag of the shop's" in told(made)
    assert "write K025 if that is meant" in told(made)


def test_an_odometer_below_the_last_one_is_said(shop: str) -> None:
    assert "80,000 km is less than the 81,000 km of job 1" in told(
        draft(shop, ref="K025", odometer_km=80_000)
    )
    assert draft(shop, ref="K025", odometer_km=80_000).misspelt  # nothing is stored at Enter
    assert not draft(shop, ref="K025", odometer_km=81_000).misspelt
    assert "is less than" not in told(draft(shop, ref="K025", odometer_km=81_000))
    assert "is less than" not in told(draft(shop, ref="K026", odometer_km=80_000))


@pytest.mark.parametrize("ref", ["80.000", "8o000", "84 tkm", "81500"])
def test_a_distance_in_place_of_a_key_tag_is_said(shop: str, ref: str) -> None:
    assert f"“{ref}” may be a distance" in told(draft(shop, ref=ref))


@pytest.mark.parametrize("ref", ["K026", "207", "red 7", "B1234"])
def test_a_key_tag_is_no_distance(shop: str, ref: str) -> None:
    assert "may be a distance" not in told(draft(shop, ref=ref))


def test_where_tags_are_such_numbers_nothing_is_said_of_them(shop: str) -> None:
    opened(shop, ref="81500", vehicle="Sunato Kiri")
    assert "may be a distance" not in told(draft(shop, ref="81501"))


def test_an_odometer_that_an_edit_turns_back_is_asked_about(shop: str) -> None:
    less = told(edit_job(shop, 1, ["odometer_km=8"], today=TODAY))
    assert "8 km is less than the 81,000 km that stood here" in less
    assert "is less than" not in told(edit_job(shop, 1, ["odometer_km=82000"], today=TODAY))
    again = opened(shop, ref="K025", odometer_km=90_000).number or 0
    assert "of job 1 on" in told(edit_job(shop, again, ["odometer_km=80500"], today=TODAY))


def test_a_distance_told_with_a_car_anew_is_the_odometers(shop: str) -> None:
    for made in (
        edit_part(shop, 1, 1, "corvane lido 2016, 91k", today=TODAY),
        edit_job(shop, 1, ["vehicle=91 000 km corvane lido 2016"], today=TODAY),
    ):
        job = made.job
        assert (job.vehicle.label, job.vehicle.year, job.odometer_km) == (
            "Corvane Lido 2016",
            2016,
            91_000,
        )
    less = told(edit_part(shop, 1, 1, "corvane lido 2016, 9k", today=TODAY))
    assert "9,000 km is less than the 81,000 km that stood here" in less


def test_a_car_told_anew_keeps_its_key_tag_or_it_is_said(shop: str) -> None:
    for made in (
        edit_part(shop, 1, 1, "corvane lido 2016", today=TODAY),
        edit_job(shop, 1, ["vehicle=lido 2016"], today=TODAY),
    ):
        assert (made.job.vehicle.ref, made.job.vehicle.year) == ("K025", 2016)
    other = edit_part(shop, 1, 1, "sunato kiri 2018", today=TODAY)
    assert other.job.vehicle.ref is None
    assert "will have no key tag; it had K025" in told(other)
    assert edit_part(shop, 1, 1, "K026", today=TODAY).job.vehicle.ref == "K026"


def test_days_to_come_are_refused_wherever_they_are_told(shop: str) -> None:
    closing = Closing(cause="worn starter", closed=FUTURE)
    contact = parse_contact(f"held {FUTURE}", TODAY)
    with pytest.raises(InvalidField, match="is still to come"):
        draft(shop, opened=FUTURE)
    with pytest.raises(InvalidField, match="is still to come"):
        close_job(shop, 1, closing, Settings(), today=TODAY)
    with pytest.raises(InvalidField, match="is still to come"):
        add_part(shop, 1, contact)
    with pytest.raises(InvalidField, match="is still to come"):
        add_line(shop, 1, f"held {FUTURE}", today=TODAY)
    with pytest.raises(InvalidField, match="is still to come"):
        edit_job(shop, 1, [f"opened={FUTURE}"], today=TODAY)


def test_a_reading_typed_after_a_fix_is_asked_about(shop: str) -> None:
    before = add_line(shop, 1, "battery 12.1 V", today=TODAY)
    assert "Kept as found" not in told(before)
    keep(shop, add_line(shop, 1, "replaced battery, cured", today=TODAY))
    after = add_line(shop, 1, "battery 12.7 V", today=TODAY)
    assert "Kept as found, though replaced battery was tried before" in told(after)
    assert '--set "readings[0].stage=after the fix"' in told(after)
    mended = edit_job(
        shop, keep(shop, after).job.number or 0, ["readings[0].stage=after the fix"], today=TODAY
    )
    assert mended.job.readings[0].stage is Stage.AFTER_FIX
    assert "Kept as found" in told(add_part(shop, 1, parse_reading("battery 12.8 V")))


def test_a_fix_at_closing_that_its_words_deny_is_refused(shop: str) -> None:
    for fix, cured in (("replaced coil, not cured", True), ("replaced coil, cured", False)):
        closing = Closing(cause="worn starter", fix=fix, cured=cured)
        with pytest.raises(InvalidField, match="tells two things"):
            close_job(shop, 1, closing, Settings(), today=TODAY)


def test_an_earlier_fix_told_otherwise_at_closing_is_said(shop: str) -> None:
    keep(shop, add_line(shop, 1, "replaced battery, no change", today=TODAY))
    closing = Closing(cause="worn starter", cured=True)
    made = close_job(shop, 1, closing, Settings(), today=TODAY)
    assert "but its words say not cured" in told(made)


def test_what_is_added_to_a_void_job_is_said_to_count_nowhere(shop: str) -> None:
    assert "is void" not in told(add_line(shop, 1, "battery 12.1 V", today=TODAY))
    keep(shop, void_job(shop, 1, "told twice"))
    assert "Job 1 is void (told twice)" in told(add_line(shop, 1, "battery 12.1 V", today=TODAY))
