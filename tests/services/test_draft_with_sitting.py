"""A draft and its first sitting are kept together or not at all."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from panel.core.errors import RefusalsError
from panel.services import plan_comparison, seal_comparison
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, START, Clock, draft, sitting_draft, workplace


@pytest.fixture
def at(database_url: str, tmp_path: Path) -> Iterator[Workplace]:
    clock = Clock(START - timedelta(days=3))
    with workplace(database_url, tmp_path / "instance", clock=clock) as place:
        yield place


def test_a_draft_starts_with_its_first_sitting(at: Workplace) -> None:
    started = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft(planned=18))
    kept = plan_comparison.comparison(at, ORGANISER, started.id)
    assert kept.sittings == started.sittings
    assert (kept.sittings[0].name, kept.plan.tasters) == ("Spring evening", 18)


def test_a_refused_sitting_keeps_the_draft_from_being_written(at: Workplace) -> None:
    with pytest.raises(RefusalsError) as refusal:
        plan_comparison.start_draft(at, ORGANISER, draft(title=""), sitting_draft(planned=0))
    assert {one.field for one in refusal.value.refusals} == {"title", "planned"}
    assert plan_comparison.every(at, ORGANISER) == ()


def test_saving_changes_the_first_sitting_and_leaves_the_others(at: Workplace) -> None:
    started = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    plan_comparison.add_sitting(at, ORGANISER, started.id, sitting_draft("Second evening"))
    plan_comparison.save_draft(at, ORGANISER, started.id, draft(), sitting_draft(place="Cellar"))
    kept = plan_comparison.comparison(at, ORGANISER, started.id)
    assert [(one.name, one.place) for one in kept.sittings] == [
        ("Spring evening", "Cellar"),
        ("Second evening", "Back room"),
    ]
    assert kept.sittings[0].id == started.sittings[0].id


def test_saving_adds_the_first_sitting_where_there_was_none(at: Workplace) -> None:
    started = plan_comparison.start_draft(at, ORGANISER, draft())
    plan_comparison.save_draft(at, ORGANISER, started.id, draft(), sitting_draft())
    assert len(plan_comparison.comparison(at, ORGANISER, started.id).sittings) == 1


def test_a_refused_sitting_keeps_the_draft_as_it_was(at: Workplace) -> None:
    started = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    plan_comparison.add_sitting(at, ORGANISER, started.id, sitting_draft("Second evening"))
    renamed = replace(draft(), title="Another question")
    with pytest.raises(RefusalsError) as refusal:
        plan_comparison.save_draft(
            at, ORGANISER, started.id, renamed, sitting_draft("Second evening")
        )
    assert [one.field for one in refusal.value.refusals] == ["sitting_name"]
    assert plan_comparison.comparison(at, ORGANISER, started.id).title == draft().title


def test_a_date_that_has_passed_is_advice(at: Workplace) -> None:
    past = sitting_draft(starts=START - timedelta(days=4))
    started = plan_comparison.start_draft(at, ORGANISER, draft(), past)
    found = seal_comparison.readiness(at, ORGANISER, started.id)
    assert [one.field for one in found.advice] == ["starts"]
    assert found.ready
