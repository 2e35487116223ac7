"""The sections of the full report: each a heading and its blocks.

Modelled on what the test reports of ISO 4120, ISO 5495 and ISO 10399 are asked to hold (aim,
samples, test and its risks, number of assessors and their experience, conditions, instructions,
results, reference to the standard and deviations, date, place, person in charge; seen at second
hand, the clauses are not in the standards' previews) and on CONSORT 2025, items 10, 17 to 22: who
drew, who could know, what became of everybody. What was not recorded is said to be so.
"""

from collections.abc import Callable

from panel.core.message import Message, say
from panel.printing.blocks import Block
from panel.publishing.report.told import Told
from panel.publishing.report.what_came_out import guessing, numbers, outcome
from panel.publishing.report.what_to_hold import (
    cautions,
    deviations,
    flow,
    report,
    rule_locked,
    seal,
    who_knew,
)
from panel.publishing.report.what_was_done import method, purpose, samples, surroundings, tasters

Section = Callable[[Told], list[Block]]


SECTIONS: tuple[tuple[Message, Section], ...] = (
    (say("Purpose"), purpose),
    (say("What was compared"), samples),
    (say("Method"), method),
    (say("Tasters"), tasters),
    (say("Conditions"), surroundings),
    (say("Result"), outcome),
    (say("What guessing alone would give"), guessing),
    (say("What was locked beforehand"), rule_locked),
    (say("Changed after sealing"), deviations),
    (say("Who knew what"), who_knew),
    (say("Before you believe it"), cautions),
    (say("What became of the trays"), flow),
    (say("For statisticians"), numbers),
    (say("The seal"), seal),
    (say("This report"), report),
)
"""In the order of the report."""
