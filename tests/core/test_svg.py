"""Drawings as SVG: well-formed, without style attributes, named for those who cannot see them."""

import xml.etree.ElementTree as ET

import pytest

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
    Text,
)
from panel.core.svg import COLOURS, svg

NS = "{http://www.w3.org/2000/svg}"

ALL = (
    Line(x1=0, y1=1, x2=2, y2=3, dash=(1, 0.5)),
    Path(steps=((0, 0), (1, 1), (2, 2, 3, 3, 4, 4)), closed=True, fill=Ink.WAX),
    Circle(x=5, y=5, radius=2.5, stroke=Ink.OUTLINE),
    Rect(x=1, y=2, width=3, height=4, fill=Ink.WASH),
    Text(x=3, y=4, text="Fish & <chips>", size=10, face=Face.BOLD, anchor=Anchor.MIDDLE),
    Matrix(x=0, y=0, size=5, side=5, runs=((0, 0, 2), (3, 4, 1))),
    Group(shapes=(Circle(x=0, y=0, radius=1),), x=7, y=8, scale=0.5),
)


def parsed(**more: str) -> ET.Element:
    return ET.fromstring(svg(Drawing(width=40, height=30, shapes=ALL, **more), "one"))


def test_every_shape_is_drawn_and_the_text_is_escaped():
    root = parsed()
    assert root.attrib["viewBox"] == "0 0 40 30"
    assert [child.tag.removeprefix(NS) for child in root] == [
        "line",
        "path",
        "circle",
        "rect",
        "text",
        "path",
        "g",
    ]
    assert root.find(f"{NS}text").text == "Fish & <chips>"  # type: ignore[union-attr]


def test_a_strict_policy_lets_it_through():
    """No style attribute, no style element, no script, nothing fetched."""
    for element in parsed().iter():
        assert "style" not in element.attrib
        assert element.tag.removeprefix(NS) not in ("style", "script", "image", "use")
        assert not any(name.startswith("on") for name in element.attrib)


def test_inks_are_classes_with_a_colour_for_where_no_style_sheet_is():
    circle = parsed().find(f"{NS}circle")
    assert circle is not None
    assert circle.attrib["class"] == "stroke-outline"
    assert circle.attrib["stroke"] == COLOURS[Ink.OUTLINE]
    assert circle.attrib["fill"] == "none"
    assert set(COLOURS) == set(Ink)


def test_paths_are_what_was_asked_for():
    path, matrix = parsed().findall(f"{NS}path")
    assert path.attrib["d"] == "M0 0L1 1C2 2 3 3 4 4Z"
    assert matrix.attrib["d"] == "M0 0h2v1h-2zM3 4h1v1h-1z"


def test_type_is_as_large_as_on_paper():
    text = parsed().find(f"{NS}text")
    assert text is not None
    assert float(text.attrib["font-size"]) == pytest.approx(10 * POINT, abs=0.001)
    assert text.attrib["text-anchor"] == "middle"
    assert text.attrib["font-weight"] == "700"


def test_a_titled_picture_is_named_and_described():
    root = parsed(title="The seal", description="Three woven rings")
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-labelledby"] == "one-title one-desc"
    assert [child.text for child in root][:2] == ["The seal", "Three woven rings"]


def test_a_picture_without_a_title_is_hidden_from_those_who_listen():
    root = parsed()
    assert root.attrib["aria-hidden"] == "true"
    assert root.find(f"{NS}title") is None


def test_numbers_are_short_and_never_minus_zero():
    drawn = svg(Drawing(width=1, height=1, shapes=(Circle(x=-0.0001, y=1 / 3, radius=2.0),)))
    assert 'cx="0" cy="0.333" r="2"' in drawn
