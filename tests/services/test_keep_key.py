"""An organiser who also tastes sees no key; a key holder with an account of their own keeps it."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from panel.core.comparison import Comparison
from panel.core.duties import Duties
from panel.core.errors import Fault, PanelError, RefusalsError
from panel.core.names import Blinding, Helpers, Information, Reason, Role, Standing
from panel.core.visibility import Sight, may_see
from panel.publishing import conditions
from panel.services import (
    close_and_unseal,
    emergency,
    invite,
    keep_key,
    open_sitting,
    plan_comparison,
    pour,
    print_kit,
    seal_comparison,
    settle_ballots,
    show_result,
    sign_in,
    tally,
)
from panel.services.workplace import Actor, Workplace
from panel.store import records
from tests.builders import ORGANISER, draft, key_holder, serving, sitting_draft, workplace

PASSWORD = "quiet copper kettle"
KEY_SHEETS = ("pour-mats", "pour-sheet", "told-slips", "sealed-key")


@pytest.fixture
def at(database_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(database_url, tmp_path / "instance") as place:
        yield place


def tasting(at: Workplace) -> Comparison:
    """A sealed comparison whose organiser tastes too, with a split sitting."""
    whole = draft(duties=Duties(organiser_tastes=True))
    split = sitting_draft(information=Information.SPLIT, told="One was warm.")
    known = plan_comparison.start_draft(at, ORGANISER, whole, split)
    return seal_comparison.seal(at, ORGANISER, known.id)


def refused(deed: Callable[[], object]) -> PanelError:
    with pytest.raises(PanelError) as refusal:
        deed()
    return refusal.value


def link_for(at: Workplace, known: Comparison) -> str:
    return invite.invite(at, ORGANISER, known.id, known.sittings[0].id, Role.KEY_HOLDER)


# --- the organiser who tastes --------------------------------------------------------------------


def test_nothing_that_shows_the_key_is_the_organisers_who_tastes(at: Workplace) -> None:
    known = tasting(at)
    sitting = known.sittings[0].id
    for name in KEY_SHEETS:
        refusal = refused(lambda: print_kit.key_sheet(at, ORGANISER, known.id, sitting, name))  # noqa: B023
        assert (refusal.code, refusal.fault) == ("organiser-tastes", Fault.FORBIDDEN)
    assert (
        refused(lambda: pour.pouring(at, ORGANISER, known.id, sitting)).code == "organiser-tastes"
    )
    with at.units.read() as session:
        deeds = {line.what for line in records.of_chain(session, known.id)}
    assert not deeds & {"key-printed", "key-shown"}


def test_the_kit_is_listed_all_the_same_with_its_pages(at: Workplace) -> None:
    known = tasting(at)
    listed = print_kit.contents(at, ORGANISER, known.id, known.sittings[0].id)
    assert set(KEY_SHEETS) <= {one.name for one in listed}


def test_after_closing_the_key_is_open_to_all_organisers() -> None:
    for standing in Standing:
        seen = may_see(
            Role.ORGANISER, Sight.POURING, standing, Blinding.DOUBLE, organiser_tastes=True
        )
        assert seen is (standing in (Standing.CLOSED, Standing.PUBLISHED))


def test_an_emergency_goes_before_blinding(at: Workplace) -> None:
    known = tasting(at)
    assert emergency.open_one_tray(at, ORGANISER, known.id, 1, "hives").card == "1 B"


def test_the_pourer_prints_their_own_sheets_and_no_other(at: Workplace) -> None:
    known = tasting(at)
    sitting = known.sittings[0].id
    pourer = Actor(Role.POURER, "pass", known.id, sitting)
    for name in ("pour-mats", "pour-sheet"):
        assert print_kit.key_sheet(at, pourer, known.id, sitting, name).pdf[:5] == b"%PDF-"
    for name in ("sealed-key", "told-slips"):
        refusal = refused(lambda: print_kit.key_sheet(at, pourer, known.id, sitting, name))  # noqa: B023
        assert refusal.fault is Fault.FORBIDDEN
    elsewhere = Actor(Role.POURER, "pass", known.id, "another00001")
    assert refused(lambda: print_kit.key_sheet(at, elsewhere, known.id, sitting, "pour-mats"))
    with at.units.read() as session:
        last = [line for line in records.of_chain(session, known.id)][-1]
    assert (last.what, last.role) == ("key-printed", "pourer")


def test_alone_nothing_can_be_hidden(at: Workplace) -> None:
    whole = draft(duties=Duties(organiser_tastes=True), helpers=Helpers.ALONE)
    known = plan_comparison.start_draft(at, ORGANISER, whole, sitting_draft())
    with pytest.raises(RefusalsError) as refusal:
        seal_comparison.seal(at, ORGANISER, known.id)
    assert [one.field for one in refusal.value.refusals] == ["organiser_tastes"]


def test_who_does_what_is_kept_and_sealed(at: Workplace) -> None:
    known = tasting(at)
    assert plan_comparison.comparison(at, ORGANISER, known.id).duties.organiser_tastes
    untouched = replace(draft(), helpers=Helpers.THREE)
    other = plan_comparison.start_draft(at, ORGANISER, untouched)
    assert plan_comparison.comparison(at, ORGANISER, other.id).duties == Duties()


# --- the key holder -------------------------------------------------------------------------------


def test_a_link_opens_an_account_that_signs_in_by_itself(at: Workplace) -> None:
    known = tasting(at)
    link = link_for(at, known)
    assert invite.role_of(at, link) is Role.KEY_HOLDER
    keep_key.take_up(at, link, "Keeper", PASSWORD)
    assert invite.role_of(at, link) is None
    holder = sign_in.person_of(at, sign_in.sign_in(at, "keeper", PASSWORD))
    assert holder is not None
    assert (holder.role, holder.comparison) == (Role.KEY_HOLDER, None)
    assert [one.id for one in keep_key.kept(at, holder)] == [known.id]
    assert refused(lambda: keep_key.take_up(at, link, "Other", PASSWORD)).fault is Fault.MISSING


def test_the_key_holder_prints_what_shows_the_key_of_that_comparison(at: Workplace) -> None:
    known, other = tasting(at), tasting(at)
    holder = key_holder(at, known)
    sitting = known.sittings[0].id
    listed = print_kit.key_contents(at, holder, known.id, sitting)
    assert {one.name for one in listed} == set(KEY_SHEETS)
    for one in listed:
        assert print_kit.key_sheet(at, holder, known.id, sitting, one.name).pdf[:5] == b"%PDF-"
    there = other.sittings[0].id
    assert refused(lambda: print_kit.key_sheet(at, holder, other.id, there, "sealed-key"))
    assert refused(lambda: print_kit.key_contents(at, holder, other.id, there))
    assert refused(lambda: keep_key.kept_one(at, holder, other.id))
    with at.units.read() as session:
        lines = [line for line in records.of_chain(session, known.id) if line.role == "key-holder"]
    assert {line.what for line in lines} == {"invitation-accepted", "key-printed"}
    assert {line.who for line in lines} == {holder.person}


def test_one_account_keeps_several_keys(at: Workplace) -> None:
    first, second = tasting(at), tasting(at)
    key_holder(at, first)
    with pytest.raises(PanelError, match="do not belong together"):
        keep_key.take_up(at, link_for(at, second), "Keeper", "another copper kettle")
    holder = key_holder(at, second)
    assert {one.id for one in keep_key.kept(at, holder)} == {first.id, second.id}


def test_a_key_taken_away_opens_nothing(at: Workplace) -> None:
    known = tasting(at)
    holder = key_holder(at, known)
    (link,) = [one for one in invite.invited(at, ORGANISER, known.id) if one.used]
    invite.revoke(at, ORGANISER, known.id, link.id)
    sitting = known.sittings[0].id
    assert refused(lambda: print_kit.key_sheet(at, holder, known.id, sitting, "sealed-key"))
    assert keep_key.kept(at, holder) == ()


def test_the_key_holder_closes_and_unseals_their_own_only(at: Workplace) -> None:
    known, other = serving(at), serving(at)
    holder = key_holder(at, known)
    for one in (known, other):
        open_sitting.close_sitting(at, ORGANISER, one.id, one.sittings[0].id)
        settle_ballots.set_aside_rest(at, ORGANISER, one.id)
    assert close_and_unseal.still_open(at, holder, known.id) == ()
    assert refused(lambda: close_and_unseal.close(at, holder, other.id)).fault is Fault.FORBIDDEN
    assert close_and_unseal.close(at, holder, known.id).standing is Standing.CLOSED


def test_nobody_organises_with_a_key_holders_account(at: Workplace) -> None:
    known = tasting(at)
    holder = key_holder(at, known)
    for deed in (
        lambda: plan_comparison.every(at, holder),
        lambda: print_kit.contents(at, holder, known.id, known.sittings[0].id),
        lambda: open_sitting.board(at, holder, known.id, known.sittings[0].id),
        lambda: settle_ballots.outstanding(at, holder, known.id),
    ):
        assert refused(deed).fault is Fault.FORBIDDEN


def test_an_organisers_name_keeps_no_key(at: Workplace) -> None:
    sign_in.set_up(at, sign_in.set_up_link(at), "Robin", "loud copper kettle")
    known = tasting(at)
    refusal = refused(lambda: keep_key.take_up(at, link_for(at, known), "robin", "any words here"))
    assert refusal.field == "name"


def test_a_stewards_link_makes_no_key_holder(at: Workplace) -> None:
    known = tasting(at)
    link = invite.invite(at, ORGANISER, known.id, known.sittings[0].id, Role.STEWARD)
    assert refused(lambda: keep_key.take_up(at, link, "Keeper", PASSWORD)).fault is Fault.MISSING
    assert refused(lambda: invite.accept(at, link_for(at, known))).fault is Fault.MISSING


# --- what the record says of it -------------------------------------------------------------------


def test_the_result_says_who_saw_the_key_and_decided_afterwards(at: Workplace) -> None:
    known = serving(at)
    sitting = known.sittings[0].id
    print_kit.key_sheet(at, ORGANISER, known.id, sitting, "pour-mats")
    open_sitting.set_aside(at, ORGANISER, known.id, 1, Reason.SPILLED)
    holder = key_holder(at, known)
    print_kit.key_sheet(at, holder, known.id, sitting, "sealed-key")
    open_sitting.close_sitting(at, ORGANISER, known.id, sitting)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    close_and_unseal.close(at, holder, known.id)
    print_kit.key_sheet(at, ORGANISER, known.id, sitting, "sealed-key")
    result = tally.findings(at, ORGANISER, known.id).result
    assert [(one.role, len(one.seen), one.judged) for one in result.sighted] == [
        (Role.ORGANISER, 1, 1),
        (Role.KEY_HOLDER, 1, 0),
    ]
    assert "decided-with-key" in {caution.id for caution in result.cautions}
    article = show_result.article(at, ORGANISER, known.id, str)
    assert "The organiser printed the pour mats on" in article
    assert "The key holder printed the sealed key on" in article


def test_the_level_and_the_draw_follow_from_the_parts_before_sealing(at: Workplace) -> None:
    whole = draft(helpers=Helpers.THREE, duties=Duties(server_pours=True))
    known = plan_comparison.start_draft(at, ORGANISER, whole, sitting_draft())
    assert known.blinding is Blinding.SINGLE
    sealed = seal_comparison.seal(at, ORGANISER, known.id)
    assert sealed.blinding is Blinding.SINGLE
    assert not any(beer.cover_name for beer in sealed.beers)
    rows = {str(row.label): str(row.value) for row in conditions.blinding_planned(sealed)}
    assert rows["Who was to do what"].startswith("Whoever carries the trays pours as well")
    assert rows["Blinding, as planned"].startswith("single")
