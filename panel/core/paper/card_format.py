"""The sizes of card there are, and the sizes of type on each: data, in millimetres and points.

Codes are at least 24 points bold on every card. `row` is the distance from one row of rings to
the next where several rows answer one question.
"""

from dataclasses import dataclass, replace

from panel.core.errors import PanelError
from panel.core.message import Message, say
from panel.core.names import Paper
from panel.core.paper.stock import Stock

Sizes = tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class CardType:
    """Type sizes in points, largest first, the rest in millimetres.

    `header` is the room below the first corner mark for the title and the sitting.
    """

    header: float
    number: float
    title: Sizes
    small: Sizes
    question: Sizes
    head: Sizes
    label: Sizes
    code: float
    side_code: float
    row: float
    head_column: float
    question_height: float
    writing_line: float

    @property
    def fixed(self) -> Sizes:
        """Sizes for the card's own sentences: nobody can shorten those, and other languages are
        longer than English, so they may be set a little smaller than what people write."""
        return (*self.small, *(share * self.small[-1] for share in (0.94, 0.88, 0.82)))


@dataclass(frozen=True, kw_only=True)
class CardFormat:
    """A card: its name for people, the sheet it is cut from, its stub, its type."""

    id: str
    name: Message
    sheet: Stock
    stub: float
    type: CardType

    @property
    def large_print(self) -> bool:
        """Whether it is set for people who need larger type."""
        return self.type is LARGE_PRINT

    @property
    def width(self) -> float:
        """Of the whole card, stub and all."""
        return self.sheet.width

    @property
    def height(self) -> float:
        """Of the whole card, stub and all."""
        return self.sheet.height


def _sheet(
    name: str, paper: Paper, grid: tuple[int, int], size: tuple[float, float], landscape: bool
) -> Stock:
    return Stock(
        id=name,
        paper=paper,
        landscape=landscape,
        columns=grid[0],
        rows=grid[1],
        width=size[0],
        height=size[1],
        pitch_x=size[0],
        pitch_y=size[1],
        left=0.0,
        top=0.0,
        plain=True,
    )


SMALL_CARD = CardType(
    header=17.5,
    number=22,
    title=(17, 16, 15, 14, 13, 12),
    small=(9, 8.5, 8),
    question=(15, 14, 13, 12),
    head=(11.5, 11, 10.5, 10),
    label=(10.5, 10, 9.5, 9),
    code=27,
    side_code=13,
    row=10.0,
    head_column=23.0,
    question_height=7.8,
    writing_line=7.0,
)

SHORT_CARD = replace(
    SMALL_CARD,
    label=(*SMALL_CARD.label, 8.5),
    code=26,
    row=9.0,
    question_height=7.6,
    writing_line=6.5,
)
"""Quarter Letter is 9 mm shorter than A6, and holds the same questions."""

LARGE_CARD = CardType(
    header=19.0,
    number=26,
    title=(24, 22, 20, 18, 16),
    small=(11, 10.5, 10, 9.5, 9),
    question=(20, 19, 18, 17, 16, 15),
    head=(14, 13, 12),
    label=(13, 12.5, 12, 11.5),
    code=34,
    side_code=16,
    row=11.0,
    head_column=36.0,
    question_height=10.0,
    writing_line=8.5,
)

LARGE_PRINT = CardType(
    header=26.0,
    number=30,
    title=(26, 24, 22, 20, 18),
    small=(14, 13, 12),
    question=(22, 21, 20, 19, 18, 17, 16),
    head=(18, 17, 16, 15, 14),
    label=(18, 17, 16),
    code=44,
    side_code=20,
    row=16.6,
    head_column=31.0,
    question_height=14.5,
    writing_line=10.0,
)

QUARTER_LETTER = (107.95, 139.7)
HALF_LETTER = (139.7, 215.9)

CARD_FORMATS: dict[str, CardFormat] = {
    format.id: format
    for format in (
        CardFormat(
            id="a6",
            name=say("A6, four on a sheet of A4"),
            sheet=_sheet("a6", Paper.A4, (2, 2), (105.0, 148.5), False),
            stub=20.0,
            type=SMALL_CARD,
        ),
        CardFormat(
            id="quarter-letter",
            name=say("quarter Letter, four on a sheet"),
            sheet=_sheet("quarter-letter", Paper.LETTER, (2, 2), QUARTER_LETTER, False),
            stub=17.0,
            type=SHORT_CARD,
        ),
        CardFormat(
            id="a5",
            name=say("A5, two on a sheet of A4"),
            sheet=_sheet("a5", Paper.A4, (2, 1), (148.5, 210.0), True),
            stub=24.0,
            type=LARGE_CARD,
        ),
        CardFormat(
            id="half-letter",
            name=say("half Letter, two on a sheet"),
            sheet=_sheet("half-letter", Paper.LETTER, (2, 1), HALF_LETTER, True),
            stub=24.0,
            type=LARGE_CARD,
        ),
        CardFormat(
            id="a5-large-print",
            name=say("large print: A5, two on a sheet of A4"),
            sheet=_sheet("a5-large-print", Paper.A4, (2, 1), (148.5, 210.0), True),
            stub=26.0,
            type=LARGE_PRINT,
        ),
        CardFormat(
            id="half-letter-large-print",
            name=say("large print: half Letter, two on a sheet"),
            sheet=_sheet("half-letter-large-print", Paper.LETTER, (2, 1), HALF_LETTER, True),
            stub=26.0,
            type=LARGE_PRINT,
        ),
    )
}
"""Every card there is, by id; of one paper the smallest first."""


def card_formats(paper: Paper) -> tuple[CardFormat, ...]:
    """The cards that can be cut from that paper, smallest first."""
    return tuple(one for one in CARD_FORMATS.values() if one.sheet.paper is paper)


def card_format_named(name: str) -> CardFormat:
    """The card of that id; PanelError "unknown-card" if there is none."""
    try:
        return CARD_FORMATS[name]
    except KeyError:
        raise PanelError(
            "unknown-card",
            say(
                "There is no card “%(name)s”. Choose one of: %(names)s.",
                name=name,
                names=", ".join(CARD_FORMATS),
            ),
            field="card",
        ) from None
