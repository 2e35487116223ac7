"""instance.key is lost in the middle of an evening; the sealed envelope brings the key back."""

import re
import secrets
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest

from panel.core.comparison import Comparison
from panel.core.errors import Fault, PanelError
from panel.core.names import Information, Role
from panel.core.paper.payload import ref_of
from panel.services import (
    close_and_unseal,
    open_sitting,
    plan_comparison,
    print_kit,
    recover_key,
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
    key_holder,
    plan_for,
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


def lost(at: Workplace) -> Workplace:
    """The same database with an instance key made anew."""
    return replace(at, instance_key=secrets.token_bytes(32))


def envelope(at: Workplace, known: Comparison) -> str:
    """The groups as they stand on the printed sealed key, read off the PDF."""
    made = print_kit.key_sheet(at, ORGANISER, known.id, known.sittings[0].id, "sealed-key")
    document = pypdfium2.PdfDocument(made.pdf)
    try:
        text = " ".join(page.get_textpage().get_text_bounded() for page in document)
    finally:
        document.close()
    groups = re.findall(r"\b[A-Z2-7]{5}\b", text.partition("If the computer is lost")[2])
    return " ".join(groups[:13])


def test_a_lost_key_comes_back_and_the_evening_ends_as_ever(at: Workplace) -> None:
    known = serving(at, information=Information.SPLIT, told="One was warm.", planned=8)
    words = envelope(at, known)
    with at.units.read() as session:
        before = unwrap(session, at, known.id)
    for tray in trays(at, known)[:8]:
        take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray), "k")
    after = lost(at)
    open_sitting.close_sitting(after, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(after, ORGANISER, known.id)
    assert not recover_key.opens(after, ORGANISER, known.id)
    with pytest.raises(PanelError, match="envelope"):
        close_and_unseal.close(after, ORGANISER, known.id)
    recover_key.recover_key(after, ORGANISER, known.id, words.lower())
    assert recover_key.opens(after, ORGANISER, known.id)
    with after.units.read() as session:
        assert unwrap(session, after, known.id) == before
        *_, last = records.of_chain(session, known.id)
        assert last.what == "key-recovered"
    close_and_unseal.close(after, ORGANISER, known.id)
    opened = tally.findings(after, ORGANISER, known.id)
    assert opened.result.seal is not None
    assert show_result.opened_seal(opened).holds(opened.result.seal.digest)


def test_with_dice_the_envelope_holds_the_part_under_the_lock(at: Workplace) -> None:
    known = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    seal_comparison.seal(at, ORGANISER, known.id, dice="3 5 1 6, and badger")
    words = envelope(at, known)
    after = lost(at)
    with pytest.raises(PanelError, match="were dice thrown"):
        recover_key.recover_key(after, ORGANISER, known.id, words)
    recover_key.recover_key(after, ORGANISER, known.id, words, "3 5 1 6,  and badger ")
    assert recover_key.opens(after, ORGANISER, known.id)


def test_sittings_added_after_sealing_come_back_too(at: Workplace) -> None:
    plan = replace(plan_for("triangle"), further_sittings=True)
    known = plan_comparison.start_draft(at, ORGANISER, draft(plan=plan), sitting_draft())
    seal_comparison.seal(at, ORGANISER, known.id)
    seal_comparison.add_sitting_after_seal(at, ORGANISER, known.id, sitting_draft("Summer"))
    words = envelope(at, known)
    with at.units.read() as session:
        before = unwrap(session, at, known.id)
    after = lost(at)
    recover_key.recover_key(after, ORGANISER, known.id, words)
    with after.units.read() as session:
        assert unwrap(session, after, known.id) == before


def test_another_evenings_envelope_is_refused_and_nothing_is_written(at: Workplace) -> None:
    known, other = serving(at), serving(at)
    words = envelope(at, other)
    after = lost(at)
    with pytest.raises(PanelError) as refused:
        recover_key.recover_key(after, ORGANISER, known.id, words)
    assert (refused.value.code, refused.value.field) == ("not-the-secret", "words")
    assert not recover_key.opens(after, ORGANISER, known.id)
    assert recover_key.opens(at, ORGANISER, known.id)


def test_while_the_key_opens_there_is_nothing_to_recover(at: Workplace) -> None:
    known = serving(at)
    words = envelope(at, known)
    with pytest.raises(PanelError) as refused:
        recover_key.recover_key(at, ORGANISER, known.id, words)
    assert refused.value.code == "key-opens"


def test_the_key_holder_may_recover_and_nobody_else(at: Workplace) -> None:
    known = serving(at)
    words = envelope(at, known)
    holder = key_holder(at, known)
    after = lost(at)
    for role in (Role.STEWARD, Role.POURER, Role.MEMBER):
        actor = Actor(role, "pass", known.id, known.sittings[0].id)
        with pytest.raises(PanelError) as refused:
            recover_key.recover_key(after, actor, known.id, words)
        assert refused.value.fault is Fault.FORBIDDEN
    recover_key.recover_key(after, holder, known.id, words)
    assert recover_key.opens(after, holder, known.id)
