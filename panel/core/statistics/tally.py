"""Everything that is said of one count of correct answers, at once."""

from decimal import Decimal
from fractions import Fraction

from panel.core.statistics.binomial import binomial_test, similarity_test
from panel.core.statistics.estimates import d_prime, discriminators, proportion
from panel.core.statistics.inputs import Exact
from panel.core.statistics.links import Link, chance_of
from panel.core.statistics.results import SimilarityLimit, Tally


def tally_count(
    correct: int,
    tasters: int,
    link: Link,
    *,
    alpha: Exact = Decimal("0.05"),
    sides: int = 1,
    confidence: Exact = Decimal("0.95"),
    limit: SimilarityLimit | None = None,
) -> Tally:
    """The finding of `correct` answers from `tasters`, each of whom answered once.

    With a `limit` the aim is similarity: p-value P(X <= correct | limit.pc), critical number the
    largest count that shows it, significant at or below it. Otherwise the count is tested against
    guessing at alpha. Two sides (link 2-afc alone): the larger count is tested, `correct` being
    the count of one named drink, and discriminators and d-prime carry its sign.
    PanelError (input) for a count or risk that cannot be.
    """
    chance = chance_of(link)
    p, critical, significant = _tested(correct, tasters, chance, alpha, sides, limit)
    share = proportion(correct, tasters, confidence)
    telling = discriminators(correct, tasters, chance, confidence)
    distance = d_prime(correct, tasters, link, confidence, sides)
    return Tally(
        correct=correct,
        tasters=tasters,
        p_value=p,
        critical_number=critical,
        significant=significant,
        proportion_correct=share.value,
        interval=share.interval,
        discriminators=telling.value,
        discriminators_interval=telling.interval,
        d_prime=distance.value,
        d_prime_interval=distance.interval,
        confidence=share.interval.confidence,
    )


def _tested(
    correct: int,
    tasters: int,
    chance: Fraction,
    alpha: Exact,
    sides: int,
    limit: SimilarityLimit | None,
) -> tuple[float, int | None, bool]:
    if limit is not None:
        alike = similarity_test(correct, tasters, chance, limit, sides)
        return alike.p_value, alike.max_correct, alike.similar
    test = binomial_test(correct, tasters, chance, alpha, sides)
    return test.p_value, test.critical_number, test.significant
