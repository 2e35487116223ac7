"""Guessers who learn from cups whose content they are told, and are then tried on others.

Three of them: logistic regression on everything that is seen, fitted over all cups and again for
each place on the tray by itself; a decision tree of a few questions; and a memory, which knows of
each code, card and label what it held before. Trays are dealt to five folds whole (a tray's cups
are never on both sides); each fold is guessed by what the other four taught.

The bar is chance + 3.29 standard errors, one in two thousand for a guesser who knows nothing. The
error comes from the trays really guessed, whose cups are not independent of one another: a tray
with the order AAB guessed as ABA is wrong twice at once.
"""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

from tests.blinding.cups import Cups, Whole, Yes
from tests.blinding.sights import Sights, sights_of

FOLDS = 5
SEED = 20270314
BAR = 3.29

Numbers = NDArray[np.float32]


@dataclass(frozen=True)
class Guess:
    """How well somebody guessed: `share` right of `tries`, against `chance`."""

    guesser: str
    target: str
    share: float
    chance: float
    error: float
    tries: int

    @property
    def knows(self) -> bool:
        """Whether it was more than chance."""
        return self.share > self.chance + BAR * self.error

    def __str__(self) -> str:
        bar = self.chance + BAR * self.error
        return (
            f"{self.guesser} guessed {self.target}: {self.share:.4f} of {self.tries}, "
            f"where {bar:.4f} is the bar"
        )


def guesses(cups: Cups, but: Collection[str] = ()) -> Iterator[Guess]:
    """What every guesser makes of these cups, the quickest first; `but` stay at home."""
    seen, wanted = sights_of(cups), targets(cups)
    all_wanted = np.stack(list(wanted.values()), axis=2)
    folds = np.random.default_rng(SEED).permutation(cups.trays) % FOLDS
    for guesser, score in GUESSERS.items():
        if guesser not in but:
            scores = score(seen, all_wanted, folds, cups.asked)
            for place, target in enumerate(wanted):
                yield _scored(guesser, target, scores[:, :, place], wanted[target], cups)


def targets(cups: Cups) -> dict[str, Yes]:
    """What is guessed of each cup. "letter": whether it is the B of its sitting. "beer": whether
    it is the second beer, which is the B or the A as a coin had it, sitting by sitting. "answer":
    whether it is the cup that answers its tray's question."""
    found = {"letter": cups.second, "beer": cups.second ^ cups.exchanged[:, None]}
    if cups.telling is not None:
        found["answer"] = cups.telling
    return found


def _scored(guesser: str, target: str, scores: Numbers, wanted: Yes, cups: Cups) -> Guess:
    """Right guesses tray by tray: each asked cup by itself, or for "answer" the tray's likeliest
    cup. Chance is the commoner kind's share, or one in the cups to choose from."""
    if target == "answer":
        chosen = np.where(cups.candidate, scores, -np.inf).argmax(axis=1)
        right = np.take_along_axis(wanted, chosen[:, None], axis=1).astype(float)
        tries = np.ones(cups.trays)
        chance = 1 / cups.candidate[0].sum()
    else:
        hits = ((scores > 0) == wanted) & cups.asked
        right, tries = hits.sum(axis=1, keepdims=True), cups.asked.sum(axis=1)
        share = wanted[cups.asked].mean()
        chance = max(share, 1 - share)
    total = tries.sum()
    share = right.sum() / total
    off = right[:, 0] - tries * share
    error = float(np.sqrt((off**2).sum()) / total)
    return Guess(guesser, target, float(share), float(chance), error, int(total))


# --- logistic regression -------------------------------------------------------------------------
# `wanted` is trays × cups × targets here and below, and so are scores.

STEPS = 8
SHRINK = 20.0


def fitted(columns: Numbers, wanted: Numbers, products: Numbers) -> Numbers:
    """Weights (columns × targets) of logistic regressions, slightly shrunk. `wanted` is 0 or 1,
    `products` the columns' products with one another, X'X.

    By the bound of Böhning and Lindsay (1988, Annals of the Institute of Statistical Mathematics
    40): no second derivative exceeds X'X/4, so that one factorisation serves all steps and every
    step improves. From memory; that it finds the best weights is tested.
    """
    bound = products / 4
    bound[np.diag_indices_from(bound)] += SHRINK
    factor = cho_factor(bound, overwrite_a=True)
    weights = np.zeros((columns.shape[1], wanted.shape[1]), dtype=np.float32)
    for _step in range(STEPS):
        likely = 1 / (1 + np.exp(-np.clip(columns @ weights, -30, 30)))
        slope = columns.T @ (wanted - likely) - SHRINK * weights
        weights = weights + cho_solve(factor, slope)
    return weights


def logistic(seen: Sights, wanted: Yes, folds: Whole, asked: Yes) -> Numbers:
    """Scores of one regression over all cups, positive for a likely yes."""
    scores = np.zeros(wanted.shape, dtype=np.float32)
    fold = np.broadcast_to(folds[:, None], asked.shape)[asked]
    scores[asked] = _by_fold(standardised(seen, asked), wanted[asked], fold)
    return scores


def logistic_by_place(seen: Sights, wanted: Yes, folds: Whole, asked: Yes) -> Numbers:
    """A regression for each place on the tray: what a card's number or token says of one place
    may be the contrary of what it says of another."""
    scores = np.zeros(wanted.shape, dtype=np.float32)
    for place in range(asked.shape[1]):
        here = np.zeros_like(asked)
        here[:, place] = asked[:, place]
        if here.any():
            scores[here] = _by_fold(standardised(seen, here), wanted[here], folds)
    return scores


def standardised(seen: Sights, rows: Yes) -> Numbers:
    """All columns over these cups, with mean 0 and deviation 1, after a constant; those that never
    differ are left out."""
    columns = [*seen.raw.values(), *seen.marks.values()]
    whole = np.stack([column[rows] for column in columns], axis=1)
    spread = whole.std(axis=0)
    varied = spread > 1e-9
    whole = (whole[:, varied] - whole[:, varied].mean(axis=0)) / spread[varied]
    return np.hstack([np.ones((len(whole), 1), dtype=np.float32), whole])


def _by_fold(columns: Numbers, wanted: Yes, fold: Whole) -> Numbers:
    """Scores of each fold's cups by what the other folds taught."""
    yes = wanted.astype(np.float32)
    parts = [columns[fold == number] for number in range(FOLDS)]
    products = [part.T @ part for part in parts]
    scores = np.zeros(wanted.shape, dtype=np.float32)
    for number, part in enumerate(parts):
        others = sum(product for other, product in enumerate(products) if other != number)
        known = fold != number
        scores[~known] = part @ fitted(columns[known], yes[known], others)
    return scores


# --- decision tree -------------------------------------------------------------------------------

DEPTH = 4
BINS = 32
LEAST = 100
"""Fewest cups on either side of a question: smaller groups are not learnt from."""


def tree(seen: Sights, wanted: Yes, folds: Whole, asked: Yes) -> Numbers:
    """Scores of a tree of yes-and-no questions on the plain numbers (Breiman et al., 1984: the
    question that lowers Gini's impurity most, then again in each half)."""
    columns = binned([column[asked] for column in seen.raw.values()])
    fold = np.broadcast_to(folds[:, None], asked.shape)[asked]
    found = np.zeros(wanted[asked].shape, dtype=np.float32)
    for target in range(wanted.shape[2]):
        for number in range(FOLDS):
            known = fold != number
            grown = _grown(columns, wanted[asked][:, target], known)
            found[~known, target] = grown[~known]
    scores = np.zeros(wanted.shape, dtype=np.float32)
    scores[asked] = found
    return scores


def binned(columns: list[Numbers]) -> NDArray[np.uint8]:
    """Each column in at most 32 steps of about as many cups each; a value is never divided."""
    found = []
    for column in columns:
        edges = np.unique(np.quantile(column, np.linspace(0, 1, BINS + 1)[1:-1]))
        found.append(np.searchsorted(edges, column, side="right").astype(np.uint8))
    return np.stack(found, axis=1)


def _grown(columns: NDArray[np.uint8], wanted: Yes, known: Yes) -> Numbers:
    """Share of yes among the known in each cup's leaf, less the share among all known."""
    leaf = np.zeros(len(columns), dtype=np.int64)
    for _level in range(DEPTH):
        for number in np.unique(leaf):
            here = leaf == number
            question = best_question(columns[here & known], wanted[here & known])
            if question is not None:
                column, step = question
                leaf[here & (columns[:, column] > step)] += leaf.max() + 1
    share = wanted[known].mean()
    sums = np.bincount(leaf[known], wanted[known], minlength=leaf.max() + 1)
    counts = np.bincount(leaf[known], minlength=leaf.max() + 1)
    return ((sums + share) / (counts + 1) - max(share, 0.5)).astype(np.float32)[leaf]


def best_question(columns: NDArray[np.uint8], wanted: Yes) -> tuple[int, int] | None:
    """The column and step that part yes from no best; None if no question helps."""
    cups, many = columns.shape
    if cups < 2 * LEAST:
        return None
    place = columns + np.arange(many) * BINS
    counts = np.bincount(place.ravel(), minlength=many * BINS).reshape(many, BINS)
    yes = np.bincount(place[wanted].ravel(), minlength=many * BINS).reshape(many, BINS)
    low, low_yes = counts.cumsum(axis=1), yes.cumsum(axis=1)
    high, high_yes = cups - low, wanted.sum() - low_yes
    with np.errstate(divide="ignore", invalid="ignore"):
        gain = low_yes**2 / low + high_yes**2 / high
    gain[(low < LEAST) | (high < LEAST)] = -np.inf
    column, step = np.unravel_index(gain.argmax(), gain.shape)
    return (int(column), int(step)) if np.isfinite(gain[column, step]) else None


# --- memory --------------------------------------------------------------------------------------


def memory(seen: Sights, wanted: Yes, folds: Whole, asked: Yes) -> Numbers:
    """Scores of somebody who remembers, of each code, card and label, what it held before."""
    fold = np.broadcast_to(folds[:, None], asked.shape)[asked]
    scores = np.zeros(wanted.shape, dtype=np.float32)
    for target in range(wanted.shape[2]):
        for table in seen.tables.values():
            scores[asked, target] += _remembered(table[asked], wanted[asked][:, target], fold)
    return scores


def _remembered(value: Whole, wanted: Yes, fold: Whole) -> Numbers:
    """Log odds of yes where the same value was seen, against those of all."""
    size = value.max() + 1
    scores = np.zeros(len(value))
    for number in range(FOLDS):
        known = fold != number
        share = wanted[known].mean()
        yes = np.bincount(value[known], wanted[known], minlength=size) + share
        all_of_it = np.bincount(value[known], minlength=size) + 1
        likely = (yes / all_of_it)[value[~known]]
        scores[~known] = np.log(likely / (1 - likely)) - np.log(share / (1 - share))
    return scores.astype(np.float32)


GUESSERS: dict[str, Callable[[Sights, Yes, Whole, Yes], Numbers]] = {
    "memory": memory,
    "tree": tree,
    "regression": logistic,
    "regression by place": logistic_by_place,
}
