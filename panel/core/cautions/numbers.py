"""Cautions about how many were counted, and what is missing from the count."""

from collections.abc import Iterator
from dataclasses import dataclass

from panel.core.cautions.caution import Caution, Evidence, Severity
from panel.core.findings import Verdict
from panel.core.kinds import AnyFinding
from panel.core.message import Message, Number, say, say_n
from panel.core.names import Aim
from panel.core.outcomes import Group
from panel.core.plan import Plan
from panel.core.rankings import RankingFinding
from panel.core.turnout import counts_blinded, deciding_trays, only_repeats
from panel.core.wording.in_words import how_often

ENOUGH = 0.8
"""Below this power a panel is called small; the usual convention in planning, no source needed."""


def fewer_than_planned(evidence: Evidence) -> Caution | None:
    """Fewer ballots counted than the plan asks for, of blinded tasters (of informed ones, where
    none are blinded): all together where sittings join, else in each sitting."""
    short = () if only_repeats(evidence.comparison) else tuple(_short(evidence))
    if not short:
        return None
    return Caution(
        "fewer-than-planned",
        Severity.MIND,
        max(short, key=lambda one: one.missing).sentence(),
        say("With fewer ballots the same difference is easier to miss, and the ranges are wider."),
    )


@dataclass(frozen=True)
class _Short:
    """A count that fell short; `sitting` is "" where sittings make one total."""

    counted: int
    planned: int
    sitting: str

    @property
    def missing(self) -> int:
        return self.planned - self.counted

    def sentence(self) -> Message:
        if not self.sitting:
            return say_n(
                "One ballot was counted where %(planned)s were planned.",
                "%(count)s ballots were counted where %(planned)s were planned.",
                self.counted,
                planned=self.planned,
            )
        return say_n(
            "In the sitting “%(sitting)s” one ballot was counted where %(planned)s were planned.",
            "In the sitting “%(sitting)s” %(count)s ballots were counted where %(planned)s were "
            "planned.",
            self.counted,
            sitting=self.sitting,
            planned=self.planned,
        )


def _short(evidence: Evidence) -> Iterator[_Short]:
    """What fell short of the plan, or of the sitting's own trays where these are more."""
    tasters = evidence.comparison.plan.tasters
    sittings = {sitting.id: sitting for sitting in evidence.comparison.sittings}
    strata = evidence.outcomes.of(_planned_group(evidence))
    for stratum in strata:
        found = _Short(len(stratum.ballots), tasters, "")
        if len(strata) > 1:
            (sitting,) = (sittings[one] for one in stratum.sittings)
            found = _Short(found.counted, max(tasters, deciding_trays(sitting)), sitting.name)
        if found.missing > 0:
            yield found


def _planned_group(evidence: Evidence) -> Group:
    """The plan counts blinded tasters; where nobody was to be blinded, the informed."""
    return Group.BLINDED if counts_blinded(evidence.comparison) else Group.INFORMED


def several_tests(evidence: Evidence) -> Caution | None:
    """More than one group of the planned information with a verdict of its own: at least one of k
    verdicts at a risk errs with probability up to 1 − (1 − risk)^k."""
    comparison = evidence.comparison
    group = Group.REPEAT if only_repeats(comparison) else _planned_group(evidence)
    tests = sum(finding.verdict in _OWN_VERDICT for finding in evidence.found(group))
    if tests < 2:
        return None
    return Caution(
        "several-tests",
        Severity.MIND,
        say_n(
            "%(count)s group has a verdict of its own.",
            "%(count)s groups have a verdict each.",
            tests,
        ),
        _by_chance(comparison.plan, tests),
    )


_OWN_VERDICT = frozenset(Verdict) - {Verdict.TOO_FEW, Verdict.COUNT_ONLY}


def _by_chance(plan: Plan, tests: int) -> Message:
    """A test of similarity errs by saying "similar", at the beta risk."""
    risk = plan.beta if plan.aim is Aim.SIMILARITY else plan.alpha
    often = how_often(float(1 - (1 - risk) ** tests))
    match plan.aim:
        case Aim.DIFFERENCE:
            return say(
                "The locked risk is that of one verdict. If nobody could tell the two apart, at "
                "least one of these would still count as a difference in up to %(often)s "
                "comparisons.",
                often=often,
            )
        case Aim.PREFERENCE:
            return say(
                "The locked risk is that of one verdict. If everybody tossed a coin, at least one "
                "of these would still count as a preference in up to %(often)s comparisons.",
                often=often,
            )
        case Aim.SIMILARITY:
            return say(
                "The locked risk is that of one verdict. If the difference were as large as the "
                "locked limit, at least one of these would still count as similar in up to "
                "%(often)s comparisons.",
                often=often,
            )


def without_ballot(evidence: Evidence) -> Caution | None:
    """Trays that went out and of which no ballot came back."""
    missing = evidence.outcomes.flow.not_returned
    if not missing:
        return None
    return Caution(
        "without-ballot",
        Severity.MIND,
        say_n(
            "One tray went out and no ballot came back.",
            "%(count)s trays went out and no ballot came back.",
            missing,
        ),
        say(
            "If people who could tell nothing were more likely to keep their card, the share that "
            "was right looks larger than it is."
        ),
    )


def set_aside(evidence: Evidence) -> Caution | None:
    """Trays set aside after they had been handed out."""
    aside = evidence.outcomes.flow.set_aside_returned
    if not aside:
        return None
    return Caution(
        "set-aside",
        Severity.NOTE,
        say_n(
            "One tray was set aside after it had been handed out.",
            "%(count)s trays were set aside after they had been handed out.",
            aside,
        ),
        _who_set_aside(sum(person.set_aside for person in evidence.sighted)),
    )


def _who_set_aside(seeing: int) -> Message:
    """When it was decided, and how often by somebody who was not blind: one tray may be set aside
    more than once."""
    if not seeing:
        return say("The reasons stand with the trays below. All was decided before closing.")
    return say_n(
        "The reasons stand with the trays below. All was decided before closing, but once by "
        "somebody who had seen the key.",
        "The reasons stand with the trays below. All was decided before closing, but %(count)s "
        "times by somebody who had seen the key.",
        seeing,
    )


def late_ballots(evidence: Evidence) -> Caution | None:
    """Ballots that came after closing."""
    late = len(evidence.outcomes.late)
    if not late:
        return None
    return Caution(
        "late",
        Severity.NOTE,
        say_n(
            "One ballot came after its sitting had closed and is not counted.",
            "%(count)s ballots came after their sitting had closed and are not counted.",
            late,
        ),
        say(
            "They are listed. Once a sitting is closed people talk, and when all are closed the "
            "key is open: whoever votes then may know the answer."
        ),
    )


def in_question(evidence: Evidence) -> Caution | None:
    """Ballots nobody could settle."""
    open_ = evidence.outcomes.flow.in_question
    if not open_:
        return None
    return Caution(
        "in-question",
        Severity.GRAVE,
        say_n(
            "One ballot is still in question and is not counted.",
            "%(count)s ballots are still in question and are not counted.",
            open_,
        ),
        say("Paper and phone say different things, or a mark could not be read for sure."),
    )


def small_panel(evidence: Evidence) -> Caution | None:
    """A main group too small for the difference that was to be found."""
    small = [finding for finding in _main(evidence) if _power(finding) < ENOUGH]
    if not small:
        return None
    least = min(small, key=_power)
    return Caution("small-panel", Severity.MIND, say("This is a small panel."), _how_small(least))


def _main(evidence: Evidence) -> tuple[AnyFinding, ...]:
    return evidence.found(_planned_group(evidence))


def _power(finding: AnyFinding) -> float:
    return finding.power or 0.0


def _how_small(finding: AnyFinding) -> Message:
    if finding.verdict is Verdict.TOO_FEW:
        return say("No count of so few can decide by the locked rule, so there is no verdict.")
    times = round(100 * _power(finding))
    if finding.aim is Aim.SIMILARITY:
        return say(
            "Even if nobody could tell the two apart, so many tasters would show it only "
            "%(times)s times in 100.",
            times=times,
        )
    limit = Number(100 * float(finding.limit), 0)
    if isinstance(finding, RankingFinding):
        return say(
            "If %(limit)s in 100 truly told and the others put their cups in any order, so many "
            "tasters would show it only %(times)s times in 100. Smaller differences are missed "
            "more often.",
            limit=limit,
            times=times,
        )
    if finding.sides == 2:
        return say(
            "If %(limit)s in 100 truly chose the same one and the others tossed a coin, so many "
            "tasters would show it only %(times)s times in 100. Smaller differences are missed "
            "more often.",
            limit=limit,
            times=times,
        )
    return say(
        "If %(limit)s in 100 could truly tell the two apart, so many tasters would show it only "
        "%(times)s times in 100. Smaller differences are missed more often.",
        limit=limit,
        times=times,
    )


def fewer_than_guessing(evidence: Evidence) -> Caution | None:
    """A group far below chance: something was mixed up, or the attribute went the other way."""
    below = [
        finding
        for finding in evidence.findings
        if finding.below_guessing and finding.verdict is not Verdict.COUNT_ONLY
    ]
    if not below:
        return None
    return Caution(
        "fewer-than-guessing",
        Severity.GRAVE,
        say("Fewer were right than guessing usually gives."),
        say(
            "It may be chance. Or cups, cards or beers were mixed up, or the question was "
            "understood the other way round. Look into it before believing anything here."
        ),
    )
