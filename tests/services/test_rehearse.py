"""A rehearsal is the same question in a workplace of its own: what was drawn stays behind."""

import pytest

from panel.core.names import Information, Standing
from panel.services import plan_comparison, print_kit, seal_comparison
from panel.services.rehearse import rehearsal_of
from tests.builders import ORGANISER, draft, sealed, sitting_draft, workplace
from tests.printing.papers import texts_of


@pytest.fixture
def at(sqlite_url, tmp_path):
    with workplace(sqlite_url, tmp_path / "instance") as place:
        yield place


@pytest.fixture
def elsewhere(tmp_path):
    url = f"sqlite:///{tmp_path / 'rehearsal.db'}"
    with workplace(url, tmp_path / "rehearsal", seed="another") as place:
        yield place


def test_what_was_written_goes_over_and_nothing_that_was_drawn(at, elsewhere):
    known = sealed(at)
    copied = rehearsal_of(known, elsewhere, ORGANISER, str)
    assert copied.standing is Standing.DRAFTED
    assert copied.title == f"Rehearsal: {known.title}"
    for name in ("variable", "beers", "serving", "neutral_title", "drink", "helpers", "duties"):
        assert getattr(copied, name) == getattr(known, name)
    assert copied.plan == known.plan
    assert [one.planned for one in copied.sittings] == [one.planned for one in known.sittings]
    assert all(one.name.startswith("Rehearsal: ") for one in copied.sittings)
    assert copied.id != known.id
    assert copied.slug != known.slug
    drawn = seal_comparison.seal(elsewhere, ORGANISER, copied.id)
    assert drawn.seal is not None
    assert known.seal is not None
    assert drawn.seal.digest != known.seal.digest


def test_every_sheet_says_that_it_is_a_rehearsal(at, elsewhere):
    copied = rehearsal_of(sealed(at), elsewhere, ORGANISER, str)
    seal_comparison.seal(elsewhere, ORGANISER, copied.id)
    sitting = copied.sittings[0].id
    for name in ("ballot-cards", "steward-page", "sign-in"):
        printed = print_kit.sheet(elsewhere, ORGANISER, copied.id, sitting, name)
        assert all("Rehearsal: " in page for page in texts_of(printed.pdf)), name


def test_all_sittings_of_a_draft_go_over_and_a_draft_without_any_too(at, elsewhere):
    started = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    told = sitting_draft(name="Second", information=Information.INFORMED, told="It was warmer.")
    plan_comparison.add_sitting(at, ORGANISER, started.id, told)
    known = plan_comparison.comparison(at, ORGANISER, started.id)
    copied = rehearsal_of(known, elsewhere, ORGANISER, str)
    found = plan_comparison.comparison(elsewhere, ORGANISER, copied.id)
    assert [(one.information, one.told) for one in found.sittings] == [
        (one.information, one.told) for one in known.sittings
    ]
    bare = plan_comparison.start_draft(at, ORGANISER, draft(title="Without"))
    assert rehearsal_of(bare, elsewhere, ORGANISER, str).sittings == ()
