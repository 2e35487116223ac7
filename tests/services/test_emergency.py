"""One tray opened in an emergency: that tray alone, for good, on record, apart from own answers."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from panel.core.errors import Fault, PanelError
from panel.core.names import CardStanding, Reason, Role, SittingKind
from panel.core.paper.payload import ref_of
from panel.services import (
    close_and_unseal,
    emergency,
    open_sitting,
    own_result,
    settle_ballots,
    take_ballot,
    tally,
)
from panel.services.workplace import Actor, Workplace
from panel.store import records
from tests.builders import ORGANISER, answers, key_holder, serving, token, trays, workplace


@pytest.fixture
def at(database_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(database_url, tmp_path / "instance") as place:
        yield place


def test_it_says_what_the_key_says_of_that_tray(at: Workplace) -> None:
    known = serving(at)
    every = trays(at, known)
    opened = emergency.open_one_tray(at, ORGANISER, known.id, 3, " swollen lips ")
    assert tuple(cup.code for cup in opened.cups) == every[2].codes()
    others = {code for tray in every if tray.number != 3 for code in tray.codes()}
    assert not others & {cup.code for cup in opened.cups}
    tray = trays(at, known)[2]
    assert (tray.standing, tray.reason, tray.note) == (
        CardStanding.SET_ASIDE,
        Reason.REVEALED,
        "swollen lips",
    )
    closed(at, known.id, known.sittings[0].id)
    order = tally.findings(at, ORGANISER, known.id).key[3]
    assert "".join(cup.beer.letter for cup in opened.cups) == order


def closed(at: Workplace, comparison: str, sitting: str) -> None:
    open_sitting.close_sitting(at, ORGANISER, comparison, sitting, anyway=True)
    settle_ballots.set_aside_rest(at, ORGANISER, comparison)
    close_and_unseal.close(at, ORGANISER, comparison)


def test_its_ballot_counts_no_more_and_the_result_says_so(at: Workplace) -> None:
    known = serving(at)
    for tray in trays(at, known)[:4]:
        take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray), "k")
    emergency.open_one_tray(at, ORGANISER, known.id, 2, "hives")
    ref = ref_of(token(at, known, trays(at, known)[1]))
    with pytest.raises(PanelError) as refused:
        take_ballot.take_phone(at, ref, answers(known, trays(at, known)[1], 2), "again")
    assert refused.value.code == "tray-set-aside"
    assert own_result.own_result(at, ref) is None
    closed(at, known.id, known.sittings[0].id)
    result = tally.findings(at, ORGANISER, known.id).result
    assert result.main is not None
    assert result.main.tasters == 3
    assert dict(result.flow.set_aside)[Reason.REVEALED] == 1
    said = {caution.id for caution in result.cautions}
    assert "opened-in-emergency" in said
    assert "feedback" not in said


def test_an_own_answer_is_no_emergency(at: Workplace) -> None:
    known = serving(at, kind=SittingKind.PARCEL)
    tray = trays(at, known)[0]
    ref = ref_of(token(at, known, tray))
    take_ballot.take_phone(at, ref, answers(known, tray), "k")
    own_result.open_own_answer(at, ref)
    emergency.open_one_tray(at, ORGANISER, known.id, 2, "hives")
    closed(at, known.id, known.sittings[0].id)
    result = tally.findings(at, ORGANISER, known.id).result
    said = {caution.id: str(caution.title) for caution in result.cautions}
    assert said["feedback"].startswith("The answer of one tray")
    assert said["opened-in-emergency"].startswith("One tray was opened")


def test_it_is_recorded_in_ids_only(at: Workplace) -> None:
    known = serving(at)
    emergency.open_one_tray(at, ORGANISER, known.id, 5, "hives")
    with at.units.read() as session:
        *_, last = records.of_chain(session, known.id)
        assert records.verify(session, known.id) is None
    assert (last.what, last.subject, last.role) == ("tray-revealed", "5", "organiser")
    assert last.detail == '{"emergency":true}'


@pytest.mark.parametrize("reason", ["", "  ", "x" * 201])
def test_without_a_reason_nothing_is_opened(at: Workplace, reason: str) -> None:
    known = serving(at)
    with pytest.raises(PanelError) as refused:
        emergency.open_one_tray(at, ORGANISER, known.id, 1, reason)
    assert refused.value.field == "reason"
    assert trays(at, known)[0].standing is CardStanding.PRINTED


@pytest.mark.parametrize("role", [Role.STEWARD, Role.POURER, Role.TASTER, Role.MEMBER])
def test_nobody_else_opens_a_tray(at: Workplace, role: Role) -> None:
    known = serving(at)
    actor = Actor(role, "pass", known.id, known.sittings[0].id)
    with pytest.raises(PanelError) as refused:
        emergency.open_one_tray(at, actor, known.id, 1, "hives")
    assert refused.value.fault is Fault.FORBIDDEN


def test_the_key_holder_opens_a_tray_of_their_own_comparison_only(at: Workplace) -> None:
    known, other = serving(at), serving(at)
    holder = key_holder(at, known)
    assert emergency.open_one_tray(at, holder, known.id, 1, "hives").card == "1 B"
    with pytest.raises(PanelError):
        emergency.open_one_tray(at, holder, other.id, 1, "hives")


def test_an_opened_tray_is_neither_taken_back_nor_given_another_reason(at: Workplace) -> None:
    known = serving(at)
    emergency.open_one_tray(at, ORGANISER, known.id, 1, "hives")
    with pytest.raises(PanelError):
        open_sitting.take_back(at, ORGANISER, known.id, 1)
    with pytest.raises(PanelError):
        open_sitting.set_aside(at, ORGANISER, known.id, 1, Reason.SPILLED)
    with pytest.raises(PanelError):
        open_sitting.set_aside(at, ORGANISER, known.id, 2, Reason.REVEALED)


def test_after_closing_there_is_nothing_left_to_open(at: Workplace) -> None:
    known = serving(at)
    closed(at, known.id, known.sittings[0].id)
    with pytest.raises(PanelError) as refused:
        emergency.open_one_tray(at, ORGANISER, known.id, 1, "hives")
    assert refused.value.code == "key-open"
