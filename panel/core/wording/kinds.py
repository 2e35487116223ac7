"""The one place of the wording that asks of which kind a finding is.

A further kind is one more case in every function; mypy names each that lacks it.
"""

from dataclasses import dataclass
from typing import assert_never

from panel.core.comparison import Comparison
from panel.core.detection import DetectionFinding
from panel.core.detection_difference import DetectionDifference
from panel.core.difference import Difference
from panel.core.findings import Finding
from panel.core.kinds import AnyDifference, AnyFinding
from panel.core.message import Message
from panel.core.rankings import RankingFinding
from panel.core.wording.conclusions import concluded
from panel.core.wording.counts import counted, guessing, no_choice
from panel.core.wording.detection import (
    concluded_of_signs,
    counted_signs,
    signs_compared,
    signs_with_told,
)
from panel.core.wording.detection_rows import sign_rows, sign_rows_for_statisticians
from panel.core.wording.differences import say_counts_compared, say_counts_with_told
from panel.core.wording.prior import say_prior
from panel.core.wording.ranking_rows import places_rows, places_rows_for_statisticians
from panel.core.wording.rankings import (
    chance_gives,
    concluded_of_places,
    counted_places,
    names_of,
    places_with_told,
)
from panel.core.wording.rows import Row, count_rows, count_rows_for_statisticians


@dataclass(frozen=True)
class Said:
    """Whole sentences: `lead` what was counted and what guessing gives, `then` what follows."""

    lead: tuple[Message, ...]
    then: tuple[Message, ...]


def say_finding(finding: AnyFinding, comparison: Comparison) -> Said:
    """A finding in sentences for everybody."""
    match finding:
        case Finding():
            return Said(
                lead=(*counted(finding, comparison), *guessing(finding)),
                then=(*no_choice(finding), *concluded(finding, comparison)),
            )
        case DetectionFinding():
            return Said(counted_signs(finding), concluded_of_signs(finding, comparison))
        case RankingFinding():
            names = names_of(comparison)
            verdict, *more = concluded_of_places(finding, names)
            return Said(
                lead=counted_places(finding, names),
                then=(verdict, *chance_gives(finding), *more),
            )
        case _:
            assert_never(finding)


def rows_for_all(finding: AnyFinding, comparison: Comparison) -> tuple[Row, ...]:
    """The few numbers for everybody; () where nobody answered."""
    match finding:
        case Finding():
            return count_rows(finding, comparison)
        case DetectionFinding():
            return sign_rows(finding)
        case RankingFinding():
            return places_rows(finding, names_of(comparison))
        case _:
            assert_never(finding)


def rows_for_statisticians(finding: AnyFinding, comparison: Comparison) -> tuple[Row, ...]:
    """Everything that was computed of one stratum, in the trade's terms."""
    match finding:
        case Finding():
            return count_rows_for_statisticians(finding, comparison)
        case DetectionFinding():
            return sign_rows_for_statisticians(finding)
        case RankingFinding():
            return places_rows_for_statisticians(finding, names_of(comparison))
        case _:
            assert_never(finding)


def say_posterior(finding: AnyFinding, comparison: Comparison) -> tuple[Message, ...]:
    """The same counts read with a flat prior, () where they are not."""
    match finding:
        case Finding():
            return say_prior(finding, comparison) if finding.posterior else ()
        case DetectionFinding() | RankingFinding():
            return ()
        case _:
            assert_never(finding)


def say_with_told(finding: AnyFinding, comparison: Comparison) -> tuple[Message, ...]:
    """What the blinded finding would be with those who were told at the table; () without any."""
    match finding:
        case Finding():
            return say_counts_with_told(finding, comparison)
        case DetectionFinding():
            return signs_with_told(finding)
        case RankingFinding():
            return places_with_told(finding, names_of(comparison))
        case _:
            assert_never(finding)


def say_difference(
    difference: AnyDifference, finding: AnyFinding, comparison: Comparison
) -> tuple[Message, ...]:
    """What knowing does. finding: one of the two groups, of the same kind."""
    match difference, finding:
        case Difference(), Finding():
            return say_counts_compared(difference, finding, comparison)
        case DetectionDifference(), DetectionFinding():
            return signs_compared(difference, finding, comparison)
        case _:
            raise TypeError("a difference and a finding are of one kind")
