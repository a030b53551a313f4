from datetime import date

from kb.cli.output import page_lines
from kb.reports.review import render
from kb.services.review import CardQuestion, ShownCard

CARD = ShownCard(
    number=12,
    car="K7 Corvane Lido",
    opened=date(2026, 3, 2),
    complaint="lamp  on\nafter rain",
    words="cleaned seat connector, " + "and again " * 40,
)


def page(cause: str, chance: float | None, *cards: ShownCard, more: int = 0) -> str:
    question = CardQuestion(
        cautions=("Airbags can fire",),
        fix="cleaned seat connector",
        cause=cause,
        chance=chance,
        cards=cards,
        more=more,
        left=len(cards) + more + 1,
    )
    return "\n".join(page_lines(render(question)))


def test_the_caution_comes_first_and_the_rest_of_a_group_is_told() -> None:
    told = page("seat connector: loose", 0.75, CARD, CARD, more=1234)
    assert told.startswith("CAUTION  Airbags can fire")
    assert "2 cards say: cleaned seat connector (and 1,234 more, asked about next)" in told
    assert "seat connector: loose? (75% by what was confirmed of the like)" in " ".join(
        told.split()
    )
    assert "1,237 cards left" in told


def test_words_stand_on_one_line_and_are_cut() -> None:
    told = page("seat connector: loose", None, CARD)
    assert "1 card says: cleaned seat connector\n" in told
    assert "by the card and the trade alone" in " ".join(told.split())
    assert "“lamp on after rain”" in told
    assert "…" in told


def test_no_cause_is_no_proposal() -> None:
    assert "Cause: none proposed" in page("", None, CARD)
