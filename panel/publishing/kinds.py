"""The one place of publishing that asks of which kind a finding is: its figures and its data.

A further kind is one more case in every function; mypy names each that lacks it.
"""

from typing import Any, assert_never

from panel.core.comparison import Comparison
from panel.core.detection import DetectionFinding
from panel.core.detection_difference import DetectionDifference
from panel.core.difference import Difference
from panel.core.findings import Finding
from panel.core.kinds import AnyDifference, AnyFinding
from panel.core.message import Speak
from panel.core.rankings import RankingFinding
from panel.core.wording.rankings import names_of
from panel.publishing.figures import (
    Figure,
    detection_chart,
    finding_chart,
    guessing_chart,
    ranking_chart,
)
from panel.publishing.schema_counts import count_difference_words, count_words
from panel.publishing.schema_detection import sign_difference_words, sign_words
from panel.publishing.schema_rankings import ranking_words


def chart_of(finding: AnyFinding, comparison: Comparison, speak: Speak) -> Figure | None:
    """What was observed, how far the answers reach, where guessing stands; None without answers."""
    match finding:
        case Finding():
            return finding_chart(finding, comparison, speak)
        case DetectionFinding():
            return detection_chart(finding, speak)
        case RankingFinding():
            return ranking_chart(finding, names_of(comparison), speak)
        case _:
            assert_never(finding)


def guesses_of(finding: AnyFinding, comparison: Comparison, speak: Speak) -> Figure | None:
    """How often guessing alone gives each count; None where no one count is held against it."""
    match finding:
        case Finding():
            return guessing_chart(finding, comparison, speak)
        case DetectionFinding() | RankingFinding():
            return None
        case _:
            assert_never(finding)


def numbers_of(finding: AnyFinding) -> dict[str, Any]:
    """What findings.json holds of a finding beside what every finding has."""
    match finding:
        case Finding():
            return count_words(finding)
        case DetectionFinding():
            return sign_words(finding)
        case RankingFinding():
            return ranking_words(finding)
        case _:
            assert_never(finding)


def difference_words(difference: AnyDifference) -> dict[str, Any]:
    """What findings.json holds of a difference."""
    match difference:
        case Difference():
            return count_difference_words(difference)
        case DetectionDifference():
            return sign_difference_words(difference)
        case _:
            assert_never(difference)
