"""A finding as rows of numbers: a few for everybody, and all of them for statisticians."""

from dataclasses import dataclass

from panel.core.comparison import Comparison
from panel.core.findings import Finding, Verdict
from panel.core.message import Message, Number, PValue, Share, say
from panel.core.methods import method_named
from panel.core.names import Aim
from panel.core.outcomes import Group
from panel.core.statistics.inputs import Exact
from panel.core.statistics.results import DPrimeInterval, Interval
from panel.core.wording.counts import ahead, did, guessing_gives
from panel.core.wording.in_words import in_100


@dataclass(frozen=True)
class Row:
    """A label and its value."""

    label: Message
    value: Message


def count_rows(finding: Finding, comparison: Comparison) -> tuple[Row, ...]:
    """Counts, what guessing gives, what would have decided, the share, what could be seen."""
    if finding.tally is None:
        return ()
    count, share = finding.correct, finding.tally.interval
    letter, low, high = "", share.low, share.high
    if finding.sides == 2:
        letter, _, count = ahead(finding, comparison)
        if letter != finding.counted_beer:
            low, high = 1 - high, 1 - low
    return (
        Row(did(finding, comparison, letter), _of(count, finding.tasters)),
        Row(say("By guessing alone"), guessing_gives(finding)),
        *_decides(finding),
        Row(
            say("Share, with its 95%% range"),
            say(
                "%(share)s (%(low)s to %(high)s)",
                share=Share(count / finding.tasters),
                low=Share(low),
                high=Share(high),
            ),
        ),
        *_could_see(finding),
    )


def _of(count: int, tasters: int) -> Message:
    return say("%(count)s of %(tasters)s", count=count, tasters=tasters)


def _decides(finding: Finding) -> tuple[Row, ...]:
    if finding.verdict is Verdict.COUNT_ONLY:
        return ()
    label = say("Needed by the locked rule")
    if finding.aim is Aim.SIMILARITY:
        label = say("At most, by the locked rule")
    if finding.decisive is None:
        return (Row(label, say("no count would do")),)
    return (Row(label, say("%(count)s", count=finding.decisive)),)


def _could_see(finding: Finding) -> tuple[Row, ...]:
    """The smallest difference that so many find four times in five (in a preference: the split)."""
    if finding.detectable is None or finding.verdict is Verdict.COUNT_ONLY:
        return ()
    label = say("This panel would have seen, 4 times in 5")
    if finding.group is Group.REPEAT:
        label = say("These trays would have shown, 4 times in 5")
    if finding.sides == 2:
        high = in_100((1 + finding.detectable) / 2)
        return (Row(label, say("a split of %(high)s to %(low)s", high=high, low=100 - high)),)
    share = in_100(finding.detectable)
    return (Row(label, say("%(count)s in 100 telling them apart", count=share)),)


# --- for statisticians ----------------------------------------------------------------------------


def count_rows_for_statisticians(finding: Finding, comparison: Comparison) -> tuple[Row, ...]:
    """Everything that was computed of one stratum, in the trade's terms."""
    method = method_named(finding.method)
    start = (
        Row(say("Stratum"), say("%(id)s", id=finding.id)),
        Row(say("Method"), method.name),
        Row(_correct_label(finding, comparison), _of(finding.correct, finding.tasters)),
        Row(say("Chance"), say("%(chance)s", chance=str(finding.chance))),
    )
    if finding.tally is None or finding.test is None:
        return start
    return (
        *start,
        *_tests(finding),
        Row(
            say("Proportion, exact interval (Clopper–Pearson, two-sided)"),
            interval_of(finding.tally.proportion_correct, finding.tally.interval),
        ),
        *_thurstonian(finding),
        *_power(finding),
    )


def _correct_label(finding: Finding, comparison: Comparison) -> Message:
    if finding.sides == 1:
        return say("Correct")
    return did(finding, comparison, finding.counted_beer)


def _tests(finding: Finding) -> tuple[Row, ...]:
    assert finding.test is not None  # the caller has looked
    label = say("Exact binomial p-value against chance, one-sided")
    if finding.sides == 2:
        label = say("Exact binomial p-value against chance, two-sided")
    rows = [Row(label, say("%(p)s", p=PValue(finding.test.p_value)))]
    if finding.test.critical_number is not None:
        rows.append(
            Row(
                say("Critical number at alpha %(alpha)s", alpha=rate(finding.test.alpha)),
                say("%(count)s", count=finding.test.critical_number),
            )
        )
    if finding.similarity is not None:
        rows.append(
            Row(
                say(
                    "Probability of so few at the similarity limit, against beta %(beta)s",
                    beta=rate(finding.similarity.limit.beta),
                ),
                say("%(p)s", p=PValue(finding.similarity.p_value)),
            )
        )
    return tuple(rows)


def rate(value: Exact) -> str:
    """A risk as it was locked: 0.05, not 1/20."""
    return f"{float(value):.4g}"


def _thurstonian(finding: Finding) -> tuple[Row, ...]:
    """Discriminators and d-prime, which mean nothing in a preference."""
    if finding.tally is None or finding.aim is Aim.PREFERENCE:
        return ()
    tally = finding.tally
    return (
        Row(
            say("Proportion of discriminators (not cut off at 0)"),
            interval_of(tally.discriminators, tally.discriminators_interval),
        ),
        Row(
            say("d-prime (interval transformed)"), d_prime_of(tally.d_prime, tally.d_prime_interval)
        ),
    )


def interval_of(value: float, interval: Interval) -> Message:
    """A number with its interval."""
    return say(
        "%(value)s (%(low)s to %(high)s)",
        value=Number(value, 3),
        low=Number(interval.low, 3),
        high=Number(interval.high, 3),
    )


def d_prime_of(value: float | None, interval: DPrimeInterval) -> Message:
    """d-prime with its interval. None is beyond all bounds; below them only where it has a sign."""
    lowest = "−∞" if interval.low is None else Number(interval.low, 2)
    nobody = value is None and interval.low is None
    return say(
        "%(value)s (%(low)s to %(high)s)",
        value=Number(value, 2) if value is not None else "−∞" if nobody else "∞",
        low=lowest,
        high="∞" if interval.high is None else Number(interval.high, 2),
    )


def _power(finding: Finding) -> tuple[Row, ...]:
    rows = []
    if finding.power is not None:
        label = say(
            "Power at the locked difference (discriminators %(pd)s)", pd=rate(finding.limit)
        )
        if finding.aim is Aim.SIMILARITY:
            label = say("Chance of showing similarity where nobody can tell")
        rows.append(Row(label, say("%(power)s", power=Number(finding.power, 3))))
    if finding.detectable is not None:
        rows.append(
            Row(
                say("Smallest proportion of discriminators with power 0.8"),
                say("%(pd)s", pd=Number(finding.detectable, 3)),
            )
        )
    return tuple(rows)
