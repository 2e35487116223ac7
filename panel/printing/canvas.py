"""Drawings written as one PDF: what every sheet, card and label page goes through.

How a sheet is made:

    pages = [Drawing(width=210, height=297, shapes=(...)), ...]         # core.drawing, millimetres
    write_pdf(pages, title=speak(say("Pour mats")), speak=speak,
              foot=Foot(sitting="Guild night", sheet="Pour mats", audience="for pourers: …"),
              language="en", printer=AS_IS, progress=None) -> bytes

`pages` may be any iterable; with a generator give `count`. `inside(page)` (printing.foot) is the
box a sheet with a foot may use: margins of 12 mm and the foot taken off. Text and names are given
in the reader's language already; `speak` is only for the foot's "page 2 of 6".

What is promised: the same drawings give the same bytes (no clock, no file identifier of its own);
title and language are the only metadata; the print window is asked not to scale; only greys, unless
`colour`; fonts are embedded as subsets; `Group(repeated=True)` is stored once. A text that needs
more than its `room`, runs off its page, or has a character that the face lacks raises PanelError
before anything is returned.
"""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab import rl_config
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from panel.core.drawing import (
    POINT,
    Anchor,
    Circle,
    Drawing,
    Face,
    Group,
    Ink,
    Line,
    Matrix,
    Path,
    Rect,
    Shape,
    Text,
)
from panel.core.message import Speak as Speak
from panel.core.message import say
from panel.core.paper.geometry import AS_IS, Box, Printer
from panel.core.svg import COLOURS
from panel.core.typesetting import NO_BREAK, does_not_fit
from panel.printing.fonts import face_for, font_name, printable, text_width
from panel.printing.foot import Foot, foot_shapes
from panel.printing.tags import Tags

rl_config.useA85 = 0  # streams stay bytes: a fifth smaller than as text

Progress = Callable[[int, int], None]
"""Called after each page with pages done and pages in all."""

GREYS: dict[Ink, float] = {
    Ink.INK: 0.0,
    Ink.SOFT: 0.32,
    Ink.HAIRLINE: 0.55,
    Ink.WASH: 0.94,
    Ink.PAPER: 1.0,
    Ink.BLUE: 0.2,
    Ink.WAX: 0.25,
    Ink.OUTLINE: 0.35,
    Ink.MACHINE: 0.0,
}
"""0 is black. OUTLINE is the grey of rings as reading was measured with."""


@dataclass(frozen=True)
class Bookmark:
    """A place that the reader's window lists: its words, and the page (from 1) it is on."""

    words: str
    page: int
    top: float = 0.0  # millimetres from the page's top


@dataclass(frozen=True)
class Part:
    """Pages of one kind in a file of several: `count` of them, under a foot of their own."""

    pages: Iterable[Drawing]
    count: int
    foot: Foot | None = None


def write_pdf(
    pages: Iterable[Drawing],
    *,
    title: str,
    speak: Speak,
    foot: Foot | None = None,
    count: int | None = None,
    language: str = "en",
    printer: Printer = AS_IS,
    colour: bool = False,
    bookmarks: Sequence[Bookmark] = (),
    progress: Progress | None = None,
) -> bytes:
    """The drawings as the pages of one PDF file.

    count: how many pages there are, where `pages` has no length. bookmarks: with some, the file
    is one to be read on a screen too, and its groups are tagged. Raises PanelError
    "text-does-not-fit" or "unprintable-name".
    """
    part = Part(pages, count if count is not None else _length(pages), foot)
    return write_parts(
        (part,),
        title=title,
        speak=speak,
        language=language,
        printer=printer,
        colour=colour,
        bookmarks=bookmarks,
        progress=progress,
    )


def write_parts(
    parts: Sequence[Part],
    *,
    title: str,
    speak: Speak,
    language: str = "en",
    printer: Printer = AS_IS,
    colour: bool = False,
    bookmarks: Sequence[Bookmark] = (),
    progress: Progress | None = None,
) -> bytes:
    """Several kinds of sheet as one file; each part's foot counts its own pages."""
    paper = BytesIO()
    canvas = Canvas(paper, invariant=1, pageCompression=1, lang=language, initialFontName=_first())
    canvas.setTitle(title)
    canvas.setAuthor("")
    canvas.setSubject("")
    canvas.setCreator("")
    canvas.setViewerPreference("PrintScaling", "None")
    tags = Tags(canvas) if bookmarks else None
    writer = _Writer(canvas, colour, tags)
    done, total = 0, sum(part.count for part in parts)
    for part in parts:
        for number, page in enumerate(part.pages, start=1):
            canvas.setPageSize((page.width * mm, page.height * mm))
            shapes = page.shapes
            if part.foot is not None:
                page_of = speak(say("page %(page)s of %(pages)s", page=number, pages=part.count))
                shapes += foot_shapes(part.foot, Box(0, 0, page.width, page.height), page_of)
            done += 1
            _mark(canvas, bookmarks, done, page.height)
            writer.page(page.width, page.height, shapes, printer)
            if progress is not None:
                progress(done, total)
    if tags is not None:
        canvas.setViewerPreference("DisplayDocTitle", "true")
        canvas.showOutline()
        tags.close()
    canvas.save()
    return paper.getvalue()


def _mark(canvas: Canvas, bookmarks: Sequence[Bookmark], page: int, height: float) -> None:
    """The bookmarks of a page, before it is painted."""
    for number, mark in enumerate(bookmarks):
        if mark.page == page:
            canvas.bookmarkHorizontalAbsolute(f"place{number}", (height - mark.top) * mm)
            canvas.addOutlineEntry(mark.words, f"place{number}", 0)


def _length(pages: Iterable[Drawing]) -> int:
    if not isinstance(pages, Collection):
        raise TypeError("pages made one by one need their count")
    return len(pages)


def _first() -> str:
    """A face of ours to begin with, so that no foreign font is named in the file."""
    return font_name(Face.TEXT)


class _Writer:
    """Paints shapes on one canvas and remembers what was stored for repetition."""

    def __init__(self, canvas: Canvas, colour: bool, tags: Tags | None = None) -> None:
        self.canvas = canvas
        self.colour = colour
        self.tags = tags
        self.stored: dict[int, tuple[str, tuple[Shape, ...]]] = {}
        self.width = 0.0

    def page(
        self, width: float, height: float, shapes: tuple[Shape, ...], printer: Printer
    ) -> None:
        """Paint a page and turn it over. Millimetres; y is turned upside down here, once."""
        self.width = width
        self.store(shapes)
        canvas = self.canvas
        canvas.saveState()
        canvas.translate(printer.right * mm, (height - printer.down) * mm)
        if (printer.stretch_x, printer.stretch_y) != (1.0, 1.0):
            canvas.scale(printer.stretch_x, printer.stretch_y)
        if self.tags is None:
            self.paint(shapes, 0.0)
        else:
            for shape in shapes:
                with self.tags.around(shape):
                    self.paint((shape,), 0.0)
        canvas.restoreState()
        canvas.showPage()
        if self.tags is not None:
            self.tags.turn()

    def store(self, shapes: tuple[Shape, ...]) -> None:
        """Write repeated groups as form objects before the page that needs them first."""
        for shape in shapes:
            if not isinstance(shape, Group):
                continue
            self.store(shape.shapes)
            if shape.repeated and id(shape.shapes) not in self.stored:
                name = f"art{len(self.stored) + 1}"
                self.stored[id(shape.shapes)] = (name, shape.shapes)
                reach = 2000 * mm
                self.canvas.beginForm(name, -reach, -reach, reach, reach)
                self.paint(shape.shapes, None)
                self.canvas.endForm()

    def paint(self, shapes: tuple[Shape, ...], left: float | None) -> None:
        """Paint shapes; left: where their origin lies on the page, None where it is not known."""
        for shape in shapes:
            match shape:
                case Line():
                    self._pen(shape.ink, shape.width, shape.dash)
                    self.canvas.line(shape.x1 * mm, -shape.y1 * mm, shape.x2 * mm, -shape.y2 * mm)
                case Path():
                    self._path(shape)
                case Circle():
                    self._brush(shape.stroke, shape.fill, shape.width)
                    self.canvas.circle(shape.x * mm, -shape.y * mm, shape.radius * mm, *_how(shape))
                case Rect():
                    self._brush(shape.stroke, shape.fill, shape.line)
                    self.canvas.rect(
                        shape.x * mm,
                        -(shape.y + shape.height) * mm,
                        shape.width * mm,
                        shape.height * mm,
                        *_how(shape),
                    )
                case Text():
                    self._text(shape, left)
                case Matrix():
                    self._matrix(shape)
                case Group():
                    self._group(shape, left)

    def _group(self, group: Group, left: float | None) -> None:
        self.canvas.saveState()
        self.canvas.translate(group.x * mm, -group.y * mm)
        if group.scale != 1:
            self.canvas.scale(group.scale, group.scale)
        if group.repeated:
            self.canvas.doForm(self.stored[id(group.shapes)][0])
        else:
            known = left is not None and group.scale == 1
            self.paint(group.shapes, left + group.x if left is not None and known else None)
        self.canvas.restoreState()

    def _pen(self, ink: Ink, width: float, dash: tuple[float, ...] = ()) -> None:
        if self.colour:
            self.canvas.setStrokeColor(COLOURS[ink])
        else:
            self.canvas.setStrokeGray(GREYS[ink])
        self.canvas.setLineWidth(width * mm)
        self.canvas.setDash([length * mm for length in dash])

    def _fill(self, ink: Ink) -> None:
        if self.colour:
            self.canvas.setFillColor(COLOURS[ink])
        else:
            self.canvas.setFillGray(GREYS[ink])

    def _brush(self, stroke: Ink | None, fill: Ink | None, width: float) -> None:
        if stroke is not None:
            self._pen(stroke, width)
        if fill is not None:
            self._fill(fill)

    def _path(self, path: Path) -> None:
        self._brush(path.stroke, path.fill, path.width)
        self.canvas.setLineJoin(1)
        drawn = self.canvas.beginPath()
        for number, step in enumerate(path.steps):
            places = [value * (mm if even % 2 == 0 else -mm) for even, value in enumerate(step)]
            if number == 0:
                drawn.moveTo(*places)
            elif len(places) == 6:
                drawn.curveTo(*places)
            else:
                drawn.lineTo(*places)
        if path.closed:
            drawn.close()
        self.canvas.drawPath(drawn, *_how(path))

    def _text(self, text: Text, left: float | None) -> None:
        words = printable(text.text, text.face, text.what).replace(NO_BREAK, " ")
        width = text_width(words, text.face, text.size)
        width += text.tracking * POINT * max(len(words) - 1, 0)
        if text.room is not None and width > text.room + 1e-6:
            raise does_not_fit(words, text.what)
        start = text.x - width * {Anchor.START: 0, Anchor.MIDDLE: 0.5, Anchor.END: 1}[text.anchor]
        if left is not None and not 0 <= left + start <= left + start + width <= self.width:
            raise does_not_fit(words, text.what)
        self._fill(text.ink)
        self.canvas.setFont(font_name(face_for(words, text.face)), text.size)
        self.canvas.drawString(start * mm, -text.y * mm, words, charSpace=text.tracking)

    def _matrix(self, matrix: Matrix) -> None:
        """One literal of runs in module units: a tenth of the time that path calls take."""
        self._fill(matrix.ink)
        unit = matrix.size / matrix.side * mm
        runs = " ".join(f"{column} {row} {many} 1 re" for column, row, many in matrix.runs)
        self.canvas.addLiteral(
            f"q {unit:.6f} 0 0 {-unit:.6f} {matrix.x * mm:.6f} {-matrix.y * mm:.6f} cm {runs} f Q"
        )


def _how(shape: Path | Circle | Rect) -> tuple[int, int]:
    """reportlab's two flags: stroke it, fill it."""
    return int(shape.stroke is not None), int(shape.fill is not None)
