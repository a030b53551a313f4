"""Cards to be asked about as a page."""

from rich.console import RenderableType
from rich.text import Text

from kb.reports import layout
from kb.reports.labels import day, percent, plural, shortened
from kb.services.review import CardQuestion, ShownCard

LONGEST = 150


def render(question: CardQuestion) -> RenderableType:
    """Lay out a group: cautions, what its cards say, the cause proposed, then every card."""
    say = "card says" if len(question.cards) == 1 else "cards say"
    more = f" (and {question.more:,} more, asked about next)" if question.more else ""
    return layout.page(
        *layout.cautions(question.cautions),
        Text(f"{len(question.cards)} {say}: {question.fix}{more}", style="bold"),
        Text(_proposed(question), style="bold"),
        layout.labelled([row for card in question.cards for row in _rows(card)]),
        Text(f"{plural(question.left, 'card')} left to ask about", style="dim"),
    )


def _proposed(question: CardQuestion) -> str:
    if not question.cause:
        return "Cause: none proposed; nothing of the kind was confirmed yet"
    rests_on = (
        "by the card and the trade alone"
        if question.chance is None
        else f"{percent(question.chance)} by what was confirmed of the like"
    )
    return f"Cause, proposed: {question.cause}? ({rests_on})"


def _rows(card: ShownCard) -> list[layout.Row]:
    head = f"{card.car}, {day(card.opened)}: “{' '.join(card.complaint.split())}”"
    cured = f"cured, as told: “{' '.join(card.cured.split())}”" if card.cured else ""
    failed = f"did not cure, as told: “{' '.join(card.not_cured.split())}”"
    ended = cured or (failed if card.not_cured else "")
    before = f"before it, in vain: {', '.join(card.in_vain)}" if card.in_vain else ""
    done = f"done: “{' '.join(card.words.split())}”"
    told = f"read on it: {'; '.join(card.told)}" if card.told else ""
    return [
        (f"#{card.number}", Text(shortened(head, LONGEST))),
        *(("", Text(shortened(line, LONGEST))) for line in (done, told, ended, before) if line),
    ]
