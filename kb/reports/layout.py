"""The few shapes every page is made of: cautions on top, notices, texts beside short labels."""

from collections.abc import Iterable, Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from kb.safety.hazards import DEFERENCE

Row = tuple[str, RenderableType]
"""A label, and what stands beside it."""
NOTHING_FOUND = (
    "Nothing more to go by here. More of the customer's words, a --code, a --reading or the "
    "--vehicle may help; otherwise start from the basics, and record the job so that it is found "
    "next time."
)


def cautions(lines: Sequence[str]) -> list[RenderableType]:
    """Return the cautions, ready to stand before any advice; nothing where there is none."""
    if not lines:
        return []
    return [
        labelled(
            [
                ("CAUTION" if not place else "", Text(line, style="bold"))
                for place, line in enumerate((*lines, DEFERENCE))
            ],
            style="bold yellow",
        ),
        Text(),
    ]


def notices(lines: Iterable[str]) -> list[RenderableType]:
    """Return what must be said about how much a result stands on, each once."""
    return [Text(f"Note: {line}", style="italic") for line in dict.fromkeys(lines)]


def labelled(rows: Iterable[Row], *, style: str = "", width: int | None = None) -> Table:
    """Return a two-column grid: short labels on the left, texts that wrap on the right."""
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(no_wrap=True, style=style, width=width)
    grid.add_column(ratio=1, overflow="fold")  # a word longer than a line is whole, too
    for label, content in rows:
        grid.add_row(label, content)
    return grid


def figures(
    header: Sequence[str], rows: Iterable[Sequence[str]], *, gap: int = 2, width: int | None = None
) -> Table:
    """Return a table: words in the first column, figures to the right in the others."""
    grid = Table.grid(padding=(0, gap, 0, 0))
    grid.add_column(max_width=width)
    for _ in header[1:]:
        grid.add_column(justify="right", no_wrap=True)
    grid.add_row(*header, style="dim")
    for row in rows:
        grid.add_row(*row)
    return grid


def listed(label: str, lines: Iterable[str]) -> list[Row]:
    """Return a row a line, for `labelled`; the label stands before the first."""
    return [("" if place else label, Text(line)) for place, line in enumerate(lines)]


def page(*parts: RenderableType) -> Group:
    """Return the parts below one another."""
    return Group(*parts)
