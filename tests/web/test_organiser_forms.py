"""Forms of the organiser: what is typed, what is understood, what is refused and how."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from panel.core.comparison import Sitting
from panel.core.errors import PanelError, RefusalsError
from panel.core.names import Aim, Helpers, Information, Looks, Paper, SittingKind
from panel.core.plan import Serving, as_words, plan_from_words
from panel.services.plan_comparison import Draft
from panel.settings import Settings
from panel.web.organiser_question_form import draft_read, fresh_question, words_of_question
from panel.web.organiser_reading import Reading
from panel.web.organiser_sitting_form import (
    fresh_sitting,
    is_left_open,
    sitting_read,
    words_of_sitting,
)
from tests.builders import draft, plan_for

SETTINGS = Settings(instance=Path("instance"), guild="Larkspur Hill Fermenters", country="ie")
SITTING = Sitting(
    id="abcdefghijkl",
    name="Guild night",
    planned=24,
    drawn=48,
    starts=datetime(2027, 7, 1, 18, 30, tzinfo=UTC),
    zone="Europe/London",
    place="Back room",
)


def read_draft(**typed: str) -> Draft:
    words = words_of_question(draft())
    reading = Reading({**words, **{name: [word] for name, word in typed.items()}})
    read = draft_read(reading)
    reading.done()
    return read


def refused_draft(**typed: str) -> dict[str | None, str]:
    with pytest.raises(RefusalsError) as refusal:
        read_draft(**typed)
    return sentences(refusal.value.refusals)


def read_sitting(**typed: str) -> object:
    reading = Reading(
        {**words_of_sitting(SITTING), **{name: [word] for name, word in typed.items()}}
    )
    read = sitting_read(reading)
    reading.done()
    return read


def refused_sitting(**typed: str) -> dict[str | None, str]:
    with pytest.raises(RefusalsError) as refusal:
        read_sitting(**typed)
    return sentences(refusal.value.refusals)


def sentences(refusals: tuple[PanelError, ...]) -> dict[str | None, str]:
    return {refusal.field: str(refusal.message) for refusal in refusals}


# --- the question ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "method", ["triangle", "duo-trio", "paired", "paired-preference", "3-afc", "tetrad"]
)
def test_what_a_form_shows_is_read_back_as_it_was(method: str) -> None:
    whole = draft(
        plan=replace(plan_for(method), expected=18, further_sittings=True, ask_words=False),
        serving=Serving(
            temperature=Decimal("11.5"), vessel="dark cups", allergens=("barley", "oats")
        ),
        helpers=Helpers.THREE,
        drink="brown ale",
    )
    chosen = {**words_of_question(whole), "method": [method]}
    reading = Reading(chosen)
    read = draft_read(reading)
    reading.done()
    assert read == whole


def test_the_fitting_test_is_chosen_by_what_is_asked() -> None:
    assert read_draft(method="fitting", expected="60").plan.method == "triangle"
    assert read_draft(method="fitting", expected="60", lingers="yes").plan.method == "duo-trio"
    assert read_draft(method="fitting", aim="preference").plan.method == "paired-preference"
    told = read_draft(method="fitting", attribute="bitter", stronger="B", expected="60").plan
    assert (told.method, told.sides) == ("3-afc", 1)
    unsure = read_draft(method="fitting", attribute="bitter", stronger="").plan
    assert (unsure.method, unsure.sides) == ("paired", 2)


def test_a_taste_that_lingers_is_kept_so_that_the_test_goes_on_fitting() -> None:
    kept = read_draft(method="fitting", expected="60", lingers="yes").plan
    assert kept.lingers
    again = words_of_question(draft(plan=kept))
    assert (again["lingers"], again["method"]) == (["yes"], ["fitting"])
    assert "lingers" not in words_of_question(draft())
    assert plan_from_words(as_words(kept)) == kept
    before = {name: word for name, word in as_words(kept).items() if name != "lingers"}
    assert plan_from_words(before) == replace(kept, lingers=False)


def test_a_fitting_test_keeps_the_distance_and_is_shown_as_fitting_again() -> None:
    few = read_draft(method="fitting", pd="30", expected="24")
    assert few.plan.method == "tetrad"
    assert few.plan.pd is None
    again = words_of_question(few)
    assert (again["method"], again["pd"]) == (["fitting"], ["d-prime"])


def test_shares_and_risks_are_typed_in_hundreds() -> None:
    plan = read_draft(alpha="1", beta="10 %", pd="other", pd_other="12,5").plan
    assert (plan.alpha, plan.beta, plan.pd) == (
        Decimal("0.01"),
        Decimal("0.1"),
        Decimal("0.125"),
    )
    assert read_draft(pd="d-prime", d_prime="1.2").plan.d_prime == Decimal("1.2")


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("expected", "about twenty", "“about twenty” is no whole number"),
        ("expected", "-3", "no whole number"),
        ("beer_a_abv", "five", "“five” is no number"),
        ("beer_a_abv", "1e3", "no number"),
        ("temperature", "NaN", "no number"),
        ("alpha", "0", "above 0 and up to 100"),
        ("alpha", "100", "no test"),
        ("beta", "", "Write the risk"),
        ("pd", "7", "how large a difference"),
        ("aim", "", "what you want to know"),
        ("helpers", "many", "how many people"),
        ("looks", "", "side by side"),
        ("method", "quartet", "Choose a test"),
        ("title", "x" * 201, "201 characters"),
    ],
)
def test_what_cannot_be_read_is_refused_beside_its_field(field: str, typed: str, said: str) -> None:
    refused = refused_draft(**{field: typed})
    assert set(refused) == {field}
    assert said in refused[field]


def test_a_line_with_a_number_of_its_own_wants_the_number() -> None:
    assert set(refused_draft(pd="other")) == {"pd_other"}
    assert set(refused_draft(pd="d-prime")) == {"d_prime"}


def test_every_refusal_is_gathered() -> None:
    assert set(refused_draft(expected="x", beer_b_abv="y", looks="")) == {
        "expected",
        "beer_b_abv",
        "looks",
    }


def test_a_fresh_form_leaves_open_what_everybody_has_to_think_of() -> None:
    fresh = fresh_question(SETTINGS)
    assert "helpers" not in fresh
    assert "looks" not in fresh
    assert fresh["organised_by"] == ["Larkspur Hill Fermenters"]
    assert fresh["country"] == ["ie"]
    assert fresh["aim"] == [Aim.DIFFERENCE]


def test_commas_and_lines_divide_the_allergens() -> None:
    listed = read_draft(allergens="barley (gluten), oats\nmilk,, barley (gluten)").serving.allergens
    assert listed == ("barley (gluten)", "oats", "milk")
    assert read_draft(looks="masked").serving.looks is Looks.MASKED


# --- a sitting ------------------------------------------------------------------------------------


def test_a_sitting_is_read_back_as_it_was() -> None:
    for sitting in (
        SITTING,
        replace(
            SITTING,
            kind=SittingKind.REPEAT,
            information=Information.INFORMED,
            told="One was boiled longer.",
            paper=Paper.LETTER,
            groups_drawn=True,
            zone="America/New_York",
        ),
    ):
        reading = Reading(words_of_sitting(sitting))
        read = sitting_read(reading)
        reading.done()
        for name in ("name", "planned", "starts", "zone", "kind", "information", "told", "place"):
            assert getattr(read, name) == getattr(sitting, name), name
        assert (read.paper, read.groups_drawn) == (sitting.paper, sitting.groups_drawn)


def test_local_time_becomes_utc_by_the_rules_of_that_day() -> None:
    # British Summer Time runs from the last Sunday of March to the last of October: on 28 March
    # 2027 clocks go from 01:00 UTC to 02:00 local.
    winter = read_sitting(date="2027-03-27", time="19:30")
    summer = read_sitting(date="2027-03-28", time="19:30")
    assert winter.starts == datetime(2027, 3, 27, 19, 30, tzinfo=UTC)
    assert summer.starts == datetime(2027, 3, 28, 18, 30, tzinfo=UTC)


@pytest.mark.parametrize("typed", ["2027-03-14", "2027-3-14", "14.3.2027", "14. 3. 2027"])
def test_a_date_can_be_written_in_two_ways(typed: str) -> None:
    assert read_sitting(date=typed, time="19.30").starts == datetime(
        2027, 3, 14, 19, 30, tzinfo=UTC
    )


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("date", "", "on which day"),
        ("date", "2027-02-30", "There is no 30 February 2027: that month has 28 days"),
        ("date", "2027-02-29", "There is no 29 February 2027"),
        ("date", "2027-13-01", "There is no month 13"),
        ("date", "0027-03-14", "right year"),
        ("date", "3/14/2027", "cannot be read as a date"),
        ("date", "next Friday", "“next Friday” cannot be read"),
        ("time", "", "at what time"),
        ("time", "24:10", "There is no 24:10"),
        ("time", "half past seven", "cannot be read as a time"),
        ("zone", "Europe/Leeds", "no time zone “Europe/Leeds”"),
        ("zone", "Europe", "no time zone “Europe”"),
        ("zone", "", "no time zone"),
        ("planned", "", "for how many tasters"),
        ("planned", "two dozen", "no whole number"),
        ("kind", "picnic", "how this sitting is served"),
        ("information", "", "told what was changed"),
    ],
)
def test_a_sitting_that_cannot_be_is_refused_in_words(field: str, typed: str, said: str) -> None:
    refused = refused_sitting(**{field: typed})
    assert set(refused) == {field}
    assert said in refused[field]


def test_an_hour_that_the_clocks_leave_out_does_not_exist() -> None:
    refused = refused_sitting(date="2027-03-28", time="01:30")
    assert "no 01:30 on that day" in refused["time"]


def test_a_leap_day_exists_in_a_leap_year() -> None:
    assert read_sitting(date="2028-02-29", time="19:30").starts.day == 29


def test_nothing_written_of_a_sitting_means_none_yet() -> None:
    assert is_left_open(fresh_sitting(SETTINGS))
    assert is_left_open({**fresh_sitting(SETTINGS), "place": ["  "]})
    assert not is_left_open({**fresh_sitting(SETTINGS), "place": ["Back room"]})
