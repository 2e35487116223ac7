"""Rankings in plain sentences.

As for counts: what is not shown is not thereby absent, so the sentence says what such a panel could
have missed; pairs are named only where the risk is held for all pairs at once, and only behind a
test that shows a difference at all.
"""

from collections.abc import Mapping, Sequence

from panel.core.comparison import Comparison
from panel.core.findings import Verdict
from panel.core.message import Message, Number, again, say, say_n
from panel.core.names import Aim
from panel.core.outcomes import Group
from panel.core.rankings import RankingFinding
from panel.core.statistics.rank_results import RankPair
from panel.core.wording.in_words import how_often, in_100

Names = Mapping[str, str]
"""A drink's letter to its name."""

# Written out whole for each group, so that every language can build its own sentence.
_COUNTED = {
    Group.BLINDED: say_n(
        "%(count)s blinded taster put the cups in order.",
        "%(count)s blinded tasters put the cups in order.",
        1,
    ),
    Group.INFORMED: say_n(
        "%(count)s taster who knew what was changed put the cups in order.",
        "%(count)s tasters who knew what was changed put the cups in order.",
        1,
    ),
    Group.TOLD: say_n(
        "%(count)s taster who had been told at the table put the cups in order.",
        "%(count)s tasters who had been told at the table put the cups in order.",
        1,
    ),
    Group.REPEAT: say_n(
        "The one taster put the cups of %(count)s tray in order.",
        "The one taster put the cups of %(count)s trays in order.",
        1,
    ),
}

_NOBODY = say("Nobody's order was counted.")


def names_of(comparison: Comparison) -> dict[str, str]:
    """Each drink's letter to its name."""
    return {beer.letter: beer.name for beer in comparison.beers}


def counted_places(found: RankingFinding, names: Names) -> tuple[Message, ...]:
    """How many ranked, the mean places from the first, and what chance gives."""
    if not found.trays:
        return (_NOBODY,)
    return (
        again(_COUNTED[found.group], len(found.trays)),
        say("Mean places, the first being 1: %(places)s.", places=_places(found, names)),
    )


def chance_gives(found: RankingFinding) -> tuple[Message, ...]:
    """What lots alone would give; () where nobody ranked."""
    if not found.trays:
        return ()
    return (
        say(
            "If only chance had put them in order, each would come out near %(middle)s.",
            middle=Number((found.cups + 1) / 2, 1),
        ),
    )


def _places(found: RankingFinding, names: Names) -> Message:
    return listed(
        [
            say("%(beer)s %(place)s", beer=names.get(letter) or letter, place=Number(mean, 1))
            for letter, mean in found.mean_places
        ]
    )


def concluded_of_places(found: RankingFinding, names: Names) -> tuple[Message, ...]:
    """What may be said by the rule that was locked."""
    match found.verdict:
        case Verdict.COUNT_ONLY:
            return (COUNT_ONLY,)
        case Verdict.SHOWN:
            assert found.p_value is not None  # a verdict is given to counted tasters only
            return (
                _shown(found, how_often(found.p_value)),
                *_pairs(found, names),
                *_beside(found),
            )
        case Verdict.NOT_SHOWN:
            return (_not_shown(found), *_missed(found), *_beside(found))
        case _:
            return (_too_few(found),)


def places_with_told(found: RankingFinding, names: Names) -> tuple[Message, ...]:
    """The mean places as they would be with those told at the table; () without any."""
    beside = found.with_told
    if beside is None or beside.test is None:
        return ()
    return (
        say_n(
            "With the one who had been told at the table the mean places would be: %(places)s.",
            "With the %(count)s who had been told at the table the mean places would be: "
            "%(places)s.",
            beside.tasters - found.tasters,
            places=_places(beside, names),
        ),
    )


COUNT_ONLY = say(
    "Nobody planned this group: people are in it for what they knew. So it is shown, and no "
    "test is made of it."
)


def _beside(found: RankingFinding) -> tuple[Message, ...]:
    """Of those who knew: that what knowing does is not tested."""
    if found.group is not Group.INFORMED:
        return ()
    return (
        say(
            "Places of tasters who knew stand beside those of the blinded; whether knowing changes "
            "them is not tested."
        ),
    )


def _too_few(found: RankingFinding) -> Message:
    if found.fewest is None:
        return say("So few cannot decide this question, so these are places and no verdict.")
    return say(
        "Even if all had given one and the same order, so few would not be strong evidence: at "
        "least %(fewest)s would be needed. So these are places and no verdict.",
        fewest=found.fewest,
    )


def _shown(found: RankingFinding, often: Message) -> Message:
    if found.expected_order:
        return say(
            "By the rule locked beforehand that counts as following the order that was named: "
            "orders drawn by lot follow it as closely in %(often)s panels of this size.",
            often=often,
        )
    if found.aim is Aim.PREFERENCE:
        return say(
            "By the rule locked beforehand that counts as liking some more than others: orders "
            "drawn by lot lie as far apart in %(often)s panels of this size.",
            often=often,
        )
    return say(
        "By the rule locked beforehand that counts as a difference that people can notice: orders "
        "drawn by lot lie as far apart in %(often)s panels of this size.",
        often=often,
    )


def _not_shown(found: RankingFinding) -> Message:
    if found.expected_order:
        return say("That is not strong evidence of a difference in the order that was named.")
    if found.aim is Aim.PREFERENCE:
        return say("That is not strong evidence of a difference in how they are liked.")
    return say("That is not strong evidence of a difference.")


def _missed(found: RankingFinding) -> tuple[Message, ...]:
    """The smallest effect that such a panel finds four times in five."""
    if found.detectable is None:
        return (
            say(
                "A panel of this size finds even a plain difference less often than four times in "
                "five, so much can have been missed."
            ),
        )
    return (
        say(
            "A panel of this size finds one four times in five if %(share)s in 100 tasters truly "
            "tell and the others guess; less than that it can easily have missed.",
            share=max(1, in_100(found.detectable)),
        ),
    )


def _pairs(found: RankingFinding, names: Names) -> tuple[Message, ...]:
    if len(found.drinks) < 3:
        return ()
    if not found.apart:
        return (
            say(
                "Which of them differ cannot be said: with all pairs held side by side, no two "
                "lie far enough apart."
            ),
        )
    ahead: dict[str, list[str]] = {}
    for first, second in map(in_turn, found.apart):
        ahead.setdefault(first, []).append(second)
    order = [letter for letter, _ in found.mean_places]
    return (
        say("With all pairs held side by side, these lie far enough apart:"),
        *(
            say(
                "%(beer)s before %(others)s.",
                beer=quoted(first, names),
                others=together([quoted(one, names) for one in order if one in ahead[first]]),
            )
            for first in order
            if first in ahead
        ),
        *_rest(found),
    )


def _rest(found: RankingFinding) -> tuple[Message, ...]:
    drinks = len(found.drinks)
    if len(found.apart) == drinks * (drinks - 1) // 2:
        return ()
    return (say("Of the other pairs nothing can be said, neither that they differ nor not."),)


def in_turn(pair: RankPair) -> tuple[str, str]:
    """The two letters of a pair, the one that was placed before the other first."""
    return (pair.first, pair.second) if pair.z > 0 else (pair.second, pair.first)


def listed(parts: Sequence[Message]) -> Message:
    """Parts one after another with a semicolon between them: names may have commas of their own."""
    said = parts[0]
    for part in parts[1:]:
        said = say("%(before)s; %(next)s", before=said, next=part)
    return said


def quoted(letter: str, names: Names) -> Message:
    """A drink's name as it stands in a sentence beside others."""
    return say("“%(name)s”", name=names.get(letter) or letter)


def together(parts: Sequence[Message]) -> Message:
    """Parts as one phrase: the last behind an "and"."""
    said = parts[0]
    for part in parts[1:-1]:
        said = say("%(before)s, %(next)s", before=said, next=part)
    if len(parts) == 1:
        return said
    return say("%(before)s and %(last)s", before=said, last=parts[-1])
