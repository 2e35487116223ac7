"""The archive: only what is published, found and laid side by side, without a script."""

from dataclasses import replace
from urllib.parse import urlencode

import pytest

from panel.core.comparison import Beer, Comparison
from panel.core.names import Information
from panel.core.paper.payload import ref_of
from panel.services import (
    archive,
    close_and_unseal,
    open_sitting,
    plan_comparison,
    publish,
    seal_comparison,
    settle_ballots,
    take_ballot,
)
from panel.services.workplace import Workplace
from panel.web import public
from tests.builders import (
    ORGANISER,
    Clock,
    answers,
    draft,
    plan_for,
    sealed,
    serving,
    sitting_draft,
    token,
    trays,
)
from tests.web.guest import Guest, Page

SIDE = "/archive/side-by-side"
OAK = "Oak chips, toasted"


def held(
    at: Workplace,
    title: str,
    variable: str = OAK,
    *,
    drink: str = "beer",
    method: str = "triangle",
    tasters: int = 4,
    information: Information = Information.BLINDED,
) -> Comparison:
    """A comparison up to its closing; everybody takes the first cup that can be chosen."""
    wanted = replace(
        draft(method), title=title, variable=variable, drink=drink, plan=plan_for(method),
        beers=(
            Beer(letter="A", name="Pale", value="none"),
            Beer(letter="B", name="Deep", value="9 g"),
        ),
    )  # fmt: skip
    known = plan_comparison.start_draft(at, ORGANISER, wanted)
    told = "One has been on wood." if information is Information.INFORMED else ""
    there = sitting_draft(information=information, told=told)
    plan_comparison.add_sitting(at, ORGANISER, known.id, there)
    known = seal_comparison.seal(at, ORGANISER, known.id)
    open_sitting.open_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    known = plan_comparison.comparison(at, ORGANISER, known.id)
    for tray in trays(at, known)[:tasters]:
        take_ballot.take_phone(at, ref_of(token(at, known, tray)), answers(known, tray), "k" * 16)
    open_sitting.close_sitting(at, ORGANISER, known.id, known.sittings[0].id)
    settle_ballots.set_aside_rest(at, ORGANISER, known.id)
    return close_and_unseal.close(at, ORGANISER, known.id)


def out(at: Workplace, clock: Clock, title: str, variable: str = OAK, **more: object) -> Comparison:
    """The same, published an hour later."""
    known = held(at, title, variable, **more)  # type: ignore[arg-type]
    clock.forward(hours=1)
    return publish.publish(at, ORGANISER, known.id)


def titles(page: Page) -> list[str]:
    """Of the list, from the top down."""
    parts = page.html.split('<a class="title"')[1:]
    return [part.split(">", 1)[1].split("<")[0] for part in parts]


def side(guest: Guest, variable: str = OAK, drink: str = "beer") -> Page:
    return guest.get(f"{SIDE}?{urlencode({'drink': drink, 'variable': variable})}")


def test_what_is_not_published_is_nowhere_in_the_archive(guest: Guest, at: Workplace) -> None:
    plan_comparison.start_draft(at, ORGANISER, draft(title="A draft"))
    sealed(at)
    serving(at)
    known = held(at, "Closed, and not out")
    page = guest.get("/archive")
    assert "Nothing is published yet" in page.text
    assert page.forms == []
    for words in ("saison", "warm", "fermentation", "draft", OAK, "Closed", "9 g"):
        for path in (f"/archive?words={words}", "/archive?method=triangle&drink=beer"):
            found = guest.get(path)
            assert titles(found) == []
            assert "Nothing is published yet" in found.text
    for variable in ("fermentation warmth", OAK):
        page = side(guest, variable)
        assert page.status == 404
        assert "Nothing is published of this variable" in page.text
    publish.publish(at, ORGANISER, known.id)
    page = guest.get("/archive")
    assert titles(page) == ["Closed, and not out"]
    for word in ("A draft", "saison", "fermentation", "Cool tank"):
        assert word not in page.html
    assert side(guest, "fermentation warmth").status == 404


def test_searched_by_words_drink_and_test(guest: Guest, at: Workplace, clock: Clock) -> None:
    out(at, clock, "Wood in the stout?")
    out(at, clock, "Wood again", "OAK CHIPS (toasted)", method="duo-trio")
    out(at, clock, "Rosé: crème or none", "Crème", drink="cider")
    page = guest.get("/archive")
    assert titles(page) == ["Rosé: crème or none", "Wood again", "Wood in the stout?"]
    assert "3 comparisons" in page.text
    form = page.form("/archive")
    assert form.method == "get"
    assert {name for name, _ in form.fields} == {"words", "drink", "method"}
    assert '<option value="duo-trio">Duo-trio test</option>' in page.html
    assert '<option value="tetrad">' not in page.html  # nothing was published of it
    for query, found in (
        ("words=creme", ["Rosé: crème or none"]),
        ("words=TOASTED+oak", ["Wood again", "Wood in the stout?"]),
        ("words=oak&method=duo-trio", ["Wood again"]),
        ("drink=cider", ["Rosé: crème or none"]),
        ("drink=Cider&words=wood", []),
        ("method=no-such-test", []),
    ):
        assert titles(guest.get(f"/archive?{query}")) == found, query
    nothing = guest.get("/archive?words=%3Cb%3Ezzz&drink=cider")
    assert "Nothing that is published fits." in nothing.text
    assert 'value="&lt;b&gt;zzz"' in nothing.html  # what was typed is still there
    assert '<option value="cider" selected>' in nothing.html


def test_an_odd_page_number_is_a_page(guest: Guest, at: Workplace, clock: Clock) -> None:
    out(at, clock, "The only one")
    for page in ("0", "-3", "1e9", "x", "", "9" * 30):
        assert titles(guest.get(f"/archive?page={page}")) == ["The only one"], page


def test_more_than_a_page_goes_on_and_keeps_the_search(
    guest: Guest, at: Workplace, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert archive.ON_A_PAGE == 50
    monkeypatch.setattr(archive, "ON_A_PAGE", 2)
    for name in ("One", "Two", "Three", "Other"):
        out(at, clock, f"{name} of four", "A grist" if name == "Other" else OAK)
    first = guest.get("/archive?words=oak")
    assert titles(first) == ["Three of four", "Two of four"]
    assert "Page 1 of 2." in first.text
    (older,) = [link for link in first.links if "page=2" in link]
    assert "words=oak" in older
    second = guest.get(older)
    assert titles(second) == ["One of four"]
    assert [link for link in second.links if "page=1" in link]
    assert not [link for link in second.links if "page=3" in link]


def test_the_front_page_leads_there_from_more_than_a_few_results_on(
    guest: Guest, at: Workplace, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(public, "FEW", 1)
    monkeypatch.setattr(public, "NEWEST", 2)
    out(at, clock, "The first")
    assert "/archive" not in guest.get("/").links
    out(at, clock, "The second")
    out(at, clock, "The third")
    page = guest.get("/")
    assert titles(page) == ["The third", "The second"]
    assert "/archive" in page.links
    assert "All 3 results" in page.text


def test_side_by_side_every_row_leads_to_its_result(
    guest: Guest, at: Workplace, clock: Clock
) -> None:
    old = out(at, clock, "Wood in the stout?")
    new = out(at, clock, "Wood <again>", "oak chips toasted", tasters=6)
    told = out(at, clock, "Wood, told", information=Information.INFORMED)
    other = out(at, clock, "A or not A", method="a-not-a", tasters=6)
    out(at, clock, "In cider", drink="cider")
    found = guest.get("/archive?words=oak&drink=beer")
    (link, *_) = [link for link in found.links if link.startswith(SIDE)]
    assert "4 side by side" in found.text
    page = guest.get(link)
    assert page.status == 200
    for known in (old, new, told, other):
        assert f"/r/{known.slug}" in page.links
    assert "In cider" not in page.text
    assert page.html.count('id="of-blinded"') == page.html.count('id="of-informed"') == 1
    assert page.html.index("of-blinded") < page.html.index("of-informed")
    assert "Wood &lt;again&gt;" in page.html
    assert "A: none · B: 9 g" in page.text
    assert "2 panels together, 10 tasters" in page.text
    assert "Few panels together still say little." in page.text
    assert "One finding alone: there is nothing to combine it with." in page.text
    assert "Cochran's Q" in page.text
    apart = page.text.index("Found, but not on the picture")
    assert page.text.index("A or not A", apart) < page.text.index("another scale")
    assert "perhaps not all that were made" in page.text
    assert "style=" not in page.html
    blinded = page.html.split('id="of-blinded"')[1].split("</section>")[0]
    assert "Wood, told" not in blinded
    assert blinded.count("<svg") == 1
    assert blinded.count('<tr class="together">') == 1


def test_one_comparison_alone_has_its_page(guest: Guest, at: Workplace, clock: Clock) -> None:
    out(at, clock, "The only one")
    assert SIDE not in " ".join(guest.get("/archive").links)
    page = side(guest)
    assert "one comparison" in page.text
    assert "panels together" not in page.text.replace("Few panels together", "")


def test_only_findings_on_other_scales_leave_no_empty_picture(
    guest: Guest, at: Workplace, clock: Clock
) -> None:
    out(at, clock, "A or not A", method="a-not-a", tasters=6)
    page = side(guest)
    assert "No finding of this variable has a place on this picture." in page.text
    assert "A or not A" in page.text


def test_very_many_leave_the_oldest_out_and_say_so(
    guest: Guest, at: Workplace, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(archive, "MOST_SIDE_BY_SIDE", 2)
    for name in ("First", "Second", "Third"):
        out(at, clock, f"{name} of all")
    page = side(guest)
    assert "One older comparison is left out here" in page.text
    assert "First of all" not in page.text
    assert "Third of all" in page.text


@pytest.mark.parametrize("query", ["", "drink=beer", "variable=", "variable=%00&drink=%00", "x=1"])
def test_an_address_without_a_variable_is_told_calmly(guest: Guest, query: str) -> None:
    page = guest.get(f"{SIDE}?{query}")
    assert page.status == 404
    assert "The archive lists what there is." in page.text


def test_what_was_changed_before_is_offered_for_the_next_question(
    organiser: Guest, at: Workplace
) -> None:
    held(at, "Closed, and not out", "A grist")
    known = held(at, "Wood in the stout?", "Oak <chips>")
    publish.publish(at, ORGANISER, known.id)
    offered = organiser.get("/organise/new").html.split('<datalist id="variables">')[1]
    offered = offered.split("</datalist>")[0]
    assert offered == '<option value="Oak &lt;chips&gt;"></option>'
