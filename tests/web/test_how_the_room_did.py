"""After publication a taster's card shows the own answer and how everybody did, and no earlier."""

from panel.core.paper.payload import ref_of
from panel.services import close_and_unseal, open_sitting, publish, settle_ballots, take_ballot
from panel.services.the_room import room
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, answers, serving, token, trays
from tests.web.guest import Guest


def test_one_s_own_answer_and_then_the_room_s(guest: Guest, at: Workplace) -> None:
    known = serving(at)
    first, told, *_ = every = trays(at, known)[:6]
    silent = trays(at, known)[6]
    for tray in every:
        given = answers(known, tray, knew="variable" if tray is told else "nothing")
        take_ballot.take_phone(at, ref_of(token(at, known, tray)), given, "k" * 16)
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    close_and_unseal.close(at, ORGANISER, known.id)
    ref = ref_of(token(at, known, first))
    assert room(at, ref) is None
    assert "found the odd cup" not in guest.get(f"/{token(at, known, first)}").text
    publish.publish(at, ORGANISER, known.id)
    page = guest.get(f"/{token(at, known, first)}")
    assert "How the room did" in page.text
    assert "of 5 blinded tasters found the odd cup. Guessing alone would give about 2." in page.text
    assert "counted apart" not in page.text
    assert f"/r/{known.slug}" in page.links
    (mine,) = [link for link in page.links if "codes.html" in link]
    assert f'id="{mine.split("#")[1]}"' in guest.get(mine.split("#")[0]).html
    assert mine.endswith(f"#card-{first.number}")
    apart = guest.get(f"/{token(at, known, told)}")
    assert "You are counted apart, under “Told at the table”" in apart.text
    assert "of 1 taster who had been told at the table" in apart.text
    assert "of 5 blinded tasters" in apart.text
    nobody = guest.get(f"/{token(at, known, silent)}")
    assert "No ballot came from this card" in nobody.text
    assert "of 5 blinded tasters" in nobody.text
