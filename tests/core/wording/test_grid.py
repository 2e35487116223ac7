"""Every sentence for every count up to 40 tasters, all methods and aims: nothing is over-claimed.

The rules are those of the ASA statement on p-values (2016), of Altman & Bland 1995 (absence of
evidence is not evidence of absence), and of plain reporting: a p-value is never printed as zero.
"""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import pytest

from panel.core.findings import Finding, Verdict, find
from panel.core.message import Message
from panel.core.methods import METHODS
from panel.core.names import Aim, Information, Outcome
from panel.core.outcomes import Group, Judged, Stratum, outcomes_of
from panel.core.plan import Plan
from panel.core.wording import (
    rows_for_all,
    rows_for_statisticians,
    say_finding,
    say_posterior,
)
from tests.core.wording.banned import BANNED, STATISTICIANS
from tests.kinds import FORCED
from tests.results import comparison, evening, right_and_wrong

GRID = [
    (name, aim, sides)
    for name in FORCED
    for aim in METHODS[name].aims
    for sides in METHODS[name].sides
]


@cache
def judged() -> dict[bool, Judged]:
    event = evening(comparison(), right_and_wrong("blue", 1, 2))
    both = outcomes_of(event.comparison, event.key, event.trays, event.ballots).judged
    return {one.outcome is Outcome.RIGHT: one for one in both}


def plan_of(method: str, aim: Aim, sides: int) -> Plan:
    stronger = "B" if sides == 1 else ""
    return Plan(method=method, aim=aim, sides=sides, attribute="bitter", stronger=stronger)


def finding(plan: Plan, right: int, tasters: int) -> Finding:
    ballots = (judged()[True],) * right + (judged()[False],) * (tasters - right)
    stratum = Stratum(
        id="blinded",
        group=Group.BLINDED,
        information=Information.BLINDED,
        method=plan.method,
        sittings=("blue",),
        ballots=ballots,
    )
    return find(plan, stratum)


def sentences(known: Finding, plan: Plan) -> Iterator[Message]:
    said = say_finding(known, comparison(plan))
    yield from (*said.lead, *said.then)


@pytest.mark.parametrize(("method", "aim", "sides"), GRID)
def test_no_sentence_claims_too_much(method, aim, sides):
    plan = plan_of(method, aim, sides)
    for tasters in range(1, 41):
        for right in range(tasters + 1):
            known = finding(plan, right, tasters)
            text = " ".join(map(str, sentences(known, plan)))
            assert not BANNED.search(text), text
            assert not STATISTICIANS.search(text), text
            check_verdict(known, text)


def check_verdict(known: Finding, text: str) -> None:
    """What a verdict must say and must not say."""
    assert ("not strong evidence" in text) is (known.verdict is Verdict.NOT_SHOWN), text
    assert ("no verdict" in text) is (known.verdict is Verdict.TOO_FEW), text
    assert ("similar enough" in text) is (known.verdict is Verdict.SIMILAR), text
    assert ("does not show that" in text) is (known.verdict is Verdict.NOT_SIMILAR), text
    if known.verdict is Verdict.SHOWN:
        assert "counts as a" in text
        assert "nobody" not in text
    if known.aim is not Aim.SIMILARITY:
        assert "similar" not in text


@pytest.mark.parametrize("group", list(Group))
@pytest.mark.parametrize(("method", "aim", "sides"), GRID)
def test_the_same_holds_for_every_group_and_every_row(method, aim, sides, group):
    plan = plan_of(method, aim, sides)
    for tasters in (1, 3, 8, 24):
        for right in range(tasters + 1):
            known = replace(finding(plan, right, tasters), group=group)
            if group is Group.TOLD:
                known = replace(known, verdict=Verdict.COUNT_ONLY)
            text = " ".join(map(str, sentences(known, plan)))
            for row in rows_for_all(known, comparison(plan)):
                text += f" | {row.label}: {row.value}"
            assert not BANNED.search(text), text
            assert not STATISTICIANS.search(text), text
            assert ("taster" in text) is (group is not Group.REPEAT or "one taster" in text), text
            prior = " ".join(map(str, say_posterior(known, comparison(plan))))
            assert not BANNED.search(prior), prior
            assert not STATISTICIANS.search(prior), prior
            rows = rows_for_statisticians(known, comparison(plan))
            assert len({str(row.label) for row in rows}) == len(rows)
            assert not [row for row in rows if "p-value" in str(row.label) and _zero(row.value)]


def _zero(value: Message) -> bool:
    return float(str(value).removeprefix("less than ")) == 0


def test_the_banned_words_are_seen():
    for text in ("There is no difference.", "This proves it", "p = 0.000", "significant"):
        assert BANNED.search(text)
