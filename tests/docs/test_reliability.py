"""What the page on reliability says of runs follows from the counts that it gives."""

import re

import pytest

from tests.docs import pages
from tests.faults import storm
from tests.faults.test_storm import KILLS

CLAIM = re.compile(r"\b0 (?:[a-z]+ )?(?:in|of) ([\d,]+)(?: [a-z]+)*: at most ([\d.]+) %")
PAGE = pages.text("docs/reliability.md")


def bound(count: int) -> float:
    """Per cent of cases that are wrong at most, at 95 % confidence, when none of so many was."""
    return 100 * (1 - 0.05 ** (1 / count))


def wrongly_bounded(words: str) -> list[str]:
    return [
        claim[0]
        for claim in CLAIM.finditer(words)
        if abs(bound(int(claim[1].replace(",", ""))) - float(claim[2]))
        > 0.5 * _last_digit(claim[2])
    ]


def _last_digit(number: str) -> float:
    return 10.0 ** -len(number.partition(".")[2])


def test_what_no_violation_shows_is_rightly_bounded() -> None:
    assert len(CLAIM.findall(PAGE)) >= 3
    assert wrongly_bounded(PAGE) == []


@pytest.mark.parametrize("words", ["0 in 60 kills: at most 4.8 %", "0 of 1,000: at most 0.3001 %"])
def test_a_wrong_bound_is_seen(words: str) -> None:
    assert wrongly_bounded(words) == [words]


def test_the_storm_is_the_one_that_is_told() -> None:
    """Numbers that the page gives of how the storm is made."""
    longest = max(upto for _share, _from, upto in storm.LIVES)
    assert f"After up to {longest:g} seconds SIGKILL hits the service" in PAGE
    assert f"Every {storm.EVENING}\nkills the evening ends" in PAGE
    assert f"within {storm.READY:g} s of the same command" in PAGE
    assert f"are {KILLS} kills with six phones" in PAGE
