"""One tray opened from the evening's page: three actions, that tray alone in the answer."""

from panel.core.allocation.check_letter import card_number
from panel.core.names import CardStanding
from panel.services.workplace import Workplace
from tests.builders import serving, trays
from tests.web.guest import Guest


def test_three_actions_and_that_tray_alone(organiser: Guest, at: Workplace) -> None:
    known = serving(at)
    evening = organiser.get(f"/organise/{known.id}")
    (link,) = [link for link in evening.links if link.endswith("/emergency")]
    form = organiser.get(link)  # the first; typing is the second, the button the third
    page = organiser.send(form, "/emergency", card=card_number(4), reason="hives")
    assert page.status == 200
    assert page.response.headers["Cache-Control"] == "no-store"
    mine, *_ = [tray for tray in trays(at, known) if tray.number == 4]
    assert mine.standing is CardStanding.SET_ASIDE
    assert all(code in page.text for code in mine.codes())
    others = {code for tray in trays(at, known) for code in tray.codes()} - set(mine.codes())
    assert not [code for code in others if f">{code}<" in page.html]
    assert not [code for code in mine.codes() if code in organiser.get(link).text]


def test_what_was_typed_comes_back_with_what_is_missing(organiser: Guest, at: Workplace) -> None:
    known = serving(at)
    form = organiser.get(f"/organise/{known.id}/emergency")
    page = organiser.send(form, "/emergency", card=card_number(4), reason=" ")
    assert "Write in a few words why" in page.text
    assert page.form("/emergency").values("card") == [card_number(4)]
    wrong = organiser.send(form, "/emergency", card="4", reason="hives")
    assert "Open one tray in an emergency" in wrong.text
    assert all(tray.standing is CardStanding.PRINTED for tray in trays(at, known))
