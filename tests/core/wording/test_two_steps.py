"""Nose first in sentences: every number stands in them, and none of them concludes too much."""

from dataclasses import replace

import pytest

from panel.core.findings import findings_of
from panel.core.methods import METHODS
from panel.core.names import Knew, Outcome, SittingKind, Smell
from panel.core.outcomes import outcomes_of
from panel.core.plan import Plan
from panel.core.result import result_of
from panel.core.steps_compared import steps_compared
from panel.core.wording import rows_of_steps, say_steps
from panel.publishing.schema import result_words
from tests.core.wording.banned import BANNED, STATISTICIANS
from tests.kinds import FORCED
from tests.results import Answered, comparison, evening, sitting, times

RIGHT, WRONG = Outcome.RIGHT, Outcome.WRONG


def plan_of(method="triangle") -> Plan:
    known = METHODS[method]
    return Plan(
        method=method,
        aim=known.aims[0],
        sides=known.sides[-1],
        attribute="fruity",
        smell=Smell.FIRST,
    )


def said(plan: Plan, answered, kind=SittingKind.TABLE) -> list[str]:
    event = evening(comparison(plan, sitting("blue", kind=kind)), answered)
    outcomes = outcomes_of(event.comparison, event.key, event.trays, event.ballots)
    findings = {one.id: one for one in findings_of(plan, outcomes)}
    (steps, *_) = steps_compared(plan, outcomes.strata)
    words = say_steps(steps, findings[steps.stratum], event.comparison)
    rows = rows_of_steps(steps, findings[steps.stratum], event.comparison)
    for text in map(str, words):
        assert not BANNED.search(text)
        assert not STATISTICIANS.search(text)
        assert "%" not in text
    assert all(str(row.label) and str(row.value) for row in rows)
    return [str(one) for one in words]


def two(nose, taste, count, **more):
    return times(count, Answered(sitting="blue", outcome=taste, beside=nose, **more))


def test_the_whole_of_it():
    answered = (
        *two(RIGHT, RIGHT, 9),
        *two(WRONG, RIGHT, 8),
        *two(RIGHT, WRONG, 1),
        *two(WRONG, WRONG, 4, turned=True),
        *two(WRONG, WRONG, 8),
        *two(None, RIGHT, 2),
    )
    assert said(plan_of(), answered) == [
        "Of 30 who chose twice, 10 found the odd cup by smell and 17 after tasting; guessing alone "
        "would give about 10.",
        "13 choices were changed after tasting: 8 from wrong to right, 1 from right to wrong, 4 "
        "from one wrong answer to another.",
        "If tasting pulled neither way, a split as uneven as 8 to 1 would come in about 4 of 100 "
        "such rows of changes.",
        "That is evidence that tasting helped where the nose had erred.",
        "2 more ballots have only one of the two choices and are not in this.",
    ]


def test_misled_and_neither():
    misled = said(plan_of(), (*two(RIGHT, WRONG, 7), *two(WRONG, RIGHT, 0)))
    assert misled[-1] == "That is evidence that tasting misled people whose nose had been right."
    neither = said(plan_of(), (*two(RIGHT, WRONG, 2), *two(WRONG, RIGHT, 3)))
    assert neither[-1] == "That is not strong evidence that tasting helped or misled."


def test_nobody_changed():
    assert said(plan_of(), two(RIGHT, RIGHT, 5))[1:] == ["No choice was changed after tasting."]


def test_a_preference_is_neither_right_nor_wrong():
    words = said(plan_of("paired-preference"), (*two(RIGHT, WRONG, 9), *two(RIGHT, RIGHT, 3)))
    assert words[0].startswith("Of 12 who chose twice, 12 preferred the saison from the bottle by")
    assert "9 to the saison from the keg" in words[1]
    assert words[-1].endswith("pulled people towards the saison from the keg.")
    assert "right" not in " ".join(words)


def test_one_tasters_trays_are_no_people():
    words = said(plan_of(), two(RIGHT, RIGHT, 4), SittingKind.REPEAT)
    assert words[0].startswith("In the 4 trays with two choices the taster found the odd cup 4")


@pytest.mark.parametrize("method", FORCED)
def test_the_data_have_it_only_where_it_was_asked(method):
    knew = replace(two(RIGHT, WRONG, 1)[0], knew=(Knew.VARIABLE,))
    answered = (*two(WRONG, RIGHT, 5), *two(RIGHT, RIGHT, 2), knew)
    for plan, strata in ((plan_of(method), 2), (replace(plan_of(method), smell=Smell.ONLY), 0)):
        event = evening(comparison(plan), answered)
        result = result_of(event.comparison, event.key, event.trays, event.ballots)
        words = result_words(result, event.comparison)
        assert len(words.get("two steps", ())) == strata
        if strata:
            first, told = words["two steps"]
            assert (first["paired"], first["to-right"], first["right by smell"]) == (7, 5, 2)
            assert first["p"] == pytest.approx(2 / 2**5)
            assert told["p"] is None
