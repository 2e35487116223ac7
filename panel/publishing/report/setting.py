"""How a report is set: headings in the margin, rows on hairlines, figures, foot, a draft's mark.

Texts come from people's keyboards: what the typeface cannot print is named in brackets, and a word
too long for its line is broken, so that no published result is without its report.
"""

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from panel.core.drawing import Anchor, Drawing, Face, Group, Ink, Shape, Tag, Text, rule
from panel.core.message import Message, Speak, say
from panel.core.paper.geometry import Box, page_box
from panel.core.typesetting import Style, paragraph
from panel.core.wording import Row
from panel.printing.blocks import Block, space
from panel.printing.fonts import glyphs, text_width
from panel.printing.foot import MARGIN
from panel.publishing.report.edition import Edition

SIDE = 20.0
TOP = 17.0
BOTTOM = 24.0
"""Millimetres left white; the foot stands within the last."""

ASIDE = 43.0
GUTTER = 6.0
"""The column of headings, and the white between it and what they head."""

TEXT = Style(Face.TEXT, 10, leading=1.32)
SOFT = Style(Face.TEXT, 9, Ink.SOFT, 1.28)
SENTENCE = Style(Face.TITLE, 11.5, leading=1.3)
HEADING = Style(Face.TITLE, 12.5, leading=1.18)
SUBHEADING = Style(Face.SEMIBOLD, 10, leading=1.25)
LABEL = Style(Face.TEXT, 9.5, Ink.SOFT, 1.3)
VALUE = Style(Face.TEXT, 9.5, leading=1.3)


@dataclass(frozen=True)
class Sheet:
    """The page of a report, and the box that its words stand in."""

    page: Box

    @property
    def box(self) -> Box:
        """Everything within the margins."""
        page = self.page
        return Box(SIDE, TOP, page.width - 2 * SIDE, page.height - TOP - BOTTOM)

    @property
    def column(self) -> Box:
        """The wide column, right of the headings."""
        box = self.box
        start = ASIDE + GUTTER
        return Box(box.x + start, box.y, box.width - start, box.height)


def sheet_of(edition: Edition) -> Sheet:
    """The page of an edition's paper."""
    return Sheet(page_box(edition.paper))


SHORT = 70.0
"""Millimetres: a section no taller than this is not parted over two pages."""


# --- words ----------------------------------------------------------------------------------------


def shown(text: str, face: Face) -> str:
    """The text with every character that the face lacks named in brackets: "[beer mug]"."""
    composed = unicodedata.normalize("NFC", text)
    known = glyphs(face)
    if face is Face.TITLE and not all(_settable(one, known) for one in composed):
        known = glyphs(Face.BOLD)  # as a whole it is set in that, see fonts.face_for
    return "".join(one if _settable(one, known) else _named(one) for one in composed)


def _settable(character: str, known: frozenset[int]) -> bool:
    kept = unicodedata.category(character) not in ("Mn", "Me", "Cc", "Cf", "Zl", "Zp")
    return kept and ord(character) in known


def _named(character: str) -> str:
    if unicodedata.category(character) in ("Cf", "Cc", "Mn", "Me", "Zl", "Zp"):
        return " " if character.isspace() else ""
    return f" [{unicodedata.name(character, f'U+{ord(character):04X}').lower()}] "


def words(text: str, room: float, style: Style, tag: Tag = Tag.TEXT) -> Block:
    """A paragraph that always fits in its width."""
    set_text = paragraph(_broken(text, room, style), 0, 0, room, style, text_width)
    return Block(set_text.height, set_text.shapes, tag=tag)


def _broken(text: str, room: float, style: Style) -> str:
    """The text, words wider than the room parted."""
    parts = []
    for word in shown(text, style.face).split(" "):
        part = ""
        for character in word:
            if part and text_width(part + character, style.face, style.size) > room:
                parts.append(part)
                part = ""
            part += character
        parts.append(part)
    return " ".join(parts)


def sentences(messages: Iterable[Message], speak: Speak) -> str:
    """Sentences one after another."""
    return " ".join(map(speak, messages))


def subheading(text: str, room: float) -> Block:
    """A heading within a section, held to what follows."""
    set_text = words(text, room, SUBHEADING, Tag.SUBHEADING)
    lowered = _lowered(set_text.shapes, 1.6)
    return Block(set_text.height + 2.4, lowered, keep=True, tag=Tag.SUBHEADING)


def _lowered(shapes: Sequence[Shape], by: float) -> tuple[Shape, ...]:
    return (Group(shapes=tuple(shapes), y=by),)


# --- rows, tables, figures ------------------------------------------------------------------------


def facts(rows: Iterable[Row], room: float, speak: Speak, share: float = 0.4) -> list[Block]:
    """Labels and their values, each row on a hairline; the first two and the last two stay
    together."""
    made = [fact(_capital(speak(row.label)), _value(row.value, speak), room, share) for row in rows]
    return [replace(one, keep=n in (0, len(made) - 2)) for n, one in enumerate(made)]


def _value(value: Message, speak: Speak) -> str:
    """As it begins a line; what begins with something given (digits, an address) stays as it is."""
    return speak(value) if value.id.startswith("%(") else _capital(speak(value))


def fact(label: str, value: str, room: float, share: float = 0.4) -> Block:
    """One row."""
    left = share * room
    named = words(label, left - 4, LABEL)
    said = words(value, room - left, VALUE)
    height = max(named.height, said.height) + 1.9
    return Block(
        height,
        (
            rule(0, room, 0),
            Group(shapes=named.shapes, y=0.8),
            Group(shapes=said.shapes, x=left, y=0.8),
        ),
        tag=Tag.TEXT,
    )


def table(
    heads: Sequence[str], rows: Iterable[Sequence[str]], shares: Sequence[float], room: float
) -> list[Block]:
    """A table whose cells may take several lines; its last columns of numbers stand left too."""
    small = Style(Face.SEMIBOLD, 8.5, Ink.SOFT, 1.2)
    top = _cells(heads, shares, room, small, ruled=False)
    return [
        Block(top.height, top.shapes, keep=True, tag=Tag.TEXT),
        *(_cells(row, shares, room, VALUE, ruled=True) for row in rows),
        Block(1.5, (rule(0, room, 0),)),
    ]


def _cells(
    cells: Sequence[str], shares: Sequence[float], room: float, style: Style, *, ruled: bool
) -> Block:
    shapes: list[Shape] = [rule(0, room, 0)] if ruled else []
    left, height = 0.0, 0.0
    for cell, share in zip(cells, shares, strict=True):
        width = share / sum(shares) * room
        set_text = words(cell, width - 3, style)
        shapes.append(Group(shapes=set_text.shapes, x=left, y=0.8))
        height = max(height, set_text.height)
        left += width
    return Block(height + 1.9, tuple(shapes), tag=Tag.TEXT)


def figure(drawing: Drawing, room: float, above: float = 1.0, below: float = 2.0) -> Block:
    """A drawing as wide as the room, with its title for those who cannot see it."""
    scale = room / drawing.width
    inner = Group(shapes=drawing.shapes, y=above, scale=scale)
    said = ". ".join(filter(None, (drawing.title, drawing.description)))
    height = above + scale * drawing.height + below
    return Block(height, (inner,), tag=Tag.FIGURE, said=said)


def point(title: str, text: str, room: float, *, heavy: bool) -> Block:
    """A caution: its title, its text, and a bar at their left that is wide where it weighs."""
    inner = room - 4.5
    named = words(title, inner, SUBHEADING)
    said = words(text, inner, TEXT)
    height = named.height + said.height
    bar = rule(0.4, 0.4, 0)
    bar = replace(
        bar, y1=0.6, y2=height - 0.4, ink=Ink.WAX if heavy else Ink.HAIRLINE,
        width=0.9 if heavy else 0.4,
    )  # fmt: skip
    shapes = (
        bar,
        Group(shapes=named.shapes, x=4.5),
        Group(shapes=said.shapes, x=4.5, y=named.height),
    )
    return Block(height + 3.0, shapes, tag=Tag.TEXT)


def aside(heading: str, sheet: Sheet) -> Block:
    """A section's heading in the margin under a line across; it holds what follows."""
    box, column = sheet.box, sheet.column
    back = box.x - column.x
    set_text = words(heading, ASIDE, HEADING)
    title = Group(shapes=set_text.shapes, x=back, y=7.0)
    return Block(
        7.4, (rule(back, column.width, 4.0, Ink.INK, 0.3), title), keep=True, tag=Tag.HEADING
    )


def section(heading: str, blocks: Sequence[Block], sheet: Sheet) -> list[Block]:
    """A heading with what it heads, at least as tall as the heading is."""
    tall = words(heading, ASIDE, HEADING).height
    low = sum(block.height for block in blocks)
    if low <= SHORT:
        blocks = [replace(block, keep=True) for block in blocks[:-1]] + [*blocks[-1:]]
    return [aside(heading, sheet), *blocks, space(max(3.0, tall - low + 2.0))]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


# --- what stands on every page --------------------------------------------------------------------

NOT_PUBLISHED = say("not published")


def standing_shapes(
    edition: Edition, sheet: Sheet, name: str, page_of: str, speak: Speak
) -> tuple[Shape, ...]:
    """The foot."""
    page = sheet.page
    left, right, base = SIDE, page.width - SIDE, page.height - MARGIN
    told = speak(say("made by %(software)s", software=edition.software))
    face = Face.TEXT
    if edition.draft:
        told = speak(say("Draft, not published: for organisers only"))
        face = Face.BOLD
    room = right - left - text_width(told, face, 8.5) - 6
    words_left = f"{shown(name, Face.TEXT)} · {page_of}"
    if text_width(words_left, Face.TEXT, 8.5) > room:
        words_left = page_of
    return (
        rule(left, right, base - 4.8, Ink.INK, 0.3),
        Text(x=left, y=base, text=words_left, size=8.5, ink=Ink.SOFT, room=room),
        Text(x=right, y=base, text=told, size=8.5, face=face, anchor=Anchor.END),
    )


def ground_shapes(edition: Edition, sheet: Sheet, speak: Speak) -> tuple[Shape, ...]:
    """The draft's mark, under everything else; nothing once it is published."""
    if not edition.draft:
        return ()
    word = speak(NOT_PUBLISHED).upper()
    page = sheet.page
    room = page.width - 2 * MARGIN
    size = min(72.0, 72.0 * room / max(1.0, text_width(word, Face.BOLD, 72.0)))
    return tuple(
        Text(
            x=page.centre.x, y=page.height * share, text=word, size=size, face=Face.BOLD,
            anchor=Anchor.MIDDLE, ink=Ink.WASH,
        )
        for share in (0.28, 0.56, 0.84)
    )  # fmt: skip
