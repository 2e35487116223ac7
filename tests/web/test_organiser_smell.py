"""Smell as a step of its own on the page of the question."""

import pytest

from panel.core.names import Smell, Step
from panel.services import plan_comparison
from panel.services.workplace import Workplace
from panel.web.forms import Typed
from panel.web.organiser_smell import smell_sentence
from tests.builders import ORGANISER, draft, nose_first
from tests.web.guest import Guest, Page


def begun(at: Workplace, guest: Guest, **changes) -> tuple[str, Page]:
    known = plan_comparison.start_draft(at, ORGANISER, draft(**changes))
    return known.id, guest.get(f"/organise/{known.id}/question")


def kept(at: Workplace, comparison: str):
    return plan_comparison.comparison(at, ORGANISER, comparison).plan


@pytest.mark.parametrize(
    ("sent", "smell", "step"),
    [
        ({"smell": "first", "deciding_step": "nose"}, Smell.FIRST, Step.NOSE),
        ({"smell": "first", "deciding_step": "taste"}, Smell.FIRST, Step.TASTE),
        ({"smell": "only", "deciding_step": "nose"}, Smell.ONLY, Step.TASTE),  # nothing to decide
    ],
)
def test_it_is_kept_and_shown_again(
    organiser: Guest, at: Workplace, sent: dict[str, str], smell: Smell, step: Step
) -> None:
    comparison, page = begun(at, organiser)
    assert page.form("question").values("smell") == ["with-taste"]
    organiser.send(page, "question", **sent)
    assert (kept(at, comparison).smell, kept(at, comparison).deciding_step) == (smell, step)
    page = organiser.get(f"/organise/{comparison}/question")
    assert page.form("question").values("smell") == [str(smell)]
    assert page.form("question").values("deciding_step") == [str(step)]


def test_what_stands_is_said(organiser: Guest, at: Workplace) -> None:
    _, page = begun(at, organiser, plan=nose_first(deciding_step=Step.NOSE))
    assert "The choice by smell decides." in page.text


def test_a_made_up_way_is_refused(organiser: Guest, at: Workplace) -> None:
    comparison, page = begun(at, organiser)
    page = organiser.send(page, "question", smell="by-ear")
    assert page.status == 422
    assert "Choose one of the three." in page.text
    assert kept(at, comparison).smell is Smell.WITH_TASTE


def test_every_way_has_its_sentence() -> None:
    ways = [(smell, step) for smell in Smell for step in Step]
    said = {str(smell_sentence(Typed({"smell": [a], "deciding_step": [b]}))) for a, b in ways}
    assert len(said) == 4  # which step decides matters nose first alone
