"""The poster: the seal as figure and digits, made before the first cup, for the room to see."""

from panel.core.drawing import POINT, Anchor, Drawing, Face, Group, Ink, Shape, Text, rule
from panel.core.errors import Fault, PanelError
from panel.core.message import say
from panel.core.paper.geometry import Box
from panel.core.rosette import rosette
from panel.core.typesetting import Style, largest_size, paragraph
from panel.printing.fonts import text_width
from panel.printing.foot import inside
from panel.printing.link_code import MODULE, QUIET, link_code
from panel.printing.sheet import Order, context_line, drawing

SHEET = say("Poster")
AUDIENCE = say("for everybody: hang it up before the first cup")

FIGURE = 104.0
CODE = 34.0
TITLE = 64.0
DIGITS = 21.0
LEAD = Style(Face.TITLE, 15, leading=1.3)
BODY = Style(Face.TEXT, 11.5, leading=1.25)


def poster(order: Order, address: str, link: str, lasting: str = "") -> bytes:
    """The poster. address: where seal and result can be read, as people type it; link: the same
    whole, for a phone takes what has no scheme for mere words; lasting: where the result stays,
    if that is elsewhere."""
    return order.drawn([poster_page(order, address, link, lasting)], SHEET, AUDIENCE)


def poster_page(order: Order, address: str, link: str, lasting: str = "") -> Drawing:
    """Its page. PanelError (fault STANDING, code "no-seal") before the comparison is sealed."""
    seal = order.comparison.seal
    if seal is None:
        raise PanelError(
            "no-seal",
            say("There is no seal to show yet. Seal the comparison first."),
            Fault.STANDING,
        )
    page = order.page()
    box = inside(page)
    middle = box.centre.x
    foot = box.bottom - CODE - 2
    figure = FIGURE if page.height > 285 else FIGURE - 16
    centre = box.y + 36 + figure / 2
    shapes: list[Shape] = [
        Text(
            x=middle, y=box.y + 20, text=order.speak(say("Sealed")), size=TITLE, face=Face.TITLE,
            anchor=Anchor.MIDDLE, room=box.width,
        ),
        _centred(order, box),
        Group(shapes=(rosette(bytes.fromhex(seal.digest), figure),), x=middle, y=centre),
        *digest_lines(seal.digest, middle, centre + figure / 2 + 11, DIGITS),
        *_explained(order, box, centre + figure / 2 + 44, order.moment(seal.made)),
        rule(box.x, box.right, foot - 3.5, Ink.INK, 0.3),
        *_address(order, box, foot, address, link, lasting),
    ]  # fmt: skip
    return drawing(page, shapes)


def digest_lines(digest: str, x: float, y: float, size: float) -> list[Shape]:
    """The 64 digits of a digest in four lines of four groups that stand in columns about x."""
    groups = [digest[start : start + 4] for start in range(0, 64, 4)]
    pitch = 3.6 * size * POINT
    return [
        Text(
            x=x + (number % 4 - 1.5) * pitch,
            y=y + number // 4 * size * 1.22 * POINT,
            text=group,
            size=size,
            face=Face.SEMIBOLD,
            anchor=Anchor.MIDDLE,
            tracking=0.06 * size,
        )
        for number, group in enumerate(groups)
    ]


def _centred(order: Order, box: Box) -> Text:
    line = context_line(order, order.context(), box.x, 0, box.width)
    return Text(
        x=box.centre.x, y=box.y + 29, text=line.text, size=line.size, ink=Ink.SOFT,
        anchor=Anchor.MIDDLE, room=box.width,
    )  # fmt: skip


def _explained(order: Order, box: Box, top: float, made: str) -> list[Shape]:
    speak = order.speak
    lead = say(
        "Which cup holds what was drawn by lot and locked on %(made)s, before the first cup.",
        made=made,
    )
    body = say(
        "The figure and the digits were made from the plan, the draw and a secret. When the "
        "result is published, all three are opened, and anyone can make the same figure from them. "
        "If it differs, something was changed. Take a picture now."
    )
    room = box.width - 24
    first = paragraph(speak(lead), box.centre.x, top, room, LEAD, text_width, anchor=Anchor.MIDDLE)
    second = paragraph(
        speak(body), box.centre.x, top + first.height + 2, room, BODY, text_width,
        anchor=Anchor.MIDDLE,
    )  # fmt: skip
    return [*first.shapes, *second.shapes]


def _address(
    order: Order, box: Box, top: float, address: str, link: str, lasting: str
) -> list[Shape]:
    code = link_code(link)
    quiet = QUIET * MODULE * CODE / code.width  # white at the right is the page's own margin
    room = box.width - CODE - 8
    what = say("the public address, on the poster")
    size = largest_size(address, Face.SEMIBOLD, (18.0, 16.0, 14.0, 12.0, 10.0), room, text_width)
    said = say("Seal now, result later:")
    organised = order.comparison.organised_by
    by = order.speak(say("Organised by %(name)s", name=organised)) if organised else ""
    return [
        Group(shapes=code.shapes, x=box.right - CODE + quiet, y=top, scale=CODE / code.width),
        Text(x=box.x, y=top + 7, text=order.speak(said), size=12, ink=Ink.SOFT, room=room),
        Text(
            x=box.x, y=top + 15.5, text=address, size=size or 10, face=Face.SEMIBOLD, room=room,
            what=what,
        ),
        *_lasting(order, box.x, top + 23, room, lasting),
        Text(
            x=box.x, y=top + 30, text=by, size=11, ink=Ink.SOFT, room=room,
            what=say("who organises it, on the poster"),
        ),
    ]  # fmt: skip


def _lasting(order: Order, x: float, y: float, room: float, lasting: str) -> list[Shape]:
    """Where the result stays, when the machine of the evening is long switched off."""
    if not lasting:
        return []
    line = order.speak(say("The result, for good: %(address)s", address=lasting))
    size = largest_size(line, Face.TEXT, (12.0, 11.0, 10.0, 9.0), room, text_width)
    what = say("the lasting address, on the poster")
    return [Text(x=x, y=y, text=line, size=size or 9.0, room=room, what=what)]
