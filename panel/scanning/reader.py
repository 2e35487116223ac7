"""Reading the cards of a page: code, placement, outlines, darkness, answers; never a silent guess.

A card that fails a gate is not read at all; a place that is neither clearly empty nor clearly
marked is a question to a person.
"""

from dataclasses import replace

import numpy as np

from panel.core.errors import PanelError
from panel.core.message import Message, Number, say
from panel.scanning.answers import answers_of, too_many_marks
from panel.scanning.corner_marks import Foreseen, Ground, Page
from panel.scanning.darkness import contrast_of, darkness
from panel.scanning.find_codes import FoundCode, find_codes
from panel.scanning.outlines import Outlines, refined
from panel.scanning.projective import Floats, Picture, applied, pixels_per_mm
from panel.scanning.read_marks import PlaceReading, borne_out, enough_borne_out, judged
from panel.scanning.reading import CardKnown, CardReading, Known, OpenQuestion, Reason
from panel.scanning.recentre import recentred
from panel.scanning.register import Placement, register
from panel.scanning.straighten import Cutting, cutting
from panel.scanning.thresholds import THRESHOLDS, reader_version


def read_page(image: Picture, known: Known) -> tuple[CardReading, ...]:
    """Every card whose code is found on the page, from top to bottom; () if there is none.

    image: grey (rows × columns, uint8), as `pages.pages_of` gives it; any way up, one card or a
    dozen. known: says which card a code belongs to.
    """
    page = Page(np.ascontiguousarray(image))
    return tuple(_read_card(page, code, known) for code in find_codes(page.picture))


def _read_card(page: Page, code: FoundCode, known: Known) -> CardReading:
    try:
        card = known(code.text)
    except PanelError as refusal:
        return _not_read(code.text, None, Reason.REFUSED, refusal.message)
    if card is None:
        return _not_read(code.text, None, Reason.STRANGE, STRANGE)
    ground = Ground.of(card.layout)
    placement = register(page, ground, code.corners)
    if placement is not None:
        reading = _placed(page, code, card, ground, placement)
        if all(one.question is not None for one in reading.open):
            return reading
    if _mirrored(page, ground, code):
        return _not_read(code.text, card.number, Reason.MIRRORED, MIRRORED)
    if placement is not None:
        return reading
    cut = cutting(page.picture, Foreseen.of(ground, code.corners).matrix, card.layout.stays)
    return _not_read(code.text, card.number, Reason.CORNERS, CORNERS, cut)


MIRROR_RESIDUAL = 1.0
"""Millimetres: all four corner marks of a mirrored card agree with its code as well as this."""


def _mirrored(page: Page, ground: Ground, code: FoundCode) -> bool:
    """Whether a card that cannot be read would lie well in a mirror."""
    other = register(page, ground, code.mirrored)
    return other is not None and len(other.marks) == 4 and other.residual < MIRROR_RESIDUAL


def _not_read(
    text: str, number: str | None, reason: Reason, message: Message, cut: Cutting | None = None
) -> CardReading:
    opened = OpenQuestion(question=None, reason=reason, message=message)
    return CardReading(
        text=text, number=number, answers={}, open=(opened,), cutting=cut, version=reader_version()
    )


def _placed(
    page: Page, code: FoundCode, card: CardKnown, ground: Ground, placement: Placement
) -> CardReading:
    """The reading of a card whose placement is known."""
    matrix, layout = placement.matrix, card.layout
    contrast = contrast_of(page.picture, matrix, ground.code)
    places: tuple[PlaceReading, ...] = ()
    strength: float | None = None
    if contrast >= THRESHOLDS.contrast_least:
        outlines = refined(page.picture, matrix, layout.places, contrast, placement.residual)
        strength = float(np.median(outlines.pooled))
        places = _places(page, card, matrix, outlines, contrast)
    opened = _gate(page, placement, strength, card, places)
    answers, questions = ({}, opened) if opened else answers_of(card, places)
    corners = applied(matrix, ground.corners)
    return CardReading(
        text=code.text,
        number=card.number,
        answers=answers,
        open=questions,
        places=places,
        corner_marks=len(placement.marks),
        residual=placement.residual,
        contrast=contrast,
        outlines=strength,
        corners=tuple((float(x), float(y)) for x, y in corners),
        cutting=cutting(page.picture, matrix, layout.stays),
        version=reader_version(),
    )


def _places(
    page: Page, card: CardKnown, matrix: Floats, outlines: Outlines, contrast: float
) -> tuple[PlaceReading, ...]:
    places = card.layout.places
    measures = darkness(page.picture, matrix, outlines, places, contrast)
    confirmed = borne_out(outlines, THRESHOLDS.confirmed_apart_most)
    hidden = np.flatnonzero((measures.cover >= THRESHOLDS.own_anchor_from) & ~confirmed)
    if len(hidden):
        centres = recentred(page.picture, matrix, outlines.centres, places, hidden, contrast)
        outlines = replace(outlines, centres=centres)
        again = darkness(page.picture, matrix, outlines, places, contrast)
        measures = again.with_lines_of(measures)
    states = judged(measures, outlines, places)
    seen = applied(matrix, outlines.centres)
    scale = pixels_per_mm(matrix, outlines.centres.mean(axis=0))
    return tuple(
        PlaceReading(
            place=place,
            state=states[index][0],
            doubt=states[index][1],
            cover=float(measures.cover[index]),
            depth=float(measures.depth[index]),
            band=float(measures.band[index]),
            outline=float(outlines.pooled[index]),
            borne_out=bool(confirmed[index]),
            at=(float(seen[index, 0]), float(seen[index, 1])),
            radius=place.radius * scale,
        )
        for index, place in enumerate(places)
    )


def _gate(
    page: Page,
    placement: Placement,
    strength: float | None,
    card: CardKnown,
    places: tuple[PlaceReading, ...],
) -> tuple[OpenQuestion, ...]:
    """What keeps the whole card from being read, if anything does."""
    failed: tuple[Reason, Message] | None = None
    if placement.residual > THRESHOLDS.residual_most:
        failed = Reason.BENT, _bent(placement.residual)
    elif page.grey_share < THRESHOLDS.grey_least:
        failed = Reason.TWO_TONE, TWO_TONE
    elif strength is None:
        failed = Reason.PALE, PALE
    elif strength < THRESHOLDS.outlines_median_least or not enough_borne_out(places):
        failed = Reason.FAINT, FAINT
    elif too_many_marks(card, places):
        failed = Reason.CROWDED, CROWDED
    if failed is None:
        return ()
    return (OpenQuestion(question=None, reason=failed[0], message=failed[1]),)


def _bent(residual: float) -> Message:
    return say(
        "The card is too bent or too much from the side (%(residual)s mm off). Take the picture "
        "again from straight above, the card lying flat, or decide from this one.",
        residual=Number(residual),
    )


STRANGE = say(
    "This code belongs to no card of this comparison: another kit, an earlier print, or no ballot "
    "card at all."
)
MIRRORED = say(
    "This picture shows the card mirrored. Take it again with the camera on the back of the phone, "
    "or switch mirroring off."
)
CORNERS = say(
    "Fewer than three of the card's corner marks can be seen. Take the picture again with the "
    "whole card in it, flat and in even light, or decide from this one."
)
PALE = say(
    "The picture has too little contrast. Take it again in better light, or decide from this one."
)
TWO_TONE = say(
    "This scan is black and white without grey, so a light pencil may have vanished from it. Scan "
    "the card again in grey."
)
FAINT = say(
    "The printed rings cannot be seen clearly enough. Take the picture again, sharp and in even "
    "light, or decide from this one."
)
CROWDED = say(
    "More places look filled than a ballot can have: a shadow or a stain, perhaps. Look at the "
    "card and decide."
)
