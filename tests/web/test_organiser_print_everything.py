"""The button that prints everything: its page count comes first, what comes is what was said."""

import re

from panel.core.comparison import Comparison
from panel.core.duties import Duties
from panel.services import plan_comparison, seal_comparison
from panel.services.workplace import Workplace
from tests.builders import ORGANISER, draft, sealed, sitting_draft
from tests.printing.papers import texts_of
from tests.web.guest import ORIGIN, Guest


def posted(organiser: Guest, known: Comparison) -> tuple[int, list[str]]:
    """The pages that the button says, and the pages that come."""
    page = organiser.get(f"/organise/{known.id}/print")
    said = re.search(r"(\d+) pages in one file", page.text)
    assert said
    (form,) = [form for form in page.forms if "/everything" in form.action]
    answer = organiser.client.post(form.action, data=dict(form.fields), headers={"Origin": ORIGIN})
    assert answer.mimetype == "application/pdf"
    assert "everything.pdf" in answer.headers["Content-Disposition"]
    return int(said[1]), texts_of(answer.data)


def test_as_many_pages_come_as_the_button_says(organiser: Guest, at: Workplace) -> None:
    said, pages = posted(organiser, sealed(at))
    assert len(pages) == said
    assert "The kit" in pages[0]
    assert any("Pour mat, wave 1" in page for page in pages)


def test_an_organiser_who_tastes_gets_nothing_that_shows_the_key(
    organiser: Guest, at: Workplace
) -> None:
    whole = draft(duties=Duties(organiser_tastes=True))
    known = plan_comparison.start_draft(at, ORGANISER, whole, sitting_draft())
    known = seal_comparison.seal(at, ORGANISER, known.id)
    said, pages = posted(organiser, known)
    assert len(pages) == said
    assert not [page for page in pages if "Cool tank" in page or "Warm tank" in page]
