"""The result as one picture for a message or a slide: its sentence, its figure, its seal.

1200 by 630 pixels, which messengers and slides show whole; set large enough to be read where it is
shown 300 pixels wide. It is the drawing of the page, written as a PDF and painted by PDFium.
"""

from collections.abc import Sequence
from dataclasses import replace
from io import BytesIO
from threading import Lock

from panel.core.comparison import Comparison
from panel.core.drawing import Anchor, Drawing, Face, Group, Ink, Rect, Shape, Text, rule
from panel.core.message import Message, Speak, say, say_n
from panel.core.result import Result
from panel.core.rosette import rosette
from panel.core.typesetting import Style, largest_size
from panel.core.wording import say_finding
from panel.printing.blocks import Block, height_of, placed, space
from panel.printing.canvas import write_pdf
from panel.printing.fonts import text_width
from panel.publishing import conditions
from panel.publishing.figures.figure import cleared
from panel.publishing.kinds import chart_of
from panel.publishing.report.setting import sentences, shown, words

PIXELS = (1200, 630)
WIDTH, HEIGHT = 300.0, 157.5
"""Millimetres of the drawing: four pixels each."""

SIDE, TOP = 15.0, 11.0
BAND = 66.0
"""The band at the foot: figure at left, seal at right."""
SEAL = 44.0
CHART = 196.0
TYPE = 1.5
"""How much larger a chart's type is set here than on a page."""

SIZES = (44.0, 41.0, 38.0, 34.0, 30.0, 27.0, 24.0, 21.0, 18.0, 15.0)
"""Points of the sentence that was counted; what follows from it stands at three fifths of that."""

_one_at_a_time = Lock()
"""PDFium must not be entered by two threads at once."""


def picture_png(result: Result, comparison: Comparison, speak: Speak = str) -> bytes:
    """The picture as PNG. The same data give the same bytes with the same libraries."""
    return painted(picture(result, comparison, speak), speak)


def picture(result: Result, comparison: Comparison, speak: Speak = str) -> Drawing:
    """Its drawing."""
    low = HEIGHT - BAND
    shapes: list[Shape] = [Rect(x=0, y=0, width=WIDTH, height=HEIGHT, fill=Ink.PAPER)]
    room = WIDTH - 2 * SIDE
    for size in SIZES:
        blocks = _said(result, comparison, room, size, speak)
        if height_of(blocks) <= low - TOP - 2:
            break
    shapes += placed(blocks, SIDE, TOP)
    shapes += _band(result, comparison, low, speak)
    return Drawing(
        width=WIDTH, height=HEIGHT, shapes=tuple(shapes), title=describe(result, comparison, speak)
    )


def describe(result: Result, comparison: Comparison, speak: Speak = str) -> str:
    """What the picture says, for those who cannot see it and for whatever shows a link to it."""
    if result.main is None:
        return speak(say("No sitting was held."))
    said = say_finding(result.main, comparison)
    return sentences((*said.lead, *said.then), speak)


def painted(drawing: Drawing, speak: Speak) -> bytes:
    """The drawing as PNG, PIXELS large."""
    import pypdfium2

    pdf = write_pdf((drawing,), title="", speak=speak, colour=True)
    with _one_at_a_time:
        document = pypdfium2.PdfDocument(pdf)
        try:
            page = document[0]
            picture = page.render(scale=PIXELS[0] / page.get_width()).to_pil().convert("RGB")
        finally:
            document.close()
    written = BytesIO()
    exact = picture if picture.size == PIXELS else picture.resize(PIXELS)
    exact.quantize(128, dither=0).save(written, "PNG", optimize=True)
    return written.getvalue()


# --- what it says ---------------------------------------------------------------------------------


def _said(
    result: Result, comparison: Comparison, room: float, size: float, speak: Speak
) -> list[Block]:
    title = Style(Face.SEMIBOLD, max(15.0, min(22.0, 0.55 * size)), Ink.SOFT, 1.15)
    blocks = [words(comparison.title, room, title), space(2.0)]
    lead = Style(Face.TITLE, size, leading=1.14)
    if result.main is None:
        return [*blocks, words(speak(say("No sitting was held.")), room, lead)]
    said = say_finding(result.main, comparison)
    blocks += [words(sentences(said.lead, speak), room, lead), space(2.0)]
    if said.then:
        body = Style(Face.TEXT, max(14.0, 0.6 * size), leading=1.22)
        blocks.append(words(speak(said.then[0]), room, body))
    return blocks


# --- figure and seal ------------------------------------------------------------------------------


def _band(result: Result, comparison: Comparison, top: float, speak: Speak) -> list[Shape]:
    shapes: list[Shape] = []
    chart = None
    if result.main is not None:
        chart = chart_of(result.main, comparison, speak)
    if chart is not None:
        drawing = larger_type(chart.drawing)
        scale = min(CHART / drawing.width, (BAND - 17) / drawing.height)
        shapes.append(Group(shapes=drawing.shapes, x=SIDE - 4, y=top, scale=scale))
    if result.seal is not None:
        figure = rosette(bytes.fromhex(result.seal.digest), SEAL)
        centre = (WIDTH - SIDE - SEAL / 2, top + SEAL / 2 + 3)
        shapes.append(Group(shapes=(figure,), x=centre[0], y=centre[1]))
    return [*shapes, *_foot(result, comparison, speak)]


def _foot(result: Result, comparison: Comparison, speak: Speak) -> list[Shape]:
    base = HEIGHT - 6.0
    left: list[Message] = [*conditions.overline(result, comparison)]
    many = len(result.cautions)
    if many:
        left.append(say_n("one caution: read it", "%(count)s cautions: read them", many))
    line = shown(" · ".join(map(speak, left)), Face.SEMIBOLD)
    right = ""
    if result.seal is not None:
        digits = result.seal.digest
        right = speak(say("seal %(digits)s", digits=f"{digits[:4]} {digits[4:8]}"))
    room = WIDTH - 2 * SIDE - text_width(right, Face.SEMIBOLD, 15) - 6
    size = largest_size(line, Face.SEMIBOLD, (15.0, 13.5, 12.0, 10.5, 9.0), room, text_width)
    shapes: list[Shape] = [rule(SIDE, WIDTH - SIDE, base - 6.6, Ink.HAIRLINE, 0.4)]
    if size is not None:
        shapes.append(Text(x=SIDE, y=base, text=line, size=size, face=Face.SEMIBOLD, ink=Ink.SOFT))
    shapes.append(
        Text(
            x=WIDTH - SIDE, y=base, text=right, size=15, face=Face.SEMIBOLD, ink=Ink.WAX,
            anchor=Anchor.END,
        )
    )  # fmt: skip
    return shapes


def larger_type(drawing: Drawing, by: float = TYPE) -> Drawing:
    """The drawing with its words larger where they stand, and the paper cleared behind them where
    it was: for a picture that is shown small."""
    shapes = _larger(drawing.shapes, by)
    return replace(drawing, shapes=tuple(shapes))


def _larger(shapes: Sequence[Shape], by: float) -> list[Shape]:
    made: list[Shape] = []
    for number, shape in enumerate(shapes):
        after = shapes[number + 1] if number + 1 < len(shapes) else None
        if _clears(shape) and isinstance(after, Text):
            made.append(cleared(replace(after, size=by * after.size))[0])
        elif isinstance(shape, Text):
            made.append(replace(shape, size=by * shape.size))
        else:
            made.append(shape)
    return made


def _clears(shape: Shape) -> bool:
    return isinstance(shape, Rect) and shape.fill is Ink.PAPER
