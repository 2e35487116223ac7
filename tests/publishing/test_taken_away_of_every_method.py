"""Report, picture and the screens for a room, of every test: its question, count and conclusion."""

import pytest

from panel.core.methods import method_named
from panel.core.names import Aim
from panel.core.plan import Plan
from panel.core.wording import rows_for_statisticians, say_finding
from panel.publishing.kinds import chart_of
from panel.publishing.picture import picture
from panel.publishing.report import report_pdf
from panel.publishing.showing import screens
from tests.kinds import OF_TWO
from tests.publishing.opened import opened, result
from tests.publishing.test_picture import texts
from tests.publishing.test_report import edition, pages_of
from tests.publishing.test_showing import HERE, words
from tests.results import comparison, evening, right_and_wrong, sitting


@pytest.mark.parametrize("method", OF_TWO)
def test_each_says_what_the_page_says(method: str) -> None:
    named = method_named(method)
    aim = Aim.DIFFERENCE if Aim.DIFFERENCE in named.aims else named.aims[0]
    plan = Plan(method=method, aim=aim, tasters=24, attribute="bitter", stronger="A",
                sides=min(named.sides))  # fmt: skip
    known, seal = opened(
        evening(comparison(plan, sitting("blue")), right_and_wrong("blue", 11, 24))
    )
    compared, found = known.comparison, result(known)
    main = found.main
    assert main is not None
    said = say_finding(main, compared)
    pages = pages_of(report_pdf(found, compared, edition(compared)))
    for sentence in (*said.lead, *said.then):
        assert str(sentence) in pages[0]
    rest = " ".join(pages[1:]).lower()
    for row in rows_for_statisticians(main, compared):
        assert str(row.value).lower() in rest, row.label
    assert str(named.name).lower() in rest
    drawn = " ".join(text.text for text, _ in texts(picture(found, compared).shapes))
    for sentence in (*said.lead, *said.then[:1]):
        assert str(sentence) in drawn
    shown = screens(found, compared, seal.digest(), HERE)
    told = " ".join(words(one) for one in shown)
    for sentence in (*said.lead, *said.then):
        assert str(sentence) in told
    assert chart_of(main, compared, str) is not None
    assert next(one for one in shown if one.name == "count").shown
