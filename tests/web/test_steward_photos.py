"""The steward's photographs, on a phone without scripts."""

from io import BytesIO

from flask import Flask
from PIL import Image

from panel.core.paper.card_format import CARD_FORMATS
from panel.services.workplace import Workplace
from tests.builders import serving
from tests.services.test_read_cards import filled, png, sheet_of
from tests.web.guest import ORIGIN, Guest


def jpeg(picture: Image.Image) -> bytes:
    """Small enough that the test client keeps it in memory."""
    out = BytesIO()
    Image.open(BytesIO(png(picture))).save(out, "JPEG", quality=60)
    assert out.tell() < 400_000
    return out.getvalue()


def sent(guest: Guest, path: str, data: bytes, name: str = "cards.png") -> str:
    page = guest.get(path)
    token = dict(page.form("/photos").fields)["csrf_token"]
    answer = guest.client.post(
        path,
        data={"csrf_token": token, "pictures": (BytesIO(data), name)},
        content_type="multipart/form-data",
        headers={"Origin": ORIGIN},
    )
    assert answer.status_code in (200, 422)
    return answer.get_data(as_text=True)


def test_clear_cards_are_taken_and_the_others_come_back(organiser: Guest, at: Workplace) -> None:
    known = serving(at)
    sitting = known.sittings[0].id
    path = f"/steward/{known.id}/{sitting}/photos"
    picture = sheet_of(at, known.id, sitting)
    filled(
        picture,
        known,
        CARD_FORMATS["a6"],
        0,
        {("knew", "nothing"), ("odd", 2), ("sure", "guess")},
    )
    html = sent(organiser, path, jpeg(picture))
    assert "is in." in html
    assert "Key it in by hand" in html
    assert "data:image/png;base64," in html


def test_what_is_no_picture_is_refused_in_words(organiser: Guest, at: Workplace) -> None:
    known = serving(at)
    path = f"/steward/{known.id}/{known.sittings[0].id}/photos"
    assert "Picture 1" in sent(organiser, path, b"nothing of the kind", "notes.txt")
    page = organiser.send(organiser.get(path), "/photos")
    assert "Choose a picture of one card or more." in page.text


def test_strangers_do_not_reach_it(app: Flask, at: Workplace) -> None:
    known = serving(at)
    path = f"/steward/{known.id}/{known.sittings[0].id}/photos"
    assert Guest(app).client.get(path).status_code == 403
