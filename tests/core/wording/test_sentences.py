"""The sentences themselves, word for word, where they matter most."""

from dataclasses import replace
from decimal import Decimal

import pytest

from panel.core.difference import differences_of
from panel.core.findings import Finding, findings_of
from panel.core.names import Aim, Information, Looks, Outcome, SittingKind
from panel.core.outcomes import outcomes_of
from panel.core.plan import Plan
from panel.core.wording import (
    rows_for_all,
    rows_for_statisticians,
    say_difference,
    say_finding,
    say_posterior,
    say_with_told,
)
from tests.results import (
    Answered,
    Evening,
    comparison,
    evening,
    right_and_wrong,
    sitting,
    times,
    two_tables,
)


def found(event: Evening) -> tuple[Finding, ...]:
    outcomes = outcomes_of(event.comparison, event.key, event.trays, event.ballots)
    return findings_of(event.comparison.plan, outcomes)


def said(event: Evening, number: int = 0) -> list[str]:
    whole = say_finding(found(event)[number], event.comparison)
    return [str(sentence) for sentence in (*whole.lead, *whole.then)]


def table(plan: Plan, right: int, tasters: int) -> Evening:
    return evening(comparison(plan), right_and_wrong("blue", right, tasters))


def test_not_shown():
    assert said(two_tables()) == [
        "15 of 36 blinded tasters found the odd cup.",
        "Guessing alone would give about 12.",
        "That is not strong evidence of a difference.",
        "The votes fit anything from nobody to 39 in 100 of such tasters truly telling the two "
        "apart.",
    ]


def test_shown_for_people_who_knew():
    assert said(two_tables(), 1) == [
        "9 of 12 tasters who knew what was changed found the odd cup.",
        "Guessing alone would give about 4.",
        "By the rule locked beforehand that counts as a difference that people can find who know "
        "of it: guessing alone does as well in about 4 of 1000 panels of this size.",
        "At a best guess, 62 in 100 of such tasters truly tell the two apart and the others guess; "
        "the votes fit anything from 14 to 92.",
    ]


def test_with_the_told():
    event = two_tables(told=2)
    blinded = found(event)[0]
    assert [str(sentence) for sentence in say_with_told(blinded, event.comparison)] == [
        "With those who had been told at the table, 17 of 38 found the odd cup.",
        "The conclusion would be the same.",
    ]
    turned = two_tables((17, 36), told=4)
    sentences = say_with_told(found(turned)[0], turned.comparison)
    assert "another" in str(sentences[1])
    assert say_with_told(found(two_tables())[0], event.comparison) == ()


@pytest.mark.parametrize("looks", list(Looks))
def test_what_may_have_been_seen_is_not_said_to_be_tasted(looks):
    event = two_tables((24, 36))
    serving = replace(event.comparison.serving, looks=looks)
    compared = replace(event.comparison, serving=serving)
    text = " ".join(map(str, say_finding(found(event)[0], compared).then))
    assert ("can notice, by eye or by taste" in text) is (looks is Looks.DIFFERENT)
    assert ("people can taste" in text) is (looks is not Looks.DIFFERENT)


def difference_words(event: Evening) -> str:
    outcomes = outcomes_of(event.comparison, event.key, event.trays, event.ballots)
    findings = findings_of(event.comparison.plan, outcomes)
    said = (
        say_difference(known, findings[0], event.comparison)
        for known in differences_of(event.comparison, outcomes, findings)
    )
    return " ".join(str(sentence) for paragraph in said for sentence in paragraph)


def test_a_difference_between_groups_that_is_not_shown():
    assert difference_words(two_tables()) == (
        "Those who knew found the odd cup more often, by 33 points in 100; the votes fit anything "
        "from 1 to 55 more. That is not strong evidence that knowing changes what people find "
        "(exact p-value 0.055). Nor is it strong evidence that they are less than 20 points in "
        "100 apart, which is what the difference that matters by the plan adds to guessing. Nobody "
        "drew lots for the "
        "groups: it may be who came, and not what they knew. That one group reaches its mark and "
        "the other does not is not itself a difference between them."
    )


@pytest.mark.parametrize(
    ("blinded", "informed", "words"),
    [
        ((4, 12), (4, 12), "equally often; the votes fit anything from 34 fewer to 34 more."),
        ((12, 12), (2, 12), "less often, by 83 points in 100"),
        ((2, 24), (24, 24), "strong evidence that the two groups are not alike"),
        (
            (200, 600),
            (205, 600),
            "strong evidence that the two groups are less than 20 points in 100 apart",
        ),
    ],
)
def test_other_differences(blinded, informed, words):
    assert words in difference_words(two_tables(blinded, informed))


def test_two_differences_say_whose_they_are():
    compared = comparison(
        None,
        sitting("blue", groups_drawn=True),
        sitting("green", Information.INFORMED, groups_drawn=True),
        sitting("red"),
        sitting("grey", Information.INFORMED),
    )
    trays = (
        *right_and_wrong("blue", 4, 10),
        *right_and_wrong("green", 8, 10),
        *right_and_wrong("red", 3, 12),
        *right_and_wrong("grey", 5, 6),
    )
    words = difference_words(evening(compared, trays))
    first, second = words.split("Between the sittings for which nobody drew lots")
    assert first.startswith(
        "Between the sittings to which lots brought people: Of those who knew, 8 of 10; of those "
        "who did not, 4 of 10. Those who knew found the odd cup more often, by 40 points in 100"
    )
    assert "Lots decided who was told" in first
    assert second.startswith(
        ", apart from the others: Of those who knew, 5 of 6; of those who did not, 3 of 12."
    )
    assert "Nobody drew lots for the groups" in second
    assert "Lots decided" not in second


def test_knowing_is_named_as_the_cause_only_where_lots_were_drawn():
    compared = comparison(
        None,
        sitting("blue", groups_drawn=True),
        sitting("green", Information.INFORMED, groups_drawn=True),
    )
    trays = (*right_and_wrong("blue", 2, 24), *right_and_wrong("green", 24, 24))
    words = difference_words(evening(compared, trays))
    assert "strong evidence that knowing changes what people find" in words
    assert "Lots decided who was told" in words
    assert "less than 0.001" in words


@pytest.mark.parametrize(
    ("right", "first", "last"),
    [
        (
            30,
            "30 of 36 blinded tasters preferred the saison from the bottle. "
            "The other 6 preferred the saison from the keg.",
            "anything from 67 to 94 in 100 of such tasters preferring the saison from the bottle.",
        ),
        (
            6,
            "30 of 36 blinded tasters preferred the saison from the keg. "
            "The other 6 preferred the saison from the bottle.",
            "anything from 67 to 94 in 100 of such tasters preferring the saison from the keg.",
        ),
        (
            18,
            "18 of 36 blinded tasters preferred the saison from the bottle. "
            "The other 18 preferred the saison from the keg.",
            "anything from 33 to 67 in 100 of such tasters preferring the saison from the bottle.",
        ),
    ],
)
def test_a_preference_names_the_beer_that_is_ahead(right, first, last):
    plan = Plan(method="paired-preference", aim=Aim.PREFERENCE, sides=2)
    sentences = said(table(plan, right, 36))
    assert " ".join(sentences[:2]) == first
    assert sentences[-1].endswith(last)


def test_no_preference_is_said_beside():
    plan = Plan(method="paired-preference", aim=Aim.PREFERENCE, no_preference=True)
    none = times(2, Answered(sitting="blue", outcome=Outcome.NO_CHOICE))
    event = evening(comparison(plan), (*right_and_wrong("blue", 6, 9), *none))
    assert said(event)[1:4] == [
        "The other 3 preferred the saison from the keg.",
        "Tossing a coin would give 4 or 5 each.",
        "2 more declared no preference and are not in the test.",
    ]


def test_too_few_and_just_enough():
    plan = Plan(method="triangle")
    assert "at least 3 would be needed" in said(table(plan, 2, 2))[-1]
    assert "With so few, only all of them right would have done." in said(table(plan, 2, 3))
    assert said(table(plan, 0, 0)) == [
        "No choice of a blinded taster was counted.",
        "For a verdict at least 3 are needed.",
    ]


def test_far_below_chance_something_went_wrong():
    assert "mixed up" in said(table(Plan(method="triangle"), 1, 36))[-1]
    paired = Plan(method="paired", attribute="bitter", stronger="B")
    assert "the other drink has more of it" in said(table(paired, 6, 36))[-1]


def test_the_edge_where_the_test_passes_and_the_interval_reaches_chance():
    """18 of 36: p 0.033 one-sided, yet the two-sided interval begins at 32.9 %."""
    assert said(table(Plan(method="triangle"), 18, 36))[-1].endswith("from very few to 51.")


def test_similarity_says_its_risk():
    plan = Plan(method="triangle", aim=Aim.SIMILARITY, pd=Decimal("0.3"))
    assert said(table(plan, 17, 40))[2:] == [
        "By the limit locked beforehand the two are similar enough: if 30 in 100 of such tasters "
        "or more could truly tell them apart, so few right answers would come in about 11 of 100 "
        "panels of this size.",
        "That rule takes a risk of 20 in 100; by the chart, which takes less, the votes still fit "
        "up to 39 in 100.",
    ]
    assert "the limit was 30" in said(table(plan, 20, 40))[2]
    assert "Similar is not the same" in " ".join(said(table(plan, 160, 400)))


def test_repeat_trials_speak_of_one_taster():
    compared = comparison(None, sitting("kitchen", kind=SittingKind.REPEAT))
    sentences = said(evening(compared, right_and_wrong("kitchen", 6, 8)))
    assert sentences[0] == "In 6 of 8 trays the one taster found the odd cup."
    assert "says nothing of others" in sentences[2]


def test_a_prior_is_said_before_what_follows_from_it():
    event = two_tables()
    text = " ".join(map(str, say_posterior(found(event)[0], event.comparison)))
    assert text.startswith("Suppose that before the first cup every share of such tasters")
    assert "the share lies from 1 to 38 in 100" in text  # scipy.stats.beta(16, 22) above 1/3
    assert "more than 30 in 100 tell them apart, the size that matters by the plan" in text


def test_no_prior_hides_a_count_below_guessing():
    event = table(Plan(method="triangle"), 1, 30)
    assert say_posterior(found(event)[0], event.comparison) == ()


def test_numbers_for_all_and_for_statisticians():
    event = two_tables()
    blinded = found(event)[0]
    shown = {str(row.label): str(row.value) for row in rows_for_all(blinded, event.comparison)}
    assert shown == {
        "found the odd cup": "15 of 36",
        "By guessing alone": "about 12",
        "Needed by the locked rule": "18",
        "Share, with its 95% range": "42% (26% to 59%)",
        "This panel would have seen, 4 times in 5": "33 in 100 telling them apart",
    }
    rows = rows_for_statisticians(blinded, event.comparison)
    text = "\n".join(f"{row.label}: {row.value}" for row in rows)
    assert "Stratum: blinded" in text
    assert "one-sided: 0.187" in text
    assert "0.417 (0.255 to 0.592)" in text
    assert "d-prime (interval transformed): 0.99 (0.00 to 1.94)" in text
