"""The organiser's pages as somebody without scripts meets them: from an empty list to a sealed
comparison, and everything that can be typed wrong on the way."""

import re
from dataclasses import replace

import pytest
from flask import Flask

from panel.core.comparison import Comparison
from panel.core.names import Helpers, Information, Standing
from panel.services import plan_comparison
from panel.services.whole_records import BrokenChain
from panel.services.workplace import Workplace
from panel.web.place import BROKEN
from tests.builders import ORGANISER, draft, sitting_draft
from tests.web.guest import Guest, Page

WHOLE = {
    "title": "Does a 90-minute boil taste different from a 30-minute one?",
    "variable": "length of the boil",
    "beer_a_name": "Short",
    "beer_a_value": "30 minutes",
    "beer_a_abv": "4,6",
    "beer_b_name": "Long",
    "beer_b_value": "90 minutes",
    "beer_b_abv": "4.7",
    "neutral_title": "Brown ale, spring batch",
    "drink": "brown ale",
    "helpers": "two",
    "expected": "22",
    "temperature": "11",
    "vessel": "clear plastic cups, all from one bag",
    "looks": "masked",
    "allergens": "barley (gluten)",
    "sitting_name": "Guild night",
    "date": "2027-04-10",
    "time": "19:30",
    "place": "Back room",
    "planned": "24",
}
"""What somebody types into an empty form for a draft that can be sealed."""


def every(at: Workplace) -> tuple[Comparison, ...]:
    return plan_comparison.every(at, ORGANISER)


def write(organiser: Guest, **changes: str) -> Page:
    """Fills in an empty form and keeps it."""
    return organiser.send(organiser.get("/organise/new"), "/organise", **{**WHOLE, **changes})


def folded(page: Page, part: str) -> bool:
    """Whether a part of the question's form is shut."""
    (opening,) = re.findall(rf'<details class="part" id="{part}"( open)?>', page.html)
    return not opening


def test_a_newcomer_meets_what_has_to_be_written_and_the_rest_stays_shut(
    organiser: Guest, at: Workplace
) -> None:
    page = organiser.get("/organise/new")
    assert folded(page, "sitting")
    assert folded(page, "usual")
    assert "they stand as they usually are. You need not look." in page.text
    assert "Can anybody tell the two apart? It matters to you if 30 in 100 truly can." in page.text
    write(organiser)
    kept = organiser.get(f"/organise/{every(at)[0].id}/question")
    assert not folded(kept, "sitting")
    assert folded(kept, "usual")


@pytest.mark.parametrize(
    "changes", [{"alpha": "ten"}, {"alpha": "1"}, {"wave_size": "12"}, {"attribute": "bitter"}]
)
def test_what_is_not_as_usual_or_was_refused_is_not_folded_away(
    organiser: Guest, at: Workplace, changes: dict[str, str]
) -> None:
    page = write(organiser, **changes)
    if every(at):
        page = organiser.get(f"/organise/{every(at)[0].id}/question")
    assert not folded(page, "usual")
    assert "Not all of it stands as it usually is." in page.text


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"aim": "similarity", "pd": "20"}, "From 20 in 100 who truly can it would be too many."),
        ({"aim": "preference"}, "It matters to you if 30 in 100 truly prefer the same one."),
        ({"pd": "other", "pd_other": "40"}, "It matters to you if 40 in 100 truly can."),
        ({"pd": "d-prime", "d_prime": "1.5"}, "It matters to you from a d-prime of 1.5."),
    ],
)
def test_the_aim_is_one_sentence_with_its_size(
    organiser: Guest, changes: dict[str, str], sentence: str
) -> None:
    assert sentence in write(organiser, looks="", **changes).text


def test_the_organiser_who_tastes_is_named_in_the_sentence(organiser: Guest) -> None:
    page = write(organiser, looks="", organiser_tastes="yes")
    assert "You taste too. Nobody else has a second part." in page.text


def test_the_list_leads_to_another_password(organiser: Guest) -> None:
    assert 'href="/password"' in organiser.get("/organise").html


# --- who gets in ----------------------------------------------------------------------------------


def test_nobody_else_gets_in(app: Flask, at: Workplace) -> None:
    visitor = Guest(app)
    known = plan_comparison.start_draft(at, ORGANISER, draft(), sitting_draft())
    for path in ("", "/new", f"/{known.id}", f"/{known.id}/check"):
        assert "Sign in" in visitor.get(f"/organise{path}").text
    answer = visitor.post(f"/organise/{known.id}/seal", [])
    assert answer.status == 403
    assert every(at)[0].standing is Standing.DRAFTED


# --- the list -------------------------------------------------------------------------------------


def test_an_empty_list_says_what_to_do(organiser: Guest) -> None:
    page = organiser.get("/organise")
    assert "Begin with a question" in page.text
    assert "/organise/new" in page.links


def test_the_list_says_what_is_next_for_each(organiser: Guest, at: Workplace) -> None:
    plan_comparison.start_draft(at, ORGANISER, draft(title="Ready"), sitting_draft())
    plan_comparison.start_draft(at, ORGANISER, draft(title="Not ready", variable=""))
    text = organiser.get("/organise").text
    assert "Ready to be sealed." in text
    assert "2 things are missing before it can be sealed." in text


# --- the question ---------------------------------------------------------------------------------


def test_one_form_makes_a_whole_draft(organiser: Guest, at: Workplace) -> None:
    page = write(organiser)
    (known,) = every(at)
    assert page.path == f"/organise/{known.id}/check"
    assert "Nothing. The plan is whole." in page.text
    assert (known.title, known.drink, known.helpers) == (WHOLE["title"], "brown ale", Helpers.TWO)
    assert [str(beer.abv) for beer in known.beers] == ["4.6", "4.7"]
    (sitting,) = known.sittings
    assert (sitting.name, sitting.planned, sitting.starts.isoformat()) == (
        "Guild night",
        24,
        "2027-04-10T18:30:00+00:00",
    )


def test_a_draft_may_be_half_written(organiser: Guest, at: Workplace) -> None:
    empty = dict.fromkeys(WHOLE, "")
    asked = {"title": "Wild yeast?", "helpers": "three", "looks": "alike", "drink": "cider"}
    page = write(organiser, **{**empty, **asked})
    (known,) = every(at)
    assert known.sittings == ()
    assert page.path == f"/organise/{known.id}/check"
    assert "Add at least one sitting" in page.text
    form = organiser.get(f"/organise/{known.id}/question")
    missing = [href for href in page.links if href.startswith(form.path)]
    assert len(missing) > 5
    for href in filter(lambda href: "#" in href, missing):
        anchor = href.partition("#")[2]
        assert re.search(rf'id="{anchor}"', form.html), anchor


def test_bad_input_keeps_what_was_typed_and_writes_nothing(organiser: Guest, at: Workplace) -> None:
    page = write(
        organiser,
        title="",
        beer_a_abv="five",
        expected="about twenty",
        date="2027-02-30",
        time="25:10",
        planned="0",
        zone="Europe/Leeds",
    )
    assert page.status == 422
    assert every(at) == ()
    for name, word in (
        ("beer_a_abv", "five"),
        ("expected", "about twenty"),
        ("date", "2027-02-30"),
        ("time", "25:10"),
        ("beer_b_name", "Long"),
        ("place", "Back room"),
    ):
        assert page.form("/organise").values(name) == [word]
    for name, sentence in (
        ("beer_a_abv", "“five” is no number"),
        ("expected", "“about twenty” is no whole number"),
        ("date", "There is no 30 February 2027: that month has 28 days."),
        ("time", "There is no 25:10: a day runs from 00:00 to 23:59."),
        ("zone", "There is no time zone “Europe/Leeds”"),
    ):
        assert sentence in beside(page, name)


def test_what_only_the_core_knows_is_refused_beside_its_field_too(
    organiser: Guest, at: Workplace
) -> None:
    page = write(organiser, title=" ", beer_b_name="short", planned="0", beer_a_abv="460")
    assert every(at) == ()
    assert "Write the question as a title" in beside(page, "title")
    assert "Two of the drinks are called" in beside(page, "beer_b_name")
    assert "between 1 and" in beside(page, "planned")
    assert "between 0 and 100 percent" in beside(page, "beer_a_abv")


def test_reasons_are_listed_above_in_the_order_of_the_form(organiser: Guest) -> None:
    page = write(organiser, date="", expected="x", beer_a_abv="y")
    above = page.html[page.html.index('id="refusals"') :]
    anchors = re.findall(r'<li><a href="#(\w+)"', above)
    assert anchors == ["beer_a_abv", "expected", "date"]


def listed(page: Page) -> list[tuple[str, str]]:
    """What stands above a form that came back: the field's anchor, and the words of the link."""
    above = page.html[page.html.index('id="refusals"') :]
    box = above[: above.index("</div>")]
    found = re.findall(r'<li><a href="#([\w-]+)">(.*?)</a></li>', box)
    return [(anchor, re.sub(r"<[^>]*>", "", words)) for anchor, words in found]


def test_one_thing_that_is_not_right_is_named_and_leads_to_its_field(organiser: Guest) -> None:
    page = write(organiser, beer_b_abv="y")
    assert listed(page) == [
        ("beer_b_abv", "Brown ale B, Strength: “y” is no number. Write it in digits, such as 5.2.")
    ]
    assert "One thing is not right yet; nothing was saved:" in page.text
    assert 'id="beer_b_abv"' in page.html


def test_what_was_typed_never_becomes_part_of_the_page(organiser: Guest) -> None:
    page = write(organiser, drink="<b>ale</b>", beer_b_abv="\ufdd0title\ufdd1<i>")
    ((_, words),) = listed(page)
    assert words.startswith("&lt;b&gt;ale&lt;/b&gt; B, Strength: ")
    assert "<i>" not in page.html


def test_an_empty_form_is_refused_for_what_the_page_says_is_needed_and_no_more(
    organiser: Guest, at: Workplace
) -> None:
    page = organiser.get("/organise/new")
    assert "Three things are needed to keep a draft: the question, how many run" in page.text
    assert "may stay empty" in page.text
    refused = write(organiser, **dict.fromkeys(WHOLE, ""))
    assert [anchor for anchor, _ in listed(refused)] == ["title", "helpers", "looks"]
    assert every(at) == ()


def test_a_sitting_with_only_a_name_is_told_what_it_lacks(organiser: Guest, at: Workplace) -> None:
    page = write(organiser, date="", time="", place="", planned="")
    assert "It needs a name, a day, a time and a number. You do not know yet?" in page.text
    assert re.search(r'<details class="part" id="sitting" open>', page.html)
    assert listed(page) == [
        ("date", "Day: Say on which day it is held."),
        ("time", "Begins at: Say at what time it begins."),
        ("planned", "Set for how many tasters? Say for how many tasters you set the table."),
    ]
    assert every(at) == ()


def test_two_drinks_of_one_name_are_refused_where_they_are_named(
    organiser: Guest, at: Workplace
) -> None:
    page = write(organiser, beer_a_name="Long  boil", beer_b_name="long boil", looks="")
    assert "Two of the drinks are called “long boil”" in beside(page, "beer_b_name")
    assert page.form("/organise").values("beer_a_name") == ["Long  boil"]
    assert every(at) == ()


def test_the_drinks_own_word_is_used(organiser: Guest, at: Workplace) -> None:
    check = write(organiser, drink="bread", allergens="", beer_a_abv="").text
    form = organiser.get(f"/organise/{every(at)[0].id}/question").text
    assert "Keep back 1 container of bread A" in check or "containers of bread A" in check
    assert "The strength of bread A is missing" in check
    assert "Name the allergens in it" in check
    for text in (check, form):
        assert "bread A" in text
        assert not re.search(r"\b[Bb]eer [AB]\b", text)
    assert "barley (gluten)" not in organiser.get("/organise/new").form("/new").values("allergens")


def test_blinded_tasters_are_told_nothing(organiser: Guest, at: Workplace) -> None:
    page = write(organiser, told="One was boiled for 90 minutes.")
    assert "Blinded tasters are told nothing" in beside(page, "told")
    assert every(at) == ()
    write(organiser, told="One was boiled for 90 minutes.", information="informed")
    assert every(at)[0].sittings[0].information is Information.INFORMED


def test_a_table_can_be_split_by_lot(organiser: Guest, at: Workplace) -> None:
    page = write(organiser, told="One was boiled for 90 minutes.", information="split")
    assert "half informed, half blinded" in page.text
    assert every(at)[0].sittings[0].information is Information.SPLIT
    again = write(organiser, told="One was boiled.", information="split", kind="parcel")
    assert "Only a table can be split by lot" in beside(again, "information")


def test_a_form_that_grew_old_comes_back_filled(organiser: Guest, at: Workplace) -> None:
    page = write(organiser, csrf_token="too old")
    assert page.status == 400
    assert "open for a long time" in page.text
    assert page.form("/organise").values("title") == [WHOLE["title"]]
    again = organiser.send(page, "/organise")
    assert again.path.endswith("/check")
    assert len(every(at)) == 1


def test_a_draft_is_shown_as_it_was_kept_and_changed(organiser: Guest, at: Workplace) -> None:
    write(organiser)
    (before,) = every(at)
    page = organiser.get(f"/organise/{before.id}/question")
    organiser.send(page, "/organise")
    (untouched,) = every(at)
    assert untouched == before
    organiser.send(page, "/organise", place="Allotment hall", pd="20")
    (after,) = every(at)
    assert after.sittings[0].place == "Allotment hall"
    assert after.plan != before.plan


def test_a_sealed_question_cannot_be_changed(organiser: Guest, at: Workplace) -> None:
    write(organiser)
    (known,) = every(at)
    form = organiser.get(f"/organise/{known.id}/question")
    organiser.send(organiser.get(f"/organise/{known.id}/check"), "/seal")
    page = organiser.send(form, "/organise", title="Something else")
    assert page.status == 409
    assert "This comparison is sealed" in page.text
    assert every(at)[0].title == WHOLE["title"]


def test_defaults_are_sentences(organiser: Guest) -> None:
    text = organiser.get("/organise/new").text
    for sentence in (
        "The test: the one that fits.",
        "at most 5 times in 100 (alpha)",
        "Tasters are not told what to look for.",
        "how sure they are, anything they would like to say.",
        "Trays are poured 6 at a time.",
        "Taste from left to right; you may go back. Swallow or spit as you like.",
        "Times are those of Europe/London; sheets are in English on A4 paper.",
    ):
        assert sentence in text


# --- sittings -------------------------------------------------------------------------------------


def test_sittings_are_added_changed_and_taken_out(organiser: Guest, at: Workplace) -> None:
    write(organiser)
    (known,) = every(at)
    form = organiser.get(f"/organise/{known.id}/sittings/new")
    assert form.form("/sittings/new").values("zone") == ["Europe/London"]
    twice = organiser.send(
        form, "/sittings/new", sitting_name="Guild night", date="2027-04-17", time="18:00",
        planned="12",
    )  # fmt: skip
    assert "Another sitting is called “Guild night” already." in beside(twice, "sitting_name")
    organiser.send(twice, "/sittings/new", sitting_name="Allotment hall")
    (known,) = every(at)
    assert [one.planned for one in known.sittings] == [24, 12]
    second = organiser.get(f"/organise/{known.id}/sittings/{known.sittings[1].id}")
    organiser.send(second, "/sittings/", planned="18")
    (known,) = every(at)
    assert known.sittings[1].planned == 18
    organiser.send(second, "/remove")
    assert [one.name for one in every(at)[0].sittings] == ["Guild night"]


def test_a_sitting_is_added_after_sealing_only_if_the_plan_foresaw_it(
    organiser: Guest, at: Workplace
) -> None:
    for foreseen, status in ((True, 200), (False, 409)):
        plan = replace(draft().plan, further_sittings=foreseen)
        known = plan_comparison.start_draft(at, ORGANISER, draft(plan=plan), sitting_draft())
        organiser.send(organiser.get(f"/organise/{known.id}/check"), "/seal")
        page = organiser.send(
            organiser.get(f"/organise/{known.id}/sittings/new"), "/sittings/new",
            sitting_name="Second evening", date="2027-04-17", time="18:00", planned="6",
        )  # fmt: skip
        assert page.status == status
        kept = plan_comparison.comparison(at, ORGANISER, known.id)
        assert len(kept.sittings) == (2 if foreseen else 1)


def test_what_does_not_exist_is_said(organiser: Guest) -> None:
    page = organiser.get("/organise/aaaaaaaaaaaa")
    assert page.status == 404
    assert "There is no such comparison here." in page.text


def beside(page: Page, name: str) -> str:
    """What stands beside a field as its reasons."""
    return " ".join(re.findall(rf'id="{name}-reason\d*">([^<]*)<', page.html))


# --- a record that was changed --------------------------------------------------------------------


def test_a_changed_record_stands_above_the_list(organiser: Guest, app: Flask) -> None:
    assert "The record was changed." not in organiser.get("/organise").text
    app.extensions[BROKEN] = (BrokenChain("abcdefghijkl", "Two saisons", 7),)
    text = organiser.get("/organise").text
    assert "The record was changed." in text
    assert "The record of “Two saisons” is not as it was written, from line 7 on" in text
    assert Guest(app).get("/").status == 200


# --- bad input ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("alpha", "0", "A share lies above 0 and up to 100 in 100"),
        ("alpha", "100", "A risk of 100 in 100 is no test"),
        ("alpha", "101", "A share lies above 0"),
        ("alpha", "-5", "A share lies above 0"),
        ("alpha", "", "Write the risk, such as 5 in 100"),
        ("beta", "1e2", "is no number"),
        ("beta", "100", "A risk of 100 in 100 is no test"),
        ("title", " ", "Write the question as a title"),
        ("date", "2027-02-29", "There is no 29 February 2027: that month has 28 days"),
        ("planned", "2001", "Plan between 1 and 2000 trays"),
        ("container_millilitres", "90", "gives no full cup"),
    ],
)
def test_each_wrong_thing_is_said_listed_kept_and_not_written(
    organiser: Guest, at: Workplace, field: str, typed: str, said: str
) -> None:
    page = write(organiser, **{field: typed})
    assert page.status == 422
    assert said in beside(page, field)
    assert field in [anchor for anchor, _ in listed(page)]
    assert page.form("/organise").values(field) == [typed]
    assert page.form("/organise").values("place") == [WHOLE["place"]]
    assert every(at) == ()


def test_a_name_that_no_font_can_print_is_said_with_a_way_to_mend_it(
    organiser: Guest, at: Workplace
) -> None:
    page = write(organiser, neutral_title="Brown ale \U0001f37a")
    assert "disabled" in page.form("/seal").buttons[0]
    assert "\U0001f37a" in page.text[page.text.index("Still missing") :]
    refused = organiser.send(page, "/seal")
    assert refused.status >= 400
    assert every(at)[0].seal is None
    assert any(link.endswith("#neutral_title") for link in page.links)
