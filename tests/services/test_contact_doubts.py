"""An answer that leaves a return open, one told twice, and work that came after a comeback."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from kb.case import Action, Attempt, Contact, Outcome
from kb.errors import InvalidField
from kb.intake.single_facts import parse_contact
from kb.services.adding import add_line, add_part
from kb.services.drafts import Draft
from kb.services.editing import edit_job
from kb.services.fixes import fixes
from kb.services.follow_up import heard
from kb.services.keeping import keep
from kb.services.lookup import show_job
from kb.services.mending import remove_part, take_back, taking_back
from kb.settings import Settings
from tests.services.test_follow_up import CLOSED, TODAY, job, put, shop

__all__ = ["shop"]  # a fixture

BACK = CLOSED + timedelta(days=9)


@pytest.fixture
def returned(shop: str) -> str:
    """The car of the shop's one job was back with the same words, and nobody has judged it."""
    put(shop, job("K1", BACK, component="loom"))
    return shop


def good_news(address: str, way: str, on: date) -> Draft:
    if way == "answer":
        return heard(address, 1, Outcome.HELD, on=on, today=TODAY)
    if way == "part":
        return add_part(address, 1, Contact(on=on, outcome=Outcome.HELD), today=TODAY)
    return add_line(address, 1, f"held {on}", today=TODAY)


@pytest.mark.parametrize("way", ["answer", "part", "line"])
def test_good_news_says_which_return_it_leaves_open(returned: str, way: str) -> None:
    said = [each for each in good_news(returned, way, TODAY).notices if "not judged" in each]
    assert len(said) == 1
    assert said[0].startswith(f"Job 2 of {BACK}, “door lock dead”, was for something alike")


@pytest.mark.parametrize("way", ["answer", "part", "line"])
def test_good_news_of_before_a_return_leaves_nothing_more_to_say(returned: str, way: str) -> None:
    told = good_news(returned, way, BACK - timedelta(days=1))
    assert not [each for each in told.notices if "not judged" in each]


LOOM = Attempt(action=Action.REPLACED, component="loom", cured=True)
LATER_FIX = {
    "part": lambda address: add_part(address, 1, LOOM, today=TODAY),
    "line": lambda address: add_line(address, 1, "replaced loom, cured", today=TODAY),
    "edit": lambda address: edit_job(address, 1, ["attempts[1]=replaced loom, cured"], today=TODAY),
}


def counted(address: str) -> dict[str, tuple[int, int]]:
    """Say of each fix how often it was tried, and how often it came back."""
    found = fixes(address, "door plug", Settings(), today=TODAY).fixes
    return {each.rate.label: (each.rate.tried, len(each.rate.came_back)) for each in found}


@pytest.mark.parametrize("way", LATER_FIX)
@pytest.mark.parametrize("outcome", [Outcome.COMEBACK, Outcome.HELD])
def test_no_later_fix_takes_over_what_was_heard_of_another(
    shop: str, way: str, outcome: Outcome
) -> None:
    assert LATER_FIX[way](shop).job.attempts[-1].component == "loom"  # nothing was heard yet
    keep(shop, heard(shop, 1, outcome, on=BACK, today=TODAY))
    before = counted(shop)
    with pytest.raises(InvalidField, match=f"{outcome} was told .{BACK}.*a job of its own"):
        LATER_FIX[way](shop)
    assert counted(shop) == before == {"cleaned door plug": (1, int(outcome is Outcome.COMEBACK))}


def test_a_line_that_tells_of_both_is_not_taken(shop: str) -> None:
    with pytest.raises(InvalidField, match="may not be the one of which comeback was told"):
        add_line(shop, 1, f"came back {BACK}; replaced loom, cured", today=TODAY)


def test_what_a_colleague_heard_meanwhile_is_not_taken_over_either(shop: str) -> None:
    draft = LATER_FIX["part"](shop)
    keep(shop, heard(shop, 1, Outcome.COMEBACK, on=BACK, today=TODAY))
    with pytest.raises(InvalidField, match="a job of its own"):
        keep(shop, draft)
    assert counted(shop) == {"cleaned door plug": (1, 1)}


def test_an_answer_that_tells_nothing_is_in_nobodys_way(shop: str) -> None:
    keep(shop, heard(shop, 1, Outcome.NOT_TOLD, on=BACK, today=TODAY))
    assert LATER_FIX["part"](shop).job.attempts[-1] == LOOM


def test_a_fix_taken_out_after_a_comeback_can_be_brought_back(shop: str) -> None:
    keep(shop, LATER_FIX["part"](shop))
    keep(shop, heard(shop, 1, Outcome.COMEBACK, on=BACK, today=TODAY))
    page = show_job(shop, 1)
    number = next(each.number for each in page.parts if each.field == "attempts[1]")
    keep(shop, remove_part(shop, 1, number))
    take_back(shop, taking_back(shop, who=None), who=None)
    assert show_job(shop, 1).job.attempts[-1] == LOOM


def test_the_first_fix_of_a_job_that_came_back_is_said_to_be_what_came_back(shop: str) -> None:
    page = show_job(shop, 1)
    number = next(each.number for each in page.parts if each.field == "attempts[0]")
    keep(shop, remove_part(shop, 1, number))
    keep(shop, heard(shop, 1, Outcome.COMEBACK, on=BACK, today=TODAY))
    said = LATER_FIX["part"](shop).notices
    assert any(
        "no fix was recorded: “replaced loom” counts as done before" in each for each in said
    )


SAME_WAY = {
    "answer": lambda address: heard(address, 1, Outcome.HELD, on=BACK, words="ok", today=TODAY),
    "part": lambda address: add_part(
        address, 1, Contact(on=BACK, outcome=Outcome.HELD, words="ok"), today=TODAY
    ),
}


@pytest.mark.parametrize("way", SAME_WAY)
def test_the_same_answer_is_stored_once(shop: str, way: str) -> None:
    keep(shop, SAME_WAY["answer"](shop), who="BT")
    with pytest.raises(InvalidField, match=f"“held” of {BACK} is told already"):
        SAME_WAY[way](shop)
    assert len(show_job(shop, 1).job.contacts) == 1


@pytest.mark.parametrize("more", [{"words": "rang again"}, {"on": BACK + timedelta(days=1)}])
def test_another_day_or_other_words_are_another_answer(shop: str, more: dict[str, object]) -> None:
    keep(shop, SAME_WAY["answer"](shop))
    told: dict[str, object] = {"on": BACK, "words": "ok", "today": TODAY}
    keep(shop, heard(shop, 1, Outcome.HELD, **told | more))  # type: ignore[arg-type]
    assert len(show_job(shop, 1).job.contacts) == 2


def test_a_line_told_twice_stores_no_second_answer_but_what_is_new(shop: str) -> None:
    keep(shop, add_line(shop, 1, f"held {BACK}", today=TODAY))
    with pytest.raises(InvalidField, match="nothing new"):
        add_line(shop, 1, f"held {BACK}", today=TODAY)
    draft = add_line(shop, 1, f"held {BACK}; battery 12.6 V", today=TODAY)
    told = [each for each in draft.notices if "not stored twice" in each]
    assert len(told) == 1
    assert (len(draft.job.contacts), len(draft.job.readings)) == (1, 1)


def test_two_who_tell_the_same_at_once_store_it_once(shop: str) -> None:
    both = SAME_WAY["answer"](shop), SAME_WAY["answer"](shop)
    keep(shop, both[0], who="BT")
    with pytest.raises(InvalidField, match="told already"):
        keep(shop, both[1], who="JO")
    assert len(show_job(shop, 1).job.contacts) == 1


def test_an_edited_contact_is_doubted_as_an_added_one(shop: str) -> None:
    keep(shop, add_part(shop, 1, Contact(on=BACK, outcome=Outcome.HELD), today=TODAY), who="BT")
    later = Contact(on=TODAY, outcome=Outcome.HELD)
    keep(shop, add_part(shop, 1, later, today=TODAY), who="BT")
    draft = edit_job(shop, 1, ["contacts[0].outcome=comeback"], today=TODAY)
    assert [each for each in draft.notices if "cannot both be so" in each]
    assert [each for each in draft.notices if f"comeback counts for {BACK}, the day of" in each]
    told = edit_job(shop, 1, [f"contacts[0]=came back {TODAY}"], today=TODAY).notices
    assert not [each for each in told if "the day of" in each]


def test_a_fix_that_an_edit_makes_another_says_what_it_takes_along(shop: str) -> None:
    keep(shop, add_part(shop, 1, Contact(on=BACK, outcome=Outcome.HELD), today=TODAY), who="BT")
    draft = edit_job(shop, 1, ["attempts[0].action=adjusted"], today=TODAY)
    said = [each for each in draft.notices if "becomes adjusted" in each]
    assert len(said) == 1
    assert f"held {BACK}" in said[0]
    assert not [
        each
        for each in edit_job(shop, 1, ["attempts[0].minutes=20"], today=TODAY).notices
        if "becomes" in each
    ]


def test_a_fix_that_is_taken_out_says_what_was_heard_of_it(shop: str) -> None:
    number = next(each.number for each in show_job(shop, 1).parts if each.field == "attempts[0]")
    assert not remove_part(shop, 1, number).notices
    keep(shop, heard(shop, 1, Outcome.COMEBACK, on=BACK, today=TODAY))
    assert remove_part(shop, 1, number).notices == (
        "cleaned door plug is taken out: what was heard of it now counts for no fix: "
        f"comeback {BACK}",
    )


@pytest.mark.parametrize(
    ("line", "outcomes"),
    [
        ("held at first call, back in February", [Outcome.COMEBACK]),
        ("first call ok, second call noise back", [Outcome.COMEBACK]),
        ("held 3 Feb, back 3 Feb", [Outcome.NOT_TOLD]),
        ("2026-02-03 held, 2026-02-03 comeback", []),
        ("held on Monday, comeback on Monday", [Outcome.NOT_TOLD]),
    ],
)
def test_a_line_that_tells_held_and_comeback_at_once_stores_no_held_and_says_so(
    shop: str, line: str, outcomes: list[Outcome]
) -> None:
    draft = add_line(shop, 1, line, today=TODAY)
    assert [each.outcome for each in draft.job.contacts] == outcomes
    assert len([each for each in draft.notices if "it held and that it came back" in each]) == 1


@pytest.mark.parametrize(
    "line", ["held", "still ok", "ok for 3 weeks then same noise", "dead again"]
)
def test_what_tells_one_thing_is_not_said_to_tell_two(shop: str, line: str) -> None:
    notices = add_line(shop, 1, line, today=TODAY).notices
    assert not [each for each in notices if "it held and that it came back" in each]


def leak(shop: str) -> str:
    """Return the store with a job more, of a leak, mended at 65,000 km and held once."""
    made = replace(
        job("K7", CLOSED - timedelta(days=2), component="radiator"),
        complaint="coolant leak, loses coolant",
        closed=CLOSED,
        odometer_km=65_000,
    )
    put(shop, made)
    return shop


def kept(draft: Draft) -> Contact:
    return draft.job.contacts[-1]


@pytest.mark.parametrize(
    "words",
    [
        "held, but a bit of coolant on the floor",
        "held, though wet underneath",
        "held, small puddle",
    ],
)
def test_held_beside_the_fault_is_not_told_and_asked(shop: str, words: str) -> None:
    contact = parse_contact(words, TODAY)
    told = add_part(leak(shop), 2, contact, words, today=TODAY)
    assert kept(told).outcome is Outcome.NOT_TOLD
    assert contact.outcome is not Outcome.HELD or any("kept as not told" in n for n in told.notices)


@pytest.mark.parametrize("words", ["held, no coolant lost", "held, but needs tyres", "held"])
def test_held_beside_something_else_is_held(shop: str, words: str) -> None:
    told = add_part(leak(shop), 2, parse_contact(words, TODAY), words, today=TODAY)
    assert kept(told).outcome is Outcome.HELD


@pytest.mark.parametrize("words", ["came back after 9,000 km", "kam nach 9.000 km wieder"])
def test_a_distance_since_is_added_to_that_of_the_job(shop: str, words: str) -> None:
    told = parse_contact(words, TODAY)
    for draft in (
        add_part(leak(shop), 2, told, words, today=TODAY),
        heard(shop, 2, told.outcome, words=told.words, today=TODAY),
        add_line(shop, 2, words, today=TODAY),
    ):
        assert kept(draft).odometer_km == 74_000
        # 1,000 km a day, as the rates believe: nine days after it came in, eight on the road
        assert kept(draft).on == CLOSED - timedelta(days=2) + timedelta(days=8)
        assert not any("more than a car is driven" in each for each in draft.notices)


def test_a_comeback_of_no_day_comes_after_the_car_was_seen_with_less(shop: str) -> None:
    seen = CLOSED + timedelta(days=40)
    visit = replace(job("K7", seen, component="tyre"), complaint="tyres", odometer_km=73_000)
    put(leak(shop), visit)
    told = heard(shop, 2, Outcome.COMEBACK, odometer_km=74_500, today=TODAY)
    assert (kept(told).on, kept(told).odometer_km) == (seen, 74_500)


def test_a_comeback_of_no_day_is_no_conflict_with_a_hold(shop: str) -> None:
    good = CLOSED + timedelta(days=20)
    keep(shop, heard(shop, 1, Outcome.HELD, on=good, today=TODAY))
    for words in ("dead again since Easter", "hat nicht gehalten", "came back some time ago"):
        told = add_part(shop, 1, parse_contact(words, TODAY), words, today=TODAY)
        assert kept(told).on == good + timedelta(days=1)
        assert not any("cannot both be so" in each for each in told.notices)


def test_an_odometer_that_ran_back_between_contacts_is_asked_about(shop: str) -> None:
    keep(shop, heard(shop, 1, Outcome.HELD, on=TODAY, odometer_km=112_654, today=TODAY))
    told = heard(shop, 1, Outcome.COMEBACK, on=BACK, odometer_km=120_000, today=TODAY)
    assert any("does not run back" in each for each in told.notices)


def test_what_was_heard_tomorrow_is_refused(shop: str) -> None:
    told = parse_contact("held", TODAY + timedelta(days=1))
    with pytest.raises(InvalidField, match="is still to come"):
        add_part(shop, 1, told, "held", today=TODAY)


@pytest.mark.parametrize("words", ["not the same fault", "nicht der gleiche Fehler", "autre panne"])
def test_another_fault_told_of_a_visit_judges_it(returned: str, words: str) -> None:
    told = replace(parse_contact(words, TODAY), job=2)
    assert kept(add_part(returned, 1, told, words, today=TODAY)).outcome is Outcome.OTHER_REASON


def test_a_comeback_of_no_told_day_says_which_is_kept(shop: str) -> None:
    def said(words: str) -> list[str]:
        told = parse_contact(words, TODAY)
        return [
            each
            for each in add_part(shop, 1, told, words, today=TODAY).notices
            if each.startswith("No day is told")
        ]

    (notice,) = said("came back, same noise")
    assert f"kept is {CLOSED}, the first that can have been it, not as {TODAY}" in notice
    assert not said("came back today, same noise")
    assert not said(f"came back {BACK}")
    assert not said("held")


@pytest.mark.parametrize(
    ("complaint", "line", "outcome"),
    [
        ("pulls right when braking", "pulls right again", Outcome.COMEBACK),
        (
            "pulls right when braking",
            "drifting to the right again",
            Outcome.COMEBACK,
        ),
        ("zieht nach rechts", "zieht wieder", Outcome.NOT_TOLD),
        ("zieht nicht", "zieht wieder", Outcome.HELD),
        ("pulls right when braking", "no longer pulls to the right", Outcome.HELD),
        ("door lock dead", "lock ok, but door warning light on now", Outcome.NOT_TOLD),
        ("door lock dead", "lock ok for a week, then dead, lamp on", Outcome.COMEBACK),
        ("door lamp on", "lock ok, but lamp on now", Outcome.COMEBACK),
        ("whirr", "whirr came and went, nothing for last 1000 km", Outcome.NOT_TOLD),
        ("no charge", "was fine till other garage touched the alternator", Outcome.NOT_TOLD),
        ("no charge", "was fine until June, then dead again", Outcome.COMEBACK),
        ("zittert", "zittert weiter", Outcome.COMEBACK),
    ],
)
def test_the_complaint_told_again_never_held(
    returned: str, complaint: str, line: str, outcome: Outcome
) -> None:
    edited = edit_job(returned, 1, [f"complaint={complaint}"], today=TODAY)
    keep(returned, edited)
    contacts = add_line(returned, 1, line, today=TODAY).job.contacts
    told = contacts[-1].outcome if contacts else Outcome.NOT_TOLD  # words that tell of none
    assert told is outcome


@pytest.mark.parametrize(
    "said", ["held until 2027-01-01", "ok until 1.1.2027", "held bis 2027-01-01"]
)
def test_a_day_to_come_tells_neither_that_it_held_nor_that_it_came_back(
    returned: str, said: str
) -> None:
    contact = parse_contact(said, TODAY)
    assert contact.outcome is Outcome.NOT_TOLD
