"""The kit through its service: what it lists is what it makes; what shows the key is recorded."""

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest

from panel.core.duties import Duties
from panel.core.errors import Fault, PanelError
from panel.core.methods import METHODS
from panel.core.names import Paper, Role, SittingKind
from panel.printing.kit import printed_trays
from panel.services import plan_comparison, print_kit, seal_comparison, sealed_key, take_ballot
from panel.services.workplace import Actor, Workplace
from panel.store import records
from tests.builders import (
    ORGANISER,
    draft,
    sealed,
    serving,
    sitting_draft,
    token,
    trays,
    workplace,
)


@pytest.fixture
def at(sqlite_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(sqlite_url, tmp_path / "instance") as place:
        yield place


def pages_of(pdf: bytes) -> int:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return len(document)
    finally:
        document.close()


def text_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return "\n".join(page.get_textpage().get_text_bounded() for page in document)
    finally:
        document.close()


def made(
    at: Workplace, comparison: str, sitting: str, one: print_kit.SheetInfo
) -> print_kit.Printed:
    make = print_kit.key_sheet if one.shows_key else print_kit.sheet
    return make(at, ORGANISER, comparison, sitting, one.name)


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("kind", SittingKind)
def test_every_sheet_of_every_kind_has_the_pages_that_were_said(
    at: Workplace, kind: SittingKind, paper: Paper
) -> None:
    known = sealed(at, kind=kind, paper=paper)
    sitting = known.sittings[0].id
    listed = print_kit.contents(at, ORGANISER, known.id, sitting)
    assert {"pour-mats", "cup-labels", "ballot-cards", "sealed-key"} <= {one.name for one in listed}
    for one in listed:
        printed = made(at, known.id, sitting, one)
        assert pages_of(printed.pdf) == one.pages
        assert printed.filename == f"{sitting}-{one.name}.pdf"


@pytest.mark.parametrize("kind", SittingKind)
@pytest.mark.parametrize(
    ("method", "planned"), [("triangle", 24), ("tetrad", 1), ("paired", 7), ("duo-trio", 13)]
)
def test_what_to_bring_is_what_the_kit_prints_and_the_pourer_pours(
    at: Workplace, method: str, planned: int, kind: SittingKind
) -> None:
    """Cards, cups and labels to the piece; of each beer what the draw may at most ask for."""
    known = plan_comparison.start_draft(at, ORGANISER, draft(method))
    first = plan_comparison.add_sitting(
        at, ORGANISER, known.id, sitting_draft(planned=planned, kind=kind)
    )
    brought = plan_comparison.forecast(at, ORGANISER, known.id).quantities
    known = seal_comparison.seal(at, ORGANISER, known.id)
    assert plan_comparison.forecast(at, ORGANISER, known.id).quantities == brought

    printed = printed_trays(trays(at, known), first)
    cards = text_of(print_kit.sheet(at, ORGANISER, known.id, first.id, "ballot-cards").pdf)
    assert sum(code in cards for tray in printed for code in tray.codes()) == brought.cups
    labels = text_of(print_kit.sheet(at, ORGANISER, known.id, first.id, "cup-labels").pdf)
    assert len(re.findall(r"\b\d{3}\b", labels)) == brought.labels
    assert (len(printed), sum(len(tray.cups) for tray in printed)) == (brought.cards, brought.cups)

    with at.units.read() as session:
        key = sealed_key.unwrap(session, at, known.id).key
    poured = Counter("".join(key[tray.number] for tray in printed))
    for beer in brought.beers:
        assert poured[beer.letter] <= beer.cups
    if kind is SittingKind.TABLE:  # only the spare trays and a last, broken set are left to chance
        loose = brought.cards - planned + planned % len(METHODS[method].orders(known.plan))
        assert sum(beer.cups for beer in brought.beers) - brought.cups <= loose * 2


@pytest.mark.parametrize("method", METHODS)
def test_every_method_prints_its_kit(at: Workplace, method: str) -> None:
    known = sealed(at, method)
    sitting = known.sittings[0].id
    for one in print_kit.contents(at, ORGANISER, known.id, sitting):
        assert made(at, known.id, sitting, one).pdf[:5] == b"%PDF-"


def test_only_sheets_that_show_the_key_name_the_beers(at: Workplace) -> None:
    known = sealed(at)
    sitting = known.sittings[0].id
    for one in print_kit.contents(at, ORGANISER, known.id, sitting):
        said = text_of(made(at, known.id, sitting, one).pdf)
        names = "Cool tank" in said or "Warm tank" in said
        assert names is one.shows_key, one.name


def test_what_shows_the_key_is_recorded_as_such(at: Workplace) -> None:
    known = sealed(at)
    print_kit.key_sheet(at, ORGANISER, known.id, known.sittings[0].id, "pour-mats")
    print_kit.sheet(at, ORGANISER, known.id, known.sittings[0].id, "steward-page")
    with pytest.raises(PanelError, match="which cup is which"):
        print_kit.sheet(at, ORGANISER, known.id, known.sittings[0].id, "sealed-key")
    with at.units.read() as session:
        deeds = [str(line.what) for line in records.of_chain(session, known.id)]
    assert deeds[-1] == "key-printed"
    assert deeds.count("key-printed") == 1


@pytest.mark.parametrize("kind", SittingKind)
def test_everything_has_the_pages_that_were_said_and_is_recorded_sheet_by_sheet(
    at: Workplace, kind: SittingKind
) -> None:
    known = sealed(at, kind=kind)
    sitting = known.sittings[0].id
    listed = print_kit.contents(at, ORGANISER, known.id, sitting)
    printed = print_kit.everything(at, ORGANISER, known.id, sitting)
    assert pages_of(printed.pdf) == print_kit.pages_of_everything(known, listed)
    assert printed.filename == f"{sitting}-everything.pdf"
    with at.units.read() as session:
        deeds = [str(line.what) for line in records.of_chain(session, known.id)]
    shown = [one.name for one in listed if one.shows_key and not one.on_request]
    assert deeds.count("key-printed") == len(shown) >= 2


def test_an_organiser_who_tastes_prints_everything_but_the_key(at: Workplace) -> None:
    whole = draft(duties=Duties(organiser_tastes=True))
    known = plan_comparison.start_draft(at, ORGANISER, whole, sitting_draft())
    known = seal_comparison.seal(at, ORGANISER, known.id)
    sitting = known.sittings[0].id
    listed = print_kit.contents(at, ORGANISER, known.id, sitting)
    printed = print_kit.everything(at, ORGANISER, known.id, sitting)
    assert pages_of(printed.pdf) == print_kit.pages_of_everything(known, listed)
    assert not re.search("Warm tank|Cool tank", text_of(printed.pdf))
    assert "Pour mats: printed by whoever may see it" in text_of(printed.pdf)
    with at.units.read() as session:
        deeds = [str(line.what) for line in records.of_chain(session, known.id)]
    assert "key-printed" not in deeds


def test_everything_is_for_the_organiser(at: Workplace) -> None:
    known = serving(at)
    for role in (Role.STEWARD, Role.POURER, Role.KEY_HOLDER, Role.TASTER):
        with pytest.raises(PanelError) as refused:
            print_kit.everything(at, Actor(role, "x"), known.id, known.sittings[0].id)
        assert refused.value.fault is Fault.FORBIDDEN


def test_a_card_printed_again_makes_the_old_one_useless(at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[2]
    old = token(at, known, tray)
    take_ballot.open_card(at, old)
    printed = print_kit.reprint_card(at, ORGANISER, known.id, tray.number)
    assert pages_of(printed.pdf) == 1
    with pytest.raises(PanelError, match="not known here"):
        take_ballot.open_card(at, old)
    new = token(at, known, trays(at, known)[2])
    assert new != old
    take_ballot.open_card(at, new)


def test_labels_are_printed_again_by_whole_trays(at: Workplace) -> None:
    known = sealed(at)
    tray = trays(at, known)[0]
    said = text_of(print_kit.reprint_labels(at, ORGANISER, known.id, tray.number).pdf)
    assert all(code in said.replace(" ", "") for code in tray.codes())


def test_no_kit_before_sealing_and_none_for_strangers(at: Workplace) -> None:
    known = plan_comparison.start_draft(at, ORGANISER, draft())
    sitting = plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft())
    with pytest.raises(PanelError, match="Seal the comparison first"):
        print_kit.contents(at, ORGANISER, known.id, sitting.id)
    done = sealed(at)
    with pytest.raises(PanelError) as refusal:
        print_kit.key_sheet(
            at, Actor(Role.STEWARD, "p", done.id, done.sittings[0].id), done.id,
            done.sittings[0].id, "pour-mats",
        )  # fmt: skip
    assert refusal.value.fault is Fault.FORBIDDEN
    with pytest.raises(PanelError, match="no sheet"):
        print_kit.sheet(at, ORGANISER, done.id, done.sittings[0].id, "wheel")
