"""How a kit is printed, read from the address of its page: label sheet, cards, spare trays."""

from collections.abc import Mapping

from panel.core.comparison import Comparison
from panel.core.errors import PanelError
from panel.core.message import Message, Number, say
from panel.core.names import Paper
from panel.core.paper.card_format import card_formats
from panel.core.paper.stock import LABELS, Stock
from panel.services.print_kit import Paperwork
from panel.web.organiser_reading import Reading, Words

OWN = "own"
"""Chosen in the list of label sheets: one whose measures are typed in."""
COUNTS = ("columns", "rows")
LENGTHS = ("width", "height", "pitch_x", "pitch_y", "left", "top")
"""The measures of a sheet of one's own, fields of `Stock`; here with "own_" before them."""

FIELDS = (
    "labels", "skip_labels", "card", "spares", "own_paper",
    *(f"own_{name}" for name in (*COUNTS, *LENGTHS)),
)  # fmt: skip
"""What the address may say of the paper; all of it can be left out."""
MOST_SPARES = 100
MOST_CELLS = 40
"""Columns or rows of a sheet of labels: more is a slip of the pen."""


def paperwork_of(known: Comparison, words: Words) -> Paperwork:
    """How the address asks for the kit to be printed; RefusalsError for what cannot be."""
    reading = Reading(words)
    skip = reading.whole("skip_labels", 6) or 0
    spares = reading.whole("spares", 2)
    if spares is not None and spares > MOST_SPARES:
        reading.refuse(
            "spares", "spares", say("At most %(most)s spare trays, please.", most=MOST_SPARES)
        )
    stocks: dict[str, Stock | None] = {stock.id: stock for stock in stocks_for(known)}
    chosen = _named(reading, "labels", {**stocks, OWN: None})
    labels = _own_stock(reading, known) if chosen == OWN else stocks.get(chosen)
    formats = {one.id: one for s in known.sittings for one in card_formats(s.paper)}
    card = _named(reading, "card", formats)
    if labels and skip >= labels.count:
        reading.refuse(
            "skip_labels",
            "skip-labels",
            say("A sheet does not have so many labels. Take a new one."),
        )
    reading.done()
    return Paperwork(card=card, labels=labels, skip_labels=skip, spares=spares)


def stocks_for(known: Comparison) -> list[Stock]:
    """The label sheets of the papers that the sittings print on."""
    papers = {sitting.paper for sitting in known.sittings}
    return [stock for stock in LABELS.values() if stock.paper in papers]


def stock_in_words(stock: Stock) -> Message:
    """A label sheet for the list to choose from."""
    form = (
        say("plain paper to cut apart, %(count)s labels of %(width)s × %(height)s mm")
        if stock.plain
        else say("%(count)s labels of %(width)s × %(height)s mm")
    )
    return say(
        form.id,
        count=stock.count,
        width=_millimetres(stock.width),
        height=_millimetres(stock.height),
    )


def _own_stock(reading: Reading, known: Comparison) -> Stock | None:
    """The sheet whose measures were typed in; None where they are refused."""
    counts = {name: reading.whole(f"own_{name}", 3) for name in COUNTS}
    lengths = {name: reading.decimal(f"own_{name}", "63.5") for name in LENGTHS}
    measures = {**counts, **lengths}
    paper = known.sittings[0].paper
    if reading.text("own_paper"):
        paper = reading.one_of("own_paper", Paper, say("Choose one from the list.")) or paper
    for name, measure in measures.items():
        if measure is None and not reading.refused(f"own_{name}"):
            reading.refuse(f"own_{name}", "missing", say("Measure it on the sheet."))
    for name, count in counts.items():
        if count is not None and count > MOST_CELLS:
            most = say("At most %(most)s on a sheet, please.", most=MOST_CELLS)
            reading.refuse(f"own_{name}", "too-many", most)
    if any(reading.refused(f"own_{name}") for name in measures) or reading.refused("own_paper"):
        return None
    sizes = {name: float(length or 0) for name, length in lengths.items()}
    try:
        return Stock(
            id=OWN,
            paper=paper,
            columns=counts["columns"] or 0,
            rows=counts["rows"] or 0,
            width=sizes["width"],
            height=sizes["height"],
            pitch_x=sizes["pitch_x"],
            pitch_y=sizes["pitch_y"],
            left=sizes["left"],
            top=sizes["top"],
        )
    except PanelError as refusal:
        reading.refuse(f"own_{refusal.field}", refusal.code, refusal.message)
        return None


def _named(reading: Reading, name: str, known: Mapping[str, object]) -> str:
    """An id from a list that may be left out."""
    if not reading.text(name):
        return ""
    return reading.word(name, known, say("Choose one from the list.")) or ""


def _millimetres(length: float) -> Number:
    return Number(length, 0 if length == int(length) else 1)
