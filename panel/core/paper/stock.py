"""Sheets of labels and cards as data: millimetres from the page's top left corner.

The label grids are the usual ones of office supply, given by what can be measured on the sheet;
common practice, no source: their margins are half of what the grid leaves of the page. A sheet
of one's own is a `Stock` with its measures.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from panel.core.errors import PanelError
from panel.core.message import Message, Number, say
from panel.core.names import Paper
from panel.core.paper.geometry import Box, page_box


@dataclass(frozen=True, kw_only=True)
class Stock:
    """A page divided into equal cells. `pitch` is from one cell's left (top) edge to the next's.

    `plain` sheets are ordinary paper: they get cut marks and a foot, bought ones have neither.
    Raises PanelError "stock-…" with a sentence if the grid does not fit its page.
    """

    id: str
    paper: Paper
    columns: int
    rows: int
    width: float
    height: float
    pitch_x: float
    pitch_y: float
    left: float
    top: float
    landscape: bool = False
    plain: bool = False

    def __post_init__(self) -> None:
        for refused in (_counts(self), _sizes(self), _pitches(self), _margins(self)):
            if refused is not None:
                raise PanelError(f"stock-{refused[0]}", refused[1], field=refused[0])

    @property
    def page(self) -> Box:
        """The whole page."""
        return page_box(self.paper, self.landscape)

    @property
    def count(self) -> int:
        """Cells on a sheet."""
        return self.columns * self.rows

    def cell(self, index: int) -> Box:
        """The cell of an index from 0, row by row; ValueError beyond the sheet."""
        if not 0 <= index < self.count:
            raise ValueError(f"this sheet has {self.count} cells, there is no cell {index}")
        row, column = divmod(index, self.columns)
        x, y = self.left + column * self.pitch_x, self.top + row * self.pitch_y
        return Box(x, y, self.width, self.height)

    def cells(self) -> Iterator[Box]:
        """Every cell, row by row."""
        return map(self.cell, range(self.count))


def sheets_needed(stock: Stock, pieces: int, skip: int = 0) -> int:
    """Sheets for that many pieces if the first `skip` cells of the first sheet are used up.

    PanelError "skip" if `skip` leaves nothing of the first sheet.
    """
    if not 0 <= skip < stock.count:
        raise PanelError(
            "skip",
            say(
                "A sheet has %(count)s labels: leave out between 0 and %(most)s of them.",
                count=stock.count,
                most=stock.count - 1,
            ),
            field="skip",
        )
    return -(-(skip + pieces) // stock.count) if pieces else 0


Refusal = tuple[str, Message] | None


def _counts(stock: Stock) -> Refusal:
    if min(stock.columns, stock.rows) < 1:
        return "columns", say("A sheet has at least one column and one row.")
    return None


def _sizes(stock: Stock) -> Refusal:
    if min(stock.width, stock.height) <= 0:
        return "width", say("A label is wider and higher than nothing. Give its size in mm.")
    if min(stock.left, stock.top) < 0:
        return "left", say("The first label cannot begin outside the page. Margins are 0 or more.")
    return None


def _pitches(stock: Stock) -> Refusal:
    if stock.columns > 1 and stock.pitch_x < stock.width - _SLACK:
        return "pitch_x", say(
            "Labels %(width)s mm wide would overlap: from one label's left edge to the next there "
            "are only %(pitch)s mm.",
            width=Number(stock.width),
            pitch=Number(stock.pitch_x),
        )
    if stock.rows > 1 and stock.pitch_y < stock.height - _SLACK:
        return "pitch_y", say(
            "Labels %(height)s mm high would overlap: from one label's upper edge to the next "
            "there are only %(pitch)s mm.",
            height=Number(stock.height),
            pitch=Number(stock.pitch_y),
        )
    return None


def _margins(stock: Stock) -> Refusal:
    right = stock.left + (stock.columns - 1) * stock.pitch_x + stock.width
    bottom = stock.top + (stock.rows - 1) * stock.pitch_y + stock.height
    if right > stock.page.width + _SLACK:
        return "columns", say(
            "%(columns)s columns end %(over)s mm beyond the page’s right edge. Check columns, "
            "width, pitch and left margin against the sheet.",
            columns=stock.columns,
            over=Number(right - stock.page.width),
        )
    if bottom > stock.page.height + _SLACK:
        return "rows", say(
            "%(rows)s rows end %(over)s mm beyond the page’s lower edge. Check rows, height, "
            "pitch and upper margin against the sheet.",
            rows=stock.rows,
            over=Number(bottom - stock.page.height),
        )
    return None


_SLACK = 0.05


def _labels(
    paper: Paper,
    columns: int,
    rows: int,
    size: tuple[float, float],
    pitch: tuple[float, float],
    corner: tuple[float, float],
    ending: str = "",
    plain: bool = False,
) -> Stock:
    return Stock(
        id=f"{'plain-' if plain else ''}{paper}-{columns * rows}{ending}",
        paper=paper,
        columns=columns,
        rows=rows,
        width=size[0],
        height=size[1],
        pitch_x=pitch[0],
        pitch_y=pitch[1],
        left=corner[0],
        top=corner[1],
        plain=plain,
    )


A4, LETTER = Paper.A4, Paper.LETTER

LABELS: dict[str, Stock] = {
    stock.id: stock
    for stock in (
        _labels(A4, 5, 13, (38.1, 21.2), (40.6, 21.2), (4.75, 10.7)),
        _labels(A4, 4, 12, (45.7, 21.2), (48.3, 21.2), (9.7, 21.3)),
        _labels(A4, 4, 10, (48.5, 25.4), (48.5, 25.4), (8.0, 21.5)),
        _labels(A4, 3, 8, (63.5, 33.9), (66.0, 33.9), (7.25, 12.9)),
        _labels(A4, 3, 8, (70.0, 37.0), (70.0, 37.0), (0.0, 0.5), "-edge"),
        _labels(A4, 3, 7, (63.5, 38.1), (66.0, 38.1), (7.25, 15.15)),
        _labels(A4, 2, 7, (99.1, 38.1), (101.6, 38.1), (4.65, 15.15)),
        _labels(LETTER, 4, 20, (44.45, 12.7), (52.07, 12.7), (7.62, 12.7)),
        _labels(LETTER, 4, 15, (44.45, 16.93), (52.07, 16.93), (7.62, 12.7)),
        _labels(LETTER, 3, 10, (66.675, 25.4), (69.85, 25.4), (4.76, 12.7)),
        _labels(LETTER, 2, 10, (101.6, 25.4), (106.36, 25.4), (3.97, 12.7)),
        _labels(LETTER, 2, 5, (101.6, 50.8), (106.36, 50.8), (3.97, 12.7)),
        _labels(A4, 4, 12, (45.0, 21.0), (45.0, 21.0), (15.0, 13.0), plain=True),
        _labels(LETTER, 4, 11, (45.0, 21.0), (45.0, 21.0), (17.95, 13.0), plain=True),
    )
}
"""Label sheets by id. "plain-…" is ordinary paper to be cut apart and taped or glued on."""

PLAIN: dict[Paper, Stock] = {A4: LABELS["plain-a4-48"], LETTER: LABELS["plain-letter-44"]}
"""What is used where nobody bought labels."""
