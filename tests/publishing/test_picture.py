"""The picture to be shared: its size, what it says, and that it can be read where it is small."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from io import BytesIO

import pytest
from PIL import Image

from panel.core.drawing import POINT, Face, Group, Ink, Shape, Text
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.svg import COLOURS
from panel.core.wording import say_finding
from panel.publishing.picture import PIXELS, WIDTH, describe, picture, picture_png
from tests.publishing.opened import opened, result
from tests.results import Evening, comparison, evening, right_and_wrong, sitting, two_tables

SHARED = (1200, 630)
"""Pixels, the size at which the large messengers show a link's picture whole: common practice, no
source."""
THUMBNAIL = 300
LEAST = 10.0
"""Pixels of type that can still be read on a screen: common practice, no source."""


def texts(shapes: Iterable[Shape], scale: float = 1.0) -> Iterator[tuple[Text, float]]:
    """Every text with its size in pixels of the picture."""
    for shape in shapes:
        if isinstance(shape, Group):
            yield from texts(shape.shapes, scale * shape.scale)
        elif isinstance(shape, Text):
            yield shape, shape.size * POINT * scale * PIXELS[0] / WIDTH


def alone(right: int, tasters: int, **plan: object) -> Evening:
    planned = Plan(**{"method": "triangle", "tasters": tasters, **plan})  # type: ignore[arg-type]
    return evening(comparison(planned, sitting("blue")), right_and_wrong("blue", right, tasters))


EVENINGS = {
    "two tables": two_tables(told=3),
    "shown": alone(24, 36),
    "few": alone(2, 2),
    "similar": alone(8, 36, aim=Aim.SIMILARITY),
    "duo-trio": alone(20, 40, method="duo-trio"),
}


@pytest.mark.parametrize("name", EVENINGS)
def test_it_says_the_result_large_enough_for_a_thumbnail(name: str):
    known, _ = opened(EVENINGS[name])
    found = result(known)
    drawn = list(texts(picture(found, known.comparison).shapes))
    assert found.main is not None
    said = say_finding(found.main, known.comparison)
    for face, sentences, least in (
        (Face.TITLE, said.lead, LEAST),
        (Face.TEXT, said.then[:1], 0.6 * LEAST),
    ):
        lines = [(text, size) for text, size in drawn if text.face is face and text.ink is Ink.INK]
        assert joined(text.text for text, _ in lines) == joined(map(str, sentences))
        assert min(size for _, size in lines) * THUMBNAIL / PIXELS[0] >= least
    whole = joined(text.text for text, _ in drawn)
    assert known.comparison.title in whole
    if found.cautions:
        assert "caution" in whole
    assert found.seal is not None
    assert f"seal {found.seal.digest[:4]} {found.seal.digest[4:8]}" in whole


def joined(parts: Iterable[str]) -> str:
    return " ".join(parts)


@pytest.mark.parametrize("name", EVENINGS)
def test_it_is_one_png_of_the_size_that_is_shared_whole(name: str):
    known, _ = opened(EVENINGS[name])
    written = picture_png(result(known), known.comparison)
    assert len(written) < 300_000
    with Image.open(BytesIO(written)) as opened_picture:
        assert opened_picture.format == "PNG"
        assert opened_picture.size == SHARED == PIXELS
        small = opened_picture.convert("L").resize((300, 158), Image.Resampling.BOX)
    margins = [small.crop(box) for box in ((0, 0, 300, 8), (0, 0, 10, 158), (291, 0, 300, 158))]
    assert all(part.getextrema()[0] > 240 for part in margins)  # nothing is cut at an edge
    sentence = small.crop((12, 12, 290, 60))
    assert sentence.getextrema()[0] < 90  # strokes survive the shrinking
    assert written == picture_png(result(known), known.comparison)


def test_another_count_is_another_picture():
    pictures = set()
    for right in (14, 15):
        known, _ = opened(two_tables(blinded=(right, 36)))
        pictures.add(picture_png(result(known), known.comparison))
    assert len(pictures) == 2


def test_very_long_words_still_fit():
    known, _ = opened(two_tables(told=3))
    long = replace(known.comparison, title="Saison " * 24, organised_by="Guild " * 40)
    drawn = list(texts(picture(result(known), long).shapes))
    assert sum(text.face is Face.TITLE for text, _ in drawn) >= 1
    assert all(text.y < 157.5 for text, _ in drawn)
    picture_png(result(known), long)


def test_a_link_is_described_by_the_sentences_of_the_page():
    known, _ = opened(two_tables())
    found = result(known)
    assert found.main is not None
    said = say_finding(found.main, known.comparison)
    assert describe(found, known.comparison) == joined(map(str, (*said.lead, *said.then)))


def test_an_evening_that_was_not_held_has_a_picture_too():
    known, _ = opened(evening(comparison(None), ()))
    found = replace(result(known), findings=())
    assert any(text.text == "No sitting was held." for text, _ in
               texts(picture(found, known.comparison).shapes))  # fmt: skip
    picture_png(found, known.comparison)


def test_its_colours_are_those_of_the_page():
    known, _ = opened(two_tables())
    with Image.open(BytesIO(picture_png(result(known), known.comparison))) as shown:
        seen = {f"#{r:02x}{g:02x}{b:02x}" for _, (r, g, b) in shown.convert("RGB").getcolors(9999)}
    assert "#ffffff" in seen
    assert len(seen) <= 128
    assert seen & {COLOURS_OF[name] for name in ("ink", "blue")}


COLOURS_OF = {str(ink): colour for ink, colour in COLOURS.items()}
