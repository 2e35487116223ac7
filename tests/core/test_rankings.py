"""Findings of rankings: which test decides, what may be said, how many are needed."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from fractions import Fraction
from random import Random

import pytest

from panel.core import statistics
from panel.core.cautions.caution import Evidence
from panel.core.cautions.people import attribute_named
from panel.core.comparison import Beer
from panel.core.errors import PanelError
from panel.core.findings import Verdict
from panel.core.methods.ranking import METHOD, decides, orders
from panel.core.names import Aim, Channel, Information, Knew, Outcome, SittingKind
from panel.core.outcomes import Group, Judged, Outcomes, Stratum
from panel.core.plan import Plan
from panel.core.ranking_planning import ranking_outlook, tasters_to_rank
from panel.core.rankings import (
    RankingFinding,
    can_decide,
    fewest_of,
    place_in_orders,
    ranking_of,
    rankings_of,
)
from panel.core.readiness import obstacles
from panel.core.wording import say_finding
from panel.core.wording.ranking_rows import places_rows, places_rows_for_statisticians
from panel.core.wording.rankings import (
    concluded_of_places,
    counted_places,
)
from panel.publishing.figures.ranking import ranking_chart
from tests.core.invented import a_comparison

LIKED = Plan(method="ranking", aim=Aim.PREFERENCE, sides=2, drinks=4, pd=Decimal("0.5"), tasters=24)
NAMES = {"A": "the pale one", "B": "the amber one", "C": "the brown one", "D": "the black one"}
NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)


def judged(number: int, order: str, ranked: str, group: Group = Group.BLINDED) -> Judged:
    """A ballot whose taster put the letters of a tray in that order."""
    return Judged(
        tray=number,
        sitting="blue",
        kind=SittingKind.TABLE,
        information=Information.BLINDED,
        group=group,
        order=order,
        channel=Channel.PHONE,
        knew=(Knew.NOTHING,),
        picked=(),
        outcome=Outcome.RIGHT,
        sure="",
        taster="",
        received=NOON,
        late=False,
        said=tuple(str(order.index(letter) + 1) for letter in ranked),
    )


def stratum(plan: Plan, *ranked: str, group: Group = Group.BLINDED) -> Stratum:
    complete = orders(plan)
    ballots = tuple(
        judged(number, complete[number % len(complete)] if not plan.cups else one, one, group)
        for number, one in enumerate(ranked)
    )
    return Stratum(
        id="blinded",
        group=group,
        information=Information.BLINDED,
        method="ranking",
        sittings=("blue",),
        ballots=ballots,
    )


def find(plan: Plan, *ranked: str, group: Group = Group.BLINDED) -> RankingFinding:
    return ranking_of(plan, stratum(plan, *ranked, group=group))


def said(finding: RankingFinding) -> str:
    return " ".join(
        map(str, (*counted_places(finding, NAMES), *concluded_of_places(finding, NAMES)))
    )


SOME = ("CABD", "CBAD", "ACBD", "CADB", "BCAD", "CABD", "ACDB", "CBDA", "CABD", "DCAB")


def test_places_are_read_through_the_serving_order() -> None:
    found = find(LIKED, *SOME)
    assert found.trays[0] == {"C": 1, "A": 2, "B": 3, "D": 4}
    assert found.tasters == 10
    assert found.test is not None
    assert found.test.sums == tuple(sum(one.index(letter) + 1 for one in SOME) for letter in "ABCD")
    assert found.mean_places[0] == ("C", pytest.approx(1.4))


def test_the_locked_test_decides() -> None:
    found = find(LIKED, *SOME)
    assert found.verdict is Verdict.SHOWN
    assert found.test is not None
    assert found.p_value == found.test.p_value
    # With a named order Page's test decides, whatever Friedman's says.
    named = replace(LIKED, expected_order="DBAC")
    other = find(named, *SOME)
    assert other.trend is not None
    assert other.p_value == other.trend.p_value > 0.9
    assert other.verdict is Verdict.NOT_SHOWN


def test_what_is_said_where_a_difference_is_shown() -> None:
    words = said(find(LIKED, *SOME))
    assert "10 blinded tasters put the cups in order." in words
    assert "Mean places, the first being 1: the brown one 1.4; the pale one 2.3" in words
    assert "counts as liking some more than others" in words
    assert "“the brown one” before “the amber one” and “the black one”." in words
    assert "Of the other pairs nothing can be said, neither that they differ nor not." in words


def test_what_is_not_shown_is_not_absent() -> None:
    words = said(find(LIKED, "ABCD", "BADC", "CDAB", "DCBA"))
    assert "not strong evidence of a difference in how they are liked" in words
    assert "four times in five" in words
    assert "no difference" not in words.lower()
    assert "before" not in words


def test_too_few_get_no_verdict() -> None:
    found = find(LIKED, "ABCD")
    assert found.verdict is Verdict.TOO_FEW
    assert found.fewest == 2  # 1 of 24 arrangements at four drinks
    assert "no verdict" in said(found)
    assert find(LIKED, "ABCD", "ABCD").verdict is Verdict.SHOWN


def test_nobody_ranked() -> None:
    found = find(LIKED)
    assert (found.tasters, found.test, found.mean_places) == (0, None, ())
    assert "Nobody's order was counted." in said(found)
    assert ranking_chart(found, NAMES, str) is None
    assert places_rows(found, NAMES) == places_rows_for_statisticians(found, NAMES) == ()


def test_the_told_are_shown_and_not_tested() -> None:
    found = find(LIKED, *SOME, group=Group.TOLD)
    assert found.verdict is Verdict.COUNT_ONLY
    assert found.apart == ()
    assert "no test is made of it" in said(found)


def test_the_figure_has_a_row_for_each_drink_and_its_numbers_beside_it() -> None:
    found = find(LIKED, *SOME)
    figure = ranking_chart(found, NAMES, str)
    assert figure is not None
    assert [row[0] for row in figure.rows] == [NAMES[letter] for letter, _ in found.mean_places]
    assert figure.rows[0][1:3] == ("1.40", "10")
    assert "“the black one”" in figure.rows[0][3]


def test_statisticians_rows_name_every_test() -> None:
    rows = {
        str(row.label): str(row.value)
        for row in places_rows_for_statisticians(find(LIKED, *SOME), NAMES)
    }
    assert "3 degrees of freedom" in rows["Friedman's test"]
    assert rows["How its p-value was found"].startswith("exact")
    assert "the pale one and the amber one" in rows
    incomplete = replace(LIKED, drinks=4, cups=3)
    trays = [order for order in orders(incomplete) * 3]
    words = {
        str(row.label) for row in places_rows_for_statisticians(find(incomplete, *trays), NAMES)
    }
    assert "Durbin's test, trays as tasted" in words


@pytest.mark.parametrize(
    ("plan", "fewest"),
    [
        (replace(LIKED, drinks=3), 3),  # (1/6)^2 = 0.028
        (LIKED, 2),  # 1/24
        (replace(LIKED, drinks=3, expected_order="BAC"), 2),  # (1/6)^2, Page one-sided
        (replace(LIKED, drinks=4, expected_order="BADC"), 1),  # 1/24
    ],
)
def test_fewest_who_could_decide(plan: Plan, fewest: int) -> None:
    assert fewest_of(plan) == fewest
    assert can_decide(plan, fewest)
    assert fewest == 1 or not can_decide(plan, fewest - 1)


def test_the_outlook_says_how_many_are_needed() -> None:
    needed = tasters_to_rank(LIKED)
    assert needed is not None
    assert (
        needed.power
        >= 0.8
        > statistics.ranking_power(
            needed.holding_tasters - 1, 4, 4, Decimal("0.5"), Decimal("0.05")
        )
    )
    good = ranking_outlook(replace(LIKED, tasters=40))
    poor = ranking_outlook(replace(LIKED, tasters=6))
    assert good.can_answer
    assert not poor.can_answer
    assert "will not mean that there is nothing" in str(poor.verdict)
    assert "a multiple" in " ".join(map(str, ranking_outlook(replace(LIKED, tasters=7)).advice))


def test_a_ranking_is_sized_by_a_share() -> None:
    with pytest.raises(PanelError, match="not a d-prime"):
        ranking_outlook(replace(LIKED, pd=None, d_prime=Decimal(1)))


@pytest.mark.parametrize(
    ("drinks", "cups", "tasters", "share"),
    [(4, 4, 24, "0.5"), (6, 3, 30, "0.7"), (3, 3, 16, "0.5")],
)
@pytest.mark.parametrize("named", [False, True])
def test_power_against_simulated_panels(
    drinks: int, cups: int, tasters: int, share: str, named: bool
) -> None:
    """400 panels; the formula within 0.12 (its own error 0.08, the simulation's 0.05)."""
    letters = "ABCDEFGH"[:drinks]
    plan = replace(
        LIKED,
        drinks=drinks,
        cups=0 if cups == drinks else cups,
        expected_order=letters if named else "",
    )
    complete, random, shown = orders(plan), Random(3), 0
    for _ in range(400):
        trays = []
        for taster in range(tasters):
            ranked = random.sample(complete[taster % len(complete)], cups)
            if random.random() < float(share):
                ranked.sort(key=lambda letter: letter != "A") if not named else ranked.sort()
            trays.append({letter: place for place, letter in enumerate(ranked, start=1)})
        if named:
            shown += statistics.trend_test(trays, letters, plan.alpha).significant
        else:
            shown += statistics.rank_test(trays, plan.alpha, most_steps=0).significant
    power = statistics.ranking_power(tasters, drinks, cups, Decimal(share), plan.alpha, trend=named)
    assert shown / 400 == pytest.approx(power, abs=0.12)


def test_its_question_asks_by_liking_or_by_the_word() -> None:
    assert str(decides(LIKED).text) == "Put the cups in order, the one you like best first."
    bitter = replace(LIKED, aim=Aim.DIFFERENCE, attribute="bitter", cups=3)
    assert str(decides(bitter).text) == "Put the cups in order, the most bitter first."
    assert decides(bitter).positions == (1, 2, 3)
    assert METHOD.cups_of(bitter) == 3


def test_a_design_that_does_not_exist_has_no_orders() -> None:
    for drinks, cups in ((2, 0), (9, 0), (8, 3), (4, 5), (4, 1), (8, 0), (7, 7)):
        assert orders(replace(LIKED, drinks=drinks, cups=cups)) == ()


def test_outcomes_of_an_evening_are_found_stratum_by_stratum() -> None:
    from_told = stratum(LIKED, "DCBA", group=Group.TOLD)
    outcomes = Outcomes.__new__(Outcomes)
    object.__setattr__(outcomes, "strata", (stratum(LIKED, *SOME), from_told))
    blinded, told = rankings_of(LIKED, outcomes)
    assert blinded.with_told is not None
    assert blinded.with_told.tasters == 11
    assert told.verdict is Verdict.COUNT_ONLY
    assert blinded.limit == Fraction(1, 2)


def test_a_word_that_is_asked_for_is_said_to_have_told() -> None:
    """By liking nothing is named; by an attribute every taster knows what to look for."""
    beers = tuple(Beer(letter=letter, name=name, abv=Decimal(5)) for letter, name in NAMES.items())
    bitter = replace(LIKED, aim=Aim.DIFFERENCE, attribute="bitter")
    for plan, told in ((LIKED, False), (bitter, True)):
        evidence = Evidence.__new__(Evidence)
        object.__setattr__(evidence, "comparison", a_comparison(plan=plan, beers=beers))
        assert (attribute_named(evidence) is not None) is told
    nameless = a_comparison(plan=replace(bitter, attribute=""), beers=beers)
    assert "attribute" in {one.field for one in obstacles(nameless) if one.blocking}
    assert "attribute" not in {
        one.field for one in obstacles(a_comparison(plan=LIKED, beers=beers))
    }


def test_an_expected_order_has_every_drink() -> None:
    beers = tuple(Beer(letter=letter, name=name, abv=Decimal(5)) for letter, name in NAMES.items())
    for order, wrong in (("CABD", False), ("CAB", True), ("CABE", True)):
        found = obstacles(a_comparison(plan=replace(LIKED, expected_order=order), beers=beers))
        assert ("expected_order" in {one.field for one in found if one.blocking}) is wrong


def test_a_favoured_place_on_the_tray_is_found_in_orders() -> None:
    """Twelve tasters put their first cup first, whatever it holds: rank sum 12 where 30 is even."""
    complete = orders(LIKED)
    random = Random(2)
    ballots = []
    for number in range(12):
        order = complete[number % 4]
        rest = random.sample(order[1:], 3)
        ballots.append(judged(number, order, "".join([order[0], *rest])))
    found = place_in_orders(ballots)
    assert found is not None
    assert found == (1, 1.0, 2.5)
    even = [judged(number, complete[number % 4], "ABCD") for number in range(12)]
    assert place_in_orders(even) is None
    assert place_in_orders([]) is None


def test_what_knowing_does_is_shown_and_not_tested() -> None:
    words = said(find(LIKED, *SOME, group=Group.INFORMED))
    assert "10 tasters who knew what was changed put the cups in order." in words
    assert "whether knowing changes them is not tested" in words
    assert "not tested" not in said(find(LIKED, *SOME))


def test_the_verdict_comes_first_behind_the_places() -> None:
    beers = tuple(Beer(letter=letter, name=name) for letter, name in NAMES.items())
    words = say_finding(find(LIKED, *SOME), a_comparison(plan=LIKED, beers=beers))
    assert "Mean places" in str(words.lead[-1])
    assert "counts as liking some more than others" in str(words.then[0])
    assert "each would come out near 2.5" in str(words.then[1])
    nobody = say_finding(find(LIKED), a_comparison(plan=LIKED, beers=beers))
    assert "Nobody's order was counted." in str(nobody.lead[0])
    assert len(nobody.then) == 1
