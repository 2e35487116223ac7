"""The running foot: whose sheet this is, which one, which page of how many, and who may see it."""

from dataclasses import dataclass

from panel.core.drawing import Anchor, Face, Ink, Shape, Text, rule
from panel.core.message import Message, say
from panel.core.paper.geometry import Box
from panel.core.typesetting import Style, does_not_fit, wrap
from panel.printing.fonts import text_width

MARGIN = 12.0
"""Millimetres that every sheet leaves white at its edges: no office printer reaches further."""

FOOT = 9.0
"""Millimetres above the lower margin that belong to the foot."""

SIZE = 8.5


@dataclass(frozen=True, kw_only=True)
class Foot:
    """The foot of a sheet, in the reader's language. `sitting` may name the sitting or the
    evening; `audience` says who may see the sheet ("for pourers: keep out of sight")."""

    sitting: str
    sheet: str
    audience: str


def inside(page: Box) -> Box:
    """The part of a page that a sheet with a foot may draw on."""
    return Box(
        page.x + MARGIN, page.y + MARGIN, page.width - 2 * MARGIN, page.height - 2 * MARGIN - FOOT
    )


def foot_shapes(foot: Foot, page: Box, page_of: str) -> tuple[Shape, ...]:
    """The foot's shapes on a page; page_of: "page 2 of 6" in the reader's language.

    Raises PanelError "text-does-not-fit" if the sitting's name is too long for the line.
    """
    left, right, base = page.x + MARGIN, page.right - MARGIN, page.bottom - MARGIN
    room = right - left - text_width(foot.audience, Face.SEMIBOLD, SIZE) - 6
    words = f"{foot.sitting} · {foot.sheet} · {page_of}"
    if len(wrap(words, Style(Face.TEXT, SIZE), room, text_width)) > 1:
        raise does_not_fit(foot.sitting, say("the sitting's name, in the foot of the sheet"))
    named: Message = say("the foot of the sheet")
    return (
        rule(left, right, base - 4.6, Ink.INK),
        Text(x=left, y=base, text=words, size=SIZE, room=room, what=named),
        Text(
            x=right,
            y=base,
            text=foot.audience,
            size=SIZE,
            face=Face.SEMIBOLD,
            anchor=Anchor.END,
            what=named,
        ),
    )
