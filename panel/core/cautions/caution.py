"""A caution: one thing a reader of the result must know before believing it."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from panel.core.amendment import Amendment
from panel.core.blinding_kept import Kept
from panel.core.comparison import Comparison
from panel.core.kinds import AnyFinding
from panel.core.message import Message
from panel.core.outcomes import Group, Judged, Outcomes
from panel.core.sight_of_key import Sighted


class Severity(StrEnum):
    """How much a caution may weigh; cautions are shown in this order."""

    GRAVE = "grave"  # it may overturn what the numbers seem to say
    MIND = "mind"  # it limits what they say, or for whom
    NOTE = "note"  # it happened, and people should know


@dataclass(frozen=True)
class Caution:
    """`id` is a word for tables and tests; `title` says it, `text` what follows from it."""

    id: str
    severity: Severity
    title: Message
    text: Message


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """Everything a caution may look at, after closing.

    `revealed` are numbers of trays whose own answer was opened to their taster before closing,
    `sighted` the people who by the record saw the key before, `blinding` what each sitting had.
    """

    comparison: Comparison
    outcomes: Outcomes
    findings: tuple[AnyFinding, ...]
    amendments: tuple[Amendment, ...] = ()
    revealed: frozenset[int] = frozenset()
    sighted: tuple[Sighted, ...] = ()
    blinding: tuple[Kept, ...] = ()

    def among(self, *groups: Group) -> tuple[Judged, ...]:
        """The counted ballots of these groups."""
        return tuple(judged for judged in self.outcomes.judged if judged.group in groups)

    def found(self, group: Group) -> tuple[AnyFinding, ...]:
        """The findings of a group."""
        return tuple(finding for finding in self.findings if finding.group is group)


Rule = Callable[[Evidence], Caution | None]
"""A caution that may apply: None where it does not."""

TASTERS = (Group.BLINDED, Group.INFORMED, Group.TOLD)
"""The groups whose ballots are tasters, not trays of one taster."""
