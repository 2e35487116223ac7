"""From draft to closed through the services, on both databases."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from panel.core.allocation.check_letter import card_number
from panel.core.errors import Fault, PanelError, RefusalsError
from panel.core.methods import METHODS
from panel.core.names import (
    CardStanding,
    Channel,
    Information,
    Outcome,
    Reason,
    Role,
    SittingKind,
    SittingStanding,
    Standing,
)
from panel.core.paper.payload import ref_of
from panel.core.plan_document import mark_of
from panel.core.reconcile import Copy
from panel.services import (
    close_and_unseal,
    open_sitting,
    own_result,
    plan_comparison,
    pour,
    publish,
    seal_comparison,
    settle_ballots,
    take_ballot,
    tally,
)
from panel.services.workplace import Actor, Workplace
from panel.store import ballots, records, seals
from tests.builders import (
    ORGANISER,
    answers,
    draft,
    sealed,
    serving,
    sitting_draft,
    token,
    trays,
    workplace,
)


@pytest.fixture
def at(database_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(database_url, tmp_path / "instance") as place:
        yield place


@pytest.mark.parametrize("method", METHODS)
def test_every_method_goes_from_draft_to_closed(at: Workplace, method: str) -> None:
    known = serving(at, method)
    for tray in trays(at, known)[:6]:
        take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray), "k")
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    assert settle_ballots.set_aside_rest(at, ORGANISER, known.id) == 6
    closed = close_and_unseal.close(at, ORGANISER, known.id)
    assert closed.standing is Standing.CLOSED
    with at.units.read() as session:
        assert len(ballots.counted(session, known.id)) == 6
        opened = seals.opened(session, known.id)
        assert opened is not None
        assert len(opened["key"]) == 12
        assert records.verify(session, known.id) is None


def test_a_ballot_sent_twice_counts_once(at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    ref = take_ballot.open_card(at, token(at, known, tray).lower())
    first = take_ballot.take_phone(at, ref, answers(known, tray), "form-1")
    again = take_ballot.take_phone(at, ref, answers(known, tray), "form-1")
    assert again.code == first.code
    with pytest.raises(PanelError) as refusal:
        take_ballot.take_phone(at, ref, answers(known, tray, 2), "form-1")
    assert refusal.value.fault is Fault.CLASH
    changed = take_ballot.take_phone(at, ref, answers(known, tray, 2), "form-2")
    assert changed.copy is Copy.REVISION
    with at.units.read() as session:
        assert [b.revision for b in ballots.revisions(session, known.id, tray.number)] == [1, 2]


def test_paper_and_phone_that_differ_are_a_question(at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[3]
    take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray, 1), "k")
    card = card_number(tray.number)
    same = take_ballot.take_keyed(at, ORGANISER, known.id, card, answers(known, tray, 1), "")
    assert same.copy is Copy.AGREES
    other = take_ballot.take_keyed(at, ORGANISER, known.id, card, answers(known, tray, 3), "")
    assert other.copy is Copy.QUESTION
    question = settle_ballots.outstanding(at, ORGANISER, known.id).questions[0]
    assert [copy.channel for copy in question.copies] == [
        Channel.PHONE,
        Channel.KEYED,
        Channel.KEYED,
    ]
    with pytest.raises(PanelError, match="Another copy"):
        settle_ballots.settle(at, ORGANISER, known.id, tray.number, revision=1, seen=2)
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    with pytest.raises(PanelError, match="in question"):
        close_and_unseal.close(at, ORGANISER, known.id)
    settle_ballots.settle(at, ORGANISER, known.id, tray.number, revision=3, seen=3)
    close_and_unseal.close(at, ORGANISER, known.id)
    with at.units.read() as session:
        counted = ballots.counted(session, known.id)
        assert counted[tray.number].answers["odd"] == (tray.codes()[2],)


def test_a_code_of_another_tray_is_refused_and_writes_nothing(at: Workplace) -> None:
    known = serving(at)
    one, two = trays(at, known)[:2]
    with pytest.raises(RefusalsError, match="is not one to choose from"):
        take_ballot.take_keyed(
            at, ORGANISER, known.id, card_number(one.number), answers(known, two), ""
        )
    with at.units.read() as session:
        assert ballots.revisions(session, known.id, one.number) == ()


def test_a_wrong_check_letter_is_refused(at: Workplace) -> None:
    known = serving(at)
    right = card_number(trays(at, known)[0].number)
    wrong = right[:-1] + ("A" if right[-1] != "A" else "B")
    with pytest.raises(PanelError) as refusal:
        take_ballot.keyed_card(at, ORGANISER, known.id, wrong)
    assert refusal.value.code == "wrong-check-letter"


def test_before_opening_and_after_closing(at: Workplace) -> None:
    known = sealed(at)
    tray = trays(at, known)[0]
    ref = ref_of(token(at, known, tray))
    with pytest.raises(PanelError, match="not opened yet"):
        take_ballot.take_phone(at, ref, answers(known, tray), "k")
    open_sitting.open_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    receipt = take_ballot.take_phone(at, ref, answers(known, tray), "k")
    assert receipt.late
    board = open_sitting.board(at, ORGANISER, known.id, known.sittings[0].id)
    assert (board.late, board.ballots) == (1, 0)
    assert board.sitting.standing is SittingStanding.CLOSED


def test_an_unknown_token_says_what_to_do(at: Workplace) -> None:
    with pytest.raises(PanelError, match="ask the steward"):
        take_ballot.open_card(at, "A" * 16)


def test_a_misfilled_tray_takes_no_ballot_and_can_come_back(at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[1]
    open_sitting.set_aside(at, ORGANISER, known.id, tray.number, Reason.MISFILLED)
    with pytest.raises(PanelError, match="set aside"):
        take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray), "k")
    assert open_sitting.take_back(at, ORGANISER, known.id, tray.number).standing is (
        CardStanding.PRINTED
    )


def test_sealing_happens_once_and_locks_the_plan(at: Workplace) -> None:
    known = sealed(at)
    assert known.seal is not None
    assert known.plan.tasters == 6
    for again in (
        lambda: seal_comparison.seal(at, ORGANISER, known.id),
        lambda: plan_comparison.save_draft(at, ORGANISER, known.id, draft()),
    ):
        with pytest.raises(PanelError) as refusal:
            again()
        assert refusal.value.fault is Fault.STANDING


def test_words_that_tell_block_sealing_until_waived(at: Workplace) -> None:
    telling = draft(neutral_title="Saisons and their fermentation")
    known = plan_comparison.start_draft(at, ORGANISER, telling)
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft())
    with pytest.raises(PanelError, match="fermentation"):
        seal_comparison.seal(at, ORGANISER, known.id)
    done = seal_comparison.seal(at, ORGANISER, known.id, "the word stands in every title")
    assert done.waived == "the word stands in every title"


def test_a_further_sitting_is_drawn_from_the_same_secret(at: Workplace) -> None:

    plan = replace(draft().plan, further_sittings=True)
    known = plan_comparison.start_draft(at, ORGANISER, draft(plan=plan))
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft())
    done = seal_comparison.seal(at, ORGANISER, known.id)
    further = seal_comparison.add_sitting_after_seal(
        at, ORGANISER, known.id, sitting_draft("Second evening")
    )
    board = open_sitting.board(at, ORGANISER, known.id, further.id)
    assert [tray.number for tray in board.trays] == list(range(13, 25))
    with pytest.raises(PanelError, match="does not foresee"):
        seal_comparison.add_sitting_after_seal(
            at, ORGANISER, sealed(at).id, sitting_draft("Another evening")
        )
    assert done.seal is not None


def test_bad_drafts_are_refused_field_by_field(at: Workplace) -> None:

    twins = tuple(replace(beer, name="Same") for beer in draft().beers)
    risky = replace(draft().plan, alpha=Decimal(1))
    with pytest.raises(RefusalsError) as refusal:
        plan_comparison.start_draft(at, ORGANISER, draft(title=" ", beers=twins, plan=risky))
    assert {one.field for one in refusal.value.refusals} >= {"title", "beer_b_name", "alpha"}
    assert plan_comparison.every(at, ORGANISER) == ()


def test_own_answers_open_early_only_in_parcels_and_repeat_trials(at: Workplace) -> None:
    table = serving(at)
    tray = trays(at, table)[0]
    ref = ref_of(token(at, table, tray))
    take_ballot.take_phone(at, ref, answers(table, tray), "k")
    assert not own_result.may_open_early(at, ref)
    with pytest.raises(PanelError, match="when the result is published"):
        own_result.open_own_answer(at, ref)

    parcel = serving(at, kind=SittingKind.PARCEL)
    tray = trays(at, parcel)[0]
    ref = ref_of(token(at, parcel, tray))
    assert own_result.own_result(at, ref) is None
    assert not own_result.may_open_early(at, ref)
    take_ballot.take_phone(at, ref, answers(parcel, tray, 1), "k")
    assert own_result.may_open_early(at, ref)
    opened = own_result.open_own_answer(at, ref)
    order = "".join(cup.beer for cup in opened.cups)
    assert (opened.outcome is Outcome.RIGHT) is (order.count(order[0]) == 1)
    assert {cup.name for cup in opened.cups} == {""}
    with pytest.raises(PanelError, match="final"):
        take_ballot.take_phone(at, ref, answers(parcel, tray, 2), "k2")
    assert own_result.own_result(at, ref) == opened
    open_sitting.close_sitting(at, ORGANISER, parcel.id, parcel.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, parcel.id)
    close_and_unseal.close(at, ORGANISER, parcel.id)
    cautions = tally.findings(at, ORGANISER, parcel.id).result.cautions
    assert "feedback" in {caution.id for caution in cautions}


def test_after_publication_everybody_may_see_their_own_answer(at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    ref = ref_of(token(at, known, tray))
    take_ballot.take_phone(at, ref, answers(known, tray), "k")
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    close_and_unseal.close(at, ORGANISER, known.id)
    assert own_result.own_result(at, ref) is None
    publish.publish(at, ORGANISER, known.id)
    mine = own_result.own_result(at, ref)
    assert mine is not None
    assert {cup.name for cup in mine.cups} == {"Cool tank", "Warm tank"}
    assert [cup.picked for cup in mine.cups] == [True, False, False]


def test_the_rest_is_set_aside_in_closed_sittings_only(at: Workplace) -> None:
    known = plan_comparison.start_draft(at, ORGANISER, draft())
    for name in ("First evening", "Second evening"):
        plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft(name))
    known = seal_comparison.seal(at, ORGANISER, known.id)
    first, second = known.sittings
    open_sitting.open_sitting(at, ORGANISER, known.id, first.id)
    with pytest.raises(PanelError, match="Close the sitting first"):
        settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    open_sitting.close_sitting(at, ORGANISER, known.id, first.id)
    assert settle_ballots.set_aside_rest(at, ORGANISER, known.id) == 12
    board = open_sitting.board(at, ORGANISER, known.id, second.id)
    assert {tray.standing for tray in board.trays} == {CardStanding.PRINTED}


def test_a_ballot_set_aside_by_mistake_comes_back_as_it_was(at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    open_sitting.hand_out(at, ORGANISER, known.id, tray.number)
    open_sitting.set_aside(at, ORGANISER, known.id, tray.number, Reason.SPILLED)
    back = open_sitting.take_back(at, ORGANISER, known.id, tray.number)
    assert back.standing is CardStanding.HANDED_OUT
    ref = ref_of(token(at, known, tray))
    take_ballot.take_phone(at, ref, answers(known, tray, 1), "k")
    open_sitting.set_aside(at, ORGANISER, known.id, tray.number, Reason.TALKED)
    back = open_sitting.take_back(at, ORGANISER, known.id, tray.number)
    assert back.standing is CardStanding.RETURNED
    card = card_number(tray.number)
    take_ballot.take_keyed(at, ORGANISER, known.id, card, answers(known, tray, 2), "")
    open_sitting.set_aside(at, ORGANISER, known.id, tray.number, Reason.TALKED)
    back = open_sitting.take_back(at, ORGANISER, known.id, tray.number)
    assert back.standing is CardStanding.IN_QUESTION


def test_no_ballot_is_hidden_as_never_used(at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    for reason in (Reason.NEVER_USED, Reason.NOT_RETURNED):
        with pytest.raises(PanelError, match="all together"):
            open_sitting.set_aside(at, ORGANISER, known.id, tray.number, reason)


def test_paper_is_remembered_when_the_phone_changes_its_mind(at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    ref, card = ref_of(token(at, known, tray)), card_number(tray.number)
    take_ballot.take_phone(at, ref, answers(known, tray, 1), "a")
    take_ballot.take_keyed(at, ORGANISER, known.id, card, answers(known, tray, 1), "")
    changed = take_ballot.take_phone(at, ref, answers(known, tray, 2), "b")
    assert changed.copy is Copy.QUESTION
    settle_ballots.settle(at, ORGANISER, known.id, tray.number, revision=3, seen=3)
    again = take_ballot.take_keyed(at, ORGANISER, known.id, card, answers(known, tray, 1), "")
    assert again.copy is Copy.SAME
    assert settle_ballots.outstanding(at, ORGANISER, known.id).questions == ()


def test_a_sitting_does_not_close_while_trays_are_out_unless_one_says_so(at: Workplace) -> None:
    known = serving(at)
    tray = trays(at, known)[0]
    other = sealed(at)
    with pytest.raises(PanelError, match="not opened yet"):
        open_sitting.hand_out(at, ORGANISER, other.id, 1)
    open_sitting.hand_out(at, ORGANISER, known.id, tray.number)
    sitting = known.sittings[0].id
    with pytest.raises(PanelError, match="One tray is out"):
        open_sitting.close_sitting(at, ORGANISER, known.id, sitting)
    open_sitting.close_sitting(at, ORGANISER, known.id, sitting, anyway=True)
    late = take_ballot.take_keyed(
        at, ORGANISER, known.id, card_number(tray.number), answers(known, tray, 1), ""
    )
    later = take_ballot.take_keyed(
        at, ORGANISER, known.id, card_number(tray.number), answers(known, tray, 2), ""
    )
    assert (late.late, later.late) == (True, True)
    assert late.code != later.code
    view = take_ballot.taster_view(at, ref_of(token(at, known, tray)))
    assert view.receipt is not None
    assert view.receipt.late


TELLING = ("warm", "Warm", "Cool", "°C", "informed")


def test_stewards_see_nothing_that_tells(at: Workplace) -> None:
    """Not of their own blinded sitting, nor of an informed one of the same comparison."""
    told = {"information": Information.INFORMED, "told": "One was fermented warm."}
    known = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft("Second evening", **told))
    known = seal_comparison.seal(at, ORGANISER, known.id)
    sitting = known.sittings[0].id
    steward = Actor(Role.STEWARD, "pass00000001", known.id, sitting)
    seen = repr(open_sitting.board(at, steward, known.id, sitting))
    seen += repr(take_ballot.keyed_card(at, steward, known.id, card_number(1)))
    seen += repr(publish.public_page(at, known.slug))
    for word in TELLING:
        assert word not in seen
    with pytest.raises(PanelError, match="Only this sitting's stewards"):
        open_sitting.board(at, steward, known.id, known.sittings[1].id)
    pourer = Actor(Role.POURER, "pass00000002", known.id, sitting)
    poured = repr(pour.pouring(at, pourer, known.id, sitting))
    assert "Warm tank" in poured
    assert "fermented warm" not in poured
    for stranger in (steward, Actor(Role.POURER, "pass00000003", known.id, "another00000")):
        with pytest.raises(PanelError) as refusal:
            pour.pouring(at, stranger, known.id, sitting)
        assert refusal.value.fault is Fault.FORBIDDEN


def test_an_informed_sittings_steward_reads_what_is_told_in_the_script_alone(at: Workplace) -> None:
    told = "One was fermented warm."
    known = serving(at, information=Information.INFORMED, told=told)
    sitting = known.sittings[0].id
    steward = Actor(Role.STEWARD, "pass00000001", known.id, sitting)
    board = open_sitting.board(at, steward, known.id, sitting)
    assert [part.said for part in board.script.paragraphs if part.told] == [(told,)]
    untold = tuple(part for part in board.script.paragraphs if not part.told)
    seen = repr(replace(board, script=replace(board.script, paragraphs=untold)))
    seen += repr(take_ballot.keyed_card(at, steward, known.id, card_number(1)))
    for word in TELLING:
        assert word not in seen


def test_a_card_of_another_sitting_is_named_by_its_sitting(at: Workplace) -> None:
    known = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft("Second evening"))
    known = seal_comparison.seal(at, ORGANISER, known.id)
    first, second = (one.id for one in known.sittings)
    number = open_sitting.board(at, ORGANISER, known.id, second).trays[0].number
    steward = Actor(Role.STEWARD, "pass00000001", known.id, first)
    for deed in (
        lambda: take_ballot.take_keyed(at, steward, known.id, card_number(number), {}, ""),
        lambda: open_sitting.hand_out(at, steward, known.id, number),
    ):
        with pytest.raises(PanelError) as refusal:
            deed()
        said = str(refusal.value.message)
        assert f"Card {card_number(number)} belongs to “Second evening”" in said
        assert "give the card to the organiser" in said
        assert refusal.value.field == "card"
    stranger = Actor(Role.STEWARD, "pass00000001", "another00000", first)
    with pytest.raises(PanelError, match="Only this sitting's stewards"):
        open_sitting.hand_out(at, stranger, known.id, number)


def test_a_further_sitting_is_checked_like_the_first(at: Workplace) -> None:
    plan = replace(draft().plan, further_sittings=True)
    known = plan_comparison.start_draft(at, ORGANISER, draft(plan=plan))
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft())
    seal_comparison.seal(at, ORGANISER, known.id)
    with pytest.raises(PanelError, match=r"warm|Warm|fermentation"):
        seal_comparison.add_sitting_after_seal(
            at, ORGANISER, known.id, sitting_draft("Warm fermentation night")
        )
    with pytest.raises(RefusalsError, match="word for word"):
        seal_comparison.add_sitting_after_seal(
            at, ORGANISER, known.id, sitting_draft("Told", information=Information.INFORMED)
        )
    seal_comparison.add_sitting_after_seal(
        at, ORGANISER, known.id, sitting_draft("Warm fermentation night"), "everybody calls it so"
    )
    changes = seal_comparison.amendments(at, ORGANISER, known.id)
    assert [change.reason for change in changes] == ["everybody calls it so"]


def test_a_draft_changed_meanwhile_is_neither_overwritten_nor_sealed(at: Workplace) -> None:
    known = plan_comparison.start_draft(at, ORGANISER, draft())
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft())
    seen = mark_of(plan_comparison.comparison(at, ORGANISER, known.id))
    other = draft(title="Another question")
    plan_comparison.save_draft(at, ORGANISER, known.id, other, seen=seen)
    for late in (
        lambda: plan_comparison.save_draft(at, ORGANISER, known.id, draft(), seen=seen),
        lambda: seal_comparison.seal(at, ORGANISER, known.id, seen=seen),
    ):
        with pytest.raises(PanelError) as refusal:
            late()
        assert refusal.value.fault is Fault.CLASH
    kept = plan_comparison.comparison(at, ORGANISER, known.id)
    assert kept.title == "Another question"
    assert seal_comparison.seal(at, ORGANISER, known.id, seen=mark_of(kept)).seal is not None


def test_a_name_that_no_typeface_can_print_keeps_a_draft_from_being_sealed(at: Workplace) -> None:
    beers = (replace(draft().beers[0], name="冷たいタンク"), draft().beers[1])
    known = plan_comparison.start_draft(at, ORGANISER, draft(beers=beers, organised_by="Κλειώ Ж"))
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft())
    with pytest.raises(RefusalsError, match="cannot print the character “冷”"):
        seal_comparison.seal(at, ORGANISER, known.id)
