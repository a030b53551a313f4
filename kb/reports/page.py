"""HTML pages that stand alone: texts, tables and plain SVG charts in one file, nothing fetched.

Every text handed in is escaped here. Charts follow the reader's light or dark setting.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

STYLE = """
:root { color-scheme: light dark; --ink: #1c2430; --soft: #5d6875; --rule: #c9d0d8;
  --main: #1f6f8b; --other: #9c5615; --ground: #fff; }
@media (prefers-color-scheme: dark) { :root { --ink: #e6e9ed; --soft: #9aa5b1; --rule: #3c4653;
  --main: #63b4cf; --other: #e0a264; --ground: #161b22; } }
body { font: 16px/1.5 system-ui, sans-serif; color: var(--ink); background: var(--ground);
  max-width: 56rem; margin: 2rem auto; padding: 0 1rem; overflow-wrap: anywhere; }
h1, h2 { line-height: 1.2; } .soft { color: var(--soft); }
.scroll { overflow-x: auto; } table { border-collapse: collapse; }
th, td { padding: .25rem .75rem .25rem 0; text-align: left; border-bottom: 1px solid var(--rule); }
td.number, th.number { text-align: right; font-variant-numeric: tabular-nums;
  overflow-wrap: normal; }
svg { width: 100%; max-width: 28rem; height: auto; } svg text { fill: var(--ink); font-size: 13px; }
svg .rule { stroke: var(--rule); }
svg .main { stroke: var(--main); } svg .other { stroke: var(--other); }
svg path { fill: none; stroke-width: 2; } svg .dashed { stroke-dasharray: 5 4; }
svg circle.main, svg rect.main { fill: var(--main); stroke: none; }
svg circle.other, svg rect.other { fill: var(--other); stroke: none; }
svg .band { fill: var(--main); opacity: .18; stroke: none; }
.caution { border: 2px solid var(--other); padding: .25rem .75rem; margin: .75rem 0; }
.do { border-left: 4px solid var(--main); padding: .25rem .75rem; font-weight: 600; }
h2, h3, caption { break-after: avoid; }
svg, figure, tr, .do, .caution { break-inside: avoid; } figure { margin: 1rem 0; }
th[scope=row] { font-weight: 500; min-width: 6rem; }
caption { text-align: left; font-weight: 600; padding: .5rem 0; }
@media (max-width: 40rem) {
  tr.head { position: absolute; left: -200rem; }
  table, tbody, tr, td, th[scope=row], caption { display: block; }
  tr { border-bottom: 1px solid var(--rule); padding: .25rem 0; }
  td, th[scope=row] { border: 0; padding: 0; } th[scope=row] { font-weight: 600; }
  td.number { text-align: left; } td::before { content: attr(data-label) ": "; color: var(--soft); }
}
@page { size: A4; margin: 16mm; }
@media print { :root { --ink: #000; --soft: #444; --rule: #999; --main: #1f6f8b; --other: #8a4a10;
  --ground: #fff; } body { font-size: 11pt; margin: 0; max-width: none; }
  .scroll { overflow: visible; } }
""".strip()


WIDTH = 360
"""Of a chart, in its own units: a telephone shows one as a pixel, so that its words are read."""
LETTER = 8.5
"""Width of a letter of a chart, at most (by measurement of digits and common words)."""
GAP = 6
"""Between two labels."""


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis of a chart: what it shows, where it starts and ends, and what is marked on it.

    Of marks whose labels would meet the first is kept. `beneath` are words below each mark.
    """

    label: str
    low: float
    high: float
    ticks: Sequence[tuple[float, str]]
    beneath: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Chart:
    """A plane with two axes; its methods return marks, which `draw` puts on it.

    Examples
    --------
    >>> axis = Axis("share", 0, 1, [(0, "0"), (1, "1")])
    >>> chart = Chart(axis, axis)
    >>> chart.draw("one dot", chart.dots([(0.5, 0.5, 4)]))[:21]
    '<svg role="img" aria-'
    """

    x: Axis
    y: Axis
    width: int = WIDTH
    height: int = 300
    left: int = 64
    below: int = 52
    margin: int = 24

    def line(self, points: Iterable[tuple[float, float]], style: str = "main") -> str:
        """Return a line through points."""
        return f'<path class="{style}" d="{self._path(points)}"/>'

    def steps(self, points: Iterable[tuple[float, float]], style: str = "main") -> str:
        """Return a line that keeps each height until the next point."""
        return self.line(_stepped(points), style)

    def band(
        self, lows: Sequence[tuple[float, float]], highs: Sequence[tuple[float, float]]
    ) -> str:
        """Return the filled area between two lines."""
        return f'<path class="band" d="{self._path((*lows, *reversed(highs)))}Z"/>'

    def dots(self, dots: Iterable[tuple[float, float, float]], style: str = "main") -> str:
        """Return dots: x, y and radius in pixels of each."""
        placed = ((self._place(x, y), radius) for x, y, radius in dots)
        return "".join(
            f'<circle class="{style}" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}"/>'
            for (x, y), radius in placed
        )

    def crosses(self, places: Iterable[tuple[float, float]], style: str = "other") -> str:
        """Return crosses, which are told from dots without colour."""
        marks = (
            f"M{x - 4:.1f} {y - 4:.1f}l8 8m0 -8l-8 8" for x, y in (self._place(*p) for p in places)
        )
        return f'<path class="{style}" d="{"".join(marks)}"/>'

    def draw(self, described: str, *marks: str) -> str:
        """Return the chart as SVG, `described` in words for those who do not see it."""
        return _svg(self.width, self.height, described, self._axes(), *marks)

    def _axes(self) -> str:
        bottom, right = self.height - self.below, self.width - self.margin
        half_way = (self.margin + bottom) / 2
        parts = []
        marks = [(self._place(value, self.y.low)[0], text) for value, text in self.x.ticks]
        for place, middle in apart(marks, self.width).items():
            at, text = marks[place]
            parts.append(
                _rule(at, self.margin, at, bottom) + _text(middle, bottom + 18, text, "middle")
            )
            if self.x.beneath:
                parts.append(_text(middle, bottom + 36, self.x.beneath[place], "middle"))
        for value, text in self.y.ticks:
            at = self._place(self.x.low, value)[1]
            parts.append(
                _rule(self.left, at, right, at) + _text(self.left - 8, at + 4, text, "end")
            )
        label = escape(self.y.label)
        return (
            "".join(parts)
            + _text((self.left + right) / 2, self.height - 10, self.x.label, "middle")
            + f'<text transform="translate(16 {half_way:.0f}) rotate(-90)" text-anchor="middle">'
            + f"{label}</text>"
        )

    def _path(self, points: Iterable[tuple[float, float]]) -> str:
        placed = [f"{x:.1f} {y:.1f}" for x, y in (self._place(x, y) for x, y in points)]
        return "M" + "L".join(placed) if placed else ""

    def _place(self, x: float, y: float) -> tuple[float, float]:
        across = (x - self.x.low) / (self.x.high - self.x.low)
        up = (y - self.y.low) / (self.y.high - self.y.low)
        bottom = self.height - self.below
        return (
            self.left + across * (self.width - self.margin - self.left),
            bottom - up * (bottom - self.margin),
        )


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: its label, its share 0 to 1 with what is written beside it, and how sure it is."""

    label: str
    share: float
    text: str
    low: float
    high: float
    style: str = "main"


def bars(described: str, rows: Sequence[Bar], *, width: int = WIDTH) -> str:
    """Return horizontal bars as SVG, each below its label, with the interval of its share."""
    left, long, step = 8, width - 70, 48
    parts = []
    for place, row in enumerate(rows):
        top = place * step + 22
        low, high = left + row.low * long, left + row.high * long
        parts += [
            _text(left, top - 6, row.label, "start"),
            f'<rect class="{row.style}" x="{left}" y="{top}" width="{row.share * long:.1f}" '
            f'height="22" opacity=".55"/>',
            f'<path class="{row.style}" d="M{low:.1f} {top + 11}L{high:.1f} {top + 11}"/>',
            _text(max(high, left + row.share * long) + 8, top + 16, row.text, "start"),
        ]
    return _svg(width, len(rows) * step + 4, described, *parts)


def document(title: str, *parts: str) -> str:
    """Return a whole HTML document of parts made with the functions of this module."""
    return "\n".join(
        [
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escape(title)}</title>\n<style>\n{STYLE}\n</style>\n</head>\n<body>",
            f"<h1>{escape(title)}</h1>",
            *parts,
            "</body>\n</html>\n",
        ]
    )


def heading(text: str, level: int = 2) -> str:
    """Return the heading of a part, or of one below it."""
    return f"<h{level}>{escape(text)}</h{level}>"


def paragraph(text: str, *, soft: bool = False) -> str:
    """Return a paragraph; `soft` for what need not be read first."""
    return f'<p class="soft">{escape(text)}</p>' if soft else f"<p>{escape(text)}</p>"


def figure(told: str, drawn: str) -> str:
    """Return a chart under what is told of it, which paper does not part."""
    return f"<figure>\n<figcaption>{escape(told)}</figcaption>\n{drawn}\n</figure>"


def caution(text: str) -> str:
    """Return a caution, which stands out and says that it is one."""
    return f'<p class="caution" role="note"><strong>Caution:</strong> {escape(text)}</p>'


def to_do(text: str) -> str:
    """Return what to do, which stands out."""
    return f'<p class="do">{escape(text)}</p>'


def table(
    header: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    words: int = 1,
    caption: str | None = None,
) -> str:
    """Return a table; the first `words` columns hold words, the others numbers.

    The first cell of a row is its heading. On a narrow screen a row becomes a block, in which each
    value is told with the heading of its column.
    """
    kinds = ["" if place < words else ' class="number"' for place in range(len(header))]
    heads = (
        f'<th scope="col" role="columnheader"{kind}>{escape(cell)}</th>'
        for kind, cell in zip(kinds, header, strict=True)
    )

    def row(cells: Sequence[str]) -> str:
        first, *others = zip(kinds, header, cells, strict=True)
        inner = (
            f'<td role="cell"{kind} data-label="{escape(label, quote=True)}">{escape(cell)}</td>'
            for kind, label, cell in others
        )
        own = f'<th scope="row" role="rowheader"{first[0]}>{escape(first[2])}</th>'
        return f'<tr role="row">{own}{"".join(inner)}</tr>'

    body = "\n".join(map(row, rows))
    told = f"<caption>{escape(caption)}</caption>\n" if caption else ""
    return (
        f'<div class="scroll"><table role="table">\n{told}'
        f'<tr role="row" class="head">{"".join(heads)}</tr>\n{body}\n</table></div>'
    )


def columns(
    described: str,
    rows: Sequence[tuple[str, float, float]],
    *,
    counted: str,
    beside: str,
    width: int = WIDTH,
    height: int = 200,
) -> str:
    """Return upright bars as SVG: a label below, a count, and a line at what was to be expected.

    Labels are drawn where they are not empty and have room, of those that would meet the last;
    `counted` and `beside` say what bars and line are.
    """
    left, below, above = 40, 36, 24
    most = max(1.0, *(max(count, mean) for _, count, mean in rows))
    step = (width - left - 8) / max(1, len(rows))
    tall = height - below - above

    def up(value: float) -> float:
        return above + tall * (1 - value / most)

    parts = [_rule(left, up(0), width - 8, up(0)), _text(left - 6, up(0) + 4, "0", "end")]
    parts.append(_text(left - 6, up(most) + 4, f"{most:.0f}", "end"))
    line, marks = [], list[tuple[float, str]]()
    for place, (label, count, mean) in enumerate(rows):
        at = left + place * step
        parts.append(
            f'<rect class="main" x="{at + step * 0.1:.1f}" y="{up(count):.1f}" '
            f'width="{step * 0.8:.1f}" height="{up(0) - up(count):.1f}"/>'
        )
        line += [f"{at:.1f} {up(mean):.1f}", f"{at + step:.1f} {up(mean):.1f}"]
        if label and at + wide(label) <= width:
            marks.append((at + wide(label) / 2, label))
    marks.reverse()
    for place, middle in apart(marks, width).items():
        parts.append(_text(middle, up(0) + 18, marks[place][1], "middle"))
    parts.append(f'<path class="other" d="M{"L".join(line)}"/>')
    parts.append(_text(8, 14, f"bars: {counted}; line: {beside}", "start"))
    return _svg(width, height, described, *parts)


def wide(text: str) -> float:
    """Return how wide a label of a chart is, at most."""
    return LETTER * len(text)


def apart(marks: Sequence[tuple[float, str]], width: float) -> dict[int, float]:
    """Return where labels may stand, by place: within the frame, none where an earlier one is.

    Parameters
    ----------
    marks : sequence of (float, str)
        What is marked, across, and its label, the first first.
    width : float
        Of the frame.

    Examples
    --------
    >>> apart([(0.0, "2019"), (10.0, "2020"), (60.0, "2021")], 90.0)
    {0: 17.0, 2: 60.0}
    """
    middles: dict[int, float] = {}
    for place, (at, text) in enumerate(marks):
        half = wide(text) / 2
        middle = max(half, min(at, width - half))
        others = ((other, wide(marks[one][1]) / 2) for one, other in middles.items())
        if all(abs(middle - other) >= half + reach + GAP for other, reach in others):
            middles[place] = middle
    return middles


def _svg(width: int, height: int, described: str, *marks: str) -> str:
    told = escape(described, quote=True)
    size = f'width="{width}" height="{height}" viewBox="0 0 {width} {height}"'
    return f'<svg role="img" aria-label="{told}" {size}>\n' + "\n".join(marks) + "\n</svg>"


def _rule(x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line class="rule" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _text(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'


def _stepped(points: Iterable[tuple[float, float]]) -> Iterable[tuple[float, float]]:
    height = None
    for x, y in points:
        if height is not None:
            yield x, height
        yield x, y
        height = y
