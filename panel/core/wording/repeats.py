"""Repeat trials of several tasters together, and sittings that make one total, in sentences."""

from panel.core.alike import Alike, Parts
from panel.core.comparison import Comparison
from panel.core.findings import CONFIDENCE, Finding
from panel.core.message import Message, Number, PValue, say, say_n
from panel.core.names import Aim
from panel.core.repeats import Repeats
from panel.core.wording.counts import did
from panel.core.wording.in_words import how_often
from panel.core.wording.rows import Row

RARE = 1 - float(CONFIDENCE)
"""Below this, counts are said to differ more than chance makes them."""


def say_repeats(repeats: Repeats, finding: Finding, comparison: Comparison) -> tuple[Message, ...]:
    """All tasters' trays: the one question that may be asked of their sum, then how they differ.

    finding: of one of these tasters, for what they did.
    """
    often = how_often(repeats.together.p_value)
    return (
        say_n(
            "In their %(trays)s trays together the %(tasters)s tasters %(did)s once.",
            "In their %(trays)s trays together the %(tasters)s tasters %(did)s %(count)s times.",
            repeats.correct,
            trays=repeats.trays,
            tasters=len(repeats.counts),
            did=did(finding, comparison, finding.counted_beer),
        ),
        _nobody(finding, often),
        say(
            "Trays of one taster are not so many tasters: how many people can tell, or that the "
            "two are alike, can never be read off this sum."
        ),
        _spread(repeats),
    )


def _nobody(finding: Finding, often: Message) -> Message:
    """What the sum tests; nobody locked a rule for it, so it has no verdict."""
    if finding.aim is Aim.PREFERENCE:
        return say(
            "If none of them preferred either, a sum as uneven would come in %(often)s such rows "
            "of trays.",
            often=often,
        )
    if finding.sides == 2:
        return say(
            "If none of them could tell, a sum as uneven would come in %(often)s such rows of "
            "trays.",
            often=often,
        )
    return say(
        "If none of them could tell, guessing would do as well in %(often)s such rows of trays.",
        often=often,
    )


def _spread(repeats: Repeats) -> Message:
    often = how_often(repeats.spread.p_value)
    if repeats.spread.p_value < RARE:
        return say(
            "Among themselves they differ more than chance would make tasters who are alike: as "
            "far apart in %(often)s such rows. Read each by their own count.",
            often=often,
        )
    return say(
        "Among themselves they differ no more than chance makes tasters who are alike: as far "
        "apart in %(often)s such rows. So few trays would show only large differences.",
        often=often,
    )


def rows_of_repeats(repeats: Repeats) -> tuple[Row, ...]:
    """The numbers of all tasters together, for statisticians."""
    counts = ", ".join(f"{correct}/{trays}" for correct, trays in repeats.counts)
    tail = say("Tarone's Z for overdispersion, exact p-value given the totals")
    if not repeats.spread.exact:
        tail = say("Tarone's Z for overdispersion, normal p-value")
    z = "–" if repeats.spread.z is None else Number(repeats.spread.z, 2)
    rows = [
        Row(say("Correct by taster"), say("%(counts)s", counts=counts)),
        Row(
            say("All trays together, against chance for every taster: binomial p-value"),
            say("%(p)s", p=PValue(repeats.together.p_value)),
        ),
        Row(tail, say("%(z)s; p %(p)s", z=z, p=PValue(repeats.spread.p_value))),
    ]
    if repeats.fitted is not None:
        fitted = repeats.fitted
        rows.append(
            Row(
                say("Beta-binomial, chance taken out, maximum likelihood: mean, spread (0 to 1)"),
                say(
                    "%(mean)s, %(spread)s",
                    mean=Number(fitted.mean, 3),
                    spread=Number(fitted.spread, 3),
                ),
            )
        )
    return tuple(rows)


# --- sittings of one total ------------------------------------------------------------------------


def say_alike(alike: Alike, comparison: Comparison) -> tuple[Message, ...]:
    """How the sittings of one total differ; nothing is said here of serving orders."""
    if alike.by is not Parts.SITTINGS:
        return ()
    listed = _listed(alike, comparison)
    often = how_often(alike.even.p_value)
    by_sitting = say("By sitting: %(listed)s.", listed=listed)
    if alike.even.p_value < RARE:
        return (
            by_sitting,
            say(
                "Sittings that are alike differ so much in %(often)s such rows: the total is a "
                "mean of sittings that were not alike. Find out what was different.",
                often=often,
            ),
        )
    return (
        by_sitting,
        say(
            "Sittings that are alike differ so much in %(often)s such rows, so nothing speaks "
            "against one total.",
            often=often,
        ),
    )


def _listed(alike: Alike, comparison: Comparison) -> str:
    """Every part with its count: sittings by their names, orders by their letters."""
    names = {sitting.id: sitting.name for sitting in comparison.sittings}
    return "; ".join(
        f"{names.get(part, part)}: {correct}/{of}"
        for part, (correct, of) in zip(alike.parts, alike.counts, strict=True)
    )


def rows_of_alike(alike: Alike, comparison: Comparison) -> tuple[Row, ...]:
    """The counts of the parts with their p-value, for statisticians."""
    counts = _listed(alike, comparison)
    if alike.by is Parts.SITTINGS:
        label = say("Correct by sitting")
    else:
        label = say("Correct by serving order")
    value = say("%(counts)s (exact p %(p)s)", counts=counts, p=PValue(alike.even.p_value))
    if not alike.even.exact:
        value = say("%(counts)s (chi-square p %(p)s)", counts=counts, p=PValue(alike.even.p_value))
    return (Row(label, value),)
