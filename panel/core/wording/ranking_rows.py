"""Rankings as rows of numbers: a few for everybody, and all of them for statisticians."""

from panel.core.message import Message, Number, PValue, say
from panel.core.rankings import RankingFinding
from panel.core.wording.in_words import in_100
from panel.core.wording.rankings import Names, listed
from panel.core.wording.rows import Row


def places_rows(found: RankingFinding, names: Names) -> tuple[Row, ...]:
    """A row for each drink, the first first, and by how much two must differ."""
    rows = [
        Row(
            say("%(beer)s", beer=names.get(letter) or letter),
            say("%(place)s", place=Number(mean, 2)),
        )
        for letter, mean in found.mean_places
    ]
    distance = found.distance
    if distance is not None:
        rows.append(
            Row(
                say("Two lie apart, where bars do not overlap, from"),
                say("%(places)s places", places=Number(distance, 2)),
            )
        )
    if found.detectable is not None:
        rows.append(
            Row(
                say("This panel would have seen, 4 times in 5"),
                say("%(share)s in 100 who truly tell", share=max(1, in_100(found.detectable))),
            )
        )
    return tuple(rows)


def places_rows_for_statisticians(found: RankingFinding, names: Names) -> tuple[Row, ...]:
    """Everything about the ranks, in the words of the books."""
    if found.test is None or found.pairs is None:
        return ()
    if not found.planned:
        return (_sums(found),)
    return (*_of_trend(found), *_of_test(found), *_of_distances(found), *_of_pairs(found, names))


def _of_test(found: RankingFinding) -> tuple[Row, ...]:
    test = found.test
    assert test is not None  # the caller has looked
    name = say("Friedman's test") if test.complete else say("Durbin's test, trays as tasted")
    rows = [
        Row(name, _p_of(test.statistic, test.freedom, test.p_value)),
        Row(say("How its p-value was found"), _how(test.exact)),
        _sums(found),
    ]
    if test.agreement is not None:
        rows.append(
            Row(
                say("Agreement of tasters (Kendall's W)"),
                say("%(value)s", value=Number(test.agreement, 3)),
            )
        )
    return tuple(rows)


def _sums(found: RankingFinding) -> Row:
    assert found.test is not None  # the caller has looked
    return Row(
        say("Rank sums"),
        listed(
            [
                say("%(letter)s %(sum)s", letter=letter, sum=Number(total, 0))
                for letter, total in zip(found.test.drinks, found.test.sums, strict=True)
            ]
        ),
    )


def _p_of(statistic: float, freedom: int, p: float) -> Message:
    return say(
        "%(statistic)s, %(freedom)s degrees of freedom, p = %(p)s",
        statistic=Number(statistic, 3),
        freedom=freedom,
        p=PValue(p),
    )


def _how(exact: bool) -> Message:
    if exact:
        return say("exact: every arrangement of the ranks was counted")
    return say("approximate: too many arrangements to count")


def _of_trend(found: RankingFinding) -> tuple[Row, ...]:
    if found.trend is None:
        return ()
    return (
        Row(
            say("Page's test of the named order %(order)s", order=found.expected_order),
            say(
                "L = %(statistic)s, by chance %(expected)s, p = %(p)s (one-sided)",
                statistic=Number(found.trend.statistic, 1),
                expected=Number(found.trend.expected, 1),
                p=PValue(found.trend.p_value),
            ),
        ),
        Row(say("How its p-value was found"), _how(found.trend.exact)),
    )


def _of_distances(found: RankingFinding) -> tuple[Row, ...]:
    pairs = found.pairs
    if pairs is None or pairs.distance_alone is None or pairs.distance_together is None:
        return ()
    return (
        Row(
            say("Least significant difference of mean ranks, one pair named beforehand"),
            say("%(places)s", places=Number(pairs.distance_alone, 3)),
        ),
        Row(
            say("Honestly significant difference of mean ranks, all pairs"),
            say("%(places)s", places=Number(pairs.distance_together, 3)),
        ),
    )


def _of_pairs(found: RankingFinding, names: Names) -> tuple[Row, ...]:
    assert found.pairs is not None  # the caller has looked
    return tuple(
        Row(
            say(
                "%(first)s and %(second)s",
                first=names.get(pair.first) or pair.first,
                second=names.get(pair.second) or pair.second,
            ),
            say(
                "%(difference)s; p = %(alone)s alone, %(together)s among all pairs",
                difference=Number(pair.difference, 2),
                alone=PValue(pair.p_alone),
                together=PValue(pair.p_together),
            ),
        )
        for pair in found.pairs.pairs
    )
