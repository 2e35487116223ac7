"""The page that says what a draft can answer, what is missing, and seals it."""

import re

import pytest

from panel.core.allocation.seal import seal_text
from panel.core.names import Standing
from panel.services import plan_comparison, seal_comparison
from panel.services.sealed_key import unwrap
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, draft, sitting_draft
from tests.kinds import DETECTION
from tests.web.guest import Guest, Page
from tests.web.test_organiser_pages import every, write


def test_the_check_speaks_in_sentences_before_numbers(organiser: Guest) -> None:
    text = write(organiser, method="triangle").text
    # 12 of 22 decide at 5 %: ISO 4120 Table A.1 lists 12 for n = 22, alpha 0.05 (from memory).
    assert "12 of 22 right" in text
    assert text.index("Not reliably: with 22 tasters") < text.index("12 of 22 right")
    for sentence in (
        "containers of brown ale A: 40 cups",
        "That is double blinding",
        "Each taster is served up to",
        "Nobody drives after tasting.",
    ):
        assert sentence in text


def test_the_check_says_how_much_is_carried_and_in_how_many_waves(organiser: Guest) -> None:
    page = write(organiser, method="triangle", planned="22")
    # By six they are 6 + 6 + 6 + 4, the two to spare a wave of their own: 24 trays of 3 labels, and
    # of cups 5 % more.
    assert "Trays, cards Cups Labels Waves Longest wave Guild night 24 76 72 5 " in page.text


def test_the_check_says_why_this_test(organiser: Guest) -> None:
    lingering = write(organiser, lingers="yes", expected="60").text
    assert "The taste lingers, so the comparison is made easy: a reference first" in lingering
    assert "You chose it" not in lingering
    chosen = write(organiser, method="duo-trio", expected="60").text
    assert "You chose it. We would take another for the same question: " in chosen


def test_a_test_for_fewer_tasters_is_offered_openly_and_taken_with_one_button(
    organiser: Guest, at: Workplace
) -> None:
    page = write(organiser, method="triangle", pd="30", expected="24")
    assert "Not reliably: with 24 tasters" in page.text
    offer = page.html[page.html.index('class="offer"') : page.html.index('class="chart"')]
    assert re.search(r"Tetrad test: \d+ tasters with 4 cups each", offer)
    before = every(at)[0]
    after_page = organiser.send(page, "/method")
    after = every(at)[0]
    assert (before.plan.method, after.plan.method) == ("triangle", "tetrad")
    assert after.plan.d_prime is not None
    assert "Yes, this can be answered: with 24 tasters" in after_page.text
    assert 'class="offer"' not in after_page.html
    stale = organiser.send(page, "/method")
    assert "Somebody else has changed this comparison meanwhile" in stale.text


def test_no_other_test_is_offered_where_this_one_is_enough(organiser: Guest) -> None:
    assert 'class="offer"' not in write(organiser, method="triangle", expected="90").html


def test_trays_of_one_taster_are_not_called_tasters(organiser: Guest) -> None:
    text = write(organiser, kind="repeat", planned="7", expected="").text
    assert "Trays of one taster 7 planned" in text
    assert "Tasters 7 planned" not in text


def test_the_three_pages_are_numbered_and_called_alike(organiser: Guest, at: Workplace) -> None:
    assert (
        "three pages: question and people, check and seal, print."
        in organiser.get("/organise").text
    )
    assert "Page 1 of 3 · question and people" in organiser.get("/organise/new").text
    check = write(organiser)
    assert "Page 2 of 3 · check and seal" in check.text
    assert "Page 3 of 3 · print" in organiser.send(check, "/seal").text


def test_what_is_missing_keeps_it_from_being_sealed(organiser: Guest, at: Workplace) -> None:
    page = write(organiser, temperature="")
    assert "Say at which temperature it is served" in page.text
    assert "disabled" in page.form("/seal").buttons[0]
    forced = organiser.send(page, "/seal")
    assert forced.status == 422
    assert every(at)[0].standing is Standing.DRAFTED


def test_words_that_tell_are_changed_or_waived(organiser: Guest, at: Workplace) -> None:
    page = write(organiser, neutral_title="Brown ale and its boil")
    assert "“boil” stands in what was changed and in the neutral title" in page.text
    refused = organiser.send(page, "/seal", waiver=" ")
    assert refused.status == 422
    assert every(at)[0].standing is Standing.DRAFTED
    organiser.send(refused, "/seal", waiver="Every recipe says boil")
    assert every(at)[0].waived == "Every recipe says boil"


def test_members_note_a_lock_and_throw_dice(organiser: Guest, at: Workplace) -> None:
    check = write(organiser)
    (draft,) = every(at)
    lock = seal_text(seal_comparison.dice_lock(at, ORGANISER, draft.id))
    assert lock in check.text
    refused = organiser.send(check, "/seal", dice="6" * 401)
    assert refused.status == 422
    assert "A few throws of the dice are enough" in refused.text
    organiser.send(refused, "/seal", dice="4 2 6 1")
    (known,) = every(at)
    with at.units.read() as session:
        kept = unwrap(session, at, known.id).dice
    assert kept is not None
    assert kept.text == "4 2 6 1"
    assert lock not in organiser.get(f"/organise/{known.id}/check").text
    assert "4 2 6 1" not in organiser.get(f"/organise/{known.id}/check").text


def test_sealing_leads_to_the_kit_and_happens_once(organiser: Guest, at: Workplace) -> None:
    check = write(organiser)
    page = organiser.send(check, "/seal")
    (known,) = every(at)
    assert page.path == f"/organise/{known.id}/print"
    assert known.seal is not None
    again = organiser.send(check, "/seal")
    assert again.status == 409
    assert "A seal is made once." in again.text
    sealed = organiser.get(f"/organise/{known.id}/check").text
    assert " ".join(re.findall(".{8}", known.seal.digest)) in sealed


def test_a_foretaste_shows_four_worlds_and_another_evening(organiser: Guest, at: Workplace) -> None:
    started = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    address = f"/organise/{started.id}/foretaste"
    assert address in organiser.get(f"/organise/{started.id}/check").links
    first = organiser.get(address)
    assert first.html.count('<section class="world"') == 4
    assert "If nobody can tell" in first.text
    assert "right by luck" in first.text
    again, other = organiser.get(f"{address}?evening=1"), organiser.get(f"{address}?evening=2")
    assert worlds_of(again) == worlds_of(first) != worlds_of(other)
    assert organiser.get(f"{address}?evening=nonsense").status == 200


def test_without_tasters_a_foretaste_says_what_to_do(organiser: Guest, at: Workplace) -> None:
    started = plan_comparison.start_draft(at, ORGANISER, draft())
    address = f"/organise/{started.id}/foretaste"
    assert address not in organiser.get(f"/organise/{started.id}/check").links
    assert "how many tasters you plan" in organiser.get(address).text


@pytest.mark.parametrize("method", DETECTION)
def test_hits_and_false_alarms_are_planned_in_sentences(
    organiser: Guest, at: Workplace, method: str
) -> None:
    started = plan_comparison.start_draft(at, ORGANISER, draft(method), sitting_draft(planned=24))
    page = organiser.get(f"/organise/{started.id}/check")
    assert page.status == 200
    assert "with 24 tasters a difference of this size is found" in page.text
    assert "call a drink either way as readily" in page.text
    assert "We would take another for the same question" in page.text
    assert ("as a known cup" in page.text) is (method != "same-different")
    address = f"/organise/{started.id}/foretaste"
    assert address not in page.links
    assert "so there is none" in organiser.get(address).text


def worlds_of(page: Page) -> str:
    return page.html[page.html.index('<section class="world"') :]
