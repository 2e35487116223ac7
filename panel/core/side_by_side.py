"""Findings of one variable side by side: apart by what tasters knew, together where designs agree.

Blinded and informed never meet in one number. Within one information findings are taken together
where their aim, their question and the moment of the choice are the same; tests may differ, since
the proportion of discriminators has one scale for all of them. Nothing is left out for what came
out of it, and no verdict is counted.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from string import ascii_lowercase

from panel.core import statistics
from panel.core.archive import folded
from panel.core.comparison import Comparison
from panel.core.findings import CONFIDENCE, Finding
from panel.core.kinds import AnyFinding
from panel.core.methods import method_named
from panel.core.names import Aim, Information
from panel.core.nose_first import decides_by_smell
from panel.core.outcomes import Group
from panel.core.statistics.combined_results import Combined, Panel


class Apart(StrEnum):
    """Why a finding has no place on the axis of the proportion of discriminators."""

    NOBODY = "nobody"  # nobody chose
    TOLD = "told"  # knew, and sat with the blinded: counted only
    REPEAT = "repeat"  # the trays of one taster
    SIDES = "sides"  # asks which of two, and neither is wrong
    OTHER_SCALE = "other-scale"  # another kind of method


@dataclass(frozen=True, kw_only=True)
class Design:
    """What has to agree before findings are taken together. `asked`: the attribute, folded, where
    the ballot names one."""

    aim: Aim
    by_smell: bool
    asked: str


@dataclass(frozen=True, kw_only=True)
class Entry:
    """A finding with its comparison. `mark`: the number of the comparison down the page, from 1,
    with a letter where it has several findings of one information ("2a")."""

    mark: str
    comparison: Comparison
    finding: AnyFinding


@dataclass(frozen=True, kw_only=True)
class OnAxis:
    """The same of a finding that has a place on the axis."""

    mark: str
    comparison: Comparison
    finding: Finding


@dataclass(frozen=True, kw_only=True)
class Together:
    """Findings of one design; `combined` from two on."""

    design: Design
    entries: tuple[OnAxis, ...]
    combined: Combined | None

    @property
    def methods(self) -> tuple[str, ...]:
        """The tests in it, each once."""
        return tuple(dict.fromkeys(entry.finding.method for entry in self.entries))


@dataclass(frozen=True, kw_only=True)
class Side:
    """All findings of one information that have a place on the axis, by design."""

    information: Information
    designs: tuple[Together, ...]


@dataclass(frozen=True, kw_only=True)
class SideBySide:
    """`sides`: blinded first; an information without findings is not there. `others`: findings
    without a place on the axis, each with the reason."""

    sides: tuple[Side, ...]
    others: tuple[tuple[Entry, Apart], ...]


def side_by_side(found: Iterable[tuple[Comparison, tuple[AnyFinding, ...]]]) -> SideBySide:
    """Findings in the order of their comparisons. found: each comparison with its findings."""
    placed: dict[Information, dict[Design, list[OnAxis]]] = {}
    others: list[tuple[Entry, Apart]] = []
    for number, (comparison, findings) in enumerate(found, start=1):
        for mark, finding in _marked(number, findings):
            reason = apart(finding)
            if isinstance(finding, Finding) and reason is None:
                designs = placed.setdefault(finding.information, {})
                entries = designs.setdefault(_design(comparison), [])
                entries.append(OnAxis(mark=mark, comparison=comparison, finding=finding))
            elif reason is not None:
                entry = Entry(mark=mark, comparison=comparison, finding=finding)
                others.append((entry, reason))
    sides = (
        Side(
            information=information,
            designs=tuple(
                _together(design, tuple(of)) for design, of in placed[information].items()
            ),
        )
        for information in (Information.BLINDED, Information.INFORMED)
        if information in placed
    )
    return SideBySide(sides=tuple(sides), others=tuple(others))


def _marked(number: int, findings: tuple[AnyFinding, ...]) -> Iterator[tuple[str, AnyFinding]]:
    """Every finding of a comparison with its mark."""
    alike = Counter(finding.group for finding in findings)
    before: Counter[Group] = Counter()
    for finding in findings:
        letter = ascii_lowercase[before[finding.group] % 26] if alike[finding.group] > 1 else ""
        before[finding.group] += 1
        yield f"{number}{letter}", finding


def apart(finding: AnyFinding) -> Apart | None:
    """Why a finding stands apart from the axis, None where it has its place there."""
    if not isinstance(finding, Finding):
        return Apart.OTHER_SCALE
    if finding.sides == 2:
        return Apart.SIDES
    if finding.group is Group.TOLD:
        return Apart.TOLD
    if finding.group is Group.REPEAT:
        return Apart.REPEAT
    return None if finding.tasters else Apart.NOBODY


def _design(comparison: Comparison) -> Design:
    plan = comparison.plan
    directional = method_named(plan.method).directional
    return Design(
        aim=plan.aim,
        by_smell=decides_by_smell(plan),
        asked=folded(plan.attribute) if directional else "",
    )


def _together(design: Design, entries: tuple[OnAxis, ...]) -> Together:
    panels = [
        Panel(entry.finding.correct, entry.finding.tasters, entry.finding.chance)
        for entry in entries
    ]
    combined = statistics.combine(panels, CONFIDENCE) if len(panels) > 1 else None
    return Together(design=design, entries=entries, combined=combined)
