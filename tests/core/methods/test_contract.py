"""What every method owes: a complete and balanced set of orders, a chance that is true by counting,
a ballot that can be answered, a link that agrees, and a page in the docs."""

import re
from collections import Counter
from fractions import Fraction
from itertools import combinations
from pathlib import Path

import pytest
from scipy import stats

from panel.core.ballot import check_answers
from panel.core.errors import PanelError, RefusalsError
from panel.core.methods import METHODS, ForcedChoice, Method, method_named
from panel.core.methods.method import picked_positions
from panel.core.names import Channel, Knew, Outcome
from panel.core.plan import Plan
from panel.core.questions import NO_CHOICE, Choice, PickCups, Words
from panel.core.side_questions import ballot_questions
from panel.core.statistics import CHANCE, proportion_correct

DOCS = Path(__file__).parents[3] / "docs" / "methods"
CODES = ("482", "719", "253", "604", "835")


def plan_of(method: Method) -> Plan:
    """A plan with everything that the method may need."""
    return Plan(
        method=method.id,
        aim=method.aims[0],
        sides=method.sides[0],
        attribute="bitter" if method.directional else "",
        stronger="B" if method.directional else "",
        ask_went_by=True,
        ask_prefer=True,
    )


FORCED = [one for one in METHODS.values() if isinstance(one, ForcedChoice)]


@pytest.fixture(params=FORCED, ids=lambda one: one.id)
def method(request: pytest.FixtureRequest) -> ForcedChoice:
    found = request.param
    assert isinstance(found, ForcedChoice)
    return found


def test_its_name_finds_it(method: Method) -> None:
    assert method_named(method.id) is method


def test_an_unknown_name_is_refused_with_those_there_are() -> None:
    with pytest.raises(PanelError, match="triangle"):
        method_named("wheel")


def test_orders_are_complete_and_of_the_right_length(method: Method) -> None:
    orders = method.orders(plan_of(method))
    assert len(set(orders)) == len(orders)
    assert {len(order) for order in orders} == {method.cups}
    assert set("".join(orders)) == set("AB"[: method.beers])


def test_over_the_set_every_judged_place_is_fair(method: Method) -> None:
    """Each beer stands in each place equally often over the complete set."""
    orders = method.orders(plan_of(method))
    places = range(method.cups)
    counts = [Counter(order[place] for order in orders) for place in places]
    assert all(count == counts[0] for count in counts)


def test_chance_is_true_by_counting(method: Method) -> None:
    """In every single order a guesser is right with exactly the chance that is stated."""
    plan = plan_of(method)
    deciding = method.decides(plan)
    picks = tuple(combinations(deciding.positions, deciding.pick))
    for order in method.orders(plan):
        right = sum(method.judge(plan, order, pick) is Outcome.RIGHT for pick in picks)
        assert Fraction(right, len(picks)) == method.chance


def test_swapping_the_beers_only_swaps_who_is_right(method: Method) -> None:
    """No order is easier than its mirror image."""
    plan = plan_of(method)
    deciding = method.decides(plan)
    mirror = str.maketrans("AB", "BA")
    picks = tuple(combinations(deciding.positions, deciding.pick))
    for order in method.orders(plan):
        there = Counter(method.judge(plan, order, pick) for pick in picks)
        back = Counter(method.judge(plan, order.translate(mirror), pick) for pick in picks)
        if not method.directional and method.id != "paired-preference":
            assert there == back


def test_no_answer_is_no_choice(method: Method) -> None:
    plan = plan_of(method)
    assert method.judge(plan, method.orders(plan)[0], ()) is Outcome.NO_CHOICE


def test_its_link_agrees_with_its_chance(method: Method) -> None:
    assert CHANCE[method.link] == method.chance


def test_references_are_not_asked_about(method: Method) -> None:
    deciding = method.decides(plan_of(method))
    assert not set(method.references) & set(deciding.positions)
    assert max(deciding.positions) <= method.cups


def test_a_whole_ballot_is_taken_and_judged(method: Method) -> None:
    plan = plan_of(method)
    questions = ballot_questions(method, plan)
    codes = CODES[: method.cups]
    deciding = method.decides(plan)
    picked = tuple(codes[place - 1] for place in deciding.positions[: deciding.pick])
    given = {"knew": (str(Knew.NOTHING),), deciding.id: picked}
    for question in questions:
        match question:
            case Choice() if question.id not in given:
                given[question.id] = (question.options[0].value,)
            case PickCups() if question.id not in given:
                given[question.id] = (NO_CHOICE,)
            case Words():
                given[question.id] = ("a word",)
    taken = check_answers(questions, codes, given, deciding.id, Channel.PHONE)
    assert taken == given
    assert picked_positions(codes, taken[deciding.id]) == deciding.positions[: deciding.pick]


def test_an_empty_ballot_is_refused_at_the_deciding_question(method: Method) -> None:
    plan = plan_of(method)
    deciding = method.decides(plan)
    for channel in Channel:
        with pytest.raises(RefusalsError) as refusal:
            check_answers(
                ballot_questions(method, plan), CODES[: method.cups], {}, deciding.id, channel
            )
        fields = {one.field for one in refusal.value.refusals}
        assert deciding.id in fields
        assert ("knew" in fields) is (channel is Channel.PHONE)


def test_question_ids_are_words_that_can_stand_in_a_column(method: Method) -> None:
    ids = [question.id for question in ballot_questions(method, plan_of(method))]
    assert len(set(ids)) == len(ids)
    assert all(name.replace("-", "").isalpha() for name in ids)


def test_it_has_a_page_in_the_docs(method: Method) -> None:
    page = (DOCS / f"{method.id}.md").read_text(encoding="utf-8")
    assert page.startswith(f"# {method.name}\n")
    for heading in ("## When", "## On the tray", "## How it is counted", "## Sources"):
        assert heading in page
    for order in method.orders(plan_of(method)):
        assert order in page


@pytest.mark.parametrize(
    ("name", "tasters", "sides", "critical"),
    [
        ("triangle", 36, 1, 18),
        ("duo-trio", 40, 1, 26),
        ("paired", 30, 1, 20),
        ("paired", 30, 2, 21),
        ("paired-preference", 30, 2, 21),
        ("3-afc", 36, 1, 18),
        ("tetrad", 36, 1, 18),
        ("tetrad-specified", 36, 1, 11),
        ("two-out-of-five", 20, 1, 5),
    ],
)
def test_the_worked_examples_of_the_docs(
    name: str, tasters: int, sides: int, critical: int
) -> None:
    """The numbers on the pages, against scipy's binomial tail."""
    page = (DOCS / f"{name}.md").read_text(encoding="utf-8")
    assert re.search(rf"\b{tasters}\b", page)
    assert re.search(rf"\b{critical}\b", page)
    chance = float(method_named(name).chance)
    assert stats.binom.sf(critical - 1, tasters, chance) <= 0.05 / sides
    assert stats.binom.sf(critical - 2, tasters, chance) > 0.05 / sides


def test_the_worked_numbers_of_the_two_out_of_five_page() -> None:
    """9 of 12 (Meilgaard, Civille & Carr, from memory), 6 needed at 0.1 %; the d-primes."""
    page = (DOCS / "two-out-of-five.md").read_text(encoding="utf-8")
    assert f"p = {stats.binom.sf(8, 12, 0.1):.7f}" in page
    assert stats.binom.sf(5, 12, 0.1) <= 0.001 < stats.binom.sf(4, 12, 0.1)
    shares = [proportion_correct("two-out-of-five", d) for d in (0, 0.5, 1, 1.5, 2, 3)]
    assert "| right | " + " | ".join(f"{share:.3f}" for share in shares) + " |" in page


def test_two_of_the_three_alike_are_wrong() -> None:
    """In a two-out-of-five only the smaller group is asked for."""
    method = METHODS["two-out-of-five"]
    plan = plan_of(method)
    assert len(method.orders(plan)) == 20
    for picked, outcome in (
        ((1, 4), Outcome.RIGHT),
        ((2, 3), Outcome.WRONG),
        ((1, 2), Outcome.WRONG),
    ):
        assert method.judge(plan, "ABBAB", picked) is outcome


def test_the_worked_p_value_of_the_triangle_page() -> None:
    page = (DOCS / "triangle.md").read_text(encoding="utf-8")
    assert f"p = {stats.binom.sf(17, 36, 1 / 3):.3f}" in page
