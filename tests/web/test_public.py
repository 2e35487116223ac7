"""What everybody may see: the seal before, a calm word between, the result after."""

import hashlib
import json

from panel.core.comparison import Comparison
from panel.core.paper.payload import ref_of
from panel.services import (
    check_published,
    close_and_unseal,
    open_sitting,
    plan_comparison,
    publish,
    settle_ballots,
    take_ballot,
)
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, answers, draft, sealed, serving, token, trays
from tests.web.guest import Guest

TELLING = ("Warm tank", "Cool tank", "fermentation", "27 °C", "19 °C")


def closed(at: Workplace) -> Comparison:
    known = serving(at)
    for tray in trays(at, known)[:6]:
        take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray), "k" * 16)
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    return close_and_unseal.close(at, ORGANISER, known.id)


def test_before_it_is_set_up_the_front_page_says_where_the_link_stands(guest: Guest) -> None:
    page = guest.get("/")
    assert "The link to set it up stands in the terminal window" in page.text
    assert "Nothing is published yet" not in page.text


def test_an_empty_front_page_says_what_will_stand_there(organiser: Guest, guest: Guest) -> None:
    page = guest.get("/")
    assert "Nothing is published yet" in page.text
    assert "/card" in page.links


def test_a_draft_is_nowhere(guest: Guest, at: Workplace) -> None:
    known = plan_comparison.start_draft(at, ORGANISER, draft())
    assert guest.get(f"/r/{known.slug}").status == 404
    assert known.neutral_title not in guest.get("/").text


def test_before_serving_the_seal_stands_there_in_neutral_words(guest: Guest, at: Workplace) -> None:
    known = sealed(at)
    assert known.seal is not None
    page = guest.get(f"/r/{known.slug}")
    assert "Nobody has tasted yet" in page.text
    assert "".join(known.seal.digest.split()) in page.text.replace(" ", "")
    assert "14 March 2027, 18:30" in page.text
    assert page.html.count("<svg") == 2  # the rings of the head, and the rosette
    assert "style=" not in page.html
    for word in TELLING:
        assert word not in page.html


def test_while_serving_and_after_closing_there_is_no_figure(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    assert "Being tasted" in guest.get(f"/r/{known.slug}").text
    done = closed(at)
    page = guest.get(f"/r/{done.slug}")
    assert "The result will stand here" in page.text
    for word in (*TELLING, "of 6", "found the odd cup"):
        assert word not in page.html
    assert guest.get(f"/r/{done.slug}/sealed.json").status == 404
    assert guest.get(f"/r/{done.slug}/codes.html").status == 404
    assert guest.get(f"/r/{done.slug}/bundle.zip").status == 404


def test_after_publication_the_result_and_its_files(guest: Guest, at: Workplace) -> None:
    known = closed(at)
    publish.publish(at, ORGANISER, known.id)
    assert known.title in guest.get("/").text
    page = guest.get(f"/r/{known.slug}")
    assert "of 6 blinded tasters found the odd cup" in page.text
    assert "Warm tank" in page.text
    assert "style=" not in page.html
    for name in ("sealed.json", "plan.json", "findings.json", "codes.html", "bundle.zip"):
        assert f"/r/{known.slug}/{name}" in page.links
        assert guest.get(f"/r/{known.slug}/{name}").status == 200
    assert known.seal is not None
    sealed_bytes = guest.client.get(f"/r/{known.slug}/sealed.json").data
    assert hashlib.sha256(sealed_bytes).hexdigest() == known.seal.digest
    assert json.loads(guest.client.get(f"/r/{known.slug}/findings.json").data)
    assert guest.get(f"/r/{known.slug}/../../settings.toml").status == 404
    assert guest.get(f"/r/{known.slug}/index.html").path == f"/r/{known.slug}"


def test_the_bundle_is_fetched_whole_and_holds(guest: Guest, at: Workplace) -> None:
    known = closed(at)
    publish.publish(at, ORGANISER, known.id)
    assert known.seal is not None
    fetched = guest.client.get(f"/r/{known.slug}/bundle.zip")
    assert fetched.mimetype == "application/zip"
    assert f"{known.slug}-bundle.zip" in fetched.headers["Content-Disposition"]
    lines = check_published.check(fetched.data, known.seal.digest)
    assert [str(line.message) for line in lines if not line.holds] == []
    assert len(lines) >= 8
    again = guest.client.get(f"/r/{known.slug}/bundle.zip")
    assert again.data == fetched.data


def test_a_phone_can_be_tried_before_the_doors_open(guest: Guest) -> None:
    assert "This phone reaches us" in guest.get("/reach").text
