"""A split sitting through the services: told on the right phones, nowhere else before closing."""

import re
from collections.abc import Iterator
from dataclasses import asdict, replace
from pathlib import Path

import pypdfium2
import pytest

from panel.core.blinded_view import blinded_view
from panel.core.names import Information, Role
from panel.core.paper.payload import ref_of
from panel.services import (
    close_and_unseal,
    open_sitting,
    plan_comparison,
    print_kit,
    seal_comparison,
    settle_ballots,
    show_result,
    take_ballot,
    tally,
)
from panel.services.sealed_key import unwrap
from panel.services.workplace import Actor, Workplace
from panel.store import records
from tests.builders import (
    ORGANISER,
    answers,
    draft,
    serving,
    sitting_draft,
    token,
    trays,
    workplace,
)

TOLD = "One of the two was fermented at 27 °C."


@pytest.fixture
def at(database_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(database_url, tmp_path / "instance") as place:
        yield place


def informed(at: Workplace, comparison: str) -> frozenset[int]:
    with at.units.read() as session:
        return unwrap(session, at, comparison).informed


def text_of(pdf: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        pages = [page.get_textpage().get_text_bounded() for page in document]
    finally:
        document.close()
    return [re.sub(r"\s+", " ", page) for page in pages]


def test_the_phones_of_the_informed_say_it_and_no_other(at: Workplace) -> None:
    known = serving(at, information=Information.SPLIT, told=TOLD, planned=12)
    told = informed(at, known.id)
    printed = [tray.number for tray in trays(at, known) if not tray.spare]
    assert sum(number in told for number in printed) == 6
    for tray in trays(at, known):
        view = take_ballot.taster_view(at, ref_of(token(at, known, tray)))
        assert view.told == (TOLD if tray.number in told else "")


def test_without_the_instance_key_the_slip_says_it_and_ballots_are_taken(at: Workplace) -> None:
    known = serving(at, information=Information.SPLIT, told=TOLD, planned=12)
    told = informed(at, known.id)
    refs = {tray.number: ref_of(token(at, known, tray)) for tray in trays(at, known)}
    lost = replace(at, instance_key=bytes(32))
    views = {number: take_ballot.taster_view(lost, ref) for number, ref in refs.items()}
    assert told
    assert {(view.told, view.told_room, view.slip_alone) for view in views.values()} == {
        ("", 0, True)
    }
    tray = trays(at, known)[0]
    receipt = take_ballot.take_phone(lost, refs[tray.number], answers(known, tray), "k" * 16)
    assert not receipt.late


def test_a_steward_cannot_see_who_is_told(at: Workplace) -> None:
    known = serving(at, information=Information.SPLIT, told=TOLD, planned=12)
    sitting = known.sittings[0].id
    steward = Actor(Role.STEWARD, "pass", known.id, sitting)
    board = open_sitting.board(at, steward, known.id, sitting)
    assert TOLD not in repr(board)
    assert "informed" not in repr([asdict(tray) for tray in board.trays])
    page = " ".join(text_of(print_kit.sheet(at, ORGANISER, known.id, sitting, "steward-page").pdf))
    assert "folded slip" in page
    assert TOLD not in page
    for name in ("ballot-cards", "cup-labels", "sign-in"):
        assert TOLD not in " ".join(
            text_of(print_kit.sheet(at, ORGANISER, known.id, sitting, name).pdf)
        )
    assert TOLD not in repr(blinded_view(known))


def test_each_slip_says_what_the_lots_have_drawn_and_printing_is_recorded(at: Workplace) -> None:
    known = serving(at, information=Information.SPLIT, told=TOLD, planned=12)
    sitting, told = known.sittings[0].id, informed(at, known.id)
    listed = {one.name: one for one in print_kit.contents(at, ORGANISER, known.id, sitting)}
    assert listed["told-slips"].shows_key
    slips = " ".join(
        text_of(print_kit.key_sheet(at, ORGANISER, known.id, sitting, "told-slips").pdf)
    )
    said = re.findall(r"(27 °C|told nothing)|(?:^| )(\d+) [A-Z] before the first cup", slips)
    words = [first for first, _ in said if first]
    numbers = [int(second) for _, second in said if second]
    assert numbers == list(range(1, 15))
    assert words == ["27 °C" if number in told else "told nothing" for number in numbers]
    with at.units.read() as session:
        (last,) = list(records.of_chain(session, known.id))[-1:]
    assert (last.what, last.subject) == ("key-printed", sitting)
    assert "told-slips" in last.detail


def test_a_kit_without_a_split_has_no_slips(at: Workplace) -> None:
    known = serving(at)
    listed = print_kit.contents(at, ORGANISER, known.id, known.sittings[0].id)
    assert "told-slips" not in {one.name for one in listed}


def test_the_result_compares_as_drawn_and_the_seal_holds(at: Workplace) -> None:
    known = serving(at, information=Information.SPLIT, told=TOLD, planned=12)
    told = informed(at, known.id)
    for tray in trays(at, known)[:12]:
        knew = "variable" if tray.number in told else "nothing"
        ref = ref_of(token(at, known, tray))
        take_ballot.take_phone(at, ref, answers(known, tray, knew=knew), "k")
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    close_and_unseal.close(at, ORGANISER, known.id)
    opened = tally.findings(at, ORGANISER, known.id)
    assert opened.informed == told
    counts = {finding.id: finding.tasters for finding in opened.result.findings}
    assert counts == {"blinded": 6, "informed": 6}
    (difference,) = opened.result.differences
    assert difference.drawn
    assert opened.result.seal is not None
    sealed = show_result.opened_seal(opened)
    assert sealed.holds(opened.result.seal.digest)
    assert not _moved(sealed, opened.result.seal.digest)
    article = show_result.article(at, ORGANISER, known.id, str)
    assert "split by lot" in article
    assert TOLD in article


def _moved(sealed: show_result.OpenedSeal, digest: str) -> bool:
    """Whether the seal would hold with one tray put into the other group."""
    moved = sealed.informed ^ {min(sealed.informed)}
    return type(sealed)(**{**sealed.__dict__, "informed": moved}).holds(digest)


def test_a_split_sitting_added_later_draws_its_lots_too(at: Workplace) -> None:
    whole = draft()
    plan = type(whole.plan)(**{**whole.plan.__dict__, "further_sittings": True})
    known = plan_comparison.start_draft(at, ORGANISER, draft(plan=plan), sitting_draft())
    seal_comparison.seal(at, ORGANISER, known.id)
    assert not informed(at, known.id)
    added = sitting_draft("Summer evening", information=Information.SPLIT, told=TOLD, planned=8)
    seal_comparison.add_sitting_after_seal(at, ORGANISER, known.id, added)
    told = informed(at, known.id)
    assert sum(13 <= number <= 20 for number in told) == 4
    assert min(told) > 12
