"""The four numbers of the ruler page, typed in on the kit's page."""

from panel.services.correct_printer import correction
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, sealed
from tests.web.guest import Guest

NUMBERS = {"across": "99", "down": "100,5 mm", "left": "29.5", "top": "30"}


def test_the_kit_leads_to_it_and_four_numbers_correct_the_printer(
    organiser: Guest, at: Workplace
) -> None:
    known = sealed(at)
    kit = organiser.get(f"/organise/{known.id}/print")
    (link,) = [link for link in kit.links if link.endswith("/print/printer")]
    page = organiser.get(link)
    assert "times 1.0000 across" in page.text
    done = organiser.send(page, "/printer", **NUMBERS)
    assert done.status == 200
    assert "times 1.0101 across, times 0.9950 down" in done.text
    assert correction(at, ORGANISER).stretch_x == 100 / 99
    stale = organiser.send(page, "/printer", **NUMBERS)
    assert stale.status == 409
    assert "Print the ruler page again" in stale.text
    old = done.forms[-1]
    assert ("what", "again") in old.fields
    organiser.post(old.action, old.fields)
    assert correction(at, ORGANISER).stretch_x == 1


def test_what_cannot_be_is_said_beside_its_field_and_kept(organiser: Guest, at: Workplace) -> None:
    page = organiser.get(f"/organise/{sealed(at).id}/print/printer")
    wrong = {**NUMBERS, "across": "9.9", "left": "29.5"}
    refused = organiser.send(page, "/printer", **wrong)
    assert refused.status == 422
    assert 'id="across-reason"' in refused.html
    assert refused.form("/printer").values("left") == ["29.5"]
    empty = organiser.send(page, "/printer", across="ten", down="", left="", top="")
    assert "“ten” is no number" in empty.text
    assert "Write what you measured, in millimetres" in empty.text
    assert all(f'id="{name}-reason"' in empty.html for name in NUMBERS)
    far = organiser.send(page, "/printer", **{**NUMBERS, "across": "94.1", "down": "94.1"})
    assert "fit to page" in far.text
    assert correction(at, ORGANISER).stretch_x == 1
