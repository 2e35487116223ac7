"""Members throw dice before sealing: the secret follows from them, and everything is opened."""

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from panel.core.allocation.dice import Dice, lock_of
from panel.core.allocation.draw_facts import all_facts
from panel.core.errors import PanelError
from panel.core.names import Standing
from panel.core.plan import Plan
from panel.services import open_sitting, plan_comparison, seal_comparison, settle_ballots, tally
from panel.services.close_and_unseal import close
from panel.services.sealed_key import unwrap
from panel.services.show_result import opened_seal
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, draft, sitting_draft, workplace


@pytest.fixture
def at(database_url: str, tmp_path: Path) -> Iterator[Workplace]:
    with workplace(database_url, tmp_path / "instance") as place:
        yield place


def drafted(at: Workplace, **plan: object) -> str:
    whole = draft()
    whole = replace(whole, plan=replace(whole.plan, **plan))
    known = plan_comparison.start_draft(at, ORGANISER, whole)
    plan_comparison.add_sitting(at, ORGANISER, known.id, sitting_draft())
    return known.id


def test_both_parts_are_opened_at_the_end_and_keep_the_seal(at: Workplace) -> None:
    comparison = drafted(at, further_sittings=True)
    lock = seal_comparison.dice_lock(at, ORGANISER, comparison)
    sealed = seal_comparison.seal(at, ORGANISER, comparison, dice=" 4 2\n6 1 ")
    further = seal_comparison.add_sitting_after_seal(
        at, ORGANISER, comparison, sitting_draft("Second evening")
    )
    for sitting in (*sealed.sittings, further):
        open_sitting.open_sitting(at, ORGANISER, comparison, sitting.id)
        open_sitting.close_sitting(at, ORGANISER, comparison, sitting.id)
    settle_ballots.set_aside_rest(at, ORGANISER, comparison)
    assert close(at, ORGANISER, comparison).standing is Standing.CLOSED
    opened = tally.findings(at, ORGANISER, comparison)
    assert opened.dice is not None
    assert opened.dice.text == "4 2 6 1"
    assert opened.secret == Dice(opened.dice.own, "4 2 6 1").secret().hex()
    assert lock == lock_of(opened.dice.own, all_facts(sealed))
    assert sealed.seal is not None
    assert opened_seal(opened).holds(sealed.seal.digest)
    words = json.loads(opened_seal(opened).sealed_bytes())
    assert words["dice"] == {"random": opened.dice.own.hex(), "text": "4 2 6 1"}
    assert not replace(opened_seal(opened), dice=None).holds(sealed.seal.digest)


def test_the_lock_stands_until_the_draft_changes(at: Workplace) -> None:
    comparison = drafted(at)
    first = seal_comparison.dice_lock(at, ORGANISER, comparison)
    assert seal_comparison.dice_lock(at, ORGANISER, comparison) == first
    plan_comparison.add_sitting(at, ORGANISER, comparison, sitting_draft("Second evening"))
    assert seal_comparison.dice_lock(at, ORGANISER, comparison) != first
    assert seal_comparison.dice_lock(at, ORGANISER, drafted(at)) != first


def test_other_dice_give_another_draw(at: Workplace) -> None:
    secrets = set()
    for dice in ("4 2", "4 3", "", "  "):
        known = seal_comparison.seal(at, ORGANISER, drafted(at), dice=dice)
        with at.units.read() as session:
            kept = unwrap(session, at, known.id)
        assert (kept.dice is None) is (not dice.strip())
        secrets.add(kept.secret)
    assert len(secrets) == 4


def test_too_much_to_read_out_is_refused_before_anything_is_written(at: Workplace) -> None:
    comparison = drafted(at)
    with pytest.raises(PanelError) as refused:
        seal_comparison.seal(at, ORGANISER, comparison, dice="6" * 500)
    assert refused.value.field == "dice"
    assert plan_comparison.comparison(at, ORGANISER, comparison).standing is Standing.DRAFTED


def test_a_plan_has_no_dice_of_its_own() -> None:
    """What was thrown stays shut until closing: the plan is read before."""
    assert "dice" not in Plan.__dataclass_fields__
