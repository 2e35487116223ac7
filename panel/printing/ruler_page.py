"""The ruler page: two 100 mm rulers that show how far a printer is from printing true."""

from panel.core.drawing import Anchor, Drawing, Face, Ink, Line, Rect, Shape, Text, rule
from panel.core.message import Message, Number, Speak, say
from panel.core.names import Paper
from panel.core.paper.geometry import AS_IS, RULER, ZERO, Box, Printer, page_box
from panel.core.typesetting import Style, paragraph
from panel.printing.canvas import write_pdf
from panel.printing.fonts import text_width
from panel.printing.foot import Foot, inside

BODY = Style(Face.TEXT, 12.0, Ink.INK, 1.3)
SMALL = Style(Face.TEXT, 10.0, Ink.SOFT, 1.3)
TICKS = {10: 6.0, 5: 4.5, 1: 3.0}
"""Length in millimetres of the strokes at every ten, five and one millimetres."""

STROKE = 0.15


def ruler_page(
    paper: Paper, *, speak: Speak, language: str = "en", printer: Printer = AS_IS
) -> bytes:
    """The ruler page of a paper as a PDF, printed through the correction that is set so far."""
    page = page_box(paper)
    shapes = (*_across(), *_down(), *_words(page, speak, printer))
    return write_pdf(
        [Drawing(width=page.width, height=page.height, shapes=shapes)],
        title=speak(say("Ruler page")),
        speak=speak,
        foot=Foot(
            sitting=speak(_paper_named(paper)),
            sheet=speak(say("Ruler page")),
            audience=speak(say("for whoever prints")),
        ),
        language=language,
        printer=printer,
    )


def _paper_named(paper: Paper) -> Message:
    return say("A4 paper") if paper is Paper.A4 else say("Letter paper")


def _tick(millimetre: int) -> float:
    return next(length for step, length in TICKS.items() if millimetre % step == 0)


def _across() -> tuple[Shape, ...]:
    """The ruler from left to right, its strokes above the line."""
    shapes: list[Shape] = [rule(ZERO.x, ZERO.x + RULER, ZERO.y, Ink.INK)]
    for step in range(int(RULER) + 1):
        x, top = ZERO.x + step, ZERO.y - _tick(step)
        shapes.append(Line(x1=x, y1=ZERO.y, x2=x, y2=top, ink=Ink.INK, width=STROKE))
        if step % 10 == 0:
            shapes.append(_figure(x, ZERO.y - 7.5, step, Anchor.MIDDLE))
    return tuple(shapes)


def _down() -> tuple[Shape, ...]:
    """The ruler from top to bottom, its strokes left of the line."""
    end = ZERO.y + RULER
    shapes: list[Shape] = [Line(x1=ZERO.x, y1=ZERO.y, x2=ZERO.x, y2=end, ink=Ink.INK)]
    for step in range(int(RULER) + 1):
        y, left = ZERO.y + step, ZERO.x - _tick(step)
        shapes.append(Line(x1=ZERO.x, y1=y, x2=left, y2=y, ink=Ink.INK, width=STROKE))
        if step % 10 == 0:
            shapes.append(_figure(ZERO.x - 7.5, y + 1.1, step, Anchor.END))
    return tuple(shapes)


def _figure(x: float, y: float, step: int, anchor: Anchor) -> Text:
    return Text(x=x, y=y, text=str(step), size=9, anchor=anchor)


def _words(page: Box, speak: Speak, printer: Printer) -> tuple[Shape, ...]:
    """How to measure, between the rulers, and lines for what was measured."""
    left, top = ZERO.x + 16, ZERO.y + 14
    room = page.width - 30 - left
    shapes: list[Shape] = [
        Text(x=left, y=top + 8, text=speak(say("Ruler page")), size=30, face=Face.TITLE)
    ]
    y = top + 15
    for number, step in enumerate(STEPS, start=1):
        said = paragraph(speak(step), left + 8, y, room - 8, BODY, text_width)
        first = said.shapes[0]
        assert isinstance(first, Text)
        shapes.append(Text(x=left, y=first.y, text=f"{number}", size=12, face=Face.BOLD))
        shapes += said.shapes
        y += said.height + 3.0
    shapes += _measured(left, max(y, ZERO.y + RULER) + 14, room, speak)
    return (*shapes, *_proof(page, left, room, speak, printer))


def _measured(left: float, y: float, room: float, speak: Speak) -> tuple[Shape, ...]:
    """Four lines to write the numbers on."""
    shapes: list[Shape] = []
    unit = speak(say("mm"))
    for number, name in enumerate(NUMBERS):
        base = y + number * 11
        shapes.append(Text(x=left, y=base, text=speak(name), size=12, room=room - 42))
        shapes.append(rule(left + room - 40, left + room - 10, base + 0.8, Ink.INK))
        shapes.append(Text(x=left + room, y=base, text=unit, size=12, anchor=Anchor.END))
    return tuple(shapes)


NUMBERS = (
    say("The ruler from left to right"),
    say("The ruler from top to bottom"),
    say("From the paper's left edge to 0"),
    say("From the paper's upper edge to 0"),
)

STEPS: tuple[Message, ...] = (
    say(
        "Print this page at actual size (100%%). “Fit to page” must be off: it makes A4 six in a "
        "hundred smaller on Letter paper, and labels then miss their sheet."
    ),
    say(
        "Lay a steel or plastic ruler on the page. Measure both printed rulers from 0 to 100, to "
        "half a millimetre."
    ),
    say(
        "Measure how far the corner where both begin is from the paper's left edge and from its "
        "upper edge. Both should be %(zero)s mm.",
        zero=Number(ZERO.x, 0),
    ),
    say(
        "Type the four numbers in: on the kit's page, under “Printer”. Then print this page again: "
        "both rulers are 100 mm long now, and begin where they should."
    ),
)


def printed_with(printer: Printer) -> Message:
    """What a ruler page was printed with, as it says itself."""
    return say(
        "This page was printed with: %(right)s mm to the right, %(down)s mm down, times %(x)s "
        "across, times %(y)s down.",
        right=Number(printer.right, 1),
        down=Number(printer.down, 1),
        x=Number(printer.stretch_x, 4),
        y=Number(printer.stretch_y, 4),
    )


def _proof(
    page: Box, left: float, room: float, speak: Speak, printer: Printer
) -> tuple[Shape, ...]:
    """A frame where every sheet needs the printer to reach; what this page was printed with."""
    box = inside(page)
    bottom = box.bottom - 2
    frame = say(
        "If a side of the thin frame is missing, this printer cannot print the sheets whole: "
        "choose another one."
    )
    shapes: list[Shape] = [
        Rect(
            x=box.x,
            y=box.y,
            width=box.width,
            height=bottom - box.y,
            stroke=Ink.HAIRLINE,
        )
    ]
    y = bottom - 30
    for words in (frame, printed_with(printer)):
        said = paragraph(speak(words), left, y, room, SMALL, text_width)
        shapes += said.shapes
        y += said.height + 2
    return tuple(shapes)
