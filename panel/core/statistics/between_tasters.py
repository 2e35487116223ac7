"""How far tasters with several trays differ: the beta-binomial with chance taken out.

A taster truly tells apart in a share t of their trays and guesses in the others, so that each tray
is right with probability C + (1 − C) t, C the chance; t differs from taster to taster by a beta
distribution with mean m and spread g = 1/(a + b + 1) (Brockhoff 2003; Bi 2006; with C = 0 Williams
1975, Biometrics 31:949). The trays truly told apart are beta-binomial and the rest of the right
ones binomial, which gives the probability of a count without an integral.
"""

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import numpy as np
from scipy.special import betaln, gammaln, xlogy

from panel.core.statistics.inputs import check_count
from panel.core.statistics.results import BetaBinomial
from panel.core.statistics.tails import Floats

EDGE = 1e-7  # mean and spread are sought from here to 1 less this
GRID = 13  # points along each side of a search square
ROUNDS = 22  # each round's square has half the sides of the one before: 0.5 ** 22 is below 3e-7


def fit_beta_binomial(counts: Sequence[tuple[int, int]], chance: Fraction) -> BetaBinomial:
    """Maximum likelihood of mean and spread. chance: 0 where nothing is to be taken out.

    counts: correct and all trays of each taster. The likelihood is sought on a square that closes
    in on its best point; the values are good to about six digits. PanelError for impossible counts.
    """
    for correct, n in counts:
        check_count(correct, n)
    pairs = Counter(counts)
    mean, spread, reach = 0.5, 0.5, 0.5
    for _ in range(ROUNDS):
        means = np.linspace(max(EDGE, mean - reach), min(1 - EDGE, mean + reach), GRID)
        spreads = np.linspace(max(EDGE, spread - reach), min(1 - EDGE, spread + reach), GRID)
        m, g = np.meshgrid(means, spreads, indexing="ij")
        likelihood = _log_likelihood(pairs, float(chance), m, g)
        best = np.unravel_index(int(np.argmax(likelihood)), likelihood.shape)
        mean, spread, reach = float(m[best]), float(g[best]), reach / 2
    return BetaBinomial(mean, spread, float(likelihood[best]))


def log_probability(correct: int, n: int, chance: float, mean: Floats, spread: Floats) -> Floats:
    """log P(correct of n), element by element; 0 < mean < 1, 0 < spread < 1."""
    a, b = mean * (1 / spread - 1), (1 - mean) * (1 / spread - 1)
    told = np.arange(correct + 1)
    if chance == 0:
        told = told[-1:]
    rest = n - told
    guessed = correct - told
    fixed = (
        _log_comb(n, told)
        + _log_comb(rest, guessed)
        + xlogy(guessed, chance)
        + (n - correct) * np.log1p(-chance)
    )
    terms = fixed + betaln(told + a[..., None], rest + b[..., None]) - betaln(a, b)[..., None]
    top = terms.max(axis=-1)
    return np.asarray(top + np.log(np.exp(terms - top[..., None]).sum(axis=-1)))


def _log_likelihood(
    pairs: Counter[tuple[int, int]], chance: float, mean: Floats, spread: Floats
) -> Floats:
    total = np.zeros_like(mean)
    for (correct, n), tasters in pairs.items():
        total += tasters * log_probability(correct, n, chance, mean, spread)
    return total


def _log_comb(n: Any, k: Any) -> Floats:
    of = np.asarray(n, np.float64)
    return np.asarray(gammaln(of + 1) - gammaln(k + 1) - gammaln(of - k + 1))
