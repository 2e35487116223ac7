"""Findings as plain sentences: what was counted, what guessing gives, what may be concluded.

The rules of the wording: a p-value is not the chance that nothing was changed (ASA statement 2016,
The American Statistician 70:129–133); what is not shown is not thereby absent (Altman & Bland 1995,
BMJ 311:485), so the sizes that still fit are said; similarity is claimed only where a limit for it
was locked. Statisticians' words stand apart (`wording.rows`).
"""

from dataclasses import dataclass

from panel.core.comparison import Comparison
from panel.core.findings import Finding
from panel.core.message import Message
from panel.core.wording.conclusions import concluded
from panel.core.wording.counts import counted, guessing, no_choice
from panel.core.wording.differences import say_difference, say_with_told
from panel.core.wording.prior import PRIOR_DECIDES_NOTHING, say_posterior
from panel.core.wording.repeats import (
    rows_of_alike,
    rows_of_repeats,
    say_alike,
    say_repeats,
)
from panel.core.wording.rows import Row, rows_for_all, rows_for_statisticians
from panel.core.wording.two_steps import DECIDES_NOTHING, rows_of_steps, say_steps


@dataclass(frozen=True)
class Said:
    """Whole sentences: `lead` what was counted and what guessing gives, `then` what follows."""

    lead: tuple[Message, ...]
    then: tuple[Message, ...]


def say_finding(finding: Finding, comparison: Comparison) -> Said:
    """A finding in sentences for everybody."""
    return Said(
        lead=(*counted(finding, comparison), *guessing(finding)),
        then=(*no_choice(finding), *concluded(finding, comparison)),
    )


__all__ = [
    "DECIDES_NOTHING",
    "PRIOR_DECIDES_NOTHING",
    "Row",
    "Said",
    "rows_for_all",
    "rows_for_statisticians",
    "rows_of_alike",
    "rows_of_repeats",
    "rows_of_steps",
    "say_alike",
    "say_difference",
    "say_finding",
    "say_posterior",
    "say_repeats",
    "say_steps",
    "say_with_told",
]
