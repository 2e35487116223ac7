"""What was counted, and what guessing alone would give."""

from fractions import Fraction

from panel.core.comparison import Comparison
from panel.core.findings import Finding, winner
from panel.core.message import Message, again, say, say_n
from panel.core.methods import method_named
from panel.core.names import Aim
from panel.core.outcomes import Group

# Written out whole for each group, so that every language can build its own sentence.
_COUNTED = {
    Group.BLINDED: say_n(
        "%(correct)s of %(count)s blinded taster %(did)s.",
        "%(correct)s of %(count)s blinded tasters %(did)s.",
        1,
    ),
    Group.INFORMED: say_n(
        "%(correct)s of %(count)s taster who knew what was changed %(did)s.",
        "%(correct)s of %(count)s tasters who knew what was changed %(did)s.",
        1,
    ),
    Group.TOLD: say_n(
        "%(correct)s of %(count)s taster who had been told at the table %(did)s.",
        "%(correct)s of %(count)s tasters who had been told at the table %(did)s.",
        1,
    ),
    Group.REPEAT: say_n(
        "In %(correct)s of %(count)s tray the one taster %(did)s.",
        "In %(correct)s of %(count)s trays the one taster %(did)s.",
        1,
    ),
}

NOBODY = {
    Group.BLINDED: say("No choice of a blinded taster was counted."),
    Group.INFORMED: say("No choice of a taster who knew what was changed was counted."),
    Group.TOLD: say("No choice of a taster who had been told at the table was counted."),
    Group.REPEAT: say("No choice of the repeat trials was counted."),
}


def counted(finding: Finding, comparison: Comparison) -> tuple[Message, ...]:
    """So many of so many did it; with two sides, the beer that is ahead and then the other."""
    if not finding.tasters:
        return (NOBODY[finding.group],)
    if finding.sides == 1:
        return (_of(finding, finding.correct, did(finding, comparison)),)
    best, other, count = ahead(finding, comparison)
    sentences = [_of(finding, count, did(finding, comparison, best))]
    if count < finding.tasters:
        verb = did(finding, comparison, other)
        sentences.append(_others(finding.group, finding.tasters - count, verb))
    return tuple(sentences)


def _of(finding: Finding, correct: int, verb: Message) -> Message:
    return again(_COUNTED[finding.group], finding.tasters, correct=correct, did=verb)


def _others(group: Group, count: int, verb: Message) -> Message:
    if group is Group.REPEAT:
        return say_n(
            "In the other one the taster %(did)s.",
            "In the other %(count)s the taster %(did)s.",
            count,
            did=verb,
        )
    return say_n("The other one %(did)s.", "The other %(count)s %(did)s.", count, did=verb)


def did(finding: Finding, comparison: Comparison, letter: str = "") -> Message:
    """What the counted tasters did, as a verb: "found the odd cup", "preferred the pale one".

    letter: with two sides, the beer that was chosen.
    """
    if finding.sides == 1:
        return method_named(finding.method).right
    name = beer_name(comparison, letter)
    if finding.aim is Aim.PREFERENCE:
        return say("preferred %(beer)s", beer=name)
    attribute = comparison.plan.attribute
    return say("found %(beer)s more %(attribute)s", beer=name, attribute=attribute)


def beer_name(comparison: Comparison, letter: str) -> str:
    """The name of a beer, its letter where it has none."""
    return {beer.letter: beer.name for beer in comparison.beers}.get(letter) or letter


def ahead(finding: Finding, comparison: Comparison) -> tuple[str, str, int]:
    """With two sides: the beer chosen more often, the other, and how often the first was.

    At a tie the beer that is counted comes first.
    """
    first, second = (beer.letter for beer in comparison.beers[:2])
    best = winner(finding, (first, second)) or finding.counted_beer
    other = second if best == first else first
    own = best == finding.counted_beer
    return best, other, finding.correct if own else finding.tasters - finding.correct


def guessing(finding: Finding) -> tuple[Message, ...]:
    """What guessing (with two sides: a coin) gives in as many tries; nothing for no tasters."""
    if not finding.tasters:
        return ()
    if finding.sides == 2:
        return (say("Tossing a coin would give %(about)s each.", about=guessing_gives(finding)),)
    return (say("Guessing alone would give %(about)s.", about=guessing_gives(finding)),)


def guessing_gives(finding: Finding) -> Message:
    """The count expected by guessing alone, as a whole number or between two."""
    return guessing_gives_of(finding.tasters, finding.chance)


def guessing_gives_of(tasters: int, chance: Fraction) -> Message:
    """The same of any number of tries."""
    expected = tasters * chance
    low = int(expected)
    if 2 * (expected - low) == 1:
        return say("%(low)s or %(high)s", low=low, high=low + 1)
    if expected < 0.5:
        return say("none or one")
    return say("about %(count)s", count=round(expected))


def no_choice(finding: Finding) -> tuple[Message, ...]:
    """How many declared no preference, if any did."""
    if not finding.no_choice:
        return ()
    return (
        say_n(
            "One more declared no preference and is not in the test.",
            "%(count)s more declared no preference and are not in the test.",
            finding.no_choice,
        ),
    )
