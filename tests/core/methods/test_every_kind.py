"""What a method of any kind owes: orders that are fair, a ballot that is taken and judged, a plan
with an outlook, a finding in words, figure and data, a card, a key and a tally by hand, a page in
the docs.

What a kind owes besides stands apart: `test_contract` (forced choices), `test_ranking`, and below
(hits and false alarms)."""

import json
import re
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from itertools import islice
from pathlib import Path

import pytest
from scipy import stats

from panel.core.ballot import check_answers
from panel.core.comparison import Beer
from panel.core.kinds import check_size, facts_of, outlook_of
from panel.core.methods import METHODS, Detection, ForcedChoice, Method
from panel.core.methods.method import outcome_of, said_by_place
from panel.core.names import Channel, Knew, Outcome
from panel.core.paper.card import card_layout
from panel.core.paper.card_format import CARD_FORMATS
from panel.core.plan import Plan
from panel.core.possible_answers import possible_answers
from panel.core.questions import Choice
from panel.core.recommendation import recommend
from panel.core.result import result_of
from panel.core.side_questions import ballot_questions
from panel.core.statistics import RateTestKind, rates_at, tasters_for_rates
from panel.core.wording import rows_for_all, rows_for_statisticians, say_finding
from panel.printing.kinds import key_explained, tally_of, true_answer
from panel.publishing.kinds import chart_of
from panel.publishing.schema import result_words
from tests.results import Answered, Evening, comparison, evening, sitting

DOCS = Path(__file__).parents[3] / "docs" / "methods"
CODES = ("482", "719", "253", "604", "835", "517", "926", "348")
DETECTIONS = [one for one in METHODS.values() if isinstance(one, Detection)]


def plan_of(method: Method) -> Plan:
    """A plan with everything that the method may need."""
    return Plan(
        method=method.id,
        aim=method.aims[0],
        sides=method.sides[0],
        drinks=method.beers,
        tasters=24,
        attribute="bitter" if method.directional else "",
        stronger="B" if method.directional else "",
        ask_words=False,
    )


@pytest.fixture(params=METHODS.values(), ids=METHODS)
def method(request: pytest.FixtureRequest) -> Method:
    found = request.param
    assert isinstance(found, Method)
    return found


@pytest.fixture(params=DETECTIONS, ids=[one.id for one in DETECTIONS])
def detection(request: pytest.FixtureRequest) -> Detection:
    found = request.param
    assert isinstance(found, Detection)
    return found


def asked_places(method: Method) -> list[int]:
    places = range(1, method.cups_of(plan_of(method)) + 1)
    return [place for place in places if place not in method.references]


def test_orders_are_complete_and_fair_where_it_is_asked(method: Method) -> None:
    """Each beer stands equally often in each place that is asked about, over the complete set."""
    orders = method.orders(plan_of(method))
    assert len(set(orders)) == len(orders)
    assert len({len(order) for order in orders}) == 1
    counts = [Counter(order[place - 1] for order in orders) for place in asked_places(method)]
    assert all(count == counts[0] for count in counts)


def test_a_whole_ballot_is_taken_and_judged(method: Method) -> None:
    plan = plan_of(method)
    codes = CODES[: method.cups_of(plan)]
    deciding = method.decides(plan)
    for answer in islice(possible_answers(deciding, codes), 30):
        given = {"knew": (str(Knew.NOTHING),), deciding.id: answer}
        taken = check_answers(
            ballot_questions(method, plan), codes, given, deciding.id, Channel.KEYED
        )
        assert taken[deciding.id] == answer
        outcome = outcome_of(method, plan, method.orders(plan)[0], codes, answer)
        assert outcome is not Outcome.NO_CHOICE


def test_no_answer_is_no_choice(method: Method) -> None:
    plan = plan_of(method)
    codes = CODES[: method.cups_of(plan)]
    assert outcome_of(method, plan, method.orders(plan)[0], codes, ()) is Outcome.NO_CHOICE


def test_it_can_be_planned_and_advised(method: Method) -> None:
    plan = plan_of(method)
    check_size(plan)
    facts, outlook = facts_of(plan), outlook_of(plan)
    assert (facts.method, facts.tasters) == (method.id, 24)
    assert 0 < facts.limit <= 1
    assert (facts.chance is not None) is isinstance(method, ForcedChoice)
    assert outlook.planned is not None
    assert outlook.planned.can_decide
    assert 0 < outlook.planned.power < 1
    assert outlook.needed is None or outlook.needed.holding_tasters >= 2
    assert str(outlook.verdict)
    assert outlook_of(plan, one_taster=True).verdict != outlook.verdict
    assert plan.method in {need.method for need in recommend(plan).table}


def test_it_has_a_page_in_the_docs(method: Method) -> None:
    page = (DOCS / f"{method.id}.md").read_text(encoding="utf-8")
    assert page.startswith(f"# {method.name}\n")
    for heading in ("## When", "## On the tray", "## How it is counted", "## Sources"):
        assert heading in page
    for order in method.orders(plan_of(method)):
        assert order in page


def evening_of(method: Method) -> Evening:
    """24 ballots of one blinded table; half of them right, where answers are right or wrong."""
    plan = plan_of(method)
    third = Beer(letter="C", name="the saison from the cask", value="conditioned in the cask")
    compared = comparison(plan, sitting("blue", planned=24))
    compared = replace(compared, beers=(*compared.beers, third)[: method.beers])
    order = method.orders(plan)[0]
    codes = CODES[: len(order)]
    answer = next(possible_answers(method.decides(plan), codes))
    graded = outcome_of(method, plan, order, codes, answer) in (Outcome.RIGHT, Outcome.WRONG)
    outcomes = (Outcome.RIGHT, Outcome.WRONG) if graded else (Outcome.PLACED,) * 2
    one = Answered(sitting="blue")
    answered = tuple(replace(one, outcome=outcomes[number // 4 % 2]) for number in range(24))
    return evening(compared, answered)


def test_it_has_a_finding_in_words_figure_and_data(method: Method) -> None:
    event = evening_of(method)
    found = result_of(event.comparison, event.key, event.trays, event.ballots)
    main = found.main
    assert main is not None
    assert (main.method, main.tasters) == (method.id, 24)
    said = say_finding(main, event.comparison)
    for message in (*said.lead, *said.then):
        assert "%(" not in str(message)
    assert said.lead
    assert said.then
    assert len(rows_for_all(main, event.comparison)) >= 3
    assert len(rows_for_statisticians(main, event.comparison)) >= 4
    figure = chart_of(main, event.comparison, str)
    assert figure is not None
    assert figure.drawing.title
    assert figure.rows
    words = result_words(found, event.comparison)["findings"][0]
    assert 0 < words["p"] <= 1
    assert words["verdict"] == str(main.verdict)
    json.dumps(words, allow_nan=False)


def test_it_has_a_card_a_key_and_a_tally_by_hand(method: Method) -> None:
    plan = plan_of(method)
    cups = method.cups_of(plan)
    layout = card_layout(
        ballot_questions(method, plan), cups, method.references, CARD_FORMATS["a5"]
    )
    assert {code.position for code in layout.codes} >= set(asked_places(method))
    compared = evening_of(method).comparison
    assert "%(" not in str(key_explained(method))
    for order in method.orders(plan):
        assert "%(" not in true_answer(compared, CODES[:cups], order, str)
    tally = tally_of(compared)
    assert len(tally.steps) >= 4
    assert len(tally.written) >= 2
    assert tally.rows


# --- hits and false alarms ------------------------------------------------------------------------


def test_both_kinds_come_equally_often(detection: Detection) -> None:
    """So half of the answers of whoever always says the same are right."""
    plan, codes = plan_of(detection), CODES[: detection.cups]
    counts: Counter[bool] = Counter()
    for order in detection.orders(plan):
        answer = next(possible_answers(detection.decides(plan), codes))
        signs = detection.signs(plan, order, said_by_place(codes, answer))
        assert len(signs) == (2 if detection.paired else 1)
        assert (len({sign.target for sign in signs}) == 2) is detection.paired
        counts.update(sign.target for sign in signs)
    assert counts[True] == counts[False] > 0


def test_every_tray_has_one_true_answer(detection: Detection) -> None:
    plan, codes = plan_of(detection), CODES[: detection.cups]
    for order in detection.orders(plan):
        answers = list(possible_answers(detection.decides(plan), codes))
        right = [
            answer
            for answer in answers
            if outcome_of(detection, plan, order, codes, answer) is Outcome.RIGHT
        ]
        assert len(right) == 1
        said = [
            {sign.said for sign in detection.signs(plan, order, said_by_place(codes, answer))}
            for answer in answers
        ]
        assert {True} in said
        assert {False} in said


def test_the_answer_in_question_is_one_that_is_offered(detection: Detection) -> None:
    asked = detection.decides(plan_of(detection))
    offered = (
        [str(option.text) for option in asked.options]
        if isinstance(asked, Choice)
        else [str(asked.yes)]
    )
    assert str(detection.called) in offered


def test_the_tasters_on_its_page_are_those_that_are_needed(detection: Detection) -> None:
    page = (DOCS / f"{detection.id}.md").read_text(encoding="utf-8")
    needed = [
        tasters_for_rates(
            *rates_at(detection.line, d),
            Decimal("0.05"),
            Decimal("0.2"),
            paired=detection.paired,
        ).holding_tasters
        for d in (1.0, 1.5, 2.0)
    ]
    assert f"| tasters | {' | '.join(map(str, needed))} |" in page


@pytest.mark.parametrize(
    ("name", "kind", "p"),
    [
        ("a-not-a", RateTestKind.FISHER, stats.hypergeom.sf(8, 24, 12, 13)),
        ("a-not-a-both", RateTestKind.MCNEMAR, stats.binom.sf(8, 11, 0.5)),
        ("same-different", RateTestKind.FISHER, stats.hypergeom.sf(16, 60, 30, 26)),
    ],
)
def test_the_worked_examples_of_the_docs(name: str, kind: RateTestKind, p: float) -> None:
    """The p-values on the pages, by scipy's distributions."""
    page = (DOCS / f"{name}.md").read_text(encoding="utf-8")
    (printed,) = re.findall(r"p = (?:P\(9 or more of 11\) = )?(0\.0[34]\d+)", page)
    assert float(printed) == pytest.approx(p, abs=6e-5)
    assert {"fisher": "Fisher", "mcnemar": "McNemar"}[kind] in page
