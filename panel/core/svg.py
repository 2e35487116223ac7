"""A drawing written as SVG: presentation attributes and classes, no style attributes.

So a strict content security policy lets it through, and the page's own style sheet may colour it:
every shape has the class of its ink (`fill-wax`, `stroke-hairline`), and grey defaults stand in
the presentation attributes, which any style sheet overrules.
"""

from html import escape

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
    Step,
    Text,
)

COLOURS: dict[Ink, str] = {
    Ink.INK: "#16212e",
    Ink.SOFT: "#4a5664",
    Ink.HAIRLINE: "#d9d5c8",
    Ink.WASH: "#f1eee4",
    Ink.PAPER: "#ffffff",
    Ink.BLUE: "#1d4f7c",
    Ink.WAX: "#9b2a20",
    Ink.OUTLINE: "#a6a6a6",
    Ink.MACHINE: "#000000",
}
"""The look's light colours: what an SVG shows where no style sheet says otherwise."""

FAMILIES: dict[Face, tuple[str, int]] = {
    Face.TEXT: ("Text, 'Source Sans Pro', sans-serif", 400),
    Face.SEMIBOLD: ("Text, 'Source Sans Pro', sans-serif", 600),
    Face.BOLD: ("Text, 'Source Sans Pro', sans-serif", 700),
    Face.TITLE: ("Display, 'Source Serif Pro', serif", 600),
}

TRAILING: dict[Anchor, float] = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}
"""How much of the space after the last letter moves an anchored text, as a share."""


def svg(drawing: Drawing, name: str = "", width: str = "") -> str:
    """The drawing as one <svg> element, its title and description for those who cannot see it.

    name: a word of letters, digits and hyphens, unique on its page; needed where there is a
    title, so that it can be referred to. width: optional width attribute ("12mm"); without it the
    picture takes the room it is given.
    """
    words, role = _words(drawing, name)
    size = f' width="{escape(width)}"' if width else ""
    box = f"0 0 {_n(drawing.width)} {_n(drawing.height)}"
    body = "".join(_shape(shape) for shape in drawing.shapes)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}"{size} class="drawing"{role}>'
        f"{words}{body}</svg>"
    )


def _words(drawing: Drawing, name: str) -> tuple[str, str]:
    """The title and desc elements, and the attributes of <svg> that point to them."""
    if not drawing.title:
        return "", ' aria-hidden="true" focusable="false"'
    ids = [f"{name}-title"]
    words = f'<title id="{ids[0]}">{escape(drawing.title)}</title>'
    if drawing.description:
        ids.append(f"{name}-desc")
        words += f'<desc id="{ids[1]}">{escape(drawing.description)}</desc>'
    return words, f' role="img" aria-labelledby="{" ".join(ids)}"'


def _n(value: float) -> str:
    """A number with at most three digits after the point: a thousandth of a millimetre."""
    written = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written


def _paint(stroke: Ink | None, fill: Ink | None, width: float) -> str:
    classes = [f"{kind}-{ink}" for kind, ink in (("stroke", stroke), ("fill", fill)) if ink]
    named = f' class="{" ".join(classes)}"' if classes else ""
    inside = f' fill="{COLOURS[fill]}"' if fill else ' fill="none"'
    around = f' stroke="{COLOURS[stroke]}" stroke-width="{_n(width)}"' if stroke else ""
    return named + inside + around


def _shape(shape: Shape) -> str:
    match shape:
        case Line():
            dash = " ".join(_n(length) for length in shape.dash)
            dashed = f' stroke-dasharray="{dash}"' if dash else ""
            return (
                f'<line x1="{_n(shape.x1)}" y1="{_n(shape.y1)}" x2="{_n(shape.x2)}" '
                f'y2="{_n(shape.y2)}"{_paint(shape.ink, None, shape.width)}{dashed}/>'
            )
        case Path():
            return f'<path d="{_d(shape)}"{_paint(shape.stroke, shape.fill, shape.width)}/>'
        case Circle():
            return (
                f'<circle cx="{_n(shape.x)}" cy="{_n(shape.y)}" r="{_n(shape.radius)}"'
                f"{_paint(shape.stroke, shape.fill, shape.width)}/>"
            )
        case Rect():
            return (
                f'<rect x="{_n(shape.x)}" y="{_n(shape.y)}" width="{_n(shape.width)}" '
                f'height="{_n(shape.height)}"{_paint(shape.stroke, shape.fill, shape.line)}/>'
            )
        case Text():
            return _text(shape)
        case Matrix():
            return _matrix(shape)
        case Group():
            return _group(shape)


def _d(path: Path) -> str:
    def step(number: int, place: Step) -> str:
        letter = "M" if number == 0 else "C" if len(place) == 6 else "L"
        return letter + " ".join(_n(value) for value in place)

    drawn = "".join(step(number, place) for number, place in enumerate(path.steps))
    return drawn + ("Z" if path.closed else "")


def _text(text: Text) -> str:
    family, weight = FAMILIES[text.face]
    # The extra space after the last letter is part of the width SVG centres or right-aligns.
    tracked = f' letter-spacing="{_n(text.tracking * POINT)}"' if text.tracking else ""
    last = text.tracking * POINT * TRAILING[text.anchor]
    anchored = "" if text.anchor is Anchor.START else f' text-anchor="{text.anchor}"'
    return (
        f'<text x="{_n(text.x + last)}" y="{_n(text.y)}" class="face-{text.face} fill-{text.ink}" '
        f'font-family="{family}" font-weight="{weight}" font-size="{_n(text.size * POINT)}" '
        f'fill="{COLOURS[text.ink]}"{anchored}{tracked}>{escape(text.text)}</text>'
    )


def _matrix(matrix: Matrix) -> str:
    runs = "".join(f"M{column} {row}h{many}v1h-{many}z" for column, row, many in matrix.runs)
    scale = matrix.size / matrix.side
    return (
        f'<path transform="translate({_n(matrix.x)} {_n(matrix.y)}) scale({scale:.6f})" '
        f'd="{runs}" class="fill-{matrix.ink}" fill="{COLOURS[matrix.ink]}" '
        'shape-rendering="crispEdges"/>'
    )


def _group(group: Group) -> str:
    scaled = f" scale({group.scale:.6f})" if group.scale != 1 else ""
    body = "".join(_shape(shape) for shape in group.shapes)
    return f'<g transform="translate({_n(group.x)} {_n(group.y)}){scaled}">{body}</g>'
