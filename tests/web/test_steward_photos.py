"""The steward's photographs, on a phone without scripts."""

from io import BytesIO

from flask import Flask
from PIL import Image

from panel.core.allocation.check_letter import card_number
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.paper.payload import ref_of
from panel.services import take_ballot
from panel.services.workplace import Workplace
from tests.builders import answers, serving, token, trays
from tests.services.test_read_cards import filled, png, sheet_of
from tests.web.guest import ORIGIN, Guest


def jpeg(picture: Image.Image) -> bytes:
    """Small enough that the test client keeps it in memory."""
    out = BytesIO()
    Image.open(BytesIO(png(picture))).save(out, "JPEG", quality=60)
    assert out.tell() < 400_000
    return out.getvalue()


def sent(guest: Guest, path: str, data: bytes, name: str = "cards.png", **more: str) -> str:
    page = guest.get(path)
    token = dict(page.form("/photos").fields)["csrf_token"]
    answer = guest.client.post(
        path,
        data={"csrf_token": token, "pictures": (BytesIO(data), name), **more},
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
    page = organiser.get(path)
    assert "1 card is in 3 cards to look at" in page.text
    for word in ("ballot is in", "to be looked at Nothing is marked on this card."):
        assert word in page.text
    first = card_number(trays(at, known)[0].number)
    assert page.text.count(first) == 1
    assert f"/steward/{known.id}/{sitting}/review/1" in page.links


def test_a_script_gets_the_list_and_what_is_not_in_it(organiser: Guest, at: Workplace) -> None:
    """No head, no form: what is put in the list's place; a refusal that is named by its reason."""
    known, other = serving(at), serving(at)
    sitting = known.sittings[0].id
    path = f"/steward/{known.id}/{sitting}/photos"
    picture = sheet_of(at, known.id, sitting)
    html = sent(organiser, path, jpeg(picture), part="rows")
    assert html.lstrip().startswith('<section id="cards-in" data-readings="4"')
    assert "<form" not in html
    assert html.count('<li class="look">') == 4
    assert html.split('<div id="not-listed">')[1].strip() == "</div>"
    strange = sent(organiser, f"/steward/{other.id}/{other.sittings[0].id}/photos",
                   jpeg(picture), part="rows")  # fmt: skip
    assert strange.count("This card belongs to another comparison. Read it there.") == 4
    assert 'data-readings="0"' in strange
    none = sent(organiser, path, b"nothing of the kind", part="rows")
    assert "This is no picture that can be read." in none


def test_a_card_whose_ballot_is_in_says_so_and_whether_it_agrees(
    organiser: Guest, at: Workplace
) -> None:
    known = serving(at)
    sitting = known.sittings[0].id
    path = f"/steward/{known.id}/{sitting}/photos"
    tray = trays(at, known)[0]
    take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray, 1), "k")
    link = f"card={card_number(tray.number).replace(' ', '%20')}"
    for marks, words, keyed in (
        (set(), "Nothing is marked on this card. Its ballot is in already: nothing", False),
        ({("odd", 1)}, "what can be read here says the same: nothing is left to do", False),
        ({("odd", 3)}, "what can be read here says something else", True),
    ):
        picture = sheet_of(at, known.id, sitting)
        filled(picture, known, CARD_FORMATS["a6"], 0, marks)
        html = sent(organiser, path, jpeg(picture))
        assert words in html
        assert (link in html or link.replace("%20", "+") in html) is keyed, marks
        came_of_them = html.split('id="cards-in"')[0]
        assert came_of_them.count("Nothing is marked on this card.") == (4 if not marks else 3)
        assert "Nothing is marked here. Nothing" not in html


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
