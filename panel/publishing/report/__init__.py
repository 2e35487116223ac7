"""The report as one PDF: a first page for the noticeboard, then everything that a report must hold.

It is made of the drawings and sentences of the page, so that neither can say what the other does
not; the same data give the same bytes.
"""

from itertools import count

from panel.core.comparison import Comparison
from panel.core.drawing import Shape
from panel.core.message import Speak, say
from panel.core.result import Result
from panel.printing.blocks import Block, stack
from panel.printing.canvas import Bookmark, write_pdf
from panel.publishing.report.edition import Edition
from panel.publishing.report.first_page import first_page, page_of
from panel.publishing.report.sections import SECTIONS
from panel.publishing.report.setting import (
    Sheet,
    ground_shapes,
    section,
    sheet_of,
    standing_shapes,
)
from panel.publishing.report.told import Told

ON_ONE_PAGE = say("On one page")


def report_pdf(
    result: Result, comparison: Comparison, edition: Edition, speak: Speak = str
) -> bytes:
    """The report of a closed comparison, on the edition's paper."""
    sheet = sheet_of(edition)
    pages = [first_page(result, comparison, edition, sheet, speak)]
    told = Told(result, comparison, edition, sheet.column.width, speak)
    headed = [(speak(name), make(told)) for name, make in SECTIONS]
    headed = [(name, blocks) for name, blocks in headed if blocks]
    filled, places = _filled(headed, sheet)
    pages += filled
    drawn = []
    for number, shapes in enumerate(pages, start=1):
        words = speak(say("page %(page)s of %(pages)s", page=number, pages=len(pages)))
        foot = standing_shapes(edition, sheet, comparison.title, words, speak)
        ground = ground_shapes(edition, sheet, speak)
        drawn.append(page_of((*ground, *shapes, *foot), sheet, comparison))
    return write_pdf(
        drawn,
        title=comparison.title,
        speak=speak,
        language=edition.language,
        colour=True,
        bookmarks=(Bookmark(speak(ON_ONE_PAGE), 1), *places),
    )


def _filled(
    headed: list[tuple[str, list[Block]]], sheet: Sheet
) -> tuple[list[tuple[Shape, ...]], list[Bookmark]]:
    """The pages behind the first, and where each heading stands on them."""
    blocks: list[Block] = []
    starts: dict[int, str] = {}
    for name, body in headed:
        starts[len(blocks)] = name
        blocks += section(name, body, sheet)
    pages = stack(blocks, ((number, sheet.column) for number in count(2)))
    places = _places(pages, [blocks[number] for number in starts], list(starts.values()))
    return [tuple(pages[number]) for number in sorted(pages)], places


def _places(pages: dict[int, list[Shape]], heads: list[Block], names: list[str]) -> list[Bookmark]:
    """Each heading's page and height: a block is found again by its own shapes."""
    found = []
    for head, name in zip(heads, names, strict=True):
        page, group = next(
            (number, shape)
            for number, shapes in pages.items()
            for shape in shapes
            if getattr(shape, "shapes", None) is head.shapes
        )
        found.append(Bookmark(name, page, max(0.0, getattr(group, "y", 0.0) - 4.0)))
    return found
