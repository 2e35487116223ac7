"""Report and picture: the organiser's draft, then everybody's, and nothing for others before."""

import hashlib
import re
from io import BytesIO

import pypdfium2
from PIL import Image

from panel.services import publish
from panel.services.workplace import Workplace
from tests.builders import ORGANISER
from tests.web.guest import Guest
from tests.web.test_public import TELLING, closed


def words_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return " ".join(page.get_textpage().get_text_bounded() for page in document)
    finally:
        document.close()


def test_the_report_is_a_draft_of_the_organisers_until_it_is_everybodys(
    organiser: Guest, guest: Guest, at: Workplace
) -> None:
    known = closed(at)
    where = f"/organise/{known.id}/report.pdf"
    assert where in organiser.get(f"/organise/{known.id}/findings").links
    draft = organiser.client.get(where)
    assert draft.mimetype == "application/pdf"
    assert f"{known.slug}-report.pdf" in draft.headers["Content-Disposition"]
    assert "NOT PUBLISHED" in words_of(draft.data)
    assert guest.client.get(where).status_code in (302, 403)
    for name in ("report.pdf", "picture.png"):
        assert guest.get(f"/r/{known.slug}/{name}").status == 404
    publish.publish(at, ORGANISER, known.id)
    public = guest.client.get(f"/r/{known.slug}/report.pdf")
    assert "NOT PUBLISHED" not in words_of(public.data)
    assert f"localhost/r/{known.slug}" in words_of(public.data)
    assert public.data == organiser.client.get(where).data
    assert f"/r/{known.slug}/report.pdf" in guest.get(f"/r/{known.slug}").links


def test_a_link_is_shown_with_the_picture_once_there_is_something_to_show(
    guest: Guest, at: Workplace
) -> None:
    known = closed(at)
    before = guest.get(f"/r/{known.slug}").html
    assert "og:" not in before
    assert 'name="description"' not in before
    assert not [word for word in TELLING if word in before]
    publish.publish(at, ORGANISER, known.id)
    page = guest.get(f"/r/{known.slug}")
    meta = dict(re.findall(r'<meta (?:name|property)="([^"]+)" content="([^"]*)">', page.html))
    assert meta["description"] == meta["og:description"]
    assert meta["description"].startswith("2 of 6 blinded tasters found the odd cup.")
    assert meta["og:title"] == known.title
    shown = meta["og:image"]
    assert shown == f"http://localhost/r/{known.slug}/picture.png"
    assert shown.removeprefix("http://localhost") in page.links
    answer = guest.client.get(shown.removeprefix("http://localhost"))
    assert answer.mimetype == "image/png"
    with Image.open(BytesIO(answer.data)) as picture:
        assert picture.size == (int(meta["og:image:width"]), int(meta["og:image:height"]))
    again = guest.client.get(f"/r/{known.slug}/picture.png")
    assert hashlib.sha256(again.data).digest() == hashlib.sha256(answer.data).digest()
