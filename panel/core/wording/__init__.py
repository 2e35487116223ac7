"""Findings as plain sentences: what was counted, what guessing gives, what may be concluded.

The rules of the wording: a p-value is not the chance that nothing was changed (ASA statement 2016,
The American Statistician 70:129–133); what is not shown is not thereby absent (Altman & Bland 1995,
BMJ 311:485), so the sizes that still fit are said; similarity is claimed only where a limit for it
was locked. Statisticians' words stand apart (`wording.rows`).
"""

from panel.core.wording.kinds import (
    Said,
    rows_for_all,
    rows_for_statisticians,
    say_difference,
    say_finding,
    say_posterior,
    say_with_told,
)
from panel.core.wording.prior import PRIOR_DECIDES_NOTHING
from panel.core.wording.repeats import (
    rows_of_alike,
    rows_of_repeats,
    say_alike,
    say_repeats,
)
from panel.core.wording.rows import Row
from panel.core.wording.two_steps import DECIDES_NOTHING, rows_of_steps, say_steps

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
